//! Pieces that several pages show.

use hydraulics::units::System;
use maud::{Markup, PreEscaped, html};
use picture::Drawing;
use study::notice::{Notice, Weight};

/// A drawing with its caption and its table. `id` is for addresses within the page.
pub(crate) fn drawing(id: &str, title: &str, drawing: &Drawing) -> Markup {
    html! {
        figure.drawing id=(id) {
            h3 { (title) }
            div.sheet tabindex="0" role="region" aria-label=(title) style=(format!("--least:{}px", drawing.least_width())) { (PreEscaped(&drawing.svg)) }
            figcaption { (drawing.caption) }
            details {
                summary { "The same as a table" }
                div.wide tabindex="0" role="region" aria-label=(format!("{title}, as a table")) {
                    table {
                        thead { tr { @for head in &drawing.table.head { th scope="col" { (head) } } } }
                        tbody {
                            @for row in &drawing.table.rows {
                                tr { @for cell in row { td { (cell) } } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Notices in words, the heaviest first, each with its numbers and what to do.
pub(crate) fn notices(notices: &[Notice], system: System) -> Markup {
    html! {
        @if notices.is_empty() {
            p.quiet { "No notices." }
        } @else {
            ul.notices {
                @for notice in notices {
                    li class=(notice.weight.word()) {
                        strong { (weight_word(notice.weight)) }
                        @if !notice.place.is_empty() { span.place { (notice.place) } }
                        p {
                            (notice.text)
                            @for (name, figure) in &notice.numbers {
                                span.number { (name) ": " b { (figure.show(system)) } }
                            }
                        }
                        @if !notice.mend.is_empty() { p.mend { (notice.mend) } }
                    }
                }
            }
        }
    }
}

/// The word before a notice.
pub(crate) fn weight_word(weight: Weight) -> &'static str {
    match weight {
        Weight::Limit => "Limit",
        Weight::Caution => "Caution",
        Weight::Remark => "Note",
    }
}

/// Everything wrong with a book's file, with line, column and mend.
pub(crate) fn problems(problems: &book::Problems) -> Markup {
    html! {
        section.problems aria-labelledby="problems" {
            h2 id="problems" { (problems.to_string()) }
            ol {
                @for problem in problems.list() {
                    li class=(problem.severity.word()) {
                        strong { "Line " (problem.line) ", column " (problem.column) ": " (problem.severity.word()) }
                        p { (problem.message) }
                        @if !problem.mend.is_empty() { p.mend { (problem.mend) } }
                    }
                }
            }
        }
    }
}
