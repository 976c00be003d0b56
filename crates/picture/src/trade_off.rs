//! Choices by two aims.

mod frontier;
mod marks;
mod words;

use crate::canvas::{Anchor, Canvas, NAME, SMALL, Spot};
use crate::choices::{
    self, Better, better, bound_words, bounds_of, capital, measured, said, titled, value,
};
use crate::drawing::Drawing;
use crate::frame::Frame;
use crate::labels::{Label, Labels};
use crate::legend::{self, Draw, Item, diamond};
use book::comparison::AimKind;
use hydraulics::units::System;
use marks::{dot, first, square};
use study::choose::{Bound, Choice, Chosen, aim_name};

const WIDTH: f64 = 760.0;
/// From the legend's foot to the frame, and the frame's own height.
const GAP: f64 = 16.0;
const TALL: f64 = 360.0;
const LEFT: f64 = 96.0;
const RIGHT: f64 = 690.0;
/// With more marks than this each is its own target only, so that none hides another,
/// and says no more than its values.
const SINGLE: usize = 40;

/// The choices that no other beats, by any two aims: the first along, the second
/// upward. Each is a dot with its code, the one ranked first has a ring, the one that
/// holds on enough days a square, what is carried today is an open diamond. Limits are
/// dashed lines with their number; steps join the choices that none beats in these
/// two, where both aims go one way. An arrow says where it gets better.
///
/// Where codes have no room they are left to the pointer, the focus and the table.
pub fn trade_off(
    chosen: &Chosen,
    bounds: &[Bound],
    aims: (AimKind, AimKind),
    system: System,
) -> Drawing {
    let plane = Plane::of(chosen, bounds, aims, system);
    let mut canvas = Canvas::new(WIDTH, 0.0);
    let heading = format!("{} against {}", titled(aims.1), aim_name(aims.0));
    canvas.text((16.0, 24.0), Anchor::Start, NAME, &heading);
    let foot = plane.legend(&mut canvas);
    let frame = plane.frame(foot + GAP);
    canvas.grow(foot + GAP + TALL + 58.0);
    frame.draw(&mut canvas);
    if plane.marks.is_empty() {
        let middle = (0.5 * (LEFT + RIGHT), foot + GAP + 0.5 * TALL);
        let words = "no choice is measured by both";
        canvas.text(middle, Anchor::Middle, NAME, words);
    }
    let named = plane.draw(&mut canvas, &frame);
    let title = format!("Choices by {} and {}", aim_name(aims.0), aim_name(aims.1));
    canvas.finish(&title, plane.caption(named), plane.table())
}

/// Choices at one spot.
struct Mark<'a> {
    /// In the reader's units.
    at: Spot,
    /// Each with its place in the order; `None` for today's.
    choices: Vec<(Option<usize>, &'a Choice)>,
}

/// Limits along one axis, in the reader's units.
type Across<'a> = Vec<(f64, &'a Bound)>;

struct Plane<'a> {
    chosen: &'a Chosen,
    aims: (AimKind, AimKind),
    better: (Better, Better),
    system: System,
    marks: Vec<Mark<'a>>,
    /// Corners of the steps, in the reader's units.
    steps: Vec<Spot>,
    bounds: (Across<'a>, Across<'a>),
}

impl<'a> Plane<'a> {
    fn of(
        chosen: &'a Chosen,
        bounds: &'a [Bound],
        aims: (AimKind, AimKind),
        system: System,
    ) -> Self {
        let at = |choice| {
            Some((
                value(choice, aims.0, system)?,
                value(choice, aims.1, system)?,
            ))
        };
        let ranked = chosen.choices.iter().enumerate();
        let all = ranked.map(|(rank, choice)| (Some(rank), choice));
        let all = all.chain(chosen.today.iter().map(|today| (None, today)));
        let mut marks: Vec<Mark<'a>> = Vec::new();
        for (rank, choice) in all {
            let Some(at) = at(choice) else { continue };
            match marks.iter_mut().find(|mark| mark.at == at) {
                Some(mark) => mark.choices.push((rank, choice)),
                None => marks.push(Mark {
                    at,
                    choices: vec![(rank, choice)],
                }),
            }
        }
        let better = (better(chosen, aims.0), better(chosen, aims.1));
        let unbeaten = marks
            .iter()
            .filter(|mark| mark.choices.iter().any(|c| c.0.is_some()));
        let spots: Vec<Spot> = unbeaten.map(|mark| mark.at).collect();
        Plane {
            chosen,
            aims,
            better,
            system,
            steps: frontier::steps(&spots, better),
            bounds: (
                bounds_of(bounds, aims.0, system),
                bounds_of(bounds, aims.1, system),
            ),
            marks,
        }
    }

    fn legend(&self, canvas: &mut Canvas) -> f64 {
        let robust = self.chosen.robust.is_some();
        let arrow = |canvas: &mut Canvas, at: Spot| self.arrow(canvas, at);
        let step = |canvas: &mut Canvas, (x, y): Spot| {
            let corners = [
                (x - 14.0, y + 5.0),
                (x, y + 5.0),
                (x, y - 5.0),
                (x + 14.0, y - 5.0),
            ];
            canvas.stroke("thin", &corners);
        };
        let limit = legend::stroke("hot dash");
        let towards = self.towards();
        let all: [(bool, Draw<'_>, &str); 7] = [
            (true, &dot, "no other beats it in everything"),
            (true, &first, "ranked first"),
            (robust, &square, "best that holds on enough days"),
            (self.chosen.today.is_some(), &diamond, "carried today"),
            (self.steps.len() > 1, &step, "best of these two"),
            (
                !(self.bounds.0.is_empty() && self.bounds.1.is_empty()),
                &limit,
                "limit",
            ),
            (!towards.is_empty(), &arrow, &towards),
        ];
        let shown = all.iter().filter(|(shown, ..)| *shown);
        let items: Vec<Item<'_>> = shown.map(|(_, mark, words)| Item { mark, words }).collect();
        legend::write(canvas, (16.0, WIDTH - 16.0), 48.0, &items)
    }

    /// Where it gets better: -1, 0 or 1 along and upward.
    fn way(&self) -> (f64, f64) {
        let way = |better| match better {
            Better::More => 1.0,
            Better::Less => -1.0,
            Better::Near => 0.0,
        };
        (way(self.better.0), way(self.better.1))
    }

    fn arrow(&self, canvas: &mut Canvas, (x, y): Spot) {
        let (along, up) = self.way();
        let long = along.hypot(up).max(1.0);
        let (dx, dy) = (10.0 * along / long, -10.0 * up / long);
        let tip = (x + dx, y + dy);
        canvas.stroke("main", &[(x - dx, y - dy), tip]);
        let side = |turn: f64| (tip.0 - 0.7 * dx - turn * dy, tip.1 - 0.7 * dy + turn * dx);
        canvas.stroke("main", &[side(0.5), tip, side(-0.5)]);
    }

    fn frame(&self, top: f64) -> Frame {
        let x = self.marks.iter().map(|mark| mark.at.0).collect::<Vec<_>>();
        let y = self.marks.iter().map(|mark| mark.at.1).collect::<Vec<_>>();
        let axis = |aim, values: &[f64], bounds: &[(f64, &Bound)], better: Better, pixels| {
            let ends = ends(values, bounds);
            let mut all = self.chosen.choices.iter().filter_map(|c| measured(c, aim));
            let like = all.next().map(|measured| &measured.value);
            choices::axis((aim, like), self.system, ends, pixels).noted(better.words())
        };
        Frame {
            x: axis(
                self.aims.0,
                &x,
                &self.bounds.0,
                self.better.0,
                (LEFT, RIGHT),
            ),
            y: axis(
                self.aims.1,
                &y,
                &self.bounds.1,
                self.better.1,
                (top + TALL, top),
            ),
        }
    }

    /// How many marks have their code beside them.
    fn draw(&self, canvas: &mut Canvas, frame: &Frame) -> usize {
        let (left, _, top, bottom) = frame.sides();
        let mut labels = Labels::within((left + 4.0, top - 12.0), (WIDTH - 6.0, bottom - 2.0));
        let place = |at: Spot| (frame.x.scale.at(at.0), frame.y.scale.at(at.1));
        let steps: Vec<Spot> = self.steps.iter().map(|at| place(*at)).collect();
        canvas.stroke("thin", &steps);
        labels.avoid(&steps);
        for mark in &self.marks {
            labels.avoid_mark(place(mark.at));
        }
        let limits = self.limits(frame);
        for (way, _) in &limits {
            canvas.stroke("hot dash", way);
            labels.avoid(way);
        }
        let marks: Vec<(Spot, &Mark<'_>)> = self.marks.iter().map(|m| (place(m.at), m)).collect();
        for (at, mark) in &marks {
            self.mark(canvas, *at, mark);
        }
        for ([a, b], bound) in &limits {
            let along = [0.03, 0.5, 0.97, 0.25, 0.75];
            let along = along.map(|s| (a.0 + s * (b.0 - a.0), a.1 + s * (b.1 - a.1)));
            let words = bound_words(bound, self.system);
            let lines = [(words.as_str(), SMALL)];
            labels.write(
                canvas,
                &Label {
                    lines: &lines,
                    at: &along,
                },
            );
        }
        self.name(canvas, &mut labels, &marks)
    }

    /// The limits that lie within the frame, as strokes.
    fn limits(&self, frame: &Frame) -> Vec<([Spot; 2], &Bound)> {
        let (left, right, top, bottom) = frame.sides();
        let upright = self.bounds.0.iter().map(|(value, bound)| {
            let x = frame.x.scale.at(*value);
            ([(x, top), (x, bottom)], *bound)
        });
        let level = self.bounds.1.iter().map(|(value, bound)| {
            let y = frame.y.scale.at(*value);
            ([(left, y), (right, y)], *bound)
        });
        let inside = |(way, _): &([Spot; 2], &Bound)| {
            let inside = |(x, y): &Spot| {
                (left - 0.1..=right + 0.1).contains(x) && (top - 0.1..=bottom + 0.1).contains(y)
            };
            way.iter().all(inside)
        };
        upright.chain(level).filter(inside).collect()
    }

    /// Codes: those of the first, of today's and of the robust choice always, the others
    /// in the order of the ranks as long as there is room.
    fn name(&self, canvas: &mut Canvas, labels: &mut Labels, marks: &[(Spot, &Mark<'_>)]) -> usize {
        let matters = |mark: &Mark<'_>| {
            let mut all = mark.choices.iter();
            all.any(|(rank, _)| matches!(rank, None | Some(0)) || *rank == self.chosen.robust)
        };
        let mut named = 0;
        let (first, rest): (Vec<_>, Vec<_>) = marks.iter().partition(|(_, mark)| matters(mark));
        for (at, mark) in first {
            let words = self.code(mark);
            let lines = [(words.as_str(), NAME)];
            labels.write(
                canvas,
                &Label {
                    lines: &lines,
                    at: &[at],
                },
            );
            named += 1;
        }
        for (at, mark) in rest {
            let words = self.code(mark);
            let lines = [(words.as_str(), SMALL)];
            let written = labels.write_if_free(
                canvas,
                &Label {
                    lines: &lines,
                    at: &[at],
                },
            );
            named += usize::from(written);
        }
        named
    }

    fn mark(&self, canvas: &mut Canvas, at: Spot, mark: &Mark<'_>) {
        let (x, y) = self.aims;
        let (along, up) = match mark.choices.first() {
            Some((_, choice)) => (said(choice, x, self.system), said(choice, y, self.system)),
            None => return,
        };
        let names = mark.choices.iter().take(4).map(|c| self.called(c));
        let names: Vec<String> = names.collect();
        let more = match mark.choices.len().saturating_sub(4) {
            0 => String::new(),
            more => format!(" | and {more} more"),
        };
        let title = format!(
            "{} {along}, {} {up}: {}{more}",
            aim_name(x),
            aim_name(y),
            names.join(" | ")
        );
        let code = mark.choices.first().map_or("", |c| c.1.code.as_str());
        let has = |wanted: Option<usize>| mark.choices.iter().any(|(rank, _)| *rank == wanted);
        let ranked = mark.choices.iter().any(|(rank, _)| rank.is_some());
        canvas.point_of(&capital(&title), &[("choice", code)], |canvas| {
            if self.marks.len() <= SINGLE {
                canvas.circle("hit", at, 1.0);
            }
            if ranked {
                dot(canvas, at);
            }
            if has(Some(0)) {
                first(canvas, at);
            }
            if self.chosen.robust.is_some() && has(self.chosen.robust) {
                square(canvas, at);
            }
            if has(None) {
                diamond(canvas, at);
            }
        });
    }
}

/// The ends of a scale about the values, and about limits that are not far off.
fn ends(values: &[f64], bounds: &[(f64, &Bound)]) -> Spot {
    let none = (f64::INFINITY, f64::NEG_INFINITY);
    let around = |ends: Spot, value: &f64| (ends.0.min(*value), ends.1.max(*value));
    let (low, high) = values.iter().fold(none, around);
    if low > high {
        return (0.0, 1.0);
    }
    let span = (high - low).max(0.1 * high.abs()).max(1e-3);
    let near = bounds.iter().map(|bound| bound.0);
    let near = near.filter(|b| *b > low - span && *b < high + span);
    let (low, high) = near.fold((low, high), |ends, value| around(ends, &value));
    let short = 0.5 * (span - (high - low)).max(0.0);
    let (low, high) = (low - short, high + short);
    let air = 0.06 * span;
    let low = if low >= 0.0 {
        (low - air).max(0.0)
    } else {
        low - air
    };
    (low, high + air)
}
