//! What every question gives back.

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
    /// What it shows, in plain words.
    pub caption: String,
    /// Its points, for those who read and do not look.
    pub table: Table,
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
