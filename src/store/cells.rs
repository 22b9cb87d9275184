//! Columns to types and back; the one place where the two meet.

use super::error::{Cause, StoreError};
use crate::domain::plan::{FoodClass, PartKind};
use crate::domain::records::{
    BottleClass, ChangeState, Demand, DrawKind, EventKind, Fizz, GravityScale, InstrumentKind,
    MeasureKind, PantryKind, Stage, StepKind, Style, Unit, UnitSystem, VesselKind,
};
use crate::domain::units::{Moment, OutOfRange};
use chrono::NaiveDate;
use rusqlite::Row;
use rusqlite::types::{Value, ValueRef};
use std::borrow::Cow;
use std::cell::{Cell as Counter, RefCell};
use std::collections::HashMap;

/// Why a column cannot be read: one sentence.
#[derive(Debug)]
pub(crate) struct Odd(pub(crate) String);

impl Odd {
    fn column(name: &str, why: &str) -> Self {
        Self(format!("{name} {why}"))
    }

    /// With the row it was found in.
    pub(crate) fn at(self, table: &'static str, row: i64) -> StoreError {
        Cause::Odd {
            table,
            row,
            why: self.0,
        }
        .into()
    }
}

impl From<rusqlite::Error> for Odd {
    fn from(error: rusqlite::Error) -> Self {
        Self(error.to_string())
    }
}

/// Something with named columns: a row, or the columns put together from history.
pub(crate) trait Cells {
    /// The value of one column.
    fn cell(&self, name: &'static str) -> Result<ValueRef<'_>, Odd>;
}

impl Cells for rusqlite::Row<'_> {
    fn cell(&self, name: &'static str) -> Result<ValueRef<'_>, Odd> {
        Ok(self.get_ref(name)?)
    }
}

/// Where the columns of a query stand. A record asks for its columns in the
/// same order for each row, so each is looked for once only: SQLite looks a
/// name up by going through all of them.
pub(crate) struct Order {
    names: Vec<String>,
    /// The column that was asked for first, second and so on, by its name.
    asked: RefCell<Vec<(&'static str, usize)>>,
}

impl Order {
    /// Of the query that gave a row.
    pub(crate) fn of(row: &Row<'_>) -> Self {
        let names = row.as_ref().column_names();
        Self {
            names: names.into_iter().map(str::to_owned).collect(),
            asked: RefCell::default(),
        }
    }

    /// The row, asked from its first column on.
    pub(crate) fn on<'r>(&'r self, row: &'r Row<'r>) -> Ordered<'r> {
        Ordered {
            row,
            order: self,
            next: Counter::new(0),
        }
    }

    fn find(&self, turn: usize, name: &'static str) -> Option<usize> {
        if let Some((before, at)) = self.asked.borrow().get(turn)
            // The same words at the same address need not be compared.
            && (std::ptr::eq(*before, name) || *before == name)
        {
            return Some(*at);
        }
        let at = self.names.iter().position(|n| n == name)?;
        let mut asked = self.asked.borrow_mut();
        asked.truncate(turn);
        asked.push((name, at));
        Some(at)
    }
}

/// A row of a query whose order is known.
pub(crate) struct Ordered<'r> {
    row: &'r Row<'r>,
    order: &'r Order,
    next: Counter<usize>,
}

impl Cells for Ordered<'_> {
    fn cell(&self, name: &'static str) -> Result<ValueRef<'_>, Odd> {
        let turn = self.next.replace(self.next.get() + 1);
        match self.order.find(turn, name) {
            Some(at) => Ok(self.row.get_ref(at)?),
            None => self.row.cell(name),
        }
    }
}

/// Columns put together from history.
pub(crate) type Columns = HashMap<String, Value>;

impl Cells for Columns {
    fn cell(&self, name: &'static str) -> Result<ValueRef<'_>, Odd> {
        Ok(self.get(name).map_or(ValueRef::Null, ValueRef::from))
    }
}

/// A record that is one row of one table.
pub(crate) trait Record: Sized {
    /// The table.
    const TABLE: &'static str;
    /// Its row number; 0 or less before it has one.
    fn row(&self) -> i64;
    /// All its columns but the row number.
    fn cells(&self) -> Vec<Cell>;
    /// From its columns.
    fn read(c: &impl Cells) -> Result<Self, Odd>;
}

/// A column's name and value.
pub(crate) type Cell = (&'static str, Value);

/// An enum with one stored word each.
pub(crate) trait Word: Sized {
    /// From its word.
    fn parse(word: &str) -> Option<Self>;
}

macro_rules! word {
    ($($name:ident)*) => {$(
        impl Word for $name {
            fn parse(word: &str) -> Option<Self> { Self::from_word(word) }
        }
    )*};
}
word! {
    BottleClass ChangeState Demand DrawKind FoodClass PartKind EventKind Fizz GravityScale InstrumentKind MeasureKind
    PantryKind Stage StepKind Style Unit UnitSystem VesselKind
}

pub(crate) fn opt_int(c: &impl Cells, name: &'static str) -> Result<Option<i64>, Odd> {
    match c.cell(name)? {
        ValueRef::Null => Ok(None),
        ValueRef::Integer(i) => Ok(Some(i)),
        _ => Err(Odd::column(name, "is not a whole number")),
    }
}

pub(crate) fn int(c: &impl Cells, name: &'static str) -> Result<i64, Odd> {
    opt_int(c, name)?.ok_or_else(|| Odd::column(name, "is missing"))
}

/// A whole number of a narrower type.
pub(crate) fn small<T: TryFrom<i64>>(c: &impl Cells, name: &'static str) -> Result<T, Odd> {
    T::try_from(int(c, name)?).map_err(|_| Odd::column(name, "is too large"))
}

pub(crate) fn opt_small<T: TryFrom<i64>>(
    c: &impl Cells,
    name: &'static str,
) -> Result<Option<T>, Odd> {
    opt_int(c, name)?
        .map(|i| T::try_from(i).map_err(|_| Odd::column(name, "is too large")))
        .transpose()
}

pub(crate) fn flag(c: &impl Cells, name: &'static str) -> Result<bool, Odd> {
    Ok(int(c, name)? != 0)
}

pub(crate) fn opt_real(c: &impl Cells, name: &'static str) -> Result<Option<f64>, Odd> {
    match c.cell(name)? {
        ValueRef::Null => Ok(None),
        ValueRef::Real(x) => Ok(Some(x)),
        ValueRef::Integer(i) => Ok(Some(i as f64)),
        _ => Err(Odd::column(name, "is not a number")),
    }
}

pub(crate) fn real(c: &impl Cells, name: &'static str) -> Result<f64, Odd> {
    opt_real(c, name)?.ok_or_else(|| Odd::column(name, "is missing"))
}

/// A text as it lies in the row, for what is looked at and not kept.
fn opt_lent<'c>(c: &'c impl Cells, name: &'static str) -> Result<Option<Cow<'c, str>>, Odd> {
    match c.cell(name)? {
        ValueRef::Null => Ok(None),
        // Most texts are sound, and quickly seen to be. A damaged file may hold any
        // bytes; what can be read is shown.
        ValueRef::Text(bytes) => Ok(Some(match str::from_utf8(bytes) {
            Ok(sound) => sound.into(),
            Err(_) => String::from_utf8_lossy(bytes),
        })),
        _ => Err(Odd::column(name, "is not a text")),
    }
}

pub(crate) fn lent<'c>(c: &'c impl Cells, name: &'static str) -> Result<Cow<'c, str>, Odd> {
    opt_lent(c, name)?.ok_or_else(|| Odd::column(name, "is missing"))
}

pub(crate) fn opt_text(c: &impl Cells, name: &'static str) -> Result<Option<String>, Odd> {
    Ok(opt_lent(c, name)?.map(Cow::into_owned))
}

pub(crate) fn text(c: &impl Cells, name: &'static str) -> Result<String, Odd> {
    opt_text(c, name)?.ok_or_else(|| Odd::column(name, "is missing"))
}

pub(crate) fn opt_word<T: Word>(c: &impl Cells, name: &'static str) -> Result<Option<T>, Odd> {
    let Some(word) = opt_lent(c, name)? else {
        return Ok(None);
    };
    match T::parse(&word) {
        Some(known) => Ok(Some(known)),
        None => Err(Odd(format!("{name} '{word}' is not a known word"))),
    }
}

pub(crate) fn word<T: Word>(c: &impl Cells, name: &'static str) -> Result<T, Odd> {
    opt_word(c, name)?.ok_or_else(|| Odd::column(name, "is missing"))
}

pub(crate) fn opt_amount<T>(c: &impl Cells, name: &'static str) -> Result<Option<T>, Odd>
where
    T: TryFrom<f64, Error = OutOfRange>,
{
    opt_real(c, name)?
        .map(|x| T::try_from(x).map_err(|e| Odd(format!("{name}: {e}"))))
        .transpose()
}

pub(crate) fn amount<T>(c: &impl Cells, name: &'static str) -> Result<T, Odd>
where
    T: TryFrom<f64, Error = OutOfRange>,
{
    opt_amount(c, name)?.ok_or_else(|| Odd::column(name, "is missing"))
}

pub(crate) fn opt_moment(
    c: &impl Cells,
    ms: &'static str,
    off: &'static str,
) -> Result<Option<Moment>, Odd> {
    let (Some(at), Some(offset)) = (opt_int(c, ms)?, opt_small(c, off)?) else {
        return Ok(None);
    };
    match Moment::from_stored(at, offset) {
        Some(moment) => Ok(Some(moment)),
        None => Err(Odd::column(ms, "is no instant")),
    }
}

pub(crate) fn moment(c: &impl Cells, ms: &'static str, off: &'static str) -> Result<Moment, Odd> {
    opt_moment(c, ms, off)?.ok_or_else(|| Odd::column(ms, "is missing"))
}

pub(crate) fn opt_day(c: &impl Cells, name: &'static str) -> Result<Option<NaiveDate>, Odd> {
    opt_lent(c, name)?
        .map(|t| t.parse().map_err(|_| Odd::column(name, "is no day")))
        .transpose()
}

/// The other way: types to column values.
pub(crate) mod to {
    use super::{Cell, Moment, NaiveDate, Value};

    pub(crate) fn text(s: &str) -> Value {
        Value::Text(s.to_owned())
    }

    pub(crate) fn opt_text(s: Option<&str>) -> Value {
        s.map_or(Value::Null, text)
    }

    pub(crate) fn int(i: impl Into<i64>) -> Value {
        Value::Integer(i.into())
    }

    pub(crate) fn opt_int(i: Option<impl Into<i64>>) -> Value {
        i.map_or(Value::Null, int)
    }

    pub(crate) fn real(x: impl Into<f64>) -> Value {
        Value::Real(x.into())
    }

    pub(crate) fn opt_real(x: Option<impl Into<f64>>) -> Value {
        x.map_or(Value::Null, real)
    }

    pub(crate) fn opt_day(day: Option<NaiveDate>) -> Value {
        day.map_or(Value::Null, |d| Value::Text(d.to_string()))
    }

    pub(crate) fn moment(ms: &'static str, off: &'static str, m: Moment) -> [Cell; 2] {
        opt_moment(ms, off, Some(m))
    }

    pub(crate) fn opt_moment(ms: &'static str, off: &'static str, m: Option<Moment>) -> [Cell; 2] {
        [
            (ms, opt_int(m.map(Moment::utc_ms))),
            (off, opt_int(m.map(Moment::offset_minutes))),
        ]
    }
}
