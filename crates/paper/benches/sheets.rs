//! How long a sheet takes: a rig's chart with 20 lines, with the typesetter warm, beside
//! what of it is solving and what typesetting.
#![allow(clippy::unwrap_used, missing_docs)]

use criterion::{Criterion, criterion_group, criterion_main};
use paper::{Kind, Paper, Units};

/// A rig with 20 lines of its own, no two alike.
fn twenty_lines() -> book::Book {
    let mut text = String::from(
        "[book]\nname = 'Example'\npump_ceiling = '200 psi'\n[rig.pumper]\npump = '1500 gpm'\n",
    );
    for number in 0..20 {
        let length = 100 + 25 * number;
        let nozzle = match number % 2 {
            0 => "150 gpm at 50 psi",
            _ => "15/16 in smooth bore",
        };
        text.push_str(&format!(
            "[line.line-{number}]\nrig = 'pumper'\naim = {{ tip_pressure = '50 psi' }}\n\
             parts = [{{ hose = '1.75 in', length = '{length} ft' }}, {{ nozzle = '{nozzle}' }}]\n"
        ));
    }
    book::read(text.as_bytes(), "twenty.toml").unwrap()
}

fn chart(c: &mut Criterion) {
    let book = twenty_lines();
    let paper = Paper {
        date: "2026-05-11".into(),
        ..Paper::default()
    };
    let mut group = c.benchmark_group("chart_of_20_lines");
    group.sample_size(20);
    group.bench_function("solving", |b| {
        b.iter(|| paper::pump_chart(&book, "pumper", Units::Both).unwrap());
    });
    let sheet = paper::pump_chart(&book, "pumper", Units::Both).unwrap();
    group.bench_function("typesetting", |b| {
        b.iter(|| paper::press(&sheet, &paper).unwrap());
    });
    group.bench_function("both", |b| {
        b.iter(|| {
            let sheet = Kind::PumpChart.sheet(&book, "pumper", Units::Both).unwrap();
            paper::press(&sheet, &paper).unwrap()
        });
    });
    group.finish();
}

criterion_group!(benches, chart);
criterion_main!(benches);
