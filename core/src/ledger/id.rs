//! Names of things: subject ids, entry ids, and the source they are drawn from.

use std::fmt;

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use sha2::{Digest, Sha256};
use strum::VariantArray;

use crate::{error::Error, json, refusal::StoredRefusal};

const ID_BYTES_MAX: usize = 31;
const CROCKFORD_LOWER: &[u8; 32] = b"0123456789abcdefghjkmnpqrstvwxyz";
const RFC4648_LOWER: &[u8; 32] = b"abcdefghijklmnopqrstuvwxyz234567";

/// What an id names; its letters stand before the underscore.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, VariantArray)]
pub enum Noun {
    /// One nursery's set of records.
    Ledger,
    /// One installation of the app.
    Device,
    /// A person who records.
    Person,
    /// A bench, bed, room or shelf.
    Place,
    /// Bulbs of one cultivar that came together.
    Lot,
    /// One bulb.
    Bulb,
    /// A pot, trough or tray.
    Container,
    /// A mix by parts.
    Recipe,
    /// A question tried in one or more runs.
    Trial,
    /// One repetition of a trial.
    Run,
    /// One treatment of a trial.
    Group,
    /// Forcing without a trial, planned back from a date.
    Forcing,
    /// One shoot of one bulb.
    Shoot,
    /// Entries saved together.
    Form,
}

impl Noun {
    /// The letters before the underscore.
    pub const fn letters(self) -> &'static str {
        match self {
            Self::Ledger => "l",
            Self::Device => "d",
            Self::Person => "p",
            Self::Place => "pl",
            Self::Lot => "lo",
            Self::Bulb => "b",
            Self::Container => "co",
            Self::Recipe => "re",
            Self::Trial => "tr",
            Self::Run => "ru",
            Self::Group => "gr",
            Self::Forcing => "fo",
            Self::Shoot => "sh",
            Self::Form => "f",
        }
    }
}

/// The id of a thing that entries speak about, such as `b_4q2m8k1r9t3v5x7z2c6d8f0g1h`.
///
/// One or two lower-case letters, an underscore, then 1 to 28 lower-case letters or digits.
/// Ids order as their text does.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Id {
    // Padded with zeros, which sort before every permitted character, so that the derived order is that of the text.
    bytes: [u8; ID_BYTES_MAX],
    len: u8,
}

impl Id {
    /// Reads an id.
    ///
    /// # Errors
    ///
    /// When the text does not have the form above.
    ///
    /// # Only letters, an underscore and lower-case letters or digits make an id
    /// ```
    /// use bloomdue_core::ledger::id::Id;
    /// assert!(Id::parse("b_7k2m").is_ok());
    /// assert!(Id::parse("bulb 7").is_err());
    /// ```
    pub fn parse(text: &str) -> Result<Self, Error> {
        // Reading records is mostly reading ids, so this is one plain loop.
        let (mut n_letters, mut n_after, mut is_split) = (0, 0, false);
        for byte in text.bytes() {
            let is_letter = byte.is_ascii_lowercase();
            match is_split {
                true if is_letter || byte.is_ascii_digit() => n_after += 1,
                false if is_letter => n_letters += 1,
                false if byte == b'_' => is_split = true,
                _ => n_letters = ID_BYTES_MAX,
            }
        }
        let well_formed = text.len() <= ID_BYTES_MAX && matches!(n_letters, 1 | 2) && n_after > 0;
        if !well_formed {
            return Err(Error::new(StoredRefusal::NoId(text.to_owned())));
        }
        let mut bytes = [0; ID_BYTES_MAX];
        bytes[..text.len()].copy_from_slice(text.as_bytes());
        Ok(Self { bytes, len: text.len() as u8 })
    }

    /// The id as text.
    pub fn as_str(&self) -> &str {
        // Only ASCII ever enters, so the empty fallback is never taken.
        str::from_utf8(&self.bytes[..usize::from(self.len)]).unwrap_or("")
    }

    /// What this id names, judged by its letters; nothing for letters that this program does not know.
    ///
    /// # The letters say what it names
    /// ```
    /// use bloomdue_core::ledger::id::{Id, Noun};
    /// let noun = |text: &str| Id::parse(text).ok().and_then(|id| id.noun());
    /// assert_eq!(noun("pl_2c"), Some(Noun::Place));
    /// assert_eq!(noun("zz_2c"), None);
    /// ```
    pub fn noun(&self) -> Option<Noun> {
        Noun::VARIANTS.iter().copied().find(|noun| self.is(*noun))
    }

    /// Whether this id names such a thing, judged by its letters.
    pub fn is(&self, noun: Noun) -> bool {
        self.as_str().split_once('_').is_some_and(|(letters, _)| letters == noun.letters())
    }
}

impl AsRef<str> for Id {
    fn as_ref(&self) -> &str {
        self.as_str()
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl fmt::Debug for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl Serialize for Id {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.as_str())
    }
}

impl<'de> Deserialize<'de> for Id {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        json::parsed(deserializer, Self::parse)
    }
}

/// The name of an entry: the SHA-256 of its bytes, written `e` and 52 characters.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EntryId(pub [u8; 32]);

impl EntryId {
    /// The id of these canonical bytes: SHA-256 over `"bloomdue entry 1\0"` and the bytes.
    pub fn of(bytes: &[u8]) -> Self {
        let mut hash = Sha256::new();
        hash.update(b"bloomdue entry 1\0");
        hash.update(bytes);
        Self(hash.finalize().into())
    }

    /// Reads an entry id.
    ///
    /// # Errors
    ///
    /// When the text is not `e` and 52 characters of lower-case base 32 (RFC 4648).
    pub fn parse(text: &str) -> Result<Self, Error> {
        let wrong = || Error::new(StoredRefusal::NoEntryId(text.to_owned()));
        let digits = text.strip_prefix('e').ok_or_else(wrong)?;
        if digits.len() != 52 {
            return Err(wrong());
        }
        let mut raw = [0u8; 32];
        let (mut bits, mut n_bits, mut at) = (0u32, 0u32, 0usize);
        for digit in digits.bytes() {
            let value = match digit {
                b'a'..=b'z' => digit - b'a',
                b'2'..=b'7' => digit - b'2' + 26,
                _ => return Err(wrong()),
            };
            bits = bits << 5 | u32::from(value);
            n_bits += 5;
            if n_bits >= 8 {
                n_bits -= 8;
                raw[at] = (bits >> n_bits) as u8;
                bits &= (1 << n_bits) - 1;
                at += 1;
            }
        }
        // 260 bits hold 256; the four over must be zero, or two texts would name one entry.
        if bits == 0 { Ok(Self(raw)) } else { Err(wrong()) }
    }
}

impl fmt::Display for EntryId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut text = String::with_capacity(53);
        text.push('e');
        let (mut bits, mut n_bits) = (0u32, 0u32);
        for byte in self.0 {
            bits = bits << 8 | u32::from(byte);
            n_bits += 8;
            while n_bits >= 5 {
                n_bits -= 5;
                text.push(char::from(RFC4648_LOWER[(bits >> n_bits & 31) as usize]));
            }
            bits &= (1 << n_bits) - 1;
        }
        text.push(char::from(RFC4648_LOWER[(bits << (5 - n_bits) & 31) as usize]));
        f.write_str(&text)
    }
}

impl fmt::Debug for EntryId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl Serialize for EntryId {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match serializer.is_human_readable() {
            true => serializer.collect_str(self),
            false => self.0.serialize(serializer),
        }
    }
}

impl<'de> Deserialize<'de> for EntryId {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        match deserializer.is_human_readable() {
            true => json::parsed(deserializer, Self::parse),
            false => Deserialize::deserialize(deserializer).map(Self),
        }
    }
}

/// The SHA-256 of an attachment's bytes, written as 64 hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct AttachmentHash(pub [u8; 32]);

impl AttachmentHash {
    /// The hash of these bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// Reads 64 lower-case hexadecimal digits.
    ///
    /// # Errors
    ///
    /// When the text is anything else.
    pub fn parse(text: &str) -> Result<Self, Error> {
        let wrong = || Error::new(StoredRefusal::NoHash(text.to_owned()));
        let digits = text.as_bytes();
        if digits.len() != 64 || digits.iter().any(u8::is_ascii_uppercase) {
            return Err(wrong());
        }
        let mut raw = [0u8; 32];
        for (byte, pair) in raw.iter_mut().zip(digits.chunks(2)) {
            let pair = str::from_utf8(pair).map_err(|_| wrong())?;
            *byte = u8::from_str_radix(pair, 16).map_err(|_| wrong())?;
        }
        Ok(Self(raw))
    }
}

impl fmt::Display for AttachmentHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for AttachmentHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl Serialize for AttachmentHash {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match serializer.is_human_readable() {
            true => serializer.collect_str(self),
            false => self.0.serialize(serializer),
        }
    }
}

impl<'de> Deserialize<'de> for AttachmentHash {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        match deserializer.is_human_readable() {
            true => json::parsed(deserializer, Self::parse),
            false => Deserialize::deserialize(deserializer).map(Self),
        }
    }
}

/// Draws fresh ids from 32 random bytes that the caller brings.
///
/// The nth id is the first 128 bits of SHA-256(`"bloomdue id 1\0"` ‖ seed ‖ n as eight bytes, largest first), in
/// lower-case Crockford base 32.
#[derive(Clone, Debug)]
pub struct Ids {
    seed: [u8; 32],
    n_drawn: u64,
}

impl Ids {
    /// Starts a source; the same seed draws the same ids.
    pub const fn new(seed: [u8; 32]) -> Self {
        Self { seed, n_drawn: 0 }
    }

    /// The next 32 bytes.
    pub fn bytes(&mut self) -> [u8; 32] {
        let mut hash = Sha256::new();
        hash.update(b"bloomdue id 1\0");
        hash.update(self.seed);
        hash.update(self.n_drawn.to_be_bytes());
        self.n_drawn += 1;
        hash.finalize().into()
    }

    /// The next id for such a thing.
    ///
    /// # The same seed draws the same ids
    /// ```
    /// use bloomdue_core::ledger::id::{Ids, Noun};
    /// let (mut one, mut other) = (Ids::new([7; 32]), Ids::new([7; 32]));
    /// let first = one.draw(Noun::Bulb);
    /// assert_eq!(first, other.draw(Noun::Bulb));
    /// assert_ne!(first, one.draw(Noun::Bulb));
    /// ```
    pub fn draw(&mut self, noun: Noun) -> Id {
        let raw = self.bytes();
        let mut first = [0u8; 16];
        first.copy_from_slice(&raw[..16]);
        let mut n = u128::from_be_bytes(first);
        let letters = noun.letters().as_bytes();
        let start = letters.len() + 1;
        let mut bytes = [0; ID_BYTES_MAX];
        bytes[..letters.len()].copy_from_slice(letters);
        bytes[letters.len()] = b'_';
        for slot in bytes[start..start + 26].iter_mut().rev() {
            *slot = CROCKFORD_LOWER[(n & 31) as usize];
            n >>= 5;
        }
        Id { bytes, len: (start + 26) as u8 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_entry_id_reads_back_and_only_one_text_names_it() {
        let id = EntryId::of(b"anything");
        assert_eq!(EntryId::parse(&id.to_string()).unwrap(), id);
        let mut text = id.to_string();
        let last = text.pop().unwrap();
        let other = if last == 'a' { 'b' } else { char::from(last as u8 + 1) };
        text.push(other);
        assert!(EntryId::parse(&text).is_err());
    }

    #[test]
    fn ids_order_as_their_text() {
        let mut ids = Ids::new([7; 32]);
        let mut drawn: Vec<Id> = (0..50).map(|_| ids.draw(Noun::Bulb)).collect();
        drawn.push(Id::parse("b_0").unwrap());
        let mut texts: Vec<String> = drawn.iter().map(ToString::to_string).collect();
        drawn.sort();
        texts.sort();
        assert_eq!(drawn.iter().map(ToString::to_string).collect::<Vec<_>>(), texts);
    }

    #[test]
    fn a_name_of_nothing_is_refused() {
        for text in ["", "b", "b_", "B_1", "abc_1", "b_ä", "b_0123456789012345678901234567890"] {
            assert!(Id::parse(text).is_err(), "{text}");
        }
    }
}
