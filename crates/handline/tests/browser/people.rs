//! People who sign in, in a real browser over real TLS.

use crate::bench::{Bench, DEMO, Tab, demo_file};
use chromiumoxide::cdp::browser_protocol::network::{CookieSameSite, GetCookiesParams};
use records::{By, Records, Role};
use std::path::{Path, PathBuf};
use web::Workbench;

const PASSWORD: &str = "a lantern under the third stair";
const SLUG: &str = "saltmarsh-bend-fire-and-rescue";

/// The demo, with a reader and a keeper.
async fn filled(data: PathBuf) {
    let records = Records::open(&data.join("records.sqlite")).await;
    let workbench = Workbench::new(records.expect("records"));
    let demo = std::fs::read(demo_file()).expect("the demo");
    let brought = workbench.bring(&demo, "demo.toml").await;
    brought.expect("the demo is brought in");
    let hash = web::password::hash(PASSWORD).expect("a hash");
    let by = By::new("", 1_790_000_000);
    let records = &workbench.records;
    for (name, role) in [("Ann Rivers", Role::Reader), ("Bo Marsh", Role::Keeper)] {
        let set = records.set_person(name, Some(&hash), &by).await;
        set.expect("a person");
        let given = records.set_role(SLUG, name, Some(role), &by).await;
        given.expect("a role");
    }
    records.close().await;
}

async fn sign_in(tab: &Tab, name: &str, password: &str) {
    tab.fill("name", name).await;
    tab.fill("password", password).await;
    // Not the way to this page, which is in the head too.
    tab.page
        .evaluate("window.stale = true")
        .await
        .expect("marked");
    tab.page
        .evaluate("document.querySelector('main form button.first').click()")
        .await
        .expect("pressed");
    tab.until("!window.stale && document.readyState === 'complete'")
        .await;
}

#[tokio::test(flavor = "multi_thread")]
async fn somebody_signs_in_reads_and_signs_out() {
    let bench = Bench::for_people(filled).await;
    assert!(
        bench.address.starts_with("https://localhost:"),
        "{}",
        bench.address
    );
    let line = format!("{DEMO}/line/left-crosslay");
    let tab = bench.tab(&line).await;
    assert!(tab.text().await.contains("Sign in"));
    sign_in(&tab, "Ann Rivers", "not the password").await;
    let text = tab.text().await;
    assert!(text.contains("do not go together"), "{text}");
    sign_in(&tab, "Ann Rivers", PASSWORD).await;
    // Where she wanted to go.
    let here: String = tab.ask("location.pathname").await;
    assert_eq!(here, line);
    let flow = tab.figure("Flow").await;
    assert!(flow.contains("gpm"), "{flow}");
    let seen: String = tab.ask("document.cookie").await;
    assert!(!seen.contains("handline"), "a script sees {seen}");
    kept_safely(&tab).await;
    // Hands move; nothing to change the book is there, and none is taken.
    tab.set("pump", "110").await;
    let text = tab.text().await;
    assert!(text.contains("You read this book"), "{text}");
    let forms: usize = tab
        .ask("document.querySelectorAll('form[action$=\"/edit\"]').length")
        .await;
    assert_eq!(forms, 0);
    let status: u16 = tab
        .ask(&format!("fetch('{line}/edit', {{ method: 'POST', body: new URLSearchParams({{ base: 1 }}) }}).then((r) => r.status)"))
        .await;
    assert_eq!(status, 403);
    tab.follow("Sign out").await;
    assert!(tab.text().await.contains("You are signed out"));
    tab.go(&line).await;
    let here: String = tab.ask("location.pathname").await;
    assert_eq!(here, "/sign-in");
    tab.quiet();
}

async fn kept_safely(tab: &Tab) {
    let kept = tab.page.execute(GetCookiesParams::default()).await;
    let kept = kept.expect("the browser's cookies");
    let own = kept.cookies.iter();
    let own = own.clone().find(|cookie| cookie.name == "__Host-handline");
    let own = own.expect("the session's cookie");
    assert!(own.secure && own.http_only && own.session);
    assert_eq!(own.same_site, Some(CookieSameSite::Lax));
    assert_eq!((own.path.as_str(), own.domain.as_str()), ("/", "localhost"));
}

#[tokio::test(flavor = "multi_thread")]
async fn who_tries_too_often_is_told_to_wait() {
    let bench = Bench::for_people(filled).await;
    let tab = bench.tab("/").await;
    for _ in 0..5 {
        sign_in(&tab, "Bo Marsh", "not the password").await;
    }
    sign_in(&tab, "Bo Marsh", PASSWORD).await;
    let text = tab.text().await;
    assert!(text.contains("Too many tries failed. Wait"), "{text}");
    tab.quiet();
}

#[tokio::test(flavor = "multi_thread")]
async fn the_pages_of_people_are_accessible_and_fit_a_phone() {
    let axe = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/browser/node_modules/axe-core/axe.min.js");
    let axe =
        std::fs::read_to_string(&axe).expect("axe; run `npm ci` in crates/handline/tests/browser");
    let bench = Bench::for_people(filled).await;
    let tab = bench.tab("/").await;
    let mut faults = Vec::new();
    look(&tab, &axe, "/sign-in", &mut faults).await;
    sign_in(&tab, "Bo Marsh", PASSWORD).await;
    tab.go(&format!(
        "{DEMO}/paper/line-card/left-crosslay?size=pocket&units=us"
    ))
    .await;
    let entered: bool = tab
        .ask("fetch(document.querySelector('form.actions').action, { method: 'POST', body: new URLSearchParams({ size: 'pocket', units: 'us', base: '1' }) }).then((r) => r.ok)")
        .await;
    assert!(entered);
    for page in ["", "/people", "/trail", "/links", "/history"] {
        look(&tab, &axe, &format!("{DEMO}{page}"), &mut faults).await;
    }
    look(&tab, &axe, "/", &mut faults).await;
    look(&tab, &axe, "/account", &mut faults).await;
    tab.go(&format!("{DEMO}/people")).await;
    tab.fill("name", "Cy Reed").await;
    // Also on a page that came of a form.
    let added: Vec<String> = {
        tab.page
            .evaluate("[...document.forms].find((f) => f.action.endsWith('/people')).querySelector('[name=name]').value = 'Cy Reed'")
            .await
            .expect("filled");
        tab.follow("Add").await;
        tab.ask("[...document.querySelectorAll('code.link')].map((c) => c.textContent)")
            .await
    };
    let welcome = added
        .first()
        .and_then(|link| link.strip_prefix(&bench.address));
    look(&tab, &axe, welcome.expect("a link"), &mut faults).await;
    tab.go(&format!("{DEMO}/links")).await;
    tab.follow("Make a link").await;
    let made: Vec<String> = tab
        .ask("[...document.querySelectorAll('code.link')].map((c) => c.textContent)")
        .await;
    let sheet = made
        .first()
        .and_then(|link| link.strip_prefix(&bench.address));
    look(&tab, &axe, sheet.expect("a link"), &mut faults).await;
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    tab.quiet();
}

/// Looks at a page in both lights and on a phone; keeps pictures where PAPER_PAGES says.
async fn look(tab: &Tab, axe: &str, page: &str, faults: &mut Vec<String>) {
    for (light, width) in [("light", 1280), ("night", 390)] {
        tab.width(width).await;
        tab.go(page).await;
        tab.page
            .evaluate(format!(
                "document.documentElement.dataset.theme = {light:?}"
            ))
            .await
            .expect("the light");
        tab.page.evaluate(axe).await.expect("axe is there");
        let found: Vec<String> = tab
            .ask("axe.run({ runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }).then((r) => r.violations.map((v) => v.id + ' ' + v.help + ' ' + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 200)).join(' | ')))")
            .await;
        faults.extend(
            found
                .into_iter()
                .map(|fault| format!("{light} {page}: {fault}")),
        );
        let wide: f64 = tab.ask("document.documentElement.scrollWidth").await;
        if wide > f64::from(width) {
            faults.push(format!("{page} is {wide} px wide on {width}"));
        }
        let low: Vec<String> = tab
            .ask("[...document.querySelectorAll('button, .button, input:not([type=hidden]):not([type=radio]):not([type=checkbox]), select, summary, nav a')].filter((e) => e.offsetParent && e.getBoundingClientRect().height < 43.5).map((e) => e.outerHTML.slice(0, 100))")
            .await;
        faults.extend(
            low.into_iter()
                .map(|what| format!("{page}: lower than 44 px: {what}")),
        );
        if let Some(folder) = std::env::var_os("PAPER_PAGES") {
            let name = page.trim_start_matches(DEMO).replace('/', "_");
            let name: String = name.chars().take(24).collect();
            let path = PathBuf::from(folder).join(format!("people{name}-{width}.png"));
            let params = chromiumoxide::page::ScreenshotParams::builder()
                .full_page(true)
                .build();
            let _ = tab.page.save_screenshot(params, path).await;
        }
    }
}
