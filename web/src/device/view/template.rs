//! Reading a template.

/// The marks, as the macro writes them.
#[path = "../../../views/src/marks.rs"]
pub(super) mod marks;

/// The template of a view that is one hole.
pub(super) const A_CHILD: &str = "\u{13}";

/// The next mark of a template and its words; none at its end.
pub(super) fn next(rest: &mut &'static str) -> Option<(char, &'static str)> {
    let mark = rest.chars().next()?;
    let words = rest.get(1..)?;
    let is_mark = |b: u8| (marks::OPEN as u8..=marks::EVENT as u8).contains(&b);
    let end = words.bytes().position(is_mark).unwrap_or(words.len());
    let (words, after) = (words.get(..end)?, words.get(end..)?);
    *rest = after;
    Some((mark, words))
}
