//! Generic equipment, each entry with the source of its values.

use crate::model::Book;
use std::sync::LazyLock;

static TEXT: &str = include_str!("../data/catalogue.toml");

// It holds no line, so that reading it asks for no catalogue. A test reads it.
static CATALOGUE: LazyLock<Book> =
    LazyLock::new(|| crate::reader::read(TEXT.as_bytes(), "catalogue.toml").unwrap_or_default());

/// Generic equipment that every book can use by name.
///
/// ```
/// let hose = &book::catalogue().hose["1.75 in"];
/// let (low, high) = hose.spread().ok_or("no spread")?;
/// assert!((low.us_value() - 7.0).abs() < 1e-9 && (high.us_value() - 15.5).abs() < 1e-9);
/// # Ok::<(), &str>(())
/// ```
pub fn catalogue() -> &'static Book {
    &CATALOGUE
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reader::examine;

    #[test]
    fn the_catalogue_reads_without_a_problem() {
        let reading = examine(TEXT.as_bytes(), "catalogue.toml");
        assert!(reading.problems.list().is_empty(), "{:?}", reading.problems);
        assert!(catalogue().line.is_empty());
    }

    #[test]
    fn every_entry_has_a_source() {
        let book = catalogue();
        let abouts = (book.hose.values().map(|i| &i.about))
            .chain(book.nozzle.values().map(|i| &i.about))
            .chain(book.appliance.values().map(|i| &i.about));
        let mut count = 0;
        for about in abouts {
            assert!(about.source.is_some());
            count += 1;
        }
        assert!(count > 80, "{count}");
    }

    #[test]
    fn invented_ratings_are_marked() {
        for (name, item) in &catalogue().nozzle {
            let rated = item.kind.word() != "smooth-bore";
            assert_eq!(item.about.invented, rated, "{name}");
        }
    }

    #[test]
    fn every_nozzle_can_be_taken_at_each_setting() {
        for (name, item) in &catalogue().nozzle {
            let settings = item.settings();
            if settings.is_empty() {
                assert!(item.at(None).is_ok(), "{name}");
            }
            for setting in settings {
                assert!(item.at(Some(setting)).is_ok(), "{name} {setting}");
            }
        }
    }
}
