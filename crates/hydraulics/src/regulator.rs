//! Pressure-regulating outlet valves, as on standpipes.
//!
//! Range: inlets from the setting upward. At and above it the outlet is held at
//! the setting; below it the valve is fully open and the outlet has what its
//! loss leaves: out = min(setting, in - loss). A real valve droops with flow and
//! its setting is made for one inlet pressure; take the setting from a flow test
//! of the outlet. Water does not go back through it.

use crate::element::{Element, Hold, Loss, Passage};
use crate::units::{Pressure, VolumeRate};

/// A valve that holds its outlet at a setting.
///
/// ```
/// use hydraulics::appliance::Appliance;
/// use hydraulics::element::{Element, Hold};
/// use hydraulics::regulator::Regulating;
/// use hydraulics::units::{parse, Kind};
/// let open = Appliance::rated(parse(Kind::Pressure, "10 psi")?, parse(Kind::Flow, "250 gpm")?)?;
/// let valve = Regulating::new(parse(Kind::Pressure, "100 psi")?, open);
/// assert!(matches!(valve.hold(), Hold::Outlet { pump_starves_at: None, .. }));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Regulating<E> {
    setting: Pressure,
    open: E,
}

impl<E: Element> Regulating<E> {
    /// A valve set to `setting`, with the loss of `open` when fully open.
    pub fn new(setting: Pressure, open: E) -> Self {
        Regulating { setting, open }
    }
}

impl<E: Element> Element for Regulating<E> {
    fn loss(&self, flow: VolumeRate) -> Loss {
        self.open.loss(flow)
    }

    fn passage(&self) -> Passage {
        match self.open.passage() {
            Passage::Shut => Passage::Shut,
            _ => Passage::OneWay,
        }
    }

    fn hold(&self) -> Hold {
        Hold::Outlet {
            setting: self.setting,
            pump_starves_at: None,
        }
    }
}
