//! The nursery as its records tell it: everything here is folded from the ledger and can be thrown away.

pub mod bench;
pub mod bulb;
pub mod contrary;
mod in_full;
pub mod kept;
pub mod place;
pub mod same;
pub mod season;
pub mod state;
pub mod twins;
pub mod walk;

pub use bulb::{Bulb, Cycle, Fate, Seen, Shoot};
pub use state::State;

#[cfg(test)]
mod tests;
