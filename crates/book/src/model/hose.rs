//! Hose in a book.

use super::{About, MassPerLength, SectionPrice, Stated};
use hydraulics::coupling::Coupling;
use hydraulics::friction::{Coefficient, Friction};
use hydraulics::units::{Kind, Length, Pressure, Ratio, System, decimal, show};

/// One kind of hose.
#[derive(Debug, Clone, PartialEq)]
pub struct HoseItem {
    /// Nominal size.
    pub size: Stated<Length>,
    /// Published friction.
    pub friction: Option<FrictionWritten>,
    /// Friction that the department measured, kept beside the published one.
    pub measured: Option<Measured>,
    /// The half that screws on to what comes before.
    pub inlet: Option<Stated<Coupling>>,
    /// The half that takes what comes next.
    pub outlet: Option<Stated<Coupling>>,
    /// The highest pressure at which it is used.
    pub service_pressure: Option<Stated<Pressure>>,
    /// Weight of the dry hose per length.
    pub weight: Option<Stated<MassPerLength>>,
    /// What a section costs.
    pub price: Option<Stated<SectionPrice>>,
    /// Length in store, on no rig.
    pub stock: Option<Stated<Length>>,
    /// Its source and notes.
    pub about: About,
}

/// How a book states the friction of a hose.
#[derive(Debug, Clone, PartialEq)]
pub enum FrictionWritten {
    /// By a coefficient C.
    Coefficient {
        /// C.
        coefficient: Stated<Coefficient>,
        /// Lowest and highest C published for hose of this size.
        spread: Option<[Stated<Coefficient>; 2]>,
    },
    /// By bore and roughness (Darcy-Weisbach).
    Roughness {
        /// Bore under pressure.
        bore: Stated<Length>,
        /// Roughness of the lining.
        roughness: Stated<Length>,
    },
    /// By bore and Hazen-Williams coefficient.
    HazenWilliams {
        /// Bore under pressure.
        bore: Stated<Length>,
        /// Hazen-Williams c, without unit.
        hazen_williams: Stated<Ratio>,
    },
}

/// A coefficient that the department measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// C.
    pub coefficient: Stated<Coefficient>,
    /// Day of the test, year-month-day.
    pub date: Option<String>,
    /// How far the true C may lie to either side.
    pub uncertainty: Option<Stated<Coefficient>>,
    /// Who measured, and how.
    pub source: Option<String>,
}

/// Which friction of a hose to use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Which {
    /// The measured one where there is one, else the published one.
    #[default]
    Best,
    /// The published one, even where there is a measured one.
    Published,
    /// The lowest of the published spread, else the published one.
    PublishedLow,
    /// The highest of the published spread, else the published one.
    PublishedHigh,
    /// The measured one, else the published one.
    Measured,
}

/// The friction that was used for a hose, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Used {
    /// The law.
    pub friction: Friction,
    /// Was it measured?
    pub measured: bool,
    /// Where it comes from.
    pub source: String,
    /// Why this one.
    pub why: &'static str,
}

impl HoseItem {
    /// A hose of `size` with coefficient `c` and nothing else known.
    pub fn new(size: Stated<Length>, c: Stated<Coefficient>) -> Self {
        HoseItem {
            size,
            friction: Some(FrictionWritten::Coefficient {
                coefficient: c,
                spread: None,
            }),
            measured: None,
            inlet: None,
            outlet: None,
            service_pressure: None,
            weight: None,
            price: None,
            stock: None,
            about: About::default(),
        }
    }

    /// The friction that `which` asks for, and why it is that one; `None` when
    /// the hose states no friction at all.
    ///
    /// ```
    /// use book::{HoseItem, Stated, Which};
    /// use hydraulics::units::{Kind, System};
    /// let size = Stated::read(Kind::Size, "1.75 in", System::Us)?;
    /// let c = Stated::read_c("15.5", System::Us).ok_or("no coefficient")?;
    /// let used = HoseItem::new(size, c).used(Which::Best).ok_or("no friction")?;
    /// assert_eq!(used.text(System::Us), "C 15.5");
    /// assert_eq!(used.why, "published; this hose has no measured coefficient");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn used(&self, which: Which) -> Option<Used> {
        let spread = self.spread();
        match which {
            Which::Best => self
                .measured_friction("measured on this hose")
                .or_else(|| self.published("published; this hose has no measured coefficient")),
            Which::Measured => self
                .measured_friction("measured, as asked")
                .or_else(|| self.published("published; this hose has no measured coefficient")),
            Which::Published => self.published("published, as asked").or_else(|| {
                self.measured_friction("measured; this hose has no published coefficient")
            }),
            Which::PublishedLow => self.end(spread.map(|s| s.0), "lowest of the published spread"),
            Which::PublishedHigh => {
                self.end(spread.map(|s| s.1), "highest of the published spread")
            }
        }
    }

    /// Lowest and highest published C, where the book states them.
    pub fn spread(&self) -> Option<(Coefficient, Coefficient)> {
        match &self.friction {
            Some(FrictionWritten::Coefficient {
                spread: Some([low, high]),
                ..
            }) => Some((low.get(), high.get())),
            _ => None,
        }
    }

    fn end(&self, c: Option<Coefficient>, why: &'static str) -> Option<Used> {
        match c {
            Some(c) => Some(Used {
                friction: Friction::Coefficient(c),
                measured: false,
                source: self.source(),
                why,
            }),
            None => self
                .published("published; no spread is stated")
                .or_else(|| {
                    self.measured_friction("measured; this hose has no published coefficient")
                }),
        }
    }

    fn source(&self) -> String {
        self.about
            .source
            .clone()
            .unwrap_or_else(|| "no source stated".into())
    }

    fn published(&self, why: &'static str) -> Option<Used> {
        let friction = match self.friction.as_ref()? {
            FrictionWritten::Coefficient { coefficient, .. } => {
                Friction::Coefficient(coefficient.get())
            }
            FrictionWritten::Roughness { bore, roughness } => Friction::DarcyWeisbach {
                bore: bore.get(),
                roughness: roughness.get(),
            },
            FrictionWritten::HazenWilliams {
                bore,
                hazen_williams,
            } => Friction::HazenWilliams {
                bore: bore.get(),
                c: hazen_williams.get(),
            },
        };
        Some(Used {
            friction,
            measured: false,
            source: self.source(),
            why,
        })
    }

    fn measured_friction(&self, why: &'static str) -> Option<Used> {
        let measured = self.measured.as_ref()?;
        let date = measured.date.as_deref();
        let said = [measured.source.as_deref(), date];
        let said: Vec<&str> = said.into_iter().flatten().collect();
        Some(Used {
            friction: Friction::Coefficient(measured.coefficient.get()),
            measured: true,
            source: if said.is_empty() {
                "measured, no source stated".into()
            } else {
                said.join(", ")
            },
            why,
        })
    }
}

/// A size as a list of hose says it.
#[derive(Debug, Clone, PartialEq)]
pub struct HoseSize(Stated<Length>);

impl HoseSize {
    /// Reads "1.75 in", "45 mm", or a bare number in the units of `book`.
    ///
    /// # Errors
    /// What is wrong, in words.
    ///
    /// ```
    /// let size = book::HoseSize::read("1-3/4", &book::Book::default())?;
    /// assert_eq!(size.text(), "1-3/4 in");
    /// assert!(size.is(&book::catalogue().hose["1.75 in"]));
    /// # Ok::<(), String>(())
    /// ```
    pub fn read(text: &str, book: &super::Book) -> Result<Self, String> {
        let bare = !text.contains(|c: char| c.is_alphabetic() || "\"'".contains(c));
        let written = match bare {
            true => format!("{text} {}", Kind::Size.unit(book.units).symbol),
            false => text.to_string(),
        };
        let size: Stated<Length> =
            Stated::read(Kind::Size, &written, book.units).map_err(|error| error.to_string())?;
        match (0.005..0.4).contains(&size.get().value) {
            true => Ok(HoseSize(size)),
            false => Err(format!("{written} is no size of fire equipment")),
        }
    }

    /// As it is written, with its unit.
    pub fn text(&self) -> &str {
        self.0.text()
    }

    /// Is `hose` of this size, to half a millimetre?
    pub fn is(&self, hose: &HoseItem) -> bool {
        (self.0.get() - hose.size.get()).value.abs() < 5e-4
    }
}

/// C in the form of `system`, with three figures at most.
///
/// ```
/// use hydraulics::friction::Coefficient;
/// use hydraulics::units::System;
/// let c = Coefficient::metric(24.68)?;
/// assert_eq!(book::c_figure(c, System::Si), "24.7");
/// # Ok::<(), hydraulics::friction::FrictionError>(())
/// ```
pub fn c_figure(c: Coefficient, system: System) -> String {
    let value = match system {
        System::Us => c.us_value(),
        System::Si => c.metric_value(),
    };
    // No test of hose is finer than three figures.
    let size = value.abs().max(1e-9).log10().floor();
    let step = 10_f64.powf(size - 2.0);
    let places = (2.0 - size).clamp(0.0, 9.0) as usize;
    let text = decimal((value / step).round() * step, places);
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_string(),
        false => text,
    }
}

impl Used {
    /// The friction as a person writes it in `system`: "C 15.5".
    pub fn text(&self, system: System) -> String {
        match self.friction {
            Friction::Coefficient(c) => format!("C {}", c_figure(c, system)),
            Friction::DarcyWeisbach { bore, roughness } => {
                let size = |length| show(Kind::Size, length, system);
                format!("bore {}, roughness {}", size(bore), size(roughness))
            }
            Friction::HazenWilliams { bore, c } => format!(
                "bore {}, Hazen-Williams c {}",
                show(Kind::Size, bore, system),
                decimal(c.value, 0)
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hose() -> HoseItem {
        let c = |text| Stated::read_c(text, System::Us).unwrap();
        let size = Stated::read(Kind::Size, "1.75 in", System::Us).unwrap();
        let mut hose = HoseItem::new(size, c("15.5"));
        hose.friction = Some(FrictionWritten::Coefficient {
            coefficient: c("15.5"),
            spread: Some([c("7"), c("15.5")]),
        });
        hose.measured = Some(Measured {
            coefficient: c("14.2"),
            date: Some("2026-05-11".into()),
            uncertainty: Some(c("0.6")),
            source: Some("own test".into()),
        });
        hose
    }

    #[test]
    fn a_measured_coefficient_stands_beside_the_published_one() {
        let hose = hose();
        let best = hose.used(Which::Best).unwrap();
        assert_eq!(best.text(System::Us), "C 14.2");
        assert_eq!(best.source, "own test, 2026-05-11");
        assert!(best.measured);
        let published = hose.used(Which::Published).unwrap();
        assert_eq!(published.text(System::Us), "C 15.5");
        assert!(!published.measured);
        let low = hose.used(Which::PublishedLow).unwrap();
        assert_eq!(low.text(System::Us), "C 7");
    }

    #[test]
    fn without_a_spread_the_published_coefficient_stands_for_it() {
        let size = Stated::read(Kind::Size, "45 mm", System::Si).unwrap();
        let c = Stated::read_c("24.6", System::Si).unwrap();
        let hose = HoseItem::new(size, c);
        let high = hose.used(Which::PublishedHigh).unwrap();
        assert_eq!(high.text(System::Si), "C 24.6");
        assert_eq!(high.why, "published; no spread is stated");
        assert!(!hose.used(Which::Measured).unwrap().measured);
    }
}
