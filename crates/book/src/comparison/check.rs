//! What must hold beyond the form: two things that a comparison asks for must not
//! exclude each other, and what it names must be in the book.

use super::{AimKind, Comparison, LIST_LIMIT, NozzleChoice, Steps, Vary};
use crate::catalogue::catalogue;
use crate::check::{meant, names};
use crate::model::{Book, Stated};
use crate::problem::nearest;
use hydraulics::units::{Measure, Pressure};
use std::collections::HashSet;

/// One thing wrong with a comparison, for a file and for a form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// A fixed name for programs, in snake_case.
    pub code: &'static str,
    /// Section and key: "vary.hose".
    pub place: &'static str,
    /// Which value of a list, counted from 0.
    pub index: Option<usize>,
    /// What is wrong: the thing and the number.
    pub message: String,
    /// What would mend it.
    pub mend: String,
}

fn fault(code: &'static str, place: &'static str, message: String, mend: String) -> Fault {
    Fault {
        code,
        place,
        index: None,
        message,
        mend,
    }
}

/// What excludes each other in `comparison` itself; nothing is solved for it.
///
/// ```
/// use book::comparison::{Comparison, contradictions};
/// let faults = contradictions(&Comparison::default());
/// assert!(faults.iter().any(|fault| fault.code == "nothing_wanted"));
/// ```
pub fn contradictions(comparison: &Comparison) -> Vec<Fault> {
    let mut found = Vec::new();
    if comparison.lines.is_empty() {
        let message = "it names no line".into();
        let mend = "name the lines that are equipped anew, as lines = [\"left-crosslay\"]";
        found.push(fault("no_line", "comparison.lines", message, mend.into()));
    }
    twice(comparison, &mut found);
    ranges(&comparison.vary, &mut found);
    ceiling(comparison, &mut found);
    low_pump(comparison, &mut found);
    wanted(comparison, &mut found);
    found
}

/// A value that a list has twice.
fn twice(comparison: &Comparison, found: &mut Vec<Fault>) {
    let Comparison {
        lines, vary, cases, ..
    } = comparison;
    let nozzles: Vec<String> = vary.nozzle.iter().map(called).collect();
    let words: Vec<&str> = cases
        .coefficient
        .iter()
        .map(|which| super::word_for(*which))
        .collect();
    repeated("comparison.lines", lines, found);
    repeated("vary.hose", &vary.hose, found);
    repeated("vary.nozzle", &nozzles, found);
    repeated("cases.coefficient", &words, found);
    same("vary.length", &vary.length, found);
    same("cases.rise", &cases.rise, found);
    if let Steps::List(values) = &vary.pump_pressure {
        same("vary.pump_pressure", values, found);
    }
}

/// As it is written in a file.
fn called(choice: &NozzleChoice) -> String {
    match &choice.setting {
        Some(setting) => format!("{}, {setting}", choice.nozzle),
        None => choice.nozzle.clone(),
    }
}

fn repeated<T: AsRef<str>>(place: &'static str, all: &[T], found: &mut Vec<Fault>) {
    let mut seen = HashSet::new();
    for (index, item) in all.iter().enumerate() {
        if !seen.insert(item.as_ref()) {
            let message = format!("\"{}\" is there twice", item.as_ref());
            let twice = fault("twice", place, message, "leave one of the two out".into());
            found.push(Fault {
                index: Some(index),
                ..twice
            });
        }
    }
}

fn same<Q: Measure>(place: &'static str, all: &[Stated<Q>], found: &mut Vec<Fault>) {
    let mut seen = HashSet::new();
    for (index, item) in all.iter().enumerate() {
        if !seen.insert(item.get().si().to_bits()) {
            let message = format!("{} is there twice", item.text());
            let twice = fault("twice", place, message, "leave one of the two out".into());
            found.push(Fault {
                index: Some(index),
                ..twice
            });
        }
    }
}

fn ranges(vary: &Vary, found: &mut Vec<Fault>) {
    let Steps::Range { from, to, step } = &vary.pump_pressure else {
        return;
    };
    if from.get() > to.get() {
        let message = format!(
            "the pump pressures to try go from {} to {}, which is lower",
            from.text(),
            to.text()
        );
        let mend = "write the lower one as from".into();
        found.push(fault("reversed", "vary.pump_pressure.from", message, mend));
        return;
    }
    let count = vary.pump_pressure.count();
    if count > LIST_LIMIT {
        let message = format!(
            "from {} to {} by {} are {count} pump pressures; at most {LIST_LIMIT} can be tried",
            from.text(),
            to.text(),
            step.text()
        );
        let mend = "make the step larger".into();
        found.push(fault("too_long", "vary.pump_pressure.step", message, mend));
    }
}

/// The pump pressures against their ceiling.
fn ceiling(comparison: &Comparison, found: &mut Vec<Fault>) {
    let Some(ceiling) = &comparison.limits.pump_pressure else {
        return;
    };
    if let Some(low) = &comparison.cases.low_pump_pressure
        && low.get() > ceiling.get()
    {
        let message = format!(
            "the low pump pressure of the cases is {}, above the highest pump pressure of the \
             limits, {}",
            low.text(),
            ceiling.text()
        );
        let mend = "lower cases.low_pump_pressure, or raise limits.pump_pressure".into();
        found.push(fault(
            "contradiction",
            "cases.low_pump_pressure",
            message,
            mend,
        ));
    }
    if let Some(least) = least(&comparison.vary.pump_pressure)
        && least.get() > ceiling.get()
    {
        let message = format!(
            "every pump pressure to try, from {} on, is above the highest of the limits, {}",
            least.text(),
            ceiling.text()
        );
        let mend = "try lower pump pressures, or raise limits.pump_pressure".into();
        found.push(fault("contradiction", "vary.pump_pressure", message, mend));
    }
}

fn least(steps: &Steps<Pressure>) -> Option<&Stated<Pressure>> {
    match steps {
        Steps::Range { from, .. } => Some(from),
        Steps::List(values) => values
            .iter()
            .min_by(|a, b| a.get().si().total_cmp(&b.get().si())),
    }
}

/// What is asked at a low pump pressure, or of a gated line, and which that is.
fn low_pump(comparison: &Comparison, found: &mut Vec<Fault>) {
    let Comparison {
        cases,
        limits,
        aims,
        ..
    } = comparison;
    let low = [
        (
            "limits.flow_at_low_pump",
            "flow at a low pump pressure is limited",
            limits.flow_at_low_pump.is_some(),
        ),
        (
            "limits.tip_pressure_at_low_pump",
            "nozzle pressure at a low pump pressure is limited",
            limits.tip_pressure_at_low_pump.is_some(),
        ),
        (
            "aims.flow_at_low_pump",
            "flow at a low pump pressure is wanted",
            aims.contains_key(&AimKind::FlowAtLowPump),
        ),
    ];
    for (place, what, _) in low.into_iter().filter(|(.., asked)| *asked) {
        if cases.low_pump_pressure.is_none() {
            let message = format!("{what}, but nothing says which pump pressure that is");
            let mend = "add low_pump_pressure = \"100 psi\" to [cases], or leave this out".into();
            found.push(fault("no_low_pump", place, message, mend));
        }
    }
    if aims.contains_key(&AimKind::SteadyWhenGated) && cases.gated.is_none() {
        let message =
            "a steady nozzle pressure when gated is wanted, but nothing says how far the shut-off \
             is open then"
                .into();
        let mend = "add gated = \"50 %\" to [cases], or leave this out".into();
        found.push(fault("no_gate", "aims.steady_when_gated", message, mend));
    }
}

fn wanted(comparison: &Comparison, found: &mut Vec<Fault>) {
    let aims = &comparison.aims;
    if !aims.values().any(|aim| aim.weight.get().value > 0.0) {
        let message = match aims.is_empty() {
            true => "nothing is wanted: there are no [aims]",
            false => "nothing that is wanted counts: every weight in [aims] is 0",
        };
        let mend = "write in [aims] what counts and how much, as flow = 2".into();
        found.push(fault("nothing_wanted", "aims", message.into(), mend));
    }
    let near = aims.get(&AimKind::Flow).and_then(|aim| aim.near.as_ref());
    if let (Some(near), Some(least)) = (near, &comparison.limits.flow)
        && near.get() < least.get()
    {
        let message = format!(
            "the flow that is wanted is {}, below the least flow of the limits, {}",
            near.text(),
            least.text()
        );
        let mend = "raise near in [aims], or lower flow in [limits]".into();
        found.push(fault("contradiction", "aims.flow", message, mend));
    }
}

/// What `comparison` names and `book` does not have.
pub fn check(comparison: &Comparison, book: &Book) -> Vec<Fault> {
    let mut found = Vec::new();
    for (index, name) in comparison.lines.iter().enumerate() {
        if !book.line.contains_key(name) {
            let message = format!("the book has no line \"{name}\"");
            let mend = meant(name, names(&book.line), std::iter::empty());
            let unknown = fault("unknown_name", "comparison.lines", message, mend);
            found.push(at(index, unknown));
        }
    }
    for (index, name) in comparison.vary.hose.iter().enumerate() {
        if book.hose(name).is_none() {
            let message = format!("hose \"{name}\" is neither in the book nor in the catalogue");
            let mend = meant(name, names(&book.hose), names(&catalogue().hose));
            let unknown = fault("unknown_name", "vary.hose", message, mend);
            found.push(at(index, unknown));
        }
    }
    for (index, choice) in comparison.vary.nozzle.iter().enumerate() {
        found.extend(nozzle(choice, book).map(|fault| at(index, fault)));
    }
    found
}

fn at(index: usize, fault: Fault) -> Fault {
    Fault {
        index: Some(index),
        ..fault
    }
}

fn nozzle(choice: &NozzleChoice, book: &Book) -> Option<Fault> {
    let NozzleChoice { nozzle, setting } = choice;
    let Some(known) = book.nozzle(nozzle) else {
        let message = format!("nozzle \"{nozzle}\" is neither in the book nor in the catalogue");
        let whole = called(choice);
        let mend = match book.nozzle(&whole) {
            Some(_) => format!("write {{ nozzle = \"{whole}\" }}, for its name has a comma"),
            None => meant(nozzle, names(&book.nozzle), names(&catalogue().nozzle)),
        };
        return Some(fault("unknown_name", "vary.nozzle", message, mend));
    };
    let asked = setting.as_deref()?;
    let error = known.item.setting(Some(asked)).err()?;
    let have = known.item.settings();
    let mend = match nearest(asked, have.iter().copied()) {
        Some(near) => format!("did you mean \"{nozzle}, {near}\"?"),
        None if have.is_empty() => format!("write \"{nozzle}\" alone"),
        None => format!("write \"{nozzle}, {}\"", have.join("\" or \"")),
    };
    let message = format!("nozzle \"{nozzle}\": {error}");
    Some(fault("unknown_setting", "vary.nozzle", message, mend))
}
