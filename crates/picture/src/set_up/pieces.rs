//! What a set-up is drawn of: pump, hose, tips, gauges.

use crate::canvas::{Anchor, Canvas, NAME, SMALL, Spot};
use crate::text::shorten;
use study::proof::Place;

/// Where the wheels stand.
pub const GROUND: f64 = 232.0;
/// The height of pump outlets and of what is screwed to them.
pub const PIPE: f64 = 190.0;
/// The middle of a gauge's dial.
const DIAL: f64 = 112.0;
const RADIUS: f64 = 24.0;
/// The most that the words of a gauge may measure.
const WORDS: f64 = 138.0;

/// A gauge where it stands.
pub struct Stand {
    place: Place,
    place_words: &'static str,
    gauge: String,
}

impl Stand {
    pub fn said(&self) -> String {
        let gauge = match self.gauge.as_str() {
            "" => "a gauge still to be named".to_string(),
            name => format!("gauge {name}"),
        };
        format!("{}, {gauge}, {}", self.place.word(), self.place_words)
    }

    pub fn row(&self) -> Vec<String> {
        vec![
            self.place_words.to_string(),
            self.place.word().to_string(),
            self.gauge.clone(),
        ]
    }
}

/// The sheet with what stands on it so far.
pub struct Pieces<'a> {
    pub canvas: Canvas,
    pub stands: Vec<Stand>,
    gauges: &'a [(Place, String)],
}

impl<'a> Pieces<'a> {
    pub fn new(canvas: Canvas, gauges: &'a [(Place, String)]) -> Self {
        Pieces {
            canvas,
            stands: Vec::new(),
            gauges,
        }
    }

    pub fn has(&self, place: Place) -> bool {
        self.gauges.iter().any(|(at, _)| *at == place)
    }

    fn name(&self, place: Place) -> String {
        let found = self.gauges.iter().find(|(at, _)| *at == place);
        found.map(|(_, name)| name.clone()).unwrap_or_default()
    }

    /// A gauge on a stem from `at`, with what it reads and its name above.
    pub fn gauge(&mut self, place: Place, at: Spot, place_words: &'static str) {
        let gauge = self.name(place);
        let stand = Stand {
            place,
            place_words,
            gauge,
        };
        let (x, foot) = at;
        let name = match stand.gauge.as_str() {
            "" => "gauge: ________".to_string(),
            name => shorten(name, SMALL, WORDS),
        };
        self.canvas.point(&stand.said(), |canvas| {
            canvas.stroke("main", &[(x, foot), (x, DIAL + RADIUS)]);
            dial(canvas, (x, DIAL));
            let top = DIAL - RADIUS;
            canvas.text((x, top - 28.0), Anchor::Middle, NAME, place.word());
            canvas.text((x, top - 9.0), Anchor::Middle, SMALL, &name);
        });
        self.stands.push(stand);
    }

    /// A flow meter in the pipe at `x`.
    pub fn meter(&mut self, x: f64) {
        let stand = Stand {
            place: Place::Flow,
            place_words: "flow meter in the line",
            gauge: self.name(Place::Flow),
        };
        let name = match stand.gauge.as_str() {
            "" => "meter: ________".to_string(),
            name => shorten(name, SMALL, WORDS),
        };
        self.canvas.point(&stand.said(), |canvas| {
            canvas.rect("box", (x - 26.0, PIPE - 18.0), 52.0, 36.0);
            canvas.stroke(
                "thin",
                &[
                    (x - 14.0, PIPE + 8.0),
                    (x, PIPE - 10.0),
                    (x + 14.0, PIPE + 8.0),
                ],
            );
            canvas.text((x, PIPE - 52.0), Anchor::Middle, NAME, "flow");
            canvas.text((x, PIPE - 32.0), Anchor::Middle, SMALL, &name);
        });
        self.stands.push(stand);
    }

    /// The ground from side to side.
    pub fn ground(&mut self) {
        self.canvas
            .stroke("axis", &[(16.0, GROUND), (744.0, GROUND)]);
    }

    /// A pump on wheels; its outlet is at the returned spot.
    pub fn pumper(&mut self, x: f64) -> Spot {
        let canvas = &mut self.canvas;
        canvas.rect("box", (x, GROUND - 74.0), 92.0, 60.0);
        canvas.shape(
            "box",
            &[
                (x, GROUND - 14.0),
                (x - 34.0, GROUND - 14.0),
                (x - 34.0, GROUND - 44.0),
                (x - 14.0, GROUND - 66.0),
                (x, GROUND - 66.0),
            ],
        );
        for wheel in [x - 10.0, x + 70.0] {
            canvas.circle("ring", (wheel, GROUND - 11.0), 11.0);
        }
        canvas.text((x + 46.0, GROUND - 42.0), Anchor::Middle, SMALL, "pump");
        (x + 92.0, PIPE)
    }

    /// Pipe or hose, straight.
    pub fn pipe(&mut self, from: Spot, to: Spot) {
        self.canvas.stroke("main", &[from, to]);
    }

    /// Hose that sinks to the ground and rises again, with words below.
    pub fn hose(&mut self, from: f64, to: f64, words: &str) {
        let low = GROUND - 4.0;
        let way = [
            (from, PIPE),
            (from + 14.0, PIPE + 3.0),
            (from + 30.0, low - 8.0),
            (from + 46.0, low),
            (to - 46.0, low),
            (to - 30.0, low - 8.0),
            (to - 14.0, PIPE + 3.0),
            (to, PIPE),
        ];
        self.canvas.stroke("main", &way);
        self.below(0.5 * (from + to), words);
    }

    /// Words below the ground.
    pub fn below(&mut self, x: f64, words: &str) {
        self.canvas
            .text((x, GROUND + 22.0), Anchor::Middle, SMALL, words);
    }

    /// From where to where a length is measured, below the ground.
    pub fn span(&mut self, from: f64, to: f64, words: &str) {
        let y = GROUND + 32.0;
        for x in [from, to] {
            self.canvas
                .stroke("lead", &[(x, GROUND + 4.0), (x, y + 6.0)]);
        }
        self.canvas.stroke("thin", &[(from, y), (to, y)]);
        self.canvas
            .text((0.5 * (from + to), y + 20.0), Anchor::Middle, SMALL, words);
    }

    /// A solid tip whose water goes to the right.
    pub fn tip(&mut self, x: f64) {
        let canvas = &mut self.canvas;
        canvas.shape(
            "box",
            &[
                (x, PIPE - 9.0),
                (x + 34.0, PIPE - 5.0),
                (x + 34.0, PIPE + 5.0),
                (x, PIPE + 9.0),
            ],
        );
        canvas.stroke("thin dot", &[(x + 34.0, PIPE), (744.0, PIPE + 2.0)]);
    }

    /// A nozzle, tied down, whose water goes to the right.
    pub fn nozzle(&mut self, x: f64) {
        let canvas = &mut self.canvas;
        canvas.rect("box", (x, PIPE - 8.0), 26.0, 16.0);
        canvas.shape(
            "box",
            &[
                (x + 26.0, PIPE - 8.0),
                (x + 50.0, PIPE - 15.0),
                (x + 50.0, PIPE + 15.0),
                (x + 26.0, PIPE + 8.0),
            ],
        );
        for rise in [-10.0, 0.0, 10.0] {
            canvas.stroke(
                "thin dot",
                &[(x + 52.0, PIPE + 0.6 * rise), (738.0, PIPE + 2.0 * rise)],
            );
        }
        for foot in [x - 4.0, x + 30.0] {
            canvas.stroke("thin", &[(x + 13.0, PIPE + 8.0), (foot, GROUND)]);
        }
    }

    /// A pitot held in the stream at `x`.
    pub fn pitot(&mut self, x: f64, place_words: &'static str) {
        self.canvas
            .stroke("main", &[(x - 12.0, PIPE + 1.0), (x, PIPE + 1.0)]);
        self.gauge(Place::Pitot, (x, PIPE + 1.0), place_words);
    }

    /// A hydrant; its outlet, to the right, is at the returned spot.
    pub fn hydrant(&mut self, x: f64) -> Spot {
        let canvas = &mut self.canvas;
        canvas.rect("box", (x - 13.0, GROUND - 62.0), 26.0, 62.0);
        canvas.rect("box", (x - 18.0, GROUND - 70.0), 36.0, 8.0);
        canvas.rect("box", (x + 13.0, PIPE - 8.0), 9.0, 16.0);
        (x + 22.0, PIPE)
    }
}

/// The face of a gauge.
fn dial(canvas: &mut Canvas, (x, y): Spot) {
    canvas.circle("ring", (x, y), RADIUS);
    let tick = |turn: f64| {
        let (sin, cos) = turn.to_radians().sin_cos();
        [0.74, 0.94].map(|part| (x + part * RADIUS * sin, y - part * RADIUS * cos))
    };
    canvas.strokes("thin", &[-120.0, -60.0, 0.0, 60.0, 120.0].map(tick));
    canvas.stroke("hot", &[(x, y), (x - 8.0, y - 13.0)]);
    canvas.circle("full", (x, y), 2.4);
}
