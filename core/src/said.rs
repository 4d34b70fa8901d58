//! JSON in little code: read where it stands, without a copy, and written in canonical form.
//!
//! [`Outline`] finds in one pass where every value of a text begins and ends; a type then takes what it wants by name.
//! What each type adds is one call a field, written by [`said!`](crate::said!): a reader made anew for each type, as
//! libraries make them, was a tenth of the program.
//!
//! Reading never stops half way. What is wrong is noted in the outline, something stands in for the value, and whoever
//! began asks [`Outline::settle`] in the end.

use std::{borrow::Cow, cell::Cell};

use crate::error::{Error, Result};

pub use writer::Writer;

mod scan;
#[cfg(test)]
mod tests;
mod values;
mod writer;

/// Writes an enumeration whose members are plain words, with the list of them and the word of each.
#[macro_export]
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$member_doc:meta])* $member:ident = $word:literal,)+ }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
        pub enum $name {
            $($(#[$member_doc])* #[serde(rename = $word)] $member,)+
        }
        impl $name {
            /// Every member, in order.
            pub const ALL: &'static [Self] = &[$(Self::$member,)+];
            /// Their words, in the same order.
            pub const WORDS: &'static [&'static str] = &[$($word,)+];
            /// The word that stands in files.
            pub const fn word(self) -> &'static str {
                Self::WORDS[self as usize]
            }
            /// The member with this word.
            pub fn from_word(word: &str) -> Option<Self> {
                Self::ALL.get($crate::said::place(Self::WORDS, word)?).copied()
            }
        }
        impl $crate::said::Said for $name {
            fn read(from: $crate::said::Part<'_>) -> Self {
                Self::ALL[from.word(Self::WORDS)]
            }
            fn write(&self, to: &mut $crate::said::Writer) {
                to.text(self.word());
            }
        }
    };
}

/// Writes structures that stand in JSON as objects, with what reads and writes them.
///
/// A field is always said, unless a word stands behind it. `= unsaid`: it is left out when it is nothing, empty or
/// false, and is that when it is left out. `= or_zero`: it is always written, and zero where an older entry left it out.
#[macro_export]
macro_rules! said {
    ($($(#[$doc:meta])* $vis:vis struct $name:ident {
        $($(#[$field_doc:meta])* $field_vis:vis $field:ident: $type:ty $(= $when:ident)?,)+
    })+) => { $(
        $(#[$doc])*
        $vis struct $name {
            $($(#[$field_doc])* $field_vis $field: $type,)+
        }
        impl $crate::said::Said for $name {
            fn read(from: $crate::said::Part<'_>) -> Self {
                Self { $($field: $crate::said!(@read from $field $($when)?),)+ }
            }
            fn write(&self, to: &mut $crate::said::Writer) {
                let open = to.open();
                $($crate::said!(@write to self $field $($when)?);)+
                to.close(open);
            }
        }
    )+ };
    (@read $from:ident $field:ident) => { $from.must(stringify!($field)) };
    (@read $from:ident $field:ident $when:ident) => { $from.may(stringify!($field)) };
    (@write $to:ident $self:ident $field:ident unsaid) => { $to.may(stringify!($field), &$self.$field) };
    (@write $to:ident $self:ident $field:ident $($when:ident)?) => { $to.must(stringify!($field), &$self.$field) };
}

/// What can stand in JSON.
pub trait Said: Sized {
    /// Reads it. What is wrong is noted in the outline; what is returned then stands for nothing.
    fn read(from: Part<'_>) -> Self;

    /// Writes it.
    fn write(&self, to: &mut Writer);

    /// Whether it is nothing, empty or false, so that an optional field is left out.
    fn is_blank(&self) -> bool {
        false
    }
}

/// Reads a whole text.
///
/// # Errors
///
/// When it is no JSON, or does not say what is wanted.
pub fn read<T: Said>(text: &str) -> Result<T> {
    let outline = Outline::of(text)?;
    let read = T::read(outline.whole());
    outline.settle().map(|()| read)
}

/// Reads a whole text from its bytes.
///
/// # Errors
///
/// As [`read`], and when the bytes are no text.
pub fn read_bytes<T: Said>(bytes: &[u8]) -> Result<T> {
    read(str::from_utf8(bytes).map_err(|_| Error::new("expected text"))?)
}

/// Writes a value in canonical form.
///
/// # Errors
///
/// When it holds what a record cannot hold: a number beyond ±(2⁵³−1), or text that is not in normalisation form C.
pub fn write(value: &impl Said) -> Result<String> {
    let mut to = Writer::default();
    value.write(&mut to);
    to.finish()
}

/// Writes a value that is no record: any text and any number can stand in it.
pub fn to_text(value: &impl Said) -> String {
    let mut to = Writer::default();
    value.write(&mut to);
    to.into_text()
}

/// The bytes of [`to_text`].
pub fn to_bytes(value: &impl Said) -> Vec<u8> {
    to_text(value).into_bytes()
}

/// At which place of a list a word stands.
pub fn place(words: &[&str], word: &str) -> Option<usize> {
    words.iter().position(|known| *known == word)
}

/// Where one value, or one key, stands in a text.
#[derive(Clone, Copy, Debug)]
struct Span {
    start: u32,
    end: u32,
    /// Number of the span after this one and all within it.
    next: u32,
    /// Text with an escape in it.
    escaped: bool,
}

/// JSON text with where everything stands in it.
pub struct Outline<'a> {
    text: &'a str,
    /// Each value before what is within it; in an object each key before its value.
    spans: Vec<Span>,
    why: Cell<Option<Error>>,
    looked_for: Cell<&'static str>,
}

impl<'a> Outline<'a> {
    /// Finds where everything stands.
    ///
    /// # Errors
    ///
    /// When the text is no JSON (RFC 8259).
    pub fn of(text: &'a str) -> Result<Self> {
        match scan::spans(text.as_bytes()) {
            Ok(spans) => Ok(Self {
                text,
                spans,
                why: Cell::new(None),
                looked_for: Cell::new(""),
            }),
            Err(at) => Err(Error::new(format!("no JSON from byte {at} on"))),
        }
    }

    /// The value that the whole text is.
    pub fn whole(&self) -> Part<'_> {
        Part { of: self, at: 0 }
    }

    fn cut(&self, start: u32, end: u32) -> &str {
        self.text
            .get(start as usize..end as usize)
            .unwrap_or_default()
    }

    /// Whether a key, which is that span, is this name.
    fn is(&self, key: Span, at: usize, name: &str) -> bool {
        if key.escaped {
            return Part { of: self, at }.text() == name;
        }
        let key = key.start as usize + 1..key.end as usize - 1;
        key.len() == name.len() && self.text.as_bytes().get(key) == Some(name.as_bytes())
    }

    fn fail(&self, why: Error) {
        let first = self.why.take();
        self.why
            .set(Some(first.unwrap_or_else(|| match self.looked_for.get() {
                "" => why,
                name => why.at(name),
            })));
    }

    /// Whether all that was read so far was as it should be.
    ///
    /// # Errors
    ///
    /// What was wrong first, with the name of the member.
    pub fn settle(&self) -> Result<()> {
        self.why.take().map_or(Ok(()), Err)
    }
}

/// One value of an outline, or none: what a member that is left out gives.
#[derive(Clone, Copy)]
pub struct Part<'a> {
    of: &'a Outline<'a>,
    at: usize,
}

impl<'a> Part<'a> {
    fn span(self) -> Option<&'a Span> {
        self.of.spans.get(self.at)
    }

    /// The value as it stands; empty when there is none.
    pub fn raw(self) -> &'a str {
        match self.span() {
            Some(span) => self.of.cut(span.start, span.end),
            None => "",
        }
    }

    fn begins(self, span: Span, with: u8) -> bool {
        self.of.text.as_bytes().get(span.start as usize) == Some(&with)
    }

    /// No value: what is left out.
    pub(crate) fn none(self) -> Self {
        Self {
            of: self.of,
            at: usize::MAX,
        }
    }

    /// Notes that this is not what it should be.
    pub fn fail(self, expected: &str) {
        self.of.fail(Error::new(format!("expected {expected}")));
    }

    /// The numbers of the spans directly within this one.
    fn within(self, open: u8, expected: &str) -> Within<'a> {
        match self.span() {
            Some(span) if self.begins(*span, open) => Within {
                of: self.of,
                at: self.at + 1,
                end: span.next as usize,
            },
            _ => {
                self.fail(expected);
                Within {
                    of: self.of,
                    at: 0,
                    end: 0,
                }
            }
        }
    }

    /// The values of a list.
    pub fn items(self) -> impl Iterator<Item = Self> {
        self.within(b'[', "a list")
    }

    /// The members of an object, with their names.
    pub fn members(self) -> impl Iterator<Item = (Cow<'a, str>, Self)> {
        let mut within = self.within(b'{', "an object");
        std::iter::from_fn(move || Some((within.next()?.text(), within.next()?)))
    }

    /// The member of this name. That it stands there twice is an error.
    pub(crate) fn member(self, name: &'static str) -> Self {
        self.of.looked_for.set(name);
        let mut found = self.none();
        let Within { mut at, end, .. } = self.within(b'{', "an object");
        // One pass for each field of a record: this is where reading spends its time.
        while at < end
            && let [key, value, ..] = self.of.spans.get(at..).unwrap_or_default()
        {
            if self.of.is(*key, at, name) {
                if found.at != usize::MAX {
                    self.fail("a name only once");
                }
                found.at = at + 1;
            }
            at = value.next as usize;
        }
        found
    }

    /// The members of an object one after the other.
    pub(crate) fn in_turn(self) -> InTurn<'a> {
        InTurn {
            whole: self,
            rest: self.within(b'{', "an object"),
        }
    }

    /// A member that is always said.
    pub fn must<T: Said>(self, name: &'static str) -> T {
        T::read(self.member(name))
    }

    /// A member that may be left out.
    pub fn may<T: Said + Default>(self, name: &'static str) -> T {
        let member = self.member(name);
        if member.at == usize::MAX {
            T::default()
        } else {
            T::read(member)
        }
    }

    /// Text, without its escapes.
    pub fn text(self) -> Cow<'a, str> {
        match self.span() {
            Some(span) if !self.begins(*span, b'"') => {}
            Some(span) if !span.escaped => {
                return Cow::Borrowed(self.of.cut(span.start + 1, span.end - 1));
            }
            Some(_) => {
                if let Ok(text) = serde_json::from_str(self.raw()) {
                    return Cow::Owned(text);
                }
            }
            None => {}
        }
        self.fail("text");
        Cow::Borrowed("")
    }

    /// What this text stands for.
    pub fn parse<T>(self, parse: fn(&str) -> Result<T>) -> Option<T> {
        match parse(&self.text()) {
            Ok(read) => Some(read),
            Err(why) => {
                self.of.fail(why);
                None
            }
        }
    }

    /// At which place of a list this word stands; 0 when it is none of them.
    pub fn word(self, words: &[&str]) -> usize {
        place(words, &self.text()).unwrap_or_else(|| {
            self.fail("a word that is known here");
            0
        })
    }
}

/// Spans side by side.
struct Within<'a> {
    of: &'a Outline<'a>,
    at: usize,
    end: usize,
}

impl<'a> Iterator for Within<'a> {
    type Item = Part<'a>;

    fn next(&mut self) -> Option<Part<'a>> {
        if self.at >= self.end {
            return None;
        }
        let part = Part {
            of: self.of,
            at: self.at,
        };
        self.at = part.span()?.next as usize;
        Some(part)
    }
}

/// The members of an object that nearly always stand in one order. Asking for them in that order finds each at once.
pub(crate) struct InTurn<'a> {
    whole: Part<'a>,
    rest: Within<'a>,
}

impl<'a> InTurn<'a> {
    /// The member of this name.
    pub(crate) fn member(&mut self, name: &'static str) -> Part<'a> {
        let of = self.whole.of;
        let Within { at, end, .. } = self.rest;
        if at < end
            && let [key, value, ..] = of.spans.get(at..).unwrap_or_default()
            && of.is(*key, at, name)
        {
            of.looked_for.set(name);
            self.rest.at = value.next as usize;
            return Part { of, at: at + 1 };
        }
        self.rest.at = end;
        self.whole.member(name)
    }

    /// A member that is always said.
    pub(crate) fn must<T: Said>(&mut self, name: &'static str) -> T {
        T::read(self.member(name))
    }
}
