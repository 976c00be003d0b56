//! What drawings ask of a line beyond its answer: the pressure that the pump side
//! leaves at a single tip, the pressure that the tip takes, and its stream.

use crate::need;
use book::{LaidTip, Layout};
use hydraulics::stream::Stream;
use hydraulics::units::{Pressure, VolumeRate};
use lay::inverse;

/// What reaches the inlet of the only tip of `layout` and what the tip takes, when
/// `flow` goes through it and the pump holds `pump`: gauge pressures. The first
/// falls with flow and goes below zero where the pump cannot give so much; the
/// second rises. Where they are equal the line works. `None` when there is not just
/// one tip, when it is shut, or when an eductor or a regulating valve lies before it.
///
/// ```
/// use hydraulics::units::{gpm, psi};
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "2.5 in", length = "200 ft" }, { nozzle = "1-1/8 in smooth bore" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let layout = book::layout(&book, "left", &Default::default())?;
/// let (given, taken) = study::at_tip(&layout, psi(78.3), gpm(265.8)).unwrap();
/// // 266 gpm through 200 ft at C 2 takes 28 psi, and 50 are left for the tip.
/// assert!((given - psi(50.0)).abs() < psi(0.1) && (taken - psi(50.0)).abs() < psi(0.1));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn at_tip(layout: &Layout, pump: Pressure, flow: VolumeRate) -> Option<(Pressure, Pressure)> {
    let [tip] = layout.tips.as_slice() else {
        return None;
    };
    if layout.cuts.len() > 1 || !need::is_open(tip) {
        return None;
    }
    let lay = &layout.lay;
    let taken = lay.law(tip.part).loss(flow).pressure + lay.rise(tip.part);
    let asked = inverse::pressures_for_flows(lay, layout.supply, &[(tip.part, flow)]);
    let asked = asked.first()?.pump_pressure;
    asked
        .value
        .is_finite()
        .then_some((pump - asked + taken, taken))
}

/// The stream that leaves `tip` at `flow` and nozzle pressure `pressure`, at the
/// taught best angle in still air.
///
/// ```
/// use hydraulics::units::{gpm, psi};
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "1.75 in", length = "200 ft" }, { nozzle = "1 in smooth bore" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let layout = book::layout(&book, "left", &Default::default())?;
/// let stream = study::stream_of(&layout.tips[0], gpm(210.0), psi(50.0));
/// // The rule's own example: 61 ft.
/// assert!((stream.effective_reach().value / 0.3048 - 61.0).abs() < 0.5);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn stream_of(tip: &LaidTip, flow: VolumeRate, pressure: Pressure) -> Stream {
    need::stream(tip, flow, pressure)
}
