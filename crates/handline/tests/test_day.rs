//! A test day from its plan to changed charts, over HTTP with a workbench that is a process of
//! its own: on a file and on a PostgreSQL server, which have to say the same.
#![cfg(target_os = "linux")]
#![allow(clippy::unwrap_used)]

#[path = "../../records/tests/common/cluster.rs"]
mod cluster;

use cluster::Cluster;
use serde_json::Value;
use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

const SLUG: &str = "saltmarsh-bend-fire-and-rescue";
const FORM: &str = "application/x-www-form-urlencoded";

/// Invented readings, with noise and one bad gauge.
const DAY: &[u8] = include_bytes!("../../../books/saltmarsh-bend-test-day.csv");

/// The gauge that was made bad.
const BAD: &str = "line-gauge-1";

/// What the attack hose of the invented readings really has.
const TRUE_C: f64 = 13.6;

/// A workbench that is killed when it is dropped.
struct Running {
    child: Child,
    port: u16,
}

impl Drop for Running {
    fn drop(&mut self) {
        // SIGKILL: it cannot put anything in order.
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

struct Answer {
    status: u16,
    head: String,
    body: Vec<u8>,
}

impl Running {
    /// With the records of `data`, and the demo in them.
    fn start(data: &str) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_handline"))
            .args(["--no-open", "--port", "0"])
            .env("HANDLINE_DATA", data)
            .env_remove("PGPASSWORD")
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let mut said = String::new();
        while !said.contains("Stop it with") {
            assert!(out.read_line(&mut said).unwrap() > 0, "it ended: {said}");
        }
        let after = said.split("http://127.0.0.1:").nth(1).unwrap();
        let port = after.split('/').next().unwrap().parse().unwrap();
        Running { child, port }
    }

    fn ask(&self, head: &str, body: &[u8]) -> Answer {
        let port = self.port;
        let mut stream = TcpStream::connect((Ipv4Addr::LOCALHOST, port)).unwrap();
        let patience = Some(Duration::from_secs(120));
        stream.set_read_timeout(patience).unwrap();
        let length = body.len();
        let head = format!(
            "{head}Host: 127.0.0.1:{port}\r\nConnection: close\r\nCookie: name=%44%61%6e%61\r\n\
             Content-Length: {length}\r\n\r\n"
        );
        stream.write_all(head.as_bytes()).unwrap();
        stream.write_all(body).unwrap();
        let mut all = Vec::new();
        stream.read_to_end(&mut all).unwrap();
        let end = all.windows(4).position(|four| four == b"\r\n\r\n").unwrap();
        let head = String::from_utf8(all[..end].to_vec()).unwrap();
        Answer {
            status: head.split(' ').nth(1).unwrap().parse().unwrap(),
            head,
            body: all.split_off(end + 4),
        }
    }

    fn get(&self, page: &str) -> Answer {
        self.ask(&format!("GET {page} HTTP/1.1\r\n"), b"")
    }

    /// A form; in values only letters, digits, hyphens and spaces.
    fn post(&self, page: &str, pairs: &[(&str, &str)]) -> Answer {
        let pairs = pairs.iter().map(|(key, value)| format!("{key}={value}"));
        let body = pairs.collect::<Vec<_>>().join("&").replace(' ', "+");
        let head = format!("POST {page} HTTP/1.1\r\nContent-Type: {FORM}\r\n");
        self.ask(&head, body.as_bytes())
    }

    /// A form with files: name, file's name (empty for none), bytes.
    fn send(&self, page: &str, fields: &[(&str, &str, &[u8])]) -> Answer {
        let mut body = Vec::new();
        for (name, file, bytes) in fields {
            let file = match *file {
                "" => String::new(),
                file => format!("; filename=\"{file}\""),
            };
            let head =
                format!("--edge\r\nContent-Disposition: form-data; name=\"{name}\"{file}\r\n\r\n");
            body.extend([head.as_bytes(), bytes, b"\r\n"].concat());
        }
        body.extend(b"--edge--\r\n");
        let kind = "multipart/form-data; boundary=edge";
        let head = format!("POST {page} HTTP/1.1\r\nContent-Type: {kind}\r\n");
        self.ask(&head, &body)
    }

    /// A page that is there.
    fn page(&self, page: &str) -> String {
        let answer = self.get(page);
        assert_eq!(answer.status, 200, "{page}: {}", answer.text());
        answer.text()
    }

    fn json(&self, page: &str) -> Value {
        serde_json::from_str(&self.page(page)).unwrap()
    }
}

impl Answer {
    fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    /// Where it sends the reader.
    fn to(&self) -> &str {
        assert_eq!(self.status, 303, "{}", self.text());
        let place = self.head.split("\r\nlocation: ").nth(1).unwrap();
        place.split("\r\n").next().unwrap()
    }

    /// It is a file that begins so.
    fn is(&self, begins: &[u8]) {
        assert_eq!(self.status, 200, "{}", self.text());
        assert!(self.body.starts_with(begins), "{}", self.head);
    }
}

fn at(path: &str) -> String {
    format!("/book/{SLUG}{path}")
}

fn has(text: &str, all: &[&str]) {
    for words in all {
        assert!(text.contains(words), "{words} in {text}");
    }
}

/// What a page says, piece by piece, without what the clock says.
fn words(page: &str) -> Vec<String> {
    let main = page.split("<main").nth(1).unwrap();
    let main = main.split("</main>").next().unwrap();
    let pieces = main.split('<').skip(1);
    let pieces = pieces.filter(|piece| !piece.starts_with("time "));
    let said = pieces.filter_map(|piece| piece.split_once('>'));
    let said = said.map(|(_, said)| said.trim().to_string());
    said.filter(|said| !said.is_empty()).collect()
}

/// All that has to be there afterwards, by its address.
type Kept = BTreeMap<String, Vec<String>>;

fn kept(running: &Running, test: i64) -> Kept {
    let mut pages = vec![at("/issued"), at("/trail"), at("/history"), at("/tests")];
    pages.push(at("/tests/day/2026-09-19"));
    pages.push(at("/equipment/hose/attack"));
    for rest in ["", "/result", "/result?correct=line-gauge-1"] {
        pages.push(at(&format!("/test/{test}{rest}")));
    }
    let page = |page: String| (page.clone(), words(&running.page(&page)));
    let mut all: Kept = pages.into_iter().map(page).collect();
    let file = running.page(&at("/file/download"));
    all.insert("file".into(), file.lines().map(String::from).collect());
    all
}

/// The day is planned, and its readings are brought in: the number of the attack hose's test.
fn planned_and_read(running: &Running) -> i64 {
    let plan = "test=hose/attack&gauge=line-gauge-1&gauge=line-gauge-2&gauge=flow-meter\
                &within=5&date=2026-09-19&find=c";
    let page = running.page(&at(&format!("/tests/new?{plan}")));
    has(
        &page,
        &["The plan", "What to read", "to be known within", BAD],
    );
    running
        .get(&at(&format!("/tests/plan?{plan}")))
        .is(b"%PDF-");
    let bring = at("/tests/bring");
    let look = running.send(&bring, &[("file", "day.csv", DAY)]);
    assert_eq!(look.status, 200);
    has(
        &look.text(),
        &["Nothing is entered yet", "Hose attack", "not yet"],
    );
    assert_eq!(running.get(&at("/tests/day/2026-09-19")).status, 404);
    let hex: String = DAY.iter().map(|byte| format!("{byte:02x}")).collect();
    let enter: [(&str, &str, &[u8]); 3] = [
        ("carried", "", hex.as_bytes()),
        ("name", "", b"day.csv"),
        ("do", "", b"enter"),
    ];
    let day = running.send(&bring, &enter);
    has(
        &running.page(day.to()),
        &[BAD, "does not agree with the others"],
    );
    let tests = running.json(&format!("/api/books/{SLUG}/tests"));
    let mut tests = tests["tests"].as_array().unwrap().iter();
    let hose =
        tests.find(|test| (&test["kind"], &test["subject"]) == (&"hose".into(), &"attack".into()));
    hose.unwrap()["test"].as_i64().unwrap()
}

/// The first figure of the test's result, and where the true one lies.
fn found(running: &Running, test: i64, correct: &str) -> [f64; 3] {
    let page = format!("/api/books/{SLUG}/tests/{test}/result?units=us{correct}");
    let result = running.json(&page);
    let found = &result["found"][0];
    let all = [&found["value"], &found["between"][0], &found["between"][1]];
    all.map(|figure| figure["value"].as_f64().unwrap())
}

/// The coefficients of the attack hose in the newest book: published and measured.
fn in_the_book(running: &Running) -> (f64, f64, String) {
    let file = running.page(&at("/file/download"));
    let book: toml_edit::DocumentMut = file.parse().unwrap();
    let hose = &book["hose"]["attack"];
    let measured = &hose["measured"];
    (
        hose["coefficient"].as_float().unwrap(),
        measured["coefficient"].as_float().unwrap(),
        measured["date"].as_str().unwrap().into(),
    )
}

/// The result of the test, without what the bad gauge did to it, goes into the book.
fn accepted(running: &Running, test: i64) {
    let to = |rest: &str| at(&format!("/test/{test}{rest}"));
    let result = running.page(&to("/result"));
    let words = format!("Gauge {BAD} does not agree with the others");
    has(&result, &[&words, "(95 %)", "correct=line-gauge-1"]);
    let corrected = running.page(&to("/result?correct=line-gauge-1"));
    assert_ne!(self::words(&corrected), self::words(&result));
    let [c, low, high] = found(running, test, "&correct=line-gauge-1");
    assert!(low < TRUE_C && TRUE_C < high, "{c}: {low} to {high}");
    running.post(&to("/close"), &[]).to();
    // Not as the bad gauge has it, unless somebody says so.
    let refused = running.get(&to("/accept"));
    assert_eq!(refused.status, 422);
    has(&refused.text(), &[BAD, "may be off"]);
    let ask = running.page(&to("/accept?correct=line-gauge-1"));
    let wrong = ["Line card: ", "Pump chart: ", "pump pressure"];
    has(
        &ask,
        &["Lines that change", "Save as revision 2", "2026-09-19"],
    );
    has(
        ask.split("Issued sheets that become wrong").nth(1).unwrap(),
        &wrong,
    );
    assert_eq!(in_the_book(running).1, 14.2);
    let sent = [
        ("base", "1"),
        ("correct", BAD),
        ("source", "own flow test 1"),
    ];
    let done = running.post(&to("/accept"), &sent);
    has(
        &running.page(done.to()),
        &[
            "Saved as revision 2",
            "2 issued sheets are now wrong",
            "In the book since revision 2",
        ],
    );
    let (published, measured, date) = in_the_book(running);
    assert_eq!((published, date.as_str()), (15.5, "2026-09-19"));
    assert!((measured - c).abs() < 0.06, "{measured} in the book, {c}");
    has(&running.page(&at("/history/1")), &["14.2"]);
}

/// What a sheet of the register says and what is so now, both in psi.
fn said_and_now(register: &str, sheet: &str) -> (f64, f64) {
    let all = words(register);
    let from = all
        .iter()
        .position(|piece| piece.starts_with(sheet))
        .unwrap();
    let pressure = all[from..]
        .iter()
        .find(|piece| piece.contains("pump pressure") && piece.contains(": says "));
    let (_, said) = pressure.unwrap().split_once(": says ").unwrap();
    let (said, now) = said.split_once(", now ").unwrap();
    let [said, now] = [said, now].map(|text| text.strip_suffix(" psi").unwrap());
    (said.parse().unwrap(), now.parse().unwrap())
}

/// The register tells which sheets are wrong and by how much, and they are printed again.
fn reprinted(running: &Running) {
    let register = running.page(&at("/issued"));
    has(
        &register,
        &["2 issued sheets: 0 current, 2 superseded, 0 withdrawn."],
    );
    for sheet in ["Line card: Left crosslay", "Pump chart: "] {
        let (said, now) = said_and_now(&register, sheet);
        // The hose loses less than the book had.
        assert!(now < said, "{sheet}: {said} psi, now {now} psi");
    }
    let (_, now) = said_and_now(&register, "Line card: Left crosslay");
    let card = running.page(&at("/paper/line-card/left-crosslay?size=letter&units=us"));
    has(&card, &[&format!("{now} psi")]);
    let print = running.post(&at("/issued/reprint"), &[("base", "2")]);
    print.is(b"PK");
    has(
        &running.page(&at("/issued")),
        &["4 issued sheets: 2 current, 2 superseded, 0 withdrawn."],
    );
    let none = running.post(&at("/issued/reprint"), &[("base", "2")]);
    has(&none.text(), &["No sheet is to be reprinted"]);
}

/// The report as PDF; entered in the register, its code is found.
fn reported(running: &Running, test: i64) {
    let page = at(&format!("/test/{test}/report"));
    running
        .get(&format!("{page}?correct=line-gauge-1"))
        .is(b"%PDF-");
    let sent = [("base", "2"), ("correct", BAD), ("units", "both")];
    running.post(&page, &sent).is(b"%PDF-");
    let register = running.page(&at("/issued?kind=test-report"));
    let code = register.split("/paper/V").nth(1).unwrap();
    let code = code.split('"').next().unwrap();
    let typed = format!("v{}", code.replace('-', "").to_lowercase());
    let known = running.get(&format!("/paper?code={typed}"));
    has(
        &running.page(known.to()),
        &["Of its day", "The book has what was found that day."],
    );
}

/// From the plan to the changed charts, and through a crash.
fn story(data: &str) -> Kept {
    let running = Running::start(data);
    for sheet in ["line-card/left-crosslay", "pump-chart/pumper-1"] {
        let sent = [("base", "1"), ("size", "letter"), ("units", "us")];
        let page = at(&format!("/paper/{sheet}"));
        running.post(&page, &sent).is(b"%PDF-");
    }
    let test = planned_and_read(&running);
    accepted(&running, test);
    reprinted(&running);
    reported(&running, test);
    let trail = running.page(&at("/trail"));
    has(&trail, &["Dana", "Test begun", "Test accepted"]);
    assert_eq!(trail.matches("Sheet issued").count(), 5);
    has(&trail, &[&format!("test {test}: into revision 2")]);
    let before = kept(&running, test);
    drop(running);
    let running = Running::start(data);
    let after = kept(&running, test);
    for (page, said) in &before {
        assert_eq!(after.get(page), Some(said), "{page} after the crash");
    }
    after
}

#[test]
fn a_test_day_leads_from_plan_to_report_to_changed_charts_on_both_databases() {
    let folder = tempfile::tempdir().unwrap();
    let here = Path::new(folder.path()).join("records");
    let on_file = std::thread::spawn(move || story(here.to_str().unwrap()));
    let cluster = Cluster::start();
    let on_server = story(&cluster.address());
    let on_file = on_file.join().unwrap();
    assert_eq!(
        on_file.keys().collect::<Vec<_>>(),
        on_server.keys().collect::<Vec<_>>()
    );
    for (page, said) in &on_file {
        assert!(said.len() > 10, "{page}: {said:?}");
        assert_eq!(on_server.get(page), Some(said), "{page} on the server");
    }
    let issued = cluster.ask("SELECT count(*) FROM issued WHERE kind = 'test-report'");
    assert_eq!(issued, "1");
}
