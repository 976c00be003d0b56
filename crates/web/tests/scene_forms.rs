//! Scenes made and changed by forms, without a server.
#![allow(clippy::unwrap_used)]

mod common;

use axum::http::StatusCode;
use book::{Book, IntakeFrom, Part, Scene};
use common::{DEMO, DEMO_SLUG, House};

const MILL: &str = "/book/saltmarsh-bend-fire-and-rescue/scene/mill-street";

async fn kept(house: &House) -> (i64, Book) {
    let records = &house.workbench.records;
    let newest = records.newest(DEMO_SLUG).await.unwrap();
    let text = records.revision(DEMO_SLUG, newest).await.unwrap().text;
    assert!(text.contains("# "), "comments of the file stay");
    (newest, book::read(text.as_bytes(), "kept.toml").unwrap())
}

async fn mill(house: &House) -> Scene {
    kept(house).await.1.scene["mill-street"].clone()
}

/// Sends a change of the scene on the newest revision, and wants it saved.
async fn change(house: &House, pairs: &[(&str, &str)]) {
    let base = kept(house).await.0.to_string();
    let mut all = vec![("base", base.as_str()), ("form", "any")];
    all.extend_from_slice(pairs);
    let answer = house.post(&format!("{MILL}/edit"), &all).await;
    let told = house.get(answer.to()).await.text();
    assert!(told.contains("Saved as revision"), "{told}");
}

/// Sends a change that cannot be made: the page keeps what was sent, and says why.
async fn refused(house: &House, pairs: &[(&str, &str)]) -> String {
    let before = kept(house).await.0;
    let base = before.to_string();
    let mut all = vec![("base", base.as_str())];
    all.extend_from_slice(pairs);
    let answer = house.post(&format!("{MILL}/edit"), &all).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(kept(house).await.0, before, "nothing was saved");
    answer.text()
}

#[tokio::test]
async fn a_scene_is_made_from_one_form() {
    let house = House::with(DEMO).await;
    let page = format!("/book/{DEMO_SLUG}/new-scene");
    let form = house.get(&page).await;
    assert_eq!(form.status, StatusCode::OK);
    assert!(form.text().contains("hydrant mill-street"));
    let pairs = [
        ("base", "1"),
        ("form", "new"),
        ("title", "Barn fire, Mill Street!"),
        ("rig", "pumper-1"),
        ("from", "hydrant mill-street"),
        ("hose", "supply"),
        ("length", "200"),
        ("count", "2"),
        ("rise", ""),
        ("lines", "left-crosslay"),
        ("lines", "large"),
    ];
    let made = house.post(&page, &pairs).await;
    let scene = format!("/book/{DEMO_SLUG}/scene/barn-fire-mill-street?told=2");
    assert_eq!(made.to(), scene);
    let answer = house.get(made.to()).await;
    assert_eq!(answer.status, StatusCode::OK);
    assert!(answer.text().contains("Barn fire, Mill Street!"));
    let (_, book) = kept(&house).await;
    let rig = &book.scene["barn-fire-mill-street"].rig["pumper-1"];
    let Part::Legs(legs) = &rig.intake[0].parts[0] else {
        unreachable!("two supply lines side by side");
    };
    assert_eq!(legs.len(), 2);
    let Part::Hose(hose) = &legs[1][0] else {
        unreachable!("each of hose");
    };
    assert_eq!(hose.length.text(), "200 ft");
    assert_eq!(rig.lines.len(), 2);
    // The same title again has a name of its own.
    let mut pairs = pairs;
    pairs[0].1 = "2";
    let again = house.post(&page, &pairs).await;
    assert!(again.to().contains("/scene/barn-fire-mill-street-2?"));
}

#[tokio::test]
async fn a_form_that_cannot_be_read_is_kept_with_a_message_beside_each_field() {
    let house = House::with(DEMO).await;
    let page = format!("/book/{DEMO_SLUG}/new-scene");
    let pairs = [
        ("base", "1"),
        ("form", "new"),
        ("title", ""),
        ("rig", "pumper-1"),
        ("from", "hydrant mill-street"),
        ("hose", "supply"),
        ("length", "200 psi"),
        ("lines", "large"),
    ];
    let answer = house.post(&page, &pairs).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    let text = answer.text();
    assert!(
        text.contains(r#"id="new-title-w">the scene has no title"#),
        "{text}"
    );
    assert!(text.contains(r#"id="new-length-w""#));
    assert!(text.contains(r#"name="length" value="200 psi""#));
    assert!(text.contains(r#"value="large" checked"#));
    assert!(text.contains(r#"value="hydrant mill-street" selected"#));
    assert_eq!(kept(&house).await.0, 1);
}

#[tokio::test]
async fn a_book_without_rig_or_hydrant_says_where_to_add_one() {
    let house = House::with("[book]\nname = 'Small'\n").await;
    let page = house.get("/book/small/new-scene").await.text();
    assert!(page.contains(r#"href="/book/small/new/rig""#));
    let scenes = house.get("/book/small/scenes").await.text();
    assert!(scenes.contains(r#"href="/book/small/new-scene""#));
    let house = House::with("[book]\nname = 'Small'\n[rig.one]\npump = '1250 gpm'\n").await;
    let page = house.get("/book/small/new-scene").await.text();
    assert!(page.contains(r#"href="/book/small/new/hydrant""#));
    assert!(page.contains(r#"href="/book/small/new-line""#));
}

#[tokio::test]
async fn rigs_water_lines_and_pumps_are_changed_by_forms() {
    let house = House::with(DEMO).await;
    change(
        &house,
        &[("do", "title"), ("title", "Mill"), ("note", "By day")],
    )
    .await;
    let scene = mill(&house).await;
    assert_eq!(scene.title.as_deref(), Some("Mill"));
    assert_eq!(scene.about.note.as_deref(), Some("By day"));

    let rig = [
        ("do", "rig"),
        ("rig", "pumper-3"),
        ("from", "rig pumper-2"),
        ("hose", "supply"),
        ("length", "300 ft"),
        ("rise", "5 ft"),
        ("count", "1"),
        ("lines", "right-crosslay"),
    ];
    change(&house, &rig).await;
    let added = mill(&house).await.rig["pumper-3"].clone();
    assert_eq!(added.intake[0].from, IntakeFrom::Rig("pumper-2".into()));
    assert_eq!(added.lines[0].line, "right-crosslay");

    let water = [
        ("do", "water"),
        ("rig", "pumper-3"),
        ("at", "0"),
        ("was", "rig pumper-2"),
        ("from", "tank"),
    ];
    change(&house, &water).await;
    let added = mill(&house).await.rig["pumper-3"].clone();
    assert_eq!(added.intake[0].from, IntakeFrom::Tank);

    change(
        &house,
        &[
            ("do", "pump"),
            ("rig", "pumper-1"),
            ("pump_pressure", "150"),
        ],
    )
    .await;
    let at = |scene: &Scene| scene.rig["pumper-1"].pump_pressure.clone();
    assert_eq!(at(&mill(&house).await).unwrap().text(), "150 psi");
    change(
        &house,
        &[("do", "pump"), ("rig", "pumper-1"), ("pump_pressure", "")],
    )
    .await;
    assert_eq!(at(&mill(&house).await), None);

    let out = [
        ("do", "line-out"),
        ("rig", "pumper-1"),
        ("at", "1"),
        ("was", "left-crosslay"),
    ];
    change(&house, &out).await;
    change(
        &house,
        &[("do", "lines"), ("rig", "pumper-1"), ("lines", "large")],
    )
    .await;
    let scene = mill(&house).await;
    let lines = scene.rig["pumper-1"].lines.iter().map(|l| l.line.as_str());
    assert_eq!(lines.collect::<Vec<_>>(), ["apartment", "monitor", "large"]);

    change(&house, &[("do", "rig-out"), ("rig", "pumper-3")]).await;
    assert!(!mill(&house).await.rig.contains_key("pumper-3"));
}

#[tokio::test]
async fn what_does_not_hold_is_refused_in_words() {
    let house = House::with(DEMO).await;
    let page = refused(
        &house,
        &[("form", "out"), ("do", "rig-out"), ("rig", "pumper-2")],
    )
    .await;
    assert!(
        page.contains("rig &quot;pumper-2&quot; supplies pumper-1"),
        "{page}"
    );
    assert!(page.contains("give what it supplies other water first"));
    let pump = [
        ("form", "pump"),
        ("do", "pump"),
        ("rig", "pumper-1"),
        ("pump_pressure", "150 gpm"),
    ];
    let page = refused(&house, &pump).await;
    assert!(page.contains(r#"id="pump-pump_pressure-w""#), "{page}");
    assert!(page.contains(r#"value="150 gpm""#));
    // Units and light switched on this page lead back to where it was sent.
    let back = house.get(&format!("{MILL}/edit")).await;
    assert_eq!(back.status, StatusCode::OK);
    // Another line than the form showed is not taken out.
    let out = [
        ("form", "line-0"),
        ("do", "line-out"),
        ("rig", "pumper-1"),
        ("at", "0"),
        ("was", "monitor"),
    ];
    let page = refused(&house, &out).await;
    assert!(page.contains("The scene has changed since"));
    // Two rigs that supply each other.
    let circle = [
        ("form", "water-0"),
        ("do", "water"),
        ("rig", "pumper-2"),
        ("at", "0"),
        ("was", "hydrant mill-street"),
        ("from", "rig pumper-1"),
        ("hose", "supply"),
        ("length", "100 ft"),
    ];
    let page = refused(&house, &circle).await;
    assert!(page.contains("which is fed by it"), "{page}");
}

#[tokio::test]
async fn lines_come_off_a_floor_of_a_standpipe() {
    let house = House::with(DEMO).await;
    let tower = format!("/book/{DEMO_SLUG}/scene/harbour-tower");
    let pairs = [
        ("base", "1"),
        ("form", "lines"),
        ("do", "lines"),
        ("rig", "pumper-2"),
        ("lines", "high-rise-pack"),
        ("standpipe", "harbour-tower"),
    ];
    let floor = |floor| [pairs.as_slice(), &[("floor", floor)]].concat();
    let edit = format!("{tower}/edit");
    let missing = house.post(&edit, &floor("")).await;
    assert_eq!(missing.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(missing.text().contains("No floor is written"));
    let beyond = house.post(&edit, &floor("99")).await;
    assert_eq!(beyond.status, StatusCode::UNPROCESSABLE_ENTITY);
    let saved = house.post(&edit, &floor("7")).await;
    assert!(saved.to().starts_with(&tower));
    let (_, book) = kept(&house).await;
    let lines = &book.scene["harbour-tower"].rig["pumper-2"].lines;
    let floor = lines[2].floor.clone().unwrap();
    assert_eq!(floor.text(), "7");
}

#[tokio::test]
async fn the_second_of_two_editors_is_told_and_can_have_the_change_on_the_newest() {
    let house = House::with(DEMO).await;
    let title = |base, title| {
        [
            ("base", base),
            ("form", "scene"),
            ("do", "title"),
            ("title", title),
        ]
    };
    let edit = format!("{MILL}/edit");
    house.post(&edit, &title("1", "First")).await.to();
    let second = house.post(&edit, &title("1", "Second")).await;
    assert_eq!(second.status, StatusCode::CONFLICT);
    let page = second.text();
    assert!(page.contains("Make my change on revision 2"));
    assert!(page.contains(&format!(r#"action="{edit}""#)), "{page}");
    assert_eq!(mill(&house).await.title.as_deref(), Some("First"));
    house.post(&edit, &title("2", "Second")).await.to();
    assert_eq!(mill(&house).await.title.as_deref(), Some("Second"));
}

#[tokio::test]
async fn a_scene_is_deleted_and_its_lines_stay() {
    let house = House::with(DEMO).await;
    let answer = house
        .post(&format!("{MILL}/edit"), &[("base", "1"), ("do", "delete")])
        .await;
    assert_eq!(answer.to(), format!("/book/{DEMO_SLUG}/scenes"));
    let (_, book) = kept(&house).await;
    assert!(!book.scene.contains_key("mill-street"));
    assert!(book.line.contains_key("apartment"));
    assert_eq!(house.get(MILL).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn every_form_of_a_scene_opens_with_a_label_for_every_field() {
    let house = House::with(DEMO).await;
    for scene in ["mill-street", "harbour-tower", "county-road", "mill-pond"] {
        let page = format!("/book/{DEMO_SLUG}/scene/{scene}");
        let (_, book) = kept(&house).await;
        let rigs = book.scene[scene]
            .rig
            .keys()
            .map(|rig| format!("rig%20{rig}"));
        for what in rigs.chain(["scene".into(), "add".into()]) {
            let answer = house.get(&format!("{page}?edit={what}")).await;
            assert_eq!(answer.status, StatusCode::OK);
            let text = answer.text();
            assert_eq!(text.matches(r#"id="edit""#).count(), 1, "{scene} {what}");
            let ids = text.split(" id=\"").skip(1);
            let mut ids: Vec<&str> = ids.filter_map(|rest| rest.split('"').next()).collect();
            let all = ids.len();
            ids.sort_unstable();
            ids.dedup();
            assert_eq!(ids.len(), all, "an id twice: {scene} {what}");
            let fields = text.matches("<select id=").count();
            let labels = text.matches("<label for=").count();
            assert!(labels > fields, "{scene} {what}");
        }
    }
}

#[tokio::test]
async fn figures_and_drawing_stand_above_the_hands_that_change_them() {
    let house = House::with(DEMO).await;
    let page = house.get(MILL).await.text();
    let at = |words: &str| page.find(words).unwrap();
    let order = [
        at(r#"id="top""#),
        at("What the crews get"),
        at("From the water to the tips"),
        at(r#"data-live="top live""#),
        at("Change this scene"),
        at(r#"id="live""#),
        at("Flows and pressures agree to"),
    ];
    assert!(order.is_sorted(), "{order:?}");
    let fragment = house
        .get(&format!("{MILL}?fragment=1&hydrants=50"))
        .await
        .text();
    assert!(fragment.contains(r#"id="top""#) && fragment.contains(r#"id="live""#));
    assert!(!fragment.contains("What if"));
    assert!(page.contains(r#"placeholder="100 %""#));
}
