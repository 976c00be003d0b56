//! The tests of a department, by day, the latest first.

use crate::address;
use crate::books::your_name;
use crate::fault::Fault;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables::capital;
use crate::when::day_words;
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use maud::{Markup, html};
use records::{Stage, Test};
use serde::Deserialize;
use std::sync::Arc;

/// Tests on a page.
const PAGE: usize = 40;

#[derive(Deserialize, Default)]
pub(super) struct Asked {
    before: Option<i64>,
}

pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(asked): Query<Asked>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let before = asked.before.unwrap_or(i64::MAX);
    let most = i64::try_from(PAGE + 1).unwrap_or(i64::MAX);
    let mut tests = workbench.records.tests_before(&slug, before, most).await?;
    let more = tests.len() > PAGE;
    tests.truncate(PAGE);
    let content = content(&opened, &reader, &tests, more);
    Ok(page(
        "Tests",
        &reader,
        &Place::of(&opened, "Tests"),
        &content,
    ))
}

fn content(opened: &Opened, reader: &Reader, tests: &[Test], more: bool) -> Markup {
    let to = |rest: &str| address::book(&opened.slug, &format!("/tests{rest}"));
    html! {
        h1 { "Flow tests" }
        p { "What the department measured itself: friction of its hose, its nozzles, pumps and hydrants. Plan a test day, take the readings on a tablet, and put what was found into the book." }
        div.actions {
            a.button.first href=(to("/new")) { "Plan a test day" }
            a.button href=(to("/bring")) { "Bring readings in" }
        }
        @if tests.is_empty() { p.quiet { "No test is begun yet." } }
        @for day in tests.chunk_by(|a, b| a.new.date == b.new.date) {
            @if let Some(first) = day.first() {
                h2 { (day_words(&first.new.date)) }
                ul.cards { @for test in day { (card(opened, test)) } }
                p { a.button href=(to(&format!("/day/{}", address::step(&first.new.date)))) { "Result of the day" } }
            }
        }
        @if let (true, Some(last)) = (more, tests.last()) {
            p.actions { a.button rel="next" href=(address::asked(to(""), [("before", last.id.to_string().as_str())])) { "Tests before these" } }
        }
        (your_name(reader))
    }
}

fn card(opened: &Opened, test: &Test) -> Markup {
    let words = format!("{} {}", test.new.kind, test.new.subject);
    html! {
        li {
            h3 { a href=(address::test(&opened.slug, test.id, "")) { @if test.new.title.is_empty() { (capital(&words)) } @else { (test.new.title) } } }
            p { (stage(test.stage)) }
            p.quiet { (capital(&words)) ", test " (test.id) }
        }
    }
}

/// How far it has come, as word and mark.
pub(super) fn stage(stage: Stage) -> Markup {
    let words = match stage {
        Stage::Open => "Taking readings".to_string(),
        Stage::Closed => "Closed".to_string(),
        Stage::Accepted { revision } => format!("In the book since revision {revision}"),
    };
    html! { strong class=(format!("stage {}", stage.word())) { (words) } }
}
