//! Values as bytes, for what the same build reads again: the state that is kept between starts, and messages between
//! threads. Nothing here has to be understood later: fields stand one after the other without names.
//!
//! Numbers are written in groups of seven bits, least first. Ids repeat a great deal, so each is written once, in a
//! table, and named by its place there.

use std::collections::{BTreeMap, HashMap};

use crate::{
    calendar::{Date, Happened},
    ledger::id::{AttachmentHash, EntryId, Id},
};

/// Bytes being written.
#[derive(Default)]
pub(crate) struct Writer {
    bytes: Vec<u8>,
    table: Vec<Id>,
    known: HashMap<Id, u64>,
}

impl Writer {
    fn number(&mut self, mut n: u64) {
        while n >= 128 {
            self.bytes.push(n as u8 | 128);
            n >>= 7;
        }
        self.bytes.push(n as u8);
    }

    /// Writes bytes with their number.
    pub(crate) fn raw(&mut self, bytes: &[u8]) {
        self.number(bytes.len() as u64);
        self.bytes.extend_from_slice(bytes);
    }

    /// Writes a single byte, such as the number of a variant.
    pub(crate) fn byte(&mut self, byte: u8) {
        self.bytes.push(byte);
    }

    /// The table, then all that was written.
    pub(crate) fn finish(self) -> Vec<u8> {
        let mut whole = Self::default();
        whole.number(self.table.len() as u64);
        for id in &self.table {
            whole.raw(id.as_str().as_bytes());
        }
        whole.bytes.extend_from_slice(&self.bytes);
        whole.bytes
    }
}

/// Bytes being read.
pub(crate) struct Reader<'a> {
    rest: &'a [u8],
    table: Vec<Id>,
}

impl<'a> Reader<'a> {
    /// Starts with the table.
    pub(crate) fn new(bytes: &'a [u8]) -> Option<Self> {
        let mut reader = Self {
            rest: bytes,
            table: Vec::new(),
        };
        for _ in 0..reader.number()? {
            let text = str::from_utf8(reader.raw()?).ok()?;
            reader.table.push(Id::parse(text).ok()?);
        }
        Some(reader)
    }

    /// Whether everything was read.
    pub(crate) fn is_empty(&self) -> bool {
        self.rest.is_empty()
    }

    /// The next byte.
    pub(crate) fn byte(&mut self) -> Option<u8> {
        let (first, rest) = self.rest.split_first()?;
        self.rest = rest;
        Some(*first)
    }

    fn number(&mut self) -> Option<u64> {
        let mut n = 0;
        for shift in (0..64).step_by(7) {
            let byte = self.byte()?;
            n |= u64::from(byte & 127) << shift;
            if byte < 128 {
                return Some(n);
            }
        }
        None
    }

    fn take(&mut self, n: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.rest.split_at_checked(n)?;
        self.rest = rest;
        Some(taken)
    }

    /// Bytes written with their number.
    pub(crate) fn raw(&mut self) -> Option<&'a [u8]> {
        let n = usize::try_from(self.number()?).ok()?;
        self.take(n)
    }
}

/// What can be written so.
pub(crate) trait Pack: Sized {
    fn put(&self, to: &mut Writer);
    /// Nothing when the bytes are none of this.
    fn take(from: &mut Reader<'_>) -> Option<Self>;
}

macro_rules! numbers {
    ($($number:ty),+) => { $(
        impl Pack for $number {
            fn put(&self, to: &mut Writer) {
                to.number(u64::from(*self));
            }
            fn take(from: &mut Reader<'_>) -> Option<Self> {
                from.number()?.try_into().ok()
            }
        }
    )+ };
}
numbers!(u16, u32, u64);

impl Pack for i64 {
    fn put(&self, to: &mut Writer) {
        // Small numbers of either sign stay short.
        to.number(((self << 1) ^ (self >> 63)) as u64);
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        let n = from.number()?;
        Some((n >> 1) as Self ^ -((n & 1) as Self))
    }
}

macro_rules! as_others {
    ($($number:ty as $other:ty),+) => { $(
        impl Pack for $number {
            fn put(&self, to: &mut Writer) {
                (*self as $other).put(to);
            }
            fn take(from: &mut Reader<'_>) -> Option<Self> {
                <$other>::take(from)?.try_into().ok()
            }
        }
    )+ };
}
as_others!(usize as u64, i32 as i64);

/// To the last bit, and whatever it is: endless too.
impl Pack for f64 {
    fn put(&self, to: &mut Writer) {
        to.bytes.extend_from_slice(&self.to_le_bytes());
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        Some(Self::from_le_bytes(from.take(8)?.try_into().ok()?))
    }
}

impl Pack for bool {
    fn put(&self, to: &mut Writer) {
        to.byte(u8::from(*self));
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        match from.byte()? {
            0 => Some(false),
            1 => Some(true),
            _ => None,
        }
    }
}

impl Pack for String {
    fn put(&self, to: &mut Writer) {
        to.raw(self.as_bytes());
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        str::from_utf8(from.raw()?).ok().map(str::to_owned)
    }
}

impl Pack for Id {
    fn put(&self, to: &mut Writer) {
        let next = to.table.len() as u64;
        let at = *to.known.entry(*self).or_insert(next);
        if at == next {
            to.table.push(*self);
        }
        to.number(at);
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        let at = usize::try_from(from.number()?).ok()?;
        from.table.get(at).copied()
    }
}

macro_rules! hashes {
    ($($hash:ident),+) => { $(
        impl Pack for $hash {
            fn put(&self, to: &mut Writer) {
                to.bytes.extend_from_slice(&self.0);
            }
            fn take(from: &mut Reader<'_>) -> Option<Self> {
                from.take(32)?.try_into().ok().map($hash)
            }
        }
    )+ };
}
hashes!(EntryId, AttachmentHash);

impl Pack for Date {
    fn put(&self, to: &mut Writer) {
        self.number().put(to);
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        Self::of_number(u32::take(from)?)
    }
}

impl Pack for Happened {
    fn put(&self, to: &mut Writer) {
        to.raw(self.as_str().as_bytes());
        self.date().put(to);
        self.minute_of_day().put(to);
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        let text = String::take(from)?;
        Some(Self::of_parts(text, Date::take(from)?, Pack::take(from)?))
    }
}

impl<T: Pack> Pack for Option<T> {
    fn put(&self, to: &mut Writer) {
        self.is_some().put(to);
        if let Some(value) = self {
            value.put(to);
        }
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        Some(if bool::take(from)? {
            Some(T::take(from)?)
        } else {
            None
        })
    }
}

impl<T: Pack> Pack for Vec<T> {
    fn put(&self, to: &mut Writer) {
        to.number(self.len() as u64);
        for item in self {
            item.put(to);
        }
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        let n = usize::try_from(from.number()?).ok()?;
        // A garbled number must not ask for memory that the bytes left cannot need.
        let mut items = Self::with_capacity(n.min(from.rest.len()));
        for _ in 0..n {
            items.push(T::take(from)?);
        }
        Some(items)
    }
}

impl<T: Pack, const N: usize> Pack for [T; N] {
    fn put(&self, to: &mut Writer) {
        for item in self {
            item.put(to);
        }
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        let items: Option<Vec<T>> = (0..N).map(|_| T::take(from)).collect();
        items?.try_into().ok()
    }
}

impl<T: Pack> Pack for Box<T> {
    fn put(&self, to: &mut Writer) {
        (**self).put(to);
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        T::take(from).map(Self::new)
    }
}

impl<T: Pack, E: Pack> Pack for Result<T, E> {
    fn put(&self, to: &mut Writer) {
        self.is_ok().put(to);
        match self {
            Ok(value) => value.put(to),
            Err(why) => why.put(to),
        }
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        Some(if bool::take(from)? {
            Ok(T::take(from)?)
        } else {
            Err(E::take(from)?)
        })
    }
}

impl<K: Pack + Ord, V: Pack> Pack for BTreeMap<K, V> {
    fn put(&self, to: &mut Writer) {
        to.number(self.len() as u64);
        for (key, value) in self {
            key.put(to);
            value.put(to);
        }
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        let n = from.number()?;
        (0..n)
            .map(|_| Some((K::take(from)?, V::take(from)?)))
            .collect()
    }
}

impl<A: Pack, B: Pack> Pack for (A, B) {
    fn put(&self, to: &mut Writer) {
        self.0.put(to);
        self.1.put(to);
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        Some((A::take(from)?, B::take(from)?))
    }
}

impl<A: Pack, B: Pack, C: Pack> Pack for (A, B, C) {
    fn put(&self, to: &mut Writer) {
        self.0.put(to);
        self.1.put(to);
        self.2.put(to);
    }
    fn take(from: &mut Reader<'_>) -> Option<Self> {
        Some((A::take(from)?, B::take(from)?, C::take(from)?))
    }
}

/// Enumerations of plain words, by their place in `ALL`.
macro_rules! words {
    ($($word:ty),+) => { $(
        impl Pack for $word {
            fn put(&self, to: &mut Writer) {
                to.byte(*self as u8);
            }
            fn take(from: &mut Reader<'_>) -> Option<Self> {
                Self::ALL.get(usize::from(from.byte()?)).copied()
            }
        }
    )+ };
}
/// Structures, field by field.
macro_rules! fields {
    ($($name:ident { $($field:ident),+ $(,)? })+) => { $(
        impl Pack for $name {
            fn put(&self, to: &mut Writer) {
                $(self.$field.put(to);)+
            }
            fn take(from: &mut Reader<'_>) -> Option<Self> {
                // In the order in which they are written here, which is that of writing.
                Some(Self { $($field: Pack::take(from)?,)+ })
            }
        }
    )+ };
}

/// Enumerations whose members hold values, each member after the number that stands for it.
macro_rules! members {
    ($($name:ident { $(
        $number:literal $member:ident $({ $($field:ident),+ })? $(( $part:ident ))?
    ),+ $(,)? })+) => { $(
        impl Pack for $name {
            fn put(&self, to: &mut Writer) {
                match self {
                    $(Self::$member $({ $($field),+ })? $(( $part ))? => {
                        to.byte($number);
                        $($($field.put(to);)+)?
                        $($part.put(to);)?
                    })+
                }
            }
            fn take(from: &mut Reader<'_>) -> Option<Self> {
                Some(match from.byte()? {
                    $($number => {
                        $($(let $field = Pack::take(from)?;)+)?
                        $(let $part = Pack::take(from)?;)?
                        Self::$member $({ $($field),+ })? $(( $part ))?
                    })+
                    _ => return None,
                })
            }
        }
    )+ };
}

pub(crate) use {fields, members, words};
