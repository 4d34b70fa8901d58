//! Names of files that leave the device.

use crate::calendar::Happened;

/// Longest name in bytes, with its ending. File systems take 255, but a browser or a mail program may add to it.
const NAME_BYTES: usize = 80;

/// Longest sign of who wrote a file, in bytes.
const SIGN_BYTES: usize = 12;

/// `nursery-AR-2027-05-01-1420.bloomdue.json`: what it is of, who wrote it, when, and an ending without its dot. Valid
/// on every common file system and never longer than 80 bytes; nothing stands for what is empty.
///
/// # It names what, who and when
/// ```
/// # use bloomdue_core::handover::file_name;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let made = "2027-05-01T14:20+02:00".parse()?;
/// assert_eq!(file_name("Hill House", "AR", &made, "bloomdue.json"), "hill-house-AR-2027-05-01-1420.bloomdue.json");
/// # Ok(())
/// # }
/// ```
pub fn file_name(of: &str, who: &str, made: &Happened, ending: &str) -> String {
    let minutes = made.minute_of_day().map(|minute| format!("-{:02}{:02}", minute / 60, minute % 60));
    let who = match plain(who, SIGN_BYTES) {
        who if who.is_empty() => who,
        who => format!("-{who}"),
    };
    let tail = format!("{who}-{}{}.{ending}", made.date(), minutes.unwrap_or_default());
    let of = plain(&of.to_lowercase(), NAME_BYTES.saturating_sub(tail.len()));
    let of = if of.is_empty() { "nursery".to_owned() } else { of };
    format!("{of}{tail}")
}

/// Letters and digits, all else as single hyphens between them, cut at a number of bytes.
fn plain(text: &str, most_bytes: usize) -> String {
    let mut name = String::new();
    let mut apart = false;
    for letter in text.chars() {
        if !letter.is_alphanumeric() {
            apart = true;
            continue;
        }
        let hyphen = apart && !name.is_empty();
        if name.len() + usize::from(hyphen) + letter.len_utf8() > most_bytes {
            break;
        }
        if hyphen {
            name.push('-');
        }
        name.push(letter);
        apart = false;
    }
    name
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn at(text: &str) -> Happened {
        text.parse().expect("a moment")
    }

    #[test]
    fn a_name_says_of_what_by_whom_and_when() {
        let made = at("2027-05-01T14:20+02:00");
        let name = |of, who| file_name(of, who, &made, "bloomdue.json");
        assert_eq!(name("Pindo Nursery", "AR"), "pindo-nursery-AR-2027-05-01-1420.bloomdue.json");
        assert_eq!(name("", ""), "nursery-2027-05-01-1420.bloomdue.json");
        assert_eq!(name("../a:b\\c?", "A/B"), "a-b-c-A-B-2027-05-01-1420.bloomdue.json");
        assert_ne!(name("Pindo", "AR"), name("Pindo", "EK"));
    }

    #[test]
    fn a_day_alone_names_no_minute() {
        assert_eq!(file_name("A", "B", &at("2027-05-01"), "ics"), "a-B-2027-05-01.ics");
    }

    proptest! {
        #[test]
        fn any_name_is_short_and_valid_everywhere(of in any::<String>(), who in any::<String>()) {
            let name = file_name(&of, &who, &at("2027-05-01T14:20+02:00"), "bloomdue.json");
            prop_assert!(name.len() <= NAME_BYTES, "{} bytes", name.len());
            prop_assert!(name.ends_with("2027-05-01-1420.bloomdue.json"));
            prop_assert!(name.chars().all(|c| c.is_alphanumeric() || c == '-' || c == '.'));
            prop_assert!(name.starts_with(|c: char| c.is_alphanumeric()));
        }
    }
}
