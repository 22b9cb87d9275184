//! The real program in a pseudo-terminal, each piece of its output with its time.

use anyhow::Context;
use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

const ROWS: u16 = 40;
const COLS: u16 = 120;

/// As terminals answer: a black ground, and what kind of terminal it is.
const ANSWER: &[u8] = b"\x1b]11;rgb:0000/0000/0000\x07\x1b[?62;22c";

type Piece = (Instant, Vec<u8>);

/// A running dashboard.
pub(crate) struct Terminal {
    began: Instant,
    parser: vt100::Parser,
    pieces: Receiver<Piece>,
    writer: Arc<Mutex<Box<dyn Write + Send>>>,
    child: Box<dyn Child + Send + Sync>,
    _master: Box<dyn MasterPty + Send>,
}

impl Terminal {
    pub(crate) fn start(skep: &Path, store: &Path, home: &Path) -> anyhow::Result<Self> {
        let size = PtySize {
            rows: ROWS,
            cols: COLS,
            pixel_width: 0,
            pixel_height: 0,
        };
        let pair = native_pty_system().openpty(size)?;
        let mut command = CommandBuilder::new(skep);
        command.env("SKEP_STORE", store);
        for name in crate::whole::HOMES {
            command.env(name, home);
        }
        command.env("TERM", "xterm-256color");
        command.env("TZ", "UTC");
        command.env_remove("NO_COLOR");
        let mut reader = pair.master.try_clone_reader()?;
        let writer = Arc::new(Mutex::new(pair.master.take_writer()?));
        let answers = Arc::clone(&writer);
        let (to, pieces) = channel();
        let began = Instant::now();
        let child = pair.slave.spawn_command(command)?;
        drop(pair.slave);
        thread::spawn(move || {
            let mut bytes = vec![0; 1 << 16];
            while let Ok(n) = reader.read(&mut bytes) {
                let piece = bytes.get(..n).unwrap_or_default().to_vec();
                if piece.windows(3).any(|w| w == b"\x1b[c") && say(&answers, ANSWER).is_err() {
                    return;
                }
                if n == 0 || to.send((Instant::now(), piece)).is_err() {
                    return;
                }
            }
        });
        let (rows, cols) = (NonZero::new(ROWS), NonZero::new(COLS));
        let parser = vt100::Parser::new(rows.context("rows")?, cols.context("columns")?, 0);
        Ok(Self {
            began,
            parser,
            pieces,
            writer,
            child,
            _master: pair.master,
        })
    }

    /// What comes until nothing has come for `quiet`, or for `most` in all.
    fn collect(&self, quiet: Duration, most: Duration) -> Vec<Piece> {
        let mut all = Vec::new();
        let start = Instant::now();
        loop {
            let wait = if all.is_empty() { most } else { quiet };
            match self.pieces.recv_timeout(wait) {
                Ok(piece) => all.push(piece),
                Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => return all,
            }
            if start.elapsed() > most {
                return all;
            }
        }
    }

    /// Waits for the first screen. Gives milliseconds from the start until the
    /// screen first stood as it then stayed.
    pub(crate) fn first_frame(&mut self) -> anyhow::Result<f64> {
        let mut shown: Vec<(Instant, String)> = Vec::new();
        // The first start after a change may learn from thousands of batches.
        while self.began.elapsed() < Duration::from_secs(30) {
            let pieces = self.collect(Duration::from_millis(600), Duration::from_secs(1));
            for (at, bytes) in pieces {
                self.parser.process(&bytes);
                shown.push((at, body(self.parser.screen())));
            }
            if shown.last().is_some_and(|(_, last)| complete(last)) {
                break;
            }
        }
        let last = shown.last().context("no frame came")?.1.clone();
        anyhow::ensure!(complete(&last), "no vessel is shown:\n{last}");
        let first = shown.iter().find(|(_, body)| *body == last);
        let (at, _) = first.context("no frame")?;
        Ok(ms(at.duration_since(self.began)))
    }

    /// Sends keys; gives milliseconds until the last piece of what they changed,
    /// none where they changed nothing.
    pub(crate) fn key(&mut self, keys: &str) -> anyhow::Result<Option<f64>> {
        // What is still to come of before is no answer to this key.
        for (_, bytes) in self.pieces.try_iter() {
            self.parser.process(&bytes);
        }
        let sent = Instant::now();
        say(&self.writer, keys.as_bytes())?;
        let pieces = self.collect(Duration::from_millis(25), Duration::from_millis(60));
        for (_, bytes) in &pieces {
            self.parser.process(bytes);
        }
        Ok(pieces.last().map(|(at, _)| ms(at.duration_since(sent))))
    }

    /// The process's number.
    pub(crate) fn id(&self) -> anyhow::Result<u32> {
        self.child.process_id().context("no process")
    }

    /// What stands on the screen.
    pub(crate) fn text(&self) -> String {
        self.parser.screen().contents()
    }

    /// Takes in what has come meanwhile.
    pub(crate) fn look(&mut self) {
        for (_, bytes) in self.pieces.try_iter() {
            self.parser.process(&bytes);
        }
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        let _ = say(&self.writer, b"\x03");
        // The first start of a day copies the store before it ends.
        for _ in 0..600 {
            if !matches!(self.child.try_wait(), Ok(None)) {
                break;
            }
            thread::sleep(Duration::from_millis(50));
        }
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn say(to: &Mutex<Box<dyn Write + Send>>, bytes: &[u8]) -> anyhow::Result<()> {
    let mut writer = to.lock().ok().context("a thread has failed")?;
    writer.write_all(bytes)?;
    Ok(writer.flush()?)
}

/// The engine has had its say.
fn complete(body: &str) -> bool {
    body.contains("J1") && !body.contains("Working the morning out")
}

/// The screen's words without the line that shows the time of day.
fn body(screen: &vt100::Screen) -> String {
    let rows: Vec<String> = screen.rows(0, COLS).skip(1).collect();
    rows.join("\n")
}

pub(crate) fn ms(d: Duration) -> f64 {
    d.as_secs_f64() * 1000.0
}
