//! Figures of stabilising, sweetening and acid.

use super::input::InputSpec as In;
use super::{Answer, FigureSpec, Group, Inputs, Kind, Line, Refusal, Shown};
use crate::domain::cautions;
use crate::domain::sums::acidity::{self, Acid, Trial};
use crate::domain::sums::blend::{self, Lot, Seen};
use crate::domain::sums::source;
use crate::domain::sums::sulfite::{self, Constant, Present, Salt};
use crate::domain::sums::uncertain::propagate;
use crate::domain::units::Ph;

const STABLE_FIRST: &str = "Only sweeten what has finished, is racked clear and stabilised, then leave it under the airlock for 7 to 14 days: yeast would ferment this sugar, and sealed bottles could explode.";

pub(super) const MOLECULAR: FigureSpec = FigureSpec {
    id: "molecular",
    title: "molecular sulfite",
    group: Group::Stabilise,
    about: "Molecular SO2 of a drink, and the free SO2 that an aim needs.",
    inputs: &[
        In::need("ph", "pH", Kind::Ph, "2.5 to 4.5"),
        In::usual(
            "free",
            "free SO2",
            Kind::MilligramsPerLitre,
            "30",
            "measured",
        ),
        In::usual(
            "aim",
            "molecular SO2 aimed at",
            Kind::MilligramsPerLitre,
            "0.8",
            "0.6 to 0.8",
        ),
        In::usual(
            "abv",
            "alcohol",
            Kind::Alcohol,
            "12",
            "for the figure by alcohol and temperature",
        ),
        In::usual(
            "temp",
            "temperature",
            Kind::Temperature,
            "20c",
            "20 to 40 °C",
        ),
    ],
    formula: "molecular = free / (1 + 10^(pH - pK)), pK 1.81 (usual) or by alcohol and temperature",
    source: &[
        source::OIV_SO2,
        "pK 1.81: usual value, from memory; tables give 1.77 to 1.86",
    ],
    range: "pH 2.5 to 4.5; by alcohol 20 to 40 °C, to 15 % vol; pH ± 0.1 changes the result by a quarter",
    compute: molecular_figure,
};

fn molecular_figure(i: &Inputs<'_>) -> Result<Answer, Refusal> {
    let (ph, free) = (i.uncertain("ph"), i.milligrams("free"));
    let now = propagate([ph], |[p]| {
        Ok(sulfite::molecular(free, Ph::new(p)?, Constant::Usual)?.get())
    })?;
    let need = propagate([ph], |[p]| {
        Ok(sulfite::free_for(i.milligrams("aim"), Ph::new(p)?, Constant::Usual)?.get())
    })?;
    let oiv = Constant::Oiv {
        alcohol: i.abv("abv"),
        temperature: i.celsius("temp"),
    };
    let mut answer = Answer::of(vec![
        Line::number("free SO2 needed", need.value, "mg/L", 0).within(need.plus_minus),
        Line::number("molecular SO2 now", now.value, "mg/L", 2).within(now.plus_minus),
    ]);
    if now.value > sulfite::STINGS {
        answer = answer.note("More than 2 mg/L of molecular SO2 stings the nose.");
    }
    match sulfite::molecular(free, i.ph("ph"), oiv) {
        Ok(m) => answer.lines.push(Line::number(
            "molecular now, by alcohol and temperature",
            m.get(),
            "mg/L",
            2,
        )),
        Err(error) => answer = answer.note(format!("By alcohol and temperature: {error}.")),
    }
    Ok(answer)
}

const SALTS: Kind = Kind::Choice(&[
    ("potassium", "potassium metabisulfite, 57.6 % SO2"),
    ("sodium", "sodium metabisulfite, 67.4 % SO2"),
]);

pub(super) const SULFITE: FigureSpec = FigureSpec {
    id: "sulfite",
    title: "metabisulfite to weigh",
    group: Group::Stabilise,
    about: "Metabisulfite that protects a drink at its pH, within the legal maximum.",
    inputs: &[
        In::need("volume", "volume", Kind::Volume, "of the drink"),
        In::maybe("ph", "pH", Kind::Ph, "unknown: 50 mg/L free is taken"),
        In::usual(
            "aim",
            "molecular SO2 aimed at",
            Kind::MilligramsPerLitre,
            "0.8",
            "0.6 to 0.8",
        ),
        In::usual(
            "free",
            "free SO2 now",
            Kind::MilligramsPerLitre,
            "0",
            "measured, or nought",
        ),
        In::usual(
            "total",
            "total SO2 so far",
            Kind::MilligramsPerLitre,
            "0",
            "all doses so far",
        ),
        In::usual(
            "stays",
            "share of the dose that stays free",
            Kind::Percent,
            "50",
            "a half is common practice",
        ),
        In::usual("salt", "salt", SALTS, "potassium", "as on its label"),
    ],
    formula: "free needed = aim x (1 + 10^(pH - 1.81)); added = (needed - free) / share; grams = added x litres / 1000 / SO2 in the salt",
    source: &[
        "molar masses 64.064, 222.32, 190.10",
        "27 CFR 4.22(b)(1): total SO2 at most 350 mg/L",
        source::PRACTICE,
    ],
    range: "pH 2.5 to 4.5; how much stays free is a guess: the free SO2 reached may be off by half",
    compute: sulfite_figure,
};

fn sulfite_figure(i: &Inputs<'_>) -> Result<Answer, Refusal> {
    let needed = sulfite::aim(i.milligrams("aim"), i.has("ph").then(|| i.ph("ph")))?;
    let salt = match i.choice("salt") {
        "sodium" => Salt::Sodium,
        _ => Salt::Potassium,
    };
    let present = Present {
        free: i.milligrams("free"),
        total: i.milligrams("total"),
        stays_free: i.share("stays"),
    };
    let dose = sulfite::dose(needed, present, i.litres("volume"), salt)?;
    let mut answer = Answer::of(vec![
        Line::new("to weigh", Shown::Mass(dose.amount.get())),
        Line::number("free SO2 aimed at", needed.get(), "mg/L", 0),
        Line::number("SO2 added", dose.added.get(), "mg/L", 0),
        Line::number("total SO2 after", dose.total_after.get(), "mg/L", 0),
    ]);
    if !i.has("ph") {
        answer = answer.note("pH unknown: 50 mg/L of free SO2 is taken once (common practice).");
    }
    if dose.much {
        answer = answer.note("More than 150 mg/L in all: it may be tasted.");
    }
    Ok(answer.note(cautions::SULFITE))
}

pub(super) const SORBATE: FigureSpec = FigureSpec {
    id: "sorbate",
    title: "potassium sorbate to weigh",
    group: Group::Stabilise,
    about: "Sorbate that keeps yeast from growing in a sweetened drink.",
    inputs: &[
        In::need("volume", "volume", Kind::Volume, "of the drink"),
        In::usual(
            "acid",
            "sorbic acid",
            Kind::MilligramsPerLitre,
            "200",
            "150 to 200; 200 is the limit",
        ),
        In::usual(
            "abv",
            "alcohol",
            Kind::Alcohol,
            "12",
            "below 10 % it is unreliable",
        ),
        In::maybe("ph", "pH", Kind::Ph, "above 3.7 it is unreliable"),
    ],
    formula: "grams = acid x litres / 1000 / 0.7464",
    source: &[
        "OIV International Code of Oenological Practices II.3.4.5: 200 mg/L",
        "molar masses 112.13 / 150.22",
        source::PRACTICE,
    ],
    range: "to 200 mg/L of sorbic acid",
    compute: |i| {
        let ph = i.has("ph").then(|| i.ph("ph"));
        let dose = sulfite::sorbate(i.milligrams("acid"), i.litres("volume"), i.abv("abv"), ph)?;
        let answer = Answer::of(vec![Line::new("to weigh", Shown::Mass(dose.amount.get()))])
            .note("Never without sulfite: bacteria turn sorbate into a smell of geranium. It keeps yeast from growing, it does not kill it; a primed drink will make no gas.");
        Ok(if dose.unreliable {
            answer.note("Below 10 % vol or above pH 3.7 sorbate cannot be relied on: keep the drink cold or dry.")
        } else {
            answer
        })
    },
};

pub(super) const SWEETEN: FigureSpec = FigureSpec {
    id: "sweeten",
    title: "back-sweetening",
    group: Group::Stabilise,
    about: "Honey, sugar or syrup that brings a stabilised drink to a gravity, and what it thins.",
    inputs: &[
        In::need(
            "lot",
            "the drink",
            Kind::Lot,
            "volume, gravity, alcohol: 1gal 0.998 13%",
        ),
        In::need(
            "to",
            "gravity wanted",
            Kind::Gravity,
            "dry to 1.010, semi 1.010 to 1.025, sweet above",
        ),
        In::usual(
            "solids",
            "soluble share of the sweetener",
            Kind::Percent,
            "82.9",
            "sugar 100, honey 83, syrup as labelled",
        ),
    ],
    formula: "masses of water, extract and alcohol add; gravity of the mixture by Tabarie",
    source: &[source::SUCROSE, source::ALCOHOLOMETRY, source::TABARIE],
    range: "alcohol to 25 % vol; honey of other water: 5 % of the weight",
    compute: |i| {
        let lot = needed(i, "lot")?;
        let (grams, seen) = blend::sweeten(lot, i.share("solids"), i.gravity("to"))?;
        let mut lines =
            vec![Line::new("to weigh", Shown::Mass(grams.get())).within(0.05 * grams.get())];
        lines.extend(seen_lines(&seen, false));
        Ok(Answer::of(lines).note(STABLE_FIRST))
    },
};

pub(super) fn needed(i: &Inputs<'_>, name: &str) -> Result<Lot, Refusal> {
    match i.lot(name) {
        Some(text) => Ok(text.lot()?),
        None => Err(Refusal::Words(format!("{name} is needed"))),
    }
}

pub(super) fn seen_lines(seen: &Seen, acid: bool) -> Vec<Line> {
    let mut lines = vec![
        Line::new("volume", Shown::Volume(seen.volume.get())),
        Line::new("gravity", Shown::Gravity(seen.gravity.get())),
        Line::number("alcohol", seen.alcohol.get(), "% vol", 1),
    ];
    if acid {
        lines.push(Line::number("acidity", seen.acidity.get(), "g/L", 1));
    }
    lines
}

const ACIDS: Kind = Kind::Choice(&[
    ("tartaric", "of grapes"),
    ("malic", "of apples"),
    ("citric", "of lemons and berries"),
    ("lactic", "of bacteria"),
]);
const ACID_UNITS: Kind = Kind::Choice(&[
    ("tartaric", "of grapes"),
    ("malic", "of apples"),
    ("citric", "of lemons and berries"),
    ("lactic", "of bacteria"),
    ("sulfuric", "as some countries state it"),
]);

fn acid(word: &str) -> Acid {
    Acid::ALL
        .into_iter()
        .find(|a| a.name() == word)
        .unwrap_or(Acid::Tartaric)
}

pub(super) const ACID: FigureSpec = FigureSpec {
    id: "acid",
    title: "raise or lower acidity",
    group: Group::Stabilise,
    about: "Acid, or potassium bicarbonate, that moves the titratable acidity.",
    inputs: &[
        In::need("volume", "volume", Kind::Volume, "of the drink"),
        In::need(
            "now",
            "acidity now",
            Kind::GramsPerLitre,
            "titrated, as tartaric",
        ),
        In::need("aim", "acidity wanted", Kind::GramsPerLitre, "as tartaric"),
        In::usual(
            "with",
            "acid to add",
            ACIDS,
            "tartaric",
            "when it is raised",
        ),
    ],
    formula: "by equivalents: tartaric 75.04, malic 67.04, citric 64.04, lactic 90.08, bicarbonate 100.12 g per mole of protons",
    source: &["molar masses", source::PRACTICE],
    range: "lowering at most 2 g/L at once; pH does not follow from acidity: measure",
    compute: |i| {
        let (now, aim, volume) = (
            i.grams_per_litre("now"),
            i.grams_per_litre("aim"),
            i.litres("volume"),
        );
        let (label, grams) = if aim >= now {
            (
                format!("{} acid to add", i.choice("with")),
                acidity::raise(now, aim, volume, acid(i.choice("with")))?,
            )
        } else {
            (
                "potassium bicarbonate to add".to_owned(),
                acidity::lower(now, aim, volume, acidity::Salt::PotassiumBicarbonate)?,
            )
        };
        Ok(Answer::of(vec![Line::new(label, Shown::Mass(grams.get()))])
            .note("Add a half, stir, wait a day, taste and measure: the sum knows nothing of buffers or of crystals."))
    },
};

pub(super) const RESTATE: FigureSpec = FigureSpec {
    id: "acid-as",
    title: "acidity as another acid",
    group: Group::Stabilise,
    about: "The same titratable acidity stated as each acid.",
    inputs: &[
        In::need("acidity", "acidity", Kind::GramsPerLitre, "titrated"),
        In::usual(
            "as",
            "stated as",
            ACID_UNITS,
            "tartaric",
            "the acid of the number",
        ),
    ],
    formula: "in proportion to the equivalent masses 75.04, 67.04, 64.04, 90.08, 49.04",
    source: &["molar masses"],
    range: "exact",
    compute: |i| {
        let from = acid(i.choice("as"));
        let lines = Acid::ALL
            .into_iter()
            .filter(|to| *to != from)
            .map(|to| {
                let value = acidity::restate(i.grams_per_litre("acidity"), from, to)?;
                Ok(Line::number(
                    format!("as {}", to.name()),
                    value.get(),
                    "g/L",
                    2,
                ))
            })
            .collect::<Result<Vec<_>, Refusal>>()?;
        Ok(Answer::of(lines))
    },
};

pub(super) const TRIAL: FigureSpec = FigureSpec {
    id: "trial",
    title: "pH by a trial",
    group: Group::Stabilise,
    about: "Scales a trial on a small sample to the vessel: the only honest way to a pH.",
    inputs: &[
        In::need("sample", "sample", Kind::Volume, "100ml"),
        In::need(
            "added",
            "added to it",
            Kind::Mass,
            "0.05g of acid or bicarbonate",
        ),
        In::need("before", "pH before", Kind::Ph, "3.0"),
        In::need("after", "pH after", Kind::Ph, "3.3"),
        In::need("aim", "pH wanted", Kind::Ph, "not far beyond the trial"),
        In::need(
            "volume",
            "volume of the drink",
            Kind::Volume,
            "in the vessel",
        ),
    ],
    formula: "grams = (aim - before)/(after - before) x added x volume / sample",
    source: &["proportion"],
    range: "to one and a half times the trial's step",
    compute: |i| {
        let trial = Trial {
            sample: i.litres("sample"),
            added: i.grams("added"),
            before: i.ph("before"),
            after: i.ph("after"),
        };
        let grams = acidity::from_trial(trial, i.ph("aim"), i.litres("volume"))?;
        Ok(Answer::of(vec![
            Line::new("to add", Shown::Mass(grams.get())).within(0.15 * grams.get()),
        ]))
    },
};

pub(super) const WATER: FigureSpec = FigureSpec {
    id: "chlorine",
    title: "chlorine out of tap water",
    group: Group::Must,
    about: "Metabisulfite that takes chlorine or chloramine out of water.",
    inputs: &[
        In::need("volume", "water", Kind::Volume, "for the must"),
        In::usual(
            "chlorine",
            "chlorine",
            Kind::MilligramsPerLitre,
            "4",
            "4 mg/L is the most allowed in US tap water",
        ),
    ],
    formula: "half a metabisulfite (222.3 g/mol) for each chlorine (70.9)",
    source: &[
        "molar masses",
        "US EPA, drinking water regulations for disinfectants: 4.0 mg/L",
    ],
    range: "to 10 mg/L; wait 10 minutes",
    compute: |i| {
        let g = sulfite::dechlorinate(i.milligrams("chlorine"), i.litres("volume"))?;
        Ok(Answer::of(vec![
            Line::new("at least", Shown::Mass(g.get())),
            Line::new("usual dose, half as much again", Shown::Mass(1.5 * g.get())),
        ])
        .note(cautions::SULFITE))
    },
};
