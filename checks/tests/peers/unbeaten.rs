//! The choices that no other beats, beside pymoo's sorting into fronts.
#![allow(clippy::unwrap_used, clippy::panic)]

use checks::data;
use serde::Deserialize;

#[derive(Deserialize)]
struct Case {
    columns: Vec<Vec<f64>>,
    unbeaten: Vec<usize>,
}

#[test]
fn peer_unbeaten_rows_are_the_first_front_of_pymoo() {
    let text = std::fs::read_to_string(data().join("peer_unbeaten.json")).unwrap();
    let cases: Vec<Case> = serde_json::from_str(&text).unwrap();
    assert_eq!(cases.len(), 12);
    for case in cases {
        let (aims, rows) = (case.columns.len(), case.columns[0].len());
        let found = study::choose::unbeaten(&case.columns);
        assert_eq!(found, case.unbeaten, "{aims} aims, {rows} rows");
        assert!(!found.is_empty());
    }
}
