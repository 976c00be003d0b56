//! How long the demo's largest scene takes: from nothing, and with one gate
//! changed from the last answer.
#![allow(missing_docs)]

use criterion::{Criterion, criterion_group, criterion_main};
use hydraulics::units::{Measure, Ratio};
use hydraulics::valve::Valve;
use lay::Solver;
use std::hint::black_box;
use std::sync::Arc;

fn scene(c: &mut Criterion) {
    let bytes = include_bytes!("../../../books/saltmarsh-bend.toml");
    let Ok(book) = book::read(bytes, "saltmarsh-bend.toml") else {
        return;
    };
    let name = "mill-street";
    let Ok(set) = study::set_scene(&book, name, &Default::default()) else {
        return;
    };
    let lay = set.laid.layout.lay.clone();
    c.bench_function("scene_from_nothing", |b| {
        b.iter(|| lay::solve(black_box(&lay)));
    });

    // One gate: the outlet of the monitor's line, a little further shut.
    let Some(branch) = set.laid.branches.last() else {
        return;
    };
    let mut solver = Solver::new(&lay);
    let last = solver.solve(&lay, None);
    let mut changed = lay.clone();
    let gate = Valve {
        gate: Ratio::of_si(0.9 * branch.valve.gate.value),
        ..branch.valve
    };
    changed.replace(branch.part, Arc::new(gate));
    c.bench_function("scene_one_gate_from_last_answer", |b| {
        b.iter(|| solver.solve(black_box(&changed), Some(&last)));
    });
    c.bench_function("scene_one_gate_from_nothing", |b| {
        b.iter(|| lay::solve(black_box(&changed)));
    });
    c.bench_function("scene_whole_answer", |b| {
        b.iter(|| study::solve_scene(&book, name, &Default::default()).is_ok());
    });
}

criterion_group!(benches, scene);
criterion_main!(benches);
