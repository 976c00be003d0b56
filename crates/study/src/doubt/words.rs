//! Whose doubt it is, in a sentence.

use super::model::{Share, Unsure};

/// A share below which a thing is not named.
const WORTH: f64 = 0.1;

/// A share of days as a person reads it; never all of them for nearly all.
///
/// ```
/// assert_eq!(study::doubt::on_days(0.9731), "97.3 %");
/// assert_eq!(study::doubt::on_days(0.99999), "over 99.9 %");
/// ```
pub fn on_days(share: f64) -> String {
    match share {
        all if all >= 1.0 => "100 %".into(),
        nearly if nearly >= 0.9995 => "over 99.9 %".into(),
        none if none <= 0.0 => "0 %".into(),
        hardly if hardly < 0.0005 => "under 0.1 %".into(),
        share => format!("{:.1} %", 100.0 * share),
    }
}

/// Whose doubt the doubt about `about` ("flow") is, and what would lessen it; none where
/// there is no doubt.
pub(super) fn of_aim(about: &str, shares: &[Share], unsure: &[Unsure]) -> Option<String> {
    let (first, rest) = shares.split_first()?;
    let portion_of = |share: &Share| portion(part(share));
    let mut text = format!(
        "{}: {} of the doubt is {}{}",
        capital(about),
        portion_of(first),
        first.name,
        give_or_take(first)
    );
    let others: Vec<String> = rest
        .iter()
        .take(2)
        .filter(|share| part(share) >= WORTH)
        .map(|share| {
            format!(
                "{} {}{}",
                portion_of(share),
                share.name,
                give_or_take(share)
            )
        })
        .collect();
    if !others.is_empty() {
        text.push_str(&format!("; {}", others.join(", ")));
    }
    let thing = unsure.iter().find(|unsure| unsure.name == first.name);
    if let Some(thing) = thing {
        text.push_str(&format!(". To lessen it, {}.", thing.mend));
    }
    Some(text)
}

/// What a thing brings, by itself and together with others: its total index, kept to 0
/// and 1.
fn part(share: &Share) -> f64 {
    share.total.0.clamp(0.0, 1.0)
}

/// A wide interval is told.
fn give_or_take(share: &Share) -> String {
    let half = 100.0 * share.total.1;
    match half > 10.0 {
        true => format!(" (give or take {half:.0} %)"),
        false => String::new(),
    }
}

/// A share in words.
fn portion(share: f64) -> String {
    const WORDS: [(f64, &str); 8] = [
        (0.97, "nearly all"),
        (0.90, "about nine tenths"),
        (0.80, "about four fifths"),
        (0.75, "about three quarters"),
        (2.0 / 3.0, "about two thirds"),
        (0.50, "about half"),
        (1.0 / 3.0, "about a third"),
        (0.25, "about a quarter"),
    ];
    let close = |(value, _): &&(f64, &str)| (share - value).abs() <= 0.03 || share > 0.97;
    match WORDS.iter().find(close) {
        Some((_, words)) => (*words).into(),
        None => format!("about {:.0} %", 100.0 * share),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|letter| letter.to_ascii_uppercase());
    first.into_iter().chain(letters).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_of_days_never_say_all_for_nearly_all() {
        for (share, text) in [
            (1.0, "100 %"),
            (0.99999, "over 99.9 %"),
            (0.9731, "97.3 %"),
            (0.0001, "under 0.1 %"),
            (0.0, "0 %"),
        ] {
            assert_eq!(on_days(share), text);
        }
    }

    #[test]
    fn a_share_is_said_as_a_person_says_it() {
        assert_eq!(portion(0.66), "about two thirds");
        assert_eq!(portion(0.995), "nearly all");
        assert_eq!(portion(0.42), "about 42 %");
        assert_eq!(capital("about half"), "About half");
    }

    #[test]
    fn what_brings_most_is_named_first_and_what_would_lessen_it() {
        let flow = crate::figure::flow(hydraulics::units::gpm(150.0));
        let share = |name: &str, total| Share {
            name: name.into(),
            first: (total, 0.01),
            total: (total, 0.01),
            swing: [flow, flow],
        };
        let unsure = Unsure {
            of: super::super::model::UnsureOf::Hose("attack".into()),
            name: "C of attack".into(),
            spread: super::super::model::Spread::Even(0.9, 1.1),
            factor: true,
            source: String::new(),
            mend: "test the hose".into(),
        };
        let shares = [
            share("C of attack", 0.67),
            share("pump gauge", 0.24),
            share("a kink", 0.03),
        ];
        assert_eq!(
            of_aim("flow", &shares, &[unsure]).unwrap_or_default(),
            "Flow: about two thirds of the doubt is C of attack; about a quarter pump gauge. To lessen it, test the hose."
        );
        assert_eq!(of_aim("flow", &[], &[]), None);
    }
}
