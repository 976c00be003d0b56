//! A file that goes to and fro with the page that shows it, so that no process has to
//! keep it.

use crate::address;
use crate::form::Parcel;
use maud::{Markup, html};

/// The largest file, bytes.
pub(crate) const LARGEST: usize = 900_000;

/// The form that asks for a table, to bring it into the `list` of a book ("/tests").
pub(crate) fn form(slug: &str, list: &str) -> Markup {
    html! {
        form.form method="post" enctype="multipart/form-data" action=(address::book(slug, &format!("{list}/bring"))) {
            div {
                label for="file" { "File" }
                input type="file" id="file" name="file" required accept=".csv,.xlsx,text/csv,application/vnd.openxmlformats-officedocument.spreadsheetml.sheet" aria-describedby="file-hint";
                p.hint id="file-hint" { "At most 900 kB. It is shown first; nothing is entered before you say so." }
            }
            div.actions { button.first { "Read it" } a.button href=(address::book(slug, list)) { "Leave it" } }
        }
    }
}

/// The file that was sent, or that came back with its page; and its name.
pub(crate) fn file(parcel: &Parcel) -> (Vec<u8>, String) {
    match parcel.text("carried") {
        hex if !hex.is_empty() => (from_hex(&hex), parcel.text("name")),
        _ => (parcel.bytes("file").to_vec(), parcel.file.clone()),
    }
}

/// Bytes as text that no browser changes.
pub(crate) fn to_hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    let mut text = String::with_capacity(bytes.len() * 2);
    for byte in bytes {
        let _ = write!(text, "{byte:02x}");
    }
    text
}

/// The bytes again; what is no figure is passed over.
fn from_hex(text: &str) -> Vec<u8> {
    let digits: Vec<u8> = text.bytes().filter(u8::is_ascii_hexdigit).collect();
    let value = |digit: &u8| {
        let digit = char::from(*digit).to_digit(16);
        digit
            .and_then(|digit| u8::try_from(digit).ok())
            .unwrap_or(0)
    };
    let pairs = digits.chunks(2).map(|pair| match pair {
        [high, low] => value(high) * 16 + value(low),
        _ => 0,
    });
    pairs.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_carried_file_comes_back_to_the_byte() {
        let bytes: Vec<u8> = (0..=255).collect();
        assert_eq!(from_hex(&to_hex(&bytes)), bytes);
        assert_eq!(from_hex("0g1\r\n2"), [0x01, 0]);
    }
}
