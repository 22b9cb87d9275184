//! What is kept of earlier answers bears the number of the sums as they stand.

#[expect(
    dead_code,
    clippy::print_stdout,
    reason = "its main function is for the build, which it tells of files"
)]
#[path = "../build.rs"]
mod build;

use skep::engine::SUMS;
use std::collections::BTreeSet;

#[test]
fn the_number_of_the_sums_is_that_of_their_source() {
    let files = build::sources();
    for needed in [
        "src/engine/assess.rs",
        "src/engine/posterior.rs",
        "src/domain/sums/alcohol.rs",
        "src/domain/units/quantity.rs",
        "src/store/household.rs",
        "src/work/learn.rs",
    ] {
        let named = files.iter().any(|(path, _)| path.ends_with(needed));
        assert!(named, "{needed} does not count");
    }
    assert_eq!(
        build::number(&files),
        SUMS,
        "an answer of other sums is believed"
    );
}

/// Sums that were changed anywhere have a number of their own.
#[test]
fn whatever_is_changed_the_number_is_another_one() {
    let files = build::sources();
    let mut numbers = BTreeSet::from([build::number(&files)]);
    for n in 0..files.len() {
        let mut changed = files.clone();
        changed[n].1 = changed[n].1.replacen('0', "1", 1) + "// changed\n";
        assert!(numbers.insert(build::number(&changed)), "{:?}", files[n].0);
    }
    let mut moved = files.clone();
    moved.swap(0, 1);
    assert!(numbers.insert(build::number(&moved)));
    let mut ends = files.clone();
    ends[0].1 = ends[0].1.replace('\n', "\r\n");
    assert!(!numbers.insert(build::number(&ends)), "line ends count");
    let first = files.first().unwrap();
    assert!(first.1.lines().count() > 1);
}
