//! `cargo xtask answers FILE [--on DATE] [--no-forecast]`: what the screens say of a nursery's plain JSON file, as JSON.

use anyhow::{Context, Result, anyhow};
use bloomdue_core::{answers, calendar::Date, handover::json, ledger::Ledger, nursery::State};
use std::io::Write as _;
use std::time::{SystemTime, UNIX_EPOCH};
use xtask::args::Args;

/// Prints every trial's and try's standing, design findings, evidence and verdict, due work and what to expect on a
/// day (today when none is named).
///
/// # Errors
///
/// When the file cannot be read or is none of ours, or the day is no day.
pub(crate) fn run(mut args: Args) -> Result<()> {
    let on = args.value("--on")?;
    let with_forecast = !args.switch("--no-forecast");
    let file = args.word().context("name the nursery's file: cargo xtask answers FILE [--on YYYY-MM-DD]")?;
    args.end()?;
    let on: Date = match on {
        Some(day) => day.parse().map_err(|said| anyhow!("--on {day}: {said}"))?,
        None => today()?,
    };
    let bytes = if file == "demo" {
        None
    } else {
        Some(std::fs::read(&file).with_context(|| format!("{file} cannot be read"))?)
    };
    let ledger = match bytes {
        Some(bytes) => ledger_of(&bytes).with_context(|| format!("{file} is not taken"))?,
        None => bloomdue_core::demo::generate(bloomdue_core::demo::SCRIPT, on)
            .map_err(|said| anyhow!("the demo cannot be told: {said}"))?
            .to_ledger(),
    };
    let (ledger, n_later) = answers::known_on(&ledger, on);
    let state = State::fold(&ledger);
    let mut said = answers::answers(&ledger, &state, on);
    said.n_later = n_later;
    if with_forecast {
        said.forecast = Some(answers::forecast_of(&state, on));
        said.plans = answers::plans_of(&state, on).ok();
    }
    let text = serde_json::to_string_pretty(&said)?;
    match writeln!(std::io::stdout(), "{text}") {
        // Whoever reads it has read enough.
        Err(why) if why.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        written => Ok(written?),
    }
}

/// The records of a plain JSON file that verify; those that do not are told on the error stream.
fn ledger_of(bytes: &[u8]) -> Result<Ledger> {
    let reading = json::read(bytes, |_| ()).map_err(|refusal| anyhow!("{refusal}"))?;
    let mut ledger = Ledger::new(reading.ledger);
    for entry in reading.entries {
        ledger.insert(entry);
    }
    let n_left_out = reading.changed.len() + reading.unreadable.len();
    if n_left_out > 0 {
        eprintln!("{n_left_out} records of the file do not verify and are left out");
    }
    Ok(ledger)
}

/// The civil date in UTC: this program knows no time zone, and `--on` names any other day.
fn today() -> Result<Date> {
    let since = SystemTime::now().duration_since(UNIX_EPOCH)?;
    // No date lies before 1990, 7305 days after the first day of that count.
    let days = i64::try_from(since.as_secs() / 86_400)? - 7_305;
    let first = Date::new(1990, 1, 1).map_err(|said| anyhow!("{said}"))?;
    first.add_days(days).map_err(|said| anyhow!("{said}"))
}
