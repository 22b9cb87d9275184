//! Figures of gravity, its instruments, and alcohol.

use super::input::InputSpec as In;
use super::{Answer, FigureSpec, Group, Inputs, Kind, Line, Refusal, Shown};
use crate::domain::sums::gravity::Scale;
use crate::domain::sums::hydrometer::{self, Hydrometer};
use crate::domain::sums::uncertain::propagate;
use crate::domain::sums::{SumError, Uncertain};
use crate::domain::sums::{alcohol, finish, gravity, mass, refractometer, source};
use crate::domain::units::{
    Abv, Abw, Brix, Celsius, Gravity, GravityDelta, RefractiveIndex, Share,
};

const SCALES: Kind = Kind::Choice(&[
    ("20/20", "true at 20 °C"),
    ("60/60f", "true at 60 °F (15.6 °C)"),
    ("15/15", "true at 15 °C"),
    ("20/4", "grams per millilitre at 20 °C"),
]);

fn scale(word: &str) -> Scale {
    match word {
        "60/60f" => Scale::Sg60F,
        "15/15" => Scale::Sg15,
        "20/4" => Scale::Sg20Over4,
        _ => Scale::Sg20,
    }
}

fn gravity_line(label: &str, u: Uncertain) -> Line {
    Line::new(label, Shown::Gravity(u.value)).within(u.plus_minus)
}

fn number_line(label: &str, u: Uncertain, unit: &'static str, decimals: usize) -> Line {
    Line::number(label, u.value, unit, decimals).within(u.plus_minus)
}

/// A gravity inside a propagation: errors when moved out of its bounds.
fn g(value: f64) -> Result<Gravity, SumError> {
    Ok(Gravity::new(value)?)
}

pub(super) const SCALES_OF_GRAVITY: FigureSpec = FigureSpec {
    id: "gravity",
    title: "one gravity on every scale",
    group: Group::Gravity,
    about: "Turns a gravity, Plato, Brix or Oechsle into all the others.",
    inputs: &[In::need(
        "sg",
        "gravity",
        Kind::Gravity,
        "on any scale: 1.050, 12.4p, 50oe",
    )],
    formula: "SG 20/20 = density of the sugar solution at 20 °C / density of water; Plato by its inverse; Oechsle = 1000 (SG - 1)",
    source: &[source::SUCROSE],
    range: "0 to 85 °P; error 0.0001 SG and 0.02 °P to 40 °P, 0.0005 SG to 80 °P",
    compute: |i| {
        let sg = i.gravity("sg");
        let u = i.uncertain("sg");
        let plato = propagate([u], |[x]| Ok(gravity::plato(g(x)?)?.get()))?;
        let mut answer = Answer::of(vec![
            gravity_line("specific gravity 20/20", u),
            number_line("extract", plato, "°P", 2),
            number_line("refractometer, before the ferment", plato, "°Bx", 2),
            Line::number("must weight", gravity::oechsle(sg)?.get(), "°Oe", 1),
            Line::new(
                "specific gravity 60/60 °F",
                Shown::Gravity(gravity::to_60f(sg)?.get()),
            ),
        ]);
        if sg.get() >= 1.0 {
            let sugar = gravity::sugar_per_litre(gravity::plato(sg)?)?;
            answer
                .lines
                .push(Line::number("sugar", sugar.get(), "g/L", 0));
        }
        Ok(answer)
    },
};

pub(super) const HYDROMETER: FigureSpec = FigureSpec {
    id: "hydrometer",
    title: "hydrometer at any temperature",
    group: Group::Gravity,
    about: "Corrects a hydrometer for the sample's temperature, the alcohol in it and the instrument's own error.",
    inputs: &[
        In::need(
            "read",
            "reading",
            Kind::Gravity,
            "what the hydrometer shows",
        ),
        In::need(
            "temp",
            "sample temperature",
            Kind::Temperature,
            "0 to 40 °C (32 to 104 °F)",
        ),
        In::maybe(
            "og",
            "original gravity",
            Kind::Gravity,
            "if the must ferments: its alcohol widens the correction",
        ),
        In::usual(
            "scale",
            "scale",
            SCALES,
            "20/20",
            "where the hydrometer is true",
        ),
        In::usual(
            "offset",
            "offset",
            Kind::Number {
                min: -0.05,
                max: 0.05,
            },
            "0",
            "what it shows in water at its own temperature, less 1.000",
        ),
    ],
    formula: "density at t = R x water(t0) / (1 + 25e-6 (t - t0)), R = reading - offset; then brought to 20 °C as sugar and alcohol in water",
    source: &[source::GLASS, source::SUCROSE, source::ALCOHOLOMETRY],
    range: "0 to 40 °C; the equation errs by 0.0001, the reading by more",
    compute: hydrometer_figure,
};

fn hydrometer_figure(i: &Inputs<'_>) -> Result<Answer, Refusal> {
    let instrument = Hydrometer {
        scale: scale(i.choice("scale")),
        offset: GravityDelta::clamped(i.number("offset")),
    };
    let og = i.has("og").then(|| i.gravity("og"));
    let correct = |read: f64, t: f64| -> Result<f64, SumError> {
        let t = Celsius::new(t)?;
        Ok(match og {
            Some(og) => hydrometer::corrected_in_ferment(instrument, g(read)?, t, og)?,
            None => hydrometer::corrected(instrument, g(read)?, t, Abw::known(0.0))?,
        }
        .get())
    };
    let sg = propagate([i.uncertain("read"), i.uncertain("temp")], |[r, t]| {
        correct(r, t)
    })?;
    let moved = sg.value - i.number("read");
    Ok(Answer::of(vec![
        gravity_line("true gravity 20/20", sg),
        Line::number("correction", moved, "", 4),
    ]))
}

pub(super) const OFFSET: FigureSpec = FigureSpec {
    id: "offset",
    title: "hydrometer checked in water",
    group: Group::Gravity,
    about: "Finds a hydrometer's own error from its reading in plain water.",
    inputs: &[
        In::need(
            "read",
            "reading in water",
            Kind::Gravity,
            "in distilled or soft tap water",
        ),
        In::need("temp", "water temperature", Kind::Temperature, "0 to 40 °C"),
        In::usual(
            "scale",
            "scale",
            SCALES,
            "20/20",
            "where the hydrometer is true",
        ),
    ],
    formula: "offset = reading - reading due in water of this temperature",
    source: &[source::GLASS, source::SUCROSE],
    range: "0 to 40 °C",
    compute: |i| {
        let s = scale(i.choice("scale"));
        let offset = propagate([i.uncertain("read"), i.uncertain("temp")], |[r, t]| {
            Ok(hydrometer::offset_from_water(s, g(r)?, Celsius::new(t)?)?.get())
        })?;
        Ok(Answer::of(vec![number_line("offset", offset, "", 4)])
            .note("Keep it with the instrument: it is taken off every reading."))
    },
};

pub(super) const REFRACTOMETER: FigureSpec = FigureSpec {
    id: "refractometer",
    title: "refractometer in a ferment",
    group: Group::Gravity,
    about: "Sugar, alcohol and gravity from Brix and either the original gravity or a hydrometer reading.",
    inputs: &[
        In::need(
            "brix",
            "reading",
            Kind::Extract,
            "at 20 °C or with an instrument that compensates",
        ),
        In::maybe("og", "original gravity", Kind::Gravity, "if it is known"),
        In::maybe(
            "sg",
            "hydrometer, corrected",
            Kind::Gravity,
            "if the original is not known",
        ),
        In::usual(
            "factor",
            "instrument factor",
            Kind::Number { min: 0.8, max: 1.2 },
            "1",
            "reading / factor = true Brix",
        ),
    ],
    formula: "n(reading) = n(sugar) + n(alcohol) - n(water), with Balling's balance (original known) or Tabarie's gravities (hydrometer)",
    source: &[source::HANDBOOK, source::BALLING, source::TABARIE],
    range: "original to 45 °P, alcohol to 20 % by mass; two instruments err by about 0.9 % vol, the model alone",
    compute: refractometer_figure,
};

fn refractometer_figure(i: &Inputs<'_>) -> Result<Answer, Refusal> {
    type Both = fn(Brix, Gravity) -> Result<refractometer::Seen, SumError>;
    let factor = i.number("factor");
    let (second, model, sum): (_, f64, Both) = match (i.has("og"), i.has("sg")) {
        (true, false) => ("og", 0.3, refractometer::with_original),
        (false, true) => (
            "sg",
            refractometer::MODEL_ERROR,
            refractometer::with_hydrometer,
        ),
        _ => {
            return Err(Refusal::Words(
                "give either og (original gravity) or sg (hydrometer now), not both".into(),
            ));
        }
    };
    let seen = |b: f64, s: f64| sum(refractometer::true_brix(Brix::new(b)?, factor)?, g(s)?);
    let inputs = [i.uncertain("brix"), i.uncertain(second)];
    let at =
        |f: fn(&refractometer::Seen) -> f64| propagate(inputs, |[b, s]| seen(b, s).map(|x| f(&x)));
    let vol = at(|x| x.by_volume.get())?.and(model);
    let mut lines = vec![
        number_line("alcohol", vol, "% vol", 1),
        number_line("real extract", at(|x| x.real_extract.get())?, "°P", 1),
    ];
    if second == "og" {
        lines.insert(
            0,
            gravity_line("gravity", at(|x| x.gravity.get())?.and(0.001)),
        );
    } else {
        lines.push(number_line(
            "original extract",
            at(|x| x.original.get())?,
            "°P",
            1,
        ));
    }
    Ok(Answer::of(lines)
        .note("A hydrometer is surer: alcohol bends light much like the sugar it came from."))
}

pub(super) const HONEY_WATER: FigureSpec = FigureSpec {
    id: "honey-water",
    title: "water in honey",
    group: Group::Gravity,
    about: "Water content of a honey from its refraction.",
    inputs: &[
        In::need(
            "n",
            "refraction at 20 °C",
            Kind::Number {
                min: 1.46,
                max: 1.52,
            },
            "nD as the refractometer shows it",
        ),
        In::usual(
            "temp",
            "temperature",
            Kind::Temperature,
            "20c",
            "0.00023 is added for each degree above 20 °C",
        ),
    ],
    formula: "W = (-0.26810 - log10(n - 1)) / 0.002243",
    source: &[source::HONEY_WATER],
    range: "13 to 25 % water; error 0.02 % against the table",
    compute: |i| {
        let n = i.number("n") + 0.00023 * (i.number("temp") - 20.0);
        let water = refractometer::honey_water(RefractiveIndex::new(n)?)?.get();
        Ok(Answer::of(vec![
            Line::number("water", 100.0 * water, "%", 1).within(0.1),
            Line::number("solids", 100.0 * (1.0 - water), "%", 1).within(0.1),
        ]))
    },
};

pub(super) const ALCOHOL: FigureSpec = FigureSpec {
    id: "alcohol",
    title: "alcohol from two gravities",
    group: Group::Alcohol,
    about: "Alcohol, real extract and attenuation from the original and the present gravity.",
    inputs: &[
        In::need("og", "original gravity", Kind::Gravity, "before the yeast"),
        In::need("sg", "present gravity", Kind::Gravity, "corrected"),
    ],
    formula: "Balling: OE = 100 (2.0665 A + ER)/(100 + 1.0665 A); Tabarie: SG(ER) = SG - SG(alcohol) + 1; % vol = A x density / 789.24",
    source: &[
        source::BALLING,
        source::TABARIE,
        source::ALCOHOLOMETRY,
        source::CUTAIA,
    ],
    range: "original to 60 °P; the balance itself errs by 2.4 % of the alcohol",
    compute: alcohol_figure,
};

fn alcohol_figure(i: &Inputs<'_>) -> Result<Answer, Refusal> {
    let (og, sg) = (i.gravity("og"), i.gravity("sg"));
    let inputs = [i.uncertain("og"), i.uncertain("sg")];
    let vol = propagate(inputs, |[o, s]| Ok(alcohol::by_volume(g(o)?, g(s)?)?.get()))?;
    let vol = vol.and(vol.value * alcohol::BALANCE_ERROR);
    let b = alcohol::balance(og, sg)?;
    Ok(Answer::of(vec![
        number_line("alcohol", vol, "% vol", 2),
        Line::number("alcohol by mass", b.by_mass.get(), "% mass", 1),
        Line::number(
            "rule of thumb, (OG - SG) x 131.25",
            alcohol::rule_of_thumb(og, sg).get(),
            "% vol",
            1,
        ),
        Line::number("real extract", b.real_extract.get(), "°P", 1),
        Line::number("apparent extract", b.apparent_extract.get(), "°P", 1),
        Line::number("apparent attenuation", b.apparent_attenuation(), "%", 0),
        Line::number(
            "real attenuation",
            100.0 * b.real_attenuation().get(),
            "%",
            0,
        ),
    ]))
}

pub(super) const SHARE: FigureSpec = FigureSpec {
    id: "share",
    title: "share of the sugar gone",
    group: Group::Alcohol,
    about: "How much of the fermentable sugar is gone, and the gravity at a third and a half.",
    inputs: &[
        In::need("og", "original gravity", Kind::Gravity, "before the yeast"),
        In::need("sg", "present gravity", Kind::Gravity, "corrected"),
        In::usual(
            "fg",
            "expected final gravity",
            Kind::Gravity,
            "1.000",
            "about 0.997 for a dry mead",
        ),
    ],
    formula: "share = (OG - SG)/(OG - FG)",
    source: &[source::PRACTICE],
    range: "0 to 100 %; good to 1 % if the final gravity is right",
    compute: |i| {
        let (og, sg, fg) = (i.gravity("og"), i.gravity("sg"), i.gravity("fg"));
        let share = propagate([i.uncertain("og"), i.uncertain("sg")], |[o, s]| {
            Ok(100.0 * alcohol::share_gone(g(o)?, g(s)?, fg)?.get())
        })?;
        alcohol::share_gone(og, sg, fg)?;
        let at = |s: f64| alcohol::gravity_at_share(og, fg, Share::known(s));
        Ok(Answer::of(vec![
            number_line("sugar gone", share, "%", 0),
            Line::new("a third gone at", Shown::Gravity(at(1.0 / 3.0)?.get())),
            Line::new("half gone at", Shown::Gravity(at(0.5)?.get())),
        ]))
    },
};

const FERMENTS: Kind = Kind::Choice(&[("dry", "honey, juice, sugar"), ("wort", "malt")]);

pub(super) const FINISH: FigureSpec = FigureSpec {
    id: "finish",
    title: "expected end",
    group: Group::Alcohol,
    about: "Final gravity and alcohol to expect, and what the yeast cannot finish.",
    inputs: &[
        In::need("og", "original gravity", Kind::Gravity, "before the yeast"),
        In::usual("kind", "must", FERMENTS, "dry", "what it was made of"),
        In::maybe(
            "tolerance",
            "yeast's tolerance",
            Kind::Alcohol,
            "alcohol at which it stops",
        ),
    ],
    formula: "0.86 of the extract (malt: 0.61) disappears by Balling's balance, or as much as gives the tolerance; gravity by Tabarie",
    source: &[source::BALLING, source::TABARIE, source::PRACTICE],
    range: "original to 50 °P; final gravity ± 0.004",
    compute: |i| {
        let fermentable = if i.choice("kind") == "wort" {
            finish::WORT_SHARE
        } else {
            finish::DRY_SHARE
        };
        let tolerance: Option<Abv> = i.has("tolerance").then(|| i.abv("tolerance"));
        let end = finish::finish(i.gravity("og"), Share::known(fermentable), tolerance)?;
        let stopped = match end.stopped_by {
            finish::StoppedBy::SugarGone => "the sugar is gone",
            finish::StoppedBy::Tolerance => "the yeast's tolerance",
        };
        Ok(Answer::of(vec![
            Line::new("final gravity", Shown::Gravity(end.gravity.get()))
                .within(finish::FINAL_ERROR),
            Line::number("alcohol", end.alcohol.get(), "% vol", 1).within(0.03 * end.alcohol.get()),
            Line::words("ends because", stopped),
            Line::number("fermentable sugar left", end.sugar_left.get(), "g/L", 0),
        ]))
    },
};

pub(super) const ETHANOL: FigureSpec = FigureSpec {
    id: "ethanol",
    title: "alcohol by mass and by volume",
    group: Group::Alcohol,
    about: "Turns percent by volume of alcohol in water into percent by mass, with density.",
    inputs: &[In::need(
        "vol",
        "alcohol by volume",
        Kind::Alcohol,
        "at 20 °C",
    )],
    formula: "% vol = 100 p rho(p)/rho(ethanol) at 20 °C, inverted",
    source: &[source::ALCOHOLOMETRY],
    range: "0 to 100 % vol, water and ethanol alone; error 0.01 %",
    compute: |i| {
        let by_mass = alcohol::mass_of_volume(i.abv("vol"))?;
        let rho = crate::domain::sums::density::ethanol(by_mass, Celsius::known(20.0))?;
        Ok(Answer::of(vec![
            Line::number("alcohol by mass", by_mass.get(), "% mass", 2),
            Line::number("density at 20 °C", rho.get(), "kg/m³", 1),
            Line::number("ethanol", i.number("vol") * 7.8924, "g/L", 0),
        ]))
    },
};

pub(super) const MASS_LOSS: FigureSpec = FigureSpec {
    id: "mass",
    title: "vessel on a scale",
    group: Group::Gravity,
    about: "Gravity and alcohol from the mass that a vessel has lost since pitching.",
    inputs: &[
        In::need("og", "original gravity", Kind::Gravity, "before the yeast"),
        In::need(
            "volume",
            "must at the start",
            Kind::Volume,
            "without headspace",
        ),
        In::need(
            "lost",
            "mass lost",
            Kind::Mass,
            "first weighing less this one; add back what was sampled",
        ),
        In::usual("scale", "the scale errs by", Kind::Mass, "1g", "its step"),
        In::usual(
            "temp",
            "temperature",
            Kind::Temperature,
            "20c",
            "of the room, mean",
        ),
        In::usual(
            "days",
            "days since",
            Kind::Days,
            "7",
            "for what dries through the airlock",
        ),
    ],
    formula: "ethanol = CO2 / 0.9565, extract used = 2.0665 x ethanol; CO2 = loss + what stays dissolved at 1 atm - half the vapour; vapour bounded by saturation and 0.1 g a day",
    source: &[source::BALLING, source::TABARIE, source::WEISS],
    range: "0 to 40 °C, original to 50 °P",
    compute: |i| {
        let lost = mass::from_loss(
            i.gravity("og"),
            i.litres("volume"),
            i.grams("lost"),
            i.grams("scale"),
            i.celsius("temp"),
            i.days("days"),
        )?;
        Ok(Answer::of(vec![
            gravity_line("gravity", lost.gravity),
            number_line("alcohol", lost.alcohol, "% vol", 1),
            Line::new("still dissolved", Shown::Mass(lost.dissolved.get())),
            Line::new("vapour at most", Shown::Mass(lost.vapour_at_most.get())),
        ]))
    },
};
