//! A scene before and after the hands moved.

use super::answer::total;
use crate::tables::wide;
use hydraulics::units::System;
use maud::{Markup, html};
use study::figure::{self, Figure};
use study::{SceneAnswer, SceneCompared};

/// One figure of a scene: what it is, and of what.
type Row = (String, Figure);

pub(super) fn table(compared: &SceneCompared, system: System) -> Markup {
    let both = rows(&compared.before)
        .into_iter()
        .zip(rows(&compared.after));
    let changed =
        |(before, after): &(Row, Row)| after.1.less(&before.1).show_change(system) != "none";
    let (rows, same): (Vec<_>, Vec<_>) = both.partition(changed);
    let rows_left = !rows.is_empty();
    let table = html! {
        thead { tr {
            @for head in ["", "As worked out", "As moved", "Change"] {
                @if head.is_empty() { td {} } @else { th scope="col" { (head) } }
            }
        } }
        tbody {
            @for ((name, before), (_, after)) in &rows {
                tr {
                    th scope="row" { (name) }
                    td.number { (before.show(system)) }
                    td.number { b { (after.show(system)) } }
                    td.number { (after.less(before).show_change(system)) }
                }
            }
        }
    };
    let same = same.len();
    html! {
        h2 { "Before and after" }
        @if rows_left { (wide("Before and after", &table)) } @else { p { "Nothing changes that can be seen in these figures." } }
        @if same > 0 { p.quiet { (same) " other figures stay as they were." } }
    }
}

fn rows(answer: &SceneAnswer) -> Vec<Row> {
    let mut rows = vec![("All tips together".to_string(), figure::flow(total(answer)))];
    for rig in &answer.rigs {
        rows.push((
            format!("Pump pressure, {}", rig.name),
            figure::pressure(rig.discharge),
        ));
        rows.push((
            format!("Intake, {}", rig.name),
            figure::pressure(rig.intake),
        ));
    }
    for tip in &answer.tips {
        let place = format!("{}, {}", tip.line, tip.place);
        rows.push((format!("Flow, {place}"), figure::flow(tip.flow)));
        rows.push((
            format!("Tip pressure, {place}"),
            figure::pressure(tip.tip_pressure),
        ));
        rows.push((format!("Reaction, {place}"), figure::force(tip.reaction)));
    }
    rows
}
