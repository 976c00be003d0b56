//! What a test found, in figures, words and tables.

use super::day::Left;
use crate::look::{drawing, notices};
use crate::tables::{big, capital, wide};
use hydraulics::units::{System, decimal};
use maud::{Markup, html};
use study::proof::{Bound, Found, Proof, Seen, Suspect};
use study::reduce::{Budget, Kind as ContributionKind, Verdict};

/// The figures found, large, each with its interval and the book's value.
pub(super) fn figures(proof: &Proof, system: System) -> Markup {
    html! {
        @if proof.found.is_empty() {
            p.caution { "No result yet: the notices below say what is missing." }
        } @else {
            dl.figures {
                @for (at, found) in proof.found.iter().enumerate() {
                    div class=[(at == 0).then_some("lead")] {
                        dt { (capital(&found.name)) }
                        dd {
                            (big(&found.value.show(system)))
                            span { "between " (found.between[0].show(system)) " and " (found.between[1].show(system)) " (95 %)" }
                            (beside_book(found, system))
                        }
                    }
                }
            }
        }
    }
}

/// "Book: 15.5, published; the test says otherwise".
fn beside_book(found: &Found, system: System) -> Markup {
    html! {
        @match &found.book {
            None => span { "the book has no value" },
            Some(book) => span {
                "book: " (book.show(system))
                @if !found.book_is.is_empty() { ", " (found.book_is) }
                "; "
                @if found.told_apart { b { "the test tells them apart" } } @else { "the test does not tell them apart" }
            }
        }
    }
}

/// The verdict as word and shape.
pub(super) fn mark(verdict: Verdict) -> Markup {
    let class = format!("judged {}", verdict.word().replace(' ', "-"));
    html! { strong class=(class) { (capital(verdict.word())) } }
}

/// Each verdict with its limits, its source and what would settle it.
pub(super) fn verdicts(bounds: &[Bound], system: System) -> Markup {
    html! {
        @if !bounds.is_empty() {
            h2 { "Verdict" }
            ul.verdicts {
                @for bound in bounds {
                    li class=(bound.verdict.word().replace(' ', "-")) {
                        p { (mark(bound.verdict)) " " b { (capital(&bound.what)) } }
                        p {
                            "Measured " (bound.value[0].show(system)) ", between " (bound.value[1].show(system)) " and " (bound.value[2].show(system)) " (95 %)"
                            @if let Some(least) = bound.least { "; at least " (least.show(system)) }
                            @if let Some(most) = bound.most { "; at most " (most.show(system)) }
                            "."
                        }
                        @if let Some(settle) = &bound.settle { p.mend { (settle) } }
                        p.quiet { (bound.source) }
                    }
                }
            }
        }
    }
}

/// Gauges that do not agree with the others.
pub(super) fn suspects(all: &[Suspect], system: System) -> Markup {
    html! {
        @for suspect in all {
            div.stale role="note" {
                p {
                    strong {
                        @if suspect.gauges.len() == 1 { "Gauge " } @else { "One of the gauges " }
                        (suspect.gauges.join(", "))
                        " does not agree with the others"
                    }
                }
                p { "Off by " (suspect.off[0].show_change(system)) ", between " (suspect.off[1].show_change(system)) " and " (suspect.off[2].show_change(system)) " (95 %)." }
                p { (suspect.words) "." }
            }
        }
    }
}

/// What the uncertainty of each value is made of.
pub(super) fn budgets(proof: &Proof, system: System) -> Markup {
    html! {
        @if !proof.found.is_empty() {
            h2 class=[(proof.found.len() > 1).then_some("no-print")] { "What the uncertainty is made of" }
            @for found in &proof.found {
                @if !found.budget.contributions.is_empty() {
                    details open[proof.found.len() == 1] {
                        summary { (capital(&found.name)) ": standard uncertainty " (found.standard.show(system)) }
                        (wide(&format!("Uncertainty of {}", found.name), &budget(found, system)))
                        p.quiet {
                            @if found.degrees.is_finite() { "Effective degrees of freedom: " (decimal(found.degrees, 0)) ". " }
                            "Reckoned as in the Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008)."
                        }
                    }
                }
            }
        }
    }
}

fn budget(found: &Found, system: System) -> Markup {
    let whole = found.budget.standard();
    let percent = found.standard.number(system) / found.value.number(system).abs();
    let mut rows: Vec<_> = found.budget.contributions.iter().collect();
    rows.sort_by(|a, b| b.standard.abs().total_cmp(&a.standard.abs()));
    html! {
        thead { tr {
            th scope="col" { "It comes from" } th scope="col" { "Known from" }
            th.number scope="col" { "Alone, % of the value" } th.number scope="col" { "Share of the square" }
        } }
        tbody {
            @for one in rows {
                tr {
                    th scope="row" { (one.what) }
                    td { (known_from(one.kind)) }
                    td.number { (decimal(100.0 * percent * one.standard.abs() / whole, 2)) " %" }
                    td.number { (decimal(100.0 * share(&found.budget, one.standard), 0)) " %" }
                }
            }
        }
    }
}

fn known_from(kind: ContributionKind) -> &'static str {
    match kind {
        ContributionKind::A => "the scatter of the readings",
        ContributionKind::B => "what is known of the gauge",
    }
}

fn share(budget: &Budget, standard: f64) -> f64 {
    let whole = budget.standard();
    if whole > 0.0 {
        (standard / whole).powi(2)
    } else {
        0.0
    }
}

/// The points with what the fit makes of each. `left` has those that are left out by
/// choice; where it is to be changed, each has a box and its reason.
pub(super) fn points(proof: &Proof, left: Option<&Left>, system: System) -> Markup {
    let mut places: Vec<&'static str> = Vec::new();
    for point in &proof.points {
        for (place, _) in &point.read {
            if !places.contains(place) {
                places.push(place);
            }
        }
    }
    let has_fit = proof
        .points
        .iter()
        .any(|point| point.studentised.is_finite());
    let says =
        |point: &Seen| point.left_out.is_some() || point.stands_out || !point.remark.is_empty();
    let has_words = proof.points.iter().any(says);
    let rows = html! {
        thead { tr {
            th scope="col" { "Point" }
            @for place in &places { th.number scope="col" { (capital(place)) } }
            @if has_fit { th.number scope="col" { "Measured less expected" } th.number scope="col" { "In standard deviations" } }
            @if has_words { th scope="col" { "What is said of it" } }
            @if left.is_some() { th.no-print scope="col" { "Leave out" } }
        } }
        tbody {
            @for point in &proof.points {
                tr class=[class(point)] {
                    th.set scope="row" { (point.point) @if !point.time.is_empty() { " " span.place { (point.time) } } }
                    @for place in &places {
                        td.number { @if let Some((_, figure)) = point.read.iter().find(|(p, _)| p == place) { (figure.show(system)) } }
                    }
                    @if has_fit {
                        td.number { @if point.studentised.is_finite() { (point.residual.show_change(system)) } }
                        td.number { @if point.studentised.is_finite() { (decimal(point.studentised, 1)) } }
                    }
                    @if has_words { td { (said(point)) } }
                    @if let Some(left) = left { td.no-print { (leave(point, left)) } }
                }
            }
        }
    };
    wide("The points of the test", &rows)
}

fn class(point: &Seen) -> Option<&'static str> {
    match (&point.left_out, point.stands_out) {
        (Some(_), _) => Some("left-out"),
        (None, true) => Some("stands-out"),
        (None, false) => None,
    }
}

fn said(point: &Seen) -> Markup {
    html! {
        @if let Some(why) = &point.left_out { b { "Left out: " } (why) ". " }
        @if point.stands_out { b.out { "Stands out" } ". " }
        (point.remark)
    }
}

fn leave(point: &Seen, left: &Left) -> Markup {
    let (number, why) = (point.point, left.why(point.point));
    html! {
        div.leave {
            label.check { input type="checkbox" name="leave" value=(number) checked[why.is_some()]; span.unseen { "Leave out point " (number) } }
            label.unseen for=(format!("why-{number}")) { "Why point " (number) " is left out" }
            input.why id=(format!("why-{number}")) name=(format!("why-{number}")) value=(why.unwrap_or("")) placeholder="why" autocomplete="off";
        }
    }
}

/// How the fit went, in words.
pub(super) fn fit(proof: &Proof) -> Markup {
    let chance = |value: f64| match 100.0 * value {
        percent if percent < 0.1 => "less than 0.1 %".to_string(),
        percent => format!("{} %", decimal(percent, 1)),
    };
    html! {
        @if !proof.law.is_empty() { p { b { "Law. " } (proof.law) } }
        @if let Some(value) = proof.scatter_chance { p { "Sound gauges alone scatter so much in " (chance(value)) " of such tests." } }
        @if let Some(value) = proof.lack_of_fit { p { "The repeats alone depart so far from the law in " (chance(value)) " of such tests." } }
        @if !proof.stopped.is_empty() { p.quiet { "The fit " (proof.stopped) "." } }
    }
}

/// All that a test says, from the figures down.
pub(super) fn whole(
    proof: &Proof,
    left: &Left,
    system: System,
    points_form: impl Fn(Markup) -> Markup,
) -> Markup {
    html! {
        (figures(proof, system))
        (verdicts(&proof.bounds, system))
        h2 { "Notices" }
        (notices(&proof.notices, system))
        @if let Some(drawn) = &proof.drawn { (drawing("fit", "Readings and fit", &picture::fit(drawn, system))) }
        h2 { "The points" }
        (points_form(points(proof, Some(left), system)))
        (budgets(proof, system))
        h2 { "How it was reckoned" }
        (fit(proof))
        @if !proof.facts.is_empty() { (crate::tables::block("More about the test", &proof.facts, system)) }
    }
}
