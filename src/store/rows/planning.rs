//! Plans, checklists, the pantry's draws, days away, sizes of places.

use crate::domain::plan::{Aim, Filler, Food, FoodClass, Part, PartKind, Plan, PlanVessel};
use crate::domain::records::{
    Away, AwayId, BatchId, Demand, PantryDraw, PantryDrawId, PantryId, PlaceId, Room, RoomId,
    StepId, Tick, TickId,
};
use crate::domain::units::{Abv, Gravity, Litres, Share};
use crate::store::cells::{
    Cell, Cells, Odd, Record, amount, flag, int, lent, moment, opt_amount, opt_day, opt_int,
    opt_moment, opt_real, opt_text, opt_word, real, small, text, to, word,
};
use chrono::NaiveDate;

/// A plan without its parts and nutrients, and without what its batch keeps.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PlanRow {
    pub(crate) id: i64,
    pub(crate) batch: BatchId,
    pub(crate) vessel: Option<PlanVessel>,
    pub(crate) volume: Litres,
    pub(crate) aim: Aim,
    pub(crate) lock_volume: bool,
    pub(crate) lock_aim: bool,
    pub(crate) filler: Filler,
    pub(crate) portions: u32,
    pub(crate) bottle: Litres,
    pub(crate) loss: Share,
    pub(crate) bottle_price: Option<f64>,
    pub(crate) yeast_title: String,
    pub(crate) yeast_source: String,
    pub(crate) attenuation: Option<f64>,
    pub(crate) demand: Demand,
    pub(crate) feast_on: Option<NaiveDate>,
}

impl PlanRow {
    /// The row of a plan.
    pub(crate) fn of(plan: &Plan, batch: BatchId, id: i64) -> Self {
        Self {
            id,
            batch,
            vessel: plan.vessel.clone(),
            volume: plan.volume,
            aim: plan.aim,
            lock_volume: plan.locks.volume,
            lock_aim: plan.locks.aim,
            filler: plan.filler,
            portions: plan.feeding.portions,
            bottle: plan.bottling.size,
            loss: plan.bottling.loss,
            bottle_price: plan.bottling.price,
            yeast_title: plan.yeast.title.clone(),
            yeast_source: plan.yeast.source.clone(),
            attenuation: plan.yeast.attenuation,
            demand: plan.yeast.demand,
            feast_on: plan.feast_on,
        }
    }
}

fn aim(c: &impl Cells) -> Result<Aim, Odd> {
    Ok(match lent(c, "aim")?.as_ref() {
        "alcohol" => Aim::Alcohol(amount::<Abv>(c, "aim_at")?),
        "sweetness" => Aim::Sweetness(amount::<Gravity>(c, "aim_at")?),
        _ => Aim::Original(amount::<Gravity>(c, "aim_at")?),
    })
}

fn vessel(c: &impl Cells) -> Result<Option<PlanVessel>, Odd> {
    let (tag, kind, capacity) = (
        opt_text(c, "vessel_tag")?,
        opt_word(c, "vessel_kind")?,
        opt_amount(c, "vessel_l")?,
    );
    Ok(match (tag, kind, capacity) {
        (Some(tag), Some(kind), Some(capacity)) => Some(PlanVessel {
            tag,
            kind,
            capacity,
        }),
        _ => None,
    })
}

impl Record for PlanRow {
    const TABLE: &'static str = "plan";

    fn row(&self) -> i64 {
        self.id
    }

    fn cells(&self) -> Vec<Cell> {
        let (aim, at): (&str, f64) = match self.aim {
            Aim::Original(g) => ("original", g.get()),
            Aim::Alcohol(a) => ("alcohol", a.get()),
            Aim::Sweetness(g) => ("sweetness", g.get()),
        };
        let filler = match self.filler {
            Filler::Water => "water",
            Filler::First => "first",
        };
        let vessel = self.vessel.as_ref();
        vec![
            ("batch", to::int(self.batch.0)),
            ("vessel_tag", to::opt_text(vessel.map(|v| v.tag.as_str()))),
            ("vessel_kind", to::opt_text(vessel.map(|v| v.kind.word()))),
            ("vessel_l", to::opt_real(vessel.map(|v| v.capacity))),
            ("volume_l", to::real(self.volume)),
            ("aim", to::text(aim)),
            ("aim_at", to::real(at)),
            ("lock_volume", to::int(self.lock_volume)),
            ("lock_aim", to::int(self.lock_aim)),
            ("filler", to::text(filler)),
            ("portions", to::int(self.portions)),
            ("bottle_l", to::real(self.bottle)),
            ("bottle_loss", to::real(self.loss)),
            ("bottle_price", to::opt_real(self.bottle_price)),
            ("yeast_title", to::text(&self.yeast_title)),
            ("yeast_source", to::text(&self.yeast_source)),
            ("attenuation", to::opt_real(self.attenuation)),
            ("demand", to::text(self.demand.word())),
            ("feast_on", to::opt_day(self.feast_on)),
        ]
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: int(c, "id")?,
            batch: BatchId(int(c, "batch")?),
            vessel: vessel(c)?,
            volume: amount(c, "volume_l")?,
            aim: aim(c)?,
            lock_volume: flag(c, "lock_volume")?,
            lock_aim: flag(c, "lock_aim")?,
            filler: if text(c, "filler")? == "first" {
                Filler::First
            } else {
                Filler::Water
            },
            portions: small(c, "portions")?,
            bottle: amount(c, "bottle_l")?,
            loss: amount(c, "bottle_loss")?,
            bottle_price: opt_real(c, "bottle_price")?,
            yeast_title: text(c, "yeast_title")?,
            yeast_source: text(c, "yeast_source")?,
            attenuation: opt_real(c, "attenuation")?,
            demand: word(c, "demand")?,
            feast_on: opt_day(c, "feast_on")?,
        })
    }
}

/// A part of a plan, in its order.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PartRow {
    pub(crate) id: i64,
    pub(crate) batch: BatchId,
    pub(crate) seq: i64,
    pub(crate) part: Part,
    pub(crate) dropped: bool,
}

impl Record for PartRow {
    const TABLE: &'static str = "plan_part";

    fn row(&self) -> i64 {
        self.id
    }

    fn cells(&self) -> Vec<Cell> {
        let p = &self.part;
        vec![
            ("batch", to::int(self.batch.0)),
            ("seq", to::int(self.seq)),
            ("key", to::text(&p.key)),
            ("name", to::text(&p.name)),
            ("kind", to::text(p.kind.word())),
            ("mass_g", to::real(p.mass)),
            ("solids", to::real(p.solids)),
            ("sugar", to::real(p.sugar)),
            ("insoluble", to::real(p.insoluble)),
            ("nitrogen", to::real(p.nitrogen)),
            ("price", to::opt_real(p.price)),
            ("locked", to::int(p.locked)),
            ("dropped", to::int(self.dropped)),
        ]
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: int(c, "id")?,
            batch: BatchId(int(c, "batch")?),
            seq: int(c, "seq")?,
            part: Part {
                key: text(c, "key")?,
                name: text(c, "name")?,
                kind: word::<PartKind>(c, "kind")?,
                mass: amount(c, "mass_g")?,
                solids: amount(c, "solids")?,
                sugar: amount(c, "sugar")?,
                insoluble: amount(c, "insoluble")?,
                nitrogen: real(c, "nitrogen")?,
                price: opt_real(c, "price")?,
                locked: flag(c, "locked")?,
            },
            dropped: flag(c, "dropped")?,
        })
    }
}

/// A nutrient of a plan, in its order.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct FoodRow {
    pub(crate) id: i64,
    pub(crate) batch: BatchId,
    pub(crate) seq: i64,
    pub(crate) food: Food,
    pub(crate) dropped: bool,
}

impl Record for FoodRow {
    const TABLE: &'static str = "plan_food";

    fn row(&self) -> i64 {
        self.id
    }

    fn cells(&self) -> Vec<Cell> {
        let f = &self.food;
        vec![
            ("batch", to::int(self.batch.0)),
            ("seq", to::int(self.seq)),
            ("name", to::text(&f.name)),
            ("class", to::text(f.class.word())),
            ("nitrogen", to::opt_real(f.nitrogen)),
            ("most_g_l", to::opt_real(f.most)),
            ("price", to::opt_real(f.price)),
            ("dropped", to::int(self.dropped)),
        ]
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: int(c, "id")?,
            batch: BatchId(int(c, "batch")?),
            seq: int(c, "seq")?,
            food: Food {
                name: text(c, "name")?,
                class: word::<FoodClass>(c, "class")?,
                nitrogen: opt_real(c, "nitrogen")?,
                most: opt_real(c, "most_g_l")?,
                price: opt_real(c, "price")?,
            },
            dropped: flag(c, "dropped")?,
        })
    }
}

impl Record for Tick {
    const TABLE: &'static str = "tick";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        let mut cells = vec![
            ("batch", to::int(self.batch.0)),
            ("line", to::text(&self.line)),
            ("mass_g", to::opt_real(self.mass)),
            ("volume_l", to::opt_real(self.volume)),
            ("note", to::text(&self.note)),
        ];
        cells.extend(to::opt_moment("at_ms", "at_off", self.at));
        cells
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: TickId(int(c, "id")?),
            batch: BatchId(int(c, "batch")?),
            line: text(c, "line")?,
            at: opt_moment(c, "at_ms", "at_off")?,
            mass: opt_amount(c, "mass_g")?,
            volume: opt_amount(c, "volume_l")?,
            note: text(c, "note")?,
        })
    }
}

impl Record for PantryDraw {
    const TABLE: &'static str = "pantry_draw";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        let mut cells = vec![
            ("item", to::int(self.item.0)),
            ("amount", to::real(self.amount)),
            ("batch", to::opt_int(self.batch.map(|b| b.0))),
            ("step", to::opt_int(self.step.map(|s| s.0))),
            ("why", to::text(&self.why)),
        ];
        cells.extend(to::moment("at_ms", "at_off", self.at));
        cells
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: PantryDrawId(int(c, "id")?),
            item: PantryId(int(c, "item")?),
            amount: real(c, "amount")?,
            batch: opt_int(c, "batch")?.map(BatchId),
            step: opt_int(c, "step")?.map(StepId),
            at: moment(c, "at_ms", "at_off")?,
            why: text(c, "why")?,
        })
    }
}

fn day(c: &impl Cells, name: &'static str) -> Result<NaiveDate, Odd> {
    opt_day(c, name)?.ok_or_else(|| Odd(format!("{name} is missing")))
}

impl Record for Away {
    const TABLE: &'static str = "away";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        vec![
            ("from_day", to::opt_day(Some(self.from))),
            ("to_day", to::opt_day(Some(self.to))),
            ("note", to::text(&self.note)),
            ("dropped", to::int(self.dropped)),
        ]
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: AwayId(int(c, "id")?),
            from: day(c, "from_day")?,
            to: day(c, "to_day")?,
            note: text(c, "note")?,
            dropped: flag(c, "dropped")?,
        })
    }
}

impl Record for Room {
    const TABLE: &'static str = "room";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        vec![
            ("place", to::int(self.place.0)),
            ("size", to::real(self.size)),
        ]
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: RoomId(int(c, "id")?),
            place: PlaceId(int(c, "place")?),
            size: amount(c, "size")?,
        })
    }
}
