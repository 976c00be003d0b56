//! A change to a line, from the form that asks for it.

use super::parts::at;
use crate::form::{Refused, Sent, by_field, sentence, whole};
use book::{
    AimFields, ApplianceFields, Book, Edit, EditError, HoseFields, HosePart, NewLine, NewLineError,
    NozzleFields, NozzlePart, Part, Path, Stated, Step,
};
use hydraulics::units::{Kind, System};

impl Sent {
    pub(super) fn place(&self) -> Path {
        self.get("place").parse().unwrap_or_default()
    }

    fn aim(&self) -> AimFields {
        AimFields {
            target: self.own("target"),
            value: self.own("value"),
            reaction_at_most: self.own("reaction_at_most"),
        }
    }

    fn hose(&self) -> HoseFields {
        HoseFields {
            hose: self.own("hose"),
            length: self.own("length"),
            rise: self.own("rise"),
            kink: self.own("kink"),
        }
    }

    fn nozzle(&self) -> NozzleFields {
        NozzleFields {
            nozzle: self.own("nozzle"),
            setting: self.own("setting"),
            gate: self.own("gate"),
            rise: self.own("rise"),
            regulator: self.own("regulator"),
            jammed: self.own("jammed"),
            screen_blocked: self.own("screen_blocked"),
            tip_only: !self.get("tip_only").is_empty(),
            attachment: self.own("attachment"),
            aim: self.aim(),
        }
    }

    fn appliance(&self) -> ApplianceFields {
        let gates = self.get("gates").split(',').map(str::trim);
        ApplianceFields {
            appliance: self.own("appliance"),
            gates: gates
                .filter(|gate| !gate.is_empty())
                .map(String::from)
                .collect(),
            ratio: self.own("ratio"),
            rise: self.own("rise"),
        }
    }
}

/// A book with the change made.
pub(super) struct Changed {
    pub book: Book,
    /// The line's name after it; `None`: it is gone.
    pub line: Option<String>,
    /// The deed, for the history.
    pub why: &'static str,
}

/// Makes the change that `sent` asks for.
pub(super) fn change(
    book: &Book,
    line: &str,
    sent: &Sent,
    system: System,
) -> Result<Changed, Refused> {
    let place = sent.place();
    let todo = sent.get("do");
    let made = |edits: &[Edit], why: &'static str| made(book, line, edits, why);
    match todo {
        "put" => made(
            &[Edit::Put(
                place.clone(),
                put(book, line, &place, sent, system)?,
            )],
            "part changed",
        ),
        "add" => made(
            &[Edit::Insert(place, vec![added(book, sent, system)?])],
            "part put in",
        ),
        "beyond" => {
            let hose = sent.hose().read(book, system, None).map_err(by_field)?;
            let nozzle = sent.nozzle().read(book, system, None).map_err(by_field)?;
            let parts = vec![Part::Hose(hose), Part::Nozzle(nozzle)];
            made(&[Edit::Insert(place, parts)], "line extended")
        }
        "extend" => made(
            &[extended(book, line, &place, sent, system)?],
            "line extended",
        ),
        "remove" => made(&[Edit::Remove(place)], "part taken out"),
        "earlier" => made(&[Edit::Earlier(place)], "part moved"),
        "later" => made(&[Edit::Later(place)], "part moved"),
        "divide" => made(&[divide(place)], "line divided"),
        "divide-after" => made(&[divide(after(&place))], "line divided"),
        "add-row" => made(&[Edit::AddRow(place)], "branch or leg added"),
        "twin" => made(&[Edit::Twin(place)], "hose laid double"),
        "line" => made(&line_edits(book, line, sent, system)?, "line changed"),
        "rename" => renamed(made(&[Edit::Rename(sent.own("to"))], "line renamed")?, sent),
        "copy" => copied(book, line, sent),
        "delete" => {
            made(&[Edit::Delete], "line taken out").map(|done| Changed { line: None, ..done })
        }
        _ => Err(whole("There is no such change. Go back and choose one.")),
    }
}

/// A wye that fits, before what stands at `at`.
fn divide(at: Path) -> Edit {
    Edit::Divide {
        at,
        appliance: None,
    }
}

/// A copy says that it is one, until it is called otherwise.
fn copied(book: &Book, line: &str, sent: &Sent) -> Result<Changed, Refused> {
    let to = sent.own("to");
    let done = made(book, line, &[Edit::Copy(to.clone())], "line copied")?;
    let title = book.line.get(line).and_then(|line| line.title.as_ref());
    let title = title.map(|title| Edit::Title(Some(format!("{title} (copy)"))));
    let titled: Vec<Edit> = title.into_iter().collect();
    made(&done.book, &to, &titled, "line copied")
}

fn renamed(done: Changed, sent: &Sent) -> Result<Changed, Refused> {
    Ok(Changed {
        line: Some(sent.own("to")),
        ..done
    })
}

fn made(book: &Book, line: &str, edits: &[Edit], why: &'static str) -> Result<Changed, Refused> {
    let mut book = book.clone();
    for edit in edits {
        // The history names the adapters that come and go with it.
        let (changed, _) =
            book::edit_and_adapt(&book, line, edit).map_err(|error| refused(line, &error))?;
        book = changed;
    }
    Ok(Changed {
        book,
        line: Some(line.into()),
        why,
    })
}

/// The part as the form has it, of the kind that stands at the place.
fn put(
    book: &Book,
    line: &str,
    place: &Path,
    sent: &Sent,
    system: System,
) -> Result<Part, Refused> {
    let stands = book.line.get(line).and_then(|line| at(line, place));
    match stands {
        Some(Part::Hose(was)) => sent.hose().read(book, system, Some(was)).map(Part::Hose),
        Some(Part::Nozzle(was)) => sent
            .nozzle()
            .read(book, system, Some(was))
            .map(Part::Nozzle),
        Some(Part::Appliance(was)) => sent
            .appliance()
            .read(book, system, Some(was))
            .map(Part::Appliance),
        _ => {
            return Err(whole(format!("The line has no part at {place}.")));
        }
    }
    .map_err(by_field)
}

/// Hose added at the tip at `place`: the hose before it made longer where it is the
/// same, else a run of its own; beyond the shut-off where the tip unscrews from it.
fn extended(
    book: &Book,
    line: &str,
    place: &Path,
    sent: &Sent,
    system: System,
) -> Result<Edit, Refused> {
    let stands = book.line.get(line);
    let Some(Part::Nozzle(tip)) = stands.and_then(|line| at(line, place)) else {
        return Err(whole(format!("The line has no tip at {place}.")));
    };
    let added = sent.hose().read(book, system, None).map_err(by_field)?;
    let breaks = book
        .nozzle(&tip.nozzle)
        .is_some_and(|found| found.item.breaks_at.is_some());
    if breaks && !tip.tip_only {
        let tip = NozzlePart {
            tip_only: true,
            ..tip.clone()
        };
        return Ok(Edit::Insert(
            after(place),
            vec![Part::Hose(added), Part::Nozzle(tip)],
        ));
    }
    let last = before(place);
    match stands.and_then(|line| at(line, &last)) {
        Some(Part::Hose(hose)) if hose.hose == added.hose && last != *place => {
            let length = hose.length.get() + added.length.get();
            let length = Stated::of(Kind::Length, length, book.units)
                .map_err(|error| whole(error.to_string()))?;
            Ok(Edit::Put(
                last,
                Part::Hose(HosePart {
                    length,
                    ..hose.clone()
                }),
            ))
        }
        _ => Ok(Edit::Insert(place.clone(), vec![Part::Hose(added)])),
    }
}

/// A part to be put in: "hose attack", "appliance gated wye".
fn added(book: &Book, sent: &Sent, system: System) -> Result<Part, Refused> {
    let read = match sent.get("what").split_once(' ') {
        Some(("hose", name)) => {
            let hose = HoseFields {
                hose: name.into(),
                ..sent.hose()
            };
            hose.read(book, system, None).map(Part::Hose)
        }
        Some(("appliance", name)) => {
            let appliance = ApplianceFields {
                appliance: name.into(),
                ..sent.appliance()
            };
            appliance.read(book, system, None).map(Part::Appliance)
        }
        _ => {
            return Err(vec![(
                "what".into(),
                "Choose a hose or an appliance.".into(),
            )]);
        }
    };
    read.map_err(by_field)
}

fn line_edits(book: &Book, line: &str, sent: &Sent, system: System) -> Result<Vec<Edit>, Refused> {
    let stands = book.line.get(line);
    let was = stands.and_then(|line| line.aim.as_ref());
    let aim = sent.aim().read(system, was);
    let kept = stands.and_then(|line| line.pump_pressure.as_ref());
    let pump = book::pump_pressure(sent.get("pump_pressure"), system, kept);
    let marking = book::marking(sent.get("colour"), sent.get("mark"));
    let (aim, pump, marking) = match (aim, pump, marking) {
        (Ok(aim), Ok(pump), Ok(marking)) => (aim, pump, marking),
        (aim, pump, marking) => {
            let mut wrong = aim.err().unwrap_or_default();
            wrong.extend(pump.err());
            wrong.extend(marking.err().into_iter().flatten());
            return Err(by_field(wrong));
        }
    };
    let some = |text: String| (!text.is_empty()).then_some(text);
    Ok(vec![
        Edit::Title(some(sent.own("title"))),
        Edit::Rig(some(sent.own("rig"))),
        Edit::Aim(aim),
        Edit::PumpPressure(pump),
        Edit::Marking(marking),
    ])
}

/// A new line as the form has it.
pub(super) fn begin(book: &Book, sent: &Sent, system: System) -> Result<Changed, Refused> {
    let wanted = NewLine {
        title: sent.own("title"),
        rig: sent.own("rig"),
        hose: sent.own("hose"),
        length: sent.own("length"),
        nozzle: sent.own("nozzle"),
        setting: sent.own("setting"),
        aim: sent.aim(),
    };
    match book::new_line(book, &wanted, system) {
        Ok(started) => Ok(Changed {
            book: started.book,
            line: Some(started.line),
            why: "new line",
        }),
        Err(NewLineError::Fields(wrong)) => Err(by_field(wrong)),
        Err(NewLineError::Edit(error)) => Err(refused("", &error)),
    }
}

/// Each fault beside its field where the form has it.
fn refused(line: &str, error: &EditError) -> Refused {
    let EditError::Faults(faults) = error else {
        let key = match error {
            EditError::Taken { .. } | EditError::BadName { .. } => "to",
            _ => "",
        };
        return vec![(key.into(), sentence(&error.to_string(), &error.mend()))];
    };
    let said = faults.iter().map(|fault| {
        let (key, message) = (fault.key, sentence(&fault.message, &fault.mend));
        match fault.line == line && FIELDS.contains(&key) {
            true => (key.to_string(), message),
            false => (String::new(), message),
        }
    });
    said.collect()
}

/// The keys that a form may show.
const FIELDS: [&str; 12] = [
    "hose",
    "length",
    "rise",
    "kink",
    "nozzle",
    "setting",
    "gate",
    "screen_blocked",
    "attachment",
    "appliance",
    "ratio",
    "rig",
];

/// The place that a form stays open at.
pub(super) fn open_at(sent: &Sent) -> super::parts::What {
    use super::parts::What;
    let place = sent.place();
    match sent.get("do") {
        "add" => What::Add(place),
        "beyond" => What::Beyond(before(&place)),
        "line" | "rename" | "copy" | "delete" => What::Line,
        _ => What::Part(place),
    }
}

/// The place after one in its row.
pub(super) fn after(place: &Path) -> Path {
    let mut steps = place.0.clone();
    if let Some(Step::Part(n)) = steps.last_mut() {
        *n += 1;
    }
    Path(steps)
}

/// The place before one in its row.
fn before(place: &Path) -> Path {
    let mut steps = place.0.clone();
    if let Some(Step::Part(n)) = steps.last_mut() {
        *n = n.saturating_sub(1).max(1);
    }
    Path(steps)
}
