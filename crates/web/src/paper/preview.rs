//! One sheet before it is printed: its pages as pictures, and what they say as text.

use super::address as place;
use super::choice::{Asked, Choice};
use super::print::Proof;
use super::standing::{Held, mark, prints};
use crate::address;
use crate::fault::Fault;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables::{capital, wide};
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::IntoResponse;
use maud::{Markup, html};
use paper::{Kind, Sheet, Size};
use std::sync::Arc;

/// Pixels of a picture for each of its points: 96 and 72 to the inch.
const PER_POINT: f64 = 96.0 / 72.0;

pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, word, subject)): Path<(String, String, String)>,
    Query(asked): Query<Asked>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let kind = kind(&word)?;
    let choice = Choice::of(&asked, &reader, &opened.book)?.fitting(kind);
    let proof = Proof::new(&opened, &reader, choice);
    let (sheet, pages) = super::beside(move || {
        let sheet = proof.sheet(kind, &subject)?;
        let pages = paper::pages_svg(&sheet, &proof.paper)?;
        let pages: Vec<(u32, u32)> = pages.iter().map(|svg| pixels(svg)).collect();
        Ok::<_, Fault>((sheet, pages))
    })
    .await??;
    let held = prints(&workbench, &opened, &sheet).await?;
    let preview = Preview {
        opened: &opened,
        reader: &reader,
        sheet: &sheet,
        choice,
        pages: &pages,
        larger: asked
            .size
            .as_deref()
            .is_some_and(|size| size == "pocket" && choice.size != Size::Pocket),
        issued: held.iter().find(|held| held.is_of(&sheet, choice.size)),
    };
    let title = format!("{}: {}", kind.title(), sheet.title);
    Ok(page(
        &title,
        &reader,
        &Place::of(&opened, "Paper"),
        &preview.content(),
    ))
}

/// The kind of an address.
pub(crate) fn kind(word: &str) -> Result<Kind, Fault> {
    let known = Kind::called(word).filter(|kind| kind.is_of_a_book());
    known.ok_or_else(|| {
        let words: Vec<&str> = Kind::ALL.into_iter().map(Kind::word).collect();
        let words = words.join(", ");
        Fault::Missing(format!(
            "There is no kind of sheet \"{word}\"; there are {words}."
        ))
    })
}

/// The address of a sheet's page; `rest` is empty or begins with "/".
pub(crate) fn at(slug: &str, kind: Kind, subject: &str, rest: &str) -> String {
    let steps = format!("/paper/{}/{}{rest}", kind.word(), address::step(subject));
    address::book(slug, &steps)
}

struct Preview<'a> {
    opened: &'a Opened,
    reader: &'a Reader,
    sheet: &'a Sheet,
    choice: Choice,
    /// How wide and high each is, in pixels.
    pages: &'a [(u32, u32)],
    /// It takes a larger page than was asked for.
    larger: bool,
    /// The newest printing of it on this paper.
    issued: Option<&'a Held>,
}

impl Preview<'_> {
    fn content(&self) -> Markup {
        let sheet = self.sheet;
        html! {
            h1 { (sheet.kind.title()) ": " (sheet.title) }
            p.inline.no-print {
                a href=(self.choice.at(address::book(&self.opened.slug, "/paper"))) { "All sheets" }
                " · " a href="#words" { "What it says, as text" }
            }
            (self.standing())
            (self.choice.form())
            @if self.larger { p.caution { "This sheet is drawn to scale and is not made smaller: it takes a full page." } }
            (self.deeds())
            (self.pictures())
            (self.words())
        }
    }

    /// What the register has of it.
    fn standing(&self) -> Markup {
        html! {
            @match self.issued {
                None => p.quiet { "On this paper and in these units it is not in the register: no printed one is watched." },
                Some(held) => p {
                    (mark(&held.standing)) ", issued " (held.day()) ". "
                    a href=(super::register::place(&self.opened.slug, held)) { "In the register" }
                }
            }
        }
    }

    fn deeds(&self) -> Markup {
        let own = at(&self.opened.slug, self.sheet.kind, &self.sheet.subject, "");
        let pdf = at(
            &self.opened.slug,
            self.sheet.kind,
            &self.sheet.subject,
            "/pdf",
        );
        html! {
            form.actions method="post" action=(own) {
                (self.choice.hidden())
                input type="hidden" name="base" value=(self.opened.revision);
                button.first { "Print and enter in the register" }
                a.button href=(self.choice.at(pdf)) download { "Proof as PDF, not entered" }
            }
            p.hint.no-print {
                "Print the PDF at its own size (100 %). What is entered is watched: when the book changes, \
                 the register says which printed sheets have become wrong."
            }
        }
    }

    fn pictures(&self) -> Markup {
        let count = self.pages.len();
        html! {
            section aria-labelledby="pages" {
                h2 id="pages" { (count) @if count == 1 { " page" } @else { " pages" } }
                div.leaves {
                    @for (number, (width, height)) in (1..).zip(self.pages) {
                        @let address = self.picture(number);
                        a href=(address) {
                            img.leaf src=(address) width=(width) height=(height) loading=[(number > 1).then_some("lazy")]
                                alt=(format!("Page {number} of {count} of the {}, larger. What it says is below, as text.",
                                    self.sheet.kind.title().to_lowercase()));
                        }
                    }
                }
            }
        }
    }

    /// Where a page's picture is; another revision has another, so that it may be kept.
    fn picture(&self, number: usize) -> String {
        let rest = format!("/page/{number}");
        let page = at(
            &self.opened.slug,
            self.sheet.kind,
            &self.sheet.subject,
            &rest,
        );
        let revision = self.opened.revision;
        format!("{}&revision={revision}", self.choice.at(page))
    }

    fn words(&self) -> Markup {
        let sheet = self.sheet;
        html! {
            section aria-labelledby="words" {
                h2 id="words" { "What it says" }
                p {
                    (sheet.department) ", revision " (self.opened.revision) "."
                    @for (name, value) in &sheet.head { " " (name) ": " (value) "." }
                    @if let Some(address) = &self.reader.address { " Its code leads to " (place::of_codes(address)) "." }
                }
                (self.told())
                @if !sheet.sources.is_empty() {
                    h3 { "Where the coefficients come from" }
                    ul { @for source in &sheet.sources { li { (source) } } }
                }
                h3 { "Mind" }
                ul { @for caution in &sheet.cautions { li { (caution) } } }
            }
        }
    }

    fn told(&self) -> Markup {
        let (first, second) = (self.sheet.units.first(), self.sheet.units.second());
        let told = self.sheet.told.iter();
        let told = told.filter_map(|(name, said)| {
            let other = second.and_then(|system| said.show(system));
            Some((name, said.show(first)?, other))
        });
        let rows = html! {
            thead { tr {
                th scope="col" { "What" }
                th scope="col" { "Says" }
                @if second.is_some() { th scope="col" { "In SI" } }
            } }
            tbody {
                @for (name, said, other) in told {
                    tr {
                        th scope="row" { (capital(name)) }
                        td { (said) }
                        @if second.is_some() { td.share { @if let Some(other) = other.filter(|other| *other != said) { (other) } } }
                    }
                }
            }
        };
        wide("What the sheet says", &rows)
    }
}

/// A page's size on the screen, as large as on paper: its picture begins with it, in
/// points.
fn pixels(svg: &str) -> (u32, u32) {
    let read = |key: &str| {
        let (_, rest) = svg.split_once(key)?;
        let points: f64 = rest.split_once("pt\"")?.0.parse().ok()?;
        Some((points * PER_POINT).round() as u32)
    };
    let size = read(" width=\"").zip(read(" height=\""));
    size.unwrap_or_default()
}

/// One page as a picture.
pub(super) async fn picture(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, word, subject, number)): Path<(String, String, String, String)>,
    Query(asked): Query<Asked>,
    reader: Reader,
) -> Result<impl IntoResponse, Fault> {
    let opened = workbench.open(&slug).await?;
    let kind = kind(&word)?;
    let choice = Choice::of(&asked, &reader, &opened.book)?.fitting(kind);
    let proof = Proof::new(&opened, &reader, choice);
    let pages = super::beside(move || {
        let sheet = proof.sheet(kind, &subject)?;
        Ok::<_, Fault>(paper::pages_svg(&sheet, &proof.paper)?)
    })
    .await??;
    let count = pages.len();
    let index = number.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
    let found = index.and_then(|index| pages.into_iter().nth(index));
    let svg = found.ok_or_else(|| {
        Fault::Missing(format!(
            "The sheet has {count} pages, and none is number {number}."
        ))
    })?;
    // A picture's address names its revision; only the day on it can change.
    let head = [
        (CONTENT_TYPE, "image/svg+xml"),
        (CACHE_CONTROL, "private, max-age=300"),
    ];
    Ok((head, svg))
}
