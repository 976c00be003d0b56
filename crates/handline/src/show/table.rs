//! Plain tables.

use comfy_table::{CellAlignment, ContentArrangement, LineStyle, Table, TableStyle};

/// One line below the head, and nothing else.
const STYLE: TableStyle =
    TableStyle::new().header_separator(LineStyle::none().fill('─').junction('─'));

/// A table with `head`, whose columns from `right` on hold figures.
pub fn table(head: &[&str], right: usize) -> Table {
    let mut table = Table::new();
    table
        .load_style(STYLE)
        .set_content_arrangement(ContentArrangement::Disabled)
        .set_header(head.to_vec());
    for index in right..head.len() {
        if let Some(column) = table.column_mut(index) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    table
}

/// The table as text, without blanks at line ends.
pub fn text(table: &Table) -> String {
    let lines: Vec<String> = table.lines().map(|l| l.trim_end().to_string()).collect();
    lines.join("\n") + "\n"
}

/// Is the reader's screen too narrow for this table? Not when the output goes to
/// a file or a program.
pub fn is_too_wide(table: &Table) -> bool {
    let widest = table.lines().map(|l| l.trim_end().chars().count()).max();
    table
        .width()
        .is_some_and(|screen| widest.unwrap_or(0) > usize::from(screen))
}

/// Text folded at 78 columns, each line after the first indented by `indent`.
pub fn fold(text: &str, indent: &str) -> String {
    let mut out = String::new();
    let mut width = 0;
    for word in text.split_whitespace() {
        let long = word.chars().count();
        if width > 0 && width + 1 + long > 78 {
            out.push('\n');
            out.push_str(indent);
            width = indent.chars().count();
        } else if width > 0 {
            out.push(' ');
            width += 1;
        }
        out.push_str(word);
        width += long;
    }
    out
}
