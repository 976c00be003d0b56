//! What must be said about an answer.

use crate::answer::{LineAnswer, TipAnswer};
use crate::figure;
use crate::need;
use crate::notice::{Notice, Weight};
use crate::operating::HIGHEST_PUMP;
use book::{Book, Conditions, LaidTip, Layout};
use hydraulics::nozzle::Regime;
use hydraulics::units::{Measure, Pressure};
use lay::Steady;

/// Flow below which a tip counts as dry: 0.6 L/min.
const DRY: f64 = 1e-5;

/// Every notice for one solved layout.
pub(crate) fn of(
    book: &Book,
    conditions: &Conditions,
    layout: &Layout,
    steady: &Steady,
    answer: &LineAnswer,
) -> Vec<Notice> {
    let mut notices = Vec::new();
    solving(answer, &mut notices);
    ceiling(book, answer, &mut notices);
    hose(layout, steady, &mut notices);
    hose_shut(layout, answer, &mut notices);
    suction(layout, steady, &mut notices);
    kinks(layout, &mut notices);
    for (tip, got) in layout.tips.iter().zip(&answer.tips) {
        let closed = conditions.changes.get(&tip.path).and_then(|c| c.gate);
        let shut = closed.is_some_and(|g| g.value <= 0.0) || !need::is_open(tip);
        match shut {
            true if got.flow.value < DRY => notices.push(dry(tip, true)),
            _ => {
                let mut own = Vec::new();
                self::tip(book, tip, got, &mut own);
                if kinked(layout, tip) {
                    own.iter_mut().for_each(straighten_first);
                }
                notices.extend(own);
            }
        }
    }
    coefficient(answer, &mut notices);
    notices
}

/// What must be said about one tip.
pub(crate) fn tip(book: &Book, tip: &LaidTip, got: &TipAnswer, notices: &mut Vec<Notice>) {
    if got.flow.value < DRY {
        notices.push(dry(tip, !need::is_open(tip)));
        return;
    }
    regime(tip, got, notices);
    crew(book, tip, got, notices);
    quality(tip, got, notices);
    aim(tip, got, notices);
}

/// The solver did not finish.
pub(crate) fn not_converged(residual: lay::Residual) -> Notice {
    Notice::new(
        "not_converged",
        Weight::Limit,
        "the solver did not finish; these figures are its best and must not be used",
    )
    .with("flow left over", figure::flow(residual.flow))
    .with("pressure left over", figure::pressure(residual.pressure))
    .mend("report the book that led here")
}

/// No tip of the line can have a flow, so that no pump pressure follows.
pub(crate) fn nothing_to_aim_at() -> Notice {
    Notice::new(
        "nothing_to_aim_at",
        Weight::Limit,
        "every tip is shut, so no pump pressure can be worked out",
    )
    .mend("open a gate, or give a pump pressure")
}

/// The aim takes more than any pump gives.
pub(crate) fn beyond_any_pump(asks: Pressure) -> Notice {
    let notice = Notice::new(
        "aim_out_of_reach",
        Weight::Limit,
        "the aim cannot be reached: it takes a pump pressure that no pump gives",
    )
    .at("pump outlet");
    let notice = match asks.value.is_finite() {
        true => notice.with("it takes", figure::pressure(asks)),
        false => notice,
    };
    notice
        .with(
            "tried up to",
            figure::pressure(Pressure::of_si(HIGHEST_PUMP)),
        )
        .mend("ask for what the line can give, shorten it, or use larger hose or another nozzle")
}

/// Several lines that come into an appliance with one inlet.
pub(crate) fn no_siamese(book: &Book, name: &str) -> Vec<Notice> {
    let Some(line) = book.line.get(name) else {
        return Vec::new();
    };
    let faults = book::check_line(book, name, line).into_iter();
    let faults = faults.filter(|fault| fault.code == "no_siamese");
    let notice = |fault: book::Fault| {
        Notice::new(
            "no_siamese",
            Weight::Limit,
            "several lines come together at one inlet, with no siamese: the line cannot be built so",
        )
        .at(fault.path.to_string())
        .mend("put a siamese or a manifold before it")
    };
    faults.map(notice).collect()
}

/// The aim cannot be met with everything open.
pub(crate) fn only_gated() -> Notice {
    Notice::new(
        "only_gated",
        Weight::Caution,
        "with every gate open the easier tips take so much that the worst one misses its aim at any pump pressure; the pump pressure shown is the one with the easier tips gated",
    )
    .mend("gate the easier tips as advised")
}

fn solving(answer: &LineAnswer, notices: &mut Vec<Notice>) {
    if !answer.converged {
        notices.push(not_converged(answer.residual));
    }
}

fn ceiling(book: &Book, answer: &LineAnswer, notices: &mut Vec<Notice>) {
    let Some(ceiling) = book.pump_ceiling.as_ref().map(book::Stated::get) else {
        return;
    };
    if answer.pump_pressure > ceiling {
        let notice = Notice::new(
            "pump_ceiling",
            Weight::Limit,
            "the pump pressure is above the highest that the department allows",
        )
        .at("pump outlet")
        .with("pump pressure", figure::pressure(answer.pump_pressure))
        .with("ceiling", figure::pressure(ceiling))
        .mend("shorten the line, use larger hose, or aim for less");
        notices.push(notice);
    }
}

/// Hose above its service pressure, with the water moving as solved.
fn hose(layout: &Layout, steady: &Steady, notices: &mut Vec<Notice>) {
    for laid in &layout.parts {
        let Some(service) = laid.service_pressure else {
            continue;
        };
        let (from, to) = layout.lay.ends(laid.part);
        let pressures = [from, to].map(|p| steady.pressure(p).map_or(0.0, |p| p.value));
        let highest = Pressure::of_si(pressures[0].max(pressures[1]));
        if highest > service {
            let notice = Notice::new(
                "above_service_pressure",
                Weight::Limit,
                format!("hose \"{}\" is above its service pressure", laid.name),
            )
            .at(laid.path.to_string())
            .with("pressure", figure::pressure(highest))
            .with("service pressure", figure::pressure(service))
            .mend("never pump above the hose's service pressure: lower the pump pressure or use other hose");
            notices.push(notice);
        }
    }
}

/// Hose that would be above its service pressure with every tip shut: pressure
/// then is the pump's all along, less the height. Past an eductor or a regulating
/// valve nothing is said.
fn hose_shut(layout: &Layout, answer: &LineAnswer, notices: &mut Vec<Notice>) {
    if layout.cuts.len() > 1 {
        return;
    }
    for laid in &layout.parts {
        let Some(service) = laid.service_pressure else {
            continue;
        };
        let (from, to) = layout.lay.ends(laid.part);
        let lowest = layout.lay.height(from).min(layout.lay.height(to));
        let shut = answer.pump_pressure - layout.lay.column(lowest);
        let said =
            |n: &Notice| n.code == "above_service_pressure" && n.place == laid.path.to_string();
        if shut > service && !notices.iter().any(said) {
            let notice = Notice::new(
                "above_service_pressure_shut",
                Weight::Caution,
                format!(
                    "with every tip shut, hose \"{}\" is above its service pressure",
                    laid.name
                ),
            )
            .at(laid.path.to_string())
            .with("pressure, shut", figure::pressure(shut))
            .with("service pressure", figure::pressure(service))
            .mend("set the pump's relief valve or governor below it, and shut tips slowly");
            notices.push(notice);
        }
    }
}

/// Water in a pump outlet, and pressure below zero at a high point.
fn suction(layout: &Layout, steady: &Steady, notices: &mut Vec<Notice>) {
    for laid in &layout.parts {
        let (from, to) = layout.lay.ends(laid.part);
        if from == layout.supply && steady.flow(laid.part).value < -DRY {
            let notice = Notice::new(
                "flow_into_pump",
                Weight::Limit,
                "water runs back into the pump outlet",
            )
            .at(laid.path.to_string())
            .with("flow", figure::flow(-steady.flow(laid.part)))
            .mend("raise this pump's pressure or close its outlet");
            notices.push(notice);
        }
        let low = steady.pressure(to).is_some_and(|p| p.value < -1000.0);
        if low && layout.lay.role(to) == lay::Role::Junction {
            let notice = Notice::new(
                "below_air_pressure",
                Weight::Limit,
                "pressure here is below that of the air: the hose collapses or the column breaks, and the figures beyond do not hold",
            )
            .at(laid.path.to_string())
            .with("pressure", figure::pressure(steady.pressure(to).unwrap_or_default()))
            .mend("raise the pump pressure");
            notices.push(notice);
        }
    }
}

/// Hose with a kink.
fn kinks(layout: &Layout, notices: &mut Vec<Notice>) {
    for laid in layout.parts.iter().filter(|p| p.kink.value > 0.0) {
        let notice = Notice::new(
            "kinked",
            Weight::Caution,
            format!("hose \"{}\" has a kink", laid.name),
        )
        .at(laid.path.to_string())
        .with("waterway closed", figure::share(laid.kink))
        .mend("find and straighten the kink");
        notices.push(notice);
    }
}

/// Is a hose on the way to the tip kinked?
fn kinked(layout: &Layout, tip: &LaidTip) -> bool {
    let mut parts = layout.parts.iter();
    parts.any(|p| p.kink.value > 0.0 && p.line == tip.line && need::leads(&p.path, &tip.path))
}

/// More pressure on a kink is no cure.
fn straighten_first(notice: &mut Notice) {
    if notice.mend.starts_with("raise the pump pressure") {
        notice.mend = format!(
            "first find and straighten the kink; only then {}",
            notice.mend
        );
    }
}

fn dry(tip: &LaidTip, shut: bool) -> Notice {
    let notice = if shut {
        Notice::new("tip_shut", Weight::Remark, "this tip is shut")
            .mend("open its gate, slowly, when the crew is ready")
    } else {
        Notice::new("dry_tip", Weight::Limit, "no water reaches this tip")
            .with("height of the tip", figure::length(tip.height))
            .mend("raise the pump pressure, or look for a shut gate on the way")
    };
    notice.at(tip.path.to_string())
}

fn regime(tip: &LaidTip, got: &TipAnswer, notices: &mut Vec<Notice>) {
    let (code, text, mend) = match got.regime {
        Some(Regime::Below) => (
            "below_range",
            "the automatic nozzle is below its range: its baffle is on the closed stop and the stream is weak",
            "raise the pump pressure, or turn to a lower pressure setting if the nozzle has one",
        ),
        Some(Regime::Above) => (
            "above_range",
            "the automatic nozzle is above its range: its baffle is on the open stop and the pressure is no longer held",
            "lower the pump pressure, or gate this leg",
        ),
        _ => return,
    };
    let notice = Notice::new(code, Weight::Caution, text)
        .at(tip.path.to_string())
        .with("flow", figure::flow(got.flow))
        .with("tip pressure", figure::pressure(got.tip_pressure))
        .mend(mend);
    notices.push(notice);
}

fn crew(book: &Book, tip: &LaidTip, got: &TipAnswer, notices: &mut Vec<Notice>) {
    if let Some((limit, false)) = need::reaction_limit(tip, got.reaction) {
        let notice = Notice::new(
            "reaction_over_aim",
            Weight::Limit,
            "the reaction is above what the aim allows",
        )
        .at(tip.path.to_string())
        .with("reaction, formula value", figure::force(got.reaction))
        .with("at most", figure::force(limit))
        .mend("lower the flow or the tip pressure, or put more people on the line");
        notices.push(notice);
    }
    if got.people.is_none() && !got.on_monitor {
        let notice = Notice::new(
            "reaction_over_crew",
            Weight::Caution,
            "the reaction is more than three people can hold by the book's limits",
        )
        .at(tip.path.to_string())
        .with("reaction, formula value", figure::force(got.reaction))
        .with("limit for three", figure::force(book.crew_limits()[2]))
        .mend("anchor the nozzle or use an appliance; a measured study found the force on the person above the formula in every posture");
        notices.push(notice);
    }
}

fn quality(tip: &LaidTip, got: &TipAnswer, notices: &mut Vec<Notice>) {
    if tip.tip.nozzle.is_solid() && need::is_disturbed(tip) {
        let notice = Notice::new(
            "disturbed_stream",
            Weight::Caution,
            "the ball shut-off is part open and disturbs the stream; the reach shown allows for it",
        )
        .at(tip.path.to_string())
        .with("effective reach", figure::length(got.effective_reach))
        .mend("open it fully and gate at the pump or the wye (common practice)");
        notices.push(notice);
    }
    // 30 psi is where the textbook reach rule begins (case SF110).
    let weak = Pressure::of_si(30.0 * 6894.757);
    if tip.tip.nozzle.is_solid() && got.tip_pressure < weak {
        let notice = Notice::new(
            "weak_stream",
            Weight::Caution,
            "the tip pressure is below the range of the reach rule: expect a weak stream",
        )
        .at(tip.path.to_string())
        .with("tip pressure", figure::pressure(got.tip_pressure))
        .with("rule begins at", figure::pressure(weak))
        .mend("raise the pump pressure or use a smaller tip");
        notices.push(notice);
    }
}

fn aim(tip: &LaidTip, got: &TipAnswer, notices: &mut Vec<Notice>) {
    if let Some((wanted, most)) = need::out_of_reach(tip) {
        let notice = Notice::new(
            "aim_out_of_reach",
            Weight::Limit,
            "the aim cannot be reached by this nozzle at any pressure",
        )
        .at(tip.path.to_string())
        .with("effective reach asked for", figure::length(wanted))
        .with("the most that can be had", figure::length(most))
        .mend("ask for less reach, go nearer, or use a nozzle that reaches farther");
        notices.push(notice);
        return;
    }
    if let Some(wanted) = need::well_over(tip, got.flow) {
        let notice = Notice::new("over_aim", Weight::Remark, "this tip is well over its aim")
            .at(tip.path.to_string())
            .with("flow", figure::flow(got.flow))
            .with("aim", figure::flow(wanted))
            .mend("gate this branch, or lower the pump");
        notices.push(notice);
    }
    let met = need::is_met(tip, got.flow, got.tip_pressure);
    if met != Some(false) {
        return;
    }
    let mut notice = Notice::new("aim_missed", Weight::Caution, "this tip misses its aim")
        .at(tip.path.to_string())
        .with("flow", figure::flow(got.flow))
        .with("tip pressure", figure::pressure(got.tip_pressure))
        .with("effective reach", figure::length(got.effective_reach));
    if let Some((_, wanted)) = got.aim.first() {
        notice = notice.with("aim", *wanted);
    }
    notices.push(notice.mend("raise the pump pressure, or ask for what the line can give"));
}

fn coefficient(answer: &LineAnswer, notices: &mut Vec<Notice>) {
    let Some(spread) = &answer.spread else { return };
    if answer
        .coefficients
        .iter()
        .all(|c| c.used.measured || c.spread.is_none())
    {
        return;
    }
    let (low, high) = spread.pump_pressure;
    // Half a psi: less does not show on a gauge.
    if (high - low).value.abs() < 3450.0 {
        return;
    }
    let notice = Notice::new(
        "book_coefficient",
        Weight::Remark,
        "a hose coefficient is from a book, not from a test of this hose; over the published spread the same flow takes another pump pressure",
    )
    .with("lowest", figure::pressure(low))
    .with("highest", figure::pressure(high))
    .mend("measure the hose on a flow-test day");
    notices.push(notice);
}
