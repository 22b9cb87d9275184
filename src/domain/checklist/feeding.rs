//! Lines of the day that are steps of the batch: what is ticked is not asked for
//! once more. The first feeding is a line only where the batch's own steps feed
//! on the day of pitching.

use super::Line;
use crate::domain::records::{Opens, Step, StepKind};

/// Whether a key of a line means a part of the first feeding.
pub fn feeds(key: &str) -> bool {
    key.starts_with("feed-")
}

/// Whether a step is the feeding of the day of pitching.
pub fn is_first(step: &Step) -> bool {
    step.rule.kind.feeds() && of_the_day(step)
}

fn of_the_day(step: &Step) -> bool {
    matches!(step.rule.opens, Opens::Day { day } if day <= 1)
}

/// Whether a step of the day of pitching is what the line of that key says.
/// The yeast is not among them: pitching is a deed of its own.
pub fn is_step_of(line: &str, step: &Step) -> bool {
    let kind = match line {
        _ if feeds(line) => return is_first(step),
        "sanitise" => StepKind::Clean,
        "mix" => StepKind::Mix,
        "original" => StepKind::Read,
        "shake" => StepKind::Aerate,
        _ => return false,
    };
    step.rule.kind == kind && of_the_day(step)
}

/// The lines of the day as they fit the steps of the batch: without the first
/// feeding where all feedings come on later days. A batch without any step that
/// feeds keeps it, for nothing else would say it.
pub fn fitting(mut lines: Vec<Line>, steps: &[Step]) -> Vec<Line> {
    let fed_later = steps.iter().any(|s| s.rule.kind.feeds()) && !steps.iter().any(is_first);
    if fed_later {
        lines.retain(|line| !feeds(&line.key));
    }
    lines
}
