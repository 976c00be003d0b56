//! Who can sign in, looked after from the command line.

use crate::args::{People, PeopleDeed};
use crate::commands::{Answered, Failure};
use crate::kept::{self, Place};
use crate::show;
use records::{By, Records, Role};
use std::io::{BufRead, IsTerminal, Write};
use std::process::{Command, Stdio};
use web::password::{self, PasswordError};

/// Who it was, for the trail.
const WHO: &str = "command line";

/// More than this is no password; so much is read at most.
const LONGEST: u64 = 4_096;

/// `handline people`.
pub fn people(ask: &People) -> Answered {
    kept::wait(async {
        let records = kept::records_there(&Place::of(ask.data.as_deref())?).await?;
        let by = By::new(WHO, kept::now());
        match &ask.deed {
            PeopleDeed::Add {
                name,
                role,
                department,
            } => {
                let post = role.zip(department.as_deref());
                add(&records, name.trim(), post, &by).await?;
            }
            PeopleDeed::Role {
                name,
                role,
                department,
                ..
            } => {
                let slug = web::slug(department);
                records.set_role(&slug, name.trim(), *role, &by).await?;
            }
            PeopleDeed::Remove { name } => records.dismiss(name.trim(), &by).await?,
            PeopleDeed::List => {}
        }
        Ok(show::people(&records.people().await?, ask.json))
    })
}

async fn add(
    records: &Records,
    name: &str,
    post: Option<(Role, &str)>,
    by: &By,
) -> Result<(), Failure> {
    let post = post.map(|(role, department)| (role, web::slug(department)));
    if let Some((_, slug)) = &post {
        // Before anybody thinks of a password.
        records.newest(slug).await?;
    }
    let typed = asked_for(name)?;
    password::sound(&typed, name)?;
    let hash = password::hash(&typed)?;
    records.set_person(name, Some(&hash), by).await?;
    if let Some((role, slug)) = post {
        records.set_role(&slug, name, Some(role), by).await?;
    }
    Ok(())
}

impl From<PasswordError> for Failure {
    fn from(error: PasswordError) -> Self {
        Failure::Misread(error.to_string())
    }
}

/// The password: twice at a terminal, where it does not show; else the first line.
fn asked_for(name: &str) -> Result<String, Failure> {
    if !std::io::stdin().is_terminal() {
        return line();
    }
    let _quiet = Quiet::new()?;
    let first = answer(&format!("Password for {name} (it does not show): "))?;
    let second = answer("The same again: ")?;
    match first == second {
        true => Ok(first),
        false => Err(Failure::Misread(
            "the two passwords differ; nothing was saved".into(),
        )),
    }
}

fn answer(question: &str) -> Result<String, Failure> {
    let mut err = std::io::stderr();
    let _ = err.write_all(question.as_bytes());
    let answer = line();
    let _ = err.write_all(b"\n");
    answer
}

fn line() -> Result<String, Failure> {
    use std::io::Read;
    let mut line = String::new();
    let read = std::io::stdin().lock().take(LONGEST).read_line(&mut line);
    read.map_err(|error| Failure::Misread(format!("the password cannot be read: {error}")))?;
    Ok(line.trim_end_matches(['\r', '\n']).to_string())
}

/// A terminal that does not show what is typed, for as long as this lives.
struct Quiet;

impl Quiet {
    fn new() -> Result<Self, Failure> {
        match stty("-echo") {
            true => Ok(Quiet),
            false => Err(Failure::Misread(
                "this terminal cannot hide a password; give it as a line of standard input".into(),
            )),
        }
    }
}

impl Drop for Quiet {
    fn drop(&mut self) {
        stty("echo");
    }
}

fn stty(how: &str) -> bool {
    let mut stty = Command::new("stty");
    let done = stty.arg(how).stdin(Stdio::inherit()).status();
    done.is_ok_and(|status| status.success())
}
