//! Sealing drafts and putting them on the shelf, in one transaction.

use std::sync::Arc;

use super::{Attachment, LineRow, Op, Store, arrival_key, tail_row};
use crate::{
    error::{Error, Result},
    ledger::{
        clock,
        entry::{Draft, Entry, Envelope},
        id::Id,
    },
    limits,
    refusal::RecordRefusal,
};

/// All that one tap saves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Form {
    /// Name shared by its entries, drawn when the form was opened.
    pub id: Id,
    /// Who records.
    pub who: Id,
    /// What to record, in order.
    pub drafts: Vec<Draft>,
    /// Photos and files that the drafts name.
    pub attachments: Vec<Attachment>,
    /// Their small pictures.
    pub thumbs: Vec<Attachment>,
    /// The row in `drafts` that this form was kept in meanwhile.
    pub draft_key: Option<String>,
}

impl Form {
    /// A form without photos.
    pub const fn new(id: Id, who: Id, drafts: Vec<Draft>) -> Self {
        Self { id, who, drafts, attachments: Vec::new(), thumbs: Vec::new(), draft_key: None }
    }
}

/// What a save has to write, and what it wrote once it is complete.
#[derive(Clone, Debug)]
pub struct Appended {
    /// To be carried out in the transaction that read the `line` row.
    pub ops: Vec<Op>,
    /// The sealed entries, in the order of the drafts.
    pub entries: Vec<Arc<Entry>>,
    /// The `line` row as it will be.
    pub line: LineRow,
}

/// Seals a form's drafts with line numbers and hybrid time.
///
/// `line_row` is read in the same transaction that carries out the operations, so two tabs never use one number, and
/// a transaction that is aborted uses up none.
///
/// # Errors
/// When there is nothing to record, the clock shows a day that records do not know, the row cannot be read, or a draft
/// holds what a record cannot hold.
pub fn append(line_row: &[u8], form: &Form, now_ms: u64) -> Result<Appended> {
    if form.drafts.is_empty() {
        return Err(Error::new(RecordRefusal::Nothing));
    }
    clock::check(now_ms)?;
    let mut line = LineRow::read(line_row)?;
    let n_after = line.arrived.saturating_add(form.drafts.len() as u64);
    limits::ENTRIES.check(i64::try_from(n_after).unwrap_or(i64::MAX))?;
    let mut ops = Vec::with_capacity(form.drafts.len() + 2);
    let mut entries = Vec::with_capacity(form.drafts.len());
    for draft in &form.drafts {
        let entry = seal(&mut line, form, draft, now_ms)?;
        ops.push(Op::put(Store::Tail, arrival_key(line.arrived), tail_row(&entry)));
        entries.push(Arc::new(entry));
    }
    ops.extend(form.attachments.iter().map(|a| a.put(Store::Attachments)));
    ops.extend(form.thumbs.iter().map(|a| a.put(Store::Thumbs)));
    ops.extend(form.draft_key.iter().map(|key| Op::delete(Store::Drafts, key)));
    ops.push(line.put());
    Ok(Appended { ops, entries, line })
}

fn seal(line: &mut LineRow, form: &Form, draft: &Draft, now_ms: u64) -> Result<Entry> {
    let mut clock = line.clock();
    let hlc = clock.tick(now_ms);
    line.set_clock(clock);
    line.line = line.line.saturating_add(1);
    line.arrived = line.arrived.saturating_add(1);
    line.since_export = line.since_export.saturating_add(1);
    let envelope = Envelope {
        about: draft.about.clone(),
        device: line.device,
        form: form.id,
        happened: draft.happened.clone(),
        hlc,
        kind: draft.body.kind().to_owned(),
        ledger: line.ledger,
        line: line.line,
        slot: draft.slot.clone(),
        supersedes: draft.supersedes.clone(),
        v: 1,
        who: form.who,
    };
    Entry::seal(envelope, draft.body.clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::{
        shelf::{LINE_KEY, exported, read_tail},
        testing::{Writer, note},
    };
    use crate::refusal::StoredRefusal;

    const NOON_MS: u64 = 1_804_954_811_000;

    fn row(line: &LineRow) -> super::super::Bytes {
        match line.put() {
            Op::Put { bytes, key, .. } if key == LINE_KEY => bytes,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn entries_of_a_form_get_lines_times_and_rows_in_order() {
        let writer = Writer::new(1);
        let mut before = LineRow::new(writer.ledger(), writer.device());
        (before.line, before.arrived) = (40, 100);
        let photo = Attachment::of(*b"not really a photo");
        let mut form = Form::new(writer.form(), writer.who(), vec![note("a"), note("b")]);
        form.attachments = vec![photo.clone()];
        form.draft_key = Some("walk".into());
        let appended = append(&row(&before), &form, NOON_MS).unwrap();
        let lines: Vec<_> = appended.entries.iter().map(|e| e.envelope.line).collect();
        assert_eq!(lines, [41, 42]);
        assert_eq!(appended.entries[1].envelope.hlc, crate::ledger::entry::HybridTime { ms: NOON_MS, counter: 1 });
        assert_eq!((appended.line.line, appended.line.arrived, appended.line.since_export), (42, 102, 2));
        let keys: Vec<_> = appended.ops.iter().map(|op| (op.store(), op.key().to_owned())).collect();
        assert_eq!(
            keys,
            [
                (Store::Tail, arrival_key(101)),
                (Store::Tail, arrival_key(102)),
                (Store::Attachments, photo.hash().to_string()),
                (Store::Drafts, "walk".into()),
                (Store::Meta, LINE_KEY.into()),
            ]
        );
        let Op::Put { bytes, .. } = &appended.ops[0] else { panic!("a put") };
        assert_eq!(read_tail(bytes).unwrap(), appended.entries[0]);
    }

    #[test]
    fn only_what_the_file_holds_counts_as_written_out() {
        let writer = Writer::new(1);
        let form = |text| Form::new(writer.form(), writer.who(), vec![note(text)]);
        let mut line = LineRow::new(writer.ledger(), writer.device());
        (line.line, line.since_export) = (40, 16);
        // Composed here; two more are saved, by whichever tab, before the file goes out.
        let up_to = line.line;
        for text in ["a", "b"] {
            line = append(&row(&line), &form(text), NOON_MS).unwrap().line;
        }
        let (_, line) = exported(&row(&line), up_to, NOON_MS).unwrap();
        assert_eq!((line.since_export, line.exported_ms), (2, NOON_MS));
        // A file composed before that one, which goes out after it, takes nothing of it back.
        let (_, all) = exported(&row(&line), line.line, NOON_MS).unwrap();
        let (_, older) = exported(&row(&all), up_to, NOON_MS + 1).unwrap();
        assert_eq!((all.since_export, older.since_export), (0, 0));
    }

    #[test]
    fn what_cannot_be_saved_is_refused_whole() {
        let writer = Writer::new(1);
        let line = LineRow::new(writer.ledger(), writer.device());
        let empty = Form::new(writer.form(), writer.who(), Vec::new());
        assert!(append(&row(&line), &empty, NOON_MS).is_err());
        let mut nobody = note("about nobody");
        nobody.about.clear();
        let form = Form::new(writer.form(), writer.who(), vec![note("good"), nobody]);
        assert!(append(&row(&line), &form, NOON_MS).is_err());
        assert!(append(b"{}", &form, NOON_MS).is_err());
        let newer = String::from_utf8(row(&line).to_vec()).unwrap().replace("\"format\":1", "\"format\":2");
        let why = append(newer.as_bytes(), &Form::new(writer.form(), writer.who(), vec![note("x")]), NOON_MS);
        assert_eq!(why.unwrap_err(), Error::new(StoredRefusal::NewerVersion));
    }
}
