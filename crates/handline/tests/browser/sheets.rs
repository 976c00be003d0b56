//! Paper in a real browser: looked at, printed, made wrong by a change, withdrawn.

use crate::bench::{Bench, DEMO, command, demo_file, shown};
use serde_json::Value;

const CARD: &str = "/paper/line-card/left-crosslay?size=pocket&units=us";

#[tokio::test(flavor = "multi_thread")]
async fn a_card_is_printed_made_wrong_by_a_hose_told_by_its_code_and_withdrawn() {
    let bench = Bench::open().await;
    let kept = bench.folder.path().join("downloads");
    bench.downloads_to(&kept).await;
    let tab = bench.tab(&format!("{DEMO}{CARD}")).await;
    // The pictures are there, as large as paper.
    tab.until("[...document.querySelectorAll('img.leaf')].every((i) => { i.loading = 'eager'; return i.complete && i.naturalWidth > 0; })").await;
    let pages: usize = tab
        .ask("document.querySelectorAll('img.leaf').length")
        .await;
    assert!(pages >= 1);
    let width: f64 = tab
        .ask("document.querySelector('img.leaf').getBoundingClientRect().width")
        .await;
    assert!(
        (396.0..402.0).contains(&width),
        "105 mm are 397 px, not {width}"
    );
    tab.press("Print and enter in the register").await;
    tab.until("fetch('/api/books/saltmarsh-bend-fire-and-rescue/issued').then((r) => r.json()).then((r) => { window.issued = r.issued; }) && window.issued?.length === 1")
        .await;
    let code: String = tab.ask("window.issued[0].code").await;
    let pdf = bench.downloaded(&kept, "line-card-left-crosslay.pdf").await;
    assert!(pdf.starts_with(b"%PDF-"));
    tab.go(&format!("/paper/{code}")).await;
    assert_eq!(
        tab.ask::<String>("document.querySelector('h1').innerText")
            .await,
        "Current"
    );
    tab.go(&format!("{DEMO}/equipment/hose/attack/edit")).await;
    tab.fill("measured", "16").await;
    tab.follow("Save").await;
    let text = tab.text().await;
    assert!(text.contains("1 issued sheet is now wrong"), "{text}");
    let file: String = tab
        .ask(&format!(
            "fetch('{DEMO}/file/download').then((r) => r.text())"
        ))
        .await;
    let changed = bench.folder.path().join("changed.toml");
    std::fs::write(&changed, file).expect("written");
    let pump = |book: &std::path::Path| -> String {
        let answer: Value = command(&["solve", &book.display().to_string(), "left-crosslay"]);
        shown(&answer["pump_pressure"])
    };
    let (was, now) = (pump(&demo_file()), pump(&changed));
    assert_ne!(was, now);
    let words = format!("pump pressure: says {was}, now {now}");
    tab.follow("See them and reprint").await;
    let text = tab.text().await;
    assert!(
        text.contains("Superseded") && text.contains(&words),
        "{words} in\n{text}"
    );
    // On a telephone, as a scanned code opens it.
    tab.width(390).await;
    tab.go(&format!("/paper/{code}")).await;
    let text = tab.text().await;
    assert!(text.contains("Superseded: do not use it"), "{text}");
    let row: Vec<String> = tab
        .ask("[...document.querySelectorAll('tbody tr')].map((r) => [...r.cells].map((c) => c.innerText.trim())).find((r) => r[0] === 'Pump pressure')")
        .await;
    assert_eq!(row, ["Pump pressure", &was, &now]);
    let wide: f64 = tab.ask("document.documentElement.scrollWidth").await;
    assert!(wide <= 390.0, "{wide}");
    tab.width(1280).await;
    tab.go(&format!("{DEMO}/issued")).await;
    tab.press("Take it back").await;
    tab.fill("why", "torn down").await;
    tab.follow("Withdraw").await;
    tab.go("/paper").await;
    tab.fill("code", &code.to_lowercase().replace('-', ""))
        .await;
    tab.follow("Look it up").await;
    let text = tab.text().await;
    assert!(
        text.contains("Withdrawn: do not use it") && text.contains("torn down"),
        "{text}"
    );
    tab.quiet();
}
