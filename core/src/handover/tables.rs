//! All that is recorded as tidy tables with their dictionary: CSV files (RFC 4180) and a `datapackage.json`
//! (Frictionless Data Package 2.0) in one archive, for spreadsheets, R, Python and databases.
//!
//! What each table and column means stands in `datapackage.template.json` beside this file, which goes out with the
//! tables; their order of columns is the template's. Only what is in force is told: what was put right or taken back
//! stays in the file of records.

use std::collections::{BTreeMap, HashMap};
use std::io::{Cursor, Write as _};
use std::sync::Arc;

use serde_json::Value;
use zip::{CompressionMethod, ZipWriter, write::SimpleFileOptions};

use crate::{
    calendar::Date,
    ledger::{
        Ledger,
        body::{Act, Body, Climate, LeftHow, Light, ShootKind},
        entry::Entry,
        id::{Id, Noun},
    },
    nursery::{Bulb, State, bulb::Fate},
    trial::{
        outcome::{Kind, judge},
        standing::standing,
    },
};

/// What each table and column means.
pub const TEMPLATE: &str = include_str!("datapackage.template.json");

/// One row: values by the names of their columns; what is not named is not known.
type Row = BTreeMap<&'static str, String>;

/// Rows of the tables by name.
#[derive(Debug, Default)]
struct Rows(HashMap<&'static str, Vec<Row>>);

impl Rows {
    fn add(&mut self, table: &'static str, row: Row) {
        self.0.entry(table).or_default().push(row);
    }
}

/// A row of values that are there.
fn row<const N: usize>(values: [(&'static str, Option<String>); N]) -> Row {
    values.into_iter().filter_map(|(name, value)| Some((name, value?))).collect()
}

fn some(value: impl ToString) -> Option<String> {
    Some(value.to_string()).filter(|text| !text.is_empty())
}

/// Every file of the package by its name: the dictionary first, then a table each. `made` is the civil time at which it
/// is made.
///
/// # Every column of every table is explained
/// ```
/// # use bloomdue_core::{calendar::Date, demo, nursery::State};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let today = Date::new(2027, 11, 20)?;
/// let ledger = demo::generate(demo::SCRIPT, today)?.to_ledger();
/// let files = bloomdue_core::handover::tables::files(&ledger, &State::fold(&ledger), today, "2027-11-20T08:00+01:00");
/// assert_eq!(files[0].0, "datapackage.json");
/// let bulbs = files.iter().find(|(name, _)| name == "bulbs.csv").ok_or("a table of bulbs")?;
/// assert!(bulbs.1.starts_with("bulb_id,nursery_id,tag,own_name,"));
/// # Ok(())
/// # }
/// ```
pub fn files(ledger: &Ledger, state: &State, today: Date, made: &str) -> Vec<(String, String)> {
    let mut rows = Rows::default();
    bulbs(&mut rows, ledger, state);
    records(&mut rows, ledger, state);
    tries(&mut rows, ledger, state, today);
    for (id, person) in &state.persons {
        let Some(person) = person.shown() else { continue };
        let name = some(&person.name);
        rows.add("people", row([("person_id", some(id)), ("initials", some(&person.initials)), ("name", name)]));
    }
    // The template is part of the program: what is wrong with it shows in its test, not here.
    let mut package: Value = serde_json::from_str(TEMPLATE).unwrap_or_default();
    // A moment of RFC 3339 has seconds; where only the day is known nothing is said.
    if let Some((minutes, zone)) = made.split_at_checked("2027-01-01T00:00".len()).filter(|(_, zone)| !zone.is_empty())
    {
        package["created"] = Value::from(format!("{minutes}:00{zone}"));
    }
    package["id"] = Value::from(ledger.id().to_string());
    if let Some(name) = state.name.shown() {
        package["title"] = Value::from(name.as_str());
    }
    let mut files = vec![("datapackage.json".to_owned(), format!("{package:#}\n"))];
    for table in package["resources"].as_array().into_iter().flatten() {
        let name = table["name"].as_str().unwrap_or_default();
        let columns: Vec<&str> = table["schema"]["fields"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(|field| field["name"].as_str())
            .collect();
        let of_table = rows.0.remove(name).unwrap_or_default();
        files.push((table["path"].as_str().unwrap_or_default().to_owned(), csv(&columns, &of_table)));
    }
    files
}

/// The archive of entries that stand in no state yet.
pub fn of_entries(ledger: Id, entries: &[Arc<Entry>], today: Date, made: &str) -> Vec<u8> {
    let mut here = Ledger::on(ledger, today);
    for entry in entries {
        here.insert(Arc::clone(entry));
    }
    archive(&files(&here, &State::fold(&here), today, made))
}

/// A table by RFC 4180: a line of names, then a line a row, ended by carriage return and line feed.
fn csv(columns: &[&str], rows: &[Row]) -> String {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    // Writing to memory cannot fail, and every row has as many values as there are columns.
    let _ = writer.write_record(columns);
    for row in rows {
        let _ = writer.write_record(columns.iter().map(|column| row.get(column).map_or("", String::as_str)));
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

/// Files as one archive, not compressed: any program opens it, and equal files make equal archives.
pub fn archive(files: &[(String, String)]) -> Vec<u8> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    for (name, text) in files {
        // Writing to memory cannot fail, and no table comes near the four gigabytes that would need other options.
        let _ = archive.start_file(name.as_str(), options).and_then(|()| Ok(archive.write_all(text.as_bytes())?));
    }
    archive.finish().map(Cursor::into_inner).unwrap_or_default()
}

fn bulbs(rows: &mut Rows, ledger: &Ledger, state: &State) {
    for bulb in state.bulbs.values() {
        let lot = bulb.lot.shown();
        let named = lot.and_then(|lot| state.lots.get(lot)).and_then(|lot| lot.shown());
        let fate = match &bulb.fate {
            Fate::Here => "here",
            Fate::Left { .. } => "left",
            Fate::Died { .. } => "died",
            Fate::Missing { .. } => "missing",
        };
        let size = bulb.circumference_mm;
        rows.add(
            "bulbs",
            row([
                ("bulb_id", some(bulb.id)),
                ("nursery_id", some(ledger.id())),
                ("tag", bulb.tag.shown().cloned()),
                ("own_name", bulb.own_name.shown().cloned()),
                ("lot_id", lot.and_then(some)),
                ("lot", named.and_then(|lot| some(&lot.name))),
                ("cultivar", named.and_then(|lot| some(&lot.cultivar))),
                ("supplier", named.and_then(|lot| some(&lot.supplier))),
                ("place_id", bulb.place.and_then(some)),
                ("place", bulb.place.and_then(|place| some(state.name_of(place)))),
                ("container_id", bulb.container.and_then(|(container, _)| some(container))),
                ("circumference_least_mm", size.and_then(|(least, _)| some(least))),
                ("circumference_most_mm", size.and_then(|(_, most)| some(most))),
                ("entered", bulb.added.and_then(|(written, _)| written.day()).and_then(some)),
                ("fate", some(fate)),
                ("fate_date", bulb.fate.since().and_then(some)),
            ]),
        );
    }
}

/// Everything recorded of bulbs and places that is in force, subject by subject in the order in which it was written.
fn records(rows: &mut Rows, ledger: &Ledger, state: &State) {
    for subject in ledger.subjects() {
        let said = ledger.in_force(subject);
        match subject.noun() {
            Some(Noun::Bulb) => {
                let Some(bulb) = state.bulb(&subject) else { continue };
                for entry in said {
                    of_bulb(rows, entry, bulb);
                }
            }
            Some(Noun::Place) => {
                for entry in said {
                    let (light, climate) = match &entry.body {
                        Body::Light(light) => (light.clone(), Climate::default()),
                        Body::Climate(climate) => (Light::default(), climate.clone()),
                        _ => continue,
                    };
                    let mut reading = row([
                        ("place_id", some(subject)),
                        ("place", some(state.name_of(subject))),
                        ("ppfd_umol", light.ppfd_umol.and_then(some)),
                        ("lux", light.lux.and_then(some)),
                        ("temperature_dc", climate.temperature_dc.and_then(some)),
                        ("humidity_percent", climate.humidity_percent.and_then(some)),
                        ("open_ppfd_umol", light.open_ppfd_umol.and_then(some)),
                        ("open_lux", light.open_lux.and_then(some)),
                        ("passes_permille", light.passes_permille.and_then(some)),
                        ("under", light.of.and_then(|of| some(of.word()))),
                        ("lowest_dc", climate.lowest_dc.and_then(some)),
                        ("highest_dc", climate.highest_dc.and_then(some)),
                    ]);
                    reading.append(&mut envelope(entry));
                    rows.add("readings", reading);
                }
            }
            _ => {}
        }
    }
}

/// What every record says of itself.
fn envelope(entry: &Entry) -> Row {
    let envelope = &entry.envelope;
    let time = envelope.happened.as_str().split_once('T').map(|(_, time)| time.to_owned());
    row([
        ("record_id", some(entry.id)),
        ("date", some(envelope.happened.date())),
        ("time", time),
        ("person_id", some(envelope.who)),
        ("device_id", some(envelope.device)),
    ])
}

fn of_bulb(rows: &mut Rows, entry: &Entry, bulb: &Bulb) {
    let add = |rows: &mut Rows, table: &'static str, mut values: Row| {
        values.append(&mut envelope(entry));
        values.insert("bulb_id", bulb.id.to_string());
        rows.add(table, values);
    };
    match &entry.body {
        Body::Look(look) => {
            add(
                rows,
                "looks",
                row([
                    ("way", some(look.way.word())),
                    ("neck", some(look.neck.word())),
                    ("leaves", some(look.leaves.word())),
                    ("n_leaves", look.n_leaves.and_then(some)),
                ]),
            );
            for shoot in &look.shoots {
                add(
                    rows,
                    "shoots",
                    row([
                        ("shoot_id", some(shoot.id)),
                        ("ordinal", some(shoot.ordinal)),
                        ("side", some(shoot.side.word())),
                        ("kind", some(shoot.kind.word())),
                        ("stage", some(shoot.stage.word())),
                        ("height_mm", shoot.height_mm.and_then(some)),
                    ]),
                );
            }
        }
        // Who walked past and saw nothing at any neck has looked at each.
        Body::Sweep(_) => add(rows, "looks", row([("way", some("sweep")), ("neck", some("clear"))])),
        Body::Act(kind, act) => add(rows, "care", of_act(kind.word(), act)),
        Body::Measure(measure) => {
            let unit = if measure.g.is_some() { "g" } else { "mm" };
            add(
                rows,
                "measures",
                row([
                    ("trait", some(measure.what.word())),
                    ("value", measure.mm.or(measure.g).and_then(some)),
                    ("value_to", measure.mm_to.and_then(some)),
                    ("unit", some(unit)),
                ]),
            );
        }
        Body::Count(count) => {
            add(rows, "measures", row([("trait", some(count.what.word())), ("value", some(count.n))]));
        }
        Body::Inspection(inspection) => {
            let checked: Vec<&str> = inspection.checked.iter().map(|check| check.word()).collect();
            let checked = (!checked.is_empty()).then(|| checked.join("; "));
            let findings = inspection.findings.iter().map(|finding| some(finding.word()));
            let nothing = inspection.findings.is_empty().then_some(None);
            for finding in findings.chain(nothing) {
                add(
                    rows,
                    "inspections",
                    row([
                        ("finding", finding),
                        ("watch", some(inspection.watch)),
                        ("checked", checked.clone()),
                        ("again", inspection.again.and_then(some)),
                        ("note", inspection.note.clone()),
                    ]),
                );
            }
        }
        Body::Call(call) => {
            let mut shoots = bulb.cycles.iter().flat_map(|cycle| &cycle.shoots);
            let shoot = shoots.rfind(|shoot| shoot.id == call.shoot && shoot.kind != ShootKind::Unknown);
            add(
                rows,
                "calls",
                row([
                    ("shoot_id", some(call.shoot)),
                    ("stalk_permille", some(call.scape_permille)),
                    ("method", some(&call.method)),
                    ("turned_out", shoot.and_then(|shoot| some(shoot.kind.word()))),
                ]),
            );
        }
        _ => {}
    }
}

fn of_act(word: &str, act: &Act) -> Row {
    row([
        ("act", some(word)),
        ("with", act.with.clone()),
        ("place_id", act.place.and_then(some)),
        ("container_id", act.container.and_then(some)),
        ("how", act.how.map(LeftHow::word).and_then(some)),
        ("stage", act.stage.and_then(|stage| some(stage.word()))),
        ("cause", act.cause.clone()),
        ("note", act.note.clone()),
    ])
}

const fn outcome_word(kind: Kind) -> &'static str {
    match kind {
        Kind::InTime => "in time",
        Kind::TooEarly => "too early",
        Kind::Late => "late",
        Kind::NotReached => "not reached",
        Kind::Waiting => "waiting",
        Kind::CantSay => "can't say",
        Kind::Left => "left",
        Kind::Missing => "missing",
        Kind::Died => "died",
    }
}

fn tries(rows: &mut Rows, ledger: &Ledger, state: &State, today: Date) {
    for (id, run) in &state.runs {
        let (Some(body), Some(standing)) = (run.body.shown(), standing(ledger, state, *id, today)) else { continue };
        let question = state.trials.get(&body.trial).and_then(|trial| trial.question.shown());
        for group in &standing.groups {
            let treatment = state.groups.get(&group.group).and_then(|group| group.shown());
            let levels = treatment.map(|treatment| {
                let levels = treatment.levels.iter().map(|level| format!("{}={}", level.factor, level.text));
                levels.collect::<Vec<_>>().join(";")
            });
            rows.add(
                "tries",
                row([
                    ("trial_id", some(body.trial)),
                    ("question", question.and_then(|question| some(&question.text))),
                    ("try_id", some(id)),
                    ("ordinal", some(body.ordinal)),
                    ("start", run.start().and_then(some)),
                    ("closed", run.closed.and_then(some)),
                    ("group_id", some(group.group)),
                    ("group", some(&group.name)),
                    ("control", some(group.control)),
                    ("levels", levels.and_then(some)),
                    ("goal", standing.rule.as_ref().and_then(|rule| some(rule.goal.word()))),
                    ("goal_stage", standing.rule.as_ref().and_then(|rule| some(rule.stage.word()))),
                    ("due_from", standing.window.as_ref().and_then(|window| some(window.from))),
                    ("due_to", standing.window.as_ref().and_then(|window| some(window.to))),
                ]),
            );
            for unit in &group.units {
                let reach = match (unit.bulbs.as_slice(), &standing.rule, &standing.window, run.start()) {
                    ([bulb], Some(rule), Some(window), Some(start)) => {
                        state.bulb(bulb).map(|bulb| judge(bulb, start, rule, window, today).reach)
                    }
                    _ => None,
                };
                rows.add(
                    "outcomes",
                    row([
                        ("try_id", some(id)),
                        ("group_id", some(group.group)),
                        ("unit_id", some(unit.unit)),
                        ("block", some(unit.block)),
                        ("outcome", some(outcome_word(unit.outcome.kind()))),
                        ("last_look", unit.last_look.and_then(some)),
                        ("without", reach.as_ref().and_then(|reach| reach.without).and_then(some)),
                        ("with", reach.as_ref().and_then(|reach| reach.with).and_then(some)),
                        ("contradicted", some(unit.contradicted)),
                    ]),
                );
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{demo, testing::World};
    use std::collections::BTreeSet;

    fn demo_files() -> Vec<(String, String)> {
        let today = Date::new(2027, 11, 20).expect("a day");
        let ledger = demo::generate(demo::SCRIPT, today).expect("a demo").to_ledger();
        files(&ledger, &State::fold(&ledger), today, "2027-11-20T08:00+01:00")
    }

    fn rows_of(files: &[(String, String)], name: &str) -> Vec<BTreeMap<String, String>> {
        let text = &files.iter().find(|(file, _)| file == name).expect("a table").1;
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        reader.deserialize().map(|row| row.expect("a row")).collect()
    }

    #[test]
    fn every_column_is_in_the_dictionary_and_none_is_always_empty() {
        let files = demo_files();
        let package: Value = serde_json::from_str(&files[0].1).expect("a dictionary");
        let mut empty = BTreeSet::new();
        for table in package["resources"].as_array().expect("tables") {
            let rows = rows_of(&files, table["path"].as_str().expect("a path"));
            for field in table["schema"]["fields"].as_array().expect("fields") {
                let name = field["name"].as_str().expect("a name");
                assert!(field["description"].as_str().is_some_and(|about| about.len() > 8), "{name}");
                if rows.iter().all(|row| row[name].is_empty()) {
                    empty.insert(format!("{}.{name}", table["name"].as_str().expect("a name")));
                }
            }
        }
        // What the demo nursery has never recorded.
        let never = [
            "bulbs.supplier",
            "care.note",
            "inspections.again",
            "inspections.checked",
            "inspections.note",
            "looks.n_leaves",
            "measures.value_to",
            "people.name",
            "readings.highest_dc",
            "readings.lowest_dc",
            "readings.open_ppfd_umol",
            "readings.passes_permille",
            "readings.ppfd_umol",
        ];
        assert_eq!(empty.into_iter().collect::<Vec<_>>(), never);
    }

    #[test]
    fn what_was_put_right_is_told_once_and_a_look_for_all_by_each() {
        let world = World::of(
            "0 mia place pl_1 One
             0 mia lot lo_1 Red
             0 mia bulb b_1 lo_1 in=pl_1
             0 mia bulb b_2 lo_1 in=pl_1
             wrong: 1 mia look b_1 clear
             1 mia look b_1 sh_1/scape/first-flower-open ~wrong
             2 mia sweep b_1,b_2 pl_1
             3 mia watered b_1,b_2",
        );
        let state = State::fold(&world.ledger);
        let files = files(&world.ledger, &state, Date::new(2027, 2, 1).expect("a day"), "2027-02-01");
        let looks = rows_of(&files, "looks.csv");
        let told: Vec<(&str, &str, &str)> =
            looks.iter().map(|row| (row["bulb_id"].as_str(), row["date"].as_str(), row["way"].as_str())).collect();
        assert_eq!(told.len(), 3, "{told:?}");
        assert_eq!(told.iter().filter(|(_, _, way)| *way == "sweep").count(), 2);
        assert_eq!(rows_of(&files, "shoots.csv").len(), 1);
        assert_eq!(rows_of(&files, "care.csv").iter().filter(|row| row["act"] == "watered").count(), 2);
    }

    #[test]
    fn text_with_commas_quotes_and_line_breaks_comes_back() {
        let values = ["a,b", "say \"when\"", "two\nlines", "=1+1", ""];
        let rows: Vec<Row> = values.iter().map(|value| row([("text", some(value)), ("n", some(1))])).collect();
        let text = csv(&["text", "n"], &rows);
        assert!(text.starts_with("text,n\r\n\"a,b\",1\r\n\"say \"\"when\"\"\",1\r\n"), "{text}");
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let back: Vec<String> = reader.records().map(|row| row.expect("a row")[0].to_owned()).collect();
        assert_eq!(back, values);
    }

    #[test]
    fn equal_files_make_equal_archives_that_open() {
        let files = vec![("a.csv".to_owned(), "x\r\n1\r\n".to_owned()), ("b.json".to_owned(), "{}".to_owned())];
        let bytes = archive(&files);
        assert_eq!(bytes, archive(&files));
        let mut read = zip::ZipArchive::new(Cursor::new(bytes)).expect("an archive");
        assert_eq!(std::io::read_to_string(read.by_name("a.csv").expect("a file")).expect("text"), files[0].1);
    }
}
