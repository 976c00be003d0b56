//! The sheet of a test on a tablet: one point at a time, large steps, what was read
//! before as the value to start from.

use super::gauge::{fitting, steps, words};
use super::reading::{Refused, said, token};
use super::sheet::{POINTS, Sheet};
use crate::address;
use crate::books::your_name;
use crate::fault::Fault;
use crate::form::Sent;
use crate::reader::{Reader, word};
use crate::shell::{Place as At, page};
use crate::tables::{capital, wide};
use crate::when::{clock, plain_day};
use crate::workbench::{Workbench, now};
use axum::extract::{Path, Query, State};
use book::GaugeItem;
use hydraulics::units::{Kind, System, decimal};
use maud::{Markup, html};
use records::{Reading, Stage};
use serde::Deserialize;
use std::sync::Arc;
use study::proof::Place;

#[derive(Deserialize, Default)]
pub(super) struct Asked {
    point: Option<u32>,
    told: Option<String>,
    fragment: Option<String>,
}

pub(super) async fn shown(
    State(workbench): State<Arc<Workbench>>,
    Path((slug, id)): Path<(String, i64)>,
    Query(asked): Query<Asked>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let sheet = Sheet::open(&workbench, &slug, id).await?;
    let point = asked
        .point
        .unwrap_or_else(|| sheet.next().min(sheet.points()));
    let shown = Shown {
        system: reader.system(&sheet.opened.book),
        point: point.clamp(1, POINTS),
        told: asked.told.as_deref(),
        typed: None,
        sheet: &sheet,
        reader: &reader,
    };
    match asked.fragment {
        Some(_) => shown.content(),
        None => shown.page(),
    }
}

/// The sheet with a reading that was not entered, and why.
pub(super) fn refused(
    sheet: &Sheet,
    reader: &Reader,
    sent: &Sent,
    why: &Refused,
) -> Result<Markup, Fault> {
    let point: u32 = sent.get("point").parse().unwrap_or(1);
    let shown = Shown {
        system: reader.system(&sheet.opened.book),
        point: point.clamp(1, POINTS),
        told: None,
        typed: Some((sent, why)),
        sheet,
        reader,
    };
    shown.page()
}

struct Shown<'a> {
    sheet: &'a Sheet,
    reader: &'a Reader,
    system: System,
    point: u32,
    told: Option<&'a str>,
    /// What was typed and not entered, and why.
    typed: Option<(&'a Sent, &'a Refused)>,
}

impl Shown<'_> {
    fn page(&self) -> Result<Markup, Fault> {
        let place = At::of(&self.sheet.opened, "Tests");
        let title = format!("Point {}: {}", self.point, self.sheet.title());
        Ok(page(&title, self.reader, &place, &self.content()?))
    }

    fn at(&self, rest: &str) -> String {
        address::test(&self.sheet.opened.slug, self.sheet.test.id, rest)
    }

    fn content(&self) -> Result<Markup, Fault> {
        let sheet = self.sheet;
        Ok(html! {
            h1 { (sheet.title()) }
            p.quiet { (plain_day(&sheet.test.new.date)) @if let Some(tip) = &sheet.test.new.pitot_tip { ", pitot on tip " (tip) } }
            @match self.told {
                Some("entered") => p.told role="status" { "Entered." },
                Some("begun") => p.told role="status" { "Begun. Each reading is saved as you enter it." },
                Some("opened") => p.told role="status" { "Open again: readings can be entered and corrected." },
                _ => {},
            }
            @if let Some((_, why)) = self.typed { p.wrong role="alert" { "Nothing was saved. " (why.words) } }
            @if sheet.is_open() {
                (self.saved())
                (self.points())
                (self.cards()?)
                (self.onward())
            } @else { (self.closed()) }
            section #taken data-swap aria-labelledby="taken-head" {
                h2 id="taken-head" { "Entered so far" }
                (self.taken())
            }
            (self.struck())
            @if sheet.is_open() { (self.finish()) }
            (your_name(self.reader))
            script type="module" src="/assets/take.js" {}
        })
    }

    /// What of this tablet's readings is not with Handline yet; the script fills it in.
    fn saved(&self) -> Markup {
        let key = format!("{} {}", self.sheet.opened.slug, self.sheet.test.id);
        html! {
            div.saved #saved data-key=(key) data-action=(self.at("/read")) role="status" {
                p { "Each reading is saved when you enter it." }
            }
            ul.waiting #waiting aria-label="Not saved yet" {}
        }
    }

    fn points(&self) -> Markup {
        let (point, last) = (self.point, self.sheet.points());
        let read = |point: u32| {
            let own = |r: &&&Reading| r.new.point == i64::from(point);
            self.sheet.counted().iter().filter(own).count()
        };
        html! {
            nav.points #points data-swap aria-label="Points" {
                @for number in 1..=last.max(point).min(POINTS) {
                    @let count = read(number);
                    a.button href=(self.at(&format!("?point={number}"))) aria-current=[(number == point).then_some("step")] {
                        span.unseen { "Point " } (number)
                        @if count > 0 { span.done { "\u{2713}" span.unseen { " read" } } }
                    }
                }
                @if last.max(point) < POINTS {
                    a.button href=(self.at(&format!("?point={}", last.max(point) + 1))) { "+" span.unseen { " One more point" } }
                }
            }
            h2 { "Point " (point) }
        }
    }

    fn cards(&self) -> Result<Markup, Fault> {
        let (first, more) = self.sheet.places(self.point);
        let more_open = self
            .typed
            .is_some_and(|(sent, _)| more.iter().any(|place| place.word() == sent.get("place")));
        let cards = |places: &[Place]| -> Result<Markup, Fault> {
            let all: Result<Vec<Markup>, Fault> = places.iter().map(|p| self.card(*p)).collect();
            let all = all?;
            Ok(html! { div.reads { @for card in all { (card) } } })
        };
        let (first, others) = (cards(&first)?, cards(&more)?);
        Ok(html! {
            (first)
            @if !more.is_empty() {
                details.more-reads open[more_open] {
                    summary { "More that can be read here: " (more.iter().map(|p| p.word()).collect::<Vec<_>>().join(", ")) }
                    (others)
                }
            }
        })
    }

    /// One place: its value with steps, its gauge, and whether it is entered.
    fn card(&self, place: Place) -> Result<Markup, Fault> {
        let card = Card::of(self, place);
        let (id, kind, unit) = (
            card.id.as_str(),
            place.kind(),
            place.kind().unit(self.system),
        );
        let step = card.step;
        let show = |by: f64| decimal(by, step.decimals);
        let by = |by: f64| {
            let (sign, word) = if by < 0.0 {
                ("\u{2212}", "less")
            } else {
                ("+", "more")
            };
            let amount = show(by.abs());
            html! {
                button.by type="button" data-by=(by) aria-label=(format!("{}: {amount} {} {word}", capital(place.word()), unit.symbol)) { (sign) (amount) }
            }
        };
        let fresh = token()?;
        let wrong = card.wrong("value");
        Ok(html! {
            section.read id=(format!("read-{id}")) aria-labelledby=(format!("head-{id}")) {
                form method="post" action=(self.at("/read")) data-read data-decimals=(step.decimals) data-place=(place.word()) data-point=(self.point) {
                    input type="hidden" name="token" value=(fresh);
                    input type="hidden" name="point" value=(self.point);
                    input type="hidden" name="place" value=(place.word());
                    input type="hidden" name="units" value=(word(self.system));
                    div.read-head {
                        h3 id=(format!("head-{id}")) { (capital(place.word())) }
                        @if let Some(si) = self.sheet.expected(self.point, place) {
                            p.expected { "Expected " b { (step.write(kind, si, self.system)) " " (unit.symbol) } }
                        }
                    }
                    label.unseen for=(format!("v-{id}")) { (capital(place.word())) ", " (unit.symbol) }
                    div.stepper {
                        (by(-step.large)) (by(-step.small))
                        input id=(format!("v-{id}")) name="value" value=(card.value) inputmode="decimal" autocomplete="off"
                            aria-invalid=[wrong.map(|_| "true")] aria-describedby=(format!("u-{id}"));
                        (by(step.small)) (by(step.large))
                    }
                    p.unit id=(format!("u-{id}")) { (unit.symbol) @if !card.from.is_empty() { span.hint { " " (card.from) } } }
                    @if let Some(wrong) = wrong { p.wrong { (wrong) } }
                    (self.gauges(place, &card))
                    details.beside-it open[card.wrong("time").is_some()] {
                        summary { "Time and remark" }
                        div.fields {
                            div {
                                label for=(format!("t-{id}")) { "Time" }
                                input type="time" id=(format!("t-{id}")) name="time" value=(card.time) data-own=(if card.is_typed() { "yes" } else { "" });
                                @if let Some(wrong) = card.wrong("time") { p.wrong { (wrong) } }
                            }
                            div {
                                label for=(format!("r-{id}")) { "Remark" }
                                input id=(format!("r-{id}")) name="remark" value=(card.remark) autocomplete="off";
                            }
                        }
                    }
                    (self.state(place, &card))
                }
            }
        })
    }

    fn gauges(&self, place: Place, card: &Card<'_>) -> Markup {
        let all = fitting(&self.sheet.opened.book, place);
        let (kind, day) = (place.kind(), self.sheet.test.new.date.as_str());
        let id = &card.id;
        let wrong = card.wrong("gauge");
        html! {
            @if matches!(kind, Kind::Pressure | Kind::Flow) {
                label for=(format!("g-{id}")) { @if kind == Kind::Flow { "Meter" } @else { "Gauge" } }
                select id=(format!("g-{id}")) name="gauge" aria-describedby=(format!("gn-{id}")) aria-invalid=[wrong.map(|_| "true")] {
                    (self.option(place, "", None, &card.gauge))
                    @for (name, gauge) in &all { (self.option(place, name, Some(gauge), &card.gauge)) }
                }
                @let chosen = self.sheet.opened.book.gauge.get(&card.gauge);
                p.hint id=(format!("gn-{id}")) { (words(chosen, kind, day, self.system)) }
                @if let Some(wrong) = wrong { p.wrong { (wrong) } }
            }
        }
    }

    fn option(&self, place: Place, name: &str, gauge: Option<&GaugeItem>, chosen: &str) -> Markup {
        let step = steps(place, gauge, self.system);
        let note = words(gauge, place.kind(), &self.sheet.test.new.date, self.system);
        html! {
            option value=(name) selected[name == chosen] data-small=(step.small) data-large=(step.large) data-decimals=(step.decimals) data-note=(note) {
                @if name.is_empty() { "None told" } @else { (name) }
            }
        }
    }

    /// Whether it is entered, and what can be done.
    fn state(&self, place: Place, card: &Card<'_>) -> Markup {
        let entered = self.sheet.at(self.point, place);
        html! {
            div.read-state id=(format!("state-{}", card.id)) data-swap {
                @match entered.as_slice() {
                    [] => {
                        p.open { "Not entered yet." }
                        div.actions { button.first.enter name="do" value="enter" { "Enter it" } }
                    }
                    [one] => {
                        p.entered { (said(one)) @if !one.new.gauge.is_empty() { ", gauge " (one.new.gauge) } }
                        input type="hidden" name="corrects" value=(one.id);
                        div.actions {
                            button.enter name="do" value="enter" { "Correct it" }
                            button name="do" value="strike" { "Strike it out" }
                        }
                    }
                    several => {
                        p.wrong { "Two values stand here: " (several.iter().map(|r| said(r)).collect::<Vec<_>>().join("; ")) ". Strike one out." }
                        label for=(format!("c-{}", card.id)) { "Which" }
                        select id=(format!("c-{}", card.id)) name="corrects" {
                            @for one in several { option value=(one.id) { (said(one)) } }
                        }
                        div.actions {
                            button.enter name="do" value="enter" { "Correct it" }
                            button name="do" value="strike" { "Strike it out" }
                        }
                    }
                }
            }
        }
    }

    fn onward(&self) -> Markup {
        let to = |point: u32| self.at(&format!("?point={point}"));
        html! {
            div.actions.onward {
                @if self.point > 1 { a.button href=(to(self.point - 1)) { "\u{2190} Point " (self.point - 1) } }
                @if self.point < POINTS { a.button.first href=(to(self.point + 1)) { "Point " (self.point + 1) " \u{2192}" } }
            }
        }
    }

    /// What counts, a row for each point.
    fn taken(&self) -> Markup {
        let counted = self.sheet.counted();
        if counted.is_empty() {
            return html! { p.quiet { "Nothing yet." } };
        }
        let all = self.sheet.subject.places().iter();
        let places: Vec<&Place> = all
            .filter(|place| counted.iter().any(|r| r.new.place == place.word()))
            .collect();
        let mut points: Vec<i64> = counted.iter().map(|r| r.new.point).collect();
        points.sort_unstable();
        points.dedup();
        let rows = html! {
            thead { tr {
                th scope="col" { "Point" }
                @for place in &places { th scope="col" { (capital(place.word())) } }
                th scope="col" { "Time and remarks" }
            } }
            tbody {
                @for point in points {
                    tr {
                        th scope="row" { @if self.sheet.is_open() { a.reach href=(self.at(&format!("?point={point}"))) { (point) } } @else { (point) } }
                        @for place in &places {
                            @let here: Vec<&&Reading> = counted.iter().filter(|r| r.new.point == point && r.new.place == place.word()).collect();
                            td {
                                @for one in here {
                                    div { (one.new.written) @if !one.new.gauge.is_empty() { " " span.place { (one.new.gauge) } } }
                                }
                            }
                        }
                        td { (beside(&counted, point)) }
                    }
                }
            }
        };
        wide("Readings that count, by point", &rows)
    }

    /// What was corrected or struck out: it stays.
    fn struck(&self) -> Markup {
        let all = &self.sheet.readings;
        let later = |id: i64| all.iter().find(|r| r.corrects == Some(id));
        let old: Vec<(&Reading, &Reading)> =
            all.iter().filter_map(|r| Some((r, later(r.id)?))).collect();
        html! {
            div #struck data-swap {
                @if !old.is_empty() {
                    details {
                        summary { "Corrected and struck out: " (old.len()) }
                        ul { @for (was, now) in &old {
                            li {
                                "Point " (was.new.point) ", " (was.new.place) ": " del { (said(was)) } ", then "
                                (said(now)) @if !now.new.remark.is_empty() { " (" (now.new.remark) ")" }
                            }
                        } }
                    }
                }
            }
        }
    }

    fn finish(&self) -> Markup {
        html! {
            h2 { "When all is read" }
            p { "Look at the result at any time. Close the sheet when nothing more comes: then its result can go into the book." }
            div.actions {
                a.button href=(self.at("/result")) { "What it says so far" }
                form method="post" action=(self.at("/close")) { button { "Close the sheet" } }
            }
        }
    }

    fn closed(&self) -> Markup {
        html! {
            @match self.sheet.test.stage {
                Stage::Accepted { revision } => p.keep { "In the book since revision " (revision) ". Its readings stay as they are." },
                _ => {
                    p.keep { "Closed: no more readings are entered." }
                    div.actions {
                        a.button.first href=(self.at("/result")) { "See the result" }
                        form method="post" action=(self.at("/open")) { button { "Open it again" } }
                    }
                }
            }
        }
    }
}

/// Times and remarks of a point, each once.
fn beside(counted: &[&Reading], point: i64) -> String {
    let own = counted.iter().filter(|r| r.new.point == point);
    let mut said: Vec<&str> = Vec::new();
    for one in own {
        for text in [one.new.time.as_str(), one.new.remark.as_str()] {
            if !text.is_empty() && !said.contains(&text) {
                said.push(text);
            }
        }
    }
    said.join("; ")
}

/// What stands in the form of a place.
struct Card<'a> {
    id: String,
    step: super::step::Step,
    value: String,
    /// Where the value comes from, in words; may be empty.
    from: &'static str,
    gauge: String,
    time: String,
    remark: String,
    typed: Option<(&'a Sent, &'a Refused)>,
}

impl<'a> Card<'a> {
    fn of(shown: &Shown<'a>, place: Place) -> Self {
        let (sheet, system, kind) = (shown.sheet, shown.system, place.kind());
        let typed = shown
            .typed
            .filter(|(sent, _)| sent.get("place") == place.word());
        let here = sheet.at(shown.point, place).first().copied();
        let before = sheet.last(shown.point, place);
        let gauge = match (typed, here.or(before)) {
            (Some((sent, _)), _) => sent.own("gauge"),
            (None, Some(reading)) => reading.new.gauge.clone(),
            (None, None) => only(shown, place),
        };
        let item = sheet.opened.book.gauge.get(&gauge);
        let step = steps(place, item, system);
        let expected = sheet.expected(shown.point, place);
        let value_of = |r: &Reading| r.new.value;
        let (si, from) = match (here.and_then(value_of), before.and_then(value_of), expected) {
            (Some(si), _, _) => (si, ""),
            (None, Some(si), _) => (si, "the last value read here"),
            (None, None, Some(si)) => (step.on_scale(kind, si, system), "as expected"),
            (None, None, None) => (0.0, ""),
        };
        Card {
            id: place.word().replace(' ', "-"),
            value: match typed {
                Some((sent, _)) => sent.own("value"),
                None => step.write(kind, si, system),
            },
            from,
            time: match (typed, here) {
                (Some((sent, _)), _) => sent.own("time"),
                (None, Some(here)) => here.new.time.clone(),
                (None, None) => clock(now()),
            },
            remark: match (typed, here) {
                (Some((sent, _)), _) => sent.own("remark"),
                (None, Some(here)) => here.new.remark.clone(),
                (None, None) => String::new(),
            },
            step,
            gauge,
            typed,
        }
    }

    fn is_typed(&self) -> bool {
        self.typed.is_some()
    }

    fn wrong(&self, field: &str) -> Option<&str> {
        let (_, why) = self.typed?;
        (why.field == field).then_some(why.words.as_str())
    }
}

/// The gauge that the plan puts there, else the only one that fits.
fn only(shown: &Shown<'_>, place: Place) -> String {
    let planned = shown
        .sheet
        .planned
        .gauges
        .iter()
        .find(|(at, _)| *at == place);
    match (planned, fitting(&shown.sheet.opened.book, place).as_slice()) {
        (Some((_, gauge)), _) if !gauge.is_empty() => gauge.clone(),
        (_, [(name, _)]) => (*name).clone(),
        _ => String::new(),
    }
}
