//! Putting words on the screen: every text passes through here, is made safe,
//! and is cut to the room it has.

use super::text::{cut, safe, shorten, take, width, wrap};
use super::theme::{Mark, Role, Theme, Tone};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// A pen on an area: where it writes, and in which theme.
pub struct Ink<'a> {
    /// Where it writes.
    pub area: Rect,
    /// Colours and marks.
    pub theme: &'a Theme,
    buf: &'a mut Buffer,
}

impl<'a> Ink<'a> {
    /// A pen on what of the area lies within the buffer.
    pub fn new(area: Rect, theme: &'a Theme, buf: &'a mut Buffer) -> Self {
        Self {
            area: area.intersection(buf.area),
            theme,
            buf,
        }
    }

    /// The same pen on another area.
    pub fn on(&mut self, area: Rect) -> Ink<'_> {
        Ink::new(area, self.theme, self.buf)
    }

    /// The buffer itself, for widgets that draw by themselves.
    pub fn buffer(&mut self) -> &mut Buffer {
        self.buf
    }

    /// Writes words at a column and row of the area, in at most `room` columns;
    /// gives the column after them.
    pub fn words(&mut self, x: u16, y: u16, room: u16, text: &str, style: Style) -> u16 {
        if y >= self.area.height || x >= self.area.width {
            return x;
        }
        let room = room.min(self.area.width - x);
        let text = cut(&safe(text), usize::from(room));
        self.buf
            .set_string(self.area.x + x, self.area.y + y, &text, style);
        x + width(&text) as u16
    }

    /// Words in a role, in all the room there is.
    pub fn say(&mut self, x: u16, y: u16, text: &str, role: Role) -> u16 {
        let style = self.theme.style(role);
        self.words(x, y, u16::MAX, text, style)
    }

    /// Words in a role, cut to a column's width.
    pub fn column(&mut self, x: u16, y: u16, room: u16, text: &str, role: Role) -> u16 {
        let style = self.theme.style(role);
        self.words(x, y, room, text, style)
    }

    /// A number that ends at a column; left out when it does not fit, never cut.
    pub fn number(&mut self, x: u16, y: u16, room: u16, text: &str, role: Role) {
        let text = safe(text);
        let wide = width(&text) as u16;
        if wide <= room {
            let style = self.theme.style(role);
            self.words(x + room - wide, y, wide, &text, style);
        }
    }

    /// Words that end at the right edge of the area.
    pub fn right(&mut self, y: u16, text: &str, role: Role) -> u16 {
        let text = safe(text);
        let wide = (width(&text) as u16).min(self.area.width);
        let style = self.theme.style(role);
        let x = self.area.width - wide;
        self.words(x, y, wide, &text, style);
        x
    }

    /// A mark in its tone.
    pub fn mark(&mut self, x: u16, y: u16, mark: Mark) -> u16 {
        let style = self.theme.tone(mark.tone());
        self.words(x, y, 1, self.theme.mark(mark), style);
        x + 1
    }

    /// The row that is chosen: a mark at its left, and a ground over all of it.
    /// Drawn before its words or after them.
    pub fn here(&mut self, y: u16) {
        self.wash(y, Role::Chosen);
        self.say(0, y, self.theme.mark(Mark::Here), Role::Accent);
        if y < self.area.height {
            let cell = Rect {
                y: self.area.y + y,
                height: 1,
                width: self.area.width.min(1),
                ..self.area
            };
            self.buf.set_style(cell, self.theme.style(Role::Chosen));
        }
    }

    /// A paragraph; gives the number of rows it took.
    pub fn paragraph(&mut self, x: u16, y: u16, text: &str, role: Role) -> u16 {
        let style = self.theme.style(role);
        self.lines(x, y, text, style, self.area.height)
    }

    /// A paragraph of at most so many rows; gives the number of rows it took.
    pub fn lines(&mut self, x: u16, y: u16, text: &str, style: Style, most: u16) -> u16 {
        let room = self.area.width.saturating_sub(x);
        if room == 0 {
            return 0;
        }
        let lines = wrap(&safe(text), usize::from(room));
        let most = most.min(self.area.height.saturating_sub(y));
        let shown = (lines.len() as u16).min(most);
        for (i, line) in lines.iter().take(usize::from(shown)).enumerate() {
            let last = i + 1 == usize::from(shown) && lines.len() > usize::from(shown);
            let line = if last {
                let rest = lines.get(i..).unwrap_or_default().join(" ");
                shorten(&rest, usize::from(room))
            } else {
                line.clone()
            };
            self.words(x, y + i as u16, room, &line, style);
        }
        shown
    }

    /// A role over a whole row, keeping its text.
    pub fn wash(&mut self, y: u16, role: Role) {
        if y < self.area.height {
            let row = Rect {
                y: self.area.y + y,
                height: 1,
                ..self.area
            };
            self.buf.set_style(row, self.theme.style(role));
        }
    }

    /// A thin line across a row.
    pub fn rule(&mut self, y: u16, role: Role) {
        let line = self.theme.symbol("─", "-");
        let text = line.repeat(usize::from(self.area.width));
        self.say(0, y, &text, role);
    }

    /// A thin line across a row, from a column on.
    pub fn rule_from(&mut self, x: u16, y: u16, role: Role) {
        let line = self.theme.symbol("─", "-");
        let wide = usize::from(self.area.width.saturating_sub(x));
        self.say(x, y, &line.repeat(wide), role);
    }

    /// Rows that a paragraph from a column on would take.
    pub fn rows(&self, x: u16, text: &str) -> u16 {
        let room = self.area.width.saturating_sub(x);
        if room == 0 {
            return 0;
        }
        wrap(&safe(text), usize::from(room)).len() as u16
    }

    /// A share as a thick line in a thin one.
    pub fn share(&mut self, x: u16, y: u16, room: u16, share: f64, role: Role) {
        let full = (share.clamp(0.0, 1.0) * f64::from(room)).round() as usize;
        let thick = self.theme.symbol("━", "=").repeat(full);
        let rest = usize::from(room) - full.min(usize::from(room));
        let thin = self.theme.symbol("─", "-").repeat(rest);
        let x = self.column(x, y, room, &thick, role);
        self.column(x, y, rest as u16, &thin, Role::Faint);
    }

    /// The style of a tone.
    pub fn tone(&self, tone: Tone) -> Style {
        self.theme.tone(tone)
    }
}

/// As much of the text as fits from a column on, for a field that scrolls.
pub fn window(text: &str, skip: usize, columns: usize) -> String {
    let text = safe(text);
    let head = width(&take(&text, skip));
    let rest: String = {
        let taken = take(&text, skip);
        text.strip_prefix(taken.as_str()).unwrap_or("").to_owned()
    };
    // A wide character cut through at the left leaves a blank.
    let pad = skip.saturating_sub(head).min(1);
    take(&format!("{}{rest}", " ".repeat(pad)), columns)
}
