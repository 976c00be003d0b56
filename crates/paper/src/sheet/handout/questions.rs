//! Questions for the class, each with the answer that the solver gives.

use book::{Book, Conditions};
use hydraulics::units::{Length, Measure, System};
use serde_json::{Value, json};
use study::answer::{Basis, LineAnswer};
use study::figure;
use study::{Changed, Next};

use super::{called, is_asked};
use crate::sheet::Sheet;
use crate::sheet::common::own_tips;

/// Questions and answers in their order.
pub(super) fn of(sheet: &mut Sheet, book: &Book, answer: &LineAnswer, next: &[Next]) -> Value {
    let mut all = vec![people(sheet, answer)];
    let asked = next.iter().filter(|next| is_asked(next));
    // An eductor keeps its rated inlet pressure whatever lies past it.
    let told = |next: &&Next| next.code != "extend" || answer.eductors.is_empty();
    let mut asked: Vec<&Next> = asked.filter(|n| n.refused.is_none()).filter(told).collect();
    asked.sort_by_key(|next| next.code != "extend");
    for next in asked {
        all.extend(match next.code {
            "extend" => more_hose(sheet, next),
            _ => pump_low(sheet, answer, next),
        });
    }
    all.extend(one_floor_up(sheet, book, answer));
    let all = all.into_iter().map(|(question, answer)| {
        sheet.tell(question.clone(), answer.clone());
        json!({ "question": question, "answer": answer })
    });
    json!(all.collect::<Vec<_>>())
}

type Asked = (String, String);

/// How many people, and by what.
fn people(sheet: &Sheet, answer: &LineAnswer) -> Asked {
    let units = sheet.units;
    let tips = own_tips(answer).map(|tip| {
        let reaction = units.show(figure::force(tip.reaction)).text();
        format!(
            "{}: reaction {reaction} by the formula; {}",
            tip.called(),
            tip.takes()
        )
    });
    (
        "How hard does the nozzle push back, and how many people does it take?".into(),
        format!("{}.", tips.collect::<Vec<_>>().join(". ")),
    )
}

/// "The pump pressure for the same flow".
fn more_hose(sheet: &Sheet, next: &Next) -> Option<Asked> {
    let units = sheet.units;
    let Some(Changed::Added(_, added)) = &next.change else {
        return None;
    };
    let find = |name: &str| next.figures.iter().find(|gain| gain.name == name);
    let shown = |name| find(name).map(|gain| units.show(gain.after).text());
    let same = match shown("pump pressure for the same flow") {
        Some(pump) => format!("The pump must hold {pump}."),
        None => "No pump pressure gives the same flow.".into(),
    };
    let else_flow = shown("flow at the same pump pressure")?;
    let else_pressure = shown("tip pressure at the same pump pressure")?;
    Some((
        format!(
            "{} (hose {}): what must the pump hold for the same flow, and what does the tip get if nobody tells the pump?",
            next.title, added.hose
        ),
        format!("{same} Untold: {else_flow} at a tip pressure of {else_pressure}."),
    ))
}

fn pump_low(sheet: &Sheet, answer: &LineAnswer, next: &Next) -> Option<Asked> {
    let units = sheet.units;
    let figures = next
        .figures
        .iter()
        .filter(|g| matches!(&*g.name, "flow" | "tip pressure"));
    let said = figures.map(|gain| {
        let place = match called(answer, &gain.place) {
            "" => String::new(),
            place => format!("{place}: "),
        };
        format!("{place}{} {}", gain.name, units.show(gain.after).text())
    });
    let said: Vec<String> = said.collect();
    (!said.is_empty()).then(|| {
        (
            format!(
                "{}: what flow and what tip pressure does the crew get?",
                next.title
            ),
            format!("Then: {}.", said.join(", ")),
        )
    })
}

/// The pump pressure with every tip a floor higher; only where the pump is set for an aim.
fn one_floor_up(sheet: &Sheet, book: &Book, answer: &LineAnswer) -> Option<Asked> {
    if !matches!(answer.basis, Basis::Aim { .. }) {
        return None;
    }
    let units = sheet.units;
    let floor = match units.first() {
        System::Us => Length::of_si(3.048),
        System::Si => Length::of_si(3.0),
    };
    let mut conditions = Conditions::default();
    for tip in own_tips(answer) {
        let path = tip.place.parse().ok()?;
        conditions.changes.entry(path).or_default().extra_rise = Some(floor);
    }
    let higher = study::solve(book, &answer.line, &conditions).ok()?;
    if !higher.converged || !matches!(higher.basis, Basis::Aim { .. }) {
        return None;
    }
    let up = units.show(figure::length(floor)).text();
    let pump = units.show(figure::pressure(higher.pump_pressure)).text();
    Some((
        format!(
            "The crew goes one floor up ({up}) with the same hose. What must the pump hold now?"
        ),
        format!("{pump}."),
    ))
}
