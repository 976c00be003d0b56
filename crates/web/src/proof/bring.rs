//! Readings brought in from a file: looked at first, entered when that is confirmed.

use super::plan;
use crate::address;
use crate::carry::{LARGEST, file, form, to_hex};
use crate::fault::Fault;
use crate::form::Parcel;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables::{capital, wide};
use crate::told::problem_rows;
use crate::when::{day, plain_day};
use crate::workbench::{Opened, Workbench, now};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use records::{By, in_force};
use std::collections::BTreeSet;
use std::sync::Arc;
use study::intake::{RowProblem, Table};
use study::proof::{Day, Matched, Matching, Role, Taken, Test, match_columns};

pub(super) async fn asked(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    Ok(start(&opened, &reader, None))
}

/// The page that asks for a file.
fn start(opened: &Opened, reader: &Reader, wrong: Option<&RowProblem>) -> Markup {
    let content = html! {
        h1 { "Bring readings in" }
        @if let Some(wrong) = wrong {
            p.wrong role="alert" { (wrong) "." }
            p { "Nothing was entered." }
        }
        p { "A CSV or XLSX file with a row for each point, under a head that names its columns: test, date, point, flow (gpm), inlet (psi), outlet (psi), length (ft), gauge, time, remark." }
        (form(&opened.slug, "/tests"))
    };
    page(
        "Bring readings in",
        reader,
        &Place::of(opened, "Tests"),
        &content,
    )
}

pub(super) async fn sent(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    parcel: Parcel,
) -> Result<Response, Fault> {
    let opened = workbench.open(&slug).await?;
    let (bytes, name) = file(&parcel);
    let refused = |problem: &RowProblem| {
        let page = start(&opened, &reader, Some(problem));
        Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
    };
    if bytes.len() > LARGEST {
        let long = format!(
            "the file has {} bytes; at most {LARGEST} are read",
            bytes.len()
        );
        return refused(&RowProblem::file(
            &name,
            long,
            "split it, or save it as CSV",
        ));
    }
    let matching = matching(&parcel);
    let taken = study::proof::read_day(&bytes, &name, &opened.book, matching.as_ref());
    let taken = match taken {
        Ok(taken) => taken,
        Err(problem) => return refused(&problem),
    };
    let known = known(&workbench, &slug, &taken.day).await?;
    if parcel.text("do") == "enter" && known.iter().any(Option::is_none) {
        let fresh = fresh(&taken.day, &known);
        let titles: Vec<String> = fresh
            .tests
            .iter()
            .map(|t| plan::title(&t.subject))
            .collect();
        let by = By::new(&reader.name, now());
        let ids = workbench
            .records
            .add_day(&slug, &fresh, &titles, &by)
            .await?;
        return Ok(Redirect::to(&entered(&slug, &fresh, &ids)).into_response());
    }
    let look = Look {
        opened: &opened,
        reader: &reader,
        taken: &taken,
        known: &known,
        bytes: &bytes,
        name: &name,
    };
    Ok(look.page().into_response())
}

/// Where the tests that were entered are looked at.
fn entered(slug: &str, day: &Day, ids: &[i64]) -> String {
    match (ids, day.tests.as_slice()) {
        ([one], _) => address::test(slug, *one, "?told=in"),
        (_, [first, ..]) => {
            let date = address::step(&first.date);
            address::book(slug, &format!("/tests/day/{date}?told=in"))
        }
        _ => address::book(slug, "/tests"),
    }
}

/// What the page says that each column is; none before it was looked at.
fn matching(parcel: &Parcel) -> Option<Matching> {
    let count: usize = parcel.text("columns").parse().ok()?;
    let columns = (0..count.min(200)).map(|at| {
        let head = parcel.text(&format!("head-{at}"));
        let role = Role::called(&parcel.text(&format!("role-{at}"))).unwrap_or(Role::Ignored);
        column_as(&head, role)
    });
    Some(Matching {
        columns: columns.collect(),
        date: parcel.text("date").trim().to_string(),
    })
}

/// A column taken for `role`, in the unit that its head states.
fn column_as(head: &str, role: Role) -> Matched {
    let bare = head.trim().trim_end_matches([')', ']']);
    let unit = bare.rsplit(['(', '[', ',', '/', ' ']).next().unwrap_or("");
    let written = |text: String| {
        let table = Table {
            head: vec![text],
            ..Table::default()
        };
        match_columns(&table).columns.into_iter().next()
    };
    let with_unit = written(format!("{} ({})", role.words(), unit.trim()));
    let plain = Matched {
        head: String::new(),
        role,
        unit: None,
        trouble: String::new(),
    };
    let found = with_unit
        .filter(|found| found.role == role)
        .unwrap_or(plain);
    Matched {
        head: head.into(),
        ..found
    }
}

/// Which of a day's tests the records have already, with the same readings.
async fn known(workbench: &Workbench, slug: &str, day: &Day) -> Result<Vec<Option<i64>>, Fault> {
    let mut all = Vec::new();
    for test in &day.tests {
        let (kind, about) = test.subject.words();
        let mut found = None;
        for there in workbench.records.tests_of_day(slug, &test.date).await? {
            if there.new.kind != kind || there.new.subject != about {
                continue;
            }
            let readings = workbench.records.readings(slug, there.id).await?;
            // What was corrected since came from the same file.
            let ever = readings
                .iter()
                .map(|r| said(r.new.point, &r.new.place, &r.new.written));
            let ever: BTreeSet<String> = ever.collect();
            let own = test.readings.iter();
            let mut own = own.map(|r| said(r.point.into(), r.place.word(), &r.written));
            if own.all(|one| ever.contains(&one)) && !in_force(&readings).is_empty() {
                found = Some(there.id);
            }
        }
        all.push(found);
    }
    Ok(all)
}

fn said(point: i64, place: &str, written: &str) -> String {
    format!("{point} {place} {written}")
}

/// The tests that the records do not have.
fn fresh(day: &Day, known: &[Option<i64>]) -> Day {
    let all = day.tests.iter().zip(known);
    Day {
        tests: all
            .filter(|(_, known)| known.is_none())
            .map(|(test, _)| test.clone())
            .collect(),
    }
}

/// The file as it was read.
struct Look<'a> {
    opened: &'a Opened,
    reader: &'a Reader,
    taken: &'a Taken,
    known: &'a [Option<i64>],
    bytes: &'a [u8],
    name: &'a str,
}

impl Look<'_> {
    fn page(&self) -> Markup {
        let taken = self.taken;
        let good = taken.taken;
        let is_new = self.known.iter().any(Option::is_none);
        let content = html! {
            h1 { "Look at it first" }
            p { b { (self.name) } ": " (rows(taken.rows)) ", " (good) " can be entered. Nothing is entered yet." }
            @if !self.known.is_empty() && !is_new {
                p.keep { "These readings are in the records already, so nothing is entered twice." }
            }
            @if !taken.day.tests.is_empty() {
                h2 { "What it holds" }
                (wide("What the file holds", &self.tests()))
            }
            @if !taken.problems.is_empty() {
                h2 { "What cannot be used" }
                (problem_rows(&taken.problems))
            }
            form method="post" enctype="multipart/form-data" action=(address::book(&self.opened.slug, "/tests/bring")) {
                textarea.carried name="carried" hidden { (to_hex(self.bytes)) }
                input type="hidden" name="name" value=(self.name);
                h2 { "What each column is" }
                p.hint { "Where a column was taken for something else, choose what it is and read the file again." }
                (self.columns())
                div.actions {
                    @if good > 0 && is_new { button.first name="do" value="enter" { "Enter " (rows(good)) } }
                    button name="do" value="look" { "Read it again so" }
                    a.button href=(address::book(&self.opened.slug, "/tests")) { "Leave it" }
                }
            }
        };
        page(
            "Look at it first",
            self.reader,
            &Place::of(self.opened, "Tests"),
            &content,
        )
    }

    fn tests(&self) -> Markup {
        let points = |test: &Test| {
            let all: BTreeSet<u32> = test.readings.iter().map(|r| r.point).collect();
            all.len()
        };
        html! {
            thead { tr { @for head in ["Test", "Day", "Points", "Readings", "In the records"] { th scope="col" { (head) } } } }
            tbody {
                @for (test, known) in self.taken.day.tests.iter().zip(self.known) {
                    tr {
                        th scope="row" { (capital(&test.subject.to_string())) }
                        td { (plain_day(&test.date)) }
                        td { (points(test)) }
                        td { (test.readings.len()) }
                        td {
                            @match known {
                                Some(id) => a.reach href=(address::test(&self.opened.slug, *id, "")) { "already, as test " (id) },
                                None => "not yet",
                            }
                        }
                    }
                }
            }
        }
    }

    fn columns(&self) -> Markup {
        let matching = &self.taken.matching;
        let roles = Role::all();
        let date = match matching.date.as_str() {
            "" => day(now()),
            date => date.into(),
        };
        html! {
            input type="hidden" name="columns" value=(matching.columns.len());
            div.fields.columns {
                @for (at, column) in matching.columns.iter().enumerate() {
                    div {
                        input type="hidden" name=(format!("head-{at}")) value=(column.head);
                        label for=(format!("role-{at}")) { @if column.head.is_empty() { "Column " (at + 1) } @else { (column.head) } }
                        select id=(format!("role-{at}")) name=(format!("role-{at}")) {
                            @for role in &roles { option selected[*role == column.role] { (role.words()) } }
                        }
                        @if !column.trouble.is_empty() { p.wrong { (column.trouble) } }
                    }
                }
                div {
                    label for="date" { "Day of rows that tell none" }
                    input type="date" id="date" name="date" value=(date);
                }
            }
        }
    }
}

fn rows(count: usize) -> String {
    match count {
        1 => "1 row".into(),
        many => format!("{many} rows"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use study::proof::Place;

    #[test]
    fn a_column_taken_for_something_else_keeps_its_unit() {
        let inlet = Role::Value(Place::Inlet);
        assert_eq!(column_as("P1 (bar)", inlet).unit, Some("bar"));
        assert_eq!(column_as("P1 psi", inlet).unit, Some("psi"));
        let bare = column_as("P1", inlet);
        assert_eq!((bare.role, bare.unit), (inlet, None));
        assert_eq!(column_as("weather", Role::Remark).role, Role::Remark);
    }
}
