//! Size and units of a sheet, as an address has them.

use crate::address;
use crate::fault::Fault;
use crate::form::Sent;
use crate::reader::Reader;
use book::Book;
use hydraulics::units::System;
use maud::{Markup, html};
use paper::{Kind, Size, Units};
use serde::Deserialize;

/// What an address asks for, as it is written there.
#[derive(Debug, Clone, Deserialize, Default)]
#[serde(default)]
pub(crate) struct Asked {
    pub size: Option<String>,
    pub units: Option<String>,
}

impl Asked {
    /// The same as a form sends it.
    pub fn of(sent: &Sent) -> Self {
        Asked {
            size: Some(sent.own("size")),
            units: Some(sent.own("units")),
        }
    }
}

/// What it is printed on, and in which units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Choice {
    pub size: Size,
    pub units: Units,
}

impl Choice {
    /// What is asked for; else the reader's units, on the paper that goes with them.
    pub fn of(asked: &Asked, reader: &Reader, book: &Book) -> Result<Self, Fault> {
        Self::asked(asked, reader.system(book))
    }

    /// What is asked for; else `system`, on the paper that goes with it.
    pub fn asked(asked: &Asked, system: System) -> Result<Self, Fault> {
        let (size, units) = match system {
            System::Us => (Size::Letter, Units::Us),
            System::Si => (Size::A4, Units::Si),
        };
        Ok(Choice {
            size: named("size", &asked.size, Size::called, Size::ALL.map(Size::word))?
                .unwrap_or(size),
            units: named(
                "units",
                &asked.units,
                Units::called,
                Units::ALL.map(Units::word),
            )?
            .unwrap_or(units),
        })
    }

    /// The same for sheets of `kind`: one that is drawn to scale takes a full page.
    pub fn fitting(self, kind: Kind) -> Self {
        Choice {
            size: kind.size(self.size, self.units),
            ..self
        }
    }

    /// `page` with this choice in its address.
    pub fn at(self, page: String) -> String {
        address::asked(page, self.pairs())
    }

    fn pairs(self) -> [(&'static str, &'static str); 2] {
        [("size", self.size.word()), ("units", self.units.word())]
    }

    /// The same for a form that is sent on.
    pub fn hidden(self) -> Markup {
        html! {
            @for (key, value) in self.pairs() { input type="hidden" name=(key) value=(value); }
        }
    }

    /// The form that changes it: the page again, with another address.
    pub fn form(self) -> Markup {
        html! {
            form.choose method="get" {
                (self.fields(&Size::ALL))
                div.actions { button { "Show it so" } }
            }
        }
    }

    /// The fields of a form that chooses among `sizes`.
    pub fn fields(self, sizes: &[Size]) -> Markup {
        html! {
            fieldset.choices {
                legend { "Paper" }
                @for size in sizes {
                    (radio("size", size.word(), size_words(*size), *size == self.size))
                }
            }
            fieldset.choices {
                legend { "Units on the sheet" }
                @for units in Units::ALL {
                    (radio("units", units.word(), units_words(units), units == self.units))
                }
            }
        }
    }
}

fn radio(name: &str, value: &str, label: &str, checked: bool) -> Markup {
    html! {
        label { input type="radio" name=(name) value=(value) checked[checked]; (label) }
    }
}

/// What is asked for by one of `words`.
fn named<T>(
    key: &str,
    asked: &Option<String>,
    called: impl Fn(&str) -> Option<T>,
    words: [&str; 3],
) -> Result<Option<T>, Fault> {
    let Some(asked) = asked.as_deref().filter(|asked| !asked.is_empty()) else {
        return Ok(None);
    };
    called(asked).map(Some).ok_or_else(|| {
        let words = words.join(", ");
        Fault::Misread(format!("{key}: there are {words}, no \"{asked}\""))
    })
}

/// What people call a size.
pub(super) fn size_words(size: Size) -> &'static str {
    match size {
        Size::A4 => "A4",
        Size::Letter => "Letter",
        Size::Pocket => "Pocket",
    }
}

/// What people call the units of a sheet.
pub(super) fn units_words(units: Units) -> &'static str {
    match units {
        Units::Us => "US",
        Units::Si => "SI",
        Units::Both => "US and SI",
    }
}
