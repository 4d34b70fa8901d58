//! Soundness and losses of a try, by group.

use bloomdue_core::evidence::verdict::Strength;
use bloomdue_core::nursery::State;
use bloomdue_core::trial::result::soundness::{SoundGroup, SoundPair, Soundness};

use crate::common::{plural, quoted};
use crate::table::Table;
use crate::trials::{more_or_fewer, tens};

labels! {
    title = "Sound and lost";
    hint = "As each bulb's last inspection in this try found it. None of this decides the try.";
    no_table_name = "Sound and lost, by group";
    how =
        "Sound bulbs of all that were inspected or died are compared by the test of the try's own design; watched, unfit and dead count as not sound, and what left or is missing is left out.";
}

/// A group in a line: `“8 weeks”: 7 of 8 sound; 1 died (rot).`
pub fn group(group: &SoundGroup, state: &State) -> String {
    let known = group.n_sound + group.n_watched + group.n_unfit + group.n_died;
    let mut parts = vec![format!("{} of {known} sound", group.n_sound)];
    if group.n_watched > 0 {
        parts.push(format!("{} watched", group.n_watched));
    }
    if group.n_unfit > 0 {
        parts.push(format!("{} found unfit", group.n_unfit));
    }
    if group.n_died > 0 {
        let causes: Vec<String> = match group.causes.as_slice() {
            [(cause, n)] if *n == group.n_died => vec![cause.clone()],
            causes => causes.iter().map(|(cause, n)| format!("{cause} {n}")).collect(),
        };
        let of = if causes.is_empty() { String::new() } else { format!(" ({})", causes.join(", ")) };
        parts.push(format!("{} died{of}", group.n_died));
    }
    if group.n_not_inspected > 0 {
        parts.push(format!("{} not inspected", group.n_not_inspected));
    }
    if group.n_gone > 0 {
        parts.push(format!("{} gone", group.n_gone));
    }
    format!("{}: {}.", quoted(state.name_of(group.group)), parts.join("; "))
}

/// Two groups compared, in ten bulbs.
pub fn pair(pair: &SoundPair, state: &State) -> String {
    let compared = pair.compared;
    let (more, fewer) = (quoted(state.name_of(compared.more)), quoted(state.name_of(compared.fewer)));
    let strength = match pair.verdict.strength {
        Strength::ToldApart => "They are told apart.",
        Strength::OnTheEdge => "On the edge.",
        Strength::TooFewToTell => "Too few to tell.",
    };
    let spread = compared.gap.interval.ok().map(|interval| {
        format!(" ({} to {})", more_or_fewer(tens(interval.lower)), more_or_fewer(tens(interval.upper)))
    });
    let spread = spread.unwrap_or_default();
    match tens(compared.gap.difference) {
        n if n > 0 => format!("{more} has {n} more sound in 10 than {fewer}{spread}. {strength}"),
        _ => format!("{more} and {fewer}: as many sound in 10{spread}. {strength}"),
    }
}

/// Why nothing is compared yet; nothing where it is.
pub fn not_yet(of: &Soundness) -> Option<String> {
    let n: u32 = of.groups.iter().map(|group| group.n_not_inspected).sum();
    (n > 0).then(|| {
        format!(
            "{} not inspected in this try: inspect each to compare the groups.",
            plural(n as usize, "bulb was", "bulbs were")
        )
    })
}

/// The counts in a table.
pub fn table(of: &Soundness, state: &State) -> Table {
    let row = |group: &SoundGroup| {
        let counts = [group.n_sound, group.n_watched, group.n_unfit, group.n_died, group.n_not_inspected, group.n_gone];
        [state.name_of(group.group).to_owned()].into_iter().chain(counts.map(|n| n.to_string())).collect()
    };
    Table {
        caption: no_table_name().to_owned(),
        heads: ["Group", "Sound", "Watched", "Unfit", "Died", "Not inspected", "Gone"].map(str::to_owned).to_vec(),
        rows: of.groups.iter().map(row).collect(),
    }
}
