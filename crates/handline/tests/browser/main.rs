//! The workbench in a real browser, beside what the command line answers.

#![expect(clippy::panic, reason = "a test that ends says why")]

mod bench;
mod compare;
mod people;
mod proof;
mod sheets;

use bench::{Bench, DEMO, Tab, command, demo_file, shown};
use serde_json::Value;
use std::path::Path;

fn demo() -> String {
    demo_file().display().to_string()
}

async fn agrees(tab: &Tab, answer: &Value) {
    let tip = &answer["tips"][0];
    assert_eq!(
        tab.figure("Pump pressure").await,
        shown(&answer["pump_pressure"])
    );
    assert_eq!(tab.figure("Flow").await, shown(&tip["flow"]));
    assert_eq!(
        tab.figure("Tip pressure").await,
        shown(&tip["tip_pressure"])
    );
    assert_eq!(tab.figure("Reaction").await, shown(&tip["reaction"]));
    assert_eq!(
        tab.figure("Effective reach").await,
        shown(&tip["effective_reach"])
    );
    assert_eq!(
        tab.figure("Maximum throw").await,
        shown(&tip["maximum_throw"])
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_line_is_built_from_nothing_and_agrees_with_the_command() {
    let bench = Bench::open().await;
    let tab = bench.tab("/").await;
    tab.follow("New book").await;
    tab.fill("name", "Reed Island Volunteers").await;
    tab.follow("Make the book").await;
    tab.follow("New line").await;
    tab.fill("title", "Front attack line").await;
    tab.fill("hose", "1.75 in").await;
    tab.fill("length", "200").await;
    tab.fill("nozzle", "150 gpm at 50 psi").await;
    tab.fill("target", "flow").await;
    tab.fill("value", "150").await;
    tab.follow("Make the line").await;
    let text: String = tab
        .ask("fetch('/book/reed-island-volunteers/file/download').then((r) => r.text())")
        .await;
    let file = bench.folder.path().join("reed.toml");
    std::fs::write(&file, text).expect("written");
    let answer = command(&["solve", &file.display().to_string(), "front-attack-line"]);
    agrees(&tab, &answer).await;
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn each_hand_agrees_with_the_command() {
    let bench = Bench::open().await;
    let tab = bench.tab(&format!("{DEMO}/line/left-crosslay")).await;
    let solve = |more: &[&str]| {
        let book = demo();
        let mut args = vec!["solve", &book, "left-crosslay"];
        args.extend(more);
        command(&args)
    };
    agrees(&tab, &solve(&[])).await;
    tab.set("pump", "110").await;
    agrees(&tab, &solve(&["--pump", "110 psi"])).await;
    let standing: String = tab
        .ask("document.querySelector('[name=pump]').dataset.standing")
        .await;
    tab.set("pump", &standing).await;
    tab.set("gate part 2", "40").await;
    agrees(&tab, &solve(&["--gate", "40 %"])["after"]).await;
    tab.set("gate part 2", "100").await;
    tab.set("setting part 2", "low").await;
    agrees(&tab, &solve(&["--setting", "low"])["after"]).await;
    // The address says it all: a page opened afresh shows the same.
    let here: String = tab.ask("location.pathname + location.search").await;
    tab.go(&here).await;
    agrees(&tab, &solve(&["--setting", "low"])["after"]).await;
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_line_is_extended_at_its_tip() {
    let bench = Bench::open().await;
    let tab = bench.tab(&format!("{DEMO}/line/left-crosslay")).await;
    let book = demo();
    let extended = command(&["extend", &book, "left-crosslay", "--by", "50 ft"]);
    let same = &extended["same_pressure"];
    // The panel says it before it is chosen.
    let said: String = tab
        .ask("document.querySelector('#next li').innerText")
        .await;
    assert!(
        said.contains(&shown(&extended["same_flow"]["pump_pressure"])),
        "{said}"
    );
    assert!(said.contains(&shown(&same["tips"][0]["flow"])), "{said}");
    tab.follow("Show this").await;
    agrees(&tab, same).await;
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_scene_shows_what_the_command_says() {
    let bench = Bench::open().await;
    let tab = bench.tab(&format!("{DEMO}/scene/mill-street")).await;
    let answer = command(&["solve", &demo(), "mill-street"]);
    let text = tab.text().await;
    for tip in answer["tips"].as_array().expect("tips") {
        for name in ["flow", "tip_pressure", "reaction"] {
            assert!(
                text.contains(&shown(&tip[name])),
                "{name} of {} in\n{text}",
                tip["line"]
            );
        }
    }
    for rig in answer["rigs"].as_array().expect("rigs") {
        assert!(text.contains(&shown(&rig["pump_pressure"])), "{text}");
    }
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_part_is_changed_in_place_and_undone() {
    let bench = Bench::open().await;
    let tab = bench.tab(&format!("{DEMO}/line/left-crosslay")).await;
    let before = tab.figure("Pump pressure").await;
    tab.follow("Change: 200 ft of attack").await;
    tab.fill("length", "150").await;
    tab.follow("Save").await;
    let text = tab.text().await;
    assert!(
        text.contains("200 to 150 ft") || text.contains("200 ft to 150 ft"),
        "{text}"
    );
    assert_ne!(tab.figure("Pump pressure").await, before);
    // A wrong value stays in its field, with a message beside it.
    tab.follow("Change: 150 ft of attack").await;
    tab.fill("length", "a mile and a bit").await;
    tab.follow("Save").await;
    let kept: String = tab
        .ask("document.querySelector('#edit [name=length]').value")
        .await;
    assert_eq!(kept, "a mile and a bit");
    let message: String = tab
        .ask("document.querySelector('#f-length-w').textContent")
        .await;
    assert!(message.contains("a mile and a bit"), "{message}");
    tab.go(&format!("{DEMO}/history")).await;
    tab.follow("Undo").await;
    tab.go(&format!("{DEMO}/line/left-crosslay")).await;
    assert_eq!(tab.figure("Pump pressure").await, before);
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn the_second_of_two_editors_is_told_and_nothing_is_lost() {
    let bench = Bench::open().await;
    let first = bench
        .tab(&format!("{DEMO}/line/bumper?edit=part%201"))
        .await;
    let second = bench
        .tab(&format!("{DEMO}/line/bumper?edit=part%201"))
        .await;
    first.fill("length", "150 ft").await;
    first.follow("Save").await;
    second.fill("length", "200 ft").await;
    second.follow("Save").await;
    let text = second.text().await;
    assert!(text.contains("Somebody else changed this book"), "{text}");
    assert!(text.contains("200 ft"), "{text}");
    second.follow("Make my change").await;
    assert!(second.text().await.contains("200 ft of attack"));
    let newest: Value = second
        .ask(&format!("fetch('{DEMO}/newest').then((r) => r.json())"))
        .await;
    assert_eq!(newest["revision"], 3);
    second.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_broken_file_is_named_line_by_line() {
    let bench = Bench::open().await;
    let tab = bench.tab("/books/import").await;
    let broken = "[book]\nname = \"Broken\"\n[line.left]\nparts = [{ hose = \"1.75 im\", length = \"200 ft\" }]\n";
    tab.fill("text", broken).await;
    tab.follow("Read it").await;
    let text = tab.text().await;
    assert!(
        text.contains("Line 4") && text.contains("1.75 im"),
        "{text}"
    );
    let kept: String = tab.ask("document.querySelector('[name=text]').value").await;
    assert_eq!(kept, broken);
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn units_and_light_are_switched_and_kept() {
    let bench = Bench::open().await;
    let tab = bench.tab(&format!("{DEMO}/line/left-crosslay")).await;
    tab.set("pump", "120").await;
    let us = tab.figure("Pump pressure").await;
    tab.follow("SI").await;
    assert_eq!(us, "120 psi");
    // The same pressure: 120 psi is 8.27 bar.
    assert_eq!(tab.figure("Pump pressure").await, "8.3 bar");
    let answer = command(&[
        "solve",
        &demo(),
        "left-crosslay",
        "--pump",
        "120 psi",
        "--units",
        "si",
    ]);
    assert_eq!(tab.figure("Flow").await, shown(&answer["tips"][0]["flow"]));
    tab.follow("Night").await;
    let theme: String = tab.ask("document.documentElement.dataset.theme").await;
    assert_eq!(theme, "night");
    tab.go(&format!("{DEMO}/scene/mill-street")).await;
    assert!(tab.text().await.contains("L/min"));
    tab.quiet();
}

/// Tab until the element of `selector` has the focus, as a reader without a mouse.
async fn tab_to(tab: &Tab, selector: &str) {
    for _ in 0..80 {
        let there = format!("document.activeElement?.matches({selector:?}) ?? false");
        if tab.ask::<bool>(&there).await {
            let seen: bool = tab
                .ask("(() => { const s = getComputedStyle(document.activeElement); return s.outlineStyle !== 'none' || s.boxShadow !== 'none'; })()")
                .await;
            assert!(seen, "the focus on {selector} cannot be seen");
            return;
        }
        tab.key("Tab").await;
    }
    panic!("{selector} cannot be reached by the keyboard");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_keyboard_alone_builds_and_moves() {
    let bench = Bench::open().await;
    let tab = bench.tab(&format!("{DEMO}/line/right-crosslay")).await;
    let before = tab.figure("Flow").await;
    tab_to(&tab, "input[type=range][data-for=h-pump]").await;
    for _ in 0..5 {
        tab.key("ArrowLeft").await;
    }
    tab.until(&format!(
        "!document.querySelector('#crew').innerText.replace(/\\s+/g, ' ').includes('Flow {before}')"
    ))
    .await;
    tab.go(&format!("{DEMO}/line/right-crosslay")).await;
    tab_to(&tab, "#parts li .part a").await;
    tab.key("Enter").await;
    tab.until("document.querySelector('#edit [name=hose]') === document.activeElement")
        .await;
    tab_to(&tab, "#edit [name=length]").await;
    tab.page
        .evaluate("document.activeElement.select()")
        .await
        .expect("selected");
    tab.write("250 ft").await;
    tab.key("Enter").await;
    tab.until("document.body.innerText.includes('Saved as revision 2')")
        .await;
    tab.quiet();
}

const PAGES: [&str; 35] = [
    "/book/saltmarsh-bend-fire-and-rescue/comparisons",
    "/book/saltmarsh-bend-fire-and-rescue/comparisons/new",
    "/book/saltmarsh-bend-fire-and-rescue/comparison/file",
    "/book/saltmarsh-bend-fire-and-rescue/tests",
    "/book/saltmarsh-bend-fire-and-rescue/tests/new?test=hose%2Fattack&gauge=line-gauge-1&gauge=flow-meter",
    "/book/saltmarsh-bend-fire-and-rescue/tests/bring",
    "/book/saltmarsh-bend-fire-and-rescue/test/1?point=1",
    "/book/saltmarsh-bend-fire-and-rescue/test/1/result",
    "/book/saltmarsh-bend-fire-and-rescue/inventory",
    "/book/saltmarsh-bend-fire-and-rescue/inventory/new",
    "/book/saltmarsh-bend-fire-and-rescue/inventory/due",
    "/",
    "/books/new",
    "/books/import",
    "/cautions",
    "/api",
    "/book/saltmarsh-bend-fire-and-rescue",
    "/book/saltmarsh-bend-fire-and-rescue/new-line",
    "/book/saltmarsh-bend-fire-and-rescue/line/left-crosslay",
    "/book/saltmarsh-bend-fire-and-rescue/line/apartment?edit=part%203&kink%20part%201=40%20%25&wall=40&sill=20",
    "/book/saltmarsh-bend-fire-and-rescue/line/foam-too-long",
    "/book/saltmarsh-bend-fire-and-rescue/scenes",
    "/book/saltmarsh-bend-fire-and-rescue/scene/mill-street",
    "/book/saltmarsh-bend-fire-and-rescue/scene/harbour-tower",
    "/book/saltmarsh-bend-fire-and-rescue/equipment",
    "/book/saltmarsh-bend-fire-and-rescue/new-scene",
    "/book/saltmarsh-bend-fire-and-rescue/new/nozzle",
    "/book/saltmarsh-bend-fire-and-rescue/line/bumper/take-out",
    "/paper",
    "/paper?code=C3D-9KT",
    "/book/saltmarsh-bend-fire-and-rescue/paper?size=pocket&units=both",
    "/book/saltmarsh-bend-fire-and-rescue/paper/line-card/left-crosslay?size=pocket",
    "/book/saltmarsh-bend-fire-and-rescue/issued",
    "/book/saltmarsh-bend-fire-and-rescue/history",
    "/book/saltmarsh-bend-fire-and-rescue/file",
];

const ITEMS: [&str; 6] = [
    "/equipment/hose/attack",
    "/equipment/nozzle/twin",
    "/equipment/rig/pumper-1",
    "/equipment/hose/attack/edit",
    "/equipment/hydrant/mill-street",
    "/equipment/appliance/eductor%2095%20gpm",
];

/// A sheet with readings and a piece of hose, so that their pages have something to show.
async fn stock(tab: &Tab) {
    let csv = "test,date,flow (gpm),inlet (psi),outlet (psi),length (ft),flow gauge,inlet gauge,outlet gauge\nhose attack,2026-09-19,100,80,52,200,flow-meter,line-gauge-1,line-gauge-2\nhose attack,2026-09-19,150,120,56,200,flow-meter,line-gauge-1,line-gauge-2\nhose attack,2026-09-19,200,170,58,200,flow-meter,line-gauge-1,line-gauge-2\n";
    let hex: String = csv.bytes().map(|byte| format!("{byte:02x}")).collect();
    let send = format!(
        "(async () => {{ const day = new FormData(); for (const [k, v] of Object.entries({{ carried: '{hex}', name: 'day.csv', do: 'enter' }})) day.append(k, v); \
         const one = await fetch('{DEMO}/tests/bring', {{ method: 'POST', body: day }}); \
         const two = await fetch('{DEMO}/inventory/new', {{ method: 'POST', body: new URLSearchParams({{ serial: 'H-1', gear: 'hose', item: 'attack', title: 'Left crosslay', since: '2025-01-10', months: '12' }}) }}); \
         return one.ok && two.ok; }})()"
    );
    assert!(tab.ask::<bool>(&send).await, "stocked");
}

fn pages() -> Vec<String> {
    let items = ITEMS.iter().map(|item| format!("{DEMO}{item}"));
    let compared = [compare::small()];
    let pages = PAGES.iter().map(ToString::to_string);
    pages.chain(items).chain(compared).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn every_page_is_accessible_in_both_lights() {
    let axe = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/browser/node_modules/axe-core/axe.min.js");
    let axe = std::fs::read_to_string(&axe).unwrap_or_else(|error| {
        panic!(
            "{}: {error}; run `npm ci` in crates/handline/tests/browser (./check-all does)",
            axe.display()
        )
    });
    let bench = Bench::open().await;
    let tab = bench.tab("/").await;
    stock(&tab).await;
    let mut faults = Vec::new();
    for light in ["Day", "Night"] {
        tab.go("/").await;
        tab.follow(light).await;
        for page in pages() {
            tab.go(&page).await;
            tab.page.evaluate(axe.as_str()).await.expect("axe is there");
            let found: Value = tab
                .ask("axe.run({ runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }).then((r) => r.violations.map((v) => [v.id, v.help, v.nodes.slice(0, 3).map((n) => n.html.slice(0, 200) + ' ' + (n.failureSummary ?? ''))]))")
                .await;
            for fault in found.as_array().expect("a list") {
                faults.push(format!("{light} {page}: {fault}"));
            }
        }
    }
    assert!(
        faults.is_empty(),
        "{} violations\n{}",
        faults.len(),
        faults.join("\n")
    );
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn every_page_fits_a_phone_and_a_gloved_finger() {
    let bench = Bench::open().await;
    let tab = bench.tab("/").await;
    stock(&tab).await;
    tab.width(390).await;
    let mut faults = Vec::new();
    for page in pages() {
        tab.go(&page).await;
        let wide: f64 = tab.ask("document.documentElement.scrollWidth").await;
        if wide > 390.0 {
            let who: String = tab
                .ask("[...document.querySelectorAll('body *')].filter((e) => e.getBoundingClientRect().right > 391 && !e.closest('.sheet, .wide, pre, table, .unseen')).slice(0, 4).map((e) => e.outerHTML.slice(0, 120)).join(' | ')")
                .await;
            faults.push(format!("{page} is {wide} px wide: {who}"));
        }
        let small: Vec<String> = tab
            .ask("[...document.querySelectorAll('button, .button, input:not([type=hidden]):not([type=radio]):not([type=checkbox]), select, summary, nav a')].filter((e) => e.offsetParent && e.getBoundingClientRect().height < 43.5).map((e) => e.outerHTML.slice(0, 100))")
            .await;
        faults.extend(
            small
                .into_iter()
                .map(|what| format!("{page}: lower than 44 px: {what}")),
        );
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn every_page_prints() {
    let bench = Bench::open().await;
    let tab = bench.tab("/").await;
    stock(&tab).await;
    for page in pages() {
        tab.go(&page).await;
        let pdf = tab.pdf().await;
        let sheets = pdf.windows(11).filter(|w| *w == b"/Type /Page").count();
        assert!(
            pdf.starts_with(b"%PDF-") && pdf.len() > 5_000,
            "{page}: {} bytes",
            pdf.len()
        );
        assert!((1..=40).contains(&sheets), "{page}: {sheets} sheets");
    }
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn every_page_is_light_to_load_and_fetches_nothing_from_elsewhere() {
    let bench = Bench::open().await;
    let tab = bench.tab("/").await;
    stock(&tab).await;
    for page in pages() {
        tab.go(&page).await;
        let loaded: Vec<(String, f64)> = tab
            .ask("[...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')].map((e) => [e.name, e.decodedBodySize])")
            .await;
        // The picture of a printed page has every letter as an outline, and is seen whole.
        let (leaves, own): (Vec<_>, Vec<_>) =
            loaded.iter().partition(|(name, _)| name.contains("/page/"));
        assert!(
            leaves.iter().all(|(_, size)| *size < 500_000.0),
            "{leaves:?}"
        );
        let weight: f64 = own.iter().map(|(_, size)| size).sum();
        assert!(
            weight > 2_000.0 && weight < 150_000.0,
            "{page} weighs {weight} bytes: {loaded:?}"
        );
        let foreign: Vec<_> = loaded
            .iter()
            .filter(|(name, _)| !name.starts_with(&bench.address))
            .collect();
        assert!(foreign.is_empty(), "{foreign:?}");
    }
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_scene_follows_its_hands() {
    let bench = Bench::open().await;
    let tab = bench.tab(&format!("{DEMO}/scene/mill-street")).await;
    tab.set("pump:pumper-1", "140 psi").await;
    let asked = command(&[
        "solve",
        &demo(),
        "mill-street",
        "--pump",
        "pumper-1 = 140 psi",
    ]);
    let text: String = tab.ask("document.querySelector('#live').innerText").await;
    for tip in asked["after"]["tips"].as_array().expect("tips") {
        assert!(
            text.contains(&shown(&tip["flow"])),
            "{} in\n{text}",
            shown(&tip["flow"])
        );
    }
    assert!(text.contains("Before and after"), "{text}");
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn hose_shown_at_the_tip_goes_into_the_book() {
    let bench = Bench::open().await;
    let tab = bench.tab(&format!("{DEMO}/line/right-crosslay")).await;
    tab.follow("Show this").await;
    let flow = tab.figure("Flow").await;
    tab.follow("Put it in the book").await;
    assert!(tab.text().await.contains("250 ft of attack"));
    let pump = tab.figure("Pump pressure").await;
    let before = command(&["solve", &demo(), "right-crosslay"]);
    // As long as the book holds no pressure the aim is met anew, at more than before.
    assert_ne!(pump, shown(&before["pump_pressure"]));
    assert_ne!(tab.figure("Flow").await, flow);
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn an_open_page_tells_that_somebody_else_saved() {
    let bench = Bench::open().await;
    let waiting = bench.tab(&format!("{DEMO}/line/bumper")).await;
    let done: bool = waiting
        .ask(&format!("fetch('{DEMO}/line/bumper/edit', {{ method: 'POST', body: new URLSearchParams({{ base: 1, place: 'part 1', do: 'put', hose: 'attack', length: '120 ft' }}) }}).then((r) => r.ok)"))
        .await;
    assert!(done);
    waiting
        .until("document.getElementById('tell').textContent.includes('100 to 120 ft')")
        .await;
    waiting.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn values_on_a_drawing_show_on_hover_and_focus() {
    let bench = Bench::open().await;
    let tab = bench.tab(&format!("{DEMO}/line/left-crosslay")).await;
    tab_to(&tab, "#profile .point").await;
    let said: String = tab
        .ask("document.querySelector('.bubble:not([hidden])').textContent")
        .await;
    assert!(said.contains("psi"), "{said}");
    tab.key("Escape").await;
    tab.until("document.querySelector('.bubble').hidden").await;
    let point = tab
        .page
        .find_element("#profile .point:last-of-type")
        .await
        .expect("a point");
    point.hover().await.expect("hovered");
    tab.until("!document.querySelector('.bubble').hidden").await;
    tab.quiet();
}

/// Not a test but a measurement: cargo test --release -p handline --test browser -- --ignored --nocapture
#[tokio::test(flavor = "multi_thread")]
#[ignore = "a measurement, run by bench/live/run"]
async fn measure_live_updates_and_first_paint() {
    let bench = Bench::open().await;
    for line in ["left-crosslay", "apartment"] {
        let tab = bench.tab(&format!("{DEMO}/line/{line}")).await;
        let mut took = Vec::new();
        for step in 0..60 {
            tab.set("pump", &(100 + step).to_string()).await;
            let one: String = tab.ask("document.documentElement.dataset.took").await;
            took.push(one.parse::<f64>().expect("milliseconds"));
        }
        took.sort_by(f64::total_cmp);
        let mut paint = Vec::new();
        for _ in 0..20 {
            tab.go(&format!("{DEMO}/line/{line}")).await;
            tab.until("performance.getEntriesByName('first-contentful-paint').length")
                .await;
            paint.push(
                tab.ask::<f64>(
                    "performance.getEntriesByName('first-contentful-paint')[0].startTime",
                )
                .await,
            );
        }
        paint.sort_by(f64::total_cmp);
        println!(
            "{line}: moved hand to new page {:.0} ms (median of 60, worst {:.0}); first paint {:.0} ms (median of 20, worst {:.0})",
            took[30], took[59], paint[10], paint[19]
        );
    }
}
