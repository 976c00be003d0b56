//! A lay written as JSON, with the answer of a peer: what the Python peers
//! solve, and what Handline is compared with. Everything is in SI.

use hydraulics::appliance::Appliance;
use hydraulics::element::Element;
use hydraulics::friction::{Coefficient, Friction, FrictionError};
use hydraulics::hose::Run;
use hydraulics::nozzle::{Automatic, Fixed, Nozzle, NozzleError, SmoothBore, Tip};
use hydraulics::units::{
    Length, MassDensity, Measure, Pressure, Ratio, ThermodynamicTemperature, VolumeRate,
};
use hydraulics::valve::{CheckValve, Valve, ValveKind};
use hydraulics::water::Water;
use lay::{Lay, PartId, PlaceId};
use serde::Deserialize;
use std::sync::Arc;

/// A lay and its answer.
#[derive(Debug, Clone, Deserialize)]
pub struct Problem {
    /// What it is called.
    pub name: String,
    /// Density that weighs on rises, kg/m3.
    pub density: f64,
    /// Water temperature, kelvin.
    pub kelvin: f64,
    /// The places.
    pub places: Vec<Place>,
    /// The parts, by place number.
    pub parts: Vec<Part>,
    /// The peer's answer.
    pub answer: Answer,
}

/// A place.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Place {
    /// Where parts meet.
    Junction {
        /// Height, m.
        height: f64,
    },
    /// A pump outlet.
    Supply {
        /// Height, m.
        height: f64,
        /// Gauge pressure held, Pa.
        pressure: f64,
    },
    /// The open air.
    Air {
        /// Height, m.
        height: f64,
    },
}

/// A part and where it goes.
#[derive(Debug, Clone, Deserialize)]
pub struct Part {
    /// Number of the place at its inlet.
    pub from: usize,
    /// Number of the place at its outlet.
    pub to: usize,
    /// Its law.
    pub law: Law,
}

/// A shut-off or gated outlet.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct Gate {
    /// Slide, or else ball.
    pub slide: bool,
    /// Diameter of the waterway, m.
    pub waterway: f64,
    /// 0 to 1.
    pub gate: f64,
}

/// The law of a part.
#[derive(Debug, Clone, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Law {
    /// Hose by C.
    Coefficient {
        /// C in psi, gpm, ft.
        us: f64,
        /// Length, m.
        length: f64,
    },
    /// Hose by Hazen-Williams.
    HazenWilliams {
        /// Bore, m.
        bore: f64,
        /// Hazen-Williams c.
        c: f64,
        /// Length, m.
        length: f64,
    },
    /// An appliance by one loss at one flow.
    Rated {
        /// Loss, Pa.
        pressure: f64,
        /// Flow, m3/s.
        flow: f64,
    },
    /// A gated outlet.
    Valve(Gate),
    /// A check valve.
    Check,
    /// A solid tip.
    SmoothBore {
        /// Bore, m.
        bore: f64,
        /// Discharge coefficient.
        coefficient: f64,
        /// Shut-off before it.
        shutoff: Option<Gate>,
    },
    /// A fixed spray nozzle.
    Fixed {
        /// Rated flow, m3/s.
        flow: f64,
        /// Rated pressure, Pa.
        pressure: f64,
        /// Shut-off before it.
        shutoff: Option<Gate>,
    },
    /// An automatic nozzle.
    Automatic {
        /// Lowest and highest flow of the range, m3/s.
        flows: (f64, f64),
        /// The pressures there, Pa.
        pressures: (f64, f64),
        /// Shut-off before it.
        shutoff: Option<Gate>,
    },
}

/// What a peer found.
#[derive(Debug, Clone, Deserialize)]
pub struct Answer {
    /// Flow of each part, m3/s.
    pub flows: Vec<f64>,
    /// Gauge pressure of each place, Pa.
    pub pressures: Vec<f64>,
}

/// Why a problem is not a lay.
#[derive(Debug, thiserror::Error)]
pub enum ProblemError {
    /// Not a file that can be read.
    #[error("cannot be read: {0}")]
    Io(#[from] std::io::Error),
    /// Not JSON of this form.
    #[error("cannot be understood: {0}")]
    Json(#[from] serde_json::Error),
    /// A hose or appliance that cannot be.
    #[error(transparent)]
    Friction(#[from] FrictionError),
    /// A nozzle that cannot be.
    #[error(transparent)]
    Nozzle(#[from] NozzleError),
    /// A part joins a place that is not there.
    #[error("part {part} joins place {place}, but there are {places}")]
    NoPlace {
        /// The part.
        part: usize,
        /// The place.
        place: usize,
        /// How many there are.
        places: usize,
    },
}

/// The problems of the file `path`: one, or a list.
///
/// # Errors
/// [`ProblemError`] when the file is not there or not of this form.
pub fn read(path: &std::path::Path) -> Result<Vec<Problem>, ProblemError> {
    Ok(serde_json::from_str(&std::fs::read_to_string(path)?)?)
}

/// A lay with the names of its places and parts.
#[derive(Debug)]
pub struct Built {
    /// The lay.
    pub lay: Lay,
    /// Its places, in the problem's order.
    pub places: Vec<PlaceId>,
    /// Its parts, in the problem's order.
    pub parts: Vec<PartId>,
}

impl Problem {
    /// The problem as a lay.
    ///
    /// # Errors
    /// [`ProblemError`] when a part cannot be what it says.
    pub fn build(&self) -> Result<Built, ProblemError> {
        let mut lay = Lay::new(MassDensity::of_si(self.density));
        let water = Water::at(ThermodynamicTemperature::of_si(self.kelvin));
        let places: Vec<_> = self.places.iter().map(|p| place(&mut lay, *p)).collect();
        let mut parts = Vec::new();
        for (number, part) in self.parts.iter().enumerate() {
            let at = |place: usize| {
                places.get(place).copied().ok_or(ProblemError::NoPlace {
                    part: number,
                    place,
                    places: places.len(),
                })
            };
            parts.push(lay.part(at(part.from)?, at(part.to)?, part.law.element(water)?));
        }
        Ok(Built { lay, places, parts })
    }
}

fn place(lay: &mut Lay, place: Place) -> PlaceId {
    match place {
        Place::Junction { height } => lay.junction(Length::of_si(height)),
        Place::Supply { height, pressure } => {
            lay.supply(Length::of_si(height), Pressure::of_si(pressure))
        }
        Place::Air { height } => lay.air(Length::of_si(height)),
    }
}

impl Gate {
    fn valve(self) -> Valve {
        Valve {
            kind: if self.slide {
                ValveKind::Slide
            } else {
                ValveKind::Ball
            },
            waterway: Length::of_si(self.waterway),
            gate: Ratio::of_si(self.gate),
        }
    }
}

impl Law {
    /// The element of this law in `water`.
    ///
    /// # Errors
    /// [`ProblemError`] when Handline refuses the numbers.
    pub fn element(&self, water: Water) -> Result<Arc<dyn Element>, ProblemError> {
        let flow = VolumeRate::of_si;
        let pressure = Pressure::of_si;
        let run = |friction, length| Run::new(friction, Length::of_si(length), water);
        Ok(match *self {
            Law::Coefficient { us, length } => {
                Arc::new(run(Friction::Coefficient(Coefficient::us(us)?), length)?)
            }
            Law::HazenWilliams { bore, c, length } => {
                let bore = Length::of_si(bore);
                let c = Ratio::of_si(c);
                Arc::new(run(Friction::HazenWilliams { bore, c }, length)?)
            }
            Law::Rated {
                pressure: p,
                flow: q,
            } => Arc::new(Appliance::rated(pressure(p), flow(q))?),
            Law::Valve(gate) => Arc::new(gate.valve()),
            Law::Check => Arc::new(CheckValve),
            Law::SmoothBore {
                bore,
                coefficient,
                shutoff,
            } => {
                let tip = SmoothBore::new(Length::of_si(bore), Ratio::of_si(coefficient))?;
                end(Nozzle::SmoothBore(tip), shutoff)
            }
            Law::Fixed {
                flow: q,
                pressure: p,
                shutoff,
            } => end(Nozzle::Fixed(Fixed::rated(flow(q), pressure(p))?), shutoff),
            Law::Automatic {
                flows,
                pressures,
                shutoff,
            } => {
                let flows = (flow(flows.0), flow(flows.1));
                let pressures = (pressure(pressures.0), pressure(pressures.1));
                end(
                    Nozzle::Automatic(Automatic::new(flows, pressures)?),
                    shutoff,
                )
            }
        })
    }
}

fn end(nozzle: Nozzle, shutoff: Option<Gate>) -> Arc<dyn Element> {
    Arc::new(Tip {
        shutoff: shutoff.map(Gate::valve),
        ..Tip::new(nozzle)
    })
}
