//! A quantity together with what it is a measure of, so that it can be shown
//! in either system of units.

use arrayvec::ArrayString;
use book::Book;
use hydraulics::units::{self, Kind, Measure, System};
use serde_json::{Value, json};

/// A quantity and its kind.
///
/// ```
/// use hydraulics::units::{parse, Kind, Pressure, System};
/// use study::figure::Figure;
/// let pressure: Pressure = parse(Kind::Pressure, "100 psi")?;
/// let figure = Figure::new(Kind::Pressure, pressure);
/// assert_eq!(figure.show(System::Us), "100 psi");
/// assert_eq!(figure.json(System::Us).to_string(), r#"{"value":100.0,"unit":"psi"}"#);
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    kind: Kind,
    si: f64,
    /// Shown with one more decimal than its kind usually has.
    fine: bool,
    /// Counted, not measured.
    counted: Option<Counted>,
}

/// What is the same in both systems of units.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Counted {
    /// A number without a unit, with so many decimals.
    Plain(usize),
    /// A price, with the word for the money, which has up to 8 letters.
    Price(ArrayString<32>),
}

/// What is shown where there is no number: the price of what the book does not price.
const NOT_KNOWN: &str = "not known";

impl Figure {
    /// `quantity` as a measure of `kind`.
    pub fn new<Q: Measure>(kind: Kind, quantity: Q) -> Self {
        Figure {
            kind,
            si: quantity.si(),
            fine: false,
            counted: None,
        }
    }

    /// A plain number, with so many decimals and no unit: kinds.
    ///
    /// ```
    /// use hydraulics::units::System;
    /// use study::figure::Figure;
    /// assert_eq!(Figure::count(3.0, 0).show(System::Us), "3");
    /// assert_eq!(Figure::count(3.0, 0).json(System::Us).to_string(), r#"{"value":3.0,"unit":""}"#);
    /// ```
    pub fn count(number: f64, decimals: usize) -> Self {
        Figure::counted(number, Counted::Plain(decimals))
    }

    /// A price in the money of `book`, the same in both systems of units.
    ///
    /// ```
    /// use hydraulics::units::System;
    /// use study::figure::Figure;
    /// let book = book::Book { money: Some("USD".into()), ..book::Book::default() };
    /// assert_eq!(Figure::price(1250.0, &book).show(System::Us), "1,250 USD");
    /// assert_eq!(Figure::price(f64::NAN, &book).show(System::Us), "not known");
    /// ```
    pub fn price(price: f64, book: &Book) -> Self {
        let money = book.money.as_deref().unwrap_or_default();
        let word = ArrayString::from(money).unwrap_or_default();
        Figure::counted(price, Counted::Price(word))
    }

    fn counted(number: f64, counted: Counted) -> Self {
        Figure {
            kind: Kind::Share,
            si: number,
            fine: false,
            counted: Some(counted),
        }
    }

    /// The same, shown with one more decimal: for small flows and ratios.
    pub fn fine(self) -> Self {
        Figure { fine: true, ..self }
    }

    /// As a person reads it, with its unit.
    ///
    /// ```
    /// use hydraulics::units::System;
    /// use study::figure::Figure;
    /// assert_eq!(Figure::count(f64::NAN, 0).show(System::Us), "not known");
    /// ```
    pub fn show(&self, system: System) -> String {
        if !self.si.is_finite() {
            return NOT_KNOWN.into();
        }
        match &self.counted {
            Some(Counted::Plain(decimals)) => return units::decimal(self.si, *decimals),
            Some(Counted::Price(money)) => {
                let amount = book::price_amount(self.si);
                return format!("{amount} {money}").trim_end().into();
            }
            None => {}
        }
        if !self.fine {
            return units::show(self.kind, Plain(self.si), system);
        }
        let unit = self.kind.unit(system);
        let value = units::decimal(unit.from_si(self.si), self.decimals(system));
        format!("{value} {}", unit.symbol)
    }

    /// The difference to `other`, which must be of the same kind.
    pub fn less(&self, other: &Figure) -> Figure {
        Figure {
            si: self.si - other.si,
            ..*self
        }
    }

    /// So many times it.
    pub fn times(&self, factor: f64) -> Figure {
        Figure {
            si: self.si * factor,
            ..*self
        }
    }

    /// As a change: with its sign, "none" where it rounds to nothing.
    pub fn show_change(&self, system: System) -> String {
        let text = self.show(system);
        if text == NOT_KNOWN {
            return text;
        }
        let nothing = !text.chars().any(|c| ('1'..='9').contains(&c));
        match (nothing, text.starts_with('-')) {
            (true, _) => "none".into(),
            (false, true) => text,
            (false, false) => format!("+{text}"),
        }
    }

    /// How small a remainder is: "2e-9 gpm".
    pub fn exponent(&self, system: System) -> String {
        let unit = self.kind.unit(system);
        format!("{:.0e} {}", unit.from_si(self.si), unit.symbol)
    }

    /// The number alone, in the unit of `system`, to a ten-thousandth so that the
    /// same answer gives the same bytes.
    pub fn value(&self, system: System) -> f64 {
        let value = match self.counted {
            Some(_) => self.si,
            None => self.kind.unit(system).from_si(self.si),
        };
        let rounded = (value * 1e4).round() / 1e4;
        if rounded == 0.0 { 0.0 } else { rounded }
    }

    /// The symbol of its unit: "psi"; the word for the money of a price.
    pub fn unit(&self, system: System) -> &str {
        match &self.counted {
            Some(Counted::Plain(_)) => "",
            Some(Counted::Price(money)) => money,
            None => self.kind.unit(system).symbol,
        }
    }

    /// Decimals worth reading, in the unit of `system`.
    pub fn decimals(&self, system: System) -> usize {
        match self.counted {
            Some(Counted::Plain(decimals)) => decimals,
            Some(Counted::Price(_)) => {
                let amount = book::price_amount(self.si);
                amount.split_once('.').map_or(0, |(_, cents)| cents.len())
            }
            None => self.kind.decimals(system) + usize::from(self.fine),
        }
    }

    /// `{"value": 151.9, "unit": "gpm"}`, the value as [`Figure::value`] has it; null where
    /// it is not known.
    pub fn json(&self, system: System) -> Value {
        if !self.si.is_finite() {
            return Value::Null;
        }
        json!({ "value": self.value(system), "unit": self.unit(system) })
    }
}

/// A whole number with commas between thousands.
///
/// ```
/// assert_eq!(study::figure::thousands(1_234_567), "1,234,567");
/// ```
pub fn thousands(count: u64) -> String {
    let digits = count.to_string();
    let mut text = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// The same as long as it can be read: of combinations there may be any number.
///
/// ```
/// use study::figure::many;
/// assert_eq!(many(1_234_567), "1,234,567");
/// assert_eq!(many(8_999_999_999_997_283), "over a million million");
/// ```
pub fn many(count: u64) -> String {
    match count <= 1_000_000_000_000 {
        true => thousands(count),
        false => "over a million million".into(),
    }
}

/// A share of concentrate, to a tenth of a per cent.
pub fn ratio(ratio: units::Ratio) -> Figure {
    share(ratio).fine()
}

/// A flow of concentrate, to a tenth.
pub fn small_flow(rate: units::VolumeRate) -> Figure {
    flow(rate).fine()
}

/// A bare SI value on its way to [`units::show`].
#[derive(Clone, Copy)]
struct Plain(f64);

impl Measure for Plain {
    fn of_si(value: f64) -> Self {
        Plain(value)
    }

    fn si(self) -> f64 {
        self.0
    }
}

macro_rules! figures {
    ($($name:ident: $quantity:ident as $kind:ident),* $(,)?) => {$(
        /// A figure of this kind.
        pub fn $name(quantity: units::$quantity) -> Figure {
            Figure::new(Kind::$kind, quantity)
        }
    )*};
}
figures!(
    pressure: Pressure as Pressure,
    flow: VolumeRate as Flow,
    length: Length as Length,
    size: Length as Size,
    force: Force as Force,
    volume: Volume as Volume,
    mass: Mass as Mass,
    share: Ratio as Share,
    speed: Velocity as Speed,
    time: Time as Time,
    area: Area as Area,
    rate: Velocity as AreaRate,
);
