use super::Plan;
use crate::domain::records::{
    Away, BatchId, Cellar, PantryDraw, PantryItem, PantryKind, PlaceId, Room, Style, Tick,
};
use crate::domain::units::{CubicMetres, Litres};

/// A plan that belongs to a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptPlan {
    /// Whose.
    pub batch: BatchId,
    /// As it was kept last.
    pub plan: Plan,
}

/// What planning needs besides the household: the pantry, plans, days away.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Supplies {
    /// What the pantry holds, by kind and name.
    pub pantry: Vec<PantryItem>,
    /// What was taken out, oldest first.
    pub draws: Vec<PantryDraw>,
    /// Days away, by their first day; dropped ones are left out.
    pub away: Vec<Away>,
    /// Sizes of places.
    pub rooms: Vec<Room>,
    /// Plans of batches.
    pub plans: Vec<KeptPlan>,
    /// Lines of checklists that stand ticked.
    pub ticks: Vec<Tick>,
    /// What was pitched so far, for the yearly limit.
    pub made: Vec<MadeBefore>,
    /// Bottles and tastings.
    pub cellar: Cellar,
}

/// A batch that was pitched, as far as the yearly limit cares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MadeBefore {
    /// Family: mead and cider count as wine, beer by itself.
    pub style: Style,
    /// Year of pitching.
    pub year: i32,
    /// Volume.
    pub volume: Litres,
}

/// Whether a thing of the pantry is what a plan or a step calls by that name:
/// the same without regard to case, or the same before its first comma, as in
/// `wine yeast, 5 g packets`.
pub fn same_thing(pantry: &str, name: &str) -> bool {
    let name = name.trim();
    let head = pantry.split(',').next().unwrap_or(pantry);
    pantry.trim().eq_ignore_ascii_case(name) || head.trim().eq_ignore_ascii_case(name)
}

impl Supplies {
    /// The plan of a batch.
    pub fn plan(&self, batch: BatchId) -> Option<&Plan> {
        self.plans
            .iter()
            .find(|p| p.batch == batch)
            .map(|p| &p.plan)
    }

    /// Empty bottles at hand.
    pub fn bottles(&self) -> u32 {
        self.pantry
            .iter()
            .filter(|i| i.kind == PantryKind::Bottle)
            .map(|i| i.amount.max(0.0) as u32)
            .sum()
    }

    /// Whether the maker keeps count of bottles at all.
    pub fn counts_bottles(&self) -> bool {
        self.pantry.iter().any(|i| i.kind == PantryKind::Bottle)
    }

    /// Volume pitched in a year of wine (mead and cider) or of beer.
    pub fn made_in(&self, year: i32, beer: bool) -> Litres {
        let all = self
            .made
            .iter()
            .filter(|m| m.year == year && (m.style == Style::Beer) == beer)
            .map(|m| m.volume.get())
            .fold(0.0, |sum, v| sum + v);
        Litres::clamped(all)
    }

    /// Size of a place, where the maker has said.
    pub fn room(&self, place: PlaceId) -> Option<CubicMetres> {
        self.rooms.iter().find(|r| r.place == place).map(|r| r.size)
    }
}
