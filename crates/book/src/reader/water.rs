//! Hydrants, open water, shuttles and standpipes.

use super::items::loss_at;
use super::walk::{Reader, Table, blank};
use crate::model::{
    Book, DraftItem, HydrantItem, HydrantSupply, LossWritten, PitotReading, RegulatingOutlets,
    ShuttleItem, StandpipeItem, Stated, TestFlow, listed,
};
use crate::problem::nearest;
use hydraulics::orifice::OutletShape;
use hydraulics::units::{Pressure, Ratio};

pub(super) fn hydrant(reader: &mut Reader, table: &Table<'_>) -> HydrantItem {
    let supply = match reader.name_of(table, "same_main_as") {
        Some(other) => {
            for key in ["static", "residual", "flow", "outlets"] {
                reader.not_with(table, key, "same_main_as");
            }
            HydrantSupply::SameMain(other)
        }
        None => test(reader, table),
    };
    HydrantItem {
        supply,
        loss: loss(reader, table, "loss"),
        date: reader.date(table, "date"),
        about: reader.about(table),
    }
}

fn test(reader: &mut Reader, table: &Table<'_>) -> HydrantSupply {
    for (key, example) in [
        ("static", "static = \"70 psi\""),
        ("residual", "residual = \"50 psi\""),
    ] {
        if !table.has(key) {
            reader.missing(table, key, example);
        }
    }
    let still: Option<Stated<Pressure>> = reader.quantity(table, "static");
    let residual = reader.quantity(table, "residual");
    if let (Some(still), Some(residual)) = (&still, &residual) {
        no_drop(reader, table, (still, residual));
    }
    HydrantSupply::Test {
        still: still.unwrap_or_else(blank),
        residual: residual.unwrap_or_else(blank),
        flow: test_flow(reader, table),
    }
}

fn no_drop(
    reader: &mut Reader,
    table: &Table<'_>,
    (still, residual): (&Stated<Pressure>, &Stated<Pressure>),
) {
    if residual.get() < still.get() {
        return;
    }
    let (what, low, high) = (&table.what, residual.text(), still.text());
    reader.error(
        "no_drop",
        table.at("residual"),
        format!(
            "{what} has a residual pressure of {low} at a static pressure of {high}: a test without a drop says nothing about its main"
        ),
        "write the lower pressure, read while water flowed, as residual",
    );
}

fn test_flow(reader: &mut Reader, table: &Table<'_>) -> TestFlow {
    const EXAMPLE: &str =
        "flow = \"1000 gpm\", or outlets = [{ size = \"2.5 in\", pitot = \"28 psi\" }]";
    reader.not_with(table, "flow", "outlets");
    if !table.has("outlets") {
        if !table.has("flow") {
            reader.missing(table, "flow", EXAMPLE);
        }
        return TestFlow::Stated(reader.quantity_or(table, "flow"));
    }
    let outlets = table.value("outlets").map(|v| v.get_ref());
    if outlets
        .and_then(|v| v.as_array())
        .is_some_and(|all| all.is_empty())
    {
        let message = format!("{} has no outlets that flowed", table.what);
        let mend = format!("write {EXAMPLE}");
        reader.error("empty", table.at("outlets"), message, mend);
    }
    let outlets = reader.tables(table, "outlets");
    TestFlow::Outlets(outlets.iter().map(|t| pitot(reader, t)).collect())
}

fn pitot(reader: &mut Reader, table: &Table<'_>) -> PitotReading {
    reader.not_with(table, "coefficient", "shape");
    let shape = reader.word(table, "shape").map(|word| match word {
        "square" => OutletShape::Square,
        "projecting" => OutletShape::Projecting,
        _ => OutletShape::Rounded,
    });
    PitotReading {
        size: reader.quantity_or(table, "size"),
        pitot: reader.quantity_or(table, "pitot"),
        shape,
        coefficient: reader.quantity(table, "coefficient"),
        count: reader.quantity(table, "count"),
    }
}

fn loss(reader: &mut Reader, table: &Table<'_>, key: &str) -> Option<LossWritten> {
    let inner = reader.inner(table, key)?;
    Some(loss_at(reader, &inner))
}

pub(super) fn draft(reader: &mut Reader, table: &Table<'_>) -> DraftItem {
    DraftItem {
        lift: reader.quantity_or(table, "lift"),
        altitude: reader.quantity(table, "altitude"),
        loss: loss(reader, table, "loss"),
        about: reader.about(table),
    }
}

pub(super) fn shuttle(reader: &mut Reader, table: &Table<'_>) -> ShuttleItem {
    ShuttleItem {
        tankers: reader.quantity_or(table, "tankers"),
        tank: reader.quantity_or(table, "tank"),
        usable: reader.quantity(table, "usable"),
        distance: reader.quantity_or(table, "distance"),
        fill: reader.quantity_or(table, "fill"),
        dump: reader.quantity_or(table, "dump"),
        handling: reader.quantity(table, "handling"),
        dump_tank: reader.quantity_or(table, "dump_tank"),
        lift: reader.quantity(table, "lift"),
        loss: loss(reader, table, "loss"),
        about: reader.about(table),
    }
}

pub(super) fn standpipe(reader: &mut Reader, table: &Table<'_>) -> StandpipeItem {
    let floors: Option<Stated<Ratio>> = reader.quantity(table, "floors");
    let regulating = reader.tables(table, "regulating");
    StandpipeItem {
        regulating: regulating
            .iter()
            .filter_map(|t| self::regulating(reader, t, floors.as_ref()))
            .collect(),
        floors: floors.unwrap_or_else(blank),
        floor_height: reader.quantity_or(table, "floor_height"),
        riser: reader.quantity_or(table, "riser"),
        hazen_williams: reader.quantity(table, "hazen_williams"),
        inlet_loss: loss(reader, table, "inlet_loss"),
        outlet_loss: loss(reader, table, "outlet_loss"),
        required: reader.quantity(table, "required"),
        rated_pressure: reader.quantity(table, "rated_pressure"),
        about: reader.about(table),
    }
}

fn regulating(
    reader: &mut Reader,
    table: &Table<'_>,
    top: Option<&Stated<Ratio>>,
) -> Option<RegulatingOutlets> {
    let floors: Option<[Stated<Ratio>; 2]> = reader.quantity_pair(table, "floors");
    let setting = reader.quantity(table, "setting");
    let highest = floors.as_ref().map(|[_, high]| high);
    if let (Some(high), Some(top)) = (highest, top)
        && high.get() > top.get()
    {
        let (what, high, top) = (&table.what, high.text(), top.text());
        let message = format!("{what} is on floors up to {high}, but there are {top} floors");
        let mend = "check these floors, or the standpipe's floors";
        reader.error("out_of_range", table.at("floors"), message, mend);
    }
    Some(RegulatingOutlets {
        floors: floors?,
        setting: setting?,
    })
}

/// Refuses a hydrant on the main of one that is not there, or has no test.
pub(super) fn same_mains(reader: &mut Reader, book: &Book, hydrants: &[(String, Table<'_>)]) {
    for (name, table) in hydrants {
        if reader.full() {
            return;
        }
        let supply = book.hydrant.get(name).map(|h| &h.supply);
        let Some(HydrantSupply::SameMain(wanted)) = supply else {
            continue;
        };
        let (message, mend) = match book.hydrant.get(wanted).map(|h| &h.supply) {
            Some(HydrantSupply::Test { .. }) => continue,
            Some(HydrantSupply::SameMain(_)) => (
                format!("hydrant \"{wanted}\" has no test of its own"),
                "name the hydrant that was tested".to_string(),
            ),
            None => {
                let tested = |h: &HydrantItem| matches!(h.supply, HydrantSupply::Test { .. });
                let all = book.hydrant.iter().filter(|(_, h)| tested(h));
                let names: Vec<&str> = all.map(|(name, _)| name.as_str()).collect();
                let mend = match (nearest(wanted, names.iter().copied()), names.as_slice()) {
                    (Some(near), _) => format!("did you mean \"{near}\"?"),
                    (None, []) => "add the hydrant that was tested".into(),
                    (None, names) => format!("those with a test are {}", listed(names)),
                };
                (format!("there is no hydrant \"{wanted}\""), mend)
            }
        };
        let message = format!("{}: {message}", table.what);
        reader.error("unknown_name", table.at("same_main_as"), message, mend);
    }
}
