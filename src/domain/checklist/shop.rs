//! What to buy for the coming plans, and what runs low.

use crate::domain::plan::{Supplies, outcome, same_thing};
use crate::domain::records::{Batch, PantryItem, Stage};
use chrono::NaiveDate;

/// Why something is on the list.
#[derive(Debug, Clone, PartialEq)]
pub enum Want {
    /// Plans take more than there is.
    Plans {
        /// What they take in all.
        wanted: f64,
        /// Names of the plans.
        plans: Vec<String>,
        /// Day of the first of them, where it has one.
        by: Option<NaiveDate>,
    },
    /// Less than the maker wants to keep.
    RunsLow {
        /// Wanted at least.
        least: f64,
    },
    /// All that is left of it is past its date.
    Stale {
        /// Best before.
        date: NaiveDate,
    },
}

/// One line of the shopping list.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// What.
    pub name: String,
    /// Unit: `g`, `mL` or `pieces`.
    pub unit: String,
    /// There now.
    pub there: f64,
    /// To buy.
    pub buy: f64,
    /// Price, where the pantry knows one.
    pub price: Option<f64>,
    /// Why.
    pub why: Want,
}

impl Wanted {
    /// As a sentence.
    pub fn sentence(&self) -> String {
        let amount = |x: f64| match self.unit.as_str() {
            "pieces" => format!("{:.0}", x.ceil()),
            unit if x < 20.0 => format!("{x:.1} {unit}"),
            unit => format!("{x:.0} {unit}"),
        };
        match &self.why {
            Want::Plans { wanted, plans, by } => format!(
                "{}: buy {} ({} for {}{}, {} there)",
                self.name,
                amount(self.buy),
                amount(*wanted),
                plans.join(", "),
                by.map_or_else(String::new, |d| d.format(" by %-d %b").to_string()),
                amount(self.there)
            ),
            Want::RunsLow { least } => format!(
                "{}: buy {} (keep {}, {} there)",
                self.name,
                amount(self.buy),
                amount(*least),
                amount(self.there)
            ),
            Want::Stale { date } => format!(
                "{}: buy afresh (best before {})",
                self.name,
                date.format("%-d %b %Y")
            ),
        }
    }
}

/// What one plan takes of one thing.
struct Need {
    name: String,
    unit: &'static str,
    amount: f64,
    plan: String,
    by: Option<NaiveDate>,
}

/// The shopping list for plans that are not pitched yet, then what runs low
/// or is stale.
pub fn shopping(supplies: &Supplies, batches: &[&Batch], today: NaiveDate) -> Vec<Wanted> {
    let mut list = for_plans(supplies, batches, today);
    for item in &supplies.pantry {
        if list.iter().any(|w| same_thing(&item.name, &w.name)) {
            continue;
        }
        let (good, stale) = good_and_stale(supplies, &item.name, today);
        let entry = |buy: f64, why: Want| Wanted {
            name: item.name.clone(),
            unit: item.unit.clone(),
            there: good,
            buy,
            price: item.price,
            why,
        };
        match (item.keep_at_least, stale) {
            (Some(least), _) if good + 1e-9 < least => {
                list.push(entry(least - good, Want::RunsLow { least }));
            }
            (_, Some(date)) if good <= 0.0 => list.push(entry(0.0, Want::Stale { date })),
            _ => {}
        }
    }
    list
}

fn same(a: &str, b: &str) -> bool {
    a.trim().eq_ignore_ascii_case(b.trim())
}

/// How much of it is good, and since when the rest is not.
fn good_and_stale(supplies: &Supplies, name: &str, today: NaiveDate) -> (f64, Option<NaiveDate>) {
    let lots = || supplies.pantry.iter().filter(|i| same_thing(&i.name, name));
    let past = |i: &&PantryItem| i.best_before.is_some_and(|d| d < today);
    // The sum of nothing is a negative zero.
    let good = lots().filter(|i| !past(i)).map(|i| i.amount).sum::<f64>() + 0.0;
    let stale = lots()
        .filter(past)
        .filter(|i| i.amount > 0.0)
        .filter_map(|i| i.best_before)
        .max();
    (good, stale)
}

fn for_plans(supplies: &Supplies, batches: &[&Batch], today: NaiveDate) -> Vec<Wanted> {
    let mut needs: Vec<Need> = Vec::new();
    for kept in &supplies.plans {
        let Some(batch) = batches
            .iter()
            .find(|b| b.id == kept.batch && b.stage == Stage::Planned)
        else {
            continue;
        };
        let ticked = |line: &str| {
            supplies
                .ticks
                .iter()
                .any(|t| t.batch == kept.batch && t.at.is_some() && t.line.starts_with(line))
        };
        let out = outcome(&kept.plan);
        let mut need = |name: &str, unit, amount: f64| {
            needs.push(Need {
                name: name.to_owned(),
                unit,
                amount,
                plan: batch.name.clone(),
                by: batch.planned_day.or(kept.plan.pitch_on),
            });
        };
        for (n, part) in kept.plan.parts.iter().enumerate() {
            if !ticked(&format!("part-{n}")) && part.mass.get() > 0.0 {
                need(&part.name, "g", part.mass.get());
            }
        }
        for (n, portion) in out.fed.portions.iter().enumerate() {
            if !ticked(&format!("feed-{n}")) {
                need(&portion.food.name, "g", portion.total.get());
            }
        }
        need(&kept.plan.yeast.title, "pieces", 1.0);
    }
    let mut list: Vec<Wanted> = Vec::new();
    let mut names: Vec<String> = Vec::new();
    for need in &needs {
        if names.iter().any(|n| same(n, &need.name)) {
            continue;
        }
        names.push(need.name.clone());
        let all: Vec<&Need> = needs.iter().filter(|n| same(&n.name, &need.name)).collect();
        let wanted: f64 = all.iter().map(|n| n.amount).sum();
        let (there, _) = good_and_stale(supplies, &need.name, today);
        if wanted > there + 1e-6 {
            let mut plans: Vec<String> = all.iter().map(|n| n.plan.clone()).collect();
            plans.dedup();
            list.push(Wanted {
                name: need.name.clone(),
                unit: need.unit.to_owned(),
                there,
                buy: wanted - there,
                price: supplies
                    .pantry
                    .iter()
                    .find(|i| same_thing(&i.name, &need.name))
                    .and_then(|i| i.price),
                why: Want::Plans {
                    wanted,
                    plans,
                    by: all.iter().filter_map(|n| n.by).min(),
                },
            });
        }
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::plan::{KeptPlan, Plan};
    use crate::domain::records::{BatchId, Fizz, PantryId, PantryKind, Style};
    use crate::domain::units::Moment;

    fn item(name: &str, amount: f64, least: Option<f64>, best: Option<&str>) -> PantryItem {
        PantryItem {
            id: PantryId(1),
            kind: PantryKind::Other,
            name: name.to_owned(),
            amount,
            unit: "g".to_owned(),
            lot: String::new(),
            best_before: best.map(|d| d.parse().unwrap()),
            price: None,
            keep_at_least: least,
            bottle: None,
            note: String::new(),
        }
    }

    fn batch(id: i64, name: &str) -> Batch {
        Batch {
            id: BatchId(id),
            name: name.to_owned(),
            style: Style::Mead,
            variety: String::new(),
            stage: Stage::Planned,
            routine: None,
            yeast: None,
            tolerance: None,
            band: None,
            planned_og: None,
            expected_fg: None,
            volume: None,
            fizz: Fizz::Still,
            pitched: None,
            bottled: None,
            closed: None,
            created: Moment::from_stored(0, 0).unwrap(),
            planned_day: Some("2026-05-10".parse().unwrap()),
            note: String::new(),
        }
    }

    #[test]
    fn two_plans_share_one_pantry() {
        let (oak, lime) = (batch(1, "Oak"), batch(2, "Lime"));
        let plan = Plan::begin(Style::Mead, None);
        let honey = plan.parts[0].mass.get();
        let keep = |id| KeptPlan {
            batch: BatchId(id),
            plan: plan.clone(),
        };
        let supplies = Supplies {
            pantry: vec![
                item("Honey", 1000.0, None, None),
                item("honey", 400.0, None, Some("2026-01-01")),
                item("sulfite", 5.0, Some(20.0), None),
                item("tannin", 5.0, None, Some("2025-01-01")),
            ],
            plans: vec![keep(1), keep(2)],
            ..Supplies::default()
        };
        let list = shopping(&supplies, &[&oak, &lime], "2026-05-01".parse().unwrap());
        let first = &list[0];
        assert_eq!(first.name, "honey");
        assert!((first.buy - (2.0 * honey - 1000.0)).abs() < 1e-6);
        let said: Vec<String> = list.iter().map(Wanted::sentence).collect();
        assert!(
            said[0].contains("for Oak, Lime by 10 May, 1000 g there"),
            "{said:?}"
        );
        assert!(
            said.contains(&"sulfite: buy 15.0 g (keep 20 g, 5.0 g there)".to_owned()),
            "{said:?}"
        );
        assert!(
            said.contains(&"tannin: buy afresh (best before 1 Jan 2025)".to_owned()),
            "{said:?}"
        );
    }
}
