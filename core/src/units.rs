//! Numbers as growers type them, turned into whole numbers of a stated unit.

use crate::{
    error::{Error, Field, Result},
    refusal::NumberRefusal,
};

/// Millimetres of a length typed in centimetres, with a comma or a point: `28`, `27,5`.
///
/// # Errors
/// When it is no number, is negative, or has more than one decimal.
pub fn mm_of_cm(text: &str) -> Result<i64> {
    tenths(text).map_err(|why| why.at(Field::Circumference))
}

/// Tenths of what was typed: tenths of a degree of a temperature, millimetres of centimetres.
///
/// # Errors
/// When it is no number or has more than one decimal.
pub fn tenths(text: &str) -> Result<i64> {
    let wrong = || Error::new(NumberRefusal::NoTenths(text.trim().to_owned()));
    let typed = text.trim().replace(',', ".");
    let (negative, digits) = typed.strip_prefix('-').map_or((false, typed.as_str()), |rest| (true, rest));
    let (whole, part) = digits.split_once('.').unwrap_or((digits, "0"));
    let plain = |text: &str| !text.is_empty() && text.len() <= 6 && text.bytes().all(|b| b.is_ascii_digit());
    if !plain(whole) || !plain(part) || part.len() != 1 {
        return Err(wrong());
    }
    let whole: i64 = whole.parse().map_err(|_| wrong())?;
    let part: i64 = part.parse().map_err(|_| wrong())?;
    let value = whole * 10 + part;
    Ok(if negative { -value } else { value })
}

/// A whole number as typed.
///
/// # Errors
/// When it is none.
pub fn whole(text: &str) -> Result<i64> {
    let typed = text.trim();
    typed.parse().map_err(|_| Error::new(NumberRefusal::NotWhole(typed.to_owned())))
}

/// The items of a list typed with spaces, semicolons or one a line.
pub fn listed(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| c.is_whitespace() || c == ';').filter(|item| !item.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn centimetres_are_read_with_comma_or_point() {
        for (typed, mm) in [("28", 280), (" 27,5 ", 275), ("27.5", 275), ("0.4", 4)] {
            assert_eq!(mm_of_cm(typed).ok(), Some(mm), "{typed}");
        }
        for typed in ["", "27.55", "a", "1e3", "27.", ".5", "--2"] {
            assert!(mm_of_cm(typed).is_err(), "{typed}");
        }
        assert_eq!(tenths("-3.5").ok(), Some(-35));
    }
}
