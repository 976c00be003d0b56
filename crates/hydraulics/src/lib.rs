#![doc = include_str!("../README.md")]

pub mod element;
pub mod nozzle;
pub mod units;
pub mod valve;
