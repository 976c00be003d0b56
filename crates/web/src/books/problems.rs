//! Everything wrong with a book's file, each with the line it is in.

use book::{Problem, Problems};
use maud::{Markup, html};

/// Characters of a line shown to either side of what is wrong.
const AROUND: usize = 60;

/// Line, column, what is wrong, the line itself with the place marked, and what
/// would mend it. `text` is the file's.
pub(crate) fn problems(problems: &Problems, text: &str) -> Markup {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    html! {
        section.problems aria-labelledby="problems" {
            h2 id="problems" { (problems) }
            ol {
                @for problem in problems.list() {
                    li class=(problem.severity.word()) {
                        strong {
                            "Line " (problem.line) ", column " (problem.column) ": " (problem.severity.word())
                        }
                        p { (problem.message) }
                        (quoted(problem, text))
                        @if !problem.mend.is_empty() { p.mend { (problem.mend) } }
                    }
                }
            }
        }
    }
}

/// The line with what is wrong marked; nothing where the text has no such line.
fn quoted(problem: &Problem, text: &str) -> Markup {
    let start = problem.span.start;
    let (Some(before), Some(after)) = (text.get(..start), text.get(start..)) else {
        return html! {};
    };
    if text.is_empty() {
        return html! {};
    }
    let before = before.rsplit('\n').next().unwrap_or_default();
    let after = after.split('\n').next().unwrap_or_default().trim_end();
    let length = problem.span.len().min(after.len());
    let (wrong, after) = after
        .split_at_checked(length)
        .unwrap_or((after, Default::default()));
    html! {
        pre.quoted {
            code {
                span.at aria-hidden="true" { (problem.line) " │ " }
                (last(before)) mark { (if wrong.is_empty() { "◂ here" } else { first(wrong) }) } (first(after))
            }
        }
    }
}

fn first(text: &str) -> &str {
    let end = text.char_indices().nth(AROUND).map(|(at, _)| at);
    end.and_then(|end| text.get(..end)).unwrap_or(text)
}

fn last(text: &str) -> &str {
    let start = text.char_indices().rev().nth(AROUND).map(|(at, _)| at);
    start.and_then(|start| text.get(start..)).unwrap_or(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str) -> String {
        problems(&book::examine(text.as_bytes(), "a.toml").problems, text).into_string()
    }

    #[test]
    fn the_line_is_quoted_with_the_place_marked() {
        let page = shown("[book]\nname = \"<b>é\"\nunits = \"uz\"\n");
        assert!(page.contains("Line 3, column 9: error"), "{page}");
        assert!(
            page.contains("units = <mark>&quot;uz&quot;</mark>"),
            "{page}"
        );
        assert!(page.contains("did you mean &quot;us&quot;?"), "{page}");
    }

    #[test]
    fn a_very_long_line_is_cut_around_the_place() {
        let page = shown(&format!(
            "[book]\nname = \"{}\nunits = \"us\"\n",
            "é".repeat(5000)
        ));
        assert!(page.contains("<mark>"), "{page}");
        assert!(page.len() < 4000, "{}", page.len());
    }

    #[test]
    fn any_bytes_have_a_page() {
        for text in [
            "",
            "\u{feff}",
            "=",
            "[",
            "\u{feff}a = \"",
            "a\r\n\r\n[book",
            "\0",
        ] {
            assert!(shown(text).contains("problem"), "{text:?}");
        }
    }
}
