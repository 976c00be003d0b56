//! How long the demo's answers take.
#![allow(missing_docs)]

use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;

fn demo(c: &mut Criterion) {
    let bytes = include_bytes!("../../../books/saltmarsh-bend.toml");
    c.bench_function("read_demo_book", |b| {
        b.iter(|| book::read(black_box(bytes), "saltmarsh-bend.toml").is_ok());
    });
    let Ok(book) = book::read(bytes, "saltmarsh-bend.toml") else {
        return;
    };
    c.bench_function("solve_demo_book", |b| {
        b.iter(|| {
            let lines = book.line.keys();
            lines
                .filter(|line| study::solve(&book, line, &Default::default()).is_ok())
                .count()
        });
    });
}

criterion_group!(benches, demo);
criterion_main!(benches);
