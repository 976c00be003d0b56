//! The figures that the nozzle must keep to.

use book::{Book, NozzleItem, NozzleKind, SettingError, Shutoff};
use hydraulics::reaction::people;
use hydraulics::units::{Force, Pressure, VolumeRate, psi};
use serde::Serialize;
use study::figure;
use study::given;

use crate::paper::Units;
use crate::sheet::nozzles;

/// One thing that is asked for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Wanted {
    /// What it is about.
    pub what: String,
    /// What it must be.
    pub must: String,
    /// How far it may be off; empty where nothing is to be measured.
    pub within: String,
    /// The tolerance is from memory.
    pub memory: bool,
}

fn plain(what: impl Into<String>, must: impl Into<String>) -> Wanted {
    Wanted {
        what: what.into(),
        must: must.into(),
        within: String::new(),
        memory: false,
    }
}

/// All of them in their order.
pub(super) fn rows(book: &Book, item: &NozzleItem, units: Units) -> Vec<Wanted> {
    let mut rows = Vec::new();
    for setting in nozzles::settings(item) {
        let asked = match nozzles::automatic(item, setting) {
            Some(_) => range(item, setting, units),
            None => rating(item, setting, units),
        };
        match asked.and_then(|asked| Ok([asked, reaction(book, item, setting, units)?])) {
            Ok(both) => rows.extend(both),
            Err(error) => rows.push(plain("Flow", error.to_string())),
        }
    }
    rows.extend(make(item, units));
    rows
}

/// "Flow", with the setting where there are several; settings are numbered, for their
/// names are the department's.
fn of_setting(what: &str, item: &NozzleItem, setting: Option<&str>) -> String {
    let names = item.settings();
    let place = names.iter().position(|name| Some(*name) == setting);
    match place {
        Some(place) if names.len() > 1 => format!("{what}, setting {}", place + 1),
        _ => what.into(),
    }
}

/// A flow at its pressure, and up to a tenth more.
fn rating(item: &NozzleItem, setting: Option<&str>, units: Units) -> Result<Wanted, SettingError> {
    let pressure = item.rated_pressure(setting)?;
    let flow = item.rated(setting)?.flow(pressure);
    let at = units.show(figure::pressure(pressure)).text();
    let most = nozzles::between([figure::flow(flow), figure::flow(flow * 1.1)], units);
    Ok(Wanted {
        what: of_setting("Flow at rated nozzle pressure", item, setting),
        must: nozzles::rated(item, setting, units)?,
        within: format!("{most} at {at} (0 to +10 % of the flow)"),
        memory: true,
    })
}

/// A range of flows over which the pressure stays near its rating.
fn range(item: &NozzleItem, setting: Option<&str>, units: Units) -> Result<Wanted, SettingError> {
    let rated = item.rated_pressure(setting)?;
    let off = psi(15.0);
    let ends = [rated - off, rated + off].map(figure::pressure);
    let rated = units.show(figure::pressure(rated)).text();
    let off = units.show(figure::pressure(off)).text();
    Ok(Wanted {
        what: of_setting("Range of flow", item, setting),
        must: nozzles::rated(item, setting, units)?,
        within: format!(
            "nozzle pressure {} over the whole range (rated {rated}, ±{off})",
            nozzles::between(ends, units)
        ),
        memory: true,
    })
}

/// The greatest reaction: what the fewest people can hold who can hold it at all.
fn reaction(
    book: &Book,
    item: &NozzleItem,
    setting: Option<&str>,
    units: Units,
) -> Result<Wanted, SettingError> {
    let at = highest(item, setting)?;
    let limits = book.crew_limits();
    let found = given(item, setting, &[at])?;
    let reaction = found
        .first()
        .map(|given| given.reaction)
        .unwrap_or_default();
    let formula = units.show(figure::force(reaction)).text();
    let at = units.show(figure::pressure(at)).text();
    let held = people(reaction, limits).and_then(|count| {
        let limit = limits.get(usize::from(count).checked_sub(1)?)?;
        Some((count, units.show(figure::force(*limit)).text()))
    });
    let (must, within) = match held {
        Some((count, limit)) => {
            let hold = if count == 1 { "one person" } else { "a crew" };
            let many = if count == 1 {
                String::new()
            } else {
                format!(" of {count}")
            };
            (
                format!("at most {limit}, what {hold}{many} can hold"),
                format!("by the formula {formula} at {at}"),
            )
        }
        None => (
            beyond(item, setting, limits, units),
            format!("by the formula {formula} at {at}"),
        ),
    };
    Ok(Wanted {
        what: of_setting("Reaction", item, setting),
        must,
        within,
        memory: false,
    })
}

/// Where three people cannot hold it at its highest: up to which flow they can.
fn beyond(item: &NozzleItem, setting: Option<&str>, limits: [Force; 3], units: Units) -> String {
    let [_, _, most] = limits;
    let held = nozzles::automatic(item, setting).and_then(|range| {
        let [low, high] = range.pressure.each_ref().map(book::Stated::get);
        held_up_to(item, setting, most, (low, high))
    });
    let limit = units.show(figure::force(most)).text();
    match held {
        Some(flow) => format!(
            "at most {limit}, what a crew of 3 can hold, up to {}; above that from a monitor or a fixed mount",
            units.show(figure::flow(flow)).text()
        ),
        None => {
            format!("more than {limit}, what a crew of 3 can hold: for a monitor or a fixed mount")
        }
    }
}

/// The flow between two pressures at which the reaction is `most`; `None` where it is more
/// all the way. Reaction rises with pressure, so that halving finds it.
fn held_up_to(
    item: &NozzleItem,
    setting: Option<&str>,
    most: Force,
    (mut low, mut high): (Pressure, Pressure),
) -> Option<VolumeRate> {
    let at = |pressure| given(item, setting, &[pressure]).ok()?.pop();
    if at(low)?.reaction > most {
        return None;
    }
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        match at(middle)?.reaction > most {
            true => high = middle,
            false => low = middle,
        }
    }
    Some(at(low)?.flow)
}

/// The highest nozzle pressure for which it is rated.
fn highest(item: &NozzleItem, setting: Option<&str>) -> Result<Pressure, SettingError> {
    match nozzles::automatic(item, setting) {
        Some(range) => {
            let [_, high] = &range.pressure;
            Ok(high.get())
        }
        None => item.rated_pressure(setting),
    }
}

/// How it is made.
fn make(item: &NozzleItem, units: Units) -> Vec<Wanted> {
    let mut rows = vec![plain("Kind", nozzles::kind(item, units))];
    if let Some(form) = item.form {
        rows.push(plain("Put together as", form.word()));
    }
    let coupling = item.coupling.as_ref().map(|c| c.get().describe());
    rows.push(plain(
        "Coupling and thread",
        coupling.unwrap_or_else(|| "________ (not in the book: write size and thread)".into()),
    ));
    rows.push(plain(
        "Shut-off",
        match item.shutoff {
            Shutoff::None => "none of its own".to_string(),
            other => format!(
                "{}, worked with a gloved hand, full open and shut without tools",
                other.word()
            ),
        },
    ));
    if let Some(way) = &item.waterway {
        let least = nozzles::size(way.get(), way.text(), units);
        rows.push(plain(
            "Waterway through the shut-off",
            format!("at least {least}"),
        ));
    }
    if let Some(thread) = &item.breaks_at {
        let thread = thread.get().describe();
        rows.push(plain("Tip unscrews from the shut-off", thread));
    }
    if let NozzleKind::Automatic { flush: true, .. } = item.kind {
        rows.push(plain(
            "Flush",
            "clears debris without shutting down the pump or taking it apart",
        ));
    }
    for (number, attachment) in item.attachment.values().enumerate() {
        let reach = units.show(figure::length(attachment.reach.get())).text();
        rows.push(plain(
            format!("Foam attachment {}", number + 1),
            format!(
                "expansion {} : 1, reach at least {reach}",
                attachment.expansion.get().value
            ),
        ));
    }
    rows
}
