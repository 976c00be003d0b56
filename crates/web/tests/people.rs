//! People who are elsewhere: signing in and out, roles, links, the trail.
#![allow(clippy::unwrap_used, clippy::panic)]

mod common;
mod town;

use axum::body::Body;
use axum::http::{Request, StatusCode};
use common::{Answer, DEMO, DEMO_SLUG};
use records::{NewLink, Role};
use std::collections::{BTreeSet, VecDeque};
use std::path::Path;
use town::{NAME, PASSWORD, Town, cookie_of};
use web::access::{ACCESS, Access, Needs};

/// Who tries: their cookie, and the role that they have in the demo's department.
struct Somebody {
    called: &'static str,
    name: Option<&'static str>,
    role: Option<Role>,
    keeps_another: bool,
}

const EVERYBODY: [Somebody; 7] = [
    somebody("nobody", None, None, false),
    somebody("an expired session", None, None, false),
    somebody(
        "a keeper of another department",
        Some("Stranger"),
        None,
        true,
    ),
    somebody("a reader", Some("Reader"), Some(Role::Reader), false),
    somebody("a tester", Some("Tester"), Some(Role::Tester), false),
    somebody("an editor", Some("Editor"), Some(Role::Editor), false),
    somebody("a keeper", Some("Keeper"), Some(Role::Keeper), true),
];

const fn somebody(
    called: &'static str,
    name: Option<&'static str>,
    role: Option<Role>,
    keeps_another: bool,
) -> Somebody {
    Somebody {
        called,
        name,
        role,
        keeps_another,
    }
}

impl Somebody {
    fn may(&self, needs: Needs) -> bool {
        match needs {
            Needs::Nothing => true,
            Needs::SignedIn => self.name.is_some(),
            Needs::Role(role) => self.role.is_some_and(|own| own >= role),
            Needs::KeeperOfAny => self.keeps_another,
        }
    }
}

/// An address of the list, with the demo's names in it.
fn filled(access: &Access, code: &str) -> String {
    let of_paper = access.path.contains("/paper/") || access.path.contains("/sheets/");
    let step = |step: &str| match step {
        "{slug}" | "{book}" => DEMO_SLUG.to_string(),
        "{line}" => "left-crosslay".into(),
        "{scene}" => "mill-street".into(),
        "{kind}" if of_paper => "line-card".into(),
        "{subject}" => "left-crosslay".into(),
        "{kind}" => "hose".into(),
        "{name}" => "attack".into(),
        "{form}" => "csv".into(),
        "{code}" => code.into(),
        open if open.starts_with('{') => "1".into(),
        plain => plain.into(),
    };
    let steps: Vec<String> = access.path.split('/').map(step).collect();
    steps.join("/")
}

fn is_refused(answer: &Answer) -> bool {
    let led = answer.status == StatusCode::SEE_OTHER
        && answer.header("location").starts_with("/sign-in?back=");
    let status = [StatusCode::UNAUTHORIZED, StatusCode::FORBIDDEN];
    let unknown = answer.status == StatusCode::NOT_FOUND
        && String::from_utf8_lossy(&answer.bytes).contains("there is no book");
    led || status.contains(&answer.status) || unknown
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn every_address_is_tried_by_everybody_and_the_wrong_role_gets_nothing() {
    let town = Town::open().await;
    let code = town.printed("Keeper").await;
    let mut tried = 0;
    for access in ACCESS {
        let address = filled(access, &code);
        let method = if access.method == "ANY" {
            "GET"
        } else {
            access.method
        };
        for who in &EVERYBODY {
            let told = format!("{method} {address} by {}", who.called);
            let cookie = match (who.name, who.called) {
                (Some(name), _) => town.session(name).await,
                (None, "nobody") => String::new(),
                (None, _) => town.over("Keeper").await,
            };
            let before = town.deeds().await;
            let answer = town.send(method, &address, &cookie, "x=1").await;
            tried += 1;
            assert_ne!(answer.status, StatusCode::INTERNAL_SERVER_ERROR, "{told}");
            assert_eq!(
                is_refused(&answer),
                !who.may(access.needs),
                "{told}: {}",
                answer.status
            );
            if who.may(access.needs) {
                continue;
            }
            let text = String::from_utf8_lossy(&answer.bytes).into_owned();
            for secret in ["Saltmarsh", "Left crosslay", "gpm"] {
                assert!(!text.contains(secret), "{told} is told of {secret}: {text}");
            }
            assert_eq!(town.deeds().await, before, "{told} did something");
            if who.name.is_some() && matches!(access.needs, Needs::Role(_)) && who.role.is_none() {
                // As of a department that there is not.
                assert_eq!(answer.status, StatusCode::NOT_FOUND, "{told}");
            }
        }
    }
    assert_eq!(tried, ACCESS.len() * EVERYBODY.len());
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_not_listed_is_refused_to_everybody() {
    let town = Town::open().await;
    let keeper = town.session("Keeper").await;
    for access in ACCESS.iter().filter(|access| access.method != "ANY") {
        let address = filled(access, "1");
        for method in ["PUT", "DELETE", "PATCH", "TRACE", "CONNECT"] {
            let answer = town.send(method, &address, &keeper, "x=1").await;
            assert_eq!(answer.status, StatusCode::NOT_FOUND, "{method} {address}");
        }
    }
    for address in [
        "/nowhere",
        "/book",
        "/assets/../Cargo.toml",
        "/book/x/nowhere",
        "//book",
        "/account/",
    ] {
        for cookie in ["", &keeper] {
            let answer = town.send("GET", address, cookie, "").await;
            assert!(
                matches!(answer.status, StatusCode::NOT_FOUND | StatusCode::SEE_OTHER),
                "{address}: {}",
                answer.status
            );
        }
    }
}

/// The ways in which one address can be written all lead to the same door.
#[tokio::test(flavor = "multi_thread")]
async fn an_address_written_otherwise_lets_in_nobody_else() {
    let town = Town::open().await;
    let stranger = town.session("Stranger").await;
    for address in [
        format!("/book/{DEMO_SLUG}%2f"),
        "/book/%73altmarsh-bend-fire-and-rescue".to_string(),
        format!("/book/{DEMO_SLUG}/"),
        format!("/book//{DEMO_SLUG}"),
        format!("/BOOK/{DEMO_SLUG}"),
        format!("/book/elsewhere/../{DEMO_SLUG}"),
        format!("/book/elsewhere%2f..%2f{DEMO_SLUG}"),
        format!("/book/{DEMO_SLUG}?slug=elsewhere"),
        format!("/book/{DEMO_SLUG};elsewhere"),
        format!("http://{NAME}/book/{DEMO_SLUG}"),
    ] {
        let answer = town.send("GET", &address, &stranger, "").await;
        assert_ne!(answer.status, StatusCode::OK, "{address}");
        assert!(!answer.text().contains("Saltmarsh"), "{address}");
    }
    let reader = town.session("Reader").await;
    let written = "/book/%73altmarsh-bend-fire-and-rescue";
    let answer = town.send("GET", written, &reader, "").await;
    assert_eq!(answer.status, StatusCode::OK);
}

/// Every source of the pages.
fn sources(folder: &Path, found: &mut Vec<String>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        match path.is_dir() {
            true => sources(&path, found),
            false => found.push(std::fs::read_to_string(&path).unwrap_or_default()),
        }
    }
}

/// The text of a call's brackets.
fn call(text: &str) -> &str {
    let mut depth = 1;
    for (at, c) in text.char_indices() {
        match c {
            '(' => depth += 1,
            ')' => depth -= 1,
            _ => {}
        }
        if depth == 0 {
            return &text[..at];
        }
    }
    text
}

#[test]
fn every_route_of_the_sources_is_in_the_list_and_nothing_else_is() {
    let mut texts = Vec::new();
    sources(
        &Path::new(env!("CARGO_MANIFEST_DIR")).join("src"),
        &mut texts,
    );
    let mut routes = BTreeSet::new();
    for text in &texts {
        for rest in text.split(".route(").skip(1) {
            let inner = call(rest);
            let mut quoted = inner.split('"');
            let (path, rest) = (quoted.nth(1).unwrap(), quoted.collect::<String>());
            for (word, method) in [("get(", "GET"), ("post(", "POST"), ("any(", "ANY")] {
                if rest.contains(word) {
                    routes.insert((method, path.to_string()));
                }
            }
            for other in ["put(", "delete(", "patch(", "MethodRouter", " on("] {
                assert!(
                    !rest.contains(other),
                    "{path}: {other} is not looked for here"
                );
            }
        }
        for rest in text.split("#[utoipa::path(").skip(1) {
            let inner = call(rest);
            let method = if inner.starts_with("post") {
                "POST"
            } else {
                "GET"
            };
            let path = inner
                .split("path = \"")
                .nth(1)
                .unwrap()
                .split('"')
                .next()
                .unwrap();
            routes.insert((method, path.to_string()));
        }
        for other in ["route_service(", "nest_service(", ".nest("] {
            assert!(!text.contains(other), "{other} is not looked for here");
        }
    }
    let listed: BTreeSet<(&str, String)> = ACCESS
        .iter()
        .map(|access| (access.method, access.path.to_string()))
        .collect();
    let not_listed: Vec<_> = routes.difference(&listed).collect();
    let no_route: Vec<_> = listed.difference(&routes).collect();
    assert!(
        not_listed.is_empty(),
        "say in access.rs what these take: {not_listed:?}"
    );
    assert!(
        no_route.is_empty(),
        "in access.rs and nowhere else: {no_route:?}"
    );
    assert!(routes.len() > 80, "{}", routes.len());
}

/// What a page offers is what its reader may do: no link and no form is refused.
#[tokio::test(flavor = "multi_thread")]
async fn nobody_is_offered_what_is_refused() {
    let town = Town::open().await;
    town.printed("Keeper").await;
    for name in ["Reader", "Tester", "Editor", "Keeper"] {
        let cookie = town.session(name).await;
        let mut seen = BTreeSet::from(["/".to_string()]);
        let mut waiting = VecDeque::from(["/".to_string()]);
        let (mut pages, mut forms) = (0, BTreeSet::new());
        while let Some(address) = waiting.pop_front() {
            let answer = town.send("GET", &address, &cookie, "").await;
            assert!(!is_refused(&answer), "{name}: {address}: {}", answer.status);
            if !answer.header("content-type").starts_with("text/html") {
                continue;
            }
            pages += 1;
            let text = answer.text();
            assert_eq!(text.matches("<h1").count(), 1, "{name}: {address}");
            for tag in text.split("<form").skip(1) {
                let tag = tag.split('>').next().unwrap();
                if let Some(action) = tag
                    .split("action=\"")
                    .nth(1)
                    .filter(|_| tag.contains("\"post\""))
                {
                    forms.insert(action.split('"').next().unwrap().to_string());
                }
            }
            for link in text.split("href=\"").skip(1) {
                let link = link.split('"').next().unwrap().split('#').next().unwrap();
                let link = link.replace("&amp;", "&");
                let paged =
                    link.contains("/page/") || link.contains("/pdf") || link.contains("/tables/");
                if link.starts_with('/') && !paged && seen.len() < 120 && seen.insert(link.clone())
                {
                    waiting.push_back(link);
                }
            }
        }
        assert!(pages > 20, "{name}: {pages}");
        let changes = forms
            .iter()
            .any(|form| form.contains("/edit") || form.contains("/undo"));
        assert_eq!(
            changes,
            matches!(name, "Editor" | "Keeper"),
            "{name}: {forms:?}"
        );
        for form in forms.iter().filter(|form| *form != "/sign-out") {
            let answer = town.send("POST", form, &cookie, "x=1").await;
            assert!(!is_refused(&answer), "{name}: {form}: {}", answer.status);
        }
    }
}

async fn a_person_signs_in_and_out(town: Town) {
    let address = format!("/book/{DEMO_SLUG}/line/left-crosslay?pump=120");
    let asked = town.send("GET", &address, "", "").await;
    let sign_in = asked.to().to_string();
    assert!(sign_in.starts_with("/sign-in?back="), "{sign_in}");
    let page = town.send("GET", &sign_in, "", "").await.text();
    assert!(page.contains(&format!("value=\"{address}\"")), "{page}");
    let wrong = town.sign_in("Editor", "not the password", &address).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.header("set-cookie").is_empty());
    // An unknown name is answered in the very same words.
    let unknown = town.sign_in("Unknown", "not the password", &address).await;
    let (wrong, unknown) = (wrong.text(), unknown.text());
    assert_eq!(wrong.replace("Editor", ""), unknown.replace("Unknown", ""));
    let signed_in = town.sign_in("Editor", PASSWORD, &address).await;
    assert_eq!(signed_in.to(), address);
    let set = signed_in.header("set-cookie").to_string();
    for part in [
        "__Host-handline=",
        "; HttpOnly",
        "; Secure",
        "; SameSite=Lax",
        "; Path=/",
    ] {
        assert!(set.contains(part), "{part}: {set}");
    }
    assert!(!set.contains("Domain"), "{set}");
    let cookie = cookie_of(&signed_in);
    let page = town.send("GET", &address, &cookie, "").await;
    assert_eq!(page.status, StatusCode::OK);
    assert_eq!(page.header("cache-control"), "no-store");
    assert!(
        page.header("strict-transport-security")
            .contains("max-age=31536000")
    );
    assert!(page.text().contains("Sign out"));
    // Signing in again makes another token, and the one before is good no longer.
    let again = town.sign_in_with("Editor", PASSWORD, "/", &cookie).await;
    let next = cookie_of(&again);
    assert_ne!(cookie, next);
    assert!(is_refused(&town.send("GET", &address, &cookie, "").await));
    assert!(!is_refused(&town.send("GET", &address, &next, "").await));
    let out = town.send("POST", "/sign-out", &next, "").await;
    assert_eq!(out.to(), "/sign-in?told=out");
    assert!(out.header("set-cookie").contains("Max-Age=0"));
    assert!(is_refused(&town.send("GET", &address, &next, "").await));
    let stranger = town.session("Stranger").await;
    town.send("GET", &address, &stranger, "").await;
    let keeper = town.session("Keeper").await;
    let trail = town
        .send("GET", &format!("/book/{DEMO_SLUG}/trail"), &keeper, "")
        .await;
    let trail = trail.text();
    for told in [
        "Signed in",
        "Signed out",
        "Sign-in failed",
        "somebody at",
        "Refused",
        "GET /book/saltmarsh-bend-fire-and-rescue/line/left-crosslay",
    ] {
        assert!(trail.contains(told), "{told} is missing from {trail}");
    }
}

mod a_person_signs_in_and_out_on_both {
    #[tokio::test(flavor = "multi_thread")]
    async fn sqlite() {
        super::a_person_signs_in_and_out(super::Town::open().await).await;
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn postgres() {
        let database = super::town::postgres();
        super::a_person_signs_in_and_out(super::Town::at(&database.address).await).await;
    }
}

/// Nothing of it is kept in a process: another one on the same database, or the same after
/// a restart, knows who is signed in and who has to wait.
#[tokio::test(flavor = "multi_thread")]
async fn two_workbenches_on_one_database_know_the_same_sessions_and_tries() {
    let database = town::postgres();
    let first = Town::at(&database.address).await;
    let second = first.another(&database.address).await;
    let cookie = cookie_of(&first.sign_in("Reader", PASSWORD, "/").await);
    let page = format!("/book/{DEMO_SLUG}");
    assert_eq!(
        second.send("GET", &page, &cookie, "").await.status,
        StatusCode::OK
    );
    for town in [&first, &second, &first, &second, &first] {
        town.sign_in("Editor", "not the password", "/").await;
    }
    let held = second.sign_in("Editor", PASSWORD, "/").await;
    assert_eq!(held.status, StatusCode::TOO_MANY_REQUESTS);
    second.send("POST", "/sign-out", &cookie, "").await;
    assert!(is_refused(&first.send("GET", &page, &cookie, "").await));
}

#[tokio::test(flavor = "multi_thread")]
async fn after_five_wrong_passwords_the_next_try_waits_and_is_told_how_long() {
    let town = Town::open().await;
    for _ in 0..5 {
        let wrong = town.sign_in("Editor", "not the password", "/").await;
        assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    }
    // Even the right one.
    let held = town.sign_in("Editor", PASSWORD, "/").await;
    assert_eq!(held.status, StatusCode::TOO_MANY_REQUESTS);
    let wait: i64 = held.header("retry-after").parse().unwrap();
    assert!((1..=15).contains(&wait), "{wait}");
    assert!(
        held.text().contains("Too many tries failed. Wait"),
        "{}",
        held.text()
    );
    assert!(held.header("set-cookie").is_empty());
    // Nobody else is held up.
    assert_eq!(town.sign_in("Reader", PASSWORD, "/").await.to(), "/");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_form_has_to_say_that_it_comes_from_here() {
    let town = Town::open().await;
    let cookie = town.session("Editor").await;
    let undo = format!("/book/{DEMO_SLUG}/undo");
    let from = |origin: Option<(&'static str, &'static str)>| {
        let mut request = Request::post(&undo)
            .header("host", NAME)
            .header("cookie", &cookie)
            .header("content-type", "application/x-www-form-urlencoded");
        if let Some((name, value)) = origin {
            request = request.header(name, value);
        }
        town.ask(request.body(Body::from("base=1")).unwrap())
    };
    for refused in [
        None,
        Some(("origin", "https://elsewhere.example")),
        Some(("origin", "null")),
        Some(("sec-fetch-site", "cross-site")),
        Some(("sec-fetch-site", "same-site")),
    ] {
        assert_eq!(
            from(refused).await.status,
            StatusCode::FORBIDDEN,
            "{refused:?}"
        );
    }
    let own = [
        ("origin", "https://handline.example"),
        ("sec-fetch-site", "same-origin"),
    ];
    for own in own {
        // There is nothing to undo, but it was asked.
        assert_eq!(
            from(Some(own)).await.status,
            StatusCode::CONFLICT,
            "{own:?}"
        );
    }
    // What is only looked at changes nothing.
    let looked = town.send("GET", &undo, &cookie, "").await;
    assert_eq!(looked.status, StatusCode::OK);
    assert_eq!(town.workbench.records.newest(DEMO_SLUG).await.unwrap(), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn another_host_is_refused_and_behind_a_proxy_what_came_unencrypted() {
    let town = Town::open().await;
    for host in [
        "elsewhere.example",
        "localhost",
        "127.0.0.1",
        "handline.example.elsewhere.example",
        "",
    ] {
        let request = Request::get("/sign-in").header("host", host);
        let answer = town.ask(request.body(Body::empty()).unwrap()).await;
        assert_eq!(answer.status, StatusCode::MISDIRECTED_REQUEST, "{host}");
    }
    let town = town.behind_a_proxy();
    let asked = |proto: Option<&'static str>| {
        let mut request = Request::get("/sign-in").header("host", NAME);
        if let Some(proto) = proto {
            request = request.header("x-forwarded-proto", proto);
        }
        town.ask(request.body(Body::empty()).unwrap())
    };
    assert_eq!(asked(None).await.status, StatusCode::BAD_REQUEST);
    assert_eq!(asked(Some("http")).await.status, StatusCode::BAD_REQUEST);
    assert_eq!(asked(Some("https")).await.status, StatusCode::OK);
}

#[tokio::test(flavor = "multi_thread")]
async fn who_changes_something_is_who_is_signed_in_whatever_is_typed() {
    let town = Town::open().await;
    let cookie = town.session("Editor").await;
    let typed = format!("{cookie}; name=%43%68%69%65%66");
    let body = "base=1&place=part+1&do=put&hose=attack&length=120+ft";
    let line = format!("/book/{DEMO_SLUG}/line/bumper/edit");
    let saved = town.send("POST", &line, &typed, body).await;
    assert_eq!(saved.status, StatusCode::SEE_OTHER, "{}", saved.text());
    let entry = town
        .workbench
        .records
        .revision(DEMO_SLUG, 2)
        .await
        .unwrap()
        .entry;
    assert_eq!(entry.note.who, "Editor");
    let trail = town
        .workbench
        .records
        .trail(DEMO_SLUG, None, 1)
        .await
        .unwrap();
    assert_eq!(
        (trail[0].by.who.as_str(), trail[0].what.as_str()),
        ("Editor", "book saved")
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn who_makes_a_book_keeps_it_and_a_taken_name_tells_nothing() {
    let town = Town::open().await;
    let stranger = town.session("Stranger").await;
    let made = town
        .send("POST", "/books", &stranger, "name=Reed+Island&units=us")
        .await;
    assert!(made.to().starts_with("/book/reed-island"), "{}", made.to());
    let role = town
        .workbench
        .records
        .role("reed-island", "Stranger")
        .await
        .unwrap();
    assert_eq!(role, Some(Role::Keeper));
    let home = town.send("GET", "/", &stranger, "").await.text();
    assert!(
        home.contains("Reed Island") && !home.contains("Saltmarsh"),
        "{home}"
    );
    let books = town.send("GET", "/api/books", &stranger, "").await.text();
    assert!(
        books.contains("reed-island") && !books.contains("saltmarsh"),
        "{books}"
    );
    // The demo's own file, and one that differs: neither is let near it.
    for text in [DEMO.to_string(), DEMO.replace("left-crosslay", "left-line")] {
        for way in ["", "next"] {
            let fields = [("text", text.as_str()), ("way", way), ("base", "1")];
            let sent = town.parcel("/books/import", &stranger, &fields).await;
            assert_eq!(sent.status, StatusCode::CONFLICT, "{way}");
            let said = sent.text();
            assert!(said.contains("The name is taken"), "{said}");
            assert!(!said.contains("revision"), "{said}");
        }
    }
    assert_eq!(town.workbench.records.newest(DEMO_SLUG).await.unwrap(), 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_code_is_answered_to_who_may_read_its_department() {
    let town = Town::open().await;
    let code = town.printed("Keeper").await;
    let (page, question) = (format!("/paper/{code}"), format!("/api/codes/{code}"));
    for (name, found) in [("Reader", true), ("Stranger", false)] {
        let cookie = town.session(name).await;
        for address in [&page, &question] {
            let answer = town.send("GET", address, &cookie, "").await;
            let status = if found {
                StatusCode::OK
            } else {
                StatusCode::NOT_FOUND
            };
            assert_eq!(answer.status, status, "{name}: {address}");
            assert!(found || !answer.text().contains("Saltmarsh"), "{address}");
        }
    }
}

/// The text between `open` and the next "<".
fn after<'a>(text: &'a str, open: &str) -> &'a str {
    let (_, rest) = text
        .split_once(open)
        .unwrap_or_else(|| panic!("{open} is not in {text}"));
    rest.split('<').next().unwrap()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_readers_link_shows_one_sheet_and_nothing_else() {
    let town = Town::open().await;
    let code = town.printed("Keeper").await;
    let editor = town.session("Editor").await;
    let links = format!("/book/{DEMO_SLUG}/links");
    let issue = town.workbench.records.issued(DEMO_SLUG).await.unwrap()[0].id;
    let made = town
        .send("POST", &links, &editor, &format!("sheet={issue}&days=31"))
        .await;
    let link = after(&made.text(), "<code class=\"link\">").to_string();
    let page = link
        .strip_prefix(&format!("https://{NAME}"))
        .unwrap()
        .to_string();
    let again = town.send("GET", &links, &editor, "").await.text();
    assert!(!again.contains(&link), "it is shown once");
    let sheet = town.send("GET", &page, "", "").await;
    assert_eq!(sheet.status, StatusCode::OK);
    let text = sheet.text();
    assert!(text.contains("Current") && text.contains(&code), "{text}");
    assert!(text.contains("noindex"), "{text}");
    assert!(
        !text.contains("/book/") && !text.contains("<nav") && !text.contains("<form"),
        "{text}"
    );
    let picture = town.send("GET", &format!("{page}/page/1"), "", "").await;
    assert!(picture.text().starts_with("<svg"));
    assert_eq!(
        town.send("GET", &format!("{page}/page/9"), "", "")
            .await
            .status,
        StatusCode::NOT_FOUND
    );
    let pdf = town.send("GET", &format!("{page}/pdf"), "", "").await;
    assert!(pdf.bytes.starts_with(b"%PDF-"));
    // It says when the book has left it behind.
    let body = "base=1&place=part+1&do=put&hose=attack&length=250+ft";
    let line = format!("/book/{DEMO_SLUG}/line/left-crosslay/edit");
    town.send("POST", &line, &editor, body).await;
    let text = town.send("GET", &page, "", "").await.text();
    assert!(text.contains("Superseded: do not use it"), "{text}");
    let reader = town.session("Reader").await;
    let withdraw = format!("{links}/1/withdraw");
    assert_eq!(
        town.send("POST", &withdraw, &reader, "").await.status,
        StatusCode::FORBIDDEN
    );
    assert_eq!(
        town.send("POST", &withdraw, &editor, "").await.status,
        StatusCode::OK
    );
    for rest in ["", "/page/1", "/pdf"] {
        let gone = town.send("GET", &format!("{page}{rest}"), "", "").await;
        assert_eq!(gone.status, StatusCode::NOT_FOUND, "{rest}");
        assert!(!gone.text().contains("Saltmarsh"));
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_keeper_adds_somebody_who_sets_a_password_of_their_own() {
    let town = Town::open().await;
    let keeper = town.session("Keeper").await;
    let people = format!("/book/{DEMO_SLUG}/people");
    let added = town
        .send("POST", &people, &keeper, "name=Cy+Marsh&role=tester")
        .await
        .text();
    let link = after(&added, "<code class=\"link\">").to_string();
    let page = link
        .strip_prefix(&format!("https://{NAME}"))
        .unwrap()
        .to_string();
    assert!(
        town.send("GET", &page, "", "")
            .await
            .text()
            .contains("Cy Marsh")
    );
    let short = town.send("POST", &page, "", "password=hydrant").await;
    assert_eq!(short.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(short.text().contains("at least 12"), "{}", short.text());
    let set = town
        .send("POST", &page, "", "password=a+wet+lantern+in+the+yard")
        .await;
    assert_eq!(set.to(), "/sign-in?told=set");
    let used = town
        .send("POST", &page, "", "password=a+wet+lantern+in+the+yard")
        .await;
    assert_eq!(used.status, StatusCode::NOT_FOUND);
    let signed_in = town
        .sign_in("Cy Marsh", "a wet lantern in the yard", "/")
        .await;
    let cookie = cookie_of(&signed_in);
    let book = format!("/book/{DEMO_SLUG}");
    assert_eq!(
        town.send("GET", &book, &cookie, "").await.status,
        StatusCode::OK
    );
    // Another role counts at once, and so does none.
    let role = format!("{people}/role");
    let given = town
        .send("POST", &role, &keeper, "name=Cy+Marsh&role=keeper")
        .await;
    assert_eq!(given.status, StatusCode::OK);
    assert_eq!(
        town.send("GET", &people, &cookie, "").await.status,
        StatusCode::OK
    );
    town.send("POST", &role, &keeper, "name=Cy+Marsh&do=out")
        .await;
    assert_eq!(
        town.send("GET", &book, &cookie, "").await.status,
        StatusCode::NOT_FOUND
    );
    // The last keeper cannot go.
    let last = town
        .send("POST", &role, &keeper, "name=Keeper&do=out")
        .await;
    assert_eq!(last.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(last.text().contains("only keeper"), "{}", last.text());
    // Nor may a keeper set the password of somebody who belongs elsewhere too.
    let both = town
        .send("POST", &people, &keeper, "name=Stranger&role=reader")
        .await
        .text();
    assert!(!both.contains("new-password/"), "{both}");
    let taken = town
        .send(
            "POST",
            &format!("{people}/password"),
            &keeper,
            "name=Stranger",
        )
        .await;
    assert_eq!(taken.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(!taken.text().contains("new-password/"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_password_is_changed_by_who_knows_it_and_ends_every_other_session() {
    let town = Town::open().await;
    let (here, there) = (town.session("Editor").await, town.session("Editor").await);
    let change = |cookie: &str, current: &str, next: &str| {
        let body = format!(
            "current={}&password={}",
            current.replace(' ', "+"),
            next.replace(' ', "+")
        );
        let cookie = cookie.to_string();
        let town = &town;
        async move { town.send("POST", "/account/password", &cookie, &body).await }
    };
    let next = "three wet stairs by the pump";
    let wrong = change(&here, "not the password", next).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.text().contains("not the password that you have"));
    let short = change(&here, PASSWORD, "short").await;
    assert_eq!(short.status, StatusCode::UNPROCESSABLE_ENTITY);
    let changed = change(&here, PASSWORD, next).await;
    assert_eq!(changed.to(), "/account?told=changed");
    let fresh = cookie_of(&changed);
    assert!(is_refused(&town.send("GET", "/account", &here, "").await));
    assert!(is_refused(&town.send("GET", "/account", &there, "").await));
    assert_eq!(
        town.send("GET", "/account", &fresh, "").await.status,
        StatusCode::OK
    );
    assert_eq!(
        town.sign_in("Editor", PASSWORD, "/").await.status,
        StatusCode::UNPROCESSABLE_ENTITY
    );
    let other = cookie_of(&town.sign_in("Editor", next, "/").await);
    let list = town.send("GET", "/account", &fresh, "").await.text();
    assert!(list.contains("Sign out everywhere else"), "{list}");
    let body = format!("own={}", next.replace(' ', "+"));
    let out = town.send("POST", "/account/elsewhere", &fresh, &body).await;
    assert_eq!(out.to(), "/account?told=elsewhere");
    assert!(is_refused(&town.send("GET", "/account", &other, "").await));
    assert!(!is_refused(&town.send("GET", "/account", &fresh, "").await));
}

#[tokio::test(flavor = "multi_thread")]
async fn signing_in_leads_to_a_page_of_this_workbench_alone() {
    let town = Town::open().await;
    for back in [
        "https://elsewhere.example/",
        "//elsewhere.example",
        "/\\elsewhere.example",
        "javascript:alert(1)",
    ] {
        let answer = town.sign_in("Reader", PASSWORD, back).await;
        assert_eq!(answer.to(), "/", "{back}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_sender_who_takes_too_long_is_given_up() {
    let town = Town::open()
        .await
        .patient_for(std::time::Duration::from_millis(200));
    let slow =
        futures_util::stream::pending::<Result<axum::body::Bytes, std::convert::Infallible>>();
    let request = Request::post("/sign-in")
        .header("host", NAME)
        .header("sec-fetch-site", "same-origin")
        .header("content-type", "application/x-www-form-urlencoded");
    let answer = town
        .ask(request.body(Body::from_stream(slow)).unwrap())
        .await;
    assert_eq!(answer.status, StatusCode::REQUEST_TIMEOUT);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_link_that_is_over_shows_nothing() {
    let town = Town::open().await;
    town.printed("Keeper").await;
    let issue = town.workbench.records.issued(DEMO_SLUG).await.unwrap()[0].id;
    let over = NewLink {
        token: "over",
        ends: 1,
    };
    let by = records::By::new("Keeper", 0);
    let records = &town.workbench.records;
    records
        .make_link(DEMO_SLUG, issue, &over, &by)
        .await
        .unwrap();
    let answer = town.send("GET", "/sheet/over", "", "").await;
    assert_eq!(answer.status, StatusCode::NOT_FOUND);
}
