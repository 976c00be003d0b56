//! Scene and equipment pages without a server, held against the answers of `study`.
#![allow(clippy::unwrap_used)]

mod common;

use axum::http::StatusCode;
use book::{Book, SceneConditions, catalogue};
use common::{DEMO, DEMO_SLUG as SLUG, House};
use hydraulics::units::{Kind, Measure, System, VolumeRate, psi, show};
use study::SceneAnswer;

struct Bench {
    house: House,
}

impl Bench {
    async fn with(text: &str) -> Self {
        Bench {
            house: House::with(text).await,
        }
    }

    async fn get(&self, address: &str) -> (StatusCode, String) {
        let answer = self.house.get(address).await;
        (answer.status, answer.text())
    }

    async fn page(&self, address: &str) -> String {
        let (status, page) = self.get(address).await;
        assert_eq!(status, StatusCode::OK, "{address}");
        assert_eq!(page.matches("<h1").count(), 1, "{address}");
        page
    }
}

fn demo() -> Book {
    book::read(DEMO.as_bytes(), "demo.toml").unwrap()
}

/// A page as its reader reads it: without marks, spaces as one.
fn words(page: &str) -> String {
    let page = page.split_once("<main").map_or(page, |(_, main)| main);
    let mut out = String::new();
    let mut inside = false;
    for letter in page.chars() {
        match letter {
            '<' => inside = true,
            '>' => {
                inside = false;
                out.push(' ');
            }
            letter if !inside => out.push(letter),
            _ => {}
        }
    }
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Is the figure there, and not as the end of a longer one?
fn has(words: &str, figure: &str) -> bool {
    let own = |(at, _): (usize, &str)| {
        let before = words[..at].chars().next_back();
        !before.is_some_and(|c| c.is_ascii_digit() || c == '.' || c == '-')
    };
    words.match_indices(figure).any(own)
}

/// Every figure that a firefighter looks for.
fn figures(answer: &SceneAnswer, system: System) -> Vec<String> {
    let pressure = |p| show(Kind::Pressure, p, system);
    let flow = |q| show(Kind::Flow, q, system);
    let mut all = Vec::new();
    let zero = VolumeRate::of_si(0.0);
    all.push(flow(
        answer.tips.iter().fold(zero, |sum, tip| sum + tip.flow),
    ));
    for rig in &answer.rigs {
        all.extend([rig.discharge, rig.intake, rig.net, rig.capability].map(pressure));
        all.extend([rig.flow, rig.rated].map(flow));
        for outlet in &rig.outlets {
            all.push(pressure(outlet.pressure));
            all.push(show(Kind::Share, outlet.gate, system));
        }
    }
    for tip in &answer.tips {
        all.extend([flow(tip.flow), pressure(tip.tip_pressure)]);
        all.push(show(Kind::Force, tip.reaction, system));
        all.push(show(Kind::Length, tip.effective_reach, system));
    }
    for limit in &answer.limits {
        all.extend([limit.value.show(system), limit.limit.show(system)]);
    }
    for main in answer
        .sources
        .iter()
        .filter_map(|source| source.main.as_ref())
    {
        all.extend([pressure(main.residual), flow(main.available)]);
    }
    for notice in &answer.notices {
        all.extend(notice.numbers.iter().map(|(_, figure)| figure.show(system)));
    }
    all
}

#[tokio::test]
async fn a_scene_page_has_each_figure_of_its_answer_in_both_systems() {
    let bench = Bench::with(DEMO).await;
    let book = demo();
    for (units, system) in [("us", System::Us), ("si", System::Si)] {
        for name in book.scene.keys() {
            let page = bench
                .page(&format!("/book/{SLUG}/scene/{name}?units={units}"))
                .await;
            let words = words(&page);
            let answer = study::solve_scene(&book, name, &Default::default()).unwrap();
            for figure in figures(&answer, system) {
                assert!(has(&words, &figure), "{name}: {figure}");
            }
            let missing = |shut: &str| !words.contains(shut);
            assert!(missing("NaN") && missing("inf "), "{name}");
        }
    }
}

#[tokio::test]
async fn hands_in_the_address_move_the_scene_and_all_else_stays() {
    let bench = Bench::with(DEMO).await;
    let book = demo();
    let query = "pump%3Apumper-1=120+psi&hydrants=60&gate%3Apumper-1%3Aline+left-crosslay=50";
    let address = format!("/book/{SLUG}/scene/mill-street?{query}");
    let page = bench.page(&address).await;
    let mut changes = SceneConditions::default();
    changes.pump_pressure.insert("pumper-1".into(), psi(120.0));
    changes.hydrants = Some(Measure::of_si(0.6));
    let outlet = book::Outlet {
        rig: "pumper-1".into(),
        feeds: book::Feeds::Line("left-crosslay".into()),
    };
    changes.outlets.insert(outlet, Measure::of_si(0.5));
    let plain = SceneConditions::default();
    let compared = study::what_if_scene(&book, "mill-street", &plain, &changes).unwrap();
    let words = words(&page);
    assert!(words.contains("Before and after"));
    for figure in figures(&compared.after, System::Us) {
        assert!(has(&words, &figure), "{figure}");
    }
    assert!(page.contains("value=\"120 psi\"") && page.contains("value=\"60\""));
    // The fragment is what stands within the whole page.
    let (status, live) = bench.get(&format!("{address}&fragment=1")).await;
    assert_eq!(status, StatusCode::OK);
    assert!(!live.contains("<h1") && !live.contains("<form"));
    let regions = live.split(r#"<div class="live" id="live""#);
    for region in regions.filter(|region| !region.is_empty()) {
        assert!(page.contains(region));
    }
    assert!(live.contains(r#"id="top""#) && live.contains(r#"id="live""#));
}

#[tokio::test]
async fn a_wrong_value_stays_in_its_field_with_a_message_beside_it() {
    let bench = Bench::with(DEMO).await;
    for (query, kept, told) in [
        (
            "pump%3Apumper-2=ten",
            "value=\"ten\"",
            "write it as 150 psi",
        ),
        (
            "pump%3Apumper-2=9000",
            "value=\"9000\"",
            "out of what a pump holds",
        ),
        ("hydrants=60", "", "no &quot;hydrants&quot;"),
        ("pump%3Aghost=100", "", "no &quot;pump:ghost&quot;"),
        (
            "pump%3Apumper-2=%3Cscript%3E",
            "value=\"&lt;script&gt;\"",
            "has no number",
        ),
    ] {
        let (status, page) = bench
            .get(&format!("/book/{SLUG}/scene/mill-pond?{query}"))
            .await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{query}");
        assert!(
            page.contains(kept) && page.contains(told),
            "{query}: {page}"
        );
        assert!(!page.contains("<script>"));
        if !kept.is_empty() {
            assert_eq!(page.matches("aria-invalid=\"true\"").count(), 1, "{query}");
        }
    }
    let (status, page) = bench
        .get(&format!("/book/{SLUG}/scene/spill?hydrants=5"))
        .await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.contains("value=\"5\"") && page.contains("a share of 10 to 100 %"));
}

#[tokio::test]
async fn what_is_not_there_is_told_in_words() {
    let bench = Bench::with(DEMO).await;
    for (address, told) in [
        ("scene/ghost", "ghost"),
        ("equipment/hose/ghost", "There is no hose"),
        ("equipment/ghost/attack", "There is no ghost"),
    ] {
        let (status, page) = bench.get(&format!("/book/{SLUG}/{address}")).await;
        assert_eq!(status, StatusCode::NOT_FOUND, "{address}");
        assert!(page.contains(told), "{address}: {page}");
    }
}

#[tokio::test]
async fn the_list_of_scenes_says_what_each_gives_and_what_binds_first() {
    let bench = Bench::with(DEMO).await;
    let page = words(&bench.page(&format!("/book/{SLUG}/scenes")).await);
    let book = demo();
    for (name, scene) in &book.scene {
        let answer = study::solve_scene(&book, name, &Default::default()).unwrap();
        let all = figures(&answer, System::Us).remove(0);
        assert!(page.contains(scene.title.as_deref().unwrap()), "{name}");
        assert!(has(&page, &all), "{name} {all}");
        assert!(page.contains(answer.limits[0].what), "{name}");
    }
}

fn piece(name: &str) -> String {
    let hex = |byte: u8| match byte.is_ascii_alphanumeric() {
        true => char::from(byte).to_string(),
        false => format!("%{byte:02X}"),
    };
    name.bytes().map(hex).collect()
}

fn names(book: &Book) -> Vec<(&'static str, String)> {
    fn of<T>(
        kind: &'static str,
        items: &indexmap::IndexMap<String, T>,
    ) -> Vec<(&'static str, String)> {
        items.keys().map(|name| (kind, name.clone())).collect()
    }
    [
        of("rig", &book.rig),
        of("hose", &book.hose),
        of("nozzle", &book.nozzle),
        of("appliance", &book.appliance),
        of("hydrant", &book.hydrant),
        of("draft", &book.draft),
        of("shuttle", &book.shuttle),
        of("standpipe", &book.standpipe),
    ]
    .concat()
}

#[tokio::test]
async fn every_piece_of_equipment_has_its_page_with_source_and_use() {
    let bench = Bench::with(DEMO).await;
    let list = bench.page(&format!("/book/{SLUG}/equipment")).await;
    let all = [names(&demo()), names(catalogue())].concat();
    assert!(all.len() > 120, "{}", all.len());
    for (at, (kind, name)) in all.iter().enumerate() {
        assert!(list.contains(&format!(">{name}</a>")), "{kind} {name}");
        let units = ["us", "si"][at % 2];
        let address = format!(
            "/book/{SLUG}/equipment/{kind}/{}?units={units}",
            piece(name)
        );
        let page = words(&bench.page(&address).await);
        assert!(page.contains("Where it is used"), "{kind} {name}");
        assert!(!page.contains("NaN"), "{kind} {name}");
    }
}

#[tokio::test]
async fn the_list_of_equipment_is_searched_by_all_words() {
    let bench = Bench::with(DEMO).await;
    let found = |page: &str| page.matches("<h3>").count();
    let all = found(&bench.page(&format!("/book/{SLUG}/equipment")).await);
    let page = bench
        .page(&format!("/book/{SLUG}/equipment?find=SMOOTH+own"))
        .await;
    assert_eq!(
        found(&page),
        4,
        "fifteen-sixteenths, inch-and-an-eighth, seven-eighths, master"
    );
    let page = bench
        .page(&format!("/book/{SLUG}/equipment?kind=hydrant"))
        .await;
    assert_eq!(found(&page), 3);
    let page = bench
        .page(&format!("/book/{SLUG}/equipment?find=zzz%3Cb%3E"))
        .await;
    assert!(found(&page) == 0 && all > 120 && page.contains("zzz&lt;b&gt;"));
}

#[tokio::test]
async fn a_script_in_a_name_is_shown_as_text() {
    let odd = "<script>alert(1)</script> & \\\"x\\\" / ? # %2e";
    let text = format!(
        "[book]\nname = \"{odd}\"\n[rig.\"{odd}\"]\npump = \"1250 gpm\"\ntank = \"500 gal\"\n\
         [hose.\"{odd}\"]\nsize = \"1.75 in\"\ncoefficient = 15\nsource = \"{odd}\"\n\
         [line.\"{odd}\"]\ntitle = \"{odd}\"\nparts = [{{ hose = \"{odd}\", length = \"200 ft\" }}, \
         {{ nozzle = \"150 gpm at 50 psi\" }}]\n\
         [scene.\"s{odd}\"]\ntitle = \"{odd}\"\n[scene.\"s{odd}\".rig.\"{odd}\"]\n\
         intake = [{{ tank = true }}]\nlines = [{{ line = \"{odd}\" }}]\n"
    );
    let bench = Bench::with(&text).await;
    let slug = web::slug("<script>alert(1)</script> & \"x\" / ? # %2e");
    let name = piece("<script>alert(1)</script> & \"x\" / ? # %2e");
    for address in [
        format!("/book/{slug}/scenes"),
        format!("/book/{slug}/scene/s{name}"),
        format!("/book/{slug}/equipment"),
        format!("/book/{slug}/equipment/hose/{name}"),
        format!("/book/{slug}/equipment/rig/{name}"),
    ] {
        let page = bench.page(&address).await;
        assert!(!page.contains("<script>alert"), "{address}");
        assert!(
            page.contains("&lt;script&gt;alert(1)&lt;/script&gt;"),
            "{address}"
        );
    }
}

/// Addresses in a page that lead to scenes and equipment.
fn links(page: &str) -> Vec<String> {
    let all = page
        .split("href=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next());
    let ours = |address: &&str| address.contains("/scene/") || address.contains("/equipment/");
    all.filter(ours)
        .map(|address| address.replace("&amp;", "&"))
        .collect()
}

#[tokio::test]
async fn links_between_scenes_and_equipment_lead_somewhere() {
    let bench = Bench::with(DEMO).await;
    let mut seen = 0;
    for page in [
        "scenes",
        "equipment/hose/attack",
        "equipment/rig/pumper%2D2",
        "equipment/hydrant/mill%2Dstreet",
    ] {
        let page = bench.page(&format!("/book/{SLUG}/{page}")).await;
        for address in links(&page) {
            // Tables to take along are no pages.
            let answer = bench.house.get(&address).await;
            assert_eq!(answer.status, StatusCode::OK, "{address}");
            if answer.header("content-type").starts_with("text/html") {
                assert_eq!(answer.text().matches("<h1").count(), 1, "{address}");
            }
            seen += 1;
        }
    }
    assert!(seen > 20, "{seen}");
}
