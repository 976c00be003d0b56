//! What is kept of a secret that is random and long: enough to know it again.

use sha2::{Digest, Sha256};
use std::fmt::Write;

/// The SHA-256 of `secret`, in hexadecimal. A random token of 256 bits cannot be guessed,
/// so that a fast hash is enough.
pub(crate) fn kept(secret: &str) -> String {
    let mut hex = String::with_capacity(64);
    for byte in Sha256::digest(secret.as_bytes()) {
        // Writing into a String cannot fail.
        let _ = write!(hex, "{byte:02x}");
    }
    hex
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4's own example, from memory.
    #[test]
    fn book_the_hash_of_abc_is_the_standards() {
        let hash = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(kept("abc"), hash);
    }
}
