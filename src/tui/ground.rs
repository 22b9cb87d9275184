//! Asking the terminal whether its ground is dark or light.
//!
//! The first frame waits for the answer no longer than a blink. An answer that
//! comes later is taken out of what was typed and used then.

use super::theme::Ground;
use crate::app::{Code, Key};

/// What came of asking.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Asked {
    /// What the terminal said of its ground.
    pub(super) ground: Option<Ground>,
    /// What is still to come.
    pub(super) late: Late,
}

/// An answer that is still to come, among the keys.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) enum Late {
    /// Nothing is to come.
    #[default]
    Nothing,
    /// It may come yet.
    Waiting,
    /// It is coming: so much of it is there.
    Coming(String),
}

/// What a key was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Taken {
    /// A key of the maker's.
    Key,
    /// A piece of the answer.
    Piece,
    /// The end of the answer.
    Answer(Option<Ground>),
}

impl Late {
    /// No answer is longer; what follows is typed by hand.
    const LONGEST: usize = 64;

    /// Takes a key that may belong to the answer: it begins as `ESC ]`, read as
    /// Alt and a bracket, and ends with BEL or `ESC \`.
    pub(super) fn take(&mut self, key: Key) -> Taken {
        let begins = key.alt && key.code == Code::Char(']');
        let bell = key.ctrl && key.code == Code::Char('g');
        let ends = bell || (key.alt && key.code == Code::Char('\\'));
        match self {
            Self::Waiting if begins => {
                *self = Self::Coming(String::new());
                Taken::Piece
            }
            Self::Coming(said) if ends => {
                let ground = Ground::of_reply(said);
                *self = Self::Nothing;
                Taken::Answer(ground)
            }
            Self::Coming(said) => match key.typed() {
                Some(c) if said.len() < Self::LONGEST => {
                    said.push(c);
                    Taken::Piece
                }
                _ => {
                    *self = Self::Nothing;
                    Taken::Key
                }
            },
            Self::Nothing | Self::Waiting => Taken::Key,
        }
    }
}

/// Asks, and waits a little for the answer; none where there is none. The
/// terminal must be in raw mode, and nothing else may read it meanwhile.
#[cfg(unix)]
pub(super) fn ask() -> Asked {
    use std::io::{IsTerminal, Write, stdin, stdout};
    let mut out = stdout();
    // The second question is one that nearly every terminal answers: its
    // answer comes after the first one's, so nobody waits in vain.
    let asked = stdin().is_terminal()
        && out.is_terminal()
        && out.write_all(b"\x1b]11;?\x07\x1b[c").is_ok()
        && out.flush().is_ok();
    if asked {
        heard(&answer())
    } else {
        Asked::default()
    }
}

/// What the bytes say that came in time.
fn heard(said: &[u8]) -> Asked {
    let text = String::from_utf8_lossy(said);
    let ground = Ground::of_reply(&text);
    let begun = text.find("\x1b]");
    let over = text.contains(['\x07', '\\']);
    let late = match begun {
        _ if is_whole(said) || over => Late::Nothing,
        Some(at) => Late::Coming(text.get(at + 2..).unwrap_or_default().to_owned()),
        None => Late::Waiting,
    };
    Asked {
        ground: ground.filter(|_| late == Late::Nothing),
        late,
    }
}

/// What the terminal sends, up to the answer to the second question.
#[cfg(unix)]
fn answer() -> Vec<u8> {
    use rustix::event::{PollFd, PollFlags, Timespec, poll};
    /// Longest wait for the next piece of an answer, in nanoseconds: two frames
    /// of a screen at 60 Hz, so that the first picture is not held up.
    const PATIENCE: i64 = 35_000_000;
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
fn is_whole(said: &[u8]) -> bool {
    let start = said.windows(3).position(|w| w == b"\x1b[?");
    start.is_some_and(|i| said.iter().skip(i).any(|b| *b == b'c'))
}

/// There is no way to ask that works everywhere.
#[cfg(not(unix))]
pub(super) fn ask() -> Asked {
    Asked::default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn alt(c: char) -> Key {
        Key {
            alt: true,
            ..Key::char(c)
        }
    }

    #[test]
    fn an_answer_in_time_leaves_nothing_to_come() {
        let whole = b"\x1b]11;rgb:ffff/ffff/ffff\x07\x1b[?62;22c";
        assert_eq!(heard(whole).ground, Some(Ground::Light));
        assert_eq!(heard(whole).late, Late::Nothing);
        // A terminal that knows the second question only.
        assert_eq!(heard(b"\x1b[?1;2c"), Asked::default());
    }

    #[test]
    fn a_late_answer_is_no_typing() {
        let mut late = heard(b"").late;
        assert_eq!(late.take(Key::char('j')), Taken::Key);
        assert_eq!(late.take(alt(']')), Taken::Piece);
        for c in "11;rgb:1e1e/1e1e/1e1e".chars() {
            assert_eq!(late.take(Key::char(c)), Taken::Piece);
        }
        let end = late.take(Key::ctrl('g'));
        assert_eq!(end, Taken::Answer(Some(Ground::Dark)));
        assert_eq!(late.take(Key::char('4')), Taken::Key);
    }

    #[test]
    fn half_an_answer_is_followed_by_its_other_half() {
        let asked = heard(b"\x1b]11;rgb:ffff/ff");
        assert_eq!(asked.ground, None);
        let mut late = asked.late;
        for c in "ff/ffff".chars() {
            assert_eq!(late.take(Key::char(c)), Taken::Piece);
        }
        assert_eq!(late.take(alt('\\')), Taken::Answer(Some(Ground::Light)));
    }
}
