//! Drawings that are printed to scale: places and sizes in millimetres on paper.

use crate::canvas::{Anchor, Canvas, Spot};
use crate::drawing::{Drawing, Table};
use hydraulics::units::{System, decimal};

/// Pixels of a millimetre: print a drawing that is `n` of these wide `n` mm wide.
pub(crate) const MM: f64 = 4.0;

/// White about a drawing, so that its edge is not cut in half.
const RIM: f64 = 0.5;

/// A canvas in millimetres.
pub(crate) struct ToScale {
    canvas: Canvas,
}

impl ToScale {
    pub fn new(width: f64, height: f64) -> Self {
        ToScale {
            canvas: Canvas::new((width + 2.0 * RIM) * MM, (height + 2.0 * RIM) * MM),
        }
    }

    /// A place in millimetres, in pixels.
    pub fn at((x, y): Spot) -> Spot {
        ((x + RIM) * MM, (y + RIM) * MM)
    }

    pub fn line(&mut self, class: &str, a: Spot, b: Spot) {
        self.canvas.stroke(class, &[Self::at(a), Self::at(b)]);
    }

    pub fn lines(&mut self, class: &str, ends: &[[Spot; 2]]) {
        let ends: Vec<[Spot; 2]> = ends.iter().map(|ends| ends.map(Self::at)).collect();
        self.canvas.strokes(class, &ends);
    }

    pub fn rect(&mut self, class: &str, place: Spot, (width, height): Spot) {
        self.canvas
            .rect(class, Self::at(place), width * MM, height * MM);
    }

    pub fn circle(&mut self, class: &str, place: Spot, radius: f64) {
        self.canvas.circle(class, Self::at(place), radius * MM);
    }

    pub fn shape(&mut self, class: &str, points: &[Spot]) {
        let points: Vec<Spot> = points.iter().map(|at| Self::at(*at)).collect();
        self.canvas.shape(class, &points);
    }

    /// A line of text, `size` mm high with its baseline at the place.
    pub fn text(&mut self, place: Spot, anchor: Anchor, size: f64, text: &str) {
        self.canvas.text(Self::at(place), anchor, size * MM, text);
    }

    pub fn upward(&mut self, place: Spot, size: f64, text: &str) {
        self.canvas.upward(Self::at(place), size * MM, text);
    }

    /// What is drawn by `inside`, with data for those who measure in the drawing.
    pub fn group(&mut self, data: &[(&str, &str)], inside: impl FnOnce(&mut ToScale)) {
        self.canvas.open(data);
        inside(self);
        self.canvas.close();
    }

    pub fn finish(self, title: &str, caption: String, table: Table) -> Drawing {
        self.canvas.finish(title, caption, table)
    }

    /// A bar that measures 4 in or 100 mm when it is printed to scale.
    pub fn bar(&mut self, (x, y): Spot, system: System) {
        let (length, parts, words) = bar(system);
        let ticks = (0..=parts).map(|n| {
            let x = x + length * f64::from(n) / f64::from(parts);
            let long = if n % 2 == 0 { 2.4 } else { 1.4 };
            [(x, y - long), (x, y)]
        });
        let ticks: Vec<[Spot; 2]> = ticks.collect();
        self.line("axis", (x, y), (x + length, y));
        self.lines("thin", &ticks);
        self.text((x + length + 3.0, y), Anchor::Start, 3.0, &words);
    }
}

/// Length in mm, its parts, and what is said beside it.
fn bar(system: System) -> (f64, u32, String) {
    let (length, parts, said) = match system {
        System::Us => (101.6, 8, "4 in"),
        System::Si => (100.0, 10, "100 mm"),
    };
    (
        length,
        parts,
        format!("must measure {said}: print at 100 %, not fitted to the page"),
    )
}

/// A number with as many decimals as `step` asks for, with a true minus.
pub(crate) fn number(value: f64, step: f64) -> String {
    let places = (-(step.abs().max(1e-6) * (1.0 + 1e-9)).log10().floor()).clamp(0.0, 4.0);
    let text = decimal(value, places as usize);
    let text = match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.'),
        false => &text,
    };
    text.replace('-', "\u{2212}")
}
