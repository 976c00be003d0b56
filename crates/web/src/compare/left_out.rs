//! The choices that a limit excluded, and a limit relaxed.

use crate::tables::wide;
use book::comparison::{Comparison, Limits};
use book::{Book, Stated};
use hydraulics::units::{Kind, Measure, System};
use maud::{Markup, html};
use study::choose::{Excluded, Limit};
use study::figure::{Figure, thousands};

/// Each limit with how many it excluded, and the choice that came closest.
pub(super) fn table(excluded: &[Excluded], system: System) -> Markup {
    let rows = html! {
        thead { tr {
            th scope="col" { "Limit" }
            th.number scope="col" { "Choices" }
            th.number scope="col" { "By it alone" }
            th scope="col" { "What came closest" }
            th.number scope="col" { "Has" }
            th.number scope="col" { "May" }
        } }
        tbody {
            @for one in excluded {
                tr {
                    th scope="row" { (crate::tables::capital(one.limit.name())) }
                    td.number { (thousands(one.choices)) }
                    td.number { (thousands(one.alone)) }
                    td.what { (one.nearest.text(system)) }
                    @match &one.has_and_may {
                        Some((has, may)) => { td.number { (has.show(system)) } td.number { (may.show(system)) } }
                        None => { td.number {} td.number {} }
                    }
                }
            }
        }
    };
    wide("Choices left out, by limit", &rows)
}

/// `comparison` with the limit moved so far that the closest choice passes it no more,
/// and what that says on a button. `None` where it is no limit of the comparison's.
pub(super) fn relaxed(
    book: &Book,
    comparison: &Comparison,
    one: &Excluded,
    system: System,
) -> Option<(Comparison, String)> {
    let mut wider = comparison.clone();
    let limits = &mut wider.limits;
    if one.limit == Limit::ServicePressure {
        limits.past_service_pressure = true;
        let words = "Leave in hose that is pushed past its service pressure";
        return Some((wider, words.into()));
    }
    let (has, _) = one.has_and_may.as_ref()?;
    let to = match one.limit {
        Limit::Reaction => return reaction(book, wider, has, system),
        Limit::PumpPressure => most(&mut limits.pump_pressure, has, Kind::Pressure, system)?,
        Limit::Flow => least(&mut limits.flow, has, Kind::Flow, system)?,
        Limit::TipPressure => least(&mut limits.tip_pressure, has, Kind::Pressure, system)?,
        Limit::Reach => least(&mut limits.reach, has, Kind::Length, system)?,
        Limit::FlowAtLowPump => least(&mut limits.flow_at_low_pump, has, Kind::Flow, system)?,
        Limit::TipPressureAtLowPump => {
            let of = &mut limits.tip_pressure_at_low_pump;
            least(of, has, Kind::Pressure, system)?
        }
        Limit::Weight => most(&mut limits.weight, has, Kind::Mass, system)?,
        Limit::OutletPressure => most(&mut limits.outlet_pressure, has, Kind::Pressure, system)?,
        Limit::Kinds => kinds(limits, has)?,
        Limit::Price | Limit::Couplings | Limit::Eductor | Limit::NoAnswer => return None,
        Limit::ServicePressure => return None,
    };
    let words = format!("Relax {} to {to}", one.limit.name());
    Some((wider, words))
}

/// A most that lets `has` through.
fn most<Q: Measure>(
    limit: &mut Option<Stated<Q>>,
    has: &Figure,
    kind: Kind,
    system: System,
) -> Option<String> {
    put(limit, has, kind, system, f64::ceil)
}

/// A least that lets `has` through.
fn least<Q: Measure>(
    limit: &mut Option<Stated<Q>>,
    has: &Figure,
    kind: Kind,
    system: System,
) -> Option<String> {
    put(limit, has, kind, system, f64::floor)
}

fn put<Q: Measure>(
    limit: &mut Option<Stated<Q>>,
    has: &Figure,
    kind: Kind,
    system: System,
    rounded: fn(f64) -> f64,
) -> Option<String> {
    limit.as_ref()?;
    let steps = [1.0, 10.0, 100.0]
        .get(has.decimals(system))
        .copied()
        .unwrap_or(1000.0);
    let value = rounded(has.value(system) * steps) / steps;
    let stated = Stated::read(kind, &format!("{value} {}", has.unit(system)), system).ok()?;
    let text = stated.text().to_string();
    *limit = Some(stated);
    Some(text)
}

fn kinds(limits: &mut Limits, has: &Figure) -> Option<String> {
    let kinds = has.value(System::Us).round().clamp(1.0, 255.0);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a whole number from 1 to 255"
    )]
    let kinds = kinds as u8;
    limits.kinds = Some(kinds);
    Some(kinds.to_string())
}

/// One person more where that does, else more reaction.
fn reaction(
    book: &Book,
    mut wider: Comparison,
    has: &Figure,
    system: System,
) -> Option<(Comparison, String)> {
    let mut words = Vec::new();
    let limits = &mut wider.limits;
    if let Some(people) = limits.people {
        let held = |people: u8| {
            let limits = book.crew_limits();
            let limit = limits.get(usize::from(people).checked_sub(1)?)?;
            let limit = study::figure::force(*limit);
            Some(limit.value(System::Us) + 1e-3 >= has.value(System::Us))
        };
        let enough = (people..=3).find(|people| held(*people) == Some(true));
        limits.people = enough;
        words.push(match enough {
            Some(people) if limits.reaction.is_some() => format!("{people} people on the nozzle"),
            Some(people) => format!("Put {people} people on the nozzle"),
            None => "Set no limit by people on the nozzle".into(),
        });
    }
    if limits.reaction.is_some() {
        let to = most(&mut limits.reaction, has, Kind::Force, system)?;
        words.push(format!("reaction up to {to}"));
    }
    let words = crate::tables::capital(&words.join(", "));
    (!words.is_empty()).then_some((wider, words))
}
