//! The three hands as a form: the pump, the gate, the setting; then what else
//! may happen.

use super::controls::{Control, Hand, Stands};
use super::hands::{Hands, Wrong};
use crate::reader::word;
use hydraulics::units::{Kind, System};
use maud::{Markup, html};

/// The form whose state is the page's address.
pub(super) struct Form<'a> {
    pub controls: &'a [Control],
    pub hands: &'a Hands,
    pub wrong: &'a [Wrong],
    pub system: System,
    /// The address of the line as the book has it.
    pub plain: &'a str,
}

impl Form<'_> {
    pub fn show(&self) -> Markup {
        let of = |hand: Hand| self.controls.iter().filter(move |c| c.hand == hand);
        let more = of(Hand::Mishap).chain(of(Hand::Around));
        let more_set = more.clone().any(|c| self.hands.word(&c.key).is_some());
        html! {
            form #hands.hands method="get" data-live="glance crew live next streams" aria-label="The hands on this line" {
                input type="hidden" name="in" value=(word(self.system));
                @for control in of(Hand::Pump) { (self.control(control)) }
                @if of(Hand::Gate).next().is_some() {
                    fieldset { legend { "Gate" } @for control in of(Hand::Gate) { (self.control(control)) } }
                }
                @if of(Hand::Setting).next().is_some() {
                    fieldset { legend { "Setting" } @for control in of(Hand::Setting) { (self.control(control)) } }
                }
                (self.carried())
                div.actions {
                    button.first.no-script { "Show" }
                    a.button href=(self.plain) { "As the book has it" }
                    label.check {
                        input type="checkbox" name="anew" value="yes" checked[self.hands.word("anew").is_some()];
                        "Work the pump out again for the aim"
                    }
                }
                details open[more_set] {
                    summary { "What else may happen" }
                    @for control in more { (self.control(control)) }
                }
            }
        }
    }

    /// What the address asks beyond the controls: hose added at a tip.
    fn carried(&self) -> Markup {
        let known = |key: &str| self.controls.iter().any(|c| c.key == key);
        let rest = self.hands.rest().filter(|(key, _)| !known(key));
        html! {
            @for (key, value) in rest {
                @let id = format!("h-{}", key.replace([' ', ','], "-"));
                div.hand {
                    label for=(id) { (spoken(key)) }
                    div.step { input id=(id) name=(key) value=(value) aria-describedby=[self.message(key).map(|_| format!("{id}-w"))]
                        aria-invalid=[self.message(key).map(|_| "true")]; }
                    (self.told(key, &id))
                }
            }
        }
    }

    fn control(&self, control: &Control) -> Markup {
        let id = format!("h-{}", control.key.replace([' ', ','], "-"));
        let standing = control.standing(self.system);
        html! {
            div.hand {
                @match &control.stands {
                    Stands::At { kind, least, most, .. } => (self.amount(control, &id, *kind, (*least, *most), &standing)),
                    Stands::One { of, is } if of.len() <= 3 => (self.few(control, of, is)),
                    Stands::One { of, is } => {
                        label for=(id) { (control.label) }
                        @let chosen = self.hands.word(&control.key).unwrap_or(is);
                        select id=(id) name=(control.key) data-standing=(is) {
                            @for (value, label) in of { option value=(value) selected[value == chosen] { (label) } }
                        }
                    }
                }
                (self.told(&control.key, &id))
            }
        }
    }

    fn amount(
        &self,
        control: &Control,
        id: &str,
        kind: Kind,
        (least, most): (f64, f64),
        standing: &str,
    ) -> Markup {
        let unit = kind.unit(self.system);
        let value = self
            .hands
            .field(&control.key, kind)
            .unwrap_or_else(|| standing.into());
        let step = match (kind, self.system) {
            (Kind::Pressure, System::Us) => ("1", "5"),
            (Kind::Pressure, System::Si) => ("0.1", "0.5"),
            (Kind::Length, System::Us) => ("1", "10"),
            (Kind::Length, System::Si) => ("0.5", "3"),
            _ => ("1", "5"),
        };
        let end = |si: f64| unit.from_si(si).round().to_string();
        let wrong = self.message(&control.key);
        html! {
            label for=(id) { (control.label) ", " (unit.symbol) }
            div.step {
                button type="button" data-step=(format!("-{}", step.1)) data-for=(id) aria-label=(format!("{}: {} {} less", control.label, step.1, unit.symbol)) { "\u{2212}" (step.1) }
                input id=(id) name=(control.key) value=(value) inputmode="decimal" autocomplete="off" data-standing=(standing)
                    aria-invalid=[wrong.map(|_| "true")] aria-describedby=[wrong.map(|_| format!("{id}-w"))];
                button type="button" data-step=(step.1) data-for=(id) aria-label=(format!("{}: {} {} more", control.label, step.1, unit.symbol)) { "+" (step.1) }
            }
            input type="range" data-for=(id) min=(end(least)) max=(end(most)) step=(step.0) value=(value)
                aria-label=(format!("{}, {}", control.label, unit.symbol)) hidden;
        }
    }

    fn few(&self, control: &Control, of: &[(String, String)], is: &str) -> Markup {
        let chosen = self.hands.word(&control.key).unwrap_or(is);
        html! {
            fieldset.choices {
                legend { (control.label) }
                @for (value, label) in of {
                    label { input type="radio" name=(control.key) value=(value) data-standing=(is) checked[value == chosen]; (label) }
                }
            }
        }
    }

    fn message(&self, key: &str) -> Option<&str> {
        let wrong = self.wrong.iter().find(|wrong| wrong.key == key);
        wrong.map(|wrong| wrong.message.as_str())
    }

    fn told(&self, key: &str, id: &str) -> Markup {
        html! { @if let Some(message) = self.message(key) { p.wrong id=(format!("{id}-w")) { (message) } } }
    }
}

/// A key of the address as a label.
fn spoken(key: &str) -> String {
    match key.split_once(' ') {
        Some(("extend", place)) => format!("Hose added at {place}"),
        Some(("hose", place)) => format!("Another hose, {place}"),
        Some(("nozzle", place)) => format!("Another nozzle, {place}"),
        Some(("length", place)) => format!("Length of the hose, {place}"),
        Some((hand, place)) => format!("{hand}, {place}"),
        None => key.into(),
    }
}
