//! What can be asked after an address.

use crate::fault::Fault;
use crate::reader::units;
use book::{Book, Which};
use hydraulics::units::System;
use serde::Deserialize;
use study::ask::{Asked, ChartAsked, ExtendAsked};
use utoipa::{IntoParams, ToSchema};

/// Nothing more can be asked.
#[derive(Deserialize, IntoParams)]
pub(super) struct Plain {}

/// Units of an answer.
#[derive(ToSchema)]
#[schema(rename_all = "snake_case")]
#[expect(dead_code, reason = "describes the words that `system` reads")]
pub(super) enum Units {
    /// psi, gpm, feet, pounds
    Us,
    /// bar, litres a minute, metres, newtons
    Si,
}

/// Which hose coefficients to use.
#[derive(ToSchema)]
#[schema(rename_all = "snake_case")]
#[expect(dead_code, reason = "describes the words that `which` reads")]
pub(super) enum Coefficients {
    /// The measured one where there is one
    Best,
    /// The published one, and every nozzle and pump by its rating
    Published,
    /// The lowest of the published spread
    Low,
    /// The highest of the published spread
    High,
}

/// Of one line. Each change may be asked several times and may name its place, "part
/// 3, branch 1, part 2 = 50 %"; without one it is the line's only tip, for a kink and
/// for hose its first hose.
#[derive(Deserialize, IntoParams, Default)]
#[serde(default)]
#[into_params(parameter_in = Query)]
pub(super) struct OfLine {
    /// Units of the answer; the book's when left out
    #[param(inline, value_type = Option<Units>)]
    pub units: Option<String>,
    /// Which hose coefficients to use; the best when left out
    #[param(inline, value_type = Option<Coefficients>)]
    coefficient: Option<String>,
    /// Pump pressure, instead of the book's or the aim's: "150 psi"
    pump: Option<String>,
    /// What if the pump is off by this much: "-20 psi"
    off: Option<String>,
    /// What if a gate is this far open: "40 %"
    #[param(example = json!(["40 %"]))]
    gate: Vec<String>,
    /// What if a nozzle is on another setting
    setting: Vec<String>,
    /// What if a kink closes this share of a hose: "30 %"
    kink: Vec<String>,
    /// What if this share of a nozzle's screen is blocked: "50 %"
    screen: Vec<String>,
    /// What if the regulator is flush, opening, closing, or "jammed 40 %"
    regulator: Vec<String>,
    /// What if a tip is this much higher: "10 ft"
    rise: Vec<String>,
    /// What if a hose is this long: "150 ft"
    length: Vec<String>,
    /// What if another hose lies in a place
    hose: Vec<String>,
    /// What if another nozzle is on
    nozzle: Vec<String>,
    /// What if a second line is opened on the same pump
    second: Vec<String>,
}

impl OfLine {
    pub fn asked(self) -> Result<Asked, Fault> {
        Ok(Asked {
            mark: "",
            which: which(self.coefficient.as_deref())?,
            pump: self.pump.into_iter().collect(),
            weaker: None,
            off: self.off,
            gate: self.gate,
            setting: self.setting,
            kink: self.kink,
            screen: self.screen,
            regulator: self.regulator,
            rise: self.rise,
            length: self.length,
            hose: self.hose,
            nozzle: self.nozzle,
            second: self.second,
        })
    }
}

/// Of a scene.
#[derive(Deserialize, IntoParams, Default)]
#[serde(default)]
#[into_params(parameter_in = Query)]
pub(super) struct OfScene {
    /// Units of the answer; the book's when left out
    #[param(inline, value_type = Option<Units>)]
    pub units: Option<String>,
    /// Which hose coefficients to use; the best when left out
    #[param(inline, value_type = Option<Coefficients>)]
    coefficient: Option<String>,
    /// What if a rig's pump is at another pressure: "pumper-1 = 150 psi"
    pump: Vec<String>,
    /// What if a line's outlet is this far open, "left-crosslay = 50 %", or a gate in
    /// it, "apartment: part 2, outlet 1 = 50 %"
    gate: Vec<String>,
    /// What if the mains give only this share of their test's flow
    #[param(example = "70 %")]
    weaker: Option<String>,
}

impl OfScene {
    pub fn asked(self) -> Result<Asked, Fault> {
        Ok(Asked {
            which: which(self.coefficient.as_deref())?,
            pump: self.pump,
            gate: self.gate,
            weaker: self.weaker,
            ..Default::default()
        })
    }
}

/// Of a chart.
#[derive(Deserialize, IntoParams, Default)]
#[serde(default)]
#[into_params(parameter_in = Query)]
pub(super) struct OfChart {
    /// Units of the answer; the book's when left out
    #[param(inline, value_type = Option<Units>)]
    pub units: Option<String>,
    /// Which hose coefficients to use; the best when left out
    #[param(inline, value_type = Option<Coefficients>)]
    coefficient: Option<String>,
    /// Lengths of the line's last hose, set apart by commas; at most 40
    #[param(example = "150 ft, 200 ft, 250 ft")]
    lengths: Option<String>,
    /// Heights of the tip above the pump, set apart by commas; at most 40
    rises: Option<String>,
}

impl OfChart {
    pub fn asked(self) -> Result<ChartAsked, Fault> {
        Ok(ChartAsked {
            mark: "",
            which: which(self.coefficient.as_deref())?,
            lengths: self.lengths,
            rises: self.rises,
        })
    }
}

/// Of hose added at a tip.
#[derive(Deserialize, IntoParams, Default)]
#[serde(default)]
#[into_params(parameter_in = Query)]
pub(super) struct OfExtension {
    /// Units of the answer; the book's when left out
    #[param(inline, value_type = Option<Units>)]
    pub units: Option<String>,
    /// Which hose coefficients to use; the best when left out
    #[param(inline, value_type = Option<Coefficients>)]
    coefficient: Option<String>,
    /// How much hose
    #[param(value_type = String, required, example = "100 ft")]
    by: Option<String>,
    /// Which hose; the line's last when left out
    hose: Option<String>,
    /// At which tip, of a line with several: "part 3, branch 1, part 2"
    at: Option<String>,
}

impl OfExtension {
    pub fn asked(self) -> Result<ExtendAsked, Fault> {
        let by = self.by.ok_or_else(|| {
            Fault::Misread("by: say how much hose is added, as by=100 ft or by=30 m".into())
        })?;
        Ok(ExtendAsked {
            mark: "",
            which: which(self.coefficient.as_deref())?,
            by,
            hose: self.hose,
            at: self.at,
        })
    }
}

/// The units asked for, or the book's.
pub(super) fn system(asked: Option<&str>, book: &Book) -> Result<System, Fault> {
    let Some(word) = asked else {
        return Ok(book.units);
    };
    units(word).ok_or_else(|| Fault::Misread(format!("units: there are us and si, no \"{word}\"")))
}

fn which(asked: Option<&str>) -> Result<Which, Fault> {
    match asked {
        None | Some("best") => Ok(Which::Best),
        Some("published") => Ok(Which::Published),
        Some("low") => Ok(Which::PublishedLow),
        Some("high") => Ok(Which::PublishedHigh),
        Some(word) => Err(Fault::Misread(format!(
            "coefficient: there are best, published, low and high, no \"{word}\""
        ))),
    }
}
