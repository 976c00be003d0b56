//! A test day in a real browser: steps with wet gloves, a page that closes, a server that
//! is killed, two testers at one sheet, and the shipped day from its file to the book.

use crate::bench::{Bench, DEMO, Tab};
use serde_json::Value;

/// A sheet for the friction of the attack hose, begun from its plan; it is test 1.
async fn begun(bench: &Bench) -> Tab {
    let plan = "/tests/new?test=hose%2Fattack&gauge=line-gauge-1&gauge=line-gauge-2&gauge=flow-meter&within=5&date=2026-09-19";
    let tab = bench.tab(&format!("{DEMO}{plan}")).await;
    tab.follow("Begin the sheet").await;
    tab.go(&format!("{DEMO}/test/1?point=2")).await;
    tab
}

const CARD: &str = "document.querySelector('#read-inlet-pressure')";

async fn value(tab: &Tab) -> String {
    tab.ask(&format!("{CARD}.querySelector('[name=value]').value"))
        .await
}

/// Presses a step of the inlet pressure: 0 and 3 are the large ones.
async fn step(tab: &Tab, at: usize) {
    tab.page.bring_to_front().await.expect("the tab in front");
    tab.page
        .evaluate(format!("{CARD}.querySelectorAll('.by')[{at}].click()"))
        .await
        .expect("a step");
}

async fn enter(tab: &Tab) {
    tab.page
        .evaluate(format!("{CARD}.querySelector('button.enter').click()"))
        .await
        .expect("entered");
}

async fn state_has(tab: &Tab, words: &str) {
    tab.until(&format!(
        "{CARD}.querySelector('.read-state').innerText.includes({words:?})"
    ))
    .await;
}

#[tokio::test(flavor = "multi_thread")]
async fn readings_are_taken_with_steps_and_outlive_a_closed_page() {
    let bench = Bench::open().await;
    let tab = begun(&bench).await;
    let first: f64 = value(&tab).await.parse().expect("a number");
    step(&tab, 2).await;
    step(&tab, 3).await;
    let stepped: f64 = value(&tab).await.parse().expect("a number");
    let small: f64 = tab
        .ask(&format!(
            "Number({CARD}.querySelectorAll('.by')[2].dataset.by)"
        ))
        .await;
    assert!(stepped > first + small, "{first} to {stepped}");
    let sizes: Vec<f64> = tab
        .ask("[...document.querySelectorAll('.by')].filter((b) => b.offsetParent).flatMap((b) => { const r = b.getBoundingClientRect(); return [r.width, r.height]; })")
        .await;
    assert!(
        !sizes.is_empty() && sizes.iter().all(|s| *s >= 63.5),
        "{sizes:?}"
    );
    // Not entered, and the page closes: it stands there again.
    tab.go("/cautions").await;
    tab.go(&format!("{DEMO}/test/1?point=2")).await;
    assert_eq!(value(&tab).await.parse::<f64>().ok(), Some(stepped));
    state_has(&tab, "is not entered yet").await;
    enter(&tab).await;
    state_has(&tab, "Correct it").await;
    // The next point begins with it.
    tab.go(&format!("{DEMO}/test/1?point=3")).await;
    assert_eq!(value(&tab).await.parse::<f64>().ok(), Some(stepped));
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_server_killed_in_mid_form_loses_no_reading() {
    let mut bench = Bench::open().await;
    let tab = begun(&bench).await;
    bench.stop();
    step(&tab, 2).await;
    enter(&tab).await;
    tab.until("document.getElementById('saved').innerText.includes('Not saved yet')")
        .await;
    state_has(&tab, "not saved yet").await;
    bench.again();
    tab.until("document.getElementById('saved').innerText.includes('Handline has every reading')")
        .await;
    state_has(&tab, "Correct it").await;
    let taken: String = tab.ask("document.getElementById('taken').innerText").await;
    assert!(taken.contains("psi"), "{taken}");
}

#[tokio::test(flavor = "multi_thread")]
async fn two_testers_at_one_sheet_see_each_other_and_overwrite_nothing() {
    let bench = Bench::open().await;
    let one = begun(&bench).await;
    let other = bench.tab(&format!("{DEMO}/test/1?point=2")).await;
    other.page.bring_to_front().await.expect("in front");
    step(&other, 3).await;
    let theirs = value(&other).await;
    // The first enters; the second sends without having seen it.
    step(&one, 2).await;
    enter(&one).await;
    state_has(&one, "Correct it").await;
    let sent: Value = other
        .ask(&format!("fetch('{DEMO}/test/1/read', {{ method: 'POST', headers: {{ Accept: 'application/json' }}, body: new URLSearchParams({{ token: 'x', point: 2, place: 'inlet pressure', units: 'us', value: {theirs:?}, do: 'enter' }}) }}).then((r) => r.json())"))
        .await;
    let words = sent["detail"].as_str().expect("words");
    assert!(words.contains("nothing was overwritten"), "{words}");
    // Soon the second sees what the first entered, and keeps the own value.
    other.page.bring_to_front().await.expect("in front");
    state_has(&other, "Correct it").await;
    assert_eq!(value(&other).await, theirs);
    enter(&other).await;
    other
        .until(
            "document.getElementById('struck').innerText.includes('Corrected and struck out: 1')",
        )
        .await;
}

#[tokio::test(flavor = "multi_thread")]
async fn the_shipped_day_leads_from_its_file_to_changed_charts_and_names_the_bad_gauge() {
    let bench = Bench::open().await;
    let tab = bench.tab(&format!("{DEMO}/tests/bring")).await;
    let file = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../books/saltmarsh-bend-test-day.csv"
    );
    let text = std::fs::read_to_string(file).expect("the shipped readings");
    let put = format!(
        "(() => {{ const all = new DataTransfer(); all.items.add(new File([{}], 'day.csv')); document.getElementById('file').files = all.files; return true; }})()",
        Value::from(text)
    );
    assert!(tab.ask::<bool>(&put).await);
    tab.follow("Read it").await;
    tab.follow("Enter ").await;
    let text = tab.text().await;
    assert!(text.contains("does not agree with the others"), "{text}");
    tab.go(&format!("{DEMO}/test/1/result")).await;
    tab.follow("Close the sheet").await;
    let before = tab.text().await;
    assert!(
        before.contains("What the uncertainty is made of"),
        "{before}"
    );
    tab.go(&format!("{DEMO}/test/1/accept?go_on=yes")).await;
    let text = tab.text().await;
    assert!(text.contains("Lines that change"), "{text}");
    tab.follow("Save as revision 2").await;
    let text = tab.text().await;
    assert!(text.contains("In the book since revision 2"), "{text}");
}
