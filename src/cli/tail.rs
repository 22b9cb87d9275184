//! Lines of a stream or of a file that grows, read on a thread of their own.

use super::trouble::Trouble;
use std::fs::File;
use std::io::{BufRead, BufReader, Read, Seek};
use std::path::Path;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::time::Duration;

/// A longer line is none of ours.
const LONGEST: u64 = 64 * 1024;
/// Lines handed over together, so that a million pass quickly.
const TOGETHER: usize = 1000;
/// How often a file is looked at for more.
const LOOK: Duration = Duration::from_millis(200);

/// What the thread tells.
pub(super) enum Told {
    /// Whole lines without their end.
    Lines(Vec<Vec<u8>>),
    /// A line that was too long, and skipped.
    TooLong,
    /// Reading failed, in words.
    Broken(String),
}

/// The reading thread.
pub(super) struct Tail {
    to: SyncSender<Told>,
    waiting: Vec<Vec<u8>>,
    part: Vec<u8>,
    skipping: bool,
}

/// The other side went away.
struct Gone;

impl Tail {
    /// Begins to read a file, or what comes in when there is none or it is `-`.
    pub(super) fn start(file: Option<&Path>, follow: bool) -> Result<Receiver<Told>, Trouble> {
        let file = file.filter(|f| *f != Path::new("-"));
        let (to, from) = sync_channel(64);
        let mut tail = Self {
            to,
            waiting: Vec::new(),
            part: Vec::new(),
            skipping: false,
        };
        match file {
            None if follow => return Err(Trouble::usage("--follow needs a file")),
            None => {
                std::thread::spawn(move || {
                    let _ = tail.all(&mut BufReader::with_capacity(
                        1 << 16,
                        std::io::stdin().lock(),
                    ));
                    let _ = tail.end();
                });
            }
            Some(path) => {
                let opened = File::open(path).map_err(|why| {
                    Trouble::broken(format!("{} can't be read: {why}", path.display()))
                })?;
                let path = path.to_path_buf();
                std::thread::spawn(move || {
                    let _ = tail.file(opened, &path, follow);
                    let _ = tail.end();
                });
            }
        }
        Ok(from)
    }

    fn file(&mut self, opened: File, path: &Path, follow: bool) -> Result<(), Gone> {
        let mut reader = BufReader::with_capacity(1 << 16, opened);
        loop {
            self.all(&mut reader)?;
            if !follow {
                return Ok(());
            }
            std::thread::sleep(LOOK);
            // A file cut short, or another one in its place, begins anew.
            if let Some(fresh) = renewed(&mut reader, path) {
                self.part.clear();
                self.skipping = false;
                reader = BufReader::with_capacity(1 << 16, fresh);
            }
        }
    }

    /// Reads whole lines until there is no more; the begun one waits.
    fn all(&mut self, reader: &mut BufReader<impl Read>) -> Result<(), Gone> {
        loop {
            // Reading on may wait for long: what is there goes out first.
            if !reader.buffer().contains(&b'\n') {
                self.flush()?;
            }
            let room = LONGEST.saturating_sub(self.part.len() as u64) + 1;
            let read = reader.by_ref().take(room).read_until(b'\n', &mut self.part);
            match read {
                Ok(0) => return self.flush(),
                Ok(_) if self.part.last() == Some(&b'\n') => {
                    self.part.pop();
                    let line = std::mem::take(&mut self.part);
                    if std::mem::take(&mut self.skipping) {
                        continue;
                    }
                    self.waiting.push(line);
                    if self.waiting.len() >= TOGETHER {
                        self.flush()?;
                    }
                }
                Ok(_) if self.part.len() as u64 > LONGEST => {
                    self.part.clear();
                    if !std::mem::replace(&mut self.skipping, true) {
                        self.flush()?;
                        self.to.send(Told::TooLong).map_err(|_| Gone)?;
                    }
                }
                Ok(_) => {}
                Err(why) if why.kind() == std::io::ErrorKind::Interrupted => {}
                Err(why) => {
                    self.flush()?;
                    return self
                        .to
                        .send(Told::Broken(why.to_string()))
                        .map_err(|_| Gone);
                }
            }
        }
    }

    fn flush(&mut self) -> Result<(), Gone> {
        if self.waiting.is_empty() {
            return Ok(());
        }
        let lines = std::mem::take(&mut self.waiting);
        self.to.send(Told::Lines(lines)).map_err(|_| Gone)
    }

    /// The last line may lack its end.
    fn end(&mut self) -> Result<(), Gone> {
        if !self.part.is_empty() && !self.skipping {
            let line = std::mem::take(&mut self.part);
            self.waiting.push(line);
        }
        self.flush()
    }
}

/// The file opened again, when it is shorter than what was read or another one.
fn renewed(reader: &mut BufReader<File>, path: &Path) -> Option<File> {
    let at = reader.stream_position().ok()?;
    let there = std::fs::metadata(path).ok()?;
    let ours = reader.get_ref().metadata().ok()?;
    if there.len() >= at && same_file(&there, &ours) {
        return None;
    }
    File::open(path).ok()
}

#[cfg(unix)]
fn same_file(a: &std::fs::Metadata, b: &std::fs::Metadata) -> bool {
    use std::os::unix::fs::MetadataExt;
    a.ino() == b.ino() && a.dev() == b.dev()
}

#[cfg(not(unix))]
fn same_file(_: &std::fs::Metadata, _: &std::fs::Metadata) -> bool {
    true
}
