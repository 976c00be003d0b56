//! `solve --days`: how sure the flows of a scene are.

use crate::args::{Coefficient, Solve};
use crate::ask;
use crate::commands::{Failure, bytes_of};
use crate::show::{self, Days};
use crate::watch::Watcher;
use book::comparison::{self, Doubt};
use book::{Book, SceneConditions};
use std::io::Write;
use std::path::Path;
use std::time::{Duration, Instant};
use study::ask::Asked;
use study::choose::{ChooseError, Quiet};
use study::doubt::{self, SceneDoubted};
use study::figure::thousands;

/// The most days.
const MOST: u64 = 10_000_000;

/// So few are soon drawn.
const FEW: u64 = 20_000;

/// Days that tell how long all of them take.
const TRIAL: u64 = 500;

/// What takes longer says so before it starts.
const SHORT: Duration = Duration::from_secs(1);

/// Reads how many days are to be drawn.
pub fn number(text: &str) -> Result<u64, String> {
    let number: Option<u64> = text.trim().parse().ok();
    number
        .filter(|days| (1..=MOST).contains(days))
        .ok_or_else(|| {
            format!("write a whole number of days from 1 to {MOST}; 10000 do for most scenes")
        })
}

/// Refuses days of a line, or of all of them.
pub fn refuse_of_lines(ask: &Solve, book: &Book) -> Result<(), Failure> {
    let Some(days) = ask.days else { return Ok(()) };
    let scenes: Vec<&str> = book.scene.keys().map(String::as_str).collect();
    let scenes = match scenes.as_slice() {
        [] => "this book has none yet".to_string(),
        all => format!("this book has {}", all.join(", ")),
    };
    let of = match &ask.line {
        Some(line) if book.line.contains_key(line) => format!("\"{line}\" is a line"),
        // Another message says that there is no such thing.
        Some(_) => return Ok(()),
        None => "no scene is named".into(),
    };
    Err(Failure::Misread(format!(
        "--days: {of}; days are drawn of a scene ({scenes}), as handline solve BOOK SCENE --days \
         {days}. How sure a line is says handline compare BOOK COMPARISON"
    )))
}

/// The days drawn of the scene called `name`, where any are asked for.
pub fn drawn(ask: &Solve, asked: &Asked, book: &Book, name: &str) -> Result<Option<Days>, Failure> {
    let Some(days) = ask.days else {
        return Ok(None);
    };
    let mut doubt = doubt_of(ask, book)?;
    doubt.published |= is_published(ask)?;
    let changes = asked.scene_changes(book, name)?;
    let draw = |draws, watch: &dyn study::choose::Watch| {
        let doubt = Doubt {
            draws: Some(draws),
            ..doubt.clone()
        };
        let plain = SceneConditions::default();
        doubt::of_changed_scene(book, name, &plain, &changes, &doubt, watch)
    };
    told(name, days, |draws| draw(draws, &Quiet)).map_err(failed)?;
    let watch = Watcher::new();
    let doubted = draw(days, &watch);
    watch.done();
    Ok(Some(Days {
        doubted: doubted.map_err(failed)?,
        more: ask.doubt.is_some(),
        published: doubt.published,
        changed: changes != SceneConditions::default(),
    }))
}

/// Says how long it takes, when that is a while.
fn told(
    name: &str,
    days: u64,
    draw: impl Fn(u64) -> Result<SceneDoubted, ChooseError>,
) -> Result<(), ChooseError> {
    if days <= FEW {
        return Ok(());
    }
    let began = Instant::now();
    let things = draw(TRIAL)?.unsure.len();
    let took = began.elapsed().as_secs_f64();
    let [all, tried] = [days, TRIAL].map(|days| doubt::solutions(days, things) as f64);
    let time = Duration::from_secs_f64((took * all / tried).min(1e9));
    if time > SHORT {
        let (days, time) = (thousands(days), show::long(time));
        let text = format!("{days} days drawn of {name}: about {time}; Ctrl-C stops it");
        let _ = writeln!(std::io::stderr(), "handline: {text}");
    }
    Ok(())
}

/// What is doubtful beside the book's own.
fn doubt_of(ask: &Solve, book: &Book) -> Result<Doubt, Failure> {
    match &ask.doubt {
        Some(file) => read(file, book),
        None => Ok(Doubt::default()),
    }
}

fn read(file: &Path, book: &Book) -> Result<Doubt, Failure> {
    let bytes = bytes_of(file, "the file of a comparison").map_err(Failure::Book)?;
    let read = comparison::read(&bytes, &file.display().to_string(), book.units);
    match read {
        Ok(comparison) => Ok(comparison.doubt),
        Err(problems) => Err(Failure::Book(show::problems(&problems))),
    }
}

/// Is C of every hose as published? Its ends are no days.
fn is_published(ask: &Solve) -> Result<bool, Failure> {
    match ask.reader.coefficient {
        Coefficient::Best => Ok(false),
        Coefficient::Published => Ok(true),
        Coefficient::Low | Coefficient::High => Err(Failure::Misread(format!(
            "{}coefficient: days draw C from all of its published spread, not from one end; \
             leave it out, or give published",
            ask::MARK
        ))),
    }
}

/// Days that could not be drawn.
fn failed(error: ChooseError) -> Failure {
    Failure::NoAnswer(match error.mend() {
        "" => error.to_string(),
        mend => format!("{error}; {mend}"),
    })
}
