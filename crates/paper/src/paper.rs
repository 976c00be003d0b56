//! What a sheet is printed on, in which units, and why there may be none.

use hydraulics::units::System;
use study::figure::Figure;

use crate::words::Shown;

/// How large the paper is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Size {
    /// 210 by 297 mm.
    A4,
    /// 8.5 by 11 in.
    #[default]
    Letter,
    /// 105 by 139 mm: a quarter of a Letter or A4 page.
    Pocket,
}

impl Size {
    /// Every size there is.
    pub const ALL: [Size; 3] = [Size::A4, Size::Letter, Size::Pocket];

    /// The word for it, in addresses and on the command line.
    pub fn word(self) -> &'static str {
        match self {
            Size::A4 => "a4",
            Size::Letter => "letter",
            Size::Pocket => "pocket",
        }
    }

    /// The size whose [`Size::word`] is `word`.
    pub fn called(word: &str) -> Option<Size> {
        Size::ALL.into_iter().find(|size| size.word() == word)
    }

    /// Width and height, in mm.
    pub fn mm(self) -> (f64, f64) {
        match self {
            Size::A4 => (210.0, 297.0),
            Size::Letter => (215.9, 279.4),
            Size::Pocket => (105.0, 139.0),
        }
    }
}

/// Which units a sheet shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Units {
    /// psi, gpm, ft.
    #[default]
    Us,
    /// bar, L/min, m.
    Si,
    /// US first, metric beside it.
    Both,
}

impl From<System> for Units {
    /// That system alone.
    fn from(system: System) -> Self {
        match system {
            System::Us => Units::Us,
            System::Si => Units::Si,
        }
    }
}

impl Units {
    /// Every choice there is.
    pub const ALL: [Units; 3] = [Units::Us, Units::Si, Units::Both];

    /// The word for it, in addresses and on the command line.
    pub fn word(self) -> &'static str {
        match self {
            Units::Us => "us",
            Units::Si => "si",
            Units::Both => "both",
        }
    }

    /// The choice whose [`Units::word`] is `word`.
    pub fn called(word: &str) -> Option<Units> {
        Units::ALL.into_iter().find(|units| units.word() == word)
    }

    /// The system that comes first, whose steps tables go by.
    pub fn first(self) -> System {
        match self {
            Units::Us | Units::Both => System::Us,
            Units::Si => System::Si,
        }
    }

    /// The system that stands beside it.
    pub fn second(self) -> Option<System> {
        (self == Units::Both).then_some(System::Si)
    }

    /// `figure` in these units.
    ///
    /// ```
    /// use hydraulics::units::psi;
    /// let shown = paper::Units::Both.show(study::figure::pressure(psi(150.0)));
    /// assert_eq!(shown.text(), "150 psi (10.3 bar)");
    /// ```
    pub fn show(self, figure: Figure) -> Shown {
        Shown::new(&figure, self)
    }
}

/// What a sheet is printed on, and what stands on every sheet of a printing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Paper {
    /// How large it is.
    pub size: Size,
    /// The day it is printed, as "2026-05-11".
    pub date: String,
    /// Where the workbench is found, as `https://handline.example`; goes into the QR
    /// code.
    pub address: Option<String>,
    /// The book's revision; `None` for a book that is in no records. From 1 on.
    pub revision: Option<u32>,
}

/// Why there is no sheet.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PaperError {
    /// The book has no such line, rig or nozzle.
    #[error("the book has no {kind} \"{name}\"; it has {there}")]
    Unknown {
        /// Line, rig or nozzle.
        kind: &'static str,
        /// The name asked for.
        name: String,
        /// What there is.
        there: String,
    },
    /// The sheet is one of a test day.
    #[error(
        "\"{0}\" comes from a test day, not from a book alone; open the test and print it there"
    )]
    OfATest(&'static str),
    /// The sheet is one of a comparison.
    #[error(
        "\"{0}\" comes from a comparison, not from a book alone; open the comparison and print it there"
    )]
    OfAComparison(&'static str),
    /// The date is none.
    #[error("the date \"{0}\" is none; write year-month-day, as 2026-05-11")]
    Date(String),
    /// The address cannot go into a QR code.
    #[error(
        "the address of the workbench has {letters} letters; give one of at most {most}, without spaces, as https://handline.example"
    )]
    Address {
        /// How long it is.
        letters: usize,
        /// The longest that goes.
        most: usize,
    },
    /// The page could not be typeset.
    #[error("the sheet could not be typeset: {0}; report the book that led here")]
    Typesetting(String),
    /// The files could not be put into one ZIP file.
    #[error("the files do not go into one ZIP file: {0}; ask for fewer at a time")]
    Packing(String),
    /// The tables do not make a file.
    #[error("the tables could not be written: {0}; ask for fewer of them")]
    Workbook(String),
}
