//! How an outlet, a nozzle or a grip is marked: a colour, and a word or sign beside it.

use crate::problem::nearest;

/// Letters that a mark may have at most, so that it can be read from across a rig.
pub(crate) const MARK_LIMIT: usize = 12;

/// The colour and the mark of a line's outlet or of a nozzle.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Marking {
    /// The department's colour for it.
    pub colour: Option<Colour>,
    /// The word or sign beside the colour: "A", "LEFT", "2".
    pub mark: Option<String>,
}

/// A colour: one of eleven plain words, or any as "#rrggbb".
///
/// ```
/// use book::Colour;
/// let red = Colour::read("red").ok_or("no colour")?;
/// assert_eq!((red.text().as_str(), red.word()), ("red", "red"));
/// let other = Colour::read("#B01020").ok_or("no colour")?;
/// assert_eq!((other.text().as_str(), other.word()), ("#b01020", "red"));
/// assert!(Colour::read("reddish").is_none());
/// # Ok::<(), &str>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Colour {
    rgb: [u8; 3],
    named: bool,
}

/// The plain words, and what each is printed as.
const WORDS: [(&str, [u8; 3]); 11] = [
    ("red", [200, 30, 30]),
    ("orange", [240, 130, 0]),
    ("yellow", [250, 210, 0]),
    ("green", [0, 130, 60]),
    ("blue", [0, 80, 180]),
    ("purple", [110, 50, 150]),
    ("white", [255, 255, 255]),
    ("black", [0, 0, 0]),
    ("grey", [128, 128, 128]),
    ("brown", [120, 70, 30]),
    ("pink", [240, 140, 180]),
];

impl Colour {
    /// Black.
    pub const BLACK: Colour = Colour {
        rgb: [0, 0, 0],
        named: true,
    };

    /// White.
    pub const WHITE: Colour = Colour {
        rgb: [255, 255, 255],
        named: true,
    };

    /// The plain words.
    pub fn words() -> impl Iterator<Item = &'static str> {
        WORDS.iter().map(|(word, _)| *word)
    }

    /// Reads a plain word or "#rrggbb"; `None` when it is neither.
    pub fn read(text: &str) -> Option<Colour> {
        let named = WORDS.iter().find(|(word, _)| *word == text);
        if let Some((_, rgb)) = named {
            return Some(Colour {
                rgb: *rgb,
                named: true,
            });
        }
        let digits = text.strip_prefix('#').filter(|digits| digits.len() == 6)?;
        if !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
            return None;
        }
        let [_, red, green, blue] = u32::from_str_radix(digits, 16).ok()?.to_be_bytes();
        Some(Colour {
            rgb: [red, green, blue],
            named: false,
        })
    }

    /// What would mend a `text` that is no colour.
    pub(crate) fn mend(text: &str) -> String {
        let all = Colour::words().collect::<Vec<_>>().join(", ");
        match nearest(text, Colour::words()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("write one of {all}, or a colour as \"#c81e1e\""),
        }
    }

    /// As it stands in a book.
    pub fn text(self) -> String {
        match self.named {
            true => self.word().into(),
            false => self.code(),
        }
    }

    /// Red, green and blue as "#rrggbb".
    pub fn code(self) -> String {
        let [red, green, blue] = self.rgb;
        format!("#{red:02x}{green:02x}{blue:02x}")
    }

    /// The plain word for it; of a colour by its code the word of the one that lies
    /// nearest.
    pub fn word(self) -> &'static str {
        let away = |rgb: &[u8; 3]| -> u32 {
            let pairs = rgb.iter().zip(self.rgb);
            pairs.map(|(&a, b)| u32::from(a.abs_diff(b)).pow(2)).sum()
        };
        let nearest = WORDS.iter().min_by_key(|(_, rgb)| away(rgb));
        nearest.map_or("", |(word, _)| word)
    }

    /// How well one is read upon the other, from 1 to 21: the contrast ratio of
    /// WCAG 2.2, (L1 + 0.05)/(L2 + 0.05) of the relative luminances. Text needs 4.5.
    ///
    /// ```
    /// use book::Colour;
    /// assert!((Colour::BLACK.contrast(Colour::WHITE) - 21.0).abs() < 1e-9);
    /// ```
    pub fn contrast(self, other: Colour) -> f64 {
        let (a, b) = (self.luminance() + 0.05, other.luminance() + 0.05);
        a.max(b) / a.min(b)
    }

    fn luminance(self) -> f64 {
        let linear = |part: u8| match f64::from(part) / 255.0 {
            dark if dark <= 0.040_45 => dark / 12.92,
            light => ((light + 0.055) / 1.055).powf(2.4),
        };
        let [red, green, blue] = self.rgb.map(linear);
        0.2126 * red + 0.7152 * green + 0.0722 * blue
    }
}

/// Can `mark` stand on a label?
pub(crate) fn is_mark(mark: &str) -> bool {
    let length = mark.chars().count();
    (1..=MARK_LIMIT).contains(&length) && mark.trim() == mark && !mark.chars().any(char::is_control)
}

/// What would mend a mark that cannot stand on a label.
pub(crate) const MARK_MEND: &str =
    "write a word or sign of 1 to 12 letters, without spaces around it, as \"A\" or \"LEFT\"";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_reads_back_and_is_its_own_nearest() {
        for word in Colour::words() {
            let colour = Colour::read(word).unwrap();
            assert_eq!((colour.word(), colour.text().as_str()), (word, word));
            let coded = Colour::read(&colour.code()).unwrap();
            assert_eq!(coded.word(), word);
            assert_eq!(coded.text(), colour.code());
        }
    }

    #[test]
    fn book_contrast_of_the_grey_that_just_passes_on_white() {
        // WCAG 2.2, technique G18: #767676 on white is 4.54, the lightest grey that
        // passes (seen widely; from memory).
        let grey = Colour::read("#767676").unwrap();
        assert!((grey.contrast(Colour::WHITE) - 4.54).abs() < 0.01);
        let lighter = Colour::read("#777777").unwrap();
        assert!(lighter.contrast(Colour::WHITE) < 4.5);
    }

    #[test]
    fn what_is_no_colour_or_mark_is_refused() {
        for text in [
            "", "Red", "#12345", "#12345g", "#+12345", "crimson", "#1234567",
        ] {
            assert_eq!(Colour::read(text), None, "{text}");
        }
        assert!(Colour::mend("gren").contains("green"));
        assert!(Colour::mend("turquoise").contains("#c81e1e"));
        assert!(is_mark("ЛЕВЫЙ 1") && is_mark("a2"));
        assert!(!is_mark("") && !is_mark(" A") && !is_mark("ABCDEFGHIJKLM") && !is_mark("a\nb"));
    }
}
