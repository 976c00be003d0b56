#![doc = include_str!("../README.md")]

mod canvas;
mod capability;
mod drawing;
pub mod frame;
mod labels;
mod operating;
mod profile;
mod scene;
mod stream;
mod supply_curve;
pub mod text;

pub use capability::{Present, capability};
pub use drawing::{Drawing, Table};
pub use operating::operating;
pub use profile::profile;
pub use scene::scene;
pub use stream::{Window, stream};
pub use supply_curve::{supply_curve, tested};
