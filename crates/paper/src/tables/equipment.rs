//! The tables of equipment: what a book and the catalogue have, each with its values.

mod gauges;
mod items;
mod water;

use book::{About, Book, Origin, catalogue};
use hydraulics::units::System;
use indexmap::IndexMap;
use picture::Drawing;

use super::listing::{Listing, Row};
use super::written::stated;
use super::{Table, Tables, drawing};
use crate::paper::Units;
use crate::sheet::common::cautions;

/// The kinds of equipment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Equipment {
    /// Rigs with their pumps and tanks.
    Rig,
    /// Hose.
    Hose,
    /// Nozzles.
    Nozzle,
    /// Appliances.
    Appliance,
    /// Hydrants.
    Hydrant,
    /// Open water.
    Draft,
    /// Tanker shuttles.
    Shuttle,
    /// Standpipes.
    Standpipe,
    /// Gauges and flow meters.
    Gauge,
}

impl Equipment {
    /// Every kind there is.
    pub const ALL: [Equipment; 9] = [
        Equipment::Rig,
        Equipment::Hose,
        Equipment::Nozzle,
        Equipment::Appliance,
        Equipment::Hydrant,
        Equipment::Draft,
        Equipment::Shuttle,
        Equipment::Standpipe,
        Equipment::Gauge,
    ];

    /// Its word in a book.
    pub fn word(self) -> &'static str {
        match self {
            Equipment::Rig => "rig",
            Equipment::Hose => "hose",
            Equipment::Nozzle => "nozzle",
            Equipment::Appliance => "appliance",
            Equipment::Hydrant => "hydrant",
            Equipment::Draft => "draft",
            Equipment::Shuttle => "shuttle",
            Equipment::Standpipe => "standpipe",
            Equipment::Gauge => "gauge",
        }
    }

    /// The title of its table.
    pub fn title(self) -> &'static str {
        match self {
            Equipment::Rig => "Rigs",
            Equipment::Hose => "Hose",
            Equipment::Nozzle => "Nozzles",
            Equipment::Appliance => "Appliances",
            Equipment::Hydrant => "Hydrants",
            Equipment::Draft => "Open water",
            Equipment::Shuttle => "Tanker shuttles",
            Equipment::Standpipe => "Standpipes",
            Equipment::Gauge => "Gauges and flow meters",
        }
    }

    /// The kind whose [`Equipment::word`] is `word`.
    pub fn called(word: &str) -> Option<Equipment> {
        Equipment::ALL.into_iter().find(|kind| kind.word() == word)
    }
}

/// The equipment of `book` and of the catalogue, a table for each kind.
pub fn of_equipment(book: &Book, units: Units) -> Tables {
    let kinds = Equipment::ALL.into_iter();
    let tables = kinds.filter_map(|kind| listed(book, kind, None, units));
    made(book, "Equipment".into(), units, tables.collect())
}

/// One piece of equipment with the points of its drawings; `None` when neither the book
/// nor the catalogue has it.
pub fn of_item(book: &Book, kind: Equipment, name: &str, units: Units) -> Option<Tables> {
    let mut tables = vec![listed(book, kind, Some(name), units)?];
    tables.extend(curves(book, kind, name, units));
    let subject = format!("{} {name}", crate::words::capital(kind.word()));
    Some(made(book, subject, units, tables))
}

fn made(book: &Book, subject: String, units: Units, tables: Vec<Table>) -> Tables {
    Tables {
        subject,
        department: book.name.clone(),
        invented: book.about.invented,
        units,
        cautions: cautions(true),
        tables,
    }
}

/// The table of a kind, of all or of one by name: the book's own, then what the catalogue
/// has beside it.
pub(crate) fn listed(
    book: &Book,
    kind: Equipment,
    only: Option<&str>,
    units: Units,
) -> Option<Table> {
    let mut list = List {
        listing: Listing::new(kind.title()),
        only,
        book,
        units,
    };
    match kind {
        Equipment::Rig => list.all(|b| &b.rig, items::rig),
        Equipment::Hose => list.all(|b| &b.hose, items::hose),
        Equipment::Nozzle => list.all(|b| &b.nozzle, items::nozzle),
        Equipment::Appliance => list.all(|b| &b.appliance, items::appliance),
        Equipment::Hydrant => list.all(|b| &b.hydrant, water::hydrant),
        Equipment::Draft => list.all(|b| &b.draft, water::draft),
        Equipment::Shuttle => list.all(|b| &b.shuttle, water::shuttle),
        Equipment::Standpipe => list.all(|b| &b.standpipe, water::standpipe),
        Equipment::Gauge => list.all(|b| &b.gauge, gauges::gauge),
    }
    list.listing.table(units)
}

/// A table of equipment in the making.
struct List<'a> {
    listing: Listing,
    only: Option<&'a str>,
    book: &'a Book,
    units: Units,
}

/// A piece of equipment on its way into a table.
struct Piece<'a, T> {
    book: &'a Book,
    name: &'a str,
    item: &'a T,
    units: Units,
}

/// What is said of a piece: a row, or one for each of its settings; and its source, where
/// that is more than its entry's.
struct Told<'a> {
    rows: Vec<Row>,
    about: &'a About,
    more: Option<String>,
}

impl<'a> List<'a> {
    fn all<T: 'a>(
        &mut self,
        of: impl Fn(&'a Book) -> &'a IndexMap<String, T>,
        tell: impl Fn(Row, &Piece<'a, T>) -> Told<'a>,
    ) {
        let own = of(self.book);
        let generic = of(catalogue()).iter();
        let beside = generic.filter(|(name, _)| !own.contains_key(*name));
        let own = own.iter().map(|entry| (entry, Origin::Own));
        let beside = beside.map(|entry| (entry, Origin::Catalogue));
        for ((name, item), origin) in own.chain(beside) {
            if self.only.is_some_and(|only| only != name) {
                continue;
            }
            let piece = Piece {
                book: self.book,
                name,
                item,
                units: self.units,
            };
            let told = tell(Row::new().with("name", name.as_str()), &piece);
            let stated = stated(told.about, origin);
            let source = match told.more {
                Some(more) => format!("Book value: {stated}; {more}"),
                None => stated,
            };
            for row in told.rows {
                let row = row.maybe("note", told.about.note.as_deref());
                self.listing.push(row, &source);
            }
        }
    }
}

impl<'a> Told<'a> {
    fn one(row: Row, about: &'a About) -> Self {
        Told {
            rows: vec![row],
            about,
            more: None,
        }
    }
}

/// The points of an item's drawings.
fn curves(book: &Book, kind: Equipment, name: &str, units: Units) -> Vec<Table> {
    let draw = |title: &str, drawn: &dyn Fn(System) -> Option<Drawing>| {
        let source = format!("{}: as its values say.", crate::words::capital(name));
        drawing::of(title, &source, units, drawn)
    };
    match kind {
        Equipment::Hose => draw("Friction loss", &|system| {
            picture::hose_curve(book, name, system)
        }),
        Equipment::Nozzle => {
            let Some(item) = book.nozzle(name).map(|found| found.item) else {
                return Vec::new();
            };
            let mut all = draw("Flow", &|system| picture::nozzle_curve(name, item, system));
            all.extend(draw("Reaction", &|system| {
                picture::reaction_curve(name, item, book.crew_limits(), system)
            }));
            all
        }
        Equipment::Appliance => draw("Loss", &|system| {
            let found = book.appliance(name)?;
            picture::loss_curve(name, found.item, system)
        }),
        Equipment::Rig => draw("Pump", &|system| {
            let pump = book.rig.get(name)?.capability().ok().flatten()?;
            Some(picture::capability(name, &pump, None, system))
        }),
        Equipment::Hydrant => draw("Supply", &|system| {
            let test = book.hydrant.get(name)?.test().ok().flatten()?;
            Some(picture::tested(name, &test, system))
        }),
        Equipment::Draft | Equipment::Shuttle | Equipment::Standpipe | Equipment::Gauge => {
            Vec::new()
        }
    }
}
