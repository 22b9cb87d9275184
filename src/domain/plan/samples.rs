//! Plans to begin from: what a planner shows before anything is typed.

use super::{Aim, Bottling, Feeding, Filler, Locks, Part, Plan, PlanVessel};
use crate::domain::records::{Demand, Fizz, Style, TempBand, YeastClass};
use crate::domain::sums::ingredients;
use crate::domain::units::{Abv, Celsius, Grams, Gravity, Litres};

/// Wine yeast as most have it: bands and 14 % by common practice, no source.
pub fn wine_yeast() -> YeastClass {
    YeastClass {
        key: "wine".to_owned(),
        title: "wine yeast".to_owned(),
        styles: vec![Style::Mead, Style::Cider],
        band: TempBand {
            low: Celsius::known(16.0),
            high: Celsius::known(24.0),
            min: Celsius::known(13.0),
            max: Celsius::known(27.0),
        },
        tolerance: Abv::known(14.0),
        attenuation: None,
        demand: Demand::Medium,
        source: "common practice, no source".to_owned(),
    }
}

/// Ale yeast: 75 % apparent attenuation, bands by common practice, no source.
fn ale_yeast() -> YeastClass {
    YeastClass {
        key: "ale".to_owned(),
        title: "ale yeast".to_owned(),
        styles: vec![Style::Beer],
        band: TempBand {
            low: Celsius::known(17.0),
            high: Celsius::known(21.0),
            min: Celsius::known(15.0),
            max: Celsius::known(24.0),
        },
        tolerance: Abv::known(10.0),
        attenuation: Some(75.0),
        demand: Demand::Low,
        source: "common practice, no source".to_owned(),
    }
}

impl Plan {
    /// A plan to begin from: a gallon of the family's plainest drink, or what
    /// the vessel takes. Amounts are common practice, no source.
    pub fn begin(style: Style, vessel: Option<PlanVessel>) -> Self {
        let gallon = Litres::known(3.785411784);
        let mut plan = Self {
            name: String::new(),
            style,
            variety: "traditional".to_owned(),
            fizz: Fizz::Still,
            vessel: None,
            volume: gallon,
            // 2.5 lb of honey in a gallon.
            aim: Aim::Original(Gravity::known(1.095)),
            locks: Locks::default(),
            parts: from_table("honey", 1133.98),
            filler: Filler::Water,
            yeast: wine_yeast(),
            feeding: Feeding::default(),
            bottling: Bottling::default(),
            routine: "one-gallon-traditional-mead".to_owned(),
            pitch_on: None,
            feast_on: None,
            note: String::new(),
        };
        match style {
            Style::Mead => {}
            Style::Cider => {
                "cider".clone_into(&mut plan.variety);
                "cider".clone_into(&mut plan.routine);
                plan.parts = from_table("apple-juice", 3960.0);
                plan.filler = Filler::First;
                plan.aim = Aim::Original(Gravity::known(1.047));
            }
            Style::Beer => {
                "ale".clone_into(&mut plan.variety);
                "ale".clone_into(&mut plan.routine);
                plan.fizz = Fizz::Sparkling;
                plan.parts = from_table("malt-liquid", 600.0);
                plan.yeast = ale_yeast();
                plan.aim = Aim::Original(Gravity::known(1.050));
            }
        }
        if let Some(vessel) = vessel {
            let room = vessel.capacity.get();
            // A jug sold as one gallon is made up to the gallon.
            let volume = if (room / gallon.get() - 1.0).abs() < 0.15 {
                Litres::clamped(gallon.get().min(room))
            } else {
                plan.volume_for(vessel.capacity)
            };
            plan.vessel = Some(vessel);
            plan.volume = volume;
        }
        let aim = if plan.main().is_some() {
            plan.change(super::Change::Aim(plan.aim))
        } else {
            plan.change(super::Change::Volume(plan.volume))
        };
        let plan = aim.unwrap_or(plan);
        // Feet on the ground: the aim says what the parts make.
        Self {
            aim: plan.aim_as_is(),
            ..plan
        }
    }
}

/// A part of the compiled-in table of ingredients.
fn from_table(key: &str, grams: f64) -> Vec<Part> {
    ingredients::find(key)
        .and_then(|i| Part::of(i, Grams::clamped(grams)))
        .into_iter()
        .collect()
}
