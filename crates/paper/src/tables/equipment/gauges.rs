//! Rows of gauges and flow meters.

use book::{GaugeItem, Scale, Stated, Steps};
use hydraulics::units::{Kind, Measure};
use study::figure::{self, Figure};

use super::super::listing::Row;
use super::{Piece, Told};

pub(super) fn gauge<'a>(row: Row, piece: &Piece<'a, GaugeItem>) -> Told<'a> {
    let item = piece.item;
    let row = row.with("measures", item.scale.word());
    let row = row.maybe("number on it", item.serial.as_deref());
    let row = match &item.scale {
        Scale::Pressure(of) => steps(row, Kind::Pressure, of),
        Scale::Flow(of) => steps(row, Kind::Flow, of),
    };
    let share = item.accuracy_share.as_ref();
    let row = row
        .maybe(
            "may be off by, of the reading",
            share.map(|share| figure::share(share.get()).fine()),
        )
        .maybe("calibrated on", item.calibrated.as_deref());
    Told::one(row, &item.about)
}

fn steps<Q: Measure>(row: Row, kind: Kind, steps: &Steps<Q>) -> Row {
    let figure = |stated: &Option<Stated<Q>>| {
        let stated = stated.as_ref();
        stated.map(|stated| Figure::new(kind, stated.get()).fine())
    };
    row.maybe("end of its scale", figure(&steps.highest))
        .maybe("smallest step read", figure(&steps.step))
        .maybe("may be off by", figure(&steps.accuracy))
        .maybe("needle swings by", figure(&steps.swing))
}
