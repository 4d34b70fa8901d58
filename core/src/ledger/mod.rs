//! The ledger: a set of entries that only grows, named by the hash of their bytes. Merge is set union.
//!
//! Which entries stand is decided from envelopes alone, so that every version of the program agrees:
//! an entry is replaced *for a subject* when another entry of the same ledger names it in `supersedes`, is also about
//! that subject, is of the same kind or a take-back, and was not taken back itself. Anything else that `supersedes`
//! says is a [`Problem`].

pub mod body;
pub mod canonical;
pub mod clock;
mod digest;
pub mod entry;
pub mod have;
pub mod id;
pub(crate) mod names;
mod register;
mod set;
pub mod shelf;
#[cfg(test)]
pub(crate) mod testing;

pub(crate) use digest::{Digesting, digest_of};
pub use register::Register;
pub use set::{Decisions, Ledger, PROBLEMS_LISTED, Problem, TAKE_BACK};
pub(crate) use set::{IdSet, line_problems};
