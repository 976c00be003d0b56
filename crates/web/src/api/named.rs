//! What is read from an address: names in its path, and the question after it.

use super::told::Told;
use crate::fault::Fault;
use axum::extract::{FromRequestParts, Path};
use axum::http::request::Parts;
use serde::de::DeserializeOwned;
use utoipa::IntoParams;

/// Names in the path.
pub(super) struct Named<T>(pub T);

impl<T: DeserializeOwned + Send, S: Send + Sync> FromRequestParts<S> for Named<T> {
    type Rejection = Told;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Told> {
        match Path::from_request_parts(parts, state).await {
            Ok(Path(names)) => Ok(Named(names)),
            Err(rejected) => Err(misread(format!(
                "a name in the address cannot be read: {rejected}; write it as UTF-8 in percent signs"
            ))),
        }
    }
}

/// The question after the path. Changes may be asked several times, the rest once.
pub(super) struct Asking<T>(pub T);

/// The longest question that is read, in bytes.
const LONGEST: usize = 8000;

impl<T: DeserializeOwned + IntoParams, S: Send + Sync> FromRequestParts<S> for Asking<T> {
    type Rejection = Told;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Told> {
        let question = parts.uri.query().unwrap_or("");
        if question.len() > LONGEST {
            let long = question.len();
            return Err(misread(format!(
                "the question is {long} bytes long; {LONGEST} are read: ask for less at once"
            )));
        }
        let names: Vec<String> = T::into_params(|| None)
            .into_iter()
            .map(|p| p.name)
            .collect();
        let mut asked = form_urlencoded::parse(question.as_bytes());
        if let Some((wrong, _)) = asked.find(|(name, _)| !names.iter().any(|n| n == name)) {
            return Err(unknown(&wrong, &names));
        }
        serde_html_form::from_str(question)
            .map(Asking)
            .map_err(|error| {
                misread(format!(
                    "the question cannot be read: {error}; ask once for each, of changes as often as there are"
                ))
            })
    }
}

fn unknown(name: &str, names: &[String]) -> Told {
    misread(match names {
        [] => format!("\"{name}\" cannot be asked here; this question takes nothing"),
        names => format!(
            "\"{name}\" cannot be asked here; there are {}",
            names.join(", ")
        ),
    })
}

fn misread(text: String) -> Told {
    Fault::Misread(text).into()
}
