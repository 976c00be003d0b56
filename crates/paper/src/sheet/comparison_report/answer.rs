//! The answer: what to carry, what to pump it at, what the crew gets, how sure that is,
//! and what it beats.

use book::comparison::AimKind;
use serde_json::{Value, json};
use study::choose::{Choice, LineResult, Measured, aim_name};
use study::doubt::{Doubted, on_days};
use study::figure;

use super::Report;
use crate::compared::{self, alike};
use crate::paper::Units;
use crate::sheet::Sheet;

/// The days on which an answer is to hold, when the comparison does not say.
const DAYS: f64 = 0.95;

impl Report<'_> {
    /// The share of the days on which a robust choice holds.
    pub(super) fn days_wanted(&self) -> f64 {
        let days = self.comparison.doubt.days.as_ref();
        days.map_or(DAYS, |days| days.get().value)
    }

    pub(super) fn answer_json(&self) -> Value {
        let Some((place, answer)) = self.answer() else {
            return Value::Null;
        };
        let units = self.units;
        let groups = alike(&answer.on).into_iter().map(|group| {
            json!({
                "lines": compared::listed(&group.lines),
                "hose": group.on.hose,
                "length": group.lengths.first()
                    .map(|(length, _)| units.show(figure::length(*length))),
                "other_lengths": group.other_lengths(units),
                "nozzle": group.on.nozzle,
                "setting": group.on.setting,
                "pump": units.show(figure::pressure(group.on.pump_pressure)),
            })
        });
        json!({
            "code": answer.code,
            "groups": groups.collect::<Vec<_>>(),
            "lines": answer.results.iter().map(|r| result(r, units)).collect::<Vec<_>>(),
            "low_at": self.comparison.cases.low_pump_pressure.as_ref()
                .map(|low| units.show(figure::pressure(low.get())).text()),
            "holds": answer.doubted.as_ref().map(|doubted| self.holds(doubted)),
            "doubts": self.doubts(place, answer),
            "why": compared::sentences(&answer.why, units),
            "against_head": match place {
                0 => "What the runner-up lost on",
                _ => "What it gave up against the choice ranked before it",
            },
            "against": match self.chosen.choices.len() {
                0 | 1 => Vec::new(),
                _ => compared::sentences(&answer.against, units),
            },
            "today": self.today(answer),
            "change": compared::sentences(&answer.to_change, units),
        })
    }

    /// How often it holds.
    fn holds(&self, doubted: &Doubted) -> Value {
        let (share, half) = doubted.all_hold;
        json!({
            "share": on_days(share),
            "half": format!("{:.1} %", 100.0 * half),
            "draws": compared::count(doubted.draws),
            "wanted": format!("{} %", compared::plain(100.0 * self.days_wanted())),
            "enough": share >= self.days_wanted(),
        })
    }

    /// What speaks against taking the answer as sure.
    fn doubts(&self, place: usize, answer: &Choice) -> Vec<String> {
        let wanted = format!("{} %", compared::plain(100.0 * self.days_wanted()));
        let drawn = self.chosen.choices.iter().any(|c| c.doubted.is_some());
        if !drawn {
            return vec![
                "No days were drawn: nothing is said here of how sure the answer is. Have days drawn before it is taken.".into(),
            ];
        }
        if self.chosen.robust.is_none() {
            return vec![self.none_holds(&wanted)];
        }
        let before = self.chosen.choices.iter().take(place).filter_map(|choice| {
            let (share, _) = choice.doubted.as_ref()?.all_hold;
            Some(format!("{} on {}", choice.code, on_days(share)))
        });
        let before: Vec<String> = before.collect();
        match before.is_empty() {
            true => Vec::new(),
            false => vec![format!(
                "Ranked before {} but holding on fewer than {wanted} of the days: {}.",
                answer.code,
                compared::listed(&before)
            )],
        }
    }

    fn none_holds(&self, wanted: &str) -> String {
        let drawn = self.chosen.choices.iter().filter_map(|choice| {
            let doubted = choice.doubted.as_ref()?;
            Some((choice, doubted.all_hold.0))
        });
        let best = drawn.max_by(|a, b| a.1.total_cmp(&b.1));
        let best = best.map_or_else(String::new, |(choice, share)| {
            format!(" {} comes closest, with {}.", choice.code, on_days(share))
        });
        format!(
            "No choice that days were drawn for keeps all limits on {wanted} of the days.{best} The one that is ranked first is shown."
        )
    }

    /// What is carried today beside the answer.
    fn today(&self, answer: &Choice) -> Value {
        let units = self.units;
        let Some(today) = &self.chosen.today else {
            return Value::Null;
        };
        let mut rows: Vec<Value> = Vec::new();
        let is_of_pump = |measured: &Measured| measured.aim == AimKind::PumpPressure;
        if !answer.measured.iter().any(is_of_pump) {
            rows.push(json!([
                "Pump pressure",
                pump(today, units),
                pump(answer, units)
            ]));
        }
        let both = today.measured.iter().zip(&answer.measured);
        rows.extend(both.map(|(before, after)| {
            let text = |figure| compared::text(figure, units);
            let name = crate::words::capital(aim_name(after.aim));
            json!([name, text(before.value), text(after.value)])
        }));
        let past = today.past.iter().map(|(limit, has, may)| {
            let (has, may) = compared::has_and_may(*has, *may, units);
            format!("{}: {has} against {may}", limit.name())
        });
        json!({
            "on": self.equipment(today, true),
            "rows": rows,
            "past": past.collect::<Vec<_>>(),
            "same": today.on == answer.on,
        })
    }

    /// What is on the lines of `choice`, a text for lines that are equipped alike; with
    /// its lengths where `lengths`.
    pub(super) fn equipment(&self, choice: &Choice, lengths: bool) -> Vec<String> {
        let groups = alike(&choice.on);
        let one = groups.len() == 1;
        let text = groups.iter().map(|group| {
            let equipment = match lengths {
                true => group.text(self.units),
                false => group.text_without_lengths(),
            };
            match one {
                true => equipment,
                false => format!("{}: {equipment}", group.lines.join(", ")),
            }
        });
        text.collect()
    }

    /// The same among other choices, which may all have the same lengths.
    pub(super) fn among_others(&self, choice: &Choice) -> Vec<String> {
        self.equipment(choice, !self.comparison.vary.length.is_empty())
    }
}

/// The pump pressure of a choice, or the lowest and the highest.
pub(super) fn pump(choice: &Choice, units: Units) -> String {
    let text = |p| units.show(figure::pressure(p)).text();
    if let Some(one) = choice.pump_pressure {
        return text(one);
    }
    let all = choice.on.iter().map(|on| on.pump_pressure);
    let low = all.clone().reduce(|a, b| if b < a { b } else { a });
    let high = all.reduce(|a, b| if b > a { b } else { a });
    match (low, high) {
        (Some(low), Some(high)) if text(low) == text(high) => text(low),
        (Some(low), Some(high)) => format!("{} to {}", text(low), text(high)),
        _ => String::new(),
    }
}

/// Who can hold a line.
pub(super) fn takes(result: &LineResult) -> String {
    match result.people {
        Some(people) => compared::people(people),
        None => "more than 3 people".into(),
    }
}

fn result(result: &LineResult, units: Units) -> Value {
    let (low_flow, low_pressure) = match result.low {
        Some((flow, pressure)) => (Some(flow), Some(pressure)),
        None => (None, None),
    };
    let (least, most) = result.flows;
    json!({
        "line": result.line,
        "flow": units.show(figure::flow(result.flow)),
        "tip_pressure": units.show(figure::pressure(result.tip_pressure)),
        "reaction": units.show(figure::force(result.reaction)),
        "people": takes(result),
        "reach": units.show(figure::length(result.reach)),
        "low_flow": low_flow.map(|flow| units.show(figure::flow(flow))),
        "low_pressure": low_pressure.map(|p| units.show(figure::pressure(p))),
        "least": units.show(figure::flow(least)),
        "most": units.show(figure::flow(most)),
    })
}

/// Notes what the answer says, so that a print can be held against it.
pub(super) fn tell(sheet: &mut Sheet, answer: &Choice) {
    sheet.tell("answer", answer.code.as_str());
    for on in &answer.on {
        let line = &on.line;
        sheet.tell(format!("{line}: hose"), on.hose.as_str());
        sheet.tell(format!("{line}: length"), figure::length(on.length));
        sheet.tell(format!("{line}: nozzle"), on.nozzle_called());
        sheet.tell(
            format!("{line}: pump pressure"),
            figure::pressure(on.pump_pressure),
        );
    }
    for result in &answer.results {
        let line = &result.line;
        sheet.tell(format!("{line}: flow"), figure::flow(result.flow));
        sheet.tell(
            format!("{line}: nozzle pressure"),
            figure::pressure(result.tip_pressure),
        );
        sheet.tell(format!("{line}: reaction"), figure::force(result.reaction));
        sheet.tell(format!("{line}: held by"), takes(result));
        sheet.tell(
            format!("{line}: effective reach"),
            figure::length(result.reach),
        );
        if let Some((flow, pressure)) = result.low {
            sheet.tell(
                format!("{line}: flow at low pump pressure"),
                figure::flow(flow),
            );
            sheet.tell(
                format!("{line}: nozzle pressure at low pump pressure"),
                figure::pressure(pressure),
            );
        }
    }
    if let Some(doubted) = &answer.doubted {
        sheet.tell("holds on so many days", on_days(doubted.all_hold.0));
    }
}
