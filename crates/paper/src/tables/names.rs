//! Names of worksheets and of files.

use super::Table;

/// A worksheet's name has at most so many letters, counted in UTF-16.
const SHEET: usize = 31;

/// A file's name has at most so many letters before its ending.
const FILE: usize = 48;

/// A name for each worksheet: short enough, without the letters that a workbook refuses,
/// no two alike.
pub(super) fn sheets(tables: &[&Table]) -> Vec<String> {
    // A workbook keeps this name for itself.
    let mut taken = vec!["history".to_string()];
    let names = tables.iter().map(|table| {
        let plain = plain(&table.title);
        let tries = (1_u32..).map(|n| match n {
            1 => cut(&plain, ""),
            n => cut(&plain, &format!(" ({n})")),
        });
        let mut free = tries.filter(|name| !taken.contains(&name.to_lowercase()));
        let name = free.next().unwrap_or_default();
        taken.push(name.to_lowercase());
        name
    });
    names.collect()
}

fn plain(title: &str) -> String {
    let refused = |c: char| c.is_control() || "[]:*?/\\".contains(c);
    let letters = title.chars().map(|c| if refused(c) { ' ' } else { c });
    let text: String = letters.collect();
    let words: Vec<&str> = text.split_whitespace().collect();
    let words = words.join(" ");
    let bare = words.trim_matches(['\'', ' ']);
    match bare.is_empty() {
        true => "Table".into(),
        false => bare.into(),
    }
}

/// As much of `name` as fits before `end`.
fn cut(name: &str, end: &str) -> String {
    let room = SHEET - end.len();
    let mut length = 0;
    let fits = |c: &char| {
        length += c.len_utf16();
        length <= room
    };
    let start: String = name.chars().take_while(fits).collect();
    format!("{}{end}", start.trim_end_matches(['\'', ' ']))
}

/// A name for each file, with its number before it: in order, and no two alike.
pub(super) fn files(tables: &[&Table]) -> Vec<String> {
    let numbered = tables.iter().enumerate();
    numbered
        .map(|(number, table)| format!("{number:02}-{}.csv", word(&table.title)))
        .collect()
}

/// `text` as a part of a file's name: letters and digits of any script, small, with
/// hyphens between.
pub(super) fn word(text: &str) -> String {
    let words = text.split(|c: char| !c.is_alphanumeric());
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    let word: String = words.join("-").to_lowercase().chars().take(FILE).collect();
    match word.is_empty() {
        true => "table".into(),
        false => word.trim_end_matches('-').into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn titled(title: &str) -> Table {
        Table {
            title: title.into(),
            ..Table::default()
        }
    }

    fn named(titles: &[&str]) -> Vec<String> {
        let tables: Vec<Table> = titles.iter().map(|t| titled(t)).collect();
        sheets(&tables.iter().collect::<Vec<_>>())
    }

    #[test]
    fn worksheets_have_names_that_a_workbook_takes() {
        let long = "Stream of a nozzle with a name that goes on";
        let names = named(&[
            "Tips",
            "tips",
            long,
            long,
            "a[b]:*?/\\c",
            "'",
            "",
            "History",
            "水水水",
            "\n",
        ]);
        assert_eq!(
            names,
            [
                "Tips",
                "tips (2)",
                "Stream of a nozzle with a name",
                "Stream of a nozzle with a n (2)",
                "a b c",
                "Table",
                "Table (2)",
                "History (2)",
                "水水水",
                "Table (3)",
            ]
        );
        for name in named(&["\u{1f692}".repeat(40).as_str(), &"'".repeat(40), long]) {
            assert!(name.encode_utf16().count() <= SHEET, "{name}");
            rust_xlsxwriter::utility::check_sheet_name(&name).unwrap();
        }
    }

    #[test]
    fn files_have_names_that_every_system_takes() {
        let tables = [titled("What next"), titled("../con: a\\b"), titled("?")];
        assert_eq!(
            files(&tables.iter().collect::<Vec<_>>()),
            ["00-what-next.csv", "01-con-a-b.csv", "02-table.csv"]
        );
    }
}
