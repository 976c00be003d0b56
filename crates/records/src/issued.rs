//! The register of issued sheets.

use crate::issue::{Issue, NewIssue, Withdrawn};
use crate::model::RecordsError;
use crate::sqlite::{Done, Records};
use paper::Code;
use sqlx::sqlite::SqliteRow;
use sqlx::{Row, Sqlite, Transaction};

impl Records {
    /// Enters printed sheets of a book, all or none; gives their numbers in the register.
    ///
    /// # Errors
    /// [`RecordsError::NoBook`]; [`RecordsError::NoRevision`] when the book never had the
    /// revision that a sheet says it was printed from.
    pub async fn issue(&self, slug: &str, new: &[NewIssue], at: i64, who: &str) -> Done<Vec<i64>> {
        self.newest(slug).await?;
        let mut write = self.write().await?;
        let mut ids = Vec::new();
        for sheet in new {
            has_revision(&mut write, slug, sheet.revision).await?;
            ids.push(enter(&mut write, slug, sheet, (at, who)).await?);
        }
        write.commit().await?;
        Ok(ids)
    }

    /// Every sheet that was issued from a book, newest first; withdrawn ones too.
    ///
    /// # Errors
    /// [`RecordsError::NoBook`]; [`RecordsError::Told`].
    pub async fn issued(&self, slug: &str) -> Done<Vec<Issue>> {
        self.newest(slug).await?;
        let rows = sqlx::query("SELECT * FROM issued WHERE slug = ? ORDER BY id DESC")
            .bind(slug)
            .fetch_all(&self.pool)
            .await?;
        rows.iter().map(issue).collect()
    }

    /// Every sheet with this code, newest first: the same sheet may have been printed
    /// several times. The code as it is typed: capitals or not, hyphens or none. Empty
    /// when the register has none.
    ///
    /// # Errors
    /// [`RecordsError::Code`] when it can be no code, because it is mistyped.
    pub async fn by_code(&self, code: &str) -> Done<Vec<Issue>> {
        let code: Code = code.parse().map_err(|why| RecordsError::Code {
            typed: code.trim().into(),
            why,
        })?;
        let rows = sqlx::query("SELECT * FROM issued WHERE code = ? ORDER BY id DESC")
            .bind(code.to_string())
            .fetch_all(&self.pool)
            .await?;
        rows.iter().map(issue).collect()
    }

    /// Notes that a sheet was taken back: since `at`, by `who`, because of `why`. It
    /// stays in the register.
    ///
    /// # Errors
    /// [`RecordsError::NoIssue`]; [`RecordsError::Withdrawn`] when it was before.
    pub async fn withdraw(&self, id: i64, at: i64, who: &str, why: &str) -> Done<()> {
        let mut write = self.write().await?;
        let row = sqlx::query("SELECT code, withdrawn_at FROM issued WHERE id = ?")
            .bind(id)
            .fetch_optional(&mut *write)
            .await?;
        let row = row.ok_or(RecordsError::NoIssue(id))?;
        if row.try_get::<Option<i64>, _>("withdrawn_at")?.is_some() {
            let code = row.try_get("code")?;
            return Err(RecordsError::Withdrawn { code });
        }
        sqlx::query(
            "UPDATE issued SET withdrawn_at = ?, withdrawn_by = ?, withdrawn_why = ? WHERE id = ?",
        )
        .bind(at)
        .bind(who)
        .bind(why)
        .bind(id)
        .execute(&mut *write)
        .await?;
        Ok(write.commit().await?)
    }
}

async fn has_revision(
    write: &mut Transaction<'static, Sqlite>,
    slug: &str,
    number: i64,
) -> Done<()> {
    let found = sqlx::query("SELECT 1 FROM revision WHERE slug = ? AND number = ?")
        .bind(slug)
        .bind(number)
        .fetch_optional(&mut **write)
        .await?;
    let slug = slug.into();
    found
        .map(drop)
        .ok_or(RecordsError::NoRevision { slug, number })
}

async fn enter(
    write: &mut Transaction<'static, Sqlite>,
    slug: &str,
    sheet: &NewIssue,
    (at, who): (i64, &str),
) -> Done<i64> {
    let told = serde_json::to_string(&sheet.told).map_err(|error| RecordsError::Told {
        id: 0,
        why: error.to_string(),
    })?;
    let done = sqlx::query(
        "INSERT INTO issued (slug, revision, at, who, kind, subject, title, units, size, date, \
         code, digest, told) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
    )
    .bind(slug)
    .bind(sheet.revision)
    .bind(at)
    .bind(who)
    .bind(&sheet.kind)
    .bind(&sheet.subject)
    .bind(&sheet.title)
    .bind(&sheet.units)
    .bind(&sheet.size)
    .bind(&sheet.date)
    .bind(&sheet.code)
    .bind(&sheet.digest)
    .bind(told)
    .execute(&mut **write)
    .await?;
    Ok(done.last_insert_rowid())
}

fn issue(row: &SqliteRow) -> Done<Issue> {
    let id = row.try_get("id")?;
    let told: String = row.try_get("told")?;
    let told = serde_json::from_str(&told).map_err(|error| RecordsError::Told {
        id,
        why: error.to_string(),
    })?;
    Ok(Issue {
        id,
        slug: row.try_get("slug")?,
        at: row.try_get("at")?,
        who: row.try_get("who")?,
        kind: row.try_get("kind")?,
        subject: row.try_get("subject")?,
        title: row.try_get("title")?,
        units: row.try_get("units")?,
        size: row.try_get("size")?,
        date: row.try_get("date")?,
        code: row.try_get("code")?,
        digest: row.try_get("digest")?,
        revision: row.try_get("revision")?,
        told,
        withdrawn: withdrawn(row)?,
    })
}

fn withdrawn(row: &SqliteRow) -> Done<Option<Withdrawn>> {
    let Some(at) = row.try_get("withdrawn_at")? else {
        return Ok(None);
    };
    let who: Option<String> = row.try_get("withdrawn_by")?;
    let why: Option<String> = row.try_get("withdrawn_why")?;
    Ok(Some(Withdrawn {
        at,
        who: who.unwrap_or_default(),
        why: why.unwrap_or_default(),
    }))
}
