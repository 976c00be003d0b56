//! A hydrant by its fields.

use super::sheet::Sheet;
use super::{Item, ItemFields};
use crate::edit::fields::shown;
use crate::keys;
use crate::model::{Book, HydrantItem, HydrantSupply, PitotReading, TestFlow};
use hydraulics::orifice::OutletShape;
use hydraulics::units::{Kind, System};
use indexmap::IndexMap;

/// The fields of an outlet that flowed: size, pitot, count, shape.
const OUTLETS: [[&str; 4]; 3] = [
    ["size_1", "pitot_1", "count_1", "shape_1"],
    ["size_2", "pitot_2", "count_2", "shape_2"],
    ["size_3", "pitot_3", "count_3", "shape_3"],
];

const SHAPES: [(&str, Option<OutletShape>); 4] = [
    ("", None),
    ("rounded", Some(OutletShape::Rounded)),
    ("square", Some(OutletShape::Square)),
    ("projecting", Some(OutletShape::Projecting)),
];

impl Item for HydrantItem {
    const KIND: &'static str = "hydrant";

    fn all(book: &Book) -> &IndexMap<String, Self> {
        &book.hydrant
    }

    fn all_mut(book: &mut Book) -> &mut IndexMap<String, Self> {
        &mut book.hydrant
    }

    fn fields(&self, reader: System) -> ItemFields {
        let mut fields = ItemFields::default();
        match &self.supply {
            HydrantSupply::SameMain(other) => fields.set("same_main_as", other.as_str()),
            HydrantSupply::Test {
                still,
                residual,
                flow,
            } => {
                fields.set("static", shown(Kind::Pressure, still, reader));
                fields.set("residual", shown(Kind::Pressure, residual, reader));
                flow_shown(&mut fields, flow, reader);
            }
        }
        fields.set("date", self.date.clone().unwrap_or_default());
        fields.about(&self.about);
        fields
    }

    fn read(sheet: &mut Sheet<'_>, was: Option<&Self>) -> Option<Self> {
        let supply = supply(sheet, was.map(|w| &w.supply));
        let date = sheet.date("date");
        Some(HydrantItem {
            loss: was.and_then(|w| w.loss.clone()),
            date,
            about: sheet.about(was.map(|w| &w.about)),
            supply: supply?,
        })
    }
}

fn flow_shown(fields: &mut ItemFields, flow: &TestFlow, reader: System) {
    match flow {
        TestFlow::Stated(flow) => fields.set("flow", shown(Kind::Flow, flow, reader)),
        TestFlow::Outlets(outlets) => {
            for ([size, pitot, count, shape], outlet) in OUTLETS.iter().zip(outlets) {
                fields.set(size, shown(Kind::Size, &outlet.size, reader));
                fields.set(pitot, shown(Kind::Pressure, &outlet.pitot, reader));
                fields.set(
                    count,
                    outlet.count.as_ref().map_or("", |count| count.text()),
                );
                let word = SHAPES.iter().find(|(_, of)| *of == outlet.shape);
                fields.set(shape, word.map_or("", |(word, _)| word));
            }
        }
    }
}

fn supply(sheet: &mut Sheet<'_>, was: Option<&HydrantSupply>) -> Option<HydrantSupply> {
    if sheet.has("same_main_as") {
        let what = "the test of another hydrant on the same main holds";
        sheet.empty(&["static", "residual", "flow"], what);
        for outlet in OUTLETS {
            sheet.empty(&outlet, what);
        }
        return Some(HydrantSupply::SameMain(sheet.get("same_main_as").into()));
    }
    let (was_still, was_residual, was_flow) = match was {
        Some(HydrantSupply::Test {
            still,
            residual,
            flow,
        }) => (Some(still), Some(residual), Some(flow)),
        _ => (None, None, None),
    };
    let still = sheet.needed((keys::HYDRANT, "static"), "static", was_still);
    let residual = sheet.needed((keys::HYDRANT, "residual"), "residual", was_residual);
    if let (Some(still), Some(residual)) = (&still, &residual)
        && residual.get() >= still.get()
    {
        let message = "a test without a drop in pressure says nothing about the main".into();
        let mend = "write the lower pressure, read while water flowed, as residual";
        sheet.form.error("residual", message, mend);
    }
    let flow = flow(sheet, was_flow);
    Some(HydrantSupply::Test {
        still: still?,
        residual: residual?,
        flow: flow?,
    })
}

fn flow(sheet: &mut Sheet<'_>, was: Option<&TestFlow>) -> Option<TestFlow> {
    let rows = OUTLETS.iter().enumerate();
    let typed: Vec<_> = rows
        .filter(|(_, keys)| keys.iter().any(|key| sheet.has(key)))
        .collect();
    if typed.is_empty() {
        let was = match was {
            Some(TestFlow::Stated(flow)) => Some(flow),
            _ => None,
        };
        let flow = sheet.needed((keys::HYDRANT, "flow"), "flow", was);
        return flow.map(TestFlow::Stated);
    }
    if sheet.has("flow") {
        let message = "both a flow and outlets read by pitot are written".to_string();
        sheet.form.error("flow", message, "keep one of the two");
    }
    let was = match was {
        Some(TestFlow::Outlets(outlets)) => outlets.as_slice(),
        _ => &[],
    };
    let mut outlets = Vec::new();
    for (index, keys) in typed {
        outlets.push(outlet(sheet, keys, was.get(index)));
    }
    // Beyond those of the form, what the book has stays.
    let rest = was.iter().skip(OUTLETS.len()).cloned().map(Some);
    let outlets: Option<Vec<PitotReading>> = outlets.into_iter().chain(rest).collect();
    outlets.map(TestFlow::Outlets)
}

fn outlet(
    sheet: &mut Sheet<'_>,
    [size, pitot, count, shape]: &[&'static str; 4],
    was: Option<&PitotReading>,
) -> Option<PitotReading> {
    let read_size = sheet.needed((keys::PITOT, "size"), size, was.map(|w| &w.size));
    let read_pitot = sheet.needed((keys::PITOT, "pitot"), pitot, was.map(|w| &w.pitot));
    let count = sheet.measure((keys::PITOT, "count"), count, None);
    let shape = sheet.word(shape, SHAPES).flatten();
    Some(PitotReading {
        size: read_size?,
        pitot: read_pitot?,
        coefficient: was
            .and_then(|w| w.coefficient.clone())
            .filter(|_| shape.is_none()),
        shape,
        count,
    })
}
