//! The scenes of a book.

use super::answer::{counted, margin, total};
use crate::address;
use crate::fault::Fault;
use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::workbench::{Opened, Workbench};
use axum::extract::{Path, State};
use book::{IntakeFrom, Scene};
use hydraulics::units::{Kind, System, show};
use maud::{Markup, html};
use std::sync::Arc;
use study::notice::Weight;
use study::{SceneAnswer, StudyError};

pub(super) async fn page_of(
    State(workbench): State<Arc<Workbench>>,
    Path(slug): Path<String>,
    reader: Reader,
) -> Result<Markup, Fault> {
    let opened = workbench.open(&slug).await?;
    let content = content(&opened, reader.system(&opened.book));
    Ok(page(
        "Scenes",
        &reader,
        &Place::of(&opened, "Scenes"),
        &content,
    ))
}

fn content(opened: &Opened, system: System) -> Markup {
    let scenes = &opened.book.scene;
    let new = address::book(&opened.slug, "/new-scene");
    html! {
        h1 { "Scenes" }
        p { "Rigs, water and lines at work together: what every crew gets then, and what gives out first." }
        div.actions { a.button.first href=(new) { "New scene" } }
        @if scenes.is_empty() {
            p { "This book has no scene yet." }
        } @else {
            h2.unseen { "All scenes" }
            ul.cards {
                @for (name, scene) in scenes { (card(opened, name, scene, system)) }
            }
        }
    }
}

fn card(opened: &Opened, name: &str, scene: &Scene, system: System) -> Markup {
    let title = scene.title.as_deref().unwrap_or(name);
    let solved = study::solve_scene(&opened.book, name, &Default::default());
    html! {
        li {
            h3 { a href=(address::scene(&opened.slug, name)) { (title) } }
            @match solved {
                Ok(answer) => (given(&answer, system)),
                Err(error) => p.wrong { (told(&error)) },
            }
            p.quiet { (rigs(scene)) }
            p.quiet { (lines(scene)) }
        }
    }
}

fn given(answer: &SceneAnswer, system: System) -> Markup {
    let worst = answer.notices.first().map(|notice| notice.weight);
    let count = |weight| answer.notices.iter().filter(|n| n.weight == weight).count();
    html! {
        p { b { (show(Kind::Flow, total(answer), system)) } " from " (counted(answer.tips.len(), "tip")) }
        @if let Some(first) = answer.limits.first() {
            p {
                (if first.passed() { "Past its limit: " } else { "Binds first: " })
                (first.what) ", " (first.place) ", " (margin(first, system))
            }
        }
        @match worst {
            Some(Weight::Limit) => p.wrong { (counted(count(Weight::Limit), "limit notice")) },
            Some(Weight::Caution) => p { (counted(count(Weight::Caution), "caution")) },
            _ => {},
        }
    }
}

fn told(error: &StudyError) -> String {
    format!("No answer: {error}")
}

/// "pumper-2 from hydrant mill-street; pumper-1 from rig pumper-2".
fn rigs(scene: &Scene) -> String {
    let rigs = scene.rig.iter().map(|(name, rig)| {
        let from: Vec<String> = rig.intake.iter().map(|intake| from(&intake.from)).collect();
        match from.is_empty() {
            true => name.clone(),
            false => format!("{name} from {}", from.join(" and ")),
        }
    });
    rigs.collect::<Vec<_>>().join("; ")
}

/// From where, in words.
pub(super) fn from(intake: &IntakeFrom) -> String {
    match intake {
        IntakeFrom::Hydrant(name) => format!("hydrant {name}"),
        IntakeFrom::Rig(name) => format!("rig {name}"),
        IntakeFrom::Draft(name) => format!("draft {name}"),
        IntakeFrom::Shuttle(name) => format!("shuttle {name}"),
        IntakeFrom::Tank => "its tank".into(),
    }
}

fn lines(scene: &Scene) -> String {
    let lines = scene.rig.values().flat_map(|rig| &rig.lines);
    let names: Vec<&str> = lines.map(|line| line.line.as_str()).collect();
    match names.is_empty() {
        true => "No lines.".into(),
        false => format!("Lines: {}.", names.join(", ")),
    }
}
