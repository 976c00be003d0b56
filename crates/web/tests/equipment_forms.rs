//! Equipment made, changed and taken out by forms, without a server.
#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use axum::http::StatusCode;
use book::{Conditions, FrictionWritten, LossWritten, NozzleKind, Shutoff};
use common::{Answer, DEMO, DEMO_SLUG, House};
use hydraulics::units::{Kind, Measure, System, show};

const SI: &str = "[book]\nname = \"Saltmarsh Bend Fire and Rescue\"\nunits = \"si\"\n";

/// What is typed, by field.
type Typed = &'static [(&'static str, &'static str)];

fn at(rest: &str) -> String {
    format!("/book/{DEMO_SLUG}{rest}")
}

async fn book(house: &House) -> book::Book {
    let file = house.get(&at("/file/download")).await;
    book::read(&file.bytes, "changed").unwrap()
}

/// Sends a form made on `base`.
async fn send(house: &House, page: &str, base: &str, fields: &[(&str, &str)]) -> Answer {
    let mut all = vec![("base", base), ("do", "put")];
    all.extend(fields);
    house.post(&at(page), &all).await
}

/// The value that a field shows.
fn stands(page: &str, key: &str) -> String {
    let input = page.split(&format!("name=\"{key}\" value=\"")).nth(1);
    let input = input.unwrap_or_else(|| panic!("no field {key}"));
    input.split('"').next().unwrap().replace("&quot;", "\"")
}

fn beside<'a>(page: &'a str, key: &str) -> &'a str {
    let message = page.split(&format!("id=\"f-{key}-w\">")).nth(1);
    let message = message.unwrap_or_else(|| panic!("nothing beside {key}: {page}"));
    message.split('<').next().unwrap()
}

#[tokio::test]
async fn each_kind_is_made_and_is_in_the_file_with_its_units() {
    let house = House::with(DEMO).await;
    let forms: [(&str, &[(&str, &str)]); 5] = [
        (
            "rig",
            &[
                ("name", "pumper-4"),
                ("pump", "1500"),
                ("tank", "2839 L"),
                ("tank_flow", "600"),
                ("note", "on loan"),
            ],
        ),
        (
            "hose",
            &[
                ("name", "attack, new"),
                ("size", "1.75"),
                ("measured", "13.1"),
                ("uncertainty", "0.5"),
                ("measured_date", "2026-06-01"),
                ("measured_source", "own flow test"),
                ("coupling", "1.5 in NH"),
                ("service_pressure", "300"),
                ("weight", "15 lb per 50 ft"),
                ("price", "320 per 50 ft"),
                ("stock", "200 ft"),
            ],
        ),
        (
            "nozzle",
            &[
                ("name", "two ways"),
                ("kind", "automatic"),
                ("high_flow", "70"),
                ("high_flow_to", "200"),
                ("high_pressure", "94"),
                ("high_pressure_to", "106"),
                ("low_flow", "70"),
                ("low_flow_to", "200"),
                ("low_pressure", "46"),
                ("low_pressure_to", "56"),
                ("shutoff", "ball"),
                ("coupling", "1.5 in NH"),
                ("breaks_at", "1.5 in NH"),
                ("form", "tip with shut-off"),
                ("colour", "red"),
                ("mark", "A"),
                ("foam", "yes"),
                ("price", "849.50"),
                ("stock", "2"),
            ],
        ),
        (
            "appliance",
            &[
                ("name", "roof monitor"),
                ("kind", "monitor"),
                ("price", "2400"),
                ("loss", "15"),
                ("loss_flow", "800"),
                ("inlets", "2.5 in NH; 2.5 in NH"),
                ("outlets", "2.5 in NH"),
            ],
        ),
        (
            "hydrant",
            &[
                ("name", "quay"),
                ("static", "70"),
                ("residual", "52"),
                ("size_1", "2.5"),
                ("pitot_1", "28"),
                ("count_1", "2"),
                ("shape_1", "square"),
                ("date", "2026-06-01"),
            ],
        ),
    ];
    for (index, (kind, fields)) in forms.iter().enumerate() {
        let asked = house.get(&at(&format!("/new/{kind}"))).await;
        assert_eq!(asked.status, StatusCode::OK, "{kind}");
        assert!(asked.text().contains(&format!("<h1>New {kind}</h1>")));
        let base = (index + 1).to_string();
        let made = send(&house, &format!("/new/{kind}"), &base, fields).await;
        let page = house.get(made.to()).await;
        assert_eq!(page.status, StatusCode::OK, "{kind}");
        assert!(page.text().contains("Saved as revision"), "{kind}");
    }
    let book = book(&house).await;
    let rig = &book.rig["pumper-4"];
    assert_eq!(rig.pump.as_ref().unwrap().text(), "1500 gpm");
    assert_eq!(rig.tank.as_ref().unwrap().text(), "2839 L");
    let hose = &book.hose["attack, new"];
    assert_eq!(
        hose.measured.as_ref().unwrap().coefficient.text(),
        "13.1 us"
    );
    // C of the catalogue for the size, with the source named.
    let Some(FrictionWritten::Coefficient { coefficient, .. }) = &hose.friction else {
        panic!("no published C");
    };
    assert!((coefficient.get().us_value() - 15.5).abs() < 1e-9);
    assert!(
        hose.about
            .source
            .as_ref()
            .unwrap()
            .contains("generic catalogue")
    );
    let nozzle = &book.nozzle["two ways"];
    assert_eq!(nozzle.settings(), ["high", "low"]);
    assert!(nozzle.foam && nozzle.breaks_at.is_some());
    assert_eq!(nozzle.shutoff, Shutoff::Ball);
    assert_eq!(nozzle.form, Some(book::NozzleForm::TipWithShutoff));
    assert_eq!(nozzle.marking, book::marking("red", "A").unwrap());
    let monitor = &book.appliance["roof monitor"];
    assert_eq!((monitor.inlets.len(), monitor.outlets.len()), (2, 1));
    assert!(
        matches!(&monitor.loss, Some(LossWritten::Rated { flow, .. }) if flow.text() == "800 gpm")
    );
    let quay = &book.hydrant["quay"];
    assert_eq!(quay.date.as_deref(), Some("2026-06-01"));
    assert!(quay.test().unwrap().is_some());
    // Nothing else of the file was touched.
    let file = house.get(&at("/file/download")).await.text();
    assert!(DEMO.lines().all(|line| file.contains(line)));
}

#[tokio::test]
async fn a_nozzle_of_each_kind_is_made_and_flows_what_the_trade_reckons() {
    // 29.7 d^2 sqrt(NP): 15/16 in at 50 psi gives 185 gpm.
    let house = House::with(DEMO).await;
    let forms: [&[(&str, &str)]; 3] = [
        &[("name", "a"), ("kind", "smooth-bore"), ("bore", "15/16")],
        &[
            ("name", "b"),
            ("kind", "fixed"),
            ("flow", "150"),
            ("pressure", "50"),
        ],
        &[
            ("name", "c"),
            ("kind", "selectable"),
            ("flows", "95; 125, 150 gpm"),
            ("pressure", "100"),
        ],
    ];
    for (index, fields) in forms.iter().enumerate() {
        let base = (index + 1).to_string();
        send(&house, "/new/nozzle", &base, fields).await.to();
    }
    let book = book(&house).await;
    assert_eq!(
        book.nozzle["c"].settings(),
        ["95 gpm", "125 gpm", "150 gpm"]
    );
    assert!(
        matches!(&book.nozzle["b"].kind, NozzleKind::Fixed { pressure, .. } if pressure.text() == "50 psi")
    );
    let tip = book.nozzle["a"].at(None).unwrap();
    let flow = tip.flow(Measure::of_si(50.0 * 6_894.757_293)).value / 6.309_019_64e-5;
    assert!((flow - 185.0).abs() < 1.0, "{flow}");
}

#[tokio::test]
async fn a_gauge_is_made_shown_changed_and_taken_out() {
    let house = House::with(DEMO).await;
    let typed = [
        ("name", "line gauge 3"),
        ("measures", "pressure"),
        ("serial", "G-106"),
        ("step", "2"),
        ("accuracy", "0.2 bar; 1 %"),
        ("highest", "300"),
        ("calibrated", "2026-03-02"),
    ];
    send(&house, "/new/gauge", "1", &typed).await.to();
    let made = book(&house).await.gauge["line gauge 3"].clone();
    let psi = 6_894.757_293;
    let [step, accuracy, swing, highest] = made.si().map(|si| si.map(|si| si / psi));
    assert!((step.unwrap() - 2.0).abs() < 1e-6 && swing.is_none());
    assert!((accuracy.unwrap() - 2.9).abs() < 0.01);
    assert!((highest.unwrap() - 300.0).abs() < 1e-4);
    assert_eq!(made.accuracy_share.as_ref().unwrap().text(), "1 %");
    let list = house.get(&at("/equipment?kind=gauge")).await.text();
    assert!(list.contains("Gauges and flow meters") && list.contains("line gauge 3"));
    let page = house.get(&at("/equipment/gauge/line%20gauge%203")).await;
    let page = page.text();
    for shown in ["300 psi", "2 psi", "2.9 psi", "1 %", "2026-03-02", "G-106"] {
        assert!(page.contains(shown), "{shown}: {page}");
    }
    let edit = "/equipment/gauge/line%20gauge%203/edit";
    let form = house.get(&at(edit)).await.text();
    assert_eq!(stands(&form, "accuracy"), "0.2 bar; 1 %");
    let refused = [
        ("measures", "flow"),
        ("step", "2 psi"),
        ("accuracy", "1 %; 2 %"),
        ("highest", "0"),
        ("calibrated", "spring"),
    ];
    let refused = send(&house, edit, "2", &refused).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let page = refused.text();
    assert!(beside(&page, "step").contains("measures pressure"));
    assert!(beside(&page, "accuracy").contains("second value of its kind"));
    assert!(beside(&page, "highest").contains("not above nought"));
    assert!(beside(&page, "calibrated").contains("is no day"));
    let flow = [("measures", "flow"), ("accuracy", "2"), ("step", "5 gpm")];
    send(&house, edit, "2", &flow).await.to();
    let changed = book(&house).await.gauge["line gauge 3"].clone();
    assert!(changed.is_flow() && changed.accuracy_share.is_none());
    let remove = [("base", "3"), ("do", "remove")];
    house.post(&at(edit), &remove).await.to();
    assert!(!book(&house).await.gauge.contains_key("line gauge 3"));
}

#[tokio::test]
async fn a_form_keeps_what_was_measured_on_a_nozzle_and_its_page_shows_it() {
    let measured = "measured.high = { flow = [\"72 gpm\", \"190 gpm\"], pressure = [\"97 psi\", \"112 psi\"], uncertainty = \"2 psi\", date = \"2026-05-11\", source = \"own test\" }\nflush = true";
    let text = DEMO.replacen("flush = true", measured, 1);
    let before = book::read(text.as_bytes(), "demo").unwrap();
    assert_eq!(before.nozzle["twin"].measured.len(), 1);
    let system = System::Us;
    let mut shown = book::item_fields(&before, book::ItemKind::Nozzle, "twin", system).unwrap();
    shown.0.insert("high_name".into(), "high pressure".into());
    shown.0.insert("waterway".into(), "30 mm".into());
    // A setting under a new name keeps its test; no line has the old one.
    let mut alone = before.clone();
    alone.line.clear();
    alone.scene.clear();
    let after = book::change_item(&alone, book::ItemKind::Nozzle, "twin", &shown, system).unwrap();
    let kept = after.nozzle["twin"].test(Some("high pressure"));
    assert_eq!(kept, before.nozzle["twin"].test(Some("high")));
    assert!(kept.is_some());
    let house = House::with(&text).await;
    let page = house.get(&at("/equipment/nozzle/twin")).await.text();
    for said in [
        "Measured at setting high, flow",
        "72 gpm to 190 gpm",
        "own test, 2026-05-11",
        "2 psi",
    ] {
        assert!(page.contains(said), "{said}: {page}");
    }
    let line = house.get(&at("/line/left-crosslay")).await.text();
    let used = "Nozzle twin, high: 72 gpm at 97 psi to 190 gpm at 112 psi, measured on this nozzle (own test, 2026-05-11)";
    assert!(line.contains(used), "{line}");
}

#[tokio::test]
async fn a_form_sent_back_as_it_was_changes_nothing() {
    let house = House::with(DEMO).await;
    let before = book(&house).await;
    let own = [
        ("rig", before.rig.keys().collect::<Vec<_>>()),
        ("hose", before.hose.keys().collect()),
        ("nozzle", before.nozzle.keys().collect()),
        ("appliance", before.appliance.keys().collect()),
        ("hydrant", before.hydrant.keys().collect()),
        ("gauge", before.gauge.keys().collect()),
    ];
    for (word, names) in own {
        let kind = book::ItemKind::ALL.into_iter().find(|k| k.word() == word);
        for name in names {
            for system in [System::Us, System::Si] {
                let shown = book::item_fields(&before, kind.unwrap(), name, system).unwrap();
                let after = book::change_item(&before, kind.unwrap(), name, &shown, system);
                assert_eq!(after.unwrap(), before, "{word} {name}");
            }
        }
    }
}

#[tokio::test]
async fn every_item_of_the_catalogue_can_be_made_like_in_both_units() {
    for text in [DEMO, SI] {
        let before = book::read(text.as_bytes(), "book").unwrap();
        let generic = book::catalogue();
        let all = [
            (
                book::ItemKind::Hose,
                generic.hose.keys().collect::<Vec<_>>(),
            ),
            (book::ItemKind::Nozzle, generic.nozzle.keys().collect()),
            (
                book::ItemKind::Appliance,
                generic.appliance.keys().collect(),
            ),
        ];
        for (kind, names) in all {
            assert!(!names.is_empty());
            for name in names {
                let mut shown = book::item_fields(&before, kind, name, before.units).unwrap();
                shown.0.insert("name".into(), "our own".into());
                let after = book::new_item(&before, kind, Some(name), &shown, before.units);
                let after = after.unwrap_or_else(|e| panic!("{name}: {e}"));
                if kind == book::ItemKind::Hose {
                    let which = book::Which::Published;
                    let (own, theirs) = (
                        after.friction("our own", which),
                        after.friction(name, which),
                    );
                    assert_eq!(own.unwrap().friction, theirs.unwrap().friction, "{name}");
                }
            }
        }
    }
}

#[tokio::test]
async fn one_like_the_catalogues_gets_its_values_and_another_name() {
    let house = House::with(DEMO).await;
    let page = house.get(&at("/equipment/hose/2.5%20in")).await.text();
    assert!(page.contains("Make one like it") && !page.contains("Take out"));
    let form = house.get(&at("/new/hose?like=2.5%20in")).await.text();
    assert_eq!(stands(&form, "size"), "2.5 in");
    assert_eq!(stands(&form, "like"), "2.5 in");
    let c = stands(&form, "coefficient");
    let fields = [("like", "2.5 in"), ("size", "2.5 in"), ("coefficient", &c)];
    let same_name: Vec<_> = [("name", "2.5 in")].into_iter().chain(fields).collect();
    let refused = send(&house, "/new/hose", "1", &same_name).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(beside(&refused.text(), "name").contains("generic catalogue"));
    let named: Vec<_> = [("name", "our big one")]
        .into_iter()
        .chain(fields)
        .collect();
    send(&house, "/new/hose", "1", &named).await.to();
    let book = book(&house).await;
    assert_eq!(
        book.hose["our big one"].spread(),
        book::catalogue().hose["2.5 in"].spread()
    );
    // The catalogue itself is not changed by a form.
    let edit = house.get(&at("/equipment/hose/2.5%20in/edit")).await;
    assert_eq!(edit.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn an_si_reader_writes_si_and_sees_c_with_three_figures() {
    let house = House::with(SI).await;
    let fields = [
        ("name", "angriff"),
        ("size", "42"),
        ("coefficient", "24.683"),
        ("service_pressure", "16"),
        ("weight", "7 kg per 20 m"),
    ];
    let made = send(&house, "/new/hose", "1", &fields).await;
    let page = house.get(made.to()).await.text();
    assert!(
        page.contains("C 24.7") && !page.contains("C 24.683"),
        "{page}"
    );
    let hose = &book(&house).await.hose["angriff"];
    assert_eq!(hose.size.text(), "42 mm");
    assert_eq!(hose.service_pressure.as_ref().unwrap().text(), "16 bar");
    let us = house
        .get(&at("/equipment/hose/angriff?units=us"))
        .await
        .text();
    let c = us
        .split("C ")
        .find_map(|rest| rest.split('<').next()?.parse::<f64>().ok());
    assert_eq!(c, Some(15.6), "{us}");
}

#[tokio::test]
async fn a_changed_hose_changes_the_pump_pressure_of_its_line() {
    let house = House::with(DEMO).await;
    let before = book(&house).await;
    let line = "left-crosslay";
    let was = study::solve(&before, line, &Conditions::default()).unwrap();
    let form = house.get(&at("/equipment/hose/attack/edit")).await.text();
    assert_eq!(stands(&form, "measured"), "14.2");
    let keys = [
        "size",
        "coefficient",
        "measured_date",
        "uncertainty",
        "measured_source",
        "coupling",
        "service_pressure",
        "weight",
        "source",
        "note",
    ];
    let values: Vec<_> = keys.iter().map(|key| (*key, stands(&form, key))).collect();
    let mut fields: Vec<_> = values.iter().map(|(k, v)| (*k, v.as_str())).collect();
    fields.push(("measured", "18"));
    let changed = send(&house, "/equipment/hose/attack/edit", "1", &fields).await;
    assert!(house.get(changed.to()).await.text().contains("C 18"));
    let after = book(&house).await;
    assert_eq!(
        after.hose["attack"].spread(),
        before.hose["attack"].spread()
    );
    let now = study::solve(&after, line, &Conditions::default()).unwrap();
    let page = house.get(&at(&format!("/line/{line}"))).await.text();
    let figure = show(Kind::Pressure, now.pump_pressure, System::Us);
    let (value, _) = figure.rsplit_once(' ').unwrap();
    // FL = C (Q/100)^2 (L/100): 3.8 more in C over 200 ft at 150 gpm is 17.1 psi.
    let more = (now.pump_pressure - was.pump_pressure).si() / 6_894.757_293;
    assert!((more - 17.1).abs() < 0.05, "{more}");
    assert!(page.contains(&format!("<b>{value} <small>psi")), "{figure}");
    let history = house.get(&at("/history")).await.text();
    assert!(history.contains("hose changed"));
}

#[tokio::test]
async fn what_cannot_be_read_stays_with_a_message_beside_its_field() {
    let house = House::with(DEMO).await;
    let wrong: [(&str, Typed, &str, &str); 17] = [
        ("rig", &[("name", "")], "name", "no name"),
        ("rig", &[("name", "pumper-1")], "name", "already"),
        (
            "rig",
            &[("name", "a"), ("pump", "twelve")],
            "pump",
            "twelve",
        ),
        (
            "rig",
            &[("name", "a"), ("tank", "750 psi")],
            "tank",
            "pressure",
        ),
        (
            "rig",
            &[("name", "a"), ("pump_points", "500 gpm")],
            "pump_points",
            "500 gpm",
        ),
        ("hose", &[("name", "a")], "size", "no size"),
        (
            "hose",
            &[("name", "a"), ("size", "2.2 in")],
            "coefficient",
            "2.2 in",
        ),
        (
            "hose",
            &[("name", "a"), ("size", "1.75 in"), ("measured", "-3")],
            "measured",
            "-3",
        ),
        (
            "hose",
            &[
                ("name", "a"),
                ("size", "1.75 in"),
                ("measured_date", "2026-13-45"),
            ],
            "measured_date",
            "2026-13-45",
        ),
        (
            "hose",
            &[
                ("name", "a"),
                ("size", "1.75 in"),
                ("coupling", "1.5 in QQ"),
            ],
            "coupling",
            "QQ",
        ),
        (
            "hose",
            &[("name", "a"), ("size", "1.75 in"), ("weight", "heavy")],
            "weight",
            "heavy",
        ),
        (
            "nozzle",
            &[("name", "a"), ("kind", "round")],
            "kind",
            "round",
        ),
        (
            "nozzle",
            &[
                ("name", "a"),
                ("kind", "smooth-bore"),
                ("bore", "1 in"),
                ("flow", "150"),
            ],
            "flow",
            "150",
        ),
        (
            "nozzle",
            &[("name", "a"), ("kind", "automatic")],
            "high_flow",
            "no flow",
        ),
        (
            "appliance",
            &[
                ("name", "a"),
                ("kind", "wye"),
                ("allowance", "10"),
                ("loss", "5"),
            ],
            "allowance",
            "both",
        ),
        (
            "hydrant",
            &[
                ("name", "a"),
                ("static", "50"),
                ("residual", "60"),
                ("flow", "1000"),
            ],
            "residual",
            "drop",
        ),
        (
            "hydrant",
            &[
                ("name", "a"),
                ("static", "70"),
                ("residual", "60"),
                ("size_1", "2.5"),
            ],
            "pitot_1",
            "no pitot",
        ),
    ];
    for (kind, fields, key, told) in wrong {
        let answer = send(&house, &format!("/new/{kind}"), "1", fields).await;
        let page = answer.text();
        assert_eq!(
            answer.status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{fields:?}"
        );
        assert!(
            beside(&page, key).contains(told),
            "{fields:?}: {}",
            beside(&page, key)
        );
        for (field, value) in fields
            .iter()
            .filter(|(field, _)| *field != "kind" && !field.starts_with("do"))
        {
            assert_eq!(&stands(&page, field), value, "{fields:?}");
        }
    }
    // What only the whole book shows is told at the top.
    let points = "500 gpm at 150 psi; 700 gpm at 250 psi";
    let fields = [("name", "a"), ("pump_points", points)];
    let answer = send(&house, "/new/rig", "1", &fields).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    let page = answer.text();
    let top = page.split("role=\"alert\">").nth(1).unwrap();
    assert!(top.split('<').next().unwrap().contains("pressure"), "{top}");
    assert_eq!(stands(&page, "pump_points"), points);
    let newest = house.get(&at("/newest")).await.text();
    assert!(newest.contains("\"revision\":1"));
}

#[tokio::test]
async fn shares_are_per_cent() {
    let house = House::with(DEMO).await;
    let fields = [
        ("name", "pick-up"),
        ("kind", "eductor"),
        ("flow", "95"),
        ("inlet_pressure", "200"),
        ("back_pressure", "70"),
    ];
    send(&house, "/new/appliance", "1", &fields).await.to();
    let book = book(&house).await;
    let eductor = book.appliance["pick-up"].eductor.as_ref().unwrap();
    assert_eq!(eductor.back_pressure.as_ref().unwrap().text(), "70 %");
}

#[tokio::test]
async fn what_is_used_is_not_taken_out_and_the_rest_is() {
    let house = House::with(DEMO).await;
    let remove = |base: &'static str| [("base", base), ("do", "remove")];
    for (kind, name, by) in [
        ("hose", "attack", "line &quot;left-crosslay&quot;"),
        ("rig", "pumper-1", "line &quot;left-crosslay&quot;"),
        (
            "hydrant",
            "mill-street",
            "hydrant &quot;mill-street-north&quot;",
        ),
    ] {
        let page = house
            .get(&at(&format!("/equipment/{kind}/{name}")))
            .await
            .text();
        assert!(page.contains("Change</a>") && !page.contains("Take out</button>"));
        let edit = at(&format!("/equipment/{kind}/{name}/edit"));
        let refused = house.post(&edit, &remove("1")).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{name}");
        assert!(refused.text().contains(by), "{name}: {}", refused.text());
    }
    for (index, kind) in ["rig", "hose", "nozzle", "appliance", "hydrant"]
        .iter()
        .enumerate()
    {
        let fields: &[(&str, &str)] = match *kind {
            "hose" => &[("name", "spare"), ("size", "2.5 in")],
            "nozzle" => &[("name", "spare"), ("kind", "smooth-bore"), ("bore", "1 in")],
            "appliance" => &[("name", "spare"), ("kind", "wye"), ("allowance", "10")],
            "hydrant" => &[("name", "spare"), ("same_main_as", "mill-street")],
            _ => &[("name", "spare")],
        };
        let (first, second) = ((2 * index + 1).to_string(), (2 * index + 2).to_string());
        let made = send(&house, &format!("/new/{kind}"), &first, fields).await;
        let page = house.get(made.to()).await.text();
        assert!(page.contains("Take out</button>"), "{kind}");
        let edit = at(&format!("/equipment/{kind}/spare/edit"));
        let gone = house
            .post(&edit, &[("base", &second), ("do", "remove")])
            .await;
        assert_eq!(house.get(gone.to()).await.status, StatusCode::OK);
        assert_eq!(house.get(&edit).await.status, StatusCode::NOT_FOUND);
    }
    assert_eq!(house.get(&at("/file/download")).await.text(), DEMO);
}

#[tokio::test]
async fn script_in_a_name_is_text() {
    let house = House::with(DEMO).await;
    let name = "<script>alert(1)</script> \"/../x";
    let fields = [
        ("name", name),
        ("pump", "1000"),
        ("note", "</p><img src=x>"),
    ];
    let made = send(&house, "/new/rig", "1", &fields).await;
    for page in [made.to(), &at("/equipment"), &at("/history")] {
        let answer = house.get(page).await;
        assert_eq!(answer.status, StatusCode::OK, "{page}");
        let text = answer.text();
        assert!(
            !text.contains("<script>alert") && !text.contains("<img src=x"),
            "{page}"
        );
    }
    assert!(book(&house).await.rig.contains_key(name));
    let wrong = [("name", name), ("pump", "\"><script>alert(1)</script>")];
    let refused = send(&house, "/new/rig", "2", &wrong).await.text();
    assert!(!refused.contains("<script>alert"));
}

#[tokio::test]
async fn the_second_of_two_is_told_and_can_have_it_on_the_newest() {
    let house = House::with(DEMO).await;
    let fields = [("name", "pumper-4"), ("pump", "1500")];
    send(&house, "/new/rig", "1", &fields).await.to();
    let late = [("name", "pumper-5"), ("pump", "2000")];
    let told = send(&house, "/new/rig", "1", &late).await;
    assert_eq!(told.status, StatusCode::CONFLICT);
    let page = told.text();
    assert!(page.contains("Make my change on revision 2") && page.contains("2000"));
    send(&house, "/new/rig", &stands(&page, "base"), &late)
        .await
        .to();
    let book = book(&house).await;
    assert!(book.rig.contains_key("pumper-4") && book.rig.contains_key("pumper-5"));
}

#[tokio::test]
async fn the_list_offers_each_form_and_what_has_none_is_said() {
    let house = House::with(DEMO).await;
    let list = house.get(&at("/equipment")).await.text();
    for kind in ["rig", "hose", "nozzle", "appliance", "hydrant"] {
        assert!(list.contains(&format!("href=\"{}\"", at(&format!("/new/{kind}")))));
    }
    let none = house.get(&at("/new/draft")).await;
    assert_eq!(none.status, StatusCode::NOT_FOUND);
    let base = house.post(&at("/new/rig"), &[("name", "a")]).await;
    assert_eq!(base.status, StatusCode::BAD_REQUEST);
}

#[tokio::test]
async fn a_colour_mark_or_form_that_cannot_be_is_told_beside_its_field() {
    let house = House::with(DEMO).await;
    let fields = [
        ("base", "1"),
        ("name", "odd"),
        ("kind", "smooth-bore"),
        ("bore", "1 in"),
        ("form", "shut-off with grip"),
        ("colour", "gren"),
        ("mark", "thirteen chrs"),
    ];
    let answer = house.post(&at("/new/nozzle"), &fields).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    let text = answer.text();
    for message in [
        "&quot;gren&quot; is no colour",
        "the mark has 13 letters",
        "a shut-off with grip has a shut-off of its own",
    ] {
        assert!(text.contains(message), "{message}: {text}");
    }
}
