//! `skep season` and `skep away`.

use super::args::{Away as AwayArgs, AwayVerb, Season as SeasonArgs};
use super::exits::Exit;
use super::shell::Shell;
use super::today::morning_of;
use super::trouble::Trouble;
use crate::app::season::parse_span;
use crate::domain::deeds::Deed;
use crate::domain::plan::Supplies;
use crate::domain::records::{Away, Household};
use crate::domain::text::safe;
use crate::engine::season::{self, BEFORE_LEAVING, Season, meetings};
use crate::engine::{AirState, Morning, gas};
use crate::store::Store;
use chrono::NaiveDate;
use serde::Serialize;

/// Store, household, supplies and morning at one look.
fn look(sh: &Shell<'_>) -> Result<(Store, Household, Supplies, Morning), Trouble> {
    let (store, household) = sh.load()?;
    let supplies = store.supplies().map_err(Trouble::store)?;
    let morning = morning_of(sh, &store, &household, sh.now)?;
    Ok((store, household, supplies, morning))
}

pub(super) fn season(sh: &mut Shell<'_>, args: &SeasonArgs) -> Result<Exit, Trouble> {
    let (_, household, supplies, morning) = look(sh)?;
    let season = season::season(&household, &supplies, &morning, args.weeks.clamp(1, 104));
    let air: Vec<String> = gas(&household, &morning, |p| supplies.room(p))
        .iter()
        .filter(|p| p.state() != AirState::Calm)
        .map(crate::engine::PlaceGas::sentence)
        .collect();
    if sh.json {
        sh.print("season", SeasonJson::new(&season, air))?;
        return Ok(Exit::Fine);
    }
    for lane in &season.lanes {
        let tag = if lane.tag.is_empty() {
            "none"
        } else {
            &lane.tag
        };
        let holds: Vec<String> = lane
            .spans
            .iter()
            .map(|s| {
                let until = s
                    .until
                    .map_or_else(|| "open".to_owned(), |u| format!("to about {u}"));
                format!("{} {} {until}", safe(&s.name), s.state.word())
            })
            .collect();
        let holds = if holds.is_empty() {
            "free".to_owned()
        } else {
            holds.join("; ")
        };
        writeln!(sh.out, "{:<6} {holds}", safe(tag))?;
    }
    writeln!(sh.out)?;
    for clash in &season.clashes {
        writeln!(sh.out, "! {}", safe(&clash.sentence()))?;
    }
    if season.clashes.is_empty() {
        writeln!(sh.out, "Nothing clashes.")?;
    }
    for line in air {
        writeln!(sh.out, "{}", safe(&line))?;
    }
    Ok(Exit::Fine)
}

pub(super) fn away(sh: &mut Shell<'_>, args: &AwayArgs) -> Result<Exit, Trouble> {
    let (mut store, _, supplies, morning) = look(sh)?;
    let today = sh.zone.localise(sh.now).day();
    match &args.verb {
        Some(AwayVerb::Add(add)) => {
            let (from, to) = parse_span(&add.days.join(" "), today).map_err(Trouble::usage)?;
            let note = add.note.clone();
            let deed = Deed::AddAway { from, to, note };
            sh.carry_out(&mut store, &deed)?;
            return Ok(Exit::Fine);
        }
        Some(AwayVerb::Drop(which)) => {
            let found = supplies.away.get(which.number.saturating_sub(1));
            let Some(away) = found.filter(|_| which.number > 0) else {
                return Err(Trouble::not_found(format!(
                    "there are no days away with the number {}; skep away lists them",
                    which.number
                )));
            };
            sh.carry_out(&mut store, &Deed::DropAway { away: away.id })?;
            return Ok(Exit::Fine);
        }
        None => {}
    }
    let all: Vec<AwayJson> = supplies
        .away
        .iter()
        .map(|a| AwayJson::new(a, &morning, today))
        .collect();
    if sh.json {
        sh.print("away", AwaysJson { away: all })?;
        return Ok(Exit::Fine);
    }
    if all.is_empty() {
        writeln!(
            sh.out,
            "No days away are written down; skep away add 05-12 05-19 does."
        )?;
    }
    for (n, away) in all.iter().enumerate() {
        writeln!(sh.out, "{}  {} to {}", n + 1, away.from, away.to)?;
        for line in &away.steps {
            writeln!(sh.out, "   {}", safe(line))?;
        }
        for line in BEFORE_LEAVING {
            writeln!(sh.out, "   {line}")?;
        }
    }
    Ok(Exit::Fine)
}

#[derive(Debug, Serialize)]
struct AwaysJson {
    away: Vec<AwayJson>,
}

#[derive(Debug, Serialize)]
struct AwayJson {
    from: NaiveDate,
    to: NaiveDate,
    note: String,
    steps: Vec<String>,
}

impl AwayJson {
    fn new(away: &Away, morning: &Morning, today: NaiveDate) -> Self {
        Self {
            from: away.from,
            to: away.to,
            note: away.note.clone(),
            steps: meetings(away, &morning.due, today)
                .iter()
                .map(season::Meeting::sentence)
                .collect(),
        }
    }
}

#[derive(Debug, Serialize)]
struct SpanJson {
    batch: String,
    state: &'static str,
    from: NaiveDate,
    until: Option<NaiveDate>,
}

#[derive(Debug, Serialize)]
struct LaneJson {
    vessel: String,
    free: Option<NaiveDate>,
    spans: Vec<SpanJson>,
}

#[derive(Debug, Serialize)]
struct WeekJson {
    monday: NaiveDate,
    bottles_wanted: u32,
    bottles_left: Option<i64>,
    vessels_wanted: u32,
    vessels_free: u32,
    away: bool,
}

#[derive(Debug, Serialize)]
struct SeasonJson {
    lanes: Vec<LaneJson>,
    weeks: Vec<WeekJson>,
    clashes: Vec<String>,
    air: Vec<String>,
}

impl SeasonJson {
    fn new(season: &Season, air: Vec<String>) -> Self {
        Self {
            lanes: season
                .lanes
                .iter()
                .map(|l| LaneJson {
                    vessel: l.tag.clone(),
                    free: l.free,
                    spans: l
                        .spans
                        .iter()
                        .map(|s| SpanJson {
                            batch: s.name.clone(),
                            state: s.state.word(),
                            from: s.from,
                            until: s.until,
                        })
                        .collect(),
                })
                .collect(),
            weeks: season
                .weeks
                .iter()
                .map(|w| WeekJson {
                    monday: w.monday,
                    bottles_wanted: w.bottles_wanted,
                    bottles_left: w.bottles_left,
                    vessels_wanted: w.vessels_wanted,
                    vessels_free: w.vessels_free,
                    away: w.away,
                })
                .collect(),
            clashes: season.clashes.iter().map(season::Clash::sentence).collect(),
            air,
        }
    }
}
