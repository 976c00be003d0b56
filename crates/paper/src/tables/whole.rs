//! Every table of a book.

use book::{Book, Conditions, SceneConditions};

use super::Tables;
use super::equipment::{Equipment, listed};
use super::line::Lines;
use super::scene::Scenes;
use crate::paper::Units;
use crate::sheet::common::cautions;

/// Every table of `book`: its lines, its scenes and its equipment, all lines in the same
/// tables and all scenes in theirs. Points of drawings are in the tables of each line, scene
/// and piece of equipment. What has no answer is there with the reason.
pub fn of_book(book: &Book, units: Units) -> Tables {
    let mut lines = Lines::new(book, units);
    for name in book.line.keys() {
        if let Err(error) = lines.add(name, &Conditions::default()) {
            let source = "No source: nothing was worked out.";
            lines.unanswered(name, &error.to_string(), source);
        }
    }
    let mut scenes = Scenes::new(book, units);
    for name in book.scene.keys() {
        match study::solve_scene(book, name, &SceneConditions::default()) {
            Ok(answer) => scenes.add(&answer),
            Err(error) => scenes.unanswered(name, &error.to_string()),
        }
    }
    let foam = lines.foam || scenes.foam;
    let mut tables = lines.tables();
    tables.extend(scenes.tables());
    let kinds = Equipment::ALL.into_iter();
    tables.extend(kinds.filter_map(|kind| listed(book, kind, None, units)));
    Tables {
        subject: "The whole book".into(),
        department: book.name.clone(),
        invented: book.about.invented,
        units,
        cautions: cautions(foam),
        tables,
    }
}
