//! Shared helpers of the test tiers.

#[path = "reference/runner.rs"]
pub mod reference;
