//! Every table, for what goes over all of them.

use crate::store::{Done, Row, Value};

/// A table, for copying.
pub(crate) struct Table {
    pub name: &'static str,
    pub columns: &'static [(&'static str, Kind)],
    /// Its first column is a number that the database gives.
    pub numbered: bool,
}

/// What a column holds.
#[derive(Clone, Copy)]
pub(crate) enum Kind {
    Whole,
    Real,
    Text,
    File,
}

use Kind::{File, Real, Text, Whole};

/// In an order in which each row finds what it points to.
pub(crate) const TABLES: &[Table] = &[
    Table {
        name: "book",
        columns: &[("slug", Text), ("name", Text), ("revision", Whole)],
        numbered: false,
    },
    Table {
        name: "revision",
        columns: &[
            ("slug", Text),
            ("number", Whole),
            ("before", Whole),
            ("again", Whole),
            ("at", Whole),
            ("who", Text),
            ("why", Text),
            ("words", Text),
            ("text", File),
        ],
        numbered: false,
    },
    Table {
        name: "issued",
        columns: &[
            ("id", Whole),
            ("slug", Text),
            ("revision", Whole),
            ("at", Whole),
            ("who", Text),
            ("kind", Text),
            ("subject", Text),
            ("title", Text),
            ("units", Text),
            ("size", Text),
            ("date", Text),
            ("code", Text),
            ("digest", Text),
            ("told", Text),
            ("withdrawn_at", Whole),
            ("withdrawn_by", Text),
            ("withdrawn_why", Text),
        ],
        numbered: true,
    },
    Table {
        name: "test",
        columns: &[
            ("id", Whole),
            ("slug", Text),
            ("revision", Whole),
            ("kind", Text),
            ("subject", Text),
            ("title", Text),
            ("date", Text),
            ("pitot_tip", Text),
            ("state", Text),
            ("accepted", Whole),
            ("at", Whole),
            ("who", Text),
        ],
        numbered: true,
    },
    Table {
        name: "reading",
        columns: &[
            ("id", Whole),
            ("test", Whole),
            ("token", Text),
            ("point", Whole),
            ("place", Text),
            ("quantity", Text),
            ("value", Real),
            ("written", Text),
            ("gauge", Text),
            ("resolution", Real),
            ("calibrated", Text),
            ("time", Text),
            ("remark", Text),
            ("at", Whole),
            ("who", Text),
            ("corrects", Whole),
        ],
        numbered: true,
    },
    Table {
        name: "equipment",
        columns: &[
            ("slug", Text),
            ("serial", Text),
            ("kind", Text),
            ("item", Text),
            ("title", Text),
            ("since", Text),
            ("months", Whole),
            ("retired", Text),
            ("retired_why", Text),
        ],
        numbered: false,
    },
    Table {
        name: "trial",
        columns: &[
            ("id", Whole),
            ("slug", Text),
            ("serial", Text),
            ("date", Text),
            ("passed", Whole),
            ("remark", Text),
            ("at", Whole),
            ("who", Text),
        ],
        numbered: true,
    },
    Table {
        name: "person",
        columns: &[("name", Text), ("hash", Text), ("since", Whole)],
        numbered: false,
    },
    Table {
        name: "post",
        columns: &[("slug", Text), ("name", Text), ("role", Text)],
        numbered: false,
    },
    Table {
        name: "session",
        columns: &[
            ("token", Text),
            ("name", Text),
            ("made", Whole),
            ("seen", Whole),
            ("ends", Whole),
        ],
        numbered: false,
    },
    Table {
        name: "attempt",
        columns: &[("key", Text), ("failed", Whole), ("last", Whole)],
        numbered: false,
    },
    Table {
        name: "link",
        columns: &[
            ("id", Whole),
            ("token", Text),
            ("slug", Text),
            ("issue", Whole),
            ("at", Whole),
            ("who", Text),
            ("ends", Whole),
            ("withdrawn_at", Whole),
            ("withdrawn_by", Text),
        ],
        numbered: true,
    },
    Table {
        name: "welcome",
        columns: &[
            ("name", Text),
            ("token", Text),
            ("at", Whole),
            ("who", Text),
            ("ends", Whole),
        ],
        numbered: false,
    },
    Table {
        name: "comparison",
        columns: &[
            ("slug", Text),
            ("name", Text),
            ("version", Whole),
            ("withdrawn_at", Whole),
            ("withdrawn_by", Text),
        ],
        numbered: false,
    },
    Table {
        name: "comparison_version",
        columns: &[
            ("slug", Text),
            ("name", Text),
            ("number", Whole),
            ("title", Text),
            ("at", Whole),
            ("who", Text),
            ("text", File),
        ],
        numbered: false,
    },
    Table {
        name: "audit",
        columns: &[
            ("id", Whole),
            ("at", Whole),
            ("who", Text),
            ("slug", Text),
            ("what", Text),
            ("about", Text),
        ],
        numbered: true,
    },
];

impl Table {
    fn names(&self) -> String {
        let names: Vec<&str> = self.columns.iter().map(|(name, _)| *name).collect();
        names.join(", ")
    }

    pub fn count(&self) -> String {
        format!("SELECT COUNT(*) AS rows FROM {}", self.name)
    }

    /// Every row, by the first two columns: so a row comes after what it points to in its
    /// own table.
    pub fn select(&self) -> String {
        format!("SELECT {} FROM {} ORDER BY 1, 2", self.names(), self.name)
    }

    /// Puts so many rows in at once.
    pub fn insert(&self, rows: usize) -> String {
        let wide = self.columns.len();
        let row = |row: usize| {
            let places = (1..=wide).map(|column| format!("${}", row * wide + column));
            format!("({})", places.collect::<Vec<_>>().join(", "))
        };
        let rows: Vec<String> = (0..rows).map(row).collect();
        let (name, names, rows) = (self.name, self.names(), rows.join(", "));
        format!("INSERT INTO {name} ({names}) VALUES {rows}")
    }

    /// In PostgreSQL: the next number is the one after the highest.
    pub fn go_on_counting(&self) -> Option<String> {
        let (first, _) = self.columns.first()?;
        let name = self.name;
        self.numbered.then(|| {
            format!(
                "SELECT setval(pg_get_serial_sequence('{name}', '{first}'), \
                 (SELECT COALESCE(MAX({first}), 0) + 1 FROM {name}), false)"
            )
        })
    }

    /// What stands in a row of it.
    pub fn values(&self, row: &Row) -> Done<Vec<Value<'static>>> {
        let values = self.columns.iter().map(|(name, kind)| {
            Ok(match kind {
                Whole => Value::Whole(row.get(name)?),
                Real => Value::Real(row.get(name)?),
                Text => Value::Text(row.get::<Option<String>>(name)?.map(Into::into)),
                File => Value::File(row.file(name)?.into()),
            })
        });
        values.collect()
    }
}
