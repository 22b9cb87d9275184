//! Private: files are their owner's alone, nothing speaks to a network, links
//! laid beforehand are not followed, and a path is a path whatever it looks like.

use crate::kit::*;
use std::ffi::OsStr;
use std::fs;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};
use std::path::Path;
use std::process::Command;

/// All under a folder, links not followed.
fn all(folder: &Path) -> Vec<std::path::PathBuf> {
    let mut found = Vec::new();
    let mut waiting = vec![folder.to_path_buf()];
    while let Some(path) = waiting.pop() {
        if fs::symlink_metadata(&path).unwrap().is_dir() {
            waiting.extend(fs::read_dir(&path).unwrap().map(|e| e.unwrap().path()));
        }
        found.push(path);
    }
    found
}

/// Under the loosest mask that there is.
fn loose(home: &Home, line: &str) {
    let program = home.command([]).get_program().to_owned();
    let mut shell = Command::new("sh");
    shell
        .args(["-c", "umask 0; exec \"$0\" \"$@\""])
        .arg(program)
        .args(line.split_whitespace())
        .env_clear()
        .envs(crate::clock::environment())
        .env("HOME", home.path("at-home"))
        .env("PATH", std::env::var_os("PATH").unwrap_or_default())
        .current_dir(home.path("out"));
    let done = shell.output().unwrap();
    assert!(done.status.success(), "{line}: {}", said(&done));
}

#[test]
fn everything_that_is_written_is_its_owners_alone() {
    let home = Home::new();
    for folder in ["at-home", "out"] {
        fs::create_dir(home.path(folder)).unwrap();
    }
    for line in [
        "places add closet --usual 68f",
        "vessels add J1 jug 1gal",
        "start J1 one-gallon-traditional-mead --name heather --og 1.092 --at -7d",
        "read J1 60 68f",
        "backup",
        "export all --into all.json",
        "export readings --into readings.csv",
        "export salvage --into saved.json",
        "calendar --into steps.ics",
        "sheet J1 --into sheet.html",
        "rebuild all.json --store again/again.store",
        "demo --into demo.store",
    ] {
        loose(&home, line);
    }
    let (mut files, mut folders) = (0, 0);
    for path in [all(&home.path("at-home")), all(&home.path("out"))].concat() {
        if path == home.path("at-home") || path == home.path("out") {
            continue;
        }
        let meta = fs::symlink_metadata(&path).unwrap();
        let mode = meta.permissions().mode() & 0o777;
        let ours = path.to_string_lossy().contains("skep") || meta.is_file();
        if meta.is_dir() && ours {
            assert_eq!(mode, 0o700, "{}", path.display());
            folders += 1;
        } else if meta.is_file() {
            assert_eq!(mode, 0o600, "{}", path.display());
            files += 1;
        }
    }
    assert!(
        files >= 8 && folders >= 2,
        "{files} files, {folders} folders"
    );
    println!("{files} files and {folders} folders, each its owner's alone under umask 0");
}

/// The calls that open a way to another machine. A pair of sockets within the
/// program (signals) is none.
const NETWORK: &[&str] = &[
    "socket",
    "connect",
    "bind",
    "listen",
    "accept",
    "accept4",
    "getaddrinfo",
    "gethostbyname",
    "sendto",
    "recvfrom",
    "res_query",
];

/// Read off the program itself: what it cannot name it cannot call.
#[test]
fn the_program_has_no_way_to_a_network() {
    let done = Command::new("nm")
        .args(["-D", "--undefined-only", env!("CARGO_BIN_EXE_skep")])
        .output()
        .unwrap();
    assert!(done.status.success(), "{}", said(&done));
    let names = said(&done);
    let imported: Vec<&str> = names
        .lines()
        .filter_map(|l| l.split_whitespace().last())
        .map(|name| name.split('@').next().unwrap_or(name))
        .collect();
    assert!(
        imported.contains(&"open64") || imported.contains(&"open"),
        "{names}"
    );
    let calls: Vec<_> = imported.iter().filter(|n| NETWORK.contains(n)).collect();
    assert!(calls.is_empty(), "{calls:?}");
    println!("{} imported calls, none to a network", imported.len());
}

#[test]
fn links_laid_beforehand_lead_to_no_file_of_another() {
    let home = Home::new();
    let victim = home.path("victim");
    fs::write(&victim, "precious").unwrap();
    let lay = |name: &str| symlink(&victim, home.path(name)).unwrap();
    // The output itself, and what it was once written into first.
    for name in [
        "all.json",
        "other.json.part",
        "sheet.html",
        "steps.ics",
        "plan.toml",
        "plan.toml.old",
    ] {
        lay(name);
    }
    for (line, works) in [
        ("export all --into all.json", false),
        ("sheet J1 --into sheet.html", false),
        ("calendar --into steps.ics", false),
        // Beside this one a link lies in the place of the file that is written first.
        ("export all --into other.json", true),
        ("read J1 68f", true),
        ("backup", true),
    ] {
        let done = home.run(line);
        assert_eq!(done.status.success(), works, "{line}: {}", said(&done));
        assert_eq!(fs::read_to_string(&victim).unwrap(), "precious", "{line}");
    }
    // Temporary folders are made anew with a name that nothing had, for the owner only.
    let tmp = home.path("tmp");
    fs::create_dir(&tmp).unwrap();
    let mut command = home.command(["export", "salvage"]);
    let done = command.env("TMPDIR", &tmp).output().unwrap();
    assert!(done.status.success(), "{}", said(&done));
    assert_eq!(all(&tmp).len(), 1, "something was left behind");
}

#[test]
fn a_store_is_found_by_its_path_whatever_it_looks_like() {
    let home = Home::new();
    let names: &[&[u8]] = &[
        b"with blank.store",
        b"file:x.store?mode=memory&cache=shared",
        b"file:y.store",
        b":memory:",
        b"-rf.store",
        b"%41.store",
        b"line\nbreak.store",
        b"\xff\xfe.store",
        b"\x1b]0;OWNED\x07.store",
        "\u{202e}erots.\u{1f41d}".as_bytes(),
        b"a'b\"c;d.store",
        b"..store",
        b"s p/./../s p/x.store",
    ];
    for name in names {
        let path = home.path("").join("odd").join(OsStr::from_bytes(name));
        if name.contains(&b'/') {
            fs::create_dir_all(home.path("odd/s p")).unwrap();
        }
        let run = |words: &[&str]| {
            let mut command = home.command(words.iter().copied());
            command.env_remove("SKEP_STORE").arg("--store").arg(&path);
            command.output().unwrap()
        };
        for words in [
            &["places", "add", "closet"][..],
            &["backup"],
            &["check"],
            &["backup"],
        ] {
            let done = run(words);
            let said = said(&done);
            assert!(done.status.success(), "{words:?} {name:?}: {said}");
            assert!(
                !said.contains('\u{1b}') && !said.contains('\u{202e}'),
                "{said:?}"
            );
        }
        let meta = fs::metadata(&path).unwrap();
        assert!(
            meta.is_file() && meta.len() > 10_000,
            "{name:?} is not at its path"
        );
        assert_eq!(meta.mode() & 0o777, 0o600);
    }
    println!("{} odd paths, each a store of its own", names.len());
}
