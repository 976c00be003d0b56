//! A line's page without a server: its figures beside `study`'s, its hands, and the
//! forms that change the line.
#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use axum::http::StatusCode;
use book::{Conditions, Path};
use common::{DEMO, DEMO_SLUG, House};
use hydraulics::units::{Kind, Measure, Pressure, System, show};
use study::answer::LineAnswer;

fn page(line: &str, question: &str) -> String {
    format!("/book/{DEMO_SLUG}/line/{line}{question}")
}

/// The figure as the page writes it, the unit small.
fn large(figure: &str) -> String {
    let (value, unit) = figure.rsplit_once(' ').unwrap();
    format!("<b>{value} <small>{unit}</small></b>")
}

fn says(text: &str, answer: &LineAnswer, system: System) {
    let mut figures = vec![show(Kind::Pressure, answer.pump_pressure, system)];
    for tip in &answer.tips {
        figures.push(show(Kind::Flow, tip.flow, system));
        figures.push(show(Kind::Pressure, tip.tip_pressure, system));
        figures.push(show(Kind::Force, tip.reaction, system));
        figures.push(show(Kind::Length, tip.effective_reach, system));
        figures.push(show(Kind::Length, tip.maximum_throw, system));
    }
    for figure in figures {
        assert!(
            text.contains(&large(&figure)),
            "{}: {figure} is not shown",
            answer.line
        );
    }
}

#[tokio::test]
async fn every_line_shows_what_solve_gives_in_both_units() {
    let house = House::with(DEMO).await;
    let book = book::read(DEMO.as_bytes(), "demo").unwrap();
    for line in book.line.keys() {
        let answer = study::solve(&book, line, &Conditions::default()).unwrap();
        for (word, system) in [("us", System::Us), ("si", System::Si)] {
            let shown = house.get(&page(line, &format!("?units={word}"))).await;
            assert_eq!(shown.status, StatusCode::OK);
            says(&shown.text(), &answer, system);
        }
    }
}

#[tokio::test]
async fn hands_mean_what_the_conditions_mean() {
    let house = House::with(DEMO).await;
    let book = book::read(DEMO.as_bytes(), "demo").unwrap();
    let before = study::solve(&book, "left-crosslay", &Conditions::default()).unwrap();
    let tip: Path = "part 2".parse().unwrap();
    let at = |pump: Pressure, change: book::Change| Conditions {
        pump_pressure: Some(pump),
        changes: [(tip.clone(), change)].into(),
        ..Conditions::default()
    };
    let gate = book::Change {
        gate: Some(Measure::of_si(0.3)),
        ..Default::default()
    };
    let shown = house
        .get(&page("left-crosslay", "?gate%20part%202=30"))
        .await;
    let answer = study::solve(&book, "left-crosslay", &at(before.pump_pressure, gate)).unwrap();
    says(&shown.text(), &answer, System::Us);
    // 8 bar written by an SI reader stays 8 bar for a US reader.
    let bar = study::solve(
        &book,
        "left-crosslay",
        &Conditions {
            pump_pressure: Some(Measure::of_si(8e5)),
            ..Conditions::default()
        },
    )
    .unwrap();
    for (units, system) in [("si", System::Si), ("us", System::Us)] {
        let shown = house
            .get(&page(
                "left-crosslay",
                &format!("?pump=8&in=si&units={units}"),
            ))
            .await;
        says(&shown.text(), &bar, system);
    }
    // Set anew for the aim, the pump does not stay where it was.
    let low = book::Change {
        setting: Some("low".into()),
        ..Default::default()
    };
    let anew = Conditions {
        pump_pressure: None,
        ..at(before.pump_pressure, low)
    };
    let anew = study::solve(&book, "left-crosslay", &anew).unwrap();
    let shown = house
        .get(&page("left-crosslay", "?setting%20part%202=low&anew=yes"))
        .await;
    says(&shown.text(), &anew, System::Us);
    assert!(anew.pump_pressure < before.pump_pressure);
}

#[tokio::test]
async fn a_hand_that_cannot_be_is_told_beside_its_field_and_kept() {
    let house = House::with(DEMO).await;
    for (key, value, told) in [
        ("pump", "plenty", "plenty"),
        ("pump", "-5 psi", "between"),
        ("gate part 2", "150", "between"),
        ("kink part 1", "bent", "bent"),
        ("setting part 2", "middling", "middling"),
        ("extend part 2", "much", "50 ft of"),
        ("kink part 9", "40", "part 9"),
        ("window", "x", "nothing that can be set"),
        ("wall", "far", "far"),
    ] {
        let question = format!("?{}={}", key.replace(' ', "%20"), value.replace(' ', "%20"));
        let shown = house.get(&page("left-crosslay", &question)).await;
        let text = shown.text();
        assert_eq!(shown.status, StatusCode::UNPROCESSABLE_ENTITY, "{question}");
        let message = text.split("class=\"wrong\"").nth(1).unwrap_or_default();
        let message = message.split("</p>").next().unwrap();
        assert!(message.contains(told), "{question}: {message}");
        assert!(text.contains(value), "{question}: the value is gone");
    }
}

struct Editor {
    house: House,
    revision: i64,
}

impl Editor {
    async fn new() -> Self {
        Editor {
            house: House::with(DEMO).await,
            revision: 1,
        }
    }

    /// Sends a change, which must be taken, and gives the page after it.
    async fn change(&mut self, line: &str, pairs: &[(&str, &str)]) -> String {
        let base = self.revision.to_string();
        let mut all = vec![("base", base.as_str())];
        all.extend(pairs);
        let answer = self.house.post(&page(line, "/edit"), &all).await;
        let to = answer.to().to_string();
        self.revision += 1;
        self.house.get(&to).await.text()
    }

    async fn book(&self) -> book::Book {
        let text = self
            .house
            .get(&format!("/book/{DEMO_SLUG}/file/download"))
            .await;
        book::read(&text.bytes, "changed").unwrap()
    }
}

#[tokio::test]
async fn a_line_is_changed_part_by_part_and_the_file_keeps_its_comments() {
    let mut editor = Editor::new().await;
    let put = [
        ("do", "put"),
        ("place", "part 1"),
        ("hose", "attack"),
        ("length", "60 m"),
        ("rise", "3 m"),
    ];
    let text = editor.change("left-crosslay", &put).await;
    assert!(
        text.contains("Saved as revision 2") && text.contains("200 to 197 ft"),
        "{text}"
    );
    let add = [
        ("do", "add"),
        ("place", "part 1"),
        ("what", "hose supply"),
        ("length", "100 ft"),
    ];
    editor.change("left-crosslay", &add).await;
    let names: Vec<String> = editor.book().await.line["left-crosslay"]
        .parts
        .iter()
        .filter_map(|p| p.name().map(String::from))
        .collect();
    // The couplings differ, so an adapter comes between.
    assert_eq!(names.first().unwrap(), "supply");
    assert!(names.len() >= 4, "{names:?}");
    editor
        .change("left-crosslay", &[("do", "remove"), ("place", "part 1")])
        .await;
    let divide = [("do", "divide"), ("place", "part 2")];
    editor.change("large", &divide).await;
    let large = &editor.book().await.line["large"];
    assert!(matches!(large.parts.last().unwrap(), book::Part::Branches(rows) if rows.len() == 2));
    // The wye has two outlets, so a third branch is refused and said why.
    let branches = format!("part {}", large.parts.len());
    let base = editor.revision.to_string();
    let third = [
        ("base", base.as_str()),
        ("do", "add-row"),
        ("place", &branches),
    ];
    let refused = editor.house.post(&page("large", "/edit"), &third).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let said = refused.text();
    let said = said.split("role=\"alert\"").nth(1).unwrap();
    assert!(said.contains("outlet"), "{said}");
    let second = format!("{branches}, branch 2");
    editor
        .change("large", &[("do", "remove"), ("place", &second)])
        .await;
    let large = &editor.book().await.line["large"];
    assert!(matches!(large.parts.last().unwrap(), book::Part::Nozzle(_)));
    let text = String::from_utf8(
        editor
            .house
            .get(&format!("/book/{DEMO_SLUG}/file/download"))
            .await
            .bytes,
    )
    .unwrap();
    assert!(text.contains("# Saltmarsh Bend Fire and Rescue does not exist."));
    assert!(text.contains("# Flow-tested: two outlets by pitot."));
}

#[tokio::test]
async fn a_line_is_named_copied_and_taken_out() {
    let mut editor = Editor::new().await;
    let line = [
        ("do", "line"),
        ("title", "Front bumper"),
        ("rig", "pumper-2"),
        ("target", "tip_pressure"),
        ("value", "7 bar"),
        ("colour", "pink"),
        ("mark", "FRONT"),
    ];
    let text = editor.change("bumper", &line).await;
    assert!(text.contains("colour orange to pink"), "{text}");
    assert!(
        text.contains("Front bumper") && text.contains("off pumper-2"),
        "{text}"
    );
    editor
        .change("bumper", &[("do", "copy"), ("to", "bumper-spare")])
        .await;
    editor
        .change("bumper-spare", &[("do", "rename"), ("to", "spare")])
        .await;
    assert!(editor.book().await.line.contains_key("spare"));
    editor.change("spare", &[("do", "delete")]).await;
    let book = editor.book().await;
    assert!(!book.line.contains_key("spare") && book.line.contains_key("bumper"));
    // A line that a scene uses stays.
    let base = editor.revision.to_string();
    let refused = editor
        .house
        .post(
            &page("apartment", "/edit"),
            &[("base", &base), ("do", "delete")],
        )
        .await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text().contains("mill-street"));
}

#[tokio::test]
async fn wrong_values_of_a_form_stay_with_a_message_beside_the_field() {
    let house = House::with(DEMO).await;
    for (pairs, field, told) in [
        (
            vec![
                ("do", "put"),
                ("place", "part 1"),
                ("hose", "attack"),
                ("length", "far"),
            ],
            "length",
            "far",
        ),
        (
            vec![
                ("do", "put"),
                ("place", "part 1"),
                ("hose", "attack"),
                ("length", "-3 ft"),
            ],
            "length",
            "-3",
        ),
        (
            vec![
                ("do", "put"),
                ("place", "part 1"),
                ("hose", "no such"),
                ("length", "50"),
            ],
            "hose",
            "no such",
        ),
        (
            vec![("do", "add"), ("place", "part 1"), ("what", "")],
            "what",
            "Choose",
        ),
        (vec![("do", "copy"), ("to", "large")], "to", "large"),
    ] {
        let mut all = vec![("base", "1")];
        all.extend(&pairs);
        let answer = house.post(&page("left-crosslay", "/edit"), &all).await;
        let text = answer.text();
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{pairs:?}");
        let message = text.split(&format!("id=\"f-{field}-w\">")).nth(1);
        let message = message.unwrap_or_else(|| panic!("{pairs:?}: nothing beside {field}"));
        assert!(
            message.split('<').next().unwrap().contains(told),
            "{pairs:?}: {message}"
        );
        let newest = house.get(&format!("/book/{DEMO_SLUG}/newest")).await;
        assert!(newest.text().contains("\"revision\":1"));
    }
}

#[tokio::test]
async fn a_new_line_begins_with_hose_and_nozzle() {
    let house = House::with(DEMO).await;
    let at = format!("/book/{DEMO_SLUG}/new-line");
    let form = [
        ("base", "1"),
        ("title", "Rückwärtiger Angriff"),
        ("rig", "pumper-1"),
        ("hose", "attack"),
        ("length", "150"),
        ("nozzle", "twin"),
        ("setting", "low"),
        ("target", "flow"),
        ("value", "125"),
    ];
    let made = house.post(&at, &form).await;
    let text = house.get(made.to()).await.text();
    // C 14.2 measured: 14.2 x 1.25^2 x 1.5 = 33 psi of loss at 125 gpm.
    assert!(
        text.contains("150 ft of attack") && text.contains(&large("125 gpm")),
        "{text}"
    );
    let empty = house
        .post(&at, &[("base", "2"), ("title", ""), ("length", "")])
        .await;
    assert_eq!(empty.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(empty.text().contains("f-length-w"));
}

#[tokio::test]
async fn what_the_page_asks_does_not_end_it() {
    let house = House::with(DEMO).await;
    let odd = [
        "?edit=part%209",
        "?add=pump%20outlet",
        "?edit=%00",
        "?beyond=part%201",
        "?told=7",
        "?in=xx&pump=1e400",
        "?wall=1e9",
        "?fragment",
    ];
    for question in odd {
        for line in ["left-crosslay", "apartment", "monitor"] {
            let shown = house.get(&page(line, question)).await;
            assert!(
                shown.status.as_u16() < 500,
                "{line}{question}: {}",
                shown.status
            );
        }
    }
    let none = house.get(&page("nothing", "")).await;
    assert_eq!(none.status, StatusCode::NOT_FOUND);
}
