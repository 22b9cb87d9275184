//! Asking the terminal whether its ground is dark or light.

use super::theme::Ground;

/// Asks, and waits a little for the answer; none where there is none. The
/// terminal must be in raw mode, and nothing else may read it meanwhile.
#[cfg(unix)]
pub(super) fn ask() -> Option<Ground> {
    use std::io::{IsTerminal, Write, stdin, stdout};
    if !stdin().is_terminal() || !stdout().is_terminal() {
        return None;
    }
    let mut out = stdout();
    // The second question is one that nearly every terminal answers: its
    // answer comes after the first one's, so nobody waits in vain.
    out.write_all(b"\x1b]11;?\x07\x1b[c").ok()?;
    out.flush().ok()?;
    Ground::of_reply(&String::from_utf8_lossy(&answer()))
}

/// What the terminal sends, up to the answer to the second question.
#[cfg(unix)]
fn answer() -> Vec<u8> {
    use rustix::event::{PollFd, PollFlags, Timespec, poll};
    /// Longest wait for the next piece of an answer, in nanoseconds.
    const PATIENCE: i64 = 400_000_000;
    let stdin = std::io::stdin();
    let mut said = Vec::new();
    let mut bytes = [0_u8; 128];
    while said.len() < 512 && !is_whole(&said) {
        let wait = Timespec {
            tv_sec: 0,
            tv_nsec: PATIENCE,
        };
        let mut ready = [PollFd::new(&stdin, PollFlags::IN)];
        match poll(&mut ready, Some(&wait)) {
            Ok(n) if n > 0 => {}
            _ => break,
        }
        match rustix::io::read(&stdin, &mut bytes) {
            Ok(n) if n > 0 => said.extend(bytes.iter().take(n)),
            _ => break,
        }
    }
    said
}

/// Whether the answer to the second question is there: `ESC [ ? ... c`.
#[cfg(unix)]
fn is_whole(said: &[u8]) -> bool {
    let start = said.windows(3).position(|w| w == b"\x1b[?");
    start.is_some_and(|i| said.iter().skip(i).any(|b| *b == b'c'))
}

/// There is no way to ask that works everywhere.
#[cfg(not(unix))]
pub(super) fn ask() -> Option<Ground> {
    None
}
