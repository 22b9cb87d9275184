use super::{FeedingPlan, Plan};

/// What a plan costs, in the maker's own money.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cost {
    /// All that has a price.
    pub total: f64,
    /// A bottle of it.
    pub per_bottle: Option<f64>,
    /// What has no price yet and is not counted.
    pub without_price: Vec<String>,
}

/// Adds up what has a price and names what has none.
pub(super) fn cost(plan: &Plan, feeding: &FeedingPlan, bottles: u32) -> Cost {
    let mut cost = Cost::default();
    let mut add = |name: &str, amount: f64, price: Option<f64>| match price {
        Some(price) => cost.total += amount * price,
        None if amount > 0.0 => cost.without_price.push(name.to_owned()),
        None => {}
    };
    for part in &plan.parts {
        add(&part.name, part.mass.get() / 1000.0, part.price);
    }
    for (nutrient, grams) in feeding.totals() {
        add(&nutrient.name, grams / 1000.0, nutrient.price);
    }
    add("bottles", f64::from(bottles), plan.bottling.price);
    cost.per_bottle = (bottles > 0).then(|| cost.total / f64::from(bottles));
    cost
}
