//! Bottling day and the cellar, and what hands do on them.

use crate::kit::Table;
use skep::app::Screen;
use skep::domain::records::{DrawKind, EventKind, Stage};
use skep::tui::theme::Theme;

const SMALL: (u16, u16) = (80, 24);
const LARGE: (u16, u16) = (140, 42);

fn frames(name: &str, table: &Table) {
    for (size, (width, height)) in [("small", SMALL), ("large", LARGE)] {
        let frame = table.draw(Theme::default(), width, height);
        insta::assert_debug_snapshot!(format!("{name}_{size}"), frame);
    }
}

/// The table with the vessel of that tag chosen on the shelf.
pub(crate) fn at(tag: &str) -> Table {
    let mut table = Table::new();
    table.press("<Home>");
    for _ in 0..8 {
        let here = table.state.chosen_vessel().map(|v| v.tag.clone());
        if here.as_deref() == Some(tag) {
            break;
        }
        table.press("<Down>");
    }
    assert_eq!(table.state.chosen_vessel().unwrap().tag, tag);
    table
}

/// Ten bottles of Linden in the closet, held and overruled.
fn bottled() -> Table {
    let mut table = at("J3");
    table.press("f<Ctrl-S>gravity held for three weeks on paper<Ctrl-S>");
    assert_eq!(table.state.screen, Screen::Cellar, "{}", table.text());
    table
}

#[test]
fn bottling() {
    frames("bottling_held", &at("J3").tap("f"));
    frames("bottling_sparkling", &at("J3").tap("f<Down><Right><Right>"));
    frames("bottling_stuck", &at("J2").tap("f<Down><Right><PgDn>"));
    frames("bottling_refused", &at("J3").tap("f<Ctrl-S>"));
}

#[test]
fn cellar() {
    frames("cellar_empty", &Table::new().tap("v"));
    frames("cellar", &bottled());
    frames("cellar_take", &bottled().tap("2 given Anna"));
    frames("cellar_taste", &bottled().tap("t<Right><Down>"));
    frames(
        "cellar_tasted",
        &bottled().tap("t<Right><Down><Down><Down><Down><Down>pears, a little sharp<Enter>"),
    );
    frames("cellar_compare", &bottled().tap("<Tab> <Down> "));
}

#[test]
fn handling() {
    frames("handling_rack", &at("J3").tap("a"));
    frames(
        "handling_stabilise",
        &at("J3").tap("a<Right><Right><Right><Right>"),
    );
    frames("handling_sweeten", &at("J3").tap("a<Left><Ctrl-S>"));
    frames(
        "handling_blend",
        &at("J3").tap("a<Right><Right><Down><Down>0.02gal"),
    );
}

#[test]
fn a_racking_keeps_its_loss() {
    let mut table = at("J3");
    let batch = table.state.chosen.unwrap().batch;
    table.press("a<Down><Down><Ctrl-U>0.95gal<Ctrl-S>");
    let dossier = table.store.dossier(batch, table.now).unwrap().unwrap();
    let stay = dossier.stays.iter().find(|s| s.to.is_none()).unwrap();
    let tag = &table
        .state
        .household
        .as_ref()
        .unwrap()
        .vessel(stay.vessel)
        .unwrap()
        .tag;
    assert_eq!(tag, "F2");
    assert!((stay.volume.unwrap().us_gallons() - 0.95).abs() < 1e-6);
    let lost: f64 = dossier
        .events
        .iter()
        .filter(|e| e.kind == EventKind::Loss)
        .map(|e| e.volume.unwrap().us_gallons())
        .sum();
    assert!((lost - 0.05).abs() < 1e-6, "{lost}");
}

#[test]
fn sweetening_waits_for_stabilising_or_a_reason() {
    let mut table = at("J3");
    let batch = table.state.chosen.unwrap().batch;
    table.press("a<Left><Ctrl-S>");
    assert_eq!(table.state.screen, Screen::Handling);
    assert!(table.text().contains("HOLD"), "{}", table.text());
    // Stabilised first, it is held all the same: no readings show that it had ended.
    table.press("<Home>");
    table.press("<Up><Up><Up><Up><Left><Ctrl-S>");
    assert_eq!(table.state.screen, Screen::Shelf, "{}", table.text());
    let events = |table: &Table| {
        let dossier = table.store.dossier(batch, table.now).unwrap().unwrap();
        dossier.events.iter().map(|e| e.kind).collect::<Vec<_>>()
    };
    let seen = events(&table);
    assert!(seen.contains(&EventKind::Sulfite) && seen.contains(&EventKind::Sorbate));
    table.press("a<Left>");
    assert!(
        table.text().contains("does not count as stabilised"),
        "{}",
        table.text()
    );
    table.press("<Down><Down><Down>we drink it within the week<Ctrl-S>");
    assert!(events(&table).contains(&EventKind::Sweeten));
    let dossier = table.store.dossier(batch, table.now).unwrap().unwrap();
    assert!(
        dossier
            .steps
            .iter()
            .any(|s| s.rule.key == "hold-after-sweetening")
    );
    // And bottling it now is held for a week.
    table.press("f");
    assert!(table.text().contains("Added on"), "{}", table.text());
}

#[test]
fn one_batch_goes_into_another() {
    let mut table = at("J1");
    table.press("a<Right><Right><Down><Down>0.04gal<Ctrl-S>");
    let household = table.state.household.clone().unwrap();
    let jug = household.vessel_by_tag("J1").unwrap().id;
    let into = household.in_vessel(jug).unwrap();
    let stay = into.stays.iter().find(|s| s.to.is_none()).unwrap();
    assert!((stay.volume.unwrap().us_gallons() - 1.04).abs() < 1e-6);
    assert!(into.events.iter().any(|e| e.kind == EventKind::Blend));
    let gave = household
        .dossiers
        .iter()
        .find(|d| d.events.iter().any(|e| e.kind == EventKind::Loss))
        .unwrap();
    let rest: f64 = gave
        .stays
        .iter()
        .filter(|s| s.to.is_none())
        .map(|s| s.volume.unwrap().us_gallons())
        .sum();
    assert!((rest - 0.96).abs() < 1e-6, "{rest}");
}

#[test]
fn a_hold_gives_way_to_a_reason_only_and_the_reason_stays() {
    let mut table = at("J3");
    table.press("f<Ctrl-S>");
    assert_eq!(table.state.screen, Screen::Bottling);
    assert!(table.text().contains("HOLD"), "{}", table.text());
    // A word is no reason.
    table.press("yes<Ctrl-S>");
    assert_eq!(table.state.screen, Screen::Bottling);
    table.press(", it was read on paper each week<Ctrl-S>");
    assert_eq!(table.state.screen, Screen::Cellar);
    let lot = table.state.supplies.cellar.lots[0].clone();
    assert_eq!(lot.batch.stage, Stage::Bottled);
    let dossier = table
        .store
        .dossier(lot.batch.id, table.now)
        .unwrap()
        .unwrap();
    let overruled: Vec<_> = dossier
        .events
        .iter()
        .filter(|e| e.kind == EventKind::Overrule)
        .collect();
    // One entry for each kind of hold that stood, the same reason in each.
    let kinds: Vec<_> = overruled.iter().map(|e| e.substance.as_str()).collect();
    assert_eq!(kinds, ["unfinished"]);
    for entry in &overruled {
        assert_eq!(entry.note, "yes, it was read on paper each week");
    }
    // One undo takes all of it back.
    table.press("u");
    assert!(table.store.cellar(true).unwrap().is_empty());
    let again = table
        .store
        .dossier(lot.batch.id, table.now)
        .unwrap()
        .unwrap();
    assert!(again.events.iter().all(|e| e.kind != EventKind::Overrule));
    assert_eq!(again.vessels().count(), 1);
}

#[test]
fn bottles_leave_with_a_few_keys() {
    let mut table = bottled();
    let lots = &table.state.supplies.cellar.lots;
    let (id, count) = (lots[0].lot.id, lots[0].lot.count);
    assert!(count >= 9, "{count}");
    table.press("2 given to Anna<Enter>1<Enter>1 broken<Enter>");
    let lot = table.state.supplies.cellar.lot(id).unwrap().clone();
    assert_eq!(lot.left(), count - 4);
    let kinds: Vec<_> = lot.draws.iter().map(|d| (d.count, d.kind)).collect();
    assert_eq!(
        kinds,
        [
            (2, DrawKind::Given),
            (1, DrawKind::Drunk),
            (1, DrawKind::Broken)
        ]
    );
    assert_eq!(lot.draws[0].whom, "Anna");
    // More than there are is refused, and stays typed.
    table.press("99<Enter>");
    assert!(table.text().contains("are left"), "{}", table.text());
    table.press("<Esc><Esc>-count 3<Enter>");
    assert_eq!(table.state.supplies.cellar.lot(id).unwrap().left(), 3);
    table.press("t<Right><Right><Tab><Tab><Tab><Tab><Tab>lovely<Enter>");
    let cellar = &table.state.supplies.cellar;
    assert_eq!(cellar.tastings.len(), 1);
    assert_eq!(cellar.tastings[0].marks, [5, 3, 3, 3, 3]);
    assert_eq!(cellar.lot(id).unwrap().left(), 2);
}
