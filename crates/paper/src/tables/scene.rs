//! The tables of scenes.

use book::{Book, SceneLayout};
use study::SceneAnswer;
use study::fact::{Fact, Said};
use study::figure;
use study::scene::Limit;

use super::line::{coefficient_rows, part_row, tip_row};
use super::listing::{Listing, Row, SOURCE};
use super::written::{agrees, coefficients, joined, notice, of_part, own};
use super::{Table, Tables, drawing};
use crate::paper::Units;
use crate::sheet::common::cautions;

/// The tables of a scene: pumps and outlets, tips, limits with what is left, water, parts,
/// coefficients, notices, and its drawings. `layout` is that of the answer.
pub fn of_scene(book: &Book, answer: &SceneAnswer, layout: &SceneLayout, units: Units) -> Tables {
    let mut scenes = Scenes::new(book, units);
    scenes.add(answer);
    let foam = scenes.foam;
    let mut tables = scenes.tables();
    if answer.converged {
        tables.extend(drawings(book, answer, layout, units));
    }
    Tables {
        subject: format!("Scene {}", answer.scene),
        department: book.name.clone(),
        invented: book.about.invented,
        units,
        cautions: cautions(foam),
        tables,
    }
}

/// The tables of several scenes in the making.
pub(super) struct Scenes<'a> {
    book: &'a Book,
    units: Units,
    all: Listing,
    rigs: Listing,
    outlets: Listing,
    tips: Listing,
    limits: Listing,
    sources: Listing,
    relays: Listing,
    standpipes: Listing,
    floors: Listing,
    eductors: Listing,
    foam_lines: Listing,
    spill: Listing,
    fire: Listing,
    parts: Listing,
    hose: Listing,
    notices: Listing,
    pub foam: bool,
}

impl<'a> Scenes<'a> {
    pub fn new(book: &'a Book, units: Units) -> Self {
        Scenes {
            book,
            units,
            all: Listing::new("Scenes"),
            rigs: Listing::new("Scene pumps"),
            outlets: Listing::new("Scene outlets"),
            tips: Listing::new("Scene tips"),
            limits: Listing::new("Scene limits"),
            sources: Listing::new("Scene water"),
            relays: Listing::new("Relays"),
            standpipes: Listing::new("Scene standpipes"),
            floors: Listing::new("Outlets of standpipes"),
            eductors: Listing::new("Scene eductors"),
            foam_lines: Listing::new("Foam"),
            spill: Listing::new("Spill"),
            fire: Listing::new("Flow that a fire asks for"),
            parts: Listing::new("Scene parts"),
            hose: Listing::new("Scene hose coefficients"),
            notices: Listing::new("Scene notices"),
            foam: false,
        }
    }

    pub fn tables(self) -> Vec<Table> {
        let all = [
            self.all,
            self.rigs,
            self.outlets,
            self.tips,
            self.limits,
            self.sources,
            self.relays,
            self.standpipes,
            self.floors,
            self.eductors,
            self.foam_lines,
            self.spill,
            self.fire,
            self.parts,
            self.hose,
            self.notices,
        ];
        let units = self.units;
        all.iter().filter_map(|one| one.table(units)).collect()
    }

    /// Says that `scene` has no answer.
    pub fn unanswered(&mut self, scene: &str, why: &str) {
        let row = Row::new().with("scene", scene);
        self.all.push(
            row.with("answer", format!("none: {why}")),
            "No source: nothing was worked out.",
        );
    }

    pub fn add(&mut self, answer: &SceneAnswer) {
        let source = coefficients(&answer.coefficients, &answer.items, self.units);
        let start = || Row::new().with("scene", answer.scene.as_str());
        for one in &answer.notices {
            self.notices.push(notice(start(), one, self.units), &source);
        }
        let named = ("scene", answer.scene.as_str());
        coefficient_rows(&mut self.hose, named, &answer.coefficients);
        self.foam |= !answer.foam.is_empty() || !answer.eductors.is_empty();
        if !answer.converged {
            let why = "no steady answer was found; see the notices";
            return self.unanswered(&answer.scene, why);
        }
        let row = start().maybe("title", answer.title.as_deref());
        let (residual, system) = (&answer.residual, self.units.first());
        let row = row
            .with(
                "flows agree to",
                agrees(figure::flow(residual.flow), system),
            )
            .with(
                "pressures agree to",
                agrees(figure::pressure(residual.pressure), system),
            );
        self.all.push(row, &source);
        self.pumps(answer, &source);
        self.crews(answer, &source);
        for limit in &answer.limits {
            self.limits.push(limit_row(start(), limit), &source);
        }
        self.water(answer, &source);
        let put = |listing: &mut Listing, facts: Vec<Fact>| {
            listing.push(start().facts(facts), &source);
        };
        let eductors = answer.eductors.iter();
        eductors.for_each(|one| put(&mut self.eductors, one.facts()));
        let foam = answer.foam.iter();
        foam.for_each(|one| put(&mut self.foam_lines, one.facts()));
        let spill = answer.spill.iter();
        spill.for_each(|one| put(&mut self.spill, one.facts()));
        for fire in answer.fire.iter() {
            for need in &fire.needs {
                self.fire
                    .push(start().facts(need.facts()).facts(fire.facts()), &source);
            }
        }
    }

    fn pumps(&mut self, answer: &SceneAnswer, source: &str) {
        for rig in &answer.rigs {
            let entry = self.book.rig.get(&rig.name);
            let from = entry.map(|entry| own("Rig", &rig.name, &entry.about));
            let from = joined(from.into_iter().chain([source.to_string()]));
            let start = || Row::new().with("scene", answer.scene.as_str());
            self.rigs.push(start().facts(rig.facts()), &from);
            for outlet in &rig.outlets {
                let row = start().with("rig", rig.name.as_str());
                self.outlets.push(row.facts(outlet.facts()), &from);
            }
        }
    }

    fn crews(&mut self, answer: &SceneAnswer, source: &str) {
        let start = |line: &str| {
            Row::new()
                .with("scene", answer.scene.as_str())
                .with("line", line)
        };
        let used = &answer.coefficients;
        let ranges = answer.spread.iter().flatten();
        let mut ranges = ranges.map(|&(low, high)| (figure::flow(low), figure::flow(high)));
        for tip in &answer.tips {
            let from = of_part(self.book, ("nozzle", &tip.nozzle), used, self.units);
            let row = tip_row(start(&tip.line), tip, ranges.next());
            self.tips.push(row, &joined([from, source.into()]));
        }
        for part in &answer.parts {
            let from = of_part(self.book, (part.kind, &part.name), used, self.units);
            self.parts.push(part_row(start(&part.line), part), &from);
        }
    }

    fn water(&mut self, answer: &SceneAnswer, source: &str) {
        let start = || Row::new().with("scene", answer.scene.as_str());
        for one in &answer.sources {
            let from = water_from(self.book, &one.name);
            let from = joined(from.into_iter().chain([source.to_string()]));
            self.sources
                .push(start().facts(renamed(one.facts())), &from);
        }
        for relay in &answer.relays {
            self.relays.push(start().facts(relay.facts()), source);
        }
        for pipe in &answer.standpipes {
            let entry = self.book.standpipe.get(&pipe.name);
            let from = entry.map(|entry| own("Standpipe", &pipe.name, &entry.about));
            let from = joined(from.into_iter().chain([source.to_string()]));
            self.standpipes.push(start().facts(pipe.facts()), &from);
            for floor in &pipe.floors {
                let row = start().with("standpipe", pipe.name.as_str());
                self.floors.push(row.facts(floor.facts()), &from);
            }
        }
    }
}

/// Where what is known of a hydrant, open water or a shuttle comes from.
fn water_from(book: &Book, name: &str) -> Option<String> {
    let hydrant = book.hydrant.get(name).map(|item| ("Hydrant", &item.about));
    let draft = book.draft.get(name).map(|item| ("Open water", &item.about));
    let shuttle = book.shuttle.get(name).map(|item| ("Shuttle", &item.about));
    let (kind, about) = hydrant.or(draft).or(shuttle)?;
    Some(own(kind, name, about))
}

/// "source" is the head of the column that says where a row comes from.
fn renamed(facts: Vec<Fact>) -> Vec<Fact> {
    let facts = facts.into_iter();
    facts
        .map(|(name, said)| (if name == SOURCE { "water" } else { name }, said))
        .collect()
}

fn limit_row(row: Row, limit: &Limit) -> Row {
    row.with("limit", limit.what)
        .with("place", limit.place.as_str())
        .with("now", limit.value)
        .with("limit is", limit.limit)
        .with("limit is a", if limit.at_least { "least" } else { "most" })
        .with(
            "used",
            figure::share(hydraulics::units::Measure::of_si(limit.used)),
        )
        .with("margin", figure::share(limit.margin()))
        .with("passed", Said::Flag(limit.passed()))
}

/// The points of a scene's drawings.
fn drawings(book: &Book, answer: &SceneAnswer, layout: &SceneLayout, units: Units) -> Vec<Table> {
    let source = coefficients(&answer.coefficients, &answer.items, units);
    let mut all = drawing::of("From water to tips", &source, units, |system| {
        Some(picture::scene(answer, system))
    });
    let mut mains: Vec<&str> = Vec::new();
    for main in answer.sources.iter().filter_map(|s| s.main.as_ref()) {
        if mains.contains(&main.name.as_str()) {
            continue;
        }
        mains.push(&main.name);
        let title = format!("Main at {}", main.name);
        let from = water_from(book, &main.name).unwrap_or_default();
        all.extend(drawing::of(&title, &from, units, |system| {
            Some(picture::supply_curve(main, system))
        }));
    }
    for rig in &answer.rigs {
        let Some(laid) = layout.rigs.iter().find(|laid| laid.name == rig.name) else {
            continue;
        };
        let present = picture::Present {
            flow: rig.flow,
            net: rig.net,
        };
        let title = format!("Pump of {}", rig.name);
        let entry = book.rig.get(&rig.name);
        let from = entry.map_or_else(String::new, |e| own("Rig", &rig.name, &e.about));
        all.extend(drawing::of(&title, &from, units, |system| {
            Some(picture::capability(
                &rig.name,
                &laid.pump,
                Some(&present),
                system,
            ))
        }));
    }
    all
}
