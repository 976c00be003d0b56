//! The register of issued sheets.

use crate::audit::tell;
use crate::issue::{Issue, NewIssue, Withdrawn};
use crate::model::RecordsError;
use crate::place::Records;
use crate::store::{Done, Row, Write};
use paper::{Code, Told};
use std::collections::BTreeMap;

impl Records {
    /// Enters printed sheets of a book, all or none; gives their numbers in the register.
    ///
    /// # Errors
    /// [`RecordsError::NoBook`]; [`RecordsError::NoRevision`] when the book never had the
    /// revision that a sheet says it was printed from.
    pub async fn issue(&self, slug: &str, new: &[NewIssue], at: i64, who: &str) -> Done<Vec<i64>> {
        self.newest(slug).await?;
        let mut write = self.store.write().await?;
        let mut ids = Vec::new();
        for sheet in new {
            has_revision(&mut write, slug, sheet.revision).await?;
            ids.push(enter(&mut write, slug, sheet, (at, who)).await?);
            tell(
                &mut write,
                (who, at),
                Some(slug),
                "sheet issued",
                &sheet.code,
            )
            .await?;
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
        let sql = "SELECT * FROM issued WHERE slug = $1 ORDER BY id DESC";
        let rows = self.store.all(sql, &[slug.into()]).await?;
        issues(&rows)
    }

    /// The sheets issued from a book with a number below `before`, newest first: the next page
    /// of a list that ended with that number.
    ///
    /// # Errors
    /// [`RecordsError::Told`].
    pub async fn issued_before(&self, slug: &str, before: i64, at_most: i64) -> Done<Vec<Issue>> {
        let sql = "SELECT * FROM issued WHERE slug = $1 AND id < $2 ORDER BY id DESC LIMIT $3";
        let values = [slug.into(), before.into(), at_most.into()];
        let rows = self.store.all(sql, &values).await?;
        issues(&rows)
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
        let sql = "SELECT * FROM issued WHERE code = $1 ORDER BY id DESC";
        let rows = self.store.all(sql, &[code.to_string().into()]).await?;
        issues(&rows)
    }

    /// Notes that a sheet was taken back: since `at`, by `who`, because of `why`. It
    /// stays in the register.
    ///
    /// # Errors
    /// [`RecordsError::NoIssue`]; [`RecordsError::Withdrawn`] when it was before.
    pub async fn withdraw(&self, id: i64, at: i64, who: &str, why: &str) -> Done<()> {
        let mut write = self.store.write().await?;
        let sql = "SELECT slug, code, withdrawn_at FROM issued WHERE id = $1";
        let row = write.hold(sql, &[id.into()]).await?;
        let row = row.ok_or(RecordsError::NoIssue(id))?;
        let (slug, code): (String, String) = (row.get("slug")?, row.get("code")?);
        if row.get::<Option<i64>>("withdrawn_at")?.is_some() {
            return Err(RecordsError::Withdrawn { code });
        }
        let sql = "UPDATE issued SET withdrawn_at = $1, withdrawn_by = $2, withdrawn_why = $3 \
                   WHERE id = $4";
        write
            .run(sql, &[at.into(), who.into(), why.into(), id.into()])
            .await?;
        tell(&mut write, (who, at), Some(&slug), "sheet withdrawn", &code).await?;
        write.commit().await
    }
}

async fn has_revision(write: &mut Write, slug: &str, number: i64) -> Done<()> {
    let sql = "SELECT number FROM revision WHERE slug = $1 AND number = $2";
    let found = write.one(sql, &[slug.into(), number.into()]).await?;
    let slug = slug.into();
    found
        .map(drop)
        .ok_or(RecordsError::NoRevision { slug, number })
}

async fn enter(
    write: &mut Write,
    slug: &str,
    sheet: &NewIssue,
    (at, who): (i64, &str),
) -> Done<i64> {
    let told = serde_json::to_string(&sheet.told).map_err(|error| RecordsError::Told {
        id: 0,
        why: error.to_string(),
    })?;
    let sql = "INSERT INTO issued (slug, revision, at, who, kind, subject, title, units, size, \
         date, code, digest, told) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13) RETURNING id";
    let values = [
        slug.into(),
        sheet.revision.into(),
        at.into(),
        who.into(),
        (&sheet.kind).into(),
        (&sheet.subject).into(),
        (&sheet.title).into(),
        (&sheet.units).into(),
        (&sheet.size).into(),
        (&sheet.date).into(),
        (&sheet.code).into(),
        (&sheet.digest).into(),
        told.into(),
    ];
    write.id(sql, &values).await
}

/// The sheets of some rows. The same sheet is printed again and again: what it says is read
/// once.
fn issues(rows: &[Row]) -> Done<Vec<Issue>> {
    let mut read: BTreeMap<String, Vec<Told>> = BTreeMap::new();
    let issues = rows.iter().map(|row| {
        let (id, text): (i64, String) = (row.get("id")?, row.get("told")?);
        let told = match read.get(&text) {
            Some(told) => told.clone(),
            None => {
                let told: Vec<Told> =
                    serde_json::from_str(&text).map_err(|error| RecordsError::Told {
                        id,
                        why: error.to_string(),
                    })?;
                read.insert(text, told.clone());
                told
            }
        };
        issue(row, told)
    });
    issues.collect()
}

fn issue(row: &Row, told: Vec<Told>) -> Done<Issue> {
    Ok(Issue {
        id: row.get("id")?,
        slug: row.get("slug")?,
        at: row.get("at")?,
        who: row.get("who")?,
        kind: row.get("kind")?,
        subject: row.get("subject")?,
        title: row.get("title")?,
        units: row.get("units")?,
        size: row.get("size")?,
        date: row.get("date")?,
        code: row.get("code")?,
        digest: row.get("digest")?,
        revision: row.get("revision")?,
        told,
        withdrawn: withdrawn(row)?,
    })
}

fn withdrawn(row: &Row) -> Done<Option<Withdrawn>> {
    let Some(at) = row.get::<Option<i64>>("withdrawn_at")? else {
        return Ok(None);
    };
    let who: Option<String> = row.get("withdrawn_by")?;
    let why: Option<String> = row.get("withdrawn_why")?;
    Ok(Some(Withdrawn {
        at,
        who: who.unwrap_or_default(),
        why: why.unwrap_or_default(),
    }))
}
