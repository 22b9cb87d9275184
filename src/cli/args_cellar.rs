//! Words of the verbs around bottling and the cellar.

use super::args::At;
use super::values::note;
use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct Bottle {
    /// Tag of the vessel
    pub(crate) tag: String,
    /// still, light or sparkling; as the batch was meant unless given
    #[arg(long, value_name = "WORD")]
    pub(crate) gas: Option<String>,
    /// Target CO2, volumes
    #[arg(long, value_name = "VOLUMES")]
    pub(crate) target: Option<f64>,
    /// What makes the gas: table sugar, dextrose, honey
    #[arg(long, value_name = "NAME", default_value = "table sugar")]
    pub(crate) sugar: String,
    /// How much lies in it: 1gal, 3.8l
    #[arg(long)]
    pub(crate) volume: Option<String>,
    /// What stays behind with the lees
    #[arg(long, value_name = "VOLUME")]
    pub(crate) lost: Option<String>,
    /// Warmest that it has been since the ferment ended: 68f, 20c
    #[arg(long, value_name = "TEMPERATURE")]
    pub(crate) warmest: Option<String>,
    /// Temperature of the cellar
    #[arg(long, value_name = "TEMPERATURE")]
    pub(crate) storage: Option<String>,
    /// Warmest day of their place; saved with the place. 86f unless given once
    #[arg(long, value_name = "TEMPERATURE")]
    pub(crate) summer: Option<String>,
    /// Of a beer: you know the yeast, and it ferments no dextrins
    #[arg(long)]
    pub(crate) no_dextrins: bool,
    /// How many of which: '10 x 12 fl oz crown-cap'; a class in its own words,
    /// or a name from the pantry; all that fit unless given
    #[arg(long, value_name = "BOTTLES")]
    pub(crate) bottles: Vec<String>,
    /// Into this keg instead: gas from a cylinder, --storage its temperature
    #[arg(long, value_name = "TAG", conflicts_with_all = ["bottles", "gas", "place", "ready", "best"])]
    pub(crate) keg: Option<String>,
    /// Working pressure printed on the keg, saved with it: '60 psi', '4 bar'
    #[arg(long, value_name = "PRESSURE", requires = "keg")]
    pub(crate) rated: Option<String>,
    /// Where they will lie
    #[arg(long, value_name = "PLACE")]
    pub(crate) place: Option<String>,
    /// Days until the first is good
    #[arg(long, value_name = "DAYS")]
    pub(crate) ready: Option<u32>,
    /// Days until they have had their best time
    #[arg(long, value_name = "DAYS")]
    pub(crate) best: Option<u32>,
    /// Override a hold; the reason is recorded and shown until the last bottle is gone
    #[arg(long, value_name = "REASON")]
    pub(crate) overrule: Option<String>,
    /// The kinds of hold that the reason lifts, where more than one stands
    #[arg(
        long,
        value_name = "KINDS",
        value_delimiter = ',',
        requires = "overrule"
    )]
    pub(crate) lift: Vec<String>,
    /// Only say what it would be
    #[arg(long)]
    pub(crate) dry_run: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Rack {
    /// Tag of the vessel it lies in
    pub(crate) from: String,
    /// Tag of the vessel it goes into
    pub(crate) to: String,
    /// How much arrives: 0.9gal, 3.5l; all of it unless given
    #[arg(long)]
    pub(crate) volume: Option<String>,
    /// The rest stays where it is
    #[arg(long, requires = "volume")]
    pub(crate) split: bool,
    /// A note to go with it
    #[arg(value_parser = note, long, value_name = "WORDS", default_value = "")]
    pub(crate) note: String,
    #[command(flatten)]
    pub(crate) at: At,
}

#[derive(Debug, Args)]
pub(crate) struct Pour {
    /// Tag of the vessel it goes into
    pub(crate) into: String,
    /// How much: 0.2gal, 0.5l
    pub(crate) volume: String,
    /// Tag of the vessel of another batch
    #[arg(long, value_name = "TAG", required_unless_present = "with")]
    pub(crate) from: Option<String>,
    /// What it is, where it comes from outside: 'a similar mead', 'apple juice', water
    #[arg(long, value_name = "WHAT", conflicts_with = "from")]
    pub(crate) with: Option<String>,
    /// Its gravity, where it comes from outside; what juice usually has unless given
    #[arg(long, value_name = "GRAVITY")]
    pub(crate) gravity: Option<String>,
    /// Its alcohol, where it comes from outside
    #[arg(long, value_name = "PERCENT")]
    pub(crate) alcohol: Option<f64>,
    /// A note to go with it
    #[arg(value_parser = note, long, value_name = "WORDS", default_value = "")]
    pub(crate) note: String,
    /// Only say what it would be
    #[arg(long)]
    pub(crate) dry_run: bool,
    #[command(flatten)]
    pub(crate) at: At,
}

#[derive(Debug, Args)]
pub(crate) struct Stabilise {
    /// Tag of the vessel
    pub(crate) tag: String,
    /// Its pH; as read last unless given
    #[arg(long)]
    pub(crate) ph: Option<f64>,
    /// Molecular SO2 to aim at, mg/L: 0.2 to 1.5
    #[arg(long, value_name = "MG", default_value_t = 0.8)]
    pub(crate) molecular: f64,
    /// Free SO2 as measured, mg/L; as earlier doses leave it unless given
    #[arg(long, value_name = "MG")]
    pub(crate) free: Option<f64>,
    /// Sorbic acid, mg/L; what its alcohol and pH need unless given, 0 for none
    #[arg(long, value_name = "MG")]
    pub(crate) acid: Option<f64>,
    /// Put the sweetening on the list, two days later
    #[arg(long)]
    pub(crate) sweeten: bool,
    /// Only say the doses
    #[arg(long)]
    pub(crate) dry_run: bool,
    #[command(flatten)]
    pub(crate) at: At,
}

#[derive(Debug, Args)]
pub(crate) struct Sweeten {
    /// Tag of the vessel
    pub(crate) tag: String,
    /// The gravity that tasted right
    pub(crate) gravity: String,
    /// With what: honey, table sugar, dextrose
    #[arg(long, value_name = "NAME", default_value = "honey")]
    pub(crate) with: String,
    /// Go past the hold of an unstabilised batch; the reason stays in the ledger
    #[arg(long, value_name = "REASON")]
    pub(crate) overrule: Option<String>,
    /// Only say how much
    #[arg(long)]
    pub(crate) dry_run: bool,
    #[command(flatten)]
    pub(crate) at: At,
}

#[derive(Debug, Args)]
pub(crate) struct Cellar {
    /// Emptied lots too
    #[arg(long)]
    pub(crate) all: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Take {
    /// Number of the lot as skep cellar shows it, name of the batch, or tag of a keg
    pub(crate) lot: String,
    /// What left: 1, 2 given Anna, 1 broken, count 7, 1 drunk on yesterday; of a keg, glasses
    #[arg(required = true, value_name = "WORDS")]
    pub(crate) words: Vec<String>,
    /// A note to go with it
    #[arg(value_parser = note, long, value_name = "WORDS", default_value = "")]
    pub(crate) note: String,
}

#[derive(Debug, Args)]
pub(crate) struct Taste {
    /// Number of the lot as skep cellar shows it, or name of the batch
    pub(crate) lot: String,
    /// Five marks, 1 poor to 5 lovely: smell, taste, balance, body, finish
    #[arg(num_args = 5, required = true, value_name = "MARK")]
    pub(crate) marks: Vec<u8>,
    /// In words
    #[arg(long, value_name = "WORDS", default_value = "")]
    pub(crate) words: String,
    /// A bottle was opened for it: one leaves the cellar
    #[arg(long)]
    pub(crate) opened: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Compare {
    /// Order: youngest, best, quickest, yeast, sugar, coolest, fed, stuck
    #[arg(long, value_name = "WORD", default_value = "youngest")]
    pub(crate) by: String,
}

#[derive(Debug, Args)]
pub(crate) struct Sheet {
    /// Name of the batch or tag of its vessel
    pub(crate) batch: String,
    /// A page of bottle labels instead
    #[arg(long)]
    pub(crate) labels: bool,
    /// A label in plain text instead, for a handwritten tag
    #[arg(long, conflicts_with = "labels")]
    pub(crate) text: bool,
    /// Write it to this file
    #[arg(long, value_name = "FILE")]
    pub(crate) into: Option<PathBuf>,
    /// Replace a file that is there and that skep did not write; never a store
    #[arg(long, requires = "into")]
    pub(crate) replace: bool,
}
