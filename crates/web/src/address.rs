//! Names as they stand in addresses.

use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};

const WRITTEN: AsciiSet = NON_ALPHANUMERIC
    .remove(b'-')
    .remove(b'_')
    .remove(b'.')
    .remove(b'~');

/// A name as one step of an address.
pub(crate) fn step(name: &str) -> String {
    utf8_percent_encode(name, &WRITTEN).to_string()
}

/// A page of a book; `rest` is empty or begins with "/" or "?".
pub(crate) fn book(slug: &str, rest: &str) -> String {
    format!("/book/{}{rest}", step(slug))
}

/// A line's page.
pub(crate) fn line(slug: &str, line: &str) -> String {
    book(slug, &format!("/line/{}", step(line)))
}

/// A scene's page.
pub(crate) fn scene(slug: &str, scene: &str) -> String {
    book(slug, &format!("/scene/{}", step(scene)))
}

/// The page of a piece of equipment.
pub(crate) fn equipment(slug: &str, kind: &str, name: &str) -> String {
    book(slug, &format!("/equipment/{kind}/{}", step(name)))
}

/// The page of a piece of equipment by its serial number.
pub(crate) fn piece(slug: &str, serial: &str) -> String {
    book(slug, &format!("/piece/{}", step(serial)))
}

/// A page of a flow test; `rest` is empty or begins with "/" or "?".
pub(crate) fn test(slug: &str, id: i64, rest: &str) -> String {
    book(slug, &format!("/test/{id}{rest}"))
}

/// `page` with what is asked of it.
pub(crate) fn asked<'a>(
    page: String,
    pairs: impl IntoIterator<Item = (&'a str, &'a str)>,
) -> String {
    let mut address = page;
    for (index, (key, value)) in pairs.into_iter().enumerate() {
        address.push(if index == 0 { '?' } else { '&' });
        address.push_str(&step(key));
        address.push('=');
        address.push_str(&step(value));
    }
    address
}

/// `address` with one more thing asked of it.
pub(crate) fn and(address: String, key: &str, value: &str) -> String {
    let before = if address.contains('?') { '&' } else { '?' };
    format!("{address}{before}{}={}", step(key), step(value))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_stays_one_step() {
        assert_eq!(line("a", "../é ?"), "/book/a/line/..%2F%C3%A9%20%3F");
        assert_eq!(
            asked(book("a", ""), [("kink part 1", "40 %")]),
            "/book/a?kink%20part%201=40%20%25"
        );
    }
}
