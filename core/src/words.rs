//! Enumerations whose members stand as plain words.

/// Gives enumerations their words, which `strum` derives from `#[strum(serialize = "…")]`, and lets serde read and
/// write them: the word and nothing else, and in bytes its place among them.
///
/// Deriving from serde too would list every word twice, and read `{"word": null}` as well.
macro_rules! words {
    ($($name:ident),+ $(,)?) => { $(
        impl $name {
            /// Every member, in order.
            pub const ALL: &'static [Self] = <Self as strum::VariantArray>::VARIANTS;
            /// The word that stands in files.
            pub fn word(self) -> &'static str {
                self.into()
            }
            /// The member with this word.
            pub fn from_word(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|known| known.word() == word)
            }
        }
        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
                match to.is_human_readable() {
                    true => to.serialize_str(self.word()),
                    false => to.serialize_u8(*self as u8),
                }
            }
        }
        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(from: D) -> std::result::Result<Self, D::Error> {
                if !from.is_human_readable() {
                    let place = <u8 as serde::Deserialize>::deserialize(from)?;
                    let known = Self::ALL.get(usize::from(place)).copied();
                    return known.ok_or_else(|| serde::de::Error::custom(format!("there is no word {place}")));
                }
                $crate::json::parsed(from, |word| {
                    let known = || Self::ALL.iter().map(|known| known.word()).collect::<Vec<_>>().join(", ");
                    Self::from_word(word)
                        .ok_or_else(|| $crate::error::Error::new($crate::refusal::StoredRefusal::NoWord { word: word.to_owned(), known: known() }))
                })
            }
        }
    )+ };
}

pub(crate) use words;
