//! The tag on a bulb's label: some symbols that no one confuses, and one more that catches slips.
//!
//! A tag has a body of 1 to 12 symbols (the program makes five) out of the 32 of [`ALPHABET`], and one
//! check character by ISO/IEC 7064, its hybrid system with two moduli (as MOD 37,36), here with
//! moduli 33 and 32. Any one mistyped symbol is caught, and so is nearly every swap of two neighbours.

use std::collections::BTreeSet;
use std::fmt;
use std::str::FromStr;

use serde::{Serialize, Serializer};
use sha2::{Digest, Sha256};

use crate::{
    error::{Error, Result},
    refusal::TagRefusal,
};

/// The symbols of a tag: ten digits and the capitals without I, L, O and U.
pub const ALPHABET: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// Symbols of the bodies that the program makes, the check character not counted.
pub const BODY_LENGTH: usize = 5;

/// The longest body there can be, in symbols.
pub const BODY_MAX: usize = 12;

/// The smaller modulus, which is the number of symbols.
const MODULUS: u32 = 32;

/// A tag whose check character fits, in capitals, check character last.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Tag(String);

impl Tag {
    /// The tag with this body; the body is read as leniently as a whole tag.
    ///
    /// # Errors
    /// When the body is empty, too long, or has a symbol that tags do not use.
    pub fn of_body(body: &str) -> Result<Self> {
        let mut values = read(body)?;
        bounds(values.len(), true)?;
        values.push(check_value(&values));
        Ok(Self(written(&values)))
    }

    /// The `n`th tag of a device, with a body of `length` symbols (1 to 12).
    ///
    /// The body's symbols are the first `length` groups of five bits, most significant first, of
    /// SHA-256(`bloomdue tag 1\0` ‖ entropy ‖ n as eight bytes, big end first).
    ///
    /// # Errors
    /// When `length` is out of bounds.
    pub fn nth(entropy: &[u8; 32], n: u64, length: usize) -> Result<Self> {
        bounds(length, true)?;
        let hash = Sha256::new()
            .chain_update(b"bloomdue tag 1\0")
            .chain_update(entropy)
            .chain_update(n.to_be_bytes())
            .finalize();
        let bits = hash.iter().take(8).fold(0_u64, |bits, &byte| bits << 8 | u64::from(byte));
        let mut values: Vec<u8> = (1..=length).map(|group| (bits >> (64 - 5 * group) & 31) as u8).collect();
        values.push(check_value(&values));
        Ok(Self(written(&values)))
    }

    /// `count` tags that are neither in `taken` nor equal to one another, by trying n = 0, 1, 2 … in turn.
    ///
    /// # Errors
    /// When so many tags of this length are taken that no free ones are found in a fair number of trials.
    pub fn fresh(entropy: &[u8; 32], count: usize, length: usize, taken: &BTreeSet<Self>) -> Result<Vec<Self>> {
        let mut made: Vec<Self> = Vec::with_capacity(count);
        let mut own = BTreeSet::new();
        for n in 0..64 * (count as u64 + 16) {
            if made.len() == count {
                break;
            }
            let tag = Self::nth(entropy, n, length)?;
            if !taken.contains(&tag) && own.insert(tag.clone()) {
                made.push(tag);
            }
        }
        if made.len() < count {
            return Err(Error::new(TagRefusal::NoneFree(length)));
        }
        Ok(made)
    }

    /// All symbols, check character last, without spaces.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The symbols before the check character.
    pub fn body(&self) -> &str {
        &self.0[..self.0.len() - 1]
    }

    /// The tag in groups of three or four symbols with spaces between, as it stands on a label.
    pub fn grouped(&self) -> String {
        let length = self.0.len();
        let groups = if length <= 4 { 1 } else { length.div_ceil(4).max(2) };
        let mut text = String::with_capacity(length + groups);
        for group in 0..groups {
            if group > 0 {
                text.push(' ');
            }
            text.push_str(&self.0[length * group / groups..length * (group + 1) / groups]);
        }
        text
    }
}

/// The check character of a body.
///
/// # Errors
/// As [`Tag::of_body`].
pub fn check_character(body: &str) -> Result<char> {
    let values = read(body)?;
    bounds(values.len(), true)?;
    Ok(char::from(ALPHABET[usize::from(check_value(&values))]))
}

/// Known tags that `typed` may have meant: those one slip away. A slip is one wrong symbol (also one
/// that tags do not use), two neighbours swapped, one symbol left out, or one too many.
///
/// In the order of the tags; a known tag that was typed exactly is the only answer.
///
/// # A tag with two neighbours swapped is found again
/// ```
/// # use bloomdue_core::tag::{Tag, suggestions};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let known = [Tag::of_body("4k7")?, Tag::of_body("9qx")?];
/// let typed = known[0].as_str();
/// let swapped = format!("{}{}{}", &typed[1..2], &typed[..1], &typed[2..]);
/// assert_eq!(suggestions(&swapped, &known), [&known[0]]);
/// assert!(swapped.parse::<Tag>().is_err());
/// # Ok(())
/// # }
/// ```
pub fn suggestions<'a>(typed: &str, known: impl IntoIterator<Item = &'a Tag>) -> Vec<&'a Tag> {
    let typed: Vec<Option<u8>> = symbols(typed).map(|(_, value)| value).collect();
    let mut found: Vec<&Tag> = Vec::new();
    for tag in known {
        let values: Vec<Option<u8>> = symbols(&tag.0).map(|(_, value)| value).collect();
        if values == typed {
            return vec![tag];
        }
        if one_slip(&typed, &values) {
            found.push(tag);
        }
    }
    found.sort();
    found.dedup();
    found
}

/// Whether two rows of symbols differ by one slip; see [`suggestions`].
fn one_slip(typed: &[Option<u8>], meant: &[Option<u8>]) -> bool {
    let start = typed.iter().zip(meant).take_while(|(a, b)| a == b).count();
    let (typed, meant) = (&typed[start..], &meant[start..]);
    match (typed, meant) {
        ([_, rest @ ..], [_, other @ ..]) if rest == other => true,
        ([a, b, rest @ ..], [c, d, other @ ..]) if rest == other && a == d && b == c => true,
        ([_, rest @ ..], other) if rest == other => true,
        (rest, [_, other @ ..]) if rest == other => true,
        _ => false,
    }
}

/// The characters of a text without spaces and hyphens, each with its value if it is a symbol.
fn symbols(text: &str) -> impl Iterator<Item = (char, Option<u8>)> + '_ {
    text.chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '-' | '\u{2010}'..='\u{2015}' | '\u{2212}' | '\u{ad}'))
        .map(|c| (c, value(c)))
}

/// The value of a symbol, with small letters as capitals, I and L as 1, and O as 0.
fn value(c: char) -> Option<u8> {
    let symbol = match c.to_ascii_uppercase() {
        'I' | 'L' => '1',
        'O' => '0',
        other => other,
    };
    let place = ALPHABET.iter().position(|&known| char::from(known) == symbol)?;
    u8::try_from(place).ok()
}

/// The values of all symbols of a text.
fn read(text: &str) -> Result<Vec<u8>> {
    symbols(text).map(|(c, value)| value.ok_or_else(|| Error::new(TagRefusal::Symbol(c)))).collect()
}

/// Refuses a number of symbols below `least` or above what fits.
fn bounds(length: usize, is_body: bool) -> Result<()> {
    let least = if is_body { 1 } else { 2 };
    if (least..least + BODY_MAX).contains(&length) {
        return Ok(());
    }
    Err(Error::new(TagRefusal::Length { least, most: least + BODY_MAX - 1, length, is_body }))
}

/// The symbols of some values.
fn written(values: &[u8]) -> String {
    values.iter().map(|&value| char::from(ALPHABET[usize::from(value) % 32])).collect()
}

/// The running product of the hybrid system after some symbols, doubled and reduced for the next one.
fn product(values: &[u8]) -> u32 {
    values.iter().fold(doubled(MODULUS / 2), |carried, &value| doubled((carried + u32::from(value)) % MODULUS))
}

/// Twice a sum (nothing counts as the whole modulus), modulo one more than the modulus.
fn doubled(sum: u32) -> u32 {
    let sum = if sum == 0 { MODULUS } else { sum };
    2 * sum % (MODULUS + 1)
}

/// The value that brings the sum to 1.
fn check_value(body: &[u8]) -> u8 {
    ((MODULUS + 1 - product(body)) % MODULUS) as u8
}

impl FromStr for Tag {
    type Err = Error;

    /// Reads a whole tag as people type it: small letters, I and L for 1, O for 0, spaces and hyphens anywhere.
    fn from_str(text: &str) -> Result<Self> {
        let values = read(text)?;
        bounds(values.len(), false)?;
        match values.split_last() {
            Some((&check, body)) if check == check_value(body) => Ok(Self(written(&values))),
            _ => Err(Error::new(TagRefusal::Check(written(&values)))),
        }
    }
}

impl fmt::Display for Tag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl fmt::Debug for Tag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Tag({self})")
    }
}

impl Serialize for Tag {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn tag(text: &str) -> Tag {
        text.parse().expect(text)
    }

    #[test]
    fn reading_forgives_what_people_type() {
        for text in ["19gryn", "19G RYN", "l9g-ryn", "I9G–RYN", " 19 G R Y N "] {
            assert_eq!(tag(text).as_str(), "19GRYN", "{text}");
        }
        assert_eq!(Tag::of_body("dco").expect("body").as_str(), "DC09");
        assert_eq!("19GUYN".parse::<Tag>(), Err(Error::new(TagRefusal::Symbol('U'))));
        assert!("".parse::<Tag>().is_err() && "1".parse::<Tag>().is_err());
        assert!(Tag::of_body("").is_err() && Tag::of_body("0123456789ABC").is_err());
    }

    #[test]
    fn labels_show_groups_of_at_most_four() {
        assert_eq!(tag("19GRYN").grouped(), "19G RYN");
        assert_eq!(tag("Z4SC").grouped(), "Z4SC");
        assert_eq!(tag("JDJWSAR").grouped(), "JDJ WSAR");
        assert_eq!(Tag::of_body("0123456789AB").expect("body").grouped().split(' ').map(str::len).max(), Some(4));
    }

    #[test]
    fn a_slip_finds_the_known_tag() {
        let known: Vec<Tag> = ["19GRYN", "JDJWSAR", "YPPN68A"].map(tag).to_vec();
        for typed in ["18GRYN", "91GRYN", "1GRYN", "199GRYN", "19UryN", "19GRYM", "19GRY"] {
            assert_eq!(suggestions(typed, &known), [&known[0]], "{typed}");
        }
        assert_eq!(suggestions("YPPN68A", &known), [&known[2]]);
        assert!(suggestions("28GRYN", &known).is_empty());
        assert!(suggestions("", &known).is_empty());
    }

    #[test]
    fn fresh_tags_are_free_and_repeatable() {
        let entropy = [7; 32];
        let first = Tag::fresh(&entropy, 300, BODY_LENGTH, &BTreeSet::new()).expect("room enough");
        assert_eq!(first, Tag::fresh(&entropy, 300, BODY_LENGTH, &BTreeSet::new()).expect("room enough"));
        let taken: BTreeSet<Tag> = first.iter().cloned().collect();
        assert_eq!(taken.len(), 300);
        let second = Tag::fresh(&entropy, 300, BODY_LENGTH, &taken).expect("room enough");
        assert!(second.iter().all(|tag| !taken.contains(tag)));
        let all = Tag::fresh(&entropy, 32, 1, &BTreeSet::new()).expect("thirty-two bodies of one symbol");
        assert!(Tag::fresh(&entropy, 1, 1, &all.into_iter().collect()).is_err());
    }

    proptest! {
        #[test]
        fn any_one_wrong_symbol_is_caught(body in "[0-9A-HJKMNP-TV-Z]{1,12}", place in 0_usize..13, other in 0_usize..32) {
            let good = Tag::of_body(&body).expect("a body");
            prop_assert_eq!(good.as_str().parse::<Tag>(), Ok(good.clone()));
            prop_assert_eq!(good.grouped().to_lowercase().parse::<Tag>(), Ok(good.clone()));
            prop_assert_eq!(check_character(good.body()).ok(), good.as_str().chars().last());
            let mut typed = good.as_str().as_bytes().to_vec();
            let place = place % typed.len();
            typed[place] = ALPHABET[other];
            let typed = String::from_utf8(typed).expect("ASCII");
            if typed != good.as_str() {
                prop_assert!(typed.parse::<Tag>().is_err());
                prop_assert_eq!(suggestions(&typed, [&good]), vec![&good]);
            }
        }

        #[test]
        fn no_text_makes_the_reader_panic(text in "\\PC{0,20}") {
            let _ = text.parse::<Tag>();
            let _ = suggestions(&text, &[tag("19GRYN")]);
        }
    }
}
