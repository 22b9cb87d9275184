//! Colours by named roles, for every kind of terminal.
//!
//! A view asks for a [`Role`] and never names a colour. States are told by a
//! word and a [`Mark`] first; colour only repeats what they say.

mod marks;
mod palette;

pub use marks::{Mark, Tone};
use palette::{nearest, rgb, sixteen, true_colour};
use ratatui::style::{Color, Modifier, Style};

/// How many colours the terminal can show.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Depth {
    /// None: bold, dim, underline and reverse only.
    None,
    /// The sixteen of the terminal's own palette.
    Sixteen,
    /// The fixed 256.
    Indexed,
    /// Any.
    True,
}

impl Depth {
    /// What the environment says: `NO_COLOR`, then `COLORTERM`, then `TERM`.
    pub fn of_env(lookup: impl Fn(&str) -> Option<String>) -> Self {
        let of = |name: &str| lookup(name).unwrap_or_default().to_ascii_lowercase();
        let term = of("TERM");
        if !of("NO_COLOR").is_empty() || term == "dumb" {
            return Self::None;
        }
        if matches!(of("COLORTERM").as_str(), "truecolor" | "24bit") || term.ends_with("-direct") {
            return Self::True;
        }
        if term.contains("256color") {
            return Self::Indexed;
        }
        Self::Sixteen
    }
}

/// What lies behind the text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ground {
    /// Light text on dark.
    Dark,
    /// Dark text on light.
    Light,
}

impl Ground {
    /// From a terminal's answer to the question for its background
    /// (`OSC 11`), such as `]11;rgb:1e1e/1e1e/1e1e`.
    pub fn of_reply(reply: &str) -> Option<Self> {
        let (_, rgb) = reply.split_once("rgb:")?;
        let mut parts = rgb.split(|c: char| !c.is_ascii_hexdigit());
        let mut part = || -> Option<f64> {
            let hex = parts.next().filter(|h| (1..=4).contains(&h.len()))?;
            let max = f64::from((1_u32 << (4 * hex.len())) - 1);
            Some(f64::from(u32::from_str_radix(hex, 16).ok()?) / max)
        };
        let (r, g, b) = (part()?, part()?, part()?);
        // Luma after ITU-R BT.601: enough to tell light from dark.
        let luma = 0.299 * r + 0.587 * g + 0.114 * b;
        Some(if luma > 0.5 { Self::Light } else { Self::Dark })
    }

    /// From the variable `COLORFGBG` (`15;0`), which some terminals set.
    pub fn of_colorfgbg(value: &str) -> Option<Self> {
        let back: u8 = value.rsplit(';').next()?.trim().parse().ok()?;
        Some(if matches!(back, 7 | 9..=15) {
            Self::Light
        } else {
            Self::Dark
        })
    }
}

/// What a piece of the screen is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Role {
    /// Ordinary text.
    Ink,
    /// Text that stands back: units, labels, hints.
    Muted,
    /// Lines and grids that hardly show.
    Faint,
    /// The one accent: what is chosen, what can be typed.
    Accent,
    /// All is well.
    Good,
    /// Wants a look.
    Watch,
    /// Wants hands.
    Alarm,
    /// Headings.
    Title,
    /// The chosen row.
    Chosen,
    /// The name of a key.
    Key,
    /// A field that can be typed into.
    Field,
    /// Trend: the middle of what is known.
    Curve,
    /// Trend: the 80 % band.
    Band,
    /// Trend: a reading.
    Point,
    /// Trend: how a healthy ferment would go.
    Healthy,
    /// Trend: earlier batches.
    Earlier,
    /// Trend: a step done.
    Tick,
    /// Trend: temperature.
    Warmth,
    /// Trend: where the cursor stands.
    Cursor,
}

impl Role {
    /// All of them.
    pub const ALL: [Self; 19] = [
        Self::Ink,
        Self::Muted,
        Self::Faint,
        Self::Accent,
        Self::Good,
        Self::Watch,
        Self::Alarm,
        Self::Title,
        Self::Chosen,
        Self::Key,
        Self::Field,
        Self::Curve,
        Self::Band,
        Self::Point,
        Self::Healthy,
        Self::Earlier,
        Self::Tick,
        Self::Warmth,
        Self::Cursor,
    ];
}

/// Colours and marks of one terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Theme {
    /// How many colours there are.
    pub depth: Depth,
    /// What lies behind.
    pub ground: Ground,
    /// Only ASCII can be shown.
    pub ascii: bool,
}

impl Default for Theme {
    fn default() -> Self {
        Self::new(Depth::True, Ground::Dark)
    }
}

impl Theme {
    /// A theme with all of Unicode's one-column symbols.
    pub const fn new(depth: Depth, ground: Ground) -> Self {
        Self {
            depth,
            ground,
            ascii: false,
        }
    }

    /// What the environment says, given the ground that the terminal answered.
    /// Without an answer `COLORFGBG` decides, then dark is taken.
    pub fn of_env(lookup: impl Fn(&str) -> Option<String>, asked: Option<Ground>) -> Self {
        let ground = asked
            .or_else(|| lookup("COLORFGBG").and_then(|v| Ground::of_colorfgbg(&v)))
            .unwrap_or(Ground::Dark);
        let term = lookup("TERM").unwrap_or_default();
        let locale = ["LC_ALL", "LC_CTYPE", "LANG"]
            .iter()
            .filter_map(|name| lookup(name))
            .find(|value| !value.is_empty());
        let plain = locale.is_some_and(|l| {
            let l = l.to_ascii_lowercase();
            !(l.contains("utf-8") || l.contains("utf8"))
        });
        Self {
            depth: Depth::of_env(&lookup),
            ground,
            // The kernel's console has no braille and few symbols.
            ascii: plain || matches!(term.as_str(), "dumb" | "linux" | "vt100" | "vt220"),
        }
    }

    /// The style of a role.
    pub fn style(self, role: Role) -> Style {
        let style = Style::new().add_modifier(self.modifier(role));
        let style = match self.fore(role) {
            Some(colour) => style.fg(colour),
            None => style,
        };
        match self.back(role) {
            Some(colour) => style.bg(colour),
            None => style,
        }
    }

    /// The style of a tone.
    pub fn tone(self, tone: Tone) -> Style {
        self.style(tone.role())
    }

    /// A mark's symbol, one column wide.
    pub fn mark(self, mark: Mark) -> &'static str {
        let (symbol, ascii) = mark.symbols();
        if self.ascii { ascii } else { symbol }
    }

    /// The first where all of Unicode can be shown, else the second.
    pub fn symbol<'a>(self, symbol: &'a str, ascii: &'a str) -> &'a str {
        if self.ascii { ascii } else { symbol }
    }

    /// Weight and shape, which carry the meaning where colour is missing.
    fn modifier(self, role: Role) -> Modifier {
        let few = self.depth <= Depth::Sixteen;
        match role {
            Role::Title | Role::Alarm | Role::Key | Role::Point => Modifier::BOLD,
            Role::Watch | Role::Accent | Role::Curve if few => Modifier::BOLD,
            Role::Chosen | Role::Cursor if few => Modifier::REVERSED,
            Role::Field if few => Modifier::UNDERLINED,
            // Dim only where there is no grey to stand back with: some
            // terminals draw dim text too faint to read.
            Role::Muted | Role::Faint | Role::Healthy | Role::Earlier | Role::Band if few => {
                Modifier::DIM
            }
            _ => Modifier::empty(),
        }
    }

    fn fore(self, role: Role) -> Option<Color> {
        match self.depth {
            Depth::None => None,
            Depth::Sixteen => sixteen(role, self.ground),
            Depth::Indexed => {
                true_colour(role, self.ground).map(|rgb| Color::Indexed(nearest(rgb)))
            }
            Depth::True => true_colour(role, self.ground).map(rgb),
        }
    }

    fn back(self, role: Role) -> Option<Color> {
        let colour = match (role, self.ground) {
            (Role::Chosen | Role::Field, Ground::Dark) => 0x2f2a22,
            (Role::Chosen | Role::Field, Ground::Light) => 0xf0e6cf,
            (Role::Cursor, Ground::Dark) => 0x3d362b,
            (Role::Cursor, Ground::Light) => 0xe4d7b8,
            _ => return None,
        };
        match self.depth {
            Depth::None | Depth::Sixteen => None,
            Depth::Indexed => Some(Color::Indexed(nearest(colour))),
            Depth::True => Some(rgb(colour)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use unicode_width::UnicodeWidthStr;

    fn env(pairs: &'static [(&'static str, &'static str)]) -> impl Fn(&str) -> Option<String> {
        |name| {
            pairs
                .iter()
                .find(|(n, _)| *n == name)
                .map(|(_, v)| (*v).to_owned())
        }
    }

    #[test]
    fn depth_follows_the_environment() {
        let of = |pairs| Depth::of_env(env(pairs));
        assert_eq!(of(&[("TERM", "xterm")]), Depth::Sixteen);
        assert_eq!(of(&[("TERM", "xterm-256color")]), Depth::Indexed);
        assert_eq!(
            of(&[("TERM", "xterm-256color"), ("COLORTERM", "truecolor")]),
            Depth::True
        );
        // https://no-color.org: present and not empty, whatever its value.
        assert_eq!(
            of(&[("COLORTERM", "truecolor"), ("NO_COLOR", "1")]),
            Depth::None
        );
        assert_eq!(
            of(&[("TERM", "xterm-256color"), ("NO_COLOR", "")]),
            Depth::Indexed
        );
        assert_eq!(of(&[("TERM", "dumb")]), Depth::None);
        assert_eq!(of(&[]), Depth::Sixteen);
    }

    #[test]
    fn the_ground_is_read_from_the_terminals_answer() {
        // Forms of the answer as the xterm control sequences document gives them.
        let of = Ground::of_reply;
        assert_eq!(of("\x1b]11;rgb:1e1e/1e1e/1e1e\x07"), Some(Ground::Dark));
        assert_eq!(of("\x1b]11;rgb:fdfd/f6f6/e3e3\x1b\\"), Some(Ground::Light));
        assert_eq!(of("\x1b]11;rgb:ff/ff/ff\x07"), Some(Ground::Light));
        assert_eq!(of("rubbish"), None);
        assert_eq!(of("rgb:"), None);
        assert_eq!(of("rgb:12345/1/1"), None);
        assert_eq!(Ground::of_colorfgbg("0;15"), Some(Ground::Light));
        assert_eq!(Ground::of_colorfgbg("15;default;0"), Some(Ground::Dark));
        assert_eq!(Ground::of_colorfgbg("default;default"), None);
    }

    #[test]
    fn marks_are_one_column_and_all_different() {
        for ascii in [false, true] {
            let theme = Theme {
                ascii,
                ..Theme::default()
            };
            for mark in Mark::ALL {
                let symbol = theme.mark(mark);
                assert_eq!(symbol.width(), 1, "{mark:?}");
                assert_eq!(
                    symbol.is_ascii(),
                    ascii || mark == Mark::Doubtful,
                    "{mark:?}"
                );
            }
        }
        let states = [
            Mark::Planned,
            Mark::Lag,
            Mark::Active,
            Mark::Slowing,
            Mark::Finished,
            Mark::Stuck,
            Mark::Doubtful,
            Mark::Resting,
            Mark::Ageing,
            Mark::Bottled,
            Mark::Closed,
        ];
        for (i, a) in states.iter().enumerate() {
            for b in states.iter().skip(i + 1) {
                assert_ne!(a.symbols().0, b.symbols().0);
                assert_ne!(a.symbols().1, b.symbols().1);
            }
        }
    }

    #[test]
    fn no_role_sends_more_colours_than_there_are() {
        for ground in [Ground::Dark, Ground::Light] {
            for role in Role::ALL {
                let bare = Theme::new(Depth::None, ground).style(role);
                assert_eq!((bare.fg, bare.bg), (None, None), "{role:?}");
                let few = Theme::new(Depth::Sixteen, ground).style(role);
                for colour in [few.fg, few.bg].into_iter().flatten() {
                    assert!(
                        !matches!(colour, Color::Rgb(..) | Color::Indexed(_)),
                        "{role:?}"
                    );
                }
                let many = Theme::new(Depth::Indexed, ground).style(role);
                for colour in [many.fg, many.bg].into_iter().flatten() {
                    assert!(matches!(colour, Color::Indexed(16..)), "{role:?}");
                }
            }
        }
    }

    #[test]
    fn what_is_chosen_shows_without_colour() {
        let bare = Theme::new(Depth::None, Ground::Dark);
        for role in [
            Role::Chosen,
            Role::Alarm,
            Role::Watch,
            Role::Accent,
            Role::Field,
        ] {
            assert_ne!(bare.style(role), bare.style(Role::Ink), "{role:?}");
        }
    }

    #[test]
    fn the_nearest_of_256_is_exact_where_the_colour_is_there() {
        assert_eq!(nearest(0x000000), 16);
        assert_eq!(nearest(0xffffff), 231);
        assert_eq!(nearest(0x5f87af), 67);
        assert_eq!(nearest(0x808080), 244);
    }
}
