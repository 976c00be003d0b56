//! The workbench, open until it is stopped.

use crate::args::Open;
use crate::commands::Outcome;
use crate::show;
use directories::ProjectDirs;
use records::Records;
use std::future::Future;
use std::io::Write;
use std::net::Ipv4Addr;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::watch;
use web::{Arrived, Fault, Workbench};

/// The demo department, invented.
const DEMO: &str = include_str!("../../../books/saltmarsh-bend.toml");
const DEMO_FILE: &str = "saltmarsh-bend.toml";

/// Where the workbench answers unless told otherwise.
const PORT: u16 = 8275;

/// Pages under way are waited for so long when it is stopped.
const PATIENCE: Duration = Duration::from_secs(5);

/// What to say, and the exit code.
struct Refused(String, u8);

/// Serves the book of a file, or without one the records with the demo in them,
/// until the process is told to stop.
pub fn serve(book: Option<(&[u8], &Path)>, open: &Open) -> Outcome {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build();
    let served = match runtime {
        Ok(runtime) => runtime.block_on(served(book, open)),
        Err(error) => Err(Refused(format!("the workbench cannot start: {error}"), 2)),
    };
    match served {
        Ok(()) => Outcome::default(),
        Err(Refused(text, code)) => Outcome {
            err: format!("handline: {}\n", text.trim_end()),
            code,
            ..Default::default()
        },
    }
}

async fn served(book: Option<(&[u8], &Path)>, open: &Open) -> Result<(), Refused> {
    let (workbench, folder) = records(open).await?;
    let (page, brought_in) = match book {
        Some((bytes, file)) => brought(&workbench, bytes, file).await?,
        None => (with_demo(&workbench).await?, String::new()),
    };
    let told = told_to_stop();
    let (listener, moved) = listener(open.port).await?;
    let port = listener.local_addr().map_or(0, |address| address.port());
    let address = format!("http://127.0.0.1:{port}{page}");
    say(&format!(
        "{brought_in}{moved}The workbench is open at {address}\n\
         Books are kept in {}\n\
         It answers on this computer only. Stop it with Ctrl-C.\n",
        folder.display()
    ));
    if !open.no_open && open::that_detached(&address).is_err() {
        say("No browser could be opened; open that address yourself.\n");
    }
    let (stop, mut stopping) = watch::channel(false);
    let mut stopped = stop.subscribe();
    tokio::spawn(async move {
        told.await;
        let _ = stop.send(true);
    });
    let until = async move {
        let _ = stopped.wait_for(|stop| *stop).await;
    };
    let late = async move {
        let _ = stopping.wait_for(|stop| *stop).await;
        tokio::time::sleep(PATIENCE).await;
    };
    tokio::select! {
        done = web::serve(listener, workbench, until) => {
            done.map_err(|error| Refused(format!("the workbench stopped: {error}"), 2))
        }
        () = late => Ok(()),
    }
}

/// The records in the folder asked for, which is made if it is not there.
async fn records(open: &Open) -> Result<(Arc<Workbench>, PathBuf), Refused> {
    let folder = match &open.data {
        Some(folder) => folder.clone(),
        None => ProjectDirs::from("", "", "handline")
            .map(|own| own.data_dir().to_path_buf())
            .ok_or_else(|| {
                let text = "this user has no folder for data; say where with --data FOLDER";
                Refused(text.into(), 2)
            })?,
    };
    let refused = |why: String| {
        let name = folder.display();
        Refused(
            format!("books cannot be kept in {name}: {why}; give another folder with --data"),
            2,
        )
    };
    std::fs::create_dir_all(&folder).map_err(|error| refused(error.to_string()))?;
    let file = folder.join("records.sqlite");
    let records = Records::open(&file).await;
    let records = records.map_err(|error| refused(error.to_string()))?;
    Ok((Arc::new(Workbench::new(records)), folder))
}

/// Puts the demo in, and says at which page to open: the only book, or all.
async fn with_demo(workbench: &Workbench) -> Result<String, Refused> {
    workbench
        .bring(DEMO.as_bytes(), DEMO_FILE)
        .await
        .map_err(refused)?;
    let books = workbench.records.books().await;
    let books = books.map_err(|error| Refused(error.to_string(), 2))?;
    match books.as_slice() {
        [only] => Ok(page(&only.slug)),
        _ => Ok("/".into()),
    }
}

/// Puts a book's file in: its page, and what to say about it.
async fn brought(
    workbench: &Workbench,
    bytes: &[u8],
    file: &Path,
) -> Result<(String, String), Refused> {
    let path = file.display().to_string();
    // A message shows the path; the history only the file's name.
    book::read(bytes, &path).map_err(|problems| Refused(show::problems(&problems), 1))?;
    let name = file
        .file_name()
        .map_or(path.clone(), |name| name.to_string_lossy().into_owned());
    let arrived = workbench.bring(bytes, &name).await.map_err(refused)?;
    Ok(match arrived {
        Arrived::New(slug) => (page(&slug), format!("{path} is in the records now.\n")),
        Arrived::Known(slug) => (page(&slug), String::new()),
        Arrived::Next(slug) => (
            page(&slug),
            format!("{path} has changed; it is the book's next revision.\n"),
        ),
        Arrived::Apart(slug) => (
            page(&slug),
            format!(
                "{path} has changed, and so has the book in the workbench. The workbench shows its own; \
                 nothing was overwritten.\n\
                 To have the file as the next revision, bring it in on the page \"Bring a file in\".\n"
            ),
        ),
    })
}

fn page(slug: &str) -> String {
    web::address_of(slug)
}

fn refused(fault: Fault) -> Refused {
    match fault {
        Fault::Book(problems) => Refused(show::problems(&problems), 1),
        other => Refused(other.to_string(), 2),
    }
}

/// A listener on this computer only, and what to say when it is not at the usual port.
async fn listener(asked: Option<u16>) -> Result<(TcpListener, String), Refused> {
    let at = |port| TcpListener::bind((Ipv4Addr::LOCALHOST, port));
    let port = asked.unwrap_or(PORT);
    let error = match at(port).await {
        Ok(listener) => return Ok((listener, String::new())),
        Err(error) => error,
    };
    if asked.is_some() {
        let text = format!(
            "port {port} cannot be had: {error}; stop what answers there, or give another with --port \
             (0 takes any free one)"
        );
        return Err(Refused(text, 2));
    }
    match at(0).await {
        Ok(listener) => {
            let moved = format!(
                "Port {PORT} is taken, perhaps by another workbench; this one took a free one.\n"
            );
            Ok((listener, moved))
        }
        Err(error) => Err(Refused(format!("no port can be had: {error}"), 2)),
    }
}

fn say(text: &str) {
    // A closed pipe is the reader's choice, not an error.
    let mut out = std::io::stdout();
    let _ = out.write_all(text.as_bytes());
    let _ = out.flush();
}

#[cfg(unix)]
fn told_to_stop() -> impl Future<Output = ()> {
    use tokio::signal::unix::{SignalKind, signal};
    // Listening begins here, before the address is told to anybody.
    let terminated = signal(SignalKind::terminate());
    let interrupted = signal(SignalKind::interrupt());
    async move {
        tokio::select! {
            () = heard(terminated) => {}
            () = heard(interrupted) => {}
        }
    }
}

#[cfg(unix)]
async fn heard(listening: std::io::Result<tokio::signal::unix::Signal>) {
    match listening {
        Ok(mut signal) => {
            signal.recv().await;
        }
        Err(_) => std::future::pending().await,
    }
}

#[cfg(not(unix))]
async fn told_to_stop() {
    let _ = tokio::signal::ctrl_c().await;
}
