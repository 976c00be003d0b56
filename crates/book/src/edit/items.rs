//! Equipment by forms: from typed fields to a rig, a hose, a nozzle, an appliance,
//! a hydrant or a gauge of the book, and back to what the fields show.

mod appliance;
mod gauge;
mod hose;
mod hydrant;
mod nozzle;
mod rig;
mod sheet;

use super::error::EditError;
use super::fields::{FieldError, Form};
use super::reads_back;
use crate::catalogue::catalogue;
use crate::model::{About, Book};
use crate::reader::nameable;
use hydraulics::units::System;
use indexmap::IndexMap;
use sheet::Sheet;
use std::collections::BTreeMap;

/// The equipment that forms make.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ItemKind {
    /// A rig with its pump and tank.
    Rig,
    /// Hose of one size and make.
    Hose,
    /// A nozzle.
    Nozzle,
    /// A wye, a monitor, an eductor and the like.
    Appliance,
    /// A hydrant with its flow test.
    Hydrant,
    /// A gauge or a flow meter.
    Gauge,
}

impl ItemKind {
    /// All of them.
    pub const ALL: [ItemKind; 6] = [
        ItemKind::Rig,
        ItemKind::Hose,
        ItemKind::Nozzle,
        ItemKind::Appliance,
        ItemKind::Hydrant,
        ItemKind::Gauge,
    ];

    /// The word of a book's file.
    pub fn word(self) -> &'static str {
        match self {
            ItemKind::Rig => "rig",
            ItemKind::Hose => "hose",
            ItemKind::Nozzle => "nozzle",
            ItemKind::Appliance => "appliance",
            ItemKind::Hydrant => "hydrant",
            ItemKind::Gauge => "gauge",
        }
    }
}

/// What stands in the fields of a form, by key. A field that is not there is
/// empty, and an empty one is nothing.
///
/// A rig has `pump`, `pump_rated_at`, `pump_points`, `pump_tested`, `tank`, `tank_flow`,
/// `concentrate` and `proportioner`; a hose `size`, `coefficient`, `measured`,
/// `measured_date`, `uncertainty`, `measured_source`, `coupling`,
/// `service_pressure`, `weight`, `price` and `stock`; a nozzle `kind`, `bore`, `flow`, `flows`,
/// `pressure`, `high_name`, `high_flow`, `high_flow_to`, `high_pressure`,
/// `high_pressure_to` and the same with `low`, `flush`, `shutoff`, `waterway`,
/// `coupling`, `breaks_at`, `form`, `colour`, `mark`, `foam`, `price` and `stock`; an appliance `kind`, `allowance`,
/// `from_flow`, `loss`, `loss_flow`, `gates`, `clappers`, `flow`,
/// `inlet_pressure`, `back_pressure`, `setting`, `waterway`, `inlets`,
/// `outlets` and `price`; a hydrant `static`, `residual`, `flow`, `size_1`, `pitot_1`,
/// `count_1`, `shape_1` and so on to 3, `same_main_as` and `date`; a gauge
/// `measures`, `serial`, `step`, `accuracy`, `swing`, `highest` and `calibrated`.
/// All have `source` and `note`. Several in one field are separated by semicolons.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ItemFields(pub BTreeMap<String, String>);

impl ItemFields {
    /// A field without the blanks around it.
    ///
    /// ```
    /// let typed = book::ItemFields([("size".into(), " 2.5 in ".into())].into());
    /// assert_eq!((typed.get("size"), typed.get("note")), ("2.5 in", ""));
    /// ```
    pub fn get(&self, key: &str) -> &str {
        self.0.get(key).map_or("", |text| text.trim())
    }

    fn set(&mut self, key: &str, text: impl Into<String>) {
        let text = text.into();
        if !text.is_empty() {
            self.0.insert(key.into(), text);
        }
    }

    fn about(&mut self, about: &About) {
        self.set("source", about.source.clone().unwrap_or_default());
        self.set("note", about.note.clone().unwrap_or_default());
    }
}

/// Why a piece of equipment cannot be made, changed or taken out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ItemError {
    /// Fields that cannot be read; `name` among them.
    #[error("{}", .0.first().map_or("a field cannot be read", |e| e.message.as_str()))]
    Fields(Vec<FieldError>),
    /// The book has none of its own with this name.
    #[error("the book has no {kind} \"{name}\" of its own")]
    NoItem {
        /// What was looked for.
        kind: &'static str,
        /// Its name.
        name: String,
    },
    /// The book's file would not take it.
    #[error(transparent)]
    Refused(#[from] EditError),
}

impl ItemError {
    /// What would mend it.
    ///
    /// ```
    /// let error = book::ItemError::NoItem { kind: "hose", name: "old".into() };
    /// assert_eq!(error.mend(), "look at the equipment as it is now");
    /// ```
    pub fn mend(&self) -> String {
        match self {
            ItemError::Fields(all) => all.first().map_or_else(String::new, |e| e.mend.clone()),
            ItemError::NoItem { .. } => "look at the equipment as it is now".into(),
            ItemError::Refused(error) => error.mend(),
        }
    }
}

/// A kind of equipment that forms make.
trait Item: Clone + 'static {
    const KIND: &'static str;

    fn all(book: &Book) -> &IndexMap<String, Self>;
    fn all_mut(book: &mut Book) -> &mut IndexMap<String, Self>;
    fn fields(&self, reader: System) -> ItemFields;
    /// Reads the fields. What is as it was shown stays as `was` has it, and so
    /// does what no field is about.
    fn read(sheet: &mut Sheet<'_>, was: Option<&Self>) -> Option<Self>;

    /// The same in a book with other units of bare numbers.
    fn portable(&self, _units: System) -> Self {
        self.clone()
    }
}

macro_rules! for_kind {
    ($kind:expr, $call:ident($($argument:expr),*)) => {
        match $kind {
            ItemKind::Rig => $call::<crate::model::RigItem>($($argument),*),
            ItemKind::Hose => $call::<crate::model::HoseItem>($($argument),*),
            ItemKind::Nozzle => $call::<crate::model::NozzleItem>($($argument),*),
            ItemKind::Appliance => $call::<crate::model::ApplianceItem>($($argument),*),
            ItemKind::Hydrant => $call::<crate::model::HydrantItem>($($argument),*),
            ItemKind::Gauge => $call::<crate::model::GaugeItem>($($argument),*),
        }
    };
}

/// What the fields show for the book's own item, or for the catalogue's; `None`
/// where neither has it.
///
/// ```
/// use book::{Book, ItemKind, item_fields};
/// use hydraulics::units::System;
/// let shown = item_fields(&Book::default(), ItemKind::Hose, "1.75 in", System::Us);
/// assert_eq!(shown.ok_or("no such hose")?.get("coefficient"), "15.5");
/// # Ok::<(), &str>(())
/// ```
pub fn item_fields(book: &Book, kind: ItemKind, name: &str, reader: System) -> Option<ItemFields> {
    fn shown<T: Item>(book: &Book, name: &str, reader: System) -> Option<ItemFields> {
        found::<T>(book, name).map(|item| item.fields(reader))
    }
    for_kind!(kind, shown(book, name, reader))
}

/// The book with one more item, called as the field `name` says. Bare numbers are
/// in the units of `reader`; what is typed is written with its unit. `like` is the
/// item, own or of the catalogue, that the fields showed.
///
/// # Errors
/// [`ItemError::Fields`] for each field that cannot be read;
/// [`ItemError::Refused`] for what the book's file would not take.
///
/// ```
/// use book::{Book, ItemFields, ItemKind, new_item};
/// use hydraulics::units::System;
/// let typed = [("name", "supply"), ("size", "125"), ("coefficient", "0.138")];
/// let typed = ItemFields(typed.map(|(k, v)| (k.into(), v.into())).into());
/// let book = new_item(&Book::default(), ItemKind::Hose, None, &typed, System::Si)?;
/// assert_eq!(book.hose["supply"].size.text(), "125 mm");
/// # Ok::<(), book::ItemError>(())
/// ```
pub fn new_item(
    book: &Book,
    kind: ItemKind,
    like: Option<&str>,
    fields: &ItemFields,
    reader: System,
) -> Result<Book, ItemError> {
    for_kind!(kind, made(book, like, fields, reader))
}

/// The book with its own item changed as the fields say. What is as it was shown
/// stays as it was written.
///
/// # Errors
/// As [`new_item`], and [`ItemError::NoItem`].
///
/// ```
/// use book::{Book, ItemKind, RigItem, change_item, item_fields};
/// use hydraulics::units::System;
/// let mut book = Book { name: "Example".into(), ..Book::default() };
/// book.rig.insert("pumper".into(), RigItem::default());
/// let mut typed = item_fields(&book, ItemKind::Rig, "pumper", System::Us).ok_or("no rig")?;
/// typed.0.insert("pump".into(), "1250".into());
/// let after = book::change_item(&book, ItemKind::Rig, "pumper", &typed, System::Us)?;
/// assert_eq!(after.rig["pumper"].pump.as_ref().map(|p| p.text()), Some("1250 gpm"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn change_item(
    book: &Book,
    kind: ItemKind,
    name: &str,
    fields: &ItemFields,
    reader: System,
) -> Result<Book, ItemError> {
    for_kind!(kind, changed(book, name, fields, reader))
}

/// The book without its own item.
///
/// # Errors
/// [`ItemError::NoItem`]; [`ItemError::Refused`] when the book still needs it.
///
/// ```
/// use book::{Book, ItemKind, RigItem, remove_item};
/// let mut book = Book { name: "Example".into(), ..Book::default() };
/// book.rig.insert("pumper".into(), RigItem::default());
/// assert!(remove_item(&book, ItemKind::Rig, "pumper")?.rig.is_empty());
/// # Ok::<(), book::ItemError>(())
/// ```
pub fn remove_item(book: &Book, kind: ItemKind, name: &str) -> Result<Book, ItemError> {
    for_kind!(kind, removed(book, name))
}

/// The book's own as it is, the catalogue's as this book would write it.
fn found<T: Item>(book: &Book, name: &str) -> Option<T> {
    let own = T::all(book).get(name).cloned();
    own.or_else(|| {
        let generic = catalogue();
        T::all(generic)
            .get(name)
            .map(|item| match generic.units == book.units {
                true => item.clone(),
                false => item.portable(generic.units),
            })
    })
}

fn made<T: Item>(
    book: &Book,
    like: Option<&str>,
    fields: &ItemFields,
    reader: System,
) -> Result<Book, ItemError> {
    let mut sheet = Sheet::new(fields, reader);
    let name = fields.get("name");
    check_name::<T>(book, name, &mut sheet.form);
    let like: Option<T> = like.and_then(|like| found(book, like));
    let item = T::read(&mut sheet, like.as_ref());
    put(book, name, sheet.form, item)
}

fn changed<T: Item>(
    book: &Book,
    name: &str,
    fields: &ItemFields,
    reader: System,
) -> Result<Book, ItemError> {
    let was = T::all(book).get(name).ok_or_else(|| none::<T>(name))?;
    let mut sheet = Sheet::new(fields, reader);
    let item = T::read(&mut sheet, Some(was));
    put(book, name, sheet.form, item)
}

fn put<T: Item>(book: &Book, name: &str, form: Form, item: Option<T>) -> Result<Book, ItemError> {
    let item = form.done(item).map_err(ItemError::Fields)?;
    let mut after = book.clone();
    T::all_mut(&mut after).insert(name.into(), item);
    reads_back(book, &after)?;
    Ok(after)
}

fn removed<T: Item>(book: &Book, name: &str) -> Result<Book, ItemError> {
    let mut after = book.clone();
    let gone = T::all_mut(&mut after).shift_remove(name);
    gone.ok_or_else(|| none::<T>(name))?;
    reads_back(book, &after)?;
    Ok(after)
}

fn none<T: Item>(name: &str) -> ItemError {
    ItemError::NoItem {
        kind: T::KIND,
        name: name.into(),
    }
}

const GOOD_NAME: &str = "give it a name of 1 to 80 letters, digits and signs";

/// A new name may not hide one of the catalogue: lines that name it would change.
fn check_name<T: Item>(book: &Book, name: &str, form: &mut Form) {
    let kind = T::KIND;
    let (message, mend) = if name.is_empty() {
        (format!("the {kind} has no name"), GOOD_NAME.into())
    } else if !nameable(name) {
        (
            format!("\"{name}\" is no name that can be read aloud"),
            GOOD_NAME.into(),
        )
    } else if T::all(book).contains_key(name) {
        let message = format!("the book already has the {kind} \"{name}\"");
        (
            message,
            "give this one another name, or change that one".into(),
        )
    } else if T::all(catalogue()).contains_key(name) {
        let message = format!("the generic catalogue already has the {kind} \"{name}\"");
        (
            message,
            format!("give yours another name, as \"our {name}\""),
        )
    } else {
        return;
    };
    form.error("name", message, mend);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(pairs: &[(&str, &str)]) -> ItemFields {
        let own = |(key, value): &(&str, &str)| ((*key).to_string(), (*value).to_string());
        ItemFields(pairs.iter().map(own).collect())
    }

    fn demo() -> Book {
        let text = include_bytes!("../../../../books/saltmarsh-bend.toml");
        crate::reader::read(text, "saltmarsh-bend.toml").unwrap()
    }

    #[test]
    fn what_no_field_shows_stays() {
        let book = demo();
        let mut foam = item_fields(&book, ItemKind::Nozzle, "foam", System::Si).unwrap();
        foam.0.insert("waterway".into(), "30".into());
        let after = change_item(&book, ItemKind::Nozzle, "foam", &foam, System::Si).unwrap();
        let (was, now) = (&book.nozzle["foam"], &after.nozzle["foam"]);
        assert_eq!(now.attachment, was.attachment);
        assert_eq!(now.kind, was.kind);
        assert_eq!(now.waterway.as_ref().unwrap().text(), "30 mm");
        let mut north =
            item_fields(&book, ItemKind::Hydrant, "mill-street-north", System::Us).unwrap();
        north.0.insert("note".into(), "low".into());
        let after = change_item(
            &book,
            ItemKind::Hydrant,
            "mill-street-north",
            &north,
            System::Us,
        );
        let after = after.unwrap();
        let loss = |book: &Book| book.hydrant["mill-street-north"].loss.clone();
        assert!(loss(&after).is_some());
        assert_eq!(loss(&after), loss(&book));
    }

    #[test]
    fn a_size_that_changes_leaves_the_spread_of_the_old_one() {
        let book = demo();
        let mut hose = item_fields(&book, ItemKind::Hose, "attack", System::Us).unwrap();
        hose.0.insert("size".into(), "2 in".into());
        let after = change_item(&book, ItemKind::Hose, "attack", &hose, System::Us).unwrap();
        assert!(book.hose["attack"].spread().is_some());
        assert!(after.hose["attack"].spread().is_none());
    }

    #[test]
    fn what_the_book_still_needs_is_not_taken_out() {
        let book = demo();
        let refused = remove_item(&book, ItemKind::Hose, "attack").unwrap_err();
        assert!(matches!(refused, ItemError::Refused(_)));
        assert!(refused.to_string().contains("attack"), "{refused}");
    }

    #[test]
    fn every_wrong_field_is_told_at_once() {
        let fields = typed(&[
            ("name", ""),
            ("kind", "automatic"),
            ("bore", "1"),
            ("shutoff", "tap"),
            ("coupling", "1.5"),
        ]);
        let book = Book::default();
        let Err(ItemError::Fields(errors)) =
            new_item(&book, ItemKind::Nozzle, None, &fields, System::Us)
        else {
            panic!("it was made");
        };
        let keys: Vec<&str> = errors.iter().map(|e| e.key).collect();
        for key in ["name", "bore", "high_flow", "shutoff", "coupling"] {
            assert!(keys.contains(&key), "{key}: {keys:?}");
        }
        assert!(errors.iter().all(|e| !e.mend.is_empty()));
    }

    #[test]
    fn points_of_a_pump_test_are_read_in_the_readers_units() {
        let fields = typed(&[
            ("name", "a"),
            ("pump_points", "2000 L/min at 15; 3000 at 10 bar"),
        ]);
        let book = Book {
            name: "Example".into(),
            ..Book::default()
        };
        let after = new_item(&book, ItemKind::Rig, None, &fields, System::Si).unwrap();
        let points = &after.rig["a"].pump_points;
        let texts: Vec<_> = points.iter().map(|(q, p)| (q.text(), p.text())).collect();
        assert_eq!(texts, [("2000 L/min", "15 bar"), ("3000 L/min", "10 bar")]);
    }
}
