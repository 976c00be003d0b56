//! The arithmetic of one operating point, in as many lanes as the processor has.
//! No operation is fused with another, so that every processor gives the same bits.
//! There are no closures on the way: they are compiled without the processor's wide
//! arithmetic, and every operation in them becomes a call.

use super::points::{Column, NozzleColumns, Points};
use super::series::Series;
use hydraulics::element::REST;
use hydraulics::nozzle::Discharge;
use pulp::{Arch, Scalar, Simd, WithSimd};
use std::ops::{Add, Div, Mul, Sub};

/// Pressures above this, in Pa, and losses of a unit flow above its square, count
/// as this: far from anything real, and far from overflow.
const MOST: f64 = 1e15;

/// Steps on the cubic of an automatic nozzle in its range.
const STEPS: usize = 4;

/// Miss of head, as a share of it, above which the range is searched by brackets.
const MISS: f64 = 1e-13;

/// One number in every lane of `U` vectors: two at once keep the processor busy where
/// each step waits for the one before it.
#[derive(Clone, Copy)]
struct V<S: Simd, const U: usize>(S, [S::f64s; U]);

/// Yes or no in every lane.
#[derive(Clone, Copy)]
struct Mask<S: Simd, const U: usize>(S, [S::m64s; U]);

macro_rules! operator {
    ($name:ident, $method:ident, $of:ident) => {
        impl<S: Simd, const U: usize> $name for V<S, U> {
            type Output = Self;
            #[inline(always)]
            fn $method(mut self, other: Self) -> Self {
                for (a, b) in self.1.iter_mut().zip(other.1) {
                    *a = self.0.$of(*a, b);
                }
                self
            }
        }
    };
}

operator!(Add, add, add_f64s);
operator!(Sub, sub, sub_f64s);
operator!(Mul, mul, mul_f64s);
operator!(Div, div, div_f64s);

impl<S: Simd, const U: usize> V<S, U> {
    #[inline(always)]
    fn all(simd: S, value: f64) -> Self {
        V(simd, [simd.splat_f64s(value); U])
    }

    #[inline(always)]
    fn sqrt(mut self) -> Self {
        for a in &mut self.1 {
            *a = self.0.sqrt_f64s(*a);
        }
        self
    }

    #[inline(always)]
    fn above(self, other: Self) -> Mask<S, U> {
        let mut mask = Mask::none(self.0);
        for ((m, a), b) in mask.1.iter_mut().zip(self.1).zip(other.1) {
            *m = self.0.greater_than_f64s(a, b);
        }
        mask
    }

    /// This where `mask`, elsewhere `other`.
    #[inline(always)]
    fn when(mut self, mask: Mask<S, U>, other: Self) -> Self {
        for ((a, m), b) in self.1.iter_mut().zip(mask.1).zip(other.1) {
            *a = self.0.select_f64s(m, *a, b);
        }
        self
    }

    /// Brought between 0 and `most`; what is no number becomes 0.
    #[inline(always)]
    fn within(self, most: Self) -> Self {
        let zero = Self::all(self.0, 0.0);
        let positive = self.when(self.above(zero), zero);
        most.when(positive.above(most), positive)
    }
}

impl<S: Simd, const U: usize> Mask<S, U> {
    #[inline(always)]
    fn none(simd: S) -> Self {
        let zero = simd.splat_f64s(0.0);
        Mask(simd, [simd.greater_than_f64s(zero, zero); U])
    }

    #[inline(always)]
    fn and(mut self, other: Self) -> Self {
        for (a, b) in self.1.iter_mut().zip(other.1) {
            *a = self.0.and_m64s(*a, b);
        }
        self
    }

    #[inline(always)]
    fn but_not(mut self, other: Self) -> Self {
        for (a, b) in self.1.iter_mut().zip(other.1) {
            *a = self.0.and_m64s(*a, self.0.not_m64s(b));
        }
        self
    }

    #[inline(always)]
    fn or(mut self, other: Self) -> Self {
        for (a, b) in self.1.iter_mut().zip(other.1) {
            *a = self.0.or_m64s(*a, b);
        }
        self
    }

    #[inline(always)]
    fn is_none(self) -> bool {
        let mut any = false;
        for m in self.1 {
            any |= self.0.first_true_m64s(m) < S::F64_LANES;
        }
        !any
    }
}

/// A nozzle in every lane, with what follows from it alone.
#[derive(Clone, Copy)]
struct Nozzle<S: Simd, const U: usize> {
    closed: Stop<S, U>,
    open: Stop<S, U>,
    /// Growth of factor and pressure over the whole travel.
    dk: V<S, U>,
    dp: V<S, U>,
    /// Pressure half way, and its root.
    middle: V<S, U>,
    root: V<S, U>,
}

#[derive(Clone, Copy)]
struct Stop<S: Simd, const U: usize> {
    k: V<S, U>,
    p: V<S, U>,
    /// 1/K^2.
    c: V<S, U>,
    /// Flow where the range begins or ends, and its square.
    q: V<S, U>,
    qq: V<S, U>,
}

impl<S: Simd, const U: usize> Stop<S, U> {
    #[inline(always)]
    fn new(k: V<S, U>, p: V<S, U>) -> Self {
        let kk = k * k;
        Stop {
            k,
            p,
            c: V::all(k.0, 1.0) / kk,
            q: k * p.sqrt(),
            qq: kk * p,
        }
    }

    /// Head at which a line of square loss `r` and trace `b` comes to this stop.
    #[inline(always)]
    fn head(&self, r: V<S, U>, b: V<S, U>) -> V<S, U> {
        r * self.qq + b * self.q + self.p
    }
}

impl<S: Simd, const U: usize> Nozzle<S, U> {
    #[inline(always)]
    fn each(k1: V<S, U>, p1: V<S, U>, k2: V<S, U>, p2: V<S, U>) -> Self {
        let dp = p2 - p1;
        let middle = p1 + V::all(k1.0, 0.5) * dp;
        Nozzle {
            closed: Stop::new(k1, p1),
            open: Stop::new(k2, p2),
            dk: k2 - k1,
            dp,
            middle,
            root: middle.sqrt(),
        }
    }
}

impl Nozzle<Scalar, 1> {
    #[inline(always)]
    fn alone(nozzle: &Discharge) -> Self {
        let simd = Scalar::new();
        let (low, high) = (nozzle.closed, nozzle.open);
        Self::each(
            V::all(simd, low.k),
            V::all(simd, low.p),
            V::all(simd, high.k),
            V::all(simd, high.p),
        )
    }

    /// The same in every lane of `simd`.
    #[inline(always)]
    fn spread<S: Simd, const U: usize>(&self, simd: S) -> Nozzle<S, U> {
        Nozzle {
            closed: self.closed.spread(simd),
            open: self.open.spread(simd),
            dk: V::all(simd, self.dk.1[0]),
            dp: V::all(simd, self.dp.1[0]),
            middle: V::all(simd, self.middle.1[0]),
            root: V::all(simd, self.root.1[0]),
        }
    }
}

impl Stop<Scalar, 1> {
    #[inline(always)]
    fn spread<S: Simd, const U: usize>(&self, simd: S) -> Stop<S, U> {
        Stop {
            k: V::all(simd, self.k.1[0]),
            p: V::all(simd, self.p.1[0]),
            c: V::all(simd, self.c.1[0]),
            q: V::all(simd, self.q.1[0]),
            qq: V::all(simd, self.qq.1[0]),
        }
    }
}

/// What a line's closed form is made of at one point.
#[derive(Clone, Copy)]
struct Line<S: Simd, const U: usize> {
    /// Pump pressure less the rise.
    h: V<S, U>,
    r: V<S, U>,
    b: V<S, U>,
}

struct Answer<S: Simd, const U: usize> {
    flow: V<S, U>,
    tip: V<S, U>,
    /// Lanes whose answer is not near enough.
    lost: Mask<S, U>,
}

/// The positive root of a x^2 + b x = c, and where that is close to rest, of
/// (a REST + b) x = c.
#[inline(always)]
fn root<S: Simd, const U: usize>(
    a: V<S, U>,
    b: V<S, U>,
    c: V<S, U>,
    may_rest: Mask<S, U>,
) -> V<S, U> {
    let most = V::all(a.0, REST);
    let rest = a * most + b;
    let still = (rest * most).above(c).and(may_rest);
    let moving = b + (b * b + V::all(a.0, 4.0) * (a * c)).sqrt();
    c.when(still, c + c) / rest.when(still, moving)
}

impl<S: Simd, const U: usize> Line<S, U> {
    /// With numbers that the rest can bear.
    #[inline(always)]
    fn sound(self) -> Self {
        Line {
            h: self.h.within(V::all(self.h.0, MOST)),
            r: self.r.within(V::all(self.h.0, MOST * MOST)),
            b: self.b,
        }
    }
}

impl<S: Simd, const U: usize> Answer<S, U> {
    #[inline(always)]
    fn new(flow: V<S, U>, tip: V<S, U>, lost: Mask<S, U>) -> Self {
        let most = V::all(flow.0, MOST);
        Answer {
            flow: flow.within(most),
            tip: tip.within(most),
            lost,
        }
    }
}

/// A point of a line that ends in an orifice of `c` = 1/K^2.
#[inline(always)]
fn orifice<S: Simd, const U: usize>(line: Line<S, U>, c: V<S, U>) -> Answer<S, U> {
    let (flow, tip) = on_stop(line.sound(), c);
    Answer::new(flow, tip, Mask::none(c.0))
}

/// A point of a line that ends in a nozzle with a range.
#[inline(always)]
fn regulated<S: Simd, const U: usize>(line: Line<S, U>, n: Nozzle<S, U>) -> Answer<S, U> {
    let line = line.sound();
    let Line { h, r, b } = line;
    let (low, high) = (n.closed.head(r, b), n.open.head(r, b));
    let inside = h.above(low).and(high.above(h));
    let (flow, tip) = on_stop(line, n.open.c.when(h.above(low), n.closed.c));
    if inside.is_none() {
        return Answer::new(flow, tip, inside);
    }
    let (q, p, near) = in_range(line, n);
    let lost = inside.but_not(near);
    Answer::new(q.when(inside, flow), p.when(inside, tip), lost)
}

/// Flow and pressure of a nozzle that loses `c` times the square of flow.
#[inline(always)]
fn on_stop<S: Simd, const U: usize>(line: Line<S, U>, c: V<S, U>) -> (V<S, U>, V<S, U>) {
    let every = V::all(c.0, 1.0).above(V::all(c.0, 0.0));
    let q = root(line.r + c, line.b, line.h, every);
    let rest = V::all(c.0, REST);
    (q, c * q * q.when(q.above(rest), rest))
}

/// Flow and pressure of a nozzle whose baffle is between its stops, and where that
/// solves the line.
#[inline(always)]
fn in_range<S: Simd, const U: usize>(
    line: Line<S, U>,
    n: Nozzle<S, U>,
) -> (V<S, U>, V<S, U>, Mask<S, U>) {
    let Line { h, r, b } = line;
    let simd = h.0;
    let (zero, one, two) = (V::all(simd, 0.0), V::all(simd, 1.0), V::all(simd, 2.0));
    let (k1, p1, dk, dp) = (n.closed.k, n.closed.p, n.dk, n.dp);
    let trace = b * n.root;
    // With the middle pressure in place of the pressure that changes, a quadratic.
    let rp = r * n.middle;
    let a = rp * dk * dk;
    let slope = two * rp * k1 * dk + trace * dk + dp;
    let left = (h - p1) - k1 * (rp * k1 + trace);
    let left = left.within(V::all(simd, MOST));
    let mut t = root(a, slope, left, Mask::none(simd)).within(one);
    for _ in 0..STEPS {
        let (k, p) = (k1 + t * dk, p1 + t * dp);
        let rk = r * k;
        let miss = k * (rk * p + trace) + (p - h);
        let rise = dk * (two * rk * p + trace) + dp * (rk * k + one);
        // The cubic bends upward, so that a step too far is made good from above.
        t = t - miss / rise;
    }
    // The trace by the pressure itself.
    let (k, p) = (k1 + t * dk, p1 + t * dp);
    let (rk, sp) = (r * k, b * p.sqrt());
    let miss = k * (rk * p + sp) + (p - h);
    let rise = dk * (two * rk * p + sp) + dp * (rk * k + one);
    let t = (t - miss / rise).within(one);
    let (k, p) = (k1 + t * dk, p1 + t * dp);
    let q = k * p.sqrt();
    let miss = k * (r * k * p) + b * q + (p - h);
    let most = V::all(simd, MISS) * h;
    let near = most.above(miss).and(miss.above(zero - most));
    (q, p, near)
}

/// Flow and nozzle pressure of `line` at a pump pressure.
#[inline]
pub(super) fn one(line: &Series, pump: f64) -> (f64, f64) {
    let simd = Scalar::new();
    let at: Line<Scalar, 1> = Line {
        h: V::all(simd, pump - line.rise),
        r: V::all(simd, line.square),
        b: V::all(simd, line.trace),
    };
    let nozzle = &line.nozzle;
    let answer = match nozzle.is_orifice() {
        true => orifice(
            at,
            Stop::new(V::all(simd, nozzle.closed.k), V::all(simd, 1.0)).c,
        ),
        false => regulated(at, Nozzle::alone(nozzle)),
    };
    match answer.lost.is_none() {
        true => (answer.flow.1[0], answer.tip.1[0]),
        false => bracketed(line, pump - line.rise),
    }
}

/// The same between the stops by halving, Newton where it stays inside.
#[cold]
fn bracketed(line: &Series, h: f64) -> (f64, f64) {
    let (low, high) = (line.nozzle.closed, line.nozzle.open);
    let (dk, dp) = (high.k - low.k, high.p - low.p);
    let (r, b) = (line.square.clamp(0.0, MOST * MOST), line.trace);
    let at = |t: f64| (low.k + t * dk, low.p + t * dp);
    let (mut from, mut to) = (0.0, 1.0);
    let mut t = 0.5;
    for _ in 0..200 {
        let (k, p) = at(t);
        let root = p.sqrt();
        let miss = k * (r * k * p + b * root) + (p - h);
        let rise = dk * (2.0 * r * k * p + b * root) + dp * (r * k * k + 0.5 * b * k / root + 1.0);
        if miss > 0.0 {
            to = t;
        } else {
            from = t;
        }
        let newton = t - miss / rise;
        let next = match newton > from && newton < to {
            true => newton,
            false => 0.5 * (from + to),
        };
        if next == t || miss == 0.0 {
            break;
        }
        t = next;
    }
    let (k, p) = at(t);
    let number = |x: f64| if x > 0.0 { x.min(MOST) } else { 0.0 };
    (number(k * p.sqrt()), number(p))
}

/// Points of which a column that is the same for all is written out at a time.
const BLOCK: usize = 256;

/// A column as a row of numbers for every block.
#[expect(
    clippy::large_enum_variant,
    reason = "it lives on the stack of one piece of work"
)]
enum Row<'a> {
    Same([f64; BLOCK]),
    Each(&'a [f64]),
}

impl<'a> Row<'a> {
    fn new(column: Column<'a>) -> Self {
        match column {
            Column::Same(value) => Row::Same([value; BLOCK]),
            Column::Each(values) => Row::Each(values),
        }
    }

    fn block(&self, start: usize, count: usize) -> &[f64] {
        let block = match self {
            Row::Same(values) => values.get(..count),
            Row::Each(values) => values.get(start..start + count),
        };
        block.unwrap_or(&[])
    }
}

/// A piece of points to be worked out by one core.
pub(super) struct Work<'a> {
    points: Points<'a>,
    flows: &'a mut [f64],
    tips: Option<&'a mut [f64]>,
}

impl<'a> Work<'a> {
    pub(super) fn new(
        points: Points<'a>,
        flows: &'a mut [f64],
        tips: Option<&'a mut [f64]>,
    ) -> Self {
        Work {
            points,
            flows,
            tips,
        }
    }

    pub(super) fn run(mut self) {
        let rows = [self.points.pump, self.points.rise, self.points.square].map(Row::new);
        let mut no_tips = [0.0; BLOCK];
        match self.points.nozzle {
            NozzleColumns::Same(nozzle) if nozzle.is_orifice() => {
                let simd = Scalar::new();
                let k = V::<_, 1>::all(simd, nozzle.closed.k);
                let c = Stop::new(k, V::all(simd, 1.0)).c.1[0];
                self.blocks(&rows, &mut no_tips, |_, _| Orifice(c));
            }
            NozzleColumns::Same(nozzle) => {
                let nozzle = Nozzle::alone(&nozzle);
                self.blocks(&rows, &mut no_tips, |_, _| Same(nozzle));
            }
            NozzleColumns::Each {
                closed_k,
                closed_p,
                open_k,
                open_p,
            } => {
                let nozzles = [closed_k, closed_p, open_k, open_p].map(Row::new);
                let each = |start, count| {
                    let [k1, p1, k2, p2] = &nozzles;
                    Each([k1, p1, k2, p2].map(|row| row.block(start, count)))
                };
                self.blocks(&rows, &mut no_tips, each);
            }
        }
    }

    fn blocks<N: Nozzles>(
        &mut self,
        rows: &[Row<'_>; 3],
        no_tips: &mut [f64; BLOCK],
        nozzles: impl Fn(usize, usize) -> N,
    ) {
        let arch = Arch::new();
        let points = self.points;
        let mut tips = self.tips.as_deref_mut().map(|tips| tips.chunks_mut(BLOCK));
        for (block, flows) in self.flows.chunks_mut(BLOCK).enumerate() {
            let (start, count) = (block * BLOCK, flows.len());
            let tips = tips.as_mut().and_then(Iterator::next);
            let tips = match tips {
                Some(tips) => tips,
                None => no_tips.get_mut(..count).unwrap_or_default(),
            };
            let [pump, rise, square] = rows;
            let done = arch.dispatch(Pass {
                pump: pump.block(start, count),
                rise: rise.block(start, count),
                square: square.block(start, count),
                nozzles: nozzles(start, count),
                b: points.trace,
                flows,
                tips,
            });
            // What is left of a block beside whole lanes, or all of it where a point is
            // not near enough.
            for (i, (flow, tip)) in flows.iter_mut().zip(tips).enumerate().skip(done) {
                let (line, pump) = points.at(start + i);
                (*flow, *tip) = one(&line, pump);
            }
        }
    }
}

/// The nozzles of a block, for any width of lanes.
trait Nozzles: Copy {
    /// Numbers of the nozzles, where each point has its own.
    fn rows(&self) -> [&[f64]; 4] {
        [&[]; 4]
    }

    /// The points in `U` vectors from the `i`th on.
    fn point<S: Simd, const U: usize>(
        &self,
        line: Line<S, U>,
        own: &[&[S::f64s]; 4],
        i: usize,
    ) -> Answer<S, U>;
}

/// All the same orifice.
#[derive(Clone, Copy)]
struct Orifice(f64);

impl Nozzles for Orifice {
    #[inline(always)]
    fn point<S: Simd, const U: usize>(
        &self,
        line: Line<S, U>,
        _: &[&[S::f64s]; 4],
        _: usize,
    ) -> Answer<S, U> {
        orifice(line, V::all(line.h.0, self.0))
    }
}

/// All the same nozzle with a range.
#[derive(Clone, Copy)]
struct Same(Nozzle<Scalar, 1>);

impl Nozzles for Same {
    #[inline(always)]
    fn point<S: Simd, const U: usize>(
        &self,
        line: Line<S, U>,
        _: &[&[S::f64s]; 4],
        _: usize,
    ) -> Answer<S, U> {
        regulated(line, self.0.spread(line.h.0))
    }
}

/// Each its own.
#[derive(Clone, Copy)]
struct Each<'a>([&'a [f64]; 4]);

impl Nozzles for Each<'_> {
    fn rows(&self) -> [&[f64]; 4] {
        self.0
    }

    #[inline(always)]
    fn point<S: Simd, const U: usize>(
        &self,
        line: Line<S, U>,
        own: &[&[S::f64s]; 4],
        i: usize,
    ) -> Answer<S, U> {
        let simd = line.h.0;
        let [k1, p1, k2, p2] = own;
        let nozzle = Nozzle::each(
            vectors(simd, k1, i),
            vectors(simd, p1, i),
            vectors(simd, k2, i),
            vectors(simd, p2, i),
        );
        regulated(line, nozzle)
    }
}

/// `U` vectors of a row from the `i`th on.
#[inline(always)]
fn vectors<S: Simd, const U: usize>(simd: S, row: &[S::f64s], i: usize) -> V<S, U> {
    let mut all = V::all(simd, 0.0);
    for (a, value) in all.1.iter_mut().zip(&row[i..i + U]) {
        *a = *value;
    }
    all
}

/// A block in whole lanes.
struct Pass<'a, N> {
    pump: &'a [f64],
    rise: &'a [f64],
    square: &'a [f64],
    nozzles: N,
    b: f64,
    flows: &'a mut [f64],
    tips: &'a mut [f64],
}

/// Vectors that are worked on side by side.
const SIDE_BY_SIDE: usize = 2;

impl<N: Nozzles> WithSimd for Pass<'_, N> {
    /// How many points are done; none when one of them is not near enough.
    type Output = usize;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> usize {
        let pump = S::as_simd_f64s(self.pump).0;
        let rise = S::as_simd_f64s(self.rise).0;
        let square = S::as_simd_f64s(self.square).0;
        let [k1, p1, k2, p2] = self.nozzles.rows();
        let own = [
            S::as_simd_f64s(k1).0,
            S::as_simd_f64s(p1).0,
            S::as_simd_f64s(k2).0,
            S::as_simd_f64s(p2).0,
        ];
        let flows = S::as_mut_simd_f64s(self.flows).0;
        let tips = S::as_mut_simd_f64s(self.tips).0;
        let mut lost = Mask::<S, SIDE_BY_SIDE>::none(simd);
        let mut done = 0;
        let asked = flows.chunks_exact_mut(SIDE_BY_SIDE);
        for (flow, tip) in asked.zip(tips.chunks_exact_mut(SIDE_BY_SIDE)) {
            let line = Line {
                h: vectors(simd, pump, done) - vectors(simd, rise, done),
                r: vectors(simd, square, done),
                b: V::all(simd, self.b),
            };
            let answer = self.nozzles.point::<S, SIDE_BY_SIDE>(line, &own, done);
            flow.copy_from_slice(&answer.flow.1);
            tip.copy_from_slice(&answer.tip.1);
            lost = lost.or(answer.lost);
            done += SIDE_BY_SIDE;
        }
        match lost.is_none() {
            true => done * S::F64_LANES,
            false => 0,
        }
    }
}
