//! Care: what needs hands today.

pub mod due;

pub use due::{Due, DueAt, Job, JobAt, due};
