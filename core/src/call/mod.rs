//! Stalk or leaf: a short key for a shoot that may still be either.
//!
//! [`characters`] holds what can be looked at and what can be answered, [`likelihood`] how much each answer weighs and
//! what proved shoots teach, [`key`] combines the answers to a chance with its range and chooses the next question,
//! [`mod@situation`] says what looks tell beforehand, [`past`] how earlier calls turned out, and [`practice`] what there is
//! to practise on. Nothing here asks for cutting or squeezing a shoot.

pub mod characters;
pub mod key;
pub mod likelihood;
pub mod past;
pub mod practice;
#[cfg(test)]
mod simulate;
pub mod situation;
#[cfg(test)]
mod tests;

pub use characters::{Certainty, Character, Choice, Group};
pub use key::{Answered, Lean, METHOD, Reading, Situation, Strength, Sure, lean, next_question, read, read_but};
pub use likelihood::{NUMBER_FROM_PROOFS, Proved, Table};
pub use past::{Accuracy, Agreement, Called, Calls, proofs_of};
