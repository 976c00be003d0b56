//! What the department measured on its nozzles.

use super::{key, pair, put, quoted, stated, table};
use crate::model::{MeasuredLaw, MeasuredNozzle, NozzleItem};

pub(super) fn measured(out: &mut String, item: &NozzleItem) {
    for (name, test) in &item.measured {
        let at = match name.as_str() {
            "" => "measured".to_string(),
            name => format!("measured.{}", key(name)),
        };
        put(out, &at, &one(test));
    }
}

fn one(test: &MeasuredNozzle) -> String {
    let law = match &test.law {
        MeasuredLaw::Coefficient {
            coefficient,
            uncertainty,
        } => vec![
            Some(("coefficient", stated(coefficient))),
            uncertainty.as_ref().map(|u| ("uncertainty", stated(u))),
        ],
        MeasuredLaw::Flow {
            flow,
            pressure,
            uncertainty,
        } => vec![
            Some(("flow", stated(flow))),
            pressure.as_ref().map(|p| ("pressure", stated(p))),
            uncertainty.as_ref().map(|u| ("uncertainty", stated(u))),
        ],
        MeasuredLaw::Range {
            flow,
            pressure,
            band,
            uncertainty,
        } => vec![
            Some(("flow", pair(flow))),
            Some(("pressure", pair(pressure))),
            band.as_ref().map(|b| ("band", stated(b))),
            uncertainty.as_ref().map(|u| ("uncertainty", stated(u))),
        ],
    };
    let said = [
        test.date.as_ref().map(|d| ("date", quoted(d))),
        test.source.as_ref().map(|s| ("source", quoted(s))),
    ];
    table(law.into_iter().chain(said))
}
