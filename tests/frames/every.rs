//! Every screen at five sizes in four colour modes; and at a grid of sizes with
//! names that are hard to lay out.

use crate::kit::{self, Table};
use ratatui::buffer::Buffer;
use ratatui::style::Style;
use skep::app::guide::Guide;
use skep::store::Store;
use skep::tui::theme::{Depth, Ground, Theme};
use std::collections::BTreeMap;
use std::fmt::Write;
use unicode_width::UnicodeWidthStr;

/// A screen's name and the keys that lead to it from the shelf.
const SCREENS: &[(&str, &str)] = &[
    ("shelf", ""),
    ("shelf_last", "<End>"),
    ("slip", "54 68f"),
    ("slip_doubt", "99<Enter>"),
    ("slip_place", "t"),
    ("done", "<Down>d"),
    ("skip", "<Down>x<Down>"),
    ("move", "<Down>m+2d"),
    ("clock", "<Down>c"),
    ("kept", "54<Enter>"),
    ("round", "r"),
    ("round_over", "rnnnnnnnnnn"),
    ("batch_plan", "<Enter>"),
    ("batch_ledger", "<Enter><Tab>"),
    ("batch_says", "<Enter><Tab><Tab>"),
    ("trend", "z"),
    ("trend_read_off", "z<Tab><Tab><Up>sex"),
    ("why", "w<Down>"),
    ("help_keys", "?"),
    ("help_words", "?<Tab>"),
    ("help_found", "?rack"),
    ("choices", ","),
    ("find", "/blnd<Down>"),
    ("bench", "b"),
    ("bench_sum", "bpriming<Enter>5gal<Tab>2.4<Tab>68f"),
    ("planner", "p"),
    ("planner_typing", "p<Down><Down><Down><Down>110"),
    ("day", "pg<Enter><Enter>"),
    ("season", "s"),
    ("season_away", "sa12-24 12-30<Enter>"),
    ("pantry", "yahoney<Down><Down>900<Enter>"),
    ("pantry_form", "ya"),
    ("routines", "o"),
    ("routine", "o<End><Enter><Down><Down>"),
    ("bottling", "<Down>f"),
    ("racking", "<Down>a"),
    ("cellar_empty", "v"),
    (
        "cellar",
        "<Home><Down><Down>f<Ctrl-S>steady for three weeks<Ctrl-S>",
    ),
    (
        "cellar_taste",
        "<Home><Down><Down>f<Ctrl-S>steady for three weeks<Ctrl-S>t",
    ),
    ("guide", "<Ctrl-G>"),
];

const SIZES: [(u16, u16); 5] = [(40, 12), (60, 20), (80, 24), (120, 36), (250, 80)];

const MODES: [(&str, Depth, Ground); 5] = [
    ("true colour", Depth::True, Ground::Dark),
    ("true colour on light", Depth::True, Ground::Light),
    ("256 colours", Depth::Indexed, Ground::Dark),
    ("16 colours", Depth::Sixteen, Ground::Dark),
    ("no colour", Depth::None, Ground::Dark),
];

fn at(store: Store, name: &str, keys: &str) -> Table {
    let mut table = Table::on(store);
    if name == "guide" {
        table.state.options.demo = true;
        table.state.guide = Guide::Offered;
    }
    table.press(keys);
    table
}

fn rows(frame: &Buffer) -> Vec<String> {
    let width = usize::from(frame.area.width);
    let row = |cells: &[ratatui::buffer::Cell]| {
        let mut text = String::new();
        let mut skip = 0;
        for cell in cells {
            if skip > 0 {
                skip -= 1;
                continue;
            }
            text.push_str(cell.symbol());
            skip = cell.symbol().width().saturating_sub(1);
        }
        text
    };
    frame.content().chunks(width).map(row).collect()
}

fn style_name(style: Style) -> String {
    let colour = |c: Option<ratatui::style::Color>| {
        c.filter(|c| *c != ratatui::style::Color::Reset)
            .map_or("-".into(), |c| c.to_string())
    };
    let mut name = format!("{} on {}", colour(style.fg), colour(style.bg));
    if !style.add_modifier.is_empty() {
        let _ = write!(name, " {:?}", style.add_modifier);
    }
    name
}

/// Which styles a frame uses, each with what is written in it on the first rows
/// where it stands, and how many cells have it.
fn styles(frame: &Buffer) -> String {
    let mut found: BTreeMap<String, (usize, String)> = BTreeMap::new();
    for cell in frame.content() {
        let entry = found.entry(style_name(cell.style())).or_default();
        entry.0 += 1;
        let said = cell.symbol().trim();
        if !said.is_empty() && entry.1.width() < 16 {
            entry.1.push_str(said);
        }
    }
    let mut text = String::new();
    for (name, (cells, said)) in found {
        let _ = writeln!(text, "  {cells:>6}  {name}  {said}");
    }
    text
}

/// All sizes and modes of one screen, to be read in a diff: the text once a
/// size, the styles once a mode.
fn portrait(table: &Table) -> String {
    let mut all = String::new();
    for (width, height) in SIZES {
        let _ = writeln!(all, "== {width}x{height}");
        for (i, (mode, depth, ground)) in MODES.iter().enumerate() {
            let frame = table.draw(Theme::new(*depth, *ground), width, height);
            if i == 0 {
                for row in rows(&frame) {
                    let _ = writeln!(all, "{}", row.trim_end());
                }
            }
            let _ = writeln!(all, "-- {mode}\n{}", styles(&frame));
        }
    }
    all
}

#[test]
fn every_screen_at_five_sizes_in_every_colour_mode() {
    for (name, keys) in SCREENS {
        let table = at(kit::store(), name, keys);
        insta::assert_snapshot!(format!("every_{name}"), portrait(&table));
    }
}

#[test]
fn words_do_not_change_with_the_colours() {
    for (name, keys) in SCREENS {
        let table = at(kit::store(), name, keys);
        let plain = |depth| rows(&table.draw(Theme::new(depth, Ground::Dark), 80, 24));
        let all = plain(Depth::True);
        for depth in [Depth::Indexed, Depth::Sixteen, Depth::None] {
            assert_eq!(plain(depth), all, "{name}, {depth:?}");
        }
    }
}

/// Wide, combining, joined and right-to-left names, none with a digit in it.
const HARD: [&str; 5] = [
    "蜂蜜酒と梅の長い名前の仕込み",
    "Me\u{301}th\u{323}eglin a\u{308}\u{304} la poire e\u{301}te\u{301}",
    "🐝🍯👩\u{200d}👩\u{200d}👧 family 🏴\u{fe0f} mead ❤\u{fe0f}",
    "مشروب العسل مع التمر",
    "יין דבש abc ליל",
];

const WIDTHS: [u16; 14] = [40, 41, 53, 60, 71, 72, 73, 80, 99, 119, 120, 122, 139, 250];
const HEIGHTS: [u16; 10] = [12, 13, 17, 19, 20, 24, 30, 36, 42, 80];

/// What is wrong with a frame, if anything.
fn fault(frame: &Buffer) -> Option<String> {
    let width = usize::from(frame.area.width);
    for (y, cells) in frame.content().chunks(width).enumerate() {
        let mut x = 0;
        let mut line = String::new();
        while x < width {
            let symbol = cells[x].symbol();
            let wide = symbol.width().max(1);
            if x + wide > width {
                return Some(format!("row {y}: a wide sign is cut by the edge"));
            }
            if cells[x + 1..x + wide]
                .iter()
                .any(|c| c.symbol().trim() != "")
            {
                return Some(format!("row {y}: a sign lies over the half of another"));
            }
            line.push_str(symbol);
            x += wide;
        }
        if line.width() > width {
            return Some(format!("row {y}: {} columns", line.width()));
        }
        let signs: Vec<char> = line.chars().collect();
        let cut = signs
            .windows(2)
            .any(|w| w[0].is_ascii_digit() && w[1] == '…');
        if cut {
            return Some(format!("row {y}: a number is cut: {line}"));
        }
        if signs
            .iter()
            .any(|c| c.is_control() || ('\u{202a}'..='\u{202e}').contains(c))
        {
            return Some(format!("row {y}: a sign that moves others"));
        }
        for (a, b) in cells.iter().zip(cells.iter().skip(1)) {
            let words = |c: &ratatui::buffer::Cell| c.symbol().chars().all(char::is_alphanumeric);
            let both = words(a) && words(b) && a.symbol().width() == 1;
            if both && (a.fg != b.fg || a.modifier != b.modifier) {
                return Some(format!("row {y}: two texts touch: {line}"));
            }
        }
    }
    None
}

#[test]
fn no_size_and_no_name_breaks_a_screen() {
    let mut faults = Vec::new();
    for names in [None, Some(HARD)] {
        for (name, keys) in SCREENS {
            let store = names.map_or_else(kit::store, |n| kit::store_of(&n));
            let table = at(store, name, keys);
            for (i, width) in WIDTHS.iter().enumerate() {
                for (j, height) in HEIGHTS.iter().enumerate() {
                    if (i + j) % 5 > 0 && (*width, *height) != (80, 24) {
                        continue;
                    }
                    let frame = table.draw(Theme::default(), *width, *height);
                    if let Some(fault) = fault(&frame) {
                        let hard = names.is_some();
                        faults.push(format!("{name} {width}x{height} hard={hard}: {fault}"));
                    }
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}\n{}", faults.len(), faults.join("\n"));
}

#[test]
fn hard_names_move_no_column_of_the_shelf() {
    let plain = Table::on(kit::store());
    let hard = Table::on(kit::store_of(&HARD));
    for width in [60, 80, 140] {
        let gravities = |table: &Table| -> Vec<Vec<usize>> {
            let frame = table.draw(Theme::default(), width, 24);
            let cells: Vec<&str> = frame
                .content()
                .iter()
                .map(ratatui::buffer::Cell::symbol)
                .collect();
            // Cells, not characters: a wide sign takes two of them.
            let lines = cells.chunks(usize::from(width));
            let points = |line: &[&str]| -> Vec<usize> {
                (0..line.len().saturating_sub(2))
                    .filter(|&i| {
                        line[i] == "." && i > 0 && line[i - 1] == "1" && line[i + 1] == "0"
                    })
                    .collect()
            };
            lines.map(points).take(9).collect()
        };
        assert_eq!(gravities(&plain), gravities(&hard), "{width} columns");
    }
}

#[test]
fn below_the_least_size_a_sentence_stands_alone() {
    let mut table = Table::new();
    table.press("54 68f");
    for (width, height) in [(39, 12), (40, 11), (20, 5), (1, 1), (0, 0)] {
        let frame = table.draw(Theme::default(), width, height);
        if width >= 20 {
            let said = rows(&frame).join(" ");
            assert!(said.contains("skep needs"), "{said}");
        }
    }
    // What was typed is still there when the screen grows again.
    assert!(table.text().contains("54 68f"));
}
