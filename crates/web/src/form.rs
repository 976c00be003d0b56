//! What a form sent, or in plain words why it cannot be read.

use crate::fault::Fault;
use axum::extract::multipart::{Multipart, MultipartError};
use axum::extract::{Form, FromRequest, Request};
use axum::http::StatusCode;
use book::FieldError;
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;

/// A short form.
pub(crate) struct Filled<T>(pub T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequest<S> for Filled<T> {
    type Rejection = Fault;

    async fn from_request(request: Request, state: &S) -> Result<Self, Fault> {
        match Form::from_request(request, state).await {
            Ok(Form(filled)) => Ok(Filled(filled)),
            Err(refused) => Err(misread(refused.status(), &refused.body_text())),
        }
    }
}

/// The pairs of a form or of an address, in order.
pub(crate) type Pairs = Vec<(String, String)>;

/// A form that changes a book, as it was sent.
#[derive(Debug, Clone, Default)]
pub(crate) struct Sent(pub Pairs);

impl Sent {
    /// What was typed.
    pub fn get(&self, key: &str) -> &str {
        let found = self.0.iter().find(|(name, _)| name == key);
        found.map_or("", |(_, value)| value.as_str())
    }

    /// The same, without spaces around it.
    pub fn own(&self, key: &str) -> String {
        self.get(key).trim().to_string()
    }

    /// Every value of a list of boxes.
    pub fn all(&self, key: &str) -> Vec<String> {
        let found = self.0.iter().filter(|(name, _)| name == key);
        found.map(|(_, value)| value.clone()).collect()
    }

    /// The revision that the form was made from.
    pub fn base(&self) -> Option<i64> {
        self.get("base").parse().ok()
    }

    /// The same, made on another revision.
    pub fn on(&self, base: i64) -> Sent {
        let rest = self.0.iter().filter(|(key, _)| key != "base").cloned();
        Sent(rest.chain([("base".into(), base.to_string())]).collect())
    }
}

/// Why a form cannot be used, by field; an empty key is about the whole.
pub(crate) type Refused = Vec<(String, String)>;

/// What is wrong with the whole.
pub(crate) fn whole(message: impl Into<String>) -> Refused {
    vec![(String::new(), message.into())]
}

/// Each message beside its field.
pub(crate) fn by_field(wrong: Vec<FieldError>) -> Refused {
    let said = |error: FieldError| (error.key.to_string(), sentence(&error.message, &error.mend));
    wrong.into_iter().map(said).collect()
}

/// What is wrong, and what would mend it.
pub(crate) fn sentence(message: &str, mend: &str) -> String {
    match mend {
        "" => message.into(),
        mend => format!("{message}: {mend}"),
    }
}

/// A form that carries a book's text, or a file.
#[derive(Default)]
pub(crate) struct Parcel {
    fields: BTreeMap<String, Vec<u8>>,
    /// The name of the file sent, without its folders; empty for none.
    pub file: String,
}

impl Parcel {
    /// The bytes of a field; none when it was not sent.
    pub fn bytes(&self, field: &str) -> &[u8] {
        self.fields.get(field).map_or(&[], Vec::as_slice)
    }

    /// A field as text.
    pub fn text(&self, field: &str) -> String {
        String::from_utf8_lossy(self.bytes(field)).into_owned()
    }

    /// A field as a number.
    pub fn number(&self, field: &str) -> Option<i64> {
        self.text(field).trim().parse().ok()
    }

    #[cfg(test)]
    fn with(field: &str, bytes: &[u8]) -> Self {
        let mut parcel = Parcel::default();
        parcel.fields.insert(field.into(), bytes.into());
        parcel
    }
}

impl<S: Send + Sync> FromRequest<S> for Parcel {
    type Rejection = Fault;

    async fn from_request(request: Request, state: &S) -> Result<Self, Fault> {
        let broken = |error: MultipartError| misread(error.status(), &error.body_text());
        let mut sent = Multipart::from_request(request, state)
            .await
            .map_err(|refused| misread(refused.status(), &refused.body_text()))?;
        let mut parcel = Parcel::default();
        while let Some(field) = sent.next_field().await.map_err(broken)? {
            if let Some(name) = field.file_name() {
                parcel.file = file_name(name);
            }
            let name = field.name().unwrap_or_default().to_string();
            let bytes = field.bytes().await.map_err(broken)?;
            parcel.fields.insert(name, bytes.into());
        }
        Ok(parcel)
    }
}

fn misread(status: StatusCode, why: &str) -> Fault {
    match status {
        StatusCode::PAYLOAD_TOO_LARGE => Fault::too_large(),
        _ => Fault::Misread(format!(
            "What was sent is no form of these pages: {why}. Go back and send it again."
        )),
    }
}

/// The last step of a path, short and without control characters.
fn file_name(path: &str) -> String {
    let last = path.rsplit(['/', '\\']).next().unwrap_or_default();
    let plain = last.chars().filter(|c| !c.is_control());
    plain.take(80).collect()
}

/// The text of a text area as the file has it. A browser sends every line end as
/// CR LF, whatever it was.
pub(crate) fn as_in(base: &str, sent: &str) -> String {
    let plain = sent.replace("\r\n", "\n");
    if base.replace("\r\n", "\n") == plain {
        return base.into();
    }
    match base.contains("\r\n") {
        true => plain.replace('\n', "\r\n"),
        false => plain,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn line_ends_stay_those_of_the_file() {
        assert_eq!(as_in("a\nb\n", "a\r\nb\r\n"), "a\nb\n");
        assert_eq!(as_in("a\r\nb\n", "a\r\nb\r\n"), "a\r\nb\n");
        assert_eq!(as_in("a\r\nb\r\n", "a\r\nc\r\n"), "a\r\nc\r\n");
        assert_eq!(as_in("a\n", "c\r\n"), "c\n");
    }

    #[test]
    fn a_file_name_has_no_folders() {
        assert_eq!(file_name("../../etc/pass\0wd"), "passwd");
        assert_eq!(file_name("C:\\books\\a.toml"), "a.toml");
    }

    #[test]
    fn a_field_that_was_not_sent_is_empty() {
        let parcel = Parcel::with("base", b" 3 ");
        assert_eq!(parcel.number("base"), Some(3));
        assert_eq!(parcel.text("text"), "");
    }
}
