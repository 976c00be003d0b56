//! The three problems that the Python reference solves as well, from the same
//! files: `bench/peers/run` puts the two side by side.

use criterion::{Criterion, criterion_group, criterion_main};
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
    }
    group.finish();
}

criterion_group!(benches, problems);
criterion_main!(benches);
