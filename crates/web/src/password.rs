//! Passwords: which are taken, and what is kept of them.
//!
//! What is kept is a hash by argon2id (RFC 9106) with 19 MiB, 2 passes and 1 lane: the
//! least that the OWASP Password Storage Cheat Sheet recommends (from memory).

use crate::fault::Fault;
use argon2::password_hash::{PasswordHash, PasswordHasher, PasswordVerifier, SaltString};
use argon2::{Algorithm, Argon2, Params, Version};
use std::sync::LazyLock;
use std::time::Duration;
use tokio::sync::Semaphore;

/// Memory in KiB, passes and lanes.
const COST: (u32, u32, u32) = (19 * 1024, 2, 1);

/// The fewest and the most characters of a password.
const LENGTH: std::ops::RangeInclusive<usize> = 12..=128;

/// So many are reckoned at once: each takes 19 MiB and a processor for a while.
const AT_ONCE: usize = 4;

/// Who has to wait longer than this for their turn is told to come again.
const PATIENCE: Duration = Duration::from_secs(10);

static TURNS: Semaphore = Semaphore::const_new(AT_ONCE);

/// Why a password is not taken, or cannot be kept.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PasswordError {
    /// It is easily guessed.
    #[error(
        "the password has {0} characters; take at least 12, as three or four words that belong to nobody"
    )]
    Short(usize),
    /// It is longer than is read.
    #[error("the password has {0} characters; at most 128 are taken")]
    Long(usize),
    /// It can be guessed from what everybody knows.
    #[error(
        "the password is among the first that are guessed: {0}; take three or four words that belong to nobody"
    )]
    Guessed(&'static str),
    /// The system gives no random numbers, or no memory.
    #[error("the password cannot be kept: {0}; nothing was saved, try again")]
    System(String),
}

/// Would `password` be taken from the person called `name`? Any characters will do, and
/// as many spaces as one likes.
///
/// # Errors
/// [`PasswordError`] says why it is not.
///
/// ```
/// use web::password::{PasswordError, sound};
/// assert!(sound("a lantern under the third stair", "Ann").is_ok());
/// assert_eq!(sound("hydrant", "Ann"), Err(PasswordError::Short(7)));
/// assert!(sound("ann ann ann ann", "Ann").is_err());
/// ```
pub fn sound(password: &str, name: &str) -> Result<(), PasswordError> {
    let length = password.chars().count();
    if length < *LENGTH.start() {
        return Err(PasswordError::Short(length));
    }
    if length > *LENGTH.end() {
        return Err(PasswordError::Long(length));
    }
    let plain = letters(password);
    let kinds: std::collections::BTreeSet<char> = plain.chars().collect();
    if kinds.len() < 5 {
        return Err(PasswordError::Guessed("it is a few characters over again"));
    }
    if LISTED.iter().any(|listed| plain == *listed) {
        return Err(PasswordError::Guessed("many people have it"));
    }
    let own = letters(name);
    let rest = match own.chars().count() {
        0..3 => plain.clone(),
        _ => plain.replace(&own, ""),
    };
    match rest.chars().count() < 8 {
        true => Err(PasswordError::Guessed("it is little more than the name")),
        false => Ok(()),
    }
}

/// In lower case, without spaces.
fn letters(text: &str) -> String {
    let plain = text.chars().filter(|c| !c.is_whitespace());
    plain.flat_map(char::to_lowercase).collect()
}

/// Long passwords that many people have: from memory, and no more than a beginning.
const LISTED: [&str; 24] = [
    "123456789012",
    "1234567890123",
    "12345678901234",
    "1234567890123456",
    "123456789abc",
    "abcdefghijkl",
    "abcdefghijklmnop",
    "administrator",
    "administrator1",
    "changemechangeme",
    "iloveyouiloveyou",
    "letmeinletmein",
    "passwordpassword",
    "password12345",
    "password123456",
    "password1234",
    "qwertyuiopas",
    "qwertyuiop[]",
    "qwertyuiop123",
    "qwertyqwerty",
    "1qaz2wsx3edc",
    "welcomewelcome",
    "firefighter1",
    "firedepartment",
];

fn argon2() -> Result<Argon2<'static>, PasswordError> {
    let (memory, passes, lanes) = COST;
    let params = Params::new(memory, passes, lanes, None).map_err(system)?;
    Ok(Argon2::new(Algorithm::Argon2id, Version::V0x13, params))
}

fn system(why: impl std::fmt::Display) -> PasswordError {
    PasswordError::System(why.to_string())
}

/// What is kept of a password: its hash by argon2id with a random salt, as a PHC string.
/// Takes 19 MiB and some tens of milliseconds. Whether the password is taken at all, ask
/// [`sound`].
///
/// # Errors
/// [`PasswordError::System`].
pub fn hash(password: &str) -> Result<String, PasswordError> {
    let mut salt = [0; 16];
    getrandom::fill(&mut salt).map_err(system)?;
    let salt = SaltString::encode_b64(&salt).map_err(system)?;
    let hash = argon2()?
        .hash_password(password.as_bytes(), &salt)
        .map_err(system)?;
    Ok(hash.to_string())
}

/// Is it the password of which `hash` was kept? A hash that cannot be read is nobody's.
///
/// ```
/// let kept = web::password::hash("a lantern under the third stair")?;
/// assert!(kept.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"));
/// assert!(web::password::verify("a lantern under the third stair", &kept));
/// assert!(!web::password::verify("a lantern under the third stairs", &kept));
/// # Ok::<(), web::password::PasswordError>(())
/// ```
pub fn verify(password: &str, hash: &str) -> bool {
    let Ok(hash) = PasswordHash::new(hash) else {
        return false;
    };
    argon2().is_ok_and(|argon2| argon2.verify_password(password.as_bytes(), &hash).is_ok())
}

/// Nobody's: what a password is held against when there is no such person, so that the
/// answer takes as long.
static NOBODY: LazyLock<String> =
    LazyLock::new(|| hash("nobody has this password").unwrap_or_default());

/// Has the hash ready that unknown names are held against.
pub(crate) fn ready() {
    LazyLock::force(&NOBODY);
}

/// Holds a password against the hash of a person, or against nobody's, beside other work
/// and when there is a turn.
pub(crate) async fn verified(password: String, hash: Option<String>) -> Result<bool, Fault> {
    in_turn(move || match hash {
        Some(hash) => verify(&password, &hash),
        None => {
            verify(&password, &NOBODY);
            false
        }
    })
    .await
}

/// The hash of a password, beside other work and when there is a turn.
pub(crate) async fn hashed(password: String) -> Result<String, Fault> {
    let hash = in_turn(move || hash(&password)).await?;
    hash.map_err(|error| Fault::Stopped(error.to_string()))
}

async fn in_turn<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, Fault> {
    let turn = tokio::time::timeout(PATIENCE, TURNS.acquire()).await;
    let Ok(Ok(_turn)) = turn else {
        return Err(Fault::Busy);
    };
    crate::paper::beside(work).await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_guessed_first_is_not_taken() {
        for (password, name) in [
            ("", "Ann"),
            ("elevenchars", "Ann"),
            ("aaaaaaaaaaaaaaa", "Ann"),
            ("abababababababab", "Ann"),
            ("Password 1234 56", "Ann"),
            ("Captain Rivers 1", "Captain Rivers"),
            ("captainriverscaptainrivers", "Captain Rivers"),
        ] {
            assert!(sound(password, name).is_err(), "{password}");
        }
        assert!(sound(&"é1x".repeat(43), "Ann").is_err());
        for password in [
            "correct horse battery",
            "消防署の三番目の階段の下の",
            "   a b c d e f g h",
        ] {
            assert!(sound(password, "Ann").is_ok(), "{password}");
        }
    }

    #[test]
    fn a_password_is_known_again_to_the_last_character() {
        let long = "x".repeat(127) + "é";
        let kept = hash(&long).unwrap_or_default();
        assert!(verify(&long, &kept));
        assert!(!verify(&("x".repeat(127) + "e"), &kept));
        assert!(!verify("anything", "no hash"));
        assert!(!verify("", &kept));
    }
}
