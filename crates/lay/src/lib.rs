#![doc = include_str!("../README.md")]

pub mod batch;
mod chain;
pub mod inverse;
mod linear;
mod network;
mod newton;
mod steady;

pub use chain::operating_flow;
pub use network::{Lay, PartId, PlaceId, Role};
pub use steady::{Residual, Solver, Steady, Stopped, solve};
