//! What the crew gets, in large figures.

use crate::tables::big;
use hydraulics::nozzle::Regime;
use hydraulics::units::{Kind, Measure, System, show};
use maud::{Markup, html};
use study::answer::{LineAnswer, TipAnswer};
use study::figure;
use study::notice::Weight;

/// The figures of a line as it is now, beside what it was.
pub(super) fn crew(was: &LineAnswer, now: &LineAnswer, held: bool, system: System) -> Markup {
    let several = now.tips.len() > 1;
    let figures = Figures { system, held };
    html! {
        section #crew aria-labelledby="crew-title" data-summary=(summary(now, system)) {
            h2.unseen id="crew-title" { "What the crew gets" }
            @if several {
                dl.figures { (figures.pump(was, now)) (figures.total(was, now)) }
            }
            @for (index, tip) in now.tips.iter().enumerate() {
                @let before = was.tips.get(index).filter(|t| t.place == tip.place && t.line == tip.line);
                @if several {
                    h3.tip { (tip.called()) " " span.place {
                        @if tip.line != now.line { (tip.line) ", " }
                        (tip.place)
                    } }
                }
                dl.figures {
                    @if !several { (figures.pump(was, now)) }
                    (figures.tip(before, tip))
                }
            }
            @for eductor in &now.eductors {
                dl.figures { (figures.eductor(eductor)) }
            }
        }
    }
}

struct Figures {
    system: System,
    /// The pump stands where it stood before.
    held: bool,
}

impl Figures {
    fn show<Q: Measure>(&self, kind: Kind, quantity: Q) -> String {
        show(kind, quantity, self.system)
    }

    fn pump(&self, was: &LineAnswer, now: &LineAnswer) -> Markup {
        let pressure = |answer: &LineAnswer| self.show(Kind::Pressure, answer.pump_pressure);
        html! {
            div.lead.past[limits(now).is_some()] {
                dt { "Pump pressure" }
                dd { (big(&pressure(now))) (said(&if self.held { "left as it was".to_string() } else { now.basis_words() })) (before(&pressure(was), &pressure(now)))
                    @if let Some(limits) = limits(now) { span.exceeded { (limits) } }
                }
            }
        }
    }

    fn total(&self, was: &LineAnswer, now: &LineAnswer) -> Markup {
        let flow = |answer: &LineAnswer| self.show(Kind::Flow, answer.flow);
        html! {
            div { dt { "Flow from the pump" } dd { (big(&flow(now))) (before(&flow(was), &flow(now))) } }
        }
    }

    fn tip(&self, was: Option<&TipAnswer>, tip: &TipAnswer) -> Markup {
        let flow = |t: &TipAnswer| self.show(Kind::Flow, t.flow);
        let pressure = |t: &TipAnswer| self.show(Kind::Pressure, t.tip_pressure);
        let reaction = |t: &TipAnswer| self.show(Kind::Force, t.reaction);
        let reach = |t: &TipAnswer| self.show(Kind::Length, t.effective_reach);
        let throw = |t: &TipAnswer| self.show(Kind::Length, t.maximum_throw);
        let row = |name: &str, of: &dyn Fn(&TipAnswer) -> String, words: String| {
            html! {
                div { dt { (name) } dd {
                    (big(&of(tip)))
                    @if !words.is_empty() { (said(&words)) }
                    @if let Some(was) = was { (before(&of(was), &of(tip))) }
                } }
            }
        };
        html! {
            (row("Flow", &flow, self.aim(tip)))
            (row("Tip pressure", &pressure, self.regime(tip)))
            (row("Reaction", &reaction, match tip.on_monitor {
                true => "on the monitor".into(),
                false => format!("takes {}", tip.takes()),
            }))
            (row("Effective reach", &reach, match &tip.attachment {
                Some(attached) => format!("with {}, as the book gives it", attached.name),
                None => "of a good stream".into(),
            }))
            (row("Maximum throw", &throw, "the last water lands".into()))
            @if let Some(attached) = &tip.attachment {
                div { dt { "Foam" } dd {
                    (big(&self.show(Kind::Flow, attached.foam)))
                    (said(&format!("expansion {} to 1", attached.expansion.si())))
                } }
            }
        }
    }

    fn aim(&self, tip: &TipAnswer) -> String {
        let aims = tip.aim.iter().map(|(name, figure)| {
            format!("{} {}", name.replace('_', " "), figure.show(self.system))
        });
        let aims: Vec<String> = aims.collect();
        let missed: Vec<String> = tip
            .aim_missed
            .iter()
            .map(|name| name.replace('_', " "))
            .collect();
        match tip.aim_met {
            None => String::new(),
            Some(true) => format!("aim met: {}", aims.join(", ")),
            Some(false) => format!("aim {}; missed: {}", aims.join(", "), missed.join(" and ")),
        }
    }

    fn regime(&self, tip: &TipAnswer) -> String {
        match tip.regime {
            None => String::new(),
            Some(Regime::In) => "automatic: in its range".into(),
            Some(Regime::Below) => "automatic: below its range".into(),
            Some(Regime::Above) => "automatic: above its range".into(),
        }
    }

    fn eductor(&self, eductor: &study::scene::EductorAnswer) -> Markup {
        html! {
            div { dt { "Eductor" } dd {
                b.word { (if eductor.draws { "draws" } else { "does not draw" }) }
                (said(&eductor.place))
            } }
            @if let Some(makes) = eductor.makes {
                div { dt { "Foam solution" } dd {
                    (big(&figure::ratio(makes).show(self.system)))
                    @if let Some(set) = eductor.set { (said(&format!("set to {}", figure::ratio(set).show(self.system)))) }
                } }
            }
            div { dt { "Eductor inlet" } dd {
                (big(&self.show(Kind::Pressure, eductor.inlet)))
                (said(&format!("rated {}", self.show(Kind::Pressure, eductor.rated_inlet))))
            } }
            div { dt { "Eductor outlet" } dd {
                (big(&self.show(Kind::Pressure, eductor.outlet)))
                (said(&format!("draws up to {}", self.show(Kind::Pressure, eductor.highest_outlet))))
            } }
        }
    }
}

/// What matters most in one row, to stay in sight on a phone while a hand moves.
pub(super) fn glance(now: &LineAnswer, system: System) -> Markup {
    html! {
        p.glance #glance aria-hidden="true" {
            b { (show(Kind::Pressure, now.pump_pressure, system)) }
            @for tip in &now.tips {
                span {
                    b { (show(Kind::Flow, tip.flow, system)) } " " (show(Kind::Pressure, tip.tip_pressure, system))
                    ", " (show(Kind::Force, tip.reaction, system))
                }
            }
        }
    }
}

/// How many limits are exceeded, in words.
fn limits(now: &LineAnswer) -> Option<String> {
    let all = now.notices.iter().filter(|n| n.weight == Weight::Limit);
    match all.count() {
        0 => None,
        1 => Some("1 limit exceeded".into()),
        several => Some(format!("{several} limits exceeded")),
    }
}

fn said(words: &str) -> Markup {
    html! { span { (words) } }
}

fn before(was: &str, now: &str) -> Markup {
    html! { @if was != now { span.was { "was " (was) } } }
}

/// What a screen reader is told when figures have changed.
fn summary(now: &LineAnswer, system: System) -> String {
    let mut words = vec![format!(
        "Pump {}",
        show(Kind::Pressure, now.pump_pressure, system)
    )];
    for tip in &now.tips {
        words.push(format!(
            "{}: {}, {} at the tip, reaction {}, {}",
            tip.called(),
            show(Kind::Flow, tip.flow, system),
            show(Kind::Pressure, tip.tip_pressure, system),
            show(Kind::Force, tip.reaction, system),
            tip.takes()
        ));
    }
    words.extend(limits(now));
    words.join(". ")
}
