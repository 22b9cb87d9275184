//! Plans to begin from: what a planner shows before anything is typed.

use super::{Aim, Bottling, Feeding, Filler, Locks, Part, PartKind, Plan, PlanVessel};
use crate::domain::records::{Demand, Fizz, Style, TempBand, YeastClass};
use crate::domain::units::{Abv, Celsius, Grams, Gravity, Litres, Share};

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
            // Water: mean of US honeys, White et al. 1962.
            parts: vec![Part::honey("honey", Grams::known(1133.98), Share::known(0.172))],
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
                plan.variety = "cider".to_owned();
                plan.routine = "cider".to_owned();
                plan.parts = vec![apple_juice()];
                plan.filler = Filler::First;
                plan.aim = Aim::Original(Gravity::known(1.047));
            }
            Style::Beer => {
                plan.variety = "ale".to_owned();
                plan.routine = "ale".to_owned();
                plan.fizz = Fizz::Sparkling;
                plan.parts = vec![malt_extract()];
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

/// Apple juice: 88.24 % water and 9.62 % sugars (USDA SR Legacy, apple juice
/// without added vitamin C, from memory); its soluble solids are about 11.7 %,
/// which is what a hydrometer sees. Nitrogen 59 mg/L, mean of Virginia juices
/// (Free amino nitrogen in apple juice, Virginia Tech).
fn apple_juice() -> Part {
    Part {
        kind: PartKind::Juice,
        sugar: Share::known(0.117),
        water: Share::known(0.883),
        doubt: Share::known(0.012),
        nitrogen: 56.0,
        ..Part::honey("apple juice", Grams::known(3960.0), Share::known(0.883))
    }
}

/// Liquid malt extract: 80 % solids (common practice, no source).
fn malt_extract() -> Part {
    Part {
        kind: PartKind::Malt,
        sugar: Share::known(0.80),
        water: Share::known(0.20),
        doubt: Share::known(0.01),
        nitrogen: 0.0,
        ..Part::honey("liquid malt extract", Grams::known(600.0), Share::known(0.20))
    }
}
