//! The lines of a book, by rig, each with what its crew gets.

use crate::address;
use crate::fault::Fault;
use crate::look;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables::big;
use crate::tables_out;
use crate::told::{Told, told};
use crate::words;
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use book::{Book, Conditions, Line};
use hydraulics::units::{Force, Kind, Measure, System, show};
use maud::{Markup, html};
use std::sync::Arc;
use study::answer::{LineAnswer, TipAnswer};
use study::notice::Notice;

pub(crate) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(Told { told: code }): Query<Told>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let system = reader.system(&opened.book);
    let told = told(&workbench, &opened, code.as_deref(), Some(""), system).await?;
    let content = html! {
        (told)
        (lines(&opened, system))
    };
    let title = format!("Lines of {}", opened.book.name);
    Ok(page(
        &title,
        &reader,
        &Place::of(&opened, "Lines"),
        &content,
    ))
}

fn lines(opened: &Opened, system: System) -> Markup {
    let book = &opened.book;
    html! {
        h1 { "Lines" }
        @if book.about.invented { p { "This department and its equipment are invented, to show what a book can say." } }
        div.actions {
            a.button.first href=(address::book(&opened.slug, "/new-line")) { "New line" }
        }
        @if book.line.is_empty() {
            p.quiet { "No line yet. A line runs from a pump's outlet through hose to one or more tips." }
        }
        @for (rig, names) in by_rig(book) {
            section {
                h2 { @match rig { Some(rig) => { "Off " (rig) } None => "Lines for any rig" } }
                ul.cards.lines {
                    @for name in names {
                        @if let Some(line) = book.line.get(name) { li { (card(opened, name, line, system)) } }
                    }
                }
            }
        }
        (tables_out::links(&address::book(&opened.slug, ""), "the whole book", system))
        @if !book.line.is_empty() {
            p.hint { "Reaction is the trade's formula value; people by the crew limits of this book." }
        }
    }
}

/// Rigs in the order of their first line, each with its lines in the book's order.
fn by_rig(book: &Book) -> Vec<(Option<&str>, Vec<&str>)> {
    let mut rigs: Vec<(Option<&str>, Vec<&str>)> = Vec::new();
    for (name, line) in &book.line {
        let rig = line.rig.as_deref();
        match rigs.iter_mut().find(|(known, _)| *known == rig) {
            Some((_, lines)) => lines.push(name),
            None => rigs.push((rig, vec![name])),
        }
    }
    rigs
}

fn card(opened: &Opened, name: &str, line: &Line, system: System) -> Markup {
    let title = line.title.as_deref().unwrap_or(name);
    html! {
        h3 { a href=(address::line(&opened.slug, name)) { (title) } }
        p { (words::row(&line.parts, system)) }
        @match study::solve(&opened.book, name, &Conditions::default()) {
            Ok(answer) => {
                (figures(&answer, system))
                (worst(&answer.notices))
            }
            Err(error) => { p.wrong { (error) } }
        }
    }
}

fn figures(answer: &LineAnswer, system: System) -> Markup {
    let pressures = answer.tips.iter().map(|t| t.tip_pressure.si());
    html! {
        dl.figures {
            div { dt { "Pump" } dd { (big(&show(Kind::Pressure, answer.pump_pressure, system))) } }
            div { dt { "Flow" } dd { (big(&show(Kind::Flow, answer.flow, system))) } }
            div { dt { (if answer.tips.len() > 1 { "Tips" } else { "Tip" }) }
                dd { (big(&range(Kind::Pressure, pressures, system))) } }
            @if let Some(tip) = hardest(&answer.tips) {
                div {
                    dt { (if answer.tips.len() > 1 { "Most reaction" } else { "Reaction" }) }
                    dd { (big(&show(Kind::Force, tip.reaction, system))) span { (tip.takes()) } }
                }
            }
        }
    }
}

/// The least and the most of some values, once where they read the same.
fn range(kind: Kind, values: impl Iterator<Item = f64> + Clone, system: System) -> String {
    let least = values.clone().fold(f64::INFINITY, f64::min);
    let most = values.fold(f64::NEG_INFINITY, f64::max);
    let said = |si: f64| show(kind, hydraulics::units::Pressure::of_si(si), system);
    let (least, most) = (said(least), said(most));
    match least.split_once(' ') {
        Some((value, _)) if least != most => format!("{value} to {most}"),
        _ => most,
    }
}

fn hardest(tips: &[TipAnswer]) -> Option<&TipAnswer> {
    let force = |tip: &TipAnswer| Force::si(tip.reaction);
    tips.iter().max_by(|a, b| force(a).total_cmp(&force(b)))
}

fn worst(all: &[Notice]) -> Markup {
    let Some(worst) = all.iter().rev().max_by_key(|notice| notice.weight) else {
        return html! { p.quiet { "No notices." } };
    };
    html! {
        p class=(format!("brief {}", worst.weight.word())) {
            strong { (look::weight_word(worst.weight)) } ": "
            @if !worst.place.is_empty() { (worst.place) ": " }
            (first_sentence(&worst.text))
        }
        @if all.len() > 1 {
            p.quiet { (all.len() - 1) @if all.len() == 2 { " more notice" } @else { " more notices" } " on its page" }
        }
    }
}

/// A card has room for one.
fn first_sentence(text: &str) -> &str {
    text.split_once(". ").map_or(text, |(first, _)| first)
}
