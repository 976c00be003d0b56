//! What is typed into fields.

use crate::demo;
use book::{
    AimFields, ApplianceFields, HoseFields, ItemError, ItemKind, NozzleFields, Part, change_item,
    item_fields, pump_pressure,
};
use hydraulics::units::System::{self, Si, Us};

fn fields(length: &str, rise: &str, kink: &str) -> HoseFields {
    HoseFields {
        hose: "attack".into(),
        length: length.into(),
        rise: rise.into(),
        kink: kink.into(),
    }
}

#[test]
fn a_bare_number_is_in_the_units_of_the_reader() {
    let book = demo();
    for (text, reader, written) in [
        ("200", Us, "200 ft"),
        ("60", Si, "60 m"),
        ("60 m", Us, "60 m"),
        (" 200 ft ", Si, "200 ft"),
        ("12 1/2", Us, "12 1/2 ft"),
    ] {
        let part = fields(text, "", "").read(&book, reader, None).unwrap();
        assert_eq!(part.length.text(), written);
    }
}

#[test]
fn regress_a_share_in_a_form_is_per_cent_always() {
    let typed = |ratio: &str| ApplianceFields {
        appliance: "foam".into(),
        ratio: ratio.into(),
        ..ApplianceFields::default()
    };
    let book = book::read(
        b"[book]\nname = 'x'\n[appliance.foam]\nkind = 'eductor'\nflow = '95 gpm'\ninlet_pressure = '200 psi'\n",
        "x",
    );
    let book = book.unwrap_or_else(|e| panic!("{e:?}"));
    // 0.5 was saved as a half of the water.
    for (text, written, share) in [
        ("0.5", "0.5 %", 0.005),
        ("3", "3 %", 0.03),
        ("1/2", "1/2 %", 0.005),
        ("1", "1 %", 0.01),
        ("0.3 %", "0.3 %", 0.003),
    ] {
        let part = typed(text).read(&book, Us, None).unwrap();
        let ratio = part.ratio.unwrap();
        assert_eq!(ratio.text(), written);
        assert!((ratio.get().value - share).abs() < 1e-12, "{text}");
    }
    for (text, written) in [("40", "40 %"), ("50 %", "50 %"), ("0.5", "0.5 %")] {
        let hose = "1.75 in".into();
        let typed = HoseFields {
            hose,
            ..fields("50", "", text)
        };
        let part = typed.read(&book, Us, None).unwrap();
        assert_eq!(part.kink.unwrap().text(), written);
    }
}

#[test]
fn each_field_that_cannot_be_read_says_so_in_the_readers_units() {
    let book = demo();
    let errors = |length, rise, kink, reader: System| {
        fields(length, rise, kink)
            .read(&book, reader, None)
            .unwrap_err()
    };
    let all = errors("", "two", "150", Us);
    let keys: Vec<&str> = all.iter().map(|e| e.key).collect();
    assert_eq!(keys, ["length", "rise", "kink"]);
    assert!(all[1].message.contains("\"two\""), "{}", all[1].message);
    assert_eq!(
        all[2].message,
        "A kink closes: 150 % is not between 0 % and 100 %"
    );
    let far = errors("99999", "", "", Si);
    assert_eq!(
        far[0].message,
        "Length: 99999 m is not between 0.3 m and 3,048 m"
    );
    let wrong = errors("200 psi", "", "", Si);
    assert!(
        wrong[0].mend.ends_with("between 0.3 m and 3,048 m"),
        "{}",
        wrong[0].mend
    );
    assert!(
        wrong[0].message.starts_with("Length: "),
        "{}",
        wrong[0].message
    );
    let low = errors("-200 ft", "2000", "", Us);
    let said: Vec<&str> = low.iter().map(|e| e.message.as_str()).collect();
    let expected = [
        "Length: -200 ft is not between 1 ft and 10,000 ft",
        "Goes up by: 2000 ft is not between -1,000 ft and 1,000 ft",
    ];
    assert_eq!(said, expected);
    let name = HoseFields {
        hose: "atack".into(),
        ..fields("50", "", "")
    };
    let error = name.read(&book, Us, None).unwrap_err();
    assert_eq!(error[0].mend, "did you mean \"attack\"?");
    assert!(pump_pressure("", Us, None).unwrap().is_none());
    assert!(
        pump_pressure("-5", Us, None)
            .unwrap_err()
            .message
            .contains("-5")
    );
}

#[test]
fn law_what_is_shown_and_not_changed_stays_as_it_was_written() {
    let book = demo();
    for reader in [Us, Si] {
        for line in book.line.values() {
            let aim = AimFields::of(line.aim.as_ref(), reader);
            assert_eq!(aim.read(reader, line.aim.as_ref()).unwrap(), line.aim);
            each(&line.parts, &mut |part| match part {
                Part::Hose(part) => {
                    let shown = HoseFields::of(part, reader);
                    assert_eq!(&shown.read(&book, reader, Some(part)).unwrap(), part);
                }
                Part::Nozzle(part) => {
                    let shown = NozzleFields::of(part, reader);
                    assert_eq!(&shown.read(&book, reader, Some(part)).unwrap(), part);
                }
                Part::Appliance(part) => {
                    let shown = ApplianceFields::of(part, reader);
                    assert_eq!(&shown.read(&book, reader, Some(part)).unwrap(), part);
                }
                _ => {}
            });
        }
    }
}

fn each(parts: &[Part], see: &mut impl FnMut(&Part)) {
    for part in parts {
        see(part);
        if let Part::Branches(rows) | Part::Legs(rows) = part {
            rows.iter().for_each(|row| each_of(row, see));
        }
    }
}

fn each_of(parts: &[Part], see: &mut dyn FnMut(&Part)) {
    each(parts, &mut |part| see(part));
}

#[test]
fn another_nozzle_keeps_only_what_it_has() {
    let book = demo();
    let Part::Nozzle(was) = &book.line["left-crosslay"].parts[1] else {
        panic!()
    };
    let mut typed = NozzleFields::of(was, Us);
    typed.regulator = "flush".into();
    typed.gate = "50 %".into();
    typed.nozzle = "bumper".into();
    let part = typed.read(&book, Us, Some(was)).unwrap();
    assert_eq!(part.setting.as_deref(), Some("30 gpm"));
    assert_eq!((part.regulator, part.gate.unwrap().text()), (None, "50 %"));
    typed.nozzle = "master".into();
    let part = typed.read(&book, Us, Some(was)).unwrap();
    assert_eq!((part.setting, part.gate), (None, None));
}

#[test]
fn an_aim_has_one_target() {
    let typed = |target: &str, value: &str| AimFields {
        target: target.into(),
        value: value.into(),
        reaction_at_most: String::new(),
    };
    assert_eq!(typed("", "").read(Us, None).unwrap(), None);
    assert_eq!(
        typed("", "150").read(Us, None).unwrap_err()[0].key,
        "target"
    );
    assert_eq!(
        typed("flow", "").read(Us, None).unwrap_err()[0].key,
        "value"
    );
    assert_eq!(
        typed("flow", "150 psi").read(Us, None).unwrap_err()[0].key,
        "value"
    );
    assert_eq!(
        typed("noise", "9").read(Us, None).unwrap_err()[0].key,
        "target"
    );
    let aim = typed("tip_pressure", "3.5").read(Si, None).unwrap();
    assert_eq!(AimFields::of(aim.as_ref(), Si).value, "3.5 bar");
    assert_eq!(AimFields::of(aim.as_ref(), Us).value, "51 psi");
}

#[test]
fn prices_and_store_stay_as_written_and_wrong_ones_are_told() {
    let book = demo();
    let mut hose = item_fields(&book, ItemKind::Hose, "attack", System::Si).unwrap();
    assert_eq!(hose.get("price"), "320 per 50 ft");
    let same = change_item(&book, ItemKind::Hose, "attack", &hose, System::Si).unwrap();
    assert_eq!(same.hose["attack"], book.hose["attack"]);
    hose.0.insert("price".into(), "320".into());
    let wrong = change_item(&book, ItemKind::Hose, "attack", &hose, System::Si);
    let Err(ItemError::Fields(errors)) = wrong else {
        panic!("a price without a section was taken");
    };
    assert_eq!(
        (errors[0].key, errors[0].mend.as_str()),
        ("price", "write it as 300 per 20 m")
    );
    let mut twin = item_fields(&book, ItemKind::Nozzle, "twin", System::Us).unwrap();
    twin.0.insert("price".into(), "1200.50".into());
    twin.0.insert("stock".into(), "1.5".into());
    let wrong = change_item(&book, ItemKind::Nozzle, "twin", &twin, System::Us);
    let Err(ItemError::Fields(errors)) = wrong else {
        panic!("half a nozzle was taken");
    };
    assert_eq!(errors[0].key, "stock");
    twin.0.insert("stock".into(), "2".into());
    let after = change_item(&book, ItemKind::Nozzle, "twin", &twin, System::Us).unwrap();
    assert_eq!(after.nozzle_price("twin"), Some(1200.5));
}
