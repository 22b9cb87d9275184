//! Amounts that no jug of a gallon can take: asked about or refused, never saved as they are.

use super::home::{Home, text};

/// A mead in J2, a jug of a gallon that weighs 1400 g when empty; J1 is not weighed.
fn home() -> Home {
    Home::with_mead(20)
}

#[test]
fn a_mass_or_volume_that_the_vessel_cannot_have_is_asked_about() {
    let home = home();
    for (slip, why) in [
        ("2000kg", "full it weighs 14 lb at most"),
        ("20kg", "full it weighs 14 lb at most"),
        ("0kg", "lighter than the empty vessel"),
        ("0l", "nothing is left"),
        ("100l", "the vessel holds 1.00 gal"),
    ] {
        let before = home.out("export readings");
        let done = home.skep(&format!("read J2 {slip}")).code(4);
        let said = text(&done.get_output().stderr);
        assert!(
            said.contains(why) && said.contains("--anyway"),
            "{slip}: {said}"
        );
        assert_eq!(home.out("export readings"), before, "{slip}");
    }
    home.skep("settings units metric").success();
    let done = home.skep("read J2 2000kg").code(4);
    let said = text(&done.get_output().stderr);
    assert!(said.contains("full it weighs 6.3 kg at most"), "{said}");
    // A full jug, and the maker's last word.
    home.skep("read J2 5.6kg").success();
    home.skep("read J2 0l --anyway").success();
}

#[test]
fn a_vessel_that_nobody_has_weighed_has_a_bound_too() {
    let home = Home::with_jugs();
    home.skep("start J1 one-gallon-traditional-mead --og 1.092 --at -20d")
        .success();
    for slip in ["2000kg", "0g"] {
        home.skep(&format!("read J1 {slip}")).code(4);
    }
    home.skep("read J1 6kg").success();
}

#[test]
fn more_than_the_vessel_holds_does_not_go_into_it() {
    let home = home();
    for (amount, why) in [
        ("--mass 2000kg", "2000.0 kg does not fit into J2"),
        ("--volume 2000l", "2000.00 L do not fit into J2"),
        ("--mass 0g", "an amount of 0 adds nothing"),
        ("--volume 0l", "an amount of 0 adds nothing"),
    ] {
        let before = home.out("history");
        let done = home
            .skep(&format!("done J2 swirl-feed-2 --added dap {amount}"))
            .code(2);
        let said = text(&done.get_output().stderr);
        assert!(said.contains(why), "{amount}: {said}");
        assert_eq!(home.out("history"), before, "{amount}");
    }
    home.skep("done J2 swirl-feed-2 --added dap --mass 1.5g")
        .success();
}

#[test]
fn more_than_the_vessel_holds_is_not_ticked_on_the_day() {
    let home = Home::with_jugs();
    home.skep("plan --style mead --volume 1gal --og 1.090 --vessel J1 --name heather --keep")
        .success();
    for used in ["2000kg", "2000lb"] {
        let done = home
            .skep(&format!("day heather --tick part-0-1 --used {used}"))
            .code(2);
        let said = text(&done.get_output().stderr);
        assert!(said.contains("does not fit into J1"), "{used}: {said}");
    }
    home.skep("day heather --tick part-0-1 --used 0.8lb")
        .success();
}
