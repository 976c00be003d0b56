//! A flow-test day: readings from a table, reduced against a book.

use hydraulics::units::System;
use study::proof::{prove, read_day};

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
