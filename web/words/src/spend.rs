//! Words of how to spend the bulbs: the crop and the try, what that costs now and may bring later, and whether to try again.

use bloomdue_core::calendar::Date;
use bloomdue_core::nursery::State;
use bloomdue_core::plan::spend::log::{Came, TurnedOut};
use bloomdue_core::plan::spend::{GoOn, Spending, Split};
use bloomdue_core::plan::{Choice, NextTry};

use crate::coming::chance_words;
use crate::common::{bulbs, plural};
use crate::dates::date_short;
use crate::formats::whole;

labels! {
    seasons_ask = "How many seasons to think of, this one included";
    slider = "From all for now to all for learning";
    all_drawn = "Lots are drawn for all bulbs, so the crop counts in the result.";
    own_control = "What you would do anyway is a group of its own.";
    looked_at = "All that was looked at";
    how_title = "How this was worked out";
    how =
        "The bulbs of a split bring what is expected of them this season. Every later season brings what the best \
         way will then be known to bring, with as many bulbs. What a try would teach follows from how unsure each way \
         is and from how many bulbs show it; a season falls on all groups alike (knowledge gradient: Frazier, Powell \
         & Dayanik 2008; Ryzhov, Powell & Frazier 2012). The split that brings most over all seasons is advised, of \
         those that have enough in time as surely as asked. Next season it is worked out anew.";
    turned_out = "How decisions turned out";
    turned_out_hint = "What was advised of how to spend bulbs, what was done, and what came. Never used as input.";
    followed = "As it was advised.";
    not_followed = "Other numbers than those advised were chosen.";
    how_checked =
        "On invented nurseries, over six seasons, it brought at least as many into time as all to the best \
         percentage, all to the last best, or equal groups.";
}

/// What the ways that were weighed are called, in their order.
pub fn names(next: &NextTry, treatments: &[String]) -> Vec<String> {
    next.choices.iter().take(next.spending.one_bulb.len()).map(|choice| of_choice(choice, treatments)).collect()
}

/// What a treatment is called, or how long a rest that was not tried.
pub fn of_choice(choice: &Choice, treatments: &[String]) -> String {
    let tried = choice.treatment.and_then(|at| treatments.get(at as usize));
    tried.cloned().unwrap_or_else(|| format!("{} of rest", plural(choice.rest_weeks as usize, "week", "weeks")))
}

fn name(names: &[String], way: usize) -> &str {
    names.get(way).map_or("–", String::as_str)
}

/// `this one only`, `3 seasons`.
pub fn seasons(n: u32) -> String {
    match n {
        1 => "this one only".to_owned(),
        n => plural(n as usize, "season", "seasons"),
    }
}

fn n_in_try(split: &Split, crop: usize) -> u32 {
    split.n.iter().enumerate().filter(|(way, _)| *way != crop).map(|(_, n)| n).sum()
}

/// Whether to try again, and why not.
pub fn go_on(spending: &Spending, names: &[String]) -> String {
    let crop = name(names, spending.crop);
    let purse = spending.purse;
    match spending.go_on {
        GoOn::Try => {
            let n = spending.splits.get(spending.advised).map_or(0, |split| n_in_try(split, spending.crop));
            format!("Give {n} of {} to a try.", bulbs(purse.at_hand as usize))
        }
        GoOn::LastSeason => format!("All bulbs get what is best as far as is known: {crop}. A try pays only later."),
        GoOn::Settled { rival, n_each, ahead } => {
            let rival = name(names, rival);
            let change = if ahead < 0.95 {
                format!("To change it, {rival} would have to be ahead by {} in ten, of {n_each} each.", tens_up(ahead))
            } else {
                format!("Not even {n_each} of each, all against none, would change it.")
            };
            format!("Another try would not change what to do: {crop}. {change}")
        }
        GoOn::AllNeeded => {
            format!("All bulbs are needed to have {} in time, so none can be spared for a try.", purse.wanted)
        }
        GoOn::NothingToTell => format!(
            "With {} nothing can be told in {} that pays for a try. All get {crop}.",
            bulbs(purse.at_hand as usize),
            plural(purse.seasons as usize, "season", "seasons")
        ),
    }
}

/// Tenths, rounded up: less would not do.
fn tens_up(difference: f64) -> String {
    whole((difference * 10.0).ceil() as i64)
}

/// What a split costs now, and what it may bring later.
pub fn costs(split: &Split) -> String {
    let now = whole(split.now.round() as i64);
    if split.n_groups() < 2 {
        return format!("All for now: about {now} in time this season, and next to nothing learned.");
    }
    let cost = match split.costs.round() as usize {
        0 => "costs less than one in time".to_owned(),
        n => format!("costs about {} in time", bulbs(n)),
    };
    format!("It {cost} this season, which leaves about {now}. {}", later(split))
}

/// `4 times in 10 it shows a better way, which brings 2 to 5 more in each later season.`
fn later(split: &Split) -> String {
    let (least, most) = (split.gain_then.0.round() as i64, split.gain_then.1.round() as i64);
    let more = match (least, most) {
        (_, 0) => "less than one more".to_owned(),
        (0, most) => format!("up to {} more", whole(most)),
        (least, most) if least == most => format!("about {} more", whole(most)),
        (least, most) => format!("{} to {} more", whole(least), whole(most)),
    };
    let often = crate::trials::upper_first(&chance_words(split.changes));
    format!("{often} it shows a better way, which brings {more} in each later season.")
}

/// `At least 20 in time: 9 times in 10.`
pub fn enough(split: &Split, spending: &Spending) -> String {
    format!("At least {} in time: {}.", spending.purse.wanted, chance_words(split.chance))
}

/// `8 of 40 bulbs in the try`.
pub fn slider_value(split: &Split, spending: &Spending) -> String {
    match n_in_try(split, spending.crop) {
        0 => "all for now".to_owned(),
        n => format!("{n} of {} in the try", bulbs(spending.purse.at_hand as usize)),
    }
}

/// The groups of a split: what each gets, and under it how many bulbs, what for, and what they are expected to bring.
pub fn groups(split: &Split, spending: &Spending, names: &[String]) -> Vec<(String, String)> {
    let mut ways: Vec<usize> = (0..split.n.len()).filter(|way| split.n[*way] > 0).collect();
    ways.sort_by_key(|way| (*way != spending.crop, std::cmp::Reverse(split.n[*way]), *way));
    let of = |way: usize| {
        let n = split.n[way];
        let brings = f64::from(n) * spending.one_bulb.get(way).copied().unwrap_or(0.0);
        let brings = format!("about {} in time", whole(brings.round() as i64));
        let role = match (way == spending.crop, way == spending.control, split.n_groups() > 1) {
            (true, true, true) => "the crop, and what the others are compared with",
            (true, ..) => "the crop",
            (_, true, _) => "to compare with",
            _ => "to learn",
        };
        (name(names, way).to_owned(), format!("{} · {role} · {brings}", bulbs(n as usize)))
    };
    ways.into_iter().map(of).collect()
}

/// The splits as numbers.
pub fn table(spending: &Spending) -> crate::table::Table {
    let row = |split: &Split| {
        vec![
            n_in_try(split, spending.crop).to_string(),
            whole(split.now.round() as i64),
            crate::formats::decimal(split.gain, 1),
            chance_words(split.changes),
        ]
    };
    crate::table::Table {
        caption: "All for now to all for learning".to_owned(),
        heads: ["In the try", "In time now", "More in a later season", "Another way proves better"]
            .map(str::to_owned)
            .to_vec(),
        rows: spending.splits.iter().map(row).collect(),
    }
}

/// `Which rest brings more in time? · 3 Mar`.
pub fn decision(one: &TurnedOut, state: &State, today: Date) -> String {
    format!("{} · {}", state.name_of(one.trial), date_short(one.said_on, today))
}

/// `40 bulbs, 3 seasons thought of, at least 20 in time wanted. As it was advised.`
pub fn decided(one: &TurnedOut) -> String {
    let said = &one.said;
    let followed = if said.is_followed() { followed() } else { not_followed() };
    format!(
        "{}, {} thought of, at least {} wanted in time. {followed}",
        bulbs(said.at_hand as usize),
        plural(said.seasons as usize, "season", "seasons"),
        said.wanted
    )
}

/// `8 weeks: advised 34, done 34; 22 in time, about 21 were expected.`
pub fn came(group: &Came, state: &State) -> String {
    let name = state.name_of(group.group);
    let done = match group.said {
        Some(said) => format!("advised {}, done {}", said.advised, group.n),
        None => format!("not advised, done {}", group.n),
    };
    let expected = group.said.map(|said| f64::from(said.permille) / 1000.0 * f64::from(group.n));
    let expected = match expected.map(|expected| expected.round() as usize) {
        Some(1) => ", about 1 was expected".to_owned(),
        Some(n) => format!(", about {n} were expected"),
        None => String::new(),
    };
    let open = match group.open {
        0 => String::new(),
        n => format!(", {n} not decided"),
    };
    format!("{name}: {done}; {} in time{open}{expected}.", group.in_time)
}
