//! Where everything stands in JSON text (RFC 8259).

use super::Span;

struct Scan<'a> {
    bytes: &'a [u8],
    at: usize,
    spans: Vec<Span>,
}

/// Every value and every key of the text, or the byte from which on it is no JSON.
///
/// Nothing calls itself here, so that text nested ever so deep does no harm.
pub(super) fn spans(bytes: &[u8]) -> Result<Vec<Span>, usize> {
    if u32::try_from(bytes.len()).is_err() {
        return Err(0);
    }
    let mut scan = Scan {
        bytes,
        at: 0,
        // Records have a value or a key in every dozen bytes; photos hardly any.
        spans: Vec::with_capacity((bytes.len() / 12).min(4096) + 8),
    };
    match scan.whole() {
        Some(()) => Ok(scan.spans),
        None => Err(scan.at),
    }
}

/// Stands for no span at all.
const NONE: u32 = u32::MAX;

/// Whether eight bytes hold no quote, no backslash and no control character, asked of all at once.
fn are_plain(eight: &[u8]) -> bool {
    const ONES: u64 = u64::MAX / 255;
    let all = u64::from_le_bytes(eight.try_into().unwrap_or_default());
    // The uppermost bit of a byte is set where a byte is less than `n`, and perhaps in bytes above such a one.
    let less = |bytes: u64, n: u64| bytes.wrapping_sub(ONES * n) & !bytes;
    let found = less(all, 32)
        | less(all ^ (ONES * u64::from(b'"')), 1)
        | less(all ^ (ONES * u64::from(b'\\')), 1);
    found & (ONES << 7) == 0
}

impl Scan<'_> {
    fn whole(&mut self) -> Option<()> {
        // The object or list that is open. Which one is open around it stands in its own span until it is closed.
        let mut open = NONE;
        loop {
            let first = self.next_byte()?;
            match first {
                b'"' => self.text()?,
                b'{' | b'[' => {
                    self.push(self.at, self.at + 1, open as usize, false);
                    open = self.spans.len() as u32 - 1;
                    // A brace is closed by what stands two places on in ASCII, and so is a bracket.
                    let is_empty = self.next_byte()? == first + 2;
                    if !is_empty {
                        self.key(first)?;
                        continue;
                    }
                }
                b't' => self.literal(b"true")?,
                b'f' => self.literal(b"false")?,
                b'n' => self.literal(b"null")?,
                _ => self.number()?,
            }
            // A value has ended, and with it perhaps what it stands in.
            loop {
                let next = self.spans.len();
                let Some(around) = self.spans.get_mut(open as usize) else {
                    return self.next_byte().is_none().then_some(());
                };
                let first = *self.bytes.get(around.start as usize)?;
                let byte = self.next_byte()?;
                if byte == b',' {
                    self.at += 1;
                    self.key(first)?;
                    break;
                }
                if byte != first + 2 {
                    return None;
                }
                self.at += 1;
                let around = self.spans.get_mut(open as usize)?;
                around.end = self.at as u32;
                open = std::mem::replace(&mut around.next, next as u32);
            }
        }
    }

    /// Passes over spaces; the byte after them, if there is one.
    fn next_byte(&mut self) -> Option<u8> {
        loop {
            match *self.bytes.get(self.at)? {
                b' ' | b'\t' | b'\n' | b'\r' => self.at += 1,
                byte => return Some(byte),
            }
        }
    }

    /// A span that ends at `end`, where the scan goes on.
    fn push(&mut self, start: usize, end: usize, next: usize, escaped: bool) {
        self.at = end;
        self.spans.push(Span {
            start: start as u32,
            end: end as u32,
            next: next as u32,
            escaped,
        });
    }

    fn leaf(&mut self, start: usize, end: usize, escaped: bool) {
        let next = self.spans.len() + 1;
        self.push(start, end, next, escaped);
    }

    /// In an object, a key and its colon.
    fn key(&mut self, around: u8) -> Option<()> {
        if around == b'{' {
            if self.next_byte()? != b'"' {
                return None;
            }
            self.text()?;
            if self.next_byte()? != b':' {
                return None;
            }
            self.at += 1;
        }
        Some(())
    }

    fn text(&mut self) -> Option<()> {
        let mut at = self.at + 1;
        let mut escaped = false;
        loop {
            while let Some(eight) = self.bytes.get(at..at + 8)
                && are_plain(eight)
            {
                at += 8;
            }
            match *self.bytes.get(at)? {
                b'"' => break,
                b'\\' => {
                    escaped = true;
                    at += 1;
                    match *self.bytes.get(at)? {
                        b'u' => {
                            let digits = self.bytes.get(at + 1..at + 5)?;
                            if !digits.iter().all(u8::is_ascii_hexdigit) {
                                return None;
                            }
                            at += 4;
                        }
                        b'"' | b'\\' | b'/' | b'b' | b'f' | b'n' | b'r' | b't' => {}
                        _ => return None,
                    }
                }
                0..b' ' => return None,
                _ => {}
            }
            at += 1;
        }
        self.leaf(self.at, at + 1, escaped);
        Some(())
    }

    fn literal(&mut self, word: &[u8]) -> Option<()> {
        if !self.bytes.get(self.at..)?.starts_with(word) {
            return None;
        }
        self.leaf(self.at, self.at + word.len(), false);
        Some(())
    }

    fn number(&mut self) -> Option<()> {
        let start = self.at;
        self.skip(b"-");
        if !self.skip(b"0") {
            self.digits()?;
        }
        if self.skip(b".") {
            self.digits()?;
        }
        if self.skip(b"eE") {
            self.skip(b"+-");
            self.digits()?;
        }
        self.leaf(start, self.at, false);
        Some(())
    }

    /// Passes over one byte that is one of these.
    fn skip(&mut self, any: &[u8]) -> bool {
        let is_there = self
            .bytes
            .get(self.at)
            .is_some_and(|byte| any.contains(byte));
        self.at += usize::from(is_there);
        is_there
    }

    /// Passes over one digit or more.
    fn digits(&mut self) -> Option<()> {
        let start = self.at;
        while self.bytes.get(self.at).is_some_and(u8::is_ascii_digit) {
            self.at += 1;
        }
        (self.at > start).then_some(())
    }
}
