//! Words: slips, tables, loggers' lines, routines, plans.

use super::shown;
use crate::table::now;
use skep::domain::plan::{Plan, Surroundings, outcome, warnings};
use skep::domain::records::{Household, Routine, Settings, Subject, Unit};
use skep::domain::slip::{Known, SlipContext, meaning, parse, parse_day, parse_when};
use skep::domain::units::Zone;
use skep::files::csv::{Choices, preview};
use skep::files::{lines as logger, plan as plans, routine_text, routines};
use std::sync::OnceLock;

/// The small household of the frames.
fn household() -> &'static Household {
    static HOME: OnceLock<Household> = OnceLock::new();
    HOME.get_or_init(|| crate::table::store().household(now()).unwrap())
}

/// A slip for each vessel's kind of content, for a place, and its dates alone.
pub(crate) fn slip(data: &[u8]) {
    let (Some((which, text)), now) = (data.split_first(), now()) else {
        return;
    };
    let text = String::from_utf8_lossy(text);
    let _ = parse_day(&text, now.day());
    let vessel = SlipContext::vessel(now);
    let place = SlipContext {
        zone: Zone::of(now),
        place: Some(Unit::Fahrenheit),
    };
    let _ = parse_when(&text, now, &vessel);
    if let Err(why) = parse(&text, now, &place) {
        shown(&why.to_string());
    }
    let slip = match parse(&text, now, &vessel) {
        Ok(slip) => slip,
        Err(why) => {
            let chars = text.chars().count();
            assert!(why.start <= chars && !why.to_string().is_empty());
            return shown(&why.to_string());
        }
    };
    assert!(slip.readings.iter().all(|r| r.seen.value().is_finite()));
    let home = household();
    let at = usize::from(*which) % (home.dossiers.len() + 1);
    let known = Known {
        now,
        dossier: home.dossiers.get(at),
        vessel: home.vessels.get(at),
        instruments: &home.instruments,
    };
    let means = meaning(&slip, &known);
    let settings = Settings::default();
    shown(&means.line(&settings));
    for doubt in &means.doubts {
        shown(&doubt.sentence(&settings));
    }
    let _ = slip.into_deed(Subject::Vessel(home.vessels[0].id), None, "hand", false);
}

/// A foreign table of readings.
pub(crate) fn table(data: &[u8]) {
    let choices = Choices {
        columns: Vec::new(),
        order: None,
        decimal: None,
        temperature: None,
        zone: Zone::of(now()),
    };
    match preview(data, &choices) {
        Ok(preview) => {
            for line in preview.lines.into_iter().filter_map(|(_, line)| line.ok()) {
                assert!(!line.seen.is_empty());
                assert!(line.seen.iter().all(|s| s.value().is_finite()));
            }
        }
        Err(why) => shown(&why.to_string()),
    }
}

/// Lines of loggers.
pub(crate) fn lines(data: &[u8]) {
    for line in String::from_utf8_lossy(data).lines() {
        match logger::read(line) {
            Ok(got) => assert!(got.seen.iter().all(|s| s.value().is_finite())),
            Err(why) => shown(&why),
        }
    }
}

/// A routine: what was read is written so that it reads the same.
pub(crate) fn routine(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    match routines::parse("own.toml", &text) {
        Ok(routine) => {
            let again = routine_text::write(&routine);
            let back =
                routines::parse("own.toml", &again).unwrap_or_else(|e| panic!("{e}\n{again}"));
            assert_eq!(same(&back), same(&routine), "{again}");
        }
        Err(why) => shown(&why.to_string()),
    }
}

fn same(routine: &Routine) -> String {
    format!("{routine:?}")
}

/// A plan: it reads back as it was, comes to something, and is warned of.
pub(crate) fn plan(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    match plans::read(&text) {
        Ok(plan) => {
            works_out(&plan);
            let again = plans::write(&plan);
            let back = plans::read(&again).unwrap_or_else(|e| panic!("{e}\n{again}"));
            works_out(&back);
            let twice = plans::write(&back);
            assert_eq!(
                again.lines().count(),
                twice.lines().count(),
                "{again}\n{twice}"
            );
        }
        Err(why) => shown(&why.to_string()),
    }
}

fn works_out(plan: &Plan) {
    let outcome = outcome(plan);
    for warning in warnings(plan, &outcome, &Surroundings::default()) {
        shown(&warning.sentence());
    }
}
