//! Curves of the demo's and the catalogue's equipment, held against printed values.
#![allow(clippy::unwrap_used)]

use book::{Book, catalogue};
use hydraulics::units::System;
use picture::{Drawing, hose_curve, loss_curve, nozzle_curve, reaction_curve};
use roxmltree::Document;

const SYSTEMS: [System; 2] = [System::Us, System::Si];

fn read(text: &str) -> Book {
    book::read(text.as_bytes(), "test.toml").unwrap()
}

fn demo() -> Book {
    read(include_str!("../../../books/saltmarsh-bend.toml"))
}

fn row<'a>(drawing: &'a Drawing, column: usize, cell: &str) -> &'a [String] {
    let found = drawing.table.rows.iter().find(|row| row[column] == cell);
    assert!(found.is_some(), "no {cell} in {:?}", drawing.table.rows);
    found.unwrap()
}

fn all(system: System) -> Vec<Drawing> {
    let demo = demo();
    let mut all = Vec::new();
    for book in [&demo, catalogue()] {
        let hose = book.hose.keys();
        all.extend(hose.map(|name| hose_curve(&demo, name, system).unwrap()));
        for (name, item) in &book.nozzle {
            all.push(nozzle_curve(name, item, system).unwrap());
            all.push(reaction_curve(name, item, demo.crew_limits(), system).unwrap());
        }
        for (name, item) in &book.appliance {
            let drawing = loss_curve(name, item, system);
            assert_eq!(drawing.is_some(), item.loss.is_some(), "{name}");
            all.extend(drawing);
        }
    }
    all
}

#[test]
fn every_curve_is_a_drawing_with_a_table_and_no_figure_without_a_unit() {
    for system in SYSTEMS {
        let all = all(system);
        assert!(all.len() > 120, "{}", all.len());
        for drawing in &all {
            let svg = Document::parse(&drawing.svg).unwrap();
            assert!(svg.descendants().any(|node| node.has_tag_name("path")));
            assert!(!drawing.svg.contains("NaN") && !drawing.svg.contains("inf"));
            let (head, rows) = (&drawing.table.head, &drawing.table.rows);
            assert!(rows.len() > 2 && rows.iter().all(|row| row.len() == head.len()));
        }
    }
}

#[test]
fn the_same_equipment_gives_the_same_bytes() {
    assert_eq!(all(System::Us), all(System::Us));
}

#[test]
fn book_friction_loss_of_c_10_at_150_gpm() {
    // Case FL-U-05 (seen): C 10, 150 gpm, 150 ft: 33.75 psi, so 22.5 psi in 100 ft.
    let book = read("[book]\nname = 'Test'\n[hose.ten]\nsize = '1.75 in'\ncoefficient = 10\n");
    let drawing = hose_curve(&book, "ten", System::Us).unwrap();
    // Shown to the whole psi; halves away from zero.
    assert!(["22 psi", "23 psi"].contains(&row(&drawing, 0, "150 gpm")[1].as_str()));
    // 100 m are 3.2808 times as long: 22.5 psi of 100 ft are 5.09 bar at 568 L/min.
    let drawing = hose_curve(&book, "ten", System::Si).unwrap();
    let at = |flow: f64| 5.09 * (flow / 567.8).powi(2);
    let cell = &row(&drawing, 0, "400 L/min")[1];
    let bar: f64 = cell.strip_suffix(" bar").unwrap().parse().unwrap();
    assert!((bar - at(400.0)).abs() < 0.06, "{cell}");
}

#[test]
fn a_measured_coefficient_stands_beside_the_published_one_and_its_spread() {
    let drawing = hose_curve(&demo(), "attack", System::Us).unwrap();
    let head = [
        "Flow",
        "Published",
        "Measured",
        "Lowest published",
        "Highest published",
    ];
    assert_eq!(drawing.table.head, head);
    for words in ["C 15.5", "C 14.2", "C 7 to C 15.5"] {
        assert!(drawing.caption.contains(words), "{}", drawing.caption);
    }
}

#[test]
fn book_reaction_of_a_master_tip() {
    // Case NR-02 (seen): 1-3/8 in at 80 psi gives 237 lbf.
    let item = &demo().nozzle["master"];
    let limits = demo().crew_limits();
    let drawing = reaction_curve("master", item, limits, System::Us).unwrap();
    assert_eq!(row(&drawing, 0, "80 psi")[2], "237 lbf");
}

#[test]
fn crew_limits_stand_beside_a_reaction_that_people_could_hold() {
    let limits = demo().crew_limits();
    let drawn = |name: &str| {
        let item = &catalogue().nozzle[name];
        let drawing = reaction_curve(name, item, limits, System::Us).unwrap();
        drawing.svg.contains("3 people, 95 lbf")
    };
    assert!(drawn("15/16 in smooth bore") && !drawn("2-1/2 in smooth bore"));
}

#[test]
fn an_automatic_nozzle_shows_both_settings_and_its_range() {
    let demo = demo();
    let drawing = nozzle_curve("twin", &demo.nozzle["twin"], System::Us).unwrap();
    for words in [
        "Setting high: 70 gpm at 94 psi",
        "Setting low: 200 gpm at 56 psi",
    ] {
        assert!(drawing.caption.contains(words), "{}", drawing.caption);
    }
    for class in ["\"main\"", "\"main dash\"", "\"main dashdot\""] {
        assert_eq!(
            drawing.svg.matches(&format!("class={class}")).count(),
            2,
            "{class}"
        );
    }
}

#[test]
fn book_an_allowance_counts_from_350_gpm() {
    // Cases APP-02, APP-03: 0 below 350 gpm, 10 psi at 350 gpm or more.
    let item = &catalogue().appliance["appliance from 350 gpm"];
    let drawing = loss_curve("allowance", item, System::Us).unwrap();
    assert_eq!(row(&drawing, 0, "300 gpm")[1], "0 psi");
    assert_eq!(row(&drawing, 0, "350 gpm")[1], "10 psi");
    assert_eq!(row(&drawing, 0, "400 gpm")[1], "10 psi");
}

#[test]
fn a_measured_nozzle_is_drawn_beside_its_rating() {
    let text = b"[book]\nname = \"x\"\n[nozzle.fog]\nkind = \"fixed\"\nflow = \"150 gpm\"\npressure = \"50 psi\"\nmeasured = { flow = \"143 gpm\" }\n";
    let book = book::read(text, "x").unwrap();
    let drawing = nozzle_curve("fog", &book.nozzle["fog"], System::Us).unwrap();
    for said in ["Measured: 143 gpm at 50 psi", "Rated: 150 gpm at 50 psi"] {
        assert!(drawing.caption.contains(said), "{}", drawing.caption);
    }
}
