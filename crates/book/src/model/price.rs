//! What equipment costs, in the book's money.

use super::{Book, Stated, number};
use hydraulics::units::{Kind, Length, Ratio, System, UnitError, decimal, parse};

/// What a section of hose costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionPrice {
    /// The price of one section, in the book's money.
    pub each: f64,
    /// The length of a section.
    pub section: Length,
}

impl SectionPrice {
    /// How many whole sections make up `length`. A remainder below a thousandth of a
    /// section is a rounding of units, and no section.
    ///
    /// ```
    /// use book::Stated;
    /// use hydraulics::units::{Kind, Length, System};
    /// let price = Stated::read_price("320 per 50 ft")?.get();
    /// let length = Stated::<Length>::read(Kind::Length, "180 ft", System::Us)?;
    /// assert_eq!(price.sections(length.get()), 4);
    /// # Ok::<(), hydraulics::units::UnitError>(())
    /// ```
    pub fn sections(&self, length: Length) -> u64 {
        let all = (length / self.section).value - 1e-3;
        if all > 0.0 { all.ceil() as u64 } else { 0 }
    }

    /// What the sections for `length` cost together.
    pub fn of(&self, length: Length) -> f64 {
        self.each * self.sections(length) as f64
    }
}

/// The most that anything costs: more is a slip of the pen (common practice, no source).
pub(crate) const DEAREST: f64 = 1e7;

impl Stated<SectionPrice> {
    /// Reads "320 per 50 ft": the price of one section, and its length.
    ///
    /// # Errors
    /// [`UnitError`] says what is missing or not known.
    pub fn read_price(text: &str) -> Result<Self, UnitError> {
        let text = text.trim();
        let no = || UnitError::NoUnit {
            text: text.into(),
            kind: "price per length",
        };
        let (each, section) = text.split_once(" per ").ok_or_else(no)?;
        let each = number(each.trim()).ok_or_else(no)?;
        let section: Length = parse(Kind::Length, section)?;
        let fair = (0.0..=DEAREST).contains(&each) && (0.3..=400.0).contains(&section.value);
        match fair {
            true => Ok(Stated::new(SectionPrice { each, section }, text)),
            false => Err(UnitError::NotFinite { text: text.into() }),
        }
    }
}

/// How the price of a section could be written in `system`.
pub(crate) fn price_example(system: System) -> &'static str {
    match system {
        System::Us => "320 per 50 ft",
        System::Si => "300 per 20 m",
    }
}

/// Letters that the word for the money may have at most.
pub(crate) const MONEY_LIMIT: usize = 8;

/// Can `text` stand beside a number for its money?
pub(crate) fn is_money(text: &str) -> bool {
    let count = text.chars().count();
    let plain = |c: char| !c.is_control() && !c.is_ascii_digit();
    (1..=MONEY_LIMIT).contains(&count) && text.trim() == text && text.chars().all(plain)
}

/// A price without its word for the money, and without cents where it has none.
///
/// ```
/// assert_eq!(book::price_amount(1280.0), "1,280");
/// assert_eq!(book::price_amount(12.5), "12.50");
/// ```
pub fn price_amount(price: f64) -> String {
    let cents = (price * 100.0).round() / 100.0;
    let text = decimal(cents, if cents.fract() == 0.0 { 0 } else { 2 });
    let end = text.find('.').unwrap_or(text.len());
    let (whole, rest) = text.split_at(end);
    let first = whole.trim_start_matches('-').len();
    let mut said = String::new();
    for (place, c) in whole.trim_start_matches('-').chars().enumerate() {
        if place > 0 && (first - place).is_multiple_of(3) {
            said.push(',');
        }
        said.push(c);
    }
    let sign = if whole.starts_with('-') { "-" } else { "" };
    format!("{sign}{said}{rest}")
}

impl Book {
    /// A price as a person reads it, with the word for the book's money where it has
    /// one: "1,280 USD".
    ///
    /// ```
    /// let book = book::Book { money: Some("USD".into()), ..book::Book::default() };
    /// assert_eq!(book.price_text(1280.0), "1,280 USD");
    /// assert_eq!(book::Book::default().price_text(12.5), "12.50");
    /// ```
    pub fn price_text(&self, price: f64) -> String {
        match &self.money {
            Some(money) => format!("{} {money}", price_amount(price)),
            None => price_amount(price),
        }
    }

    /// What a nozzle of this name costs; `None` where the book does not say.
    pub fn nozzle_price(&self, name: &str) -> Option<f64> {
        let item = self.nozzle(name)?.item;
        item.price
            .as_ref()
            .map(|price: &Stated<Ratio>| price.get().value)
    }

    /// What a section of the hose of this name costs; `None` where the book does not
    /// say.
    pub fn hose_price(&self, name: &str) -> Option<SectionPrice> {
        self.hose(name)?.item.price.as_ref().map(Stated::get)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_price_is_read_as_it_is_written() {
        let stated = Stated::read_price(" 320 per 50 ft ").unwrap();
        assert_eq!(stated.text(), "320 per 50 ft");
        assert_eq!(stated.get().each, 320.0);
        assert!((stated.get().section.value - 15.24).abs() < 1e-9);
        for bad in [
            "320",
            "320 per",
            "USD 320 per 50 ft",
            "-1 per 50 ft",
            "320 per 0 ft",
        ] {
            assert!(Stated::read_price(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn sections_are_whole_and_units_do_not_add_one() {
        let price = Stated::read_price("320 per 50 ft").unwrap().get();
        let feet = |n: f64| parse::<Length>(Kind::Length, &format!("{n} ft")).unwrap();
        let counts = [0.0, 1.0, 50.0, 50.001, 51.0, 200.0].map(|n| price.sections(feet(n)));
        assert_eq!(counts, [0, 1, 1, 1, 2, 4]);
        assert_eq!(price.of(feet(200.0)), 1280.0);
    }

    #[test]
    fn prices_have_commas_and_cents_only_where_they_have_cents() {
        let all = [0.0, 999.0, 1000.0, 1_234_567.5, -1280.0].map(price_amount);
        assert_eq!(all, ["0", "999", "1,000", "1,234,567.50", "-1,280"]);
    }
}
