//! The doors through which something from outside comes in, each as a function
//! of bytes that panics when skep does something it should not. The fuzz targets
//! and the replay of their corpus call the same functions.

mod screen;
mod store;
mod words;

pub(crate) use screen::{hands, screen};
pub(crate) use store::store;
pub(crate) use words::{lines, plan, routine, slip, table};

/// A door with its name, which is that of its corpus.
pub(crate) type Door = (&'static str, fn(&[u8]));

/// All of them.
pub(crate) const DOORS: [Door; 8] = [
    ("slip", slip),
    ("table", table),
    ("lines", lines),
    ("routine", routine),
    ("plan", plan),
    ("store", store),
    ("screen", screen),
    ("hands", hands),
];

/// What is shown of something must be safe to show.
#[track_caller]
fn shown(text: &str) {
    let safe = skep::domain::text::safe(text);
    let raw = |c: char| (c.is_control() && c != '\n') || ('\u{202a}'..='\u{202e}').contains(&c);
    assert!(!safe.contains(raw), "{safe:?}");
}
