//! What the crew gets, and what pressure the pump must hold.

use crate::answer::{
    Attached, Basis, CoefficientUsed, GateAdvice, Gating, ItemUsed, LineAnswer, PartAnswer, Spread,
    TipAnswer, ValueUsed,
};
use crate::given::reaction_of;
use crate::{demand, need, notices, scene};
use book::{Book, Conditions, LaidTip, Layout, LayoutError, Path, Which};
use hydraulics::nozzle::{Nozzle, Regulator};
use hydraulics::reaction;
use hydraulics::units::{Measure, Pressure, VolumeRate};
use hydraulics::valve::Valve;
use lay::inverse;
use lay::{Steady, Stopped};

/// Why a question could not be answered at all.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StudyError {
    /// The line cannot be laid out as asked.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// The question names a part that the line does not have, or that the
    /// question does not fit.
    #[error("line \"{line}\": {message}")]
    Question {
        /// The line.
        line: String,
        /// What is wrong and what would do.
        message: String,
    },
}

/// Highest pump pressure that is tried: 1,000 psi.
pub(crate) const HIGHEST_PUMP: f64 = 6.9e6;

/// What `line` gives under `conditions`. The pump pressure is the one asked for,
/// or the book's, or the one at which the worst tip meets its aim.
///
/// # Errors
/// [`StudyError::Layout`] when the line cannot be laid out so.
///
/// ```
/// use hydraulics::units::{show, Kind, System};
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "2.5 in", length = "200 ft" }, { nozzle = "1-1/8 in smooth bore" }]
/// aim = { tip_pressure = "50 psi" }
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let answer = study::solve(&book, "left", &Default::default())?;
/// // 266 gpm (case NZ-U-21); 2 x 2.66^2 x 2 = 28 psi, and 50 at the tip.
/// assert_eq!(show(Kind::Pressure, answer.pump_pressure, System::Us), "78 psi");
/// assert_eq!(show(Kind::Flow, answer.flow, System::Us), "266 gpm");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn solve(book: &Book, line: &str, conditions: &Conditions) -> Result<LineAnswer, StudyError> {
    answered(book, line, conditions, true)
}

/// [`solve`] without the range of automatic nozzles and the published spread,
/// which each take two solutions more.
pub(crate) fn solve_plain(
    book: &Book,
    line: &str,
    conditions: &Conditions,
) -> Result<LineAnswer, StudyError> {
    answered(book, line, conditions, false)
}

fn answered(
    book: &Book,
    line: &str,
    conditions: &Conditions,
    ranges: bool,
) -> Result<LineAnswer, StudyError> {
    let mut layout = book::layout(book, line, conditions)?;
    let settled = settle(book, line, conditions, &layout);
    layout.lay.set_pressure(layout.supply, settled.pressure);
    let steady = lay::solve(&layout.lay);
    let entry = book.line.get(line);
    let mut answer = LineAnswer {
        line: line.to_string(),
        title: entry.and_then(|l| l.title.clone()),
        rig: entry.and_then(|l| l.rig.clone()),
        pump_pressure: settled.pressure,
        basis: settled.basis,
        flow: outflow(&layout, line, &steady),
        tips: layout
            .tips
            .iter()
            .map(|t| tip_answer(book, &layout, t, &steady))
            .collect(),
        parts: part_answers(&layout, &steady),
        coefficients: coefficients(book, &layout),
        items: nozzles_used(&layout),
        spread: None,
        gating: settled.gating,
        eductors: scene::eductors_of(&layout, &steady),
        notices: Vec::new(),
        residual: steady.residual,
        converged: steady.stopped == Stopped::Converged,
    };
    if ranges {
        add_bands(book, line, conditions, &layout, &mut answer)?;
        answer.spread = spread(book, line, conditions, &answer)?;
    }
    answer.notices = notices::of(book, conditions, &layout, &steady, &answer);
    for eductor in &answer.eductors {
        scene::eductor_notices(eductor, &mut answer.notices);
    }
    answer.notices.extend(notices::no_siamese(book, line));
    answer.notices.extend(settled.notice);
    answer.notices.sort_by_key(|n| std::cmp::Reverse(n.weight));
    Ok(answer)
}

/// The places of the tips of `line`.
///
/// # Errors
/// [`StudyError::Layout`] when the line cannot be laid out.
pub fn tips_of(book: &Book, line: &str) -> Result<Vec<Path>, StudyError> {
    let layout = book::layout(book, line, &Conditions::default())?;
    Ok(layout.tips.into_iter().map(|t| t.path).collect())
}

struct Settled {
    pressure: Pressure,
    basis: Basis,
    gating: Option<Gating>,
    notice: Option<crate::notice::Notice>,
}

/// The pump pressure that [`solve`] settles on.
pub(crate) fn own_pressure(
    book: &Book,
    line: &str,
    conditions: &Conditions,
    layout: &Layout,
) -> Pressure {
    settle(book, line, conditions, layout).pressure
}

/// The pump pressure, and where it comes from.
fn settle(book: &Book, line: &str, conditions: &Conditions, layout: &Layout) -> Settled {
    let written = book.line.get(line).and_then(|l| l.pump_pressure.as_ref());
    let plain = |pressure, basis| Settled {
        pressure,
        basis,
        gating: None,
        notice: None,
    };
    if let Some(pressure) = conditions.pump_pressure {
        return plain(pressure, Basis::Asked);
    }
    if let Some(pressure) = written {
        return plain(pressure.get(), Basis::Book);
    }
    let mut needs = needs(layout, line);
    let mut beyond = None;
    if let Some(asked) = worst(layout, &needs).filter(|w| w.pressure.value > HIGHEST_PUMP) {
        beyond = Some(notices::beyond_any_pump(asked.pressure));
        for (tip, flow) in &mut needs {
            *flow = tip.tip.nozzle.flow(tip.rated_pressure);
        }
    }
    let Some(gated) = worst(layout, &needs) else {
        return Settled {
            notice: Some(notices::nothing_to_aim_at()),
            ..plain(
                Pressure::of_si(0.0),
                Basis::Aim {
                    worst: String::new(),
                },
            )
        };
    };
    let has_target = |t: &&LaidTip| t.aim.as_ref().is_some_and(|a| a.target.is_some());
    let place = gated.place.clone();
    let out = |t: &LaidTip| t.path.to_string() == place && need::out_of_reach(t).is_some();
    let basis = if beyond.is_some() || layout.tips.iter().any(out) {
        Basis::OutOfReach { worst: place }
    } else if gated.place.ends_with("eductor") {
        Basis::Eductor { place }
    } else if layout.tips.iter().any(|t| has_target(&t)) {
        Basis::Aim { worst: place }
    } else {
        Basis::Rating { worst: place }
    };
    if layout.tips.len() == 1 || layout.cuts.len() > 1 {
        return Settled {
            gating: gating(layout, &needs, &gated),
            notice: beyond,
            ..plain(gated.pressure, basis)
        };
    }
    let open = open_pressure(layout, &needs, gated.pressure);
    Settled {
        pressure: open.unwrap_or(gated.pressure),
        basis,
        gating: gating(layout, &needs, &gated),
        notice: beyond.or_else(|| open.is_none().then(notices::only_gated)),
    }
}

/// A tip and the flow that it should have.
pub(crate) type Need<'a> = (&'a LaidTip, VolumeRate);

/// The tips of `line` that can have their flow, each with it.
pub(crate) fn needs<'a>(layout: &'a Layout, line: &str) -> Vec<Need<'a>> {
    let tips = layout
        .tips
        .iter()
        .filter(|t| t.line == line && need::is_open(t));
    tips.filter_map(|tip| Some((tip, need::flow(tip)?)))
        .collect()
}

pub(crate) struct Worst {
    pub place: String,
    pub pressure: Pressure,
    /// What each need asks of the pump; `None` past an eductor or a regulating
    /// valve.
    asks: Vec<Option<Pressure>>,
}

/// What the pump must hold while every tip of `needs` has just its flow.
pub(crate) fn worst(layout: &Layout, needs: &[Need<'_>]) -> Option<Worst> {
    let flow = |tip: &LaidTip| {
        let need = needs.iter().find(|(other, _)| other.part == tip.part);
        need.map(|(_, flow)| *flow)
    };
    let demands = demand::demands(layout, 0, &[], flow);
    let pump = demands.cuts.first().filter(|demand| demand.any())?;
    let asks = needs.iter().zip(&demands.tips);
    let direct = asks.map(|((tip, _), asks)| (tip.after == 0).then_some(*asks));
    Some(Worst {
        place: pump.worst.1.clone(),
        pressure: pump.pressure,
        asks: direct.collect(),
    })
}

/// The pump pressure at which every need is met with nothing gated, so that the
/// easier tips take more than they need.
fn open_pressure(layout: &Layout, needs: &[Need<'_>], gated: Pressure) -> Option<Pressure> {
    let share = |steady: &Steady| {
        let shares = needs
            .iter()
            .map(|(tip, flow)| steady.flow(tip.part).value / flow.value);
        shares.fold(f64::INFINITY, f64::min)
    };
    let at_gated = {
        let mut lay = layout.lay.clone();
        lay.set_pressure(layout.supply, gated);
        share(&lay::solve(&lay))
    };
    if at_gated >= 1.0 - 1e-9 {
        return Some(gated);
    }
    let ceiling = Pressure::of_si(HIGHEST_PUMP);
    inverse::pump_pressure(&layout.lay, layout.supply, share, 1.0, ceiling).ok()
}

/// How far to gate the easier tips. A gate already in the leg is the one that is
/// turned; without one, the tip's own shut-off.
fn gating(layout: &Layout, needs: &[Need<'_>], worst: &Worst) -> Option<Gating> {
    let mut gates = Vec::new();
    for ((tip, flow), asks) in needs.iter().zip(&worst.asks) {
        let excess = asks.map_or(Pressure::of_si(0.0), |asks| worst.pressure - asks);
        if excess.value < 3000.0 {
            continue;
        }
        let valve = gate_of(layout, tip);
        gates.push(GateAdvice {
            place: tip.path.to_string(),
            excess,
            gate: valve.and_then(|v| inverse::gate_for(v.kind, v.waterway, *flow, excess).ok()),
        });
    }
    (!gates.is_empty()).then_some(Gating {
        pump_pressure: worst.pressure,
        gates,
    })
}

/// The gate that serves only the leg of `tip`: the last gated outlet on its way,
/// else its own shut-off.
fn gate_of(layout: &Layout, tip: &LaidTip) -> Option<Valve> {
    let leads_here = |part: &&book::LaidPart| {
        part.kind == book::PartKind::Gate && part.line == tip.line && serves(&part.path, &tip.path)
    };
    let gate = layout.parts.iter().rev().find(leads_here);
    gate.and_then(|g| g.valve).or(tip.tip.shutoff)
}

/// Does outlet N of an appliance lead to branch N, where the tip is?
fn serves(outlet: &Path, tip: &Path) -> bool {
    let [shared @ .., book::Step::Part(_), book::Step::Outlet(outlet)] = outlet.0.as_slice() else {
        return false;
    };
    let steps = &tip.0;
    steps.starts_with(shared) && steps.get(shared.len() + 1) == Some(&book::Step::Branch(*outlet))
}

/// Flow from the pump into the parts of `line`: what its tips give.
fn outflow(layout: &Layout, line: &str, steady: &Steady) -> VolumeRate {
    let tips = layout.tips.iter().filter(|t| t.line == line);
    tips.fold(VolumeRate::of_si(0.0), |sum, t| sum + steady.flow(t.part))
}

pub(crate) fn tip_answer(
    book: &Book,
    layout: &Layout,
    tip: &LaidTip,
    steady: &Steady,
) -> TipAnswer {
    let flow = steady.flow(tip.part);
    let pressure = tip.tip.nozzle.pressure(flow).pressure;
    let stream = need::stream(tip, flow, pressure);
    let (reaction, form) = reaction_of(&tip.tip.nozzle, flow, pressure);
    let held = need::reaction_limit(tip, reaction).map(|(_, held)| held);
    let aimed = need::is_met(tip, flow, pressure);
    TipAnswer {
        place: tip.path.to_string(),
        line: tip.line.clone(),
        nozzle: tip.name.clone(),
        setting: tip.setting.clone(),
        flow,
        tip_pressure: pressure,
        reaction,
        reaction_form: form.formula(),
        reaction_momentum: reaction::momentum(flow, pressure),
        people: reaction::people(reaction, book.crew_limits()),
        effective_reach: match &tip.attachment {
            Some((_, attachment)) => attachment.reach.get(),
            None => stream.effective_reach(),
        },
        maximum_throw: match &tip.attachment {
            Some((_, attachment)) => attachment.reach.get(),
            None => stream.maximum_throw().distance,
        },
        attachment: tip.attachment.as_ref().map(|(name, a)| Attached {
            name: name.clone(),
            expansion: a.expansion.get(),
            foam: flow * a.expansion.get(),
        }),
        regime: tip.tip.nozzle.regime(flow),
        band: None,
        on_monitor: on_monitor(book, layout, tip),
        aim: need::aim(tip),
        aim_met: match (aimed, held) {
            (None, held) => held,
            (Some(aimed), held) => Some(aimed && held.unwrap_or(true)),
        },
        aim_missed: need::missed(tip, (flow, pressure, reaction)),
    }
}

/// Does a monitor hold the tip?
pub(crate) fn on_monitor(book: &Book, layout: &Layout, tip: &LaidTip) -> bool {
    let inlet = layout.lay.ends(tip.part).0;
    layout.parts.iter().any(|part| {
        let monitor = || {
            let item = book.appliance(&part.name);
            item.is_some_and(|a| a.item.kind == book::ApplianceKind::Monitor)
        };
        layout.lay.ends(part.part).1 == inlet && part.kind == book::PartKind::Appliance && monitor()
    })
}

pub(crate) fn part_answers(layout: &Layout, steady: &Steady) -> Vec<PartAnswer> {
    let answer = |laid: &book::LaidPart| {
        let (from, to) = layout.lay.ends(laid.part);
        PartAnswer {
            place: laid.path.to_string(),
            line: laid.line.clone(),
            kind: laid.kind.word(),
            name: laid.name.clone(),
            length: laid.length,
            flow: steady.flow(laid.part),
            pressure_in: steady.pressure(from),
            pressure_out: steady.pressure(to),
        }
    };
    layout.parts.iter().map(answer).collect()
}

/// Each hose once, in the order in which the water meets it.
pub(crate) fn coefficients(book: &Book, layout: &Layout) -> Vec<CoefficientUsed> {
    let mut list: Vec<CoefficientUsed> = Vec::new();
    for laid in &layout.parts {
        let Some(used) = &laid.used else { continue };
        if list.iter().any(|c| c.hose == laid.name && c.used == *used) {
            continue;
        }
        list.push(CoefficientUsed {
            hose: laid.name.clone(),
            used: used.clone(),
            spread: book.spread(&laid.name),
        });
    }
    list
}

/// Each nozzle at each of its settings once, in the order of the tips.
pub(crate) fn nozzles_used(layout: &Layout) -> Vec<ItemUsed> {
    let mut list: Vec<ItemUsed> = Vec::new();
    for tip in &layout.tips {
        let name = match &tip.setting {
            Some(setting) => format!("{}, {setting}", tip.name),
            None => tip.name.clone(),
        };
        if list.iter().all(|item| item.name != name) {
            let used = ValueUsed::Nozzle(tip.used.clone());
            list.push(ItemUsed { name, used });
        }
    }
    list
}

/// Flow with the regulators of automatic nozzles last opening and last closing.
fn add_bands(
    book: &Book,
    line: &str,
    conditions: &Conditions,
    layout: &Layout,
    answer: &mut LineAnswer,
) -> Result<(), StudyError> {
    let has_band = |tip: &LaidTip| match &tip.tip.nozzle {
        Nozzle::Automatic(n) => n.band().value > 0.0 && n.regulator() == Regulator::Balanced,
        _ => false,
    };
    if !layout.tips.iter().any(has_band) {
        return Ok(());
    }
    let flows = |regulator| -> Result<Vec<VolumeRate>, StudyError> {
        let conditions = Conditions {
            regulator,
            pump_pressure: Some(answer.pump_pressure),
            ..conditions.clone()
        };
        Ok(flows_of(&book::layout(book, line, &conditions)?))
    };
    let (opening, closing) = (flows(Regulator::Opening)?, flows(Regulator::Closing)?);
    let bands = opening.into_iter().zip(closing);
    for ((tip, answer), band) in layout.tips.iter().zip(&mut answer.tips).zip(bands) {
        answer.band = has_band(tip).then_some(band);
    }
    Ok(())
}

/// The flow of every tip of a layout.
fn flows_of(layout: &Layout) -> Vec<VolumeRate> {
    let steady = lay::solve(&layout.lay);
    layout.tips.iter().map(|t| steady.flow(t.part)).collect()
}

/// Solves again with every hose at the ends of its published spread.
fn spread(
    book: &Book,
    line: &str,
    conditions: &Conditions,
    answer: &LineAnswer,
) -> Result<Option<Spread>, StudyError> {
    if answer.coefficients.iter().all(|c| c.spread.is_none()) {
        return Ok(None);
    }
    let at = |which| -> Result<(Pressure, Vec<VolumeRate>), StudyError> {
        let conditions = Conditions {
            pump_pressure: Some(answer.pump_pressure),
            ..conditions.with_hose(which)
        };
        let other = book::layout(book, line, &conditions)?;
        let flows: Vec<Need<'_>> = other
            .tips
            .iter()
            .zip(&answer.tips)
            .filter(|(tip, got)| need::is_open(tip) && got.flow.value > 0.0)
            .map(|(tip, got)| (tip, got.flow))
            .collect();
        let pressure = worst(&other, &flows).map_or(answer.pump_pressure, |w| w.pressure);
        Ok((pressure, flows_of(&other)))
    };
    let ((low, most), (high, least)) = (at(Which::PublishedLow)?, at(Which::PublishedHigh)?);
    Ok(Some(Spread {
        pump_pressure: (low, high),
        flows: least.into_iter().zip(most).collect(),
    }))
}
