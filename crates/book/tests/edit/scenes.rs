//! Scenes changed by hand, and the file that holds them.

use super::{BOOKS, DEMO, demo};
use book::{
    Book, EditError, Intake, IntakeFrom, NewScene, Part, RigFields, SceneEdit, SceneLine, SceneRig,
    WaterFields, amend, edit_scene, read,
};
use hydraulics::units::System;

fn tank() -> Intake {
    Intake {
        from: IntakeFrom::Tank,
        parts: Vec::new(),
    }
}

fn line(name: &str) -> SceneLine {
    SceneLine {
        line: name.into(),
        ..SceneLine::default()
    }
}

/// The change made, its file amended and read again.
fn kept(book: &Book, scene: &str, edit: &SceneEdit) -> Book {
    let after = edit_scene(book, scene, edit).unwrap();
    let text = amend(DEMO, &demo(), &after);
    assert_eq!(read(text.as_bytes(), "amended.toml").unwrap(), after);
    after
}

#[test]
fn each_change_of_a_scene_reads_back_from_the_amended_file() {
    let rig = SceneRig {
        intake: vec![tank()],
        lines: vec![line("large")],
        ..SceneRig::default()
    };
    let one = String::from("pumper-1");
    let edits = [
        SceneEdit::Title(Some("Mill".into())),
        SceneEdit::Note(None),
        SceneEdit::AddRig("pumper-3".into(), Box::new(rig)),
        SceneEdit::AddWater(one.clone(), tank()),
        SceneEdit::PutWater(one.clone(), 1, tank()),
        SceneEdit::RemoveWater(one.clone(), 0),
        SceneEdit::PumpPressure(
            one.clone(),
            book::pump_pressure("150 psi", System::Us).unwrap(),
        ),
        SceneEdit::PumpPressure(one.clone(), None),
        SceneEdit::AddLine(one.clone(), line("large")),
        SceneEdit::RemoveLine(one, 0),
        SceneEdit::RemoveRig("pumper-2".into()),
        SceneEdit::Delete,
    ];
    let mut book = demo();
    for edit in &edits {
        book = kept(&book, "mill-street", edit);
    }
    assert!(!book.scene.contains_key("mill-street"));
}

#[test]
fn what_does_not_hold_together_is_refused_and_says_what_would_mend_it() {
    let book = demo();
    let refused = |edit: SceneEdit| edit_scene(&book, "mill-street", &edit).unwrap_err();
    let (one, two) = (String::from("pumper-1"), String::from("pumper-2"));
    let rig = |from: &str| {
        Box::new(SceneRig {
            intake: vec![Intake {
                from: IntakeFrom::Rig(from.into()),
                parts: Vec::new(),
            }],
            ..SceneRig::default()
        })
    };
    let fed = vec![one.clone()];
    assert_eq!(
        refused(SceneEdit::RemoveRig(two.clone())),
        EditError::Supplies {
            rig: two.clone(),
            fed
        }
    );
    assert_eq!(
        refused(SceneEdit::AddRig(two.clone(), rig("pumper-1"))),
        EditError::AtWork { rig: two.clone() }
    );
    assert_eq!(
        refused(SceneEdit::AddRig("pumper-3".into(), rig("pumper-9"))),
        EditError::NotAtWork {
            rig: "pumper-9".into()
        }
    );
    assert_eq!(
        refused(SceneEdit::AddRig("pumper-9".into(), rig("pumper-1"))),
        EditError::NoPump {
            rig: "pumper-9".into()
        }
    );
    assert_eq!(
        refused(SceneEdit::RemoveWater(one.clone(), 0)),
        EditError::LastWater { rig: one.clone() }
    );
    assert!(matches!(
        refused(SceneEdit::RemoveLine(one.clone(), 9)),
        EditError::Gone { what: "line", .. }
    ));
    let unknown = refused(SceneEdit::AddLine(one, line("no such line")));
    assert!(unknown.to_string().contains("no such line"), "{unknown}");
    assert!(!unknown.mend().is_empty());
    let taken = SceneEdit::New(Box::new(book.scene["mill-street"].clone()));
    assert!(matches!(refused(taken), EditError::Taken { .. }));
    let missing = edit_scene(&book, "nowhere", &SceneEdit::Delete).unwrap_err();
    assert_eq!(missing.to_string(), "there is no scene \"nowhere\"");
}

#[test]
fn the_only_rig_of_a_scene_stays() {
    let edit = SceneEdit::RemoveRig("pumper-3".into());
    let error = edit_scene(&demo(), "county-road", &edit).unwrap_err();
    assert!(matches!(error, EditError::LastRig { .. }));
}

#[test]
fn water_shown_in_fields_and_read_again_is_the_same_in_both_systems() {
    let mut plain = 0;
    for (name, text) in BOOKS {
        let book = read(text.as_bytes(), name).unwrap();
        let rigs = book.scene.values().flat_map(|scene| scene.rig.values());
        for water in rigs.flat_map(|rig| &rig.intake) {
            for system in [System::Us, System::Si] {
                let shown = WaterFields::of(water, system);
                let read = shown.read(&book, system, Some(water)).unwrap();
                assert_eq!(read, *water, "{name}");
                plain += 1;
            }
        }
    }
    assert!(plain > 8);
}

#[test]
fn supply_lines_side_by_side_are_alike() {
    let typed = WaterFields {
        from: "hydrant mill-street".into(),
        hose: "supply".into(),
        length: "60".into(),
        count: "2".into(),
        ..WaterFields::default()
    };
    let water = typed.read(&demo(), System::Si, None).unwrap();
    let [Part::Legs(legs)] = water.parts.as_slice() else {
        panic!("no legs: {water:?}");
    };
    assert_eq!(legs[0], legs[1]);
    assert_eq!(WaterFields::of(&water, System::Si).count, "2");
    let many = WaterFields {
        count: "9".into(),
        ..typed
    };
    let errors = many.read(&demo(), System::Si, None).unwrap_err();
    assert_eq!(errors[0].key, "count");
}

#[test]
fn each_field_of_a_new_scene_that_is_missing_is_told() {
    let errors = NewScene::default().read(&demo(), System::Us).unwrap_err();
    let keys: Vec<&str> = errors.iter().map(|error| error.key).collect();
    assert_eq!(keys, ["title", "rig", "from", "hose", "length"]);
    let typed = NewScene {
        title: "?!".into(),
        rig: RigFields {
            rig: "pumper-1".into(),
            water: WaterFields {
                from: "tank".into(),
                ..WaterFields::default()
            },
            lines: vec!["large".into()],
        },
    };
    let (name, scene) = typed.read(&demo(), System::Us).unwrap();
    assert_eq!(name, "scene");
    let after = edit_scene(&demo(), &name, &SceneEdit::New(Box::new(scene))).unwrap();
    assert_eq!(after.scene["scene"].rig["pumper-1"].lines.len(), 1);
}
