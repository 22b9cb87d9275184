//! The examples of the documents, run as they stand there.

use super::home::{Home, text};
use std::path::Path;
use std::process::Command;

/// Codes with which an example may end: done, or what the morning says.
const GOOD: [i32; 5] = [0, 10, 11, 12, 13];

/// Lines of `sh` blocks, and what stands in backticks in the cells of tables.
fn examples(document: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut block = None;
    for line in document.lines() {
        if let Some(kind) = line.strip_prefix("```") {
            block = block.is_none().then(|| kind.to_owned());
        } else if block.as_deref() == Some("sh") && line.starts_with("skep ") {
            found.push(line.to_owned());
        } else if block.is_none() && line.starts_with('|') {
            let cells = line.split('`').skip(1).step_by(2);
            found.extend(cells.filter(|c| c.starts_with("skep ")).map(str::to_owned));
        }
    }
    found
}

/// A home with the invented household and the files that the examples speak of.
fn home() -> Home {
    let home = Home::empty();
    home.command()
        .args(["demo", "--into"])
        .arg(home.store())
        .assert()
        .success();
    let yesterday = crate::clock::now().plus_days(-1.0);
    std::fs::write(
        home.path("book.csv"),
        format!("Date,SG,Temp (F)\n{},1.008,66\n", yesterday.day()),
    )
    .unwrap();
    std::fs::write(
        home.path("probes.jsonl"),
        format!(
            "{{\"vessel\":\"J7\",\"at\":\"{}\",\"gravity\":1.008}}\n",
            yesterday.datetime().to_rfc3339()
        ),
    )
    .unwrap();
    home
}

/// Runs a line in a shell that finds skep and, in its own folder, other programs.
fn run(home: &Home, line: &str) -> std::process::Output {
    let binary = assert_cmd::cargo::cargo_bin!("skep");
    let tools = home.path("tools");
    let path = format!(
        "{}:{}:/usr/bin:/bin",
        tools.display(),
        binary.parent().unwrap().display()
    );
    Command::new("/bin/sh")
        .args(["-c", line])
        .env_clear()
        .envs(crate::clock::environment())
        .env("PATH", path)
        .env("HOME", home.path(""))
        .env("SKEP_STORE", home.store())
        .current_dir(home.path(""))
        .output()
        .unwrap()
}

#[test]
fn every_example_of_the_documents_works() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let home = home();
    let mut ran = 0;
    for document in ["README.md", "docs/data.md"] {
        let document = std::fs::read_to_string(root.join(document)).unwrap();
        for line in examples(&document) {
            let out = run(&home, &line);
            let code = out.status.code().unwrap_or(-1);
            assert!(
                GOOD.contains(&code),
                "{line} ended with {code}: {}",
                text(&out.stderr)
            );
            ran += 1;
        }
    }
    assert!(ran >= 20, "only {ran} examples were found");
}

#[test]
fn the_line_for_cron_speaks_only_when_something_is_wanted() {
    let document =
        std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/data.md"))
            .unwrap();
    let (_, rest) = document.split_once("```cron\n0 7 * * * ").unwrap();
    let line = rest.lines().next().unwrap();
    let out = run(&home(), line);
    assert!(text(&out.stdout).contains("stuck"), "{}", text(&out.stdout));
    let calm = Home::with_jugs();
    assert!(run(&calm, line).stdout.is_empty());
}

#[test]
fn the_timers_line_gives_a_notice_only_when_something_is_wanted() {
    let unit = include_str!("../../assets/systemd/skep-reminder.service");
    let line = unit
        .lines()
        .find_map(|l| l.strip_prefix("ExecStart=/bin/sh -c '"))
        .and_then(|l| l.strip_suffix('\''))
        .unwrap();
    for (home, expected) in [(home(), true), (Home::with_jugs(), false)] {
        std::fs::create_dir(home.path("tools")).unwrap();
        let tool = home.path("tools/notify-send");
        std::fs::write(
            &tool,
            "#!/bin/sh\nprintf '%s\\n' \"$@\" > \"$HOME/notice\"\n",
        )
        .unwrap();
        Command::new("chmod").arg("+x").arg(&tool).status().unwrap();
        run(&home, line);
        let notice = std::fs::read_to_string(home.path("notice")).ok();
        assert_eq!(notice.is_some_and(|n| n.contains("stuck")), expected);
    }
}
