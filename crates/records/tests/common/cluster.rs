//! A PostgreSQL for one test, that may be stopped, killed and started.
#![allow(dead_code, clippy::unwrap_used)]

use std::io::{BufRead, BufReader, Write};
use std::net::{Ipv4Addr, TcpListener};
use std::os::unix::fs::MetadataExt;
use std::process::{Child, ChildStdout, Command, Stdio};

pub struct Cluster {
    /// Its socket is here, and `root.pem` that vouches for it.
    pub folder: String,
    pub port: u16,
    held: Child,
    out: BufReader<ChildStdout>,
}

impl Cluster {
    pub fn start() -> Cluster {
        let free = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
        let port = free.local_addr().unwrap().port();
        drop(free);
        let mut held = script()
            .arg(port.to_string())
            .current_dir("/tmp")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(log())
            .spawn()
            .unwrap();
        let mut cluster = Cluster {
            folder: String::new(),
            port,
            out: BufReader::new(held.stdout.take().unwrap()),
            held,
        };
        cluster.folder = cluster.line();
        cluster
    }

    /// Over the socket.
    pub fn address(&self) -> String {
        let Cluster { folder, port, .. } = self;
        format!("postgres://handline@localhost:{port}/handline?host={folder}")
    }

    /// Does what `cluster.sh` knows, and waits until it is done.
    pub fn tell(&mut self, word: &str) {
        writeln!(self.held.stdin.as_mut().unwrap(), "{word}").unwrap();
        assert_eq!(self.line(), format!("{word} done"));
    }

    /// What its own client answers to `sql`.
    pub fn ask(&self, sql: &str) -> String {
        let port = self.port.to_string();
        let done = Command::new("psql")
            .args(["-qAt", "-h", &self.folder, "-p", &port, "-U", "handline"])
            .args(["-d", "handline", "-c", sql])
            .output()
            .unwrap();
        assert!(done.status.success(), "{done:?}");
        String::from_utf8(done.stdout).unwrap().trim().into()
    }

    fn line(&mut self) -> String {
        let mut line = String::new();
        self.out.read_line(&mut line).unwrap();
        assert!(
            !line.is_empty(),
            "no PostgreSQL could be started; this test needs Debian's package postgresql"
        );
        line.trim().into()
    }
}

impl Drop for Cluster {
    fn drop(&mut self) {
        drop(self.held.stdin.take());
        let _ = self.held.wait();
    }
}

/// PostgreSQL refuses to run as root, and does as the user that Debian made for it.
fn script() -> Command {
    let text = include_str!("cluster.sh");
    let root = std::fs::metadata("/proc/self").unwrap().uid() == 0;
    let mut command = Command::new(if root { "runuser" } else { "sh" });
    if root {
        command.args(["-u", "postgres", "--", "sh"]);
    }
    command.args(["-c", text, "cluster"]);
    command
}

fn log() -> Stdio {
    match std::env::var_os("HANDLINE_TEST_POSTGRES_LOG") {
        Some(path) => std::fs::File::create(path).unwrap().into(),
        None => Stdio::null(),
    }
}
