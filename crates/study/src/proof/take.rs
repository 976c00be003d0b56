//! A day's readings from a table, a row for each point.

use super::cells::{day_of, time_of, value_of};
use super::columns::{Matching, Role, is_head, match_columns};
use super::model::{Day, Place, Reading, Subject, Test};
use super::named::{Named, named, tip_named};
use super::points;
use crate::intake::{self, Row, RowProblem, Table};
use book::Book;

/// What came out of a table of readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// The rows that could be used.
    pub day: Day,
    /// What each column was taken for.
    pub matching: Matching,
    /// What could not be used, row by row.
    pub problems: Vec<RowProblem>,
    /// How many rows there are.
    pub rows: usize,
    /// How many of them are in `day`.
    pub taken: usize,
}

/// Reads the readings of a day from a CSV or XLSX file: a row for each point, under a
/// head that names its columns. `matching` says what the columns are, where their heads
/// are not to be asked.
///
/// A row is taken whole or not at all. Length, rise, gauges and date may be left blank
/// where they are as in the row before of the same test.
///
/// # Errors
/// [`RowProblem`] when the file holds no table, or none that has readings in it.
///
/// ```
/// let book = book::read(b"[book]\nname = 'Example'\n", "example.toml")?;
/// let csv = b"test,date,flow (gpm),inlet (psi),outlet (psi),length (ft)\n\
///     hose 1.75 in,2026-05-11,161,99,50,200\n\
///     hose 1.75 in,2026-05-11,180,fifty,50,200\n";
/// let taken = study::proof::read_day(csv, "day.csv", &book, None)?;
/// assert_eq!((taken.rows, taken.taken), (2, 1));
/// assert_eq!(
///     taken.problems[0].to_string(),
///     "day.csv, row 3, inlet (psi), \"fifty\": \"fifty\" has no number that can be read \
///      as a pressure; write it as \"150 psi\", or as a number alone: it is taken as psi"
/// );
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn read_day(
    bytes: &[u8],
    name: &str,
    book: &Book,
    matching: Option<&Matching>,
) -> Result<Taken, RowProblem> {
    let table = intake::read(bytes, name, &is_head)?;
    let matching = matching.cloned().unwrap_or_else(|| match_columns(&table));
    let reads = |column: &super::columns::Matched| matches!(column.role, Role::Value(_));
    if !matching.columns.iter().any(reads) {
        let heads: Vec<String> = (0..table.head.len()).map(|c| table.column(c)).collect();
        let problem = RowProblem::file(
            name,
            format!(
                "no column is one of readings; the columns are {}",
                heads.join(", ")
            ),
            "name them by what was read: \"flow (gpm)\", \"inlet (psi)\", \"outlet (psi)\"",
        );
        return Err(problem.in_row(table.head_row));
    }
    Ok(take(&table, &matching, book))
}

/// The readings of `table`, its columns as `matching` has them.
pub fn take(table: &Table, matching: &Matching, book: &Book) -> Taken {
    let mut taking = Taking {
        table,
        matching,
        book,
        day: Day::default(),
    };
    let mut problems: Vec<RowProblem> = matching
        .columns
        .iter()
        .enumerate()
        .filter(|(_, column)| !column.trouble.is_empty())
        .map(|(at, column)| RowProblem {
            file: table.file.clone(),
            row: Some(table.head_row),
            column: table.column(at),
            text: String::new(),
            message: format!("the column is not used: {}", column.trouble),
            mend: "say what it holds, or change its head".into(),
        })
        .collect();
    let mut taken = 0;
    for row in &table.rows {
        match taking.row(row) {
            Ok(()) => taken += 1,
            Err(found) => problems.extend(found),
        }
    }
    Taken {
        day: taking.day,
        matching: matching.clone(),
        problems,
        rows: table.rows.len(),
        taken,
    }
}

struct Taking<'a> {
    table: &'a Table,
    matching: &'a Matching,
    book: &'a Book,
    day: Day,
}

type Refused = Vec<RowProblem>;

impl Taking<'_> {
    /// Takes a row into the day, or says what is wrong with it.
    fn row(&mut self, row: &Row) -> Result<(), Refused> {
        let Named { subject, column } = self.subject(row)?;
        let date = self.date(row, &subject)?;
        let same = |test: &Test| test.subject == subject && test.date == date;
        let at = self.day.tests.iter().position(same);
        let test = at.and_then(|at| self.day.tests.get(at));
        let point = self.point(row, test)?;
        let tip = self
            .tip(row)?
            .or_else(|| test.and_then(|t| t.pitot_tip.clone()));
        let readings = self.readings(row, &subject, point, test)?;
        let missing = points::missing(self.book, &subject, tip.as_deref(), &readings);
        if let Some((what, mend)) = missing {
            return Err(vec![self.table.problem(row, column, what, mend)]);
        }
        let at = at.unwrap_or_else(|| {
            self.day.tests.push(Test {
                subject,
                date,
                pitot_tip: None,
                readings: Vec::new(),
            });
            self.day.tests.len() - 1
        });
        if let Some(test) = self.day.tests.get_mut(at) {
            test.pitot_tip = test.pitot_tip.take().or(tip);
            test.readings.extend(readings);
        }
        Ok(())
    }

    /// The text in the column of `role`; empty where there is none.
    fn text<'r>(&self, row: &'r Row, role: Role) -> &'r str {
        let text = self.matching.column(role).map_or("", |c| row.cell(c));
        match text {
            "-" | "–" | "n/a" | "N/A" => "",
            text => text,
        }
    }

    fn wrong(&self, row: &Row, role: Role, message: String, mend: String) -> Refused {
        let column = self.matching.column(role).unwrap_or_default();
        vec![self.table.problem(row, column, message, mend)]
    }

    fn subject(&self, row: &Row) -> Result<Named, Refused> {
        let kind = self.text(row, Role::Kind);
        let about = self.text(row, Role::Subject);
        let setting = self.text(row, Role::Setting);
        let role = match about {
            "" => Role::Kind,
            _ => Role::Subject,
        };
        let column = self.matching.column(role).unwrap_or_default();
        match named(self.book, kind, about, setting) {
            Ok(subject) => Ok(Named { subject, column }),
            Err((message, mend)) => Err(self.wrong(row, role, message, mend)),
        }
    }

    fn date(&self, row: &Row, subject: &Subject) -> Result<String, Refused> {
        let text = self.text(row, Role::Date);
        if !text.is_empty() {
            let wrong = |(message, mend)| self.wrong(row, Role::Date, message, mend);
            return day_of(text).map_err(wrong);
        }
        let before = self.day.tests.iter().rfind(|test| test.subject == *subject);
        let last = before.or(self.day.tests.last());
        match last
            .map(|test| test.date.as_str())
            .or(Some(&self.matching.date))
        {
            None | Some("") => Err(self.wrong(
                row,
                Role::Date,
                "the day of the test is not told".into(),
                "give it in a column \"date\" as 2026-05-11".into(),
            )),
            Some(date) => Ok(date.into()),
        }
    }

    fn point(&self, row: &Row, test: Option<&Test>) -> Result<u32, Refused> {
        let points = test.into_iter().flat_map(|test| &test.readings);
        let text = self.text(row, Role::Point);
        if text.is_empty() {
            return Ok(points.map(|r| r.point).max().unwrap_or(0).saturating_add(1));
        }
        let mut points = points;
        match text.parse::<u32>() {
            Ok(point) if (1..=100_000).contains(&point) => {
                match points.any(|reading| reading.point == point) {
                    true => Err(self.wrong(
                        row,
                        Role::Point,
                        format!("this test has a point {point} already"),
                        "number the points of a test from 1, each once".into(),
                    )),
                    false => Ok(point),
                }
            }
            _ => Err(self.wrong(
                row,
                Role::Point,
                "this is not the number of a point".into(),
                "write 1, 2, 3, or leave the column out".into(),
            )),
        }
    }

    fn tip(&self, row: &Row) -> Result<Option<String>, Refused> {
        let text = self.text(row, Role::PitotTip);
        if text.is_empty() {
            return Ok(None);
        }
        let wrong = |(message, mend)| self.wrong(row, Role::PitotTip, message, mend);
        tip_named(self.book, text).map(Some).map_err(wrong)
    }

    /// What was read in the row, each with its gauge.
    fn readings(
        &self,
        row: &Row,
        subject: &Subject,
        point: u32,
        test: Option<&Test>,
    ) -> Result<Vec<Reading>, Refused> {
        let (mut readings, mut problems) = (Vec::new(), Vec::new());
        let clock = self.text(row, Role::Time);
        let time = time_of(clock).unwrap_or_else(|(message, mend)| {
            problems.extend(self.wrong(row, Role::Time, message, mend));
            String::new()
        });
        for (column, matched) in self.matching.columns.iter().enumerate() {
            let Role::Value(written) = matched.role else {
                continue;
            };
            let text = self.text(row, matched.role);
            if text.is_empty() {
                continue;
            }
            let Some(place) = points::fits(subject, written) else {
                problems.push(self.table.problem(
                    row,
                    column,
                    format!("a test of {subject} has no {}", written.word()),
                    format!("leave it blank; it has {}", points::list(subject)),
                ));
                continue;
            };
            let unit = self.matching.unit(column);
            let figure = self.table.figure(text);
            match value_of(&figure, place, unit, self.book.units) {
                Ok((value, written)) => readings.push(Reading {
                    point,
                    place,
                    value,
                    written,
                    gauge: String::new(),
                    resolution: None,
                    calibrated: None,
                    time: time.clone(),
                    remark: self.text(row, Role::Remark).into(),
                }),
                Err((message, mend)) => {
                    problems.push(self.table.problem(row, column, message, mend));
                }
            }
        }
        for reading in &mut readings {
            if let Err(found) = self.gauge(row, reading, test) {
                problems.extend(found);
            }
        }
        points::keep_last(&mut readings, subject, point, test);
        match problems.is_empty() {
            true => Ok(readings),
            false => Err(problems),
        }
    }

    /// The gauge of a reading, its step and its calibration.
    fn gauge(&self, row: &Row, reading: &mut Reading, test: Option<&Test>) -> Result<(), Refused> {
        if !points::has_gauge(reading.place) {
            return Ok(());
        }
        let own = |role: fn(Option<Place>) -> Role| {
            // The column may be called as another test calls the place.
            let same = Place::ALL
                .into_iter()
                .filter(|p| points::same(*p, reading.place));
            let mut roles = std::iter::once(Some(reading.place)).chain(same.map(Some));
            let found = roles.find(|place| !self.text(row, role(*place)).is_empty());
            let general = (!self.text(row, role(None)).is_empty()).then_some(None);
            found.or(general).map(role)
        };
        let mut before = test.into_iter().flat_map(|test| test.readings.iter().rev());
        let before = before.find(|other| other.place == reading.place);
        match own(Role::Gauge) {
            Some(role) => reading.gauge = self.gauge_named(row, role, reading.place)?,
            None => {
                if let Some(before) = before {
                    reading.gauge.clone_from(&before.gauge);
                    reading.resolution = before.resolution;
                    reading.calibrated.clone_from(&before.calibrated);
                }
            }
        }
        if let Some(role) = own(Role::Step) {
            let column = self.matching.column(role).unwrap_or_default();
            let figure = self.table.figure(row.cell(column));
            let unit = self.matching.unit(column);
            let step = value_of(&figure, reading.place, unit, self.book.units);
            let step = step.map_err(|(message, mend)| self.wrong(row, role, message, mend))?;
            if step.0 < 0.0 {
                let mend = "write the smallest step that is read from the scale";
                return Err(self.wrong(row, role, "a step is above zero".into(), mend.into()));
            }
            reading.resolution = Some(step.0);
        }
        if let Some(role) = own(Role::Calibrated) {
            let day = day_of(self.text(row, role));
            let day = day.map_err(|(message, mend)| self.wrong(row, role, message, mend))?;
            reading.calibrated = Some(day);
        }
        Ok(())
    }

    fn gauge_named(&self, row: &Row, role: Role, place: Place) -> Result<String, Refused> {
        let text = self.text(row, role);
        let names = self.book.gauge.iter();
        let called = |name: &str, serial: Option<&str>| {
            name.eq_ignore_ascii_case(text) || serial.is_some_and(|s| s.eq_ignore_ascii_case(text))
        };
        let found = names
            .clone()
            .find(|(name, item)| called(name, item.serial.as_deref()));
        let Some((name, item)) = found else {
            let have: Vec<&str> = names.map(|(name, _)| name.as_str()).take(12).collect();
            let have = match have.as_slice() {
                [] => "none".to_string(),
                have => have.join(", "),
            };
            return Err(self.wrong(
                row,
                role,
                "the book has no gauge of this name or serial number".into(),
                format!("its gauges are: {have}; write the gauge into the book, or leave it blank"),
            ));
        };
        if item.is_flow() != (place == Place::Flow) {
            let is = match item.is_flow() {
                true => "a flow meter",
                false => "a pressure gauge",
            };
            return Err(self.wrong(
                row,
                role,
                format!(
                    "this is {is}, and here it is said to read the {}",
                    place.word()
                ),
                "name the gauge that was there".into(),
            ));
        }
        Ok(name.clone())
    }
}
