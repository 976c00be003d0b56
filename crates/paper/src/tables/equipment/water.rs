//! Rows of hydrants, open water, tanker shuttles and standpipes.

use book::{DraftItem, HydrantItem, HydrantSupply, ShuttleItem, StandpipeItem, Stated, TestFlow};
use hydraulics::units::psi;
use study::figure;

use super::super::listing::Row;
use super::super::written::loss;
use super::{Piece, Told};

pub(super) fn hydrant<'a>(row: Row, piece: &Piece<'a, HydrantItem>) -> Told<'a> {
    let item = piece.item;
    let row = match &item.supply {
        HydrantSupply::SameMain(other) => row.with("on the main of", other.as_str()),
        HydrantSupply::Test {
            still,
            residual,
            flow,
        } => row
            .with("static", figure::pressure(still.get()))
            .with("residual", figure::pressure(residual.get()))
            .with("flow of the test", figure::flow(flow.get()))
            .with(
                "flow was",
                match flow {
                    TestFlow::Stated(_) => "stated",
                    TestFlow::Outlets(_) => "read by pitot",
                },
            ),
    };
    let test = item.test().ok().flatten();
    let least = psi(hydraulics::hydrant::LEAST_RESIDUAL_PSI);
    let name = format!(
        "available at {}",
        piece.units.show(figure::pressure(least)).text()
    );
    let row = row.maybe(name, test.map(|test| figure::flow(test.available(least))));
    let row = loss(row, "loss beyond its test", item.loss.as_ref());
    let row = row.maybe("tested on", item.date.as_deref());
    Told::one(row, &item.about)
}

pub(super) fn draft<'a>(row: Row, piece: &Piece<'a, DraftItem>) -> Told<'a> {
    let item = piece.item;
    let altitude = item.altitude.as_ref();
    let share = hydraulics::draft::capacity_share(item.lift.get());
    let row = row.with("lift", figure::length(item.lift.get())).maybe(
        "altitude",
        altitude.map(|height| figure::length(height.get())),
    );
    let row = loss(row, "loss of suction", item.loss.as_ref());
    let row = row.maybe(
        "share of rated flow, trade's table",
        share.map(figure::share),
    );
    Told::one(row, &item.about)
}

pub(super) fn shuttle<'a>(row: Row, piece: &Piece<'a, ShuttleItem>) -> Told<'a> {
    let item = piece.item;
    let time = |stated: &Stated<_>| figure::time(stated.get());
    let row = row
        .bare("tankers", item.tankers.get().value, 0)
        .with("tank of each", figure::volume(item.tank.get()))
        .maybe(
            "usable share",
            item.usable.as_ref().map(|share| figure::share(share.get())),
        )
        .with("distance", figure::length(item.distance.get()))
        .with("time to fill", time(&item.fill))
        .with("time to empty", time(&item.dump))
        .maybe("handling in each round", item.handling.as_ref().map(time))
        .with("portable tanks", figure::volume(item.dump_tank.get()))
        .maybe(
            "lift",
            item.lift.as_ref().map(|lift| figure::length(lift.get())),
        );
    let row = loss(row, "loss of suction", item.loss.as_ref());
    Told::one(row, &item.about)
}

pub(super) fn standpipe<'a>(row: Row, piece: &Piece<'a, StandpipeItem>) -> Told<'a> {
    let item = piece.item;
    let regulating = item.regulating.iter().map(|outlets| {
        let [low, high] = outlets.floors.each_ref().map(|floor| floor.get().value);
        let setting = piece.units.show(figure::pressure(outlets.setting.get()));
        format!("floors {low} to {high} at {}", setting.text())
    });
    let regulating: Vec<String> = regulating.collect();
    let pressure = |stated: &Option<Stated<_>>| stated.as_ref().map(|p| figure::pressure(p.get()));
    let row = row
        .bare("floors", item.floors.get().value, 0)
        .with("floor to floor", figure::length(item.floor_height.get()))
        .with("riser", figure::size(item.riser.get()));
    let row = match &item.hazen_williams {
        Some(c) => row.bare("Hazen-Williams c of the riser", c.get().value, 0),
        None => row,
    };
    let row = loss(row, "loss of the inlet", item.inlet_loss.as_ref());
    let row = loss(row, "loss of an outlet", item.outlet_loss.as_ref());
    let row = row
        .with("outlets that regulate", regulating.join("; "))
        .maybe("required at an outlet", pressure(&item.required))
        .maybe("rated for at most", pressure(&item.rated_pressure));
    Told::one(row, &item.about)
}
