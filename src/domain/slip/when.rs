//! Words for a time: `yesterday 19:30`, `-2d`, `08-14`, `monday`, an ISO
//! instant. A day alone means the same time of day as now; a time alone means
//! the latest such time that is not ahead.

use super::error::{Problem, SlipError};
use super::{SlipContext, When};
use crate::domain::units::{Local, Moment, Zone};
use chrono::{
    DateTime, Datelike, Days, FixedOffset, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Weekday,
};

/// A clock a few minutes ahead is a wristwatch, not yesterday.
const AHEAD_GRACE: TimeDelta = TimeDelta::minutes(15);

/// One word for a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Word {
    /// A day.
    Day(Day),
    /// A time of day.
    Clock(NaiveTime),
    /// A span back from now; negative lies ahead.
    Back(TimeDelta),
    /// A local date and time.
    At(NaiveDateTime),
    /// An instant that names its offset.
    Instant(DateTime<FixedOffset>),
}

/// A word for a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Day {
    /// Days back from today; negative lies ahead.
    Back(i64),
    /// A day of the week.
    Week(Weekday),
    /// A day without a year.
    Year(u32, u32),
    /// A date.
    Date(NaiveDate),
}

/// Reads one piece; `None` when it is no word for a time at all.
pub(super) fn word(piece: &str) -> Option<Result<Word, Problem>> {
    let piece = &plain_minus(piece);
    let lower = piece.to_lowercase();
    let lower = lower.as_str();
    match lower {
        "now" => return Some(Ok(Word::Back(TimeDelta::zero()))),
        "today" => return Some(Ok(Word::Day(Day::Back(0)))),
        "yesterday" => return Some(Ok(Word::Day(Day::Back(1)))),
        "tomorrow" => return Some(Ok(Word::Day(Day::Back(-1)))),
        _ => {}
    }
    if let Some(day) = weekday(lower) {
        return Some(Ok(Word::Day(Day::Week(day))));
    }
    span(lower)
        .or_else(|| clock(lower))
        .or_else(|| date(piece))
        .or_else(|| foreign_date(lower))
}

/// The typographic minus sign counts as a hyphen.
pub(super) fn plain_minus(piece: &str) -> String {
    piece.replace('\u{2212}', "-")
}

fn weekday(lower: &str) -> Option<Weekday> {
    const NAMES: [(&str, Weekday); 7] = [
        ("monday", Weekday::Mon),
        ("tuesday", Weekday::Tue),
        ("wednesday", Weekday::Wed),
        ("thursday", Weekday::Thu),
        ("friday", Weekday::Fri),
        ("saturday", Weekday::Sat),
        ("sunday", Weekday::Sun),
    ];
    let long_enough = lower.len() >= 3;
    NAMES
        .iter()
        .find(|(name, _)| long_enough && name.starts_with(lower))
        .map(|(_, day)| *day)
}

/// `-2d`, `-1w`, `-3h`, `-20min`, and with a plus for what lies ahead.
fn span(lower: &str) -> Option<Result<Word, Problem>> {
    let (ahead, rest) = match lower.strip_prefix('-') {
        Some(rest) => (false, rest),
        None => (true, lower.strip_prefix('+')?),
    };
    let unit = rest.trim_start_matches(|c: char| c.is_ascii_digit());
    let digits = rest.strip_suffix(unit)?;
    if digits.is_empty() || !matches!(unit, "d" | "w" | "h" | "min") {
        return None;
    }
    // A thousand years of days, weeks or hours is more than any maker has.
    let Some(count) = digits.parse::<i64>().ok().filter(|n| *n <= 365_000) else {
        return Some(Err(Problem::NoSuchTime));
    };
    let count = if ahead { -count } else { count };
    Some(Ok(match unit {
        "d" => Word::Day(Day::Back(count)),
        "w" => Word::Day(Day::Back(count * 7)),
        "h" => Word::Back(TimeDelta::hours(count)),
        _ => Word::Back(TimeDelta::minutes(count)),
    }))
}

/// `19:30`, `7:30pm`, `7pm`.
fn clock(lower: &str) -> Option<Result<Word, Problem>> {
    let half = [("am", 0), ("pm", 12)]
        .into_iter()
        .find_map(|(mark, add)| lower.strip_suffix(mark).map(|rest| (rest, add)));
    let body = half.map_or(lower, |(rest, _)| rest);
    let (hour, minute) = match body.split_once(':') {
        Some(parts) => parts,
        None if half.is_some() => (body, "00"),
        None => return None,
    };
    let digits = |s: &str| (1..=2).contains(&s.len()) && s.chars().all(|c| c.is_ascii_digit());
    if !digits(hour) || !digits(minute) || minute.len() != 2 {
        let like_a_clock = body.chars().all(|c| c.is_ascii_digit() || c == ':');
        return (like_a_clock && body.contains(':')).then_some(Err(Problem::NoSuchTime));
    }
    let time = hour
        .parse::<u32>()
        .ok()
        .zip(minute.parse::<u32>().ok())
        .and_then(|(h, m)| match half {
            Some((_, add)) if (1..=12).contains(&h) => NaiveTime::from_hms_opt(h % 12 + add, m, 0),
            Some(_) => None,
            None => NaiveTime::from_hms_opt(h, m, 0),
        });
    Some(time.map(Word::Clock).ok_or(Problem::NoSuchTime))
}

/// `08-14`, `2026-08-14`, `2026-08-14T07:30`, with seconds and offset if given.
fn date(piece: &str) -> Option<Result<Word, Problem>> {
    if let Ok(at) = DateTime::parse_from_rfc3339(&piece.to_uppercase()) {
        return Some(Ok(Word::Instant(at)));
    }
    for form in ["%Y-%m-%dT%H:%M:%S%.f", "%Y-%m-%dT%H:%M"] {
        if let Ok(at) = NaiveDateTime::parse_from_str(&piece.to_uppercase(), form) {
            return Some(Ok(Word::At(at)));
        }
    }
    if let Some(offset) = minute_with_offset(&piece.to_uppercase()) {
        return Some(Ok(Word::Instant(offset)));
    }
    let shape: Vec<usize> = piece
        .split('-')
        .map(|part| {
            if part.chars().all(|c| c.is_ascii_digit()) {
                part.len()
            } else {
                0
            }
        })
        .collect();
    match shape.as_slice() {
        [4, 1..=2, 1..=2] => {
            let date = NaiveDate::parse_from_str(piece, "%Y-%m-%d");
            Some(
                date.map(|d| Word::Day(Day::Date(d)))
                    .map_err(|_| Problem::NoSuchTime),
            )
        }
        [1..=2, 1..=2] => Some(month_day(piece)),
        _ if starts_like_iso(piece) => Some(Err(Problem::NoSuchTime)),
        _ => None,
    }
}

/// An instant without seconds, such as `2026-08-14T07:30-08:00`.
fn minute_with_offset(upper: &str) -> Option<DateTime<FixedOffset>> {
    let upper = upper.replace('Z', "+00:00");
    DateTime::parse_from_str(&upper, "%Y-%m-%dT%H:%M%:z").ok()
}

fn starts_like_iso(piece: &str) -> bool {
    let head: Vec<char> = piece.chars().take(5).collect();
    matches!(head.as_slice(), [a, b, c, d, '-']
        if [a, b, c, d].iter().all(|x| x.is_ascii_digit()))
}

fn month_day(piece: &str) -> Result<Word, Problem> {
    piece
        .split_once('-')
        .and_then(|(m, d)| Some((m.parse().ok()?, d.parse().ok()?)))
        // A leap year, so that the 29th of February passes.
        .filter(|&(m, d)| NaiveDate::from_ymd_opt(2024, m, d).is_some())
        .map(|(m, d)| Word::Day(Day::Year(m, d)))
        .ok_or(Problem::NoSuchTime)
}

/// `8/14`, `14.8.`, `14.08.2026`: refused, with the style that is accepted.
fn foreign_date(lower: &str) -> Option<Result<Word, Problem>> {
    let digits_and = |mark: char| {
        lower.chars().all(|c| c.is_ascii_digit() || c == mark)
            && lower.starts_with(|c: char| c.is_ascii_digit())
    };
    let slashes = lower.matches('/').count();
    let dots = lower.matches('.').count();
    let looks = ((1..=2).contains(&slashes) && digits_and('/')) || (dots == 2 && digits_and('.'));
    looks.then_some(Err(Problem::DateStyle))
}

/// Words for a time, collected while a slip is read.
#[derive(Debug, Clone, Default)]
pub(super) struct Collected {
    day: Option<Day>,
    clock: Option<NaiveTime>,
    whole: Option<Word>,
    /// Piece and start of the first, for errors about the whole.
    first: Option<(String, usize)>,
}

impl Collected {
    /// Takes one more word.
    pub(super) fn add(&mut self, word: Word, piece: &str, start: usize) -> Result<(), Problem> {
        if self.whole.is_some() {
            return Err(Problem::TwoTimes);
        }
        match word {
            Word::Day(day) if self.day.is_none() => self.day = Some(day),
            Word::Clock(time) if self.clock.is_none() => self.clock = Some(time),
            Word::Back(_) | Word::At(_) | Word::Instant(_)
                if self.day.is_none() && self.clock.is_none() =>
            {
                self.whole = Some(word);
            }
            _ => return Err(Problem::TwoTimes),
        }
        match &mut self.first {
            Some((said, _)) => {
                said.push(' ');
                said.push_str(piece);
            }
            None => self.first = Some((piece.to_owned(), start)),
        }
        Ok(())
    }

    /// The instant meant.
    pub(super) fn resolve(self, now: Moment, zone: Zone) -> Result<(Moment, When), SlipError> {
        let Some((piece, start)) = self.first.clone() else {
            return Ok((now, When::Now));
        };
        self.instant(now, zone)
            .map_err(|problem| SlipError::new(&piece, start, problem))
    }

    fn instant(&self, now: Moment, zone: Zone) -> Result<(Moment, When), Problem> {
        let here = zone.localise(now);
        match self.whole {
            Some(Word::Instant(at)) => return Ok((Moment::new(at), When::Said)),
            Some(Word::At(local)) => return strict(zone.resolve(local)),
            Some(Word::Back(back)) => {
                let at = now.datetime().checked_sub_signed(back);
                let at = at.ok_or(Problem::NoSuchTime)?;
                return if back < TimeDelta::zero() {
                    Err(Problem::Ahead)
                } else {
                    Ok((zone.localise(Moment::new(at)), When::Said))
                };
            }
            _ => {}
        }
        if self.day == Some(Day::Back(0)) && self.clock.is_none() {
            return Ok((now, When::Said));
        }
        let time = self.clock.unwrap_or_else(|| here.datetime().time());
        let day = latest(self.day, time, here.datetime().naive_local())?;
        let local = zone.resolve(day.and_time(time));
        if self.clock.is_some() {
            strict(local)
        } else {
            // Only the day was said: a skipped or doubled hour does not matter.
            Ok((local.first(), When::Said))
        }
    }
}

/// A time that was typed: a skipped one is refused, a doubled one is told.
fn strict(local: Local) -> Result<(Moment, When), Problem> {
    match local {
        Local::Once(at) => Ok((at, When::Said)),
        Local::Twice(first, _) => Ok((first, When::SaidTwice)),
        Local::Never(_) => Err(Problem::Skipped),
    }
}

/// The latest day that fits the word and puts `time` not ahead of `now`.
fn latest(day: Option<Day>, time: NaiveTime, now: NaiveDateTime) -> Result<NaiveDate, Problem> {
    let today = now.date();
    let limit = now + AHEAD_GRACE;
    let passed = |d: &NaiveDate| d.and_time(time) <= limit;
    let found = match day {
        None => [Some(today), today.pred_opt()]
            .into_iter()
            .flatten()
            .find(passed),
        Some(Day::Back(days)) if days < 0 => return Err(Problem::Ahead),
        Some(Day::Back(days)) => today.checked_sub_days(Days::new(days.unsigned_abs())),
        Some(Day::Week(week)) => (0..=7)
            .filter_map(|back| today.checked_sub_days(Days::new(back)))
            .filter(|d| d.weekday() == week)
            .find(passed),
        // Eight years always hold a 29th of February.
        Some(Day::Year(m, d)) => (0..=8)
            .filter_map(|back| NaiveDate::from_ymd_opt(today.year() - back, m, d))
            .find(passed),
        Some(Day::Date(date)) => Some(date),
    };
    found.ok_or(Problem::NoSuchTime)
}

/// An instant given in words alone, as for `--at`; the same words as in a slip.
pub fn parse_when(text: &str, now: Moment, context: &SlipContext) -> Result<Moment, SlipError> {
    let mut collected = Collected::default();
    for (start, piece) in super::parse::pieces(text) {
        let problem = |problem| SlipError::new(piece, start, problem);
        let word = word(piece).unwrap_or(Err(Problem::NoSuchTime));
        collected
            .add(word.map_err(problem)?, piece, start)
            .map_err(problem)?;
    }
    Ok(collected.resolve(now, context.zone)?.0)
}

/// A day that may lie ahead, as for moving a step: `+2d`, `friday`, `12-24`.
/// A weekday or a day without a year is the next one from tomorrow on.
pub fn parse_day(text: &str, today: NaiveDate) -> Result<NaiveDate, SlipError> {
    let piece = text.trim();
    let fail = |problem| SlipError::new(piece, 0, problem);
    let word = word(piece)
        .unwrap_or(Err(Problem::NoSuchTime))
        .map_err(fail)?;
    let Word::Day(day) = word else {
        return Err(fail(Problem::NoSuchTime));
    };
    let found = match day {
        Day::Back(days) => TimeDelta::try_days(-days).and_then(|d| today.checked_add_signed(d)),
        Day::Week(week) => (1..=7)
            .filter_map(|ahead| today.checked_add_days(Days::new(ahead)))
            .find(|d| d.weekday() == week),
        Day::Year(m, d) => (0..=8)
            .filter_map(|ahead| NaiveDate::from_ymd_opt(today.year() + ahead, m, d))
            .find(|d| *d > today),
        Day::Date(date) => Some(date),
    };
    found.ok_or_else(|| fail(Problem::NoSuchTime))
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::{MappedLocalTime, TimeZone};

    fn moment(text: &str) -> Moment {
        Moment::new(DateTime::parse_from_rfc3339(text).unwrap())
    }

    /// US Pacific in 2026: forward on 8 March, back on 1 November, both at 02:00
    /// (Energy Policy Act of 2005, section 110: second Sunday of March, first of November).
    fn pacific() -> SlipContext {
        fn hours(h: i32) -> FixedOffset {
            FixedOffset::west_opt(h * 3600).unwrap()
        }
        fn of_utc(utc: NaiveDateTime) -> FixedOffset {
            let at = |m, d, h| {
                NaiveDate::from_ymd_opt(2026, m, d)
                    .unwrap()
                    .and_hms_opt(h, 0, 0)
                    .unwrap()
            };
            hours(if utc >= at(3, 8, 10) && utc < at(11, 1, 9) {
                7
            } else {
                8
            })
        }
        fn of_local(local: NaiveDateTime) -> MappedLocalTime<FixedOffset> {
            let fits: Vec<FixedOffset> = [hours(7), hours(8)]
                .into_iter()
                .filter(|o| of_utc(o.from_local_datetime(&local).unwrap().naive_utc()) == *o)
                .collect();
            match fits.as_slice() {
                [one] => MappedLocalTime::Single(*one),
                [a, b] => MappedLocalTime::Ambiguous(*a, *b),
                _ => MappedLocalTime::None,
            }
        }
        SlipContext {
            zone: Zone::Rules { of_local, of_utc },
            place: None,
        }
    }

    fn said(text: &str, now: &str) -> String {
        match parse_when(text, moment(now), &pacific()) {
            Ok(at) => at.datetime().to_rfc3339(),
            Err(why) => why.to_string(),
        }
    }

    #[test]
    fn words_for_a_time_mean_the_latest_such_time() {
        // A Wednesday morning.
        let now = "2026-11-25T07:30:00-08:00";
        for (text, expected) in [
            ("now", "2026-11-25T07:30:00-08:00"),
            ("today", "2026-11-25T07:30:00-08:00"),
            ("yesterday 19:30", "2026-11-24T19:30:00-08:00"),
            ("19:30 yesterday", "2026-11-24T19:30:00-08:00"),
            ("yesterday", "2026-11-24T07:30:00-08:00"),
            ("-2d", "2026-11-23T07:30:00-08:00"),
            ("-1w 7pm", "2026-11-18T19:00:00-08:00"),
            ("-3h", "2026-11-25T04:30:00-08:00"),
            ("-45min", "2026-11-25T06:45:00-08:00"),
            ("6:15", "2026-11-25T06:15:00-08:00"),
            ("7:40", "2026-11-25T07:40:00-08:00"),
            ("19:30", "2026-11-24T19:30:00-08:00"),
            ("12am", "2026-11-25T00:00:00-08:00"),
            ("12pm", "2026-11-24T12:00:00-08:00"),
            ("wed", "2026-11-25T07:30:00-08:00"),
            ("wed 19:30", "2026-11-18T19:30:00-08:00"),
            ("Monday 8:00", "2026-11-23T08:00:00-08:00"),
            ("08-14 12:00", "2026-08-14T12:00:00-07:00"),
            ("12-24 12:00", "2025-12-24T12:00:00-08:00"),
            ("02-29 12:00", "2024-02-29T12:00:00-08:00"),
            ("2026-08-14T07:30", "2026-08-14T07:30:00-07:00"),
            ("2026-08-14 07:30", "2026-08-14T07:30:00-07:00"),
            ("2026-08-14T07:30:30+02:00", "2026-08-14T07:30:30+02:00"),
            ("2026-08-14t07:30z", "2026-08-14T07:30:00+00:00"),
        ] {
            assert_eq!(said(text, now), expected, "{text}");
        }
    }

    #[test]
    fn a_time_of_day_stays_across_a_clock_change() {
        // Two days back over the spring change, by the clock and not by 48 hours.
        assert_eq!(
            said("-2d", "2026-03-09T07:30:00-07:00"),
            "2026-03-07T07:30:00-08:00"
        );
        assert_eq!(
            said("-24h", "2026-03-08T07:30:00-07:00"),
            "2026-03-07T06:30:00-08:00"
        );
    }

    #[test]
    fn a_skipped_hour_is_refused_and_a_doubled_one_is_told() {
        let now = moment("2026-03-09T07:30:00-07:00");
        let why = parse_when("2026-03-08 02:30", now, &pacific()).unwrap_err();
        assert_eq!(why.problem, Problem::Skipped);
        assert_eq!(
            why.to_string(),
            "'2026-03-08 02:30' did not happen: the clocks were put forward over it; \
             give a time before or after"
        );
        // A day alone never fails for it.
        assert_eq!(
            said("yesterday", "2026-03-09T02:30:00-07:00"),
            "2026-03-08T03:30:00-07:00"
        );
        let mut collected = Collected::default();
        for piece in ["2026-11-01", "01:30"] {
            let word = word(piece).unwrap().unwrap();
            collected.add(word, piece, 0).unwrap();
        }
        let later = moment("2026-11-02T07:00:00-08:00");
        let (at, when) = collected.resolve(later, pacific().zone).unwrap();
        assert_eq!(at.datetime().to_rfc3339(), "2026-11-01T01:30:00-07:00");
        assert_eq!(when, When::SaidTwice);
    }

    #[test]
    fn what_is_no_time_is_told_with_what_is() {
        let now = "2026-11-25T07:30:00-08:00";
        assert_eq!(
            said("8/14", now),
            "'8/14' may be a date, but is read differently in different countries; accepted: \
             08-14 (month-day), 2026-08-14, 2026-08-14T07:30, monday, yesterday, -2d, -3h, \
             19:30, 7:30pm"
        );
        for text in [
            "14.08.2026",
            "25:00",
            "13pm",
            "02-30",
            "2026-02-30",
            "2026-1",
            "noonish",
        ] {
            assert!(said(text, now).starts_with(&format!("'{text}'")), "{text}");
        }
        assert!(said("tomorrow", now).contains("lies ahead"));
        assert!(said("19:30 20:30", now).contains("second time"));
        assert!(said("-3h 19:30", now).contains("second time"));
        assert!(said("-999999999999999999d", now).contains("no day or time"));
        assert!(said("-365000d", now).starts_with("1027-"));
    }

    #[test]
    fn a_day_to_move_to_lies_ahead() {
        let today = NaiveDate::from_ymd_opt(2026, 11, 25).unwrap();
        for (text, expected) in [
            ("tomorrow", "2026-11-26"),
            ("+3d", "2026-11-28"),
            ("+1w", "2026-12-02"),
            ("-1d", "2026-11-24"),
            ("friday", "2026-11-27"),
            ("wed", "2026-12-02"),
            ("12-24", "2026-12-24"),
            ("01-02", "2027-01-02"),
            ("2026-12-01", "2026-12-01"),
        ] {
            assert_eq!(
                parse_day(text, today).unwrap().to_string(),
                expected,
                "{text}"
            );
        }
        assert!(parse_day("19:30", today).is_err());
    }
}
