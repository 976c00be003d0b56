//! The tables of drawings: figures that are written with their units become numbers.

use hydraulics::units::System;
use picture::Drawing;

use super::listing::SOURCE;
use super::{Column, Entry, Table};
use crate::paper::Units;

/// The table of what `draw` draws, in `units`. Where both systems are asked for and their
/// points are not the same, there are two tables.
pub(super) fn of(
    title: &str,
    source: &str,
    units: Units,
    draw: impl Fn(System) -> Option<Drawing>,
) -> Vec<Table> {
    let read = |system| draw(system).map(|drawing| read(title, &drawing.table));
    let Some(mut first) = read(units.first()) else {
        return Vec::new();
    };
    let second = units.second().and_then(read);
    let mut all = Vec::new();
    match second {
        Some(second) if fits(&first, &second) => add(&mut first, second),
        Some(mut second) => {
            second.title.push_str(", metric");
            all.push(second);
        }
        None => {}
    }
    all.insert(0, first);
    all.retain(|table| !table.rows.is_empty());
    all.iter_mut().for_each(|table| sourced(table, source));
    all
}

/// Do two tables of the same drawing have the same points?
fn fits(one: &Table, other: &Table) -> bool {
    let texts = |table: &Table| -> Vec<Vec<bool>> {
        let is_text = |entry: &Entry| !matches!(entry, Entry::Number(_));
        let rows = table.rows.iter();
        rows.map(|row| row.iter().map(is_text).collect()).collect()
    };
    texts(one) == texts(other)
}

/// Adds to `table` the columns of `other` that are in other units.
fn add(table: &mut Table, other: Table) {
    let own: Vec<usize> = table
        .columns
        .iter()
        .zip(&other.columns)
        .enumerate()
        .filter(|(_, (a, b))| a.unit != b.unit)
        .map(|(at, _)| at)
        .collect();
    let pick = |at: &usize| other.columns.get(*at).cloned();
    table.columns.extend(own.iter().filter_map(pick));
    for (row, more) in table.rows.iter_mut().zip(&other.rows) {
        row.extend(own.iter().filter_map(|at| more.get(*at).cloned()));
    }
}

fn sourced(table: &mut Table, source: &str) {
    table.columns.push(Column {
        name: SOURCE.into(),
        ..Column::default()
    });
    for row in &mut table.rows {
        row.push(Entry::Text(source.into()));
    }
}

fn read(title: &str, drawn: &picture::Table) -> Table {
    let mut table = Table {
        title: title.into(),
        columns: Vec::new(),
        rows: vec![Vec::new(); drawn.rows.len()],
    };
    for (at, head) in drawn.head.iter().enumerate() {
        let texts = drawn.rows.iter();
        let texts: Vec<&str> = texts
            .map(|row| row.get(at).map_or("", String::as_str))
            .collect();
        let (column, entries) = column(head, &texts);
        table.columns.push(column);
        for (row, entry) in table.rows.iter_mut().zip(entries) {
            row.push(entry);
        }
    }
    table
}

/// Numbers where all figures of the column have the same unit, texts otherwise.
fn column(head: &str, texts: &[&str]) -> (Column, Vec<Entry>) {
    let figures: Vec<Option<Figure<'_>>> = texts.iter().map(|text| figure(text)).collect();
    let mut there = figures.iter().flatten();
    let unit = there.next().map(|figure| figure.unit);
    let same = there.all(|figure| Some(figure.unit) == unit);
    let entries = texts
        .iter()
        .zip(&figures)
        .map(|(text, figure)| match figure {
            Some(figure) if same => Entry::Number(figure.value),
            _ if text.is_empty() => Entry::Nothing,
            _ => Entry::Text((*text).into()),
        });
    let entries = entries.collect();
    let decimals = figures.iter().flatten().map(|f| f.decimals).max();
    let column = Column {
        name: head.into(),
        unit: unit
            .filter(|unit| same && !unit.is_empty())
            .map(String::from),
        decimals: decimals.unwrap_or(0),
    };
    (column, entries)
}

struct Figure<'a> {
    value: f64,
    unit: &'a str,
    decimals: usize,
}

/// "151.9 gpm" as a number and its unit.
fn figure(text: &str) -> Option<Figure<'_>> {
    let (number, unit) = text.split_once(' ').unwrap_or((text, ""));
    let plain = number.replace('\u{2212}', "-");
    let digits = plain.strip_prefix('-').unwrap_or(&plain);
    let sound = digits.starts_with(|c: char| c.is_ascii_digit())
        && digits.chars().all(|c| c.is_ascii_digit() || c == '.');
    let value = plain
        .parse()
        .ok()
        .filter(|_| sound && !unit.contains(' '))?;
    let decimals = digits.split_once('.').map_or(0, |(_, after)| after.len());
    Some(Figure {
        value,
        unit,
        decimals,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_become_numbers_under_their_unit() {
        let (column, entries) = column("flow", &["625 gpm", "\u{2212}2.5 gpm", "", "none"]);
        assert_eq!(column.head(), "flow (gpm)");
        assert_eq!(column.decimals, 1);
        assert_eq!(
            entries,
            [
                Entry::Number(625.0),
                Entry::Number(-2.5),
                Entry::Nothing,
                Entry::Text("none".into())
            ]
        );
    }

    #[test]
    fn what_is_no_figure_of_one_unit_stays_as_it_is_written() {
        let (mixed, entries) = column("now", &["625 gpm", "20 psi"]);
        assert_eq!(mixed.unit, None);
        assert_eq!(entries.first(), Some(&Entry::Text("625 gpm".into())));
        for text in ["part 2", "1-3/4 in", "70 gpm to 200 gpm", "2026-05-11", "-"] {
            assert!(figure(text).is_none(), "{text}");
        }
    }
}
