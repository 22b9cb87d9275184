//! Verbs, reports and files against the account.

use crate::clock;
use crate::households;
use crate::kit::{House, house};
use crate::page::Page;
use chrono::DateTime;
use serde_json::Value;
use skep::app::say;
use skep::domain::units::Moment;
use skep::engine::{Account, Errand, Memory, Morning, Voice, morning_by};
use skep::store::Store;
use skep::work::learned;
use std::process::Command;
use tempfile::TempDir;

struct Home {
    folder: TempDir,
    /// The clock and the zone of its programs.
    time: [(&'static str, String); 2],
}

impl Home {
    fn run(&self, line: &str) -> String {
        let store = self.folder.path().join("home.store");
        let out = Command::new(env!("CARGO_BIN_EXE_skep"))
            .args(line.split('|').flat_map(|part| {
                let quoted = part.starts_with(' ');
                let words: Vec<&str> = if quoted {
                    vec![part.trim()]
                } else {
                    part.split_whitespace().collect()
                };
                words
            }))
            .env_clear()
            .envs(self.time.clone())
            .env("HOME", self.folder.path())
            .env("SKEP_STORE", store)
            .current_dir(self.folder.path())
            .output()
            .unwrap();
        let text = String::from_utf8(out.stdout).unwrap();
        assert!(
            !text.is_empty(),
            "{line}: {}",
            String::from_utf8_lossy(&out.stderr)
        );
        text
    }

    fn json(&self, line: &str) -> Value {
        serde_json::from_str(&self.run(&format!("{line} --json"))).unwrap()
    }
}

fn rounded(value: f64, digits: i32) -> f64 {
    let scale = 10_f64.powi(digits);
    (value * scale).round() / scale
}

fn same(said: &Value, meant: Option<f64>, fact: &str) {
    let said = said.as_f64();
    let near = said.zip(meant).is_some_and(|(a, b)| (a - b).abs() < 1e-9);
    assert!(
        near || said.is_none() && meant.is_none(),
        "{fact}: {said:?}, not {meant:?}"
    );
}

fn show(home: &Home, account: &Account, morning: &Morning, house: &House) {
    let tag = &account.tag;
    let said = home.json(&format!("show {tag}"));
    let figures = &account.figures;
    assert_eq!(said["row"]["state"], account.state.word(), "{tag}");
    same(
        &said["row"]["alcohol"],
        figures.alcohol.map(|a| rounded(a.get(), 2)),
        "alcohol",
    );
    same(
        &said["row"]["fermented"],
        figures.fermented.map(|s| rounded(s.get(), 3)),
        "fermented",
    );
    same(
        &said["gravity_now"]["p50"],
        figures.gravity.map(|g| rounded(g.get(), 4)),
        "gravity",
    );
    same(
        &said["expected_final_gravity"],
        figures.expected_end.map(|g| rounded(g.get(), 4)),
        "end",
    );
    same(
        &said["final_alcohol"],
        figures.alcohol_end.map(|a| rounded(a.get(), 2)),
        "final alcohol",
    );
    same(
        &said["volume_l"],
        account.volume.map(|v| rounded(v.get(), 3)),
        "volume",
    );
    let holds: Vec<String> = account
        .holds
        .iter()
        .map(|h| h.sentence(Voice::PLAIN))
        .collect();
    assert_eq!(said["bottling_holds"], serde_json::json!(holds), "{tag}");
    let due: Vec<i64> = morning.due_of(account.batch).map(|d| d.step.0).collect();
    let steps = said["due"].as_array().unwrap().iter();
    assert_eq!(
        steps
            .map(|d| d["step"].as_i64().unwrap())
            .collect::<Vec<_>>(),
        due
    );
    // The finish has the offset of its own day, whatever the clocks do before it.
    if let (Some(finish), Some(text)) = (account.finish, said["finish"]["p50"].as_str()) {
        let at = DateTime::parse_from_rfc3339(text).unwrap();
        let local = house.zone.1.localise(Moment::new(at)).datetime();
        assert_eq!(at.offset(), local.offset(), "{text}");
        assert_eq!(at.date_naive(), finish.p50.day(), "{text}");
    }
    let text = home.run(&format!("show {tag}"));
    let household = house.store.household(house.now).unwrap();
    let settings = &household.settings;
    let page = Page::new(format!("show {tag}"), &text);
    page.agrees(account, settings);
    let holds = account
        .holds
        .iter()
        .map(|h| Some(h.sentence(Voice::of(settings))));
    page.says(&holds.collect::<Vec<_>>());
    let volume = account.volume.map(|v| say::volume(v, settings.units));
    page.says(&[volume.clone().map(|v| format!("volume {v}"))]);
    let sheet = Page::new(
        "sheet",
        &home.run(&format!("sheet {tag}")).replace(['<', '>'], " "),
    );
    let vol = figures.alcohol.map(|a| format!("{} vol", say::abv(a)));
    sheet.says(&[vol, volume]);
}

fn bottle(home: &Home, account: &Account, house: &House) {
    let household = house.store.household(house.now).unwrap();
    let words = "|--bottles| 2 x 12 fl oz crown-cap";
    let tag = &account.tag;
    let text = home.run(&format!(
        "bottle {tag} --dry-run --warmest 68f --gas still {words}"
    ));
    let page = Page::new(format!("bottle {tag}"), &text);
    let voice = Voice::of(&household.settings);
    let holds = account
        .holds
        .iter()
        .map(|h| Some(format!("HOLD: {}", h.sentence(voice))));
    page.says(&holds.collect::<Vec<_>>());
    if account.holds.is_empty() {
        assert!(!text.contains("HOLD"), "{text}");
    }
}

fn lists(home: &Home, morning: &Morning, house: &House) {
    let today = home.json("today");
    let rows = today["rows"].as_array().unwrap();
    let said: Vec<(&str, &str)> = rows
        .iter()
        .map(|r| (r["tag"].as_str().unwrap(), r["state"].as_str().unwrap()))
        .collect();
    let meant = morning.accounts.iter();
    let meant: Vec<(&str, &str)> = meant.map(|a| (a.tag.as_str(), a.state.word())).collect();
    assert_eq!(said, meant);
    for (row, account) in rows.iter().zip(&morning.accounts) {
        assert_eq!(row["reading_due"].is_string(), account.reading.is_some());
    }
    let text = home.run("today");
    let list = text.split("To do today").nth(1).unwrap_or_default();
    let list = list.split("\n\n").next().unwrap_or_default();
    let tags: Vec<&str> = list
        .lines()
        .filter(|l| l.starts_with("  ") && !l.starts_with("   "))
        .map(|l| l.split_whitespace().next().unwrap())
        .collect();
    let errands = morning.errands();
    let meant: Vec<String> = errands
        .iter()
        .map(|(a, e)| match e {
            Errand::Step(due) | Errand::TooLate(due) => due.tag.clone(),
            Errand::Read(_) => a.tag.clone(),
        })
        .collect();
    assert_eq!(tags, meant, "{text}");
    let season = home.json("season");
    for account in morning.accounts.iter().filter(|a| a.vessel.is_some()) {
        let lanes = season["lanes"].as_array().unwrap();
        let lane = lanes
            .iter()
            .find(|l| l["vessel"] == account.tag.as_str())
            .unwrap();
        assert_eq!(
            lane["spans"][0]["state"],
            account.state.word(),
            "{}",
            account.name
        );
    }
    let compare = home.json("compare");
    for account in &morning.accounts {
        let parts = morning.accounts.iter().filter(|a| a.batch == account.batch);
        let all = compare["batches"].as_array().unwrap();
        let story = all.iter().find(|b| b["name"] == account.name.as_str());
        if let (Some(story), 1) = (story, parts.count()) {
            let said = story["alcohol"]
                .as_f64()
                .map(|a| say::abv(skep::domain::units::Abv::clamped(a)));
            assert_eq!(
                said,
                account.figures.alcohol.map(say::abv),
                "{}",
                account.name
            );
        }
    }
    let calendar = home.run("calendar").replace("\r\n ", "");
    let now = house.now.day();
    for due in morning.due.iter().filter(|d| d.presses(now)) {
        let day = due
            .opens
            .max(now)
            .format("DTSTART;VALUE=DATE:%Y%m%d")
            .to_string();
        let event = calendar
            .split("BEGIN:VEVENT")
            .find(|e| e.contains(&format!("UID:step-{}-", due.step.0)));
        assert!(
            event.is_some_and(|e| e.contains(&day)),
            "{day} of {}: {calendar}",
            due.title
        );
    }
    let batches = home.run("export batches");
    let household = house.store.household(house.now).unwrap();
    for dossier in &household.dossiers {
        let volume = dossier.volume(None).unwrap().get().to_string();
        let line = batches
            .lines()
            .find(|l| l.starts_with(&dossier.batch.name))
            .unwrap();
        assert!(line.contains(&volume), "{volume}: {line}");
    }
}

#[test]
fn every_verb_and_file_shows_the_account() {
    let start = DateTime::parse_from_rfc3339("2026-10-20T10:00:00-07:00").unwrap();
    for seed in 0..households(2) {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(&folder.path().join("home.store"), Moment::new(start)).unwrap();
        // Households of the process are others than those of the screens.
        let house = house(store, Moment::new(start), seed * 5 + 1);
        let to_start = start.to_utc() - clock::now().datetime().to_utc();
        let [_, ahead] = clock::environment_ahead(to_start.num_seconds());
        let home = Home {
            folder,
            time: [("TZ", house.zone.0.name().to_owned()), ahead],
        };
        let household = house.store.household(house.now).unwrap();
        let history = learned(&house.store, &household, house.now).unwrap();
        let at = (house.now, house.zone.1);
        let morning = morning_by(&household, &history, at, &Memory::default());
        for account in morning.accounts.iter().filter(|a| a.vessel.is_some()) {
            show(&home, account, &morning, &house);
            if account.day.is_some() {
                bottle(&home, account, &house);
            }
        }
        lists(&home, &morning, &house);
    }
}
