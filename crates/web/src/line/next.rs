//! What happens next: each with its numbers before it is chosen.

use super::hands::Hands;
use crate::address;
use crate::workbench::Opened;
use hydraulics::units::{Kind, Measure, Pressure, System, show};
use maud::{Markup, html};
use study::{Changed, Gain, Next, WhatIf};

/// The panel, and the addresses to which its choices lead.
pub(super) struct Panel<'a> {
    pub opened: &'a Opened,
    pub line: &'a str,
    pub hands: &'a Hands,
    /// The pump as it stands.
    pub pump: Pressure,
    pub system: System,
    pub next: &'a [Next],
}

/// Figures that are seen before more is asked for.
const FIRST: usize = 3;

impl Panel<'_> {
    pub fn show(&self) -> Markup {
        html! {
            section #next aria-labelledby="next-title" {
                h2 id="next-title" { "What next" }
                p.quiet { "What the crew would have after each of these, with the pump left where it is." }
                ul.cards.next { @for item in self.next { li { (self.card(item)) } } }
            }
        }
    }

    fn card(&self, item: &Next) -> Markup {
        html! {
            h3 { (item.title) }
            @if !item.place.is_empty() { p.place { (item.place) } }
            @if let Some(refused) = &item.refused { p.quiet { (refused) } }
            @let (first, more) = item.figures.split_at(item.figures.len().min(FIRST));
            (self.gains(first))
            @for notice in &item.notices {
                p.brief class=(notice.weight.word()) { strong { (crate::look::weight_word(notice.weight)) ": " } (notice.text) }
            }
            @if !more.is_empty() || !item.words.is_empty() {
                details {
                    summary { "More" span.unseen { " about: " (item.title) } }
                    (self.gains(more))
                    @for words in &item.words { p.hint { (words) } }
                }
            }
            @if let Some(href) = item.change.as_ref().and_then(|change| self.address(change)) {
                p.actions { a.button href=(href) { "Show this" span.unseen { ": " (item.title) } } }
            }
        }
    }

    fn gains(&self, gains: &[Gain]) -> Markup {
        html! {
            @if !gains.is_empty() {
                table.gains {
                    thead.unseen { tr { th scope="col" { "Figure" } th scope="col" { "Before" } th scope="col" { "After" } } }
                    tbody { @for gain in gains { (self.gain(gain)) } }
                }
            }
        }
    }

    fn gain(&self, gain: &Gain) -> Markup {
        html! {
            tr {
                th scope="row" { (gain.name) @if !gain.place.is_empty() { br; span.place { (gain.place) } } }
                td.number { @if let Some(before) = &gain.before { (before.show(self.system)) } }
                td.number { b { (gain.after.show(self.system)) } }
            }
        }
    }

    /// Where the page stands with the change made.
    fn address(&self, change: &Changed) -> Option<String> {
        let set = |key: String, value: String| {
            Some(self.hands.address(self.opened, self.line, &[(key, value)]))
        };
        let percent =
            |share: hydraulics::units::Ratio| format!("{} %", (share.si() * 100.0).round());
        match change {
            Changed::Line(WhatIf::Kink(path, share)) => {
                set(format!("kink {path}"), percent(*share))
            }
            Changed::Line(WhatIf::Screen(path, share)) => {
                set(format!("screen {path}"), percent(*share))
            }
            Changed::Line(WhatIf::PumpOff(by)) => {
                let pressure = Pressure::of_si((self.pump + *by).value.max(0.0));
                set("pump".into(), show(Kind::Pressure, pressure, self.system))
            }
            Changed::Line(_) => None,
            Changed::Added(path, added) => set(
                format!("extend {path}"),
                format!(
                    "{} of {}",
                    show(Kind::Length, added.length, self.system),
                    added.hose
                ),
            ),
            Changed::Second(line) => set("second".into(), line.clone()),
            Changed::Hydrants { scene, share } => Some(address::asked(
                address::scene(&self.opened.slug, scene),
                [("hydrants", percent(*share).as_str())],
            )),
        }
    }
}
