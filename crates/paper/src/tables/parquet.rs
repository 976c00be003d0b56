//! Tables as Parquet: plain columns, not compressed, units in the names of the columns
//! and in the file's metadata.

use std::sync::Arc;

use parquet::basic::{ConvertedType, LogicalType, Repetition, Type as Physical};
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::Type;

use super::{Column, Entry, Stamp, Table, Tables, about};
use crate::paper::PaperError;

impl From<ParquetError> for PaperError {
    fn from(error: ParquetError) -> Self {
        PaperError::Workbook(error.to_string())
    }
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Holds {
    Texts,
    Whole,
    Numbers,
}

pub(super) fn of(tables: &Tables, table: &Table, stamp: &Stamp) -> Result<Vec<u8>, PaperError> {
    let names = names(table);
    let holds: Vec<Holds> = (0..table.columns.len()).map(|at| held(table, at)).collect();
    let fields = names
        .iter()
        .zip(&holds)
        .map(|(name, holds)| field(name, *holds));
    let fields = fields.collect::<Result<Vec<_>, _>>()?;
    let schema = Type::group_type_builder("rows")
        .with_fields(fields)
        .build()?;
    let properties = WriterProperties::builder()
        .set_created_by("Handline".into())
        .set_key_value_metadata(Some(metadata(tables, table, &names, stamp)?))
        .build();
    let mut bytes = Vec::new();
    let mut writer = SerializedFileWriter::new(&mut bytes, Arc::new(schema), Arc::new(properties))?;
    let mut rows = writer.next_row_group()?;
    let mut at = 0;
    while let Some(mut column) = rows.next_column()? {
        let entries: Vec<&Entry> = table.rows.iter().filter_map(|row| row.get(at)).collect();
        let there: Vec<i16> = entries
            .iter()
            .map(|e| i16::from(**e != Entry::Nothing))
            .collect();
        match holds.get(at) {
            Some(Holds::Texts) => {
                let texts: Vec<ByteArray> = entries.iter().filter_map(|e| text(e)).collect();
                let column = column.typed::<ByteArrayType>();
                column.write_batch(&texts, Some(&there), None)?;
            }
            Some(Holds::Whole) => {
                let numbers = entries.iter().filter_map(|e| number(e));
                let numbers: Vec<i64> = numbers.map(|n| n as i64).collect();
                let column = column.typed::<Int64Type>();
                column.write_batch(&numbers, Some(&there), None)?;
            }
            _ => {
                let numbers: Vec<f64> = entries.iter().filter_map(|e| number(e)).collect();
                let column = column.typed::<DoubleType>();
                column.write_batch(&numbers, Some(&there), None)?;
            }
        }
        column.close()?;
        at += 1;
    }
    rows.close()?;
    writer.close()?;
    Ok(bytes)
}

fn text(entry: &Entry) -> Option<ByteArray> {
    match entry {
        Entry::Text(text) => Some(text.as_str().into()),
        Entry::Number(number) => Some(number.to_string().as_str().into()),
        Entry::Nothing => None,
    }
}

fn number(entry: &Entry) -> Option<f64> {
    match entry {
        Entry::Number(number) => Some(*number),
        Entry::Text(_) | Entry::Nothing => None,
    }
}

/// What the column at `at` holds: one text makes all of them texts.
fn held(table: &Table, at: usize) -> Holds {
    let entries = || table.rows.iter().filter_map(move |row| row.get(at));
    if entries().any(|entry| matches!(entry, Entry::Text(_))) {
        return Holds::Texts;
    }
    let counts = |column: &Column| column.unit.is_none() && column.decimals == 0;
    let whole = |entry: &Entry| number(entry).is_none_or(|n| n.fract() == 0.0 && n.abs() < 9e15);
    match table.columns.get(at).is_some_and(counts) && entries().all(whole) {
        true => Holds::Whole,
        false => Holds::Numbers,
    }
}

fn field(name: &str, holds: Holds) -> Result<Arc<Type>, PaperError> {
    let physical = match holds {
        Holds::Texts => Physical::BYTE_ARRAY,
        Holds::Whole => Physical::INT64,
        Holds::Numbers => Physical::DOUBLE,
    };
    let field = Type::primitive_type_builder(name, physical).with_repetition(Repetition::OPTIONAL);
    let field = match holds {
        Holds::Texts => field
            .with_logical_type(Some(LogicalType::String))
            .with_converted_type(ConvertedType::UTF8),
        _ => field,
    };
    Ok(Arc::new(field.build()?))
}

/// Whose the table is, and the unit and the name in words of every column.
fn metadata(
    tables: &Tables,
    table: &Table,
    names: &[String],
    stamp: &Stamp,
) -> Result<Vec<KeyValue>, PaperError> {
    let mut all = Vec::new();
    for row in about::table(tables, stamp)?.rows {
        let [Entry::Text(what), Entry::Text(is)] = row.as_slice() else {
            continue;
        };
        all.push(KeyValue::new(snake(what), is.clone()));
    }
    for (name, column) in names.iter().zip(&table.columns) {
        all.push(KeyValue::new(format!("name.{name}"), column.name.clone()));
        let units = column.unit.iter();
        all.extend(units.map(|unit| KeyValue::new(format!("unit.{name}"), unit.clone())));
    }
    Ok(all)
}

/// A name for each column, with its unit: "flow_gpm"; no two alike.
fn names(table: &Table) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for column in &table.columns {
        let name = match column.unit.as_deref() {
            Some(unit) => snake(&format!("{} {}", column.name, unit_word(unit))),
            None => snake(&column.name),
        };
        let tries = std::iter::once(name.clone());
        let tries = tries.chain((2_u32..).map(|n| format!("{name}_{n}")));
        let mut free = tries.filter(|name| !all.contains(name));
        all.extend(free.next());
    }
    all
}

fn unit_word(unit: &str) -> &str {
    match unit {
        "%" => "percent",
        unit => unit,
    }
}

/// Small letters and digits with underlines between: "L/min" is "l_min".
fn snake(text: &str) -> String {
    let words = text.split(|c: char| !c.is_alphanumeric());
    let words: Vec<String> = words
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    match words.is_empty() {
        true => "column".into(),
        false => words.join("_"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_columns_have_their_units_and_differ() {
        let column = |name: &str, unit: Option<&str>| Column {
            name: name.into(),
            unit: unit.map(String::from),
            decimals: 0,
        };
        let table = Table {
            title: String::new(),
            columns: vec![
                column("flow", Some("gpm")),
                column("flow", Some("L/min")),
                column("holds on", Some("%")),
                column("kinds", None),
                column("Kinds", None),
                column("?", None),
            ],
            rows: Vec::new(),
        };
        assert_eq!(
            names(&table),
            [
                "flow_gpm",
                "flow_l_min",
                "holds_on_percent",
                "kinds",
                "kinds_2",
                "column"
            ]
        );
    }
}
