//! What was measured less what the fit expects.

use super::{At, Shown, mark};
use crate::canvas::{Canvas, Spot};
use crate::frame::Frame;

pub fn draw(canvas: &mut Canvas, shown: &Shown<'_>, frame: &Frame) {
    frame.draw(canvas);
    let (left, right, _, _) = frame.sides();
    let zero = frame.y.scale.at(0.0);
    canvas.stroke("main", &[(left, zero), (right, zero)]);
    let known = shown.points.iter().filter(|p| p.residual.is_finite());
    for point in known {
        let at = spot(frame, point, 0.0);
        let bar = [-1.0, 1.0].map(|side| spot(frame, point, side * point.residual_bar));
        canvas.strokes("thin", &[bar]);
        canvas.open(&[("residual-of", &point.point.point.to_string())]);
        mark(canvas, at, point.point.stands_out);
        canvas.close();
    }
}

fn spot(frame: &Frame, point: &At<'_>, more: f64) -> Spot {
    let x = frame.x.scale.at(point.at.0);
    (x, frame.y.scale.at(point.residual + more))
}
