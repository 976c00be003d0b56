//! What every question gives back.

use crate::canvas::{LEGIBLE, SMALL};

/// A drawing, what it says in words, and its points as a table.
///
/// ```
/// use hydraulics::pump::Pump;
/// use hydraulics::units::{System, gpm};
/// let pump = Pump::rated(gpm(1250.0))?;
/// let drawing = picture::capability("pumper-1", &pump, None, System::Us);
/// assert!(drawing.svg.starts_with("<svg "));
/// assert_eq!(drawing.table.rows.len(), 3);
/// assert_eq!(drawing.table.rows[0][1], "625 gpm");
/// # Ok::<(), hydraulics::pump::PumpError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// The drawing as SVG, to be saved or set into a page as it is.
    pub svg: String,
    /// Its own width, in CSS pixels.
    pub width: f64,
    /// What it shows, in plain words.
    pub caption: String,
    /// Its points, for those who read and do not look.
    pub table: Table,
}

impl Drawing {
    /// The width in CSS pixels below which its smallest text cannot be read any
    /// more: let it scroll there instead of shrinking it further.
    pub fn least_width(&self) -> f64 {
        (self.width * LEGIBLE / SMALL).ceil()
    }
}

/// A table of texts, figures with their units.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// The heads of the columns.
    pub head: Vec<String>,
    /// The rows, each as long as the head.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// A table without rows.
    pub(crate) fn new(head: &[&str]) -> Self {
        Table {
            head: head.iter().map(|text| (*text).to_string()).collect(),
            rows: Vec::new(),
        }
    }
}
