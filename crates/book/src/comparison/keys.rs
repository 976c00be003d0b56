//! Every key of a comparison: its name, what it takes, in which range, and what it
//! means. Reader and schema both come from this one list.

use crate::keys::{
    FLOW, FORCE, HOSE_LENGTH, Key, LOSS, NOTE, PRESSURE, REACH, RISE, Range, SHARE, Shape, key,
    needed, plain, range, whole,
};
use hydraulics::units::Kind;

// With room to spare; common practice, no source.
const STEP: Range = range(Kind::Pressure, 689.475_7, 4_136_855.0);
const OPEN: Range = range(Kind::Share, 0.01, 1.0);
const LENGTH_OFF: Range = range(Kind::Share, 0.0, 0.5);
const WEIGHT: Range = range(Kind::Mass, 0.1, 10_000.0);
const PEOPLE: Range = whole(1.0, 3.0);
const KINDS: Range = whole(2.0, 100.0);
const PRICE: Range = plain(0.0, 1e9);
const COUNTS: Range = plain(0.0, 100.0);
/// Days that may be drawn at most.
pub(super) const DRAWS: Range = whole(0.0, 1e7);
pub(super) const SEED: Range = whole(0.0, 1e9);

pub(super) static FILE: &[Key] = &[
    needed(
        "comparison",
        Shape::Table(ABOUT),
        "What is asked, and of which lines.",
    ),
    key(
        "vary",
        Shape::Table(VARY),
        "What may be chosen; what is left out stays as the book has it.",
    ),
    key(
        "cases",
        Shape::Table(CASES),
        "What every choice must cope with; it is judged by the worst.",
    ),
    key("limits", Shape::Table(LIMITS), "What no choice may pass."),
    key(
        "aims",
        Shape::Table(AIMS),
        "What is wanted, each with its weight.",
    ),
    key(
        "doubt",
        Shape::Table(DOUBT),
        "What is doubtful, and how many days are drawn.",
    ),
];

pub(super) static ABOUT: &[Key] = &[
    key("title", Shape::Text, "What it is about."),
    key("note", Shape::Text, NOTE),
    key(
        "units",
        Shape::Word(&["us", "si"]),
        "The units of bare numbers and of the answer; the book's when not written.",
    ),
    needed(
        "lines",
        Shape::Several(&Shape::Name),
        "The lines that are equipped anew, by their names in the book.",
    ),
    key(
        "each_line",
        Shape::Flag,
        "true when each line may get a choice of its own; otherwise one choice serves all.",
    ),
];

pub(super) static VARY: &[Key] = &[
    key(
        "hose",
        Shape::Several(&Shape::Name),
        "Hose of the book or the catalogue, in place of each line's last hose before its tip.",
    ),
    key(
        "nozzle",
        Shape::Several(&Shape::Any(&[Shape::Name, Shape::Table(NOZZLE)])),
        "Nozzles, as \"twin, high\" for one of its settings, or \"twin\" for all of them.",
    ),
    key(
        "length",
        Shape::Several(&Shape::Quantity(&HOSE_LENGTH)),
        "Length of that last hose.",
    ),
    key(
        "pump_pressure",
        Shape::Any(&[
            Shape::Several(&Shape::Quantity(&PRESSURE)),
            Shape::Table(STEPS),
        ]),
        "Pressures at the pump outlet: a list, or { from = \"100 psi\", to = \"175 psi\", step = \"5 psi\" }.",
    ),
];

pub(super) static NOZZLE: &[Key] = &[
    needed(
        "nozzle",
        Shape::Name,
        "A nozzle of the book or the catalogue.",
    ),
    key("setting", Shape::Name, "One of its settings."),
];

pub(super) static STEPS: &[Key] = &[
    needed("from", Shape::Quantity(&PRESSURE), "The first."),
    needed("to", Shape::Quantity(&PRESSURE), "The last."),
    needed("step", Shape::Quantity(&STEP), "The step."),
];

/// The words for which friction coefficients may be true.
pub(super) const COEFFICIENTS: &[&str] = &[
    "best",
    "published",
    "published low",
    "published high",
    "measured",
];

pub(super) static CASES: &[Key] = &[
    key(
        "rise",
        Shape::Several(&Shape::Quantity(&RISE)),
        "Heights of the tip above what the book says.",
    ),
    key(
        "coefficient",
        Shape::Several(&Shape::Word(COEFFICIENTS)),
        "Which friction coefficients may be true.",
    ),
    key(
        "low_pump_pressure",
        Shape::Quantity(&PRESSURE),
        "The lowest pump pressure at which the lines must still be of use.",
    ),
    key(
        "gated",
        Shape::Quantity(&OPEN),
        "How far the shut-off is open when a line is gated.",
    ),
];

pub(super) static LIMITS: &[Key] = &[
    key(
        "people",
        Shape::Quantity(&PEOPLE),
        "People on the nozzle, 1 to 3: the reaction that they can hold by the book.",
    ),
    key("reaction", Shape::Quantity(&FORCE), "Greatest reaction."),
    key(
        "pump_pressure",
        Shape::Quantity(&PRESSURE),
        "Highest pump pressure.",
    ),
    key(
        "past_service_pressure",
        Shape::Flag,
        "true leaves in what pushes a hose past its service pressure.",
    ),
    key("flow", Shape::Quantity(&FLOW), "Least flow of every tip."),
    key(
        "tip_pressure",
        Shape::Quantity(&PRESSURE),
        "Least nozzle pressure of every tip.",
    ),
    key("reach", Shape::Quantity(&REACH), "Least effective reach."),
    key(
        "flow_at_low_pump",
        Shape::Quantity(&FLOW),
        "Least flow at the low pump pressure of the cases.",
    ),
    key(
        "tip_pressure_at_low_pump",
        Shape::Quantity(&PRESSURE),
        "Least nozzle pressure at the low pump pressure of the cases.",
    ),
    key(
        "weight",
        Shape::Quantity(&WEIGHT),
        "Heaviest line: its varied hose, dry, and the water in it.",
    ),
    key(
        "outlet_pressure",
        Shape::Quantity(&PRESSURE),
        "Highest pressure at the inlet of the line's hose, for lines off a standpipe.",
    ),
    key(
        "price",
        Shape::Quantity(&PRICE),
        "Dearest equipment of all the lines together, in the book's money.",
    ),
    key(
        "kinds",
        Shape::Quantity(&KINDS),
        "Most kinds of hose and nozzle together, over all the lines.",
    ),
];

const COUNT: Shape = Shape::Any(&[Shape::Quantity(&COUNTS), Shape::Table(WANTED)]);

pub(super) static AIMS: &[Key] = &[
    key(
        "flow",
        Shape::Any(&[Shape::Quantity(&COUNTS), Shape::Table(WANTED_FLOW)]),
        "Much flow, or a flow near a stated one: { weight = 3, near = \"160 gpm\" }.",
    ),
    key(
        "flow_at_low_pump",
        COUNT,
        "Much flow at the low pump pressure of the cases.",
    ),
    key("reach", COUNT, "Far effective reach."),
    key("reaction", COUNT, "Little reaction."),
    key("pump_pressure", COUNT, "Low pump pressure."),
    key(
        "steady_when_gated",
        COUNT,
        "Little change of nozzle pressure when a line is gated.",
    ),
    key(
        "one_pump_pressure",
        COUNT,
        "Lines that have their flow at pump pressures close together.",
    ),
    key("weight", COUNT, "Light lines, charged."),
    key("kinds", COUNT, "Few kinds of hose and nozzle."),
    key("price", COUNT, "A low price of what must be bought."),
];

pub(super) static WANTED: &[Key] = &[needed(
    "weight",
    Shape::Quantity(&COUNTS),
    "How much it counts, 0 to 100; at 0 it is shown and does not count.",
)];

pub(super) static WANTED_FLOW: &[Key] = &[
    needed(
        "weight",
        Shape::Quantity(&COUNTS),
        "How much it counts, 0 to 100; at 0 it is shown and does not count.",
    ),
    key(
        "near",
        Shape::Quantity(&FLOW),
        "The flow that is wanted; what is above it is as bad as what is below.",
    ),
];

pub(super) static DOUBT: &[Key] = &[
    key(
        "draws",
        Shape::Quantity(&DRAWS),
        "Days to draw; 10000 when not written, none at 0.",
    ),
    key(
        "seed",
        Shape::Quantity(&SEED),
        "Where the draws begin; 1 when not written.",
    ),
    key(
        "days",
        Shape::Quantity(&SHARE),
        "Share of the days on which a choice must hold; 95 % when not written.",
    ),
    key(
        "pump_gauge",
        Shape::Quantity(&LOSS),
        "The pump gauge may be off by so much either way (95 %).",
    ),
    key(
        "governor",
        Shape::Quantity(&LOSS),
        "The governor holds within so much either way (95 %).",
    ),
    key(
        "length",
        Shape::Quantity(&LENGTH_OFF),
        "Hose is longer or shorter by this share (95 %).",
    ),
    key(
        "rise",
        Shape::Pair(&Shape::Quantity(&RISE)),
        "The tip is higher by anything from the first to the second.",
    ),
    key(
        "gate",
        Shape::Pair(&Shape::Quantity(&OPEN)),
        "The shut-off is open anywhere from the first to the second.",
    ),
    key(
        "kink",
        Shape::Pair(&Shape::Quantity(&SHARE)),
        "The chance that the hose is kinked, and the share of its waterway that a kink closes at most.",
    ),
    key(
        "published",
        Shape::Flag,
        "true takes every coefficient from the published spread, even where it was measured.",
    ),
];
