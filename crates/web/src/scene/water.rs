//! Water, relays, standpipes, foam, and the flow that a fire asks for.

use super::Shown;
use super::answer::under;
use crate::look;
use crate::tables::{block, listed, wide};
use hydraulics::units::{Kind, System, show};
use maud::{Markup, html};
use study::SceneAnswer;
use study::scene::{FireAnswer, MainAnswer, StandpipeAnswer};

pub(super) fn sections(shown: &Shown<'_>) -> Markup {
    let (answer, system) = (&shown.compared.after, shown.system);
    html! {
        h2 { "Water" }
        @for source in &answer.sources {
            h3 { (source.kind) " " (source.name) }
            (block(&format!("{} {}", source.kind, source.name), &source.facts(), system))
        }
        (curves(shown))
        @for relay in &answer.relays {
            (under(&format!("Relay, {} to {}", relay.from, relay.to), &relay.facts(), system))
        }
        @for pipe in &answer.standpipes { (standpipe(pipe, system)) }
        @for eductor in &answer.eductors {
            (under(&format!("Eductor, {}", eductor.line), &eductor.facts(), system))
        }
        @if !answer.foam.is_empty() {
            h2 { "Foam" }
            (listed("Foam", &answer.foam.iter().map(|line| line.facts()).collect::<Vec<_>>(), system))
        }
        @if let Some(spill) = &answer.spill { (under("Spill", &spill.facts(), system)) }
        @if let Some(fire) = &answer.fire { (needed(fire, system)) }
    }
}

/// Every main once.
pub(super) fn mains(answer: &SceneAnswer) -> Vec<&MainAnswer> {
    let mut mains: Vec<&MainAnswer> = Vec::new();
    for main in answer
        .sources
        .iter()
        .filter_map(|source| source.main.as_ref())
    {
        if !mains.iter().any(|other| other.name == main.name) {
            mains.push(main);
        }
    }
    mains
}

fn curves(shown: &Shown<'_>) -> Markup {
    html! {
        div {
            @for (index, main) in mains(&shown.compared.after).into_iter().enumerate() {
                @let drawing = picture::supply_curve(main, shown.system);
                (look::drawing(&format!("main-{index}"), &format!("Main at {}", main.name), &drawing))
            }
        }
    }
}

fn standpipe(pipe: &StandpipeAnswer, system: System) -> Markup {
    let floors: Vec<_> = pipe.floors.iter().map(|floor| floor.facts()).collect();
    html! {
        (under(&format!("Standpipe {}", pipe.name), &pipe.facts(), system))
        h3 { "Outlets in use" }
        (listed("Outlets in use", &floors, system))
    }
}

/// What the planning forms ask for, against what the tips give.
fn needed(fire: &FireAnswer, system: System) -> Markup {
    let number = |n: Option<u32>| n.map_or_else(|| "none".into(), |n| n.to_string());
    let rows = html! {
        thead { tr {
            @for head in ["Form", "Flow", "Stock", "Given", "Lines", "People"] { th scope="col" { (head) } }
        } }
        tbody {
            @for need in &fire.needs {
                tr {
                    th scope="row" {
                        (need.estimate.name)
                        br;
                        span.hint {
                            (need.estimate.why) "."
                            @if !need.estimate.valid { " Outside that here." }
                        }
                    }
                    td.number { (show(Kind::Flow, need.flow, system)) }
                    td.number { @if let Some(stock) = need.stock() { (stock.show(system)) } }
                    td { (if need.given { "yes" } else { "no" }) }
                    td.number { (number(need.lines)) }
                    td.number { (number(need.people)) }
                }
            }
        }
    };
    html! {
        (under("Flow needed, by planning forms", &fire.facts(), system))
        (wide("Planning forms", &rows))
    }
}
