//! The tables of lines.

use book::{Book, Conditions, Layout};
use hydraulics::units::System;
use study::answer::{LineAnswer, PartAnswer, TipAnswer, regime_word};
use study::ask::ChartAsked;
use study::figure::{self, Figure};
use study::{Chart, ChartTable, Next, StudyError};

use super::listing::{Listing, Row};
use super::written::{agrees, coefficients, joined, notice, of_part};
use super::{Table, Tables, drawing};
use crate::paper::Units;
use crate::sheet::common::{cautions, gating, makes_foam, no_answer};

/// The tables of `line` as `conditions` have it: pump, tips, parts, coefficients, notices,
/// what happens next, its drawings; and its pump chart as the book has it. A line without
/// an answer has its notices and no figures.
///
/// # Errors
/// [`StudyError`] when the book has no such line, or it cannot be laid out so.
pub fn of_line(
    book: &Book,
    line: &str,
    conditions: &Conditions,
    units: Units,
) -> Result<Tables, StudyError> {
    let mut lines = Lines::new(book, units);
    let answer = lines.add(line, conditions)?;
    let layout = book::layout(book, line, conditions)?;
    let mut tables = lines.tables();
    if no_answer(&answer).is_none() {
        tables.extend(drawings(&layout, &answer, units));
    }
    Ok(Tables {
        subject: format!("Line {line}"),
        department: book.name.clone(),
        invented: book.about.invented,
        units,
        cautions: cautions(makes_foam(&answer)),
        tables,
    })
}

/// The tables of several lines in the making.
pub(super) struct Lines<'a> {
    book: &'a Book,
    units: Units,
    pumps: Listing,
    tips: Listing,
    parts: Listing,
    hose: Listing,
    gates: Listing,
    eductors: Listing,
    chart: Listing,
    next: Listing,
    notices: Listing,
    pub foam: bool,
}

impl<'a> Lines<'a> {
    pub fn new(book: &'a Book, units: Units) -> Self {
        Lines {
            book,
            units,
            pumps: Listing::new("Lines"),
            tips: Listing::new("Tips"),
            parts: Listing::new("Parts"),
            hose: Listing::new("Hose coefficients"),
            gates: Listing::new("Gating"),
            eductors: Listing::new("Eductors"),
            chart: Listing::new("Pump chart"),
            next: Listing::new("What next"),
            notices: Listing::new("Notices"),
            foam: false,
        }
    }

    pub fn tables(self) -> Vec<Table> {
        let all = [
            self.pumps,
            self.tips,
            self.parts,
            self.hose,
            self.gates,
            self.eductors,
            self.chart,
            self.next,
            self.notices,
        ];
        let units = self.units;
        all.iter().filter_map(|one| one.table(units)).collect()
    }

    /// Adds what `line` gives, and gives it back.
    pub fn add(&mut self, line: &str, conditions: &Conditions) -> Result<LineAnswer, StudyError> {
        let answer = study::solve(self.book, line, conditions)?;
        let source = coefficients(&answer.coefficients, &answer.items, self.units);
        for one in &answer.notices {
            let row = Row::new().with("line", line);
            self.notices.push(notice(row, one, self.units), &source);
        }
        coefficient_rows(&mut self.hose, ("line", line), &answer.coefficients);
        self.foam |= makes_foam(&answer);
        match no_answer(&answer) {
            Some(why) => self.unanswered(line, &why.text, &source),
            None => self.answered(&answer, conditions, &source),
        }
        Ok(answer)
    }

    /// Says that `line` has no answer.
    pub fn unanswered(&mut self, line: &str, why: &str, source: &str) {
        let row = Row::new().with("line", line);
        self.pumps
            .push(row.with("answer", format!("none: {why}")), source);
    }

    fn answered(&mut self, answer: &LineAnswer, conditions: &Conditions, source: &str) {
        self.pumps.push(pump(answer, self.units.first()), source);
        let ranges = answer.spread.iter().flat_map(|spread| &spread.flows);
        let mut ranges = ranges.map(|&(low, high)| (figure::flow(low), figure::flow(high)));
        for tip in &answer.tips {
            let row = Row::new().with("line", tip.line.as_str());
            let from = of_part(
                self.book,
                ("nozzle", &tip.nozzle),
                &answer.coefficients,
                self.units,
            );
            self.tips.push(
                tip_row(row, tip, ranges.next()),
                &joined([from, source.into()]),
            );
        }
        for part in &answer.parts {
            let row = Row::new().with("line", part.line.as_str());
            let kind = (part.kind, part.name.as_str());
            let from = of_part(self.book, kind, &answer.coefficients, self.units);
            self.parts.push(part_row(row, part), &from);
        }
        let advice = answer.gating.iter().flat_map(|g| gating(g, self.units));
        for words in advice {
            let row = Row::new().with("line", answer.line.as_str());
            self.gates.push(row.with("what to do", words), source);
        }
        for eductor in &answer.eductors {
            self.eductors
                .push(Row::new().facts(eductor.facts()), source);
        }
        self.charted(answer, source);
        self.what_next(answer, conditions, source);
    }

    fn charted(&mut self, answer: &LineAnswer, source: &str) {
        let line = answer.line.as_str();
        let first = self.units.first();
        let chart = match ChartAsked::default().of(self.book, line, first) {
            Ok(chart) => chart,
            Err(error) => {
                let why = format!("none: {error}");
                let row = Row::new().with("line", line).with("answer", why);
                return self.chart.push(row, source);
            }
        };
        let from = coefficients(&chart.coefficients, &chart.items, self.units);
        for table in &chart.tables {
            chart_rows(&mut self.chart, &chart, table, &from);
        }
    }

    fn what_next(&mut self, answer: &LineAnswer, conditions: &Conditions, source: &str) {
        let line = answer.line.as_str();
        let first = self.units.first();
        match study::what_next(self.book, line, conditions, first) {
            Ok(next) => {
                for one in &next {
                    next_rows(&mut self.next, line, one, source);
                }
            }
            Err(error) => {
                let row = Row::new().with("line", line);
                let row = row.with("nothing can be said", error.to_string());
                self.next.push(row, source);
            }
        }
    }
}

fn pump(answer: &LineAnswer, system: System) -> Row {
    let spread = answer.spread.as_ref().map(|spread| spread.pump_pressure);
    let residual = &answer.residual;
    Row::new()
        .with("line", answer.line.as_str())
        .maybe("title", answer.title.as_deref())
        .maybe("rig", answer.rig.as_deref())
        .with("pump pressure", figure::pressure(answer.pump_pressure))
        .with("pump pressure is", answer.basis_words())
        .with("flow", figure::flow(answer.flow))
        .maybe(
            "pump pressure at the lowest published C",
            spread.map(|(low, _)| figure::pressure(low)),
        )
        .maybe(
            "pump pressure at the highest published C",
            spread.map(|(_, high)| figure::pressure(high)),
        )
        .with(
            "flows agree to",
            agrees(figure::flow(residual.flow), system),
        )
        .with(
            "pressures agree to",
            agrees(figure::pressure(residual.pressure), system),
        )
}

/// What the crew gets at a tip; `range` is the flow over the published spread.
pub(super) fn tip_row(row: Row, tip: &TipAnswer, range: Option<(Figure, Figure)>) -> Row {
    let band = tip.band;
    let mut row = row
        .with("place", tip.place.as_str())
        .with("nozzle", tip.nozzle.as_str())
        .maybe("setting", tip.setting.as_deref())
        .with("flow", figure::flow(tip.flow))
        .maybe("flow at the highest published C", range.map(|r| r.0))
        .maybe("flow at the lowest published C", range.map(|r| r.1))
        .with("tip pressure", figure::pressure(tip.tip_pressure))
        .with("reaction, formula value", figure::force(tip.reaction))
        .with("reaction by", tip.reaction_form)
        .with("reaction by momentum", figure::force(tip.reaction_momentum))
        .with("takes", tip.takes())
        .with("effective reach", figure::length(tip.effective_reach))
        .with("maximum throw", figure::length(tip.maximum_throw))
        .maybe("range of the nozzle", tip.regime.map(regime_word))
        .maybe("flow, last opening", band.map(|b| figure::flow(b.0)))
        .maybe("flow, last closing", band.map(|b| figure::flow(b.1)));
    if let Some(foam) = &tip.attachment {
        row = row
            .with("attachment", foam.name.as_str())
            .bare("expansion", foam.expansion.value, 1)
            .with("foam", figure::flow(foam.foam));
    }
    for (name, figure) in &tip.aim {
        row = row.with(format!("aim: {}", name.replace('_', " ")), *figure);
    }
    row.maybe("aim met", tip.aim_met)
}

pub(super) fn part_row(row: Row, part: &PartAnswer) -> Row {
    let pressure = |at: Option<_>| at.map(figure::pressure);
    row.with("place", part.place.as_str())
        .with("kind", part.kind)
        .with("part", part.name.as_str())
        .maybe("length", part.length.map(figure::length))
        .with("flow", figure::flow(part.flow))
        .maybe("pressure in", pressure(part.pressure_in))
        .maybe("pressure out", pressure(part.pressure_out))
}

/// Which coefficient was used for each hose, and why.
pub(super) fn coefficient_rows(
    listing: &mut Listing,
    (what, name): (&str, &str),
    used: &[study::answer::CoefficientUsed],
) {
    use hydraulics::friction::Friction;
    for coefficient in used {
        let row = Row::new()
            .with(what, name)
            .with("hose", coefficient.hose.as_str());
        let row = match coefficient.used.friction {
            Friction::Coefficient(c) => row.with("law", "C").coefficient("C", Some(c)),
            Friction::DarcyWeisbach { bore, roughness } => row
                .with("law", "Darcy-Weisbach")
                .with("bore", figure::size(bore))
                .with("roughness", figure::size(roughness).fine()),
            Friction::HazenWilliams { bore, c } => row
                .with("law", "Hazen-Williams")
                .with("bore", figure::size(bore))
                .bare("Hazen-Williams c", c.value, 0),
        };
        let row = row
            .coefficient("lowest published C", coefficient.spread.map(|s| s.0))
            .coefficient("highest published C", coefficient.spread.map(|s| s.1))
            .with("measured", coefficient.used.measured)
            .with("because", coefficient.used.why);
        let kind = match coefficient.used.measured {
            true => "Measured",
            false => "Book value",
        };
        listing.push(row, &format!("{kind}: {}", coefficient.used.source));
    }
}

fn chart_rows(listing: &mut Listing, chart: &Chart, table: &ChartTable, source: &str) {
    for (&length, cells) in chart.lengths.iter().zip(&table.rows) {
        for (&rise, cell) in chart.rises.iter().zip(cells) {
            let row = Row::new()
                .with("line", chart.line.as_str())
                .maybe("setting", table.setting.as_deref())
                .with("hose", chart.hose.as_str())
                .with("length", figure::length(length))
                .with("rise", figure::length(rise))
                .with("flow", figure::flow(table.flow));
            let row = match cell.pump_pressure {
                Some(pressure) => row.with("pump pressure", figure::pressure(pressure)),
                None => row.with(
                    "pump pressure",
                    "none: no pressure does, or an eductor would draw nothing",
                ),
            };
            let row = row
                .with("over the limit", cell.over)
                .maybe("department's ceiling", chart.ceiling.map(figure::pressure));
            listing.push(row, source);
        }
    }
}

fn next_rows(listing: &mut Listing, line: &str, next: &Next, source: &str) {
    let start = || {
        Row::new()
            .with("line", line)
            .with("what happens", next.title.as_str())
            .with("where", next.place.as_str())
    };
    let new = next.notices.iter().map(|n| n.text.as_str());
    let new: Vec<&str> = new.collect();
    let words = next.words.join(" ");
    for gain in &next.figures {
        let row = start()
            .with("figure", &*gain.name)
            .with("whose", gain.place.as_str())
            .maybe("before", gain.before)
            .with("after", gain.after)
            .with("comes new", new.join("; "))
            .with("to mind", words.as_str());
        listing.push(row, source);
    }
    if next.figures.is_empty() {
        let row = start()
            .with("comes new", new.join("; "))
            .with("to mind", words.as_str())
            .maybe("nothing can be said", next.refused.as_deref());
        listing.push(row, source);
    }
}

/// The points of the line's drawings.
fn drawings(layout: &Layout, answer: &LineAnswer, units: Units) -> Vec<Table> {
    let source = coefficients(&answer.coefficients, &answer.items, units);
    let mut all = drawing::of("Pressure along the line", &source, units, |system| {
        Some(picture::profile(layout, answer, system))
    });
    all.extend(drawing::of("Pump and line", &source, units, |system| {
        picture::operating(layout, answer, system)
    }));
    for (laid, tip) in layout.tips.iter().zip(&answer.tips) {
        if tip.flow.value <= 0.0 || tip.attachment.is_some() {
            continue;
        }
        let stream = study::stream_of(laid, tip.flow, tip.tip_pressure);
        let called = tip.called();
        all.extend(drawing::of(
            &format!("Stream of {called}"),
            &source,
            units,
            |system| Some(picture::stream(&called, &stream, None, system)),
        ));
    }
    all
}
