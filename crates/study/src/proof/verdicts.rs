//! Verdicts with the limits they rest on.

use super::figures::figure;
use super::found::Bound;
use crate::notice::Weight;
use crate::reduce::{Estimate, Judged, Settle, Verdict};
use hydraulics::units::{Kind, System};

/// What was judged of `estimate`, a value of `kind`.
pub(super) fn bound(
    judged: &Judged,
    estimate: &Estimate,
    kind: Kind,
    source: &'static str,
) -> Bound {
    let shown = |si: f64| figure(kind, si);
    let limit = |si: f64| si.is_finite().then(|| shown(si));
    let (least, most) = judged.limits;
    Bound {
        what: judged.what.clone(),
        verdict: judged.verdict,
        value: [estimate.value, estimate.low, estimate.high].map(shown),
        least: limit(least),
        most: limit(most),
        source,
        settle: judged.settle.map(Settle::words),
    }
}

impl Bound {
    /// In words: what was judged, the verdict with value and limits, and what would
    /// settle it.
    pub fn words(&self, system: System) -> String {
        let [value, low, high] = self.value.map(|figure| figure.show(system));
        let limits = match (&self.least, &self.most) {
            (Some(least), Some(most)) => {
                format!("; allowed {} to {}", least.show(system), most.show(system))
            }
            (Some(least), None) => format!("; allowed from {} on", least.show(system)),
            (None, Some(most)) => format!("; allowed up to {}", most.show(system)),
            (None, None) => String::new(),
        };
        let settle = match &self.settle {
            Some(words) => format!("; {words}"),
            None => String::new(),
        };
        let (what, verdict) = (&self.what, self.verdict.word());
        format!("{what}: {verdict}: {value} ({low} to {high}){limits}{settle}")
    }

    /// How much its verdict weighs.
    pub fn weight(&self) -> Weight {
        match self.verdict {
            Verdict::Pass => Weight::Remark,
            Verdict::NotProven => Weight::Caution,
            Verdict::Fail => Weight::Limit,
        }
    }
}
