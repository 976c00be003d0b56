//! What a nozzle must do, in neutral words that a buyer can put out for bids.

mod wanted;
mod words;

use book::{Book, NozzleItem};
use serde_json::json;
use study::figure;

use super::common::cautions;
use super::{Kind, Sheet, nozzles, unknown};
use crate::paper::{PaperError, Units};

/// The statement for `nozzle`: required flows and pressures with their tolerances, the
/// reaction that the department's crews can hold, couplings and shut-off, the tests to
/// pass, the standards to meet, and what a bidder must state. It speaks of "the nozzle":
/// the book's name for it stands at the head alone.
///
/// # Errors
/// [`PaperError::Unknown`] when neither the book nor the catalogue has such a nozzle.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n";
/// let book = book::read(text, "example.toml")?;
/// let sheet = paper::purchase_statement(&book, "150 gpm at 50 psi", paper::Units::Us)?;
/// let flow = &sheet.body["wanted"][0];
/// assert_eq!(flow["must"], "150 gpm at 50 psi");
/// assert_eq!(flow["within"], "150 to 165 gpm at 50 psi (0 to +10 % of the flow)");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn purchase_statement(book: &Book, nozzle: &str, units: Units) -> Result<Sheet, PaperError> {
    let Some(found) = book.nozzle(nozzle) else {
        return Err(unknown("nozzle", nozzle, nozzles::known(book)));
    };
    let item = found.item;
    let title = words::title(item);
    let mut sheet = Sheet::new(Kind::PurchaseStatement, book, (nozzle, title), units);
    sheet
        .head
        .push(("In the book of the department", nozzle.into()));
    sheet.invented |= item.about.invented;
    sheet.cautions = cautions(item.foam || !item.attachment.is_empty());
    let wanted = wanted::rows(book, item, units);
    for row in &wanted {
        sheet.tell(format!("{}: must", row.what), row.must.as_str());
        sheet.tell(format!("{}: within", row.what), row.within.as_str());
    }
    sheet.sources = sources(book, item, units);
    sheet.body = json!({
        "wanted": wanted,
        "tests": words::tests(item),
        "standards": words::STANDARDS,
        "state": words::to_state(item),
        "delivery": words::DELIVERY,
        "memory": words::MEMORY,
    });
    Ok(sheet)
}

fn sources(book: &Book, item: &NozzleItem, units: Units) -> Vec<String> {
    let invented = match item.about.invented {
        true => {
            "Flows and pressures: the department's book; invented, for a demonstration. Put your own in their place."
        }
        false => "Flows and pressures: the department's book.",
    };
    let limits = book.crew_limits();
    let limits = limits.map(|limit| units.show(figure::force(limit)).text());
    let whose = match &book.crew {
        Some(crew) => crew
            .about
            .source
            .as_deref()
            .unwrap_or("the department's book"),
        None => "the usual ones, for the book has none of its own",
    };
    vec![
        invented.into(),
        format!(
            "What one, two and three people can hold, {}: {}.",
            limits.join(", "),
            whose.trim_end_matches('.')
        ),
        "Reaction by the trade's form; reach worked out for a straight stream in still air.".into(),
    ]
}
