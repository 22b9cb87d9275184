use super::cost::{Cost, cost};
use super::design::{density_of, fraction_of, gravity_of};
use super::forecast::ends_at;
use super::{FeedingPlan, Final, Headspace, Level, Part, Plan};
use crate::domain::sums::{alcohol, finish, serving};
use crate::domain::units::{Abv, Grams, Gravity, Litres};

/// How far the volume made up to a mark may be off, as a share (common
/// practice, no source).
const VOLUME_DOUBT: f64 = 0.015;
/// How far a yeast's tolerance may be off, % vol (common practice, no source).
const TOLERANCE_DOUBT: f64 = 1.0;

/// A value with the span in which it is expected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range<T> {
    /// Lower end.
    pub low: T,
    /// What is expected.
    pub likely: T,
    /// Upper end.
    pub high: T,
}

/// What one part brings.
#[derive(Debug, Clone, PartialEq)]
pub struct PartOutcome {
    /// Name.
    pub name: String,
    /// Mass.
    pub mass: Grams,
    /// Volume of it alone.
    pub volume: Litres,
    /// Share of all the sugar.
    pub of_sugar: f64,
    /// Its price, where it has one.
    pub price: Option<f64>,
}

/// What a plan leads to.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Original gravity.
    pub original: Range<Gravity>,
    /// Final gravity.
    pub finally: Range<Gravity>,
    /// Alcohol.
    pub alcohol: Range<Abv>,
    /// The expected end in full.
    pub end: Final,
    /// Volume of the must.
    pub volume: Litres,
    /// Mass of the must.
    pub must: Grams,
    /// Water to add by mass.
    pub water: Grams,
    /// Water to add by volume at 20 °C.
    pub water_volume: Litres,
    /// What each part brings.
    pub parts: Vec<PartOutcome>,
    /// How high the vessel stands after each.
    pub levels: Vec<Level>,
    /// Room above the must.
    pub headspace: Option<Headspace>,
    /// Nitrogen and feeding.
    pub fed: FeedingPlan,
    /// What reaches the bottles.
    pub to_bottle: Litres,
    /// Full bottles at the end.
    pub bottles: u32,
    /// What it costs.
    pub cost: Cost,
}

/// Works out what a plan leads to.
pub fn outcome(plan: &Plan) -> Outcome {
    let end = plan.ends();
    let original = original_range(plan);
    let (finally, alcohol) = end_ranges(plan, original, end);
    let to_bottle = plan.volume.get() * (1.0 - plan.bottling.loss.get());
    let filled = serving::bottles(
        plan.volume,
        plan.bottling.loss,
        Litres::known(0.0),
        plan.bottling.size,
    );
    let bottles = filled.map_or(0, |b| b.full);
    let fed = plan.fed();
    let water = plan.water_mass().max(0.0);
    let sugar = plan.solids_mass().max(1e-9);
    Outcome {
        original,
        finally,
        alcohol,
        end,
        volume: plan.volume,
        must: Grams::clamped(plan.must_mass()),
        water: Grams::clamped(water),
        water_volume: Litres::clamped(water / density_of(0.0)),
        parts: plan.parts.iter().map(|p| part_outcome(p, sugar)).collect(),
        levels: plan.levels(),
        headspace: plan.headspace(),
        cost: cost(plan, &fed, bottles),
        fed,
        to_bottle: Litres::clamped(to_bottle),
        bottles,
    }
}

fn part_outcome(part: &Part, all_solids: f64) -> PartOutcome {
    // What is not poured has no density of its own: sugar in solution, fruit as water.
    let litres = match part.ingredient().density() {
        Some(rho) => part.mass.get() / rho.get(),
        None => part.liquid_mass() / density_of(part.solids.get().min(0.85)) + part.pulp_volume(),
    };
    PartOutcome {
        name: part.name.clone(),
        mass: part.mass,
        volume: Litres::clamped(litres),
        of_sugar: part.solids_mass() / all_solids,
        price: part.price.map(|p| p * part.mass.get() / 1000.0),
    }
}

/// The doubts of the parts and of the mark are independent: they add as squares.
fn original_range(plan: &Plan) -> Range<Gravity> {
    let parts: f64 = plan.parts.iter().map(|p| p.doubt().powi(2)).sum::<f64>();
    let sugar = plan.solids_mass();
    let doubt = (parts + (sugar * VOLUME_DOUBT).powi(2)).sqrt();
    let at = |s: f64| gravity_of(fraction_of(s.max(0.0), plan.volume.get()));
    Range {
        low: at(sugar - doubt),
        likely: plan.original(),
        high: at(sugar + doubt),
    }
}

/// Final gravity and alcohol: the yeast's tolerance, the sum's own error and
/// the range of the original gravity, each at its worse end.
fn end_ranges(plan: &Plan, original: Range<Gravity>, end: Final) -> (Range<Gravity>, Range<Abv>) {
    let corner = |og: Gravity, more: f64| ends_at(plan, og, more).gravity.get();
    let corners = [
        corner(original.low, TOLERANCE_DOUBT),
        corner(original.low, -TOLERANCE_DOUBT),
        corner(original.high, TOLERANCE_DOUBT),
        corner(original.high, -TOLERANCE_DOUBT),
        end.gravity.get(),
    ];
    let least = corners.iter().copied().fold(f64::INFINITY, f64::min);
    let most = corners.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let half = finish::FINAL_ERROR.min(0.5 * (original.likely.get() - 1.0).max(0.0));
    let finally = Range {
        low: Gravity::clamped(least - half),
        likely: end.gravity,
        high: Gravity::clamped(most + half),
    };
    let alcohol_at = |og: Gravity, fg: f64| {
        alcohol::by_volume(og, Gravity::clamped(fg.min(og.get()))).map_or(0.0, Abv::get)
    };
    // Less sugar makes less alcohol, down to where the yeast leaves more of it.
    let at = |og: Gravity, more: f64, shift: f64| alcohol_at(og, corner(og, more) + shift);
    let all = [
        at(original.low, -TOLERANCE_DOUBT, half),
        at(original.high, TOLERANCE_DOUBT, -half),
        end.alcohol.get(),
    ];
    let alcohol = Range {
        low: Abv::clamped(all.iter().copied().fold(f64::INFINITY, f64::min)),
        likely: end.alcohol,
        high: Abv::clamped(all.iter().copied().fold(0.0, f64::max)),
    };
    (finally, alcohol)
}
