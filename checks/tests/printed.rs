//! Published friction tables, put on a line card and read back from its PDF.

use checks::{Mark, Row, table};
use hydraulics::units::{Kind, Pressure, parse};
use paper::{Paper, Size, Units};

/// What is wrong with making or reading a card.
type Wrong = Box<dyn std::error::Error>;

/// A book with one plain line: the row's hose, its length, and a nozzle rated at its
/// flow.
fn plain_line(row: &Row, units: Units) -> Result<book::Book, Wrong> {
    let us = units == Units::Us;
    let (column, c) = match us {
        true => ("gpm", row.number("coefficient_us")?),
        false => ("L/min", row.number("coefficient_metric")?),
    };
    let flow = row.number(if us { "flow_gpm" } else { "flow_l_min" })?;
    let length = row.number(if us { "length_ft" } else { "length_m" })?;
    let (system, at, far) = match us {
        true => ("us", "100 psi", "ft"),
        false => ("si", "7 bar", "m"),
    };
    let text = format!(
        "[book]\nname = 'Example'\nunits = '{system}'\n\
         [hose.plain]\nsize = '65 mm'\ncoefficient = {c}\nsource = 'the table'\n\
         [nozzle.plain]\nkind = 'fixed'\nflow = '{flow} {column}'\npressure = '{at}'\n\
         [line.plain]\naim = {{ flow = '{flow} {column}' }}\n\
         parts = [{{ hose = 'plain', length = '{length} {far}' }}, {{ nozzle = 'plain' }}]\n"
    );
    Ok(book::read(text.as_bytes(), "plain.toml")?)
}

/// The pump pressure that the card of the line says, in print.
fn printed_pump_pressure(row: &Row, units: Units) -> Result<Pressure, Wrong> {
    let card = paper::line_card(&plain_line(row, units)?, "plain", units)?;
    let on = Paper {
        size: Size::Pocket,
        date: "2026-05-11".into(),
        ..Paper::default()
    };
    let text = pdf_extract::extract_text_from_mem(&paper::press(&card, &on)?.pdf)?;
    let words: Vec<&str> = text.split_whitespace().collect();
    let unit = if units == Units::Us { "psi" } else { "bar" };
    let found = words.iter().position(|word| *word == unit);
    let number = found
        .and_then(|at| at.checked_sub(1))
        .and_then(|at| words.get(at));
    // Its heading stands close before it.
    let number = number.map(|n| n.trim_start_matches(|c: char| !c.is_ascii_digit()));
    let number = number.ok_or_else(|| format!("no pump pressure in {text}"))?;
    Ok(parse::<Pressure>(
        Kind::Pressure,
        &format!("{number} {unit}"),
    )?)
}

/// A line for each row whose loss, printed as pump pressure less nozzle pressure, is not
/// the table's.
fn misses(name: &str, units: Units, nozzle: Pressure, step: f64) -> Result<usize, Wrong> {
    let rows = table(name)?;
    let rows = rows.iter().filter(|row| row.mark == Mark::Seen);
    let rows = rows.filter(|row| row.method().ok() == Some("coefficient"));
    let mut wrong = Vec::new();
    let mut seen = 0;
    for row in rows {
        let loss = printed_pump_pressure(row, units)? - nozzle;
        let unit = if units == Units::Us {
            6_894.757_293_168
        } else {
            1000.0
        };
        let (value, expected) = (loss.value / unit, row.number("expected")?);
        // The table's rounding and the card's.
        if (value - expected).abs() > row.number("tolerance")? + step / 2.0 {
            wrong.push(format!("{row:?}: printed {value}, in the table {expected}"));
        }
        seen += 1;
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(seen)
}

/// Lesson 3-8 of a driver course (see the table for its source) and others: psi by US
/// coefficients. The card prints whole psi.
#[test]
fn book_printed_cards_say_the_us_friction_tables() -> Result<(), Wrong> {
    let nozzle = parse::<Pressure>(Kind::Pressure, "100 psi")?;
    assert!(misses("friction_us", Units::Us, nozzle, 1.0)? >= 8);
    Ok(())
}

/// The loss tables of a national fire college (see the table for its source): kPa by
/// metric coefficients. The card prints tenths of a bar.
#[test]
fn book_printed_cards_say_the_metric_friction_tables() -> Result<(), Wrong> {
    let nozzle = parse::<Pressure>(Kind::Pressure, "7 bar")?;
    assert!(misses("friction_metric", Units::Si, nozzle, 10.0)? >= 30);
    Ok(())
}
