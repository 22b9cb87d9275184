//! Figures of the must and its nutrient.

use super::input::InputSpec as In;
use super::{Answer, FigureSpec, Group, Inputs, Kind, Line, Refusal, Shown};
use crate::domain::sums::must::{self, Design, Must, Part, Wanted};
use crate::domain::sums::nitrogen::{self, AtHand, Demand, Nutrient, Stage};
use crate::domain::sums::{finish, gravity, source};
use crate::domain::units::Litres;

pub(super) const MUST: FigureSpec = FigureSpec {
    id: "must",
    title: "design a must",
    group: Group::Must,
    about: "Gravity, volume and expected end of a must; leave amounts open with ? and say what is wanted.",
    inputs: &[
        In::need(
            "parts",
            "parts, in the order they go in",
            Kind::Parts,
            "3lb honey, ? water; one amount open for one wish, two for two",
        ),
        In::maybe("og", "gravity wanted", Kind::Gravity, "original gravity"),
        In::maybe(
            "volume",
            "volume wanted",
            Kind::Volume,
            "of liquid, at 20 °C",
        ),
        In::maybe(
            "abv",
            "alcohol wanted",
            Kind::Alcohol,
            "of the finished drink, instead of a gravity",
        ),
        In::maybe(
            "tolerance",
            "yeast's tolerance",
            Kind::Alcohol,
            "alcohol at which it stops",
        ),
        In::maybe(
            "vessel",
            "vessel, brimful",
            Kind::Volume,
            "to see the headspace",
        ),
    ],
    formula: "solids / liquid = extract by mass; volume = mass / density(extract); the open amounts make both meet the wishes",
    source: &[source::SUCROSE, source::USDA, source::BALLING],
    range: "to 85 °P; gravity ± 0.004 for honey of unknown water, fruit ± a fifth of its sugar",
    compute: must_figure,
};

fn must_figure(i: &Inputs<'_>) -> Result<Answer, Refusal> {
    let parts = i.parts("parts");
    let design = Design {
        parts: parts
            .iter()
            .map(|p| Part {
                ingredient: p.ingredient,
                amount: p.amount,
            })
            .collect(),
        wanted: Wanted {
            gravity: i.has("og").then(|| i.gravity("og")),
            volume: i.has("volume").then(|| i.litres("volume")),
            alcohol: i.has("abv").then(|| i.abv("abv")),
        },
        tolerance: i.has("tolerance").then(|| i.abv("tolerance")),
    };
    let solved = must::solve(&design)?;
    let mut lines = vec![
        Line::new("original gravity", Shown::Gravity(solved.original.get())).within(0.004),
        Line::new("liquid", Shown::Volume(solved.volume.get())),
    ];
    for (part, level) in parts.iter().zip(&solved.levels) {
        lines.push(Line::new(
            part.ingredient.name.clone(),
            Shown::Mass(level.amount.get()),
        ));
        if let Some(rho) = part.ingredient.density() {
            lines.push(Line::new(
                format!("{}, measured", part.ingredient.name),
                Shown::Volume(level.amount.get() / rho.get()),
            ));
        }
        lines.push(Line::new(
            format!("filled after {}", part.ingredient.name),
            Shown::Volume(level.filled.get()),
        ));
    }
    end_lines(&solved, &mut lines);
    let answer = Answer::of(lines);
    Ok(match i.has("vessel").then(|| i.litres("vessel")) {
        Some(vessel) => with_headspace(answer, &solved, vessel),
        None => answer,
    })
}

fn end_lines(solved: &Must, lines: &mut Vec<Line>) {
    let end = &solved.finish;
    lines.extend([
        Line::number(
            "sugar",
            solved.sugar.get() / solved.volume.get().max(1e-9),
            "g/L",
            0,
        ),
        Line::new("expected final gravity", Shown::Gravity(end.gravity.get()))
            .within(finish::FINAL_ERROR),
        Line::number("expected alcohol", end.alcohol.get(), "% vol", 1)
            .within(0.03 * end.alcohol.get()),
        Line::number("nitrogen from the parts", solved.nitrogen.get(), "mg/L", 0),
    ]);
    if end.stopped_by == finish::StoppedBy::Tolerance {
        lines.push(Line::number(
            "sugar the yeast leaves",
            end.sugar_left.get(),
            "g/L",
            0,
        ));
    }
}

fn with_headspace(mut answer: Answer, solved: &Must, vessel: Litres) -> Answer {
    let head = solved.headspace(vessel);
    answer
        .lines
        .push(Line::new("headspace", Shown::Volume(head)));
    let share = head / vessel.get().max(1e-9);
    if head < 0.0 {
        answer.note("It does not fit into that vessel.")
    } else if share < 0.10 || (solved.pulp.get() > 0.0 && share < 0.20) {
        answer.note(
            "Little headspace: 10 % for mead, 20 to 25 % with fruit or for beer (common practice).",
        )
    } else {
        answer
    }
}

pub(super) const FRUIT: FigureSpec = FigureSpec {
    id: "fruit",
    title: "fruit or sugar into a running ferment",
    group: Group::Must,
    about: "The original gravity as if the addition had been there from the start.",
    inputs: &[
        In::need(
            "og",
            "original gravity so far",
            Kind::Gravity,
            "before the yeast",
        ),
        In::need("volume", "volume", Kind::Volume, "of the ferment"),
        In::need("add", "addition", Kind::Parts, "one part: 1kg raspberry"),
    ],
    formula: "solids and water of both, by mass; new original gravity from their share",
    source: &[source::SUCROSE, source::USDA],
    range: "to 85 °P; fruit varies by a fifth of its sugar",
    compute: |i| {
        let [part] = i.parts("add") else {
            return Err(Refusal::Words("name one addition at a time".into()));
        };
        let must::Amount::Mass(mass) = part.amount else {
            return Err(Refusal::Words("give the addition by mass".into()));
        };
        let old = i.gravity("og");
        let (og, volume) = must::original_with(old, i.litres("volume"), part.ingredient, mass)?;
        Ok(Answer::of(vec![
            Line::new("original gravity from now on", Shown::Gravity(og.get())).within(0.003),
            Line::new("volume", Shown::Volume(volume.get())),
            Line::number("change", og.get() - old.get(), "", 4),
        ])
        .note("Write the addition into the ledger: the rise is no reading error."))
    },
};

const DEMAND: Kind = Kind::Choice(&[
    ("low", "content with little"),
    ("medium", "as most"),
    ("high", "asks for much"),
]);
const HAVE: Kind = Kind::Choice(&[
    ("organic+dap", "organic nutrient and diammonium phosphate"),
    ("organic", "organic nutrient alone"),
    ("complex", "complex nutrient alone"),
    ("organic+complex", "both, no pure phosphate"),
    ("dap", "diammonium phosphate alone"),
]);

pub(super) const NITROGEN: FigureSpec = FigureSpec {
    id: "nitrogen",
    title: "nutrient and feedings",
    group: Group::Must,
    about: "Grams of each nutrient, split over the feedings, within the legal maxima.",
    inputs: &[
        In::need("og", "original gravity", Kind::Gravity, "before the yeast"),
        In::need("volume", "volume", Kind::Volume, "of the must"),
        In::usual(
            "demand",
            "yeast's demand",
            DEMAND,
            "medium",
            "from its maker",
        ),
        In::usual(
            "have",
            "nutrients at hand",
            HAVE,
            "organic+dap",
            "the label's limits rule",
        ),
        In::usual(
            "must",
            "nitrogen in the must",
            Kind::MilligramsPerLitre,
            "15",
            "honey about 15, apple juice 59",
        ),
        In::usual(
            "feedings",
            "number of feedings",
            Kind::Number { min: 1.0, max: 8.0 },
            "4",
            "the last at a third of the sugar gone",
        ),
        In::maybe(
            "sg",
            "present gravity",
            Kind::Gravity,
            "to see if it is too late",
        ),
    ],
    formula: "aim = °P x 7.5 / 10 / 12.5 (within 150 to 350 mg N/L) - must; organic 40, complex 100, DAP 212 mg N per g; DAP at most 0.96 g/L",
    source: &[source::AWRI, source::MEAD_NITROGEN, source::PRACTICE],
    range: "original to 45 °P; published needs differ by a factor of two",
    compute: nitrogen_figure,
};

fn at_hand(have: &str) -> Vec<AtHand> {
    [
        ("organic", Nutrient::Organic),
        ("complex", Nutrient::Complex),
        ("dap", Nutrient::Dap),
    ]
    .into_iter()
    .filter(|(word, _)| have.split('+').any(|h| h == *word))
    .map(|(_, class)| AtHand {
        class,
        label_most: None,
        label_nitrogen: None,
    })
    .collect()
}

fn nitrogen_figure(i: &Inputs<'_>) -> Result<Answer, Refusal> {
    let og = i.gravity("og");
    let demand = match i.choice("demand") {
        "low" => Demand::Low,
        "high" => Demand::High,
        _ => Demand::Medium,
    };
    let aim = nitrogen::aim(gravity::plato(og)?, demand)?;
    let stage = stage(i)?;
    let feedings = i.number("feedings") as u32;
    let plan = nitrogen::plan(
        aim,
        i.milligrams("must"),
        i.litres("volume"),
        &at_hand(i.choice("have")),
        feedings,
        stage,
    )?;
    let mut lines = vec![
        Line::number("nitrogen aimed at", plan.aim.get(), "mg N/L", 0),
        Line::number("to be added", plan.missing.get(), "mg N/L", 0),
    ];
    for given in &plan.given {
        lines.push(Line::new(
            format!("{}, each of {feedings} feedings", given.class.name()),
            Shown::Mass(given.each.get()),
        ));
        lines.push(Line::new(
            format!("{}, in all", given.class.name()),
            Shown::Mass(given.total.get()),
        ));
    }
    if plan.unmet.get() > 0.5 {
        lines.push(Line::number(
            "left unmet by the limits",
            plan.unmet.get(),
            "mg N/L",
            0,
        ));
    }
    Ok(Answer::of(lines).note(
        "Degas first, then stir the nutrient in as a slurry; none with the rehydration water, none after a third of the sugar or 9 % vol.",
    ))
}

fn stage(i: &Inputs<'_>) -> Result<Stage, Refusal> {
    use crate::domain::sums::alcohol;
    use crate::domain::units::{Abv, Gravity, Share};
    if !i.has("sg") {
        return Ok(Stage {
            gone: Share::known(0.0),
            alcohol: Abv::known(0.0),
        });
    }
    let (og, sg) = (i.gravity("og"), i.gravity("sg"));
    Ok(Stage {
        gone: alcohol::share_gone(og, sg, Gravity::known(1.0))?,
        alcohol: alcohol::by_volume(og, sg)?,
    })
}
