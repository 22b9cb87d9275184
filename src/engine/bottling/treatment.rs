use crate::domain::records::{Dossier, Event, EventKind, Style, VesselId};
use crate::domain::sums::contents::{Contents, contents};
use crate::domain::sums::sulfite::{
    self, ACID_IN_SORBATE, Constant, SO2_IN_POTASSIUM, SO2_IN_SODIUM, STAYS_FREE,
};
use crate::domain::units::{Abv, Celsius, Gravity, Litres, MilligramsPerLitre, Moment, Ph, Share};
use crate::engine::facts::{self, Told};

/// Days in which half of the free SO2 is lost under an airlock (common practice, no
/// source, on the safe side: in bottles at 15 to 26 °C half of it lasted sixteen
/// months, computed from a press summary of a study in Quebec).
const HALF_LOST: f64 = 90.0;
/// Molecular SO2 that a dose must reach, mg/L: the lower end of 0.6 to 0.8 (Iowa State
/// University Extension; UW-Madison, 2017).
const REACHED: f64 = 0.6;
/// Molecular SO2 that must still be there, mg/L (common practice, no source).
const STILL_THERE: f64 = 0.5;
/// A dose weighed at home is believed to one part in twenty (common practice, no source).
const WEIGHED: f64 = 0.95;
/// Gravity that counts as fallen: twice the step of a hydrometer.
const FALLEN: f64 = 0.002;
/// Days over which level readings show that a ferment had ended before a dose (common
/// practice, no source).
const LEVEL_BEFORE: f64 = 3.0;
/// Days over which level readings show it after a dose (common practice, no source).
const LEVEL_AFTER: f64 = 7.0;
/// Level readings differ by no more than this.
const LEVEL: f64 = 0.001 + 1e-9;

/// What was added to make a batch safe or sweet, as the ledger tells it, and how far it
/// can be relied on.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Treatment {
    /// All sulfite given so far, as SO2 in mg/L of the drink: the total if none had been
    /// lost, the safe side against the legal limit.
    pub total_so2: f64,
    /// Free SO2 expected now, mg/L: what binds at once and what is lost since is left out.
    pub free_so2: f64,
    /// Molecular SO2 expected now, mg/L.
    pub molecular: f64,
    /// When sulfite was last given.
    pub sulfited: Option<Moment>,
    /// All sorbate given so far, as sorbic acid, mg/L.
    pub sorbic_acid: f64,
    /// When sorbate was last given.
    pub sorbated: Option<Moment>,
    /// When it was last sweetened with something that ferments.
    pub sweetened: Option<Moment>,
    /// When sugar for gas was given.
    pub primed: Option<Moment>,
    /// A dose was written down without its mass, so the totals are too low.
    pub unweighed: bool,
    /// Why sulfite and sorbate can't be relied on, where both are in.
    pub weak: Option<Weakness>,
}

/// Why a drink does not count as stabilised though sulfite and sorbate went in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Weakness {
    /// Gravity fell after they were given.
    FellSince {
        /// When the last of them went in.
        given: Moment,
    },
    /// No readings show that it had ended when they were given.
    NotEnded {
        /// When the last of them went in.
        given: Moment,
    },
    /// A dose has no amount, or the volume it went into is not known.
    Unweighed,
    /// Too weak for sorbate.
    Alcohol {
        /// Its alcohol, where that is known.
        has: Option<Abv>,
    },
    /// Not sour enough for sorbate.
    Acidity {
        /// Its pH.
        ph: Ph,
        /// Whether that was read; else it is what such a drink usually has.
        read: bool,
    },
    /// Too little sulfite is left.
    Sulfite {
        /// Molecular SO2 expected now.
        molecular: MilligramsPerLitre,
        /// What is needed.
        needed: MilligramsPerLitre,
        /// Its pH.
        ph: Ph,
        /// Whether that was read; else the safe one was taken.
        read: bool,
    },
    /// Too little sorbate went in.
    Sorbate {
        /// Sorbic acid.
        has: MilligramsPerLitre,
        /// What its alcohol and pH ask for.
        needed: MilligramsPerLitre,
    },
}

impl Weakness {
    /// The reason in one plain sentence.
    pub fn sentence(self) -> String {
        let day = |at: Moment| at.day().format("%-d %b").to_string();
        match self {
            Self::FellSince { given } => format!(
                "its gravity has dropped since the sulfite and sorbate went in on {}",
                day(given)
            ),
            Self::NotEnded { given } => format!(
                "no steady readings show that it had finished when the sulfite and sorbate went in on {}",
                day(given)
            ),
            Self::Unweighed => {
                "a dose of sulfite or sorbate has no weight in the ledger, or went into an unknown volume".into()
            }
            Self::Alcohol { has: Some(has) } => format!(
                "at {:.1} % vol sorbate can't be relied on; it needs {:.0} %",
                has.get(),
                sulfite::LEAST_ALCOHOL
            ),
            Self::Alcohol { has: None } => format!(
                "its alcohol is unknown, and below {:.0} % vol sorbate can't be relied on",
                sulfite::LEAST_ALCOHOL
            ),
            Self::Acidity { ph, read } => {
                let unread = if read { "" } else { ", usual for it," };
                format!(
                    "at pH {:.1}{unread} sorbate can't be relied on; it needs {:.1} or less",
                    ph.get(),
                    sulfite::MOST_PH
                )
            }
            Self::Sulfite {
                molecular,
                needed,
                ph,
                read,
            } => {
                let unread = if read { "" } else { " (not read; the safe value)" };
                format!(
                    "it holds about {:.2} mg/L of molecular SO2 at pH {:.1}{unread}, and needs {:.1}",
                    molecular.get(),
                    ph.get(),
                    needed.get()
                )
            }
            Self::Sorbate { has, needed } => format!(
                "it holds {:.0} mg/L of sorbic acid; its alcohol and pH need {:.0}",
                has.get(),
                needed.get()
            ),
        }
    }

    /// What would make it safe, in one plain sentence.
    pub fn way_out(self) -> &'static str {
        match self {
            Self::FellSince { .. } | Self::NotEnded { .. } => {
                "Let it ferment out until the gravity is steady, then stabilise it again."
            }
            Self::Unweighed => "Stabilise it again with weighed doses.",
            Self::Alcohol { .. } | Self::Acidity { .. } => {
                "Let it ferment dry, or sweeten with something yeast can't ferment and keep it cold."
            }
            Self::Sulfite { .. } => "Read its pH, then stabilise it again (skep stabilise).",
            Self::Sorbate { .. } => "Add the rest of the sorbate (skep stabilise).",
        }
    }
}

impl Treatment {
    /// Sulfite and sorbate are both in and can be relied on: sugar that is added should
    /// stay sugar.
    pub fn stabilised(&self) -> bool {
        self.sulfited.is_some() && self.sorbated.is_some() && self.weak.is_none()
    }

    /// Total SO2, for sums that take it as a quantity.
    pub fn so2(&self) -> MilligramsPerLitre {
        MilligramsPerLitre::clamped(self.total_so2)
    }
}

fn so2_share(substance: &str) -> f64 {
    if substance.to_lowercase().contains("sodium") {
        SO2_IN_SODIUM
    } else {
        SO2_IN_POTASSIUM
    }
}

/// Entries of the ledger up to a moment that count for what lies in a vessel, or for all
/// of a batch where none is named.
fn entries(
    dossier: &Dossier,
    vessel: Option<VesselId>,
    now: Moment,
) -> impl Iterator<Item = &Event> {
    dossier.events.iter().filter(move |e| {
        e.at <= now
            && e.vessel
                .is_none_or(|v| facts::belongs_to(dossier, v, e.at, vessel))
    })
}

/// When something of a kind last went in, as the ledger has it.
pub(super) fn last_given(
    dossier: &Dossier,
    vessel: Option<VesselId>,
    kind: EventKind,
    now: Moment,
) -> Option<Moment> {
    let given = entries(dossier, vessel, now).filter(|e| e.kind == kind);
    given.map(|e| e.at).last()
}

/// Whether sulfite went into what lies in a vessel.
pub fn sulfited(dossier: &Dossier, vessel: Option<VesselId>, now: Moment) -> bool {
    last_given(dossier, vessel, EventKind::Sulfite, now).is_some()
}

/// Reckons what was given to what lies in a vessel, or to all of a batch where none is
/// named, up to `now`.
///
/// A dose counts by its mass in the volume that it went into, thinned by what was poured
/// in or brought together since. Half of a dose binds at once (common practice), and half
/// of what is free is lost in 90 days; a dose given before the ferment ended is bound by
/// what the yeast makes, and keeps nothing free. A dose of which nobody told the vessel,
/// while the batch lay in several, counts against the limits and protects nothing.
pub fn treatment(
    dossier: &Dossier,
    vessel: Option<VesselId>,
    told: &Told,
    now: Moment,
) -> Treatment {
    let mut found = Treatment::default();
    let mut protects = Doses::default();
    let drink = Protected::of(dossier, vessel, told, now);
    for event in entries(dossier, vessel, now) {
        match event.kind {
            EventKind::Sulfite => {
                found.sulfited = Some(event.at);
                match drink.dose(dossier, event, so2_share(&event.substance)) {
                    Some(mg) => {
                        found.total_so2 += mg;
                        if reached(dossier, event) && drink.had_ended(event.at, now) {
                            let age = now.days_since(event.at).max(0.0);
                            let free = mg * STAYS_FREE;
                            found.free_so2 += free * 0.5f64.powf(age / HALF_LOST);
                            protects.free += free;
                        }
                    }
                    None => found.unweighed = true,
                }
            }
            EventKind::Sorbate => {
                found.sorbated = Some(event.at);
                match drink.dose(dossier, event, ACID_IN_SORBATE) {
                    Some(mg) => {
                        found.sorbic_acid += mg;
                        if reached(dossier, event) {
                            protects.sorbic += mg;
                        }
                    }
                    None => found.unweighed = true,
                }
            }
            EventKind::Sweeten if contents(&event.substance) != Contents::Unfermentable => {
                found.sweetened = Some(event.at);
            }
            EventKind::Prime => found.primed = Some(event.at),
            _ => {}
        }
    }
    found.molecular = found.free_so2 * drink.molecular_share();
    if let (Some(sulfited), Some(sorbated)) = (found.sulfited, found.sorbated) {
        let given = if sulfited > sorbated {
            sulfited
        } else {
            sorbated
        };
        found.weak = drink.weakness(&found, protects, given, now);
    }
    found
}

/// Whether steady readings show that what lies in a vessel has ended, so that a dose
/// given now would count.
pub fn ended(dossier: &Dossier, vessel: Option<VesselId>, told: &Told, now: Moment) -> bool {
    Protected::of(dossier, vessel, told, now).had_ended(now, now)
}

/// Whether a dose reached all that lies in a vessel: the vessel is told, or there was one.
fn reached(dossier: &Dossier, event: &Event) -> bool {
    event.vessel.is_some() || dossier.stays.iter().filter(|s| s.covers(event.at)).count() <= 1
}

/// Doses that reached all of what lies there.
#[derive(Default, Clone, Copy)]
struct Doses {
    /// Free SO2 when each was given, mg/L.
    free: f64,
    /// Sorbic acid, mg/L.
    sorbic: f64,
}

/// The drink that doses went into.
struct Protected<'a> {
    told: &'a Told,
    style: Style,
    volume: Option<f64>,
    alcohol: Option<Abv>,
    ph: Option<Ph>,
    warm: Option<Celsius>,
}

impl<'a> Protected<'a> {
    fn of(dossier: &Dossier, vessel: Option<VesselId>, told: &'a Told, now: Moment) -> Self {
        Self {
            told,
            style: dossier.batch.style,
            volume: told.volume.map(Litres::get),
            alcohol: told.balance(now).and_then(|b| b.alcohol),
            ph: facts::last_ph(dossier, vessel, now),
            warm: told
                .temperature
                .map(|(t, _)| t)
                .or(told.facts.usual_temperature),
        }
    }

    /// A dose in mg for each litre of what lies there now.
    fn dose(&self, dossier: &Dossier, event: &Event, share: f64) -> Option<f64> {
        let then = facts::volume_before(dossier, event)?.get();
        if then <= 0.0 {
            return None;
        }
        // Poured in since: known by the ledger. Brought together with another part of
        // the batch: seen by the volume alone.
        let thinned: f64 = self
            .told
            .additions
            .iter()
            .filter(|a| a.at > event.at)
            .filter_map(|a| {
                let before = a.before?.get();
                let more = a.lot.seen().ok()?.volume.get();
                Some((before + more) / before)
            })
            .product();
        let grown = self.volume.map_or(1.0, |now| now / then);
        let factor = if grown > thinned * 1.02 {
            grown
        } else {
            thinned
        };
        Some(event.mass?.get() * share * 1000.0 / then / factor)
    }

    /// Gravities between which nothing went in: around a moment, or since it.
    fn undisturbed(&self, from: Moment, to: Moment) -> Vec<Vec<(Moment, Gravity)>> {
        let mut parts = vec![Vec::new()];
        let mut additions = self.told.additions.iter().map(|a| a.at).peekable();
        for (at, gravity) in &self.told.gravities {
            if *at < from || *at > to {
                continue;
            }
            while additions.next_if(|a| a <= at).is_some() {
                parts.push(Vec::new());
            }
            if let Some(part) = parts.last_mut() {
                part.push((*at, *gravity));
            }
        }
        parts
    }

    /// Whether readings show that it had ended at a moment: level for some days up to
    /// it, or level for a week since.
    fn had_ended(&self, given: Moment, now: Moment) -> bool {
        let long_ago = given.plus_days(-3650.0);
        let before = self.undisturbed(long_ago, given);
        let after = self.undisturbed(given, now);
        let level_before = before.last().is_some_and(|part| {
            part.last().is_some_and(|(last, now)| {
                part.iter()
                    .rev()
                    .take_while(|(_, g)| (g.get() - now.get()).abs() <= LEVEL)
                    .last()
                    .is_some_and(|(first, _)| last.days_since(*first) >= LEVEL_BEFORE)
            })
        });
        let level_after = after.iter().any(|part| {
            part.first().zip(part.last()).is_some_and(|(first, last)| {
                last.0.days_since(first.0) >= LEVEL_AFTER - 0.5
                    && (first.1.get() - last.1.get()).abs() <= LEVEL
            })
        });
        (level_before || level_after) && !self.fell(given, now)
    }

    /// Whether gravity fell since a moment, with nothing going in; a reading of the days
    /// before it counts as taken then.
    fn fell(&self, given: Moment, now: Moment) -> bool {
        let before = self.told.gravities.iter().rfind(|(at, _)| *at <= given);
        let from = before
            .map(|(at, _)| *at)
            .filter(|at| given.days_since(*at) <= LEVEL_BEFORE)
            .unwrap_or(given);
        self.undisturbed(from, now).iter().any(|part| {
            part.first()
                .zip(part.last())
                .is_some_and(|(first, last)| first.1.get() - last.1.get() > FALLEN + 1e-9)
        })
    }

    /// Share of free SO2 that is molecular: by alcohol and temperature where the OIV
    /// table covers them, else by the usual constant, which gives less.
    fn molecular_share(&self) -> f64 {
        let by_table = self
            .alcohol
            .zip(self.warm)
            .filter(|(_, warm)| (20.0 - 1e-9..=40.0).contains(&warm.get()))
            .map(|(alcohol, warm)| Constant::Oiv {
                alcohol: Abv::clamped(alcohol.get().min(15.0)),
                temperature: Celsius::clamped(warm.get().max(20.0)),
            });
        let ph = Ph::clamped(self.acidity().get().clamp(2.5, 4.5));
        sulfite::molecular_share(ph, by_table.unwrap_or(Constant::Usual)).map_or(0.0, Share::get)
    }

    /// The pH that was read, else the least sour that is usual: 3.7 for mead and cider, up
    /// to which sorbate works; 4.5 for beer (4.0 to 4.6: from memory).
    fn acidity(&self) -> Ph {
        self.ph.unwrap_or(match self.style {
            Style::Beer => Ph::known(4.5),
            Style::Mead | Style::Cider => Ph::known(sulfite::MOST_PH),
        })
    }

    fn weakness(
        &self,
        found: &Treatment,
        protects: Doses,
        given: Moment,
        now: Moment,
    ) -> Option<Weakness> {
        if self.fell(given, now) {
            return Some(Weakness::FellSince { given });
        }
        if !self.had_ended(given, now) {
            return Some(Weakness::NotEnded { given });
        }
        let strong = self.alcohol.filter(|a| a.get() >= sulfite::LEAST_ALCOHOL);
        let Some(alcohol) = strong else {
            return Some(Weakness::Alcohol { has: self.alcohol });
        };
        let (ph, read) = (self.acidity(), self.ph.is_some());
        if ph.get() > sulfite::MOST_PH + 1e-9 {
            return Some(Weakness::Acidity { ph, read });
        }
        let share = self.molecular_share();
        let short = |mg: f64, needed: f64| mg < needed * WEIGHED;
        let mg = MilligramsPerLitre::clamped;
        if short(protects.free * share, REACHED) || short(found.molecular, STILL_THERE) {
            let reached = short(protects.free * share, REACHED);
            return Some(if found.unweighed {
                Weakness::Unweighed
            } else {
                Weakness::Sulfite {
                    molecular: mg(found.molecular),
                    needed: mg(if reached { REACHED } else { STILL_THERE }),
                    ph,
                    read,
                }
            });
        }
        let needed = sulfite::sorbic_acid_needed(alcohol, Some(ph)).get();
        short(protects.sorbic, needed).then(|| {
            if found.unweighed {
                Weakness::Unweighed
            } else {
                Weakness::Sorbate {
                    has: mg(protects.sorbic),
                    needed: mg(needed),
                }
            }
        })
    }
}

/// Volume that lies in one vessel of a batch, else of all of it.
pub fn volume_in(dossier: &Dossier, vessel: VesselId) -> Option<Litres> {
    dossier.volume(Some(vessel))
}

/// Volume of a batch now: its open stays added up, else as pitched.
pub fn volume_now(dossier: &Dossier) -> Option<Litres> {
    dossier.volume(None)
}
