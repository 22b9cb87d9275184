//! A foreign table of readings, understood but not yet kept.

use super::columns::{self, Role, unit_named};
use super::dates::{self, DateOrder, When};
use super::{numbers, plain, sniff};
use crate::domain::records::{MeasureKind, Seen, Unit};
use crate::domain::text::order_in;
use crate::domain::units::{Local, Moment, Zone};
use chrono::{NaiveTime, Timelike};
use std::fmt;

pub use super::numbers::Decimal;

/// What the maker says about a table; what is left open is found out.
#[derive(Debug, Clone)]
pub struct Choices {
    /// Headings and the names of their roles.
    pub columns: Vec<(String, String)>,
    /// Order of dates.
    pub order: Option<DateOrder>,
    /// Decimal mark.
    pub decimal: Option<Decimal>,
    /// Unit of temperatures that name none.
    pub temperature: Option<Unit>,
    /// Where the clock times were read off.
    pub zone: Zone,
}

/// How a table was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Separator of cells.
    pub separator: char,
    /// Each heading and what its column holds; none for one that is not used.
    pub columns: Vec<(String, Option<&'static str>)>,
    /// Order of dates.
    pub order: DateOrder,
    /// Decimal mark.
    pub decimal: Decimal,
    /// Unit taken for temperatures that name none.
    pub temperature: Option<Unit>,
}

/// A table understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Preview {
    /// How.
    pub found: Found,
    /// Its lines, by their number in the file: a reading, or why not.
    pub lines: Vec<(u64, Result<Line, String>)>,
}

/// One line of readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Tag of the vessel, where the line names one.
    pub vessel: Option<String>,
    /// Name of the place, where the line names one.
    pub place: Option<String>,
    /// When.
    pub at: Moment,
    /// What was seen.
    pub seen: Vec<Seen>,
    /// Temperature of the sample.
    pub sample: Option<Seen>,
    /// Free words.
    pub note: String,
}

/// Why a table as a whole is not understood.
#[derive(Debug, Clone, PartialEq)]
pub enum ImportError {
    /// Nothing in it.
    Empty,
    /// A heading that is not there.
    NoSuchHeading {
        /// What was said.
        said: String,
        /// Those that are there.
        headings: Vec<String>,
    },
    /// A role that is not there.
    NoSuchRole(String),
    /// No column tells when.
    NoDay(Vec<String>),
    /// No column tells a value.
    NoValue(Vec<String>),
    /// Month and day can't be told apart.
    DateOrder(String),
    /// Comma and point can't be told apart.
    DecimalMark,
    /// Temperatures that may be °F or °C.
    TemperatureUnit,
    /// Two columns hold the same kind of value.
    TwoColumns(String, String, MeasureKind),
}

impl fmt::Display for ImportError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let roles = || {
            let names: Vec<&str> = columns::ROLES.iter().map(|r| r.name).collect();
            names.join(", ")
        };
        match self {
            Self::Empty => f.write_str("the file holds no lines"),
            Self::NoSuchHeading { said, headings } => write!(
                f,
                "there is no column '{said}'; there are {}",
                headings.join(", ")
            ),
            Self::NoSuchRole(name) => {
                write!(
                    f,
                    "'{name}' is nothing that a column holds; accepted: {}",
                    roles()
                )
            }
            Self::NoDay(headings) => write!(
                f,
                "no column tells when ({}); name it: --column HEADING=date",
                headings.join(", ")
            ),
            Self::NoValue(headings) => write!(
                f,
                "no column holds a reading ({}); name it: --column HEADING=gravity; accepted: {}",
                headings.join(", "),
                roles()
            ),
            Self::DateOrder(cell) => write!(
                f,
                "'{cell}' can be two days; say --dates mdy (month first) or --dates dmy (day first)"
            ),
            Self::DecimalMark => f.write_str(
                "a comma in these numbers can be decimal or for thousands; \
                 say --decimal comma or --decimal point",
            ),
            Self::TwoColumns(one, other, kind) => write!(
                f,
                "'{one}' and '{other}' both hold a {kind} reading at one moment; \
                 leave one out: --column '{other}=nothing'"
            ),
            Self::TemperatureUnit => f.write_str(
                "the temperatures can be °F or °C; say --temperature f or --temperature c",
            ),
        }
    }
}

impl std::error::Error for ImportError {}

/// Understands a table without keeping anything.
pub fn preview(bytes: &[u8], choices: &Choices) -> Result<Preview, ImportError> {
    let text = sniff::text(bytes);
    let separator = sniff::separator(&text);
    let mut rows = sniff::rows(&text, separator);
    if rows.is_empty() {
        return Err(ImportError::Empty);
    }
    let (_, headings) = rows.remove(0);
    let roles = roles(&headings, choices)?;
    let sheet = Sheet {
        roles: &roles,
        order: order(&rows, &roles, choices)?,
        decimal: decimal(&rows, &roles, choices)?,
        temperature: temperature(&rows, &roles, choices)?,
        zone: choices.zone,
    };
    let lines = rows
        .iter()
        .map(|(number, cells)| (*number, sheet.line(cells)))
        .collect();
    let name = |role: &Option<Role>| {
        let same = |r: &&columns::RoleWords| match (r.role, role) {
            (a, Some(b)) if a == *b => true,
            (Role::Value(a, None), Some(Role::Value(b, _))) => a == *b,
            (Role::Sample(_), Some(Role::Sample(_))) => true,
            _ => false,
        };
        columns::ROLES.iter().find(same).map(|r| r.name)
    };
    Ok(Preview {
        found: Found {
            separator: char::from(separator),
            columns: headings.into_iter().zip(roles.iter().map(name)).collect(),
            order: sheet.order,
            decimal: sheet.decimal,
            temperature: sheet.temperature,
        },
        lines,
    })
}

/// What each column holds: as said, else as its heading tells.
fn roles(headings: &[String], choices: &Choices) -> Result<Vec<Option<Role>>, ImportError> {
    let mut roles: Vec<Option<Role>> = headings.iter().map(|h| columns::by_heading(h)).collect();
    for (heading, name) in &choices.columns {
        let role = columns::named(name).ok_or_else(|| ImportError::NoSuchRole(name.clone()))?;
        let place = headings
            .iter()
            .position(|h| h.trim().eq_ignore_ascii_case(heading.trim()));
        let slot =
            place
                .and_then(|i| roles.get_mut(i))
                .ok_or_else(|| ImportError::NoSuchHeading {
                    said: heading.clone(),
                    headings: headings.to_vec(),
                })?;
        // What the heading says of the unit still holds.
        let unit = match columns::by_heading(heading) {
            Some(Role::Value(_, unit)) => unit,
            _ => None,
        };
        *slot = Some(match role {
            Role::Value(kind, None) => Role::Value(kind, unit),
            role => role,
        });
    }
    let has = |fits: &dyn Fn(Role) -> bool| roles.iter().flatten().any(|r| fits(*r));
    if !has(&|r| r == Role::Day) {
        return Err(ImportError::NoDay(headings.to_vec()));
    }
    if !has(&|r| matches!(r, Role::Value(..) | Role::Amount)) {
        return Err(ImportError::NoValue(headings.to_vec()));
    }
    for (i, role) in roles.iter().enumerate() {
        let Some(Role::Value(kind, _)) = role else {
            continue;
        };
        let same = |r: &Option<Role>| matches!(r, Some(Role::Value(k, _)) if k == kind);
        if let Some(first) = roles.iter().take(i).position(same) {
            let name = |i: usize| headings.get(i).cloned().unwrap_or_default();
            return Err(ImportError::TwoColumns(name(first), name(i), *kind));
        }
    }
    Ok(roles)
}

/// Cells of the columns that fit, without empty ones.
fn cells<'a>(
    rows: &'a [sniff::Row],
    roles: &'a [Option<Role>],
    fits: impl Fn(Role) -> bool + Copy + 'a,
) -> impl Iterator<Item = &'a str> {
    rows.iter().flat_map(move |(_, cells)| {
        cells
            .iter()
            .zip(roles)
            .filter(move |(cell, role)| role.is_some_and(fits) && !cell.trim().is_empty())
            .map(|(cell, _)| plain(cell))
    })
}

fn order(
    rows: &[sniff::Row],
    roles: &[Option<Role>],
    choices: &Choices,
) -> Result<DateOrder, ImportError> {
    if let Some(order) = choices.order {
        return Ok(order);
    }
    let days: Vec<&str> = cells(rows, roles, |r| r == Role::Day).collect();
    match dates::order(&days) {
        dates::Heard::Order(order) => Ok(order),
        dates::Heard::Unclear => {
            let first = days.first().copied().unwrap_or_default();
            Err(ImportError::DateOrder(first.to_owned()))
        }
    }
}

fn decimal(
    rows: &[sniff::Row],
    roles: &[Option<Role>],
    choices: &Choices,
) -> Result<Decimal, ImportError> {
    if let Some(decimal) = choices.decimal {
        return Ok(decimal);
    }
    let gravity = |r: Role| matches!(r, Role::Value(MeasureKind::Hydrometer, _));
    let other =
        move |r: Role| matches!(r, Role::Value(..) | Role::Amount | Role::Sample(_)) && !gravity(r);
    match numbers::decimal(cells(rows, roles, gravity), cells(rows, roles, other)) {
        numbers::Heard::Mark(mark) => Ok(mark),
        numbers::Heard::Unclear => Err(ImportError::DecimalMark),
    }
}

/// The unit of temperatures that name none: as said, else told by their range.
/// A vessel indoors is never above 41 °C and rarely below 41 °F.
fn temperature(
    rows: &[sniff::Row],
    roles: &[Option<Role>],
    choices: &Choices,
) -> Result<Option<Unit>, ImportError> {
    let bare = |r: Role| {
        matches!(
            r,
            Role::Value(MeasureKind::Temperature, None) | Role::Sample(None)
        )
    };
    let values: Vec<f64> = cells(rows, roles, bare)
        .filter_map(|c| numbers::number(c, choices.decimal.unwrap_or(Decimal::Point)))
        .filter(|(_, unit)| unit.is_none())
        .map(|(value, _)| value)
        .collect();
    let has_units = roles.contains(&Some(Role::UnitOf));
    if values.is_empty() || has_units {
        return Ok(choices.temperature);
    }
    if let Some(unit) = choices.temperature {
        return Ok(Some(unit));
    }
    if values.iter().all(|v| *v > 41.0) {
        Ok(Some(Unit::Fahrenheit))
    } else if values.iter().all(|v| *v < 33.0) {
        Ok(Some(Unit::Celsius))
    } else {
        Err(ImportError::TemperatureUnit)
    }
}

struct Sheet<'a> {
    roles: &'a [Option<Role>],
    order: DateOrder,
    decimal: Decimal,
    temperature: Option<Unit>,
    zone: Zone,
}

impl Sheet<'_> {
    fn line(&self, cells: &[String]) -> Result<Line, String> {
        let cell = |role: Role| self.cell(cells, role).filter(|c| !c.trim().is_empty());
        let note = self.cell(cells, Role::Note).unwrap_or_default().to_owned();
        if let Some(c) = order_in(&note) {
            return Err(format!(
                "its note holds the control character U+{:04X}",
                u32::from(c)
            ));
        }
        let sample_unit = cell(Role::SampleUnit).and_then(unit_named);
        let mut line = Line {
            vessel: cell(Role::Vessel).map(|c| c.trim().to_owned()),
            place: cell(Role::Place).map(|c| c.trim().to_owned()),
            at: self.at(cells)?,
            seen: Vec::new(),
            sample: None,
            note,
        };
        for (text, role) in cells.iter().map(|c| plain(c)).zip(self.roles) {
            if text.trim().is_empty() {
                continue;
            }
            match role {
                Some(Role::Value(kind, unit)) => line.seen.push(self.seen(text, *kind, *unit)?),
                Some(Role::Amount) => {
                    let kind = cell(Role::Kind)
                        .map(str::trim)
                        .and_then(MeasureKind::from_word);
                    let kind = kind.ok_or("the kind of its value is not told")?;
                    let unit = cell(Role::UnitOf).and_then(unit_named);
                    line.seen.push(self.seen(text, kind, unit)?);
                }
                Some(Role::Sample(unit)) => {
                    let unit = unit.or(sample_unit);
                    line.sample = Some(self.seen(text, MeasureKind::Temperature, unit)?);
                }
                _ => {}
            }
        }
        if line.seen.is_empty() {
            return Err("no reading in it".to_owned());
        }
        Ok(line)
    }

    fn cell<'c>(&self, cells: &'c [String], role: Role) -> Option<&'c str> {
        let column = self.roles.iter().position(|r| *r == Some(role))?;
        cells.get(column).map(|c| plain(c))
    }

    fn at(&self, cells: &[String]) -> Result<Moment, String> {
        let day = self.cell(cells, Role::Day).unwrap_or_default().trim();
        let clock = self.cell(cells, Role::Clock).unwrap_or_default().trim();
        let when = dates::when(day, self.order)
            .ok_or_else(|| format!("'{day}' is no day in the order {}", self.order.word()))?;
        let (date, time) = match when {
            When::Instant(at) => return Ok(Moment::new(at)),
            When::Local(date, time) => (date, time),
        };
        let time = match (clock, time) {
            ("", time) => time.unwrap_or(NOON),
            (text, _) => dates::clock(text).ok_or_else(|| format!("'{text}' is no time of day"))?,
        };
        match self
            .zone
            .resolve(date.and_time(time.with_nanosecond(0).unwrap_or(time)))
        {
            Local::Once(at) | Local::Twice(at, _) => Ok(at),
            Local::Never(_) => Err(format!(
                "'{day} {clock}' did not happen: the clocks were put forward over it"
            )),
        }
    }

    fn seen(&self, text: &str, kind: MeasureKind, unit: Option<Unit>) -> Result<Seen, String> {
        let (value, written) = numbers::number(text, self.decimal)
            .ok_or_else(|| format!("'{}' is no number", text.trim()))?;
        let unit = written.or(unit).or(match kind {
            MeasureKind::Temperature => self.temperature,
            MeasureKind::Hydrometer => Some(Unit::Sg),
            MeasureKind::Refractometer => Some(Unit::Brix),
            MeasureKind::Ph => Some(Unit::Ph),
            MeasureKind::Acidity => Some(Unit::GramPerLitre),
            MeasureKind::Mass | MeasureKind::Volume => None,
        });
        let unit = unit.ok_or_else(|| {
            format!(
                "the unit of '{}' is not told; put it into the heading",
                text.trim()
            )
        })?;
        let value = if unit == Unit::Sg {
            gravity(value)
        } else {
            value
        };
        Seen::new(kind, value, unit).map_err(|why| why.to_string())
    }
}

/// Without a time of day noon is meant: at most half a day off.
const NOON: NaiveTime = match NaiveTime::from_hms_opt(12, 0, 0) {
    Some(time) => time,
    None => NaiveTime::MIN,
};

/// 42 and 1042 are 1.042, and 998 is 0.998, as in a slip.
fn gravity(value: f64) -> f64 {
    let whole = value.fract() == 0.0;
    match value {
        v if whole && (2.0..=200.0).contains(&v) => (1000.0 + v) / 1000.0,
        v if (950.0..=1450.0).contains(&v) => v / 1000.0,
        v => v,
    }
}

#[cfg(test)]
mod tests;
