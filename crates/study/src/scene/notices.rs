//! What must be said about a scene.

mod rigs;
mod water;

use super::foam::EductorAnswer;
use super::limits::Limit;
use super::{SceneAnswer, Solved, StandpipeAnswer};
use crate::figure;
use crate::notice::{Notice, Weight};
use crate::notices as line_notices;
use hydraulics::units::{Measure, Ratio, VolumeRate};

/// Flow below which water counts as still: 0.6 L/min.
const STILL: f64 = 1e-5;

pub(super) fn of(solved: &Solved<'_>, answer: &SceneAnswer) -> Vec<Notice> {
    let mut notices = Vec::new();
    if answer.converged {
        notices.extend(
            answer
                .limits
                .iter()
                .filter(|l| l.passed())
                .filter_map(passed),
        );
    } else {
        notices.push(line_notices::not_converged(answer.residual));
    }
    rigs::of(solved, answer, &mut notices);
    water::of(solved, answer, &mut notices);
    standpipes(answer, &mut notices);
    for eductor in &answer.eductors {
        self::eductor(eductor, &mut notices);
    }
    foam_lines(answer, &mut notices);
    spill(answer, &mut notices);
    fire(answer, &mut notices);
    suction(solved, &mut notices);
    for (tip, got) in solved.laid.layout.tips.iter().zip(&answer.tips) {
        let mut own = Vec::new();
        line_notices::tip(solved.book, tip, got, &mut own);
        // The aim is among the limits.
        own.retain(|notice| notice.code != "aim_missed");
        notices.extend(own.into_iter().map(|mut notice| {
            notice.place = format!("{}, {}", got.line, notice.place);
            notice
        }));
    }
    // Without a prime all that follows from a starved pump goes without saying.
    if notices.iter().any(|n| n.code == "draft_too_high") {
        notices.retain(|n| !["pump_starved", "below_air_pressure"].contains(&n.code));
    }
    if answer.spread.is_some() {
        notices.push(coefficients(answer));
    }
    notices
}

/// A limit that is passed, and what to do about it.
fn passed(limit: &Limit) -> Option<Notice> {
    let (weight, text, mend) = match limit.code {
        "pump_capability" => (
            Weight::Limit,
            "the pump is asked for more than it has at this flow",
            "take less flow, lower the pump pressure, bring more intake pressure, or share the lines with another rig",
        ),
        "pump_ceiling" => (
            Weight::Limit,
            "the pump pressure is above the highest that the department allows",
            "shorten the lines, use larger hose, or aim for less",
        ),
        "relay_intake" => (
            Weight::Limit,
            "a rig in relay is left with less than the least residual at its intake",
            "raise the pressure of the rig that feeds it, lay a second supply line, or put a rig between them",
        ),
        "supply_intake" => (
            Weight::Limit,
            "a rig is left with less than the least residual at its intake: its supply hose is near to going flat",
            "flow less, lay a second or larger supply line, or take another hydrant",
        ),
        "standpipe_outlet_high" => (
            Weight::Limit,
            "an outlet of the standpipe has more than a crew can use safely",
            "gate it down at the floor's outlet with a gauge there, or use a regulating outlet valve, before the line is opened",
        ),
        "foam_lasts" => (
            Weight::Limit,
            "the foam concentrate runs out before the spill is covered for its time",
            "bring more concentrate to the rig that uses it before the attack begins",
        ),
        "main_flow" => (
            Weight::Limit,
            "more is drawn from the main than it has at the least residual",
            "take less, or supply from another main; below that a main can be damaged and its water spoilt",
        ),
        "tank_pipe" => (
            Weight::Limit,
            "the pipe from tank to pump does not let so much through",
            "flow less from the tank, or get another supply first",
        ),
        "suction" => (
            Weight::Limit,
            "the suction is past what the pump can hold against the air: it loses its water",
            "lower the lift, use larger or a second suction hose, or flow less",
        ),
        "draft_flow" => (
            Weight::Caution,
            "more is drafted than the trade's table leaves of the rated flow at this lift",
            "prove the draft on a drill, stand lower, or flow less",
        ),
        "shuttle_rate" => (
            Weight::Limit,
            "more is drawn than the tankers bring",
            "flow less; more tankers help only as long as they do not wait for each other, else open a second fill or dump site",
        ),
        "service_pressure" => (
            Weight::Limit,
            "hose is above its service pressure",
            "never pump above the hose's service pressure: lower the pump pressure or use other hose",
        ),
        "standpipe_rated" => (
            Weight::Limit,
            "the standpipe is above the pressure that its system is rated for",
            "do not pump above the system's rated pressure; supply the upper zone by its own means",
        ),
        "standpipe_outlet" => (
            Weight::Limit,
            "an outlet of the standpipe has less than is required there",
            "raise the pump pressure within the system's rating, or take the line from a lower floor",
        ),
        "proportioner" => (
            Weight::Limit,
            "the proportioner is asked for more concentrate than it adds: the foam runs lean",
            "flow less solution, or lower the ratio if concentrate and fuel allow it",
        ),
        "spill_rate" => (
            Weight::Limit,
            "the foam lines give less solution than the spill takes",
            "add foam lines before the attack begins; too low a rate does not put the fire out",
        ),
        "concentrate" => (
            Weight::Limit,
            "less foam concentrate is carried than the spill takes",
            "have all the concentrate at the scene before the attack begins",
        ),
        "aim" => (
            Weight::Caution,
            "this tip misses its aim",
            "mend first what is past its limit nearer to the water; else open what gates this tip, or raise the pump pressure if every other limit allows it",
        ),
        // Said at the tip and at the eductor.
        _ => return None,
    };
    let least = if limit.at_least {
        "at least"
    } else {
        "at most"
    };
    let notice = Notice::new(limit.code, weight, text)
        .at(&limit.place)
        .with("now", limit.value)
        .with(least, limit.limit)
        .mend(mend);
    Some(notice)
}

/// Floors that the pump as it is does not reach, and those that it must not.
fn upper_floors(pipe: &StandpipeAnswer) -> Option<Notice> {
    if pipe.highest_floor >= pipe.of_floors {
        return None;
    }
    let beyond = pipe.rated.filter(|rated| pipe.inlet_for_top > *rated);
    let (weight, text, mend) = match beyond {
        Some(_) => (
            Weight::Limit,
            "the top floor cannot be had from the street within what the system is rated for",
            "supply the upper zone by the building's own pumps, or carry water up another way",
        ),
        None => (
            Weight::Remark,
            "with the topmost line taken higher, the pump must be raised",
            "raise the pump pressure when the line goes higher, within the system's rating",
        ),
    };
    let mut notice = Notice::new("floor_runs_out", weight, text)
        .at(&pipe.name)
        .with("required", figure::pressure(pipe.required))
        .with(
            "pump pressure for the top floor",
            figure::pressure(pipe.pump_for_top),
        );
    if let Some(rated) = pipe.rated {
        notice = notice.with("system rated for", figure::pressure(rated));
    }
    Some(notice.mend(mend))
}

fn standpipes(answer: &SceneAnswer, notices: &mut Vec<Notice>) {
    for pipe in &answer.standpipes {
        notices.extend(upper_floors(pipe));
        for floor in &pipe.floors {
            if let (Some(setting), false) = (floor.setting, floor.regulates) {
                let notice = Notice::new(
                    "valve_below_setting",
                    Weight::Remark,
                    "the regulating outlet has less than its setting and stands fully open: the pressure follows the pump",
                )
                .at(format!("{}, floor {}", pipe.name, floor.floor))
                .with("pressure", figure::pressure(floor.pressure))
                .with("setting", figure::pressure(setting))
                .mend("do not count on the valve to hold the pressure if the pump is raised");
                notices.push(notice);
            }
        }
    }
}

/// Why an eductor does not draw, and whether its nozzle fits.
pub(crate) fn eductor(eductor: &EductorAnswer, notices: &mut Vec<Notice>) {
    let place = format!("{}, {}", eductor.line, eductor.place);
    if eductor.flow.value > STILL && !eductor.draws {
        let (why, mend) = why_not(eductor);
        let mut notice = Notice::new(
            "eductor_does_not_draw",
            Weight::Limit,
            format!("the eductor draws no concentrate: its back-pressure is too high, {why}"),
        )
        .at(&place)
        .with("outlet", figure::pressure(eductor.outlet))
        .with("at most", figure::pressure(eductor.highest_outlet))
        .with("inlet", figure::pressure(eductor.inlet))
        .with("hose past it", figure::length(eductor.hose_past));
        if let Some(longest) = eductor.longest_past {
            notice = notice.with("longest past it", figure::length(longest));
        }
        notices.push(notice.mend(mend));
    }
    let share = (eductor.outlet / eductor.highest_outlet).value;
    if eductor.draws && share > 0.95 {
        let notice = Notice::new(
            "eductor_near_its_end",
            Weight::Caution,
            "the eductor is near the end of its range: a little more back-pressure and it draws no concentrate",
        )
        .at(&place)
        .with("outlet", figure::pressure(eductor.outlet))
        .with("at most", figure::pressure(eductor.highest_outlet))
        .mend("take out hose past it, use larger hose there, or keep the nozzle lower and wide open");
        notices.push(notice);
    }
    if let Some(set) = eductor.set {
        rich(set, &place, notices);
    }
    if !eductor.nozzle_matches() {
        let notice = Notice::new(
            "nozzle_does_not_match",
            Weight::Caution,
            "the nozzle past the eductor does not pass what the eductor is rated for",
        )
        .at(&place)
        .with("nozzle", figure::flow(eductor.nozzle))
        .with("eductor", figure::flow(eductor.rated))
        .mend("use a nozzle and an eductor of the same rated flow");
        notices.push(notice);
    }
    let far = (eductor.inlet / eductor.rated_inlet).value;
    if eductor.draws && !(0.9..=1.1).contains(&far) {
        let lean = far > 1.0;
        let notice = Notice::new(
            "eductor_off_rating",
            Weight::Caution,
            match lean {
                true => "the eductor's inlet is above its rating: the foam runs lean",
                false => "the eductor's inlet is below its rating: the foam runs rich",
            },
        )
        .at(&place)
        .with("inlet", figure::pressure(eductor.inlet))
        .with("rated inlet", figure::pressure(eductor.rated_inlet))
        .mend("set the pump so that the eductor has its rated inlet pressure");
        notices.push(notice);
    }
}

/// Highest share of concentrate that most are made for: common practice, no source.
const RICHEST: f64 = 0.06;

/// Set above what most concentrates are made for.
fn rich(set: Ratio, place: &str, notices: &mut Vec<Notice>) {
    if set.value > RICHEST * 1.0001 {
        let notice = Notice::new(
            "ratio_above_usual",
            Weight::Caution,
            "more concentrate is set than usual: most concentrates are made for 0.1 to 6 % (common practice, no source)",
        )
        .at(place)
        .with("set to", figure::ratio(set))
        .mend("check the figure, and the ratio on the concentrate's label");
        notices.push(notice);
    }
}

/// The likeliest reason for too much back-pressure.
fn why_not(eductor: &EductorAnswer) -> (&'static str, &'static str) {
    let too_long = eductor.longest_past.is_none_or(|l| eductor.hose_past > l);
    let small = eductor.nozzle < eductor.rated * 0.95;
    if small {
        return (
            "for the nozzle is too small",
            "use a nozzle of the eductor's rated flow, wide open",
        );
    }
    if eductor.rise.value > 6.0 && eductor.longest_past.is_none_or(|l| l < eductor.hose_past) {
        return (
            "for the nozzle is held too high",
            "set the eductor nearer to the nozzle's height, or use a nozzle of lower pressure",
        );
    }
    if too_long {
        return (
            "for too much hose lies past it",
            "take out hose past the eductor, use larger hose there, or a nozzle of lower pressure",
        );
    }
    (
        "for the nozzle is gated, or the inlet is low",
        "open the nozzle fully, and give the eductor its rated inlet pressure",
    )
}

/// Foam lines without what makes foam, and too lean for the spill.
fn foam_lines(answer: &SceneAnswer, notices: &mut Vec<Notice>) {
    let wanted = answer.spill.as_ref().map(|spill| spill.need.ratio);
    for line in &answer.foam {
        if let (Some(set), "proportioner") = (line.asked, line.by) {
            rich(set, &line.line, notices);
        }
        if line.by == "proportioner" && line.most.is_none() {
            let notice = Notice::new(
                "no_proportioner",
                Weight::Limit,
                "the rig has no proportioner in the book: this line has water only",
            )
            .at(&line.line);
            notices
                .push(notice.mend("write proportioner = \"5 gpm\" for the rig, or use an eductor"));
        } else if let Some(wanted) = wanted
            && line.ratio.value > 0.0
            && line.ratio < wanted * 0.95
        {
            let notice = Notice::new(
                "foam_too_lean",
                Weight::Limit,
                "this line's foam is leaner than the spill takes: it does not count as cover",
            )
            .at(&line.line)
            .with("makes", figure::ratio(line.ratio))
            .with("the spill takes", figure::ratio(wanted));
            notices.push(
                notice.mend("set eductor or proportioner to the ratio of concentrate and fuel"),
            );
        }
    }
    for eductor in answer.eductors.iter().filter(|e| e.set.is_none()) {
        let notice = Notice::new(
            "eductor_ratio_not_written",
            Weight::Caution,
            "nothing says at which ratio this eductor is set, so its foam is not reckoned",
        )
        .at(format!("{}, {}", eductor.line, eductor.place));
        notices.push(notice.mend("write it beside the eductor, as ratio = \"3 %\""));
    }
}

fn spill(answer: &SceneAnswer, notices: &mut Vec<Notice>) {
    if answer.spill.is_none() && answer.foam.is_empty() {
        return;
    }
    notices.push(
        Notice::new(
            "foam_cautions",
            Weight::Remark,
            "foam: the maker's rate and ratio for concentrate and fuel go before those here; training and discharge of some concentrates are forbidden by law",
        )
        .mend("wear what the concentrate's safety sheet asks for, keep the runoff out of water, and flush with clean water for a minute or more afterwards"),
    );
}

fn fire(answer: &SceneAnswer, notices: &mut Vec<Notice>) {
    let Some(fire) = &answer.fire else { return };
    for need in fire.needs.iter().filter(|n| n.estimate.valid && !n.given) {
        let mut notice = Notice::new(
            "below_flow_needed",
            Weight::Caution,
            format!(
                "the tips together give less than is asked for by {}",
                need.estimate.name
            ),
        )
        .at("fire")
        .with("needed", figure::flow(need.flow))
        .with("given", figure::flow(fire.given));
        if let Some(mains) = fire.mains {
            notice = notice.with("mains at the least residual", figure::flow(mains));
        }
        notices.push(notice.mend("plan more lines, master streams, or other water; the forms are for planning and differ by a factor of two or more"));
    }
    for need in fire.needs.iter().filter(|n| !n.estimate.valid) {
        let notice = Notice::new(
            "form_out_of_range",
            Weight::Remark,
            format!(
                "the planning form {} is outside its range here: {}",
                need.estimate.name, need.estimate.why
            ),
        )
        .at("fire")
        .with("it says", figure::flow(need.flow));
        notices.push(notice.mend("do not plan by it"));
    }
}

/// Pressure below the air's anywhere but in a suction.
fn suction(solved: &Solved<'_>, notices: &mut Vec<Notice>) {
    let layout = &solved.laid.layout;
    let intakes: Vec<_> = solved.laid.rigs.iter().map(|rig| rig.intake).collect();
    for laid in &layout.parts {
        let to = layout.lay.ends(laid.part).1;
        let low = solved
            .steady
            .pressure(to)
            .is_some_and(|p| p.value < -1000.0);
        if low && layout.lay.role(to) == lay::Role::Junction && !intakes.contains(&to) {
            let notice = Notice::new(
                "below_air_pressure",
                Weight::Limit,
                "pressure here is below that of the air: soft hose collapses, and the figures beyond do not hold",
            )
            .at(format!("{}, {}", laid.line, laid.path))
            .with("pressure", figure::pressure(solved.pressure(to)))
            .mend("flow less, or raise the pressure that feeds it");
            notices.push(notice);
        }
    }
}

fn coefficients(answer: &SceneAnswer) -> Notice {
    let mut low = VolumeRate::of_si(0.0);
    let mut high = low;
    for (least, most) in answer.spread.iter().flatten() {
        low += *least;
        high += *most;
    }
    Notice::new(
        "book_coefficient",
        Weight::Remark,
        "hose coefficients are from a book where no test is stated; over the published spread, pumps and outlets as they are, the tips together give",
    )
    .with("least", figure::flow(low))
    .with("most", figure::flow(high))
    .mend("measure the hose on a flow-test day")
}
