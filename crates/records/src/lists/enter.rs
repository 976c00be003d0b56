//! A list entered into the records.

use super::Listed;
use crate::audit::{By, tell};
use crate::equipment::{Trial, enter, put_away, try_out};
use crate::place::Records;
use crate::store::Done;

impl Records {
    /// Enters the rows of a list with their tests, in one step: all or none.
    ///
    /// # Errors
    /// As [`Records::add_equipment`].
    pub async fn bring_in(&self, slug: &str, rows: &[Listed], by: &By) -> Done<()> {
        self.newest(slug).await?;
        let mut write = self.store.write().await?;
        for row in rows {
            let serial = row.new.serial.as_str();
            enter(&mut write, slug, &row.new).await?;
            let told = (by.who.as_str(), by.at);
            tell(&mut write, told, Some(slug), "equipment entered", serial).await?;
            if let Some(tested) = &row.tested {
                let trial = Trial {
                    date: tested.date.clone(),
                    passed: tested.passed,
                    remark: tested.remark.clone(),
                    by: by.clone(),
                };
                try_out(&mut write, slug, serial, &trial).await?;
            }
            if let Some((date, why)) = &row.retired {
                put_away(&mut write, slug, serial, (date, why), by).await?;
            }
        }
        write.commit().await
    }
}
