//! Reads sums on standard input, one a line, and writes one number for each:
//! `sum a b c` -> a number, or `error: …`. The cross-check drives it.
//!
//! Sums: `water t`, `sucrose p t`, `ethanol p t`, `plato sg`, `sg p`,
//! `ethanol-mass vol`, `index p`, `ethanol-index p`, `co2-water t`,
//! `vapour t`, `hydrometer shown t t0`, `abv og sg`, `molar name`, `unit word`.

use skep::domain::sums::gravity::Scale;
use skep::domain::sums::hydrometer::{Hydrometer, corrected};
use skep::domain::sums::{
    SumError, acidity, alcohol, carbonation, density, gravity, mass, nitrogen, refractometer,
    sulfite,
};
use skep::domain::units::{Abv, Abw, Celsius, Gravity, GravityDelta, NamedUnit, Plato};
use std::io::{self, BufRead, Write};

fn main() -> io::Result<()> {
    let mut out = io::BufWriter::new(io::stdout().lock());
    for line in io::stdin().lock().lines() {
        match answer(&line?) {
            Ok(value) => writeln!(out, "{value:.17e}")?,
            Err(error) => writeln!(out, "error: {error}")?,
        }
    }
    out.flush()
}

fn answer(line: &str) -> Result<f64, SumError> {
    let mut words = line.split_whitespace();
    let sum = words.next().unwrap_or("");
    let rest: Vec<&str> = words.collect();
    let n = |i: usize| {
        rest.get(i)
            .and_then(|w| w.parse::<f64>().ok())
            .unwrap_or(f64::NAN)
    };
    let t = |i: usize| Celsius::new(n(i));
    Ok(match sum {
        "water" => density::water(t(0)?)?.get(),
        "sucrose" => density::sucrose(Plato::new(n(0))?, t(1)?)?.get(),
        "ethanol" => density::ethanol(Abw::new(n(0))?, t(1)?)?.get(),
        "plato" => gravity::plato(Gravity::new(n(0))?)?.get(),
        "sg" => gravity::from_plato(Plato::new(n(0))?)?.get(),
        "ethanol-mass" => alcohol::mass_of_volume(Abv::new(n(0))?)?.get(),
        "index" => refractometer::index(Plato::new(n(0))?)?.get(),
        "ethanol-index" => refractometer::ethanol_index(Abw::new(n(0))?)?.get(),
        "co2-water" => carbonation::in_water(t(0)?)?,
        "vapour" => mass::vapour_pressure(t(0)?)?,
        "hydrometer" => floating(n(0), t(1)?, n(2))?,
        "abv" => alcohol::by_volume(Gravity::new(n(0))?, Gravity::new(n(1))?)?.get(),
        "constant" => constant(rest.first().copied().unwrap_or(""))?,
        "unit" => {
            let word = rest.first().copied().unwrap_or("");
            let unit = NamedUnit::find(word)
                .ok_or_else(|| SumError::NoAnswer(format!("no unit {word}")))?;
            unit.inward(n(1))
        }
        other => return Err(SumError::NoAnswer(format!("no sum {other}"))),
    })
}

fn floating(shown: f64, t: Celsius, t0: f64) -> Result<f64, SumError> {
    let scale = Scale::ALL
        .into_iter()
        .find(|s| (s.celsius() - t0).abs() < 0.01)
        .unwrap_or(Scale::Sg20);
    let it = Hydrometer {
        scale,
        offset: GravityDelta::new(0.0)?,
    };
    Ok(corrected(it, Gravity::new(shown)?, t, Abw::new(0.0)?)?.get())
}

fn constant(name: &str) -> Result<f64, SumError> {
    Ok(match name {
        "volume" => carbonation::GRAMS_PER_VOLUME,
        "co2-sucrose" => carbonation::Primer::Sucrose.co2_per_gram(),
        "co2-glucose" => carbonation::Primer::DextroseAnhydrous.co2_per_gram(),
        "co2-dextrose" => carbonation::Primer::DextroseMonohydrate.co2_per_gram(),
        "so2-potassium" => sulfite::SO2_IN_POTASSIUM,
        "so2-sodium" => sulfite::SO2_IN_SODIUM,
        "sorbate" => sulfite::ACID_IN_SORBATE,
        "dap" => nitrogen::N_IN_DAP,
        "tartaric" => acidity::Acid::Tartaric.equivalent(),
        "malic" => acidity::Acid::Malic.equivalent(),
        "citric" => acidity::Acid::Citric.equivalent(),
        "lactic" => acidity::Acid::Lactic.equivalent(),
        "sulfuric" => acidity::Acid::Sulfuric.equivalent(),
        "bicarbonate" => acidity::Salt::PotassiumBicarbonate.equivalent(),
        "carbonate" => acidity::Salt::CalciumCarbonate.equivalent(),
        "ethanol-density" => density::ethanol(Abw::new(100.0)?, Celsius::new(20.0)?)?.get(),
        other => return Err(SumError::NoAnswer(format!("no constant {other}"))),
    })
}
