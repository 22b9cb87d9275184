//! The colours themselves: ours, the terminal's sixteen, the nearest of 256.

use super::{Ground, Role};
use ratatui::style::Color;

pub(super) fn rgb(colour: u32) -> Color {
    let [_, r, g, b] = colour.to_be_bytes();
    Color::Rgb(r, g, b)
}

/// Honey for the accent, and three state colours that stay apart for
/// protanopia, deuteranopia and tritanopia (checked with the matrices of
/// Machado, Oliveira and Fernandes 2009). Ordinary text keeps the terminal's
/// own colour, so that it is right on any ground.
pub(super) fn true_colour(role: Role, ground: Ground) -> Option<u32> {
    let (dark, light) = match role {
        Role::Ink | Role::Title | Role::Point | Role::Field | Role::Chosen | Role::Cursor => {
            return None;
        }
        Role::Muted => (0x8a8376, 0x736c60),
        Role::Faint => (0x544e45, 0xc4bcab),
        Role::Accent | Role::Key | Role::Curve => (0xedb94f, 0x8f6000),
        Role::Good => (0x54c6b8, 0x006d72),
        Role::Watch => (0xc9a4e4, 0x7a2fb4),
        Role::Alarm => (0xff7061, 0xa80030),
        Role::Band => (0x8a6722, 0xc9a45a),
        Role::Healthy => (0x6f9c97, 0x6b98a3),
        Role::Earlier => (0x7d7468, 0xa59b89),
        Role::Tick => (0xb9b1a2, 0x575146),
        Role::Warmth => (0x86a9d6, 0x3a66a0),
    };
    Some(match ground {
        Ground::Dark => dark,
        Ground::Light => light,
    })
}

/// The terminal's own sixteen, by number: bright ones and yellow fail as text
/// on light grounds, and 8 is the ground itself in one well-known palette, so
/// neither is used where it would vanish.
pub(super) fn sixteen(role: Role, ground: Ground) -> Option<Color> {
    let dark = ground == Ground::Dark;
    match role {
        Role::Accent | Role::Key | Role::Curve => {
            Some(if dark { Color::Yellow } else { Color::Blue })
        }
        Role::Good if dark => Some(Color::Green),
        Role::Watch => Some(Color::Magenta),
        Role::Alarm => Some(Color::Red),
        Role::Healthy | Role::Warmth if dark => Some(Color::Cyan),
        Role::Warmth => Some(Color::Blue),
        _ => None,
    }
}

/// The nearest of the 256 colours: the 6x6x6 cube or the ramp of greys.
pub(super) fn nearest(colour: u32) -> u8 {
    const STEPS: [u8; 6] = [0, 95, 135, 175, 215, 255];
    let [_, r, g, b] = colour.to_be_bytes();
    let step = |v: u8| {
        (0..6_u8)
            .min_by_key(|&i| STEPS[usize::from(i)].abs_diff(v))
            .unwrap_or(0)
    };
    let (cr, cg, cb) = (step(r), step(g), step(b));
    let apart = |x: u8, y: u8, z: u8| {
        [(x, r), (y, g), (z, b)]
            .iter()
            .map(|&(a, b)| u32::from(a.abs_diff(b)).pow(2))
            .sum::<u32>()
    };
    let cube = apart(
        STEPS[usize::from(cr)],
        STEPS[usize::from(cg)],
        STEPS[usize::from(cb)],
    );
    let grey = (0..24_u8)
        .min_by_key(|&i| apart(8 + 10 * i, 8 + 10 * i, 8 + 10 * i))
        .unwrap_or(0);
    let level = 8 + 10 * grey;
    if apart(level, level, level) < cube {
        232 + grey
    } else {
        16 + 36 * cr + 6 * cg + cb
    }
}
