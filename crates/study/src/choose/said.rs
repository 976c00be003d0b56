//! A sentence with quantities in it.

use crate::figure::Figure;
use hydraulics::units::System;

/// A sentence whose quantities are written in the reader's units.
///
/// ```
/// use hydraulics::units::{System, psi};
/// use study::choose::Said;
/// use study::figure;
/// let said = Said::new("pump ").figure(figure::pressure(psi(100.0))).words(" at most");
/// assert_eq!(said.text(System::Us), "pump 100 psi at most");
/// assert_eq!(said.text(System::Si), "pump 6.9 bar at most");
/// ```
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Said(Vec<Piece>);

#[derive(Debug, Clone, PartialEq)]
enum Piece {
    Words(String),
    Figure(Figure),
}

impl Said {
    /// A sentence that begins with `words`.
    pub fn new(words: impl Into<String>) -> Self {
        Said::default().words(words)
    }

    /// The same, with `words` after it.
    pub fn words(mut self, words: impl Into<String>) -> Self {
        self.0.push(Piece::Words(words.into()));
        self
    }

    /// The same, with a quantity after it.
    pub fn figure(mut self, figure: Figure) -> Self {
        self.0.push(Piece::Figure(figure));
        self
    }

    /// The same, with another after it.
    pub fn said(mut self, other: Said) -> Self {
        self.0.extend(other.0);
        self
    }

    /// As a person reads it in `system`.
    pub fn text(&self, system: System) -> String {
        self.text_with(|figure| figure.show(system))
    }

    /// As a person reads it, each quantity as `show` writes it.
    pub fn text_with(&self, show: impl Fn(Figure) -> String) -> String {
        let piece = |piece: &Piece| match piece {
            Piece::Words(words) => words.clone(),
            Piece::Figure(figure) => show(*figure),
        };
        self.0.iter().map(piece).collect()
    }
}

impl From<&str> for Said {
    fn from(words: &str) -> Self {
        Said::new(words)
    }
}

impl From<String> for Said {
    fn from(words: String) -> Self {
        Said::new(words)
    }
}
