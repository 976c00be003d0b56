//! Each command: read the book, ask one question, render the answer.

use crate::args::{Args, Command, Extend, Open, Reader, Solve};
use crate::ask::{self, MARK};
use crate::show;
use book::{Book, Conditions};
use hydraulics::units::System;
use serde_json::{Value, json};
use std::path::Path as File;
use study::StudyError;
use study::answer::LineAnswer;
use study::ask::{self as question, AskError, ChartAsked, ExtendAsked, OfLine, OfScene};
use study::notice::{Notice, Weight};

/// What a command prints, and its exit code.
#[derive(Debug, Default)]
pub struct Outcome {
    /// For standard output.
    pub out: String,
    /// For standard error.
    pub err: String,
    /// The exit code.
    pub code: u8,
}

/// A command that gave no answer.
pub enum Failure {
    /// The book has errors or cannot be read.
    Book(String),
    /// The command is not written right.
    Misread(String),
    /// The question has no answer.
    NoAnswer(String),
}

impl From<AskError> for Failure {
    fn from(error: AskError) -> Self {
        match error {
            AskError::Misread(text) => Failure::Misread(text),
            AskError::NoAnswer(error) => error.into(),
        }
    }
}

impl From<StudyError> for Failure {
    fn from(error: StudyError) -> Self {
        Failure::NoAnswer(error.to_string())
    }
}

/// What came of a command.
pub type Answered = Result<Outcome, Failure>;

/// Runs a command.
pub fn run(args: &Args) -> Outcome {
    let Some(command) = &args.command else {
        return crate::serve::serve(None, &args.open);
    };
    let answered = match command {
        Command::Serve { book, open } => return serve(book.as_deref(), open),
        Command::Check { book, json } => return check(book, *json),
        Command::Schema { comparison } => {
            let schema = match comparison {
                true => book::comparison::schema(),
                false => book::schema(),
            };
            Ok(printed(show::json(&schema)))
        }
        Command::Solve(ask) => solve(ask),
        Command::Chart {
            book,
            line,
            lengths,
            rises,
            reader,
        } => chart(book, line, lengths.as_deref(), rises.as_deref(), reader),
        Command::Extend(ask) => extend(ask),
        Command::Prove(ask) => crate::prove::prove(ask),
        Command::Compare(ask) => crate::compare::compare(ask),
        Command::Tables(ask) => crate::tables::tables(ask),
        Command::Paper(ask) => crate::print::paper(ask),
        Command::Issued(ask) => crate::issued::issued(ask),
        Command::Move(ask) => crate::carry::move_to(ask),
        Command::Backup(ask) => crate::carry::backup(ask),
        Command::Restore(ask) => crate::carry::restore(ask),
        Command::People(ask) => crate::people::people(ask),
    };
    answered.unwrap_or_else(Failure::told)
}

impl Failure {
    /// What to say, and the exit code.
    pub fn told(self) -> Outcome {
        let (err, code) = match self {
            Failure::Book(text) => (text, 1),
            Failure::Misread(text) => (format!("handline: {text}\n"), 2),
            Failure::NoAnswer(text) => (format!("handline: {text}\n"), 3),
        };
        Outcome {
            err,
            code,
            ..Default::default()
        }
    }
}

/// An answer.
pub fn printed(out: String) -> Outcome {
    Outcome {
        out,
        ..Default::default()
    }
}

/// The bytes of a book's file.
pub fn bytes(file: &File) -> Result<Vec<u8>, String> {
    bytes_of(file, "a book file")
}

/// The bytes of a file that is to be `what`.
pub fn bytes_of(file: &File, what: &str) -> Result<Vec<u8>, String> {
    // The reader refuses a book by its size; this only keeps an endless file
    // from filling the memory.
    use std::io::Read;
    let refuse = |error: std::io::Error| {
        let name = file.display();
        format!("handline: {name} cannot be read: {error}; give the path of {what}\n")
    };
    let opened = std::fs::File::open(file).map_err(refuse)?;
    let limit = u64::try_from(100 * book::SIZE_LIMIT).unwrap_or(u64::MAX);
    let mut bytes = Vec::new();
    opened.take(limit).read_to_end(&mut bytes).map_err(refuse)?;
    Ok(bytes)
}

fn serve(file: Option<&File>, open: &Open) -> Outcome {
    let Some(file) = file else {
        return crate::serve::serve(None, open);
    };
    match bytes(file) {
        Ok(bytes) => crate::serve::serve(Some((&bytes, file)), open),
        Err(err) => Outcome {
            err,
            code: 1,
            ..Default::default()
        },
    }
}

/// A book from its file.
pub fn load(file: &File) -> Result<Book, Failure> {
    let bytes = bytes(file).map_err(Failure::Book)?;
    book::read(&bytes, &file.display().to_string())
        .map_err(|problems| Failure::Book(show::problems(&problems)))
}

fn check(file: &File, as_json: bool) -> Outcome {
    let bytes = match bytes(file) {
        Ok(bytes) => bytes,
        Err(err) => {
            return Outcome {
                err,
                code: 1,
                ..Default::default()
            };
        }
    };
    let reading = book::examine(&bytes, &file.display().to_string());
    let code = u8::from(reading.problems.is_error());
    if as_json {
        let out = show::json(&reading.problems.json());
        return Outcome {
            out,
            code,
            ..Default::default()
        };
    }
    let out = reading
        .book
        .as_ref()
        .map_or_else(String::new, |book| show::contents(book, file));
    Outcome {
        out,
        err: show::problems(&reading.problems),
        code,
    }
}

/// Exit code for answers, and JSON or text.
fn answer(
    reader: &Reader,
    limit: bool,
    json: impl FnOnce() -> Value,
    text: impl FnOnce() -> String,
) -> Outcome {
    let out = if reader.json {
        show::json(&json())
    } else {
        text()
    };
    let code = if reader.strict && limit { 4 } else { 0 };
    Outcome {
        out,
        code,
        ..Default::default()
    }
}

fn past_limit(notices: &[Notice]) -> bool {
    notices.iter().any(|n| n.weight == Weight::Limit)
}

fn solve(ask: &Solve) -> Answered {
    let book = load(&ask.book)?;
    let system = ask::system(&ask.reader, &book);
    let asked = ask::asked(ask);
    let scene = ask
        .line
        .as_ref()
        .filter(|name| book.scene.contains_key(*name));
    if let Some(name) = scene {
        return solve_scene(ask, &book, name, system);
    }
    crate::days::refuse_of_lines(ask, &book)?;
    let Some(name) = &ask.line else {
        return every_line(ask, &book, system);
    };
    let solved = asked.line(&book, name)?;
    Ok(answer(
        &ask.reader,
        past_limit(&solved.last().notices),
        || solved.json(system),
        || match &solved {
            OfLine::Plain(solved) => show::line(solved, system),
            OfLine::Changed(compared) => show::compared(compared, system),
        },
    ))
}

fn solve_scene(ask: &Solve, book: &Book, name: &str, system: System) -> Answered {
    let asked = ask::asked(ask);
    let solved = asked.scene(book, name)?;
    let days = crate::days::drawn(ask, &asked, book, name)?;
    Ok(answer(
        &ask.reader,
        past_limit(&solved.last().notices),
        || {
            let mut object = solved.json(system);
            if let Some(days) = &days {
                object["days"] = days.doubted.json(system);
            }
            object
        },
        || match &solved {
            OfScene::Plain(solved) => show::scene(solved, days.as_ref(), system),
            OfScene::Changed(compared) => show::scene_compared(compared, days.as_ref(), system),
        },
    ))
}

fn every_line(ask: &Solve, book: &Book, system: System) -> Answered {
    let asked = ask::asked(ask);
    if asked.wants_line() {
        let text = "a what-if needs a line: handline solve BOOK LINE ...";
        return Err(Failure::Misread(text.into()));
    }
    let conditions = asked.conditions()?;
    let lines: Vec<LineAnswer> = book
        .line
        .keys()
        .map(|line| study::solve(book, line, &conditions))
        .collect::<Result<_, _>>()?;
    Ok(answer(
        &ask.reader,
        lines.iter().any(|line| past_limit(&line.notices)),
        || json!({ "book": book.name, "lines": lines.iter().map(|l| l.json(system)).collect::<Vec<_>>() }),
        || show::book(book, &lines, system),
    ))
}

fn chart(
    file: &File,
    line: &str,
    lengths: Option<&str>,
    rises: Option<&str>,
    reader: &Reader,
) -> Answered {
    let book = load(file)?;
    let system = ask::system(reader, &book);
    let asked = ChartAsked {
        mark: MARK,
        which: ask::which(reader),
        lengths: lengths.map(String::from),
        rises: rises.map(String::from),
    };
    let chart = asked.of(&book, line, system)?;
    let over = chart
        .tables
        .iter()
        .flat_map(|t| t.rows.iter().flatten())
        .any(|c| c.over);
    Ok(answer(
        reader,
        over,
        || chart.json(system),
        || show::chart(&chart, system),
    ))
}

fn extend(ask: &Extend) -> Answered {
    let book = load(&ask.book)?;
    let system = ask::system(&ask.reader, &book);
    question::known(&book, &ask.line)?;
    if ask.longest || ask.smallest {
        return sized(ask, &book, &ask::plain(&ask.reader), system);
    }
    let asked = ExtendAsked {
        mark: MARK,
        which: ask::which(&ask.reader),
        by: ask.by.clone().unwrap_or_default(),
        hose: ask.hose.clone(),
        at: ask.at.clone(),
    };
    let extended = asked.of(&book, &ask.line)?;
    let limit = past_limit(&extended.same_flow.notices) || !extended.adapters.is_empty();
    Ok(answer(
        &ask.reader,
        limit,
        || extended.json(system),
        || show::extended(&extended, system),
    ))
}

fn sized(ask: &Extend, book: &Book, conditions: &Conditions, system: System) -> Answered {
    let line = ask.line.as_str();
    let ceiling = question::ceiling("--ceiling", book, ask.ceiling.as_deref())?;
    let longest = ask
        .longest
        .then(|| study::longest(book, line, conditions, ceiling));
    let smallest = ask
        .smallest
        .then(|| study::smallest(book, line, conditions, ceiling));
    let (longest, smallest) = (longest.transpose()?, smallest.transpose()?);
    Ok(answer(
        &ask.reader,
        matches!(smallest, Some(None)),
        || show::sized_json(line, ceiling, longest.as_ref(), smallest.as_ref(), system),
        || show::sized(line, ceiling, longest.as_ref(), smallest.as_ref(), system),
    ))
}
