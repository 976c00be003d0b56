//! Where a scene's water comes from: hydrants, drafts, shuttles.

use super::{About, LossWritten, Stated};
use hydraulics::hydrant::{FlowTest, TestError};
use hydraulics::orifice::{Outlet, OutletShape, pitot_flow, pumper_correction};
use hydraulics::units::{Length, Measure, Pressure, Ratio, Time, Volume, VolumeRate};

/// A hydrant.
#[derive(Debug, Clone, PartialEq)]
pub struct HydrantItem {
    /// What it hangs on.
    pub supply: HydrantSupply,
    /// Loss between the main and its outlet, beyond what its test has in it.
    pub loss: Option<LossWritten>,
    /// Day of the test.
    pub date: Option<String>,
    /// Its source and notes.
    pub about: About,
}

/// What a hydrant hangs on.
#[derive(Debug, Clone, PartialEq)]
pub enum HydrantSupply {
    /// A main that was tested here.
    Test {
        /// Pressure with nothing flowing.
        still: Stated<Pressure>,
        /// Pressure while the test flowed.
        residual: Stated<Pressure>,
        /// What flowed.
        flow: TestFlow,
    },
    /// The main of another hydrant, by that one's name.
    SameMain(String),
}

/// What flowed in a hydrant's test.
#[derive(Debug, Clone, PartialEq)]
pub enum TestFlow {
    /// The flow itself.
    Stated(Stated<VolumeRate>),
    /// Outlets read by pitot.
    Outlets(Vec<PitotReading>),
}

/// One outlet, or several alike, read by pitot.
#[derive(Debug, Clone, PartialEq)]
pub struct PitotReading {
    /// Size of the outlet.
    pub size: Stated<Length>,
    /// Pitot pressure.
    pub pitot: Stated<Pressure>,
    /// How the outlet joins the barrel; rounded when nothing is written.
    pub shape: Option<OutletShape>,
    /// Its coefficient, in place of a shape.
    pub coefficient: Option<Stated<Ratio>>,
    /// How many outlets alike flowed; one when not written.
    pub count: Option<Stated<Ratio>>,
}

impl PitotReading {
    /// Flow of these outlets together.
    pub fn flow(&self) -> VolumeRate {
        let (size, pitot) = (self.size.get(), self.pitot.get());
        let count = self.count.as_ref().map_or(1.0, |c| c.get().value);
        match &self.coefficient {
            Some(c) => {
                let large = Outlet {
                    size,
                    shape: OutletShape::Stated(c.get()),
                    count: 1,
                };
                let correction = match large.is_large() {
                    true => pumper_correction(pitot),
                    false => Ratio::of_si(1.0),
                };
                pitot_flow(size, c.get(), pitot) * correction * count
            }
            None => {
                let shape = self.shape.unwrap_or(OutletShape::Rounded);
                let outlet = Outlet {
                    size,
                    shape,
                    count: 1,
                };
                outlet.flow(pitot) * count
            }
        }
    }
}

impl TestFlow {
    /// The flow.
    pub fn get(&self) -> VolumeRate {
        match self {
            TestFlow::Stated(flow) => flow.get(),
            TestFlow::Outlets(outlets) => outlets
                .iter()
                .fold(VolumeRate::of_si(0.0), |sum, o| sum + o.flow()),
        }
    }
}

impl HydrantItem {
    /// Its own flow test; `None` for one on another's main.
    ///
    /// # Errors
    /// [`TestError`] when the test describes no main.
    pub fn test(&self) -> Result<Option<FlowTest>, TestError> {
        match &self.supply {
            HydrantSupply::Test {
                still,
                residual,
                flow,
            } => FlowTest::new(still.get(), residual.get(), flow.get()).map(Some),
            HydrantSupply::SameMain(_) => Ok(None),
        }
    }
}

/// Open water that a pump lifts.
#[derive(Debug, Clone, PartialEq)]
pub struct DraftItem {
    /// Height of the pump's intake above the water.
    pub lift: Stated<Length>,
    /// Height above the sea; sea level when not written.
    pub altitude: Option<Stated<Length>>,
    /// Loss of suction hose and strainer.
    pub loss: Option<LossWritten>,
    /// Its source and notes.
    pub about: About,
}

/// Tankers that fill a portable tank, from which a pump drafts.
#[derive(Debug, Clone, PartialEq)]
pub struct ShuttleItem {
    /// How many tankers run.
    pub tankers: Stated<Ratio>,
    /// Tank of each.
    pub tank: Stated<Volume>,
    /// Share of it that is usable; 90 % when not written.
    pub usable: Option<Stated<Ratio>>,
    /// From the fill site to the fire.
    pub distance: Stated<Length>,
    /// Time to fill one.
    pub fill: Stated<Time>,
    /// Time to empty one.
    pub dump: Stated<Time>,
    /// Time for hooking up and turning, in each round.
    pub handling: Option<Stated<Time>>,
    /// The portable tanks at the fire, together.
    pub dump_tank: Stated<Volume>,
    /// Height of the pump's intake above the portable tank's water.
    pub lift: Option<Stated<Length>>,
    /// Loss of suction hose and strainer.
    pub loss: Option<LossWritten>,
    /// Its source and notes.
    pub about: About,
}

/// A building's standpipe: a riser with outlets on its floors.
#[derive(Debug, Clone, PartialEq)]
pub struct StandpipeItem {
    /// Floors that have outlets, the first at the street.
    pub floors: Stated<Ratio>,
    /// From floor to floor.
    pub floor_height: Stated<Length>,
    /// Bore of the riser.
    pub riser: Stated<Length>,
    /// Hazen-Williams coefficient of the riser; 120 when not written.
    pub hazen_williams: Option<Stated<Ratio>>,
    /// Loss of the inlet connection.
    pub inlet_loss: Option<LossWritten>,
    /// Loss of an open outlet valve.
    pub outlet_loss: Option<LossWritten>,
    /// Outlets that regulate.
    pub regulating: Vec<RegulatingOutlets>,
    /// Residual pressure that an outlet must have; 100 psi when not written.
    pub required: Option<Stated<Pressure>>,
    /// The highest pressure that the system is rated for.
    pub rated_pressure: Option<Stated<Pressure>>,
    /// Its source and notes.
    pub about: About,
}

/// Outlets that hold a pressure, on a range of floors.
#[derive(Debug, Clone, PartialEq)]
pub struct RegulatingOutlets {
    /// The lowest and the highest floor that has them.
    pub floors: [Stated<Ratio>; 2],
    /// The pressure they hold.
    pub setting: Stated<Pressure>,
}

impl StandpipeItem {
    /// The setting of the outlet on `floor`, if it regulates.
    pub fn setting(&self, floor: f64) -> Option<Pressure> {
        let has = |r: &&RegulatingOutlets| {
            let [low, high] = &r.floors;
            (low.get().value..=high.get().value).contains(&floor)
        };
        self.regulating.iter().find(has).map(|r| r.setting.get())
    }

    /// Height of the outlet on `floor` above the street.
    pub fn height(&self, floor: f64) -> Length {
        self.floor_height.get() * (floor - 1.0)
    }
}
