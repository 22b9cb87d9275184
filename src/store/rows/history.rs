use crate::domain::records::{BatchId, Change, ChangeId};
use crate::store::cells::{
    Cell, Cells, Odd, Record, int, moment, opt_int, opt_moment, text, to, word,
};

impl Record for Change {
    const TABLE: &'static str = "change";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        let mut cells = vec![
            ("name", to::text(&self.name)),
            ("batch", to::opt_int(self.batch.map(|b| b.0))),
            ("state", to::text(self.state.word())),
        ];
        cells.extend(to::moment("at_ms", "at_off", self.at));
        cells.extend(to::opt_moment("undone_ms", "undone_off", self.undone));
        cells
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: ChangeId(int(c, "id")?),
            name: text(c, "name")?,
            at: moment(c, "at_ms", "at_off")?,
            batch: opt_int(c, "batch")?.map(BatchId),
            state: word(c, "state")?,
            undone: opt_moment(c, "undone_ms", "undone_off")?,
        })
    }
}
