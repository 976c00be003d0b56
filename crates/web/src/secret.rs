//! Numbers that nobody can guess, from the system.

use crate::fault::Fault;

/// 256 bits, in hexadecimal.
pub(crate) fn token() -> Result<String, Fault> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes).map_err(|error| Fault::Stopped(error.to_string()))?;
    Ok(hex(&bytes))
}

/// A few letters by which something is found again; it keeps nothing secret.
pub(crate) fn short() -> String {
    let mut bytes = [0; 4];
    // Without random numbers it is the same each time, and does no harm.
    let _ = getrandom::fill(&mut bytes);
    hex(&bytes)
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_has_256_bits_and_comes_once() {
        let tokens: std::collections::BTreeSet<String> =
            (0..100).filter_map(|_| token().ok()).collect();
        assert_eq!(tokens.len(), 100);
        assert!(tokens.iter().all(|token| token.len() == 64));
    }
}
