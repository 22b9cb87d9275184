//! How figures are shown: one way for every screen, sentence and report.
//!
//! Pure. Numbers of one kind always have the same number of decimals.

use super::records::{GravityScale, UnitSystem};
use super::sums::gravity;
use super::units::{Abv, Celsius, Gravity, GravityDelta, Share};

/// A gravity as a bare number on the maker's scale: `1.042`, `10.5`.
/// Beyond the range of the sugar equation it stays SG.
pub fn gravity_number(sg: Gravity, scale: GravityScale) -> String {
    match (scale, gravity::plato(sg)) {
        (GravityScale::Plato, Ok(plato)) => unsigned_zero(format!("{:.1}", plato.get())),
        _ => format!("{:.3}", sg.get()),
    }
}

/// A gravity with its unit: `1.042 SG`, `10.5 °P`.
pub fn gravity(sg: Gravity, scale: GravityScale) -> String {
    let number = gravity_number(sg, scale);
    match (scale, gravity::plato(sg)) {
        (GravityScale::Plato, Ok(_)) => format!("{number} °P"),
        _ => format!("{number} SG"),
    }
}

/// A change of gravity with its sign, near `at`: `-0.012`, `-3.0 °P`.
pub fn gravity_change(change: GravityDelta, at: Gravity, scale: GravityScale) -> String {
    let to = Gravity::clamped(at.get() + change.get());
    if let (GravityScale::Plato, Ok(a), Ok(b)) = (scale, gravity::plato(at), gravity::plato(to)) {
        return format!("{:+.1} °P", positive_zero(b.get() - a.get(), 1));
    }
    format!("{:+.3}", positive_zero(change.get(), 3))
}

/// An amount of gravity without sign, near `at`: `0.012`, `3.0 °P`.
pub fn gravity_amount(change: GravityDelta, at: Gravity, scale: GravityScale) -> String {
    gravity_change(change, at, scale)
        .trim_start_matches(['+', '-'])
        .to_owned()
}

/// A temperature: `68 °F`, `20.0 °C`.
pub fn temperature(t: Celsius, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => unsigned_zero(format!("{:.0}", t.fahrenheit())) + " °F",
        UnitSystem::Metric => unsigned_zero(format!("{:.1}", t.get())) + " °C",
    }
}

/// Alcohol by volume: `12.3 %`.
pub fn abv(a: Abv) -> String {
    format!("{:.1} %", a.get())
}

/// A share: `64 %`. Short of the whole it never says `100 %`, above nothing never `0 %`.
pub fn share(s: Share) -> String {
    let percent = s.get() * 100.0;
    if percent > 0.0 && percent < 0.5 {
        "<1 %".into()
    } else if (99.5..100.0).contains(&percent) {
        ">99 %".into()
    } else {
        format!("{percent:.0} %")
    }
}

/// Zero has no sign on a screen.
fn positive_zero(value: f64, decimals: i32) -> f64 {
    if (value * 10_f64.powi(decimals)).round() == 0.0 {
        0.0
    } else {
        value
    }
}

fn unsigned_zero(number: String) -> String {
    if number.starts_with('-') && !number.contains(|c: char| ('1'..='9').contains(&c)) {
        number.trim_start_matches('-').to_owned()
    } else {
        number
    }
}
