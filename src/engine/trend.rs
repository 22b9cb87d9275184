//! The curve with its band.

use super::CurvePoint;
use super::assess::Teller;
use super::picture::even_spread;

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
    let mut order: Vec<(usize, f64)> = (0..all.len() * THREE.len()).map(|n| (n, 0.0)).collect();
    days.iter()
        .enumerate()
        .filter_map(|(i, days)| {
            for (n, value) in &mut order {
                let (mean, sd) = all[*n / THREE.len()][i];
                *value = mean + THREE[*n % THREE.len()] * sd;
            }
            put_in_order(&mut order);
            let values: Vec<f64> = order
                .iter()
                .map(|v| v.1)
                .filter(|v| v.is_finite())
                .collect();
            Some(CurvePoint {
                at: t.gathered.pitched.plus_days(*days),
                gravity: even_spread(&values)?.map(|g| t.gravity(g)),
            })
        })
        .collect()
}

/// Three points that stand for a normal: mean and spread are kept.
const THREE: [f64; 3] = [-1.2247, 0.0, 1.2247];

/// By value. From one day to the next courses hardly change places, so each
/// goes to its place past the few that overtook it.
fn put_in_order(values: &mut [(usize, f64)]) {
    for i in 1..values.len() {
        let mut at = i;
        while at > 0 && values[at - 1].1.total_cmp(&values[at].1).is_gt() {
            values.swap(at - 1, at);
            at -= 1;
        }
    }
}
