//! What a long comparison says before it starts, and what one says that came to no end.

use super::asked::Question;
use super::run::{Reckoned, Unfinished};
use maud::{Markup, html};
use std::time::Duration;
use study::choose::Size;
use study::figure::thousands;

/// A time as people say it.
pub(super) fn time(time: Duration) -> String {
    match time.as_secs_f64() {
        seconds if seconds < 1.5 => "a second".into(),
        seconds if seconds < 90.0 => format!("{seconds:.0} seconds"),
        seconds if seconds < 5400.0 => format!("{:.0} minutes", seconds / 60.0),
        seconds => format!("{:.0} hours", seconds / 3600.0),
    }
}

/// How large it is, in words.
pub(super) fn size_words(size: &Size) -> String {
    let mut text = format!(
        "{} choices, {} operating points",
        thousands(size.choices),
        thousands(size.points)
    );
    if size.draws > 0 {
        text.push_str(&format!(", {} days drawn", thousands(size.draws)));
    }
    text
}

/// How large it is, how long it takes, and the button that starts it.
pub(super) fn start(question: &Question, reckoned: &Reckoned) -> Markup {
    let size = &reckoned.size;
    html! {
        section #run aria-labelledby="run-title" data-run=(question.at_with("/progress", &looks(question))) {
            h2 id="run-title" { "Before it starts" }
            dl.figures {
                div.lead { dt { "Choices" } dd { b { (thousands(size.choices)) } } }
                div { dt { "Operating points" } dd { b { (thousands(size.points)) } } }
                @if size.draws > 0 { div { dt { "Days drawn" } dd { b { (thousands(size.draws)) } } } }
                div { dt { "Takes about" } dd { b.word { (time(reckoned.time)) } } }
            }
            (button(question, "Start"))
            p.hint.no-script { "The page answers when it is done. Closing it stops the work." }
            div.progress hidden {
                label for="run-bar" { "Working" }
                progress id="run-bar" max="1" {}
                p role="status" data-progress="" { "Starting" }
                button type="button" data-cancel="" { "Cancel" }
            }
        }
    }
}

fn looks(question: &Question) -> Vec<(&str, String)> {
    question.looked_at()
}

/// The page again, told to work.
fn button(question: &Question, label: &str) -> Markup {
    let pairs = question.pairs();
    let looks = question.looked_at();
    html! {
        form.shown method="get" action=(super::asked::of(&question.opened.slug, "")) {
            @for (key, value) in &pairs { input type="hidden" name=(key) value=(value); }
            @for (key, value) in &looks { input type="hidden" name=(key) value=(value); }
            input type="hidden" name="start" value="yes";
            div.actions { button.first { (label) } }
        }
    }
}

/// What one says that had to be given up.
pub(super) fn unfinished(question: &Question, size: &Size, of: Unfinished) -> Markup {
    html! {
        section aria-labelledby="late" {
            h2 id="late" { "It was not finished" }
            @if of.waited {
                p.caution { "Other comparisons were worked out first, and after " (time(of.after)) " this one had not begun. Nothing was lost; try again." }
            } @else {
                p.caution { "After " (time(of.after)) " it was stopped: " (size_words(size)) " take longer than a page can wait." }
            }
            p { "To narrow it:" }
            ul {
                li { "take larger steps of pump pressure, or a smaller range" }
                li { "tick fewer hoses and nozzles, those that the department would buy" }
                li { "name fewer cases, or fewer lines" }
                li { "draw fewer days" }
            }
            (button(question, "Try again"))
            p.hint { "On the command line " code { "handline compare" } " takes as long as it needs." }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_times_are_said_as_people_say_them() {
        assert_eq!(thousands(7), "7");
        assert_eq!(thousands(1_234_567), "1,234,567");
        assert_eq!(time(Duration::from_millis(400)), "a second");
        assert_eq!(time(Duration::from_secs(42)), "42 seconds");
        assert_eq!(time(Duration::from_secs(600)), "10 minutes");
        assert_eq!(time(Duration::from_secs(7200)), "2 hours");
    }
}
