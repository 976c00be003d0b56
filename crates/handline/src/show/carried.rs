//! What was copied from one place to another.

use super::table::{table, text};
use crate::carry::Carried;
use crate::commands::{self, Outcome};
use records::Counted;
use serde_json::json;

/// What `move`, `backup` and `restore` did.
pub fn carried(carried: &Carried, as_json: bool) -> Outcome {
    commands::printed(match as_json {
        true => carried_json(carried),
        false => carried_text(carried),
    })
}

fn carried_text(carried: &Carried) -> String {
    let Carried { deed, from, to, .. } = carried;
    let mut rows = table(&["What", "How many"], 1);
    for Counted { table, rows: count } in &carried.counted {
        rows.add_row(vec![words(table).to_string(), count.to_string()]);
    }
    let total: i64 = carried.counted.iter().map(|counted| counted.rows).sum();
    let mut out = text(&rows);
    out.push_str(&format!(
        "\n{total} entries {deed}.\nFrom: {from}\nTo:   {to}\n"
    ));
    out.push_str(match *deed {
        "moved" => {
            "Counted on both sides: the same. The old records are as they were; give the new\n\
             place with --data from now on.\n"
        }
        "backed up" => "Keep it where these records are not: another computer, another building.\n",
        _ => "Counted on both sides: the same. The backup is as it was.\n",
    });
    out
}

fn carried_json(carried: &Carried) -> String {
    let counted = carried.counted.iter();
    let tables = counted.map(|c| json!({ "table": c.table, "rows": c.rows }));
    super::json(&json!({
        "done": carried.deed,
        "from": carried.from,
        "to": carried.to,
        "tables": tables.collect::<Vec<_>>(),
        "rows": carried.counted.iter().map(|c| c.rows).sum::<i64>(),
    }))
}

/// What a table holds.
fn words(table: &str) -> &str {
    match table {
        "book" => "books",
        "revision" => "revisions of books",
        "issued" => "issued sheets",
        "test" => "test sheets",
        "reading" => "readings",
        "equipment" => "pieces of equipment",
        "trial" => "tests of equipment",
        "person" => "people",
        "post" => "roles of people",
        "session" => "browsers signed in",
        "attempt" => "failed tries to sign in",
        "link" => "links for readers",
        "welcome" => "links to set a password",
        "audit" => "lines of the audit trail",
        other => other,
    }
}
