//! The migrations are compiled in; a new file among them must cause a build.
#![expect(clippy::print_stdout, reason = "how a build script talks to cargo")]

fn main() {
    println!("cargo:rerun-if-changed=migrations");
    println!("cargo:rerun-if-changed=build.rs");
}
