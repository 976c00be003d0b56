//! Nozzles in a book.

use super::{About, Marking, MeasuredNozzle, Stated, Which};
use hydraulics::coupling::Coupling;
use hydraulics::nozzle::{Automatic, Fixed, Nozzle, NozzleError, SmoothBore, TRADE_COEFFICIENT};
use hydraulics::units::{Kind, Length, Measure, Pressure, Ratio, System, VolumeRate};
use hydraulics::valve::ValveKind;
use indexmap::IndexMap;

/// One kind of nozzle.
#[derive(Debug, Clone, PartialEq)]
pub struct NozzleItem {
    /// Its law and rating.
    pub kind: NozzleKind,
    /// What the department measured, kept beside the rating: by setting, or under ""
    /// for a nozzle without settings.
    pub measured: IndexMap<String, MeasuredNozzle>,
    /// Its shut-off.
    pub shutoff: Shutoff,
    /// Diameter of the waterway through its shut-off.
    pub waterway: Option<Stated<Length>>,
    /// The half that screws on to hose.
    pub coupling: Option<Stated<Coupling>>,
    /// The thread on which its tip unscrews from its shut-off, so that hose can
    /// be added between the two.
    pub breaks_at: Option<Stated<Coupling>>,
    /// How it is put together.
    pub form: Option<NozzleForm>,
    /// Colour and mark of the nozzle and its grip.
    pub marking: Marking,
    /// It is fit for foam.
    pub foam: bool,
    /// Foam attachments that fit it, by name.
    pub attachment: IndexMap<String, Attachment>,
    /// What one costs, in the book's money.
    pub price: Option<Stated<Ratio>>,
    /// Pieces in store, on no rig.
    pub stock: Option<Stated<Ratio>>,
    /// Its source and notes.
    pub about: About,
}

/// A foam attachment: what it makes of the solution, as the book gives it.
#[derive(Debug, Clone, PartialEq)]
pub struct Attachment {
    /// Volume of foam for each of solution.
    pub expansion: Stated<Ratio>,
    /// Its reach.
    pub reach: Stated<Length>,
}

/// The law of a nozzle and its rating.
#[derive(Debug, Clone, PartialEq)]
pub enum NozzleKind {
    /// A solid-stream tip.
    SmoothBore {
        /// Diameter of the tip.
        bore: Stated<Length>,
        /// Discharge coefficient; the trade's 0.995 when not written.
        coefficient: Option<Stated<Ratio>>,
    },
    /// One orifice.
    Fixed {
        /// Rated flow.
        flow: Stated<VolumeRate>,
        /// Nozzle pressure at that flow.
        pressure: Stated<Pressure>,
    },
    /// A ring with several orifices.
    Selectable {
        /// Rated flow of each setting, by name. Listed flows are named by their
        /// text.
        flows: IndexMap<String, Stated<VolumeRate>>,
        /// Nozzle pressure at those flows.
        pressure: Stated<Pressure>,
    },
    /// A spring and a baffle that hold the pressure.
    Automatic {
        /// The range of each pressure setting, by name.
        settings: IndexMap<String, AutomaticSetting>,
        /// Pressure between opening and closing, from friction.
        band: Option<Stated<Pressure>>,
        /// It can be turned to flush.
        flush: bool,
    },
}

/// The range of an automatic nozzle at one setting.
#[derive(Debug, Clone, PartialEq)]
pub struct AutomaticSetting {
    /// Lowest and highest flow.
    pub flow: [Stated<VolumeRate>; 2],
    /// Nozzle pressure at those flows.
    pub pressure: [Stated<Pressure>; 2],
}

/// How a nozzle is shut.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Shutoff {
    /// It has no shut-off.
    #[default]
    None,
    /// A slide.
    Slide,
    /// A ball.
    Ball,
}

impl Shutoff {
    /// The word in a book.
    pub fn word(self) -> &'static str {
        match self {
            Shutoff::None => "none",
            Shutoff::Slide => "slide",
            Shutoff::Ball => "ball",
        }
    }

    /// The valve that it is, if it is one.
    pub fn valve(self) -> Option<ValveKind> {
        match self {
            Shutoff::None => None,
            Shutoff::Slide => Some(ValveKind::Slide),
            Shutoff::Ball => Some(ValveKind::Ball),
        }
    }
}

/// How a nozzle is put together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NozzleForm {
    /// A tip alone, for a shut-off that is there already.
    Tip,
    /// A tip with its own shut-off, without a grip.
    TipWithShutoff,
    /// A shut-off with a grip, the tip on it.
    ShutoffWithGrip,
    /// A play pipe: a tapered pipe with handles, a tip at its end.
    PlayPipe,
}

impl NozzleForm {
    /// Every form there is.
    pub const ALL: [NozzleForm; 4] = [
        NozzleForm::Tip,
        NozzleForm::TipWithShutoff,
        NozzleForm::ShutoffWithGrip,
        NozzleForm::PlayPipe,
    ];

    /// The words in a book.
    pub fn word(self) -> &'static str {
        match self {
            NozzleForm::Tip => "tip",
            NozzleForm::TipWithShutoff => "tip with shut-off",
            NozzleForm::ShutoffWithGrip => "shut-off with grip",
            NozzleForm::PlayPipe => "play pipe",
        }
    }

    /// Has it a shut-off of its own? `None`: it may have.
    pub fn has_shutoff(self) -> Option<bool> {
        match self {
            NozzleForm::Tip => Some(false),
            NozzleForm::TipWithShutoff | NozzleForm::ShutoffWithGrip => Some(true),
            NozzleForm::PlayPipe => None,
        }
    }
}

/// Why a nozzle could not be taken at a setting.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SettingError {
    /// It has no such setting.
    #[error("it has no setting \"{asked}\"; its settings are {have}")]
    Unknown {
        /// The setting asked for.
        asked: String,
        /// Those it has.
        have: String,
    },
    /// It has no settings at all.
    #[error("it has no settings, so none can be chosen (\"{asked}\" was)")]
    NoSettings {
        /// The setting asked for.
        asked: String,
    },
    /// It has several, and none was chosen.
    #[error("it has several settings and none is chosen; its settings are {have}")]
    NotChosen {
        /// Those it has.
        have: String,
    },
    /// Its numbers describe no nozzle.
    #[error(transparent)]
    Nozzle(#[from] NozzleError),
}

/// Names in a message: the first dozen.
pub(crate) fn listed(names: &[&str]) -> String {
    match names.get(..12) {
        Some(first) if names.len() > 12 => format!("{}, ...", first.join(", ")),
        _ => names.join(", "),
    }
}

impl NozzleKind {
    /// The word in a book.
    pub fn word(&self) -> &'static str {
        match self {
            NozzleKind::SmoothBore { .. } => "smooth-bore",
            NozzleKind::Fixed { .. } => "fixed",
            NozzleKind::Selectable { .. } => "selectable",
            NozzleKind::Automatic { .. } => "automatic",
        }
    }

    /// The names of its settings; none for a smooth bore or a fixed nozzle.
    pub fn settings(&self) -> Vec<&str> {
        match self {
            NozzleKind::Selectable { flows, .. } => flows.keys().map(String::as_str).collect(),
            NozzleKind::Automatic { settings, .. } => settings.keys().map(String::as_str).collect(),
            _ => Vec::new(),
        }
    }
}

impl NozzleItem {
    /// A nozzle of `kind` with nothing else known.
    pub fn new(kind: NozzleKind) -> Self {
        NozzleItem {
            kind,
            measured: IndexMap::new(),
            shutoff: Shutoff::None,
            waterway: None,
            coupling: None,
            breaks_at: None,
            form: None,
            marking: Marking::default(),
            foam: false,
            attachment: IndexMap::new(),
            price: None,
            stock: None,
            about: About::default(),
        }
    }

    /// The names of its settings; none for a smooth bore or a fixed nozzle.
    pub fn settings(&self) -> Vec<&str> {
        self.kind.settings()
    }

    /// The name of the setting that `asked` means: the only one when none is
    /// asked for. A flow may be asked for in other words ("95gpm").
    ///
    /// # Errors
    /// [`SettingError`] when it has no such setting, or several and none is
    /// asked for.
    pub fn setting(&self, asked: Option<&str>) -> Result<Option<&str>, SettingError> {
        let names = self.settings();
        let have = || listed(&names);
        match (asked, names.as_slice()) {
            (None, []) => Ok(None),
            (Some(asked), []) => Err(SettingError::NoSettings {
                asked: asked.into(),
            }),
            (None, [only]) => Ok(Some(only)),
            (None, _) => Err(SettingError::NotChosen { have: have() }),
            (Some(asked), _) => match self.named(asked) {
                Some(name) => Ok(Some(name)),
                None => Err(SettingError::Unknown {
                    asked: asked.into(),
                    have: have(),
                }),
            },
        }
    }

    fn named(&self, asked: &str) -> Option<&str> {
        let by_name = self.settings().into_iter().find(|name| *name == asked);
        by_name.or_else(|| match &self.kind {
            NozzleKind::Selectable { flows, .. } => {
                let wanted = Stated::<VolumeRate>::read(Kind::Flow, asked, System::Us)
                    .ok()?
                    .get();
                let same = |f: VolumeRate| (f.value - wanted.value).abs() < 1e-6 * wanted.value;
                let found = flows.iter().find(|(_, flow)| same(flow.get()));
                found.map(|(name, _)| name.as_str())
            }
            _ => None,
        })
    }

    /// The nozzle at `setting`: as measured where it was, else as rated.
    ///
    /// # Errors
    /// [`SettingError`] when the setting is not one of its own, or when its
    /// numbers describe no nozzle.
    ///
    /// ```
    /// let nozzle = book::catalogue().nozzle.get("150 gpm at 50 psi").ok_or("not there")?;
    /// assert!(nozzle.at(None).is_ok());
    /// assert!(nozzle.at(Some("low")).is_err());
    /// # Ok::<(), &str>(())
    /// ```
    pub fn at(&self, setting: Option<&str>) -> Result<Nozzle, SettingError> {
        Ok(self.used(setting, Which::Best)?.nozzle)
    }

    /// The nozzle at `setting` as it is rated, even where it was measured.
    ///
    /// # Errors
    /// As [`NozzleItem::at`].
    pub fn rated(&self, setting: Option<&str>) -> Result<Nozzle, SettingError> {
        let name = self.setting(setting)?;
        let missing = || SettingError::NotChosen {
            have: listed(&self.settings()),
        };
        Ok(match &self.kind {
            NozzleKind::SmoothBore { bore, coefficient } => {
                let trade = Ratio::of_si(TRADE_COEFFICIENT);
                let c = coefficient.as_ref().map_or(trade, Stated::get);
                Nozzle::SmoothBore(SmoothBore::new(bore.get(), c)?)
            }
            NozzleKind::Fixed { flow, pressure } => {
                Nozzle::Fixed(Fixed::rated(flow.get(), pressure.get())?)
            }
            NozzleKind::Selectable { flows, pressure } => {
                let flow = name.and_then(|n| flows.get(n)).ok_or_else(missing)?;
                Nozzle::Fixed(Fixed::rated(flow.get(), pressure.get())?)
            }
            NozzleKind::Automatic { settings, band, .. } => {
                let setting = name.and_then(|n| settings.get(n)).ok_or_else(missing)?;
                let automatic = setting.nozzle()?;
                Nozzle::Automatic(match band {
                    Some(band) => automatic.with_band(band.get()),
                    None => automatic,
                })
            }
        })
    }

    /// The nozzle pressure for which it is rated at `setting`: the middle of an
    /// automatic nozzle's range; of a smooth bore 50 psi up to 1-1/4 in, as a
    /// handline, and 80 psi above, as a master stream (common practice, no
    /// source).
    ///
    /// # Errors
    /// As [`NozzleItem::at`].
    pub fn rated_pressure(&self, setting: Option<&str>) -> Result<Pressure, SettingError> {
        let psi = |value| Pressure::of_si(Kind::Pressure.unit(System::Us).to_si(value));
        let name = self.setting(setting)?;
        Ok(match &self.kind {
            NozzleKind::SmoothBore { bore, .. } if bore.get().value <= 0.0319 => psi(50.0),
            NozzleKind::SmoothBore { .. } => psi(80.0),
            NozzleKind::Fixed { pressure, .. } | NozzleKind::Selectable { pressure, .. } => {
                pressure.get()
            }
            NozzleKind::Automatic { settings, .. } => {
                let setting = name.and_then(|n| settings.get(n));
                let [low, high] = &setting
                    .ok_or_else(|| SettingError::NotChosen {
                        have: listed(&self.settings()),
                    })?
                    .pressure;
                0.5 * (low.get() + high.get())
            }
        })
    }
}

impl AutomaticSetting {
    /// The nozzle in this range.
    ///
    /// # Errors
    /// [`NozzleError`] when the range falls or a number is not above zero.
    pub fn nozzle(&self) -> Result<Automatic, NozzleError> {
        let [low_flow, high_flow] = &self.flow;
        let [low, high] = &self.pressure;
        Automatic::new((low_flow.get(), high_flow.get()), (low.get(), high.get()))
    }
}
