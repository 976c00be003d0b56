//! The workbench, open until it is stopped.

use crate::args::Open;
use crate::commands::{Failure, Outcome};
use crate::elsewhere;
use crate::kept::{self, Place};
use std::future::Future;
use std::io::Write;
use std::net::{IpAddr, Ipv4Addr};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::watch;
use web::{Arrived, Workbench};

/// The demo department, invented.
const DEMO: &str = include_str!("../../../books/saltmarsh-bend.toml");
const DEMO_FILE: &str = "saltmarsh-bend.toml";

/// Where the workbench answers unless told otherwise.
const PORT: u16 = 8275;

/// Pages under way are waited for so long when it is stopped.
const PATIENCE: Duration = Duration::from_secs(5);

/// Serves the book of a file, or without one the records with the demo in them,
/// until the process is told to stop.
pub fn serve(book: Option<(&[u8], &Path)>, open: &Open) -> Outcome {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build();
    let served = match runtime {
        Ok(runtime) => runtime.block_on(served(book, open)),
        Err(error) => Err(Failure::Misread(format!(
            "the workbench cannot start: {error}"
        ))),
    };
    match served {
        Ok(()) => Outcome::default(),
        Err(failure) => failure.told(),
    }
}

async fn served(book: Option<(&[u8], &Path)>, open: &Open) -> Result<(), Failure> {
    // What is not written right is told before anything is made.
    let door = elsewhere::door(&open.elsewhere)?;
    let place = Place::of(open.data.as_deref())?;
    let workbench = Arc::new(Workbench::new(kept::records(&place).await?));
    if let Some(door) = door {
        return elsewhere::serve(door, workbench, book, &place).await;
    }
    let (page, brought_in) = match book {
        Some((bytes, file)) => brought(&workbench, bytes, file).await?,
        None => (with_demo(&workbench).await?, String::new()),
    };
    let told = told_to_stop();
    let (listener, moved) = listener(open).await?;
    let port = listener.local_addr().map_or(0, |address| address.port());
    let address = match open.elsewhere.address {
        Some(address) => format!("http://{}:{port}{page}", host(address.ip())),
        None => format!("http://127.0.0.1:{port}{page}"),
    };
    say(&format!(
        "{brought_in}{moved}The workbench is open at {address}\n\
         Books are kept in {place}\n\
         It answers on this computer only. Stop it with Ctrl-C.\n"
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
            done.map_err(|error| Failure::Misread(format!("the workbench stopped: {error}")))
        }
        () = late => Ok(()),
    }
}

/// Puts the demo in, and says at which page to open: the only book, or all.
async fn with_demo(workbench: &Workbench) -> Result<String, Failure> {
    workbench.bring(DEMO.as_bytes(), DEMO_FILE).await?;
    let books = workbench.records.books().await?;
    match books.as_slice() {
        [only] => Ok(page(&only.slug)),
        _ => Ok("/".into()),
    }
}

/// Puts a book's file in: its page, and what to say about it.
pub async fn brought(
    workbench: &Workbench,
    bytes: &[u8],
    file: &Path,
) -> Result<(String, String), Failure> {
    let path = file.display();
    let arrived = kept::bring(workbench, bytes, file).await?;
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

/// An address as it stands before a port.
fn host(address: IpAddr) -> String {
    match address {
        IpAddr::V4(address) => address.to_string(),
        IpAddr::V6(address) => format!("[{address}]"),
    }
}

/// A listener on this computer only, and what to say when it is not at the usual port.
async fn listener(open: &Open) -> Result<(TcpListener, String), Failure> {
    if let Some(address) = open.elsewhere.address {
        let bound = TcpListener::bind(address).await;
        let bound = bound.map_err(|error| elsewhere::taken(address, &error));
        return Ok((bound?, String::new()));
    }
    let asked = open.port;
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
        return Err(Failure::Misread(text));
    }
    match at(0).await {
        Ok(listener) => {
            let moved = format!(
                "Port {PORT} is taken, perhaps by another workbench; this one took a free one.\n"
            );
            Ok((listener, moved))
        }
        Err(error) => Err(Failure::Misread(format!("no port can be had: {error}"))),
    }
}

pub fn say(text: &str) {
    // A closed pipe is the reader's choice, not an error.
    let mut out = std::io::stdout();
    let _ = out.write_all(text.as_bytes());
    let _ = out.flush();
}

#[cfg(unix)]
pub fn told_to_stop() -> impl Future<Output = ()> {
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
pub async fn told_to_stop() {
    let _ = tokio::signal::ctrl_c().await;
}
