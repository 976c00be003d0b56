//! Tables to take away, without a server: their types and names, and that they say what
//! the page says.
#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use axum::http::StatusCode;
use book::{Conditions, SceneConditions};
use calamine::{Data, Reader, Xlsx};
use common::{Answer, DEMO, DEMO_SLUG, House};
use hydraulics::units::System;
use std::io::Cursor;

const XLSX: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";

fn address(rest: &str) -> String {
    format!("/book/{DEMO_SLUG}{rest}")
}

/// The number in the first row of a table, under a head.
fn number(answer: &Answer, sheet: &str, head: &str) -> f64 {
    let mut workbook: Xlsx<_> = Xlsx::new(Cursor::new(answer.bytes.clone())).unwrap();
    let range = workbook.worksheet_range(sheet).unwrap();
    let mut rows = range.rows();
    let heads: Vec<String> = rows.next().unwrap().iter().map(Data::to_string).collect();
    let at = heads.iter().position(|h| h == head);
    let at = at.unwrap_or_else(|| panic!("no {head} in {heads:?}"));
    match rows.next().unwrap()[at] {
        Data::Float(value) => value,
        ref other => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn every_page_has_its_tables_as_a_workbook_and_as_csv() {
    let house = House::with(DEMO).await;
    for page in [
        "",
        "/line/left-crosslay",
        "/line/apartment",
        "/scene/mill-street",
        "/scene/harbour-tower",
        "/equipment",
        "/equipment/hose/attack",
        "/equipment/nozzle/twin",
        "/equipment/hydrant/mill-street",
    ] {
        let shown = house.get(&address(page)).await.text();
        for form in ["xlsx", "csv"] {
            let link = format!(
                "href=\"{}?units=us\"",
                address(&format!("{page}/tables/{form}"))
            );
            assert!(shown.contains(&link), "{link}");
        }
        let workbook = house.get(&address(&format!("{page}/tables/xlsx"))).await;
        assert_eq!(
            workbook.status,
            StatusCode::OK,
            "{page}: {}",
            workbook.text()
        );
        assert_eq!(workbook.header("content-type"), XLSX);
        let attached = workbook.header("content-disposition");
        assert!(attached.starts_with("attachment; filename=\"saltmarsh-bend-fire-and-rescue-"));
        assert!(attached.contains("-1.xlsx\""), "{attached}");
        let zipped = house.get(&address(&format!("{page}/tables/csv"))).await;
        assert_eq!(zipped.status, StatusCode::OK, "{page}");
        assert_eq!(zipped.header("content-type"), "application/zip");
        let archive = zip::ZipArchive::new(Cursor::new(zipped.bytes)).unwrap();
        assert!(archive.len() > 1, "{page}");
    }
}

#[tokio::test]
async fn one_table_is_sent_as_csv_by_itself() {
    let house = House::with(DEMO).await;
    let one = house
        .get(&address("/equipment/draft/mill-pond/tables/csv"))
        .await;
    assert_eq!(one.header("content-type"), "text/csv; charset=utf-8");
    assert!(one.header("content-disposition").contains(".csv\""));
    let mut reader = csv::Reader::from_reader(one.bytes.as_slice());
    assert_eq!(reader.headers().unwrap().get(0), Some("name"));
    let record = reader.records().next().unwrap().unwrap();
    assert_eq!(record.get(0), Some("mill-pond"));
}

#[tokio::test]
async fn the_tables_of_a_line_stand_as_its_hands_and_units_do() {
    let house = House::with(DEMO).await;
    let book = book::read(DEMO.as_bytes(), "demo.toml").unwrap();
    let conditions = Conditions {
        pump_pressure: Some(hydraulics::units::psi(120.0)),
        ..Conditions::default()
    };
    let answer = study::solve(&book, "left-crosslay", &conditions).unwrap();
    for (units, unit, system) in [("us", "gpm", System::Us), ("si", "L/min", System::Si)] {
        let asked = format!("/line/left-crosslay?pump=120&in=us&units={units}");
        let page = house.get(&address(&asked)).await.text();
        let (_, after) = page.split_once("/line/left-crosslay/tables/xlsx?").unwrap();
        let question = after.split('"').next().unwrap().replace("&amp;", "&");
        assert!(question.contains("pump=120"), "{question}");
        let tables = format!("/line/left-crosslay/tables/xlsx?{question}");
        let workbook = house.get(&address(&tables)).await;
        let flow = number(&workbook, "Tips", &format!("flow ({unit})"));
        let told = answer.json(system)["tips"][0]["flow"]["value"].clone();
        assert_eq!(flow, told);
    }
}

#[tokio::test]
async fn the_tables_of_a_scene_stand_as_its_hands_do() {
    let house = House::with(DEMO).await;
    let book = book::read(DEMO.as_bytes(), "demo.toml").unwrap();
    let changes = SceneConditions {
        hydrants: Some(hydraulics::units::Measure::of_si(0.5)),
        ..SceneConditions::default()
    };
    let plain = SceneConditions::default();
    let told = study::what_if_scene(&book, "mill-street", &plain, &changes).unwrap();
    let page = house
        .get(&address("/scene/mill-street?hydrants=50"))
        .await
        .text();
    assert!(page.contains("/scene/mill-street/tables/csv?hydrants=50&amp;units=us"));
    let workbook = house
        .get(&address("/scene/mill-street/tables/xlsx?hydrants=50"))
        .await;
    let intake = number(&workbook, "Scene water", "pressure (psi)");
    let said = |answer: &study::SceneAnswer| {
        answer.json(System::Us)["sources"][0]["pressure"]["value"].clone()
    };
    assert_eq!(intake, said(&told.after));
    assert_ne!(intake, said(&told.before));
}

#[tokio::test]
async fn what_cannot_be_had_is_refused_in_words() {
    let house = House::with(DEMO).await;
    for (rest, status, words) in [
        ("/tables/pdf", StatusCode::NOT_FOUND, "ask for xlsx or csv"),
        ("/line/none/tables/xlsx", StatusCode::NOT_FOUND, "none"),
        ("/scene/none/tables/csv", StatusCode::NOT_FOUND, "none"),
        (
            "/equipment/hose/none/tables/csv",
            StatusCode::NOT_FOUND,
            "no hose",
        ),
        (
            "/line/left-crosslay/tables/xlsx?pump=lots",
            StatusCode::BAD_REQUEST,
            "pump",
        ),
        (
            "/scene/mill-street/tables/xlsx?hydrants=5",
            StatusCode::BAD_REQUEST,
            "10 to 100",
        ),
    ] {
        let answer = house.get(&address(rest)).await;
        assert_eq!(answer.status, status, "{rest}");
        assert!(answer.text().contains(words), "{rest}: {}", answer.text());
    }
}
