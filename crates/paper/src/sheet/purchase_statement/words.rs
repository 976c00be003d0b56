//! The words of a statement that no book holds. Standards and tolerances are from memory,
//! and the sheet says so.

use book::{NozzleItem, NozzleKind, Shutoff};

/// What stands at every tolerance and standard.
pub(super) const MEMORY: &str = "From memory: check against the current edition of the standard before this goes out. The authority having jurisdiction decides.";

/// The nozzle in neutral words.
pub(super) fn title(item: &NozzleItem) -> &'static str {
    match item.kind {
        NozzleKind::SmoothBore { .. } => "Smooth-bore nozzle",
        NozzleKind::Fixed { .. } => "Spray nozzle of one flow",
        NozzleKind::Selectable { .. } => "Spray nozzle of selectable flow",
        NozzleKind::Automatic { .. } => "Automatic spray nozzle",
    }
}

/// Standards, each with what it is for.
pub(super) const STANDARDS: [[&str; 2]; 4] = [
    [
        "NFPA 1964, now consolidated with others as NFPA 1960",
        "spray nozzles: flow, pressure, leakage, rough handling, marking",
    ],
    [
        "NFPA 1963, now consolidated with others as NFPA 1960",
        "couplings and threads (NH, NPSH) and their gauging",
    ],
    [
        "EN 15182, parts 1 to 4",
        "hand-held branchpipes, where European standards hold: common requirements, combination branchpipes, smooth bore and fixed jet, high pressure",
    ],
    [
        "NFPA 1962",
        "tests in service after delivery; not a condition of acceptance",
    ],
];

/// Tests to pass on acceptance: what is tested, and what counts as passed.
pub(super) fn tests(item: &NozzleItem) -> Vec<[&'static str; 2]> {
    let automatic = matches!(item.kind, NozzleKind::Automatic { .. });
    let solid = matches!(item.kind, NozzleKind::SmoothBore { .. });
    let flow = match automatic {
        true => [
            "Nozzle pressure over the range, at the lowest, middle and highest flow of every setting; once opening, once closing",
            "every reading within the tolerance above",
        ],
        false => [
            "Flow at rated nozzle pressure, at every setting",
            "within the tolerance above; flow meter and gauge with current calibration",
        ],
    };
    let mut tests = vec![
        flow,
        [
            "Reach of the straight stream at rated pressure, still air, 30 degrees, tip at a stated height",
            "as the bidder stated, within 5 % (the buyer's own figure)",
        ],
    ];
    if !solid {
        tests.push([
            "Pattern from straight stream to widest spray at rated pressure",
            "even and without gaps, as the standard asks",
        ]);
    }
    if item.shutoff != Shutoff::None {
        tests.push([
            "Leakage with the shut-off closed, and burst of the body",
            "pressure, time and leakage as the standard asks",
        ]);
        tests.push([
            "Force to work the shut-off at the highest pressure",
            "as the standard asks; by a gloved hand",
        ]);
    }
    tests.push([
        "Rough handling: drops on the inlet and on the tip",
        "as the standard asks; works and keeps its flow afterwards",
    ]);
    tests.push([
        "Coupling on the department's own hose and by thread gauge",
        "screws on by hand, no leak at the highest pressure",
    ]);
    tests
}

/// What a bidder must state.
pub(super) fn to_state(item: &NozzleItem) -> Vec<&'static str> {
    let mut rows = vec![
        "Make and model offered",
        "Standard and edition to which it is certified, and by whom",
        "Flow at the rated nozzle pressure, every setting, as measured",
    ];
    if matches!(item.kind, NozzleKind::Automatic { .. }) {
        rows.push("Nozzle pressure at the lowest and the highest flow, every setting");
        rows.push("Difference between opening and closing at the same flow");
    }
    rows.extend([
        "Reaction at the rated and at the highest flow, and by which formula or test",
        "Reach of the straight stream at rated pressure",
        "Highest pressure for which it is built",
        "Coupling, thread and material",
    ]);
    if item.shutoff != Shutoff::None {
        rows.push("Shut-off: kind, diameter of its waterway, force to work it");
    }
    rows.extend([
        "Length and weight",
        "Materials of body, seat and seals; seals to be had for how many years",
        "Every difference from this statement",
        "Time of delivery, price for each, price of a set of seals",
        "Warranty, and what ends it",
    ]);
    rows
}

/// What comes with the delivery.
pub(super) const DELIVERY: [&str; 5] = [
    "Each nozzle marked with flow, rated pressure, serial number and year, so that it can be read after years of use.",
    "A test report for each serial number: flow at pressure, leakage.",
    "Instructions for use, care and repair, and a list of parts with their numbers.",
    "One nozzle beforehand for trial with the department's own hose and crews, if the buyer asks for it.",
    "What fails acceptance is taken back and replaced at the bidder's cost.",
];
