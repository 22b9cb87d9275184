//! A published ferment, brought in and looked at by shell verbs alone.
//! Source and licence stand in the head of `tests/real_ferment/cabernet_17l.csv`.

use super::home::{Home, text};
use std::fmt::Write as _;

/// The series as a maker's spreadsheet: local time, SG, °C; the first instant
/// so many days ago that its end lies before today.
fn spreadsheet() -> String {
    let series = include_str!("../real_ferment/cabernet_17l.csv");
    let pitched = crate::clock::now().plus_days(-20.0);
    let mut sheet = String::from("Date,SG,Temp (°C)\n");
    for line in series.lines().filter(|l| !l.starts_with('#')).skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let hours: f64 = cells[0].parse().unwrap();
        let at = pitched.plus_days(hours / 24.0).datetime().to_rfc3339();
        writeln!(sheet, "{at},{},{}", cells[4], cells[1]).unwrap();
    }
    sheet
}

#[test]
fn a_published_ferment_comes_in_and_ends_without_an_alarm() {
    let home = Home::with_jugs();
    std::fs::write(home.path("wine.csv"), spreadsheet()).unwrap();
    home.skep("start J2 one-gallon-traditional-mead --name Cabernet --og 1.103 --at -20d")
        .success();
    let shown = text(
        &home
            .skep("import wine.csv --vessel J2")
            .success()
            .get_output()
            .stdout,
    );
    assert!(shown.contains("--keep"), "{shown}");
    home.skep("import wine.csv --vessel J2 --keep").success();
    let again = text(
        &home
            .skep("import wine.csv --vessel J2 --keep")
            .success()
            .get_output()
            .stdout,
    );
    assert!(
        again.contains("known already") || again.contains("nothing"),
        "{again}"
    );
    // 11: late steps, since nobody ticked any; nothing going wrong, nothing stuck.
    let said = text(&home.skep("show J2").code(11).get_output().stdout);
    assert!(said.contains("finished"), "{said}");
    assert!(!said.contains("stuck:"), "{said}");
}
