//! Many devices and faults.
