use super::home::{Home, text};
use crate::wait;
use predicates::str::contains;
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::Path;

fn now() -> chrono::DateTime<chrono::Utc> {
    crate::clock::now().datetime().to_utc()
}

/// Days ago as a date of the US, so that the lines lie within the batch.
fn us_date(days_ago: i64) -> String {
    (now() - chrono::TimeDelta::days(days_ago))
        .format("%m/%d/%Y")
        .to_string()
}

fn sheet() -> String {
    format!(
        "Date,Time,SG,Temp (F),Notes\n{},7:30 AM,1.092,68,foamy\n{},7:30 AM,1.080,70,\n{},7:30 AM,1.066,70,=1+1\n",
        us_date(19),
        us_date(17),
        us_date(14)
    )
}

#[test]
fn a_spreadsheet_is_shown_first_and_kept_when_asked_and_only_once() {
    let home = Home::with_mead(20);
    std::fs::write(home.path("book.csv"), sheet()).unwrap();
    home.skep("import book.csv --vessel J2 --dates mdy")
        .success()
        .stdout(contains("column SG: gravity"))
        .stdout(contains("column Temp (F): temperature"))
        .stdout(contains(
            "3 lines new (6 readings), 0 known already, 0 not understood",
        ))
        .stdout(contains("nothing was kept; --keep keeps them"));
    assert!(
        home.json("show J2")["readings"]
            .as_array()
            .unwrap()
            .is_empty()
    );
    home.skep("import book.csv --vessel J2 --dates mdy --keep")
        .success();
    assert_eq!(
        home.json("show J2")["readings"].as_array().unwrap().len(),
        6
    );
    let again = home.json("import book.csv --vessel J2 --dates mdy --keep");
    assert_eq!(again["known_lines"], 3);
    assert_eq!(again["kept"], false);
    assert_eq!(
        home.json("show J2")["readings"].as_array().unwrap().len(),
        6
    );
    // One change, taken back as a whole.
    home.skep("undo").success();
    assert!(
        home.json("show J2")["readings"]
            .as_array()
            .unwrap()
            .is_empty()
    );
}

#[test]
fn bad_lines_stop_all_unless_the_good_ones_are_wanted() {
    let home = Home::with_mead(20);
    let bad = format!("{}soon,,1.05,,\n01/01/1999,,1.05,,\n", sheet());
    std::fs::write(home.path("book.csv"), bad).unwrap();
    home.skep("import book.csv --vessel J2 --dates mdy --keep")
        .code(6)
        .stdout(contains("line 5: 'soon' is no day in the order mdy"))
        .stdout(contains("line 6: "))
        .stdout(contains("keep the others with --good-lines"));
    assert!(
        home.json("show J2")["readings"]
            .as_array()
            .unwrap()
            .is_empty()
    );
    home.skep("import book.csv --vessel J2 --dates mdy --keep --good-lines")
        .code(6);
    assert_eq!(
        home.json("show J2")["readings"].as_array().unwrap().len(),
        6
    );
}

#[test]
fn what_a_table_does_not_say_is_asked() {
    let home = Home::with_mead(20);
    std::fs::write(home.path("book.csv"), "Date,SG\n1/2/2026,1.05\n").unwrap();
    home.skep("import book.csv --vessel J2")
        .code(2)
        .stderr(contains("say --dates mdy"));
    home.skep("import book.csv --vessel J2 --dates dym")
        .code(2)
        .stderr(contains("accepted: ymd, mdy, dmy"));
    home.skep("import book.csv --dates mdy")
        .code(6)
        .stdout(contains("it names no vessel; say --vessel TAG"));
    home.skep("import none.csv --vessel J2")
        .code(1)
        .stderr(contains("none.csv can't be read"));
}

fn stamp(minutes_ago: i64) -> String {
    (now() - chrono::TimeDelta::minutes(minutes_ago))
        .to_rfc3339_opts(chrono::SecondsFormat::Secs, true)
}

#[test]
fn a_logger_is_heard_twice_and_kept_once_and_bad_lines_are_told() {
    let home = Home::with_mead(7);
    let lines = format!(
        "{{\"vessel\":\"j2\",\"at\":\"{}\",\"gravity\":1.070,\"temperature_c\":20.5}}\nnonsense\n{{\"vessel\":\"J9\",\"at\":\"{}\",\"gravity\":1.07}}\n\n{{\"place\":\"closet\",\"at\":\"{}\",\"temperature_f\":66,\"source\":\"shelf\"}}",
        stamp(60),
        stamp(50),
        stamp(40)
    );
    let run = || {
        home.command()
            .arg("listen")
            .write_stdin(lines.clone())
            .assert()
    };
    let out = run().code(6).get_output().clone();
    assert_eq!(
        text(&out.stdout),
        "5 lines: 3 values kept, 0 known already, 2 lines left out\n"
    );
    let said = text(&out.stderr);
    assert!(
        said.contains("line 2 left out: no JSON object of ours"),
        "{said}"
    );
    assert!(
        said.contains("line 3 left out: there is no vessel 'J9'"),
        "{said}"
    );
    let out = run().code(6).get_output().clone();
    assert_eq!(
        text(&out.stdout),
        "5 lines: 0 values kept, 3 known already, 2 lines left out\n"
    );
    // 66 °F is 18.89 °C by definition; the vessel's own 20.5 °C is the newer of its kind.
    let row = &home.json("show J2")["row"];
    assert!(
        row["gravity"]["sg"]
            .as_f64()
            .is_some_and(|g| (g - 1.070).abs() < 0.001),
        "{row}"
    );
}

/// How much of a file a program has read, as Linux tells it.
fn read_by(id: u32, path: &Path) -> Option<u64> {
    let path = std::fs::canonicalize(path).ok()?;
    let opened = std::fs::read_dir(format!("/proc/{id}/fd")).ok()?;
    let mut names = opened.flatten().map(|entry| entry.path());
    let ours = names.find(|name| std::fs::read_link(name).is_ok_and(|to| to == path))?;
    let info = format!("/proc/{id}/fdinfo/{}", ours.file_name()?.to_str()?);
    let info = std::fs::read_to_string(info).ok()?;
    info.lines()
        .next()?
        .strip_prefix("pos:")?
        .trim()
        .parse()
        .ok()
}

#[test]
fn a_file_that_grows_is_followed_until_told_to_end() {
    let home = Home::with_mead(7);
    let path = home.path("probe.jsonl");
    std::fs::write(&path, "").unwrap();
    let mut child = home
        .process()
        .args(["listen", "--follow"])
        .arg(&path)
        .stdout(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    let seen = || {
        let out = home.json("show J2");
        out["row"]["gravity"]["seen"].as_f64()
    };
    let wait = |value: f64| {
        wait::until(&format!("{value} comes"), || {
            seen().is_some_and(|v| (v - value).abs() < 1e-9)
        });
    };
    let id = child.id();
    let wait_until_read = || {
        wait::until("all of it is read", || {
            read_by(id, &path) == std::fs::metadata(&path).ok().map(|m| m.len())
        });
    };
    let write = |minutes: i64, sg: f64| {
        let mut file = std::fs::OpenOptions::new()
            .append(true)
            .open(&path)
            .unwrap();
        // A line in two writes: a half one must wait for its end.
        write!(file, "{{\"vessel\":\"J2\",\"at\":\"{}\",", stamp(minutes)).unwrap();
        file.flush().unwrap();
        wait_until_read();
        writeln!(file, "\"gravity\":{sg}}}").unwrap();
    };
    write(180, 1.08);
    wait(1.08);
    // Cut short and begun anew, as a logger does that turns its file over.
    std::fs::write(&path, "").unwrap();
    wait_until_read();
    write(60, 1.07);
    wait(1.07);
    wait::signal(id, "TERM");
    let status = child.wait().unwrap();
    assert_eq!(status.code(), Some(0));
}

#[test]
fn lines_by_the_ten_thousand_are_taken_in_at_once() {
    let home = Home::with_mead(100);
    let mut lines = String::new();
    let begin = now().timestamp() - 90 * 86_400;
    for i in 0..20_000_i64 {
        let sg = 1.092 - 0.09 * (i as f64 / 20_000.0);
        writeln!(
            lines,
            "{{\"vessel\":\"J2\",\"at\":{},\"gravity\":{sg:.4},\"temperature_c\":20.1}}",
            begin + i * 300
        )
        .unwrap();
    }
    let out = home
        .command()
        .arg("listen")
        .write_stdin(lines)
        .assert()
        .success()
        .get_output()
        .clone();
    assert_eq!(
        text(&out.stdout),
        "20000 lines: 40000 values kept, 0 known already, 0 lines left out\n"
    );
}

#[test]
fn loggers_of_many_vessels_need_no_names() {
    let home = Home::with_mead(7);
    home.skep("start J1 cider --at -7d").success();
    let at = stamp(60);
    let lines: String = ["J1", "J2"]
        .map(|tag| format!("{{\"vessel\":\"{tag}\",\"at\":\"{at}\",\"gravity\":1.05}}"))
        .join("\n");
    let out = home
        .command()
        .arg("listen")
        .write_stdin(lines)
        .assert()
        .success()
        .get_output()
        .clone();
    assert_eq!(
        text(&out.stdout),
        "2 lines: 2 values kept, 0 known already, 0 lines left out\n"
    );
}
