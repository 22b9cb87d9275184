//! The dashboard in a pseudo-terminal: its first frame, its keys, its memory.

use crate::stores::Size;
use crate::table::{Table, median, part, short};
use crate::terminal::Terminal;
use crate::whole::Place;
use anyhow::Context;
use std::fs;
use std::process::Command;
use std::thread;
use std::time::{Duration, Instant};

/// Starts that are measured.
const STARTS: usize = 61;

/// Name, keys that lead there, keys that move there, keys back.
type Visit = (
    &'static str,
    &'static [&'static str],
    &'static [&'static str],
    &'static [&'static str],
);

/// Every screen with the keys that lead there, that move there, and back.
const SCREENS: [Visit; 13] = [
    (
        "shelf",
        &[],
        &["j", "j", "k", "\x1b[B", "\x1b[A", "\x1b[F", "\x1b[H"],
        &[],
    ),
    (
        "batch",
        &["\r"],
        &["j", "k", "l", "h", "]", "[", "\t", "j", "\t", "j"],
        &["\x1b"],
    ),
    (
        "slip",
        &["4"],
        &["2", "\x7f", "3", " ", "6", "8", "f"],
        &["\x1b", "\x1b"],
    ),
    ("round", &["r"], &["n", "p", "n"], &["\x1b"]),
    ("why", &["w"], &["j", "j", "k"], &["\x1b"]),
    (
        "help",
        &["?"],
        &["\t", "s", "u", "g", "\x7f"],
        &["\x1b", "\x1b"],
    ),
    (
        "choices",
        &[","],
        &["\t", "\t", "\x1b[C"],
        &["\x1b", "\x1b"],
    ),
    (
        "bench",
        &["b"],
        &["\x1b[B", "\x1b[B", "a", "b", "v"],
        &["\x1b", "\x1b", "\x1b"],
    ),
    ("planner", &["p"], &["j", "j", "\t", "z"], &["\x1b", "\x1b"]),
    (
        "racking",
        &["P"],
        &["\x1b[B", "\x1b[B", "\x1b[A"],
        &["\x1b"],
    ),
    ("season", &["S"], &["j", "l", "l", "h", "\t"], &["\x1b"]),
    ("pantry", &["i"], &["j", "k", "\t"], &["\x1b"]),
    (
        "cellar",
        &["C"],
        &["j", "j", "k", "\t", "s", "e"],
        &["\x1b"],
    ),
];

/// Start to the first complete frame; the median.
pub(crate) fn first_frames(place: &Place, sizes: &[Size], table: &mut Table) -> anyhow::Result<()> {
    let mut took = vec![Vec::new(); sizes.len()];
    for n in 0..=STARTS {
        for (size, took) in sizes.iter().zip(&mut took) {
            let store = size.path(&place.folder);
            let mut terminal = Terminal::start(&place.skep, &store, &place.home)?;
            let frame = terminal.first_frame()?;
            // The first start of each warms the store.
            if n > 0 {
                took.push(frame);
            }
        }
        if n == 0 {
            // The copies of the day, half a gigabyte, are on the disk before it counts.
            let synced = Command::new("sync").status()?;
            anyhow::ensure!(synced.success(), "sync failed");
        }
    }
    let medians: Vec<f64> = took.iter().map(|t| median(t)).collect();
    for (size, median) in sizes.iter().zip(&medians) {
        let what = format!(
            "size {}: start to first complete frame of the shelf",
            size.number
        );
        if size.number <= 3 {
            table.at_most(&what, *median, 50.0, "ms", "");
        } else {
            table.note(&what, &format!("{} ms", short(*median)));
        }
    }
    let of = |number| {
        sizes
            .iter()
            .position(|s| s.number == number)
            .and_then(|i| medians.get(i))
    };
    if let (Some(one), Some(three)) = (of(1), of(3)) {
        table.at_most(
            "first frame of size 3 against size 1",
            three / one,
            1.3,
            "times",
            "",
        );
    }
    Ok(())
}

/// Each key on each screen.
pub(crate) fn keys(place: &Place, size: Size, table: &mut Table) -> anyhow::Result<()> {
    let store = size.path(&place.folder);
    let mut terminal = Terminal::start(&place.skep, &store, &place.home)?;
    terminal.first_frame()?;
    let (mut all, mut worst) = (Vec::new(), (0.0, "", ""));
    for _ in 0..8 {
        for (name, there, keys, back) in SCREENS {
            for key in there.iter().chain(keys).chain(back) {
                if let Some(took) = terminal.key(key)? {
                    all.push(took);
                    if took > worst.0 {
                        worst = (took, name, key);
                    }
                }
            }
        }
    }
    let what = format!("size {}: key to redraw, 99th percentile", size.number);
    let more = format!(
        "median {} ms, {} keys on {} screens; the slowest {} ms, {:?} on {}",
        short(median(&all)),
        all.len(),
        SCREENS.len(),
        short(worst.0),
        worst.2,
        worst.1
    );
    table.at_most(&what, part(&all, 0.99), 16.0, "ms", &more);
    Ok(())
}

/// Memory over an hour's worth of use, pressed together.
pub(crate) fn memory(place: &Place, size: Size, table: &mut Table) -> anyhow::Result<()> {
    let store = size.path(&place.folder);
    let mut terminal = Terminal::start(&place.skep, &store, &place.home)?;
    terminal.first_frame()?;
    let id = terminal.id()?;
    let mut held = vec![resident(id)?];
    for quarter in 0..4_u32 {
        for round in 0..5_u32 {
            for (_, there, keys, back) in SCREENS {
                for key in there.iter().chain(keys).chain(back) {
                    terminal.key(key)?;
                }
            }
            // A reading from outside every three minutes: the screen follows.
            let value = format!("1.0{:02}", 10 + quarter * 5 + round);
            let out = place
                .skep(&store)
                .args(["read", "J1", &value, "--anyway"])
                .output()?;
            anyhow::ensure!(
                out.status.success(),
                "{}",
                String::from_utf8_lossy(&out.stderr)
            );
            thread::sleep(Duration::from_millis(700));
            terminal.look();
        }
        held.push(resident(id)?);
    }
    let (first, last) = (
        held.get(1).context("a first")?,
        held.last().context("a last")?,
    );
    let steps: Vec<String> = held.iter().map(|h| short(*h)).collect();
    let most = held.iter().copied().fold(0.0, f64::max);
    let what = format!(
        "size {}: memory, an hour's worth of keys and readings",
        size.number
    );
    table.at_most(
        &what,
        most,
        40.0,
        "MiB",
        &format!("at the start and after each quarter: {}", steps.join(", ")),
    );
    table.at_most(
        &format!("{what}: growth after the first quarter"),
        last - first,
        1.0,
        "MiB",
        "",
    );
    Ok(())
}

/// Resident memory in MiB.
fn resident(id: u32) -> anyhow::Result<f64> {
    let status = fs::read_to_string(format!("/proc/{id}/status"))?;
    let line = status
        .lines()
        .find_map(|l| l.strip_prefix("VmRSS:"))
        .context("VmRSS")?;
    let kib: f64 = line.trim().trim_end_matches(" kB").parse()?;
    Ok(kib / 1024.0)
}

/// Share of one core while nothing happens.
pub(crate) fn idle(place: &Place, size: Size, table: &mut Table) -> anyhow::Result<()> {
    let store = size.path(&place.folder);
    let mut terminal = Terminal::start(&place.skep, &store, &place.home)?;
    terminal.first_frame()?;
    let id = terminal.id()?;
    // Longer than a minute: the clock on the screen moves within.
    let began = (Instant::now(), spent(id)?);
    thread::sleep(Duration::from_secs(75));
    let share = (spent(id)? - began.1) / began.0.elapsed().as_secs_f64() * 100.0;
    terminal.look();
    anyhow::ensure!(terminal.text().contains("J1"), "the dashboard is gone");
    table.at_most(
        &format!("size {}: idle dashboard", size.number),
        share,
        0.2,
        "% of a core",
        "75 s",
    );
    Ok(())
}

/// Seconds of processor time of all threads so far.
fn spent(id: u32) -> anyhow::Result<f64> {
    let mut sum = 0.0;
    for task in fs::read_dir(format!("/proc/{id}/task"))? {
        let text = fs::read_to_string(task?.path().join("schedstat"))?;
        let ns: f64 = text
            .split_whitespace()
            .next()
            .context("schedstat")?
            .parse()?;
        sum += ns / 1e9;
    }
    Ok(sum)
}
