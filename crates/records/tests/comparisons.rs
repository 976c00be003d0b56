//! Comparisons that a department keeps, with every text they have had.
#![allow(clippy::unwrap_used)]

mod common;

use common::Place;
use records::{By, ComparisonEntry, NewComparison, Note, Records, RecordsError};

const BEND: &str = "bend";
const NAME: &str = "crosslays";

fn by(at: i64) -> By {
    By::new("Captain", at)
}

fn new<'a>(title: &'a str, text: &'a str) -> NewComparison<'a> {
    NewComparison {
        name: NAME,
        title,
        text,
    }
}

/// A book, and a comparison with versions of these texts.
async fn with(place: &Place, texts: &[&str]) -> Records {
    let records = place.records().await;
    let note = Note::default();
    records.create(BEND, "Bend", "one", &note).await.unwrap();
    let mut base = None;
    for (text, at) in texts.iter().zip(1..) {
        let new = new("Crosslays", text);
        let saved = records.save_comparison(BEND, base, &new, &by(at)).await;
        base = Some(saved.unwrap());
    }
    records
}

async fn text(records: &Records, number: Option<i64>) -> String {
    let kept = records.comparison(BEND, NAME, number).await;
    kept.unwrap().text
}

async fn a_comparison_is_saved_as_the_next_version_and_earlier_ones_stay(place: Place) {
    let odd = "before\0after\r\n 消防 \u{feff}";
    let records = with(&place, &["first", odd]).await;
    assert_eq!(text(&records, None).await, odd);
    assert_eq!(text(&records, Some(2)).await, odd);
    assert_eq!(text(&records, Some(1)).await, "first");
    let versions = records.comparison_versions(BEND, NAME, 10).await.unwrap();
    let entry = |number| ComparisonEntry {
        slug: BEND.into(),
        name: NAME.into(),
        number,
        newest: 2,
        title: "Crosslays".into(),
        by: by(number),
        withdrawn: None,
    };
    assert_eq!(versions, [entry(2), entry(1)]);
    assert_eq!(
        records.comparisons(BEND, 10).await.unwrap(),
        versions[..1].to_vec()
    );
    let trail = records.audit(BEND, 10).await.unwrap();
    let told: Vec<(&str, &str)> = trail
        .iter()
        .map(|deed| (deed.what.as_str(), deed.about.as_str()))
        .collect();
    assert_eq!(told[0], ("comparison saved", "crosslays, version 2"));
    assert_eq!(told[1], ("comparison saved", "crosslays, version 1"));
    drop(records);
    assert_eq!(text(&place.records().await, None).await, odd);
}

async fn a_save_on_an_old_version_is_refused_and_nothing_written(place: Place) {
    let records = with(&place, &["first", "second"]).await;
    let late = new("Late", "late");
    let told = records.save_comparison(BEND, Some(1), &late, &by(9)).await;
    match told.unwrap_err() {
        RecordsError::ComparisonStale { base, current, .. } => assert_eq!((base, current), (1, 2)),
        other => unreachable!("{other}"),
    }
    let told = records.save_comparison(BEND, None, &late, &by(9)).await;
    let told = told.unwrap_err().to_string();
    assert!(told.contains("\"crosslays\" already"), "{told}");
    assert_eq!(text(&records, None).await, "second");
    assert_eq!(records.audit(BEND, 10).await.unwrap().len(), 3);
}

async fn of_many_saves_at_once_one_is_kept(place: Place) {
    let records = with(&place, &["first"]).await;
    let saves: Vec<_> = (0..8)
        .map(|writer| {
            let records = records.clone();
            tokio::spawn(async move {
                let text = format!("of {writer}");
                let new = new("Crosslays", &text);
                records.save_comparison(BEND, Some(1), &new, &by(2)).await
            })
        })
        .collect();
    let mut kept = 0;
    for save in saves {
        match save.await.unwrap() {
            Ok(number) => {
                assert_eq!(number, 2);
                kept += 1;
            }
            Err(told) => assert!(
                matches!(told, RecordsError::ComparisonStale { .. }),
                "{told}"
            ),
        }
    }
    assert_eq!(kept, 1);
    let versions = records.comparison_versions(BEND, NAME, 10).await.unwrap();
    assert_eq!(versions.len(), 2);
}

async fn of_many_new_ones_of_one_name_one_is_kept(place: Place) {
    let records = with(&place, &[]).await;
    let saves: Vec<_> = (0..8)
        .map(|_| {
            let records = records.clone();
            tokio::spawn(async move {
                let new = new("Crosslays", "one");
                records.save_comparison(BEND, None, &new, &by(1)).await
            })
        })
        .collect();
    let mut kept = 0;
    for save in saves {
        match save.await.unwrap() {
            Ok(_) => kept += 1,
            Err(told) => assert!(matches!(told, RecordsError::ComparisonTaken(_)), "{told}"),
        }
    }
    assert_eq!(kept, 1);
}

async fn a_withdrawn_comparison_can_be_read_and_brought_back(place: Place) {
    let records = with(&place, &["first"]).await;
    assert!(
        records
            .withdraw_comparison(BEND, NAME, &by(5))
            .await
            .unwrap()
    );
    assert!(
        !records
            .withdraw_comparison(BEND, NAME, &by(6))
            .await
            .unwrap()
    );
    let kept = records.comparison(BEND, NAME, None).await.unwrap();
    assert_eq!(kept.entry.withdrawn, Some(by(5)));
    assert_eq!(kept.text, "first");
    let told = records
        .save_comparison(BEND, Some(1), &new("Late", "late"), &by(7))
        .await
        .unwrap_err();
    assert!(
        matches!(told, RecordsError::ComparisonWithdrawn(_)),
        "{told}"
    );
    assert!(
        records
            .bring_back_comparison(BEND, NAME, &by(8))
            .await
            .unwrap()
    );
    assert!(
        !records
            .bring_back_comparison(BEND, NAME, &by(8))
            .await
            .unwrap()
    );
    let again = records
        .save_comparison(BEND, Some(1), &new("Anew", "second"), &by(9))
        .await;
    assert_eq!(again.unwrap(), 2);
    let trail = records.audit(BEND, 3).await.unwrap();
    let told: Vec<&str> = trail.iter().map(|deed| deed.what.as_str()).collect();
    assert_eq!(
        told,
        [
            "comparison saved",
            "comparison brought back",
            "comparison withdrawn"
        ]
    );
}

async fn what_is_not_there_is_named(place: Place) {
    let records = with(&place, &["first"]).await;
    let of = |told: RecordsError| told.to_string();
    let told = of(records.comparison(BEND, "none", None).await.unwrap_err());
    assert!(told.contains("no comparison \"none\""), "{told}");
    let told = of(records.comparison(BEND, NAME, Some(7)).await.unwrap_err());
    assert!(told.contains("no version 7"), "{told}");
    let told = of(records.comparison("no", NAME, Some(1)).await.unwrap_err());
    assert!(told.contains("no comparison"), "{told}");
    let save = |slug, base, name| {
        let records = &records;
        async move {
            let new = NewComparison {
                name,
                title: "",
                text: "",
            };
            let saved = records.save_comparison(slug, base, &new, &by(1)).await;
            saved.unwrap_err().to_string()
        }
    };
    assert!(save("no", None, "x").await.contains("no book \"no\""));
    assert!(save(BEND, Some(1), "x").await.contains("no comparison"));
    assert!(save(BEND, None, " ").await.contains("needs a name"));
    for told in [
        records.withdraw_comparison(BEND, "none", &by(1)).await,
        records.bring_back_comparison(BEND, "none", &by(1)).await,
    ] {
        assert!(of(told.unwrap_err()).contains("no comparison"));
    }
    assert_eq!(records.audit(BEND, 10).await.unwrap().len(), 2);
}

/// Two departments may each keep one of the same name.
async fn comparisons_are_listed_by_department_the_last_saved_first(place: Place) {
    let records = with(&place, &["first"]).await;
    let note = Note::default();
    records.create("arbour", "Arbour", "", &note).await.unwrap();
    let own = new("Their own", "theirs");
    let saved = records.save_comparison("arbour", None, &own, &by(1)).await;
    assert_eq!(saved.unwrap(), 1);
    let bumper = NewComparison {
        name: "bumper",
        ..own
    };
    records
        .save_comparison(BEND, None, &bumper, &by(3))
        .await
        .unwrap();
    let list = records.comparisons(BEND, 10).await.unwrap();
    let names: Vec<&str> = list.iter().map(|entry| entry.name.as_str()).collect();
    assert_eq!(names, ["bumper", NAME]);
    assert_eq!(records.comparisons(BEND, 1).await.unwrap().len(), 1);
    assert_eq!(text(&records, None).await, "first");
    let theirs = records.comparison("arbour", NAME, None).await.unwrap();
    assert_eq!(theirs.text, "theirs");
}

on_both!(
    a_comparison_is_saved_as_the_next_version_and_earlier_ones_stay,
    a_save_on_an_old_version_is_refused_and_nothing_written,
    of_many_saves_at_once_one_is_kept,
    of_many_new_ones_of_one_name_one_is_kept,
    a_withdrawn_comparison_can_be_read_and_brought_back,
    what_is_not_there_is_named,
    comparisons_are_listed_by_department_the_last_saved_first,
);
