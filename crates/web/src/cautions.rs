//! The usual cautions, once for all pages.

use crate::reader::Reader;
use crate::shell::{Place, page};
use crate::workbench::Workbench;
use axum::Router;
use axum::routing::get;
use maud::{Markup, html};
use std::sync::Arc;

/// What to mind, and why or how.
const CAUTIONS: [(&str, &str); 8] = [
    (
        "Reaction and hose whip",
        "Reaction figures are formula values; a measured study found the force on the person above \
         the formula in every posture. Have the people on the line before it is charged. A loose \
         line whips: shut it down and let the pressure off before a coupling is broken.",
    ),
    (
        "Service pressure",
        "Never pump above the hose's service pressure, nor above what a standpipe or an appliance \
         is rated for, whatever a page here works out.",
    ),
    (
        "Open and shut slowly",
        "Shut-offs, gates and hydrants alike. A sudden stop sends a surge through hose and mains.",
    ),
    (
        "Electricity",
        "Keep the clearance that is set where you are, and have the power cut first. Foam and solid \
         streams carry current.",
    ),
    (
        "Foam concentrate",
        "Follow its safety sheet and the maker's instructions when you handle it, and the local \
         rules before any of it can run into a drain or open water.",
    ),
    (
        "Freezing",
        "Drain what is not flowing. Ice in a shut-off, a valve or a pump holds it where it is, and \
         spray freezes underfoot.",
    ),
    (
        "Water supply",
        "A hydrant gives what it gives on the day, which may be less than on the day of its test. \
         Watch the residual pressure; keep to the least that your water supplier allows.",
    ),
    (
        "What the figures are",
        "Figures are formula or test values. They show how a line should behave; only flow and \
         pressure measured on your own hose show how it does.",
    ),
];

pub(crate) fn routes() -> Router<Arc<Workbench>> {
    Router::new().route("/cautions", get(shown))
}

async fn shown(reader: Reader) -> Markup {
    page("Cautions", &reader, &Place::default(), &cautions())
}

fn cautions() -> Markup {
    html! {
        h1 { "Cautions" }
        p.caution {
            "For planning, training and testing; never the only basis of a decision at an incident. "
            "The authority having jurisdiction, the maker's instructions and qualified instructors decide. "
            "Where they say otherwise than a page here, they are right."
        }
        dl.told-of {
            @for (name, text) in CAUTIONS {
                div { dt { (name) } dd { (text) } }
            }
        }
        p { a.button href="/" { "To the books" } }
    }
}
