//! One piece of equipment: its values, its curve, its source, its use, its couplings.

use super::entry::{Entry, Item, Kind, entry};
use super::fits::{Joint, Misfit, Pairing, ends, misfits, pairings};
use super::uses::uses;
use super::values::{Value, values};
use crate::address;
use crate::fault::Fault;
use crate::look;
use crate::paper::{About, links};
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables::wide;
use crate::tables_out;
use crate::told::{self, Told};
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use book::Origin;
use hydraulics::coupling::Coupling;
use hydraulics::units::System;
use maud::{Markup, html};
use picture::Drawing;
use std::sync::Arc;

pub(super) async fn page_of(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, kind, name)): Path<(String, String, String)>,
    Query(Told { told: code }): Query<Told>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let missing = || {
        Fault::Missing(format!(
            "There is no {kind} \"{name}\" in this book or in the catalogue."
        ))
    };
    let of_kind = Kind::read(&kind).ok_or_else(missing)?;
    let entry = entry(&opened.book, of_kind, &name).ok_or_else(missing)?;
    let system = reader.system(&opened.book);
    let said = told::told(&workbench, &opened, code.as_deref(), None, system).await?;
    let content = content(&opened, &entry, system, &said);
    Ok(page(
        &name,
        &reader,
        &Place::of(&opened, "Equipment"),
        &content,
    ))
}

fn content(opened: &Opened, entry: &Entry<'_>, system: System, said: &Markup) -> Markup {
    let all = format!(
        "/book/{}/equipment#{}",
        address::step(&opened.slug),
        entry.kind.word()
    );
    let curves = curves(opened, entry, system);
    html! {
        h1 { (entry.name) }
        (said)
        p.inline { a href=(all) { "All: " (entry.kind.many().to_lowercase()) } }
        (on_paper(opened, entry))
        (by_form(opened, entry))
        div.two {
            div {
                h2 { "Values" }
                (value_table(&values(&opened.book, entry, system)))
            }
            div {
                (about(entry))
                (used(opened, entry))
            }
        }
        @if !curves.is_empty() {
            h2 { "How it behaves" }
            div {
                @for (index, (title, drawing)) in curves.iter().enumerate() {
                    (look::drawing(&format!("curve-{index}"), title, drawing))
                }
            }
        }
        (couplings(opened, entry))
        (tables_out::links(&address::equipment(&opened.slug, entry.kind.word(), entry.name), &format!("this {}", entry.kind.word()), system))
    }
}

/// Links to the sheets about it.
fn on_paper(opened: &Opened, entry: &Entry<'_>) -> Markup {
    let about = match entry.kind {
        Kind::Rig => About::Rig,
        Kind::Hose => About::Hose,
        Kind::Nozzle => About::Nozzle,
        _ => return html! {},
    };
    links(opened, about, entry.name)
}

/// What a form can do with it.
fn by_form(opened: &Opened, entry: &Entry<'_>) -> Markup {
    let word = entry.kind.word();
    if entry.kind.by_form().is_none() {
        return html! { p.hint { "What is written here is changed in the book's file." } };
    }
    let own = entry.origin == Origin::Own;
    let edit = format!(
        "{}/edit",
        address::equipment(&opened.slug, word, entry.name)
    );
    let new = address::book(&opened.slug, &format!("/new/{word}"));
    let like = address::asked(new, [("like", entry.name)]);
    let used = uses(&opened.book, entry) != Default::default();
    html! {
        div.actions {
            @if own { a.button href=(edit) { "Change" } }
            a.button href=(like) { "Make one like it" }
            @if own && !used {
                form method="post" action=(edit) {
                    input type="hidden" name="base" value=(opened.revision);
                    input type="hidden" name="do" value="remove";
                    button { "Take out" }
                }
            }
        }
        @if own && used { p.hint { "It can be taken out once nothing in the book uses it." } }
    }
}

fn value_table(values: &[Value]) -> Markup {
    let rows = html! {
        thead { tr { @for head in ["Value", "Is", "As written"] { th scope="col" { (head) } } } }
        tbody {
            @for value in values {
                tr {
                    th scope="row" { (value.name) }
                    td { (value.shown) }
                    td.quiet { (value.written.as_deref().unwrap_or("")) }
                }
            }
        }
    };
    wide("Values", &rows)
}

fn about(entry: &Entry<'_>) -> Markup {
    let about = entry.about();
    html! {
        h2 { "Where this comes from" }
        p {
            @match entry.origin {
                Origin::Own => "The department's own entry.",
                Origin::Catalogue => "From the generic catalogue.",
            }
            @if about.invented { " " strong { "Invented" } ", for a demonstration." }
        }
        @match &about.source {
            Some(source) => p { "Source: " (source) },
            None => p.quiet { "No source is stated." },
        }
        @if let Some(note) = &about.note { p { "Note: " (note) } }
    }
}

fn used(opened: &Opened, entry: &Entry<'_>) -> Markup {
    if entry.kind == Kind::Gauge {
        return html! {};
    }
    let uses = uses(&opened.book, entry);
    let (slug, book) = (&opened.slug, &opened.book);
    let line = |name: &str| book.line.get(name).and_then(|line| line.title.clone());
    let scene = |name: &str| book.scene.get(name).and_then(|scene| scene.title.clone());
    html! {
        h2 { "Where it is used" }
        @if uses == Default::default() { p.quiet { "No line and no scene of this book names it." } }
        ul.reaches {
            @for name in &uses.lines {
                li { "Line " a.reach href=(address::line(slug, name)) { (line(name).as_deref().unwrap_or(name)) } }
            }
            @for name in &uses.scenes {
                li { "Scene " a.reach href=(address::scene(slug, name)) { (scene(name).as_deref().unwrap_or(name)) } }
            }
            @for name in &uses.hydrants {
                li { "The main of hydrant " a.reach href=(address::equipment(slug, "hydrant", name)) { (name) } }
            }
        }
    }
}

/// Its drawings, each with its title.
fn curves(opened: &Opened, entry: &Entry<'_>, system: System) -> Vec<(&'static str, Drawing)> {
    let (book, name) = (&opened.book, entry.name);
    let one = |title, drawing: Option<Drawing>| drawing.map(|drawing| (title, drawing));
    let all = match entry.item {
        Item::Hose(_) => vec![one(
            "Friction loss",
            picture::hose_curve(book, name, system),
        )],
        Item::Nozzle(item) => {
            let reaction = picture::reaction_curve(name, item, book.crew_limits(), system);
            vec![
                one("Flow", picture::nozzle_curve(name, item, system)),
                one("Reaction", reaction),
            ]
        }
        Item::Appliance(item) => vec![one("Loss", picture::loss_curve(name, item, system))],
        Item::Rig(item) => {
            let pump = item.capability().ok().flatten();
            let drawing = pump.map(|pump| picture::capability(name, &pump, None, system));
            vec![one("Pump", drawing)]
        }
        Item::Hydrant(item) => {
            let test = item.test().ok().flatten();
            let drawing = test.map(|test| picture::tested(name, &test, system));
            vec![one("Supply", drawing)]
        }
        Item::Draft(_) | Item::Shuttle(_) | Item::Standpipe(_) | Item::Gauge(_) => Vec::new(),
    };
    all.into_iter().flatten().collect()
}

fn couplings(opened: &Opened, entry: &Entry<'_>) -> Markup {
    if !matches!(entry.kind, Kind::Hose | Kind::Nozzle | Kind::Appliance) {
        return html! {};
    }
    let ends = ends(entry);
    let misfits = misfits(&opened.book, entry);
    let pairings = pairings(&opened.book, entry);
    let in_lines = !uses(&opened.book, entry).lines.is_empty();
    html! {
        h2 { "Couplings" }
        p {
            "Inlet: " (described(&ends.inlets)) ". "
            (if entry.kind == Kind::Nozzle { "Where the tip unscrews: " } else { "Outlet: " }) (described(&ends.outlets)) "."
        }
        (amiss(opened, &misfits, in_lines))
        @if !pairings.is_empty() {
            h3 { "What screws on to it" }
            (pairing_table(opened, entry, &pairings))
        }
    }
}

fn described(couplings: &[Coupling]) -> String {
    let words: Vec<String> = couplings.iter().map(Coupling::describe).collect();
    match words.is_empty() {
        true => "none is written".into(),
        false => words.join(", "),
    }
}

fn amiss(opened: &Opened, misfits: &[Misfit], in_lines: bool) -> Markup {
    html! {
        @if misfits.is_empty() && in_lines {
            p.told { "Every joint with it in this book's lines can be screwed together." }
        }
        @if !misfits.is_empty() {
            h3 { "Joints in lines that are amiss" }
            ul.notices {
                @for misfit in misfits {
                    li.caution {
                        strong { (misfit.severity.word()) }
                        a.reach href=(address::line(&opened.slug, &misfit.line)) { (misfit.line) }
                        p { (misfit.message) }
                        @if !misfit.mend.is_empty() { p.mend { (misfit.mend) } }
                    }
                }
            }
        }
    }
}

fn pairing_table(opened: &Opened, entry: &Entry<'_>, pairings: &[Pairing<'_>]) -> Markup {
    let heads = [
        "Other".to_string(),
        format!("After {}", entry.name),
        format!("Before {}", entry.name),
    ];
    let rows = html! {
        thead { tr { @for head in heads { th scope="col" { (head) } } } }
        tbody {
            @for pairing in pairings {
                @let other = &pairing.other;
                tr {
                    th scope="row" {
                        a.reach href=(address::equipment(&opened.slug, other.kind.word(), other.name)) { (other.name) }
                        " " span.hint { (other.kind.word()) }
                    }
                    td { (told(&pairing.after)) }
                    td { (told(&pairing.before)) }
                }
            }
        }
    };
    wide("What screws on to it", &rows)
}

fn told(joint: &Joint) -> Markup {
    html! {
        @match joint {
            Joint::Unknown => span.quiet { "no such end" },
            Joint::Fits => "fits",
            Joint::Adapter(adapter) => { strong { "does not fit" } ": " (adapter) },
        }
    }
}
