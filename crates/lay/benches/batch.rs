//! Ten million operating points of a single line, and in the same run what the
//! machine could do at most: its divider, its simple operations, its memory. The
//! flows of some points are left beside the estimates, so that whoever times
//! another way on the same points can see that it found the same
//! (`bench/choose/compare.py`).
#![allow(missing_docs)]

use criterion::{
    BenchmarkGroup, Criterion, criterion_group, criterion_main, measurement::WallTime,
};
use hydraulics::nozzle::{Discharge, Stop};
use lay::batch::{Column, Points, Series};
use pulp::{Arch, Simd, WithSimd};
use rayon::prelude::*;
use std::fmt::Write;
use std::hint::black_box;
use std::path::Path;

const POINTS: usize = 10_000_000;
/// Every how-manyeth point is told.
const TOLD: usize = 10_007;

/// Square loss in SI of 200 ft of 1-3/4 in hose, C 15.5.
const HOSE: f64 = 5.37e9;
/// 150 gpm at 100 psi.
const FIXED: f64 = 0.009_463_5 / 830.36;

/// 70 to 200 gpm at 94 to 106 psi; invented.
fn automatic() -> Discharge {
    let stop = |q: f64, p: f64| Stop { k: q / p.sqrt(), p };
    Discharge {
        closed: stop(0.004_416_3, 648_107.0),
        open: stop(0.012_618, 730_844.0),
    }
}

/// A number from 0 to 1 for each place, spread evenly.
fn spread(i: usize, by: f64) -> f64 {
    (i as f64 * by).fract()
}

struct Columns {
    pump: Vec<f64>,
    square: Vec<f64>,
    rise: Vec<f64>,
}

/// Pumps of 50 to 250 psi, C from 0.5 to 1.5 times as printed, rises of 0 to 50 ft.
fn columns() -> Columns {
    let each = |by: f64, low: f64, high: f64| -> Vec<f64> {
        let at = |i| low + (high - low) * spread(i, by);
        (0..POINTS).into_par_iter().map(at).collect()
    };
    Columns {
        pump: each(0.618_033_988_749_895, 344_738.0, 1_723_689.0),
        square: each(0.414_213_562_373_095, 0.5 * HOSE, 1.5 * HOSE),
        rise: each(0.732_050_807_568_877, 0.0, 149_300.0),
    }
}

fn on_threads<T: Send>(threads: usize, work: impl FnOnce() -> T + Send) -> Option<T> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
    Some(pool.ok()?.install(work))
}

fn points(c: &mut Criterion) {
    let columns = columns();
    let mut flows = vec![0.0; POINTS];
    let mut tips = vec![0.0; POINTS];
    let mut group = c.benchmark_group("batch");
    group.sample_size(10);
    for (name, nozzle) in [
        ("fixed", Discharge::orifice(FIXED)),
        ("automatic", automatic()),
    ] {
        let line = Series::new(HOSE, 0.0, nozzle);
        let points = Points {
            pump: Column::Each(&columns.pump),
            square: Column::Each(&columns.square),
            rise: Column::Each(&columns.rise),
            ..Points::of(&line)
        };
        for threads in [1, 2] {
            group.bench_function(format!("{name}_{threads}"), |b| {
                on_threads(threads, || b.iter(|| points.flows(black_box(&mut flows))));
            });
        }
        group.bench_function(format!("{name}_with_tips_2"), |b| {
            on_threads(2, || {
                b.iter(|| points.solve(black_box(&mut flows), &mut tips))
            });
        });
        // From memory that the core has beside it: the arithmetic alone.
        let near = Points {
            pump: Column::Each(&columns.pump[..NEAR]),
            square: Column::Each(&columns.square[..NEAR]),
            rise: Column::Each(&columns.rise[..NEAR]),
            ..points
        };
        group.bench_function(format!("{name}_near"), |b| {
            b.iter(|| near.flows(black_box(&mut flows[..NEAR])));
        });
        let _ = points.flows(&mut flows);
        tell(name, &flows);
        let lone = Series::new(HOSE, 3e4, nozzle);
        group.bench_function(format!("{name}_alone"), |b| {
            b.iter(|| lone.at(black_box(1.17e6)));
        });
    }
    group.finish();
}

/// Flows of some points as JSON, beside criterion's estimates.
fn tell(name: &str, flows: &[f64]) {
    let mut text = String::from("[");
    for (i, flow) in flows.iter().enumerate().step_by(TOLD) {
        let comma = if i == 0 { "" } else { ", " };
        let _ = write!(text, "{comma}{flow:?}");
    }
    text.push_str("]\n");
    let target = std::env::var("CARGO_TARGET_DIR").unwrap_or_else(|_| "../../target".into());
    let folder = Path::new(&target).join("criterion/batch");
    let _ = std::fs::create_dir_all(&folder);
    let _ = std::fs::write(folder.join(format!("{name}.json")), text);
}

/// Numbers of a column that stays in the nearest memory.
const NEAR: usize = 1024;

/// What is asked of the machine in [`Peak`].
#[derive(Clone, Copy)]
enum Ask {
    Divide,
    Root,
    /// Multiply, add, compare and choose: four operations, four times.
    Simple,
}

/// One operation of a kind for each of `from`, all of them independent.
struct Peak<'a>(Ask, &'a [f64], &'a mut [f64]);

impl WithSimd for Peak<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Peak(ask, from, into) = self;
        let (from, into) = (S::as_simd_f64s(from).0, S::as_mut_simd_f64s(into).0);
        let one = simd.splat_f64s(1.5);
        match ask {
            Ask::Divide => {
                for (x, y) in from.iter().zip(into) {
                    *y = simd.div_f64s(one, *x);
                }
            }
            Ask::Root => {
                for (x, y) in from.iter().zip(into) {
                    *y = simd.sqrt_f64s(*x);
                }
            }
            Ask::Simple => {
                for (x, y) in from.iter().zip(into) {
                    let mut v = *x;
                    for _ in 0..4 {
                        let product = simd.mul_f64s(v, *x);
                        let sum = simd.add_f64s(product, one);
                        let above = simd.greater_than_f64s(product, one);
                        v = simd.select_f64s(above, sum, *x);
                    }
                    *y = v;
                }
            }
        }
    }
}

fn triad(group: &mut BenchmarkGroup<'_, WallTime>, threads: usize) {
    let (b, c) = (vec![1.0; POINTS], vec![2.0; POINTS]);
    let mut a = vec![0.0; POINTS];
    let piece = 1 << 16;
    group.bench_function(format!("triad_{threads}"), |bench| {
        on_threads(threads, || {
            bench.iter(|| {
                let all = a.par_chunks_mut(piece).zip(b.par_chunks(piece));
                all.zip(c.par_chunks(piece)).for_each(|((a, b), c)| {
                    for ((a, b), c) in a.iter_mut().zip(b).zip(c) {
                        *a = b + 3.0 * c;
                    }
                });
                black_box(&mut a);
            })
        });
    });
}

fn limits(c: &mut Criterion) {
    let mut group = c.benchmark_group("limit");
    let from: Vec<f64> = (0..NEAR).map(|i| 1.0 + spread(i, 0.618)).collect();
    let mut into = vec![0.0; NEAR];
    for (name, ask) in [
        ("divide", Ask::Divide),
        ("root", Ask::Root),
        ("simple", Ask::Simple),
    ] {
        group.bench_function(name, |b| {
            b.iter(|| Arch::new().dispatch(Peak(ask, black_box(&from), black_box(&mut into))));
        });
    }
    group.sample_size(10);
    for threads in [1, 2] {
        triad(&mut group, threads);
    }
    group.finish();
}

criterion_group!(batch, points, limits);
criterion_main!(batch);
