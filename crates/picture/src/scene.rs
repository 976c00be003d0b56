//! A scene from the water at the left to the tips at the right.
//!
//! Columns go by distance from the water, rows by the order of rigs, outlets and
//! tips: what a rig feeds stands beside it and beside nothing else.

mod plan;

use crate::canvas::{Anchor, Canvas, NAME, SMALL, Spot};
use crate::drawing::{Drawing, Table};
use crate::text::{shorten, width};
use hydraulics::units::{Kind, Measure, System, VolumeRate, show};
use plan::{Card, Plan, Way, plan};
use study::SceneAnswer;

const MARGIN: f64 = 16.0;
const TOP: f64 = 66.0;
/// From one row to the next.
const PITCH: f64 = 54.0;
const HIGH: f64 = 42.0;
/// The level piece of a stroke that carries its figures.
const RUN: f64 = 94.0;
const SLANT: f64 = 34.0;
/// Width of a card at least; and at most, however long what stands below its name.
const WIDE: f64 = 176.0;
const WIDEST: f64 = 260.0;
/// Room left and right of a card's words.
const INSIDE: f64 = 8.0;

/// Rigs, water, lines and tips of a scene as cards, and what flows between them as
/// strokes with flow and pressure: at a source's outlet, behind an outlet's valve,
/// at the tip.
///
/// ```
/// use hydraulics::units::System;
/// let text = br#"
/// [book]
/// name = "Example"
/// [rig.pumper]
/// pump = "1250 gpm"
/// [hydrant.corner]
/// static = "70 psi"
/// residual = "50 psi"
/// flow = "1000 gpm"
/// [line.large]
/// parts = [{ hose = "2.5 in", length = "200 ft" }, { nozzle = "1-1/8 in smooth bore" }]
/// [scene.corner.rig.pumper]
/// intake = [{ hydrant = "corner", parts = [{ hose = "5 in", length = "50 ft" }] }]
/// lines = [{ line = "large" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let answer = study::solve_scene(&book, "corner", &Default::default())?;
/// let drawing = picture::scene(&answer, System::Us);
/// assert_eq!(drawing.table.rows[0][..2], ["corner", "pumper"]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn scene(answer: &SceneAnswer, system: System) -> Drawing {
    let plan = plan(answer, system);
    let sheet = Sheet::of(&plan);
    let mut canvas = Canvas::new(sheet.width, sheet.height);
    let name = answer.title.as_deref().unwrap_or(&answer.scene);
    let name = shorten(name, NAME, sheet.width - 2.0 * MARGIN);
    canvas.text((MARGIN, 24.0), Anchor::Start, NAME, &name);
    for (head, column) in &plan.heads {
        let x = sheet.left(*column);
        canvas.text((x, 50.0), Anchor::Start, SMALL, head);
    }
    for way in &plan.ways {
        draw_way(&mut canvas, &sheet, &plan, way, system);
    }
    for found in plan.in_order() {
        draw_card(&mut canvas, &sheet, found);
    }
    let title = format!("Scene {}", answer.scene);
    let caption = caption(answer, system);
    canvas.finish(&title, caption, table(&plan, system))
}

/// Where the columns stand.
struct Sheet {
    lefts: Vec<f64>,
    /// Width of the cards of each column.
    wides: Vec<f64>,
    width: f64,
    height: f64,
}

impl Sheet {
    fn of(plan: &Plan) -> Self {
        let wides: Vec<f64> = (0..plan.columns).map(|column| wide(plan, column)).collect();
        let mut lefts = Vec::new();
        let mut left = MARGIN;
        for (column, wide) in wides.iter().enumerate() {
            lefts.push(left);
            // Figures stand where a stroke leaves the water, or where it comes in.
            let leaves = plan
                .ways
                .iter()
                .any(|way| way.from_water && plan.column(way.from) == column);
            let comes = plan
                .ways
                .iter()
                .any(|way| !way.from_water && plan.column(way.to) == column + 1);
            let runs = f64::from(u8::from(leaves) + u8::from(comes));
            left += wide + SLANT + 8.0 + RUN * runs.max(1.0);
        }
        let lowest = plan.cards.iter().map(|b| b.row * PITCH + 0.5 * b.height());
        Sheet {
            width: lefts.last().copied().unwrap_or(MARGIN)
                + wides.last().copied().unwrap_or(WIDE)
                + MARGIN,
            height: TOP + lowest.fold(PITCH, f64::max) + MARGIN,
            lefts,
            wides,
        }
    }

    fn wide(&self, column: usize) -> f64 {
        self.wides.get(column).copied().unwrap_or(WIDE)
    }

    fn left(&self, column: usize) -> f64 {
        self.lefts.get(column).copied().unwrap_or(MARGIN)
    }
}

/// Width of the cards in a column: room for all that stands below their names.
fn wide(plan: &Plan, column: usize) -> f64 {
    let cards = plan.cards.iter().filter(|card| card.column == column);
    let needs = cards.map(|card| width(&card.second, SMALL) + 2.0 * INSIDE);
    needs.fold(WIDE, f64::max).min(WIDEST)
}

impl Card {
    fn height(&self) -> f64 {
        HIGH.max(self.inlets as f64 * 40.0)
    }

    fn middle(&self) -> f64 {
        TOP + self.row * PITCH
    }

    /// Where the stroke that comes in `slot`th meets the box.
    fn inlet(&self, slot: usize) -> f64 {
        let apart = if self.inlets > 1 { 40.0 } else { 0.0 };
        self.middle() + (slot as f64 - 0.5 * (self.inlets as f64 - 1.0).max(0.0)) * apart
    }
}

fn draw_card(canvas: &mut Canvas, sheet: &Sheet, found: &Card) {
    let (x, height) = (sheet.left(found.column), found.height());
    let wide = sheet.wide(found.column);
    let top = found.middle() - 0.5 * height;
    canvas.point(&found.said, |canvas| {
        canvas.rect("soft", (x, top), wide, height);
        let class = if found.amiss { "hot" } else { "box" };
        canvas.rect(class, (x, top), wide, height);
        let room = wide - 2.0 * INSIDE;
        let middle = found.middle();
        // The floor stands below the name already.
        let floor = format!(", {}", found.second);
        let name = found.name.strip_suffix(&floor).unwrap_or(&found.name);
        let name = shorten(name, NAME, room);
        canvas.text((x + INSIDE, middle - 4.0), Anchor::Start, NAME, &name);
        let second = shorten(&found.second, SMALL, room);
        canvas.text((x + INSIDE, middle + 13.0), Anchor::Start, SMALL, &second);
    });
}

fn draw_way(canvas: &mut Canvas, sheet: &Sheet, plan: &Plan, way: &Way, system: System) {
    let (Some(from), Some(to)) = (plan.cards.get(way.from), plan.cards.get(way.to)) else {
        return;
    };
    let x = sheet.left(from.column) + sheet.wide(from.column);
    let end = sheet.left(to.column);
    let (y, inlet) = (from.middle(), to.inlet(way.slot));
    let (points, middle): ([Spot; 4], Spot) = match way.from_water {
        true => (
            [(x, y), (x + RUN, y), (x + RUN + SLANT, inlet), (end, inlet)],
            (x + 0.5 * RUN, y),
        ),
        false => (
            [(x, y), (x + 4.0, y), (x + 4.0 + SLANT, inlet), (end, inlet)],
            (end - 0.5 * RUN - 2.0, inlet),
        ),
    };
    let flows = way.flow.value.abs() > 1e-9;
    let class = if flows { "thin" } else { "thin dash" };
    let flow = match flows {
        true => show(Kind::Flow, way.flow, system),
        false => "no flow".to_string(),
    };
    let pressure = show(Kind::Pressure, way.pressure, system);
    canvas.point(&way.said(plan, system), |canvas| {
        canvas.stroke(class, &points);
        let tip = (end, inlet);
        canvas.shape(
            "full",
            &[tip, (tip.0 - 8.0, tip.1 - 4.0), (tip.0 - 8.0, tip.1 + 4.0)],
        );
        canvas.text((middle.0, middle.1 - 5.0), Anchor::Middle, SMALL, &flow);
        canvas.text(
            (middle.0, middle.1 + 15.0),
            Anchor::Middle,
            SMALL,
            &pressure,
        );
    });
}

impl Way {
    fn said(&self, plan: &Plan, system: System) -> String {
        format!(
            "{} to {}: {}, {} {}",
            plan.name(self.from),
            plan.name(self.to),
            show(Kind::Flow, self.flow, system),
            show(Kind::Pressure, self.pressure, system),
            self.read_at
        )
    }
}

fn caption(answer: &SceneAnswer, system: System) -> String {
    let total = answer.tips.iter();
    let total = total.fold(VolumeRate::of_si(0.0), |sum, tip| sum + tip.flow);
    let missed = answer.tips.iter();
    let missed = missed.filter(|tip| tip.aim_met == Some(false)).count();
    let aims = match missed {
        0 => String::new(),
        1 => " One tip misses its aim.".to_string(),
        many => format!(" {many} tips miss their aims."),
    };
    let rigs: Vec<String> = answer
        .rigs
        .iter()
        .map(|rig| {
            format!(
                "{} at {}",
                rig.name,
                show(Kind::Pressure, rig.discharge, system)
            )
        })
        .collect();
    format!(
        "Scene {}: {} in all from {} {}, pumped by {}.{aims}",
        answer.scene,
        show(Kind::Flow, total, system),
        answer.tips.len(),
        if answer.tips.len() == 1 {
            "tip"
        } else {
            "tips"
        },
        match rigs.is_empty() {
            true => "no rig".to_string(),
            false => rigs.join(", "),
        }
    )
}

fn table(plan: &Plan, system: System) -> Table {
    let mut table = Table::new(&["From", "To", "Flow", "Pressure", "Where"]);
    let row = |way: &Way| {
        vec![
            plan.name(way.from).to_string(),
            plan.name(way.to).to_string(),
            show(Kind::Flow, way.flow, system),
            show(Kind::Pressure, way.pressure, system),
            way.read_at.to_string(),
        ]
    };
    table.rows = plan.ways.iter().map(row).collect();
    table
}
