//! Whole processes against whole processes, in one run.

use crate::stores::{SIZES, Size};
use crate::table::{Table, median, short};
use crate::terminal::ms;
use anyhow::{Context, bail, ensure};
use std::fmt::Write as _;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

const TIMES: usize = 40;
/// What tells skep where its folders are.
pub(crate) const HOMES: [&str; 5] = [
    "HOME",
    "XDG_CONFIG_HOME",
    "XDG_DATA_HOME",
    "XDG_STATE_HOME",
    "XDG_CACHE_HOME",
];

/// Where things lie.
pub(crate) struct Place {
    pub(crate) skep: PathBuf,
    pub(crate) folder: PathBuf,
    /// A folder for what is made on the way.
    pub(crate) home: PathBuf,
}

impl Place {
    pub(crate) fn skep(&self, store: &Path) -> Command {
        let mut command = Command::new(&self.skep);
        command.env("SKEP_STORE", store).env("TZ", "UTC");
        for name in HOMES {
            command.env(name, &self.home);
        }
        command
    }

    /// Takes away what skep said of bottles before.
    fn forget_bottles(&self) -> anyhow::Result<()> {
        for entry in fs::read_dir(self.home.join("skep"))? {
            let path = entry?.path();
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            if name.starts_with("bottles-") {
                fs::remove_file(&path)?;
            }
        }
        Ok(())
    }

    /// Where skep keeps today's answer.
    fn answer(&self) -> PathBuf {
        self.home.join("skep/today.json")
    }
}

/// Milliseconds of one run that must end well.
fn timed(command: &mut Command) -> anyhow::Result<f64> {
    command
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .stdin(Stdio::null());
    let began = Instant::now();
    let out = command
        .output()
        .with_context(|| format!("running {command:?}"))?;
    let took = ms(began.elapsed());
    // 'today' says by its code whether something is due.
    let fine = out.status.success() || out.status.code().is_some_and(|c| c >= 10);
    if !fine {
        bail!("{command:?}: {}", String::from_utf8_lossy(&out.stderr));
    }
    Ok(took)
}

/// Medians of two commands that take turns.
fn turns(
    times: usize,
    mut a: impl FnMut(usize) -> anyhow::Result<f64>,
    mut b: impl FnMut(usize) -> anyhow::Result<f64>,
) -> anyhow::Result<(f64, f64)> {
    let (mut ours, mut theirs) = (Vec::new(), Vec::new());
    for n in 0..times {
        ours.push(a(n)?);
        theirs.push(b(n)?);
    }
    Ok((median(&ours), median(&theirs)))
}

fn sqlite(store: &Path, sql: &str) -> Command {
    let mut command = Command::new("sqlite3");
    command
        .arg("-batch")
        .arg("-init")
        .arg("/dev/null")
        .arg(store)
        .arg(sql);
    command
}

fn ask(store: &Path, sql: &str) -> anyhow::Result<String> {
    let out = sqlite(store, sql).output().context("running sqlite3")?;
    ensure!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    Ok(String::from_utf8_lossy(&out.stdout).trim().to_owned())
}

const PRAGMAS: &str = "PRAGMA busy_timeout = 5000; PRAGMA foreign_keys = 1; \
    PRAGMA synchronous = FULL; PRAGMA cell_size_check = 1;";

/// `skep read` against the same rows from SQLite's own command line.
pub(crate) fn keep(place: &Place, size: Size, table: &mut Table) -> anyhow::Result<()> {
    let store = size.path(&place.folder);
    let first = {
        let mut read = place.skep(&store);
        timed(read.args(["read", "J1", "1.010", "--anyway"]))?
    };
    let written = rows_of_last_change(&store)?;
    let alone = written
        .lines()
        .find(|l| l.starts_with("INSERT INTO reading"))
        .context("a reading")?;
    let all = format!(
        "{PRAGMAS} BEGIN IMMEDIATE; {written} UPDATE state SET revision = revision + 1; COMMIT;"
    );
    let alone = format!("{PRAGMAS} {alone}");
    let ours = |n: usize| {
        let value = format!("1.0{:02}", 10 + n % 10);
        timed(place.skep(&store).args(["read", "J1", &value, "--anyway"]))
    };
    let (took, same) = turns(TIMES, ours, |_| timed(&mut sqlite(&store, &all)))?;
    let (_, bare) = turns(TIMES, ours, |_| timed(&mut sqlite(&store, &alone)))?;
    let what = format!("size {}: skep read, durable, whole process", size.number);
    let more = format!(
        "{} ms against {} ms of sqlite3 writing the same rows",
        short(took),
        short(same)
    );
    table.at_most(&what, took / same, 1.5, "times", &more);
    let more = format!(
        "{} ms: sqlite3 writing the row of the reading only, no history",
        short(bare)
    );
    table.at_most(
        &format!("{what}, against the bare row"),
        took / bare,
        1.5,
        "times",
        &more,
    );
    table.note(
        &format!(
            "size {}: the day's first skep read, which copies the store",
            size.number
        ),
        &format!("{} ms", short(first)),
    );
    Ok(())
}

/// The last change once more as SQL: its own row, the reading's, its lines.
fn rows_of_last_change(store: &Path) -> anyhow::Result<String> {
    let columns = ask(
        store,
        "SELECT group_concat(name, ', ') FROM pragma_table_info('reading') WHERE name <> 'id'",
    )?;
    let reading = ask(
        store,
        &format!(
            "SELECT 'INSERT INTO reading ({columns}) VALUES (' || {} || ');' FROM reading ORDER BY id DESC LIMIT 1",
            columns
                .split(", ")
                .map(|c| format!("quote({c})"))
                .collect::<Vec<_>>()
                .join(" || ', ' || ")
        ),
    )?;
    let lines = ask(
        store,
        "SELECT 'INSERT INTO change_line SELECT max(id), ' || seq || ', ' || quote(what) || ', ' || quote(tbl) \
         || ', (SELECT max(id) FROM reading), ' || quote(col) || ', ' || quote(old) || ', ' || quote(new) \
         || ' FROM change;' FROM change_line WHERE change = (SELECT max(id) FROM change)",
    )?;
    let change = "INSERT INTO change (name, at_ms, at_off, batch, state) \
         SELECT name, at_ms, at_off, batch, state FROM change ORDER BY id DESC LIMIT 1;";
    Ok(format!("{change}\n{reading}\n{lines}\n"))
}

/// Today's list for programs against SQLite counting the active rows: worked
/// out anew each time, and asked again within a minute.
pub(crate) fn today(place: &Place, size: Size, table: &mut Table) -> anyhow::Result<()> {
    let store = size.path(&place.folder);
    let count = "SELECT count(*) FROM batch WHERE stage NOT IN ('bottled', 'closed')";
    let counted = || timed(&mut sqlite(&store, &format!("{PRAGMAS} {count}")));
    let again = || timed(place.skep(&store).args(["today", "--json"]));
    let anew = || {
        // Missing where the store was touched just now.
        let _ = fs::remove_file(place.answer());
        again()
    };
    anew()?;
    // An answer is kept of a store that was left alone for two seconds.
    thread::sleep(Duration::from_secs(3));
    anew()?;
    ensure!(place.answer().exists(), "no answer was kept");
    let what = format!("size {}: skep today --json, whole process", size.number);
    let mut put = |what: &str, (took, theirs): (f64, f64)| {
        let more = format!(
            "{} ms against {} ms of sqlite3 counting",
            short(took),
            short(theirs)
        );
        if size.number == 3 {
            table.at_most(what, took / theirs, 1.5, "times", &more);
        } else {
            table.note(what, &format!("{} times ({more})", short(took / theirs)));
        }
    };
    let first = turns(TIMES, |_| anew(), |_| counted())?;
    put(&format!("{what}, worked out anew"), first);
    let more = turns(TIMES, |_| again(), |_| counted())?;
    put(&format!("{what}, asked again within a minute"), more);
    // As after another version of the sums: bottles are judged anew as well.
    let bare = || {
        place.forget_bottles()?;
        anew()
    };
    let (took, theirs) = turns(TIMES / 4, |_| bare(), |_| counted())?;
    table.note(
        &format!("{what}, worked out anew with nothing kept of bottles"),
        &format!("{} times ({} ms)", short(took / theirs), short(took)),
    );
    Ok(())
}

/// What no run goes below: the program's start.
pub(crate) fn start(place: &Place, table: &mut Table) -> anyhow::Result<()> {
    let store = SIZES[0].path(&place.folder);
    let ours = |_| timed(place.skep(&store).arg("--version"));
    let theirs = |_| timed(Command::new("sqlite3").arg("--version"));
    let (ours, theirs) = turns(TIMES, ours, theirs)?;
    table.note(
        "start of the program alone (--version)",
        &format!("{} ms; sqlite3's {} ms", short(ours), short(theirs)),
    );
    Ok(())
}

/// A million lines of loggers into an empty store.
pub(crate) fn listen(place: &Place, table: &mut Table) -> anyhow::Result<()> {
    let lines = place.home.join("logger.jsonl");
    let mut out = std::io::BufWriter::new(fs::File::create(&lines)?);
    for n in 0..1_000_000_u64 {
        let at = 1_600_000_000 + (n / 10) * 300;
        let vessel = n % 10 + 1;
        let warmth = 18.0 + (n % 97) as f64 / 50.0;
        writeln!(
            out,
            r#"{{"vessel":"J{vessel}","at":{at},"temperature_c":{warmth:.2}}}"#
        )?;
    }
    out.flush()?;
    drop(out);
    let mut rates = Vec::new();
    for _ in 0..3 {
        let store = place.home.join("intake.store");
        fs::copy(SIZES[0].path(&place.folder), &store)?;
        let took = timed(place.skep(&store).arg("listen").arg(&lines))?;
        rates.push(1_000_000.0 / took);
        let kept = ask(&store, "SELECT count(*) FROM sample")?;
        ensure!(kept == "1000000", "{kept} of a million samples were kept");
        fs::remove_file(&store)?;
    }
    table.at_least(
        "logger intake: skep listen, a million lines of JSON, whole process",
        median(&rates),
        200.0,
        "thousand rows a second",
        "",
    );
    Ok(())
}

/// The program itself.
pub(crate) fn binary(place: &Place, table: &mut Table) -> anyhow::Result<()> {
    let size = fs::metadata(&place.skep)?.len() as f64 / 1_048_576.0;
    table.at_most("binary", size, 12.0, "MiB", "");
    let out = Command::new("ldd")
        .arg(&place.skep)
        .output()
        .context("running ldd")?;
    let text = String::from_utf8_lossy(&out.stdout).into_owned();
    // The C library with its own parts: libm, the loader, the kernel's page, and
    // libgcc_s, by which Rust's own panics unwind.
    let of_libc = ["linux-vdso", "libc.so", "libm.so", "ld-linux", "libgcc_s"];
    let others: Vec<&str> = text
        .lines()
        .map(str::trim)
        .filter(|l| !l.is_empty() && !of_libc.iter().any(|o| l.contains(o)))
        .collect();
    let names: Vec<&str> = text
        .lines()
        .filter_map(|l| l.split_whitespace().next())
        .collect();
    let more = if others.is_empty() {
        names.join(", ")
    } else {
        others.join(", ")
    };
    table.at_most(
        "shared libraries beyond the C library's own",
        others.len() as f64,
        0.5,
        "",
        &more,
    );
    Ok(())
}

/// The readings as a sheet with the same columns, opened and worked out anew
/// by an office program without a screen.
pub(crate) fn sheet(place: &Place, size: Size, table: &mut Table) -> anyhow::Result<()> {
    let what = format!(
        "size {}: the readings as a spreadsheet, opened and worked out anew",
        size.number
    );
    if Command::new("soffice").arg("--version").output().is_err() {
        table.note(&what, "not measured: there is no office program here");
        return Ok(());
    }
    let store = size.path(&place.folder);
    let csv = ask_csv(&store)?;
    let file = place.home.join("readings.csv");
    fs::write(&file, with_formulas(&csv))?;
    let profile = format!(
        "-env:UserInstallation=file://{}",
        place.home.join("office").display()
    );
    let office = || {
        let mut command = Command::new("soffice");
        command
            .args([
                &profile,
                "--headless",
                "--convert-to",
                "xlsx:Calc MS Excel 2007 XML",
                "--outdir",
            ])
            .arg(&place.home)
            .arg(&file);
        timed(&mut command)
    };
    office()?;
    let ours = || {
        let _ = fs::remove_file(place.answer());
        timed(place.skep(&store).args(["today", "--json"]))
    };
    let (theirs, took) = turns(3, |_| office(), |_| ours())?;
    let rows = csv.lines().count() - 1;
    table.note(
        &what,
        &format!(
            "{} ms for {rows} readings with three formulas each; skep today --json of the same store {} ms, {} times quicker",
            short(theirs),
            short(took),
            short(theirs / took)
        ),
    );
    Ok(())
}

fn ask_csv(store: &Path) -> anyhow::Result<String> {
    let out = Command::new("sqlite3")
        .args(["-batch", "-init", "/dev/null", "-csv", "-header"])
        .arg(store)
        .arg(
            "SELECT v.tag, b.name, datetime(r.at_ms / 1000, 'unixepoch') AS at, r.kind, r.value, r.unit,
             r.sample_temp, r.sample_temp_unit, r.note
             FROM reading r JOIN vessel v ON v.id = r.vessel
             JOIN stay s ON s.vessel = r.vessel AND s.from_ms <= r.at_ms AND (s.to_ms IS NULL OR s.to_ms > r.at_ms)
             JOIN batch b ON b.id = s.batch ORDER BY r.at_ms",
        )
        .output()?;
    ensure!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    Ok(String::from_utf8_lossy(&out.stdout).into_owned())
}

/// What a maker's sheet reckons beside each reading: the first gravity of the
/// batch, alcohol by the common rule of thumb, days since the last reading.
fn with_formulas(csv: &str) -> String {
    let mut text = String::new();
    for (n, line) in csv.lines().enumerate() {
        text.push_str(line.trim_end());
        let row = n + 1;
        if n == 0 {
            text.push_str(",first,alcohol,days\n");
        } else {
            let _ = writeln!(
                text,
                ",\"=INDEX(E:E,MATCH(B{row},B:B,0))\",=(J{row}-E{row})*131.25,=C{row}-INDEX(C:C,MATCH(B{row},B:B,0))"
            );
        }
    }
    text
}
