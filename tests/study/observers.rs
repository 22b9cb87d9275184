//! Observers who know more than a maker can. Each is scored by the same rule on
//! the same readings: where they fail too, the readings do not tell.

use crate::course::{Course, Known};
use crate::score::Said;
use skep::engine::FermentState;

/// Says one thing at each reading of a ferment, given all others.
pub(crate) type Observer = fn(&Known, &[Known]) -> Vec<Said>;

/// Observers of the finish and the end. All know that the ferment is healthy and
/// the standard error of its readings.
pub(crate) const OF_HEALTHY: [(&str, Observer); 3] = [
    (
        "One who knows the true courses of all other ferments of the style",
        by_the_others,
    ),
    (
        "One who knows the ferment's own true course, but not its pace nor its end",
        by_its_own_course,
    ),
    (
        "One who knows its course and its end, but not its pace",
        by_its_own_course_and_end,
    ),
];

fn by_the_others(k: &Known, all: &[Known]) -> Vec<Said> {
    let courses: Vec<Course> = all
        .iter()
        .filter(|o| {
            o.style == k.style && o.truth.stall_days.is_none() && o.truth.case_id != k.truth.case_id
        })
        .map(Known::course)
        .collect();
    let paces = spaced(0.3, 13);
    watched(k, &courses, &paces, &usual_ends(k), 0.08)
}

fn by_its_own_course(k: &Known, _: &[Known]) -> Vec<Said> {
    watched(k, &[k.course()], &spaced(0.35, 161), &usual_ends(k), 0.0)
}

fn by_its_own_course_and_end(k: &Known, _: &[Known]) -> Vec<Said> {
    watched(
        k,
        &[k.course()],
        &spaced(0.35, 161),
        &[(1.0, k.end(), 0.0002)],
        0.0,
    )
}

/// Factors of pace with log-normal weights.
fn spaced(sd: f64, count: i32) -> Vec<(f64, f64)> {
    (0..count)
        .map(|n| 3.0 * (2.0 * f64::from(n) / f64::from(count - 1) - 1.0))
        .map(|z| ((sd * z).exp(), (-0.5 * z * z).exp()))
        .collect()
}

/// Ends as the plan has them, and as often wrong as seen: share, mean, spread.
fn usual_ends(k: &Known) -> Vec<(f64, f64, f64)> {
    if let Some(plan) = k.plan {
        return vec![(0.87, plan, 0.003), (0.13, plan + 0.002, 0.007)];
    }
    let end = match k.style.as_str() {
        "beer" => 1.0 + 0.25 * (k.read[0] - 1.0),
        "cider" => 0.9985,
        _ => 0.996,
    };
    vec![(1.0, end, 0.006)]
}

/// What follows from possible courses, each at each pace: the end and the
/// original gravity integrate out, readings have a heavy-tailed error.
fn watched(
    k: &Known,
    courses: &[Course],
    paces: &[(f64, f64)],
    ends: &[(f64, f64, f64)],
    clock: f64,
) -> Vec<Said> {
    (0..k.read.len())
        .map(|now| {
            let seen = weighed(k, now, courses, paces, ends, clock);
            let top = seen.iter().map(|s| s.0).fold(f64::NEG_INFINITY, f64::max);
            let (mut finishes, mut finals) = (Vec::new(), Vec::new());
            for (height, fit, finish) in seen {
                let w = (height - top).exp();
                if w < 1e-7 {
                    continue;
                }
                finishes.push((k.when(finish, now), w));
                for z in [-1.3998, -0.5319, 0.0, 0.5319, 1.3998] {
                    finals.push((fit.end + z * fit.end_sd, w));
                }
            }
            Said {
                state: FermentState::Active,
                stuck: 0.0,
                finish: Some(tenths(finishes)),
                end: Some(tenths(finals)),
            }
        })
        .collect()
}

/// Each course at each pace towards each end: log weight, fit, thermal time of
/// the finish.
fn weighed(
    k: &Known,
    now: usize,
    courses: &[Course],
    paces: &[(f64, f64)],
    ends: &[(f64, f64, f64)],
    clock: f64,
) -> Vec<(f64, Fit, f64)> {
    let tau: Vec<f64> = (0..=now).map(|i| k.thermal(k.days(i), now)).collect();
    let sd: Vec<f64> = (0..=now)
        .map(|i| k.error.hypot(clock * fall(k, i, now)))
        .collect();
    let og = (k.read[0], 0.003);
    let mut seen = Vec::new();
    for course in courses {
        for (pace, weight) in paces {
            let left: Vec<f64> = tau.iter().map(|t| course.left(t / pace)).collect();
            for end in ends {
                let fit = fit(&left, &k.read[..=now], &sd, og, (end.1, end.2));
                seen.push((
                    fit.height + (weight * end.0).ln(),
                    fit,
                    course.finish * pace,
                ));
            }
        }
    }
    seen
}

/// Fall a day about a reading.
fn fall(k: &Known, i: usize, now: usize) -> f64 {
    let (a, b) = (i.saturating_sub(1), (i + 1).min(now));
    ((k.read[a] - k.read[b]) / (k.days(b) - k.days(a)).max(0.25)).clamp(0.0, 0.06)
}

#[derive(Clone, Copy)]
struct Fit {
    height: f64,
    end: f64,
    end_sd: f64,
}

/// Degrees of freedom of the reading error.
const DOF: f64 = 4.0;

/// `g = O·y + F·(1-y)` with normal priors on `O` and `F`, by reweighting; the
/// integral by Laplace's method.
fn fit(left: &[f64], read: &[f64], sd: &[f64], og: (f64, f64), end: (f64, f64)) -> Fit {
    let (mut o, mut f) = (og.0, end.0);
    let (mut a, mut b, mut c) = (0.0, 0.0, 0.0);
    for _ in 0..4 {
        let (po, pf) = (og.1.powi(-2), end.1.powi(-2));
        let (mut u, mut v);
        (a, b, c, u, v) = (po, 0.0, pf, po * og.0, pf * end.0);
        for ((y, g), s) in left.iter().zip(read).zip(sd) {
            let r = (g - o * y - f * (1.0 - y)) / s;
            let w = (DOF + 1.0) / (DOF + r * r) / (s * s);
            a += w * y * y;
            b += w * y * (1.0 - y);
            c += w * (1.0 - y) * (1.0 - y);
            u += w * y * g;
            v += w * (1.0 - y) * g;
        }
        let determinant = a * c - b * b;
        o = (c * u - b * v) / determinant;
        f = (a * v - b * u) / determinant;
    }
    let mut height =
        -0.5 * (((o - og.0) / og.1).powi(2) + ((f - end.0) / end.1).powi(2)) - end.1.ln();
    for ((y, g), s) in left.iter().zip(read).zip(sd) {
        height += student((g - o * y - f * (1.0 - y)) / s);
    }
    let determinant = a * c - b * b;
    Fit {
        height: height - 0.5 * determinant.ln(),
        end: f,
        end_sd: (a / determinant).sqrt(),
    }
}

fn student(r: f64) -> f64 {
    -0.5 * (DOF + 1.0) * (r * r / DOF).ln_1p()
}

fn tenths(mut values: Vec<(f64, f64)>) -> [f64; 3] {
    values.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = values.iter().map(|v| v.1).sum();
    [0.1, 0.5, 0.9].map(|share| {
        let mut below = 0.0;
        values
            .iter()
            .find(|v| {
                below += v.1;
                below >= share * total
            })
            .or(values.last())
            .map_or(f64::NAN, |v| v.0)
    })
}

/// Sugar left from which a stop is a stall, as the diaries have it.
const SUGAR_LEFT: f64 = 0.006;
/// Of all stalls, how many are sudden (the engine's prior has as many).
const SUDDEN: f64 = 0.5;
/// Levels tried in each gap between readings.
const LEVELS: i32 = 12;

/// One who knows the healthy course with all its figures, and asks only whether
/// and when the ferment left it and stood still.
pub(crate) fn of_stops(k: &Known, prior: f64) -> Vec<Said> {
    let course = healthy_course(k);
    let drop = (course[0] - k.attainable).max(0.004);
    let sticks = prior * SUDDEN / (1.0 - prior + prior * SUDDEN);
    (0..k.read.len())
        .map(|now| {
            let along: Vec<f64> = (0..=now)
                .map(|i| student((k.read[i] - course[i]) / k.error))
                .collect();
            let left = ((course[now] - k.attainable) / drop).clamp(0.0, 1.0);
            let goes = (1.0 - sticks + sticks * left).ln() + along.iter().sum::<f64>();
            let mut stopped = 0.0;
            for gap in 0..now {
                let (high, low) = (course[gap], course[gap + 1].max(k.attainable + SUGAR_LEFT));
                if high <= low {
                    continue;
                }
                let before: f64 = along[..=gap].iter().sum();
                for n in 0..LEVELS {
                    let level = low + (high - low) * (f64::from(n) + 0.5) / f64::from(LEVELS);
                    let after: f64 = (gap + 1..=now)
                        .map(|i| student((k.read[i] - level) / k.error))
                        .sum();
                    let share = sticks * (high - low) / drop / f64::from(LEVELS);
                    stopped += (before + after - goes).exp() * share;
                }
            }
            let stuck = stopped / (1.0 + stopped);
            let state = if stuck >= 0.5 {
                FermentState::Stuck
            } else {
                FermentState::Active
            };
            Said {
                state,
                stuck,
                finish: None,
                end: None,
            }
        })
        .collect()
}

/// Gravities at the readings if it had never stopped: the true ones, after the
/// stop a decline in proportion to the sugar left, at the pace before.
fn healthy_course(k: &Known) -> Vec<f64> {
    let Some(stall) = k.truth.stall_days else {
        return k.was.clone();
    };
    let level = k.truth.final_sg + k.truth.offset;
    let before = (0..k.was.len()).rfind(|i| k.days(*i) < stall && k.was[*i] - level > 0.002);
    let rate = before.map_or(0.0, |i| (k.was[i] - level) / (stall - k.days(i)).max(0.25));
    let over = (level - k.attainable).max(1e-4);
    (0..k.was.len())
        .map(|i| {
            let since = k.days(i) - stall;
            if since <= 0.0 {
                k.was[i]
            } else {
                k.attainable + over * (-rate * since / over).exp()
            }
        })
        .collect()
}
