//! Registers: one value at a time for each subject, kind and slot, unless two devices disagree.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::{body::Body, entry::Entry, id::EntryId};

/// What a register says for one subject.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Register<T> {
    /// Nothing was said.
    #[default]
    Unset,
    /// One value, or several entries that agree.
    Agreed(T),
    /// Values that differ; the first is the one shown, none is used by statistics.
    Conflict(Vec<(EntryId, T)>),
}

impl<T> Register<T> {
    /// The value to show: the settled one, or of those that differ the one written last.
    pub fn shown(&self) -> Option<&T> {
        match self {
            Self::Unset => None,
            Self::Agreed(value) => Some(value),
            Self::Conflict(values) => values.first().map(|(_, value)| value),
        }
    }

    /// The value that computations may use.
    pub fn settled(&self) -> Option<&T> {
        match self {
            Self::Agreed(value) => Some(value),
            Self::Unset | Self::Conflict(_) => None,
        }
    }

    /// Whether values differ.
    pub fn is_disagreed(&self) -> bool {
        matches!(self, Self::Conflict(_))
    }
}

impl<T: PartialEq> Register<T> {
    /// Reads a register from its heads. The value shown among several that differ is that of the greatest
    /// (hybrid time, device, id), the same on every device.
    pub fn of_heads<'a>(heads: &[&'a Arc<Entry>], read: impl Fn(&'a Body) -> Option<T>) -> Self {
        let values: Vec<(EntryId, T)> =
            newest_first(heads).into_iter().filter_map(|entry| Some((entry.id, read(&entry.body)?))).collect();
        let agree = values.windows(2).all(|pair| pair[0].1 == pair[1].1);
        match values.len() {
            0 => Self::Unset,
            _ if agree => values.into_iter().next().map_or(Self::Unset, |(_, value)| Self::Agreed(value)),
            _ => Self::Conflict(values),
        }
    }
}

/// Entries by when they were written, the last one first. Not generic, so that there is one copy of the sort.
fn newest_first<'a>(heads: &[&'a Arc<Entry>]) -> Vec<&'a Arc<Entry>> {
    let mut sorted = heads.to_vec();
    sorted.sort_by_key(|entry| std::cmp::Reverse((entry.envelope.hlc, entry.envelope.device, entry.id)));
    sorted
}
