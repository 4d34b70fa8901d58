//! Care: what needs hands today.

pub mod ahead;
pub mod clock;
pub mod due;
pub mod heed;
pub mod occasions;
pub mod plan;
pub mod progress;
pub mod scope;

pub mod usual;

pub use due::{Due, DueAt, Job, JobAt, due};
