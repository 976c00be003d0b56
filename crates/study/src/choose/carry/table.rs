//! What there is to choose from: every way to equip each line at each pump pressure,
//! measured.

/// Values of a line that the worst line decides, less being better; the most there are.
pub(crate) const COLUMNS: usize = 9;

/// One value of each column; what is not asked about is below everything.
pub(crate) type Worst = [f64; COLUMNS];

/// No value yet.
pub(crate) const NOTHING: Worst = [f64::NEG_INFINITY; COLUMNS];

/// A kind of hose or nozzle, counted in sections or pieces.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Kind {
    /// The price of one.
    pub price: f64,
    /// How many are at hand: on these lines today, and in store.
    pub at_hand: u32,
}

/// What a line takes when it is equipped in some way.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Taken {
    /// All kinds on the line, by their places among the names.
    pub kinds: u128,
    /// Of each kind that is counted so many sections or pieces: its place, and how many.
    pub counts: Vec<(usize, u32)>,
}

impl Taken {
    /// How many of a kind.
    fn of(&self, kind: usize) -> u32 {
        let found = self.counts.iter().find(|(of, _)| *of == kind);
        found.map_or(0, |(_, count)| *count)
    }
}

/// One way to equip a line at one pump pressure, that passes no limit of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Way {
    /// What it is to the caller.
    pub id: u32,
    /// What it takes, by its place in [`Table::taken`].
    pub taken: u32,
    /// What it comes to in its worst case, less being better.
    pub worst: Worst,
    /// How bad it is for its own line, 0 to 1; settles between ways that leave all the
    /// lines together the same.
    pub own: f64,
}

/// The kind at this place, in a set.
pub(crate) fn bit(kind: u8) -> u128 {
    1_u128.checked_shl(u32::from(kind)).unwrap_or_default()
}

/// How an aim comes from the lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Joined {
    /// The worst line's, from this column.
    Worst(usize),
    /// The distance of the highest from the lowest: the first column has the value, the
    /// second the value with its sign changed.
    Spread(usize, usize),
    /// The pump pressure.
    Pump,
    /// How many kinds there are over all the lines.
    Kinds,
    /// The price of what is not at hand.
    Price,
}

/// The whole table.
#[derive(Debug, Clone, Default)]
pub(crate) struct Table {
    /// How many kinds of hose and nozzle there are on the lines; at most
    /// [`Table::KINDS`].
    pub names: usize,
    /// What is counted for the price.
    pub kinds: Vec<Kind>,
    /// The pump pressures, rising.
    pub pumps: Vec<f64>,
    /// What ways take.
    pub taken: Vec<Taken>,
    /// The ways, by pump pressure and line.
    pub ways: Vec<Vec<Vec<Way>>>,
    /// The aims.
    pub aims: Vec<Joined>,
    /// The most kinds over all the lines.
    pub most_kinds: Option<u32>,
    /// The highest price of what is to be bought.
    pub highest_price: Option<f64>,
}

impl Table {
    /// The most kinds of hose and nozzle that can be told apart.
    pub const KINDS: usize = 128;

    /// One way a line, so often.
    pub fn combinations(&self) -> u64 {
        let of = |lines: &Vec<Vec<Way>>| {
            let counts = lines.iter().map(|ways| ways.len() as u64);
            counts.fold(1, u64::saturating_mul)
        };
        self.ways.iter().map(of).fold(0, u64::saturating_add)
    }

    /// Does it matter how many kinds there are?
    pub fn counts_kinds(&self) -> bool {
        self.most_kinds.is_some() || self.aims.contains(&Joined::Kinds)
    }

    /// Does it matter what is bought?
    pub fn counts_price(&self) -> bool {
        self.highest_price.is_some() || self.aims.contains(&Joined::Price)
    }

    /// The kinds of a way.
    pub fn mask(&self, way: &Way) -> u128 {
        self.taken(way).map_or(0, |taken| taken.kinds)
    }

    /// What a way takes.
    pub fn taken(&self, way: &Way) -> Option<&Taken> {
        self.taken.get(way.taken as usize)
    }

    /// Adds what a way takes to `counts`.
    pub fn add(&self, way: &Way, counts: &mut [u32]) {
        for (kind, count) in self.taken(way).iter().flat_map(|taken| &taken.counts) {
            if let Some(of) = counts.get_mut(*kind) {
                *of += count;
            }
        }
    }

    /// The price of what `counts` (by kind) takes beyond what is at hand.
    pub fn bill(&self, counts: &[u32]) -> f64 {
        let each = self.kinds.iter().zip(counts);
        each.map(|(kind, count)| f64::from(count.saturating_sub(kind.at_hand)) * kind.price)
            .sum()
    }

    /// How many of each kind `ways` take together.
    pub fn counts<'a>(&self, ways: impl IntoIterator<Item = &'a Way>) -> Vec<u32> {
        let mut counts = vec![0; self.kinds.len()];
        for way in ways {
            self.add(way, &mut counts);
        }
        counts
    }

    /// Does one way never add more to the bill than another, whatever the other lines
    /// take? `most` is the most of each kind that all lines can take together.
    ///
    /// Kind by kind: where the one takes fewer, it saves least when nothing else is taken;
    /// where it takes more, it costs most when all else is.
    pub fn never_adds_more(&self, most: &[u32], one: &Way, other: &Way) -> bool {
        let (Some(one), Some(other)) = (self.taken(one), self.taken(other)) else {
            return false;
        };
        let more = |at: usize, n: u32, m: u32| {
            let kind = self.kinds.get(at).copied().unwrap_or_default();
            let beyond = |count: u32| f64::from(count.saturating_sub(kind.at_hand));
            let most = most.get(at).copied().unwrap_or_default();
            let more = match n > m {
                true => beyond(most).min(f64::from(n - m)),
                false => beyond(n) - beyond(m),
            };
            more * kind.price
        };
        let own = one
            .counts
            .iter()
            .map(|(at, n)| more(*at, *n, other.of(*at)));
        let others = other.counts.iter().filter(|(at, _)| one.of(*at) == 0);
        let saved = others.map(|(at, m)| more(*at, 0, *m));
        own.chain(saved).sum::<f64>() <= 0.0
    }

    /// What `ways`, one a line, come to at a pump pressure under each aim, less being
    /// better; `None` where they pass a limit over all the lines.
    pub fn costs(&self, pump: f64, ways: &[&Way]) -> Option<Vec<f64>> {
        let kinds = ways.iter().fold(0, |mask, way| mask | self.mask(way));
        let kinds = kinds.count_ones();
        let price = match self.counts_price() {
            true => self.bill(&self.counts(ways.iter().copied())),
            false => 0.0,
        };
        if self.most_kinds.is_some_and(|most| kinds > most)
            || self.highest_price.is_some_and(|most| price > most)
        {
            return None;
        }
        let worst = ways
            .iter()
            .fold(NOTHING, |worst, way| join(&worst, &way.worst));
        let column = |column: usize| worst.get(column).copied().unwrap_or_default();
        let cost = |aim: &Joined| match *aim {
            Joined::Worst(at) => column(at),
            // Nothing is known of lines that have no such pressure.
            Joined::Spread(high, low) => match column(high) + column(low) {
                spread if spread.is_finite() => spread,
                _ => f64::INFINITY,
            },
            Joined::Pump => pump,
            Joined::Kinds => f64::from(kinds),
            Joined::Price => price,
        };
        Some(self.aims.iter().map(cost).collect())
    }
}

/// The worse of each.
pub(crate) fn join(one: &Worst, other: &Worst) -> Worst {
    let mut worse = *one;
    for (worse, other) in worse.iter_mut().zip(other) {
        *worse = worse.max(*other);
    }
    worse
}

/// Is `one` nowhere worse than `other`?
pub(crate) fn no_worse(one: &[f64], other: &[f64]) -> bool {
    one.iter().zip(other).all(|(one, other)| one <= other)
}

/// In order of the first value, then the second, and so on. What is nowhere worse comes
/// first.
pub(crate) fn in_order(one: &[f64], other: &[f64]) -> std::cmp::Ordering {
    let each = one.iter().zip(other);
    let mut each = each.map(|(one, other)| one.total_cmp(other));
    each.find(|order| order.is_ne())
        .unwrap_or(std::cmp::Ordering::Equal)
}
