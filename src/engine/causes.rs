//! Causes of trouble, weighed by what speaks for and against each.
//!
//! The weights are judgement in the manner of practice, not measured: each
//! sign multiplies a cause's odds (no source). What is shown is the order and
//! the signs.

use super::assess::{HOT, Teller};
use super::evidence::{NEAR_LIMIT, Reasons};
use super::posterior::Hypothesis;
use super::{
    Assessment, Cause, CauseWeight, EventKind, FermentState, Seen, Sign, Style, SuspicionWhy,
};
use crate::domain::units::{Celsius, CelsiusDelta, GravityDelta, MilligramsPerLitre, Ph, Share};

/// Probability of trouble from which causes are weighed.
const TROUBLE: f64 = 0.2;
/// Causes lighter than this are left out.
const LIGHT: f64 = 0.03;
/// Practice: below this pH yeast suffers.
pub(crate) const ACID: f64 = 3.1;
/// Practice: a must above this began with too much sugar.
pub(crate) const STRONG: f64 = 1.120;

/// Weighs the causes; none where there is no trouble.
pub(crate) fn weigh(t: &Teller<'_>, said: &Assessment, reasons: &Reasons) -> Vec<CauseWeight> {
    let soon = t.picture.soon_stuck;
    if said.stuck.probability.get().max(soon) < TROUBLE {
        return Vec::new();
    }
    let bench = Bench::new(t, said, reasons);
    let mut all = vec![
        bench.wrong_reading(),
        bench.cold(),
        bench.heat(),
        bench.low_nitrogen(),
        bench.alcohol_limit(),
        bench.too_much_sugar(),
        bench.acid(),
        bench.few_cells(),
        bench.preservative(),
        bench.settled_yeast(),
    ];
    let sum: f64 = all.iter().map(|c| c.odds).sum();
    all.sort_by(|a, b| b.odds.total_cmp(&a.odds));
    all.into_iter()
        .map(|c| c.weighed(sum))
        .filter(|c| c.weight.get() >= LIGHT)
        .collect()
}

struct Weighing {
    cause: Cause,
    odds: f64,
    speaks_for: Vec<Sign>,
    speaks_against: Vec<Sign>,
}

impl Weighing {
    fn new(cause: Cause, odds: f64) -> Self {
        Self {
            cause,
            odds,
            speaks_for: Vec::new(),
            speaks_against: Vec::new(),
        }
    }

    /// A sign for the cause, with the factor on its odds.
    fn pro(&mut self, factor: f64, sign: Sign) {
        self.odds *= factor;
        self.speaks_for.push(sign);
    }

    /// A sign against it.
    fn con(&mut self, factor: f64, sign: Sign) {
        self.odds *= factor;
        self.speaks_against.push(sign);
    }

    fn weighed(self, sum: f64) -> CauseWeight {
        CauseWeight {
            cause: self.cause,
            weight: Share::clamped(self.odds / sum),
            speaks_for: self.speaks_for,
            speaks_against: self.speaks_against,
        }
    }
}

struct Bench<'a> {
    t: &'a Teller<'a>,
    said: &'a Assessment,
    reasons: &'a Reasons,
    gradual: f64,
    never: f64,
    fell: GravityDelta,
}

impl<'a> Bench<'a> {
    fn new(t: &'a Teller<'a>, said: &'a Assessment, reasons: &'a Reasons) -> Self {
        let weight = |wanted: fn(Hypothesis) -> bool| -> f64 {
            t.picture
                .particles
                .iter()
                .filter(|p| wanted(p.hypothesis))
                .map(|p| p.weight)
                .sum()
        };
        let og = t.picture.mean_og();
        let here = said
            .gravity_now
            .map_or(og, |g| g.p50.get() - t.prior.reference);
        Self {
            t,
            said,
            reasons,
            gradual: weight(|h| h == Hypothesis::RunsDown),
            never: weight(|h| h == Hypothesis::NeverStarted),
            fell: GravityDelta::clamped(og - here),
        }
    }

    fn wrong_reading(&self) -> Weighing {
        let mut w = Weighing::new(Cause::WrongReading, 0.08);
        for s in &self.said.suspicious {
            match s.why {
                SuspicionWhy::TooHigh(off) => w.pro(2.5, Sign::OddReading { off }),
                SuspicionWhy::TooLow(d) => w.pro(
                    1.5,
                    Sign::OddReading {
                        off: GravityDelta::clamped(-d.get()),
                    },
                ),
                SuspicionWhy::Unusable | SuspicionWhy::SaysLittle => {}
            }
        }
        let float = self
            .t
            .readings
            .iter()
            .any(|r| !matches!(r.seen, Seen::Refractometer { .. } | Seen::Acidity { .. }));
        if !float {
            w.pro(5.0, Sign::RefractometerOnly);
        }
        if self.reasons.level >= 3 {
            let readings = self.reasons.level;
            w.con(0.25, Sign::ReadingsAgree { readings });
        }
        w
    }

    fn lately(&self) -> Sign {
        Sign::TemperatureLately {
            mean: Celsius::clamped(self.reasons.lately),
            low: Celsius::clamped(self.reasons.low),
        }
    }

    fn cold(&self) -> Weighing {
        let mut w = Weighing::new(Cause::Cold, 0.14);
        let r = self.reasons;
        let lately = self.lately();
        if r.lately < r.low {
            w.pro(if r.lately < r.low - 3.0 { 12.0 } else { 4.0 }, lately);
        } else {
            w.con(0.3, lately);
        }
        if r.chill.0 >= 3.0 {
            w.pro(
                4.0,
                Sign::Chill {
                    by: CelsiusDelta::clamped(r.chill.0),
                },
            );
        }
        w
    }

    fn heat(&self) -> Weighing {
        let mut w = Weighing::new(Cause::Heat, 0.06);
        let peak = Sign::Peak {
            peak: Celsius::clamped(self.reasons.peak.0),
        };
        if self.reasons.peak.0 >= HOT {
            w.pro(15.0, peak);
        } else {
            w.con(0.5, peak);
        }
        if self.gradual < 0.3 && self.never < 0.3 {
            w.pro(1.5, Sign::SuddenStop);
        }
        w
    }

    fn low_nitrogen(&self) -> Weighing {
        let mut w = Weighing::new(
            Cause::LowNitrogen,
            if self.t.facts.style == Style::Mead {
                0.2
            } else {
                0.12
            },
        );
        let (mut given, mut times) = (0.0, 0);
        for e in &self.t.facts.events {
            if let EventKind::Nutrient { yan } = e.kind {
                times += 1;
                given += yan.map_or(0.0, MilligramsPerLitre::get);
            }
        }
        let wanted = wanted_nitrogen(self.t);
        if self.t.facts.style == Style::Beer {
            // Practice: all-malt wort has enough.
            w.con(0.3, Sign::MaltFeeds);
        } else if times == 0 {
            w.pro(2.0, Sign::NoNutrientLogged);
        } else if given > 0.0 {
            let sign = Sign::NitrogenGiven {
                given: MilligramsPerLitre::clamped(given),
                wanted: MilligramsPerLitre::clamped(wanted),
            };
            if given < 0.7 * wanted {
                w.pro(1.8, sign);
            } else {
                w.con(0.3, sign);
            }
        } else {
            w.con(0.6, Sign::NutrientLogged { times });
        }
        if self.gradual > 0.6 {
            w.pro(1.8, Sign::GradualStop);
        }
        if self.reasons.gone < 0.6 && self.gradual > 0.5 && self.never < 0.2 {
            w.pro(1.3, Sign::SlowThroughout);
        }
        w
    }

    fn alcohol_limit(&self) -> Weighing {
        let mut w = Weighing::new(Cause::AlcoholLimit, 0.12);
        if let Some(tolerance) = self.t.facts.yeast.tolerance {
            let sign = Sign::AlcoholBesideTolerance {
                abv: self.reasons.abv,
                tolerance,
            };
            let below = tolerance.get() - self.reasons.abv.get();
            if below <= NEAR_LIMIT {
                w.pro(8.0, sign);
            } else if below > 6.0 {
                w.con(0.1, sign);
            } else if below > 3.0 {
                w.con(0.5, sign);
            }
        }
        if self.gradual > 0.6 {
            w.pro(1.8, Sign::GradualStop);
        }
        w
    }

    fn too_much_sugar(&self) -> Weighing {
        let og = self.t.gravity(self.t.picture.mean_og());
        let mut w = Weighing::new(Cause::TooMuchSugar, 0.05);
        if og.get() > STRONG {
            w.pro(4.0, Sign::StartedAt { og });
        } else {
            w.con(0.3, Sign::StartedAt { og });
        }
        let lump = |e: &super::Event| matches!(e.kind, EventKind::SugarAdded { rise: Some(r) } if r.get() > 0.03);
        if self.t.facts.events.iter().any(lump) {
            w.pro(2.0, Sign::SugarInOneLump);
        }
        w
    }

    fn acid(&self) -> Weighing {
        let mut w = Weighing::new(
            Cause::Acid,
            if self.t.facts.style == Style::Mead {
                0.1
            } else {
                0.05
            },
        );
        match last_ph(self.t) {
            Some(ph) if ph.get() < ACID => w.pro(8.0, Sign::AcidityIs { ph }),
            Some(ph) => w.con(0.1, Sign::AcidityIs { ph }),
            None => w.speaks_for.push(Sign::AcidityUnknown),
        }
        w
    }

    fn few_cells(&self) -> Weighing {
        let mut w = Weighing::new(Cause::FewCells, 0.05);
        if self.never > 0.3 || self.said.states.likeliest() == FermentState::Lag {
            w.pro(
                10.0,
                Sign::NeverFell {
                    days: self.t.gathered.now,
                },
            );
        } else {
            w.con(0.5, Sign::DidFerment { fell: self.fell });
        }
        w
    }

    fn preservative(&self) -> Weighing {
        let mut w = Weighing::new(Cause::Preservative, 0.03);
        let dosed =
            |e: &super::Event| matches!(e.kind, EventKind::Sulfited | EventKind::Stabilised);
        if self.t.facts.events.iter().any(dosed) {
            w.pro(10.0, Sign::SulfiteLogged);
        } else {
            w.con(0.7, Sign::NoSulfiteLogged);
        }
        if self.never > 0.3 {
            w.pro(
                4.0,
                Sign::NeverFell {
                    days: self.t.gathered.now,
                },
            );
        } else {
            w.con(0.3, Sign::DidFerment { fell: self.fell });
        }
        w
    }

    fn settled_yeast(&self) -> Weighing {
        let mut w = Weighing::new(Cause::SettledYeast, 0.05);
        let stopped = self.reasons.stopped;
        let racked = self
            .t
            .facts
            .events
            .iter()
            .filter(|e| e.kind == EventKind::Racked)
            .map(|e| stopped - e.at.days_since(self.t.gathered.pitched))
            .filter(|d| (-1.0..7.0).contains(d))
            .fold(f64::INFINITY, f64::min);
        if racked.is_finite() {
            w.pro(
                8.0,
                Sign::RackedBefore {
                    days: racked.max(0.0),
                },
            );
        } else {
            w.con(1.0, Sign::NotRacked);
        }
        if self.reasons.lately < self.reasons.low {
            w.pro(2.0, self.lately());
        }
        w
    }
}

/// The last acidity read.
pub(crate) fn last_ph(t: &Teller<'_>) -> Option<Ph> {
    t.readings
        .iter()
        .filter(|r| r.at <= t.now)
        .filter_map(|r| match r.seen {
            Seen::Acidity { ph } => Some((r.at, ph)),
            _ => None,
        })
        .max_by_key(|(at, _)| *at)
        .map(|(_, ph)| ph)
}

/// Nitrogen that such a must wants beside its own, mg/L: practice's default for
/// a yeast of middling demand, °Bx x 10, from 150 to 350.
fn wanted_nitrogen(t: &Teller<'_>) -> f64 {
    // Near enough four points of gravity to one degree Brix.
    let brix = (t.picture.mean_og() + t.prior.reference - 1.0) * 1000.0 / 4.1;
    (brix * 10.0).clamp(150.0, 350.0)
}
