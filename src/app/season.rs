//! The season: vessels against weeks, clashes, days away, the air.

use super::cautions;
use super::cell::{self, CellFor};
use super::keys::Action;
use super::msg::{Effect, Ticket};
use super::say;
use super::screen::Screen;
use super::state::{Effects, NoticeTone, State};
use crate::domain::deeds::Deed;
use crate::domain::records::{Away, PlaceId};
use crate::domain::slip;
use crate::domain::units::CubicMetres;
use crate::engine::season::{self, BEFORE_LEAVING, Meeting, Season, meetings};
use crate::engine::{PlaceGas, gas};

use chrono::{Datelike, NaiveDate};

/// Weeks that are worked out.
pub const WEEKS: u32 = 26;

/// How the season is looked at.
#[derive(Debug, Clone, Default)]
pub struct SeasonView {
    /// The lane that has the keys.
    pub at: usize,
    /// Weeks left out on the left.
    pub skip: usize,
    /// The days away whose list is shown.
    pub away: usize,
    /// Show what to do before leaving instead of the clashes.
    pub leaving: bool,
}

/// The season as it stands; none before the household is read.
pub fn shown(state: &State) -> Option<Season> {
    let household = state.household.as_ref()?;
    let morning = state.morning.as_ref()?;
    Some(season::season(household, &state.supplies, morning, WEEKS))
}

/// The air of each place.
pub fn air(state: &State) -> Vec<PlaceGas> {
    let (Some(household), Some(morning)) = (&state.household, &state.morning) else {
        return Vec::new();
    };
    gas(household, morning, |place| state.supplies.room(place))
}

/// What to know about the gas, where there is any.
pub fn air_caution() -> &'static str {
    cautions::GAS_SIGNS
}

/// Days away that are not over.
pub fn coming(state: &State) -> Vec<&Away> {
    let today = state.now.day();
    let all = state.supplies.away.iter();
    all.filter(|a| a.to >= today).collect()
}

/// What to do before leaving, for the days away that are chosen.
pub fn before_leaving(state: &State) -> Option<(&Away, Vec<Meeting>)> {
    let away = coming(state).into_iter().nth(state.season.away)?;
    let dues = state.morning.as_ref().map_or(&[][..], |m| &m.due);
    Some((away, meetings(away, dues, state.now.day())))
}

/// What to look after whatever the steps say.
pub fn always_before() -> &'static [&'static str] {
    BEFORE_LEAVING
}

/// Carries an action out that belongs to this screen.
pub fn act(state: &mut State, action: Action) -> Effects {
    let lanes = shown(state).map_or(0, |s| s.lanes.len());
    let view = &mut state.season;
    match action {
        Action::Up => view.at = view.at.saturating_sub(1),
        Action::Down => view.at = (view.at + 1).min(lanes.saturating_sub(1)),
        Action::First => view.at = 0,
        Action::Last => view.at = lanes.saturating_sub(1),
        Action::Left => view.skip = view.skip.saturating_sub(1),
        Action::Right => view.skip = (view.skip + 1).min(WEEKS as usize - 1),
        Action::Next => {
            view.leaving = !view.leaving;
            if view.leaving && coming(state).is_empty() {
                state.season.leaving = false;
                state.say(
                    NoticeTone::Plain,
                    "No days away are written down: a begins with them.",
                );
            }
        }
        Action::Add => cell::open(
            state,
            CellFor::Away,
            "away",
            "05-12 05-19, or 12-19 May: first and last day",
            "",
        ),
        Action::Remove => return drop_away(state),
        Action::Room => open_room(state),
        Action::MoveAll => return move_all(state),
        Action::Open => open_lane(state),
        _ => {}
    }
    Vec::new()
}

/// The batch in the lane is looked at closer.
fn open_lane(state: &mut State) {
    let spot = shown(state).and_then(|s| {
        let lane = s.lanes.into_iter().nth(state.season.at)?;
        let span = lane.spans.into_iter().next()?;
        Some(super::msg::Spot {
            batch: span.batch,
            vessel: lane.vessel,
        })
    });
    let Some(spot) = spot else { return };
    let rows = state.shelf_rows();
    let found = rows
        .iter()
        .map(super::state::spot)
        .find(|s| s.batch == spot.batch);
    if let Some(found) = found {
        state.chosen = Some(found);
        state.go(Screen::Batch);
    }
}

/// The place of the chosen lane's vessel.
fn place_of_lane(state: &State) -> Option<PlaceId> {
    let lane = shown(state)?.lanes.into_iter().nth(state.season.at)?;
    let household = state.household.as_ref()?;
    let vessel = household.vessel(lane.vessel?)?;
    Some(vessel.place)
}

fn open_room(state: &mut State) {
    let place = place_of_lane(state).or_else(|| {
        let household = state.household.as_ref()?;
        household.places.first().map(|p| p.id)
    });
    let Some(place) = place else { return };
    let name = state
        .household
        .as_ref()
        .and_then(|h| h.place(place))
        .map_or_else(String::new, |p| p.name.clone());
    cell::open(
        state,
        CellFor::Room(place),
        format!("size of {name}"),
        "cubic metres, such as 2.5; or 1 x 1.2 x 2 in metres",
        "",
    );
}

/// The size that a text means: `2.5`, `1x1.2x2`.
fn size(text: &str) -> Result<CubicMetres, String> {
    let clean = text
        .to_lowercase()
        .replace(',', ".")
        .replace("m³", "")
        .replace("m3", "");
    let mut product = 1.0;
    for part in clean.split('x') {
        let part = part.trim().trim_end_matches('m').trim();
        let n: f64 = part.parse().map_err(|_| {
            format!("'{text}' is not a size: 2.5 is cubic metres, 1x1.2x2 width, depth and height")
        })?;
        product *= n;
    }
    CubicMetres::new(product).map_err(|e| e.to_string())
}

/// What a typed size would mean.
pub fn room_means(text: &str) -> Result<String, String> {
    size(text).map(|s| format!("{:.2} m³", s.get()))
}

/// Enter on the pad for the size of a place.
pub fn room(state: &mut State, place: PlaceId, text: &str) -> Option<(Ticket, Effect)> {
    let size = size(text).ok()?;
    let ticket = state.ticket();
    let deed = Deed::SetRoom { place, size };
    Some((ticket, Effect::CarryOut(ticket, vec![deed])))
}

/// First and last day of `05-12 05-19`, `2027-05-12 to 2027-05-19`, `12-19 May`.
pub fn parse_span(text: &str, today: NaiveDate) -> Result<(NaiveDate, NaiveDate), String> {
    const ACCEPTED: &str = "Type the first and the last day: 05-12 05-19, or 12-19 May.";
    if let Some(span) = within_month(text, today) {
        return Ok(span);
    }
    let words: Vec<&str> = text
        .split_whitespace()
        .filter(|w| !w.eq_ignore_ascii_case("to"))
        .collect();
    let [first, last_word] = words.as_slice() else {
        return Err(ACCEPTED.to_owned());
    };
    let day = |word: &str, from: NaiveDate| {
        slip::parse_day(word, from).map_err(|_| format!("'{word}' is no day. {ACCEPTED}"))
    };
    let first = day(first, today)?;
    let last = day(last_word, first)?;
    let days = (last - first).num_days() + 1;
    if days > LONGEST_ABSENCE && !names_a_year(last_word) {
        return Err(format!(
            "{} to {} would be {days} days. Give the first day, then the last; write the year where you mean it: {}.",
            first.format("%-d %b"),
            last.format("%-d %b %Y"),
            last.format("%Y-%m-%d")
        ));
    }
    if last < first {
        return Err(format!(
            "The last day {} lies before the first {}.",
            last.format("%-d %b"),
            first.format("%-d %b")
        ));
    }
    Ok((first, last))
}

/// So many days away are believed without a year written out, about a season
/// (common practice, no source): more is a slip, such as the days in the wrong order.
const LONGEST_ABSENCE: i64 = 92;

/// Whether a day was typed with its year: `2027-05-12`.
fn names_a_year(word: &str) -> bool {
    word.split(['-', '/', '.'])
        .any(|part| part.len() == 4 && part.bytes().all(|b| b.is_ascii_digit()))
}

/// `12-19 May`: two days of a month, this year or next.
fn within_month(text: &str, today: NaiveDate) -> Option<(NaiveDate, NaiveDate)> {
    const MONTHS: [&str; 12] = [
        "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
    ];
    let (days, month) = text.trim().split_once(' ')?;
    let name: String = month.trim().to_lowercase().chars().take(3).collect();
    let month = MONTHS.iter().position(|m| *m == name)? as u32 + 1;
    let (first, last) = days.split_once('-').unwrap_or((days, days));
    let (first, last): (u32, u32) = (first.trim().parse().ok()?, last.trim().parse().ok()?);
    let span = |year| {
        let a = NaiveDate::from_ymd_opt(year, month, first)?;
        let b = NaiveDate::from_ymd_opt(year, month, last)?;
        (a <= b).then_some((a, b))
    };
    let this = span(today.year())?;
    if this.1 < today {
        span(today.year() + 1)
    } else {
        Some(this)
    }
}

/// What typed days would mean.
pub fn away_means(state: &State, text: &str) -> Result<String, String> {
    let today = state.now.day();
    let (from, to) = parse_span(text, today)?;
    if to < today {
        return Err("Those days are past.".to_owned());
    }
    let days = (to - from).num_days() + 1;
    let trial = Away {
        id: crate::domain::records::AwayId(0),
        from,
        to,
        note: String::new(),
        dropped: false,
    };
    let dues = state.morning.as_ref().map_or(&[][..], |m| &m.due);
    let met = meetings(&trial, dues, today).len();
    Ok(format!(
        "{}, {}; {} then",
        say::dates(from, to, today),
        say::count(days, "day", "days"),
        say::count(met.cast_signed() as i64, "step falls", "steps fall")
    ))
}

/// Enter on the pad for days away.
pub fn away(state: &mut State, text: &str) -> Option<(Ticket, Effect)> {
    let (from, to) = parse_span(text, state.now.day()).ok()?;
    let ticket = state.ticket();
    state.season.leaving = true;
    let deed = Deed::AddAway {
        from,
        to,
        note: String::new(),
    };
    Some((ticket, Effect::CarryOut(ticket, vec![deed])))
}

fn drop_away(state: &mut State) -> Effects {
    let Some(away) = coming(state).into_iter().nth(state.season.away) else {
        return Vec::new();
    };
    let deed = Deed::DropAway { away: away.id };
    state.season.leaving = false;
    let ticket = state.ticket();
    vec![Effect::CarryOut(ticket, vec![deed])]
}

/// Moves what can be moved before or after the days away; undo takes each back.
fn move_all(state: &mut State) -> Effects {
    let Some((_, met)) = before_leaving(state) else {
        return Vec::new();
    };
    let deeds: Vec<Deed> = met
        .iter()
        .filter_map(|m| {
            Some(Deed::StepMove {
                step: m.step,
                to: m.move_to()?,
            })
        })
        .collect();
    if deeds.is_empty() {
        state.say(NoticeTone::Plain, "nothing to move");
        return Vec::new();
    }
    let ticket = state.ticket();
    vec![Effect::CarryOut(ticket, deeds)]
}

/// Whether days away are written down.
pub fn has_away(state: &State) -> bool {
    !coming(state).is_empty()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_away_are_read_in_two_ways() {
        let today: NaiveDate = "2026-11-25".parse().unwrap();
        let of = |text| parse_span(text, today).map(|(a, b)| format!("{a} {b}"));
        assert_eq!(of("12-19 May"), Ok("2027-05-12 2027-05-19".into()));
        assert_eq!(of("12-24 12-27"), Ok("2026-12-24 2026-12-27".into()));
        assert_eq!(of("12-28 to 01-03"), Ok("2026-12-28 2027-01-03".into()));
        assert!(of("soon").unwrap_err().starts_with("Type the first"));
    }

    #[test]
    fn a_size_is_a_number_or_three_lengths() {
        assert_eq!(room_means("2.5"), Ok("2.50 m³".into()));
        assert_eq!(room_means("1 x 1.2 x 2"), Ok("2.40 m³".into()));
        assert!(room_means("large").unwrap_err().contains("cubic metres"));
        assert!(room_means("0").unwrap_err().contains("accepted is 0.05"));
    }
}
