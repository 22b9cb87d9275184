//! Waiting for a condition, and never for a while: a busy machine takes its time.

use std::time::Duration;

/// Far longer than anything takes on a busy machine; only a failure waits so long.
pub(crate) const PATIENCE: Duration = Duration::from_mins(5);

/// Waits until something holds.
#[track_caller]
pub(crate) fn until(what: &str, mut holds: impl FnMut() -> bool) {
    let step = Duration::from_millis(10);
    for _ in 0..PATIENCE.div_duration_f64(step) as usize {
        if holds() {
            return;
        }
        std::thread::sleep(step);
    }
    panic!("waited in vain: {what}");
}

/// Sends a signal by the shell, which is everywhere.
pub(crate) fn signal(id: u32, name: &str) {
    let sent = std::process::Command::new("sh")
        .args(["-c", "kill -s \"$0\" \"$1\"", name, &id.to_string()])
        .status()
        .unwrap();
    assert!(sent.success());
}
