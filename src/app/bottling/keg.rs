//! A keg as a package: its pressure, when it is carbonated, its glasses.

use crate::app::panel::{Line, LineTone, line};
use crate::app::{cautions, say};
use crate::domain::deeds::{Deed, NewEvent};
use crate::domain::records::{
    Dossier, EventKind, HoldKind, Place, StepKind, StepRule, UnitSystem, Vessel,
};
use crate::domain::sums::carbonation::{self, Drink};
use crate::domain::units::{Celsius, GaugeBar, Litres, Moment, Volumes, batch_day};
use crate::engine::bottling::{self, Hold, KEG_DAYS};
use crate::engine::{cellar, handling};

/// A keg as a package.
#[derive(Debug, Clone)]
pub struct Keg {
    /// Which.
    pub vessel: Vessel,
    /// Pressure at the regulator; none where the drink holds so little without.
    pub pressure: Option<GaugeBar>,
    /// At that temperature.
    pub at: Celsius,
    /// Gas it then holds.
    pub target: Volumes,
    /// Glasses in it.
    pub glasses: u32,
    /// What goes in.
    pub volume: Litres,
    /// Why it is not strong enough; empty where it is.
    pub holds: Vec<Hold>,
    /// Its working pressure, where that is to be saved with it.
    pub rating: Option<GaugeBar>,
    /// Warmest day of its place, where that is to be saved with it.
    pub summer: Option<Celsius>,
}

/// What a keg is to hold, and how warm it gets.
#[derive(Debug, Clone, Copy)]
pub struct KegWish {
    /// Target CO2.
    pub target: Volumes,
    /// Temperature at which it stands.
    pub at: Celsius,
    /// What goes in.
    pub volume: Litres,
    /// Working pressure as typed; else what was saved with the keg counts.
    pub rating: Option<GaugeBar>,
    /// Warmest day as typed; else that of its place.
    pub summer: Option<Celsius>,
}

impl Keg {
    /// What a keg takes and how it is set; a sentence where it does not fit.
    pub fn of(
        vessel: Vessel,
        place: Option<&Place>,
        drink: Drink,
        wish: &KegWish,
    ) -> Result<Self, String> {
        let KegWish {
            target, at, volume, ..
        } = *wish;
        if volume.get() > vessel.capacity.get() {
            return Err(format!("{} holds less than that.", vessel.tag));
        }
        if let Some(p) = wish.rating.filter(|p| *p > bottling::MOST_KEG_RATING) {
            return Err(format!(
                "{:.0} bar is no working pressure of a keg: up to 9 bar (130 psi) are accepted.",
                p.get()
            ));
        }
        let summer = wish.summer.unwrap_or_else(|| bottling::summer(place));
        let rated = wish.rating.or(vessel.rated);
        let holds =
            bottling::keg_holds(target, drink, at, summer, rated).map_err(|e| format!("{e}."))?;
        Ok(Self {
            holds,
            rating: wish.rating.filter(|p| vessel.rated != Some(*p)),
            summer: wish
                .summer
                .filter(|t| place.is_none_or(|p| p.summer != Some(*t))),
            pressure: carbonation::keg(target, drink, at).ok(),
            at,
            target,
            glasses: (volume.get() / cellar::glass().get() + 1e-9).floor() as u32,
            volume,
            vessel,
        })
    }
}

/// What there is to say of it.
pub fn lines(keg: &Keg, units: UnitSystem) -> Vec<Line> {
    let glasses = say::count(i64::from(keg.glasses), "glass", "glasses");
    let volume = say::volume(keg.volume, units);
    let mut lines = vec![line(
        LineTone::Plain,
        format!("{volume} into {}: {glasses} of 12 fl oz", keg.vessel.tag),
    )];
    lines.push(match keg.pressure {
        Some(p) => line(
            LineTone::Title,
            format!(
                "{} at the regulator for {:.1} volumes at {}",
                say::pressure(p, units),
                keg.target.get(),
                say::temperature(keg.at, units)
            ),
        ),
        None => line(
            LineTone::Plain,
            "It holds so little CO2 without any pressure.",
        ),
    });
    if keg.pressure.is_some() {
        lines.push(line(
            LineTone::Muted,
            format!("It takes about {KEG_DAYS} days to carbonate (common practice, no source)."),
        ));
    }
    lines.push(line(LineTone::Watch, cautions::GAS));
    lines
}

/// The deed: racked into the keg, the regulator's setting in the ledger, a
/// first glass as a step, and why a hold was overridden.
pub fn deed(
    dossier: &Dossier,
    from: &Vessel,
    keg: &Keg,
    now: Moment,
    units: UnitSystem,
    (overrides, reason): (&[HoldKind], &str),
) -> Deed {
    let batch = dossier.batch.id;
    let event = |kind, substance: &str, note| {
        Deed::AddEvent(NewEvent {
            batch,
            vessel: None,
            step: None,
            at: now,
            kind,
            substance: substance.to_owned(),
            mass: None,
            volume: None,
            note,
        })
    };
    let mut deeds = Vec::new();
    let lifted = overrides.iter();
    deeds.extend(lifted.map(|k| event(EventKind::Overrule, k.word(), reason.to_owned())));
    deeds.extend(keg.rating.map(|rating| Deed::KegRating {
        vessel: keg.vessel.id,
        rating,
    }));
    deeds.extend(keg.summer.map(|warmest| Deed::PlaceSummer {
        place: keg.vessel.place,
        warmest,
    }));
    let note = "into the keg";
    let volume = Some(keg.volume);
    deeds.push(handling::rack_deed(
        dossier,
        from,
        &keg.vessel,
        now,
        volume,
        false,
        note,
    ));
    if let Some(p) = keg.pressure {
        let setting = format!(
            "{}{} for {:.1} volumes at {}",
            cellar::REGULATOR,
            say::pressure(p, units),
            keg.target.get(),
            say::temperature(keg.at, units)
        );
        deeds.push(event(EventKind::Note, "", setting));
        deeds.extend(first_glass(dossier, keg, now).map(|rule| Deed::AddStep { batch, rule }));
    }
    let last = dossier.vessels().count() == 1;
    let step = dossier
        .steps
        .iter()
        .find(|s| last && s.is_open() && s.rule.kind == StepKind::Bottle);
    deeds.extend(step.map(|s| Deed::StepSkip {
        step: s.id,
        at: now,
        reason: format!("kegged into {} instead", keg.vessel.tag),
    }));
    Deed::Together {
        name: format!("{} kegged into {}", from.tag, keg.vessel.tag),
        deeds,
    }
}

/// The day on which the keg should be carbonated.
fn first_glass(dossier: &Dossier, keg: &Keg, now: Moment) -> Option<StepRule> {
    let day = batch_day(dossier.batch.pitched?, now.day()) + KEG_DAYS;
    let key = format!("first-glass-{}", keg.vessel.tag.to_lowercase());
    let new = dossier.steps.iter().all(|s| s.rule.key != key);
    new.then(|| StepRule {
        title: format!("draw a first glass from {}", keg.vessel.tag),
        why: "It should be carbonated by now: too little, leave it longer; too much, lower the regulator and let some off.".into(),
        harm: "None: at its pressure it takes no more gas than it should.".into(),
        ..bottling::rule(&key, StepKind::Taste, i32::try_from(day).unwrap_or(i32::MAX), 14)
    })
}
