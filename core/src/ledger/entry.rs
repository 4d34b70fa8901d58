//! One entry: an envelope whose meaning is fixed for ever, and a body by kind.

use std::fmt::{self, Write as _};

use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};
use serde_json::value::RawValue;

use super::{
    body::Body,
    canonical::WHOLE_NUMBER_MAX,
    id::{EntryId, Id},
};
use crate::{
    calendar::{Date, Happened},
    error::Error,
    json::{self, Object},
    limits,
    refusal::{DateRefusal, StoredRefusal},
};

/// Hybrid logical time: milliseconds since 1970 and a counter within one millisecond.
///
/// Kulkarni, Demirbas, Madappa, Avva and Leone (2014), *Logical physical clocks*. It orders what is shown; it never
/// decides what is true.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct HybridTime {
    /// Milliseconds since 1970-01-01 UTC.
    pub ms: u64,
    /// Counter within the millisecond.
    pub counter: u16,
}

impl HybridTime {
    /// Its civil day in UTC; nothing outside the years that records know.
    pub fn day(self) -> Option<Date> {
        // 1990-01-01 is 7305 days after 1970-01-01: 20 years with 5 leap days.
        let days = i64::try_from(self.ms / 86_400_000).ok()? - 7305;
        (days >= 0).then(|| Date::EARLIEST.add_days(days).ok())?
    }
}

/// What surrounds every body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Envelope {
    /// What the entry speaks about, 1 to 400 things.
    pub about: Vec<Id>,
    /// The installation that wrote it.
    pub device: Id,
    /// Entries saved together share a form.
    pub form: Id,
    /// When it happened, in the grower's civil time.
    pub happened: Happened,
    /// When it was written down.
    pub hlc: HybridTime,
    /// Name of the kind.
    pub kind: String,
    /// The ledger it belongs to.
    pub ledger: Id,
    /// Number on that device in that ledger, from 1.
    pub line: u64,
    /// Which of several registers of one kind; empty for most.
    pub slot: String,
    /// Entries it replaces or takes back.
    pub supersedes: Vec<EntryId>,
    /// Version of the body.
    pub v: u32,
    /// Who recorded it.
    pub who: Id,
}

/// An entry as it stands in the ledger: exact bytes, their hash, and what they say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Hash of the bytes.
    pub id: EntryId,
    /// The envelope.
    pub envelope: Envelope,
    /// What it says, with names as they are shown: the bytes have them whole.
    pub body: Body,
    bytes: Box<str>,
}

/// The members of a record; there are no others.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Line<'a> {
    about: Vec<Id>,
    #[serde(borrow)]
    body: &'a RawValue,
    device: Id,
    form: Id,
    happened: Happened,
    hlc: (u64, u16),
    kind: String,
    ledger: Id,
    line: u64,
    slot: String,
    supersedes: Vec<EntryId>,
    v: u32,
    who: Id,
}

impl Entry {
    /// Reads an entry whose hash the caller has checked or trusts.
    ///
    /// # Errors
    ///
    /// When the line is too long or its envelope is not one. A body that this program does not know is no error.
    pub fn read(id: EntryId, bytes: &str) -> Result<Self, Error> {
        limits::LINE_BYTES.check(bytes.len() as i64)?;
        let no_record = |why| Error::new(StoredRefusal::NoRecord(Box::new(why)));
        let Object(line) = json::read::<Object<Line<'_>>>(bytes).map_err(no_record)?;
        let (ms, counter) = line.hlc;
        let envelope = Envelope {
            about: line.about,
            device: line.device,
            form: line.form,
            happened: line.happened,
            hlc: HybridTime { ms, counter },
            kind: line.kind,
            ledger: line.ledger,
            line: line.line,
            slot: line.slot,
            supersedes: line.supersedes,
            v: line.v,
            who: line.who,
        };
        limits::ABOUT.check(envelope.about.len() as i64)?;
        if !(1..=WHOLE_NUMBER_MAX as u64).contains(&envelope.line) {
            return Err(Error::new(StoredRefusal::NoLineNumber(envelope.line)));
        }
        Ok(Self {
            id,
            body: Body::read(&envelope.kind, envelope.v, line.body.get()).with_names_cut(),
            envelope,
            bytes: bytes.into(),
        })
    }

    /// Writes an entry: its canonical bytes and their hash.
    ///
    /// # Errors
    ///
    /// When the body holds what a record cannot hold, or the line grows over its limit.
    pub fn seal(envelope: Envelope, body: Body) -> Result<Self, Error> {
        limits::ABOUT.check(envelope.about.len() as i64)?;
        let bytes = write_line(&envelope, &body.to_canonical()?)?;
        limits::LINE_BYTES.check(bytes.len() as i64)?;
        Ok(Self { id: EntryId::of(bytes.as_bytes()), envelope, body, bytes: bytes.into() })
    }

    /// The exact bytes that were hashed.
    pub fn bytes(&self) -> &str {
        &self.bytes
    }

    /// Where the entry stands in the order shown: when it happened, then when it was written, then its id.
    pub fn order(&self) -> (&Happened, HybridTime, EntryId) {
        (&self.envelope.happened, self.envelope.hlc, self.id)
    }
}

/// Its id and its bytes, for messages between threads: an entry that was read before is not hashed again.
impl Serialize for Entry {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        (self.id, self.bytes()).serialize(serializer)
    }
}

impl<'de> Deserialize<'de> for Entry {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let (id, bytes) = <(EntryId, &str)>::deserialize(deserializer)?;
        Self::read(id, bytes).map_err(D::Error::custom)
    }
}

/// The canonical line, written straight away: its keys are known, and ids and dates need no escapes.
fn write_line(envelope: &Envelope, body: &str) -> Result<String, Error> {
    for text in [&envelope.kind, &envelope.slot] {
        let plain = |c: char| matches!(c, ' '..='~') && c != '"' && c != '\\';
        if !text.chars().all(plain) {
            return Err(Error::new(StoredRefusal::NotAscii(text.clone())));
        }
    }
    if envelope.hlc.ms.max(envelope.line) > WHOLE_NUMBER_MAX as u64 {
        return Err(Error::new(DateRefusal::ClockBeyond));
    }
    let mut line = String::with_capacity(400 + 32 * envelope.about.len() + body.len());
    line.push_str("{\"about\":[");
    push_all(&mut line, &envelope.about);
    line.push_str("],\"body\":");
    line.push_str(body);
    // Writing to a string cannot fail.
    let _ = write!(
        line,
        r#","device":"{}","form":"{}","happened":"{}","hlc":[{},{}],"kind":"{}","ledger":"{}","line":{},"slot":"{}","supersedes":["#,
        envelope.device,
        envelope.form,
        envelope.happened,
        envelope.hlc.ms,
        envelope.hlc.counter,
        envelope.kind,
        envelope.ledger,
        envelope.line,
        envelope.slot,
    );
    push_all(&mut line, &envelope.supersedes);
    let _ = write!(line, r#"],"v":{},"who":"{}"}}"#, envelope.v, envelope.who);
    Ok(line)
}

fn push_all(line: &mut String, ids: &[impl fmt::Display]) {
    for (n, id) in ids.iter().enumerate() {
        let _ = write!(line, "{}\"{id}\"", if n > 0 { "," } else { "" });
    }
}

/// An entry before it is sealed: all but the line number, the hybrid time and the writer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Draft {
    /// What it speaks about.
    pub about: Vec<Id>,
    /// What it says.
    pub body: Body,
    /// When it happened.
    pub happened: Happened,
    /// Which register.
    pub slot: String,
    /// What it replaces.
    pub supersedes: Vec<EntryId>,
}

impl Draft {
    /// An entry about these things that replaces nothing.
    pub fn new(about: Vec<Id>, happened: Happened, body: Body) -> Self {
        Self { about, body, happened, slot: String::new(), supersedes: Vec::new() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::Ledger;
    use std::sync::Arc;

    /// The documented first entry; its values are made up, its hashes are fixed for ever.
    const FIRST: &str = r#"{"about":["b_4q2m8k1r9t3v5x7z2c6d8f0g1h"],"body":{"at":"neck","mm":125,"what":"height"},"device":"d_9k3m5p7r1t3v5x8z0b2d4f6g8h","form":"f_0a","happened":"2027-03-14T18:20+02:00","hlc":[1804954811000,0],"kind":"measure","ledger":"l_7h2j4k6m8n0p1q3r5s7t9v1w3x","line":41,"slot":"","supersedes":[],"v":1,"who":"p_2b4d6f8h0j1k3m5n7p9q1r3s5t"}"#;

    #[test]
    fn the_first_entry_hashes_as_documented() {
        let id = EntryId::of(FIRST.as_bytes());
        assert_eq!(id.to_string(), "eazvjfdqmewfa53xrjoras3wa7refrnzkvd4ncgrlwetvvm5mxfvq");
        let entry = Entry::read(id, FIRST).unwrap();
        let mut ledger = Ledger::new(entry.envelope.ledger);
        assert!(ledger.insert(Arc::new(entry)));
        let digest: String = ledger.digest().iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(digest, "2b947eccf0c17840a6d393e3d9a9dc065c5ae180e011d10904fff1b0979bb7e7");
    }

    #[test]
    fn sealing_what_was_read_gives_the_same_bytes() {
        let entry = Entry::read(EntryId::of(FIRST.as_bytes()), FIRST).unwrap();
        let again = Entry::seal(entry.envelope.clone(), entry.body.clone()).unwrap();
        assert_eq!(again.bytes(), FIRST);
        assert_eq!(again, entry);
    }

    #[test]
    fn an_unknown_kind_is_kept_byte_for_byte() {
        let line = FIRST.replace(r#""kind":"measure""#, r#""kind":"song""#);
        let entry = Entry::read(EntryId::of(line.as_bytes()), &line).unwrap();
        assert_eq!(entry.body, Body::Unknown);
        assert_eq!(entry.bytes(), line);
    }

    #[test]
    fn a_line_with_an_impossible_date_or_a_key_too_many_is_no_record() {
        for (from, to, why) in [
            ("2027-03-14T18", "2027-02-30T18", "NoDay { year: 2027, month: 2, day: 30, last: 28 }"),
            (r#""v":1"#, r#""v":1,"w":1"#, "unknown field `w`"),
            (r#""v":1,"#, "", "missing field `v`"),
            (r#""v":1"#, r#""v":1,"v":1"#, "duplicate field `v`"),
            ("[1804954811000,0]", "[1804954811000,0,0]", "\"hlc"),
            (r#"["b_4q2m8k1r9t3v5x7z2c6d8f0g1h"]"#, "[]", ""),
        ] {
            let line = FIRST.replace(from, to);
            let found = Entry::read(EntryId::of(line.as_bytes()), &line).unwrap_err().to_string();
            assert!(found.contains(why), "{found}");
        }
    }
}
