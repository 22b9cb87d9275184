//! The real program in a pseudo-terminal: waits for words, never for time.

use crate::{clock, wait};
use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::sync::{Arc, Condvar, Mutex};
use std::thread;

pub(crate) struct Shared {
    pub(crate) parser: Mutex<(vt100::Parser, bool)>,
    pub(crate) changed: Condvar,
}

/// A running skep.
pub(crate) struct Terminal {
    pub(crate) shared: Arc<Shared>,
    pub(crate) writer: Box<dyn Write + Send>,
    master: Box<dyn MasterPty + Send>,
    /// How the terminal treated keys before skep took it.
    before: String,
    /// All that skep has written, as it came.
    pub(crate) bytes: Arc<Mutex<Vec<u8>>>,
    pub(crate) child: Box<dyn Child + Send + Sync>,
}

impl Terminal {
    pub(crate) fn start(store: &Path, home: &Path, words: &[&str]) -> Self {
        Self::start_with(env!("CARGO_BIN_EXE_skep"), store, home, words, &[])
    }

    /// Starts a program of that path with more in its environment.
    pub(crate) fn start_with(
        program: &str,
        store: &Path,
        home: &Path,
        words: &[&str],
        env: &[(&str, &str)],
    ) -> Self {
        let (rows, cols) = (24, 80);
        let size = PtySize {
            rows,
            cols,
            pixel_width: 0,
            pixel_height: 0,
        };
        let pair = native_pty_system().openpty(size).unwrap();
        let mut command = CommandBuilder::new(program);
        command.args(words);
        command.env_clear();
        for (name, value) in clock::environment() {
            command.env(name, value);
        }
        command.env("SKEP_STORE", store);
        command.env("HOME", home);
        command.env("XDG_CONFIG_HOME", home);
        command.env("XDG_DATA_HOME", home);
        command.env("XDG_STATE_HOME", home);
        command.env("TERM", "xterm-256color");
        for (name, value) in env {
            command.env(name, value);
        }
        let before = modes(pair.master.as_ref());
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let parser =
            vt100::Parser::new(NonZero::new(rows).unwrap(), NonZero::new(cols).unwrap(), 0);
        let shared = Arc::new(Shared {
            parser: Mutex::new((parser, false)),
            changed: Condvar::new(),
        });
        let mut reader = pair.master.try_clone_reader().unwrap();
        let theirs = Arc::clone(&shared);
        let all = Arc::new(Mutex::new(Vec::new()));
        let kept = Arc::clone(&all);
        thread::spawn(move || {
            let mut bytes = [0; 4096];
            loop {
                let read = reader.read(&mut bytes).unwrap_or(0);
                kept.lock().unwrap().extend_from_slice(&bytes[..read]);
                let mut screen = theirs.parser.lock().unwrap();
                screen.0.process(&bytes[..read]);
                screen.1 = read == 0;
                theirs.changed.notify_all();
                if read == 0 {
                    return;
                }
            }
        });
        Self {
            shared,
            writer: pair.master.take_writer().unwrap(),
            master: pair.master,
            before,
            bytes: all,
            child,
        }
    }

    /// Waits until the screen is as wanted.
    pub(crate) fn until(&mut self, what: &str, wanted: impl Fn(&vt100::Screen) -> bool) {
        let screen = self.shared.parser.lock().unwrap();
        let (screen, timeout) = self
            .shared
            .changed
            .wait_timeout_while(screen, wait::PATIENCE, |(parser, over)| {
                !wanted(parser.screen()) && !*over
            })
            .unwrap();
        let shown = screen.0.screen().contents();
        assert!(
            !timeout.timed_out() && wanted(screen.0.screen()),
            "waited for {what}; on the screen:\n{shown}"
        );
    }

    /// Looks at the screen as it is.
    pub(crate) fn look<T>(&self, at: impl Fn(&vt100::Screen) -> T) -> T {
        at(self.shared.parser.lock().unwrap().0.screen())
    }

    /// Waits until words stand on the screen.
    pub(crate) fn see(&mut self, words: &str) -> &mut Self {
        self.until(&format!("'{words}'"), |s| s.contents().contains(words));
        self
    }

    /// Waits until words are gone.
    pub(crate) fn gone(&mut self, words: &str) -> &mut Self {
        self.until(&format!("no '{words}'"), |s| !s.contents().contains(words));
        self
    }

    pub(crate) fn send(&mut self, keys: &str) -> &mut Self {
        self.writer.write_all(keys.as_bytes()).unwrap();
        self.writer.flush().unwrap();
        self
    }

    pub(crate) fn resize(&mut self, cols: u16, rows: u16) -> &mut Self {
        self.shared
            .parser
            .lock()
            .unwrap()
            .0
            .screen_mut()
            .set_size(NonZero::new(rows).unwrap(), NonZero::new(cols).unwrap());
        let size = PtySize {
            rows,
            cols,
            pixel_width: 0,
            pixel_height: 0,
        };
        self.master.resize(size).unwrap();
        self
    }

    /// Sends a signal.
    pub(crate) fn signal(&mut self, name: &str) -> &mut Self {
        wait::signal(self.child.process_id().unwrap(), name);
        self
    }

    /// Waits until the system says that the program is stopped.
    pub(crate) fn stopped(&mut self) -> &mut Self {
        let id = self.child.process_id().unwrap();
        let stat = format!("/proc/{id}/stat");
        wait::until("the program is stopped", || {
            state(Path::new(&stat)) == Some('T')
        });
        self
    }

    /// Whether the terminal treats keys as it did before skep took it.
    pub(crate) fn given_back(&self) -> bool {
        modes(self.master.as_ref()) == self.before
    }

    /// Waits until skep has nothing to do: for a while it wrote nothing, and all
    /// its threads wait. On a busy machine silence alone may be a turn not had.
    pub(crate) fn quiet(&self) {
        let (mut before, mut calm) = (self.written(), 0);
        wait::until("the program rests", || {
            let now = self.written();
            let still = now == before && !self.works();
            calm = if still { calm + 1 } else { 0 };
            before = now;
            calm == 40
        });
    }

    /// Whether a thread of the program runs or wants to. Only Linux tells.
    fn works(&self) -> bool {
        let id = self.child.process_id().unwrap();
        let threads = std::fs::read_dir(format!("/proc/{id}/task"));
        threads
            .into_iter()
            .flatten()
            .flatten()
            .any(|thread| matches!(state(&thread.path().join("stat")), Some('R' | 'D')))
    }

    /// Bytes written so far.
    pub(crate) fn written(&self) -> usize {
        self.bytes.lock().unwrap().len()
    }

    /// Waits until so many bytes are written.
    pub(crate) fn writes(&mut self, count: usize) {
        let bytes = Arc::clone(&self.bytes);
        let enough = move |_: &vt100::Screen| bytes.lock().unwrap().len() >= count;
        self.until(&format!("{count} bytes"), enough);
    }

    /// Waits until the program has ended and gives whether it ended well; the
    /// terminal must be as it was.
    pub(crate) fn ended(&mut self) -> bool {
        let screen = self.shared.parser.lock().unwrap();
        let (screen, timeout) = self
            .shared
            .changed
            .wait_timeout_while(screen, wait::PATIENCE, |(_, over)| !*over)
            .unwrap();
        let shown = screen.0.screen().contents();
        assert!(
            !timeout.timed_out(),
            "the terminal was not closed; on the screen:\n{shown}"
        );
        let status = self.child.wait().unwrap();
        let shown = screen.0.screen();
        assert!(!shown.alternate_screen(), "left the other screen on");
        assert!(!shown.hide_cursor(), "left the cursor hidden");
        assert!(!shown.bracketed_paste(), "left bracketed paste on");
        assert_eq!(
            shown.mouse_protocol_mode(),
            vt100::MouseProtocolMode::None,
            "left the mouse on"
        );
        assert!(self.given_back(), "left the keys raw: {}", self.before);
        status.success()
    }
}

/// The state that Linux gives in such a file, of a process or a thread.
fn state(stat: &Path) -> Option<char> {
    let stat = std::fs::read_to_string(stat).unwrap_or_default();
    // The name stands in brackets and may hold anything; the state comes after it.
    stat.rsplit_once(") ").and_then(|(_, s)| s.chars().next())
}

/// How a terminal treats keys and output, as the system tells it.
fn modes(master: &dyn MasterPty) -> String {
    master.get_termios().map_or_else(String::new, |t| {
        format!(
            "{:?} {:?} {:?}",
            t.input_flags, t.output_flags, t.local_flags
        )
    })
}

impl Drop for Terminal {
    fn drop(&mut self) {
        // Only where a test has failed does it still run.
        let _ = self.child.kill();
    }
}
