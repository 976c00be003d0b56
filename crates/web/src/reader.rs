//! How the reader wants pages: units, theme, the name beside changes, the address on
//! paper.

use crate::paper::sound;
use crate::served::own_address;
use crate::settings::from_cookie;
use crate::who::Who;
use axum::extract::FromRequestParts;
use axum::http::header::COOKIE;
use axum::http::request::Parts;
use hydraulics::units::System;
use std::convert::Infallible;

/// What the reader's cookies and the address say.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Reader {
    /// `None`: the book's own.
    pub units: Option<System>,
    pub theme: Theme,
    /// The name beside changes; may be empty.
    pub name: String,
    /// Where the workbench is reached from elsewhere, for the codes on paper.
    pub address: Option<String>,
    /// Who asks.
    pub who: Who,
    /// Where this workbench was asked, for links to it that are handed over; empty at one's
    /// own computer.
    pub host: String,
    /// The page asked for, with its question, to come back to.
    pub here: String,
}

/// Light or night.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Theme {
    /// As the reader's device has it.
    #[default]
    Device,
    Light,
    Night,
}

impl Theme {
    pub fn word(self) -> &'static str {
        match self {
            Theme::Device => "device",
            Theme::Light => "light",
            Theme::Night => "night",
        }
    }

    pub fn read(word: &str) -> Self {
        match word {
            "light" => Theme::Light,
            "night" => Theme::Night,
            _ => Theme::Device,
        }
    }
}

/// "us" or "si".
pub(crate) fn units(word: &str) -> Option<System> {
    match word {
        "us" => Some(System::Us),
        "si" => Some(System::Si),
        _ => None,
    }
}

/// The word that [`units`] reads.
pub(crate) fn word(system: System) -> &'static str {
    match system {
        System::Us => "us",
        System::Si => "si",
    }
}

impl Reader {
    /// The units of answers about `book`.
    pub fn system(&self, book: &book::Book) -> System {
        self.units.unwrap_or(book.units)
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Reader {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        let mut reader = Reader {
            here: parts.uri.to_string(),
            ..Reader::default()
        };
        let cookies = parts.headers.get_all(COOKIE).iter();
        let texts = cookies.filter_map(|value| value.to_str().ok());
        for (key, value) in texts
            .flat_map(|text| text.split(';'))
            .filter_map(|c| c.trim().split_once('='))
        {
            match key {
                "units" => reader.units = units(value),
                "theme" => reader.theme = Theme::read(value),
                "name" => reader.name = from_cookie(value),
                "address" => reader.address = sound(&from_cookie(value)).ok(),
                _ => {}
            }
        }
        let asked = parts.uri.query().unwrap_or("").split('&');
        if let Some(asked) = asked
            .filter_map(|pair| pair.strip_prefix("units="))
            .find_map(units)
        {
            reader.units = Some(asked);
        }
        // Elsewhere than at one's own computer a name cannot be typed.
        match parts.extensions.get::<Who>() {
            None => {}
            Some(who) => {
                reader.name = who.person().map_or_else(String::new, |p| p.name.clone());
                reader.host = own_address(&parts.headers).unwrap_or_default();
                reader.address = reader.address.or_else(|| Some(reader.host.clone()));
                reader.who = who.clone();
            }
        }
        Ok(reader)
    }
}
