//! A line's page: what the crew gets, the hands, the line drawn from pump to tip,
//! what happens next.

use super::controls::Control;
use super::crew::{crew, glance};
use super::hands::{Hands, Wrong};
use super::hands_form::Form;
use super::next::Panel;
use super::parts::{Editing, PartList};
use crate::look;
use crate::paper::{About, links};
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables::capital;
use crate::workbench::Opened;
use book::Layout;
use hydraulics::units::{Kind, Length, System, parse, show};
use maud::{Markup, html};
use study::answer::{CoefficientUsed, LineAnswer};
use study::{Next, figure};

/// Everything a line's page says.
pub(super) struct LinePage<'a> {
    pub opened: &'a Opened,
    pub reader: &'a Reader,
    pub system: System,
    pub hands: &'a Hands,
    pub controls: &'a [Control],
    pub wrong: &'a [Wrong],
    /// As the book has it.
    pub was: &'a LineAnswer,
    /// As the hands have it.
    pub now: &'a LineAnswer,
    pub layout: &'a Layout,
    pub next: &'a [Next],
    /// Distance and sill of the window to reach.
    pub window: Option<(Length, Length)>,
    pub editing: &'a Editing,
    /// What was done before, in words.
    pub told: &'a Markup,
    /// The line in the book.
    pub line: &'a book::Line,
}

impl LinePage<'_> {
    /// The page.
    pub fn whole(&self) -> Markup {
        let title = self.now.title.as_deref().unwrap_or(&self.now.line);
        let plain = crate::address::line(&self.opened.slug, &self.now.line);
        let form = Form {
            controls: self.controls,
            hands: self.hands,
            wrong: self.wrong,
            system: self.system,
            plain: &plain,
        };
        let content = html! {
            h1 { (title) @if let Some(rig) = &self.now.rig { " " span.place { "off " (rig) } } }
            (self.told)
            p.inline.no-print {
                a href="#parts" { "Change its parts" } " · " a href="#next" { "What next" } " · " a href="#streams" { "Why" } " · "
                a href=(crate::compare::for_line(&self.opened.slug, &self.now.line)) { "Compare other equipment" }
            }
            (links(self.opened, About::Line, &self.now.line))
            (glance(self.now, self.system))
            (crew(self.was, self.now, self.held(), self.system))
            div.bench {
                (form.show())
                (self.live())
            }
            (self.keep())
            (self.next())
            (self.parts())
            (self.streams())
            (self.window_form())
        };
        page(
            title,
            self.reader,
            &Place::of(self.opened, "Lines"),
            &content,
        )
    }

    /// Hose added to look at can be put into the book.
    fn keep(&self) -> Markup {
        let action = format!(
            "{}/edit",
            crate::address::line(&self.opened.slug, &self.now.line)
        );
        let added = self.hands.rest().filter_map(|(key, value)| {
            let place = key.strip_prefix("extend ")?;
            let (length, hose) = value.split_once(" of ")?;
            Some((place, length, hose))
        });
        html! {
            @for (place, length, hose) in added {
                form.keep method="post" action=(action) {
                    "Shown with " (length) " of " (hose) " added at " (place) "; the book has it without. "
                    input type="hidden" name="base" value=(self.opened.revision);
                    input type="hidden" name="place" value=(place);
                    input type="hidden" name="hose" value=(hose);
                    input type="hidden" name="length" value=(length);
                    button name="do" value="extend" { "Put it in the book" }
                }
            }
        }
    }

    /// The regions that change when a hand moves.
    pub fn fragment(&self) -> Markup {
        html! {
            (glance(self.now, self.system))
            (crew(self.was, self.now, self.held(), self.system))
            (self.live())
            (self.next())
            (self.streams())
            @for wrong in self.wrong { p data-wrong=(wrong.key) { (wrong.message) } }
        }
    }

    /// Does the pump stand where it stood, with something else moved?
    fn held(&self) -> bool {
        let same = self.now.pump_pressure == self.was.pump_pressure;
        same && self.now.basis == study::answer::Basis::Asked && self.hands.word("pump").is_none()
    }

    fn live(&self) -> Markup {
        let profile = picture::profile(self.layout, self.now, self.system);
        html! {
            div #live {
                h2 { "Notices" }
                (look::notices(&self.now.notices, self.system))
                h2 { "From pump to tip" }
                (look::drawing("profile", "Pressure along the line", &profile))
                (self.tables())
            }
        }
    }

    /// The line as it stands, to take away.
    fn tables(&self) -> Markup {
        let page = self.hands.address(self.opened, &self.now.line, &[]);
        crate::tables_out::links(&page, "this line", self.system)
    }

    fn next(&self) -> Markup {
        let panel = Panel {
            opened: self.opened,
            line: &self.now.line,
            hands: self.hands,
            pump: self.now.pump_pressure,
            system: self.system,
            next: self.next,
        };
        panel.show()
    }

    fn parts(&self) -> Markup {
        let parts = PartList {
            opened: self.opened,
            name: &self.now.line,
            line: self.line,
            system: self.system,
            editing: self.editing,
        };
        parts.show()
    }

    fn streams(&self) -> Markup {
        let operating = picture::operating(self.layout, self.now, self.system);
        html! {
            section #streams aria-labelledby="streams-title" {
                h2 id="streams-title" { "Why" }
                @if let Some(operating) = &operating {
                    (look::drawing("operating", "What the pump gives and what the line takes", operating))
                }
                @for (index, tip) in self.layout.tips.iter().enumerate() {
                    @if let Some((answer, stream)) = self.stream(index) {
                        @let window = self.window.map(|w| self.opening(w));
                        @let drawing = picture::stream(&answer.called(), &stream, window.as_ref(), self.system);
                        (look::drawing(&format!("stream-{index}"), &format!("Stream of {}", tip.name), &drawing))
                    }
                }
                (self.rests())
            }
        }
    }

    fn stream(
        &self,
        index: usize,
    ) -> Option<(&study::answer::TipAnswer, hydraulics::stream::Stream)> {
        let tip = self.layout.tips.get(index)?;
        let answer = self.now.tips.get(index)?;
        let flows = answer.flow.value > 0.0 && answer.attachment.is_none();
        flows.then(|| {
            (
                answer,
                study::stream_of(tip, answer.flow, answer.tip_pressure),
            )
        })
    }

    /// A window 5 ft or 1.5 m high.
    fn opening(&self, (distance, sill): (Length, Length)) -> picture::Window {
        let high = match self.system {
            System::Us => "5 ft",
            System::Si => "1.5 m",
        };
        picture::Window {
            distance,
            sill,
            head: sill + parse(Kind::Length, high).unwrap_or_default(),
        }
    }

    fn window_form(&self) -> Markup {
        let unit = Kind::Length.unit(self.system).symbol;
        let fields = [
            ("wall", "Wall of the building is away"),
            ("sill", "Window sill is above the ground"),
        ];
        html! {
            fieldset.fields.window {
                legend { "Does the stream reach the window?" }
                @for (key, label) in fields {
                    @let wrong = self.wrong.iter().find(|w| w.key == key);
                    div {
                        label for=(format!("h-{key}")) { (label) ", " (unit) }
                        input id=(format!("h-{key}")) name=(key) form="hands" inputmode="decimal" autocomplete="off"
                            value=[self.hands.field(key, Kind::Length)] aria-invalid=[wrong.map(|_| "true")]
                            aria-describedby=[wrong.map(|_| format!("h-{key}-w"))];
                        @if let Some(wrong) = wrong { p.wrong id=(format!("h-{key}-w")) { (wrong.message) } }
                    }
                }
                div.actions { button form="hands" { "Draw the window" } }
            }
        }
    }

    /// What the answer rests on, and what is left over in it.
    fn rests(&self) -> Markup {
        let residual = &self.now.residual;
        let (flow, pressure) = (
            figure::flow(residual.flow),
            figure::pressure(residual.pressure),
        );
        html! {
            details {
                summary { "What this rests on" }
                ul {
                    @for used in &self.now.coefficients { li { (self.coefficient(used)) } }
                    @for item in self.now.items.iter().filter(|item| item.both()) {
                        li { (capital(item.kind())) " " (item.name) ": " (item.text(self.system)) ", " (item.why()) " (" (item.source()) ")" }
                    }
                }
                @if let Some(spread) = &self.now.spread {
                    @let (low, high) = spread.pump_pressure;
                    p {
                        "Over the published spread of the coefficients the same flows ask for "
                        (show(Kind::Pressure, low, self.system)) " to " (show(Kind::Pressure, high, self.system))
                        " at the pump."
                    }
                }
                p.quiet {
                    "Flows and pressures agree to " (flow.exponent(self.system)) " and " (pressure.exponent(self.system)) ". "
                    @if !self.now.converged { strong { "The solution did not converge." } }
                }
                p.quiet { "Reaction is the trade's formula value; the force on a person was measured above it. Reach and throw are in still air." }
            }
        }
    }

    fn coefficient(&self, used: &CoefficientUsed) -> Markup {
        let source = &used.used.source;
        html! {
            (used.hose) ": " (used.used.text(self.system)) ", " (used.used.why)
            @if !source.is_empty() { " (" (source) ")" }
        }
    }
}
