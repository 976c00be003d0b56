//! The cells of a row, read one by one.

use super::date::day;
use super::{Field, Listed, Matching, Tested, Ways};
use crate::equipment::{Gear, NewEquipment};
use book::{Book, HoseSize, catalogue};
use study::intake::{Row, RowProblem, Table};

/// Hose and nozzles are tested each year, and a gauge is calibrated each year: from
/// memory, local rules decide.
const MONTHS: u16 = 12;

/// Longest text that is taken from a cell.
const TEXT_LIMIT: usize = 200;

pub(super) struct Cells<'a> {
    pub table: &'a Table,
    pub matching: &'a Matching,
    pub ways: &'a Ways,
    pub book: &'a Book,
    pub problems: Vec<RowProblem>,
}

impl<'a> Cells<'a> {
    /// What stands in a cell; empty where no column is taken for `field`. What was
    /// written with an apostrophe, so that no spreadsheet takes it for a formula, is
    /// without it.
    pub fn text(&self, row: &'a Row, field: Field) -> &'a str {
        let column = self.matching.column(field);
        let text = column.map_or("", |column| row.cell(column)).trim();
        match text.strip_prefix('\'') {
            Some(rest) if rest.trim_start().starts_with(FORMULA) => rest,
            _ => text,
        }
    }

    pub fn problem(
        &mut self,
        row: &Row,
        field: Field,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) {
        let problem = match self.matching.column(field) {
            Some(column) => self.table.problem(row, column, message, mend),
            None => RowProblem::file(&self.table.file, message, mend).in_row(row.number),
        };
        self.problems.push(problem);
    }

    /// What a row says; `None` where it cannot be read, with a problem for each cell.
    pub fn row(&mut self, row: &'a Row) -> Option<Listed> {
        let serial = self.serial(row);
        let gear = self.gear(row);
        let item = gear.and_then(|gear| self.item(row, gear));
        let months = self.months(row);
        let tested = self.tested(row);
        let since = self.since(row, tested.as_ref());
        let retired = self.retired(row);
        let mut title = self.plain(row, Field::Title);
        let (item, size) = item?;
        // A size that no hose of the book has is not lost.
        if let (Some(size), true) = (size, title.is_empty()) {
            title = size;
        }
        Some(Listed {
            row: row.number,
            new: NewEquipment {
                serial: serial?,
                gear: gear?,
                item,
                title,
                since: since?,
                months: months?,
            },
            tested,
            retired,
        })
    }

    fn serial(&mut self, row: &'a Row) -> Option<String> {
        let serial = self.plain(row, Field::Serial);
        if serial.is_empty() {
            let message = "no number is written";
            self.problem(
                row,
                Field::Serial,
                message,
                "write the number that stands on the piece",
            );
            return None;
        }
        Some(serial)
    }

    /// A text that is kept as it is.
    fn plain(&mut self, row: &'a Row, field: Field) -> String {
        let text = self.text(row, field);
        if text.chars().count() > TEXT_LIMIT {
            let message = format!("this is longer than {TEXT_LIMIT} letters");
            self.problem(row, field, message, "write it in short");
        }
        text.into()
    }

    fn gear(&mut self, row: &'a Row) -> Option<Gear> {
        let text = self.text(row, Field::Kind).to_lowercase();
        if text.is_empty() && self.ways.gear.is_some() {
            return self.ways.gear;
        }
        let word = |of: &[&str]| {
            let mut words = text.split(|c: char| !c.is_alphanumeric());
            words.any(|word| of.contains(&word))
        };
        if word(&["gauge", "gauges", "gage", "meter", "flowmeter", "pitot"]) {
            return Some(Gear::Gauge);
        }
        if word(&["nozzle", "nozzles", "tip", "branchpipe", "branch"]) {
            return Some(Gear::Nozzle);
        }
        if word(&["hose", "hoses", "length"]) {
            return Some(Gear::Hose);
        }
        let message = match text.as_str() {
            "" => "it is not said what the piece is".to_string(),
            text => format!("\"{text}\" is neither hose, nor nozzle, nor gauge"),
        };
        self.problem(row, Field::Kind, message, "write hose, nozzle or gauge");
        None
    }

    /// The item of the book, empty where none is meant, and the size where no item has
    /// it.
    fn item(&mut self, row: &'a Row, gear: Gear) -> Option<(String, Option<String>)> {
        let item = self.text(row, Field::Item);
        let size = self.size(row)?;
        let known: Vec<&str> = names(self.book, gear);
        if item.is_empty() {
            return match (gear, &size) {
                (Gear::Hose, Some(size)) => self.hose_of(row, size),
                (_, size) => Some((String::new(), size.as_ref().map(|s| s.text().to_string()))),
            };
        }
        let Some(name) = known.iter().find(|name| name.eq_ignore_ascii_case(item)) else {
            let own: Vec<&str> = own(self.book, gear).into_iter().take(12).collect();
            let mend = match own.as_slice() {
                [] => format!(
                    "leave it empty, or put the {} into the book first",
                    gear.word()
                ),
                own => format!(
                    "write one of the book's: {}; or leave it empty",
                    own.join(", ")
                ),
            };
            let message = format!("the book has no {} \"{item}\"", gear.word());
            self.problem(row, Field::Item, message, mend);
            return None;
        };
        let of_book = self.book.hose(name).filter(|_| gear == Gear::Hose);
        if let (Some(size), Some(hose)) = (&size, of_book)
            && !size.is(hose.item)
        {
            let message = format!(
                "hose \"{name}\" of the book is {}, and not {}",
                hose.item.size.text(),
                size.text()
            );
            self.problem(
                row,
                Field::Size,
                message,
                "correct the size, or name another hose",
            );
            return None;
        }
        Some(((*name).to_string(), None))
    }

    /// The one hose of the book of this size.
    fn hose_of(&mut self, row: &'a Row, size: &HoseSize) -> Option<(String, Option<String>)> {
        let of_size = self.book.hose.iter().filter(|(_, hose)| size.is(hose));
        let names: Vec<&str> = of_size.map(|(name, _)| name.as_str()).collect();
        match names.as_slice() {
            [] => Some((String::new(), Some(format!("{} hose", size.text())))),
            [only] => Some(((*only).to_string(), None)),
            several => {
                let message = format!("the book has several hoses of {}", size.text());
                let mend = format!("name the one that it is: {}", several.join(", "));
                self.problem(row, Field::Item, message, mend);
                None
            }
        }
    }

    /// The size, `Some(None)` where none is written. A bare number is in the unit of
    /// the column's head, else of the book.
    fn size(&mut self, row: &'a Row) -> Option<Option<HoseSize>> {
        let text = self.text(row, Field::Size);
        if text.is_empty() {
            return Some(None);
        }
        let column = self.matching.column(Field::Size);
        let head = column.map(|column| self.table.column(column).to_lowercase());
        let head = head.unwrap_or_default();
        let said = |unit: &str| {
            head.split(|c: char| !c.is_alphanumeric())
                .any(|w| w == unit)
        };
        let figure = self.table.figure(text);
        let bare = !figure.contains(|c: char| c.is_alphabetic() || "\"'".contains(c));
        let written = match (said("mm"), said("in") || said("inch") || said("inches")) {
            (true, false) if bare => format!("{figure} mm"),
            (false, true) if bare => format!("{figure} in"),
            _ => figure,
        };
        match HoseSize::read(&written, self.book) {
            Ok(size) => Some(Some(size)),
            Err(message) => {
                self.problem(row, Field::Size, message, "write it as 1.75 in or 45 mm");
                None
            }
        }
    }

    fn months(&mut self, row: &'a Row) -> Option<u16> {
        let text = self.text(row, Field::Months).to_lowercase();
        if text.is_empty() {
            return Some(MONTHS);
        }
        let end = text
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(text.len());
        let (number, unit) = text.split_at(end);
        // A spreadsheet may write 12 as 12.0.
        let unit = unit.trim_start_matches(".0").trim();
        let each = match unit {
            "" | "m" | "mo" | "mos" | "month" | "months" => Some(1),
            "y" | "yr" | "yrs" | "year" | "years" => Some(12),
            _ => None,
        };
        let read = match (number, unit) {
            ("", "yearly" | "annual" | "annually" | "every year" | "year") => Some(12),
            ("", "half-yearly" | "twice a year" | "semiannual" | "semi-annual") => Some(6),
            ("", "quarterly") => Some(3),
            ("", "monthly") => Some(1),
            _ => number
                .parse::<u16>()
                .ok()
                .zip(each)
                .and_then(|(number, each)| number.checked_mul(each)),
        };
        let read = read.filter(|months| (1..=600).contains(months));
        if read.is_none() {
            let message = format!("\"{text}\" is no time of 1 to 600 months");
            self.problem(row, Field::Months, message, "write it in months, as 12");
        }
        read
    }

    fn day(&mut self, row: &'a Row, field: Field) -> Option<String> {
        let text = self.text(row, field);
        if text.is_empty() {
            return None;
        }
        match day(text, self.ways.order) {
            Err((message, mend)) => {
                self.problem(row, field, message, mend);
                None
            }
            Ok(day) if day > self.ways.today && !self.ways.today.is_empty() => {
                let message = format!("{day} is after today, {}", self.ways.today);
                self.problem(
                    row,
                    field,
                    message,
                    "check the date, and which comes first in it",
                );
                None
            }
            Ok(day) => Some(day),
        }
    }

    fn tested(&mut self, row: &'a Row) -> Option<Tested> {
        let result = self.text(row, Field::Result).to_lowercase();
        let remark = self.plain(row, Field::Remark);
        let written = !self.text(row, Field::Tested).is_empty();
        let Some(date) = self.day(row, Field::Tested) else {
            if !written && !result.is_empty() && self.passed(&result).is_some() {
                let message = "a result is written, but no day of the test";
                self.problem(
                    row,
                    Field::Result,
                    message,
                    "write the day, or leave both empty",
                );
            }
            return None;
        };
        let passed = self.passed(&result);
        if passed.is_none() {
            let message = match result.as_str() {
                "" => "it is not said whether it passed".to_string(),
                other => format!("\"{other}\" is neither passed nor failed"),
            };
            let mend = "write passed or failed, or say that tests without a result were passed";
            self.problem(row, Field::Result, message, mend);
        }
        Some(Tested {
            date,
            passed: passed?,
            remark,
        })
    }

    fn passed(&self, result: &str) -> Option<bool> {
        match result {
            "" if self.ways.passed => Some(true),
            "pass" | "passed" | "p" | "ok" | "yes" | "y" | "good" | "true" | "in service" => {
                Some(true)
            }
            "fail" | "failed" | "f" | "no" | "n" | "bad" | "false" | "out of service" => {
                Some(false)
            }
            _ => None,
        }
    }

    fn since(&mut self, row: &'a Row, tested: Option<&Tested>) -> Option<String> {
        if !self.text(row, Field::Since).is_empty() {
            return self.day(row, Field::Since);
        }
        let known = tested.map(|tested| tested.date.clone());
        let since = known.or_else(|| self.ways.since.clone());
        if since.is_none() && self.text(row, Field::Tested).is_empty() {
            let message = "it is not said since when it is in service, nor when it was tested";
            let mend = "write the day, or say a day for all rows that have none";
            self.problem(row, Field::Since, message, mend);
        }
        since
    }

    fn retired(&mut self, row: &'a Row) -> Option<(String, String)> {
        let why = self.plain(row, Field::RetiredWhy);
        self.day(row, Field::Retired).map(|day| (day, why))
    }
}

/// What begins a formula, and its wide forms.
const FORMULA: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];

/// The book's own items that a piece may be.
fn own(book: &Book, gear: Gear) -> Vec<&str> {
    match gear {
        Gear::Hose => book.hose.keys().map(String::as_str).collect(),
        Gear::Nozzle => book.nozzle.keys().map(String::as_str).collect(),
        Gear::Gauge => book.gauge.keys().map(String::as_str).collect(),
    }
}

/// The same, and what the catalogue has beside them.
fn names(book: &Book, gear: Gear) -> Vec<&str> {
    let mut names = own(book, gear);
    names.extend(own(catalogue(), gear));
    names
}
