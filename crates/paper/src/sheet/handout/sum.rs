//! The pump pressure as a sum that comes out on paper.

use book::Layout;
use hydraulics::friction::{Coefficient, Friction};
use hydraulics::units::{Kind, Length, Measure, Pressure, System, VolumeRate, psi};
use serde_json::{Value, json};
use study::answer::{Basis, LineAnswer};
use study::figure::{self, Figure};
use study::{Term, TermOf, Why, why};

use crate::paper::Units;
use crate::sheet::Sheet;
use crate::words::{Shown, capital};

/// The sum by the way to the tip that needs most; null when no water reaches it.
pub(super) fn of(sheet: &mut Sheet, layout: &Layout, answer: &LineAnswer) -> Value {
    let worst = match &answer.basis {
        Basis::Aim { worst } | Basis::Rating { worst } | Basis::OutOfReach { worst } => {
            Some(worst.as_str())
        }
        _ => None,
    };
    let found = why(layout, answer, worst).or_else(|| why(layout, answer, None));
    let Some(found) = found else {
        return Value::Null;
    };
    let units = sheet.units;
    let first = rounded(&found, units.first());
    let second = units.second().map(|system| rounded(&found, system));
    let mut terms = Vec::new();
    for (number, term) in found.terms.iter().enumerate() {
        let also = second.as_ref().and_then(|all| all.get(number));
        let shown = first.get(number).map(|one| side_by_side(one, also, units));
        let words = words(&term.of, &found, units);
        sheet.tell(
            format!("sum {}: {words}", number + 1),
            figure::pressure(term.pressure),
        );
        terms.push(
            json!({ "words": words, "shown": shown, "rule": rule(term, answer, units.first()) }),
        );
    }
    json!({
        "terms": terms,
        "whole": units.show(figure::pressure(found.pump_pressure).fine()),
        "gauge": units.show(figure::pressure(found.pump_pressure)).text(),
    })
}

/// The terms to a decimal more than a gauge shows, rounded so that they add up to the
/// pump pressure: each is the difference of two rounded sums, so that no term is off by
/// more than one step.
fn rounded(why: &Why, system: System) -> Vec<Figure> {
    let unit = Kind::Pressure.unit(system);
    let places = Kind::Pressure.decimals(system) + 1;
    let steps = 10_f64.powi(i32::try_from(places).unwrap_or(0));
    let round = |pressure: Pressure| (unit.from_si(pressure.value) * steps).round();
    let mut sum = Pressure::of_si(0.0);
    let mut before = 0.0;
    let last = why.terms.len().saturating_sub(1);
    let each = why.terms.iter().enumerate().map(|(number, term)| {
        sum += term.pressure;
        let so_far = round(if number == last {
            why.pump_pressure
        } else {
            sum
        });
        let own = (so_far - before) / steps;
        before = so_far;
        figure::pressure(Pressure::of_si(unit.to_si(own))).fine()
    });
    each.collect()
}

fn side_by_side(first: &Figure, second: Option<&Figure>, units: Units) -> Shown {
    let plain = if units.first() == System::Us {
        Units::Us
    } else {
        Units::Si
    };
    Shown {
        also: second.map(|figure| Units::Si.show(*figure).text()),
        ..plain.show(*first)
    }
}

fn words(of: &TermOf, why: &Why, units: Units) -> String {
    let length = |l| units.show(figure::length(l)).text();
    let flow = |q| units.show(figure::flow(q)).text();
    match of {
        TermOf::Tip => format!("Tip pressure of {}", why.tip),
        TermOf::Shutoff => "The nozzle's own shut-off and screen".into(),
        TermOf::Hose {
            name,
            length: long,
            flow: q,
            leg,
        } => {
            let leg = if *leg { ", one of the legs" } else { "" };
            format!(
                "Friction: {} of hose {name}{leg} at {}",
                length(*long),
                flow(*q)
            )
        }
        TermOf::Part {
            kind,
            name,
            flow: q,
        } => {
            let what = if name.is_empty() {
                (*kind).into()
            } else {
                format!("{kind} {name}")
            };
            format!("{} at {}", capital(&what), flow(*q))
        }
        TermOf::Height(rise) if rise.value < 0.0 => {
            format!("Height: the tip is {} lower", length(-*rise))
        }
        TermOf::Height(rise) => format!("Height: the tip is {} higher", length(*rise)),
    }
}

/// C (Q/100)² (L/100), as it is written in each system.
fn by_hand(c: Coefficient, flow: VolumeRate, length: Length, system: System) -> Pressure {
    let q = Kind::Flow.unit(system).from_si(flow.value) / 100.0;
    let l = Kind::Length.unit(system).from_si(length.value) / 100.0;
    match system {
        System::Us => psi(c.us_value() * q * q * l),
        System::Si => Pressure::of_si(1e3 * c.metric_value() * q * q * l),
    }
}

/// How a class works the term out by hand; only where that gives the term.
fn rule(term: &Term, answer: &LineAnswer, system: System) -> Option<String> {
    match &term.of {
        TermOf::Hose {
            name, length, flow, ..
        } => {
            let used = answer.coefficients.iter().find(|c| c.hose == *name)?;
            let Friction::Coefficient(c) = used.used.friction else {
                return None;
            };
            let off = (by_hand(c, *flow, *length, system) - term.pressure).abs();
            (off.value < 0.01 * term.pressure.value).then(|| {
                let number = |figure: Figure| {
                    let shown = figure.show(system);
                    shown.split(' ').next().unwrap_or_default().to_string()
                };
                let (q, l) = (number(figure::flow(*flow)), number(figure::length(*length)));
                let unit = match system {
                    System::Us => "psi",
                    System::Si => "kPa",
                };
                let c = used.used.text(system);
                format!("{c} × ({q}/100)² × ({l}/100), in {unit}")
            })
        }
        TermOf::Height(_) => Some(match system {
            System::Us => "0.434 psi for each foot".into(),
            System::Si => "0.098 bar for each metre".into(),
        }),
        _ => None,
    }
}
