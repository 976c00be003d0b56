//! Throws measured in 1981 against the stream's one model.
//!
//! Source: C. Theobald, Fire Safety Journal 4 (1981), digitised and published by
//! NIST (checks/data/throws_1981.csv, marked seen). Profile 7 is the streamlined
//! nozzle; the others are taken as ordinary solid tips. Nothing is fitted per test.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use hydraulics::stream::{Quality, Stream, Throw};
use hydraulics::units::{Angle, Length, Measure, Pressure};
use uom::si::{angle::degree, length::meter, pressure::bar};

struct Measured {
    id: String,
    throw: Throw,
    range: f64,
    height: Option<f64>,
}

fn measured() -> Vec<Measured> {
    let text = include_str!("../data/throws_1981.csv");
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let rows = reader.records().map(|row| {
        let row = row.unwrap();
        let number = |i: usize| row[i].parse::<f64>().ok();
        let quality = if &row[1] == "7" {
            Quality::Streamlined
        } else {
            Quality::Solid
        };
        let bore = Length::of_si(number(2).unwrap() / 1e3);
        let pressure = Pressure::new::<bar>(number(3).unwrap());
        let stream = Stream {
            angle: Angle::new::<degree>(number(4).unwrap()),
            height: Length::new::<meter>(3.0),
            ..Stream::new(bore, pressure, quality)
        };
        Measured {
            id: row[0].to_string(),
            throw: stream.maximum_throw(),
            range: number(7).unwrap(),
            height: number(5),
        }
    });
    rows.collect()
}

fn hold(misses: &[(String, f64)], rms_limit: f64, worst_limit: f64) {
    let rms = (misses.iter().map(|m| m.1 * m.1).sum::<f64>() / misses.len() as f64).sqrt();
    let worst = misses
        .iter()
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
        .unwrap();
    println!(
        "{} rows: rms {:.1} %, worst {:.1} % (row {})",
        misses.len(),
        100.0 * rms,
        100.0 * worst.1,
        worst.0
    );
    assert!(rms <= rms_limit, "rms {rms}");
    assert!(
        worst.1.abs() <= worst_limit,
        "row {} misses by {}",
        worst.0,
        worst.1
    );
}

#[test]
fn field_throws_of_1981_within_8_per_cent() {
    let rows = measured();
    assert_eq!(rows.len(), 57);
    let miss = |m: &Measured| (m.id.clone(), m.throw.distance.value / m.range - 1.0);
    hold(&rows.iter().map(miss).collect::<Vec<_>>(), 0.08, 0.15);
}

#[test]
fn field_heights_of_1981() {
    let rows = measured();
    let miss = |m: &Measured| {
        let height = m.height?;
        Some((m.id.clone(), m.throw.greatest_height.value / height - 1.0))
    };
    hold(
        &rows.iter().filter_map(miss).collect::<Vec<_>>(),
        0.08,
        0.15,
    );
}
