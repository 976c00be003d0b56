//! Any quantity, name and note.

use book::{About, Colour, Marking, Stated, read};
use hydraulics::coupling::{Coupling, Side};
use hydraulics::friction::Coefficient;
use hydraulics::units::{Kind, Measure, Pressure, Ratio, System, Time};
use indexmap::IndexMap;
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use std::ops::Range;

/// A quantity of `kind`, bare or in any of the units given.
pub fn quantity<Q: Measure + std::fmt::Debug + 'static>(
    kind: Kind,
    range: Range<f64>,
    units: &'static [&'static str],
) -> impl Strategy<Value = Stated<Q>> + Clone {
    (range, 0..units.len(), 0..4usize).prop_map(move |(value, unit, decimals)| {
        let text = format!("{value:.decimals$} {}", units[unit]);
        Stated::read(kind, &text, System::Us).unwrap()
    })
}

pub fn flow<Q: Measure + std::fmt::Debug + 'static>() -> impl Strategy<Value = Stated<Q>> + Clone {
    quantity(Kind::Flow, 10.0..900.0, &["gpm", "L/min", ""])
}

pub fn pressure<Q: Measure + std::fmt::Debug + 'static>() -> impl Strategy<Value = Stated<Q>> + Clone
{
    quantity(Kind::Pressure, 10.0..40.0, &["psi", "bar", "PSI", ""])
}

pub fn size<Q: Measure + std::fmt::Debug + 'static>() -> impl Strategy<Value = Stated<Q>> + Clone {
    quantity(Kind::Size, 4.0..11.0, &["mm", "in", "cm"])
}

pub fn length<Q: Measure + std::fmt::Debug + 'static>() -> impl Strategy<Value = Stated<Q>> + Clone
{
    quantity(Kind::Length, 2.0..900.0, &["ft", "m", "feet", ""])
}

pub fn rise<Q: Measure + std::fmt::Debug + 'static>() -> impl Strategy<Value = Stated<Q>> + Clone {
    quantity(Kind::Length, -200.0..200.0, &["ft", "m", ""])
}

pub fn share<Q: Measure + std::fmt::Debug + 'static>() -> impl Strategy<Value = Stated<Q>> + Clone {
    (0.0..1.0f64, any::<bool>()).prop_map(|(value, percent)| {
        let text = match percent {
            true => format!("{:.1} %", 100.0 * value),
            false => format!("{value:.3}"),
        };
        Stated::read(Kind::Share, &text, System::Us).unwrap()
    })
}

/// A whole number of psi, bare or not.
pub fn psi(range: Range<u32>) -> impl Strategy<Value = Stated<Pressure>> + Clone {
    (range, any::<bool>()).prop_map(|(value, bare)| {
        let text = if bare {
            value.to_string()
        } else {
            format!("{value} psi")
        };
        Stated::read(Kind::Pressure, &text, System::Us).unwrap()
    })
}

pub fn time() -> impl Strategy<Value = Stated<Time>> + Clone {
    quantity(Kind::Time, 0.0..600.0, &["min", "s", "minutes", ""])
}

/// A colour by its word or its code, and a mark.
pub fn marking() -> impl Strategy<Value = Marking> + Clone {
    let colour = prop_oneof![
        (0..11usize).prop_map(|i| Colour::words().nth(i)),
        Just(None),
    ];
    let code = any::<u32>().prop_map(|code| format!("#{:06x}", code >> 8));
    let colour = (colour, code).prop_map(|(word, code)| match word {
        Some(word) => Colour::read(word),
        None => Colour::read(&code),
    });
    let mark = "[A-Z0-9é\\\\\"]{1,12}";
    (colour, any::<bool>(), of(mark)).prop_map(|(colour, has, mark)| Marking {
        colour: colour.filter(|_| has),
        mark,
    })
}

/// How many of a thing there are.
pub fn count(range: Range<u32>) -> impl Strategy<Value = Stated<Ratio>> + Clone {
    range.prop_map(|n| Stated::read(Kind::Share, &n.to_string(), System::Us).unwrap())
}

pub fn discharge<Q: Measure + std::fmt::Debug + 'static>() -> impl Strategy<Value = Stated<Q>> {
    (40..100u32).prop_map(|n| Stated::read(Kind::Share, &format!("0.{n}"), System::Us).unwrap())
}

pub fn c() -> impl Strategy<Value = Stated<Coefficient>> + Clone {
    (0.01..1000.0f64, 0..3usize).prop_map(|(value, form)| {
        let form = ["", " us", " metric"][form];
        Stated::read_c(&format!("{value:.2}{form}"), System::Us).unwrap()
    })
}

pub fn coupling(side: Side) -> impl Strategy<Value = Stated<Coupling>> + Clone {
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

pub fn text() -> impl Strategy<Value = String> {
    any::<String>()
}

/// A name with quotation marks, spaces and letters of many kinds, or digits.
pub fn name() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-z][a-z0-9-]{0,8}",
        "[0-9]{1,3}(\\.[0-9])?",
        "[a-zé\"'\\\\ .#=]{1,12}x"
    ]
}

pub fn about() -> impl Strategy<Value = About> {
    (of(text()), of(text()), any::<bool>()).prop_map(|(source, note, invented)| About {
        source,
        note,
        invented,
    })
}

pub fn named<T: std::fmt::Debug>(
    item: impl Strategy<Value = T>,
    count: Range<usize>,
) -> impl Strategy<Value = IndexMap<String, T>> {
    vec((name(), item), count).prop_map(|items| items.into_iter().collect())
}
