//! Speed of the sums that a screen asks for again and again.
//! `cargo bench --bench sums`

#![expect(clippy::unwrap_used, reason = "a benchmark fails by panicking")]

use divan::{Bencher, black_box};
use skep::domain::sums::figures;
use skep::domain::sums::hydrometer::{self, Hydrometer};
use skep::domain::sums::must::{Amount, Design, Part, Wanted, solve};
use skep::domain::sums::{alcohol, gravity, ingredients, refractometer};
use skep::domain::units::{Abw, Brix, Celsius, Grams, Gravity, Litres};

fn main() {
    divan::main();
}

#[divan::bench]
fn gravity_correction() -> Gravity {
    hydrometer::corrected(
        black_box(Hydrometer::TRUE_20),
        black_box(Gravity::known(1.050)),
        black_box(Celsius::known(25.0)),
        black_box(Abw::known(5.0)),
    )
    .unwrap()
}

#[divan::bench]
fn gravity_correction_without_alcohol() -> Gravity {
    hydrometer::corrected(
        black_box(Hydrometer::TRUE_20),
        black_box(Gravity::known(1.050)),
        black_box(Celsius::known(25.0)),
        black_box(Abw::known(0.0)),
    )
    .unwrap()
}

#[divan::bench]
fn gravity_correction_in_ferment() -> Gravity {
    hydrometer::corrected_in_ferment(
        black_box(Hydrometer::TRUE_20),
        black_box(Gravity::known(1.050)),
        black_box(Celsius::known(25.0)),
        black_box(Gravity::known(1.100)),
    )
    .unwrap()
}

#[divan::bench]
fn plato_of_gravity() -> f64 {
    gravity::plato(black_box(Gravity::known(1.050)))
        .unwrap()
        .get()
}

#[divan::bench]
fn alcohol_by_balance() -> f64 {
    alcohol::by_volume(
        black_box(Gravity::known(1.100)),
        black_box(Gravity::known(1.010)),
    )
    .unwrap()
    .get()
}

#[divan::bench]
fn refractometer_in_ferment() -> f64 {
    refractometer::with_original(
        black_box(Brix::known(12.0)),
        black_box(Gravity::known(1.100)),
    )
    .unwrap()
    .gravity
    .get()
}

#[divan::bench]
fn must_solved(bencher: Bencher<'_, '_>) {
    let parts = ["raspberry", "honey", "water"].map(|k| ingredients::find(k).unwrap());
    bencher.bench(|| {
        let design = Design {
            parts: vec![
                Part {
                    ingredient: parts[0],
                    amount: Amount::Mass(black_box(Grams::known(500.0))),
                },
                Part {
                    ingredient: parts[1],
                    amount: Amount::Unknown,
                },
                Part {
                    ingredient: parts[2],
                    amount: Amount::Unknown,
                },
            ],
            wanted: Wanted {
                gravity: Some(black_box(Gravity::known(1.100))),
                volume: Some(black_box(Litres::known(3.785))),
                alcohol: None,
            },
            tolerance: None,
        };
        solve(&design).unwrap().original
    });
}

#[divan::bench]
fn must_solved_for_alcohol(bencher: Bencher<'_, '_>) {
    let parts = ["honey", "water"].map(|k| ingredients::find(k).unwrap());
    bencher.bench(|| {
        let design = Design {
            parts: parts
                .iter()
                .map(|p| Part {
                    ingredient: p,
                    amount: Amount::Unknown,
                })
                .collect(),
            wanted: Wanted {
                gravity: None,
                volume: Some(black_box(Litres::known(3.785))),
                alcohol: Some(black_box(skep::domain::units::Abv::known(12.0))),
            },
            tolerance: None,
        };
        solve(&design).unwrap().original
    });
}

#[divan::bench]
fn bench_figure_from_text() -> usize {
    figures::find("alcohol")
        .unwrap()
        .answer(&[("og", black_box("1.100")), ("sg", black_box("1.010"))])
        .unwrap()
        .lines
        .len()
}
