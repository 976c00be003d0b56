//! What a choice takes out of store, what must be bought for it, and what it leaves over.

use super::places::Places;
use super::{OfLine, Said};
use crate::figure;
use book::{Book, Line};
use hydraulics::units::{Kind, Length, Measure, System, parse};
use std::collections::BTreeMap;

/// What is bought by the piece or the section.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Goods {
    /// Hose, by the section.
    Hose,
    /// Nozzles, by the piece.
    Nozzle,
}

/// So many pieces or sections of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Buy {
    /// What it is.
    pub what: Goods,
    /// Its name.
    pub name: String,
    /// Pieces or sections.
    pub pieces: u64,
    /// The length of a section, of hose.
    pub section: Option<Length>,
    /// The price of one, in the book's money; `None` where the book does not say.
    pub each: Option<f64>,
}

impl Buy {
    /// The price of all of them, in the book's money.
    pub fn price(&self) -> Option<f64> {
        self.each.map(|each| each * self.pieces as f64)
    }

    /// The length of all sections together.
    pub fn length(&self) -> Option<Length> {
        self.section.map(|section| section * self.pieces as f64)
    }

    /// "4 sections of 50.0 ft of large", "2 pieces of twin".
    fn said(&self) -> Said {
        let many = |one: &str| match self.pieces {
            1 => format!("1 {one} of "),
            more => format!("{more} {one}s of "),
        };
        match self.section {
            Some(section) => Said::new(many("section"))
                .figure(figure::length(section))
                .words(format!(" of {}", self.name)),
            None => Said::new(format!("{}{}", many("piece"), self.name)),
        }
    }
}

/// What a choice needs beside what its lines carry today.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Purchase {
    /// What must be bought.
    pub buy: Vec<Buy>,
    /// What lies in store and is taken from there.
    pub from_store: Vec<Buy>,
    /// What no line needs any more.
    pub left_over: Vec<Buy>,
}

impl Purchase {
    /// The price of all that must be bought, in the book's money; `None` where the book
    /// gives no price for some of it.
    pub fn price(&self) -> Option<f64> {
        let sum: Option<f64> = self.buy.iter().map(Buy::price).sum();
        // The sum of nothing is -0.
        sum.map(|sum| sum + 0.0)
    }

    /// In sentences: each kind with its price, the price of all, what comes from store,
    /// and what becomes free.
    pub fn said(&self, book: &Book) -> Vec<Said> {
        let mut said: Vec<Said> = self
            .buy
            .iter()
            .map(|buy| {
                let buy_it = Said::new("to buy: ").said(buy.said());
                match (buy.each, buy.price()) {
                    (Some(each), Some(price)) if buy.pieces > 1 => buy_it.words(format!(
                        " at {} each, {}",
                        book.price_text(each),
                        book.price_text(price)
                    )),
                    (_, Some(price)) => buy_it.words(format!(", {}", book.price_text(price))),
                    _ => buy_it.words("; the book has no price for it"),
                }
            })
            .collect();
        if let (true, Some(price)) = (self.buy.len() > 1, self.price()) {
            said.push(Said::new(format!(
                "to buy in all: {}",
                book.price_text(price)
            )));
        }
        for (words, list) in [
            ("from store: ", &self.from_store),
            ("becomes free: ", &self.left_over),
        ] {
            if let Some(all) = listed(list) {
                said.push(Said::new(words).said(all));
            }
        }
        said
    }
}

/// Several in a row.
fn listed(all: &[Buy]) -> Option<Said> {
    let all = all.iter().map(Buy::said);
    all.reduce(|one, other| one.words(", ").said(other))
}

/// A kind that can be bought.
pub(super) type Named<'n> = (Goods, &'n str);

/// The sections of hose and the nozzles that `on` puts on a line, by name: hose in its
/// places before the tips, nozzles at them.
pub(super) fn needed<'n>(
    book: &Book,
    places: &Places<'n>,
    on: &'n OfLine,
) -> BTreeMap<Named<'n>, u64> {
    let own = places.as_is(book, &on.line);
    let mut all = BTreeMap::new();
    for (_, part) in &places.hoses {
        let name = match on.hose == own.hose {
            true => part.hose.as_str(),
            false => on.hose.as_str(),
        };
        let length = match (on.length - own.length).value.abs() > 1e-9 {
            true => on.length,
            false => part.length.get(),
        };
        *all.entry((Goods::Hose, name)).or_default() += whole(length / section(book, name));
    }
    for (_, part) in &places.tips {
        let name = match on.nozzle == own.nozzle {
            true => part.nozzle.as_str(),
            false => on.nozzle.as_str(),
        };
        *all.entry((Goods::Nozzle, name)).or_default() += 1;
    }
    all
}

/// Whole sections; a thousandth is a rounding of units.
fn whole(sections: hydraulics::units::Ratio) -> u64 {
    (sections.value - 1e-3).ceil().max(0.0) as u64
}

/// The length of a section of a hose: as its price is given, else 50 ft or 15 m (common
/// practice, no source).
pub(super) fn section(book: &Book, hose: &str) -> Length {
    let usual = match book.units {
        System::Us => "50 ft",
        System::Si => "15 m",
    };
    let usual = || parse(Kind::Length, usual).unwrap_or_else(|_| Length::of_si(15.0));
    let priced = book.hose_price(hose).map(|price| price.section);
    priced.unwrap_or_else(usual)
}

/// What lies in store of a kind, in whole sections or pieces.
pub(super) fn in_store(book: &Book, (what, name): Named<'_>) -> u64 {
    match what {
        Goods::Hose => {
            let stock = book.hose(name).and_then(|hose| hose.item.stock.as_ref());
            let length = stock.map_or_else(|| Length::of_si(0.0), |stock| stock.get());
            ((length / section(book, name)).value + 1e-3)
                .floor()
                .max(0.0) as u64
        }
        Goods::Nozzle => {
            let found = book.nozzle(name);
            let stock = found.and_then(|nozzle| nozzle.item.stock.as_ref());
            stock.map_or(0, |stock| stock.get().value.max(0.0) as u64)
        }
    }
}

/// The price of one section or piece.
pub(super) fn price_of(book: &Book, (what, name): Named<'_>) -> Option<f64> {
    match what {
        Goods::Hose => book.hose_price(name).map(|price| price.each),
        Goods::Nozzle => book.nozzle_price(name),
    }
}

fn goods(book: &Book, (what, name): Named<'_>, pieces: u64) -> Buy {
    Buy {
        what,
        name: name.into(),
        pieces,
        section: (what == Goods::Hose).then(|| section(book, name)),
        each: price_of(book, (what, name)),
    }
}

/// What `on`, one entry a line, needs beside what these lines carry today: hose before
/// the tips by the section, nozzles by the piece. What one of the lines gives up another
/// may take. Lines that the book does not have are left out.
///
/// ```
/// use study::choose::{OfLine, to_buy};
/// let text = br#"
/// [book]
/// name = "Example"
/// money = "USD"
/// [hose.large]
/// size = "2.5 in"
/// coefficient = 2
/// price = "460 per 50 ft"
/// stock = "50 ft"
/// [line.left]
/// parts = [{ hose = "1.75 in", length = "200 ft" }, { nozzle = "1 in smooth bore" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let on = OfLine {
///     line: "left".into(),
///     hose: "large".into(),
///     length: hydraulics::units::parse(hydraulics::units::Kind::Length, "200 ft")?,
///     nozzle: "1 in smooth bore".into(),
///     setting: None,
///     pump_pressure: hydraulics::units::psi(150.0),
/// };
/// let purchase = to_buy(&book, &[on]);
/// assert_eq!((purchase.buy[0].pieces, purchase.from_store[0].pieces), (3, 1));
/// assert_eq!(purchase.price(), Some(1380.0));
/// assert_eq!(purchase.left_over[0].name, "1.75 in");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn to_buy(book: &Book, on: &[OfLine]) -> Purchase {
    let lines: Vec<(&Line, &OfLine)> = on
        .iter()
        .filter_map(|on| Some((book.line.get(&on.line)?, on)))
        .collect();
    let own: Vec<OfLine> = lines
        .iter()
        .map(|(line, on)| Places::of(line).as_is(book, &on.line))
        .collect();
    let (mut now, mut then): (BTreeMap<Named<'_>, u64>, BTreeMap<Named<'_>, u64>) =
        Default::default();
    for ((line, on), own) in lines.iter().zip(&own) {
        let places = Places::of(line);
        for (all, on) in [(&mut now, own), (&mut then, *on)] {
            for (named, pieces) in needed(book, &places, on) {
                *all.entry(named).or_default() += pieces;
            }
        }
    }
    let mut purchase = Purchase::default();
    for (named, pieces) in &then {
        let carried: u64 = now.get(named).copied().unwrap_or_default();
        let more = pieces.saturating_sub(carried);
        let stored = more.min(in_store(book, *named));
        for (list, pieces) in [
            (&mut purchase.from_store, stored),
            (&mut purchase.buy, more - stored),
        ] {
            if pieces > 0 {
                list.push(goods(book, *named, pieces));
            }
        }
    }
    for (named, pieces) in &now {
        let needed: u64 = then.get(named).copied().unwrap_or_default();
        if *pieces > needed {
            let left = goods(book, *named, pieces - needed);
            purchase.left_over.push(left);
        }
    }
    for list in [
        &mut purchase.buy,
        &mut purchase.from_store,
        &mut purchase.left_over,
    ] {
        list.sort_by(|a, b| (a.what, &a.name).cmp(&(b.what, &b.name)));
    }
    purchase
}
