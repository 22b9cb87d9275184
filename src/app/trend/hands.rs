use super::{Beside, DayTime, Healthy};
use crate::app::batch;
use crate::app::keys::Action;
use crate::app::msg::{Effect, Spot};
use crate::app::state::{Effects, NoticeTone, State};
use crate::engine::stories::Story;
use std::sync::Arc;

/// How far one press moves the cursor, as a part of the width.
const STEP: f64 = 1.0 / 60.0;
/// Earlier batches that can be told apart when laid over each other.
const MOST_EARLIER: usize = 4;

/// Carries an action out that looks at the trend.
pub fn act(state: &mut State, action: Action) -> Effects {
    match action {
        Action::Up => return batch::neighbour(state, -1),
        Action::Down => return batch::neighbour(state, 1),
        Action::Axis => state.trend_view.dates = !state.trend_view.dates,
        Action::Names => state.trend_view.names = !state.trend_view.names,
        Action::Earlier => return lay_over(state),
        _ => look(state, action),
    }
    Vec::new()
}

fn look(state: &mut State, action: Action) {
    let Some(data) = state.trend.clone() else {
        return;
    };
    let (data, view) = (data.as_ref(), &mut state.trend_view);
    match action {
        Action::Left => view.move_cursor(data, -STEP),
        Action::Right => view.move_cursor(data, STEP),
        Action::Closer => view.zoom(data, 0.5),
        Action::Wider => view.zoom(data, 2.0),
        Action::PageUp => view.pan(data, -0.5),
        Action::PageDown => view.pan(data, 0.5),
        Action::Next => view.cursor_to_reading(data, true),
        Action::Previous => view.cursor_to_reading(data, false),
        Action::First => view.put_cursor(data, view.whole(data).0),
        Action::Last => view.put_cursor(data, view.whole(data).1),
        Action::Whole => {
            view.span = None;
            view.cursor = None;
        }
        _ => {}
    }
}

/// The cursor to a time, by the mouse.
pub fn read_off(state: &mut State, at: DayTime) {
    if let Some(data) = state.trend.clone() {
        state.trend_view.put_cursor(&data, at);
    }
}

/// The wheel looks closer, or wider.
pub fn wheel(state: &mut State, by: i32) {
    let action = if by < 0 {
        Action::Closer
    } else {
        Action::Wider
    };
    look(state, action);
}

fn lay_over(state: &mut State) -> Effects {
    state.trend_view.earlier = !state.trend_view.earlier;
    if state.trend_view.earlier {
        vec![Effect::ReadStories]
    } else {
        Vec::new()
    }
}

/// What stands beside a ferment was worked out; a part that is yet to come
/// stays as it was.
pub fn worked_out_beside(state: &mut State, spot: Spot, beside: Healthy) {
    let before = state.healthy.get(&spot).and_then(|b| b.what_ifs.clone());
    let beside = match (&beside.what_ifs, before) {
        (None, Some(before)) => Arc::new(Beside {
            healthy: beside.healthy.clone(),
            what_ifs: Some(before),
        }),
        _ => beside,
    };
    state.healthy.insert(spot, beside);
    state.regather_trend();
}

/// The maker's batches were read: they are laid over where that is wanted.
pub fn earlier_known(state: &mut State) {
    if !state.trend_view.earlier {
        return;
    }
    state.regather_trend();
    let none = |t: &Arc<super::TrendData>| t.earlier.is_empty();
    if state.trend.as_ref().is_some_and(none) {
        let said = "no earlier batch of this kind has readings to lay over it";
        state.say(NoticeTone::Plain, said);
    }
}

/// The maker's earlier batches of the same kind: those of the same yeast
/// first, the youngest of them before the others.
pub fn earlier(state: &State) -> Vec<&Story> {
    let (Some(stories), Some(dossier)) = (&state.cellar.stories, state.chosen_dossier()) else {
        return Vec::new();
    };
    let batch = &dossier.batch;
    let began = batch.pitched.unwrap_or(state.now);
    let mut found: Vec<&Story> = stories
        .iter()
        .filter(|s| s.batch != batch.id && s.style == batch.style)
        .filter(|s| s.pitched < began && s.trend.len() >= 2)
        .collect();
    found.sort_by_key(|s| {
        let other = s.yeast.is_none() || s.yeast != batch.yeast;
        (other, std::cmp::Reverse(s.pitched))
    });
    found.truncate(MOST_EARLIER);
    found
}
