//! One value over the days.

use crate::canvas::{Anchor, Canvas, NAME, SMALL};
use crate::choices::{axis, bound_words, bounds_of, days_share, extent, limit_of, titled};
use crate::drawing::{Drawing, Table};
use crate::frame::{Axis, Frame};
use crate::text;
use book::comparison::AimKind;
use hydraulics::units::System;
use study::choose::{Bound, kind_of};
use study::doubt::{Doubted, Held, Histogram};
use study::figure::{Figure, thousands};

const WIDTH: f64 = 760.0;
/// Ends of the axis.
const ALONG: (f64, f64) = (78.0, 700.0);
/// From one row of the words of lines to the next.
const ROW: f64 = 18.0;
/// Height of the frame.
const TALL: f64 = 260.0;
/// The most bars.
const BARS: usize = 40;

/// How often each value of `aim` came over the days drawn: bars, lines at the values that
/// 5 %, half and 95 % of the days stay below, the limit as a dashed line, and the share
/// of the days on which it holds in words. `None` when the value was not drawn.
///
/// ```
/// use book::comparison::AimKind;
/// use hydraulics::units::{Measure, System, gpm};
/// use study::doubt::{Doubted, Held, Histogram};
/// use study::figure::flow;
/// let flows = Held {
///     aim: AimKind::Flow, mean: flow(gpm(150.0)), sd: flow(gpm(5.0)),
///     quantiles: [142.0, 150.0, 158.0].map(|q| flow(gpm(q))),
///     histogram: Histogram { low: gpm(130.0).si(), high: gpm(170.0).si(), counts: vec![40, 60] },
/// };
/// let doubted = Doubted {
///     draws: 100, seed: 1, unsolved: 0, unsure: vec![], over_days: vec![flows],
///     holds: vec![], all_hold: (1.0, 0.0), shares: vec![], words: vec![],
///     notices: vec![],
/// };
/// let drawing = picture::days(&doubted, AimKind::Flow, &[], System::Us).unwrap();
/// assert_eq!(drawing.table.rows[1], ["150 to 170 gpm", "60"]);
/// ```
pub fn days(doubted: &Doubted, aim: AimKind, bounds: &[Bound], system: System) -> Option<Drawing> {
    let held = doubted.over_days.iter().find(|held| held.aim == aim)?;
    let bars = bars(&held.histogram, aim, system);
    let bounds = bounds_of(bounds, aim, system);
    let holds = holds(doubted, aim, &bounds, system);
    let x = along(held, &bars, &bounds, system);
    let lines = lines(&x, held, &bounds, system);
    let first = if holds.is_some() { 74.0 } else { 50.0 };
    let top = first + ROW * lines.len() as f64;
    let most = bars.iter().map(|bar| bar.days).max().unwrap_or(1).max(1) as f64;
    let y = Axis::counted(("Days", ""), (0.0, most), (top + TALL, top));
    let frame = Frame { x, y };
    let mut canvas = Canvas::new(WIDTH, top + TALL + 60.0);
    let heading = format!("{} on {} days drawn", titled(aim), thousands(doubted.draws));
    canvas.text((16.0, 24.0), Anchor::Start, NAME, &heading);
    let past = |bar: &Bar| bar.days > 0 && !missed(bar, aim, &bounds).is_empty();
    let missed = match bars.iter().any(past) {
        true => "; filled: days on which it does not",
        false => "",
    };
    if let Some(words) = &holds {
        let words = format!("{words}{missed}");
        canvas.text((16.0, 48.0), Anchor::Start, NAME, &words);
    }
    frame.draw(&mut canvas);
    for bar in bars.iter().filter(|bar| bar.days > 0) {
        draw(&mut canvas, &frame, bar, (held, &bounds), system);
    }
    mark(&mut canvas, &lines, first, top + TALL);
    let caption = caption(doubted, held, (holds.as_deref(), &bounds), system);
    let title = format!("{} over the days", titled(aim));
    Some(canvas.finish(&title, caption, table(held, &bars, system)))
}

/// From, to (reader's units) and days.
struct Bar {
    from: f64,
    to: f64,
    days: u64,
}

/// The histogram in the reader's units, neighbours put together where bars would be thin.
fn bars(histogram: &Histogram, aim: AimKind, system: System) -> Vec<Bar> {
    let counts = &histogram.counts;
    let read = |si: f64| kind_of(aim).map_or(si, |kind| kind.unit(system).from_si(si));
    let (low, high) = (read(histogram.low), read(histogram.high));
    if counts.is_empty() || !low.is_finite() || !high.is_finite() {
        return Vec::new();
    }
    let step = (high - low) / counts.len() as f64;
    let together = counts.len().div_ceil(BARS);
    let chunks = counts.chunks(together).enumerate();
    chunks
        .map(|(index, chunk)| {
            let first = (index * together) as f64;
            Bar {
                from: low + step * first,
                to: low + step * (first + chunk.len() as f64),
                days: chunk.iter().sum(),
            }
        })
        .collect()
}

fn along(held: &Held, bars: &[Bar], bounds: &[(f64, &Bound)], system: System) -> Axis {
    let ends = bars.iter().flat_map(|bar| [bar.from, bar.to]);
    let marks = held.quantiles.iter().map(|q| q.value(system));
    let (low, high) = extent(ends.chain(marks));
    let near = bounds.iter().map(|bound| bound.0);
    let span = high - low;
    let near = near.filter(|b| *b > low - span && *b < high + span);
    let ends = near.fold((low, high), |ends, b| (ends.0.min(b), ends.1.max(b)));
    axis((held.aim, Some(&held.mean)), system, ends, ALONG)
}

/// The stretches of a bar that lie past a limit.
fn missed(bar: &Bar, aim: AimKind, bounds: &[(f64, &Bound)]) -> Vec<(f64, f64)> {
    let stretch = |(bound, _): &(f64, &Bound)| match aim.more_is_better() {
        true => (bar.from, bound.min(bar.to)),
        false => (bound.max(bar.from), bar.to),
    };
    let all = bounds.iter().map(stretch);
    all.filter(|(low, high)| low < high).collect()
}

fn draw(
    canvas: &mut Canvas,
    frame: &Frame,
    bar: &Bar,
    (held, bounds): (&Held, &[(f64, &Bound)]),
    system: System,
) {
    let unit = held.mean.unit(system);
    let bottom = frame.y.scale.from;
    let (from, to) = (frame.x.scale.at(bar.from), frame.x.scale.at(bar.to));
    // A bar of no width is one value: it is drawn as a thin one.
    let (from, to) = match to - from < 2.0 {
        true => (from - 2.0, to + 2.0),
        false => (from, to),
    };
    let top = frame.y.scale.at(bar.days as f64);
    let (low, high) = (plain(bar.from), plain(bar.to));
    let title = format!("{low} to {high} {unit}: {}", counted(bar.days));
    canvas.point(&title, |canvas| {
        canvas.rect("soft", (from, top), to - from, bottom - top);
        for (low, high) in missed(bar, held.aim, bounds) {
            let ends = (
                frame.x.scale.at(low).max(from),
                frame.x.scale.at(high).min(to),
            );
            canvas.rect("full", (ends.0, top), ends.1 - ends.0, bottom - top);
        }
        canvas.rect("box", (from, top), to - from, bottom - top);
    });
}

fn counted(days: u64) -> String {
    match days {
        1 => "1 day".to_string(),
        days => format!("{days} days"),
    }
}

/// A number of about four figures.
fn plain(value: f64) -> String {
    match value.abs() {
        size if size >= 100.0 => format!("{value:.0}"),
        size if size >= 10.0 => format!("{value:.1}"),
        _ => format!("{value:.2}"),
    }
}

const MARKS: [&str; 3] = [
    "5 % of days below",
    "half of days below",
    "95 % of days below",
];

/// A line: where it stands, its class and its words.
type Line = (f64, &'static str, String);

/// The limits and quantiles that lie on the axis, from the left.
fn lines(x: &Axis, held: &Held, bounds: &[(f64, &Bound)], system: System) -> Vec<Line> {
    let limits = bounds.iter().map(|(bound, limit)| {
        let words = bound_words(limit, system);
        (x.scale.at(*bound), "hot dash", words)
    });
    let marks = held.quantiles.iter().zip(MARKS).map(|(figure, words)| {
        let words = format!("{words} {}", figure.show(system));
        (x.scale.at(figure.value(system)), "main", words)
    });
    let mut all: Vec<Line> = limits.chain(marks).collect();
    let (left, right) = ALONG;
    all.retain(|(x, ..)| (left - 0.1..=right + 0.1).contains(x));
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all
}

/// Lines with their words in rows above: the further right, the lower, so that none runs
/// through words.
fn mark(canvas: &mut Canvas, lines: &[Line], first: f64, bottom: f64) {
    for ((x, class, words), row) in lines.iter().zip(0_u32..) {
        let y = first + ROW * f64::from(row);
        let fits = x + 7.0 + text::width(words, SMALL) < WIDTH - 6.0;
        let (at, anchor, top) = match fits {
            true => (x + 7.0, Anchor::Start, y - 10.0),
            false => (WIDTH - 6.0, Anchor::End, y + 5.0),
        };
        canvas.stroke(class, &[(*x, top), (*x, bottom)]);
        canvas.text((at, y), anchor, SMALL, words);
    }
}

/// "Limit, at least 120 gpm, holds on 97 % of days, give or take 0.3".
fn holds(
    doubted: &Doubted,
    aim: AimKind,
    bounds: &[(f64, &Bound)],
    system: System,
) -> Option<String> {
    let limit = limit_of(aim)?;
    let found = doubted.holds.iter().find(|held| held.0 == limit);
    let (_, share, half) = found.filter(|held| held.1.is_finite())?;
    let between = match half.is_finite() {
        true => format!(", give or take {:.1}", 100.0 * half),
        false => String::new(),
    };
    let bound = bounds.first().map(|bound| bound_words(bound.1, system));
    let limit = bound.map_or("Limit".to_string(), |words| format!("Limit, {words},"));
    Some(format!(
        "{limit} holds on {} of days{between}",
        days_share(*share)
    ))
}

fn caption(
    doubted: &Doubted,
    held: &Held,
    (holds, bounds): (Option<&str>, &[(f64, &Bound)]),
    system: System,
) -> String {
    let say = |figure: &Figure| figure.show(system);
    let [low, half, high] = &held.quantiles;
    let limits: Vec<String> = bounds.iter().map(|b| bound_words(b.1, system)).collect();
    let limit = match (limits.is_empty(), holds) {
        (true, _) => String::new(),
        (false, None) => format!(" Limit: {}.", limits.join("; ")),
        (false, Some(holds)) => format!(" {holds}."),
    };
    let unsolved = match doubted.unsolved {
        0 => String::new(),
        days => format!(" On {} there was no physical answer.", counted(days)),
    };
    format!(
        "{} over {} days drawn: 5 % of them stay below {}, half below {}, 95 % below {}; mean \
         {}.{limit}{unsolved}",
        titled(held.aim),
        thousands(doubted.draws),
        say(low),
        say(half),
        say(high),
        say(&held.mean),
    )
}

fn table(held: &Held, bars: &[Bar], system: System) -> Table {
    let mut table = Table::new(&[&titled(held.aim), "Days"]);
    let unit = held.mean.unit(system);
    let row = |bar: &Bar| {
        let (from, to) = (plain(bar.from), plain(bar.to));
        let range = format!("{from} to {to} {unit}").trim_end().to_string();
        vec![range, bar.days.to_string()]
    };
    table.rows = bars.iter().map(row).collect();
    table
}
