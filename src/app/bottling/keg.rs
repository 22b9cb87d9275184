//! A keg as a package: its pressure, when it holds its gas, its glasses.

use crate::app::panel::{Line, LineTone, line};
use crate::app::{cautions, say};
use crate::domain::deeds::{Deed, NewEvent};
use crate::domain::records::{Dossier, EventKind, StepKind, StepRule, UnitSystem, Vessel};
use crate::domain::sums::carbonation::{self, Drink};
use crate::domain::units::{Celsius, GaugeBar, Litres, Moment, Volumes, batch_day};
use crate::engine::bottling::{self, KEG_DAYS};
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
}

impl Keg {
    /// What a keg takes and how it is set; a sentence where it does not fit.
    pub fn of(
        vessel: Vessel,
        drink: Drink,
        target: Volumes,
        at: Celsius,
        volume: Litres,
    ) -> Result<Self, String> {
        if volume.get() > vessel.capacity.get() {
            return Err(format!("{} holds less than that.", vessel.tag));
        }
        Ok(Self {
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
            "So little gas it holds without any pressure.",
        ),
    });
    if keg.pressure.is_some() {
        lines.push(line(
            LineTone::Muted,
            format!("It takes about {KEG_DAYS} days to hold its gas (common practice, no source)."),
        ));
    }
    lines.push(line(LineTone::Watch, cautions::GAS));
    lines
}

/// The deed: racked into the keg, the regulator's setting in the ledger, a
/// first glass as a step, and why a hold was overruled.
pub fn deed(
    dossier: &Dossier,
    from: &Vessel,
    keg: &Keg,
    now: Moment,
    units: UnitSystem,
    reason: Option<String>,
) -> Deed {
    let batch = dossier.batch.id;
    let event = |kind, note| {
        Deed::AddEvent(NewEvent {
            batch,
            vessel: None,
            step: None,
            at: now,
            kind,
            substance: String::new(),
            mass: None,
            volume: None,
            note,
        })
    };
    let mut deeds = Vec::new();
    deeds.extend(reason.map(|r| event(EventKind::Overrule, r)));
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
        deeds.push(event(EventKind::Note, setting));
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

/// The day on which the keg should hold its gas.
fn first_glass(dossier: &Dossier, keg: &Keg, now: Moment) -> Option<StepRule> {
    let day = batch_day(dossier.batch.pitched?, now.day()) + KEG_DAYS;
    let key = format!("first-glass-{}", keg.vessel.tag.to_lowercase());
    let new = dossier.steps.iter().all(|s| s.rule.key != key);
    new.then(|| StepRule {
        title: format!("draw a first glass from {}", keg.vessel.tag),
        why: "It should hold its gas by now: too little, leave it longer; too much, lower the regulator and let some off.".into(),
        harm: "None: at its pressure it takes no more gas than it should.".into(),
        ..bottling::rule(&key, StepKind::Taste, i32::try_from(day).unwrap_or(i32::MAX), 14)
    })
}
