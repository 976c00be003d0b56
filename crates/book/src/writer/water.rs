//! Hydrants, open water, shuttles and standpipes.

use super::{about, list, loss, maybe, pair, put, quoted, stated, table, value};
use crate::model::{
    DraftItem, HydrantItem, HydrantSupply, LossWritten, PitotReading, ShuttleItem, StandpipeItem,
    TestFlow,
};
use hydraulics::orifice::OutletShape;

pub(super) fn hydrant(out: &mut String, item: &HydrantItem) {
    match &item.supply {
        HydrantSupply::SameMain(other) => put(out, "same_main_as", &value(other)),
        HydrantSupply::Test {
            still,
            residual,
            flow,
        } => {
            put(out, "static", &stated(still));
            put(out, "residual", &stated(residual));
            match flow {
                TestFlow::Stated(flow) => put(out, "flow", &stated(flow)),
                TestFlow::Outlets(outlets) => {
                    let outlets = list(outlets.iter().map(pitot));
                    maybe(out, "outlets", outlets.as_ref(), String::clone);
                }
            }
        }
    }
    losses(out, &[("loss", &item.loss)]);
    maybe(out, "date", item.date.as_ref(), |d| quoted(d));
    about(out, &item.about);
}

fn pitot(reading: &PitotReading) -> String {
    let shape = reading.shape.and_then(|shape| match shape {
        OutletShape::Rounded => Some("rounded"),
        OutletShape::Square => Some("square"),
        OutletShape::Projecting => Some("projecting"),
        OutletShape::Stated(_) => None,
    });
    table([
        Some(("size", stated(&reading.size))),
        Some(("pitot", stated(&reading.pitot))),
        shape.map(|word| ("shape", quoted(word))),
        reading
            .coefficient
            .as_ref()
            .map(|c| ("coefficient", stated(c))),
        reading.count.as_ref().map(|c| ("count", stated(c))),
    ])
}

fn losses(out: &mut String, all: &[(&str, &Option<LossWritten>)]) {
    for (key, written) in all {
        maybe(out, key, written.as_ref(), loss);
    }
}

pub(super) fn draft(out: &mut String, item: &DraftItem) {
    put(out, "lift", &stated(&item.lift));
    maybe(out, "altitude", item.altitude.as_ref(), stated);
    losses(out, &[("loss", &item.loss)]);
    about(out, &item.about);
}

pub(super) fn shuttle(out: &mut String, item: &ShuttleItem) {
    put(out, "tankers", &stated(&item.tankers));
    put(out, "tank", &stated(&item.tank));
    maybe(out, "usable", item.usable.as_ref(), stated);
    put(out, "distance", &stated(&item.distance));
    put(out, "fill", &stated(&item.fill));
    put(out, "dump", &stated(&item.dump));
    maybe(out, "handling", item.handling.as_ref(), stated);
    put(out, "dump_tank", &stated(&item.dump_tank));
    maybe(out, "lift", item.lift.as_ref(), stated);
    losses(out, &[("loss", &item.loss)]);
    about(out, &item.about);
}

pub(super) fn standpipe(out: &mut String, item: &StandpipeItem) {
    put(out, "floors", &stated(&item.floors));
    put(out, "floor_height", &stated(&item.floor_height));
    put(out, "riser", &stated(&item.riser));
    maybe(out, "hazen_williams", item.hazen_williams.as_ref(), stated);
    losses(
        out,
        &[
            ("inlet_loss", &item.inlet_loss),
            ("outlet_loss", &item.outlet_loss),
        ],
    );
    let regulating = item.regulating.iter().map(|r| {
        table([
            Some(("floors", pair(&r.floors))),
            Some(("setting", stated(&r.setting))),
        ])
    });
    maybe(out, "regulating", list(regulating).as_ref(), String::clone);
    maybe(out, "required", item.required.as_ref(), stated);
    maybe(out, "rated_pressure", item.rated_pressure.as_ref(), stated);
    about(out, &item.about);
}
