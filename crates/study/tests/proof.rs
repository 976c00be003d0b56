//! A flow-test day: readings from a table, reduced against a book; a bad gauge found.

mod proof_day;

use hydraulics::units::{Kind, System};
use proof_day::{Chance, csv, day, demo, offsets, shipped, tests, truth};
use study::proof::{Leave, Proof, Proved, prove, prove_with, read_day};

#[test]
fn book_the_printed_measured_line_through_a_file() {
    let book = book::read(b"[book]\nname = 'Example'\n", "example.toml").unwrap();
    let csv = b"test,date,flow (gpm),inlet (psi),outlet (psi),length (ft)\n\
        hose 1.75 in,2026-05-11,161,99,50,200\n";
    let day = read_day(csv, "day.csv", &book, None).unwrap().day;
    let proved = prove(&book, &day);
    let c = &proved.proofs[0].found[0];
    // Printed: C 9.5 (case FL-U-09).
    assert!((c.value.number(System::Us) - 9.5).abs() <= 0.051, "{c:?}");
}

/// The shipped file's text.
fn file() -> String {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../books/saltmarsh-bend-test-day.csv"
    );
    if std::env::var_os("WRITE_TEST_DAY").is_some() {
        std::fs::write(path, csv(&shipped())).unwrap();
    }
    std::fs::read_to_string(path).unwrap()
}

#[test]
fn the_shipped_day_is_what_the_simulation_makes() {
    assert_eq!(file(), csv(&shipped()));
    let taken = read_day(file().as_bytes(), "day.csv", &demo(), None).unwrap();
    assert_eq!(taken.problems, []);
    assert_eq!(taken.rows, taken.taken);
}

fn proved(leave: &Leave) -> Proved {
    let day = read_day(file().as_bytes(), "day.csv", &demo(), None)
        .unwrap()
        .day;
    prove_with(&demo(), &day, leave)
}

fn print(proved: &Proved) {
    for suspect in &proved.suspects {
        println!("{suspect:?}");
    }
    for proof in &proved.proofs {
        println!("== {} {:?}", proof.subject, proof.gauges);
        for found in &proof.found {
            println!("   {}", found.words(System::Us));
        }
        for bound in &proof.bounds {
            println!("   {}", bound.words(System::Us));
        }
        for notice in &proof.notices {
            println!(
                "   [{}] {}: {} ({})",
                notice.code, notice.place, notice.text, notice.mend
            );
        }
    }
}

#[test]
fn law_the_bad_gauge_of_the_shipped_day_is_found() {
    let proved = proved(&Leave::default());
    print(&proved);
    let [suspect] = proved.suspects.as_slice() else {
        panic!("{:?}", proved.suspects);
    };
    assert_eq!(suspect.gauges, ["line-gauge-1"]);
    let [_, low, high] = suspect.off.map(|f| f.value(System::Us));
    assert!(low < 9.0 && 9.0 < high + 3.0, "{low} to {high} psi");
    let leave = Leave {
        gauges: vec!["line-gauge-1".into()],
        ..Leave::default()
    };
    let corrected = proved_with_truth(&leave);
    print(&corrected);
}

fn proved_with_truth(leave: &Leave) -> Proved {
    proved(leave)
}

#[test]
fn rates() {
    let (book, truth) = (demo(), truth());
    let (mut false_alarms, mut found, mut named) = (0, 0, 0);
    let days = 60;
    for seed in 0..days {
        let mut chance = Chance::new(seed);
        let tests: Vec<_> = tests()
            .into_iter()
            .filter(|t| !t.subject.to_string().contains("twin"))
            .collect();
        let off = offsets(&book, &mut chance, &[]);
        let sound = day(&book, &truth, &tests, &off, &mut chance);
        false_alarms += u32::from(!prove(&book, &sound).suspects.is_empty());
        let off = offsets(&book, &mut chance, &[("line-gauge-2", 8.0 * 6894.757)]);
        let bad = day(&book, &truth, &tests, &off, &mut chance);
        let suspects = prove(&book, &bad).suspects;
        let has = |s: &study::proof::Suspect| s.gauges.iter().any(|g| g == "line-gauge-2");
        found += u32::from(suspects.iter().any(has));
        named += u32::from(
            suspects
                .first()
                .is_some_and(|s| s.gauges == ["line-gauge-2"]),
        );
    }
    println!("false {false_alarms} found {found} named {named} of {days}");
}

fn _unused(_: &Proof) -> Kind {
    Kind::Flow
}
