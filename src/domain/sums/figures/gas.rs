//! Figures of gas, priming, pressure and kegs.

use super::input::InputSpec as In;
use super::{Answer, FigureSpec, Group, Inputs, Kind, Line, Refusal, Shown};
use crate::domain::bottles::{self, MOST_GAS};
use crate::domain::cautions;
use crate::domain::sums::carbonation::{self, Drink, Primer, Rating, Verdict};
use crate::domain::sums::{gravity, source};
use crate::domain::units::{GramsPerLitre, Share, Volumes};

const ALCOHOL: In = In::usual("abv", "alcohol", Kind::Alcohol, "12", "of the drink");
const SUGAR: In = In::usual(
    "sugar",
    "sugar in it",
    Kind::GramsPerLitre,
    "0",
    "what the yeast leaves",
);

fn drink(i: &Inputs<'_>) -> Drink {
    Drink {
        alcohol: i.abv("abv"),
        sugar: i.grams_per_litre("sugar"),
    }
}

pub(super) const RESIDUAL: FigureSpec = FigureSpec {
    id: "residual",
    title: "gas left in a still drink",
    group: Group::Gas,
    about: "CO2 that stayed dissolved, by the warmest temperature since the ferment ended.",
    inputs: &[In::need(
        "warmest",
        "warmest since fermentation ended",
        Kind::Temperature,
        "for two days or more; unsure: the cooler figure",
    )],
    formula: "Henry's law for water at 1.013 bar: ln K0 = -60.2409 + 93.4517 (100/T) + 23.3585 ln(T/100)",
    source: &[source::WEISS, source::COOLPROP],
    range: "0 to 40 °C; ± 0.1 volume in a real drink, about 0.3 less when degassed or aged",
    compute: |i| {
        let held = carbonation::residual(i.celsius("warmest"))?;
        Ok(Answer::of(vec![
            Line::number("CO2 held", held.get(), "volumes", 2).within(0.1),
            Line::number(
                "the same",
                held.get() * carbonation::GRAMS_PER_VOLUME,
                "g/L",
                2,
            ),
        ]))
    },
};

const PRIMERS: Kind = Kind::Choice(&[
    ("sucrose", "table sugar"),
    ("dextrose", "dextrose monohydrate"),
    ("honey", "honey of 82 % sugar"),
    ("must", "kept-back must: give its gravity"),
]);

pub(super) const PRIME: FigureSpec = FigureSpec {
    id: "prime",
    title: "priming sugar",
    group: Group::Gas,
    about: "How much sugar, honey or must to add for a target carbonation, and the pressure it makes.",
    inputs: &[
        In::need(
            "volume",
            "volume to bottle",
            Kind::Volume,
            "what is really there",
        ),
        In::need(
            "target",
            "target CO2",
            Kind::Gas,
            "still to 1.0, light 1.5 to 2.2, sparkling 2.5 to 3.3; above 3.0 heavy bottles only",
        ),
        In::need(
            "warmest",
            "warmest since fermentation ended",
            Kind::Temperature,
            "it decides what gas is left",
        ),
        In::usual("with", "primer", PRIMERS, "sucrose", "what is added"),
        In::maybe(
            "must",
            "gravity of the kept-back must",
            Kind::Gravity,
            "for must as primer",
        ),
        In::usual(
            "storage",
            "warmest storage",
            Kind::Temperature,
            "30c",
            "for the pressure",
        ),
        ALCOHOL,
        SUGAR,
    ],
    formula: "grams = (target - residual) x 1.9768 x litres / (CO2 per gram: sucrose 0.5143, dextrose 0.4442, honey 0.387)",
    source: &[
        source::WEISS,
        source::EU_CO2,
        source::COOLPROP,
        source::USDA,
    ],
    range: "0 to 40 °C; ± 0.1 volume",
    compute: prime_figure,
};

fn primer(i: &Inputs<'_>) -> Result<Primer, Refusal> {
    Ok(match i.choice("with") {
        "dextrose" => Primer::DextroseMonohydrate,
        "honey" => Primer::Honey {
            sugar: Share::known(0.8212),
        },
        "must" if i.has("must") => Primer::Must {
            extract: Share::new(gravity::plato(i.gravity("must"))?.get() / 100.0)?,
        },
        "must" => {
            return Err(Refusal::Words(
                "must as primer needs its gravity: must=1.100".into(),
            ));
        }
        _ => Primer::Sucrose,
    })
}

/// No bottle or keg is filled with more.
fn refuse_beyond_any(gas: Volumes) -> Result<(), Refusal> {
    if gas <= MOST_GAS {
        return Ok(());
    }
    Err(Refusal::Words(format!(
        "{:.1} volumes is more than any bottle or keg is filled with: up to {:.1} are accepted",
        gas.get(),
        MOST_GAS.get()
    )))
}

fn prime_figure(i: &Inputs<'_>) -> Result<Answer, Refusal> {
    refuse_beyond_any(i.volumes("target"))?;
    let primer = primer(i)?;
    let (target, volume) = (i.volumes("target"), i.litres("volume"));
    let residual = carbonation::residual(i.celsius("warmest"))?;
    let dose = carbonation::priming(target, residual, volume, primer)?;
    let per_litre = carbonation::GRAMS_PER_VOLUME / primer.co2_per_gram() * volume.get();
    let storage = i.celsius("storage");
    let pressure = carbonation::bottle_pressure(target, drink(i), storage)?;
    let mut lines = vec![
        Line::new("to weigh", Shown::Mass(dose.amount.get())).within(0.1 * per_litre),
        Line::number("CO2 already dissolved", residual.get(), "volumes", 2),
        Line::number("alcohol added", dose.alcohol.get(), "% vol", 1),
        Line::new(
            "pressure at the warmest storage",
            Shown::Pressure(pressure.gauge.get()),
        ),
        Line::new("with safety margin", Shown::Pressure(pressure.safe.get())),
        Line::words(
            "bottles that take it",
            bottles::classes_that_take(target, pressure),
        ),
    ];
    if let Some(rho) = primer.liquid() {
        lines.insert(
            1,
            Line::new("which is", Shown::Volume(dose.amount.get() / rho)),
        );
    }
    let worst = carbonation::worst_case(target, i.grams_per_litre("sugar"))?;
    if i.number("sugar") > 0.0 {
        lines.push(Line::number(
            "if all sugar left ferments too",
            worst.get(),
            "volumes",
            1,
        ));
    }
    Ok(Answer::of(lines)
        .note("Weigh, boil in a little water, cool, mix evenly; never by the spoon.")
        .note(cautions::BOTTLES))
}

const RATINGS: Kind = Kind::Choice(&[
    ("volumes", "its maker states volumes of CO2"),
    ("pressure", "its maker states a working pressure"),
    ("none", "not made for pressure"),
]);

pub(super) const BOTTLE: FigureSpec = FigureSpec {
    id: "bottle",
    title: "pressure in the bottle",
    group: Group::Gas,
    about: "Pressure at the warmest storage, the worst case with all sugar left, against what the bottle bears.",
    inputs: &[
        In::need("gas", "gas in the drink", Kind::Gas, "after conditioning"),
        In::need(
            "storage",
            "warmest storage",
            Kind::Temperature,
            "summer counts",
        ),
        ALCOHOL,
        SUGAR,
        In::usual(
            "rated",
            "bottle's rating",
            RATINGS,
            "none",
            "ask its maker; burst pressure is no rating",
        ),
        In::maybe("volumes", "rated volumes", Kind::Gas, "with rated=volumes"),
        In::maybe(
            "pressure",
            "rated pressure",
            Kind::Pressure,
            "with rated=pressure",
        ),
    ],
    formula: "p = CO2 / solubility - air; solubility = 1.951 (0.86 - 0.01 A)(1 - 0.00144 S) g/L/bar at 20 °C, scaled by Henry's law of water; safe side + 5 % and the air shut in",
    source: &[source::EU_CO2, source::WEISS, source::BOTTLES],
    range: "0 to 40 °C, to 20 % vol, to 200 g/L sugar; plain water would read 2 to 17 % low",
    compute: bottle_figure,
};

fn rating(i: &Inputs<'_>) -> Result<Rating, Refusal> {
    let most = bottles::HIGHEST;
    let beyond = |over: bool| {
        let words = "no bottle is rated so high: up to 6 volumes or 8 bar (116 psi) are accepted; a burst pressure is no rating";
        if over {
            Err(Refusal::Words(words.into()))
        } else {
            Ok(())
        }
    };
    match i.choice("rated") {
        "volumes" if i.has("volumes") => {
            beyond(i.volumes("volumes") > most.volumes)?;
        }
        "pressure" if i.has("pressure") => {
            beyond(i.gauge("pressure") > most.pressure)?;
        }
        _ => {}
    }
    match i.choice("rated") {
        "volumes" if i.has("volumes") => Ok(Rating::Volumes(i.volumes("volumes"))),
        "pressure" if i.has("pressure") => Ok(Rating::Gauge(i.gauge("pressure"))),
        "none" => Ok(Rating::None),
        word => Err(Refusal::Words(format!(
            "rated={word} needs {word}=, as its maker states it"
        ))),
    }
}

fn bottle_figure(i: &Inputs<'_>) -> Result<Answer, Refusal> {
    let held = i.volumes("gas");
    let storage = i.celsius("storage");
    let sugar = i.grams_per_litre("sugar");
    let rating = rating(i)?;
    let pressure = carbonation::bottle_pressure(held, drink(i), storage)?;
    let worst = carbonation::worst_case(held, sugar)?;
    let dry = Drink {
        sugar: GramsPerLitre::known(0.0),
        ..drink(i)
    };
    let worst_pressure = carbonation::bottle_pressure(worst, dry, storage)?;
    let verdict = carbonation::against(rating, worst, worst_pressure);
    let words = match (rating, verdict) {
        (Rating::None, _) => "not made for pressure: do not fill it with a sparkling drink",
        (_, Verdict::Within) => "within its rating",
        (_, Verdict::Tight) => "within its rating, but by less than a tenth",
        (_, Verdict::Beyond) => "beyond its rating: do not fill",
    };
    let mut lines = vec![
        Line::new("pressure", Shown::Pressure(pressure.gauge.get())),
        Line::new("safe side", Shown::Pressure(pressure.safe.get())),
    ];
    if sugar.get() > 0.0 {
        lines.push(Line::number(
            "gas if all sugar ferments",
            worst.get(),
            "volumes",
            1,
        ));
        lines.push(Line::new(
            "pressure then, safe side",
            Shown::Pressure(worst_pressure.safe.get()),
        ));
    }
    lines.push(Line::words("this bottle", words));
    Ok(Answer::of(lines).note(cautions::BOTTLES))
}

pub(super) const UNFINISHED: FigureSpec = FigureSpec {
    id: "unfinished",
    title: "gas still to come",
    group: Group::Gas,
    about: "Gas that a ferment would still make in the bottle, and the gravity that would give a target.",
    inputs: &[
        In::need("og", "original gravity", Kind::Gravity, "before the yeast"),
        In::need("sg", "present gravity", Kind::Gravity, "corrected"),
        In::usual(
            "fg",
            "lowest possible gravity",
            Kind::Gravity,
            "0.992",
            "if in doubt lower",
        ),
        In::usual(
            "warmest",
            "warmest since",
            Kind::Temperature,
            "20c",
            "for the gas held already",
        ),
        In::usual(
            "target",
            "gas wanted",
            Kind::Gas,
            "2.5",
            "for the gravity to bottle at",
        ),
    ],
    formula: "CO2 = 0.9565 x alcohol still to be made (balance of extract), raised to the full yield of sugar, x 1.11",
    source: &[source::BALLING, source::COOLPROP],
    range: "original to 60 °P; hangs wholly on the final gravity: the least certain way to make gas",
    compute: |i| {
        let (og, sg, fg) = (i.gravity("og"), i.gravity("sg"), i.gravity("fg"));
        let residual = carbonation::residual(i.celsius("warmest"))?;
        let coming = carbonation::still_to_come(og, sg, fg)?;
        let all = Volumes::new(residual.get() + coming.get())?;
        let at = carbonation::bottle_at(og, fg, residual, i.volumes("target"))?;
        Ok(Answer::of(vec![
            Line::number("gas still to come", coming.get(), "volumes", 1),
            Line::number("with what is held", all.get(), "volumes", 1),
            Line::new("the target comes of bottling at", Shown::Gravity(at.get())),
        ])
        .note("Each 0.001 is half a volume: a hydrometer is too coarse to rely on here.")
        .note(cautions::BOTTLES))
    },
};

pub(super) const KEG: FigureSpec = FigureSpec {
    id: "keg",
    title: "regulator for a keg",
    group: Group::Gas,
    about: "Pressure that holds a keg at a target of gas.",
    inputs: &[
        In::need("target", "gas wanted", Kind::Gas, "volumes"),
        In::need(
            "temp",
            "temperature of the keg",
            Kind::Temperature,
            "of the drink, not the room",
        ),
        In::usual("abv", "alcohol", Kind::Alcohol, "5", "of the drink"),
        SUGAR,
    ],
    formula: "p = target x 1.9768 / solubility - 1.013 bar",
    source: &[source::EU_CO2, source::WEISS],
    range: "0 to 40 °C, to 20 % vol; ± 5 %",
    compute: |i| {
        refuse_beyond_any(i.volumes("target"))?;
        let p = carbonation::keg(i.volumes("target"), drink(i), i.celsius("temp"))?.get();
        Ok(Answer::of(vec![
            Line::new("regulator", Shown::Pressure(p)).within(0.05 * (p + carbonation::AIR)),
        ])
        .note("Never above the working pressure printed on the keg; often 60 psi (4.1 bar), from memory.")
        .note("Gas cylinders and kegs in a small room: air it well."))
    },
};
