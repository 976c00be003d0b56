//! The parts of a line from pump to tip, and the form of the one being changed.

use super::change::{Sent, after};
use super::fields::{self, Row};
use super::hands::Pairs;
use super::part_at;
use crate::address;
use crate::words;
use crate::workbench::Opened;
use axum::http::StatusCode;
use book::{
    ApplianceFields, ApplianceKind, Book, HoseFields, Line, NozzleFields, Part, Path, Step,
};
use hydraulics::units::System;
use maud::{Markup, PreEscaped, html};

/// What is being changed, and what came of it.
#[derive(Debug, Default)]
pub(super) struct Editing {
    pub what: What,
    /// The form as it was sent, when it could not be used.
    pub sent: Option<Sent>,
    /// What is wrong with it, by field; an empty key is about the whole.
    pub wrong: Vec<(String, String)>,
    /// What the last change did, in words.
    pub told: Vec<String>,
    /// Can that be undone from here?
    pub undo: bool,
}

/// Which form is open.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) enum What {
    #[default]
    Nothing,
    /// The line itself: its name, rig, aim.
    Line,
    /// The part at a place.
    Part(Path),
    /// A part to be put in at a place.
    Add(Path),
    /// Hose and a tip to go on with beyond the shut-off of the nozzle at a place.
    Beyond(Path),
}

impl Editing {
    /// What the address asks to be open.
    pub fn asked(pairs: &Pairs) -> Self {
        let path = |text: &str| text.parse().ok();
        let what = pairs.iter().find_map(|(key, value)| match key.as_str() {
            "edit" if value == "line" => Some(What::Line),
            "edit" => path(value).map(What::Part),
            "add" => path(value).map(What::Add),
            "beyond" => path(value).map(What::Beyond),
            _ => None,
        });
        Editing {
            what: what.unwrap_or_default(),
            ..Editing::default()
        }
    }

    pub fn status(&self, wrong: bool) -> StatusCode {
        match wrong || !self.wrong.is_empty() {
            true => StatusCode::UNPROCESSABLE_ENTITY,
            false => StatusCode::OK,
        }
    }

    pub fn message(&self, key: &str) -> Option<&str> {
        let wrong = self.wrong.iter().find(|(field, _)| field == key);
        wrong.map(|(_, message)| message.as_str())
    }

    /// What a field shows: what was sent, else what stands in the book.
    pub fn value<'a>(&'a self, key: &str, stands: &'a str) -> &'a str {
        let sent = self.sent.as_ref();
        sent.map_or(stands, |sent| sent.get(key))
    }
}

/// The list of parts.
pub(super) struct PartList<'a> {
    pub opened: &'a Opened,
    pub name: &'a str,
    pub line: &'a Line,
    pub system: System,
    pub editing: &'a Editing,
}

impl PartList<'_> {
    pub fn show(&self) -> Markup {
        let open = self.editing.what == What::Line;
        html! {
            section #parts aria-labelledby="parts-title" {
                h2 id="parts-title" { "Parts, from pump to tip" }
                @if open {
                    div #edit.editing { (self.line_form()) }
                } @else {
                    div.actions {
                        a.button href=(self.here("edit", "line")) { "Name, rig, aim, pump pressure" }
                    }
                }
                (self.row(&self.line.parts, &Path::default()))
            }
        }
    }

    fn book(&self) -> &Book {
        &self.opened.book
    }

    /// The page with a form open.
    fn here(&self, key: &str, value: &str) -> String {
        let page = address::line(&self.opened.slug, self.name);
        address::asked(page, [(key, value)])
    }

    fn row(&self, parts: &[Part], at: &Path) -> Markup {
        html! {
            ol.parts {
                @for (index, part) in parts.iter().enumerate() {
                    @let path = at.then(Step::Part(index + 1));
                    @let last = index + 1 == parts.len() && matches!(part, Part::Nozzle(_) | Part::Branches(_));
                    (self.gap(&path))
                    li { (self.part(part, &path, parts.len())) }
                    @if last { (self.beyond(part, &path)) } @else if index + 1 == parts.len() {
                        (self.gap(&at.then(Step::Part(index + 2))))
                    }
                }
            }
        }
    }

    /// Where a part can be put in.
    fn gap(&self, path: &Path) -> Markup {
        let open = self.editing.what == What::Add(path.clone());
        html! {
            li.gap {
                @if open {
                    div #edit.editing { (self.add_form(path)) }
                } @else {
                    a.add href=(self.here("add", &path.to_string())) { "+ part" span.unseen { " here, as " (path) } }
                }
            }
        }
    }

    fn beyond(&self, part: &Part, path: &Path) -> Markup {
        let breaks = match part {
            Part::Nozzle(nozzle) => self
                .book()
                .nozzle(&nozzle.nozzle)
                .is_some_and(|n| n.item.breaks_at.is_some()),
            _ => false,
        };
        html! {
            @if self.editing.what == What::Beyond(path.clone()) {
                li.gap { div #edit.editing { (self.beyond_form(path)) } }
            } @else if breaks {
                li.gap { a.add href=(self.here("beyond", &path.to_string())) { "+ hose and tip beyond this shut-off" } }
            }
        }
    }

    fn part(&self, part: &Part, path: &Path, of: usize) -> Markup {
        let open = self.editing.what == What::Part(path.clone());
        html! {
            div.part id=(format!("at-{}", path.to_string().replace([' ', ','], "-"))) {
                (mark(self.book(), part))
                div.what { strong { (words::whole(part, self.system)) } " " span.place { (path) } }
                @if !open {
                    a.button href=(self.here("edit", &path.to_string())) { "Change" span.unseen { ": " (words::whole(part, self.system)) ", " (path) } }
                }
            }
            @if open { div #edit.editing { (self.part_form(part, path, of)) } }
            @match part {
                Part::Branches(rows) => (self.rows(rows, path, "branch", Step::Branch)),
                Part::Legs(rows) => (self.rows(rows, path, "leg", Step::Leg)),
                _ => {}
            }
        }
    }

    fn rows(
        &self,
        rows: &[book::Parts],
        path: &Path,
        word: &str,
        step: fn(usize) -> Step,
    ) -> Markup {
        html! {
            @for (index, row) in rows.iter().enumerate() {
                @let at = path.then(step(index + 1));
                div.row role="group" aria-label=(format!("{word} {}", index + 1)) {
                    h3 { (word) " " (index + 1) }
                    (self.row(row, &at))
                    (self.form(&at, html! {
                        button name="do" value="remove" { "Take out this " (word) }
                    }))
                }
            }
        }
    }

    /// A form that changes something at `place`.
    fn form(&self, place: &Path, inside: Markup) -> Markup {
        let action = format!("{}/edit", address::line(&self.opened.slug, self.name));
        html! {
            form.change method="post" action=(action) {
                input type="hidden" name="base" value=(self.opened.revision);
                input type="hidden" name="place" value=(place);
                (inside)
            }
        }
    }

    fn cancel(&self) -> Markup {
        let page = address::line(&self.opened.slug, self.name);
        html! { a.button href=(format!("{page}#parts")) { "Leave it" } }
    }

    fn whole(&self) -> Markup {
        html! { @if let Some(message) = self.editing.message("") { p.wrong role="alert" { (message) } } }
    }

    fn rows_of(&self, rows: &[Row]) -> Markup {
        html! {
            (self.whole())
            div.fields {
                @for (index, row) in rows.iter().enumerate() {
                    (fields::field(row, self.editing.value(row.key, &row.value), self.editing.message(row.key), index == 0))
                }
            }
        }
    }

    fn part_form(&self, part: &Part, path: &Path, of: usize) -> Markup {
        let rows = match part {
            Part::Hose(hose) => {
                fields::hose(self.book(), &HoseFields::of(hose, self.system), self.system)
            }
            Part::Nozzle(nozzle) => fields::nozzle(
                self.book(),
                &NozzleFields::of(nozzle, self.system),
                self.system,
            ),
            Part::Appliance(appliance) => fields::appliance(
                self.book(),
                &ApplianceFields::of(appliance, self.system),
                self.system,
            ),
            Part::Branches(_) | Part::Legs(_) => Vec::new(),
        };
        let rowed = matches!(part, Part::Branches(_) | Part::Legs(_));
        // A row ends in its tip or its branches, and they stay there.
        let at = match path.0.last() {
            Some(Step::Part(at)) => *at,
            _ => 1,
        };
        let ends = at == of && matches!(part, Part::Nozzle(_) | Part::Branches(_));
        self.form(path, html! {
            (self.rows_of(&rows))
            div.actions {
                @if !rowed { button.first name="do" value="put" { "Save" } }
                @if rowed { button name="do" value="add-row" autofocus { "Add one like the last" } }
                (self.cancel())
            }
            div.actions role="group" aria-label="More with this part" {
                @if at > 1 && !ends { button name="do" value="earlier" { "Toward the pump" } }
                @if at + 1 < of && !ends { button name="do" value="later" { "Toward the tip" } }
                @if of > 1 && !ends { button name="do" value="remove" { "Take out" } }
                @if !rowed { button name="do" value="divide" { "Divide before this" } }
                    @if !rowed && !ends { button name="do" value="divide-after" { "Divide after this" } }
                @if matches!(part, Part::Hose(_)) { button name="do" value="twin" { "Lay it double" } }
            }
        })
    }

    fn add_form(&self, path: &Path) -> Markup {
        self.form(
            path,
            html! {
                h3 { "A part as " (path) }
                (self.rows_of(&fields::added(self.book(), self.system)))
                div.actions { button.first name="do" value="add" { "Put it in" } (self.cancel()) }
            },
        )
    }

    fn beyond_form(&self, path: &Path) -> Markup {
        self.form(&after(path), html! {
            h3 { "Hose and a tip beyond the shut-off" }
            (self.rows_of(&fields::beyond(self.book(), self.system)))
            div.actions { button.first name="do" value="beyond" { "Put them on" } (self.cancel()) }
        })
    }

    fn line_form(&self) -> Markup {
        let rows = fields::line(self.book(), self.line, self.system);
        html! {
            (self.form(&Path::default(), html! {
                (self.rows_of(&rows))
                div.actions { button.first name="do" value="line" { "Save" } (self.cancel()) }
            }))
            (self.form(&Path::default(), html! {
                div.fields {
                    (fields::field(&Row::text("to", "Its name in the book", self.name), self.editing.value("to", self.name), self.editing.message("to"), false))
                }
                div.actions {
                    button name="do" value="rename" { "Rename" }
                    button name="do" value="copy" { "Make a copy of this name" }
                    a.button href=(format!("{}/take-out", address::line(&self.opened.slug, self.name))) { "Take the line out of the book" }
                }
            }))
        }
    }
}

/// A simple mark of a part's kind.
fn mark(book: &Book, part: &Part) -> Markup {
    let drawn = match part {
        Part::Hose(_) => "M2 16c6-10 12 10 16 0s8-6 12 0",
        Part::Nozzle(_) => "M2 12h10l14 3v2l-14 3H2z",
        Part::Branches(_) => "M2 16h10l16-9M12 16l16 9",
        Part::Legs(_) => "M2 16l8-8h12l8 8-8 8H10z",
        Part::Appliance(part) => match book.appliance(&part.appliance).map(|a| a.item.kind) {
            Some(ApplianceKind::Wye) => "M2 16h12M14 16l12-8M14 16l12 8M10 10h8v12h-8z",
            Some(ApplianceKind::Siamese) => "M30 16H18M18 16L6 8M18 16L6 24M14 10h8v12h-8z",
            Some(ApplianceKind::Adapter) => "M4 10h10v12H4zM14 12h14v8H14z",
            Some(ApplianceKind::Monitor) => "M8 26h16M16 26V14l12-6",
            Some(ApplianceKind::Eductor) => "M2 12l10 4 18-4M2 20l10-4 18 4M12 16v12",
            Some(ApplianceKind::Standpipe) => "M10 4h12v24H10zM10 12h12M10 20h12",
            _ => "M8 8h16v16H8zM2 16h6M24 16h6",
        },
    };
    html! {
        svg.mark viewBox="0 0 32 32" width="32" height="32" aria-hidden="true" focusable="false" {
            (PreEscaped(format!("<path d=\"{drawn}\"/>")))
        }
    }
}

/// The part that a form is about.
pub(super) fn at<'a>(line: &'a Line, path: &Path) -> Option<&'a Part> {
    part_at(&line.parts, path)
}
