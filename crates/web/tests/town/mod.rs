//! A workbench for people who are elsewhere, without a server: requests go straight to it.
#![allow(dead_code, clippy::unwrap_used)]

use crate::common::{Answer, DEMO, DEMO_SLUG};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::Request;
use records::{By, Note, Records, Role, SigningIn};
use std::io::{BufRead, BufReader};
use std::os::unix::fs::MetadataExt;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, LazyLock};
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use tempfile::TempDir;
use tower::ServiceExt;
use web::{Served, Workbench};

/// The host's name.
pub const NAME: &str = "handline.example";

/// Everybody's password.
pub const PASSWORD: &str = "a lantern under the third stair";

static HASH: LazyLock<String> = LazyLock::new(|| web::password::hash(PASSWORD).unwrap());

/// The demo's department with a person of each role, and another department.
pub struct Town {
    pub workbench: Arc<Workbench>,
    app: Router,
    _folder: Option<TempDir>,
}

pub fn now() -> i64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap();
    i64::try_from(since.as_secs()).unwrap()
}

fn served(behind_proxy: bool, patience: Duration) -> Served {
    Served {
        names: vec![NAME.into()],
        behind_proxy,
        patience,
    }
}

/// The cookie that an answer sets, as a browser sends it back.
pub fn cookie_of(answer: &Answer) -> String {
    let set = answer.header("set-cookie");
    assert!(
        !set.is_empty(),
        "no cookie: {} {}",
        answer.status,
        answer.text()
    );
    set.split(';').next().unwrap().to_string()
}

impl Town {
    pub async fn open() -> Self {
        let folder = TempDir::new().unwrap();
        let records = Records::open(&folder.path().join("records.sqlite")).await;
        Town::on(records.unwrap(), Some(folder)).await
    }

    pub async fn at(address: &str) -> Self {
        Town::on(Records::at(address).await.unwrap(), None).await
    }

    async fn on(records: Records, folder: Option<TempDir>) -> Self {
        let workbench = Arc::new(Workbench::new(records));
        let arrived = workbench.bring(DEMO.as_bytes(), "demo.toml").await;
        arrived.unwrap();
        let records = &workbench.records;
        let by = By::new("", now());
        let note = Note::default();
        let other = "[book]\nname = \"Elsewhere\"\n";
        records
            .create("elsewhere", "Elsewhere", other, &note)
            .await
            .unwrap();
        for (name, slug, role) in [
            ("Reader", DEMO_SLUG, Role::Reader),
            ("Tester", DEMO_SLUG, Role::Tester),
            ("Editor", DEMO_SLUG, Role::Editor),
            ("Keeper", DEMO_SLUG, Role::Keeper),
            ("Stranger", "elsewhere", Role::Keeper),
        ] {
            records.set_person(name, Some(&HASH), &by).await.unwrap();
            records.set_role(slug, name, Some(role), &by).await.unwrap();
        }
        Town {
            app: web::router_for(workbench.clone(), served(false, Duration::from_secs(60))),
            workbench,
            _folder: folder,
        }
    }

    /// Another process on the same database.
    pub async fn another(&self, address: &str) -> Self {
        let records = Records::at(address).await.unwrap();
        let workbench = Arc::new(Workbench::new(records));
        Town {
            app: web::router_for(workbench.clone(), served(false, Duration::from_secs(60))),
            workbench,
            _folder: None,
        }
    }

    pub fn behind_a_proxy(mut self) -> Self {
        let served = served(true, Duration::from_secs(60));
        self.app = web::router_for(self.workbench.clone(), served);
        self
    }

    pub fn patient_for(mut self, patience: Duration) -> Self {
        self.app = web::router_for(self.workbench.clone(), served(false, patience));
        self
    }

    pub async fn ask(&self, request: Request<Body>) -> Answer {
        let response = self.app.clone().oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        Answer {
            status: parts.status,
            headers: parts.headers,
            bytes: to_bytes(body, usize::MAX).await.unwrap().to_vec(),
        }
    }

    /// A request as a browser sends it from a page of the workbench.
    pub async fn send(&self, method: &str, address: &str, cookie: &str, body: &str) -> Answer {
        let request = Request::builder()
            .method(method)
            .uri(address)
            .header("host", NAME)
            .header("cookie", cookie)
            .header("sec-fetch-site", "same-origin")
            .header("content-type", "application/x-www-form-urlencoded");
        let body = if method == "GET" { "" } else { body };
        self.ask(request.body(Body::from(body.to_string())).unwrap())
            .await
    }

    pub async fn parcel(&self, address: &str, cookie: &str, fields: &[(&str, &str)]) -> Answer {
        let part = |(name, text): &(&str, &str)| {
            format!("--edge\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{text}\r\n")
        };
        let body: String = fields.iter().map(part).collect();
        let request = Request::post(address)
            .header("host", NAME)
            .header("cookie", cookie)
            .header("sec-fetch-site", "same-origin")
            .header("content-type", "multipart/form-data; boundary=edge");
        self.ask(request.body(Body::from(body + "--edge--\r\n")).unwrap())
            .await
    }

    pub async fn sign_in(&self, name: &str, password: &str, back: &str) -> Answer {
        self.sign_in_with(name, password, back, "").await
    }

    pub async fn sign_in_with(
        &self,
        name: &str,
        password: &str,
        back: &str,
        cookie: &str,
    ) -> Answer {
        let pairs = [("name", name), ("password", password), ("back", back)];
        let body = form_urlencoded::Serializer::new(String::new())
            .extend_pairs(pairs)
            .finish();
        self.send("POST", "/sign-in", cookie, &body).await
    }

    /// A session of somebody, past the password; gives the cookie.
    pub async fn session(&self, name: &str) -> String {
        self.kept(name, now(), now() + 3600).await
    }

    /// One that is over.
    pub async fn over(&self, name: &str) -> String {
        self.kept(name, now() - 7200, now() - 1).await
    }

    async fn kept(&self, name: &str, at: i64, ends: i64) -> String {
        static NEXT: AtomicUsize = AtomicUsize::new(1);
        let token = format!("token{}", NEXT.fetch_add(1, Ordering::Relaxed));
        let new = SigningIn {
            name,
            hash: &HASH,
            token: &token,
            before: None,
            ends,
            from: "a test",
            at,
        };
        assert!(self.workbench.records.sign_in(&new).await.unwrap());
        format!("__Host-handline={token}")
    }

    /// Prints a sheet and enters it; gives its code.
    pub async fn printed(&self, name: &str) -> String {
        let cookie = self.session(name).await;
        let sheet = format!("/book/{DEMO_SLUG}/paper/line-card/left-crosslay");
        let body = "base=1&size=pocket&units=us";
        let printed = self.send("POST", &sheet, &cookie, body).await;
        assert!(printed.bytes.starts_with(b"%PDF-"), "{}", printed.status);
        self.workbench.records.issued(DEMO_SLUG).await.unwrap()[0]
            .code
            .clone()
    }

    /// The latest that was done.
    pub async fn deeds(&self) -> String {
        let latest = self.workbench.records.audit_of_all(20).await.unwrap();
        let latest = latest.iter().find(|deed| deed.what != "refused");
        format!("{latest:?}")
    }
}

/// A PostgreSQL that lasts as long as this does.
pub struct Database {
    pub address: String,
    held: Child,
}

impl Drop for Database {
    fn drop(&mut self) {
        // Its input ends, and with it the server.
        drop(self.held.stdin.take());
        let _ = self.held.wait();
    }
}

pub fn postgres() -> Database {
    let text = include_str!("../../../records/tests/common/postgres.sh");
    // PostgreSQL refuses to run as root, and does as the user that Debian made for it.
    let root = std::fs::metadata("/proc/self").unwrap().uid() == 0;
    let mut command = Command::new(if root { "runuser" } else { "sh" });
    if root {
        command.args(["-u", "postgres", "--", "sh"]);
    }
    command.args(["-c", text]).current_dir("/tmp");
    command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null());
    let mut held = command.spawn().unwrap();
    let mut socket = String::new();
    let out = held.stdout.take().unwrap();
    BufReader::new(out).read_line(&mut socket).unwrap();
    let socket = socket.trim();
    assert!(
        !socket.is_empty(),
        "these tests need Debian's package postgresql"
    );
    Database {
        address: format!("postgres://handline@localhost/postgres?host={socket}"),
        held,
    }
}
