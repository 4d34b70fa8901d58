//! Base 64 with the standard alphabet and padding (RFC 4648 §4).

const ALPHABET: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// Writes bytes.
pub(super) fn encode(bytes: &[u8], out: &mut String) {
    out.reserve(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let at = |n: usize| u32::from(three.get(n).copied().unwrap_or(0));
        let bits = at(0) << 16 | at(1) << 8 | at(2);
        for n in 0..4 {
            if n <= three.len() {
                out.push(char::from(ALPHABET[(bits >> (18 - 6 * n) & 63) as usize]));
            } else {
                out.push('=');
            }
        }
    }
}

/// Reads what [`encode`] writes; nothing for anything else, such as bits left over that are not zero.
pub(super) fn decode(text: &str) -> Option<Vec<u8>> {
    let (fours, []) = text.as_bytes().as_chunks::<4>() else {
        return None;
    };
    let mut bytes = Vec::with_capacity(fours.len() * 3);
    for (at, four) in fours.iter().enumerate() {
        let n_padding = four
            .iter()
            .rev()
            .take_while(|&&digit| digit == b'=')
            .count();
        if n_padding > 2 || (n_padding > 0 && at + 1 < fours.len()) {
            return None;
        }
        let mut bits = 0;
        for digit in &four[..4 - n_padding] {
            bits = bits << 6 | value(*digit)?;
        }
        bits <<= 6 * n_padding;
        let [_, three @ ..] = bits.to_be_bytes();
        if three[3 - n_padding..].iter().any(|&byte| byte != 0) {
            return None;
        }
        bytes.extend_from_slice(&three[..3 - n_padding]);
    }
    Some(bytes)
}

fn value(digit: u8) -> Option<u32> {
    let value = match digit {
        b'A'..=b'Z' => digit - b'A',
        b'a'..=b'z' => digit - b'a' + 26,
        b'0'..=b'9' => digit - b'0' + 52,
        b'+' => 62,
        b'/' => 63,
        _ => return None,
    };
    Some(u32::from(value))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_standards_own_examples() {
        // RFC 4648 §10.
        for (bytes, text) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            let mut out = String::new();
            encode(bytes.as_bytes(), &mut out);
            assert_eq!(out, text);
            assert_eq!(decode(text).as_deref(), Some(bytes.as_bytes()));
        }
        for wrong in [
            "Zg", "Zg=", "Zh==", "Z===", "====", "Zg==Zg==", "Zm9_", "Zm9\n",
        ] {
            assert_eq!(decode(wrong), None, "{wrong}");
        }
    }

    proptest! {
        #[test]
        fn bytes_read_back(bytes: Vec<u8>) {
            let mut out = String::new();
            encode(&bytes, &mut out);
            prop_assert_eq!(decode(&out), Some(bytes));
        }

        #[test]
        fn any_text_is_read_one_way_or_not_at_all(text in "[A-Za-z0-9+/=]{0,16}") {
            if let Some(bytes) = decode(&text) {
                let mut out = String::new();
                encode(&bytes, &mut out);
                prop_assert_eq!(out, text);
            }
        }
    }
}
