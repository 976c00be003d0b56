//! What a nozzle gives at a nozzle pressure, away from any line.

use crate::need;
use book::{NozzleItem, SettingError};
use hydraulics::nozzle::{Nozzle, Regime};
use hydraulics::reaction::{self, Form};
use hydraulics::stream::Quality;
use hydraulics::units::{Force, Length, Pressure, VolumeRate};

/// What a nozzle gives at one nozzle pressure, its shut-off fully open.
#[derive(Debug, Clone, PartialEq)]
pub struct Given {
    /// Nozzle pressure.
    pub pressure: Pressure,
    /// Flow.
    pub flow: VolumeRate,
    /// Reaction by the trade's form for this nozzle (a formula value).
    pub reaction: Force,
    /// Which form that is.
    pub form: Form,
    /// Reach of the good stream.
    pub effective_reach: Length,
    /// Greatest throw at the taught best angle, in still air.
    pub maximum_throw: Length,
    /// Where an automatic nozzle is in its range.
    pub regime: Option<Regime>,
}

/// What `item` gives on `setting` at each of `pressures`.
///
/// # Errors
/// [`SettingError`] when it has no such setting, or its numbers describe no nozzle.
///
/// ```
/// use hydraulics::units::{psi, show, Kind, System};
/// let tip = &book::catalogue().nozzle["1-1/8 in smooth bore"];
/// let given = study::given(tip, None, &[psi(50.0)])?;
/// // Case NZ-U-21: 266 gpm; 1.57 d2 NP = 99 lbf.
/// assert_eq!(show(Kind::Flow, given[0].flow, System::Us), "266 gpm");
/// assert_eq!(show(Kind::Force, given[0].reaction, System::Us), "99 lbf");
/// # Ok::<(), book::SettingError>(())
/// ```
pub fn given(
    item: &NozzleItem,
    setting: Option<&str>,
    pressures: &[Pressure],
) -> Result<Vec<Given>, SettingError> {
    let nozzle = item.at(setting)?;
    Ok(pressures.iter().map(|p| at(&nozzle, *p)).collect())
}

fn at(nozzle: &Nozzle, pressure: Pressure) -> Given {
    let flow = nozzle.flow(pressure);
    let quality = match nozzle.is_solid() {
        true => Quality::Solid,
        false => Quality::Broken,
    };
    let stream = need::stream_of(nozzle, quality, flow, pressure);
    let (reaction, form) = reaction_of(nozzle, flow, pressure);
    Given {
        pressure,
        flow,
        reaction,
        form,
        effective_reach: stream.effective_reach(),
        maximum_throw: stream.maximum_throw().distance,
        regime: nozzle.regime(flow),
    }
}

/// Reaction by the trade's form for `nozzle`, and which form that is.
pub(crate) fn reaction_of(nozzle: &Nozzle, flow: VolumeRate, pressure: Pressure) -> (Force, Form) {
    match nozzle {
        Nozzle::SmoothBore(nozzle) => (
            reaction::solid_stream(nozzle.bore(), pressure),
            Form::SolidStream,
        ),
        _ => (reaction::spray(flow, pressure), Form::Spray),
    }
}
