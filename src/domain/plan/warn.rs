use super::{Filler, Outcome, PartKind, Plan};
use crate::domain::records::{Fizz, PantryItem, Style, VesselKind};
use crate::domain::units::{Celsius, Litres};
use chrono::NaiveDate;

/// What a plan meets in the household it is made for.
#[derive(Debug, Clone)]
pub struct Surroundings {
    /// Name of the place its vessel stands in.
    pub place: String,
    /// Usual or last temperature there.
    pub temperature: Option<Celsius>,
    /// Who lies in the vessel on the day, and until when if that is known.
    pub taken: Option<(String, Option<NaiveDate>)>,
    /// What the pantry holds.
    pub pantry: Vec<PantryItem>,
    /// Today.
    pub today: NaiveDate,
    /// Volume made this year of what the law counts with this plan.
    pub made: Litres,
    /// Adults in the household; 0 where that is not known.
    pub adults: u32,
}

impl Default for Surroundings {
    fn default() -> Self {
        Self {
            place: String::new(),
            temperature: None,
            taken: None,
            pantry: Vec::new(),
            today: NaiveDate::default(),
            made: Litres::known(0.0),
            adults: 0,
        }
    }
}

/// Something the maker should know before pitching, with its reason.
#[derive(Debug, Clone, PartialEq)]
pub enum Warning {
    /// The must does not fit.
    DoesNotFit {
        /// Must and pulp, L.
        volume: f64,
        /// Brimful, L.
        capacity: f64,
        /// Tag.
        vessel: String,
    },
    /// Too little room above it.
    LittleHeadspace {
        /// Share there is.
        share: f64,
        /// Share wanted.
        wanted: f64,
        /// Whether that is for fruit.
        fruit: bool,
        /// Volume of must that would leave it, L.
        better: f64,
    },
    /// Much air above a must that will be left alone.
    MuchHeadspace {
        /// Share there is.
        share: f64,
    },
    /// The yeast gives up with sugar left.
    YeastGivesUp {
        /// Alcohol it bears, % vol.
        tolerance: f64,
        /// Where it ends.
        end: f64,
        /// Sugar left, g/L.
        sugar: f64,
    },
    /// So strong that the yeast starts slowly.
    StrongMust {
        /// Original gravity.
        original: f64,
    },
    /// So weak that it keeps badly.
    WeakMust {
        /// Alcohol expected, % vol.
        alcohol: f64,
    },
    /// Sweet and gassy in one bottle.
    SweetAndSparkling {
        /// Sugar left, g/L.
        sugar: f64,
    },
    /// The place is colder than the yeast bears.
    TooCold {
        /// Place.
        place: String,
        /// There, °C.
        is: f64,
        /// Least the yeast bears, °C.
        least: f64,
    },
    /// The place is warmer than the yeast likes.
    TooWarm {
        /// Place.
        place: String,
        /// There, °C.
        is: f64,
        /// Most of the good range, °C.
        most: f64,
        /// Whether it passes even what the yeast bears.
        harmful: bool,
    },
    /// Limits leave the yeast short of nitrogen.
    ShortOfNitrogen {
        /// Short by, mg N/L.
        by: f64,
        /// Aim, mg N/L.
        aim: f64,
    },
    /// The vessel holds something.
    VesselTaken {
        /// Tag.
        vessel: String,
        /// By what.
        by: String,
        /// Until when it is expected to.
        until: Option<NaiveDate>,
    },
    /// The pantry has less than the plan takes.
    PantryShort {
        /// What.
        what: String,
        /// Wanted, g.
        wanted: f64,
        /// There, g.
        there: f64,
    },
    /// Something in the pantry is past its date.
    PastItsDate {
        /// What.
        what: String,
        /// Best before.
        date: NaiveDate,
    },
    /// A full glass vessel of this size is heavy.
    HeavyGlass {
        /// Mass when full, kg, without the glass.
        kg: f64,
    },
    /// Near or above what a household may make in a year.
    YearlyLimit {
        /// With this plan, US gallons.
        with: f64,
        /// US federal limit, US gallons.
        limit: f64,
        /// Beer, or wine: mead and cider.
        beer: bool,
    },
    /// Juice with preservative does not ferment.
    CheckJuice,
    /// No honey, sugar, fruit or malt at all.
    NoSugar,
}

impl Warning {
    /// How much it matters: 0 to know, 1 to think about, 2 to mend first.
    pub fn weight(&self) -> u8 {
        match self {
            Self::DoesNotFit { .. }
            | Self::SweetAndSparkling { .. }
            | Self::TooCold { .. }
            | Self::NoSugar
            | Self::VesselTaken { .. } => 2,
            Self::TooWarm { harmful, .. } => 1 + u8::from(*harmful),
            Self::YearlyLimit { with, limit, .. } => 1 + u8::from(with > limit),
            Self::LittleHeadspace { .. }
            | Self::YeastGivesUp { .. }
            | Self::StrongMust { .. }
            | Self::ShortOfNitrogen { .. }
            | Self::PantryShort { .. } => 1,
            Self::MuchHeadspace { .. }
            | Self::WeakMust { .. }
            | Self::PastItsDate { .. }
            | Self::HeavyGlass { .. }
            | Self::CheckJuice => 0,
        }
    }

    /// As a sentence with its reason. Temperatures are given in both scales,
    /// volumes in litres and gallons, so that it reads the same for everyone.
    pub fn sentence(&self) -> String {
        match self {
            Self::DoesNotFit {
                volume,
                capacity,
                vessel,
            } => format!(
                "{} does not fit into {vessel}, which is full at {}: make less, or take a larger vessel.",
                both_volumes(*volume),
                both_volumes(*capacity)
            ),
            Self::LittleHeadspace {
                share,
                wanted,
                fruit,
                better,
            } => format!(
                "Only {:.0} % of the vessel stays empty; {} wants {:.0} %. Make {} instead, or start in a larger vessel.",
                100.0 * share.max(0.0),
                if *fruit {
                    "a cap of fruit that rises"
                } else {
                    "the foam of the first days"
                },
                100.0 * wanted,
                both_volumes(*better)
            ),
            Self::MuchHeadspace { share } => format!(
                "{:.0} % of the vessel stays empty: fine while it ferments, too much air for the rest before bottling. Plan to rack into a smaller one.",
                100.0 * share
            ),
            Self::YeastGivesUp {
                tolerance,
                end,
                sugar,
            } => format!(
                "The yeast gives up near {tolerance:.0} % and leaves {sugar:.0} g/L of sugar: it will end sweet, near {end:.3}. A stronger yeast or less sugar ends dry."
            ),
            Self::StrongMust { original } => format!(
                "{original:.3} is strong: above 1.120 yeast starts slowly and may stick. Feed it well, or hold back part of the honey for day 3 or 4."
            ),
            Self::WeakMust { alcohol } => format!(
                "About {alcohol:.1} % alcohol: drink it young, it keeps badly below 6 %."
            ),
            Self::SweetAndSparkling { sugar } => format!(
                "Sparkling with {sugar:.0} g/L of sugar left can burst bottles: in a bottle a drink is sweet or gassy, not both. Aim dry, or make it still."
            ),
            Self::TooCold { place, is, least } => format!(
                "Not in {}: it stands at {}, this yeast needs at least {}.",
                named(place),
                both_temperatures(*is),
                both_temperatures(*least)
            ),
            Self::TooWarm {
                place,
                is,
                most,
                harmful,
            } => too_warm(place, *is, *most, *harmful),
            Self::ShortOfNitrogen { by, aim } => format!(
                "Within the limits the nutrients at hand leave {by:.0} of {aim:.0} mg/L of nitrogen unmet: the ferment may be slow. Never give more than the label and the law allow."
            ),
            Self::VesselTaken { vessel, by, until } => match until {
                Some(day) => format!(
                    "{vessel} holds {by}, expected to fall free on {}.",
                    day.format("%-d %B")
                ),
                None => format!("{vessel} holds {by}, and nothing says yet when it falls free."),
            },
            Self::PantryShort {
                what,
                wanted,
                there,
            } => format!("The pantry has {there:.0} g of {what}, the plan takes {wanted:.0} g."),
            Self::PastItsDate { what, date } => format!(
                "The {what} in the pantry was best before {}.",
                date.format("%-d %B %Y")
            ),
            Self::HeavyGlass { kg } => format!(
                "Full it weighs over {:.0} lb ({kg:.0} kg) and glass shatters into blades. Two hands, dry, in a crate or harness, never by the neck; no hot liquid.",
                (kg / 0.45359237).floor()
            ),
            Self::YearlyLimit { with, limit, beer } => format!(
                "With this plan it is {with:.0} gal of {} this year. The US federal limit for your household is {limit:.0} gal a year, not for sale; check state and local law.",
                if *beer {
                    "beer"
                } else {
                    "wine (mead, cider, fruit wine)"
                }
            ),
            Self::CheckJuice => {
                "Look at the juice's label: with sorbate or benzoate in it yeast does not grow. Unpasteurised juice can carry harmful bacteria: sound, washed fruit only.".to_owned()
            }
            Self::NoSugar => "There is nothing in it that ferments yet: add honey, sugar, juice, fruit or malt.".to_owned(),
        }
    }
}

fn too_warm(place: &str, is: f64, most: f64, harmful: bool) -> String {
    let (is, most) = (both_temperatures(is), both_temperatures(most));
    if harmful {
        format!(
            "Not in {}: it stands at {is}, this ferment wants {most} at most. It needs a cold place.",
            named(place)
        )
    } else {
        format!(
            "{} stands at {is}; above {most} this yeast makes harsh flavours. A ferment runs a few degrees warmer than its room.",
            sentence_start(&named(place))
        )
    }
}

fn named(place: &str) -> String {
    if place.is_empty() {
        "this place".to_owned()
    } else if place.starts_with("the ") || place.starts_with("my ") {
        place.to_owned()
    } else {
        format!("the {place}")
    }
}

fn sentence_start(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

fn both_volumes(litres: f64) -> String {
    format!(
        "{litres:.2} L ({:.2} gal)",
        litres / crate::domain::units::LITRES_PER_US_GALLON
    )
}

fn both_temperatures(celsius: f64) -> String {
    format!("{celsius:.0} °C ({:.0} °F)", celsius * 1.8 + 32.0)
}

/// What a maker should know of this plan in these surroundings, what matters
/// most first.
pub fn warnings(plan: &Plan, outcome: &Outcome, around: &Surroundings) -> Vec<Warning> {
    let mut found = Vec::new();
    of_the_vessel(plan, outcome, around, &mut found);
    of_the_must(plan, outcome, &mut found);
    of_the_place(plan, around, &mut found);
    of_the_pantry(plan, outcome, around, &mut found);
    of_the_law(plan, around, &mut found);
    found.sort_by_key(|w| std::cmp::Reverse(w.weight()));
    found
}

fn of_the_vessel(plan: &Plan, outcome: &Outcome, around: &Surroundings, found: &mut Vec<Warning>) {
    let (Some(vessel), Some(room)) = (&plan.vessel, outcome.headspace) else {
        return;
    };
    let capacity = vessel.capacity.get();
    let wanted = room.wanted.get();
    if room.litres < -1e-6 {
        found.push(Warning::DoesNotFit {
            volume: capacity - room.litres,
            capacity,
            vessel: vessel.tag.clone(),
        });
    } else if room.share < wanted - 0.005 {
        found.push(Warning::LittleHeadspace {
            share: room.share,
            wanted,
            fruit: plan.pulp() > 0.0,
            better: plan.volume_for(vessel.capacity).get(),
        });
    } else if room.share > 0.30 {
        // Common practice: a third of air is too much for a rest.
        found.push(Warning::MuchHeadspace { share: room.share });
    }
    // Jugs and carboys are of glass more often than not; from 3 gallons on
    // the full weight is a matter of safety.
    if vessel.kind == VesselKind::Carboy && capacity > 11.0 {
        found.push(Warning::HeavyGlass {
            kg: outcome.must.get() / 1000.0,
        });
    }
    if let Some((by, until)) = &around.taken {
        found.push(Warning::VesselTaken {
            vessel: vessel.tag.clone(),
            by: by.clone(),
            until: *until,
        });
    }
}

fn of_the_must(plan: &Plan, outcome: &Outcome, found: &mut Vec<Warning>) {
    if outcome.original.likely.get() < 1.002 {
        found.push(Warning::NoSugar);
        return;
    }
    // Under 3 g/L is dry on the tongue and within the sum's own error.
    let sugar = outcome.end.sugar_left.get();
    if outcome.end.gives_up && sugar > 3.0 {
        found.push(Warning::YeastGivesUp {
            tolerance: plan.yeast.tolerance.get(),
            end: outcome.finally.likely.get(),
            sugar,
        });
        if plan.fizz != Fizz::Still {
            found.push(Warning::SweetAndSparkling { sugar });
        }
    }
    // Common practice: above 1.120 a slow start.
    if outcome.original.likely.get() > 1.120 {
        found.push(Warning::StrongMust {
            original: outcome.original.likely.get(),
        });
    }
    if plan.style != Style::Beer && outcome.alcohol.likely.get() < 6.0 {
        found.push(Warning::WeakMust {
            alcohol: outcome.alcohol.likely.get(),
        });
    }
    if let Some(aim) = outcome.fed.aim
        && outcome.fed.unmet.get() > 5.0
    {
        found.push(Warning::ShortOfNitrogen {
            by: outcome.fed.unmet.get(),
            aim: aim.get(),
        });
    }
    let juice = plan.parts.iter().any(|p| p.kind == PartKind::Juice);
    if juice || plan.filler == Filler::First {
        found.push(Warning::CheckJuice);
    }
}

fn of_the_place(plan: &Plan, around: &Surroundings, found: &mut Vec<Warning>) {
    let (Some(is), band) = (around.temperature, plan.yeast.band) else {
        return;
    };
    let place = around.place.clone();
    if is < band.min {
        found.push(Warning::TooCold {
            place,
            is: is.get(),
            least: band.min.get(),
        });
    } else if is > band.high {
        let harmful = is > band.max;
        found.push(Warning::TooWarm {
            place,
            is: is.get(),
            most: if harmful { band.max } else { band.high }.get(),
            harmful,
        });
    }
}

/// A household with one adult may make 100 US gallons of wine and of beer a
/// year, with more adults 200: 27 CFR 24.75 and 25.205. Told from 80 % on.
fn of_the_law(plan: &Plan, around: &Surroundings, found: &mut Vec<Warning>) {
    let limit = match around.adults {
        0 => return,
        1 => 100.0,
        _ => 200.0,
    };
    let with = around.made.us_gallons() + plan.volume.us_gallons();
    if with > 0.8 * limit {
        found.push(Warning::YearlyLimit {
            with,
            limit,
            beer: plan.style == Style::Beer,
        });
    }
}

fn of_the_pantry(plan: &Plan, outcome: &Outcome, around: &Surroundings, found: &mut Vec<Warning>) {
    let mut wants: Vec<(&str, f64)> = plan
        .parts
        .iter()
        .map(|p| (p.name.as_str(), p.mass.get()))
        .collect();
    wants.extend(outcome.fed.totals().map(|(f, g)| (f.name.as_str(), g)));
    for (name, wanted) in wants {
        let lots: Vec<&PantryItem> = around
            .pantry
            .iter()
            .filter(|i| i.unit == "g" && super::same_thing(&i.name, name))
            .collect();
        let there: f64 = lots.iter().map(|i| i.amount).sum();
        // What was never in the pantry is bought for the batch: no warning.
        if !lots.is_empty() && there + 0.5 < wanted {
            found.push(Warning::PantryShort {
                what: name.to_owned(),
                wanted,
                there,
            });
        }
        let stale = lots
            .iter()
            .filter(|i| i.amount > 0.0)
            .filter_map(|i| i.best_before)
            .filter(|d| *d < around.today)
            .min();
        if let Some(date) = stale {
            found.push(Warning::PastItsDate {
                what: name.to_owned(),
                date,
            });
        }
    }
}
