//! Which sum answers which row.

use crate::rows::Row;
use skep::domain::sums::acidity::{self, Acid};
use skep::domain::sums::blend::{self, Lot};
use skep::domain::sums::carbonation::{self as gas, Drink, Primer};
use skep::domain::sums::must::{Amount, Design, Part, Wanted, solve};
use skep::domain::sums::sulfite::{self, Constant, Present, Salt};
use skep::domain::sums::{
    alcohol, density, finish, gravity, hydrometer, ingredients, nitrogen, refractometer, serving,
};
use skep::domain::units::*;

/// What a row is compared with.
pub(crate) enum Got {
    /// The sum's value, in the row's unit.
    Value(f64),
    /// No sum of skep gives this; the reason.
    No(&'static str),
}

use Got::{No, Value};

fn t(row: &Row) -> Celsius {
    Celsius::new(row.input("temperature")).unwrap()
}

fn share(percent: f64) -> Share {
    Share::new(percent / 100.0).unwrap()
}

fn drink(a: f64, s: f64) -> Drink {
    Drink {
        alcohol: Abv::new(a).unwrap(),
        sugar: GramsPerLitre::new(s).unwrap(),
    }
}

fn g(v: f64) -> Gravity {
    Gravity::new(v).unwrap()
}

/// The sum for a row of a file.
pub(crate) fn got(file: &str, row: &Row) -> Got {
    match file {
        "sucrose_density_20C.csv" | "sucrose_density_temperature.csv" | "water_density.csv" => {
            sugar_density(row)
        }
        "sg_brix.csv" => scales(row),
        "hydrometer_temperature.csv" => floats(row),
        "ethanol_water.csv" => ethanol(row),
        "extract_alcohol_balance.csv" => balance(row),
        "refractive_index.csv" => refraction(row),
        "honey.csv" => honey(row),
        "co2.csv" => co2(row),
        "nitrogen.csv" => feed(row),
        "sulfite_acid.csv" | "oiv_so2.csv" => stabilise(row),
        "units.csv" => units(row),
        "trade.csv" => trade(row),
        other => panic!("no sums for {other}"),
    }
}

fn sugar_density(row: &Row) -> Got {
    let rho = |p: f64, t: Celsius| density::sucrose(Plato::new(p).unwrap(), t).unwrap().get();
    match row.quantity.as_str() {
        "density of water at 101325 Pa" => Value(density::water(t(row)).unwrap().get()),
        "density of aqueous sucrose" => Value(rho(row.input("sucrose"), t(row))),
        "sucrose mass concentration" => Value(
            gravity::sugar_per_litre(Plato::new(row.input("sucrose")).unwrap())
                .unwrap()
                .get(),
        ),
        // Weighed in air of 1.2 kg/m³ with brass weights of 8400.
        "weight per US gallon in air" => Value(
            (rho(row.input("sucrose"), t(row)) - 1.2) / (1.0 - 1.2 / 8400.0) * LITRES_PER_US_GALLON
                / GRAMS_PER_POUND,
        ),
        other => panic!("{other}"),
    }
}

fn scales(row: &Row) -> Got {
    let p = || Plato::new(row.inputs[0].1).unwrap();
    match row.quantity.as_str() {
        "specific gravity 20/20 from Brix" | "specific gravity 20/20 from Plato" => {
            Value(gravity::from_plato(p()).unwrap().get())
        }
        "specific gravity 60F/60F from Brix" => Value(
            gravity::to_60f(gravity::from_plato(p()).unwrap())
                .unwrap()
                .get(),
        ),
        "Brix from specific gravity 20/20" => {
            Value(gravity::plato(g(row.input("sg2020"))).unwrap().get())
        }
        other => panic!("{other}"),
    }
}

fn floats(row: &Row) -> Got {
    match row.quantity.as_str() {
        "hydrometer reading at sample temperature" => {
            let t0 = row.input("calibration temperature");
            let scale = if (t0 - 20.0).abs() < 1e-9 {
                gravity::Scale::Sg20
            } else {
                gravity::Scale::Sg60F
            };
            let it = hydrometer::Hydrometer {
                scale,
                offset: GravityDelta::new(0.0).unwrap(),
            };
            let at_t0 = row.input("true SG at calibration temperature");
            let true20 = match scale {
                gravity::Scale::Sg20 => g(at_t0),
                _ => gravity::from_60f(Gravity60F::new(at_t0).unwrap()).unwrap(),
            };
            let t = Celsius::new(row.input("sample temperature")).unwrap();
            let shown = hydrometer::shown(it, true20, t, Abw::new(0.0).unwrap()).unwrap();
            Value(shown.get())
        }
        "Brix spindle correction to subtract at 15 degC (20 degC spindle)" => {
            let brix = row.input("true sucrose");
            let sg = gravity::from_plato(Plato::new(brix).unwrap()).unwrap();
            let t = Celsius::new(row.input("sample temperature")).unwrap();
            let none = Abw::new(0.0).unwrap();
            let shown = hydrometer::shown(hydrometer::Hydrometer::TRUE_20, sg, t, none).unwrap();
            Value(gravity::plato(shown).unwrap().get() - brix)
        }
        "conventional cubic expansion of hydrometer glass" => Value(hydrometer::GLASS_EXPANSION),
        other => panic!("{other}"),
    }
}

fn ethanol(row: &Row) -> Got {
    let rho = |percent: f64, t: f64| {
        density::ethanol(Abw::new(percent).unwrap(), Celsius::new(t).unwrap())
            .unwrap()
            .get()
    };
    let f60 = 28.0 / 1.8;
    // Share by volume of a mixture at 60 °F, by the same definition as at 20 °C.
    let volume_60 = |p: f64| p * rho(p, f60) / rho(100.0, f60);
    let mass_60 = |v: f64| {
        let (mut low, mut high) = (0.0, 100.0);
        for _ in 0..60 {
            let m = f64::midpoint(low, high);
            if volume_60(m) < v { low = m } else { high = m }
        }
        f64::midpoint(low, high)
    };
    let in_air = |p: f64, t: f64| (rho(p, t) - 1.2) / (rho(0.0, t) - 1.2);
    let by_volume = row.inputs.first().is_some_and(|i| i.0 == "alcohol");
    let p = |row: &Row| {
        if by_volume {
            mass_60(row.inputs[0].1)
        } else {
            row.inputs[0].1
        }
    };
    match row.quantity.as_str() {
        "density of aqueous ethanol" | "density of aqueous ethanol, second route" => {
            Value(rho(row.input("ethanol"), row.input("temperature")))
        }
        "density of ethanol at 20 degC" => Value(rho(100.0, 20.0)),
        "ethanol mass fraction from % vol at 20 degC" => Value(
            alcohol::mass_of_volume(Abv::new(row.input("alcohol")).unwrap())
                .unwrap()
                .get(),
        ),
        "density at 20 degC from % vol" => {
            let w = alcohol::mass_of_volume(Abv::new(row.input("alcohol")).unwrap()).unwrap();
            Value(rho(w.get(), 20.0))
        }
        "mass % from % vol at 60 degF" => Value(mass_60(row.input("alcohol"))),
        "% vol at 60 degF from mass %" => Value(volume_60(row.input("ethanol"))),
        "specific gravity in air 25/25" => Value(in_air(p(row), 25.0)),
        "specific gravity in air 15.56/15.56" => Value(in_air(p(row), f60)),
        other => panic!("{other}"),
    }
}

fn balance(row: &Row) -> Got {
    let oe = |a: f64, er: f64| {
        alcohol::original_extract(Abw::new(a).unwrap(), Plato::new(er).unwrap())
            .unwrap()
            .get()
    };
    match row.quantity.as_str() {
        "Balling mass balance: extract = alcohol + CO2 + yeast" => {
            Value(1.0 + alcohol::CO2_PER_ALCOHOL + alcohol::YEAST_PER_ALCOHOL)
        }
        "ethanol per extract, Balling" => Value(1.0 / alcohol::EXTRACT_PER_ALCOHOL),
        "CO2 per extract, Balling" => {
            Value(alcohol::CO2_PER_ALCOHOL / alcohol::EXTRACT_PER_ALCOHOL)
        }
        "CO2 from glucose, Gay-Lussac" => Value(Primer::DextroseAnhydrous.co2_per_gram()),
        "CO2 from sucrose" => Value(Primer::Sucrose.co2_per_gram()),
        "original extract, Balling formula" | "original extract (mean of measured set)" => {
            Value(oe(row.input("alcohol"), row.input("real extract")))
        }
        "real extract by Tabarie from apparent extract and alcohol" => {
            let sg = gravity::from_plato(Plato::new(row.input("apparent extract")).unwrap());
            let a = Abw::new(row.input("alcohol")).unwrap();
            Value(alcohol::real_extract(sg.unwrap(), a).unwrap().get())
        }
        "alcohol per unit of (real - apparent extract)" => {
            // Taken where 70 % of the extract seems gone; the ratio hardly moves with that.
            let p = row.input("original extract");
            let og = gravity::from_plato(Plato::new(p).unwrap()).unwrap();
            let now = gravity::from_plato(Plato::new(0.3 * p).unwrap()).unwrap();
            let b = alcohol::balance(og, now).unwrap();
            Value(b.by_mass.get() / (b.real_extract.get() - b.apparent_extract.get()))
        }
        "volume increase from dry sugar" => {
            // 20 kg dissolved in 80 kg of water: volume of the solution less the water's.
            let w20 = Celsius::new(20.0).unwrap();
            let solution = density::sucrose(Plato::new(20.0).unwrap(), w20)
                .unwrap()
                .get();
            let litres = 1e5 / solution - 8e4 / density::water(w20).unwrap().get();
            Value(20_000.0 / GRAMS_PER_POUND / (litres / LITRES_PER_US_GALLON))
        }
        "ethanol from glucose, Gay-Lussac" | "ethanol from sucrose" => {
            No("skep counts alcohol by Balling's yield")
        }
        "original extract after fermentation, Balling, lager survey" => {
            No("a survey's mean without the readings behind it")
        }
        other => panic!("{other}"),
    }
}

fn refraction(row: &Row) -> Got {
    match row.quantity.as_str() {
        "refractive index of aqueous sucrose" => {
            match refractometer::index(Plato::new(row.input("sucrose")).unwrap()) {
                Ok(n) => Value(n.get()),
                Err(_) => No("above 80 % by mass, outside the sum's range"),
            }
        }
        "refractive index of aqueous ethanol" => {
            match refractometer::ethanol_index(Abw::new(row.input("ethanol")).unwrap()) {
                Ok(n) => Value(n.get()),
                Err(_) => No("above 30 % by mass, outside the sum's range"),
            }
        }
        "alcohol of young fortified wine" => {
            let baume = row.input("hydrometer apparent Baume");
            let sg = g(145.0 / (145.0 - baume));
            let brix = Brix::new(row.input("refractometer apparent Brix")).unwrap();
            Value(
                refractometer::with_hydrometer(brix, sg)
                    .unwrap()
                    .by_volume
                    .get(),
            )
        }
        "refractive index of water, absolute, 589 nm" => {
            No("skep takes readings at 20 °C or compensated")
        }
        other => panic!("{other}"),
    }
}

fn honey_of(water: f64) -> ingredients::Ingredient {
    ingredients::find("honey").unwrap().with_water(share(water))
}

fn honey(row: &Row) -> Got {
    let usda = ingredients::find("honey").unwrap();
    match row.quantity.as_str() {
        "honey water content from refractive index" => {
            let n = RefractiveIndex::new(row.input("refractive index nD")).unwrap();
            Value(100.0 * refractometer::honey_water(n).unwrap().get())
        }
        "honey composition, USDA SR" => match row.word.as_str() {
            "water" => Value(100.0 * usda.water().get()),
            "total sugars" => Value(100.0 * usda.sugar.get()),
            _ => No("not kept in the table"),
        },
        "honey specific gravity 20/20" => {
            let rho = honey_of(row.input("water")).density().unwrap().get();
            Value(rho / density::water(Celsius::new(20.0).unwrap()).unwrap().get())
        }
        "must SG 20/20, honey made up to volume" => {
            let honey = honey_of(100.0 - row.input("honey solids"));
            let v = row.input("final volume at 20 degC") * LITRES_PER_US_GALLON;
            Value(made_up(&honey, row.input("honey"), v))
        }
        _ => No("not kept in the table"),
    }
}

fn made_up(honey: &ingredients::Ingredient, pounds: f64, litres: f64) -> f64 {
    let must = solve(&Design {
        parts: vec![
            Part {
                ingredient: honey,
                amount: Amount::Mass(Grams::from_pounds(pounds).unwrap()),
            },
            Part {
                ingredient: ingredients::find("water").unwrap(),
                amount: Amount::Unknown,
            },
        ],
        wanted: Wanted {
            volume: Some(Litres::new(litres).unwrap()),
            ..Wanted::default()
        },
        tolerance: None,
    });
    must.unwrap().original.get()
}

fn co2(row: &Row) -> Got {
    let per_volume = gas::GRAMS_PER_VOLUME;
    let primer = |row: &Row| match row.word.as_str() {
        "sucrose" => Some(Primer::Sucrose),
        "glucose anhydrous" | "fructose" => Some(Primer::DextroseAnhydrous),
        "glucose monohydrate" => Some(Primer::DextroseMonohydrate),
        "honey" => Some(Primer::Honey {
            sugar: share(82.12),
        }),
        _ => None,
    };
    match row.quantity.as_str() {
        "CO2 solubility in water, Weiss 1974" => {
            let rho = density::water(t(row)).unwrap().get() / 1000.0;
            Value(gas::in_water(t(row)).unwrap() * 1.01325 / 44.0095 / rho)
        }
        "CO2 solubility in water, Carroll 1991" => Value(gas::in_water(t(row)).unwrap()),
        "Henry solubility of CO2 at 25 degC" => {
            let c = gas::in_water(Celsius::new(25.0).unwrap()).unwrap();
            Value(c / 44.0095 * 1000.0 / 1e5)
        }
        "Bunsen absorption coefficient of CO2 in water (historic)" => {
            Value(gas::in_water(t(row)).unwrap() * 1.01325 / per_volume)
        }
        "density of CO2 gas at 0 degC and 101325 Pa" => Value(per_volume),
        "molar volume of CO2 at 0 degC and 101325 Pa" => Value(44.0095 / per_volume),
        "dissolved CO2 in wine at 20 degC per bar absolute" => Value(
            gas::in_drink(
                drink(row.input("alcohol"), row.input("sugar")),
                Celsius::new(20.0).unwrap(),
            )
            .unwrap(),
        ),
        "CO2 pressure in a sealed sparkling-wine bottle" => {
            let wine = drink(12.5, 0.0);
            let at = |k: f64| gas::in_drink(wine, Celsius::new(k - 273.15).unwrap()).unwrap();
            Value(7.5 * at(293.0) / at(row.input("temperature")))
        }
        "dissolved CO2 at 7.5 bar, 20 degC, 12.5 % vol" => {
            Value(7.5 * gas::in_drink(drink(12.5, 0.0), Celsius::new(20.0).unwrap()).unwrap())
        }
        "Henry constant of CO2 in sparkling wine at 10 degC" => {
            Value(gas::in_drink(drink(12.5, 0.0), t(row)).unwrap())
        }
        "Henry constant of CO2 in lager beer at 6 degC" => {
            Value(gas::in_drink(drink(5.0, 0.0), t(row)).unwrap())
        }
        "CO2 yield, theoretical" | "CO2 yield, honey 82.12 % sugars" => {
            Value(primer(row).unwrap().co2_per_gram())
        }
        "sugar for one volume of CO2" => Value(per_volume / primer(row).unwrap().co2_per_gram()),
        "CO2 from 24 g/L of sucrose" => Value(
            per_volume
                * gas::worst_case(
                    Volumes::new(0.0).unwrap(),
                    GramsPerLitre::new(24.0).unwrap(),
                )
                .unwrap()
                .get(),
        ),
        "CO2 in wine formula coefficient, mass form"
        | "CO2 in wine formula coefficient, volume form"
        | "limit of CO2 in still wine (US)"
        | "limit of CO2 in hard cider (US)"
        | "minimum excess pressure of sparkling wine (EU)"
        | "minimum pressure of UK quality sparkling wine" => No("a definition, not a sum"),
        other => panic!("{other}"),
    }
}

fn feed(row: &Row) -> Got {
    let need = |row: &Row| nitrogen::need_range(row.input("sugar"));
    match row.quantity.as_str() {
        "nitrogen in diammonium phosphate" => Value(nitrogen::N_IN_DAP),
        "YAN from ammonia and alpha-amino nitrogen" => Value(
            nitrogen::usable(
                MilligramsPerLitre::new(row.input("NH3")).unwrap(),
                MilligramsPerLitre::new(row.input("alpha-amino N")).unwrap(),
            )
            .get(),
        ),
        "N fraction of ammonia" => Value(
            nitrogen::usable(
                MilligramsPerLitre::new(1.0).unwrap(),
                MilligramsPerLitre::new(0.0).unwrap(),
            )
            .get(),
        ),
        "limit of diammonium phosphate (US)" => Value(nitrogen::MOST_DAP),
        "N from 0.96 g/L diammonium phosphate" => {
            Value(nitrogen::MOST_DAP * nitrogen::Nutrient::Dap.nitrogen())
        }
        "N from 1 lb per 1000 US gal of diammonium phosphate" => Value(
            GRAMS_PER_POUND / 1000.0 / LITRES_PER_US_GALLON * nitrogen::Nutrient::Dap.nitrogen(),
        ),
        "minimum YAN, low risk, white" | "YAN target found best for mead" => Value(nitrogen::LEAST),
        "YAN for clean and fruity white, high end" => Value(nitrogen::HIGHEST),
        "YAN need per sugar, lowest of four strains" => Value(nitrogen::need_range(1.0).0),
        "YAN need per sugar, highest of four strains" => Value(nitrogen::need_range(1.0).1),
        "YAN need, range from per-sugar figures, low end" => Value(need(row).0),
        "YAN need, range from per-sugar figures, high end" => Value(need(row).1),
        _ => No("not used by a sum"),
    }
}

fn stabilise(row: &Row) -> Got {
    let usual = Constant::Usual;
    let mg = |v: f64| MilligramsPerLitre::new(v).unwrap();
    match row.quantity.as_str() {
        "SO2 in potassium metabisulfite" => Value(100.0 * sulfite::SO2_IN_POTASSIUM),
        "SO2 in sodium metabisulfite" => Value(100.0 * sulfite::SO2_IN_SODIUM),
        "first ionisation constant of sulfurous acid at 25 degC" => {
            Value(10f64.powf(-sulfite::USUAL_PKA))
        }
        "conventional pKa1 of SO2 used for must and wine" => Value(sulfite::USUAL_PKA),
        "molecular SO2 from 30 mg/L free" => Value(
            sulfite::molecular(mg(30.0), Ph::new(row.input("pH")).unwrap(), usual)
                .unwrap()
                .get(),
        ),
        "free SO2 for 0.8 mg/L molecular" => Value(
            sulfite::free_for(mg(0.8), Ph::new(row.input("pH")).unwrap(), usual)
                .unwrap()
                .get(),
        ),
        "metabisulfite for 50 mg/L SO2 in 1 US gal" => {
            let present = Present {
                free: mg(0.0),
                total: mg(0.0),
                stays_free: share(100.0),
            };
            let gallon = Litres::from_us_gallons(1.0).unwrap();
            let dose = sulfite::dose(mg(50.0), present, gallon, Salt::Potassium).unwrap();
            Value(dose.amount.get())
        }
        "limit of total SO2 in wine (US)" => Value(sulfite::MOST_TOTAL_SO2),
        "SO2 level that must be declared (US spirits rule)" => Value(sulfite::DECLARE_SO2),
        "limit of sorbic acid in wine" => Value(sulfite::MOST_SORBIC_ACID),
        "sorbic acid in potassium sorbate" => Value(sulfite::ACID_IN_SORBATE),
        "potassium sorbate for 200 mg/L sorbic acid" => {
            let one = Litres::new(1.0).unwrap();
            let twelve = Abv::new(12.0).unwrap();
            let dose = sulfite::sorbate(mg(200.0), one, twelve, None).unwrap();
            Value(1000.0 * dose.amount.get())
        }
        "equivalent mass of acid" => Value(
            Acid::ALL
                .into_iter()
                .find(|a| a.name() == row.word)
                .unwrap()
                .equivalent(),
        ),
        "titratable acidity, tartaric to sulfuric" => Value(
            acidity::restate(
                GramsPerLitre::new(10.0).unwrap(),
                Acid::Tartaric,
                Acid::Sulfuric,
            )
            .unwrap()
            .get(),
        ),
        "thermodynamic pK1 of SO2" => {
            let root = 0.038_f64.sqrt();
            Value(oiv(row) + 0.509 * root / (1.0 + 1.6 * root))
        }
        "mixed pK1 of SO2 at ionic strength 0.038" => Value(oiv(row)),
        _ => No("not used by a sum"),
    }
}

fn oiv(row: &Row) -> f64 {
    Constant::Oiv {
        alcohol: Abv::new(row.input("alcohol")).unwrap(),
        temperature: t(row),
    }
    .pk()
    .unwrap()
}

fn units(row: &Row) -> Got {
    let one = |word: &str| NamedUnit::find(word).unwrap().inward(1.0);
    match (row.word.as_str(), row.unit.as_str()) {
        ("US gallon", "L (exact)") => Value(one("gal")),
        ("US fluid ounce", _) => Value(1000.0 * one("floz")),
        ("US liquid pint", _) => Value(1000.0 * one("pt")),
        ("avoirdupois pound", _) => Value(one("lb")),
        ("avoirdupois ounce", _) => Value(one("oz")),
        ("measuring cup", "US fl oz (exact)") => Value(one("cup") / one("floz")),
        ("measuring cup", _) => Value(1000.0 * one("cup")),
        ("tablespoon (1/2 fl oz)", _) => Value(1000.0 * one("tbsp")),
        ("teaspoon (1/6 fl oz)", _) => Value(1000.0 * one("tsp")),
        ("dekalitre", _) => Value(10.0 / one("gal")),
        ("imperial gallon", _) => Value(one("impgal")),
        ("standard atmosphere", _) => Value(1e5 * one("atm")),
        ("psi", _) => Value(1e5 * one("psi")),
        ("60 degF", _) => Value(NamedUnit::find("f").unwrap().inward(60.0)),
        ("68 degF", _) => Value(NamedUnit::find("f").unwrap().inward(68.0)),
        ("absolute zero", _) => Value(NamedUnit::find("k").unwrap().inward(0.0)),
        _ => dilution(row),
    }
}

fn dilution(row: &Row) -> Got {
    let label = |litres: f64| {
        serving::by_label(
            serving::fluid_ounces(0.5).unwrap(),
            Litres::from_us_gallons(2.5).unwrap(),
            Litres::new(litres).unwrap(),
        )
        .unwrap()
        .get()
    };
    match row.quantity.as_str() {
        "dilution ratio of 1/2 fl oz in 2.5 US gal" => Value(label(1.0)),
        "same dose per litre" => Value(1000.0 * label(1.0)),
        "same dose for 1 US gal" => Value(1000.0 * label(LITRES_PER_US_GALLON)),
        "same dose for 5 L" => Value(1000.0 * label(5.0)),
        _ => No("a unit that skep does not take"),
    }
}

fn trade(row: &Row) -> Got {
    let abv = |og: f64, sg: f64| alcohol::by_volume(g(og), g(sg)).unwrap().get();
    match row.quantity.as_str() {
        "alcohol from gravities, excise example" => {
            Value(abv(row.input("original"), row.input("present")))
        }
        "alcohol per gravity point, excise factor" => {
            let points = row.input("points");
            Value(abv(1.0 + points / 1000.0, 1.0) / points)
        }
        "rule of thumb" => {
            Value(alcohol::rule_of_thumb(g(row.input("original")), g(row.input("present"))).get())
        }
        "original extract, Balling formula" => balance(row),
        "one-third break" => Value(
            alcohol::gravity_at_share(g(row.input("original")), g(1.0), share(100.0 / 3.0))
                .unwrap()
                .get(),
        ),
        "gas per gravity point" => {
            let now = row.input("present");
            Value(
                finish::co2_per_litre(g(row.input("original")), g(now), g(now - 0.001))
                    .unwrap()
                    .get()
                    / gas::GRAMS_PER_VOLUME,
            )
        }
        "gas from a gallon" => {
            let og = g(row.input("original"));
            // The upper bound: all sugar used gives its full gas.
            let all = gas::still_to_come(og, og, g(row.input("end"))).unwrap();
            Value(all.get() * gas::GRAMS_PER_VOLUME * LITRES_PER_US_GALLON)
        }
        _ => trade_gas(row),
    }
}

fn trade_gas(row: &Row) -> Got {
    let water = drink(0.0, 0.0);
    match row.quantity.as_str() {
        "CO2 in water, IUPAC-NIST" => Value(gas::in_water(t(row)).unwrap() * 1.01325 / 44.0095),
        "gas of still-wine limit" | "gas of a soft-drink bottle" => {
            Value(row.input("CO2") / gas::GRAMS_PER_VOLUME)
        }
        "gas of 3 bar at 20 degC" => {
            let p = GaugeBar::new(row.input("pressure")).unwrap();
            Value(gas::held_at(p, water, t(row)).unwrap().get())
        }
        "pressure from 24 g/L of sugar" => {
            let none = Volumes::new(0.0).unwrap();
            let held = gas::worst_case(none, GramsPerLitre::new(row.input("sugar")).unwrap());
            let p = gas::bottle_pressure(held.unwrap(), drink(12.5, 0.0), t(row)).unwrap();
            Value((p.gauge.get() + gas::AIR) / 1.01325)
        }
        "alcohol from 24 g/L of sugar" => {
            let none = Volumes::new(0.0).unwrap();
            let g24 = GramsPerLitre::new(row.input("sugar")).unwrap();
            let one = Litres::new(1.0).unwrap();
            let held = gas::worst_case(none, g24).unwrap();
            Value(
                gas::priming(held, none, one, Primer::Sucrose)
                    .unwrap()
                    .alcohol
                    .get(),
            )
        }
        "gas in closed bottle, trade table" => {
            let held = Volumes::new(row.input("volumes")).unwrap();
            Value(
                gas::bottle_pressure(held, water, t(row))
                    .unwrap()
                    .gauge
                    .get(),
            )
        }
        "gas left in still drink, trade table" => Value(gas::residual(t(row)).unwrap().get()),
        "priming, sucrose" => Value(primed(row, Primer::Sucrose)),
        "priming, dextrose" => Value(primed(row, Primer::DextroseMonohydrate)),
        _ => trade_rest(row),
    }
}

fn primed(row: &Row, primer: Primer) -> f64 {
    gas::priming(
        Volumes::new(row.input("target")).unwrap(),
        gas::residual(t(row)).unwrap(),
        Litres::new(row.input("volume")).unwrap(),
        primer,
    )
    .unwrap()
    .amount
    .get()
}

fn lot(litres: f64, sg: f64, abv: f64) -> Lot {
    Lot::new(
        Litres::new(litres).unwrap(),
        g(sg),
        Abv::new(abv).unwrap(),
        GramsPerLitre::new(0.0).unwrap(),
    )
    .unwrap()
}

fn trade_rest(row: &Row) -> Got {
    match row.quantity.as_str() {
        "nitrogen of diammonium phosphate dose" => {
            Value(row.input("DAP") * nitrogen::Nutrient::Dap.nitrogen())
        }
        "must of honey made up to a gallon" => {
            let honey = honey_of(row.input("water in honey"));
            Value(made_up(&honey, row.input("honey"), LITRES_PER_US_GALLON))
        }
        "honey per US gallon, low" | "honey per US gallon, high" => Value(
            honey_of(row.input("water")).density().unwrap().get() * LITRES_PER_US_GALLON
                / GRAMS_PER_POUND,
        ),
        "gravity of sugar must, leaflet" => Value(
            gravity::from_plato(Plato::new(row.input("sugar")).unwrap())
                .unwrap()
                .get(),
        ),
        "standard drinks" => {
            let size = Litres::new(row.input("volume") / 1000.0).unwrap();
            let seen = lot(1.0, 1.0, row.input("alcohol")).seen().unwrap();
            Value(serving::serving(seen, size).unwrap().standard_drinks)
        }
        "bottles per gallon" => {
            let gallon = Litres::from_us_gallons(1.0).unwrap();
            let none = Litres::new(0.0).unwrap();
            let size = serving::fluid_ounces(row.input("bottle")).unwrap();
            Value(f64::from(
                serving::bottles(gallon, share(5.0), none, size)
                    .unwrap()
                    .full,
            ))
        }
        "metabisulfite against chlorine" => {
            let mg = MilligramsPerLitre::new(row.input("chlorine")).unwrap();
            let g = sulfite::dechlorinate(mg, Litres::new(1.0).unwrap()).unwrap();
            Value(1000.0 * g.get())
        }
        "iodine stock" => {
            let mg = MilligramsPerLitre::new(row.input("target")).unwrap();
            let l = Litres::new(row.input("volume")).unwrap();
            Value(1000.0 * serving::stock_for(mg, row.input("stock"), l).unwrap().get())
        }
        "honey per gravity point in sweetening" => Value(per_point(row, 82.9)),
        "sugar per gravity point in sweetening" => Value(per_point(row, 100.0)),
        other => panic!("{other}"),
    }
}

fn per_point(row: &Row, solids: f64) -> f64 {
    let drink = lot(1.0, 1.000, row.input("alcohol"));
    let (grams, _) = blend::sweeten(drink, share(solids), g(1.010)).unwrap();
    grams.get() / 10.0
}
