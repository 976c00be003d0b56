//! Who can sign in.

use super::table::{table, text};
use crate::commands::{self, Outcome};
use records::{Person, Role};
use serde_json::json;

/// Everybody, with what each may do.
pub fn people(people: &[(Person, Vec<(String, Role)>)], as_json: bool) -> Outcome {
    commands::printed(match as_json {
        true => people_json(people),
        false => people_text(people),
    })
}

fn people_text(people: &[(Person, Vec<(String, Role)>)]) -> String {
    if people.is_empty() {
        return "Nobody can sign in yet: handline people add NAME\n".into();
    }
    let mut rows = table(&["Name", "Signs in", "May do"], 3);
    for (person, posts) in people {
        let posts: Vec<String> = posts
            .iter()
            .map(|(slug, role)| format!("{} of {slug}", role.word()))
            .collect();
        let posts = match posts.is_empty() {
            true => "nothing".to_string(),
            false => posts.join(", "),
        };
        let signs = if person.hash.is_some() { "yes" } else { "no" };
        rows.add_row(vec![person.name.clone(), signs.into(), posts]);
    }
    text(&rows)
}

fn people_json(people: &[(Person, Vec<(String, Role)>)]) -> String {
    let people = people.iter().map(|(person, posts)| {
        let posts = posts
            .iter()
            .map(|(slug, role)| json!({ "department": slug, "role": role.word() }));
        json!({
            "name": person.name,
            "signs_in": person.hash.is_some(),
            "roles": posts.collect::<Vec<_>>(),
        })
    });
    super::json(&json!({ "people": people.collect::<Vec<_>>() }))
}
