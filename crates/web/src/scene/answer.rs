//! What a scene gives: what the crews get, what binds, and what sets each pump.

use super::Shown;
use super::water::mains;
use crate::address;
use crate::look;
use crate::tables::{big, block, listed, wide};
use hydraulics::units::{Kind, Measure, Ratio, System, VolumeRate, show};
use maud::{Markup, html};
use study::SceneAnswer;
use study::answer::{TipAnswer, regime_word};
use study::scene::{Limit, OutletAnswer};

/// All that the tips give together.
pub(super) fn total(answer: &SceneAnswer) -> VolumeRate {
    let tips = answer.tips.iter();
    tips.fold(VolumeRate::of_si(0.0), |sum, tip| sum + tip.flow)
}

/// Large figures: all flow, what binds first, what is left at the hydrants.
/// What a screen reader is told when figures have changed.
pub(super) fn summary(shown: &Shown<'_>) -> String {
    let (answer, system) = (&shown.compared.after, shown.system);
    let flow = show(Kind::Flow, total(answer), system);
    let first = answer.limits.first().map(|first| {
        let word = if first.passed() {
            "past its limit"
        } else {
            "binds first"
        };
        format!(
            "; {word}: {}, {}, {}",
            first.what,
            first.place,
            margin(first, system)
        )
    });
    format!("All tips together {flow}{}", first.unwrap_or_default())
}

pub(super) fn figures(shown: &Shown<'_>) -> Markup {
    let (answer, system) = (&shown.compared.after, shown.system);
    let missed = answer
        .tips
        .iter()
        .filter(|tip| tip.aim_met == Some(false))
        .count();
    let aimed = answer
        .tips
        .iter()
        .filter(|tip| tip.aim_met.is_some())
        .count();
    html! {
        h2 { "What the crews get" }
        @if !answer.converged {
            p.caution { "No steady answer was found; figures below are the nearest. See the notices." }
        }
        dl.figures {
            div.lead {
                dt { "All tips together" }
                dd { (big(&show(Kind::Flow, total(answer), system))) span { (counted(answer.tips.len(), "tip")) } }
            }
            @if let Some(first) = answer.limits.first() {
                div.lead {
                    dt { (if first.passed() { "Past its limit" } else { "Binds first" }) }
                    dd { (big(&margin(first, system))) span { (first.what) ", " (first.place) } }
                }
            }
            @if aimed > 0 {
                div {
                    dt { "Aims missed" }
                    dd { b { (missed) small { " of " (aimed) } } span { (if missed == 0 { "every aim is met" } else { "see the tips" }) } }
                }
            }
            @for rig in &answer.rigs {
                div {
                    dt { "Pump of " (rig.name) }
                    dd {
                        (big(&show(Kind::Pressure, rig.discharge, system)))
                        span { (show(Kind::Flow, rig.flow, system)) ", intake " (show(Kind::Pressure, rig.intake, system)) }
                    }
                }
            }
            @for main in mains(answer) {
                div {
                    dt { "Residual, hydrant " (main.name) }
                    dd {
                        (big(&show(Kind::Pressure, main.residual, system)))
                        span { (show(Kind::Flow, main.flow, system)) " of " (show(Kind::Flow, main.available, system)) }
                    }
                }
            }
        }
    }
}

pub(super) fn counted(count: usize, what: &str) -> String {
    match count {
        1 => format!("1 {what}"),
        count => format!("{count} {what}s"),
    }
}

/// Share beyond which a figure says no more.
const MOST: f64 = 3.0;

/// What is left before a limit, or by how much it is passed.
pub(super) fn margin(limit: &Limit, system: System) -> String {
    if limit.used > MOST {
        return "far past".into();
    }
    let share = |ratio| show(Kind::Share, ratio, system);
    match limit.passed() {
        true => format!("{} past", share(Ratio::of_si(limit.used - 1.0))),
        false => format!("{} left", share(Ratio::of_si((1.0 - limit.used).max(0.0)))),
    }
}

/// The schematic.
pub(super) fn drawn(shown: &Shown<'_>) -> Markup {
    let answer = &shown.compared.after;
    let drawing = picture::scene(answer, shown.system);
    html! {
        h2 { "From the water to the tips" }
        (look::drawing("scene", "Rigs, water, lines and tips", &drawing))
    }
}

/// Notices, limits, tips, rigs, outlets.
pub(super) fn sections(shown: &Shown<'_>) -> Markup {
    let (answer, system) = (&shown.compared.after, shown.system);
    html! {
        h2 { "Notices" }
        (look::notices(&answer.notices, system))
        (limits(&answer.limits, system))
        h2 { "At the tips" }
        (tips(shown))
        p.hint { "Reaction is the trade's formula value; reach is that of the good stream." }
        h2 { "Rigs" }
        (listed("Rigs", &answer.rigs.iter().map(|rig| rig.facts()).collect::<Vec<_>>(), system))
        (outlets(answer, system))
        (capabilities(shown))
    }
}

/// Limits shown before the rest is folded away.
const FIRST: usize = 8;

fn limits(limits: &[Limit], system: System) -> Markup {
    let title = match limits.first().is_some_and(Limit::passed) {
        true => "What is past its limit, and what binds next",
        false => "What binds first",
    };
    let (first, rest) = limits.split_at(limits.len().min(FIRST));
    html! {
        @if !limits.is_empty() {
            h2 { (title) }
            (wide(title, &limit_rows(first, system)))
            @if !rest.is_empty() {
                details {
                    summary { (counted(rest.len(), "more limit")) }
                    (wide("More limits", &limit_rows(rest, system)))
                }
            }
        }
    }
}

fn limit_rows(limits: &[Limit], system: System) -> Markup {
    html! {
        thead { tr {
            @for head in ["Limit", "Where", "Now", "Limit is", "Used", "Margin"] { th scope="col" { (head) } }
        } }
        tbody {
            @for limit in limits {
                tr {
                    th scope="row" { (limit.what) }
                    td { (limit.place) }
                    td.number { (limit.value.show(system)) }
                    td.number { (if limit.at_least { "at least " } else { "at most " }) (limit.limit.show(system)) }
                    td.share { (used(limit, system)) }
                    td.number { (margin(limit, system)) }
                }
            }
        }
    }
}

/// A bar as long as the share that is used, its end mark the limit, and the share.
fn used(limit: &Limit, system: System) -> Markup {
    let length = (limit.used.clamp(0.0, 1.25) / 1.25 * 100.0).round();
    let class = if limit.passed() { "used past" } else { "used" };
    html! {
        span class=(class) aria-hidden="true" { span style=(format!("width:{length}%")) {} }
        @if limit.used > MOST { "far past" } @else { (show(Kind::Share, Ratio::of_si(limit.used), system)) }
    }
}

fn aim(tip: &TipAnswer) -> &'static str {
    match tip.aim_met {
        None => "",
        Some(true) => "met",
        Some(false) => "missed",
    }
}

/// The line of the book that a scene has under this name: on a standpipe its floor
/// stands behind the line's name, and a number where the line is there already.
fn line_of<'a>(lines: impl Iterator<Item = &'a String>, name: &str) -> Option<&'a str> {
    let is_it = |line: &&String| {
        let rest = name.strip_prefix(line.as_str());
        rest.is_some_and(|rest| {
            rest.is_empty() || rest.starts_with(", floor ") || rest.starts_with(" (")
        })
    };
    lines
        .filter(is_it)
        .map(String::as_str)
        .max_by_key(|line| line.len())
}

fn tips(shown: &Shown<'_>) -> Markup {
    let (answer, system) = (&shown.compared.after, shown.system);
    let head = [
        "Line",
        "Where",
        "Tip",
        "Flow",
        "Tip pressure",
        "Reaction",
        "Takes",
        "Reach",
        "Throw",
        "Range",
        "Aim",
    ];
    let rows = html! {
        thead { tr { @for head in head { th scope="col" { (head) } } } }
        tbody {
            @for tip in &answer.tips {
                tr {
                    th scope="row" {
                        @match line_of(shown.opened.book.line.keys(), &tip.line) {
                            Some(line) => a.reach href=(address::line(&shown.opened.slug, line)) { (tip.line) },
                            None => (tip.line),
                        }
                    }
                    td { (tip.place) }
                    td {
                        (tip.called())
                        @if let Some(foam) = &tip.attachment {
                            br;
                            span.hint { "attachment " (foam.name) ", " (show(Kind::Flow, foam.foam, system)) " of foam, reach by the book" }
                        }
                    }
                    td.number { (show(Kind::Flow, tip.flow, system)) }
                    td.number { (show(Kind::Pressure, tip.tip_pressure, system)) }
                    td.number { (show(Kind::Force, tip.reaction, system)) }
                    td { (tip.takes()) }
                    td.number { (show(Kind::Length, tip.effective_reach, system)) }
                    td.number { (show(Kind::Length, tip.maximum_throw, system)) }
                    td { (tip.regime.map_or("", regime_word)) }
                    td { (aim(tip)) }
                }
            }
        }
    };
    wide("At the tips", &rows)
}

/// How the valve stands, and to which pressure it is gated.
fn gate(outlet: &OutletAnswer, system: System) -> String {
    let share = show(Kind::Share, outlet.gate, system);
    match (outlet.gate.si() >= 1.0, outlet.gated) {
        (true, _) => "open".into(),
        (false, true) => format!(
            "gate to {} ({share} open)",
            show(Kind::Pressure, outlet.pressure, system)
        ),
        (false, false) => format!("{share} open"),
    }
}

fn outlets(answer: &SceneAnswer, system: System) -> Markup {
    let all = answer
        .rigs
        .iter()
        .flat_map(|rig| rig.outlets.iter().map(move |o| (rig, o)));
    let rows = html! {
        thead { tr {
            @for head in ["Outlet to", "Of", "Flow", "Pressure", "Needs", "Gate"] { th scope="col" { (head) } }
        } }
        tbody {
            @for (rig, outlet) in all {
                tr {
                    th scope="row" { (outlet.feeds) }
                    td { (rig.name) }
                    td.number { (show(Kind::Flow, outlet.flow, system)) }
                    td.number { (show(Kind::Pressure, outlet.pressure, system)) }
                    td.number { @if let Some(needs) = outlet.needs { (show(Kind::Pressure, needs, system)) } }
                    td { (gate(outlet, system)) }
                }
            }
        }
    };
    html! { h2 { "Outlets" } (wide("Outlets", &rows)) }
}

/// What each pump can do against what it does.
fn capabilities(shown: &Shown<'_>) -> Markup {
    let rigs = shown.compared.after.rigs.iter();
    let laid = &shown.laid.rigs;
    let pairs = rigs.filter_map(|rig| Some((rig, laid.iter().find(|l| l.name == rig.name)?)));
    html! {
        h2 { "Pumps" }
        div {
            @for (index, (rig, laid)) in pairs.enumerate() {
                @let present = picture::Present { flow: rig.flow, net: rig.net };
                @let drawing = picture::capability(&rig.name, &laid.pump, Some(&present), shown.system);
                (look::drawing(&format!("pump-{index}"), &format!("Pump of {}", rig.name), &drawing))
            }
        }
    }
}

/// Hose, the way part by part, and how well the answer closes.
pub(super) fn ends(shown: &Shown<'_>) -> Markup {
    let (answer, system) = (&shown.compared.after, shown.system);
    html! {
        h2 { "Hose" }
        (coefficients(answer, system))
        details {
            summary { "Part by part" }
            (wide("Part by part", &parts(answer, system)))
        }
        p.quiet { (closes(answer)) }
    }
}

fn coefficients(answer: &SceneAnswer, system: System) -> Markup {
    let rows = html! {
        thead { tr { @for head in ["Hose, nozzle or pump", "Used", "Because", "From"] { th scope="col" { (head) } } } }
        tbody {
            @for hose in &answer.coefficients {
                tr {
                    th scope="row" { (hose.hose) }
                    td { (hose.used.text(system)) }
                    td { (hose.used.why) }
                    td { (hose.used.source) }
                }
            }
            @for item in answer.items.iter().filter(|item| item.both()) {
                tr {
                    th scope="row" { (item.kind()) " " (item.name) }
                    td { (item.text(system)) }
                    td { (item.why()) }
                    td { (item.source()) }
                }
            }
        }
    };
    let range = |low: VolumeRate, high: VolumeRate| {
        let (low, high) = (
            show(Kind::Flow, low, system),
            show(Kind::Flow, high, system),
        );
        format!("{low} to {high}")
    };
    html! {
        (wide("Hose coefficients", &rows))
        @if let Some(spread) = &answer.spread {
            p { "Over the published spread of C, pumps and outlets as they are:" }
            ul {
                @for (tip, &(low, high)) in answer.tips.iter().zip(spread) {
                    li { (tip.line) ", " (tip.place) ": " (range(low.min(high), low.max(high))) }
                }
            }
        } @else {
            p.quiet { "No published spread is known for this hose." }
        }
    }
}

fn parts(answer: &SceneAnswer, system: System) -> Markup {
    let pressure = |at| show(Kind::Pressure, at, system);
    html! {
        thead { tr {
            @for head in ["Part", "What", "Length", "Flow", "In", "Out"] { th scope="col" { (head) } }
        } }
        tbody {
            @for part in &answer.parts {
                tr {
                    th scope="row" { (part.line) ", " (part.place) }
                    td { (part.name) }
                    td.number { @if let Some(length) = part.length { (show(Kind::Length, length, system)) } }
                    td.number { (show(Kind::Flow, part.flow, system)) }
                    td.number { @if let Some(at) = part.pressure_in { (pressure(at)) } }
                    td.number { @if let Some(at) = part.pressure_out { (pressure(at)) } }
                }
            }
        }
    }
}

/// How well flows and pressures agree all over the scene.
fn closes(answer: &SceneAnswer) -> String {
    let litres = answer.residual.flow.si().abs() * 60_000.0;
    let bar = answer.residual.pressure.si().abs() / 1e5;
    let (flow, pressure) = (agrees(litres, "L/min"), agrees(bar, "bar"));
    let agree = format!("Flows and pressures agree to {flow} and {pressure}.");
    match answer.converged {
        true => agree,
        false => format!("{agree} No steady answer was found."),
    }
}

/// What is left over, in figures that a reader takes in.
fn agrees(left: f64, unit: &str) -> String {
    const LEAST: f64 = 0.001;
    match left < LEAST {
        true => format!("better than {LEAST} {unit}"),
        false => format!("{left:.3} {unit}"),
    }
}

/// What is said about one thing, under a heading.
pub(super) fn under(title: &str, facts: &[study::fact::Fact], system: System) -> Markup {
    html! { h2 { (title) } (block(title, facts, system)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_known_by_its_name_in_the_scene() {
        let lines = ["pack", "pack (2)", "large"].map(String::from);
        let of = |name| line_of(lines.iter(), name);
        assert_eq!(of("large"), Some("large"));
        assert_eq!(of("pack, floor 5"), Some("pack"));
        assert_eq!(of("pack (2)"), Some("pack (2)"));
        assert_eq!(of("large (3)"), Some("large"));
        assert_eq!(of("largest"), None);
    }
}
