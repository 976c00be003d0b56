//! Any line, and any supply line.

use super::quantities::{about, flow, length, marking, pressure, quantity, rise, share, text};
use book::{
    Aim, AppliancePart, Book, HosePart, Line, NozzlePart, Part, Parts, RegulatorState, Target, read,
};
use hydraulics::units::Kind;
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;

fn aim() -> impl Strategy<Value = Aim> {
    let force = || quantity(Kind::Force, 20.0..200.0, &["lbf", "N", ""]);
    let reach = quantity(Kind::Length, 10.0..100.0, &["ft", "m"]);
    let target = prop_oneof![
        flow().prop_map(Target::Flow),
        pressure().prop_map(Target::TipPressure),
        reach.prop_map(Target::Reach),
    ];
    prop_oneof![
        (target, of(force())).prop_map(|(target, reaction_at_most)| Aim {
            target: Some(target),
            reaction_at_most,
        }),
        force().prop_map(|force| Aim {
            target: None,
            reaction_at_most: Some(force),
        }),
    ]
}

// Parts of the catalogue without couplings of their own, so that any row fits.
fn run() -> impl Strategy<Value = Part> {
    (length(), of(rise()), of(share())).prop_map(|(length, rise, kink)| {
        Part::Hose(HosePart {
            hose: "standpipe riser 4 in".into(),
            length,
            rise,
            kink,
        })
    })
}

/// An appliance, or one of [`equipped`].
fn device() -> impl Strategy<Value = Part> {
    let kinds = prop_oneof![
        Just(("appliance from 350 gpm", false, false)),
        Just(("any eductor", true, false)),
        Just(("any valve", false, true)),
        Just(("7", false, false)),
    ];
    (kinds, of(share()), of(share()), of(rise())).prop_map(
        |((appliance, draws, gated), ratio, gate, rise)| {
            Part::Appliance(AppliancePart {
                appliance: appliance.into(),
                gates: gate.filter(|_| gated).into_iter().collect(),
                ratio: ratio.filter(|_| draws),
                rise,
            })
        },
    )
}

fn tip() -> impl Strategy<Value = Part> {
    let state = prop_oneof![
        Just(None),
        Just(Some(RegulatorState::Flush)),
        share().prop_map(|s| Some(RegulatorState::Jammed(s))),
    ];
    (
        of(share()),
        of(rise()),
        state,
        of(share()),
        of(aim()),
        any::<bool>(),
        of(any::<bool>()),
    )
        .prop_map(|(gate, rise, regulator, screen_blocked, aim, low, tube)| {
            Part::Nozzle(NozzlePart {
                nozzle: "any".into(),
                setting: Some(if low { "95".into() } else { "high".into() }),
                gate,
                rise,
                regulator,
                screen_blocked,
                tip_only: false,
                attachment: tube.map(|tube| if tube { "tube".into() } else { "5".into() }),
                aim,
            })
        })
}

fn row() -> impl Strategy<Value = Parts> {
    let before = || vec(prop_oneof![run(), device()], 0..3);
    let simple = (before(), tip()).prop_map(|(mut parts, tip)| {
        parts.push(tip);
        parts
    });
    simple.prop_recursive(3, 12, 3, move |inner| {
        let legs = vec(vec(run(), 1..3), 1..3).prop_map(Part::Legs);
        prop_oneof![
            (before(), vec(inner.clone(), 1..3)).prop_map(|(mut parts, rows)| {
                parts.push(Part::Branches(rows));
                parts
            }),
            (legs, inner).prop_map(|(legs, rest)| {
                let mut parts = vec![legs];
                parts.extend(rest);
                parts
            }),
        ]
    })
}

/// Parts that end open.
pub fn supply() -> impl Strategy<Value = Parts> {
    let legs = || vec(vec(run(), 1..3), 1..3).prop_map(Part::Legs);
    (
        of(legs()),
        vec(prop_oneof![run(), device()], 1..3),
        of(legs()),
    )
        .prop_map(|(first, parts, last)| first.into_iter().chain(parts).chain(last).collect())
}

pub fn line() -> impl Strategy<Value = Line> {
    (
        of(text()),
        marking(),
        of(pressure()),
        row(),
        of(aim()),
        about(),
    )
        .prop_map(|(title, marking, pump_pressure, parts, aim, about)| Line {
            title,
            rig: None,
            marking,
            pump_pressure,
            parts,
            aim,
            about,
        })
}

/// `book` with the equipment that every line uses. Settings and attachments are
/// named by a word and by a number.
pub fn equipped(mut book: Book) -> Book {
    let text = r#"
[book]
name = "x"
[nozzle.any]
kind = "automatic"
flush = true
shutoff = "slide"
setting.high = { flow = [70, 200], pressure = [94, 106] }
setting.95 = { flow = [70, 200], pressure = [46, 56] }
attachment.tube = { expansion = 20, reach = "60 ft" }
attachment.5 = { expansion = 5.5, reach = "60 ft" }
[appliance."any eductor"]
kind = "eductor"
flow = "95 gpm"
inlet_pressure = "200 psi"
[appliance."any valve"]
kind = "regulating-valve"
setting = "100 psi"
gates = "slide"
[appliance.7]
kind = "check-valve"
"#;
    let own = read(text.as_bytes(), "x").unwrap();
    book.nozzle.extend(own.nozzle);
    book.appliance.extend(own.appliance);
    book
}
