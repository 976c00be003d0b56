//! A plot area: linear scales in the reader's units, ticks at round numbers, axes
//! with their units.

use crate::canvas::{Anchor, Canvas, NAME, SMALL, Spot};
use crate::text;
use hydraulics::units::{Kind, Measure, System};

/// A straight scale from values, in the reader's units, to pixels.
///
/// ```
/// use picture::frame::Scale;
/// let scale = Scale { low: 0.0, high: 200.0, from: 60.0, to: 660.0 };
/// assert_eq!(scale.at(100.0), 360.0);
/// assert_eq!(scale.value(360.0), 100.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// The value at `from`.
    pub low: f64,
    /// The value at `to`.
    pub high: f64,
    /// Pixel of the lowest value.
    pub from: f64,
    /// Pixel of the highest value.
    pub to: f64,
}

impl Scale {
    /// The pixel of a value; `from` on a scale without extent.
    pub fn at(&self, value: f64) -> f64 {
        let share = (value - self.low) / (self.high - self.low);
        match share.is_finite() {
            true => self.from + share * (self.to - self.from),
            false => self.from,
        }
    }

    /// The value at a pixel; `low` on a scale without extent.
    pub fn value(&self, pixel: f64) -> f64 {
        let share = (pixel - self.from) / (self.to - self.from);
        match share.is_finite() {
            true => self.low + share * (self.high - self.low),
            false => self.low,
        }
    }
}

/// Round numbers about `count` steps apart that enclose `low` to `high`: the
/// steps are 1, 2 or 5 times a power of ten.
///
/// ```
/// use picture::frame::ticks;
/// assert_eq!(ticks(0.0, 162.0, 5), [0.0, 50.0, 100.0, 150.0, 200.0]);
/// ```
pub fn ticks(low: f64, high: f64, count: usize) -> Vec<f64> {
    if !low.is_finite() || !high.is_finite() || low.abs() > 1e9 || high.abs() > 1e9 {
        return vec![0.0, 1.0];
    }
    let span = (high - low).max(1e-6);
    let step = step(span / count.max(1) as f64);
    let (first, last) = ((low / step + 1e-9).floor(), (high / step - 1e-9).ceil());
    let last = last.max(first + 1.0);
    let many = (last - first).min(50.0) as usize;
    (0..=many).map(|n| (first + n as f64) * step).collect()
}

/// The least of 1, 2 or 5 times a power of ten that is no less than `least`.
pub(crate) fn step(least: f64) -> f64 {
    let ten = 10.0_f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|times| times * ten)
        .find(|step| *step >= least * (1.0 - 1e-9))
        .unwrap_or(10.0 * ten)
}

/// One side of a [`Frame`]: a kind of quantity in the reader's units.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What it measures.
    pub kind: Kind,
    /// In whose units.
    pub system: System,
    /// From values to pixels.
    pub scale: Scale,
    /// Round values along it.
    pub ticks: Vec<f64>,
    title: String,
    /// What stands behind the title.
    note: String,
    /// What stands for its unit where it is counted and not measured: nothing, or the word
    /// for the money.
    counted: Option<String>,
}

impl Axis {
    /// An axis called `title` from `low` to `high` (in the reader's units, widened
    /// to round numbers) between the pixels `from` and `to`.
    pub fn new(
        (title, kind, system): (&str, Kind, System),
        (low, high): (f64, f64),
        (from, to): (f64, f64),
    ) -> Self {
        // Ticks need about 70 pixels along, 44 upward.
        let apart = if to > from { 80.0 } else { 46.0 };
        let count = ((to - from).abs() / apart).floor().max(1.0) as usize;
        let ticks = ticks(low, high, count);
        let (first, last) = (ticks.first().copied(), ticks.last().copied());
        Axis {
            kind,
            system,
            scale: Scale {
                low: first.unwrap_or(low),
                high: last.unwrap_or(high),
                from,
                to,
            },
            ticks,
            title: title.to_string(),
            note: String::new(),
            counted: None,
        }
    }

    /// An axis of numbers that are counted, in `unit` (may be empty), whole ones marked.
    pub(crate) fn counted(
        (title, unit): (&str, &str),
        (low, high): (f64, f64),
        (from, to): (f64, f64),
    ) -> Self {
        let most = (high - low).ceil().max(1.0);
        let system = System::default();
        let plain = Axis::new((title, Kind::Share, system), (low, high), (from, to));
        // Whole steps at the least.
        let count = (plain.ticks.len().saturating_sub(1) as f64).min(most);
        let ticks = ticks(low, high, count as usize);
        let ends = (ticks.first().copied(), ticks.last().copied());
        Axis {
            scale: Scale {
                low: ends.0.unwrap_or(low),
                high: ends.1.unwrap_or(high),
                from,
                to,
            },
            ticks,
            counted: Some(unit.to_string()),
            ..plain
        }
    }

    /// With words behind its title.
    pub(crate) fn noted(self, note: &str) -> Self {
        Axis {
            note: note.to_string(),
            ..self
        }
    }

    fn symbol(&self) -> &str {
        match &self.counted {
            Some(unit) => unit,
            None => self.kind.unit(self.system).symbol,
        }
    }

    /// The pixel of a quantity.
    pub fn at<Q: Measure>(&self, quantity: Q) -> f64 {
        self.scale.at(self.value(quantity))
    }

    /// The quantity in the reader's units.
    pub fn value<Q: Measure>(&self, quantity: Q) -> f64 {
        value(self.kind, quantity, self.system)
    }

    /// The axis's title with its unit.
    pub fn titled(&self) -> String {
        let unit = match self.symbol() {
            "" => String::new(),
            symbol => format!(" ({symbol})"),
        };
        let note = match self.note.as_str() {
            "" => String::new(),
            note => format!(", {note}"),
        };
        format!("{}{unit}{note}", self.title)
    }

    /// The same in so many pixels: without the note where it is too long for them.
    fn titled_within(&self, room: f64) -> String {
        let full = self.titled();
        match text::width(&full, NAME) <= room {
            true => full,
            false => text::shorten(&self.clone().noted("").titled(), NAME, room),
        }
    }

    /// The label of each tick; the last carries the unit.
    pub fn labels(&self) -> Vec<String> {
        let apart = match self.ticks.as_slice() {
            [a, b, ..] => b - a,
            _ => 1.0,
        };
        let decimals = (-(apart * (1.0 + 1e-9)).log10().floor()).clamp(0.0, 6.0) as usize;
        let plain = |value: &f64| {
            let text = format!("{value:.decimals$}");
            match value.abs() < 1e-9 {
                true => text.trim_start_matches('-').to_string(),
                false => text,
            }
        };
        let mut labels: Vec<String> = self.ticks.iter().map(plain).collect();
        if let Some(last) = labels.last_mut() {
            *last = format!("{last} {}", self.symbol()).trim_end().to_string();
        }
        labels
    }
}

/// `quantity` in the unit in which `system` reads `kind`; zero where it is no number.
pub(crate) fn value<Q: Measure>(kind: Kind, quantity: Q, system: System) -> f64 {
    let value = kind.unit(system).from_si(quantity.si());
    if value.is_finite() { value } else { 0.0 }
}

/// A plot area with its two axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// Along.
    pub x: Axis,
    /// Up.
    pub y: Axis,
}

impl Frame {
    /// The spot of two quantities.
    pub fn spot<X: Measure, Y: Measure>(&self, x: X, y: Y) -> Spot {
        (self.x.at(x), self.y.at(y))
    }

    /// The left, right, top and bottom pixels.
    pub fn sides(&self) -> (f64, f64, f64, f64) {
        let (x, y) = (self.x.scale, self.y.scale);
        (x.from, x.to, y.to, y.from)
    }

    /// Grid, axes, ticks and titles.
    pub(crate) fn draw(&self, canvas: &mut Canvas) {
        let (left, right, top, bottom) = self.sides();
        self.draw_up(canvas);
        for (tick, label) in self.x.ticks.iter().zip(self.x.labels()) {
            let x = self.x.scale.at(*tick);
            canvas.stroke("grid", &[(x, top), (x, bottom)]);
            canvas.stroke("axis", &[(x, bottom), (x, bottom + 5.0)]);
            canvas.text((x, bottom + 20.0), Anchor::Middle, SMALL, &label);
        }
        canvas.stroke("axis", &[(left, bottom), (right, bottom)]);
        let middle = 0.5 * (left + right);
        canvas.text(
            (middle, bottom + 42.0),
            Anchor::Middle,
            NAME,
            &self.x.titled(),
        );
    }

    /// The upward axis and its grid alone.
    pub(crate) fn draw_up(&self, canvas: &mut Canvas) {
        let (left, right, top, bottom) = self.sides();
        for (tick, label) in self.y.ticks.iter().zip(self.y.labels()) {
            let y = self.y.scale.at(*tick);
            canvas.stroke("grid", &[(left, y), (right, y)]);
            canvas.text((left - 8.0, y + 4.5), Anchor::End, SMALL, &label);
        }
        canvas.stroke("axis", &[(left, top), (left, bottom)]);
        let title = self.y.titled_within(bottom - top + 24.0);
        canvas.upward((16.0, 0.5 * (top + bottom)), NAME, &title);
    }
}
