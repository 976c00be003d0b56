//! The sheet that a drawing is written on.

use crate::drawing::{Drawing, Table};
use crate::text::{escape, pixels};
use std::fmt::Write;

/// A place on the sheet, in pixels from its top left.
pub type Spot = (f64, f64);

/// Where a text stands about its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    Start,
    Middle,
    End,
}

impl Anchor {
    fn word(self) -> &'static str {
        match self {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        }
    }
}

/// Font sizes: figures that matter, names, ticks.
pub const BIG: f64 = 20.0;
pub const NAME: f64 = 15.0;
pub const SMALL: f64 = 14.0;

/// The least that text may measure on a screen, in CSS pixels.
pub const LEGIBLE: f64 = 11.0;

/// Line styles: told apart without colour.
pub const DASHES: [&str; 5] = ["whole", "dash", "dot", "dashdot", "far"];

/// Plain rules first, for readers of SVG that know no custom properties; they leave
/// the block at the end alone.
const STYLE: &str = "\
.handline text{fill:currentColor;font-family:sans-serif}\
.handline .big{font-weight:600}\
.handline .soft{fill:currentColor;fill-opacity:.09;stroke:none}\
.handline .box{fill:none;stroke:currentColor;stroke-width:1.2}\
.handline .grid{fill:none;stroke:currentColor;stroke-opacity:.16;stroke-width:.8}\
.handline .lead{fill:none;stroke:currentColor;stroke-opacity:.55;stroke-width:.9}\
.handline .axis{fill:none;stroke:currentColor;stroke-width:1.2}\
.handline .thin{fill:none;stroke:currentColor;stroke-width:1.2}\
.handline .main{fill:none;stroke:currentColor;stroke-width:2.4;stroke-linejoin:round}\
.handline .hot{fill:none;stroke:#c2570c;stroke-width:2;stroke-linejoin:round}\
.handline .spot{fill:#c2570c;stroke:none}\
.handline .ring{fill:none;stroke:currentColor;stroke-width:1.6}\
.handline .full{fill:currentColor;stroke:none}\
.handline .hit{fill:none;stroke:none;stroke-width:26;pointer-events:all}\
.handline .dash{stroke-dasharray:9 5}\
.handline .dot{stroke-dasharray:2 4}\
.handline .dashdot{stroke-dasharray:10 4 2 4}\
.handline .far{stroke-dasharray:3 7}\
@supports (color:var(--a)){\
.handline text{font-family:var(--handline-font,system-ui,sans-serif);paint-order:stroke;\
stroke:var(--handline-paper,none);stroke-width:3px;stroke-linejoin:round}\
.handline .hot{stroke:var(--handline-accent,#c2570c)}\
.handline .spot{fill:var(--handline-accent,#c2570c)}\
.handline .point:focus{outline:2px solid currentColor;outline-offset:3px}}";

/// What is drawn so far.
pub struct Canvas {
    width: f64,
    height: f64,
    body: String,
}

impl Canvas {
    pub fn new(width: f64, height: f64) -> Self {
        Canvas {
            width,
            height,
            body: String::new(),
        }
    }

    /// Makes the sheet `height` high.
    pub fn grow(&mut self, height: f64) {
        self.height = height;
    }

    fn put(&mut self, text: std::fmt::Arguments<'_>) {
        // Writing to a string cannot fail.
        let _ = self.body.write_fmt(text);
        self.body.push('\n');
    }

    /// A stroke along `points`.
    pub fn stroke(&mut self, class: &str, points: &[Spot]) {
        if points.len() < 2 {
            return;
        }
        let way = way(points);
        self.put(format_args!("<path class=\"{class}\" d=\"{way}\"/>"));
    }

    /// Many short strokes, as one.
    pub fn strokes(&mut self, class: &str, ends: &[[Spot; 2]]) {
        let way: String = ends.iter().map(|ends| way(ends)).collect();
        if !way.is_empty() {
            self.put(format_args!("<path class=\"{class}\" d=\"{way}\"/>"));
        }
    }

    /// A shape bounded by `points`.
    pub fn shape(&mut self, class: &str, points: &[Spot]) {
        let way = way(points);
        self.put(format_args!("<path class=\"{class}\" d=\"{way}Z\"/>"));
    }

    pub fn rect(&mut self, class: &str, (x, y): Spot, width: f64, height: f64) {
        self.put(format_args!(
            "<rect class=\"{class}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
            pixels(x),
            pixels(y),
            pixels(width.max(0.0)),
            pixels(height.max(0.0))
        ));
    }

    pub fn circle(&mut self, class: &str, (x, y): Spot, radius: f64) {
        self.put(format_args!(
            "<circle class=\"{class}\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
            pixels(x),
            pixels(y),
            pixels(radius)
        ));
    }

    /// One line of text with its baseline at `y`.
    pub fn text(&mut self, (x, y): Spot, anchor: Anchor, size: f64, text: &str) {
        let class = match size >= BIG {
            true => " class=\"big\"",
            false => "",
        };
        self.put(format_args!(
            "<text{class} x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{}\">{}</text>",
            pixels(x),
            pixels(y),
            pixels(size),
            anchor.word(),
            escape(text)
        ));
    }

    /// A text that runs upward.
    pub fn upward(&mut self, (x, y): Spot, size: f64, text: &str) {
        let (x, y) = (pixels(x), pixels(y));
        self.put(format_args!(
            "<text x=\"{x}\" y=\"{y}\" font-size=\"{}\" text-anchor=\"middle\" transform=\"rotate(-90 {x} {y})\">{}</text>",
            pixels(size),
            escape(text)
        ));
    }

    /// What is drawn by `inside` takes the focus, and says `title`.
    pub fn point(&mut self, title: &str, inside: impl FnOnce(&mut Canvas)) {
        self.point_of(title, &[], inside);
    }

    /// A [`Canvas::point`] with data for the page around it: names without
    /// `data-`, and values.
    pub fn point_of(
        &mut self,
        title: &str,
        data: &[(&str, &str)],
        inside: impl FnOnce(&mut Canvas),
    ) {
        let data = written(data);
        let title = escape(title);
        self.put(format_args!(
            "<g class=\"point\" tabindex=\"0\" role=\"img\" aria-label=\"{title}\"{data}>\
             <title>{title}</title>"
        ));
        inside(self);
        self.put(format_args!("</g>"));
    }

    /// What is drawn until [`Canvas::close`] has data for those who measure in the drawing.
    pub fn open(&mut self, data: &[(&str, &str)]) {
        self.put(format_args!("<g{}>", written(data)));
    }

    pub fn close(&mut self) {
        self.put(format_args!("</g>"));
    }

    /// The finished drawing. Its marks for readers' machines are made from what is
    /// in it, so that two drawings on one page keep apart.
    pub fn finish(self, title: &str, caption: String, table: Table) -> Drawing {
        let mark = mark(&[title, &caption, &self.body]);
        let (width, height) = (pixels(self.width), pixels(self.height));
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"handline\" width=\"{width}\" \
             height=\"{height}\" viewBox=\"0 0 {width} {height}\" role=\"group\" \
             aria-labelledby=\"t{mark}\" aria-describedby=\"d{mark}\">\n<title id=\"t{mark}\">{}</title>\n\
             <desc id=\"d{mark}\">{}</desc>\n<style>{STYLE}</style>\n{}</svg>\n",
            escape(title),
            escape(&caption),
            self.body
        );
        Drawing {
            svg,
            width: self.width,
            caption,
            table,
        }
    }
}

fn written(data: &[(&str, &str)]) -> String {
    let data = data.iter();
    data.map(|(name, value)| format!(" data-{name}=\"{}\"", escape(value)))
        .collect()
}

fn way(points: &[Spot]) -> String {
    let mut way = String::new();
    for (index, &(x, y)) in points.iter().enumerate() {
        let letter = if index == 0 { 'M' } else { 'L' };
        let _ = write!(way, "{letter}{} {}", pixels(x), pixels(y));
    }
    way
}

/// FNV-1a over the texts, as letters.
fn mark(texts: &[&str]) -> String {
    let mut mark = 0xcbf2_9ce4_8422_2325_u64;
    for byte in texts.iter().flat_map(|text| text.bytes()) {
        mark = (mark ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
    }
    format!("{mark:016x}")
}
