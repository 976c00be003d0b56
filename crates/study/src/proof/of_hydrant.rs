//! A hydrant's curve.

use super::case::{Axes, Case, Setup};
use super::figures::{figure, found};
use super::found::{Found, Measured};
use super::model::Place;
use super::reduction::Reduction;
use crate::reduce::HydrantCurve;
use book::HydrantItem;
use hydraulics::hydrant::LEAST_RESIDUAL_PSI;
use hydraulics::units::{Kind, Measure, psi};

/// Static pressure and flow at 20 psi by the book's own test.
fn of_book(item: &HydrantItem) -> Option<[f64; 2]> {
    let test = item.test().ok()??;
    let at_20 = test.available(psi(LEAST_RESIDUAL_PSI));
    Some([test.still().si(), at_20.si()])
}

pub(super) fn setup(case: &Case<'_>, item: &HydrantItem) -> Option<Setup> {
    let law = HydrantCurve::new([case.flow_gauge(), case.gauge(Place::Residual)]);
    let (rows, numbers, lacking) =
        case.rows(|point| Some(vec![case.flow(point)?, case.value(point, Place::Residual)?]));
    let setup = Setup {
        law: Box::new(law),
        words: "P = Ps - (Ps - 20 psi) (Q / Q20)^(1/0.54), as NFPA 291 has it".into(),
        rows,
        numbers,
        lacking,
        book: of_book(item).map(|own| own.to_vec()),
        axes: Axes {
            x: ("flow", Kind::Flow),
            y: ("residual pressure", Kind::Pressure),
            column: 0,
            up: vec![1],
            row: vec![0.0, 0.0],
            by_pitot: None,
            from: 0.0,
        },
    };
    case.with_pitot(setup, 0)
}

/// What is found of a hydrant.
pub(super) const STATIC: &str = "the static pressure";

/// What is found of a hydrant.
pub(super) const AT_20: &str = "the flow at 20 psi";

pub(super) fn results(reduction: &Reduction, item: &HydrantItem) -> Vec<Found> {
    let own = of_book(item);
    let book_is = match &item.date {
        Some(date) => format!("tested {date}"),
        None => "tested, no date".into(),
    };
    let ends = [(STATIC, Kind::Pressure), (AT_20, Kind::Flow)];
    let estimates = reduction.reduced.estimates.iter().zip(ends).enumerate();
    let list = estimates.map(|(at, (estimate, (name, kind)))| {
        let own = own.and_then(|own| own.get(at).copied());
        let shown = |v: f64| Measured::Figure(figure(kind, v));
        found(name, estimate, shown, own, &book_is)
    });
    list.collect()
}
