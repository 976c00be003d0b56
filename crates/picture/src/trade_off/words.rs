//! What a plane of two aims says.

use super::{Mark, Plane, SINGLE};
use crate::choices::{bound_words, many, said, titled, what};
use crate::drawing::Table;
use study::choose::{Choice, aim_name};

impl Plane<'_> {
    /// "Better: up and to the left"; nothing where no way is better.
    pub fn towards(&self) -> String {
        let (along, up) = self.way();
        let along = match along {
            x if x > 0.0 => "to the right",
            x if x < 0.0 => "to the left",
            _ => "",
        };
        let up = match up {
            y if y > 0.0 => "up",
            y if y < 0.0 => "down",
            _ => "",
        };
        match (along, up) {
            ("", "") => String::new(),
            ("", one) | (one, "") => format!("better {one}"),
            (along, up) => format!("better {up} and {along}"),
        }
    }

    /// What stands beside a mark.
    pub fn code(&self, mark: &Mark<'_>) -> String {
        let ranked: Vec<&str> = mark
            .choices
            .iter()
            .filter(|(rank, _)| rank.is_some())
            .map(|(_, choice)| choice.code.as_str())
            .collect();
        let codes = match ranked.as_slice() {
            [first, _, _, _, ..] => format!("{first} and {} more", ranked.len() - 1),
            few => few.join(", "),
        };
        let today = mark.choices.iter().find(|(rank, _)| rank.is_none());
        match (codes.is_empty(), today) {
            (_, None) => codes,
            (true, Some((_, today))) if !today.past.is_empty() => "today, past a limit".to_string(),
            (true, Some(_)) => "today".to_string(),
            (false, Some(_)) => format!("{codes}, today"),
        }
    }

    /// "C12, ranked 3 (attack, 200 ft, ...)"; among very many the table says the rest.
    pub fn called(&self, (rank, choice): &(Option<usize>, &Choice)) -> String {
        let what = match self.marks.len() <= SINGLE {
            true => format!(" ({})", what(choice, self.system)),
            false => String::new(),
        };
        match rank {
            Some(rank) => format!("{}, ranked {}{what}", choice.code, rank + 1),
            None => match choice.past.is_empty() {
                true => format!("carried today{what}"),
                false => format!("carried today, past a limit{what}"),
            },
        }
    }

    pub fn caption(&self, named: usize) -> String {
        let (x, y) = self.aims;
        let all = self.chosen.choices.len();
        let mut said = vec![format!(
            "{} against {}: {} that no other beats in everything",
            titled(y),
            aim_name(x),
            many(all)
        )];
        if self.chosen.unbeaten > all as u64 {
            said.push(format!("the first of {}", self.chosen.unbeaten));
        }
        let mut text = said.join(", ");
        text.push_str(". ");
        let towards = self.towards();
        if !towards.is_empty() {
            text.push_str(&format!("It gets {towards}. "));
        }
        if let Some(best) = self.chosen.choices.first() {
            text.push_str(&self.stands("Ranked first is", best));
        }
        if let Some(today) = &self.chosen.today {
            text.push_str(&self.stands("Today's is", today));
        }
        let bounds = self.bounds.0.iter().chain(&self.bounds.1);
        let bounds: Vec<String> = bounds
            .map(|(_, bound)| {
                format!(
                    "{} {}",
                    aim_name(bound.aim),
                    bound_words(bound, self.system)
                )
            })
            .collect();
        if !bounds.is_empty() {
            text.push_str(&format!("Limits: {}. ", bounds.join("; ")));
        }
        if named < self.marks.len() {
            text.push_str("Where there is no room for a code the table has it.");
        }
        text.trim_end().to_string()
    }

    fn stands(&self, head: &str, choice: &Choice) -> String {
        let (x, y) = self.aims;
        let (along, up) = (said(choice, x, self.system), said(choice, y, self.system));
        format!("{head} {} with {along} and {up}. ", choice.code)
    }

    pub fn table(&self) -> Table {
        let (x, y) = self.aims;
        let (x_head, y_head) = (titled(x), titled(y));
        let mut table = Table::new(&["Choice", "Rank", "On the lines", &x_head, &y_head]);
        let row = |rank: String, choice: &Choice| {
            vec![
                choice.code.clone(),
                rank,
                what(choice, self.system),
                said(choice, x, self.system),
                said(choice, y, self.system),
            ]
        };
        let ranked = self.chosen.choices.iter().enumerate();
        table.rows = ranked
            .map(|(n, choice)| row((n + 1).to_string(), choice))
            .collect();
        let today = self
            .chosen
            .today
            .iter()
            .map(|today| row("today".into(), today));
        table.rows.extend(today);
        table
    }
}
