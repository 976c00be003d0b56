//! One set-up for each subject of a test.

use super::pieces::{GROUND, PIPE, Pieces};
use crate::canvas::{Anchor, SMALL};
use study::proof::Place;

/// How the flow is read: a meter in the line, or a pitot at a solid tip.
fn pitot_is_drawn(pieces: &Pieces<'_>) -> bool {
    pieces.has(Place::Pitot) || !pieces.has(Place::Flow)
}

pub fn hose(pieces: &mut Pieces<'_>) {
    pieces.ground();
    let (outlet, _) = pieces.pumper(54.0);
    let first = match pieces.has(Place::Flow) {
        true => {
            pieces.pipe((outlet, PIPE), (214.0, PIPE));
            pieces.meter(240.0);
            pieces.pipe((266.0, PIPE), (330.0, PIPE));
            320.0
        }
        false => {
            pieces.pipe((outlet, PIPE), (240.0, PIPE));
            230.0
        }
    };
    pieces.gauge(Place::Inlet, (first, PIPE), "where the hose begins");
    pieces.hose(first + 10.0, 505.0, "the hose, straight, no kinks");
    pieces.pipe((505.0, PIPE), (570.0, PIPE));
    pieces.gauge(
        Place::Outlet,
        (515.0, PIPE),
        "line gauge where the hose ends",
    );
    pieces.tip(570.0);
    if pitot_is_drawn(pieces) {
        pieces.pitot(665.0, "in the stream of a solid tip");
    }
    pieces.span(first, 515.0, "length and rise: from gauge to gauge");
}

pub fn nozzle(pieces: &mut Pieces<'_>) {
    pieces.ground();
    let (outlet, _) = pieces.pumper(54.0);
    let pitot = pieces.has(Place::Pitot);
    let from = match pieces.has(Place::Flow) || !pitot {
        true => {
            pieces.pipe((outlet, PIPE), (214.0, PIPE));
            pieces.meter(240.0);
            266.0
        }
        false => outlet,
    };
    pieces.hose(from, 440.0, "hose");
    pieces.pipe((440.0, PIPE), (530.0, PIPE));
    pieces.gauge(Place::Tip, (480.0, PIPE), "line gauge behind the nozzle");
    pieces.nozzle(530.0);
    if pitot {
        pieces.pitot(665.0, "in the stream of the tip");
    }
    pieces.below(545.0, "tied down, bail open");
}

pub fn pump(pieces: &mut Pieces<'_>) {
    pieces.ground();
    pieces.pipe((24.0, PIPE), (146.0, PIPE));
    pieces.gauge(Place::Intake, (88.0, PIPE), "at the pump's intake");
    let (outlet, _) = pieces.pumper(180.0);
    pieces.pipe((outlet, PIPE), (340.0, PIPE));
    pieces.gauge(Place::Discharge, (316.0, PIPE), "at the pump's outlet");
    let mut from = 340.0;
    if pieces.has(Place::Flow) {
        pieces.pipe((from, PIPE), (394.0, PIPE));
        pieces.meter(420.0);
        from = 446.0;
    }
    pieces.hose(from, 590.0, "hose");
    pieces.tip(590.0);
    if pitot_is_drawn(pieces) {
        pieces.pitot(675.0, "in the stream of a solid tip");
    }
    pieces.below(88.0, "draft or hydrant");
}

pub fn hydrant(pieces: &mut Pieces<'_>) {
    pieces.ground();
    let main = GROUND + 40.0;
    pieces.pipe((16.0, main), (744.0, main));
    pieces
        .canvas
        .text((30.0, main - 8.0), Anchor::Start, SMALL, "main");
    for x in [200.0, 500.0] {
        pieces.pipe((x, GROUND), (x, main));
    }
    let (outlet, _) = pieces.hydrant(200.0);
    pieces.pipe((outlet, PIPE), (outlet + 20.0, PIPE));
    pieces.gauge(
        Place::Residual,
        (outlet + 20.0, PIPE),
        "on the hydrant that stays shut",
    );
    pieces.canvas.text(
        (290.0, PIPE + 8.0),
        Anchor::Start,
        SMALL,
        "no water drawn here",
    );
    let (outlet, _) = pieces.hydrant(500.0);
    let from = match pitot_is_drawn(pieces) {
        true => outlet,
        false => {
            pieces.pipe((outlet, PIPE), (574.0, PIPE));
            pieces.meter(600.0);
            626.0
        }
    };
    let stream = [(from, PIPE), (744.0, PIPE + 20.0)];
    pieces.canvas.stroke("thin dot", &stream);
    if pitot_is_drawn(pieces) {
        pieces.pitot(600.0, "in the stream of the hydrant that flows");
    }
    pieces.canvas.text(
        (530.0, main - 8.0),
        Anchor::Start,
        SMALL,
        "water flows here",
    );
}

pub fn service(pieces: &mut Pieces<'_>) {
    pieces.ground();
    let (outlet, _) = pieces.pumper(54.0);
    pieces.pipe((outlet, PIPE), (270.0, PIPE));
    pieces.gauge(Place::Held, (190.0, PIPE), "between the pump and the hose");
    pieces.canvas.shape(
        "box",
        &[
            (232.0, PIPE - 9.0),
            (232.0, PIPE + 9.0),
            (252.0, PIPE - 9.0),
            (252.0, PIPE + 9.0),
        ],
    );
    pieces.canvas.text(
        (270.0, PIPE - 18.0),
        Anchor::Start,
        SMALL,
        "shut once the hose is full",
    );
    pieces.hose(
        270.0,
        620.0,
        "the hose, full and free of air, nobody beside it",
    );
    pieces.canvas.rect("box", (620.0, PIPE - 8.0), 26.0, 16.0);
    pieces
        .canvas
        .stroke("main", &[(646.0, PIPE - 12.0), (646.0, PIPE + 12.0)]);
    pieces.canvas.text(
        (646.0, PIPE - 20.0),
        Anchor::Middle,
        SMALL,
        "shut, tied down",
    );
}
