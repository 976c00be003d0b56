//! Weights that are moved: part of the address, and followed at once.

use super::asked::Question;
use super::fields::{plain, weight_key};
use book::Stated;
use book::comparison::Comparison;
use hydraulics::units::{Kind, System};
use maud::{Markup, html};
use study::choose::aim_name;

/// The highest weight.
const MOST: f64 = 100.0;

/// A comparison with the weights that its page's address moves.
pub(super) struct Weighed {
    /// As it is asked or kept.
    pub own: Comparison,
    /// With the moved weights, where any is.
    pub moved: Option<Comparison>,
    /// What of the weights cannot be used, by field.
    pub wrong: Vec<(String, String)>,
}

impl Weighed {
    pub fn of(question: &Question, own: Comparison) -> Self {
        let mut wrong = Vec::new();
        let mut moved = own.clone();
        for (aim, wanted) in &mut moved.aims {
            let key = weight_key(*aim);
            let text = question.look.own(&key);
            match text.parse::<f64>() {
                _ if text.is_empty() => {}
                Ok(weight) if (0.0..=MOST).contains(&weight) => {
                    if (wanted.weight.get().value - weight).abs() > 1e-9
                        && let Ok(stated) = Stated::read(Kind::Share, &plain(weight), System::Us)
                    {
                        wanted.weight = stated;
                    }
                }
                _ => wrong.push((key, format!("\"{text}\" is no weight from 0 to {MOST}"))),
            }
        }
        let counts = |comparison: &Comparison| {
            let mut all = comparison.aims.values();
            all.any(|wanted| wanted.weight.get().value > 0.0)
        };
        if !counts(&moved) && counts(&own) {
            let key = own.aims.keys().next().map(|aim| weight_key(*aim));
            let text = "something has to count: give one of them more than 0";
            wrong.push((key.unwrap_or_default(), text.into()));
            moved = own.clone();
        }
        Weighed {
            moved: (moved != own).then_some(moved),
            own,
            wrong,
        }
    }

    /// As the page asks it.
    pub fn now(&self) -> &Comparison {
        self.moved.as_ref().unwrap_or(&self.own)
    }

    /// A stepper and a slide for each aim.
    pub fn fields(&self) -> Markup {
        html! {
            fieldset.weights {
                legend { "How much each thing counts" }
                p.hint { "0 to 100; at 0 it is shown and does not count. Only how they stand to each other matters." }
                @for (aim, wanted) in &self.now().aims {
                    @let key = weight_key(*aim);
                    @let wrong = self.wrong.iter().find(|(wrong, _)| *wrong == key);
                    @let stands = self.own.aims.get(aim).map_or(0.0, |wanted| wanted.weight.get().value);
                    @let weight = wanted.weight.get().value;
                    (stepper(&key, crate::tables::capital(aim_name(*aim)).as_str(), &plain(weight), Some(&plain(stands)), wrong.map(|(_, text)| text.as_str())))
                }
            }
        }
    }
}

/// A weight as a field with a step to either side and a slide.
pub(super) fn stepper(
    key: &str,
    label: &str,
    value: &str,
    standing: Option<&str>,
    wrong: Option<&str>,
) -> Markup {
    let id = format!("h-{key}");
    html! {
        div.hand {
            label for=(id) { (label) }
            div.step {
                button type="button" data-step="-1" data-for=(id) aria-label=(format!("{label}: 1 less")) { "\u{2212}1" }
                input id=(id) name=(key) value=(value) inputmode="decimal" autocomplete="off" data-standing=[standing]
                    aria-invalid=[wrong.map(|_| "true")] aria-describedby=[wrong.map(|_| format!("{id}-w"))];
                button type="button" data-step="1" data-for=(id) aria-label=(format!("{label}: 1 more")) { "+1" }
            }
            input type="range" data-for=(id) min="0" max="10" step="1" value=(if value.is_empty() { "0" } else { value }) aria-label=(format!("{label}, 0 to 10")) hidden;
            @if let Some(wrong) = wrong { p.wrong id=(format!("{id}-w")) { (wrong) } }
        }
    }
}
