//! A disk that is full, fails, or is not to be written to: a sentence, what was
//! typed stays, nothing is half-written, and all works again afterwards.

use crate::kit::*;
use crate::wait;
use std::fs;
use std::os::unix::fs::{PermissionsExt, chown};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A home whose disk fails on order.
struct Faults {
    home: Home,
    /// Where the shim and the order lie, which no fault reaches.
    aside: tempfile::TempDir,
}

impl Faults {
    fn new() -> Self {
        let (home, aside) = (Home::new(), tempfile::tempdir().unwrap());
        let made = Command::new("cc")
            .args(["-shared", "-fPIC", "-O1", "-o"])
            .arg(aside.path().join("faults.so"))
            .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/trust/faults.c"))
            .arg("-ldl")
            .status();
        assert!(made.unwrap().success(), "cc cannot make the shim");
        Self { home, aside }
    }

    fn order(&self, fault: &str) {
        fs::write(self.aside.path().join("order"), fault).unwrap();
    }

    fn env(&self) -> Vec<(String, String)> {
        let text = |path: PathBuf| path.to_str().unwrap().to_owned();
        let under = fs::canonicalize(self.home.path("")).unwrap();
        vec![
            (
                "LD_PRELOAD".into(),
                text(self.aside.path().join("faults.so")),
            ),
            ("SKEP_FAULTS".into(), text(self.aside.path().join("order"))),
            ("SKEP_FAULTS_UNDER".into(), text(under)),
        ]
    }

    fn run(&self, line: &str) -> Output {
        let mut command = self.home.command(line.split_whitespace());
        command.envs(self.env()).output().unwrap()
    }
}

/// A sentence of skep's own, and no panic.
#[track_caller]
fn sentence(done: &Output, part: &str) {
    let said = said(done);
    assert!(
        said.lines().any(|l| l.starts_with("skep: ")) && said.contains(part),
        "'{part}' not in: {said}"
    );
    assert!(
        matches!(done.status.code(), Some(1 | 3)),
        "{}: {said}",
        done.status
    );
}

const FAULTS: &[(&str, &str)] = &[
    ("full", "full"),
    ("sync", "the disk reports an error"),
    ("broken", "the disk reports an error"),
    ("locked", "may not be written to"),
    ("shut", "ermission denied"),
];

#[test]
fn a_shell_command_on_a_failing_disk_says_so_and_works_again() {
    by_shell(&Faults::new());
    println!(
        "{} faults by shell, each told, none kept a half",
        FAULTS.len()
    );
}

#[test]
fn a_failing_disk_beside_a_foreign_reader_loses_nothing() {
    for breaks in [by_shell, on_screen] {
        let faults = Faults::new();
        let foreign = Foreign::start(&faults.home);
        breaks(&faults);
        println!("{} foreign looks", foreign.end());
    }
}

fn by_shell(faults: &Faults) {
    faults.order("");
    assert!(faults.run("read J1 68f --note before").status.success());
    for (fault, part) in FAULTS {
        faults.order(fault);
        sentence(
            &faults.run(&format!("read J1 68f --anyway --note {fault}")),
            part,
        );
        faults.order("");
        faults.home.sound();
        // A disk that can't sync may have kept what it says it could not.
        let there = faults.home.notes().get(*fault).copied().unwrap_or(0);
        assert_eq!(there, 0, "{fault}");
        let again = faults.run(&format!("read J1 68f --anyway --note {fault}"));
        assert!(again.status.success(), "{}", said(&again));
        assert_eq!(faults.home.notes().get(*fault), Some(&1), "{fault}");
    }
    // Short writes are gone on with.
    faults.order("short");
    assert!(
        faults
            .run("read J1 68f --anyway --note short")
            .status
            .success()
    );
    faults.order("");
    faults.home.sound();
    assert_eq!(faults.home.notes().get("short"), Some(&1));
}

#[test]
fn making_copying_and_exporting_on_a_failing_disk_leaves_nothing_half() {
    for (fault, _) in FAULTS {
        let faults = Faults::new();
        let before = fs::read(faults.home.store()).unwrap();
        faults.order(fault);
        let new = faults.home.path("new.store");
        let words = format!("places add attic --store {}", new.display());
        sentence(&faults.run(&words), "");
        assert!(!new.exists(), "{fault}: half a store");
        sentence(&faults.run("backup"), "");
        if *fault != "sync" {
            // By its whole path, which the fault reaches: reading alone may go well.
            let all = faults.home.path("all.json");
            let words = format!("export all --into {}", all.display());
            sentence(&faults.run(&words), "");
            assert!(!faults.home.path("all.json").exists(), "{fault}");
        }
        faults.order("");
        assert!(fs::read(faults.home.store()).unwrap() == before, "{fault}");
        let left: Vec<_> = fs::read_dir(faults.home.path("home-backups"))
            .into_iter()
            .flatten()
            .map(|e| e.unwrap().path())
            .filter(|p| p.extension().is_none_or(|e| e != "backup"))
            .collect();
        assert!(left.is_empty(), "{fault}: {left:?}");
        for line in [&words, "backup", "export all --into all.json"] {
            let done = faults.run(line);
            assert!(done.status.success(), "{fault}: {line}: {}", said(&done));
        }
    }
}

#[test]
fn on_the_screen_the_typing_stays_until_the_disk_is_well() {
    on_screen(&Faults::new());
}

fn on_screen(faults: &Faults) {
    faults.order("");
    let env = faults.env();
    let env: Vec<_> = env.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
    let mut screen = faults.home.screen(&env);
    screen.see("heather").see("▌");
    for (n, fault) in ["full", "sync", "broken"].iter().enumerate() {
        let typed = format!("6{}f 'on {fault}", n + 6);
        screen.send(&typed).see(&typed);
        faults.order(fault);
        screen.send("\r").see("disk");
        screen.see(&typed).see("reading of");
        faults.order("");
        screen.send("\r").gone("reading of");
        let notes = faults.home.notes();
        assert_eq!(notes.get(&format!("on {fault}")), Some(&1), "{notes:?}");
    }
    screen.send("q");
    assert!(screen.ended());
    faults.home.sound();
}

#[test]
fn a_logger_outlasts_a_full_disk() {
    use std::io::Write;
    let faults = Faults::new();
    faults.order("");
    let said = faults.aside.path().join("said");
    let mut command = faults.home.command(["listen", "--source", "probe"]);
    command.envs(faults.env());
    let mut child = command
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::null())
        .stderr(fs::File::create(&said).unwrap())
        .spawn()
        .unwrap();
    let told = || fs::read_to_string(&said).unwrap();
    let begin = now().utc_ms() / 1000 - 86_400;
    let mut pipe = child.stdin.take().unwrap();
    let mut line = |n: i64| {
        let at = begin + n * 60;
        writeln!(
            pipe,
            "{{\"vessel\":\"J1\",\"at\":{at},\"temperature_c\":20.5}}"
        )
        .unwrap();
    };
    line(0);
    let kept = || faults.home.samples("probe J1");
    wait::until("the first line is kept", || kept() == 1);
    faults.order("full");
    line(1);
    wait::until("a full disk is told", || {
        told().contains("the disk is full")
    });
    faults.order("");
    line(2);
    drop(pipe);
    let status = child.wait().unwrap();
    assert!(status.success(), "{}", told());
    assert_eq!(kept(), 3);
}

#[test]
fn a_store_that_is_deleted_or_moved_away_takes_no_more() {
    let home = Home::new();
    let mut screen = home.screen(&[]);
    screen
        .see("heather")
        .see("▌")
        .send("67f 'lost")
        .see("67f 'lost");
    let (store, aside) = (home.store(), home.path("aside"));
    fs::create_dir(&aside).unwrap();
    let names = ["home.store", "home.store-wal", "home.store-shm"];
    for name in names {
        fs::rename(home.path(name), aside.join(name)).unwrap();
    }
    screen.send("\r").see("no longer").see("again");
    screen.see("67f 'lost");
    assert!(!store.exists());
    for name in names {
        fs::rename(aside.join(name), home.path(name)).unwrap();
    }
    screen.send("\r").gone("reading of").send("q");
    assert!(screen.ended());
    assert_eq!(home.notes().get("lost"), Some(&1));
    home.sound();
}

/// A small disk of its own, where this machine lets us make one.
pub(crate) struct SmallDisk(pub(crate) PathBuf);

impl SmallDisk {
    pub(crate) fn new(size: &str) -> Option<Self> {
        let at = tempfile::tempdir().unwrap().keep();
        let made = Command::new("mount")
            .args(["-t", "tmpfs", "-o", &format!("size={size}"), "tmpfs"])
            .arg(&at)
            .output();
        if made.is_ok_and(|m| m.status.success()) {
            return Some(Self(at));
        }
        fs::remove_dir(&at).unwrap();
        None
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(&self.0).status();
        let _ = fs::remove_dir(&self.0);
    }
}

#[test]
fn a_disk_that_fills_up_stops_writing_and_goes_on_when_there_is_room() {
    let Some(disk) = SmallDisk::new("3m") else {
        println!("no right to mount a small disk here; the failing disk stands in for it");
        return;
    };
    let home = Home::within(&disk.0);
    let full = disk.0.join("full");
    let (mut kept, mut refused) = (0, 0);
    for round in 0..6 {
        // So much less room each time, down to nothing.
        let _ = fs::write(&full, vec![0; 3 << 20]);
        let room = [0, 4, 20, 60, 200, 400][round] * 1024;
        let size = fs::metadata(&full).unwrap().len();
        fs::File::options()
            .write(true)
            .open(&full)
            .unwrap()
            .set_len(size.saturating_sub(room))
            .unwrap();
        for n in 0..20 {
            let note = format!("r{round}-{n}");
            let done = home.run(&format!("read J1 68f --anyway --note {note}"));
            let there = home_notes_elsewhere(&home).contains(&note);
            assert_eq!(done.status.success(), there, "{note}: {}", said(&done));
            if done.status.success() {
                kept += 1;
            } else {
                sentence(&done, "");
                refused += 1;
                break;
            }
        }
        fs::remove_file(&full).unwrap();
        home.sound();
        assert!(
            home.run(&format!("read J1 68f --anyway --note after{round}"))
                .status
                .success()
        );
    }
    println!("a disk of 3 MB filled 6 times: {kept} kept, {refused} refused");
    assert!(kept > 0 && refused > 0);
}

/// The notes, read on a copy that lies on another disk.
fn home_notes_elsewhere(home: &Home) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let copy = folder.path().join("s");
    for suffix in ["", "-wal"] {
        let from = home.path(&format!("home.store{suffix}"));
        if from.exists() {
            fs::copy(from, format!("{}{suffix}", copy.display())).unwrap();
        }
    }
    let store = skep::store::Store::open(&copy, now()).unwrap();
    let house = store.household(now()).unwrap();
    house
        .dossiers
        .into_iter()
        .flat_map(|d| d.readings)
        .map(|r| r.note)
        .collect()
}

/// The program run by someone whom permissions hold back.
pub(crate) fn as_nobody(home: &Home, line: &str) -> Output {
    const NOBODY: u32 = 65534;
    let is_root =
        fs::metadata("/proc/self").is_ok_and(|m| std::os::unix::fs::MetadataExt::uid(&m) == 0);
    let plain = home.command(line.split_whitespace());
    if !is_root {
        let mut plain = plain;
        return plain.output().unwrap();
    }
    // Open, since nobody may not enter the folder that it lies in.
    let program = fs::File::open(plain.get_program()).unwrap();
    for entry in fs::read_dir(home.path("")).unwrap() {
        chown(entry.unwrap().path(), Some(NOBODY), Some(NOBODY)).unwrap();
    }
    chown(home.path(""), Some(NOBODY), Some(NOBODY)).unwrap();
    let held = ["--reuid=65534", "--regid=65534", "--clear-groups"];
    Command::new("sh")
        .args(["-c", "exec 9<&0 0</dev/null; exec setpriv \"$@\"", "sh"])
        .args(held)
        .arg("/proc/self/fd/9")
        .stdin(program)
        .args(line.split_whitespace())
        .envs(plain.get_envs().filter_map(|(k, v)| Some((k, v?))))
        .current_dir(home.path(""))
        .output()
        .unwrap()
}

#[test]
fn what_may_not_be_written_or_read_is_told() {
    let home = Home::new();
    let mode =
        |path: &Path, mode| fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
    assert!(
        as_nobody(&home, "read J1 68f --note before")
            .status
            .success()
    );
    let (folder, store) = (home.path(""), home.store());
    let read = "read J1 68f --anyway --note";
    for (path, locked, open, part) in [
        (&store, 0o400, 0o600, "may not be written to"),
        (&folder, 0o500, 0o700, "may"),
        (&store, 0o000, 0o600, "ermission denied"),
        (&folder, 0o000, 0o700, "ermission denied"),
    ] {
        mode(path, locked);
        let done = as_nobody(&home, &format!("{read} locked"));
        mode(path, open);
        sentence(&done, part);
        assert!(!home.notes().contains_key("locked"), "{locked:o}");
        assert!(as_nobody(&home, &format!("{read} open")).status.success());
    }
    home.sound();
}
