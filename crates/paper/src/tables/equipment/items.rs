//! Rows of rigs, hose, nozzles and appliances.

use book::{
    ApplianceItem, Book, FrictionWritten, HoseItem, NozzleItem, NozzleKind, RigItem, Stated,
};
use hydraulics::units::{Kind, Length, Ratio, System, parse};
use hydraulics::valve::ValveKind;
use study::figure;

use super::super::listing::Row;
use super::super::written::{coupling, loss};
use super::{Piece, Told};
use crate::paper::Units;

pub(super) fn rig<'a>(row: Row, piece: &Piece<'a, RigItem>) -> Told<'a> {
    let item = piece.item;
    let points = item.pump_points.iter().map(|(flow, pressure)| {
        let flow = piece.units.show(figure::flow(flow.get())).text();
        let pressure = piece.units.show(figure::pressure(pressure.get())).text();
        format!("{flow} at {pressure}")
    });
    let points: Vec<String> = points.collect();
    let flow = |stated: &Option<Stated<_>>| stated.as_ref().map(|q| figure::flow(q.get()));
    let volume = |stated: &Option<Stated<_>>| stated.as_ref().map(|q| figure::volume(q.get()));
    let rated_at = item.pump_rated_at.as_ref();
    let row = row
        .maybe("rated pump flow", flow(&item.pump))
        .maybe(
            "rated net pressure",
            rated_at.map(|p| figure::pressure(p.get())),
        )
        .with("pump by its own test", points.join("; "))
        .maybe("tank", volume(&item.tank))
        .maybe("tank to pump at most", flow(&item.tank_flow))
        .maybe("foam concentrate carried", volume(&item.concentrate))
        .maybe("proportioner adds at most", flow(&item.proportioner));
    Told::one(row, &item.about)
}

pub(super) fn hose<'a>(row: Row, piece: &Piece<'a, HoseItem>) -> Told<'a> {
    let item = piece.item;
    let row = row.with("size", figure::size(item.size.get()));
    let row = match &item.friction {
        Some(FrictionWritten::Coefficient { coefficient, .. }) => {
            row.coefficient("published C", Some(coefficient.get()))
        }
        Some(FrictionWritten::Roughness { bore, roughness }) => row
            .with("bore", figure::size(bore.get()))
            .with("roughness", figure::size(roughness.get()).fine()),
        Some(FrictionWritten::HazenWilliams {
            bore,
            hazen_williams,
        }) => row.with("bore", figure::size(bore.get())).bare(
            "Hazen-Williams c",
            hazen_williams.get().value,
            0,
        ),
        None => row,
    };
    let spread = piece.book.spread(piece.name);
    let measured = item.measured.as_ref();
    let service = item.service_pressure.as_ref();
    let (section, length) = section(piece.units);
    let weight = item.weight.as_ref().map(|w| figure::mass(w.get() * length));
    let row = row
        .coefficient("lowest published C", spread.map(|s| s.0))
        .coefficient("highest published C", spread.map(|s| s.1))
        .coefficient("measured C", measured.map(|m| m.coefficient.get()))
        .coefficient(
            "measured C, give or take",
            measured.and_then(|m| m.uncertainty.as_ref().map(Stated::get)),
        )
        .maybe("measured on", measured.and_then(|m| m.date.as_deref()))
        .maybe(
            "service pressure",
            service.map(|p| figure::pressure(p.get())),
        )
        .maybe(format!("dry weight of {section}"), weight)
        .maybe("inlet", coupling(item.inlet.as_ref()))
        .maybe("outlet", coupling(item.outlet.as_ref()))
        .maybe("price of a section", item.price.as_ref().map(Stated::text))
        .maybe(
            "in store",
            item.stock.as_ref().map(|l| figure::length(l.get())),
        );
    let more = measured.map(|measured| {
        let source = measured.source.as_deref().unwrap_or("no source stated");
        format!("measured: {source}")
    });
    Told {
        more,
        ..Told::one(row, &item.about)
    }
}

/// A usual section of hose.
fn section(units: Units) -> (&'static str, Length) {
    let section = match units.first() {
        System::Us => "50 ft",
        System::Si => "15 m",
    };
    (section, parse(Kind::Length, section).unwrap_or_default())
}

pub(super) fn nozzle<'a>(row: Row, piece: &Piece<'a, NozzleItem>) -> Told<'a> {
    let item = piece.item;
    let row = row.with("kind", item.kind.word());
    let rated = |row: Row, flow: &Stated<_>, pressure: &Stated<_>| {
        row.with("rated flow", figure::flow(flow.get()))
            .with("rated pressure", figure::pressure(pressure.get()))
    };
    let rows: Vec<Row> = match &item.kind {
        NozzleKind::SmoothBore { bore, coefficient } => {
            let row = row.with("bore", figure::size(bore.get()));
            vec![match coefficient {
                Some(c) => row.bare("discharge coefficient", c.get().value, 3),
                None => row,
            }]
        }
        NozzleKind::Fixed { flow, pressure } => vec![rated(row, flow, pressure)],
        NozzleKind::Selectable { flows, pressure } => flows
            .iter()
            .map(|(name, flow)| {
                let row = row.clone().with("setting", name.as_str());
                rated(row, flow, pressure)
            })
            .collect(),
        NozzleKind::Automatic {
            settings,
            band,
            flush,
        } => settings
            .iter()
            .map(|(name, setting)| {
                let ([least, most], [low, high]) = (&setting.flow, &setting.pressure);
                row.clone()
                    .with("setting", name.as_str())
                    .with("lowest flow", figure::flow(least.get()))
                    .with("pressure there", figure::pressure(low.get()))
                    .with("highest flow", figure::flow(most.get()))
                    .with("pressure at the highest", figure::pressure(high.get()))
                    .maybe(
                        "opening against closing",
                        band.as_ref().map(|b| figure::pressure(b.get())),
                    )
                    .with("turns to flush", *flush)
            })
            .collect(),
    };
    let names = item.settings();
    let tested = |index: usize| {
        let name = names.get(index).copied();
        let used = item.used(name, book::Which::Best).ok();
        used.filter(|used| used.measured)
    };
    let system = piece.units.first();
    let rows = rows.into_iter().enumerate().map(|(index, row)| {
        let test = item.test(names.get(index).copied());
        let row = row
            .maybe(
                "measured, used",
                tested(index).map(|used| used.text(system)),
            )
            .maybe(
                "measured, may be off by",
                test.and_then(|t| t.uncertainty()),
            )
            .maybe("measured on", test.and_then(|t| t.date.as_deref()));
        let row = fittings(row, item, piece.units);
        row.maybe("price", price(piece.book, item.price.as_ref()))
            .maybe("pieces in store", item.stock.as_ref().map(Stated::text))
    });
    let sources = item.measured.values().map(|test| test.said());
    let sources: Vec<String> = sources.collect();
    Told {
        rows: rows.collect(),
        about: &item.about,
        more: (!sources.is_empty()).then(|| format!("measured: {}", sources.join("; "))),
    }
}

/// A price with the word for the book's money.
fn price(book: &Book, price: Option<&Stated<Ratio>>) -> Option<String> {
    price.map(|price| book.price_text(price.get().value))
}

/// What is the same at every setting of a nozzle.
fn fittings(row: Row, item: &NozzleItem, units: Units) -> Row {
    let attachments = item.attachment.iter().map(|(name, attachment)| {
        let reach = units.show(figure::length(attachment.reach.get())).text();
        let times = attachment.expansion.get().value;
        format!("{name}: expansion {times}, reach {reach}")
    });
    let attachments: Vec<String> = attachments.collect();
    let waterway = item.waterway.as_ref();
    row.with("shut-off", item.shutoff.word())
        .maybe(
            "waterway of the shut-off",
            waterway.map(|size| figure::size(size.get())),
        )
        .maybe("inlet", coupling(item.coupling.as_ref()))
        .maybe("tip unscrews at", coupling(item.breaks_at.as_ref()))
        .with("for foam", item.foam)
        .with("attachments", attachments.join("; "))
}

pub(super) fn appliance<'a>(row: Row, piece: &Piece<'a, ApplianceItem>) -> Told<'a> {
    let item = piece.item;
    let row = row.with("kind", item.kind.word().replace('-', " "));
    let mut row = loss(row, "loss", item.loss.as_ref());
    if let Some(eductor) = &item.eductor {
        let share = eductor.back_pressure.as_ref();
        row = row
            .with("eductor's rated flow", figure::flow(eductor.flow.get()))
            .with(
                "eductor's rated inlet",
                figure::pressure(eductor.inlet_pressure.get()),
            )
            .maybe(
                "draws up to this share of its inlet",
                share.map(|share| figure::share(share.get())),
            );
    }
    let gates = item.gates.map(|kind| match kind {
        ValveKind::Ball => "ball",
        ValveKind::Slide => "slide",
    });
    let ends = |ends: &[Stated<_>]| {
        let words = ends.iter().filter_map(|end| coupling(Some(end)));
        words.collect::<Vec<_>>().join(", ")
    };
    let (holds, waterway) = (item.setting.as_ref(), item.waterway.as_ref());
    let row = row
        .maybe(
            "holds its outlet at",
            holds.map(|p| figure::pressure(p.get())),
        )
        .maybe("gates", gates)
        .with("clappers", item.clappers)
        .maybe(
            "waterway of a gate",
            waterway.map(|size| figure::size(size.get())),
        )
        .with("inlets", ends(&item.inlets))
        .with("outlets", ends(&item.outlets))
        .maybe("price", price(piece.book, item.price.as_ref()));
    Told::one(row, &item.about)
}
