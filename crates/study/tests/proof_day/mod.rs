//! Simulated test days: a truth, gauges that are off by what nobody knows, needles that
//! swing, scales that are read to their step.

#![allow(dead_code)]

pub mod workbook;

use book::{Book, Stated};
use hydraulics::units::{Kind, Measure, System};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};
use statrs::distribution::{ContinuousCDF, Normal};
use std::collections::BTreeMap;
use std::fmt::Write;
use study::proof::{Day, Find, Place, Reading, Subject, Test, Wish, plan};

/// The demo department's book.
pub fn demo() -> Book {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../books/saltmarsh-bend.toml"
    );
    book::read(&std::fs::read(path).unwrap(), "saltmarsh-bend.toml").unwrap()
}

/// The invented truth: what the demo's equipment really does.
pub fn truth() -> Book {
    let mut book = demo();
    let c = |text: &str| Stated::read_c(text, System::Us).unwrap();
    for (hose, value) in [("attack", "13.6"), ("large", "1.85")] {
        let item = book.hose.get_mut(hose).unwrap();
        item.measured = Some(book::Measured {
            coefficient: c(value),
            date: None,
            uncertainty: None,
            source: None,
        });
    }
    let text = "[book]\nname = 'truth'\n\
        [nozzle.twin]\nkind = 'automatic'\nband = '3 psi'\n\
        setting.high = { flow = ['73 gpm', '195 gpm'], pressure = ['96 psi', '109 psi'] }\n\
        setting.low = { flow = ['73 gpm', '195 gpm'], pressure = ['47 psi', '58 psi'] }\n\
        [nozzle.breakaway]\nkind = 'fixed'\nflow = '141 gpm'\npressure = '50 psi'\n\
        [nozzle.fifteen-sixteenths]\nkind = 'smooth-bore'\nbore = '15/16 in'\n\
        coefficient = 0.97\n\
        [rig.pumper-1]\npump_points = [{ flow = '625 gpm', pressure = '266 psi' },\n\
        { flow = '875 gpm', pressure = '217 psi' }, { flow = '1250 gpm', pressure = '164 psi' }]\n\
        [hydrant.mill-street]\nstatic = '70 psi'\nresidual = '54 psi'\nflow = '950 gpm'\n";
    let own = book::read(text.as_bytes(), "truth").unwrap();
    for (name, item) in own.nozzle {
        book.nozzle.insert(name, item);
    }
    book.rig
        .insert("pumper-1".into(), own.rig["pumper-1"].clone());
    book.hydrant
        .insert("mill-street".into(), own.hydrant["mill-street"].clone());
    book
}

/// Numbers by chance, the same every time.
pub struct Chance(ChaCha8Rng);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Chance(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Between 0 and 1.
    pub fn share(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Normal, of standard deviation 1.
    pub fn normal(&mut self) -> f64 {
        Normal::standard().inverse_cdf(self.share().clamp(1e-12, 1.0 - 1e-12))
    }

    /// Even between -1 and 1.
    pub fn even(&mut self) -> f64 {
        2.0 * self.share() - 1.0
    }
}

/// A test of a simulated day: what, and which gauge stands where.
pub struct Asked {
    pub subject: Subject,
    pub gauges: Vec<(Place, &'static str)>,
    pub repeats: u32,
}

pub fn hose(name: &str) -> Subject {
    Subject::Hose {
        hose: name.into(),
        find: Find::C,
    }
}

pub fn nozzle(name: &str, setting: Option<&str>) -> Subject {
    Subject::Nozzle {
        nozzle: name.into(),
        setting: setting.map(str::to_string),
    }
}

/// The tests of the demo's day.
pub fn tests() -> Vec<Asked> {
    use Place::*;
    let asked = |subject, repeats, gauges: &[(Place, &'static str)]| Asked {
        subject,
        gauges: gauges.to_vec(),
        repeats,
    };
    let meter = (Flow, "flow-meter");
    vec![
        asked(
            hose("attack"),
            2,
            &[meter, (Inlet, "line-gauge-1"), (Outlet, "line-gauge-2")],
        ),
        asked(
            hose("large"),
            2,
            &[meter, (Inlet, "pump-panel"), (Outlet, "line-gauge-2")],
        ),
        asked(
            nozzle("fifteen-sixteenths", None),
            2,
            &[meter, (Tip, "pitot")],
        ),
        asked(
            nozzle("twin", Some("high")),
            1,
            &[meter, (Tip, "line-gauge-2")],
        ),
        asked(
            nozzle("twin", Some("low")),
            1,
            &[meter, (Tip, "line-gauge-2")],
        ),
        asked(
            nozzle("breakaway", None),
            2,
            &[meter, (Tip, "line-gauge-1")],
        ),
        asked(
            Subject::Hydrant {
                hydrant: "mill-street".into(),
            },
            1,
            &[meter, (Residual, "line-gauge-2")],
        ),
        asked(
            Subject::Pump {
                rig: "pumper-1".into(),
            },
            2,
            &[meter, (Intake, "line-gauge-2"), (Discharge, "pump-panel")],
        ),
    ]
}

/// What each gauge is off by: within its accuracy, and `bad` on top of it, SI; of a flow
/// meter a share.
pub fn offsets(book: &Book, chance: &mut Chance, bad: &[(&str, f64)]) -> BTreeMap<String, f64> {
    let mut offsets = BTreeMap::new();
    for (name, item) in &book.gauge {
        let [_, accuracy, ..] = item.si();
        let share = item.accuracy_share.as_ref().map_or(0.0, |s| s.get().value);
        let even = chance.even();
        let sound = match item.is_flow() {
            true => share * even,
            false => accuracy.unwrap_or(0.0) * even,
        };
        let bad = bad
            .iter()
            .find(|(bad, _)| bad == name)
            .map_or(0.0, |(_, by)| *by);
        offsets.insert(name.clone(), sound + bad);
    }
    offsets
}

/// A day on which `asked` was read with the gauges of `book` while `truth` held.
pub fn day(
    book: &Book,
    truth: &Book,
    asked: &[Asked],
    off: &BTreeMap<String, f64>,
    chance: &mut Chance,
) -> Day {
    let tests = asked
        .iter()
        .map(|asked| test(book, truth, asked, off, chance));
    Day {
        tests: tests.collect(),
    }
}

fn test(
    book: &Book,
    truth: &Book,
    asked: &Asked,
    off: &BTreeMap<String, f64>,
    chance: &mut Chance,
) -> Test {
    let planned = plan(
        truth,
        std::slice::from_ref(&asked.subject),
        &Wish::default(),
    )
    .unwrap();
    let points = &planned.items[0].points;
    let mut readings = Vec::new();
    let mut number = 0;
    for _ in 0..asked.repeats {
        for point in points {
            number += 1;
            let half_band = match (&asked.subject, point.target.split(',').next()) {
                (Subject::Nozzle { .. }, Some("opening")) => 1.5,
                (Subject::Nozzle { .. }, Some("closing")) => -1.5,
                _ => 0.0,
            };
            for (place, figure) in &point.expected {
                let unit = place.kind().unit(System::Us);
                let mut value = unit.to_si(figure.value(System::Us));
                if *place == Place::Rise {
                    continue;
                }
                if *place == Place::Tip {
                    value += half_band * 6_894.757;
                }
                let gauge = asked.gauges.iter().find(|(at, _)| at == place);
                let (read, gauge) = match gauge {
                    Some((_, gauge)) => (read(book, gauge, value, off, chance), *gauge),
                    None => (value, ""),
                };
                let written = format!("{} {}", rounded(unit.from_si(read)), unit.symbol);
                readings.push(Reading {
                    point: number,
                    place: *place,
                    value: read,
                    written,
                    gauge: gauge.into(),
                    resolution: None,
                    calibrated: None,
                    time: format!("{:02}:{:02}", 8 + number / 60, number % 60),
                    remark: match half_band {
                        b if b > 0.0 => "opening".into(),
                        b if b < 0.0 => "closing".into(),
                        _ => String::new(),
                    },
                });
            }
        }
    }
    Test {
        subject: asked.subject.clone(),
        date: "2026-09-19".into(),
        pitot_tip: None,
        readings,
    }
}

fn rounded(value: f64) -> f64 {
    let value = (value * 1e4).round() / 1e4;
    if value == 0.0 { 0.0 } else { value }
}

/// What is read from `gauge` where `value` is.
fn read(
    book: &Book,
    gauge: &str,
    value: f64,
    off: &BTreeMap<String, f64>,
    chance: &mut Chance,
) -> f64 {
    let item = &book.gauge[gauge];
    let [step, _, swing, _] = item.si();
    let off = off[gauge];
    let noise = swing.unwrap_or(0.0) * chance.even();
    let read = match item.is_flow() {
        // A shut tip reads nought on any meter.
        true if value == 0.0 => return 0.0,
        true => value * (1.0 + off) + noise,
        false => value + off + noise,
    };
    let step = step.unwrap_or(0.0);
    match step > 0.0 {
        true => (read / step).round() * step,
        false => read,
    }
}

/// The columns of a day's file: what was read, then the gauges.
const COLUMNS: [(Place, &str); 9] = [
    (Place::Flow, "flow"),
    (Place::Pitot, "pitot"),
    (Place::Inlet, "inlet"),
    (Place::Outlet, "outlet"),
    (Place::Tip, "nozzle"),
    (Place::Intake, "intake"),
    (Place::Discharge, "discharge"),
    (Place::Residual, "residual"),
    (Place::Length, "length"),
];

/// The head and the rows of a day in the units of `system`.
pub fn table(day: &Day, system: System) -> Vec<Vec<String>> {
    let used = |place: &Place| {
        let mut all = day.tests.iter().flat_map(|t| &t.readings);
        all.any(|r| r.place == *place)
    };
    let columns: Vec<(Place, &str)> = COLUMNS.into_iter().filter(|(p, _)| used(p)).collect();
    let mut head: Vec<String> = ["test", "date", "time", "point"].map(String::from).to_vec();
    for (place, name) in &columns {
        head.push(format!("{name} ({})", place.kind().unit(system).symbol));
    }
    let gauged = |place: &Place| *place != Place::Length;
    for (_, name) in columns.iter().filter(|(p, _)| gauged(p)) {
        head.push(format!("{name} gauge"));
    }
    head.push("remark".into());
    let mut rows = vec![head];
    for test in &day.tests {
        let last = test.readings.iter().map(|r| r.point).max().unwrap_or(0);
        for point in 1..=last {
            let of: Vec<&Reading> = test.readings.iter().filter(|r| r.point == point).collect();
            let at = |place: &Place| of.iter().find(|r| r.place == *place);
            let time = of.first().map_or(String::new(), |r| r.time.clone());
            let mut row = vec![
                test.subject.to_string(),
                test.date.clone(),
                time,
                point.to_string(),
            ];
            for (place, _) in &columns {
                let unit = place.kind().unit(system);
                let places = if place.kind() == Kind::Pressure && system == System::Si {
                    2
                } else {
                    1
                };
                row.push(at(place).map_or(String::new(), |r| {
                    let text = format!("{:.places$}", unit.from_si(r.value));
                    match text.contains('.') {
                        true => text.trim_end_matches('0').trim_end_matches('.').into(),
                        false => text,
                    }
                }));
            }
            for (place, _) in columns.iter().filter(|(p, _)| gauged(p)) {
                row.push(at(place).map_or(String::new(), |r| r.gauge.clone()));
            }
            row.push(
                of.iter()
                    .map(|r| r.remark.clone())
                    .find(|r| !r.is_empty())
                    .unwrap_or_default(),
            );
            rows.push(row);
        }
    }
    rows
}

/// The day as the file that is shipped.
pub fn csv(day: &Day) -> String {
    let mut out = String::new();
    let _ = writeln!(
        out,
        "Saltmarsh Bend test day: invented for demonstration; made by a seeded simulation"
    );
    for row in table(day, System::Us) {
        let _ = writeln!(out, "{}", row.join(","));
    }
    out
}

/// What the shipped day's bad gauge reads too much, Pa: 12 psi.
pub const BAD: (&str, f64) = ("line-gauge-1", 12.0 * 6_894.757);

/// The shipped day.
pub fn shipped() -> Day {
    let (book, truth) = (demo(), truth());
    let mut chance = Chance::new(20_260_919);
    let off = offsets(&book, &mut chance, &[BAD]);
    day(&book, &truth, &tests(), &off, &mut chance)
}

/// An SI value in psi or gpm.
pub fn us(kind: Kind, si: f64) -> f64 {
    kind.unit(System::Us).from_si(si)
}

/// The quantity's SI value, for tests that hold typed values.
pub fn si<Q: Measure>(quantity: Q) -> f64 {
    quantity.si()
}
