//! The law of a nozzle: a tip's discharge coefficient, a fixed factor, an automatic
//! nozzle's range.

use super::case::{Axes, Case, Setup};
use super::figures::{figure, found};
use super::found::{Bound, Found, Measured};
use super::model::Place;
use super::reduction::Reduction;
use super::verdicts::bound;
use crate::reduce::{
    AutomaticNozzle, FixedFactor, SmoothBoreTip, judge_automatic, judge_rated_flow,
};
use book::{NozzleItem, NozzleKind};
use hydraulics::nozzle::{Nozzle, TRADE_COEFFICIENT};
use hydraulics::units::{Kind, Measure, Pressure, gpm, psi};

/// Where the limits on nozzles come from.
const SOURCE: &str = "tolerance of the standard for spray nozzles, from memory: check the \
                      edition in force";

/// SI flow per root pressure of a K of one gpm per root psi.
fn one_k() -> f64 {
    gpm(1.0).si() / psi(1.0).si().sqrt()
}

pub(super) fn setup(case: &Case<'_>, item: &NozzleItem, setting: Option<&str>) -> Option<Setup> {
    let solid = matches!(item.kind, NozzleKind::SmoothBore { .. });
    let read_at = match solid && !case.points.iter().any(|p| p.at(Place::Tip).is_some()) {
        true => Place::Pitot,
        false => Place::Tip,
    };
    let (pressure, flow) = (
        case.gauge(read_at),
        match read_at {
            // A pitot on the tip itself tells the pressure, not the flow.
            Place::Pitot => case.gauge(Place::Flow),
            _ => case.flow_gauge(),
        },
    );
    let flow_of = |point: &super::points::Point<'_>| match read_at {
        Place::Pitot => case.value(point, Place::Flow),
        _ => case.flow(point),
    };
    let law = item.at(setting).ok()?;
    if let Nozzle::Automatic(automatic) = law {
        let both_ways = both_ways(case);
        let (rows, numbers, lacking) = case.rows(|point| {
            let mut row = vec![flow_of(point)?, case.value(point, read_at)?];
            if both_ways {
                row.push(direction(&point.remark()));
            }
            Some(row)
        });
        let ((low, high), (least, most)) = (automatic.flows(), automatic.pressures());
        let mut own = vec![low.si(), least.si(), high.si(), most.si()];
        let law = AutomaticNozzle::new([flow, pressure]);
        let law = match both_ways {
            true => law.with_band(),
            false => law,
        };
        let mut row = vec![0.0, 0.0];
        if both_ways {
            own.push(automatic.band().si());
            row.push(0.0);
        }
        let setup = Setup {
            law: Box::new(law),
            words: "an automatic nozzle: a fixed opening below its range, spring and baffle \
                    in balance in it, a fixed opening above it"
                .into(),
            rows,
            numbers,
            lacking,
            book: Some(own),
            axes: Axes {
                x: ("flow", Kind::Flow),
                y: ("nozzle pressure", Kind::Pressure),
                column: 0,
                up: vec![1],
                row,
                by_pitot: None,
                from: 0.0,
            },
        };
        return metered_or_pitot(case, setup, read_at, 0);
    }
    let (rows, numbers, lacking) =
        case.rows(|point| Some(vec![case.value(point, read_at)?, flow_of(point)?]));
    let axes = Axes {
        x: ("nozzle pressure", Kind::Pressure),
        y: ("flow", Kind::Flow),
        column: 0,
        up: vec![1],
        row: vec![0.0, 0.0],
        by_pitot: None,
        from: 0.0,
    };
    let (law, words, own): (Box<dyn crate::reduce::Law>, _, _) = match (&item.kind, law) {
        (NozzleKind::SmoothBore { bore, coefficient }, _) => {
            let tip = SmoothBoreTip::new(bore.get(), [pressure, flow]).ok()?;
            let own = coefficient
                .as_ref()
                .map_or(TRADE_COEFFICIENT, |c| c.get().value);
            let words = "Q = 29.84 Cd d^2 sqrt(NP), psi, gpm, in";
            (Box::new(tip), words, own)
        }
        (_, Nozzle::Fixed(fixed)) => {
            let own = fixed.factor().si() / one_k();
            let words = "Q = K sqrt(NP), in the units of K";
            (Box::new(FixedFactor::new([pressure, flow])), words, own)
        }
        _ => return None,
    };
    let setup = Setup {
        law,
        words: words.into(),
        rows,
        numbers,
        lacking,
        book: Some(vec![own]),
        axes,
    };
    metered_or_pitot(case, setup, read_at, 1)
}

/// A pitot on the tip itself tells its pressure; on another tip, the flow.
fn metered_or_pitot(case: &Case<'_>, setup: Setup, read_at: Place, flow: usize) -> Option<Setup> {
    match read_at {
        Place::Pitot => Some(setup),
        _ => case.with_pitot(setup, flow),
    }
}

/// Which way the flow went, by the remark of a point: 1 opening, -1 closing.
fn direction(remark: &str) -> f64 {
    let remark = remark.to_lowercase();
    match (remark.contains("opening"), remark.contains("closing")) {
        (true, false) => 1.0,
        (false, true) => -1.0,
        _ => 0.0,
    }
}

/// Were points read both ways, so that the band between them can be found?
fn both_ways(case: &Case<'_>) -> bool {
    let way = |which: f64| {
        let points = case
            .points
            .iter()
            .filter(|p| direction(&p.remark()) == which);
        points.count() >= 2
    };
    way(1.0) && way(-1.0)
}

pub(super) fn results(
    reduction: &Reduction,
    item: &NozzleItem,
    setting: Option<&str>,
) -> (Vec<Found>, Vec<Bound>) {
    let estimates = &reduction.reduced.estimates;
    let rated = item.rated_pressure(setting).unwrap_or(Pressure::of_si(0.0));
    match (&item.kind, estimates.as_slice()) {
        (NozzleKind::SmoothBore { coefficient, .. }, [cd]) => {
            let own = coefficient.as_ref().map(|c| c.get().value);
            let is = match own {
                Some(_) => "in the book",
                None => "the trade's",
            };
            let own = own.or(Some(TRADE_COEFFICIENT));
            let shown = |v: f64| Measured::plain(v, cd.value);
            (vec![found(CD, cd, shown, own, is)], Vec::new())
        }
        (
            NozzleKind::Automatic { settings, band, .. },
            [low_flow, low, high_flow, high, rest @ ..],
        ) => {
            let written = setting
                .and_then(|s| settings.get(s))
                .or(settings.values().next());
            let own = written.map(|s| {
                let ([a, b], [c, d]) = (&s.flow, &s.pressure);
                [a.get().si(), c.get().si(), b.get().si(), d.get().si()]
            });
            let ends = [low_flow, low, high_flow, high];
            let list = ends.iter().enumerate().map(|(at, end)| {
                let kind = match at % 2 {
                    0 => Kind::Flow,
                    _ => Kind::Pressure,
                };
                let own = own.and_then(|own| own.get(at).copied());
                let shown = |v: f64| Measured::Figure(figure(kind, v));
                found(NAMES.get(at).unwrap_or(&""), end, shown, own, "rated")
            });
            let mut list: Vec<Found> = list.collect();
            if let [found_band] = rest {
                let own = band.as_ref().map(|band| band.get().si());
                let shown = |v: f64| Measured::Figure(figure(Kind::Pressure, v).fine());
                list.push(found(BAND, found_band, shown, own, "in the book"));
            }
            let mut pressures = [low.clone(), high.clone()];
            let names = [
                "pressure at the low end of the range",
                "pressure at the high end",
            ];
            for (estimate, name) in pressures.iter_mut().zip(names) {
                estimate.name = name.into();
            }
            let judged = judge_automatic(&pressures, rated);
            let bounds = judged.iter().zip(&pressures);
            let bounds = bounds.map(|(j, e)| bound(j, e, Kind::Pressure, SOURCE));
            (list, bounds.collect())
        }
        (_, [k]) => {
            let mut flow = FixedFactor::flow_at(k, rated);
            flow.name = RATED_FLOW.into();
            let rating = item.rated(setting).ok().map(|law| law.flow(rated));
            let like = k.value;
            let us_to_metric = Kind::Flow
                .unit(hydraulics::units::System::Si)
                .from_si(one_k())
                * Kind::Pressure
                    .unit(hydraulics::units::System::Si)
                    .to_si(1.0)
                    .sqrt();
            let factor =
                |v: f64| match Measured::both(v, v * us_to_metric, [like, like * us_to_metric]) {
                    Measured::Number {
                        us, si, decimals, ..
                    } => Measured::Number {
                        us,
                        us_unit: "gpm/psi^0.5",
                        si,
                        si_unit: "L/min/bar^0.5",
                        decimals,
                    },
                    other => other,
                };
            let own = rating.map(|flow| flow.si() / one_k() / rated.si().max(1.0).sqrt());
            let in_flow = |v: f64| Measured::Figure(figure(Kind::Flow, v));
            let list = vec![
                found("the factor K", k, factor, own, "rated"),
                found(&flow.name, &flow, in_flow, rating.map(Measure::si), "rated"),
            ];
            let judged = rating.map(|rating| judge_rated_flow(&flow, rating));
            let bounds = judged.iter().map(|j| bound(j, &flow, Kind::Flow, SOURCE));
            (list, bounds.collect())
        }
        _ => (Vec::new(), Vec::new()),
    }
}

/// What is found of an automatic nozzle, as a book has it.
pub(super) const NAMES: [&str; 4] = [
    "the lowest flow of the range",
    "the pressure at the lowest flow",
    "the highest flow of the range",
    "the pressure at the highest flow",
];

/// What is found of its regulator's friction.
pub(super) const BAND: &str = "the pressure between opening and closing";

/// What is found of a fixed nozzle.
pub(super) const RATED_FLOW: &str = "flow at the rated pressure";

/// What is found of a solid tip.
pub(super) const CD: &str = "the discharge coefficient";
