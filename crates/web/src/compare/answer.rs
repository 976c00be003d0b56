//! What a comparison found: the answer in large figures first, then all that it rests on.

use super::asked::{self, Question};
use super::axes::Axes;
use super::drawn::Drawn;
use super::figures::{equipment, lines, sentences};
use super::keep;
use super::left_out;
use super::refused::form_of;
use super::shown::title_of;
use super::start::size_words;
use super::sure;
use super::unbeaten;
use super::weights::Weighed;
use crate::look;
use crate::reader::{Reader, word};
use crate::tables::{capital, wide};
use book::comparison::{self as file, Comparison};
use hydraulics::units::System;
use maud::{Markup, html};
use study::choose::{Choice, Chosen, Limit, aim_name};
use study::figure::{Figure, many, thousands};

/// A comparison with what it found, ranked by the weights of its page.
pub(super) struct Answer<'a> {
    question: &'a Question,
    weighed: &'a Weighed,
    chosen: &'a Chosen,
    axes: Axes,
    system: System,
}

impl<'a> Answer<'a> {
    /// `chosen` is ranked by the weights of the page.
    pub fn of(
        question: &'a Question,
        weighed: &'a Weighed,
        reader: &Reader,
        chosen: &'a Chosen,
    ) -> Self {
        Answer {
            question,
            weighed,
            chosen,
            axes: Axes::of(&question.look, chosen),
            system: reader.system(&question.opened.book),
        }
    }

    fn comparison(&self) -> &Comparison {
        self.weighed.now()
    }

    /// The page's whole content.
    pub fn whole(&self) -> Markup {
        html! {
            h1 { (title_of(self.question, Some(self.comparison()))) }
            (keep::state(self.question))
            @if let Some(note) = &self.comparison().note { p { (note) } }
            (self.answer())
            div.bench {
                (self.hands())
                (self.drawn())
            }
            (self.sure())
            (self.unbeaten())
            (self.left_out())
            h2 { "Notices" }
            (look::notices(&self.chosen.notices, self.system))
            p.hint { "Reaction is the trade's formula value. A choice is for planning: try it on a test day before the department buys, and follow the maker's instructions and local rules." }
            (self.take())
            (self.keep())
        }
    }

    /// The regions that follow weights and axes.
    pub fn fragment(&self) -> Markup {
        html! {
            (self.answer())
            (self.drawn())
            (self.sure())
            (self.unbeaten())
            (self.keep())
            @for (key, message) in &self.weighed.wrong { p data-wrong=(key) { (message) } }
        }
    }

    /// The choice that is put forward: the one that holds on enough days, else the first.
    fn put_forward(&self) -> Option<(usize, &Choice)> {
        let at = self.chosen.robust.unwrap_or(0);
        self.chosen.choices.get(at).map(|choice| (at, choice))
    }

    fn answer(&self) -> Markup {
        let Some((at, choice)) = self.put_forward() else {
            return html! { section #answer { p.caution { "No choice keeps all the limits." } } };
        };
        let summary = format!("Choice {} is put forward", choice.code);
        html! {
            section #answer aria-labelledby="answer-title" data-summary=(summary) {
                h2 id="answer-title" { "The answer: choice " (choice.code) }
                (equipment(choice, self.system))
                @if at > 0 {
                    p.caution { "By the weights alone it is number " (at + 1) ": those before it do not hold on enough days." }
                } @else if self.chosen.robust.is_none() && choice.doubted.is_some() {
                    p.caution { "No choice that was drawn for holds on enough days; this is the first by the weights." }
                }
                (lines(&self.question.opened, choice, self.system))
                div.two {
                    div { h3 { "Why" } (sentences(&choice.why, self.system)) }
                    div {
                        h3 { @if at == 0 { "What the next one lost on" } @else { "What it lost on against the one before it" } }
                        (sentences(&choice.against, self.system))
                    }
                }
                (self.today(choice))
                @if !choice.to_change.is_empty() {
                    details open {
                        summary { "What it takes, and what each change brings" }
                        (sentences(&choice.to_change, self.system))
                    }
                }
            }
        }
    }

    /// The choice beside what is carried today.
    fn today(&self, choice: &Choice) -> Markup {
        let Some(today) = &self.chosen.today else {
            return html! {};
        };
        let rows = html! {
            thead { tr { th scope="col" { "Aim" } th.number scope="col" { "Today" } th.number scope="col" { "Choice " (choice.code) } th.number scope="col" { "Changes by" } } }
            tbody {
                @for (was, now) in today.measured.iter().zip(&choice.measured) {
                    tr {
                        th scope="row" { (capital(aim_name(now.aim))) }
                        td.number { (was.value.show(self.system)) }
                        td.number { (now.value.show(self.system)) }
                        td.number { (now.value.less(&was.value).show_change(self.system)) }
                    }
                }
            }
        };
        html! {
            h3 { "Against what is carried today" }
            @if !today.past.is_empty() {
                p.caution { "What is carried today would be left out: " (self.past(&today.past)) "." }
            }
            (wide("Today and the answer", &rows))
        }
    }

    fn past(&self, past: &[(Limit, Figure, Figure)]) -> String {
        let said = past.iter().map(|(limit, has, may)| {
            let [has, may] = [has, may].map(|figure| figure.show(self.system));
            format!("{}, {has} where {may} is allowed", limit.name())
        });
        said.collect::<Vec<_>>().join("; ")
    }

    fn drawn(&self) -> Markup {
        Drawn {
            book: &self.question.opened.book,
            comparison: self.comparison(),
            chosen: self.chosen,
            axes: &self.axes,
            system: self.system,
        }
        .shown()
    }

    fn sure(&self) -> Markup {
        let book = &self.question.opened.book;
        match self.put_forward() {
            Some((_, choice)) => {
                let drawn = (choice, self.axes.doubt);
                sure::shown_for(book, self.comparison(), drawn, self.system)
            }
            None => html! { div #sure {} },
        }
    }

    fn unbeaten(&self) -> Markup {
        unbeaten::table(self.question, self.comparison(), self.chosen, self.system)
    }

    /// Weights and axes: a form whose state is the page's address.
    fn hands(&self) -> Markup {
        html! {
            form #looks.hands method="get" action=(asked::of(&self.question.opened.slug, "")) data-live="answer drawn sure unbeaten keep" aria-label="Weights and drawings" {
                @for (key, value) in self.question.pairs() { input type="hidden" name=(key) value=(value); }
                input type="hidden" name="start" value="yes";
                (self.weighed.fields())
                (self.axes.fields(self.chosen))
                div.actions {
                    button.first.no-script { "Show" }
                    a.button href=(self.question.at("")) { "As the comparison has it" }
                }
            }
        }
    }

    fn left_out(&self) -> Markup {
        html! {
            h2 { "What a limit left out" }
            @if self.chosen.excluded.is_empty() { p.quiet { "Nothing." } } @else {
                p { "A choice that passes several limits counts at each." }
                (left_out::table(&self.chosen.excluded, self.system))
            }
            p.quiet {
                "Tried: " (size_words(&self.chosen.size)) ". In the end " (thousands(self.chosen.unbeaten)) " unbeaten, " (many(self.chosen.beaten)) " beaten."
            }
        }
    }

    /// What can be taken along.
    fn take(&self) -> Markup {
        let looks = self.question.looked_at();
        let units = [("units", word(self.system).to_string())];
        let more: Vec<(&str, String)> = looks.into_iter().chain(units).collect();
        let to = |rest: &str| self.question.at_with(rest, &more);
        html! {
            h2 { "To take along" }
            p.actions.no-print {
                a.button href=(to("/report")) { "Proof of the report as PDF, not entered" }
                a.button href=(to("/tables/xlsx")) { "Tables, XLSX" }
                a.button href=(to("/tables/csv")) { "Tables, CSV" }
                a.button href=(to("/tables/parquet")) { "Choices by line, Parquet" }
                a.button href=(self.question.at("/download")) { "The comparison's file" }
            }
            p.actions.no-print {
                a.button href=(form_of(self.question)) { "Change the comparison" }
                a.button href=(self.question.at("/file")) { "See and edit its file" }
            }
        }
    }

    /// The form that keeps it, with the weights as they now stand.
    fn keep(&self) -> Markup {
        let moved = &self.weighed.moved;
        let text = file::write(self.comparison());
        html! {
            div #keep {
                h2 { "Keep it" }
                @match (moved, &self.question.kept) {
                    (None, Some(_)) => p.quiet { "Kept as it is. Move a weight or change it to keep another version." },
                    (Some(_), _) => (keep::keeps(self.question, &text, "Keep it with these weights")),
                    (None, None) => (keep::keeps(self.question, &text, "Keep it")),
                }
            }
        }
    }
}
