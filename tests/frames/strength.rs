//! Bottles, kegs and pressure on the bottling screen, and overrides that stay visible.

use crate::cellar::at;
use crate::kit::Table;
use skep::app::Screen;
use skep::domain::deeds::Deed;
use skep::domain::records::{EventKind, HoldKind, PantryId, PantryItem, PantryKind, VesselKind};
use skep::domain::units::Litres;
use skep::work;

/// J3 on bottling day, so many bottles of each name in the pantry.
fn day(bottles: &[(&str, f64)]) -> Table {
    let mut table = at("J3");
    for (name, amount) in bottles {
        let item = PantryItem {
            id: PantryId(0),
            kind: PantryKind::Bottle,
            name: (*name).to_owned(),
            amount: *amount,
            unit: "pieces".into(),
            lot: String::new(),
            best_before: None,
            price: None,
            keep_at_least: None,
            bottle: None,
            note: String::new(),
        };
        work::carry_out(&mut table.store, &Deed::StockPantry(item), table.now).unwrap();
    }
    table.tell();
    table.press("f");
    table
}

/// Goes to a field by its key.
fn field<'t>(table: &'t mut Table, key: &str) -> &'t mut Table {
    let form = &table.state.bottling.form;
    let to = form.fields.iter().position(|f| f.key == key);
    let to = to.unwrap_or_else(|| panic!("no field {key}"));
    let (key, times) = if to >= form.at {
        ("<Down>", to - form.at)
    } else {
        ("<Up>", form.at - to)
    };
    table.press(&key.repeat(times))
}

fn typed<'t>(table: &'t mut Table, key: &str, text: &str) -> &'t mut Table {
    field(table, key).press(&format!("<Ctrl-U>{text}"))
}

fn sparkling(table: &mut Table) -> &mut Table {
    field(table, "gas").press("<Right><Right>")
}

/// Lines run together: what is looked for may be wrapped.
fn flat(table: &Table) -> String {
    table
        .text()
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

#[test]
fn fields_that_a_still_drink_leaves_idle_are_hidden() {
    let mut table = day(&[("12 fl oz crown-cap bottles", 24.0)]);
    for key in ["target", "primer", "warmest", "cellar", "summer"] {
        assert!(table.state.bottling.form.field(key).is_none(), "{key}");
    }
    assert!(flat(&table).contains("auto"), "{}", table.text());
    sparkling(&mut table);
    for key in ["target", "primer", "warmest", "cellar", "summer"] {
        assert!(table.state.bottling.form.field(key).is_some(), "{key}");
    }
}

#[test]
fn a_hot_summer_holds_what_a_cool_one_does_not() {
    let mut table = day(&[("12 fl oz crown-cap bottles", 24.0)]);
    sparkling(&mut table);
    typed(&mut table, "target", "3.0");
    typed(&mut table, "summer", "104f");
    let said = flat(&table);
    assert!(
        said.contains("104 °F: a crown-cap beer bottle is rated for 58 psi"),
        "{said}"
    );
    typed(&mut table, "target", "2.4");
    typed(&mut table, "summer", "77f");
    // What is left of its sugar would still be too much; what was aimed at is not.
    let said = flat(&table);
    let beside = skep::app::bottling::lines(&table.state);
    let strong = |l: &skep::app::panel::Line| l.text.contains("strong enough, rated for 58 psi");
    assert!(beside.iter().any(strong), "{said}");
    assert!(!said.contains("2.4 volumes make"), "{said}");
}

#[test]
fn more_than_six_volumes_and_more_than_the_vessel_holds_are_refused() {
    let mut table = day(&[("750ml still-wine bottles", 24.0)]);
    sparkling(&mut table);
    typed(&mut table, "target", "8").press("<Ctrl-S>");
    assert!(
        flat(&table).contains("No bottle or keg is filled with more than 6"),
        "{}",
        table.text()
    );
    typed(&mut table, "target", "2.5");
    typed(&mut table, "volume", "3.8gal").press("<Ctrl-S>");
    assert!(
        flat(&table).contains("3.80 gal can't be in J3"),
        "{}",
        table.text()
    );
}

#[test]
fn names_that_are_no_class_take_no_gas() {
    let names = [
        ("500ml decorative swing-top", 12.0),
        ("5 l plastic jerrycan", 2.0),
        ("12 fl oz twist-off bottles", 24.0),
        ("1gal swing-top", 4.0),
    ];
    let mut table = day(&names);
    sparkling(&mut table);
    // By itself none of it is filled.
    assert!(
        flat(&table).contains("No bottle takes any of it"),
        "{}",
        table.text()
    );
    typed(&mut table, "bottle-0", "2");
    assert!(
        flat(&table).contains("unknown class count as not made for pressure"),
        "{}",
        table.text()
    );
}

#[test]
fn a_keg_keeps_to_its_working_pressure() {
    let mut table = at("J3");
    let place = table.state.household.as_ref().unwrap().places[0].id;
    let keg = Deed::AddVessel {
        tag: "K1".into(),
        kind: VesselKind::Keg,
        capacity: Litres::from_us_gallons(5.0).unwrap(),
        place,
        tare: None,
    };
    work::carry_out(&mut table.store, &keg, table.now).unwrap();
    table.tell();
    table.press("f<Right>");
    typed(&mut table, "target", "5");
    typed(&mut table, "keg-at", "77f");
    assert!(
        flat(&table).contains("at the regulator: the keg has no rating"),
        "{}",
        table.text()
    );
    typed(&mut table, "target", "2.4");
    typed(&mut table, "keg-at", "39f");
    assert!(
        !flat(&table).contains("the keg has no rating"),
        "{}",
        table.text()
    );
    typed(&mut table, "keg-rated", "20 psi");
    assert!(
        flat(&table).contains("the keg is rated for 20 psi"),
        "{}",
        table.text()
    );
}

#[test]
fn a_reason_covers_the_holds_that_were_seen_while_it_was_typed() {
    let mut table = day(&[
        ("750ml still-wine bottles", 24.0),
        ("12 fl oz crown-cap bottles", 24.0),
    ]);
    sparkling(&mut table);
    typed(&mut table, "target", "2.4");
    typed(&mut table, "lost", "0.2gal");
    typed(
        &mut table,
        "reason",
        "gravity held for three weeks on paper",
    );
    // Another hold comes after it.
    typed(&mut table, "bottle-0", "0");
    typed(&mut table, "bottle-1", "4").press("<Ctrl-S>");
    assert_eq!(table.state.screen, Screen::Bottling);
    assert!(
        flat(&table).contains("given before these holds stood: bottle"),
        "{}",
        table.text()
    );
    // Read, the reason may cover it too.
    typed(&mut table, "reason", "a friend swears by these bottles").press("<Ctrl-S>");
    assert_eq!(table.state.screen, Screen::Cellar, "{}", table.text());
    let lot = table.state.supplies.cellar.lots[0].clone();
    let kinds: Vec<_> = lot.overrides.iter().filter_map(|o| o.kind).collect();
    assert!(
        kinds.contains(&HoldKind::Bottle) && kinds.contains(&HoldKind::Unfinished),
        "{kinds:?}"
    );
    let dossier = table
        .store
        .dossier(lot.batch.id, table.now)
        .unwrap()
        .unwrap();
    let written = dossier
        .events
        .iter()
        .filter(|e| e.kind == EventKind::Overrule);
    assert_eq!(written.count(), kinds.len());
    // It stays visible in the cellar and in the morning's sentence until all is gone.
    assert!(
        flat(&table).contains("Filled against a hold (unfinished"),
        "{}",
        table.text()
    );
    assert!(flat(&table).contains("filled on hold"), "{}", table.text());
    table.press("<Esc>");
    assert!(
        flat(&table).contains("Filled against a hold: Linden."),
        "{}",
        table.text()
    );
}

#[test]
fn the_warmest_day_is_saved_with_the_place() {
    let mut table = day(&[("12 fl oz crown-cap bottles", 24.0)]);
    sparkling(&mut table);
    typed(&mut table, "target", "2.4");
    typed(&mut table, "summer", "79f");
    typed(
        &mut table,
        "reason",
        "gravity held for three weeks on paper",
    )
    .press("<Ctrl-S>");
    assert_eq!(table.state.screen, Screen::Cellar, "{}", table.text());
    let place = &table.state.household.as_ref().unwrap().places[0];
    assert!((place.summer.unwrap().fahrenheit() - 79.0).abs() < 1e-9);
}
