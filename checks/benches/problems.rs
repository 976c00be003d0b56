//! The three problems that the Python reference solves as well, from the same
//! files: `bench/peers/run` puts the two side by side.

use criterion::measurement::WallTime;
use criterion::{BenchmarkGroup, Criterion, criterion_group, criterion_main};
use hydraulics::element::Element;
use hydraulics::units::Pressure;
use lay::{Lay, Role};
use std::hint::black_box;
use std::path::Path;
use std::time::Duration;

fn problems(c: &mut Criterion) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../bench/problems");
    let mut group = c.benchmark_group("peers");
    group.measurement_time(Duration::from_secs(3));
    for name in ["operating_point", "fireground_40", "looped_1000"] {
        let path = folder.join(name).with_extension("json");
        let problem = checks::problem::read(&path)
            .expect("the problem can be read")
            .remove(0);
        let built = problem.build().expect("the problem is a lay");
        group.bench_function(name, |b| b.iter(|| lay::solve(black_box(&built.lay))));
        if name == "operating_point" {
            direct(&mut group, &built.lay);
        }
    }
    group.finish();
}

/// The same line by the direct route, which must give the same flow.
fn direct(group: &mut BenchmarkGroup<'_, WallTime>, lay: &Lay) {
    let answer = lay::solve(lay);
    let elements: Vec<&dyn Element> = lay.parts().map(|part| lay.law(part)).collect();
    let rise = lay
        .parts()
        .map(|part| lay.rise(part))
        .fold(Pressure::default(), |a, b| a + b);
    let outlet = lay.places().find(|&place| lay.role(place) == Role::Supply);
    let pump = outlet
        .and_then(|place| answer.pressure(place))
        .expect("a pump");
    let flow = lay::operating_flow(&elements, pump, rise);
    assert!(((flow / answer.largest_flow()).value - 1.0).abs() < 1e-6);
    group.bench_function("operating_point_direct", |b| {
        b.iter(|| lay::operating_flow(black_box(&elements), black_box(pump), rise));
    });
}

criterion_group!(benches, problems);
criterion_main!(benches);
