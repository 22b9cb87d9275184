//! Figures of blends, servings, bottles, sanitisers and units.

use super::input::InputSpec as In;
use super::read::in_all_units;
use super::stabilise::{needed, seen_lines};
use super::{Answer, FigureSpec, Group, Inputs, Kind, Line, Refusal, Shown};
use crate::domain::cautions;
use crate::domain::sums::blend::{self, Lot, Property, Wish};
use crate::domain::sums::{serving, source};
use crate::domain::units::{Dimension, GramsPerLitre};

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
        .note(cautions::CLEANING))
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
            "iodine 12.5 for 1 min (pH 5 or below, 24 to 44 °C), chlorine 100 for 2 min (pH 8.3 or below)",
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
        "Wisconsin Administrative Code ATCP 70.11 (iodine 12.5 ppm 1 min, at pH 5 or below and 24 to 44 °C; chlorine 100 ppm 2 min, at pH 8.3 or below)",
    ],
    range: "to the stock's own strength",
    compute: |i| {
        let l = serving::stock_for(i.milligrams("ppm"), i.number("stock"), i.litres("volume"))?;
        Ok(Answer::of(vec![Line::new("stock", Shown::Volume(l.get()))]).note(cautions::CLEANING))
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
