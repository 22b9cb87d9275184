//! Makes stores of four sizes and measures skep on them; see `tests/speed/measure`.
//!
//!     speed make FOLDER [SIZE]...
//!     speed measure FOLDER SKEP [PART]...
//!
//! Parts: `frames`, `keys`, `engine`, `commands`, `trend`, `intake`, `memory`,
//! `binary`, `idle`, `sheet`; all of them unless named.

#![expect(
    clippy::disallowed_methods,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "it measures time, and prints what it found"
)]

mod inside;
mod screen;
mod stores;
mod table;
mod terminal;
mod whole;

use anyhow::{Context, bail};
use skep::clock;
use std::path::Path;
use stores::{SIZES, Size};
use table::Table;
use whole::Place;

fn main() -> anyhow::Result<()> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    match words
        .iter()
        .map(String::as_str)
        .collect::<Vec<_>>()
        .as_slice()
    {
        ["make", folder, sizes @ ..] => make(Path::new(folder), sizes),
        ["measure", folder, skep, parts @ ..] => {
            let table = measure(Path::new(folder), Path::new(skep), parts)?;
            print!("{}", table.text());
            eprintln!("{} marks missed", table.missed());
            Ok(())
        }
        _ => bail!("usage: speed make FOLDER [SIZE]... | speed measure FOLDER SKEP [PART]..."),
    }
}

fn make(folder: &Path, sizes: &[&str]) -> anyhow::Result<()> {
    for size in SIZES {
        let number = size.number.to_string();
        if sizes.is_empty() || sizes.contains(&number.as_str()) {
            let path = stores::make(folder, size, clock::now())?;
            eprintln!(
                "{}: {} bytes",
                path.display(),
                std::fs::metadata(&path)?.len()
            );
        }
    }
    Ok(())
}

fn measure(folder: &Path, skep: &Path, parts: &[&str]) -> anyhow::Result<Table> {
    let wanted = |part: &str| parts.is_empty() || parts.contains(&part);
    let home = folder.join("home");
    std::fs::create_dir_all(&home)?;
    let place = Place {
        skep: skep
            .canonicalize()
            .with_context(|| format!("no {}", skep.display()))?,
        folder: folder.canonicalize()?,
        home: home.canonicalize()?,
    };
    let now = clock::now();
    let sizes: Vec<Size> = SIZES
        .into_iter()
        .filter(|s| there(&s.path(folder)))
        .collect();
    let up_to_three = || sizes.iter().copied().filter(|s| s.number <= 3);
    let mut table = Table::default();
    if wanted("binary") {
        whole::binary(&place, &mut table)?;
    }
    if wanted("frames") {
        screen::first_frames(&place, &sizes, &mut table)?;
    }
    if wanted("keys") {
        for size in &sizes {
            screen::keys(&place, *size, &mut table)?;
        }
    }
    if wanted("engine") {
        for size in &sizes {
            inside::engine(folder, *size, now, &mut table)?;
        }
    }
    if wanted("commands") {
        whole::start(&place, &mut table)?;
        for size in &sizes {
            whole::today(&place, *size, &mut table)?;
            whole::keep(&place, *size, &mut table)?;
        }
    }
    let third = up_to_three().find(|s| s.number == 3);
    if let Some(size) = third {
        if wanted("trend") {
            inside::trend(folder, size, now, &mut table)?;
        }
        if wanted("memory") {
            screen::memory(&place, size, &mut table)?;
        }
        if wanted("idle") {
            screen::idle(&place, size, &mut table)?;
        }
    }
    if wanted("intake") {
        whole::listen(&place, &mut table)?;
    }
    if wanted("sheet")
        && let Some(size) = up_to_three().find(|s| s.number == 2)
    {
        whole::sheet(&place, size, &mut table)?;
    }
    Ok(table)
}

fn there(path: &Path) -> bool {
    path.exists()
}
