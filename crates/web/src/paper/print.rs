//! From a sheet to a file: a proof, or a printing that is entered in the register.

use super::choice::{Asked, Choice};
use super::preview::kind;
use super::standing::register;
use crate::address;
use crate::fault::Fault;
use crate::form::{Filled, Pairs, Sent};
use crate::reader::Reader;
use crate::when::day;
use crate::workbench::{Opened, Workbench, now};
use axum::extract::{Path, Query, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use paper::{Kind, Paper, Sheet, Units};
use records::{NewIssue, RecordsError};
use std::sync::Arc;

/// Sheets at one go: more are a mistake, and would keep others waiting.
const MOST: usize = 1000;

/// What sheets of a book are made with.
pub(crate) struct Proof {
    opened: Arc<Opened>,
    units: Units,
    pub paper: Paper,
}

impl Proof {
    /// Of the book as it is, dated today.
    pub fn new(opened: &Arc<Opened>, reader: &Reader, choice: Choice) -> Self {
        Proof {
            opened: opened.clone(),
            units: choice.units,
            paper: Paper {
                size: choice.size,
                date: day(now()),
                address: reader.address.clone(),
                revision: u32::try_from(opened.revision).ok(),
            },
        }
    }

    /// One sheet.
    pub fn sheet(&self, kind: Kind, subject: &str) -> Result<Sheet, Fault> {
        Ok(kind.sheet(&self.opened.book, subject, self.units)?)
    }
}

/// A file that the browser keeps under `name`, of letters, digits, dots and hyphens.
pub(crate) fn attached(name: &str, kind: &'static str, bytes: Vec<u8>) -> Response {
    let plain = name.chars().map(|c| if c.is_ascii() { c } else { '-' });
    let plain: String = plain.collect();
    let whole = address::step(name);
    let attached = format!("attachment; filename=\"{plain}\"; filename*=UTF-8''{whole}");
    let head = [
        (CONTENT_TYPE, kind.to_string()),
        (CONTENT_DISPOSITION, attached),
    ];
    (head, bytes).into_response()
}

/// A sheet to look at, in no register.
pub(super) async fn proof(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, word, subject)): Path<(String, String, String)>,
    Query(asked): Query<Asked>,
    reader: Reader,
) -> Result<Response, Fault> {
    let opened = workbench.open(&slug).await?;
    let kind = kind(&word)?;
    let choice = Choice::of(&asked, &reader, &opened.book)?.fitting(kind);
    let proof = Proof::new(&opened, &reader, choice);
    let (name, pressed) = super::beside(move || {
        let sheet = proof.sheet(kind, &subject)?;
        let pressed = paper::press(&sheet, &proof.paper)?;
        Ok::<_, Fault>((paper::file_name(&sheet), pressed))
    })
    .await??;
    Ok(attached(&name, "application/pdf", pressed.pdf))
}

/// One sheet, printed and entered.
pub(super) async fn one(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, word, subject)): Path<(String, String, String)>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(pairs);
    let opened = workbench.open(&slug).await?;
    let kind = kind(&word)?;
    let choice = Choice::of(&Asked::of(&sent), &reader, &opened.book)?.fitting(kind);
    let wanted = vec![Wanted {
        kind,
        subject,
        choice,
    }];
    as_looked_at(&opened, &sent)?;
    printed(&workbench, &opened, &reader, wanted).await
}

/// Those that were ticked, printed and entered.
pub(super) async fn several(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(pairs);
    let opened = workbench.open(&slug).await?;
    let choice = Choice::of(&Asked::of(&sent), &reader, &opened.book)?;
    as_looked_at(&opened, &sent)?;
    let wanted = ticked(&opened, &sent, choice)?;
    if wanted.is_empty() {
        let text = "No sheet was ticked. Go back and tick those to be printed.";
        return Err(Fault::Misread(text.into()));
    }
    printed(&workbench, &opened, &reader, wanted).await
}

/// Every sheet whose newest printing is wrong by now, printed as it was, and entered.
pub(super) async fn superseded(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let opened = workbench.open(&slug).await?;
    as_looked_at(&opened, &Sent(pairs))?;
    let held = register(&workbench, &opened).await?;
    let wanted: Vec<Wanted> = held.iter().filter_map(|held| held.again()).collect();
    if wanted.is_empty() {
        let text = "No sheet is to be reprinted: the newest printing of each is current or withdrawn, \
                    or the book has its subject no more.";
        return Err(Fault::Misread(text.into()));
    }
    printed(&workbench, &opened, &reader, wanted).await
}

/// A sheet that shall be printed.
pub(super) struct Wanted {
    pub kind: Kind,
    pub subject: String,
    pub choice: Choice,
}

/// What is printed is what was looked at.
pub(crate) fn as_looked_at(opened: &Opened, sent: &Sent) -> Result<(), Fault> {
    match sent.base() {
        Some(base) if base != opened.revision => Err(Fault::Records(RecordsError::Stale {
            slug: opened.slug.clone(),
            base,
            current: opened.revision,
        })),
        _ => Ok(()),
    }
}

/// The sheets of the boxes, in the order of the page.
fn ticked(opened: &Opened, sent: &Sent, choice: Choice) -> Result<Vec<Wanted>, Fault> {
    let (all, some) = (sent.all("all"), sent.all("sheet"));
    let everything = sent.get("do") == "everything";
    for word in &all {
        kind(word)?;
    }
    let mut wanted = Vec::new();
    for kind in Kind::ALL {
        let whole = everything || all.iter().any(|word| word == kind.word());
        let subjects = kind.subjects(&opened.book).into_iter();
        let subjects = subjects.filter(|subject| whole || some.contains(&boxed(kind, subject)));
        wanted.extend(subjects.map(|subject| Wanted {
            kind,
            subject: subject.to_string(),
            choice: choice.fitting(kind),
        }));
    }
    Ok(wanted)
}

/// What the box of a sheet sends.
pub(super) fn boxed(kind: Kind, subject: &str) -> String {
    format!("{} {subject}", kind.word())
}

/// Typesets, and when all is well enters and hands over.
async fn printed(
    workbench: &Workbench,
    opened: &Arc<Opened>,
    reader: &Reader,
    wanted: Vec<Wanted>,
) -> Result<Response, Fault> {
    if wanted.len() > MOST {
        let count = wanted.len();
        return Err(Fault::Misread(format!(
            "{count} sheets at once are too many; print at most {MOST} at a time."
        )));
    }
    let (of, by) = (opened.clone(), reader.clone());
    let made = super::beside(move || made(&of, &by, &wanted)).await??;
    let entered = workbench
        .records
        .issue(&opened.slug, &made.issues, now(), &reader.name);
    entered.await?;
    Ok(attached(&made.name, made.kind, made.bytes))
}

/// A file, and what the register shall hold of it.
struct Made {
    name: String,
    kind: &'static str,
    bytes: Vec<u8>,
    issues: Vec<NewIssue>,
}

/// One PDF, or several in a ZIP.
fn made(opened: &Arc<Opened>, reader: &Reader, wanted: &[Wanted]) -> Result<Made, Fault> {
    let sheets = wanted.iter().map(|wanted| {
        let proof = Proof::new(opened, reader, wanted.choice);
        Ok((proof.sheet(wanted.kind, &wanted.subject)?, proof.paper))
    });
    let sheets = sheets.collect::<Result<Vec<(Sheet, Paper)>, Fault>>()?;
    let issues = sheets.iter();
    let issues = issues.filter_map(|(sheet, paper)| NewIssue::of(sheet, paper));
    let issues = issues.collect();
    let date = sheets.first().map_or("", |(_, paper)| paper.date.as_str());
    let mut printed = paper::print(&sheets)?;
    if let Some(only) = printed.pop_if(|_| sheets.len() == 1) {
        return Ok(Made {
            name: only.file,
            kind: "application/pdf",
            bytes: only.pressed.pdf,
            issues,
        });
    }
    Ok(Made {
        name: format!("{}-{date}.zip", opened.slug),
        kind: "application/zip",
        bytes: paper::pack(&printed, date)?,
        issues,
    })
}
