use crate::domain::records::{Instrument, InstrumentId, Place, PlaceId, Vessel, VesselId};
use crate::domain::units::Moment;
use crate::store::cells::{
    Cell, Cells, Odd, Record, amount, flag, int, moment, opt_amount, real, text, to, word,
};

impl Record for Place {
    const TABLE: &'static str = "place";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        vec![
            ("name", to::text(&self.name)),
            ("dark", to::int(self.dark)),
            ("usual_temp_c", to::opt_real(self.usual_temp)),
            ("summer_c", to::opt_real(self.summer)),
        ]
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: PlaceId(int(c, "id")?),
            name: text(c, "name")?,
            dark: flag(c, "dark")?,
            usual_temp: opt_amount(c, "usual_temp_c")?,
            summer: opt_amount(c, "summer_c")?,
        })
    }
}

impl Record for Vessel {
    const TABLE: &'static str = "vessel";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        vec![
            ("tag", to::text(&self.tag)),
            ("kind", to::text(self.kind.word())),
            ("capacity_l", to::real(self.capacity)),
            ("tare_g", to::opt_real(self.tare)),
            ("place", to::int(self.place.0)),
            ("clean", to::int(self.clean)),
            ("retired", to::int(self.retired)),
            ("rated_bar", to::opt_real(self.rated)),
            ("note", to::text(&self.note)),
        ]
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: VesselId(int(c, "id")?),
            tag: text(c, "tag")?,
            kind: word(c, "kind")?,
            capacity: amount(c, "capacity_l")?,
            tare: opt_amount(c, "tare_g")?,
            place: PlaceId(int(c, "place")?),
            clean: flag(c, "clean")?,
            retired: flag(c, "retired")?,
            rated: opt_amount(c, "rated_bar")?,
            note: text(c, "note")?,
        })
    }
}

/// Where a vessel stands from an instant on, until its next one. The first
/// of a vessel counts for all time before it too.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Standing {
    pub(crate) id: i64,
    pub(crate) vessel: VesselId,
    pub(crate) place: PlaceId,
    pub(crate) from: Moment,
}

impl Record for Standing {
    const TABLE: &'static str = "standing";

    fn row(&self) -> i64 {
        self.id
    }

    fn cells(&self) -> Vec<Cell> {
        let mut cells = vec![
            ("vessel", to::int(self.vessel.0)),
            ("place", to::int(self.place.0)),
        ];
        cells.extend(to::moment("from_ms", "from_off", self.from));
        cells
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: int(c, "id")?,
            vessel: VesselId(int(c, "vessel")?),
            place: PlaceId(int(c, "place")?),
            from: moment(c, "from_ms", "from_off")?,
        })
    }
}

impl Record for Instrument {
    const TABLE: &'static str = "instrument";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        vec![
            ("name", to::text(&self.name)),
            ("kind", to::text(self.kind.word())),
            ("calibrated_at_c", to::opt_real(self.calibrated_at)),
            ("off_by", to::real(self.offset)),
            ("resolution", to::real(self.resolution)),
            ("factor", to::real(self.factor)),
            ("preferred", to::int(self.preferred)),
        ]
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        Ok(Self {
            id: InstrumentId(int(c, "id")?),
            name: text(c, "name")?,
            kind: word(c, "kind")?,
            calibrated_at: opt_amount(c, "calibrated_at_c")?,
            offset: real(c, "off_by")?,
            resolution: real(c, "resolution")?,
            factor: real(c, "factor")?,
            preferred: flag(c, "preferred")?,
        })
    }
}
