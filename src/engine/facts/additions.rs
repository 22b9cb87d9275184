//! What went into a drink after it was pitched, by mass.

use crate::domain::records::{Event, EventKind, Style};
use crate::domain::sums::blend::Lot;
use crate::domain::sums::carbonation::CO2_PER_SUCROSE;
use crate::domain::sums::contents::{Contents, contents, richest};
use crate::domain::sums::ingredients::{Ingredient, Kind};
use crate::domain::sums::{SumError, alcohol, finish};
use crate::domain::units::{Abv, Density, Grams, GramsPerLitre, Gravity, Litres, Moment, Share};

/// CO2 from a gram of glucose or fructose: 2 x 44.010 / 180.16 (molar masses).
const CO2_PER_HEXOSE: f64 = 0.4886;
/// Extract that ferments for each gram of CO2 (Balling).
pub(crate) const EXTRACT_PER_CO2: f64 = alcohol::EXTRACT_PER_ALCOHOL / alcohol::CO2_PER_ALCOHOL;
/// Soluble solids of the sweetest apple juice over those of the usual one: 18.3 °Bx,
/// the highest mean of 28 cultivars (Plotkowski and Cline 2021), over 11.1 (USDA
/// FDC 173933).
const SWEETEST_JUICE: f64 = 18.3 / 11.1;
/// Real fruit varies by a fifth (common practice, no source).
const SWEETEST_FRUIT: f64 = 1.2;
/// A drink of which nothing is told is taken as the sweetest that may be called
/// medium: 45 g/L of sugar (Regulation (EU) 2019/33, annex III, from memory), in
/// a dry drink of 12 % vol at 0.993 (common practice, no source).
const MEDIUM: GramsPerLitre = GramsPerLitre::known(45.0);
const DRY_GRAVITY: Gravity = Gravity::known(0.993);
const DRY_ALCOHOL: Abv = Abv::known(12.0);

/// How well an addition is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Known {
    /// By figures: mass of a sugar, or gravity of what was poured in.
    ByFigures,
    /// By what such things usually hold.
    ByUsual,
    /// Not even how much of it went in.
    NoAmount,
}

/// What an addition does to a drink.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Way {
    /// Thins it.
    Water(Litres),
    /// Dissolves in it: so much of it, with this share of soluble matter.
    Dissolved(Grams, Share),
    /// Mixes with it.
    Poured {
        volume: Litres,
        gravity: Gravity,
        alcohol: Abv,
    },
    /// Gives its juice over some days.
    Fruit,
    /// Nobody told how much went in.
    Unclear,
}

/// Something that went into a drink and changes what it holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Addition {
    /// When.
    pub at: Moment,
    /// What, in the ledger's words.
    pub what: String,
    /// How much, by mass.
    pub mass: Option<Grams>,
    /// How much, by volume; of sugar, by how much it made the drink more.
    pub volume: Option<Litres>,
    /// Volume of the drink before it.
    pub before: Option<Litres>,
    /// Water, extract and alcohol that it brought.
    pub lot: Lot,
    /// Sugar that ferments: as usual for such a thing.
    pub sugar: Grams,
    /// The same, at most.
    pub most_sugar: Grams,
    /// CO2 that this sugar makes, at most.
    pub most_co2: Grams,
    /// How well all this is known.
    pub known: Known,
    /// Whether it gives its sugar over days.
    pub slow: bool,
    pub(super) way: Way,
}

/// What a drink is when something goes into it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Receiving {
    pub(super) style: Style,
    pub(super) gravity: Option<Gravity>,
    pub(super) alcohol: Option<Abv>,
    pub(super) volume: Option<Litres>,
}

impl Addition {
    /// Reads an entry of the ledger; `None` where it puts in nothing that
    /// ferments or thins.
    pub(super) fn of(event: &Event, drink: Receiving) -> Option<Self> {
        let held = held(event)?;
        let volume = event.volume.filter(|v| v.get() > 0.0);
        if let (Some(gravity), Some(volume)) = (event.gravity, volume) {
            let alcohol = event.alcohol.unwrap_or(Abv::known(0.0));
            return Some(poured(
                event,
                drink,
                volume,
                (gravity, alcohol),
                1.0,
                Known::ByFigures,
            ));
        }
        match held {
            Contents::Water => Some(match volume.or_else(|| event.mass.map(litres_of_water)) {
                Some(volume) => Self {
                    lot: Lot::water(volume),
                    ..bare(event, drink, Way::Water(volume))
                },
                None => bare(event, drink, Way::Unclear),
            }),
            Contents::Unfermentable => {
                let mass = event.mass.filter(|m| m.get() > 0.0)?;
                let solids = Share::known(1.0);
                Some(Self {
                    lot: Lot::sweetener(mass, solids),
                    ..bare(event, drink, Way::Dissolved(mass, solids))
                })
            }
            Contents::Known(i) => Some(ingredient(event, drink, i, Known::ByFigures)),
            Contents::Likely(i) => Some(ingredient(event, drink, i, Known::ByUsual)),
            Contents::Drink => Some(unmeasured(event, drink, volume)),
            Contents::Nothing | Contents::Unclear => None,
        }
    }

    /// Whether it brings sugar that ferments, or may.
    pub fn sweetens(&self) -> bool {
        self.most_sugar.get() > 0.0 || self.way == Way::Unclear
    }
}

/// What an entry holds by its kind and its words; `None` for what is no addition.
fn held(event: &Event) -> Option<Contents> {
    let by_name = contents(&event.substance);
    match event.kind {
        EventKind::Water => Some(Contents::Water),
        EventKind::Sugar | EventKind::Sweeten | EventKind::Prime => Some(match by_name {
            Contents::Unclear | Contents::Nothing | Contents::Drink => richest(Kind::Sugar),
            other => other,
        }),
        EventKind::Fruit => Some(match by_name {
            Contents::Unclear if event.volume.is_some() => richest(Kind::Juice),
            Contents::Unclear => richest(Kind::Fruit),
            other => other,
        }),
        EventKind::TopUp | EventKind::Blend => Some(match by_name {
            Contents::Unclear if event.kind == EventKind::Blend => Contents::Drink,
            Contents::Unclear => richest(Kind::Juice),
            other => other,
        }),
        EventKind::Feed | EventKind::Flavour | EventKind::Acid | EventKind::Note => matches!(
            by_name,
            Contents::Known(_) | Contents::Likely(_) | Contents::Water
        )
        .then_some(by_name),
        _ => None,
    }
}

fn bare(event: &Event, drink: Receiving, way: Way) -> Addition {
    Addition {
        at: event.at,
        what: event.substance.clone(),
        mass: event.mass,
        volume: event.volume,
        before: drink.volume,
        lot: Lot::EMPTY,
        sugar: Grams::known(0.0),
        most_sugar: Grams::known(0.0),
        most_co2: Grams::known(0.0),
        known: if way == Way::Unclear {
            Known::NoAmount
        } else {
            Known::ByFigures
        },
        slow: false,
        way,
    }
}

fn litres_of_water(mass: Grams) -> Litres {
    Litres::clamped(mass.get() / Lot::water(Litres::known(1.0)).mass().get())
}

/// Something of the table of ingredients, by mass or by volume.
fn ingredient(event: &Event, drink: Receiving, i: &Ingredient, known: Known) -> Addition {
    let liquid = matches!(i.kind, Kind::Juice);
    let by_volume = || {
        // Of what is dissolved, the ledger keeps the volume that it adds, beside its mass.
        let volume = event.volume.filter(|v| v.get() > 0.0)?;
        let density = i.density().map_or(1000.0, Density::get);
        Some(Grams::clamped(volume.get() * density))
    };
    let Some(mass) = event.mass.filter(|m| m.get() > 0.0).or_else(by_volume) else {
        return bare(event, drink, Way::Unclear);
    };
    let soluble = (1.0 - i.insoluble.get()).max(1e-9);
    let lot = Lot::sweetener(
        Grams::clamped(mass.get() * soluble),
        Share::clamped(i.solids.get() / soluble),
    );
    let share = match i.kind {
        Kind::Malt => i.solids.get() * i.fermentable().get(),
        _ => i.sugar.get(),
    };
    let sugar = mass.get() * share;
    let (way, more, known) = match i.kind {
        Kind::Fruit => (Way::Fruit, SWEETEST_FRUIT, Known::ByUsual),
        _ if liquid => (
            lot.seen().map_or(Way::Fruit, |seen| Way::Poured {
                volume: seen.volume,
                gravity: seen.gravity,
                alcohol: Abv::known(0.0),
            }),
            SWEETEST_JUICE,
            Known::ByUsual,
        ),
        _ => (Way::Dissolved(mass, i.solids), 1.0, known),
    };
    let co2 = if i.key == "table-sugar" {
        CO2_PER_SUCROSE
    } else {
        CO2_PER_HEXOSE
    };
    Addition {
        lot,
        sugar: Grams::clamped(sugar),
        most_sugar: Grams::clamped(sugar * more),
        most_co2: Grams::clamped(sugar * more * co2),
        known,
        slow: i.kind == Kind::Fruit,
        ..bare(event, drink, way)
    }
}

/// A drink of which gravity and alcohol are known.
fn poured(
    event: &Event,
    drink: Receiving,
    volume: Litres,
    (gravity, alcohol): (Gravity, Abv),
    more: f64,
    known: Known,
) -> Addition {
    let way = Way::Poured {
        volume,
        gravity,
        alcohol,
    };
    let none = GramsPerLitre::known(0.0);
    // Beyond what the sums cover, it counts by its extract alone.
    let lot = Lot::new(volume, gravity, alcohol, none)
        .or_else(|_| Lot::new(volume, gravity, Abv::known(0.0), none))
        .unwrap_or(Lot::water(volume));
    // Juice goes dry in a beer too.
    let juice = matches!(
        contents(&event.substance),
        Contents::Known(i) | Contents::Likely(i) if i.kind == Kind::Juice
    );
    let style = if juice { Style::Cider } else { drink.style };
    let co2 = to_come(style, gravity, alcohol).map_or(0.0, GramsPerLitre::get) * volume.get();
    let sugar = co2 * EXTRACT_PER_CO2;
    Addition {
        lot,
        sugar: Grams::clamped(sugar),
        most_sugar: Grams::clamped(sugar * more),
        most_co2: Grams::clamped(co2 * more),
        known,
        ..bare(event, drink, way)
    }
}

/// CO2 that a litre of a drink could still give off, fermented to its lowest.
fn to_come(style: Style, gravity: Gravity, strength: Abv) -> Result<GramsPerLitre, SumError> {
    let share = match style {
        Style::Beer => finish::WORT_SHARE,
        Style::Mead | Style::Cider => finish::DRY_SHARE,
    };
    let original = alcohol::original(gravity, strength)?;
    let start = if original > gravity {
        original
    } else {
        gravity
    };
    let end = finish::finish(start, Share::known(share), None)?.gravity;
    if gravity <= end {
        return Ok(GramsPerLitre::known(0.0));
    }
    finish::co2_per_litre(start, gravity, end)
}

/// A drink of which nothing is told but its name: one that is said to be like
/// this one is like this one, any other as sweet as a medium one may be.
fn unmeasured(event: &Event, drink: Receiving, volume: Option<Litres>) -> Addition {
    let Some(volume) = volume else {
        return bare(event, drink, Way::Unclear);
    };
    let name = event.substance.to_lowercase();
    let alike = ["like", "similar", "same"].iter().any(|w| name.contains(w));
    if let (true, Some(gravity), Some(strength)) = (alike, drink.gravity, drink.alcohol) {
        return poured(
            event,
            drink,
            volume,
            (gravity, strength),
            1.0,
            Known::ByUsual,
        );
    }
    let sugar = Grams::clamped(MEDIUM.get() * volume.get());
    let none = GramsPerLitre::known(0.0);
    let dry = Lot::new(volume, DRY_GRAVITY, DRY_ALCOHOL, none).unwrap_or(Lot::water(volume));
    let lot = dry.with(Lot::sweetener(sugar, Share::known(1.0)));
    let way = lot.seen().map_or(Way::Water(volume), |seen| Way::Poured {
        volume,
        gravity: seen.gravity,
        alcohol: seen.alcohol,
    });
    Addition {
        lot,
        sugar,
        most_sugar: sugar,
        most_co2: Grams::clamped(sugar.get() * CO2_PER_SUCROSE),
        known: Known::ByUsual,
        ..bare(event, drink, way)
    }
}
