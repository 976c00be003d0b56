#![doc = include_str!("../README.md")]

mod cautions;
mod code;
mod paper;
mod press;
mod qr;
mod sheet;
mod text;
mod words;
mod world;

pub use code::{Code, CodeError};
pub use paper::{Paper, PaperError, Size, Units};
pub use press::{Pressed, pages_svg, press, typeset};
pub use sheet::{
    Drawn, Kind, Sheet, handout, labels, line_card, nozzle_sheet, pump_chart, purchase_statement,
};
pub use words::Shown;
