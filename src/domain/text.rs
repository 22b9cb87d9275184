//! Text from outside, made safe to draw, and measured.
//!
//! Names, notes, file contents and messages of other programs pass [`safe`]
//! before they become part of a screen or a printed line.

use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthStr;

/// Marks that one letter may carry; more are a prank that would run into
/// the lines above and below.
const MOST_MARKS: usize = 4;

/// The one function through which outside text becomes safe to draw.
///
/// Escape sequences are taken out whole, other control characters become `�`,
/// line breaks and tabs one blank. What turns the direction of writing, has no
/// width of its own, or is drawn with different widths by different terminals
/// (joiners, variation selectors, skin tones) is left out, so that columns
/// stay where they are.
pub fn safe(text: &str) -> String {
    if is_plain(text) {
        return text.to_owned();
    }
    let mut out = String::with_capacity(text.len());
    let mut chars = text.chars().peekable();
    let mut marks = 0;
    while let Some(c) = chars.next() {
        match c {
            '\u{1b}' | '\u{9b}' | '\u{90}' | '\u{9d}' | '\u{98}' | '\u{9e}' | '\u{9f}' => {
                skip_sequence(c, &mut chars);
            }
            '\r' if chars.peek() == Some(&'\n') => {}
            '\n' | '\r' | '\t' | '\u{b}' | '\u{c}' | '\u{85}' | '\u{2028}' | '\u{2029}' => {
                out.push(' ');
                marks = 0;
            }
            c if c.is_control() => out.push('\u{fffd}'),
            c if is_left_out(c) => {}
            c if is_mark(c) => {
                marks += 1;
                // A mark with nothing to stand on gets a dotted ring.
                if out.is_empty() || out.ends_with(' ') {
                    out.push('\u{25cc}');
                }
                if marks <= MOST_MARKS {
                    out.push(c);
                }
            }
            c => {
                out.push(c);
                marks = 0;
            }
        }
    }
    out
}

/// Returns the first character of a text that a terminal would obey and not show: a control
/// character other than a line break or tab, or one that turns the direction of writing.
pub fn order_in(text: &str) -> Option<char> {
    text.chars().find(|c| is_order(*c))
}

/// Whether a terminal would obey this character and not show it.
pub fn is_order(c: char) -> bool {
    (c.is_control() && !matches!(c, '\n' | '\t' | '\r'))
        || matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Skips the rest of an escape sequence whose first character is taken.
fn skip_sequence(first: char, chars: &mut std::iter::Peekable<std::str::Chars>) {
    let kind = match first {
        '\u{1b}' => match chars.peek().copied() {
            Some(c @ ('[' | ']' | 'P' | 'X' | '^' | '_')) => {
                chars.next();
                c
            }
            Some(' '..='/') => {
                while chars.next_if(|c| (' '..='/').contains(c)).is_some() {}
                chars.next_if(|c| ('0'..='~').contains(c));
                return;
            }
            Some('0'..='~') => {
                chars.next();
                return;
            }
            _ => return,
        },
        '\u{9b}' => '[',
        _ => ']',
    };
    if kind == '[' {
        while chars.next_if(|c| (' '..='?').contains(c)).is_some() {}
        chars.next_if(|c| ('@'..='~').contains(c));
        return;
    }
    // A string: up to BEL or ST. One that is never closed takes its line.
    while let Some(c) = chars.peek().copied() {
        match c {
            '\u{7}' | '\u{9c}' => {
                chars.next();
                return;
            }
            '\u{1b}' => {
                chars.next();
                chars.next_if_eq(&'\\');
                return;
            }
            '\n' | '\r' => return,
            _ => {
                chars.next();
            }
        }
    }
}

/// Characters that change how others are drawn without a column of their own.
fn is_left_out(c: char) -> bool {
    matches!(c,
        // Soft hyphen, combining grapheme joiner, fillers that look like blanks.
        '\u{ad}' | '\u{34f}' | '\u{115f}' | '\u{1160}' | '\u{3164}' | '\u{ffa0}'
        // Marks of direction, embeddings, overrides, isolates.
        | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
        // Mongolian selectors and separator, keycap ring.
        | '\u{180b}'..='\u{180f}' | '\u{20e3}'
        // Variation selectors, byte order mark, interlinear marks.
        | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}'
        // Skin tones, tags, more variation selectors, noncharacters.
        | '\u{1f3fb}'..='\u{1f3ff}' | '\u{e0000}'..='\u{e0fff}' | '\u{1d173}'..='\u{1d17a}'
        | '\u{fffe}' | '\u{ffff}')
}

/// Whether a character stands on the one before it.
fn is_mark(c: char) -> bool {
    use unicode_width::UnicodeWidthChar;
    c.width() == Some(0)
}

/// Whether each byte is a character of one column, as nearly all that is drawn is.
fn is_plain(text: &str) -> bool {
    text.bytes().all(|b| (b' '..=b'~').contains(&b))
}

/// Columns that safe text takes on a screen, counted as it is drawn: by
/// grapheme.
pub fn width(text: &str) -> usize {
    if is_plain(text) {
        return text.len();
    }
    text.graphemes(true).map(UnicodeWidthStr::width).sum()
}

/// As much of the text as fits, its end replaced by `…` where it does not. A
/// number is never cut: it is left out whole, so that no part of it is read.
pub fn cut(text: &str, columns: usize) -> String {
    if width(text) <= columns {
        return text.to_owned();
    }
    if columns == 0 {
        return String::new();
    }
    let mut out = take(text, columns - 1);
    let whole = out.trim_end_matches(of_a_number).len();
    // A digit within a word, as in a tag, is no number of its own.
    let alone = !out
        .get(..whole)
        .is_some_and(|head| head.ends_with(char::is_alphanumeric));
    if alone && out.ends_with(of_a_number) {
        out.truncate(whole);
        out.truncate(out.trim_end().len());
    }
    out.push('…');
    out
}

/// As many whole words as fit, and `…` where some were left out. A first word
/// that does not fit is cut.
pub fn shorten(text: &str, columns: usize) -> String {
    if width(text) <= columns {
        return text.to_owned();
    }
    let room = columns.saturating_sub(2);
    let words = wrap(text, room).into_iter().next().unwrap_or_default();
    let first = text.split_whitespace().next().unwrap_or_default();
    if width(first) > room {
        return cut(text, columns);
    }
    format!("{} …", words.trim_end_matches([',', ';', ':']))
}

/// Digits, and what stands between them.
fn of_a_number(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, '.' | ',' | ':' | '/' | '-' | '+' | '<' | '>')
}

/// The longest beginning that is not wider than that.
pub fn take(text: &str, columns: usize) -> String {
    if is_plain(text) {
        return text.chars().take(columns).collect();
    }
    let mut used = 0;
    text.graphemes(true)
        .take_while(|g| {
            used += g.width();
            used <= columns
        })
        .collect()
}

/// Exactly so many columns: cut where too long, filled up on the right.
pub fn fit(text: &str, columns: usize) -> String {
    let mut out = cut(text, columns);
    let have = width(&out);
    out.extend(std::iter::repeat_n(' ', columns.saturating_sub(have)));
    out
}

/// Exactly so many columns, the text at the right.
pub fn fit_right(text: &str, columns: usize) -> String {
    let out = cut(text, columns);
    let gap = columns.saturating_sub(width(&out));
    format!("{}{out}", " ".repeat(gap))
}

/// Lines no wider than that, broken between words where possible.
pub fn wrap(text: &str, columns: usize) -> Vec<String> {
    let columns = columns.max(1);
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let room = columns.saturating_sub(width(&line));
        if !line.is_empty() && width(word) < room {
            line.push(' ');
            line.push_str(word);
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        let mut rest = word.to_owned();
        while width(&rest) > columns {
            let mut head = take(&rest, columns);
            if head.is_empty() {
                // One character wider than the whole column: let it stand alone.
                head = rest.graphemes(true).take(1).collect();
            }
            rest = rest.chars().skip(head.chars().count()).collect();
            lines.push(head);
        }
        line = rest;
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_number_is_left_out_whole_rather_than_cut() {
        assert_eq!(cut("gravity 1.055 SG", 12), "gravity…");
        assert_eq!(cut("gravity 1.055 SG", 15), "gravity 1.055 …");
        assert_eq!(cut("16 of 24", 3), "…");
        // A tag with a digit is a word.
        assert_eq!(cut("J12 Clover", 4), "J12…");
        assert_eq!(cut("Clover and thyme", 9), "Clover a…");
    }

    #[test]
    fn escapes_do_not_reach_the_terminal() {
        assert_eq!(safe("a\x1b[31mred\x1b[0mb"), "aredb");
        assert_eq!(safe("\x1b]0;title\x07x"), "x");
        assert_eq!(safe("\x1b]8;;http://e.x\x1b\\link"), "link");
        assert_eq!(safe("\u{9b}2Jx"), "x");
        assert_eq!(
            safe("a\x07b\x08c\0d\x7f"),
            "a\u{fffd}b\u{fffd}c\u{fffd}d\u{fffd}"
        );
        assert_eq!(safe("one\r\ntwo\tthree"), "one two three");
        assert_eq!(safe("\x1b(Bx"), "x");
        assert_eq!(safe("ends in \x1b"), "ends in ");
    }

    #[test]
    fn overrides_of_direction_are_left_out() {
        assert_eq!(safe("a\u{202e}b\u{2066}c\u{200f}d"), "abcd");
        assert_eq!(safe("עברית"), "עברית");
    }

    #[test]
    fn doubtful_widths_are_made_plain() {
        assert_eq!(width(&safe("\u{26a0}\u{fe0f}")), 1);
        assert_eq!(width(&safe("蜂蜜")), 4);
        assert_eq!(width(&safe("e\u{301}")), 1);
        assert_eq!(safe("\u{301}x"), "\u{25cc}\u{301}x");
        let prank = format!("z{}", "\u{335}".repeat(50));
        assert_eq!(safe(&prank).chars().count(), 1 + MOST_MARKS);
    }

    #[test]
    fn cutting_keeps_whole_characters() {
        assert_eq!(cut("蜂蜜酒", 5), "蜂蜜…");
        assert_eq!(cut("蜂蜜酒", 4), "蜂…");
        assert_eq!(fit("蜂蜜酒", 4), "蜂… ");
        assert_eq!(fit_right("68", 5), "   68");
        assert_eq!(cut("anything", 0), "");
    }

    #[test]
    fn lines_break_between_words() {
        assert_eq!(
            wrap("swirl for two minutes", 9),
            ["swirl for", "two", "minutes"]
        );
        assert_eq!(wrap("abcdefgh", 3), ["abc", "def", "gh"]);
        assert!(wrap("  ", 9).is_empty());
    }

    proptest! {
        #[test]
        fn safe_text_is_safe_and_stays_so(text in any::<String>()) {
            let once = safe(&text);
            prop_assert!(!once.chars().any(|c| c.is_control() || is_left_out(c)));
            prop_assert_eq!(safe(&once), once);
        }

        #[test]
        fn every_string_is_made_safe(codes in prop::collection::vec(0_u32..0x3000, 0..40)) {
            let text: String = codes.into_iter().filter_map(char::from_u32).collect();
            let once = safe(&text);
            prop_assert!(!once.chars().any(|c| c.is_control() || is_left_out(c)));
        }

        #[test]
        fn fitting_gives_exactly_the_columns(text in any::<String>(), columns in 0_usize..40) {
            let text = safe(&text);
            prop_assert_eq!(width(&fit(&text, columns)), columns);
            prop_assert_eq!(width(&fit_right(&text, columns)), columns);
        }

        #[test]
        fn no_line_is_too_wide(text in "[a-z 蜂é]{0,60}", columns in 2_usize..30) {
            let lines = wrap(&text, columns);
            prop_assert!(lines.iter().all(|l| width(l) <= columns));
            let words = |s: &str| s.chars().filter(|c| *c != ' ').collect::<String>();
            prop_assert_eq!(words(&lines.concat()), words(&text));
        }
    }
}
