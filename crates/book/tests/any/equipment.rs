//! Any hose, nozzle, appliance and rig.

use super::quantities::{
    about, c, count, coupling, discharge, flow, marking, name, named, pressure, quantity, size,
    text,
};
use book::{
    ApplianceItem, ApplianceKind, Attachment, AutomaticSetting, EductorWritten, FrictionWritten,
    GaugeItem, HoseItem, LossWritten, Measured, MeasuredLaw, MeasuredNozzle, NozzleForm,
    NozzleItem, NozzleKind, RigItem, Scale, Shutoff, Stated, Steps,
};
use hydraulics::coupling::Side;
use hydraulics::units::{Kind, Measure, Pressure, System, VolumeRate};
use hydraulics::valve::ValveKind;
use indexmap::IndexMap;
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;

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

pub fn hose() -> impl Strategy<Value = HoseItem> {
    let ends = (of(coupling(Side::Inlet)), of(coupling(Side::Outlet)));
    (
        size(),
        friction(),
        of(measured()),
        ends,
        of(pressure()),
        (any::<bool>(), of(section_price()), of(store())),
        about(),
    )
        .prop_map(
            |(size, friction, measured, (inlet, outlet), service_pressure, kept, about)| {
                let (heavy, price, stock) = kept;
                HoseItem {
                    size,
                    friction: Some(friction),
                    measured,
                    inlet,
                    outlet,
                    service_pressure,
                    weight: heavy.then(|| Stated::read_weight("16 lb per 50 ft").unwrap()),
                    price,
                    stock,
                    about,
                }
            },
        )
}

fn section_price() -> impl Strategy<Value = Stated<book::SectionPrice>> {
    (0..90_000u32, 1..40u32, any::<bool>()).prop_map(|(cents, length, us)| {
        let unit = if us { "ft" } else { "m" };
        let each = f64::from(cents) / 100.0;
        Stated::read_price(&format!("{each} per {length} {unit}")).unwrap()
    })
}

fn store() -> impl Strategy<Value = Stated<hydraulics::units::Length>> {
    quantity(Kind::Length, 0.0..4000.0, &["ft", "m", ""])
}

fn price() -> impl Strategy<Value = Stated<hydraulics::units::Ratio>> {
    (0..900_000u32).prop_map(|cents| {
        let text = (f64::from(cents) / 100.0).to_string();
        Stated::read(Kind::Share, &text, System::Us).unwrap()
    })
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

/// What was measured on a nozzle of `kind`: of some of its settings, or of it all.
fn tests(kind: NozzleKind) -> impl Strategy<Value = IndexMap<String, MeasuredNozzle>> {
    let names: Vec<String> = match kind.settings().as_slice() {
        [] => vec![String::new()],
        names => names.iter().map(|name| (*name).into()).collect(),
    };
    let share = of((1..40u32)
        .prop_map(|n| Stated::read(Kind::Share, &format!("0.0{n:02}"), System::Us).unwrap()));
    let law = match kind {
        NozzleKind::SmoothBore { .. } => (discharge(), share)
            .prop_map(|(coefficient, uncertainty)| MeasuredLaw::Coefficient {
                coefficient,
                uncertainty,
            })
            .boxed(),
        NozzleKind::Automatic { .. } => {
            let psi = &["psi", "kPa", ""];
            (
                setting(),
                of(quantity(Kind::Pressure, 0.6..20.0, psi)),
                quantity(Kind::Pressure, 0.6..20.0, psi),
            )
                .prop_map(|(setting, uncertainty, band)| MeasuredLaw::Range {
                    flow: setting.flow,
                    pressure: setting.pressure,
                    band: uncertainty.is_some().then_some(band),
                    uncertainty,
                })
                .boxed()
        }
        _ => (
            flow(),
            of(pressure()),
            of(quantity(Kind::Flow, 0.6..20.0, &["gpm", "L/min", ""])),
        )
            .prop_map(|(flow, pressure, uncertainty)| MeasuredLaw::Flow {
                flow,
                pressure,
                uncertainty,
            })
            .boxed(),
    };
    let test = (law, any::<bool>(), of(text())).prop_map(|(law, dated, source)| MeasuredNozzle {
        law,
        date: dated.then(|| "2026-05-11".into()),
        source,
    });
    let count = names.len();
    vec(of(test), count).prop_map(move |tests| {
        let named = names.iter().cloned().zip(tests);
        named
            .filter_map(|(name, test)| Some((name, test?)))
            .collect()
    })
}

pub fn nozzle() -> impl Strategy<Value = NozzleItem> {
    let shutoff = prop_oneof![
        Just(Shutoff::None),
        Just(Shutoff::Slide),
        Just(Shutoff::Ball)
    ];
    let joints = (of(coupling(Side::Inlet)), of(coupling(Side::Outlet)));
    let kind = kind().prop_flat_map(|kind| (Just(kind.clone()), tests(kind)));
    let own = (kind, shutoff, of(size()));
    let form = of((0..NozzleForm::ALL.len()).prop_map(|i| NozzleForm::ALL[i]));
    let foam = (any::<bool>(), named(attachment(), 0..3));
    let kept = (of(price()), of(count(0..100)));
    (own, joints, (form, marking()), (foam, kept), about()).prop_map(
        |(own, (coupling, breaks_at), (form, marking), (foam, (price, stock)), about)| {
            let (foam, attachment) = foam;
            let ((kind, measured), shutoff, waterway) = own;
            NozzleItem {
                kind,
                measured,
                shutoff,
                waterway,
                coupling,
                breaks_at: breaks_at.filter(|_| shutoff != Shutoff::None),
                form,
                marking,
                foam,
                attachment,
                price,
                stock,
                about,
            }
        },
    )
}

fn attachment() -> impl Strategy<Value = Attachment> {
    let reach = quantity(Kind::Length, 4.0..100.0, &["ft", "m", ""]);
    (count(1..1000), reach).prop_map(|(expansion, reach)| Attachment { expansion, reach })
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

fn eductor() -> impl Strategy<Value = EductorWritten> {
    let share = || quantity(Kind::Share, 30.0..90.0, &["%", "per cent"]);
    (flow(), pressure(), of(share())).prop_map(|(flow, inlet_pressure, back_pressure)| {
        EductorWritten {
            flow,
            inlet_pressure,
            back_pressure,
        }
    })
}

pub fn appliance() -> impl Strategy<Value = ApplianceItem> {
    let kind = (0..ApplianceKind::ALL.len()).prop_map(|i| ApplianceKind::ALL[i]);
    let gates = prop_oneof![
        Just(None),
        Just(Some(ValveKind::Ball)),
        Just(Some(ValveKind::Slide))
    ];
    let waterway = (gates, any::<bool>(), of(size()));
    let ends = (
        vec(coupling(Side::Inlet), 0..3),
        vec(coupling(Side::Outlet), 0..3),
    );
    let laws = (of(loss()), eductor(), pressure(), of(price()));
    (kind, laws, waterway, ends, about()).prop_map(
        |(
            kind,
            (loss, eductor, setting, price),
            (gates, clappers, waterway),
            (inlets, outlets),
            about,
        )| {
            ApplianceItem {
                kind,
                loss,
                gates,
                clappers,
                eductor: (kind == ApplianceKind::Eductor).then_some(eductor),
                setting: (kind == ApplianceKind::RegulatingValve).then_some(setting),
                waterway,
                inlets,
                outlets,
                price,
                about,
            }
        },
    )
}

/// A step, an accuracy, a swing and the end of a scale that is wider than any.
fn steps<Q: Measure + std::fmt::Debug + 'static>(
    kind: Kind,
    units: &'static [&'static str],
) -> impl Strategy<Value = Steps<Q>> {
    let small = move || of(quantity::<Q>(kind, 0.6..20.0, units));
    let whole = [units[0]];
    let highest = of((100..800u32).prop_map(move |n| {
        Stated::<Q>::read(kind, &format!("{n} {}", whole[0]), System::Us).unwrap()
    }));
    (small(), small(), small(), highest).prop_map(|(step, accuracy, swing, highest)| {
        let most = highest.as_ref().map_or(f64::INFINITY, |h| h.get().si());
        let fits = |part: &Stated<Q>| part.get().si() < most;
        Steps {
            step: step.filter(fits),
            accuracy: accuracy.filter(fits),
            swing: swing.filter(fits),
            highest,
        }
    })
}

pub fn gauge() -> impl Strategy<Value = GaugeItem> {
    let scale = prop_oneof![
        steps(Kind::Pressure, &["psi", "kPa", ""]).prop_map(Scale::Pressure),
        steps(Kind::Flow, &["gpm", "L/min", ""]).prop_map(Scale::Flow),
    ];
    let share = of(quantity(Kind::Share, 0.6..10.0, &["%", "per cent"]));
    let serial = prop_oneof![Just("G-104".to_string()), "[0-9]{1,5}", name()];
    (scale, share, of(serial), any::<bool>(), about()).prop_map(
        |(scale, accuracy_share, serial, dated, about)| GaugeItem {
            scale,
            accuracy_share,
            serial,
            calibrated: dated.then(|| "2026-03-02".into()),
            about,
        },
    )
}

type Points = Vec<(Stated<VolumeRate>, Stated<Pressure>)>;

/// A pump test: from point to point more flow at less pressure.
fn points() -> impl Strategy<Value = Points> {
    vec((1..200u32, 1..60u32), 2..5).prop_map(|steps| {
        let (mut flow, mut pressure) = (100, 300);
        let point = |(more, less): (u32, u32)| {
            flow += more;
            pressure -= less;
            let flow = Stated::read(Kind::Flow, &format!("{flow} gpm"), System::Us);
            let pressure = Stated::read(Kind::Pressure, &pressure.to_string(), System::Us);
            (flow.unwrap(), pressure.unwrap())
        };
        steps.into_iter().map(point).collect()
    })
}

pub fn rig() -> impl Strategy<Value = RigItem> {
    let volume = || of(quantity(Kind::Volume, 100.0..3000.0, &["gal", "L", ""]));
    let pump = prop_oneof![
        Just((None, None, Vec::new())),
        (flow(), of(pressure())).prop_map(|(flow, at)| (Some(flow), at, Vec::new())),
        (of((flow(), of(pressure()))), points()).prop_map(|(rated, points)| match rated {
            Some((flow, at)) => (Some(flow), at, points),
            None => (None, None, points),
        }),
    ];
    let foam = (volume(), of(flow()));
    (pump, volume(), of(flow()), foam, about()).prop_map(
        |((pump, pump_rated_at, pump_points), tank, tank_flow, foam, about)| RigItem {
            pump,
            pump_rated_at,
            pump_tested: (pump_points.len() > 2).then(|| "2026-04-02".into()),
            pump_points,
            tank,
            tank_flow,
            concentrate: foam.0,
            proportioner: foam.1,
            about,
        },
    )
}
