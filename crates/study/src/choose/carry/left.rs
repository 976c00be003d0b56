//! What the limits leave of the lines' ways, and what to relax when they leave nothing.

use super::super::asked::{Asked, Bound};
use super::super::evaluate::{Gives, How, Of, evaluate};
use super::super::verdict::limit_figure;
use super::super::words::called;
use super::super::{ChooseError, Excluded, Limit, Said};
use super::measure::{LeftOut, Lines, Miss};
use super::search::search;
use super::table::{Joined, Table};
use crate::choose::Quiet;
use crate::figure::{self, Figure, thousands};
use hydraulics::units::{Measure, Pressure, System};

/// A way that passes limits, measured anew.
struct Missed {
    called: Said,
    gives: Gives,
}

fn missed(asked: &Asked, line: usize, miss: Miss) -> Option<Missed> {
    let of = asked.lines.get(line)?;
    let mut on = asked.on(of, asked.equipment(miss.equipment));
    let pressures: Vec<Pressure> = asked
        .pressures
        .get(miss.step)
        .copied()
        .into_iter()
        .collect();
    let how = How {
        reaches: None,
        all: false,
    };
    let mut gives = evaluate(asked, line, &on, &pressures, how)
        .first()
        .copied()?;
    let kinds = of.places.names(asked.book, &on).len();
    gives.note(Of::Kinds, kinds as f64, line, 0);
    on.pump_pressure = Pressure::of_si(gives.get(Of::Pump));
    let called = Said::new(format!("{}: ", of.name)).said(called(asked, &[on]));
    Some(Missed { called, gives })
}

/// What each limit left out of the lines' ways, the most frequent first.
pub(super) fn excluded(asked: &Asked, lines: &Lines) -> Vec<Excluded> {
    let mut list: Vec<Excluded> = Limit::ALL
        .into_iter()
        .enumerate()
        .filter_map(|(place, limit)| of_limit(asked, &lines.left_out, (place, limit)))
        .collect();
    list.sort_by_key(|excluded| std::cmp::Reverse(excluded.choices));
    list
}

fn of_limit(
    asked: &Asked,
    left_out: &[LeftOut],
    (place, limit): (usize, Limit),
) -> Option<Excluded> {
    let sum = |of: &dyn Fn(&LeftOut) -> Option<u64>| left_out.iter().filter_map(of).sum::<u64>();
    let choices = sum(&|left| left.count.get(place).copied());
    if choices == 0 {
        return None;
    }
    let alone = sum(&|left| left.alone.get(place).copied());
    let nearest = |of: &dyn Fn(&LeftOut) -> Option<Miss>| {
        let all = left_out.iter().enumerate();
        let all = all.filter_map(|(line, left)| of(left).map(|miss| (line, miss)));
        all.min_by(|(_, a), (_, b)| a.by.total_cmp(&b.by))
    };
    let (line, miss) = nearest(&|left| left.nearest_alone.get(place).copied().flatten())
        .or_else(|| nearest(&|left| left.nearest.get(place).copied().flatten()))?;
    let missed = missed(asked, line, miss)?;
    let bound = asked.bounds.iter().find(|bound| bound.limit == limit);
    let figures = bound.map(|bound| {
        let figure = |value| limit_figure(asked.book, limit, value);
        told_apart(figure(missed.gives.get(bound.of)), figure(bound.may))
    });
    let by_itself = match alone {
        0 => String::new(),
        all if all == choices => ", nothing else does".into(),
        some => format!(", {} of them by nothing else", thousands(some)),
    };
    let ways = match choices {
        1 => "1 way to equip a line".to_string(),
        more => format!("{} ways to equip a line", thousands(more)),
    };
    let said = Said::new(format!(
        "{}: leaves out {ways}{by_itself}; the nearest, ",
        limit.name()
    ))
    .said(missed.called.clone());
    Some(Excluded {
        limit,
        choices,
        alone,
        nearest: missed.called,
        text: match bound.zip(figures) {
            Some((bound, (has, may))) => said
                .words(", has ")
                .figure(has)
                .words(match bound.of.less_is_worse() {
                    true => " where at least ",
                    false => " where at most ",
                })
                .figure(may)
                .words(" is allowed"),
            None => said,
        },
        has_and_may: figures,
    })
}

/// Closer figures where both would read the same.
fn told_apart(has: Figure, may: Figure) -> (Figure, Figure) {
    let same = |system| has.show(system) == may.show(system);
    match [System::Us, System::Si].into_iter().any(same) {
        true => (has.fine(), may.fine()),
        false => (has, may),
    }
}

/// Refuses lines of which the limits leave no way, or none at one pump pressure.
pub(super) fn lines_have_ways(
    asked: &Asked,
    lines: &Lines,
    excluded: &[Excluded],
) -> Result<(), ChooseError> {
    let steps = |line: usize| -> Vec<usize> {
        let all = lines.table.ways.iter().enumerate();
        let some = all.filter(|(_, of)| of.get(line).is_some_and(|ways| !ways.is_empty()));
        some.map(|(step, _)| step).collect()
    };
    let per_line: Vec<Vec<usize>> = (0..asked.lines.len()).map(steps).collect();
    for (line, steps) in per_line.iter().enumerate() {
        if steps.is_empty() {
            return Err(no_way(asked, lines, (line, excluded)));
        }
    }
    let all = 0..lines.table.pumps.len();
    let common = |step: &usize| per_line.iter().all(|steps| steps.contains(step));
    if all.clone().any(|step| common(&step)) {
        return Ok(());
    }
    let named = asked.lines.iter().zip(&per_line);
    let ranges: Vec<String> = named
        .filter_map(|(line, steps)| Some(format!("{} {}", line.name, range(asked, steps)?)))
        .collect();
    Err(ChooseError::Nothing {
        excluded: excluded.to_vec(),
        message: format!(
            "no pump pressure serves all the lines within the limits: {}",
            ranges.join("; ")
        ),
        mend: "try more pump pressures, vary the length of the hose, or leave out the line that differs most".into(),
    })
}

/// "from 120 psi to 150 psi".
fn range(asked: &Asked, steps: &[usize]) -> Option<String> {
    let show = |step: &usize| {
        let pressure = asked.pressures.get(*step)?;
        Some(figure::pressure(*pressure).show(asked.system))
    };
    let (low, high) = (show(steps.first()?)?, show(steps.last()?)?);
    Some(match low == high {
        true => format!("at {low}"),
        false => format!("from {low} to {high}"),
    })
}

fn no_way(asked: &Asked, lines: &Lines, (line, excluded): (usize, &[Excluded])) -> ChooseError {
    let name = asked.lines.get(line).map_or("", |line| line.name);
    let left_out = lines.left_out.get(line);
    let limits = Limit::ALL.into_iter().enumerate();
    let easiest = limits
        .filter_map(|(place, limit)| {
            let miss = left_out?.nearest_alone.get(place).copied().flatten()?;
            Some((limit, miss))
        })
        .filter(|(_, miss)| miss.by.is_finite())
        .min_by(|(_, a), (_, b)| a.by.total_cmp(&b.by));
    let mend = easiest.and_then(|(limit, miss)| {
        let bound = asked.bounds.iter().find(|bound| bound.limit == limit)?;
        relax(asked, bound, missed(asked, line, miss)?)
    });
    ChooseError::Nothing {
        excluded: excluded.to_vec(),
        message: format!("no way to equip line \"{name}\" keeps all the limits"),
        mend: mend.unwrap_or_else(|| {
            "no single limit does it: relax two, or vary other hose, nozzles or lengths".into()
        }),
    }
}

fn relax(asked: &Asked, bound: &Bound, missed: Missed) -> Option<String> {
    let has = missed.gives.get(bound.of);
    let show = |value| limit_figure(asked.book, bound.limit, value).show(asked.system);
    has.is_finite().then(|| {
        format!(
            "relax {} from {} to {}: that leaves {}",
            bound.limit.name(),
            show(bound.may),
            show(has),
            missed.called.text(asked.system)
        )
    })
}

/// Why no combination keeps the limits over all the lines: the fewest kinds, and the
/// lowest price, that can be had.
pub(super) fn nothing_together(asked: &Asked, lines: &Lines, excluded: &[Excluded]) -> ChooseError {
    let least = |aim: Joined, kinds: Option<u32>, price: Option<f64>| {
        let table = Table {
            aims: vec![aim],
            most_kinds: kinds,
            highest_price: price,
            ..lines.table.clone()
        };
        let found = search(&table, &Quiet)?.found;
        found.first()?.costs.first().copied()
    };
    let (kinds, price) = (lines.table.most_kinds, lines.table.highest_price);
    let fewest = kinds.and_then(|_| least(Joined::Kinds, None, price));
    let cheapest = price.and_then(|_| least(Joined::Price, kinds, None));
    let shown = |limit, value| limit_figure(asked.book, limit, value).show(asked.system);
    let mut mends: Vec<String> = Vec::new();
    if let Some(fewest) = fewest {
        mends.push(format!(
            "allow {} kinds of hose and nozzle in place of {}",
            shown(Limit::Kinds, fewest),
            kinds.unwrap_or_default()
        ));
    }
    if let Some(cheapest) = cheapest.filter(|price| *price < super::measure::UNPRICED) {
        mends.push(format!(
            "allow a price of {} in place of {}",
            asked.book.price_text(cheapest),
            asked.book.price_text(price.unwrap_or_default())
        ));
    }
    let each = match (kinds, price) {
        (Some(_), Some(_)) => "the most kinds and the highest price",
        (Some(_), None) => "the most kinds",
        _ => "the highest price",
    };
    if let (Some(_), Some(_), true) = (kinds, price, mends.len() == 2) {
        return ChooseError::Contradiction {
            limits: (Limit::Kinds, Limit::Price),
            message: "the most kinds and the highest price contradict each other: each alone leaves some of the choices, both together leave none".into(),
            mend: mends.join(", or "),
        };
    }
    ChooseError::Nothing {
        excluded: excluded.to_vec(),
        message: format!(
            "every line can be equipped within its limits, but not all of them within {each}"
        ),
        mend: match mends.is_empty() {
            true => "relax both".into(),
            false => mends.join(", or "),
        },
    }
}
