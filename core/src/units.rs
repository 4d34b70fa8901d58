//! Numbers as growers type them, turned into whole numbers of a stated unit.

use crate::{
    error::{Error, Field, Result},
    refusal::NumberRefusal,
    words::words,
};

/// In which unit lengths are typed and shown. They are stored in whole millimetres whatever was chosen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, strum::IntoStaticStr, strum::VariantArray)]
pub enum LengthUnit {
    /// Centimetres with one decimal.
    #[default]
    #[strum(serialize = "cm")]
    Centimetres,
    /// Inches with common fractions, `10 1/2`.
    #[strum(serialize = "inch-fractions")]
    InchFractions,
    /// Inches with decimals, `10.5`.
    #[strum(serialize = "inch-decimals")]
    InchDecimals,
}

/// In which unit temperatures are typed and shown. They are stored in tenths of a degree Celsius.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, strum::IntoStaticStr, strum::VariantArray)]
pub enum TemperatureUnit {
    /// Degrees Celsius.
    #[default]
    #[strum(serialize = "c")]
    Celsius,
    /// Degrees Fahrenheit.
    #[strum(serialize = "f")]
    Fahrenheit,
}

words!(LengthUnit, TemperatureUnit);

/// Millimetres of a length as it is typed.
///
/// # Errors
/// As [`mm_of_cm`] and [`mm_of_inches`].
pub fn mm_of(text: &str, unit: LengthUnit) -> Result<i64> {
    match unit {
        LengthUnit::Centimetres => mm_of_cm(text),
        LengthUnit::InchFractions | LengthUnit::InchDecimals => mm_of_inches(text),
    }
}

/// Tenths of a degree Celsius of a temperature as it is typed.
///
/// # Errors
/// When it is no number or has more than one decimal.
pub fn dc_of(text: &str, unit: TemperatureUnit) -> Result<i64> {
    let tenths = tenths(text)?;
    Ok(match unit {
        TemperatureUnit::Celsius => tenths,
        TemperatureUnit::Fahrenheit => dc_of_df(tenths),
    })
}

/// Millimetres of a length typed in centimetres, with a comma or a point: `28`, `27,5`.
///
/// # Errors
/// When it is no number, is negative, or has more than one decimal.
pub fn mm_of_cm(text: &str) -> Result<i64> {
    tenths(text).map_err(|why| why.at(Field::Circumference))
}

/// Whole millimetres nearest to a length typed in inches of 25.4 mm, with a decimal or a common fraction: `4.5`, `4 1/2`,
/// `4-1/2`, `4½`, `7/8`.
///
/// # Errors
/// When it is no number, has more than three decimals or a fraction of other parts than halves to thirty-seconds.
pub fn mm_of_inches(text: &str) -> Result<i64> {
    let (n, parts) = inches(text)
        .ok_or_else(|| Error::new(NumberRefusal::NoInches(text.trim().to_owned())).at(Field::Circumference))?;
    Ok(mm_of_parts(n, parts))
}

/// The fractions that keyboards have as one sign.
const SIGNS: [(char, i64, i64); 7] =
    [('½', 1, 2), ('¼', 1, 4), ('¾', 3, 4), ('⅛', 1, 8), ('⅜', 3, 8), ('⅝', 5, 8), ('⅞', 7, 8)];

/// Inches as typed: how many parts, and how many of them are an inch.
fn inches(text: &str) -> Option<(i64, i64)> {
    let typed = text.trim().trim_end_matches(['"', '″', '”']).trim_end().replace(',', ".");
    let (sign, typed) = typed.strip_prefix('-').map_or((1, typed.as_str()), |rest| (-1, rest));
    let digits = |text: &str| -> Option<i64> {
        let plain = !text.is_empty() && text.len() <= 6 && text.bytes().all(|b| b.is_ascii_digit());
        plain.then(|| text.parse().ok())?
    };
    let whole_and = |whole: &str, n: i64, parts: i64| {
        let whole = whole.trim_end_matches([' ', '-']);
        let whole = if whole.is_empty() { 0 } else { digits(whole)? };
        Some((sign * (whole * parts + n), parts))
    };
    if let Some((mark, n, parts)) = SIGNS.into_iter().find(|(mark, ..)| typed.ends_with(*mark)) {
        return whole_and(typed.strip_suffix(mark)?, n, parts);
    }
    if let Some((before, parts)) = typed.split_once('/') {
        let parts = digits(parts.trim())?;
        let before = before.trim_end();
        let (whole, n) = before.rsplit_once([' ', '-']).unwrap_or(("", before));
        let n = digits(n)?;
        let common = [2, 4, 8, 16, 32].contains(&parts) && n < parts;
        return if common { whole_and(whole, n, parts) } else { None };
    }
    let (whole, part) = typed.split_once('.').unwrap_or((typed, "0"));
    let parts = 10_i64.pow(u32::try_from(part.len()).ok().filter(|n| (1..=3).contains(n))?);
    Some((sign * (digits(whole)? * parts + digits(part)?), parts))
}

/// The nearest whole number to a quotient, halves away from zero. `by` is above zero.
const fn nearest(n: i64, by: i64) -> i64 {
    (2 * n + n.signum() * by) / (2 * by)
}

/// Millimetres nearest to so many parts of an inch.
const fn mm_of_parts(n: i64, parts: i64) -> i64 {
    nearest(n * 254, parts * 10)
}

/// A length in inches as it is shown: how many parts, and how many of them are an inch. Typed again it gives the same
/// millimetres, whatever they are.
///
/// With fractions these are the coarsest of halves to thirty-seconds that do so, with decimals tenths, else quarters, else
/// hundredths. Sixteenths of an inch are 1.6 mm apart, and tenths and quarters together 1.27 mm: no two of them share a
/// millimetre, so that with fractions every sixteenth is shown as it was typed, and with decimals every tenth and quarter.
/// Tenths and eighths together can be 0.6 mm apart, which whole millimetres do not hold: hence two ways.
///
/// # Examples
/// ```
/// use bloomdue_core::units::{LengthUnit, inches_of_mm, mm_of_inches};
/// assert_eq!(inches_of_mm(267, LengthUnit::InchFractions), (21, 2));
/// assert_eq!(inches_of_mm(267, LengthUnit::InchDecimals), (105, 10));
/// assert_eq!(mm_of_inches("10 1/2").ok(), Some(267));
/// ```
pub fn inches_of_mm(mm: i64, unit: LengthUnit) -> (i64, i64) {
    let decimals = unit == LengthUnit::InchDecimals;
    let grids: &[i64] = if decimals { &[10, 4, 100] } else { &[1, 2, 4, 8, 16, 32] };
    let on = |parts: &i64| (nearest(mm * parts * 10, 254), *parts);
    let found = grids.iter().map(on).find(|(n, parts)| mm_of_parts(*n, *parts) == mm);
    match found.unwrap_or((nearest(mm * 1000, 254), 100)) {
        (n, 4) if decimals => (n * 25, 100),
        found => found,
    }
}

/// Tenths of a degree Celsius nearest to tenths of a degree Fahrenheit.
const fn dc_of_df(df: i64) -> i64 {
    nearest((df - 320) * 5, 9)
}

/// A temperature in tenths of a degree Fahrenheit as it is shown: whole degrees, else halves, else tenths, the first that
/// typed again give the same tenths of a degree Celsius. Whole and half degrees are shown as they were typed.
///
/// # Examples
/// ```
/// use bloomdue_core::units::df_of_dc;
/// assert_eq!([-178, 0, 50, 206].map(df_of_dc), [0, 320, 410, 690]);
/// ```
pub fn df_of_dc(dc: i64) -> i64 {
    let on = |step: i64| nearest(dc * 9 + 1600, 5 * step) * step;
    [10, 5, 1].map(on).into_iter().find(|df| dc_of_df(*df) == dc).unwrap_or(on(1))
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

/// The lengths of a list. In inches a space stands between a whole number and its fraction too, `10 1/2 11`.
pub fn listed_lengths(text: &str, unit: LengthUnit) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for line in text.split(['\n', ';']) {
        let mut follows = false;
        for item in line.split_whitespace() {
            let is_fraction =
                item.contains('/') && !item.contains('-') || SIGNS.iter().any(|(mark, ..)| item.starts_with(*mark));
            let is_part = unit != LengthUnit::Centimetres && follows && is_fraction;
            match found.last_mut().filter(|_| is_part) {
                Some(whole) => {
                    whole.push(' ');
                    whole.push_str(item);
                }
                None => found.push(item.to_owned()),
            }
            follows = item.bytes().all(|b| b.is_ascii_digit());
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const INCHES: [LengthUnit; 2] = [LengthUnit::InchFractions, LengthUnit::InchDecimals];

    /// Inches as text that can be typed: fractions as such, tenths and hundredths with a point.
    fn typed((n, parts): (i64, i64)) -> String {
        match parts {
            10 | 100 => format!("{}.{:0width$}", n / parts, n % parts, width = parts.ilog10() as usize),
            1 => n.to_string(),
            _ if n < parts => format!("{n}/{parts}"),
            _ => format!("{} {}/{parts}", n / parts, n % parts),
        }
    }

    #[test]
    fn inches_are_read_with_decimals_and_with_fractions() {
        let half = ["4.5", " 4,5 ", "4 1/2", "4-1/2", "4½", "4 ½", "4 1/2\"", "4 2/4", "4.500", "4 16/32"];
        assert!(half.iter().all(|typed| mm_of_inches(typed).ok() == Some(114)), "{:?}", half.map(mm_of_inches));
        let read = [("7/8", 22), ("½", 13), ("11", 279), ("4.125", 105), ("0", 0), ("-1", -25)];
        for (typed, mm) in read {
            assert_eq!(mm_of_inches(typed).ok(), Some(mm), "{typed}");
        }
        for typed in
            ["", "4.", ".5", "4 1/3", "4 9/8", "4 1/", "/2", "1/2/4", "4.1234", "4 4 1/2", "four", "4½½", "1e3"]
        {
            assert!(mm_of_inches(typed).is_err(), "{typed}");
        }
    }

    #[test]
    fn lists_of_inches_may_have_fractions_with_a_space() {
        let inches = |text| listed_lengths(text, LengthUnit::InchFractions);
        assert_eq!(inches("10 1/2 11\n10 3/4;9½ 9 ½"), ["10 1/2", "11", "10 3/4", "9½", "9 ½"]);
        assert_eq!(inches("10\n1/2"), ["10", "1/2"]);
        assert_eq!(inches("10.5 1/2"), ["10.5", "1/2"]);
        assert_eq!(listed_lengths("26 27,5;28", LengthUnit::Centimetres), ["26", "27,5", "28"]);
    }

    #[test]
    fn a_sixteenth_and_a_tenth_of_an_inch_are_shown_as_they_were_typed() {
        let same = |n: i64, parts: i64, unit| {
            let typed = typed((n, parts));
            let (shown, of) = inches_of_mm(mm_of_inches(&typed).unwrap(), unit);
            assert_eq!(shown * parts, n * of, "{typed}");
        };
        // Ten feet, beyond every limit.
        for n in 0..=120 * 16 {
            same(n, 16, LengthUnit::InchFractions);
        }
        for n in 0..=120 * 10 {
            same(n, 10, LengthUnit::InchDecimals);
        }
        for n in 0..=120 * 4 {
            same(n, 4, LengthUnit::InchDecimals);
        }
    }

    #[test]
    fn whole_and_half_degrees_fahrenheit_are_shown_as_they_were_typed() {
        // -22 to 140 °F, all that is taken.
        for df in (-220..=1400).step_by(5) {
            assert_eq!(df_of_dc(dc_of_df(df)), df);
        }
        assert_eq!(dc_of("68,5", TemperatureUnit::Fahrenheit).ok(), Some(203));
        assert_eq!(dc_of("-40", TemperatureUnit::Fahrenheit).ok(), Some(-400));
        assert_eq!(dc_of("-3.5", TemperatureUnit::Celsius).ok(), Some(-35));
    }

    proptest! {
        /// A form that opens with what is known and is saved changes nothing, whatever it is shown in.
        #[test]
        fn what_is_shown_and_typed_again_is_what_was_stored(mm in -10_000..100_000_i64, dc in -10_000..10_000_i64) {
            for unit in INCHES {
                let (n, parts) = inches_of_mm(mm, unit);
                prop_assert_eq!(mm_of_parts(n, parts), mm);
                if mm >= 0 {
                    prop_assert_eq!(mm_of_inches(&typed((n, parts))).ok(), Some(mm));
                }
            }
            prop_assert_eq!(dc_of_df(df_of_dc(dc)), dc);
        }

        #[test]
        fn no_text_stops_the_reading(text in "\\PC{0,12}", unit in prop::sample::select(LengthUnit::ALL)) {
            let _ = (mm_of(&text, unit), listed_lengths(&text, unit));
        }
    }

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
