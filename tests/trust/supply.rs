//! Supply: licences, duplicates, sources and features of what the program is
//! built from, as Cargo tells them, without the network.
//!
//! Advisories need a database from outside: `cargo deny check`.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Command;

/// One package with what is switched on in it.
struct Package {
    name: String,
    version: String,
    licence: String,
    features: BTreeSet<String>,
    /// Ours, or a path where one of the registry's has none.
    local: bool,
}

/// What is built on this system, by kinds of dependency.
fn built(edges: &str) -> Vec<Package> {
    let done = Command::new(env!("CARGO"))
        .args([
            "tree",
            "--locked",
            "--offline",
            "--prefix",
            "none",
            "-e",
            edges,
        ])
        .args(["-f", "{p}|{l}|{f}"])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    assert!(
        done.status.success(),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    let text = String::from_utf8(done.stdout).unwrap();
    let lines: BTreeSet<&str> = text.lines().map(|l| l.trim_end_matches(" (*)")).collect();
    lines
        .into_iter()
        .filter(|l| !l.is_empty())
        .map(package)
        .collect()
}

fn package(line: &str) -> Package {
    let parts: Vec<&str> = line.split('|').collect();
    let [package, licence, features] = parts[..] else {
        panic!("{line}");
    };
    let mut words = package.split(' ');
    let mut word = || words.next().unwrap_or_default().to_owned();
    Package {
        name: word(),
        version: word(),
        licence: licence.to_owned(),
        features: features.split(',').map(str::to_owned).collect(),
        local: package.contains("(/"),
    }
}

fn toml(name: &str) -> toml::Table {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
    std::fs::read_to_string(path).unwrap().parse().unwrap()
}

/// An SPDX expression (<https://spdx.github.io/spdx-spec/v2.3/SPDX-license-expressions/>):
/// one side of an `OR` must be allowed, both of an `AND`; `/` is an old `OR`.
fn allowed(licence: &str, list: &BTreeSet<&str>) -> bool {
    let licence = licence.replace('/', " OR ");
    if let Some((inner, rest)) = licence
        .strip_prefix('(')
        .and_then(|l| l.split_once(") AND "))
    {
        return allowed(inner, list) && allowed(rest, list);
    }
    let meets = |part: &str| part.split(" AND ").all(|name| list.contains(name.trim()));
    licence.split(" OR ").any(meets)
}

#[test]
fn every_licence_is_one_that_was_allowed() {
    let deny = toml("deny.toml");
    let list = deny["licenses"]["allow"].as_array().unwrap();
    let list: BTreeSet<&str> = list.iter().map(|w| w.as_str().unwrap()).collect();
    assert!(!allowed("GPL-3.0", &list) && !allowed("MIT AND GPL-3.0", &list));
    assert!(!allowed("(MIT OR Apache-2.0) AND GPL-3.0", &list) && allowed("GPL-3.0 OR MIT", &list));
    let packages = built("normal,build,dev");
    let mut seen = BTreeMap::<&str, usize>::new();
    for package in &packages {
        assert!(
            allowed(&package.licence, &list),
            "{}: {}",
            package.name,
            package.licence
        );
        *seen.entry(&package.licence).or_default() += 1;
    }
    println!("{} packages; licences: {seen:?}", packages.len());
}

#[test]
fn everything_comes_from_the_one_registry_and_is_locked() {
    for package in built("normal,build,dev") {
        assert_eq!(package.local, package.name == "skep", "{}", package.name);
    }
    for package in toml("Cargo.lock")["package"].as_array().unwrap() {
        let (name, source) = (&package["name"], package.get("source"));
        if name.as_str() == Some("skep") {
            continue;
        }
        let registry = "registry+https://github.com/rust-lang/crates.io-index";
        assert_eq!(source.and_then(|s| s.as_str()), Some(registry), "{name}");
        assert!(package.get("checksum").is_some(), "{name} has no checksum");
    }
    // The fuzz targets are locked for themselves, with the same versions.
    assert!(toml("tests/fuzz/Cargo.lock").contains_key("package"));
}

/// Two versions of one package in the program are a wider surface for no use.
/// Those that no one of ours can mend are named in `deny.toml`.
#[test]
fn nothing_is_in_the_program_twice_unless_it_was_looked_at() {
    let packages = built("normal");
    let mut versions = BTreeMap::<&str, BTreeSet<&str>>::new();
    for package in &packages {
        versions
            .entry(&package.name)
            .or_default()
            .insert(&package.version);
    }
    let deny = toml("deny.toml");
    let skip = deny["bans"]["skip"].as_array().unwrap();
    let name = |s: &toml::Value| {
        s["crate"]
            .as_str()
            .unwrap()
            .split('@')
            .next()
            .unwrap()
            .to_owned()
    };
    let looked_at: BTreeSet<String> = skip.iter().map(name).collect();
    let twice = versions.iter().filter(|(_, v)| v.len() > 1);
    let twice: BTreeSet<String> = twice.map(|(n, _)| (*n).to_owned()).collect();
    println!(
        "{} packages in the program; twice: {twice:?}",
        versions.len()
    );
    assert_eq!(twice, looked_at, "what deny.toml says was looked at");
    for network in [
        "tokio", "hyper", "reqwest", "ureq", "curl", "rustls", "openssl", "sentry",
    ] {
        assert!(!versions.contains_key(network), "{network}");
    }
}

/// What brings more than is used is off.
#[test]
fn features_are_those_that_are_used() {
    let packages = built("normal");
    for (name, off) in [
        ("chrono", &["default", "unstable-locales", "rkyv"][..]),
        (
            "ratatui",
            &["default", "widget-calendar", "macros", "all-widgets"],
        ),
        ("icalendar", &["default", "parser"]),
        (
            "rusqlite",
            &["load_extension", "functions", "vtab", "serialize"],
        ),
        ("tui-input", &["default"]),
    ] {
        let package = packages.iter().find(|p| p.name == name);
        let package = package.unwrap_or_else(|| panic!("{name} is not in the program"));
        for feature in off {
            assert!(!package.features.contains(*feature), "{name} has {feature}");
        }
    }
}

/// The program that is released does not take its time from a test.
#[test]
fn the_clock_of_the_tests_is_in_the_tests_alone() {
    let has = |edges: &str| {
        let packages = built(edges);
        let mut skep = packages.iter().filter(|p| p.name == "skep");
        skep.any(|p| p.features.contains("test-clock"))
    };
    assert!(has("normal,build,dev") && !has("normal,build"));
}

#[test]
fn unsafe_code_is_forbidden_and_the_lock_is_kept() {
    assert_eq!(
        toml("Cargo.toml")["lints"]["rust"]["unsafe_code"].as_str(),
        Some("forbid")
    );
    let ignored = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(".gitignore"));
    assert!(!ignored.unwrap().contains("Cargo.lock"));
}

/// What `.cargo/config.toml` asks of SQLite is what was built.
#[test]
fn sqlite_is_without_what_is_never_called_and_without_a_lock_for_all() {
    let conn = rusqlite::Connection::open_in_memory().unwrap();
    let mut ask = conn.prepare("PRAGMA compile_options").unwrap();
    let options: BTreeSet<String> = ask
        .query_map([], |row| row.get(0))
        .unwrap()
        .collect::<Result<_, _>>()
        .unwrap();
    assert!(options.contains("DEFAULT_MEMSTATUS=0"), "{options:?}");
    for without in ["MEMORY_MANAGEMENT", "FTS3", "FTS5", "RTREE", "STAT4"] {
        let built = options.contains(&format!("ENABLE_{without}"));
        assert!(!built, "{without}: {options:?}");
    }
}
