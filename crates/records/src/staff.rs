//! Everybody, for whoever looks after the records from the command line.

use crate::audit::{By, tell};
use crate::model::RecordsError;
use crate::people::{Person, Role, give};
use crate::place::Records;
use crate::store::Done;

impl Records {
    /// Everybody by name, with what each may do in which department.
    ///
    /// # Errors
    /// [`RecordsError::Database`].
    pub async fn people(&self) -> Done<Vec<(Person, Vec<(String, Role)>)>> {
        let sql = "SELECT person.name, hash, since, slug, role FROM person \
                   LEFT JOIN post ON post.name = person.name ORDER BY person.name, slug";
        let mut people: Vec<(Person, Vec<(String, Role)>)> = Vec::new();
        for row in self.store.all(sql, &[]).await? {
            let person = Person {
                name: row.get("name")?,
                hash: row.get("hash")?,
                since: row.get("since")?,
            };
            if people.last().is_none_or(|(last, _)| *last != person) {
                people.push((person, Vec::new()));
            }
            let (slug, word): (Option<String>, Option<String>) =
                (row.get("slug")?, row.get("role")?);
            let role = word.as_deref().and_then(Role::called);
            if let (Some((_, posts)), Some(slug), Some(role)) = (people.last_mut(), slug, role) {
                posts.push((slug, role));
            }
        }
        Ok(people)
    }

    /// Takes the password and every role away from somebody, and ends every session of theirs.
    /// What they did stays under their name.
    ///
    /// # Errors
    /// [`RecordsError::NoPerson`]; [`RecordsError::LastKeeper`] when a department would be left
    /// without, and then nothing is changed.
    pub async fn dismiss(&self, name: &str, by: &By) -> Done<()> {
        let mut write = self.store.write().await?;
        let sql = "UPDATE person SET hash = NULL WHERE name = $1";
        if write.run(sql, &[name.into()]).await? == 0 {
            return Err(RecordsError::NoPerson(name.into()));
        }
        let sql = "SELECT slug FROM post WHERE name = $1 ORDER BY slug";
        for row in write.all(sql, &[name.into()]).await? {
            give(&mut write, &row.get::<String>("slug")?, name, None, by).await?;
        }
        for sql in [
            "DELETE FROM session WHERE name = $1",
            "DELETE FROM welcome WHERE name = $1",
        ] {
            write.run(sql, &[name.into()]).await?;
        }
        tell(&mut write, (&by.who, by.at), None, "person removed", name).await?;
        write.commit().await
    }
}
