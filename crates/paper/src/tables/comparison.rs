//! The tables of a comparison: what was asked, every choice with every aim, what each
//! line gives, what was left out, and how sure it is.

mod doubt;

use book::Book;
use book::comparison::Comparison;
use study::choose::{Choice, Chosen, LineResult, OfLine, aim_name};
use study::fact::Said;
use study::figure::{self, Figure};

use super::Tables;
use super::listing::{Listing, Row};
use super::written::{joined, notice};
use crate::compared::{self, alike};
use crate::paper::Units;
use crate::sheet::common::cautions;
use crate::sheet::{asked, makes_foam, sources};

/// Everything that `comparison`, kept as `name`, found on the lines of `book`: the
/// question, the choices with all they come to, a row for each choice and line, what was
/// left out, what is doubtful, and what the days give.
///
/// The table "By line" has all that is known of a choice on a line in one row, for
/// [`Tables::parquet`].
pub fn of_comparison(
    book: &Book,
    name: &str,
    comparison: &Comparison,
    chosen: &Chosen,
    units: Units,
) -> Tables {
    let made = Made {
        book,
        comparison,
        chosen,
        units,
        source: joined(sources(book, comparison, chosen, units)),
    };
    let listings = [
        made.question(),
        made.choices(),
        made.by_line(),
        made.excluded(),
        made.unsure(),
        made.shares(),
        made.days(),
        made.counts(),
        made.holds(),
        made.notices(),
    ];
    let tables = listings.iter().filter_map(|listing| listing.table(units));
    Tables {
        subject: format!("Comparison {name}"),
        department: book.name.clone(),
        invented: book.about.invented,
        units,
        cautions: cautions(makes_foam(book, chosen)),
        tables: tables.collect(),
    }
}

struct Made<'a> {
    book: &'a Book,
    comparison: &'a Comparison,
    chosen: &'a Chosen,
    units: Units,
    source: String,
}

impl<'a> Made<'a> {
    /// Each choice with its rank; that of today has none.
    fn ranked(&self) -> impl Iterator<Item = (Option<u32>, &'a Choice)> {
        let choices = (1_u32..).map(Some).zip(&self.chosen.choices);
        choices.chain(self.chosen.today.iter().map(|today| (None, today)))
    }

    fn question(&self) -> Listing {
        let mut listing = Listing::new("Question");
        let source = "The comparison.";
        for (what, is) in asked(self.book, self.comparison, self.chosen, self.units) {
            listing.push(Row::new().with("what", what).with("is", is), source);
        }
        let size = self.chosen.size;
        let chosen = self.chosen;
        for (what, number) in [
            (compared::tried(self.comparison), size.choices),
            ("Operating points solved", size.points),
            ("Days drawn over all choices", size.draws),
            ("Choices that no other beats in everything", chosen.unbeaten),
            ("Choices within all limits, but beaten", chosen.beaten),
        ] {
            let row = Row::new().with("what", what);
            listing.push(row.bare("number", number as f64, 0), &self.source);
        }
        listing
    }

    fn choices(&self) -> Listing {
        let mut listing = Listing::new("Choices");
        for (rank, choice) in self.ranked() {
            let row = self.of_choice(rank, choice, "");
            let text = |all| compared::sentences(all, self.units).join(" ");
            let row = row
                .with("on the lines", self.on_lines(choice))
                .with("why it is in", text(&choice.why))
                .with("lost on", lost(rank, &text(&choice.against)))
                .with("to change", text(&choice.to_change));
            listing.push(row, &self.source);
        }
        listing
    }

    /// Rank, code, how sure, and every aim with `head` before its name.
    fn of_choice(&self, rank: Option<u32>, choice: &Choice, head: &str) -> Row {
        let place = rank.map(|rank| rank as usize - 1);
        let is = match (rank, self.chosen.robust) {
            (None, _) => "carried today",
            (Some(_), robust) if robust.is_some() && robust == place => {
                "first that holds on enough days"
            }
            (Some(1), _) => "ranked first",
            _ => "",
        };
        let row = Row::new()
            .with("rank", rank)
            .with("choice", choice.code.as_str())
            .with("is", is);
        let row = match rank {
            Some(_) => row.bare("score", (choice.score * 1e4).round() / 1e2, 1),
            None => row,
        };
        let row = self.sure(row, choice);
        let row = choice.measured.iter().fold(row, |row, measured| {
            row.with(format!("{head}{}", aim_name(measured.aim)), measured.value)
        });
        row.with("passes limits", self.past(choice).join("; "))
    }

    fn past(&self, choice: &Choice) -> Vec<String> {
        let past = choice.past.iter().map(|(limit, has, may)| {
            let (has, may) = compared::has_and_may(*has, *may, self.units);
            format!("{}: {has} against {may}", limit.name())
        });
        past.collect()
    }

    fn on_lines(&self, choice: &Choice) -> String {
        let groups = alike(&choice.on);
        let text = groups
            .iter()
            .map(|group| format!("{}: {}", group.lines.join(", "), group.text(self.units)));
        text.collect::<Vec<_>>().join("; ")
    }

    /// A row for each choice and line, with all that is known of both.
    fn by_line(&self) -> Listing {
        let mut listing = Listing::new("By line");
        for (rank, choice) in self.ranked() {
            for on in &choice.on {
                let row = self.of_choice(rank, choice, "overall ");
                let result = choice.results.iter().find(|r| r.line == on.line);
                listing.push(on_line(row, on, result), &self.source);
            }
        }
        listing
    }

    fn excluded(&self) -> Listing {
        let mut listing = Listing::new("Excluded");
        for excluded in &self.chosen.excluded {
            let row = Row::new()
                .with("limit", excluded.limit.name())
                .bare("choices", excluded.choices as f64, 0)
                .bare("by it alone", excluded.alone as f64, 0)
                .with("closest", compared::phrase(&excluded.nearest, self.units));
            let row = match excluded.has_and_may {
                Some((has, may)) => row.with("it has", has).with("allowed", may),
                None => row,
            };
            let row = row.with("in words", compared::sentence(&excluded.text, self.units));
            listing.push(row, &self.source);
        }
        listing
    }

    fn notices(&self) -> Listing {
        let mut listing = Listing::new("Notices");
        for one in &self.chosen.notices {
            listing.push(notice(Row::new(), one, self.units), &self.source);
        }
        listing
    }
}

/// What the first one's sentences say is of the second.
fn lost(rank: Option<u32>, text: &str) -> String {
    match rank {
        Some(1) => String::new(),
        _ => text.into(),
    }
}

fn on_line(row: Row, on: &OfLine, result: Option<&LineResult>) -> Row {
    let row = row
        .with("line", on.line.as_str())
        .with("hose", on.hose.as_str())
        .with("length", figure::length(on.length))
        .with("nozzle", on.nozzle.as_str())
        .maybe("setting", on.setting.as_deref())
        .with("pump pressure", figure::pressure(on.pump_pressure));
    let Some(result) = result else {
        return row;
    };
    let (least, most) = result.flows;
    let low = |figure: Option<Figure>| Said::from(figure);
    row.with("flow", figure::flow(result.flow))
        .with("nozzle pressure", figure::pressure(result.tip_pressure))
        .with("reaction, formula value", figure::force(result.reaction))
        .with("held by people", result.people.map(u32::from))
        .with("effective reach", figure::length(result.reach))
        .with(
            "flow at low pump pressure",
            low(result.low.map(|(flow, _)| figure::flow(flow))),
        )
        .with(
            "nozzle pressure at low pump pressure",
            low(result.low.map(|(_, pressure)| figure::pressure(pressure))),
        )
        .with("least flow over the cases", figure::flow(least))
        .with("most flow over the cases", figure::flow(most))
}
