//! Advice as steps to put on a batch's list: the deed today, then a reading.

use super::{Action, Advice, FollowUp, Voice};
use crate::domain::records::{Opens, StepKind, StepRule, TooLate};
use crate::domain::units::{Moment, batch_day};
use chrono::NaiveTime;

/// How the key of a step begins that came of advice; it ends with the time of day.
pub const ADVISED: &str = "advised-";
const TIME: &str = "%H%M";

/// The local time of day at which a step was advised, by its key.
pub(super) fn advised_at(key: &str) -> Option<NaiveTime> {
    let (_, time) = key.strip_prefix(ADVISED)?.rsplit_once('-')?;
    let (hours, minutes) = time.split_at_checked(2)?;
    NaiveTime::from_hms_opt(hours.parse().ok()?, minutes.parse().ok()?, 59)
}

/// The kind of step an action is, none where nothing is done with hands.
fn kind(action: Action) -> Option<StepKind> {
    Some(match action {
        Action::LeaveAlone
        | Action::TakeReading
        | Action::ConfirmEnd
        | Action::CompareWithTolerance { .. } => return None,
        Action::Warm { .. } | Action::Cool { .. } => StepKind::Temperature,
        Action::Rouse => StepKind::Swirl,
        Action::Feed { .. } | Action::AddHulls => StepKind::Feed,
        Action::MeasureAgain | Action::MeasureAcidity | Action::ForcedTest => StepKind::Read,
        Action::Accept => StepKind::Stabilise,
        Action::RaisePh { .. } | Action::Dilute | Action::Repitch => StepKind::Other,
    })
}

/// The steps that follow from one piece of advice: what to do today, where
/// hands are wanted, and the reading that tells whether it helped. Empty when
/// the batch was never pitched or nothing follows.
pub fn follow_up_steps(
    advice: &Advice,
    pitched: Option<Moment>,
    now: Moment,
    voice: Voice,
) -> Vec<StepRule> {
    let (
        Some(FollowUp {
            action,
            read_again_in_days,
        }),
        Some(pitched),
    ) = (advice.follow_up, pitched)
    else {
        return Vec::new();
    };
    let today = batch_day(pitched, now.day()) as i32;
    let time = now.datetime().format(TIME);
    let said = action.sentence(voice);
    let mut steps = Vec::new();
    if let Some(kind) = kind(action) {
        let title = said.trim_end_matches('.').to_owned();
        let why = "Advised from the readings, one thing at a time.".to_owned();
        steps.push(rule(
            format!("{ADVISED}{today}-{time}"),
            title,
            kind,
            today,
            why,
        ));
    }
    let later = today + i32::from(read_again_in_days.max(1));
    let why = format!("Tells whether it helped: {said}");
    let title = "take a gravity reading to see if it helped".to_owned();
    steps.push(rule(
        format!("{ADVISED}read-{today}-{time}"),
        title,
        StepKind::Read,
        later,
        why,
    ));
    steps
}

fn rule(key: String, title: String, kind: StepKind, day: i32, why: String) -> StepRule {
    StepRule {
        key,
        title,
        kind,
        opens: Opens::Day { day },
        window: 0,
        slack: 1,
        too_late: TooLate::Never,
        why,
        harm: "What is wrong goes on unseen.".into(),
        weight: 2,
        amount: String::new(),
        countdown: None,
        order: 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::units::{Celsius, CelsiusDelta};
    use chrono::DateTime;

    fn moment(text: &str) -> Moment {
        Moment::new(DateTime::parse_from_rfc3339(text).unwrap())
    }

    fn advice(action: Action, days: u16) -> Advice {
        Advice {
            action,
            answers: None,
            avoid: Vec::new(),
            follow_up: Some(FollowUp {
                action,
                read_again_in_days: days,
            }),
        }
    }

    #[test]
    fn warming_is_a_step_today_and_a_reading_three_days_on() {
        let warm = Action::Warm {
            by: CelsiusDelta::known(2.0),
            to: Celsius::known(22.0),
        };
        let pitched = moment("2026-05-01T09:00:00+02:00");
        let now = moment("2026-05-17T07:00:00+02:00");
        let steps = follow_up_steps(&advice(warm, 3), Some(pitched), now, Voice::PLAIN);
        assert_eq!(steps.len(), 2);
        assert_eq!(steps[0].opens, Opens::Day { day: 17 });
        assert_eq!(steps[0].kind, StepKind::Temperature);
        assert!(steps[0].title.starts_with("Warm by 2 °C to 22 °C"));
        assert_eq!(steps[1].opens, Opens::Day { day: 20 });
        assert_eq!(steps[1].kind, StepKind::Read);
    }

    #[test]
    fn leaving_alone_asks_for_a_reading_only() {
        let pitched = moment("2026-05-01T09:00:00+02:00");
        let steps = follow_up_steps(
            &advice(Action::LeaveAlone, 2),
            Some(pitched),
            pitched,
            Voice::PLAIN,
        );
        assert_eq!(steps.len(), 1);
        assert!(follow_up_steps(&advice(Action::Rouse, 2), None, pitched, Voice::PLAIN).is_empty());
    }
}
