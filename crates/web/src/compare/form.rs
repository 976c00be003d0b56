//! The form that makes a comparison, or changes one.

use super::asked::{self, CHANGES, Question};
use super::fields::{COEFFICIENTS, boxes, comparison, sent, weight_key};
use super::weights::stepper;
use crate::fault::Fault;
use crate::fields::{Row, field, hoses, nozzles, plain};
use crate::form::{Pairs, Refused, Sent};
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::tables::capital;
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use book::comparison::{self as file, AimKind};
use hydraulics::units::{Kind, System};
use maud::{Markup, html};
use std::sync::Arc;
use study::choose::aim_name;

/// The form: empty, filled from the comparison that the address names, or as it was sent;
/// when all of it can be read it leads to what it asks.
pub(super) async fn asked(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(pairs): Query<Pairs>,
    reader: Reader,
) -> Result<Response, Fault> {
    let look = Sent(pairs.clone());
    if !look.get("do").is_empty() {
        let opened = workbench.open(&slug).await?;
        return Ok(read(&opened, &reader, &look));
    }
    if look.get("of").is_empty() && look.get("text").is_empty() {
        let opened = workbench.open(&slug).await?;
        let mut begun = begun(reader.system(&opened.book));
        let lines = look.0.into_iter().filter(|(key, _)| key == "line");
        begun.0.extend(lines);
        return Ok(shown(&opened, &reader, &begun, &Vec::new()).into_response());
    }
    let question = Question::open(&workbench, &slug, pairs).await?;
    let Ok(read) = question.read() else {
        // What is wrong with it is told where it can be mended.
        return Ok(Redirect::to(&question.at("/file")).into_response());
    };
    let mut filled = sent(&read, &question.opened.book);
    match &question.kept {
        Some(kept) => {
            let newest = kept.newest.to_string();
            filled.0.push(("changes".into(), kept.name.clone()));
            filled.0.push(("base".into(), newest));
        }
        None => filled
            .0
            .extend(CHANGES.map(|key| (key.to_string(), question.look.own(key)))),
    }
    Ok(shown(&question.opened, &reader, &filled, &Vec::new()).into_response())
}

fn read(opened: &Opened, reader: &Reader, sent: &Sent) -> Response {
    let system = reader.system(&opened.book);
    match comparison(sent, &opened.book, system) {
        Ok(read) => {
            let page = asked::by_text(&opened.slug, &file::write(&read));
            let page = CHANGES.iter().fold(page, |page, key| match sent.own(key) {
                value if value.is_empty() => page,
                value => crate::address::and(page, key, &value),
            });
            Redirect::to(&page).into_response()
        }
        Err(wrong) => {
            let page = shown(opened, reader, sent, &wrong);
            (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
        }
    }
}

/// What stands in a form that nobody has filled in yet.
fn begun(system: System) -> Sent {
    let pumps = match system {
        System::Us => ["100 psi", "175 psi", "5 psi"],
        System::Si => ["7 bar", "12 bar", "0.5 bar"],
    };
    let [from, to, step] = pumps;
    let fixed = [
        ("pump-from", from),
        ("pump-to", to),
        ("pump-step", step),
        ("coefficient", "best"),
        ("people", "2"),
        ("weight-flow", "3"),
        ("weight-reaction", "2"),
        ("weight-reach", "1"),
        ("draws", "2000"),
        ("days", "95 %"),
    ];
    let pairs = fixed.map(|(key, value)| (key.to_string(), value.to_string()));
    Sent(pairs.into())
}

fn shown(opened: &Opened, reader: &Reader, sent: &Sent, wrong: &Refused) -> Markup {
    let form = Form {
        opened,
        sent,
        wrong,
        system: reader.system(&opened.book),
    };
    let title = match sent.own("changes") {
        name if name.is_empty() => "New comparison".to_string(),
        name => format!("Change comparison {name}"),
    };
    let content = html! {
        h1 { (title) }
        p { "Say which lines, what may be chosen for them, what every choice must cope with, what none may pass, and what counts. Handline tries every choice that this allows." }
        @if !wrong.is_empty() { p.wrong role="alert" { "Something cannot be read; it stands beside its field." } }
        (form.shown())
    };
    page(&title, reader, &Place::of(opened, "Comparisons"), &content)
}

struct Form<'a> {
    opened: &'a Opened,
    sent: &'a Sent,
    wrong: &'a Refused,
    system: System,
}

impl Form<'_> {
    fn shown(&self) -> Markup {
        html! {
            form.form.item.compare data-steps method="get" action=(asked::all(&self.opened.slug, "/new")) {
                input type="hidden" name="do" value="compare";
                @for key in CHANGES.into_iter().chain(["answer-in"]) { @if !self.sent.get(key).is_empty() { input type="hidden" name=(key) value=(self.sent.get(key)); } }
                div.fields.columns {
                    (self.text("title", "What it is about"))
                    (self.text("note", "Note"))
                }
                (self.lines())
                (self.choices())
                (self.cases())
                (self.limits())
                (self.aims())
                (self.doubt())
                div.actions {
                    button.first { "Compare" }
                    a.button href=(asked::all(&self.opened.slug, "")) { "Leave it" }
                }
            }
        }
    }

    fn wrong(&self, key: &str) -> Option<&str> {
        let wrong = self.wrong.iter().find(|(wrong, _)| wrong == key);
        wrong.map(|(_, text)| text.as_str())
    }

    fn row(&self, row: &Row) -> Markup {
        field(&row.id(), row, &row.value, self.wrong(row.key), false)
    }

    fn text(&self, key: &'static str, label: &str) -> Markup {
        self.row(&Row::text(key, label, self.sent.get(key)))
    }

    fn measured(&self, key: &'static str, label: &str, kind: Kind) -> Markup {
        let value = self.sent.get(key);
        self.row(&Row::measured(key, label, kind, value, self.system))
    }

    /// A measured field with examples of its own, US and SI.
    fn like(&self, key: &'static str, label: &str, [us, si]: [&str; 2]) -> Markup {
        let example = match self.system {
            System::Us => us,
            System::Si => si,
        };
        self.text(key, &format!("{label} (such as {example})"))
    }

    fn check(&self, key: &'static str, label: &str) -> Markup {
        let value = self.sent.get(key);
        self.row(&Row::check(key, label, value))
    }

    fn boxes(&self, key: &str, of: &[(String, String)]) -> Markup {
        let ticked = self.sent.all(key);
        html! {
            div.ticks {
                @for (value, label) in of {
                    label.check { input type="checkbox" name=(key) value=(value) checked[ticked.contains(value)]; (label) }
                }
            }
        }
    }

    fn lines(&self) -> Markup {
        let book = &self.opened.book;
        let lines = book.line.iter().map(|(name, line)| {
            let label = line.title.as_deref().unwrap_or(name);
            (name.clone(), label.to_string())
        });
        let lines: Vec<(String, String)> = lines.collect();
        let wrong = self.wrong("line");
        html! {
            fieldset id="lines" aria-describedby=[wrong.map(|_| "line-w")] {
                legend { "Lines to equip" }
                (self.boxes("line", &lines))
                @if let Some(wrong) = wrong { p.wrong id="line-w" { (wrong) } }
                (self.check("each", "Each line may get a hose and nozzle of its own; one pump pressure serves all"))
            }
        }
    }

    /// Boxes of the department's own, and behind them of generic ones; a group with a tick
    /// in it is open.
    fn of_equipment(
        &self,
        key: &str,
        what: &str,
        [own, generic]: [Vec<(String, String)>; 2],
    ) -> Markup {
        let ticked = self.sent.all(key);
        let open = generic.iter().any(|(value, _)| ticked.contains(value));
        html! {
            @if own.is_empty() { p.hint { "The book has none of its own." } }
            (self.boxes(key, &own))
            details open[open] {
                summary { "Generic " (what) }
                (self.boxes(key, &generic))
            }
        }
    }

    fn choices(&self) -> Markup {
        let book = &self.opened.book;
        let settings = nozzles(book).map(|names| {
            let each = names.into_iter().flat_map(|(name, _)| boxes(book, &name));
            each.map(|value| (value.clone(), value)).collect::<Vec<_>>()
        });
        html! {
            fieldset {
                legend { "Hose, in place of each line's last" }
                p.hint { "With none ticked each line keeps its own." }
                (self.of_equipment("hose", "hose", hoses(book, "")))
                (self.measured("length", "Lengths to try, set apart by commas; empty: as it is", Kind::Length))
            }
            fieldset {
                legend { "Nozzles, at each setting" }
                p.hint { "With none ticked each line keeps its own." }
                (self.of_equipment("nozzle", "nozzles", settings))
            }
            fieldset {
                legend { "Pump pressures to try" }
                div.fields {
                    (self.like("pump-from", "From", ["100 psi", "7 bar"]))
                    (self.like("pump-to", "To", ["175 psi", "12 bar"]))
                    (self.like("pump-step", "By steps of", ["5 psi", "0.5 bar"]))
                }
                details open[!self.sent.get("pumps").is_empty()] {
                    summary { "Or one by one" }
                    (self.text("pumps", "Pressures, set apart by commas"))
                }
            }
        }
    }

    fn cases(&self) -> Markup {
        let words = COEFFICIENTS.map(|(word, label, _)| (word.to_string(), capital(label)));
        html! {
            fieldset {
                legend { "What every choice must cope with" }
                p.hint { "A choice is judged by the worst of these together." }
                div.fields.columns {
                    (self.like("low-pump", "Still of use at a pump pressure of", ["100 psi", "7 bar"]))
                    (self.measured("gated", "Shut-off open, when the line is gated", Kind::Share))
                    (self.like("rise", "Tip higher than in the book by; several set apart by commas", ["0 ft, 20 ft", "0 m, 6 m"]))
                }
                fieldset {
                    legend { "Friction of the hose may be" }
                    (self.boxes("coefficient", &words))
                }
            }
        }
    }

    fn limits(&self) -> Markup {
        let people = plain(&[
            ("", "No limit"),
            ("1", "1 person"),
            ("2", "2 people"),
            ("3", "3 people"),
        ]);
        html! {
            fieldset {
                legend { "What no choice may pass" }
                p.hint { "A field that is left empty sets no limit." }
                div.fields.columns {
                    (self.row(&Row::choice("people", "People on the nozzle, by the book's crew limits", self.sent.get("people"), people)))
                    (self.measured("most-reaction", "Reaction, at most", Kind::Force))
                    (self.measured("ceiling", "Pump ceiling", Kind::Pressure))
                    (self.measured("least-flow", "Flow, at least", Kind::Flow))
                    (self.like("least-tip", "Nozzle pressure, at least", ["50 psi", "3.5 bar"]))
                    (self.like("least-reach", "Effective reach, at least", ["45 ft", "14 m"]))
                    (self.measured("least-flow-low", "Flow at the low pump pressure, at least", Kind::Flow))
                    (self.like("least-tip-low", "Nozzle pressure there, at least", ["40 psi", "3 bar"]))
                    (self.like("most-weight", "Weight of the charged hose, at most", ["300 lb", "140 kg"]))
                    (self.measured("most-outlet", "Pressure at a standpipe's outlet, at most", Kind::Pressure))
                    (self.text("most-price", "Price of what is bought, at most, in the book's money"))
                    (self.text("most-kinds", "Kinds of hose and nozzle together, at most"))
                }
                (self.check("past-service", "Leave in hose that is pushed past its service pressure"))
            }
        }
    }

    fn aims(&self) -> Markup {
        html! {
            fieldset.weights {
                legend { "What is wanted, and how much it counts" }
                p.hint { "0 to 100. Empty: it is not looked at. 0: it is shown and does not count." }
                div.fields.columns {
                    @for aim in AimKind::ALL {
                        @let key = weight_key(aim);
                        div {
                            (stepper(&key, &wanted(aim), self.sent.get(&key), None, self.wrong(&key)))
                            @if aim == AimKind::Flow { (self.measured("near", "Close to this flow; empty: the more the better", Kind::Flow)) }
                        }
                    }
                }
            }
        }
    }

    fn doubt(&self) -> Markup {
        html! {
            fieldset {
                legend { "What is doubtful" }
                p.hint { "Beside what the book says of its hose and nozzles. Days are drawn with all of it moving at once; what is left empty is taken as exact." }
                div.fields.columns {
                    (self.text("draws", "Days to draw; 0 for none"))
                    (self.like("days", "A choice must hold on this share of the days", ["95 %", "95 %"]))
                    (self.like("pump-gauge", "Pump gauge off by, either way", ["5 psi", "0.3 bar"]))
                    (self.like("governor", "Governor holds within, either way", ["3 psi", "0.2 bar"]))
                    (self.like("hose-off", "Hose longer or shorter by", ["3 %", "3 %"]))
                    (self.text("seed", "Where the draws begin, a whole number"))
                }
                div.fields.columns {
                    (self.like("rise-from", "Tip higher, from", ["0 ft", "0 m"]))
                    (self.like("rise-to", "Tip higher, to", ["10 ft", "3 m"]))
                    (self.like("gate-from", "Shut-off open, from", ["90 %", "90 %"]))
                    (self.like("gate-to", "Shut-off open, to", ["100 %", "100 %"]))
                    (self.like("kink-chance", "Chance of a kink", ["10 %", "10 %"]))
                    (self.like("kink-closes", "A kink closes at most", ["30 %", "30 %"]))
                }
                (self.check("published", "Take every coefficient from the published spread, even where it was measured"))
            }
        }
    }
}

/// An aim with the way in which it is wanted.
pub(super) fn wanted(aim: AimKind) -> String {
    let name = aim_name(aim);
    match aim {
        AimKind::Flow | AimKind::FlowAtLowPump => capital(&format!("much {name}")),
        AimKind::Reach => capital(&format!("far {name}")),
        AimKind::SteadyWhenGated | AimKind::OnePumpPressure => capital(name),
        AimKind::Kinds => capital(&format!("few {name}")),
        _ => capital(&format!("low {name}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_wanted_is_said_with_its_direction() {
        assert_eq!(wanted(AimKind::Flow), "Much flow");
        assert_eq!(wanted(AimKind::Reaction), "Low reaction");
    }
}
