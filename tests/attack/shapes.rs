//! Files made to be costly: every record verifies, and all of them together are what nobody would write.
//!
//! They are built here rather than kept as megabytes. `n` is how large, about the number of records.

use std::sync::Arc;

use bloomdue_core::{
    calendar::{Date, Happened},
    care::{self, plan::planned},
    forecast::score::scores,
    handover::{
        PhotosHere, Preview,
        json::{Refusal, compose, read},
    },
    ledger::{
        Ledger,
        body::{Body, Note},
        entry::{Draft, Entry},
        id::{EntryId, Id},
        shelf::{self, Form, Fresh, Intake, LineRow, Op, Rows, Store},
    },
    nursery::{State, duplicates},
    trial::result::{parts::at_once, tries::trial_result},
};

/// The nursery that all of them are of.
pub(crate) const LEDGER: &str = "l_1";

/// This installation.
pub(crate) const OWN_DEVICE: &str = "d_own";

/// Noon of 2027-03-14 in Central Europe, in ms since 1970.
pub(crate) const NOON_MS: u64 = 1_804_954_811_000;

/// The day of all that is asked.
pub(crate) fn today() -> Date {
    Date::new(2027, 3, 14).expect("a day")
}

pub(crate) fn id(text: &str) -> Id {
    Id::parse(text).expect("an id")
}

/// A file by its cause.
pub(crate) struct Shape {
    /// What is wrong with it.
    pub(crate) cause: &'static str,
    /// The file.
    pub(crate) file: String,
}

/// Records under construction.
#[derive(Default)]
pub(crate) struct Maker {
    entries: Vec<Arc<Entry>>,
    device: String,
    line: u64,
    happened: String,
    slot: String,
}

impl Maker {
    pub(crate) fn new() -> Self {
        Self { device: "d_1".to_owned(), happened: "2027-03-01".to_owned(), ..Self::default() }
    }

    /// One more record, with the next line of its device.
    pub(crate) fn add(&mut self, kind: &str, about: &[String], supersedes: &[EntryId], body: &str) -> EntryId {
        self.line += 1;
        let line = self.line;
        self.at_line(line, kind, about, supersedes, body)
    }

    fn at_line(&mut self, line: u64, kind: &str, about: &[String], supersedes: &[EntryId], body: &str) -> EntryId {
        let quoted = |texts: Vec<String>| {
            let texts: Vec<String> = texts.iter().map(|text| format!("\"{text}\"")).collect();
            texts.join(",")
        };
        let bytes = format!(
            r#"{{"about":[{}],"body":{body},"device":"{}","form":"f_1","happened":"{}","hlc":[{},0],"kind":"{kind}","ledger":"{LEDGER}","line":{line},"slot":"{}","supersedes":[{}],"v":1,"who":"p_1"}}"#,
            quoted(about.to_vec()),
            self.device,
            self.happened,
            NOON_MS - 1_000_000_000 + line % 1_000_000_000,
            self.slot,
            quoted(supersedes.iter().map(ToString::to_string).collect()),
        );
        let id = EntryId::of(bytes.as_bytes());
        let entry = Entry::read(id, &bytes).expect("a record");
        self.entries.push(Arc::new(entry));
        id
    }

    fn note(&mut self, about: &str, text: &str) -> EntryId {
        let body = format!(r#"{{"text":"{text}"}}"#);
        self.add("note", &[about.to_owned()], &[], &body)
    }

    fn take_back(&mut self, about: &[String], ids: &[EntryId]) -> EntryId {
        self.add("take-back", about, ids, "{}")
    }

    pub(crate) fn file(self, name: &str) -> String {
        let mut ledger = Ledger::new(id(LEDGER));
        for entry in self.entries {
            ledger.insert(entry);
        }
        compose(&ledger, name, "2027-03-14", [])
    }
}

fn bulbs(n: usize) -> Vec<String> {
    (0..n).map(|n| format!("b_{n}")).collect()
}

/// A bulb with a name: what makes a bulb known.
fn named(maker: &mut Maker, bulb: &str, name: &str) -> EntryId {
    maker.slot = "own".to_owned();
    let body = format!(r#"{{"name":"{name}"}}"#);
    let id = maker.add("bulb-name", &[bulb.to_owned()], &[], &body);
    maker.slot.clear();
    id
}

/// Layers of take-backs, each of them naming all of the layer below.
pub(crate) fn layers(width: usize, n_layers: usize) -> Maker {
    let mut maker = Maker::new();
    let mut below = vec![named(&mut maker, "b_0", "White")];
    for _ in 0..n_layers {
        let layer = (0..width).map(|_| maker.take_back(&bulbs(1), &below));
        below = layer.collect();
    }
    maker
}

/// A name, and a chain of take-backs each of which takes back the one before.
pub(crate) fn chain(n: usize) -> Maker {
    let mut maker = Maker::new();
    let mut last = named(&mut maker, "b_0", "White");
    for _ in 0..n {
        last = maker.take_back(&bulbs(1), &[last]);
    }
    maker
}

fn fan(n: usize) -> Maker {
    let mut maker = Maker::new();
    let name = named(&mut maker, "b_0", "White");
    for _ in 0..n {
        maker.take_back(&bulbs(1), &[name]);
    }
    maker
}

/// Records about 400 things, and take-backs about all of them that name 300 each.
fn many_subjects(n: usize) -> Maker {
    let mut maker = Maker::new();
    let about = bulbs(400);
    let body = r#"{"text":"seen"}"#;
    let notes: Vec<EntryId> = (0..300).map(|_| maker.add("note", &about, &[], body)).collect();
    for _ in 0..n / 300 {
        maker.take_back(&about, &notes);
    }
    for bulb in &about {
        named(&mut maker, bulb, "White");
    }
    for _ in 0..n {
        maker.take_back(&about[..1], &notes[..1]);
    }
    maker
}

/// Bulbs in a row, each said to be the next or the one before.
pub(crate) fn same(n: usize, up: bool) -> Maker {
    let mut maker = Maker::new();
    let name = |n: usize| format!("b_{n:06}");
    for at in 0..n {
        named(&mut maker, &name(at), "White");
        let (one, other) = if up { (at, at + 1) } else { (at + 1, at) };
        let body = format!(r#"{{"to":"{}"}}"#, name(other));
        maker.add("same-as", &[name(one)], &[], &body);
    }
    maker
}

fn same_shoots(n: usize) -> Maker {
    let mut maker = Maker::new();
    named(&mut maker, "b_0", "White");
    for at in 0..n {
        let look = format!(
            r#"{{"leaves":"count","n_leaves":3,"neck":"shoots","shoots":[{{"id":"sh_{at}","kind":"unknown","ordinal":{at},"side":"left","stage":"shoot"}}],"way":"each"}}"#
        );
        maker.device = format!("d_{}", at % 2 + 1);
        maker.add("look", &bulbs(1), &[], &look);
        let about = ["b_0".to_owned(), format!("sh_{at}")];
        maker.add("same-as", &about, &[], &format!(r#"{{"to":"sh_{}"}}"#, at + 1));
        let proof = format!(r#"{{"kind":"scape","shoot":"sh_{at}"}}"#);
        maker.add("proof", &bulbs(1), &[], &proof);
    }
    maker
}

fn long_names(n_chars: usize) -> Maker {
    let mut maker = Maker::new();
    let long = "W".repeat(n_chars);
    let one = |text: &str| vec![text.to_owned()];
    maker.add("nursery", &one(LEDGER), &[], &format!(r#"{{"name":"{long}"}}"#));
    maker.add("person", &one("p_1"), &[], &format!(r#"{{"initials":"{long}","name":"{long}"}}"#));
    maker.add("place", &one("pl_1"), &[], &format!(r#"{{"kind":"bench","name":"{long}"}}"#));
    maker.add("lot", &one("lo_1"), &[], &format!(r#"{{"cultivar":"{long}","name":"{long}"}}"#));
    named(&mut maker, "b_0", &long);
    maker
}

fn gaps(n: usize) -> Maker {
    let mut maker = Maker::new();
    for _ in 0..n {
        maker.line += 1;
        maker.note("b_0", "seen");
    }
    maker
}

fn doubled_lines(n: usize) -> Maker {
    let mut maker = Maker::new();
    for at in 0..n {
        maker.line = 0;
        maker.note("b_0", &format!("seen {at}"));
    }
    maker
}

fn own_lines_at_the_end() -> Maker {
    let mut maker = Maker::new();
    maker.device = OWN_DEVICE.to_owned();
    let body = r#"{"text":"seen"}"#;
    maker.at_line(9_007_199_254_740_991, "note", &bulbs(1), &[], body);
    maker.at_line(1_000_000_000, "note", &bulbs(1), &[], body);
    maker
}

fn future(n: usize) -> Maker {
    let mut maker = Maker::new();
    maker.happened = "2199-12-31".to_owned();
    for at in 0..n {
        let bulb = format!("b_{}", at % 100);
        named(&mut maker, &bulb, "White");
        maker.add("watered", std::slice::from_ref(&bulb), &[], "{}");
        maker.add("rest-ended", &[bulb], &[], "{}");
    }
    maker
}

/// A try of many groups with two bulbs each, decided.
pub(crate) fn groups(n: usize) -> Maker {
    let mut maker = Maker::new();
    maker.happened = "2026-03-01".to_owned();
    let list = |letters: &str, n: usize| {
        let ids: Vec<String> = (0..n).map(|n| format!("\"{letters}_{n}\"")).collect();
        ids.join(",")
    };
    let one = |text: &str| vec![text.to_owned()];
    let question = format!(r#"{{"factors":[],"groups":[{}],"text":"Longer?"}}"#, list("gr", n));
    maker.add("question", &one("tr_1"), &[], &question);
    for at in 0..n {
        let body = format!(r#"{{"levels":[],"name":"group {at}","trial":"tr_1"}}"#);
        maker.add("treatment", &[format!("gr_{at}")], &[], &body);
    }
    maker.add("run", &one("ru_1"), &[], r#"{"look_interval_days":4,"ordinal":1,"start":"2026-03-01","trial":"tr_1"}"#);
    maker.add(
        "success-rule",
        &one("ru_1"),
        &[],
        r#"{"died":"not in time","goal":"by","stage":"first flower open","test":"boschloo","unit":"bulb"}"#,
    );
    maker.add("due-window", &one("ru_1"), &[], r#"{"from":"2026-05-01","name":"Fair","to":"2026-05-09"}"#);
    let numbers = |of: &dyn Fn(usize) -> usize| {
        let numbers: Vec<String> = (0..2 * n).map(|at| of(at).to_string()).collect();
        numbers.join(",")
    };
    let allotment = format!(
        r#"{{"arms":[{}],"blocks":[{}],"groups":[{}],"method":"blocks/1","seed":"00ff","unit":"bulb","units":[{}]}}"#,
        numbers(&|at| at / 2),
        numbers(&|_| 0),
        list("gr", n),
        list("b", 2 * n),
    );
    maker.add("allotment", &one("ru_1"), &[], &allotment);
    maker.add("run-started", &one("ru_1"), &[], "{}");
    for bulb in bulbs(2 * n) {
        named(&mut maker, &bulb, &bulb);
        maker.add("died", &[bulb], &[], "{}");
    }
    maker
}

/// Many tries of one trial, of two groups with two bulbs each.
fn tries(n: usize) -> Maker {
    let mut maker = groups(2);
    for at in 2..n {
        let run = [format!("ru_{at}")];
        let body = format!(r#"{{"look_interval_days":4,"ordinal":{at},"start":"2026-03-01","trial":"tr_1"}}"#);
        maker.add("run", &run, &[], &body);
        for (kind, body) in [
            (
                "success-rule",
                r#"{"died":"not in time","goal":"by","stage":"first flower open","test":"boschloo","unit":"bulb"}"#,
            ),
            ("due-window", r#"{"from":"2026-05-01","name":"Fair","to":"2026-05-09"}"#),
            (
                "allotment",
                r#"{"arms":[0,0,1,1],"blocks":[0,0,0,0],"groups":["gr_0","gr_1"],"method":"blocks/1","seed":"00ff","unit":"bulb","units":["b_0","b_1","b_2","b_3"]}"#,
            ),
            ("run-started", "{}"),
        ] {
            maker.add(kind, &run, &[], body);
        }
    }
    maker
}

/// Everything of a nursery taken back.
pub(crate) fn all_taken_back(n: usize) -> Maker {
    let mut maker = Maker::new();
    for at in 0..n {
        named(&mut maker, &format!("b_{}", at % 400), &format!("White {at}"));
    }
    let ids: Vec<EntryId> = maker.entries.iter().map(|entry| entry.id).collect();
    for ids in ids.chunks(300) {
        maker.take_back(&bulbs(400), ids);
    }
    maker
}

fn care_jobs(n: usize) -> Maker {
    let mut maker = Maker::new();
    for at in 0..n {
        maker.slot = format!("{at}");
        let job = r#"{"act":"fed","after_days":7,"doing":"act","during":"growth","every_days":14,"from":"stage","stage":"over"}"#;
        maker.add("care-plan", &["pl_1".to_owned()], &[], job);
    }
    maker
}

/// One act of one day written down by two phones again and again, and half of them said to be the same.
fn twin_acts(n: usize) -> Maker {
    let mut maker = Maker::new();
    for at in 0..n {
        maker.device = format!("d_{}", at % 2 + 1);
        let act = maker.add("watered", &bulbs(3), &[], "{}");
        if at % 2 == 0 {
            maker.add("same-act", &bulbs(3), &[], &format!(r#"{{"entry":"{act}"}}"#));
        }
    }
    named(&mut maker, "b_0", "White");
    maker
}

fn disagreements(n: usize) -> Maker {
    let mut maker = Maker::new();
    for at in 0..n {
        let bulb = format!("b_{}", at / 2);
        named(&mut maker, &bulb, &format!("White {at}"));
    }
    maker
}

fn forcings(n: usize) -> Maker {
    let mut maker = Maker::new();
    let list: Vec<String> = bulbs(50).iter().map(|bulb| format!("\"{bulb}\"")).collect();
    for bulb in bulbs(50) {
        named(&mut maker, &bulb, &bulb);
    }
    for at in 0..n {
        let body = format!(
            r#"{{"batches":[{{"bulbs":[{}],"first_look":"2027-08-14","rest_end":"2027-07-26"}}],"from":"2027-10-01","rest_weeks":8,"stage":"fit to sell","sure_permille":900,"to":"2027-10-09","wanted":1}}"#,
            list.join(",")
        );
        maker.add("plan", &[format!("fo_{at}")], &[], &body);
    }
    maker
}

/// Every shape at a size.
pub(crate) fn shapes(n: usize) -> Vec<Shape> {
    let of = |cause, maker: Maker| Shape { cause, file: maker.file("Vale of Leaves") };
    vec![
        of("layers-of-take-backs", layers(20, 8)),
        of("deep-layers-of-take-backs", layers(20, n / 20)),
        of("chain-of-take-backs", chain(n)),
        of("fan-of-take-backs", fan(n)),
        of("many-subjects", many_subjects(n / 10)),
        of("bulbs-said-to-be-the-next", same(n / 2, true)),
        of("bulbs-said-to-be-the-last", same(n / 2, false)),
        of("shoots-said-to-be-one", same_shoots(n / 10)),
        of("long-names", long_names(10_000)),
        Shape { cause: "long-head", file: Maker::new().file(&"W".repeat(4_000_000 - 100)) },
        of("gaps", gaps(n)),
        of("doubled-lines", doubled_lines(n)),
        of("own-lines-at-the-end", own_lines_at_the_end()),
        of("future", future(n / 3)),
        of("many-groups", groups(400)),
        of("many-tries", tries(n / 100)),
        of("all-taken-back", all_taken_back(n)),
        of("care-jobs", care_jobs(n)),
        of("twin-acts", twin_acts(n)),
        of("disagreements", disagreements(n)),
        of("forcings", forcings(n / 50)),
    ]
}

/// What came of a file that was taken in.
pub(crate) struct Taken {
    /// What was shown before.
    pub(crate) preview: Preview,
    /// All records afterwards.
    pub(crate) ledger: Ledger,
    /// The nursery afterwards.
    pub(crate) state: State,
    /// How many jobs are due.
    pub(crate) n_due: usize,
    /// The line number of the next record written here.
    pub(crate) next_line: u64,
}

/// A shelf of this installation that holds nothing yet.
fn shelf_rows(ledger: Id) -> Rows {
    let line = LineRow::new(ledger, id(OWN_DEVICE));
    let mut rows = Rows::default();
    keep(&mut rows, &[line.put()]);
    rows
}

fn keep(rows: &mut Rows, ops: &[Op]) {
    for op in ops {
        let Op::Put { store, key, bytes } = op else {
            continue;
        };
        match (store, key.as_str()) {
            (Store::Meta, shelf::LINE_KEY) => rows.line = Some(bytes.clone()),
            (Store::Meta, shelf::BLOCKS_KEY) => rows.list = Some(bytes.clone()),
            (Store::Blocks, _) => rows.blocks.push((key.clone(), bytes.clone())),
            (Store::Tail, _) => rows.tail.push((key.clone(), bytes.clone())),
            _ => {}
        }
    }
}

/// Does all with a file that the app does: reads and previews it, takes it in, opens the shelf again, folds, answers what
/// the screens ask, and writes one more record down.
///
/// # Errors
/// When nothing of the file can be taken in.
pub(crate) fn take_in(file: &[u8]) -> Result<Taken, Refusal> {
    let reading = read(file, |_| {})?;
    let ledger = Ledger::new(reading.ledger);
    let preview = reading.preview(&ledger, &PhotosHere::default(), NOON_MS)?;
    let mut rows = shelf_rows(ledger.id());
    let intake = Intake::of(&preview.new, NOON_MS, id("d_new"));
    let line_row = rows.line.clone().unwrap_or_default();
    let imported =
        shelf::import(&line_row, None, None, 0, &intake).map_err(Refusal::TooLarge)?.expect("nothing else has arrived");
    keep(&mut rows, &imported.ops);
    let fresh = Fresh { ledger: ledger.id(), device: id("d_new"), now_ms: NOON_MS, today: today() };
    let mut opened = shelf::open(&rows, fresh);
    keep(&mut rows, &opened.repairs);
    let body = Body::Note(Note { text: "still here".to_owned() });
    let draft = Draft::new(vec![ledger.id()], Happened::on(today()), body);
    let form = Form::new(id("f_2"), id("p_1"), vec![draft]);
    let line_row = rows.line.clone().unwrap_or_default();
    let appended = shelf::append(&line_row, &form, NOON_MS).expect("a phone that records");
    for entry in &appended.entries {
        opened.ledger.insert(entry.clone());
    }
    let ledger = opened.ledger;
    let mut state = State::fold(&ledger);
    let subjects = ledger.subjects();
    for part in state.parts(&ledger, &subjects) {
        state.refold(&ledger, &part);
    }
    ask(&ledger, &state);
    Ok(Taken {
        n_due: screens(&ledger, &state),
        next_line: appended.entries.last().map_or(0, |entry| entry.envelope.line),
        preview,
        ledger,
        state,
    })
}

/// What stands on Due, on the pages of tries and trials, and under the forecast at once; whatever takes longer is worked
/// out beside the page, in steps that can be stopped.
fn screens(ledger: &Ledger, state: &State) -> usize {
    let today = today();
    let mut due = care::due(state, today);
    due.add(state, planned(state, today));
    scores(ledger, state, today);
    for run in state.runs.keys() {
        at_once(ledger, state, *run, today);
    }
    for trial in state.trials.keys() {
        trial_result(ledger, state, *trial, today);
    }
    due.places.iter().map(|place| place.jobs.len()).sum()
}

/// What screens ask of the records themselves.
fn ask(ledger: &Ledger, state: &State) {
    ledger.problems();
    duplicates::acts(ledger);
    duplicates::shoots(ledger, state);
    duplicates::answers(ledger);
    duplicates::n_arriving(ledger, ledger.arrived());
    for register in state.disagreements.iter().take(50) {
        state.heads(ledger, register);
    }
    for entry in ledger.arrived().iter().step_by(ledger.len() / 50 + 1) {
        ledger.successors(entry);
    }
    for bulb in state.bulbs.values().step_by(state.bulbs.len() / 50 + 1) {
        bulb.history(ledger);
    }
}
