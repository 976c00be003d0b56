//! Rows of what is said, before units are chosen.

use hydraulics::friction::Coefficient;
use hydraulics::units::System;
use study::fact::{Fact, Said};
use study::figure::Figure;

use super::{Column, Entry, Table};
use crate::paper::Units;

/// The head of the column that says where a row comes from.
pub(super) const SOURCE: &str = "source";

/// What is said in one place.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Cell {
    Said(Said),
    /// A friction coefficient, whose form goes by the system.
    C(Coefficient),
    /// A number without unit, and its decimals.
    Bare(f64, usize),
}

/// A row: what is said, each under its name.
#[derive(Debug, Clone, Default)]
pub(super) struct Row(Vec<(String, Cell)>);

impl Row {
    pub fn new() -> Self {
        Row::default()
    }

    pub fn with(self, name: impl Into<String>, said: impl Into<Said>) -> Self {
        self.cell(name, Cell::Said(said.into()))
    }

    /// The same, where there is anything.
    pub fn maybe(self, name: impl Into<String>, said: Option<impl Into<Said>>) -> Self {
        match said {
            Some(said) => self.with(name, said),
            None => self,
        }
    }

    pub fn coefficient(self, name: &str, c: Option<Coefficient>) -> Self {
        match c {
            Some(c) => self.cell(name, Cell::C(c)),
            None => self,
        }
    }

    /// A number without unit.
    pub fn bare(self, name: &str, number: f64, decimals: usize) -> Self {
        self.cell(name, Cell::Bare(number, decimals))
    }

    fn cell(mut self, name: impl Into<String>, cell: Cell) -> Self {
        self.0.push((name.into(), cell));
        self
    }

    pub fn facts(mut self, facts: Vec<Fact>) -> Self {
        let facts = facts.into_iter();
        self.0
            .extend(facts.map(|(name, said)| (name.to_string(), Cell::Said(said))));
        self
    }

    fn under(&self, name: &str) -> Option<&Cell> {
        let found = self.0.iter().find(|(known, _)| known == name);
        found.map(|(_, cell)| cell)
    }
}

/// A table in the making.
#[derive(Debug, Clone)]
pub(super) struct Listing {
    title: String,
    rows: Vec<Row>,
}

impl Listing {
    pub fn new(title: impl Into<String>) -> Self {
        Listing {
            title: title.into(),
            rows: Vec::new(),
        }
    }

    /// Adds a row, and where it comes from.
    pub fn push(&mut self, row: Row, source: &str) {
        self.rows.push(row.with(SOURCE, source));
    }

    /// The table in `units`; `None` without rows. Columns in which nothing is said are
    /// left out. Where the figures of a column have several units, a column of units
    /// stands after it.
    pub fn table(&self, units: Units) -> Option<Table> {
        if self.rows.is_empty() {
            return None;
        }
        let mut made = Made::new(self.title.clone(), self.rows.len());
        let columns: Vec<(&str, Vec<Option<&Cell>>)> = self
            .names()
            .into_iter()
            .map(|name| (name, self.rows.iter().map(|row| row.under(name)).collect()))
            .collect();
        let mut left = columns.as_slice();
        while let Some((first, rest)) = left.split_first() {
            let of_units = units_of(&first.1, units.first());
            let mixed = is_mixed(&of_units);
            let alike = |next: &&(&str, Vec<Option<&Cell>>)| {
                mixed && agree(&of_units, &units_of(&next.1, units.first()))
            };
            let more = rest.iter().take_while(alike).count();
            let run = left.get(..=more).unwrap_or(left);
            made.run(run, mixed, units);
            left = rest.get(more..).unwrap_or_default();
        }
        Some(made.table)
    }

    /// The names, each after the one that it follows in the first row that has it; that
    /// of the source last.
    fn names(&self) -> Vec<&str> {
        let mut names: Vec<&str> = Vec::new();
        for row in &self.rows {
            let mut next = 0;
            for (name, _) in row.0.iter().filter(|(name, _)| name != SOURCE) {
                let known = names.iter().position(|known| known == name);
                let at = known.unwrap_or(next);
                if known.is_none() {
                    names.insert(at, name);
                }
                next = at + 1;
            }
        }
        names.push(SOURCE);
        names
    }
}

/// A number as it is read.
struct Read<'a> {
    value: f64,
    unit: &'a str,
    decimals: usize,
}

impl Cell {
    fn number(&self, system: System) -> Option<Read<'_>> {
        let read = match (self, system) {
            (Cell::Said(Said::Figure(said)), _) => of_figure(said, system),
            (Cell::Said(Said::Count(count)), _) => bare(f64::from(*count), 0),
            (Cell::Bare(value, decimals), _) => bare(*value, *decimals),
            (Cell::C(c), System::Us) => form(c.us_value(), "psi, gpm, ft"),
            (Cell::C(c), System::Si) => form(c.metric_value(), "kPa, L/min, m"),
            _ => return None,
        };
        read.value.is_finite().then_some(read)
    }

    fn entry(&self, system: System) -> Entry {
        match (self.number(system), self) {
            (Some(read), _) => Entry::Number(read.value),
            (None, Cell::Said(said)) => match said {
                Said::Figure(_) => Entry::Nothing,
                other => text(other.show(system)),
            },
            (None, _) => Entry::Nothing,
        }
    }
}

fn text(text: Option<String>) -> Entry {
    match text {
        Some(text) if !text.is_empty() => Entry::Text(text),
        _ => Entry::Nothing,
    }
}

fn of_figure(figure: &Figure, system: System) -> Read<'_> {
    Read {
        value: figure.value(system),
        unit: figure.unit(system),
        decimals: figure.decimals(system),
    }
}

fn bare(value: f64, decimals: usize) -> Read<'static> {
    Read {
        value,
        unit: "",
        decimals,
    }
}

/// A coefficient, to a ten-thousandth as figures are.
fn form(value: f64, unit: &'static str) -> Read<'static> {
    Read {
        value: (value * 1e4).round() / 1e4,
        unit,
        decimals: 1,
    }
}

/// The unit of each cell; `None` where there is no number.
fn units_of<'a>(cells: &[Option<&'a Cell>], system: System) -> Vec<Option<&'a str>> {
    let unit = |cell: &Option<&'a Cell>| cell.and_then(|cell| cell.number(system)).map(|n| n.unit);
    cells.iter().map(unit).collect()
}

fn is_mixed(units: &[Option<&str>]) -> bool {
    let mut there = units.iter().flatten();
    there.next().is_some_and(|first| there.any(|u| u != first))
}

/// Do two columns have the same units, where both have one?
fn agree(one: &[Option<&str>], other: &[Option<&str>]) -> bool {
    let mut pairs = one.iter().zip(other);
    let any = other.iter().any(Option::is_some);
    any && pairs.all(|(a, b)| a.is_none() || b.is_none() || a == b)
}

/// A table as it grows.
struct Made {
    table: Table,
}

impl Made {
    fn new(title: String, rows: usize) -> Self {
        Made {
            table: Table {
                title,
                columns: Vec::new(),
                rows: vec![Vec::new(); rows],
            },
        }
    }

    /// Adds columns that stand or fall together, in each system that shows something
    /// of its own.
    fn run(&mut self, run: &[(&str, Vec<Option<&Cell>>)], mixed: bool, units: Units) {
        let first = columns(run, mixed, units.first());
        let second = units.second().map(|system| columns(run, mixed, system));
        let own = second.filter(|second| {
            let mut pairs = first.iter().zip(second);
            pairs.any(|(a, b)| a.0.unit != b.0.unit || a.1 != b.1)
        });
        first.into_iter().for_each(|column| self.add(column));
        for (mut column, entries) in own.into_iter().flatten() {
            if column.unit.is_none() {
                column.name.push_str(", metric");
            }
            self.add((column, entries));
        }
    }

    fn add(&mut self, (column, entries): (Column, Vec<Entry>)) {
        if entries.iter().all(|entry| *entry == Entry::Nothing) {
            return;
        }
        self.table.columns.push(column);
        for (row, entry) in self.table.rows.iter_mut().zip(entries) {
            row.push(entry);
        }
    }
}

type Filled = (Column, Vec<Entry>);

fn columns(run: &[(&str, Vec<Option<&Cell>>)], mixed: bool, system: System) -> Vec<Filled> {
    let mut all: Vec<Filled> = run
        .iter()
        .map(|(name, cells)| column(name, cells, mixed, system))
        .collect();
    if mixed {
        all.push(unit_column(run, system));
    }
    all
}

fn column(name: &str, cells: &[Option<&Cell>], mixed: bool, system: System) -> Filled {
    let numbers = cells.iter().flatten().filter_map(|c| c.number(system));
    let numbers: Vec<Read<'_>> = numbers.collect();
    let unit = numbers.first().map(|number| number.unit);
    let unit = unit.filter(|unit| !mixed && !unit.is_empty());
    let entry = |cell: &Option<&Cell>| cell.map_or(Entry::Nothing, |c| c.entry(system));
    let column = Column {
        name: name.into(),
        unit: unit.map(String::from),
        decimals: numbers.iter().map(|n| n.decimals).max().unwrap_or(0),
    };
    (column, cells.iter().map(entry).collect())
}

/// The unit of each row of columns that have several.
fn unit_column(run: &[(&str, Vec<Option<&Cell>>)], system: System) -> Filled {
    let all: Vec<Vec<Option<&str>>> = run.iter().map(|(_, c)| units_of(c, system)).collect();
    let rows = all.first().map_or(0, Vec::len);
    let entries = (0..rows).map(|row| {
        let mut here = all
            .iter()
            .filter_map(|units| units.get(row).copied().flatten());
        text(here.next().map(String::from))
    });
    let column = Column {
        name: "unit".into(),
        ..Column::default()
    };
    (column, entries.collect())
}
