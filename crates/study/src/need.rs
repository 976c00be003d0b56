//! What a tip needs: the flow that meets its aim, or its rating.

use crate::figure::{self, Figure};
use book::{LaidTip, Path, Step, Target};
use hydraulics::element::{Element, Passage};
use hydraulics::nozzle::{Nozzle, Tip};
use hydraulics::stream::{Quality, Stream};
use hydraulics::units::{Force, Length, Measure, Pressure, VolumeRate};
use hydraulics::valve::ValveKind;
use lay::inverse::reach;

/// Nozzle pressure above which no stream is sought: 300 psi.
const HIGHEST: f64 = 2.07e6;

/// The stream that leaves a tip at `flow` and nozzle pressure `pressure`.
pub(crate) fn stream(tip: &LaidTip, flow: VolumeRate, pressure: Pressure) -> Stream {
    stream_from(&tip.tip, flow, pressure)
}

/// The same, wherever the tip is.
pub(crate) fn stream_from(tip: &Tip, flow: VolumeRate, pressure: Pressure) -> Stream {
    let quality = if tip.nozzle.is_solid() && !disturbs(tip) {
        Quality::Solid
    } else {
        Quality::Broken
    };
    stream_of(&tip.nozzle, quality, flow, pressure)
}

/// The stream that leaves `nozzle`; a spray nozzle's stands for straight stream.
pub(crate) fn stream_of(
    nozzle: &Nozzle,
    quality: Quality,
    flow: VolumeRate,
    pressure: Pressure,
) -> Stream {
    let bore = match nozzle {
        Nozzle::SmoothBore(nozzle) => nozzle.bore(),
        _ => Stream::equivalent_bore(flow, pressure),
    };
    Stream::new(bore, pressure, quality)
}

/// A ball part open just before the tip disturbs the stream.
pub(crate) fn is_disturbed(tip: &LaidTip) -> bool {
    disturbs(&tip.tip)
}

fn disturbs(tip: &Tip) -> bool {
    tip.shutoff
        .is_some_and(|valve| valve.kind == ValveKind::Ball && valve.open_share() < 0.98)
}

/// Can water leave the tip at all?
pub(crate) fn is_open(tip: &LaidTip) -> bool {
    tip.tip.passage() != Passage::Shut
}

/// Flow that meets the tip's aim; its flow at its rating when it has none, or when
/// no nozzle pressure would do ([`out_of_reach`]).
pub(crate) fn flow(tip: &LaidTip) -> Option<VolumeRate> {
    let target = tip.aim.as_ref().and_then(|aim| aim.target.as_ref());
    match target {
        Some(Target::Flow(flow)) => Some(flow.get()),
        Some(Target::TipPressure(pressure)) => Some(tip.tip.nozzle.flow(pressure.get())),
        Some(Target::Reach(distance)) => {
            let pressure = pressure_for_reach(tip, distance.get());
            Some(tip.tip.nozzle.flow(pressure.unwrap_or(tip.rated_pressure)))
        }
        None => Some(tip.tip.nozzle.flow(tip.rated_pressure)),
    }
}

/// Effective reach at a nozzle pressure, both in SI.
fn reach_at(tip: &LaidTip, pressure: f64) -> f64 {
    let pressure = Pressure::of_si(pressure);
    let flow = tip.tip.nozzle.flow(pressure);
    stream(tip, flow, pressure).effective_reach().value
}

fn pressure_for_reach(tip: &LaidTip, distance: Length) -> Option<Pressure> {
    let effective = |pressure| reach_at(tip, pressure);
    let up_to = |pressure| reach(effective, distance.value, (0.0, pressure)).ok();
    // A stream can reach less far at the highest pressure than below it.
    let found = up_to(HIGHEST).or_else(|| up_to(farthest(tip).0))?;
    Some(Pressure::of_si(found))
}

/// The nozzle pressure at which the tip reaches farthest, and how far; in SI.
fn farthest(tip: &LaidTip) -> (f64, f64) {
    let tried = (1..=60).map(|step| HIGHEST * f64::from(step) / 60.0);
    let reached = tried.map(|pressure| (pressure, reach_at(tip, pressure)));
    reached.fold(
        (0.0, 0.0),
        |most, now| if now.1 > most.1 { now } else { most },
    )
}

/// The reach that the tip is meant to have and the most that it can have, where
/// that is less.
pub(crate) fn out_of_reach(tip: &LaidTip) -> Option<(Length, Length)> {
    let Some(Target::Reach(wanted)) = tip.aim.as_ref()?.target.as_ref() else {
        return None;
    };
    let wanted = wanted.get();
    if pressure_for_reach(tip, wanted).is_some() {
        return None;
    }
    let most = Length::of_si(farthest(tip).1);
    (most < wanted).then_some((wanted, most))
}

/// The parts of the aim that are missed, by name as [`aim`] has them.
pub(crate) fn missed(
    tip: &LaidTip,
    (flow, pressure, reaction): (VolumeRate, Pressure, Force),
) -> Vec<&'static str> {
    let target = tip.aim.as_ref().and_then(|aim| aim.target.as_ref());
    let target = target.map(|target| match target {
        Target::Flow(_) => "flow",
        Target::TipPressure(_) => "tip_pressure",
        Target::Reach(_) => "effective_reach",
    });
    let target = target.filter(|_| is_met(tip, flow, pressure) == Some(false));
    let over = matches!(reaction_limit(tip, reaction), Some((_, false)));
    let limit = over.then_some("reaction_at_most");
    target.into_iter().chain(limit).collect()
}

/// The flow that the tip is meant to have, where it has more than a tenth more.
pub(crate) fn well_over(tip: &LaidTip, flow: VolumeRate) -> Option<VolumeRate> {
    match tip.aim.as_ref()?.target.as_ref()? {
        Target::Flow(wanted) => Some(wanted.get()).filter(|wanted| flow > *wanted * 1.1),
        _ => None,
    }
}

/// Is the target met, to half a per cent? `None` when there is no target.
pub(crate) fn is_met(tip: &LaidTip, flow: VolumeRate, pressure: Pressure) -> Option<bool> {
    let enough = |got: f64, wanted: f64| got >= 0.995 * wanted;
    let aim = tip.aim.as_ref()?;
    Some(match aim.target.as_ref()? {
        Target::Flow(wanted) => enough(flow.value, wanted.get().value),
        Target::TipPressure(wanted) => enough(pressure.value, wanted.get().value),
        Target::Reach(wanted) => {
            let got = stream(tip, flow, pressure).effective_reach();
            enough(got.value, wanted.get().value)
        }
    })
}

/// The greatest reaction that the aim allows, and whether `reaction` keeps to it,
/// to half a per cent.
pub(crate) fn reaction_limit(tip: &LaidTip, reaction: Force) -> Option<(Force, bool)> {
    let limit = tip.aim.as_ref()?.reaction_at_most.as_ref()?.get();
    Some((limit, reaction.value <= 1.005 * limit.value))
}

/// Does water through the part at `path` go to the tip at `tip`? Legs come
/// together again, branches do not.
pub(crate) fn leads(path: &Path, tip: &Path) -> bool {
    let branch = |step: &Step| matches!(step, Step::Branch(_));
    let mut both = path.0.iter().zip(&tip.0);
    both.all(|(a, b)| a == b || !branch(a))
}

/// The tip's aim as figures, each with its name.
pub(crate) fn aim(tip: &LaidTip) -> Vec<(&'static str, Figure)> {
    let Some(aim) = &tip.aim else {
        return Vec::new();
    };
    let target = aim.target.as_ref().map(|target| match target {
        Target::Flow(flow) => ("flow", figure::flow(flow.get())),
        Target::TipPressure(pressure) => ("tip_pressure", figure::pressure(pressure.get())),
        Target::Reach(distance) => ("effective_reach", figure::length(distance.get())),
    });
    let limit = aim
        .reaction_at_most
        .as_ref()
        .map(|force| ("reaction_at_most", figure::force(force.get())));
    target.into_iter().chain(limit).collect()
}
