//! Numbers from outside, run through core.
