//! Records of many departments over many years, invented, made inside the database: the same
//! each time.
#![allow(dead_code, clippy::unwrap_used)]

use paper::{Code, Units};
use sqlx::{AssertSqlSafe, PgPool, SqlitePool};

pub const DEMO: &str = include_str!("../../../../books/saltmarsh-bend.toml");

/// How much there is, of each department over ten years.
pub struct Sizes {
    pub departments: u32,
    pub revisions: u32,
    /// Each has 50 readings, one of them a correction.
    pub tests: u32,
    /// Each is tested once a year.
    pub pieces: u32,
    /// Prints of each of the demo's sheets.
    pub prints: u32,
    pub people: u32,
    /// Lines of the trail, and a fifth as many of signing in.
    pub deeds: u32,
}

/// A million readings.
pub const MANY: Sizes = Sizes {
    departments: 100,
    revisions: 60,
    tests: 200,
    pieces: 300,
    prints: 15,
    people: 20,
    deeds: 5_000,
};

pub const FEW: Sizes = Sizes {
    departments: 3,
    revisions: 4,
    tests: 6,
    pieces: 20,
    prints: 1,
    people: 3,
    deeds: 40,
};

pub const READINGS: u32 = 50;

enum Pool {
    Sqlite(SqlitePool),
    Postgres(PgPool),
}

impl Pool {
    async fn run(&self, sql: String, texts: &[&str]) {
        match self {
            Pool::Sqlite(pool) => {
                let query = sqlx::query(AssertSqlSafe(sql));
                let query = texts.iter().fold(query, |query, text| query.bind(*text));
                query.execute(pool).await.unwrap();
            }
            Pool::Postgres(pool) => {
                let query = sqlx::query(AssertSqlSafe(sql));
                let query = texts.iter().fold(query, |query, text| query.bind(*text));
                query.execute(pool).await.unwrap();
            }
        }
    }

    /// `insert` for each `i` from 0 below `count`.
    async fn fill(&self, count: u32, into: &str, columns: &str, select: &str, texts: &[&str]) {
        let last = count.max(1) - 1;
        let sql = format!(
            "INSERT INTO {into} ({columns}) WITH RECURSIVE n(i) AS (SELECT {FIRST} \
             UNION ALL SELECT i + 1 FROM n WHERE i < {last}) SELECT {select} FROM n"
        );
        self.run(sql, texts).await;
    }
}

const FIRST: &str = "CAST(0 AS BIGINT)";

/// Fills the empty records at `address`.
pub async fn fill(address: &str, sizes: &Sizes) {
    let pool = match address.strip_prefix("sqlite:") {
        Some(file) => {
            let options = sqlx::sqlite::SqliteConnectOptions::new().filename(file);
            Pool::Sqlite(SqlitePool::connect_with(options).await.unwrap())
        }
        None => Pool::Postgres(PgPool::connect(address).await.unwrap()),
    };
    books(&pool, sizes).await;
    tests(&pool, sizes).await;
    equipment(&pool, sizes).await;
    register(&pool, sizes).await;
    people(&pool, sizes).await;
    if let Pool::Postgres(pool) = &pool {
        for table in ["test", "reading"] {
            let sql = format!(
                "SELECT setval(pg_get_serial_sequence('{table}', 'id'), (SELECT max(id) FROM {table}))"
            );
            sqlx::query(AssertSqlSafe(sql)).execute(pool).await.unwrap();
        }
        // As its own housekeeping does within a minute.
        sqlx::query("ANALYZE").execute(pool).await.unwrap();
    }
    match pool {
        Pool::Sqlite(pool) => pool.close().await,
        Pool::Postgres(pool) => pool.close().await,
    }
}

/// The department of row `i`, of which each has `each`.
fn slug(each: u32) -> String {
    format!("'department-' || CAST(100 + i / {each} AS TEXT)")
}

/// A day in the ten years, of the `k`th of `each`.
fn day(k: &str, each: u32) -> String {
    format!(
        "CAST(2016 + ({k}) * 10 / {each} AS TEXT) || '-' || \
         substr(CAST(101 + ({k}) * 7 % 12 AS TEXT), 2) || '-' || \
         substr(CAST(101 + ({k}) * 11 % 28 AS TEXT), 2)"
    )
}

async fn books(pool: &Pool, sizes: &Sizes) {
    let Sizes {
        departments,
        revisions,
        ..
    } = sizes;
    let own = slug(1);
    let select = format!("{own}, {own}, {revisions}");
    pool.fill(*departments, "book", "slug, name, revision", &select, &[])
        .await;
    let file = match pool {
        Pool::Sqlite(_) => "$1",
        Pool::Postgres(_) => "convert_to($1, 'UTF8')",
    };
    let number = format!("(i % {revisions} + 1)");
    let select = format!(
        "{}, {number}, CASE WHEN {number} > 1 THEN {number} - 1 END, NULL, \
         1460000000 + {number} * 300000000 / {revisions}, 'Captain', 'hose changed', \
         'attack hose: coefficient 14.2, was 15.5', {file}",
        slug(*revisions)
    );
    let columns = "slug, number, before, again, at, who, why, words, text";
    pool.fill(
        departments * revisions,
        "revision",
        columns,
        &select,
        &[DEMO],
    )
    .await;
}

async fn tests(pool: &Pool, sizes: &Sizes) {
    let (departments, tests) = (sizes.departments, sizes.tests);
    // Four a day.
    let date = day(&format!("i % {tests} / 4"), tests.div_ceil(4));
    let select = format!(
        "i + 1, {}, 1, CASE i % 4 WHEN 0 THEN 'pump' ELSE 'hose' END, 'attack', 'Attack hose', \
         {date}, NULL, 'closed', 1460000000 + i % {tests} * 300000000 / {tests}, 'Tester'",
        slug(tests)
    );
    let columns = "id, slug, revision, kind, subject, title, date, pitot_tip, state, at, who";
    pool.fill(departments * tests, "test", columns, &select, &[])
        .await;
    let select = format!(
        "i + 1, i / {READINGS} + 1, 'form ' || CAST(i AS TEXT), i % {READINGS} / 6 + 1, \
         CASE i % 6 WHEN 0 THEN 'flow' WHEN 1 THEN 'rise' ELSE 'inlet pressure' END, \
         CASE i % 6 WHEN 0 THEN 'flow' WHEN 1 THEN 'length' ELSE 'pressure' END, \
         689475.7 + i * 7919 % 100003, CAST(100 + i * 7919 % 97 AS TEXT) || ' psi', \
         'G-' || CAST(i % 8 AS TEXT), 6894.757, '2016-01-15', \
         '10:' || substr(CAST(100 + i % 60 AS TEXT), 2), '', 1460000000 + i, 'Tester', \
         CASE WHEN i % {READINGS} = {READINGS} - 1 THEN i END"
    );
    let columns = "id, test, token, point, place, quantity, value, written, gauge, resolution, \
                   calibrated, time, remark, at, who, corrects";
    pool.fill(
        departments * tests * READINGS,
        "reading",
        columns,
        &select,
        &[],
    )
    .await;
}

async fn equipment(pool: &Pool, sizes: &Sizes) {
    let (departments, pieces) = (sizes.departments, sizes.pieces);
    let select = format!(
        "{}, 'H-' || CAST(1000 + i % {pieces} AS TEXT), \
         CASE i % 15 WHEN 0 THEN 'nozzle' WHEN 1 THEN 'gauge' ELSE 'hose' END, 'attack', \
         'Attack hose', '2016-03-01', 12, CASE WHEN i % 10 = 0 THEN '2025-07-01' END, \
         CASE WHEN i % 10 = 0 THEN 'burst' END",
        slug(pieces)
    );
    let columns = "slug, serial, kind, item, title, since, months, retired, retired_why";
    pool.fill(departments * pieces, "equipment", columns, &select, &[])
        .await;
    let each = pieces * 10;
    let select = format!(
        "{}, 'H-' || CAST(1000 + i % {pieces} AS TEXT), \
         CAST(2016 + i / {pieces} % 10 AS TEXT) || '-04-' || \
         substr(CAST(101 + i * 31 % 28 AS TEXT), 2), CASE WHEN i * 31 % 50 = 0 THEN 0 ELSE 1 END, \
         'held 300 psi for 3 minutes', 1460000000 + i, 'Tester'",
        slug(each)
    );
    let columns = "slug, serial, date, passed, remark, at, who";
    pool.fill(departments * each, "trial", columns, &select, &[])
        .await;
}

/// The demo's sheets, printed over the years; all but the latest prints taken back.
async fn register(pool: &Pool, sizes: &Sizes) {
    let book = book::read(DEMO.as_bytes(), "demo").unwrap();
    let sheets = paper::whole_set(&book, Units::Us).unwrap();
    let (prints, revisions) = (sizes.prints, sizes.revisions);
    let columns = "slug, revision, at, who, kind, subject, title, units, size, date, code, digest, \
                   told, withdrawn_at, withdrawn_by, withdrawn_why";
    for sheet in &sheets {
        let code = Code::of(sheet, Some(1)).to_string();
        let (digest, told) = (sheet.digest(), paper::told(sheet));
        let told = serde_json::to_string(&told).unwrap();
        let back =
            |said: &str| format!("CASE WHEN i % {prints} < {prints} * 4 / 5 THEN {said} END");
        let select = format!(
            "{}, 1 + i % {prints} * {revisions} / {prints}, 1460000000 + i, 'Captain', $1, $2, $3, \
             'us', 'letter', '2016-05-11', $4, $5, $6, {}, {}, {}",
            slug(prints),
            back("1470000000"),
            back("'Chief'"),
            back("'printed anew'")
        );
        let texts = [
            sheet.kind.word(),
            &sheet.subject,
            &sheet.title,
            &code,
            &digest,
            &told,
        ];
        pool.fill(
            sizes.departments * prints,
            "issued",
            columns,
            &select,
            &texts,
        )
        .await;
    }
}

async fn people(pool: &Pool, sizes: &Sizes) {
    let (departments, people, deeds) = (sizes.departments, sizes.people, sizes.deeds);
    let name = format!("'Person ' || CAST(i % ({departments} * {people}) AS TEXT)");
    let select = format!("{name}, NULL, 1460000000");
    pool.fill(
        departments * people,
        "person",
        "name, hash, since",
        &select,
        &[],
    )
    .await;
    let select = format!(
        "{}, {name}, CASE i % {people} WHEN 0 THEN 'keeper' ELSE 'tester' END",
        slug(people)
    );
    pool.fill(
        departments * people,
        "post",
        "slug, name, role",
        &select,
        &[],
    )
    .await;
    // As they come: those of all departments between each other.
    let select = format!(
        "1460000000 + i, 'Tester', 'department-' || CAST(100 + i % {departments} AS TEXT), \
         'reading corrected', 'test ' || CAST(i AS TEXT)"
    );
    let columns = "at, who, slug, what, about";
    pool.fill(departments * deeds, "audit", columns, &select, &[])
        .await;
    let select = format!("1460000000 + i, {name}, NULL, 'signed in', {name}");
    pool.fill(departments * deeds / 5, "audit", columns, &select, &[])
        .await;
}
