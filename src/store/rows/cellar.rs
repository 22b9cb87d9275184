use crate::domain::records::{BatchId, Draw, DrawId, Lot, LotId, PlaceId, Tasting, TastingId};
use crate::store::cells::{
    Cell, Cells, Odd, Record, amount, flag, int, moment, opt_day, opt_int, small, text, to, word,
};

impl Record for Lot {
    const TABLE: &'static str = "lot";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        let mut cells = vec![
            ("batch", to::int(self.batch.0)),
            ("class", to::text(self.class.word())),
            ("size_l", to::real(self.size)),
            ("count", to::int(self.count)),
            ("clear_glass", to::int(self.clear_glass)),
            ("place", to::int(self.place.0)),
            ("ready_from", to::opt_day(self.ready_from)),
            ("drink_by", to::opt_day(self.drink_by)),
            ("note", to::text(&self.note)),
        ];
        cells.extend(to::moment("bottled_ms", "bottled_off", self.bottled));
        cells
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: LotId(int(c, "id")?),
            batch: BatchId(int(c, "batch")?),
            class: word(c, "class")?,
            size: amount(c, "size_l")?,
            count: small(c, "count")?,
            clear_glass: flag(c, "clear_glass")?,
            place: PlaceId(int(c, "place")?),
            bottled: moment(c, "bottled_ms", "bottled_off")?,
            ready_from: opt_day(c, "ready_from")?,
            drink_by: opt_day(c, "drink_by")?,
            note: text(c, "note")?,
        })
    }
}

impl Record for Draw {
    const TABLE: &'static str = "draw";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        let mut cells = vec![
            ("lot", to::int(self.lot.0)),
            ("count", to::int(self.count)),
            ("kind", to::text(self.kind.word())),
            ("whom", to::text(&self.whom)),
            ("note", to::text(&self.note)),
        ];
        cells.extend(to::moment("at_ms", "at_off", self.at));
        cells
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: DrawId(int(c, "id")?),
            lot: LotId(int(c, "lot")?),
            count: small(c, "count")?,
            kind: word(c, "kind")?,
            at: moment(c, "at_ms", "at_off")?,
            whom: text(c, "whom")?,
            note: text(c, "note")?,
        })
    }
}

impl Record for Tasting {
    const TABLE: &'static str = "tasting";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        let [smell, taste, balance, body, finish] = self.marks.map(to::int);
        let mut cells = vec![
            ("batch", to::int(self.batch.0)),
            ("lot", to::opt_int(self.lot.map(|l| l.0))),
            ("smell", smell),
            ("taste", taste),
            ("balance", balance),
            ("body", body),
            ("finish", finish),
            ("words", to::text(&self.words)),
        ];
        cells.extend(to::moment("at_ms", "at_off", self.at));
        cells
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: TastingId(int(c, "id")?),
            batch: BatchId(int(c, "batch")?),
            lot: opt_int(c, "lot")?.map(LotId),
            at: moment(c, "at_ms", "at_off")?,
            marks: [
                small(c, "smell")?,
                small(c, "taste")?,
                small(c, "balance")?,
                small(c, "body")?,
                small(c, "finish")?,
            ],
            words: text(c, "words")?,
        })
    }
}
