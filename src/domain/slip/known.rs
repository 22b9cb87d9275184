//! What is known of the vessel a slip is for, and readings corrected by it.

use crate::domain::records::{
    Dossier, EventKind, Instrument, InstrumentKind, Measure, MeasureKind, Reading, Seen, Subject,
    Vessel,
};
use crate::domain::sums::gravity::{self, Scale};
use crate::domain::sums::hydrometer::{self, Hydrometer};
use crate::domain::sums::refractometer;
use crate::domain::units::{Abw, Brix, Celsius, Gravity, Gravity60F, GravityDelta, Moment};

/// Readings up to a day after pitching may still stand for the original
/// gravity, when none was taken before (common practice, no source).
const ORIGINAL_WITHIN_DAYS: f64 = 1.0;

/// What is known of the vessel that a slip is for.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// When the slip is typed.
    pub now: Moment,
    /// What lies in the vessel.
    pub dossier: Option<&'a Dossier>,
    /// The vessel.
    pub vessel: Option<&'a Vessel>,
    /// The maker's instruments.
    pub instruments: &'a [Instrument],
}

impl<'a> Known<'a> {
    /// Original gravity of the batch, and whether it was measured.
    pub fn original(&self) -> Option<(Gravity, bool)> {
        original_gravity(self.dossier?, self.instruments)
    }

    /// Original gravity, where alcohol must be allowed for at that time.
    fn fermenting_from(&self, at: Moment) -> Option<Gravity> {
        self.fermenting_at(at).then(|| self.original())?.map(first)
    }

    fn fermenting_at(&self, at: Moment) -> bool {
        let pitched = self.dossier.and_then(|d| d.batch.pitched);
        pitched.is_some_and(|pitched| at > pitched)
    }

    /// Corrected gravity of a reading of this batch.
    fn gravity_by(&self, reading: &Reading, original: Option<Gravity>) -> Option<Gravity> {
        let instrument = instrument_for(reading.seen, reading.instrument, self.instruments);
        corrected(reading.seen, reading.sample_temp, instrument, original)
    }

    /// Corrected gravity of something seen at a time, with the preferred instrument.
    pub fn gravity_seen(&self, seen: Seen, sample: Option<Seen>, at: Moment) -> Option<Gravity> {
        let instrument = instrument_for(seen, None, self.instruments);
        corrected(seen, sample, instrument, self.fermenting_from(at))
    }

    /// Hydrometer readings of the batch with their corrected gravity, oldest first.
    pub fn gravities(&self) -> impl Iterator<Item = (&'a Reading, Gravity)> + '_ {
        // Found once: to find it, all readings are looked through.
        let original = self.original().map(first);
        self.readings(MeasureKind::Hydrometer).filter_map(move |r| {
            let original = original.filter(|_| self.fermenting_at(r.at));
            self.gravity_by(r, original).map(|g| (r, g))
        })
    }

    /// Readings of one kind, oldest first.
    pub fn readings(&self, kind: MeasureKind) -> impl Iterator<Item = &'a Reading> + use<'a> {
        let vessel = self.vessel.map(|v| Subject::Vessel(v.id));
        // A mass is the vessel's own: another vessel's says nothing.
        let fits = move |r: &&Reading| {
            r.seen.kind() == kind
                && (kind != MeasureKind::Mass || vessel.is_none_or(|v| v == r.subject))
        };
        self.dossier
            .map_or(&[][..], |d| d.readings.as_slice())
            .iter()
            .filter(fits)
    }

    /// Whether sugar, fruit or another batch came in between two instants, so
    /// that gravity may have risen.
    pub fn sugar_between(&self, from: Moment, to: Moment) -> bool {
        self.dossier.is_some_and(|d| {
            d.events.iter().any(|e| {
                e.at >= from
                    && e.at <= to
                    && matches!(
                        e.kind,
                        EventKind::Sugar
                            | EventKind::Fruit
                            | EventKind::Sweeten
                            | EventKind::Prime
                            | EventKind::Blend
                            | EventKind::TopUp
                    )
            })
        })
    }

    /// Whether water or another drink came in between two instants, so that
    /// gravity may have fallen at once.
    pub fn poured_between(&self, from: Moment, to: Moment) -> bool {
        self.dossier.is_some_and(|d| {
            d.events.iter().any(|e| {
                e.at >= from
                    && e.at <= to
                    && matches!(
                        e.kind,
                        EventKind::Water | EventKind::TopUp | EventKind::Blend
                    )
            })
        })
    }
}

fn first<A, B>((a, _): (A, B)) -> A {
    a
}

/// The instrument named, or the preferred one for what was seen.
pub fn instrument_for(
    seen: Seen,
    named: Option<crate::domain::records::InstrumentId>,
    instruments: &[Instrument],
) -> Option<&Instrument> {
    if let Some(id) = named {
        return instruments.iter().find(|i| i.id == id);
    }
    let kind = match seen.kind() {
        MeasureKind::Hydrometer => InstrumentKind::Hydrometer,
        MeasureKind::Refractometer => InstrumentKind::Refractometer,
        _ => return None,
    };
    let usual = |i: &&Instrument| i.kind == kind && i.preferred;
    instruments.iter().find(usual)
}

/// Original gravity of a batch and whether it was measured: the last reading
/// before the yeast went in, else the first within a day after, else the plan.
pub(super) fn original_gravity(
    dossier: &Dossier,
    instruments: &[Instrument],
) -> Option<(Gravity, bool)> {
    let value = |r: &Reading| {
        let instrument = instrument_for(r.seen, r.instrument, instruments);
        corrected(r.seen, r.sample_temp, instrument, None)
    };
    let pitched = dossier.batch.pitched;
    let gravities = || {
        dossier.readings.iter().filter(|r| {
            matches!(
                r.seen.kind(),
                MeasureKind::Hydrometer | MeasureKind::Refractometer
            )
        })
    };
    let before = gravities()
        .filter(|r| pitched.is_none_or(|p| r.at <= p))
        .filter_map(value)
        .next_back();
    let soon_after = || {
        let pitched = pitched?;
        gravities()
            .filter(|r| r.at > pitched && r.at.days_since(pitched) <= ORIGINAL_WITHIN_DAYS)
            .find_map(value)
    };
    before
        .or_else(soon_after)
        .map(|g| (g, true))
        .or_else(|| dossier.batch.planned_og.map(|g| (g, false)))
}

/// A gravity seen, corrected for the instrument and the sample's temperature.
///
/// `original` lets the correction allow for the alcohol; give `None` for a must
/// that has not been pitched. The answer is `None` when it is no gravity at all.
pub fn corrected(
    seen: Seen,
    sample: Option<Seen>,
    instrument: Option<&Instrument>,
    original: Option<Gravity>,
) -> Option<Gravity> {
    let offset = instrument.map_or(0.0, |i| i.offset);
    match seen.measure() {
        Measure::Gravity(shown) => {
            let scale = instrument
                .and_then(|i| i.calibrated_at)
                .map_or(Scale::Sg20, scale_of);
            float(scale, offset, shown, sample, original)
        }
        Measure::Extract(shown) => {
            let scale = instrument
                .and_then(|i| i.calibrated_at)
                .map_or(Scale::Sg20, scale_of);
            let shown = gravity::from_plato(shown).ok()?;
            float(scale, offset, shown, sample, original)
        }
        Measure::Refraction(shown) => {
            let factor = instrument.map_or(1.0, |i| i.factor);
            let brix = Brix::new(shown.get() - offset).ok()?;
            let brix = refractometer::true_brix(brix, factor).ok()?;
            let fermenting = original.and_then(|og| refractometer::with_original(brix, og).ok());
            match fermenting {
                Some(seen) => Some(seen.gravity),
                None => gravity::from_brix(brix).ok(),
            }
        }
        _ => None,
    }
}

fn scale_of(calibrated_at: Celsius) -> Scale {
    if Gravity60F::is_scale_of(calibrated_at) {
        Scale::Sg60F
    } else if (calibrated_at.get() - 15.0).abs() < 0.25 {
        Scale::Sg15
    } else {
        Scale::Sg20
    }
}

fn float(
    scale: Scale,
    offset: f64,
    shown: Gravity,
    sample: Option<Seen>,
    original: Option<Gravity>,
) -> Option<Gravity> {
    let hydrometer = Hydrometer {
        scale,
        offset: GravityDelta::new(offset).ok()?,
    };
    let at = |t: Celsius| match original {
        Some(og) => hydrometer::corrected_in_ferment(hydrometer, shown, t, og),
        None => hydrometer::corrected(hydrometer, shown, t, Abw::known(0.0)),
    };
    let own = Celsius::clamped(scale.celsius());
    match sample.map(Seen::measure) {
        // Outside the equation's range the reading stands as it is.
        Some(Measure::Temperature(t)) => at(t).or_else(|_| at(own)).ok(),
        _ => at(own).ok(),
    }
    .or(Some(shown))
}
