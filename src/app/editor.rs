//! The routine editor: steps on a line of days, made and changed, saved as a
//! file of the maker's own.

use super::form::{Form, FormField, Objected};
use super::keys::Action;
use super::measure;
use super::msg::{Effect, Ticket};
use super::sheet::{self, SheetFor};
use super::state::{Effects, NoticeTone, State};
use crate::domain::records::{Opens, Routine, StepKind, StepRule, TooLate};
use crate::domain::units::Share;
use crate::engine::season::{Laid, lay, usual_days};

/// The editor.
#[derive(Debug, Clone, Default)]
pub struct Editor {
    /// The routine of the list that has the keys.
    pub at: usize,
    /// The routine being changed; none while the list is shown.
    pub draft: Option<Routine>,
    /// The step that has the keys.
    pub step: usize,
    /// Something was changed since it was saved.
    pub touched: bool,
    /// Being saved.
    pub sent: Option<Ticket>,
}

/// The steps of a routine on their days, day 1 being the pitch.
pub fn days(routine: &Routine) -> Vec<(i64, Laid)> {
    let one = chrono::NaiveDate::from_ymd_opt(2001, 1, 1).unwrap_or_default();
    let ferment = usual_days(routine.style, None, None);
    lay(&routine.steps, one, ferment)
        .into_iter()
        .map(|l| ((l.opens - one).num_days() + 1, l))
        .collect()
}

/// Carries an action out that belongs to this screen.
pub fn act(state: &mut State, action: Action) -> Effects {
    if state.editor.draft.is_none() {
        return in_list(state, action);
    }
    let last = state
        .editor
        .draft
        .as_ref()
        .map_or(0, |r| r.steps.len().saturating_sub(1));
    let page = state.rows.max(2) - 1;
    let at = state.editor.step;
    match action {
        Action::Up => state.editor.step = at.saturating_sub(1),
        Action::Down => state.editor.step = (at + 1).min(last),
        Action::PageUp => state.editor.step = at.saturating_sub(page),
        Action::PageDown => state.editor.step = (at + page).min(last),
        Action::First => state.editor.step = 0,
        Action::Last => state.editor.step = last,
        Action::Left => shift(state, -1),
        Action::Right => shift(state, 1),
        Action::Open => open_step(state, Some(at)),
        Action::Add => open_step(state, None),
        Action::Edit => open_head(state),
        Action::Remove => remove(state),
        Action::Fresh => state.editor.draft = None,
        Action::Keep => return save(state),
        _ => {}
    }
    Vec::new()
}

fn in_list(state: &mut State, action: Action) -> Effects {
    let last = state.library.routines.len().saturating_sub(1);
    match action {
        Action::Up => state.editor.at = state.editor.at.saturating_sub(1),
        Action::Down => state.editor.at = (state.editor.at + 1).min(last),
        Action::First => state.editor.at = 0,
        Action::Last => state.editor.at = last,
        Action::Open => {
            state.editor.draft = state.library.routines.get(state.editor.at).cloned();
            state.editor.step = 0;
            state.editor.touched = false;
        }
        _ => {}
    }
    Vec::new()
}

/// Whether a routine is being changed.
pub fn has_draft(state: &State) -> bool {
    state.editor.draft.is_some()
}

/// A step on a day of its own goes a day earlier or later.
fn shift(state: &mut State, by: i32) {
    let at = state.editor.step;
    let Some(draft) = &mut state.editor.draft else {
        return;
    };
    let Some(step) = draft.steps.get_mut(at) else {
        return;
    };
    match &mut step.opens {
        Opens::Day { day } => *day = (*day + by).clamp(-30, 3660),
        Opens::Finished { days, .. } | Opens::After { days, .. } | Opens::Stable { days } => {
            *days = (*days + by).clamp(0, 3660);
        }
        Opens::SugarGone { or_day, .. } => {
            if let Some(day) = or_day {
                *day = (*day + by).clamp(1, 3660);
            }
        }
    }
    state.editor.touched = true;
}

fn remove(state: &mut State) {
    let at = state.editor.step;
    let Some(draft) = &mut state.editor.draft else {
        return;
    };
    let Some(key) = draft.steps.get(at).map(|s| s.key.clone()) else {
        return;
    };
    let hangs = draft
        .steps
        .iter()
        .find(|s| matches!(&s.opens, Opens::After { step, .. } if *step == key));
    if let Some(other) = hangs {
        let said = format!("'{}' hangs on it: change that first", other.title);
        state.say(NoticeTone::Trouble, said);
        return;
    }
    draft.steps.remove(at);
    state.editor.step = at.min(draft.steps.len().saturating_sub(1));
    state.editor.touched = true;
}

fn open_head(state: &mut State) {
    let Some(draft) = &state.editor.draft else {
        return;
    };
    let form = Form::new(vec![
        FormField::text(
            "key",
            "key",
            "The file's name: letters, digits, - and _. A new key makes a new routine.",
            &draft.key,
        ),
        FormField::text("title", "title", "What it is called.", &draft.title),
        FormField::text(
            "variety",
            "variety",
            "The trade's word: traditional, melomel, ale.",
            &draft.variety,
        ),
        FormField::text("about", "about", "A sentence or two.", &draft.about),
        FormField::text(
            "source",
            "source",
            "Where it comes from: your own practice, a book.",
            &draft.source,
        ),
    ]);
    sheet::open(state, "the routine", SheetFor::Routine, form);
}

/// Enter on the form for the head; false when something is wrong with it.
pub fn head(state: &mut State, form: &mut Form) -> bool {
    let key = form.value("key").to_owned();
    let good = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    if key.is_empty() || !key.chars().all(good) {
        form.object("key", "Letters, digits, - and _ only: it is a file's name.");
        return false;
    }
    if form.value("title").is_empty() {
        form.object("title", "Give it a title.");
        return false;
    }
    if let Some(draft) = &mut state.editor.draft {
        draft.key = key;
        form.value("title").clone_into(&mut draft.title);
        form.value("variety").clone_into(&mut draft.variety);
        form.value("about").clone_into(&mut draft.about);
        form.value("source").clone_into(&mut draft.source);
        state.editor.touched = true;
    }
    true
}

/// How a step's opening is offered.
const OPENS: [&str; 5] = [
    "on a day",
    "by sugar gone",
    "when finished",
    "after a step",
    "when steady",
];
const LATE: [&str; 4] = ["never", "by sugar gone", "on a day", "days after due"];

fn opens_of(opens: &Opens) -> (usize, String, String, String) {
    let text = |n: &i32| n.to_string();
    let some = |n: &Option<i32>| n.map_or_else(String::new, |n| n.to_string());
    match opens {
        Opens::Day { day } => (0, text(day), String::new(), String::new()),
        Opens::SugarGone { share, or_day } => (1, percent(*share), some(or_day), String::new()),
        Opens::Finished { days, not_before } => (2, text(days), some(not_before), String::new()),
        Opens::After { step, days } => (3, text(days), String::new(), step.clone()),
        Opens::Stable { days } => (4, text(days), String::new(), String::new()),
    }
}

fn percent(share: Share) -> String {
    let p = (share.get() * 1000.0).round() / 10.0;
    p.to_string()
}

fn late_of(late: TooLate) -> (usize, String) {
    match late {
        TooLate::Never => (0, String::new()),
        TooLate::SugarGone { share, .. } => (1, percent(share)),
        TooLate::Day { day } => (2, day.to_string()),
        TooLate::DaysAfterDue { days } => (3, days.to_string()),
    }
}

fn fresh_step(state: &State) -> StepRule {
    let after = state
        .editor
        .draft
        .as_ref()
        .and_then(|d| d.steps.get(state.editor.step));
    let day = match after.map(|s| &s.opens) {
        Some(Opens::Day { day }) => *day + 1,
        _ => 1,
    };
    StepRule {
        key: String::new(),
        title: String::new(),
        kind: StepKind::Swirl,
        opens: Opens::Day { day },
        window: 0,
        slack: 1,
        too_late: TooLate::Never,
        why: String::new(),
        harm: String::new(),
        weight: 1,
        amount: String::new(),
        countdown: None,
        order: after.map_or(1, |s| s.order),
    }
}

fn open_step(state: &mut State, at: Option<usize>) {
    let Some(draft) = &state.editor.draft else {
        return;
    };
    let known = at.and_then(|i| draft.steps.get(i)).cloned();
    let at = at.filter(|_| known.is_some());
    let step = known.unwrap_or_else(|| fresh_step(state));
    let form = step_form(&step);
    let title = if at.is_some() {
        "change a step"
    } else {
        "a new step"
    };
    sheet::open(state, title, SheetFor::Step(at), form);
}

/// The fields of the form for a step.
fn step_form(step: &StepRule) -> Form {
    let (opens, number, other, after) = opens_of(&step.opens);
    let (late, late_number) = late_of(step.too_late);
    let kinds: Vec<String> = StepKind::ALL.iter().map(|k| k.word().to_owned()).collect();
    let kind = StepKind::ALL
        .iter()
        .position(|k| *k == step.kind)
        .unwrap_or(0);
    let names = |all: &[&str]| all.iter().map(|s| (*s).to_owned()).collect();
    let mut fields = vec![
        FormField::text(
            "title",
            "title",
            "One line: swirl for 2 minutes and feed.",
            &step.title,
        ),
        FormField::text(
            "key",
            "key",
            "Unique in the routine; other steps hang on it by this.",
            &step.key,
        ),
        FormField::choice("kind", "kind", "Left and right choose.", kinds, kind),
        FormField::choice(
            "opens",
            "opens",
            "When it may be done.",
            names(&OPENS),
            opens,
        ),
        FormField::text(
            "number",
            "day, days or %",
            "The day; days after; or the share of the sugar in percent.",
            &number,
        ),
        FormField::text(
            "other",
            "or on day, or not before",
            "For sugar gone: the latest day. For finished: the earliest. Else empty.",
            &other,
        ),
        FormField::text(
            "after",
            "after which step",
            "Its key, for 'after a step'.",
            &after,
        ),
        FormField::text(
            "window",
            "window, days",
            "From opening until it is due; a rest lasts this long.",
            &step.window.to_string(),
        ),
        FormField::text(
            "slack",
            "slack, days",
            "Late without harm.",
            &step.slack.to_string(),
        ),
        FormField::choice(
            "late",
            "too late",
            "From when doing it is worse than not.",
            names(&LATE),
            late,
        ),
        FormField::text(
            "latenum",
            "too late at",
            "Percent, day or days; empty for never.",
            &late_number,
        ),
    ];
    fields.extend(step_words(step));
    Form::new(fields)
}

/// The rest of them: what to add, and the words.
fn step_words(step: &StepRule) -> Vec<FormField> {
    let countdown = step.countdown.map_or_else(String::new, |c| c.to_string());
    vec![
        FormField::text(
            "weight",
            "harm, 0 to 3",
            "0 nothing, 3 spoils or endangers.",
            &step.weight.to_string(),
        ),
        FormField::text("amount", "amount", "What to add, in words.", &step.amount),
        FormField::text(
            "countdown",
            "countdown, s",
            "Where the step wants the clock; else empty.",
            &countdown,
        ),
        FormField::text("why", "why", "One sentence.", &step.why),
        FormField::text("harm", "what lateness does", "One sentence.", &step.harm),
    ]
}

fn whole(form: &mut Form, key: &'static str, min: i32, max: i32) -> Option<i32> {
    let text = form.value(key).to_owned();
    match text.parse::<i32>() {
        Ok(n) if (min..=max).contains(&n) => Some(n),
        _ => {
            form.object(
                key,
                format!("'{text}' is not a whole number from {min} to {max}."),
            );
            None
        }
    }
}

fn maybe(form: &mut Form, key: &'static str, min: i32, max: i32) -> Result<Option<i32>, Objected> {
    if form.value(key).is_empty() {
        return Ok(None);
    }
    whole(form, key, min, max).map(Some).ok_or(Objected)
}

fn share(form: &mut Form, key: &'static str) -> Option<Share> {
    let text = form.value(key).to_owned();
    match measure::share(&text, "a share, such as 33") {
        Ok(share) => Some(share),
        Err(why) => {
            form.object(key, why);
            None
        }
    }
}

fn read_opens(form: &mut Form) -> Option<Opens> {
    Some(match form.chosen("opens") {
        0 => Opens::Day {
            day: whole(form, "number", -30, 3660)?,
        },
        1 => Opens::SugarGone {
            share: share(form, "number")?,
            or_day: maybe(form, "other", 1, 3660).ok()?,
        },
        2 => Opens::Finished {
            days: whole(form, "number", 0, 3660)?,
            not_before: maybe(form, "other", 1, 3660).ok()?,
        },
        3 => Opens::After {
            step: form.value("after").to_owned(),
            days: whole(form, "number", 0, 3660)?,
        },
        _ => Opens::Stable {
            days: whole(form, "number", 0, 3660)?,
        },
    })
}

fn read_late(form: &mut Form) -> Option<TooLate> {
    Some(match form.chosen("late") {
        0 => TooLate::Never,
        1 => TooLate::SugarGone {
            share: share(form, "latenum")?,
            abv: None,
        },
        2 => TooLate::Day {
            day: whole(form, "latenum", 1, 3660)?,
        },
        _ => TooLate::DaysAfterDue {
            days: whole(form, "latenum", 0, 3660)?,
        },
    })
}

/// Enter on the form for a step; false when something is wrong with it.
pub fn step(state: &mut State, at: Option<usize>, form: &mut Form) -> bool {
    read_step(state, at, form).is_some()
}

fn read_step(state: &mut State, at: Option<usize>, form: &mut Form) -> Option<()> {
    let title = form.value("title").to_owned();
    if title.is_empty() {
        form.object("title", "Give it a title.");
        return None;
    }
    let key = match form.value("key") {
        "" => title
            .to_lowercase()
            .split_whitespace()
            .take(3)
            .collect::<Vec<_>>()
            .join("-"),
        key => key.to_owned(),
    };
    let draft = state.editor.draft.as_ref()?;
    let taken = draft
        .steps
        .iter()
        .enumerate()
        .any(|(i, s)| s.key == key && Some(i) != at);
    if taken {
        form.object(
            "key",
            format!("'{key}' is taken: every step needs its own key."),
        );
        return None;
    }
    let opens = read_opens(form)?;
    if let Opens::After { step, .. } = &opens
        && (*step == key || draft.steps.iter().all(|s| s.key != *step))
    {
        let keys: Vec<&str> = draft.steps.iter().map(|s| s.key.as_str()).collect();
        form.object(
            "after",
            format!("No such step. There are: {}.", keys.join(", ")),
        );
        return None;
    }
    let countdown = maybe(form, "countdown", 1, 86_400).ok()?;
    let old = at.and_then(|i| draft.steps.get(i));
    let fresh = fresh_step(state);
    let rule = StepRule {
        key,
        title,
        kind: *StepKind::ALL.get(form.chosen("kind"))?,
        opens,
        window: whole(form, "window", 0, 3660)?,
        slack: whole(form, "slack", 0, 3660)?,
        too_late: read_late(form)?,
        why: form.value("why").to_owned(),
        harm: form.value("harm").to_owned(),
        weight: u8::try_from(whole(form, "weight", 0, 3)?).ok()?,
        amount: form.value("amount").to_owned(),
        countdown: countdown.and_then(|c| u32::try_from(c).ok()),
        order: old.map_or(fresh.order, |s| s.order),
    };
    put(state, at, rule);
    Some(())
}

fn put(state: &mut State, at: Option<usize>, rule: StepRule) {
    let after = state.editor.step;
    let Some(draft) = &mut state.editor.draft else {
        return;
    };
    if let Some(there) = at.and_then(|i| draft.steps.get_mut(i)) {
        // What hung on the old key hangs on the new one.
        let old = std::mem::replace(there, rule.clone()).key;
        for step in &mut draft.steps {
            if let Opens::After { step: on, .. } = &mut step.opens
                && *on == old
            {
                on.clone_from(&rule.key);
            }
        }
    } else {
        let place = (after + 1).min(draft.steps.len());
        draft.steps.insert(place, rule);
        state.editor.step = place;
    }
    state.editor.touched = true;
}

fn save(state: &mut State) -> Effects {
    let Some(draft) = state.editor.draft.clone() else {
        return Vec::new();
    };
    if state.editor.sent.is_some() {
        return Vec::new();
    }
    let ticket = state.ticket();
    state.editor.sent = Some(ticket);
    vec![Effect::SaveRoutine(ticket, Box::new(draft))]
}

/// The file was written.
pub fn kept(state: &mut State, said: &str) {
    state.editor.sent = None;
    state.editor.touched = false;
    state.say(NoticeTone::Kept, said.to_owned());
}
