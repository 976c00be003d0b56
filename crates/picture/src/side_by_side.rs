//! Choices by all their aims at once.

use crate::canvas::{Anchor, Canvas, DASHES, NAME, SMALL, Spot};
use crate::choices::{Better, better, many, measured, said, titled, value, what};
use crate::drawing::{Drawing, Table};
use crate::frame::Scale;
use crate::legend::{self, Item};
use crate::text::{shorten, wrap};
use book::comparison::AimKind;
use hydraulics::units::System;
use study::choose::{Choice, Chosen, aim_name};

const LEAST: f64 = 760.0;
const LEFT: f64 = 66.0;
/// Right of the last axis: room for codes.
const CODES: f64 = 110.0;
/// From one axis to the next at the least.
const APART: f64 = 106.0;
const TALL: f64 = 280.0;
/// Lines of an axis's name.
const LINES: usize = 4;
const LINE: f64 = 17.0;
/// Choices that are drawn strongly, beside today's.
pub(crate) const PICKED: usize = 4;
/// Others that are drawn one by one; more of them are one pale web.
const SINGLE: usize = 40;

/// All aims side by side: one upright axis for each, with the best of the choices at its
/// top and the worst at its foot, and each choice a broken line across. `picked` (codes;
/// the first four of them; when empty the first three by rank and
/// the best that holds on enough days) and what is carried today
/// have line styles of their own and their code at the right; the others are thin.
pub fn side_by_side(chosen: &Chosen, picked: &[&str], system: System) -> Drawing {
    let axes = axes(chosen, system);
    let apart = axes.len().saturating_sub(1).max(1) as f64;
    let width = LEAST.max(LEFT + CODES + APART * apart);
    let step = (width - LEFT - CODES) / apart;
    let strong = strong(chosen, picked);
    let mut canvas = Canvas::new(width, 0.0);
    let heading = heading(chosen);
    let heading = shorten(&heading, NAME, width - 32.0);
    canvas.text((16.0, 24.0), Anchor::Start, NAME, &heading);
    let foot = legend(&mut canvas, width, &strong, chosen);
    let room = step.min(2.0 * LEFT) - 8.0;
    let lines = axes.iter().map(|axis| axis.name(room).len()).max();
    let top = foot + 22.0 + LINE * lines.unwrap_or(1) as f64 + 12.0;
    let sheet = Sheet {
        chosen,
        system,
        axes,
        step,
        top,
    };
    canvas.grow(top + TALL + 40.0);
    sheet.others(&mut canvas, &strong);
    sheet.draw_axes(&mut canvas);
    sheet.strong(&mut canvas, &strong);
    let caption = sheet.caption(&strong);
    canvas.finish("Choices by all their aims", caption, table(chosen, system))
}

/// A choice that is drawn strongly, and how.
pub(crate) struct Strong<'a> {
    pub choice: &'a Choice,
    pub class: String,
    pub today: bool,
}

impl Strong<'_> {
    /// "C12", "today".
    pub fn called(&self) -> String {
        match self.today {
            true => "today".to_string(),
            false => self.choice.code.clone(),
        }
    }
}

/// The picked choices in the order of the ranks, and today's.
pub(crate) fn strong<'a>(chosen: &'a Chosen, picked: &[&str]) -> Vec<Strong<'a>> {
    let all = chosen.choices.iter();
    let robust = chosen.robust.filter(|place| *place >= 3);
    let robust = robust.and_then(|place| chosen.choices.get(place));
    let mut found: Vec<&Choice> = match picked.is_empty() {
        true => all.take(3).chain(robust).collect(),
        false => all.filter(|c| picked.contains(&c.code.as_str())).collect(),
    };
    found.truncate(PICKED);
    let found = found.into_iter().zip(DASHES);
    let found = found.map(|(choice, dash)| Strong {
        choice,
        class: format!("main {dash}"),
        today: false,
    });
    let today = chosen.today.iter().map(|choice| Strong {
        choice,
        class: format!("hot {}", DASHES[PICKED]),
        today: true,
    });
    found.chain(today).collect()
}

/// One axis: from a value, or from how good it is, to a share of its height.
struct Axis {
    aim: AimKind,
    /// Worst and best, in the reader's units; or of how good.
    scale: Scale,
    by_good: bool,
    /// Written at the top and at the foot.
    ends: (String, String),
}

impl Axis {
    fn of(chosen: &Chosen, aim: AimKind, system: System) -> Self {
        let better = better(chosen, aim);
        let by_good = better == Better::Near;
        let all = chosen.choices.iter().chain(&chosen.today);
        let mut found: Vec<(f64, String)> = all
            .filter_map(|c| Some((place(c, aim, by_good, system)?, said(c, aim, system))))
            .collect();
        found.sort_by(|a, b| a.0.total_cmp(&b.0));
        if better == Better::Less {
            found.reverse();
        }
        let (worst, best) = (found.first().cloned(), found.last().cloned());
        let (worst, best) = (worst.unwrap_or_default(), best.unwrap_or_default());
        let same = worst.0 == best.0;
        Axis {
            aim,
            scale: Scale {
                low: best.0,
                high: worst.0,
                from: 0.0,
                to: TALL,
            },
            by_good,
            ends: match same {
                true => (best.1, "all the same".to_string()),
                false => (best.1, worst.1),
            },
        }
    }

    /// Its name in lines of so many pixels.
    fn name(&self, room: f64) -> Vec<String> {
        let near = match self.by_good {
            true => ", near what is asked for",
            false => "",
        };
        wrap(&format!("{}{near}", titled(self.aim)), SMALL, room, LINES)
    }
}

fn place(choice: &Choice, aim: AimKind, by_good: bool, system: System) -> Option<f64> {
    match by_good {
        true => measured(choice, aim)
            .map(|m| m.good)
            .filter(|g| g.is_finite()),
        false => value(choice, aim, system),
    }
}

fn axes(chosen: &Chosen, system: System) -> Vec<Axis> {
    let aims = chosen.aims.iter();
    aims.map(|(aim, _)| Axis::of(chosen, *aim, system))
        .collect()
}

fn heading(chosen: &Chosen) -> String {
    let what = many(chosen.choices.len());
    format!("All aims side by side: {what}, the best of them at the top of each axis")
}

fn legend(canvas: &mut Canvas, width: f64, strong: &[Strong<'_>], chosen: &Chosen) -> f64 {
    let marks: Vec<_> = strong
        .iter()
        .map(|s| {
            let class = s.class.clone();
            let mark = move |canvas: &mut Canvas, (x, y): Spot| {
                canvas.stroke(&class, &[(x - 15.0, y), (x + 15.0, y)]);
            };
            let words = match s.today {
                true => "carried today".to_string(),
                false => s.choice.code.clone(),
            };
            (mark, words)
        })
        .collect();
    let mut items: Vec<Item<'_>> = marks
        .iter()
        .map(|(mark, words)| Item { mark, words })
        .collect();
    let others = strong.iter().filter(|s| !s.today).count() < chosen.choices.len();
    let thin = legend::stroke("lead");
    if others {
        items.push(Item {
            mark: &thin,
            words: "others that none beats",
        });
    }
    legend::write(canvas, (16.0, width - 16.0), 48.0, &items)
}

struct Sheet<'a> {
    chosen: &'a Chosen,
    system: System,
    axes: Vec<Axis>,
    step: f64,
    top: f64,
}

impl Sheet<'_> {
    fn x(&self, index: usize) -> f64 {
        LEFT + self.step * index as f64
    }

    /// Where a choice lies on each axis on which it is measured.
    fn way(&self, choice: &Choice) -> Vec<(usize, Spot)> {
        let axes = self.axes.iter().enumerate();
        axes.filter_map(|(index, axis)| {
            let at = place(choice, axis.aim, axis.by_good, self.system)?;
            Some((index, (self.x(index), self.top + axis.scale.at(at))))
        })
        .collect()
    }

    fn others(&self, canvas: &mut Canvas, strong: &[Strong<'_>]) {
        let is_strong = |c: &Choice| strong.iter().any(|s| !s.today && s.choice.code == c.code);
        let others: Vec<&Choice> = self
            .chosen
            .choices
            .iter()
            .filter(|c| !is_strong(c))
            .collect();
        if others.len() > SINGLE {
            let ways = others.iter().flat_map(|c| pairs(&spots(&self.way(c))));
            let mut ways: Vec<[Spot; 2]> = ways.map(|two| two.map(tenths)).collect();
            ways.sort_by(|a, b| {
                key(a)
                    .partial_cmp(&key(b))
                    .unwrap_or(std::cmp::Ordering::Equal)
            });
            ways.dedup();
            canvas.strokes("grid", &ways);
            return;
        }
        for choice in others {
            let way = spots(&self.way(choice));
            canvas.point_of(&self.says(choice), &[("choice", &choice.code)], |canvas| {
                canvas.stroke("lead", &way);
            });
        }
    }

    fn draw_axes(&self, canvas: &mut Canvas) {
        let bottom = self.top + TALL;
        for (index, axis) in self.axes.iter().enumerate() {
            let x = self.x(index);
            canvas.stroke("axis", &[(x, self.top), (x, bottom)]);
            for y in [self.top, bottom] {
                canvas.stroke("axis", &[(x - 5.0, y), (x + 5.0, y)]);
            }
            let room = self.step.min(2.0 * LEFT) - 8.0;
            let name = axis.name(room);
            let first = self.top - 28.0 - LINE * name.len() as f64;
            for (line, text) in (1_u32..).zip(&name) {
                let y = first + LINE * f64::from(line);
                canvas.text((x, y), Anchor::Middle, SMALL, text);
            }
            let (best, worst) = &axis.ends;
            let fit = |text: &str| shorten(text, SMALL, room);
            canvas.text((x, self.top - 9.0), Anchor::Middle, SMALL, &fit(best));
            canvas.text((x, bottom + 20.0), Anchor::Middle, SMALL, &fit(worst));
        }
    }

    fn strong(&self, canvas: &mut Canvas, strong: &[Strong<'_>]) {
        let ends = strong
            .iter()
            .map(|s| self.way(s.choice).last().map_or(self.top, |e| e.1.1));
        let ends = keep_apart(&ends.collect::<Vec<_>>(), 19.0, (self.top, self.top + TALL));
        for (one, y) in strong.iter().zip(ends) {
            let way = self.way(one.choice);
            canvas.stroke(&one.class, &spots(&way));
            for (index, at) in &way {
                let Some(axis) = self.axes.get(*index) else {
                    continue;
                };
                let value = said(one.choice, axis.aim, self.system);
                let title = format!("{}: {} {value}", one.called(), aim_name(axis.aim));
                canvas.point_of(&title, &[("choice", &one.choice.code)], |canvas| {
                    canvas.circle("hit", *at, 1.0);
                    match one.today {
                        true => small_diamond(canvas, *at),
                        false => canvas.circle("full", *at, 3.4),
                    }
                });
            }
            let Some((_, end)) = way.last() else { continue };
            let from = end.0 + 6.0;
            let to = self.x(self.axes.len().saturating_sub(1)) + 22.0;
            canvas.stroke("lead", &[(from, end.1), (to, y)]);
            let room = CODES - 30.0;
            let code = shorten(&one.called(), NAME, room);
            canvas.text((to + 4.0, y + 5.0), Anchor::Start, NAME, &code);
        }
    }

    /// All values of a choice.
    fn says(&self, choice: &Choice) -> String {
        let values = self.axes.iter().map(|axis| {
            let value = said(choice, axis.aim, self.system);
            format!("{} {value}", aim_name(axis.aim))
        });
        let values: Vec<String> = values.collect();
        format!("{}: {}", choice.code, values.join(", "))
    }

    fn caption(&self, strong: &[Strong<'_>]) -> String {
        let ends = self.axes.iter().map(|axis| {
            let (best, worst) = &axis.ends;
            format!("{} {best} ({worst})", aim_name(axis.aim))
        });
        let ends: Vec<String> = ends.collect();
        let codes: Vec<String> = strong.iter().map(Strong::called).collect();
        format!(
            "{} that no other beats in everything, by {} aims. Best of them, and in brackets \
             the worst: {}. Drawn strongly: {}.",
            many(self.chosen.choices.len()),
            self.axes.len(),
            ends.join("; "),
            match codes.is_empty() {
                true => "none".to_string(),
                false => codes.join(", "),
            }
        )
    }
}

/// The aims of every choice, today's last.
pub(crate) fn table(chosen: &Chosen, system: System) -> Table {
    let mut head = vec!["Choice".to_string(), "On the lines".to_string()];
    head.extend(chosen.aims.iter().map(|(aim, _)| titled(*aim)));
    let row = |code: String, choice: &Choice| {
        let values = chosen
            .aims
            .iter()
            .map(|(aim, _)| said(choice, *aim, system));
        [code, what(choice, system)]
            .into_iter()
            .chain(values)
            .collect()
    };
    let mut rows: Vec<Vec<String>> = chosen
        .choices
        .iter()
        .map(|choice| row(choice.code.clone(), choice))
        .collect();
    rows.extend(chosen.today.iter().map(|today| row("today".into(), today)));
    Table { head, rows }
}

fn spots(way: &[(usize, Spot)]) -> Vec<Spot> {
    way.iter().map(|(_, spot)| *spot).collect()
}

fn pairs(way: &[Spot]) -> Vec<[Spot; 2]> {
    let ends = way.iter().zip(way.iter().skip(1));
    ends.map(|(a, b)| [*a, *b]).collect()
}

fn tenths((x, y): Spot) -> Spot {
    ((x * 10.0).round() / 10.0, (y * 10.0).round() / 10.0)
}

fn key(way: &[Spot; 2]) -> [f64; 4] {
    let [a, b] = way;
    [a.0, a.1, b.0, b.1]
}

fn small_diamond(canvas: &mut Canvas, (x, y): Spot) {
    let four = [(x - 5.0, y), (x, y - 5.0), (x + 5.0, y), (x, y + 5.0)];
    canvas.shape("hot", &four);
}

/// Places near `wanted` that lie at least `gap` apart, between the two `ends` as far as
/// there is room.
pub(crate) fn keep_apart(wanted: &[f64], gap: f64, (low, high): (f64, f64)) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    let at = |index: &usize| wanted.get(*index).copied().unwrap_or(low);
    order.sort_by(|a, b| at(a).total_cmp(&at(b)));
    let mut places: Vec<f64> = Vec::new();
    for index in &order {
        let least = places.last().map_or(low, |last| last + gap);
        places.push(at(index).max(least));
    }
    let mut most = high.max(low + gap * order.len().saturating_sub(1) as f64);
    for place in places.iter_mut().rev() {
        *place = place.min(most);
        most = *place - gap;
    }
    let mut found = vec![low; wanted.len()];
    for (index, place) in order.into_iter().zip(places) {
        if let Some(slot) = found.get_mut(index) {
            *slot = place;
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::keep_apart;

    #[test]
    fn places_keep_their_order_and_their_gap() {
        let found = keep_apart(&[50.0, 10.0, 12.0, 100.0], 19.0, (10.0, 100.0));
        assert_eq!(found, [50.0, 10.0, 29.0, 100.0]);
        // At the lower end they are pushed back.
        assert_eq!(
            keep_apart(&[99.0, 100.0], 19.0, (10.0, 100.0)),
            [81.0, 100.0]
        );
        // Without room for all they go on past it.
        assert_eq!(
            keep_apart(&[0.0, 0.0, 0.0], 19.0, (0.0, 20.0)),
            [0.0, 19.0, 38.0]
        );
        assert!(keep_apart(&[], 19.0, (0.0, 20.0)).is_empty());
    }
}
