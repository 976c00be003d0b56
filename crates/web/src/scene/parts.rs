//! The rigs of a scene, their water and lines, and the forms that change them.

use super::fields::{Editing, Piece, What, rigs, usual};
use super::list::from;
use crate::address;
use crate::words;
use crate::workbench::Opened;
use book::{Intake, Scene, SceneLine, SceneRig, WaterFields, shown};
use hydraulics::units::{Kind, System, show};
use maud::{Markup, html};

pub(super) struct Parts<'a> {
    pub opened: &'a Opened,
    pub name: &'a str,
    pub scene: &'a Scene,
    pub system: System,
    pub editing: &'a Editing,
}

/// An entry of one of a rig's lists: its place, and what stands there.
type Entry<'a> = Option<(usize, &'a str)>;

impl Parts<'_> {
    pub fn show(&self) -> Markup {
        let what = &self.editing.what;
        html! {
            section #change aria-labelledby="change-title" {
                h2 id="change-title" { "Change this scene" }
                @if *what == What::Scene { div #edit.editing { (self.whole()) } }
                @if *what == What::Add { div #edit.editing { (self.add()) } }
                ul.cards {
                    @for (name, rig) in &self.scene.rig {
                        li {
                            h3 { (name) }
                            (self.at_work(rig))
                            @if *what != What::Rig(name.clone()) {
                                a.button href=(self.here(&format!("rig {name}"))) { "Change " (name) span.unseen { ": water, lines, pump" } }
                            }
                        }
                    }
                }
                @if let What::Rig(name) = what && let Some(rig) = self.scene.rig.get(name) {
                    div #edit.editing { (self.rig(name, rig)) }
                }
                div.actions {
                    @if *what != What::Add { a.button href=(self.here("add")) { "Add a rig" } }
                    @if *what != What::Scene { a.button href=(self.here("scene")) { "Title, note, delete" } }
                }
            }
        }
    }

    /// The page with forms open.
    fn here(&self, what: &str) -> String {
        let page = address::scene(&self.opened.slug, self.name);
        format!("{}#edit", address::asked(page, [("edit", what)]))
    }

    fn piece(&self, id: impl Into<String>) -> Piece<'_> {
        Piece {
            id: id.into(),
            editing: self.editing,
        }
    }

    /// A form that changes something of `rig`, at a place of one of its lists.
    fn form(&self, piece: &Piece<'_>, (rig, at): (&str, Entry<'_>), inside: &Markup) -> Markup {
        let page = address::scene(&self.opened.slug, self.name);
        html! {
            form.change method="post" action=(format!("{page}/edit#edit")) {
                input type="hidden" name="base" value=(self.opened.revision);
                input type="hidden" name="form" value=(piece.id);
                @if !rig.is_empty() { input type="hidden" name="rig" value=(rig); }
                @if let Some((at, was)) = at {
                    input type="hidden" name="at" value=(at);
                    input type="hidden" name="was" value=(was);
                }
                (piece.whole())
                (inside)
            }
        }
    }

    fn leave(&self) -> Markup {
        let page = address::scene(&self.opened.slug, self.name);
        html! { a.button href=(format!("{page}#change")) { "Leave it" } }
    }

    fn at_work(&self, rig: &SceneRig) -> Markup {
        html! {
            @for water in &rig.intake { p { (self.water_words(water)) } }
            p {
                @if rig.lines.is_empty() { "Feeds no lines." } @else {
                    "Lines: " (rig.lines.iter().map(|line| self.line_words(line)).collect::<Vec<_>>().join("; ")) "."
                }
            }
            @for pipe in &rig.standpipe {
                p { "Standpipe " (pipe.standpipe) ", through " (words::row(&pipe.parts, self.system)) "." }
            }
            p.quiet { (self.pump_words(rig)) }
        }
    }

    fn water_words(&self, water: &Intake) -> String {
        match water.parts.is_empty() {
            true => format!("Water from {}.", from(&water.from)),
            false => format!(
                "Water from {}, through {}.",
                from(&water.from),
                words::row(&water.parts, self.system)
            ),
        }
    }

    fn line_words(&self, line: &SceneLine) -> String {
        let title = self.opened.book.line.get(&line.line);
        let title = title.and_then(|found| found.title.as_deref());
        let title = title.unwrap_or(&line.line);
        match (&line.standpipe, &line.floor) {
            (Some(pipe), Some(floor)) => {
                format!("{title}, off standpipe {pipe}, floor {}", floor.text())
            }
            _ => title.to_string(),
        }
    }

    fn pump_words(&self, rig: &SceneRig) -> String {
        let share = |speed| show(Kind::Share, speed, self.system);
        match (&rig.pump_pressure, &rig.speed) {
            (Some(at), _) => {
                let at = show(Kind::Pressure, at.get(), self.system);
                format!("Pump pressure stated: {at}.")
            }
            (None, Some(speed)) => format!("Pump at {} of its rated speed.", share(speed.get())),
            (None, None) => "Pump pressure worked out for its lines.".into(),
        }
    }

    fn whole(&self) -> Markup {
        let piece = self.piece("scene");
        let title = self.scene.title.as_deref().unwrap_or("");
        let note = self.scene.about.note.as_deref().unwrap_or("");
        html! {
            h3 { "Title and note" }
            (self.form(&piece, ("", None), &html! {
                div.fields {
                    (piece.text("title", "What it is", title))
                    (piece.text("note", "Note", note))
                }
                div.actions { button.first name="do" value="title" { "Save" } (self.leave()) }
            }))
            h3 { "The whole scene" }
            (self.form(&self.piece("delete"), ("", None), &html! {
                p.hint { "Its rigs, water and lines stay in the book. The history can bring the scene back." }
                div.actions { button name="do" value="delete" { "Delete this scene" } }
            }))
        }
    }

    fn add(&self) -> Markup {
        let piece = self.piece("add");
        let book = &self.opened.book;
        let rigs = rigs(book, Some(self.scene));
        let first = rigs.iter().flat_map(|(_, of)| of).next();
        let place = (Some(self.scene), "");
        html! {
            h3 { "Add a rig" }
            @if let Some((first, _)) = first {
                (self.form(&piece, ("", None), &html! {
                    div.fields { (piece.choice("rig", "Rig", first, &rigs)) }
                    (piece.water(self.opened, place, &usual(book), self.system))
                    (piece.lines(self.opened))
                    div.actions { button.first name="do" value="rig" { "Put it to work" } (self.leave()) }
                }))
            } @else {
                p {
                    "Every rig of the book that has a pump is at work here already. "
                    a.reach href=(address::book(&self.opened.slug, "/new/rig")) { "Add a rig to the book" }
                }
            }
        }
    }

    fn rig(&self, name: &str, rig: &SceneRig) -> Markup {
        html! {
            h3 { "Change " (name) }
            @for (index, water) in rig.intake.iter().enumerate() { (self.water(name, rig, (index, water))) }
            (self.more_water(name))
            (self.lines(name, rig))
            (self.pump(name, rig))
            h4 { "The whole rig" }
            (self.form(&self.piece("out"), (name, None), &html! {
                div.actions { button name="do" value="rig-out" { "Take " (name) " out of this scene" } }
            }))
            p.actions { (self.leave()) }
        }
    }

    fn water(&self, name: &str, rig: &SceneRig, (index, water): (usize, &Intake)) -> Markup {
        let piece = self.piece(format!("water-{index}"));
        let stands = WaterFields::of(water, self.system);
        let laid = !water.parts.is_empty() && stands.hose.is_empty();
        html! {
            h4 { "Water from " (from(&water.from)) }
            (self.form(&piece, (name, Some((index, &from(&water.from)))), &html! {
                @if laid {
                    p.hint { "This supply is " (words::row(&water.parts, self.system)) ". Choose one hose here to lay that in its place; the file changes single parts." }
                }
                (piece.water(self.opened, (Some(self.scene), name), &stands, self.system))
                div.actions {
                    button.first name="do" value="water" { "Save this water" }
                    @if rig.intake.len() > 1 { button name="do" value="water-out" { "Take this water out" } }
                }
            }))
        }
    }

    fn more_water(&self, name: &str) -> Markup {
        let piece = self.piece("water-more");
        let usual = usual(&self.opened.book);
        let open = self.editing.sent.as_ref();
        let open = open.is_some_and(|sent| sent.get("form") == piece.id);
        html! {
            details open[open] {
                summary { "Add water from one more place" }
                (self.form(&piece, (name, None), &html! {
                    (piece.water(self.opened, (Some(self.scene), name), &usual, self.system))
                    div.actions { button name="do" value="water-add" { "Add this water" } }
                }))
            }
        }
    }

    fn lines(&self, name: &str, rig: &SceneRig) -> Markup {
        let piece = self.piece("lines");
        html! {
            h4 { "Lines off " (name) }
            @for (index, line) in rig.lines.iter().enumerate() {
                (self.form(&self.piece(format!("line-{index}")), (name, Some((index, &line.line))), &html! {
                    div.actions {
                        span { (self.line_words(line)) }
                        button name="do" value="line-out" { "Take out" span.unseen { " " (self.line_words(line)) } }
                    }
                }))
            }
            (self.form(&piece, (name, None), &html! {
                (piece.lines(self.opened))
                @if !rig.standpipe.is_empty() { (self.off(&piece, rig)) }
                div.actions { button name="do" value="lines" { "Add these lines" } }
            }))
        }
    }

    /// Off what the lines come: the rig, or a floor of a standpipe that it feeds.
    fn off(&self, piece: &Piece<'_>, rig: &SceneRig) -> Markup {
        let mut of = vec![(String::new(), "the rig's own outlets".to_string())];
        let pipes = rig.standpipe.iter().map(|pipe| &pipe.standpipe);
        of.extend(pipes.map(|pipe| (pipe.clone(), format!("standpipe {pipe}"))));
        html! {
            div.fields {
                (piece.choice("standpipe", "They come off", "", &vec![("", of)]))
                (piece.text("floor", "Floor of the standpipe (such as 5)", ""))
            }
        }
    }

    fn pump(&self, name: &str, rig: &SceneRig) -> Markup {
        let piece = self.piece("pump");
        let stands = rig.pump_pressure.as_ref();
        let stands = stands.map(|at| shown(Kind::Pressure, at, self.system));
        let label = format!(
            "Pump pressure (such as {}; empty: worked out for its lines)",
            Kind::Pressure.example(self.system)
        );
        html! {
            h4 { "Pump of " (name) }
            (self.form(&piece, (name, None), &html! {
                @if rig.speed.is_some() { p.hint { "It is governed by speed now. Saving here puts an end to that." } }
                div.fields { (piece.text("pump_pressure", &label, stands.as_deref().unwrap_or(""))) }
                div.actions { button name="do" value="pump" { "Save pump pressure" } }
            }))
        }
    }
}
