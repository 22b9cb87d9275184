//! `skep listen`: what loggers report, line by line.

use super::args::Listen;
use super::exits::Exit;
use super::find;
use super::report::json::{BadLineJson, ListenJson};
use super::shell::Shell;
use super::tail::{Tail, Told};
use super::trouble::Trouble;
use crate::clock;
use crate::domain::records::{Household, Subject};
use crate::domain::text::safe;
use crate::domain::units::Moment;
use crate::files::lines::{self, Of, Reported};
use crate::store::{Intake, Sample, Store, StoreError};
use std::collections::HashMap;
use std::io::Write;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::Duration;

/// What has come in is kept at least this often, so that a screen follows
/// within a second.
const PATIENCE: Duration = Duration::from_millis(250);
/// Samples kept together at most.
const HEAP: usize = 50_000;
/// Samples held on to at most while the store does not take them, some 30 MB.
const MOST: usize = 500_000;
/// Bad lines that are told one by one; more are counted.
const LISTED: usize = 20;
/// A logger's clock may run ahead a little, days.
const AHEAD: f64 = 1.0;

/// What a run of listening came to.
#[derive(Default)]
struct Tally {
    lines: u64,
    kept: u64,
    known: u64,
    bad: u64,
    told: Vec<(u64, String)>,
}

pub(super) fn listen(sh: &mut Shell<'_>, args: &Listen) -> Result<Exit, Trouble> {
    if args
        .file
        .as_deref()
        .is_some_and(|f| sh.paths.is_of_store(f))
    {
        // Following it would drop the locks of the store that is open here.
        return Err(Trouble::usage(
            "this file is the store itself; name the file that a logger writes",
        ));
    }
    let (mut store, household) = sh.load()?;
    store.prepare(sh.now).map_err(Trouble::store)?;
    let enough = Arc::new(AtomicBool::new(false));
    for signal in [signal_hook::consts::SIGINT, signal_hook::consts::SIGTERM] {
        signal_hook::flag::register(signal, Arc::clone(&enough))?;
    }
    let incoming = Tail::start(args.file.as_deref(), args.follow)?;
    let mut ear = Ear {
        store,
        household,
        subjects: HashMap::new(),
        source: args.source.clone(),
        heap: HashMap::new(),
        held: 0,
        waiting: false,
        now: clock::now(),
        tally: Tally::default(),
    };
    ear.hear(&incoming, &enough)?;
    if ear.tally.kept > 0 {
        sh.saved = Some(format!("{} values", ear.tally.kept));
    }
    report(sh, &ear.tally)
}

/// Who reports.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Source {
    /// A sensor that gives its name.
    Sensor(String),
    /// Whatever reports of this vessel or place.
    Of(Subject),
}

struct Ear {
    store: Store,
    household: Household,
    /// Tags and names that were looked up before.
    subjects: HashMap<Of<'static>, Subject>,
    source: String,
    /// Samples not yet kept, by their source.
    heap: HashMap<Source, Vec<Sample>>,
    held: usize,
    /// The store does not take them just now, and that was told.
    waiting: bool,
    now: Moment,
    tally: Tally,
}

impl Ear {
    fn hear(&mut self, incoming: &Receiver<Told>, enough: &AtomicBool) -> Result<(), Trouble> {
        loop {
            if enough.load(Ordering::Relaxed) {
                return self.keep_the_last();
            }
            match incoming.recv_timeout(PATIENCE) {
                Ok(Told::Lines(lines)) => {
                    for line in lines {
                        self.line(&line);
                    }
                    if self.held >= HEAP {
                        self.keep_or_wait()?;
                    }
                }
                Ok(Told::TooLong) => {
                    self.tally.lines += 1;
                    self.bad("longer than 64 kB".to_owned());
                }
                Ok(Told::Broken(why)) => {
                    self.keep_the_last()?;
                    return Err(Trouble::broken(why));
                }
                Err(RecvTimeoutError::Timeout) => {
                    self.keep_or_wait()?;
                    self.now = clock::now();
                }
                Err(RecvTimeoutError::Disconnected) => return self.keep_the_last(),
            }
        }
    }

    fn line(&mut self, line: &[u8]) {
        self.tally.lines += 1;
        let Ok(text) = std::str::from_utf8(line) else {
            return self.bad("no UTF-8 text".to_owned());
        };
        if text.trim().is_empty() {
            return;
        }
        let taken = lines::read(text).and_then(|reported| self.take(&reported));
        if let Err(why) = taken {
            self.bad(why);
        }
    }

    fn bad(&mut self, why: String) {
        self.tally.bad += 1;
        if self.tally.told.len() < LISTED {
            // Told at once: a logger may run for months.
            let _ = writeln!(
                std::io::stderr(),
                "skep: line {} left out: {}",
                self.tally.lines,
                safe(&why)
            );
            self.tally.told.push((self.tally.lines, why));
        }
    }

    fn take(&mut self, reported: &Reported<'_>) -> Result<(), String> {
        let ahead = reported.at.days_since(self.now);
        if ahead > AHEAD {
            return Err(format!("its time lies {ahead:.0} days ahead"));
        }
        if reported.at.utc_ms() < 0 {
            return Err("its time is too long ago: accepted is 1970 and later".to_owned());
        }
        let subject = self.subject(&reported.of)?;
        let source = match &reported.source {
            Some(name) if name.trim().is_empty() => {
                return Err("its 'source' is empty".to_owned());
            }
            Some(name) => Source::Sensor(name.to_string()),
            // A source is one sensor, in one place at a time: where the lines name
            // none, each vessel has its own.
            None => Source::Of(subject),
        };
        let samples = self.heap.entry(source).or_default();
        samples.extend(reported.seen.iter().map(|seen| Sample {
            subject,
            at: reported.at,
            seen: *seen,
        }));
        self.held += reported.seen.len();
        Ok(())
    }

    fn subject(&mut self, of: &Of<'_>) -> Result<Subject, String> {
        if let Some(subject) = self.subjects.get(of) {
            return Ok(*subject);
        }
        if self.look_up(of).is_err() {
            // The maker may have added it since.
            self.household = self.store.household(self.now).map_err(|e| e.to_string())?;
        }
        let found = self.look_up(of)?;
        let owned = match of {
            Of::Vessel(tag) => Of::Vessel(tag.to_string().into()),
            Of::Place(name) => Of::Place(name.to_string().into()),
        };
        self.subjects.insert(owned, found);
        Ok(found)
    }

    fn look_up(&self, of: &Of<'_>) -> Result<Subject, String> {
        match of {
            Of::Vessel(tag) => self
                .household
                .vessel_by_tag(tag)
                .map(|v| Subject::Vessel(v.id))
                .ok_or_else(|| format!("there is no vessel '{tag}'")),
            Of::Place(name) => find::place(&self.household, name)
                .map(|p| Subject::Place(p.id))
                .ok_or_else(|| format!("there is no place '{name}'")),
        }
    }

    fn name(&self, source: &Source) -> String {
        let of = match source {
            Source::Sensor(name) => return name.clone(),
            Source::Of(Subject::Vessel(id)) => self.household.vessel(*id).map(|v| &v.tag),
            Source::Of(Subject::Place(id)) => self.household.place(*id).map(|p| &p.name),
        };
        format!("{} {}", self.source, of.map_or("", String::as_str))
    }

    /// Keeps what has come in; what the store does not take is held on to.
    fn keep(&mut self) -> Result<(), StoreError> {
        // It may run for months: each day has its copy.
        let mut done = if self.heap.is_empty() {
            Ok(())
        } else {
            self.store.prepare(self.now)
        };
        for (source, samples) in std::mem::take(&mut self.heap) {
            let name = self.name(&source);
            let intake = match &done {
                Ok(()) => self.store.take_samples(&name, samples.iter().copied()),
                Err(_) => Ok(Intake::default()),
            };
            match intake {
                Ok(intake) if done.is_ok() => {
                    self.tally.kept += intake.kept;
                    self.tally.known += intake.known;
                    continue;
                }
                Ok(_) => {}
                Err(why) => done = Err(why),
            }
            self.heap.insert(source, samples);
        }
        self.held = self.heap.values().map(Vec::len).sum();
        done
    }

    /// A logger goes on while the disk is full: what it reports waits in memory.
    fn keep_or_wait(&mut self) -> Result<(), Trouble> {
        let Err(why) = self.keep() else {
            self.waiting = false;
            return Ok(());
        };
        if self.held >= MOST || !why.cause.may_pass() {
            return Err(self.lost(&why));
        }
        if !std::mem::replace(&mut self.waiting, true) {
            let _ = writeln!(
                std::io::stderr(),
                "skep: {}; {} values wait and are tried again",
                safe(&why.to_string()),
                self.held
            );
        }
        Ok(())
    }

    fn keep_the_last(&mut self) -> Result<(), Trouble> {
        self.keep().map_err(|why| self.lost(&why))
    }

    fn lost(&self, why: &StoreError) -> Trouble {
        Trouble::store(format!(
            "{why}. {} values were not kept; send them again",
            self.held
        ))
    }
}

fn report(sh: &mut Shell<'_>, tally: &Tally) -> Result<Exit, Trouble> {
    if sh.json {
        let bad = tally.told.iter().map(|(n, why)| BadLineJson::new(*n, why));
        let report = ListenJson {
            lines: tally.lines,
            kept: tally.kept,
            known: tally.known,
            left_out: tally.bad,
            bad: bad.collect(),
        };
        sh.print("listen", report)?;
    } else {
        writeln!(
            sh.out,
            "{} lines: {} values kept, {} known already, {} lines left out",
            tally.lines, tally.kept, tally.known, tally.bad
        )?;
    }
    Ok(if tally.bad == 0 {
        Exit::Fine
    } else {
        Exit::BadLines
    })
}
