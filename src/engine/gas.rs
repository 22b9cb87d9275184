//! The gas that all vessels give off, and when to air the place they stand in.

use super::{Account, CurvePoint, Morning, Spread};
use crate::domain::records::{Household, PlaceId, Stage};
use crate::domain::sums::finish;
use crate::domain::units::{CubicMetres, Gravity, GravityDelta, Litres, Moment, PartsPerMillion};

/// CO2 in the air that people may breathe for eight hours of work: the OSHA
/// permissible exposure and the NIOSH recommended exposure (NIOSH, IDLH
/// documentation: carbon dioxide, 1994).
pub const WORKDAY_LIMIT: PartsPerMillion = PartsPerMillion::known(5_000.0);
/// CO2 for a short time (NIOSH short-term exposure limit, same source).
pub const SHORT_LIMIT: PartsPerMillion = PartsPerMillion::known(30_000.0);
/// CO2 in fresh air, about (from memory).
pub const FRESH_AIR: PartsPerMillion = PartsPerMillion::known(420.0);
/// Litres of a gram of CO2 at 20 °C and 101.325 kPa: 24.055 L/mol as an ideal
/// gas over 44.0095 g/mol.
pub const LITRES_PER_GRAM: f64 = 24.055 / 44.0095;
/// A small closet, for an estimate where the size of the place is not known.
pub const SMALL_CLOSET: CubicMetres = CubicMetres::known(2.0);
/// Air changes an hour of a closet with its door shut (common practice, no
/// source: a tight cupboard has less, a louvred door more).
pub const SHUT_DOOR: f64 = 0.2;
/// Share of the brimful volume taken where no volume was kept.
const USUAL_FILL: f64 = 0.95;

/// Gas that one vessel gives off.
#[derive(Debug, Clone, PartialEq)]
pub struct VesselGas {
    /// Its tag.
    pub tag: String,
    /// Litres of CO2 a day at 20 °C.
    pub a_day: Spread<f64>,
}

/// Gas in one place.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceGas {
    /// Which.
    pub place: PlaceId,
    /// Its name.
    pub name: String,
    /// Vessels that give off gas, the most first.
    pub vessels: Vec<VesselGas>,
    /// Litres of CO2 a day from all of them: the middle, and the sum of the
    /// upper tenths for the safe side.
    pub a_day: f64,
    /// The same on the safe side.
    pub a_day_high: f64,
    /// Size of the place; none where the maker has not said.
    pub room: Option<CubicMetres>,
}

/// What the air of a place comes to, on the safe side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Size that was reckoned with.
    pub room: CubicMetres,
    /// Whether that is the maker's figure or a small closet.
    pub measured: bool,
    /// Hours from fresh air to the eight-hour limit with no air exchanged.
    pub hours_to_limit: f64,
    /// Where it settles with the door shut and [`SHUT_DOOR`] air changes an hour.
    pub settles_at: PartsPerMillion,
}

/// How much the air matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum AirState {
    /// Nothing gives off gas worth a word.
    Calm,
    /// Below the limits with the door shut.
    Fine,
    /// Passes the eight-hour limit with the door shut.
    Air,
    /// Passes the short-time limit with the door shut.
    Danger,
}

impl PlaceGas {
    /// The air of the place, on the safe side.
    pub fn air(&self) -> Air {
        let room = self.room.unwrap_or(SMALL_CLOSET);
        let an_hour = self.a_day_high / 24.0;
        let litres = room.get() * 1000.0;
        let margin = (WORKDAY_LIMIT.get() - FRESH_AIR.get()) * 1e-6 * litres;
        Air {
            room,
            measured: self.room.is_some(),
            hours_to_limit: if an_hour > 0.0 {
                margin / an_hour
            } else {
                f64::INFINITY
            },
            settles_at: PartsPerMillion::clamped(
                FRESH_AIR.get() + 1e6 * an_hour / (SHUT_DOOR * litres),
            ),
        }
    }

    /// How much the air matters.
    pub fn state(&self) -> AirState {
        let settles = self.air().settles_at;
        if self.a_day_high < 0.5 {
            AirState::Calm
        } else if settles >= SHORT_LIMIT {
            AirState::Danger
        } else if settles >= WORKDAY_LIMIT {
            AirState::Air
        } else {
            AirState::Fine
        }
    }

    /// What to do, with the numbers it rests on.
    pub fn sentence(&self) -> String {
        let air = self.air();
        let size = if air.measured {
            format!("{:.1} m³", air.room.get())
        } else {
            format!(
                "a closet of {:.0} m³ (say how large yours is)",
                air.room.get()
            )
        };
        let gas = format!(
            "{}: about {} of CO2 a day, at most {}.",
            self.name,
            litres(self.a_day),
            litres(self.a_day_high)
        );
        match self.state() {
            AirState::Calm => format!("{}: hardly any gas is given off.", self.name),
            AirState::Fine => format!(
                "{gas} In {size} with the door shut that stays near {}, below the limit of 5,000 ppm for eight hours.",
                ppm(air.settles_at)
            ),
            AirState::Air => format!(
                "{gas} {} with the door shut passes 5,000 ppm after {} and settles near {}: leave the door ajar, and air it before you kneel or bend inside.",
                sentence_start(&size),
                hours(air.hours_to_limit),
                ppm(air.settles_at)
            ),
            AirState::Danger => format!(
                "{gas} {} with the door shut passes 5,000 ppm after {} and can reach {}, above the short-time limit of 30,000: keep the door open, and never sleep in there.",
                sentence_start(&size),
                hours(air.hours_to_limit),
                ppm(air.settles_at)
            ),
        }
    }
}

fn sentence_start(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

fn litres(l: f64) -> String {
    if l < 10.0 {
        format!("{l:.1} L")
    } else {
        format!("{l:.0} L")
    }
}

fn hours(h: f64) -> String {
    if h < 1.0 {
        format!("{:.0} minutes", (h * 60.0).max(1.0))
    } else if h < 1.5 {
        "an hour".to_owned()
    } else if h < 48.0 {
        format!("{h:.0} hours")
    } else {
        format!("{:.0} days", h / 24.0)
    }
}

fn ppm(p: PartsPerMillion) -> String {
    // Two digits are all that such an estimate deserves.
    let p = p.get();
    let step = 10f64.powf((p.max(1.0)).log10().floor() - 1.0);
    let n = ((p / step).round() * step) as u64;
    let thousands = n / 1000;
    if thousands > 0 {
        format!("{thousands},{:03} ppm", n % 1000)
    } else {
        format!("{n} ppm")
    }
}

/// The gas in each place that holds a ferment, the most first.
pub fn gas(
    household: &Household,
    morning: &Morning,
    room: impl Fn(PlaceId) -> Option<CubicMetres>,
) -> Vec<PlaceGas> {
    let mut places: Vec<PlaceGas> = Vec::new();
    for row in &morning.accounts {
        let Some(vessel) = row.vessel.and_then(|v| household.vessel(v)) else {
            continue;
        };
        let Some(a_day) = of_row(household, row, morning) else {
            continue;
        };
        let at = places.iter().position(|p| p.place == vessel.place);
        let at = at.unwrap_or_else(|| {
            places.push(PlaceGas {
                place: vessel.place,
                name: household
                    .place(vessel.place)
                    .map_or_else(String::new, |p| p.name.clone()),
                vessels: Vec::new(),
                a_day: 0.0,
                a_day_high: 0.0,
                room: room(vessel.place),
            });
            places.len() - 1
        });
        let place = &mut places[at];
        place.a_day += a_day.p50;
        place.a_day_high += a_day.p90;
        place.vessels.push(VesselGas {
            tag: vessel.tag.clone(),
            a_day,
        });
    }
    for place in &mut places {
        place
            .vessels
            .sort_by(|a, b| b.a_day.p50.total_cmp(&a.a_day.p50));
    }
    places.sort_by(|a, b| b.a_day.total_cmp(&a.a_day));
    places
}

/// Litres a day of one vessel: today's fall of its gravity by the balance.
fn of_row(household: &Household, row: &Account, morning: &Morning) -> Option<Spread<f64>> {
    if row.stage != Stage::Fermenting && row.stage != Stage::Resting {
        return None;
    }
    let original = row.figures.original?;
    let gravity = row.figures.gravity?;
    let rate = match row.assessment.rate {
        Some(rate) => rate.today.map(GravityDelta::get),
        None => from_curve(&row.assessment.curve, morning.now)
            .or_else(|| from_readings(&row.told.gravities, morning.now))?,
    };
    let vessel = household.vessel(row.vessel?)?;
    let volume = row
        .volume
        .unwrap_or(Litres::clamped(vessel.capacity.get() * USUAL_FILL));
    let now = Gravity::clamped(gravity.get().min(original.get()));
    Some(rate.map(|fall| litres_a_day(original, now, fall, volume)))
}

/// The fall of the coming day along the middle and the edges of the band.
fn from_curve(curve: &[CurvePoint], now: Moment) -> Option<Spread<f64>> {
    let at = |when: Moment| {
        curve
            .iter()
            .min_by_key(|p| (p.at.utc_ms() - when.utc_ms()).abs())
    };
    let (here, there) = (at(now)?, at(now.plus_days(1.0))?);
    let days = there.at.days_since(here.at);
    if days < 0.2 {
        return None;
    }
    let fall = |a: Gravity, b: Gravity| ((a.get() - b.get()) / days).max(0.0);
    let mut all = [
        fall(here.gravity.p10, there.gravity.p10),
        fall(here.gravity.p50, there.gravity.p50),
        fall(here.gravity.p90, there.gravity.p90),
    ];
    let middle = all[1];
    all.sort_by(f64::total_cmp);
    Some(Spread {
        p10: all[0],
        p50: middle,
        p90: all[2],
    })
}

/// The fall between the last two gravities, while they are not a week old:
/// half of it to half as much again, since a ferment slows and readings err
/// (common practice, no source).
fn from_readings(gravities: &[(Moment, Gravity)], now: Moment) -> Option<Spread<f64>> {
    let [.., (before, high), (last, low)] = gravities else {
        return None;
    };
    let days = last.days_since(*before);
    if days < 0.2 || now.days_since(*last) > 7.0 {
        return None;
    }
    let fall = ((high.get() - low.get()) / days).max(0.0);
    Some(Spread {
        p10: 0.5 * fall,
        p50: fall,
        p90: 1.5 * fall,
    })
}

/// Litres of CO2 a day at 20 °C from a fall of gravity a day.
pub fn litres_a_day(original: Gravity, now: Gravity, fall: f64, volume: Litres) -> f64 {
    let end = Gravity::clamped(now.get() - fall.max(0.0));
    finish::co2_per_litre(original, now, end)
        .map_or(0.0, |g| g.get() * volume.get() * LITRES_PER_GRAM)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gallon_gives_off_the_gas_that_belongs_to_its_alcohol() {
        // 1.100 to 1.000 is 13.5 % vol by the UK excise factor table (HMRC
        // Notice 226); with 0.9565 g CO2 to a gram of ethanol (Balling) and
        // ethanol of 0.7893 kg/L (OIML R 22) a gallon gives 386 g, 211 L.
        let gallon = 3.785411784;
        let l = litres_a_day(
            Gravity::known(1.100),
            Gravity::known(1.100),
            0.100,
            Litres::known(gallon),
        );
        let expected = gallon * 0.135 * 789.3 * 0.9565 * LITRES_PER_GRAM;
        assert!((l / expected - 1.0).abs() < 0.03, "{l} L, not {expected}");
    }

    #[test]
    fn a_point_of_gravity_is_half_a_volume_of_gas() {
        // 0.50 volumes for 0.001, within 0.05 (from Balling's balance).
        let l = litres_a_day(
            Gravity::known(1.090),
            Gravity::known(1.040),
            0.001,
            Litres::known(1.0),
        );
        let volumes = l / LITRES_PER_GRAM / 1.977;
        assert!((volumes - 0.5).abs() < 0.05, "{volumes}");
    }

    fn place(a_day: f64, room: Option<CubicMetres>) -> PlaceGas {
        PlaceGas {
            place: PlaceId(1),
            name: "closet".to_owned(),
            vessels: vec![],
            a_day,
            a_day_high: a_day,
            room,
        }
    }

    #[test]
    fn ten_litres_fill_a_closet_of_two_cubic_metres_to_the_limit() {
        // 10 L in 2,000 L are 5,000 ppm over what the air had: OSHA's
        // eight-hour limit.
        let air = place(10.0, Some(CubicMetres::known(2.0))).air();
        let gas = 10.0 / 24.0 * air.hours_to_limit;
        assert!((gas / 10.0 - 1.0).abs() < 0.1, "{gas} L");
    }

    #[test]
    fn the_sentence_says_limit_hours_and_what_to_do() {
        let said = place(24.0, Some(CubicMetres::known(2.0))).sentence();
        assert_eq!(
            said,
            "closet: about 24 L of CO2 a day, at most 24 L. In 2.0 m³ with the door shut that stays near 2,900 ppm, below the limit of 5,000 ppm for eight hours."
        );
        let said = place(96.0, None).sentence();
        assert_eq!(
            said,
            "closet: about 96 L of CO2 a day, at most 96 L. A closet of 2 m³ (say how large yours is) with the door shut passes 5,000 ppm after 2 hours and settles near 10,000 ppm: leave the door ajar, and air it before you kneel or bend inside."
        );
        assert_eq!(place(400.0, None).state(), AirState::Danger);
        assert_eq!(place(0.1, None).state(), AirState::Calm);
    }

    #[test]
    fn the_coming_day_falls_as_its_curve_does() {
        let start = Moment::from_stored(1_760_000_000_000, 0).unwrap();
        // 0.010, 0.008, 0.006, 0.004 in the days from the first on; the band is twice that.
        let middle = [1.060, 1.050, 1.042, 1.036, 1.032];
        let curve: Vec<CurvePoint> = middle
            .iter()
            .zip(0..)
            .map(|(g, day)| CurvePoint {
                at: start.plus_days(f64::from(day)),
                gravity: Spread {
                    p10: Gravity::known(1.060 - 2.0 * (1.060 - g)),
                    p50: Gravity::known(*g),
                    p90: Gravity::known(*g),
                },
            })
            .collect();
        for (day, fall) in [(0.0, 0.010), (1.0, 0.008), (2.2, 0.006), (2.8, 0.004)] {
            let told = from_curve(&curve, start.plus_days(day)).unwrap();
            assert!((told.p50 - fall).abs() < 1e-9, "on day {day}: {told:?}");
            assert!((told.p90 - 2.0 * fall).abs() < 1e-9);
        }
        assert!(from_curve(&curve, start.plus_days(9.0)).is_none());
    }
}
