//! The friction of a hose.

use super::case::{Axes, Case, Setup};
use super::figures::{figure, found};
use super::found::{Found, Measured};
use super::model::{Find, Place};
use super::reduction::Reduction;
use crate::reduce::{Gauge, HoseLoss, HoseRoughness};
use book::{Book, FrictionWritten, Which};
use hydraulics::friction::{Coefficient, Friction};
use hydraulics::units::{Kind, Length, Measure, System, psi};

pub(super) fn setup(case: &Case<'_>, hose: &str, find: Find) -> Option<Setup> {
    if find == Find::Roughness {
        return by_roughness(case, hose);
    }
    let gauges = [
        case.flow_gauge(),
        case.gauge(Place::Inlet),
        case.gauge(Place::Outlet),
        case.gauge(Place::Rise),
        case.gauge(Place::Length),
    ];
    let law = HoseLoss::new(gauges);
    let (rows, numbers, lacking) = case.rows(|point| {
        let at = |place| case.value(point, place);
        Some(vec![
            case.flow(point)?,
            at(Place::Inlet)?,
            at(Place::Outlet)?,
            at(Place::Rise).unwrap_or(0.0),
            at(Place::Length)?,
        ])
    });
    let length = rows.first().and_then(|r| r.values.get(4)).copied()?;
    let own = of_book(case.book, hose).map(|c| c.us_value() * one_us());
    let (law, words): (Box<dyn crate::reduce::Law>, _) = match find {
        Find::Exponent => (
            Box::new(law.with_exponent()),
            "FL = c (Q/100)^n (L/100), inlet less outlet less rise; the exponent n is found too",
        ),
        _ => (
            Box::new(law),
            "FL = C (Q/100)^2 (L/100), inlet less outlet less rise: the trade's law, C for psi, gpm, ft in US and for kPa, L/min, m in SI",
        ),
    };
    let setup = Setup {
        book: own.map(|c| match find {
            Find::Exponent => vec![c, 2.0],
            _ => vec![c],
        }),
        law,
        words: words.into(),
        rows,
        numbers,
        lacking,
        axes: Axes {
            x: ("flow", Kind::Flow),
            y: ("friction loss", Kind::Pressure),
            column: 0,
            up: vec![1, 2],
            row: vec![0.0, 0.0, 0.0, 0.0, length],
            by_pitot: None,
            from: 0.0,
        },
    };
    case.with_pitot(setup, 0)
}

/// The bore of `hose` under pressure, as the book has it.
fn bore(book: &Book, hose: &str) -> Option<Length> {
    match &book.hose(hose)?.item.friction {
        Some(
            FrictionWritten::Roughness { bore, .. } | FrictionWritten::HazenWilliams { bore, .. },
        ) => Some(bore.get()),
        _ => None,
    }
}

/// By the roughness of a hose whose bore was measured and stands in the book.
fn by_roughness(case: &Case<'_>, hose: &str) -> Option<Setup> {
    let bore = bore(case.book, hose)?.si();
    let water = case.book.water.as_ref().map(|t| t.get());
    let temperature = water.map_or(SIXTY_F, |t| t.value);
    let exact = |name: &str| Gauge::exact(name);
    let gauges = [
        case.flow_gauge(),
        case.gauge(Place::Inlet),
        case.gauge(Place::Outlet),
        exact("rise"),
        exact("length"),
        Gauge {
            accuracy_share: BORE_SHARE,
            ..exact("the bore")
        },
        exact("water temperature"),
    ];
    let (rows, numbers, lacking) = case.rows(|point| {
        let at = |place| case.value(point, place);
        Some(vec![
            case.flow(point)?,
            at(Place::Inlet)?,
            at(Place::Outlet)?,
            at(Place::Rise).unwrap_or(0.0),
            at(Place::Length)?,
            bore,
            temperature,
        ])
    });
    let length = rows.first().and_then(|r| r.values.get(4)).copied()?;
    let own = match case.book.friction(hose, Which::Published)?.friction {
        Friction::DarcyWeisbach { roughness, .. } => Some(vec![roughness.si()]),
        _ => None,
    };
    let setup = Setup {
        book: own,
        law: Box::new(HoseRoughness::new(gauges)),
        words: "Darcy and Weisbach, f by Colebrook, with the bore that stands in the book: the \
                roughness of the lining"
            .into(),
        rows,
        numbers,
        lacking,
        axes: Axes {
            x: ("flow", Kind::Flow),
            y: ("friction loss", Kind::Pressure),
            column: 0,
            up: vec![1, 2],
            row: vec![0.0, 0.0, 0.0, 0.0, length, bore, temperature],
            by_pitot: None,
            from: 0.0,
        },
    };
    case.with_pitot(setup, 0)
}

/// Water of 60 F, K, where the book does not say.
const SIXTY_F: f64 = 288.71;

/// What a measured bore may be off by as a share (memory: a tape round a charged hose is
/// good to a half per cent).
const BORE_SHARE: f64 = 0.005;

/// The C that the book uses for `hose`.
fn of_book(book: &Book, hose: &str) -> Option<Coefficient> {
    match book.friction(hose, Which::Best)?.friction {
        Friction::Coefficient(c) => Some(c),
        _ => None,
    }
}

/// Pa per metre at 100 gpm of a US C of one.
fn one_us() -> f64 {
    psi(1.0).si() / Kind::Length.unit(System::Us).to_si(100.0)
}

/// A metric C of a US C of one.
fn metric_of_one() -> f64 {
    Coefficient::us(1.0).map_or(f64::NAN, Coefficient::metric_value)
}

/// C in both forms.
pub(super) fn c(us: f64, like: f64) -> Measured {
    Measured::both(us, us * metric_of_one(), [like, like * metric_of_one()])
}

pub(super) fn results(
    case: &Case<'_>,
    reduction: &Reduction,
    hose: &str,
    find: Find,
) -> Vec<Found> {
    let estimates = &reduction.reduced.estimates;
    let Some(first) = estimates.first() else {
        return Vec::new();
    };
    let us = HoseLoss::us(first);
    let like = us.value;
    let used = case.book.friction(hose, Which::Best);
    let book_is = used.as_ref().map_or("", |used| match used.measured {
        true => "measured",
        false => "published",
    });
    let book_is = match used.as_ref().filter(|used| used.measured) {
        Some(used) => format!("measured: {}", used.source),
        None => book_is.to_string(),
    };
    let own = of_book(case.book, hose).map(Coefficient::us_value);
    let mut list = Vec::new();
    match (find, estimates.get(1)) {
        (Find::Roughness, _) => {
            let written = case.book.hose(hose).and_then(|h| h.item.friction.clone());
            let own = match written {
                Some(FrictionWritten::Roughness { roughness, .. }) => Some(roughness.get().si()),
                _ => None,
            };
            let shown = |v: f64| Measured::Figure(figure(Kind::Size, v).fine());
            list.push(found("the roughness", first, shown, own, "published"));
        }
        (Find::Exponent, Some(exponent)) => {
            let name = "the loss at 100 gpm in 100 ft";
            let shown = |us: f64| super::figures::figure(Kind::Pressure, psi(us).si()).fine();
            list.push(found(
                name,
                &us,
                |v| Measured::Figure(shown(v)),
                own,
                &book_is,
            ));
            let plain = |v: f64| Measured::plain(v, exponent.value);
            let two = Some(2.0);
            list.push(found(
                "the exponent of flow",
                exponent,
                plain,
                two,
                "the trade's law",
            ));
        }
        _ => list.push(found(C, &us, |v| c(v, like), own, &book_is)),
    }
    list
}

/// What the coefficient is called.
pub(super) const C: &str = "the friction coefficient C";
