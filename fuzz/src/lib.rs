//! What must hold for any bytes at all, whoever makes them up: the fuzzer, or
//! the bounded test beside it.

/// Reads `bytes` as a book. Nothing may panic; and a book that reads must be
/// the same book after it has been written and read again. Says whether it read.
pub fn read_write_read(bytes: &[u8]) -> bool {
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
    true
}
