//! The questions for programs: the answers are those of the command, the
//! description is true of every one of them, and nothing that is asked wrong goes
//! without words.
#![allow(clippy::unwrap_used, clippy::panic)]

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode};
use book::Book;
use hydraulics::units::System;
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use serde_json::{Value, json};
use std::sync::{Arc, LazyLock};
use study::ask::{Asked, ChartAsked, ExtendAsked};
use tokio::runtime::{Builder, Runtime};
use tower::ServiceExt;
use web::Workbench;

const DEMO: &[u8] = include_bytes!("../../../books/saltmarsh-bend.toml");
const BOOK: &str = "/api/books/saltmarsh-bend-fire-and-rescue";

struct Bench {
    router: Router,
    book: Book,
    _folder: tempfile::TempDir,
}

async fn bench() -> Bench {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("books.sqlite");
    let records = records::Records::open(&file).await.unwrap();
    let workbench = Workbench::new(records);
    workbench.bring(DEMO, "saltmarsh-bend.toml").await.unwrap();
    Bench {
        router: web::router(Arc::new(workbench)),
        book: book::read(DEMO, "saltmarsh-bend.toml").unwrap(),
        _folder: folder,
    }
}

/// What came back.
struct Came {
    status: StatusCode,
    kind: String,
    text: String,
}

impl Came {
    fn json(&self) -> Value {
        serde_json::from_str(&self.text).unwrap_or_else(|e| panic!("{e}: {}", self.text))
    }
}

impl Bench {
    async fn send(&self, method: &str, address: &str, body: impl Into<Body>) -> Came {
        let request = Request::builder()
            .method(method)
            .uri(address)
            .header("Host", "localhost")
            .body(body.into())
            .unwrap();
        let response = self.router.clone().oneshot(request).await.unwrap();
        let status = response.status();
        let kind = response.headers().get("content-type");
        let kind = kind.map_or("", |k| k.to_str().unwrap()).to_string();
        let bytes = to_bytes(response.into_body(), usize::MAX).await.unwrap();
        let text = String::from_utf8_lossy(&bytes).into_owned();
        Came { status, kind, text }
    }

    async fn get(&self, address: &str) -> Came {
        self.send("GET", address, "").await
    }

    /// A form of a page.
    async fn form(&self, address: &str, pairs: &str) {
        let request = Request::post(address)
            .header("Host", "localhost")
            .header("Content-Type", "application/x-www-form-urlencoded")
            .body(Body::from(pairs.to_string()))
            .unwrap();
        let response = self.router.clone().oneshot(request).await.unwrap();
        let status = response.status();
        assert!(
            status.is_success() || status.is_redirection(),
            "{address}: {status}"
        );
    }

    async fn answer(&self, address: &str) -> Value {
        let came = self.get(address).await;
        assert_eq!(came.status, StatusCode::OK, "{address}: {}", came.text);
        came.json()
    }

    /// The words of a question that is refused.
    async fn refusal(&self, address: &str) -> String {
        refused(&self.get(address).await, address).1
    }
}

fn refused(came: &Came, address: &str) -> (u16, String) {
    assert!(came.status.is_client_error(), "{address}: {}", came.status);
    assert_eq!(came.kind, "application/problem+json", "{address}");
    let told = came.json();
    assert_eq!(told["status"], came.status.as_u16());
    let detail = told["detail"].as_str().unwrap();
    (came.status.as_u16(), detail.to_string())
}

fn sign(text: &str) -> String {
    utf8_percent_encode(text, NON_ALPHANUMERIC).to_string()
}

/// The description, with every object taking only what it names.
struct Description(Value);

impl Description {
    async fn of(bench: &Bench) -> Self {
        let mut whole = bench.answer("/api/openapi.json").await;
        close(&mut whole);
        Description(whole)
    }

    /// Holds a 200 answer against its schema.
    fn hold(&self, method: &str, path: &str, answer: &Value) {
        let question = &self.0["paths"][path][method];
        let schema = &question["responses"]["200"]["content"]["application/json"]["schema"];
        self.hold_against(schema, answer, path);
    }

    fn hold_against(&self, schema: &Value, answer: &Value, what: &str) {
        assert!(schema.is_object(), "{what} has no schema");
        let mut root = schema.clone();
        root["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
        root["components"] = self.0["components"].clone();
        let validator = jsonschema::validator_for(&root).unwrap();
        let faults: Vec<String> = validator
            .iter_errors(answer)
            .map(|fault| format!("{}: {fault}", fault.instance_path()))
            .collect();
        assert!(faults.is_empty(), "{what}:\n{}", faults.join("\n"));
    }
}

fn close(schema: &mut Value) {
    match schema {
        Value::Object(map) => {
            let object = map.get("type").is_some_and(|kind| kind == "object");
            if object && map.contains_key("properties") {
                map.insert("additionalProperties".into(), json!(false));
            }
            map.values_mut().for_each(close);
        }
        Value::Array(list) => list.iter_mut().for_each(close),
        _ => {}
    }
}

const SYSTEMS: [(&str, System); 2] = [("us", System::Us), ("si", System::Si)];
const LINE: &str = "/api/books/{book}/lines/{line}";
const SCENE: &str = "/api/books/{book}/scenes/{scene}";

#[tokio::test]
async fn every_line_is_answered_as_by_study_and_described() {
    let bench = bench().await;
    let description = Description::of(&bench).await;
    for line in bench.book.line.keys() {
        for (units, system) in SYSTEMS {
            let address = format!("{BOOK}/lines/{line}?units={units}");
            let answer = bench.answer(&address).await;
            let own = study::solve(&bench.book, line, &Default::default()).unwrap();
            assert_eq!(answer, own.json(system), "{address}");
            description.hold("get", LINE, &answer);
        }
        let answer = bench.answer(&format!("{BOOK}/lines/{line}")).await;
        let changed = format!("{BOOK}/lines/{line}?off=-20%20psi");
        let changed = bench.answer(&changed).await;
        let (before, after) = (&changed["before"], &changed["after"]);
        assert_eq!(before["tips"], answer["tips"]);
        assert_ne!(before["pump_pressure"], after["pump_pressure"]);
        description.hold("get", LINE, &changed);
    }
}

#[tokio::test]
async fn every_change_of_a_line_is_read_as_the_command_reads_it() {
    let bench = bench().await;
    let description = Description::of(&bench).await;
    let plain = Asked::default;
    let one = |text: &str| vec![text.to_string()];
    let both = vec!["30 %".into(), "part 1=50 %".into()];
    let pumped = Asked {
        pump: one("120 psi"),
        off: Some("10 psi".into()),
        ..plain()
    };
    let opened = Asked {
        second: one("right-crosslay"),
        which: book::Which::PublishedHigh,
        ..plain()
    };
    #[rustfmt::skip]
    let asked = [
        ("pump=120%20psi&off=10%20psi", pumped),
        ("gate=part%202%20%3D%2040%20%25", Asked { gate: one("part 2 = 40 %"), ..plain() }),
        ("setting=low", Asked { setting: one("low"), ..plain() }),
        ("kink=30+%25&kink=part%201%3D50+%25", Asked { kink: both, ..plain() }),
        ("screen=50%25", Asked { screen: one("50%"), ..plain() }),
        ("regulator=jammed%2040%20%25", Asked { regulator: one("jammed 40 %"), ..plain() }),
        ("rise=20%20ft", Asked { rise: one("20 ft"), ..plain() }),
        ("hose=2.5%20in", Asked { hose: one("2.5 in"), ..plain() }),
        ("nozzle=15%2F16%20in%20smooth%20bore", Asked { nozzle: one("15/16 in smooth bore"), ..plain() }),
        ("second=right-crosslay&coefficient=high", opened),
    ];
    for (question, asked) in asked {
        let address = format!("{BOOK}/lines/left-crosslay?{question}");
        let answer = bench.answer(&address).await;
        let own = asked.line(&bench.book, "left-crosslay").unwrap();
        assert_eq!(answer, own.json(System::Us), "{address}");
        assert_ne!(answer["before"], answer["after"], "{address}");
        description.hold("get", LINE, &answer);
    }
}

#[tokio::test]
async fn every_chart_and_extension_is_answered_and_described() {
    let bench = bench().await;
    let description = Description::of(&bench).await;
    let mut answered = [0, 0];
    for line in bench.book.line.keys() {
        for (units, system) in SYSTEMS {
            let chart = ChartAsked::default().of(&bench.book, line, system);
            let extension = ExtendAsked {
                by: "50 ft".into(),
                ..Default::default()
            };
            let extension = extension.of(&bench.book, line);
            let owns = [
                ("chart", "", chart.map(|own| own.json(system))),
                (
                    "extend",
                    "by=50%20ft&",
                    extension.map(|own| own.json(system)),
                ),
            ];
            for (i, (what, asked, own)) in owns.into_iter().enumerate() {
                let address = format!("{BOOK}/lines/{line}/{what}?{asked}units={units}");
                match own {
                    Ok(own) => {
                        let answer = bench.answer(&address).await;
                        assert_eq!(answer, own, "{address}");
                        description.hold("get", &format!("{LINE}/{what}"), &answer);
                        answered[i] += 1;
                    }
                    Err(error) => assert_eq!(bench.refusal(&address).await, error.to_string()),
                }
            }
        }
    }
    assert!(answered[0] >= 20 && answered[1] >= 20, "{answered:?}");
}

#[tokio::test]
async fn every_scene_is_answered_as_by_study_and_described() {
    let bench = bench().await;
    let description = Description::of(&bench).await;
    for scene in bench.book.scene.keys() {
        for (units, system) in SYSTEMS {
            let address = format!("{BOOK}/scenes/{scene}?units={units}");
            let answer = bench.answer(&address).await;
            let own = study::solve_scene(&bench.book, scene, &Default::default()).unwrap();
            assert_eq!(answer, own.json(system), "{address}");
            description.hold("get", SCENE, &answer);
        }
        let address = format!("{BOOK}/scenes/{scene}?weaker=80%20%25");
        description.hold("get", SCENE, &bench.answer(&address).await);
    }
    let gate = sign("left-crosslay = 30 %");
    let pump = sign("pumper-1 = 140 psi");
    let address = format!("{BOOK}/scenes/mill-street?gate={gate}&pump={pump}");
    let asked = Asked {
        gate: vec!["left-crosslay = 30 %".into()],
        pump: vec!["pumper-1 = 140 psi".into()],
        ..Default::default()
    };
    let own = asked.scene(&bench.book, "mill-street").unwrap();
    assert_eq!(bench.answer(&address).await, own.json(System::Us));
}

#[tokio::test]
async fn books_contents_and_files_are_answered_and_described() {
    let bench = bench().await;
    let description = Description::of(&bench).await;
    let books = bench.answer("/api/books").await;
    assert_eq!(books["books"][0]["name"], bench.book.name);
    description.hold("get", "/api/books", &books);
    let contents = bench.answer(BOOK).await;
    let lines = contents["lines"].as_array().unwrap();
    let lines: Vec<&str> = lines.iter().map(|l| l["name"].as_str().unwrap()).collect();
    assert_eq!(lines, bench.book.line.keys().collect::<Vec<_>>());
    assert_eq!(contents["revision"], 1);
    description.hold("get", "/api/books/{book}", &contents);
    let file = bench.get(&format!("{BOOK}/file")).await;
    assert_eq!(file.text.as_bytes(), DEMO);
}

#[tokio::test]
async fn tests_their_readings_and_results_are_answered_and_described() {
    let bench = bench().await;
    let description = Description::of(&bench).await;
    let page = "/book/saltmarsh-bend-fire-and-rescue";
    let begin = "test=hose%2Fattack&gauge=line-gauge-1&date=2026-09-19";
    bench.form(&format!("{page}/tests/new"), begin).await;
    let all = bench.answer(&format!("{BOOK}/tests")).await;
    assert_eq!(all["tests"][0]["subject"], "attack");
    description.hold("get", "/api/books/{book}/tests", &all);
    // Without readings there is a result that says so.
    let of_result = "/api/books/{book}/tests/{test}/result";
    let none = bench.answer(&format!("{BOOK}/tests/1/result")).await;
    assert_eq!(none["found"], json!([]));
    description.hold("get", of_result, &none);
    let points = [(100, 80, 52), (150, 120, 56), (200, 170, 58)];
    for (point, (flow, inlet, outlet)) in (1..).zip(points) {
        let read = [
            ("flow", flow, "gpm", "flow-meter"),
            ("inlet pressure", inlet, "psi", "line-gauge-1"),
            ("outlet pressure", outlet, "psi", "line-gauge-2"),
            ("length", 200, "ft", ""),
        ];
        for (place, value, unit, gauge) in read {
            let form = format!(
                "token={place}{point}&point={point}&place={place}&value={value}%20{unit}&gauge={gauge}&do=enter"
            );
            let form = form.replace(' ', "%20");
            bench.form(&format!("{page}/test/1/read"), &form).await;
        }
    }
    let one = bench.answer(&format!("{BOOK}/tests/1")).await;
    assert_eq!(one["readings"].as_array().unwrap().len(), 12);
    assert_eq!(one["readings"][1]["written"], "80 psi");
    description.hold("get", "/api/books/{book}/tests/{test}", &one);
    let result = bench
        .answer(&format!("{BOOK}/tests/1/result?units=si"))
        .await;
    assert_eq!(result["found"].as_array().unwrap().len(), 1, "{result}");
    description.hold("get", of_result, &result);
    let less = bench
        .answer(&format!("{BOOK}/tests/1/result?leave=2"))
        .await;
    assert!(less["points"][1]["left_out"].is_string(), "{less}");
    let missing = bench.refusal(&format!("{BOOK}/tests/9")).await;
    assert!(missing.contains("no test number 9"), "{missing}");
}

/// The demo's own comparison, with few days drawn.
fn crosslays() -> String {
    let file = include_str!("../../../books/saltmarsh-bend-crosslays.toml");
    file.replace("draws = 10000", "draws = 300")
}

#[tokio::test]
async fn comparisons_are_answered_as_by_study_and_described() {
    let bench = bench().await;
    let description = Description::of(&bench).await;
    let text = crosslays();
    let asked = book::comparison::read_for(text.as_bytes(), "x", &bench.book).unwrap();
    let own = study::choose::choose(&bench.book, &asked, &study::choose::Quiet).unwrap();
    for (units, system) in SYSTEMS {
        let address = format!("{BOOK}/compare?units={units}");
        let came = bench.send("POST", &address, text.clone()).await;
        assert_eq!(came.status, StatusCode::OK, "{}", came.text);
        let answer = came.json();
        description.hold("post", "/api/books/{book}/compare", &answer);
        assert_eq!(
            answer["choices"][0]["results"],
            own.json(system)["choices"][0]["results"]
        );
        assert_eq!(answer["unbeaten"], own.json(system)["unbeaten"]);
        assert!(answer["choices"][0]["doubted"]["draws"].as_u64().unwrap() >= 300);
    }
    // One for each line.
    let each = text.replace("[vary]", "each_line = true\n\n[vary]");
    let came = bench.send("POST", &format!("{BOOK}/compare"), each).await;
    assert_eq!(came.status, StatusCode::OK, "{}", came.text);
    description.hold("post", "/api/books/{book}/compare", &came.json());
    // Of hose that nobody has priced.
    let unpriced = text.replace("\"two-inch\"", "\"2 in\"");
    let unpriced = unpriced.replace("\nweight = 1", "\nprice = 1");
    let came = bench
        .send("POST", &format!("{BOOK}/compare"), unpriced)
        .await;
    assert_eq!(came.status, StatusCode::OK, "{}", came.text);
    description.hold("post", "/api/books/{book}/compare", &came.json());
    assert!(came.text.contains("\"value\":null") && !came.text.contains("NaN"));
    // Kept under a name.
    let pairs = form_urlencoded::Serializer::new(String::new())
        .extend_pairs([("text", text.as_str()), ("name", "crosslays")])
        .finish();
    bench
        .form("/book/saltmarsh-bend-fire-and-rescue/comparisons", &pairs)
        .await;
    let list = bench.answer(&format!("{BOOK}/comparisons")).await;
    description.hold("get", "/api/books/{book}/comparisons", &list);
    assert_eq!(list["comparisons"][0]["comparison"], "crosslays");
    let kept = bench
        .answer(&format!("{BOOK}/comparisons/crosslays?version=1&units=si"))
        .await;
    description.hold("get", "/api/books/{book}/comparisons/{comparison}", &kept);
    assert_eq!(
        kept["choices"][0]["results"],
        own.json(System::Si)["choices"][0]["results"]
    );
}

#[tokio::test]
async fn a_comparison_that_has_no_answer_is_told_what_would_mend_it() {
    let bench = bench().await;
    let text = crosslays();
    let address = format!("{BOOK}/compare");
    for (sent, told) in [
        (
            text.replace("flow = \"120 gpm\"", "flow = \"700 gpm\""),
            "gpm",
        ),
        (text.replace("twin, high", "twine, high"), "twine"),
        ("lines = ".into(), "\"line\":1"),
        (String::new(), ""),
    ] {
        let came = bench.send("POST", &address, sent).await;
        let (status, detail) = refused(&came, &address);
        assert!((400..500).contains(&status), "{status} {detail}");
        assert!(
            came.text.to_lowercase().contains(told),
            "{told} in {}",
            came.text
        );
    }
    let (status, _) = refused(
        &bench.get(&format!("{BOOK}/comparisons/nothing")).await,
        "nothing",
    );
    assert_eq!(status, 404);
}

#[tokio::test]
async fn a_file_is_checked_and_its_problems_have_places() {
    let bench = bench().await;
    let description = Description::of(&bench).await;
    let good = bench.send("POST", "/api/check", DEMO).await.json();
    description.hold("post", "/api/check", &good);
    let bad = "[book]\nname = \"Bad\"\n[hose.a]\nsize = \"1.75 psi\"\n";
    let bad = bench.send("POST", "/api/check", bad).await.json();
    let problems = bad["problems"].as_array().unwrap();
    let of_size = problems
        .iter()
        .find(|problem| problem["line"] == 4)
        .unwrap();
    assert_eq!(of_size["column"], 8);
    assert_eq!(of_size["severity"], "error");
    description.hold("post", "/api/check", &bad);
    let large = vec![b'#'; 1_500_000];
    let large = bench.send("POST", "/api/check", large).await.json();
    assert_eq!(large["problems"][0]["severity"], "error");
    let endless = vec![b'#'; 3_000_000];
    let endless = bench.send("POST", "/api/check", endless).await;
    assert_eq!(refused(&endless, "/api/check").0, 413);
    let books = bench.answer("/api/books").await;
    assert_eq!(books["books"].as_array().unwrap().len(), 1);
}

#[tokio::test]
async fn a_wrong_question_is_told_what_would_mend_it() {
    let bench = bench().await;
    let line = format!("{BOOK}/lines/left-crosslay");
    let apartment = format!("{BOOK}/lines/apartment");
    let scene = format!("{BOOK}/scenes/mill-street");
    let cases = [
        (format!("{line}?units=metric"), 400, "us and si"),
        (format!("{line}?units=us&units=si"), 400, "once"),
        (format!("{line}?coefficient=none"), 400, "published"),
        (format!("{line}?pump=soon"), 400, "pump: "),
        (format!("{line}?pump=-5%20psi"), 400, "below zero"),
        (format!("{line}?off=much"), 400, "off: "),
        (format!("{line}?gate=150%20%25"), 400, "gate: "),
        (format!("{line}?gate="), 400, "gate: "),
        (format!("{line}?setting=hihg"), 422, "high"),
        (format!("{line}?kink=2"), 400, "kink: "),
        (format!("{line}?screen=half"), 400, "screen: "),
        (format!("{line}?regulator=stuck"), 400, "flush"),
        (format!("{line}?rise=10%20psi"), 400, "rise: "),
        (format!("{line}?hose=nothing"), 422, "nothing"),
        (format!("{line}?nozzle=nothing"), 422, "nothing"),
        (format!("{line}?second=nowhere"), 404, "nowhere"),
        (format!("{line}?gate=somewhere%3D50%25"), 400, "gate: "),
        (format!("{line}?gat=50"), 400, "gate"),
        (format!("{line}?{}", "gate=1&".repeat(2000)), 400, "8000"),
        (format!("{apartment}?gate=50%25"), 400, "say which"),
        (format!("{apartment}?weaker=50%25"), 400, "weaker"),
        (format!("{line}/chart?lengths=soon"), 400, "lengths: "),
        (format!("{line}/chart?lengths=0%20ft"), 400, "no hose"),
        (format!("{line}/chart?rises=,"), 400, "rises: "),
        (format!("{line}/extend"), 400, "by"),
        (format!("{line}/extend?by=-5%20ft"), 400, "by: "),
        (format!("{line}/extend?by=50%20ft&hose=none"), 422, "none"),
        (format!("{line}/extend?by=50%20ft&at=nowhere"), 400, "at: "),
        (
            format!("{line}/extend?by=50%20ft&at=part%209"),
            422,
            "part 9",
        ),
        (format!("{scene}?pump=140%20psi"), 400, "say whose"),
        (
            format!("{scene}?pump=pumper-9%3D140%20psi"),
            422,
            "pumper-9",
        ),
        (format!("{scene}?gate=nowhere%3D50%25"), 400, "there are"),
        (format!("{scene}?weaker=0%25"), 400, "at least 1 %"),
        (format!("{scene}?kink=50%25"), 400, "weaker"),
        (format!("{BOOK}/lines/left-croslay"), 404, "left-crosslay"),
        (
            format!("{BOOK}/lines/mill-street"),
            404,
            "/scenes/mill-street",
        ),
        (format!("{BOOK}/scenes/mill-stret"), 404, "mill-street"),
        (format!("{BOOK}/lines/%FF"), 400, "UTF-8"),
        (format!("{BOOK}?units=us"), 400, "takes nothing"),
        (
            format!("{BOOK}/sheets/poster/left-crosslay"),
            404,
            "line-card",
        ),
        (
            format!("{BOOK}/sheets/line-card/left"),
            404,
            "left-crosslay",
        ),
        (
            format!("{BOOK}/sheets/line-card/bumper?size=a9"),
            400,
            "pocket",
        ),
        (
            format!("{BOOK}/sheets/line-card/bumper?units=x"),
            400,
            "both",
        ),
        (
            format!("{BOOK}/sheets/line-card/bumper?date=soon"),
            400,
            "soon",
        ),
        ("/api/codes/C3D".into(), 400, "type all of it"),
        ("/api/codes/O".into(), 400, "is in no code"),
        ("/api/books/nobody".into(), 404, "nobody"),
        ("/api/books/..%2F..%2Fetc%2Fpasswd".into(), 404, "passwd"),
        ("/api/nothing".into(), 404, "/api lists"),
        ("/api/books/a/b/c/d/e".into(), 404, "/api lists"),
    ];
    let description = Description::of(&bench).await;
    let refusal = json!({ "$ref": "#/components/schemas/Refusal" });
    let mut wrong = Vec::new();
    for (address, status, word) in cases {
        let came = bench.get(&address).await;
        if came.status == StatusCode::OK {
            wrong.push(format!("{address}: answered"));
            continue;
        }
        let (got, detail) = refused(&came, &address);
        if got != status || !detail.contains(word) {
            let short: String = address.chars().take(120).collect();
            wrong.push(format!("{short}: {status} {word}, but {got} {detail}"));
        }
        description.hold_against(&refusal, &came.json(), &address);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let posted = bench.send("POST", BOOK, "").await;
    assert_eq!(refused(&posted, BOOK).0, 405);
    let page = bench.get("/nothing").await;
    assert_eq!(page.status, StatusCode::NOT_FOUND);
    assert!(page.kind.starts_with("text/html"), "{}", page.kind);
}

#[tokio::test]
async fn the_page_lists_every_question_and_its_examples_are_answered() {
    let bench = bench().await;
    let page = bench.get("/api").await;
    assert_eq!(page.status, StatusCode::OK);
    let whole = bench.answer("/api/openapi.json").await;
    for path in whole["paths"].as_object().unwrap().keys() {
        assert!(page.text.contains(path.as_str()), "{path} is not listed");
    }
    let mut examples = 0;
    for link in page.text.split("href=\"/api/books").skip(1) {
        let rest = link.split('"').next().unwrap().replace("&amp;", "&");
        let came = bench.get(&format!("/api/books{rest}")).await;
        assert_eq!(came.status, StatusCode::OK, "{rest}: {}", came.text);
        examples += 1;
    }
    assert_eq!(examples, 12);
}

#[tokio::test]
async fn sheets_are_listed_made_and_looked_up_by_their_code() {
    let bench = bench().await;
    let description = Description::of(&bench).await;
    let sheets = bench.answer(&format!("{BOOK}/sheets")).await;
    description.hold("get", "/api/books/{book}/sheets", &sheets);
    let all: usize = paper::Kind::ALL
        .into_iter()
        .map(|kind| kind.subjects(&bench.book).len())
        .sum();
    assert_eq!(sheets["sheets"].as_array().unwrap().len(), all);
    let empty = bench.answer(&format!("{BOOK}/issued")).await;
    assert_eq!(empty["issued"], json!([]));
    let slug = BOOK.trim_start_matches("/api/books/");
    let card = paper::line_card(&bench.book, "left-crosslay", paper::Units::Us).unwrap();
    let code = paper::Code::of(&card, Some(1));
    let unknown = bench.refusal(&format!("/api/codes/{code}")).await;
    assert!(unknown.contains("no register here"), "{unknown}");
    bench
        .form(
            &format!("/book/{slug}/paper/line-card/left-crosslay"),
            "units=us",
        )
        .await;
    bench
        .form(
            &format!("/book/{slug}/paper/pump-chart/pumper-3"),
            "units=us",
        )
        .await;
    let changed = String::from_utf8_lossy(DEMO).replace("coefficient = 14.2", "coefficient = 15.2");
    let changed = book::read(changed.as_bytes(), "changed").unwrap();
    let hose = "measured=15.2&measured_date=2026-05-11&uncertainty=0.6&measured_source=own+flow+test+%28invented%29\
        &size=1.75+in&coefficient=15.5&coupling=1.5+in+NH&service_pressure=270+psi&base=1";
    bench
        .form(&format!("/book/{slug}/equipment/hose/attack/edit"), hose)
        .await;
    let issued = bench.answer(&format!("{BOOK}/issued")).await;
    description.hold("get", "/api/books/{book}/issued", &issued);
    let [chart, card] = issued["issued"].as_array().unwrap().as_slice() else {
        panic!("two were issued: {issued}");
    };
    assert_eq!(chart["standing"], "current", "{chart}");
    assert_eq!(card["standing"], "superseded");
    assert_eq!(card["to_reprint"], true);
    let pump = |book: &Book| {
        let answer = study::solve(book, "left-crosslay", &Default::default()).unwrap();
        study::figure::pressure(answer.pump_pressure).show(System::Us)
    };
    let expected =
        json!({ "name": "pump pressure", "said": pump(&bench.book), "now": pump(&changed) });
    let differences = card["differences"].as_array().unwrap();
    assert!(
        differences.contains(&expected),
        "{expected} is not in {card}"
    );
    let code = card["code"].as_str().unwrap().to_lowercase();
    let found = bench.answer(&format!("/api/codes/{code}")).await;
    description.hold("get", "/api/codes/{code}", &found);
    assert_eq!(found["issued"][0], *card);
    let withdraw = format!("/book/{slug}/issued/{}/withdraw", card["number"]);
    bench.form(&withdraw, "why=torn+down").await;
    let found = bench.answer(&format!("/api/codes/{code}")).await;
    description.hold("get", "/api/codes/{code}", &found);
    assert_eq!(found["issued"][0]["standing"], "withdrawn");
    assert_eq!(found["issued"][0]["withdrawn"]["why"], "torn down");
}

#[tokio::test]
async fn a_sheet_of_a_day_is_the_same_file_every_time() {
    let bench = bench().await;
    let address =
        format!("{BOOK}/sheets/line-card/apartment?size=pocket&units=both&date=2026-05-11");
    let came = bench.get(&address).await;
    assert_eq!(
        (came.status, came.kind.as_str()),
        (StatusCode::OK, "application/pdf")
    );
    let sheet = paper::line_card(&bench.book, "apartment", paper::Units::Both).unwrap();
    let paper = paper::Paper {
        size: paper::Size::Pocket,
        date: "2026-05-11".into(),
        address: None,
        revision: Some(1),
    };
    let pdf = paper::press(&sheet, &paper).unwrap().pdf;
    assert!(came.text == String::from_utf8_lossy(&pdf));
}

#[tokio::test]
async fn law_same_question_same_bytes() {
    let (one, other) = (bench().await, bench().await);
    for address in ["/api/openapi.json", BOOK, &format!("{BOOK}/scenes/spill")] {
        assert_eq!(one.get(address).await.text, other.get(address).await.text);
    }
}

/// One bench for many questions.
static SHARED: LazyLock<(Runtime, Bench)> = LazyLock::new(|| {
    let runtime = Builder::new_multi_thread().enable_all().build().unwrap();
    let bench = runtime.block_on(bench());
    (runtime, bench)
});

/// Names that can be asked, and others; values that are near to right, and any.
fn pair() -> impl Strategy<Value = (String, String)> {
    let names = "(units|coefficient|pump|off|gate|setting|kink|screen|regulator|rise|hose)\
                 |(nozzle|second|weaker|lengths|rises|by|at)|[a-z]{0,3}";
    let near = "(part [0-9]{1,2}(, branch [0-9])?( = |=))?-?[0-9.e]{1,8} ?(psi|%|ft|m|bar|in)?";
    let words = "(left-crosslay|pumper-1|apartment)(: part 2)? = [0-9]{1,3} ?(%|psi)\
                 |low|flush|jammed [0-9]{1,3} %";
    (names, prop_oneof![near, words, "\\PC{0,12}"])
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, rng_seed: RngSeed::Fixed(20_261_126), ..ProptestConfig::default() })]
    #[test]
    fn any_question_gets_an_answer_or_words(
        path in prop_oneof![
            Just("lines/left-crosslay"), Just("lines/apartment"), Just("lines/foam"),
            Just("lines/left-crosslay/chart"), Just("lines/apartment/extend"),
            Just("scenes/mill-street"), Just("scenes/county-road"),
        ],
        pairs in prop::collection::vec(pair(), 0..3),
        raw in prop_oneof![8 => "", 1 => "[!$-;=?-\\[\\]_a-z~]{0,20}"],
    ) {
        let asked = pairs.iter().map(|(name, value)| format!("{}={}", sign(name), sign(value)));
        let question = asked.chain([raw]).collect::<Vec<_>>().join("&");
        let address = format!("{BOOK}/{path}?{question}");
        let (runtime, bench) = &*SHARED;
        let came = runtime.block_on(bench.get(&address));
        match came.status {
            StatusCode::OK => prop_assert!(came.json().is_object()),
            _ => {
                let (_, detail) = refused(&came, &address);
                prop_assert!(detail.len() > 10, "{address}: {detail}");
            }
        }
    }
}
