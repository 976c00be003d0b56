//! Equipment by serial number, what is due, and people.
#![allow(clippy::unwrap_used)]

mod common;

use common::Place;
use records::{By, Gear, NewEquipment, Note, Records, RecordsError, Role, State, Trial};

const BEND: &str = "bend";

fn piece(serial: &str, gear: Gear, since: &str, months: u16) -> NewEquipment {
    NewEquipment {
        serial: serial.into(),
        gear,
        item: "attack".into(),
        title: format!("Length {serial}"),
        since: since.into(),
        months,
    }
}

fn trial(date: &str, passed: bool) -> Trial {
    Trial {
        date: date.into(),
        passed,
        remark: "held for 3 minutes".into(),
        by: By::new("Tester", 1_790_000_000),
    }
}

fn captain() -> By {
    By::new("Captain", 1_790_000_000)
}

async fn store(place: &Place) -> Records {
    let records = place.records().await;
    let note = Note::default();
    records.create(BEND, "Bend", "text", &note).await.unwrap();
    let new = [
        piece("H-2", Gear::Hose, "2024-02-29", 12),
        piece("H-10", Gear::Hose, "2026-04-01", 12),
        piece("N-1", Gear::Nozzle, "2026-01-10", 12),
        piece("G-7", Gear::Gauge, "2025-11-30", 6),
    ];
    records.add_equipment(BEND, &new, &captain()).await.unwrap();
    records
}

async fn states(records: &Records, today: &str) -> Vec<(String, &'static str)> {
    let all = records.equipment(BEND).await.unwrap();
    let stand = |e: &records::Equipment| (e.new.serial.clone(), e.state(today).unwrap().word());
    all.iter().map(stand).collect()
}

fn told(states: &[(String, &'static str)]) -> Vec<String> {
    let line = |(serial, word): &(String, &'static str)| format!("{serial} {word}");
    states.iter().map(line).collect()
}

async fn a_piece_goes_from_service_to_due_to_tested_to_retired(place: Place) {
    let records = store(&place).await;
    assert_eq!(
        told(&states(&records, "2025-02-27").await),
        [
            "G-7 in service",
            "H-10 in service",
            "H-2 in service",
            "N-1 in service"
        ]
    );
    // A year after 29 February 2024 is 28 February 2025.
    let day = "2025-02-28";
    assert!(told(&states(&records, day).await).contains(&"H-2 due".to_string()));
    let passed = trial("2025-03-03", true);
    records.add_trial(BEND, "H-2", &passed).await.unwrap();
    let failed = trial("2026-02-01", false);
    records.add_trial(BEND, "N-1", &failed).await.unwrap();
    assert_eq!(
        told(&states(&records, "2026-03-02").await),
        [
            "G-7 in service",
            "H-10 in service",
            "H-2 tested",
            "N-1 failed"
        ]
    );
    let why = ("2026-03-05", "burst");
    records.retire(BEND, "H-2", why, &captain()).await.unwrap();
    assert_eq!(
        told(&states(&records, "2027-12-31").await),
        ["G-7 due", "H-10 due", "H-2 retired", "N-1 failed"]
    );
    let all = records.equipment(BEND).await.unwrap();
    let retired = &all[2];
    assert_eq!(retired.new, piece("H-2", Gear::Hose, "2024-02-29", 12));
    assert_eq!(retired.trial, Some(passed));
    assert_eq!(retired.retired, Some(("2026-03-05".into(), "burst".into())));
}

async fn what_is_due_is_listed_the_earliest_first(place: Place) {
    let records = store(&place).await;
    records
        .add_trial(BEND, "N-1", &trial("2026-02-01", false))
        .await
        .unwrap();
    let due = records.due(BEND, "2026-06-30").await.unwrap();
    let seen: Vec<String> = due
        .iter()
        .map(|(day, piece)| format!("{day} {}", piece.new.serial))
        .collect();
    assert_eq!(seen, ["2025-02-28 H-2", "2026-05-30 G-7", "2027-02-01 N-1"]);
    assert_eq!(due[2].1.state("2026-06-30").unwrap(), State::Failed);
    let passed = trial("2026-06-01", true);
    records.add_trial(BEND, "N-1", &passed).await.unwrap();
    assert_eq!(records.due(BEND, "2026-06-30").await.unwrap().len(), 2);
    // An older test that is entered late does not count as the latest.
    let late = trial("2025-12-24", false);
    records.add_trial(BEND, "N-1", &late).await.unwrap();
    assert_eq!(records.due(BEND, "2026-06-30").await.unwrap().len(), 2);
    let trials = records.trials(BEND, "N-1").await.unwrap();
    let days: Vec<&str> = trials.iter().map(|t| t.date.as_str()).collect();
    assert_eq!(days, ["2026-06-01", "2026-02-01", "2025-12-24"]);
}

async fn wrong_equipment_is_refused_and_nothing_entered(place: Place) {
    let records = store(&place).await;
    let by = captain();
    let before = records.equipment(BEND).await.unwrap();
    let twice = [
        piece("H-3", Gear::Hose, "2026-01-01", 12),
        piece("H-2", Gear::Hose, "2026-01-01", 12),
    ];
    let refused = records.add_equipment(BEND, &twice, &by).await.unwrap_err();
    assert!(matches!(refused, RecordsError::Serial(ref s) if s == "H-2"));
    let no_day = [piece("H-3", Gear::Hose, "May", 12)];
    let refused = records.add_equipment(BEND, &no_day, &by).await.unwrap_err();
    assert!(refused.to_string().contains("\"May\" is no day"));
    let nowhere = records.add_equipment("nowhere", &no_day, &by).await;
    assert!(matches!(nowhere, Err(RecordsError::NoBook(_))));
    let passed = trial("2026-04-01", true);
    let unknown = records.add_trial(BEND, "H-9", &passed);
    assert!(matches!(unknown.await, Err(RecordsError::NoSerial(_))));
    assert_eq!(records.equipment(BEND).await.unwrap(), before);
    let burst = ("2026-03-05", "burst");
    records.retire(BEND, "H-2", burst, &by).await.unwrap();
    let again = records.retire(BEND, "H-2", burst, &by).await.unwrap_err();
    assert!(matches!(again, RecordsError::Retired { .. }), "{again}");
    let late = records.add_trial(BEND, "H-2", &passed);
    assert!(matches!(late.await, Err(RecordsError::Retired { .. })));
}

/// Invented; only its form counts.
const HASH: &str = "$argon2id$v=19$m=19456,t=2,p=1$c2FsdHNhbHQ$aW52ZW50ZWQ";

async fn a_role_counts_in_its_department_alone(place: Place) {
    let records = store(&place).await;
    let (by, note) = (captain(), Note::default());
    records
        .create("arbour", "Arbour", "text", &note)
        .await
        .unwrap();
    records.set_person("Ann", Some(HASH), &by).await.unwrap();
    records.set_person("Bo", None, &by).await.unwrap();
    let tester = Some(Role::Tester);
    records.set_role(BEND, "Ann", tester, &by).await.unwrap();
    assert_eq!(records.role(BEND, "Ann").await.unwrap(), tester);
    assert_eq!(records.role("arbour", "Ann").await.unwrap(), None);
    assert_eq!(records.role(BEND, "Bo").await.unwrap(), None);
    let editor = Some(Role::Editor);
    records.set_role(BEND, "Ann", editor, &by).await.unwrap();
    records.set_role(BEND, "Bo", tester, &by).await.unwrap();
    assert_eq!(
        records.roles(BEND).await.unwrap(),
        [("Ann".into(), Role::Editor), ("Bo".into(), Role::Tester)]
    );
    records.set_role(BEND, "Ann", None, &by).await.unwrap();
    assert_eq!(records.role(BEND, "Ann").await.unwrap(), None);
    let nobody = records.set_role(BEND, "Cy", tester, &by).await;
    assert!(matches!(nobody, Err(RecordsError::NoPerson(_))));
    let nowhere = records.set_role("nowhere", "Bo", tester, &by).await;
    assert!(matches!(nowhere, Err(RecordsError::NoBook(_))));
}

async fn a_department_keeps_a_keeper(place: Place) {
    let records = store(&place).await;
    let (by, keeper) = (captain(), Some(Role::Keeper));
    for name in ["Ann", "Bo"] {
        records.set_person(name, Some(HASH), &by).await.unwrap();
        records.set_role(BEND, name, keeper, &by).await.unwrap();
    }
    // Each takes the other's role away at the same moment.
    let tries = ["Ann", "Bo"].map(|name| {
        let (records, by) = (records.clone(), by.clone());
        tokio::spawn(async move { records.set_role(BEND, name, None, &by).await })
    });
    let mut refused = 0;
    for tried in tries {
        if let Err(told) = tried.await.unwrap() {
            assert!(matches!(told, RecordsError::LastKeeper { .. }), "{told}");
            refused += 1;
        }
    }
    assert_eq!(refused, 1);
    assert_eq!(records.roles(BEND).await.unwrap().len(), 1);
}

async fn a_password_is_never_kept_or_shown_as_it_is_typed(place: Place) {
    let records = store(&place).await;
    let by = captain();
    let typed = records.set_person("Ann", Some("hydrant"), &by).await;
    assert!(matches!(typed, Err(RecordsError::Hash)));
    assert_eq!(records.person("Ann").await.unwrap(), None);
    records.set_person("Ann", Some(HASH), &by).await.unwrap();
    let ann = records.person("Ann").await.unwrap().unwrap();
    assert_eq!(ann.hash.as_deref(), Some(HASH));
    assert!(!format!("{ann:?}").contains("argon2"));
    records.set_person("Ann", None, &by).await.unwrap();
    assert_eq!(records.person("Ann").await.unwrap().unwrap().hash, None);
    assert!(records.set_person(" ", None, &by).await.is_err());
}

async fn the_trail_says_who_did_what_and_when(place: Place) {
    let records = store(&place).await;
    let note = Note {
        who: "Ann".into(),
        at: 5,
        ..Note::default()
    };
    records.save(BEND, 1, "Bend", "two", &note).await.unwrap();
    records.undo(BEND, 2, "Bend", &note).await.unwrap();
    // What is refused leaves no line.
    records
        .save(BEND, 1, "Bend", "late", &note)
        .await
        .unwrap_err();
    records
        .add_trial(BEND, "H-2", &trial("2026-01-01", true))
        .await
        .unwrap();
    let trail = records.audit(BEND, 4).await.unwrap();
    let seen: Vec<String> = trail
        .iter()
        .map(|d| format!("{} {}: {} {}", d.by.at, d.by.who, d.what, d.about))
        .collect();
    assert_eq!(
        seen,
        [
            "1790000000 Tester: equipment passed H-2",
            "5 Ann: change undone revision 3",
            "5 Ann: book saved revision 2",
            "1790000000 Captain: equipment entered G-7",
        ]
    );
    assert_eq!(trail[0].slug.as_deref(), Some(BEND));
    records
        .set_person("Bo", None, &By::new("Ann", 6))
        .await
        .unwrap();
    assert_eq!(records.audit_of_all(1).await.unwrap()[0].slug, None);
}

on_both!(
    a_piece_goes_from_service_to_due_to_tested_to_retired,
    what_is_due_is_listed_the_earliest_first,
    wrong_equipment_is_refused_and_nothing_entered,
    a_role_counts_in_its_department_alone,
    a_department_keeps_a_keeper,
    a_password_is_never_kept_or_shown_as_it_is_typed,
    the_trail_says_who_did_what_and_when,
);
