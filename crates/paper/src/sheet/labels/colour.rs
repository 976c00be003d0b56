//! A colour as it is printed, and what can be read upon it.

use book::Colour;
use serde_json::{Value, json};

/// The least contrast of text with what lies under it (WCAG 2.2, 1.4.3).
const LEAST: f64 = 4.5;

/// A patch of `colour`: its fill, its word, and the ink in which a mark can be read upon
/// it.
pub(super) fn patch(colour: Colour) -> Value {
    json!({
        "fill": colour.code(),
        "word": colour.word().to_uppercase(),
        "ink": ink(colour).map(Colour::code),
    })
}

/// Black or white, what is read better upon `under`; `None` where neither is read well.
pub(super) fn ink(under: Colour) -> Option<Colour> {
    let inks = [Colour::BLACK, Colour::WHITE].into_iter();
    let best = inks.max_by(|a, b| a.contrast(under).total_cmp(&b.contrast(under)));
    best.filter(|ink| ink.contrast(under) >= LEAST)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn law_one_ink_is_read_upon_every_colour(code in 0_u32..0x0100_0000) {
            let colour = Colour::read(&format!("#{code:06x}")).unwrap();
            let ink = ink(colour).unwrap();
            prop_assert!(ink.contrast(colour) >= LEAST);
            let other = if ink == Colour::BLACK { Colour::WHITE } else { Colour::BLACK };
            prop_assert!(other.contrast(colour) <= ink.contrast(colour));
        }
    }

    #[test]
    fn dark_text_stands_on_yellow_and_light_text_on_blue() {
        let on = |word: &str| ink(Colour::read(word).unwrap()).unwrap();
        assert_eq!(on("yellow"), Colour::BLACK);
        assert_eq!(on("white"), Colour::BLACK);
        assert_eq!(on("blue"), Colour::WHITE);
        assert_eq!(on("black"), Colour::WHITE);
    }
}
