//! What a lay consists of: places and parts.

use hydraulics::element::Element;
use hydraulics::units::{Length, MassDensity, Measure, Pressure, VolumeRate};
use hydraulics::water::GRAVITY;
use std::sync::Arc;

/// A place in a [`Lay`]: where parts meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PlaceId(pub(crate) usize);

/// A part of a [`Lay`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PartId(pub(crate) usize);

/// What a place is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// Where parts meet; its pressure is sought.
    Junction,
    /// A pump outlet held at a pressure.
    Supply,
    /// The open air, at gauge pressure zero.
    Air,
}

#[derive(Debug, Clone)]
pub(crate) struct Place {
    pub role: Role,
    pub height: f64,
    /// Gauge pressure of a supply.
    pub pressure: f64,
    /// Flow drawn off at a junction.
    pub drawn: f64,
}

#[derive(Debug, Clone)]
pub(crate) struct Part {
    pub from: usize,
    pub to: usize,
    pub law: Arc<dyn Element>,
}

/// Places and the parts that join them.
///
/// ```
/// use hydraulics::nozzle::{Fixed, Nozzle, Tip};
/// use hydraulics::units::{parse, Kind, Length, MassDensity, Measure};
/// use hydraulics::valve::CheckValve;
/// use std::sync::Arc;
/// let mut lay = lay::Lay::new(MassDensity::of_si(999.0));
/// let level = Length::of_si(0.0);
/// let pump = lay.supply(level, parse(Kind::Pressure, "100 psi")?);
/// let base = lay.junction(level);
/// let air = lay.air(level);
/// lay.part(pump, base, Arc::new(CheckValve));
/// let nozzle = Fixed::rated(parse(Kind::Flow, "95 gpm")?, parse(Kind::Pressure, "100 psi")?)?;
/// let tip = lay.part(base, air, Arc::new(Tip::new(Nozzle::Fixed(nozzle))));
/// let answer = lay::solve(&lay);
/// let gpm = hydraulics::units::show(Kind::Flow, answer.flow(tip), Default::default());
/// assert_eq!(gpm, "95 gpm");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Lay {
    pub(crate) places: Vec<Place>,
    pub(crate) parts: Vec<Part>,
    pub(crate) weight: f64,
}

impl Lay {
    /// An empty lay carrying water of `density`.
    pub fn new(density: MassDensity) -> Self {
        Lay {
            places: Vec::new(),
            parts: Vec::new(),
            weight: density.value * GRAVITY,
        }
    }

    fn place(&mut self, role: Role, height: Length, pressure: f64) -> PlaceId {
        self.places.push(Place {
            role,
            height: height.value,
            pressure,
            drawn: 0.0,
        });
        PlaceId(self.places.len() - 1)
    }

    /// A place where parts meet.
    pub fn junction(&mut self, height: Length) -> PlaceId {
        self.place(Role::Junction, height, 0.0)
    }

    /// A pump outlet held at gauge pressure `pressure`.
    pub fn supply(&mut self, height: Length, pressure: Pressure) -> PlaceId {
        self.place(Role::Supply, height, pressure.value)
    }

    /// The open air at a tip.
    pub fn air(&mut self, height: Length) -> PlaceId {
        self.place(Role::Air, height, 0.0)
    }

    /// A part from `from` to `to`.
    pub fn part(&mut self, from: PlaceId, to: PlaceId, law: Arc<dyn Element>) -> PartId {
        self.parts.push(Part {
            from: from.0,
            to: to.0,
            law,
        });
        PartId(self.parts.len() - 1)
    }

    /// Holds a supply at another pressure. Other places are left as they are.
    pub fn set_pressure(&mut self, supply: PlaceId, pressure: Pressure) {
        if let Some(place) = self.places.get_mut(supply.0)
            && place.role == Role::Supply
        {
            place.pressure = pressure.value;
        }
    }

    /// Makes of `place` a supply held at a pressure, whatever it was.
    pub fn hold(&mut self, place: PlaceId, pressure: Pressure) {
        if let Some(place) = self.places.get_mut(place.0) {
            place.role = Role::Supply;
            place.pressure = pressure.value;
        }
    }

    /// Puts another law in the place of a part's.
    pub fn replace(&mut self, part: PartId, law: Arc<dyn Element>) {
        if let Some(part) = self.parts.get_mut(part.0) {
            part.law = law;
        }
    }

    /// Draws `flow` off at a junction, whatever its pressure.
    pub fn draw(&mut self, place: PlaceId, flow: VolumeRate) {
        if let Some(place) = self.places.get_mut(place.0) {
            place.drawn = flow.value;
        }
    }

    /// Every place.
    pub fn places(&self) -> impl Iterator<Item = PlaceId> + use<> {
        (0..self.places.len()).map(PlaceId)
    }

    /// Every part.
    pub fn parts(&self) -> impl Iterator<Item = PartId> + use<> {
        (0..self.parts.len()).map(PartId)
    }

    /// What `place` is.
    pub fn role(&self, place: PlaceId) -> Role {
        self.places[place.0].role
    }

    /// The height of `place`.
    pub fn height(&self, place: PlaceId) -> Length {
        Length::of_si(self.places[place.0].height)
    }

    /// The places that `part` joins: its inlet and its outlet.
    pub fn ends(&self, part: PartId) -> (PlaceId, PlaceId) {
        let part = &self.parts[part.0];
        (PlaceId(part.from), PlaceId(part.to))
    }

    /// The law of `part`.
    pub fn law(&self, part: PartId) -> &dyn Element {
        self.parts[part.0].law.as_ref()
    }

    /// Weight of water in the height between the ends of `part`: what its
    /// outlet lacks at rest.
    pub fn rise(&self, part: PartId) -> Pressure {
        let part = &self.parts[part.0];
        Pressure::of_si(self.weight * (self.places[part.to].height - self.places[part.from].height))
    }

    /// Weight of a column of this lay's water, `height` high.
    pub fn column(&self, height: Length) -> Pressure {
        Pressure::of_si(self.weight * height.value)
    }

    /// Pressure that `place` would have at height zero, if it is held.
    pub(crate) fn held_head(&self, place: usize) -> Option<f64> {
        let place = &self.places[place];
        let head = self.weight * place.height;
        match place.role {
            Role::Junction => None,
            Role::Supply => Some(place.pressure + head),
            Role::Air => Some(head),
        }
    }

    pub(crate) fn static_head(&self, place: usize) -> f64 {
        self.weight * self.places[place].height
    }
}
