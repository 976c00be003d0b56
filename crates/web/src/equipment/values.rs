//! What an entry says, in the reader's units and as it was written.

use super::entry::{Entry, Item};
use book::{
    ApplianceItem, Book, DraftItem, GaugeItem, HoseItem, HydrantItem, HydrantSupply, LossWritten,
    MassPerLength, MeasuredLaw, MeasuredNozzle, NozzleItem, NozzleKind, PitotReading, RigItem,
    Scale, ShuttleItem, StandpipeItem, Stated, Steps, TestFlow, Which,
};
use hydraulics::coupling::Coupling;
use hydraulics::orifice::OutletShape;
use hydraulics::units::{
    Kind, Length, Mass, Measure, Ratio, System, decimal, figure, parse, psi, show,
};
use hydraulics::valve::ValveKind;

/// One value: its name, as the reader reads it, as the book has it. What is worked
/// out from others was not written.
pub(super) struct Value {
    pub name: String,
    pub shown: String,
    pub written: Option<String>,
}

/// Values as they are gathered.
struct Values {
    system: System,
    all: Vec<Value>,
}

impl Values {
    fn text(&mut self, name: &str, shown: impl Into<String>) {
        self.all.push(Value {
            name: name.into(),
            shown: shown.into(),
            written: None,
        });
    }

    fn stated<Q: Measure>(&mut self, name: &str, kind: Kind, stated: &Stated<Q>) {
        self.all.push(Value {
            name: name.into(),
            shown: show(kind, stated.get(), self.system),
            written: Some(stated.text().into()),
        });
    }

    fn maybe<Q: Measure>(&mut self, name: &str, kind: Kind, stated: Option<&Stated<Q>>) {
        if let Some(stated) = stated {
            self.stated(name, kind, stated);
        }
    }

    /// A number of things, or a bare coefficient.
    fn number(&mut self, name: &str, stated: Option<&Stated<Ratio>>) {
        if let Some(stated) = stated {
            self.all.push(Value {
                name: name.into(),
                shown: stated.get().value.to_string(),
                written: Some(stated.text().into()),
            });
        }
    }

    /// What one costs, in the book's money.
    fn price(&mut self, book: &Book, stated: Option<&Stated<Ratio>>) {
        if let Some(stated) = stated {
            self.all.push(Value {
                name: "Price".into(),
                shown: book.price_text(stated.get().value),
                written: Some(stated.text().into()),
            });
        }
    }

    /// Several that belong together: "70 gpm to 200 gpm".
    fn pair<P: Measure, Q: Measure>(
        &mut self,
        name: &str,
        word: &str,
        (first, kind): (&Stated<P>, Kind),
        (second, other): (&Stated<Q>, Kind),
    ) {
        self.all.push(Value {
            name: name.into(),
            shown: format!(
                "{} {word} {}",
                show(kind, first.get(), self.system),
                show(other, second.get(), self.system)
            ),
            written: Some(format!("{} {word} {}", first.text(), second.text())),
        });
    }

    fn coupling(&mut self, name: &str, stated: Option<&Stated<Coupling>>) {
        if let Some(stated) = stated {
            self.all.push(Value {
                name: name.into(),
                shown: stated.get().describe(),
                written: Some(stated.text().into()),
            });
        }
    }

    fn loss(&mut self, name: &str, loss: Option<&LossWritten>) {
        match loss {
            None => {}
            Some(LossWritten::Rated { pressure, flow }) => {
                self.pair(name, "at", (pressure, Kind::Pressure), (flow, Kind::Flow));
            }
            Some(LossWritten::Allowance {
                allowance,
                from_flow: Some(from),
            }) => self.pair(
                name,
                "from",
                (allowance, Kind::Pressure),
                (from, Kind::Flow),
            ),
            Some(LossWritten::Allowance { allowance, .. }) => {
                self.stated(&format!("{name}, at any flow"), Kind::Pressure, allowance);
            }
        }
    }
}

/// All that `entry` says.
pub(super) fn values(book: &Book, entry: &Entry<'_>, system: System) -> Vec<Value> {
    let mut values = Values {
        system,
        all: Vec::new(),
    };
    match entry.item {
        Item::Hose(item) => hose(&mut values, book, entry.name, item),
        Item::Nozzle(item) => nozzle(&mut values, book, item),
        Item::Appliance(item) => appliance(&mut values, book, item),
        Item::Rig(item) => rig(&mut values, item),
        Item::Hydrant(item) => hydrant(&mut values, item),
        Item::Draft(item) => draft(&mut values, item),
        Item::Shuttle(item) => shuttle(&mut values, item),
        Item::Standpipe(item) => standpipe(&mut values, item),
        Item::Gauge(item) => gauge(&mut values, item),
    }
    values.all
}

/// The few values by which it is known, in a line.
pub(super) fn key_values(book: &Book, entry: &Entry<'_>, system: System) -> String {
    let all = values(book, entry, system);
    let few = all.iter().take(3);
    let few: Vec<String> = few
        .map(|value| match value.name.as_str() {
            "Kind" => value.shown.clone(),
            name => format!("{} {}", name.to_lowercase(), value.shown),
        })
        .collect();
    few.join(", ")
}

fn hose(values: &mut Values, book: &Book, name: &str, item: &HoseItem) {
    let system = values.system;
    values.stated("Size", Kind::Size, &item.size);
    let published = item.used(Which::Published).filter(|used| !used.measured);
    if let Some(used) = published {
        values.text("Published", used.text(system));
    }
    if let Some(measured) = &item.measured {
        let used = item.used(Which::Measured);
        values.all.push(Value {
            name: "Measured".into(),
            shown: used.map_or_else(String::new, |used| used.text(system)),
            written: Some(measured.coefficient.text().into()),
        });
        if let Some(by) = &measured.uncertainty {
            values.all.push(Value {
                name: "Uncertainty of the measured C".into(),
                shown: book::c_figure(by.get(), system),
                written: Some(by.text().into()),
            });
        }
        let from = [measured.date.as_deref(), measured.source.as_deref()];
        let from: Vec<&str> = from.into_iter().flatten().collect();
        if !from.is_empty() {
            values.text("Measured when and by whom", from.join(", "));
        }
    }
    if book.spread(name).is_some() {
        let end = |which| book.friction(name, which).map(|used| used.text(system));
        if let (Some(low), Some(high)) = (end(Which::PublishedLow), end(Which::PublishedHigh)) {
            values.text(
                "Published for hose of this size",
                format!("{low} to {high}"),
            );
        }
    }
    values.maybe(
        "Service pressure",
        Kind::Pressure,
        item.service_pressure.as_ref(),
    );
    weight(values, item.weight.as_ref());
    values.coupling("Inlet", item.inlet.as_ref());
    values.coupling("Outlet", item.outlet.as_ref());
    if let Some(price) = &item.price {
        let one = price.get();
        values.all.push(Value {
            name: format!("Price of {}", show(Kind::Length, one.section, system)),
            shown: book.price_text(one.each),
            written: Some(price.text().into()),
        });
    }
    values.maybe("In store", Kind::Length, item.stock.as_ref());
}

/// Weight of a usual section.
fn weight(values: &mut Values, weight: Option<&Stated<MassPerLength>>) {
    let Some(weight) = weight else { return };
    let section = match values.system {
        System::Us => "50 ft",
        System::Si => "15 m",
    };
    let Ok(length) = parse::<Length>(Kind::Length, section) else {
        return;
    };
    let mass: Mass = weight.get() * length;
    values.all.push(Value {
        name: format!("Weight of {section}, dry"),
        shown: show(Kind::Mass, mass, values.system),
        written: Some(weight.text().into()),
    });
}

fn nozzle(values: &mut Values, book: &Book, item: &NozzleItem) {
    values.text("Kind", item.kind.word());
    match &item.kind {
        NozzleKind::SmoothBore { bore, coefficient } => {
            values.stated("Bore", Kind::Size, bore);
            values.number("Discharge coefficient", coefficient.as_ref());
        }
        NozzleKind::Fixed { flow, pressure } => {
            values.pair(
                "Rated",
                "at",
                (flow, Kind::Flow),
                (pressure, Kind::Pressure),
            );
        }
        NozzleKind::Selectable { flows, pressure } => {
            values.stated("Rated pressure", Kind::Pressure, pressure);
            for (name, flow) in flows {
                values.stated(&format!("Setting {name}"), Kind::Flow, flow);
            }
        }
        NozzleKind::Automatic {
            settings,
            band,
            flush,
        } => {
            for (name, setting) in settings {
                let ([low, high], [from, to]) = (&setting.flow, &setting.pressure);
                let flow = format!("Setting {name}, flow");
                values.pair(&flow, "to", (low, Kind::Flow), (high, Kind::Flow));
                let pressure = format!("Setting {name}, pressure");
                values.pair(
                    &pressure,
                    "to",
                    (from, Kind::Pressure),
                    (to, Kind::Pressure),
                );
            }
            values.maybe("Opening against closing", Kind::Pressure, band.as_ref());
            values.text("Turns to flush", yes(*flush));
        }
    }
    for (name, test) in &item.measured {
        tested(values, name, test);
    }
    values.text("Shut-off", item.shutoff.word());
    values.maybe(
        "Waterway of the shut-off",
        Kind::Size,
        item.waterway.as_ref(),
    );
    values.coupling("Inlet", item.coupling.as_ref());
    values.coupling("Tip unscrews at", item.breaks_at.as_ref());
    if let Some(form) = item.form {
        values.text("Put together as", form.word());
    }
    if let Some(colour) = item.marking.colour {
        values.text("Colour", colour.text());
    }
    if let Some(mark) = &item.marking.mark {
        values.text("Mark", mark);
    }
    if item.foam {
        values.text("For foam", "yes");
    }
    for (name, attachment) in &item.attachment {
        values.number(
            &format!("Attachment {name}, expansion"),
            Some(&attachment.expansion),
        );
        values.stated(
            &format!("Attachment {name}, reach"),
            Kind::Length,
            &attachment.reach,
        );
    }
    values.price(book, item.price.as_ref());
    values.number("Pieces in store", item.stock.as_ref());
}

/// What the department measured on a nozzle, at a setting; it is used.
fn tested(values: &mut Values, name: &str, test: &MeasuredNozzle) {
    let of = match name {
        "" => "Measured".to_string(),
        name => format!("Measured at setting {name}"),
    };
    match &test.law {
        MeasuredLaw::Coefficient { coefficient, .. } => {
            values.number(&format!("{of}, discharge coefficient"), Some(coefficient));
        }
        MeasuredLaw::Flow { flow, pressure, .. } => match pressure {
            Some(p) => values.pair(&of, "at", (flow, Kind::Flow), (p, Kind::Pressure)),
            None => values.stated(&format!("{of}, at its rated pressure"), Kind::Flow, flow),
        },
        MeasuredLaw::Range {
            flow: [low, high],
            pressure: [from, to],
            band,
            ..
        } => {
            values.pair(
                &format!("{of}, flow"),
                "to",
                (low, Kind::Flow),
                (high, Kind::Flow),
            );
            let pressure = (from, Kind::Pressure);
            values.pair(
                &format!("{of}, pressure"),
                "to",
                pressure,
                (to, Kind::Pressure),
            );
            values.maybe(
                &format!("{of}, opening against closing"),
                Kind::Pressure,
                band.as_ref(),
            );
        }
    }
    if let Some(off) = test.uncertainty() {
        values.text(&format!("{of}: may be off by"), off);
    }
    values.text(&format!("{of}: when and by whom"), test.said());
}

fn yes(it: bool) -> &'static str {
    if it { "yes" } else { "no" }
}

fn appliance(values: &mut Values, book: &Book, item: &ApplianceItem) {
    values.text("Kind", item.kind.word().replace('-', " "));
    values.loss("Loss", item.loss.as_ref());
    if item.loss.is_none() {
        values.text("Loss", "none is written");
    }
    if let Some(eductor) = &item.eductor {
        let (flow, inlet) = (&eductor.flow, &eductor.inlet_pressure);
        values.pair("Rated", "at", (flow, Kind::Flow), (inlet, Kind::Pressure));
        match &eductor.back_pressure {
            Some(share) => values.stated("Draws up to this share of its inlet", Kind::Share, share),
            None => values.text("Draws up to this share of its inlet", "65 % (usual)"),
        }
        if let Ok(law) = eductor.law() {
            let most = law.highest_outlet(law.rated_inlet());
            values.text(
                "Highest pressure past it, at its rated inlet",
                show(Kind::Pressure, most, values.system),
            );
        }
    }
    values.maybe("Holds its outlet at", Kind::Pressure, item.setting.as_ref());
    match item.gates {
        Some(ValveKind::Ball) => values.text("Gates", "ball"),
        Some(ValveKind::Slide) => values.text("Gates", "slide"),
        None => {}
    }
    if item.clappers {
        values.text("Clappers", "water goes in only");
    }
    values.maybe("Waterway of a gate", Kind::Size, item.waterway.as_ref());
    for inlet in &item.inlets {
        values.coupling("Inlet", Some(inlet));
    }
    for outlet in &item.outlets {
        values.coupling("Outlet", Some(outlet));
    }
    values.price(book, item.price.as_ref());
}

fn rig(values: &mut Values, item: &RigItem) {
    values.maybe("Rated pump flow", Kind::Flow, item.pump.as_ref());
    values.maybe(
        "Rated net pressure",
        Kind::Pressure,
        item.pump_rated_at.as_ref(),
    );
    for (flow, pressure) in &item.pump_points {
        values.pair(
            "By its own test",
            "at",
            (flow, Kind::Flow),
            (pressure, Kind::Pressure),
        );
    }
    if let Some(date) = &item.pump_tested {
        values.text("Day of its own test", date.as_str());
    }
    values.maybe("Tank", Kind::Volume, item.tank.as_ref());
    values.maybe("Tank to pump at most", Kind::Flow, item.tank_flow.as_ref());
    values.maybe(
        "Foam concentrate carried",
        Kind::Volume,
        item.concentrate.as_ref(),
    );
    values.maybe(
        "Proportioner adds at most",
        Kind::Flow,
        item.proportioner.as_ref(),
    );
}

fn hydrant(values: &mut Values, item: &HydrantItem) {
    match &item.supply {
        HydrantSupply::SameMain(other) => values.text("On the main of", other.as_str()),
        HydrantSupply::Test {
            still,
            residual,
            flow,
        } => {
            values.stated("Static", Kind::Pressure, still);
            values.stated("Residual", Kind::Pressure, residual);
            match flow {
                TestFlow::Stated(flow) => values.stated("Flow of the test", Kind::Flow, flow),
                TestFlow::Outlets(outlets) => {
                    let flow = show(Kind::Flow, flow.get(), values.system);
                    values.text("Flow of the test, by pitot", flow);
                    outlets.iter().for_each(|outlet| pitot(values, outlet));
                }
            }
        }
    }
    if let Ok(Some(test)) = item.test() {
        let least = psi(hydraulics::hydrant::LEAST_RESIDUAL_PSI);
        let name = format!(
            "Available at {}",
            show(Kind::Pressure, least, values.system)
        );
        values.text(
            &name,
            show(Kind::Flow, test.available(least), values.system),
        );
    }
    values.loss("Loss beyond its test", item.loss.as_ref());
    if let Some(date) = &item.date {
        values.text("Day of the test", date.as_str());
    }
}

fn pitot(values: &mut Values, outlet: &PitotReading) {
    let count = outlet.count.as_ref().map_or(1.0, |count| count.get().value);
    let name = match &outlet.shape {
        _ if outlet.coefficient.is_some() => "Outlet",
        Some(OutletShape::Square) => "Square outlet",
        Some(OutletShape::Projecting) => "Projecting outlet",
        _ => "Rounded outlet",
    };
    let name = if count > 1.0 {
        format!("{name}, {count} alike")
    } else {
        name.to_string()
    };
    let (size, pressure) = (&outlet.size, &outlet.pitot);
    values.pair(
        &name,
        "at pitot",
        (size, Kind::Size),
        (pressure, Kind::Pressure),
    );
    values.number("Coefficient of the outlet", outlet.coefficient.as_ref());
}

fn draft(values: &mut Values, item: &DraftItem) {
    values.stated("Lift", Kind::Length, &item.lift);
    values.maybe("Altitude", Kind::Length, item.altitude.as_ref());
    values.loss("Loss of suction hose and strainer", item.loss.as_ref());
    let share = hydraulics::draft::capacity_share(item.lift.get());
    let shown = match share {
        Some(share) => format!("{} of rated flow", show(Kind::Share, share, values.system)),
        None => "higher than the trade's table goes".into(),
    };
    values.text("By the trade's table of lifts", shown);
}

fn shuttle(values: &mut Values, item: &ShuttleItem) {
    values.number("Tankers", Some(&item.tankers));
    values.stated("Tank of each", Kind::Volume, &item.tank);
    match &item.usable {
        Some(usable) => values.stated("Usable share", Kind::Share, usable),
        None => values.text("Usable share", "90 % (usual)"),
    }
    values.stated("Distance", Kind::Length, &item.distance);
    values.stated("Time to fill", Kind::Time, &item.fill);
    values.stated("Time to empty", Kind::Time, &item.dump);
    values.maybe("Handling in each round", Kind::Time, item.handling.as_ref());
    values.stated("Portable tanks at the fire", Kind::Volume, &item.dump_tank);
    values.maybe("Lift", Kind::Length, item.lift.as_ref());
    values.loss("Loss of suction hose and strainer", item.loss.as_ref());
}

fn standpipe(values: &mut Values, item: &StandpipeItem) {
    values.number("Floors", Some(&item.floors));
    values.stated("Floor to floor", Kind::Length, &item.floor_height);
    values.stated("Riser", Kind::Size, &item.riser);
    values.number(
        "Hazen-Williams c of the riser",
        item.hazen_williams.as_ref(),
    );
    values.loss("Loss of the inlet", item.inlet_loss.as_ref());
    values.loss("Loss of an open outlet", item.outlet_loss.as_ref());
    for outlets in &item.regulating {
        let [low, high] = outlets.floors.each_ref().map(|floor| floor.get().value);
        let name = format!("Outlets on floors {low} to {high} hold");
        values.stated(&name, Kind::Pressure, &outlets.setting);
    }
    values.maybe(
        "Required at an outlet",
        Kind::Pressure,
        item.required.as_ref(),
    );
    values.maybe(
        "Rated for at most",
        Kind::Pressure,
        item.rated_pressure.as_ref(),
    );
}

fn gauge(values: &mut Values, item: &GaugeItem) {
    let kind = match &item.scale {
        Scale::Pressure(_) => "pressure gauge",
        Scale::Flow(_) => "flow meter",
    };
    values.text("Kind", kind);
    values.text(
        "Calibrated",
        item.calibrated.as_deref().unwrap_or("no day is written"),
    );
    let share = item.accuracy_share.as_ref();
    match &item.scale {
        Scale::Pressure(steps) => scale(values, Kind::Pressure, steps, share),
        Scale::Flow(steps) => scale(values, Kind::Flow, steps, share),
    }
    if let Some(serial) = &item.serial {
        values.text("Number on it", serial.as_str());
    }
}

fn scale<Q: Measure>(
    values: &mut Values,
    kind: Kind,
    steps: &Steps<Q>,
    share: Option<&Stated<Ratio>>,
) {
    let all = [
        ("End of its scale", &steps.highest),
        ("Smallest step read", &steps.step),
        ("May be off by", &steps.accuracy),
        ("Needle swings by", &steps.swing),
    ];
    for (name, stated) in all {
        let Some(stated) = stated else { continue };
        values.all.push(Value {
            name: name.into(),
            shown: fine(kind, stated.get(), values.system),
            written: Some(stated.text().into()),
        });
    }
    if let Some(share) = share {
        values.all.push(Value {
            name: "May be off by, of the reading".into(),
            shown: fine(Kind::Share, share.get(), values.system),
            written: Some(share.text().into()),
        });
    }
}

/// With two figures at least, for half a psi is no 0.0 bar.
fn fine<Q: Measure>(kind: Kind, quantity: Q, system: System) -> String {
    let value = figure(kind, quantity, system);
    let places = 1.0 - value.abs().max(1e-9).log10().floor();
    match value.abs() < 10.0 && value != 0.0 {
        true => {
            let number = decimal(value, places.clamp(0.0, 6.0) as usize);
            let number = match number.contains('.') {
                true => number.trim_end_matches('0').trim_end_matches('.'),
                false => number.as_str(),
            };
            format!("{number} {}", kind.unit(system).symbol)
        }
        false => show(kind, quantity, system),
    }
}
