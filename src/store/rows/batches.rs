use crate::domain::records::{
    Batch, BatchId, Event, EventId, Stay, StayId, StepId, TempBand, VesselId,
};
use crate::domain::units::Celsius;
use crate::store::cells::{
    Cell, Cells, Odd, Record, int, moment, opt_amount, opt_day, opt_int, opt_moment, opt_text,
    text, to, word,
};

fn band(c: &impl Cells) -> Result<Option<TempBand>, Odd> {
    let [low, high, min, max]: [Option<Celsius>; 4] = [
        opt_amount(c, "band_low_c")?,
        opt_amount(c, "band_high_c")?,
        opt_amount(c, "band_min_c")?,
        opt_amount(c, "band_max_c")?,
    ];
    Ok(match (low, high, min, max) {
        (Some(low), Some(high), Some(min), Some(max)) => Some(TempBand {
            low,
            high,
            min,
            max,
        }),
        _ => None,
    })
}

impl Record for Batch {
    const TABLE: &'static str = "batch";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        let mut cells = vec![
            ("name", to::text(&self.name)),
            ("style", to::text(self.style.word())),
            ("variety", to::text(&self.variety)),
            ("stage", to::text(self.stage.word())),
            ("routine", to::opt_text(self.routine.as_deref())),
            ("yeast", to::opt_text(self.yeast.as_deref())),
            ("tolerance_abv", to::opt_real(self.tolerance)),
            ("band_low_c", to::opt_real(self.band.map(|b| b.low))),
            ("band_high_c", to::opt_real(self.band.map(|b| b.high))),
            ("band_min_c", to::opt_real(self.band.map(|b| b.min))),
            ("band_max_c", to::opt_real(self.band.map(|b| b.max))),
            ("planned_og", to::opt_real(self.planned_og)),
            ("expected_fg", to::opt_real(self.expected_fg)),
            ("volume_l", to::opt_real(self.volume)),
            ("fizz", to::text(self.fizz.word())),
            ("planned_day", to::opt_day(self.planned_day)),
            ("note", to::text(&self.note)),
        ];
        cells.extend(to::opt_moment("pitched_ms", "pitched_off", self.pitched));
        cells.extend(to::opt_moment("bottled_ms", "bottled_off", self.bottled));
        cells.extend(to::opt_moment("closed_ms", "closed_off", self.closed));
        cells.extend(to::moment("created_ms", "created_off", self.created));
        cells
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: BatchId(int(c, "id")?),
            name: text(c, "name")?,
            style: word(c, "style")?,
            variety: text(c, "variety")?,
            stage: word(c, "stage")?,
            routine: opt_text(c, "routine")?,
            yeast: opt_text(c, "yeast")?,
            tolerance: opt_amount(c, "tolerance_abv")?,
            band: band(c)?,
            planned_og: opt_amount(c, "planned_og")?,
            expected_fg: opt_amount(c, "expected_fg")?,
            volume: opt_amount(c, "volume_l")?,
            fizz: word(c, "fizz")?,
            pitched: opt_moment(c, "pitched_ms", "pitched_off")?,
            bottled: opt_moment(c, "bottled_ms", "bottled_off")?,
            closed: opt_moment(c, "closed_ms", "closed_off")?,
            created: moment(c, "created_ms", "created_off")?,
            planned_day: opt_day(c, "planned_day")?,
            note: text(c, "note")?,
        })
    }
}

impl Record for Stay {
    const TABLE: &'static str = "stay";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        let mut cells = vec![
            ("batch", to::int(self.batch.0)),
            ("vessel", to::int(self.vessel.0)),
            ("volume_l", to::opt_real(self.volume)),
        ];
        cells.extend(to::moment("from_ms", "from_off", self.from));
        cells.extend(to::opt_moment("to_ms", "to_off", self.to));
        cells
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: StayId(int(c, "id")?),
            batch: BatchId(int(c, "batch")?),
            vessel: VesselId(int(c, "vessel")?),
            from: moment(c, "from_ms", "from_off")?,
            to: opt_moment(c, "to_ms", "to_off")?,
            volume: opt_amount(c, "volume_l")?,
        })
    }
}

impl Record for Event {
    const TABLE: &'static str = "event";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        let mut cells = vec![
            ("batch", to::int(self.batch.0)),
            ("vessel", to::opt_int(self.vessel.map(|v| v.0))),
            ("step", to::opt_int(self.step.map(|s| s.0))),
            ("kind", to::text(self.kind.word())),
            ("substance", to::text(&self.substance)),
            ("mass_g", to::opt_real(self.mass)),
            ("volume_l", to::opt_real(self.volume)),
            ("gravity", to::opt_real(self.gravity)),
            ("alcohol_abv", to::opt_real(self.alcohol)),
            ("note", to::text(&self.note)),
        ];
        cells.extend(to::moment("at_ms", "at_off", self.at));
        cells
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: EventId(int(c, "id")?),
            batch: BatchId(int(c, "batch")?),
            vessel: opt_int(c, "vessel")?.map(VesselId),
            step: opt_int(c, "step")?.map(StepId),
            at: moment(c, "at_ms", "at_off")?,
            kind: word(c, "kind")?,
            substance: text(c, "substance")?,
            mass: opt_amount(c, "mass_g")?,
            volume: opt_amount(c, "volume_l")?,
            gravity: opt_amount(c, "gravity")?,
            alcohol: opt_amount(c, "alcohol_abv")?,
            note: text(c, "note")?,
        })
    }
}
