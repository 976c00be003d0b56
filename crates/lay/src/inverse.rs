//! Questions asked backwards: which pump pressure, which gate, which length.
//!
//! Every answer rises (or falls) with what is sought, so each question has one
//! answer; it is solved by bracketed root finding (Brent, from the `roots`
//! crate), never by trying values in turn.

use crate::network::{Lay, PartId, PlaceId};
use crate::steady::{Solver, Steady};
use hydraulics::element::Element;
use hydraulics::units::{Length, Measure, Pressure, Ratio, VolumeRate};
use hydraulics::valve::{Valve, ValveKind};
use roots::{SimpleConvergency, find_root_brent};

/// Why a question has no answer within its bounds.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NoAnswer {
    /// Even at the far bound the target is not reached.
    #[error("out of reach: at the bound the value is {best}")]
    OutOfReach {
        /// The value at the far bound.
        best: f64,
    },
    /// Already at the near bound the value is past the target.
    #[error("already past it: at the bound the value is {least}")]
    AlreadyPast {
        /// The value at the near bound.
        least: f64,
    },
    /// A value along the way was not a number.
    #[error("the value could not be worked out")]
    NotANumber,
}

/// The x between `bounds` at which the rising `value` reaches `target`.
///
/// # Errors
/// [`NoAnswer`] when the target lies outside the values at the bounds.
///
/// ```
/// let root = lay::inverse::reach(|x| x * x, 9.0, (0.0, 10.0))?;
/// assert!((root - 3.0).abs() < 1e-9);
/// # Ok::<(), lay::inverse::NoAnswer>(())
/// ```
pub fn reach(
    mut value: impl FnMut(f64) -> f64,
    target: f64,
    bounds: (f64, f64),
) -> Result<f64, NoAnswer> {
    let (least, best) = (value(bounds.0), value(bounds.1));
    if !(least.is_finite() && best.is_finite() && target.is_finite()) {
        return Err(NoAnswer::NotANumber);
    }
    if least > target {
        return Err(NoAnswer::AlreadyPast { least });
    }
    if best < target {
        return Err(NoAnswer::OutOfReach { best });
    }
    let mut stop = SimpleConvergency {
        eps: 1e-12 * (bounds.1 - bounds.0).abs(),
        max_iter: 100,
    };
    let scale = best - least;
    if scale <= 0.0 {
        return Ok(bounds.0);
    }
    let span = bounds.1 - bounds.0;
    // Brent stops on a small value as well as on a small bracket: bring the
    // value to the size of the bracket first.
    let miss = |x: f64| (value(x) - target) / scale * span;
    find_root_brent(bounds.0, bounds.1, miss, &mut stop).map_err(|_| NoAnswer::NotANumber)
}

/// The pressure at `pump` at which `reading` of the answer reaches `target`,
/// no higher than `ceiling`. `reading` must rise with pump pressure.
///
/// # Errors
/// [`NoAnswer::OutOfReach`] when the ceiling does not do.
pub fn pump_pressure(
    lay: &Lay,
    pump: PlaceId,
    reading: impl Fn(&Steady) -> f64,
    target: f64,
    ceiling: Pressure,
) -> Result<Pressure, NoAnswer> {
    let mut lay = lay.clone();
    let mut solver = Solver::new(&lay);
    let mut last: Option<Steady> = None;
    let value = |pressure: f64| {
        lay.set_pressure(pump, Pressure::of_si(pressure));
        let answer = solver.solve(&lay, last.as_ref());
        let value = reading(&answer);
        last = Some(answer);
        value
    };
    reach(value, target, (0.0, ceiling.value)).map(Pressure::of_si)
}

/// What a tip asks of the pump when every tip gets its flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demand {
    /// The tip.
    pub tip: PartId,
    /// The flow it is to have.
    pub flow: VolumeRate,
    /// The pump pressure that gives it this flow, while all the others have
    /// theirs.
    pub pump_pressure: Pressure,
}

/// The pump pressure that each of `tips` needs for its flow while all of them
/// have theirs. The largest is what the pump must hold; the others have the
/// difference to spare, for a gate to take.
///
/// One solution does it: with flows given, losses do not depend on the pump.
pub fn pressures_for_flows(lay: &Lay, pump: PlaceId, tips: &[(PartId, VolumeRate)]) -> Vec<Demand> {
    let mut drawn = lay.clone();
    for &(tip, flow) in tips {
        draw_more(&mut drawn, lay.ends(tip).0, flow);
        shut(&mut drawn, [tip]);
    }
    drawn.set_pressure(pump, Pressure::of_si(0.0));
    let answer = crate::solve(&drawn);
    let demand = |&(tip, flow): &(PartId, VolumeRate)| {
        let (base, _) = lay.ends(tip);
        let needed = lay.law(tip).loss(flow).pressure + lay.rise(tip);
        let lost = answer
            .pressure(base)
            .unwrap_or(Pressure::of_si(f64::INFINITY));
        Demand {
            tip,
            flow,
            pump_pressure: needed - lost,
        }
    };
    tips.iter().map(demand).collect()
}

/// Shuts parts, whatever they are.
pub fn shut(lay: &mut Lay, parts: impl IntoIterator<Item = PartId>) {
    for part in parts {
        lay.replace(part, std::sync::Arc::new(Shut));
    }
}

/// Draws `flow` off at `place`, beside what is drawn there already.
pub fn draw_more(lay: &mut Lay, place: PlaceId, flow: VolumeRate) {
    let already = lay.places[place.0].drawn;
    lay.draw(place, VolumeRate::of_si(already + flow.value));
}

/// Nothing passes: what stands in the place of a tip whose flow is given.
#[derive(Debug)]
struct Shut;

impl Element for Shut {
    fn loss(&self, _flow: VolumeRate) -> hydraulics::element::Loss {
        hydraulics::element::Loss {
            pressure: Measure::of_si(0.0),
            slope: Measure::of_si(0.0),
        }
    }

    fn passage(&self) -> hydraulics::element::Passage {
        hydraulics::element::Passage::Shut
    }
}

/// How far a valve must be open to take `excess` at `flow`.
///
/// # Errors
/// [`NoAnswer`] when not even the valve all but shut takes so much.
pub fn gate_for(
    kind: ValveKind,
    waterway: Length,
    flow: VolumeRate,
    excess: Pressure,
) -> Result<Ratio, NoAnswer> {
    if excess.value <= 0.0 {
        return Ok(Ratio::of_si(1.0));
    }
    let taken = |closed: f64| {
        let valve = Valve {
            kind,
            waterway,
            gate: Ratio::of_si(1.0 - closed),
        };
        valve.loss(flow).pressure.value.ln_1p()
    };
    let closed = reach(taken, excess.value.ln_1p(), (0.0, 0.99))?;
    Ok(Ratio::of_si(1.0 - closed))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn law_gate_takes_what_it_is_asked_to() {
        let (flow, excess) = (VolumeRate::of_si(0.01), Pressure::of_si(2e5));
        for kind in [ValveKind::Slide, ValveKind::Ball] {
            let waterway = Length::of_si(0.05);
            let gate = gate_for(kind, waterway, flow, excess).unwrap();
            let valve = Valve {
                kind,
                waterway,
                gate,
            };
            assert!((valve.loss(flow).pressure - excess).value.abs() < 1.0);
        }
    }

    #[test]
    fn says_when_a_target_is_out_of_reach() {
        assert_eq!(
            reach(|x| x, 20.0, (0.0, 10.0)),
            Err(NoAnswer::OutOfReach { best: 10.0 })
        );
        assert_eq!(
            reach(|x| x, -1.0, (0.0, 10.0)),
            Err(NoAnswer::AlreadyPast { least: 0.0 })
        );
    }
}
