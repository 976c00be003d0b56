//! What an appliance takes as more flows through it.

use crate::curves::{Curve, Known, POINTS, Plot};
use crate::drawing::{Drawing, Table};
use crate::frame::{ticks, value};
use book::{ApplianceItem, LossWritten};
use hydraulics::appliance::Appliance;
use hydraulics::element::Element;
use hydraulics::units::{Kind, Measure, System, VolumeRate, gpm, show};

/// Loss of an appliance over flow, as rated or by its allowance. `None` when it
/// loses nothing.
///
/// ```
/// use hydraulics::units::System;
/// let item = &book::catalogue().appliance["portable monitor"];
/// let drawing = picture::loss_curve("portable monitor", item, System::Us).unwrap();
/// assert_eq!(drawing.table.head, ["Flow", "Loss"]);
/// ```
pub fn loss_curve(name: &str, item: &ApplianceItem, system: System) -> Option<Drawing> {
    let law = item.law().ok()?;
    let (known, counts_from) = match item.loss.as_ref()? {
        LossWritten::Rated { flow, .. } => (flow.get(), None),
        LossWritten::Allowance { from_flow, .. } => {
            let from = from_flow.as_ref().map(|flow| flow.get());
            (from.unwrap_or(gpm(250.0)), Some(from))
        }
    };
    let point = |flow: VolumeRate| {
        let loss = law.loss(flow).pressure;
        (
            value(Kind::Flow, flow, system),
            value(Kind::Pressure, loss, system),
        )
    };
    let both = format!(
        "{} at {}",
        show(Kind::Pressure, law.loss(known).pressure, system),
        show(Kind::Flow, known, system)
    );
    let points = flows(&law, known).into_iter().map(point).collect();
    let plot = Plot {
        heading: name,
        system,
        x: ("Flow", Kind::Flow),
        y: ("Loss", Kind::Pressure),
        curves: vec![Curve {
            class: "main",
            name: String::new(),
            points,
        }],
        band: None,
        levels: Vec::new(),
        known: vec![Known {
            at: point(known),
            said: format!("Loss {both}"),
            label: both.clone(),
        }],
    };
    let caption = match counts_from {
        None => format!("{name}: loss with the square of flow, {both}."),
        Some(Some(_)) => format!("{name}: an allowance, {both} and above, none below."),
        Some(None) => format!("{name}: an allowance, the same at any flow: {both}."),
    };
    let mut table = Table::new(&["Flow", "Loss"]);
    table.rows = even(known, system)
        .into_iter()
        .map(|flow| {
            vec![
                show(Kind::Flow, flow, system),
                show(Kind::Pressure, law.loss(flow).pressure, system),
            ]
        })
        .collect();
    Some(plot.draw(&format!("Loss of {name}"), caption, table))
}

/// Round flows, and the known one among them.
fn even(known: VolumeRate, system: System) -> Vec<VolumeRate> {
    let unit = Kind::Flow.unit(system);
    let most = value(Kind::Flow, known * 1.5, system);
    let round = ticks(0.0, most, 6).into_iter().skip(1);
    let round = round.map(|flow| VolumeRate::of_si(unit.to_si(flow)));
    let mut flows: Vec<VolumeRate> = round.chain([known]).collect();
    flows.sort_by(|a, b| a.value.total_cmp(&b.value));
    flows.dedup_by(|a, b| (*a - *b).value.abs() < 1e-6);
    flows
}

/// Flows to one and a half times the known one, with the corners of an allowance.
fn flows(law: &Appliance, known: VolumeRate) -> Vec<VolumeRate> {
    let even = (0..=POINTS).map(|n| known * (1.5 * f64::from(n) / f64::from(POINTS)));
    let mut flows: Vec<VolumeRate> = even.collect();
    if matches!(law, Appliance::Allowance { .. }) {
        let start = VolumeRate::of_si(20.0 / 60_000.0);
        flows.extend([known * 0.98, known, start]);
        flows.sort_by(|a, b| a.value.total_cmp(&b.value));
    }
    flows
}
