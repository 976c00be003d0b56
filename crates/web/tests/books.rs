//! Books on pages: made, brought in, edited by hand, undone, compared.
#![allow(clippy::unwrap_used)]

mod common;

use axum::http::StatusCode;
use book::Conditions;
use common::{DEMO, DEMO_SLUG, House};
use hydraulics::units::{Kind, System, show};

const SMALL: &str = "# kept\n[book]\nname = \"Mill Creek\"\n\n[line.left]\n\
    parts = [{ hose = \"1.75 in\", length = \"200 ft\" }, { nozzle = \"150 gpm at 50 psi\" }]\n";

fn at(path: &str) -> String {
    format!("/book/{DEMO_SLUG}{path}")
}

#[tokio::test]
async fn the_books_are_listed_with_what_they_hold() {
    let empty = House::empty().await;
    assert!(empty.get("/").await.text().contains("There is no book yet"));
    let house = House::with(DEMO).await;
    let page = house.get("/").await.text();
    let book = book::read(DEMO.as_bytes(), "demo").unwrap();
    let counts = format!("{} lines, {} scenes", book.line.len(), book.scene.len());
    for words in [
        &counts,
        "Saltmarsh Bend",
        "Revision 1, saved",
        "Invented",
        &at(""),
    ] {
        assert!(page.contains(words), "{words} is missing from {page}");
    }
}

#[tokio::test]
async fn each_line_has_the_figures_that_solve_gives() {
    let house = House::with(DEMO).await;
    let book = book::read(DEMO.as_bytes(), "demo").unwrap();
    for (system, units) in [(System::Us, "us"), (System::Si, "si")] {
        let page = house.get(&at(&format!("?units={units}"))).await.text();
        let cards: Vec<&str> = page.split("<li><h3>").skip(1).collect();
        assert_eq!(cards.len(), book.line.len());
        for name in book.line.keys() {
            let link = format!("/line/{name}\"");
            let card = cards.iter().find(|card| card.contains(&link)).unwrap();
            let answer = study::solve(&book, name, &Conditions::default()).unwrap();
            let figures = [
                show(Kind::Pressure, answer.pump_pressure, system),
                show(Kind::Flow, answer.flow, system),
            ];
            for figure in figures {
                let (value, unit) = figure.rsplit_once(' ').unwrap();
                let shown = format!("<b>{value} <small>{unit}</small></b>");
                assert!(card.contains(&shown), "{name}: {shown} is not in {card}");
            }
        }
    }
    let page = house.get(&at("")).await.text();
    assert!(page.contains("200 ft of attack, twin (high)"), "{page}");
}

#[tokio::test]
async fn a_new_book_is_made_and_its_name_is_text() {
    let house = House::empty().await;
    let answer = house
        .post(
            "/books",
            &[
                ("name", "<script>alert(1)</script> Île"),
                ("units", "si"),
                ("one", "250 N"),
                ("two", "300"),
                ("three", "400 N"),
                ("ceiling", "17 bar"),
            ],
        )
        .await;
    let to = answer.to().to_string();
    assert_eq!(to, "/book/script-alert-1-script-%C3%AEle?told=new");
    let page = house.get(&to).await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.text().contains("&lt;script&gt;alert(1)"));
    assert!(!page.text().contains("<script>alert"));
    let kept = house.workbench.records.books().await.unwrap();
    let text = house.workbench.records.revision(&kept[0].slug, 1).await;
    let revision = text.unwrap();
    let book = book::read(revision.text.as_bytes(), "a").unwrap();
    assert_eq!(book.units, System::Si);
    assert_eq!(
        show(Kind::Force, book.crew_limits()[1], System::Si),
        "300 N"
    );
    assert_eq!(revision.entry.note.who, "René");
}

#[tokio::test]
async fn wrong_values_stay_in_the_form_with_a_message_beside() {
    let house = House::empty().await;
    let pairs = [("name", " "), ("one", "heavy"), ("ceiling", "-3 psi")];
    let answer = house.post("/books", &pairs).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    let page = answer.text();
    for words in [
        "value=\"heavy\"",
        "value=\"-3 psi\"",
        "id=\"one-wrong\"",
        "id=\"two-wrong\"",
        "id=\"name-wrong\"",
        "One person: &quot;heavy&quot;",
        "Highest pump pressure allowed: -3 psi is not between 1 psi and 600 psi",
    ] {
        assert!(page.contains(words), "{words} is missing from {page}");
    }
    assert!(house.workbench.records.books().await.unwrap().is_empty());
}

#[tokio::test]
async fn a_name_that_is_taken_gets_one_that_is_free() {
    let house = House::with(SMALL).await;
    let answer = house.post("/books", &[("name", "mill creek")]).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text().contains("Free is &quot;mill creek 2&quot;"));
    let again = house.post("/books", &[("name", "mill creek 2")]).await;
    assert_eq!(again.to(), "/book/mill-creek-2?told=new");
}

#[tokio::test]
async fn a_broken_file_is_told_line_by_line_and_kept_to_be_mended() {
    let house = House::empty().await;
    let broken = SMALL
        .replace("200 ft", "200 fathoms")
        .replace("150 gpm at 50 psi", "</textarea>");
    let file = [("file", "../a<b>.toml", broken.as_bytes())];
    let answer = house.send("/books/import", &file).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    let page = answer.text();
    let reading = book::examine(broken.as_bytes(), "a<b>.toml");
    for problem in reading.problems.list() {
        let place = format!("Line {}, column {}: ", problem.line, problem.column);
        assert!(page.contains(&place), "{place} is missing from {page}");
    }
    for words in [
        "<mark>&quot;200 fathoms&quot;</mark>",
        "a&lt;b&gt;.toml",
        "&lt;/textarea&gt;",
        "# kept\n[book]",
    ] {
        assert!(page.contains(words), "{words} is missing from {page}");
    }
    assert!(house.workbench.records.books().await.unwrap().is_empty());
    // The text comes back mended, as a browser sends it.
    let mended = SMALL.replace('\n', "\r\n");
    let fields = [
        ("file", "", &b""[..]),
        ("name-of-file", "", b"a.toml"),
        ("text", "", mended.as_bytes()),
    ];
    let answer = house.send("/books/import", &fields).await;
    assert_eq!(answer.to(), "/book/mill-creek?told=in");
    let kept = house.workbench.records.revision("mill-creek", 1).await;
    assert_eq!(kept.unwrap().text, SMALL);
}

#[tokio::test]
async fn a_file_goes_in_and_out_to_the_byte() {
    let house = House::empty().await;
    let odd = format!("\u{feff}# Île\r\n{}\n\n", SMALL.replace('\n', "\r\n"));
    let file = [("file", "odd.toml", odd.as_bytes())];
    let answer = house.send("/books/import", &file).await;
    assert!(answer.to().starts_with("/book/mill-creek"));
    let out = house.get("/book/mill-creek/file/download").await;
    assert_eq!(out.bytes, odd.as_bytes());
    assert_eq!(
        out.header("content-disposition"),
        "attachment; filename=\"mill-creek-1.toml\""
    );
    assert!(out.header("content-type").starts_with("application/toml"));
}

#[tokio::test]
async fn a_file_of_a_book_that_is_here_is_asked_about() {
    let house = House::with(SMALL).await;
    let longer = SMALL.replace("200 ft", "250 ft");
    let file = ("file", "b.toml", longer.as_bytes());
    let asked = house.send("/books/import", &[file]).await;
    assert_eq!(asked.status, StatusCode::CONFLICT);
    for words in [
        "As its next revision",
        "value=\"Mill Creek 2\"",
        "<ins>+ ",
        "250 ft",
    ] {
        assert!(asked.text().contains(words), "{words} is missing");
    }
    // The same file again is known.
    let same = [("file", "a.toml", SMALL.as_bytes())];
    assert_eq!(
        house.send("/books/import", &same).await.to(),
        "/book/mill-creek?told=known"
    );
    // A base that is not the newest is told, and nothing is saved.
    let way = |base: &'static [u8]| [("way", "", &b"next"[..]), ("base", "", base), file];
    let stale = house.send("/books/import", &way(b"0")).await;
    assert_eq!(stale.status, StatusCode::CONFLICT);
    assert_eq!(
        house.workbench.records.newest("mill-creek").await.unwrap(),
        1
    );
    let next = house.send("/books/import", &way(b"1")).await;
    assert_eq!(next.to(), "/book/mill-creek?told=next");
    // Another name changes the name and nothing else.
    let other = [
        ("way", "", &b"other"[..]),
        ("name", "", b"Mill Creek 2"),
        file,
    ];
    assert_eq!(
        house.send("/books/import", &other).await.to(),
        "/book/mill-creek-2?told=in"
    );
    let kept = house.workbench.records.revision("mill-creek-2", 1).await;
    assert_eq!(
        kept.unwrap().text,
        longer.replace("\"Mill Creek\"", "\"Mill Creek 2\"")
    );
    let taken = house.send("/books/import", &other).await;
    assert_eq!(taken.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(taken.text().contains("There is a book of this name too"));
}

#[tokio::test]
async fn the_file_is_edited_by_hand_and_its_faults_told_by_line() {
    let house = House::with(SMALL).await;
    let page = "/book/mill-creek/file";
    let send = |text: String, base: &'static str| {
        let house = &house;
        async move {
            let fields = [("base", "", base.as_bytes()), ("text", "", text.as_bytes())];
            house.send(page, &fields).await
        }
    };
    let wrong = send(SMALL.replace("200 ft", "much"), "1").await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.text().contains("Line 6, column"), "{}", wrong.text());
    assert!(wrong.text().contains("<mark>&quot;much&quot;</mark>"));
    let same = send(SMALL.replace('\n', "\r\n"), "1").await;
    assert_eq!(same.to(), "/book/mill-creek/file?told=same");
    let saved = send(SMALL.replace("200 ft", "250 ft"), "1").await;
    assert_eq!(saved.to(), "/book/mill-creek/file?told=saved");
    assert!(
        house
            .get(saved.to())
            .await
            .text()
            .contains("Saved as a new revision")
    );
}

#[tokio::test]
async fn the_second_of_two_editors_is_told_and_keeps_the_text() {
    let house = House::with(SMALL).await;
    let edit = |length: &str| SMALL.replace("200 ft", length);
    let send = |text: String| {
        let house = &house;
        async move {
            let fields = [("base", "", &b"1"[..]), ("text", "", text.as_bytes())];
            house.send("/book/mill-creek/file", &fields).await
        }
    };
    send(edit("250 ft")).await.to();
    let told = send(edit("300 ft")).await;
    assert_eq!(told.status, StatusCode::CONFLICT);
    let page = told.text();
    for words in [
        "You had revision 1; the newest is revision 2",
        "file edited by hand",
        "300 ft",
        "name=\"base\" value=\"2\"",
    ] {
        assert!(page.contains(words), "{words} is missing from {page}");
    }
    let kept = house.workbench.records.revision("mill-creek", 2).await;
    assert_eq!(kept.unwrap().text, edit("250 ft"));
    assert_eq!(
        house.workbench.records.newest("mill-creek").await.unwrap(),
        2
    );
    // Undo from a page that is old is told in the same way.
    let undo = house.post("/book/mill-creek/undo", &[("base", "1")]).await;
    assert!(undo.status.is_client_error());
    assert_eq!(
        house.workbench.records.newest("mill-creek").await.unwrap(),
        2
    );
}

#[tokio::test]
async fn undo_make_again_and_go_back_are_saves_of_their_own() {
    let house = House::with(SMALL).await;
    let longer = SMALL.replace("200 ft", "250 ft");
    let fields = [("base", "", &b"1"[..]), ("text", "", longer.as_bytes())];
    house.send("/book/mill-creek/file", &fields).await.to();
    let text = |number| {
        let house = &house;
        async move {
            let kept = house.workbench.records.revision("mill-creek", number).await;
            kept.unwrap().text
        }
    };
    let done = house.post("/book/mill-creek/undo", &[("base", "2")]).await;
    assert_eq!(done.to(), "/book/mill-creek/history?told=undone");
    assert_eq!(text(3).await, SMALL);
    let none = house.post("/book/mill-creek/undo", &[("base", "3")]).await;
    assert_eq!(none.status, StatusCode::CONFLICT);
    let done = house.post("/book/mill-creek/redo", &[("base", "3")]).await;
    assert_eq!(done.to(), "/book/mill-creek/history?told=redone");
    assert_eq!(text(4).await, longer);
    let back = [("base", "4"), ("to", "1")];
    let done = house.post("/book/mill-creek/back", &back).await;
    assert_eq!(done.to(), "/book/mill-creek/history?told=back");
    assert_eq!(text(5).await, SMALL);
    let history = house.get("/book/mill-creek/history?told=back").await.text();
    for words in [
        "Revision 5",
        "back to revision 1",
        "revision 2 undone",
        "René",
        "UTC",
    ] {
        assert!(history.contains(words), "{words} is missing from {history}");
    }
    let compared = house
        .get("/book/mill-creek/history/4?against=3")
        .await
        .text();
    assert!(compared.contains("<ins>+ parts") && compared.contains("<del>− parts"));
    let newest = house.get("/book/mill-creek/newest").await.text();
    let newest: serde_json::Value = serde_json::from_str(&newest).unwrap();
    assert_eq!(
        (&newest["revision"], &newest["who"]),
        (&5.into(), &"René".into())
    );
}

#[tokio::test]
async fn an_address_cannot_put_words_into_a_page() {
    let house = House::with(SMALL).await;
    let page = house.get("/book/mill-creek/history?told=Call+me").await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(!page.text().contains("Call me"));
}

#[tokio::test]
async fn what_is_not_there_is_told_in_words() {
    let house = House::with(SMALL).await;
    for path in [
        "/book/none",
        "/book/none/file",
        "/book/none/history",
        "/book/none/newest",
        "/book/none/file/download",
        "/book/mill-creek/history/7",
        "/book/mill-creek/history/seven",
        "/book/mill-creek/history/1?against=99",
        "/book/mill-creek/file/download?revision=-1",
        "/nowhere",
    ] {
        let answer = house.get(path).await;
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{path}");
        assert!(
            answer.text().contains("<h1>That did not work</h1>"),
            "{path}"
        );
    }
}
