//! What is known of a nozzle's make, where it comes from, and where it is used.

use book::{Book, NozzleItem, NozzleKind, Origin, Part, Shutoff};
use study::figure;

use crate::paper::Units;
use crate::sheet::nozzles;
use crate::words::capital;

/// What is known of its make, each with its name.
pub(super) fn facts(item: &NozzleItem, units: Units) -> Vec<(&'static str, String)> {
    let not_written = || "not written in the book".to_string();
    let form = item.form.map(|form| capital(form.word()));
    let coupling = item.coupling.as_ref().map(|c| c.get().describe());
    let mut facts = vec![
        ("Kind", nozzles::kind(item, units)),
        ("Put together as", form.unwrap_or_else(not_written)),
        ("Shut-off", shutoff(item, units)),
        ("Coupling", coupling.unwrap_or_else(not_written)),
    ];
    if let Some(thread) = &item.breaks_at {
        let thread = thread.get().describe();
        facts.push((
            "Tip unscrews at",
            format!("{thread}; hose can be added there"),
        ));
    }
    if let NozzleKind::Automatic { band, flush, .. } = &item.kind {
        facts.push((
            "Flush",
            if *flush {
                "can be turned to flush"
            } else {
                "none"
            }
            .into(),
        ));
        if let Some(band) = band {
            let band = units.show(figure::pressure(band.get())).text();
            facts.push((
                "Opening against closing",
                format!("up to {band} apart at the same flow"),
            ));
        }
    }
    facts.push((
        "For foam",
        if item.foam { "yes" } else { "not marked so" }.into(),
    ));
    let colour = item.marking.colour.map(|c| c.text());
    let mark = item
        .marking
        .mark
        .as_ref()
        .map(|mark| format!("mark {mark}"));
    let marking: Vec<String> = colour.into_iter().chain(mark).collect();
    facts.push((
        "Colour and mark",
        match marking.is_empty() {
            true => "no colour in the book".into(),
            false => marking.join(", "),
        },
    ));
    facts
}

/// "Ball, waterway 1-3/8 in".
fn shutoff(item: &NozzleItem, units: Units) -> String {
    let word = match item.shutoff {
        Shutoff::None => "none of its own".into(),
        other => capital(other.word()),
    };
    match &item.waterway {
        Some(way) => format!(
            "{word}, waterway {}",
            nozzles::size(way.get(), way.text(), units)
        ),
        None => word,
    }
}

/// The lines that carry it, each with the setting it is on there.
pub(super) fn used(book: &Book, nozzle: &str) -> Vec<String> {
    let mut lines = Vec::new();
    for (name, line) in &book.line {
        let mut settings = Vec::new();
        if !find(&line.parts, nozzle, &mut settings) {
            continue;
        }
        let title = match &line.title {
            Some(title) => format!("{title} ({name})"),
            None => name.clone(),
        };
        lines.push(match settings.is_empty() {
            true => title,
            false => format!("{title}, setting {}", settings.join(" and ")),
        });
    }
    lines
}

/// Have the parts the nozzle, and on which settings?
fn find<'a>(parts: &'a [Part], nozzle: &str, settings: &mut Vec<&'a str>) -> bool {
    let mut found = false;
    for part in parts {
        match part {
            Part::Nozzle(part) if part.nozzle == nozzle => {
                found = true;
                let setting = part.setting.as_deref();
                settings.extend(setting.filter(|s| !settings.contains(s)));
            }
            Part::Branches(rows) | Part::Legs(rows) => {
                for row in rows {
                    found |= find(row, nozzle, settings);
                }
            }
            _ => {}
        }
    }
    found
}

/// Where its values come from.
pub(super) fn sources(book: &Book, item: &NozzleItem, origin: Origin) -> Vec<String> {
    let from = match origin {
        Origin::Own => "the department's own entry",
        Origin::Catalogue => "the generic catalogue",
    };
    let source = item.about.source.as_deref();
    let source = source
        .unwrap_or("no source is stated")
        .trim_end_matches('.');
    let invented = match item.about.invented {
        true => " Invented, for a demonstration.",
        false => "",
    };
    let note = item.about.note.as_ref().map(|note| format!("Note: {note}"));
    let crew = match &book.crew {
        Some(crew) => crew
            .about
            .source
            .as_deref()
            .unwrap_or("the book, without a source"),
        None => "60, 75 and 95 lbf, for the book has none of its own",
    };
    let ratings = format!("Ratings: {from}; {source}.{invented}");
    let crew = format!("Crew limits: {}.", capital(crew.trim_end_matches('.')));
    let laws = "Reaction by the trade's form; reach and throw worked out for a straight stream in still air, the shut-off fully open.";
    let all = [Some(ratings), note, Some(crew), Some(laws.into())];
    all.into_iter().flatten().collect()
}
