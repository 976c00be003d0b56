//! Any hydrant, open water, shuttle and standpipe.

use super::quantities::{
    about, count, discharge, flow, length, named, psi, quantity, share, size, time,
};
use book::{
    DraftItem, HydrantItem, HydrantSupply, LossWritten, PitotReading, RegulatingOutlets,
    ShuttleItem, StandpipeItem, Stated, TestFlow,
};
use hydraulics::orifice::OutletShape;
use hydraulics::units::{Kind, System};
use indexmap::IndexMap;
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::Index;

fn loss() -> impl Strategy<Value = LossWritten> {
    (psi(0..100), flow()).prop_map(|(pressure, flow)| LossWritten::Rated { pressure, flow })
}

fn pitot() -> impl Strategy<Value = PitotReading> {
    let shape = prop_oneof![
        Just(OutletShape::Rounded),
        Just(OutletShape::Square),
        Just(OutletShape::Projecting)
    ];
    let joint = prop_oneof![
        of(shape).prop_map(|shape| (shape, None)),
        discharge().prop_map(|c| (None, Some(c))),
    ];
    (size(), psi(1..90), joint, of(count(1..4))).prop_map(
        |(size, pitot, (shape, coefficient), count)| PitotReading {
            size,
            pitot,
            shape,
            coefficient,
            count,
        },
    )
}

fn test() -> impl Strategy<Value = HydrantSupply> {
    let flow = prop_oneof![
        flow().prop_map(TestFlow::Stated),
        vec(pitot(), 1..4).prop_map(TestFlow::Outlets),
    ];
    (psi(60..150), psi(1..60), flow).prop_map(|(still, residual, flow)| HydrantSupply::Test {
        still,
        residual,
        flow,
    })
}

fn hydrant(supply: impl Strategy<Value = HydrantSupply>) -> impl Strategy<Value = HydrantItem> {
    (supply, of(loss()), any::<bool>(), about()).prop_map(|(supply, loss, dated, about)| {
        HydrantItem {
            supply,
            loss,
            date: dated.then(|| "2026-05-11".into()),
            about,
        }
    })
}

/// Hydrants with tests, and some on the mains of those.
pub fn hydrants() -> impl Strategy<Value = IndexMap<String, HydrantItem>> {
    let nobody = || Just(HydrantSupply::SameMain(String::new()));
    let others = vec((any::<Index>(), named(hydrant(nobody()), 1..2)), 0..3);
    (named(hydrant(test()), 0..3), others).prop_map(|(mut all, others)| {
        let tested: Vec<String> = all.keys().cloned().collect();
        for (main, (name, mut other)) in others
            .into_iter()
            .flat_map(|(main, other)| other.into_iter().map(move |item| (main, item)))
        {
            if !tested.is_empty() && !tested.contains(&name) {
                other.supply = HydrantSupply::SameMain(main.get(&tested).clone());
                all.insert(name, other);
            }
        }
        all
    })
}

pub fn draft() -> impl Strategy<Value = DraftItem> {
    let lift = quantity(Kind::Length, 0.0..10.0, &["ft", "m", ""]);
    let altitude = quantity(Kind::Length, -400.0..6000.0, &["ft", "m", ""]);
    (lift, of(altitude), of(loss()), about()).prop_map(|(lift, altitude, loss, about)| DraftItem {
        lift,
        altitude,
        loss,
        about,
    })
}

pub fn shuttle() -> impl Strategy<Value = ShuttleItem> {
    let tank = || quantity(Kind::Volume, 100.0..5000.0, &["gal", "L", ""]);
    let distance = quantity(Kind::Length, 0.0..90.0, &["mi", "ft", "m", ""]);
    let lift = quantity(Kind::Length, 0.0..10.0, &["ft", "m"]);
    let tankers = (count(1..30), tank(), of(share()), distance);
    let times = (time(), time(), of(time()));
    (tankers, times, tank(), of(lift), of(loss()), about()).prop_map(
        |(
            (tankers, tank, usable, distance),
            (fill, dump, handling),
            dump_tank,
            lift,
            loss,
            about,
        )| {
            ShuttleItem {
                tankers,
                tank,
                usable,
                distance,
                fill,
                dump,
                handling,
                dump_tank,
                lift,
                loss,
                about,
            }
        },
    )
}

/// Outlets on floors up to `top`.
fn regulating(top: u32) -> impl Strategy<Value = RegulatingOutlets> {
    (1..=top, 1..=top, psi(50..150)).prop_map(|(one, other, setting)| {
        let floor = |n: u32| Stated::read(Kind::Share, &n.to_string(), System::Us).unwrap();
        RegulatingOutlets {
            floors: [floor(one.min(other)), floor(one.max(other))],
            setting,
        }
    })
}

pub fn standpipe() -> impl Strategy<Value = StandpipeItem> {
    let outlets = (1..=60u32).prop_flat_map(|top| {
        let floors = Just(Stated::read(Kind::Share, &top.to_string(), System::Us).unwrap());
        (floors, vec(regulating(top), 0..3))
    });
    let pipe = (length(), size(), of(count(60..190)));
    let losses = (of(loss()), of(loss()));
    let pressures = (of(psi(50..150)), of(psi(150..400)));
    (outlets, pipe, losses, pressures, about()).prop_map(
        |(
            (floors, regulating),
            (floor_height, riser, hazen_williams),
            (inlet_loss, outlet_loss),
            (required, rated_pressure),
            about,
        )| StandpipeItem {
            floors,
            floor_height,
            riser,
            hazen_williams,
            inlet_loss,
            outlet_loss,
            regulating,
            required,
            rated_pressure,
            about,
        },
    )
}
