//! A few choices by their aims, as strips of bars: for a narrow screen.

use crate::canvas::{Anchor, Canvas, NAME, SMALL};
use crate::choices::{Better, better, many, measured, said, titled, value};
use crate::drawing::Drawing;
use crate::legend::{self, Item};
use crate::side_by_side::{Strong, strong, table};
use crate::text::{self, wrap};
use book::comparison::AimKind;
use hydraulics::units::System;
use study::choose::{Chosen, aim_name};

const WIDTH: f64 = 380.0;
const LEFT: f64 = 16.0;
/// Where bars begin.
const BARS: f64 = 84.0;
/// Room for the figure after the longest bar.
const FIGURES: f64 = 132.0;
const ROW: f64 = 22.0;

/// A strip for each aim: a bar from nought for each of the picked choices (as in
/// [`crate::side_by_side()`]) and for what is carried today, with its figure. The bar of
/// the best of them is full, the others are open, today's has a broken edge.
pub fn strips(chosen: &Chosen, picked: &[&str], system: System) -> Drawing {
    let strong = strong(chosen, picked);
    let mut canvas = Canvas::new(WIDTH, 0.0);
    canvas.text(
        (LEFT, 24.0),
        Anchor::Start,
        NAME,
        "A few choices, aim by aim",
    );
    let (full, open, broken) = (
        legend::bar("full"),
        legend::bar("box"),
        legend::bar("box dash"),
    );
    let mut items = vec![
        Item {
            mark: &full,
            words: "best of these",
        },
        Item {
            mark: &open,
            words: "the others",
        },
    ];
    if chosen.today.is_some() {
        items.push(Item {
            mark: &broken,
            words: "carried today",
        });
    }
    let mut y = legend::write(&mut canvas, (LEFT, WIDTH - 10.0), 48.0, &items) + 14.0;
    for (aim, _) in &chosen.aims {
        y = strip(&mut canvas, (chosen, *aim, system), &strong, y);
    }
    canvas.grow(y + 6.0);
    let codes: Vec<String> = strong.iter().map(Strong::called).collect();
    let caption = format!(
        "{} of {} by {} aims. {}",
        match codes.is_empty() {
            true => "None".to_string(),
            false => codes.join(", "),
        },
        many(chosen.choices.len()),
        chosen.aims.len(),
        bests(chosen, &strong, system)
    );
    let caption = caption.trim_end().to_string();
    canvas.finish("A few choices, aim by aim", caption, table(chosen, system))
}

/// One aim; the pixel below it.
fn strip(
    canvas: &mut Canvas,
    (chosen, aim, system): (&Chosen, AimKind, System),
    strong: &[Strong<'_>],
    top: f64,
) -> f64 {
    let better = better(chosen, aim);
    let head = format!("{}: {}", titled(aim), better.words());
    let mut y = top;
    for line in wrap(&head, SMALL, WIDTH - LEFT - 10.0, 2) {
        y += 18.0;
        canvas.text((LEFT, y), Anchor::Start, SMALL, &line);
    }
    y += 8.0;
    let most = strong.iter().filter_map(|s| value(s.choice, aim, system));
    let most = most.fold(0.0, f64::max);
    let best = best(strong, (aim, better), system);
    for one in strong {
        let value = value(one.choice, aim, system);
        let is_best = value.is_some() && best == value;
        let figure = said(one.choice, aim, system);
        let words = match is_best {
            true => format!("{figure}, best"),
            false => figure,
        };
        let title = format!("{}: {} {words}", one.called(), aim_name(aim));
        canvas.point_of(&title, &[("choice", &one.choice.code)], |canvas| {
            let room = BARS - LEFT - 6.0;
            let code = text::shorten(&one.called(), SMALL, room);
            canvas.text((LEFT, y + 13.0), Anchor::Start, SMALL, &code);
            let share = value.map_or(0.0, |value| value / most);
            let share = if share.is_finite() {
                share.clamp(0.0, 1.0)
            } else {
                0.0
            };
            let long = (WIDTH - BARS - FIGURES) * share;
            let class = match (is_best, one.today) {
                (true, _) => "full",
                (false, true) => "box dash",
                (false, false) => "box",
            };
            canvas.rect(class, (BARS, y + 2.0), long.max(1.0), 13.0);
            let words = text::shorten(&words, SMALL, WIDTH - BARS - long - 12.0);
            canvas.text((BARS + long + 6.0, y + 13.0), Anchor::Start, SMALL, &words);
        });
        y += ROW;
    }
    y + 4.0
}

/// The best value of these.
fn best(strong: &[Strong<'_>], (aim, better): (AimKind, Better), system: System) -> Option<f64> {
    let all = strong.iter().filter_map(|s| {
        let value = value(s.choice, aim, system)?;
        let good = match better {
            Better::More => value,
            Better::Less => -value,
            Better::Near => measured(s.choice, aim)?.good,
        };
        Some((good, value))
    });
    all.reduce(|a, b| if b.0 > a.0 { b } else { a })
        .map(|b| b.1)
}

fn bests(chosen: &Chosen, strong: &[Strong<'_>], system: System) -> String {
    let best = |aim: AimKind| {
        let better = better(chosen, aim);
        let best = best(strong, (aim, better), system)?;
        let has = |s: &&Strong<'_>| value(s.choice, aim, system) == Some(best);
        let codes: Vec<String> = strong.iter().filter(has).map(Strong::called).collect();
        let figure = strong.iter().find(has).map(|s| said(s.choice, aim, system));
        Some(format!(
            "{} {} ({})",
            aim_name(aim),
            figure?,
            codes.join(", ")
        ))
    };
    let all: Vec<String> = chosen
        .aims
        .iter()
        .filter_map(|(aim, _)| best(*aim))
        .collect();
    match all.is_empty() {
        true => String::new(),
        false => format!("Best of these: {}.", all.join("; ")),
    }
}
