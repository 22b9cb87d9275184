use crate::domain::records::{Bottle, BottleClass, PantryId, PantryItem, Settings};
use crate::domain::sums::carbonation::Rating;
use crate::store::cells::{
    Cell, Cells, Odd, Record, flag, int, opt_amount, opt_day, opt_real, opt_word, real, small,
    text, to, word,
};

impl Record for PantryItem {
    const TABLE: &'static str = "pantry";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        let bottle = self.bottle;
        let (volumes, bar) = match bottle.and_then(|b| b.rating) {
            Some(Rating::Volumes(v)) => (Some(v.get()), None),
            Some(Rating::Gauge(p)) => (None, Some(p.get())),
            Some(Rating::None) | None => (None, None),
        };
        let class = bottle.and_then(|b| b.class).map(BottleClass::word);
        vec![
            ("kind", to::text(self.kind.word())),
            ("name", to::text(&self.name)),
            ("amount", to::real(self.amount)),
            ("unit", to::text(&self.unit)),
            ("lot", to::text(&self.lot)),
            ("best_before", to::opt_day(self.best_before)),
            ("price", to::opt_real(self.price)),
            ("keep_at_least", to::opt_real(self.keep_at_least)),
            ("bottle_l", to::opt_real(bottle.map(|b| b.size))),
            ("bottle_class", to::opt_text(class)),
            ("bottle_volumes", to::opt_real(volumes)),
            ("bottle_bar", to::opt_real(bar)),
            ("bottle_filled", to::opt_int(bottle.map(|b| b.filled))),
            ("bottle_rejected", to::opt_int(bottle.map(|b| b.rejected))),
            ("bottle_clear", to::opt_int(bottle.map(|b| b.clear_glass))),
            ("note", to::text(&self.note)),
        ]
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: PantryId(int(c, "id")?),
            kind: word(c, "kind")?,
            name: text(c, "name")?,
            amount: real(c, "amount")?,
            unit: text(c, "unit")?,
            lot: text(c, "lot")?,
            best_before: opt_day(c, "best_before")?,
            price: opt_real(c, "price")?,
            keep_at_least: opt_real(c, "keep_at_least")?,
            bottle: bottle(c)?,
            note: text(c, "note")?,
        })
    }
}

/// What the register knows of bottles: no size, nothing known.
fn bottle(c: &impl Cells) -> Result<Option<Bottle>, Odd> {
    let Some(size) = opt_amount(c, "bottle_l")? else {
        return Ok(None);
    };
    let volumes = opt_amount(c, "bottle_volumes")?.map(Rating::Volumes);
    let gauge = opt_amount(c, "bottle_bar")?.map(Rating::Gauge);
    Ok(Some(Bottle {
        size,
        class: opt_word(c, "bottle_class")?,
        rating: volumes.or(gauge),
        filled: small(c, "bottle_filled")?,
        rejected: small(c, "bottle_rejected")?,
        clear_glass: flag(c, "bottle_clear")?,
    }))
}

impl Record for Settings {
    const TABLE: &'static str = "settings";

    /// There is one row of choices.
    fn row(&self) -> i64 {
        1
    }

    fn cells(&self) -> Vec<Cell> {
        vec![
            ("units", to::text(self.units.word())),
            ("gravity", to::text(self.gravity.word())),
            ("stall_prior", to::real(self.stall_prior)),
            ("reading_gap_days", to::int(self.reading_gap_days)),
            ("adults", to::int(self.adults)),
        ]
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            units: word(c, "units")?,
            gravity: word(c, "gravity")?,
            stall_prior: real(c, "stall_prior")?,
            reading_gap_days: small(c, "reading_gap_days")?,
            adults: small(c, "adults")?,
        })
    }
}
