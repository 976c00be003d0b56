//! What the department's own tests of a nozzle found, beside its rating.

use super::{NozzleItem, NozzleKind, SettingError, Stated, Which};
use hydraulics::nozzle::{Automatic, Fixed, Nozzle, SmoothBore, TRADE_COEFFICIENT};
use hydraulics::units::{Kind, Measure, Pressure, Ratio, System, VolumeRate, decimal, show};

/// A test of a nozzle at one setting. Its uncertainty is how far the true value may
/// lie to either side.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredNozzle {
    /// What was found.
    pub law: MeasuredLaw,
    /// Day of the test, year-month-day.
    pub date: Option<String>,
    /// Who measured, and how.
    pub source: Option<String>,
}

/// What a test of a nozzle found.
#[derive(Debug, Clone, PartialEq)]
pub enum MeasuredLaw {
    /// Of a smooth bore.
    Coefficient {
        /// Discharge coefficient.
        coefficient: Stated<Ratio>,
        /// Its uncertainty.
        uncertainty: Option<Stated<Ratio>>,
    },
    /// Of a fixed nozzle, or of one setting of a selectable one.
    Flow {
        /// Flow.
        flow: Stated<VolumeRate>,
        /// Nozzle pressure at that flow; the rated one when not written.
        pressure: Option<Stated<Pressure>>,
        /// Uncertainty of the flow at that pressure.
        uncertainty: Option<Stated<VolumeRate>>,
    },
    /// Of one setting of an automatic nozzle.
    Range {
        /// Lowest and highest flow.
        flow: [Stated<VolumeRate>; 2],
        /// Nozzle pressure at those flows.
        pressure: [Stated<Pressure>; 2],
        /// Pressure between opening and closing, from friction; the rated one when
        /// not written.
        band: Option<Stated<Pressure>>,
        /// Uncertainty of the pressure at a flow.
        uncertainty: Option<Stated<Pressure>>,
    },
}

/// The law of a nozzle that was used at a setting, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct NozzleUsed {
    /// The setting, where it has settings.
    pub setting: Option<String>,
    /// The law.
    pub nozzle: Nozzle,
    /// Was it measured?
    pub measured: bool,
    /// Rating and measurement both stand in the book.
    pub both: bool,
    /// Where it comes from.
    pub source: String,
    /// Why this one.
    pub why: &'static str,
    known_by: KnownBy,
}

/// The numbers by which a law is known.
#[derive(Debug, Clone, Copy, PartialEq)]
enum KnownBy {
    Coefficient(Ratio),
    Flow(VolumeRate, Pressure),
    Range,
}

impl NozzleUsed {
    /// The law as a person reads it in `system`: "discharge coefficient 0.97", "143
    /// gpm at 50 psi", "70 gpm at 94 psi to 200 gpm at 106 psi".
    pub fn text(&self, system: System) -> String {
        let at = |flow, pressure| {
            format!(
                "{} at {}",
                show(Kind::Flow, flow, system),
                show(Kind::Pressure, pressure, system)
            )
        };
        match (self.known_by, &self.nozzle) {
            (KnownBy::Coefficient(c), _) => {
                let c = decimal(c.value, 3);
                format!("discharge coefficient {}", c.trim_end_matches('0'))
            }
            (KnownBy::Flow(flow, pressure), _) => at(flow, pressure),
            (KnownBy::Range, Nozzle::Automatic(range)) => {
                let ((low, high), (from, to)) = (range.flows(), range.pressures());
                format!("{} to {}", at(low, from), at(high, to))
            }
            (KnownBy::Range, _) => String::new(),
        }
    }
}

impl NozzleItem {
    /// The nozzle at `setting` that `which` asks for, and why it is that one. The
    /// measured one where there is one; its rating where [`Which::Published`] asks for
    /// it. The ends of a published spread are those of hose, and change no nozzle.
    ///
    /// # Errors
    /// As [`NozzleItem::at`].
    ///
    /// ```
    /// use book::Which;
    /// use hydraulics::units::System;
    /// let text = br#"
    /// [book]
    /// name = "Example"
    /// [nozzle.fog]
    /// kind = "fixed"
    /// flow = "150 gpm"
    /// pressure = "50 psi"
    /// measured = { flow = "143 gpm", uncertainty = "4 gpm", date = "2026-05-11" }
    /// "#;
    /// let book = book::read(text, "example.toml")?;
    /// let best = book.nozzle["fog"].used(None, Which::Best)?;
    /// assert_eq!((best.text(System::Us), best.measured), ("143 gpm at 50 psi".into(), true));
    /// let rated = book.nozzle["fog"].used(None, Which::Published)?;
    /// assert_eq!(rated.text(System::Us), "150 gpm at 50 psi");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn used(&self, setting: Option<&str>, which: Which) -> Result<NozzleUsed, SettingError> {
        let name = self.setting(setting)?;
        let test = self.test(name);
        let measured = test.filter(|_| which != Which::Published);
        let nozzle = match measured {
            Some(test) => self.by_test(name, test)?,
            None => self.rated(setting)?,
        };
        Ok(NozzleUsed {
            setting: name.map(str::to_string),
            nozzle,
            measured: measured.is_some(),
            both: test.is_some(),
            source: match measured {
                Some(test) => test.said(),
                None => {
                    let source = self.about.source.clone();
                    source.unwrap_or_else(|| "no source stated".into())
                }
            },
            why: match (measured.is_some(), test.is_some()) {
                (true, _) if which == Which::Measured => "measured, as asked",
                (true, _) => "measured on this nozzle",
                (false, true) => "rated, as asked",
                (false, false) => "rated; this nozzle has no test of its own",
            },
            known_by: self.known_by(name, measured),
        })
    }

    fn known_by(&self, name: Option<&str>, test: Option<&MeasuredNozzle>) -> KnownBy {
        let tested = match test.map(|test| &test.law) {
            Some(MeasuredLaw::Coefficient { coefficient, .. }) => Some(coefficient.get()),
            _ => None,
        };
        match (&self.kind, self.flow_at(name, test)) {
            (NozzleKind::SmoothBore { coefficient, .. }, _) => {
                let trade = Ratio::of_si(TRADE_COEFFICIENT);
                let rated = coefficient.as_ref().map_or(trade, Stated::get);
                KnownBy::Coefficient(tested.unwrap_or(rated))
            }
            (_, Some((flow, pressure))) => KnownBy::Flow(flow, pressure),
            (_, None) => KnownBy::Range,
        }
    }

    /// The test of the setting called `name`, or of a nozzle without settings.
    pub fn test(&self, name: Option<&str>) -> Option<&MeasuredNozzle> {
        self.measured.get(name.unwrap_or(""))
    }

    /// The nozzle as its test found it at the setting called `name`.
    fn by_test(&self, name: Option<&str>, test: &MeasuredNozzle) -> Result<Nozzle, SettingError> {
        Ok(match (&test.law, &self.kind) {
            (MeasuredLaw::Coefficient { coefficient, .. }, NozzleKind::SmoothBore { bore, .. }) => {
                Nozzle::SmoothBore(SmoothBore::new(bore.get(), coefficient.get())?)
            }
            (
                MeasuredLaw::Range {
                    flow,
                    pressure,
                    band,
                    ..
                },
                NozzleKind::Automatic { band: rated, .. },
            ) => {
                let range = automatic(flow, pressure)?;
                Nozzle::Automatic(match band.as_ref().or(rated.as_ref()) {
                    Some(band) => range.with_band(band.get()),
                    None => range,
                })
            }
            _ => match self.flow_at(name, Some(test)) {
                Some((flow, pressure)) => Nozzle::Fixed(Fixed::rated(flow, pressure)?),
                None => self.rated(name)?,
            },
        })
    }

    /// The flow and its pressure by which a fixed nozzle or a setting of a selectable
    /// one is known.
    fn flow_at(
        &self,
        name: Option<&str>,
        test: Option<&MeasuredNozzle>,
    ) -> Option<(VolumeRate, Pressure)> {
        let (flow, rated) = match &self.kind {
            NozzleKind::Fixed { flow, pressure } => (flow.get(), pressure.get()),
            NozzleKind::Selectable { flows, pressure } => (flows.get(name?)?.get(), pressure.get()),
            _ => return None,
        };
        match test.map(|test| &test.law) {
            Some(MeasuredLaw::Flow { flow, pressure, .. }) => {
                let pressure = pressure.as_ref().map_or(rated, Stated::get);
                Some((flow.get(), pressure))
            }
            _ => Some((flow, rated)),
        }
    }
}

fn automatic(
    [least, most]: &[Stated<VolumeRate>; 2],
    [low, high]: &[Stated<Pressure>; 2],
) -> Result<Automatic, SettingError> {
    let range = Automatic::new((least.get(), most.get()), (low.get(), high.get()))?;
    Ok(range)
}

impl MeasuredNozzle {
    /// The range of an automatic nozzle that it found.
    ///
    /// # Errors
    /// When the range falls, or a number is not above zero.
    pub(crate) fn range(&self) -> Result<(), SettingError> {
        match &self.law {
            MeasuredLaw::Range { flow, pressure, .. } => automatic(flow, pressure).map(|_| ()),
            _ => Ok(()),
        }
    }

    /// Who measured, and when.
    pub fn said(&self) -> String {
        let said = [self.source.as_deref(), self.date.as_deref()];
        let said: Vec<&str> = said.into_iter().flatten().collect();
        match said.as_slice() {
            [] => "measured, no source stated".into(),
            said => said.join(", "),
        }
    }

    /// The uncertainty as it is written; none where none is.
    pub fn uncertainty(&self) -> Option<&str> {
        match &self.law {
            MeasuredLaw::Coefficient { uncertainty, .. } => {
                uncertainty.as_ref().map(|stated| stated.text())
            }
            MeasuredLaw::Flow { uncertainty, .. } => uncertainty.as_ref().map(|u| u.text()),
            MeasuredLaw::Range { uncertainty, .. } => uncertainty.as_ref().map(|u| u.text()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn nozzle(body: &str) -> NozzleItem {
        let text = format!("[book]\nname = \"x\"\n[nozzle.a]\n{body}\n");
        let book = crate::reader::read(text.as_bytes(), "x");
        book.unwrap_or_else(|e| panic!("{e:?}")).nozzle["a"].clone()
    }

    #[test]
    fn a_measured_value_stands_beside_the_rating_at_each_setting() {
        let twin = nozzle(
            "kind = \"automatic\"\nband = \"4 psi\"\nsetting.high = { flow = [70, 200], pressure = [94, 106] }\nsetting.low = { flow = [70, 200], pressure = [46, 56] }\nmeasured.high = { flow = [72, 190], pressure = [97, 112], uncertainty = \"2 psi\", date = \"2026-05-11\", source = \"own test\" }",
        );
        let used = twin.used(Some("high"), Which::Best).unwrap();
        assert_eq!(
            used.text(System::Us),
            "72 gpm at 97 psi to 190 gpm at 112 psi"
        );
        assert_eq!(used.source, "own test, 2026-05-11");
        assert!(used.measured && used.both);
        // The band of the rating holds where the test found none.
        let Nozzle::Automatic(range) = used.nozzle else {
            panic!("{used:?}");
        };
        assert!((range.band().value - 4.0 * 6_894.757).abs() < 1.0);
        let rated = twin.used(Some("high"), Which::Published).unwrap();
        assert_eq!(
            rated.text(System::Us),
            "70 gpm at 94 psi to 200 gpm at 106 psi"
        );
        assert_eq!(rated.why, "rated, as asked");
        let low = twin.used(Some("low"), Which::Best).unwrap();
        assert!(!low.measured && !low.both);
        // The spread of hose changes no nozzle.
        let spread = twin.used(Some("high"), Which::PublishedLow).unwrap();
        assert!(spread.measured);
        let tip =
            nozzle("kind = \"smooth-bore\"\nbore = \"1 in\"\nmeasured = { coefficient = 0.97 }");
        let used = tip.used(None, Which::Best).unwrap();
        assert_eq!(used.text(System::Us), "discharge coefficient 0.97");
        assert_eq!(used.source, "measured, no source stated");
        let rated = tip.used(None, Which::Published).unwrap();
        assert_eq!(rated.text(System::Us), "discharge coefficient 0.995");
    }
}
