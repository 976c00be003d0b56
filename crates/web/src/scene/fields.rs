//! The fields of the forms that make and change scenes.

use super::change::Sent;
use crate::address;
use crate::workbench::Opened;
use book::{Book, Part, Scene, WaterFields, catalogue};
use hydraulics::units::{Kind, System};
use maud::{Markup, html};

/// What is being changed, and what came of it.
#[derive(Debug, Default)]
pub(super) struct Editing {
    pub what: What,
    /// The form as it was sent, when it could not be used.
    pub sent: Option<Sent>,
    /// What is wrong with it, by field; an empty key is about the whole.
    pub wrong: Vec<(String, String)>,
    /// What the last change did, in words.
    pub told: Option<String>,
}

/// Which forms are open.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) enum What {
    #[default]
    Nothing,
    /// Title, note, and the scene as a whole.
    Scene,
    /// A rig to be put to work.
    Add,
    /// One rig: its water, its lines, its pump.
    Rig(String),
}

impl What {
    pub fn read(text: &str) -> Self {
        match text.split_once(' ') {
            Some(("rig", name)) => What::Rig(name.into()),
            _ if text == "scene" => What::Scene,
            _ if text == "add" => What::Add,
            _ => What::Nothing,
        }
    }
}

/// One form of a page. What was sent, and what is wrong with it, is shown in the form
/// that sent it.
pub(super) struct Piece<'a> {
    /// Its name on the page.
    pub id: String,
    pub editing: &'a Editing,
}

impl Piece<'_> {
    fn sent(&self) -> Option<&Sent> {
        let sent = self.editing.sent.as_ref();
        sent.filter(|sent| sent.get("form") == self.id)
    }

    fn value<'a>(&'a self, key: &str, stands: &'a str) -> &'a str {
        self.sent().map_or(stands, |sent| sent.get(key))
    }

    fn wrong(&self, key: &str) -> Option<&str> {
        let wrong = self.editing.wrong.iter().find(|(field, _)| field == key);
        let message = wrong.map(|(_, message)| message.as_str());
        message.filter(|_| self.sent().is_some())
    }

    fn field(&self, key: &str) -> String {
        format!("{}-{key}", self.id)
    }

    /// Is it the first field that has something wrong with it?
    fn first(&self, key: &str) -> bool {
        let first = self.editing.wrong.iter().find(|(key, _)| !key.is_empty());
        self.sent().is_some() && first.is_some_and(|(first, _)| first == key)
    }

    fn message(&self, key: &str) -> Markup {
        html! { @if let Some(wrong) = self.wrong(key) { p.wrong id=(format!("{}-w", self.field(key))) { (wrong) } } }
    }

    /// What is wrong with the whole.
    pub fn whole(&self) -> Markup {
        html! { @if let Some(wrong) = self.wrong("") { p.wrong role="alert" { (wrong) } } }
    }

    pub fn text(&self, key: &str, label: &str, stands: &str) -> Markup {
        let (id, wrong) = (self.field(key), self.wrong(key).is_some());
        html! {
            div {
                label for=(id) { (label) }
                input id=(id) name=(key) value=(self.value(key, stands)) autocomplete="off" autofocus[self.first(key)]
                    aria-invalid=[wrong.then_some("true")] aria-describedby=[wrong.then(|| format!("{id}-w"))];
                (self.message(key))
            }
        }
    }

    pub fn choice(&self, key: &str, label: &str, stands: &str, groups: &Groups) -> Markup {
        let (id, wrong) = (self.field(key), self.wrong(key).is_some());
        let chosen = self.value(key, stands);
        html! {
            div {
                label for=(id) { (label) }
                select id=(id) name=(key) autofocus[self.first(key)]
                    aria-invalid=[wrong.then_some("true")] aria-describedby=[wrong.then(|| format!("{id}-w"))] {
                    @for (group, of) in groups {
                        @let inside = html! { @for (value, label) in of { option value=(value) selected[value == chosen] { (label) } } };
                        @if group.is_empty() { (inside) } @else if !of.is_empty() { optgroup label=(group) { (inside) } }
                    }
                }
                (self.message(key))
            }
        }
    }

    /// Boxes of which several can be ticked.
    pub fn boxes(&self, key: &str, legend: &str, all: &[(String, String)]) -> Markup {
        let chosen = self.sent().map(|sent| sent.all(key)).unwrap_or_default();
        let wrong = self.wrong(key).map(|_| format!("{}-w", self.field(key)));
        html! {
            fieldset aria-describedby=[wrong] {
                legend { (legend) }
                div.fields {
                    @for (value, label) in all {
                        label.check { input type="checkbox" name=(key) value=(value) checked[chosen.contains(value)]; (label) }
                    }
                }
                (self.message(key))
            }
        }
    }

    /// The lines of the book, to be ticked.
    pub fn lines(&self, opened: &Opened) -> Markup {
        let lines = opened.book.line.iter();
        let all: Vec<(String, String)> = lines
            .map(|(name, line)| (name.clone(), line.title.clone().unwrap_or(name.clone())))
            .collect();
        html! {
            @if all.is_empty() {
                p { "This book has no line yet. " a.reach href=(address::book(&opened.slug, "/new-line")) { "Make a line" } }
            } @else {
                (self.boxes("lines", "Lines that it feeds", &all))
            }
        }
    }

    /// From where a rig has its water, and through what. `scene` and `rig` say which
    /// other rigs could supply it.
    pub fn water(
        &self,
        opened: &Opened,
        (scene, rig): (Option<&Scene>, &str),
        stands: &WaterFields,
        system: System,
    ) -> Markup {
        let book = &opened.book;
        let length = Kind::Length.example(system);
        let count = if stands.count.is_empty() {
            "1"
        } else {
            &stands.count
        };
        html! {
            div.fields {
                (self.choice("from", "Its water", &stands.from, &sources(book, scene, rig)))
                (self.choice("hose", "Supply hose", &stands.hose, &hoses(book)))
                (self.text("length", &format!("Length of supply hose (such as {length})"), &stands.length))
                (self.choice("count", "Supply lines side by side", count, &counts(count)))
                (self.text("rise", &format!("The rig stands higher by (such as {length}; empty: level)"), &stands.rise))
            }
            p.hint { "Supply hose counts from a hydrant or another rig. Own tank, draft and shuttle take none here: the suction belongs to the draft or the shuttle." }
            @if book.hydrant.is_empty() {
                p.hint { "This book has no hydrant yet. " a.reach href=(address::book(&opened.slug, "/new/hydrant")) { "Add a hydrant" } }
            }
        }
    }
}

type Groups = Vec<(&'static str, Vec<(String, String)>)>;

fn sources(book: &Book, scene: Option<&Scene>, rig: &str) -> Groups {
    fn of<'a>(kind: &str, names: impl Iterator<Item = &'a String>) -> Vec<(String, String)> {
        let pair = |name: &String| (format!("{kind} {name}"), format!("{kind} {name}"));
        names.map(pair).collect()
    }
    let others = scene.into_iter().flat_map(|scene| scene.rig.keys());
    vec![
        ("", vec![(String::new(), "choose its water".into())]),
        ("Hydrants", of("hydrant", book.hydrant.keys())),
        (
            "Relay from another rig",
            of("rig", others.filter(|name| *name != rig)),
        ),
        ("Its own", vec![("tank".into(), "its own tank".into())]),
        ("Open water", of("draft", book.draft.keys())),
        ("Tanker shuttles", of("shuttle", book.shuttle.keys())),
    ]
}

fn hoses(book: &Book) -> Groups {
    let pair = |name: &String| (name.clone(), name.clone());
    let generic = catalogue().hose.keys();
    let generic = generic.filter(|name| !book.hose.contains_key(*name));
    vec![
        ("", vec![(String::new(), "choose the hose".into())]),
        ("The department's", book.hose.keys().map(pair).collect()),
        ("Generic", generic.map(pair).collect()),
    ]
}

/// One or two; more where more stand there already.
fn counts(stands: &str) -> Groups {
    let mut all = vec![
        ("1".to_string(), "1 line".to_string()),
        ("2".into(), "2 lines side by side".into()),
    ];
    if all.iter().all(|(count, _)| count != stands) {
        all.push((stands.into(), format!("{stands} lines side by side")));
    }
    vec![("", all)]
}

/// Rigs that can be put to work, those of `scene` left out.
pub(super) fn rigs(book: &Book, scene: Option<&Scene>) -> Groups {
    let able = book.rig.iter().filter(|(name, item)| {
        let pumps = item.pump.is_some() || !item.pump_points.is_empty();
        pumps && scene.is_none_or(|scene| !scene.rig.contains_key(*name))
    });
    vec![(
        "",
        able.map(|(name, _)| (name.clone(), name.clone())).collect(),
    )]
}

/// Water as a scene of the book has it already, for a beginning: the hose alone.
pub(super) fn usual(book: &Book) -> WaterFields {
    let rigs = book.scene.values().flat_map(|scene| scene.rig.values());
    let mut parts = rigs
        .flat_map(|rig| &rig.intake)
        .flat_map(|water| &water.parts);
    let hose = parts.find_map(|part| match part {
        Part::Hose(part) => Some(part.hose.clone()),
        _ => None,
    });
    WaterFields {
        hose: hose.unwrap_or_default(),
        ..WaterFields::default()
    }
}
