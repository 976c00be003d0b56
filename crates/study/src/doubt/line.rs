//! Lines and scenes on one day: their parts made anew from the values drawn.

use super::model::{Unsure, UnsureOf};
use super::unsure::called;
use crate::need;
use book::comparison::Doubt;
use book::{Book, LaidTip, Layout, PartKind, Path, Which};
use hydraulics::element::{Element, Loss, Passage};
use hydraulics::friction::{Coefficient, Friction};
use hydraulics::hose::Run;
use hydraulics::nozzle::{Automatic, Factor, Fixed, Nozzle, Regulator, SmoothBore, Tip};
use hydraulics::units::{Length, Measure, Pressure, Ratio, VolumeRate};
use hydraulics::valve::Valve;
use hydraulics::water::Water;
use lay::{Lay, PartId, Solver, Steady, Stopped};
use std::sync::Arc;

/// Which coefficients the days are drawn about.
pub(super) fn which(doubt: &Doubt) -> Which {
    match doubt.published {
        true => Which::Published,
        false => Which::Best,
    }
}

/// The rig that `line` comes off; empty when the book does not say.
pub(super) fn rig_of(book: &Book, line: &str) -> String {
    let rig = book.line.get(line).and_then(|l| l.rig.clone());
    rig.unwrap_or_default()
}

/// The tip of a line as a day has it: at another height, its rise a pressure.
#[derive(Debug, Clone, Copy)]
pub(super) struct DayTip {
    pub tip: Tip,
    /// Weight of the water in the height that is added.
    pub column: Pressure,
}

impl Element for DayTip {
    fn loss(&self, flow: VolumeRate) -> Loss {
        let loss = self.tip.loss(flow);
        Loss {
            pressure: loss.pressure + self.column,
            ..loss
        }
    }

    fn passage(&self) -> Passage {
        self.tip.passage()
    }
}

/// Where the values of a hose stand among those drawn.
#[derive(Debug, Clone, Copy)]
struct DayHose {
    part: PartId,
    friction: Friction,
    length: Length,
    size: Length,
    kink: Ratio,
    by_c: Option<usize>,
    by_length: Option<usize>,
    by_kink: Option<usize>,
}

/// Where the values of a tip stand among those drawn.
#[derive(Debug, Clone)]
struct TipValues {
    part: PartId,
    tip: Tip,
    by_nozzle: Option<usize>,
    by_regulator: Option<usize>,
    by_gate: Option<usize>,
    by_rise: Option<usize>,
}

/// What a day asks beside what is drawn.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Asked {
    /// The shut-offs are open so far.
    pub gate: Option<f64>,
    /// Height that is added at the tips, m.
    pub rise: f64,
}

/// The parts of a layout that change with the day.
#[derive(Debug, Clone)]
pub(super) struct DayParts {
    hoses: Vec<DayHose>,
    tips: Vec<TipValues>,
    water: Water,
    /// Pressure of a metre of water.
    column: f64,
}

impl DayParts {
    /// Finds what changes in `layout` among `unsure`; what is of one line is looked for
    /// under its name first, then under that of all lines.
    pub(super) fn new(layout: &Layout, unsure: &[Unsure], water: Water) -> Self {
        let at = |of: UnsureOf| unsure.iter().position(|u| u.of == of);
        let of_line = |make: fn(String) -> UnsureOf, line: &str| {
            at(make(line.into())).or_else(|| at(make(String::new())))
        };
        let last = last_hoses(layout);
        let hoses = layout.parts.iter().filter_map(|part| {
            let used = part.used.as_ref().filter(|_| part.kind == PartKind::Hose)?;
            Some(DayHose {
                part: part.part,
                friction: used.friction,
                length: part.length?,
                size: part.size?,
                kink: part.kink,
                by_c: at(UnsureOf::Hose(part.name.clone())),
                by_length: at(UnsureOf::Length),
                by_kink: match last.contains(&part.part) {
                    true => of_line(UnsureOf::Kink, &part.line),
                    false => None,
                },
            })
        });
        let hoses = hoses.filter(DayHose::changes).collect();
        let tips = layout.tips.iter().map(|tip| TipValues {
            part: tip.part,
            tip: tip.tip,
            by_nozzle: at(UnsureOf::Nozzle(called(tip))),
            by_regulator: at(UnsureOf::Regulator(called(tip))),
            by_gate: of_line(UnsureOf::Gate, &tip.line),
            by_rise: of_line(UnsureOf::Rise, &tip.line),
        });
        DayParts {
            hoses,
            tips: tips.collect(),
            water,
            column: layout.lay.column(Length::of_si(1.0)).value,
        }
    }

    /// Puts the day's parts into `lay`, which has the layout's shape.
    pub(super) fn put(&self, lay: &mut Lay, values: &[f64], asked: Asked) {
        for hose in &self.hoses {
            if let Some(run) = hose.run(values, self.water) {
                lay.replace(hose.part, Arc::new(run));
            }
        }
        for tip in &self.tips {
            lay.replace(tip.part, Arc::new(self.tip(tip, values, asked)));
        }
    }

    /// The tips as the day has them.
    pub(super) fn tips(&self, values: &[f64], asked: Asked) -> impl Iterator<Item = DayTip> {
        self.tips
            .iter()
            .map(move |tip| self.tip(tip, values, asked))
    }

    fn tip(&self, tip: &TipValues, values: &[f64], asked: Asked) -> DayTip {
        let value = |at: Option<usize>| at.and_then(|at| values.get(at).copied());
        let shift = value(tip.by_nozzle);
        let nozzle = match (tip.tip.nozzle, shift) {
            (nozzle, None) => nozzle,
            (Nozzle::Automatic(nozzle), Some(shift)) => Nozzle::Automatic(shifted(nozzle, shift)),
            (Nozzle::Fixed(nozzle), Some(times)) => Nozzle::Fixed(fixed(nozzle, times)),
            (Nozzle::SmoothBore(nozzle), Some(times)) => Nozzle::SmoothBore(bored(nozzle, times)),
        };
        let nozzle = match (nozzle, value(tip.by_regulator)) {
            (Nozzle::Automatic(nozzle), Some(place)) => {
                Nozzle::Automatic(within_band(nozzle, place))
            }
            (nozzle, _) => nozzle,
        };
        let gate = asked.gate.or(value(tip.by_gate));
        let shutoff = tip.tip.shutoff.map(|valve| Valve {
            gate: gate.map_or(valve.gate, Ratio::of_si),
            ..valve
        });
        let rise = asked.rise + value(tip.by_rise).unwrap_or(0.0);
        DayTip {
            tip: Tip {
                nozzle,
                shutoff,
                ..tip.tip
            },
            column: Pressure::of_si(self.column * rise),
        }
    }
}

impl DayHose {
    fn changes(&self) -> bool {
        self.by_c.is_some() || self.by_length.is_some() || self.by_kink.is_some()
    }

    fn run(&self, values: &[f64], water: Water) -> Option<Run> {
        let value = |at: Option<usize>| at.and_then(|at| values.get(at).copied());
        let friction = match (self.friction, value(self.by_c)) {
            (Friction::Coefficient(c), Some(times)) => {
                Friction::Coefficient(Coefficient::us(times * c.us_value()).ok()?)
            }
            (friction, _) => friction,
        };
        let length = self.length * value(self.by_length).unwrap_or(1.0);
        let kink = value(self.by_kink).unwrap_or(0.0).max(self.kink.value);
        let run = Run::new(friction, length, water).ok()?;
        match kink > 0.0 {
            true => run.kinked(self.size, Ratio::of_si(kink)).ok(),
            false => Some(run),
        }
    }
}

/// An automatic nozzle whose pressures lie `shift` higher at the same flows.
fn shifted(nozzle: Automatic, shift: f64) -> Automatic {
    let (low, high) = nozzle.pressures();
    let at = |p: Pressure| Pressure::of_si((p.value + shift).max(0.05 * p.value));
    let moved = Automatic::new(nozzle.flows(), (at(low), at(high)));
    moved.map_or(nozzle, |moved| {
        let moved = moved.with_band(nozzle.band());
        moved.with_regulator(nozzle.regulator())
    })
}

/// A regulator at a place in its band: 1 is last opening, -1 last closing.
fn within_band(nozzle: Automatic, place: f64) -> Automatic {
    let state = match place >= 0.0 {
        true => Regulator::Opening,
        false => Regulator::Closing,
    };
    let nozzle = nozzle.with_regulator(state);
    nozzle.with_band(nozzle.band() * place.abs())
}

fn fixed(nozzle: Fixed, times: f64) -> Fixed {
    let unit = Pressure::of_si(1.0);
    let factor = Factor::rated(times * nozzle.factor().flow(unit), unit);
    factor.map_or(nozzle, Fixed::of)
}

/// A smooth bore of the same bore that passes `times` the flow.
fn bored(nozzle: SmoothBore, times: f64) -> SmoothBore {
    let unit = Pressure::of_si(1.0);
    let one = SmoothBore::new(nozzle.bore(), Ratio::of_si(1.0));
    let scaled = one.and_then(|one| {
        let coefficient = nozzle.factor().flow(unit) / one.factor().flow(unit);
        SmoothBore::new(nozzle.bore(), coefficient * times)
    });
    scaled.unwrap_or(nozzle)
}

/// The last hose on the way to each tip.
pub(super) fn last_hoses(layout: &Layout) -> Vec<PartId> {
    let mut list: Vec<PartId> = Vec::new();
    for tip in &layout.tips {
        if let Some(hose) = last_hose(layout, &tip.line, &tip.path)
            && !list.contains(&hose.part)
        {
            list.push(hose.part);
        }
    }
    list
}

/// The last hose on the way to the tip at `path`.
pub(super) fn last_hose<'l>(
    layout: &'l Layout,
    line: &str,
    path: &Path,
) -> Option<&'l book::LaidPart> {
    let leads = |part: &&book::LaidPart| {
        part.kind == PartKind::Hose && part.line == line && need::leads(&part.path, path)
    };
    layout.parts.iter().rfind(leads)
}

/// What one tip gives on a day.
#[derive(Debug, Clone, Copy)]
pub(super) struct TipDay {
    pub tip: Tip,
    pub flow: VolumeRate,
    pub pressure: Pressure,
}

/// A line of a choice, ready for any day.
pub(super) struct DayLine {
    pub layout: Layout,
    pub parts: DayParts,
    /// Its pump pressure, and where what is added to it stands among the values.
    pub pressure: Pressure,
    pub by_pump: Option<usize>,
    /// Parts one after the other to one tip: no lay has to be solved.
    single: bool,
    base: Steady,
}

/// What a line keeps from day to day.
pub(super) struct KeptLine {
    lay: Lay,
    solver: Option<Solver>,
}

impl DayLine {
    pub(super) fn new(
        book: &Book,
        mut layout: Layout,
        pressure: Pressure,
        unsure: &[Unsure],
        rig: &str,
    ) -> Self {
        layout.lay.set_pressure(layout.supply, pressure);
        let of = UnsureOf::Pump(rig.into());
        DayLine {
            parts: DayParts::new(&layout, unsure, book.water()),
            pressure,
            by_pump: unsure.iter().position(|u| u.of == of),
            single: is_single(&layout),
            base: lay::solve(&layout.lay),
            layout,
        }
    }

    pub(super) fn start(&self) -> KeptLine {
        KeptLine {
            lay: self.layout.lay.clone(),
            solver: (!self.single).then(|| Solver::new(&self.layout.lay)),
        }
    }

    /// Parts one after the other to one tip.
    pub(super) fn is_single(&self) -> bool {
        self.single
    }

    /// The pump pressure that `flow` takes on the day, of a line of parts one after the
    /// other.
    pub(super) fn asks(
        &self,
        kept: &mut KeptLine,
        (values, rise): (&[f64], f64),
        flow: VolumeRate,
    ) -> Pressure {
        let lay = &mut kept.lay;
        self.parts.put(lay, values, Asked { gate: None, rise });
        let parts = lay.parts();
        parts.fold(Pressure::of_si(0.0), |sum, part| {
            sum + lay.law(part).loss(flow).pressure + lay.rise(part)
        })
    }

    /// What the pump really holds on the day when its gauge shows `shown`.
    pub(super) fn pump(&self, shown: Pressure, values: &[f64]) -> Pressure {
        let off = self.by_pump.and_then(|at| values.get(at).copied());
        Pressure::of_si((shown.value + off.unwrap_or(0.0)).max(0.0))
    }

    /// Solves the day with the pump at `pressure`; what each tip gives goes to `into`.
    /// `None` when there is no physical answer; else what `read` makes of the flows and
    /// pressures along the line.
    pub(super) fn solve<T>(
        &self,
        kept: &mut KeptLine,
        pressure: Pressure,
        (values, asked): (&[f64], Asked),
        into: &mut Vec<TipDay>,
        read: impl FnOnce(&dyn Fn(&book::LaidPart) -> (Pressure, Pressure)) -> T,
    ) -> Option<T> {
        into.clear();
        let lay = &mut kept.lay;
        self.parts.put(lay, values, asked);
        let given = |tip: DayTip, flow: VolumeRate| TipDay {
            tip: tip.tip,
            flow,
            pressure: tip.tip.nozzle.pressure(flow).pressure,
        };
        let mut tips = self.parts.tips(values, asked);
        let Some(solver) = &mut kept.solver else {
            let laws: Vec<&dyn Element> = lay.parts().map(|part| lay.law(part)).collect();
            let up: Pressure = lay
                .parts()
                .fold(Pressure::of_si(0.0), |sum, part| sum + lay.rise(part));
            let flow = lay::operating_flow(&laws, pressure, up);
            into.extend(tips.next().map(|tip| given(tip, flow)));
            let along = |wanted: &book::LaidPart| {
                let mut inlet = pressure;
                for part in lay.parts() {
                    let outlet = inlet - lay.law(part).loss(flow).pressure - lay.rise(part);
                    if part == wanted.part {
                        return (inlet, outlet);
                    }
                    inlet = outlet;
                }
                (inlet, inlet)
            };
            return Some(read(&along));
        };
        lay.set_pressure(self.layout.supply, pressure);
        let steady = solver.solve(lay, Some(&self.base));
        if steady.stopped != Stopped::Converged {
            return None;
        }
        let laid = self.layout.tips.iter();
        into.extend(
            laid.zip(tips)
                .map(|(laid, tip)| given(tip, steady.flow(laid.part))),
        );
        let along = |wanted: &book::LaidPart| {
            let (from, to) = lay.ends(wanted.part);
            let at = |place| steady.pressure(place).unwrap_or_default();
            (at(from), at(to))
        };
        Some(read(&along))
    }
}

/// Does every part begin where the one before it ended, none of them holding a pressure?
fn is_single(layout: &Layout) -> bool {
    let lay = &layout.lay;
    let mut at = layout.supply;
    let in_a_row = lay.parts().all(|part| {
        let (from, to) = lay.ends(part);
        let follows = from == at;
        at = to;
        follows
    });
    in_a_row && layout.cuts.len() == 1 && layout.tips.len() == 1
}

/// Effective reach of what a tip gives.
pub(super) fn reach(laid: &LaidTip, day: &TipDay) -> Length {
    match &laid.attachment {
        Some((_, attachment)) => attachment.reach.get(),
        None => need::stream_from(&day.tip, day.flow, day.pressure).effective_reach(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use book::{Conditions, Stated};
    use hydraulics::units::{Kind, System, psi};

    fn demo() -> Book {
        let bytes = include_bytes!("../../../../books/saltmarsh-bend.toml");
        book::read(bytes, "saltmarsh-bend.toml").unwrap()
    }

    /// Everything that can be doubtful about a line.
    fn doubt() -> Doubt {
        fn two<Q: Measure>(kind: Kind, texts: [&str; 2]) -> Option<[Stated<Q>; 2]> {
            Some(texts.map(|text| Stated::read(kind, text, System::Us).unwrap()))
        }
        Doubt {
            pump_gauge: Stated::read(Kind::Pressure, "5 psi", System::Us).ok(),
            length: Stated::read(Kind::Share, "2 %", System::Us).ok(),
            rise: two(Kind::Length, ["0 ft", "20 ft"]),
            gate: two(Kind::Share, ["50 %", "100 %"]),
            kink: two(Kind::Share, ["10 %", "50 %"]),
            ..Doubt::default()
        }
    }

    /// The day on which all is as the book has it, but for rise, gate and kink.
    fn day(unsure: &[Unsure], [rise, gate, kink]: [f64; 3]) -> Vec<f64> {
        let value = |unsure: &Unsure| match unsure.of {
            UnsureOf::Rise(_) => rise,
            UnsureOf::Gate(_) => gate,
            UnsureOf::Kink(_) => kink,
            _ if unsure.factor => 1.0,
            _ => 0.0,
        };
        unsure.iter().map(value).collect()
    }

    #[test]
    fn law_a_day_as_the_book_has_it_gives_what_solve_gives() {
        let (book, doubt) = (demo(), doubt());
        let pressure = psi(150.0);
        for line in book.line.keys() {
            let conditions = Conditions {
                pump_pressure: Some(pressure),
                ..Conditions::default()
            };
            let layout = book::layout(&book, line, &conditions).unwrap();
            let lines = [line.clone()];
            let unsure = super::super::spreads(&book, &lines, &doubt, System::Us).unwrap();
            let rig = rig_of(&book, line);
            let ready = DayLine::new(&book, layout.clone(), pressure, &unsure, &rig);
            let mut kept = ready.start();
            let mut tips = Vec::new();
            for values in [[0.0, 1.0, 0.0], [6.0, 1.0, 0.0], [0.0, 0.6, 0.3]] {
                // Only where the tips have shut-offs is a gate turned.
                let gated = layout.tips.iter().all(|tip| tip.tip.shutoff.is_some());
                let mut conditions = conditions.clone();
                for tip in &layout.tips {
                    let change = conditions.changes.entry(tip.path.clone()).or_default();
                    change.extra_rise = Some(Length::of_si(values[0]));
                    if gated {
                        change.gate = Some(Ratio::of_si(values[1]));
                    }
                    let hose = last_hose(&layout, &tip.line, &tip.path);
                    let Some(hose) = hose.filter(|_| values[2] > 0.0) else {
                        continue;
                    };
                    let change = conditions.changes.entry(hose.path.clone()).or_default();
                    change.kink = Some(Ratio::of_si(values[2]));
                }
                let values = match gated {
                    true => values,
                    false => [values[0], 1.0, values[2]],
                };
                let drawn = day(&unsure, values);
                let asked = (drawn.as_slice(), Asked::default());
                ready
                    .solve(&mut kept, pressure, asked, &mut tips, |_| ())
                    .unwrap();
                let answer = crate::solve(&book, line, &conditions).unwrap();
                for (ours, solved) in tips.iter().zip(&answer.tips) {
                    let (ours, solved) = (ours.flow.value, solved.flow.value);
                    let miss = (ours - solved).abs();
                    assert!(
                        miss < 1e-6 * solved + 1e-9,
                        "{line} {values:?}: {ours} {solved}"
                    );
                }
            }
        }
    }

    #[test]
    fn law_an_automatic_nozzle_moves_within_its_band() {
        let flow = VolumeRate::of_si(0.008);
        let pressures = (psi(94.0), psi(106.0));
        let flows = (VolumeRate::of_si(0.0045), VolumeRate::of_si(0.0125));
        let nozzle = Automatic::new(flows, pressures)
            .unwrap()
            .with_band(psi(4.0));
        let at = |place| within_band(nozzle, place).pressure(flow).pressure;
        let state = |state| nozzle.with_regulator(state).pressure(flow).pressure;
        assert_eq!(at(1.0), state(Regulator::Opening));
        assert_eq!(at(-1.0), state(Regulator::Closing));
        assert_eq!(at(0.0), state(Regulator::Balanced));
        assert!(at(0.5) > at(0.0) && at(0.5) < at(1.0));
        // The same flows at pressures that are 10 psi higher.
        let higher = shifted(nozzle, psi(10.0).value);
        for flow in [flows.0, flows.1] {
            let off = higher.pressure(flow).pressure - nozzle.pressure(flow).pressure;
            assert!((off - psi(10.0)).value.abs() < 1.0, "{off:?}");
        }
    }
}
