//! The curve with its band.

use super::CurvePoint;
use super::assess::Teller;
use super::picture::spread;

/// Points of the grid.
const POINTS: usize = 37;
/// Particles that stand for all.
const PARTICLES: usize = 24;
/// Days shown beyond the present at least, and at most.
const BEYOND: (f64, f64) = (3.0, 60.0);

/// Gravity with its 80 % band from the pitch to the finish window.
pub(crate) fn trend(t: &Teller<'_>) -> Vec<CurvePoint> {
    let now = t.gathered.now;
    let finish = t.picture.finish_spread().map_or(now, |f| f.p90);
    let last = finish.clamp(now + BEYOND.0, now + BEYOND.1);
    let days: Vec<f64> = (0..POINTS)
        .map(|i| last * i as f64 / (POINTS - 1) as f64)
        .collect();
    let times: Vec<_> = days.iter().map(|d| t.picture.time(*d)).collect();
    let all: Vec<_> = t
        .picture
        .evenly(PARTICLES)
        .into_iter()
        .map(|p| t.picture.along(p, &times))
        .collect();
    days.iter()
        .enumerate()
        .filter_map(|(i, days)| {
            // Three points that stand for a normal: mean and spread are kept.
            let three = |at: (f64, f64)| [-1.2247, 0.0, 1.2247].map(|z| (at.0 + z * at.1, 1.0));
            let values = all.iter().flat_map(|p| three(p[i])).collect();
            Some(CurvePoint {
                at: t.gathered.pitched.plus_days(*days),
                gravity: spread(values)?.map(|g| t.gravity(g)),
            })
        })
        .collect()
}
