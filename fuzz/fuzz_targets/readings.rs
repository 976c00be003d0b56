//! Readings of a test day from whatever the fuzzer makes up: a table, a workbook, or
//! neither; what is read is reduced too.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let book = fuzz::any_book();
    if let Ok(taken) = study::proof::read_day(bytes, "any", book, None) {
        assert!(taken.taken <= taken.rows);
        // Reducing is slow for many points, and no length makes it differ in kind.
        if taken.rows <= 40 {
            let _ = study::proof::prove(book, &taken.day);
        }
    }
});
