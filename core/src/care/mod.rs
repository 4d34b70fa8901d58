//! Care: what needs hands today.

pub mod due;
pub mod heed;
pub mod scope;

pub use due::{Due, DueAt, Job, JobAt, due};
