#![doc = include_str!("../README.md")]

pub mod appliance;
pub mod coupling;
pub mod element;
pub mod friction;
pub mod hose;
pub mod nozzle;
pub mod reaction;
pub mod stream;
pub mod units;
pub mod valve;
pub mod water;
