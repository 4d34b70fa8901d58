//! The file of records inside a page that people can read, for share sheets that let no file of records through.
//!
//! The page is UTF-8 HTML; the records stand in one script element of type `application/json`, which browsers do not
//! run. In it `<` is written `\u003c`, as JSON allows within strings and nowhere else stands in such a file, so that no
//! text of a grower's ends the element. An entry that has one is read by its canonical bytes.

use std::borrow::Cow;

/// By what the records are found in a page: the type of their element, up to the end of whose tag all is passed over.
pub(super) const SIGN: &[u8] = b"application/json";

/// What stands before the records.
pub const OPENS: &str = "<script type=\"application/json\">\n";

/// What stands after them.
pub const CLOSES: &str = "</script>\n";

/// A piece of the file as it stands in a page.
pub fn inside(piece: &str) -> Cow<'_, str> {
    if piece.contains('<') { Cow::Owned(piece.replace('<', "\\u003c")) } else { Cow::Borrowed(piece) }
}

/// Text as it stands between the tags of a page, or within the quotes of an attribute.
///
/// # No text is a tag
/// ```
/// use bloomdue_core::handover::page::escaped;
/// assert_eq!(escaped("<b>Ana & Co</b>"), "&lt;b&gt;Ana &amp; Co&lt;/b&gt;");
/// ```
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            letter => out.push(letter),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        handover::json::{compose, read},
        testing::World,
    };

    fn page(of: &str) -> String {
        format!("<!doctype html>\n<title>Records</title>\n<p>3 &lt; 4</p>\n{OPENS}{}{CLOSES}</html>\n", inside(of))
    }

    #[test]
    fn records_in_a_page_are_those_of_the_file() {
        let world = World::of(
            "0 mia place pl_1 </script><b>One
             0 mia lot lo_1 Red \\u003c
             0 mia bulb b_1 lo_1 in=pl_1
             1 mia look b_1 clear",
        );
        let file = compose(&world.ledger, "Vale </script>", "2027-03-14", []);
        let in_page = page(&file);
        assert_eq!(in_page.matches("</script>").count(), 1);
        let (plain, found) = (read(file.as_bytes(), |_| {}).unwrap(), read(in_page.as_bytes(), |_| {}).unwrap());
        assert_eq!(found.entries, plain.entries);
        assert_eq!((found.name, found.digest, found.have), (plain.name, plain.digest, plain.have));
        assert!(!found.cut_off && found.reformatted.is_empty() && found.unreadable.is_empty());
    }

    #[test]
    fn a_page_fed_byte_by_byte_or_cut_off_is_read_as_far_as_it_goes() {
        let world = World::of("0 mia place pl_1 One\n0 mia lot lo_1 Red\n0 mia bulb b_1 lo_1 in=pl_1");
        let in_page = page(&compose(&world.ledger, "Vale", "2027-03-14", []));
        let mut reader = crate::handover::json::Reader::new();
        for byte in in_page.as_bytes() {
            reader.feed(&[*byte], |_| {}).unwrap();
        }
        assert_eq!(reader.finish().unwrap().entries.len(), world.ledger.len());
        let cut = read(&in_page.as_bytes()[..in_page.len() - 100], |_| {}).unwrap();
        assert!(cut.cut_off && cut.entries.len() < world.ledger.len());
        assert_eq!(
            read(b"<html><p>A page of someone else's</p></html>", |_| {}).unwrap_err(),
            crate::handover::json::Refusal::NotOurs
        );
    }
}
