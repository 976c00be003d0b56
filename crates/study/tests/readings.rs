//! Readings of a day from files: what is taken, and what every slip is told.
#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

mod proof_day;

use book::Book;
use hydraulics::units::System;
use proof_day::workbook::workbook;
use proof_day::{demo, shipped, table};
use proptest::prelude::*;
use study::proof::{Place, Role, Subject, Taken, match_columns, read_day};

fn read(csv: &str) -> Taken {
    read_day(csv.as_bytes(), "day.csv", &demo(), None).unwrap()
}

const HEAD: &str =
    "test,date,time,point,flow (gpm),inlet (psi),outlet (psi),length (ft),inlet gauge,remark\n";

/// The one problem of a row under [`HEAD`].
fn problem(row: &str) -> String {
    let taken = read(&format!("{HEAD}{row}\n"));
    assert_eq!(taken.taken, 0, "{row} was taken");
    let told: Vec<String> = taken.problems.iter().map(ToString::to_string).collect();
    assert_eq!(told.len(), 1, "{told:?}");
    told[0].clone()
}

#[test]
fn every_slip_is_told_with_row_column_text_and_mend() {
    let told = [
        (
            "hose atack,2026-05-11,,,100,90,50,200,,",
            "row 2, test, \"hose atack\": the book has no hose \"atack\"; the book has attack, two-inch",
        ),
        (
            "attack 2,2026-05-11,,,100,90,50,200,,",
            "the book has no hose, nozzle, rig or hydrant \"attack 2\"",
        ),
        (
            ",2026-05-11,,,100,90,50,200,,",
            "the row does not say what was tested",
        ),
        (
            "nozzle twin,2026-05-11,,,100,,,,,",
            "it has several settings and none is chosen; its settings are high, low",
        ),
        (
            "hose attack,,,,100,90,50,200,,",
            "the day of the test is not told; give it in a column \"date\" as 2026-05-11",
        ),
        (
            "hose attack,11.5.2026,,,100,90,50,200,,",
            "date, \"11.5.2026\": this is not a day of the calendar",
        ),
        (
            "hose attack,2026-05-11,noon,,100,90,50,200,,",
            "time, \"noon\": this is not a time of day",
        ),
        (
            "hose attack,2026-05-11,,x,100,90,50,200,,",
            "point, \"x\": this is not the number of a point",
        ),
        (
            "hose attack,2026-05-11,,,1e9 gpm,90,50,200,,",
            "is no flow: that lies between 0 gpm and",
        ),
        (
            "hose attack,2026-05-11,,,100,fifty,50,200,,",
            "\"fifty\" has no number that can be read as a pressure",
        ),
        (
            "hose attack,2026-05-11,,,100,90 gpm,50,200,,",
            "\"gpm\" measures flow, but a pressure is wanted here",
        ),
        (
            "hose attack,2026-05-11,,,100,9000,50,200,,",
            "9000 psi is no inlet pressure: that lies between -1 psi and 1500 psi; check the number and its unit",
        ),
        (
            "hose attack,2026-05-11,,,100,,50,200,,",
            "the inlet pressure is missing; a test of hose attack needs it at every point",
        ),
        (
            "hose attack,2026-05-11,,,,90,50,200,,",
            "neither flow nor pitot pressure is given",
        ),
        (
            "hose attack,2026-05-11,,,100,90,50,,,",
            "the length is missing",
        ),
        (
            "hose attack,2026-05-11,,,100,90,50,200,left-gauge,",
            "the book has no gauge of this name or serial number; its gauges are: line-gauge-1",
        ),
        (
            "hose attack,2026-05-11,,,100,90,50,200,flow-meter,",
            "this is a flow meter, and here it is said to read the inlet pressure",
        ),
        (
            "hydrant mill-street,2026-05-11,,,100,60,,200,,",
            "a test of hydrant mill-street has no length",
        ),
    ];
    for (row, words) in told {
        let problem = problem(row);
        assert!(problem.starts_with("day.csv, row 2"), "{problem}");
        assert!(
            problem.contains(words),
            "{words} is missing from\n{problem}"
        );
    }
}

#[test]
fn good_rows_stay_and_what_is_blank_goes_on_from_the_row_before() {
    let taken = read(&format!(
        "{HEAD}hose attack,2026-05-11,8:05,1,100,90,50,200 ft,G-104,first\n\
         hose attack,,8:10,1,120,100,50,,,\n\
         hose attack,,8:15,,140,7.5 bar,50,,,\n"
    ));
    assert_eq!((taken.rows, taken.taken), (3, 2));
    assert!(
        taken.problems[0].message.contains("a point 1 already"),
        "{:?}",
        taken.problems
    );
    let test = &taken.day.tests[0];
    assert_eq!(
        (test.date.as_str(), taken.day.tests.len()),
        ("2026-05-11", 1)
    );
    let second: Vec<_> = test.readings.iter().filter(|r| r.point == 2).collect();
    let at = |place| second.iter().find(|r| r.place == place).unwrap();
    assert_eq!(at(Place::Length).written, "200 ft");
    // The gauge by its serial number, and it stays where it was.
    assert_eq!(at(Place::Inlet).gauge, "line-gauge-1");
    assert!((at(Place::Inlet).value - 7.5e5).abs() < 1e-6);
    assert_eq!(at(Place::Flow).time, "08:15");
}

#[test]
fn the_pump_outlet_is_where_a_hose_begins_and_a_pitot_needs_its_tip() {
    let taken = read(
        "kind,name,date,pitot psi,pitot tip,pump outlet psi,hose end psi,hose length ft\n\
         hose,attack,2026-05-11,40,,100,60,200\n\
         hose,attack,2026-05-11,40,fifteen-sixteenths,100,60,200\n\
         hose,attack,2026-05-11,40,breakaway,100,60,200\n",
    );
    assert_eq!(taken.taken, 1);
    let places: Vec<Place> = taken.day.tests[0]
        .readings
        .iter()
        .map(|r| r.place)
        .collect();
    assert_eq!(
        places,
        [Place::Pitot, Place::Inlet, Place::Outlet, Place::Length]
    );
    let told: Vec<String> = taken.problems.iter().map(ToString::to_string).collect();
    assert!(
        told[0].contains("tells no flow without the tip"),
        "{told:?}"
    );
    assert!(told[1].contains("breakaway is no solid tip"), "{told:?}");
}

#[test]
fn a_matching_that_was_changed_is_obeyed() {
    let csv = b"what;when;A;B;C;L\nhose attack;2026-05-11;100,5;90;50;200\n";
    assert!(read_day(csv, "day.csv", &demo(), None).is_err());
    let table = study::intake::read(csv, "day.csv", &|_| true).unwrap();
    let mut matching = match_columns(&table);
    let roles = [
        Role::Kind,
        Role::Date,
        Role::Value(Place::Flow),
        Role::Value(Place::Inlet),
        Role::Value(Place::Outlet),
        Role::Value(Place::Length),
    ];
    for (column, role) in matching.columns.iter_mut().zip(roles) {
        column.role = role;
    }
    matching.columns[3].unit = Some("psi");
    let taken = read_day(csv, "day.csv", &demo(), Some(&matching)).unwrap();
    assert_eq!(taken.problems, []);
    // A decimal comma, as the file is separated by semicolons.
    assert_eq!(taken.day.tests[0].readings[0].written, "100.5 gpm");
}

#[test]
fn a_day_in_metric_units_comes_out_of_a_workbook_as_out_of_csv() {
    let mut day = shipped();
    day.tests.truncate(2);
    let rows = table(&day, System::Si);
    let bytes = workbook(&rows);
    let text: Vec<String> = rows.iter().map(|row| row.join(",")).collect();
    let from_csv = read_day(text.join("\n").as_bytes(), "day.csv", &demo(), None).unwrap();
    let from_xlsx = read_day(&bytes, "day.xlsx", &demo(), None).unwrap();
    assert_eq!(from_xlsx.problems, []);
    assert_eq!(from_xlsx.day, from_csv.day);
    for (read, meant) in from_xlsx.day.tests[0]
        .readings
        .iter()
        .zip(&day.tests[0].readings)
    {
        // To the step of the file: a hundredth of a bar, a tenth of L/min or metre.
        assert!(
            (read.value - meant.value).abs() <= 501.0,
            "{read:?} {meant:?}"
        );
    }
    assert_eq!(
        from_xlsx.day.tests[0].subject,
        Subject::called("hose", "attack").unwrap()
    );
}

#[test]
fn files_that_are_no_table_are_refused() {
    let refused = |bytes: &[u8]| read_day(bytes, "x", &demo(), None).unwrap_err().to_string();
    assert!(refused(b"").contains("no row under a head"));
    assert!(refused(b"\x00\x01\x02").contains("neither a CSV nor an XLSX"));
    assert!(refused(b"PK\x03\x04rubbish").contains("workbook cannot be read"));
    assert!(refused(&[0xd0, 0xcf, 0x11, 0xe0, 0, 0]).contains("old kind"));
    assert!(refused(&vec![b'a'; 9 << 20]).contains("are the most"));
    let wide = format!("{}\n1\n", "flow,".repeat(300));
    assert!(refused(wide.as_bytes()).contains("more than 200 columns"));
    let long = "flow (gpm)\n1\n".to_string() + &"1\n".repeat(20_100);
    assert!(refused(long.as_bytes()).contains("more than 20000 rows"));
}

#[test]
fn a_cell_far_out_fills_no_memory() {
    let text = String::from_utf8_lossy(&workbook(&[vec!["flow (gpm)".into()]])).into_owned();
    assert!(text.contains("r=\"A1\""));
    let mut rows = vec![vec!["flow (gpm)".to_string()], vec!["100".into()]];
    rows.push(vec!["1".into()]);
    let bytes = workbook(&rows);
    // The last cell is moved to where a sheet ends: as wide and as high as can be.
    let from = b"r=\"A3\"><v>1</v>";
    let at = bytes.windows(from.len()).position(|w| w == from).unwrap();
    let mut far = bytes.clone();
    far.splice(at..at + from.len(), *b"r=\"XFD9\"><v>1<");
    let _ = read_day(&far, "far.xlsx", &demo(), None);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn law_no_bytes_make_it_panic(bytes in proptest::collection::vec(any::<u8>(), 0..600)) {
        let _ = read_day(&bytes, "any", &Book::default(), None);
    }

    #[test]
    fn law_no_table_makes_it_panic(cells in proptest::collection::vec("[ -~]{0,12}", 1..40)) {
        let text = format!("{HEAD}{}", cells.join(","));
        let _ = read_day(text.as_bytes(), "any", &demo(), None);
    }

    #[test]
    fn law_no_spoilt_workbook_makes_it_panic(at in 0_usize..2000, by in any::<u8>()) {
        let rows = vec![
            vec!["test".to_string(), "flow (gpm)".into()],
            vec!["hose attack".into(), "100".into()],
        ];
        let mut bytes = workbook(&rows);
        let length = bytes.len();
        bytes[at % length] ^= by;
        let _ = read_day(&bytes, "any.xlsx", &demo(), None);
    }
}
