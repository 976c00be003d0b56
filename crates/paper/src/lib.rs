#![doc = include_str!("../README.md")]

mod cautions;
mod code;
mod paper;
mod press;
mod qr;
mod sheet;
pub mod tables;
mod text;
mod words;
mod world;

pub use code::{Code, CodeError};
pub use paper::{Paper, PaperError, Size, Units};
pub use press::{Pressed, pages_svg, press, typeset};
pub use sheet::{Drawn, Kind, Sheet, line_card, pump_chart};
pub use words::Shown;
