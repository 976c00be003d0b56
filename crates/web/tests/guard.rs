//! What comes from outside and is not meant well, or is broken.
#![allow(clippy::unwrap_used)]

mod common;

use axum::body::{Body, Bytes};
use axum::http::{Request, StatusCode};
use common::{DEMO, DEMO_SLUG, House};
use futures_util::stream;
use std::collections::{BTreeSet, VecDeque};
use std::convert::Infallible;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Markup in every name that a book can give.
const NASTY: &str = r#"
[book]
name = "<script>alert('book')</script>"
[rig."<script>alert('rig')</script>"]
pump = "1250 gpm"
note = "<script>alert('note')</script>"
[hose."<script>alert('hose')</script>"]
size = "1.75 in"
coefficient = 15.5
source = "<script>alert('source')</script>"
[nozzle."<script>alert('nozzle')</script>"]
kind = "smooth-bore"
bore = "15/16 in"
[line."<script>alert('line')</script>"]
title = "<script>alert('title')</script>"
rig = "<script>alert('rig')</script>"
parts = [
  { hose = "<script>alert('hose')</script>", length = "200 ft" },
  { nozzle = "<script>alert('nozzle')</script>" },
]
"#;

/// Every page that is reached from `start` by links, with its answer's text.
async fn walk(house: &House, start: &str) -> Vec<(String, String)> {
    let mut seen = BTreeSet::from([start.to_string()]);
    let mut waiting = VecDeque::from([start.to_string()]);
    let mut pages = Vec::new();
    while let Some(address) = waiting.pop_front() {
        let answer = house.get(&address).await;
        assert_eq!(answer.status, StatusCode::OK, "{address}");
        if !answer.header("content-type").starts_with("text/html") {
            continue;
        }
        let text = answer.text();
        for link in text
            .split("href=\"")
            .skip(1)
            .filter_map(|t| t.split('"').next())
        {
            let link = link.split('#').next().unwrap().replace("&amp;", "&");
            if link.starts_with('/') && seen.len() < 400 && seen.insert(link.clone()) {
                waiting.push_back(link);
            }
        }
        pages.push((address, text));
    }
    pages
}

#[tokio::test]
async fn every_page_of_the_demo_answers_and_has_one_heading() {
    let house = House::with(DEMO).await;
    let pages = walk(&house, "/").await;
    assert!(pages.len() > 30, "{}", pages.len());
    for (address, text) in &pages {
        assert_eq!(text.matches("<h1").count(), 1, "{address}");
        let levels: Vec<u8> = text
            .split("<h")
            .skip(1)
            .filter_map(|t| t.bytes().next())
            .filter(u8::is_ascii_digit)
            .collect();
        for pair in levels.windows(2) {
            assert!(
                pair[1] <= pair[0] + 1,
                "{address}: a heading is skipped: {levels:?}"
            );
        }
        for id in text
            .split(" id=\"")
            .skip(1)
            .filter_map(|t| t.split('"').next())
        {
            let said = format!(" id=\"{id}\"");
            assert_eq!(text.matches(&said).count(), 1, "{address}: {id} twice");
        }
    }
}

#[tokio::test]
async fn markup_in_names_is_shown_as_text_on_every_page() {
    let house = House::with(NASTY).await;
    let mut told = 0;
    for (address, text) in walk(&house, "/").await {
        assert!(!text.contains("<script>alert"), "{address}: {text}");
        told += text.matches("&lt;script&gt;alert").count();
    }
    assert!(told > 10, "the names are shown {told} times");
}

#[tokio::test]
async fn an_upload_of_50_mb_is_refused_in_words_and_not_kept() {
    let house = House::empty().await;
    let sent = Arc::new(AtomicUsize::new(0));
    let count = sent.clone();
    // Without its length the size shows only as it comes in.
    let pieces = stream::iter((0..50).map(move |_| {
        count.fetch_add(1_000_000, Ordering::Relaxed);
        Ok::<_, Infallible>(Bytes::from(vec![b'a'; 1_000_000]))
    }));
    let body = "multipart/form-data; boundary=edge";
    let head = "--edge\r\nContent-Disposition: form-data; name=\"file\"; filename=\"a\"\r\n\r\n";
    let whole = stream::iter([Ok(Bytes::from(head))]);
    let whole = futures_util::StreamExt::chain(whole, pieces);
    let request = Request::post("/books/import")
        .header("host", "127.0.0.1")
        .header("content-type", body);
    let answer = house
        .ask(request.body(Body::from_stream(whole)).unwrap())
        .await;
    assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert!(
        answer.text().contains("too large to be a book"),
        "{}",
        answer.text()
    );
    let taken = sent.load(Ordering::Relaxed);
    assert!(taken <= 4_000_000, "{taken} bytes were taken in");
}

#[tokio::test]
async fn a_form_that_says_it_is_too_large_is_refused_whole() {
    let house = House::empty().await;
    for address in ["/books", "/books/import", "/settings"] {
        let request = Request::post(address)
            .header("host", "127.0.0.1")
            .header("content-type", "application/x-www-form-urlencoded")
            .header("content-length", "50000000");
        let answer = house
            .ask(request.body(Body::from(vec![b'a'; 50_000_000])).unwrap())
            .await;
        assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE, "{address}");
        assert!(
            answer.text().contains("too large to be a book"),
            "{address}"
        );
    }
}

#[tokio::test]
async fn what_is_no_form_is_refused_in_words() {
    let house = House::with(DEMO).await;
    let at = |path: &str| format!("/book/{DEMO_SLUG}{path}");
    let posts = [
        "/books".into(),
        "/books/import".into(),
        at("/file"),
        at("/undo"),
        at("/redo"),
        at("/back"),
    ];
    let bodies: [(&str, &[u8]); 5] = [
        ("application/json", b"{\"name\": "),
        (
            "application/x-www-form-urlencoded",
            b"name=%ff%00%zz&base=x&&&=;",
        ),
        ("multipart/form-data; boundary=edge", b"--edge\r\nnothing"),
        ("multipart/form-data", b""),
        ("text/plain", b"\0\xff\xfe"),
    ];
    for address in &posts {
        for (kind, body) in bodies {
            let request = Request::post(address)
                .header("host", "[::1]:80")
                .header("content-type", kind);
            let answer = house.ask(request.body(Body::from(body)).unwrap()).await;
            assert!(
                answer.status.is_client_error(),
                "{address} {kind}: {}",
                answer.status
            );
            assert!(
                answer.text().contains("<h1>"),
                "{address} {kind}: {}",
                answer.text()
            );
        }
    }
    assert_eq!(house.workbench.records.newest(DEMO_SLUG).await.unwrap(), 1);
}

#[tokio::test]
async fn tricks_with_paths_reach_nothing() {
    let house = House::with(DEMO).await;
    for path in [
        "/book/..%2f..%2fetc%2fpasswd",
        "/book/..%2f..%2fetc/file/download",
        "/book/%00",
        "/book/%2e%2e",
        "/book/%ff",
        "/book/saltmarsh-bend-fire-and-rescue%00",
        "/book/saltmarsh-bend-fire-and-rescue/file/download?revision=..%2f1",
        "/book/'%20OR%201=1--",
        "/assets/../Cargo.toml",
        "/assets/%2e%2e%2fCargo.toml",
        "/assets/..%5c..%5cCargo.toml",
        "/assets/handline.css%00",
        "//etc/passwd",
    ] {
        let answer = house.get(path).await;
        assert!(answer.status.is_client_error(), "{path}: {}", answer.status);
        assert!(!answer.text().contains("[workspace"), "{path}");
        assert!(!answer.text().contains("root:"), "{path}");
    }
}

#[tokio::test]
async fn a_form_of_another_site_is_refused() {
    let house = House::with(DEMO).await;
    let undo = format!("/book/{DEMO_SLUG}/undo");
    let from = |name: &'static str, value: &'static str| {
        Request::post(&undo)
            .header("host", "localhost:8275")
            .header(name, value)
            .header("content-type", "application/x-www-form-urlencoded")
            .body(Body::from("base=1"))
            .unwrap()
    };
    for (name, value) in [
        ("origin", "http://elsewhere.example"),
        ("origin", "http://localhost:1"),
        ("origin", "null"),
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-site", "same-site"),
    ] {
        let answer = house.ask(from(name, value)).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{name}: {value}");
    }
    let own = house.ask(from("origin", "http://localhost:8275")).await;
    assert_eq!(
        own.status,
        StatusCode::CONFLICT,
        "there is nothing to undo, but it was asked"
    );
}

#[tokio::test]
async fn another_host_is_refused() {
    let house = House::with(DEMO).await;
    for host in [
        "elsewhere.example",
        "localhost.elsewhere.example",
        "127.0.0.1.elsewhere.example:8275",
        "",
    ] {
        let request = Request::get("/").header("host", host);
        let answer = house.ask(request.body(Body::empty()).unwrap()).await;
        assert_eq!(answer.status, StatusCode::MISDIRECTED_REQUEST, "{host}");
        assert!(!answer.text().contains("Saltmarsh"), "{host}");
    }
    let none = Request::get("/").body(Body::empty()).unwrap();
    assert_eq!(
        house.ask(none).await.status,
        StatusCode::MISDIRECTED_REQUEST
    );
}

#[tokio::test]
async fn a_browser_is_told_to_load_and_frame_nothing_else() {
    let house = House::with(DEMO).await;
    for path in ["/", "/nowhere", "/cautions", "/assets/handline.css"] {
        let answer = house.get(path).await;
        let policy = answer.header("content-security-policy").to_string();
        for rule in [
            "default-src 'self'",
            "frame-ancestors 'none'",
            "form-action 'self'",
            "object-src 'none'",
        ] {
            assert!(policy.contains(rule), "{path}: {policy}");
        }
        assert!(
            !policy.contains("script-src"),
            "{path}: scripts fall back to 'self'"
        );
        assert_eq!(answer.header("x-content-type-options"), "nosniff", "{path}");
        assert_eq!(answer.header("x-frame-options"), "DENY", "{path}");
        assert_eq!(answer.header("referrer-policy"), "same-origin", "{path}");
    }
}
