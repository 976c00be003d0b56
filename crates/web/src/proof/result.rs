//! What a test says: the page of its result, and that of its day.

use super::day::{Left, Reduced};
use super::{enter, list, seen};
use crate::address;
use crate::fault::Fault;
use crate::form::{Pairs, Sent};
use crate::look::notices;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables::capital;
use crate::told::told;
use crate::when::plain_day;
use crate::workbench::Workbench;
use axum::extract::{Path, Query, State};
use hydraulics::units::System;
use maud::{Markup, html};
use records::{Stage, Test};
use std::sync::Arc;
use study::proof::Proof;

pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, id)): Path<(String, i64)>,
    Query(pairs): Query<Pairs>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let sent = Sent(pairs);
    let (reduced, at) = Reduced::of_test(&workbench, &slug, id, Left::of(&sent)).await?;
    let (test, proof) = reduced.one(at)?;
    let system = reader.system(&reduced.opened.book);
    let title = format!("Result: {}", name(test));
    let code = Some(sent.get("told")).filter(|code| code.parse::<i64>().is_ok());
    let said = told(&workbench, &reduced.opened, code, code.map(|_| ""), system).await?;
    let report = enter::shown(&workbench, &reader, &reduced, (test, proof)).await?;
    let content = html! {
        h1 { (title) }
        p.quiet { (plain_day(&test.new.date)) ", " (list::stage(test.stage)) }
        (said)
        @if sent.get("told") == "closed" { p.told role="status" { "Closed. What it says stays as it is; its result can go into the book." } }
        (seen::suspects(&own(&reduced, proof), system))
        (mend(&slug, id, &reduced, proof))
        (seen::whole(proof, &reduced.left, system, |points| form(&slug, id, &reduced.left, &points)))
        (next(&slug, test, proof, &reduced.left))
        (report)
    };
    Ok(page(
        &title,
        &reader,
        &Place::of(&reduced.opened, "Tests"),
        &content,
    ))
}

/// The suspects among the gauges of one test.
fn own(reduced: &Reduced, proof: &Proof) -> Vec<study::proof::Suspect> {
    let all = reduced.proved.suspects.iter();
    let own = all.filter(|suspect| suspect.gauges.iter().any(|g| proof.gauges.contains(g)));
    own.cloned().collect()
}

/// A way to reckon with a bad gauge corrected by what the others say.
fn mend(slug: &str, id: i64, reduced: &Reduced, proof: &Proof) -> Markup {
    let suspects = own(reduced, proof);
    let single = suspects.iter().filter_map(|s| match s.gauges.as_slice() {
        [one] if !reduced.left.gauges.contains(one) => Some(one.clone()),
        _ => None,
    });
    html! {
        @for gauge in single {
            p.actions.no-print {
                a.button href=(address::and(with(slug, id, "/result", &reduced.left), "correct", &gauge)) { "Reckon with gauge " (gauge) " corrected by what the others say" }
            }
        }
    }
}

pub(super) fn name(test: &Test) -> String {
    match test.new.title.as_str() {
        "" => capital(&format!("{} {}", test.new.kind, test.new.subject)),
        title => title.into(),
    }
}

/// The points as a form, so that some can be left out.
fn form(slug: &str, id: i64, left: &Left, points: &Markup) -> Markup {
    let own = address::test(slug, id, "/result");
    html! {
        p.no-print { "A point that is left out stays on the page, with the reason. Leave one out only when you know what was wrong with it." }
        form.shown method="get" action=(own) {
            @for gauge in &left.gauges { input type="hidden" name="correct" value=(gauge); }
            (points)
            div.actions {
                button { "Reckon without those" }
                @if !left.is_none() { a.button href=(own) { "Count them all" } }
            }
        }
    }
}

/// The address of a page of the test, with what is left out.
pub(super) fn with(slug: &str, id: i64, rest: &str, left: &Left) -> String {
    let pairs = left.pairs();
    let pairs = pairs
        .iter()
        .map(|(key, value)| (key.as_str(), value.as_str()));
    address::asked(address::test(slug, id, rest), pairs)
}

fn next(slug: &str, test: &Test, proof: &Proof, left: &Left) -> Markup {
    let id = test.id;
    let day = format!("/tests/day/{}", address::step(&test.new.date));
    html! {
        h2 { "What to do with it" }
        @match test.stage {
            Stage::Open => p { "The sheet still takes readings. Close it first; then its result can go into the book." },
            Stage::Closed if !proof.found.is_empty() => p { "Look at what changes in the book, in lines and on issued sheets, before anything is saved." },
            Stage::Closed => p { "There is nothing to put into the book." },
            Stage::Accepted { revision } => p.keep { "In the book since revision " (revision) "." },
        }
        div.actions.no-print {
            @if test.stage == Stage::Open { form method="post" action=(address::test(slug, id, "/close")) { button.first { "Close the sheet" } } }
            @if test.stage != Stage::Open && !proof.found.is_empty() { a.button.first href=(with(slug, id, "/accept", left)) { "See what it changes" } }
            a.button href=(with(slug, id, "/report", left)) { "Proof of the report as PDF, not entered" }
            a.button href=(address::test(slug, id, "")) { "The sheet of readings" }
            a.button href=(address::book(slug, &day)) { "All tests of the day" }
        }
    }
}

pub(super) async fn of_day(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, date)): Path<(String, String)>,
    Query(pairs): Query<Pairs>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let code = Sent(pairs).own("told");
    let reduced = Reduced::of_day(&workbench, &slug, &date).await?;
    if reduced.tests.is_empty() {
        let text = format!("No test is begun for {}.", plain_day(&date));
        return Err(Fault::Missing(text));
    }
    let system = reader.system(&reduced.opened.book);
    let title = format!("Test day {}", plain_day(&date));
    let proved = &reduced.proved;
    let content = html! {
        h1 { (title) }
        @if code == "in" { p.told role="status" { "The readings are in." } }
        (seen::suspects(&proved.suspects, system))
        @if !proved.notices.is_empty() { (notices(&proved.notices, system)) }
        h2 { "Its tests" }
        ul.cards.lines {
            @for (test, proof) in reduced.tests.iter().zip(&proved.proofs) { (card(&slug, test, proof, system)) }
        }
        p.actions.no-print { a.button href=(address::book(&slug, "/tests")) { "All tests" } }
    };
    Ok(page(
        &title,
        &reader,
        &Place::of(&reduced.opened, "Tests"),
        &content,
    ))
}

fn card(slug: &str, test: &Test, proof: &Proof, system: System) -> Markup {
    let to = match (proof.points.is_empty(), test.stage) {
        (true, Stage::Open) => address::test(slug, test.id, ""),
        _ => address::test(slug, test.id, "/result"),
    };
    html! {
        li {
            h3 { a href=(to) { (name(test)) } }
            p { (list::stage(test.stage)) @if let Some(verdict) = proof.verdict() { " " (seen::mark(verdict)) } }
            @for found in &proof.found { p { (capital(&found.words(system))) } }
            @if proof.found.is_empty() && !proof.points.is_empty() { p.wrong { "No result: see why" } }
            p.quiet { @match proof.points.len() { 0 => "No readings yet", 1 => "1 point", many => { (many) " points" } } }
            p.above { a href=(address::test(slug, test.id, "")) { "Sheet of readings" } }
        }
    }
}
