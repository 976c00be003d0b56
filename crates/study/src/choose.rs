//! Choices compared: every way to equip some lines that a comparison allows, tried in
//! every case it must cope with; those that no other beats in all aims, ranked; and why
//! the others are not among them.

mod model;

pub use model::{
    Choice, ChooseError, Chosen, Excluded, Limit, LineResult, Measured, OfLine, Quiet, Size, Watch,
    Where,
};
