//! What to read, before it is read: the layout of the gauges, the points with what is
//! expected, the repeats, and what to look out for.

use super::begin::Wanted;
use super::sheet::{Expected, Gauges};
use crate::fault::Fault;
use crate::look::{drawing, notices};
use crate::paper::beside;
use crate::reader::Reader;
use crate::tables::{capital, wide};
use crate::workbench::Opened;
use book::Book;
use hydraulics::units::{System, decimal};
use maud::{Markup, html};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};
use study::proof::{GaugeAt, Place, Plan, PlanItem, PlanPoint, ProofError, Subject, Wish, plan};

/// The plan that is wanted, with the gauges at hand.
pub(super) fn of(book: &Book, wanted: &Wanted) -> Result<Plan, ProofError> {
    let mut at_hand = book.clone();
    at_hand.gauge.retain(|name, _| wanted.gauges.contains(name));
    let wish = Wish {
        share: wanted.share().unwrap_or(0.0),
        date: wanted.date.clone(),
        ..Wish::default()
    };
    plan(&at_hand, &wanted.subjects, &wish)
}

/// The points of an item as they are numbered through its rounds: every other round goes
/// backwards (common practice, no source: so a gauge that sticks shows).
fn numbered(item: &PlanItem) -> Vec<(u32, u32, &PlanPoint)> {
    let rounds = (1..=item.repeats.max(1)).flat_map(|round| {
        let mut points: Vec<&PlanPoint> = item.points.iter().collect();
        if round % 2 == 0 {
            points.reverse();
        }
        points.into_iter().map(move |point| (round, point))
    });
    (1..)
        .zip(rounds)
        .map(|(number, (round, point))| (number, round, point))
        .collect()
}

/// What is expected at each point and place of a sheet by the book, and the gauge for each
/// place.
#[derive(Debug, Default)]
pub(crate) struct OfSheet {
    pub expected: Expected,
    pub gauges: Gauges,
}

/// What was worked out for the sheets of one revision: a sheet is asked for every few
/// seconds by each who is at it.
#[derive(Debug, Default)]
pub(crate) struct Planned(Mutex<BTreeMap<(Subject, String), Arc<OfSheet>>>);

/// Sheets of one revision that are kept.
const KEPT: usize = 64;

/// For a sheet about `subject` on the day `date`. A subject that cannot be planned has
/// none.
pub(super) async fn of_sheet(
    opened: &Arc<Opened>,
    subject: &Subject,
    date: &str,
) -> Result<Arc<OfSheet>, Fault> {
    let key = (subject.clone(), date.to_string());
    let kept = || {
        opened
            .planned
            .0
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    };
    if let Some(found) = kept().get(&key) {
        return Ok(found.clone());
    }
    let (book, asked) = (opened.clone(), key.clone());
    let made = beside(move || expected(&book.book, &asked.0, &asked.1)).await?;
    let made = Arc::new(made);
    let mut all = kept();
    if all.len() >= KEPT {
        all.clear();
    }
    all.insert(key, made.clone());
    Ok(made)
}

fn expected(book: &Book, subject: &Subject, date: &str) -> OfSheet {
    let wish = Wish {
        date: date.into(),
        ..Wish::default()
    };
    let Ok(plan) = plan(book, std::slice::from_ref(subject), &wish) else {
        return OfSheet::default();
    };
    let gauges = plan.items.iter().flat_map(|item| &item.gauges);
    let all = plan.items.iter().flat_map(|item| {
        let points = numbered(item).into_iter();
        points.flat_map(|(number, _, point)| {
            let values = point.expected.iter();
            values.map(move |(place, figure)| {
                let unit = place.kind().unit(System::Us);
                (number, *place, unit.to_si(figure.value(System::Us)))
            })
        })
    });
    OfSheet {
        expected: all.collect(),
        gauges: gauges.map(|at| (at.place, at.gauge.clone())).collect(),
    }
}

/// The plan as it is shown, or why there is none.
pub(super) fn shown(opened: &Opened, reader: &Reader, wanted: &Wanted) -> Markup {
    let system = reader.system(&opened.book);
    let plan = match of(&opened.book, wanted) {
        Ok(plan) => plan,
        Err(error) => return html! { p.wrong role="status" { (error.to_string()) "." } },
    };
    html! {
        section #plan aria-labelledby="plan-head" {
            h2 id="plan-head" { "The plan" }
            (notices(&plan.cautions, system))
            @for (at, item) in plan.items.iter().enumerate() { (shown_item(at, item, system)) }
        }
    }
}

fn shown_item(at: usize, item: &PlanItem, system: System) -> Markup {
    let named: Vec<_> = item
        .gauges
        .iter()
        .map(|at| (at.place, at.gauge.clone()))
        .collect();
    let set_up = picture::set_up(&item.subject, &named);
    html! {
        h2 { (capital(&item.title)) }
        @if !item.layout.is_empty() { p { (item.layout) } }
        (drawing(&format!("set-up-{at}"), &format!("Set-up: {}", item.title), &set_up))
        (wide(&format!("Gauges for {}", item.title), &gauges(item)))
        h3 { "How sure it will be" }
        @for one in &item.expected {
            p {
                (capital(&one.name)) ": " (one.value.show(system)) " by the book, to be known within "
                b { (one.half.show(system)) " (" (decimal(100.0 * one.share, 1)) " %)" }
                " with " (rounds(item.repeats)) "; wanted " (decimal(100.0 * one.wanted, 1)) " %. "
                @if one.reached { "Reached. " } @else {
                    b { "Not reached. " } "The gauges alone leave " (decimal(100.0 * one.floor, 1)) " %, however often it is read. "
                }
                @if let Some(gauge) = &one.limited_by { "What stands most in the way: " (gauge) "." }
            }
        }
        h3 { "What to read" }
        (wide(&format!("Points of {}", item.title), &points(item, system)))
        (notices(&item.notices, system))
    }
}

fn rounds(count: u32) -> String {
    match count {
        1 => "each point read once".into(),
        2 => "each point read twice".into(),
        many => format!("each point read {many} times"),
    }
}

fn gauges(item: &PlanItem) -> Markup {
    html! {
        thead { tr { th scope="col" { "What is read" } th scope="col" { "Gauge" } th scope="col" { "Where" } } }
        tbody {
            @for at in &item.gauges {
                tr {
                    th scope="row" { (capital(at.place.word())) }
                    td { (read_with(at)) }
                    td { (at.words) }
                }
            }
        }
    }
}

/// What reads it: length and time need no gauge of the book.
fn read_with(at: &GaugeAt) -> Markup {
    html! {
        @match (at.gauge.as_str(), at.place) {
            ("", Place::Rise) => "level or tape",
            ("", Place::Length) => "tape",
            ("", Place::Minutes) => "watch",
            ("", _) => b { "none at hand that reads it" },
            (gauge, _) => (gauge),
        }
    }
}

fn points(item: &PlanItem, system: System) -> Markup {
    let places = item.subject.places().iter();
    let has = |place: &Place| {
        item.points
            .iter()
            .any(|point| point.expected.iter().any(|(p, _)| p == place))
    };
    let places: Vec<_> = places.filter(|place| has(place)).collect();
    html! {
        thead { tr {
            th scope="col" { "Point" } th scope="col" { "What it is" } th scope="col" { "Set" }
            @for place in &places { th.number scope="col" { (capital(place.word())) } }
        } }
        tbody {
            @for (number, round, point) in numbered(item) {
                tr {
                    th.set scope="row" { (number) @if item.repeats > 1 { " " span.place { "round " (round) } } }
                    td.what { (capital(&point.target)) }
                    td.set { (point.steer.0.word()) " " b { (point.steer.1.show(system)) } }
                    @for place in &places {
                        td.number { @if let Some((_, figure)) = point.expected.iter().find(|(p, _)| p == *place) { (figure.show(system)) } }
                    }
                }
            }
        }
    }
}

/// What people call a test.
pub(super) fn title(subject: &Subject) -> String {
    match subject {
        Subject::Hose { hose, .. } => format!("Friction of hose {hose}"),
        Subject::Nozzle {
            nozzle,
            setting: Some(setting),
        } => format!("Nozzle {nozzle}, {setting}"),
        Subject::Nozzle {
            nozzle,
            setting: None,
        } => format!("Nozzle {nozzle}"),
        Subject::Pump { rig } => format!("Pump of {rig}"),
        Subject::Hydrant { hydrant } => format!("Hydrant {hydrant}"),
        Subject::Service { hose } => format!("Service test of hose {hose}"),
    }
}
