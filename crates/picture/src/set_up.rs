//! Where the gauges of a test stand, from the side.

mod pieces;
mod scenes;

use crate::canvas::{Anchor, Canvas, NAME};
use crate::drawing::{Drawing, Table};
use crate::text::shorten;
use pieces::Pieces;
use study::proof::{Place, Subject};

const WIDTH: f64 = 760.0;
const HEIGHT: f64 = 292.0;

/// The set-up of a test from the side, not to scale: pump, hose, tip and the gauges,
/// each with what is read on it and its name. Places that `gauges` does not name have
/// an empty name to be written in; of flow meter and pitot only what `gauges` names is
/// drawn, the pitot where it names neither.
///
/// ```
/// use study::proof::{Find, Place, Subject};
/// let subject = Subject::Hose { hose: "attack".into(), find: Find::C };
/// let gauges = [(Place::Inlet, "G-1".to_string()), (Place::Outlet, "G-2".to_string())];
/// let drawing = picture::set_up(&subject, &gauges);
/// assert!(drawing.caption.contains("inlet pressure, gauge G-1"));
/// assert_eq!(drawing.table.rows[1][1], "outlet pressure");
/// ```
pub fn set_up(subject: &Subject, gauges: &[(Place, String)]) -> Drawing {
    let mut canvas = Canvas::new(WIDTH, HEIGHT);
    let heading = format!("Set-up, not to scale: {subject}");
    canvas.text(
        (16.0, 24.0),
        Anchor::Start,
        NAME,
        &shorten(&heading, NAME, WIDTH - 32.0),
    );
    let mut pieces = Pieces::new(canvas, gauges);
    match subject {
        Subject::Hose { .. } => scenes::hose(&mut pieces),
        Subject::Nozzle { .. } => scenes::nozzle(&mut pieces),
        Subject::Pump { .. } => scenes::pump(&mut pieces),
        Subject::Hydrant { .. } => scenes::hydrant(&mut pieces),
        Subject::Service { .. } => scenes::service(&mut pieces),
    }
    finish(pieces, subject)
}

fn finish(pieces: Pieces<'_>, subject: &Subject) -> Drawing {
    let Pieces { canvas, stands, .. } = pieces;
    let said = stands.iter().map(|stand| stand.said());
    let said: Vec<String> = said.collect();
    let caption = format!(
        "Set-up of the test of {subject}, from the side, not to scale. From left to right: {}.",
        said.join("; ")
    );
    let mut table = Table::new(&["Where", "What is read", "Gauge"]);
    table.rows = stands.iter().map(|stand| stand.row()).collect();
    canvas.finish(&format!("Set-up of the test of {subject}"), caption, table)
}
