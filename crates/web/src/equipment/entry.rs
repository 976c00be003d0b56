//! One piece of equipment of a book or the catalogue.

use book::{
    About, ApplianceItem, Book, DraftItem, GaugeItem, HoseItem, HydrantItem, ItemKind, NozzleItem,
    Origin, RigItem, ShuttleItem, StandpipeItem, catalogue,
};
use indexmap::IndexMap;

/// The kinds of equipment, in the order of a book.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Hose,
    Nozzle,
    Appliance,
    Rig,
    Hydrant,
    Draft,
    Shuttle,
    Standpipe,
    Gauge,
}

impl Kind {
    pub const ALL: [Kind; 9] = [
        Kind::Rig,
        Kind::Hose,
        Kind::Nozzle,
        Kind::Appliance,
        Kind::Hydrant,
        Kind::Draft,
        Kind::Shuttle,
        Kind::Standpipe,
        Kind::Gauge,
    ];

    /// The word in addresses and in a book.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Hose => "hose",
            Kind::Nozzle => "nozzle",
            Kind::Appliance => "appliance",
            Kind::Rig => "rig",
            Kind::Hydrant => "hydrant",
            Kind::Draft => "draft",
            Kind::Shuttle => "shuttle",
            Kind::Standpipe => "standpipe",
            Kind::Gauge => "gauge",
        }
    }

    /// What several of them are called.
    pub fn many(self) -> &'static str {
        match self {
            Kind::Hose => "Hose",
            Kind::Nozzle => "Nozzles",
            Kind::Appliance => "Appliances",
            Kind::Rig => "Rigs",
            Kind::Hydrant => "Hydrants",
            Kind::Draft => "Open water",
            Kind::Shuttle => "Tanker shuttles",
            Kind::Standpipe => "Standpipes",
            Kind::Gauge => "Gauges and flow meters",
        }
    }

    /// The kind as forms make it; `None` for what only the file can say.
    pub fn by_form(self) -> Option<ItemKind> {
        ItemKind::ALL
            .into_iter()
            .find(|kind| kind.word() == self.word())
    }

    pub fn read(word: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.word() == word)
    }
}

/// The item itself.
#[derive(Clone, Copy)]
pub(super) enum Item<'a> {
    Hose(&'a HoseItem),
    Nozzle(&'a NozzleItem),
    Appliance(&'a ApplianceItem),
    Rig(&'a RigItem),
    Hydrant(&'a HydrantItem),
    Draft(&'a DraftItem),
    Shuttle(&'a ShuttleItem),
    Standpipe(&'a StandpipeItem),
    Gauge(&'a GaugeItem),
}

/// An item with its name and whose it is.
#[derive(Clone, Copy)]
pub(super) struct Entry<'a> {
    pub kind: Kind,
    pub name: &'a str,
    pub item: Item<'a>,
    pub origin: Origin,
}

impl Entry<'_> {
    pub fn about(&self) -> &About {
        match self.item {
            Item::Hose(item) => &item.about,
            Item::Nozzle(item) => &item.about,
            Item::Appliance(item) => &item.about,
            Item::Rig(item) => &item.about,
            Item::Hydrant(item) => &item.about,
            Item::Draft(item) => &item.about,
            Item::Shuttle(item) => &item.about,
            Item::Standpipe(item) => &item.about,
            Item::Gauge(item) => &item.about,
        }
    }

    /// Whose it is, in words.
    pub fn whose(&self) -> &'static str {
        match self.origin {
            Origin::Own => "own",
            Origin::Catalogue => "generic catalogue",
        }
    }
}

/// Everything of a kind: the book's own, then what the catalogue has beside it.
pub(super) fn entries(book: &Book, kind: Kind) -> Vec<Entry<'_>> {
    let own = of(book, kind, Origin::Own);
    let names: Vec<&str> = own.iter().map(|entry| entry.name).collect();
    let generic = of(catalogue(), kind, Origin::Catalogue).into_iter();
    let beside: Vec<Entry<'_>> = generic
        .filter(|entry| !names.contains(&entry.name))
        .collect();
    own.into_iter().chain(beside).collect()
}

/// The one called `name`: the book's own, or the catalogue's.
pub(super) fn entry<'a>(book: &'a Book, kind: Kind, name: &str) -> Option<Entry<'a>> {
    entries(book, kind)
        .into_iter()
        .find(|entry| entry.name == name)
}

fn of(book: &Book, kind: Kind, origin: Origin) -> Vec<Entry<'_>> {
    fn all<'a, T>(
        items: &'a IndexMap<String, T>,
        item: impl Fn(&'a T) -> Item<'a>,
        (kind, origin): (Kind, Origin),
    ) -> Vec<Entry<'a>> {
        let entry = |(name, value): (&'a String, &'a T)| Entry {
            kind,
            name,
            item: item(value),
            origin,
        };
        items.iter().map(entry).collect()
    }
    let as_is = (kind, origin);
    match kind {
        Kind::Hose => all(&book.hose, Item::Hose, as_is),
        Kind::Nozzle => all(&book.nozzle, Item::Nozzle, as_is),
        Kind::Appliance => all(&book.appliance, Item::Appliance, as_is),
        Kind::Rig => all(&book.rig, Item::Rig, as_is),
        Kind::Hydrant => all(&book.hydrant, Item::Hydrant, as_is),
        Kind::Draft => all(&book.draft, Item::Draft, as_is),
        Kind::Shuttle => all(&book.shuttle, Item::Shuttle, as_is),
        Kind::Standpipe => all(&book.standpipe, Item::Standpipe, as_is),
        Kind::Gauge => all(&book.gauge, Item::Gauge, as_is),
    }
}
