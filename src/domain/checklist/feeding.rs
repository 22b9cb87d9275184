//! The first feeding. It is a line of the day only where the batch's own steps
//! feed on the day of pitching, and it is that step: nothing is fed twice.

use super::Line;
use crate::domain::records::{Opens, Step};

/// Whether a key of a line means a part of the first feeding.
pub fn feeds(key: &str) -> bool {
    key.starts_with("feed-")
}

/// Whether a step is the feeding of the day of pitching.
pub fn is_first(step: &Step) -> bool {
    step.rule.kind.feeds() && matches!(step.rule.opens, Opens::Day { day } if day <= 1)
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
