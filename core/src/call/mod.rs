//! Stalk or leaf: a short key for a shoot that may still be either.
//!
//! [`characters`] holds what can be looked at and what can be answered, [`likelihood`] how much each answer weighs,
//! [`key`] combines the answers to a chance and chooses the next question, and [`past`] counts how earlier calls
//! turned out. Nothing here asks for cutting or squeezing a shoot.

pub mod characters;
pub mod key;
pub mod likelihood;
pub mod past;
pub mod situation;

pub use characters::{Certainty, Character, Choice, Group};
pub use key::{Answered, Lean, METHOD, Reading, Situation, Strength, Sure, next_question, read};
pub use likelihood::{Table, Weight};
pub use past::{PastCalls, past_calls, proofs_of};
