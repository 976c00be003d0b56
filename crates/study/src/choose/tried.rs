//! Every choice tried: a column of values for each aim, the limits that each choice
//! passes, and the choices that miss a limit by least.

use super::asked::{Asked, AskedAim, Equipment};
use super::evaluate::{At, Fits, Gives, How, Of, bit, evaluate};
use super::reach::Reaches;
use super::{ChooseError, Limit, OfLine, Watch, to_buy};
use book::comparison::AimKind;
use hydraulics::units::Pressure;
use rayon::prelude::*;
use std::sync::atomic::{AtomicU64, Ordering};

/// How often progress is told.
const TOLD: u64 = 100;

/// All choices. Choice number n is equipment n / steps at pressure n % steps.
pub(super) struct Tried {
    /// A value for each choice, aim by aim.
    pub values: Vec<Vec<f64>>,
    /// The limits that each choice passes, as bits.
    pub past: Vec<u16>,
    pub nearest: Vec<Nearest>,
    /// The choice whose misses sum up to least.
    pub fewest: Option<(f64, u32)>,
}

/// The choices that miss a limit by least, each with its miss as a share.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Nearest {
    /// Of those that pass no other.
    pub alone: Option<(f64, u32)>,
    /// Of all.
    pub any: Option<(f64, u32)>,
}

/// The smaller miss, of equal ones the first choice.
fn least(a: Option<(f64, u32)>, b: Option<(f64, u32)>) -> Option<(f64, u32)> {
    match (a, b) {
        (Some(a), Some(b)) => {
            let first = a.0.total_cmp(&b.0).then(a.1.cmp(&b.1));
            Some(if first.is_le() { a } else { b })
        }
        (a, b) => a.or(b),
    }
}

/// Some of the choices.
struct Part {
    values: Vec<f64>,
    past: Vec<u16>,
    nearest: Vec<Nearest>,
    fewest: Option<(f64, u32)>,
}

/// What an aim comes to, and where; no place for what all lines have together.
pub(super) fn value_of(aim: &AskedAim, gives: &Gives) -> (f64, Option<At>) {
    let one = |of: Of| {
        let at = gives.at(of);
        (at.value, Some(at))
    };
    match aim.aim {
        AimKind::Flow => match aim.near {
            None => one(Of::LeastFlow),
            Some(near) => {
                let (low, high) = (gives.get(Of::LeastFlow), gives.get(Of::MostFlow));
                match (high - near).abs() > (low - near).abs() {
                    true => one(Of::MostFlow),
                    false => one(Of::LeastFlow),
                }
            }
        },
        AimKind::FlowAtLowPump => one(Of::LowFlow),
        AimKind::Reach => one(Of::Reach),
        AimKind::Reaction => one(Of::Reaction),
        AimKind::PumpPressure => one(Of::Pump),
        AimKind::SteadyWhenGated => one(Of::Change),
        AimKind::OnePumpPressure => (gives.get(Of::AsksMost) - gives.get(Of::AsksLeast), None),
        AimKind::Weight => one(Of::Weight),
        AimKind::Kinds => (gives.get(Of::Kinds), None),
        AimKind::Price => (gives.get(Of::Price), None),
    }
}

impl Part {
    fn new() -> Self {
        Part {
            values: Vec::new(),
            past: Vec::new(),
            nearest: vec![Nearest::default(); Limit::ALL.len()],
            fewest: None,
        }
    }
}

/// The limits that are passed, as bits.
pub(super) fn past(asked: &Asked, gives: &Gives) -> u16 {
    let passed = asked.bounds.iter().filter(|bound| {
        let value = gives.get(bound.of);
        // A line without a tip to hold, or without a rated hose, has nothing to limit.
        let none = matches!(bound.of, Of::Reaction | Of::Service | Of::Inlet) && value.is_nan();
        !none && bound.is_passed(value)
    });
    match gives.faults() {
        0 => passed.fold(0, |set, bound| set | bit(bound.limit)),
        faults => faults,
    }
}

/// What all lines give together with some equipment, at each pump pressure.
pub(super) fn together(
    asked: &Asked,
    on: &[OfLine],
    pressures: &[Pressure],
    how: How,
) -> Vec<Gives> {
    let mut all = vec![Gives::nothing(); pressures.len().max(1)];
    for (line, on) in on.iter().enumerate() {
        let gives = evaluate(asked, line, on, pressures, how);
        for (all, give) in all.iter_mut().zip(&gives) {
            all.join(give);
        }
    }
    of_all_lines(asked, on, &mut all);
    all
}

/// Adds what belongs to the lines together: kinds, and the price where it is asked for.
pub(super) fn of_all_lines(asked: &Asked, on: &[OfLine], all: &mut [Gives]) {
    let kinds = asked.kinds(on);
    let price = asked.pays().then(|| to_buy(asked.book, on).price());
    let price = price.flatten().unwrap_or(f64::NAN);
    for give in all {
        give.note(Of::Kinds, kinds, 0, 0);
        give.note(Of::Price, price, 0, 0);
    }
}

/// What is on each line with some equipment.
pub(super) fn on_lines(asked: &Asked, equipment: Equipment) -> Vec<OfLine> {
    let lines = asked.lines.iter();
    lines.map(|line| asked.on(line, equipment)).collect()
}

pub(super) fn try_all(asked: &Asked, watch: &dyn Watch) -> Result<Tried, ChooseError> {
    let fits = Fits::of(asked);
    let reaches = Reaches::default();
    let count = asked.equipment_count();
    let steps = asked.steps() as u64;
    let (done, all) = (AtomicU64::new(0), count as u64 * steps);
    let every = (all / TOLD).max(1);
    let how = How {
        reaches: Some(&reaches),
        all: false,
    };
    // Enough pieces for all threads, and few enough that what each remembers is little.
    let piece = (count / 64).clamp(1, 64);
    let parts: Result<Vec<Part>, ChooseError> = (0..count.div_ceil(piece))
        .into_par_iter()
        .map(|number| {
            let mut part = Part::new();
            for number in number * piece..count.min((number + 1) * piece) {
                if watch.is_stopped() {
                    return Err(ChooseError::Stopped);
                }
                try_one(asked, number, &fits, how, &mut part);
                let before = done.fetch_add(steps, Ordering::Relaxed);
                if before / every != (before + steps) / every {
                    watch.progress("choices tried", before + steps, all);
                }
            }
            Ok(part)
        })
        .collect();
    Ok(joined(asked, parts?))
}

fn try_one(asked: &Asked, number: usize, fits: &Fits, how: How, part: &mut Part) {
    let equipment = asked.equipment(number);
    let on = on_lines(asked, equipment);
    let steps = asked.steps();
    let fit = (0..on.len()).all(|line| fits.get(line, equipment));
    let gives = match fit {
        true => together(asked, &on, &asked.pressures, how),
        false => vec![Gives::fault(Limit::Couplings); steps],
    };
    for (step, give) in gives.iter().enumerate() {
        let choice = (number * steps + step) as u32;
        let past = past(asked, give);
        part.past.push(past);
        let values = asked.aims.iter().map(|aim| value_of(aim, give).0);
        part.values.extend(values);
        note_nearest(asked, give, (choice, past), part);
    }
}

/// Remembers a choice that passes limits, where none before missed them by less.
fn note_nearest(asked: &Asked, give: &Gives, (choice, past): (u32, u16), part: &mut Part) {
    if past == 0 {
        return;
    }
    let alone = past.count_ones() == 1;
    let mut sum = 0.0;
    for limit in Limit::ALL {
        if past & bit(limit) == 0 {
            continue;
        }
        let bound = asked.bounds.iter().find(|bound| bound.limit == limit);
        let miss = bound.map_or(f64::INFINITY, |bound| bound.miss(give.get(bound.of)));
        let miss = if miss.is_nan() { f64::INFINITY } else { miss };
        sum += miss;
        let near = &mut part.nearest[limit as usize];
        let this = Some((miss, choice));
        near.any = least(near.any, this);
        if alone {
            near.alone = least(near.alone, this);
        }
    }
    part.fewest = least(part.fewest, Some((sum, choice)));
}

fn joined(asked: &Asked, parts: Vec<Part>) -> Tried {
    let aims = asked.aims.len();
    let choices = asked.equipment_count() * asked.steps();
    let mut tried = Tried {
        values: vec![Vec::with_capacity(choices); aims],
        past: Vec::with_capacity(choices),
        nearest: vec![Nearest::default(); Limit::ALL.len()],
        fewest: None,
    };
    for part in parts {
        for (place, value) in part.values.iter().enumerate() {
            tried.values[place % aims].push(*value);
        }
        tried.past.extend(part.past);
        for (own, other) in tried.nearest.iter_mut().zip(part.nearest) {
            own.alone = least(own.alone, other.alone);
            own.any = least(own.any, other.any);
        }
        tried.fewest = least(tried.fewest, part.fewest);
    }
    tried
}
