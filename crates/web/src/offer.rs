//! What a reader may not do is not offered: forms and links that would be refused are
//! left out of a page, by the same list that refuses them.

use crate::access::of_link;
use crate::who::Who;
use maud::{Markup, PreEscaped};
use percent_encoding::percent_decode_str;

/// `content` without the forms and the buttons that `who` may not use. A form around
/// things to read keeps them, without its fields and buttons.
pub(crate) fn offered(who: &Who, content: &Markup) -> Markup {
    if *who == Who::Own {
        return content.clone();
    }
    let without_forms = left_out(&content.0, "form", |tag, inner| {
        let address = attribute(tag, "action").unwrap_or_default();
        let method = match attribute(tag, "method").as_deref() {
            Some("post") => "POST",
            _ => return None,
        };
        let refused = !address.is_empty() && !may(who, method, &address);
        refused.then(|| match tag.contains("class=\"kept\"") {
            true => to_read(inner),
            false => String::new(),
        })
    });
    PreEscaped(left_out(&without_forms, "a", |tag, inner| {
        let address = attribute(tag, "href").unwrap_or_default();
        let refused = address.starts_with('/') && !may(who, "GET", &address);
        // Words among others stay, a button goes.
        let class = attribute(tag, "class").unwrap_or_default();
        let pressed = class.split(' ').any(|c| matches!(c, "button" | "add"));
        refused.then(|| match pressed {
            true => String::new(),
            false => inner.to_string(),
        })
    }))
}

fn may(who: &Who, method: &str, address: &str) -> bool {
    match of_link(method, address) {
        Some((needs, slug)) => {
            let slug = percent_decode_str(slug).decode_utf8();
            slug.is_ok_and(|slug| who.may(needs, &slug).is_ok())
        }
        // Nobody may what is not listed.
        None => false,
    }
}

/// What there is to read in a form.
fn to_read(inner: &str) -> String {
    let mut text = left_out(inner, "button", |_, _| Some(String::new()));
    while let Some((before, rest)) = text.split_once("<input") {
        let after = rest.split_once('>').map_or("", |(_, after)| after);
        text = format!("{before}{after}");
    }
    text
}

/// `text` in which each `element` for which `instead` gives something is replaced by it.
/// Pages are written by `maud`: each element is closed, and none of these is in itself.
fn left_out(text: &str, element: &str, instead: impl Fn(&str, &str) -> Option<String>) -> String {
    let (opens, closes) = (format!("<{element}"), format!("</{element}>"));
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((before, after)) = rest.split_once(&opens) {
        out.push_str(before);
        let whole = after.starts_with([' ', '>']);
        let parts = after.split_once('>').filter(|_| whole);
        let Some((tag, (inner, left))) =
            parts.and_then(|(tag, after)| Some((tag, after.split_once(&closes)?)))
        else {
            out.push_str(&opens);
            rest = after;
            continue;
        };
        match instead(tag, inner) {
            Some(instead) => out.push_str(&instead),
            None => out.push_str(&format!("{opens}{tag}>{inner}{closes}")),
        }
        rest = left;
    }
    out.push_str(rest);
    out
}

/// The value of an attribute, as a browser reads it.
fn attribute(tag: &str, name: &str) -> Option<String> {
    let (_, rest) = tag.split_once(&format!(" {name}=\""))?;
    let (value, _) = rest.split_once('"')?;
    Some(value.replace("&quot;", "\"").replace("&amp;", "&"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::who::SignedIn;
    use maud::html;
    use records::Role;
    use std::sync::Arc;

    fn who(role: Role) -> Who {
        Who::Person(Arc::new(SignedIn {
            name: "Ann".into(),
            token: String::new(),
            posts: [("bend".to_string(), role)].into(),
        }))
    }

    #[test]
    fn a_reader_is_not_offered_what_takes_an_editor() {
        let content = html! {
            h1 { "Lines" }
            a.button href="/book/bend/new-line" { "New line" }
            p { "A " a href="/book/bend/new-line" { "line" } " of " a href="/book/bend" { "Bend" } }
            form method="post" action="/book/bend/undo" { button { "Undo" } }
            form method="get" action="/book/bend/issued" { button { "Find" } }
            form.kept method="post" action="/book/bend/paper" { input name="x"; button { "Print" } p { "Cards" } }
            address { "Bend" }
        };
        let reader = offered(&who(Role::Reader), &content).0;
        let told = "<h1>Lines</h1><p>A line of <a href=\"/book/bend\">Bend</a></p>\
                    <form method=\"get\" action=\"/book/bend/issued\"><button>Find</button></form>\
                    <p>Cards</p><address>Bend</address>";
        assert_eq!(reader, told);
        let editor = offered(&who(Role::Editor), &content).0;
        assert_eq!(editor, content.0);
        assert_eq!(offered(&Who::Own, &content).0, content.0);
    }
}
