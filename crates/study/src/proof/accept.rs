//! What a test found, put into the book beside what stands there.

use super::found::{Found, Measured, Proof, Suspect};
use super::model::{Find, Subject};
use super::{of_hose, of_hydrant, of_nozzle, of_pump};
use crate::reduce::Verdict;
use book::{
    Book, HydrantSupply, MeasuredLaw, MeasuredNozzle, NozzleKind, Severity, Stated, TestFlow, Which,
};
use hydraulics::friction::Coefficient;
use hydraulics::hydrant::{EXPONENT, LEAST_RESIDUAL_PSI};
use hydraulics::units::{Kind, Measure, Pressure, Ratio, System, VolumeRate, decimal, psi};

/// How a result is accepted.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Accepting<'a> {
    /// Who measured, and how: "own flow test".
    pub source: String,
    /// Accept it although a gauge is under suspicion.
    pub go_on: bool,
    /// The suspects of the day.
    pub suspects: &'a [Suspect],
    /// Gauges whose readings were corrected: no reason to refuse.
    pub corrected: &'a [String],
}

/// Why a result is not accepted.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AcceptError {
    /// Nothing was found.
    #[error("{subject}: the test found nothing that a book could keep{why}")]
    Nothing {
        /// What was tested.
        subject: String,
        /// Why; may be empty.
        why: String,
    },
    /// The result is too unsure to be of use.
    #[error(
        "{subject}: the test proves nothing: {name} may lie anywhere between {low} and {high}; \
         take more readings, at flows further apart"
    )]
    ProvesNothing {
        /// What was tested.
        subject: String,
        /// What was to be found.
        name: String,
        /// Lower end of the 95 % interval.
        low: String,
        /// Upper end.
        high: String,
    },
    /// A gauge of the test is under suspicion.
    #[error(
        "{subject}: it was read with {gauges}, which may be off; have it calibrated and read \
         the test anew, correct its readings, or say that the result is to be taken all the same"
    )]
    Suspect {
        /// What was tested.
        subject: String,
        /// The gauges.
        gauges: String,
    },
    /// The book has no place for it.
    #[error("{subject}: {why}")]
    NoPlace {
        /// What was tested.
        subject: String,
        /// Why, and what to do.
        why: String,
    },
    /// The book would not be sound.
    #[error("{subject}: the book would have an error: {fault}")]
    Unsound {
        /// What was tested.
        subject: String,
        /// The first fault.
        fault: String,
    },
}

/// Half of a 95 % interval as a share of the value from which on a test proves nothing.
const PROVES_NOTHING: f64 = 0.3;

/// `book` with what `proof` found, beside the published or rated value, with its day,
/// its uncertainty (half of the 95 % interval) and its source. A hydrant's test takes
/// the place of the one before, which goes into its note.
///
/// An exponent and a roughness are shown and not accepted: lines are worked out by C.
///
/// # Errors
/// [`AcceptError`] says why the result is not taken, and what would mend it.
pub fn accept(book: &Book, proof: &Proof, how: &Accepting<'_>) -> Result<Book, AcceptError> {
    let subject = proof.subject.to_string();
    let suspect: Vec<&str> = how
        .suspects
        .iter()
        .flat_map(|s| &s.gauges)
        .filter(|gauge| proof.gauges.contains(gauge) && !how.corrected.contains(gauge))
        .map(String::as_str)
        .collect();
    if !suspect.is_empty() && !how.go_on {
        return Err(AcceptError::Suspect {
            subject,
            gauges: suspect.join(" and "),
        });
    }
    if proof.found.is_empty() {
        let why = proof.notices.iter().find(|n| n.code == "not_reduced");
        let why = why.map_or(String::new(), |n| format!(": {}", n.text));
        return Err(AcceptError::Nothing { subject, why });
    }
    let mut after = book.clone();
    match &proof.subject {
        Subject::Hose { hose, find } => put_hose(&mut after, proof, hose, *find, how)?,
        Subject::Nozzle { nozzle, setting } => {
            put_nozzle(&mut after, proof, nozzle, setting.as_deref(), how)?;
        }
        Subject::Pump { rig } => put_pump(&mut after, proof, rig)?,
        Subject::Hydrant { hydrant } => put_hydrant(&mut after, proof, hydrant, how)?,
        Subject::Service { .. } => {
            let why = "a service test changes no value of the book: it goes into the records \
                       of the hose";
            return Err(no_place(proof, why));
        }
    }
    let faults = book::check(&after);
    let before = book::check(book);
    let fresh = faults
        .iter()
        .find(|fault| fault.severity == Severity::Error && !before.contains(fault));
    match fresh {
        Some(fault) => Err(AcceptError::Unsound {
            subject,
            fault: fault.message.clone(),
        }),
        None => Ok(after),
    }
}

fn no_place(proof: &Proof, why: &str) -> AcceptError {
    AcceptError::NoPlace {
        subject: proof.subject.to_string(),
        why: why.into(),
    }
}

/// What was found under `name`, if the test proves it.
fn proven<'a>(proof: &'a Proof, name: &str) -> Result<&'a Found, AcceptError> {
    let subject = proof.subject.to_string();
    let Some(found) = proof.found.iter().find(|f| f.name == name) else {
        let why = format!(": {name} is missing");
        return Err(AcceptError::Nothing { subject, why });
    };
    let us = System::Us;
    let [low, high] = found.between.map(|end| end.number(us));
    let value = found.value.number(us);
    let sure = low > 0.0 && (high - low) / 2.0 < PROVES_NOTHING * value;
    match sure && low.is_finite() && high.is_finite() {
        true => Ok(found),
        false => Err(AcceptError::ProvesNothing {
            subject,
            name: name.into(),
            low: found.between[0].show(us),
            high: found.between[1].show(us),
        }),
    }
}

/// Half of the 95 % interval, in the numbers of `system`.
fn half(found: &Found, system: System) -> f64 {
    let [low, high] = found.between.map(|end| end.number(system));
    (high - low) / 2.0
}

fn source(how: &Accepting<'_>) -> Option<String> {
    let source = match how.source.trim() {
        "" => "own flow test",
        source => source,
    };
    let corrected = match how.corrected {
        [] => String::new(),
        gauges => format!("; readings of {} corrected", gauges.join(" and ")),
    };
    Some(format!("{source}{corrected}"))
}

/// A number with three figures, or as many decimals as two of its uncertainty have.
fn figures(value: f64, uncertainty: f64) -> String {
    let places = |v: f64, figures: f64| {
        let size = v.abs().max(1e-9).log10().floor();
        (figures - 1.0 - size).clamp(0.0, 6.0) as usize
    };
    let text = decimal(value, places(value, 3.0).max(places(uncertainty, 1.0)));
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').into(),
        false => text,
    }
}

fn put_hose(
    book: &mut Book,
    proof: &Proof,
    hose: &str,
    find: Find,
    how: &Accepting<'_>,
) -> Result<(), AcceptError> {
    if find != Find::C {
        let why = "the exponent and the roughness are shown and not kept: lines are worked out \
                   by the coefficient C; test the hose for C";
        return Err(no_place(proof, why));
    }
    let found = proven(proof, of_hose::C)?;
    let system = book.units;
    let (value, half) = (found.value.number(system), half(found, system));
    let read = |number: f64| Stated::<Coefficient>::read_c(&figures(number, half), system);
    let Some(coefficient) = read(value) else {
        return Err(no_place(proof, "the coefficient is not above zero"));
    };
    let Some(item) = book.hose(hose).map(|found| found.item.clone()) else {
        return Err(no_place(proof, "the book has no such hose any more"));
    };
    let item = book.hose.entry(hose.into()).or_insert(item);
    item.measured = Some(book::Measured {
        coefficient,
        date: Some(proof.date.clone()).filter(|d| !d.is_empty()),
        uncertainty: read(half),
        source: source(how),
    });
    Ok(())
}

/// A quantity as a book would have it written.
fn stated<Q: Measure>(kind: Kind, si: f64, half: f64, system: System) -> Option<Stated<Q>> {
    let unit = kind.unit(system);
    let (value, half) = (unit.from_si(si), unit.from_si(half) - unit.from_si(0.0));
    let text = format!("{} {}", figures(value, half), unit.symbol);
    Stated::read(kind, &text, system).ok()
}

/// The SI value of what was found, and half of its 95 % interval.
fn si(found: &Found, kind: Kind) -> (f64, f64) {
    let unit = kind.unit(System::Us);
    let number = |m: &Measured| unit.to_si(m.number(System::Us));
    let [low, high] = [&found.between[0], &found.between[1]].map(number);
    (number(&found.value), (high - low) / 2.0)
}

fn put_nozzle(
    book: &mut Book,
    proof: &Proof,
    nozzle: &str,
    setting: Option<&str>,
    how: &Accepting<'_>,
) -> Result<(), AcceptError> {
    let system = book.units;
    let gone = || no_place(proof, "the book has no such nozzle any more");
    let item = book.nozzle(nozzle).map(|found| found.item.clone());
    let item = item.ok_or_else(gone)?;
    let unfit = || no_place(proof, "what was found is no number that a book can hold");
    let law = match &item.kind {
        NozzleKind::SmoothBore { .. } => {
            let found = proven(proof, of_nozzle::CD)?;
            let (value, half) = (found.value.number(system), half(found, system));
            let read = |number: f64| {
                Stated::<Ratio>::read(Kind::Share, &figures(number, half), system).ok()
            };
            MeasuredLaw::Coefficient {
                coefficient: read(value).ok_or_else(unfit)?,
                uncertainty: read(half),
            }
        }
        NozzleKind::Automatic { .. } => {
            let [a, b, c, d] = of_nozzle::NAMES;
            let flow = |name: &str| -> Result<Stated<VolumeRate>, AcceptError> {
                let (value, half) = si(proven(proof, name)?, Kind::Flow);
                stated(Kind::Flow, value, half, system).ok_or_else(unfit)
            };
            let pressure = |name: &str| -> Result<Stated<Pressure>, AcceptError> {
                let (value, half) = si(proven(proof, name)?, Kind::Pressure);
                stated(Kind::Pressure, value, half, system).ok_or_else(unfit)
            };
            let halves = [b, d].map(|name| proven(proof, name).map(|f| si(f, Kind::Pressure).1));
            let [low, high] = halves;
            let widest = low?.max(high?);
            MeasuredLaw::Range {
                flow: [flow(a)?, flow(c)?],
                pressure: [pressure(b)?, pressure(d)?],
                band: proof
                    .found
                    .iter()
                    .find(|f| f.name == of_nozzle::BAND)
                    .and_then(|found| {
                        let (value, half) = si(found, Kind::Pressure);
                        // A band that may be none is none that was found.
                        (value - half > 0.0)
                            .then(|| stated(Kind::Pressure, value, half, system))
                            .flatten()
                    }),
                uncertainty: stated(Kind::Pressure, widest, widest, system),
            }
        }
        NozzleKind::Fixed { .. } | NozzleKind::Selectable { .. } => {
            let (value, half) = si(proven(proof, of_nozzle::RATED_FLOW)?, Kind::Flow);
            MeasuredLaw::Flow {
                flow: stated(Kind::Flow, value, half, system).ok_or_else(unfit)?,
                pressure: None,
                uncertainty: stated(Kind::Flow, half, half, system),
            }
        }
    };
    let item = book.nozzle.entry(nozzle.into()).or_insert(item);
    let measured = MeasuredNozzle {
        law,
        date: Some(proof.date.clone()).filter(|d| !d.is_empty()),
        source: source(how),
    };
    item.measured.insert(setting.unwrap_or("").into(), measured);
    Ok(())
}

fn put_pump(book: &mut Book, proof: &Proof, rig: &str) -> Result<(), AcceptError> {
    let system = book.units;
    let item = book.rig.get_mut(rig);
    let Some(item) = item else {
        return Err(no_place(proof, "the book has no such rig any more"));
    };
    let pump = item.used(Which::Published).ok().flatten();
    let points = pump
        .map(|used| used.pump.points().to_vec())
        .unwrap_or_default();
    let mut measured = Vec::new();
    for (flow, _) in points {
        let name = of_pump::name(flow.si());
        if !proof.found.iter().any(|f| f.name == name) {
            continue;
        }
        let (net, half) = si(proven(proof, &name)?, Kind::Pressure);
        let flow = stated(Kind::Flow, flow.si(), 0.0, system);
        let net = stated(Kind::Pressure, net, half, system);
        if let (Some(flow), Some(net)) = (flow, net) {
            measured.push((flow, net));
        }
    }
    if measured.len() < 2 {
        let why = "a pump's curve needs two points of its rating or more, and fewer were \
                   tested";
        return Err(no_place(proof, why));
    }
    let falls = measured.windows(2).all(|two| match two {
        [a, b] => b.1.get() < a.1.get(),
        _ => true,
    });
    if !falls {
        let why = "the net pressures do not fall from point to point: look at the readings";
        return Err(no_place(proof, why));
    }
    item.pump_points = measured;
    item.pump_tested = Some(proof.date.clone()).filter(|d| !d.is_empty());
    Ok(())
}

fn put_hydrant(
    book: &mut Book,
    proof: &Proof,
    hydrant: &str,
    how: &Accepting<'_>,
) -> Result<(), AcceptError> {
    let system = book.units;
    let (still, still_half) = si(proven(proof, of_hydrant::STATIC)?, Kind::Pressure);
    let (at_20, flow_half) = si(proven(proof, of_hydrant::AT_20)?, Kind::Flow);
    let read = proof.drawn.iter().flat_map(|d| &d.points).map(|p| p.x[0]);
    let flow = read.fold(0.0, f64::max);
    let least = psi(LEAST_RESIDUAL_PSI).si();
    let residual = still - (still - least) * (flow / at_20).powf(1.0 / EXPONENT);
    let Some(item) = book.hydrant.get_mut(hydrant) else {
        return Err(no_place(proof, "the book has no such hydrant any more"));
    };
    let HydrantSupply::Test {
        still: old_still,
        residual: old_residual,
        flow: old_flow,
    } = &item.supply
    else {
        let why = "this hydrant hangs on the main of another: test that one, or give this one \
                   a test of its own in the book";
        return Err(no_place(proof, why));
    };
    let before = format!(
        "test before{}: static {}, residual {} at {}",
        item.date
            .as_ref()
            .map_or(String::new(), |d| format!(", {d}")),
        old_still.text(),
        old_residual.text(),
        hydraulics::units::show(Kind::Flow, old_flow.get(), system),
    );
    let pressure = |si: f64| stated::<Pressure>(Kind::Pressure, si, still_half, system);
    let supply = (
        pressure(still),
        pressure(residual),
        stated::<VolumeRate>(Kind::Flow, flow, flow_half, system),
    );
    let (Some(still), Some(residual), Some(flow)) = supply else {
        return Err(no_place(
            proof,
            "what was found is no number that a book can hold",
        ));
    };
    item.supply = HydrantSupply::Test {
        still,
        residual,
        flow: TestFlow::Stated(flow),
    };
    item.date = Some(proof.date.clone()).filter(|d| !d.is_empty());
    item.about.source = source(how);
    item.about.note = Some(match item.about.note.take() {
        Some(note) => format!("{note}; {before}"),
        None => before,
    });
    Ok(())
}

impl Proof {
    /// Could a book keep what it found? A failed verdict is no reason against it: what a
    /// nozzle really gives is what its lines must be worked out with.
    pub fn has_a_place(&self) -> bool {
        let kept = !matches!(
            &self.subject,
            Subject::Service { .. }
                | Subject::Hose {
                    find: Find::Exponent | Find::Roughness,
                    ..
                }
        );
        kept && !self.found.is_empty()
    }

    /// Did any verdict fail?
    pub fn fails(&self) -> bool {
        self.verdict() == Some(Verdict::Fail)
    }
}
