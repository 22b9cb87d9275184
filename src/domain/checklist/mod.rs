//! The day itself: what to do in order, with this batch's amounts.
//!
//! Lives here: the lines of the day as values, made from a plan; which of them
//! are ticked and which comes next; what a tick does to the rest. Must not
//! live here: the clock (a tick's time comes in), the store, drawing.

pub mod feeding;
mod shop;

pub use shop::{Want, Wanted, shopping};

use crate::domain::plan::{Filler, Outcome, PartKind, Plan};
use crate::domain::records::{EventKind, TempBand, Tick, UnitSystem};
use crate::domain::units::{
    GRAMS_PER_POUND, Grams, LITRES_PER_US_GALLON, Litres, ML_PER_US_FL_OZ, Moment,
};

/// Contact time of an acid no-rinse sanitiser, s (common practice).
pub const CONTACT: u32 = 60;
/// How long the must is shaken before the yeast goes in, s (common practice).
pub const SHAKE: u32 = 60;
/// Acid no-rinse sanitiser: half a US fluid ounce to two and a half gallons
/// (common practice, no source; the label rules).
const SANITISER_ML_PER_L: f64 = 0.5 * ML_PER_US_FL_OZ / (2.5 * LITRES_PER_US_GALLON);

/// What ticking a line does besides keeping its time.
#[derive(Debug, Clone, PartialEq)]
pub enum Doing {
    /// Nothing more.
    Tick,
    /// It went into the must: kept in the ledger, drawn from the pantry.
    Add {
        /// The ledger's word.
        kind: EventKind,
        /// What, as the pantry calls it.
        substance: String,
        /// How much of it the plan says, by mass.
        mass: Option<Grams>,
        /// How much of it the plan says, by volume.
        volume: Option<Litres>,
    },
    /// Yeast goes in: the start of day 1.
    Pitch,
    /// The original gravity is read: closes the list.
    ReadOriginal,
}

/// One line of the day.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Unique within the list and stable, so that a list can be resumed.
    pub key: String,
    /// What to do, with this batch's amounts.
    pub what: String,
    /// Why, or what to look out for; may be empty.
    pub why: String,
    /// A countdown in seconds.
    pub countdown: Option<u32>,
    /// What ticking it does.
    pub doing: Doing,
}

/// A line with what became of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The line.
    pub line: Line,
    /// When it was ticked.
    pub done: Option<Moment>,
    /// Mass really used, where that was said.
    pub mass: Option<Grams>,
    /// Volume really used, where that was said.
    pub volume: Option<Litres>,
}

/// The whole list as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Checklist {
    /// In order.
    pub entries: Vec<Entry>,
}

impl Checklist {
    /// The list of a plan with the ticks that were kept.
    pub fn new(lines: Vec<Line>, ticks: &[Tick]) -> Self {
        let entries = lines
            .into_iter()
            .map(|line| {
                let tick = ticks
                    .iter()
                    .rev()
                    .find(|t| t.line == line.key && t.at.is_some());
                Entry {
                    done: tick.and_then(|t| t.at),
                    mass: tick.and_then(|t| t.mass),
                    volume: tick.and_then(|t| t.volume),
                    line,
                }
            })
            .collect();
        Self { entries }
    }

    /// The first line that is not ticked.
    pub fn next(&self) -> Option<&Entry> {
        self.entries.iter().find(|e| e.done.is_none())
    }

    /// Lines ticked and lines in all.
    pub fn progress(&self) -> (usize, usize) {
        let done = self.entries.iter().filter(|e| e.done.is_some()).count();
        (done, self.entries.len())
    }

    /// Whether nothing is left.
    pub fn closed(&self) -> bool {
        self.next().is_none()
    }

    /// Why this line should wait, where it should: ticking it out of order
    /// would do harm. Only the yeast and the gravity before it have an order
    /// that matters.
    pub fn too_early(&self, key: &str) -> Option<&'static str> {
        let open = |key: &str| {
            self.entries
                .iter()
                .any(|e| e.line.key == key && e.done.is_none())
        };
        match key {
            "pitch" if open("original") => Some(
                "Take the original gravity first: once yeast is in, strength and a stall can't be worked out without it.",
            ),
            "pitch" if open("sanitise") => {
                Some("Sanitise first: whatever lives in the vessel grows as well as the yeast.")
            }
            _ => None,
        }
    }
}

/// A mass in the maker's units.
fn mass(grams: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us if grams >= 225.0 => {
            format!("{:.2} lb ({grams:.0} g)", grams / GRAMS_PER_POUND)
        }
        UnitSystem::Metric if grams >= 1000.0 => format!("{:.2} kg", grams / 1000.0),
        _ if grams >= 20.0 => format!("{grams:.0} g"),
        _ => format!("{grams:.1} g"),
    }
}

/// A band of temperature, the maker's own scale first.
fn band_in(band: TempBand, units: UnitSystem) -> String {
    let celsius = format!("{:.0} to {:.0} °C", band.low.get(), band.high.get());
    let (low, high) = (band.low.fahrenheit(), band.high.fahrenheit());
    let fahrenheit = format!("{low:.0} to {high:.0} °F");
    match units {
        UnitSystem::Us => format!("{fahrenheit} ({celsius})"),
        UnitSystem::Metric => format!("{celsius} ({fahrenheit})"),
    }
}

/// A volume in the maker's units.
fn volume(litres: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => format!("{:.2} gal ({litres:.2} L)", litres / LITRES_PER_US_GALLON),
        UnitSystem::Metric => format!("{litres:.2} L"),
    }
}

fn line(key: &str, what: String, why: &str) -> Line {
    Line {
        key: key.to_owned(),
        what,
        why: why.to_owned(),
        countdown: None,
        doing: Doing::Tick,
    }
}

/// The lines of the day for a plan, in order.
pub fn lines(plan: &Plan, outcome: &Outcome, units: UnitSystem) -> Vec<Line> {
    let mut all = before(plan, units);
    all.extend(must_lines(plan, outcome, units));
    all.extend(yeast_lines(plan, outcome, units));
    all
}

fn before(plan: &Plan, units: UnitSystem) -> Vec<Line> {
    let litres = plan
        .vessel
        .as_ref()
        .map_or(plan.volume, |v| v.capacity)
        .get()
        .min(10.0);
    let stock = litres * SANITISER_ML_PER_L;
    let dose = match units {
        UnitSystem::Us => format!("{:.2} fl oz ({stock:.1} mL)", stock / ML_PER_US_FL_OZ),
        UnitSystem::Metric => format!("{stock:.1} mL"),
    };
    let vessel = plan
        .vessel
        .as_ref()
        .map_or_else(|| "the vessel".to_owned(), |v| v.tag.clone());
    vec![
        line(
            "clean",
            format!("Clean {vessel}, bung, airlock and spoon"),
            "Soil defeats sanitiser. Never mix cleaners with bleach or acid; hot water cracks cold glass.",
        ),
        Line {
            countdown: Some(CONTACT),
            ..line(
                "sanitise",
                format!(
                    "Sanitise: {dose} of acid no-rinse sanitiser in {}",
                    volume(litres, units)
                ),
                "One minute wet, then drained, not rinsed. The label rules.",
            )
        },
    ]
}

fn must_lines(plan: &Plan, outcome: &Outcome, units: UnitSystem) -> Vec<Line> {
    let mut all = Vec::new();
    let half = outcome.water_volume.get() / 2.0;
    let watered = plan.filler == Filler::Water && half > 1e-3;
    let water = |key: &str, what: String, why: &str| Line {
        doing: Doing::Add {
            kind: EventKind::Water,
            substance: "water".to_owned(),
            mass: None,
            volume: Some(Litres::clamped(half)),
        },
        ..line(key, what, why)
    };
    if watered {
        all.push(water(
            "water-half",
            format!("Half the water first: {}", volume(half, units)),
            "Spring or good tap water, no chlorine; distilled lacks minerals.",
        ));
    }
    for (n, part) in plan.parts.iter().enumerate() {
        if part.mass.get() <= 0.0 {
            continue;
        }
        all.extend(part_lines(plan, n, units));
    }
    if watered {
        all.push(water(
            "water-mark",
            format!(
                "Fill to the mark: {}, in all about {} more",
                volume(outcome.volume.get() + plan.pulp(), units),
                volume(half, units)
            ),
            "Honey takes up room: the mark counts, not the water poured.",
        ));
    }
    if plan.parts.iter().any(|p| p.mass.get() > 0.0) {
        all.push(line(
            "mix",
            "Mix until nothing lies on the bottom".to_owned(),
            "A layer of honey reads as too little, and later as too much.",
        ));
    }
    all
}

fn part_lines(plan: &Plan, n: usize, units: UnitSystem) -> Vec<Line> {
    let part = &plan.parts[n];
    let grams = part.mass.get();
    let kind = match part.kind {
        PartKind::Fruit | PartKind::Juice => EventKind::Fruit,
        _ => EventKind::Sugar,
    };
    let add = |key: String, what: String, why: &str, grams: f64| Line {
        doing: Doing::Add {
            kind,
            substance: part.name.clone(),
            mass: Some(Grams::clamped(grams)),
            volume: None,
        },
        ..line(&key, what, why)
    };
    match part.kind {
        PartKind::Honey => (1..=3)
            .map(|third| {
                let which = ["first", "second", "last"][third - 1];
                add(
                    format!("part-{n}-{third}"),
                    format!(
                        "The {which} third of the {}: {}, and mix",
                        part.name,
                        mass(grams / 3.0, units)
                    ),
                    match third {
                        1 => "No boiling needed. Never give honey, raw or heated, to a child under 12 months.",
                        _ => "",
                    },
                    grams / 3.0,
                )
            })
            .collect(),
        PartKind::Fruit => vec![add(
            format!("part-{n}"),
            format!("{}: {}", part.name, mass(grams, units)),
            "Stones out; no raw elderberries, leaves, stems or unknown plants.",
            grams,
        )],
        PartKind::Juice => vec![add(
            format!("part-{n}"),
            format!("{}: {}", part.name, mass(grams, units)),
            "No sorbate or benzoate on the label: yeast would not grow.",
            grams,
        )],
        _ => vec![add(
            format!("part-{n}"),
            format!("{}: {}, stirred in", part.name, mass(grams, units)),
            "",
            grams,
        )],
    }
}

fn yeast_lines(plan: &Plan, outcome: &Outcome, units: UnitSystem) -> Vec<Line> {
    let mut all = vec![Line {
        doing: Doing::ReadOriginal,
        ..line(
            "original",
            format!(
                "Read the original gravity (about {:.3}) and the temperature",
                outcome.original.likely.get()
            ),
            "From a well-mixed sample, before the yeast. The hydrometer is right, the plan is not.",
        )
    }];
    for (n, portion) in outcome.fed.portions.iter().enumerate() {
        all.push(Line {
            doing: Doing::Add {
                kind: EventKind::Feed,
                substance: portion.food.name.clone(),
                mass: Some(portion.each),
                volume: None,
            },
            ..line(
                &format!("feed-{n}"),
                format!(
                    "First feed: {} of {}",
                    mass(portion.each.get(), units),
                    portion.food.name
                ),
                "",
            )
        });
    }
    all.extend([
        Line {
            countdown: Some(SHAKE),
            ..line(
                "shake",
                "Shake or stir hard for a full minute".to_owned(),
                "Air helps now and harms later. Two hands; a wet glass vessel slips.",
            )
        },
        Line {
            doing: Doing::Pitch,
            ..line(
                "pitch",
                format!(
                    "Pitch the {}, must at {}",
                    plan.yeast.title,
                    band_in(plan.yeast.band, units)
                ),
                "Heat above 40 °C kills it. This is day 1.",
            )
        },
        line(
            "airlock",
            "Airlock on, filled halfway".to_owned(),
            "Never a closed vessel while it ferments: it bursts.",
        ),
        line(
            "label",
            format!(
                "Label it: {}, today's date",
                if plan.name.trim().is_empty() {
                    "its name"
                } else {
                    plan.name.trim()
                }
            ),
            "Tape on the glass, for the day the screen is dark.",
        ),
        line(
            "dark",
            "To its dark place".to_owned(),
            "Gas collects in a closet: leave the door ajar, air it before you bend inside.",
        ),
    ]);
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::plan::{PlanVessel, outcome};
    use crate::domain::records::{BatchId, Style, TickId, VesselKind};
    use chrono::DateTime;

    fn plan() -> Plan {
        Plan::begin(
            Style::Mead,
            Some(PlanVessel {
                tag: "J1".to_owned(),
                kind: VesselKind::Jug,
                capacity: Litres::known(3.98),
            }),
        )
    }

    fn keys(lines: &[Line]) -> Vec<&str> {
        lines.iter().map(|l| l.key.as_str()).collect()
    }

    fn at(text: &str) -> Moment {
        Moment::new(DateTime::parse_from_rfc3339(text).unwrap())
    }

    fn tick(line: &str, at: Option<Moment>) -> Tick {
        Tick {
            id: TickId(1),
            batch: BatchId(1),
            line: line.to_owned(),
            at,
            mass: None,
            volume: None,
            note: String::new(),
        }
    }

    #[test]
    fn the_day_goes_in_the_trade_s_order() {
        let plan = plan();
        let lines = lines(&plan, &outcome(&plan), UnitSystem::Us);
        assert_eq!(
            keys(&lines),
            [
                "clean",
                "sanitise",
                "water-half",
                "part-0-1",
                "part-0-2",
                "part-0-3",
                "water-mark",
                "mix",
                "original",
                "feed-0",
                "feed-1",
                "shake",
                "pitch",
                "airlock",
                "label",
                "dark"
            ]
        );
    }

    #[test]
    fn sanitiser_is_half_an_ounce_to_two_and_a_half_gallons() {
        // Common practice, no source: 14.8 mL to 9.46 L is 1.56 mL/L.
        let plan = plan();
        let lines = lines(&plan, &outcome(&plan), UnitSystem::Metric);
        assert_eq!(
            lines[1].what,
            "Sanitise: 6.2 mL of acid no-rinse sanitiser in 3.98 L"
        );
        assert_eq!(lines[1].countdown, Some(60));
    }

    #[test]
    fn what_the_lines_add_is_what_the_plan_holds() {
        let plan = plan();
        let out = outcome(&plan);
        let mut honey = 0.0;
        let mut water = 0.0;
        for line in lines(&plan, &out, UnitSystem::Metric) {
            if let Doing::Add {
                substance,
                mass,
                volume,
                ..
            } = line.doing
            {
                match substance.as_str() {
                    "honey" => honey += mass.unwrap().get(),
                    "water" => water += volume.unwrap().get(),
                    _ => {}
                }
            }
        }
        assert!((honey - plan.parts[0].mass.get()).abs() < 1e-6);
        assert!((water - out.water_volume.get()).abs() < 1e-9);
    }

    #[test]
    fn a_list_is_left_and_resumed() {
        let plan = plan();
        let lines = lines(&plan, &outcome(&plan), UnitSystem::Us);
        let ticks = [
            tick("clean", Some(at("2026-05-10T09:00:00+02:00"))),
            tick("sanitise", Some(at("2026-05-10T09:05:00+02:00"))),
            tick("sanitise", None),
        ];
        let list = Checklist::new(lines, &ticks[..2]);
        assert_eq!(list.progress(), (2, 16));
        assert_eq!(list.next().unwrap().line.key, "water-half");
        assert_eq!(list.entries[0].done, Some(at("2026-05-10T09:00:00+02:00")));
        assert!(
            list.too_early("pitch")
                .unwrap()
                .starts_with("Take the original")
        );
    }

    #[test]
    fn the_cautions_stand_at_their_moment() {
        let plan = plan();
        let lines = lines(&plan, &outcome(&plan), UnitSystem::Us);
        let why = |key: &str| {
            lines
                .iter()
                .find(|l| l.key == key)
                .map(|l| l.why.clone())
                .unwrap()
        };
        assert!(why("clean").contains("Never mix cleaners with bleach or acid"));
        assert!(why("part-0-1").contains("child under 12 months"));
        assert!(why("shake").contains("glass"));
        assert!(why("airlock").contains("Never a closed vessel"));
        assert!(why("dark").contains("Gas collects"));
    }
}
