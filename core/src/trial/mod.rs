//! Trials: what differs, what counts as success, who got what by lot, and how a try stands.

pub mod aliasing;
pub mod choose;
pub mod conditions;
pub mod lots;
pub mod next;
pub mod outcome;
pub mod pictures;
pub mod placed;
pub mod ready;
pub mod result;
pub mod standing;
pub mod treated;
pub mod warmth;
