//! The command `compare`: choices for some lines set against each other.

use crate::args::Units;
use crate::commands::{Answered, Failure, Outcome, bytes_of, load};
use crate::kept;
use crate::print;
use crate::show;
use crate::tables;
use crate::watch::Watcher;
use book::Book;
use book::comparison::{self, Comparison};
use hydraulics::units::System;
use paper::tables::Stamp;
use paper::{Paper, Size};
use serde_json::{Value, json};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use study::choose::{self, Choice, ChooseError, Chosen};
use study::doubt;
use study::figure::thousands;
use study::notice::Weight;

/// The question of `compare`.
#[derive(Debug, clap::Args)]
pub struct Compare {
    /// The department's file
    pub book: PathBuf,
    /// The comparison's file: which lines, what may be chosen, limits, aims, doubts
    pub comparison: PathBuf,
    /// Days to draw for how sure it is; 0 draws none (default: the comparison's)
    #[arg(long, value_name = "NUMBER")]
    pub days: Option<u64>,
    /// Write tables too: FILE.xlsx for a workbook, FILE.csv or FILE.parquet for one row a
    /// choice and line, FILE.zip or a folder for a CSV file of each table
    #[arg(long, value_name = "FILE OR FOLDER")]
    pub out: Option<PathBuf>,
    /// Print a report too
    #[arg(long, value_name = "FILE.pdf")]
    pub report: Option<PathBuf>,
    /// The day that stands on the report and in the tables, as 2026-05-11 (default: today)
    #[arg(long, value_name = "DAY")]
    pub date: Option<String>,
    /// Start even if it takes more than ten minutes
    #[arg(long)]
    pub yes: bool,
    /// Units of the answer (default: the comparison's, else the book's)
    #[arg(long, value_enum)]
    pub units: Option<Units>,
    /// Answer as JSON
    #[arg(long)]
    pub json: bool,
    /// End with exit code 4 when no choice shown holds on enough of the days drawn, or a
    /// limit is passed
    #[arg(long)]
    pub strict: bool,
}

/// What takes longer says so before it starts.
const SHORT: Duration = Duration::from_secs(1);

/// What takes longer does not start without --yes.
const LONG: Duration = Duration::from_secs(600);

/// Draws of one line a second that are reckoned with.
const DRAWS: f64 = 200_000.0;

/// Compares, and says what came of it.
pub fn compare(ask: &Compare) -> Answered {
    let book = load(&ask.book)?;
    let comparison = question(ask, &book)?;
    let system = match ask.units {
        None => comparison.units.unwrap_or(book.units),
        Some(Units::Us) => System::Us,
        Some(Units::Si) => System::Si,
    };
    let found = reckoned(ask, &book, &comparison).and_then(|()| found(&book, &comparison));
    let chosen = match found {
        Ok(chosen) => chosen,
        Err(error) => return Ok(refused(ask, &error, system)),
    };
    let taken = taken_along(ask, &book, &comparison, &chosen, system)?;
    let asked = show::Asked {
        book: &book,
        file: &ask.book,
        comparison: &comparison,
        system,
    };
    let out = match ask.json {
        true => show::json(&object(&asked, &chosen)),
        false => show::chosen(&asked, &chosen) + &taken,
    };
    let limit = chosen.notices.iter().any(|n| n.weight == Weight::Limit);
    let unsure = doubt::days(&comparison.doubt) > 0 && chosen.robust.is_none();
    Ok(Outcome {
        out,
        code: if ask.strict && (limit || unsure) {
            4
        } else {
            0
        },
        ..Outcome::default()
    })
}

/// The comparison from its file, with the days of the command line.
fn question(ask: &Compare, book: &Book) -> Result<Comparison, Failure> {
    let bytes = bytes_of(&ask.comparison, "the file of a comparison").map_err(Failure::Book)?;
    let name = ask.comparison.display().to_string();
    let read = comparison::read_for(&bytes, &name, book);
    let mut comparison = read.map_err(|problems| Failure::Book(show::problems(&problems)))?;
    if let Some(days) = ask.days {
        const MOST: u64 = 10_000_000;
        if days > MOST {
            return Err(Failure::Misread(format!(
                "--days: {days} days are more than can be drawn; give at most {MOST}"
            )));
        }
        comparison.doubt.draws = Some(days);
    }
    Ok(comparison)
}

/// Says how large a comparison is when it takes a while, and refuses one that takes too
/// long.
fn reckoned(ask: &Compare, book: &Book, comparison: &Comparison) -> Result<(), ChooseError> {
    let size = choose::size(book, comparison)?;
    let began = Instant::now();
    let tried = choose::trial(book, comparison)?;
    let time = whole(size, tried, began.elapsed(), comparison.lines.len());
    if time <= SHORT {
        return Ok(());
    }
    let text = format!(
        "{} choices, {} operating points, {} days drawn: about {}",
        thousands(size.choices),
        thousands(size.points),
        thousands(size.draws),
        show::long(time)
    );
    if time > LONG && !ask.yes {
        return Err(ChooseError::TooLarge {
            size,
            message: format!("this is a large comparison: {text}"),
            mend: "leave out some of what may be chosen, take larger steps of pump pressure, \
                   draw fewer days (--days), or start it all the same with --yes"
                .into(),
        });
    }
    let _ = writeln!(std::io::stderr(), "handline: {text}; Ctrl-C stops it");
    Ok(())
}

/// The time for all of `size` when `tried` of its points took `took`.
fn whole(size: choose::Size, tried: u64, took: Duration, lines: usize) -> Duration {
    let [points, tried, draws, lines] =
        [size.points, tried.max(1), size.draws, lines as u64].map(|number| number as f64);
    let seconds = took.as_secs_f64() * points / tried + draws * lines / DRAWS;
    Duration::from_secs_f64(seconds.clamp(0.0, 1e9))
}

fn found(book: &Book, comparison: &Comparison) -> Result<Chosen, ChooseError> {
    let watch = Watcher::new();
    let mut chosen = choose::choose(book, comparison, &watch)?;
    // Drawn for already?
    if chosen.choices.iter().all(|choice| choice.doubted.is_none()) {
        let choices = &mut chosen.choices;
        chosen.robust = doubt::of_choices(book, comparison, choices, &watch)?;
    }
    watch.done();
    Ok(chosen)
}

/// A comparison without an answer.
fn refused(ask: &Compare, error: &ChooseError, system: System) -> Outcome {
    let (place, code) = match error {
        ChooseError::Question { place, .. } => {
            (format!("{}: {place}: ", ask.comparison.display()), 1)
        }
        _ => (String::new(), 3),
    };
    let mut err = show::fold(&format!("handline: {place}{error}"), "  ") + "\n";
    if let ChooseError::Nothing { excluded, .. } = error {
        err.push_str(&show::left_out(excluded));
    }
    if !error.mend().is_empty() {
        err.push_str(&show::fold(&format!("To do: {}", error.mend()), "  "));
        err.push('\n');
    }
    Outcome {
        out: match ask.json {
            true => show::json(&json!({ "error": error.json(system) })),
            false => String::new(),
        },
        err,
        code,
    }
}

/// Tables and report, where they are asked for; says where they are.
fn taken_along(
    ask: &Compare,
    book: &Book,
    comparison: &Comparison,
    chosen: &Chosen,
    system: System,
) -> Result<String, Failure> {
    let name = ask.comparison.file_stem().unwrap_or_default();
    let name = name.to_string_lossy();
    let mut said = String::new();
    let date = || ask.date.clone().unwrap_or_else(kept::today);
    if let Some(out) = &ask.out {
        let stamp = Stamp {
            date: date(),
            revision: None,
        };
        let made = paper::tables::of_comparison(book, &name, comparison, chosen, system.into());
        let written = tables::write(out, Some(tables::BY_LINE), &made, &stamp)?;
        said.push_str(&format!("\n{}: {written}\n", out.display()));
    }
    if let Some(report) = &ask.report {
        let sheet = paper::comparison_report(book, &name, comparison, chosen, system.into());
        let paper = Paper {
            size: match system {
                System::Us => Size::Letter,
                System::Si => Size::A4,
            },
            date: date(),
            address: None,
            revision: None,
        };
        print::write(book, vec![(sheet, paper)], report)?;
        said.push_str(&format!("\nPrinted: {}\n", report.display()));
    }
    Ok(said)
}

/// The answer as JSON: all that was found, and how sure each choice is.
fn object(asked: &show::Asked<'_>, chosen: &Chosen) -> Value {
    let mut object = chosen.json(asked.system);
    if let Some(all) = object.get_mut("choices").and_then(Value::as_array_mut) {
        for (value, choice) in all.iter_mut().zip(&chosen.choices) {
            value["doubted"] = doubted(choice, asked.system);
        }
    }
    let answer = show::answer(chosen);
    object["answer"] = json!(answer.map(|choice| &choice.code));
    object["solve"] = json!(answer.map(|choice| show::solve_commands(asked, choice)));
    object
}

fn doubted(choice: &Choice, system: System) -> Value {
    choice
        .doubted
        .as_ref()
        .map_or(Value::Null, |doubted| doubted.json(system))
}

/// The name of a file for a shell.
pub fn for_shell(path: &Path) -> String {
    let text = path.display().to_string();
    let plain = |c: char| c.is_ascii_alphanumeric() || "/._-+,:@".contains(c);
    match !text.is_empty() && text.chars().all(plain) {
        true => text,
        false => format!("'{}'", text.replace('\'', "'\\''")),
    }
}
