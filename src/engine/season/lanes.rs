//! Vessels against time: what lies where until when.

use super::layout::{lay, on, plus, usual_days};
use crate::domain::plan::{Bottling, Supplies};
use crate::domain::records::{
    Batch, BatchId, Dossier, Household, PlaceId, Stage, StepKind, StepRule, VesselId,
};
use crate::domain::sums::serving;
use crate::domain::units::{Celsius, Litres};
use crate::engine::{Account, Morning, State};
use chrono::{Datelike, NaiveDate};

/// A stretch of time that a batch spends in a vessel.
#[derive(Debug, Clone, PartialEq)]
pub struct Span {
    /// Whose.
    pub batch: BatchId,
    /// Its name.
    pub name: String,
    /// What it does: as its account says now, or as planned for later.
    pub state: State,
    /// First day.
    pub from: NaiveDate,
    /// Day on which it ends; none where nothing says so.
    pub until: Option<NaiveDate>,
}

/// One vessel, or one plan that has none.
#[derive(Debug, Clone, PartialEq)]
pub struct Lane {
    /// The vessel.
    pub vessel: Option<VesselId>,
    /// Its tag; empty for a plan without one.
    pub tag: String,
    /// What lies or will lie in it, in order of time.
    pub spans: Vec<Span>,
    /// Day on which what is in it now is expected out; today where it is
    /// empty, none where nothing says so.
    pub free: Option<NaiveDate>,
    /// The same at the late end of the forecast.
    pub free_late: Option<NaiveDate>,
    /// Whether it is clean.
    pub clean: bool,
}

/// One week of the season.
#[derive(Debug, Clone, PartialEq)]
pub struct Week {
    /// Its Monday.
    pub monday: NaiveDate,
    /// Batches to bottle.
    pub bottlings: u32,
    /// Bottles that takes.
    pub bottles_wanted: u32,
    /// Bottles left at its end; none where the maker does not count them.
    pub bottles_left: Option<i64>,
    /// Vessels wanted for racking and pitching.
    pub vessels_wanted: u32,
    /// Vessels that are free.
    pub vessels_free: u32,
    /// Whether the maker is away on a day of it.
    pub away: bool,
}

/// Something on a day, of a batch in a vessel or of a plan.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Happening {
    pub(super) batch: BatchId,
    pub(super) name: String,
    pub(super) tag: String,
    pub(super) kind: StepKind,
    pub(super) day: NaiveDate,
}

/// The steps of a batch or plan that matter to the season, on their days.
pub(super) fn happenings(
    household: &Household,
    supplies: &Supplies,
    morning: &Morning,
) -> Vec<Happening> {
    let today = morning.now.day();
    let matters = |kind| matches!(kind, StepKind::Bottle | StepKind::Rack | StepKind::Pitch);
    let mut found = Vec::new();
    for dossier in &household.dossiers {
        let batch = &dossier.batch;
        let happening = |tag: String, kind, day| Happening {
            batch: batch.id,
            name: batch.name.clone(),
            tag,
            kind,
            day,
        };
        if batch.stage == Stage::Planned {
            let tag =
                planned_vessel(household, supplies, dossier).map_or_else(String::new, |t| t.1);
            let rules = rules(dossier);
            for laid in planned_days(household, supplies, dossier, today) {
                let kind = rules[laid.index].kind;
                if matters(kind) {
                    found.push(happening(tag.clone(), kind, laid.opens));
                }
            }
        } else {
            let stuck = morning
                .accounts
                .iter()
                .any(|a| a.batch == batch.id && a.state == State::Stuck);
            for due in morning.due_of(batch.id).filter(|d| matters(d.kind)) {
                // No day can be promised for what stands still with sugar left.
                if stuck && due.kind == StepKind::Bottle {
                    continue;
                }
                found.push(happening(due.tag.clone(), due.kind, due.opens.max(today)));
            }
        }
    }
    found.sort_by(|a, b| a.day.cmp(&b.day).then_with(|| a.tag.cmp(&b.tag)));
    found
}

fn rules(dossier: &Dossier) -> Vec<StepRule> {
    dossier.steps.iter().map(|s| s.rule.clone()).collect()
}

/// Day 1 of a plan: as planned, but not before today.
pub(super) fn day_one(supplies: &Supplies, batch: &Batch, today: NaiveDate) -> NaiveDate {
    batch
        .planned_day
        .or_else(|| supplies.plan(batch.id).and_then(|p| p.pitch_on))
        .map_or(today, |d| d.max(today))
}

/// All steps of a plan on their days.
pub(super) fn planned_days(
    household: &Household,
    supplies: &Supplies,
    dossier: &Dossier,
    today: NaiveDate,
) -> Vec<super::Laid> {
    let batch = &dossier.batch;
    let place = planned_vessel(household, supplies, dossier)
        .and_then(|(id, _)| household.vessel(id))
        .map(|v| v.place);
    let days = usual_days(
        batch.style,
        batch.planned_og,
        place.and_then(|p| usual_temperature(household, p)),
    );
    lay(&rules(dossier), day_one(supplies, batch, today), days)
}

fn usual_temperature(household: &Household, place: PlaceId) -> Option<Celsius> {
    household.place(place)?.usual_temp
}

/// The vessel that a plan is for, with its tag.
pub(super) fn planned_vessel(
    household: &Household,
    supplies: &Supplies,
    dossier: &Dossier,
) -> Option<(VesselId, String)> {
    if let Some(id) = dossier.vessels().next() {
        let tag = household.vessel(id)?.tag.clone();
        return Some((id, tag));
    }
    let tag = &supplies.plan(dossier.batch.id)?.vessel.as_ref()?.tag;
    let vessel = household.vessel_by_tag(tag)?;
    Some((vessel.id, vessel.tag.clone()))
}

/// One lane for each vessel in use, then the plans without a vessel.
pub fn lanes(household: &Household, supplies: &Supplies, morning: &Morning) -> Vec<Lane> {
    let today = morning.now.day();
    let mut lanes: Vec<Lane> = household
        .vessels
        .iter()
        .filter(|v| !v.retired)
        .map(|v| Lane {
            vessel: Some(v.id),
            tag: v.tag.clone(),
            spans: Vec::new(),
            free: Some(today),
            free_late: Some(today),
            clean: v.clean,
        })
        .collect();
    for row in &morning.accounts {
        let lane = row
            .vessel
            .and_then(|v| lanes.iter_mut().find(|l| l.vessel == Some(v)));
        if let (Some(lane), Some(dossier)) = (lane, household.dossier(row.batch))
            && row.stage != Stage::Planned
        {
            fill_lane(lane, dossier, row, morning);
        }
    }
    for dossier in household
        .dossiers
        .iter()
        .filter(|d| d.batch.stage == Stage::Planned)
    {
        plan_lane(&mut lanes, household, supplies, dossier, today);
    }
    for lane in &mut lanes {
        lane.spans.sort_by_key(|s| s.from);
    }
    lanes
}

fn fill_lane(lane: &mut Lane, dossier: &Dossier, row: &Account, morning: &Morning) {
    let today = morning.now.day();
    let dues = || morning.due_of(row.batch);
    let out = dues()
        .find(|d| d.kind == StepKind::Bottle && row.state != State::Stuck)
        .map(|d| d.opens.max(today));
    let spread = row.finish.map_or(0, |f| {
        f.p90.days_since(f.p50).ceil().clamp(0.0, 365.0) as i64
    });
    lane.free = out;
    lane.free_late = out.map(|d| plus(d, spread));
    let stay = dossier
        .stays
        .iter()
        .find(|s| s.to.is_none() && Some(s.vessel) == row.vessel);
    let from = stay.map_or(today, |s| s.from.day());
    let span = |state, from, until| Span {
        batch: row.batch,
        name: row.name.clone(),
        state,
        from,
        until,
    };
    let rest = dues()
        .find(|d| d.kind == StepKind::Rest)
        .map(|d| d.opens)
        .filter(|rest| *rest > today && out.is_none_or(|o| *rest < o));
    if let Some(rest) = rest {
        lane.spans.push(span(row.state, from, Some(rest)));
        lane.spans.push(span(State::Resting, rest, out));
    } else {
        lane.spans.push(span(row.state, from, out));
    }
}

fn plan_lane(
    lanes: &mut Vec<Lane>,
    household: &Household,
    supplies: &Supplies,
    dossier: &Dossier,
    today: NaiveDate,
) {
    let batch = &dossier.batch;
    let rules = rules(dossier);
    let laid = planned_days(household, supplies, dossier, today);
    let span = Span {
        batch: batch.id,
        name: batch.name.clone(),
        state: State::Planned,
        from: day_one(supplies, batch, today),
        until: on(&rules, &laid, StepKind::Bottle),
    };
    let vessel = planned_vessel(household, supplies, dossier).map(|(id, _)| id);
    if let Some(lane) = vessel.and_then(|v| lanes.iter_mut().find(|l| l.vessel == Some(v))) {
        lane.spans.push(span);
    } else {
        lanes.push(Lane {
            vessel: None,
            tag: String::new(),
            free: span.until,
            free_late: span.until,
            spans: vec![span],
            clean: true,
        });
    }
}

/// Bottles that a batch will fill: its volume less the usual loss.
pub(super) fn bottles_of(household: &Household, supplies: &Supplies, batch: BatchId) -> u32 {
    let bottling = supplies
        .plan(batch)
        .map_or_else(Bottling::default, |p| p.bottling);
    let Some(dossier) = household.dossier(batch) else {
        return 0;
    };
    let open: f64 = dossier
        .stays
        .iter()
        .filter(|s| s.to.is_none())
        .filter_map(|s| s.volume)
        .map(Litres::get)
        .sum();
    let volume = if open > 0.0 {
        Litres::clamped(open)
    } else {
        dossier
            .batch
            .volume
            .or_else(|| supplies.plan(batch).map(|p| p.volume))
            .unwrap_or(Litres::known(0.0))
    };
    serving::bottles(volume, bottling.loss, Litres::known(0.0), bottling.size).map_or(0, |b| b.full)
}

/// The weeks from that of today on, with what each wants and has.
pub fn weeks(
    household: &Household,
    supplies: &Supplies,
    morning: &Morning,
    lanes: &[Lane],
    count: u32,
) -> Vec<Week> {
    let today = morning.now.day();
    let first = plus(today, -i64::from(today.weekday().num_days_from_monday()));
    let happenings = happenings(household, supplies, morning);
    let mut left = supplies
        .counts_bottles()
        .then(|| i64::from(supplies.bottles()));
    (0..count)
        .map(|n| {
            let monday = plus(first, 7 * i64::from(n));
            let sunday = plus(monday, 6);
            let within = |h: &&Happening| monday <= h.day && h.day <= sunday;
            let bottled: Vec<&Happening> = happenings
                .iter()
                .filter(within)
                .filter(|h| h.kind == StepKind::Bottle)
                .collect();
            let bottles: u32 = bottled
                .iter()
                .map(|h| bottles_of(household, supplies, h.batch))
                .sum();
            if let Some(have) = &mut left {
                *have -= i64::from(bottles);
            }
            let homeless = |h: &&Happening| {
                h.kind == StepKind::Rack || (h.kind == StepKind::Pitch && h.tag.is_empty())
            };
            Week {
                monday,
                bottlings: bottled.len() as u32,
                bottles_wanted: bottles,
                bottles_left: left,
                vessels_wanted: happenings.iter().filter(within).filter(homeless).count() as u32,
                vessels_free: lanes
                    .iter()
                    .filter(|l| l.vessel.is_some() && free_in(l, monday, sunday))
                    .count() as u32,
                away: supplies
                    .away
                    .iter()
                    .any(|a| a.from <= sunday && a.to >= monday),
            }
        })
        .collect()
}

/// Whether nothing lies in it in that week.
fn free_in(lane: &Lane, monday: NaiveDate, sunday: NaiveDate) -> bool {
    lane.spans
        .iter()
        .all(|s| s.from > sunday || s.until.is_some_and(|u| u <= monday))
}
