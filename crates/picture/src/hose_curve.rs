//! What a hose takes as more flows through it.

use crate::canvas::Spot;
use crate::curves::{Curve, POINTS, Plot};
use crate::drawing::{Drawing, Table};
use crate::frame::{ticks, value};
use book::{Book, Which};
use hydraulics::element::Element;
use hydraulics::friction::Friction;
use hydraulics::hose::Run;
use hydraulics::units::{Kind, Length, Measure, Pressure, System, VolumeRate, parse, psi, show};

/// Friction loss of 100 ft (100 m) of a hose of the book or the catalogue over
/// flow: published, with the published spread as a band, and measured. `None` when
/// there is no such hose.
///
/// ```
/// use hydraulics::units::System;
/// let drawing = picture::hose_curve(&book::Book::default(), "1.75 in", System::Us).unwrap();
/// assert!(drawing.caption.contains("100 ft"));
/// assert_eq!(drawing.table.head[1], "Published");
/// ```
pub fn hose_curve(book: &Book, name: &str, system: System) -> Option<Drawing> {
    let laws = Laws::of(book, name, system)?;
    let most = laws.most();
    let x = |flow: VolumeRate| value(Kind::Flow, flow, system);
    let y = |loss: Pressure| value(Kind::Pressure, loss, system);
    let points = |run: &Run| -> Vec<Spot> {
        let flows = (0..=POINTS).map(|n| most * (f64::from(n) / f64::from(POINTS)));
        flows
            .map(|flow| (x(flow), y(run.loss(flow).pressure)))
            .collect()
    };
    let curves = laws.best.iter().map(|(what, said, run)| Curve {
        class: if *what == "Measured" {
            "hot dash"
        } else {
            "main"
        },
        name: format!("{}, {said}", what.to_lowercase()),
        points: points(run),
    });
    let plot = Plot {
        heading: name,
        system,
        x: ("Flow", Kind::Flow),
        y: (laws.axis(), Kind::Pressure),
        curves: curves.collect(),
        band: laws
            .spread
            .as_ref()
            .map(|[(_, low), (_, high)]| (points(low), points(high))),
        levels: Vec::new(),
        known: Vec::new(),
    };
    let title = format!("Friction loss of hose {name}");
    Some(plot.draw(&title, laws.caption(name), laws.table(most)))
}

/// The laws of a hose, over the length that its loss is read for.
struct Laws {
    system: System,
    length: Length,
    /// Published, measured: what it is, its coefficient, its run.
    best: Vec<(&'static str, String, Run)>,
    /// The ends of the published spread.
    spread: Option<[(String, Run); 2]>,
}

/// Loss up to which a curve is drawn: 80 psi in 100 ft is more than a line bears.
const MOST_PSI: f64 = 80.0;

impl Laws {
    fn of(book: &Book, name: &str, system: System) -> Option<Self> {
        let item = book.hose(name)?.item;
        let length = match system {
            System::Us => "100 ft",
            System::Si => "100 m",
        };
        let length: Length = parse(Kind::Length, length).ok()?;
        let run = |friction| Run::new(friction, length, book.water()).ok();
        let mut best = Vec::new();
        for (which, measured, what) in [
            (Which::Published, false, "Published"),
            (Which::Measured, true, "Measured"),
        ] {
            let used = item.used(which).filter(|used| used.measured == measured);
            let law = used.and_then(|used| Some((what, used.text(system), run(used.friction)?)));
            best.extend(law);
        }
        let spread = book.spread(name).and_then(|(low, high)| {
            let text = |which| Some(book.friction(name, which)?.text(system));
            Some([
                (text(Which::PublishedLow)?, run(Friction::Coefficient(low))?),
                (
                    text(Which::PublishedHigh)?,
                    run(Friction::Coefficient(high))?,
                ),
            ])
        });
        (!best.is_empty()).then_some(Laws {
            system,
            length,
            best,
            spread,
        })
    }

    /// The flow up to which it is drawn.
    fn most(&self) -> VolumeRate {
        let feet: Length = parse(Kind::Length, "100 ft").unwrap_or(self.length);
        let bound = psi(MOST_PSI) * (self.length / feet).value;
        let Some((_, _, run)) = self.best.first() else {
            return VolumeRate::of_si(0.0);
        };
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            match run.loss(VolumeRate::of_si(middle)).pressure > bound {
                true => high = middle,
                false => low = middle,
            }
        }
        VolumeRate::of_si(high)
    }

    fn axis(&self) -> &'static str {
        match self.system {
            System::Us => "Friction loss in 100 ft",
            System::Si => "Friction loss in 100 m",
        }
    }

    fn caption(&self, name: &str) -> String {
        let length = show(Kind::Length, self.length, self.system);
        let mut caption = format!("Hose {name}: friction loss in {length} over flow.");
        for (what, said, _) in &self.best {
            caption.push_str(&format!(" {what}: {said}."));
        }
        if let Some([(low, _), (high, _)]) = &self.spread {
            caption.push_str(&format!(
                " Shaded: what is published for hose of this size, {low} to {high}."
            ));
        }
        caption
    }

    fn table(&self, most: VolumeRate) -> Table {
        let mut runs: Vec<(&str, &Run)> = Vec::new();
        runs.extend(self.best.iter().map(|(what, _, run)| (*what, run)));
        if let Some([(_, low), (_, high)]) = &self.spread {
            runs.extend([("Lowest published", low), ("Highest published", high)]);
        }
        let mut head = vec!["Flow"];
        head.extend(runs.iter().map(|(what, _)| *what));
        let mut table = Table::new(&head);
        let unit = Kind::Flow.unit(self.system);
        let flows = ticks(0.0, value(Kind::Flow, most, self.system), 8);
        for flow in flows.into_iter().filter(|flow| *flow > 0.0) {
            let flow = VolumeRate::of_si(unit.to_si(flow));
            let loss = |run: &Run| show(Kind::Pressure, run.loss(flow).pressure, self.system);
            let mut row = vec![show(Kind::Flow, flow, self.system)];
            row.extend(runs.iter().map(|(_, run)| loss(run)));
            table.rows.push(row);
        }
        table
    }
}
