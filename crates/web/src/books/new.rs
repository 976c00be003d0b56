//! A new book, with nothing in it but the department.

use super::file::saved_at;
use crate::fault::Fault;
use crate::form::Filled;
use crate::look;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::workbench::{Workbench, now, slug};
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use book::{About, Book, Crew, FieldError, Problems};
use hydraulics::units::System;
use maud::{Markup, html};
use records::{Note, RecordsError};
use serde::Deserialize;
use std::sync::Arc;

/// The form as it was filled in.
#[derive(Deserialize, Default)]
pub(crate) struct Wanted {
    #[serde(default)]
    name: String,
    #[serde(default)]
    units: String,
    #[serde(default)]
    one: String,
    #[serde(default)]
    two: String,
    #[serde(default)]
    three: String,
    #[serde(default)]
    ceiling: String,
}

/// What is wrong with it, field by field.
#[derive(Default)]
struct Wrong {
    fields: Vec<(&'static str, String)>,
    problems: Option<Problems>,
}

impl Wrong {
    fn of(&self, field: &str) -> Option<&str> {
        let found = self.fields.iter().find(|(name, _)| *name == field);
        found.map(|(_, text)| text.as_str())
    }

    fn none(&self) -> bool {
        self.fields.is_empty() && self.problems.is_none()
    }

    /// Another book has the name: says which is free.
    async fn taken(&mut self, workbench: &Workbench, name: &str) -> Result<(), Fault> {
        let free = free_name(workbench, name).await?;
        let text = format!("There is a book of this name already. Free is \"{free}\".");
        self.fields.push(("name", text));
        Ok(())
    }

    /// What was read from a field; what is wrong with it is kept beside it.
    fn read<T>(&mut self, field: &'static str, read: Result<Option<T>, FieldError>) -> Option<T> {
        read.unwrap_or_else(|error| {
            let text = format!("{}: {}.", error.message, error.mend);
            self.fields.push((field, text));
            None
        })
    }
}

pub(crate) async fn asked(reader: Reader) -> Markup {
    shown(&reader, &Wanted::default(), &Wrong::default())
}

pub(crate) async fn made(
    State(workbench): State<Arc<Workbench>>,
    reader: Reader,
    Filled(wanted): Filled<Wanted>,
) -> Result<Response, Fault> {
    let mut wrong = Wrong::default();
    let text = book::write(&department(&wanted, &mut wrong));
    if wrong.none() {
        wrong.problems = book::read(text.as_bytes(), "new book").err();
    }
    let name = wanted.name.trim();
    let slug = slug(name);
    let here = workbench.records.newest(&slug).await.is_ok();
    if here && wrong.of("name").is_none() {
        wrong.taken(&workbench, name).await?;
    }
    if wrong.none() {
        let note = Note {
            who: reader.name.clone(),
            at: now(),
            why: "book made".into(),
            ..Note::default()
        };
        match workbench.create(&reader, (&slug, name), &text, &note).await {
            Ok(_) => return Ok(saved_at(&slug, "?told=new")),
            Err(RecordsError::Taken(_)) => wrong.taken(&workbench, name).await?,
            Err(other) => return Err(other.into()),
        }
    }
    let whole = shown(&reader, &wanted, &wrong);
    Ok((StatusCode::UNPROCESSABLE_ENTITY, whole).into_response())
}

/// The first of "NAME 2", "NAME 3" and so on that no book has.
pub(crate) async fn free_name(workbench: &Workbench, name: &str) -> Result<String, Fault> {
    let books = workbench.records.books().await?;
    let names = (2..).map(|n| format!("{name} {n}"));
    let mut free = names.filter(|name| !books.iter().any(|kept| kept.slug == slug(name)));
    Ok(free.next().unwrap_or_default())
}

/// What is wrong with a name as a department's.
pub(crate) fn name_fault(name: &str) -> Option<String> {
    let length = name.trim().chars().count();
    match length {
        _ if name.trim().contains(char::is_control) => {
            Some("The name holds a character that cannot be read; write letters and digits.".into())
        }
        0 => Some("A book needs the department's name.".into()),
        1..=100 => None,
        _ => Some(format!(
            "The name has {length} characters; write at most 100."
        )),
    }
}

fn department(wanted: &Wanted, wrong: &mut Wrong) -> Book {
    if let Some(text) = name_fault(&wanted.name) {
        wrong.fields.push(("name", text));
    }
    let units = crate::reader::units(&wanted.units).unwrap_or_default();
    Book {
        name: wanted.name.trim().into(),
        units,
        crew: crew(wanted, units, wrong),
        pump_ceiling: wrong.read("ceiling", book::pump_ceiling(&wanted.ceiling, units)),
        ..Book::default()
    }
}

/// The crew limits: all three or none.
fn crew(wanted: &Wanted, units: System, wrong: &mut Wrong) -> Option<Crew> {
    let written = [
        ("one", &wanted.one),
        ("two", &wanted.two),
        ("three", &wanted.three),
    ];
    if written.iter().all(|(_, text)| text.trim().is_empty()) {
        return None;
    }
    let [one, two, three] = written.map(|(field, text)| {
        if text.trim().is_empty() {
            let text = "Give all three limits, or leave all three out.".into();
            wrong.fields.push((field, text));
        }
        wrong.read(field, book::crew_limit(field, text, units))
    });
    let (one, two, three) = (one?, two?, three?);
    if one.get() > two.get() || two.get() > three.get() {
        let text = "More people hold no less: the limits must not fall from one to three.".into();
        wrong.fields.push(("three", text));
    }
    Some(Crew {
        one,
        two,
        three,
        about: About::default(),
    })
}

fn shown(reader: &Reader, wanted: &Wanted, wrong: &Wrong) -> Markup {
    let content = html! {
        h1 { "New book" }
        p { "Equipment, water and lines come after this. Generic hose and nozzles are there from the start." }
        @if let Some(problems) = &wrong.problems { (look::problems(problems)) }
        form.form method="post" action="/books" {
            (field("name", "Department", "As its people write it.", &wanted.name, wrong))
            fieldset {
                legend { "Units of its book" }
                @for (word, label) in [("us", "US: psi, gpm, feet"), ("si", "SI: bar, litres a minute, metres")] {
                    label.choice {
                        input type="radio" name="units" value=(word)
                            checked[word == if wanted.units == "si" { "si" } else { "us" }];
                        (label)
                    }
                }
                p.hint { "Answers can be had in either, whichever you choose." }
            }
            fieldset {
                legend { "Reaction that its crews can hold" }
                p.hint { "Left out: 60, 75 and 95 lbf, working limits from study notes. Local rules go before." }
                div.fields {
                    (field("one", "One person", "like 60 lbf or 270 N", &wanted.one, wrong))
                    (field("two", "Two people", "like 75 lbf or 330 N", &wanted.two, wrong))
                    (field("three", "Three people", "like 95 lbf or 420 N", &wanted.three, wrong))
                }
            }
            (field("ceiling", "Highest pump pressure allowed",
                "Like 250 psi or 17 bar. May be left out; lines above it then get no notice.", &wanted.ceiling, wrong))
            div.actions {
                button.first { "Make the book" }
                a.button href="/" { "Leave it" }
            }
        }
    };
    page("New book", reader, &Place::default(), &content)
}

fn field(name: &str, label: &str, hint: &str, value: &str, wrong: &Wrong) -> Markup {
    let fault = wrong.of(name);
    html! {
        div {
            label for=(name) { (label) }
            input type="text" id=(name) name=(name) value=(value) autocomplete="off"
                aria-describedby=(format!("{name}-hint"))
                aria-invalid=[fault.map(|_| "true")] aria-errormessage=[fault.map(|_| format!("{name}-wrong"))];
            p.hint id=(format!("{name}-hint")) { (hint) }
            @if let Some(fault) = fault { p.wrong id=(format!("{name}-wrong")) { (fault) } }
        }
    }
}
