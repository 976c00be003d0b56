//! Each edit on the demo.

use crate::{DEMO, apply, demo, hose, nozzle, path, told};
use book::{
    AppliancePart, Book, Edit, EditError, Line, NewLine, NewLineError, Part, Stated, check, edit,
    edit_and_adapt, new_line, read,
};
use hydraulics::units::{Kind, System};

fn parts(book: &book::Book, line: &str) -> String {
    told(&book.line[line].parts)
}

#[test]
fn a_part_is_put_in_place_of_another() {
    let book = demo();
    let longer = apply(
        &book,
        "left-crosslay",
        Edit::Put(path("part 1"), hose("attack", "250 ft")),
    );
    assert_eq!(
        longer.line["left-crosslay"].parts[0],
        hose("attack", "250 ft")
    );
    assert_eq!(longer.line["right-crosslay"], book.line["right-crosslay"]);
    let inner = Edit::Put(path("part 3, branch 2, part 1"), hose("1.5 in", "100 ft"));
    let swapped = apply(&book, "apartment", inner);
    assert_eq!(
        parts(&swapped, "apartment"),
        "supply, gated wye 2.5 to 1.5 in, branches[attack, twin | 1.5 in, fifteen-sixteenths]"
    );
}

#[test]
fn what_does_not_hold_is_refused_with_the_part_and_its_key() {
    let book = demo();
    let cases = [
        (
            Edit::Put(path("part 2"), nozzle("twin", None)),
            "no_setting",
            "part 2",
            "setting",
        ),
        (
            Edit::Put(path("part 2"), nozzle("nobody", None)),
            "unknown_name",
            "part 2",
            "nozzle",
        ),
        (
            Edit::Put(path("part 1"), hose("large", "50 ft")),
            "misfit",
            "part 2",
            "",
        ),
        (Edit::Remove(path("part 2")), "no_tip", "part 1", ""),
        (
            Edit::Insert(path("part 3"), vec![hose("attack", "50 ft")]),
            "after_tip",
            "part 2",
            "nozzle",
        ),
        (
            Edit::Rig(Some("pumper-9".into())),
            "unknown_name",
            "pump outlet",
            "rig",
        ),
    ];
    for (change, code, at, key) in cases {
        let Err(EditError::Faults(faults)) = edit(&book, "left-crosslay", &change) else {
            panic!("{change:?}");
        };
        let fault = &faults[0];
        assert_eq!((fault.code, fault.key), (code, key), "{fault:?}");
        assert_eq!(fault.path.to_string(), at);
        assert!(!fault.mend.is_empty());
    }
}

#[test]
fn a_way_that_leads_nowhere_is_told() {
    let book = demo();
    for way in [
        "part 9",
        "part 1, branch 1",
        "part 3, leg 1, part 1",
        "part 3, branch 3",
        "outlet 1",
    ] {
        for change in [
            Edit::Put(path(way), hose("attack", "50 ft")),
            Edit::Remove(path(way)),
            Edit::Earlier(path(way)),
            Edit::Later(path(way)),
            Edit::Twin(path(way)),
            Edit::AddRow(path(way)),
            Edit::Divide {
                at: path(way),
                appliance: None,
            },
        ] {
            let error = edit(&book, "apartment", &change).unwrap_err();
            assert!(
                matches!(error, EditError::NoPart { .. }),
                "{change:?}: {error:?}"
            );
        }
    }
    let error = edit(&book, "nobody", &Edit::Title(None)).unwrap_err();
    assert_eq!(error.to_string(), "there is no line \"nobody\"");
}

#[test]
fn a_part_is_moved_within_its_row() {
    let book = demo();
    let book = apply(
        &book,
        "left-crosslay",
        Edit::Insert(path("part 1"), vec![hose("1.5 in", "50 ft")]),
    );
    let moved = apply(&book, "left-crosslay", Edit::Later(path("part 1")));
    assert_eq!(parts(&moved, "left-crosslay"), "attack, 1.5 in, twin");
    assert_eq!(
        apply(&moved, "left-crosslay", Edit::Earlier(path("part 2"))),
        book
    );
    let first = edit(&book, "left-crosslay", &Edit::Earlier(path("part 1"))).unwrap_err();
    assert_eq!(first.to_string(), "part 1 is already the first of its row");
}

#[test]
fn gates_go_with_their_branches() {
    let mut book = demo();
    let share = |text: &str| Stated::read(Kind::Share, text, System::Us).unwrap();
    let Part::Appliance(wye) = &mut book.line["apartment"].parts[1] else {
        panic!()
    };
    wye.gates = vec![share("100 %"), share("40 %")];
    let gates = |book: &book::Book| match &book.line["apartment"].parts[1] {
        Part::Appliance(wye) => wye
            .gates
            .iter()
            .map(|g| g.text().to_string())
            .collect::<Vec<_>>(),
        other => panic!("{other:?}"),
    };
    let moved = apply(&book, "apartment", Edit::Later(path("part 3, branch 1")));
    assert_eq!(gates(&moved), ["40 %", "100 %"]);
    assert_eq!(
        parts(&moved, "apartment"),
        "supply, gated wye 2.5 to 1.5 in, branches[attack, fifteen-sixteenths | attack, twin]"
    );
}

#[test]
fn a_line_is_divided_at_its_tip_and_joined_again() {
    let book = demo();
    let at = Edit::Divide {
        at: path("part 2"),
        appliance: None,
    };
    let divided = apply(&book, "left-crosslay", at);
    assert_eq!(
        parts(&divided, "left-crosslay"),
        "attack, wye 1.5 in, wildland, branches[twin | twin]"
    );
    assert_eq!(check(&divided), []);
    let joined = apply(
        &divided,
        "left-crosslay",
        Edit::Remove(path("part 3, branch 2")),
    );
    assert_eq!(joined, book);
    let large = apply(
        &book,
        "large",
        Edit::Divide {
            at: path("part 2"),
            appliance: None,
        },
    );
    assert_eq!(
        parts(&large, "large"),
        "large, gated wye 2.5 to 2.5 in, branches[inch-and-an-eighth | inch-and-an-eighth]"
    );
    let named = Edit::Divide {
        at: path("part 1"),
        appliance: Some("gated wye 2.5 to 1.5 in".into()),
    };
    let named = apply(&book, "left-crosslay", named);
    assert_eq!(
        parts(&named, "left-crosslay"),
        "gated wye 2.5 to 1.5 in, branches[attack, twin | attack, twin]"
    );
}

#[test]
fn where_no_wye_fits_that_is_said() {
    let text = r#"
[book]
name = "x"
[hose.odd]
size = "2 in"
coefficient = 8
coupling = "2 in BSP"
[nozzle.odd]
kind = "smooth-bore"
bore = "1 in"
coupling = "2 in BSP"
[line.odd]
parts = [{ hose = "odd", length = "100 ft" }, { nozzle = "odd" }]
"#;
    let book = book::read(text.as_bytes(), "x").unwrap();
    let error = edit(
        &book,
        "odd",
        &Edit::Divide {
            at: path("part 2"),
            appliance: None,
        },
    );
    let error = error.unwrap_err();
    assert!(matches!(error, EditError::NoWye { .. }), "{error:?}");
}

#[test]
fn branches_and_legs_are_added_and_taken_out() {
    let book = demo();
    let three = Edit::Put(path("part 2"), {
        let mut part = book.line["apartment"].parts[1].clone();
        if let Part::Appliance(wye) = &mut part {
            wye.appliance = "water thief 2.5 in".into();
        }
        part
    });
    let error = edit(&book, "apartment", &Edit::AddRow(path("part 3"))).unwrap_err();
    assert!(error.to_string().contains("has 2 outlets"), "{error}");
    // Its first outlet is a large one.
    let (thief, told) = edit_and_adapt(&book, "apartment", &three).unwrap();
    assert_eq!(
        told,
        ["\"reducer 2.5 to 1.5 in\" put in before part 3, branch 1, part 1"]
    );
    let three = apply(&thief, "apartment", Edit::AddRow(path("part 3")));
    assert_eq!(
        parts(&three, "apartment"),
        "supply, water thief 2.5 in, branches[reducer 2.5 to 1.5 in, attack, twin | attack, fifteen-sixteenths | attack, fifteen-sixteenths]"
    );
    assert_eq!(
        apply(&three, "apartment", Edit::Remove(path("part 3, branch 3"))),
        thief
    );
    // 3 in hose with 2.5 in couplings, then 1.75 in hose: the wye leaves, a
    // reducer comes.
    let one = apply(&book, "apartment", Edit::Remove(path("part 3, branch 1")));
    assert_eq!(
        parts(&one, "apartment"),
        "supply, reducer 2.5 to 1.5 in, attack, fifteen-sixteenths"
    );
    assert_eq!(check(&one), []);
    let legs = apply(&book, "monitor", Edit::Remove(path("part 1, leg 2")));
    assert_eq!(parts(&legs, "monitor"), "supply, portable monitor, master");
    let error = edit(&book, "apartment", &Edit::AddRow(path("part 1"))).unwrap_err();
    assert_eq!(
        error.to_string(),
        "part 1 is hose, and not branches or legs"
    );
    let only = edit(
        &book,
        "monitor",
        &Edit::Remove(path("part 1, leg 2, part 1")),
    )
    .unwrap_err();
    assert!(matches!(only, EditError::Only { .. }));
}

#[test]
fn hose_is_twinned_with_what_that_takes() {
    let book = demo();
    let (twin, told_of) = edit_and_adapt(&book, "large", &Edit::Twin(path("part 1"))).unwrap();
    assert_eq!(
        parts(&twin, "large"),
        "legs[large | large], siamese 2.5 in, inch-and-an-eighth"
    );
    assert!(told_of.is_empty());
    assert_eq!(check(&twin), []);
    assert_eq!(
        apply(&twin, "large", Edit::Remove(path("part 1, leg 1"))),
        book
    );
    // A monitor takes two lines as it is.
    let one = apply(&book, "monitor", Edit::Remove(path("part 1, leg 2")));
    assert_eq!(apply(&one, "monitor", Edit::Twin(path("part 1"))), book);
    // In the middle of a line a wye divides it.
    let longer = apply(
        &book,
        "large",
        Edit::Insert(path("part 1"), vec![hose("large", "100 ft")]),
    );
    let middle = apply(&longer, "large", Edit::Twin(path("part 2")));
    assert_eq!(
        parts(&middle, "large"),
        "large, gated wye 2.5 to 2.5 in, legs[large | large], siamese 2.5 in, inch-and-an-eighth"
    );
    let error = edit(&book, "large", &Edit::Twin(path("part 2"))).unwrap_err();
    assert_eq!(error.to_string(), "part 2 is a nozzle, and not hose");
}

fn on_monitors(inlet: &str) -> Book {
    let monitors = format!(
        "{DEMO}\n[appliance.gun]\nkind = 'monitor'\nallowance = '25 psi'\n\
         inlets = '{inlet}'\noutlets = '2.5 in NH'\n"
    );
    read(monitors.as_bytes(), "x").unwrap_or_else(|e| panic!("{e:?}"))
}

fn appliance(name: &str) -> Part {
    Part::Appliance(AppliancePart {
        appliance: name.into(),
        ..AppliancePart::default()
    })
}

#[test]
fn regress_two_lines_into_one_inlet_get_a_siamese_or_are_refused() {
    let book = on_monitors("2.5 in NH");
    let put = Edit::Put(path("part 2"), appliance("gun"));
    let (after, told) = edit_and_adapt(&book, "monitor", &put).unwrap();
    assert_eq!(
        parts(&after, "monitor"),
        "legs[supply | supply], siamese 2.5 in, gun, master"
    );
    assert_eq!(told, ["\"siamese 2.5 in\" put in before part 3"]);
    // Out again it does not go, and nothing else may take its place.
    let error = edit_and_adapt(&after, "monitor", &Edit::Remove(path("part 2"))).unwrap_err();
    assert!(
        error.to_string().contains("one inlet for 2 lines"),
        "{error}"
    );
    assert!(error.mend().contains("siamese"), "{}", error.mend());
    // No siamese of the catalogue ends in such an inlet.
    let other = on_monitors("3.5 in NPSH");
    let error = edit_and_adapt(&other, "monitor", &put).unwrap_err();
    assert!(
        error.to_string().contains("one inlet for 2 lines"),
        "{error}"
    );
    let one = edit_and_adapt(&after, "monitor", &Edit::Remove(path("part 1, leg 2")));
    let (twin, _) =
        edit_and_adapt(&one.unwrap().0, "monitor", &Edit::Twin(path("part 1"))).unwrap();
    assert_eq!(parts(&twin, "monitor"), parts(&after, "monitor"));
}

#[test]
fn regress_an_adapter_before_a_monitor_of_two_inlets_joins_no_legs() {
    let large = DEMO.to_string()
        + "\n[appliance.gun]\nkind = 'monitor'\nallowance = '25 psi'\n\
           inlets = ['1.5 in NH', '1.5 in NH']\noutlets = '2.5 in NH'\n";
    let text = read(large.as_bytes(), "x").unwrap_or_else(|e| panic!("{e:?}"));
    let put = Edit::Put(path("part 2"), appliance("gun"));
    let (after, told) = edit_and_adapt(&text, "monitor", &put).unwrap();
    assert_eq!(
        parts(&after, "monitor"),
        "legs[supply, reducer 2.5 to 1.5 in | supply, reducer 2.5 to 1.5 in], gun, master"
    );
    assert_eq!(
        told,
        ["\"reducer 2.5 to 1.5 in\" put in at the end of each leg of part 1"]
    );
    assert_eq!(check(&after), []);
}

#[test]
fn dividing_at_the_nozzle_gives_two_branches_that_can_have_hose_of_their_own() {
    let book = demo();
    let divide = Edit::Divide {
        at: path("part 2"),
        appliance: None,
    };
    let (wyed, _) = edit_and_adapt(&book, "large", &divide).unwrap();
    let nozzle = book.line["large"].parts[1].clone();
    let Some(Part::Branches(rows)) = wyed.line["large"].parts.last() else {
        panic!("{}", parts(&wyed, "large"));
    };
    // What stood there is the first branch, and the second is like it.
    assert_eq!(rows.len(), 2);
    for row in rows {
        assert_eq!(row.last(), Some(&nozzle));
    }
    assert_eq!(wyed.line["large"].parts[0], book.line["large"].parts[0]);
    let longer = Edit::Insert(
        path("part 3, branch 1, part 1"),
        vec![hose("attack", "100 ft")],
    );
    let (longer, _) = edit_and_adapt(&wyed, "large", &longer).unwrap();
    let told = parts(&longer, "large");
    assert!(
        told.contains(", attack, ") && told.contains("| inch"),
        "{told}"
    );
}

#[test]
fn a_shut_off_is_extended_by_hose_and_nozzle_at_once() {
    let book = demo();
    let more = vec![hose("attack", "100 ft"), nozzle("twin", Some("low"))];
    let after = apply(&book, "rear-crosslay", Edit::Insert(path("part 3"), more));
    assert_eq!(
        after.line["rear-crosslay"].parts,
        book.line["rear-crosslay-extended"].parts
    );
}

#[test]
fn adapters_come_and_go() {
    let book = demo();
    let put = Edit::Put(path("part 1"), hose("large", "50 ft"));
    let (after, told) = edit_and_adapt(&book, "left-crosslay", &put).unwrap();
    assert_eq!(
        parts(&after, "left-crosslay"),
        "large, reducer 2.5 to 1.5 in, twin"
    );
    assert_eq!(told, ["\"reducer 2.5 to 1.5 in\" put in before part 2"]);
    let back = Edit::Put(path("part 1"), hose("attack", "200 ft"));
    let (back, told) = edit_and_adapt(&after, "left-crosslay", &back).unwrap();
    assert_eq!(back, book);
    assert_eq!(told, ["\"reducer 2.5 to 1.5 in\" taken out, part 2"]);
}

#[test]
fn what_is_said_of_a_line_changes() {
    let book = demo();
    let pressure = Stated::read(Kind::Pressure, "140 psi", System::Us).unwrap();
    let changes = [
        Edit::Title(Some(" Front ".into())),
        Edit::Rig(None),
        Edit::PumpPressure(Some(pressure)),
        Edit::Aim(None),
        Edit::Note(Some("folded flat".into())),
    ];
    let after = changes
        .into_iter()
        .fold(book, |book, change| apply(&book, "large", change));
    let line = &after.line["large"];
    assert_eq!(line.title.as_deref(), Some("Front"));
    assert_eq!((&line.rig, &line.aim), (&None, &None));
    assert_eq!(line.pump_pressure.as_ref().unwrap().text(), "140 psi");
    assert_eq!(line.about.note.as_deref(), Some("folded flat"));
    let beyond = Stated::read(Kind::Pressure, "9000 psi", System::Us).unwrap();
    let error = edit(&after, "large", &Edit::PumpPressure(Some(beyond))).unwrap_err();
    assert!(error.to_string().contains("9000 psi"), "{error}");
}

#[test]
fn lines_are_added_copied_renamed_and_taken_out() {
    let book = demo();
    let copy = apply(&book, "large", Edit::Copy("large-2".into()));
    assert_eq!(copy.line["large-2"], book.line["large"]);
    let at = copy.line.get_index_of("large").unwrap();
    assert_eq!(copy.line.get_index_of("large-2"), Some(at + 1));
    assert_eq!(apply(&copy, "large-2", Edit::Delete), book);

    let renamed = apply(&book, "large", Edit::Rename("big".into()));
    assert!(!renamed.line.contains_key("large"));
    assert_eq!(
        renamed.scene["mill-pond"].rig["pumper-2"].lines[0].line,
        "big"
    );
    assert_eq!(apply(&renamed, "big", Edit::Rename("large".into())), book);

    let error = edit(&book, "large", &Edit::Delete).unwrap_err();
    assert_eq!(
        error.to_string(),
        "line \"large\" is at work in scenes county-road, mill-pond"
    );
    for (name, kind) in [("bumper", "line"), ("spill", "scene")] {
        for change in [Edit::Copy(name.into()), Edit::Rename(name.into())] {
            let error = edit(&book, "large", &change).unwrap_err();
            assert_eq!(
                error.to_string(),
                format!("there is already a {kind} \"{name}\"")
            );
        }
        let new = Edit::New(Box::new(book.line["large"].clone()));
        assert!(matches!(
            edit(&book, name, &new),
            Err(EditError::Taken { .. })
        ));
    }
    for name in ["", " ", "a\nb", &"x".repeat(81)] {
        let error = edit(&book, "large", &Edit::Rename(name.into())).unwrap_err();
        assert!(matches!(error, EditError::BadName { .. }));
    }
    let empty = Edit::New(Box::<Line>::default());
    assert!(matches!(
        edit(&book, "x", &empty),
        Err(EditError::Faults(_))
    ));
}

#[test]
fn a_new_line_gets_the_adapter_it_takes() {
    let book = demo();
    let fields = NewLine {
        title: "Mutual aid line".into(),
        rig: "pumper-1".into(),
        hose: "neighbour".into(),
        length: "60 m".into(),
        nozzle: "twin".into(),
        ..NewLine::default()
    };
    let started = new_line(&book, &fields, System::Us).unwrap();
    assert_eq!(started.line, "mutual-aid-line");
    assert_eq!(
        parts(&started.book, "mutual-aid-line"),
        "neighbour, 45 mm symmetrical to 1.5 in NH, twin"
    );
    assert_eq!(started.told.len(), 1);
    assert_eq!(check(&started.book), []);
    let error = new_line(&book, &NewLine::default(), System::Us).unwrap_err();
    let NewLineError::Fields(errors) = error else {
        panic!("{error:?}")
    };
    let keys: Vec<&str> = errors.iter().map(|e| e.key).collect();
    assert_eq!(keys, ["title", "hose", "length", "nozzle"]);
}
