//! How sure the flows of a scene are.

use super::chosen::table_or_cards;
use super::line::notices;
use super::table::{fold, table};
use hydraulics::units::System;
use std::fmt::Write;
use study::doubt::{SceneDoubted, TipDoubted, on_days};
use study::figure::thousands;

/// Share of the days on which aims that are met need no word.
const ENOUGH: f64 = 0.95;

/// Why aims that the answer calls met are missed so often.
const JUST_MET: &str = "A pump that is set to just meet an aim misses it on about half of the \
    days. Higher pump pressures can be tried with --pump; mind what binds first.";

/// Days drawn of a scene.
pub struct Days {
    /// What came of them.
    pub doubted: SceneDoubted,
    /// More is doubtful than what the book says about its equipment.
    pub more: bool,
    /// Hose and nozzles are taken as published.
    pub published: bool,
    /// They are of the scene with its changes.
    pub changed: bool,
}

impl Days {
    /// Each tip's flow over the days, and whose doubt it is.
    pub fn write(&self, out: &mut String, system: System) {
        let doubted = &self.doubted;
        let changed = match self.changed {
            true => ", with the change",
            false => "",
        };
        let drawn = match doubted.draws {
            1 => "1 day drawn".into(),
            draws => format!("{} days drawn", thousands(draws)),
        };
        let _ = writeln!(out, "\nHow sure: {drawn}{changed}");
        self.flows(out, system);
        self.meets(out);
        if !doubted.words.is_empty() {
            out.push_str("\nWhose doubt it is\n");
        }
        for words in &doubted.words {
            let _ = writeln!(out, "  {}", fold(words, "    "));
        }
        let _ = writeln!(out, "\nWhat was drawn\n  {}", fold(&self.about(), "  "));
        if !doubted.notices.is_empty() {
            out.push_str("\nNotices about the days\n");
            notices(out, &doubted.notices, system);
        }
    }

    /// What is doubtful and what is not.
    fn about(&self) -> String {
        let names: Vec<&str> = self
            .doubted
            .unsure
            .iter()
            .map(|u| u.name.as_str())
            .collect();
        let mut text = match names.is_empty() {
            true => "Nothing is doubtful that the book or the comparison names.".into(),
            false => format!("Doubtful: {}.", names.join("; ")),
        };
        if self.published {
            text.push_str(" Hose and nozzles are taken as published, even where measured.");
        }
        text.push_str(
            " Pumps and outlets stay as they are set. All else counts as exact: mains, sources, \
             what a pump can give, appliances.",
        );
        if !self.more {
            text.push_str(
                " For pump gauges, lengths, heights, shut-offs and kinks too, give a comparison \
                 that has [doubt]: --doubt COMPARISON.",
            );
        }
        text
    }

    fn flows(&self, out: &mut String, system: System) {
        let with_aim = self.doubted.tips.iter().any(|tip| tip.meets.is_some());
        let mut head = vec!["Flow of", "Mean", "5 % below", "Half below", "95 % below"];
        if with_aim {
            head.push("Aim met on");
        }
        let mut rows = table(&head, 1);
        for tip in &self.doubted.tips {
            let mut row = flow(tip, system);
            if with_aim {
                row.push(tip.meets.map_or("-".into(), |(often, _)| on_days(often)));
            }
            rows.add_row(row);
        }
        table_or_cards(out, &rows, &head);
    }

    fn meets(&self, out: &mut String) {
        if let Some((often, half)) = self.doubted.all_meet {
            let text = format!(
                "Every aim is met on {} of the days (give or take {}).",
                on_days(often),
                on_days(half)
            );
            let _ = writeln!(out, "{}", fold(&text, ""));
            if often < ENOUGH {
                let _ = writeln!(out, "{}", fold(JUST_MET, ""));
            }
        }
        if self.doubted.unsolved > 0 {
            let text = format!(
                "On {} of the days no physical answer was found: no aim counts as met on them, \
                 and they are left out of the flows.",
                thousands(self.doubted.unsolved)
            );
            let _ = writeln!(out, "{}", fold(&text, ""));
        }
    }
}

/// A tip, its mean flow and those that some of the days stay below.
fn flow(tip: &TipDoubted, system: System) -> Vec<String> {
    let [low, middle, high] = &tip.flow.quantiles;
    let figures = [&tip.flow.mean, low, middle, high].map(|figure| figure.show(system));
    let name = format!("{}, {}", tip.line, tip.place);
    std::iter::once(name).chain(figures).collect()
}
