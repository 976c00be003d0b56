//! What is doubtful about the parts of a lay, how it is spread, and why.
//!
//! An uncertainty in a book is half of a 95 % interval, as a test day's report writes it
//! (see [`crate::proof`]): a normal distribution with a standard deviation of 1/1.96 of
//! it. The half-widths of the comparison are read the same way. Where only ends are known,
//! nothing favours one value (JCGM 100:2008, 4.3.7): a nozzle within its tolerance, a
//! regulator within its band. A published spread of C with the C of the book in it is a
//! triangle with its peak there. Normal values are cut off at four standard deviations.

use super::model::{Spread, Unsure, UnsureOf};
use super::tally::Z95;
use crate::notice::{Notice, Weight};
use crate::reduce::{ABOVE_RATED, AUTOMATIC_PSI};
use book::comparison::Doubt;
use book::{Book, LaidPart, LaidTip, Layout, MeasuredLaw, PartKind, Stated, c_figure};
use hydraulics::friction::{Coefficient, Friction};
use hydraulics::nozzle::{Nozzle, Regulator};
use hydraulics::units::{Kind, Measure, Pressure, Ratio, System, decimal, psi, show};

/// Standard deviations at which a normal value is cut off.
const CUT: f64 = 4.0;

/// A factor is never less than this.
const LEAST_FACTOR: f64 = 0.1;

/// What is doubtful about some lays of `book`, and what had to be taken as exact.
#[derive(Debug, Clone, Default)]
pub(super) struct Gathered {
    pub unsure: Vec<Unsure>,
    pub notices: Vec<Notice>,
}

/// What is doubtful about `lines` as the book has them, in the units of `system`.
///
/// # Errors
/// [`book::LayoutError`] when a line cannot be laid out.
///
/// ```
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "1.75 in", length = "200 ft" }, { nozzle = "150 gpm at 50 psi" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let lines = ["left".to_string()];
/// let unsure = study::doubt::spreads(&book, &lines, &Default::default(), book.units)?;
/// assert_eq!(unsure[0].name, "C of 1.75 in");
/// assert_eq!(unsure[1].name, "flow of 150 gpm at 50 psi");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn spreads(
    book: &Book,
    lines: &[String],
    doubt: &Doubt,
    system: System,
) -> Result<Vec<Unsure>, book::LayoutError> {
    let conditions = book::Conditions {
        which: super::line::which(doubt),
        ..Default::default()
    };
    let mut gather = Gather::new(book, doubt, system);
    for line in lines {
        let layout = book::layout(book, line, &conditions)?;
        gather.layout(&layout);
        gather.pump(&super::line::rig_of(book, line));
    }
    gather.of_all_lines();
    Ok(gather.done().unsure)
}

/// Gathers what is doubtful, each thing once.
pub(super) struct Gather<'a> {
    book: &'a Book,
    doubt: &'a Doubt,
    system: System,
    found: Gathered,
    rigs: Vec<String>,
    /// A tip with a shut-off was met.
    shutoffs: bool,
}

impl<'a> Gather<'a> {
    pub(super) fn new(book: &'a Book, doubt: &'a Doubt, system: System) -> Self {
        Gather {
            book,
            doubt,
            system,
            found: Gathered::default(),
            rigs: Vec::new(),
            shutoffs: false,
        }
    }

    /// Hose first, then nozzles, pumps, and the rest; each kind in the order met.
    pub(super) fn done(mut self) -> Gathered {
        self.found.unsure.sort_by_key(|unsure| order(&unsure.of));
        self.found
    }

    fn push(&mut self, unsure: Unsure) {
        let known = self.found.unsure.iter().any(|other| other.of == unsure.of);
        if !known && !unsure.spread.is_exact() {
            self.found.unsure.push(unsure);
        }
    }

    fn exact(&mut self, code: &'static str, place: &str, text: String, mend: &str) {
        let known = |other: &Notice| other.code == code && other.place == place;
        if !self.found.notices.iter().any(known) {
            let notice = Notice::new(code, Weight::Remark, text);
            self.found.notices.push(notice.at(place).mend(mend));
        }
    }

    /// The hose and the nozzles of a layout.
    pub(super) fn layout(&mut self, layout: &Layout) {
        let hoses = layout.parts.iter().filter(|p| p.kind == PartKind::Hose);
        hoses.for_each(|part| self.hose(part));
        for tip in &layout.tips {
            self.nozzle(tip);
            self.regulator(tip);
            self.shutoffs |= tip.tip.shutoff.is_some();
        }
    }

    fn hose(&mut self, part: &LaidPart) {
        let Some(used) = &part.used else { return };
        let spread = match (used.measured, used.friction) {
            (true, Friction::Coefficient(c)) => self.measured_c(part, c),
            (_, Friction::Coefficient(c)) => self.published_c(part, c, &used.source),
            _ => None,
        };
        let Some((spread, source)) = spread else {
            let name = &part.name;
            let text = match used.measured {
                true => format!(
                    "the test of hose \"{name}\" states no uncertainty: its C counts as exact here, so the doubt is understated"
                ),
                false => format!(
                    "no spread is published for hose \"{name}\": it counts as exact here, so the doubt is understated"
                ),
            };
            let mend = "test it, and write the uncertainty beside what it found";
            return self.exact("hose_taken_as_exact", name, text, mend);
        };
        self.push(Unsure {
            of: UnsureOf::Hose(part.name.clone()),
            name: format!("C of {}", part.name),
            spread,
            factor: true,
            source,
            mend: match used.measured {
                true => "test the hose again, with finer gauges or more readings".into(),
                false => {
                    "test the hose: a few flows with a gauge at both ends give its own C".into()
                }
            },
        });
    }

    fn measured_c(&self, part: &LaidPart, c: Coefficient) -> Option<(Spread, String)> {
        let measured = self.book.hose(&part.name)?.item.measured.as_ref()?;
        let half = measured.uncertainty.as_ref()?.get();
        let source = part.used.as_ref().map(|used| used.source.as_str());
        let said = format!(
            "measured, C {} with {} either way (95 %): {}",
            c_figure(c, self.system),
            c_figure(half, self.system),
            source.unwrap_or_default(),
        );
        Some((factor(half.us_value() / c.us_value()), said))
    }

    fn published_c(
        &self,
        part: &LaidPart,
        c: Coefficient,
        source: &str,
    ) -> Option<(Spread, String)> {
        let (low, high) = self.book.spread(&part.name)?;
        let (low, high) = (
            (low.us_value() / c.us_value()).min(1.0),
            (high.us_value() / c.us_value()).max(1.0),
        );
        let end = |times: f64| Coefficient::us(times * c.us_value()).ok();
        let said = |c: Option<Coefficient>| c.map(|c| c_figure(c, self.system));
        let text = format!(
            "published C, anything from {} to {}, most likely {}: {source}",
            said(end(low)).unwrap_or_default(),
            said(end(high)).unwrap_or_default(),
            c_figure(c, self.system),
        );
        (low < high).then_some((Spread::Triangle(low, 1.0, high), text))
    }

    fn nozzle(&mut self, tip: &LaidTip) {
        let called = called(tip);
        let item = self.book.nozzle(&tip.name).map(|found| found.item);
        let test = item.and_then(|item| item.test(tip.setting.as_deref()));
        let automatic = matches!(tip.tip.nozzle, Nozzle::Automatic(_));
        let spread = match test.filter(|_| tip.used.measured) {
            Some(test) => {
                let half = half_of(&test.law);
                if half.is_none() {
                    let text = format!(
                        "the test of nozzle \"{called}\" states no uncertainty: it counts as exact here, so the doubt is understated"
                    );
                    let mend = "test it, and write the uncertainty beside what it found";
                    self.exact("nozzle_taken_as_exact", &called, text, mend);
                }
                let said = test.uncertainty().unwrap_or_default();
                half.map(|spread| {
                    let source = format!("measured, {said} either way (95 %): {}", test.said());
                    (spread, source)
                })
            }
            None => by_tolerance(&tip.tip.nozzle, self.system),
        };
        let Some((spread, source)) = spread else {
            return;
        };
        self.push(Unsure {
            of: UnsureOf::Nozzle(called.clone()),
            name: match automatic {
                true => format!("pressure of {called}"),
                false => format!("flow of {called}"),
            },
            spread,
            factor: !automatic,
            source,
            mend: match tip.used.measured {
                true => "test the nozzle again, with finer gauges or more readings".into(),
                false => "test the nozzle: flow it with a meter and a gauge at its inlet".into(),
            },
        });
    }

    fn regulator(&mut self, tip: &LaidTip) {
        let Nozzle::Automatic(nozzle) = &tip.tip.nozzle else {
            return;
        };
        if nozzle.band().value <= 0.0 || nozzle.regulator() != Regulator::Balanced {
            return;
        }
        let called = called(tip);
        let band = show(Kind::Pressure, nozzle.band(), self.system);
        self.push(Unsure {
            of: UnsureOf::Regulator(called.clone()),
            name: format!("regulator of {called}"),
            spread: Spread::Even(-1.0, 1.0),
            factor: false,
            source: format!("the book's band of {band}: anywhere from closing to opening"),
            mend: "clean and service the nozzle: friction in the regulator makes its band".into(),
        });
    }

    /// Gauge and governor of a rig's pump.
    pub(super) fn pump(&mut self, rig: &str) {
        if self.rigs.iter().any(|known| known == rig) {
            return;
        }
        self.rigs.push(rig.into());
        let half = |stated: &Option<Stated<Pressure>>| stated.as_ref().map(|s| s.get().value.abs());
        let (gauge, governor) = (half(&self.doubt.pump_gauge), half(&self.doubt.governor));
        let what = match (gauge, governor) {
            (None, None) => return,
            (Some(_), None) => "pump gauge",
            (None, Some(_)) => "governor",
            (Some(_), Some(_)) => "pump gauge and governor",
        };
        let both = gauge.unwrap_or(0.0).hypot(governor.unwrap_or(0.0));
        let text = show(Kind::Pressure, Pressure::of_si(both), self.system);
        self.push(Unsure {
            of: UnsureOf::Pump(rig.into()),
            name: match rig.is_empty() {
                true => what.into(),
                false => format!("{what} of {rig}"),
            },
            spread: normal(0.0, both / Z95),
            factor: false,
            source: format!("the comparison: within {text} either way (95 %)"),
            mend: match gauge {
                Some(_) => "have the pump gauge checked against a test gauge".into(),
                None => "have the governor set and checked".into(),
            },
        });
    }

    /// What is drawn once for all lines: length, rise, gate, kink.
    pub(super) fn of_all_lines(&mut self) {
        self.length();
        self.of_line("", self.shutoffs);
    }

    /// The length of all hose.
    pub(super) fn length(&mut self) {
        if let Some(share) = &self.doubt.length {
            let source = format!("the comparison: within {} either way (95 %)", share.text());
            self.push(Unsure {
                of: UnsureOf::Length,
                name: "length of the hose".into(),
                spread: factor(share.get().value.abs()),
                factor: true,
                source,
                mend: "measure the hose as it lies, couplings and all".into(),
            });
        }
    }

    /// Rise, gate and kink of the line called `line`; of all lines when empty.
    pub(super) fn of_line(&mut self, line: &str, shutoff: bool) {
        let on = match line.is_empty() {
            true => String::new(),
            false => format!(" on {line}"),
        };
        let between =
            |from: &str, to: &str| format!("the comparison: anything from {from} to {to}");
        if let Some([from, to]) = &self.doubt.rise {
            self.push(Unsure {
                of: UnsureOf::Rise(line.into()),
                name: format!("height of the tip{on}"),
                spread: Spread::Even(from.get().value, to.get().value),
                factor: false,
                source: between(from.text(), to.text()),
                mend: "look at each building's heights and plan for the highest".into(),
            });
        }
        if let (Some([from, to]), true) = (&self.doubt.gate, shutoff) {
            let share = |stated: &Stated<Ratio>| stated.get().value.clamp(0.0, 1.0);
            self.push(Unsure {
                of: UnsureOf::Gate(line.into()),
                name: format!("how far the shut-off is open{on}"),
                spread: Spread::Even(share(from), share(to)),
                factor: false,
                source: between(from.text(), to.text()),
                mend: "train to open the shut-off fully".into(),
            });
        }
        if let Some([chance, most]) = &self.doubt.kink {
            let source = format!(
                "the comparison: on {} of the days, closing up to {}",
                chance.text(),
                most.text()
            );
            let (chance, most) = (chance.get().value, most.get().value);
            self.push(Unsure {
                of: UnsureOf::Kink(line.into()),
                name: format!("a kink{on}"),
                spread: Spread::Sometimes(chance.clamp(0.0, 1.0), most.clamp(0.0, 0.99)),
                factor: false,
                source,
                mend: "have somebody walk the hose and take kinks out".into(),
            });
        }
    }
}

/// Where a thing stands among what is doubtful.
fn order(of: &UnsureOf) -> u8 {
    match of {
        UnsureOf::Hose(_) => 0,
        UnsureOf::Nozzle(_) => 1,
        UnsureOf::Regulator(_) => 2,
        UnsureOf::Pump(_) => 3,
        UnsureOf::Length => 4,
        UnsureOf::Rise(_) => 5,
        UnsureOf::Gate(_) => 6,
        UnsureOf::Kink(_) => 7,
    }
}

/// A nozzle and its setting: "twin, high".
pub(super) fn called(tip: &LaidTip) -> String {
    match &tip.setting {
        Some(setting) => format!("{}, {setting}", tip.name),
        None => tip.name.clone(),
    }
}

fn normal(mean: f64, sd: f64) -> Spread {
    Spread::Normal {
        mean,
        sd,
        low: mean - CUT * sd,
        high: mean + CUT * sd,
    }
}

/// A factor that is `half` off at most on 95 % of days.
fn factor(half: f64) -> Spread {
    let sd = half / Z95;
    Spread::Normal {
        mean: 1.0,
        sd,
        low: (1.0 - CUT * sd).max(LEAST_FACTOR),
        high: 1.0 + CUT * sd,
    }
}

/// The spread of a measured nozzle: a factor of its flow, or for an automatic nozzle what
/// is added to its pressure.
fn half_of(law: &MeasuredLaw) -> Option<Spread> {
    Some(match law {
        MeasuredLaw::Coefficient {
            coefficient,
            uncertainty,
        } => factor(uncertainty.as_ref()?.get().value / coefficient.get().value),
        MeasuredLaw::Flow {
            flow, uncertainty, ..
        } => factor(uncertainty.as_ref()?.get().value / flow.get().value),
        MeasuredLaw::Range { uncertainty, .. } => {
            normal(0.0, uncertainty.as_ref()?.get().value / Z95)
        }
    })
}

/// The spread of a nozzle that was not measured: the tolerance of the standard for spray
/// nozzles (from memory, see [`crate::reduce::judge_automatic`]). A smooth bore is known by its
/// bore.
fn by_tolerance(nozzle: &Nozzle, system: System) -> Option<(Spread, String)> {
    match nozzle {
        Nozzle::SmoothBore(_) => None,
        Nozzle::Fixed(_) => {
            let above = decimal(100.0 * ABOVE_RATED, 0);
            let text = format!(
                "not measured; the standard's tolerance (from memory): its rated flow up to {above} % more"
            );
            Some((Spread::Even(1.0, 1.0 + ABOVE_RATED), text))
        }
        Nozzle::Automatic(_) => {
            let half = psi(AUTOMATIC_PSI);
            let text = format!(
                "not measured; the standard's tolerance (from memory): {} either way",
                show(Kind::Pressure, half, system)
            );
            Some((Spread::Even(-half.value, half.value), text))
        }
    }
}
