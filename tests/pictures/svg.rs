//! A buffer of the screen as an SVG picture.
//!
//! Braille, lines and blocks are drawn as shapes, so that they join whatever
//! font the viewer has; all other characters are text, placed cell by cell.

use ratatui::buffer::{Buffer, Cell};
use ratatui::style::{Color, Modifier};
use skep::tui::theme::Ground;
use std::collections::BTreeMap;
use std::fmt::Write;
use unicode_width::UnicodeWidthStr;

const W: f64 = 8.0;
const H: f64 = 17.0;
const MARGIN: f64 = 14.0;

/// The terminal's own colours in the picture: ground and text.
const fn own(ground: Ground) -> (&'static str, &'static str) {
    match ground {
        Ground::Dark => ("#15140f", "#e8e3d8"),
        Ground::Light => ("#fcf9f2", "#29251e"),
    }
}

/// The picture of a whole screen.
pub(crate) fn picture(buf: &Buffer, ground: Ground, title: &str) -> String {
    let (back, fore) = own(ground);
    let (columns, rows) = (f64::from(buf.area.width), f64::from(buf.area.height));
    let (wide, high) = (columns * W + 2.0 * MARGIN, rows * H + 2.0 * MARGIN);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {wide:.1} {high:.1}\" width=\"{wide:.0}\" height=\"{high:.0}\" role=\"img\" aria-label=\"{}\">\n<rect width=\"100%\" height=\"100%\" rx=\"8\" fill=\"{back}\"/>\n<g font-family=\"ui-monospace, Menlo, Consolas, 'DejaVu Sans Mono', monospace\" font-size=\"13.3\" xml:space=\"preserve\">\n",
        escaped(title)
    );
    let mut shapes: BTreeMap<String, String> = BTreeMap::new();
    let mut words = String::new();
    for y in 0..buf.area.height {
        let mut x = 0;
        while x < buf.area.width {
            let Some(cell) = buf.cell((x, y)) else { break };
            let (cell_back, colour) = colours(cell, back, fore);
            let place = (MARGIN + f64::from(x) * W, MARGIN + f64::from(y) * H);
            if cell_back != back {
                let path = shapes.entry(format!(" {cell_back}")).or_default();
                rect(path, place, (0.0, 0.0, W, H));
            }
            let c = cell.symbol().chars().next().unwrap_or(' ');
            if !shape(shapes.entry(colour.clone()).or_default(), place, c) {
                text(&mut words, buf, (x, y), &colour);
            }
            x += (cell.symbol().width() as u16).max(1);
        }
    }
    // Keys that begin with a blank sort first: grounds lie below everything.
    for (colour, path) in shapes.iter().filter(|(_, path)| !path.is_empty()) {
        let colour = colour.trim();
        let _ = writeln!(out, "<path fill=\"{colour}\" d=\"{path}\"/>");
    }
    out.push_str(&words);
    out.push_str("</g>\n</svg>\n");
    out
}

/// Ground and text of a cell.
fn colours(cell: &Cell, back: &str, fore: &str) -> (String, String) {
    let hex = |colour: Color, usual: &str| match colour {
        Color::Rgb(r, g, b) => format!("#{r:02x}{g:02x}{b:02x}"),
        _ => usual.to_owned(),
    };
    let pair = (hex(cell.bg, back), hex(cell.fg, fore));
    if cell.modifier.contains(Modifier::REVERSED) {
        (pair.1, pair.0)
    } else {
        pair
    }
}

/// A word in one style as text, each character at its own place, so that the
/// columns hold in any font.
fn text(out: &mut String, buf: &Buffer, (x, y): (u16, u16), colour: &str) {
    let Some(cell) = buf.cell((x, y)) else { return };
    if is_blank(cell) || begun_before(buf, x, y) {
        return;
    }
    let run: Vec<&str> = (x..buf.area.width)
        .map_while(|i| buf.cell((i, y)).filter(|c| i == x || joins(cell, c)))
        .map(Cell::symbol)
        .collect();
    let places: Vec<String> = (0..run.len())
        .map(|i| format!("{}", MARGIN + (f64::from(x) + i as f64) * W))
        .collect();
    let base = MARGIN + f64::from(y) * H + 12.6;
    let bold = cell.modifier.contains(Modifier::BOLD);
    let weight = if bold { " font-weight=\"bold\"" } else { "" };
    let _ = writeln!(
        out,
        "<text x=\"{}\" y=\"{base:.1}\" fill=\"{colour}\"{weight}>{}</text>",
        places.join(" "),
        escaped(&run.concat())
    );
}

fn is_blank(cell: &Cell) -> bool {
    cell.symbol().trim().is_empty()
}

fn joins(a: &Cell, b: &Cell) -> bool {
    let word = |c: &Cell| c.symbol().is_ascii() && !is_blank(c);
    word(a) && word(b) && a.fg == b.fg && a.bg == b.bg && a.modifier == b.modifier
}

/// Whether the cell belongs to a run that began to the left of it.
fn begun_before(buf: &Buffer, x: u16, y: u16) -> bool {
    let Some(here) = buf.cell((x, y)) else {
        return false;
    };
    let before = x.checked_sub(1).and_then(|i| buf.cell((i, y)));
    before.is_some_and(|c| joins(here, c))
}

/// Draws what is geometry; false when the character is text.
fn shape(path: &mut String, at: (f64, f64), c: char) -> bool {
    let (middle, thin) = (H / 2.0, 1.2);
    match c {
        '\u{2800}'..='\u{28ff}' => braille(path, at, c as u32 - 0x2800),
        '▌' => rect(path, at, (0.0, 0.0, W / 2.0, H)),
        '█' => rect(path, at, (0.0, 0.0, W, H)),
        '─' => rect(path, at, (0.0, middle - thin / 2.0, W, thin)),
        '━' => rect(path, at, (0.0, middle - 1.5, W, 3.0)),
        '│' => rect(path, at, (W / 2.0 - thin / 2.0, 0.0, thin, H)),
        '├' => {
            rect(path, at, (W / 2.0 - thin / 2.0, 2.0, thin, H - 4.0));
            rect(path, at, (W / 2.0, middle - thin / 2.0, W / 2.0, thin));
        }
        '┤' => {
            rect(path, at, (W / 2.0 - thin / 2.0, 2.0, thin, H - 4.0));
            rect(path, at, (0.0, middle - thin / 2.0, W / 2.0, thin));
        }
        _ => return false,
    }
    true
}

fn rect(path: &mut String, (x, y): (f64, f64), (dx, dy, w, h): (f64, f64, f64, f64)) {
    let _ = write!(path, "M{:.1} {:.1}h{w:.1}v{h:.1}h-{w:.1}z", x + dx, y + dy);
}

/// Dots as the Unicode block of braille patterns numbers them.
fn braille(path: &mut String, at: (f64, f64), bits: u32) {
    const PLACES: [(f64, f64); 8] = [
        (0.0, 0.0),
        (0.0, 1.0),
        (0.0, 2.0),
        (1.0, 0.0),
        (1.0, 1.0),
        (1.0, 2.0),
        (0.0, 3.0),
        (1.0, 3.0),
    ];
    let size = 1.9;
    for (bit, (column, row)) in PLACES.into_iter().enumerate() {
        if bits & (1 << bit) != 0 {
            let dx = W / 4.0 + column * W / 2.0 - size / 2.0;
            let dy = H / 8.0 + row * H / 4.0 - size / 2.0;
            rect(path, at, (dx, dy, size, size));
        }
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('"', "&quot;")
}
