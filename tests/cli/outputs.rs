//! Files that skep writes: never over a store, never over a stranger's file.

use super::home::{Home, five_days_ago, text};
use std::fs;

/// Every verb that writes a file, as the words before the file's name.
const WRITERS: [&str; 11] = [
    "export readings --into",
    "export steps --into",
    "export batches --into",
    "export cellar --into",
    "export samples --into",
    "export all --into",
    "export salvage --into",
    "export schema --into",
    "calendar --into",
    "sheet J2 --into",
    "plan --style mead --volume 1gal --og 1.090 --write",
];

fn home() -> Home {
    let home = Home::with_mead(20);
    home.skep("read J2 40").success();
    home.skep("backup").success();
    home
}

#[test]
fn no_output_replaces_a_store_a_copy_of_one_or_a_journal_even_with_replace() {
    let home = home();
    let list = home.out("backup --list");
    let backup = list
        .split_whitespace()
        .find(|w| w.ends_with(".backup"))
        .unwrap()
        .to_owned();
    fs::copy(home.store(), home.path("other.store")).unwrap();
    fs::write(home.path("home.store-journal"), "").unwrap();
    std::os::unix::fs::symlink(home.store(), home.path("link")).unwrap();
    fs::hard_link(home.store(), home.path("second-name")).unwrap();
    fs::remove_file(home.path("home.store-journal")).unwrap();
    let targets = [
        home.store().display().to_string(),
        "link".to_owned(),
        "second-name".to_owned(),
        "other.store".to_owned(),
        backup,
    ];
    for writer in WRITERS {
        for target in &targets {
            let path = home.path(target);
            let before = fs::read(&path).unwrap();
            let done = home.skep(&format!("{writer} {target} --replace")).code(2);
            let said = text(&done.get_output().stderr);
            assert!(
                said.contains("never writes a file over it"),
                "{writer} {target}: {said}"
            );
            assert_eq!(fs::read(&path).unwrap(), before, "{writer} {target}");
        }
    }
    home.skep("check").success();
    assert!(home.out("show J2").contains("heather"));
}

#[test]
fn a_file_of_another_is_replaced_only_when_asked_and_an_older_one_of_ours_always() {
    let home = home();
    for writer in WRITERS {
        fs::write(home.path("out"), "a letter to a friend").unwrap();
        let done = home.skep(&format!("{writer} out")).code(2);
        let said = text(&done.get_output().stderr);
        assert!(said.contains("--replace"), "{writer}: {said}");
        let kept = fs::read_to_string(home.path("out")).unwrap();
        assert_eq!(kept, "a letter to a friend", "{writer}");
        home.skep(&format!("{writer} out --replace")).success();
        // What it wrote itself it knows again.
        home.skep(&format!("{writer} out")).success();
    }
    fs::write(home.path("out"), "a letter to a friend").unwrap();
    home.skep("calendar --into calendar.ics").success();
    home.skep("export readings --into calendar.ics").code(2);
}

#[test]
fn the_older_plan_is_put_aside_over_no_store() {
    let home = home();
    let write = "plan --style mead --volume 1gal --og 1.090 --write p.toml";
    home.skep(write).success();
    home.skep(write).success();
    assert!(home.path("p.toml.old").is_file());
    for link in [false, true] {
        let store = home.path("other.store");
        fs::copy(home.store(), &store).unwrap();
        fs::remove_file(home.path("p.toml.old")).unwrap();
        if link {
            std::os::unix::fs::symlink(home.store(), home.path("p.toml.old")).unwrap();
        } else {
            fs::rename(&store, home.path("p.toml.old")).unwrap();
        }
        let before = fs::read(home.path("p.toml.old")).unwrap();
        let done = home.skep(&format!("{write} --replace")).code(2);
        let said = text(&done.get_output().stderr);
        assert!(said.contains("p.toml.old is a store"), "{said}");
        assert_eq!(fs::read(home.path("p.toml.old")).unwrap(), before);
    }
}

#[test]
fn a_store_whose_beginning_is_damaged_is_not_replaced() {
    let home = home();
    let mut store = fs::read(home.store()).unwrap();
    store[..16].fill(0);
    fs::write(home.path("ruin"), &store).unwrap();
    for writer in WRITERS {
        home.skep(&format!("{writer} ruin --replace")).code(2);
        assert!(fs::read(home.path("ruin")).unwrap() == store, "{writer}");
    }
}

#[test]
fn a_folder_that_is_not_there_is_named() {
    let home = home();
    for writer in WRITERS {
        let done = home.skep(&format!("{writer} attic/out")).code(1);
        let said = text(&done.get_output().stderr);
        assert!(
            said.contains("attic/out can't be written: there is no folder attic"),
            "{writer}: {said}"
        );
    }
    assert!(!home.path("attic").exists());
}

#[test]
fn an_output_follows_a_link_and_keeps_permissions() {
    use std::os::unix::fs::PermissionsExt;
    let home = home();
    fs::write(home.path("shared.ics"), "").unwrap();
    fs::set_permissions(home.path("shared.ics"), fs::Permissions::from_mode(0o644)).unwrap();
    std::os::unix::fs::symlink("shared.ics", home.path("out.ics")).unwrap();
    home.skep("calendar --into out.ics").success();
    assert!(home.path("out.ics").is_symlink());
    let shared = home.path("shared.ics");
    assert!(
        fs::read_to_string(&shared)
            .unwrap()
            .contains("BEGIN:VCALENDAR")
    );
    assert_eq!(
        fs::metadata(&shared).unwrap().permissions().mode() & 0o777,
        0o644
    );
}

#[test]
fn pages_of_the_manual_replace_older_ones_and_nothing_else() {
    let home = Home::empty();
    home.skep("man --into pages").success();
    home.skep("man --into pages").success();
    fs::write(home.path("pages/skep-read.1"), "my notes").unwrap();
    let done = home.skep("man --into pages").code(2);
    assert!(text(&done.get_output().stderr).contains("skep-read.1"));
    home.skep("man --into pages --replace").success();
}

#[test]
fn a_full_output_says_that_the_reading_was_saved() {
    let home = home();
    let full = || {
        fs::OpenOptions::new()
            .write(true)
            .open("/dev/full")
            .unwrap()
    };
    for (words, saved) in [
        (["read", "J2", "38"], "it was saved: "),
        (["note", "J2", "smells of pear"], "it was saved: "),
    ] {
        let done = home.process().args(words).stdout(full()).output().unwrap();
        assert_eq!(done.status.code(), Some(8), "{words:?}");
        let said = text(&done.stderr);
        assert!(said.contains(saved), "{words:?}: {said}");
    }
    let shown = home.out("show J2");
    assert!(
        shown.contains("1.038") && home.out("export readings").contains("1.038"),
        "{shown}"
    );
}

#[test]
fn a_note_keeps_its_minus() {
    let home = home();
    home.command().args(["note", "J2", "-5"]).assert().success();
    home.command()
        .args(["note", "J2", "outside", "-5", "this morning"])
        .assert()
        .success();
    home.command()
        .args(["read", "J2", "36", "'-5 outside"])
        .assert()
        .success();
    let ledger = home.out("show J2 --ledger");
    assert!(ledger.contains("outside -5 this morning"), "{ledger}");
    assert!(ledger.contains("-5 outside"), "{ledger}");
    assert!(!ledger.contains('\u{2212}'), "{ledger}");
}

#[test]
fn a_calendar_of_too_many_days_is_refused_in_words() {
    let home = home();
    let done = home.skep("calendar --days 99999999").code(2);
    assert!(text(&done.get_output().stderr).contains("3660"));
    home.skep("calendar --days 3660").success();
}

#[test]
fn control_characters_are_refused_in_notes_sources_and_tables() {
    let home = home();
    for words in [
        &["note", "J2", "a\u{1b}[31mb"][..],
        &["read", "J2", "38", "'x\u{7}y"],
        &["read", "J2", "38", "--note", "x\u{202e}y"],
    ] {
        let done = home.command().args(words).assert().code(2);
        let said = text(&done.get_output().stderr);
        assert!(said.contains("control character U+"), "{words:?}: {said}");
    }
    let line = r#"{"vessel":"J2","at":"2026-11-20T08:00:00-08:00","ph":3.4,"source":"a\u001bb"}"#;
    let done = home
        .command()
        .arg("listen")
        .write_stdin(line)
        .assert()
        .code(6);
    let said = text(&done.get_output().stderr);
    assert!(said.contains("control character U+001B"), "{said}");
    let table = format!(
        "vessel,date,gravity,note\nJ2,{},1.050,a\u{1b}b\n",
        five_days_ago()
    );
    fs::write(home.path("table.csv"), table).unwrap();
    let done = home.skep("import table.csv").code(6);
    assert!(text(&done.get_output().stdout).contains("control character U+001B"));
}

#[test]
fn two_columns_of_gravity_are_asked_about() {
    let home = home();
    let table = format!(
        "vessel,date,SG,gravity\nJ2,{},1.050,1.048\n",
        five_days_ago()
    );
    fs::write(home.path("table.csv"), table).unwrap();
    let done = home.skep("import table.csv").code(2);
    let said = text(&done.get_output().stderr);
    assert!(said.contains("'SG' and 'gravity'"), "{said}");
    home.skep("import table.csv --column gravity=nothing")
        .success();
}

#[test]
fn a_store_in_memory_is_refused_and_days_in_the_wrong_order_are_asked_about() {
    let home = home();
    let done = home.skep("--store :memory: today").code(2);
    assert!(text(&done.get_output().stderr).contains("is no file"));
    let done = home.skep("away add 05-19 05-12").code(2);
    let said = text(&done.get_output().stderr);
    assert!(said.contains("days. Give the first day"), "{said}");
    home.skep("away add 12-28 01-03").success();
    home.skep("away add 2027-05-19 2028-05-12").success();
}

#[test]
fn own_ingredients_count_in_every_verb_or_it_says_why_not() {
    let home = home();
    let verbs = [
        "plan --style mead --volume 1gal --og 1.090 --part honey=2lb",
        "figure must volume=4l",
        "today",
    ];
    let folder = home.path(".config/skep");
    fs::create_dir_all(&folder).unwrap();
    let file = folder.join("ingredients.toml");
    fs::write(&file, "[[ingredient]]\nkey = \"honey\"\n").unwrap();
    for verb in verbs {
        let said = text(&home.skep(verb).get_output().stderr);
        assert!(said.contains("ingredients.toml"), "{verb}: {said}");
        assert!(
            said.contains("the built-in ingredients count"),
            "{verb}: {said}"
        );
    }
    let must = |home: &Home| {
        let words = ["figure", "must", "parts=1 kg honey, 3 l water"];
        text(
            &home
                .command()
                .args(words)
                .assert()
                .success()
                .get_output()
                .stdout,
        )
    };
    let thin = "[[ingredient]]\nkey = \"honey\"\nname = \"honey\"\nkind = \"honey\"\nsolids = 60.0\n\
                sugar = 60.0\nferments = \"dry\"\nhow = \"practice\"\nsource = \"own\"\n";
    fs::remove_file(&file).unwrap();
    let usual = must(&home);
    fs::write(&file, thin).unwrap();
    assert_ne!(must(&home), usual, "the maker's own honey counts");
    assert!(home.skep("today").get_output().stderr.is_empty());
}

#[test]
fn a_clock_behind_the_last_entry_is_said_by_every_verb() {
    use crate::clock;
    let mut home = home();
    home.set_time(clock::environment_ahead(-3 * 86_400));
    for verb in ["today", "show J2", "round --list", "history", "undo"] {
        let done = home.skep(verb);
        let said = text(&done.get_output().stderr);
        assert!(said.contains("check the clock"), "{verb}: {said}");
    }
    home.set_time(clock::environment_ahead(-3600));
    assert!(home.skep("history").get_output().stderr.is_empty());
    // Long before 1970: a sentence at the most.
    home.set_time(clock::environment_ahead(-1_830_000_000));
    for verb in [
        "today",
        "show J2",
        "calendar",
        "season",
        "check",
        "backup",
        "read J2 30",
    ] {
        let code = home.skep(verb).get_output().status.code();
        assert!(code.is_some_and(|c| c < 100), "{verb}: {code:?}");
    }
}
