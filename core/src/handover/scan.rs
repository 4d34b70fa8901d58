//! Cuts a file of records into its members and list elements as it streams by, without holding it whole.
//!
//! Only the outline is read here: where one element ends and the next begins. What an element says, and whether it is
//! whole, is for its reader. After damage the scanner looks for the next line that starts like an element of ours;
//! raw line breaks never stand inside JSON text, so damage to one line costs that line only.

use super::page;

/// The longest element of `entries` that can be an entry: the longest line, its id, and room for an editor's spaces.
const ENTRY_BYTES_MAX: usize = 192 * 1024;

/// The longest element of `photos`: the largest attachment in base 64, and its names.
const PHOTO_BYTES_MAX: usize = 16 * 1024 * 1024 / 3 * 4 + 64 * 1024;

/// The longest value of any other member.
const MEMBER_BYTES_MAX: usize = 4 * 1024 * 1024;

/// The longest key.
const KEY_BYTES_MAX: usize = 256;

/// A list that is cut into its elements.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum List {
    /// `entries`
    Entries,
    /// `photos`
    Photos,
}

/// What was cut out.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Cut<'a> {
    /// A member of the file's object, with its value as it stands.
    Member(String, &'a [u8]),
    /// An element of a list, as it stands.
    Element(List, &'a [u8]),
    /// Something that no element can be; up to the next line that starts like one, all is skipped.
    Broken,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Context {
    /// Before the opening brace.
    Start,
    /// In a page that people read, before the records in it.
    Page,
    /// Between members.
    Top,
    /// After a key, before its value.
    Value,
    /// Between elements.
    In(List),
    /// After damage, before the next line that starts like an element.
    Lost,
    /// After the closing brace. Elements may follow all the same when that brace got in by damage.
    Done,
}

/// How far into a value the scanner has come.
#[derive(Clone, Copy, Debug, Default)]
struct Progress {
    at: usize,
    depth: usize,
    in_string: bool,
    escaped: bool,
}

/// The scanner, fed piece by piece.
#[derive(Debug)]
pub(super) struct Scanner {
    buffer: Vec<u8>,
    /// Where in the buffer the next thing starts.
    start: usize,
    line: u64,
    context: Context,
    key: String,
    progress: Progress,
}

/// What a step came to.
enum Step {
    /// More bytes are needed.
    Wait,
    /// Nothing to report; go on.
    Go,
    /// A member's value or an element, `len` bytes from the start.
    Cut { len: usize },
    /// Damage.
    Broken,
}

impl Scanner {
    pub(super) const fn new() -> Self {
        Self {
            buffer: Vec::new(),
            start: 0,
            line: 1,
            context: Context::Start,
            key: String::new(),
            progress: Progress { at: 0, depth: 0, in_string: false, escaped: false },
        }
    }

    /// Whether the closing brace has been read.
    pub(super) fn is_done(&self) -> bool {
        self.context == Context::Done
    }

    /// Takes a piece of the file. `found` is called for each thing cut out, with the line it starts in.
    pub(super) fn feed(&mut self, piece: &[u8], mut found: impl FnMut(u64, Cut<'_>)) {
        self.buffer.extend_from_slice(piece);
        loop {
            match self.step() {
                Step::Wait => break,
                Step::Go => {}
                Step::Cut { len } => {
                    let raw = &self.buffer[self.start..self.start + len];
                    match self.context {
                        Context::In(list) => found(self.line, Cut::Element(list, raw)),
                        _ => {
                            let key = std::mem::take(&mut self.key);
                            found(self.line, Cut::Member(key, raw));
                            self.context = Context::Top;
                        }
                    }
                    self.advance(len);
                }
                Step::Broken => {
                    found(self.line, Cut::Broken);
                    self.context = Context::Lost;
                    self.progress = Progress::default();
                }
            }
        }
        self.buffer.drain(..self.start);
        self.start = 0;
    }

    /// Moves on by `len` bytes, counting lines.
    fn advance(&mut self, len: usize) {
        let passed = &self.buffer[self.start..self.start + len];
        self.line += passed.iter().filter(|&&byte| byte == b'\n').count() as u64;
        self.start += len;
        self.progress = Progress::default();
    }

    /// Skips white space, and commas between things; gives the next byte, if it is here.
    fn next_byte(&mut self) -> Option<u8> {
        let rest = &self.buffer[self.start..];
        let skipped = rest.iter().take_while(|byte| matches!(byte, b' ' | b'\t' | b'\r' | b'\n' | b',')).count();
        self.advance(skipped);
        self.buffer.get(self.start).copied()
    }

    fn step(&mut self) -> Step {
        match self.context {
            Context::Start => self.open(),
            Context::Page => self.find_in_page(),
            Context::Lost | Context::Done => self.find_again(),
            Context::Top => match self.next_byte() {
                None => Step::Wait,
                Some(b'}') => {
                    self.advance(1);
                    self.context = Context::Done;
                    Step::Go
                }
                Some(b'"') => self.key(),
                Some(_) => Step::Broken,
            },
            Context::Value => match self.next_byte() {
                None => Step::Wait,
                Some(first) => self.value(first),
            },
            Context::In(list) => match self.next_byte() {
                None => Step::Wait,
                Some(b']') => {
                    self.advance(1);
                    self.context = Context::Top;
                    Step::Go
                }
                Some(b'{') => self.scan(match list {
                    List::Entries => ENTRY_BYTES_MAX,
                    List::Photos => PHOTO_BYTES_MAX,
                }),
                Some(_) => Step::Broken,
            },
        }
    }

    /// The opening brace, which a byte order mark may precede.
    fn open(&mut self) -> Step {
        const MARK: &[u8] = b"\xef\xbb\xbf";
        let rest = &self.buffer[self.start..];
        if !rest.is_empty() && rest.len() < MARK.len() && MARK.starts_with(rest) {
            return Step::Wait;
        }
        if rest.starts_with(MARK) {
            self.advance(MARK.len());
        }
        match self.next_byte() {
            None => return Step::Wait,
            Some(b'{') => {
                self.advance(1);
                self.context = Context::Top;
            }
            Some(b'<') => self.context = Context::Page,
            Some(_) => return Step::Broken,
        }
        Step::Go
    }

    /// Skips what of a page people read, up to the records that stand in it as data.
    fn find_in_page(&mut self) -> Step {
        let bytes = &self.buffer[self.start..];
        let Some(at) = bytes.windows(page::SIGN.len()).position(|window| window == page::SIGN) else {
            let passed = bytes.len().saturating_sub(page::SIGN.len() - 1);
            self.advance(passed);
            return Step::Wait;
        };
        let Some(tag) = bytes[at..].iter().position(|&byte| byte == b'>') else {
            self.advance(at);
            return Step::Wait;
        };
        self.advance(at + tag + 1);
        self.context = Context::Start;
        Step::Go
    }

    /// A key and its colon.
    fn key(&mut self) -> Step {
        let len = match self.scan(KEY_BYTES_MAX) {
            Step::Cut { len } => len,
            other => return other,
        };
        let (raw, after) = self.buffer[self.start..].split_at(len);
        let n_space = after.iter().take_while(|byte| byte.is_ascii_whitespace()).count();
        match after.get(n_space) {
            None => {
                self.progress = Progress::default();
                Step::Wait
            }
            Some(b':') => {
                let Ok(key) = serde_json::from_slice(raw) else {
                    return Step::Broken;
                };
                self.key = key;
                self.advance(len + n_space + 1);
                self.context = Context::Value;
                Step::Go
            }
            Some(_) => Step::Broken,
        }
    }

    /// A member's value: one of the lists is entered, all else is cut out whole.
    fn value(&mut self, first: u8) -> Step {
        let list = match self.key.as_str() {
            "entries" => Some(List::Entries),
            "photos" => Some(List::Photos),
            _ => None,
        };
        match list {
            Some(list) if first == b'[' => {
                self.advance(1);
                self.context = Context::In(list);
                Step::Go
            }
            Some(_) => Step::Broken,
            None => self.scan(MEMBER_BYTES_MAX),
        }
    }

    /// Looks for the end of the value that starts here, going on where the last call had to stop.
    fn scan(&mut self, max: usize) -> Step {
        let bytes = &self.buffer[self.start..];
        let mut p = self.progress;
        while let Some(&byte) = bytes.get(p.at) {
            if p.at >= max || (p.in_string && byte < b' ') {
                return Step::Broken;
            }
            // An element of ours at the start of a line within another one, or within a member that is no list: a
            // bracket was lost before, or the list's name is garbled.
            if byte == b'\n' && matches!(self.context, Context::In(_) | Context::Value) {
                match sign_at(&bytes[p.at + 1..]) {
                    Sign::None => {}
                    Sign::Maybe => break,
                    Sign::Found(_) => return Step::Broken,
                }
            }
            // A number, true or false ends where something else begins.
            if p.depth == 0
                && !p.in_string
                && p.at > 0
                && matches!(byte, b',' | b'}' | b']' | b'\n' | b'\r' | b' ' | b'\t')
            {
                return Step::Cut { len: p.at };
            }
            p.at += 1;
            if p.in_string {
                match byte {
                    _ if p.escaped => p.escaped = false,
                    b'\\' => p.escaped = true,
                    b'"' => p.in_string = false,
                    _ => {}
                }
                if !p.in_string && p.depth == 0 {
                    return Step::Cut { len: p.at };
                }
                continue;
            }
            match byte {
                b'"' => p.in_string = true,
                b'{' | b'[' => p.depth += 1,
                b'}' | b']' => {
                    p.depth = p.depth.saturating_sub(1);
                    if p.depth == 0 {
                        return Step::Cut { len: p.at };
                    }
                }
                _ => {}
            }
        }
        self.progress = p;
        Step::Wait
    }

    /// Skips to the next line that starts like an element, or like the start of the photos.
    fn find_again(&mut self) -> Step {
        let bytes = &self.buffer[self.start..];
        let Some(end) = bytes.iter().position(|&byte| byte == b'\n') else {
            self.start = self.buffer.len();
            return Step::Wait;
        };
        match sign_at(&bytes[end + 1..]) {
            Sign::Found(list) => {
                self.advance(end + 1);
                self.context = Context::In(list);
                Step::Go
            }
            // The line break stays, so that the rest of this line is looked at when it comes.
            Sign::Maybe => {
                self.advance(end);
                Step::Wait
            }
            Sign::None => {
                self.advance(end + 1);
                Step::Go
            }
        }
    }
}

/// How a line starts.
enum Sign {
    /// Like no element of ours.
    None,
    /// Too little of it is here to say.
    Maybe,
    /// Like something in this list.
    Found(List),
}

fn sign_at(line: &[u8]) -> Sign {
    const SIGNS: [(&[u8], List); 3] = [
        (b"{\"id\":\"e", List::Entries),
        (b"{\"hash\":\"", List::Photos),
        // The end of the entries, after which the scanner finds the photos by itself.
        (b"],\"photos\":[", List::Entries),
    ];
    for (sign, list) in SIGNS {
        if line.starts_with(sign) {
            return Sign::Found(list);
        }
        if line.len() < sign.len() && sign.starts_with(line) {
            return Sign::Maybe;
        }
    }
    Sign::None
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Everything found when the text is fed in pieces of `n` bytes.
    fn cuts(text: &str, n: usize) -> (Vec<(u64, String)>, bool) {
        let mut scanner = Scanner::new();
        let mut found = Vec::new();
        for piece in text.as_bytes().chunks(n) {
            scanner.feed(piece, |line, cut| {
                let text = |raw: &[u8]| String::from_utf8_lossy(raw).into_owned();
                found.push((
                    line,
                    match cut {
                        Cut::Member(key, raw) => format!("{key}={}", text(raw)),
                        Cut::Element(List::Entries, raw) => format!("entry {}", text(raw)),
                        Cut::Element(List::Photos, raw) => format!("photo {}", text(raw)),
                        Cut::Broken => "broken".to_owned(),
                    },
                ));
            });
        }
        (found, scanner.is_done())
    }

    fn same_in_all_pieces(text: &str) -> (Vec<String>, bool) {
        let (whole, done) = cuts(text, text.len());
        for n in 1..20 {
            assert_eq!(cuts(text, n), (whole.clone(), done), "pieces of {n}");
        }
        (whole.into_iter().map(|(_, cut)| cut).collect(), done)
    }

    const FILE: &str = "{\"bloomdue\":\"records\",\"format\":1,\"have\":{\"d\":[[1,2,\"]}\"]]},\"entries\":[\n\
        {\"id\":\"e1\",\"entry\":{\"a\":\"\\\"}\"}},\n\
        {\"id\":\"e2\",\"entry\":{}}\n\
        ],\"photos\":[\n\
        {\"hash\":\"00\"}\n\
        ],\"new\": -1 }\n";

    #[test]
    fn members_and_elements_are_cut_out_whatever_the_pieces() {
        let (found, done) = same_in_all_pieces(FILE);
        assert!(done);
        assert_eq!(
            found,
            [
                "bloomdue=\"records\"",
                "format=1",
                "have={\"d\":[[1,2,\"]}\"]]}",
                "entry {\"id\":\"e1\",\"entry\":{\"a\":\"\\\"}\"}}",
                "entry {\"id\":\"e2\",\"entry\":{}}",
                "photo {\"hash\":\"00\"}",
                "new=-1",
            ]
        );
        assert_eq!(cuts(FILE, 7).0[4].0, 3, "the second entry stands in line 3");
    }

    #[test]
    fn a_file_laid_out_by_an_editor_reads_the_same() {
        let value: serde_json::Value = serde_json::from_str(FILE).unwrap();
        let (found, done) = same_in_all_pieces(&serde_json::to_string_pretty(&value).unwrap());
        assert!(done);
        assert_eq!(found.iter().filter(|cut| cut.starts_with("entry")).count(), 2);
        assert_eq!(same_in_all_pieces(&format!("\u{feff} {FILE}")).0.len(), 7);
    }

    #[test]
    fn damage_to_one_line_costs_that_line_only() {
        // A quotation mark lost, and a brace lost.
        for (from, to) in [("}\"}},", "}}},"), ("\"entry\":{\"a\"", "\"entry\":{{\"a\"")] {
            let (found, _) = same_in_all_pieces(&FILE.replace(from, to));
            assert!(found.contains(&"broken".to_owned()), "{found:?}");
            assert!(found.contains(&"entry {\"id\":\"e2\",\"entry\":{}}".to_owned()), "{found:?}");
        }
    }

    #[test]
    fn a_file_cut_off_anywhere_keeps_what_stands_before() {
        for cut in 1..FILE.len() - 3 {
            let (found, done) = same_in_all_pieces(&FILE[..cut]);
            assert!(!done, "cut at {cut}");
            assert!(!found.contains(&"broken".to_owned()), "cut at {cut}: {found:?}");
        }
        assert!(Scanner::new().buffer.is_empty());
    }

    #[test]
    fn a_file_without_its_first_line_or_closed_too_early_gives_its_elements() {
        let headless = FILE.split_once('\n').unwrap().1;
        let (found, done) = same_in_all_pieces(&format!("?\n{headless}"));
        assert!(done && found.len() == 5 && found[0] == "broken", "{found:?}");
        let (found, done) = same_in_all_pieces(&FILE.replace("\"format\":1", "}\"format\":1"));
        assert!(done && found.len() == 5, "{found:?}");
    }

    #[test]
    fn nothing_is_found_in_what_is_not_ours() {
        for text in ["[1]", "PK\u{3}\u{4}", "hello", "<p type=\"application/json\">\n<p>\n"] {
            let found = if text.starts_with('<') { vec![] } else { vec!["broken".to_owned()] };
            assert_eq!(same_in_all_pieces(text), (found, false));
        }
    }
}
