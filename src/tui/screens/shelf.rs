//! The shelf: every vessel that holds something, worst first; the trend of the
//! chosen one; what is due.

use super::due;
use crate::app::advice::{self, Pressing};
use crate::app::keys::{self, Action};
use crate::app::{Screen, State, say};
use crate::domain::records::{Settings, StepKind};
use crate::domain::units::Moment;
use crate::engine::{Account, Due, Headline, State as Doing, Timing, Urgency, Voice};
use crate::tui::areas::{self, WIDE, first_shown};
use crate::tui::ink::Ink;
use crate::tui::text::width;
use crate::tui::theme::{Mark, Role};
use crate::tui::widgets::trend::trend;

/// Draws the shelf.
pub(super) fn draw(state: &State, ink: &mut Ink) {
    let parts = areas::shelf(state, ink.area);
    list(state, &mut ink.on(parts.list));
    says(state, &mut ink.on(parts.says));
    draw_trend(state, &mut ink.on(parts.trend));
    due::draw(state, &mut ink.on(parts.due));
}

/// The trend of what is chosen.
pub(super) fn draw_trend(state: &State, ink: &mut Ink) {
    if let Some(data) = &state.trend {
        let theme = *ink.theme;
        let area = ink.area;
        trend(data, &state.trend_view, &theme, area, ink.buffer());
    }
}

/// Columns of the list at a width: where each begins, and how wide it is.
struct Columns {
    state: u16,
    tag: u16,
    name: (u16, u16),
    day: u16,
    gravity: u16,
    age: Option<u16>,
    gone: Option<u16>,
    alcohol: Option<u16>,
    warmth: Option<u16>,
    finish: Option<u16>,
    next: (u16, u16),
}

const TAG: u16 = 5;
const STATE: u16 = 10;

impl Columns {
    fn of(state: &State, total: u16) -> Self {
        let longest = state.shelf_rows().iter().map(|r| width(&r.tag)).max();
        let tag = (longest.unwrap_or(2) as u16).clamp(3, TAG);
        let wide = total >= WIDE;
        // A narrow screen leaves columns out; it cuts none.
        let (aged, shared) = (total >= 66, total >= 72);
        let others = 50 + 7 * u16::from(aged) + 6 * u16::from(shared) + 3;
        let name = if wide {
            24
        } else {
            total.saturating_sub(others).clamp(6, 16)
        };
        let mut x = 2;
        let mut place = |w: u16| {
            let here = x;
            x += w;
            here
        };
        let tag_at = place(tag + 1);
        let state_at = place(STATE + 1);
        let name_at = place(name + 1);
        let day = place(4);
        let gravity = place(7);
        let age = aged.then(|| place(7));
        let gone = shared.then(|| place(6));
        let alcohol = wide.then(|| place(8));
        let warmth = wide.then(|| place(9));
        let finish = wide.then(|| place(12));
        let next = place(0) + 2;
        Self {
            state: state_at,
            tag: tag_at,
            name: (name_at, name),
            day,
            gravity,
            age,
            gone,
            alcohol,
            warmth,
            finish,
            next: (next, total.saturating_sub(next)),
        }
    }
}

fn list(state: &State, ink: &mut Ink) {
    let rows = state.shelf_rows();
    let columns = Columns::of(state, ink.area.width);
    headings(state, &columns, ink);
    let chosen = state.chosen_index();
    let room = usize::from(ink.area.height).saturating_sub(1);
    let first = first_shown(chosen.unwrap_or(0), rows.len(), room);
    for (i, row) in rows.iter().enumerate().skip(first).take(room) {
        let y = (i - first + 1) as u16;
        one(state, row, &columns, y, ink);
        if chosen == Some(i) {
            ink.here(y);
        }
    }
    let last = (first + room).min(rows.len());
    let note = format!("{} to {last} of {}", first + 1, rows.len());
    let free = ink.area.width.saturating_sub(columns.next.0 + 5);
    if rows.len() > room && width(&note) <= usize::from(free) {
        ink.right(0, &note, Role::Muted);
    }
    if rows.is_empty() && state.morning.is_some() {
        let x = ink.say(2, 1, "No vessel holds anything: ", Role::Muted);
        let key = keys::key_of(state, Action::Go(Screen::Planner));
        let x = ink.say(x, 1, &key, Role::Key);
        ink.say(x, 1, " plans a batch.", Role::Muted);
    }
}

fn headings(state: &State, columns: &Columns, ink: &mut Ink) {
    let scale = match state.settings().gravity {
        crate::domain::records::GravityScale::Sg => "SG",
        crate::domain::records::GravityScale::Plato => "°P",
    };
    let role = Role::Muted;
    ink.say(columns.state, 0, "state", role);
    ink.say(columns.name.0, 0, "batch", role);
    ink.number(columns.day, 0, 4, "day", role);
    ink.number(columns.gravity, 0, 7, scale, role);
    if let Some(x) = columns.age {
        ink.number(x, 0, 7, "read", role);
    }
    if let Some(x) = columns.gone {
        ink.number(x, 0, 6, "used", role);
    }
    if let Some(x) = columns.alcohol {
        ink.number(x, 0, 8, "alcohol", role);
    }
    if let Some(x) = columns.warmth {
        ink.number(x, 0, 9, "temp", role);
    }
    if let Some(x) = columns.finish {
        ink.number(x, 0, 12, "finish", role);
    }
    if columns.next.1 >= 4 {
        ink.say(columns.next.0, 0, "next", role);
    }
}

/// The mark of a state.
pub(super) fn mark(doing: Doing) -> Mark {
    match doing {
        Doing::Planned => Mark::Planned,
        Doing::Lag => Mark::Lag,
        Doing::Active => Mark::Active,
        Doing::Slowing => Mark::Slowing,
        Doing::Stuck => Mark::Stuck,
        Doing::Finished => Mark::Finished,
        Doing::Doubtful => Mark::Doubtful,
        Doing::Resting => Mark::Resting,
        Doing::Ageing => Mark::Ageing,
        Doing::Bottled => Mark::Bottled,
        Doing::Closed => Mark::Closed,
    }
}

/// The mark of how a step stands to its day.
pub(super) fn timing_mark(timing: Timing) -> Mark {
    match timing {
        Timing::Later | Timing::Soon => Mark::Later,
        Timing::InWindow => Mark::InWindow,
        Timing::Late => Mark::Late,
        Timing::Overdue => Mark::Overdue,
        Timing::TooLate => Mark::TooLate,
    }
}

fn one(state: &State, row: &Account, columns: &Columns, y: u16, ink: &mut Ink) {
    let settings = state.settings();
    let tag_role = if row.urgency <= Urgency::Today {
        Role::Title
    } else {
        Role::Ink
    };
    ink.column(columns.tag, y, TAG, &row.tag, tag_role);
    let mark = mark(row.state);
    let x = ink.mark(columns.state, y, mark) + 1;
    ink.column(x, y, STATE - 2, row.state.word(), mark.tone().role());
    ink.column(columns.name.0, y, columns.name.1, &row.name, Role::Ink);
    if let Some(day) = row.day {
        ink.number(columns.day, y, 4, &day.to_string(), Role::Ink);
    }
    if let Some(last) = row.last {
        let text = say::gravity_number(last.corrected, settings.gravity);
        ink.number(columns.gravity, y, 7, &text, Role::Ink);
        if let Some(x) = columns.age {
            ink.number(x, y, 7, &say::age(last.at, state.now), Role::Muted);
        }
    }
    if let (Some(x), Some(gone)) = (columns.gone, row.fermented()) {
        ink.number(x, y, 6, &say::share(gone), Role::Ink);
    }
    more(state, row, columns, &settings, y, ink);
    next(state, row, columns, y, ink);
}

/// What a wide screen has room for.
fn more(
    state: &State,
    row: &Account,
    columns: &Columns,
    settings: &Settings,
    y: u16,
    ink: &mut Ink,
) {
    if let (Some(x), Some(alcohol)) = (columns.alcohol, row.figures.alcohol) {
        ink.number(x, y, 8, &say::abv(alcohol), Role::Ink);
    }
    if let (Some(x), Some((t, _))) = (columns.warmth, row.temperature) {
        ink.number(x, y, 9, &say::temperature(t, settings.units), Role::Ink);
    }
    let today = state.now.day();
    if let (Some(x), Some(finish)) = (columns.finish, row.finish_ahead(today)) {
        let text = say::day_short(finish.p50, today);
        ink.number(x, y, 12, &text, Role::Muted);
    }
}

fn next(state: &State, row: &Account, columns: &Columns, y: u16, ink: &mut Ink) {
    let (x, room) = columns.next;
    if row.only_reading(state.now.day()) {
        let after = ink.mark(x, y, Mark::InWindow) + 1;
        let (word, when) = ("read", "today");
        let left = room.saturating_sub(after - x);
        let at = after + left.saturating_sub(width(when) as u16);
        ink.column(after, y, left, word, Role::Ink);
        ink.say(at.max(after + 5), y, when, Role::Title);
        return;
    }
    let Some(due) = &row.next else {
        if let Some(until) = row.rest_until {
            let text = format!(
                "leave alone until {}",
                say::day_short(until, state.now.day())
            );
            ink.column(x, y, room, &text, Role::Muted);
        }
        return;
    };
    let (when, role) = when(state, due);
    let after = ink.mark(x, y, timing_mark(due.timing)) + 1;
    let room = room.saturating_sub(after - x);
    let wide = width(&when) as u16;
    let left = room.saturating_sub(wide + 1);
    if left >= 4 {
        ink.column(after, y, left, title(due, left), Role::Ink);
        ink.column(after + room - wide, y, wide, &when, role);
    } else if wide <= room {
        ink.column(after, y, wide, &when, role);
    }
}

/// A step's title, or a word for its kind where that is too long.
pub(super) fn title(due: &Due, room: u16) -> &str {
    let fits = |text: &str| width(text) <= usize::from(room);
    if fits(&due.title) || due.kind == StepKind::Other {
        &due.title
    } else if fits(due.kind.word()) {
        due.kind.word()
    } else {
        due.kind.short()
    }
}

/// When a step is due, in few columns.
pub(super) fn when(state: &State, due: &Due) -> (String, Role) {
    let today = state.now.day();
    let days = (today - due.due).num_days();
    match due.timing {
        Timing::TooLate => ("too late".into(), Role::Watch),
        Timing::Overdue => (format!("{days} d late"), Role::Alarm),
        Timing::Late => (format!("{days} d late"), Role::Watch),
        Timing::InWindow if due.kind == StepKind::Rest => (
            format!("until {}", say::day_short(due.due, today)),
            Role::Muted,
        ),
        Timing::InWindow if due.due > today => {
            (format!("by {}", say::day_short(due.due, today)), Role::Ink)
        }
        Timing::InWindow => ("today".into(), Role::Title),
        // No day can be promised while it waits for something else.
        Timing::Soon | Timing::Later if due.waits.is_some() && due.opens <= today => {
            ("waits".into(), Role::Muted)
        }
        Timing::Soon | Timing::Later => {
            let day = say::day_short(due.opens, today);
            let promised = !due.forecast && due.waits.is_none();
            let said = if promised {
                day
            } else {
                format!("about {day}")
            };
            (said, Role::Muted)
        }
    }
}

/// What the chosen vessel says: its flags, or else its evidence, then advice.
fn says(state: &State, ink: &mut Ink) {
    let Some(row) = state.chosen_row() else {
        return;
    };
    let settings = state.settings();
    let x = ink.say(0, 0, &row.tag, Role::Title);
    let x = ink.say(if x > 0 { x + 2 } else { 0 }, 0, &row.name, Role::Title);
    let sure = sureness(row);
    ink.say(x + 2, 0, &sure, Role::Muted);
    let rows = ink.area.height;
    let kept_free = u16::from(rows > 3 && advice::pressing(state).is_some());
    let mut y = 1;
    let flags = flag_lines(row, &settings);
    for (text, role) in &flags {
        let left = rows.saturating_sub(y + kept_free);
        let style = ink.theme.style(*role);
        y += ink.lines(0, y, text, style, left);
    }
    let most = if rows > 6 { 3 } else { kept_free };
    let said = advised(state, y, most, ink);
    y += said;
    let others = lines_about(row, &settings, state.now);
    let skip = flags.len() + usize::from(said > 0);
    for (text, role) in others.iter().skip(skip) {
        let left = rows.saturating_sub(y);
        let style = ink.theme.style(*role);
        y += ink.lines(0, y, text, style, left);
    }
}

/// The first advice while something goes wrong, behind the key that puts it on
/// the list; gives the number of rows it took.
pub(super) fn advised(state: &State, y: u16, most: u16, ink: &mut Ink) -> u16 {
    let Some(pressing) = advice::pressing(state) else {
        return 0;
    };
    if y >= ink.area.height || most == 0 {
        return 0;
    }
    let (x, said) = match pressing {
        Pressing::Offered(said) => {
            let key = keys::key_of(state, Action::FollowUp);
            (ink.say(0, y, &key, Role::Key), said)
        }
        Pressing::Listed(said) => {
            let x = ink.mark(0, y, Mark::Done);
            (x, format!("on the list for {said}"))
        }
    };
    let style = ink.theme.style(Role::Ink);
    ink.lines(x + 1, y, &said, style, most)
}

/// The state and how sure it is.
pub(super) fn sureness(row: &Account) -> String {
    if let (Doing::Doubtful, Headline::Doubtful(a, b)) = (row.state, row.assessment.headline) {
        return format!("{}: {} or {}", row.state.word(), a.word(), b.word());
    }
    if row.sure >= 0.995 || matches!(row.state, Doing::Planned | Doing::Resting | Doing::Ageing) {
        row.state.word().to_owned()
    } else {
        format!("{}, {:.0} % sure", row.state.word(), row.sure * 100.0)
    }
}

/// What is not as it should be with a vessel, the weightiest first.
fn flag_lines(row: &Account, settings: &Settings) -> Vec<(String, Role)> {
    row.flags
        .iter()
        .map(|flag| {
            let role = if flag.weight() >= 2 {
                Role::Alarm
            } else {
                Role::Watch
            };
            (flag.sentence(settings), role)
        })
        .collect()
}

/// Sentences about a vessel, the weightiest first.
pub(super) fn lines_about(row: &Account, settings: &Settings, now: Moment) -> Vec<(String, Role)> {
    let unit = unit(settings);
    let mut lines = flag_lines(row, settings);
    let advised = row.assessment.advice.iter();
    lines.extend(advised.map(|a| (advice::sentence(row, a, unit, now), Role::Ink)));
    let evidence = row.assessment.evidence.iter();
    lines.extend(evidence.map(|e| (e.sentence(unit), Role::Muted)));
    let next = row.assessment.next_reading.as_ref();
    lines.extend(next.map(|n| (n.sentence(row.assessment.now), Role::Muted)));
    lines
}

/// The engine's name for the maker's scale of temperature.
pub(super) fn unit(settings: &Settings) -> Voice {
    Voice::of(settings)
}
