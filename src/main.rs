//! The `skep` program.
fn main() {}
