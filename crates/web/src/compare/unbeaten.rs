//! The table of the choices that no other beats in everything.

use super::asked::Question;
use super::figures::percent;
use super::on_line;
use crate::address;
use crate::tables::{capital, wide};
use crate::workbench::Opened;
use book::comparison::Comparison;
use hydraulics::units::{Kind, System, show};
use maud::{Markup, html};
use study::choose::{Choice, Chosen, OfLine, aim_name};
use study::figure::{many, thousands};

/// Rows that are shown at first.
const FIRST: usize = 12;

/// Each with what is on the lines, what it comes to, and the way to the lines' pages.
pub(super) fn table(
    question: &Question,
    comparison: &Comparison,
    chosen: &Chosen,
    system: System,
) -> Markup {
    let all = question.look.get("show") == "all";
    let rows = chosen
        .choices
        .iter()
        .take(if all { Chosen::SHOWN } else { FIRST });
    let drawn = chosen.choices.iter().any(|choice| choice.doubted.is_some());
    let body = html! {
        thead { tr {
            th.number scope="col" { "Rank" }
            th scope="col" { "Choice" }
            th scope="col" { "On the lines" }
            th.number scope="col" { "Pump pressure" }
            @for (aim, weight) in &chosen.aims {
                th.number scope="col" { (capital(aim_name(*aim))) @if *weight == 0.0 { " (does not count)" } }
            }
            th.number scope="col" { "Score of 100" }
            @if drawn { th.number scope="col" { "Holds on, % of days" } }
        } }
        tbody {
            @for (at, choice) in rows.enumerate() { (row(question, choice, (Some(at + 1), drawn), system)) }
            @if let Some(today) = &chosen.today { (row(question, today, (None, drawn), system)) }
        }
    };
    html! {
        div #unbeaten {
            h2 { "What no other beats in everything" }
            p {
                (thousands(chosen.unbeaten)) " of " (looked_at(comparison, chosen)) ", ranked by the weights. "
                (many(chosen.beaten)) " more pass no limit and are beaten in every aim by another."
            }
            (wide("Unbeaten choices", &body))
            @if !all && chosen.choices.len() > FIRST {
                p.no-print { a.button href=(address::and(question.at_with("", &question.looked_at()), "show", "all")) { "Show all " (chosen.choices.len()) } }
            }
            p.hint { "Each value is that of the worst line and case. A line's name leads to its own page with the same equipment and pump pressure, so that every number can be checked there." }
        }
    }
}

/// Of how many: where each line is equipped by itself, of all that the lines can have
/// together.
fn looked_at(comparison: &Comparison, chosen: &Chosen) -> String {
    let choices = thousands(chosen.size.choices);
    match comparison.each_line {
        true => format!("the choices for all lines together ({choices} ways for each of them)"),
        false => format!("{choices} choices"),
    }
}

fn row(
    question: &Question,
    choice: &Choice,
    (rank, drawn): (Option<usize>, bool),
    system: System,
) -> Markup {
    html! {
        tr {
            td.number { @match rank { Some(rank) => (rank), None => "\u{2013}" } }
            th scope="row" { @match rank { Some(_) => (choice.code), None => "Today" } }
            td.what { (on_lines(&question.opened, &choice.on, system)) }
            td.number { @match choice.pump_pressure { Some(pump) => (show(Kind::Pressure, pump, system)), None => "each its own" } }
            @for measured in &choice.measured {
                td.number title=(measured.at.line) { (measured.value.show(system)) @if rank.is_some() && measured.good >= 1.0 { " " abbr title="the best of all" { "\u{2605}" } } }
            }
            td.number { @if rank.is_some() { (format!("{:.0}", choice.score * 100.0)) } @else { "\u{2013}" } }
            @if drawn { td.number { @if let Some(doubted) = &choice.doubted { (percent(doubted.all_hold.0)) } @else { "not drawn" } } }
        }
    }
}

/// What is on the lines, said once where it is the same; each line leads to its page.
fn on_lines(opened: &Opened, on: &[OfLine], system: System) -> Markup {
    let said = |on: &OfLine| format!("{}, {}", on.hose, on.nozzle_called());
    let first = on.first().map(said);
    let alike = on.iter().all(|one| Some(said(one)) == first);
    html! {
        @if let (true, Some(words)) = (alike, &first) { div { (words) } }
        @for one in on {
            div.on-line {
                @match on_line::link(opened, one) {
                    Some(link) => a href=(link) { (one.line) },
                    None => (one.line),
                }
                @if !alike { ": " (said(one)) }
                ", " (show(Kind::Length, one.length, system))
            }
        }
    }
}
