//! The command `prove`: plan a test day, reduce its readings, take what was found into
//! the book.

mod sheets;

use crate::args::Units;
use crate::commands::{Answered, Failure, Outcome, bytes, bytes_of, load};
use crate::show;
use book::Book;
use hydraulics::units::System;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use study::notice::Weight;
use study::proof::{
    self, AcceptError, Accepting, Day, Effect, Leave, LeftOut, Proved, Subject, Taken, Wish,
};

/// The question of `prove`.
#[derive(Debug, clap::Args)]
pub struct Prove {
    /// The department's file
    pub book: PathBuf,
    /// The day's readings, CSV or XLSX: a row for each point
    #[arg(long, value_name = "FILE")]
    pub readings: Option<PathBuf>,
    /// Plan a test of these lines' hose and nozzles, or of a test by its words ("hose
    /// attack", "pump pumper-1"), instead; with --readings only those are reduced
    #[arg(long, value_name = "LINE OR TEST", value_delimiter = ',', num_args = 1.., required_unless_present = "readings")]
    pub plan: Vec<String>,
    /// For a plan: half of the 95 % interval that is wanted, as a share of the value
    #[arg(long, value_name = "SHARE", default_value = "5 %")]
    pub wanted: String,
    /// Leave a point out: "hose attack: 3"; it stays in the report
    #[arg(long, value_name = "TEST: POINT", requires = "readings")]
    pub without: Vec<String>,
    /// Correct the readings of a gauge by what the others of the day say that it is off
    #[arg(long, value_name = "GAUGE", requires = "readings")]
    pub correct: Vec<String>,
    /// Take what was found into the book, and say which lines change; a result that a
    /// doubtful gauge touches is refused
    #[arg(long, requires = "readings")]
    pub accept: bool,
    /// With --accept: also what a doubtful gauge touches
    #[arg(long, requires = "accept")]
    pub all_the_same: bool,
    /// With --accept: write the changed book here; its comments stay
    #[arg(long, value_name = "NEWBOOK", requires = "accept")]
    pub out: Option<PathBuf>,
    /// Who measured, and how, for the book
    #[arg(long, value_name = "WORDS", default_value = "own flow test")]
    pub source: String,
    /// The day of readings that tell none, and of a plan, as 2026-05-11
    #[arg(long, value_name = "DAY")]
    pub date: Option<String>,
    /// Print a report of each test, or the plan, too: into a folder, for one sheet a file
    /// that ends in .pdf, or a file that ends in .zip
    #[arg(long, value_name = "PLACE")]
    pub report: Option<PathBuf>,
    /// With --report: the day of printing that stands on the sheets (default: today)
    #[arg(long, value_name = "DAY", requires = "report")]
    pub printed: Option<String>,
    /// Show every point too
    #[arg(long)]
    pub points: bool,
    /// Units of the answer (default: the book's)
    #[arg(long, value_enum)]
    pub units: Option<Units>,
    /// Answer as JSON
    #[arg(long)]
    pub json: bool,
    /// End with exit code 4 when a verdict fails or a result is not to be used
    #[arg(long)]
    pub strict: bool,
}

/// Plans, or reduces and accepts.
pub fn prove(ask: &Prove) -> Answered {
    let book = load(&ask.book)?;
    let system = match ask.units {
        None => book.units,
        Some(Units::Us) => System::Us,
        Some(Units::Si) => System::Si,
    };
    match &ask.readings {
        Some(file) => reduced(ask, &book, file, system),
        None => planned(ask, &book, system),
    }
}

fn planned(ask: &Prove, book: &Book, system: System) -> Answered {
    let subjects = subjects(book, &ask.plan)?;
    let share = hydraulics::units::parse::<hydraulics::units::Ratio>(
        hydraulics::units::Kind::Share,
        &ask.wanted,
    );
    let share = share.map_err(|error| Failure::Misread(format!("--wanted: {error}")))?;
    let wish = Wish {
        share: hydraulics::units::Measure::si(share),
        date: ask.date.clone().unwrap_or_default(),
        ..Wish::default()
    };
    let plan = proof::plan(book, &subjects, &wish);
    let plan = plan.map_err(|error| Failure::NoAnswer(error.to_string()))?;
    let done = sheets::plan(ask, book, &plan, system)?;
    let out = match ask.json {
        true => {
            let mut object = plan.object(system);
            object["sheets"] = json!(done.as_ref().map(sheets::names).unwrap_or_default());
            show::json(&object)
        }
        false => show::plan(book, &plan, system) + &told(ask, done.as_ref()),
    };
    Ok(Outcome {
        out,
        ..Outcome::default()
    })
}

/// What was printed, in words.
fn told(ask: &Prove, done: Option<&crate::print::Done>) -> String {
    let both = done.zip(ask.report.as_deref());
    both.map_or(String::new(), |(done, place)| sheets::said(done, place))
}

/// What `names` ask to test: what a line is made of, or a test by its words.
fn subjects(book: &Book, names: &[String]) -> Result<Vec<Subject>, Failure> {
    let mut subjects: Vec<Subject> = Vec::new();
    for name in names {
        let name = name.trim();
        let found = match (book.line.contains_key(name), subject(name)) {
            (true, _) => proof::subjects_of(book, name)
                .map_err(|error| Failure::NoAnswer(error.to_string()))?,
            (false, Some(subject)) => vec![subject],
            (false, None) => {
                let lines: Vec<&str> = book.line.keys().map(String::as_str).collect();
                return Err(Failure::Misread(format!(
                    "--plan: \"{name}\" is neither a line nor a test; write a line ({}) or a \
                     test as \"hose attack\", \"nozzle twin: high\", \"pump pumper-1\", \
                     \"hydrant mill-street\", \"service test attack\"",
                    lines.join(", ")
                )));
            }
        };
        for subject in found {
            if !subjects.contains(&subject) {
                subjects.push(subject);
            }
        }
    }
    Ok(subjects)
}

/// A test by its words: "hose attack".
fn subject(words: &str) -> Option<Subject> {
    const KINDS: [&str; 7] = [
        "service test",
        "hose exponent",
        "hose roughness",
        "hose",
        "nozzle",
        "pump",
        "hydrant",
    ];
    let of = |kind: &&str| {
        let about = words.strip_prefix(*kind)?.strip_prefix(' ')?;
        Subject::called(kind, about.trim())
    };
    KINDS.iter().find_map(of)
}

fn taken(ask: &Prove, book: &Book, file: &Path) -> Result<Taken, Failure> {
    let bytes = bytes_of(file, "the readings, CSV or XLSX").map_err(Failure::Book)?;
    let name = file.display().to_string();
    let refused = |problem: study::intake::RowProblem| Failure::Book(format!("{problem}\n"));
    let first = proof::read_day(&bytes, &name, book, None).map_err(refused)?;
    let Some(date) = &ask.date else {
        return Ok(first);
    };
    let mut matching = first.matching;
    matching.date.clone_from(date);
    proof::read_day(&bytes, &name, book, Some(&matching)).map_err(refused)
}

fn reduced(ask: &Prove, book: &Book, file: &Path, system: System) -> Answered {
    let mut taken = taken(ask, book, file)?;
    if !ask.plan.is_empty() {
        let wanted = subjects(book, &ask.plan)?;
        taken
            .day
            .tests
            .retain(|test| wanted.contains(&test.subject));
    }
    let err = show::unused(&taken);
    if taken.day.tests.is_empty() {
        let text = "no reading of the file could be used";
        return Err(Failure::NoAnswer(format!("{text}\n{err}")));
    }
    let leave = Leave {
        points: left_out(&ask.without, &taken.day)?,
        gauges: ask.correct.clone(),
    };
    for gauge in &leave.gauges {
        if !book.gauge.contains_key(gauge) {
            let have: Vec<&str> = book.gauge.keys().map(String::as_str).collect();
            return Err(Failure::Misread(format!(
                "--correct: the book has no gauge \"{gauge}\"; it has {}",
                have.join(", ")
            )));
        }
    }
    let proved = proof::prove_with(book, &taken.day, &leave);
    let accepted = ask.accept.then(|| accepted(ask, book, &proved));
    if let (Some(accepted), Some(out)) = (&accepted, &ask.out) {
        write(&ask.book, book, accepted, out)?;
    }
    let done = sheets::reports(ask, book, (&taken.day, &proved), system)?;
    let refused_all = accepted.as_ref().is_some_and(|a| a.taken.is_empty());
    let out = match ask.json {
        true => {
            let mut object = object(&taken, &proved, accepted.as_ref(), system);
            object["sheets"] = json!(done.as_ref().map(sheets::names).unwrap_or_default());
            show::json(&object)
        }
        false => {
            let mut out = show::proved(book, &taken, &proved, ask.points, system);
            if let Some(accepted) = &accepted {
                out.push_str(&show::accepted(accepted, ask.out.as_deref(), system));
            }
            out.push_str(&told(ask, done.as_ref()));
            out
        }
    };
    let code = match (refused_all, ask.strict && past_limit(&proved)) {
        (true, _) => 3,
        (false, true) => 4,
        (false, false) => 0,
    };
    Ok(Outcome { out, err, code })
}

fn past_limit(proved: &Proved) -> bool {
    let limit = |notice: &study::notice::Notice| notice.weight == Weight::Limit;
    proved.notices.iter().any(limit)
        || proved
            .proofs
            .iter()
            .any(|proof| proof.fails() || proof.notices.iter().any(limit))
}

/// The points that are not to count.
fn left_out(asked: &[String], day: &Day) -> Result<Vec<LeftOut>, Failure> {
    let one = |text: &String| {
        let tests: Vec<String> = day.tests.iter().map(|t| t.subject.to_string()).collect();
        let wrong = || {
            Failure::Misread(format!(
                "--without: \"{text}\" names no point of the day; write the test and the point, \
                 \"{}: 3\"; the tests are {}",
                tests.first().map_or("hose attack", String::as_str),
                tests.join(", ")
            ))
        };
        let (test, point) = text.rsplit_once(':').ok_or_else(wrong)?;
        let point: u32 = point.trim().parse().map_err(|_| wrong())?;
        let found = day
            .tests
            .iter()
            .find(|t| t.subject.to_string() == test.trim());
        let found = found.filter(|t| t.readings.iter().any(|r| r.point == point));
        Ok(LeftOut {
            subject: found.ok_or_else(wrong)?.subject.clone(),
            point,
            why: "left out on the command line".into(),
        })
    };
    asked.iter().map(one).collect()
}

/// What was taken into the book, and what was not.
pub struct Accepted {
    /// The book with it.
    pub book: Book,
    /// What was taken.
    pub taken: Vec<Subject>,
    /// What was not, and why.
    pub refused: Vec<AcceptError>,
    /// The lines that change.
    pub effects: Vec<Effect>,
}

fn accepted(ask: &Prove, book: &Book, proved: &Proved) -> Accepted {
    let how = Accepting {
        source: ask.source.clone(),
        go_on: ask.all_the_same,
        suspects: &proved.suspects,
        corrected: &ask.correct,
    };
    let mut after = book.clone();
    let (mut taken, mut refused) = (Vec::new(), Vec::new());
    for one in &proved.proofs {
        match proof::accept(&after, one, &how) {
            Ok(book) => {
                after = book;
                taken.push(one.subject.clone());
            }
            Err(error) => refused.push(error),
        }
    }
    Accepted {
        effects: proof::effects(book, &after),
        book: after,
        taken,
        refused,
    }
}

fn write(file: &Path, book: &Book, accepted: &Accepted, out: &Path) -> Result<(), Failure> {
    if accepted.taken.is_empty() {
        return Ok(());
    }
    let bytes = bytes(file).map_err(Failure::Book)?;
    let text = String::from_utf8_lossy(&bytes);
    let amended = book::amend(&text, book, &accepted.book);
    std::fs::write(out, amended).map_err(|error| {
        Failure::Misread(format!(
            "--out: {} cannot be written: {error}; give a file that can be",
            out.display()
        ))
    })
}

fn object(taken: &Taken, proved: &Proved, accepted: Option<&Accepted>, system: System) -> Value {
    let mut object = proved.object(system);
    object["rows"] = json!(taken.rows);
    object["rows_used"] = json!(taken.taken);
    object["problems"] = taken.problems.iter().map(|p| p.json()).collect();
    if let Some(accepted) = accepted {
        let said = accepted.taken.iter().map(Subject::to_string);
        let refused = accepted.refused.iter().map(AcceptError::to_string);
        object["accepted"] = json!(said.collect::<Vec<_>>());
        object["refused"] = json!(refused.collect::<Vec<_>>());
        object["effects"] = accepted.effects.iter().map(|e| e.object(system)).collect();
    }
    object
}
