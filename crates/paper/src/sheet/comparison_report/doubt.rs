//! How sure the answer is: what is doubtful, whose doubt it is, and what the days give.

use serde_json::{Value, json};
use study::choose::aim_name;
use study::doubt::{Doubted, Held, Share, on_days};

use super::Report;
use crate::compared::{self, spread};
use crate::words::capital;

/// Doubtful things that are listed for each aim.
const LISTED: usize = 3;

impl Report<'_> {
    /// What the draws say of the answer.
    pub(super) fn doubt(&self) -> Value {
        let answer = self.answer().map(|(_, answer)| answer);
        let Some(doubted) = answer.and_then(|answer| answer.doubted.as_ref()) else {
            return Value::Null;
        };
        json!({
            "words": doubted.words.iter().map(|w| compared::full_stop(w)).collect::<Vec<_>>(),
            "unsure": self.unsure(doubted),
            "shares": self.shares(doubted),
            "days": doubted.over_days.iter().map(|held| self.held(held)).collect::<Vec<_>>(),
            "holds": doubted.holds.iter().map(|(limit, share, half)| json!([
                capital(limit.name()),
                on_days(*share),
                format!("{:.1} %", 100.0 * half),
            ])).collect::<Vec<_>>(),
        })
    }

    fn unsure(&self, doubted: &Doubted) -> Vec<Value> {
        let rows = doubted.unsure.iter().map(|unsure| {
            json!([
                capital(&unsure.name),
                capital(&spread(unsure, self.units)),
                unsure.source,
                capital(&unsure.mend),
            ])
        });
        rows.collect()
    }

    /// Whose doubt it is, the largest of each aim.
    fn shares(&self, doubted: &Doubted) -> Vec<Value> {
        let there = doubted
            .shares
            .iter()
            .filter(|(_, shares)| !shares.is_empty());
        let all = there.map(|(aim, shares)| {
            let largest = shares.iter().take(LISTED);
            json!({
                "aim": capital(aim_name(*aim)),
                "rows": largest.map(|share| self.share(share)).collect::<Vec<_>>(),
            })
        });
        all.collect()
    }

    fn share(&self, share: &Share) -> Value {
        let [low, high] = share.swing.map(|figure| compared::text(figure, self.units));
        json!([
            capital(&share.name),
            per_cent(share.first),
            per_cent(share.total),
            format!("{low} to {high}"),
        ])
    }

    fn held(&self, held: &Held) -> Value {
        let text = |figure| compared::text(figure, self.units);
        let [low, middle, high] = held.quantiles;
        json!([
            capital(aim_name(held.aim)),
            text(held.mean),
            text(held.sd),
            text(low),
            text(middle),
            text(high),
        ])
    }
}

/// A share with half of its interval: "66 % ± 2 %".
fn per_cent((share, half): (f64, f64)) -> String {
    format!("{:.0} % ± {:.0} %", 100.0 * share.max(0.0), 100.0 * half)
}
