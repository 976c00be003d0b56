//! A long comparison told as it goes, by server-sent events, from the one request that
//! works it out: when nobody listens any more, the work stops.

use super::asked::Question;
use super::run::{Progress, Work};
use super::shown::{content_of, title_of};
use super::weights::Weighed;
use crate::fault::Fault;
use crate::form::Pairs;
use crate::offer::offered;
use crate::reader::Reader;
use crate::workbench::Workbench;
use axum::extract::{Path, Query, State};
use axum::response::sse::{Event, KeepAlive, Sse};
use futures_util::stream::{self, Stream};
use maud::html;
use serde_json::json;
use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;
use study::figure::thousands;

/// How often is told how far it is.
const EVERY: Duration = Duration::from_millis(150);

pub(super) async fn streamed(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(pairs): Query<Pairs>,
    reader: Reader,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Fault> {
    let question = Question::open(&workbench, &slug, pairs).await?;
    let comparison = question.read().map_err(Fault::Book)?;
    let weighed = Weighed::of(&question, comparison);
    let work = Work::begin(&workbench, &question.opened, weighed.now());
    let telling = Telling {
        work: Some(work),
        workbench,
        question,
        weighed,
        reader,
    };
    let events = stream::unfold(telling, Telling::next);
    Ok(Sse::new(events).keep_alive(KeepAlive::default()))
}

/// What is told: how far it is, and at last the answer.
struct Telling {
    /// `None` when all is told.
    work: Option<Work>,
    workbench: Arc<Workbench>,
    question: Question,
    weighed: Weighed,
    reader: Reader,
}

impl Telling {
    async fn next(mut self) -> Option<(Result<Event, Infallible>, Self)> {
        let work = self.work.as_mut()?;
        let event = match tokio::time::timeout(EVERY, &mut work.done).await {
            Err(_) => far(work.progress()),
            Ok(done) => {
                self.work = None;
                let found = done.unwrap_or_else(|stopped| Err(Fault::Stopped(stopped.to_string())));
                self.answer(found).await
            }
        };
        Some((Ok(event), self))
    }

    async fn answer(&self, found: Result<super::run::Found, Fault>) -> Event {
        let asked = (&self.question, &self.weighed);
        let shown = match found {
            Ok(found) => content_of(&self.workbench, asked, &self.reader, found).await,
            Err(fault) => Err(fault),
        };
        let shown = shown.unwrap_or_else(|fault| {
            html! { h1 { "That did not work" } p.caution { (fault.to_string()) } }
        });
        let content = offered(&self.reader.who, &shown);
        let title = title_of(&self.question, Some(self.weighed.now()));
        told(
            "answer",
            &json!({ "title": title, "content": content.into_string() }),
        )
    }
}

/// How far it is, as numbers and in words.
fn far(progress: Progress) -> Event {
    let (done, all, words) = match progress {
        Progress::Waiting(0) => (
            0,
            0,
            "Waiting for its turn: others are being worked out".into(),
        ),
        Progress::Waiting(before) => (0, 0, format!("Waiting for its turn: {before} before it")),
        Progress::Doing(what, _, 0) => (0, 0, format!("{what}: beginning")),
        Progress::Doing(what, done, all) => (
            done,
            all,
            format!("{} of {} {what}", thousands(done), thousands(all)),
        ),
    };
    told("far", &json!({ "done": done, "all": all, "words": words }))
}

fn told(name: &str, data: &serde_json::Value) -> Event {
    Event::default().event(name).data(data.to_string())
}
