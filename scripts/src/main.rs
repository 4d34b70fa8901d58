//! Builds, serves, tests and measures Bloomdue: `cargo xtask help`.
fn main() {}
