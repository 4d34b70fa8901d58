//! Shared helpers of the test tiers.
