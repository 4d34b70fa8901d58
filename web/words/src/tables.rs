//! Words of the tables for spreadsheets and statistics.

labels! {
    title = "Tables";
    what = "All that stands, as tables for spreadsheets, R and Python.";
    make = "Make the tables";
    making = "Making the tables …";
    how_to_read =
        "One archive of CSV files, and datapackage.json, which says what each column means. Names in them are English.";
    no_way_back = "Tables are not taken in again. To keep a copy, make the file of records.";
}

/// What each table holds, under its name.
pub const TABLES: &[(&str, &str)] = &[
    ("bulbs", "Bulbs: names, lot, place, size, what became of each"),
    ("looks", "Looks, also those that found nothing, and the shoots seen"),
    ("care", "What was done, bulb by bulb"),
    ("measures", "Measures, counts and inspections"),
    ("calls", "Stalk or leaf: what was said and what came of it"),
    ("readings", "Light, temperature and humidity by place"),
    ("tries", "Tries with groups, rules and days, and the outcome of each bulb"),
];
