//! The app growers use: Leptos in the browser, everything computed by core.
fn main() {}
