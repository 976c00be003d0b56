//! From what was written on the command line to a question.

use crate::args::{Coefficient, Reader, Solve, Units};
use book::{Book, Conditions, Path, SceneConditions, Which};
use hydraulics::nozzle::Regulator;
use hydraulics::units::{Kind, Length, Measure, Pressure, Ratio, System, parse};
use study::WhatIf;

/// Why a command could not be understood.
pub type Misread = String;

/// The units the reader wants.
pub fn system(reader: &Reader, book: &Book) -> System {
    match reader.units {
        None => book.units,
        Some(Units::Us) => System::Us,
        Some(Units::Si) => System::Si,
    }
}

/// Which coefficients to use.
pub fn which(reader: &Reader) -> Which {
    match reader.coefficient {
        Coefficient::Best => Which::Best,
        Coefficient::Published => Which::Published,
        Coefficient::Low => Which::PublishedLow,
        Coefficient::High => Which::PublishedHigh,
    }
}

/// A quantity from an option, named in the message when it cannot be read.
pub fn quantity<Q: Measure>(option: &str, kind: Kind, text: &str) -> Result<Q, Misread> {
    parse(kind, text).map_err(|error| {
        let example = kind.example(System::Us);
        let metric = kind.example(System::Si);
        format!("{option}: {error}; write it like \"{example}\" or \"{metric}\"")
    })
}

/// A pressure that may not be below zero.
pub fn pressure(option: &str, text: &str) -> Result<Pressure, Misread> {
    let pressure: Pressure = quantity(option, Kind::Pressure, text)?;
    if pressure.value < 0.0 {
        return Err(format!("{option}: a pressure of {text} is below zero"));
    }
    Ok(pressure)
}

/// Lengths set apart by commas or semicolons.
pub fn lengths(option: &str, text: &str) -> Result<Vec<Length>, Misread> {
    let items = text
        .split([',', ';'])
        .map(str::trim)
        .filter(|t| !t.is_empty());
    let lengths: Vec<Length> = items
        .map(|t| quantity(option, Kind::Length, t))
        .collect::<Result<_, _>>()?;
    match lengths.len() {
        0 => Err(format!("{option}: there is no length in \"{text}\"")),
        1..=40 => Ok(lengths),
        many => Err(format!(
            "{option}: {many} lengths are too many for a chart; 40 fit"
        )),
    }
}

/// A share between 0 and 1.
fn share(option: &str, text: &str) -> Result<Ratio, Misread> {
    let share: Ratio = quantity(option, Kind::Share, text)?;
    if (0.0..=1.0).contains(&share.value) {
        Ok(share)
    } else {
        Err(format!(
            "{option}: {text} is not a share between 0 % and 100 %"
        ))
    }
}

fn regulator(option: &str, text: &str) -> Result<Regulator, Misread> {
    match text.trim().split_once(' ') {
        None if text.eq_ignore_ascii_case("flush") => Ok(Regulator::Flush),
        None if text.eq_ignore_ascii_case("opening") => Ok(Regulator::Opening),
        None if text.eq_ignore_ascii_case("closing") => Ok(Regulator::Closing),
        Some(("jammed", at)) => Ok(Regulator::Jammed(share(option, at)?)),
        _ => Err(format!(
            "{option}: \"{text}\" is none of flush, opening, closing, \"jammed 40 %\""
        )),
    }
}

/// The conditions that a question starts from.
pub fn conditions(reader: &Reader, pump: Option<&str>) -> Result<Conditions, Misread> {
    Ok(Conditions {
        pump_pressure: pump.map(|p| pressure("--pump", p)).transpose()?,
        which: which(reader),
        ..Default::default()
    })
}

/// A scene as the book has it.
pub fn plain_scene(reader: &Reader) -> SceneConditions {
    SceneConditions {
        which: which(reader),
        ..Default::default()
    }
}

/// The changes asked of a scene.
pub fn scene_changes(ask: &Solve, book: &Book, name: &str) -> Result<SceneConditions, Misread> {
    let of_lines = [
        ("--setting", &ask.setting),
        ("--kink", &ask.kink),
        ("--screen", &ask.screen),
        ("--regulator", &ask.regulator),
        ("--rise", &ask.rise),
        ("--hose", &ask.hose),
        ("--nozzle", &ask.nozzle),
        ("--second", &ask.second),
    ];
    let asked = of_lines.iter().find(|(_, list)| !list.is_empty());
    let asked = asked.map(|(option, _)| *option);
    if let Some(option) = asked.or(ask.off.as_ref().map(|_| "--off")) {
        return Err(format!(
            "{option} is a question about one line; of a scene ask --pump, --gate or --weaker"
        ));
    }
    let mut conditions = SceneConditions::default();
    if let Some(text) = &ask.weaker {
        let left = share("--weaker", text)?;
        if left.value < 0.01 {
            return Err("--weaker: leave the mains at least 1 %".into());
        }
        conditions.hydrants = Some(left);
    }
    for text in &ask.pump {
        let (rig, value) = whose("--pump", text, "pumper-1 = 150 psi")?;
        conditions
            .pump_pressure
            .insert(rig, pressure("--pump", &value)?);
    }
    if ask.gate.is_empty() {
        return Ok(conditions);
    }
    let laid = book::scene(book, name, &conditions).map_err(|e| e.to_string())?;
    for text in &ask.gate {
        let (line, value) = whose("--gate", text, "left-crosslay = 50 %")?;
        if let Some((line, place)) = line.split_once(':') {
            let place: Path = place
                .trim()
                .parse()
                .map_err(|e: book::PathError| format!("--gate: {e}"))?;
            let changes = conditions.changes.entry(line.trim().into()).or_default();
            changes.entry(place).or_default().gate = Some(share("--gate", &value)?);
            continue;
        }
        let fed = |b: &&book::Branch| {
            let feeds = b.outlet.feeds.to_string();
            let kinds = ["line", "standpipe", "supply to"];
            feeds == line || kinds.iter().any(|kind| feeds == format!("{kind} {line}"))
        };
        let branch = laid.branches.iter().find(fed).ok_or_else(|| {
            let all: Vec<String> = laid
                .branches
                .iter()
                .map(|b| b.outlet.feeds.to_string())
                .collect();
            format!(
                "--gate: no outlet feeds \"{line}\"; there are {}",
                all.join(", ")
            )
        })?;
        conditions
            .outlets
            .insert(branch.outlet.clone(), share("--gate", &value)?);
    }
    Ok(conditions)
}

/// Reads "NAME = VALUE".
fn whose(option: &str, text: &str, example: &str) -> Result<(String, String), Misread> {
    let (name, value) = text
        .split_once('=')
        .ok_or_else(|| format!("{option}: in a scene say whose, as {option} \"{example}\""))?;
    Ok((name.trim().to_string(), value.trim().to_string()))
}

/// The changes asked of one line.
pub fn changes(ask: &Solve, book: &Book, line: &str) -> Result<Vec<WhatIf>, Misread> {
    let mut changes = Vec::new();
    let layout = book::layout(book, line, &Conditions::default()).map_err(|e| e.to_string())?;
    let tips: Vec<Path> = layout.tips.iter().map(|t| t.path.clone()).collect();
    let hoses = layout
        .parts
        .iter()
        .filter(|p| p.kind == book::PartKind::Hose);
    let hoses: Vec<Path> = hoses.map(|p| p.path.clone()).collect();
    let tip = |option: &str, text: &str| placed(option, text, &tips, true);
    let hose = |option: &str, text: &str| placed(option, text, &hoses, false);
    if let Some(off) = &ask.off {
        changes.push(WhatIf::PumpOff(quantity("--off", Kind::Pressure, off)?));
    }
    for text in &ask.gate {
        let (place, value) = tip("--gate", text)?;
        changes.push(WhatIf::Gate(place, share("--gate", &value)?));
    }
    for text in &ask.setting {
        let (place, value) = tip("--setting", text)?;
        changes.push(WhatIf::Setting(place, value));
    }
    for text in &ask.kink {
        let (place, value) = hose("--kink", text)?;
        changes.push(WhatIf::Kink(place, share("--kink", &value)?));
    }
    for text in &ask.screen {
        let (place, value) = tip("--screen", text)?;
        changes.push(WhatIf::Screen(place, share("--screen", &value)?));
    }
    for text in &ask.regulator {
        let (place, value) = tip("--regulator", text)?;
        changes.push(WhatIf::Regulator(place, regulator("--regulator", &value)?));
    }
    for text in &ask.rise {
        let (place, value) = tip("--rise", text)?;
        changes.push(WhatIf::Rise(
            place,
            quantity("--rise", Kind::Length, &value)?,
        ));
    }
    for text in &ask.hose {
        let (place, value) = hose("--hose", text)?;
        changes.push(WhatIf::Hose(place, value));
    }
    for text in &ask.nozzle {
        let (place, value) = tip("--nozzle", text)?;
        changes.push(WhatIf::Nozzle(place, value));
    }
    changes.extend(ask.second.iter().cloned().map(WhatIf::SecondLine));
    Ok(changes)
}

/// Reads "[PLACE =] VALUE". Without a place it is the first of `usual`, which
/// must be the only one where `only`.
fn placed(option: &str, text: &str, usual: &[Path], only: bool) -> Result<(Path, String), Misread> {
    if let Some((place, value)) = text.split_once('=') {
        let place: Path = place
            .trim()
            .parse()
            .map_err(|e: book::PathError| format!("{option}: {e}"))?;
        return Ok((place, value.trim().to_string()));
    }
    match usual {
        [first, ..] if !only || usual.len() == 1 => Ok((first.clone(), text.trim().to_string())),
        _ => {
            let places: Vec<String> = usual.iter().map(|p| format!("\"{p}\"")).collect();
            let first = usual.first().map_or_else(String::new, ToString::to_string);
            Err(format!(
                "{option}: this line has several places, say which: {}; for example {option} \"{first} = {}\"",
                places.join(", "),
                text.trim()
            ))
        }
    }
}
