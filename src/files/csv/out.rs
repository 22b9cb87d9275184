use super::guarded;
use crate::domain::records::{
    Dossier, Household, Lot, LotId, Reading, Seen, Step, StepStatus, Subject, words,
};
use crate::domain::units::Moment;
use crate::files::output::Kind;
use std::collections::BTreeMap;
use std::io::Write;

words! {
    /// What can be written as a table.
    Table {
        /// Every reading as seen.
        Readings = "readings",
        /// Every step and what became of it.
        Steps = "steps",
        /// One line a batch.
        Batches = "batches",
        /// One line a lot of bottles.
        Cellar = "cellar",
    }
}

impl Table {
    /// Its kind of file, known by the beginning of its header.
    pub const fn kind(self) -> Kind {
        Kind::table(match self {
            Self::Readings => "vessel,place,batch,at,kind,value",
            Self::Steps => "vessel,batch,step,title",
            Self::Batches => "batch,style,variety,stage",
            Self::Cellar => "batch,bottle,millilitres",
        })
    }

    /// Names of its columns.
    pub fn columns(self) -> &'static [&'static str] {
        match self {
            Self::Readings => &[
                "vessel",
                "place",
                "batch",
                "at",
                "kind",
                "value",
                "unit",
                "sample",
                "sample unit",
                "source",
                "doubted",
                "note",
                "written down",
            ],
            Self::Steps => &[
                "vessel", "batch", "step", "title", "kind", "state", "at", "moved to", "amount",
                "reason",
            ],
            Self::Batches => &[
                "batch",
                "style",
                "variety",
                "stage",
                "vessel",
                "litres",
                "planned start gravity",
                "expected end gravity",
                "pitched",
                "bottled",
                "closed",
                "routine",
                "yeast",
                "gas",
                "note",
            ],
            Self::Cellar => &[
                "batch",
                "bottle",
                "millilitres",
                "filled",
                "left",
                "clear glass",
                "place",
                "bottled",
                "ready from",
                "drink by",
                "note",
            ],
        }
    }
}

/// Writes a table of all dossiers given, with its header; `left` says how many
/// bottles of each lot are there.
pub fn write(
    table: Table,
    household: &Household,
    left: &BTreeMap<LotId, i64>,
    out: impl Write,
) -> Result<(), csv::Error> {
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record(table.columns())?;
    match table {
        Table::Readings => readings(household, &mut csv)?,
        Table::Steps => {
            for dossier in &household.dossiers {
                for step in &dossier.steps {
                    csv.write_record(step_cells(household, dossier, step))?;
                }
            }
        }
        Table::Batches => {
            for dossier in &household.dossiers {
                csv.write_record(batch_cells(household, dossier))?;
            }
        }
        Table::Cellar => {
            for dossier in &household.dossiers {
                for lot in &dossier.lots {
                    csv.write_record(lot_cells(household, dossier, lot, left))?;
                }
            }
        }
    }
    csv.flush()?;
    Ok(())
}

fn time(at: Moment) -> String {
    at.datetime()
        .to_rfc3339_opts(chrono::SecondsFormat::AutoSi, true)
}

fn maybe<T>(value: Option<T>, say: impl Fn(T) -> String) -> String {
    value.map_or_else(String::new, say)
}

fn tag(household: &Household, dossier: &Dossier) -> String {
    let tags: Vec<&str> = dossier
        .vessels()
        .filter_map(|id| household.vessel(id))
        .map(|v| v.tag.as_str())
        .collect();
    guarded(&tags.join("+"))
}

/// Readings of batches, and those of places once.
fn readings<W: Write>(household: &Household, csv: &mut csv::Writer<W>) -> Result<(), csv::Error> {
    for dossier in &household.dossiers {
        for reading in dossier.readings.iter().filter(|r| is_kept(r)) {
            csv.write_record(reading_cells(household, &dossier.batch.name, reading))?;
        }
    }
    let mut places: Vec<&Reading> = household
        .dossiers
        .iter()
        .flat_map(|d| &d.place_readings)
        .filter(|r| is_kept(r))
        .collect();
    places.sort_by_key(|r| (r.at, r.id));
    places.dedup_by_key(|r| r.id);
    for reading in places {
        csv.write_record(reading_cells(household, "", reading))?;
    }
    Ok(())
}

/// Means of a logger's samples are no readings; they have no row of their own.
fn is_kept(reading: &Reading) -> bool {
    reading.id.0 > 0
}

/// The kind of file that [`Samples`] is.
pub const SAMPLES: Kind = Kind::table("vessel,place,at,kind,value,unit,source");

/// A table of loggers' samples, written as they come.
pub struct Samples<W: Write>(csv::Writer<W>);

impl<W: Write> Samples<W> {
    /// With its header.
    pub fn new(out: W) -> Result<Self, csv::Error> {
        let mut csv = csv::Writer::from_writer(out);
        csv.write_record(["vessel", "place", "at", "kind", "value", "unit", "source"])?;
        Ok(Self(csv))
    }

    /// One more.
    pub fn add(
        &mut self,
        (vessel, place): (&str, &str),
        at: Moment,
        seen: Seen,
        source: &str,
    ) -> Result<(), csv::Error> {
        self.0.write_record([
            &guarded(vessel),
            &guarded(place),
            &time(at),
            seen.kind().word(),
            &seen.value().to_string(),
            seen.unit().word(),
            &guarded(source),
        ])
    }

    /// Writes out what is left.
    pub fn finish(mut self) -> std::io::Result<()> {
        self.0.flush()
    }
}

fn reading_cells(household: &Household, batch: &str, r: &Reading) -> Vec<String> {
    let (vessel, place) = match r.subject {
        Subject::Vessel(id) => (household.vessel(id).map_or("", |v| v.tag.as_str()), ""),
        Subject::Place(id) => ("", household.place(id).map_or("", |p| p.name.as_str())),
    };
    vec![
        guarded(vessel),
        guarded(place),
        guarded(batch),
        time(r.at),
        r.seen.kind().word().to_owned(),
        r.seen.value().to_string(),
        r.seen.unit().word().to_owned(),
        maybe(r.sample_temp, |t| t.value().to_string()),
        maybe(r.sample_temp, |t| t.unit().word().to_owned()),
        guarded(&r.source),
        if r.doubted { "yes" } else { "" }.to_owned(),
        guarded(&r.note),
        time(r.entered),
    ]
}

fn step_cells(household: &Household, dossier: &Dossier, step: &Step) -> Vec<String> {
    let (state, at, reason) = match &step.status {
        StepStatus::Open => ("open", String::new(), ""),
        StepStatus::Done { at } => ("done", time(*at), ""),
        StepStatus::Skipped { at, reason } => ("left out", time(*at), reason.as_str()),
    };
    vec![
        tag(household, dossier),
        guarded(&dossier.batch.name),
        guarded(&step.rule.key),
        guarded(&step.rule.title),
        step.rule.kind.word().to_owned(),
        state.to_owned(),
        at,
        maybe(step.moved_to, |d| d.to_string()),
        guarded(&step.rule.amount),
        guarded(reason),
    ]
}

fn batch_cells(household: &Household, dossier: &Dossier) -> Vec<String> {
    let b = &dossier.batch;
    vec![
        guarded(&b.name),
        b.style.word().to_owned(),
        guarded(&b.variety),
        b.stage.word().to_owned(),
        tag(household, dossier),
        maybe(dossier.volume(None), |v| v.get().to_string()),
        maybe(b.planned_og, |g| g.get().to_string()),
        maybe(b.expected_fg, |g| g.get().to_string()),
        maybe(b.pitched, time),
        maybe(b.bottled, time),
        maybe(b.closed, time),
        guarded(b.routine.as_deref().unwrap_or_default()),
        guarded(b.yeast.as_deref().unwrap_or_default()),
        b.fizz.word().to_owned(),
        guarded(&b.note),
    ]
}

fn lot_cells(
    household: &Household,
    dossier: &Dossier,
    lot: &Lot,
    left: &BTreeMap<LotId, i64>,
) -> Vec<String> {
    let place = household.place(lot.place).map_or("", |p| p.name.as_str());
    vec![
        guarded(&dossier.batch.name),
        lot.class.word().to_owned(),
        (lot.size.get() * 1000.0).round().to_string(),
        lot.count.to_string(),
        maybe(left.get(&lot.id), i64::to_string),
        if lot.clear_glass { "yes" } else { "" }.to_owned(),
        guarded(place),
        time(lot.bottled),
        maybe(lot.ready_from, |d| d.to_string()),
        maybe(lot.drink_by, |d| d.to_string()),
        guarded(&lot.note),
    ]
}
