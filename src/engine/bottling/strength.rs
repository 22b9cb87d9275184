//! Why a bottle or keg is not strong enough for what goes into it.

use super::super::{TemperatureUnit, Voice};
use crate::domain::records::{BottleClass, HoldKind};
use crate::domain::units::{Celsius, GaugeBar, Gravity, Litres, Volumes};
use std::borrow::Cow;

/// 1 / 0.06894757 (NIST Special Publication 811).
const PSI_PER_BAR: f64 = 14.503774;

/// A pressure at the warmest storage beside what the vessel is rated for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// Gas in the drink.
    pub held: Volumes,
    /// Warmest storage.
    pub at: Celsius,
    /// Gauge pressure there.
    pub pressure: GaugeBar,
    /// What the vessel is rated for.
    pub limit: GaugeBar,
}

/// A bottle or keg that is not strong enough, with the evidence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Strength {
    /// Gas into a class that is never made for pressure.
    NotForPressure {
        /// The class.
        class: BottleClass,
    },
    /// Gas into bottles whose class nobody named.
    UnknownClass,
    /// Larger than two litres, without a printed working pressure.
    TooLarge {
        /// Volume of one.
        size: Litres,
    },
    /// Filled too often to be trusted with gas.
    Worn {
        /// The class.
        class: BottleClass,
        /// How often.
        reused: u32,
    },
    /// More gas than the bottle is rated for at any temperature.
    OverVolumes {
        /// The class.
        class: BottleClass,
        /// Gas in the bottle.
        held: Volumes,
        /// Most gas that it is rated for.
        limit: Volumes,
        /// Target that nothing would hold; none where no target is low enough.
        most: Option<Volumes>,
    },
    /// More pressure than the bottle is rated for, on the warmest day.
    OverPressure {
        /// The class.
        class: BottleClass,
        /// The pressure.
        load: Load,
        /// Target that nothing would hold; none where no target is low enough.
        most: Option<Volumes>,
    },
    /// The sugar that is left could bring it over the rating.
    WorstCase {
        /// The class.
        class: BottleClass,
        /// The pressure if it all ferments.
        load: Load,
        /// Target that nothing would hold; none where no target is low enough.
        most: Option<Volumes>,
    },
    /// A yeast that ferments dextrins could bring it over the rating.
    Dextrins {
        /// The class.
        class: BottleClass,
        /// The pressure once they are fermented.
        load: Load,
        /// Gravity at which such a yeast ends.
        end: Gravity,
        /// Target that nothing would hold; none where no target is low enough.
        most: Option<Volumes>,
    },
    /// The regulator would be set higher than the keg's working pressure.
    Regulator {
        /// Pressure at the regulator.
        pressure: GaugeBar,
        /// Working pressure of the keg.
        limit: GaugeBar,
        /// Whether that is printed on it.
        printed: bool,
    },
    /// A sealed keg would pass its working pressure on the warmest day.
    WarmKeg {
        /// The pressure.
        load: Load,
        /// Whether the limit is printed on the keg.
        printed: bool,
        /// Target that nothing would hold; none where no target is low enough.
        most: Option<Volumes>,
    },
}

impl Strength {
    /// The kind of hold that an override has to name.
    pub fn kind(&self) -> HoldKind {
        match self {
            Self::NotForPressure { .. }
            | Self::UnknownClass
            | Self::TooLarge { .. }
            | Self::Worn { .. } => HoldKind::Bottle,
            Self::OverVolumes { .. }
            | Self::OverPressure { .. }
            | Self::Regulator { .. }
            | Self::WarmKeg { .. } => HoldKind::Pressure,
            Self::WorstCase { .. } => HoldKind::SugarLeft,
            Self::Dextrins { .. } => HoldKind::Dextrins,
        }
    }

    /// The reason in one plain sentence.
    pub fn sentence(&self, unit: Voice) -> String {
        match self {
            Self::NotForPressure { class } => {
                format!("A {class} is not made for pressure.")
            }
            Self::UnknownClass => {
                "Bottles of unknown class count as not made for pressure.".to_owned()
            }
            Self::TooLarge { size } => format!(
                "A bottle of {}: above 2 L only a printed working pressure counts.",
                volume(*size, unit)
            ),
            Self::Worn { class, reused } => format!(
                "Filled {reused} times: glass weakens with each wash, no gas in a {class} after 10."
            ),
            Self::OverVolumes {
                class, held, limit, ..
            } => format!(
                "{:.1} volumes: a {class} is rated for {:.1}.",
                held.get(),
                limit.get()
            ),
            Self::OverPressure { class, load, .. } => {
                format!(
                    "{}: a {class} is rated for {}.",
                    makes(load, unit),
                    psi(load.limit, unit)
                )
            }
            Self::WorstCase { class, load, .. } => format!(
                "If the sugar that is left ferments too, {}: a {class} takes {} at most.",
                makes(load, unit),
                psi(load.limit, unit)
            ),
            Self::Dextrins {
                class, load, end, ..
            } => format!(
                "If the yeast ferments dextrins to {}, {}: a {class} takes {} at most.",
                unit.gravity(*end),
                makes(load, unit),
                psi(load.limit, unit)
            ),
            Self::Regulator {
                pressure,
                limit,
                printed,
            } => format!(
                "{} at the regulator: the keg {} {}.",
                psi(*pressure, unit),
                rated(*printed),
                psi(*limit, unit)
            ),
            Self::WarmKeg { load, printed, .. } => format!(
                "{} once sealed: the keg {} {}.",
                makes(load, unit),
                rated(*printed),
                psi(load.limit, unit)
            ),
        }
    }

    /// The reason and the way out in few words, for a row that holds both.
    pub fn brief(&self, unit: Voice) -> (String, String) {
        let aim = |most: &Option<Volumes>, instead: &str| {
            most.map_or_else(
                || instead.to_owned(),
                |m| format!("aim at {:.1} or less", m.get()),
            )
        };
        let stronger = "use stronger bottles";
        let made = |load: &Load| {
            let rated = psi(load.limit, unit);
            format!("{}; takes {rated}.", makes(load, unit))
        };
        match self {
            Self::NotForPressure { class } => (
                format!("No gas in a {class}."),
                "other bottles, or still".into(),
            ),
            Self::UnknownClass => (
                "Bottles of unknown class: no gas.".into(),
                "select it in the pantry".into(),
            ),
            Self::TooLarge { size } => (
                format!("{} bottles, no printed pressure.", volume(*size, unit)),
                "use 2 L or less".into(),
            ),
            Self::Worn { reused, .. } => (
                format!("Bottles filled {reused} times, 10 at most."),
                "use newer bottles".into(),
            ),
            Self::OverVolumes {
                held, limit, most, ..
            } => (
                format!("{:.1} volumes; rated for {:.1}.", held.get(), limit.get()),
                aim(most, stronger),
            ),
            Self::OverPressure { load, most, .. } => (made(load), aim(most, stronger)),
            Self::WorstCase { load, most, .. } => (
                format!("With sugar left: {}", made(load)),
                aim(most, "let it finish first"),
            ),
            Self::Dextrins { load, most, .. } => (
                format!("With dextrins: {}", made(load)),
                aim(most, "rule them out"),
            ),
            Self::Regulator {
                pressure, limit, ..
            } => (
                format!(
                    "{} at the regulator; keg {}.",
                    psi(*pressure, unit),
                    psi(*limit, unit)
                ),
                "less gas, or colder".into(),
            ),
            Self::WarmKeg { load, most, .. } => {
                (format!("Keg: {}", made(load)), aim(most, "keep it cooler"))
            }
        }
    }

    /// What would lift it, in one plain sentence.
    pub fn way_out(&self) -> Cow<'static, str> {
        match self {
            Self::NotForPressure { .. } | Self::Worn { .. } => {
                "Use bottles made for pressure, or bottle it still.".into()
            }
            Self::UnknownClass => {
                "Select their class in the pantry, with the rating that is printed on them.".into()
            }
            Self::TooLarge { .. } => "Use bottles of up to 2 L, or bottle it still.".into(),
            Self::OverVolumes { most, .. } => aim(*most, "use stronger bottles"),
            Self::OverPressure { most, .. } => {
                aim(*most, "store them cooler, or use stronger bottles")
            }
            Self::WarmKeg { most, .. } => aim(*most, "keep the keg cooler"),
            Self::WorstCase { most, .. } => {
                aim(*most, "let it finish first, or use stronger bottles")
            }
            Self::Dextrins { most, .. } => aim(
                *most,
                "say that its yeast ferments no dextrins if you know it, or use stronger bottles",
            ),
            Self::Regulator { printed: true, .. } => "Aim at less gas, or chill the keg.".into(),
            Self::Regulator { .. } => {
                "Aim at less gas, chill the keg, or give the working pressure printed on it.".into()
            }
        }
    }
}

/// A lower target where one would do, and what else would.
fn aim(most: Option<Volumes>, instead: &str) -> Cow<'static, str> {
    if let Some(most) = most {
        return format!("Aim at {:.1} volumes or less, or {instead}.", most.get()).into();
    }
    let mut letters = instead.chars();
    let head = letters.next().map(|c| c.to_ascii_uppercase());
    format!("{}{}.", head.unwrap_or(' '), letters.as_str()).into()
}

/// `2.5 volumes make 46 psi at 104 °F`.
fn makes(load: &Load, unit: Voice) -> String {
    format!(
        "{:.1} volumes make {} at {}",
        load.held.get(),
        psi(load.pressure, unit),
        unit.at(load.at)
    )
}

fn rated(printed: bool) -> &'static str {
    if printed {
        "is rated for"
    } else {
        "has no rating and is taken for"
    }
}

fn psi(p: GaugeBar, unit: Voice) -> String {
    match unit.temperature {
        TemperatureUnit::Fahrenheit => format!("{:.0} psi", p.get() * PSI_PER_BAR),
        TemperatureUnit::Celsius => format!("{:.1} bar", p.get()),
    }
}

fn volume(v: Litres, unit: Voice) -> String {
    match unit.temperature {
        TemperatureUnit::Fahrenheit => format!("{:.2} gal", v.us_gallons()),
        TemperatureUnit::Celsius => format!("{:.1} L", v.get()),
    }
}
