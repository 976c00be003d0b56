//! People, and what each may do in a department.

use crate::audit::{By, tell};
use crate::books::begin;
use crate::model::{Note, RecordsError};
use crate::place::Records;
use crate::store::{Done, Row, Write};

/// What somebody may do in a department. Each may do what those before it may.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Reads books, sheets and results.
    Reader,
    /// Takes readings too.
    Tester,
    /// Changes the book too.
    Editor,
    /// Says who may do what, too.
    Keeper,
}

impl Role {
    /// From the least to the most.
    pub const ALL: [Role; 4] = [Role::Reader, Role::Tester, Role::Editor, Role::Keeper];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Role::Reader => "reader",
            Role::Tester => "tester",
            Role::Editor => "editor",
            Role::Keeper => "keeper",
        }
    }

    /// The role that `word` means.
    ///
    /// ```
    /// use records::Role;
    /// assert_eq!(Role::called("tester"), Some(Role::Tester));
    /// assert!(Role::called("chief").is_none());
    /// assert!(Role::Keeper > Role::Editor);
    /// ```
    pub fn called(word: &str) -> Option<Self> {
        Role::ALL.into_iter().find(|role| role.word() == word)
    }
}

/// Somebody who can sign in.
#[derive(Clone, PartialEq, Eq)]
pub struct Person {
    /// The name to sign in with.
    pub name: String,
    /// Of the password, by argon2, as a PHC string; `None` when no password was set, and
    /// then nobody can sign in by this name.
    pub hash: Option<String>,
    /// Known since, seconds since 1970.
    pub since: i64,
}

impl std::fmt::Debug for Person {
    /// Without the hash, which belongs in no log.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Person { name, hash, since } = self;
        let hash = hash.as_ref().map(|_| "...");
        let mut shown = f.debug_struct("Person");
        shown.field("name", name).field("hash", &hash);
        shown.field("since", since).finish()
    }
}

impl Records {
    /// Adds somebody, or gives somebody who is known another password: `hash` of it, by
    /// argon2. `None` takes the password away. Every session of theirs is over.
    ///
    /// # Errors
    /// [`RecordsError::Hash`] when it is no hash by argon2, so that no password is ever kept
    /// as it is typed; [`RecordsError::Unnamed`].
    pub async fn set_person(&self, name: &str, hash: Option<&str>, by: &By) -> Done<()> {
        if name.trim().is_empty() {
            return Err(RecordsError::Unnamed("a person"));
        }
        if hash.is_some_and(|hash| !hash.starts_with("$argon2id$")) {
            return Err(RecordsError::Hash);
        }
        let mut write = self.store.write().await?;
        let sql = "INSERT INTO person (name, hash, since) VALUES ($1, $2, $3) \
                   ON CONFLICT (name) DO UPDATE SET hash = excluded.hash";
        let values = [name.into(), hash.into(), by.at.into()];
        write.run(sql, &values).await?;
        // Whoever came in by the password before is out.
        for sql in [
            "DELETE FROM session WHERE name = $1",
            "DELETE FROM welcome WHERE name = $1",
        ] {
            write.run(sql, &[name.into()]).await?;
        }
        let what = match hash {
            Some(_) => "password set",
            None => "password taken away",
        };
        tell(&mut write, (&by.who, by.at), None, what, name).await?;
        write.commit().await
    }

    /// Somebody, by the name to sign in with.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn person(&self, name: &str) -> Done<Option<Person>> {
        let sql = "SELECT name, hash, since FROM person WHERE name = $1";
        let row = self.store.one(sql, &[name.into()]).await?;
        row.as_ref().map(person).transpose()
    }

    /// Gives somebody a role in a department, or takes it away.
    ///
    /// # Errors
    /// [`RecordsError::NoPerson`]; [`RecordsError::NoBook`]; [`RecordsError::LastKeeper`]
    /// when nobody would be left who can give roles there.
    pub async fn set_role(&self, slug: &str, name: &str, role: Option<Role>, by: &By) -> Done<()> {
        if self.person(name).await?.is_none() {
            return Err(RecordsError::NoPerson(name.into()));
        }
        let mut write = self.store.write().await?;
        give(&mut write, slug, name, role, by).await?;
        write.commit().await
    }

    /// Puts a new book in, as [`Records::create`], and makes `keeper` its keeper.
    ///
    /// # Errors
    /// [`RecordsError::Taken`] when there is one of that slug; [`RecordsError::NoPerson`].
    pub async fn create_for(
        &self,
        keeper: &str,
        (slug, name): (&str, &str),
        text: &str,
        note: &Note,
    ) -> Done<i64> {
        if self.person(keeper).await?.is_none() {
            return Err(RecordsError::NoPerson(keeper.into()));
        }
        let mut write = self.store.write().await?;
        begin(&mut write, (slug, name), text, note).await?;
        let by = By::new(&note.who, note.at);
        give(&mut write, slug, keeper, Some(Role::Keeper), &by).await?;
        write.commit().await?;
        Ok(1)
    }

    /// Every department in which somebody may do something, by slug.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn posts(&self, name: &str) -> Done<Vec<(String, Role)>> {
        let sql = "SELECT slug, role FROM post WHERE name = $1 ORDER BY slug";
        let rows = self.store.all(sql, &[name.into()]).await?;
        let mut posts = Vec::new();
        for row in rows {
            if let Some(role) = Role::called(&row.get::<String>("role")?) {
                posts.push((row.get("slug")?, role));
            }
        }
        Ok(posts)
    }

    /// Can anybody sign in yet?
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn anybody(&self) -> Done<bool> {
        let sql = "SELECT name FROM person WHERE hash IS NOT NULL LIMIT 1";
        Ok(self.store.one(sql, &[]).await?.is_some())
    }

    /// What somebody may do in a department; `None`: nothing.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn role(&self, slug: &str, name: &str) -> Done<Option<Role>> {
        let sql = "SELECT role FROM post WHERE slug = $1 AND name = $2";
        let row = self.store.one(sql, &[slug.into(), name.into()]).await?;
        let word: Option<String> = row.map(|row| row.get("role")).transpose()?;
        // A word of a later version gives no rights.
        Ok(word.as_deref().and_then(Role::called))
    }

    /// Everybody who may do something in a department, by name.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn roles(&self, slug: &str) -> Done<Vec<(String, Role)>> {
        let sql = "SELECT name, role FROM post WHERE slug = $1 ORDER BY name";
        let rows = self.store.all(sql, &[slug.into()]).await?;
        let mut roles = Vec::new();
        for row in rows {
            if let Some(role) = Role::called(&row.get::<String>("role")?) {
                roles.push((row.get("name")?, role));
            }
        }
        Ok(roles)
    }
}

/// Gives somebody a role in a department, or takes it away, as a part of `write`.
pub(crate) async fn give(
    write: &mut Write,
    slug: &str,
    name: &str,
    role: Option<Role>,
    by: &By,
) -> Done<()> {
    // One at a time, or two keepers could each take the other's role away.
    let book = "SELECT slug FROM book WHERE slug = $1";
    let book = write.hold(book, &[slug.into()]).await?;
    book.ok_or_else(|| RecordsError::NoBook(slug.into()))?;
    if role != Some(Role::Keeper) {
        keeper_is_left(write, slug, name).await?;
    }
    let word = role.map_or("no role", Role::word);
    if let Some(role) = role {
        let sql = "INSERT INTO post (slug, name, role) VALUES ($1, $2, $3) \
                   ON CONFLICT (slug, name) DO UPDATE SET role = excluded.role";
        let values = [slug.into(), name.into(), role.word().into()];
        write.run(sql, &values).await?;
    } else {
        let sql = "DELETE FROM post WHERE slug = $1 AND name = $2";
        write.run(sql, &[slug.into(), name.into()]).await?;
    }
    let about = format!("{name}: {word}");
    let by = (by.who.as_str(), by.at);
    tell(write, by, Some(slug), "role given", &about).await?;
    Ok(())
}

/// Refuses when `name` is the only keeper.
async fn keeper_is_left(write: &mut Write, slug: &str, name: &str) -> Done<()> {
    let sql = "SELECT name FROM post WHERE slug = $1 AND role = 'keeper'";
    let rows = write.all(sql, &[slug.into()]).await?;
    let names: Vec<String> = rows
        .iter()
        .map(|row| row.get("name"))
        .collect::<Done<_>>()?;
    match names.as_slice() {
        [only] if only == name => Err(RecordsError::LastKeeper {
            slug: slug.into(),
            name: name.into(),
        }),
        _ => Ok(()),
    }
}

fn person(row: &Row) -> Done<Person> {
    Ok(Person {
        name: row.get("name")?,
        hash: row.get("hash")?,
        since: row.get("since")?,
    })
}
