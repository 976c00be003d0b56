//! Any scene of a book: it names only what the book has.

use super::lines::supply;
use super::quantities::{about, count, named, quantity, rise, share, text, time};
use book::{
    Book, FireWritten, Intake, IntakeFrom, Scene, SceneLine, SceneRig, SceneStandpipe,
    SpillWritten, Stated,
};
use hydraulics::fire_flow::{Construction, ConstructionType};
use hydraulics::foam_supply::Fuel;
use hydraulics::units::{Kind, Ratio, System};
use indexmap::IndexMap;
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::{Index, select, subsequence};

/// What a scene may name.
#[derive(Debug, Clone)]
struct Names {
    rigs: Vec<String>,
    hydrants: Vec<String>,
    drafts: Vec<String>,
    shuttles: Vec<String>,
    /// With the top floor of each.
    standpipes: Vec<(String, u32)>,
    lines: Vec<String>,
}

impl Names {
    fn of(book: &Book) -> Self {
        let pumped = book.rig.iter().filter(|(_, rig)| pumps(rig));
        let pipes = book.standpipe.iter();
        Names {
            rigs: pumped.map(|(name, _)| name.clone()).collect(),
            hydrants: book.hydrant.keys().cloned().collect(),
            drafts: book.draft.keys().cloned().collect(),
            shuttles: book.shuttle.keys().cloned().collect(),
            standpipes: pipes
                .map(|(name, pipe)| (name.clone(), pipe.floors.get().value as u32))
                .collect(),
            lines: book.line.keys().cloned().collect(),
        }
    }
}

fn pumps(rig: &book::RigItem) -> bool {
    matches!(rig.capability(), Ok(Some(_)))
}

/// One of `names`, as what `from` makes of it; its own tank where there are none.
fn one_of(names: &[String], from: fn(String) -> IntakeFrom) -> BoxedStrategy<IntakeFrom> {
    match names {
        [] => Just(IntakeFrom::Tank).boxed(),
        names => select(names.to_vec()).prop_map(from).boxed(),
    }
}

/// Water of any kind; `before` are the rigs that may feed this one.
fn intake(names: &Names, before: &[String]) -> impl Strategy<Value = Intake> + use<> {
    let from = prop_oneof![
        Just(IntakeFrom::Tank),
        one_of(&names.hydrants, IntakeFrom::Hydrant),
        one_of(&names.drafts, IntakeFrom::Draft),
        one_of(&names.shuttles, IntakeFrom::Shuttle),
        one_of(before, IntakeFrom::Rig),
    ];
    (from, supply()).prop_map(|(from, parts)| {
        let laid = matches!(from, IntakeFrom::Hydrant(_) | IntakeFrom::Rig(_));
        let parts = if laid { parts } else { Vec::new() };
        Intake { from, parts }
    })
}

fn floor(top: u32, index: Index) -> Stated<Ratio> {
    let floor = 1 + index.index(top as usize);
    Stated::read(Kind::Share, &floor.to_string(), System::Us).unwrap()
}

/// Lines off the rig, or off one of the `pipes` that it feeds.
fn lines(names: &Names, pipes: Vec<(String, u32)>) -> BoxedStrategy<Vec<SceneLine>> {
    if names.lines.is_empty() {
        return Just(Vec::new()).boxed();
    }
    let line = select(names.lines.clone());
    let place = of((any::<Index>(), any::<Index>()));
    let one = (line, place, of(share()), of(share())).prop_map(move |(line, place, gate, foam)| {
        let pipe = place.filter(|_| !pipes.is_empty());
        let pipe = pipe.map(|(pipe, index)| (pipe.get(&pipes), index));
        SceneLine {
            line,
            standpipe: pipe.map(|((name, _), _)| name.clone()),
            floor: pipe.map(|((_, top), index)| floor(*top, index)),
            gate,
            foam,
        }
    });
    vec(one, 0..3).boxed()
}

fn rig(names: &Names, before: &[String]) -> BoxedStrategy<SceneRig> {
    let most = names.standpipes.len().min(2);
    let pipes = subsequence(names.standpipes.clone(), 0..=most);
    let fed = {
        let names = names.clone();
        pipes.prop_flat_map(move |pipes| {
            let parts = vec(supply(), pipes.len());
            let named = pipes.clone();
            let entries = parts.prop_map(move |parts| {
                let both = named.iter().zip(parts);
                both.map(|((name, _), parts)| SceneStandpipe {
                    standpipe: name.clone(),
                    parts,
                })
                .collect::<Vec<_>>()
            });
            (entries, lines(&names, pipes))
        })
    };
    let governor = prop_oneof![
        Just((None, None)),
        quantity(Kind::Pressure, 10.0..40.0, &["psi", "bar", ""]).prop_map(|p| (Some(p), None)),
        quantity(Kind::Share, 5.0..130.0, &["%", "per cent"]).prop_map(|s| (None, Some(s))),
    ];
    // A rig has one tank.
    let intake = vec(intake(names, before), 1..3).prop_map(|mut all| {
        let tank = all.iter().position(|i| i.from == IntakeFrom::Tank);
        let mut at = 0..;
        all.retain(|i| at.next() == tank || i.from != IntakeFrom::Tank);
        all
    });
    (intake, governor, of(rise()), fed, about())
        .prop_map(
            |(intake, (pump_pressure, speed), height, (standpipe, lines), about)| SceneRig {
                intake,
                pump_pressure,
                speed,
                height,
                lines,
                standpipe,
                about,
            },
        )
        .boxed()
}

fn spill() -> impl Strategy<Value = SpillWritten> {
    let area = quantity(Kind::Area, 10.0..9000.0, &["ft2", "m2", "sq ft", ""]);
    let rate = prop_oneof![
        quantity(Kind::AreaRate, 0.1..0.4, &["gpm/ft2", "gpm/sq ft", ""]),
        quantity(Kind::AreaRate, 2.0..20.0, &["L/min/m2", "L/(min m2)"]),
    ];
    // No decimals of 0.1 make nothing, which is no rate.
    let rate = rate.prop_filter("a rate", |r: &Stated<hydraulics::units::Velocity>| {
        r.get().value > 1e-6
    });
    let fuel = prop_oneof![Just(Fuel::Hydrocarbon), Just(Fuel::Polar)];
    (area, fuel, of(rate), of(time()), share()).prop_map(|(area, fuel, rate, duration, ratio)| {
        SpillWritten {
            area,
            fuel,
            rate,
            duration,
            ratio,
        }
    })
}

fn fire() -> impl Strategy<Value = FireWritten> {
    let side = || quantity(Kind::Length, 4.0..900.0, &["ft", "m", ""]);
    let types = vec![
        ConstructionType::I,
        ConstructionType::II,
        ConstructionType::III,
        ConstructionType::IV,
        ConstructionType::V,
    ];
    let classes = vec![
        Construction::Frame,
        Construction::JoistedMasonry,
        Construction::Noncombustible,
        Construction::FireResistive,
    ];
    let factor = || quantity(Kind::Share, 0.75..1.6, &[""]);
    let burns = (of(count(1..20)), of(share()));
    let exposed = (of(count(0..4)), of(count(0..20)));
    let by_type = (of(count(3..8)), of(select(types)));
    let by_class = (of(select(classes)), of(factor()), of(factor()));
    (side(), side(), side(), burns, exposed, by_type, by_class).prop_map(
        |(
            length,
            width,
            height,
            (floors, involved),
            (exposed_sides, exposed_floors),
            (hazard, construction_type),
            (construction, occupancy, exposure),
        )| FireWritten {
            length,
            width,
            height,
            floors,
            involved,
            exposed_sides,
            exposed_floors,
            hazard,
            construction_type,
            construction,
            occupancy,
            exposure,
        },
    )
}

fn scene(names: &Names) -> impl Strategy<Value = Scene> + use<> {
    let names = names.clone();
    let most = names.rigs.len().min(3);
    let rigs = subsequence(names.rigs.clone(), 1..=most).prop_shuffle();
    let at_work = rigs.prop_flat_map(move |rigs| {
        let each: Vec<_> = (0..rigs.len())
            .map(|n| (Just(rigs[n].clone()), rig(&names, &rigs[..n])))
            .collect();
        each.prop_map(|all| all.into_iter().collect::<IndexMap<_, _>>())
    });
    let head = (of(text()), of(time()), any::<bool>());
    (head, at_work, of(spill()), of(fire()), about()).prop_map(
        |((title, duration, open_outlets), rig, spill, fire, about)| Scene {
            title,
            duration,
            open_outlets,
            rig,
            spill,
            fire,
            about,
        },
    )
}

/// `book` with scenes.
pub fn with_scenes(book: Book) -> BoxedStrategy<Book> {
    let names = Names::of(&book);
    if names.rigs.is_empty() {
        return Just(book).boxed();
    }
    named(scene(&names), 0..3)
        .prop_map(move |scene| Book {
            scene,
            ..book.clone()
        })
        .boxed()
}
