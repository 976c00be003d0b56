//! What a test found, taken into the book.

use crate::audit::tell;
use crate::books;
use crate::model::{Note, RecordsError};
use crate::place::Records;
use crate::store::Done;
use crate::test::{Stage, held};

impl Records {
    /// Saves `text`, which has in it what `tests` found, as the revision after `base`, and
    /// notes on each test that this revision took it in: all of it or nothing. A test may be
    /// taken in again, as after an undo.
    ///
    /// # Errors
    /// [`RecordsError::Stale`] when somebody saved since; [`RecordsError::NoTest`];
    /// [`RecordsError::Open`] when a test still takes readings, for then nobody knows
    /// whether it still says what was reckoned from it.
    pub async fn accept(
        &self,
        slug: &str,
        base: i64,
        name: &str,
        text: &str,
        note: &Note,
        tests: &[i64],
    ) -> Done<i64> {
        let mut write = self.store.write().await?;
        let number = books::add(&mut write, slug, base, name, text, note).await?;
        let by = (note.who.as_str(), note.at);
        for id in tests {
            let test = held(&mut write, slug, *id).await?;
            if test.stage == Stage::Open {
                return Err(RecordsError::Open(*id));
            }
            let sql = "UPDATE test SET state = $1, accepted = $2 WHERE id = $3";
            let accepted = Stage::Accepted { revision: number }.word();
            write
                .run(sql, &[accepted.into(), number.into(), (*id).into()])
                .await?;
            let about = format!("test {id}: into revision {number}");
            tell(&mut write, by, Some(slug), "test accepted", &about).await?;
        }
        write.commit().await?;
        Ok(number)
    }
}
