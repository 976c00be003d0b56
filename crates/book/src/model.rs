//! What a book holds: equipment, rigs and lines, as read from its file.
//!
//! Every value that was written keeps its text beside its quantity
//! ([`Stated`]), so that a book is written back as it was.

mod appliance;
mod gauge;
mod hose;
mod line;
mod marking;
mod measured;
mod nozzle;
mod path;
mod price;
mod scene;
mod stated;
mod water;

pub use appliance::{ApplianceItem, ApplianceKind, EductorWritten, LossWritten};
pub use gauge::{GaugeItem, Scale, Steps};
pub use hose::{FrictionWritten, HoseItem, HoseSize, Measured, Used, Which, c_figure};
pub use line::{
    Aim, AppliancePart, HosePart, Line, NozzlePart, Part, Parts, RegulatorState, Target,
};
pub use marking::{Colour, Marking};
pub(crate) use marking::{MARK_LIMIT, MARK_MEND, is_mark};
pub use measured::{MeasuredLaw, MeasuredNozzle, NozzleUsed};
pub(crate) use nozzle::listed;
pub use nozzle::{
    Attachment, AutomaticSetting, NozzleForm, NozzleItem, NozzleKind, SettingError, Shutoff,
};
pub use path::{Path, PathError, Step};
pub(crate) use price::{DEAREST, MONEY_LIMIT, is_money, price_example};
pub use price::{SectionPrice, price_amount};
pub use scene::{
    FireWritten, Intake, IntakeFrom, Scene, SceneLine, SceneRig, SceneStandpipe, SpillWritten,
};
pub(crate) use stated::number;
pub use stated::{MassPerLength, Stated};
pub use water::{
    DraftItem, HydrantItem, HydrantSupply, PitotReading, RegulatingOutlets, ShuttleItem,
    StandpipeItem, TestFlow,
};

use crate::catalogue::catalogue;
use hydraulics::friction::{Coefficient, Friction};
use hydraulics::pump::{Pump, PumpError};
use hydraulics::units::{
    Force, Kind, Pressure, System, ThermodynamicTemperature, Volume, VolumeRate, parse, show,
};
use hydraulics::water::Water;
use indexmap::IndexMap;

/// Everything known about one department.
///
/// ```
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "1.75 in", length = "200 ft" }, { nozzle = "150 gpm at 50 psi" }]
/// aim = { flow = "150 gpm" }
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let hose = book.hose("1.75 in").ok_or("not in the catalogue")?;
/// assert_eq!(hose.origin, book::Origin::Catalogue);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Book {
    /// The department's name.
    pub name: String,
    /// Where the book's values come from, notes, and whether it is invented.
    pub about: About,
    /// The units of bare numbers and of bare friction coefficients.
    pub units: System,
    /// Water temperature, 0 to 60 C; 60 F when not written.
    pub water: Option<Stated<ThermodynamicTemperature>>,
    /// The reaction that crews can hold.
    pub crew: Option<Crew>,
    /// The highest pump pressure that the department allows.
    pub pump_ceiling: Option<Stated<Pressure>>,
    /// The word that stands beside prices: "USD".
    pub money: Option<String>,
    /// Its hose, by name.
    pub hose: IndexMap<String, HoseItem>,
    /// Its nozzles, by name.
    pub nozzle: IndexMap<String, NozzleItem>,
    /// Its appliances, by name.
    pub appliance: IndexMap<String, ApplianceItem>,
    /// Its gauges and flow meters, by name.
    pub gauge: IndexMap<String, GaugeItem>,
    /// Its rigs, by name.
    pub rig: IndexMap<String, RigItem>,
    /// Hydrants, by name.
    pub hydrant: IndexMap<String, HydrantItem>,
    /// Open water, by name.
    pub draft: IndexMap<String, DraftItem>,
    /// Tanker shuttles, by name.
    pub shuttle: IndexMap<String, ShuttleItem>,
    /// Standpipes, by name.
    pub standpipe: IndexMap<String, StandpipeItem>,
    /// Its lines, by name.
    pub line: IndexMap<String, Line>,
    /// Its scenes, by name.
    pub scene: IndexMap<String, Scene>,
}

/// What is said about an entry beside its numbers.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct About {
    /// Where the values come from.
    pub source: Option<String>,
    /// Anything worth knowing.
    pub note: Option<String>,
    /// The values are made up, for a demonstration.
    pub invented: bool,
}

/// The reaction that one, two and three people can hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Crew {
    /// One person.
    pub one: Stated<Force>,
    /// Two people.
    pub two: Stated<Force>,
    /// Three people.
    pub three: Stated<Force>,
    /// Where the limits come from.
    pub about: About,
}

/// A vehicle with a pump and a tank.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RigItem {
    /// Rated pump flow.
    pub pump: Option<Stated<VolumeRate>>,
    /// Net pressure at the rated flow of a metric pump; 150 psi and the US points
    /// when not written.
    pub pump_rated_at: Option<Stated<Pressure>>,
    /// Flow and net pressure of the department's own pump test, flow rising; kept
    /// beside the rating, and used.
    pub pump_points: Vec<(Stated<VolumeRate>, Stated<Pressure>)>,
    /// Day of that test, year-month-day.
    pub pump_tested: Option<String>,
    /// Tank content.
    pub tank: Option<Stated<Volume>>,
    /// The most that the pipe from tank to pump lets through.
    pub tank_flow: Option<Stated<VolumeRate>>,
    /// Foam concentrate carried.
    pub concentrate: Option<Stated<Volume>>,
    /// The most concentrate that its proportioner adds.
    pub proportioner: Option<Stated<VolumeRate>>,
    /// Its source and notes.
    pub about: About,
}

impl RigItem {
    /// Its pump, by its own test or its rating; `None` where neither is written.
    ///
    /// # Errors
    /// [`PumpError`] when the numbers describe no pump.
    ///
    /// ```
    /// let text = b"[book]\nname = 'Example'\n[rig.pumper]\npump = '1250 gpm'\n";
    /// let book = book::read(text, "example.toml")?;
    /// let pump = book.rig["pumper"].capability()?.ok_or("no pump")?;
    /// assert_eq!(pump.points().len(), 3);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn capability(&self) -> Result<Option<Pump>, PumpError> {
        Ok(self.used(Which::Best)?.map(|used| used.pump))
    }

    /// The pump that `which` asks for, and why it is that one: by its own test where
    /// there is one; by its rating where [`Which::Published`] asks for it and it has
    /// one.
    ///
    /// # Errors
    /// As [`RigItem::capability`].
    ///
    /// ```
    /// use book::Which;
    /// let text = b"[book]\nname = 'Example'\n[rig.pumper]\npump = '1250 gpm'\n\
    ///     pump_points = [{ flow = 600, pressure = 250 }, { flow = 1210, pressure = 150 }]\n\
    ///     pump_tested = '2026-04-02'\n";
    /// let book = book::read(text, "example.toml")?;
    /// let best = book.rig["pumper"].used(Which::Best)?.ok_or("no pump")?;
    /// assert!(best.measured && best.both);
    /// assert_eq!(best.source, "own pump test, 2026-04-02");
    /// let rated = book.rig["pumper"].used(Which::Published)?.ok_or("no pump")?;
    /// assert_eq!(rated.pump.points().len(), 3);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn used(&self, which: Which) -> Result<Option<PumpUsed>, PumpError> {
        let tested = !self.pump_points.is_empty();
        let both = tested && self.pump.is_some();
        let source = self.about.source.as_deref();
        if tested && !(both && which == Which::Published) {
            let points = self.pump_points.iter().map(|(q, p)| (q.get(), p.get()));
            let said = [
                source.or(Some("own pump test")),
                self.pump_tested.as_deref(),
            ];
            let said: Vec<&str> = said.into_iter().flatten().collect();
            return Ok(Some(PumpUsed {
                pump: Pump::through(points.collect())?,
                measured: true,
                both,
                source: said.join(", "),
                why: match which {
                    Which::Measured => "measured, as asked",
                    Which::Published => "measured; this pump has no rating",
                    _ => "measured on this pump",
                },
            }));
        }
        let Some(flow) = &self.pump else {
            return Ok(None);
        };
        let pump = match &self.pump_rated_at {
            Some(pressure) => Pump::rated_metric(flow.get(), pressure.get()),
            None => Pump::rated(flow.get()),
        }?;
        Ok(Some(PumpUsed {
            pump,
            measured: false,
            both,
            source: source.unwrap_or("no source stated").into(),
            why: match both {
                true => "rated, as asked",
                false => "rated; this pump has no test of its own",
            },
        }))
    }
}

/// The pump that was used for a rig, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct PumpUsed {
    /// The pump.
    pub pump: Pump,
    /// Was it measured?
    pub measured: bool,
    /// Rating and measurement both stand in the book.
    pub both: bool,
    /// Where it comes from.
    pub source: String,
    /// Why this one.
    pub why: &'static str,
}

impl PumpUsed {
    /// What it gives, as a person reads it in `system`: "1250 gpm at 150 psi, ...".
    pub fn text(&self, system: System) -> String {
        let point = |(flow, pressure): &(VolumeRate, Pressure)| {
            format!(
                "{} at {}",
                show(Kind::Flow, *flow, system),
                show(Kind::Pressure, *pressure, system)
            )
        };
        let points: Vec<String> = self.pump.points().iter().map(point).collect();
        points.join(", ")
    }
}

/// Whose entry was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Origin {
    /// The department's own.
    Own,
    /// The catalogue's, generic.
    Catalogue,
}

/// An entry and whose it is.
#[derive(Debug, PartialEq)]
pub struct Found<'a, T> {
    /// The entry.
    pub item: &'a T,
    /// Whose it is.
    pub origin: Origin,
}

impl<T> Clone for Found<'_, T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Found<'_, T> {}

/// Looks in the book first, then in the catalogue.
fn find<'a, T>(
    own: &'a IndexMap<String, T>,
    generic: &'a IndexMap<String, T>,
    name: &str,
) -> Option<Found<'a, T>> {
    let found = |item, origin| Found { item, origin };
    own.get(name)
        .map(|item| found(item, Origin::Own))
        .or_else(|| generic.get(name).map(|item| found(item, Origin::Catalogue)))
}

/// Crew limits when a book sets none: 60, 75 and 95 lbf for one, two and three
/// people (study notes, cases NR-11 to NR-13, seen).
const CREW: [&str; 3] = ["60 lbf", "75 lbf", "95 lbf"];

impl Book {
    /// The hose called `name`: the book's own, or the catalogue's.
    pub fn hose(&self, name: &str) -> Option<Found<'_, HoseItem>> {
        find(&self.hose, &catalogue().hose, name)
    }

    /// The nozzle called `name`: the book's own, or the catalogue's.
    pub fn nozzle(&self, name: &str) -> Option<Found<'_, NozzleItem>> {
        find(&self.nozzle, &catalogue().nozzle, name)
    }

    /// The appliance called `name`: the book's own, or the catalogue's.
    pub fn appliance(&self, name: &str) -> Option<Found<'_, ApplianceItem>> {
        find(&self.appliance, &catalogue().appliance, name)
    }

    /// Lowest and highest published C for the hose called `name`: as its entry
    /// states them, else as the catalogue does for hose of its size. `None` for
    /// hose that is not known by a C.
    ///
    /// ```
    /// let text = br#"
    /// [book]
    /// name = "Example"
    /// [hose.attack]
    /// size = "1.75 in"
    /// coefficient = 15.5
    /// "#;
    /// let book = book::read(text, "example.toml")?;
    /// let (low, high) = book.spread("attack").ok_or("no spread")?;
    /// assert!((low.us_value() - 7.0).abs() < 1e-9 && (high.us_value() - 15.5).abs() < 1e-9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn spread(&self, name: &str) -> Option<(Coefficient, Coefficient)> {
        let item = self.hose(name)?.item;
        if !matches!(item.friction, Some(FrictionWritten::Coefficient { .. })) {
            return None;
        }
        let same_size = |other: &&HoseItem| (other.size.get() - item.size.get()).value.abs() < 1e-3;
        item.spread().or_else(|| {
            let generic = catalogue().hose.values();
            generic.filter(same_size).find_map(HoseItem::spread)
        })
    }

    /// The friction of the hose called `name` that `which` asks for, the ends of
    /// the spread taken as [`Book::spread`] has them.
    pub fn friction(&self, name: &str, which: Which) -> Option<Used> {
        let item = self.hose(name)?.item;
        let used = item.used(which)?;
        let (low, high) = match (item.spread(), self.spread(name)) {
            (None, Some(spread)) => spread,
            _ => return Some(used),
        };
        let end = |c, why| Used {
            friction: Friction::Coefficient(c),
            measured: false,
            source: "generic catalogue, hose of this size".into(),
            why,
        };
        Some(match which {
            Which::PublishedLow => end(low, "lowest published for hose of this size"),
            Which::PublishedHigh => end(high, "highest published for hose of this size"),
            _ => used,
        })
    }

    /// The water that the lines carry.
    pub fn water(&self) -> Water {
        self.water
            .as_ref()
            .map_or_else(Water::default, |t| Water::at(t.get()))
    }

    /// The reaction that one, two and three people can hold: the book's limits,
    /// or 60, 75 and 95 lbf.
    ///
    /// ```
    /// use hydraulics::units::{show, Kind, System};
    /// let limits = book::Book::default().crew_limits();
    /// assert_eq!(show(Kind::Force, limits[1], System::Us), "75 lbf");
    /// ```
    pub fn crew_limits(&self) -> [Force; 3] {
        match &self.crew {
            Some(crew) => [crew.one.get(), crew.two.get(), crew.three.get()],
            None => CREW.map(|text| parse(Kind::Force, text).unwrap_or_default()),
        }
    }
}
