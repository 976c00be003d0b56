//! What a choice costs: what is not on these lines today, and not in store.

use super::OfLine;
use super::asked::{Asked, AskedLine};
use hydraulics::units::Length;
use std::collections::BTreeMap;

/// Hose and nozzles by name, each with how much of it.
#[derive(Default)]
struct Needed<'n> {
    hose: BTreeMap<&'n str, Length>,
    nozzles: BTreeMap<&'n str, f64>,
}

impl<'n> Needed<'n> {
    fn add(&mut self, asked: &Asked, line: &'n AskedLine, on: &'n OfLine) {
        let own = &line.as_is;
        for (_, part) in &line.places.hoses {
            let name = match on.hose == own.hose {
                true => part.hose.as_str(),
                false => on.hose.as_str(),
            };
            let length = match (on.length - own.length).value.abs() > 1e-9 {
                true => on.length,
                false => part.length.get(),
            };
            // Hose lies in whole sections.
            let section = asked.book.hose_price(name).map(|price| price.section);
            let length = match section {
                Some(section) => section * whole((length / section).value),
                None => length,
            };
            *self.hose.entry(name).or_default() += length;
        }
        for (_, part) in &line.places.tips {
            let name = match on.nozzle == own.nozzle {
                true => part.nozzle.as_str(),
                false => on.nozzle.as_str(),
            };
            *self.nozzles.entry(name).or_default() += 1.0;
        }
    }
}

/// Whole sections; a thousandth is a rounding of units.
fn whole(sections: f64) -> f64 {
    (sections - 1e-3).ceil().max(0.0)
}

/// What must be bought for `on`, in the book's money; not a number where the book gives
/// no price for something that must be bought.
pub(super) fn price(asked: &Asked, on: &[OfLine]) -> f64 {
    let (mut needed, mut today) = (Needed::default(), Needed::default());
    for (line, on) in asked.lines.iter().zip(on) {
        needed.add(asked, line, on);
        today.add(asked, line, &line.as_is);
    }
    let book = asked.book;
    let mut sum = 0.0;
    for (name, length) in needed.hose {
        let carried = today.hose.get(name).copied().unwrap_or_default();
        let stock = book.hose(name).and_then(|found| found.item.stock.as_ref());
        let stock = stock.map_or_else(Length::default, |stock| stock.get());
        let missing = length - carried - stock;
        if missing.value > 1e-6 {
            sum += book
                .hose_price(name)
                .map_or(f64::NAN, |price| price.of(missing));
        }
    }
    for (name, count) in needed.nozzles {
        let carried = today.nozzles.get(name).copied().unwrap_or(0.0);
        let stock = book
            .nozzle(name)
            .and_then(|found| found.item.stock.as_ref());
        let stock = stock.map_or(0.0, |stock| stock.get().value);
        let missing = (count - carried - stock).max(0.0);
        if missing > 0.0 {
            sum += missing * book.nozzle_price(name).unwrap_or(f64::NAN);
        }
    }
    sum
}
