//! Stalks to expect by size.

use bloomdue_core::plan::scapes::{CLAIM, Expected, OfSize};

use crate::common::grade;
use crate::formats::{self, lengths};
use crate::published;
use crate::table::Table;

labels! {
    title = "Stalks by size";
    way = "How many stalks to expect by size";
    say = "Larger bulbs bring more stalks, as the trade expects. Your own bulbs stand beside it.";
    yours_hint = "Yours: cycles that showed a stalk or ended blind, by the size measured by then.";
    take = "For a date take the readiest first: sound, long enough in leaf, and large. Planning back from the date lists them so.";
    match_them = "For a trial take bulbs of one cultivar and size where you can. Lots are drawn within cultivar and size, so that groups match.";
    to_plan = "Plan back from the date";
    caption = "Stalks by size, trade and yours";
}

fn expected(of: &Expected) -> String {
    match (of.least, of.most) {
        (0, most) => format!("{most}, sometimes none"),
        (least, most) if least == most => most.to_string(),
        (least, most) => format!("{least} to {most}"),
    }
}

/// What was seen here: `5 of 6, 7 stalks (4 to 6 in 6 …)`.
fn yours(of: &OfSize) -> String {
    if of.n_cycles == 0 {
        return "–".to_owned();
    }
    let spread = of.with.map(|with| {
        let tenths = |share: f64| formats::decimal(share * 10.0, 0);
        format!(" ({} to {} in 10)", tenths(with.lower), tenths(with.upper))
    });
    format!("{} of {} flowered{}, {} stalks", of.n_with, of.n_cycles, spread.unwrap_or_default(), of.n_scapes)
}

/// Every size in a row.
pub fn table(all: &[OfSize]) -> Table {
    let row = |of: &OfSize| {
        vec![
            lengths(of.from_mm, of.to_mm),
            of.expected.as_ref().map_or_else(|| "–".to_owned(), expected),
            yours(of),
            of.n_here.to_string(),
        ]
    };
    Table {
        caption: caption().to_owned(),
        heads: ["Around", "Trade expects", "Yours", "Here now"].map(str::to_owned).to_vec(),
        rows: all.iter().map(row).collect(),
    }
}

/// Who expects so, and how far that carries; and the trial that says otherwise.
pub fn sources() -> [String; 2] {
    let trial = bloomdue_core::published::Claim::BudsInMarketableBulbs;
    [CLAIM, trial].map(|claim| format!("{}: {}.", published::says(claim), grade(claim.source())))
}
