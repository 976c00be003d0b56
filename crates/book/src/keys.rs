//! Every key of a book: its name, what it takes, in which range, and what it
//! means. The reader and the schema both come from this one list.

use hydraulics::units::{Kind, Measure, System, show};

/// The range of a quantity, in SI.
#[derive(Debug, PartialEq)]
pub(crate) struct Range {
    pub kind: Kind,
    pub low: f64,
    pub high: f64,
    /// A number without unit, not a share of a whole.
    pub plain: bool,
}

impl Range {
    /// The range as a person reads it.
    pub fn text(&self, system: System) -> String {
        let end = |si| match self.plain {
            true => format!("{si}"),
            false => show(self.kind, Si(si), system),
        };
        format!("{} to {}", end(self.low), end(self.high))
    }
}

/// A bare SI value on its way to [`show`].
#[derive(Clone, Copy)]
pub(crate) struct Si(pub f64);

impl Measure for Si {
    fn of_si(value: f64) -> Self {
        Si(value)
    }

    fn si(self) -> f64 {
        self.0
    }
}

/// What a key takes.
#[derive(Debug)]
pub(crate) enum Shape {
    /// Any text.
    Text,
    /// The name of a piece of equipment, a rig or a setting.
    Name,
    /// true or false.
    Flag,
    /// A year, month and day.
    Date,
    /// One of these words.
    Word(&'static [&'static str]),
    /// A number and its unit.
    Quantity(&'static Range),
    /// A friction coefficient C.
    Coefficient,
    /// "16 lb per 50 ft".
    Weight,
    /// "2.5 in NH".
    Coupling,
    /// A low and a high one.
    Pair(&'static Shape),
    /// One or several.
    Several(&'static Shape),
    /// Several listed, or each with a name.
    Listed(&'static Shape),
    /// A table with these keys.
    Table(&'static [Key]),
    /// Named tables with these keys.
    Named(&'static [Key]),
    /// Parts one after the other.
    Parts,
    /// Several rows of parts.
    Rows,
}

/// One key.
#[derive(Debug)]
pub(crate) struct Key {
    pub name: &'static str,
    pub shape: Shape,
    pub needed: bool,
    pub help: &'static str,
}

const fn key(name: &'static str, shape: Shape, help: &'static str) -> Key {
    Key {
        name,
        shape,
        needed: false,
        help,
    }
}

const fn needed(name: &'static str, shape: Shape, help: &'static str) -> Key {
    Key {
        name,
        shape,
        needed: true,
        help,
    }
}

const fn range(kind: Kind, low: f64, high: f64) -> Range {
    Range {
        kind,
        low,
        high,
        plain: false,
    }
}

const fn plain(low: f64, high: f64) -> Range {
    Range {
        kind: Kind::Share,
        low,
        high,
        plain: true,
    }
}

// What can be met with on a fireground, with room to spare; common practice, no
// source. A value outside is a slip of the pen.
const HOSE_LENGTH: Range = range(Kind::Length, 0.304_8, 3_048.0);
const RISE: Range = range(Kind::Length, -304.8, 304.8);
const REACH: Range = range(Kind::Length, 0.304_8, 152.4);
const SIZE: Range = range(Kind::Size, 0.003_175, 0.304_8);
const ROUGHNESS: Range = range(Kind::Size, 0.0, 0.005_08);
const PRESSURE: Range = range(Kind::Pressure, 6_894.757, 4_136_855.0);
const LOSS: Range = range(Kind::Pressure, 0.0, 1_034_214.0);
const FLOW: Range = range(Kind::Flow, 6.309_019e-5, 0.504_722);
const FROM_FLOW: Range = range(Kind::Flow, 0.0, 0.504_722);
const FORCE: Range = range(Kind::Force, 4.448_221, 8_896.444);
const VOLUME: Range = range(Kind::Volume, 0.003_785, 113.562_4);
const TEMPERATURE: Range = range(Kind::Temperature, 273.149_9, 333.150_1);
const SHARE: Range = range(Kind::Share, 0.0, 1.0);
const DISCHARGE: Range = plain(0.3, 1.05);
const HAZEN_WILLIAMS: Range = plain(50.0, 200.0);

const SOURCE: &str = "Where the values come from.";
const NOTE: &str = "Anything worth knowing.";
const INVENTED: &str = "true when the values are made up, for a demonstration.";

pub(crate) static BOOK: &[Key] = &[
    needed("name", Shape::Text, "The department's name."),
    key(
        "units",
        Shape::Word(&["us", "si"]),
        "The units of bare numbers and bare friction coefficients: \"us\" (psi, gpm, ft, in; C in psi, gpm, ft) or \"si\" (bar, L/min, m, mm; C in kPa, L/min, m). \"us\" when not written.",
    ),
    key(
        "water",
        Shape::Quantity(&TEMPERATURE),
        "Water temperature; 60 F when not written.",
    ),
    key(
        "crew",
        Shape::Table(CREW),
        "The reaction that one, two and three people can hold; 60, 75 and 95 lbf when not written.",
    ),
    key(
        "pump_ceiling",
        Shape::Quantity(&PRESSURE),
        "The highest pump pressure that the department allows.",
    ),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static CREW: &[Key] = &[
    needed(
        "one",
        Shape::Quantity(&FORCE),
        "Reaction that one person can hold.",
    ),
    needed(
        "two",
        Shape::Quantity(&FORCE),
        "Reaction that two people can hold.",
    ),
    needed(
        "three",
        Shape::Quantity(&FORCE),
        "Reaction that three people can hold.",
    ),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static HOSE: &[Key] = &[
    needed("size", Shape::Quantity(&SIZE), "Nominal size."),
    key(
        "coefficient",
        Shape::Coefficient,
        "Published friction coefficient C: FL = C (Q/100)^2 (L/100). A bare number is in the book's units; \"15.5 us\" or \"24.6 metric\" says which.",
    ),
    key(
        "spread",
        Shape::Pair(&Shape::Coefficient),
        "Lowest and highest C published for hose of this size.",
    ),
    key(
        "measured",
        Shape::Table(MEASURED),
        "A coefficient that the department measured; it stands beside the published one and is used.",
    ),
    key(
        "bore",
        Shape::Quantity(&SIZE),
        "Bore under pressure; with roughness or hazen_williams, in place of a coefficient.",
    ),
    key(
        "roughness",
        Shape::Quantity(&ROUGHNESS),
        "Roughness of the lining; with bore.",
    ),
    key(
        "hazen_williams",
        Shape::Quantity(&HAZEN_WILLIAMS),
        "Hazen-Williams coefficient, without unit; with bore.",
    ),
    key(
        "coupling",
        Shape::Coupling,
        "Coupling of both ends: size and thread (NH, NPSH, BSP, symmetrical), as \"2.5 in NH\".",
    ),
    key(
        "inlet",
        Shape::Coupling,
        "Coupling of the inlet, when the ends differ.",
    ),
    key(
        "outlet",
        Shape::Coupling,
        "Coupling of the outlet, when the ends differ.",
    ),
    key(
        "service_pressure",
        Shape::Quantity(&PRESSURE),
        "The highest pressure at which the hose is used.",
    ),
    key(
        "weight",
        Shape::Weight,
        "Weight of the dry hose, as \"16 lb per 50 ft\".",
    ),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static MEASURED: &[Key] = &[
    needed("coefficient", Shape::Coefficient, "The measured C."),
    key("date", Shape::Date, "Day of the test, as 2026-05-11."),
    key(
        "uncertainty",
        Shape::Coefficient,
        "How far the true C may lie to either side.",
    ),
    key("source", Shape::Text, "Who measured, and how."),
];

pub(crate) static NOZZLE: &[Key] = &[
    needed(
        "kind",
        Shape::Word(&["smooth-bore", "fixed", "selectable", "automatic"]),
        "smooth-bore: a solid-stream tip. fixed: one orifice. selectable: a ring with several flows. automatic: a spring and a baffle that hold the pressure.",
    ),
    key(
        "bore",
        Shape::Quantity(&SIZE),
        "Diameter of a smooth-bore tip.",
    ),
    key(
        "coefficient",
        Shape::Quantity(&DISCHARGE),
        "Discharge coefficient of a smooth-bore tip; the trade's 0.995 when not written.",
    ),
    key(
        "flow",
        Shape::Quantity(&FLOW),
        "Rated flow of a fixed nozzle.",
    ),
    key(
        "flows",
        Shape::Listed(&Shape::Quantity(&FLOW)),
        "Rated flows of a selectable nozzle: a list, or each with the name of its setting.",
    ),
    key(
        "pressure",
        Shape::Quantity(&PRESSURE),
        "Nozzle pressure at the rated flow of a fixed or selectable nozzle.",
    ),
    key(
        "setting",
        Shape::Named(SETTING),
        "The pressure settings of an automatic nozzle, each with its range.",
    ),
    key(
        "band",
        Shape::Quantity(&LOSS),
        "Pressure between opening and closing of an automatic nozzle at the same flow, from friction in its regulator.",
    ),
    key(
        "flush",
        Shape::Flag,
        "true when an automatic nozzle can be turned to flush.",
    ),
    key(
        "shutoff",
        Shape::Word(&["slide", "ball", "none"]),
        "The shut-off; none when not written.",
    ),
    key(
        "waterway",
        Shape::Quantity(&SIZE),
        "Diameter of the waterway through the shut-off.",
    ),
    key(
        "coupling",
        Shape::Coupling,
        "Coupling: size and thread (NH, NPSH, BSP, symmetrical), as \"1.5 in NH\".",
    ),
    key(
        "breaks_at",
        Shape::Coupling,
        "Thread on which the tip unscrews from its shut-off, so that hose can be added between the two.",
    ),
    key("foam", Shape::Flag, "true when the nozzle is fit for foam."),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static SETTING: &[Key] = &[
    needed(
        "flow",
        Shape::Pair(&Shape::Quantity(&FLOW)),
        "Lowest and highest flow of the range.",
    ),
    needed(
        "pressure",
        Shape::Pair(&Shape::Quantity(&PRESSURE)),
        "Nozzle pressure at the lowest and at the highest flow.",
    ),
];

pub(crate) static APPLIANCE: &[Key] = &[
    needed(
        "kind",
        Shape::Word(&[
            "wye",
            "siamese",
            "monitor",
            "standpipe",
            "gated-valve",
            "adapter",
            "check-valve",
            "other",
        ]),
        "What it is.",
    ),
    key(
        "loss",
        Shape::Table(LOSS_AT),
        "Loss in proportion to the square of flow: so much at a flow.",
    ),
    key(
        "allowance",
        Shape::Quantity(&LOSS),
        "The trade's flat allowance.",
    ),
    key(
        "from_flow",
        Shape::Quantity(&FROM_FLOW),
        "The flow from which the allowance counts; at any flow when not written.",
    ),
    key(
        "gates",
        Shape::Word(&["ball", "slide"]),
        "The kind of its gates: on each outlet of one that divides, on its waterway otherwise.",
    ),
    key(
        "clappers",
        Shape::Flag,
        "true when each inlet lets water in only.",
    ),
    key(
        "waterway",
        Shape::Quantity(&SIZE),
        "Diameter of a gate's waterway; that of its coupling when not written.",
    ),
    key(
        "inlets",
        Shape::Several(&Shape::Coupling),
        "Coupling of each inlet, as \"2.5 in NH\" or a list.",
    ),
    key(
        "outlets",
        Shape::Several(&Shape::Coupling),
        "Coupling of each outlet, as \"1.5 in NH\" or a list.",
    ),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static LOSS_AT: &[Key] = &[
    needed("pressure", Shape::Quantity(&LOSS), "Loss at the flow."),
    needed("flow", Shape::Quantity(&FLOW), "The flow."),
];

pub(crate) static RIG: &[Key] = &[
    key("pump", Shape::Quantity(&FLOW), "Rated pump flow."),
    key("tank", Shape::Quantity(&VOLUME), "Tank content."),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static LINE: &[Key] = &[
    key("title", Shape::Text, "What crews call it."),
    key("rig", Shape::Name, "The rig it comes off."),
    key(
        "pump_pressure",
        Shape::Quantity(&PRESSURE),
        "The pump pressure that the department uses for it.",
    ),
    needed(
        "parts",
        Shape::Parts,
        "Its parts, from the pump outlet to the tip.",
    ),
    key(
        "aim",
        Shape::Table(AIM),
        "What each of its tips is meant to deliver, unless the tip says its own.",
    ),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static AIM: &[Key] = &[
    key("flow", Shape::Quantity(&FLOW), "Flow at the tip."),
    key(
        "tip_pressure",
        Shape::Quantity(&PRESSURE),
        "Nozzle pressure.",
    ),
    key("reach", Shape::Quantity(&REACH), "Effective reach."),
    key(
        "reaction_at_most",
        Shape::Quantity(&FORCE),
        "The greatest reaction that the crew should have to hold.",
    ),
];

pub(crate) static HOSE_PART: &[Key] = &[
    needed(
        "hose",
        Shape::Name,
        "A hose of the book or of the catalogue.",
    ),
    needed(
        "length",
        Shape::Quantity(&HOSE_LENGTH),
        "How long the run is.",
    ),
    key(
        "rise",
        Shape::Quantity(&RISE),
        "How much higher its outlet lies than its inlet; below zero when lower.",
    ),
    key(
        "kink",
        Shape::Quantity(&SHARE),
        "Share of the waterway that a kink closes.",
    ),
];

pub(crate) static NOZZLE_PART: &[Key] = &[
    needed(
        "nozzle",
        Shape::Name,
        "A nozzle of the book or of the catalogue. In the middle of a line: its shut-off, left behind when the tip was unscrewed to add hose.",
    ),
    key("setting", Shape::Name, "One of the nozzle's settings."),
    key(
        "gate",
        Shape::Quantity(&SHARE),
        "How far the shut-off is open.",
    ),
    key(
        "rise",
        Shape::Quantity(&RISE),
        "How much higher it is held than the part before it; below zero when lower.",
    ),
    key(
        "flush",
        Shape::Flag,
        "true when an automatic nozzle is turned to flush.",
    ),
    key(
        "jammed",
        Shape::Quantity(&SHARE),
        "An automatic nozzle whose baffle is stuck at this share of its travel.",
    ),
    key(
        "screen_blocked",
        Shape::Quantity(&SHARE),
        "Share of the nozzle's screen that is blocked.",
    ),
    key(
        "tip_only",
        Shape::Flag,
        "true for the tip alone, its shut-off left behind.",
    ),
    key(
        "aim",
        Shape::Table(AIM),
        "What this tip is meant to deliver.",
    ),
];

pub(crate) static APPLIANCE_PART: &[Key] = &[
    needed(
        "appliance",
        Shape::Name,
        "An appliance of the book or of the catalogue.",
    ),
    key(
        "gate",
        Shape::Several(&Shape::Quantity(&SHARE)),
        "How far its gates are open: one for all, or a list of its outlets in order.",
    ),
    key(
        "rise",
        Shape::Quantity(&RISE),
        "How much higher its outlet lies than its inlet; below zero when lower.",
    ),
];

pub(crate) static BRANCHES_PART: &[Key] = &[needed(
    "branches",
    Shape::Rows,
    "Rows of parts that each end in a tip of their own.",
)];

pub(crate) static LEGS_PART: &[Key] = &[needed(
    "legs",
    Shape::Rows,
    "Rows of parts that come together again.",
)];

/// The kinds of part, by the key that tells them.
pub(crate) static PARTS: [&[Key]; 5] = [
    HOSE_PART,
    NOZZLE_PART,
    APPLIANCE_PART,
    BRANCHES_PART,
    LEGS_PART,
];

pub(crate) static FILE: &[Key] = &[
    needed("book", Shape::Table(BOOK), "The department."),
    key("hose", Shape::Named(HOSE), "Hose, by name."),
    key("nozzle", Shape::Named(NOZZLE), "Nozzles, by name."),
    key("appliance", Shape::Named(APPLIANCE), "Appliances, by name."),
    key("rig", Shape::Named(RIG), "Rigs, by name."),
    key("line", Shape::Named(LINE), "Lines, by name."),
];

/// The shape of the key called `name` in `keys`.
pub(crate) fn shape(keys: &'static [Key], name: &str) -> Option<&'static Shape> {
    keys.iter().find(|k| k.name == name).map(|k| &k.shape)
}
