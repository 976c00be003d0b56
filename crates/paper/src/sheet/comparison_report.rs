//! The report of a comparison: the question, the answer with how sure it is, and how it
//! came about.

mod answer;
mod choices;
mod doubt;
mod pictures;
mod question;
mod rested;

pub(crate) use question::facts as asked;
pub(crate) use rested::{makes_foam, sources};

use book::Book;
use book::comparison::Comparison;
use serde_json::{Value, json};
use study::choose::{Choice, Chosen};
use study::figure;
use study::notice::Notice;

use super::common::cautions;
use super::{Kind, Sheet};
use crate::compared;
use crate::grounds;
use crate::paper::Units;
use crate::tables::agrees;
use crate::words;

/// The report of `comparison`, kept as `name`, on the lines of `book`, the book for which
/// `chosen` was found.
///
/// The answer on its first page is the robust choice where there is one, else the choice
/// that is ranked first.
pub fn comparison_report(
    book: &Book,
    name: &str,
    comparison: &Comparison,
    chosen: &Chosen,
    units: Units,
) -> Sheet {
    let fallback = format!("What to carry on {}", compared::listed(&chosen.lines));
    let title = chosen.title.as_deref().unwrap_or(&fallback);
    let mut sheet = Sheet::new(Kind::ComparisonReport, book, (name, title), units);
    sheet.head = vec![
        ("Comparison", name.into()),
        (
            compared::tried(comparison),
            compared::count(chosen.size.choices),
        ),
        ("Unbeaten", compared::count(chosen.unbeaten)),
    ];
    sheet.cautions = cautions(rested::makes_foam(book, chosen));
    sheet.sources = rested::sources(book, comparison, chosen, units);
    let report = Report {
        book,
        comparison,
        chosen,
        units,
    };
    report.tell(&mut sheet);
    sheet.body = report.body();
    let pictures = report.pictures();
    sheet.body["of_choices"] = pictures.choices.len().into();
    let all = pictures.choices.into_iter().chain(pictures.doubt);
    sheet.drawings.extend(all.map(Into::into));
    sheet
}

/// What a report is made of.
struct Report<'a> {
    book: &'a Book,
    comparison: &'a Comparison,
    chosen: &'a Chosen,
    units: Units,
}

impl<'a> Report<'a> {
    /// The answer's place in the order of the ranks, and the answer.
    fn answer(&self) -> Option<(usize, &'a Choice)> {
        let place = self.chosen.robust.unwrap_or(0);
        Some((place, self.chosen.choices.get(place)?))
    }

    /// What is said of the comparison, and of the days of its answer, each once.
    fn notices(&self) -> Vec<&'a Notice> {
        let doubted = self
            .answer()
            .and_then(|(_, answer)| answer.doubted.as_ref());
        let of_days = doubted.iter().flat_map(|doubted| &doubted.notices);
        let mut all: Vec<&Notice> = Vec::new();
        for notice in self.chosen.notices.iter().chain(of_days) {
            if !all.contains(&notice) {
                all.push(notice);
            }
        }
        all
    }

    fn body(&self) -> Value {
        json!({
            "question": question::sentence(self.book, self.comparison, self.chosen, self.units),
            "asked": question::facts(self.book, self.comparison, self.chosen, self.units),
            "answer": self.answer_json(),
            "choices": choices::table(self),
            "reasons": choices::reasons(self),
            "excluded": choices::excluded(self),
            "doubt": self.doubt(),
            "made": self.made(),
            "pictured": self.pictured(),
            "notices": self.notices()
                .into_iter()
                .map(|notice| words::notice(notice, self.units))
                .collect::<Vec<_>>(),
            "sources_head": "Which coefficients were used, and where they come from",
        })
    }

    /// How the report came about.
    fn made(&self) -> Vec<(&'static str, String)> {
        let chosen = self.chosen;
        let residual = chosen.residual;
        let system = self.units.first();
        let mut left = vec![
            agrees(figure::flow(residual.flow), system),
            agrees(figure::pressure(residual.pressure), system),
        ];
        left.retain(|left| left != "exactly");
        let left = match left.is_empty() {
            true => "exactly".into(),
            false => left.join(" and "),
        };
        let mut made = vec![
            (
                compared::tried(self.comparison),
                compared::count(chosen.size.choices),
            ),
            (
                "Operating points solved",
                compared::count(chosen.size.points),
            ),
            ("Unbeaten", compared::count(chosen.unbeaten)),
            (
                "Within all limits, but beaten in everything by another",
                compared::count(chosen.beaten),
            ),
            ("Flows and pressures agree within", left),
        ];
        let doubted = self
            .answer()
            .and_then(|(_, answer)| answer.doubted.as_ref());
        if let Some(doubted) = doubted {
            made.extend([
                ("Days drawn for each choice", compared::count(doubted.draws)),
                ("Where the draws begin (seed)", doubted.seed.to_string()),
                (
                    "Days without a physical answer, counted as missed",
                    compared::count(doubted.unsolved),
                ),
            ]);
        }
        made
    }

    /// Notes what would make a print wrong: the answer, and what it rests on.
    fn tell(&self, sheet: &mut Sheet) {
        let question = question::sentence(self.book, self.comparison, self.chosen, Units::Both);
        sheet.tell("question", question);
        if let Some((_, answer)) = self.answer() {
            answer::tell(sheet, answer);
        }
        for excluded in &self.chosen.excluded {
            sheet.tell(
                format!("left out by {}", excluded.limit.name()),
                compared::count(excluded.choices),
            );
        }
        for choice in choices::printed(self.chosen) {
            sheet.tell("unbeaten", choice.code.as_str());
        }
        for notice in self.notices() {
            sheet.tell(
                format!("{} {}", notice.code, notice.place),
                notice.text.as_str(),
            );
        }
        let told = grounds::of(
            self.book,
            &rested::things(self.book, self.comparison, self.chosen),
        );
        sheet.told.extend(told);
    }
}
