//! No two states are told apart by colour alone, and the colours that repeat
//! what marks and words say stay apart for colour-blind eyes.
//!
//! Simulation: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, A
//! Physiologically-based Model for Simulation of Color Vision Deficiency, IEEE
//! Transactions on Visualization and Computer Graphics 15 (2009) 1291-1298, the
//! matrices of severity 1.0, on linear RGB. Distances: CIE 1976 L*a*b*, white
//! D65, through the sRGB matrix of IEC 61966-2-1. Contrast: WCAG 2.2, 1.4.3.

use ratatui::style::Color;
use skep::engine::State as Doing;
use skep::tui::theme::{Depth, Ground, Mark, Role, Theme};
use std::collections::HashMap;

type Matrix = [[f64; 3]; 3];

const EYES: [(&str, Matrix); 4] = [
    ("usual", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
    (
        "protanopia",
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ],
    ),
    (
        "deuteranopia",
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ],
    ),
    (
        "tritanopia",
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ],
    ),
];

/// sRGB to XYZ, IEC 61966-2-1.
const TO_XYZ: Matrix = [
    [0.4124564, 0.3575761, 0.1804375],
    [0.2126729, 0.7151522, 0.0721750],
    [0.0193339, 0.1191920, 0.9503041],
];

fn times(m: &Matrix, v: [f64; 3]) -> [f64; 3] {
    let row = |r: &[f64; 3]| r.iter().zip(v).map(|(a, b)| a * b).sum();
    [row(&m[0]), row(&m[1]), row(&m[2])]
}

fn linear(rgb: [u8; 3]) -> [f64; 3] {
    rgb.map(|v| {
        let v = f64::from(v) / 255.0;
        if v <= 0.04045 {
            v / 12.92
        } else {
            ((v + 0.055) / 1.055).powf(2.4)
        }
    })
}

fn seen(rgb: [u8; 3], eye: &Matrix) -> [f64; 3] {
    times(eye, linear(rgb)).map(|v| v.clamp(0.0, 1.0))
}

fn lab(rgb: [f64; 3]) -> [f64; 3] {
    let [x, y, z] = times(&TO_XYZ, rgb);
    let f = |t: f64| {
        if t > (6.0_f64 / 29.0).powi(3) {
            t.cbrt()
        } else {
            t / (3.0 * (6.0_f64 / 29.0).powi(2)) + 4.0 / 29.0
        }
    };
    let (x, y, z) = (f(x / 0.95047), f(y), f(z / 1.08883));
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

fn apart(a: [u8; 3], b: [u8; 3], eye: &Matrix) -> f64 {
    let (a, b) = (lab(seen(a, eye)), lab(seen(b, eye)));
    a.iter()
        .zip(b)
        .map(|(a, b)| (a - b).powi(2))
        .sum::<f64>()
        .sqrt()
}

fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
    let light = |rgb| times(&TO_XYZ, linear(rgb))[1] + 0.05;
    let (a, b) = (light(a), light(b));
    a.max(b) / a.min(b)
}

/// The colour of an index from 16 on: the cube of 6 steps and 24 greys, as
/// xterm lays them out.
fn indexed(i: u8) -> [u8; 3] {
    const STEPS: [u8; 6] = [0, 95, 135, 175, 215, 255];
    if i >= 232 {
        return [8 + 10 * (i - 232); 3];
    }
    let i = usize::from(i - 16);
    [STEPS[i / 36], STEPS[i / 6 % 6], STEPS[i % 6]]
}

fn rgb(role: Role, depth: Depth, ground: Ground) -> [u8; 3] {
    match Theme::new(depth, ground).style(role).fg {
        Some(Color::Rgb(r, g, b)) => [r, g, b],
        Some(Color::Indexed(i)) => indexed(i),
        other => panic!("{role:?}: {other:?}"),
    }
}

/// A usual ground of either kind: nearly black, and a warm white.
fn ground_of(ground: Ground) -> [u8; 3] {
    match ground {
        Ground::Dark => [0x12, 0x12, 0x14],
        Ground::Light => [0xfd, 0xf6, 0xe3],
    }
}

const SPEAK: [Role; 4] = [Role::Good, Role::Watch, Role::Alarm, Role::Accent];

#[test]
fn colours_that_speak_stay_apart_for_every_eye() {
    for ground in [Ground::Dark, Ground::Light] {
        for (depth, least) in [(Depth::True, 20.0), (Depth::Indexed, 15.0)] {
            for (i, a) in SPEAK.iter().enumerate() {
                for b in &SPEAK[i + 1..] {
                    for (eye, matrix) in &EYES {
                        let d = apart(rgb(*a, depth, ground), rgb(*b, depth, ground), matrix);
                        let what = format!("{a:?} and {b:?}, {eye}, {ground:?}, {depth:?}");
                        assert!(d >= least, "{what}: {d:.1}");
                    }
                }
            }
        }
    }
}

#[test]
fn colours_that_speak_can_be_read() {
    // WCAG 2.2 asks for 4.5 to 1 for text.
    for ground in [Ground::Dark, Ground::Light] {
        for depth in [Depth::True, Depth::Indexed] {
            for role in SPEAK.into_iter().chain([Role::Muted]) {
                let c = contrast(rgb(role, depth, ground), ground_of(ground));
                assert!(c >= 4.5, "{role:?}, {ground:?}, {depth:?}: {c:.2}");
            }
        }
    }
}

#[test]
fn every_state_has_a_word_and_a_mark_of_its_own() {
    let states = [
        (Doing::Planned, Mark::Planned),
        (Doing::Lag, Mark::Lag),
        (Doing::Active, Mark::Active),
        (Doing::Slowing, Mark::Slowing),
        (Doing::Stuck, Mark::Stuck),
        (Doing::Finished, Mark::Finished),
        (Doing::Doubtful, Mark::Doubtful),
        (Doing::Resting, Mark::Resting),
        (Doing::Ageing, Mark::Ageing),
        (Doing::Bottled, Mark::Bottled),
        (Doing::Closed, Mark::Closed),
    ];
    let mut words = HashMap::new();
    let mut marks = HashMap::new();
    let theme = Theme::default();
    for (doing, mark) in states {
        assert_eq!(words.insert(doing.word(), doing), None, "{doing:?}");
        assert_eq!(marks.insert(theme.mark(mark), doing), None, "{doing:?}");
    }
}

#[test]
fn timing_of_steps_has_marks_of_its_own() {
    let theme = Theme::default();
    let marks = [
        Mark::Later,
        Mark::InWindow,
        Mark::Late,
        Mark::Overdue,
        Mark::TooLate,
        Mark::Done,
        Mark::Skipped,
        Mark::Hold,
    ];
    for (i, a) in marks.iter().enumerate() {
        for b in &marks[i + 1..] {
            assert_ne!(theme.mark(*a), theme.mark(*b), "{a:?} and {b:?}");
        }
    }
}
