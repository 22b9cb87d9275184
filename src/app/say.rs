//! Wording of dates, ages and quantities: one way for every screen and report.
//!
//! Pure. Numbers of one kind always have the same number of decimals, so that
//! they align on the point; the unit is always said.

use crate::domain::records::UnitSystem;
use crate::domain::units::{GaugeBar, Grams, Litres, ML_PER_US_FL_OZ, Moment, Volumes};
pub use crate::domain::wording::{
    abv, gravity, gravity_amount, gravity_change, gravity_number, share, temperature,
};
use chrono::{Datelike, NaiveDate};

/// Pounds per square inch in one bar: 100 000 Pa over 6894.757 Pa
/// (NIST Special Publication 811, Appendix B).
const PSI_PER_BAR: f64 = 14.503774;

/// A day as a person says it: `today, Wed`, `in 3 days, Sat`,
/// `2 days ago, Mon`, and farther away by its date: `in 24 days, 19 Dec`.
pub fn day(date: NaiveDate, today: NaiveDate) -> String {
    let ahead = (date - today).num_days();
    let name = date.format("%a");
    match ahead {
        0 => format!("today, {name}"),
        1 => format!("tomorrow, {name}"),
        -1 => format!("yesterday, {name}"),
        2..=6 => format!("in {ahead} days, {name}"),
        -6..=-2 => format!("{} days ago, {name}", -ahead),
        7.. => format!("in {ahead} days, {}", date_of(date, today)),
        _ => format!("{} days ago, {}", -ahead, date_of(date, today)),
    }
}

/// The same in few columns: `today`, `tomorrow`, `Sat`, `19 Dec`.
pub fn day_short(date: NaiveDate, today: NaiveDate) -> String {
    match (date - today).num_days() {
        0 => "today".into(),
        1 => "tomorrow".into(),
        -1 => "yesterday".into(),
        2..=6 => date.format("%a").to_string(),
        _ => date_of(date, today),
    }
}

/// Says that the clock is behind the last entry.
pub fn clock_behind(last: Moment, now: Moment) -> String {
    let full = |at: Moment| at.day().format("%-d %b %Y").to_string();
    format!(
        "The clock says {}, but the last entry is of {}: check the clock.",
        full(now),
        full(last)
    )
}

/// A date without its distance: `19 Dec`, with the year when it is another one.
pub fn date_of(date: NaiveDate, today: NaiveDate) -> String {
    if date.year() == today.year() {
        date.format("%-d %b").to_string()
    } else {
        date.format("%-d %b %Y").to_string()
    }
}

/// Two dates as a span: `4 to 10 Dec`, `28 Nov to 3 Dec`.
pub fn dates(first: NaiveDate, last: NaiveDate, today: NaiveDate) -> String {
    let end = date_of(last, today);
    if first == last {
        end
    } else if (first.year(), first.month()) == (last.year(), last.month()) {
        format!("{} to {end}", first.day())
    } else {
        format!("{} to {end}", date_of(first, today))
    }
}

/// How late something is: `2 days late`; empty when it is not.
pub fn lateness(due: NaiveDate, today: NaiveDate) -> String {
    let late = (today - due).num_days();
    if late <= 0 {
        String::new()
    } else {
        format!("{} late", count(late, "day", "days"))
    }
}

/// When something was: `today 07:15`, `yesterday 19:30`, `Mon 07:10`, `3 Nov 07:10`.
/// In the local time at which it was entered.
pub fn when(at: Moment, now: Moment) -> String {
    let time = at.datetime().format("%H:%M");
    match (now.day() - at.day()).num_days() {
        0 => format!("today {time}"),
        1 => format!("yesterday {time}"),
        2..=6 => format!("{} {time}", at.day().format("%a")),
        _ => format!("{} {time}", date_of(at.day(), now.day())),
    }
}

/// An age in few columns: `now`, `25 min`, `5 h`, `12 d`, `4 mo`, `2 y`.
pub fn age(since: Moment, now: Moment) -> String {
    let days = now.days_since(since);
    let minutes = days * 1440.0;
    if minutes < 1.5 {
        "now".into()
    } else if minutes < 59.5 {
        format!("{minutes:.0} min")
    } else if minutes < 23.5 * 60.0 {
        format!("{:.0} h", minutes / 60.0)
    } else if days < 99.5 {
        format!("{:.0} d", days.max(1.0))
    } else if days < 730.0 {
        // A month is a twelfth of a year of 365.25 days.
        format!("{:.0} mo", days / 30.4375)
    } else {
        format!("{:.0} y", days / 365.25)
    }
}

/// How long ago: `now`, `5 min ago`, `2 d ago`.
pub fn ago(since: Moment, now: Moment) -> String {
    match age(since, now).as_str() {
        "now" => "now".into(),
        age => format!("{age} ago"),
    }
}

/// A length of time: `36 hours`, `4 days`, `2.5 days`.
pub fn span(days: f64) -> String {
    if days.abs() < 2.0 {
        count((days * 24.0).round() as i64, "hour", "hours")
    } else if days.abs() < 10.0 && (days - days.round()).abs() > 0.2 {
        format!("{days:.1} days")
    } else {
        count(days.round() as i64, "day", "days")
    }
}

/// Day of a batch: `day 12`.
pub fn batch_day(day: i64) -> String {
    format!("day {day}")
}

/// A number with the noun that fits: `1 day`, `3 days`.
pub fn count(n: i64, one: &str, many: &str) -> String {
    format!("{n} {}", if n.abs() == 1 { one } else { many })
}

/// The same for a number of things in a list.
pub fn count_of(n: usize, one: &str, many: &str) -> String {
    count(i64::try_from(n).unwrap_or(i64::MAX), one, many)
}

/// Minutes and seconds of a countdown: `2:00`.
pub fn countdown(seconds: u32) -> String {
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

/// Several things in a row: `a`, `a and b`, `a, b and c`.
pub fn list<S: AsRef<str>>(items: &[S]) -> String {
    match items {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [head @ .., last] => {
            let head: Vec<&str> = head.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", head.join(", "), last.as_ref())
        }
    }
}

/// A volume: `1.00 gal`, `12 fl oz`, `3.79 L`, `355 mL`.
pub fn volume(v: Litres, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us if v.us_gallons() >= 0.25 => format!("{:.2} gal", v.us_gallons()),
        UnitSystem::Us => {
            let ounces = ounces(v);
            let decimals = usize::from(ounces < 10.0);
            format!("{ounces:.decimals$} fl oz")
        }
        UnitSystem::Metric if v.get() >= 1.0 => format!("{:.2} L", v.get()),
        UnitSystem::Metric => format!("{:.0} mL", v.get() * 1000.0),
    }
}

/// A mass: `2.50 lb`, `5.3 oz`, `1.134 kg`, `150 g`. Below 30 g grams in both
/// systems: nutrient and salts are weighed on a small scale in grams.
pub fn mass(m: Grams, units: UnitSystem) -> String {
    let g = m.get();
    if g < 10.0 {
        return format!("{g:.2} g");
    }
    if g < 30.0 {
        return format!("{g:.1} g");
    }
    match units {
        UnitSystem::Us if m.pounds() >= 1.0 => format!("{:.2} lb", m.pounds()),
        UnitSystem::Us => format!("{:.1} oz", m.pounds() * 16.0),
        UnitSystem::Metric if g >= 1000.0 => format!("{:.3} kg", g / 1000.0),
        UnitSystem::Metric => format!("{g:.0} g"),
    }
}

/// A mass to be weighed: always grams, with ounces beside them where the maker
/// thinks in them: `44.2 g (1.56 oz)`.
pub fn weighed(m: Grams, units: UnitSystem) -> String {
    let g = m.get();
    let grams = match g {
        g if g < 10.0 => format!("{g:.2} g"),
        g if g < 100.0 => format!("{g:.1} g"),
        g => format!("{g:.0} g"),
    };
    match units {
        UnitSystem::Us if g >= 30.0 => format!("{grams} ({:.2} oz)", m.pounds() * 16.0),
        _ => grams,
    }
}

/// A pressure above that of the air: `30 psi`, `2.1 bar`.
pub fn pressure(p: GaugeBar, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => format!("{:.0} psi", p.get() * PSI_PER_BAR),
        UnitSystem::Metric => format!("{:.1} bar", p.get()),
    }
}

/// US fluid ounces in a volume.
pub fn ounces(v: Litres) -> f64 {
    v.get() * 1000.0 / ML_PER_US_FL_OZ
}

/// Dissolved gas: `2.4 volumes`.
pub fn gas(v: Volumes) -> String {
    format!("{:.1} volumes", v.get())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::records::GravityScale;
    use crate::domain::units::{Abv, Celsius, Gravity, GravityDelta, Share};

    fn date(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn moment(text: &str) -> Moment {
        Moment::new(chrono::DateTime::parse_from_rfc3339(text).unwrap())
    }

    #[test]
    fn days_are_said_as_a_person_says_them() {
        let today = date("2026-11-25"); // a Wednesday
        let of = |d: &str| day(date(d), today);
        assert_eq!(of("2026-11-25"), "today, Wed");
        assert_eq!(of("2026-11-26"), "tomorrow, Thu");
        assert_eq!(of("2026-11-28"), "in 3 days, Sat");
        assert_eq!(of("2026-12-19"), "in 24 days, 19 Dec");
        assert_eq!(of("2027-01-02"), "in 38 days, 2 Jan 2027");
        assert_eq!(of("2026-11-24"), "yesterday, Tue");
        assert_eq!(of("2026-11-22"), "3 days ago, Sun");
        assert_eq!(of("2026-11-01"), "24 days ago, 1 Nov");
        assert_eq!(day_short(date("2026-11-28"), today), "Sat");
        assert_eq!(day_short(date("2026-12-19"), today), "19 Dec");
        let span = |a: &str, b: &str| dates(date(a), date(b), today);
        assert_eq!(span("2026-12-04", "2026-12-10"), "4 to 10 Dec");
        assert_eq!(span("2026-11-28", "2026-12-03"), "28 Nov to 3 Dec");
        assert_eq!(span("2026-11-28", "2026-11-28"), "28 Nov");
        assert_eq!(lateness(date("2026-11-24"), today), "1 day late");
        assert_eq!(lateness(date("2026-11-25"), today), "");
    }

    #[test]
    fn the_local_day_of_entry_counts() {
        let now = moment("2026-11-25T07:15:00-08:00");
        assert_eq!(
            when(moment("2026-11-24T23:50:00-08:00"), now),
            "yesterday 23:50"
        );
        assert_eq!(
            when(moment("2026-11-25T06:00:00-08:00"), now),
            "today 06:00"
        );
        assert_eq!(when(moment("2026-11-22T06:00:00-08:00"), now), "Sun 06:00");
        assert_eq!(
            when(moment("2025-11-22T06:00:00-08:00"), now),
            "22 Nov 2025 06:00"
        );
    }

    #[test]
    fn ages_are_short() {
        let now = moment("2026-11-25T07:15:00Z");
        let of = |days: f64| age(now.plus_days(-days), now);
        assert_eq!(of(0.0), "now");
        assert_eq!(of(-3.0), "now");
        assert_eq!(of(0.02), "29 min");
        assert_eq!(of(0.5), "12 h");
        assert_eq!(of(0.99), "1 d");
        assert_eq!(of(12.2), "12 d");
        assert_eq!(of(200.0), "7 mo");
        assert_eq!(of(800.0), "2 y");
        assert_eq!(span(1.5), "36 hours");
        assert_eq!(span(2.5), "2.5 days");
        assert_eq!(span(11.0), "11 days");
    }

    #[test]
    fn quantities_carry_their_units_in_both_systems() {
        use UnitSystem::{Metric, Us};
        let g = Gravity::known(1.040);
        assert_eq!(gravity(g, GravityScale::Sg), "1.040 SG");
        // 10 % sucrose is SG 1.0400 (CRC Handbook: 1038.1 / 998.2).
        assert_eq!(gravity(g, GravityScale::Plato), "10.0 °P");
        assert_eq!(
            gravity_number(Gravity::known(1.0), GravityScale::Plato),
            "0.0"
        );
        assert_eq!(
            gravity_change(GravityDelta::known(-0.012), g, GravityScale::Sg),
            "-0.012"
        );
        assert_eq!(
            gravity_change(GravityDelta::known(-0.0001), g, GravityScale::Sg),
            "+0.000"
        );
        assert_eq!(temperature(Celsius::known(20.0), Us), "68 °F");
        assert_eq!(temperature(Celsius::known(20.0), Metric), "20.0 °C");
        assert_eq!(temperature(Celsius::known(-0.01), Metric), "0.0 °C");
        assert_eq!(volume(Litres::known(3.785411784), Us), "1.00 gal");
        assert_eq!(volume(Litres::known(0.355), Us), "12 fl oz");
        assert_eq!(volume(Litres::known(0.355), Metric), "355 mL");
        assert_eq!(mass(Grams::known(1133.980925), Us), "2.50 lb");
        assert_eq!(mass(Grams::known(2.5), Us), "2.50 g");
        assert_eq!(mass(Grams::known(150.0), Us), "5.3 oz");
        assert_eq!(mass(Grams::known(1134.0), Metric), "1.134 kg");
        assert_eq!(abv(Abv::known(12.34)), "12.3 %");
        assert_eq!(pressure(GaugeBar::known(2.0), Us), "29 psi");
        assert_eq!(gas(Volumes::known(2.4)), "2.4 volumes");
    }

    #[test]
    fn a_share_is_whole_only_when_it_is() {
        assert_eq!(share(Share::known(0.64)), "64 %");
        assert_eq!(share(Share::known(0.998)), ">99 %");
        assert_eq!(share(Share::known(1.0)), "100 %");
        assert_eq!(share(Share::known(0.002)), "<1 %");
        assert_eq!(share(Share::known(0.0)), "0 %");
    }

    #[test]
    fn lists_read_as_english() {
        assert_eq!(list::<&str>(&[]), "");
        assert_eq!(list(&["J1"]), "J1");
        assert_eq!(list(&["J1", "J2"]), "J1 and J2");
        assert_eq!(list(&["J1", "J2", "C1"]), "J1, J2 and C1");
        assert_eq!(count(1, "day", "days"), "1 day");
        assert_eq!(countdown(120), "2:00");
    }
}
