//! The nursery as its records tell it: everything here is folded from the ledger and can be thrown away.

pub mod aliases;
pub mod bench;
pub mod bulb;
pub mod contrary;
pub mod course;
pub mod cycle;
pub mod duplicates;
mod fold;
mod in_full;
mod joined;
pub mod kept;
pub mod place;
pub mod reach;
pub mod season;
pub mod state;
pub mod walk;

pub use bulb::{Bulb, Fate};
pub use cycle::{Cycle, Seen, Shoot};
pub use state::State;

#[cfg(test)]
mod tests;
