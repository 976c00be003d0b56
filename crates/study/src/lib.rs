#![doc = include_str!("../README.md")]

pub mod answer;
pub mod ask;
mod changes;
mod chart;
mod demand;
mod extend;
pub mod fact;
pub mod figure;
mod given;
pub mod intake;
mod need;
mod next;
pub mod notice;
mod notices;
mod offer;

mod operating;
pub mod proof;
pub mod reduce;
pub mod scene;
mod sizing;
mod slide;
mod used_with;
mod whatif;
mod why;

pub use changes::changes;
pub use chart::{Cell, Chart, ChartTable, chart};
pub use extend::{Extended, extend};
pub use given::{Given, given};
pub use next::{Changed, Gain, Next, what_next};
pub use offer::{at_tip, stream_of};
pub use operating::{StudyError, solve, tips_of};
pub use scene::{SceneAnswer, SceneCompared, SetScene, set_scene, solve_scene, what_if_scene};
pub use sizing::{HoseThatDoes, longest, smallest, varied_length};
pub use slide::{SlideChart, SlideRow, pressure_for, slide_chart};
pub use used_with::{NozzleOn, hoses, nozzles_on};
pub use whatif::{Compared, WhatIf, what_if};
pub use why::{Term, TermOf, Why, why};
