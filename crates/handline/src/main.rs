//! The `handline` command. It parses, calls one function, and renders.

mod args;
mod ask;
mod carry;
mod commands;
mod compare;
mod days;
mod elsewhere;
mod issued;
mod kept;
mod people;
mod print;
mod prove;
mod serve;
mod show;
mod tables;
mod watch;

use clap::Parser;
use std::io::Write;
use std::process::ExitCode;

fn main() -> ExitCode {
    let args = args::Args::parse();
    let outcome = commands::run(&args);
    // A closed pipe is the reader's choice, not an error.
    let _ = std::io::stdout().write_all(outcome.out.as_bytes());
    let _ = std::io::stderr().write_all(outcome.err.as_bytes());
    ExitCode::from(outcome.code)
}
