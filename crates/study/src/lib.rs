#![doc = include_str!("../README.md")]

pub mod answer;
mod chart;
mod extend;
pub mod figure;
mod need;
pub mod notice;
mod notices;
mod operating;
mod sizing;
mod whatif;

pub use chart::{Cell, Chart, ChartTable, chart};
pub use extend::{Extended, extend};
pub use operating::{StudyError, solve, tips_of};
pub use sizing::{HoseThatDoes, longest, smallest, varied_length};
pub use whatif::{Compared, WhatIf, what_if};
