//! How sure the answer is: the days drawn, whose doubt it is, what would lessen it.

use super::drawn::titled;
use super::figures::percent;
use crate::look;
use crate::tables::{capital, wide};
use book::Book;
use book::comparison::{AimKind, Comparison};
use hydraulics::units::System;
use maud::{Markup, html};
use picture::{days, whose_doubt};
use study::choose::{Choice, bounds};
use study::doubt::Doubted;

/// Of one choice; says so where nothing was drawn.
pub(super) fn shown_for(
    book: &Book,
    comparison: &Comparison,
    (choice, drawn): (&Choice, Option<AimKind>),
    system: System,
) -> Markup {
    let Some(doubted) = &choice.doubted else {
        return html! {
            div #sure {
                h2 { "How sure that is" }
                p.quiet { "No days were drawn for choice " (choice.code) ". The first of the ranking are drawn for, and only where days to draw are asked." }
            }
        };
    };
    let bounds = bounds(book, comparison);
    html! {
        div #sure {
            h2 { "How sure that is" }
            @for words in &doubted.words { p { (words) } }
            (holds(doubted))
            @if let Some(aim) = drawn {
                div.two {
                    (look::drawing("doubt", &format!("Whose doubt it is: {}", titled(aim)), &whose_doubt(doubted, aim, system)))
                    @if let Some(drawing) = days(doubted, aim, &bounds, system) {
                        (look::drawing("days", &format!("Over the days: {}", titled(aim)), &drawing))
                    }
                }
            }
            @if !doubted.notices.is_empty() { (look::notices(&doubted.notices, system)) }
            (unsure(doubted))
            (over_days(doubted, system))
        }
    }
}

fn holds(doubted: &Doubted) -> Markup {
    let rows = html! {
        thead { tr { th scope="col" { "Limit" } th.number scope="col" { "Holds on, % of days" } th.number scope="col" { "Give or take" } } }
        tbody {
            @for (limit, share, half) in &doubted.holds {
                tr { th scope="row" { (capital(limit.name())) } td.number { (percent(*share)) } td.number { (percent(*half)) } }
            }
        }
    };
    html! { @if !doubted.holds.is_empty() { (wide("On how many days each limit holds", &rows)) } }
}

/// What was taken as doubtful, with its source.
fn unsure(doubted: &Doubted) -> Markup {
    let rows = html! {
        thead { tr { th scope="col" { "What" } th scope="col" { "From where" } th scope="col" { "What would lessen it" } } }
        tbody { @for one in &doubted.unsure { tr { th scope="row" { (one.name) } td { (one.source) } td { (one.mend) } } } }
    };
    html! {
        h3 { "What was taken as doubtful" }
        @if doubted.unsure.is_empty() { p.quiet { "Nothing." } } @else { (wide("What was taken as doubtful", &rows)) }
        p.quiet { "Days drawn from " (doubted.seed) "; the same question gives the same days." @if doubted.unsolved > 0 { " On " (doubted.unsolved) " of them there was no physical answer; they count as missed." } }
    }
}

fn over_days(doubted: &Doubted, system: System) -> Markup {
    let rows = html! {
        thead { tr { th scope="col" { "Over the days" } th.number scope="col" { "5 % stay below" } th.number scope="col" { "Half" } th.number scope="col" { "95 % stay below" } th.number scope="col" { "Mean" } } }
        tbody {
            @for held in &doubted.over_days {
                tr {
                    th scope="row" { (titled(held.aim)) }
                    @for quantile in &held.quantiles { td.number { (quantile.show(system)) } }
                    td.number { (held.mean.show(system)) }
                }
            }
        }
    };
    html! { @if !doubted.over_days.is_empty() { (wide("Values over the days", &rows)) } }
}
