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
    /// A number of things, which has no fraction.
    pub whole: bool,
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

    /// Both ends for a sentence: "between 1 ft and 10,000 ft".
    pub fn between(&self, system: System) -> String {
        let end = |si| match self.plain {
            true => grouped(&format!("{si}")),
            false => grouped(&show(self.kind, Si(si), system)),
        };
        format!("between {} and {}", end(self.low), end(self.high))
    }

    /// How a value could be written.
    pub fn example(&self, system: System) -> String {
        if !self.plain {
            return format!("\"{}\"", self.kind.example(system));
        }
        match (self.low.max(1.0) * self.high).sqrt() {
            middle if middle < 3.0 => format!("{middle:.1}"),
            middle => format!("{middle:.0}"),
        }
    }
}

/// A figure with commas between thousands, and no zero alone after its point.
fn grouped(figure: &str) -> String {
    let end = figure.find(' ').unwrap_or(figure.len());
    let (number, unit) = figure.split_at(end);
    let (whole, part) = number.split_once('.').unwrap_or((number, ""));
    let sign = if whole.starts_with('-') { "-" } else { "" };
    let digits = whole.trim_start_matches('-');
    let mut said = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            said.push(',');
        }
        said.push(digit);
    }
    let point = match part.trim_end_matches('0') {
        "" => String::new(),
        _ => format!(".{part}"),
    };
    format!("{sign}{said}{point}{unit}")
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
    /// A number and its unit, of one of several kinds.
    Either(&'static [&'static Range]),
    /// A friction coefficient C.
    Coefficient,
    /// "16 lb per 50 ft".
    Weight,
    /// "320 per 50 ft".
    Price,
    /// A word for money, of a few letters.
    Money,
    /// "2.5 in NH".
    Coupling,
    /// A plain colour word, or "#rrggbb".
    Colour,
    /// A text of a few letters.
    Mark,
    /// A low and a high one.
    Pair(&'static Shape),
    /// One or several.
    Several(&'static Shape),
    /// Several listed, or each with a name.
    Listed(&'static Shape),
    /// A table with these keys.
    Table(&'static [Key]),
    /// A list of tables with these keys.
    Tables(&'static [Key]),
    /// Named tables with these keys.
    Named(&'static [Key]),
    /// One of these.
    Any(&'static [Shape]),
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

pub(crate) const fn key(name: &'static str, shape: Shape, help: &'static str) -> Key {
    Key {
        name,
        shape,
        needed: false,
        help,
    }
}

pub(crate) const fn needed(name: &'static str, shape: Shape, help: &'static str) -> Key {
    Key {
        name,
        shape,
        needed: true,
        help,
    }
}

pub(crate) const fn range(kind: Kind, low: f64, high: f64) -> Range {
    Range {
        kind,
        low,
        high,
        plain: false,
        whole: false,
    }
}

pub(crate) const fn plain(low: f64, high: f64) -> Range {
    Range {
        kind: Kind::Share,
        low,
        high,
        plain: true,
        whole: false,
    }
}

pub(crate) const fn whole(low: f64, high: f64) -> Range {
    Range {
        whole: true,
        ..plain(low, high)
    }
}

// What can be met with on a fireground, with room to spare; common practice, no
// source. A value outside is a slip of the pen.
pub(crate) const HOSE_LENGTH: Range = range(Kind::Length, 0.304_8, 3_048.0);
pub(crate) const RISE: Range = range(Kind::Length, -304.8, 304.8);
pub(crate) const REACH: Range = range(Kind::Length, 0.304_8, 152.4);
const SIZE: Range = range(Kind::Size, 0.003_175, 0.304_8);
const ROUGHNESS: Range = range(Kind::Size, 0.0, 0.005_08);
pub(crate) const PRESSURE: Range = range(Kind::Pressure, 6_894.757, 4_136_855.0);
pub(crate) const LOSS: Range = range(Kind::Pressure, 0.0, 1_034_214.0);
pub(crate) const FLOW: Range = range(Kind::Flow, 6.309_019e-5, 0.504_722);
const FROM_FLOW: Range = range(Kind::Flow, 0.0, 0.504_722);
pub(crate) const FORCE: Range = range(Kind::Force, 4.448_221, 8_896.444);
const VOLUME: Range = range(Kind::Volume, 0.003_785, 113.562_4);
const TEMPERATURE: Range = range(Kind::Temperature, 273.149_9, 333.150_1);
pub(crate) const SHARE: Range = range(Kind::Share, 0.0, 1.0);
const TIME: Range = range(Kind::Time, 0.0, 86_400.0);
const AREA: Range = range(Kind::Area, 0.092, 93_000.0);
const AREA_RATE: Range = range(Kind::AreaRate, 1e-6, 1e-3);
const LIFT: Range = range(Kind::Length, 0.0, 10.4);
const ALTITUDE: Range = range(Kind::Length, -450.0, 6_000.0);
const DISTANCE: Range = range(Kind::Length, 0.0, 160_935.0);
const BUILDING: Range = range(Kind::Length, 0.304_8, 1_000.0);
const FLOOR: Range = whole(1.0, 200.0);
const COUNT: Range = whole(1.0, 100.0);
const EXPOSED: Range = whole(0.0, 100.0);
const EXPANSION: Range = plain(1.0, 1_000.0);
const HAZARD: Range = whole(3.0, 7.0);
const FACTOR: Range = plain(0.1, 5.0);
const SPEED: Range = range(Kind::Share, 0.05, 1.3);
const DISCHARGE: Range = plain(0.3, 1.05);
const DISCHARGE_OFF: Range = plain(0.0, 0.5);
const HAZEN_WILLIAMS: Range = plain(50.0, 200.0);
const PRICE: Range = plain(0.0, crate::model::DEAREST);
const STORE_LENGTH: Range = range(Kind::Length, 0.0, 100_000.0);
const STORE_COUNT: Range = whole(0.0, 10_000.0);
const SCALE_END: Range = range(Kind::Pressure, 0.0, 10_342_136.0);

const SOURCE: &str = "Where the values come from.";
const MARK: &str = "The word or sign beside the colour, up to 12 letters, as \"A\" or \"LEFT\".";
const TEST_DAY: &str = "Day of the test, as 2026-05-11.";
const TEST_SOURCE: &str = "Who measured, and how.";
pub(crate) const NOTE: &str = "Anything worth knowing.";
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
    key(
        "money",
        Shape::Money,
        "The word that stands beside prices, up to 8 letters or signs, as \"USD\".",
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
    key(
        "price",
        Shape::Price,
        "What a section costs, in the book's money, as \"320 per 50 ft\".",
    ),
    key(
        "stock",
        Shape::Quantity(&STORE_LENGTH),
        "Length in store, on no rig.",
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
        "measured",
        Shape::Any(&[
            Shape::Table(MEASURED_TIP),
            Shape::Table(MEASURED_FLOW),
            Shape::Named(MEASURED_FLOW),
            Shape::Named(MEASURED_RANGE),
        ]),
        "What the department measured; it stands beside the rating and is used. A coefficient of a smooth bore, a flow of a fixed nozzle, measured.SETTING of a selectable or an automatic one.",
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
    key(
        "form",
        Shape::Word(&[
            "tip",
            "tip with shut-off",
            "shut-off with grip",
            "play pipe",
        ]),
        "How it is put together: a tip alone, a tip with its own shut-off, a shut-off with a grip and a tip on it, or a play pipe.",
    ),
    key(
        "colour",
        Shape::Colour,
        "Colour of the nozzle and its grip, for labels.",
    ),
    key("mark", Shape::Mark, MARK),
    key("foam", Shape::Flag, "true when the nozzle is fit for foam."),
    key(
        "attachment",
        Shape::Named(ATTACHMENT),
        "Foam attachments that fit it, each with its expansion and reach.",
    ),
    key(
        "price",
        Shape::Quantity(&PRICE),
        "What one costs, in the book's money.",
    ),
    key(
        "stock",
        Shape::Quantity(&STORE_COUNT),
        "Pieces in store, on no rig.",
    ),
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

pub(crate) static MEASURED_TIP: &[Key] = &[
    needed(
        "coefficient",
        Shape::Quantity(&DISCHARGE),
        "The measured discharge coefficient.",
    ),
    key(
        "uncertainty",
        Shape::Quantity(&DISCHARGE_OFF),
        "How far the true coefficient may lie to either side.",
    ),
    key("date", Shape::Date, TEST_DAY),
    key("source", Shape::Text, TEST_SOURCE),
];

pub(crate) static MEASURED_FLOW: &[Key] = &[
    needed("flow", Shape::Quantity(&FLOW), "The measured flow."),
    key(
        "pressure",
        Shape::Quantity(&PRESSURE),
        "Nozzle pressure at that flow; the rated one when not written.",
    ),
    key(
        "uncertainty",
        Shape::Quantity(&FROM_FLOW),
        "How far the true flow may lie to either side.",
    ),
    key("date", Shape::Date, TEST_DAY),
    key("source", Shape::Text, TEST_SOURCE),
];

pub(crate) static MEASURED_RANGE: &[Key] = &[
    needed(
        "flow",
        Shape::Pair(&Shape::Quantity(&FLOW)),
        "Lowest and highest flow of the measured range.",
    ),
    needed(
        "pressure",
        Shape::Pair(&Shape::Quantity(&PRESSURE)),
        "Measured nozzle pressure at the lowest and at the highest flow.",
    ),
    key(
        "band",
        Shape::Quantity(&LOSS),
        "Measured pressure between opening and closing; that of the rating when not written.",
    ),
    key(
        "uncertainty",
        Shape::Quantity(&LOSS),
        "How far the true pressure may lie to either side at a flow.",
    ),
    key("date", Shape::Date, TEST_DAY),
    key("source", Shape::Text, TEST_SOURCE),
];

pub(crate) static ATTACHMENT: &[Key] = &[
    needed(
        "expansion",
        Shape::Quantity(&EXPANSION),
        "Volume of foam for each of solution.",
    ),
    needed("reach", Shape::Quantity(&REACH), "Its reach."),
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
            "eductor",
            "regulating-valve",
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
    key("flow", Shape::Quantity(&FLOW), "Rated flow of an eductor."),
    key(
        "inlet_pressure",
        Shape::Quantity(&PRESSURE),
        "Inlet pressure of an eductor at its rated flow.",
    ),
    key(
        "back_pressure",
        Shape::Quantity(&SHARE),
        "Share of its inlet's pressure up to which an eductor draws; 65 % when not written.",
    ),
    key(
        "setting",
        Shape::Quantity(&PRESSURE),
        "The outlet pressure that a regulating valve holds.",
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
    key(
        "price",
        Shape::Quantity(&PRICE),
        "What one costs, in the book's money.",
    ),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static LOSS_AT: &[Key] = &[
    needed("pressure", Shape::Quantity(&LOSS), "Loss at the flow."),
    needed("flow", Shape::Quantity(&FLOW), "The flow."),
];

pub(crate) static GAUGE: &[Key] = &[
    needed(
        "measures",
        Shape::Word(&["pressure", "flow"]),
        "pressure: a gauge. flow: a flow meter.",
    ),
    key("serial", Shape::Name, "The number that stands on it."),
    key(
        "step",
        Shape::Either(&[&LOSS, &FROM_FLOW]),
        "The smallest step that is read from it, by eye between its marks too.",
    ),
    key(
        "accuracy",
        Shape::Several(&Shape::Either(&[&LOSS, &FROM_FLOW, &SHARE])),
        "What it may be off by, as its certificate says: \"3 psi\" anywhere on its scale, \"1 %\" of the reading, or a list of both, which count together. A share of the whole scale is written as what it comes to, in psi.",
    ),
    key(
        "swing",
        Shape::Either(&[&LOSS, &FROM_FLOW]),
        "By how much its needle swings to either side while water flows.",
    ),
    key(
        "highest",
        Shape::Either(&[&SCALE_END, &FROM_FLOW]),
        "The end of its scale.",
    ),
    key(
        "calibrated",
        Shape::Date,
        "Day of its last calibration, as 2026-03-02.",
    ),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static RIG: &[Key] = &[
    key("pump", Shape::Quantity(&FLOW), "Rated pump flow."),
    key(
        "pump_rated_at",
        Shape::Quantity(&PRESSURE),
        "Net pressure at the rated flow of a metric pump (half the flow at 1.2 times it); when not written, the US points: 100 % at 150 psi, 70 % at 200, 50 % at 250.",
    ),
    key(
        "pump_points",
        Shape::Tables(PUMP_POINT),
        "Flow and net pressure of the department's own pump test, flow rising; it stands beside the rating and is used.",
    ),
    key(
        "pump_tested",
        Shape::Date,
        "Day of that test, as 2026-05-11.",
    ),
    key("tank", Shape::Quantity(&VOLUME), "Tank content."),
    key(
        "tank_flow",
        Shape::Quantity(&FLOW),
        "The most that the pipe from tank to pump lets through.",
    ),
    key(
        "concentrate",
        Shape::Quantity(&VOLUME),
        "Foam concentrate carried.",
    ),
    key(
        "proportioner",
        Shape::Quantity(&FLOW),
        "The most concentrate that its own proportioner adds.",
    ),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static PUMP_POINT: &[Key] = &[
    needed("flow", Shape::Quantity(&FLOW), "Flow."),
    needed("pressure", Shape::Quantity(&PRESSURE), "Net pressure."),
];

pub(crate) static HYDRANT: &[Key] = &[
    key(
        "static",
        Shape::Quantity(&PRESSURE),
        "Pressure with nothing flowing.",
    ),
    key(
        "residual",
        Shape::Quantity(&PRESSURE),
        "Pressure while the test flowed.",
    ),
    key("flow", Shape::Quantity(&FLOW), "What flowed in the test."),
    key(
        "outlets",
        Shape::Tables(PITOT),
        "The outlets that flowed, read by pitot; in place of the flow.",
    ),
    key(
        "same_main_as",
        Shape::Name,
        "Another hydrant whose test holds for the main of this one; in place of a test.",
    ),
    key(
        "loss",
        Shape::Table(LOSS_AT),
        "Loss between the main and its outlet, beyond what its test has in it.",
    ),
    key("date", Shape::Date, "Day of the test, as 2026-05-11."),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static PITOT: &[Key] = &[
    needed("size", Shape::Quantity(&SIZE), "Size of the outlet."),
    needed("pitot", Shape::Quantity(&PRESSURE), "Pitot pressure."),
    key(
        "shape",
        Shape::Word(&["rounded", "square", "projecting"]),
        "How the outlet joins the barrel: coefficient 0.90, 0.80 or 0.70; rounded when not written.",
    ),
    key(
        "coefficient",
        Shape::Quantity(&DISCHARGE),
        "Its coefficient, in place of a shape.",
    ),
    key(
        "count",
        Shape::Quantity(&COUNT),
        "How many outlets alike flowed; one when not written.",
    ),
];

pub(crate) static DRAFT: &[Key] = &[
    needed(
        "lift",
        Shape::Quantity(&LIFT),
        "Height of the pump's intake above the water.",
    ),
    key(
        "altitude",
        Shape::Quantity(&ALTITUDE),
        "Height above the sea; sea level when not written.",
    ),
    key(
        "loss",
        Shape::Table(LOSS_AT),
        "Loss of suction hose and strainer.",
    ),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static SHUTTLE: &[Key] = &[
    needed("tankers", Shape::Quantity(&COUNT), "How many tankers run."),
    needed("tank", Shape::Quantity(&VOLUME), "Tank of each."),
    key(
        "usable",
        Shape::Quantity(&SHARE),
        "Share of that tank which is usable; 90 % when not written.",
    ),
    needed(
        "distance",
        Shape::Quantity(&DISTANCE),
        "From the fill site to the fire, one way.",
    ),
    needed("fill", Shape::Quantity(&TIME), "Time to fill one."),
    needed("dump", Shape::Quantity(&TIME), "Time to empty one."),
    key(
        "handling",
        Shape::Quantity(&TIME),
        "Time for hooking up and turning, in each round.",
    ),
    needed(
        "dump_tank",
        Shape::Quantity(&VOLUME),
        "The portable tanks at the fire, together.",
    ),
    key(
        "lift",
        Shape::Quantity(&LIFT),
        "Height of the pump's intake above the portable tank's water.",
    ),
    key(
        "loss",
        Shape::Table(LOSS_AT),
        "Loss of suction hose and strainer.",
    ),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static STANDPIPE: &[Key] = &[
    needed(
        "floors",
        Shape::Quantity(&FLOOR),
        "Floors that have outlets, the first at the street.",
    ),
    needed(
        "floor_height",
        Shape::Quantity(&BUILDING),
        "From floor to floor.",
    ),
    needed("riser", Shape::Quantity(&SIZE), "Bore of the riser."),
    key(
        "hazen_williams",
        Shape::Quantity(&HAZEN_WILLIAMS),
        "Hazen-Williams coefficient of the riser; 120 when not written.",
    ),
    key(
        "inlet_loss",
        Shape::Table(LOSS_AT),
        "Loss of the inlet connection.",
    ),
    key(
        "outlet_loss",
        Shape::Table(LOSS_AT),
        "Loss of an open outlet valve.",
    ),
    key(
        "regulating",
        Shape::Tables(REGULATING),
        "Outlets that hold a pressure, by floors.",
    ),
    key(
        "required",
        Shape::Quantity(&PRESSURE),
        "Residual pressure that an outlet must have; 100 psi when not written.",
    ),
    key(
        "rated_pressure",
        Shape::Quantity(&PRESSURE),
        "The highest pressure that the system is rated for.",
    ),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static REGULATING: &[Key] = &[
    needed(
        "floors",
        Shape::Pair(&Shape::Quantity(&FLOOR)),
        "The lowest and the highest floor that has them.",
    ),
    needed(
        "setting",
        Shape::Quantity(&PRESSURE),
        "The pressure they hold.",
    ),
];

pub(crate) static SCENE: &[Key] = &[
    key("title", Shape::Text, "What it is."),
    key(
        "duration",
        Shape::Quantity(&TIME),
        "How long it is to last.",
    ),
    key(
        "open_outlets",
        Shape::Flag,
        "true when the rigs' outlets stand open; otherwise each is gated to what its line needs.",
    ),
    needed("rig", Shape::Named(SCENE_RIG), "The rigs at work, by name."),
    key(
        "spill",
        Shape::Table(SPILL),
        "A spill to be covered with foam.",
    ),
    key("fire", Shape::Table(FIRE), "A building that burns."),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static SCENE_RIG: &[Key] = &[
    needed(
        "intake",
        Shape::Tables(INTAKE),
        "Where its water comes from; several are supply lines side by side.",
    ),
    key(
        "pump_pressure",
        Shape::Quantity(&PRESSURE),
        "The pressure at which its pump is governed; worked out from what it feeds when not written.",
    ),
    key(
        "speed",
        Shape::Quantity(&SPEED),
        "The share of its rated speed at which its pump is governed instead.",
    ),
    key(
        "height",
        Shape::Quantity(&RISE),
        "How much higher it stands than the first rig; below zero when lower.",
    ),
    key(
        "lines",
        Shape::Tables(SCENE_LINE),
        "The lines that it feeds.",
    ),
    key(
        "standpipes",
        Shape::Tables(SCENE_STANDPIPE),
        "The standpipes that it feeds.",
    ),
    key("source", Shape::Text, SOURCE),
    key("note", Shape::Text, NOTE),
    key("invented", Shape::Flag, INVENTED),
];

pub(crate) static INTAKE: &[Key] = &[
    key("hydrant", Shape::Name, "A hydrant of the book."),
    key("rig", Shape::Name, "Another rig of the scene: a relay."),
    key("draft", Shape::Name, "Open water of the book."),
    key(
        "shuttle",
        Shape::Name,
        "A tanker shuttle of the book, drafted from its portable tank.",
    ),
    key("tank", Shape::Flag, "true for the rig's own tank."),
    key(
        "parts",
        Shape::Parts,
        "Through what: the supply line, from the source to the rig.",
    ),
];

pub(crate) static SCENE_LINE: &[Key] = &[
    needed("line", Shape::Name, "A line of the book."),
    key(
        "standpipe",
        Shape::Name,
        "The standpipe off which it comes, instead of the rig's own outlet.",
    ),
    key(
        "floor",
        Shape::Quantity(&FLOOR),
        "The floor of that standpipe.",
    ),
    key(
        "gate",
        Shape::Quantity(&SHARE),
        "How far its outlet is open; as its needs ask when not written.",
    ),
    key(
        "foam",
        Shape::Quantity(&SHARE),
        "Foam solution from the rig's own proportioner, at this share of concentrate.",
    ),
];

pub(crate) static SCENE_STANDPIPE: &[Key] = &[
    needed("standpipe", Shape::Name, "A standpipe of the book."),
    needed("parts", Shape::Parts, "From the pump to its inlet."),
];

pub(crate) static SPILL: &[Key] = &[
    needed("area", Shape::Quantity(&AREA), "Its area."),
    needed(
        "fuel",
        Shape::Word(&["hydrocarbon", "polar"]),
        "hydrocarbon: does not mix with water. polar: mixes with water, as alcohols do.",
    ),
    key(
        "rate",
        Shape::Quantity(&AREA_RATE),
        "Solution for each unit of area; 0.10 gpm/ft2 for hydrocarbon and 0.20 for polar fuel when not written. The maker's rate goes before these.",
    ),
    key(
        "duration",
        Shape::Quantity(&TIME),
        "How long; 15 minutes when not written.",
    ),
    needed(
        "ratio",
        Shape::Quantity(&SHARE),
        "Share of concentrate in the solution.",
    ),
];

pub(crate) static FIRE: &[Key] = &[
    needed("length", Shape::Quantity(&BUILDING), "Length of a floor."),
    needed("width", Shape::Quantity(&BUILDING), "Width of a floor."),
    needed("height", Shape::Quantity(&BUILDING), "Height of a floor."),
    key(
        "floors",
        Shape::Quantity(&FLOOR),
        "Floors that burn; one when not written.",
    ),
    key(
        "involved",
        Shape::Quantity(&SHARE),
        "Share of them that burns; all when not written.",
    ),
    key(
        "exposed_sides",
        Shape::Quantity(&EXPOSED),
        "Sides with a building that the fire threatens.",
    ),
    key(
        "exposed_floors",
        Shape::Quantity(&EXPOSED),
        "Floors of the building that the fire threatens.",
    ),
    key(
        "hazard",
        Shape::Quantity(&HAZARD),
        "Occupancy hazard number of the rural supply: 3 severe to 7 light.",
    ),
    key(
        "construction_type",
        Shape::Word(&["I", "II", "III", "IV", "V"]),
        "Type of construction, for the rural supply.",
    ),
    key(
        "construction",
        Shape::Word(&[
            "frame",
            "joisted-masonry",
            "noncombustible",
            "fire-resistive",
        ]),
        "Class of construction, for the insurance form.",
    ),
    key(
        "occupancy",
        Shape::Quantity(&FACTOR),
        "Occupancy factor of the insurance form, 0.75 to 1.25; 1 when not written.",
    ),
    key(
        "exposure",
        Shape::Quantity(&FACTOR),
        "Exposure factor of the insurance form, 1 to 1.6; 1 when not written.",
    ),
];

pub(crate) static LINE: &[Key] = &[
    key("title", Shape::Text, "What crews call it."),
    key("rig", Shape::Name, "The rig it comes off."),
    key("colour", Shape::Colour, "Colour of its outlet, for labels."),
    key("mark", Shape::Mark, MARK),
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
        "attachment",
        Shape::Name,
        "One of the nozzle's foam attachments, put on.",
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
        "ratio",
        Shape::Quantity(&SHARE),
        "Share of concentrate at which an eductor is set.",
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
    key(
        "gauge",
        Shape::Named(GAUGE),
        "Gauges and flow meters that tests are read with, by name.",
    ),
    key("rig", Shape::Named(RIG), "Rigs, by name."),
    key(
        "hydrant",
        Shape::Named(HYDRANT),
        "Hydrants with their flow tests, by name.",
    ),
    key("draft", Shape::Named(DRAFT), "Open water, by name."),
    key(
        "shuttle",
        Shape::Named(SHUTTLE),
        "Tanker shuttles, by name.",
    ),
    key("standpipe", Shape::Named(STANDPIPE), "Standpipes, by name."),
    key("line", Shape::Named(LINE), "Lines, by name."),
    key(
        "scene",
        Shape::Named(SCENE),
        "Scenes: rigs, water and lines at work together, by name.",
    ),
];

/// The range of `kind` that the key called `name` takes, where it takes one of
/// several kinds.
pub(crate) fn bounds(keys: &'static [Key], name: &str, kind: Kind) -> Option<&'static Range> {
    match shape(keys, name)? {
        Shape::Either(ranges) | Shape::Several(Shape::Either(ranges)) => {
            ranges.iter().copied().find(|range| range.kind == kind)
        }
        _ => None,
    }
}

/// The shape of the key called `name` in `keys`.
pub(crate) fn shape(keys: &'static [Key], name: &str) -> Option<&'static Shape> {
    keys.iter().find(|k| k.name == name).map(|k| &k.shape)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_ends_of_a_range_are_said_in_the_readers_units() {
        let (us, si) = (System::Us, System::Si);
        assert_eq!(HOSE_LENGTH.between(us), "between 1 ft and 10,000 ft");
        assert_eq!(HOSE_LENGTH.between(si), "between 0.3 m and 3,048 m");
        assert_eq!(RISE.between(us), "between -1,000 ft and 1,000 ft");
        assert_eq!(PRESSURE.between(us), "between 1 psi and 600 psi");
        assert_eq!(SHARE.between(us), "between 0 % and 100 %");
    }
}
