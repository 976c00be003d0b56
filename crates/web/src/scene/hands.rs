//! The hands on a scene: pumps, gates, mains; their state is the address's question.

use crate::address;
use crate::form::Pairs;
use book::{Book, Feeds, Outlet, SceneConditions, SceneLayout, SourceKind, Stated};
use hydraulics::units::{self, Kind, Measure, Pressure, Ratio, System, psi, show};
use maud::{Markup, html};
use study::SceneAnswer;

/// Everything that can be moved, and what the address says of it.
pub(super) struct Hands {
    groups: Vec<Group>,
    /// What the address asks of rigs and outlets that are not there.
    strange: Vec<String>,
}

/// What belongs to one rig, or to the mains.
struct Group {
    title: String,
    fields: Vec<Field>,
}

struct Field {
    /// Its name in the address.
    key: String,
    label: String,
    moves: Moves,
    typed: String,
    /// What was typed, in SI; nothing where nothing was.
    read: Result<Option<f64>, String>,
    /// What holds while it is empty, in SI.
    empty: Option<f64>,
    /// Where that comes from, and what else is worth knowing.
    aside: Vec<String>,
}

/// What a field moves.
#[derive(Clone, PartialEq)]
enum Moves {
    Pump(String),
    Gate(Outlet),
    Mains,
}

impl Hands {
    /// What the question `asked` says of the scene laid out as `laid`.
    pub fn read(book: &Book, laid: &SceneLayout, asked: &Pairs, system: System) -> Self {
        let mut groups: Vec<Group> = laid.rigs.iter().map(|rig| group(laid, &rig.name)).collect();
        let hydrant = |kind: &SourceKind| matches!(kind, SourceKind::Hydrant(_));
        if laid.sources.iter().any(|source| hydrant(&source.kind)) {
            groups.push(Group {
                title: "Mains".into(),
                fields: vec![field(
                    "hydrants",
                    "Share of the test flow left",
                    Moves::Mains,
                )],
            });
        }
        let mut strange = Vec::new();
        for (key, typed) in asked {
            let fields = groups.iter_mut().flat_map(|group| &mut group.fields);
            match fields.into_iter().find(|field| field.key == *key) {
                Some(field) => field.take(typed, system),
                None if is_about_scene(key) => strange.push(format!(
                    "This scene has no \"{key}\"; move what stands in the form."
                )),
                None => {}
            }
        }
        let mut hands = Hands { groups, strange };
        hands.ceiling(book, system);
        hands
    }

    fn fields(&self) -> impl Iterator<Item = &Field> {
        self.groups.iter().flat_map(|group| &group.fields)
    }

    fn fields_mut(&mut self) -> impl Iterator<Item = &mut Field> {
        self.groups.iter_mut().flat_map(|group| &mut group.fields)
    }

    /// Says the department's ceiling beside each pump.
    fn ceiling(&mut self, book: &Book, system: System) {
        let Some(ceiling) = &book.pump_ceiling else {
            return;
        };
        let words = format!("Ceiling {}.", show(Kind::Pressure, ceiling.get(), system));
        let pumps = self.fields_mut();
        pumps
            .filter(|field| matches!(field.moves, Moves::Pump(_)))
            .for_each(|field| field.aside.push(words.clone()));
    }

    /// What is to be changed; what could not be read is left out.
    pub fn changes(&self) -> SceneConditions {
        let mut changes = SceneConditions::default();
        for field in self.fields() {
            let Ok(Some(si)) = field.read else { continue };
            match &field.moves {
                Moves::Pump(rig) => {
                    let pressure = Pressure::of_si(si);
                    changes.pump_pressure.insert(rig.clone(), pressure);
                }
                Moves::Gate(outlet) => {
                    changes.outlets.insert(outlet.clone(), Ratio::of_si(si));
                }
                Moves::Mains => changes.hydrants = Some(Ratio::of_si(si)),
            }
        }
        changes
    }

    /// Says beside each field what holds while it is empty.
    pub fn settle(&mut self, before: &SceneAnswer) {
        for field in self.fields_mut() {
            field.settle(before);
        }
    }

    pub fn is_wrong(&self) -> bool {
        self.wrongs().next().is_some()
    }

    /// Everything that could not be read, in words.
    pub fn wrongs(&self) -> impl Iterator<Item = String> {
        let fields = self.fields().filter_map(|field| {
            let wrong = field.read.as_ref().err()?;
            Some(format!("{}: {wrong}", field.label))
        });
        self.strange.iter().cloned().chain(fields)
    }

    /// The address of the scene with what is moved.
    pub fn address(&self, slug: &str, scene: &str) -> String {
        let moved = self.fields().filter(|field| !field.typed.is_empty());
        let pairs = moved.map(|field| (field.key.as_str(), field.typed.as_str()));
        address::asked(address::scene(slug, scene), pairs)
    }

    /// The form whose question the page is.
    pub fn form(&self, slug: &str, scene: &str, asked: &Pairs, system: System) -> Markup {
        let action = address::scene(slug, scene);
        let units = asked.iter().find(|(key, _)| key == "units");
        html! {
            form.outlets method="get" action=(action) data-live="top live" {
                h2 { "What if" }
                p.hint { "Move a pump, a gate or the main; all else stays as it is. A field left empty stays as it is now." }
                @if let Some((_, units)) = units { input type="hidden" name="units" value=(units); }
                @for group in &self.groups {
                    fieldset {
                        legend { (group.title) }
                        @for field in &group.fields { (field.show(system)) }
                    }
                }
                div.actions {
                    button.first type="submit" { "Show" }
                    a.button href=(action) { "As worked out" }
                }
            }
        }
    }
}

fn is_about_scene(key: &str) -> bool {
    key.starts_with("pump:") || key.starts_with("gate:") || key == "hydrants"
}

fn group(laid: &SceneLayout, rig: &str) -> Group {
    let pump = Moves::Pump(rig.into());
    let mut fields = vec![field(&format!("pump:{rig}"), "Pump pressure", pump)];
    for branch in laid.branches.iter().filter(|b| b.outlet.rig == *rig) {
        let outlet = &branch.outlet;
        let label = match &outlet.feeds {
            Feeds::Line(line) => format!("Gate, {line}"),
            feeds => format!("Gate, {feeds}"),
        };
        let key = format!("gate:{rig}:{}", outlet.feeds);
        fields.push(field(&key, &label, Moves::Gate(outlet.clone())));
    }
    Group {
        title: rig.into(),
        fields,
    }
}

fn field(key: &str, label: &str, moves: Moves) -> Field {
    Field {
        key: key.into(),
        label: label.into(),
        moves,
        typed: String::new(),
        read: Ok(None),
        empty: None,
        aside: Vec::new(),
    }
}

impl Field {
    fn take(&mut self, typed: &str, system: System) {
        self.typed = typed.trim().to_string();
        if self.typed.is_empty() {
            return;
        }
        let read = match self.moves {
            Moves::Pump(_) => pressure(&self.typed, system),
            Moves::Gate(_) => share(&self.typed, 0.0),
            Moves::Mains => share(&self.typed, 10.0),
        };
        self.read = read.map(Some);
    }

    fn settle(&mut self, before: &SceneAnswer) {
        let rig = |name: &str| before.rigs.iter().find(|rig| rig.name == *name);
        match &self.moves {
            Moves::Pump(name) => {
                let Some(rig) = rig(name) else { return };
                self.empty = Some(rig.discharge.value);
                let by = format!("Set by {}.", rig.set_by_words());
                self.aside.insert(0, by);
            }
            Moves::Gate(outlet) => {
                let outlets = rig(&outlet.rig).map(|rig| &rig.outlets);
                let feeds = outlet.feeds.to_string();
                let found = outlets.into_iter().flatten().find(|o| o.feeds == feeds);
                self.empty = found.map(|outlet| outlet.gate.value);
            }
            Moves::Mains => self.empty = Some(1.0),
        }
    }

    /// What holds while it is empty, as it could be typed.
    fn present(&self, system: System) -> Option<String> {
        self.empty.map(|si| match self.moves {
            Moves::Pump(_) => show(Kind::Pressure, Pressure::of_si(si), system),
            Moves::Gate(_) | Moves::Mains => show(Kind::Share, Ratio::of_si(si), system),
        })
    }

    /// What holds while it is empty, and where that comes from.
    fn hint(&self, system: System) -> String {
        let present = self.present(system).map(|present| match self.moves {
            Moves::Pump(_) => format!("Now {present}."),
            Moves::Gate(_) if self.empty >= Some(1.0) => "Now open.".into(),
            Moves::Gate(_) => format!("Now {present} open."),
            Moves::Mains => format!("Now {present}, as tested."),
        });
        let words = present.into_iter().chain(self.aside.iter().cloned());
        words.collect::<Vec<_>>().join(" ")
    }

    fn slide(&self, system: System) -> Slide {
        let stands = self.read.clone().ok().flatten().or(self.empty);
        let (kind, low, high) = match self.moves {
            Moves::Pump(_) => (Kind::Pressure, 0.0, psi(300.0).value),
            Moves::Gate(_) => (Kind::Share, 0.0, 1.0),
            Moves::Mains => (Kind::Share, 0.1, 1.0),
        };
        let unit = kind.unit(system);
        let decimals = if kind == Kind::Share {
            0
        } else {
            kind.decimals(system)
        };
        let step = if decimals == 0 { 1.0 } else { 0.1 };
        let to = |si: f64| (unit.from_si(si) / step).round() * step;
        Slide {
            unit: unit.symbol,
            low: units::decimal(to(low), decimals),
            high: units::decimal(to(high), decimals),
            step: units::decimal(step, decimals),
            stands: units::decimal(to(stands.unwrap_or(high)), decimals),
        }
    }

    fn show(&self, system: System) -> Markup {
        let id = format!("hand-{}", address::step(&self.key).replace('%', "-"));
        let (wrong, hint) = (format!("{id}-wrong"), format!("{id}-hint"));
        let told = self.read.is_err();
        let described = if told {
            format!("{wrong} {hint}")
        } else {
            hint.clone()
        };
        let slide = self.slide(system);
        html! {
            div.hand {
                label for=(id) { (self.label) }
                input type="text" inputmode="decimal" autocomplete="off" id=(id) name=(self.key) value=(self.typed)
                    placeholder=[self.present(system)]
                    aria-describedby=(described) aria-invalid=[told.then_some("true")];
                input type="range" hidden aria-label=(format!("{}, slide", self.label)) data-for=(id) data-unit=(slide.unit)
                    min=(slide.low) max=(slide.high) step=(slide.step) value=(slide.stands);
                @if let Err(message) = &self.read { p.wrong id=(wrong) { (message) } }
                p.hint id=(hint) { (self.hint(system)) }
            }
        }
    }
}

/// A slide beside a field, in the reader's unit; a script shows it and ties it to the
/// field.
struct Slide {
    unit: &'static str,
    low: String,
    high: String,
    step: String,
    stands: String,
}

fn pressure(typed: &str, system: System) -> Result<f64, String> {
    let example = Kind::Pressure.example(system);
    let read = Stated::<Pressure>::read(Kind::Pressure, typed, system);
    let read = read.map_err(|error| format!("{error}; write it as {example}"))?;
    let (low, high) = (psi(1.0), psi(600.0));
    if (low..=high).contains(&read.get()) {
        return Ok(read.get().value);
    }
    let shown = |pressure| show(Kind::Pressure, pressure, system);
    Err(format!(
        "{typed} is out of what a pump holds; write {} to {}",
        shown(low),
        shown(high)
    ))
}

/// A share in per cent, "50" as well as "50 %".
fn share(typed: &str, least: f64) -> Result<f64, String> {
    let number = typed.trim_end_matches('%').trim_end();
    let read = units::parse::<Ratio>(Kind::Share, &format!("{number} %"));
    let wanted = format!("write a share of {least} to 100 %, as 50 %");
    let read = read.map_err(|_| format!("\"{typed}\" is not a share; {wanted}"))?;
    let cent = read.value * 100.0;
    if cent > 0.0 && cent < 1.0 {
        return Err(format!(
            "{typed} would be less than 1 %; write 50 for half, 0 for shut"
        ));
    }
    match (least - 1e-9..=100.0 + 1e-9).contains(&cent) {
        true => Ok(read.value.clamp(0.0, 1.0)),
        false => Err(format!("{typed} is out of range; {wanted}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_is_read_in_per_cent_with_or_without_the_sign() {
        for typed in ["50", "50%", "50 %"] {
            assert!((share(typed, 0.0).unwrap() - 0.5).abs() < 1e-12, "{typed}");
        }
        assert_eq!(share("0", 0.0), Ok(0.0));
        assert_eq!(share("100", 0.0), Ok(1.0));
    }

    #[test]
    fn what_is_no_share_or_pressure_is_told_with_what_would_mend_it() {
        for (typed, least, words) in [
            (
                "half",
                0.0,
                "\"half\" is not a share; write a share of 0 to 100 %",
            ),
            ("0.5", 0.0, "write 50 for half"),
            ("101", 0.0, "101 is out of range"),
            ("5", 10.0, "write a share of 10 to 100 %"),
            ("-3", 0.0, "-3 is out of range"),
        ] {
            let told = share(typed, least).unwrap_err();
            assert!(told.contains(words), "{told}");
        }
        for (typed, system, words) in [
            ("900 psi", System::Us, "write 1 psi to 600 psi"),
            ("90", System::Si, "write 0.1 bar to 41.4 bar"),
            ("ten", System::Us, "write it as 150 psi"),
            ("50 gpm", System::Si, "write it as 10.3 bar"),
        ] {
            let told = pressure(typed, system).unwrap_err();
            assert!(told.contains(words), "{told}");
        }
    }
}
