//! A book's file brought in: read, every problem told, then put where it belongs.

use super::differences::differences;
use super::file::saved_at;
use super::new::{free_name, name_fault};
use super::problems::problems;
use crate::address;
use crate::fault::Fault;
use crate::form::Parcel;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::when::when;
use crate::workbench::{Workbench, brought_in, now, slug, words};
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use book::{Book, Problems, SIZE_LIMIT};
use maud::{Markup, html};
use records::{Note, RecordsError, Role};
use std::sync::Arc;
use toml_edit::{DocumentMut, value};

/// A file on its way in.
struct Incoming {
    bytes: Vec<u8>,
    /// The file's name; empty when the text was pasted.
    file: String,
}

impl Incoming {
    /// A file chosen goes before the text pasted.
    fn of(parcel: &Parcel) -> Self {
        let chosen = parcel.bytes("file");
        match chosen.is_empty() && parcel.file.is_empty() {
            false => Incoming {
                bytes: chosen.into(),
                file: parcel.file.clone(),
            },
            true => Incoming {
                bytes: parcel.text("text").replace("\r\n", "\n").into_bytes(),
                file: parcel.text("name-of-file"),
            },
        }
    }

    fn text(&self) -> String {
        String::from_utf8_lossy(&self.bytes).into_owned()
    }

    fn name(&self) -> &str {
        match self.file.as_str() {
            "" => "pasted text",
            file => file,
        }
    }

    /// Why it cannot even be begun to be read as a book.
    fn no_text(&self) -> Option<NoText> {
        let blank = |b: &u8| b.is_ascii_whitespace();
        if self.bytes.iter().all(blank) {
            return Some(NoText::Empty);
        }
        let odd = |b: &&u8| b.is_ascii_control() && !blank(b);
        let odd = self.bytes.iter().filter(odd).count();
        let broken = std::str::from_utf8(&self.bytes).is_err();
        let binary = (broken && odd > 0) || odd * 100 > self.bytes.len();
        binary.then_some(NoText::Bytes)
    }

    fn why(&self) -> String {
        match self.file.as_str() {
            "" => "text pasted in".into(),
            file => brought_in(file),
        }
    }
}

/// What came, when it is no text to look through for faults.
enum NoText {
    Empty,
    /// A picture, a program, a packed file.
    Bytes,
}

pub(crate) async fn asked(reader: Reader) -> Markup {
    let content = html! {
        h1 { "Bring a file in" }
        p { "A book's file (TOML), as it was downloaded here or written by hand. At most 1 MB." }
        (form("", "", "Read it"))
    };
    page("Bring a file in", &reader, &Place::default(), &content)
}

fn form(text: &str, file: &str, label: &str) -> Markup {
    html! {
        form method="post" action="/books/import" enctype="multipart/form-data" {
            input type="hidden" name="name-of-file" value=(file);
            div.form {
                div {
                    label for="file" { "File" }
                    input type="file" id="file" name="file" accept=".toml,application/toml,text/plain";
                }
            }
            label for="text" { "Or its text" }
            p.hint id="text-hint" { "A file that is chosen goes before the text." }
            textarea id="text" name="text" rows="16" spellcheck="false" autocapitalize="off" wrap="off"
                aria-describedby="text-hint" { "\n" (text) }
            div.actions {
                button.first { (label) }
                a.button href="/" { "Leave it" }
            }
        }
    }
}

pub(crate) async fn sent(
    State(workbench): State<Arc<Workbench>>,
    reader: Reader,
    parcel: Parcel,
) -> Result<Response, Fault> {
    let incoming = Incoming::of(&parcel);
    if let Some(why) = incoming.no_text() {
        return Ok(no_text(&reader, &incoming, &why));
    }
    let reading = book::examine(&incoming.bytes, incoming.name());
    let Some(book) = reading.book else {
        return Ok(refused(&reader, &incoming, &reading.problems));
    };
    let way = parcel.text("way");
    match way.as_str() {
        "next" => next(&workbench, &reader, &incoming, &book, parcel.number("base")).await,
        "other" => {
            let name = parcel.text("name");
            under_another(&workbench, &reader, &incoming, &book, &name).await
        }
        _ => first(&workbench, &reader, &incoming, &book, &reading.problems).await,
    }
}

/// What came is no text; the form is there to choose again.
fn no_text(reader: &Reader, incoming: &Incoming, why: &NoText) -> Response {
    let named = match incoming.file.as_str() {
        "" => "The pasted text".to_string(),
        file => format!("\"{file}\""),
    };
    let (title, text) = match why {
        NoText::Empty => (
            "There is nothing in it",
            format!("{named} is empty. Choose the book's file, or paste its text."),
        ),
        NoText::Bytes => (
            "This is not a book's file",
            format!(
                "{named} has bytes that are no text, as a picture or a packed file has. A book's \
                 file is plain text, saved as UTF-8; its name mostly ends in .toml."
            ),
        ),
    };
    let content = html! {
        h1 { (title) }
        p.caution { (text) " Nothing was saved." }
        (form("", &incoming.file, "Read it"))
    };
    let whole = page(title, reader, &Place::default(), &content);
    (StatusCode::UNPROCESSABLE_ENTITY, whole).into_response()
}

/// Every problem of a file that is no book, and its text to be mended.
fn refused(reader: &Reader, incoming: &Incoming, wrong: &Problems) -> Response {
    let text = incoming.text();
    let kept = if text.len() > SIZE_LIMIT { "" } else { &text };
    let content = html! {
        h1 { "This file is no book yet" }
        p { "Nothing was saved. Mend what is named here, in the text below or in your own file, and send it again." }
        (problems(wrong, &text))
        h2 { "Mend it" }
        (form(kept, &incoming.file, "Read it again"))
    };
    let whole = page(
        "This file is no book yet",
        reader,
        &Place::default(),
        &content,
    );
    (StatusCode::UNPROCESSABLE_ENTITY, whole).into_response()
}

fn note(reader: &Reader, incoming: &Incoming) -> Note {
    Note {
        who: reader.name.clone(),
        at: now(),
        why: incoming.why(),
        ..Note::default()
    }
}

/// A file of a department that may be here already.
async fn first(
    workbench: &Workbench,
    reader: &Reader,
    incoming: &Incoming,
    book: &Book,
    warnings: &Problems,
) -> Result<Response, Fault> {
    let (slug, text) = (slug(&book.name), incoming.text());
    let created = workbench
        .create(reader, (&slug, &book.name), &text, &note(reader, incoming))
        .await;
    match created {
        Ok(_) if warnings.list().is_empty() => Ok(saved_at(&slug, "?told=in")),
        // The page of the file shows the warnings.
        Ok(_) => Ok(saved_at(&slug, "/file?told=in")),
        Err(RecordsError::Taken(_)) if !reader.who.is(Role::Editor, &slug) => {
            another_name(workbench, reader, incoming, book, &Choice::default()).await
        }
        Err(RecordsError::Taken(_)) => {
            let newest = workbench.records.newest(&slug).await?;
            if workbench.records.revision(&slug, newest).await?.text == text {
                return Ok(saved_at(&slug, "?told=known"));
            }
            choice(workbench, reader, incoming, book, &Choice::default()).await
        }
        Err(other) => Err(other.into()),
    }
}

/// The file as the revision after the one that the reader was shown.
async fn next(
    workbench: &Workbench,
    reader: &Reader,
    incoming: &Incoming,
    book: &Book,
    base: Option<i64>,
) -> Result<Response, Fault> {
    let slug = slug(&book.name);
    if !reader.who.is(Role::Editor, &slug) {
        return another_name(workbench, reader, incoming, book, &Choice::default()).await;
    }
    let base = base.unwrap_or(0);
    let text = incoming.text();
    let saved = workbench
        .save(&slug, base, &text, &incoming.why(), &reader.name)
        .await;
    match saved {
        Ok(number) if number == base => Ok(saved_at(&slug, "?told=known")),
        Ok(_) => Ok(saved_at(&slug, "?told=next")),
        Err(Fault::Records(RecordsError::Stale { .. })) => {
            let had = Choice {
                had: Some(base),
                ..Choice::default()
            };
            choice(workbench, reader, incoming, book, &had).await
        }
        Err(other) => Err(other),
    }
}

async fn under_another(
    workbench: &Workbench,
    reader: &Reader,
    incoming: &Incoming,
    book: &Book,
    name: &str,
) -> Result<Response, Fault> {
    let name = name.trim();
    let again = |wrong: String| Choice {
        name: Some(name.into()),
        wrong: Some(wrong),
        had: None,
    };
    if let Some(wrong) = name_fault(name) {
        return choice(workbench, reader, incoming, book, &again(wrong)).await;
    }
    let text = renamed(&incoming.text(), name)?;
    if let Err(wrong) = book::read(text.as_bytes(), incoming.name()) {
        return Ok(refused(reader, incoming, &wrong));
    }
    let slug = slug(name);
    let created = workbench
        .create(reader, (&slug, name), &text, &note(reader, incoming))
        .await;
    match created {
        Ok(_) => Ok(saved_at(&slug, "?told=in")),
        Err(RecordsError::Taken(_)) => {
            let wrong = again("There is a book of this name too.".into());
            choice(workbench, reader, incoming, book, &wrong).await
        }
        Err(other) => Err(other.into()),
    }
}

/// The file with another department's name; all else stays as it is written.
fn renamed(text: &str, name: &str) -> Result<String, Fault> {
    let mut file: DocumentMut = text
        .parse()
        .map_err(|error| Fault::Misread(format!("The name cannot be changed: {error}")))?;
    if let Some(book) = file.get_mut("book").and_then(|t| t.as_table_like_mut()) {
        let old = book.get("name").and_then(|n| n.as_value());
        let decor = old.map(|value| value.decor().clone());
        let mut new = toml_edit::Value::from(name);
        if let Some(decor) = decor {
            *new.decor_mut() = decor;
        }
        book.insert("name", value(new));
    }
    Ok(file.to_string())
}

/// What was chosen before, when it could not be done.
#[derive(Default)]
struct Choice {
    name: Option<String>,
    wrong: Option<String>,
    /// The revision that the reader was shown, when it is the newest no more.
    had: Option<i64>,
}

/// The name is taken, by a book that the reader may not change: nothing is said of it.
async fn another_name(
    workbench: &Workbench,
    reader: &Reader,
    incoming: &Incoming,
    book: &Book,
    choice: &Choice,
) -> Result<Response, Fault> {
    let name = match &choice.name {
        Some(name) => name.clone(),
        None => free_name(workbench, &book.name).await?,
    };
    let wrong = choice.wrong.as_deref().unwrap_or("This name is taken.");
    let content = html! {
        h1 { "The name is taken" }
        p { "A book of this name is kept here that you may not change. Nothing was saved. The file can be another book, under another name." }
        form.form method="post" action="/books/import" enctype="multipart/form-data" {
            input type="hidden" name="way" value="other";
            div {
                label for="name" { "Department" }
                input type="text" id="name" name="name" value=(name) aria-invalid="true" aria-errormessage="name-wrong";
                p.wrong id="name-wrong" { (wrong) }
            }
            input type="hidden" name="name-of-file" value=(incoming.file);
            textarea.carried name="text" hidden { "\n" (incoming.text()) }
            div.actions { button.first { "Make another book" } }
        }
    };
    let whole = page("The name is taken", reader, &Place::default(), &content);
    Ok((StatusCode::CONFLICT, whole).into_response())
}

/// There is a book of this name: the next revision of it, or another book?
async fn choice(
    workbench: &Workbench,
    reader: &Reader,
    incoming: &Incoming,
    book: &Book,
    choice: &Choice,
) -> Result<Response, Fault> {
    let slug = slug(&book.name);
    if !reader.who.is(Role::Editor, &slug) {
        return another_name(workbench, reader, incoming, book, choice).await;
    }
    let newest = workbench.records.newest(&slug).await?;
    let kept = workbench.records.revision(&slug, newest).await?;
    let text = incoming.text();
    let before = workbench.open_at(&slug, newest).await.ok();
    let words = before.map_or_else(Vec::new, |before| words(&before.book, book));
    let name = match &choice.name {
        Some(name) => name.clone(),
        None => free_name(workbench, &book.name).await?,
    };
    let carried = html! {
        input type="hidden" name="name-of-file" value=(incoming.file);
        textarea.carried name="text" hidden { "\n" (text) }
    };
    let content = html! {
        h1 { "This book is here already" }
        @if let Some(had) = choice.had {
            p.caution { "Somebody saved since: you were shown revision " (had) ", the newest is revision " (newest) ". Look again." }
        }
        p {
            "The workbench has " a href=(address::book(&slug, "")) { (book.name) } " at revision " (newest)
            ", saved " (when(kept.entry.note.at)) " (" (crate::conflict::who(&kept.entry)) "). Nothing was saved yet."
        }
        div.two {
            section aria-labelledby="as-next" {
                h2 id="as-next" { "As its next revision" }
                p { "The file becomes revision " (newest + 1) "; revision " (newest) " stays in the history." }
                form method="post" action="/books/import" enctype="multipart/form-data" {
                    input type="hidden" name="way" value="next";
                    input type="hidden" name="base" value=(newest);
                    (carried)
                    div.actions { button.first { "Save as revision " (newest + 1) } }
                }
            }
            section aria-labelledby="as-other" {
                h2 id="as-other" { "Under another name" }
                form method="post" action="/books/import" enctype="multipart/form-data" {
                    input type="hidden" name="way" value="other";
                    label for="name" { "Department" }
                    input type="text" id="name" name="name" value=(name) aria-invalid=[choice.wrong.as_ref().map(|_| "true")]
                        aria-errormessage=[choice.wrong.as_ref().map(|_| "name-wrong")];
                    @if let Some(wrong) = &choice.wrong { p.wrong id="name-wrong" { (wrong) } }
                    (carried)
                    div.actions { button { "Make another book" } }
                }
            }
        }
        h2 { "What the file would change" }
        @if !words.is_empty() { ul { @for words in &words { li { (words) } } } }
        (differences("From the newest revision to the file", &kept.text, &text))
    };
    let whole = page(
        "This book is here already",
        reader,
        &Place::default(),
        &content,
    );
    let status = match choice.wrong {
        Some(_) => StatusCode::UNPROCESSABLE_ENTITY,
        None => StatusCode::CONFLICT,
    };
    Ok((status, whole).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn another_name_leaves_the_rest_of_the_file() {
        let text = "# ours\n[book]\nname = \"A\"  # old\n\n[line.b] # x\nparts = [ ]\n";
        let expected = text.replace("\"A\"", "\"A 2\"");
        assert_eq!(renamed(text, "A 2").unwrap(), expected);
    }
}
