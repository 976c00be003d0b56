//! A new line: rig, hose, length, nozzle and aim asked for at once.

use super::fields;
use super::parts::Editing;
use crate::address;
use crate::fields::field;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::workbench::Opened;
use maud::{Markup, html};

pub(super) fn form(opened: &Opened, reader: &Reader, editing: &Editing) -> Markup {
    let system = reader.system(&opened.book);
    let rows = fields::new(&opened.book, system);
    let content = html! {
        h1 { "New line" }
        p { "What it is at its simplest: one length of hose and a nozzle. More parts, branches and heights come after." }
        form.form method="post" action=(address::book(&opened.slug, "/new-line")) {
            input type="hidden" name="base" value=(opened.revision);
            @if let Some(message) = editing.message("") { p.wrong role="alert" { (message) } }
            div.fields {
                @for (index, row) in rows.iter().enumerate() {
                    (field(&row.id(), row, editing.value(row.key, &row.value), editing.message(row.key), index == 0))
                }
            }
            div.actions {
                button.first { "Make the line" }
                a.button href=(address::book(&opened.slug, "")) { "Leave it" }
            }
        }
    };
    page("New line", reader, &Place::of(opened, "Lines"), &content)
}
