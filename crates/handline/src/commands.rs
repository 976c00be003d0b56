//! Each command: read the book, ask one question, render the answer.

use crate::args::{Args, Command, Extend, Reader, Solve};
use crate::ask::{self, Misread};
use crate::show;
use book::{Book, Conditions, Path, SceneConditions};
use hydraulics::units::{Kind, Length, Measure, Pressure, System};
use serde_json::{Value, json};
use std::path::Path as File;
use study::StudyError;
use study::answer::LineAnswer;
use study::notice::Weight;

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
enum Failure {
    /// The book has errors or cannot be read.
    Book(String),
    /// The command is not written right.
    Misread(Misread),
    /// The question has no answer.
    NoAnswer(StudyError),
}

impl From<Misread> for Failure {
    fn from(misread: Misread) -> Self {
        Failure::Misread(misread)
    }
}

impl From<StudyError> for Failure {
    fn from(error: StudyError) -> Self {
        Failure::NoAnswer(error)
    }
}

type Answered = Result<Outcome, Failure>;

/// Runs a command.
pub fn run(args: &Args) -> Outcome {
    let answered = match &args.command {
        Command::Check { book, json } => return check(book, *json),
        Command::Schema => Ok(printed(show::json(&book::schema()))),
        Command::Solve(ask) => solve(ask),
        Command::Chart {
            book,
            line,
            lengths,
            rises,
            reader,
        } => chart(book, line, lengths.as_deref(), rises.as_deref(), reader),
        Command::Extend(ask) => extend(ask),
    };
    answered.unwrap_or_else(|failure| {
        let (err, code) = match failure {
            Failure::Book(text) => (text, 1),
            Failure::Misread(text) => (format!("handline: {text}\n"), 2),
            Failure::NoAnswer(error) => (format!("handline: {error}\n"), 3),
        };
        Outcome {
            err,
            code,
            ..Default::default()
        }
    })
}

fn printed(out: String) -> Outcome {
    Outcome {
        out,
        ..Default::default()
    }
}

fn bytes(file: &File) -> Result<Vec<u8>, String> {
    // The reader refuses a book by its size; this only keeps an endless file
    // from filling the memory.
    use std::io::Read;
    let refuse = |error: std::io::Error| {
        let name = file.display();
        format!("handline: {name} cannot be read: {error}; give the path of a book file\n")
    };
    let opened = std::fs::File::open(file).map_err(refuse)?;
    let limit = u64::try_from(100 * book::SIZE_LIMIT).unwrap_or(u64::MAX);
    let mut bytes = Vec::new();
    opened.take(limit).read_to_end(&mut bytes).map_err(refuse)?;
    Ok(bytes)
}

fn load(file: &File) -> Result<Book, Failure> {
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
        let out = show::json(&show::problems_json(&reading.problems));
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

fn passes_limit(answer: &LineAnswer) -> bool {
    answer.notices.iter().any(|n| n.weight == Weight::Limit)
}

fn solve(ask: &Solve) -> Answered {
    let book = load(&ask.book)?;
    let system = ask::system(&ask.reader, &book);
    if let Some(line) = &ask.line {
        if book.scene.contains_key(line) {
            return scene(ask, &book, line, system);
        }
        known(&book, line)?;
        let conditions = ask::conditions(&ask.reader, one_pump(ask)?)?;
        let changes = ask::changes(ask, &book, line)?;
        if !changes.is_empty() {
            let compared = study::what_if(&book, line, &conditions, &changes)?;
            return Ok(answer(
                &ask.reader,
                passes_limit(&compared.after),
                || json!({ "before": compared.before.json(system), "after": compared.after.json(system) }),
                || show::compared(&compared, system),
            ));
        }
        let solved = study::solve(&book, line, &conditions)?;
        return Ok(answer(
            &ask.reader,
            passes_limit(&solved),
            || solved.json(system),
            || show::line(&solved, system),
        ));
    }
    if wants_line(ask) {
        return Err("a what-if needs a line: handline solve BOOK LINE ..."
            .to_string()
            .into());
    }
    let conditions = ask::conditions(&ask.reader, one_pump(ask)?)?;
    let lines: Vec<LineAnswer> = book
        .line
        .keys()
        .map(|line| study::solve(&book, line, &conditions))
        .collect::<Result<_, _>>()?;
    Ok(answer(
        &ask.reader,
        lines.iter().any(passes_limit),
        || json!({ "book": book.name, "lines": lines.iter().map(|l| l.json(system)).collect::<Vec<_>>() }),
        || show::book(&book, &lines, system),
    ))
}

/// The pump pressure asked for a line.
fn one_pump(ask: &Solve) -> Result<Option<&str>, Failure> {
    if ask.weaker.is_some() {
        let text =
            "--weaker is a question about a scene: handline solve BOOK SCENE --weaker \"70 %\"";
        return Err(text.to_string().into());
    }
    match ask.pump.as_slice() {
        [] => Ok(None),
        [one] => Ok(Some(one)),
        _ => Err("--pump: a line has one pump; give one pressure"
            .to_string()
            .into()),
    }
}

fn scene(ask: &Solve, book: &Book, name: &str, system: System) -> Answered {
    let plain = ask::plain_scene(&ask.reader);
    let changes = ask::scene_changes(ask, book, name)?;
    if changes != SceneConditions::default() {
        let compared = study::what_if_scene(book, name, &plain, &changes)?;
        return Ok(answer(
            &ask.reader,
            compared
                .after
                .notices
                .iter()
                .any(|n| n.weight == Weight::Limit),
            || json!({ "before": compared.before.json(system), "after": compared.after.json(system) }),
            || show::scene_compared(&compared, system),
        ));
    }
    let solved = study::solve_scene(book, name, &plain)?;
    Ok(answer(
        &ask.reader,
        solved.notices.iter().any(|n| n.weight == Weight::Limit),
        || solved.json(system),
        || show::scene(&solved, system),
    ))
}

fn wants_line(ask: &Solve) -> bool {
    let lists = [
        &ask.gate,
        &ask.setting,
        &ask.kink,
        &ask.screen,
        &ask.regulator,
        &ask.rise,
        &ask.hose,
        &ask.nozzle,
        &ask.second,
    ];
    ask.off.is_some() || lists.iter().any(|list| !list.is_empty())
}

/// Refuses a line that the book does not have, with the nearest.
fn known(book: &Book, line: &str) -> Result<(), Failure> {
    if book.scene.contains_key(line) {
        return Err(format!("\"{line}\" is a scene; this question is asked of a line").into());
    }
    // A name that is near to a scene's, and to no line's, was meant for a scene.
    if !book.line.contains_key(line)
        && let Err(book::LayoutError::NoLine { near: None, .. }) =
            book::layout(book, line, &Conditions::default())
        && let Err(error @ book::LayoutError::NoScene { near: Some(_), .. }) =
            book::scene(book, line, &SceneConditions::default())
    {
        return Err(StudyError::from(error).into());
    }
    book::layout(book, line, &Conditions::default())
        .map(|_| ())
        .map_err(|error| StudyError::from(error).into())
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
    let conditions = ask::conditions(reader, None)?;
    known(&book, line)?;
    let lengths = match lengths {
        Some(text) => ask::lengths("--lengths", text)?,
        None => usual_lengths(&book, line, system)?,
    };
    if let Some(wrong) = lengths.iter().find(|l| l.value <= 0.0) {
        let text = hydraulics::units::show(Kind::Length, *wrong, system);
        return Err(format!("--lengths: a hose of {text} is no hose").into());
    }
    let rises = match rises {
        Some(text) => ask::lengths("--rises", text)?,
        None => steps(
            system,
            [0.0, 10.0, 20.0, 30.0, 40.0],
            [0.0, 3.0, 6.0, 9.0, 12.0],
        ),
    };
    let chart = study::chart(&book, line, &conditions, &lengths, &rises)?;
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

fn steps<const N: usize>(system: System, feet: [f64; N], metres: [f64; N]) -> Vec<Length> {
    let unit = Kind::Length.unit(system);
    let values = match system {
        System::Us => feet,
        System::Si => metres,
    };
    values
        .iter()
        .map(|&v| Length::of_si(unit.to_si(v)))
        .collect()
}

/// The book's length and three more, 50 ft or 15 m apart.
fn usual_lengths(book: &Book, line: &str, system: System) -> Result<Vec<Length>, Failure> {
    let now = study::varied_length(book, line)?;
    let step = steps(system, [50.0], [15.0]);
    let step = step.first().copied().unwrap_or_default();
    let all = (-1..=3).map(|n| now + step * f64::from(n));
    Ok(all.filter(|l| l.value > 0.0).collect())
}

fn extend(ask: &Extend) -> Answered {
    let (line, reader) = (ask.line.as_str(), &ask.reader);
    let book = load(&ask.book)?;
    let system = ask::system(reader, &book);
    let conditions = ask::conditions(reader, None)?;
    known(&book, line)?;
    if ask.longest || ask.smallest {
        return sized(ask, &book, &conditions, system);
    }
    let length = added_length(ask.by.as_deref().unwrap_or(""))?;
    let place: Option<Path> = ask
        .at
        .as_deref()
        .map(|text| {
            text.parse()
                .map_err(|e: book::PathError| format!("--at: {e}"))
        })
        .transpose()?;
    let hose = match &ask.hose {
        Some(name) => name.clone(),
        None => last_hose(&book, line)?,
    };
    let extended = study::extend(&book, line, place.as_ref(), (&hose, length), &conditions)?;
    let limit = passes_limit(&extended.same_flow) || !extended.adapters.is_empty();
    Ok(answer(
        reader,
        limit,
        || extended.json(system),
        || show::extended(&extended, system),
    ))
}

fn added_length(text: &str) -> Result<Length, Misread> {
    let length: Length = ask::quantity("--by", Kind::Length, text)?;
    if length.value > 0.0 && length.value <= 5000.0 {
        return Ok(length);
    }
    Err(format!(
        "--by: {text} of hose cannot be added; give more than none and at most 5000 m"
    ))
}

fn last_hose(book: &Book, line: &str) -> Result<String, Failure> {
    let layout = book::layout(book, line, &Conditions::default()).map_err(StudyError::from)?;
    let last = layout
        .parts
        .iter()
        .rev()
        .find(|p| p.kind == book::PartKind::Hose);
    last.map(|p| p.name.clone()).ok_or_else(|| {
        "the line has no hose; say which with --hose"
            .to_string()
            .into()
    })
}

fn under(book: &Book, asked: Option<&str>) -> Result<Pressure, Failure> {
    match asked {
        Some(text) => Ok(ask::pressure("--ceiling", text)?),
        None => book
            .pump_ceiling
            .as_ref()
            .map(book::Stated::get)
            .ok_or_else(|| {
                "the book has no pump_ceiling; give one with --ceiling"
                    .to_string()
                    .into()
            }),
    }
}

fn sized(ask: &Extend, book: &Book, conditions: &Conditions, system: System) -> Answered {
    let line = ask.line.as_str();
    let ceiling = under(book, ask.ceiling.as_deref())?;
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
