//! Couplings: size, thread and gender, and what fits what.
//!
//! Threads by the names that the standards use: NH (NFPA 1963, National Hose),
//! NPSH (iron pipe straight), BSP (ISO 228), and symmetrical couplings, which have
//! no gender (the standards' sexless, non-threaded connection).

use crate::units::{Kind, Length, Measure, System, UnitError, parse, show};

/// The standard of a coupling's thread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Thread {
    /// National Hose.
    Nh,
    /// Iron pipe straight hose thread.
    Npsh,
    /// British standard pipe.
    Bsp,
    /// Without thread or gender.
    Symmetrical,
}

impl Thread {
    const ALL: [Thread; 4] = [Thread::Nh, Thread::Npsh, Thread::Bsp, Thread::Symmetrical];

    /// The name in a book.
    pub fn name(self) -> &'static str {
        match self {
            Thread::Nh => "NH",
            Thread::Npsh => "NPSH",
            Thread::Bsp => "BSP",
            Thread::Symmetrical => "symmetrical",
        }
    }
}

/// Which half of a threaded joint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Gender {
    /// The swivel that screws on: the inlet of hose and nozzles.
    Female,
    /// The thread that it screws on to: the outlet of hose.
    Male,
}

impl Gender {
    /// The name in a book.
    pub fn name(self) -> &'static str {
        match self {
            Gender::Female => "female",
            Gender::Male => "male",
        }
    }
}

/// One end of a hose, nozzle or appliance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coupling {
    /// Nominal size.
    pub size: Length,
    /// Thread standard.
    pub thread: Thread,
    /// Which half; `None` for symmetrical couplings.
    pub gender: Option<Gender>,
}

/// Why a written coupling could not be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CouplingError {
    /// Its size could not be read.
    #[error("the coupling's size: {0}")]
    Size(UnitError),
    /// Its thread is missing or not known.
    #[error("\"{text}\" names no thread that is known; threads are NH, NPSH, BSP and symmetrical")]
    Thread {
        /// What was written.
        text: String,
    },
    /// Its size is not that of a coupling.
    #[error("a coupling of {size} is not one that is made; sizes are 10 to 200 mm")]
    Range {
        /// What was written.
        size: String,
    },
    /// A half is written for a coupling that has none.
    #[error(
        "\"{text}\" names a half, but a symmetrical coupling has none: leave the last word out"
    )]
    Half {
        /// What was written.
        text: String,
    },
}

/// Where a coupling sits, for the half it has when the book does not say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Female when not written.
    Inlet,
    /// Male when not written.
    Outlet,
}

impl Coupling {
    /// Reads "2.5 in NH", "1-1/2 in NPSH male", "65 mm symmetrical".
    ///
    /// # Errors
    /// [`CouplingError`] says which of size, thread and half could not be read.
    ///
    /// ```
    /// use hydraulics::coupling::{Coupling, Side};
    /// let hose = Coupling::read("2.5 in NH", Side::Outlet)?;
    /// let nozzle = Coupling::read("1.5 in NH", Side::Inlet)?;
    /// assert_eq!(
    ///     hose.adapter_to(&nozzle).as_deref(),
    ///     Some("adapter 2.5 in NH female to 1.5 in NH male"),
    /// );
    /// # Ok::<(), hydraulics::coupling::CouplingError>(())
    /// ```
    pub fn read(text: &str, side: Side) -> Result<Self, CouplingError> {
        let mut words: Vec<&str> = text.split_whitespace().collect();
        let written = match words.last().map(|w| w.to_ascii_lowercase()) {
            Some(word) if word == "male" => Some(Gender::Male),
            Some(word) if word == "female" => Some(Gender::Female),
            _ => None,
        };
        if written.is_some() {
            words.pop();
        }
        let named = words.pop().unwrap_or("");
        let thread = Thread::ALL
            .into_iter()
            .find(|t| t.name().eq_ignore_ascii_case(named))
            .ok_or_else(|| CouplingError::Thread { text: text.into() })?;
        let size: Length = parse(Kind::Size, &words.join(" ")).map_err(CouplingError::Size)?;
        if !(0.01..=0.2).contains(&size.value) {
            return Err(CouplingError::Range {
                size: words.join(" "),
            });
        }
        let usual = match side {
            Side::Inlet => Gender::Female,
            Side::Outlet => Gender::Male,
        };
        let gender = match (thread, written) {
            (Thread::Symmetrical, None) => None,
            (Thread::Symmetrical, Some(_)) => {
                return Err(CouplingError::Half { text: text.into() });
            }
            _ => Some(written.unwrap_or(usual)),
        };
        Ok(Coupling {
            size,
            thread,
            gender,
        })
    }

    /// One nominal size has two names, in inches and rounded in millimetres (2.5
    /// in is 65 mm), up to 2.3 % apart; the next size lies further away (common
    /// practice, no source).
    fn same_size(&self, other: &Coupling) -> bool {
        let (a, b) = (self.size.value, other.size.value);
        (a - b).abs() < 0.025 * a.max(b)
    }

    /// Does `self`, an outlet, screw straight on to `inlet`?
    pub fn fits(&self, inlet: &Coupling) -> bool {
        let halves = match (self.gender, inlet.gender) {
            (None, None) => true,
            (Some(a), Some(b)) => a != b,
            _ => false,
        };
        halves && self.thread == inlet.thread && self.same_size(inlet)
    }

    /// The adapter that joins `self`, an outlet, to `inlet`; `None` when none
    /// is needed.
    pub fn adapter_to(&self, inlet: &Coupling) -> Option<String> {
        if self.fits(inlet) {
            return None;
        }
        Some(format!(
            "adapter {} to {}",
            self.mate().describe(),
            inlet.mate().describe()
        ))
    }

    /// The coupling that screws on to this one.
    pub fn mate(&self) -> Coupling {
        let gender = self.gender.map(|g| match g {
            Gender::Female => Gender::Male,
            Gender::Male => Gender::Female,
        });
        Coupling { gender, ..*self }
    }

    /// As a person writes it, with its half.
    pub fn describe(&self) -> String {
        // Sizes are named in the unit in which they are round.
        let inches = self.size.si() / 0.0254;
        let round = (inches * 8.0 - (inches * 8.0).round()).abs() < 0.02;
        let size = show(
            Kind::Size,
            self.size,
            if round { System::Us } else { System::Si },
        );
        let gender = self.gender.map_or("", Gender::name);
        format!("{size} {} {gender}", self.thread.name())
            .trim_end()
            .to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn symmetrical_couplings_have_no_gender() {
        let a = Coupling::read("65 mm symmetrical", Side::Outlet).unwrap();
        let b = Coupling::read("65 mm symmetrical", Side::Inlet).unwrap();
        assert!(a.fits(&b) && b.fits(&a));
        assert_eq!(a.describe(), "65 mm symmetrical");
    }

    #[test]
    fn two_inlets_do_not_screw_together() {
        let female = Coupling::read("1.5 in NH female", Side::Outlet).unwrap();
        let nozzle = Coupling::read("1.5 in NH", Side::Inlet).unwrap();
        assert_eq!(
            female.adapter_to(&nozzle).as_deref(),
            Some("adapter 1.5 in NH male to 1.5 in NH male")
        );
    }

    #[test]
    fn says_what_is_wrong() {
        assert!(matches!(
            Coupling::read("2.5 in", Side::Inlet),
            Err(CouplingError::Thread { .. })
        ));
        assert!(matches!(
            Coupling::read("2.5 psi NH", Side::Inlet),
            Err(CouplingError::Size(_))
        ));
        assert!(matches!(
            Coupling::read("9 ft NH", Side::Inlet),
            Err(CouplingError::Range { .. })
        ));
        assert!(matches!(
            Coupling::read("65 mm symmetrical male", Side::Inlet),
            Err(CouplingError::Half { .. })
        ));
        assert!(Coupling::read("", Side::Inlet).is_err());
    }

    #[test]
    fn one_size_has_two_names() {
        // Inches and the millimetres by which the same hose is called.
        for (inches, mm) in [
            ("1", 25),
            ("1.5", 38),
            ("1.75", 45),
            ("2.5", 65),
            ("3", 77),
            ("4", 100),
            ("5", 125),
            ("6", 150),
        ] {
            let hose = Coupling::read(&format!("{inches} in NH"), Side::Outlet).unwrap();
            let nozzle = Coupling::read(&format!("{mm} mm NH"), Side::Inlet).unwrap();
            assert!(hose.fits(&nozzle), "{inches} in, {mm} mm");
        }
        let sizes = [
            "1 in", "1.5 in", "1.75 in", "2 in", "2.5 in", "3 in", "3.5 in", "4 in", "4.5 in",
            "5 in", "6 in",
        ];
        let read = |size: &str, side| Coupling::read(&format!("{size} NH"), side).unwrap();
        for pair in sizes.windows(2) {
            let (a, b) = (read(pair[0], Side::Outlet), read(pair[1], Side::Inlet));
            assert!(!a.fits(&b), "{pair:?}");
        }
    }

    #[test]
    fn law_the_adapter_named_joins_both_ends() {
        let texts = [
            "1.5 in NH",
            "2.5 in NH female",
            "1.5 in NPSH male",
            "65 mm symmetrical",
            "2.5 in BSP",
        ];
        let read = |side| texts.map(|t| Coupling::read(t, side).unwrap());
        for outlet in read(Side::Outlet) {
            for inlet in read(Side::Inlet) {
                let Some(adapter) = outlet.adapter_to(&inlet) else {
                    continue;
                };
                let ends = adapter.strip_prefix("adapter ").unwrap();
                let (first, second) = ends.split_once(" to ").unwrap();
                assert!(outlet.fits(&Coupling::read(first, Side::Inlet).unwrap()));
                assert!(Coupling::read(second, Side::Outlet).unwrap().fits(&inlet));
            }
        }
    }

    #[test]
    fn law_what_is_described_reads_back() {
        for text in [
            "2.5 in NH male",
            "1.5 in NH female",
            "65 mm symmetrical",
            "77 mm BSP male",
        ] {
            let read = Coupling::read(text, Side::Inlet).unwrap();
            assert_eq!(read.describe(), text);
        }
    }
}
