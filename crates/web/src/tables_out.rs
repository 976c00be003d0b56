//! Tables to take away: of a line, a scene, equipment or the whole book, as a workbook
//! or as CSV. The question in the address is that of the page, so that the tables say
//! what the page says.

use crate::fault::Fault;
use crate::form::Pairs;
use crate::paper::attached;
use crate::reader::{Reader, word};
use crate::when::day;
use crate::workbench::{Opened, Workbench, now};
use crate::{line, scene};
use axum::Router;
use axum::extract::{Path, Query, State};
use axum::response::Response;
use axum::routing::get;
use hydraulics::units::System;
use maud::{Markup, html};
use paper::tables::{self, Equipment, Stamp, Tables};
use paper::{PaperError, Units};
use std::sync::Arc;

pub(crate) fn routes() -> Router<Arc<Workbench>> {
    Router::new()
        .route("/book/{slug}/tables/{form}", get(of_book))
        .route("/book/{slug}/line/{line}/tables/{form}", get(of_line))
        .route("/book/{slug}/scene/{scene}/tables/{form}", get(of_scene))
        .route("/book/{slug}/equipment/tables/{form}", get(of_equipment))
        .route(
            "/book/{slug}/equipment/{kind}/{name}/tables/{form}",
            get(of_item),
        )
}

/// Links to the tables of the page at `address`, whose question they keep.
pub(crate) fn links(address: &str, what: &str, system: System) -> Markup {
    let (page, question) = address.split_once('?').unwrap_or((address, ""));
    let to = |form: &str| {
        let units = format!("units={}", word(system));
        let pairs = question.split('&').filter(|pair| !pair.is_empty());
        let pairs: Vec<&str> = pairs.chain([units.as_str()]).collect();
        format!("{page}/tables/{form}?{}", pairs.join("&"))
    };
    html! {
        p.actions.no-print {
            a.button href=(to("xlsx")) { "Tables of " (what) ", XLSX" }
            a.button href=(to("csv")) { "Tables of " (what) ", CSV" }
        }
    }
}

/// What a set of tables is sent as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Form {
    Xlsx,
    Csv,
}

pub(crate) fn form(word: &str) -> Result<Form, Fault> {
    match word {
        "xlsx" => Ok(Form::Xlsx),
        "csv" => Ok(Form::Csv),
        _ => Err(Fault::Missing(format!(
            "There are no tables as \"{word}\"; ask for xlsx or csv."
        ))),
    }
}

fn units(reader: &Reader, opened: &Opened) -> Units {
    reader.system(&opened.book).into()
}

async fn of_book(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, word)): Path<(String, String)>,
    reader: Reader,
) -> Result<Response, Fault> {
    let form = form(&word)?;
    let opened = workbench.open(&slug).await?;
    let tables = tables::of_book(&opened.book, units(&reader, &opened));
    sent(&opened, &tables, form)
}

async fn of_line(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, name, word)): Path<(String, String, String)>,
    Query(asked): Query<Pairs>,
    reader: Reader,
) -> Result<Response, Fault> {
    let form = form(&word)?;
    let opened = workbench.open(&slug).await?;
    let system = reader.system(&opened.book);
    let conditions = line::conditions(&opened.book, &name, &asked, system)?;
    let units = units(&reader, &opened);
    let tables = tables::of_line(&opened.book, &name, &conditions, units)?;
    sent(&opened, &tables, form)
}

async fn of_scene(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, name, word)): Path<(String, String, String)>,
    Query(asked): Query<Pairs>,
    reader: Reader,
) -> Result<Response, Fault> {
    let form = form(&word)?;
    let opened = workbench.open(&slug).await?;
    let system = reader.system(&opened.book);
    let (answer, laid) = scene::standing(&opened, &name, &asked, system)?;
    let units = units(&reader, &opened);
    let tables = tables::of_scene(&opened.book, &answer, &laid, units);
    sent(&opened, &tables, form)
}

async fn of_equipment(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, word)): Path<(String, String)>,
    reader: Reader,
) -> Result<Response, Fault> {
    let form = form(&word)?;
    let opened = workbench.open(&slug).await?;
    let tables = tables::of_equipment(&opened.book, units(&reader, &opened));
    sent(&opened, &tables, form)
}

async fn of_item(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, kind, name, word)): Path<(String, String, String, String)>,
    reader: Reader,
) -> Result<Response, Fault> {
    let form = form(&word)?;
    let opened = workbench.open(&slug).await?;
    let units = units(&reader, &opened);
    let tables = Equipment::called(&kind)
        .and_then(|kind| tables::of_item(&opened.book, kind, &name, units))
        .ok_or_else(|| {
            Fault::Missing(format!(
                "There is no {kind} \"{name}\" in this book or in the catalogue."
            ))
        })?;
    sent(&opened, &tables, form)
}

/// The file: a workbook, or CSV, in a ZIP where there are several.
pub(crate) fn sent(opened: &Opened, tables: &Tables, form: Form) -> Result<Response, Fault> {
    let stamp = Stamp {
        date: day(now()),
        revision: u32::try_from(opened.revision).ok(),
    };
    let (bytes, ending, kind) = made(tables, &stamp, form)
        .map_err(|error| Fault::Misread(format!("There are no tables: {error}.")))?;
    let name = crate::slug(&format!("{} {}", opened.book.name, tables.subject));
    let name = format!("{name}-{}.{ending}", opened.revision);
    Ok(attached(&name, kind, bytes))
}

type Made = (Vec<u8>, &'static str, &'static str);

fn made(tables: &Tables, stamp: &Stamp, form: Form) -> Result<Made, PaperError> {
    Ok(match (form, tables.tables.as_slice()) {
        (Form::Xlsx, _) => (
            tables.workbook(stamp)?,
            "xlsx",
            "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        ),
        (Form::Csv, [one]) => (one.csv()?, "csv", "text/csv; charset=utf-8"),
        (Form::Csv, _) => (tables.zip(stamp)?, "zip", "application/zip"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn links_keep_the_question_of_the_page() {
        let plain = links("/book/a/line/b", "this line", System::Us).into_string();
        assert!(
            plain.contains("href=\"/book/a/line/b/tables/xlsx?units=us\""),
            "{plain}"
        );
        let moved = links("/book/a/line/b?gate=40&in=si", "this line", System::Si);
        let moved = moved.into_string();
        let wanted = "href=\"/book/a/line/b/tables/csv?gate=40&amp;in=si&amp;units=si\"";
        assert!(moved.contains(wanted), "{moved}");
    }
}
