//! Appliances in a book.

use super::{About, Stated};
use hydraulics::appliance::Appliance;
use hydraulics::coupling::Coupling;
use hydraulics::friction::FrictionError;
use hydraulics::units::{Length, Measure, Pressure, VolumeRate};
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
    /// Diameter of a gate's waterway; that of its coupling when not written.
    pub waterway: Option<Stated<Length>>,
    /// What screws on to what comes before.
    pub inlets: Vec<Stated<Coupling>>,
    /// What takes what comes next.
    pub outlets: Vec<Stated<Coupling>>,
    /// Its source and notes.
    pub about: About,
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
    /// Anything else in the way of the water.
    Other,
}

impl ApplianceKind {
    /// Every kind.
    pub const ALL: [ApplianceKind; 8] = [
        ApplianceKind::Wye,
        ApplianceKind::Siamese,
        ApplianceKind::Monitor,
        ApplianceKind::Standpipe,
        ApplianceKind::GatedValve,
        ApplianceKind::Adapter,
        ApplianceKind::CheckValve,
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
            waterway: None,
            inlets: Vec::new(),
            outlets: Vec::new(),
            about: About::default(),
        }
    }

    /// Its law of loss.
    ///
    /// # Errors
    /// [`FrictionError`] when a number is below zero, or its rated flow is zero.
    pub fn law(&self) -> Result<Appliance, FrictionError> {
        match &self.loss {
            None => Ok(Appliance::Coefficient {
                resistance: hydraulics::units::Measure::of_si(0.0),
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
