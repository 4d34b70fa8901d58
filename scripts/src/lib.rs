//! The parts of `cargo xtask` that its measurements share: words after a command, the build, the machine.

pub mod args;
pub mod build;
pub mod pack;
pub mod system;
