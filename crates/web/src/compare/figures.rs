//! A choice in large figures: what is on the lines, what they give.

use super::on_line;
use crate::tables::{big, capital};
use crate::workbench::Opened;
use hydraulics::units::{Kind, System, show};
use maud::{Markup, html};
use study::choose::{Choice, LineResult, OfLine};
use study::figure::thousands;

/// What is on the lines, at which pump pressure, and on how many days that holds.
pub(super) fn equipment(choice: &Choice, system: System) -> Markup {
    let same = |of: fn(&OfLine) -> String| {
        let mut all = choice.on.iter().map(of);
        let first = all.next()?;
        all.all(|other| other == first).then_some(first)
    };
    let hose = same(|on| on.hose.clone());
    let nozzle = same(OfLine::nozzle_called);
    html! {
        dl.figures {
            @if let Some(hose) = &hose { div.lead { dt { "Hose" } dd { b.word { (hose) } span { (lengths(choice, system)) } } } }
            @if let Some(nozzle) = &nozzle { div.lead { dt { "Nozzle" } dd { b.word { (nozzle) } } } }
            @if hose.is_none() || nozzle.is_none() {
                @for on in &choice.on { (of_line(on, (hose.is_none(), nozzle.is_none()), system)) }
            }
            div.lead { dt { "Pump pressure" } dd { (pump(choice, system)) } }
            (days(choice))
        }
    }
}

/// What of a line's equipment is not that of all lines.
fn of_line(on: &OfLine, (hose, nozzle): (bool, bool), system: System) -> Markup {
    let length = show(Kind::Length, on.length, system);
    html! {
        div.lead {
            dt { (on.line) }
            dd {
                @if hose { b.word.each { (on.hose) } span { (length) } }
                @if nozzle { b.word.each { (on.nozzle_called()) } }
            }
        }
    }
}

fn pump(choice: &Choice, system: System) -> Markup {
    let of = |pressure| big(&show(Kind::Pressure, pressure, system));
    match choice.pump_pressure {
        Some(pressure) => of(pressure),
        None => html! {
            @for on in &choice.on { (of(on.pump_pressure)) span { (on.line) } }
        },
    }
}

fn lengths(choice: &Choice, system: System) -> String {
    let mut all: Vec<String> = Vec::new();
    for on in &choice.on {
        let length = show(Kind::Length, on.length, system);
        if !all.contains(&length) {
            all.push(length);
        }
    }
    all.join(", ")
}

/// The share of the days on which every limit holds.
fn days(choice: &Choice) -> Markup {
    html! {
        @if let Some(doubted) = &choice.doubted {
            @let (share, half) = doubted.all_hold;
            div.lead { dt { "Holds on" } dd { (big(&format!("{} %", percent(share)))) span { "of " (thousands(doubted.draws)) " days drawn, give or take " (percent_of_half(half)) " %" } } }
        }
    }
}

/// A share in per cent; what is not all is not rounded up to all.
pub(super) fn percent(share: f64) -> String {
    let value = (share * 1000.0).round() / 10.0;
    match value {
        value if value >= 100.0 && share < 1.0 => "99.9".into(),
        value if value <= 0.0 && share > 0.0 => "0.1".into(),
        value => format!("{value}"),
    }
}

fn percent_of_half(half: f64) -> String {
    format!("{}", (half * 1000.0).ceil() / 10.0)
}

/// What each line gives, with the way to its own page.
pub(super) fn lines(opened: &Opened, choice: &Choice, system: System) -> Markup {
    html! {
        @for result in &choice.results {
            @let on = choice.on.iter().find(|on| on.line == result.line);
            section.of-line {
                h3 { (called(opened, &result.line)) }
                (line(result, system))
                @if let Some(link) = on.and_then(|on| on_line::link(opened, on)) {
                    p.no-print { a href=(link) { "The same on the page of " (result.line) } }
                }
            }
        }
    }
}

fn called<'a>(opened: &'a Opened, line: &'a str) -> &'a str {
    let entry = opened.book.line.get(line);
    entry
        .and_then(|entry| entry.title.as_deref())
        .unwrap_or(line)
}

fn line(result: &LineResult, system: System) -> Markup {
    html! {
        dl.figures {
            div { dt { "Flow" } dd { (big(&show(Kind::Flow, result.flow, system))) span { (spread(result, system)) } } }
            div { dt { "Nozzle pressure" } dd { (big(&show(Kind::Pressure, result.tip_pressure, system))) } }
            div { dt { "Reaction" } dd { (big(&show(Kind::Force, result.reaction, system))) span { (takes(result.people)) } } }
            div { dt { "Effective reach" } dd { (big(&show(Kind::Length, result.reach, system))) } }
            @if let Some((flow, pressure)) = &result.low {
                div { dt { "At the low pump pressure" } dd { (big(&show(Kind::Flow, *flow, system))) span { (show(Kind::Pressure, *pressure, system)) " at the nozzle" } } }
            }
        }
    }
}

fn spread(result: &LineResult, system: System) -> String {
    let (least, most) = result.flows;
    let [least, most] = [least, most].map(|flow| show(Kind::Flow, flow, system));
    match least == most {
        true => String::new(),
        false => format!(
            "{} to {most} over the cases",
            least.split(' ').next().unwrap_or_default()
        ),
    }
}

fn takes(people: Option<u8>) -> String {
    match people {
        Some(1) => "takes 1 person".into(),
        Some(people) => format!("takes {people} people"),
        None => "takes more than 3 people".into(),
    }
}

/// A list of sentences, each with its first letter large.
pub(super) fn sentences(all: &[study::choose::Said], system: System) -> Markup {
    html! { ul { @for said in all { li { (capital(&said.text(system))) } } } }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn not_quite_all_days_are_not_all() {
        assert_eq!(percent(1.0), "100");
        assert_eq!(percent(0.9999), "99.9");
        assert_eq!(percent(0.0001), "0.1");
        assert_eq!(percent(0.955), "95.5");
        assert_eq!(percent(0.0), "0");
    }
}
