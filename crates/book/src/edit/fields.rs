//! From what was typed into the fields of a form to parts, and back to what the
//! fields show.

use crate::keys::{self, Key, Range, Shape};
use crate::model::{
    Aim, ApplianceItem, AppliancePart, Book, HosePart, NozzleItem, NozzlePart, RegulatorState,
    Shutoff, Stated, Target,
};
use crate::problem::nearest;
use hydraulics::units::{Force, Kind, Measure, Pressure, Ratio, System, UnitError, parse, show};

/// What is wrong with one field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldError {
    /// The field, by its name in the struct of fields.
    pub key: &'static str,
    /// What is wrong, with what was typed.
    pub message: String,
    /// What would mend it, with an example in the reader's units.
    pub mend: String,
}

/// The fields of a hose in its place, as texts. An empty text is nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct HoseFields {
    /// The hose, by name.
    pub hose: String,
    /// Length, "200", "200 ft" or "60 m".
    pub length: String,
    /// Rise from its inlet to its outlet.
    pub rise: String,
    /// Share of the waterway that a kink closes, "30 %".
    pub kink: String,
}

/// The fields of a nozzle in its place, as texts. An empty text is nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct NozzleFields {
    /// The nozzle, by name.
    pub nozzle: String,
    /// One of its settings.
    pub setting: String,
    /// How far its shut-off is open, "50 %".
    pub gate: String,
    /// Rise from the part before it.
    pub rise: String,
    /// The state of its regulator: "", "flush" or "jammed".
    pub regulator: String,
    /// Share of its travel at which the regulator is jammed.
    pub jammed: String,
    /// Share of its screen that is blocked.
    pub screen_blocked: String,
    /// The tip alone.
    pub tip_only: bool,
    /// One of its foam attachments.
    pub attachment: String,
    /// What this tip is meant to deliver.
    pub aim: AimFields,
}

/// The fields of an appliance in its place, as texts. An empty text is nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ApplianceFields {
    /// The appliance, by name.
    pub appliance: String,
    /// How far its gates are open: one for all, or one for each row that
    /// follows. An empty one among others is open.
    pub gates: Vec<String>,
    /// Share of concentrate, "3 %".
    pub ratio: String,
    /// Rise from its inlet to its outlet.
    pub rise: String,
}

/// The fields of an aim, as texts. An empty text is nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct AimFields {
    /// What the pump is set for: "", "flow", "tip_pressure" or "reach".
    pub target: String,
    /// How much of it.
    pub value: String,
    /// The greatest reaction.
    pub reaction_at_most: String,
}

/// What a field shows for a quantity: its own text where that is in the units of
/// `reader`, else figure and unit as [`show`] has them. Read back unchanged,
/// with the part it came from, it gives the same quantity again.
///
/// ```
/// use book::{shown, Stated};
/// use hydraulics::units::{Kind, Length, System};
/// let length = Stated::<Length>::read(Kind::Length, "200 ft", System::Us)?;
/// assert_eq!(shown(Kind::Length, &length, System::Us), "200 ft");
/// assert_eq!(shown(Kind::Length, &length, System::Si), "61.0 m");
/// # Ok::<(), hydraulics::units::UnitError>(())
/// ```
pub fn shown<Q: Measure>(kind: Kind, stated: &Stated<Q>, reader: System) -> String {
    let text = stated.text();
    let unit = text.trim_start_matches(|c: char| !c.is_alphabetic() && !"%\"'".contains(c));
    let own = |name: &str| name.eq_ignore_ascii_case(unit);
    match !unit.is_empty() && kind.unit(reader).names().any(own) {
        true => text.into(),
        false => show(kind, stated.get(), reader),
    }
}

pub(super) fn field<Q: Measure>(kind: Kind, stated: Option<&Stated<Q>>, reader: System) -> String {
    stated.map_or_else(String::new, |s| shown(kind, s, reader))
}

/// Reads the field of a pump pressure: a bare number is in the units of
/// `reader`; nothing leaves the pressure to the aim. `was` is the pressure that the
/// field showed: left as it was shown, it stays as it was written.
///
/// # Errors
/// [`FieldError`] says what cannot be read, with an example.
///
/// ```
/// use hydraulics::units::System;
/// let read = book::pump_pressure("10.5", System::Si, None).map_err(|e| e.message)?;
/// assert_eq!(read.ok_or("nothing")?.text(), "10.5 bar");
/// let error = book::pump_pressure("150 gpm", System::Us, None).err().ok_or("no pressure")?;
/// assert_eq!(error.mend, "write it as \"150 psi\", between 1 psi and 600 psi");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn pump_pressure(
    text: &str,
    reader: System,
    was: Option<&Stated<Pressure>>,
) -> Result<Option<Stated<Pressure>>, FieldError> {
    single(keys::LINE, "pump_pressure", text, reader, was)
}

/// Reads the highest pump pressure that a department allows; nothing when the
/// text is empty.
///
/// # Errors
/// [`FieldError`] says what cannot be read or is out of its range.
///
/// ```
/// use hydraulics::units::System;
/// let error = book::pump_ceiling("99999 psi", System::Us).err().ok_or("too much")?;
/// let said = "Highest pump pressure allowed: 99999 psi is not between 1 psi and 600 psi";
/// assert_eq!(error.message, said);
/// # Ok::<(), &str>(())
/// ```
pub fn pump_ceiling(text: &str, reader: System) -> Result<Option<Stated<Pressure>>, FieldError> {
    single(keys::BOOK, "pump_ceiling", text, reader, None)
}

/// Reads the reaction that "one", "two" or "three" people can hold; nothing when
/// the text is empty, or `people` is another word.
///
/// # Errors
/// As [`pump_ceiling`].
///
/// ```
/// use hydraulics::units::System;
/// let error = book::crew_limit("two", "0", System::Si).err().ok_or("nothing to hold")?;
/// assert_eq!(error.message, "Two people: 0 N is not between 4 N and 8,896 N");
/// # Ok::<(), &str>(())
/// ```
pub fn crew_limit(
    people: &'static str,
    text: &str,
    reader: System,
) -> Result<Option<Stated<Force>>, FieldError> {
    single(keys::CREW, people, text, reader, None)
}

/// Reads one key of a table by itself.
fn single<Q: Measure>(
    table: &'static [Key],
    key: &'static str,
    text: &str,
    reader: System,
    was: Option<&Stated<Q>>,
) -> Result<Option<Stated<Q>>, FieldError> {
    let mut form = Form::new(reader);
    let read = form.quantity(table, key, text, was);
    match form.errors.pop() {
        Some(error) => Err(error),
        None => Ok(read),
    }
}

/// The fields of one form on their way to a part.
pub(super) struct Form {
    pub reader: System,
    pub errors: Vec<FieldError>,
}

impl Form {
    pub fn new(reader: System) -> Self {
        Form {
            reader,
            errors: Vec::new(),
        }
    }

    pub fn error(&mut self, key: &'static str, message: String, mend: impl Into<String>) {
        self.errors.push(FieldError {
            key,
            message,
            mend: mend.into(),
        });
    }

    pub fn done<T>(self, part: Option<T>) -> Result<T, Vec<FieldError>> {
        match part {
            Some(part) if self.errors.is_empty() => Ok(part),
            _ => Err(self.errors),
        }
    }

    /// Reads the key called `key` of `table`. `was` is what the field showed.
    fn quantity<Q: Measure>(
        &mut self,
        table: &'static [Key],
        key: &'static str,
        text: &str,
        was: Option<&Stated<Q>>,
    ) -> Option<Stated<Q>> {
        self.measure((table, key), key, text, was)
    }

    /// Reads a quantity in the range of a key, for a field that may have another
    /// name.
    pub fn measure<Q: Measure>(
        &mut self,
        (table, key): (&'static [Key], &str),
        field: &'static str,
        text: &str,
        was: Option<&Stated<Q>>,
    ) -> Option<Stated<Q>> {
        let range = range(table, key)?;
        self.within(range, &label(table, key), field, text, was)
    }

    /// Reads a quantity in a range; `label` is what the field is called.
    pub fn within<Q: Measure>(
        &mut self,
        range: &Range,
        label: &str,
        field: &'static str,
        text: &str,
        was: Option<&Stated<Q>>,
    ) -> Option<Stated<Q>> {
        let text = text.trim();
        if text.is_empty() {
            return None;
        }
        if let Some(was) = was.filter(|was| shown(range.kind, was, self.reader) == text) {
            return Some(was.clone());
        }
        let between = range.between(self.reader);
        match self.stated(range, text) {
            Err(error) => {
                let mend = format!("write it as {}, {between}", range.example(self.reader));
                self.error(field, format!("{label}: {error}"), mend);
            }
            Ok(stated) => match beyond(range, &stated) {
                false => return Some(stated),
                true => {
                    let message = format!("{label}: {} is not {between}", stated.text());
                    self.error(field, message, "check the number and its unit");
                }
            },
        }
        None
    }

    /// A bare number gets its unit: the book may have another. A share is always
    /// per cent here, as its field says; only a file may write a half as 0.5.
    fn stated<Q: Measure>(&self, range: &Range, text: &str) -> Result<Stated<Q>, UnitError> {
        let bare = |c: char| c.is_ascii_digit() || matches!(c, '.' | '+' | '-' | '/' | ' ');
        // Counts are plain numbers, and go beyond one.
        let share = range.kind == Kind::Share && range.high <= 1.0;
        let text = match parse::<Q>(range.kind, text) {
            _ if share && text.chars().all(bare) => format!("{text} %"),
            Err(UnitError::NoUnit { .. }) => {
                format!("{text} {}", range.kind.unit(self.reader).symbol)
            }
            _ => text.to_string(),
        };
        Stated::read(range.kind, &text, self.reader)
    }

    /// The name in a field that must have one; `all` are those it may be.
    fn name<'a>(
        &mut self,
        key: &'static str,
        text: &str,
        all: impl Iterator<Item = &'a str>,
        known: bool,
    ) -> Option<String> {
        let text = text.trim();
        if known {
            return Some(text.into());
        }
        match text {
            "" => self.error(
                key,
                format!("no {key} is chosen"),
                format!("choose the {key}"),
            ),
            text => {
                let mend = match nearest(text, all) {
                    Some(near) => format!("did you mean \"{near}\"?"),
                    None => "choose one of the book or of the catalogue".into(),
                };
                self.error(key, format!("there is no {key} \"{text}\""), mend);
            }
        }
        None
    }

    fn aim(&mut self, fields: &AimFields, was: Option<&Aim>) -> Option<Aim> {
        let was_target = was.and_then(|a| a.target.as_ref());
        let value = fields.value.as_str();
        let missing = value.trim().is_empty();
        let target = match fields.target.trim() {
            "" if missing => None,
            "" => {
                let message = format!("{value} is typed, but not what it is");
                self.error("target", message, "choose flow, tip pressure or reach");
                None
            }
            "flow" => {
                let was = match was_target {
                    Some(Target::Flow(was)) => Some(was),
                    _ => None,
                };
                self.target("flow", value, was).map(Target::Flow)
            }
            "tip_pressure" => {
                let was = match was_target {
                    Some(Target::TipPressure(was)) => Some(was),
                    _ => None,
                };
                self.target("tip_pressure", value, was)
                    .map(Target::TipPressure)
            }
            "reach" => {
                let was = match was_target {
                    Some(Target::Reach(was)) => Some(was),
                    _ => None,
                };
                self.target("reach", value, was).map(Target::Reach)
            }
            other => {
                let message = format!("a line has no aim called \"{other}\"");
                self.error("target", message, "choose flow, tip pressure or reach");
                None
            }
        };
        let most = was.and_then(|a| a.reaction_at_most.as_ref());
        let typed = &fields.reaction_at_most;
        let reaction_at_most = self.quantity(keys::AIM, "reaction_at_most", typed, most);
        (target.is_some() || reaction_at_most.is_some()).then_some(Aim {
            target,
            reaction_at_most,
        })
    }

    fn target<Q: Measure>(
        &mut self,
        key: &'static str,
        value: &str,
        was: Option<&Stated<Q>>,
    ) -> Option<Stated<Q>> {
        if value.trim().is_empty() {
            let what = key.replace('_', " ");
            let example = match keys::shape(keys::AIM, key) {
                Some(Shape::Quantity(range)) => range.example(self.reader),
                _ => String::new(),
            };
            let mend = format!("write it as {example}, or choose no aim");
            self.error("value", format!("the aim has no {what}"), mend);
            return None;
        }
        self.measure((keys::AIM, key), "value", value, was)
    }
}

/// What forms call a key.
fn label(table: &'static [Key], key: &str) -> String {
    let nozzle = std::ptr::eq(table, keys::NOZZLE_PART);
    let label = match key {
        "rise" if nozzle => "Held higher by",
        "rise" => "Goes up by",
        "kink" => "A kink closes",
        "gate" if nozzle => "Shut-off open",
        "gate" => "Gates open",
        "jammed" => "Stuck at",
        "ratio" => "Set to",
        "reaction_at_most" => "Reaction at most",
        "pump_ceiling" => "Highest pump pressure allowed",
        "one" => "One person",
        "two" => "Two people",
        "three" => "Three people",
        other => {
            let words = other.replace('_', " ");
            let first = words.chars().next().map(|c| c.to_ascii_uppercase());
            return first.into_iter().chain(words.chars().skip(1)).collect();
        }
    };
    label.into()
}

/// Is a quantity out of its range?
fn beyond<Q: Measure>(range: &Range, stated: &Stated<Q>) -> bool {
    !(range.low..=range.high).contains(&stated.get().si())
}

/// The range of a key that takes a quantity, or several.
pub(super) fn range(table: &'static [Key], key: &str) -> Option<&'static Range> {
    match keys::shape(table, key)? {
        Shape::Quantity(range)
        | Shape::Several(Shape::Quantity(range))
        | Shape::Listed(Shape::Quantity(range))
        | Shape::Pair(Shape::Quantity(range)) => Some(range),
        _ => None,
    }
}

pub(super) fn some(text: &str) -> Option<String> {
    let text = text.trim();
    (!text.is_empty()).then(|| text.into())
}

impl HoseFields {
    /// What the fields show for `part`, in the units of `reader`.
    pub fn of(part: &HosePart, reader: System) -> Self {
        HoseFields {
            hose: part.hose.clone(),
            length: shown(Kind::Length, &part.length, reader),
            rise: field(Kind::Length, part.rise.as_ref(), reader),
            kink: field(Kind::Share, part.kink.as_ref(), reader),
        }
    }

    /// Reads the fields. A bare number is in the units of `reader`. `was` is the
    /// part that the fields showed: what is as it was shown stays as it was
    /// written.
    ///
    /// # Errors
    /// [`FieldError`] for each field that cannot be read.
    ///
    /// ```
    /// use book::{Book, HoseFields};
    /// use hydraulics::units::System;
    /// let typed = HoseFields { hose: "1.75 in".into(), length: "60".into(), ..HoseFields::default() };
    /// let part = typed.read(&Book::default(), System::Si, None).map_err(|e| format!("{e:?}"))?;
    /// assert_eq!(part.length.text(), "60 m");
    /// # Ok::<(), String>(())
    /// ```
    pub fn read(
        &self,
        book: &Book,
        reader: System,
        was: Option<&HosePart>,
    ) -> Result<HosePart, Vec<FieldError>> {
        let mut form = Form::new(reader);
        let generic = &crate::catalogue::catalogue().hose;
        let all = book.hose.keys().chain(generic.keys()).map(String::as_str);
        let known = book.hose(self.hose.trim()).is_some();
        let hose = form.name("hose", &self.hose, all, known);
        let keys = keys::HOSE_PART;
        if self.length.trim().is_empty() {
            let mend = format!("write it as \"{}\"", Kind::Length.example(reader));
            form.error("length", "the hose has no length".into(), mend);
        }
        let length = form.quantity(keys, "length", &self.length, was.map(|w| &w.length));
        let rise = was.and_then(|w| w.rise.as_ref());
        let rise = form.quantity(keys, "rise", &self.rise, rise);
        let kink = was.and_then(|w| w.kink.as_ref());
        let kink = form.quantity(keys, "kink", &self.kink, kink);
        let part = hose.zip(length).map(|(hose, length)| HosePart {
            hose,
            length,
            rise,
            kink,
        });
        form.done(part)
    }
}

impl NozzleFields {
    /// What the fields show for `part`, in the units of `reader`.
    pub fn of(part: &NozzlePart, reader: System) -> Self {
        let text = |text: &Option<String>| text.clone().unwrap_or_default();
        let (regulator, jammed) = match &part.regulator {
            None => ("", None),
            Some(RegulatorState::Flush) => ("flush", None),
            Some(RegulatorState::Jammed(share)) => ("jammed", Some(share)),
        };
        NozzleFields {
            nozzle: part.nozzle.clone(),
            setting: text(&part.setting),
            gate: field(Kind::Share, part.gate.as_ref(), reader),
            rise: field(Kind::Length, part.rise.as_ref(), reader),
            regulator: regulator.into(),
            jammed: field(Kind::Share, jammed, reader),
            screen_blocked: field(Kind::Share, part.screen_blocked.as_ref(), reader),
            tip_only: part.tip_only,
            attachment: text(&part.attachment),
            aim: AimFields::of(part.aim.as_ref(), reader),
        }
    }

    /// Reads the fields, as [`HoseFields::read`] does. Where the nozzle is
    /// another than `was`, what the new one has not is left out (attachment,
    /// gate, regulator, tip alone), and a setting that it has not gives way to
    /// its first.
    ///
    /// # Errors
    /// [`FieldError`] for each field that cannot be read; those of the aim have
    /// its keys.
    ///
    /// ```
    /// use book::{Book, NozzleFields};
    /// use hydraulics::units::System;
    /// let typed = NozzleFields { nozzle: "150 gpm at 50 psi".into(), gate: "50".into(), ..NozzleFields::default() };
    /// let part = typed.read(&Book::default(), System::Us, None).map_err(|e| format!("{e:?}"))?;
    /// assert_eq!(part.gate.ok_or("no gate")?.text(), "50 %");
    /// # Ok::<(), String>(())
    /// ```
    pub fn read(
        &self,
        book: &Book,
        reader: System,
        was: Option<&NozzlePart>,
    ) -> Result<NozzlePart, Vec<FieldError>> {
        let mut form = Form::new(reader);
        let generic = &crate::catalogue::catalogue().nozzle;
        let all = book.nozzle.keys().chain(generic.keys()).map(String::as_str);
        let found = book.nozzle(self.nozzle.trim());
        let nozzle = form.name("nozzle", &self.nozzle, all, found.is_some());
        let keys = keys::NOZZLE_PART;
        let regulator = self.regulator(&mut form, was);
        let of = |get: fn(&NozzlePart) -> &Option<Stated<Ratio>>| was.and_then(|w| get(w).as_ref());
        let (gate, blocked) = (of(|w| &w.gate), of(|w| &w.screen_blocked));
        let rise = was.and_then(|w| w.rise.as_ref());
        let mut part = NozzlePart {
            nozzle: nozzle.clone().unwrap_or_default(),
            setting: some(&self.setting),
            gate: form.quantity(keys, "gate", &self.gate, gate),
            rise: form.quantity(keys, "rise", &self.rise, rise),
            regulator,
            screen_blocked: form.quantity(keys, "screen_blocked", &self.screen_blocked, blocked),
            tip_only: self.tip_only,
            attachment: some(&self.attachment),
            aim: form.aim(&self.aim, was.and_then(|w| w.aim.as_ref())),
        };
        let swapped = was.is_some_and(|was| was.nozzle != part.nozzle);
        if let Some(found) = found.filter(|_| swapped) {
            only_its_own(&mut part, found.item);
        }
        form.done(nozzle.map(|_| part))
    }

    fn regulator(&self, form: &mut Form, was: Option<&NozzlePart>) -> Option<RegulatorState> {
        let was = match was.and_then(|w| w.regulator.as_ref()) {
            Some(RegulatorState::Jammed(share)) => Some(share),
            _ => None,
        };
        match self.regulator.trim() {
            "" => None,
            "flush" => Some(RegulatorState::Flush),
            "jammed" if self.jammed.trim().is_empty() => {
                let message = "it is not said where the regulator is jammed".into();
                form.error("jammed", message, "write it as \"50 %\" of its travel");
                None
            }
            "jammed" => form
                .quantity(keys::NOZZLE_PART, "jammed", &self.jammed, was)
                .map(RegulatorState::Jammed),
            other => {
                let message = format!("a regulator cannot be \"{other}\"");
                form.error("regulator", message, "choose flush or jammed, or nothing");
                None
            }
        }
    }
}

/// Leaves out what another nozzle had and `item` has not.
fn only_its_own(part: &mut NozzlePart, item: &NozzleItem) {
    let known = part
        .setting
        .as_deref()
        .map(|s| item.setting(Some(s)).is_ok());
    if known != Some(true) {
        part.setting = item.settings().first().map(|s| (*s).into());
    }
    if item.shutoff == Shutoff::None {
        part.gate = None;
    }
    part.tip_only &= item.breaks_at.is_some();
    let attachment = part.attachment.take();
    part.attachment = attachment.filter(|a| item.attachment.contains_key(a));
    let able = match (&part.regulator, &item.kind) {
        (Some(RegulatorState::Flush), crate::model::NozzleKind::Automatic { flush, .. }) => *flush,
        (Some(_), crate::model::NozzleKind::Automatic { .. }) => true,
        _ => false,
    };
    if !able {
        part.regulator = None;
    }
}

impl ApplianceFields {
    /// What the fields show for `part`, in the units of `reader`.
    pub fn of(part: &AppliancePart, reader: System) -> Self {
        let gates = part.gates.iter();
        ApplianceFields {
            appliance: part.appliance.clone(),
            gates: gates.map(|g| shown(Kind::Share, g, reader)).collect(),
            ratio: field(Kind::Share, part.ratio.as_ref(), reader),
            rise: field(Kind::Length, part.rise.as_ref(), reader),
        }
    }

    /// Reads the fields, as [`HoseFields::read`] does. Where the appliance is
    /// another than `was`, gates and ratio are left out if it has none.
    ///
    /// # Errors
    /// [`FieldError`] for each field that cannot be read.
    ///
    /// ```
    /// use book::{ApplianceFields, Book};
    /// use hydraulics::units::System;
    /// let typed = ApplianceFields {
    ///     appliance: "gated wye 2.5 to 1.5 in".into(),
    ///     gates: vec!["".into(), "50 %".into()],
    ///     ..ApplianceFields::default()
    /// };
    /// let part = typed.read(&Book::default(), System::Us, None).map_err(|e| format!("{e:?}"))?;
    /// let gates: Vec<&str> = part.gates.iter().map(|g| g.text()).collect();
    /// assert_eq!(gates, ["100 %", "50 %"]);
    /// # Ok::<(), String>(())
    /// ```
    pub fn read(
        &self,
        book: &Book,
        reader: System,
        was: Option<&AppliancePart>,
    ) -> Result<AppliancePart, Vec<FieldError>> {
        let mut form = Form::new(reader);
        let generic = &crate::catalogue::catalogue().appliance;
        let own = book.appliance.keys();
        let all = own.chain(generic.keys()).map(String::as_str);
        let found = book.appliance(self.appliance.trim());
        let appliance = form.name("appliance", &self.appliance, all, found.is_some());
        let keys = keys::APPLIANCE_PART;
        let ratio = was.and_then(|w| w.ratio.as_ref());
        let rise = was.and_then(|w| w.rise.as_ref());
        let mut part = AppliancePart {
            appliance: appliance.clone().unwrap_or_default(),
            gates: self.gates(&mut form, was),
            ratio: form.quantity(keys, "ratio", &self.ratio, ratio),
            rise: form.quantity(keys, "rise", &self.rise, rise),
        };
        let swapped = was.is_some_and(|was| was.appliance != part.appliance);
        if let Some(ApplianceItem { gates, eductor, .. }) =
            found.filter(|_| swapped).map(|found| found.item)
        {
            part.gates
                .truncate(if gates.is_some() { usize::MAX } else { 0 });
            part.ratio = part.ratio.filter(|_| eductor.is_some());
        }
        form.done(appliance.map(|_| part))
    }

    fn gates(&self, form: &mut Form, was: Option<&AppliancePart>) -> Vec<Stated<Ratio>> {
        let Some(last) = self.gates.iter().rposition(|g| !g.trim().is_empty()) else {
            return Vec::new();
        };
        let mut gates = Vec::new();
        // One gate alone stands for all: with a blank one beside it, it does not.
        let wanted = if self.gates.len() > 1 {
            self.gates.len()
        } else {
            last + 1
        };
        for (index, text) in self.gates.iter().take(wanted).enumerate() {
            let text = match text.trim() {
                "" => "100 %",
                text => text,
            };
            let was = was.and_then(|w| w.gates.get(index));
            gates.extend(form.quantity(keys::APPLIANCE_PART, "gate", text, was));
        }
        gates
    }
}

impl AimFields {
    /// What the fields show for `aim`, in the units of `reader`.
    pub fn of(aim: Option<&Aim>, reader: System) -> Self {
        let (target, value) = match aim.and_then(|a| a.target.as_ref()) {
            None => ("", String::new()),
            Some(Target::Flow(flow)) => ("flow", shown(Kind::Flow, flow, reader)),
            Some(Target::TipPressure(p)) => ("tip_pressure", shown(Kind::Pressure, p, reader)),
            Some(Target::Reach(reach)) => ("reach", shown(Kind::Length, reach, reader)),
        };
        let most = aim.and_then(|a| a.reaction_at_most.as_ref());
        AimFields {
            target: target.into(),
            value,
            reaction_at_most: field(Kind::Force, most, reader),
        }
    }

    /// Reads the fields, as [`HoseFields::read`] does; nothing when all are
    /// empty.
    ///
    /// # Errors
    /// [`FieldError`] for each field that cannot be read.
    ///
    /// ```
    /// use book::AimFields;
    /// use hydraulics::units::System;
    /// let typed = AimFields { target: "flow".into(), value: "570".into(), ..AimFields::default() };
    /// let aim = typed.read(System::Si, None).map_err(|e| format!("{e:?}"))?;
    /// assert_eq!(AimFields::of(aim.as_ref(), System::Si).value, "570 L/min");
    /// # Ok::<(), String>(())
    /// ```
    pub fn read(&self, reader: System, was: Option<&Aim>) -> Result<Option<Aim>, Vec<FieldError>> {
        let mut form = Form::new(reader);
        let aim = form.aim(self, was);
        form.done(Some(aim))
    }
}
