//! What goes wrong in a batch, as values with their evidence.
//!
//! A flag is worked out from an assessment, the readings and the schedule; its
//! sentence is made here too, in the maker's own units.

mod find;

pub(crate) use find::Look;

use super::account::Flat;
use super::chance_of;
use super::voice::Voice;
use crate::domain::records::{Settings, StepId, StepKind, UnitSystem};
use crate::domain::units::{Celsius, CelsiusDelta, Gravity, GravityDelta, Moment, Share};
use crate::domain::wording;
use chrono::NaiveDate;

/// Something that is not as it should be, with its evidence.
#[derive(Debug, Clone, PartialEq)]
pub enum Flag {
    /// In bottles, or being bottled, although the ferment is not at its end.
    BottledUnfinished {
        /// When it was bottled; none when that is only about to happen.
        bottled: Option<Moment>,
        /// Chance that gravity falls further in the closed bottle.
        chance: Share,
        /// Last gravity known.
        gravity: Option<Gravity>,
        /// Where it should end.
        end: Option<Gravity>,
    },
    /// The ferment stopped with sugar left.
    Stuck {
        /// How likely.
        probability: Share,
        /// Gravity now.
        gravity: Option<Gravity>,
        /// Where it should end.
        end: Option<Gravity>,
        /// Since when it has not fallen.
        flat: Option<Flat>,
    },
    /// Pitched, and no fall in gravity since.
    NeverStarted {
        /// Days since the pitch.
        days: f64,
        /// Gravity at the pitch.
        from: Gravity,
        /// Last gravity.
        to: Gravity,
    },
    /// Readings lie flat where a healthy ferment would still fall.
    NoFall {
        /// Fall between the two readings (negative: a rise).
        fell: GravityDelta,
        /// Days between them.
        days: f64,
        /// Last gravity.
        gravity: Gravity,
        /// Where it should end.
        end: Gravity,
    },
    /// Hot enough to harm yeast.
    Heat {
        /// Highest temperature of the last days.
        peak: Celsius,
        /// When.
        at: Moment,
    },
    /// Outside the temperatures that its yeast likes.
    OutsideBand {
        /// Last temperature.
        now: Celsius,
        /// When it was taken.
        at: Moment,
        /// Lower end of the good range.
        low: Celsius,
        /// Upper end of the good range.
        high: Celsius,
        /// Whether the yeast can't bear it at all.
        beyond: bool,
    },
    /// The temperature moved much within a day.
    Swing {
        /// By how much; negative for a fall.
        by: CelsiusDelta,
        /// Within so many hours.
        hours: f64,
        /// When it ended.
        at: Moment,
    },
    /// No gravity reading for too long.
    NoReading {
        /// Days since the last one, or since the pitch.
        days: f64,
        /// Days after which one is wanted.
        wanted: u32,
        /// Whether there was never one.
        never: bool,
    },
    /// A step is past its window.
    StepLate {
        /// Which.
        step: StepId,
        /// What kind.
        kind: StepKind,
        /// Its title.
        title: String,
        /// Day it was due.
        due: NaiveDate,
        /// Days past that.
        days: i64,
        /// Whether lateness does harm by now.
        overdue: bool,
        /// What lateness does.
        harm: String,
        /// How harmful that is, 0 to 3.
        weight: u8,
    },
    /// A step that would do more harm than good by now, and was not marked.
    StepTooLate {
        /// Which.
        step: StepId,
        /// Its title.
        title: String,
        /// Why it is too late.
        why: PastUse,
    },
}

/// Why a step would do more harm than good by now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PastUse {
    /// So much of the sugar is gone.
    SugarGone {
        /// Share gone.
        gone: Share,
        /// Share up to which it was of use.
        limit: Share,
    },
    /// So strong already.
    Strong {
        /// Alcohol now, in % vol.
        abv: f64,
        /// Strength up to which it was of use, in % vol.
        limit: f64,
    },
    /// The day is past.
    DayPast {
        /// Last day on which it was of use.
        last: NaiveDate,
    },
}

impl Flag {
    /// How much it matters: 0 (good to know) to 3 (spoils or endangers).
    pub fn weight(&self) -> u8 {
        match self {
            Self::BottledUnfinished { .. } | Self::Heat { .. } => 3,
            Self::Stuck { .. } | Self::NeverStarted { .. } | Self::NoFall { .. } => 2,
            Self::OutsideBand { beyond, .. } => 1 + u8::from(*beyond),
            Self::Swing { .. } => 1,
            Self::NoReading { days, wanted, .. } => 1 + u8::from(*days > 3.0 * f64::from(*wanted)),
            Self::StepLate {
                weight, overdue, ..
            } => {
                if *overdue {
                    *weight
                } else {
                    (*weight).min(1)
                }
            }
            Self::StepTooLate { .. } => 0,
        }
    }

    /// A few words for a narrow column.
    pub fn short(&self) -> &'static str {
        match self {
            Self::BottledUnfinished { .. } => "bottled unfinished",
            Self::Stuck { .. } => "stuck",
            Self::NeverStarted { .. } => "never started",
            Self::NoFall { .. } => "no fall",
            Self::Heat { .. } => "heat",
            Self::OutsideBand { now, low, .. } if now < low => "too cold",
            Self::OutsideBand { .. } => "too warm",
            Self::Swing { .. } => "temperature swing",
            Self::NoReading { .. } => "no reading",
            Self::StepLate { overdue: true, .. } => "overdue",
            Self::StepLate { .. } => "late",
            Self::StepTooLate { .. } => "too late",
        }
    }

    /// The evidence as a sentence, in the maker's units.
    pub fn sentence(&self, settings: &Settings) -> String {
        let say = Say(settings);
        match self {
            Self::BottledUnfinished {
                bottled,
                chance,
                gravity,
                end,
            } => say.bottled_unfinished(*bottled, *chance, *gravity, *end),
            Self::Stuck {
                probability,
                gravity,
                end,
                flat,
            } => say.stuck(*probability, (*gravity, *end), *flat),
            Self::NeverStarted { days: d, from, to } => format!(
                "No drop {} after pitching: {} then, {} now.",
                days(*d),
                say.gravity(*from),
                say.gravity(*to)
            ),
            Self::NoFall {
                fell,
                days: d,
                gravity,
                end,
            } => format!(
                "Dropped {} in {}: {} now, should end near {}.",
                say.points(GravityDelta::clamped(fell.get().max(0.0)), *gravity),
                days(*d),
                say.gravity(*gravity),
                say.gravity(*end)
            ),
            Self::Heat { peak, at } => format!(
                "It was {} on {}: heat harms yeast from {}.",
                say.temperature(*peak),
                date(at.day()),
                say.temperature(HEAT)
            ),
            Self::OutsideBand {
                now,
                at,
                low,
                high,
                beyond,
            } => format!(
                "{} on {}; its yeast {} {} to {}.",
                say.temperature(*now),
                date(at.day()),
                if *beyond { "bears only near" } else { "likes" },
                say.temperature(*low),
                say.temperature(*high)
            ),
            Self::Swing { by, hours, at } => format!(
                "The temperature {} {} within {hours:.0} hours, up to {}.",
                if by.get() < 0.0 { "fell" } else { "rose" },
                say.temperature_by(*by),
                date(at.day())
            ),
            Self::NoReading {
                days: d,
                wanted,
                never,
            } => format!(
                "{} {}; one every {wanted} days is wanted.",
                if *never {
                    "No gravity reading since pitching,"
                } else {
                    "No gravity reading for"
                },
                days(*d)
            ),
            Self::StepLate {
                title,
                due,
                days: d,
                harm,
                ..
            } => {
                let late = days(*d as f64);
                let title = capital(title);
                format!("{title}: due {}, {late} ago. {harm}", date(*due))
                    .trim_end()
                    .to_owned()
            }
            Self::StepTooLate { title, why, .. } => {
                format!("Too late: {title}. {}", why.sentence())
            }
        }
    }
}

/// Dry wine yeast dies above about 34 °C held for a few hours (L. Eisenman, Stuck
/// Fermentations); the alarm at 30 °C is common practice, no source.
pub const HEAT: Celsius = Celsius::known(30.0);

impl PastUse {
    /// Why, as a sentence.
    pub fn sentence(self) -> String {
        match self {
            Self::SugarGone { gone, limit } => format!(
                "{} of the sugar is gone; it was of use up to {}.",
                wording::share(gone),
                wording::share(limit)
            ),
            Self::Strong { abv, limit } => {
                format!("It has {abv:.1} % vol; it was of use up to {limit:.0} %.")
            }
            Self::DayPast { last } => format!("It was of use until {}.", date(last)),
        }
    }
}

/// Numbers as the maker reads them.
struct Say<'a>(&'a Settings);

impl Say<'_> {
    fn gravity(&self, g: Gravity) -> String {
        Voice::of(self.0).gravity(g)
    }

    fn points(&self, d: GravityDelta, near: Gravity) -> String {
        Voice::of(self.0).points(d, near)
    }

    fn temperature(&self, t: Celsius) -> String {
        match self.0.units {
            UnitSystem::Us => format!("{:.0} °F", t.fahrenheit()),
            UnitSystem::Metric => format!("{:.0} °C", t.get()),
        }
    }

    fn temperature_by(&self, d: CelsiusDelta) -> String {
        match self.0.units {
            UnitSystem::Us => format!("{:.0} °F", d.get().abs() * 1.8),
            UnitSystem::Metric => format!("{:.0} °C", d.get().abs()),
        }
    }

    fn now_and_end(&self, gravity: Option<Gravity>, end: Option<Gravity>) -> String {
        match (gravity, end) {
            (Some(g), Some(e)) => {
                format!(
                    "{} now, should end near {}",
                    self.gravity(g),
                    self.gravity(e)
                )
            }
            (Some(g), None) => format!("{} now", self.gravity(g)),
            _ => "gravity unknown".into(),
        }
    }

    fn bottled_unfinished(
        &self,
        bottled: Option<Moment>,
        chance: Share,
        gravity: Option<Gravity>,
        end: Option<Gravity>,
    ) -> String {
        let what = match bottled {
            Some(at) => format!("Bottled {}", date(at.day())),
            None => "Marked for bottling".into(),
        };
        format!(
            "{what} and not finished: {}; a chance of {} that it ferments on in the bottle and bursts it.",
            self.now_and_end(gravity, end),
            chance_of(chance)
        )
    }

    fn stuck(
        &self,
        probability: Share,
        (gravity, end): (Option<Gravity>, Option<Gravity>),
        flat: Option<Flat>,
    ) -> String {
        let flat = flat.map_or(String::new(), |f| {
            format!(
                ", no drop since {} ({})",
                date(f.since),
                days(f.days() as f64)
            )
        });
        format!(
            "Stuck ({}): {}{flat}.",
            chance_of(probability),
            self.now_and_end(gravity, end)
        )
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or(String::new(), |c| c.to_uppercase().chain(chars).collect())
}

fn date(day: NaiveDate) -> String {
    day.format("%-d %B").to_string()
}

fn days(d: f64) -> String {
    match d.round() as i64 {
        1 => "1 day".into(),
        n => format!("{n} days"),
    }
}
