//! What was printed and handed out, and how it stands.

use crate::args::Issued;
use crate::commands::{self, Answered, Failure, Outcome};
use crate::kept::{self, Kept, Place};
use crate::{print, show};
use paper::Paper;
use records::{Issue, Records, RecordsError, Standing};
use std::collections::BTreeMap;
use std::path::Path;

/// The register of one book.
pub struct Register {
    /// The book.
    pub kept: Kept,
    /// Its sheets, newest first.
    pub issues: Vec<Issue>,
    /// How each of them stands.
    pub standings: Vec<Standing>,
}

impl Register {
    fn of(kept: Kept, issues: Vec<Issue>) -> Self {
        Register {
            standings: records::standings(&issues, &kept.book),
            kept,
            issues,
        }
    }
}

/// `handline issued`.
pub fn issued(ask: &Issued) -> Answered {
    kept::wait(async {
        let records = kept::records_there(&Place::of(ask.data.as_deref())?).await?;
        if let Some(code) = &ask.code {
            return found(&records, ask, code).await;
        }
        if let Some(code) = &ask.withdraw {
            return withdraw(&records, ask, code).await;
        }
        let name = ask.book.as_deref().unwrap_or(Path::new(""));
        let (slug, note) = named(&records, name).await?;
        let kept = kept::newest(&records, &slug).await?;
        if ask.reprint {
            return reprint(&records, ask, kept).await;
        }
        let issues = records.issued(&slug).await?;
        let register = Register::of(kept, issues);
        let mut outcome = show::register(&register, ask.json);
        outcome.err = note;
        Ok(outcome)
    })
}

/// The book that a file or a name means, and what to say when the file has another text
/// than the records.
async fn named(records: &Records, name: &Path) -> Result<(String, String), Failure> {
    if !name.is_file() {
        return Ok((web::slug(&name.display().to_string()), String::new()));
    }
    let bytes = commands::bytes(name).map_err(Failure::Book)?;
    let slug = web::slug(&commands::load(name)?.name);
    let kept = kept::newest(records, &slug).await?;
    let note = match kept.text.as_bytes() == bytes {
        true => String::new(),
        false => format!(
            "{} differs from revision {} of the records, by which sheets are judged here.\n",
            name.display(),
            kept.revision
        ),
    };
    Ok((slug, note))
}

async fn by_code(records: &Records, ask: &Issued, code: &str) -> Result<Vec<Issue>, Failure> {
    let mut issues = records.by_code(code).await?;
    if let Some(book) = &ask.book {
        let (slug, _) = named(records, book).await?;
        issues.retain(|issue| issue.slug == slug);
    }
    match issues.is_empty() {
        false => Ok(issues),
        true => Err(Failure::NoAnswer(format!(
            "no sheet with the code {code} is in this register: it was printed from a file, \
             or from other records (--data). Do not work by it; print it anew"
        ))),
    }
}

async fn found(records: &Records, ask: &Issued, code: &str) -> Answered {
    let mut books: BTreeMap<String, Vec<Issue>> = BTreeMap::new();
    for issue in by_code(records, ask, code).await? {
        books.entry(issue.slug.clone()).or_default().push(issue);
    }
    let mut registers = Vec::new();
    for (slug, issues) in books {
        registers.push(Register::of(kept::newest(records, &slug).await?, issues));
    }
    Ok(show::code(&registers, ask.json))
}

/// Withdraws every print with this code that is still out.
async fn withdraw(records: &Records, ask: &Issued, code: &str) -> Answered {
    let issues = by_code(records, ask, code).await?;
    let out: Vec<&Issue> = issues.iter().filter(|i| i.withdrawn.is_none()).collect();
    if out.is_empty() {
        let code = issues.first().map_or(code, |issue| issue.code.as_str());
        return Err(RecordsError::Withdrawn { code: code.into() }.into());
    }
    let why = ask.why.as_deref().unwrap_or_default().trim();
    if why.is_empty() {
        let text = "say why it is withdrawn: --why \"card burnt\"";
        return Err(Failure::Misread(text.into()));
    }
    let who = ask.who.as_deref().unwrap_or_default();
    for issue in &out {
        let done = records.withdraw(issue.id, kept::now(), who, why);
        done.await?;
    }
    found(records, ask, code).await
}

async fn reprint(records: &Records, ask: &Issued, kept: Kept) -> Answered {
    let paper = Paper {
        date: ask.date.clone().unwrap_or_else(kept::today),
        address: ask.address.clone(),
        revision: u32::try_from(kept.revision).ok(),
        ..Paper::default()
    };
    let issues = records.issued(&kept.slug).await?;
    let pairs = records::reprints(&issues, &kept.book, &paper);
    if pairs.is_empty() {
        return Ok(nothing_to_print(ask.json));
    }
    let done = print::write(&kept.book, pairs, &ask.out)?;
    print::entered(records, &kept.slug, &done, ask.who.as_deref()).await?;
    Ok(show::printed(&done, ask.json))
}

fn nothing_to_print(as_json: bool) -> Outcome {
    match as_json {
        true => show::nothing_printed(),
        false => commands::printed(
            "Nothing is to be printed anew: every sheet that is out is current, withdrawn, \
             printed anew already, or about something that is no longer in the book.\n"
                .into(),
        ),
    }
}
