//! What must hold for any bytes at all, whoever makes them up: the fuzzer, or
//! the bounded test beside it.

use book::{Book, Conditions, LayoutError, SceneConditions, comparison};
use hydraulics::units::{System, psi};
use lay::Lay;

/// Reads `bytes` as a comparison and as a book. Nothing may panic; and what reads must
/// be the same after it has been written and read again, and each line and scene of a
/// book must be laid out and solved, or refused. Says whether it read as either.
pub fn read_write_read(bytes: &[u8]) -> bool {
    compare(bytes) || a_book(bytes)
}

fn compare(bytes: &[u8]) -> bool {
    // Against a book, so that names are looked up too.
    let for_book = comparison::read_for(bytes, "fuzz.toml", any_book());
    let first = match comparison::read(bytes, "fuzz.toml", System::Us) {
        Ok(first) => first,
        Err(problems) => {
            assert!(!problems.to_string().is_empty());
            assert!(for_book.is_err(), "it reads only for a book");
            return false;
        }
    };
    let written = comparison::write(&first);
    match comparison::read(written.as_bytes(), "written.toml", System::Us) {
        Ok(second) => assert_eq!(first, second, "the comparison changed:\n{written}"),
        Err(problem) => panic!("a written comparison does not read: {problem:?}\n{written}"),
    }
    true
}

fn a_book(bytes: &[u8]) -> bool {
    let first = match book::read(bytes, "fuzz.toml") {
        Ok(first) => first,
        Err(problems) => {
            assert!(!problems.to_string().is_empty());
            return false;
        }
    };
    let written = book::write(&first);
    match book::read(written.as_bytes(), "written.toml") {
        Ok(second) => assert_eq!(first, second, "the book changed when written:\n{written}"),
        Err(problem) => panic!("a written book does not read: {problem:?}\n{written}"),
    }
    lay_out(&first);
    true
}

/// A small book to read test days against.
pub fn any_book() -> &'static Book {
    static BOOK: std::sync::OnceLock<Book> = std::sync::OnceLock::new();
    BOOK.get_or_init(|| {
        let text = include_bytes!("../../books/saltmarsh-bend.toml");
        match book::read(text, "saltmarsh-bend.toml") {
            Ok(book) => book,
            Err(problems) => panic!("{problems:?}"),
        }
    })
}

/// Lines and scenes of one book that are solved: the fuzzer wants many books, not
/// long ones.
const SOLVED: usize = 24;

/// Lays out and solves the lines and scenes of `book`.
fn lay_out(book: &Book) {
    let held = Conditions {
        pump_pressure: Some(psi(150.0)),
        ..Conditions::default()
    };
    for line in book.line.keys().take(SOLVED) {
        solve(line, book::layout(book, line, &held).map(|laid| laid.lay));
    }
    for (name, at_work) in book.scene.iter().take(SOLVED) {
        let all = at_work.rig.keys().map(|rig| (rig.clone(), psi(150.0)));
        let held = SceneConditions {
            pump_pressure: all.collect(),
            ..SceneConditions::default()
        };
        // As written too: at its own pressure, at its speed, or held at nothing.
        for conditions in [&held, &SceneConditions::default()] {
            let laid = book::scene(book, name, conditions);
            solve(name, laid.map(|laid| laid.layout.lay));
        }
    }
}

/// Solves a lay; one that was refused says why.
fn solve(name: &str, lay: Result<Lay, LayoutError>) {
    match lay {
        Err(error) => assert!(!error.to_string().is_empty()),
        Ok(lay) => {
            let left = lay::solve(&lay).residual;
            let finite = left.flow.is_finite() && left.pressure.is_finite();
            assert!(finite, "{name}: what is left over is {left:?}");
        }
    }
}
