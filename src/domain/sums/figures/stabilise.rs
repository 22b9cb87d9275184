//! Figures of stabilising, acid, blending, serving, sanitising and units.

use super::input::{InputSpec as In, in_all_units};
use super::{Answer, FigureSpec, Group, Inputs, Kind, Line, Refusal, Shown};
use crate::domain::sums::acidity::{self, Acid, Trial};
use crate::domain::sums::blend::{self, Lot, Property, Seen, Wish};
use crate::domain::sums::sulfite::{self, Constant, Present, Salt};
use crate::domain::sums::uncertain::propagate;
use crate::domain::sums::{serving, source};
use crate::domain::units::{Dimension, GramsPerLitre, MilligramsPerLitre, Ph};

const SULFITE_CARE: &str = "Sulfites can trigger asthma or allergy-like attacks. Label every treated bottle. Do not breathe the powder or fumes.";
const STABLE_FIRST: &str = "Sweeten only what is finished, racked clear and stabilised, then hold it under lock 7 to 14 days: sugar in an unstabilised bottle is a bomb.";

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
    let needed = if i.has("ph") {
        sulfite::free_for(i.milligrams("aim"), i.ph("ph"), Constant::Usual)?
    } else {
        MilligramsPerLitre::known(50.0)
    };
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
    Ok(answer.note(SULFITE_CARE))
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

fn needed(i: &Inputs<'_>, name: &str) -> Result<Lot, Refusal> {
    match i.lot(name) {
        Some(text) => Ok(text.lot()?),
        None => Err(Refusal::Words(format!("{name} is needed"))),
    }
}

fn seen_lines(seen: &Seen, acid: bool) -> Vec<Line> {
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

pub(super) const BLEND: FigureSpec = FigureSpec {
    id: "blend",
    title: "blend of lots",
    group: Group::Cellar,
    about: "What a blend of up to four lots gives, or with wishes the shares that come nearest.",
    inputs: &[
        In::need("a", "first lot", Kind::Lot, "4L 1.010 12% 6g/L"),
        In::need(
            "b",
            "second lot",
            Kind::Lot,
            "volume, gravity, alcohol, acidity",
        ),
        In::maybe("c", "third lot", Kind::Lot, "if there is one"),
        In::maybe("d", "fourth lot", Kind::Lot, "if there is one"),
        In::maybe(
            "sg",
            "gravity wished",
            Kind::Gravity,
            "leave empty to mix everything",
        ),
        In::maybe("abv", "alcohol wished", Kind::Alcohol, "% vol"),
        In::maybe("acid", "acidity wished", Kind::GramsPerLitre, "as tartaric"),
    ],
    formula: "masses of water, extract, alcohol and acid add; volume = mass / density",
    source: &[source::TABARIE, source::SUCROSE, source::ALCOHOLOMETRY],
    range: "alcohol to 25 % vol; no sum tells the pH of a blend",
    compute: blend_figure,
};

fn blend_figure(i: &Inputs<'_>) -> Result<Answer, Refusal> {
    let texts: Vec<_> = ["a", "b", "c", "d"]
        .into_iter()
        .filter_map(|n| Some((n, i.lot(n)?)))
        .collect();
    let lots = texts
        .iter()
        .map(|(_, t)| t.lot())
        .collect::<Result<Vec<_>, _>>()?;
    let wishes: Vec<Wish> = [
        ("sg", Property::Gravity),
        ("abv", Property::Alcohol),
        ("acid", Property::Acidity),
    ]
    .into_iter()
    .filter(|(name, _)| i.has(name))
    .map(|(name, property)| Wish {
        property,
        value: i.number(name),
    })
    .collect();
    if wishes.is_empty() {
        return Ok(Answer::of(seen_lines(&blend::mix(&lots)?, true)));
    }
    let (shares, seen) = blend::nearest(&lots, &wishes)?;
    let mut lines: Vec<Line> = texts
        .iter()
        .zip(&shares)
        .map(|((name, text), share)| {
            Line::new(
                format!("of {name}"),
                Shown::Volume(text.volume.get() * share),
            )
        })
        .collect();
    lines.extend(seen_lines(&seen, true));
    Ok(Answer::of(lines).note("Try it on 100 mL first."))
}

pub(super) const THIN: FigureSpec = FigureSpec {
    id: "thin",
    title: "thin or strengthen",
    group: Group::Cellar,
    about: "How much of one lot brings another to a gravity, alcohol or acidity.",
    inputs: &[
        In::need(
            "lot",
            "the drink",
            Kind::Lot,
            "volume, gravity, alcohol, acidity",
        ),
        In::usual(
            "with",
            "what is added",
            Kind::Lot,
            "1L 1.000 0%",
            "water, must, another lot: its volume does not matter",
        ),
        In::maybe("sg", "gravity wished", Kind::Gravity, "one wish"),
        In::maybe("abv", "alcohol wished", Kind::Alcohol, "or this"),
        In::maybe("acid", "acidity wished", Kind::GramsPerLitre, "or this"),
    ],
    formula: "masses add; the addition is found where the mixture meets the wish",
    source: &[source::TABARIE, source::SUCROSE, source::ALCOHOLOMETRY],
    range: "alcohol to 25 % vol",
    compute: |i| {
        let (base, with) = (needed(i, "lot")?, needed(i, "with")?);
        let (property, name) = match (i.has("sg"), i.has("abv"), i.has("acid")) {
            (true, false, false) => (Property::Gravity, "sg"),
            (false, true, false) => (Property::Alcohol, "abv"),
            (false, false, true) => (Property::Acidity, "acid"),
            _ => return Err(Refusal::Words("give one wish: sg, abv or acid".into())),
        };
        let wish = Wish {
            property,
            value: i.number(name),
        };
        let addition = blend::add_until(base, with, wish)?;
        if addition.mass().get() <= 0.0 {
            return Ok(Answer::of(vec![Line::new("to add", Shown::Volume(0.0))]));
        }
        let mut lines = vec![Line::new(
            "to add",
            Shown::Volume(addition.seen()?.volume.get()),
        )];
        lines.extend(seen_lines(
            &base.with(addition).seen()?,
            property == Property::Acidity,
        ));
        Ok(Answer::of(lines))
    },
};

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
        .note(SULFITE_CARE))
    },
};

pub(super) const SERVING: FigureSpec = FigureSpec {
    id: "serving",
    title: "what a glass holds",
    group: Group::Cellar,
    about: "Energy, sugar, alcohol and standard drinks of a serving.",
    inputs: &[
        In::need("sg", "gravity", Kind::Gravity, "of the drink"),
        In::need("abv", "alcohol", Kind::Alcohol, "of the drink"),
        In::usual(
            "size",
            "serving",
            Kind::Volume,
            "5floz",
            "a glass of wine 5, a bottle of beer 12 fl oz",
        ),
    ],
    formula: "7 kcal per g of alcohol + 4 per g of real extract; standard drink 14 g of alcohol",
    source: &[
        "general Atwater factors, from memory",
        "University of Pittsburgh SBIRT, standard drink",
        source::TABARIE,
    ],
    range: "± 5 %; extract counts as sugar though part of it is none",
    compute: |i| {
        let one = Lot::new(
            i.litres("size"),
            i.gravity("sg"),
            i.abv("abv"),
            GramsPerLitre::known(0.0),
        )?;
        let s = serving::serving(one.seen()?, i.litres("size"))?;
        Ok(Answer::of(vec![
            Line::number("energy", s.energy.get(), "kcal", 0),
            Line::number("sugar at most", s.extract.get(), "g", 1),
            Line::number("alcohol", s.alcohol.get(), "g", 1),
            Line::number("standard drinks", s.standard_drinks, "", 1),
        ]))
    },
};

pub(super) const BOTTLES: FigureSpec = FigureSpec {
    id: "bottles",
    title: "bottles to wash",
    group: Group::Cellar,
    about: "How many bottles a volume fills, with what is lost on the way.",
    inputs: &[
        In::need(
            "volume",
            "volume",
            Kind::Volume,
            "in the vessel, lees and all",
        ),
        In::usual("size", "bottle", Kind::Volume, "12floz", "12floz, 750ml"),
        In::usual(
            "loss",
            "left on the lees and in the hose",
            Kind::Percent,
            "5",
            "a gallon 5 to 10, five gallons 3 to 6",
        ),
        In::usual(
            "samples",
            "samples drawn",
            Kind::Volume,
            "0L",
            "not returned",
        ),
    ],
    formula: "bottles = (volume - loss - samples) / size, rounded down",
    source: &[source::PRACTICE],
    range: "bottles of 50 mL to 30 L",
    compute: |i| {
        let b = serving::bottles(
            i.litres("volume"),
            i.share("loss"),
            i.litres("samples"),
            i.litres("size"),
        )?;
        Ok(Answer::of(vec![
            Line::number("bottles", f64::from(b.full), "", 0),
            Line::new("left over", Shown::Volume(b.over.get())),
            Line::new("lost", Shown::Volume(b.lost.get())),
        ]))
    },
};

pub(super) const SANITISER: FigureSpec = FigureSpec {
    id: "sanitiser",
    title: "sanitiser by its label",
    group: Group::Cellar,
    about: "Concentrate for an amount of water, in the proportion that its label states.",
    inputs: &[
        In::need("volume", "water", Kind::Volume, "to make up"),
        In::need("label", "label: concentrate", Kind::Volume, "0.5floz"),
        In::need("per", "label: in water", Kind::Volume, "2.5gal"),
    ],
    formula: "concentrate = label x water / label's water",
    source: &["proportion"],
    range: "as the label; contact time as the label, then drain",
    compute: |i| {
        let l = serving::by_label(i.litres("label"), i.litres("per"), i.litres("volume"))?;
        Ok(Answer::of(vec![
            Line::new("concentrate", Shown::Volume(l.get())),
            Line::number(
                "that is",
                1000.0 * l.get() / i.number("volume").max(1e-9),
                "mL/L",
                2,
            ),
        ])
        .note("Never mix bleach with acid, sanitiser, sulfite or ammonia."))
    },
};

pub(super) const STRENGTH: FigureSpec = FigureSpec {
    id: "strength",
    title: "sanitiser by strength",
    group: Group::Cellar,
    about: "Stock for a solution of so many parts per million.",
    inputs: &[
        In::need("volume", "solution", Kind::Volume, "to make up"),
        In::usual(
            "ppm",
            "strength wanted",
            Kind::MilligramsPerLitre,
            "12.5",
            "iodine 12.5 for 1 min, chlorine 100 for 2 min",
        ),
        In::usual(
            "stock",
            "strength of the stock, ppm",
            Kind::Number { min: 1.0, max: 1e6 },
            "16000",
            "1.6 % is 16000",
        ),
    ],
    formula: "stock = wanted x volume / strength of the stock",
    source: &[
        "Wisconsin Administrative Code ATCP 70.11 (iodine 12.5 ppm 1 min, chlorine 100 ppm 2 min)",
    ],
    range: "to the stock's own strength",
    compute: |i| {
        let l = serving::stock_for(i.milligrams("ppm"), i.number("stock"), i.litres("volume"))?;
        Ok(Answer::of(vec![Line::new("stock", Shown::Volume(l.get()))])
            .note("Never mix bleach with acid, sanitiser, sulfite or ammonia."))
    },
};

pub(super) const CONVERT: FigureSpec = FigureSpec {
    id: "convert",
    title: "units",
    group: Group::Cellar,
    about: "A mass, volume, temperature or pressure in all other units.",
    inputs: &[In::need(
        "amount",
        "amount",
        Kind::Amount,
        "5gal, 3lb, 68f, 30psi",
    )],
    formula: "exact definitions of the units",
    source: &["NIST Handbook 44, Appendix C"],
    range: "exact",
    compute: |i| {
        let Some((value, unit)) = i.amount("amount") else {
            return Err(Refusal::Words("amount is needed".into()));
        };
        let decimals = if unit.dimension == Dimension::Temperature {
            2
        } else {
            4
        };
        Ok(Answer::of(
            in_all_units(value, unit)
                .into_iter()
                .map(|(v, word)| Line::number(format!("in {word}"), v, word, decimals))
                .collect(),
        ))
    },
};
