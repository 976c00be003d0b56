//! What must be said about where the water comes from.

use super::STILL;
use crate::demand::least_residual;
use crate::figure;
use crate::notice::{Notice, Weight};
use crate::scene::water::draft_margin;
use crate::scene::{SceneAnswer, Solved, SourceAnswer};
use book::{LaidSource, SourceKind, Stated};
use hydraulics::hydrant::FlowTest;
use hydraulics::units::psi;

pub(super) fn of(solved: &Solved<'_>, answer: &SceneAnswer, notices: &mut Vec<Notice>) {
    for (source, laid) in answer.sources.iter().zip(&solved.laid.sources) {
        notices.extend(into_main(source));
        if let SourceKind::Hydrant(test) = laid.kind {
            notices.extend(weak_test(source, &test));
            notices.extend(no_more_lines(source));
            notices.extend(shut_out(answer, source));
        }
        if laid.kind == SourceKind::Draft {
            notices.extend(too_high(solved, source, laid));
        }
        notices.extend(runs_out(solved, source));
    }
}

fn into_main(source: &SourceAnswer) -> Option<Notice> {
    (source.flow.value < -STILL).then(|| {
        Notice::new(
            "flow_into_main",
            Weight::Limit,
            "water runs back into the main",
        )
        .at(&source.name)
        .with("flow", figure::flow(-source.flow))
        .mend("close this hydrant, or put a check valve in its supply line")
    })
}

fn weak_test(source: &SourceAnswer, test: &FlowTest) -> Option<Notice> {
    (test.share_dropped() < 0.1).then(|| {
        Notice::new(
            "weak_test",
            Weight::Caution,
            "the flow test dropped the pressure by less than a tenth: what it says of larger flows is a guess",
        )
        .at(&source.name)
        .with("static", figure::pressure(test.still()))
        .with("residual", figure::pressure(test.residual()))
        .mend("test again with more outlets open")
    })
}

fn no_more_lines(source: &SourceAnswer) -> Option<Notice> {
    let main = source.main.as_ref()?;
    let least = least_residual();
    (main.next_residual < least && main.residual >= least).then(|| {
        Notice::new(
            "no_more_lines",
            Weight::Caution,
            "one more line like the largest would draw the main below the least residual",
        )
        .at(&source.name)
        .with("residual now", figure::pressure(main.residual))
        .with("with one more", figure::pressure(main.next_residual))
        .with("its flow", figure::flow(main.next_flow))
        .mend("supply the next line from another main")
    })
}

fn shut_out(answer: &SceneAnswer, source: &SourceAnswer) -> Option<Notice> {
    let rig = answer.rigs.iter().find(|rig| rig.name == source.rig)?;
    (rig.flow.value > STILL && source.flow.value.abs() < STILL).then(|| {
        Notice::new(
            "hydrant_gives_nothing",
            Weight::Caution,
            "this hydrant gives nothing: a stronger supply to the same rig shuts it out",
        )
        .at(&source.name)
        .with("intake", figure::pressure(rig.intake))
        .mend("do not count on it; boost it, or gate the stronger supply")
    })
}

fn too_high(solved: &Solved<'_>, source: &SourceAnswer, laid: &LaidSource) -> Option<Notice> {
    if let Some(draft) = &source.draft
        && source.flow.value < STILL
    {
        let rig = solved.laid.rigs.iter().find(|rig| rig.name == source.rig)?;
        let notice = Notice::new(
            "draft_too_high",
            Weight::Limit,
            "the lift is more than the pump can hold against the air: it cannot be primed",
        )
        .at(&source.rig)
        .with("lift", figure::length(draft.lift))
        .with("least intake", figure::pressure(rig.starves_at).fine());
        return Some(notice.mend("stand lower; figures beyond this pump mean nothing"));
    }
    let margin = draft_margin(solved, laid).filter(|margin| *margin < psi(1.0))?;
    let notice = Notice::new(
        "draft_too_high",
        Weight::Limit,
        "the lift and the suction leave no pressure above that of water vapour: the column breaks",
    )
    .at(&source.rig)
    .with("pressure above vapour", figure::pressure(margin));
    Some(notice.mend("stand lower, use larger suction hose, or flow less"))
}

fn runs_out(solved: &Solved<'_>, source: &SourceAnswer) -> Option<Notice> {
    let stored = source.stored.as_ref()?;
    let dry = stored.tankers.as_ref().and_then(|t| t.dry_at);
    let lasts = dry.or(stored.lasts_refilled)?;
    let wanted = solved.scene.duration.as_ref().map(Stated::get)?;
    (lasts < wanted).then(|| {
        Notice::new(
            "water_runs_out",
            Weight::Limit,
            "the stored water runs out before the scene is over",
        )
        .at(&source.name)
        .with("dry after", figure::time(lasts))
        .with("wanted", figure::time(wanted))
        .mend("get a lasting supply before it is gone, or flow less")
    })
}
