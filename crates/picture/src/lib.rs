#![doc = include_str!("../README.md")]

mod canvas;
mod capability;
mod curves;
mod drawing;
pub mod frame;
mod hose_curve;
mod labels;
mod loss_curve;
mod nomogram;
mod nozzle_curve;
mod operating;
mod profile;
mod ruler;
mod scene;
mod slide_rule;
mod stream;
mod supply_curve;
pub mod text;
mod to_scale;

pub use capability::{Present, capability};
pub use drawing::{Drawing, Table};
pub use hose_curve::hose_curve;
pub use loss_curve::loss_curve;
pub use nomogram::{Ladder, Nomogram, nomogram};
pub use nozzle_curve::{nozzle_curve, reaction_curve};
pub use operating::operating;
pub use profile::profile;
pub use scene::scene;
pub use slide_rule::{ROWS, SlideRule, slide_rule};
pub use stream::{Window, stream};
pub use supply_curve::{supply_curve, tested};
