//! What goes to a terminal carries no orders to it, whatever verb wrote it.

use crate::domain::text::is_order;
use std::io::{self, Write};

/// An output to a terminal. Words from outside are made safe where lines are
/// put together; tables and JSON are written as they are, since a file wants
/// them so. Here the last look is taken.
pub(super) struct Guard<W> {
    inner: W,
    /// The beginning of a character whose other bytes have not come yet.
    begun: Vec<u8>,
}

impl<W: Write> Guard<W> {
    pub(super) fn new(inner: W) -> Self {
        let begun = Vec::new();
        Self { inner, begun }
    }

    fn pass(&mut self, text: &str) -> io::Result<()> {
        if text.contains(is_order) {
            let plain: String = text
                .chars()
                .map(|c| if is_order(c) { '\u{fffd}' } else { c })
                .collect();
            return self.inner.write_all(plain.as_bytes());
        }
        self.inner.write_all(text.as_bytes())
    }
}

impl<W: Write> Write for Guard<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.begun.extend_from_slice(bytes);
        let waiting = std::mem::take(&mut self.begun);
        let mut rest = waiting.as_slice();
        loop {
            match std::str::from_utf8(rest) {
                Ok(text) => {
                    self.pass(text)?;
                    return Ok(bytes.len());
                }
                Err(why) => {
                    let (good, bad) = rest.split_at(why.valid_up_to());
                    self.pass(&String::from_utf8_lossy(good))?;
                    let Some(length) = why.error_len() else {
                        self.begun = bad.to_vec();
                        return Ok(bytes.len());
                    };
                    self.pass("\u{fffd}")?;
                    rest = bad.get(length..).unwrap_or_default();
                }
            }
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inner.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn orders_become_a_sign_and_words_stay() {
        let mut out = Vec::new();
        let hostile = "a\u{1b}]0;x\u{7}b\u{9b}31m\u{202e}c\té\u{1f41d}\n";
        Guard::new(&mut out).write_all(hostile.as_bytes()).unwrap();
        let said = String::from_utf8(out).unwrap();
        assert_eq!(
            said,
            "a\u{fffd}]0;x\u{fffd}b\u{fffd}31m\u{fffd}c\té\u{1f41d}\n"
        );
    }

    proptest! {
        #[test]
        fn it_is_the_same_however_it_is_cut(text in "\\PC{0,40}", at in 0_usize..160) {
            let bytes = text.as_bytes();
            let (first, second) = bytes.split_at(at.min(bytes.len()));
            let mut out = Vec::new();
            let mut guard = Guard::new(&mut out);
            guard.write_all(first).unwrap();
            guard.write_all(second).unwrap();
            let wanted = text.replace(is_order, "\u{fffd}");
            prop_assert_eq!(String::from_utf8(out).unwrap(), wanted);
        }
    }
}
