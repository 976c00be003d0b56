//! A test in words and as a table.

use super::{At, Shown};
use crate::drawing::Table;
use hydraulics::units::{Kind, Measure, Ratio};
use study::figure::Figure;

/// Numbers of points that a sentence bears.
const LISTED: usize = 12;

/// A value to a decimal more than its kind usually has: gauges of a test are read so.
fn fine(shown: &Shown<'_>, kind: Kind, si: f64) -> String {
    let figure = Figure::new(kind, Ratio::of_si(si)).fine();
    figure.show(shown.system)
}

/// What a point says when it is asked.
pub fn said(shown: &Shown<'_>, point: &At<'_>) -> String {
    let of = |(name, kind): (&str, Kind), [value, bar]: [f64; 2]| {
        format!(
            "{name} {} ± {}",
            fine(shown, kind, value),
            fine(shown, kind, bar)
        )
    };
    let seen = point.point;
    let apart = match seen.stands_out {
        true => "; it stands out, or was left out",
        false => "",
    };
    format!(
        "Point {}: {}, {}, {}{apart}",
        seen.point,
        of(shown.drawn.x, seen.x),
        of(shown.drawn.y, seen.y),
        off(shown, seen.residual)
    )
}

/// "1.2 psi above the fit".
fn off(shown: &Shown<'_>, residual: f64) -> String {
    if !residual.is_finite() {
        return "not fitted".into();
    }
    let by = fine(shown, shown.drawn.y.1, residual.abs());
    let nothing = !by.contains(|c: char| ('1'..='9').contains(&c));
    match residual >= 0.0 {
        _ if nothing => "on the fit".into(),
        true => format!("{by} above the fit"),
        false => format!("{by} below the fit"),
    }
}

pub fn caption(shown: &Shown<'_>) -> String {
    let count = shown.points.len();
    let mut caption = format!(
        "{}: {count} {} with bars of 95 %",
        shown.heading(),
        if count == 1 { "point" } else { "points" }
    );
    if !shown.fit.is_empty() {
        caption.push_str(", the fit with its band of 95 %");
    }
    if !shown.book.is_empty() {
        caption.push_str(", and what the book says, dashed");
    }
    caption.push_str(
        ". Below: the residuals, measured less expected, with the bars of both readings.",
    );
    caption.push_str(&furthest(shown));
    caption.push_str(&apart(shown));
    caption
}

fn furthest(shown: &Shown<'_>) -> String {
    let known = shown.points.iter().filter(|p| p.residual.is_finite());
    let most = known.max_by(|a, b| a.residual.abs().total_cmp(&b.residual.abs()));
    most.map_or(String::new(), |most| {
        let seen = most.point;
        format!(
            " The furthest off is point {}, {}.",
            seen.point,
            off(shown, seen.residual)
        )
    })
}

fn apart(shown: &Shown<'_>) -> String {
    let apart = shown.points.iter().filter(|p| p.point.stands_out);
    let numbers: Vec<String> = apart.map(|p| p.point.point.to_string()).collect();
    let (listed, more) = numbers.split_at(numbers.len().min(LISTED));
    match (listed, more.len()) {
        ([], _) => String::new(),
        ([one], _) => format!(" Point {one} stands out, or was left out."),
        (_, 0) => format!(" Points {} stand out, or were left out.", listed.join(", ")),
        (_, n) => format!(
            " Points {} and {n} more stand out, or were left out.",
            listed.join(", ")
        ),
    }
}

pub fn table(shown: &Shown<'_>) -> Table {
    let (x, y) = (
        super::capital(shown.drawn.x.0),
        super::capital(shown.drawn.y.0),
    );
    let (along, up) = (format!("{x}, ±"), format!("{y}, ±"));
    let mut table = Table::new(&["Point", &x, &along, &y, &up, "Residual", "Seen"]);
    let (along, up) = (shown.drawn.x.1, shown.drawn.y.1);
    let row = |point: &At<'_>| {
        let seen = point.point;
        vec![
            seen.point.to_string(),
            fine(shown, along, seen.x[0]),
            fine(shown, along, seen.x[1]),
            fine(shown, up, seen.y[0]),
            fine(shown, up, seen.y[1]),
            match seen.residual.is_finite() {
                true => fine(shown, up, seen.residual),
                false => "not fitted".into(),
            },
            if seen.stands_out {
                "stands out, or was left out"
            } else {
                ""
            }
            .into(),
        ]
    };
    table.rows = shown.points.iter().map(row).collect();
    table
}
