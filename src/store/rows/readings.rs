use crate::domain::records::{
    InstrumentId, MeasureKind, PlaceId, Reading, ReadingId, Seen, Subject, VesselId,
};
use crate::store::cells::{
    Cell, Cells, Odd, Record, flag, int, moment, opt_int, opt_real, opt_word, real, text, to, word,
};

fn subject(c: &impl Cells) -> Result<Subject, Odd> {
    match (opt_int(c, "vessel")?, opt_int(c, "place")?) {
        (Some(vessel), None) => Ok(Subject::Vessel(VesselId(vessel))),
        (None, Some(place)) => Ok(Subject::Place(PlaceId(place))),
        _ => Err(Odd("it is of neither one vessel nor one place".into())),
    }
}

/// The two columns that say of what something was taken.
pub(crate) fn subject_cells(subject: Subject) -> [Cell; 2] {
    let (vessel, place) = match subject {
        Subject::Vessel(v) => (Some(v.0), None),
        Subject::Place(p) => (None, Some(p.0)),
    };
    [
        ("vessel", to::opt_int(vessel)),
        ("place", to::opt_int(place)),
    ]
}

fn seen(kind: MeasureKind, value: f64, unit: crate::domain::records::Unit) -> Result<Seen, Odd> {
    Seen::new(kind, value, unit).map_err(|e| Odd(e.to_string()))
}

impl Record for Reading {
    const TABLE: &'static str = "reading";

    fn row(&self) -> i64 {
        self.id.0
    }

    fn cells(&self) -> Vec<Cell> {
        let sample = self.sample_temp;
        let mut cells = vec![
            ("kind", to::text(self.seen.kind().word())),
            ("value", to::real(self.seen.value())),
            ("unit", to::text(self.seen.unit().word())),
            ("sample_temp", to::opt_real(sample.map(Seen::value))),
            (
                "sample_temp_unit",
                to::opt_text(sample.map(|s| s.unit().word())),
            ),
            ("instrument", to::opt_int(self.instrument.map(|i| i.0))),
            ("source", to::text(&self.source)),
            ("doubted", to::int(self.doubted)),
            ("note", to::text(&self.note)),
        ];
        cells.extend(subject_cells(self.subject));
        cells.extend(to::moment("at_ms", "at_off", self.at));
        cells.extend(to::moment("entered_ms", "entered_off", self.entered));
        cells
    }

    fn read(c: &impl Cells) -> Result<Self, Odd> {
        let sample_temp = match (
            opt_real(c, "sample_temp")?,
            opt_word(c, "sample_temp_unit")?,
        ) {
            (Some(value), Some(unit)) => Some(seen(MeasureKind::Temperature, value, unit)?),
            _ => None,
        };
        Ok(Self {
            id: ReadingId(int(c, "id")?),
            subject: subject(c)?,
            at: moment(c, "at_ms", "at_off")?,
            seen: seen(word(c, "kind")?, real(c, "value")?, word(c, "unit")?)?,
            sample_temp,
            instrument: opt_int(c, "instrument")?.map(InstrumentId),
            source: text(c, "source")?,
            doubted: flag(c, "doubted")?,
            note: text(c, "note")?,
            entered: moment(c, "entered_ms", "entered_off")?,
        })
    }
}
