//! What a slide chart shows: the pump pressure of a line with one tip, by flow and by
//! length of its last hose, the tip level with the pump. Rise is added by moving the
//! slide: a metre of rise is the same pressure everywhere.

use crate::need;
use crate::operating::{StudyError, worst};
use crate::sizing::{varied, with};
use book::{Book, Conditions, CutKind, LaidPart, LaidTip, Layout, NozzleKind, Step};
use hydraulics::nozzle::Nozzle;
use hydraulics::units::{Kind, Length, Measure, Pressure, System, VolumeRate};

/// Pump pressures of one line, for a slide chart.
#[derive(Debug, Clone, PartialEq)]
pub struct SlideChart {
    /// The line.
    pub line: String,
    /// The hose whose length is varied.
    pub hose: String,
    /// Where that hose lies.
    pub place: String,
    /// Its length in the book.
    pub carried: Length,
    /// Height of the tip above the pump in the book.
    pub rise: Length,
    /// The nozzle.
    pub nozzle: String,
    /// Lengths of that hose, rising; the carried one is among them.
    pub lengths: Vec<Length>,
    /// One for each flow, rising.
    pub rows: Vec<SlideRow>,
    /// Pump pressure that a metre of rise takes.
    pub head: Pressure,
    /// The lowest limit of the pump pressure, and what sets it.
    pub stop: Option<(Pressure, String)>,
}

/// The pump pressures for one flow.
#[derive(Debug, Clone, PartialEq)]
pub struct SlideRow {
    /// The flow at the tip.
    pub flow: VolumeRate,
    /// The setting of the nozzle.
    pub setting: Option<String>,
    /// Nozzle pressure at that flow.
    pub tip_pressure: Pressure,
    /// It is what the line is for.
    pub aim: bool,
    /// For each length, the pump pressure with the tip level; `None` where none does.
    pub level: Vec<Option<Pressure>>,
}

/// The slide chart of `line` with round flows and lengths of `system`, at most `most`
/// rows and the aim among them: over the range of an automatic nozzle, the settings of a
/// selectable one, and else about the aim.
///
/// # Errors
/// [`StudyError`] when the line is not there, or when there can be no slide chart of it:
/// it has several tips, no hose of its own to vary, or a part that starts the pressure
/// anew.
///
/// ```
/// use hydraulics::units::{show, Kind, System};
/// let text = b"[book]\nname = 'Example'\n[line.left]\n\
///     parts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n\
///     aim = { tip_pressure = '50 psi' }\n";
/// let book = book::read(text, "example.toml")?;
/// let chart = study::slide_chart(&book, "left", System::Us, 8)?;
/// let aim = chart.rows.iter().find(|row| row.aim).ok_or("no aim")?;
/// let at = chart.lengths.iter().position(|l| *l == chart.carried).ok_or("not carried")?;
/// // 266 gpm (case NZ-U-21); 2 x 2.66^2 x 2 = 28 psi, and 50 at the tip.
/// assert_eq!(aim.level[at].map(|p| show(Kind::Pressure, p, System::Us)).as_deref(), Some("78 psi"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn slide_chart(
    book: &Book,
    line: &str,
    system: System,
    most: usize,
) -> Result<SlideChart, StudyError> {
    let one = OneTip::of(book, line)?;
    let lengths = lengths(one.carried, system);
    let mut rows = Vec::new();
    for (flow, setting) in one.flows(system, most) {
        let level = lengths.iter();
        let level = level.map(|&l| one.pressure(flow, setting.as_deref(), l, Length::of_si(0.0)));
        let level = level.collect::<Result<Vec<_>, _>>()?;
        rows.push(SlideRow {
            flow,
            tip_pressure: one.tip_pressure(flow, setting.as_deref())?,
            aim: same(flow, one.aim) && setting == one.tip.setting,
            setting,
            level,
        });
    }
    if rows.iter().all(|row| row.level.iter().all(Option::is_none)) {
        return Err(one.none("no pump pressure gives its flow"));
    }
    Ok(SlideChart {
        line: line.into(),
        hose: one.hose.name.clone(),
        place: one.hose.path.to_string(),
        carried: one.carried,
        rise: one.tip.height,
        nozzle: one.tip.name.clone(),
        lengths,
        rows,
        head: book.water().static_pressure(Length::of_si(1.0)),
        stop: stop(book, &one.layout),
    })
}

/// The pump pressure at which the one tip of `line` has `flow` on `setting` (its own when
/// `None`), with `length` of the hose that a slide chart varies and the tip `rise` above
/// the pump. `None` when no pressure does.
///
/// # Errors
/// As [`slide_chart`], and when the nozzle has no such setting.
pub fn pressure_for(
    book: &Book,
    line: &str,
    (flow, setting): (VolumeRate, Option<&str>),
    (length, rise): (Length, Length),
) -> Result<Option<Pressure>, StudyError> {
    OneTip::of(book, line)?.pressure(flow, setting, length, rise)
}

/// A line with one tip and a hose of which the length can be varied.
struct OneTip<'a> {
    book: &'a Book,
    line: &'a str,
    layout: Layout,
    hose: LaidPart,
    carried: Length,
    tip: LaidTip,
    aim: VolumeRate,
}

impl<'a> OneTip<'a> {
    fn of(book: &'a Book, line: &'a str) -> Result<Self, StudyError> {
        let layout = book::layout(book, line, &Conditions::default())?;
        let none = |message: String| StudyError::Question {
            line: line.into(),
            message,
        };
        let [tip] = layout.tips.as_slice() else {
            let many = layout.tips.len();
            return Err(none(format!(
                "it has {many} tips, and what one takes depends on the others; use the pump chart"
            )));
        };
        if let Some(cut) = layout.cuts.get(1) {
            let what = match cut.kind {
                CutKind::Eductor(..) => {
                    "an eductor: the pump holds what the eductor needs at its inlet, whatever hose lies past it"
                }
                CutKind::Regulating(..) => {
                    "a valve that regulates: the pump holds what the valve needs, whatever hose lies past it"
                }
                CutKind::Pump => "a second pump",
            };
            return Err(none(format!("it has {what}; use the line card")));
        }
        let Ok(hose) = varied(&layout, line) else {
            return Err(none("it has no hose whose length could be changed".into()));
        };
        if hose.path.0.iter().any(|step| matches!(step, Step::Leg(_))) {
            return Err(none(format!(
                "its last hose is one of several legs side by side ({}), and one length does not say how long they all are; use the pump chart",
                hose.path
            )));
        }
        let Some(aim) = need::flow(tip).filter(|_| need::is_open(tip)) else {
            return Err(none("its tip is shut".into()));
        };
        Ok(OneTip {
            book,
            line,
            carried: hose.length.unwrap_or_default(),
            tip: tip.clone(),
            aim,
            hose,
            layout,
        })
    }

    fn none(&self, message: &str) -> StudyError {
        StudyError::Question {
            line: self.line.into(),
            message: message.into(),
        }
    }

    fn pressure(
        &self,
        flow: VolumeRate,
        setting: Option<&str>,
        length: Length,
        rise: Length,
    ) -> Result<Option<Pressure>, StudyError> {
        let extra = length - self.carried;
        let longer = with(&Conditions::default(), &self.hose.path, |change| {
            change.extra_length = Some(extra);
        });
        let conditions = with(&longer, &self.tip.path, |change| {
            change.extra_rise = Some(rise - self.tip.height);
            change.setting = setting.map(String::from);
        });
        let layout = book::layout(self.book, self.line, &conditions)?;
        let needs: Vec<_> = layout.tips.iter().map(|tip| (tip, flow)).collect();
        Ok(worst(&layout, &needs).map(|worst| worst.pressure))
    }

    fn tip_pressure(
        &self,
        flow: VolumeRate,
        setting: Option<&str>,
    ) -> Result<Pressure, StudyError> {
        let conditions = with(&Conditions::default(), &self.tip.path, |change| {
            change.setting = setting.map(String::from);
        });
        let layout = book::layout(self.book, self.line, &conditions)?;
        let pressure = |tip: &LaidTip| tip.tip.nozzle.pressure(flow).pressure;
        Ok(layout.tips.first().map(pressure).unwrap_or_default())
    }

    /// The flows of the rows, each with the setting of the nozzle.
    fn flows(&self, system: System, most: usize) -> Vec<(VolumeRate, Option<String>)> {
        let own = self.tip.setting.clone();
        if let Some(settings) = self.settings(most) {
            return settings;
        }
        let unit = Kind::Flow.unit(system);
        let value = |flow: VolumeRate| unit.from_si(flow.value);
        let aim = value(self.aim);
        let between = |low: f64, high: f64| round(low, high, aim, most);
        let round = match &self.tip.tip.nozzle {
            Nozzle::Automatic(nozzle) => {
                let (low, high) = nozzle.flows();
                between(value(low), value(high))
            }
            _ => {
                let about = [0.3, 0.25, 0.2].into_iter();
                let mut about =
                    about.map(|share| between((1.0 - share) * aim, (1.0 + share) * aim));
                let enough = about.find(|flows| flows.len() > 3);
                enough.unwrap_or_else(|| between(0.7 * aim, 1.3 * aim))
            }
        };
        let flow = |value: f64| VolumeRate::of_si(unit.to_si(value));
        let mut flows: Vec<VolumeRate> = round.into_iter().map(flow).collect();
        flows.push(self.aim);
        flows.sort_by(|a, b| a.value.total_cmp(&b.value));
        flows.into_iter().map(|flow| (flow, own.clone())).collect()
    }

    /// Every setting of a selectable nozzle at its rating, and the aim where it is none of
    /// them.
    fn settings(&self, most: usize) -> Option<Vec<(VolumeRate, Option<String>)>> {
        let NozzleKind::Selectable { flows, .. } = &self.book.nozzle(&self.tip.name)?.item.kind
        else {
            return None;
        };
        if !(2..most).contains(&flows.len()) {
            return None;
        }
        let rated = flows
            .iter()
            .map(|(name, flow)| (flow.get(), Some(name.clone())));
        let mut rows: Vec<(VolumeRate, Option<String>)> = rated.collect();
        let aim = (self.aim, self.tip.setting.clone());
        if !rows.iter().any(|row| row.1 == aim.1 && same(row.0, aim.0)) {
            rows.push(aim);
        }
        rows.sort_by(|a, b| a.0.value.total_cmp(&b.0.value));
        Some(rows)
    }
}

fn same(a: VolumeRate, b: VolumeRate) -> bool {
    (a - b).value.abs() <= 1e-6 * b.value.abs()
}

/// The lowest of the department's ceiling and the service pressures of the hose.
fn stop(book: &Book, layout: &Layout) -> Option<(Pressure, String)> {
    let ceiling = book.pump_ceiling.as_ref();
    let ceiling = ceiling.map(|limit| (limit.get(), "pump ceiling of the department".to_string()));
    let hose = layout.parts.iter().filter_map(|part| {
        let limit = part.service_pressure?;
        Some((limit, format!("service pressure of hose {}", part.name)))
    });
    let all = ceiling.into_iter().chain(hose);
    all.reduce(|a, b| if b.0 < a.0 { b } else { a })
}

/// Steps of flow in either unit.
const STEPS: [f64; 12] = [
    1.0, 2.0, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0, 200.0, 250.0, 500.0, 1000.0,
];

/// Round numbers from `low` to `high`, not on `aim` nor close to it, so that there are at
/// most `most` with it. Steps on which the aim lies go before others.
fn round(low: f64, high: f64, aim: f64, most: usize) -> Vec<f64> {
    let count =
        |step: f64| ((high / step + 1e-9).floor() - (low / step - 1e-9).ceil() + 1.0).max(0.0);
    let on = |step: f64| ((aim / step).round() * step - aim).abs() < 1e-3 * step;
    let most = most as f64;
    let fits = |step: &&f64| on(**step) && (4.0..=most).contains(&count(**step));
    let step = STEPS.iter().find(fits);
    let step = step.or_else(|| STEPS.iter().find(|step| count(**step) < most));
    let step = step.copied().unwrap_or(1000.0).max((high - low) / most);
    let first = (low / step - 1e-9).ceil();
    let all = (0..count(step).min(most) as usize).map(|n| (first + n as f64) * step);
    all.filter(|flow| *flow > 0.0 && (flow - aim).abs() > 0.3 * step)
        .collect()
}

/// The most lengths on a slide.
const LENGTHS: f64 = 12.0;

/// Round lengths up to two and a half times what is carried, and that among them.
fn lengths(carried: Length, system: System) -> Vec<Length> {
    let unit = Kind::Length.unit(system);
    let carried_in = unit.from_si(carried.value);
    let on = |step: f64| ((carried_in / step).round() * step - carried_in).abs() < 0.01;
    let (base, least) = match system {
        System::Us => (50.0, 400.0),
        System::Si if on(20.0) && !on(15.0) => (20.0, 120.0),
        System::Si => (15.0, 120.0),
    };
    let far = (2.5 * carried_in).max(least);
    let steps = [1.0, 2.0, 4.0, 10.0, 20.0, 40.0, 100.0];
    let step = steps.into_iter().map(|times| times * base);
    let step = step.clone().find(|step| far / step <= LENGTHS);
    let step = step.unwrap_or(far / LENGTHS);
    let all = (1..=LENGTHS as usize).map(|n| n as f64 * step);
    let all = all.take_while(|length| *length <= far + 0.01);
    let all = all.filter(|length| (length - carried_in).abs() > 0.25 * step);
    let mut lengths: Vec<Length> = all.map(|l| Length::of_si(unit.to_si(l))).collect();
    lengths.push(carried);
    lengths.sort_by(|a, b| a.value.total_cmp(&b.value));
    lengths
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn flows_are_round_and_leave_room_for_the_aim() {
        assert_eq!(
            round(70.0, 200.0, 150.0, 8),
            [75.0, 100.0, 125.0, 175.0, 200.0]
        );
        assert_eq!(
            round(265.0, 757.1, 567.8, 6),
            [300.0, 400.0, 500.0, 600.0, 700.0]
        );
        assert_eq!(round(0.0, 0.0, 0.0, 8), Vec::<f64>::new());
        assert!(round(1.0, 1e7, 5e6, 8).len() <= 8);
    }

    #[test]
    fn lengths_are_round_and_hold_the_carried_one() {
        let feet = |l: &Length| Kind::Length.unit(System::Us).from_si(l.value).round();
        let list = |carried: f64| {
            let carried = Length::of_si(Kind::Length.unit(System::Us).to_si(carried));
            lengths(carried, System::Us)
                .iter()
                .map(feet)
                .collect::<Vec<_>>()
        };
        assert_eq!(list(200.0)[..5], [50.0, 100.0, 150.0, 200.0, 250.0]);
        assert_eq!(list(190.0)[..5], [50.0, 100.0, 150.0, 190.0, 250.0]);
        assert_eq!(list(800.0)[..3], [200.0, 400.0, 600.0]);
        assert!(list(20_000.0).len() <= 14 && list(1.0).len() <= 14);
    }
}
