//! Tries to sign in: after several that came to nothing the next has to wait.

use crate::audit::tell;
use crate::place::Records;
use crate::store::{Done, Write};
use crate::token::kept;

/// What tries are counted for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tries {
    /// A name, an address, or both. Only its SHA-256 is kept, since a name may be a
    /// password that was typed into the wrong field.
    pub of: String,
    /// So many may fail before the next has to wait.
    pub free: i64,
    /// A right try takes back all that failed, and not only itself.
    pub forgives: bool,
}

/// After an hour without a try, what failed before counts no longer.
const FORGOTTEN: i64 = 3600;

/// The first wait in seconds; each after it is twice as long.
const FIRST: i64 = 15;

/// The longest wait in seconds.
const LONGEST: i64 = 900;

/// How long the next try has to wait after `failed` of which `free` are.
fn wait(failed: i64, free: i64) -> i64 {
    match failed - free {
        past @ 0..=10 => (FIRST << past).min(LONGEST),
        past if past > 10 => LONGEST,
        _ => 0,
    }
}

impl Records {
    /// Enters a try, before it is known whether it is right: so that many at once cannot
    /// all come before the first is counted. Gives how many seconds it has to wait; then
    /// nothing was entered.
    ///
    /// # Errors
    /// [`RecordsError::Database`](crate::RecordsError::Database).
    pub async fn attempt(&self, counted: &[Tries], now: i64) -> Done<Option<i64>> {
        let mut write = self.store.write().await?;
        let mut longest = 0;
        for (key, one) in keys(counted) {
            let (failed, last) = held(&mut write, &key, now).await?;
            let forgotten = last + FORGOTTEN <= now;
            let failed = if forgotten { 0 } else { failed };
            longest = longest.max(last + wait(failed, one.free) - now);
            let sql = "UPDATE attempt SET failed = $2, last = $3 WHERE key = $1";
            let values = [key.into(), (failed + 1).into(), now.into()];
            write.run(sql, &values).await?;
        }
        if longest > 0 {
            return Ok(Some(longest));
        }
        let sql = "DELETE FROM attempt WHERE last < $1";
        write.run(sql, &[(now - FORGOTTEN).into()]).await?;
        write.commit().await?;
        Ok(None)
    }

    /// The try was right.
    ///
    /// # Errors
    /// [`RecordsError::Database`](crate::RecordsError::Database).
    pub async fn attempt_was_right(&self, counted: &[Tries]) -> Done<()> {
        let mut write = self.store.write().await?;
        for (key, one) in keys(counted) {
            let sql = match one.forgives {
                true => "DELETE FROM attempt WHERE key = $1",
                false => "UPDATE attempt SET failed = failed - 1 WHERE key = $1 AND failed > 0",
            };
            write.run(sql, &[key.into()]).await?;
        }
        write.commit().await
    }

    /// Enters into the audit trail that a try was wrong. `name` is who it was meant for,
    /// `None` where nobody is called so.
    ///
    /// # Errors
    /// [`RecordsError::Database`](crate::RecordsError::Database).
    pub async fn attempt_failed(&self, name: Option<&str>, from: &str, now: i64) -> Done<()> {
        let mut write = self.store.write().await?;
        let who = format!("somebody at {from}");
        let about = name.unwrap_or("a name that nobody has");
        tell(&mut write, (&who, now), None, "sign-in failed", about).await?;
        write.commit().await
    }
}

/// In the same order for everybody, so that no two wait for each other.
fn keys(counted: &[Tries]) -> Vec<(String, &Tries)> {
    let mut keys: Vec<_> = counted.iter().map(|one| (kept(&one.of), one)).collect();
    keys.sort_by(|a, b| a.0.cmp(&b.0));
    keys
}

/// How many tries failed, and when the last was; held until this change is done.
async fn held(write: &mut Write, key: &str, now: i64) -> Done<(i64, i64)> {
    let sql = "INSERT INTO attempt (key, failed, last) VALUES ($1, 0, $2) \
               ON CONFLICT (key) DO NOTHING";
    write.run(sql, &[key.into(), now.into()]).await?;
    let sql = "SELECT failed, last FROM attempt WHERE key = $1";
    let row = write.hold(sql, &[key.into()]).await?;
    let row = row.ok_or(sqlx::Error::RowNotFound)?;
    Ok((row.get("failed")?, row.get("last")?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_double_from_the_first_that_is_not_free_up_to_a_quarter_of_an_hour() {
        let waits: Vec<i64> = (0..=12).map(|failed| wait(failed, 5)).collect();
        let told = [0, 0, 0, 0, 0, 15, 30, 60, 120, 240, 480, 900, 900];
        assert_eq!(waits, told);
        assert_eq!(wait(i64::MAX, 5), LONGEST);
    }
}
