//! Answers as text a firefighter can read, and as JSON.

mod carried;
mod chosen;
mod days;
mod line;
mod other;
mod people;
mod prove;
mod scene;
mod sheets;
mod table;

pub use carried::carried;
pub use chosen::{Asked, answer, chosen, left_out, long, solve_commands};
pub use days::Days;
pub use line::{book, compared, line};
pub use other::{chart, contents, extended, sized, sized_json};
pub use people::people;
pub use prove::{accepted, plan, proved, unused};
pub use scene::{scene, scene_compared};
pub use sheets::{code, nothing_printed, printed, register};

pub use table::fold;

use book::Problems;
use miette::{GraphicalReportHandler, GraphicalTheme};
use serde_json::Value;

/// The cautions below every answer.
pub const CAUTIONS: &str = "\
Cautions: for planning, training and testing. Figures are formula or test values.
Mind reaction and hose whip; never pump above the hose's service pressure; open
and shut slowly. The authority having jurisdiction, the maker's instructions and
qualified instructors decide.
";

/// JSON with its newline.
pub fn json(value: &Value) -> String {
    format!("{value:#}\n")
}

/// Every problem with its line of the file, and how many there are.
pub fn problems(problems: &Problems) -> String {
    let handler = GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor())
        .with_links(false)
        .with_width(90);
    let mut text = String::new();
    for problem in problems.list() {
        let place = format!(
            "{}:{}:{} {}\n",
            problems.file(),
            problem.line,
            problem.column,
            problem.severity.word()
        );
        text.push_str(&place);
        if handler.render_report(&mut text, problem).is_err() {
            text.push_str(&problem.message);
        }
        text.push('\n');
    }
    if problems.left_off() > 0 {
        text.push_str(&format!("... and {} more problems\n", problems.left_off()));
    }
    text
}
