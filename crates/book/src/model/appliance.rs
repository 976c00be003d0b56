//! Appliances in a book.

use super::{About, Stated};
use hydraulics::appliance::Appliance;
use hydraulics::coupling::Coupling;
use hydraulics::eductor::{Eductor, EductorError};
use hydraulics::friction::FrictionError;
use hydraulics::units::{Length, Measure, Pressure, Ratio, VolumeRate};
use hydraulics::valve::ValveKind;

/// One kind of appliance.
#[derive(Debug, Clone, PartialEq)]
pub struct ApplianceItem {
    /// What it is.
    pub kind: ApplianceKind,
    /// How it loses pressure; nothing when not written.
    pub loss: Option<LossWritten>,
    /// The kind of its gates: on each outlet of one that divides, on its
    /// waterway otherwise.
    pub gates: Option<ValveKind>,
    /// Each of its inlets lets water in only.
    pub clappers: bool,
    /// How it takes in foam concentrate, of an eductor.
    pub eductor: Option<EductorWritten>,
    /// The outlet pressure that it holds, of a regulating valve.
    pub setting: Option<Stated<Pressure>>,
    /// Diameter of a gate's waterway; that of its coupling when not written.
    pub waterway: Option<Stated<Length>>,
    /// What screws on to what comes before.
    pub inlets: Vec<Stated<Coupling>>,
    /// What takes what comes next.
    pub outlets: Vec<Stated<Coupling>>,
    /// What one costs, in the book's money.
    pub price: Option<Stated<Ratio>>,
    /// Its source and notes.
    pub about: About,
}

/// The rating of an eductor.
#[derive(Debug, Clone, PartialEq)]
pub struct EductorWritten {
    /// Rated flow.
    pub flow: Stated<VolumeRate>,
    /// Inlet pressure at that flow.
    pub inlet_pressure: Stated<Pressure>,
    /// Share of the inlet's pressure up to which it draws; 65 % when not written.
    pub back_pressure: Option<Stated<Ratio>>,
}

impl EductorWritten {
    /// Its law.
    ///
    /// # Errors
    /// [`EductorError`] when its numbers describe no eductor.
    pub fn law(&self) -> Result<Eductor, EductorError> {
        let share = self.back_pressure.as_ref().map(Stated::get);
        let usual = Ratio::of_si(0.65);
        Eductor::new(
            self.flow.get(),
            self.inlet_pressure.get(),
            share.unwrap_or(usual),
        )
    }
}

/// What an appliance is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ApplianceKind {
    /// Divides one line into several.
    Wye,
    /// Brings several lines into one.
    Siamese,
    /// A master stream device.
    Monitor,
    /// A building's standpipe.
    Standpipe,
    /// A valve with a gate.
    GatedValve,
    /// Joins two couplings that do not fit.
    Adapter,
    /// Lets water through one way.
    CheckValve,
    /// Draws foam concentrate into the water.
    Eductor,
    /// Holds its outlet at a pressure.
    RegulatingValve,
    /// Anything else in the way of the water.
    Other,
}

impl ApplianceKind {
    /// Every kind.
    pub const ALL: [ApplianceKind; 10] = [
        ApplianceKind::Wye,
        ApplianceKind::Siamese,
        ApplianceKind::Monitor,
        ApplianceKind::Standpipe,
        ApplianceKind::GatedValve,
        ApplianceKind::Adapter,
        ApplianceKind::CheckValve,
        ApplianceKind::Eductor,
        ApplianceKind::RegulatingValve,
        ApplianceKind::Other,
    ];

    /// The word in a book.
    pub fn word(self) -> &'static str {
        match self {
            ApplianceKind::Wye => "wye",
            ApplianceKind::Siamese => "siamese",
            ApplianceKind::Monitor => "monitor",
            ApplianceKind::Standpipe => "standpipe",
            ApplianceKind::GatedValve => "gated-valve",
            ApplianceKind::Adapter => "adapter",
            ApplianceKind::CheckValve => "check-valve",
            ApplianceKind::Eductor => "eductor",
            ApplianceKind::RegulatingValve => "regulating-valve",
            ApplianceKind::Other => "other",
        }
    }
}

/// How a book states the loss of an appliance.
#[derive(Debug, Clone, PartialEq)]
pub enum LossWritten {
    /// So much at a flow, in proportion to its square.
    Rated {
        /// Loss at the flow.
        pressure: Stated<Pressure>,
        /// The flow.
        flow: Stated<VolumeRate>,
    },
    /// The trade's flat allowance.
    Allowance {
        /// The allowance.
        allowance: Stated<Pressure>,
        /// The flow from which it counts.
        from_flow: Option<Stated<VolumeRate>>,
    },
}

impl ApplianceItem {
    /// An appliance of `kind` that loses nothing and fits anything.
    pub fn new(kind: ApplianceKind) -> Self {
        ApplianceItem {
            kind,
            loss: None,
            gates: None,
            clappers: false,
            eductor: None,
            setting: None,
            waterway: None,
            inlets: Vec::new(),
            outlets: Vec::new(),
            price: None,
            about: About::default(),
        }
    }

    /// Its law of loss.
    ///
    /// # Errors
    /// [`FrictionError`] when a number is below zero, or its rated flow is zero.
    pub fn law(&self) -> Result<Appliance, FrictionError> {
        LossWritten::law(self.loss.as_ref())
    }
}

impl LossWritten {
    /// The law of loss that is written; no loss where none is.
    ///
    /// # Errors
    /// [`FrictionError`] when a number is below zero, or its rated flow is zero.
    pub fn law(written: Option<&LossWritten>) -> Result<Appliance, FrictionError> {
        match written {
            None => Ok(Appliance::Coefficient {
                resistance: Measure::of_si(0.0),
            }),
            Some(LossWritten::Rated { pressure, flow }) => {
                Appliance::rated(pressure.get(), flow.get())
            }
            Some(LossWritten::Allowance {
                allowance,
                from_flow,
            }) => {
                let from = from_flow.as_ref().map(Stated::get);
                Appliance::allowance(
                    allowance.get(),
                    from.unwrap_or_else(|| VolumeRate::of_si(0.0)),
                )
            }
        }
    }
}
