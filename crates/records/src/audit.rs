//! The audit trail: who did what, and when.

use crate::place::Records;
use crate::store::{Done, Row, Write};

/// Who does something, and when.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct By {
    /// Who; may be empty.
    pub who: String,
    /// When, seconds since 1970.
    pub at: i64,
}

impl By {
    /// `who` at `at`, seconds since 1970.
    pub fn new(who: &str, at: i64) -> Self {
        By {
            who: who.into(),
            at,
        }
    }
}

/// A line of the audit trail. It is written together with what it tells of, and never
/// changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Deed {
    /// Its number in the trail.
    pub id: i64,
    /// Who, and when.
    pub by: By,
    /// The department's book; `None` for what concerns them all.
    pub slug: Option<String>,
    /// What was done, in a few words: "book saved", "equipment retired".
    pub what: String,
    /// To what: a revision, a code, a serial number, a name.
    pub about: String,
}

impl Records {
    /// What was done to a department's records, the latest first.
    ///
    /// # Errors
    /// [`RecordsError::Database`](crate::RecordsError::Database).
    pub async fn audit(&self, slug: &str, at_most: i64) -> Done<Vec<Deed>> {
        let sql = "SELECT id, at, who, slug, what, about FROM audit \
                   WHERE slug = $1 ORDER BY id DESC LIMIT $2";
        let rows = self.store.all(sql, &[slug.into(), at_most.into()]).await?;
        rows.iter().map(deed).collect()
    }

    /// Enters that somebody asked for what they may not, in the trail of the department
    /// that they asked about.
    ///
    /// # Errors
    /// [`RecordsError::Database`](crate::RecordsError::Database).
    pub async fn was_refused(&self, slug: &str, what: &str, by: &By) -> Done<()> {
        let short = |text: &str| text.chars().take(200).collect::<String>();
        let (slug, about) = (short(slug), short(what));
        let slug = (!slug.is_empty()).then_some(slug.as_str());
        let mut write = self.store.write().await?;
        tell(&mut write, (&by.who, by.at), slug, "refused", &about).await?;
        write.commit().await
    }

    /// One page of what was done to a department's records, and who of its people signed in
    /// and out, the latest first: what came before the number `before`, or all.
    ///
    /// # Errors
    /// [`RecordsError::Database`](crate::RecordsError::Database).
    pub async fn trail(&self, slug: &str, before: Option<i64>, at_most: i64) -> Done<Vec<Deed>> {
        let before = before.unwrap_or(i64::MAX);
        let sql = "SELECT id, at, who, slug, what, about FROM (SELECT * FROM ( \
                   SELECT id, at, who, slug, what, about FROM audit \
                   WHERE slug = $1 AND id < $2 ORDER BY id DESC LIMIT $3) AS own \
                   UNION ALL SELECT * FROM ( \
                   SELECT id, at, who, slug, what, about FROM audit \
                   WHERE slug IS NULL AND about IN (SELECT name FROM post WHERE slug = $1) \
                   AND id < $2 ORDER BY id DESC LIMIT $3) AS people) AS both_of_them \
                   ORDER BY id DESC LIMIT $3";
        let values = [slug.into(), before.into(), at_most.into()];
        let rows = self.store.all(sql, &values).await?;
        rows.iter().map(deed).collect()
    }

    /// What was done to all records, of every department or of none, the latest first.
    ///
    /// # Errors
    /// [`RecordsError::Database`](crate::RecordsError::Database).
    pub async fn audit_of_all(&self, at_most: i64) -> Done<Vec<Deed>> {
        let sql = "SELECT id, at, who, slug, what, about FROM audit ORDER BY id DESC LIMIT $1";
        let rows = self.store.all(sql, &[at_most.into()]).await?;
        rows.iter().map(deed).collect()
    }
}

/// Adds a line, which is kept if `write` is.
pub(crate) async fn tell(
    write: &mut Write,
    by: (&str, i64),
    slug: Option<&str>,
    what: &str,
    about: &str,
) -> Done<()> {
    let sql = "INSERT INTO audit (at, who, slug, what, about) VALUES ($1, $2, $3, $4, $5)";
    let (who, at) = by;
    let values = [
        at.into(),
        who.into(),
        slug.into(),
        what.into(),
        about.into(),
    ];
    write.run(sql, &values).await?;
    Ok(())
}

fn deed(row: &Row) -> Done<Deed> {
    let who: String = row.get("who")?;
    Ok(Deed {
        id: row.get("id")?,
        by: By::new(&who, row.get("at")?),
        slug: row.get("slug")?,
        what: row.get("what")?,
        about: row.get("about")?,
    })
}
