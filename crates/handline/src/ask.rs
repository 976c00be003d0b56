//! From what was written on the command line to a question.

use crate::args::{Coefficient, Reader, Solve, Units};
use book::{Book, Conditions, Which};
use hydraulics::units::System;
use study::ask::Asked;

/// What stands before the name of an option.
pub const MARK: &str = "--";

/// The units the reader wants.
pub fn system(reader: &Reader, book: &Book) -> System {
    match reader.units {
        None => book.units,
        Some(Units::Us) => System::Us,
        Some(Units::Si) => System::Si,
    }
}

/// Which coefficients to use.
pub fn which(reader: &Reader) -> Which {
    match reader.coefficient {
        Coefficient::Best => Which::Best,
        Coefficient::Published => Which::Published,
        Coefficient::Low => Which::PublishedLow,
        Coefficient::High => Which::PublishedHigh,
    }
}

/// The question of `solve`.
pub fn asked(ask: &Solve) -> Asked {
    Asked {
        mark: MARK,
        which: which(&ask.reader),
        pump: ask.pump.clone(),
        weaker: ask.weaker.clone(),
        off: ask.off.clone(),
        gate: ask.gate.clone(),
        setting: ask.setting.clone(),
        kink: ask.kink.clone(),
        screen: ask.screen.clone(),
        regulator: ask.regulator.clone(),
        rise: ask.rise.clone(),
        length: ask.length.clone(),
        hose: ask.hose.clone(),
        nozzle: ask.nozzle.clone(),
        second: ask.second.clone(),
    }
}

/// The conditions of a question that changes only the coefficients.
pub fn plain(reader: &Reader) -> Conditions {
    Conditions {
        which: which(reader),
        ..Default::default()
    }
}
