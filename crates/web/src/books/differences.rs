//! What differs between two texts, line by line.

use maud::{Markup, html};
use similar::{ChangeTag, TextDiff};
use std::time::Duration;

/// Lines shown at most.
const SHOWN: usize = 1500;
/// Lines that stay, shown to either side of a change.
const AROUND: usize = 3;

/// The lines taken out and put in, with some around them. `title` names the whole.
pub(crate) fn differences(title: &str, before: &str, after: &str) -> Markup {
    if before == after {
        return html! { p.quiet { "The two texts are the same, to the byte." } };
    }
    let mut config = TextDiff::configure();
    let compared = config
        .timeout(Duration::from_secs(1))
        .diff_lines(before, after);
    let groups = compared.grouped_ops(AROUND);
    let lines = groups.iter().enumerate().flat_map(|(n, group)| {
        let gap = (n > 0).then_some(None);
        let changes = group.iter().flat_map(|op| compared.iter_changes(op));
        gap.into_iter().chain(changes.map(Some))
    });
    let lines: Vec<_> = lines.take(SHOWN + 1).collect();
    html! {
        p.hint { "Rows that begin with + were put in, with − taken out." }
        pre.differences tabindex="0" role="region" aria-label=(title) {
            @for line in lines.iter().take(SHOWN) {
                @match line {
                    None => { "  ⋮\n" }
                    Some(change) => {
                        @let text = change.value().trim_end_matches(['\n', '\r']);
                        @match change.tag() {
                            ChangeTag::Insert => { ins { "+ " (text) } "\n" }
                            ChangeTag::Delete => { del { "− " (text) } "\n" }
                            ChangeTag::Equal => { "  " (text) "\n" }
                        }
                    }
                }
            }
        }
        @if lines.len() > SHOWN { p { "There is more; download both files to see all of it." } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_in_and_out_are_marked_in_writing() {
        let page = differences("Changes", "a\nb\nc\n", "a\n<b>\nc\n").into_string();
        assert!(page.contains("<del>− b</del>"), "{page}");
        assert!(page.contains("<ins>+ &lt;b&gt;</ins>"), "{page}");
    }
}
