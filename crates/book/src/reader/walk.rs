//! Typed steps through the tree of a file. Each step that fails reports its
//! problem and goes on.

use crate::keys::{self, Key, Range as Bounds, Shape};
use crate::model::{
    About, Colour, DEAREST, MARK_MEND, MONEY_LIMIT, Marking, MassPerLength, SectionPrice, Stated,
    is_mark, is_money, price_example,
};
use crate::problem::{Problem, Severity, nearest};
use hydraulics::coupling::{Coupling, CouplingError, Side};
use hydraulics::friction::Coefficient;
use hydraulics::units::{Kind, Measure, System, UnitError};
use miette::NamedSource;
use std::ops::Range;
use std::sync::Arc;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Characters that a name may have at most.
pub(crate) const NAME_LIMIT: usize = 80;

/// Can `name` be read aloud?
pub(crate) fn nameable(name: &str) -> bool {
    let long = name.chars().count() > NAME_LIMIT;
    !(name.trim().is_empty() || long || name.chars().any(char::is_control))
}

pub(crate) type Span = Range<usize>;

/// What a file is to hold.
pub(crate) struct Sort {
    pub what: &'static str,
    /// Bytes that it may have at most.
    pub limit: usize,
    /// What mends brackets too deep within each other.
    pub flat: &'static str,
}

/// Collects problems on the way.
pub(crate) struct Reader {
    pub system: System,
    pub problems: Vec<Problem>,
    pub sort: &'static Sort,
    source: Arc<NamedSource<String>>,
}

/// A table, the keys it may have, and what it is to a person.
#[derive(Clone)]
pub(crate) struct Table<'t> {
    pub map: &'t DeTable<'t>,
    pub keys: &'static [Key],
    pub span: Span,
    pub what: String,
}

/// A value and the span of its text.
pub(crate) type Value<'t> = &'t Spanned<DeValue<'t>>;

impl<'t> Table<'t> {
    pub fn value(&self, key: &str) -> Option<Value<'t>> {
        self.map.get(key)
    }

    pub fn has(&self, key: &str) -> bool {
        self.map.contains_key(key)
    }

    /// The span of what `key` holds, or of the table.
    pub fn at(&self, key: &str) -> Span {
        self.value(key)
            .map_or_else(|| self.span.clone(), Spanned::span)
    }

    /// What `key` holds, to be said after "the".
    pub(crate) fn what(&self, key: &str) -> String {
        let of = |keys: &'static [Key]| std::ptr::eq(self.keys, keys);
        let key = key.replace('_', " ");
        match key.as_str() {
            "book" if of(keys::FILE) => key,
            "one" if of(keys::CREW) => "book's crew limit for one person".into(),
            "two" | "three" if of(keys::CREW) => format!("book's crew limit for {key} people"),
            _ if of(keys::CREW) => format!("{key} of the book's crew limits"),
            "crew" if of(keys::BOOK) => "book's list of crew limits".into(),
            _ if of(keys::BOOK) || of(keys::FILE) => format!("book's {key}"),
            _ => format!("{key} of {}", self.what),
        }
    }

    /// The table as the first words of a sentence.
    fn subject(&self) -> String {
        match [keys::BOOK, keys::CREW]
            .iter()
            .any(|keys| std::ptr::eq(self.keys, *keys))
        {
            true => format!("the {}", self.what),
            false => self.what.clone(),
        }
    }
}

/// What a value is, to a person.
fn is(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// `text`, cut short for a message.
pub(crate) fn short(text: &str) -> String {
    match text.char_indices().nth(60) {
        Some((end, _)) => format!("{}...", text.get(..end).unwrap_or("")),
        None => text.into(),
    }
}

/// The text of a value that may be a bare number.
pub(crate) fn words(value: &DeValue<'_>) -> Option<String> {
    match value {
        DeValue::String(text) => Some(text.trim().to_string()),
        DeValue::Integer(number) => match number.radix() {
            10 => Some(plain(number.as_str())),
            radix => {
                let value = i64::from_str_radix(number.as_str(), radix).ok()?;
                Some(value.to_string())
            }
        },
        DeValue::Float(number) => Some(plain(number.as_str())),
        _ => None,
    }
}

/// A number in its shortest form, so that it is written as it is read.
fn plain(number: &str) -> String {
    number
        .parse::<f64>()
        .map_or_else(|_| number.into(), |value| value.to_string())
}

impl Reader {
    pub fn new(source: Arc<NamedSource<String>>, sort: &'static Sort) -> Self {
        Reader {
            system: System::Us,
            sort,
            problems: Vec::new(),
            source,
        }
    }

    /// Are there so many problems that no more are taken? Each takes time with
    /// the length of the file.
    pub fn full(&self) -> bool {
        self.problems.len() >= 1000
    }

    pub fn report(
        &mut self,
        severity: Severity,
        code: &'static str,
        span: Span,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) {
        if !self.full() {
            let problem = Problem::new(&self.source, severity, code, span, message, mend);
            self.problems.push(problem);
        }
    }

    pub fn error(
        &mut self,
        code: &'static str,
        span: Span,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) {
        self.report(Severity::Error, code, span, message, mend);
    }

    pub fn wrong_type(&mut self, value: Value<'_>, what: &str, wanted: &str) {
        let message = format!(
            "the {what} is {}, but {wanted} is wanted",
            is(value.get_ref())
        );
        self.error(
            "wrong_type",
            value.span(),
            message,
            format!("write {}", wanted.trim_end_matches(',')),
        );
    }

    /// The table that `value` is, its keys checked.
    pub fn table<'t>(
        &mut self,
        value: Value<'t>,
        keys: &'static [Key],
        what: String,
    ) -> Option<Table<'t>> {
        let DeValue::Table(map) = value.get_ref() else {
            self.wrong_type(value, &what, "a table with keys");
            return None;
        };
        let table = Table {
            map,
            keys,
            span: value.span(),
            what,
        };
        self.check_keys(&table);
        Some(table)
    }

    /// The table that `key` holds, if it is there.
    pub fn inner<'t>(&mut self, table: &Table<'t>, key: &str) -> Option<Table<'t>> {
        let value = table.value(key)?;
        match keys::shape(table.keys, key) {
            Some(Shape::Table(keys)) => self.table(value, keys, table.what(key)),
            _ => None,
        }
    }

    /// The named tables that `key` holds.
    pub fn named<'t>(&mut self, table: &Table<'t>, key: &str) -> Vec<(String, Table<'t>)> {
        let (Some(value), Some(Shape::Named(keys))) =
            (table.value(key), keys::shape(table.keys, key))
        else {
            return Vec::new();
        };
        self.entries(table, key, value, keys)
    }

    /// The named tables that `value` is, each with `keys`.
    pub fn entries<'t>(
        &mut self,
        table: &Table<'t>,
        key: &str,
        value: Value<'t>,
        keys: &'static [Key],
    ) -> Vec<(String, Table<'t>)> {
        let DeValue::Table(map) = value.get_ref() else {
            self.wrong_type(value, key, "named tables");
            return Vec::new();
        };
        let of = match std::ptr::eq(table.keys, keys::FILE) {
            true => String::new(),
            false => format!(" of {}", table.what),
        };
        let mut found = Vec::new();
        for (name, entry) in map.iter() {
            let what = format!("{key} \"{}\"{of}", short(name.get_ref()));
            self.name(name.get_ref(), name.span(), &what);
            if let Some(mut inner) = self.table(entry, keys, what) {
                // A header's span says more than that of an empty inline table.
                if inner.span.is_empty() {
                    inner.span = name.span();
                }
                found.push((name.get_ref().to_string(), inner));
            }
        }
        found
    }

    /// Refuses a name that cannot be read aloud.
    pub fn name(&mut self, name: &str, span: Span, what: &str) {
        if !nameable(name) {
            self.error(
                "bad_name",
                span,
                format!("{what} has a name that cannot be read aloud"),
                "give it a name of 1 to 80 letters, digits and signs",
            );
        }
    }

    /// Refuses keys that are not known and asks for those that are needed.
    pub fn check_keys(&mut self, table: &Table<'_>) {
        self.unknown_keys(table);
        self.needed_keys(table);
    }

    fn unknown_keys(&mut self, table: &Table<'_>) {
        let known = || table.keys.iter().map(|k| k.name);
        for (key, _) in table.map.iter() {
            let name = key.get_ref().as_ref();
            if self.full() || known().any(|k| k == name) {
                continue;
            }
            let mend = match nearest(name, known()) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("the keys are {}", known().collect::<Vec<_>>().join(", ")),
            };
            let message = format!("{} has no key \"{}\"", table.subject(), short(name));
            self.error("unknown_key", key.span(), message, mend);
        }
    }

    fn needed_keys(&mut self, table: &Table<'_>) {
        for key in table.keys.iter().filter(|k| k.needed) {
            if !table.has(key.name) {
                let example = example(key, self.system);
                self.missing(table, key.name, &example);
            }
        }
    }

    pub fn missing(&mut self, table: &Table<'_>, key: &str, example: &str) {
        self.error(
            "missing",
            table.span.clone(),
            format!("{} has no {}", table.subject(), key.replace('_', " ")),
            format!("add {example}"),
        );
    }

    /// What stands behind `key`, as text; a date or a number is not one.
    pub fn text(&mut self, table: &Table<'_>, key: &str) -> Option<String> {
        let value = table.value(key)?;
        match value.get_ref() {
            DeValue::String(text) => Some(text.to_string()),
            _ => {
                self.wrong_type(value, &table.what(key), "a text in quotation marks");
                None
            }
        }
    }

    /// A name: a text, or a bare number taken as text.
    pub fn name_of(&mut self, table: &Table<'_>, key: &str) -> Option<String> {
        let value = table.value(key)?;
        let name = match value.get_ref() {
            // Names are compared as they are written.
            DeValue::String(text) => Some(text.to_string()),
            other => words(other),
        };
        if name.is_none() {
            self.wrong_type(value, &table.what(key), "a name in quotation marks");
        }
        name
    }

    pub fn flag(&mut self, table: &Table<'_>, key: &str) -> bool {
        match table.value(key).map(|v| (v, v.get_ref())) {
            None => false,
            Some((_, DeValue::Boolean(flag))) => *flag,
            Some((value, _)) => {
                self.wrong_type(value, &table.what(key), "true or false");
                false
            }
        }
    }

    /// One of the words that `key` takes, by its place among them.
    pub fn word(&mut self, table: &Table<'_>, key: &str) -> Option<&'static str> {
        let text = self.text(table, key)?;
        let Some(Shape::Word(all)) = keys::shape(table.keys, key) else {
            return None;
        };
        let found = all.iter().find(|word| **word == text);
        if found.is_none() {
            let mend = match nearest(&text, all.iter().copied()) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("write one of {}", all.join(", ")),
            };
            let message = format!("the {} is \"{}\"", table.what(key), short(&text));
            self.error("unknown_word", table.at(key), message, mend);
        }
        found.copied()
    }

    pub fn date(&mut self, table: &Table<'_>, key: &str) -> Option<String> {
        let value = table.value(key)?;
        let text = match value.get_ref() {
            DeValue::Datetime(date) => date.to_string(),
            DeValue::String(text) => text.trim().to_string(),
            _ => String::new(),
        };
        let date: Option<toml::value::Datetime> = text.parse().ok();
        if date.is_some_and(|d| d.date.is_some() && d.time.is_none()) {
            return Some(text);
        }
        let message = format!("the {} is \"{}\"", table.what(key), short(&text));
        let mend = "write year, month and day, as \"2026-05-11\"";
        self.error("bad_date", value.span(), message, mend);
        None
    }

    pub fn quantity<Q: Measure>(&mut self, table: &Table<'_>, key: &str) -> Option<Stated<Q>> {
        let value = table.value(key)?;
        let Some(Shape::Quantity(bounds)) = keys::shape(table.keys, key) else {
            return None;
        };
        self.measure(value, &table.what(key), bounds)
    }

    /// As [`Reader::quantity`], where the kind depends on another key.
    pub fn quantity_of<Q: Measure>(
        &mut self,
        table: &Table<'_>,
        key: &str,
        kind: Kind,
    ) -> Option<Stated<Q>> {
        let value = table.value(key)?;
        let bounds = keys::bounds(table.keys, key, kind)?;
        self.measure(value, &table.what(key), bounds)
    }

    /// As [`Reader::quantity`], with something in its place when it is missing
    /// or cannot be read, so that the rest can still be checked.
    pub fn quantity_or<Q: Measure>(&mut self, table: &Table<'_>, key: &str) -> Stated<Q> {
        self.quantity(table, key).unwrap_or_else(blank)
    }

    pub fn measure<Q: Measure>(
        &mut self,
        value: Value<'_>,
        what: &str,
        bounds: &Bounds,
    ) -> Option<Stated<Q>> {
        let Some(text) = words(value.get_ref()) else {
            let unit = if bounds.plain { "" } else { " and its unit" };
            let example = bounds.example(self.system);
            self.wrong_type(value, what, &format!("a number{unit}, as {example},"));
            return None;
        };
        match Stated::<Q>::read(bounds.kind, &text, self.system) {
            Ok(stated) => self.bounded(value.span(), what, stated, bounds),
            Err(error) => {
                self.unit_error(value.span(), what, bounds.kind, &text, &error);
                None
            }
        }
    }

    fn bounded<Q: Measure>(
        &mut self,
        span: Span,
        what: &str,
        stated: Stated<Q>,
        bounds: &Bounds,
    ) -> Option<Stated<Q>> {
        let si = stated.get().si();
        if (bounds.low..=bounds.high).contains(&si) {
            if bounds.whole && si.fract() != 0.0 {
                let message = format!("the {what} is {}, and no whole number", stated.text());
                self.error(
                    "not_whole",
                    span,
                    message,
                    "write a number without fraction",
                );
                return None;
            }
            return Some(stated);
        }
        let code = match si {
            si if si < 0.0 && bounds.low >= 0.0 && bounds.kind != Kind::Temperature => "negative",
            0.0 => "zero",
            _ => "out_of_range",
        };
        let text = short(stated.text());
        let range = bounds.text(self.system);
        let message = format!("the {what} is {text}, but must be {range}");
        let mend = match bounds.kind {
            Kind::Share if !bounds.plain && !text.contains('%') && (1.0..=100.0).contains(&si) => {
                format!("write \"{text} %\" if per cent is meant")
            }
            _ => "check the number and its unit".to_string(),
        };
        self.error(code, span, message, mend);
        None
    }

    fn unit_error(&mut self, span: Span, what: &str, kind: Kind, text: &str, error: &UnitError) {
        let known = || {
            let symbols = kind.units().iter().map(|u| u.symbol);
            let symbols: Vec<&str> = symbols.filter(|s| !s.is_empty()).collect();
            symbols.join(", ")
        };
        let example = kind.example(self.system);
        let (code, mend) = match error {
            UnitError::NoNumber { .. } => ("no_number", format!("write it as \"{example}\"")),
            UnitError::NoUnit { .. } => ("no_unit", format!("write it as \"{example}\"")),
            UnitError::UnknownUnit { unit, .. } => {
                let mend = match nearest(unit, kind.units().iter().map(|u| u.symbol)) {
                    Some(near) => format!("did you mean \"{near}\"?"),
                    None => format!("units of {} are {}", kind.name(), known()),
                };
                ("unknown_unit", mend)
            }
            UnitError::WrongKind { .. } => (
                "wrong_unit",
                format!("use one of {}, as \"{example}\"", known()),
            ),
            UnitError::NotFinite { .. } => ("not_finite", format!("write it as \"{example}\"")),
        };
        let message = match error {
            UnitError::UnknownUnit { .. } | UnitError::WrongKind { .. } => {
                format!("the {what} is \"{}\": {error}", short(text))
            }
            _ => format!("the {what} cannot be read: {}", short(&error.to_string())),
        };
        self.error(code, span, message, mend);
    }

    pub fn coefficient(&mut self, value: Value<'_>, what: &str) -> Option<Stated<Coefficient>> {
        let text = words(value.get_ref()).unwrap_or_default();
        let stated = Stated::read_c(&text, self.system);
        let fair = |c: &Stated<Coefficient>| (0.001..=5_000.0).contains(&c.get().us_value());
        if let Some(stated) = stated.clone().filter(fair) {
            return Some(stated);
        }
        let (code, message) = match (stated, words(value.get_ref())) {
            (Some(_), _) => (
                "out_of_range",
                format!(
                    "the {what} is C {}, but must be 0.001 to 5000 in psi, gpm and ft",
                    short(&text)
                ),
            ),
            (None, Some(_)) => (
                "no_coefficient",
                format!(
                    "the {what} is \"{}\", which is no friction coefficient above zero",
                    short(&text)
                ),
            ),
            (None, None) => {
                self.wrong_type(value, what, "a friction coefficient, as 15.5,");
                return None;
            }
        };
        let mend = "write C as 15.5, or with its form as \"15.5 us\" or \"24.6 metric\"";
        self.error(code, value.span(), message, mend);
        None
    }

    pub fn coefficient_of(&mut self, table: &Table<'_>, key: &str) -> Option<Stated<Coefficient>> {
        let value = table.value(key)?;
        self.coefficient(value, &table.what(key))
    }

    pub fn coupling_value(
        &mut self,
        value: Value<'_>,
        what: &str,
        side: Side,
    ) -> Option<Stated<Coupling>> {
        let DeValue::String(text) = value.get_ref() else {
            self.wrong_type(value, what, "size and thread, as \"2.5 in NH\",");
            return None;
        };
        match Coupling::read(text, side) {
            Ok(coupling) => Some(Stated::new(coupling, text.trim())),
            Err(error) => {
                let code = match error {
                    CouplingError::Size(_) => "bad_coupling_size",
                    CouplingError::Thread { .. } => "unknown_thread",
                    CouplingError::Range { .. } => "out_of_range",
                    CouplingError::Half { .. } => "no_half",
                };
                let message = format!("the {what} is \"{}\": {error}", short(text));
                let mend = "write size and thread, as \"2.5 in NH\"";
                self.error(code, value.span(), message, mend);
                None
            }
        }
    }

    pub fn coupling(
        &mut self,
        table: &Table<'_>,
        key: &str,
        side: Side,
    ) -> Option<Stated<Coupling>> {
        let value = table.value(key)?;
        self.coupling_value(value, &table.what(key), side)
    }

    pub fn weight(&mut self, table: &Table<'_>, key: &str) -> Option<Stated<MassPerLength>> {
        let value = table.value(key)?;
        let text = words(value.get_ref()).unwrap_or_default();
        let found = Stated::read_weight(&text).ok();
        let fair = |w: &Stated<MassPerLength>| (0.01..=20.0).contains(&w.get().value);
        let fair = found.filter(fair);
        if fair.is_none() {
            let message = format!(
                "the {} is \"{}\", which is no weight of 0.01 to 20 kg per m (0.01 to 13 lb per ft)",
                table.what(key),
                short(&text)
            );
            let mend = "write it as \"16 lb per 50 ft\"";
            self.error("bad_weight", value.span(), message, mend);
        }
        fair
    }

    /// What a section of hose costs.
    pub fn section_price(&mut self, table: &Table<'_>, key: &str) -> Option<Stated<SectionPrice>> {
        let value = table.value(key)?;
        let text = words(value.get_ref()).unwrap_or_default();
        let found = Stated::read_price(&text).ok();
        if found.is_none() {
            let message = format!(
                "the {} is \"{}\", which is no price of 0 to {DEAREST} for a section",
                table.what(key),
                short(&text)
            );
            let mend = format!("write it as \"{}\"", price_example(self.system));
            self.error("bad_price", value.span(), message, mend);
        }
        found
    }

    /// The word for the book's money.
    pub fn money(&mut self, table: &Table<'_>) -> Option<String> {
        let text = self.text(table, "money")?;
        if is_money(&text) {
            return Some(text);
        }
        let message = format!("the {} is \"{}\"", table.what("money"), short(&text));
        let mend = format!("write 1 to {MONEY_LIMIT} letters or signs, as \"USD\"");
        self.error("bad_money", table.at("money"), message, mend);
        None
    }

    /// The items of a list, or the one value that stands for a list of one.
    pub fn several<'t>(&mut self, table: &Table<'t>, key: &str) -> Vec<Value<'t>> {
        match table.value(key).map(|v| (v, v.get_ref())) {
            None => Vec::new(),
            Some((_, DeValue::Array(items))) => items.iter().collect(),
            Some((value, _)) => vec![value],
        }
    }

    /// The two items of a list of two.
    pub fn pair<'t>(&mut self, table: &Table<'t>, key: &str) -> Option<[Value<'t>; 2]> {
        let value = table.value(key)?;
        match value.get_ref() {
            DeValue::Array(items) => match items.as_ref() {
                [low, high] => return Some([low, high]),
                other => {
                    let message = format!(
                        "the {} has {} values, but a low and a high one are wanted",
                        table.what(key),
                        other.len()
                    );
                    let mend = "write two in brackets, as [low, high]";
                    self.error("not_a_pair", value.span(), message, mend);
                }
            },
            _ => self.wrong_type(value, &table.what(key), "a list of a low and a high value"),
        }
        None
    }

    /// Refuses a pair whose high end lies below its low end.
    pub fn rising(&mut self, table: &Table<'_>, key: &str, rising: bool) {
        if !rising {
            self.error(
                "reversed",
                table.at(key),
                format!(
                    "the {} falls from its first value to its second",
                    table.what(key)
                ),
                "write the low value first",
            );
        }
    }

    pub fn quantity_pair<Q: Measure>(
        &mut self,
        table: &Table<'_>,
        key: &str,
    ) -> Option<[Stated<Q>; 2]> {
        let [low, high] = self.pair(table, key)?;
        let Some(Shape::Pair(Shape::Quantity(bounds))) = keys::shape(table.keys, key) else {
            return None;
        };
        let what = table.what(key);
        let low = self.measure::<Q>(low, &what, bounds);
        let high = self.measure::<Q>(high, &what, bounds);
        let pair = [low?, high?];
        let [low, high] = &pair;
        self.rising(table, key, low.get().si() <= high.get().si());
        Some(pair)
    }

    /// Refuses `key` where `other` is.
    pub fn not_with(&mut self, table: &Table<'_>, key: &str, other: &str) {
        if table.has(key) && table.has(other) {
            self.error(
                "one_of_two",
                table.at(key),
                format!("{} has both {key} and {other}", table.what),
                format!("keep {key} or {other}"),
            );
        }
    }

    /// Refuses `key` where `other` is missing.
    pub fn only_with(&mut self, table: &Table<'_>, key: &str, other: &str, example: &str) {
        if table.has(key) && !table.has(other) {
            self.error(
                "missing",
                table.at(key),
                format!("{} has {key} but no {other}", table.what),
                format!("add {example}"),
            );
        }
    }

    /// The tables that `key` lists.
    pub fn tables<'t>(&mut self, table: &Table<'t>, key: &str) -> Vec<Table<'t>> {
        let (Some(value), Some(Shape::Tables(keys))) =
            (table.value(key), keys::shape(table.keys, key))
        else {
            return Vec::new();
        };
        let DeValue::Array(items) = value.get_ref() else {
            self.wrong_type(value, &table.what(key), "a list of tables, as [{ ... }]");
            return Vec::new();
        };
        let mut found = Vec::new();
        for (index, item) in items.iter().enumerate() {
            let word = key.strip_suffix('s').unwrap_or(key).replace('_', " ");
            let what = format!("{word} {} of {}", index + 1, table.what);
            found.extend(self.table(item, keys, what));
        }
        found
    }

    /// The colour and mark of what `table` is about.
    pub fn marking(&mut self, table: &Table<'_>) -> Marking {
        Marking {
            colour: self.colour(table),
            mark: self.mark(table),
        }
    }

    fn colour(&mut self, table: &Table<'_>) -> Option<Colour> {
        let text = self.text(table, "colour")?;
        let colour = Colour::read(&text);
        if colour.is_none() {
            let message = format!("the {} is \"{}\"", table.what("colour"), short(&text));
            let mend = Colour::mend(&text);
            self.error("bad_colour", table.at("colour"), message, mend);
        }
        colour
    }

    fn mark(&mut self, table: &Table<'_>) -> Option<String> {
        let text = self.text(table, "mark")?;
        if is_mark(&text) {
            return Some(text);
        }
        let message = format!(
            "the {} is \"{}\", which has {} letters",
            table.what("mark"),
            short(&text),
            text.chars().count()
        );
        self.error("bad_mark", table.at("mark"), message, MARK_MEND);
        None
    }

    pub fn about(&mut self, table: &Table<'_>) -> About {
        About {
            source: self.text(table, "source"),
            note: self.text(table, "note"),
            invented: self.flag(table, "invented"),
        }
    }
}

/// Stands for a quantity that could not be read.
pub(crate) fn blank<Q: Measure>() -> Stated<Q> {
    Stated::new(Q::of_si(1.0), "1")
}

/// How a key could be written.
fn example(key: &Key, system: System) -> String {
    let value = match &key.shape {
        Shape::Quantity(bounds) => bounds.example(system),
        Shape::Either([bounds, ..]) => bounds.example(system),
        Shape::Word(words) => match words.first() {
            Some(word) => format!("\"{word}\""),
            None => "\"...\"".into(),
        },
        Shape::Coefficient => "15.5".into(),
        Shape::Parts | Shape::Rows => "[ ... ]".into(),
        Shape::Several(Shape::Name) => "[\"...\"]".into(),
        Shape::Pair(Shape::Quantity(bounds)) => {
            let one = bounds.example(system);
            format!("[{one}, {one}]")
        }
        Shape::Table(_) => return format!("[{}]", key.name),
        _ => "\"...\"".into(),
    };
    format!("{} = {value}", key.name)
}
