//! Points with their bars, the fit with its band, the book's curve.

use super::{At, Shown, WIDTH, mark, words, write};
use crate::canvas::{Canvas, NAME, SMALL, Spot};
use crate::frame::Frame;
use crate::labels::Labels;

/// Points whose numbers are written beside them.
pub const NAMED: usize = 8;

pub fn draw(canvas: &mut Canvas, shown: &Shown<'_>, frame: &Frame) {
    band(canvas, shown, frame);
    ground(canvas, frame);
    let (left, _, top, bottom) = frame.sides();
    let mut labels = Labels::within((left + 4.0, top - 8.0), (WIDTH - 6.0, bottom - 2.0));
    let fit = shown.fit.iter().map(|f| within(frame, (f[0], f[1])));
    let fit: Vec<Spot> = fit.collect();
    let book: Vec<Spot> = shown.book.iter().map(|b| within(frame, *b)).collect();
    canvas.stroke("hot dash", &book);
    canvas.stroke("main", &fit);
    labels.avoid(&book);
    labels.avoid(&fit);
    for point in &shown.points {
        labels.avoid_mark(within(frame, point.at));
        bars(frame, point).iter().for_each(|bar| labels.avoid(bar));
    }
    for point in &shown.points {
        one(canvas, shown, frame, point);
    }
    names(canvas, &mut labels, (&fit, &book));
    numbers(canvas, &mut labels, shown, frame);
}

/// Grid and axes without the figures along: those stand below the residuals.
fn ground(canvas: &mut Canvas, frame: &Frame) {
    let (left, right, top, bottom) = frame.sides();
    for tick in &frame.x.ticks {
        let x = frame.x.scale.at(*tick);
        canvas.stroke("grid", &[(x, top), (x, bottom)]);
    }
    frame.draw_up(canvas);
    canvas.stroke("axis", &[(left, bottom), (right, bottom)]);
}

fn band(canvas: &mut Canvas, shown: &Shown<'_>, frame: &Frame) {
    let known = shown.fit.iter();
    let known = known.filter(|f| f[2].is_finite() && f[3].is_finite());
    let edge = |end: usize| {
        let known = known.clone();
        known.map(move |f| within(frame, (f[0], f.get(end).copied().unwrap_or_default())))
    };
    let round: Vec<Spot> = edge(2).chain(edge(3).rev()).collect();
    if round.len() > 3 {
        canvas.shape("soft", &round);
    }
}

/// The spot of a value, at the edge where it lies beyond.
fn within(frame: &Frame, (x, y): Spot) -> Spot {
    let (left, right, top, bottom) = frame.sides();
    (
        frame.x.scale.at(x).clamp(left, right),
        frame.y.scale.at(y).clamp(top, bottom),
    )
}

/// Along and up.
fn bars(frame: &Frame, point: &At<'_>) -> [[Spot; 2]; 2] {
    let (x, y) = point.at;
    let (along, up) = point.bars;
    [
        [within(frame, (x - along, y)), within(frame, (x + along, y))],
        [within(frame, (x, y - up)), within(frame, (x, y + up))],
    ]
}

fn one(canvas: &mut Canvas, shown: &Shown<'_>, frame: &Frame, point: &At<'_>) {
    let number = point.point.point.to_string();
    let data = [
        ("point", number.as_str()),
        ("apart", if point.point.stands_out { "yes" } else { "no" }),
    ];
    canvas.point_of(&words::said(shown, point), &data, |canvas| {
        canvas.strokes("thin", &bars(frame, point));
        mark(canvas, within(frame, point.at), point.point.stands_out);
    });
}

fn names(canvas: &mut Canvas, labels: &mut Labels, (fit, book): (&[Spot], &[Spot])) {
    for (curve, name) in [(fit, "fit"), (book, "book")] {
        let along = [0.85, 0.7, 0.55, 0.95, 0.4].map(|share| {
            let index = (curve.len().saturating_sub(1) as f64 * share).round() as usize;
            curve.get(index).copied()
        });
        let along: Vec<Spot> = along.into_iter().flatten().collect();
        if curve.len() > 1 {
            write(canvas, labels, (name, NAME), &along);
        }
    }
}

fn numbers(canvas: &mut Canvas, labels: &mut Labels, shown: &Shown<'_>, frame: &Frame) {
    let apart = shown.points.iter().filter(|p| p.point.stands_out);
    for point in apart.take(NAMED) {
        let name = format!("point {}", point.point.point);
        write(canvas, labels, (&name, SMALL), &[within(frame, point.at)]);
    }
}
