#![doc = include_str!("../README.md")]

mod cautions;
mod code;
mod compared;
mod grounds;
mod held;
mod paper;
mod press;
mod qr;
mod register;
mod set;
mod sheet;
pub mod tables;
mod text;
mod words;
mod world;

pub use code::{Code, CodeError};
pub use grounds::rests;
pub use held::{InBook, held};
pub use paper::{Paper, PaperError, Size, Units};
pub use press::{Pressed, pages_svg, press, typeset};
pub use register::{Difference, Told, differences, in_words, told};
pub use set::{Printed, chosen, file_name, pack, print, whole_set, zip};
pub use sheet::{
    Drawn, Kind, Sheet, Tested, comparison_report, handout, labels, line_card, nomogram,
    nozzle_sheet, pump_chart, purchase_statement, report_subject, slide_chart, test_plan,
    test_report,
};
pub use words::Shown;
