//! What a slip will mean: the live line under it.

use super::doubt::{self, Doubt};
use super::{Known, Slip, When};
use crate::domain::records::{GravityScale, Measure, MeasureKind, Seen, Settings, UnitSystem};
use crate::domain::units::{
    Abv, Brix, Celsius, Grams, GramsPerLitre, Gravity, GravityDelta, Litres, Moment, Ph, Share,
};
use crate::domain::wording;

/// One thing that a slip says of a batch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fact {
    /// Gravity, corrected.
    Gravity {
        /// After correction.
        corrected: Gravity,
        /// As the instrument showed it, on the scale of specific gravity.
        shown: Gravity,
    },
    /// The first gravity of a batch that has none.
    Original,
    /// Change since the gravity before; negative is a fall.
    Change {
        /// By how much.
        by: GravityDelta,
        /// Days in between.
        days: f64,
    },
    /// Alcohol so far.
    Alcohol {
        /// How much.
        abv: Abv,
        /// Whether the original gravity was measured, not only planned.
        measured: bool,
    },
    /// Share of the fermentable sugar that is gone.
    SugarGone(Share),
    /// A refractometer's value in a drink that holds alcohol, and the gravity
    /// that follows from it, where the original is known.
    Refraction {
        /// As seen.
        shown: Brix,
        /// What a hydrometer would show; good to a few points.
        gravity: Option<Gravity>,
    },
    /// Temperature.
    Temperature(Celsius),
    /// Acidity.
    Ph(Ph),
    /// Mass of the full vessel.
    Mass(Grams),
    /// Mass lost since the weighing before: the gas that left.
    MassLost {
        /// Grams, negative when it grew.
        grams: f64,
        /// Days in between.
        days: f64,
    },
    /// Liquid present.
    Volume(Litres),
    /// Titratable acidity.
    Acidity(GramsPerLitre),
    /// A time other than now.
    At(Moment, When),
}

/// What a slip will mean, and what speaks against it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Meaning {
    /// In the order in which they are said.
    pub facts: Vec<Fact>,
    /// Worst first; empty when all fits.
    pub doubts: Vec<Doubt>,
}

impl Meaning {
    /// The facts as one line.
    pub fn line(&self, settings: &Settings) -> String {
        let said: Vec<String> = self.facts.iter().map(|f| f.sentence(settings)).collect();
        said.join(" · ")
    }
}

/// What a slip will mean for what is known; what it comes to in alcohol is added by the
/// engine. Pure, and cheap enough for every key.
pub fn meaning(slip: &Slip, known: &Known<'_>) -> Meaning {
    let mut facts = Vec::new();
    for reading in &slip.readings {
        value(reading.seen, slip, known, &mut facts);
    }
    if slip.when != When::Now {
        facts.push(Fact::At(slip.at, slip.when));
    }
    Meaning {
        facts,
        doubts: doubt::doubts(slip, known),
    }
}

fn value(seen: Seen, slip: &Slip, known: &Known<'_>, facts: &mut Vec<Fact>) {
    match seen.measure() {
        Measure::Gravity(_) | Measure::Extract(_) => gravity(seen, slip, known, facts),
        Measure::Refraction(brix) => refraction(seen, brix, slip, known, facts),
        Measure::Temperature(t) => facts.push(Fact::Temperature(t)),
        Measure::Ph(ph) => facts.push(Fact::Ph(ph)),
        Measure::Mass(grams) => {
            facts.push(Fact::Mass(grams));
            let before = known
                .readings(MeasureKind::Mass)
                .filter(|r| r.at < slip.at)
                .last();
            if let Some((r, Measure::Mass(was))) = before.map(|r| (r, r.seen.measure())) {
                facts.push(Fact::MassLost {
                    grams: was.get() - grams.get(),
                    days: slip.at.days_since(r.at),
                });
            }
        }
        Measure::Volume(v) => facts.push(Fact::Volume(v)),
        Measure::Acidity(a) => facts.push(Fact::Acidity(a)),
    }
}

fn refraction(seen: Seen, brix: Brix, slip: &Slip, known: &Known<'_>, facts: &mut Vec<Fact>) {
    let pitched = known.dossier.and_then(|d| d.batch.pitched);
    if pitched.is_none_or(|p| slip.at <= p) {
        gravity(seen, slip, known, facts);
        return;
    }
    let gravity = known
        .original()
        .and_then(|_| known.gravity_seen(seen, slip.sample_temp, slip.at));
    facts.push(Fact::Refraction {
        shown: brix,
        gravity,
    });
}

fn gravity(seen: Seen, slip: &Slip, known: &Known<'_>, facts: &mut Vec<Fact>) {
    let Some(corrected) = known.gravity_seen(seen, slip.sample_temp, slip.at) else {
        return;
    };
    let shown = super::corrected(seen, None, None, None).unwrap_or(corrected);
    facts.push(Fact::Gravity { corrected, shown });
    let before = known.gravities().filter(|(r, _)| r.at < slip.at).last();
    if let Some((r, was)) = before {
        facts.push(Fact::Change {
            by: GravityDelta::clamped(corrected.get() - was.get()),
            days: slip.at.days_since(r.at),
        });
    }
    if known.original().is_none() && known.dossier.is_some() {
        facts.push(Fact::Original);
    }
}

/// A temperature in the maker's units.
pub(super) fn temperature(t: Celsius, settings: &Settings) -> String {
    match settings.units {
        UnitSystem::Us => format!("{:.1} °F", t.fahrenheit()),
        UnitSystem::Metric => format!("{:.1} °C", t.get()),
    }
}

/// A length of time as a person says it.
pub(super) fn span(days: f64) -> String {
    let plural = |n: f64, one: &str| {
        let n = n.round();
        if (n - 1.0).abs() < 0.5 {
            format!("1 {one}")
        } else {
            format!("{n:.0} {one}s")
        }
    };
    match days {
        d if d < 1.0 / 24.0 => plural(d * 1440.0, "minute"),
        d if d < 2.0 => plural(d * 24.0, "hour"),
        d => plural(d, "day"),
    }
}

impl Fact {
    /// The fact in a few words.
    pub fn sentence(&self, settings: &Settings) -> String {
        match *self {
            Self::Gravity { corrected, shown } => {
                let scale = settings.gravity;
                let number = |g| match scale {
                    GravityScale::Sg => wording::gravity_number(g, scale),
                    GravityScale::Plato => wording::gravity(g, scale),
                };
                let same = (corrected.get() - shown.get()).abs() < 0.00005;
                match scale {
                    _ if same => number(corrected),
                    GravityScale::Sg => {
                        format!("{:.4} corrected from {}", corrected.get(), number(shown))
                    }
                    GravityScale::Plato => {
                        format!("{} corrected from {}", number(corrected), number(shown))
                    }
                }
            }
            Self::Original => "becomes the original gravity".to_owned(),
            Self::Change { by, days } => {
                let points = wording::gravity_amount(by, Gravity::known(1.040), settings.gravity);
                let way = match by.get() {
                    d if d < -0.00005 => format!("{points} down"),
                    d if d > 0.00005 => format!("{points} up"),
                    _ => "no change".to_owned(),
                };
                format!("{way} in {}", span(days))
            }
            Self::Alcohol { abv, measured } => {
                let by_plan = if measured {
                    ""
                } else {
                    " by the planned start"
                };
                format!("{} alcohol{by_plan}", wording::abv(abv))
            }
            Self::SugarGone(share) => format!("{} fermented", wording::share(share)),
            Self::Refraction { shown, gravity } => match gravity {
                Some(g) => format!("{:.1} °Bx, about {:.3}", shown.get(), g.get()),
                None => format!("{:.1} °Bx, shifted by the alcohol", shown.get()),
            },
            Self::Temperature(t) => temperature(t, settings),
            Self::Ph(ph) => format!("pH {:.2}", ph.get()),
            Self::Mass(grams) => match settings.units {
                UnitSystem::Us => format!("{:.2} lb ({:.0} g)", grams.pounds(), grams.get()),
                UnitSystem::Metric => format!("{:.0} g", grams.get()),
            },
            Self::MassLost { grams, days } => {
                let way = if grams < 0.0 { "heavier" } else { "lighter" };
                format!("{:.0} g {way} in {}", grams.abs(), span(days))
            }
            Self::Volume(v) => match settings.units {
                UnitSystem::Us => format!("{:.2} gal", v.us_gallons()),
                UnitSystem::Metric => format!("{:.2} L", v.get()),
            },
            Self::Acidity(a) => format!("{:.1} g/L acid", a.get()),
            Self::At(at, when) => {
                let said = at.datetime().format("%a %-d %b %Y %H:%M");
                if when == When::SaidTwice {
                    format!("{said}, the first of two")
                } else {
                    said.to_string()
                }
            }
        }
    }
}
