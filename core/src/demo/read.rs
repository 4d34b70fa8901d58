//! The script read from its JSON. Its structures are listed by their fields and share what reads them, which takes a
//! fraction of the code that a reader made for each of them does.

use std::collections::BTreeMap;

use serde_json::{Map, Value};

use super::script::{
    Called, Care, Disagreement, Job, Life, Lot, Person, Place, Reading, Said, Script, Try,
};
use crate::{
    error::{Error, Result},
    ledger::body::{Finding, PlaceKind},
};

/// Reads a script.
///
/// # Errors
/// When it is none; the field that is at fault is named.
pub(super) fn script(text: &str) -> Result<Script> {
    let said = serde_json::from_str(text).map_err(|why| wrong(&format!("a script ({why})")))?;
    Script::read(said)
}

fn wrong(wanted: &str) -> Error {
    Error::new(format!("the demo's script should have {wanted} here"))
}

/// What a script can hold.
trait Read: Sized {
    fn read(said: Value) -> Result<Self>;

    /// What it is when it is left out; nothing when it must not be.
    fn left_out() -> Option<Self> {
        None
    }
}

/// The fields of a structure that were not read yet.
struct Fields(Map<String, Value>);

impl Fields {
    fn of(said: Value) -> Result<Self> {
        match said {
            Value::Object(fields) => Ok(Self(fields)),
            _ => Err(wrong("a structure")),
        }
    }

    fn take<T: Read>(&mut self, name: &str) -> Result<T> {
        let read = match self.0.remove(name) {
            Some(said) => T::read(said),
            None => T::left_out().ok_or_else(|| wrong("a value")),
        };
        read.map_err(|why| why.at(name))
    }

    /// Nothing is left over: a name that is misspelt is not passed by.
    fn end(self) -> Result<()> {
        match self.0.into_iter().next() {
            Some((name, _)) => Err(wrong("no such field").at(name)),
            None => Ok(()),
        }
    }
}

macro_rules! fields {
    ($($name:ident { $($field:ident),+ $(,)? })+) => { $(
        impl Read for $name {
            fn read(said: Value) -> Result<Self> {
                let mut fields = Fields::of(said)?;
                let read = Self { $($field: fields.take(stringify!($field))?,)+ };
                fields.end()?;
                Ok(read)
            }
        }
    )+ };
}
fields! {
    Script { seed, nursery, began, people, places, lots, tries, care, readings, disagreement }
    Person { initials, phone }
    Place { name, kind, cover }
    Lot { name, cultivar, grade, day, place, sizes_mm, own_names, trough, offsets }
    Try {
        ready, question, lot, start, due, window, classes, closed, jobs, looks, sweeps, said, lives,
    }
    Said { day, what, method, bulbs, numbers }
    Care { day, usual, words, person }
    Job { day, every, until, act, group, place, with }
    Life {
        leaves, unsure, leaf, stalk, flower, unseen, call, photos, fit, sold, missing, died, watch,
    }
    Called { day, answers }
    Reading { day, every, place, climate, lux, note }
    Disagreement { day, place, blocks_percent }
}

impl Read for String {
    fn read(said: Value) -> Result<Self> {
        match said {
            Value::String(text) => Ok(text),
            _ => Err(wrong("text")),
        }
    }
}

impl Read for bool {
    fn read(said: Value) -> Result<Self> {
        said.as_bool().ok_or_else(|| wrong("true or false"))
    }
}

impl Read for i64 {
    fn read(said: Value) -> Result<Self> {
        said.as_i64().ok_or_else(|| wrong("a whole number"))
    }
}

macro_rules! numbers {
    ($($number:ty),+) => { $(
        impl Read for $number {
            fn read(said: Value) -> Result<Self> {
                let n = i64::read(said)?;
                n.try_into().map_err(|_| wrong("a number that is not negative"))
            }
        }
    )+ };
}
numbers!(u32, usize);

macro_rules! words {
    ($($word:ty),+) => { $(
        impl Read for $word {
            fn read(said: Value) -> Result<Self> {
                let word = said.as_str().and_then(Self::from_word);
                word.ok_or_else(|| wrong("one of the words for it"))
            }
        }
    )+ };
}
words!(Finding, PlaceKind);

impl<T: Read> Read for Option<T> {
    fn read(said: Value) -> Result<Self> {
        match said {
            Value::Null => Ok(None),
            said => T::read(said).map(Some),
        }
    }

    fn left_out() -> Option<Self> {
        Some(None)
    }
}

impl<T: Read> Read for Vec<T> {
    fn read(said: Value) -> Result<Self> {
        match said {
            Value::Array(items) => items.into_iter().map(T::read).collect(),
            _ => Err(wrong("a list")),
        }
    }

    fn left_out() -> Option<Self> {
        Some(Self::new())
    }
}

impl<A: Read, B: Read> Read for (A, B) {
    fn read(said: Value) -> Result<Self> {
        let items = Vec::<Value>::read(said)?;
        match <[Value; 2]>::try_from(items) {
            Ok([a, b]) => Ok((A::read(a)?, B::read(b)?)),
            Err(_) => Err(wrong("two values")),
        }
    }
}

impl Read for Value {
    fn read(said: Value) -> Result<Self> {
        Ok(said)
    }
}

impl Read for BTreeMap<String, i64> {
    fn read(said: Value) -> Result<Self> {
        let fields = Fields::of(said)?.0.into_iter();
        let read = fields.map(|(name, said)| Ok((name, i64::read(said)?)));
        read.collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::SCRIPT;
    use super::script;

    #[test]
    fn what_is_misspelt_missing_or_of_another_kind_is_named() {
        assert!(script(SCRIPT).is_ok());
        let refused = |from: &str, to: &str| {
            assert!(SCRIPT.contains(from), "{from}");
            let why = script(&SCRIPT.replacen(from, to, 1)).expect_err(to);
            why.field().unwrap_or_default().to_owned()
        };
        assert_eq!(refused("\"began\"", "\"begun\""), "began");
        assert_eq!(refused("\"phone\"", "\"fone\""), "people.phone");
        assert_eq!(refused("\"seed\": \"", "\"odd\": 1, \"seed\": \""), "odd");
        assert_eq!(refused("{", ""), "");
    }
}
