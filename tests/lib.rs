//! Shared helpers of the test tiers.

pub mod driver;
#[path = "reference/runner.rs"]
pub mod reference;
