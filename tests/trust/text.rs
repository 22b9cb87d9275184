//! Hostile text: what gives a terminal orders, turns the direction of writing, is
//! no UTF-8, or is taken for HTML, a formula or SQL. It may stand in every name
//! and note of a store; nothing of it comes out raw.

use crate::kit::*;
use rusqlite::Connection;
use skep::store::Finding;
use std::ffi::OsStr;
use std::fs;
use std::io::Write;
use std::os::unix::ffi::OsStrExt;
use std::path::Path;
use std::process::{Output, Stdio};

/// A title for the window, a C1 order, a turned direction, a bell, HTML, two
/// calendar lines, and an emoji of four bytes.
const HOSTILE: &str = "\u{1b}]0;OWNED\u{7}\u{9b}31m\u{202e}\u{2066}<img src=x onerror=alert(1)>\
    <script>alert(1)</script>&quot;\"'\r\nBEGIN:EVIL\r\n=cmd|' /C calc'!A0'); DROP TABLE reading;--\u{1f41d}";

/// Columns of words that anyone may write; the others hold words of skep's own.
const FREE: &[&str] = &[
    "name",
    "tag",
    "note",
    "title",
    "why",
    "harm",
    "amount",
    "reason",
    "substance",
    "whom",
    "words",
    "lot",
    "variety",
    "source",
    "style_note",
    "made_by",
    "place",
];

/// A store with rows in its tables, all of whose free words are hostile.
fn hostile_home(before: &str) -> (Home, usize) {
    let home = Home::new();
    for suffix in ["", "-wal", "-shm"] {
        let _ = fs::remove_file(home.path(&format!("home.store{suffix}")));
    }
    let kept = format!("tests/stores/schema-{}.store", skep::store::SCHEMA);
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join(kept);
    fs::copy(kept, home.store()).unwrap();
    let conn = Connection::open(home.store()).unwrap();
    conn.execute_batch("PRAGMA foreign_keys = ON").unwrap();
    let mut changed = 0;
    let sql = "SELECT t.name, c.name FROM sqlite_schema t, pragma_table_info(t.name) c
               WHERE t.type = 'table' AND c.type = 'TEXT'";
    let mut ask = conn.prepare(sql).unwrap();
    let columns: Vec<(String, String)> = ask
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
        .unwrap()
        .map(|c| c.unwrap())
        .collect();
    for (table, column) in columns.iter().filter(|(_, c)| FREE.contains(&c.as_str())) {
        // A name that must be its own gets its row's number.
        let sql = format!(
            "UPDATE OR IGNORE {table} SET {column} = ?1 || rowid || ?2 WHERE {column} IS NOT NULL"
        );
        changed += conn.execute(&sql, [before, HOSTILE]).unwrap();
    }
    assert!(changed > 60, "{changed}");
    (home, changed)
}

/// What a terminal would obey, and the words of the order itself.
fn raw(text: &str) -> Option<String> {
    let bad = |c: char| {
        (c.is_control() && !matches!(c, '\n' | '\t' | '\r'))
            || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    text.lines()
        .find(|l| l.contains(bad))
        .map(|l| format!("{l:?}"))
}

const VERBS: &[&str] = &[
    "today",
    "show @1",
    "show @1 --ledger",
    "season",
    "pantry",
    "pantry --buy",
    "cellar",
    "cellar --all",
    "compare",
    "vessels",
    "places",
    "routines",
    "history",
    "settings",
    "check",
    "away",
    "calendar",
    "sheet @1 --text",
    "undo",
    "redo",
    "backup",
    "keys",
];

#[test]
fn no_verb_prints_hostile_words_raw() {
    let (home, changed) = hostile_home("");
    let tag = {
        let store = home.open();
        store.household(now()).unwrap().vessels[0].tag.clone()
    };
    let mut printed = 0;
    for verb in VERBS {
        for json in ["", "--json"] {
            let mut words: Vec<&str> = verb
                .split(' ')
                .map(|w| if w == "@1" { &tag } else { w })
                .collect();
            words.extend((!json.is_empty()).then_some(json));
            let done = home.command(words).output().unwrap();
            let said = String::from_utf8([done.stdout, done.stderr].concat()).unwrap();
            assert!(!said.contains("panicked"), "{verb}: {said}");
            let bad = raw(&said);
            // An iCalendar line ends as the standard wants, and begins as we want.
            assert!(!said.lines().any(|l| l.starts_with("BEGIN:EVIL")), "{verb}");
            assert_eq!(bad, None, "{verb} {json}");
            printed += said.len();
        }
    }
    println!(
        "{changed} hostile cells, {} verbs as text and JSON: {printed} bytes, none raw",
        VERBS.len()
    );
    // The hostile words were put there by another hand, and are named as such.
    let found = home.open().check(now()).unwrap();
    assert!(!found.is_empty());
    assert!(
        found.iter().all(|f| matches!(f, Finding::Altered(_))),
        "{found:?}"
    );
}

#[test]
fn pages_to_print_hold_hostile_words_as_words() {
    let (home, _) = hostile_home("");
    let tag = home.open().household(now()).unwrap().vessels[0].tag.clone();
    for kind in [None, Some("--labels")] {
        let mut words = vec!["sheet", &tag];
        words.extend(kind);
        let done = home.command(words).output().unwrap();
        let page = String::from_utf8(done.stdout.clone()).unwrap();
        if !done.status.success() {
            // No bottles of it: no labels; the sentence is safe as well.
            assert_eq!(raw(&said(&done)), None);
            continue;
        }
        let low = page.to_ascii_lowercase();
        for bad in [
            "<script",
            "<img",
            "javascript:",
            "src=\"http",
            "onerror=alert(1)>",
        ] {
            assert!(!low.contains(bad), "{kind:?}: {bad}");
        }
        assert!(
            page.contains("&lt;img src=x"),
            "{kind:?}: the words are gone"
        );
        assert!(low.contains("content-security-policy") && low.contains("default-src 'none'"));
        assert!(!low.contains("script-src"));
        assert_eq!(raw(&page), None);
    }
}

#[test]
fn no_cell_of_a_table_is_run_by_a_spreadsheet() {
    let mut cells = 0;
    for sign in ["=", "+", "-", "@", "\t=", "\r="] {
        let (home, _) = hostile_home(sign);
        for what in ["readings", "steps", "batches", "cellar", "samples"] {
            let done = home.run(&format!("export {what}"));
            assert!(done.status.success(), "{what}: {}", said(&done));
            let mut table = csv::ReaderBuilder::new()
                .flexible(true)
                .from_reader(done.stdout.as_slice());
            for row in table.records() {
                for cell in &row.unwrap() {
                    let runs = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
                    assert!(!runs || cell.parse::<f64>().is_ok(), "{what}: {cell:?}");
                    cells += 1;
                }
            }
        }
    }
    println!("{cells} cells of tables, none a formula");
}

/// Runs a line in a terminal, sends keys, and gives all bytes that came.
fn in_a_terminal(home: &Home, words: &[&str], keys: &[&str]) -> Vec<u8> {
    let mut terminal = home.terminal(words, &[]);
    terminal.resize(120, 40);
    if !keys.is_empty() {
        terminal.until("a first sign", |s| !s.contents().trim().is_empty());
    }
    for key in keys {
        terminal.quiet();
        terminal.types(key);
    }
    terminal.ended();
    terminal.bytes.lock().unwrap().clone()
}

#[track_caller]
fn nothing_obeyed(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    for order in ["\u{1b}]0;", "OWNED", "\u{9b}", "\u{202e}", "\u{2066}"] {
        assert!(!text.contains(order), "{order:?} came out");
    }
}

#[test]
fn no_screen_sends_hostile_words_to_the_terminal() {
    let (home, _) = hostile_home("");
    let keys = [
        "\r", "\t", "\t", "\u{1b}", "z", "\u{1b}", "s", "\u{1b}", "v", "\u{1b}", "y", "\u{1b}",
        "w", "\u{1b}", "/a", "\u{1b}", "\u{1b}", "\u{3}", "q",
    ];
    let bytes = in_a_terminal(&home, &[], &keys);
    assert!(bytes.len() > 3000, "nothing was drawn");
    nothing_obeyed(&bytes);
    println!(
        "{} bytes of screens, no order of the store's words among them",
        bytes.len()
    );
}

#[test]
fn tables_and_json_are_harmless_in_a_terminal_and_whole_in_a_file() {
    let (home, _) = hostile_home("");
    for line in [
        &["export", "readings"][..],
        &["export", "all"],
        &["show", "J", "--json"],
        &["history", "--json"],
    ] {
        nothing_obeyed(&in_a_terminal(&home, line, &[]).replace_order());
    }
    // What would be obeyed stands as a sign in a table, and its words stay.
    for what in ["readings", "steps", "batches", "cellar", "samples"] {
        let table = String::from_utf8(home.run(&format!("export {what}")).stdout).unwrap();
        assert_eq!(raw(&table), None, "{what}");
        assert_eq!(
            table.contains("\u{fffd}]0;OWNED"),
            table.lines().count() > 1,
            "{what}"
        );
    }
}

/// The words of an order that lost its escape are words.
trait Words {
    fn replace_order(self) -> Vec<u8>;
}

impl Words for Vec<u8> {
    fn replace_order(self) -> Vec<u8> {
        String::from_utf8_lossy(&self)
            .replace("OWNED", "")
            .into_bytes()
    }
}

fn bytes(home: &Home, words: &[&[u8]]) -> Output {
    home.command([])
        .args(words.iter().map(|w| OsStr::from_bytes(w)))
        .output()
        .unwrap()
}

#[test]
fn what_is_no_utf8_is_told_in_a_sentence() {
    let home = Home::new();
    for words in [
        &[&b"note"[..], b"J1", b"smells of \xff\xfe pear"][..],
        &[b"vessels", b"add", b"J\xff", b"jug", b"1gal"],
        &[b"show", b"\xf0\x9f"],
        &[b"read", b"J1", b"1.0\xff"],
    ] {
        let done = bytes(&home, words);
        let said = said(&done);
        assert!(
            !done.status.success() && !said.contains("panicked"),
            "{said}"
        );
        assert!(!said.trim().is_empty());
        assert_eq!(raw(&said), None);
    }
    // A table and a logger's lines in another encoding.
    let mut table = format!("vessel;date;gravity;note\nJ1;{};1,060;", lately()).into_bytes();
    table.extend(b"s\xfc\xdflich \xff\n");
    fs::write(home.path("t.csv"), table).unwrap();
    let done = home.run("import t.csv");
    assert!(done.status.success(), "{}", said(&done));
    assert_eq!(raw(&said(&done)), None);
    let mut child = home
        .command(["listen"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = b"{\"vessel\":\"J\xff\x1b]0;OWNED\x07\",\"at\":".to_vec();
    line.extend(lately_in_seconds().to_string().into_bytes());
    line.extend(b",\"ph\":3.4}\n{\"vessel\":\"J1\xf0\"\n");
    child.stdin.take().unwrap().write_all(&line).unwrap();
    let done = child.wait_with_output().unwrap();
    assert_eq!(raw(&said(&done)), None, "{}", said(&done));
    assert!(!said(&done).contains("panicked"));
    home.sound();
}

#[test]
fn what_is_typed_is_never_obeyed_when_a_mistake_repeats_it() {
    let home = Home::new();
    for line in [
        vec![HOSTILE],
        vec!["show", HOSTILE],
        vec!["read", "J1", HOSTILE],
        vec!["start", "J2", HOSTILE],
        vec!["figure", HOSTILE],
        vec!["settings", HOSTILE],
        vec!["import", HOSTILE],
        vec!["restore", HOSTILE],
        vec!["today", "--store", HOSTILE],
        vec!["vessels", "add", HOSTILE, "jug", "1gal"],
        vec!["--x\u{1b}]0;OWNED\u{7}"],
        vec![
            "export",
            "all",
            "--into",
            "/nowhere/\u{1b}]0;OWNED\u{7}\u{202e}",
        ],
        vec!["plan", "--from", HOSTILE],
    ] {
        let done = home.command(line.iter().copied()).output().unwrap();
        assert!(!done.status.success(), "{line:?}");
        assert_eq!(raw(&said(&done)), None, "{line:?}");
    }
}

/// Words that would end a statement are words: they come back as they were typed.
#[test]
fn words_that_look_like_sql_are_kept_as_words() {
    let home = Home::new();
    let words = "x'); DROP TABLE reading;--\" OR 1=1 /* ${x} %s ?1 :a";
    for line in [
        vec!["places", "add", words],
        vec!["note", "J1", words],
        vec!["read", "J1", "68f", "--note", words],
        vec!["vessels", "add", "a');--", "jug", "1gal", "--place", words],
        vec![
            "start",
            "J2",
            "one-gallon-traditional-mead",
            "--name",
            words,
            "--og",
            "1.1",
        ],
    ] {
        let done = home.command(line.iter().copied()).output().unwrap();
        assert!(done.status.success(), "{line:?}: {}", said(&done));
    }
    let store = home.open();
    let household = store.household(now()).unwrap();
    assert!(household.places.iter().any(|p| p.name == words));
    assert!(household.dossiers.iter().any(|d| d.batch.name == words));
    drop(store);
    assert_eq!(home.notes().get(words), Some(&1));
    home.sound();
}
