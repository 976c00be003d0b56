//! All records at once: moved, backed up, brought back.

use crate::args::{Backup, Move, Restore};
use crate::commands::Answered;
use crate::kept::{self, Place};
use crate::show;
use records::Counted;

/// What was copied, for the answer.
pub struct Carried {
    /// The deed: "moved".
    pub deed: &'static str,
    /// Whence.
    pub from: String,
    /// Where to.
    pub to: String,
    /// Each table, counted on both sides.
    pub counted: Vec<Counted>,
}

/// `handline move`.
pub fn move_to(ask: &Move) -> Answered {
    kept::wait(async {
        let (from, to) = (
            Place::called(ask.from.clone())?,
            Place::called(ask.to.clone())?,
        );
        let here = kept::records_there(&from).await?;
        let there = kept::records(&to).await?;
        let counted = here.move_to(&there).await?;
        there.close().await;
        let carried = Carried {
            deed: "moved",
            from: from.to_string(),
            to: to.to_string(),
            counted,
        };
        Ok(show::carried(&carried, ask.json))
    })
}

/// `handline backup`.
pub fn backup(ask: &Backup) -> Answered {
    kept::wait(async {
        let place = Place::of(ask.data.as_deref())?;
        let records = kept::records_there(&place).await?;
        let carried = Carried {
            deed: "backed up",
            from: place.to_string(),
            to: ask.file.display().to_string(),
            counted: records.backup(&ask.file).await?,
        };
        Ok(show::carried(&carried, ask.json))
    })
}

/// `handline restore`.
pub fn restore(ask: &Restore) -> Answered {
    kept::wait(async {
        let place = Place::called(ask.data.clone())?;
        let records = kept::records(&place).await?;
        let counted = records.restore(&ask.file).await?;
        records.close().await;
        let carried = Carried {
            deed: "restored",
            from: ask.file.display().to_string(),
            to: place.to_string(),
            counted,
        };
        Ok(show::carried(&carried, ask.json))
    })
}
