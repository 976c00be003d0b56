#![doc = include_str!("../README.md")]

mod chain;
pub mod inverse;
mod linear;
mod network;
mod newton;
mod steady;

pub use chain::operating_flow;
pub use network::{Lay, PartId, PlaceId, Role};
pub use steady::{Residual, Solver, Steady, Stopped, solve};
