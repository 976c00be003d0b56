//! A quantity as it was written.

use hydraulics::friction::Coefficient;
use hydraulics::units::{Kind, Length, Mass, Measure, System, UnitError, bare, figure, parse};

/// Weight of dry hose per length, kg/m.
pub type MassPerLength = <Mass as std::ops::Div<Length>>::Output;

/// A quantity, and the text that says it: "150 psi", or a bare "150" in the
/// book's units. The two always agree.
///
/// ```
/// use book::Stated;
/// use hydraulics::units::{Kind, Length, System};
/// let length = Stated::<Length>::read(Kind::Length, " 200 ft", System::Us)?;
/// assert_eq!(length.text(), "200 ft");
/// assert!((length.get().value - 60.96).abs() < 1e-9);
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Stated<Q> {
    quantity: Q,
    text: String,
}

impl<Q: Copy> Stated<Q> {
    pub(crate) fn new(quantity: Q, text: impl Into<String>) -> Self {
        Stated {
            quantity,
            text: text.into(),
        }
    }

    /// The quantity.
    pub fn get(&self) -> Q {
        self.quantity
    }

    /// The text, as written.
    pub fn text(&self) -> &str {
        &self.text
    }
}

impl<Q: Measure> Stated<Q> {
    /// Reads `text`: with its unit, or a bare number in the unit of `system` (a
    /// bare share is a share of one: 0.5 is half).
    ///
    /// # Errors
    /// [`UnitError`] says what is missing or not known.
    pub fn read(kind: Kind, text: &str, system: System) -> Result<Self, UnitError> {
        let text = text.trim();
        let quantity = match number(text) {
            Some(value) if kind != Kind::Share => bare(kind, value, system)?,
            _ => parse(kind, text)?,
        };
        Ok(Stated::new(quantity, text))
    }

    /// States `quantity` in the unit of `system`, to a millionth of that unit.
    ///
    /// # Errors
    /// [`UnitError::NotFinite`] when it is not a number.
    ///
    /// ```
    /// use book::Stated;
    /// use hydraulics::units::{parse, Kind, Pressure, System};
    /// let pressure: Pressure = parse(Kind::Pressure, "700 kPa")?;
    /// let stated = Stated::of(Kind::Pressure, pressure, System::Si)?;
    /// assert_eq!(stated.text(), "7 bar");
    /// # Ok::<(), hydraulics::units::UnitError>(())
    /// ```
    pub fn of(kind: Kind, quantity: Q, system: System) -> Result<Self, UnitError> {
        let value = (figure(kind, quantity, system) * 1e6).round() / 1e6;
        let text = format!("{value} {}", kind.unit(system).symbol);
        Stated::read(kind, &text, system)
    }
}

/// The value of a text that is a number and nothing else.
pub(crate) fn number(text: &str) -> Option<f64> {
    let plain = text
        .bytes()
        .all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+'));
    plain.then(|| text.parse().ok()).flatten()
}

impl Stated<Coefficient> {
    /// Reads a friction coefficient C: a bare number in `system`, or one that
    /// names its form, "15.5 us" (psi, gpm, ft) or "24.6 metric" (kPa, L/min,
    /// m). `None` when it is neither, or not above zero.
    ///
    /// ```
    /// use book::Stated;
    /// use hydraulics::units::System;
    /// let c = Stated::read_c("24.6 metric", System::Us).ok_or("not a coefficient")?;
    /// assert!((c.get().us_value() - 15.5).abs() < 0.1);
    /// # Ok::<(), &str>(())
    /// ```
    pub fn read_c(text: &str, system: System) -> Option<Self> {
        let text = text.trim();
        let (value, form) = match text.split_once(char::is_whitespace) {
            None => (text, system),
            Some((value, form)) => match form.trim().to_ascii_lowercase().as_str() {
                "us" => (value, System::Us),
                "metric" => (value, System::Si),
                _ => return None,
            },
        };
        let value = number(value)?;
        let c = match form {
            System::Us => Coefficient::us(value),
            System::Si => Coefficient::metric(value),
        };
        Some(Stated::new(c.ok()?, text))
    }
}

impl Stated<MassPerLength> {
    /// Reads "16 lb per 50 ft".
    ///
    /// # Errors
    /// [`UnitError`] says what is missing or not known.
    pub fn read_weight(text: &str) -> Result<Self, UnitError> {
        let text = text.trim();
        let Some((mass, length)) = text.split_once(" per ") else {
            return Err(UnitError::NoUnit {
                text: text.into(),
                kind: "weight per length",
            });
        };
        let mass: Mass = parse(Kind::Mass, mass)?;
        let length: Length = parse(Kind::Length, length)?;
        if length.value > 0.0 {
            Ok(Stated::new(mass / length, text))
        } else {
            Err(UnitError::NotFinite { text: text.into() })
        }
    }
}
