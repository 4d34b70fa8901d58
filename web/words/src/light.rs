//! Words for the light of a place.

use bloomdue_core::calendar::Date;
use bloomdue_core::light::place::{Class, NoLight, OfDay, OfTry, Passes, PlaceLight, SCALES, Scale};
use bloomdue_core::nursery::State;

use crate::dates::date_short;
use crate::formats;
use crate::nursery::hours;
use crate::table::Table;

labels! {
    title = "Light";
    way = "Light and shade";
    year = "Through the year";
    year_hint =
        "Upper edge: a clear day in this place; lower edge: an overcast one. Dashed: a clear day in the open. Mol of light a square metre and day.";
    today_mark = "today";
    tries = "Tries that stood here";
    compare = "Beside another place";
    none = "no other";
    read_it = "Read it yourself";
    read_hint = "One meter, the same minute: here at the height of the leaves, and in the open. Three pairs on three days are better than one.";
    read_under = "Read under";
    sun = "sun";
    lamp = "a lamp";
    meter = "Your meter says";
    lux = "lux";
    ppfd = "µmol (PPFD)";
    here = "Here";
    open = "In the open";
    open_hint = "Without it the reading is kept, and says nothing of the covers.";
    record = "Record this reading";
    saved = "Light recorded";
    lamp_hint = "Of a lamp the light is kept; it says nothing of covers. Lux under lamps is not turned into PPFD.";
    photo_taken = "Shade by photos recorded";
    how = "How this was worked out";
    how_clear =
        "Light above the air and the length of the day from latitude and day (FAO-56, equations 21 to 25 and 34). Clear sky 0.75 of it (37, at sea level), overcast 0.25 (35). Of the energy 0.45 is light that plants use; published shares are 0.42 to 0.50, so it may be a tenth off. 4.57 µmol a joule (Thimijan & Heins 1983).";
    how_read = "Shares multiply over the covers. What was read beside the open stands in their stead: the geometric mean, with the error that holds 9 times in 10.";
    no_target = "No light target for these bulbs is published. The numbers compare places and tries; they are no prescription.";
    no_latitude = "Say where the nursery lies first: its latitude, under Persons and nursery.";
    to_latitude = "Say the latitude";
    dark = "No daylight comes in here.";
    not_here = "This place is not in the records.";
    caption = "Light of the year in a table";
}

/// `14.2`, of mol a square metre and day.
pub fn mol(dli: f64) -> String {
    formats::decimal(dli, if dli < 10.0 { 1 } else { 0 })
}

fn range(low: f64, high: f64) -> String {
    format!("{} to {}", mol(low), mol(high))
}

/// Today in one sentence.
pub fn say(light: &PlaceLight) -> String {
    let today = &light.today;
    if today.hours == 0.0 {
        return "The sun does not rise today: no daylight.".to_owned();
    }
    if today.clear == 0.0 {
        return format!("The covers keep all of it out: no daylight, though the day has {}.", hours(today.hours));
    }
    format!("Today {} mol, overcast to clear, in {} of day.", range(today.overcast, today.clear), hours(today.hours))
}

/// What is kept out where this share comes through, in per cent.
fn kept_out(share: f64) -> String {
    formats::decimal((100.0 * (1.0 - share)).max(0.0), 0)
}

fn blocked(share: f64) -> String {
    format!("{} %", kept_out(share))
}

/// What labels say, and what was read.
pub fn covers(light: &PlaceLight) -> Vec<String> {
    let mut lines = vec![format!("Its covers are labelled to keep out {} together.", blocked(light.labelled.share))];
    match &light.read {
        Some(read) => {
            let between = read.range.map(|(low, high)| format!(" ({} to {})", kept_out(high), blocked(low)));
            let from = if read.n == 1 { "one reading".to_owned() } else { format!("{} readings", read.n) };
            lines.push(format!(
                "Read here they keep out {}{}, from {from}; that is what counts below.",
                blocked(read.share),
                between.unwrap_or_default()
            ));
        }
        None => lines.push(
            "Nobody has read it beside the open yet: labels are off by weave, dirt and the sun's height.".to_owned(),
        ),
    }
    lines
}

/// Readings that say nothing of covers.
pub fn without_open(light: &PlaceLight) -> Option<String> {
    let n = light.n_without_open;
    (n > 0).then(|| {
        let readings = if n == 1 { "1 reading".to_owned() } else { format!("{n} readings") };
        format!("{readings} without one in the open, or of a lamp, say nothing of the covers.")
    })
}

pub fn class(class: Class) -> &'static str {
    match class {
        Class::VeryLow => "below low",
        Class::Low => "low",
        Class::Medium => "medium",
        Class::High => "high",
        Class::VeryHigh => "very high",
    }
}

fn scale(scale: &Scale) -> &'static str {
    match scale.key {
        "purdue" => "by Purdue's scale (HO-238-W)",
        _ => "by the scale in common use",
    }
}

/// What both published scales call a clear day here.
pub fn classes(today: &OfDay) -> String {
    let [a, b] = SCALES.map(|one| format!("{} {}", class(one.class(today.clear)), scale(&one)));
    format!("A clear day here is {a}, {b}. The scales differ; both are told from memory.")
}

/// The light of a try here.
pub fn of_try(of: &OfTry, state: &State, today: Date) -> String {
    let days = format!("{} to {}", date_short(of.from, today), date_short(of.to, today));
    format!("{}: {days}, {} mol a day.", crate::due::question(of.run, state), range(of.overcast, of.clear))
}

/// Two places side by side today.
pub fn beside(here: &PlaceLight, there: &PlaceLight, state: &State) -> String {
    let (a, b) = (state.name_of(here.place), state.name_of(there.place));
    let light = |one: &PlaceLight| range(one.today.overcast, one.today.clear);
    let share = |one: &PlaceLight| one.read.unwrap_or(one.labelled);
    let times = times(share(here), share(there));
    format!("{a} {} mol today, {b} {} mol{times}.", light(here), light(there))
}

/// How many times as much one place has as another; with its range where both were read.
fn times(a: Passes, b: Passes) -> String {
    if b.share <= 0.0 {
        return String::new();
    }
    let number = |value: f64| formats::decimal(value, 1);
    let spread = a.range.zip(b.range).map(|((a_low, a_high), (b_low, b_high))| {
        format!(" ({} to {})", number(a_low / b_high), number(a_high / b_low))
    });
    format!(": {}{} times as much", number(a.share / b.share), spread.unwrap_or_default())
}

/// Why nothing can be told.
pub fn refused(why: NoLight) -> &'static str {
    match why {
        NoLight::NoPlace => not_here(),
        NoLight::NoLatitude => no_latitude(),
        NoLight::Dark => dark(),
    }
}

/// The year in a table, month by month.
pub fn year_table(light: &PlaceLight) -> Table {
    let first_of_month = |of: &&OfDay| of.day.day() <= 7;
    let row = |of: &OfDay| {
        vec![formats::month_alone(of.day), hours(of.hours), mol(of.open_clear), mol(of.clear), mol(of.overcast)]
    };
    Table {
        caption: caption().to_owned(),
        heads: ["Begin of", "Day", "Clear, in the open", "Clear, here", "Overcast, here"].map(str::to_owned).to_vec(),
        rows: light.year.iter().filter(first_of_month).map(row).collect(),
    }
}
