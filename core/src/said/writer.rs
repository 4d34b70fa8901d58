//! Writing in canonical form, straight into the text.

use super::Said;
use crate::{
    error::{Error, Result},
    ledger::canonical::{WHOLE_NUMBER_MAX, check_text, quote},
};

/// Text being written.
#[derive(Debug, Default)]
pub struct Writer {
    out: String,
    /// The members of objects that are open: name, and where the value stands in the text.
    members: Vec<(&'static str, usize, usize)>,
    why: Option<Error>,
}

impl Writer {
    /// Begins an object; the answer is for [`Self::close`].
    pub fn open(&mut self) -> usize {
        self.members.len()
    }

    /// A member that is always written.
    pub fn must(&mut self, name: &'static str, value: &impl Said) {
        let start = self.out.len();
        value.write(self);
        self.members.push((name, start, self.out.len()));
    }

    /// A member that is left out when it is nothing, empty or false.
    pub fn may(&mut self, name: &'static str, value: &impl Said) {
        if !value.is_blank() {
            self.must(name, value);
        }
    }

    /// Ends an object: its members, so far one after the other, are put in order under their names.
    pub fn close(&mut self, open: usize) {
        let mut members = self.members.split_off(open);
        let from = members
            .first()
            .map_or(self.out.len(), |(_, start, _)| *start);
        let values = self.out.split_off(from);
        members.sort_by_key(|(name, ..)| *name);
        let mut mark = "{\"";
        for (name, start, end) in members {
            self.out.push_str(mark);
            self.out.push_str(name);
            self.out.push_str("\":");
            self.out
                .push_str(values.get(start - from..end - from).unwrap_or_default());
            mark = ",\"";
        }
        self.out
            .push_str(if mark.starts_with('{') { "{}" } else { "}" });
    }

    /// What stands between two brackets, with commas.
    pub fn list<T>(&mut self, items: impl IntoIterator<Item = T>, each: impl Fn(&mut Self, T)) {
        for (n, item) in items.into_iter().enumerate() {
            if n > 0 {
                self.out.push(',');
            }
            each(self, item);
        }
    }

    /// Puts signs that stand for themselves.
    pub fn push(&mut self, raw: &str) {
        self.out.push_str(raw);
    }

    /// Writes text.
    pub fn text(&mut self, text: &str) {
        if let Err(why) = check_text(text) {
            self.fail(why);
        }
        quote(text, &mut self.out);
    }

    /// Writes a whole number.
    pub fn whole(&mut self, n: i128) {
        if n.abs() > i128::from(WHOLE_NUMBER_MAX) {
            self.fail(Error::new(format!(
                "{n} is not a whole number that a record can hold"
            )));
        }
        self.out.push_str(&n.to_string());
    }

    /// Notes what cannot be written.
    pub fn fail(&mut self, why: Error) {
        self.why.get_or_insert(why);
    }

    /// All that was written, in canonical form.
    ///
    /// # Errors
    ///
    /// What first was no record's.
    pub fn finish(self) -> Result<String> {
        self.why.map_or(Ok(self.out), Err)
    }

    /// All that was written, where it is no record: any text and any number.
    pub fn into_text(self) -> String {
        self.out
    }
}
