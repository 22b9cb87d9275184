//! What does not go together, as values with their sentences.

use super::lanes::{Happening, Lane, Week, happenings, planned_days, planned_vessel};
use super::layout::{plus, ready};
use crate::domain::plan::Supplies;
use crate::domain::records::{BatchId, Dossier, Household, Stage, StepKind, VesselId};
use crate::engine::{Morning, State};
use chrono::NaiveDate;

/// Something that does not go together.
#[derive(Debug, Clone, PartialEq)]
pub enum Clash {
    /// Several batches to bottle on one day.
    BottlingsTogether {
        /// That day.
        day: NaiveDate,
        /// Tags and names.
        what: Vec<String>,
    },
    /// Hands wanted on a day away.
    WhileAway {
        /// First day away.
        from: NaiveDate,
        /// Last day away.
        to: NaiveDate,
        /// Bottlings, rackings and pitchings that fall into it.
        what: Vec<String>,
    },
    /// More vessels wanted than free.
    VesselsShort {
        /// Monday of that week.
        week: NaiveDate,
        /// Wanted.
        wanted: u32,
        /// Free.
        free: u32,
    },
    /// More bottles wanted than there are.
    BottlesShort {
        /// Monday of that week.
        week: NaiveDate,
        /// Wanted in that week.
        wanted: u32,
        /// Missing at its end.
        missing: u32,
        /// Missing at the end of the season, and the week of it, where that is more.
        later: Option<(u32, NaiveDate)>,
    },
    /// A plan wants a vessel that still holds something.
    VesselTaken {
        /// The plan.
        plan: String,
        /// The vessel's tag.
        tag: String,
        /// Day of pitching planned.
        on: NaiveDate,
        /// What lies in it.
        by: String,
        /// Until when that is expected, if anything says so.
        until: Option<NaiveDate>,
    },
    /// A plan wants a vessel that was not cleaned.
    NotClean {
        /// The plan.
        plan: String,
        /// The vessel's tag.
        tag: String,
    },
    /// Not ready on the day of its feast.
    LateForFeast {
        /// The plan.
        plan: String,
        /// The feast.
        feast: NaiveDate,
        /// Ready on that day.
        ready: NaiveDate,
        /// Would have to be pitched on that day.
        pitch_by: NaiveDate,
    },
    /// The place is not for this ferment.
    NotInThisCloset {
        /// The plan.
        plan: String,
        /// The place.
        place: String,
        /// There, °C.
        is: f64,
        /// Borne at least, °C.
        min: f64,
        /// Borne at most, °C.
        max: f64,
    },
}

impl Clash {
    /// How much it matters: 2 can't be, 1 think about it, 0 to know.
    pub fn weight(&self) -> u8 {
        match self {
            Self::VesselTaken { .. } | Self::NotInThisCloset { .. } | Self::LateForFeast { .. } => {
                2
            }
            Self::WhileAway { .. } | Self::VesselsShort { .. } | Self::BottlesShort { .. } => 1,
            Self::BottlingsTogether { .. } | Self::NotClean { .. } => 0,
        }
    }

    /// The day by which it sorts.
    fn day(&self) -> Option<NaiveDate> {
        match self {
            Self::BottlingsTogether { day, .. } => Some(*day),
            Self::WhileAway { from, .. } => Some(*from),
            Self::VesselsShort { week, .. } | Self::BottlesShort { week, .. } => Some(*week),
            Self::VesselTaken { on, .. } => Some(*on),
            Self::LateForFeast { feast, .. } => Some(*feast),
            Self::NotClean { .. } | Self::NotInThisCloset { .. } => None,
        }
    }

    /// As a sentence.
    pub fn sentence(&self) -> String {
        let day = |d: &NaiveDate| d.format("%-d %b").to_string();
        match self {
            Self::BottlingsTogether { day: on, what } => format!(
                "{} to bottle on {}: {}. Waiting does no harm, so spread them.",
                what.len(),
                day(on),
                what.join(", ")
            ),
            Self::WhileAway { from, to, what } => {
                format!("Away {} to {}: {}.", day(from), day(to), what.join(", "))
            }
            Self::VesselsShort { week, wanted, free } => format!(
                "Week of {}: {wanted} {} wanted for racking or pitching, {free} free.",
                day(week),
                plural(*wanted, "vessel", "vessels")
            ),
            Self::BottlesShort {
                week,
                wanted,
                missing,
                later,
            } => format!(
                "Week of {}: {wanted} bottles wanted, {missing} more than there are{}.",
                day(week),
                later.map_or_else(String::new, |(n, by)| format!(
                    "; {n} are missing by {}",
                    day(&by)
                ))
            ),
            Self::VesselTaken {
                plan,
                tag,
                on,
                by,
                until,
            } => match until {
                Some(u) => format!(
                    "{plan} is planned into {tag} on {}, but {by} lies there until about {}.",
                    day(on),
                    day(u)
                ),
                None => format!(
                    "{plan} is planned into {tag} on {}, but {by} lies there and nothing says until when.",
                    day(on)
                ),
            },
            Self::NotClean { plan, tag } => {
                format!("{plan} goes into {tag}, which is not marked clean.")
            }
            Self::LateForFeast {
                plan,
                feast,
                ready,
                pitch_by,
            } => format!(
                "{plan} is ready about {}, after its feast on {}: it would have to be pitched by {}.",
                day(ready),
                day(feast),
                day(pitch_by)
            ),
            Self::NotInThisCloset {
                plan,
                place,
                is,
                min,
                max,
            } => format!(
                "{plan}: not in {place}. It stands at {}, this yeast wants {} to {}.",
                both(*is),
                both(*min),
                both(*max)
            ),
        }
    }
}

fn plural(n: u32, one: &'static str, more: &'static str) -> &'static str {
    if n == 1 { one } else { more }
}

fn both(celsius: f64) -> String {
    format!("{celsius:.0} °C ({:.0} °F)", celsius * 1.8 + 32.0)
}

/// What clashes in the season, what matters most first.
pub fn clashes(
    household: &Household,
    supplies: &Supplies,
    morning: &Morning,
    lanes: &[Lane],
    weeks: &[Week],
    today: NaiveDate,
) -> Vec<Clash> {
    let happenings = happenings(household, supplies, morning);
    let mut found = Vec::new();
    together(&happenings, &mut found);
    while_away(supplies, &happenings, today, &mut found);
    short(weeks, &mut found);
    for dossier in household
        .dossiers
        .iter()
        .filter(|d| d.batch.stage == Stage::Planned)
    {
        of_plan(household, supplies, dossier, lanes, today, &mut found);
    }
    found.sort_by_key(|c| (std::cmp::Reverse(c.weight()), c.day()));
    found
}

fn named(h: &Happening) -> String {
    if h.tag.is_empty() {
        h.name.clone()
    } else {
        format!("{} ({})", h.tag, h.name)
    }
}

fn together(happenings: &[Happening], found: &mut Vec<Clash>) {
    let bottlings: Vec<&Happening> = happenings
        .iter()
        .filter(|h| h.kind == StepKind::Bottle)
        .collect();
    for day in bottlings.chunk_by(|a, b| a.day == b.day) {
        if day.len() > 1 {
            found.push(Clash::BottlingsTogether {
                day: day[0].day,
                what: day.iter().map(|h| named(h)).collect(),
            });
        }
    }
}

fn while_away(
    supplies: &Supplies,
    happenings: &[Happening],
    today: NaiveDate,
    found: &mut Vec<Clash>,
) {
    for away in supplies.away.iter().filter(|a| a.to >= today) {
        let what: Vec<String> = happenings
            .iter()
            .filter(|h| away.covers(h.day))
            .map(|h| format!("{} {}", h.kind.word(), named(h)))
            .collect();
        if !what.is_empty() {
            found.push(Clash::WhileAway {
                from: away.from,
                to: away.to,
                what,
            });
        }
    }
}

fn short(weeks: &[Week], found: &mut Vec<Clash>) {
    for week in weeks {
        if week.vessels_wanted > week.vessels_free {
            found.push(Clash::VesselsShort {
                week: week.monday,
                wanted: week.vessels_wanted,
                free: week.vessels_free,
            });
        }
    }
    // Said once, for the first week that is short.
    let missing = |w: &&Week| w.bottles_wanted > 0 && w.bottles_left.is_some_and(|l| l < 0);
    let count = |w: &Week| w.bottles_left.map_or(0, |l| l.unsigned_abs() as u32);
    if let Some(first) = weeks.iter().find(missing) {
        let last = weeks.iter().rfind(missing).unwrap_or(first);
        found.push(Clash::BottlesShort {
            week: first.monday,
            wanted: first.bottles_wanted,
            missing: count(first),
            later: (last.monday > first.monday).then(|| (count(last), last.monday)),
        });
    }
}

fn of_plan(
    household: &Household,
    supplies: &Supplies,
    dossier: &Dossier,
    lanes: &[Lane],
    today: NaiveDate,
    found: &mut Vec<Clash>,
) {
    let batch = &dossier.batch;
    let vessel = planned_vessel(household, supplies, dossier);
    let laid = planned_days(household, supplies, dossier, today);
    let start = super::lanes::day_one(supplies, batch, today);
    if let Some((id, tag)) = &vessel {
        taken(batch.name.clone(), batch.id, *id, tag, start, lanes, found);
        of_place(household, dossier, *id, found);
    }
    let rules: Vec<_> = dossier.steps.iter().map(|s| s.rule.clone()).collect();
    let feast = supplies.plan(batch.id).and_then(|p| p.feast_on);
    if let (Some(feast), Some(ready)) = (feast, ready(&rules, &laid))
        && ready > feast
    {
        found.push(Clash::LateForFeast {
            plan: batch.name.clone(),
            feast,
            ready,
            pitch_by: plus(start, -(ready - feast).num_days()),
        });
    }
}

fn taken(
    plan: String,
    batch: BatchId,
    vessel: VesselId,
    tag: &str,
    start: NaiveDate,
    lanes: &[Lane],
    found: &mut Vec<Clash>,
) {
    let Some(lane) = lanes.iter().find(|l| l.vessel == Some(vessel)) else {
        return;
    };
    let other = lane.spans.iter().filter(|s| s.batch != batch).find(|s| {
        let earlier = s.state != State::Planned || s.from < start;
        earlier && s.until.is_none_or(|u| u > start)
    });
    if let Some(span) = other {
        let until = lane
            .spans
            .iter()
            .filter(|s| s.batch == span.batch)
            .map(|s| s.until)
            .max()
            .flatten();
        found.push(Clash::VesselTaken {
            plan,
            tag: tag.to_owned(),
            on: start,
            by: span.name.clone(),
            until,
        });
    } else if !lane.clean && lane.spans.iter().all(|s| s.batch == batch) {
        found.push(Clash::NotClean {
            plan,
            tag: tag.to_owned(),
        });
    }
}

fn of_place(household: &Household, dossier: &Dossier, vessel: VesselId, found: &mut Vec<Clash>) {
    let Some(place) = household
        .vessel(vessel)
        .and_then(|v| household.place(v.place))
    else {
        return;
    };
    let (Some(band), Some(is)) = (dossier.batch.band, place.usual_temp) else {
        return;
    };
    if is < band.min || is > band.max {
        found.push(Clash::NotInThisCloset {
            plan: dossier.batch.name.clone(),
            place: place.name.clone(),
            is: is.get(),
            min: band.min.get(),
            max: band.max.get(),
        });
    }
}
