//! For all books: what is written reads as it was. For any bytes: they are read
//! or refused, and nothing panics.

#![allow(clippy::unwrap_used, clippy::panic)]

use book::{
    About, Aim, ApplianceItem, ApplianceKind, AppliancePart, AutomaticSetting, Book, Crew,
    FrictionWritten, HoseItem, HosePart, Line, LossWritten, Measured, NozzleItem, NozzleKind,
    NozzlePart, Part, Parts, RegulatorState, RigItem, Shutoff, Stated, Target, read, write,
};
use hydraulics::coupling::{Coupling, Side};
use hydraulics::friction::Coefficient;
use hydraulics::units::{Kind, Measure, System};
use hydraulics::valve::ValveKind;
use indexmap::IndexMap;
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;

/// A quantity of `kind`, bare or in any of the units given.
fn quantity<Q: Measure + std::fmt::Debug + 'static>(
    kind: Kind,
    range: std::ops::Range<f64>,
    units: &'static [&'static str],
) -> impl Strategy<Value = Stated<Q>> + Clone {
    (range, 0..units.len(), 0..4usize).prop_map(move |(value, unit, decimals)| {
        let text = format!("{value:.decimals$} {}", units[unit]);
        Stated::read(kind, &text, System::Us).unwrap()
    })
}

fn flow<Q: Measure + std::fmt::Debug + 'static>() -> impl Strategy<Value = Stated<Q>> + Clone {
    quantity(Kind::Flow, 10.0..900.0, &["gpm", "L/min", ""])
}

fn pressure<Q: Measure + std::fmt::Debug + 'static>() -> impl Strategy<Value = Stated<Q>> + Clone {
    quantity(Kind::Pressure, 10.0..40.0, &["psi", "bar", "PSI", ""])
}

fn size<Q: Measure + std::fmt::Debug + 'static>() -> impl Strategy<Value = Stated<Q>> + Clone {
    quantity(Kind::Size, 4.0..11.0, &["mm", "in", "cm"])
}

fn length<Q: Measure + std::fmt::Debug + 'static>() -> impl Strategy<Value = Stated<Q>> + Clone {
    quantity(Kind::Length, 2.0..900.0, &["ft", "m", "feet", ""])
}

fn rise<Q: Measure + std::fmt::Debug + 'static>() -> impl Strategy<Value = Stated<Q>> + Clone {
    quantity(Kind::Length, -200.0..200.0, &["ft", "m", ""])
}

fn share<Q: Measure + std::fmt::Debug + 'static>() -> impl Strategy<Value = Stated<Q>> + Clone {
    (0.0..1.0f64, any::<bool>()).prop_map(|(value, percent)| {
        let text = match percent {
            true => format!("{:.1} %", 100.0 * value),
            false => format!("{value:.3}"),
        };
        Stated::read(Kind::Share, &text, System::Us).unwrap()
    })
}

fn discharge<Q: Measure + std::fmt::Debug + 'static>() -> impl Strategy<Value = Stated<Q>> {
    (40..100u32).prop_map(|n| Stated::read(Kind::Share, &format!("0.{n}"), System::Us).unwrap())
}

fn c() -> impl Strategy<Value = Stated<Coefficient>> + Clone {
    (0.01..1000.0f64, 0..3usize).prop_map(|(value, form)| {
        let form = ["", " us", " metric"][form];
        Stated::read_c(&format!("{value:.2}{form}"), System::Us).unwrap()
    })
}

fn coupling(side: Side) -> impl Strategy<Value = Stated<Coupling>> + Clone {
    let texts = [
        "1.5 in NH",
        "2.5 in NH female",
        "65 mm symmetrical",
        "1-1/2 in npsh Male",
    ];
    // The only way to a stated coupling is through a book.
    (0..texts.len()).prop_map(move |i| {
        let key = match side {
            Side::Inlet => "inlet",
            Side::Outlet => "outlet",
        };
        let text = format!(
            "[book]\nname = \"x\"\n[hose.a]\nsize = \"2 in\"\ncoefficient = 8\n{key} = \"{}\"",
            texts[i]
        );
        let hose = read(text.as_bytes(), "x").unwrap().hose["a"].clone();
        hose.inlet.or(hose.outlet).unwrap()
    })
}

fn text() -> impl Strategy<Value = String> {
    any::<String>()
}

/// A name with quotation marks, spaces and letters of many kinds, or digits.
fn name() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-z][a-z0-9-]{0,8}",
        "[0-9]{1,3}(\\.[0-9])?",
        "[a-zé\"'\\\\ .#=]{1,12}x"
    ]
}

fn about() -> impl Strategy<Value = About> {
    (of(text()), of(text()), any::<bool>()).prop_map(|(source, note, invented)| About {
        source,
        note,
        invented,
    })
}

fn named<T: std::fmt::Debug>(
    item: impl Strategy<Value = T>,
    count: std::ops::Range<usize>,
) -> impl Strategy<Value = IndexMap<String, T>> {
    vec((name(), item), count).prop_map(|items| items.into_iter().collect())
}

fn friction() -> impl Strategy<Value = FrictionWritten> {
    prop_oneof![
        (c(), of((c(), c()))).prop_map(|(coefficient, spread)| FrictionWritten::Coefficient {
            coefficient,
            spread: spread.map(|(a, b)| if a.get() <= b.get() { [a, b] } else { [b, a] }),
        }),
        (size(), quantity(Kind::Size, 0.0..1.0, &["mm"]))
            .prop_map(|(bore, roughness)| FrictionWritten::Roughness { bore, roughness }),
        (size(), 60..190u32).prop_map(|(bore, c)| FrictionWritten::HazenWilliams {
            bore,
            hazen_williams: Stated::read(Kind::Share, &c.to_string(), System::Us).unwrap(),
        }),
    ]
}

fn measured() -> impl Strategy<Value = Measured> {
    (c(), any::<bool>(), of(c()), of(text())).prop_map(
        |(coefficient, dated, uncertainty, source)| Measured {
            coefficient,
            date: dated.then(|| "2026-05-11".into()),
            uncertainty,
            source,
        },
    )
}

fn hose() -> impl Strategy<Value = HoseItem> {
    let ends = (of(coupling(Side::Inlet)), of(coupling(Side::Outlet)));
    (
        size(),
        friction(),
        of(measured()),
        ends,
        of(pressure()),
        any::<bool>(),
        about(),
    )
        .prop_map(
            |(size, friction, measured, (inlet, outlet), service_pressure, heavy, about)| {
                HoseItem {
                    size,
                    friction: Some(friction),
                    measured,
                    inlet,
                    outlet,
                    service_pressure,
                    weight: heavy.then(|| Stated::read_weight("16 lb per 50 ft").unwrap()),
                    about,
                }
            },
        )
}

fn setting() -> impl Strategy<Value = AutomaticSetting> {
    let psi = |value: f64| Stated::read(Kind::Pressure, &format!("{value:.1} psi"), System::Us);
    let gpm = |value: f64| Stated::read(Kind::Flow, &format!("{value:.0} gpm"), System::Us);
    (50.0..100.0f64, 2.0..3.0f64, 40.0..100.0f64, 1.0..1.5f64).prop_map(
        move |(flow, more, pressure, steep)| AutomaticSetting {
            flow: [gpm(flow).unwrap(), gpm(flow * more).unwrap()],
            pressure: [psi(pressure).unwrap(), psi(pressure * steep).unwrap()],
        },
    )
}

fn kind() -> impl Strategy<Value = NozzleKind> {
    let listed = vec(flow(), 1..4).prop_map(|flows| {
        let name = |f: Stated<_>| (f.text().to_string(), f);
        flows.into_iter().map(name).collect::<IndexMap<_, _>>()
    });
    prop_oneof![
        (size(), of(discharge()))
            .prop_map(|(bore, coefficient)| NozzleKind::SmoothBore { bore, coefficient }),
        (flow(), pressure()).prop_map(|(flow, pressure)| NozzleKind::Fixed { flow, pressure }),
        (prop_oneof![listed, named(flow(), 1..4)], pressure())
            .prop_map(|(flows, pressure)| NozzleKind::Selectable { flows, pressure }),
        (named(setting(), 1..3), of(pressure()), any::<bool>()).prop_map(
            |(settings, band, flush)| NozzleKind::Automatic {
                settings,
                // A band has a narrower range.
                band: band.filter(|b: &Stated<hydraulics::units::Pressure>| b.get().value < 1e6),
                flush,
            }
        ),
    ]
}

fn nozzle() -> impl Strategy<Value = NozzleItem> {
    let shutoff = prop_oneof![
        Just(Shutoff::None),
        Just(Shutoff::Slide),
        Just(Shutoff::Ball)
    ];
    let joints = (of(coupling(Side::Inlet)), of(coupling(Side::Outlet)));
    (kind(), shutoff, of(size()), joints, any::<bool>(), about()).prop_map(
        |(kind, shutoff, waterway, (coupling, breaks_at), foam, about)| NozzleItem {
            kind,
            shutoff,
            waterway,
            coupling,
            breaks_at: breaks_at.filter(|_| shutoff != Shutoff::None),
            foam,
            about,
        },
    )
}

fn loss() -> impl Strategy<Value = LossWritten> {
    let psi = || quantity(Kind::Pressure, 0.0..100.0, &["psi", ""]);
    prop_oneof![
        (psi(), flow()).prop_map(|(pressure, flow)| LossWritten::Rated { pressure, flow }),
        (psi(), of(flow())).prop_map(|(allowance, from_flow)| LossWritten::Allowance {
            allowance,
            from_flow,
        }),
    ]
}

fn appliance() -> impl Strategy<Value = ApplianceItem> {
    let kind = (0..ApplianceKind::ALL.len()).prop_map(|i| ApplianceKind::ALL[i]);
    let gates = prop_oneof![
        Just(None),
        Just(Some(ValveKind::Ball)),
        Just(Some(ValveKind::Slide))
    ];
    let inlets = vec(coupling(Side::Inlet), 0..3);
    let outlets = vec(coupling(Side::Outlet), 0..3);
    (
        kind,
        of(loss()),
        gates,
        any::<bool>(),
        of(size()),
        inlets,
        outlets,
        about(),
    )
        .prop_map(
            |(kind, loss, gates, clappers, waterway, inlets, outlets, about)| ApplianceItem {
                kind,
                loss,
                gates,
                clappers,
                waterway,
                inlets,
                outlets,
                about,
            },
        )
}

fn rig() -> impl Strategy<Value = RigItem> {
    let tank = quantity(Kind::Volume, 100.0..3000.0, &["gal", "L", ""]);
    (of(flow()), of(tank), about()).prop_map(|(pump, tank, about)| RigItem { pump, tank, about })
}

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

fn device() -> impl Strategy<Value = Part> {
    of(rise()).prop_map(|rise| {
        Part::Appliance(AppliancePart {
            appliance: "appliance from 350 gpm".into(),
            gates: Vec::new(),
            rise,
        })
    })
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
    )
        .prop_map(|(gate, rise, regulator, screen_blocked, aim, low)| {
            Part::Nozzle(NozzlePart {
                nozzle: "any".into(),
                setting: Some(if low { "95".into() } else { "high".into() }),
                gate,
                rise,
                regulator,
                screen_blocked,
                tip_only: false,
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

fn line() -> impl Strategy<Value = Line> {
    (of(text()), of(pressure()), row(), of(aim()), about()).prop_map(
        |(title, pump_pressure, parts, aim, about)| Line {
            title,
            rig: None,
            pump_pressure,
            parts,
            aim,
            about,
        },
    )
}

/// The nozzle that every line uses; its settings are named by a word and by a
/// number.
fn any_nozzle() -> NozzleItem {
    let text = "[book]\nname = \"x\"\n[nozzle.any]\nkind = \"automatic\"\nflush = true\nshutoff = \"slide\"\n\
        setting.high = { flow = [70, 200], pressure = [94, 106] }\nsetting.95 = { flow = [70, 200], pressure = [46, 56] }";
    read(text.as_bytes(), "x").unwrap().nozzle["any"].clone()
}

fn a_book() -> impl Strategy<Value = Book> {
    let pounds = |n: u32| Stated::read(Kind::Force, &format!("{n} lbf"), System::Us).unwrap();
    let crew = about().prop_map(move |about| Crew {
        one: pounds(60),
        two: pounds(75),
        three: pounds(95),
        about,
    });
    let water = quantity(Kind::Temperature, 33.0..60.0, &["F", "C", ""]);
    let head = (text(), about(), of(water), of(crew), of(pressure()));
    let equipment = (
        named(hose(), 0..4),
        named(nozzle(), 0..4),
        named(appliance(), 0..4),
    );
    (head, equipment, named(rig(), 0..3), named(line(), 0..4)).prop_map(
        |((name, about, water, crew, pump_ceiling), (hose, mut nozzle, appliance), rig, line)| {
            nozzle.insert("any".into(), any_nozzle());
            Book {
                name,
                about,
                units: System::Us,
                water,
                crew,
                pump_ceiling,
                hose,
                nozzle,
                appliance,
                rig,
                line,
            }
        },
    )
}

const DEMO: &str = include_str!("../../../books/saltmarsh-bend.toml");

/// Reading what was written gives the same book.
fn comes_back(bytes: &[u8]) -> Result<(), TestCaseError> {
    if let Ok(first) = read(bytes, "any.toml") {
        let text = write(&first);
        let second = read(text.as_bytes(), "written.toml");
        let second = second.map_err(|e| TestCaseError::fail(format!("{e:?}\n{text}")))?;
        prop_assert_eq!(first, second, "{}", text);
    }
    Ok(())
}

/// A stretch of the demo book, to put in place of another.
fn patch() -> impl Strategy<Value = Vec<u8>> {
    let demo = DEMO.as_bytes();
    prop_oneof![
        vec(any::<u8>(), 0..6),
        (0..demo.len(), 0..40usize)
            .prop_map(move |(at, n)| { demo[at..demo.len().min(at + n)].to_vec() }),
        prop_oneof![
            "[\\[\\]{}\"'=,.\n#-]",
            "-?[0-9]{1,4}",
            "\"[0-9.]{1,3} [a-zA-Z/]{1,5}\""
        ]
        .prop_map(String::into_bytes),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn law_any_book_reads_as_it_was_written(book in a_book()) {
        let text = write(&book);
        match read(text.as_bytes(), "written.toml") {
            Ok(back) => prop_assert_eq!(back, book, "{}", text),
            Err(problems) => prop_assert!(false, "{:?}\n{}", problems, text),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn law_a_changed_demo_book_is_read_or_refused(
        patches in vec((0..DEMO.len(), 0..30usize, patch()), 1..3)
    ) {
        let mut bytes = DEMO.as_bytes().to_vec();
        for (at, length, patch) in patches {
            let start = at.min(bytes.len());
            let end = bytes.len().min(start + length);
            bytes.splice(start..end, patch);
        }
        comes_back(&bytes)?;
    }

    #[test]
    fn law_any_bytes_are_read_or_refused(bytes in vec(any::<u8>(), 0..200), text in "[\\[\\]{}\"'=,.a-c\n# 0-9-]{0,120}") {
        comes_back(&bytes)?;
        comes_back(text.as_bytes())?;
    }
}
