//! What an uncertainty is made of.

use crate::canvas::{Anchor, Canvas, NAME, SMALL};
use crate::drawing::{Drawing, Table};
use crate::text::shorten;
use hydraulics::units::System;
use study::proof::{Found, Measured};
use study::reduce::{Contribution, Kind as Known};

const WIDTH: f64 = 760.0;
const LEFT: f64 = 20.0;
/// Length of a bar that is all of it.
const WHOLE: f64 = 480.0;
/// From one source to the next.
const STEP: f64 = 44.0;
/// Sources that are drawn; what is left of more is one bar.
const MOST: usize = 8;

/// The sources of the uncertainty of a value, the largest first: each a bar as long as
/// its share in the square of the combined standard uncertainty. What comes from the
/// scatter of readings is an open bar, what comes from the gauges a full one.
///
/// ```
/// use hydraulics::units::System;
/// use study::proof::{Found, Measured};
/// use study::reduce::{Budget, Contribution, Kind};
/// let number = |c| Measured::Number { us: c, us_unit: "", si: c, si_unit: "", decimals: [1, 1] };
/// let source = |what: &str, kind, standard| Contribution {
///     what: what.into(), kind, standard, degrees: 9.0,
/// };
/// let budget = Budget { contributions: vec![
///     source("scatter of the readings", Kind::A, 3.0),
///     source("inlet gauge", Kind::B, 4.0),
/// ] };
/// let c = Found {
///     name: "friction coefficient C".into(), value: number(9.5), standard: number(0.2),
///     between: [number(9.1), number(9.9)], degrees: 14.0, budget,
///     book: None, book_is: String::new(), told_apart: false,
/// };
/// let drawing = picture::budget(&c, System::Us);
/// assert_eq!(drawing.table.rows[0], ["inlet gauge", "gauge", "64 %"]);
/// ```
pub fn budget(found: &Found, system: System) -> Drawing {
    let bars = bars(found);
    let height = 64.0 + STEP * bars.len() as f64 + 30.0;
    let mut canvas = Canvas::new(WIDTH, height);
    let heading = heading(found, system);
    let heading = shorten(&heading, NAME, WIDTH - 32.0);
    canvas.text((16.0, 24.0), Anchor::Start, NAME, &heading);
    if bars.is_empty() {
        canvas.text(
            (LEFT, 52.0),
            Anchor::Start,
            SMALL,
            "no source of uncertainty is known",
        );
    }
    for (row, bar) in (0_u32..).zip(&bars) {
        draw(&mut canvas, bar, 56.0 + STEP * f64::from(row));
    }
    let y = height - 14.0;
    canvas.rect("box", (LEFT, y - 11.0), 24.0, 12.0);
    canvas.text(
        (LEFT + 32.0, y),
        Anchor::Start,
        SMALL,
        "from the scatter of readings",
    );
    canvas.rect("full", (330.0, y - 11.0), 24.0, 12.0);
    canvas.text(
        (362.0, y),
        Anchor::Start,
        SMALL,
        "from what is known of a gauge",
    );
    let title = format!("What the uncertainty of {} is made of", found.name);
    canvas.finish(&title, caption(found, &bars, system), table(&bars))
}

struct Bar {
    what: String,
    /// `None` where several are put together.
    kind: Option<Known>,
    share: f64,
}

impl Bar {
    fn kind(&self) -> &'static str {
        match self.kind {
            Some(Known::A) => "scatter",
            Some(Known::B) => "gauge",
            None => "both",
        }
    }

    fn per_cent(&self) -> String {
        match self.share {
            share if share > 0.0 && share < 0.005 => "under 1 %".into(),
            share => format!("{:.0} %", 100.0 * share),
        }
    }
}

/// The sources, the largest first.
fn bars(found: &Found) -> Vec<Bar> {
    let shares = found.budget.shares();
    let all = found.budget.contributions.iter().zip(shares);
    let bar = |(source, share): (&Contribution, f64)| Bar {
        what: source.what.clone(),
        kind: Some(source.kind),
        share: if share.is_finite() { share } else { 0.0 },
    };
    let mut bars: Vec<Bar> = all.map(bar).collect();
    bars.sort_by(|a, b| b.share.total_cmp(&a.share));
    if bars.len() > MOST {
        let rest = bars.split_off(MOST - 1);
        bars.push(Bar {
            what: format!("{} more, each less", rest.len()),
            kind: None,
            share: rest.iter().map(|bar| bar.share).sum(),
        });
    }
    bars
}

fn draw(canvas: &mut Canvas, bar: &Bar, y: f64) {
    let said = format!("{}: {}, {}", bar.what, bar.per_cent(), bar.kind());
    canvas.point(&said, |canvas| {
        let what = shorten(&bar.what, SMALL, WIDTH - 2.0 * LEFT);
        canvas.text((LEFT, y), Anchor::Start, SMALL, &what);
        let class = match bar.kind {
            Some(Known::B) => "full",
            Some(Known::A) => "box",
            None => "box dash",
        };
        let length = (WHOLE * bar.share).max(1.0);
        canvas.rect(class, (LEFT, y + 8.0), length, 14.0);
        let words = format!("{}, {}", bar.per_cent(), bar.kind());
        canvas.text(
            (LEFT + length + 10.0, y + 20.0),
            Anchor::Start,
            SMALL,
            &words,
        );
    });
}

/// "Friction coefficient C 9.5, 95 % between 9.1 and 9.9".
fn heading(found: &Found, system: System) -> String {
    let [low, high] = found.between.map(|end| read(end, system));
    let text = format!(
        "{} {}, 95 % between {low} and {high}",
        found.name,
        read(found.value, system)
    );
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}

/// A value of a test as a person reads it.
fn read(measured: Measured, system: System) -> String {
    match measured {
        Measured::Figure(figure) => figure.show(system),
        Measured::Number {
            us,
            us_unit,
            si,
            si_unit,
            decimals: [us_decimals, si_decimals],
        } => {
            let (value, unit, decimals) = match system {
                System::Us => (us, us_unit, us_decimals),
                System::Si => (si, si_unit, si_decimals),
            };
            format!("{value:.decimals$} {unit}").trim_end().to_string()
        }
    }
}

fn caption(found: &Found, bars: &[Bar], system: System) -> String {
    let shares = bars
        .iter()
        .map(|bar| format!("{} {}", bar.what, bar.per_cent()));
    let shares: Vec<String> = shares.collect();
    format!(
        "{}. Shares in the square of its standard uncertainty: {}.",
        heading(found, system),
        match shares.is_empty() {
            true => "none is known".to_string(),
            false => shares.join("; "),
        }
    )
}

fn table(bars: &[Bar]) -> Table {
    let mut table = Table::new(&["Source", "Known from", "Share"]);
    let row = |bar: &Bar| vec![bar.what.clone(), bar.kind().to_string(), bar.per_cent()];
    table.rows = bars.iter().map(row).collect();
    table
}
