//! The fields of an item on their way to it.

use super::ItemFields;
use crate::edit::fields::{Form, range, some};
use crate::edit::marking;
use crate::keys::Key;
use crate::model::{About, Marking, Stated, number};
use hydraulics::coupling::{Coupling, Side};
use hydraulics::friction::Coefficient;
use hydraulics::units::{Measure, Ratio, System};

pub(super) struct Sheet<'a> {
    pub typed: &'a ItemFields,
    pub form: Form,
}

/// Several in one field. A comma within a number is none between two.
pub(super) fn listed(text: &str) -> Vec<&str> {
    let all = text.split(';').flat_map(|text| text.split(", "));
    all.map(str::trim).filter(|text| !text.is_empty()).collect()
}

/// C as a field shows it: the figure as written where it is in the reader's form.
pub(super) fn c_shown(c: &Stated<Coefficient>, reader: System) -> String {
    let figure = c.text().split_whitespace().next().unwrap_or_default();
    match Stated::read_c(figure, reader).is_some_and(|same| same.get() == c.get()) {
        true => figure.into(),
        false => crate::model::c_figure(c.get(), reader),
    }
}

/// C with the form it is in.
pub(super) fn c_formed(c: &Stated<Coefficient>, form: System) -> Stated<Coefficient> {
    let word = match form {
        System::Us => "us",
        System::Si => "metric",
    };
    match number(c.text()) {
        Some(_) => Stated::new(c.get(), format!("{} {word}", c.text())),
        None => c.clone(),
    }
}

impl<'a> Sheet<'a> {
    pub fn new(typed: &'a ItemFields, reader: System) -> Self {
        Sheet {
            typed,
            form: Form::new(reader),
        }
    }

    pub fn get(&self, field: &str) -> &'a str {
        self.typed.get(field)
    }

    pub fn has(&self, field: &str) -> bool {
        !self.get(field).is_empty()
    }

    /// The field of a key that has its name.
    pub fn quantity<Q: Measure>(
        &mut self,
        table: &'static [Key],
        key: &'static str,
        was: Option<&Stated<Q>>,
    ) -> Option<Stated<Q>> {
        self.measure((table, key), key, was)
    }

    pub fn measure<Q: Measure>(
        &mut self,
        key: (&'static [Key], &'static str),
        field: &'static str,
        was: Option<&Stated<Q>>,
    ) -> Option<Stated<Q>> {
        let text = self.get(field);
        self.form.measure(key, field, text, was)
    }

    /// One that must be there.
    pub fn needed<Q: Measure>(
        &mut self,
        (table, key): (&'static [Key], &'static str),
        field: &'static str,
        was: Option<&Stated<Q>>,
    ) -> Option<Stated<Q>> {
        if !self.has(field) {
            let example = range(table, key).map(|range| range.example(self.form.reader));
            let mend = format!("write it as {}", example.unwrap_or_default());
            let what = key.replace('_', " ");
            self.form
                .error(field, format!("no {what} is written"), mend);
            return None;
        }
        self.measure((table, key), field, was)
    }

    /// A plain number, shown as it is written.
    pub fn plain(
        &mut self,
        table: &'static [Key],
        key: &'static str,
        was: Option<&Stated<Ratio>>,
    ) -> Option<Stated<Ratio>> {
        if let Some(same) = was.filter(|was| was.text() == self.get(key)) {
            return Some(same.clone());
        }
        let read: Stated<Ratio> = self.quantity(table, key, None)?;
        let whole = range(table, key).is_some_and(|range| range.whole);
        if whole && read.get().value.fract() != 0.0 {
            let message = format!("{} is no whole number", read.text());
            let mend = "write a number without fraction";
            self.form.error(key, message, mend);
            return None;
        }
        Some(read)
    }

    pub fn coefficient(
        &mut self,
        field: &'static str,
        was: Option<&Stated<Coefficient>>,
    ) -> Option<Stated<Coefficient>> {
        let (text, reader) = (self.get(field), self.form.reader);
        if text.is_empty() {
            return None;
        }
        if let Some(was) = was.filter(|was| c_shown(was, reader) == text) {
            return Some(was.clone());
        }
        let fair = |c: &Stated<Coefficient>| (0.001..=5_000.0).contains(&c.get().us_value());
        let read = Stated::read_c(text, reader).filter(fair);
        if read.is_none() {
            let message = format!("\"{text}\" is no friction coefficient C");
            let mend = match reader {
                System::Us => "write a number above zero, as 15.5 (psi, gpm, ft)",
                System::Si => "write a number above zero, as 24.6 (kPa, L/min, m)",
            };
            self.form.error(field, message, mend);
        }
        read.map(|c| c_formed(&c, reader))
    }

    pub fn coupling(&mut self, field: &'static str, side: Side) -> Option<Stated<Coupling>> {
        let text = self.get(field);
        self.coupling_of(field, text, side)
    }

    pub fn coupling_of(
        &mut self,
        field: &'static str,
        text: &str,
        side: Side,
    ) -> Option<Stated<Coupling>> {
        if text.is_empty() {
            return None;
        }
        match Coupling::read(text, side) {
            Ok(coupling) => Some(Stated::new(coupling, text)),
            Err(error) => {
                let mend = "write size and thread, as 2.5 in NH";
                self.form.error(field, format!("\"{text}\": {error}"), mend);
                None
            }
        }
    }

    pub fn couplings(&mut self, field: &'static str, side: Side) -> Vec<Stated<Coupling>> {
        let all = listed(self.get(field)).into_iter();
        all.filter_map(|text| self.coupling_of(field, text, side))
            .collect()
    }

    /// One of some words.
    pub fn word<T: Copy>(
        &mut self,
        field: &'static str,
        of: impl IntoIterator<Item = (&'static str, T)>,
    ) -> Option<T> {
        let text = self.get(field);
        let of: Vec<_> = of.into_iter().collect();
        let found = of.iter().find(|(word, _)| *word == text).map(|(_, t)| *t);
        if found.is_none() {
            let words = of.iter().map(|(word, _)| *word);
            let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
            let message = match text {
                "" => format!("no {field} is chosen"),
                text => format!("there is no {field} \"{text}\""),
            };
            self.form
                .error(field, message, format!("choose {}", words.join(", ")));
        }
        found
    }

    pub fn date(&mut self, field: &'static str) -> Option<String> {
        let text = self.get(field);
        let date: Option<toml::value::Datetime> = text.parse().ok();
        let whole = date.is_some_and(|d| d.date.is_some() && d.time.is_none());
        if !whole && !text.is_empty() {
            let message = format!("\"{text}\" is no day");
            self.form
                .error(field, message, "write year, month and day, as 2026-05-11");
        }
        some(text).filter(|_| whole)
    }

    /// Colour and mark.
    pub fn marking(&mut self) -> Marking {
        let read = marking(self.get("colour"), self.get("mark"));
        read.unwrap_or_else(|wrong| {
            for error in wrong {
                self.form.error(error.key, error.message, error.mend);
            }
            Marking::default()
        })
    }

    /// Refuses what is typed into fields that belong elsewhere.
    pub fn empty(&mut self, fields: &[&'static str], what: &str) {
        for field in fields
            .iter()
            .filter(|field| !self.typed.get(field).is_empty())
        {
            let text = self.typed.get(field);
            let message = format!("{what}, but \"{text}\" is typed here");
            self.form.error(
                field,
                message,
                "leave this field empty, or choose what it belongs to",
            );
        }
    }

    pub fn about(&self, was: Option<&About>) -> About {
        About {
            source: some(self.get("source")),
            note: some(self.get("note")),
            invented: was.is_some_and(|was| was.invented),
        }
    }
}
