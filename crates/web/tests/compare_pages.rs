//! Pages of comparisons, without a server: asked by form and by file, shown, kept.
#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

mod common;

use axum::http::StatusCode;
use common::{Answer, DEMO, DEMO_SLUG, House};
use form_urlencoded::{Serializer, parse};

const CROSSLAYS: &str = include_str!("../../../books/saltmarsh-bend-crosslays.toml");

/// A small question: one line, two nozzles, two pressures.
const SMALL: &str = "[comparison]\ntitle = \"Left crosslay\"\nlines = [\"left-crosslay\"]\n\n\
    [vary]\nnozzle = [\"twin, high\", \"twin, low\", \"fifteen-sixteenths\"]\n\
    pump_pressure = { from = \"100 psi\", to = \"150 psi\", step = \"25 psi\" }\n\n\
    [cases]\nlow_pump_pressure = \"100 psi\"\n\n[limits]\npeople = 3\n\n\
    [aims]\nflow = 3\nreaction = 2\n\n[doubt]\ndraws = 0\n";

fn book(rest: &str) -> String {
    format!("/book/{DEMO_SLUG}{rest}")
}

fn asked(rest: &str, pairs: &[(&str, &str)]) -> String {
    let question = Serializer::new(String::new()).extend_pairs(pairs).finish();
    book(&format!("{rest}?{question}"))
}

/// The page without its tags, spaces as one.
fn words(answer: &Answer) -> String {
    let page = answer.text();
    let mut words = String::new();
    let mut inside = false;
    for c in page.chars() {
        match c {
            '<' => {
                inside = true;
                words.push(' ');
            }
            '>' => inside = false,
            c if !inside => words.push(c),
            _ => {}
        }
    }
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What the answer's heading names.
fn put_forward(page: &str) -> &str {
    let (_, after) = page.split_once("The answer: choice ").unwrap();
    after.split(|c: char| !c.is_alphanumeric()).next().unwrap()
}

async fn of(house: &House, text: &str, more: &[(&str, &str)]) -> Answer {
    let pairs: Vec<(&str, &str)> = std::iter::once(("text", text))
        .chain(more.iter().copied())
        .collect();
    house.get(&asked("/comparison", &pairs)).await
}

#[tokio::test]
async fn a_form_asks_what_its_file_says() {
    let house = House::with(DEMO).await;
    let form = house
        .get(&asked("/comparisons/new", &[("text", SMALL)]))
        .await;
    assert_eq!(form.status, StatusCode::OK, "{}", form.text());
    let page = form.text();
    for ticked in [
        "value=\"left-crosslay\" checked",
        "value=\"twin, low\" checked",
        "value=\"100 psi\"",
    ] {
        assert!(page.contains(ticked), "{ticked} in {page}");
    }
    assert!(!page.contains("value=\"right-crosslay\" checked"));
    // The same fields sent back lead to the same comparison.
    let pairs = [
        ("do", "compare"),
        ("title", "Left crosslay"),
        ("line", "left-crosslay"),
        ("nozzle", "twin, high"),
        ("nozzle", "twin, low"),
        ("nozzle", "fifteen-sixteenths"),
        ("pump-from", "100 psi"),
        ("pump-to", "150 psi"),
        ("pump-step", "25 psi"),
        ("low-pump", "100 psi"),
        ("people", "3"),
        ("weight-flow", "3"),
        ("weight-reaction", "2"),
        ("draws", "0"),
    ];
    let sent = house.get(&asked("/comparisons/new", &pairs)).await;
    let to = sent.to().to_string();
    let (_, question) = to.split_once('?').unwrap();
    let text = parse(question.as_bytes())
        .find(|(key, _)| key == "text")
        .unwrap()
        .1;
    let demo = book::read(DEMO.as_bytes(), "demo").unwrap();
    let read = |text: &str| book::comparison::read_for(text.as_bytes(), "x", &demo).unwrap();
    let (mut own, asked) = (read(SMALL), read(&text));
    // With all its settings ticked a nozzle is named once.
    own.vary.nozzle = asked.vary.nozzle.clone();
    assert_eq!(asked.vary.nozzle.len(), 2, "{text}");
    assert_eq!(own, asked, "{text}");
    let answer = house.get(&to).await;
    assert_eq!(answer.status, StatusCode::OK, "{}", words(&answer));
}

#[tokio::test]
async fn every_field_of_a_comparison_survives_the_form() {
    let demo = book::read(DEMO.as_bytes(), "demo").unwrap();
    let read = |text: &str| book::comparison::read_for(text.as_bytes(), "x", &demo).unwrap();
    let house = House::with(DEMO).await;
    let form = house
        .get(&asked("/comparisons/new", &[("text", CROSSLAYS)]))
        .await
        .text();
    // What a browser would send: every field of the form as it stands.
    let mut pairs: Vec<(String, String)> = Vec::new();
    for tag in form.split('<').filter(|tag| tag.starts_with("input")) {
        let of = |name: &str| {
            let (_, rest) = tag.split_once(&format!(" {name}=\""))?;
            let value = rest.split('"').next()?;
            Some(value.replace("&quot;", "\"").replace("&amp;", "&"))
        };
        let ticked = of("type").as_deref() != Some("checkbox") || tag.contains(" checked");
        if let (Some(name), true) = (of("name"), ticked) {
            pairs.push((name, of("value").unwrap_or_default()));
        }
    }
    let people = form.contains("value=\"3\" selected");
    assert!(people, "the crew is a list");
    pairs.push(("people".into(), "3".into()));
    let pairs: Vec<(&str, &str)> = pairs
        .iter()
        .map(|(k, v)| (k.as_str(), v.as_str()))
        .collect();
    let sent = house.get(&asked("/comparisons/new", &pairs)).await;
    let to = sent.to().to_string();
    let (_, question) = to.split_once('?').unwrap();
    let text = parse(question.as_bytes())
        .find(|(key, _)| key == "text")
        .unwrap()
        .1;
    let (mut own, asked) = (read(CROSSLAYS), read(&text));
    // A form has the aims in its own order, and weights as plain numbers.
    let aims = |of: &book::comparison::Comparison| {
        let aims = of.aims.iter();
        let mut aims: Vec<_> = aims
            .map(|(aim, wanted)| (*aim, wanted.weight.get().value, wanted.near.clone()))
            .collect();
        aims.sort_by_key(|(aim, ..)| *aim);
        aims
    };
    assert_eq!(aims(&own), aims(&asked));
    own.aims = asked.aims.clone();
    own.vary.nozzle = asked.vary.nozzle.clone();
    assert_eq!(own, asked, "{text}");
}

#[tokio::test]
async fn a_form_that_cannot_be_read_says_so_beside_its_fields() {
    let house = House::with(DEMO).await;
    let pairs = [
        ("do", "compare"),
        ("ceiling", "175 gpm"),
        ("pump-from", "100 psi"),
        ("weight-flow", "300"),
        ("gate-from", "50 %"),
        ("note", "<b>kept</b>"),
    ];
    let sent = house.get(&asked("/comparisons/new", &pairs)).await;
    assert_eq!(sent.status, StatusCode::UNPROCESSABLE_ENTITY);
    let page = sent.text();
    for told in [
        "tick at least one line",
        "measures flow",
        "need a from, a to and a step",
        "300 is not between 0 and 100",
        "fill in both, or leave both empty",
        "&lt;b&gt;kept&lt;/b&gt;",
        "value=\"175 gpm\"",
    ] {
        assert!(page.contains(told), "{told} in {page}");
    }
    assert!(page.contains("id=\"f-ceiling\" name=\"ceiling\" value=\"175 gpm\" autocomplete=\"off\" aria-invalid=\"true\" aria-describedby=\"f-ceiling-w\""));
}

#[tokio::test]
async fn a_file_with_faults_is_shown_with_line_and_column() {
    let house = House::with(DEMO).await;
    let misspelt = of(&house, &SMALL.replace("people = 3", "peeple = 3"), &[]).await;
    assert_eq!(misspelt.status, StatusCode::UNPROCESSABLE_ENTITY);
    let page = words(&misspelt);
    assert!(
        page.contains("Line 13, column 1") && page.contains("people"),
        "{page}"
    );
    let broken = SMALL.replace("twin, low", "twine, low");
    let answer = of(&house, &broken, &[]).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    let page = words(&answer);
    assert!(
        page.contains("Line 6, column") && page.contains("twine"),
        "{page}"
    );
    assert_eq!(answer.status, misspelt.status);
    assert!(
        answer.text().contains("<textarea"),
        "the text is there to be mended"
    );
}

#[tokio::test]
async fn the_answer_says_what_solve_says() {
    let house = House::with(DEMO).await;
    let answer = of(&house, SMALL, &[]).await;
    assert_eq!(answer.status, StatusCode::OK, "{}", words(&answer));
    let demo = book::read(DEMO.as_bytes(), "demo").unwrap();
    let comparison = book::comparison::read_for(SMALL.as_bytes(), "x", &demo).unwrap();
    let chosen = study::choose::choose(&demo, &comparison, &study::choose::Quiet).unwrap();
    let winner = &chosen.choices[0];
    let page = words(&answer);
    assert_eq!(put_forward(&page), winner.code);
    let conditions = study::choose::conditions_of(&demo, &winner.on[0]).unwrap();
    let conditions = book::Conditions {
        pump_pressure: Some(winner.on[0].pump_pressure),
        ..conditions
    };
    let solved = study::solve(&demo, "left-crosslay", &conditions).unwrap();
    use hydraulics::units::{Kind, System, show};
    for said in [
        format!("Flow {}", show(Kind::Flow, solved.flow, System::Us)),
        format!(
            "Nozzle pressure {}",
            show(Kind::Pressure, solved.tips[0].tip_pressure, System::Us)
        ),
        format!(
            "Reaction {}",
            show(Kind::Force, solved.tips[0].reaction, System::Us)
        ),
    ] {
        assert!(page.contains(&said), "{said} in {page}");
    }
    // The line's own page, by the link, says the same.
    let text = answer.text();
    let (_, link) = text
        .split_once("href=\"/book/saltmarsh-bend-fire-and-rescue/line/")
        .unwrap();
    let link = link.split('"').next().unwrap().replace("&amp;", "&");
    let line = house.get(&book(&format!("/line/{link}"))).await;
    assert_eq!(line.status, StatusCode::OK, "{}", words(&line));
    let line = words(&line);
    assert!(
        line.contains(&format!(
            "Flow {}",
            show(Kind::Flow, solved.flow, System::Us)
        )),
        "{link}: {line}"
    );
    assert!(
        line.contains(&show(
            Kind::Pressure,
            solved.tips[0].tip_pressure,
            System::Us
        )),
        "{line}"
    );
}

#[tokio::test]
async fn weights_move_the_ranking_and_stand_in_the_address() {
    let house = House::with(DEMO).await;
    let flow = of(
        &house,
        SMALL,
        &[
            ("weight-flow", "10"),
            ("weight-reaction", "0"),
            ("fragment", "1"),
        ],
    )
    .await;
    let force = of(
        &house,
        SMALL,
        &[
            ("weight-flow", "0"),
            ("weight-reaction", "10"),
            ("fragment", "1"),
        ],
    )
    .await;
    let (flow, force) = (words(&flow), words(&force));
    assert_ne!(put_forward(&flow), put_forward(&force));
    assert!(
        !flow.contains("Left crosslay, version"),
        "a fragment has the regions only"
    );
    let wrong = of(&house, SMALL, &[("weight-flow", "many")]).await;
    assert_eq!(wrong.status, StatusCode::OK);
    assert!(wrong.text().contains("is no weight from 0 to 100"));
}

#[tokio::test]
async fn axes_and_curves_are_chosen_by_the_address() {
    let house = House::with(DEMO).await;
    let plain = of(&house, SMALL, &[]).await.text();
    assert!(plain.contains("Reaction against flow"), "{plain}");
    let turned = of(
        &house,
        SMALL,
        &[("x", "reaction"), ("y", "flow"), ("over", "reaction")],
    )
    .await
    .text();
    assert!(turned.contains("Flow against reaction"));
    assert!(turned.contains("value=\"reaction\" selected"));
    // What cannot be drawn is not.
    let odd = of(
        &house,
        SMALL,
        &[("x", "price"), ("y", "flow"), ("line", "nowhere")],
    )
    .await;
    assert_eq!(odd.status, StatusCode::OK);
}

#[tokio::test]
async fn limits_that_leave_nothing_lead_to_a_form_with_one_relaxed() {
    let house = House::with(DEMO).await;
    let hard = SMALL.replace("people = 3", "people = 3\nreach = \"90 ft\"");
    let answer = of(&house, &hard, &[]).await;
    assert_eq!(
        answer.status,
        StatusCode::UNPROCESSABLE_ENTITY,
        "{}",
        words(&answer)
    );
    let page = answer.text();
    assert!(page.contains("No choice keeps all the limits"), "{page}");
    let (_, after) = page.split_once("ul class=\"cards\"").unwrap();
    let (_, link) = after.split_once("href=\"").unwrap();
    let link = link.split('"').next().unwrap().replace("&amp;", "&");
    let form = house.get(&link).await.text();
    let (_, field) = form.split_once("id=\"f-least-reach\"").unwrap();
    let (_, value) = field.split_once("value=\"").unwrap();
    let value = value.split('"').next().unwrap();
    let reach: f64 = value.strip_suffix(" ft").unwrap().parse().unwrap();
    assert!(reach < 90.0 && reach > 20.0, "{value}");
    // And what is relaxed so lets something in.
    let relaxed = hard.replace("90 ft", value);
    let answer = of(&house, &relaxed, &[]).await;
    assert_eq!(answer.status, StatusCode::OK, "{}", words(&answer));
}

#[tokio::test]
async fn limits_that_contradict_are_told() {
    let house = House::with(DEMO).await;
    let both = SMALL.replace("people = 3", "pump_pressure = \"90 psi\"");
    let answer = of(&house, &both, &[]).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    let page = words(&answer);
    assert!(
        page.contains("90 psi") && page.contains("100 psi"),
        "{page}"
    );
}

#[tokio::test]
async fn a_large_one_says_its_size_and_time_before_it_starts() {
    let house = House::with(DEMO).await;
    let large = SMALL.replace("draws = 0", "draws = 900000");
    let answer = of(&house, &large, &[]).await;
    assert_eq!(answer.status, StatusCode::OK);
    let page = answer.text();
    assert!(
        page.contains("Before it starts") && page.contains("Days drawn"),
        "{page}"
    );
    assert!(page.contains("name=\"start\" value=\"yes\""));
    assert!(
        page.contains("data-run=\"/book/saltmarsh-bend-fire-and-rescue/comparison/progress?text=")
    );
    let huge = SMALL.replace("step = \"25 psi\"", "step = \"0.00001 psi\"");
    let refused = of(&house, &huge, &[]).await;
    assert_eq!(
        refused.status,
        StatusCode::UNPROCESSABLE_ENTITY,
        "{}",
        words(&refused)
    );
}

#[tokio::test]
async fn progress_is_told_as_it_goes_and_ends_with_the_answer() {
    let house = House::with(DEMO).await;
    let drawn = SMALL.replace("draws = 0", "draws = 3000");
    let told = house
        .get(&asked("/comparison/progress", &[("text", &drawn)]))
        .await;
    assert_eq!(told.status, StatusCode::OK, "{}", told.text());
    assert_eq!(told.header("content-type"), "text/event-stream");
    let text = told.text();
    let (_, last) = text.rsplit_once("event: answer\ndata: ").unwrap();
    let last: serde_json::Value = serde_json::from_str(last.trim()).unwrap();
    let content = last["content"].as_str().unwrap();
    assert!(content.contains("The answer: choice"), "{content}");
    assert!(content.contains("Holds on"), "{content}");
    assert_eq!(last["title"], "Left crosslay");
}

#[tokio::test]
async fn who_does_not_listen_any_more_stops_the_work() {
    use axum::body::Body;
    use axum::http::Request;
    use tower::ServiceExt;
    let house = House::with(DEMO).await;
    let long = SMALL.replace("draws = 0", "draws = 10000000");
    let address = asked("/comparison/progress", &[("text", &long)]);
    let router = web::router(house.workbench.clone());
    for _ in 0..4 {
        let request = Request::get(&address).header("host", "localhost:8275");
        let request = request.body(Body::empty()).unwrap();
        let response = router.clone().oneshot(request).await.unwrap();
        let mut body = response.into_body().into_data_stream();
        use futures_util::StreamExt;
        let first = body.next().await.unwrap().unwrap();
        let first = String::from_utf8_lossy(&first).into_owned();
        assert!(first.contains("event: far"), "{first}");
    }
    // Two at a time: were the dropped ones still at work, this one would wait for ever.
    let small = of(&house, SMALL, &[]);
    let small = tokio::time::timeout(std::time::Duration::from_secs(9), small).await;
    assert_eq!(small.unwrap().status, StatusCode::OK);
}

#[tokio::test]
async fn one_is_kept_changed_withdrawn_and_brought_back() {
    let house = House::with(DEMO).await;
    let list = book("/comparisons");
    let kept = house
        .post(&list, &[("text", SMALL), ("name", "Left line")])
        .await;
    assert!(kept.to().contains("of=left-line"), "{}", kept.to());
    let page = house.get(kept.to()).await;
    assert!(
        words(&page).contains("left-line, version 1"),
        "{}",
        words(&page)
    );
    assert!(words(&house.get(&list).await).contains("Left crosslay"));
    // The name is taken.
    let again = house
        .post(&list, &[("text", SMALL), ("name", "left line")])
        .await;
    assert_eq!(again.status, StatusCode::CONFLICT);
    assert!(words(&again).contains("Nothing of yours was kept"));
    let moved = SMALL.replace("flow = 3", "flow = 5");
    let next = house
        .post(
            &list,
            &[("text", &moved), ("name", "left-line"), ("base", "1")],
        )
        .await;
    assert_eq!(house.get(next.to()).await.status, StatusCode::OK);
    // Who still has the first is told, and can keep his own after all.
    let late = house
        .post(
            &list,
            &[("text", SMALL), ("name", "left-line"), ("base", "1")],
        )
        .await;
    assert_eq!(late.status, StatusCode::CONFLICT);
    assert!(
        words(&late).contains("the newest is version 2"),
        "{}",
        words(&late)
    );
    assert!(late.text().contains("name=\"base\" value=\"2\""));
    let first = house
        .get(&asked(
            "/comparison",
            &[("of", "left-line"), ("version", "1")],
        ))
        .await;
    assert!(words(&first).contains("This is an earlier version"));
    let file = house
        .get(&asked(
            "/comparison/download",
            &[("of", "left-line"), ("version", "1")],
        ))
        .await;
    assert_eq!(file.text(), SMALL);
    let gone = house
        .post(&book("/comparison/withdraw"), &[("of", "left-line")])
        .await;
    assert!(words(&house.get(gone.to()).await).contains("Withdrawn"));
    let back = house
        .post(&book("/comparison/bring-back"), &[("of", "left-line")])
        .await;
    assert!(words(&house.get(back.to()).await).contains("Brought back"));
    let none = house.get(&asked("/comparison", &[("of", "nothing")])).await;
    assert_eq!(none.status, StatusCode::NOT_FOUND);
    let bad = house
        .post(&list, &[("text", "lines = "), ("name", "bad")])
        .await;
    assert_eq!(bad.status, StatusCode::UNPROCESSABLE_ENTITY);
    let unnamed = house.post(&list, &[("text", SMALL), ("name", " ")]).await;
    assert_eq!(unnamed.status, StatusCode::BAD_REQUEST);
}

#[tokio::test]
async fn its_report_and_tables_are_taken_along() {
    let house = House::with(DEMO).await;
    let proof = house
        .get(&asked("/comparison/report", &[("text", SMALL)]))
        .await;
    assert!(proof.bytes.starts_with(b"%PDF-"), "{}", proof.status);
    assert!(
        house
            .workbench
            .records
            .issued(DEMO_SLUG)
            .await
            .unwrap()
            .is_empty()
    );
    let xlsx = house
        .get(&asked("/comparison/tables/xlsx", &[("text", SMALL)]))
        .await;
    assert!(xlsx.bytes.starts_with(b"PK"), "{}", xlsx.status);
    let csv = house
        .get(&asked("/comparison/tables/csv", &[("text", SMALL)]))
        .await;
    assert!(csv.bytes.starts_with(b"PK"), "{}", csv.status);
    let parquet = house
        .get(&asked("/comparison/tables/parquet", &[("text", SMALL)]))
        .await;
    assert!(parquet.bytes.starts_with(b"PAR1"), "{}", parquet.status);
    let odd = house
        .get(&asked("/comparison/tables/pdf", &[("text", SMALL)]))
        .await;
    assert_eq!(odd.status, StatusCode::NOT_FOUND);
    // Only what is kept stands in the register.
    let loose = house
        .post(
            &book("/comparison/report"),
            &[("text", SMALL), ("base", "1")],
        )
        .await;
    assert_eq!(loose.status, StatusCode::BAD_REQUEST);
    house
        .post(&book("/comparisons"), &[("text", SMALL), ("name", "left")])
        .await;
    let entered = house
        .post(
            &book("/comparison/report"),
            &[
                ("of", "left"),
                ("base", "1"),
                ("size", "a4"),
                ("units", "si"),
            ],
        )
        .await;
    assert!(entered.bytes.starts_with(b"%PDF-"), "{}", words(&entered));
    let issued = house.workbench.records.issued(DEMO_SLUG).await.unwrap();
    assert_eq!(issued.len(), 1);
    let page = words(&house.get(&asked("/comparison", &[("of", "left")])).await);
    assert!(page.contains(&issued[0].code), "{page}");
    let code = house.get(&format!("/paper/{}", issued[0].code)).await;
    assert!(
        words(&code).to_lowercase().contains("current"),
        "{}",
        words(&code)
    );
}

#[tokio::test]
async fn a_lines_address_puts_other_equipment_on() {
    let house = House::with(DEMO).await;
    let line = |pairs: &[(&str, &str)]| asked("/line/left-crosslay", pairs);
    let plain = words(&house.get(&line(&[("pump", "150")])).await);
    let other = house
        .get(&line(&[
            ("hose part 1", "2.5 in"),
            ("length part 1", "250 ft"),
            ("nozzle part 2", "fifteen-sixteenths"),
            ("pump", "150"),
        ]))
        .await;
    assert_eq!(other.status, StatusCode::OK, "{}", words(&other));
    let demo = book::read(DEMO.as_bytes(), "demo").unwrap();
    let mut conditions = book::Conditions {
        pump_pressure: Some(hydraulics::units::psi(150.0)),
        ..Default::default()
    };
    let length = |feet: &str| hydraulics::units::parse(hydraulics::units::Kind::Length, feet).ok();
    conditions.changes.insert(
        "part 1".parse().unwrap(),
        book::Change {
            hose: Some("2.5 in".into()),
            extra_length: length("50 ft"),
            ..Default::default()
        },
    );
    conditions.changes.insert(
        "part 2".parse().unwrap(),
        book::Change {
            nozzle: Some("fifteen-sixteenths".into()),
            ..Default::default()
        },
    );
    let solved = study::solve(&demo, "left-crosslay", &conditions).unwrap();
    use hydraulics::units::{Kind, System, show};
    let flow = show(Kind::Flow, solved.flow, System::Us);
    assert!(
        words(&other).contains(&format!("Flow {flow}")),
        "{flow} in {}",
        words(&other)
    );
    assert!(!plain.contains(&format!("Flow {flow}")));
    let wrong = house
        .get(&line(&[
            ("nozzle part 2", "nothing of the kind"),
            ("length part 2", "20 ft"),
        ]))
        .await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        words(&wrong).contains("part 2 of this line is no hose"),
        "{}",
        words(&wrong)
    );
}
