//! What lies ready before a bottling: usual values, and the deed it becomes.

use super::super::facts::Told;
use super::{BottleStock, BottlingDay, fit};
use crate::domain::bottles::BottleKind;
use crate::domain::deeds::{Deed, Fill, NewEvent};
use crate::domain::plan::same_thing;
use crate::domain::records::{
    BatchId, BottleClass, Dossier, EventKind, Fizz, HoldKind, Opens, PantryItem, PlaceId, StepKind,
    StepRule, Style, TooLate, VesselId,
};
use crate::domain::sums::carbonation::Primer;
use crate::domain::units::{
    Abv, Celsius, Grams, Litres, ML_PER_US_FL_OZ, Moment, Share, batch_day,
};
use chrono::{Days, NaiveDate};
use std::collections::BTreeMap;

/// Gravity within this of the last counts as ended (the resolution of a
/// hydrometer, twice).
const ENDED: f64 = 0.002;
/// Days until a primed bottle is opened to see (common practice, no source).
const TEST_AFTER: i64 = 7;
/// Days that a usual drink conditions (common practice, no source).
const CONDITIONS: i64 = 14;
/// Days that a strong one does (common practice, no source: 4 to 8 weeks).
const STRONG_CONDITIONS: i64 = 42;
/// From this strength on yeast is slow in the bottle (common practice, no source).
const STRONG: f64 = 10.0;
/// Days in a keg at its regulator's pressure until it holds its gas
/// (common practice, no source: 7 to 14).
pub const KEG_DAYS: i64 = 10;

/// Warmest that the drink has been since the ferment ended.
///
/// A day that was warmer alone does not count: too little sugar is the safe
/// error, and a drink gives off its gas slowly. None without a temperature.
pub fn warmest_since_end(told: &Told) -> Option<Celsius> {
    let last = told.gravities.last()?.1.get();
    let ended = told
        .gravities
        .iter()
        .rev()
        .take_while(|(_, g)| (g.get() - last).abs() <= ENDED)
        .last()?
        .0;
    let mut days: BTreeMap<NaiveDate, f64> = BTreeMap::new();
    for point in told.temperatures.iter().filter(|t| t.at >= ended) {
        let warm = days.entry(point.at.day()).or_insert(f64::MIN);
        *warm = warm.max(point.celsius.get());
    }
    let mut warm: Vec<f64> = days.into_values().collect();
    warm.sort_by(|a, b| b.total_cmp(a));
    warm.get(1).or(warm.first()).map(|t| Celsius::clamped(*t))
}

/// What stays behind with the lees: 5 % of a large vessel, 6 % of a small one,
/// so that a gallon gives its ten bottles of 12 fl oz (common practice, no source).
pub fn usual_loss(volume: Litres) -> Litres {
    let share = if volume.get() >= 10.0 { 0.05 } else { 0.06 };
    Litres::clamped(volume.get() * share)
}

/// Days until the first bottle is good (common practice, no source).
pub fn usual_ready(fizz: Fizz, alcohol: Option<Abv>) -> i64 {
    match (fizz, alcohol.is_some_and(|a| a.get() >= STRONG)) {
        (Fizz::Still, _) => 30,
        (_, false) => CONDITIONS,
        (_, true) => STRONG_CONDITIONS,
    }
}

/// Days until a bottle has had its best time (common practice, no source).
pub fn usual_keep(style: Style) -> i64 {
    match style {
        Style::Beer => 180,
        Style::Cider => 365,
        Style::Mead => 730,
    }
}

/// The bottle that fits a US gallon ten times, where the pantry keeps none.
pub fn unlisted() -> BottleKind {
    BottleKind {
        item: None,
        name: "12 fl oz crown-cap beer bottle".into(),
        class: BottleClass::Crown,
        known: true,
        size: Litres::known(12.0 * ML_PER_US_FL_OZ / 1000.0),
        have: 10_000,
        rating: None,
        reused: 0,
        rejected: 0,
        clear_glass: false,
    }
}

/// Bottles to choose from: those of the pantry, or the usual one.
pub fn kinds(pantry: &[PantryItem]) -> Vec<BottleKind> {
    let all = crate::domain::bottles::register(pantry);
    if all.is_empty() {
        vec![unlisted()]
    } else {
        all
    }
}

/// What is filled: so many of each kind, those of which none are taken left out.
pub fn fills(kinds: &[BottleKind], counts: &[u32]) -> Vec<Fill> {
    let taken = kinds.iter().zip(counts).filter(|(_, n)| **n > 0);
    taken
        .map(|(kind, n)| Fill {
            class: kind.class,
            size: kind.size,
            count: *n,
            clear_glass: kind.clear_glass,
        })
        .collect()
}

/// The stock for a plan. `counts` holds what the maker wants of each kind;
/// none leaves it to the fit, which puts gas only into what may bear it.
pub fn stock(kinds: &[BottleKind], counts: &[Option<u32>], gassy: bool) -> Vec<BottleStock> {
    kinds
        .iter()
        .enumerate()
        .map(|(i, kind)| {
            let wanted = counts.get(i).copied().flatten();
            let have = match wanted {
                Some(n) => n,
                None if gassy && BottleStock::of(kind, 1).limit().is_none() => 0,
                None => kind.have,
            };
            BottleStock::of(kind, have)
        })
        .collect()
}

/// Sugars for gas, as a maker names them.
pub const PRIMERS: [(&str, Primer); 4] = [
    ("table sugar", Primer::Sucrose),
    ("dextrose", Primer::DextroseMonohydrate),
    // 82.1 % sugars (USDA FoodData 169640).
    (
        "honey",
        Primer::Honey {
            sugar: Share::known(0.821),
        },
    ),
    ("dextrose, dry", Primer::DextroseAnhydrous),
];

/// How a volume is told apart: into bottles, into a glass, lost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    /// In bottles.
    pub bottled: Litres,
    /// Left over, for a glass.
    pub over: Litres,
    /// Left behind with the lees.
    pub lost: Litres,
}

/// What there is to bottle once the sugar for gas is in.
pub fn swollen(volume: Litres, day: &BottlingDay) -> Litres {
    Litres::clamped(volume.get() + day.swelling.get())
}

/// Tells a volume apart; the three always add up to it.
pub fn shares(volume: Litres, lost: Litres, stock: &[BottleStock]) -> Shares {
    let lost = lost.get().min(volume.get());
    let rest = Litres::clamped(volume.get() - lost);
    let fitted = fit(rest, stock);
    Shares {
        bottled: Litres::clamped(rest.get() - fitted.over.get()),
        over: fitted.over,
        lost: Litres::clamped(lost),
    }
}

/// Whether bottles run out: all that there are get filled, and enough for
/// another bottle is left over, which an emptied vessel would lose.
pub fn run_out(shares: &Shares, stock: &[BottleStock], counts: &[u32]) -> bool {
    let smallest = stock
        .iter()
        .map(|s| s.size.get())
        .fold(f64::INFINITY, f64::min);
    let all = stock.iter().zip(counts).all(|(s, n)| s.have <= *n);
    all && shares.over.get() >= smallest
}

/// A bottling as it is to be kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// Of which batch.
    pub batch: BatchId,
    /// Out of which vessel.
    pub vessel: VesselId,
    /// When.
    pub at: Moment,
    /// Still or with gas.
    pub fizz: Fizz,
    /// What is filled.
    pub fills: Vec<Fill>,
    /// What is left over and left behind.
    pub shares: Shares,
    /// Sugar for gas: its name and mass.
    pub primed: Option<(String, Grams)>,
    /// Where the bottles lie.
    pub place: PlaceId,
    /// Good from.
    pub ready_from: NaiveDate,
    /// Good until.
    pub drink_by: NaiveDate,
    /// Kinds of hold that are overridden.
    pub overrides: Vec<HoldKind>,
    /// Why they are.
    pub reason: String,
    /// Warmest day of the place, where it is to be saved with it.
    pub summer: Option<Celsius>,
    /// Alcohol, for the time that it conditions.
    pub alcohol: Option<Abv>,
}

/// The deed: sugar in, bottles filled, what is lost written down, the pantry
/// drawn from, and what comes after as steps.
pub fn deed(dossier: &Dossier, pantry: &[PantryItem], order: &Order) -> Deed {
    let mut deeds = Vec::new();
    if let Some((name, mass)) = &order.primed {
        deeds.push(Deed::AddEvent(NewEvent {
            substance: name.clone(),
            mass: Some(*mass),
            ..event(order, EventKind::Prime)
        }));
        deeds.extend(draw(pantry, name, mass.get(), order.at, "priming"));
    }
    let rest = order.shares.over.get() + order.shares.lost.get();
    if rest > 0.0005 {
        let note = format!(
            "{:.2} L with the lees, {:.2} L left over",
            order.shares.lost.get(),
            order.shares.over.get()
        );
        deeds.push(Deed::AddEvent(NewEvent {
            volume: Some(Litres::clamped(rest)),
            note,
            ..event(order, EventKind::Loss)
        }));
    }
    for rule in after(dossier, order) {
        deeds.push(Deed::AddStep {
            batch: order.batch,
            rule,
        });
    }
    deeds.push(Deed::Bottle {
        batch: order.batch,
        vessel: Some(order.vessel),
        at: order.at,
        fizz: Some(order.fizz),
        fills: order.fills.clone(),
        place: order.place,
        ready_from: Some(order.ready_from),
        drink_by: Some(order.drink_by),
        note: order.reason.clone(),
        overrides: order.overrides.clone(),
    });
    deeds.extend(order.summer.map(|warmest| Deed::PlaceSummer {
        place: order.place,
        warmest,
    }));
    let count: u32 = order.fills.iter().map(|f| f.count).sum();
    let noun = if count == 1 { "bottle" } else { "bottles" };
    Deed::Together {
        name: clipped(&format!(
            "{count} {noun} of '{}' filled",
            dossier.batch.name
        )),
        deeds,
    }
}

/// A name short enough for the list of changes.
pub(crate) fn clipped(name: &str) -> String {
    name.chars().take(118).collect()
}

fn event(order: &Order, kind: EventKind) -> NewEvent {
    NewEvent {
        batch: order.batch,
        vessel: Some(order.vessel),
        step: None,
        at: order.at,
        kind,
        substance: String::new(),
        mass: None,
        volume: None,
        note: String::new(),
    }
}

/// Grams out of the pantry, from lots of that name, as far as they go.
pub(crate) fn draw(
    pantry: &[PantryItem],
    name: &str,
    grams: f64,
    at: Moment,
    why: &str,
) -> Vec<Deed> {
    let mut wanted = grams;
    let mut deeds = Vec::new();
    for item in pantry
        .iter()
        .filter(|i| i.unit == "g" && i.amount > 0.0 && same_thing(&i.name, name))
    {
        let amount = wanted.min(item.amount);
        if amount > 1e-9 {
            deeds.push(Deed::DrawPantry {
                item: item.id,
                amount,
                at,
                why: why.to_owned(),
            });
            wanted -= amount;
        }
    }
    deeds
}

/// What is to be done once the caps are on; what the routine asks for anyway
/// is not asked twice.
fn after(dossier: &Dossier, order: &Order) -> Vec<StepRule> {
    let Some(pitched) = dossier.batch.pitched else {
        return Vec::new();
    };
    let day = |days: i64| {
        let date = order.at.day() + Days::new(days.max(0).unsigned_abs());
        i32::try_from(batch_day(pitched, date)).unwrap_or(i32::MAX)
    };
    let asked = |kind: StepKind| {
        dossier
            .steps
            .iter()
            .any(|s| s.is_open() && s.rule.kind == kind)
    };
    let mut rules = Vec::new();
    if order.fizz != Fizz::Still {
        if !asked(StepKind::Condition) {
            rules.push(StepRule {
                title: "chill one bottle and open it: enough gas, not too much?".into(),
                why: "One bottle tells what all the others hold.".into(),
                harm: "Too much gas goes unseen until a bottle bursts.".into(),
                weight: 3,
                amount: "gloves and eye protection".into(),
                ..rule("test-bottle", StepKind::Condition, day(TEST_AFTER), 3)
            });
        }
        if !asked(StepKind::Temperature) {
            let days = usual_ready(order.fizz, order.alcohol);
            rules.push(StepRule {
                title: "the gas is made: move the bottles into the cold and dark".into(),
                why: "Cold holds the gas in the drink and slows ageing.".into(),
                harm: "Warm bottles age faster and stand under more pressure.".into(),
                weight: 1,
                ..rule("into-the-cold", StepKind::Temperature, day(days), 7)
            });
        }
    }
    if !asked(StepKind::Taste) {
        let days = (order.ready_from - order.at.day()).num_days();
        rules.push(StepRule {
            title: "open the first bottle and taste it".into(),
            why: "It should be good from now on; a note now helps next year.".into(),
            harm: "None, but nobody remembers how it began.".into(),
            weight: 0,
            ..rule("first-taste", StepKind::Taste, day(days), 14)
        });
    }
    rules.retain(|r| dossier.steps.iter().all(|s| s.rule.key != r.key));
    rules
}

/// A step that opens on a day of the batch.
pub(crate) fn rule(key: &str, kind: StepKind, day: i32, window: i32) -> StepRule {
    StepRule {
        key: key.to_owned(),
        title: String::new(),
        kind,
        opens: Opens::Day { day },
        window,
        slack: 7,
        too_late: TooLate::Never,
        why: String::new(),
        harm: String::new(),
        weight: 1,
        amount: String::new(),
        countdown: None,
        order: 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn kind(oz: f64, have: u32, class: BottleClass) -> BottleKind {
        BottleKind {
            size: Litres::new(oz * ML_PER_US_FL_OZ / 1000.0).unwrap(),
            have,
            class,
            ..unlisted()
        }
    }

    #[test]
    fn a_gallon_gives_ten_bottles_after_its_loss() {
        // 128 / 12 = 10.67, less what stays behind: ten (common practice).
        let gallon = Litres::from_us_gallons(1.0).unwrap();
        let stock = stock(&[unlisted()], &[], true);
        let s = shares(gallon, usual_loss(gallon), &stock);
        assert!((s.bottled.get() / unlisted().size.get() - 10.0).abs() < 1e-9);
    }

    #[test]
    fn gas_goes_by_itself_only_into_what_bears_it() {
        let kinds = [
            kind(25.4, 12, BottleClass::NoPressure),
            kind(12.0, 24, BottleClass::Crown),
        ];
        let gassy = stock(&kinds, &[None, None], true);
        assert_eq!((gassy[0].have, gassy[1].have), (0, 24));
        // What the maker asks for stays asked for, and is held by the gate.
        assert_eq!(stock(&kinds, &[Some(2), None], true)[0].have, 2);
        assert_eq!(stock(&kinds, &[None, None], false)[0].have, 12);
    }

    proptest! {
        #[test]
        fn bottles_over_and_lost_add_up_to_the_volume(
            litres in 0.0..60.0f64,
            lost in 0.0..70.0f64,
            kinds in prop::collection::vec((4.0..30.0f64, 0u32..60, 0usize..6), 0..5),
            gassy: bool,
        ) {
            let kinds: Vec<_> = kinds
                .iter()
                .map(|(oz, n, c)| kind(*oz, *n, BottleClass::ALL[*c]))
                .collect();
            let stock = stock(&kinds, &[], gassy);
            let volume = Litres::new(litres).unwrap();
            let s = shares(volume, Litres::new(lost).unwrap(), &stock);
            prop_assert!((s.bottled.get() + s.over.get() + s.lost.get() - litres).abs() < 1e-9);
            prop_assert!(s.bottled.get() >= -1e-12 && s.over.get() >= 0.0 && s.lost.get() >= 0.0);
        }
    }
}
