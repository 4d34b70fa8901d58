//! Care: what needs hands today.

pub mod after_walk;
pub mod calendar_events;
pub mod clock;
pub mod day;
pub mod due;
mod job;
pub mod plan;
pub mod progress;
pub mod rest;
pub mod saved_plan;
pub mod scope;
pub mod snooze;
pub mod usual_jobs;

pub use due::{Due, due};
pub use job::{DueAt, Job, JobAt, key_of};
