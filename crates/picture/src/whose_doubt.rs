//! Whose doubt a value is.

use crate::canvas::{Anchor, Canvas, NAME, SMALL};
use crate::choices::{self, extent, titled};
use crate::drawing::{Drawing, Table};
use crate::frame::Axis;
use crate::legend::{self, Item};
use crate::text::{self, shorten};
use book::comparison::AimKind;
use hydraulics::units::System;
use study::choose::aim_name;
use study::doubt::{Doubted, Share};
use study::figure::thousands;

const WIDTH: f64 = 760.0;
/// Ends of the scale; left and right of it stand the figures of the bars' ends.
const LEFT: f64 = 100.0;
const RIGHT: f64 = 660.0;
const STEP: f64 = 52.0;
/// Things that are drawn; the table has all.
const MOST: usize = 10;

/// What each doubtful thing does to the value of `aim`: a bar from the value with the
/// thing at its 5 % value (open half) to the value with it at its 95 % value (full
/// half), everything else at its middle; the longest first. Beside it the share of the
/// doubt that the thing brings by itself, and that goes only when it is known.
///
/// ```
/// use book::comparison::AimKind;
/// use hydraulics::units::{System, gpm};
/// use study::doubt::{Doubted, Share};
/// use study::figure::flow;
/// let hose = Share {
///     name: "C of attack".into(), first: (0.66, 0.02), total: (0.7, 0.02),
///     swing: [flow(gpm(159.0)), flow(gpm(141.0))],
/// };
/// let doubted = Doubted {
///     draws: 10_000, seed: 1, unsolved: 0, unsure: vec![], over_days: vec![], holds: vec![],
///     all_hold: (1.0, 0.0), shares: vec![(AimKind::Flow, vec![hose])], words: vec![],
///     notices: vec![],
/// };
/// let drawing = picture::whose_doubt(&doubted, AimKind::Flow, System::Us);
/// assert_eq!(drawing.table.rows[0][..3], ["C of attack", "159 gpm", "141 gpm"]);
/// ```
pub fn whose_doubt(doubted: &Doubted, aim: AimKind, system: System) -> Drawing {
    let rows = rows(doubted, aim, system);
    let heading = format!("Whose doubt it is: {}", aim_name(aim));
    let mut canvas = Canvas::new(WIDTH, 0.0);
    canvas.text((16.0, 24.0), Anchor::Start, NAME, &heading);
    match rows.is_empty() {
        true => {
            let words = "nothing doubtful moves this value";
            canvas.text((16.0, 52.0), Anchor::Start, SMALL, words);
            canvas.grow(66.0);
        }
        false => all(&mut canvas, (doubted, aim, system), &rows),
    }
    let caption = caption(doubted, aim, &rows, system);
    canvas.finish(&heading, caption, table(&rows, system))
}

/// Legend, scale and bars.
fn all(canvas: &mut Canvas, (doubted, aim, system): (&Doubted, AimKind, System), rows: &[Row<'_>]) {
    let middle = middle(doubted, aim, rows, system);
    let (open, full) = (legend::bar("box"), legend::bar("full"));
    let dots = legend::stroke("thin dot");
    let half = doubted.over_days.iter().find(|held| held.aim == aim);
    let half = half.map_or(String::new(), |held| {
        let [_, half, _] = &held.quantiles;
        format!("half of the days lie below {}", half.show(system))
    });
    let mut items = vec![
        Item {
            mark: &open,
            words: "with it at its low value (5 % of days are lower)",
        },
        Item {
            mark: &full,
            words: "with it at its high value (95 % are lower)",
        },
    ];
    if !half.is_empty() {
        items.push(Item {
            mark: &dots,
            words: &half,
        });
    }
    let top = legend::write(canvas, (16.0, WIDTH - 16.0), 48.0, &items) + 12.0;
    let drawn = rows.get(..rows.len().min(MOST)).unwrap_or(rows);
    let bottom = top + STEP * drawn.len() as f64;
    canvas.grow(bottom + 62.0);
    let axis = axis(aim, drawn, middle, system);
    scale(canvas, &axis, (top, bottom));
    if let Some(middle) = middle {
        let x = axis.scale.at(middle);
        canvas.stroke("thin dot", &[(x, top), (x, bottom)]);
    }
    let places = (0_u32..).map(|n| top + STEP * f64::from(n));
    for (row, y) in drawn.iter().zip(places) {
        draw(canvas, (row, system), &axis, middle, y);
    }
}

/// A doubtful thing and the ends of its bar in the reader's units.
struct Row<'a> {
    share: &'a Share,
    low: f64,
    high: f64,
}

impl Row<'_> {
    fn said(&self, system: System) -> [String; 2] {
        let [low, high] = &self.share.swing;
        [low.show(system), high.show(system)]
    }

    /// "62 % of the doubt alone, 66 % with others".
    fn shares(&self) -> String {
        let (first, total) = (per_cent(self.share.first.0), per_cent(self.share.total.0));
        if first == total {
            return format!("{total} of the doubt");
        }
        format!("{first} of the doubt alone, {total} with others")
    }
}

/// A share, which an estimate from draws may take a little below nothing or above all.
fn per_cent(share: f64) -> String {
    match share {
        share if !share.is_finite() => "no share known".to_string(),
        share if share < 0.005 => "under 1 %".to_string(),
        share => format!("{:.0} %", 100.0 * share.min(1.0)),
    }
}

fn rows<'a>(doubted: &'a Doubted, aim: AimKind, system: System) -> Vec<Row<'a>> {
    let shares = doubted.shares.iter().filter(|(of, _)| *of == aim);
    let shares = shares.flat_map(|(_, shares)| shares);
    let row = |share: &'a Share| {
        let [low, high] = share.swing;
        Row {
            share,
            low: low.value(system),
            high: high.value(system),
        }
    };
    let mut rows: Vec<Row<'_>> = shares.map(row).collect();
    rows.retain(|row| row.low.is_finite() && row.high.is_finite());
    let long = |row: &Row<'_>| (row.high - row.low).abs();
    rows.sort_by(|a, b| long(b).total_cmp(&long(a)));
    rows
}

/// The value that half of the days stay below; without it the middle of all bars.
fn middle(doubted: &Doubted, aim: AimKind, rows: &[Row<'_>], system: System) -> Option<f64> {
    let held = doubted.over_days.iter().find(|held| held.aim == aim);
    let half = held.map(|held| {
        let [_, half, _] = &held.quantiles;
        half.value(system)
    });
    let sum: f64 = rows.iter().map(|row| 0.5 * (row.low + row.high)).sum();
    let mean = (!rows.is_empty()).then(|| sum / rows.len() as f64);
    half.filter(|half| half.is_finite()).or(mean)
}

fn axis(aim: AimKind, rows: &[Row<'_>], middle: Option<f64>, system: System) -> Axis {
    let all = rows
        .iter()
        .flat_map(|row| [row.low, row.high])
        .chain(middle);
    let ends = extent(all);
    let like = rows.first().map(|row| &row.share.swing[0]);
    choices::axis((aim, like), system, ends, (LEFT, RIGHT))
}

fn scale(canvas: &mut Canvas, axis: &Axis, (top, bottom): (f64, f64)) {
    for (tick, label) in axis.ticks.iter().zip(axis.labels()) {
        let x = axis.scale.at(*tick);
        canvas.stroke("grid", &[(x, top), (x, bottom)]);
        canvas.stroke("axis", &[(x, bottom), (x, bottom + 5.0)]);
        canvas.text((x, bottom + 20.0), Anchor::Middle, SMALL, &label);
    }
    canvas.stroke("axis", &[(LEFT, bottom), (RIGHT, bottom)]);
    let at = (0.5 * (LEFT + RIGHT), bottom + 44.0);
    canvas.text(at, Anchor::Middle, NAME, &axis.titled());
}

fn draw(
    canvas: &mut Canvas,
    (row, system): (&Row<'_>, System),
    axis: &Axis,
    middle: Option<f64>,
    y: f64,
) {
    let [low, high] = row.said(system);
    let shares = row.shares();
    let title = format!(
        "{}: {low} at its low value, {high} at its high value; {shares}",
        row.share.name
    );
    canvas.point(&title, |canvas| {
        let wide = text::width(&shares, SMALL);
        let name = shorten(&row.share.name, SMALL, WIDTH - 16.0 - wide - 40.0);
        canvas.text((16.0, y + 16.0), Anchor::Start, SMALL, &name);
        canvas.text((WIDTH - 16.0, y + 16.0), Anchor::End, SMALL, &shares);
        let (from, to) = (axis.scale.at(row.low), axis.scale.at(row.high));
        let centre = middle.map_or(0.5 * (row.low + row.high), |middle| middle);
        let centre = axis
            .scale
            .at(centre.clamp(row.low.min(row.high), row.low.max(row.high)));
        for (class, end) in [("box", from), ("full", to)] {
            let left = end.min(centre);
            canvas.rect(class, (left, y + 24.0), (end - centre).abs(), 15.0);
        }
        // The lesser figure stands left, the greater right.
        let (left, right) = match from <= to {
            true => ((from, &low), (to, &high)),
            false => ((to, &high), (from, &low)),
        };
        canvas.text((left.0 - 7.0, y + 36.5), Anchor::End, SMALL, left.1);
        canvas.text((right.0 + 7.0, y + 36.5), Anchor::Start, SMALL, right.1);
    });
}

fn caption(doubted: &Doubted, aim: AimKind, rows: &[Row<'_>], system: System) -> String {
    let Some(first) = rows.first() else {
        return format!("Nothing doubtful moves the {}.", aim_name(aim));
    };
    let row = |row: &Row<'_>| {
        let [low, high] = row.said(system);
        format!("{} from {low} to {high}, {}", row.share.name, row.shares())
    };
    let all: Vec<String> = rows.iter().take(MOST).map(row).collect();
    let more = match rows.len().saturating_sub(MOST) {
        0 => String::new(),
        more => format!(" {more} more move it less."),
    };
    format!(
        "{}, from {} days drawn: {} moves it most. From the value with each at its low to the \
         value with it at its high: {}.{more}",
        titled(aim),
        thousands(doubted.draws),
        first.share.name,
        all.join("; ")
    )
}

fn table(rows: &[Row<'_>], system: System) -> Table {
    let mut table = Table::new(&[
        "What is doubtful",
        "At its low value",
        "At its high value",
        "Of the doubt alone",
        "With others",
    ]);
    let share = |(share, half): (f64, f64)| match half.is_finite() && half > 0.0 {
        true => format!("{} ± {:.0} %", per_cent(share), 100.0 * half),
        false => per_cent(share),
    };
    let row = |row: &Row<'_>| {
        let [low, high] = row.said(system);
        let (first, total) = (share(row.share.first), share(row.share.total));
        vec![row.share.name.clone(), low, high, first, total]
    };
    table.rows = rows.iter().map(row).collect();
    table
}
