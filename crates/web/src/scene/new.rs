//! A new scene: its title and its first rig asked for at once.

use super::fields::{Editing, Piece, rigs, usual};
use crate::address;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::workbench::Opened;
use maud::{Markup, html};

pub(super) fn form(opened: &Opened, reader: &Reader, editing: &Editing) -> Markup {
    let (book, slug) = (&opened.book, &opened.slug);
    let piece = Piece {
        id: "new".into(),
        editing,
    };
    let rigs = rigs(book, None);
    let none = rigs.iter().all(|(_, of)| of.is_empty());
    let first = rigs.iter().flat_map(|(_, of)| of).next();
    let stands = first.map_or("", |(name, _)| name.as_str());
    let content = html! {
        h1 { "New scene" }
        p { "Rigs, water and lines at work together. Begin with one rig: where its water comes from, and which lines it feeds. More rigs, a relay among them, come after." }
        @if none {
            p { "This book has no rig with a pump yet. " a.reach href=(address::book(slug, "/new/rig")) { "Add a rig" } " first." }
        } @else {
            form.form method="post" action=(address::book(slug, "/new-scene")) {
                input type="hidden" name="base" value=(opened.revision);
                input type="hidden" name="form" value="new";
                (piece.whole())
                div.fields {
                    (piece.text("title", "What it is (such as Barn on Mill Street)", ""))
                    (piece.choice("rig", "First rig", stands, &rigs))
                }
                (piece.water(opened, (None, ""), &usual(book), reader.system(book)))
                (piece.lines(opened))
                div.actions {
                    button.first { "Make the scene" }
                    a.button href=(address::book(slug, "/scenes")) { "Leave it" }
                }
            }
        }
    };
    page("New scene", reader, &Place::of(opened, "Scenes"), &content)
}
