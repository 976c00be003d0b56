//! Water that is carried: tanks at the fire, and tankers that fill them.
//!
//! - A tank of content V, drawn at q and refilled at r, lasts V / (q - r).
//! - A tanker brings its usable tank in each cycle: rate = usable / cycle (case
//!   PS-B25, seen: (3000 - 300) gal / 12 min = 225 gpm). Usable: 90 % of the tank.
//! - Travel one way: T = 0.65 + 1.7 D min, D in miles (case PS-B26, seen): 35 mph on the
//!   road, and what starting and stopping takes.
//! - Cycle = fill + dump + handling + 2 T. A printed example takes T once for the
//!   whole round (2250 gal / (5.75 + 9) min = 153 gpm, seen); two ways of half the
//!   length take 0.65 min more, for they start and stop twice.
//! - At most one tanker fills and one dumps at a time, so that a shuttle brings
//!   no more than one load a fill or dump time, however many tankers go.
//!
//! A portable tank between arrivals is followed by [`course`], from event to event
//! and exactly: content is linear in between.

use crate::units::{Length, Measure, Ratio, Time, Volume, VolumeRate};
use uom::si::{length::mile, time::minute};

/// Why a shuttle cannot be worked out.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ShuttleError {
    /// Something that must be above zero is not.
    #[error("the {what} is not above zero")]
    NotPositive {
        /// The thing.
        what: &'static str,
    },
    /// Something that must not be below zero is.
    #[error("the {what} is below zero")]
    Negative {
        /// The thing.
        what: &'static str,
    },
    /// More than [`MOST_LOADS`] loads would come.
    #[error("more than {MOST_LOADS} loads come in that time: ask about a shorter one")]
    TooLong,
}

/// The most loads that a course is followed over.
pub const MOST_LOADS: u32 = 10_000;

fn above_zero(value: f64, what: &'static str) -> Result<f64, ShuttleError> {
    match value > 0.0 && value.is_finite() {
        true => Ok(value),
        false => Err(ShuttleError::NotPositive { what }),
    }
}

fn not_negative(value: f64, what: &'static str) -> Result<f64, ShuttleError> {
    match value >= 0.0 && value.is_finite() {
        true => Ok(value),
        false => Err(ShuttleError::Negative { what }),
    }
}

/// How long `content` lasts while `drawn` flows out and `refill` in; `None` when
/// it does not run out.
///
/// ```
/// use hydraulics::shuttle::lasts;
/// use hydraulics::units::{gpm, parse, show, Kind, System};
/// let time = lasts(parse(Kind::Volume, "750 gal")?, gpm(150.0), gpm(0.0));
/// assert_eq!(show(Kind::Time, time.unwrap(), System::Us), "5.0 min");
/// assert!(lasts(parse(Kind::Volume, "750 gal")?, gpm(150.0), gpm(200.0)).is_none());
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
pub fn lasts(content: Volume, drawn: VolumeRate, refill: VolumeRate) -> Option<Time> {
    let net = drawn - refill;
    (net.value > 0.0).then(|| content.max(Volume::of_si(0.0)) / net)
}

/// Water that `flow` takes in `time`.
pub fn drawn_in(flow: VolumeRate, time: Time) -> Volume {
    flow * time
}

/// Time on the road, one way: 0.65 + 1.7 D min, D in miles.
///
/// ```
/// use hydraulics::shuttle::travel_time;
/// use hydraulics::units::{parse, Kind};
/// let time = travel_time(parse(Kind::Length, "3 mi")?);
/// // Printed: 5.75 min (case PS-B26).
/// assert!((time.get::<uom::si::time::minute>() - 5.75).abs() < 1e-12);
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
pub fn travel_time(distance: Length) -> Time {
    Time::new::<minute>(0.65 + 1.7 * distance.get::<mile>())
}

/// The share of a tank that is planned with: 90 %.
pub fn usable_share() -> Ratio {
    Ratio::of_si(0.9)
}

/// What one round takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cycle {
    /// At the fill place, hooking up included.
    pub fill: Time,
    /// At the dump place.
    pub dump: Time,
    /// On the road, one way.
    pub travel: Time,
    /// What else is lost in a round: turning, waiting.
    pub handling: Time,
}

impl Cycle {
    /// Fill, dump, handling, and the road there and back.
    pub fn total(&self) -> Time {
        self.fill + self.dump + self.handling + 2.0 * self.travel
    }
}

/// Like tankers on one route.
///
/// ```
/// use hydraulics::shuttle::{usable_share, Cycle, Shuttle};
/// use hydraulics::units::{gpm, parse, show, Kind, System};
/// let cycle = Cycle {
///     fill: parse(Kind::Time, "4 min")?,
///     dump: parse(Kind::Time, "2 min")?,
///     travel: parse(Kind::Time, "2.5 min")?,
///     handling: parse(Kind::Time, "1 min")?,
/// };
/// let shuttle = Shuttle::new(parse(Kind::Volume, "3000 gal")?, usable_share(), cycle)?;
/// // Printed: 225 gpm for one tanker (case PS-B25).
/// assert_eq!(show(Kind::Flow, shuttle.sustained(1), System::Us), "225 gpm");
/// assert_eq!(shuttle.number_needed(gpm(500.0)), Some(3));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shuttle {
    load: Volume,
    cycle: Cycle,
}

impl Shuttle {
    /// Tankers with `tank`, of which `usable` is brought, each round `cycle`.
    ///
    /// # Errors
    /// [`ShuttleError`] unless tank, share and cycle are above zero and no part
    /// of the cycle is below it.
    pub fn new(tank: Volume, usable: Ratio, cycle: Cycle) -> Result<Self, ShuttleError> {
        above_zero(tank.value, "tank")?;
        above_zero(usable.value, "usable share")?;
        not_negative(cycle.fill.value, "time to fill")?;
        not_negative(cycle.dump.value, "time to dump")?;
        not_negative(cycle.travel.value, "time on the road")?;
        not_negative(cycle.handling.value, "time for handling")?;
        above_zero(cycle.total().value, "cycle")?;
        let load = tank * usable.min(Ratio::of_si(1.0));
        Ok(Shuttle { load, cycle })
    }

    /// What one tanker brings in a round.
    pub fn load(&self) -> Volume {
        self.load
    }

    /// Its round.
    pub fn cycle(&self) -> Cycle {
        self.cycle
    }

    /// The most that any number of tankers brings, by the slower of the fill
    /// and dump places; `None` where neither takes time.
    pub fn most(&self) -> Option<VolumeRate> {
        let place = self.cycle.fill.max(self.cycle.dump);
        (place.value > 0.0).then(|| self.load / place)
    }

    /// Flow that `tankers` keep up.
    pub fn sustained(&self, tankers: u32) -> VolumeRate {
        let carried = self.load / self.cycle.total() * f64::from(tankers);
        self.most().map_or(carried, |most| carried.min(most))
    }

    /// Tankers that keep up `flow`; `None` when no number of them does.
    pub fn number_needed(&self, flow: VolumeRate) -> Option<u32> {
        if self.most().is_some_and(|most| flow > most) {
            return None;
        }
        let number = (flow / (self.load / self.cycle.total())).value;
        // A hair, so that 2.0000000001 tankers are two.
        let whole = (number - 1e-9).ceil().max(0.0);
        (whole <= f64::from(u32::MAX)).then_some(whole as u32)
    }

    /// The loads of `tankers` spread evenly over the cycle, the first at `first`.
    pub fn arrivals(&self, tankers: u32, first: Time) -> Arrivals {
        Arrivals {
            load: self.load,
            every: self.cycle.total() / f64::from(tankers.max(1)),
            first,
            dump: self.cycle.dump,
        }
    }
}

/// Loads that come at even times.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arrivals {
    /// Water in each.
    pub load: Volume,
    /// From one to the next.
    pub every: Time,
    /// When the first comes.
    pub first: Time,
    /// Time in which one empties; zero: at once. One empties at a time.
    pub dump: Time,
}

/// A portable tank at the fire.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Storage {
    /// What it holds.
    pub capacity: Volume,
    /// What is in it at the start; no more than its capacity.
    pub start: Volume,
    /// Flow drawn from it, all the time.
    pub drawn: VolumeRate,
}

/// What becomes of a tank over a time.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Content at the times at which it bends, from the start to the end. Two
    /// points at one time are a load dumped at once.
    pub points: Vec<(Time, Volume)>,
    /// The lowest content.
    pub lowest: Volume,
    /// When it is first that low.
    pub lowest_at: Time,
    /// When the tank first has nothing left of what is drawn; `None`: never.
    pub dry_at: Option<Time>,
    /// What was wanted and could not be drawn.
    pub missed: Volume,
    /// What still waits in tankers at the end, for want of room or time.
    pub waiting: Volume,
}

impl Course {
    /// Content at `time`, level before the first point and after the last.
    pub fn content_at(&self, time: Time) -> Volume {
        let after = self.points.iter().position(|point| point.0 > time);
        match after {
            Some(0) => self.points.first().map_or(self.lowest, |p| p.1),
            None => self.points.last().map_or(self.lowest, |p| p.1),
            Some(i) => match self.points.get(i.saturating_sub(1)..=i) {
                Some([(t0, v0), (t1, v1)]) => *v0 + (*v1 - *v0) * ((time - *t0) / (*t1 - *t0)),
                _ => self.lowest,
            },
        }
    }
}

/// Follows `tank` for `over` while `arrivals` come.
///
/// # Errors
/// [`ShuttleError`] when a volume, flow or time is out of its range, or more than
/// [`MOST_LOADS`] loads come.
///
/// ```
/// use hydraulics::shuttle::{course, Arrivals, Storage};
/// use hydraulics::units::{gpm, parse, show, Kind, System};
/// let tank = Storage {
///     capacity: parse(Kind::Volume, "3000 gal")?,
///     start: parse(Kind::Volume, "2000 gal")?,
///     drawn: gpm(350.0),
/// };
/// let arrivals = Arrivals {
///     load: parse(Kind::Volume, "1000 gal")?,
///     every: parse(Kind::Time, "4 min")?,
///     first: parse(Kind::Time, "2 min")?,
///     dump: parse(Kind::Time, "0 min")?,
/// };
/// let course = course(tank, arrivals, parse(Kind::Time, "30 min")?)?;
/// assert_eq!(show(Kind::Time, course.dry_at.unwrap(), System::Us), "17.1 min");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn course(tank: Storage, arrivals: Arrivals, over: Time) -> Result<Course, ShuttleError> {
    let mut state = Follow::new(tank, arrivals, over)?;
    while state.time < state.end {
        state.step();
    }
    Ok(state.finish())
}

/// A tank being followed, in m3, s and m3/s.
struct Follow {
    capacity: f64,
    drawn: f64,
    load: f64,
    every: f64,
    /// Flow out of a tanker; infinite when it dumps at once.
    dumping: f64,
    end: f64,
    time: f64,
    content: f64,
    waiting: f64,
    loads: u32,
    first: f64,
    missed: f64,
    dry_at: Option<f64>,
    lowest: (f64, f64),
    points: Vec<(f64, f64)>,
}

impl Follow {
    fn new(tank: Storage, arrivals: Arrivals, over: Time) -> Result<Self, ShuttleError> {
        let capacity = above_zero(tank.capacity.value, "capacity of the tank")?;
        let content = not_negative(tank.start.value, "content at the start")?.min(capacity);
        let load = not_negative(arrivals.load.value, "load of a tanker")?;
        let every = above_zero(arrivals.every.value, "time between tankers")?;
        let first = not_negative(arrivals.first.value, "time of the first tanker")?;
        let dump = not_negative(arrivals.dump.value, "time to dump")?;
        let end = not_negative(over.value, "time to follow")?;
        if (end - first) / every > f64::from(MOST_LOADS) {
            return Err(ShuttleError::TooLong);
        }
        Ok(Follow {
            capacity,
            drawn: not_negative(tank.drawn.value, "flow drawn")?,
            load,
            every,
            dumping: if dump > 0.0 {
                load / dump
            } else {
                f64::INFINITY
            },
            end,
            time: 0.0,
            content,
            waiting: 0.0,
            loads: 0,
            first,
            missed: 0.0,
            dry_at: None,
            lowest: (content, 0.0),
            points: vec![(0.0, content)],
        })
    }

    fn next_arrival(&self) -> f64 {
        self.first + f64::from(self.loads) * self.every
    }

    /// On to the next event.
    fn step(&mut self) {
        if self.next_arrival() <= self.time {
            self.waiting += self.load;
            self.loads += 1;
        }
        self.dump_at_once();
        let inflow = self.inflow();
        let outflow = match self.content > 0.0 {
            true => self.drawn,
            false => self.drawn.min(inflow),
        };
        if outflow < self.drawn && self.dry_at.is_none() {
            self.dry_at = Some(self.time);
        }
        let until = self.next_event(inflow, outflow);
        self.go(until, inflow, outflow);
    }

    /// Tankers that take no time to dump fill what room there is.
    fn dump_at_once(&mut self) {
        if self.dumping.is_infinite() && self.waiting > 0.0 {
            let room = (self.capacity - self.content).min(self.waiting);
            let full = room < self.waiting;
            self.content = match full {
                true => self.capacity,
                false => self.content + self.waiting,
            };
            self.waiting -= room;
            self.points.push((self.time, self.content));
        }
    }

    /// Flow into the tank: what the dumping tanker gives, and no more than is
    /// drawn where the tank is full.
    fn inflow(&self) -> f64 {
        match (self.waiting > 0.0, self.content >= self.capacity) {
            (false, _) => 0.0,
            (true, true) => self.dumping.min(self.drawn),
            (true, false) => self.dumping,
        }
    }

    fn next_event(&self, inflow: f64, outflow: f64) -> f64 {
        let net = inflow - outflow;
        let mut until = self.end.min(self.next_arrival());
        if inflow > 0.0 {
            until = until.min(self.time + self.waiting / inflow);
        }
        if net > 0.0 {
            until = until.min(self.time + (self.capacity - self.content) / net);
        }
        if net < 0.0 {
            until = until.min(self.time + self.content / -net);
        }
        until
    }

    fn go(&mut self, until: f64, inflow: f64, outflow: f64) {
        let span = (until - self.time).max(0.0);
        let net = inflow - outflow;
        self.time += span;
        // What would be met within a hair is met now, so that every step gets on.
        let hair = 1e-9 + 1e-12 * self.time;
        self.missed += (self.drawn - outflow) * span;
        self.waiting = met(self.waiting - inflow * span, inflow * hair);
        let content = met(self.content + net * span, -net * hair);
        self.content = self.capacity - met(self.capacity - content, net * hair);
        self.points.push((self.time, self.content));
        if self.content < self.lowest.0 {
            self.lowest = (self.content, self.time);
        }
    }

    fn finish(self) -> Course {
        let mut points: Vec<_> = self.points;
        points.dedup();
        let points = points
            .into_iter()
            .map(|(t, v)| (Time::of_si(t), Volume::of_si(v)));
        Course {
            points: points.collect(),
            lowest: Volume::of_si(self.lowest.0),
            lowest_at: Time::of_si(self.lowest.1),
            dry_at: self.dry_at.map(Time::of_si),
            missed: Volume::of_si(self.missed),
            waiting: Volume::of_si(self.waiting),
        }
    }
}

/// `left`, or zero where it is not above `hair`.
fn met(left: f64, hair: f64) -> f64 {
    match left > hair.max(0.0) {
        true => left,
        false => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::gpm;
    use proptest::prelude::*;
    use uom::si::volume::gallon;

    fn minutes(value: f64) -> Time {
        Time::new::<minute>(value)
    }

    fn gallons(value: f64) -> Volume {
        Volume::new::<gallon>(value)
    }

    fn shuttle() -> Shuttle {
        let cycle = Cycle {
            fill: minutes(4.0),
            dump: minutes(2.0),
            travel: minutes(5.0),
            handling: minutes(2.0),
        };
        Shuttle::new(gallons(2000.0), usable_share(), cycle).unwrap()
    }

    #[test]
    fn law_more_tankers_than_the_fill_place_takes_bring_no_more() {
        let most = shuttle().most().unwrap();
        assert!((most - gpm(450.0)).value.abs() < 1e-9);
        assert!((shuttle().sustained(2) - gpm(200.0)).value.abs() < 1e-9);
        assert_eq!(shuttle().sustained(50), most);
        assert_eq!(shuttle().number_needed(gpm(200.0)), Some(2));
        assert_eq!(shuttle().number_needed(gpm(201.0)), Some(3));
        assert_eq!(shuttle().number_needed(gpm(451.0)), None);
    }

    #[test]
    fn law_a_tank_drawn_at_what_the_shuttle_keeps_up_never_runs_dry() {
        let flow = shuttle().sustained(4);
        let tank = |flow| Storage {
            capacity: gallons(4000.0),
            start: gallons(2500.0),
            drawn: flow,
        };
        let arrivals = shuttle().arrivals(4, minutes(3.0));
        let kept = course(tank(flow), arrivals, minutes(600.0)).unwrap();
        assert!(kept.dry_at.is_none());
        assert!(kept.lowest > gallons(500.0));
        let beyond = course(tank(flow * 1.1), arrivals, minutes(600.0)).unwrap();
        assert!(beyond.dry_at.is_some() && beyond.missed > gallons(100.0));
    }

    #[test]
    fn law_a_full_tank_keeps_tankers_waiting() {
        let tank = Storage {
            capacity: gallons(1000.0),
            start: gallons(1000.0),
            drawn: gpm(0.0),
        };
        let still = course(tank, shuttle().arrivals(1, minutes(0.0)), minutes(10.0)).unwrap();
        assert!((still.waiting - gallons(1800.0)).value.abs() < 1e-9);
        assert_eq!(still.lowest, gallons(1000.0));
    }

    #[test]
    fn law_content_is_linear_between_events() {
        let tank = Storage {
            capacity: gallons(3000.0),
            start: gallons(3000.0),
            drawn: gpm(100.0),
        };
        let mut arrivals = shuttle().arrivals(1, minutes(10.0));
        arrivals.dump = minutes(0.0);
        let course = course(tank, arrivals, minutes(20.0)).unwrap();
        for (time, content) in [
            (5.0, 2500.0),
            (9.999, 2000.1),
            (10.0, 3000.0),
            (12.0, 3000.0),
        ] {
            let found = course.content_at(minutes(time));
            assert!((found - gallons(content)).value.abs() < 1e-6, "{time}");
        }
    }

    #[test]
    fn a_shuttle_that_cannot_be_is_refused() {
        let cycle = Cycle {
            fill: minutes(-1.0),
            ..shuttle().cycle()
        };
        let refused = Shuttle::new(gallons(2000.0), usable_share(), cycle);
        assert_eq!(
            refused,
            Err(ShuttleError::Negative {
                what: "time to fill"
            })
        );
        let tank = Storage {
            capacity: gallons(1000.0),
            start: gallons(0.0),
            drawn: gpm(10.0),
        };
        let mut arrivals = shuttle().arrivals(1, minutes(0.0));
        arrivals.every = Time::of_si(1e-6);
        let refused = course(tank, arrivals, minutes(10.0));
        assert_eq!(refused, Err(ShuttleError::TooLong));
    }

    proptest! {
        #[test]
        fn law_no_water_is_made_or_lost(
            capacity in 1.0..20.0f64,
            start in 0.0..20.0f64,
            drawn in 0.0..0.1f64,
            load in 0.0..12.0f64,
            every in 5.0..2000.0f64,
            first in 0.0..2000.0f64,
            dump in prop_oneof![Just(0.0), 1.0..600.0f64],
            over in 0.0..50_000.0f64,
        ) {
            let tank = Storage {
                capacity: Volume::of_si(capacity),
                start: Volume::of_si(start),
                drawn: VolumeRate::of_si(drawn),
            };
            let arrivals = Arrivals {
                load: Volume::of_si(load),
                every: Time::of_si(every),
                first: Time::of_si(first),
                dump: Time::of_si(dump),
            };
            let course = course(tank, arrivals, Time::of_si(over)).unwrap();
            let end = course.content_at(Time::of_si(over)).value;
            let mut loads = 0.0;
            while first + loads * every < over {
                loads += 1.0;
            }
            let came = start.min(capacity) + loads * load;
            let went = end + course.waiting.value + drawn * over - course.missed.value;
            prop_assert!((came - went).abs() < 1e-6 * came.max(1.0), "{came} {went}");
            for (_, content) in &course.points {
                prop_assert!((0.0..=capacity).contains(&content.value));
            }
            prop_assert_eq!(course.dry_at.is_some(), course.missed.value > 0.0);
        }
    }
}
