//! Many devices and faults.

mod demo;
