//! Where the numbers of a vessel come from: inputs, formula, source.

use super::msg::Spot;
use super::say;
use super::state::{State, spot};
use crate::domain::records::{Dossier, Settings};
use crate::domain::sums::{alcohol, source};
use crate::domain::units::Gravity;
use crate::engine::{Account, FermentState, OriginalGravity, Spread, Voice};

/// The sheet: which vessel, and which of its numbers is looked at.
#[derive(Debug, Clone)]
pub struct WhySheet {
    /// The vessel with its batch.
    pub spot: Spot,
    /// Which number.
    pub at: usize,
}

/// The answer to 'why?' for one number.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Card {
    /// What number it is.
    pub title: String,
    /// The number, as shown.
    pub value: String,
    /// What went in, each with its value.
    pub inputs: Vec<(String, String)>,
    /// How the number follows from them.
    pub formula: String,
    /// Where that is from.
    pub source: String,
}

/// The engine's curve has no published source of its own; what it was checked
/// against is told in the documents of the project.
const ENGINE: &str = "skep's own curve through all readings, with their errors; 80 % of the time the truth lies within the range";

/// A card for every number of a vessel's row that is known.
pub fn cards(state: &State, at: Spot) -> Vec<Card> {
    let Some(row) = state.shelf_rows().iter().find(|r| spot(r) == at) else {
        return Vec::new();
    };
    let household = state.household.as_ref();
    let Some(dossier) = household.and_then(|h| h.dossier(at.batch)) else {
        return Vec::new();
    };
    let settings = state.settings();
    let original = row.told.facts.og.map(|og| {
        let measured = matches!(og, OriginalGravity::Measured(_));
        (og.gravity(), measured)
    });
    [
        Some(state_card(row, &settings)),
        gravity_card(state, row, &settings),
        fermented_card(row, original, &settings),
        alcohol_card(row, original, &settings),
        rate_card(row, &settings),
        finish_card(state, row),
        day_card(state, dossier),
        temperature_card(state, row, &settings),
        next_card(state, row),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The scale on which this maker reads temperatures.
pub(super) fn unit(settings: &Settings) -> Voice {
    Voice::of(settings)
}

fn input(name: &str, value: impl Into<String>) -> (String, String) {
    (name.into(), value.into())
}

fn between<T>(s: &Spread<T>, f: impl Fn(&T) -> String) -> String {
    format!("{} ({} to {})", f(&s.p50), f(&s.p10), f(&s.p90))
}

fn state_card(row: &Account, settings: &Settings) -> Card {
    let assessment = &row.assessment;
    let mut inputs: Vec<(String, String)> = FermentState::ALL
        .into_iter()
        .map(|s| (s.word().into(), say::share(assessment.states.of(s))))
        .collect();
    let evidence = assessment.evidence.iter().take(5);
    inputs.extend(evidence.map(|e| input("evidence", e.sentence(unit(settings)))));
    Card {
        title: "state".into(),
        value: row.state.word().into(),
        inputs,
        formula: "the likeliest of the five states; doubtful when none is clearly likelier than the others"
            .into(),
        source: ENGINE.into(),
    }
}

fn gravity_card(state: &State, row: &Account, settings: &Settings) -> Option<Card> {
    let last = row.last?;
    let mut inputs = vec![
        input(
            "as read",
            format!("{} {}", last.raw.value(), last.raw.unit()),
        ),
        input("when", say::when(last.at, state.now)),
    ];
    let reading = state
        .household
        .as_ref()?
        .dossier(row.batch)?
        .readings
        .iter()
        .rfind(|r| r.at == last.at && r.seen == last.raw);
    if let Some(reading) = reading {
        inputs.push(match reading.sample_temp {
            Some(t) => input("sample at", format!("{} {}", t.value(), t.unit())),
            None => input("sample at", "not typed: taken as right for the hydrometer"),
        });
    }
    Some(Card {
        title: "gravity".into(),
        value: say::gravity(last.corrected, settings.gravity),
        inputs,
        formula: "balance of the floating glass at the sample's temperature, brought to 20 °C"
            .into(),
        source: format!("{}; {}", source::GLASS, source::SUCROSE),
    })
}

fn original_input(original: Option<(Gravity, bool)>, settings: &Settings) -> (String, String) {
    match original {
        Some((og, true)) => input("original gravity", say::gravity(og, settings.gravity)),
        Some((og, false)) => input(
            "original gravity",
            format!(
                "{}, planned, not measured",
                say::gravity(og, settings.gravity)
            ),
        ),
        None => input("original gravity", "not known"),
    }
}

/// The original gravity with all that was added since, where that is another one.
fn with_additions(
    row: &Account,
    original: Option<(Gravity, bool)>,
    settings: &Settings,
) -> Option<(String, String)> {
    let counted = say::gravity(row.figures.original?, settings.gravity);
    let alone = original.map(|(og, _)| say::gravity(og, settings.gravity));
    (alone.as_ref() != Some(&counted)).then(|| input("with all that was added", counted))
}

fn fermented_card(
    row: &Account,
    original: Option<(Gravity, bool)>,
    settings: &Settings,
) -> Option<Card> {
    let gone = row.fermented()?;
    let mut inputs = vec![original_input(original, settings)];
    inputs.extend(with_additions(row, original, settings));
    let gravity = |g: &Gravity| say::gravity_number(*g, settings.gravity);
    if let Some(now) = &row.figures.likely {
        inputs.push(input("gravity now", between(now, gravity)));
    }
    if let Some(end) = &row.figures.expected_end {
        inputs.push(input("expected final gravity", gravity(end)));
    }
    Some(Card {
        title: "fermented".into(),
        value: say::share(gone),
        inputs,
        formula: "(original - now) / (original - expected final gravity)".into(),
        source: source::PRACTICE.into(),
    })
}

fn alcohol_card(
    row: &Account,
    original: Option<(Gravity, bool)>,
    settings: &Settings,
) -> Option<Card> {
    let figures = &row.figures;
    let now = figures.alcohol?;
    let mut inputs = vec![original_input(original, settings)];
    inputs.extend(with_additions(row, original, settings));
    if let Some(likely) = &figures.likely {
        let gravity = |g: &Gravity| say::gravity_number(*g, settings.gravity);
        inputs.push(input("gravity now", between(likely, gravity)));
    }
    if let Some((og, now)) = figures.original.zip(figures.gravity) {
        let thumb = alcohol::rule_of_thumb(og, now);
        inputs.push(input(
            "by the rule of thumb (drop x 131.25)",
            say::abv(thumb),
        ));
    }
    Some(Card {
        title: "alcohol".into(),
        value: say::abv(now),
        inputs,
        formula: "OE = 100 (2.0665 A + ER) / (100 + 1.0665 A), with Tabarie's relation for ER"
            .into(),
        source: format!("{}; {}", source::BALLING, source::TABARIE),
    })
}

fn rate_card(row: &Account, settings: &Settings) -> Option<Card> {
    let rate = row.assessment.rate.as_ref()?;
    let mut inputs = vec![input(
        "expected",
        format!("{:.4} a day", rate.expected.get()),
    )];
    if let Some(t) = rate.temperature {
        inputs.push(input("at", say::temperature(t, settings.units)));
    }
    Some(Card {
        title: "drop a day".into(),
        value: between(&rate.today, |d| format!("{:.4}", d.get())),
        inputs,
        formula: "the slope of the curve through the readings, today".into(),
        source: ENGINE.into(),
    })
}

fn finish_card(state: &State, row: &Account) -> Option<Card> {
    let finish = row.finish.as_ref()?;
    let today = state.now.day();
    let scale = state.settings().gravity;
    Some(Card {
        title: "finish".into(),
        value: between(finish, |m| say::date_of(m.day(), today)),
        inputs: row
            .figures
            .final_gravity
            .iter()
            .map(|end| {
                input(
                    "forecast final gravity",
                    between(end, |g| say::gravity_number(*g, scale)),
                )
            })
            .collect(),
        formula: "the first moment within 0.001 of the end".into(),
        source: ENGINE.into(),
    })
}

fn day_card(state: &State, dossier: &Dossier) -> Option<Card> {
    let pitched = dossier.batch.pitched?;
    let day = crate::domain::units::batch_day(pitched, state.now.day());
    Some(Card {
        title: "day".into(),
        value: say::batch_day(day),
        inputs: vec![input(
            "yeast went in",
            format!(
                "{}, {}",
                say::when(pitched, state.now),
                say::age(pitched, state.now)
            ),
        )],
        formula: "the local day of pitching is day 1, the next local day is day 2".into(),
        source: source::PRACTICE.into(),
    })
}

fn temperature_card(state: &State, row: &Account, settings: &Settings) -> Option<Card> {
    let (t, at) = row.temperature?;
    Some(Card {
        title: "temperature".into(),
        value: say::temperature(t, settings.units),
        inputs: vec![input("taken", say::when(at, state.now))],
        formula: "the last reading of the vessel or of its place".into(),
        source: "as read".into(),
    })
}

fn next_card(state: &State, row: &Account) -> Option<Card> {
    let next = row.next.as_ref()?;
    let today = state.now.day();
    let mut inputs = vec![
        input("opens", say::day(next.opens, today)),
        input("due", say::day(next.due, today)),
        input(
            "lateness does harm after",
            say::day(next.overdue_after, today),
        ),
        input("why", next.why.clone()),
        input("what lateness does", next.harm.clone()),
    ];
    if next.forecast {
        inputs.push(input("these days", "rest on a forecast and move with it"));
    }
    Some(Card {
        title: "next".into(),
        value: next.title.clone(),
        inputs,
        formula: "the batch's routine, counted from pitching and from what was done".into(),
        source: source::PRACTICE.into(),
    })
}
