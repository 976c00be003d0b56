//! The program and a browser, each as a reader has it.

use chromiumoxide::browser::{Browser, BrowserConfig};
use chromiumoxide::cdp::browser_protocol::browser::{
    SetDownloadBehaviorBehavior, SetDownloadBehaviorParams,
};
use chromiumoxide::cdp::browser_protocol::emulation::SetDeviceMetricsOverrideParams;
use chromiumoxide::cdp::browser_protocol::input::{
    DispatchKeyEventParams, DispatchKeyEventType, InsertTextParams,
};
use chromiumoxide::cdp::browser_protocol::log::{EventEntryAdded, LogEntryLevel};
use chromiumoxide::cdp::browser_protocol::page::PrintToPdfParams;
use chromiumoxide::cdp::js_protocol::runtime::{
    ConsoleApiCalledType, EventConsoleApiCalled, EventExceptionThrown,
};
use chromiumoxide::page::Page;
use futures_util::StreamExt;
use serde::de::DeserializeOwned;
use serde_json::Value;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// A background-free browser: this machine may have no network at all.
const FLAGS: [&str; 6] = [
    "disable-gpu",
    "disable-quic",
    "disable-background-networking",
    "disable-component-update",
    "disable-sync",
    "no-first-run",
];

/// The demo's name in addresses.
pub const DEMO: &str = "/book/saltmarsh-bend-fire-and-rescue";

pub fn demo_file() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../books/saltmarsh-bend.toml")
}

/// `handline` serving from a folder of its own, and a browser.
pub struct Bench {
    program: Child,
    pub folder: tempfile::TempDir,
    pub address: String,
    browser: Browser,
}

impl Bench {
    pub async fn open() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let data = folder.path().join("data");
        let program = serve(&data, &["--port", "0"]);
        Bench::with(folder, program, &[]).await
    }

    /// The same for people who sign in, encrypted, from records that are in the folder
    /// that `filled` fills.
    pub async fn for_people<F: Future<Output = ()>>(filled: impl FnOnce(PathBuf) -> F) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let data = folder.path().join("data");
        std::fs::create_dir(&data).expect("a folder for records");
        filled(data.clone()).await;
        let (own, key) = certificate(folder.path());
        let (own, key) = (own.display().to_string(), key.display().to_string());
        let program = serve(
            &data,
            &[
                "--address",
                "127.0.0.1:0",
                "--name",
                "localhost",
                "--certificate",
                &own,
                "--key",
                &key,
            ],
        );
        // It stands for itself, and no browser knows it.
        Bench::with(folder, program, &["ignore-certificate-errors"]).await
    }

    async fn with(
        folder: tempfile::TempDir,
        (program, address): (Child, String),
        flags: &[&str],
    ) -> Self {
        let config = BrowserConfig::builder()
            .chrome_executable(chromium())
            .no_sandbox()
            .args(FLAGS)
            .args(flags.iter().copied())
            .user_data_dir(folder.path().join("browser"))
            .viewport(None)
            .window_size(1280, 900)
            .build()
            .expect("a browser's settings");
        let (browser, mut handler) = Browser::launch(config).await.expect("Chromium starts");
        tokio::spawn(async move { while handler.next().await.is_some() {} });
        Bench {
            program,
            folder,
            address,
            browser,
        }
    }

    /// Ends the program as a power cut would.
    pub fn stop(&mut self) {
        self.program.kill().expect("the program ends");
        self.program.wait().expect("it is gone");
    }

    /// Starts it again on the same books, at the same address.
    pub fn again(&mut self) {
        let port = self.address.rsplit(':').next().expect("a port");
        let data = self.folder.path().join("data");
        let (program, address) = serve(&data, &["--port", port]);
        assert_eq!(address, self.address);
        self.program = program;
    }

    /// What is downloaded goes into `folder`.
    pub async fn downloads_to(&self, folder: &Path) {
        let kept = SetDownloadBehaviorParams::builder()
            .behavior(SetDownloadBehaviorBehavior::Allow)
            .download_path(folder.display().to_string())
            .build()
            .expect("where downloads go");
        self.browser
            .execute(kept)
            .await
            .expect("downloads are kept");
    }

    /// A file of that folder, once it is whole.
    pub async fn downloaded(&self, folder: &Path, name: &str) -> Vec<u8> {
        let began = Instant::now();
        loop {
            match std::fs::read(folder.join(name)) {
                Ok(bytes) if !bytes.is_empty() => return bytes,
                _ if began.elapsed() > Duration::from_secs(15) => panic!("no {name} came"),
                _ => tokio::time::sleep(Duration::from_millis(20)).await,
            }
        }
    }

    /// A fresh tab on `page` of the workbench.
    pub async fn tab(&self, page: &str) -> Tab {
        let tab = self.browser.new_page("about:blank").await.expect("a tab");
        let errors = Arc::new(Mutex::new(Vec::new()));
        listen(&tab, &errors).await;
        let tab = Tab {
            page: tab,
            errors,
            address: self.address.clone(),
        };
        tab.go(page).await;
        tab
    }
}

impl Drop for Bench {
    fn drop(&mut self) {
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}

/// Starts the program and reads the address that it prints.
fn serve(data: &Path, args: &[&str]) -> (Child, String) {
    let mut program = Command::new(env!("CARGO_BIN_EXE_handline"))
        .args(args)
        .args(["--no-open", "--data"])
        .arg(data)
        .stdout(Stdio::piped())
        .spawn()
        .expect("handline starts");
    let mut lines = BufReader::new(program.stdout.take().expect("its output")).lines();
    let address = lines.find_map(|line| {
        let line = line.ok()?;
        let at = line.find("http://").or_else(|| line.find("https://"))?;
        let rest = &line[at..];
        let end = rest[8..].find('/').map_or(rest.len(), |end| end + 8);
        Some(rest[..end].to_string())
    });
    std::thread::spawn(move || lines.for_each(drop));
    (program, address.expect("the address of the workbench"))
}

/// A certificate for this computer that stands for itself, and its key.
fn certificate(folder: &Path) -> (PathBuf, PathBuf) {
    let (own, key) = (folder.join("cert.pem"), folder.join("key.pem"));
    let made = Command::new("openssl")
        .args([
            "req",
            "-x509",
            "-newkey",
            "ec",
            "-pkeyopt",
            "ec_paramgen_curve:prime256v1",
        ])
        .args(["-nodes", "-days", "2", "-subj", "/CN=localhost"])
        .args(["-addext", "subjectAltName=DNS:localhost", "-keyout"])
        .arg(&key)
        .arg("-out")
        .arg(&own)
        .output()
        .expect("openssl, of Debian's package openssl, makes a certificate");
    assert!(made.status.success(), "{made:?}");
    (own, key)
}

fn chromium() -> &'static str {
    let known = [
        "/usr/bin/chromium",
        "/usr/bin/chromium-browser",
        "/usr/bin/google-chrome",
    ];
    let found = known.into_iter().find(|path| Path::new(path).exists());
    found.expect("no Chromium: install Debian's package chromium (./check-all does)")
}

async fn listen(page: &Page, errors: &Arc<Mutex<Vec<String>>>) {
    page.enable_log().await.expect("the browser's log");
    let mut said = page
        .event_listener::<EventConsoleApiCalled>()
        .await
        .expect("console");
    let mut thrown = page
        .event_listener::<EventExceptionThrown>()
        .await
        .expect("errors");
    let mut logged = page.event_listener::<EventEntryAdded>().await.expect("log");
    let keep = |errors: &Arc<Mutex<Vec<String>>>| {
        let errors = errors.clone();
        move |text: String| errors.lock().expect("not poisoned").push(text)
    };
    let (first, second, third) = (keep(errors), keep(errors), keep(errors));
    tokio::spawn(async move {
        while let Some(event) = said.next().await {
            if matches!(
                event.r#type,
                ConsoleApiCalledType::Error | ConsoleApiCalledType::Warning
            ) {
                first(format!("{:?}", event.args));
            }
        }
    });
    tokio::spawn(async move {
        while let Some(event) = thrown.next().await {
            second(format!("{:?}", event.exception_details));
        }
    });
    tokio::spawn(async move {
        while let Some(event) = logged.next().await {
            // A refused form is an answer, not a fault of the page.
            let expected = ["403", "404", "409", "422", "429"]
                .iter()
                .any(|code| event.entry.text.contains(code));
            // The browser's remarks, as that a reader was quicker in a field than the page.
            let remark = matches!(
                event.entry.level,
                LogEntryLevel::Verbose | LogEntryLevel::Info
            );
            if !expected && !remark {
                third(format!("{} {:?}", event.entry.text, event.entry.url));
            }
        }
    });
}

/// One tab.
pub struct Tab {
    pub page: Page,
    errors: Arc<Mutex<Vec<String>>>,
    address: String,
}

impl Tab {
    pub async fn go(&self, page: &str) {
        let address = format!("{}{page}", self.address);
        self.page.goto(address).await.expect("the page opens");
        self.until("document.readyState === 'complete'").await;
    }

    /// What `script` gives in the page.
    pub async fn ask<T: DeserializeOwned>(&self, script: &str) -> T {
        let said = self.page.evaluate(script).await;
        let said = said.unwrap_or_else(|error| panic!("{script}: {error}"));
        said.into_value()
            .unwrap_or_else(|error| panic!("{script}: {error}"))
    }

    /// Waits until `script` is true in the page.
    pub async fn until(&self, script: &str) {
        let began = Instant::now();
        loop {
            let said = self.page.evaluate(format!("Boolean({script})")).await;
            if said.is_ok_and(|said| said.into_value().unwrap_or(false)) {
                return;
            }
            if began.elapsed() > Duration::from_secs(15) {
                let text: String = self.ask("document.body.innerText").await;
                panic!("never true: {script}\n{text}");
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }

    /// Presses what a reader would press; waits for the page it leads to.
    pub async fn press(&self, what: &str) {
        self.page.bring_to_front().await.expect("the tab in front");
        let script = format!(
            "(() => {{ const all = [...document.querySelectorAll('button, a, summary')]; \
             const found = all.find((e) => e.textContent.trim().startsWith({what:?}) && e.offsetParent !== null); \
             found?.scrollIntoView({{ block: 'center' }}); document.querySelectorAll('[data-test]').forEach((e) => e.removeAttribute('data-test')); \
             found?.setAttribute('data-test', 'here'); return Boolean(found); }})()"
        );
        self.until(&script).await;
        let found = self
            .page
            .find_element("[data-test=here]")
            .await
            .expect("it is there");
        found.click().await.expect("it can be pressed");
    }

    /// Presses, and waits for another page.
    pub async fn follow(&self, what: &str) {
        self.page
            .evaluate("window.stale = true")
            .await
            .expect("marked");
        self.press(what).await;
        self.until("!window.stale && document.readyState === 'complete'")
            .await;
    }

    /// Writes into a field as typing would.
    pub async fn fill(&self, name: &str, value: &str) {
        let script = format!(
            "(() => {{ const f = document.getElementsByName({name:?})[0]; if (!f) return false; \
             if (f.type === 'radio') {{ const r = [...document.getElementsByName({name:?})].find((r) => r.value === {value:?}); r.checked = true; r.dispatchEvent(new Event('input', {{bubbles: true}})); return true; }} \
             f.value = {value:?}; f.dispatchEvent(new Event('input', {{bubbles: true}})); return f.value === {value:?}; }})()"
        );
        assert!(
            self.ask::<bool>(&script).await,
            "no field {name}, or it does not take {value}"
        );
    }

    /// Moves a hand and waits for the answer.
    pub async fn set(&self, name: &str, value: &str) {
        self.page
            .evaluate("delete document.documentElement.dataset.took")
            .await
            .expect("marked");
        self.fill(name, value).await;
        self.until("document.documentElement.dataset.took").await;
    }

    /// The large figure of a name, with its unit.
    pub async fn figure(&self, name: &str) -> String {
        self.ask(&format!(
            "[...document.querySelectorAll('.figures > div')].find((d) => d.querySelector('dt').textContent === {name:?}).querySelector('b').innerText.replace(/\\s+/g, ' ').trim()"
        ))
        .await
    }

    /// Presses a key of the keyboard, wherever the focus is.
    pub async fn key(&self, key: &str) {
        let definition = chromiumoxide::keys::get_key_definition(key).expect("a key");
        let event = |kind| {
            let mut event = DispatchKeyEventParams::builder()
                .r#type(kind)
                .key(definition.key)
                .code(definition.code)
                .windows_virtual_key_code(definition.key_code)
                .native_virtual_key_code(definition.key_code);
            if let Some(text) = definition.text.or((key == "Enter").then_some("\r")) {
                event = event.text(text);
            }
            event.build().expect("an event")
        };
        for kind in [DispatchKeyEventType::KeyDown, DispatchKeyEventType::KeyUp] {
            self.page
                .execute(event(kind))
                .await
                .expect("the key is pressed");
        }
    }

    /// Writes at the focus.
    pub async fn write(&self, text: &str) {
        self.page
            .execute(InsertTextParams::new(text))
            .await
            .expect("the text is written");
    }

    pub async fn text(&self) -> String {
        self.ask("document.body.innerText").await
    }

    pub async fn width(&self, width: u32) {
        let size = SetDeviceMetricsOverrideParams::new(width, 844, 1.0, width < 600);
        self.page
            .execute(size)
            .await
            .expect("the size of the window");
    }

    pub async fn pdf(&self) -> Vec<u8> {
        self.page
            .pdf(PrintToPdfParams::default())
            .await
            .expect("a print")
    }

    /// Nothing went wrong in the page unseen.
    pub fn quiet(&self) {
        let errors = self.errors.lock().expect("not poisoned");
        assert!(errors.is_empty(), "{}", errors.join("\n"));
    }
}

/// What the command line answers, as JSON.
pub fn command(args: &[&str]) -> Value {
    let answered = Command::new(env!("CARGO_BIN_EXE_handline"))
        .args(args)
        .arg("--json")
        .output();
    let answered = answered.expect("handline answers");
    serde_json::from_slice(&answered.stdout).unwrap_or_else(|error| {
        panic!(
            "{args:?}: {error}\n{}",
            String::from_utf8_lossy(&answered.stderr)
        )
    })
}

/// A figure of the command line's answer as the page shows it: whole units in US.
pub fn shown(quantity: &Value) -> String {
    let value = quantity["value"].as_f64().expect("a value");
    format!("{value:.0} {}", quantity["unit"].as_str().expect("a unit"))
}
