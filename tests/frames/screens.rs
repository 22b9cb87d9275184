//! Every screen at two sizes; the shelf in every kind of colour.

use crate::kit::Table;
use skep::store::Store;
use skep::tui::theme::{Depth, Ground, Theme};

const SMALL: (u16, u16) = (80, 24);
const LARGE: (u16, u16) = (140, 42);

fn frames(name: &str, table: &Table) {
    for (size, (width, height)) in [("small", SMALL), ("large", LARGE)] {
        let frame = table.draw(Theme::default(), width, height);
        insta::assert_debug_snapshot!(format!("{name}_{size}"), frame);
    }
}

fn after(keys: &str) -> Table {
    let mut table = Table::new();
    table.press(keys);
    table
}

#[test]
fn shelf() {
    frames("shelf", &Table::new());
}

#[test]
fn shelf_in_other_colours() {
    let table = Table::new();
    for (name, depth, ground) in [
        ("none", Depth::None, Ground::Dark),
        ("sixteen", Depth::Sixteen, Ground::Dark),
        ("sixteen_light", Depth::Sixteen, Ground::Light),
        ("light", Depth::True, Ground::Light),
    ] {
        let frame = table.draw(Theme::new(depth, ground), 80, 24);
        insta::assert_debug_snapshot!(format!("shelf_{name}"), frame);
    }
}

#[test]
fn slip() {
    frames("slip", &after("54 68f"));
    frames("slip_doubt", &after("99<Enter>"));
    frames("slip_unclear", &after("54 what"));
    frames("slip_leaving", &after("54<Esc>"));
    frames("slip_place", &after("t"));
}

#[test]
fn steps() {
    frames("done", &after("<Down>d"));
    frames("skip", &after("<Down>x<Down>"));
    frames("move", &after("<Down>m+2d"));
    frames("clock", &after("<Down>c"));
}

#[test]
fn round() {
    frames("round", &after("r"));
    frames("round_over", &after("rnnnnnnnn"));
}

#[test]
fn batch() {
    frames("batch_plan", &after("<Enter>"));
    frames("batch_ledger", &after("<Enter><Tab>"));
    frames("batch_says", &after("<Enter><Tab><Tab>"));
}

#[test]
fn trend() {
    frames("trend", &after("z"));
    frames("trend_read_off", &after("z<Tab><Tab><Up>s"));
}

#[test]
fn sheets() {
    frames("why", &after("w<Down>"));
    frames("help_keys", &after("?"));
    frames("help_words", &after("?<Tab>"));
    frames("help_search", &after("?skip"));
    frames("choices", &after(","));
    frames("find_all", &after("/"));
    frames("find", &after("/blnd<Down>"));
    frames("find_nothing", &after("/qqqqzz"));
}

#[test]
fn welcome() {
    let mut table = Table::on(Store::in_memory().unwrap());
    frames("welcome", &table);
    table.press("<Down><Down><Down>x<Enter>");
    frames("welcome_filling", &table);
}

#[test]
fn too_small() {
    let frame = Table::new().draw(Theme::default(), 38, 8);
    insta::assert_debug_snapshot!("too_small", frame);
}
