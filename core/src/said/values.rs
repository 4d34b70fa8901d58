//! The values that everything else is made of.

use std::collections::{BTreeMap, BTreeSet};

use super::{Part, Said, Writer};
use crate::{
    calendar::{Date, Happened},
    error::Error,
    ledger::id::{AttachmentHash, EntryId, Id},
};

impl Said for String {
    fn read(from: Part<'_>) -> Self {
        from.text().into_owned()
    }
    fn write(&self, to: &mut Writer) {
        to.text(self);
    }
    fn is_blank(&self) -> bool {
        self.is_empty()
    }
}

impl Said for bool {
    fn read(from: Part<'_>) -> Self {
        let is_true = from.raw() == "true";
        if !is_true && from.raw() != "false" {
            from.fail("true or false");
        }
        is_true
    }
    fn write(&self, to: &mut Writer) {
        to.push(if *self { "true" } else { "false" });
    }
    fn is_blank(&self) -> bool {
        !self
    }
}

impl Said for i64 {
    fn read(from: Part<'_>) -> Self {
        // Minus zero is what only fractions know.
        let whole = from.raw().parse().ok().filter(|_| from.raw() != "-0");
        whole.unwrap_or_else(|| {
            from.fail("a whole number");
            0
        })
    }
    fn write(&self, to: &mut Writer) {
        to.whole(i128::from(*self));
    }
}

impl Said for u64 {
    fn read(from: Part<'_>) -> Self {
        from.raw().parse().unwrap_or_else(|_| {
            from.fail("a whole number, not negative");
            0
        })
    }
    fn write(&self, to: &mut Writer) {
        to.whole(i128::from(*self));
    }
}

macro_rules! smaller {
    ($($number:ty),+) => { $(
        impl Said for $number {
            fn read(from: Part<'_>) -> Self {
                u64::read(from).try_into().unwrap_or_else(|_| {
                    from.fail("a smaller number");
                    0
                })
            }
            fn write(&self, to: &mut Writer) {
                to.whole(*self as i128);
            }
        }
    )+ };
}
smaller!(u16, u32, usize);

/// Written as text, and read from it.
macro_rules! as_text {
    ($($name:ty: $parse:expr, or $blank:expr;)+) => { $(
        impl Said for $name {
            fn read(from: Part<'_>) -> Self {
                from.parse($parse).unwrap_or_else(|| $blank)
            }
            fn write(&self, to: &mut Writer) {
                to.text(&self.to_string());
            }
        }
    )+ };
}
as_text! {
    EntryId: EntryId::parse, or Self([0; 32]);
    AttachmentHash: AttachmentHash::parse, or Self([0; 32]);
    Date: str::parse, or Self::EARLIEST;
    Happened: str::parse, or Self::on(Date::EARLIEST);
}

impl Said for Id {
    fn read(from: Part<'_>) -> Self {
        from.parse(Self::parse).unwrap_or(Self::NOBODY)
    }
    fn write(&self, to: &mut Writer) {
        to.text(self.as_str());
    }
}

impl<T: Said> Said for Option<T> {
    fn read(from: Part<'_>) -> Self {
        match from.raw() {
            "" | "null" => None,
            _ => Some(T::read(from)),
        }
    }
    fn write(&self, to: &mut Writer) {
        match self {
            Some(value) => value.write(to),
            None => to.push("null"),
        }
    }
    fn is_blank(&self) -> bool {
        self.is_none()
    }
}

impl<T: Said> Said for Vec<T> {
    fn read(from: Part<'_>) -> Self {
        from.items().map(T::read).collect()
    }
    fn write(&self, to: &mut Writer) {
        write_list(self, to);
    }
    fn is_blank(&self) -> bool {
        self.is_empty()
    }
}

fn write_list<'a, T: Said + 'a>(items: impl IntoIterator<Item = &'a T>, to: &mut Writer) {
    to.push("[");
    to.list(items, |to, item| item.write(to));
    to.push("]");
}

impl Said for BTreeMap<String, i64> {
    fn read(from: Part<'_>) -> Self {
        let mut map = Self::new();
        for (name, value) in from.members() {
            map.insert(name.into_owned(), i64::read(value));
        }
        // Also when this is no object at all.
        map
    }
    fn write(&self, to: &mut Writer) {
        to.push("{");
        to.list(self, |to, (name, value)| {
            if !name.is_ascii() {
                to.fail(Error::new(format!("the key '{name}' is not plain ASCII")));
            }
            to.text(name);
            to.push(":");
            to.whole(i128::from(*value));
        });
        to.push("}");
    }
}

impl<T: Said, const N: usize> Said for [T; N] {
    fn read(from: Part<'_>) -> Self {
        let mut items = from.items();
        let read = std::array::from_fn(|_| T::read(items.next().unwrap_or(from.none())));
        if items.next().is_some() {
            from.fail("fewer values");
        }
        read
    }
    fn write(&self, to: &mut Writer) {
        write_list(self, to);
    }
}

impl<T: Said + Ord> Said for BTreeSet<T> {
    fn read(from: Part<'_>) -> Self {
        from.items().map(T::read).collect()
    }
    fn write(&self, to: &mut Writer) {
        write_list(self, to);
    }
}

macro_rules! lists_of {
    ($(($($part:ident $at:tt),+))+) => { $(
        impl<$($part: Said),+> Said for ($($part,)+) {
            fn read(from: Part<'_>) -> Self {
                let mut items = from.items();
                let read = ($($part::read(items.next().unwrap_or(from.none())),)+);
                if items.next().is_some() {
                    from.fail("fewer values");
                }
                read
            }
            fn write(&self, to: &mut Writer) {
                to.push("[");
                $(
                    to.push(if $at > 0 { "," } else { "" });
                    self.$at.write(to);
                )+
                to.push("]");
            }
        }
    )+ };
}
lists_of! {
    (A 0, B 1)
    (A 0, B 1, C 2)
    (A 0, B 1, C 2, D 3, E 4)
}
