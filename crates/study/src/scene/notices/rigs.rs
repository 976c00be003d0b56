//! What must be said about a rig's pump, its intake and its outlets.

use super::STILL;
use crate::figure;
use crate::notice::{Notice, Weight};
use crate::scene::water::holds;
use crate::scene::{OutletAnswer, RigAnswer, SceneAnswer, SetBy, Solved};
use book::LaidRig;
use hydraulics::units::psi;

/// Above its least by no more than this, an intake is drawn down.
const NEAR_LEAST: f64 = 8.0;

pub(super) fn of(solved: &Solved<'_>, answer: &SceneAnswer, notices: &mut Vec<Notice>) {
    for (rig, laid) in answer.rigs.iter().zip(&solved.laid.rigs) {
        notices.extend(short(solved, rig, laid));
        notices.extend(above_ceiling(solved, rig, laid));
        if rig.flow.value > STILL {
            notices.extend(runs_through(rig));
            notices.extend(past_rated_flow(rig));
            notices.extend(above_highest_point(rig, laid));
            notices.extend(speed(rig));
        }
        let outlets = rig.outlets.iter();
        notices.extend(outlets.filter_map(|outlet| above_need(rig, outlet)));
    }
}

/// The pump does not hold what it is set to.
fn short(solved: &Solved<'_>, rig: &RigAnswer, laid: &LaidRig) -> Option<Notice> {
    let setting = rig.setting.filter(|_| !holds(solved, laid))?;
    let starving = rig.intake - rig.least_intake < psi(NEAR_LEAST);
    let (code, text, mend) = match starving {
        true => (
            "pump_starved",
            "the pump runs away from its water: its intake is down to the limit, it cavitates and cannot hold its pressure",
            "flow less, or bring a second supply",
        ),
        false => (
            "pump_past_curve",
            "the pump cannot hold its pressure at this flow",
            "flow less, or share the lines with another rig",
        ),
    };
    let notice = Notice::new(code, Weight::Limit, text)
        .at(&rig.name)
        .with("set to", figure::pressure(setting))
        .with("gives", figure::pressure(rig.discharge))
        .with("intake", figure::pressure(rig.intake))
        .with("flow", figure::flow(rig.flow));
    Some(notice.mend(mend))
}

/// What asks most of the pump asks for more than the ceiling, at which it is set.
fn above_ceiling(solved: &Solved<'_>, rig: &RigAnswer, laid: &LaidRig) -> Option<Notice> {
    let ceiling = solved.book.pump_ceiling.as_ref().map(book::Stated::get)?;
    let demand = solved.demands.cuts.get(laid.cut)?;
    let set = matches!(rig.set_by, SetBy::Demand(_)) && demand.any();
    (set && demand.pressure > ceiling + psi(0.5)).then(|| {
        Notice::new(
            "asks_above_ceiling",
            Weight::Limit,
            "what asks most of this pump asks for more than the department's ceiling; the pump is set at the ceiling",
        )
        .at(format!("{}, for {}, {}", rig.name, demand.worst.0, demand.worst.1))
        .with("asks for", figure::pressure(demand.pressure))
        .with("ceiling", figure::pressure(ceiling))
        .mend("shorten that line, use larger hose there, or aim for less")
    })
}

fn runs_through(rig: &RigAnswer) -> Option<Notice> {
    let setting = rig
        .setting
        .filter(|setting| rig.intake > *setting + psi(1.0))?;
    if !rig.outlets.is_empty() && rig.outlets.iter().all(|o| o.feeds_rig) {
        let notice = Notice::new(
            "pump_idles",
            Weight::Remark,
            "the intake gives all that the next rig needs: the water runs through, and this pump need not work",
        )
        .at(&rig.name)
        .with("intake", figure::pressure(rig.intake));
        return Some(
            notice.mend("watch the next rig's intake, and open this pump up when it falls"),
        );
    }
    let notice = Notice::new(
        "intake_above_setting",
        Weight::Caution,
        "the intake is above what the pump is to hold: the water runs through, and the discharge is too high",
    )
    .at(&rig.name)
    .with("intake", figure::pressure(rig.intake))
    .with("set to", figure::pressure(setting));
    Some(notice.mend("gate the intake or the outlets; an intake relief valve is set a little above the static pressure of the supply"))
}

fn past_rated_flow(rig: &RigAnswer) -> Option<Notice> {
    (rig.flow > rig.rated * 1.0001).then(|| {
        Notice::new(
            "past_rated_flow",
            Weight::Caution,
            "the pump flows more than it is rated for; beyond its last rating point its capability is carried on, not tested",
        )
        .at(&rig.name)
        .with("flow", figure::flow(rig.flow))
        .with("rated flow", figure::flow(rig.rated))
        .mend("prove it by a pump test, or share the lines with another rig")
    })
}

fn above_highest_point(rig: &RigAnswer, laid: &LaidRig) -> Option<Notice> {
    let (_, highest) = laid.pump.points().first()?;
    (rig.net > *highest * 0.999).then(|| {
        Notice::new(
            "above_highest_point",
            Weight::Caution,
            "nothing is rated above the highest point of the pump",
        )
        .at(&rig.name)
        .with("net pressure", figure::pressure(rig.net))
        .with("highest point", figure::pressure(*highest))
        .mend("a pump test at this pressure can give the book a point of its own")
    })
}

fn speed(rig: &RigAnswer) -> Option<Notice> {
    matches!(rig.set_by, SetBy::Speed(_)).then(|| {
        Notice::new(
            "speed_model",
            Weight::Remark,
            "pressure at a speed is from a usual pump's curve, not from this pump's",
        )
        .at(&rig.name)
        .with("pump pressure", figure::pressure(rig.discharge))
        .mend("read the gauge")
    })
}

fn above_need(rig: &RigAnswer, outlet: &OutletAnswer) -> Option<Notice> {
    // More than is needed at the next rig's intake does no harm.
    let needs = outlet
        .needs
        .filter(|_| !outlet.feeds_rig)
        .filter(|needs| outlet.pressure > *needs + psi(5.0))?;
    let notice = Notice::new(
        "outlet_above_need",
        Weight::Remark,
        "this outlet gives more than what it feeds needs",
    )
    .at(format!("{}, {}", rig.name, outlet.feeds))
    .with("pressure", figure::pressure(outlet.pressure))
    .with("needs", figure::pressure(needs));
    Some(notice.mend("gate it down, slowly, if the crew is to have its aim and no more"))
}
