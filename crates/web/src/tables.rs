//! Facts as tables, and figures that can be read across a room.

use hydraulics::units::System;
use maud::{Markup, html};
use study::fact::Fact;

/// A name with its first letter large.
pub(crate) fn capital(name: &str) -> String {
    let mut letters = name.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}

/// A figure, its unit smaller.
pub(crate) fn big(figure: &str) -> Markup {
    html! {
        b {
            @match figure.rsplit_once(' ') {
                Some((value, unit)) => { (value) " " small { (unit) } },
                None => (figure),
            }
        }
    }
}

/// A table that scrolls within the page when it is too wide for it.
pub(crate) fn wide(label: &str, table: &Markup) -> Markup {
    html! {
        div.wide tabindex="0" role="region" aria-label=(label) { table { (table) } }
    }
}

/// What is said about one thing, a row for each fact.
pub(crate) fn block(label: &str, facts: &[Fact], system: System) -> Markup {
    let said = facts
        .iter()
        .filter_map(|(name, said)| Some((name, said.show(system)?)));
    let rows = html! {
        tbody {
            @for (name, said) in said {
                tr { th scope="row" { (capital(name)) } td { (said) } }
            }
        }
    };
    wide(label, &rows)
}

/// Things of which the same is said, a row for each; columns without anything to say
/// are left out.
pub(crate) fn listed(label: &str, all: &[Vec<Fact>], system: System) -> Markup {
    let said = |row: &Vec<Fact>, i: usize| row.get(i).and_then(|(_, said)| said.show(system));
    let names = all.first().into_iter().flatten().map(|(name, _)| *name);
    let columns = names.enumerate();
    let columns = columns.filter(|(i, _)| all.iter().any(|row| said(row, *i).is_some()));
    let columns: Vec<(usize, &str)> = columns.collect();
    let rows = html! {
        thead { tr { @for (_, name) in &columns { th scope="col" { (capital(name)) } } } }
        tbody {
            @for row in all {
                tr {
                    @for (at, (i, _)) in columns.iter().enumerate() {
                        @let said = said(row, *i).unwrap_or_default();
                        @if at == 0 { th scope="row" { (said) } } @else { td { (said) } }
                    }
                }
            }
        }
    };
    wide(label, &rows)
}
