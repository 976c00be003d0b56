//! Paper on pages: what can be printed, what was issued, and whether it still holds.
#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use axum::body::Body;
use axum::http::{Request, StatusCode};
use book::{Book, Part};
use common::{Answer, DEMO, DEMO_SLUG, House};
use hydraulics::units::System;
use paper::{Code, Kind, Paper, Size, Units};
use std::collections::BTreeSet;

/// Letters of a name that stand as they are in an address.
const WRITTEN: percent_encoding::AsciiSet = percent_encoding::NON_ALPHANUMERIC
    .remove(b'-')
    .remove(b'.')
    .remove(b'_')
    .remove(b'~');

fn at(path: &str) -> String {
    format!("/book/{DEMO_SLUG}{path}")
}

fn demo() -> Book {
    book::read(DEMO.as_bytes(), "demo").unwrap()
}

/// The demo with its attack hose measured anew.
fn measured() -> String {
    DEMO.replace("coefficient = 14.2", "coefficient = 15.2")
}

async fn save(house: &House, base: &str, text: &str) -> Answer {
    let fields = [("base", "", base.as_bytes()), ("text", "", text.as_bytes())];
    house.send(&at("/file"), &fields).await
}

async fn print(house: &House, address: &str, pairs: &[(&str, &str)]) -> Answer {
    let answer = house.post(&at(address), pairs).await;
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.text());
    answer
}

async fn issued(house: &House) -> Vec<records::Issue> {
    house.workbench.records.issued(DEMO_SLUG).await.unwrap()
}

#[tokio::test]
async fn every_sheet_of_the_book_is_listed_under_its_kind() {
    let house = House::with(DEMO).await;
    let book = demo();
    let page = house.get(&at("/paper?size=pocket&units=both")).await.text();
    let mut sheets = 0;
    for kind in Kind::ALL {
        for subject in kind.subjects(&book) {
            let step = percent_encoding::utf8_percent_encode(subject, &WRITTEN);
            let link = at(&format!(
                "/paper/{}/{step}?size=pocket&amp;units=both",
                kind.word()
            ));
            assert!(page.contains(&link), "{link} is missing");
            sheets += 1;
        }
    }
    assert_eq!(page.matches("name=\"sheet\"").count(), sheets);
    assert!(sheets > 15, "{sheets}");
    assert!(page.contains("value=\"pocket\" checked") && page.contains("value=\"both\" checked"));
}

#[tokio::test]
async fn a_size_or_kind_that_is_none_is_told_what_there_is() {
    let house = House::with(DEMO).await;
    for (page, status, words) in [
        (
            "/paper?size=a9",
            400,
            "a4, letter, pocket, no &quot;a9&quot;",
        ),
        (
            "/paper/line-card/left-crosslay?units=imperial",
            400,
            "us, si, both",
        ),
        ("/paper/poster/left-crosslay", 404, "line-card"),
        ("/paper/line-card/left-croslay", 404, "left-crosslay"),
        (
            "/paper/line-card/left-crosslay/page/9",
            404,
            "none is number 9",
        ),
        (
            "/paper/line-card/left-crosslay/page/0",
            404,
            "none is number 0",
        ),
        (
            "/paper/line-card/left-crosslay/page/%3Cb%3E",
            404,
            "&lt;b&gt;",
        ),
    ] {
        let answer = house.get(&at(page)).await;
        assert_eq!(answer.status.as_u16(), status, "{page}");
        assert!(answer.text().contains(words), "{page}: {}", answer.text());
    }
}

#[tokio::test]
async fn a_preview_has_a_picture_of_each_page_and_its_words() {
    let house = House::with(DEMO).await;
    let book = demo();
    for (kind, subject) in [(Kind::LineCard, "apartment"), (Kind::PumpChart, "pumper-2")] {
        let address = format!("/paper/{}/{subject}?size=pocket&units=si", kind.word());
        let page = house.get(&at(&address)).await.text();
        let sheet = kind.sheet(&book, subject, Units::Si).unwrap();
        let on = Paper {
            size: Size::Pocket,
            date: "2026-05-11".into(),
            revision: Some(1),
            ..Paper::default()
        };
        let count = paper::pages_svg(&sheet, &on).unwrap().len();
        let pictures: Vec<&str> = page.split("<img").skip(1).collect();
        assert_eq!(pictures.len(), count, "{subject}");
        for picture in pictures {
            // 105 by 139 mm at 96 pixels to the inch.
            assert!(
                picture.contains("width=\"397\" height=\"525\""),
                "{picture}"
            );
            assert!(picture.contains("alt=\"Page "), "{picture}");
            let source = picture.split("src=\"").nth(1).unwrap();
            let source = source.split('"').next().unwrap().replace("&amp;", "&");
            let svg = house.get(&source).await;
            assert_eq!(svg.status, StatusCode::OK);
            assert_eq!(svg.header("content-type"), "image/svg+xml");
            assert!(svg.text().starts_with("<svg"));
        }
        for (name, said) in &sheet.told {
            let Some(said) = said.show(System::Si) else {
                continue;
            };
            let said = maud::html! { td { (said) } }.into_string();
            assert!(page.contains(&said), "{subject}, {name}: {said} is missing");
        }
        let never: Vec<_> = issued(&house).await;
        assert!(never.is_empty(), "looking records nothing");
    }
}

#[tokio::test]
async fn a_sheet_that_is_drawn_to_scale_takes_a_full_page_and_says_so() {
    let house = House::with(DEMO).await;
    let address = "/paper/slide-chart/left-crosslay?size=pocket&units=us";
    let page = house.get(&at(address)).await.text();
    assert!(
        page.contains("drawn to scale and is not made smaller"),
        "{page}"
    );
    assert!(page.contains("value=\"letter\" checked"));
    // 8.5 by 11 in, upright and lying.
    assert!(page.contains("width=\"816\" height=\"1056\""), "{page}");
    assert!(page.contains("width=\"1056\" height=\"816\""), "{page}");
    let pairs = [("size", "pocket"), ("units", "us")];
    print(&house, "/paper/slide-chart/left-crosslay", &pairs).await;
    assert_eq!(issued(&house).await[0].size, "letter");
}

#[tokio::test]
async fn a_proof_is_a_pdf_with_a_plain_name_and_is_not_entered() {
    let house = House::with(DEMO).await;
    let answer = house
        .get(&at("/paper/line-card/left-crosslay/pdf?size=a4&units=both"))
        .await;
    assert!(answer.bytes.starts_with(b"%PDF-"));
    assert_eq!(answer.header("content-type"), "application/pdf");
    assert_eq!(
        answer.header("content-disposition"),
        "attachment; filename=\"line-card-left-crosslay.pdf\"; filename*=UTF-8''line-card-left-crosslay.pdf"
    );
    assert!(issued(&house).await.is_empty());
}

#[tokio::test]
async fn printing_enters_exactly_what_was_printed() {
    let house = House::with(DEMO).await;
    let choice = [("size", "pocket"), ("units", "both"), ("base", "1")];
    let answer = print(&house, "/paper/line-card/left-crosslay", &choice).await;
    let all = issued(&house).await;
    let [issue] = all.as_slice() else {
        panic!("{} are entered", all.len());
    };
    let sheet = paper::line_card(&demo(), "left-crosslay", Units::Both).unwrap();
    let on = Paper {
        size: Size::Pocket,
        date: issue.date.clone(),
        address: None,
        revision: Some(1),
    };
    assert!(answer.bytes == paper::press(&sheet, &on).unwrap().pdf);
    assert_eq!(issue.code, Code::of(&sheet, Some(1)).to_string());
    assert_eq!((issue.who.as_str(), issue.revision), ("René", 1));
    let page = house.get(&at("/issued")).await.text();
    for words in [
        "Line card: ",
        "René",
        "Pocket, US and SI",
        &issue.code,
        "1 current",
    ] {
        assert!(page.contains(words), "{words} is missing from {page}");
    }
    let list = house.get(&at("/paper")).await.text();
    assert_eq!(list.matches("class=\"standing current\"").count(), 1);
}

#[tokio::test]
async fn those_ticked_come_as_one_zip() {
    let house = House::with(DEMO).await;
    let choice = [("size", "letter"), ("units", "us"), ("base", "1")];
    let none = house.post(&at("/paper"), &choice).await;
    assert_eq!(none.status, StatusCode::BAD_REQUEST);
    assert!(none.text().contains("No sheet was ticked"));
    let ticked = [
        ("sheet", "line-card left-crosslay"),
        ("sheet", "line-card bumper"),
        ("all", "pump-chart"),
    ];
    let pairs: Vec<_> = choice.into_iter().chain(ticked).collect();
    let zip = print(&house, "/paper", &pairs).await;
    assert!(zip.bytes.starts_with(b"PK"));
    assert_eq!(zip.header("content-type"), "application/zip");
    assert!(zip.header("content-disposition").contains(".zip\""));
    let entered: BTreeSet<String> = issued(&house)
        .await
        .into_iter()
        .map(|issue| format!("{} {}", issue.kind, issue.subject))
        .collect();
    let charts = demo()
        .rig
        .keys()
        .map(|rig| format!("pump-chart {rig}"))
        .collect::<Vec<_>>();
    let cards = ["line-card bumper", "line-card left-crosslay"].map(String::from);
    assert_eq!(entered, charts.into_iter().chain(cards).collect());
}

#[tokio::test]
async fn what_is_printed_is_what_was_looked_at() {
    let house = House::with(DEMO).await;
    save(&house, "1", &measured()).await.to();
    let old = [("base", "1")];
    for address in ["/paper/line-card/left-crosslay", "/issued/reprint"] {
        let answer = house.post(&at(address), &old).await;
        assert_eq!(answer.status, StatusCode::CONFLICT, "{address}");
        assert!(answer.text().contains("is at revision 2, not 1"));
    }
    assert!(issued(&house).await.is_empty());
}

fn has_attack_hose(parts: &[Part]) -> bool {
    parts.iter().any(|part| match part {
        Part::Hose(part) => part.hose == "attack",
        Part::Branches(rows) | Part::Legs(rows) => rows.iter().any(|row| has_attack_hose(row)),
        Part::Nozzle(_) | Part::Appliance(_) => false,
    })
}

/// What the register finds under a standing: kind and subject.
async fn found(house: &House, standing: &str) -> BTreeSet<(String, String)> {
    let opened = book::read(newest(house).await.as_bytes(), "newest").unwrap();
    let issues = issued(house).await;
    let shown = house
        .get(&at(&format!("/issued?standing={standing}")))
        .await
        .text();
    let stands = records::standings(&issues, &opened);
    let of = issues.iter().zip(&stands);
    let of = of.filter(|(_, stands)| stands.word() == standing);
    let of: Vec<_> = of.map(|(issue, _)| issue).collect();
    assert_eq!(
        shown.matches("<li id=\"sheet-").count(),
        of.len(),
        "{standing}"
    );
    for issue in &of {
        assert!(shown.contains(&format!("id=\"sheet-{}\"", issue.id)));
    }
    of.iter()
        .map(|issue| (issue.kind.clone(), issue.subject.clone()))
        .collect()
}

async fn newest(house: &House) -> String {
    let number = house.workbench.records.newest(DEMO_SLUG).await.unwrap();
    house
        .workbench
        .records
        .revision(DEMO_SLUG, number)
        .await
        .unwrap()
        .text
}

#[tokio::test]
async fn a_change_in_one_hose_marks_exactly_its_sheets_and_they_are_reprinted_at_one_go() {
    let house = House::with(DEMO).await;
    let book = demo();
    for (kind, size, units) in [
        ("pump-chart", "letter", "us"),
        ("line-card", "pocket", "both"),
    ] {
        let pairs = [
            ("all", kind),
            ("size", size),
            ("units", units),
            ("base", "1"),
        ];
        print(&house, "/paper", &pairs).await;
    }
    let told = save(&house, "1", &measured()).await.to().to_string();
    let told = house.get(&told).await.text();
    let lines = book
        .line
        .iter()
        .filter(|(_, line)| has_attack_hose(&line.parts));
    let lines: Vec<(&String, Option<&String>)> = lines
        .map(|(name, line)| (name, line.rig.as_ref()))
        .collect();
    let cards = lines
        .iter()
        .map(|(name, _)| ("line-card".to_string(), name.to_string()));
    let charts = lines
        .iter()
        .filter_map(|(_, rig)| Some(("pump-chart".to_string(), (*rig)?.clone())));
    let expected: BTreeSet<_> = cards.chain(charts).collect();
    let all = book.line.len() + book.rig.len();
    assert!(expected.len() > 5 && expected.len() < all, "{expected:?}");
    let words = format!("{} issued sheets are now wrong", expected.len());
    assert!(told.contains(&words), "{words} is not in {told}");
    assert_eq!(found(&house, "superseded").await, expected);
    assert_eq!(found(&house, "current").await.len(), all - expected.len());
    // The page says by how much, in the sheet's units.
    let pump = |text: &str| {
        let book = book::read(text.as_bytes(), "a").unwrap();
        let answer = study::solve(&book, "left-crosslay", &Default::default()).unwrap();
        Units::Both
            .show(study::figure::pressure(answer.pump_pressure))
            .text()
    };
    let register = house.get(&at("/issued")).await.text();
    let words = format!(
        "pump pressure: says {}, now {}",
        pump(DEMO),
        pump(&measured())
    );
    assert!(register.contains(&words), "{words}");
    // The change is told once: the next one made nothing wrong.
    let after = format!("{}\n# a comment\n", measured());
    let told = save(&house, "2", &after).await.to().to_string();
    assert!(!house.get(&told).await.text().contains("now wrong"));
    let zip = print(&house, "/issued/reprint", &[("base", "3")]).await;
    assert!(zip.bytes.starts_with(b"PK"));
    let entered = issued(&house).await;
    assert_eq!(entered.len(), all + expected.len());
    let reprints = entered.iter().filter(|issue| issue.revision == 3);
    let reprints: BTreeSet<_> = reprints
        .map(|issue| {
            (
                issue.kind.as_str(),
                issue.size.as_str(),
                issue.units.as_str(),
            )
        })
        .collect();
    let kept = [
        ("line-card", "pocket", "both"),
        ("pump-chart", "letter", "us"),
    ];
    assert_eq!(reprints, BTreeSet::from(kept));
    let again = house.post(&at("/issued/reprint"), &[("base", "3")]).await;
    assert_eq!(again.status, StatusCode::BAD_REQUEST);
    let register = house.get(&at("/issued?standing=to+reprint")).await.text();
    assert!(register.contains("No issued sheet is like that"));
    // Undone, the old prints are right again, and the reprints wrong.
    let undone = house
        .post(&at("/undo"), &[("base", "3")])
        .await
        .to()
        .to_string();
    assert!(!house.get(&undone).await.text().contains("now wrong"));
    let undone = house
        .post(&at("/undo"), &[("base", "4")])
        .await
        .to()
        .to_string();
    let told = house.get(&undone).await.text();
    let words = format!("{} issued sheets are now wrong", expected.len());
    assert!(told.contains(&words), "{words} is not in {told}");
    let again = house.post(&at("/issued/reprint"), &[("base", "5")]).await;
    assert_eq!(
        again.status,
        StatusCode::BAD_REQUEST,
        "the first prints are right"
    );
}

#[tokio::test]
async fn a_sheet_whose_line_is_gone_says_so() {
    let house = House::with(DEMO).await;
    print(&house, "/paper/line-card/bumper", &[("base", "1")]).await;
    let gone = [("base", "1"), ("do", "delete")];
    let told = house
        .post(&at("/line/bumper/edit"), &gone)
        .await
        .to()
        .to_string();
    let told = house.get(&told).await.text();
    assert!(told.contains("1 issued sheet is now wrong"), "{told}");
    let register = house.get(&at("/issued")).await.text();
    assert!(
        register.contains("no longer has what it is about"),
        "{register}"
    );
    let code = issued(&house).await.remove(0).code;
    let page = house.get(&format!("/paper/{code}")).await.text();
    assert!(page.contains("Superseded") && page.contains("no longer has what it is about"));
}

#[tokio::test]
async fn a_code_says_current_superseded_or_withdrawn() {
    let house = House::with(DEMO).await;
    print(&house, "/paper/line-card/left-crosslay", &[("units", "us")]).await;
    let issue = issued(&house).await.remove(0);
    let typed = issue.code.to_lowercase().replace('-', " ");
    let sent = format!("/paper?code={}", typed.replace(' ', "+"));
    assert_eq!(
        house.get(&sent).await.to(),
        format!("/paper/{}", issue.code)
    );
    let own = format!("/paper/{}", issue.code);
    let look = || house.get(&own);
    let page = look().await.text();
    assert!(
        page.contains("<h1 class=\"verdict current\">Current</h1>"),
        "{page}"
    );
    save(&house, "1", &measured()).await.to();
    let page = look().await.text();
    assert!(page.contains("Superseded: do not use it</h1>"), "{page}");
    let solved = |text: &str| {
        let book = book::read(text.as_bytes(), "a").unwrap();
        let answer = study::solve(&book, "left-crosslay", &Default::default()).unwrap();
        study::figure::pressure(answer.pump_pressure).show(System::Us)
    };
    let row = format!(
        "Pump pressure</th><td>{}</td><td><b>{}</b>",
        solved(DEMO),
        solved(&measured())
    );
    assert!(page.contains(&row), "{row} is not in {page}");
    let address = at(&format!("/issued/{}/withdraw", issue.id));
    let why = [("why", "torn <b>down</b>")];
    let to = house.post(&address, &why).await.to().to_string();
    assert_eq!(
        to,
        at(&format!("/issued?told=withdrawn#sheet-{}", issue.id))
    );
    let page = look().await.text();
    assert!(page.contains("Withdrawn: do not use it</h1>"), "{page}");
    assert!(
        page.contains("by René: torn &lt;b&gt;down&lt;/b&gt;"),
        "{page}"
    );
    let twice = house.post(&address, &why).await;
    assert_eq!(twice.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn a_mistyped_code_and_one_in_no_register_are_told_apart() {
    let house = House::with(DEMO).await;
    let sheet = paper::line_card(&demo(), "left-crosslay", Units::Us).unwrap();
    let code = Code::of(&sheet, Some(1)).to_string();
    let unknown = house.get(&format!("/paper/{code}")).await;
    assert_eq!(unknown.status, StatusCode::NOT_FOUND);
    assert!(unknown.text().contains("Not in the register"));
    let last = if code.ends_with('4') { '3' } else { '4' };
    let wrong = format!("{}{last}", &code[..code.len() - 1]);
    for (typed, words) in [
        (wrong.as_str(), "mistyped"),
        ("C3D", "type all of it"),
        ("O0O-O0O", "is in no code"),
        ("%3Cscript%3E", "&lt;"),
    ] {
        for address in [format!("/paper/{typed}"), format!("/paper?code={typed}")] {
            let answer = house.get(&address).await;
            assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{address}");
            assert!(
                answer.text().contains(words),
                "{address}: {}",
                answer.text()
            );
        }
    }
}

#[tokio::test]
async fn a_withdrawal_needs_a_reason() {
    let house = House::with(DEMO).await;
    print(&house, "/paper/line-card/bumper", &[]).await;
    let id = issued(&house).await[0].id;
    let address = at(&format!("/issued/{id}/withdraw"));
    let long = "x".repeat(301);
    for (why, words) in [("  ", "Say why"), (long.as_str(), "301 letters")] {
        let answer = house.post(&address, &[("why", why)]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(answer.text().contains(words), "{}", answer.text());
    }
    let none = house
        .post(&at("/issued/99/withdraw"), &[("why", "gone")])
        .await;
    assert_eq!(none.status, StatusCode::NOT_FOUND);
    assert!(issued(&house).await[0].withdrawn.is_none());
}

#[tokio::test]
async fn the_address_for_the_codes_is_kept_and_never_this_computer() {
    let house = House::with(DEMO).await;
    let long = format!("https://{}.example", "a".repeat(200));
    for (typed, words) in [
        ("http://localhost:8275", "leads to this computer only"),
        ("http://127.8.0.1/x", "leads to this computer only"),
        ("https://[::1]:8275", "leads to this computer only"),
        ("https://you@localhost", "leads to this computer only"),
        ("handline.example", "write it with https://"),
        ("ftp://handline.example", "write it with https://"),
        ("https://", "write it with https://"),
        ("https://a b", "leave out spaces"),
        ("https://a.example?b", "leave out spaces"),
        ("https://é.example", "letters beyond a to z"),
        (long.as_str(), "it has 216 letters"),
    ] {
        let refused = house
            .post(&at("/paper/address"), &[("address", typed)])
            .await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{typed}");
        assert_eq!(refused.header("set-cookie"), "", "{typed}");
        let page = refused.text();
        assert!(page.contains(words), "{typed}: {page}");
        assert!(page.contains(&format!("value=\"{typed}\"")), "{page}");
    }
    let good = [("address", "https://handline.example/")];
    let kept = house.post(&at("/paper/address"), &good).await;
    assert_eq!(kept.to(), at("/paper"));
    let cookie = kept
        .header("set-cookie")
        .split(';')
        .next()
        .unwrap()
        .to_string();
    let request = Request::post(at("/paper/line-card/bumper"))
        .header("host", "localhost:8275")
        .header("cookie", cookie)
        .header("content-type", "application/x-www-form-urlencoded");
    let body = Body::from("size=a4&units=si");
    let printed = house.ask(request.body(body).unwrap()).await;
    let sheet = paper::line_card(&demo(), "bumper", Units::Si).unwrap();
    let on = Paper {
        size: Size::A4,
        date: issued(&house).await[0].date.clone(),
        address: Some("https://handline.example".into()),
        revision: Some(1),
    };
    assert!(printed.bytes == paper::press(&sheet, &on).unwrap().pdf);
}

#[tokio::test]
async fn lines_rigs_and_the_menu_lead_to_their_sheets() {
    let house = House::with(DEMO).await;
    for (page, link) in [
        ("/line/left-crosslay", "/paper/line-card/left-crosslay"),
        ("/equipment/rig/pumper-1", "/paper/pump-chart/pumper-1"),
        ("", "/paper"),
    ] {
        let text = house.get(&at(page)).await.text();
        let link = format!("href=\"{}\"", at(link));
        assert!(text.contains(&link), "{link} is not on {page}");
    }
    let hose = house.get(&at("/equipment/hose/supply")).await.text();
    assert!(!hose.contains("/paper/line-card/") && !hose.contains("/paper/pump-chart/"));
}

#[tokio::test]
async fn a_book_without_lines_or_rigs_has_nothing_to_print_and_says_so() {
    let house = House::with("[book]\nname = \"Empty\"\n").await;
    let page = house.get("/book/empty/paper").await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.text().contains("nothing to print yet"));
    let register = house.get("/book/empty/issued").await.text();
    assert!(register.contains("Nothing has been issued"));
}

#[tokio::test]
async fn a_long_register_comes_a_page_at_a_time() {
    let house = House::with(DEMO).await;
    let card = Kind::LineCard
        .sheet(&demo(), "left-crosslay", Units::Us)
        .unwrap();
    let paper = Paper {
        size: Size::Pocket,
        date: "2026-05-11".into(),
        address: None,
        revision: Some(1),
    };
    let prints: Vec<_> = (0..120)
        .map(|_| records::NewIssue::of(&card, &paper).unwrap())
        .collect();
    let records = &house.workbench.records;
    records.issue(DEMO_SLUG, &prints, 50, "Ann").await.unwrap();
    let items = |page: &str| page.matches("<li id=\"sheet-").count();
    let first = house.get(&at("/issued?kind=line-card")).await.text();
    assert_eq!(items(&first), 100);
    assert!(first.contains("120 issued sheets: 120 current"), "{first}");
    assert!(first.contains("/issued?kind=line-card&amp;page=2\""));
    let second = house.get(&at("/issued?kind=line-card&page=2")).await.text();
    assert_eq!(items(&second), 20);
    assert!(second.contains("<ol class=\"issues\" start=\"101\">"));
    // A page that there is not gives the last one.
    let past = house.get(&at("/issued?page=99")).await.text();
    assert_eq!(items(&past), 20);
}
