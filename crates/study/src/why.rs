//! Why the pump pressure is what it is: what the water needs on its way to a tip, as a
//! sum.

use crate::answer::{LineAnswer, PartAnswer};
use book::{LaidPart, LaidTip, Layout, PartKind, Step};
use hydraulics::units::{Length, Pressure, VolumeRate};
use lay::{PartId, PlaceId};

/// A pump pressure taken apart. Its terms add up to it, to a few hundredths of a psi.
#[derive(Debug, Clone, PartialEq)]
pub struct Why {
    /// The tip that the sum leads to.
    pub place: String,
    /// Its nozzle and setting.
    pub tip: String,
    /// Pressure at the pump outlet.
    pub pump_pressure: Pressure,
    /// What makes it up, from the tip back to the pump.
    pub terms: Vec<Term>,
}

/// One term of the sum.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// What the pressure is for.
    pub of: TermOf,
    /// How much; below zero where the tip lies lower than the pump.
    pub pressure: Pressure,
}

/// What a part of the pump pressure is for.
#[derive(Debug, Clone, PartialEq)]
pub enum TermOf {
    /// Nozzle pressure.
    Tip,
    /// Loss in the nozzle's own shut-off and screen.
    Shutoff,
    /// Friction in hose.
    Hose {
        /// Its name.
        name: String,
        /// How long it is.
        length: Length,
        /// What flows through it.
        flow: VolumeRate,
        /// It is one of several legs side by side.
        leg: bool,
    },
    /// Loss in an appliance, a gate, a shut-off left behind or a riser.
    Part {
        /// The word for it.
        kind: &'static str,
        /// Its name.
        name: String,
        /// What flows through it.
        flow: VolumeRate,
    },
    /// The tip lies so much higher than the pump outlet.
    Height(Length),
}

/// Why the pump pressure of `answer` is what it is, by the way to the tip at `place`
/// (the first tip when `None`). `layout` and `answer` must be of the same line under
/// the same conditions. `None` when no water reaches that tip.
///
/// ```
/// use hydraulics::units::{show, Kind, System};
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "2.5 in", length = "200 ft" }, { nozzle = "1-1/8 in smooth bore" }]
/// aim = { tip_pressure = "50 psi" }
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let conditions = Default::default();
/// let layout = book::layout(&book, "left", &conditions)?;
/// let answer = study::solve(&book, "left", &conditions)?;
/// let why = study::why(&layout, &answer, None).ok_or("no water")?;
/// let psi: Vec<String> = why.terms.iter().map(|t| show(Kind::Pressure, t.pressure, System::Us)).collect();
/// // 50 at the tip, 2 x 2.66^2 x 2 = 28 in the hose: 78 at the pump.
/// assert_eq!(psi, ["50 psi", "28 psi"]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn why(layout: &Layout, answer: &LineAnswer, place: Option<&str>) -> Option<Why> {
    let wanted = |tip: &&LaidTip| {
        tip.line == answer.line && place.is_none_or(|place| tip.path.to_string() == place)
    };
    let tip = layout.tips.iter().find(wanted)?;
    let at_tip = answer.tips.iter();
    let got = at_tip
        .filter(|got| got.line == tip.line)
        .find(|got| got.place == tip.path.to_string())?;
    let way = Way { layout, answer };
    let mut terms = vec![Term {
        of: TermOf::Tip,
        pressure: got.tip_pressure,
    }];
    let (inlet, outlet) = layout.lay.ends(tip.part);
    let in_nozzle = way.loss(tip.part)? - got.tip_pressure;
    terms.push(Term {
        of: TermOf::Shutoff,
        pressure: in_nozzle,
    });
    let mut at = inlet;
    let mut parts_left = layout.lay.parts().count();
    while at != layout.supply {
        parts_left = parts_left.checked_sub(1)?;
        let part = way.before(at)?;
        // A joint of legs is no part of the book's and loses nothing.
        if let Some(laid) = way.laid(part) {
            terms.push(Term {
                of: way.of(laid),
                pressure: way.loss(part)?,
            });
        }
        at = layout.lay.ends(part).0;
    }
    let lay = &layout.lay;
    let rise = lay.height(outlet) - lay.height(layout.supply);
    terms.push(Term {
        of: TermOf::Height(rise),
        pressure: lay.column(rise),
    });
    terms.retain(|term| term.of == TermOf::Tip || term.pressure.value.abs() > LEAST);
    Some(Why {
        place: tip.path.to_string(),
        tip: got.called(),
        pump_pressure: answer.pump_pressure,
        terms,
    })
}

/// Terms smaller than this, in Pa, are left out: 0.01 psi.
const LEAST: f64 = 70.0;

struct Way<'a> {
    layout: &'a Layout,
    answer: &'a LineAnswer,
}

impl Way<'_> {
    /// The part through which most water comes to `place`; of legs that come together
    /// alike the first, since they lose the same.
    fn before(&self, place: PlaceId) -> Option<PartId> {
        let lay = &self.layout.lay;
        let leads = |part: &PartId| lay.ends(*part).1 == place;
        let flow = |part: PartId| {
            let from = lay.ends(part).0;
            let feeds = || lay.parts().filter(|other| lay.ends(*other).1 == from);
            let own = self.flow(part);
            own.or_else(|| feeds().find_map(|other| self.flow(other)))
                .unwrap_or_default()
        };
        let all = lay.parts().filter(leads);
        all.reduce(|most, part| match flow(part) > flow(most) * 1.001 {
            true => part,
            false => most,
        })
    }

    fn laid(&self, part: PartId) -> Option<&LaidPart> {
        self.layout.parts.iter().find(|laid| laid.part == part)
    }

    fn answered(&self, part: PartId) -> Option<&PartAnswer> {
        let mut both = self.layout.parts.iter().zip(&self.answer.parts);
        both.find(|(laid, _)| laid.part == part)
            .map(|(_, answer)| answer)
    }

    fn flow(&self, part: PartId) -> Option<VolumeRate> {
        self.answered(part).map(|answer| answer.flow)
    }

    /// What a part takes, height apart.
    fn loss(&self, part: PartId) -> Option<Pressure> {
        let answer = self.answered(part)?;
        let drop = answer.pressure_in? - answer.pressure_out?;
        Some(drop - self.layout.lay.rise(part))
    }

    fn of(&self, laid: &LaidPart) -> TermOf {
        let leg = laid.path.0.iter().any(|step| matches!(step, Step::Leg(_)));
        let flow = self.flow(laid.part).unwrap_or_default();
        match (laid.kind, laid.length) {
            (PartKind::Hose, Some(length)) => TermOf::Hose {
                name: laid.name.clone(),
                length,
                flow,
                leg,
            },
            _ => TermOf::Part {
                kind: laid.kind.word(),
                name: laid.name.clone(),
                flow,
            },
        }
    }
}
