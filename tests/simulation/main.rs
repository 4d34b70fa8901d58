//! Many devices and faults: the ledger, the shelf and the files, run as growers will run them.
//!
//! Everything random comes from a seed that is printed when a run fails; `BLOOMDUE_SEED=n` runs that seed alone.

mod bodies;
mod canonical;
mod demo;
mod devices;
mod disk;
mod faults;
mod fields;
mod files;
mod hostile;
mod kept;
mod laws;
mod life;
mod make;
mod schema;
