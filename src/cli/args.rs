//! The shell's verbs and options, from which help, completions and man page are made.

use super::values::note;
use super::{args_cellar, exits};
use clap::{Args, Parser, Subcommand};
use clap_complete::Shell;
use std::path::PathBuf;

pub(super) const EXAMPLES: &str = "\
Examples:
  skep                            the dashboard
  skep today                      what needs me, in which vessel, is anything wrong
  skep read J2 42 68f             gravity 1.042 of vessel J2, sample at 68 °F
  skep read closet 66f            one thermometer for every vessel of a place
  skep done J2 swirl              the next swirl of J2 is done
  skep start J3 one-gallon-traditional --name heather
  skep today --json | your-script
";

/// Keeps several fermentations going: what needs me today, in which vessel,
/// is anything going wrong?
///
/// Without a verb it opens the dashboard. Everything is kept in one store, a
/// file of your own; nothing leaves the machine.
#[derive(Debug, Parser)]
#[command(
    name = "skep",
    version,
    max_term_width = 90,
    disable_help_subcommand = true,
    after_help = EXAMPLES,
    after_long_help = format!("{EXAMPLES}\n{}", exits::table())
)]
pub(crate) struct Line {
    /// The store to use instead of the usual one
    #[arg(long, global = true, value_name = "FILE", env = "SKEP_STORE")]
    pub(crate) store: Option<PathBuf>,
    /// Answer in JSON, for programs
    #[arg(long, global = true)]
    pub(crate) json: bool,
    /// Make a new store where one is gone and copies of it are left
    #[arg(long, global = true)]
    pub(crate) new_store: bool,
    #[command(subcommand)]
    pub(crate) verb: Option<Verb>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Verb {
    /// Look around in an invented household
    Demo(Demo),
    /// What needs me today, worst first
    Today(Today),
    /// The round as plain questions and answers, line by line
    ///
    /// For a screen reader or a plain terminal: from vessel to vessel, only where
    /// something is wanted. An answer is a slip, or yes, done, later, back, skip WHY,
    /// move DAY, why, due, undo, end; help tells them.
    Round(Round),
    /// All about one vessel
    Show(Show),
    /// Keep a reading
    ///
    /// The slip says what was seen, in any order: a gravity (1.042, 1042 and 42
    /// are the same, so are 0.998 and 998), 10.4bx (refractometer), 10.4p,
    /// 68f, 20c, ph3.4, 4312g, 4.3kg, 9lb, 3.8l, 1gal, ta6.5; when it was
    /// (yesterday 19:30, -2d, 08-14); and after a quote a note. A temperature
    /// beside a gravity is the sample's. A decimal comma is taken.
    Read(Read),
    /// A step is done
    Done(Done),
    /// A step is left out
    Skip(Skip),
    /// A step goes to another day
    Move(MoveTo),
    /// Begin or plan a batch
    Start(Start),
    /// Put the yeast into a planned batch
    Pitch(Pitch),
    /// Plan a batch: from words, or from a file
    ///
    /// Any number given, the others follow: the honey from the gravity, the
    /// gravity from the honey. What comes of it is printed; --keep keeps it,
    /// --write writes it to a file that can be shared.
    Plan(Box<Plan>),
    /// The day of a planned batch, line by line
    Day(Day),
    /// Vessels against weeks, and what clashes
    Season(Season),
    /// Days away, and what to do before leaving
    Away(Away),
    /// What the pantry holds, and what to buy
    Pantry(Pantry),
    /// Bottling day: may it be bottled, how much sugar, how many bottles
    ///
    /// A hold stops it, with the way out; only --overrule with a reason goes past
    /// one, and the reason stays in the ledger. --dry-run only says what it would be.
    Bottle(Box<args_cellar::Bottle>),
    /// Rack a batch into another vessel, or split it
    Rack(args_cellar::Rack),
    /// Pour in: top up, or blend another batch in
    Pour(args_cellar::Pour),
    /// Sulfite and sorbate, by pH, volume and alcohol
    Stabilise(args_cellar::Stabilise),
    /// Sweeten a stabilised batch up to a gravity
    Sweeten(args_cellar::Sweeten),
    /// Bottles: how many, where, ready when, what to open next
    Cellar(args_cellar::Cellar),
    /// Bottles leave: drunk, given away, broken, or counted anew
    Take(args_cellar::Take),
    /// Keep how it tasted: five marks and words
    Taste(args_cellar::Taste),
    /// All batches side by side
    Compare(args_cellar::Compare),
    /// A batch sheet, bottle labels or a text label, to print
    Sheet(args_cellar::Sheet),
    /// Write a note into a batch's ledger
    Note(Note),
    /// List the vessels, or add one
    Vessels(Vessels),
    /// List the places, or add one
    Places(Places),
    /// List the routines, or show one
    Routines(Routines),
    /// Work out a figure of the trade
    Figure(Figure),
    /// Show the choices, or change one
    Settings(Settings),
    /// The keys of the dashboard, as a file to be changed
    Keys,
    /// Take back the last change
    Undo,
    /// Bring back what was taken back
    Redo,
    /// The last changes, newest first
    History(History),
    /// Bring in readings from a spreadsheet (CSV)
    ///
    /// Shows how the table is understood and what would be kept; nothing is
    /// stored without --keep. The same file twice adds nothing. Separator,
    /// encoding, dates and decimal marks are found out; what can be read in two
    /// ways is asked for. A day without a time of day means noon.
    Import(Import),
    /// Take in what loggers report: one JSON object a line
    ///
    /// {"vessel":"J2","at":"2026-11-25T07:30:00-08:00","gravity":1.042,"temperature_c":20.1}
    ///
    /// Of what: vessel or place. When: at, with its offset, or in seconds since
    /// 1970. Values: gravity (SG), plato, brix, temperature_c, temperature_f,
    /// mass_g, ph. Also source: the name of one sensor, which is in one vessel at a
    /// time. What is known already by source, kind and instant is not kept twice;
    /// a line that is not understood is told and left out. The dashboard may be
    /// open meanwhile.
    #[command(verbatim_doc_comment)]
    Listen(Listen),
    /// Write what is kept: tables (CSV), or all of it (JSON)
    ///
    /// A cell of words that a spreadsheet would run as a formula gets an
    /// apostrophe before it; skep import takes it away again.
    Export(Export),
    /// Write the steps to do as a calendar (iCalendar), with alarms
    ///
    /// Bring the file into your phone's calendar; a file written later updates
    /// what is there, and takes back what is done.
    Calendar(Calendar),
    /// Make a new store of all of another one (JSON)
    ///
    /// What skep export all wrote comes back equal, also its history. Only where
    /// there is no store yet.
    Rebuild(Rebuild),
    /// Make a verified copy of the store, or list the copies
    ///
    /// A copy is made by itself each day on which the store changed: seven days,
    /// five weeks and two years of months are kept.
    Backup(Backup),
    /// Put a backup in the place of the store
    ///
    /// Says first what differs and changes nothing without --yes. The store that
    /// is replaced is kept beside it.
    Restore(Restore),
    /// Look the store over: is it whole, and can what it says be?
    Check,
    /// Print a completion script for a shell
    Completions(Completions),
    /// Print the manual page
    Man(Man),
}

/// When something was done.
#[derive(Debug, Args)]
pub(crate) struct At {
    /// When it was, if not now: 'yesterday 19:30', -2d, 2026-08-14T07:30
    #[arg(long, value_name = "WHEN")]
    pub(crate) at: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Demo {
    /// Only write the invented household into this new store
    #[arg(long, value_name = "FILE")]
    pub(crate) into: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Today {
    /// Look ahead to a day: tomorrow, saturday, +3d, 12-24
    #[arg(long, value_name = "DAY")]
    pub(crate) on: Option<String>,
    /// Also steps that are more than a week ahead, or wait for something
    #[arg(long)]
    pub(crate) all: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Show {
    /// Tag of the vessel, as on its tape
    pub(crate) tag: String,
    /// The whole ledger too
    #[arg(long)]
    pub(crate) ledger: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Read {
    /// Tag of the vessel, or name of the place
    pub(crate) tag: String,
    /// What was seen
    #[arg(required = true, value_name = "SLIP")]
    pub(crate) slip: Vec<String>,
    /// A note to go with it
    #[arg(value_parser = note, long, value_name = "WORDS")]
    pub(crate) note: Option<String>,
    /// Where it comes from, for the ledger
    #[arg(long, value_name = "NAME", default_value = "shell")]
    pub(crate) source: String,
    /// Keep it even if it does not fit
    #[arg(long)]
    pub(crate) anyway: bool,
    /// Only say what it would mean
    #[arg(long)]
    pub(crate) dry_run: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Done {
    /// Tag of the vessel
    pub(crate) tag: String,
    /// Its number, key or kind as shown by `skep show`; may be left out when
    /// just one is due
    #[arg(value_name = "STEP")]
    pub(crate) step: Option<String>,
    /// What was really added
    #[arg(long, value_name = "WORDS")]
    pub(crate) added: Option<String>,
    /// How much of it by mass: 12g, 0.5lb
    #[arg(long, value_name = "MASS", requires = "added")]
    pub(crate) mass: Option<String>,
    /// How much of it by volume: 0.5l
    #[arg(long, value_name = "VOLUME", requires = "added")]
    pub(crate) volume: Option<String>,
    /// A note to go with it
    #[arg(value_parser = note, long, value_name = "WORDS", default_value = "")]
    pub(crate) note: String,
    #[command(flatten)]
    pub(crate) at: At,
}

#[derive(Debug, Args)]
pub(crate) struct Skip {
    /// Tag of the vessel
    pub(crate) tag: String,
    /// Its number, key or kind as shown by `skep show`
    #[arg(value_name = "STEP")]
    pub(crate) step: String,
    /// Why
    #[arg(required = true, value_name = "REASON")]
    pub(crate) reason: Vec<String>,
    #[command(flatten)]
    pub(crate) at: At,
}

#[derive(Debug, Args)]
pub(crate) struct MoveTo {
    /// Tag of the vessel
    pub(crate) tag: String,
    /// Its number, key or kind as shown by `skep show`
    #[arg(value_name = "STEP")]
    pub(crate) step: String,
    /// To which day: tomorrow, saturday, +3d, 12-24
    pub(crate) day: String,
}

#[derive(Debug, Args)]
pub(crate) struct Start {
    /// Tag of the vessel
    pub(crate) tag: String,
    /// Key of the routine, as listed by `skep routines`
    pub(crate) routine: String,
    /// What you call it; the routine's title unless given
    #[arg(long)]
    pub(crate) name: Option<String>,
    /// How much: 1gal, 3.8l; the routine's volume unless given
    #[arg(long)]
    pub(crate) volume: Option<String>,
    /// Planned original gravity
    #[arg(long, value_name = "GRAVITY")]
    pub(crate) og: Option<String>,
    /// Planned final gravity
    #[arg(long, value_name = "GRAVITY")]
    pub(crate) fg: Option<String>,
    /// Only plan it, with the day of pitching
    #[arg(long, value_name = "DAY", conflicts_with = "at")]
    pub(crate) plan: Option<String>,
    /// A note to go with it
    #[arg(value_parser = note, long, value_name = "WORDS", default_value = "")]
    pub(crate) note: String,
    /// When the yeast went in, if not now
    #[arg(long, value_name = "WHEN")]
    pub(crate) at: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Pitch {
    /// Tag of the vessel
    pub(crate) tag: String,
    #[command(flatten)]
    pub(crate) at: At,
}

#[derive(Debug, Args)]
pub(crate) struct Plan {
    /// A plan's file to begin from
    #[arg(long, value_name = "FILE")]
    pub(crate) from: Option<PathBuf>,
    /// An earlier batch, by its name or its vessel, as it was made
    #[arg(long, value_name = "BATCH", conflicts_with = "from")]
    pub(crate) again: Option<String>,
    /// mead, cider or beer
    #[arg(long, conflicts_with_all = ["from", "again"])]
    pub(crate) style: Option<String>,
    /// Tag of the vessel; a plan from a file is scaled to it
    #[arg(long, value_name = "TAG")]
    pub(crate) vessel: Option<String>,
    /// How much must: 1gal, 3.8l
    #[arg(long)]
    pub(crate) volume: Option<String>,
    /// Original gravity to aim at
    #[arg(long, value_name = "GRAVITY", conflicts_with_all = ["alcohol", "sweet"])]
    pub(crate) og: Option<String>,
    /// Alcohol to aim at, in percent
    #[arg(long, value_name = "PERCENT", conflicts_with = "sweet")]
    pub(crate) alcohol: Option<String>,
    /// Final gravity to aim at, where the yeast gives up
    #[arg(long, value_name = "GRAVITY")]
    pub(crate) sweet: Option<String>,
    /// A part and how much of it: honey=2.5lb, raspberry=900g
    #[arg(long, value_name = "NAME=MASS")]
    pub(crate) part: Vec<String>,
    /// Key of the yeast class
    #[arg(long, value_name = "KEY")]
    pub(crate) yeast: Option<String>,
    /// still, lightly sparkling or sparkling
    #[arg(long, value_name = "WORD")]
    pub(crate) gas: Option<String>,
    /// Key of the routine
    #[arg(long, value_name = "KEY")]
    pub(crate) routine: Option<String>,
    /// Day of pitching
    #[arg(long, value_name = "DAY")]
    pub(crate) pitch: Option<String>,
    /// Day on which it is to be drunk
    #[arg(long, value_name = "DAY")]
    pub(crate) feast: Option<String>,
    /// What you call it
    #[arg(long)]
    pub(crate) name: Option<String>,
    /// A note to go with it
    #[arg(value_parser = note, long, value_name = "WORDS")]
    pub(crate) note: Option<String>,
    /// Write it to this file
    #[arg(long, value_name = "FILE")]
    pub(crate) write: Option<PathBuf>,
    /// Replace a file that is there and that skep did not write; never a store
    #[arg(long, requires = "write")]
    pub(crate) replace: bool,
    /// Keep it in the store
    #[arg(long)]
    pub(crate) keep: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Day {
    /// Name of the batch or tag of its vessel; the next one unless given
    pub(crate) batch: Option<String>,
    /// Tick this line, or the next one: clean, part-0-1, next
    #[arg(long, value_name = "LINE")]
    pub(crate) tick: Option<String>,
    /// What was really used, or read: 2.4lb, '95 68f'
    #[arg(long, value_name = "AMOUNT", requires = "tick")]
    pub(crate) used: Option<String>,
    /// Also where something else should come first
    #[arg(long, requires = "tick")]
    pub(crate) anyway: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Season {
    /// How many weeks ahead
    #[arg(long, default_value_t = 26)]
    pub(crate) weeks: u32,
}

#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub(crate) struct Away {
    #[command(subcommand)]
    pub(crate) verb: Option<AwayVerb>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum AwayVerb {
    /// Write days away down
    Add(AddAway),
    /// Take days away off the list
    Drop(DropAway),
}

#[derive(Debug, Args)]
pub(crate) struct AddAway {
    /// First and last day: 05-12 05-19, or 12-19 May
    #[arg(required = true, value_name = "DAYS")]
    pub(crate) days: Vec<String>,
    /// A note to go with it
    #[arg(value_parser = note, long, value_name = "WORDS", default_value = "")]
    pub(crate) note: String,
}

#[derive(Debug, Args)]
pub(crate) struct DropAway {
    /// Its number, as listed
    pub(crate) number: usize,
}

#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub(crate) struct Pantry {
    #[command(subcommand)]
    pub(crate) verb: Option<PantryVerb>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum PantryVerb {
    /// Put a thing into the pantry
    Add(AddPantry),
    /// Take something out
    Take(TakePantry),
    /// What to buy for the coming plans, and what runs low
    Buy,
    /// The register of empty bottles: what they bear, how they were used
    Bottles,
    /// Say more of bottles, or put broken ones aside
    Bottle(ChangeBottle),
}

/// What the register keeps of empty bottles.
#[derive(Debug, Default, PartialEq, Args)]
pub(crate) struct Glass {
    /// What one holds: '12 fl oz', 500ml; as the name says unless given
    #[arg(long, value_name = "VOLUME")]
    pub(crate) size: Option<String>,
    /// crown-cap, swing-top, plastic, 'new sparkling-wine', 'sparkling-wine', still-wine
    #[arg(long, value_name = "CLASS")]
    pub(crate) class: Option<String>,
    /// What their maker states: '4 volumes', '6 bar', '60 psi'
    #[arg(long, value_name = "RATING")]
    pub(crate) rated: Option<String>,
    /// How often they were filled before
    #[arg(long, value_name = "TIMES")]
    pub(crate) filled: Option<u32>,
    /// Clear glass: yes or no
    #[arg(long, value_name = "YES", value_parser = ["yes", "no"])]
    pub(crate) clear: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct ChangeBottle {
    /// As the pantry calls them
    pub(crate) name: String,
    #[command(flatten)]
    pub(crate) glass: Glass,
    /// How many are there, sound and empty
    #[arg(long, value_name = "COUNT")]
    pub(crate) there: Option<u32>,
    /// Put so many aside: chipped, scuffed, bruised, dropped
    #[arg(long, value_name = "COUNT")]
    pub(crate) reject: Option<u32>,
}

#[derive(Debug, Args)]
pub(crate) struct AddPantry {
    /// As plans and steps call it
    pub(crate) name: String,
    /// How much
    pub(crate) amount: f64,
    /// g, mL or pieces
    pub(crate) unit: String,
    /// Shelf: honey, sugar, fruit, nutrient, yeast, additive, cleaning, bottle, closure, flavour, other
    #[arg(long, default_value = "other")]
    pub(crate) kind: String,
    /// The seller's lot, or your own
    #[arg(long, default_value = "")]
    pub(crate) lot: String,
    /// Best before
    #[arg(long, value_name = "DAY")]
    pub(crate) best_before: Option<String>,
    /// Price of one unit
    #[arg(long)]
    pub(crate) price: Option<f64>,
    /// Amount below which it is to be bought
    #[arg(long, value_name = "AMOUNT")]
    pub(crate) keep: Option<f64>,
    #[command(flatten)]
    pub(crate) glass: Glass,
}

#[derive(Debug, Args)]
pub(crate) struct TakePantry {
    /// What
    pub(crate) name: String,
    /// How much, in its unit
    pub(crate) amount: f64,
    /// What for
    #[arg(long, value_name = "WORDS", default_value = "by hand")]
    pub(crate) why: String,
}

#[derive(Debug, Args)]
pub(crate) struct Round {
    /// Only tell what is due, a sentence each, and ask nothing
    #[arg(long)]
    pub(crate) list: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Note {
    /// Tag of the vessel
    pub(crate) tag: String,
    /// The note
    #[arg(required = true)]
    pub(crate) words: Vec<String>,
    #[command(flatten)]
    pub(crate) at: At,
}

#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub(crate) struct Vessels {
    /// Also those no longer used
    #[arg(long)]
    pub(crate) all: bool,
    #[command(subcommand)]
    pub(crate) add: Option<VesselsVerb>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum VesselsVerb {
    /// Add a vessel
    Add(AddVessel),
}

#[derive(Debug, Args)]
pub(crate) struct AddVessel {
    /// Short tag as on the tape, such as J2
    pub(crate) tag: String,
    /// jug, carboy, bucket, tank, keg or other
    pub(crate) kind: String,
    /// Brimful volume: 1gal, 5l
    pub(crate) capacity: String,
    /// Where it stands; may be left out when there is one place only
    #[arg(long)]
    pub(crate) place: Option<String>,
    /// Mass when empty, with bung and airlock: 1400g
    #[arg(long, value_name = "MASS")]
    pub(crate) tare: Option<String>,
}

#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub(crate) struct Places {
    #[command(subcommand)]
    pub(crate) add: Option<PlacesVerb>,
}

#[derive(Debug, Subcommand)]
pub(crate) enum PlacesVerb {
    /// Add a place
    Add(AddPlace),
}

#[derive(Debug, Args)]
pub(crate) struct AddPlace {
    /// What you call it
    pub(crate) name: String,
    /// Light gets in
    #[arg(long)]
    pub(crate) light: bool,
    /// Usual temperature: 68f, 20c
    #[arg(long, value_name = "TEMPERATURE")]
    pub(crate) usual: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Routines {
    /// Show the steps of this one
    pub(crate) key: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Figure {
    /// Which; left out, all are listed
    pub(crate) id: Option<String>,
    /// What is known, such as og=1.092 sg=1.010
    #[arg(value_name = "NAME=VALUE")]
    pub(crate) values: Vec<String>,
    /// Also inputs, formula and source
    #[arg(long)]
    pub(crate) why: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Settings {
    /// Which choice
    pub(crate) name: Option<String>,
    /// Its new value
    #[arg(requires = "name")]
    pub(crate) value: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct History {
    /// How many
    #[arg(short = 'n', long, default_value_t = 20, value_name = "COUNT")]
    pub(crate) count: u32,
}

#[derive(Debug, Args)]
pub(crate) struct Import {
    /// The table; - reads what comes in
    pub(crate) file: PathBuf,
    /// Vessel of lines that name none
    #[arg(long, value_name = "TAG")]
    pub(crate) vessel: Option<String>,
    /// What a column holds: 'SG=gravity'; may be given several times. Names:
    /// vessel, place, date, time, gravity, plato, brix, temperature, ph, mass,
    /// volume, acid, sample, note, nothing
    #[arg(long, value_name = "HEADING=NAME")]
    pub(crate) column: Vec<String>,
    /// Order of dates: ymd, mdy or dmy
    #[arg(long, value_name = "ORDER")]
    pub(crate) dates: Option<String>,
    /// Decimal mark: point or comma
    #[arg(long, value_name = "MARK")]
    pub(crate) decimal: Option<String>,
    /// Unit of temperatures that name none: f or c
    #[arg(long, value_name = "UNIT")]
    pub(crate) temperature: Option<String>,
    /// Where they come from, for the ledger
    #[arg(long, value_name = "NAME", default_value = "import")]
    pub(crate) source: String,
    /// Keep them, if every line can be kept
    #[arg(long)]
    pub(crate) keep: bool,
    /// With --keep: keep the good lines though others are bad
    #[arg(long)]
    pub(crate) good_lines: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Listen {
    /// The file; left out or -, what comes in is read
    pub(crate) file: Option<PathBuf>,
    /// Go on with what is added to the file, until told to end
    #[arg(long)]
    pub(crate) follow: bool,
    /// Name of the loggers, where the lines give no source; each vessel's own
    #[arg(long, value_name = "NAME", default_value = "logger")]
    pub(crate) source: String,
}

/// What can be written out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum What {
    /// Readings as they were seen
    Readings,
    /// Steps and what became of them
    Steps,
    /// One line a batch
    Batches,
    /// Bottles, and how many are left
    Cellar,
    /// Every value that loggers reported
    Samples,
    /// All of the store as JSON, to read back with skep rebuild
    All,
    /// What can be read of a damaged store, in the same format
    Salvage,
    /// The JSON Schema of that
    Schema,
}

#[derive(Debug, Args)]
pub(crate) struct Export {
    /// What
    #[arg(value_enum)]
    pub(crate) what: What,
    /// Into this file instead of printing it
    #[arg(long, value_name = "FILE")]
    pub(crate) into: Option<PathBuf>,
    /// Replace a file that is there and that skep did not write; never a store
    #[arg(long, requires = "into")]
    pub(crate) replace: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Calendar {
    /// Into this file instead of printing it
    #[arg(long, value_name = "FILE")]
    pub(crate) into: Option<PathBuf>,
    /// Replace a file that is there and that skep did not write; never a store
    #[arg(long, requires = "into")]
    pub(crate) replace: bool,
    /// Time of day of the alarms
    #[arg(long, value_name = "TIME", default_value = "07:30")]
    pub(crate) alarm: String,
    /// How many days ahead, at most ten years
    #[arg(long, default_value_t = 60, value_parser = clap::value_parser!(u32).range(..=3660))]
    pub(crate) days: u32,
}

#[derive(Debug, Args)]
pub(crate) struct Rebuild {
    /// What skep export all wrote
    pub(crate) file: PathBuf,
}

#[derive(Debug, Args)]
pub(crate) struct Backup {
    /// Only list the copies that there are
    #[arg(long)]
    pub(crate) list: bool,
    /// Into this folder instead of the usual one
    #[arg(long, value_name = "FOLDER")]
    pub(crate) into: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Restore {
    /// A file, or the day of a backup such as 2026-08-14; the latest unless given
    #[arg(value_name = "BACKUP")]
    pub(crate) from: Option<String>,
    /// Do it, and not only say what differs
    #[arg(long)]
    pub(crate) yes: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Completions {
    /// For which shell
    pub(crate) shell: Shell,
}

#[derive(Debug, Args)]
pub(crate) struct Man {
    /// Write the pages of all verbs into this folder instead
    #[arg(long, value_name = "FOLDER")]
    pub(crate) into: Option<PathBuf>,
    /// Replace files that are there and that skep did not write; never a store
    #[arg(long, requires = "into")]
    pub(crate) replace: bool,
}
