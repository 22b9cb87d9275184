//! `skep undo`, `skep redo`, `skep history` and `skep settings`.

use super::args::{History, Settings as Args};
use super::exits::Exit;
use super::report::json::{ChangeJson, ChangesJson};
use super::shell::Shell;
use super::trouble::Trouble;
use crate::app::say;
use crate::domain::deeds::Deed;
use crate::domain::records::{ChangeState, GravityScale, Settings, UnitSystem};
use crate::domain::text::safe;
use crate::work;

pub(super) fn undo(sh: &mut Shell<'_>) -> Result<Exit, Trouble> {
    let mut store = sh.open()?;
    match work::undo(&mut store, sh.now)? {
        Some(said) => {
            let said = format!("taken back: {said}");
            sh.saved = Some(said.clone());
            sh.say(&store, &said)
        }
        None => Err(Trouble::not_found("there is nothing to take back")),
    }
}

pub(super) fn redo(sh: &mut Shell<'_>) -> Result<Exit, Trouble> {
    let mut store = sh.open()?;
    match work::redo(&mut store, sh.now)? {
        Some(said) => {
            let said = format!("done again: {said}");
            sh.saved = Some(said.clone());
            sh.say(&store, &said)
        }
        None => Err(Trouble::not_found("there is nothing to bring back")),
    }
}

pub(super) fn history(sh: &mut Shell<'_>, args: &History) -> Result<Exit, Trouble> {
    let store = sh.open()?;
    let changes = store.changes(args.count).map_err(Trouble::store)?;
    if sh.json {
        let changes = changes.iter().map(ChangeJson::new).collect();
        sh.print("changes", ChangesJson { changes })?;
        return Ok(Exit::Fine);
    }
    for change in changes {
        let fate = match change.state {
            ChangeState::Done => "",
            ChangeState::Undone => " (taken back; redo brings it again)",
            ChangeState::Dropped => " (taken back)",
        };
        let when = say::when(change.at, sh.now);
        writeln!(sh.out, "{when:<18} {}{fate}", safe(&change.name))?;
    }
    Ok(Exit::Fine)
}

/// A choice: its name, what is accepted, its value as text, and how it is set.
struct Choice {
    name: &'static str,
    accepted: &'static str,
    get: fn(&Settings) -> String,
    set: fn(&mut Settings, &str) -> bool,
}

const CHOICES: &[Choice] = &[
    Choice {
        name: "units",
        accepted: "us or metric",
        get: |s| s.units.word().to_owned(),
        set: |s, text| put(&mut s.units, UnitSystem::from_word(&text.to_lowercase())),
    },
    Choice {
        name: "gravity",
        accepted: "SG or Plato",
        get: |s| s.gravity.word().to_owned(),
        set: |s, text| {
            let found = GravityScale::ALL
                .iter()
                .find(|g| g.word().eq_ignore_ascii_case(text));
            put(&mut s.gravity, found.copied())
        },
    },
    Choice {
        name: "reading-gap",
        accepted: "1 to 60 days without a reading before it is flagged",
        get: |s| s.reading_gap_days.to_string(),
        set: |s, text| put(&mut s.reading_gap_days, whole(text, 1..=60)),
    },
    Choice {
        name: "adults",
        accepted: "1 to 20 adults in the household, for the yearly limit",
        get: |s| s.adults.to_string(),
        set: |s, text| put(&mut s.adults, whole(text, 1..=20)),
    },
    Choice {
        name: "stall-prior",
        accepted: "0 to 0.5, the share of ferments that stick",
        get: |s| s.stall_prior.to_string(),
        set: |s, text| {
            let share = text.replace(',', ".").parse::<f64>().ok();
            put(
                &mut s.stall_prior,
                share.filter(|v| (0.0..=0.5).contains(v)),
            )
        },
    },
];

fn put<T>(slot: &mut T, value: Option<T>) -> bool {
    value.map(|v| *slot = v).is_some()
}

fn whole(text: &str, range: std::ops::RangeInclusive<u32>) -> Option<u32> {
    text.parse().ok().filter(|n| range.contains(n))
}

pub(super) fn settings(sh: &mut Shell<'_>, args: &Args) -> Result<Exit, Trouble> {
    let mut store = if args.value.is_some() {
        sh.open_or_make()?
    } else {
        sh.open()?
    };
    let mut settings = store.household(sh.now).map_err(Trouble::store)?.settings;
    let Some(name) = &args.name else {
        return list(sh, &settings);
    };
    let choice = CHOICES
        .iter()
        .find(|c| c.name == name.as_str())
        .ok_or_else(|| {
            let names: Vec<&str> = CHOICES.iter().map(|c| c.name).collect();
            Trouble::not_found(format!(
                "there is no choice '{name}'; there are {}",
                say::list(&names)
            ))
        })?;
    let Some(value) = &args.value else {
        writeln!(sh.out, "{}", (choice.get)(&settings))?;
        return Ok(Exit::Fine);
    };
    if !(choice.set)(&mut settings, value) {
        return Err(Trouble::usage(format!(
            "'{value}' is no value for {name}; accepted: {}",
            choice.accepted
        )));
    }
    sh.carry_out(&mut store, &Deed::SaveSettings(settings))?;
    Ok(Exit::Fine)
}

fn list(sh: &mut Shell<'_>, settings: &Settings) -> Result<Exit, Trouble> {
    if sh.json {
        sh.print("settings", serde_json::json!({ "settings": settings }))?;
        return Ok(Exit::Fine);
    }
    for choice in CHOICES {
        let value = (choice.get)(settings);
        writeln!(sh.out, "{:<12} {value:<8} {}", choice.name, choice.accepted)?;
    }
    Ok(Exit::Fine)
}
