//! Numbers drawn by chance for the forecast: the part of core that has to be fast.
//!
//! The app is built for size, and that makes arithmetic half as fast; this package alone is built for speed (the profile
//! `app`). So everything that a forecast does a million times is here, and nothing else: no records, no dates, no words.
//! What the numbers mean and where the published ones come from is told by `bloomdue_core::forecast`.

mod block;
mod chain;
pub mod futures;
mod matrix;
pub mod normal;
pub mod random;
mod terms;
mod unseen;

pub use block::{Block, Without};
pub use chain::{Chain, Row, Seen};
pub use terms::{Beliefs, BlindBeliefs, Layout, Normal, Terms};
