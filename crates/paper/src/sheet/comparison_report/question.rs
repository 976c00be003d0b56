//! The question, in words.

use book::comparison::{AimKind, Comparison, Limits, Steps, Wanted};
use book::{Book, Stated, Which};
use hydraulics::units::{Measure, Ratio};
use study::choose::{Chosen, aim_name};
use study::figure::{self, Figure};

use crate::compared::{self, listed};
use crate::paper::Units;

pub(crate) type Facts = Vec<(&'static str, String)>;

/// "Which hose, nozzle and pump pressure for left-crosslay, with 3 people on the nozzle
/// (95 lbf), at most 175 psi at the pump, and still of use at 100 psi?"
pub(super) fn sentence(
    book: &Book,
    comparison: &Comparison,
    chosen: &Chosen,
    units: Units,
) -> String {
    let lines = listed(&chosen.lines);
    let start = match varied(comparison).as_slice() {
        [] => format!("What do {lines} give as the book has them"),
        things => format!("Which {} for {lines}", listed(things)),
    };
    let limits = &comparison.limits;
    let held = limits.people.map(|people| {
        let force = units.show(figure::force(held_by(book, people))).text();
        let people = compared::people(people);
        format!("with {people} on the nozzle (reaction at most {force})")
    });
    let ceiling = limits.pump_pressure.as_ref().map(|most| {
        let most = units.show(figure::pressure(most.get())).text();
        format!("at most {most} at the pump")
    });
    let low = comparison.cases.low_pump_pressure.as_ref().map(|low| {
        let low = units.show(figure::pressure(low.get())).text();
        format!("still of use down to {low} at the pump")
    });
    let more: Vec<String> = held.into_iter().chain(ceiling).chain(low).collect();
    match more.is_empty() {
        true => format!("{start}?"),
        false => format!("{start}, {}?", listed(&more)),
    }
}

fn varied(comparison: &Comparison) -> Vec<&'static str> {
    let vary = &comparison.vary;
    let pump = match &vary.pump_pressure {
        Steps::List(list) => !list.is_empty(),
        Steps::Range { .. } => true,
    };
    let all = [
        (!vary.hose.is_empty(), "hose"),
        (!vary.length.is_empty(), "length of hose"),
        (!vary.nozzle.is_empty(), "nozzle"),
        (pump, "pump pressure"),
    ];
    all.iter()
        .filter(|(is, _)| *is)
        .map(|(_, name)| *name)
        .collect()
}

/// The reaction that so many people can hold.
fn held_by(book: &Book, people: u8) -> hydraulics::units::Force {
    let limits = book.crew_limits();
    let place = usize::from(people.clamp(1, 3)) - 1;
    limits.get(place).copied().unwrap_or_default()
}

/// All that is asked.
pub(crate) fn facts(book: &Book, comparison: &Comparison, chosen: &Chosen, units: Units) -> Facts {
    let each = match (chosen.lines.len(), comparison.each_line) {
        (1, _) => "one line",
        (_, true) => "each line may get its own; one pump pressure serves all",
        (_, false) => "the same on all of them",
    };
    let mut facts: Facts = vec![("Lines", format!("{}: {each}", chosen.lines.join(", ")))];
    facts.extend(may_be_chosen(comparison, units));
    facts.extend(cases(comparison, units));
    facts.push(("Limits", limits(book, &comparison.limits, units).join("; ")));
    facts.push(("Wanted", wanted(comparison, chosen, units).join("; ")));
    facts.extend(comparison.note.clone().map(|note| ("Note", note)));
    facts.retain(|(_, text)| !text.is_empty());
    facts
}

fn may_be_chosen(comparison: &Comparison, units: Units) -> Facts {
    let vary = &comparison.vary;
    let nozzles = vary.nozzle.iter().map(|choice| match &choice.setting {
        Some(setting) => format!("{} on {setting}", choice.nozzle),
        None => choice.nozzle.clone(),
    });
    let nozzles: Vec<String> = nozzles.collect();
    let all = [
        ("Hose to choose from", vary.hose.join(", ")),
        ("Lengths", each(&vary.length, figure::length, units)),
        ("Nozzles", nozzles.join(", ")),
        (
            "Pump pressures",
            steps(&vary.pump_pressure, figure::pressure, units),
        ),
    ];
    all.into_iter().collect()
}

fn cases(comparison: &Comparison, units: Units) -> Facts {
    let cases = &comparison.cases;
    let which: Vec<&str> = cases
        .coefficient
        .iter()
        .map(|which: &Which| compared::coefficient(*which))
        .collect();
    let text = |figure: Option<Figure>| figure.map_or_else(String::new, |f| units.show(f).text());
    let low = cases.low_pump_pressure.as_ref();
    let gated = cases.gated.as_ref();
    vec![
        (
            "Tip higher than in the book by",
            each(&cases.rise, figure::length, units),
        ),
        ("Friction coefficients", which.join("; ")),
        (
            "Low pump pressure",
            text(low.map(|p| figure::pressure(p.get()))),
        ),
        (
            "Gated to",
            text(gated.map(|share| figure::share(share.get()))),
        ),
    ]
}

fn each<Q: Measure + Copy>(
    list: &[Stated<Q>],
    figure: impl Fn(Q) -> Figure,
    units: Units,
) -> String {
    let each = list.iter().map(|q| units.show(figure(q.get())).text());
    each.collect::<Vec<_>>().join(", ")
}

fn steps<Q: Measure + Copy>(
    steps: &Steps<Q>,
    figure: impl Fn(Q) -> Figure,
    units: Units,
) -> String {
    let text = |q: &Stated<Q>| units.show(figure(q.get())).text();
    match steps {
        Steps::List(list) => each(list, figure, units),
        Steps::Range { from, to, step } => {
            format!("{} to {} by {}", text(from), text(to), text(step))
        }
    }
}

/// Each limit that is set: "reaction at most 95 lbf".
pub(super) fn limits(book: &Book, limits: &Limits, units: Units) -> Vec<String> {
    let text = |words: &str, figure: Option<Figure>| {
        figure.map(|figure| format!("{words} {}", units.show(figure).text()))
    };
    let plain = |words: &str, number: Option<f64>| {
        number.map(|number| format!("{words} {}", compared::plain(number)))
    };
    let ratio = |stated: &Stated<Ratio>| stated.get().si();
    let l = limits;
    let held = l.people.map(|people| {
        let force = units.show(figure::force(held_by(book, people))).text();
        format!("reaction at most {force}, for {}", compared::people(people))
    });
    let pressure = |p: &Option<Stated<_>>| p.as_ref().map(|p| figure::pressure(p.get()));
    let flow = |q: &Option<Stated<_>>| q.as_ref().map(|q| figure::flow(q.get()));
    let force = l.reaction.as_ref().map(|f| figure::force(f.get()));
    let reach = l.reach.as_ref().map(|r| figure::length(r.get()));
    let weight = l.weight.as_ref().map(|w| figure::mass(w.get()));
    let service = match l.past_service_pressure {
        true => "hose past its service pressure is left in",
        false => "no hose past its service pressure",
    };
    let all = [
        held,
        text("reaction at most", force),
        text("pump pressure at most", pressure(&l.pump_pressure)),
        Some(service.into()),
        text("flow of every tip at least", flow(&l.flow)),
        text("nozzle pressure at least", pressure(&l.tip_pressure)),
        text("effective reach at least", reach),
        text(
            "flow at the low pump pressure at least",
            flow(&l.flow_at_low_pump),
        ),
        text(
            "nozzle pressure there at least",
            pressure(&l.tip_pressure_at_low_pump),
        ),
        text("a charged line weighs at most", weight),
        text(
            "pressure at the outlet at most",
            pressure(&l.outlet_pressure),
        ),
        plain("price at most", l.price.as_ref().map(ratio)),
        plain("kinds of hose and nozzle at most", l.kinds.map(f64::from)),
    ];
    all.into_iter().flatten().collect()
}

/// Each aim with how much it counts: "flow near 150 gpm (counts 43 %)".
fn wanted(comparison: &Comparison, chosen: &Chosen, units: Units) -> Vec<String> {
    let sum: f64 = chosen.aims.iter().map(|(_, weight)| weight).sum();
    let aims = chosen.aims.iter().map(|(aim, weight)| {
        let counts = match *weight > 0.0 && sum > 0.0 {
            true => format!("counts {:.0} %", 100.0 * weight / sum),
            false => "shown, does not count".into(),
        };
        let wanted = comparison.aims.get(aim);
        format!("{} ({counts})", wanting(*aim, wanted, units))
    });
    aims.collect()
}

fn wanting(aim: AimKind, wanted: Option<&Wanted>, units: Units) -> String {
    let near = wanted.and_then(|wanted| wanted.near.as_ref());
    if let Some(near) = near {
        let near = units.show(figure::flow(near.get())).text();
        return format!("{} near {near}", aim_name(aim));
    }
    let words = match aim {
        AimKind::Flow => "much flow",
        AimKind::FlowAtLowPump => "much flow at the low pump pressure",
        AimKind::Reach => "far reach",
        AimKind::Reaction => "little reaction",
        AimKind::PumpPressure => "a low pump pressure",
        AimKind::SteadyWhenGated => "a steady nozzle pressure when gated",
        AimKind::OnePumpPressure => "one pump pressure for all lines",
        AimKind::Weight => "light lines",
        AimKind::Kinds => "few kinds of hose and nozzle",
        AimKind::Price => "a low price",
    };
    words.into()
}
