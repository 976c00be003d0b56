//! A result put into the book: first what it would change, then the revision.

use super::day::{Left, Reduced};
use super::result::{name, with};
use super::{Planned, Reckoned};
use crate::address;
use crate::compare::Compared;
use crate::conflict;
use crate::fault::Fault;
use crate::form::{Filled, Pairs, Sent};
use crate::paper::{Held, beside, differences_words, held};
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables::{capital, wide};
use crate::when::plain_day;
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use book::Book;
use hydraulics::units::System;
use maud::{Markup, html};
use records::{RecordsError, Stage, Standing, Test};
use std::sync::Arc;
use study::proof::{AcceptError, Accepting, Effect, Proof, accept, effects};

/// Effects and sheets that are listed.
const LISTED: usize = 60;

pub(super) async fn asked(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, id)): Path<(String, i64)>,
    Query(pairs): Query<Pairs>,
    reader: Reader,
) -> Result<Response, Fault> {
    let sent = Sent(pairs);
    let (reduced, at) = Reduced::of_test(&workbench, &slug, id, Left::of(&sent)).await?;
    shown(&workbench, &reader, &reduced, at, &sent).await
}

pub(super) async fn sent(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, id)): Path<(String, i64)>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(pairs);
    let (reduced, at) = Reduced::of_test(&workbench, &slug, id, Left::of(&sent)).await?;
    let (test, proof) = reduced.one(at)?;
    let opened = &reduced.opened;
    let base = sent.base().unwrap_or(0);
    let refused = |fault| stale(&workbench, &reader, fault, &reduced.left, id);
    if base != opened.revision {
        let error = RecordsError::Stale {
            slug: slug.clone(),
            base,
            current: opened.revision,
        };
        return refused(error.into()).await;
    }
    let Ok(after) = taken(opened, proof, &reduced, &sent) else {
        return shown(&workbench, &reader, &reduced, at, &sent).await;
    };
    let text = book::amend(&opened.text, &opened.book, &after);
    let why = format!("result of test {id} of {}", plain_day(&test.new.date));
    match workbench
        .accept(opened, &text, &why, &reader.name, &[id])
        .await
    {
        Ok(number) => {
            let told = number.to_string();
            let result = with(&slug, id, "/result", &reduced.left);
            Ok(Redirect::to(&address::and(result, "told", &told)).into_response())
        }
        Err(fault @ Fault::Records(RecordsError::Stale { .. })) => refused(fault).await,
        Err(other) => Err(other),
    }
}

/// Somebody saved since the page was made.
async fn stale(
    workbench: &Workbench,
    reader: &Reader,
    fault: Fault,
    left: &Left,
    id: i64,
) -> Result<Response, Fault> {
    conflict::told(workbench, reader, fault, |newest| {
        html! {
            p { "The result of test " (id) " in the book. It is still in the records of the test." }
            p.actions { a.button.first href=(with(&newest.slug, id, "/accept", left)) { "See what it changes now" } }
        }
    })
    .await
}

/// The book with the result in it.
fn taken(
    opened: &Opened,
    proof: &Proof,
    reduced: &Reduced,
    sent: &Sent,
) -> Result<Book, AcceptError> {
    let source = match sent.own("source").as_str() {
        "" => "own flow test".to_string(),
        source => source.chars().take(200).collect(),
    };
    let how = Accepting {
        source,
        go_on: !sent.get("go_on").is_empty(),
        suspects: &reduced.proved.suspects,
        corrected: &reduced.left.gauges,
    };
    accept(&opened.book, proof, &how)
}

async fn shown(
    workbench: &Workbench,
    reader: &Reader,
    reduced: &Reduced,
    at: usize,
    sent: &Sent,
) -> Result<Response, Fault> {
    let (test, proof) = reduced.one(at)?;
    let opened = &reduced.opened;
    let system = reader.system(&opened.book);
    let title = format!("Into the book: {}", name(test));
    let (status, said) = match taken(opened, proof, reduced, sent) {
        Ok(after) => (
            StatusCode::OK,
            would(workbench, reduced, test, after, sent, system).await?,
        ),
        Err(error) => (
            StatusCode::UNPROCESSABLE_ENTITY,
            refused(reduced, test, &error),
        ),
    };
    let content = html! {
        h1 { (title) }
        p { "Nothing is saved yet. " @for found in &proof.found { (capital(&found.words(system))) ". " } }
        @for (point, why) in &reduced.left.points { p { "Point " (point) " is left out: " @if why.is_empty() { "no reason given" } @else { (why) } "." } }
        @for gauge in &reduced.left.gauges { p { "The readings of gauge " (gauge) " are corrected by what the others say." } }
        (said)
        p.actions.no-print { a.button href=(with(&opened.slug, test.id, "/result", &reduced.left)) { "Back to the result" } }
    };
    let place = Place::of(opened, "Tests");
    Ok((status, page(&title, reader, &place, &content)).into_response())
}

/// Why it is not taken, and what can be done.
fn refused(reduced: &Reduced, test: &Test, error: &AcceptError) -> Markup {
    let slug = &reduced.opened.slug;
    let suspect = matches!(error, AcceptError::Suspect { .. });
    let single: Vec<&String> = reduced
        .proved
        .suspects
        .iter()
        .filter_map(|s| match s.gauges.as_slice() {
            [one] => Some(one),
            _ => None,
        })
        .collect();
    html! {
        p.caution { (error.to_string()) "." }
        @if suspect {
            @for gauge in single {
                form method="get" action=(address::test(slug, test.id, "/result")) {
                    (carried(&reduced.left))
                    input type="hidden" name="correct" value=(gauge);
                    div.actions { button { "Reckon with gauge " (gauge) " corrected" } }
                }
            }
            form method="get" action=(address::test(slug, test.id, "/accept")) {
                (carried(&reduced.left))
                label.check { input type="checkbox" name="go_on" value="yes" required; "Take it all the same: I know why the gauge looks like that" }
                div.actions { button { "See what it changes" } }
            }
        }
    }
}

fn carried(left: &Left) -> Markup {
    html! { @for (key, value) in left.pairs() { input type="hidden" name=(key) value=(value); } }
}

/// What the revision would change, and the form that saves it.
async fn would(
    workbench: &Workbench,
    reduced: &Reduced,
    test: &Test,
    after: Book,
    sent: &Sent,
    system: System,
) -> Result<Markup, Fault> {
    let opened = &reduced.opened;
    let changes = study::changes(&opened.book, &after, system);
    if changes.is_empty() {
        return Ok(html! { p.keep { "The book has this result already: nothing would change." } });
    }
    let sheets = sheets(workbench, opened, &after).await?;
    let before = opened.clone();
    let moved = beside(move || effects(&before.book, &after)).await?;
    Ok(html! {
        h2 { "In the book" }
        ul { @for words in &changes { li { (words) } } }
        p.quiet { "The published or rated value stays beside it; a measured one before it stays in the revision before." }
        h2 { "Lines that change" }
        (lines(&moved, system))
        h2 { "Issued sheets that become wrong" }
        (wrong(&sheets))
        (form(reduced, test, sent))
    })
}

fn lines(moved: &[Effect], system: System) -> Markup {
    if moved.is_empty() {
        return html! { p { "None by as much as half a psi or half a gpm." } };
    }
    let show = |figures: &[Option<study::figure::Figure>; 2], at: usize| {
        let figure = figures.get(at).and_then(Option::as_ref);
        figure.map_or("no answer".to_string(), |figure| figure.show(system))
    };
    let by = |figures: &[Option<study::figure::Figure>; 2]| match figures {
        [Some(old), Some(new)] => new.less(old).show_change(system),
        _ => String::new(),
    };
    let rows = html! {
        thead { tr {
            th scope="col" { "Line" } th scope="col" { "Pump pressure now" } th scope="col" { "Then" } th scope="col" { "Change" }
            th scope="col" { "Flow" } th scope="col" { "What it passes then" }
        } }
        tbody {
            @for effect in moved.iter().take(LISTED) {
                tr {
                    th scope="row" { (effect.title.as_deref().unwrap_or(&effect.line)) }
                    td.set { (show(&effect.pump_pressure, 0)) }
                    td.set { b { (show(&effect.pump_pressure, 1)) } }
                    td.set { (by(&effect.pump_pressure)) }
                    td.set { (show(&effect.flow, 0)) @if by(&effect.flow) != "none" { ", then " (show(&effect.flow, 1)) } }
                    td { @for limit in &effect.crosses { p.wrong { (limit) } } }
                }
            }
        }
    };
    html! {
        (wide("Lines that change", &rows))
        @if moved.len() > LISTED { p { "and " (moved.len() - LISTED) " more." } }
    }
}

/// The issued sheets that hold now and would not with `after`.
async fn sheets(
    workbench: &Workbench,
    opened: &Arc<Opened>,
    after: &Book,
) -> Result<Vec<Held>, Fault> {
    let issues = workbench.records.issued(&opened.slug).await?;
    let now = held(issues.clone(), opened).await?;
    let then = Arc::new(Opened {
        slug: opened.slug.clone(),
        revision: opened.revision + 1,
        text: String::new(),
        book: after.clone(),
        planned: Planned::default(),
        reckoned: Reckoned::default(),
        compared: Compared::default(),
    });
    let then = held(issues, &then).await?;
    let holds = |held: &Held| {
        let was = now.iter().find(|was| was.issue.id == held.issue.id);
        was.is_some_and(|was| was.standing == Standing::Current)
    };
    Ok(then
        .into_iter()
        .filter(|held| held.is_wrong() && holds(held))
        .collect())
}

fn wrong(sheets: &[Held]) -> Markup {
    if sheets.is_empty() {
        return html! { p { "None that is issued now." } };
    }
    html! {
        ul.issues {
            @for held in sheets.iter().take(LISTED) {
                li.superseded {
                    h3 { (held.title()) " of " (held.day()) }
                    @if let Standing::Superseded { differences, .. } = &held.standing { (differences_words(differences)) }
                }
            }
        }
        @if sheets.len() > LISTED { p { "and " (sheets.len() - LISTED) " more." } }
    }
}

fn form(reduced: &Reduced, test: &Test, sent: &Sent) -> Markup {
    let slug = &reduced.opened.slug;
    let source = match sent.own("source").as_str() {
        "" => format!("own flow test, test {}", test.id),
        source => source.to_string(),
    };
    html! {
        @if test.stage == Stage::Open {
            p.caution { "The sheet still takes readings. Close it first, so that the result stays what it is." }
            form method="post" action=(address::test(slug, test.id, "/close")) { div.actions { button.first { "Close the sheet" } } }
        } @else {
            form.form method="post" action=(address::test(slug, test.id, "/accept")) {
                input type="hidden" name="base" value=(reduced.opened.revision);
                @if !sent.get("go_on").is_empty() { input type="hidden" name="go_on" value="yes"; }
                (carried(&reduced.left))
                div {
                    label for="source" { "Source, as the book will say it" }
                    input id="source" name="source" value=(source) maxlength="200" autocomplete="off";
                }
                div.actions { button.first { "Save as revision " (reduced.opened.revision + 1) } }
            }
        }
    }
}
