//! Links that let in without signing in: a reader's link to one issued sheet, and the
//! link by which somebody sets a password of their own.

use crate::audit::{By, tell};
use crate::model::RecordsError;
use crate::people::{Role, give};
use crate::place::Records;
use crate::store::{Done, Row};
use crate::token::kept;

/// A reader's link: shows one issued sheet to whoever has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// Its number.
    pub id: i64,
    /// The department's book.
    pub slug: String,
    /// The sheet's number in the register.
    pub issue: i64,
    /// Who made it, and when.
    pub by: By,
    /// Good until then, seconds since 1970.
    pub ends: i64,
    /// Who withdrew it, and when.
    pub withdrawn: Option<By>,
}

impl Link {
    /// It shows its sheet.
    pub fn is_good(&self, now: i64) -> bool {
        self.withdrawn.is_none() && self.ends > now
    }
}

/// A link that is to be made.
#[derive(Debug, Clone, Copy)]
pub struct NewLink<'a> {
    /// A random token that nobody had before. Only its SHA-256 is kept.
    pub token: &'a str,
    /// Good until then, seconds since 1970.
    pub ends: i64,
}

/// What came of adding somebody.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Joined {
    /// They were unknown, and set their password by the link.
    New,
    /// They were known already, and have a password or a link of their own.
    Known,
}

const LINK: &str = "SELECT id, slug, issue, at, who, ends, withdrawn_at, withdrawn_by FROM link \
                    WHERE token = $1";

impl Records {
    /// Makes a reader's link for a sheet of the register; gives its number.
    ///
    /// # Errors
    /// [`RecordsError::NoIssue`] when the department's register has no such sheet.
    pub async fn make_link(&self, slug: &str, issue: i64, new: &NewLink<'_>, by: &By) -> Done<i64> {
        let mut write = self.store.write().await?;
        let sql = "SELECT code FROM issued WHERE id = $1 AND slug = $2";
        let row = write.one(sql, &[issue.into(), slug.into()]).await?;
        let code: String = row.ok_or(RecordsError::NoIssue(issue))?.get("code")?;
        let sql = "INSERT INTO link (token, slug, issue, at, who, ends) \
                   VALUES ($1, $2, $3, $4, $5, $6) RETURNING id";
        let values = [
            kept(new.token).into(),
            slug.into(),
            issue.into(),
            by.at.into(),
            (&by.who).into(),
            new.ends.into(),
        ];
        let id = write.id(sql, &values).await?;
        let who = (by.who.as_str(), by.at);
        let about = format!("{code}, link {id}");
        tell(&mut write, who, Some(slug), "reader's link made", &about).await?;
        write.commit().await?;
        Ok(id)
    }

    /// The link of a token, good or not.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn link(&self, token: &str) -> Done<Option<Link>> {
        let row = self.store.one(LINK, &[kept(token).into()]).await?;
        row.as_ref().map(link).transpose()
    }

    /// Every link of a department, the latest first.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn links(&self, slug: &str) -> Done<Vec<Link>> {
        let sql = "SELECT id, slug, issue, at, who, ends, withdrawn_at, withdrawn_by FROM link \
                   WHERE slug = $1 ORDER BY id DESC";
        let rows = self.store.all(sql, &[slug.into()]).await?;
        rows.iter().map(link).collect()
    }

    /// Takes a link back; `false` when the department has none of that number that was not
    /// withdrawn before.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn withdraw_link(&self, slug: &str, id: i64, by: &By) -> Done<bool> {
        let mut write = self.store.write().await?;
        let sql = "UPDATE link SET withdrawn_at = $3, withdrawn_by = $4 \
                   WHERE slug = $1 AND id = $2 AND withdrawn_at IS NULL";
        let values = [slug.into(), id.into(), by.at.into(), (&by.who).into()];
        if write.run(sql, &values).await? == 0 {
            return Ok(false);
        }
        let who = (by.who.as_str(), by.at);
        let about = format!("link {id}");
        tell(
            &mut write,
            who,
            Some(slug),
            "reader's link withdrawn",
            &about,
        )
        .await?;
        write.commit().await?;
        Ok(true)
    }

    /// Gives somebody a role in a department. Who is unknown becomes known, and sets a
    /// password by `welcome`.
    ///
    /// # Errors
    /// As [`Records::set_role`]; [`RecordsError::Unnamed`].
    pub async fn add_person(
        &self,
        slug: &str,
        (name, role): (&str, Role),
        welcome: &NewLink<'_>,
        by: &By,
    ) -> Done<Joined> {
        if name.trim().is_empty() {
            return Err(RecordsError::Unnamed("a person"));
        }
        let mut write = self.store.write().await?;
        let sql = "INSERT INTO person (name, hash, since) VALUES ($1, NULL, $2) \
                   ON CONFLICT (name) DO NOTHING";
        let new = write.run(sql, &[name.into(), by.at.into()]).await? > 0;
        let who = (by.who.as_str(), by.at);
        if new {
            welcomed(&mut write, name, welcome, by).await?;
            tell(&mut write, who, Some(slug), "person added", name).await?;
        }
        give(&mut write, slug, name, Some(role), by).await?;
        write.commit().await?;
        Ok(if new { Joined::New } else { Joined::Known })
    }

    /// Gives somebody a link to set another password; `false` when they may do something
    /// in a department of which `by` is no keeper, or nothing in `slug`: whoever sets a
    /// password can do all that its owner may.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn make_welcome(
        &self,
        slug: &str,
        name: &str,
        welcome: &NewLink<'_>,
        by: &By,
    ) -> Done<bool> {
        let mut write = self.store.write().await?;
        let sql = "SELECT slug FROM post WHERE name = $1 AND slug NOT IN \
                   (SELECT slug FROM post WHERE name = $2 AND role = 'keeper')";
        let others = write.all(sql, &[name.into(), (&by.who).into()]).await?;
        let sql = "SELECT role FROM post WHERE slug = $1 AND name = $2";
        let own = write.one(sql, &[slug.into(), name.into()]).await?;
        if own.is_none() || !others.is_empty() {
            return Ok(false);
        }
        welcomed(&mut write, name, welcome, by).await?;
        let who = (by.who.as_str(), by.at);
        tell(&mut write, who, Some(slug), "new password link made", name).await?;
        write.commit().await?;
        Ok(true)
    }

    /// Whose password the link of a token sets; `None` when it is over or was used.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn welcome(&self, token: &str, now: i64) -> Done<Option<String>> {
        let sql = "SELECT name FROM welcome WHERE token = $1 AND ends > $2";
        let values = [kept(token).into(), now.into()];
        let row = self.store.one(sql, &values).await?;
        row.map(|row| row.get("name")).transpose()
    }

    /// Sets the password by a link, which is used up; ends every session of its owner.
    /// Gives whose it was; `None`, and nothing is changed, when the link is over or was
    /// used.
    ///
    /// # Errors
    /// [`RecordsError::Hash`].
    pub async fn use_welcome(
        &self,
        token: &str,
        hash: &str,
        (from, now): (&str, i64),
    ) -> Done<Option<String>> {
        if !hash.starts_with("$argon2id$") {
            return Err(RecordsError::Hash);
        }
        let mut write = self.store.write().await?;
        let sql = "DELETE FROM welcome WHERE token = $1 AND ends > $2 RETURNING name";
        let values = [kept(token).into(), now.into()];
        let Some(row) = write.one(sql, &values).await? else {
            return Ok(None);
        };
        let name: String = row.get("name")?;
        let sql = "UPDATE person SET hash = $2 WHERE name = $1";
        write.run(sql, &[(&name).into(), hash.into()]).await?;
        let sql = "DELETE FROM session WHERE name = $1";
        write.run(sql, &[(&name).into()]).await?;
        let who = format!("{name} at {from}");
        tell(&mut write, (&who, now), None, "password set", &name).await?;
        write.commit().await?;
        Ok(Some(name))
    }
}

async fn welcomed(
    write: &mut crate::store::Write,
    name: &str,
    welcome: &NewLink<'_>,
    by: &By,
) -> Done<()> {
    let sql = "INSERT INTO welcome (name, token, at, who, ends) VALUES ($1, $2, $3, $4, $5) \
               ON CONFLICT (name) DO UPDATE SET token = excluded.token, at = excluded.at, \
               who = excluded.who, ends = excluded.ends";
    let values = [
        name.into(),
        kept(welcome.token).into(),
        by.at.into(),
        (&by.who).into(),
        welcome.ends.into(),
    ];
    write.run(sql, &values).await?;
    Ok(())
}

fn link(row: &Row) -> Done<Link> {
    let who: String = row.get("who")?;
    let at: Option<i64> = row.get("withdrawn_at")?;
    let withdrawn: Option<String> = row.get("withdrawn_by")?;
    Ok(Link {
        id: row.get("id")?,
        slug: row.get("slug")?,
        issue: row.get("issue")?,
        by: By::new(&who, row.get("at")?),
        ends: row.get("ends")?,
        withdrawn: at.map(|at| By::new(&withdrawn.unwrap_or_default(), at)),
    })
}
