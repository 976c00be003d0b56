//! An appliance by its fields.

use super::sheet::Sheet;
use super::{Item, ItemFields};
use crate::edit::fields::{field, shown};
use crate::keys;
use crate::model::{ApplianceItem, ApplianceKind, Book, EductorWritten, LossWritten, Stated};
use hydraulics::coupling::{Coupling, Side};
use hydraulics::units::{Kind, Pressure, Ratio, System};
use hydraulics::valve::ValveKind;
use indexmap::IndexMap;

impl Item for ApplianceItem {
    const KIND: &'static str = "appliance";

    fn all(book: &Book) -> &IndexMap<String, Self> {
        &book.appliance
    }

    fn all_mut(book: &mut Book) -> &mut IndexMap<String, Self> {
        &mut book.appliance
    }

    fn fields(&self, reader: System) -> ItemFields {
        let mut fields = ItemFields::default();
        fields.set("kind", self.kind.word());
        loss_shown(&mut fields, self.loss.as_ref(), reader);
        let gates = match self.gates {
            None => "",
            Some(ValveKind::Ball) => "ball",
            Some(ValveKind::Slide) => "slide",
        };
        fields.set("gates", gates);
        fields.set("clappers", if self.clappers { "yes" } else { "" });
        if let Some(eductor) = &self.eductor {
            let back = field(Kind::Share, eductor.back_pressure.as_ref(), reader);
            let inlet = shown(Kind::Pressure, &eductor.inlet_pressure, reader);
            fields.set("flow", shown(Kind::Flow, &eductor.flow, reader));
            fields.set("inlet_pressure", inlet);
            fields.set("back_pressure", back);
        }
        let setting = self.setting.as_ref();
        fields.set("setting", field(Kind::Pressure, setting, reader));
        let waterway = self.waterway.as_ref();
        fields.set("waterway", field(Kind::Size, waterway, reader));
        fields.set("inlets", listed(&self.inlets));
        fields.set("outlets", listed(&self.outlets));
        let plain =
            |stated: Option<&Stated<Ratio>>| stated.map_or(String::new(), |s| s.text().into());
        fields.set("price", plain(self.price.as_ref()));
        fields.about(&self.about);
        fields
    }

    fn read(sheet: &mut Sheet<'_>, was: Option<&Self>) -> Option<Self> {
        let kind = sheet.word("kind", ApplianceKind::ALL.map(|k| (k.word(), k)));
        let gates = [
            ("", None),
            ("ball", Some(ValveKind::Ball)),
            ("slide", Some(ValveKind::Slide)),
        ];
        let gates = sheet.word("gates", gates);
        let waterway = was.and_then(|w| w.waterway.as_ref());
        let item = ApplianceItem {
            loss: loss(sheet, was.and_then(|w| w.loss.as_ref())),
            gates: gates.flatten(),
            clappers: sheet.has("clappers"),
            eductor: eductor(sheet, kind, was.and_then(|w| w.eductor.as_ref())),
            setting: setting(sheet, kind, was.and_then(|w| w.setting.as_ref())),
            waterway: sheet.quantity(keys::APPLIANCE, "waterway", waterway),
            inlets: sheet.couplings("inlets", Side::Inlet),
            outlets: sheet.couplings("outlets", Side::Outlet),
            price: sheet.plain(keys::APPLIANCE, "price", was.and_then(|w| w.price.as_ref())),
            about: sheet.about(was.map(|w| &w.about)),
            kind: kind?,
        };
        Some(item)
    }
}

fn listed(couplings: &[Stated<Coupling>]) -> String {
    let all: Vec<&str> = couplings.iter().map(|c| c.text()).collect();
    all.join("; ")
}

fn loss_shown(fields: &mut ItemFields, loss: Option<&LossWritten>, reader: System) {
    match loss {
        None => {}
        Some(LossWritten::Rated { pressure, flow }) => {
            fields.set("loss", shown(Kind::Pressure, pressure, reader));
            fields.set("loss_flow", shown(Kind::Flow, flow, reader));
        }
        Some(LossWritten::Allowance {
            allowance,
            from_flow,
        }) => {
            fields.set("allowance", shown(Kind::Pressure, allowance, reader));
            fields.set("from_flow", field(Kind::Flow, from_flow.as_ref(), reader));
        }
    }
}

fn loss(sheet: &mut Sheet<'_>, was: Option<&LossWritten>) -> Option<LossWritten> {
    let rated = sheet.has("loss") || sheet.has("loss_flow");
    let flat = sheet.has("allowance") || sheet.has("from_flow");
    if rated && flat {
        let message = "both a flat loss and a loss at a flow are written".to_string();
        sheet
            .form
            .error("allowance", message, "keep one of the two");
        return None;
    }
    if flat {
        let (allowance, from) = match was {
            Some(LossWritten::Allowance {
                allowance,
                from_flow,
            }) => (Some(allowance), from_flow.as_ref()),
            _ => (None, None),
        };
        let allowance = sheet.needed((keys::APPLIANCE, "allowance"), "allowance", allowance);
        let from_flow = sheet.quantity(keys::APPLIANCE, "from_flow", from);
        return allowance.map(|allowance| LossWritten::Allowance {
            allowance,
            from_flow,
        });
    }
    if !rated {
        return None;
    }
    let (pressure, flow) = match was {
        Some(LossWritten::Rated { pressure, flow }) => (Some(pressure), Some(flow)),
        _ => (None, None),
    };
    let pressure = sheet.needed((keys::LOSS_AT, "pressure"), "loss", pressure);
    let flow = sheet.needed((keys::LOSS_AT, "flow"), "loss_flow", flow);
    let (pressure, flow) = pressure.zip(flow)?;
    Some(LossWritten::Rated { pressure, flow })
}

fn eductor(
    sheet: &mut Sheet<'_>,
    kind: Option<ApplianceKind>,
    was: Option<&EductorWritten>,
) -> Option<EductorWritten> {
    let keys = keys::APPLIANCE;
    if kind != Some(ApplianceKind::Eductor) {
        let own = ["flow", "inlet_pressure", "back_pressure"];
        sheet.empty(&own, "only an eductor has this");
        return None;
    }
    let flow = sheet.needed((keys, "flow"), "flow", was.map(|w| &w.flow));
    let inlet = was.map(|w| &w.inlet_pressure);
    let inlet = sheet.needed((keys, "inlet_pressure"), "inlet_pressure", inlet);
    let back = was.and_then(|w| w.back_pressure.as_ref());
    let back_pressure = sheet.quantity(keys, "back_pressure", back);
    let (flow, inlet_pressure) = flow.zip(inlet)?;
    Some(EductorWritten {
        flow,
        inlet_pressure,
        back_pressure,
    })
}

fn setting(
    sheet: &mut Sheet<'_>,
    kind: Option<ApplianceKind>,
    was: Option<&Stated<Pressure>>,
) -> Option<Stated<Pressure>> {
    if kind != Some(ApplianceKind::RegulatingValve) {
        sheet.empty(&["setting"], "only a regulating valve has this");
        return None;
    }
    sheet.needed((keys::APPLIANCE, "setting"), "setting", was)
}
