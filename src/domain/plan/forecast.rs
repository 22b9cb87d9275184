use super::{Aim, Part, PartKind, Plan};
use crate::domain::records::{Style, YeastClass};
use crate::domain::sums::finish::{self, DRY_SHARE, StoppedBy, WORT_SHARE};
use crate::domain::units::{Abv, GramsPerLitre, Gravity, Share};

/// Attenuation that [`WORT_SHARE`] stands for, %.
const USUAL_ATTENUATION: f64 = 75.0;

/// How a must is expected to end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Final {
    /// Final gravity.
    pub gravity: Gravity,
    /// Alcohol.
    pub alcohol: Abv,
    /// Sugar that the yeast could have used but does not reach.
    pub sugar_left: GramsPerLitre,
    /// Whether the yeast gives up before the sugar is gone.
    pub gives_up: bool,
}

/// Share of a part's solids that can disappear. That of malt goes with the
/// yeast's attenuation, the usual 75 % apparent being the table's figure.
fn fermentable_of(part: &Part, yeast: &YeastClass) -> f64 {
    let usual = part.ingredient().fermentable().get();
    match part.kind {
        PartKind::Malt => {
            usual * yeast.attenuation.unwrap_or(USUAL_ATTENUATION) / USUAL_ATTENUATION
        }
        _ => usual,
    }
}

/// Share of the whole extract that can disappear.
fn fermentable(plan: &Plan) -> Share {
    let all = plan.solids_mass();
    if all < 1e-9 {
        return Share::clamped(match plan.style {
            Style::Beer => WORT_SHARE,
            Style::Mead | Style::Cider => DRY_SHARE,
        });
    }
    let gone: f64 = plan
        .parts
        .iter()
        .map(|p| p.solids_mass() * fermentable_of(p, &plan.yeast))
        .sum();
    Share::clamped(gone / all)
}

/// The expected end of a plan whose must has this original gravity, with the
/// yeast's tolerance moved by some % vol.
pub(super) fn ends_at(plan: &Plan, original: Gravity, more: f64) -> Final {
    let tolerance = Abv::clamped(plan.yeast.tolerance.get() + more);
    match finish::finish(original, fermentable(plan), Some(tolerance)) {
        Ok(f) => Final {
            gravity: f.gravity,
            alcohol: f.alcohol,
            sugar_left: f.sugar_left,
            gives_up: f.stopped_by == StoppedBy::Tolerance,
        },
        // Beyond 50 °P nothing is known: nothing ferments.
        Err(_) => Final {
            gravity: original,
            alcohol: Abv::clamped(0.0),
            sugar_left: GramsPerLitre::clamped(0.0),
            gives_up: true,
        },
    }
}

impl Plan {
    /// How it is expected to end.
    pub fn ends(&self) -> Final {
        ends_at(self, self.original(), 0.0)
    }

    /// The aim as the numbers stand, in the kind that was chosen.
    pub(super) fn aim_as_is(&self) -> Aim {
        match self.aim {
            Aim::Original(_) => Aim::Original(self.original()),
            Aim::Alcohol(_) => Aim::Alcohol(self.ends().alcohol),
            Aim::Sweetness(_) => Aim::Sweetness(self.ends().gravity),
        }
    }
}

impl Plan {
    /// Whether the numbers as they stand lead to this aim.
    pub fn meets(&self, aim: Aim) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() < 2e-4 * b.abs().max(1.0);
        match aim {
            Aim::Original(g) => near(self.original().get(), g.get()),
            Aim::Alcohol(a) => near(self.ends().alcohol.get(), a.get()),
            Aim::Sweetness(g) => near(self.ends().gravity.get(), g.get()),
        }
    }
}
