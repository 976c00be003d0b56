//! A rig by its fields.

use super::sheet::{Sheet, listed};
use super::{Item, ItemFields};
use crate::edit::fields::{field, shown};
use crate::keys;
use crate::model::{Book, RigItem, Stated};
use hydraulics::units::{Kind, Pressure, System, VolumeRate};
use indexmap::IndexMap;

impl Item for RigItem {
    const KIND: &'static str = "rig";

    fn all(book: &Book) -> &IndexMap<String, Self> {
        &book.rig
    }

    fn all_mut(book: &mut Book) -> &mut IndexMap<String, Self> {
        &mut book.rig
    }

    fn fields(&self, reader: System) -> ItemFields {
        let mut fields = ItemFields::default();
        let flow = |flow: &Option<_>| field(Kind::Flow, flow.as_ref(), reader);
        let volume = |volume: &Option<_>| field(Kind::Volume, volume.as_ref(), reader);
        let rated_at = field(Kind::Pressure, self.pump_rated_at.as_ref(), reader);
        fields.set("pump", flow(&self.pump));
        fields.set("pump_rated_at", rated_at);
        fields.set("pump_points", points_shown(&self.pump_points, reader));
        fields.set("pump_tested", self.pump_tested.clone().unwrap_or_default());
        fields.set("tank", volume(&self.tank));
        fields.set("tank_flow", flow(&self.tank_flow));
        fields.set("concentrate", volume(&self.concentrate));
        fields.set("proportioner", flow(&self.proportioner));
        fields.about(&self.about);
        fields
    }

    fn read(sheet: &mut Sheet<'_>, was: Option<&Self>) -> Option<Self> {
        let of =
            |get: fn(&RigItem) -> &Option<Stated<VolumeRate>>| was.and_then(|w| get(w).as_ref());
        let keys = keys::RIG;
        let pump_tested = sheet.date("pump_tested");
        if pump_tested.is_some() && !sheet.has("pump_points") {
            let message = "the day of a test is written, but not what it gave".into();
            let mend = "write its points, or leave the day empty";
            sheet.form.error("pump_tested", message, mend);
        }
        Some(RigItem {
            pump: sheet.quantity(keys, "pump", of(|w| &w.pump)),
            pump_rated_at: sheet.quantity(
                keys,
                "pump_rated_at",
                was.and_then(|w| w.pump_rated_at.as_ref()),
            ),
            pump_points: points(sheet, was.map_or(&[], |w| &w.pump_points)),
            pump_tested,
            tank: sheet.quantity(keys, "tank", was.and_then(|w| w.tank.as_ref())),
            tank_flow: sheet.quantity(keys, "tank_flow", of(|w| &w.tank_flow)),
            concentrate: sheet.quantity(
                keys,
                "concentrate",
                was.and_then(|w| w.concentrate.as_ref()),
            ),
            proportioner: sheet.quantity(keys, "proportioner", of(|w| &w.proportioner)),
            about: sheet.about(was.map(|w| &w.about)),
        })
    }
}

type Points = [(Stated<VolumeRate>, Stated<Pressure>)];

fn points_shown(points: &Points, reader: System) -> String {
    let point = |(flow, pressure): &(_, _)| {
        let flow = shown(Kind::Flow, flow, reader);
        format!("{flow} at {}", shown(Kind::Pressure, pressure, reader))
    };
    let points: Vec<String> = points.iter().map(point).collect();
    points.join("; ")
}

fn points(sheet: &mut Sheet<'_>, was: &Points) -> Vec<(Stated<VolumeRate>, Stated<Pressure>)> {
    let (text, reader) = (sheet.get("pump_points"), sheet.form.reader);
    if text == points_shown(was, reader) {
        return was.to_vec();
    }
    let mut points = Vec::new();
    for text in listed(text) {
        let Some((flow, pressure)) = text.split_once(" at ") else {
            let point = |kind: Kind| kind.example(reader);
            let mend = format!(
                "write each point as {} at {}, with ; between them",
                point(Kind::Flow),
                point(Kind::Pressure)
            );
            let message = format!("\"{text}\" is no flow at a pressure");
            sheet.form.error("pump_points", message, mend);
            continue;
        };
        let form = &mut sheet.form;
        let flow = form.measure((keys::PUMP_POINT, "flow"), "pump_points", flow, None);
        let pressure = form.measure(
            (keys::PUMP_POINT, "pressure"),
            "pump_points",
            pressure,
            None,
        );
        points.extend(flow.zip(pressure));
    }
    points
}
