//! The short code on a sheet: which sheet, of which revision, with which numbers.

use std::fmt;
use std::str::FromStr;

use crate::sheet::{Kind, Sheet};

/// The letters of a code. None is easily taken for another: no 0 O Q, 1 I L, 2 Z, 5 S,
/// 8 B, 6 G, U. There are 23, a prime, so that one check letter finds every wrong
/// letter and every two that changed places.
const LETTERS: &[u8; 23] = b"346789ACDEFHJKMNPRTVWXY";

/// Letters that stand for the digest: 23^6 digests, 148 million.
const DIGEST: usize = 6;

/// One more than the largest digest.
pub(crate) const DIGESTS: u64 = 23_u64.pow(DIGEST as u32);

/// Sheet, one letter of revision, digest, check.
const SHORTEST: usize = 1 + 1 + DIGEST + 1;

/// With the eight letters of the largest revision.
const LONGEST: usize = SHORTEST + 7;

/// The short code of a sheet. It is printed beside the QR code, which holds it too, and
/// can be typed by hand.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n[line.left]\n\
///     parts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n\
///     aim = { tip_pressure = '50 psi' }\n";
/// let book = book::read(text, "example.toml")?;
/// let sheet = paper::line_card(&book, "left", paper::Units::Us)?;
/// let code = paper::Code::of(&sheet, Some(12));
/// let typed: paper::Code = code.to_string().to_lowercase().parse()?;
/// assert_eq!(typed, code);
/// assert!(typed.fits(&sheet));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Code {
    /// Which kind of sheet.
    pub kind: Kind,
    /// Which revision of the book; `None` for a book that is in no records.
    pub revision: Option<u32>,
    digest: u32,
}

/// Why a text is no code.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CodeError {
    /// It has a letter that no code has.
    #[error(
        "\"{0}\" is in no code: letters that look like others are left out; compare with the sheet"
    )]
    Letter(char),
    /// It is too short or too long.
    #[error("a code has {SHORTEST} to {LONGEST} letters, this has {0}; type all of it")]
    Length(usize),
    /// The check letter does not fit.
    #[error(
        "the code is mistyped: its last letter does not fit the others; compare with the sheet"
    )]
    Check,
}

impl Code {
    /// The code of `sheet` printed from `revision`.
    pub fn of(sheet: &Sheet, revision: Option<u32>) -> Self {
        Code {
            kind: sheet.kind,
            revision: revision.filter(|&number| number > 0),
            digest: sheet.short_digest(),
        }
    }

    /// Does `sheet`, made anew, still say what the sheet with this code says? The
    /// revision may be another.
    pub fn fits(&self, sheet: &Sheet) -> bool {
        self.kind == sheet.kind && self.digest == sheet.short_digest()
    }

    fn letters(&self) -> Vec<u8> {
        let mut places = vec![place(self.kind.letter()).unwrap_or_default()];
        places.extend(in_letters(self.revision.unwrap_or_default(), 1));
        places.extend(in_letters(self.digest, DIGEST));
        places.push(check(&places));
        places
    }
}

/// `number` in base 23, the largest place first, with at least `least` places.
fn in_letters(mut number: u32, least: usize) -> Vec<u8> {
    let mut places = Vec::new();
    while number > 0 || places.len() < least {
        places.push((number % 23) as u8);
        number /= 23;
    }
    places.reverse();
    places
}

fn number(places: &[u8]) -> Option<u32> {
    let step = |sum: u32, &place: &u8| sum.checked_mul(23)?.checked_add(u32::from(place));
    places.iter().try_fold(0, step)
}

/// The sum of all letters, each times its place from the right, divides by 23: the last
/// letter sees to it.
fn check(places: &[u8]) -> u8 {
    let weighed = places.iter().rev().zip(2_u32..);
    let sum: u32 = weighed.map(|(&p, weight)| u32::from(p) * weight).sum();
    ((23 - sum % 23) % 23) as u8
}

fn place(letter: char) -> Option<u8> {
    let found = LETTERS.iter().position(|&l| char::from(l) == letter)?;
    u8::try_from(found).ok()
}

impl fmt::Display for Code {
    /// In groups of three: "C3D-9KT-M4X".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, place) in self.letters().into_iter().enumerate() {
            if index > 0 && index % 3 == 0 {
                f.write_str("-")?;
            }
            write!(f, "{}", char::from(LETTERS[usize::from(place)]))?;
        }
        Ok(())
    }
}

impl FromStr for Code {
    type Err = CodeError;

    /// Reads a code as it is typed: capitals or not, hyphens and spaces or none.
    fn from_str(text: &str) -> Result<Self, CodeError> {
        let typed = text.chars().filter(|c| !c.is_whitespace() && *c != '-');
        let read = |c: char| place(c.to_ascii_uppercase()).ok_or(CodeError::Letter(c));
        let places = typed.map(read).collect::<Result<Vec<u8>, _>>()?;
        if !(SHORTEST..=LONGEST).contains(&places.len()) {
            return Err(CodeError::Length(places.len()));
        }
        parsed(&places).ok_or(CodeError::Check)
    }
}

/// The code whose letters these are; `None` when it would be written otherwise.
fn parsed(places: &[u8]) -> Option<Code> {
    let (kind, rest) = places.split_first()?;
    let (_, rest) = rest.split_last()?;
    let (revision, digest) = rest.split_at_checked(rest.len().checked_sub(DIGEST)?)?;
    let letter = char::from(*LETTERS.get(usize::from(*kind))?);
    let code = Code {
        kind: Kind::every().find(|k| k.letter() == letter)?,
        revision: Some(number(revision)?).filter(|&n| n > 0),
        digest: number(digest)?,
    };
    (code.letters() == places).then_some(code)
}
