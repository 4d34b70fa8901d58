//! Files of records: what we ever released opens for ever, and nothing hostile gets in or stops the program.

use std::{
    collections::BTreeSet,
    path::{Path, PathBuf},
    sync::Arc,
};

use bloomdue_core::{
    calendar::Date,
    demo,
    handover::{
        PhotosHere, Preview,
        json::{PhotoKind, Reading, Refusal, compose, read},
    },
    ledger::{
        Ledger,
        body::{ActKind, Body},
        entry::Entry,
        have::to_hex,
        id::{AttachmentHash, EntryId},
    },
};
use serde_json::Value;

use crate::{
    bodies::{self, PHOTO, THUMB},
    make::{NOON_MS, entry, id, ledger_id, ledger_of, name, note, reworded, said, take_back},
    schema::errors,
};

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(name)
}

/// Entries of every kind from three devices, with an amendment, a disagreement, a take-back, a line left out, a line
/// used twice, a clock a year ahead, and a kind and a version that this program does not know.
fn sample() -> Ledger {
    let mut entries: Vec<Arc<Entry>> = Vec::new();
    for (n, draft) in bodies::drafts().into_iter().enumerate() {
        entries.push(entry(["d_1", "d_2"][n % 2], n as u64 / 2 + 1, draft));
    }
    let white = entry("d_1", 100, name("b_1", "white", &[]));
    let cream = entry("d_2", 100, name("b_1", "cream", &[white.id]));
    let ivory = entry("d_1", 101, name("b_1", "ivory", &[white.id]));
    let wrong = entry("d_1", 102, note("b_2", "wrong bulb"));
    let back = entry("d_2", 101, take_back("b_2", wrong.id));
    let song = reworded(&entry("d_3", 1, note("b_1", "to a bulb")), "\"kind\":\"note\"", "\"kind\":\"song\"");
    let later = reworded(&entry("d_3", 2, note("b_1", "later")), "\"v\":1", "\"v\":7");
    let twice = entry("d_3", 2, note("b_1", "from the clone"));
    let ahead = reworded(
        &entry("d_3", 9, note("b_1", "wrong year")),
        &format!("[{},0]", NOON_MS + 9),
        &format!("[{},0]", NOON_MS + 400 * 86_400_000),
    );
    entries.extend([white, cream, ivory, wrong, back, song, later, twice, ahead]);
    ledger_of(&entries)
}

fn sample_file() -> String {
    let photos = [
        (AttachmentHash::of(THUMB), PhotoKind::Thumb, "image/svg+xml", THUMB),
        (AttachmentHash::of(PHOTO), PhotoKind::Photo, "image/svg+xml", PHOTO),
    ];
    compose(&sample(), "Vale of Leaves", "2027-03-14T18:20+02:00", photos)
}

/// Previews a file in an empty ledger of the nursery.
fn preview(file: &[u8]) -> Result<Preview, Refusal> {
    read(file, |_| {})?.preview(&Ledger::new(ledger_id()), &PhotosHere::default(), NOON_MS)
}

/// A file with the small pictures alone misses nothing; one with none does.
#[test]
fn a_photo_whose_small_picture_is_in_the_file_is_not_missing() {
    let small = [(AttachmentHash::of(THUMB), PhotoKind::Thumb, "image/svg+xml", THUMB)];
    let with = |photos: &[_]| {
        let file = compose(&sample(), "", "2027-03-14T18:20+02:00", photos.iter().copied());
        preview(file.as_bytes()).unwrap().missing_photos
    };
    assert_eq!(with(&small), []);
    assert_eq!(with(&[]), [AttachmentHash::of(PHOTO)]);
}

/// The first golden file was written once by `write_the_golden_file`. It is never changed: a later version that does
/// not read it has to be mended, not the file.
#[test]
fn the_first_golden_file_reads_for_ever() {
    let file = std::fs::read(folder("golden/records-1.bloomdue.json")).unwrap();
    let mut photos = BTreeSet::new();
    let reading = read(&file, |photo| {
        photos.insert(photo.attachment.hash());
    })
    .unwrap();
    assert_eq!(photos, [PHOTO, THUMB].map(AttachmentHash::of).into());
    assert_eq!((reading.name.as_str(), reading.made.as_str()), ("Vale of Leaves", "2027-03-14T18:20+02:00"));
    let ledger = ledger_of(&reading.entries);
    assert_eq!(
        (ledger.len(), to_hex(&ledger.digest()).as_str()),
        (71, "762ae2d29b1a236328e51b8f5c5d27ccc1ecede94704c04dae5a9c8fd100b240")
    );
    assert_eq!(ledger.unknown().count(), 2);
    let preview = preview(&file).unwrap();
    assert!(preview.whole && !preview.cut_off);
    assert!(preview.changed.is_empty() && preview.unreadable.is_empty() && preview.reformatted.is_empty());
    assert!(preview.damaged_photos.is_empty() && preview.missing_photos.is_empty());
    assert_eq!((preview.gaps.len(), preview.cloned.len(), preview.suspects.len()), (3, 1, 1));
    let unknown: Vec<_> = preview.unknown_kinds.into_iter().collect();
    assert_eq!(unknown, [("note".to_owned(), 1), ("song".to_owned(), 1)]);
}

#[test]
fn the_golden_file_never_changes() {
    // Written once by format 1; a reader that no longer fits it has to change, never the file.
    let file = std::fs::read(folder("golden/records-1.bloomdue.json")).unwrap();
    assert_eq!(
        AttachmentHash::of(&file).to_string(),
        "25d82da9eda0fee0e0164819679bd0b8790f606c9a1e436bd343a9623a940ac2"
    );
}

#[test]
fn entries_come_back_byte_for_byte_and_the_file_is_the_same_again() {
    let file = sample_file();
    let reading = read(file.as_bytes(), |_| {}).unwrap();
    let ledger = sample();
    assert_eq!(reading.entries.len(), ledger.len());
    for read in &reading.entries {
        let written = ledger.get(read.id).unwrap();
        assert_eq!(read.bytes(), written.bytes());
        assert_eq!(read, written);
    }
    let again = ledger_of(&reading.entries);
    assert_eq!(said(&again), said(&ledger));
    let without = |ledger: &Ledger| compose(ledger, "Vale of Leaves", "2027-03-14", []);
    assert_eq!(without(&again), without(&ledger), "the order of arrival shows in the file");
}

#[test]
fn a_file_keeps_to_its_schema() {
    let schema: Value = serde_json::from_str(include_str!("../../core/src/handover/records.schema.json")).unwrap();
    let file: Value = serde_json::from_str(&sample_file()).unwrap();
    assert_eq!(errors(&schema, &file), [""; 0]);
    let empty: Value = serde_json::from_str(&compose(&Ledger::new(ledger_id()), "", "2027-03-14", [])).unwrap();
    assert_eq!(errors(&schema, &empty), [""; 0]);
    // The schema does say something: each of these breaks it.
    for (pointer, wrong) in [
        ("/format", Value::from(0)),
        ("/ledger", Value::from("L_1")),
        ("/entries/0/id", Value::from("e123")),
        ("/entries/0/entry/about", Value::Array(Vec::new())),
        ("/entries/0/entry/hlc/1", Value::from(70_000)),
        ("/entries/0/entry/happened", Value::from("yesterday")),
        ("/photos/0/kind", Value::from("film")),
    ] {
        let mut broken = file.clone();
        *broken.pointer_mut(pointer).unwrap() = wrong;
        assert_eq!(errors(&schema, &broken).len(), 1, "{pointer}");
    }
}

/// What an entry says, as the schema of bodies takes it: a member named for its kind.
fn body_of(entry: &Value) -> Value {
    let kind = entry["kind"].as_str().unwrap().to_owned();
    Value::from_iter([(kind, entry["body"].clone())])
}

#[test]
fn every_kind_is_described_and_bodies_keep_to_their_schema() {
    let schema: Value = serde_json::from_str(include_str!("../../core/src/handover/bodies.schema.json")).unwrap();
    let kinds = schema["properties"].as_object().unwrap();
    let golden: Value = serde_json::from_str(include_str!("../golden/records-1.bloomdue.json")).unwrap();
    let demo = demo::generate(demo::SCRIPT, Date::new(2027, 3, 14).unwrap()).unwrap();
    let demo: Value = serde_json::from_str(&compose(&demo.to_ledger(), "", "2027-03-14", [])).unwrap();
    let mut n_known = 0;
    for line in [&golden, &demo].into_iter().flat_map(|file| file["entries"].as_array().unwrap()) {
        let entry = &line["entry"];
        let known = Body::nature_of(entry["kind"].as_str().unwrap()).is_some();
        assert_eq!(known, kinds.contains_key(entry["kind"].as_str().unwrap()));
        if known {
            assert_eq!(errors(&schema, &body_of(entry)), [""; 0], "{entry}");
            n_known += 1;
        }
    }
    assert!(n_known > 500, "{n_known}");
    for (kind, described) in kinds {
        let nature = Body::nature_of(kind).unwrap_or_else(|| panic!("{kind} is no kind"));
        let about = described["description"].as_str().unwrap().to_lowercase();
        assert!(about.contains(nature.word()), "{kind}: {about}");
    }
    for act in ActKind::ALL {
        assert!(kinds.contains_key(act.word()), "{}", act.word());
    }
    // What the schema refuses says nothing to the program either.
    for (kind, body) in [
        ("look", r#"{"leaves":"same","neck":"open","way":"each"}"#),
        ("bulb", "{}"),
        ("success-rule", r#"{"died":"left out","goal":"by","stage":"in flower","test":"none","unit":"bulb"}"#),
    ] {
        let wrong = Value::from_iter([(kind.to_owned(), serde_json::from_str::<Value>(body).unwrap())]);
        assert_eq!(errors(&schema, &wrong).len(), 1, "{kind}");
        assert_eq!(Body::read(kind, 1, body), Body::Unknown);
    }
}

#[test]
fn a_file_cut_off_anywhere_gives_what_verifies() {
    let file = sample_file();
    let whole = sample();
    let mut most = 0;
    for cut in (1..file.len() - 2).step_by(41) {
        let reading = match read(&file.as_bytes()[..cut], |_| {}) {
            Ok(reading) => reading,
            Err(why) => {
                assert!(cut < 3000 && matches!(why, Refusal::CutOff | Refusal::NotOurs), "cut at {cut}: {why}");
                continue;
            }
        };
        assert!(reading.cut_off, "cut at {cut}");
        assert!(reading.entries.len() >= most, "cut at {cut}: fewer than before");
        most = reading.entries.len();
        assert!(reading.entries.iter().all(|entry| whole.get(entry.id).is_some()));
        assert!(reading.changed.is_empty() && reading.unreadable.is_empty(), "cut at {cut}");
        let preview = preview(&file.as_bytes()[..cut]).unwrap();
        assert!(!preview.whole && (most == whole.len() || !preview.gaps.is_empty()), "cut at {cut}");
    }
    assert_eq!(most, whole.len());
}

#[test]
fn a_file_laid_out_anew_is_taken_and_said_to_be_so() {
    let value: Value = serde_json::from_str(&sample_file()).unwrap();
    let pretty = serde_json::to_string_pretty(&value).unwrap();
    let preview = preview(pretty.as_bytes()).unwrap();
    assert_eq!((preview.new.len(), preview.reformatted.len()), (76, 76));
    assert!(preview.whole && preview.changed.is_empty() && preview.damaged_photos.is_empty());
    for entry in &preview.new {
        assert_eq!(EntryId::of(entry.bytes().as_bytes()), entry.id);
    }
    // Windows line ends, and a byte order mark before everything.
    let saved = format!("\u{feff}{}", sample_file().replace('\n', "\r\n"));
    assert!(crate::files::preview(saved.as_bytes()).unwrap().whole);
}

#[test]
fn a_record_changed_by_hand_is_listed_and_not_taken() {
    let file = sample_file().replace("\"text\":\"wrong bulb", "\"text\":\"WRONG bulb");
    let preview = preview(file.as_bytes()).unwrap();
    let [changed] = &preview.changed[..] else { panic!("{:?}", preview.changed) };
    let wrong = entry("d_1", 102, note("b_2", "wrong bulb"));
    assert_eq!(changed.claimed, wrong.id);
    let now = changed.now.as_ref().unwrap();
    assert_eq!(now.bytes(), wrong.bytes().replace("wrong", "WRONG"));
    let text = String::from_utf8(file.into_bytes()).unwrap();
    let line = text.lines().nth(changed.line as usize - 1).unwrap();
    assert!(line.contains("WRONG"), "line {} is {line}", changed.line);
    assert!(preview.new.iter().all(|entry| entry.id != wrong.id && entry.id != now.id));
    assert!(!preview.whole && !preview.cut_off);
}

#[test]
fn another_nursery_is_named_and_can_be_kept_apart() {
    let file = sample_file();
    let reading = || -> Reading { read(file.as_bytes(), |_| {}).unwrap() };
    let here = Ledger::new(id("l_9"));
    let refused = reading().preview(&here, &PhotosHere::default(), NOON_MS);
    let name = "Vale of Leaves".to_owned();
    assert_eq!(refused.unwrap_err(), Refusal::OtherNursery { ledger: ledger_id(), name });
    let apart = Ledger::new(reading().ledger);
    assert!(reading().preview(&apart, &PhotosHere::default(), NOON_MS).is_ok());
}

/// What a hostile file in `hostile/` comes to, by the cause in its name.
#[test]
fn hostile_files_are_refused_or_give_only_what_verifies() {
    let mut n_files = 0;
    for file in std::fs::read_dir(folder("hostile")).unwrap() {
        let path = file.unwrap().path();
        let cause = path.file_name().unwrap().to_str().unwrap().to_owned();
        let bytes = std::fs::read(&path).unwrap();
        let found = preview(&bytes);
        check_hostile(&cause, found);
        n_files += 1;
    }
    assert_eq!(n_files, 15);
}

/// New, changed, unreadable entries; known, damaged photos.
fn counts(preview: &Preview) -> [usize; 5] {
    [
        preview.new.len(),
        preview.changed.len(),
        preview.unreadable.len(),
        preview.new_photos.len(),
        preview.damaged_photos.len(),
    ]
}

fn check_hostile(cause: &str, found: Result<Preview, Refusal>) {
    let found = found.as_ref();
    let is = |expected: [usize; 5]| assert_eq!(found.map(counts), Ok(expected), "{cause}");
    match cause {
        "not-json.bloomdue.json" | "empty.bloomdue.json" | "another-json.bloomdue.json" | "zip.bloomdue.json" => {
            assert_eq!(found.err(), Some(&Refusal::NotOurs), "{cause}");
        }
        "newer-format.bloomdue.json" => {
            assert_eq!(found.err(), Some(&Refusal::NewerFormat(2)), "{cause}");
        }
        "cut-off-in-the-head.bloomdue.json" => {
            assert_eq!(found.err(), Some(&Refusal::CutOff), "{cause}");
        }
        "another-nursery.bloomdue.json" => {
            assert!(matches!(found, Err(Refusal::OtherNursery { .. })), "{cause}");
        }
        // One record of two has a key twice, an id that is not its hash, or a line number beyond all bounds.
        "list-at-the-top.bloomdue.json" => is([2, 0, 1, 0, 0]),
        "key-twice.bloomdue.json" => is([1, 0, 1, 0, 0]),
        "id-of-another.bloomdue.json" => is([1, 1, 0, 0, 0]),
        "line-number-beyond-bounds.bloomdue.json" => is([1, 0, 1, 0, 0]),
        "quote-lost.bloomdue.json" => is([1, 0, 1, 0, 0]),
        "deep-nesting.bloomdue.json" => is([1, 0, 1, 0, 0]),
        "photo-not-its-hash.bloomdue.json" => is([2, 0, 0, 1, 1]),
        "strays-of-another-nursery.bloomdue.json" => is([1, 0, 1, 0, 0]),
        other => panic!("nothing is expected of {other}"),
    }
}

/// What each hostile file is made of. With `BLOOMDUE_WRITE` set, they are written anew.
#[test]
fn the_hostile_files_are_what_their_names_say() {
    let two = [entry("d_1", 1, note("b_1", "one")), entry("d_1", 2, note("b_1", "two"))];
    let file = |entries: &[Arc<Entry>]| compose(&ledger_of(entries), "Vale of Leaves", "2027-03-14", []);
    let plain = file(&two);
    // A record whose id is the hash of its bytes, whatever they say.
    let hashed = |bytes: &str| {
        let second = format!("{{\"id\":\"{}\",\"entry\":{}}}", two[1].id, two[1].bytes());
        let wrong = format!("{{\"id\":\"{}\",\"entry\":{bytes}}}", EntryId::of(bytes.as_bytes()));
        let made = plain.replace(&second, &wrong);
        assert_ne!(made, plain);
        made
    };
    let photos = [
        (AttachmentHash::of(PHOTO), PhotoKind::Photo, "image/svg+xml", PHOTO),
        (AttachmentHash::of(THUMB), PhotoKind::Photo, "image/svg+xml", PHOTO),
    ];
    let stray = two[1].bytes().replace(ledger_id().as_str(), "l_2");
    let deep = format!("{{\"about\":{}1{}}}", "[".repeat(9000), "]".repeat(9000));
    let files: [(&str, Vec<u8>); 15] = [
        ("not-json", b"Dear colleague, please find the records below.\n".to_vec()),
        ("empty", Vec::new()),
        ("another-json", b"{\"type\":\"FeatureCollection\",\"entries\":[{\"id\":1}]}\n".to_vec()),
        ("zip", b"PK\x03\x04\x14\x00\x00\x08\x00\x00".to_vec()),
        ("list-at-the-top", format!("[{plain}]").into_bytes()),
        ("newer-format", plain.replace("\"format\":1", "\"format\":2").into_bytes()),
        ("cut-off-in-the-head", plain.as_bytes()[..200].to_vec()),
        ("another-nursery", plain.replace(ledger_id().as_str(), "l_2").into_bytes()),
        ("key-twice", hashed(&two[1].bytes().replace("\"line\":2", "\"line\":2,\"line\":2")).into_bytes()),
        ("id-of-another", plain.replace("\"text\":\"two\"", "\"text\":\"2\"").into_bytes()),
        (
            "line-number-beyond-bounds",
            hashed(&two[1].bytes().replace("\"line\":2", "\"line\":18446744073709551615")).into_bytes(),
        ),
        ("quote-lost", plain.replace("\"text\":\"two\"", "\"text\":\"two").into_bytes()),
        ("deep-nesting", hashed(&deep).into_bytes()),
        ("photo-not-its-hash", compose(&ledger_of(&two), "", "2027-03-14", photos).into_bytes()),
        ("strays-of-another-nursery", hashed(&stray).into_bytes()),
    ];
    let write = std::env::var_os("BLOOMDUE_WRITE").is_some();
    for (cause, bytes) in files {
        let path = folder("hostile").join(format!("{cause}.bloomdue.json"));
        if write {
            std::fs::write(&path, &bytes).unwrap();
        }
        assert!(std::fs::read(&path).unwrap() == bytes, "{cause}");
    }
}

proptest::proptest! {
    #![proptest_config(proptest::test_runner::Config::with_cases(400))]

    /// Nothing that can happen to a file stops the reader or lets through what does not verify.
    #[test]
    fn a_garbled_file_gives_only_what_verifies(seed: u64, n_hits in 1_usize..12) {
        let whole = sample();
        let mut dice = crate::make::Dice::new(seed);
        let mut file = sample_file().into_bytes();
        for _ in 0..n_hits {
            let at = dice.below(file.len());
            match dice.below(4) {
                0 => file[at] ^= 1 << dice.below(8),
                1 => file[at] = b"\"{}[]\\,\n\0"[dice.below(9)],
                2 => { file.drain(at..(at + dice.below(300)).min(file.len())); }
                _ => { let copy = file[at..(at + dice.below(300)).min(file.len())].to_vec(); file.splice(at..at, copy); }
            }
        }
        if let Ok(reading) = read(&file, |_| {}) {
            for entry in &reading.entries {
                proptest::prop_assert!(whole.get(entry.id).is_some_and(|there| there == entry));
            }
            // Each hit can cost the lines it touches and, where it hides the start of one, the next; not the rest.
            proptest::prop_assert!(reading.entries.len() + 6 * n_hits >= whole.len(),
                "{} of {} after {n_hits} hits", reading.entries.len(), whole.len());
        }
    }
}
