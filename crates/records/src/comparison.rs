//! Comparisons that a department keeps: each with every text it has had.

use crate::audit::{By, tell};
use crate::model::RecordsError;
use crate::place::Records;
use crate::store::{Done, Row, Write, file};

/// One version of a comparison, without its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ComparisonEntry {
    /// The department's book.
    pub slug: String,
    /// The comparison's own name in addresses.
    pub name: String,
    /// Which version this is, counted from 1.
    pub number: i64,
    /// The newest version.
    pub newest: i64,
    /// What it is about.
    pub title: String,
    /// Who saved this version, and when.
    pub by: By,
    /// Who withdrew the comparison, and when.
    pub withdrawn: Option<By>,
}

/// A version with its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptComparison {
    /// Its line of the list.
    pub entry: ComparisonEntry,
    /// The comparison's file, to the byte.
    pub text: String,
}

/// A comparison that is to be saved.
#[derive(Debug, Clone, Copy)]
pub struct NewComparison<'a> {
    /// Its own name in addresses: "crosslays".
    pub name: &'a str,
    /// What it is about.
    pub title: &'a str,
    /// Its file.
    pub text: &'a str,
}

/// Versions, the text left out.
macro_rules! entries {
    ($text:literal, $where:literal) => {
        concat!(
            "SELECT comparison.slug, comparison.name, number, version, title, at, who, \
             withdrawn_at, withdrawn_by",
            $text,
            " FROM comparison JOIN comparison_version ON comparison_version.slug = \
             comparison.slug AND comparison_version.name = comparison.name \
             WHERE comparison.slug = $1",
            $where
        )
    };
}

impl Records {
    /// Saves a comparison of a department: as a new one without `base`, else as the version
    /// after `base`, which must be the newest. Earlier versions stay. Gives its version.
    ///
    /// # Errors
    /// [`RecordsError::ComparisonTaken`] when there is one of that name and no `base`;
    /// [`RecordsError::ComparisonStale`] when somebody saved since, and
    /// [`RecordsError::ComparisonWithdrawn`] when it was withdrawn: then nothing is written.
    /// [`RecordsError::NoBook`], [`RecordsError::NoComparison`]; [`RecordsError::Unnamed`].
    ///
    /// ```
    /// # let place = tempfile::tempdir()?;
    /// # let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    /// # runtime.block_on(async {
    /// use records::{By, NewComparison, Note, Records, RecordsError};
    /// let records = Records::open(&place.path().join("books.db")).await?;
    /// records.create("bend", "Bend", "a book", &Note::default()).await?;
    /// let by = By::new("Captain", 1_790_000_000);
    /// let first = NewComparison { name: "crosslays", title: "Crosslays", text: "one" };
    /// assert_eq!(records.save_comparison("bend", None, &first, &by).await?, 1);
    /// let second = NewComparison { text: "two", ..first };
    /// assert_eq!(records.save_comparison("bend", Some(1), &second, &by).await?, 2);
    /// assert_eq!(records.comparison("bend", "crosslays", Some(1)).await?.text, "one");
    /// // Somebody else still has the first on the screen.
    /// let late = records.save_comparison("bend", Some(1), &second, &by).await;
    /// assert!(matches!(late, Err(RecordsError::ComparisonStale { current: 2, .. })));
    /// # Ok::<(), RecordsError>(())
    /// # })?;
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub async fn save_comparison(
        &self,
        slug: &str,
        base: Option<i64>,
        new: &NewComparison<'_>,
        by: &By,
    ) -> Done<i64> {
        if new.name.trim().is_empty() {
            return Err(RecordsError::Unnamed("a comparison"));
        }
        let mut write = self.store.write().await?;
        let number = match base {
            None => begin(&mut write, slug, new.name).await?,
            Some(base) => next(&mut write, slug, new.name, base).await?,
        };
        let sql = "INSERT INTO comparison_version (slug, name, number, title, at, who, text) \
                   VALUES ($1, $2, $3, $4, $5, $6, $7)";
        let values = [
            slug.into(),
            new.name.into(),
            number.into(),
            new.title.into(),
            by.at.into(),
            (&by.who).into(),
            file(new.text),
        ];
        write.run(sql, &values).await?;
        let about = format!("{}, version {number}", new.name);
        let who = (by.who.as_str(), by.at);
        tell(&mut write, who, Some(slug), "comparison saved", &about).await?;
        write.commit().await?;
        Ok(number)
    }

    /// A comparison of a department, withdrawn or not: its newest version, or that of
    /// `number`.
    ///
    /// # Errors
    /// [`RecordsError::NoComparison`]; [`RecordsError::NoVersion`].
    pub async fn comparison(
        &self,
        slug: &str,
        name: &str,
        number: Option<i64>,
    ) -> Done<KeptComparison> {
        let sql = entries!(
            ", text",
            " AND comparison.name = $2 AND number = COALESCE($3, version)"
        );
        let values = [slug.into(), name.into(), number.into()];
        let row = self.store.one(sql, &values).await?;
        let Some(row) = row else {
            return Err(
                match (number, self.comparison_versions(slug, name, 1).await?) {
                    (Some(number), known) if !known.is_empty() => RecordsError::NoVersion {
                        name: name.into(),
                        number,
                    },
                    _ => none(slug, name),
                },
            );
        };
        Ok(KeptComparison {
            entry: entry(&row)?,
            text: row.file("text")?,
        })
    }

    /// The newest version of each comparison of a department, the one saved last first;
    /// those that were withdrawn come too, and say so.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn comparisons(&self, slug: &str, at_most: i64) -> Done<Vec<ComparisonEntry>> {
        let sql = entries!(
            "",
            " AND number = version ORDER BY at DESC, comparison.name LIMIT $2"
        );
        let rows = self.store.all(sql, &[slug.into(), at_most.into()]).await?;
        rows.iter().map(entry).collect()
    }

    /// The versions of one comparison, the newest first; none where there is no such.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn comparison_versions(
        &self,
        slug: &str,
        name: &str,
        at_most: i64,
    ) -> Done<Vec<ComparisonEntry>> {
        let sql = entries!(
            "",
            " AND comparison.name = $2 ORDER BY number DESC LIMIT $3"
        );
        let values = [slug.into(), name.into(), at_most.into()];
        let rows = self.store.all(sql, &values).await?;
        rows.iter().map(entry).collect()
    }

    /// Withdraws a comparison; its versions stay to be read. `false` when it was withdrawn
    /// before.
    ///
    /// # Errors
    /// [`RecordsError::NoComparison`].
    pub async fn withdraw_comparison(&self, slug: &str, name: &str, by: &By) -> Done<bool> {
        let sql = "UPDATE comparison SET withdrawn_at = $3, withdrawn_by = $4 \
                   WHERE slug = $1 AND name = $2 AND withdrawn_at IS NULL";
        let values = [slug.into(), name.into(), by.at.into(), (&by.who).into()];
        self.turn(slug, name, (sql, &values), ("comparison withdrawn", by))
            .await
    }

    /// Brings a withdrawn comparison back; `false` when it was not withdrawn.
    ///
    /// # Errors
    /// [`RecordsError::NoComparison`].
    pub async fn bring_back_comparison(&self, slug: &str, name: &str, by: &By) -> Done<bool> {
        let sql = "UPDATE comparison SET withdrawn_at = NULL, withdrawn_by = NULL \
                   WHERE slug = $1 AND name = $2 AND withdrawn_at IS NOT NULL";
        let values = [slug.into(), name.into()];
        self.turn(slug, name, (sql, &values), ("comparison brought back", by))
            .await
    }

    async fn turn(
        &self,
        slug: &str,
        name: &str,
        (sql, values): (&'static str, &[crate::store::Value<'_>]),
        (what, by): (&str, &By),
    ) -> Done<bool> {
        let mut write = self.store.write().await?;
        if write.run(sql, values).await? == 0 {
            let known = "SELECT version FROM comparison WHERE slug = $1 AND name = $2";
            let row = write.one(known, &[slug.into(), name.into()]).await?;
            return row.map_or_else(|| Err(none(slug, name)), |_| Ok(false));
        }
        let who = (by.who.as_str(), by.at);
        tell(&mut write, who, Some(slug), what, name).await?;
        write.commit().await?;
        Ok(true)
    }
}

async fn begin(write: &mut Write, slug: &str, name: &str) -> Done<i64> {
    let sql = "SELECT revision FROM book WHERE slug = $1";
    if write.one(sql, &[slug.into()]).await?.is_none() {
        return Err(RecordsError::NoBook(slug.into()));
    }
    let sql = "INSERT INTO comparison (slug, name, version) VALUES ($1, $2, 1) \
               ON CONFLICT (slug, name) DO NOTHING";
    match write.run(sql, &[slug.into(), name.into()]).await? {
        0 => Err(RecordsError::ComparisonTaken(name.into())),
        _ => Ok(1),
    }
}

async fn next(write: &mut Write, slug: &str, name: &str, base: i64) -> Done<i64> {
    let sql = "SELECT version, withdrawn_at FROM comparison WHERE slug = $1 AND name = $2";
    let row = write.hold(sql, &[slug.into(), name.into()]).await?;
    let row = row.ok_or_else(|| none(slug, name))?;
    let current: i64 = row.get("version")?;
    if row.get::<Option<i64>>("withdrawn_at")?.is_some() {
        return Err(RecordsError::ComparisonWithdrawn(name.into()));
    }
    if current != base {
        return Err(RecordsError::ComparisonStale {
            name: name.into(),
            base,
            current,
        });
    }
    let sql = "UPDATE comparison SET version = $3 WHERE slug = $1 AND name = $2";
    let values = [slug.into(), name.into(), (base + 1).into()];
    write.run(sql, &values).await?;
    Ok(base + 1)
}

fn none(slug: &str, name: &str) -> RecordsError {
    RecordsError::NoComparison {
        slug: slug.into(),
        name: name.into(),
    }
}

fn entry(row: &Row) -> Done<ComparisonEntry> {
    let who: String = row.get("who")?;
    let at: Option<i64> = row.get("withdrawn_at")?;
    let withdrawn: Option<String> = row.get("withdrawn_by")?;
    Ok(ComparisonEntry {
        slug: row.get("slug")?,
        name: row.get("name")?,
        number: row.get("number")?,
        newest: row.get("version")?,
        title: row.get("title")?,
        by: By::new(&who, row.get("at")?),
        withdrawn: at.map(|at| By::new(&withdrawn.unwrap_or_default(), at)),
    })
}
