//! From what a reader wrote to a question. The command line and the addresses of
//! the workbench ask in the same words, so that they are read in one place.

mod line;
mod scene;
mod sizes;

pub use line::OfLine;
pub use scene::OfScene;
pub use sizes::{ChartAsked, ExtendAsked, ceiling};

use crate::operating::StudyError;
use book::{Book, Conditions, SceneConditions, Which};
use hydraulics::units::{Kind, Measure, Pressure, Ratio, System, parse};

/// Why a question gets no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AskError {
    /// It is not written right: names the option, what was written, and a mend.
    #[error("{0}")]
    Misread(String),
    /// It is understood and has no answer.
    #[error(transparent)]
    NoAnswer(#[from] StudyError),
}

impl From<book::LayoutError> for AskError {
    fn from(error: book::LayoutError) -> Self {
        AskError::NoAnswer(error.into())
    }
}

pub(super) fn misread<T>(text: impl Into<String>) -> Result<T, AskError> {
    Err(AskError::Misread(text.into()))
}

/// A question about a line or a scene, as it was written. A change may name its
/// place: "part 3, branch 1, part 2 = 50 %"; without one it is the line's only
/// tip, or for a kink and hose its first hose.
///
/// ```
/// use study::ask::{Asked, OfLine};
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "2.5 in", length = "200 ft" }, { nozzle = "1-1/8 in smooth bore" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let asked = Asked { gate: vec!["50 %".into()], ..Default::default() };
/// let OfLine::Changed(compared) = asked.line(&book, "left")? else { unreachable!() };
/// assert!(compared.after.flow < compared.before.flow);
///
/// let vague = Asked { gate: vec!["half".into()], ..Default::default() };
/// let told = vague.line(&book, "left").unwrap_err().to_string();
/// assert!(told.starts_with("gate: "), "{told}");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Asked {
    /// What stands before the name of an option in messages: "--" on the command
    /// line, nothing in an address.
    pub mark: &'static str,
    /// Which hose coefficients to use.
    pub which: Which,
    /// Pump pressure; in a scene "RIG = PRESSURE".
    pub pump: Vec<String>,
    /// In a scene: the share of their test's flow that the mains give.
    pub weaker: Option<String>,
    /// The pump is off by this much.
    pub off: Option<String>,
    /// A gate is this far open; in a scene "LINE = SHARE" or "LINE: PLACE = SHARE".
    pub gate: Vec<String>,
    /// A nozzle is on another setting.
    pub setting: Vec<String>,
    /// A kink closes this share of a hose.
    pub kink: Vec<String>,
    /// This share of a nozzle's screen is blocked.
    pub screen: Vec<String>,
    /// The regulator is flush, opening, closing, or "jammed 40 %".
    pub regulator: Vec<String>,
    /// A tip is this much higher.
    pub rise: Vec<String>,
    /// A hose is this long.
    pub length: Vec<String>,
    /// Another hose lies in a place.
    pub hose: Vec<String>,
    /// Another nozzle is on.
    pub nozzle: Vec<String>,
    /// A second line is opened on the same pump.
    pub second: Vec<String>,
}

impl Asked {
    /// The name of an option, as the reader writes it.
    fn named(&self, option: &str) -> String {
        format!("{}{option}", self.mark)
    }

    /// The changes that are asked of one line only, each with its option.
    fn of_lines(&self) -> [(&'static str, &Vec<String>); 9] {
        [
            ("setting", &self.setting),
            ("kink", &self.kink),
            ("screen", &self.screen),
            ("regulator", &self.regulator),
            ("rise", &self.rise),
            ("length", &self.length),
            ("hose", &self.hose),
            ("nozzle", &self.nozzle),
            ("second", &self.second),
        ]
    }

    /// Is any change asked that needs a line to be named?
    pub fn wants_line(&self) -> bool {
        let listed = self.of_lines().iter().any(|(_, list)| !list.is_empty());
        listed || self.off.is_some() || !self.gate.is_empty()
    }
}

/// A quantity from an option, which the message names when it cannot be read.
///
/// # Errors
/// [`AskError::Misread`].
pub fn quantity<Q: Measure>(option: &str, kind: Kind, text: &str) -> Result<Q, AskError> {
    parse(kind, text).map_err(|error| {
        let example = kind.example(System::Us);
        let metric = kind.example(System::Si);
        AskError::Misread(format!(
            "{option}: {error}; write it like \"{example}\" or \"{metric}\""
        ))
    })
}

/// A pressure that may not be below zero.
///
/// # Errors
/// [`AskError::Misread`].
pub fn pressure(option: &str, text: &str) -> Result<Pressure, AskError> {
    let pressure: Pressure = quantity(option, Kind::Pressure, text)?;
    if pressure.value < 0.0 {
        return misread(format!("{option}: a pressure of {text} is below zero"));
    }
    Ok(pressure)
}

/// A share between 0 and 1.
fn share(option: &str, text: &str) -> Result<Ratio, AskError> {
    let share: Ratio = quantity(option, Kind::Share, text)?;
    if (0.0..=1.0).contains(&share.value) {
        return Ok(share);
    }
    misread(format!(
        "{option}: {text} is not a share between 0 % and 100 %"
    ))
}

/// A place, or why it is none.
fn place(option: &str, text: &str) -> Result<book::Path, AskError> {
    let read = text.trim().parse();
    read.map_err(|error: book::PathError| AskError::Misread(format!("{option}: {error}")))
}

/// Refuses a line that the book does not have, with the nearest.
///
/// # Errors
/// [`AskError`] when there is no such line; says so when it is a scene's name.
pub fn known(book: &Book, line: &str) -> Result<(), AskError> {
    if book.scene.contains_key(line) {
        return misread(format!(
            "\"{line}\" is a scene; this question is asked of a line"
        ));
    }
    // A name that is near to a scene's, and to no line's, was meant for a scene.
    if !book.line.contains_key(line)
        && let Err(book::LayoutError::NoLine { near: None, .. }) =
            book::layout(book, line, &Conditions::default())
        && let Err(error @ book::LayoutError::NoScene { near: Some(_), .. }) =
            book::scene(book, line, &SceneConditions::default())
    {
        return Err(error.into());
    }
    book::layout(book, line, &Conditions::default())?;
    Ok(())
}
