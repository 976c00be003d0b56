//! Comparisons asked, weighed, followed and cancelled on their pages, beside what the
//! command line answers.

use crate::bench::{Bench, DEMO, Tab, command, demo_file, shown};
use serde_json::Value;

/// The demo's question, as it lies beside the book.
const CROSSLAYS: &str = include_str!("../../../../books/saltmarsh-bend-crosslays.toml");

/// `text` as a value of an address.
fn sign(text: &str) -> String {
    let mut out = String::new();
    for byte in text.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' => out.push(byte as char),
            _ => out.push_str(&format!("%{byte:02X}")),
        }
    }
    out
}

/// The demo's question with so many days drawn.
fn drawn(days: u64) -> String {
    let lines = CROSSLAYS
        .lines()
        .map(|line| match line.starts_with("draws = ") {
            true => format!("draws = {days}\n"),
            false => format!("{line}\n"),
        });
    lines.collect()
}

/// The page of a comparison by its text.
pub fn page_of(text: &str) -> String {
    format!("{DEMO}/comparison?text={}", sign(text))
}

/// A small question for the tests that look at every page.
pub fn small() -> String {
    let text = "[comparison]\ntitle = \"Left and right crosslay\"\nlines = [\"left-crosslay\", \"right-crosslay\"]\n\n\
        [vary]\nhose = [\"attack\", \"two-inch\"]\nnozzle = [\"twin, high\", \"twin, low\", \"fifteen-sixteenths\"]\n\
        pump_pressure = { from = \"100 psi\", to = \"175 psi\", step = \"25 psi\" }\n\n\
        [cases]\nlow_pump_pressure = \"100 psi\"\n\n[limits]\npeople = 3\npump_pressure = \"175 psi\"\n\n\
        [aims]\nflow = 3\nreaction = 2\nreach = 1\n\n[doubt]\ndraws = 500\npump_gauge = \"5 psi\"\n";
    format!("{}&start=yes", page_of(text))
}

async fn until_answered(tab: &Tab) {
    tab.until("document.querySelector('#answer')").await;
}

async fn code(tab: &Tab) -> String {
    tab.ask("document.querySelector('#answer-title').textContent.split(' ').pop()")
        .await
}

/// The choice of the command's answer that the page puts forward.
fn put_forward(answer: &Value) -> &Value {
    let choices = answer["choices"].as_array().expect("choices");
    let robust = answer["robust"].as_str();
    let robust = robust.and_then(|code| choices.iter().find(|one| one["code"] == code));
    robust.or(choices.first()).expect("a choice")
}

#[tokio::test(flavor = "multi_thread")]
async fn the_demos_question_is_asked_by_form_and_agrees_with_the_command() {
    let bench = Bench::open().await;
    let tab = bench.tab(&format!("{DEMO}/comparisons")).await;
    tab.follow("New comparison").await;
    tab.fill("title", "Nozzle and hose for the crosslays").await;
    for (name, values) in [
        (
            "line",
            &["left-crosslay", "right-crosslay", "rear-crosslay"][..],
        ),
        ("hose", &["attack", "two-inch"]),
        (
            "nozzle",
            &[
                "twin, high",
                "twin, low",
                "fifteen-sixteenths",
                "seven-eighths",
            ],
        ),
    ] {
        for value in values {
            let tick = format!(
                "(() => {{ const b = [...document.getElementsByName('{name}')].find((b) => b.value === '{value}'); b?.click(); return Boolean(b?.checked); }})()"
            );
            assert!(tab.ask::<bool>(&tick).await, "{name} {value}");
        }
    }
    for (name, value) in [
        ("pump-from", "100 psi"),
        ("pump-to", "200 psi"),
        ("pump-step", "5 psi"),
        ("low-pump", "100 psi"),
        ("people", "3"),
        ("ceiling", "175 psi"),
        ("weight-flow_at_low_pump", "2"),
        ("draws", "0"),
    ] {
        tab.fill(name, value).await;
    }
    tab.follow("Compare").await;
    if tab.text().await.contains("Before it starts") {
        tab.press("Start").await;
    }
    until_answered(&tab).await;
    // The file of the very comparison, asked on the command line.
    let text: String = tab
        .ask("fetch([...document.querySelectorAll('a')].find((a) => a.textContent.startsWith('The comparison')).href).then((r) => r.text())")
        .await;
    let file = bench.folder.path().join("crosslays.toml");
    std::fs::write(&file, text).expect("written");
    let demo = demo_file().display().to_string();
    let answer = command(&["compare", &demo, &file.display().to_string()]);
    let winner = put_forward(&answer);
    assert_eq!(code(&tab).await, winner["code"].as_str().expect("a code"));
    assert_eq!(
        tab.figure("Pump pressure").await,
        shown(&winner["pump_pressure"])
    );
    let first = &winner["results"][0];
    assert_eq!(tab.figure("Flow").await, shown(&first["flow"]));
    assert_eq!(
        tab.figure("Nozzle pressure").await,
        shown(&first["tip_pressure"])
    );
    assert_eq!(tab.figure("Reaction").await, shown(&first["reaction"]));
    // And the line's own page, by the link beside it, says what `solve` says.
    let on = &winner["on"][0];
    let line = on["line"].as_str().expect("a line");
    let nozzle = on["nozzle"].as_str().expect("a nozzle");
    tab.follow("The same on the page of").await;
    assert_eq!(tab.figure("Flow").await, shown(&first["flow"]));
    let pump = shown(&on["pump_pressure"]);
    let hose = on["hose"].as_str().expect("a hose");
    let mut asked = vec![
        "solve", &demo, line, "--pump", &pump, "--hose", hose, "--nozzle", nozzle,
    ];
    if let Some(setting) = on["setting"].as_str() {
        asked.extend(["--setting", setting]);
    }
    let solved = command(&asked);
    let solved = solved.get("after").unwrap_or(&solved);
    assert_eq!(shown(&solved["tips"][0]["flow"]), shown(&first["flow"]));
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn weights_and_axes_move_the_page_at_once() {
    let bench = Bench::open().await;
    let tab = bench.tab(&small()).await;
    until_answered(&tab).await;
    tab.set("weight-flow", "0").await;
    tab.set("weight-reaction", "10").await;
    let gentle = code(&tab).await;
    tab.set("weight-reaction", "0").await;
    tab.set("weight-flow", "10").await;
    assert_ne!(code(&tab).await, gentle);
    tab.set("x", "reach").await;
    let drawn: String = tab
        .ask("document.querySelector('#trade-off h3').textContent")
        .await;
    assert!(drawn.ends_with("against effective reach"), "{drawn}");
    // What the address says is what somebody else sees who opens it.
    let address: String = tab.ask("location.pathname + location.search").await;
    let there = code(&tab).await;
    let other = bench.tab(&address).await;
    until_answered(&other).await;
    assert_eq!(code(&other).await, there);
    let kept: String = other
        .ask("document.getElementsByName('weight-flow')[0].value")
        .await;
    assert_eq!(kept, "10");
    tab.quiet();
    other.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_long_one_is_followed_and_cancelled() {
    let bench = Bench::open().await;
    let tab = bench.tab(&page_of(&drawn(9_000_000))).await;
    assert!(tab.text().await.contains("Before it starts"));
    tab.press("Start").await;
    tab.until("/\\d of [\\d,]+ /.test(document.querySelector('[data-progress]').textContent)")
        .await;
    tab.press("Cancel").await;
    tab.until("document.getElementById('tell').textContent.includes('Cancelled')")
        .await;
    // The start button is there again; a small one is worked out at once, so that the
    // cancelled one is truly over.
    tab.until("document.querySelector('#run form button').offsetParent")
        .await;
    tab.go(&small()).await;
    until_answered(&tab).await;
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_long_one_ends_with_its_answer_on_the_same_page() {
    let bench = Bench::open().await;
    let tab = bench.tab(&page_of(&drawn(20_000))).await;
    if tab.text().await.contains("Before it starts") {
        let began = tab
            .ask::<bool>("document.querySelector('#run form button').focus() || true")
            .await;
        assert!(began);
        // By the keyboard alone.
        tab.key("Enter").await;
        for _ in 0..8 {
            if tab
                .ask::<bool>("Boolean(document.querySelector('#answer'))")
                .await
            {
                break;
            }
            tokio::time::sleep(std::time::Duration::from_secs(5)).await;
        }
    }
    until_answered(&tab).await;
    let there = code(&tab).await;
    tab.set("weight-flow", "9").await;
    assert!(!there.is_empty());
    let headings: u32 = tab.ask("document.querySelectorAll('h1').length").await;
    assert_eq!(headings, 1);
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn one_is_kept_and_shared_by_its_address() {
    let bench = Bench::open().await;
    let tab = bench.tab(&small()).await;
    until_answered(&tab).await;
    tab.fill("name", "Both crosslays").await;
    tab.follow("Keep it").await;
    assert!(tab.text().await.contains("Its address can be shared"));
    let other = bench.tab(&format!("{DEMO}/comparisons")).await;
    other.follow("Left and right crosslay").await;
    if other.text().await.contains("Before it starts") {
        other.press("Start").await;
    }
    until_answered(&other).await;
    assert_eq!(code(&other).await, code(&tab).await);
    other.quiet();
    tab.quiet();
}
