//! The workbench as a process: where it opens, what it says, how it stops.
#![allow(clippy::unwrap_used)]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// A folder of this test's own, empty.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    folder
}

/// A workbench that is stopped when the test is over.
struct Running {
    child: Child,
    /// What it said up to the last line of its greeting.
    said: String,
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Running {
    fn start(data: &Path, args: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_handline"))
            .args(args)
            .args(["--no-open", "--data"])
            .arg(data)
            .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("../.."))
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let mut said = String::new();
        while !said.contains("Stop it with") {
            assert!(out.read_line(&mut said).unwrap() > 0, "it ended: {said}");
        }
        Running { child, said }
    }

    /// Port and page of the printed address.
    fn address(&self) -> (u16, String) {
        let after = self.said.split("http://127.0.0.1:").nth(1).unwrap();
        let address = after.split_whitespace().next().unwrap();
        let (port, page) = address.split_once('/').unwrap();
        (port.parse().unwrap(), format!("/{page}"))
    }

    fn get(&self, page: &str) -> String {
        let (port, _) = self.address();
        let mut stream = TcpStream::connect((Ipv4Addr::LOCALHOST, port)).unwrap();
        let request =
            format!("GET {page} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n\r\n");
        stream.write_all(request.as_bytes()).unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer
    }

    #[cfg(target_os = "linux")]
    fn most_memory_in_mb(&self) -> usize {
        let status = format!("/proc/{}/status", self.child.id());
        let status = std::fs::read_to_string(status).unwrap();
        let line = status.lines().find(|l| l.starts_with("VmHWM")).unwrap();
        let kb: usize = line.split_whitespace().nth(1).unwrap().parse().unwrap();
        kb / 1000
    }
}

#[test]
fn without_arguments_it_opens_on_the_demo_and_keeps_books_where_told() {
    let data = folder("demo/inner");
    let running = Running::start(&data, &["--port", "0"]);
    let (_, page) = running.address();
    assert_eq!(page, "/book/saltmarsh-bend-fire-and-rescue");
    assert!(
        running.said.contains(data.to_str().unwrap()),
        "{}",
        running.said
    );
    assert!(data.join("records.sqlite").is_file());
    for page in [page.as_str(), "/"] {
        let answer = running.get(page);
        assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
        assert!(answer.contains("Saltmarsh Bend"), "{answer}");
    }
    drop(running);
    // The demo is there once, however often it opens.
    let again = Running::start(&data, &["--port", "0"]);
    let home = again.get("/");
    assert_eq!(home.matches("<h3>").count(), 1, "{home}");
    assert!(home.contains("Revision 1,"), "{home}");
}

#[test]
fn a_book_that_changed_is_its_next_revision() {
    let data = folder("changed");
    std::fs::create_dir_all(&data).unwrap();
    let file = data.join("creek.toml");
    let book = |water: &str| format!("[book]\nname = \"Mill Creek\"\nwater = \"{water}\"\n");
    let path = file.to_str().unwrap();
    for (water, told) in [
        ("60 F", "is in the records now"),
        ("60 F", "The workbench is open"),
        ("50 F", "next revision"),
    ] {
        std::fs::write(&file, book(water)).unwrap();
        let running = Running::start(&data, &["serve", path, "--port", "0"]);
        assert!(running.said.contains(told), "{told}: {}", running.said);
        assert_eq!(running.address().1, "/book/mill-creek");
    }
    // Changed here and there: told, and nothing is overwritten.
    let running = Running::start(&data, &["serve", path, "--port", "0"]);
    let (port, _) = running.address();
    let mut stream = TcpStream::connect((Ipv4Addr::LOCALHOST, port)).unwrap();
    let request = format!(
        "POST /book/mill-creek/undo HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 6\r\n\r\nbase=2"
    );
    stream.write_all(request.as_bytes()).unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    drop(running);
    std::fs::write(&file, book("40 F")).unwrap();
    let running = Running::start(&data, &["serve", path, "--port", "0"]);
    assert!(
        running.said.contains("nothing was overwritten"),
        "{}",
        running.said
    );
    assert!(
        running
            .get("/book/mill-creek/newest")
            .contains("\"revision\":3")
    );
}

#[test]
fn what_cannot_be_served_is_told_with_its_exit_code() {
    let data = folder("refused");
    std::fs::create_dir_all(&data).unwrap();
    let data = data.to_str().unwrap();
    let bad = Path::new(data).join("bad.toml");
    std::fs::write(&bad, "[book]\nname = \"A\"\nunits = \"uz\"\n").unwrap();
    let taken = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let cases: [(&[&str], i32, &[&str]); 11] = [
        (
            &["serve", bad.to_str().unwrap(), "--data", data],
            1,
            &["bad.toml:3:9", "did you mean"],
        ),
        (
            &["serve", "no-such.toml", "--data", data],
            1,
            &["no-such.toml cannot be read"],
        ),
        (
            &["--port", &port, "--data", data],
            2,
            &[&port, "cannot be had", "--port"],
        ),
        (
            &["--data", "/dev/null/here"],
            2,
            &["/dev/null/here", "--data"],
        ),
        (&["--port", "70000"], 2, &["70000"]),
        (
            &["--address", "0.0.0.0:0", "--data", data],
            2,
            &["0.0.0.0:0", "--certificate", "--behind-proxy"],
        ),
        (
            &["serve", "--address", "127.0.0.1:0", "--name", "a.example"],
            2,
            &["--certificate", "--behind-proxy"],
        ),
        (
            &["--address", "127.0.0.1:0", "--behind-proxy"],
            2,
            &["--name"],
        ),
        (&["--behind-proxy"], 2, &["--address"]),
        (
            &[
                "--address",
                "127.0.0.1:0",
                "--name",
                "a.example",
                "--certificate",
                "no-such.pem",
                "--key",
                "no-such.pem",
            ],
            2,
            &["no-such.pem", "cannot be read"],
        ),
        (&["--no-open", "schema"], 2, &["schema"]),
    ];
    for (args, code, words) in cases {
        let output = Command::new(env!("CARGO_BIN_EXE_handline"))
            .args(args)
            .output()
            .unwrap();
        let told = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(code), "{args:?}: {told}");
        for word in words {
            assert!(
                told.contains(word),
                "{args:?}: {word} is missing from {told}"
            );
        }
    }
}

#[test]
fn behind_a_proxy_it_says_how_the_first_keeper_is_made_and_lets_nobody_in() {
    let data = folder("proxy");
    std::fs::create_dir_all(&data).unwrap();
    let file = data.join("creek.toml");
    std::fs::write(&file, "[book]\nname = \"Mill Creek\"\n").unwrap();
    let args = [
        "serve",
        file.to_str().unwrap(),
        "--address",
        "127.0.0.1:0",
        "--name",
        "handline.example",
        "--behind-proxy",
    ];
    let running = Running::start(&data, &args);
    let said = &running.said;
    for told in [
        "for the proxy of https://handline.example/",
        "handline people add \"NAME\" --role keeper --department mill-creek",
        "People sign in.",
    ] {
        assert!(said.contains(told), "{told} is missing from {said}");
    }
    let address = said.split("answers at ").nth(1).unwrap();
    let address = address.split_whitespace().next().unwrap().to_string();
    let ask = |headers: &str| {
        let mut stream = TcpStream::connect(&address).unwrap();
        let request =
            format!("GET /book/mill-creek HTTP/1.1\r\n{headers}Connection: close\r\n\r\n");
        stream.write_all(request.as_bytes()).unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer
    };
    let host = "Host: handline.example\r\n";
    assert!(ask(host).starts_with("HTTP/1.1 400"));
    assert!(ask("Host: elsewhere.example\r\n").starts_with("HTTP/1.1 4"));
    let answer = ask(&format!(
        "{host}X-Forwarded-Proto: https\r\nX-Forwarded-For: 203.0.113.7\r\n"
    ));
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    assert!(answer.contains("/sign-in?back="), "{answer}");
    assert!(!answer.contains("Mill Creek"), "{answer}");
}

#[cfg(unix)]
#[test]
fn it_stops_when_told_to_even_with_a_connection_open() {
    for signal in ["-TERM", "-INT"] {
        let mut running = Running::start(&folder(&format!("stop{signal}")), &["--port", "0"]);
        let (port, _) = running.address();
        let _idle = TcpStream::connect((Ipv4Addr::LOCALHOST, port)).unwrap();
        let id = running.child.id().to_string();
        let sent = Command::new("kill").args([signal, &id]).status().unwrap();
        assert!(sent.success());
        let start = Instant::now();
        let ended = running.child.wait().unwrap();
        assert_eq!(ended.code(), Some(0), "{signal}");
        assert!(
            start.elapsed() < Duration::from_secs(8),
            "{signal}: {:?}",
            start.elapsed()
        );
    }
}

#[cfg(target_os = "linux")]
#[test]
fn an_upload_of_50_mb_fills_no_memory() {
    let running = Running::start(&folder("upload"), &["--port", "0"]);
    running.get("/");
    let before = running.most_memory_in_mb();
    let (port, _) = running.address();
    let mut stream = TcpStream::connect((Ipv4Addr::LOCALHOST, port)).unwrap();
    let head = format!(
        "POST /books/import HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n\
         Content-Type: multipart/form-data; boundary=edge\r\nContent-Length: 50000000\r\n\r\n"
    );
    stream.write_all(head.as_bytes()).unwrap();
    let piece = vec![b'a'; 100_000];
    for _ in 0..500 {
        stream.write_all(&piece).unwrap();
    }
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    assert!(answer.starts_with("HTTP/1.1 413"), "{answer}");
    assert!(answer.contains("too large to be a book"), "{answer}");
    let grown = running.most_memory_in_mb() - before;
    assert!(grown < 10, "{grown} MB more");
    assert!(running.get("/").starts_with("HTTP/1.1 200"));
}
