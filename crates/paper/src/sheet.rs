//! A sheet: what it says, before it is typeset. One file for each kind.

pub(crate) mod common;
mod comparison_report;
mod gauges;
mod handout;
mod labels;
mod line_card;
mod measured;
mod nomogram;
mod nozzle_sheet;
mod nozzles;
mod of_line;
mod pump_chart;
mod purchase_statement;
mod slide_chart;
mod test_plan;
mod test_report;

use hydraulics::units::System;
use serde_json::Value;
use sha2::{Digest, Sha256};
use study::answer::{CoefficientUsed, ItemUsed, Spread};
use study::fact::Said;
use study::figure;

use book::Book;

use crate::code::DIGESTS;
use crate::paper::{PaperError, Size, Units};

pub use comparison_report::comparison_report;
pub(crate) use comparison_report::{asked, makes_foam, sources};
pub use handout::handout;
pub use labels::labels;
pub use line_card::line_card;
pub use nomogram::nomogram;
pub use nozzle_sheet::nozzle_sheet;
pub use pump_chart::pump_chart;
pub use purchase_statement::purchase_statement;
pub use slide_chart::slide_chart;
pub use test_plan::test_plan;
pub use test_report::{Tested, report_subject, test_report};

/// The kinds of sheets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// Pump pressures of every line of a rig.
    PumpChart,
    /// One line, for a pocket or the pump panel.
    LineCard,
    /// A paper slide rule for one line, to cut and fold.
    SlideChart,
    /// Friction loss of one hose by a straight edge, with its nozzles.
    Nomogram,
    /// Labels for a rig's outlets, nozzles and grips.
    Labels,
    /// All about one nozzle.
    NozzleSheet,
    /// What a nozzle must do, in neutral words, for bids.
    PurchaseStatement,
    /// One line, for a class.
    Handout,
    /// What to read on a test day, with room to write.
    TestPlan,
    /// What was read on a test day, and what it says.
    TestReport,
    /// What a comparison asked, and what it found.
    ComparisonReport,
}

impl Kind {
    /// Every kind that a book alone makes.
    pub const ALL: [Kind; 8] = [
        Kind::PumpChart,
        Kind::LineCard,
        Kind::SlideChart,
        Kind::Nomogram,
        Kind::Labels,
        Kind::NozzleSheet,
        Kind::PurchaseStatement,
        Kind::Handout,
    ];

    /// The kinds of one test day each: they say what was planned or found then, and do
    /// not get wrong when the book changes.
    pub const OF_A_TEST: [Kind; 2] = [Kind::TestPlan, Kind::TestReport];

    /// The kind of a comparison: it says what was asked and found, and gets wrong when
    /// what it rests on changes ([`crate::rests`]).
    pub const OF_A_COMPARISON: [Kind; 1] = [Kind::ComparisonReport];

    /// Every kind there is.
    pub(crate) fn every() -> impl Iterator<Item = Kind> {
        Kind::ALL
            .into_iter()
            .chain(Kind::OF_A_TEST)
            .chain(Kind::OF_A_COMPARISON)
    }

    /// Does a book alone make it?
    ///
    /// ```
    /// assert!(paper::Kind::LineCard.is_of_a_book());
    /// assert!(!paper::Kind::ComparisonReport.is_of_a_book());
    /// ```
    pub fn is_of_a_book(self) -> bool {
        Kind::ALL.contains(&self)
    }

    /// Is it of a comparison?
    pub fn is_of_a_comparison(self) -> bool {
        Kind::OF_A_COMPARISON.contains(&self)
    }

    /// Is it of one test day, and not of a book alone?
    ///
    /// ```
    /// assert!(paper::Kind::TestReport.is_of_a_test());
    /// assert!(!paper::Kind::LineCard.is_of_a_test());
    /// ```
    pub fn is_of_a_test(self) -> bool {
        Kind::OF_A_TEST.contains(&self)
    }

    /// Its name in addresses, on the command line and in records.
    pub fn word(self) -> &'static str {
        match self {
            Kind::PumpChart => "pump-chart",
            Kind::LineCard => "line-card",
            Kind::SlideChart => "slide-chart",
            Kind::Nomogram => "nomogram",
            Kind::Labels => "labels",
            Kind::NozzleSheet => "nozzle-sheet",
            Kind::PurchaseStatement => "purchase-statement",
            Kind::Handout => "handout",
            Kind::TestPlan => "test-plan",
            Kind::TestReport => "test-report",
            Kind::ComparisonReport => "comparison-report",
        }
    }

    /// What people call it.
    pub fn title(self) -> &'static str {
        match self {
            Kind::PumpChart => "Pump chart",
            Kind::LineCard => "Line card",
            Kind::SlideChart => "Slide chart",
            Kind::Nomogram => "Nomogram",
            Kind::Labels => "Labels",
            Kind::NozzleSheet => "Nozzle sheet",
            Kind::PurchaseStatement => "Purchase statement",
            Kind::Handout => "Training handout",
            Kind::TestPlan => "Plan of a test",
            Kind::TestReport => "Test report",
            Kind::ComparisonReport => "Comparison report",
        }
    }

    /// The first letter of its codes; one of those that codes are made of.
    pub fn letter(self) -> char {
        match self {
            Kind::PumpChart => 'P',
            Kind::LineCard => 'C',
            Kind::SlideChart => 'R',
            Kind::Nomogram => 'M',
            Kind::Labels => 'A',
            Kind::NozzleSheet => 'N',
            Kind::PurchaseStatement => 'W',
            Kind::Handout => 'T',
            Kind::TestPlan => 'D',
            Kind::TestReport => 'V',
            Kind::ComparisonReport => 'K',
        }
    }

    /// The kind whose [`Kind::word`] is `word`.
    pub fn called(word: &str) -> Option<Kind> {
        Kind::every().find(|kind| kind.word() == word)
    }

    /// Every rig, line, hose or nozzle of `book` that has a sheet of this kind, in the
    /// book's order; none for a sheet that [no book alone makes](Kind::is_of_a_book).
    pub fn subjects(self, book: &Book) -> Vec<&str> {
        match self {
            Kind::PumpChart | Kind::Labels => book.rig.keys().map(String::as_str).collect(),
            Kind::LineCard | Kind::SlideChart | Kind::Handout => {
                book.line.keys().map(String::as_str).collect()
            }
            Kind::Nomogram => study::hoses(book),
            Kind::NozzleSheet | Kind::PurchaseStatement => nozzles::of_book(book),
            Kind::TestPlan | Kind::TestReport | Kind::ComparisonReport => Vec::new(),
        }
    }

    /// The sheet of this kind about `subject`.
    ///
    /// # Errors
    /// [`PaperError::Unknown`] when the book has no such rig, line, hose or nozzle. A line
    /// without an answer has a sheet that says so. [`PaperError::OfATest`] and
    /// [`PaperError::OfAComparison`] for a sheet that [no book alone
    /// makes](Kind::is_of_a_book).
    pub fn sheet(self, book: &Book, subject: &str, units: Units) -> Result<Sheet, PaperError> {
        match self {
            Kind::PumpChart => pump_chart(book, subject, units),
            Kind::LineCard => line_card(book, subject, units),
            Kind::SlideChart => slide_chart(book, subject, units),
            Kind::Nomogram => nomogram(book, subject, units),
            Kind::Labels => labels(book, subject, units),
            Kind::NozzleSheet => nozzle_sheet(book, subject, units),
            Kind::PurchaseStatement => purchase_statement(book, subject, units),
            Kind::Handout => handout(book, subject, units),
            Kind::TestPlan | Kind::TestReport => Err(PaperError::OfATest(self.title())),
            Kind::ComparisonReport => Err(PaperError::OfAComparison(self.title())),
        }
    }

    /// The size of the pages when `asked` is asked for: a sheet that is drawn to scale is
    /// not made smaller, it needs a full page, and so does one of a test or a comparison.
    ///
    /// ```
    /// use paper::{Kind, Size, Units};
    /// assert_eq!(Kind::SlideChart.size(Size::Pocket, Units::Si), Size::A4);
    /// assert_eq!(Kind::LineCard.size(Size::Pocket, Units::Si), Size::Pocket);
    /// ```
    pub fn size(self, asked: Size, units: Units) -> Size {
        let large = matches!(self, Kind::SlideChart | Kind::Nomogram) || !self.is_of_a_book();
        match (asked, units.first()) {
            (Size::Pocket, System::Us) if large => Size::Letter,
            (Size::Pocket, System::Si) if large => Size::A4,
            _ => asked,
        }
    }

    pub(crate) fn template(self) -> &'static str {
        match self {
            Kind::PumpChart => include_str!("../templates/pump-chart.typ"),
            Kind::LineCard => include_str!("../templates/line-card.typ"),
            Kind::SlideChart => include_str!("../templates/slide-chart.typ"),
            Kind::Nomogram => include_str!("../templates/nomogram.typ"),
            Kind::Labels => include_str!("../templates/labels.typ"),
            Kind::NozzleSheet => include_str!("../templates/nozzle-sheet.typ"),
            Kind::PurchaseStatement => include_str!("../templates/purchase-statement.typ"),
            Kind::Handout => include_str!("../templates/handout.typ"),
            Kind::TestPlan => include_str!("../templates/test-plan.typ"),
            Kind::TestReport => include_str!("../templates/test-report.typ"),
            Kind::ComparisonReport => include_str!("../templates/comparison-report.typ"),
        }
    }
}

/// What a sheet says. Made from a book alone; where and when it is printed comes with
/// [`crate::Paper`].
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Its kind.
    pub kind: Kind,
    /// The rig, line, hose or nozzle that it is about, by its name in the book.
    pub subject: String,
    /// What people call that.
    pub title: String,
    /// The department.
    pub department: String,
    /// The book is made up, for a demonstration.
    pub invented: bool,
    /// The units it shows.
    pub units: Units,
    /// Lines of its head: "Rig" and "pumper-1".
    pub head: Vec<(&'static str, String)>,
    /// Every number and statement that would make the printed sheet wrong if it
    /// changed, each with a name that stays the same from revision to revision.
    pub told: Vec<(String, Said)>,
    /// Where its coefficients come from.
    pub sources: Vec<String>,
    /// What to mind.
    pub cautions: Vec<&'static str>,
    /// Its drawings, in the order in which the template takes them.
    pub drawings: Vec<Drawn>,
    /// What its template reads.
    pub body: Value,
}

/// A drawing on a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawn {
    /// As SVG.
    pub svg: String,
    /// What it shows, for those who do not see it.
    pub alt: String,
}

impl From<picture::Drawing> for Drawn {
    fn from(drawing: picture::Drawing) -> Self {
        Drawn {
            svg: drawing.svg,
            alt: drawing.caption,
        }
    }
}

impl Sheet {
    pub(crate) fn new(
        kind: Kind,
        book: &Book,
        (subject, title): (&str, &str),
        units: Units,
    ) -> Self {
        Sheet {
            kind,
            subject: subject.into(),
            title: title.into(),
            department: book.name.clone(),
            invented: book.about.invented,
            units,
            head: Vec::new(),
            told: Vec::new(),
            sources: Vec::new(),
            cautions: Vec::new(),
            drawings: Vec::new(),
            body: Value::Null,
        }
    }

    /// Notes that the sheet says so.
    pub(crate) fn tell(&mut self, name: impl Into<String>, said: impl Into<Said>) {
        self.told.push((name.into(), said.into()));
    }

    /// Adds the sources of the coefficients that an answer used, and how far their
    /// published spread moves the pump pressure.
    pub(crate) fn rests_on(&mut self, used: &[CoefficientUsed], spread: Option<&Spread>) {
        for coefficient in used {
            let line = source(coefficient, self.units);
            if !self.sources.contains(&line) {
                self.sources.push(line);
            }
        }
        if let (Some(spread), Kind::LineCard | Kind::Handout) = (spread, self.kind) {
            let (low, high) = spread.pump_pressure;
            let shown = |p| self.units.show(figure::pressure(p)).text();
            self.sources.push(format!(
                "Over the published spread the same flow takes {} to {}.",
                shown(low),
                shown(high)
            ));
        }
    }

    /// Adds which value of a nozzle or pump an answer used, where the book has two.
    pub(crate) fn rests_on_items(&mut self, used: &[ItemUsed]) {
        for item in used.iter().filter(|item| item.both()) {
            let line = item_source(item, self.units);
            if !self.sources.contains(&line) {
                self.sources.push(line);
            }
        }
    }

    /// SHA-256, in hexadecimal, of what the sheet says: kind, subject, every number as it
    /// reads in both systems of units, and the sources. Paper, date and revision do not
    /// count.
    pub fn digest(&self) -> String {
        let bytes = self.hash();
        bytes.iter().map(|byte| format!("{byte:02x}")).collect()
    }

    pub(crate) fn short_digest(&self) -> u32 {
        let bytes = self.hash();
        let number = bytes.iter().take(8);
        let number = number.fold(0_u64, |sum, &byte| (sum << 8) | u64::from(byte));
        (number % DIGESTS) as u32
    }

    fn hash(&self) -> Vec<u8> {
        let mut hasher = Sha256::new();
        let mut add = |text: &str| {
            hasher.update((text.len() as u64).to_be_bytes());
            hasher.update(text.as_bytes());
        };
        add(self.kind.word());
        add(&self.subject);
        add(&self.title);
        for (name, said) in &self.told {
            add(name);
            add(&said.show(System::Us).unwrap_or_default());
            add(&said.show(System::Si).unwrap_or_default());
        }
        self.sources.iter().for_each(|source| add(source));
        hasher.finalize().to_vec()
    }
}

/// Where the coefficient of a hose comes from, in words.
pub(crate) fn source(coefficient: &CoefficientUsed, units: Units) -> String {
    let used = &coefficient.used;
    let value = match units.second() {
        Some(second) => format!(
            "{} (metric {})",
            used.text(units.first()),
            used.text(second)
        ),
        None => used.text(units.first()),
    };
    let kind = if used.measured {
        "measured"
    } else {
        "book value"
    };
    format!(
        "Hose {}: {value}, {kind}: {}.",
        coefficient.hose,
        used.source.trim_end_matches('.')
    )
}

/// Which value of a nozzle or a pump was used, in words.
pub(crate) fn item_source(item: &ItemUsed, units: Units) -> String {
    let value = match units.second() {
        Some(second) => format!("{} ({})", item.text(units.first()), item.text(second)),
        None => item.text(units.first()),
    };
    let kind = if item.measured() { "measured" } else { "rated" };
    format!(
        "{} {}: {value}, {kind}: {}.",
        crate::words::capital(item.kind()),
        item.name,
        item.source().trim_end_matches('.')
    )
}

/// Why `name` is not found among `there`.
pub(crate) fn unknown<'a>(
    kind: &'static str,
    name: &str,
    there: impl Iterator<Item = &'a String>,
) -> PaperError {
    let names: Vec<String> = there.take(12).map(|n| format!("\"{n}\"")).collect();
    PaperError::Unknown {
        kind,
        name: name.into(),
        there: match names.is_empty() {
            true => "none".into(),
            false => names.join(", "),
        },
    }
}
