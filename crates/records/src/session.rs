//! Who is signed in, in which browser.

use crate::audit::{By, tell};
use crate::place::Records;
use crate::store::{Done, Row};
use crate::token::kept;

/// A browser in which somebody is signed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Session {
    /// Who.
    pub name: String,
    /// Signed in at, seconds since 1970.
    pub made: i64,
    /// The last page asked for, to the minute.
    pub seen: i64,
    /// Over at this moment, whatever is done until then.
    pub ends: i64,
    /// It is the one asked with.
    pub own: bool,
}

/// Somebody whose password was found right.
#[derive(Debug, Clone, Copy)]
pub struct SigningIn<'a> {
    /// Who.
    pub name: &'a str,
    /// The hash that the password was held against.
    pub hash: &'a str,
    /// A random token that nobody had before. Only its SHA-256 is kept.
    pub token: &'a str,
    /// The token that the browser had before, which is good no longer.
    pub before: Option<&'a str>,
    /// Over at this moment, seconds since 1970.
    pub ends: i64,
    /// The address that it came from, for the audit trail.
    pub from: &'a str,
    /// Now, seconds since 1970.
    pub at: i64,
}

/// How old what a session has seen may be before it is written anew, in seconds.
const TO_THE_MINUTE: i64 = 60;

impl Records {
    /// Keeps that somebody is signed in. Gives `false`, and keeps nothing, when the
    /// password was changed or taken away in the meantime.
    ///
    /// # Errors
    /// [`RecordsError::Database`](crate::RecordsError::Database).
    pub async fn sign_in(&self, new: &SigningIn<'_>) -> Done<bool> {
        let mut write = self.store.write().await?;
        let sql = "SELECT hash FROM person WHERE name = $1";
        let person = write.hold(sql, &[new.name.into()]).await?;
        let hash: Option<String> = person.map(|row| row.get("hash")).transpose()?.flatten();
        if hash.as_deref() != Some(new.hash) {
            return Ok(false);
        }
        let before = new.before.map(kept);
        let sql = "DELETE FROM session WHERE ends <= $1 OR token = $2";
        let values = [new.at.into(), before.as_deref().into()];
        write.run(sql, &values).await?;
        let sql = "INSERT INTO session (token, name, made, seen, ends) VALUES ($1, $2, $3, $3, $4)";
        let values = [
            kept(new.token).into(),
            new.name.into(),
            new.at.into(),
            new.ends.into(),
        ];
        write.run(sql, &values).await?;
        let who = format!("{} at {}", new.name, new.from);
        tell(&mut write, (&who, new.at), None, "signed in", new.name).await?;
        write.commit().await?;
        Ok(true)
    }

    /// Who is signed in with a token: `None` when nobody is, when the session is over, or
    /// when nothing was asked for in `idle` seconds. `awake` says that somebody asked, and
    /// not a page by itself.
    ///
    /// # Errors
    /// [`RecordsError::Database`](crate::RecordsError::Database).
    pub async fn session(
        &self,
        token: &str,
        now: i64,
        idle: i64,
        awake: bool,
    ) -> Done<Option<Session>> {
        let token = kept(token);
        let sql = "SELECT token, name, made, seen, ends FROM session \
                   WHERE token = $1 AND ends > $2 AND seen > $3";
        let values = [(&token).into(), now.into(), (now - idle).into()];
        let Some(row) = self.store.one(sql, &values).await? else {
            return Ok(None);
        };
        let session = session(&row, &token)?;
        if awake && session.seen + TO_THE_MINUTE <= now {
            let mut write = self.store.write().await?;
            let sql = "UPDATE session SET seen = $2 WHERE token = $1 AND seen < $2";
            write.run(sql, &[(&token).into(), now.into()]).await?;
            write.commit().await?;
        }
        Ok(Some(session))
    }

    /// Every session of somebody that is not over, the latest seen first; `token` says
    /// which is the one asked with.
    ///
    /// # Errors
    /// [`RecordsError::Database`](crate::RecordsError::Database).
    pub async fn sessions(
        &self,
        name: &str,
        token: &str,
        now: i64,
        idle: i64,
    ) -> Done<Vec<Session>> {
        let token = kept(token);
        let sql = "SELECT token, name, made, seen, ends FROM session \
                   WHERE name = $1 AND ends > $2 AND seen > $3 ORDER BY seen DESC, made DESC, token";
        let values = [name.into(), now.into(), (now - idle).into()];
        let rows = self.store.all(sql, &values).await?;
        rows.iter().map(|row| session(row, &token)).collect()
    }

    /// Ends the session of a token.
    ///
    /// # Errors
    /// [`RecordsError::Database`](crate::RecordsError::Database).
    pub async fn sign_out(&self, token: &str, by: &By) -> Done<()> {
        let mut write = self.store.write().await?;
        let sql = "DELETE FROM session WHERE token = $1";
        if write.run(sql, &[kept(token).into()]).await? > 0 {
            let who = (by.who.as_str(), by.at);
            tell(&mut write, who, None, "signed out", &by.who).await?;
        }
        write.commit().await
    }

    /// Ends every other session of who does it.
    ///
    /// # Errors
    /// [`RecordsError::Database`](crate::RecordsError::Database).
    pub async fn sign_out_elsewhere(&self, token: &str, by: &By) -> Done<()> {
        let mut write = self.store.write().await?;
        let sql = "DELETE FROM session WHERE name = $1 AND token <> $2";
        let values = [(&by.who).into(), kept(token).into()];
        write.run(sql, &values).await?;
        let who = (by.who.as_str(), by.at);
        tell(&mut write, who, None, "signed out elsewhere", &by.who).await?;
        write.commit().await
    }
}

fn session(row: &Row, own: &str) -> Done<Session> {
    Ok(Session {
        name: row.get("name")?,
        made: row.get("made")?,
        seen: row.get("seen")?,
        ends: row.get("ends")?,
        own: row.get::<String>("token")? == own,
    })
}
