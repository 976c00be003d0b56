//! Parts of a line in words.

use book::{Part, Stated};
use hydraulics::units::{Kind, Ratio, System, show};

/// Parts from the pump on: "200 ft of attack, twin (high)".
pub(crate) fn row(parts: &[Part], system: System) -> String {
    let all: Vec<String> = parts.iter().map(|part| brief(part, system)).collect();
    all.join(", ")
}

fn brief(part: &Part, system: System) -> String {
    let together = |rows: &[Vec<Part>]| {
        let rows: Vec<String> = rows.iter().map(|parts| row(parts, system)).collect();
        rows.join("; ")
    };
    match part {
        Part::Branches(rows) => format!("then {} branches ({})", rows.len(), together(rows)),
        Part::Legs(rows) => format!("{} side by side ({})", rows.len(), together(rows)),
        single => name(single, system),
    }
}

fn name(part: &Part, system: System) -> String {
    match part {
        Part::Hose(part) => {
            let length = show(Kind::Length, part.length.get(), system);
            format!("{length} of {}", part.hose)
        }
        Part::Nozzle(part) => match &part.setting {
            Some(setting) => format!("{} ({setting})", part.nozzle),
            None => part.nozzle.clone(),
        },
        Part::Appliance(part) => part.appliance.clone(),
        Part::Branches(rows) => format!("{} branches", rows.len()),
        Part::Legs(rows) => format!("{} legs", rows.len()),
    }
}

/// One part with all that is said of it: "twin (low), 20 ft up, gate 50 %".
pub(crate) fn whole(part: &Part, system: System) -> String {
    let share = |word: &str, stated: &Stated<Ratio>| {
        format!("{word} {}", show(Kind::Share, stated.get(), system))
    };
    let mut words = vec![name(part, system)];
    let rise = match part {
        Part::Hose(part) => part.rise.as_ref(),
        Part::Nozzle(part) => part.rise.as_ref(),
        Part::Appliance(part) => part.rise.as_ref(),
        Part::Branches(_) | Part::Legs(_) => None,
    };
    words.extend(rise.map(|rise| format!("{} up", show(Kind::Length, rise.get(), system))));
    match part {
        Part::Hose(part) => words.extend(part.kink.iter().map(|kink| share("kinked", kink))),
        Part::Nozzle(part) => {
            words.extend(part.gate.iter().map(|gate| share("gate", gate)));
            let blocked = part.screen_blocked.iter();
            words.extend(blocked.map(|blocked| share("screen blocked", blocked)));
        }
        Part::Appliance(part) => {
            words.extend(part.ratio.iter().map(|ratio| share("set to", ratio)));
            words.extend(part.gates.iter().map(|gate| share("gate", gate)));
        }
        Part::Branches(_) | Part::Legs(_) => {}
    }
    words.join(", ")
}
