//! What can be written on the command line.

use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{Parser, Subcommand, ValueEnum};
use paper::{Kind, Size};
use records::Role;
use std::net::SocketAddr;
use std::path::PathBuf;

const EXIT: &str = "Exit codes: 0 answered; 1 the book, or the comparison, has errors or cannot \
be read; 2 the command is not written right; 3 the question has no answer, or the records \
refuse; 4 answered, but a limit is passed (only with --strict).

For planning, training and testing; never the only basis of a decision at an incident.";

/// Hose lines that are known to work: what the crew gets at the tip, and what
/// pressure the pump must hold.
///
/// Without a command it opens the workbench in your browser, with the demo
/// department (invented) in it.
///
/// Example: handline
#[derive(Debug, Parser)]
#[command(version, after_help = EXIT, args_conflicts_with_subcommands = true)]
pub struct Args {
    /// What to do; the workbench when left out
    #[command(subcommand)]
    pub command: Option<Command>,
    /// Where and how the workbench opens
    #[command(flatten)]
    pub open: Open,
}

/// Where and how the workbench opens.
#[derive(Debug, clap::Args)]
pub struct Open {
    /// Where the books are kept: a folder, or postgres://USER@HOST/DATABASE (default: what
    /// the environment variable HANDLINE_DATA says, else this user's own data folder)
    #[arg(long, value_name = "PLACE")]
    pub data: Option<PathBuf>,
    /// Port on this computer; 0 takes any free one (default: 8275, or any free one
    /// where that is taken)
    #[arg(long)]
    pub port: Option<u16>,
    /// Print the address and do not open the browser
    #[arg(long)]
    pub no_open: bool,
    /// For people at other computers
    #[command(flatten)]
    pub elsewhere: Elsewhere,
}

/// How people at other computers reach the workbench. Each of them signs in.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "For people at other computers, who sign in")]
pub struct Elsewhere {
    /// Answer at this address, as 0.0.0.0:8443 for every network of this computer
    #[arg(long, value_name = "ADDRESS:PORT", conflicts_with = "port")]
    pub address: Option<SocketAddr>,
    /// The name of this host as people write it, as handline.example.org; may be given
    /// several times
    #[arg(long, value_name = "HOST", requires = "address")]
    pub name: Vec<String>,
    /// The certificate of that name, with those that stand behind it (PEM)
    #[arg(long, value_name = "FILE", requires = "address", requires = "key")]
    pub certificate: Option<PathBuf>,
    /// The key of the certificate (PEM)
    #[arg(long, value_name = "FILE", requires = "certificate")]
    pub key: Option<PathBuf>,
    /// A proxy before it ends the encryption. It must set X-Forwarded-For and
    /// X-Forwarded-Proto and pass Host and Origin on unchanged, and nobody else may reach
    /// this address: what it says is believed
    #[arg(long, requires = "address", conflicts_with = "certificate")]
    pub behind_proxy: bool,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Read a book and name everything that is wrong with it
    ///
    /// Example: handline check books/saltmarsh-bend.toml
    Check {
        /// The department's file
        book: PathBuf,
        /// Answer as JSON
        #[arg(long)]
        json: bool,
    },
    /// What a line or a scene gives: pump pressure, flow, tip pressure, reaction, reach
    ///
    /// Examples: handline solve books/saltmarsh-bend.toml left-crosslay --off "-20 psi";
    /// handline solve books/saltmarsh-bend.toml mill-street --units si;
    /// handline solve books/saltmarsh-bend.toml mill-street --days 10000 --doubt books/saltmarsh-bend-crosslays.toml
    Solve(Solve),
    /// Pump chart of a line: pump pressure by length, rise and setting
    ///
    /// Example: handline chart books/saltmarsh-bend.toml left-crosslay --lengths "150 ft, 200 ft, 300 ft"
    Chart {
        /// The department's file
        book: PathBuf,
        /// The line
        line: String,
        /// Lengths of its last hose (default: four around the book's)
        #[arg(long, value_name = "LIST")]
        lengths: Option<String>,
        /// Heights of the tip above the pump (default: level to 40 ft or 12 m)
        #[arg(long, value_name = "LIST", allow_hyphen_values = true)]
        rises: Option<String>,
        #[command(flatten)]
        reader: Reader,
    },
    /// What changes when hose is added at the tip
    ///
    /// Example: handline extend books/saltmarsh-bend.toml rear-crosslay --by "100 ft"
    Extend(Extend),
    /// Plan a flow-test day, reduce its readings, and take what was found into the book
    ///
    /// Examples: handline prove books/saltmarsh-bend.toml --plan left-crosslay;
    /// handline prove books/saltmarsh-bend.toml --readings books/saltmarsh-bend-test-day.csv;
    /// handline prove books/saltmarsh-bend.toml --readings books/saltmarsh-bend-test-day.csv
    /// --correct line-gauge-1 --accept --out tested.toml
    Prove(crate::prove::Prove),
    /// Which nozzle, hose and pump pressure to carry: every choice that a comparison allows,
    /// those that no other beats in everything, ranked, and how sure the first is
    ///
    /// Example: handline compare books/saltmarsh-bend.toml books/saltmarsh-bend-crosslays.toml
    Compare(crate::compare::Compare),
    /// Tables of a book, a line or a scene as a workbook (XLSX) or as CSV
    ///
    /// Example: handline tables books/saltmarsh-bend.toml left-crosslay --out left-crosslay.xlsx
    Tables(crate::tables::Ask),
    /// Print charts and cards as PDF, from a book's file or from the records
    ///
    /// With --keep the book is brought into the records and the sheets are entered in
    /// the register, which tells when one of them is out of date.
    ///
    /// Examples: handline paper books/saltmarsh-bend.toml --kind line-card --size pocket --out cards;
    /// handline paper books/saltmarsh-bend.toml --of left-crosslay --keep --out crosslay.zip
    Paper(Print),
    /// What was printed and handed out, and what of it is wrong now
    ///
    /// Examples: handline issued saltmarsh-bend-fire-and-rescue;
    /// handline issued saltmarsh-bend-fire-and-rescue --reprint --out anew.zip;
    /// handline issued --code C4K-XEY-EP7
    Issued(Issued),
    /// Open the workbench: on one book in the browser, or for people at other computers
    ///
    /// The file is brought into the records; what is changed in the workbench is kept
    /// there, and the file is left as it is.
    ///
    /// Examples: handline serve books/saltmarsh-bend.toml;
    /// handline serve --address 0.0.0.0:8443 --name handline.example.org --certificate cert.pem --key key.pem
    Serve {
        /// The department's file (default: only what is in the records, and the demo)
        book: Option<PathBuf>,
        /// Where and how it opens
        #[command(flatten)]
        open: Open,
    },
    /// Copy all records into another place, which must be empty, and count both sides
    ///
    /// What is saved in the old place while this runs, or afterwards, is not in the new one:
    /// stop the workbench first. The old records stay as they are.
    ///
    /// A password belongs in the environment variable PGPASSWORD or in the file ~/.pgpass,
    /// not on the command line.
    ///
    /// Example: handline move --from records-here --to postgres://handline@records.example/handline
    Move(Move),
    /// Write all records into one file, while others go on working
    ///
    /// Example: handline backup backup-2026-05-11.sqlite
    Backup(Backup),
    /// Bring all records back from a backup into an empty place
    ///
    /// Example: handline restore backup-2026-05-11.sqlite --data new-folder
    Restore(Restore),
    /// Who can sign in, and what each may do in which department
    ///
    /// Needed only for a workbench that answers other computers too. The password is asked
    /// for, or read as a line of standard input; it is never an argument.
    ///
    /// Examples: handline people add "Ann Rivers" --role keeper --department saltmarsh-bend-fire-and-rescue;
    /// handline people list
    People(People),
    /// Print the JSON Schema of the book file, for editors
    ///
    /// Example: handline schema > books/handline-book.schema.json
    Schema {
        /// That of the file of a comparison instead
        #[arg(long)]
        comparison: bool,
    },
}

/// How the reader wants the answer.
#[derive(Debug, clap::Args)]
pub struct Reader {
    /// Units of the answer (default: the book's)
    #[arg(long, value_enum)]
    pub units: Option<Units>,
    /// Answer as JSON
    #[arg(long)]
    pub json: bool,
    /// End with exit code 4 when a limit is passed
    #[arg(long)]
    pub strict: bool,
    /// Which hose coefficients to use
    #[arg(long, value_enum, default_value = "best")]
    pub coefficient: Coefficient,
}

/// The question of `solve`. Each change may name its place: "part 3, branch 1,
/// part 2 = 50 %"; without one it is the line's only tip, or for a kink its
/// first hose.
#[derive(Debug, clap::Args)]
pub struct Solve {
    /// The department's file
    pub book: PathBuf,
    /// One line or one scene; all lines when left out
    #[arg(value_name = "LINE OR SCENE")]
    pub line: Option<String>,
    /// Pump pressure instead of the book's or the aim's; in a scene of a rig:
    /// "pumper-1 = 150 psi"
    #[arg(long, value_name = "[RIG =] PRESSURE", allow_hyphen_values = true)]
    pub pump: Vec<String>,
    /// In a scene: what if the mains give only this share of their test's flow
    #[arg(long, value_name = "SHARE")]
    pub weaker: Option<String>,
    /// What if the pump is off by this much
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    pub off: Option<String>,
    /// What if a gate is this far open; in a scene the rig's outlet of a line:
    /// "left-crosslay = 50 %", or a gate in it: "apartment: part 2, outlet 1 = 50 %"
    #[arg(long, value_name = "[PLACE =] SHARE")]
    pub gate: Vec<String>,
    /// What if a nozzle is on another setting
    #[arg(long, value_name = "[PLACE =] SETTING")]
    pub setting: Vec<String>,
    /// What if a kink closes this share of a hose
    #[arg(long, value_name = "[PLACE =] SHARE")]
    pub kink: Vec<String>,
    /// What if this share of a nozzle's screen is blocked
    #[arg(long, value_name = "[PLACE =] SHARE")]
    pub screen: Vec<String>,
    /// What if the regulator is: flush, opening, closing, or jammed at a share
    #[arg(long, value_name = "[PLACE =] STATE")]
    pub regulator: Vec<String>,
    /// What if a tip is this much higher
    #[arg(long, value_name = "[PLACE =] LENGTH", allow_hyphen_values = true)]
    pub rise: Vec<String>,
    /// What if a hose is this long
    #[arg(long, value_name = "[PLACE =] LENGTH")]
    pub length: Vec<String>,
    /// What if another hose lies in a place
    #[arg(long, value_name = "[PLACE =] HOSE")]
    pub hose: Vec<String>,
    /// What if another nozzle is on
    #[arg(long, value_name = "[PLACE =] NOZZLE")]
    pub nozzle: Vec<String>,
    /// What if a second line is opened on the same pump
    #[arg(long, value_name = "LINE")]
    pub second: Vec<String>,
    /// In a scene: how sure each flow is, and whose doubt it is, by so many days drawn;
    /// hose and nozzles are as doubtful as the book says
    #[arg(long, value_name = "NUMBER", value_parser = crate::days::number)]
    pub days: Option<u64>,
    /// What else is doubtful on those days: a comparison's file, of which only its table "doubt" is
    /// used (pump gauge, governor, length, rise, gate, kink)
    #[arg(long, value_name = "COMPARISON", requires = "days")]
    pub doubt: Option<PathBuf>,
    /// How the reader wants the answer
    #[command(flatten)]
    pub reader: Reader,
}

/// The question of `extend`.
#[derive(Debug, clap::Args)]
pub struct Extend {
    /// The department's file
    pub book: PathBuf,
    /// The line
    pub line: String,
    /// How much hose
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, required_unless_present_any = ["longest", "smallest"])]
    pub by: Option<String>,
    /// Which hose (default: the line's last)
    #[arg(long)]
    pub hose: Option<String>,
    /// At which tip, for a line with several: "part 3, branch 1, part 2"
    #[arg(long, value_name = "PLACE")]
    pub at: Option<String>,
    /// Instead: the longest that the line's last hose can be under the ceiling
    #[arg(long)]
    pub longest: bool,
    /// Instead: the smallest hose that does under the ceiling
    #[arg(long)]
    pub smallest: bool,
    /// Pump-pressure ceiling (default: the book's)
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    pub ceiling: Option<String>,
    /// How the reader wants the answer
    #[command(flatten)]
    pub reader: Reader,
}

/// What `paper` prints.
#[derive(Debug, clap::Args)]
pub struct Print {
    /// The department's file; with --keep also a book's name in the records
    pub book: PathBuf,
    /// Kinds of sheets; may be given several times (default: all)
    #[arg(long, value_parser = kind())]
    pub kind: Vec<Kind>,
    /// Only the sheets about this rig, line or equipment, by its name in the book
    #[arg(long, value_name = "NAME")]
    pub of: Option<String>,
    /// Size of the paper (default: letter, for a book in metric units a4)
    #[arg(long, value_parser = size())]
    pub size: Option<Size>,
    /// Units on the sheets (default: the book's)
    #[arg(long, value_parser = paper_units())]
    pub units: Option<paper::Units>,
    /// A folder, for one sheet a file that ends in .pdf, or a file that ends in .zip
    #[arg(long, value_name = "PLACE", default_value = "paper")]
    pub out: PathBuf,
    /// The day that stands on the sheets, as 2026-05-11 (default: today)
    #[arg(long, value_name = "DAY")]
    pub date: Option<String>,
    /// Address of the workbench for the QR code, with http or https in front
    #[arg(long, value_name = "URL")]
    pub address: Option<String>,
    /// Bring the book into the records, print from there, and enter the sheets in the
    /// register
    #[arg(long)]
    pub keep: bool,
    /// Where the books are kept: a folder, or postgres://USER@HOST/DATABASE (default: what
    /// the environment variable HANDLINE_DATA says, else this user's own data folder)
    #[arg(long, value_name = "PLACE", requires = "keep")]
    pub data: Option<PathBuf>,
    /// Who prints, for the register
    #[arg(long, value_name = "NAME", requires = "keep")]
    pub who: Option<String>,
    /// Answer as JSON
    #[arg(long)]
    pub json: bool,
}

/// What `issued` asks or does.
#[derive(Debug, clap::Args)]
pub struct Issued {
    /// A book's name in the records, or its file
    #[arg(required_unless_present_any = ["code", "withdraw"])]
    pub book: Option<PathBuf>,
    /// Is the sheet with this code current, superseded or withdrawn?
    #[arg(long, conflicts_with_all = ["withdraw", "reprint"])]
    pub code: Option<String>,
    /// Note that the sheet with this code is taken back
    #[arg(
        long,
        value_name = "CODE",
        requires = "why",
        conflicts_with = "reprint"
    )]
    pub withdraw: Option<String>,
    /// Why it is withdrawn
    #[arg(long, value_name = "WORDS", requires = "withdraw")]
    pub why: Option<String>,
    /// Print every superseded sheet anew and enter it in the register
    #[arg(long)]
    pub reprint: bool,
    /// Where to: a folder, or a file that ends in .zip
    #[arg(
        long,
        value_name = "PLACE",
        default_value = "paper",
        requires = "reprint"
    )]
    pub out: PathBuf,
    /// The day that stands on what is printed, as 2026-05-11 (default: today)
    #[arg(long, value_name = "DAY", requires = "reprint")]
    pub date: Option<String>,
    /// Address of the workbench for the QR code, with http or https in front
    #[arg(long, value_name = "URL", requires = "reprint")]
    pub address: Option<String>,
    /// Where the books are kept: a folder, or postgres://USER@HOST/DATABASE (default: what
    /// the environment variable HANDLINE_DATA says, else this user's own data folder)
    #[arg(long, value_name = "PLACE")]
    pub data: Option<PathBuf>,
    /// Who prints or withdraws, for the register
    #[arg(long, value_name = "NAME")]
    pub who: Option<String>,
    /// Answer as JSON
    #[arg(long)]
    pub json: bool,
}

/// What `move` moves.
#[derive(Debug, clap::Args)]
pub struct Move {
    /// Where the records are: a folder, or postgres://USER@HOST/DATABASE
    #[arg(long, value_name = "PLACE")]
    pub from: PathBuf,
    /// Where they go: a folder, or postgres://USER@HOST/DATABASE of an empty database
    #[arg(long, value_name = "PLACE")]
    pub to: PathBuf,
    /// Answer as JSON
    #[arg(long)]
    pub json: bool,
}

/// What `backup` writes.
#[derive(Debug, clap::Args)]
pub struct Backup {
    /// The file to write, which must not be there yet
    pub file: PathBuf,
    /// Where the books are kept: a folder, or postgres://USER@HOST/DATABASE (default: what
    /// the environment variable HANDLINE_DATA says, else this user's own data folder)
    #[arg(long, value_name = "PLACE")]
    pub data: Option<PathBuf>,
    /// Answer as JSON
    #[arg(long)]
    pub json: bool,
}

/// What `restore` brings back.
#[derive(Debug, clap::Args)]
pub struct Restore {
    /// The backup
    pub file: PathBuf,
    /// Where the books are to be kept: a new folder, or postgres://USER@HOST/DATABASE of an
    /// empty database
    #[arg(long, value_name = "PLACE")]
    pub data: PathBuf,
    /// Answer as JSON
    #[arg(long)]
    pub json: bool,
}

/// What `people` does.
#[derive(Debug, clap::Args)]
pub struct People {
    /// What to do
    #[command(subcommand)]
    pub deed: PeopleDeed,
    /// Where the books are kept: a folder, or postgres://USER@HOST/DATABASE (default: what
    /// the environment variable HANDLINE_DATA says, else this user's own data folder)
    #[arg(long, value_name = "PLACE", global = true)]
    pub data: Option<PathBuf>,
    /// Answer as JSON
    #[arg(long, global = true)]
    pub json: bool,
}

/// What to do about people.
#[derive(Debug, Subcommand)]
pub enum PeopleDeed {
    /// Add somebody, or give somebody who is known another password
    Add {
        /// The name to sign in with
        name: String,
        /// What they may do
        #[arg(long, value_parser = role(), requires = "department")]
        role: Option<Role>,
        /// In which department, by its book's name in the records
        #[arg(long, value_name = "BOOK", requires = "role")]
        department: Option<String>,
    },
    /// Everybody, and what each may do
    List,
    /// Say what somebody may do in a department
    Role {
        /// The name to sign in with
        name: String,
        /// What they may do
        #[arg(long, value_parser = role(), required_unless_present = "none")]
        role: Option<Role>,
        /// Nothing any more
        #[arg(long, conflicts_with = "role")]
        none: bool,
        /// In which department, by its book's name in the records
        #[arg(long, value_name = "BOOK")]
        department: String,
    },
    /// Take the password and every role away; what they did stays under their name
    Remove {
        /// The name to sign in with
        name: String,
    },
}

fn role() -> impl TypedValueParser<Value = Role> {
    words(Role::ALL.map(Role::word), Role::called)
}

fn kind() -> impl TypedValueParser<Value = Kind> {
    words(Kind::ALL.map(Kind::word), Kind::called)
}

fn size() -> impl TypedValueParser<Value = Size> {
    words(Size::ALL.map(Size::word), Size::called)
}

fn paper_units() -> impl TypedValueParser<Value = paper::Units> {
    words(
        paper::Units::ALL.map(paper::Units::word),
        paper::Units::called,
    )
}

/// One of `words`, and what `called` makes of it.
fn words<T: Clone + Send + Sync + 'static, const N: usize>(
    words: [&'static str; N],
    called: fn(&str) -> Option<T>,
) -> impl TypedValueParser<Value = T> {
    PossibleValuesParser::new(words)
        .try_map(move |word| called(&word).ok_or("it is none of the possible values"))
}

/// Units of the answer.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum Units {
    /// psi, gpm, feet, pounds
    Us,
    /// bar, litres a minute, metres, newtons
    Si,
}

/// Which hose coefficients to use.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum Coefficient {
    /// The measured one where there is one
    Best,
    /// The published one, and every nozzle and pump by its rating
    Published,
    /// The lowest of the published spread
    Low,
    /// The highest of the published spread
    High,
}
