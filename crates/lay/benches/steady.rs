//! The direct route of one line, and a shape solved again.
#![allow(missing_docs)]

use criterion::{Criterion, criterion_group, criterion_main};
use hydraulics::element::Element;
use hydraulics::friction::{Coefficient, Friction};
use hydraulics::hose::Run;
use hydraulics::nozzle::{Automatic, Nozzle, Tip};
use hydraulics::units::{Kind, Length, Measure, Pressure, VolumeRate, parse};
use hydraulics::water::Water;
use lay::{Lay, Solver};
use std::error::Error;
use std::hint::black_box;
use std::sync::Arc;

/// 200 ft of 1-3/4 in hose and an automatic nozzle; ratings invented.
fn line() -> Result<(Run, Tip), Box<dyn Error>> {
    let flow = |text| parse::<VolumeRate>(Kind::Flow, text);
    let pressure = |text| parse::<Pressure>(Kind::Pressure, text);
    let c = Friction::Coefficient(Coefficient::us(15.5)?);
    let run = Run::new(c, parse(Kind::Length, "200 ft")?, Water::default())?;
    let nozzle = Automatic::new(
        (flow("70 gpm")?, flow("200 gpm")?),
        (pressure("94 psi")?, pressure("106 psi")?),
    )?;
    Ok((run, Tip::new(Nozzle::Automatic(nozzle))))
}

fn benches(c: &mut Criterion) {
    let Ok((run, tip)) = line() else { return };
    let pump = Pressure::of_si(1.17e6);
    let rise = Pressure::of_si(3e4);
    let parts: [&dyn Element; 2] = [&run, &tip];
    c.bench_function("operating_point_direct", |b| {
        b.iter(|| lay::operating_flow(black_box(&parts), black_box(pump), rise));
    });

    let mut lay = Lay::new(Water::default().density());
    let level = Length::of_si(0.0);
    let outlet = lay.supply(level, pump);
    let base = lay.junction(level);
    let air = lay.air(Length::of_si(3.0));
    lay.part(outlet, base, Arc::new(run));
    lay.part(base, air, Arc::new(tip));
    let mut solver = Solver::new(&lay);
    let first = solver.solve(&lay, None);
    c.bench_function("operating_point_again", |b| {
        b.iter(|| solver.solve(black_box(&lay), Some(&first)));
    });
}

criterion_group!(steady, benches);
criterion_main!(steady);
