#![doc = include_str!("../README.md")]

pub mod appliance;
pub mod coupling;
pub mod draft;
pub mod eductor;
pub mod element;
pub mod fire_flow;
pub mod foam_supply;
pub mod friction;
pub mod hose;
pub mod hydrant;
pub mod nozzle;
pub mod orifice;
pub mod pump;
pub mod reaction;
pub mod regulator;
pub mod shuttle;
pub mod stream;
mod table;
pub mod units;
pub mod valve;
pub mod water;
