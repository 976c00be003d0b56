//! A test day begun: what is to be tested, with which gauges, how surely it is wanted;
//! then what to read, and the sheets.

use super::plan;
use crate::address;
use crate::fault::Fault;
use crate::fields::{Groups, Row, field, plain};
use crate::form::{Filled, Pairs, Sent};
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::when::day;
use crate::workbench::{Opened, Workbench, now};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use book::{Book, NozzleKind, Part};
use jiff::civil::Date;
use maud::{Markup, html};
use records::By;
use std::sync::Arc;
use study::proof::{Find, Subject, Test};

/// Tests at one go: more are a mistake.
const MOST: usize = 40;

pub(super) async fn asked(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    Query(pairs): Query<Pairs>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let sent = Sent(
        pairs
            .into_iter()
            .filter(|(key, _)| key != "units")
            .collect(),
    );
    Ok(shown(
        &opened,
        &reader,
        &Wanted::of(&opened.book, &sent),
        None,
    ))
}

pub(super) async fn begun(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
    Filled(pairs): Filled<Pairs>,
) -> Result<Response, Fault> {
    let sent = Sent(pairs);
    let opened = workbench.open(&slug).await?;
    let wanted = Wanted::of(&opened.book, &sent);
    if let Some(wrong) = wanted.wrong() {
        let page = shown(&opened, &reader, &wanted, Some(&wrong));
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    }
    let by = By::new(&reader.name, now());
    let mut ids = Vec::new();
    for subject in &wanted.subjects {
        let test = Test {
            subject: subject.clone(),
            date: wanted.date.clone(),
            pitot_tip: wanted.pitot_for(subject),
            readings: Vec::new(),
        };
        let title = plan::title(subject);
        let new = records::proof::begun(&test, &title);
        ids.push(workbench.records.begin_test(&slug, &new, &by).await?);
    }
    let page = match ids.as_slice() {
        [one] => address::test(&slug, *one, "?told=begun"),
        _ => address::book(&slug, &format!("/tests/day/{}", wanted.date)),
    };
    Ok(Redirect::to(&page).into_response())
}

/// What the form asks for.
pub(super) struct Wanted {
    pub subjects: Vec<Subject>,
    /// The gauges at hand, by their names in the book.
    pub gauges: Vec<String>,
    /// The solid tip for pitot readings; none: flow is read from a meter.
    pub pitot: Option<String>,
    /// Half the width of the interval wanted, in per cent of the value, as typed.
    pub within: String,
    pub date: String,
    /// As it was chosen.
    sent: Sent,
}

impl Wanted {
    pub fn of(book: &Book, sent: &Sent) -> Self {
        let find = match sent.get("find") {
            "exponent" => Find::Exponent,
            "roughness" => Find::Roughness,
            _ => Find::C,
        };
        let mut subjects: Vec<Subject> = Vec::new();
        let chosen = sent.all("test").into_iter().filter_map(|word| {
            let (kind, about) = word.split_once('/')?;
            Subject::called(kind, about)
        });
        let lines = sent.all("line").into_iter();
        for subject in chosen.chain(lines.flat_map(|line| of_line(book, &line))) {
            let subject = match subject {
                Subject::Hose { hose, .. } => Subject::Hose { hose, find },
                other => other,
            };
            if !subjects.contains(&subject) {
                subjects.push(subject);
            }
        }
        let is_asked = !sent.0.is_empty();
        let gauges = match is_asked {
            true => sent.all("gauge"),
            false => book.gauge.keys().cloned().collect(),
        };
        let own = |key: &str, usual: &str| match sent.own(key).as_str() {
            "" => usual.to_string(),
            text => text.to_string(),
        };
        Wanted {
            subjects,
            gauges,
            pitot: Some(sent.own("pitot")).filter(|tip| !tip.is_empty()),
            within: own("within", "5"),
            date: own("date", &day(now())),
            sent: sent.clone(),
        }
    }

    /// The address of `page` with the same wishes.
    fn at(&self, page: String) -> String {
        let pairs = self.sent.0.iter();
        address::asked(
            page,
            pairs.map(|(key, value)| (key.as_str(), value.as_str())),
        )
    }

    /// Half the width of the interval wanted, as a share of the value.
    pub fn share(&self) -> Option<f64> {
        let text = self.within.trim().trim_end_matches('%').trim();
        let percent: f64 = text.parse().ok()?;
        (0.1..=50.0).contains(&percent).then_some(percent / 100.0)
    }

    /// The pitot's tip, where it is not the subject itself.
    pub fn pitot_for(&self, subject: &Subject) -> Option<String> {
        let tip = self.pitot.clone()?;
        let is_it = matches!(subject, Subject::Nozzle { nozzle, .. } if *nozzle == tip);
        let is_service = matches!(subject, Subject::Service { .. });
        (!is_it && !is_service).then_some(tip)
    }

    pub fn wrong(&self) -> Option<String> {
        if self.subjects.is_empty() {
            return Some("Choose what is to be tested.".into());
        }
        if self.subjects.len() > MOST {
            let count = self.subjects.len();
            return Some(format!("{count} tests at one go; choose at most {MOST}."));
        }
        if self.date.parse::<Date>().is_err() {
            return Some(format!(
                "\"{}\" is no day: write it as 2026-05-11.",
                self.date
            ));
        }
        if self.share().is_none() {
            return Some(format!(
                "\"{}\" is no share from 0.1 to 50 per cent: write 5.",
                self.within
            ));
        }
        None
    }

    /// Has something been asked?
    fn is_asked(&self) -> bool {
        !self.sent.0.is_empty()
    }
}

/// The hoses and nozzles of a line.
fn of_line(book: &Book, line: &str) -> Vec<Subject> {
    let mut subjects = Vec::new();
    if let Some(line) = book.line.get(line) {
        gather(&line.parts, &mut subjects);
    }
    subjects
}

fn gather(parts: &[Part], subjects: &mut Vec<Subject>) {
    for part in parts {
        match part {
            Part::Hose(part) => subjects.push(Subject::Hose {
                hose: part.hose.clone(),
                find: Find::C,
            }),
            Part::Nozzle(part) => subjects.push(Subject::Nozzle {
                nozzle: part.nozzle.clone(),
                setting: part.setting.clone(),
            }),
            Part::Appliance(_) => {}
            Part::Branches(rows) | Part::Legs(rows) => {
                rows.iter().for_each(|parts| gather(parts, subjects));
            }
        }
    }
}

/// A subject as the form sends it.
fn word(subject: &Subject) -> String {
    let (kind, about) = subject.words();
    format!("{kind}/{about}")
}

/// What can be tested: groups of subjects with their labels.
fn choices(book: &Book) -> Vec<(&'static str, Vec<(Subject, String)>)> {
    let hoses = book.hose.keys().map(|hose| {
        let find = Find::C;
        let subject = Subject::Hose {
            hose: hose.clone(),
            find,
        };
        (subject, hose.clone())
    });
    let nozzles = book.nozzle.iter().flat_map(|(name, item)| {
        let settings: Vec<&String> = match &item.kind {
            NozzleKind::Selectable { flows, .. } => flows.keys().collect(),
            NozzleKind::Automatic { settings, .. } => settings.keys().collect(),
            NozzleKind::SmoothBore { .. } | NozzleKind::Fixed { .. } => Vec::new(),
        };
        let one = |setting: Option<&String>| {
            let label = match setting {
                Some(setting) => format!("{name}, {setting}"),
                None => name.clone(),
            };
            let nozzle = name.clone();
            let setting = setting.cloned();
            (Subject::Nozzle { nozzle, setting }, label)
        };
        match settings.is_empty() {
            true => vec![one(None)],
            false => settings.into_iter().map(|s| one(Some(s))).collect(),
        }
    });
    let rigs = book
        .rig
        .keys()
        .map(|rig| (Subject::Pump { rig: rig.clone() }, rig.clone()));
    let hydrants = book.hydrant.keys().map(|name| {
        let hydrant = name.clone();
        (Subject::Hydrant { hydrant }, name.clone())
    });
    let service = book
        .hose
        .keys()
        .map(|hose| (Subject::Service { hose: hose.clone() }, hose.clone()));
    vec![
        ("Hose: friction", hoses.collect()),
        ("Nozzles", nozzles.collect()),
        ("Pumps", rigs.collect()),
        ("Hydrants", hydrants.collect()),
        ("Hose: service test", service.collect()),
    ]
}

/// The department's solid tips, on which a pitot can be read.
fn tips(book: &Book) -> Groups {
    let meter = (String::new(), "A flow meter".to_string());
    let own = book
        .nozzle
        .iter()
        .filter(|(_, item)| matches!(item.kind, NozzleKind::SmoothBore { .. }));
    let own = own.map(|(name, _)| (name.clone(), format!("A pitot on {name}")));
    vec![("", vec![meter]), ("A pitot on a solid tip", own.collect())]
}

fn shown(opened: &Opened, reader: &Reader, wanted: &Wanted, wrong: Option<&str>) -> Markup {
    let content = html! {
        h1 { "Plan a test day" }
        @if let Some(wrong) = wrong { p.wrong role="alert" { (wrong) " Nothing was begun." } }
        (form(opened, wanted))
        @if wanted.is_asked() {
            @match (wrong.map(String::from).or_else(|| wanted.wrong()), wrong) {
                (Some(_), Some(_)) => {},
                (Some(words), None) => p.wrong role="status" { (words) },
                (None, _) => {
                    (plan::shown(opened, reader, wanted))
                    p.actions.no-print { a.button href=(wanted.at(address::book(&opened.slug, "/tests/plan"))) { "Plan sheet, PDF" } }
                    (go(opened, wanted))
                }
            }
        }
    };
    page(
        "Plan a test day",
        reader,
        &Place::of(opened, "Tests"),
        &content,
    )
}

fn form(opened: &Opened, wanted: &Wanted) -> Markup {
    let book = &opened.book;
    let finds = plain(&[
        ("c", "The coefficient C"),
        ("exponent", "C and the exponent of flow"),
        ("roughness", "Roughness, from a measured bore"),
    ]);
    let sent = &wanted.sent;
    let show = |row: Row| field(&row.id(), &row, &row.value, None, false);
    let lines: Vec<String> = sent.all("line");
    html! {
        form.form.choose-tests method="get" action=(address::book(&opened.slug, "/tests/new")) {
            h2 { "What is to be tested" }
            @if !book.line.is_empty() {
                fieldset {
                    legend { "The hose and nozzles of a line" }
                    div.ticks {
                        @for (name, line) in &book.line {
                            label.check { input type="checkbox" name="line" value=(name) checked[lines.contains(name)]; (line.title.as_deref().unwrap_or(name)) }
                        }
                    }
                }
            }
            @for (legend, subjects) in choices(book) {
                @if !subjects.is_empty() {
                    fieldset {
                        legend { (legend) }
                        div.ticks {
                            @for (subject, label) in &subjects {
                                label.check { input type="checkbox" name="test" value=(word(subject)) checked[is_chosen(wanted, subject)]; (label) }
                            }
                        }
                    }
                }
            }
            h2 { "With what" }
            @if book.gauge.is_empty() {
                p.caution { "The book has no gauges yet. Without them nobody can say how sure a result is. "
                    a href=(address::book(&opened.slug, "/new/gauge")) { "Enter a gauge" } }
            } @else {
                fieldset {
                    legend { "Gauges and meters at hand" }
                    div.ticks {
                        @for name in book.gauge.keys() {
                            label.check { input type="checkbox" name="gauge" value=(name) checked[wanted.gauges.contains(name)]; (name) }
                        }
                    }
                }
            }
            div.fields {
                (show(Row::choice("pitot", "Flow is read from", wanted.pitot.as_deref().unwrap_or(""), tips(book))))
                (show(Row::choice("find", "Of a hose is wanted", sent.get("find"), finds)))
                (show(Row::text("within", "Wanted: known to within, % of the value", &wanted.within)))
                (show(Row::date("date", "Day", &wanted.date)))
            }
            div.actions { button.first { "Show the plan" } a.button href=(address::book(&opened.slug, "/tests")) { "Leave it" } }
        }
    }
}

fn is_chosen(wanted: &Wanted, subject: &Subject) -> bool {
    let same = |other: &Subject| match (other, subject) {
        (Subject::Hose { hose: a, .. }, Subject::Hose { hose: b, .. }) => a == b,
        (a, b) => a == b,
    };
    wanted.subjects.iter().any(same)
}

/// The sheets, begun with what was chosen.
fn go(opened: &Opened, wanted: &Wanted) -> Markup {
    let carried = wanted.sent.0.iter().filter(|(key, _)| key != "date");
    html! {
        form method="post" action=(address::book(&opened.slug, "/tests/new")) {
            @for (key, value) in carried { input type="hidden" name=(key) value=(value); }
            input type="hidden" name="date" value=(wanted.date);
            div.actions {
                button.first { @if wanted.subjects.len() == 1 { "Begin the sheet" } @else { "Begin the " (wanted.subjects.len()) " sheets" } }
            }
        }
    }
}
