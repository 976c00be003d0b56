//! The nomogram of a hose and the nozzles that lines use on it.

use book::{Book, Which};
use hydraulics::units::{Kind as Unit, Length, Measure, System};
use picture::{Ladder, Nomogram};
use serde_json::{Value, json};
use study::answer::CoefficientUsed;
use study::{NozzleOn, figure};

use super::common::cautions;
use super::{Kind, Sheet, unknown};
use crate::paper::{PaperError, Units};

/// The nomogram of `hose`: a straight edge across length and flow reads the friction loss,
/// and ladders beside the flow give the nozzle pressure. A hose of which there can be none
/// has a sheet that says why.
///
/// # Errors
/// [`PaperError::Unknown`] when the book has no such hose, and no line uses it.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n[line.left]\n\
///     parts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n\
///     aim = { tip_pressure = '50 psi' }\n";
/// let book = book::read(text, "example.toml")?;
/// let sheet = paper::nomogram(&book, "2.5 in", paper::Units::Us)?;
/// // 266 gpm (case NZ-U-21); 2 x 2.66^2 x 2 = 28 psi.
/// assert_eq!(sheet.body["example"]["loss"], "28 psi");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn nomogram(book: &Book, hose: &str, units: Units) -> Result<Sheet, PaperError> {
    let there: Vec<String> = study::hoses(book).into_iter().map(String::from).collect();
    let found = book
        .hose(hose)
        .filter(|_| there.iter().any(|name| name == hose));
    let Some(found) = found else {
        return Err(unknown("hose", hose, there.iter()));
    };
    let title = format!("Hose {hose}");
    let mut sheet = Sheet::new(Kind::Nomogram, book, (hose, &title), units);
    let size = &found.item.size;
    sheet.head.push(("Hose", hose.into()));
    sheet.head.push(("Size", size.text().into()));
    sheet.cautions = cautions(false);
    let nozzles = study::nozzles_on(book, hose);
    let chart = picture::nomogram(book, hose, &nozzles, units.first(), units.second());
    match (chart, book.friction(hose, Which::Best)) {
        (Some(chart), Some(used)) => {
            let coefficient = CoefficientUsed {
                hose: hose.into(),
                used,
                spread: book.spread(hose),
            };
            sheet.rests_on(&[coefficient], None);
            fill(&mut sheet, book, hose, chart);
        }
        _ => {
            sheet.tell("no nomogram", "no friction that rises with flow");
            sheet.body = json!({ "refused": {
                "weight": "Note",
                "text": "There is no nomogram of this hose: the book gives it no friction that rises with flow.",
                "mend": "Give it a coefficient, or a bore and a roughness, and print again.",
            }});
        }
    }
    Ok(sheet)
}

fn fill(sheet: &mut Sheet, book: &Book, hose: &str, chart: Nomogram) {
    let units = sheet.units;
    for (flow, loss) in chart
        .drawing
        .table
        .rows
        .iter()
        .filter_map(|row| row.first().zip(row.get(1)))
    {
        let head = chart.drawing.table.head.get(1).map_or("", String::as_str);
        sheet.tell(format!("{head} at {flow}"), loss.as_str());
    }
    let service = book
        .hose(hose)
        .and_then(|found| found.item.service_pressure.as_ref());
    let service = service.map(|limit| figure::pressure(limit.get()));
    if let Some(limit) = service {
        sheet.tell("service pressure", limit);
    }
    let (low, high) = chart.lengths;
    let error = figure::share(chart.half_millimetre).fine();
    sheet.tell("half a millimetre", error);
    let show = |length| units.show(figure::length(length)).text();
    sheet.body = json!({
        "width": chart.mm,
        "lengths": ([low, high].map(show)),
        "error": units.show(error).text(),
        "service": service.map(|limit| units.show(limit).text()),
        "bar": if units.first() == System::Us { "4 in" } else { "100 mm" },
        "example": example(sheet, book, &chart),
        "rises": rises(sheet, book),
        "family": chart.ladders.iter().map(|ladder| family(sheet, ladder)).collect::<Vec<_>>(),
        "left_out": chart.left_out,
    });
    sheet.drawings = vec![chart.drawing.into()];
}

/// The dashed line, and the sum that goes with it.
fn example(sheet: &mut Sheet, book: &Book, chart: &Nomogram) -> Value {
    let units = sheet.units;
    let (length, flow, loss) = chart.example;
    let shown = |p| units.show(figure::pressure(p)).text();
    sheet.tell("example: friction loss", figure::pressure(loss));
    let mut example = json!({
        "length": units.show(figure::length(length)).text(),
        "flow": units.show(figure::flow(flow)).text(),
        "loss": shown(loss),
    });
    if let Some(ladder) = chart.ladders.first() {
        let rise = steps(units.first())(2);
        let head = book.water().static_pressure(rise);
        let tip = ladder.on.law.pressure(flow).pressure;
        sheet.tell(
            "example: pump pressure",
            figure::pressure(tip + loss + head),
        );
        example["sum"] = json!({
            "nozzle": ladder.on.called(),
            "tip": shown(tip),
            "rise": units.show(figure::length(rise)).text(),
            "head": shown(head),
            "pump": shown(tip + loss + head),
        });
    }
    example
}

/// Round rises: tens of feet, threes of metres.
fn steps(system: System) -> impl Fn(u8) -> Length {
    let step = if system == System::Us { 10.0 } else { 3.0 };
    move |n| Length::of_si(Unit::Length.unit(system).to_si(step * f64::from(n)))
}

/// What each rise takes.
fn rises(sheet: &mut Sheet, book: &Book) -> Value {
    let units = sheet.units;
    let rise = steps(units.first());
    let rows = [1, 2, 3, 4, 5, 6, 8, 10].map(|n| {
        let head = figure::pressure(book.water().static_pressure(rise(n)));
        let rise = figure::length(rise(n));
        sheet.tell(format!("rise {}", rise.show(units.first())), head);
        json!([units.show(rise), units.show(head)])
    });
    json!(rows)
}

fn family(sheet: &mut Sheet, ladder: &Ladder) -> Value {
    let units = sheet.units;
    let NozzleOn {
        flow, law, line, ..
    } = &ladder.on;
    let (flow, tip) = (
        figure::flow(*flow),
        figure::pressure(law.pressure(*flow).pressure),
    );
    let name = ladder.on.called();
    sheet.tell(format!("{name}: flow"), flow);
    sheet.tell(format!("{name}: tip pressure"), tip);
    json!({
        "letter": ladder.letter.to_string(),
        "name": name,
        "line": line,
        "flow": units.show(flow).text(),
        "tip": units.show(tip).text(),
    })
}
