//! Reads whatever the fuzzer makes up.

#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    fuzz::read_write_read(bytes);
});
