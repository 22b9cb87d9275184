//! Answers of before, given again where the very same is asked.
//!
//! A ferment that is over does not change, and neither does what is said of
//! it; yet it would be worked out anew on every morning on which its bottles
//! ask for something. An answer is found by a number made of *all* that it
//! hangs on: every reading, temperature and event, what the maker's other
//! batches taught, the moment it is meant for, and the sums themselves. So
//! nothing has to be told to forget: whatever differs, another number is asked
//! for. What is kept bears a proof, and without a right one it is not believed.

use super::facts::Told;
use super::{Assessment, History};
use crate::domain::proof::number_of;
use crate::domain::units::Moment;
use serde::Serialize;
use std::collections::{BTreeMap, HashMap};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// The number of the sums: another one with every change of their source.
pub const SUMS: &str = env!("SKEP_SUMS");

/// An answer as it is kept.
#[derive(Debug)]
struct Kept {
    /// What was said.
    said: Vec<u8>,
    /// The number of what was asked and what was said.
    proof: Number,
}

impl Kept {
    /// What was asked, the proof, how long it is, what was said. None where it
    /// would not read back as it was said.
    fn bytes(asked: Number, said: &Assessment) -> Option<Vec<u8>> {
        let said_bytes = postcard::to_allocvec(said).ok()?;
        let back: Assessment = postcard::from_bytes(&said_bytes).ok()?;
        if back != *said {
            return None;
        }
        let length = u32::try_from(said_bytes.len()).ok()?;
        let mut bytes = asked.to_be_bytes().to_vec();
        bytes.extend(proof(asked, &said_bytes).to_be_bytes());
        bytes.extend(length.to_be_bytes());
        bytes.extend(said_bytes);
        Some(bytes)
    }

    /// The first answer among bytes, and the rest of them.
    fn first(bytes: &[u8]) -> Option<(Number, Self, &[u8])> {
        let (asked, rest) = bytes.split_first_chunk()?;
        let (proof, rest) = rest.split_first_chunk()?;
        let (length, rest) = rest.split_first_chunk()?;
        let length = usize::try_from(u32::from_be_bytes(*length)).ok()?;
        let (said, rest) = rest.split_at_checked(length)?;
        let kept = Self {
            said: said.to_vec(),
            proof: Number::from_be_bytes(*proof),
        };
        Some((Number::from_be_bytes(*asked), kept, rest))
    }

    /// What was said; none where it is not what was kept.
    fn read(&self, asked: Number) -> Option<Assessment> {
        if proof(asked, &self.said) != self.proof {
            return None;
        }
        postcard::from_bytes(&self.said).ok()
    }
}

/// The number of something of any size.
type Number = u128;

fn number(all: &impl Serialize) -> Option<Number> {
    postcard::to_allocvec(all)
        .ok()
        .map(|bytes| number_of(&[&bytes]))
}

fn proof(asked: Number, said: &[u8]) -> Number {
    number_of(&[&asked.to_be_bytes(), said])
}

/// What was said of ferments that are over.
#[derive(Debug)]
pub struct Memory {
    /// The number of the sums.
    sums: &'static str,
    /// As it was kept.
    kept: HashMap<Number, Kept>,
    /// As it was said since.
    said: Mutex<BTreeMap<Number, Said>>,
}

#[derive(Debug)]
struct Said {
    what: Arc<Assessment>,
    asked_for: bool,
    kept: bool,
}

impl Default for Memory {
    fn default() -> Self {
        Self::of(&[])
    }
}

impl Memory {
    /// From the bytes that were kept. What is damaged in them is not believed.
    pub fn of(bytes: &[u8]) -> Self {
        Self::by(SUMS, bytes)
    }

    fn by(sums: &'static str, mut bytes: &[u8]) -> Self {
        let mut kept = HashMap::new();
        while let Some((asked, one, rest)) = Kept::first(bytes) {
            kept.insert(asked, one);
            bytes = rest;
        }
        Self {
            sums,
            kept,
            said: Mutex::default(),
        }
    }

    /// What to keep from now on, if it is anything else than before: all that
    /// was asked for since the last time. What was not is forgotten.
    pub fn to_keep(&mut self) -> Option<Vec<u8>> {
        let mut said = self.said();
        if !said.values().any(|s| s.asked_for) {
            // Nobody has asked meanwhile: nothing is to be forgotten.
            return None;
        }
        said.retain(|_, s| std::mem::take(&mut s.asked_for));
        let new = said.values().any(|s| !s.kept);
        let bytes = new.then(|| {
            let all = said.iter_mut().filter_map(|(asked, s)| {
                s.kept = true;
                Kept::bytes(*asked, &s.what)
            });
            all.flatten().collect()
        });
        drop(said);
        self.kept.clear();
        bytes
    }

    fn said(&self) -> MutexGuard<'_, BTreeMap<Number, Said>> {
        // A panic elsewhere leaves nothing half done here.
        self.said.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn known(&self, asked: Number) -> Option<Arc<Assessment>> {
        if let Some(said) = self.said().get_mut(&asked) {
            said.asked_for = true;
            return Some(said.what.clone());
        }
        let what = Arc::new(self.kept.get(&asked)?.read(asked)?);
        self.learn(asked, &what, true);
        Some(what)
    }

    fn learn(&self, asked: Number, what: &Arc<Assessment>, kept: bool) {
        let said = Said {
            what: what.clone(),
            asked_for: true,
            kept,
        };
        self.said().insert(asked, said);
    }
}

/// A memory with the one history that a morning asks by.
pub(crate) struct Asking<'m> {
    memory: &'m Memory,
    history: &'m History,
    /// None where it cannot be told by a number: then nothing is remembered.
    number: Option<Number>,
}

impl<'m> Asking<'m> {
    pub(crate) fn new(memory: &'m Memory, history: &'m History) -> Self {
        Self {
            memory,
            history,
            number: number(history),
        }
    }

    /// What is said of a ferment that was over then: as before, else worked out.
    pub(crate) fn over(&self, told: &Told, then: Moment) -> Arc<Assessment> {
        let all = (&told.facts, &told.observations, &told.temperatures);
        let asked = self
            .number
            .and_then(|history| number(&(self.memory.sums, history, then, all)));
        if let Some(known) = asked.and_then(|asked| self.memory.known(asked)) {
            return known;
        }
        let what = Arc::new(told.assess(self.history, then));
        if let Some(asked) = asked {
            self.memory.learn(asked, &what, false);
        }
        what
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::units::{Gravity, GravityDelta, Share};
    use crate::engine::{Facts, Observation, OriginalGravity, Seen, Style};

    fn pitched() -> Moment {
        Moment::new(chrono::DateTime::parse_from_rfc3339("2026-05-01T18:00:00+02:00").unwrap())
    }

    fn over() -> (Told, Moment) {
        let mut facts = Facts::of(Style::Mead);
        facts.og = Some(OriginalGravity::Measured(Gravity::known(1.095)));
        facts.pitched = Some(pitched());
        let read = |(day, gravity)| Observation {
            at: pitched().plus_days(day),
            temperature: None,
            seen: Seen::Hydrometer {
                gravity: Gravity::clamped(gravity),
                resolution: GravityDelta::known(0.001),
            },
        };
        let seen = [(3.0, 1.060), (9.0, 1.020), (20.0, 0.999), (30.0, 0.998)];
        let told = Told {
            facts,
            observations: seen.into_iter().map(read).collect(),
            temperatures: Vec::new(),
            gravities: Vec::new(),
            last: None,
            temperature: None,
            additions: Vec::new(),
            volume: None,
        };
        (told, pitched().plus_days(40.0))
    }

    /// What is said, and whether it had to be worked out.
    fn ask(memory: &mut Memory, told: &Told, then: Moment) -> (Assessment, bool) {
        let history = History::default();
        let said = Asking::new(memory, &history).over(told, then);
        assert_eq!(*said, told.assess(&history, then));
        ((*said).clone(), memory.to_keep().is_some())
    }

    #[test]
    fn what_was_said_is_said_again_in_this_run_and_in_the_next() {
        let (told, then) = over();
        let mut memory = Memory::default();
        let first = Asking::new(&memory, &History::default()).over(&told, then);
        let bytes = memory.to_keep().unwrap();
        assert_eq!(ask(&mut memory, &told, then), ((*first).clone(), false));
        let mut next = Memory::of(&bytes);
        assert_eq!(next.to_keep(), None, "before anybody asks");
        assert_eq!(ask(&mut next, &told, then), ((*first).clone(), false));
        // As long as nobody asks for anything else, it is known.
        assert_eq!(next.to_keep(), None);
        assert!(!ask(&mut next, &told, then).1);
        assert!(ask(&mut next, &told, then.plus_days(1.0)).1);
        assert!(ask(&mut next, &told, then).1, "it was forgotten meanwhile");
    }

    #[test]
    fn whatever_differs_is_worked_out_anew() {
        let (told, then) = over();
        let mut memory = Memory::default();
        Asking::new(&memory, &History::default()).over(&told, then);
        let bytes = memory.to_keep().unwrap();
        let mut others = vec![(told.clone(), then.plus_days(1e-6))];
        let mut other = |change: &dyn Fn(&mut Told)| {
            let mut changed = told.clone();
            change(&mut changed);
            others.push((changed, then));
        };
        other(&|t| t.observations[1].at = t.observations[1].at.plus_days(1.0 / 24.0));
        other(&|t| t.facts.stall_prior = Share::known(0.06));
        other(&|t| t.facts.expected_fg = Some(Gravity::known(1.0)));
        other(&|t| t.observations.truncate(3));
        other(&|t| {
            t.temperatures.push(crate::engine::TemperaturePoint {
                at: pitched(),
                celsius: crate::domain::units::Celsius::known(19.0),
            });
        });
        for (told, then) in others {
            assert!(ask(&mut Memory::of(&bytes), &told, then).1);
        }
        let taught = History {
            batches: vec![crate::engine::PastBatch {
                style: Style::Mead,
                yeast: None,
                place: None,
                og: Gravity::known(1.09),
                expected_fg: None,
                fg: Gravity::known(0.998),
                days_to_finish: 20.0,
                temperature: None,
                stuck: false,
            }],
        };
        let mut memory = Memory::of(&bytes);
        let said = Asking::new(&memory, &taught).over(&told, then);
        assert_eq!(*said, told.assess(&taught, then));
        assert!(memory.to_keep().is_some());
        let mut others = Memory::by("other sums", &bytes);
        assert!(ask(&mut others, &told, then).1);
    }

    #[test]
    fn what_was_damaged_is_not_believed() {
        let (told, then) = over();
        let mut memory = Memory::default();
        Asking::new(&memory, &History::default()).over(&told, then);
        let bytes = memory.to_keep().unwrap();
        for at in (0..bytes.len()).step_by(41) {
            let mut damaged = bytes.clone();
            damaged[at] ^= 1;
            assert!(ask(&mut Memory::of(&damaged), &told, then).1, "{at}");
            assert!(
                ask(&mut Memory::of(&bytes[..at]), &told, then).1,
                "cut at {at}"
            );
        }
        // Twice the same, and what comes after, harm nothing.
        let more = [&bytes[..], &bytes[..], b"soup"].concat();
        assert!(!ask(&mut Memory::of(&more), &told, then).1);
    }
}
