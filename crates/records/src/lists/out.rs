//! A department's equipment as a list.

use super::Field;
use crate::equipment::{Equipment, Trial};
use paper::PaperError;
use paper::tables::{Column, Entry, Table};

/// `equipment` as a table, in the columns that a list is read by.
pub fn table(equipment: &[Equipment]) -> Table {
    let fields = Field::ALL.into_iter().filter(|field| *field != Field::Size);
    let fields: Vec<Field> = fields.collect();
    let column = |field: &Field| Column {
        name: field.head().into(),
        unit: None,
        decimals: 0,
    };
    let row = |piece: &Equipment| fields.iter().map(|field| entry(piece, *field)).collect();
    Table {
        title: "Equipment".into(),
        columns: fields.iter().map(column).collect(),
        rows: equipment.iter().map(row).collect(),
    }
}

/// The same as CSV. Read back by [`super::list`] it says the same; who entered a test,
/// and earlier tests, are not in it.
///
/// # Errors
/// [`PaperError`] when it cannot be written.
pub fn csv(equipment: &[Equipment]) -> Result<Vec<u8>, PaperError> {
    table(equipment).csv()
}

fn entry(piece: &Equipment, field: Field) -> Entry {
    let (new, trial) = (&piece.new, piece.trial.as_ref());
    let of_trial = |get: fn(&Trial) -> &str| trial.map_or("", get).to_string();
    let retired = piece.retired.as_ref();
    let text = match field {
        Field::Serial => new.serial.clone(),
        Field::Kind => new.gear.word().into(),
        Field::Size => String::new(),
        Field::Item => new.item.clone(),
        Field::Title => new.title.clone(),
        Field::Since => new.since.clone(),
        Field::Months => return Entry::Number(f64::from(new.months)),
        Field::Tested => of_trial(|trial| &trial.date),
        Field::Result => of_trial(|trial| match trial.passed {
            true => "passed",
            false => "failed",
        }),
        Field::Remark => of_trial(|trial| &trial.remark),
        Field::Retired => retired.map_or_else(String::new, |(day, _)| day.clone()),
        Field::RetiredWhy => retired.map_or_else(String::new, |(_, why)| why.clone()),
    };
    match text.is_empty() {
        true => Entry::Nothing,
        false => Entry::Text(text),
    }
}
