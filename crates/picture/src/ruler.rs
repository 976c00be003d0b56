//! Which values have a mark on a printed scale, and which of them a figure.

use crate::frame::step;

/// The most marks of one scale.
const MOST: f64 = 400.0;

/// A mark on a scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Mark {
    pub value: f64,
    /// How far it stands out: 2 with a figure, 1 halfway between, 0 else.
    pub rank: u8,
}

/// An even scale: its marks, and the steps of marks and figures.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Even {
    pub marks: Vec<Mark>,
    pub between: f64,
    pub figures: f64,
}

/// Marks from `low` to `high` where a unit takes `per` mm: at least `least` mm apart,
/// figures at least `room` mm.
pub(crate) fn even((low, high): (f64, f64), per: f64, (least, room): (f64, f64)) -> Even {
    let between = step((least / per).max((high - low) / MOST).max(1e-9));
    let mut figures = step(room / per).max(between);
    // 5 is no multiple of 2.
    while (figures / between).fract() > 1e-6 && (figures / between).fract() < 1.0 - 1e-6 {
        figures = step(figures * 1.01);
    }
    let many = (figures / between).round() as i64;
    let (first, last) = (
        (low / between - 1e-9).ceil() as i64,
        (high / between + 1e-9).floor() as i64,
    );
    let rank = |n: i64| match n {
        n if n % many == 0 => 2,
        n if many % 2 == 0 && n % (many / 2) == 0 => 1,
        _ => 0,
    };
    let marks = (first..=last).map(|n| Mark {
        value: n as f64 * between,
        rank: rank(n),
    });
    Even {
        marks: marks.collect(),
        between,
        figures,
    }
}

/// Marks of a scale that is not even, from `low` to `high` (both above zero); `at` says
/// where a value lies, in mm. Marks are at least `least` mm apart, figures `room` mm; the
/// roundest values have a figure first.
pub(crate) fn uneven(
    (low, high): (f64, f64),
    at: impl Fn(f64) -> f64,
    (least, room): (f64, f64),
) -> Vec<Mark> {
    let mut marks: Vec<Mark> = Vec::new();
    let decades = low.log10().floor() as i32..=high.log10().ceil() as i32;
    for ten in decades.map(|n| 10.0_f64.powi(n)) {
        for (from, to) in [(1.0, 2.0), (2.0, 5.0), (5.0, 10.0)] {
            let (from, to) = (from * ten, to * ten);
            if to < low || from > high {
                continue;
            }
            let apart = [0.02, 0.05, 0.1, 0.2, 0.5, 1.0].map(|share| share * ten);
            let fine = |step: &f64| (at(to) - at(to - step)).abs() >= least;
            let Some(step) = apart.into_iter().find(fine) else {
                continue;
            };
            let many = ((to - from) / step).round() as usize;
            let values = (0..many).map(|n| from + n as f64 * step);
            let values = values.filter(|v| *v >= low * (1.0 - 1e-9) && *v <= high * (1.0 + 1e-9));
            marks.extend(values.map(|value| Mark { value, rank: 0 }));
        }
    }
    figure(&mut marks, at, room);
    marks
}

/// Gives a figure to as many marks as have room, the roundest first.
fn figure(marks: &mut [Mark], at: impl Fn(f64) -> f64, room: f64) {
    let mut taken: Vec<f64> = Vec::new();
    for round in 0..5 {
        for mark in marks.iter_mut() {
            let place = at(mark.value);
            if roundness(mark.value) == round && taken.iter().all(|t| (t - place).abs() >= room) {
                mark.rank = 2;
                taken.push(place);
            }
        }
    }
}

/// 0 for powers of ten, 1 for 2 and 5, 2 for other single figures, 3 for multiples of a
/// half, 4 for the rest.
fn roundness(value: f64) -> u8 {
    let figure = value / 10.0_f64.powf((value.log10() + 1e-9).floor());
    let is = |step: f64| ((figure / step).round() * step - figure).abs() < 1e-6;
    match figure {
        f if (f - 1.0).abs() < 1e-6 => 0,
        f if (f - 2.0).abs() < 1e-6 || (f - 5.0).abs() < 1e-6 => 1,
        _ if is(1.0) => 2,
        _ if is(0.5) => 3,
        _ => 4,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_even_scale_has_figures_at_round_values() {
        let scale = even((43.0, 260.0), 0.78, (1.2, 7.5));
        assert_eq!((scale.between, scale.figures), (2.0, 10.0));
        let first = scale.marks.iter().find(|mark| mark.rank == 2);
        assert_eq!(first.map(|mark| mark.value), Some(50.0));
    }

    #[test]
    fn figures_of_an_uneven_scale_keep_apart() {
        let at = |value: f64| 60.0 * value.log10();
        let marks = uneven((50.0, 1000.0), at, (1.2, 4.0));
        assert!(marks.windows(2).all(|two| two[0].value < two[1].value));
        let apart = |a: &Mark, b: &Mark| at(b.value) - at(a.value);
        assert!(marks.windows(2).all(|two| apart(&two[0], &two[1]) > 1.1));
        let figures: Vec<Mark> = marks.into_iter().filter(|mark| mark.rank == 2).collect();
        assert!(figures.windows(2).all(|two| apart(&two[0], &two[1]) >= 4.0));
        assert!(
            [50.0, 100.0, 200.0, 500.0, 1000.0]
                .iter()
                .all(|v| figures.iter().any(|m| (m.value - v).abs() < 1e-6))
        );
    }
}
