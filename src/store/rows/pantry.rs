use crate::domain::records::{PantryId, PantryItem, Settings};
use crate::store::cells::{
    Cell, Cells, Odd, Record, int, opt_day, opt_real, real, small, text, to, word,
};

impl Record for PantryItem {
    const TABLE: &'static str = "pantry";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        vec![
            ("kind", to::text(self.kind.word())),
            ("name", to::text(&self.name)),
            ("amount", to::real(self.amount)),
            ("unit", to::text(&self.unit)),
            ("lot", to::text(&self.lot)),
            ("best_before", to::opt_day(self.best_before)),
            ("price", to::opt_real(self.price)),
            ("keep_at_least", to::opt_real(self.keep_at_least)),
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
            note: text(c, "note")?,
        })
    }
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
