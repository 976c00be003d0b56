//! The people of a department: who may do what in it.

use super::said;
use crate::address;
use crate::fault::Fault;
use crate::form::Filled;
use crate::reader::Reader;
use crate::secret::token;
use crate::shell::{Place, page};
use crate::when::when;
use crate::workbench::{Opened, Workbench, now};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use records::{By, Joined, NewLink, RecordsError, Role};
use serde::Deserialize;
use std::sync::Arc;

/// A link for a new password is good for three days.
const DAYS: i64 = 3;

/// The longest name, in characters.
const LONGEST: usize = 60;

/// What each role may, for whoever gives it.
const MAY: [(Role, &str); 4] = [
    (Role::Reader, "reads the book, its sheets and results"),
    (Role::Tester, "takes readings too"),
    (
        Role::Editor,
        "changes the book, prints and withdraws sheets too",
    ),
    (Role::Keeper, "says who may do what, too"),
];

/// What is said above the list.
#[derive(Default)]
struct Said {
    told: String,
    /// The link for a new password, and whose.
    link: Option<(String, String)>,
    wrong: String,
    /// The name that could not be added.
    name: String,
}

pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    people(&workbench, &opened, &reader, &Said::default()).await
}

async fn people(
    workbench: &Workbench,
    opened: &Opened,
    reader: &Reader,
    said: &Said,
) -> Result<Markup, Fault> {
    let slug = &opened.slug;
    let roles = workbench.records.roles(slug).await?;
    let content = html! {
        @if !said.told.is_empty() { p.told role="status" { (said.told) } }
        @if !said.wrong.is_empty() { p.wrong role="alert" { (said.wrong) } }
        h1 { "People" }
        @if let Some((name, link)) = &said.link { (handed_over(name, link)) }
        p.inline { a href=(address::book(slug, "/trail")) { "Who did what" } " · " a href=(address::book(slug, "/links")) { "Readers' links" } }
        @if roles.is_empty() { p.quiet { "Nobody has a role in this department yet." } }
        ul.cards { @for (name, role) in &roles { li { (one(slug, name, *role)) } } }
        (add(slug, &said.name))
        h2 { "What each may" }
        dl.told-of { @for (role, words) in MAY { div { dt { (crate::tables::capital(role.word())) } dd { (words) } } } }
    };
    let place = Place::of(opened, "People");
    Ok(page("People", reader, &place, &content))
}

fn handed_over(name: &str, link: &str) -> Markup {
    html! {
        div.keep {
            p { "Hand this link to " b { (name) } ", by a way that only they read. It is shown this once, is good once and for " (DAYS) " days, and lets them set a password of their own:" }
            p { code.link { (link) } }
        }
    }
}

fn one(slug: &str, name: &str, role: Role) -> Markup {
    let field = format!("role-{}", address::step(name));
    html! {
        h2 { (name) }
        p { (crate::tables::capital(role.word())) }
        form.actions method="post" action=(address::book(slug, "/people/role")) {
            input type="hidden" name="name" value=(name);
            label.unseen for=(field) { "Role of " (name) }
            (choice(&field, role))
            button { "Give this role" }
            button name="do" value="out" { "Take " (name) " out" }
        }
        form.actions method="post" action=(address::book(slug, "/people/password")) {
            input type="hidden" name="name" value=(name);
            button { "Link for a new password" span.unseen { " of " (name) } }
        }
    }
}

fn choice(id: &str, chosen: Role) -> Markup {
    html! {
        select.short id=(id) name="role" {
            @for role in Role::ALL {
                option value=(role.word()) selected[role == chosen] { (crate::tables::capital(role.word())) }
            }
        }
    }
}

fn add(slug: &str, name: &str) -> Markup {
    html! {
        h2 { "Add somebody" }
        form.form method="post" action=(address::book(slug, "/people")) {
            div.fields {
                div {
                    label for="name" { "Name to sign in with" }
                    input type="text" id="name" name="name" value=(name) required maxlength=(LONGEST) autocomplete="off" aria-describedby="name-hint";
                    p.hint id="name-hint" { "It stands beside all that they change. Who has a name here from another department keeps it, and the password." }
                }
                div { label for="role" { "Role" } (choice("role", Role::Reader)) }
            }
            div.actions { button.first { "Add" } }
        }
    }
}

fn link(reader: &Reader, token: &str) -> String {
    format!("{}/new-password/{token}", reader.host)
}

fn by(reader: &Reader) -> By {
    By::new(&reader.name, now())
}

/// What is wrong with a name to sign in with.
fn name_fault(name: &str) -> Option<&'static str> {
    let letters = name.chars().count();
    if letters == 0 {
        return Some("Write the name that they sign in with.");
    }
    if letters > LONGEST {
        return Some("The name is too long; write at most 60 letters.");
    }
    let odd = |c: char| c.is_control() || "<>\"\\/@".contains(c);
    name.contains(odd)
        .then_some("Write the name with letters, digits, spaces, dots and hyphens.")
}

#[derive(Deserialize)]
pub(super) struct Wanted {
    name: String,
    #[serde(default)]
    role: String,
    #[serde(default, rename = "do")]
    what: String,
}

impl Wanted {
    fn role(&self) -> Result<Role, Fault> {
        let unknown = || Fault::Misread(format!("There is no role \"{}\".", self.role));
        Role::called(&self.role).ok_or_else(unknown)
    }
}

pub(super) async fn added(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(wanted): Filled<Wanted>,
) -> Result<Response, Fault> {
    let opened = workbench.open(&slug).await?;
    let (name, role) = (wanted.name.trim(), wanted.role()?);
    let mut said = Said::default();
    if let Some(wrong) = name_fault(name) {
        said.wrong = wrong.into();
        said.name = name.into();
        return refused(&workbench, &opened, &reader, &said).await;
    }
    if workbench.records.role(&slug, name).await?.is_some() {
        said.wrong = format!("{name} is here already; give another role below.");
        return refused(&workbench, &opened, &reader, &said).await;
    }
    let token = token()?;
    let welcome = NewLink {
        token: &token,
        ends: now() + DAYS * 86_400,
    };
    let records = &workbench.records;
    let by = by(&reader);
    let joined = records.add_person(&slug, (name, role), &welcome, &by);
    match joined.await? {
        Joined::New => {
            said.told = format!("{name} is added, as {}.", crate::served::a(role));
            said.link = Some((name.into(), link(&reader, &token)));
        }
        Joined::Known => {
            said.told = format!(
                "{name} is added, as {}, and signs in as before.",
                crate::served::a(role)
            );
        }
    }
    Ok(people(&workbench, &opened, &reader, &said)
        .await?
        .into_response())
}

async fn refused(
    workbench: &Workbench,
    opened: &Opened,
    reader: &Reader,
    said: &Said,
) -> Result<Response, Fault> {
    let page = people(workbench, opened, reader, said).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

pub(super) async fn role(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(wanted): Filled<Wanted>,
) -> Result<Response, Fault> {
    let opened = workbench.open(&slug).await?;
    let role = match wanted.what.as_str() {
        "out" => None,
        _ => Some(wanted.role()?),
    };
    let mut told = Said::default();
    let by = by(&reader);
    let given = workbench.records.set_role(&slug, &wanted.name, role, &by);
    match given.await {
        Ok(()) => {
            told.told = match role {
                Some(role) => format!("{} is {} now.", wanted.name, crate::served::a(role)),
                None => format!("{} may do nothing here any more.", wanted.name),
            };
        }
        Err(why @ (RecordsError::LastKeeper { .. } | RecordsError::NoPerson(_))) => {
            told.wrong = said(&why);
            return refused(&workbench, &opened, &reader, &told).await;
        }
        Err(other) => return Err(other.into()),
    }
    Ok(people(&workbench, &opened, &reader, &told)
        .await?
        .into_response())
}

pub(super) async fn password(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(wanted): Filled<Wanted>,
) -> Result<Response, Fault> {
    let opened = workbench.open(&slug).await?;
    let (token, ends) = (token()?, now() + DAYS * 86_400);
    let welcome = NewLink {
        token: &token,
        ends,
    };
    let name = wanted.name;
    let records = &workbench.records;
    let by = by(&reader);
    let made = records.make_welcome(&slug, &name, &welcome, &by);
    let mut said = Said::default();
    if !made.await? {
        said.wrong = format!(
            "No link was made: {name} belongs to a department that you do not keep, too, and whoever \
             sets a password can do all that its owner may. Who runs this workbench can set one."
        );
        return refused(&workbench, &opened, &reader, &said).await;
    }
    said.told = format!("The link is made, and good until {}.", when_words(ends));
    said.link = Some((name, link(&reader, &token)));
    Ok(people(&workbench, &opened, &reader, &said)
        .await?
        .into_response())
}

fn when_words(at: i64) -> String {
    // Without the element around it, for a sentence.
    let text = when(at).into_string();
    let inner = text
        .split_once('>')
        .and_then(|(_, rest)| rest.split_once('<'));
    inner.map_or(text.clone(), |(words, _)| words.to_string())
}
