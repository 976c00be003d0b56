//! What a nozzle gives as its pressure rises, and how hard it then pushes back.

use crate::canvas::Spot;
use crate::curves::{Curve, Known, POINTS, Plot};
use crate::drawing::{Drawing, Table};
use crate::frame::value;
use book::{NozzleItem, NozzleUsed, Which};
use hydraulics::nozzle::{Nozzle, Regime};
use hydraulics::reaction::{Form, solid_stream, spray};
use hydraulics::units::{Force, Kind, Measure, Pressure, System, VolumeRate, show};
use study::answer::regime_word;

/// Flow of a nozzle over nozzle pressure, at each of its settings; below and above
/// its range an automatic nozzle's is dashed. `None` when its numbers describe no
/// nozzle.
///
/// ```
/// use hydraulics::units::System;
/// let item = &book::catalogue().nozzle["150 gpm at 50 psi"];
/// let drawing = picture::nozzle_curve("150 gpm at 50 psi", item, System::Us).unwrap();
/// assert!(drawing.caption.contains("150 gpm at 50 psi"));
/// ```
pub fn nozzle_curve(name: &str, item: &NozzleItem, system: System) -> Option<Drawing> {
    let settings = settings(item)?;
    let x = |pressure: Pressure| value(Kind::Pressure, pressure, system);
    let y = |flow: VolumeRate| value(Kind::Flow, flow, system);
    let at = |_: &Setting, pressure, flow| (x(pressure), y(flow));
    let plot = Plot {
        heading: name,
        system,
        x: ("Nozzle pressure", Kind::Pressure),
        y: ("Flow", Kind::Flow),
        curves: curves(&settings, at),
        band: None,
        levels: Vec::new(),
        known: known(&settings, at, |_, pressure, flow| {
            format!(
                "{} at {}",
                show(Kind::Flow, flow, system),
                show(Kind::Pressure, pressure, system)
            )
        }),
    };
    let caption = caption(name, "flow over nozzle pressure", &plot, &settings);
    let head = ["Setting", "Nozzle pressure", "Flow", "Range"];
    let table = table(&settings, &head, |setting, pressure, flow| {
        vec![
            setting.name.clone(),
            show(Kind::Pressure, pressure, system),
            show(Kind::Flow, flow, system),
            setting.regime(flow).to_string(),
        ]
    });
    Some(plot.draw(&format!("Flow of nozzle {name}"), caption, table))
}

/// Reaction of a nozzle over flow by the trade's form for it, with what one, two and
/// three people can hold, the crew limits. `None` when its numbers describe no
/// nozzle.
///
/// ```
/// use hydraulics::units::System;
/// let item = &book::catalogue().nozzle["1-3/8 in smooth bore"];
/// let limits = book::Book::default().crew_limits();
/// let drawing = picture::reaction_curve("1-3/8 in", item, limits, System::Us).unwrap();
/// assert!(drawing.caption.contains("1.57 d2 NP"));
/// ```
pub fn reaction_curve(
    name: &str,
    item: &NozzleItem,
    limits: [Force; 3],
    system: System,
) -> Option<Drawing> {
    let settings = settings(item)?;
    let x = |flow: VolumeRate| value(Kind::Flow, flow, system);
    let y = |force: Force| value(Kind::Force, force, system);
    let at = |setting: &Setting, pressure, flow| (x(flow), y(setting.reaction(pressure, flow)));
    let curves = curves(&settings, at);
    let all = curves.iter().flat_map(|curve| &curve.points);
    let highest = all.map(|at| at.1).fold(0.0, f64::max);
    let plot = Plot {
        heading: name,
        system,
        x: ("Flow", Kind::Flow),
        y: ("Reaction", Kind::Force),
        curves,
        band: None,
        levels: levels(limits, highest, system),
        known: known(&settings, at, |setting, pressure, flow| {
            format!(
                "{} at {}",
                show(Kind::Force, setting.reaction(pressure, flow), system),
                show(Kind::Flow, flow, system)
            )
        }),
    };
    let form = settings.first().map_or(Form::Spray, Setting::form);
    let what = format!("reaction over flow, by the trade's {}", form.formula());
    let caption = caption(name, &what, &plot, &settings);
    let head = ["Setting", "Nozzle pressure", "Flow", "Reaction"];
    let table = table(&settings, &head, |setting, pressure, flow| {
        vec![
            setting.name.clone(),
            show(Kind::Pressure, pressure, system),
            show(Kind::Flow, flow, system),
            show(Kind::Force, setting.reaction(pressure, flow), system),
        ]
    });
    Some(plot.draw(&format!("Reaction of nozzle {name}"), caption, table))
}

/// A nozzle at one of its settings.
struct Setting {
    /// Empty where it has none.
    name: String,
    /// What is said before its numbers.
    said: String,
    nozzle: Nozzle,
    /// The pressures for which it is rated: one, or the ends of its range.
    rated: Vec<Pressure>,
}

fn settings(item: &NozzleItem) -> Option<Vec<Setting>> {
    let names = item.settings();
    let asked: Vec<Option<&str>> = match names.is_empty() {
        true => vec![None],
        false => names.into_iter().map(Some).collect(),
    };
    let mut settings = Vec::new();
    for name in asked {
        let best = item.used(name, Which::Best).ok()?;
        let two = best.both;
        settings.push(setting(item, name, best)?);
        // What was measured stands beside the rating, here as in the book.
        if two {
            let rated = item.used(name, Which::Published).ok()?;
            settings.push(setting(item, name, rated)?);
        }
    }
    Some(settings)
}

fn setting(item: &NozzleItem, name: Option<&str>, used: NozzleUsed) -> Option<Setting> {
    let rated = match &used.nozzle {
        Nozzle::Automatic(automatic) => vec![automatic.pressures().0, automatic.pressures().1],
        _ => vec![item.rated_pressure(name).ok()?],
    };
    let how = if used.measured { "measured" } else { "rated" };
    let (called, said) = match (name, used.both) {
        (Some(name), true) => (format!("{name}, {how}"), format!("Setting {name}, {how}")),
        (Some(name), false) => (name.to_string(), format!("Setting {name}")),
        (None, true) => (how.to_string(), capital(how)),
        (None, false) => (String::new(), "Rated".to_string()),
    };
    Some(Setting {
        name: called,
        said,
        nozzle: used.nozzle,
        rated,
    })
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    let first = letters.next().map(|c| c.to_ascii_uppercase());
    first.into_iter().chain(letters).collect()
}

impl Setting {
    fn form(&self) -> Form {
        match self.nozzle {
            Nozzle::SmoothBore(_) => Form::SolidStream,
            _ => Form::Spray,
        }
    }

    fn reaction(&self, pressure: Pressure, flow: VolumeRate) -> Force {
        match &self.nozzle {
            Nozzle::SmoothBore(nozzle) => solid_stream(nozzle.bore(), pressure),
            _ => spray(flow, pressure),
        }
    }

    fn regime(&self, flow: VolumeRate) -> &'static str {
        self.nozzle.regime(flow).map_or("", regime_word)
    }

    /// Half as much again as the highest pressure for which it is rated.
    fn most(&self) -> Pressure {
        self.rated
            .iter()
            .copied()
            .fold(Pressure::of_si(0.0), Pressure::max)
            * 1.5
    }

    /// Pressures from none to the highest, with the ends of the range.
    fn pressures(&self) -> Vec<Pressure> {
        let even = (0..=POINTS).map(|n| self.most() * (f64::from(n) / f64::from(POINTS)));
        let mut all: Vec<Pressure> = even.chain(self.rated.iter().copied()).collect();
        all.sort_by(|a, b| a.value.total_cmp(&b.value));
        all
    }
}

/// The curve of every setting, an automatic nozzle's in its three pieces.
fn curves(settings: &[Setting], at: impl Fn(&Setting, Pressure, VolumeRate) -> Spot) -> Vec<Curve> {
    let mut curves: Vec<Curve> = Vec::new();
    for setting in settings {
        let mut last: Option<(Option<Regime>, Spot)> = None;
        for pressure in setting.pressures() {
            let flow = setting.nozzle.flow(pressure);
            let regime = piece(setting, pressure);
            let spot = at(setting, pressure, flow);
            if last.is_none_or(|(before, _)| before != regime) {
                let (class, named) = manner(regime);
                curves.push(Curve {
                    class,
                    name: if named {
                        setting.name.clone()
                    } else {
                        String::new()
                    },
                    points: last.iter().map(|(_, spot)| *spot).collect(),
                });
            }
            if let Some(curve) = curves.last_mut() {
                curve.points.push(spot);
            }
            last = Some((regime, spot));
        }
    }
    curves
}

/// Where in its range an automatic nozzle is at a pressure, both ends within.
fn piece(setting: &Setting, pressure: Pressure) -> Option<Regime> {
    let Nozzle::Automatic(automatic) = &setting.nozzle else {
        return None;
    };
    let (low, high) = automatic.pressures();
    Some(if pressure < low {
        Regime::Below
    } else if pressure > high {
        Regime::Above
    } else {
        Regime::In
    })
}

fn manner(regime: Option<Regime>) -> (&'static str, bool) {
    match regime {
        None | Some(Regime::In) => ("main", true),
        Some(Regime::Below) => ("main dash", false),
        Some(Regime::Above) => ("main dashdot", false),
    }
}

fn known(
    settings: &[Setting],
    at: impl Fn(&Setting, Pressure, VolumeRate) -> Spot,
    words: impl Fn(&Setting, Pressure, VolumeRate) -> String,
) -> Vec<Known> {
    let mut known = Vec::new();
    for setting in settings {
        for &pressure in &setting.rated {
            let flow = setting.nozzle.flow(pressure);
            let label = words(setting, pressure, flow);
            let said = format!("{}: {label}", setting.said);
            let at = at(setting, pressure, flow);
            known.push(Known { at, said, label });
        }
    }
    known
}

/// Crew limits, unless all lie together at the foot of the drawing.
fn levels(limits: [Force; 3], highest: f64, system: System) -> Vec<(f64, String)> {
    let people = ["1 person", "2 people", "3 people"];
    let level = |(limit, people): (Force, &str)| {
        let words = format!("{people}, {}", show(Kind::Force, limit, system));
        (value(Kind::Force, limit, system), words)
    };
    let levels: Vec<_> = limits.into_iter().zip(people).map(level).collect();
    match levels.last().is_some_and(|(most, _)| *most * 5.0 > highest) {
        true => levels,
        false => Vec::new(),
    }
}

fn caption(name: &str, what: &str, plot: &Plot<'_>, settings: &[Setting]) -> String {
    let mut caption = format!("Nozzle {name}: {what}.");
    for known in &plot.known {
        caption.push_str(&format!(" {}.", known.said));
    }
    let automatic = |setting: &Setting| matches!(setting.nozzle, Nozzle::Automatic(_));
    if settings.iter().any(automatic) {
        caption.push_str(" Whole within its range, dashed below it, dashed and dotted above it.");
    }
    caption
}

fn table(
    settings: &[Setting],
    head: &[&str],
    row: impl Fn(&Setting, Pressure, VolumeRate) -> Vec<String>,
) -> Table {
    let mut table = Table::new(head);
    for setting in settings {
        let shares = [0.25, 0.5, 0.75, 1.0].map(|share| setting.most() * share);
        let mut pressures: Vec<Pressure> = shares.into_iter().collect();
        pressures.extend(&setting.rated);
        pressures.sort_by(|a, b| a.value.total_cmp(&b.value));
        for pressure in pressures {
            let flow = setting.nozzle.flow(pressure);
            table.rows.push(row(setting, pressure, flow));
        }
    }
    let unnamed = table
        .rows
        .iter()
        .all(|row| row.first().is_some_and(String::is_empty));
    if unnamed {
        table.head.remove(0);
        table.rows.iter_mut().for_each(|row| drop(row.remove(0)));
    }
    table
}
