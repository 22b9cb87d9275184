//! Laws that hold whatever a maker's routine says and whatever was marked.

use crate::jug::{Jug, date, moment, says};
use chrono::Days;
use proptest::prelude::*;
use skep::domain::records::{Opens, Step, StepKind, StepStatus, TooLate};
use skep::domain::units::Share;
use skep::engine::{FermentState, History, Standing, Timing, morning};

fn opens() -> impl Strategy<Value = Opens> {
    let day = prop_oneof![-40..400i32, Just(i32::MIN), Just(i32::MAX)];
    let share = (0.0..=1.0f64).prop_map(Share::clamped);
    let keys = prop::sample::select(vec!["a", "b", "c", "d", "e", "nowhere"]);
    prop_oneof![
        day.clone().prop_map(|day| Opens::Day { day }),
        (share, proptest::option::of(day.clone()))
            .prop_map(|(share, or_day)| Opens::SugarGone { share, or_day }),
        (day.clone(), proptest::option::of(day.clone()))
            .prop_map(|(days, not_before)| Opens::Finished { days, not_before }),
        (keys, day.clone()).prop_map(|(step, days)| Opens::After {
            step: step.into(),
            days
        }),
        day.prop_map(|days| Opens::Stable { days }),
    ]
}

fn too_late() -> impl Strategy<Value = TooLate> {
    prop_oneof![
        Just(TooLate::Never),
        (0.0..=1.0f64, proptest::option::of(0.0..20.0f64)).prop_map(|(share, abv)| {
            TooLate::SugarGone {
                share: Share::clamped(share),
                abv,
            }
        }),
        any::<i32>().prop_map(|day| TooLate::Day { day }),
        any::<i32>().prop_map(|days| TooLate::DaysAfterDue { days }),
    ]
}

fn status() -> impl Strategy<Value = StepStatus> {
    let at = (0..60u32).prop_map(|d| moment("2026-04-01T20:00:00-07:00").plus_days(f64::from(d)));
    prop_oneof![
        3 => Just(StepStatus::Open),
        1 => at.clone().prop_map(|at| StepStatus::Done { at }),
        1 => at.prop_map(|at| StepStatus::Skipped { at, reason: "why not".into() }),
    ]
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    let one = (
        prop::sample::select(StepKind::ALL.to_vec()),
        opens(),
        too_late(),
        status(),
        prop_oneof![-5..40i32, Just(i32::MAX)],
        proptest::option::of(0..80u64),
    );
    prop::collection::vec(one, 5).prop_map(|parts| {
        let jug = Jug::with("one-gallon-traditional-mead", "2026-04-01T19:00:00-07:00");
        let model = jug.household.dossiers[0].steps[0].clone();
        let made = parts.into_iter().zip(["a", "b", "c", "d", "e"]).zip(1..);
        made.map(
            |(((kind, opens, too_late, status, window, moved), key), id)| {
                let mut step = model.clone();
                step.id.0 = id;
                step.rule.key = key.into();
                step.rule.kind = kind;
                step.rule.opens = opens;
                step.rule.too_late = too_late;
                step.rule.window = window;
                step.rule.slack = window;
                step.status = status;
                step.moved_to =
                    moved.and_then(|d| date("2026-03-25").checked_add_days(Days::new(d)));
                step
            },
        )
        .collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn any_list_of_steps_gets_its_days(steps in steps(), later in 0..70u32, which in 0..5usize, gone in 0.0..=1.0f64) {
        let mut jug = Jug::with("one-gallon-traditional-mead", "2026-04-01T19:00:00-07:00");
        jug.gravity(1.095, "2026-04-01T18:00:00-07:00");
        jug.dossier().steps = steps;
        let now = moment("2026-04-01T20:00:00-07:00").plus_days(f64::from(later));
        let says = says(FermentState::ALL[which], gone, now);
        let plan = jug.plan(&says);
        let today = now.day();
        prop_assert_eq!(plan.placed.len(), 5);
        for p in &plan.placed {
            prop_assert!(p.opens <= p.due && p.due <= p.overdue_after);
            match p.timing {
                Timing::Later | Timing::Soon => prop_assert!(today < p.opens || p.waits.is_some()),
                Timing::InWindow => prop_assert!(p.opens <= today),
                Timing::Late => prop_assert!(p.due < today && today <= p.overdue_after),
                Timing::Overdue => prop_assert!(p.overdue_after < today),
                Timing::TooLate => prop_assert!(p.past_use.is_some()),
            }
        }
        let open = plan.placed.iter().filter(|p| p.standing == Standing::Open).count();
        let dues = jug.dues(&says);
        prop_assert_eq!(dues.len(), open);
        prop_assert!(dues.windows(2).all(|w| w[0].score() >= w[1].score()));
        if let Some(rest) = plan.rest {
            prop_assert!(today < rest.until && rest.from <= rest.until);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn any_readings_give_a_morning(
        readings in prop::collection::vec((0.95..1.2f64, 0.0..40.0f64), 0..12),
        later in 0..50u32,
    ) {
        let mut jug = Jug::with("mead-on-fruit", "2026-04-01T19:00:00-07:00");
        let start = moment("2026-03-31T19:00:00-07:00");
        let mut sorted = readings;
        sorted.sort_by(|a, b| a.1.total_cmp(&b.1));
        for (sg, day) in sorted {
            let at = start.plus_days(day).datetime().to_rfc3339();
            jug.gravity(sg, &at);
        }
        let now = start.plus_days(f64::from(later));
        let m = morning(&jug.household, &History::default(), now);
        prop_assert_eq!(m.accounts.len(), 1);
        let settings = &jug.household.settings;
        for flag in &m.accounts[0].flags {
            prop_assert!(flag.weight() <= 3);
            let said = flag.sentence(settings);
            prop_assert!(said.ends_with('.') && !said.contains("NaN"), "{}", said);
        }
    }
}
