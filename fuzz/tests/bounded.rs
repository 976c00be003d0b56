//! The fuzz target without a fuzzer: seeded changes to the books that exist,
//! for where `cargo fuzz` cannot be had.

use std::path::Path;

const ROUNDS: usize = 20_000;

fn files(folder: &str) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut paths: Vec<_> = std::fs::read_dir(&folder)
        .expect("the folder can be listed")
        .map(|entry| entry.expect("an entry can be read").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
        .collect();
    paths.sort();
    paths
        .iter()
        .map(|path| std::fs::read(path).expect("a book can be opened"))
        .collect()
}

fn words() -> Vec<Vec<u8>> {
    include_str!("../book.dict")
        .lines()
        .filter_map(|line| line.strip_prefix('"')?.strip_suffix('"'))
        .map(|word| word.replace("\\\"", "\"").into_bytes())
        .collect()
}

/// Puts a word, a chance byte, or nothing in place of a short stretch.
fn change(bytes: &mut Vec<u8>, words: &[Vec<u8>], chance: &mut fastrand::Rng) {
    let start = chance.usize(..=bytes.len());
    let end = bytes.len().min(start + chance.usize(..8));
    let patch = match chance.u8(..3) {
        0 => words[chance.usize(..words.len())].clone(),
        1 => vec![chance.u8(..)],
        _ => Vec::new(),
    };
    bytes.splice(start..end, patch);
}

#[test]
fn law_any_bytes_read_or_are_refused() {
    let books = files("../books");
    let words = words();
    assert!(!books.is_empty() && !words.is_empty());
    assert!(books.iter().all(|bytes| fuzz::read_write_read(bytes)));

    let mut chance = fastrand::Rng::with_seed(1791);
    let mut read = 0;
    for _ in 0..ROUNDS {
        let mut bytes = books[chance.usize(..books.len())].clone();
        for _ in 0..chance.usize(1..6) {
            change(&mut bytes, &words, &mut chance);
        }
        read += usize::from(fuzz::read_write_read(&bytes));
    }
    assert!(0 < read && read < ROUNDS, "{read} of {ROUNDS} read");
}
