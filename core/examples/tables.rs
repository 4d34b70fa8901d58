//! Writes the tables of invented nurseries, a folder each: `cargo run -p bloomdue-core --example tables -- DIR N`.
//!
//! Each is the demo nursery told on another day, so that they differ in what has happened by then.

use std::{error::Error, fs, path::PathBuf};

use bloomdue_core::{calendar::Date, demo, handover::tables, nursery::State};

fn main() -> Result<(), Box<dyn Error>> {
    let mut args = std::env::args().skip(1);
    let folder = PathBuf::from(args.next().ok_or("name a folder")?);
    let n: i64 = args.next().map_or(Ok(1), |n| n.parse())?;
    let first = Date::new(2027, 1, 3)?;
    for nth in 0..n {
        let today = first.add_days(nth)?;
        let ledger = demo::generate(demo::SCRIPT, today)?.to_ledger();
        let into = folder.join(format!("{nth:03}"));
        fs::create_dir_all(&into)?;
        for (name, text) in tables::files(&ledger, &State::fold(&ledger), today, &format!("{today}T08:00+01:00")) {
            fs::write(into.join(name), text)?;
        }
        fs::write(into.join("tables.zip"), tables::of_entries(ledger.id(), ledger.arrived(), today, ""))?;
    }
    Ok(())
}
