//! Hose by its fields.

use super::sheet::{Sheet, c_formed, c_shown};
use super::{Item, ItemFields};
use crate::catalogue::catalogue;
use crate::edit::fields::{field, shown, some};
use crate::keys;
use crate::model::{
    Book, DEAREST, FrictionWritten, HoseItem, MassPerLength, Measured, SectionPrice, Stated,
    price_example,
};
use hydraulics::coupling::{Coupling, Side};
use hydraulics::friction::Coefficient;
use hydraulics::units::{Kind, Length, System};
use indexmap::IndexMap;

impl Item for HoseItem {
    const KIND: &'static str = "hose";

    fn all(book: &Book) -> &IndexMap<String, Self> {
        &book.hose
    }

    fn all_mut(book: &mut Book) -> &mut IndexMap<String, Self> {
        &mut book.hose
    }

    fn fields(&self, reader: System) -> ItemFields {
        let mut fields = ItemFields::default();
        let c = |c: Option<&Stated<Coefficient>>| c.map_or(String::new(), |c| c_shown(c, reader));
        let measured = self.measured.as_ref();
        let text = |text: Option<&Option<String>>| text.cloned().flatten().unwrap_or_default();
        fields.set("size", shown(Kind::Size, &self.size, reader));
        fields.set("coefficient", c(published(self)));
        fields.set("measured", c(measured.map(|m| &m.coefficient)));
        fields.set("measured_date", text(measured.map(|m| &m.date)));
        fields.set(
            "uncertainty",
            c(measured.and_then(|m| m.uncertainty.as_ref())),
        );
        fields.set("measured_source", text(measured.map(|m| &m.source)));
        fields.set("coupling", ends_shown(self));
        let service = self.service_pressure.as_ref();
        fields.set("service_pressure", field(Kind::Pressure, service, reader));
        let weight = self.weight.as_ref();
        fields.set("weight", weight.map_or("", |weight| weight.text()));
        let price = self.price.as_ref();
        fields.set("price", price.map_or("", |price| price.text()));
        fields.set("stock", field(Kind::Length, self.stock.as_ref(), reader));
        fields.about(&self.about);
        fields
    }

    fn read(sheet: &mut Sheet<'_>, was: Option<&Self>) -> Option<Self> {
        let size = sheet.needed((keys::HOSE, "size"), "size", was.map(|w| &w.size));
        let measured = measured(sheet, was.and_then(|w| w.measured.as_ref()));
        let mut about = sheet.about(was.map(|w| &w.about));
        let friction = match &size {
            Some(size) => friction(sheet, size, measured.is_some(), was),
            None => {
                sheet.coefficient("coefficient", None);
                None
            }
        };
        if let Some((_, Some(name))) = &friction
            && about.source.is_none()
        {
            about.source = Some(format!("published C: generic catalogue, hose {name}"));
        }
        let (inlet, outlet) = ends(sheet, was);
        Some(HoseItem {
            friction: friction.map(|(friction, _)| friction),
            measured,
            inlet,
            outlet,
            service_pressure: sheet.quantity(
                keys::HOSE,
                "service_pressure",
                was.and_then(|w| w.service_pressure.as_ref()),
            ),
            weight: weight(sheet),
            price: price(sheet),
            stock: sheet.quantity(keys::HOSE, "stock", was.and_then(|w| w.stock.as_ref())),
            about,
            size: size?,
        })
    }

    fn portable(&self, units: System) -> Self {
        let formed = |c: &Stated<Coefficient>| c_formed(c, units);
        let mut hose = self.clone();
        if let Some(FrictionWritten::Coefficient {
            coefficient,
            spread,
        }) = &mut hose.friction
        {
            *coefficient = formed(coefficient);
            *spread = spread.as_ref().map(|pair| pair.each_ref().map(formed));
        }
        if let Some(measured) = &mut hose.measured {
            measured.coefficient = formed(&measured.coefficient);
            measured.uncertainty = measured.uncertainty.as_ref().map(formed);
        }
        hose
    }
}

fn published(hose: &HoseItem) -> Option<&Stated<Coefficient>> {
    match &hose.friction {
        Some(FrictionWritten::Coefficient { coefficient, .. }) => Some(coefficient),
        _ => None,
    }
}

/// The published friction, and the hose of the catalogue that it was taken from.
fn friction(
    sheet: &mut Sheet<'_>,
    size: &Stated<Length>,
    measured: bool,
    was: Option<&HoseItem>,
) -> Option<(FrictionWritten, Option<&'static str>)> {
    let same = |other: &HoseItem| (other.size.get() - size.get()).value.abs() < 1e-3;
    let was_same = was.filter(|was| same(was));
    if sheet.has("coefficient") {
        let c = sheet.coefficient("coefficient", was.and_then(published))?;
        let spread = match was_same.map(|was| &was.friction) {
            Some(Some(FrictionWritten::Coefficient { spread, .. })) => spread.clone(),
            _ => None,
        };
        let friction = FrictionWritten::Coefficient {
            coefficient: c,
            spread,
        };
        return Some((friction, None));
    }
    // What no field showed is not taken away, and nothing is put in its place.
    if let Some(was) = was_same.filter(|was| published(was).is_none())
        && (was.friction.is_some() || measured)
    {
        return was.friction.clone().map(|friction| (friction, None));
    }
    let mut generic = catalogue().hose.iter();
    let found = generic.find(|(_, hose)| same(hose) && published(hose).is_some());
    if let Some((name, hose)) = found {
        let friction = hose.portable(catalogue().units).friction;
        return friction.map(|friction| (friction, Some(name.as_str())));
    }
    if !measured {
        let message = format!("the catalogue has no C for hose of {}", size.text());
        let mend = "write the C that is published for it, or the one you measured";
        sheet.form.error("coefficient", message, mend);
    }
    None
}

fn measured(sheet: &mut Sheet<'_>, was: Option<&Measured>) -> Option<Measured> {
    let coefficient = sheet.coefficient("measured", was.map(|w| &w.coefficient));
    let uncertainty = was.and_then(|w| w.uncertainty.as_ref());
    let uncertainty = sheet.coefficient("uncertainty", uncertainty);
    let date = sheet.date("measured_date");
    let source = some(sheet.get("measured_source"));
    let beside = uncertainty.is_some() || date.is_some() || source.is_some();
    if beside && !sheet.has("measured") {
        let message = "a test is described, but the C it gave is not written".into();
        let mend = "write the measured C, or leave date, uncertainty and source empty";
        sheet.form.error("measured", message, mend);
    }
    Some(Measured {
        coefficient: coefficient?,
        date,
        uncertainty,
        source,
    })
}

type Ends = (Option<Stated<Coupling>>, Option<Stated<Coupling>>);

fn ends_shown(hose: &HoseItem) -> String {
    match (&hose.inlet, &hose.outlet) {
        (Some(inlet), Some(outlet)) if inlet.text() != outlet.text() => {
            format!("{} to {}", inlet.text(), outlet.text())
        }
        (inlet, outlet) => {
            let one = inlet.as_ref().or(outlet.as_ref());
            one.map_or("", |one| one.text()).into()
        }
    }
}

/// One coupling for both ends; "2.5 in NH to 1.5 in NH" for ends that differ.
fn ends(sheet: &mut Sheet<'_>, was: Option<&HoseItem>) -> Ends {
    let text = sheet.get("coupling");
    if let Some(was) = was.filter(|was| ends_shown(was) == text) {
        return (was.inlet.clone(), was.outlet.clone());
    }
    let (inlet, outlet) = text.split_once(" to ").unwrap_or((text, text));
    let inlet = sheet.coupling_of("coupling", inlet.trim(), Side::Inlet);
    match inlet {
        None => (None, None),
        inlet => (
            inlet,
            sheet.coupling_of("coupling", outlet.trim(), Side::Outlet),
        ),
    }
}

fn weight(sheet: &mut Sheet<'_>) -> Option<Stated<MassPerLength>> {
    let text = sheet.get("weight");
    let fair = |w: &Stated<MassPerLength>| (0.01..=20.0).contains(&w.get().value);
    let read = Stated::read_weight(text).ok().filter(fair);
    if read.is_none() && !text.is_empty() {
        let message =
            format!("\"{text}\" is no weight of 0.01 to 20 kg per m (0.01 to 13 lb per ft)");
        let mend = match sheet.form.reader {
            System::Us => "write it as 16 lb per 50 ft",
            System::Si => "write it as 7 kg per 20 m",
        };
        sheet.form.error("weight", message, mend);
    }
    read
}

fn price(sheet: &mut Sheet<'_>) -> Option<Stated<SectionPrice>> {
    let text = sheet.get("price");
    let read = Stated::read_price(text).ok();
    if read.is_none() && !text.is_empty() {
        let message = format!("\"{text}\" is no price of 0 to {DEAREST} for a section");
        let mend = format!("write it as {}", price_example(sheet.form.reader));
        sheet.form.error("price", message, mend);
    }
    read
}
