//! Drives a real Chromium from plain blocking Rust: launch, tap, look, kill, start again.
//!
//! Speaks the Chrome DevTools Protocol over one websocket, because the checks need what a general
//! driver does not offer: touch, downloads, a browser killed in mid-sentence and started again on
//! the same profile, and every request and policy violation of page and offline worker alike.

mod browser;
mod cdp;
mod faulty;
mod files;
mod inspect;
mod server;

pub use browser::{Browser, Screen, Tab, find_chromium};
pub use faulty::{Asked, Fault, Faulty};
pub use files::{Scratch, copy_tree};
pub use server::Server;
