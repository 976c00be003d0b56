//! The stream beyond the tip: two reaches, never one.
//!
//! - **Maximum throw**: where the last of the water lands. The jet flies free of
//!   drag for a coherent length (200 bores), then dv/dt = g - k |u| u with u its
//!   velocity through the air and k = k0 (19 mm / bore); k0 = 0.025 1/m for a
//!   streamlined solid tip, 0.030 1/m for an ordinary one. Calibrated on, and
//!   checked against, the throws measured by Theobald (Fire Safety Journal 4,
//!   1981; 13 to 25 mm, 2 to 6 bar, 20 to 45 degrees): see `checks`. Throws and
//!   greatest heights come out within 5 % rms (worst 13 %); the distance at which the
//!   height is greatest comes out too near (17 % rms): do not lean on it. Wind enters as
//!   velocity of the air (a model: no throw in measured wind was found).
//! - **Effective reach**: how far the stream still is a good one, about half the
//!   throw. Level, for a solid stream: S = NP/2 + 26 ft for a 3/4 in tip, 5 ft more
//!   for each 1/8 in (cases SF110, SF111), NP from 30 to 100 psi; below 30 psi in
//!   proportion to NP, above 100 psi no further credit; tips above 1-3/8 in lie
//!   beyond the rule's table. Straight up: the jet as a
//!   whole rises to Hf = H/(1 + phi H), phi = 0.25/(d + (0.1 d)^3) in mm and metres
//!   (case SF112); its good part to the Hm that solves Hm (1.19 + 80 (0.01 Hm)^4) =
//!   Hf (memory; within 7 % of the good-stream table of 1889, also memory).
//!
//! A spray nozzle on straight stream, and a solid stream disturbed by a ball part
//! open, are reckoned as a solid tip of the same flow and pressure that breaks up
//! after half the length and reaches four fifths as far (a cautious model; common
//! practice, no source). Worked number: 1 in at 50 psi reaches 61 ft level.

use crate::units::{Angle, Length, Measure, Pressure, Velocity, VolumeRate};
use crate::water::{GRAVITY, TRADE_DENSITY};
use uom::si::{angle::degree, length::foot, length::inch, pressure::psi};

/// How well the stream holds together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quality {
    /// A streamlined solid tip.
    Streamlined,
    /// An ordinary solid tip.
    Solid,
    /// A spray nozzle on straight stream, or a disturbed solid stream.
    Broken,
}

impl Quality {
    /// Drag per metre of a 19 mm jet.
    fn drag(self) -> f64 {
        match self {
            Quality::Streamlined => 0.025,
            Quality::Solid | Quality::Broken => 0.030,
        }
    }

    /// Coherent length in bores.
    fn coherent(self) -> f64 {
        match self {
            Quality::Broken => 100.0,
            _ => 200.0,
        }
    }

    fn reach_share(self) -> f64 {
        match self {
            Quality::Broken => 0.8,
            _ => 1.0,
        }
    }
}

/// A stream as it leaves the tip.
///
/// ```
/// use hydraulics::stream::{Quality, Stream};
/// use hydraulics::units::{parse, show, Kind, System};
/// let stream = Stream::new(parse(Kind::Size, "1 in")?, parse(Kind::Pressure, "50 psi")?, Quality::Solid);
/// assert_eq!(show(Kind::Length, stream.effective_reach(), System::Us), "61 ft");
/// assert!(stream.maximum_throw().distance > 1.5 * stream.effective_reach());
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stream {
    /// Diameter of the jet at the tip.
    pub bore: Length,
    /// Nozzle pressure.
    pub pressure: Pressure,
    /// How well it holds together.
    pub quality: Quality,
    /// Angle above the horizontal.
    pub angle: Angle,
    /// Height of the tip above the ground it falls to.
    pub height: Length,
    /// Velocity of the air along the stream; against it is below zero.
    pub wind: Velocity,
}

/// Where a stream lands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Throw {
    /// Level distance from the tip to where it lands.
    pub distance: Length,
    /// Greatest height above the ground.
    pub greatest_height: Length,
    /// Level distance of that height.
    pub height_at: Length,
}

/// A point of a stream's path, measured from the ground below the tip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PathPoint {
    /// Level distance.
    pub distance: Length,
    /// Height above the ground.
    pub height: Length,
}

/// What a stream does at a window.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Strike {
    /// It enters, this high.
    Enters(Length),
    /// It strikes the wall below the sill, this high.
    Below(Length),
    /// It passes above, this high.
    Above(Length),
    /// It falls short of the wall.
    Short,
}

impl Stream {
    /// A stream at the taught best angle (32 degrees; measured throws peak
    /// between 31 and 41, on a flat curve), from 1 m height, in still air.
    pub fn new(bore: Length, pressure: Pressure, quality: Quality) -> Self {
        Stream {
            bore,
            pressure,
            quality,
            angle: Angle::new::<degree>(32.0),
            height: Length::of_si(1.0),
            wind: Velocity::of_si(0.0),
        }
    }

    /// The bore of a solid jet of the same flow and pressure: what stands for a
    /// spray nozzle on straight stream. Zero at no flow or no pressure.
    pub fn equivalent_bore(flow: VolumeRate, pressure: Pressure) -> Length {
        if flow.value <= 0.0 || pressure.value <= 0.0 {
            return Length::of_si(0.0);
        }
        let velocity = (2.0 * pressure.value / TRADE_DENSITY).sqrt();
        Length::of_si((flow.value / velocity * 4.0 / std::f64::consts::PI).sqrt())
    }

    /// No water, or a number that means nothing.
    fn is_none(&self) -> bool {
        let above_zero = |value: f64| value > 0.0 && value.is_finite();
        let place = [self.angle.value, self.height.value, self.wind.value];
        !above_zero(self.bore.value)
            || !above_zero(self.pressure.value)
            || place.iter().any(|value| !value.is_finite())
    }

    /// Level reach of the good stream.
    pub fn effective_reach(&self) -> Length {
        if self.is_none() {
            return Length::of_si(0.0);
        }
        let pressure = self.pressure.get::<psi>().min(100.0);
        let eighths = (self.bore.get::<inch>() - 0.75) / 0.125;
        let rule = |np: f64| (np / 2.0 + 26.0 + 5.0 * eighths).max(0.0);
        let reach = if pressure < 30.0 {
            rule(30.0) * pressure / 30.0
        } else {
            rule(pressure)
        };
        let reach = Length::new::<foot>(reach * self.quality.reach_share());
        let throw = self.maximum_throw().distance;
        if reach < throw { reach } else { throw }
    }

    /// Height to which the last of a jet rises straight up.
    pub fn jet_height(&self) -> Length {
        if self.is_none() {
            return Length::of_si(0.0);
        }
        let head = self.pressure.value / (TRADE_DENSITY * GRAVITY);
        let mm = self.bore.value * 1e3;
        let phi = 0.25 / (mm + (0.1 * mm).powi(3));
        Length::of_si(head / (1.0 + phi * head))
    }

    /// Height of the good stream straight up.
    pub fn vertical_reach(&self) -> Length {
        let jet = self.jet_height().value;
        // The left side is convex and rising: Newton from above comes down to
        // the root without passing it.
        let mut good = jet / 1.19;
        for _ in 0..50 {
            let fourth = 80.0 * (0.01 * good).powi(4);
            let step = (good * (1.19 + fourth) - jet) / (1.19 + 5.0 * fourth);
            good -= step;
            if step.abs() <= 1e-12 * good.abs() {
                break;
            }
        }
        Length::of_si(good * self.quality.reach_share())
    }

    /// Greatest throw at this stream's angle.
    pub fn maximum_throw(&self) -> Throw {
        let mut top = (0.0, self.height.value);
        let mut last = (0.0, 0.0);
        self.fly(|x, y| {
            if y > top.1 {
                top = (x, y);
            }
            last = (x, y);
            true
        });
        // A stream that never rises to the plane does not land on it.
        let landed = if last.1 < 0.0 { 0.0 } else { last.0 };
        Throw {
            distance: Length::of_si(landed.max(0.0)),
            greatest_height: Length::of_si(top.1),
            height_at: Length::of_si(top.0),
        }
    }

    /// The angle of the greatest throw, from 0 to 60 degrees, to a tenth of a
    /// degree. The curve is flat there: measured throws peak between 31 and 41.
    ///
    /// ```
    /// use hydraulics::stream::{Quality, Stream};
    /// use hydraulics::units::{parse, Kind};
    /// let stream = Stream::new(parse(Kind::Size, "1 in")?, parse(Kind::Pressure, "50 psi")?, Quality::Solid);
    /// let best = Stream { angle: stream.best_angle(), ..stream };
    /// assert!(best.maximum_throw().distance >= stream.maximum_throw().distance);
    /// # Ok::<(), hydraulics::units::UnitError>(())
    /// ```
    pub fn best_angle(&self) -> Angle {
        let throw = |degrees: f64| {
            let angle = Angle::new::<degree>(degrees);
            Stream { angle, ..*self }.maximum_throw().distance.value
        };
        // Golden section: the throw has one peak.
        const GOLDEN: f64 = 0.618_033_988_749_895;
        let (mut low, mut high) = (0.0, 60.0);
        while high - low > 0.1 {
            let width = GOLDEN * (high - low);
            if throw(high - width) > throw(low + width) {
                high = low + width;
            } else {
                low = high - width;
            }
        }
        Angle::new::<degree>(0.5 * (low + high))
    }

    /// The path from tip to ground in at most `points` points, the first and the
    /// last among them; the tip alone when there is no stream.
    pub fn path(&self, points: usize) -> Vec<PathPoint> {
        let point = |x: f64, y: f64| PathPoint {
            distance: Length::of_si(x),
            height: Length::of_si(y),
        };
        let mut all = vec![point(0.0, self.height.value)];
        self.fly(|x, y| {
            all.push(point(x, y));
            true
        });
        let last = all.len() - 1;
        let steps = points.saturating_sub(1).clamp(1, last.max(1));
        let chosen = (0..=steps).map(|step| step * last / steps);
        let mut path: Vec<PathPoint> = chosen.filter_map(|i| all.get(i).copied()).collect();
        path.dedup();
        path
    }

    /// Height above the ground at a level `distance`; `None` when it falls
    /// short.
    pub fn height_at(&self, distance: Length) -> Option<Length> {
        if self.is_none() {
            return None;
        }
        let mut last = (0.0, self.height.value);
        let mut found = (distance.value <= 0.0).then_some(last.1);
        self.fly(|x, y| {
            if x >= distance.value && found.is_none() {
                let share = (distance.value - last.0) / (x - last.0).max(1e-12);
                found = Some(last.1 + share * (y - last.1));
            }
            last = (x, y);
            found.is_none()
        });
        found.filter(|&y| y >= 0.0).map(Length::of_si)
    }

    /// What happens at a window `distance` away between the heights `sill` and
    /// `head`.
    pub fn at_window(&self, distance: Length, sill: Length, head: Length) -> Strike {
        match self.height_at(distance) {
            None => Strike::Short,
            Some(height) if height < sill => Strike::Below(height),
            Some(height) if height > head => Strike::Above(height),
            Some(height) => Strike::Enters(height),
        }
    }

    /// Steps along the path by the midpoint rule until it lands, telling `see`
    /// each point, the last on the ground; stops early when `see` says false.
    /// Free of drag the rule is exact; with drag, no step slows the water by more
    /// than a tenth, however fine the jet.
    fn fly(&self, mut see: impl FnMut(f64, f64) -> bool) {
        if self.is_none() {
            return;
        }
        let speed = (2.0 * self.pressure.value / TRADE_DENSITY).sqrt();
        let (sin, cos) = self.angle.value.sin_cos();
        let coherent = self.quality.coherent() * self.bore.value;
        let drag = self.quality.drag() * 0.019 / self.bore.value;
        let wind = self.wind.value;
        let pull = |k: f64, vx: f64, vy: f64| {
            let ux = vx - wind;
            let u = ux.hypot(vy);
            (-k * u * ux, -GRAVITY - k * u * vy)
        };
        let longest = (speed / GRAVITY / 150.0).clamp(0.002, 0.05);
        let (mut x, mut y) = (0.0, self.height.value);
        let (mut vx, mut vy, mut flown) = (speed * cos, speed * sin, 0.0);
        for _ in 0..4000 {
            // The jet breaks up at the end of a step, not within one.
            let left = coherent - flown;
            let (k, dt) = if left > 1e-6 * coherent {
                (0.0, longest.min(left / vx.hypot(vy)))
            } else {
                (drag, longest.min(0.1 / (drag * (vx - wind).hypot(vy))))
            };
            let (ax, ay) = pull(k, vx, vy);
            let (mx, my) = (vx + 0.5 * dt * ax, vy + 0.5 * dt * ay);
            let (ax, ay) = pull(k, mx, my);
            let (from_x, from_y) = (x, y);
            x += dt * mx;
            y += dt * my;
            flown += dt * mx.hypot(my);
            vx += dt * ax;
            vy += dt * ay;
            if y < 0.0 && vy <= 0.0 {
                if from_y >= 0.0 {
                    x = from_x + (x - from_x) * from_y / (from_y - y);
                    y = 0.0;
                }
                see(x, y);
                return;
            }
            if !see(x, y) {
                return;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn stream(mm: f64, bar: f64) -> Stream {
        Stream::new(
            Length::of_si(mm / 1e3),
            Pressure::of_si(bar * 1e5),
            Quality::Solid,
        )
    }

    #[test]
    fn law_no_pressure_no_stream() {
        for bar in [0.0, -1.0] {
            assert_eq!(stream(25.0, bar).effective_reach().value, 0.0);
            assert_eq!(stream(25.0, bar).maximum_throw().distance.value, 0.0);
        }
    }

    #[test]
    fn law_a_window_in_the_path_is_entered() {
        let stream = stream(25.0, 5.0);
        let at = Length::of_si(15.0);
        let height = stream.height_at(at).unwrap();
        let sill = height - Length::of_si(0.5);
        let head = height + Length::of_si(0.5);
        assert!(matches!(
            stream.at_window(at, sill, head),
            Strike::Enters(_)
        ));
        assert!(matches!(
            stream.at_window(at, head, head + head),
            Strike::Below(_)
        ));
        assert_eq!(
            stream.at_window(Length::of_si(500.0), sill, head),
            Strike::Short
        );
    }

    #[test]
    fn law_wind_against_the_stream_shortens_it() {
        let calm = stream(25.0, 5.0);
        let against = Stream {
            wind: Velocity::of_si(-8.0),
            ..calm
        };
        assert!(against.maximum_throw().distance < calm.maximum_throw().distance);
    }

    #[test]
    fn law_free_of_drag_it_is_a_parabola() {
        // Galileo: a jet that lands before it breaks up throws v^2/g sin 2a and
        // rises (v sin a)^2/2g.
        let stream = Stream {
            height: Length::of_si(0.0),
            ..stream(50.0, 0.2)
        };
        let (a, square) = (stream.angle.value, 2.0 * 0.2e5 / TRADE_DENSITY);
        let throw = stream.maximum_throw();
        let distance = square / GRAVITY * (2.0 * a).sin();
        let height = square * a.sin().powi(2) / (2.0 * GRAVITY);
        assert!((throw.distance.value / distance - 1.0).abs() < 1e-3);
        assert!((throw.greatest_height.value / height - 1.0).abs() < 1e-3);
    }

    #[test]
    fn field_best_angle_is_where_measured_throws_peak() {
        // C. Theobald, 1981: 31 to 41 degrees, on a flat curve.
        for (mm, bar) in [(13.0, 2.1), (19.0, 4.8), (25.4, 6.2)] {
            let best = stream(mm, bar).best_angle().get::<degree>();
            assert!((31.0..=41.0).contains(&best), "{mm} mm, {bar} bar: {best}");
        }
    }

    #[test]
    fn law_a_stream_from_below_the_plane_lands_on_it_or_not_at_all() {
        let from = |metres| Stream {
            height: Length::of_si(metres),
            ..stream(19.0, 4.0)
        };
        let (low, deep) = (from(-2.0).maximum_throw(), from(-100.0).maximum_throw());
        assert!(low.distance < from(0.0).maximum_throw().distance);
        assert!(low.distance.value > 0.0);
        assert_eq!(deep.distance.value, 0.0);
        assert_eq!(from(-100.0).height_at(Length::of_si(5.0)), None);
    }

    #[test]
    fn law_the_path_goes_from_tip_to_ground() {
        let stream = stream(25.0, 5.0);
        let path = stream.path(20);
        assert_eq!(path.len(), 20);
        assert_eq!(path.first().map(|p| p.height), Some(stream.height));
        assert_eq!(path.last().map(|p| p.height.value), Some(0.0));
        let throw = stream.maximum_throw().distance;
        assert_eq!(path.last().map(|p| p.distance), Some(throw));
        for few in [0, 1, 2] {
            assert_eq!(stream.path(few).len(), 2);
        }
        let dry = Stream {
            pressure: Pressure::of_si(0.0),
            ..stream
        };
        assert_eq!(dry.path(20).len(), 1);
    }

    #[test]
    fn law_numbers_that_mean_nothing_make_no_stream() {
        let good = stream(25.0, 5.0);
        let bad = f64::NAN;
        for dry in [
            Stream {
                bore: Length::of_si(bad),
                ..good
            },
            Stream {
                pressure: Pressure::of_si(f64::INFINITY),
                ..good
            },
            Stream {
                angle: Angle::of_si(bad),
                ..good
            },
            Stream {
                height: Length::of_si(bad),
                ..good
            },
            Stream {
                wind: Velocity::of_si(bad),
                ..good
            },
        ] {
            assert_eq!(dry.effective_reach().value, 0.0);
            assert_eq!(dry.vertical_reach().value, 0.0);
            assert_eq!(dry.maximum_throw().distance.value, 0.0);
            assert_eq!(dry.height_at(Length::of_si(1.0)), None);
        }
    }

    proptest! {
        /// Any wind, any angle, a jet as fine as a hair: a number, at once.
        #[test]
        fn law_every_throw_is_a_number(
            mm in 0.05..80.0f64, bar in 1e-3..40.0f64,
            degrees in -90.0..180.0f64, wind in -60.0..60.0f64, height in -20.0..60.0f64,
        ) {
            let stream = Stream {
                angle: Angle::new::<degree>(degrees),
                wind: Velocity::of_si(wind),
                height: Length::of_si(height),
                ..stream(mm, bar)
            };
            let throw = stream.maximum_throw();
            prop_assert!(throw.distance.value >= 0.0 && throw.distance.value.is_finite());
            prop_assert!(throw.greatest_height >= stream.height);
        }

        /// Neither where the rule for 30 psi begins nor anywhere else does the
        /// reach jump.
        #[test]
        fn law_reach_does_not_jump(mm in 10.0..40.0f64, bar in 0.1..12.0f64) {
            let (here, there) = (stream(mm, bar), stream(mm, bar + 1e-4));
            let gained = there.effective_reach() - here.effective_reach();
            prop_assert!(gained.value.abs() < 0.05);
        }

        #[test]
        fn law_more_pressure_reaches_further(mm in 10.0..50.0f64, a in 0.2..12.0f64, b in 0.2..12.0f64) {
            let (low, high) = (stream(mm, a.min(b)), stream(mm, a.max(b)));
            prop_assert!(high.effective_reach() >= low.effective_reach() - Length::of_si(0.05));
            prop_assert!(high.vertical_reach() >= low.vertical_reach());
        }

        #[test]
        fn law_reach_is_within_the_throw(mm in 4.0..60.0f64, bar in 0.0..20.0f64) {
            let stream = stream(mm, bar);
            prop_assert!(stream.effective_reach() <= stream.maximum_throw().distance);
            prop_assert!(stream.effective_reach().value.is_finite());
        }
    }
}
