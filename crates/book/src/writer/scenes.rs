//! Scenes.

use super::{about, flag, key, list, maybe, put, quoted, row, stated, table, value};
use crate::model::{
    FireWritten, Intake, IntakeFrom, Scene, SceneLine, SceneRig, SceneStandpipe, SpillWritten,
};
use hydraulics::fire_flow::{Construction, ConstructionType};
use hydraulics::foam_supply::Fuel;
use std::fmt::Write;

pub(super) fn scene(out: &mut String, name: &str, scene: &Scene) {
    maybe(out, "title", scene.title.as_ref(), |s| quoted(s));
    maybe(out, "duration", scene.duration.as_ref(), stated);
    flag(out, "open_outlets", scene.open_outlets);
    maybe(out, "spill", scene.spill.as_ref(), spill);
    maybe(out, "fire", scene.fire.as_ref(), fire);
    about(out, &scene.about);
    for (rig_name, item) in &scene.rig {
        // Writing to a String does not fail.
        let _ = writeln!(out, "\n[scene.{}.rig.{}]", key(name), key(rig_name));
        rig(out, item);
    }
}

fn rig(out: &mut String, rig: &SceneRig) {
    let intake = list(rig.intake.iter().map(intake)).unwrap_or_else(|| "[]".into());
    put(out, "intake", &intake);
    maybe(out, "pump_pressure", rig.pump_pressure.as_ref(), stated);
    maybe(out, "speed", rig.speed.as_ref(), stated);
    maybe(out, "height", rig.height.as_ref(), stated);
    let lines = list(rig.lines.iter().map(line));
    maybe(out, "lines", lines.as_ref(), String::clone);
    let pipes = list(rig.standpipe.iter().map(standpipe));
    maybe(out, "standpipes", pipes.as_ref(), String::clone);
    about(out, &rig.about);
}

fn intake(intake: &Intake) -> String {
    let from = match &intake.from {
        IntakeFrom::Hydrant(name) => ("hydrant", value(name)),
        IntakeFrom::Rig(name) => ("rig", value(name)),
        IntakeFrom::Draft(name) => ("draft", value(name)),
        IntakeFrom::Shuttle(name) => ("shuttle", value(name)),
        IntakeFrom::Tank => ("tank", "true".into()),
    };
    let laid = matches!(intake.from, IntakeFrom::Hydrant(_) | IntakeFrom::Rig(_));
    table([Some(from), laid.then(|| ("parts", row(&intake.parts, 1)))])
}

fn line(line: &SceneLine) -> String {
    table([
        Some(("line", value(&line.line))),
        line.standpipe.as_ref().map(|s| ("standpipe", value(s))),
        line.floor.as_ref().map(|f| ("floor", stated(f))),
        line.gate.as_ref().map(|g| ("gate", stated(g))),
        line.foam.as_ref().map(|f| ("foam", stated(f))),
    ])
}

fn standpipe(pipe: &SceneStandpipe) -> String {
    table([
        Some(("standpipe", value(&pipe.standpipe))),
        Some(("parts", row(&pipe.parts, 1))),
    ])
}

fn spill(spill: &SpillWritten) -> String {
    let fuel = match spill.fuel {
        Fuel::Hydrocarbon => "hydrocarbon",
        Fuel::Polar => "polar",
    };
    table([
        Some(("area", stated(&spill.area))),
        Some(("fuel", quoted(fuel))),
        spill.rate.as_ref().map(|r| ("rate", stated(r))),
        spill.duration.as_ref().map(|d| ("duration", stated(d))),
        Some(("ratio", stated(&spill.ratio))),
    ])
}

fn fire(fire: &FireWritten) -> String {
    let construction_type = fire.construction_type.map(|t| match t {
        ConstructionType::I => "I",
        ConstructionType::II => "II",
        ConstructionType::III => "III",
        ConstructionType::IV => "IV",
        ConstructionType::V => "V",
    });
    let construction = fire.construction.map(|c| match c {
        Construction::Frame => "frame",
        Construction::JoistedMasonry => "joisted-masonry",
        Construction::Noncombustible => "noncombustible",
        Construction::FireResistive => "fire-resistive",
    });
    table([
        Some(("length", stated(&fire.length))),
        Some(("width", stated(&fire.width))),
        Some(("height", stated(&fire.height))),
        fire.floors.as_ref().map(|v| ("floors", stated(v))),
        fire.involved.as_ref().map(|v| ("involved", stated(v))),
        fire.exposed_sides
            .as_ref()
            .map(|v| ("exposed_sides", stated(v))),
        fire.exposed_floors
            .as_ref()
            .map(|v| ("exposed_floors", stated(v))),
        fire.hazard.as_ref().map(|v| ("hazard", stated(v))),
        construction_type.map(|t| ("construction_type", quoted(t))),
        construction.map(|c| ("construction", quoted(c))),
        fire.occupancy.as_ref().map(|v| ("occupancy", stated(v))),
        fire.exposure.as_ref().map(|v| ("exposure", stated(v))),
    ])
}
