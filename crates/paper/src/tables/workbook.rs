//! Tables as a workbook.

use rust_xlsxwriter::{
    DocProperties, ExcelDateTime, Format, FormatAlign, Workbook, Worksheet, XlsxError,
};

use super::{Column, Entry, Stamp, Table, Tables, about, names};
use crate::paper::PaperError;
use crate::press;

/// A cell of a workbook takes so many letters.
const LETTERS: usize = 32_767;

/// How wide a column may be, in letters.
const WIDEST: usize = 60;

/// How wide it is at least.
const NARROWEST: usize = 8;

impl From<XlsxError> for PaperError {
    fn from(error: XlsxError) -> Self {
        PaperError::Workbook(error.to_string())
    }
}

pub(super) fn of(tables: &Tables, stamp: &Stamp) -> Result<Vec<u8>, PaperError> {
    let about = about::table(tables, stamp)?;
    let all: Vec<&Table> = std::iter::once(&about).chain(&tables.tables).collect();
    let mut workbook = Workbook::new();
    workbook.set_properties(&properties(tables, stamp)?);
    for (name, table) in names::sheets(&all).iter().zip(&all) {
        let sheet = workbook.add_worksheet();
        sheet.set_name(name)?;
        fill(sheet, table)?;
    }
    Ok(workbook.save_to_buffer()?)
}

fn properties(tables: &Tables, stamp: &Stamp) -> Result<DocProperties, PaperError> {
    let [year, month, day] = press::date(&stamp.date)?;
    let part = |number: i32| u8::try_from(number).unwrap_or(1);
    let year = u16::try_from(year).unwrap_or(1900);
    let made = ExcelDateTime::from_ymd(year, part(month), part(day))?;
    Ok(DocProperties::new()
        .set_title(&tables.subject)
        .set_company(&tables.department)
        .set_creation_datetime(&made))
}

fn fill(sheet: &mut Worksheet, table: &Table) -> Result<(), PaperError> {
    let head = Format::new()
        .set_bold()
        .set_text_wrap()
        .set_align(FormatAlign::Top);
    for (at, column) in (0..).zip(&table.columns) {
        sheet.write_string_with_format(0, at, short(&column.head()), &head)?;
        sheet.set_column_width(at, width(table, usize::from(at)))?;
        let (number, text) = (number_format(column), text_format());
        for (row, entries) in (1..).zip(&table.rows) {
            match entries.get(usize::from(at)) {
                Some(Entry::Number(value)) => {
                    sheet.write_number_with_format(row, at, *value, &number)?;
                }
                Some(Entry::Text(said)) => {
                    sheet.write_string_with_format(row, at, short(said), &text)?;
                }
                Some(Entry::Nothing) | None => {}
            }
        }
    }
    sheet.set_freeze_panes(1, 0)?;
    sheet.set_repeat_rows(0, 0)?;
    sheet.set_landscape();
    sheet.set_print_fit_to_pages(1, 0);
    Ok(())
}

fn number_format(column: &Column) -> Format {
    let format = match column.decimals {
        0 => "0".to_string(),
        places => format!("0.{}", "0".repeat(places)),
    };
    Format::new()
        .set_num_format(format)
        .set_align(FormatAlign::Top)
}

fn text_format() -> Format {
    Format::new().set_text_wrap().set_align(FormatAlign::Top)
}

/// What a cell takes of `text`.
fn short(text: &str) -> String {
    let mut length = 0;
    let fits = |c: &char| {
        length += c.len_utf16();
        length <= LETTERS
    };
    text.chars().take_while(fits).collect()
}

/// As wide as its widest entry; a head may break into two lines.
fn width(table: &Table, at: usize) -> f64 {
    let longest = |text: &str| text.lines().map(|l| l.chars().count()).max().unwrap_or(0);
    let entries = table.rows.iter().filter_map(|row| row.get(at));
    let entries = entries.map(|entry| match entry {
        Entry::Text(text) => longest(text),
        Entry::Number(_) | Entry::Nothing => NARROWEST,
    });
    let head = table.columns.get(at).map_or(0, |c| longest(&c.head()));
    let widest = entries.max().unwrap_or(0).max(head / 2 + 4);
    widest.clamp(NARROWEST, WIDEST) as f64 + 1.0
}
