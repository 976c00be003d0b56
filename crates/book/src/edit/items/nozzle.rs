//! A nozzle by its fields.

use super::sheet::{Sheet, listed};
use super::{Item, ItemFields};
use crate::edit::fields::{field, shown};
use crate::keys;
use crate::model::{
    AutomaticSetting, Book, MeasuredNozzle, NozzleForm, NozzleItem, NozzleKind, Shutoff, Stated,
};
use hydraulics::coupling::Side;
use hydraulics::units::{Kind, Pressure, Ratio, System, VolumeRate};
use indexmap::IndexMap;

/// The fields of a setting: its name, lowest and highest flow, and the pressure
/// at each.
const SETTINGS: [[&str; 5]; 2] = [
    [
        "high_name",
        "high_flow",
        "high_flow_to",
        "high_pressure",
        "high_pressure_to",
    ],
    [
        "low_name",
        "low_flow",
        "low_flow_to",
        "low_pressure",
        "low_pressure_to",
    ],
];

/// What a setting is called when its name is left empty.
const NAMES: [&str; 2] = ["high", "low"];

impl Item for NozzleItem {
    const KIND: &'static str = "nozzle";

    fn all(book: &Book) -> &IndexMap<String, Self> {
        &book.nozzle
    }

    fn all_mut(book: &mut Book) -> &mut IndexMap<String, Self> {
        &mut book.nozzle
    }

    fn fields(&self, reader: System) -> ItemFields {
        let mut fields = ItemFields::default();
        fields.set("kind", self.kind.word());
        kind_shown(&mut fields, &self.kind, reader);
        fields.set("shutoff", self.shutoff.word());
        let waterway = self.waterway.as_ref();
        fields.set("waterway", field(Kind::Size, waterway, reader));
        for (key, end) in [("coupling", &self.coupling), ("breaks_at", &self.breaks_at)] {
            fields.set(key, end.as_ref().map_or("", |end| end.text()));
        }
        fields.set("form", self.form.map_or("", NozzleForm::word));
        let colour = self.marking.colour.map(|colour| colour.text());
        fields.set("colour", colour.unwrap_or_default());
        fields.set("mark", self.marking.mark.clone().unwrap_or_default());
        fields.set("foam", if self.foam { "yes" } else { "" });
        let plain =
            |stated: Option<&Stated<Ratio>>| stated.map_or(String::new(), |s| s.text().into());
        fields.set("price", plain(self.price.as_ref()));
        fields.set("stock", plain(self.stock.as_ref()));
        fields.about(&self.about);
        fields
    }

    fn read(sheet: &mut Sheet<'_>, was: Option<&Self>) -> Option<Self> {
        let kind = kind(sheet, was.map(|w| &w.kind));
        let shutoffs = [Shutoff::None, Shutoff::Slide, Shutoff::Ball];
        let shutoff = match sheet.has("shutoff") {
            true => sheet.word("shutoff", shutoffs.map(|s| (s.word(), s))),
            false => Some(Shutoff::None),
        };
        let waterway = was.and_then(|w| w.waterway.as_ref());
        let waterway = sheet.quantity(keys::NOZZLE, "waterway", waterway);
        let coupling = sheet.coupling("coupling", Side::Inlet);
        let breaks_at = sheet.coupling("breaks_at", Side::Outlet);
        if breaks_at.is_some() && shutoff == Some(Shutoff::None) {
            let message = "the tip unscrews from its shut-off, but there is none".into();
            let mend = "choose slide or ball, or leave empty where the tip unscrews";
            sheet.form.error("shutoff", message, mend);
        }
        let form = form(sheet, shutoff);
        let marking = sheet.marking();
        let kind = kind?;
        Some(NozzleItem {
            measured: was.map_or_else(IndexMap::new, |was| still_measured(was, &kind)),
            kind,
            shutoff: shutoff?,
            waterway,
            coupling,
            breaks_at,
            form,
            marking,
            foam: sheet.has("foam"),
            attachment: was.map_or_else(IndexMap::new, |w| w.attachment.clone()),
            price: sheet.plain(keys::NOZZLE, "price", was.and_then(|w| w.price.as_ref())),
            stock: sheet.plain(keys::NOZZLE, "stock", was.and_then(|w| w.stock.as_ref())),
            about: sheet.about(was.map(|w| &w.about)),
        })
    }
}

/// What was measured stays, unless the nozzle is now of another kind, or its setting
/// is gone. A setting under a new name in the same place keeps its test.
fn still_measured(was: &NozzleItem, now: &NozzleKind) -> IndexMap<String, MeasuredNozzle> {
    if was.kind.word() != now.word() {
        return IndexMap::new();
    }
    let (old, new) = (was.kind.settings(), now.settings());
    let renamed = |name: &str| {
        let at = old.iter().position(|old| *old == name)?;
        let there = new.get(at).filter(|there| !old.contains(there));
        there.map(|there| (*there).to_string())
    };
    let kept = was.measured.iter().filter_map(|(name, test)| {
        let same = name.is_empty() || new.contains(&name.as_str());
        let name = if same {
            Some(name.clone())
        } else {
            renamed(name)
        };
        name.map(|name| (name, test.clone()))
    });
    kept.collect()
}

fn form(sheet: &mut Sheet<'_>, shutoff: Option<Shutoff>) -> Option<NozzleForm> {
    if !sheet.has("form") {
        return None;
    }
    let form = sheet.word("form", NozzleForm::ALL.map(|form| (form.word(), form)))?;
    let has = shutoff.map(|shutoff| shutoff != Shutoff::None);
    let should = form.has_shutoff();
    if should.is_some() && has.is_some() && should != has {
        let message = format!(
            "a {} has {} shut-off of its own",
            form.word(),
            if should == Some(true) { "a" } else { "no" }
        );
        let mend = "choose another form, or the shut-off that it has";
        sheet.form.error("form", message, mend);
    }
    Some(form)
}

fn kind_shown(fields: &mut ItemFields, kind: &NozzleKind, reader: System) {
    let flow = |flow: &Stated<VolumeRate>| shown(Kind::Flow, flow, reader);
    let pressure = |pressure: &Stated<Pressure>| shown(Kind::Pressure, pressure, reader);
    match kind {
        NozzleKind::SmoothBore { bore, .. } => {
            fields.set("bore", shown(Kind::Size, bore, reader));
        }
        NozzleKind::Fixed {
            flow: q,
            pressure: p,
        } => {
            fields.set("flow", flow(q));
            fields.set("pressure", pressure(p));
        }
        NozzleKind::Selectable { flows, pressure: p } => {
            fields.set("flows", flows_shown(flows, reader));
            fields.set("pressure", pressure(p));
        }
        NozzleKind::Automatic {
            settings, flush, ..
        } => {
            for ([name, low, high, low_p, high_p], (called, setting)) in
                SETTINGS.iter().zip(settings)
            {
                let [q, q_to] = setting.flow.each_ref().map(flow);
                let [p, p_to] = setting.pressure.each_ref().map(pressure);
                fields.set(name, called.as_str());
                for (key, text) in [(low, q), (high, q_to), (low_p, p), (high_p, p_to)] {
                    fields.set(key, text);
                }
            }
            fields.set("flush", if *flush { "yes" } else { "" });
        }
    }
}

type Flows = IndexMap<String, Stated<VolumeRate>>;

fn flows_shown(flows: &Flows, reader: System) -> String {
    let flows: Vec<String> = flows
        .values()
        .map(|f| shown(Kind::Flow, f, reader))
        .collect();
    flows.join("; ")
}

fn kind(sheet: &mut Sheet<'_>, was: Option<&NozzleKind>) -> Option<NozzleKind> {
    let words = ["smooth-bore", "fixed", "selectable", "automatic"];
    let word = sheet.word("kind", words.map(|word| (word, word)))?;
    let no_setting = |sheet: &mut Sheet<'_>, what: &str| {
        for setting in SETTINGS {
            sheet.empty(&setting, what);
        }
        sheet.empty(&["flush"], what);
    };
    match word {
        "smooth-bore" => {
            let what = "a smooth-bore has a bore only";
            sheet.empty(&["flow", "flows", "pressure"], what);
            no_setting(sheet, what);
            smooth_bore(sheet, was)
        }
        "fixed" => {
            let what = "a fixed nozzle has one flow and its pressure";
            sheet.empty(&["bore", "flows"], what);
            no_setting(sheet, what);
            let (flow, pressure) = match was {
                Some(NozzleKind::Fixed { flow, pressure }) => (Some(flow), Some(pressure)),
                _ => (None, None),
            };
            let flow = sheet.needed((keys::NOZZLE, "flow"), "flow", flow);
            let pressure = sheet.needed((keys::NOZZLE, "pressure"), "pressure", pressure);
            let (flow, pressure) = flow.zip(pressure)?;
            Some(NozzleKind::Fixed { flow, pressure })
        }
        "selectable" => {
            let what = "a selectable nozzle has several flows and a pressure";
            sheet.empty(&["bore", "flow"], what);
            no_setting(sheet, what);
            selectable(sheet, was)
        }
        _ => {
            let what = "an automatic nozzle has settings";
            sheet.empty(&["bore", "flow", "flows", "pressure"], what);
            automatic(sheet, was)
        }
    }
}

fn smooth_bore(sheet: &mut Sheet<'_>, was: Option<&NozzleKind>) -> Option<NozzleKind> {
    let (bore, coefficient) = match was {
        Some(NozzleKind::SmoothBore { bore, coefficient }) => (Some(bore), coefficient.clone()),
        _ => (None, None),
    };
    let bore = sheet.needed((keys::NOZZLE, "bore"), "bore", bore)?;
    Some(NozzleKind::SmoothBore { bore, coefficient })
}

fn selectable(sheet: &mut Sheet<'_>, was: Option<&NozzleKind>) -> Option<NozzleKind> {
    let (was_flows, was_pressure) = match was {
        Some(NozzleKind::Selectable { flows, pressure }) => (Some(flows), Some(pressure)),
        _ => (None, None),
    };
    let pressure = sheet.needed((keys::NOZZLE, "pressure"), "pressure", was_pressure);
    let (text, reader) = (sheet.get("flows"), sheet.form.reader);
    if let Some(flows) = was_flows.filter(|flows| flows_shown(flows, reader) == text) {
        let flows = flows.clone();
        return pressure.map(|pressure| NozzleKind::Selectable { flows, pressure });
    }
    let mut flows = Flows::new();
    let mut read = true;
    for text in listed(text) {
        let was = was_flows.and_then(|was| {
            was.iter()
                .find(|(_, f)| shown(Kind::Flow, f, reader) == text)
        });
        let stated = sheet
            .form
            .measure((keys::NOZZLE, "flows"), "flows", text, was.map(|w| w.1));
        let Some(flow) = stated else {
            read = false;
            continue;
        };
        let name = was.map_or_else(|| flow.text().to_string(), |w| w.0.clone());
        if flows.insert(name, flow).is_some() {
            let message = format!("{text} is there twice");
            sheet.form.error("flows", message, "keep one of the two");
        }
    }
    if flows.is_empty() && read {
        let unit = Kind::Flow.unit(reader).symbol;
        let mend = match reader {
            System::Us => format!("write them as 95; 125; 150 {unit}"),
            System::Si => format!("write them as 360; 475; 570 {unit}"),
        };
        sheet
            .form
            .error("flows", "no flows are written".into(), mend);
    }
    pressure.map(|pressure| NozzleKind::Selectable { flows, pressure })
}

fn automatic(sheet: &mut Sheet<'_>, was: Option<&NozzleKind>) -> Option<NozzleKind> {
    let empty = IndexMap::new();
    let (was, band) = match was {
        Some(NozzleKind::Automatic { settings, band, .. }) => (settings, band.clone()),
        _ => (&empty, None),
    };
    let mut settings = IndexMap::new();
    for (index, keys) in SETTINGS.iter().enumerate() {
        let needed = index == 0 || keys.iter().any(|key| sheet.has(key));
        if !needed {
            continue;
        }
        let was = was.get_index(index).map(|(_, setting)| setting);
        let called = match sheet.get(keys[0]) {
            "" => NAMES.get(index).copied().unwrap_or_default(),
            name => name,
        };
        if let Some(setting) = setting(sheet, keys, was)
            && settings.insert(called.to_string(), setting).is_some()
        {
            let message = format!("both settings are called \"{called}\"");
            sheet
                .form
                .error(keys[0], message, "give one of them another name");
        }
    }
    // Beyond the two of the form, what the book has stays.
    for (name, setting) in was.iter().skip(SETTINGS.len()) {
        settings.insert(name.clone(), setting.clone());
    }
    Some(NozzleKind::Automatic {
        settings,
        band,
        flush: sheet.has("flush"),
    })
}

fn setting(
    sheet: &mut Sheet<'_>,
    [_, flow, flow_to, pressure, pressure_to]: &[&'static str; 5],
    was: Option<&AutomaticSetting>,
) -> Option<AutomaticSetting> {
    let [q, q_to] = pair(was.map(|w| &w.flow));
    let [p, p_to] = pair(was.map(|w| &w.pressure));
    let low = sheet.needed((keys::SETTING, "flow"), flow, q);
    let high = sheet.needed((keys::SETTING, "flow"), flow_to, q_to);
    let low_pressure = sheet.needed((keys::SETTING, "pressure"), pressure, p);
    let high_pressure = sheet.needed((keys::SETTING, "pressure"), pressure_to, p_to);
    Some(AutomaticSetting {
        flow: [low?, high?],
        pressure: [low_pressure?, high_pressure?],
    })
}

fn pair<Q>(was: Option<&[Stated<Q>; 2]>) -> [Option<&Stated<Q>>; 2] {
    was.map_or([None, None], |pair| pair.each_ref().map(Some))
}
