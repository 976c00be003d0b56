//! What the department measured on its nozzles.

use super::walk::{Reader, Table, blank};
use crate::keys;
use crate::model::{MeasuredLaw, MeasuredNozzle, NozzleKind, listed};
use crate::problem::nearest;
use indexmap::IndexMap;

/// The tests of a nozzle of `kind`, by setting.
pub(super) fn measured(
    reader: &mut Reader,
    table: &Table<'_>,
    kind: &NozzleKind,
) -> IndexMap<String, MeasuredNozzle> {
    let mut all = IndexMap::new();
    let Some(value) = table.value("measured") else {
        return all;
    };
    let word = table.value("kind").and_then(|v| v.get_ref().as_str());
    // What was measured on an unknown kind of nozzle is not known either.
    if word != Some(kind.word()) {
        return all;
    }
    let what = table.what("measured");
    match kind {
        NozzleKind::SmoothBore { .. } => {
            let inner = reader.table(value, keys::MEASURED_TIP, what);
            all.extend(inner.map(|t| (String::new(), tip(reader, &t))));
        }
        NozzleKind::Fixed { .. } => {
            let inner = reader.table(value, keys::MEASURED_FLOW, what);
            all.extend(inner.map(|t| (String::new(), flow(reader, &t))));
        }
        NozzleKind::Selectable { .. } => {
            for (name, t) in reader.entries(table, "measured", value, keys::MEASURED_FLOW) {
                let test = flow(reader, &t);
                setting(reader, table, &t, (name, kind), test, &mut all);
            }
        }
        NozzleKind::Automatic { .. } => {
            for (name, t) in reader.entries(table, "measured", value, keys::MEASURED_RANGE) {
                let test = range(reader, &t);
                setting(reader, table, &t, (name, kind), test, &mut all);
            }
        }
    }
    all
}

fn tip(reader: &mut Reader, table: &Table<'_>) -> MeasuredNozzle {
    let law = MeasuredLaw::Coefficient {
        coefficient: reader.quantity_or(table, "coefficient"),
        uncertainty: reader.quantity(table, "uncertainty"),
    };
    said(reader, table, law)
}

fn flow(reader: &mut Reader, table: &Table<'_>) -> MeasuredNozzle {
    let law = MeasuredLaw::Flow {
        flow: reader.quantity_or(table, "flow"),
        pressure: reader.quantity(table, "pressure"),
        uncertainty: reader.quantity(table, "uncertainty"),
    };
    said(reader, table, law)
}

fn range(reader: &mut Reader, table: &Table<'_>) -> MeasuredNozzle {
    let flow = reader.quantity_pair(table, "flow");
    let pressure = reader.quantity_pair(table, "pressure");
    let whole = flow.is_some() && pressure.is_some();
    let law = MeasuredLaw::Range {
        flow: flow.unwrap_or_else(|| [blank(), blank()]),
        pressure: pressure.unwrap_or_else(|| [blank(), blank()]),
        band: reader.quantity(table, "band"),
        uncertainty: reader.quantity(table, "uncertainty"),
    };
    let test = said(reader, table, law);
    if whole && let Err(error) = test.range() {
        reader.error(
            "bad_range",
            table.span.clone(),
            format!("{}: {error}", table.what),
            "the nozzle must open, not close, from the low end to the high end",
        );
    }
    test
}

fn said(reader: &mut Reader, table: &Table<'_>, law: MeasuredLaw) -> MeasuredNozzle {
    MeasuredNozzle {
        law,
        date: reader.date(table, "date"),
        source: reader.text(table, "source"),
    }
}

/// Puts the test of a setting with the others, where the nozzle has that setting.
fn setting(
    reader: &mut Reader,
    table: &Table<'_>,
    inner: &Table<'_>,
    (name, kind): (String, &NozzleKind),
    test: MeasuredNozzle,
    all: &mut IndexMap<String, MeasuredNozzle>,
) {
    let have = kind.settings();
    if have.contains(&name.as_str()) {
        all.insert(name, test);
        return;
    }
    let mend = match nearest(&name, have.iter().copied()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None if have.is_empty() => "write its settings first".into(),
        None => format!("its settings are {}", listed(&have)),
    };
    reader.error(
        "unknown_setting",
        inner.span.clone(),
        format!(
            "{} has no setting \"{name}\" that could be measured",
            table.what
        ),
        mend,
    );
}
