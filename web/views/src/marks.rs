// What the bytes of a template mean. The macro writes them and the app reads them; both compile this file.
// A mark is followed by its words, up to the next mark; none of these bytes occurs in text.

/// Opens an element of HTML; its name follows.
pub(crate) const OPEN: char = '\u{e}';
/// Opens an element of SVG; its name follows.
pub(crate) const OPEN_SVG: char = '\u{f}';
/// Closes the element opened last.
pub(crate) const CLOSE: char = '\u{10}';
/// A text.
pub(crate) const TEXT: char = '\u{11}';
/// An attribute that never changes: its name, then `=` and its value, unless that is empty.
pub(crate) const ATTRIBUTE: char = '\u{12}';
/// The next hole is a child.
pub(crate) const CHILD: char = '\u{13}';
/// The next hole is the value of the attribute named.
pub(crate) const VALUE: char = '\u{14}';
/// The next hole is the value of the property named.
pub(crate) const PROPERTY: char = '\u{15}';
/// The next hole says whether the element has the class named.
pub(crate) const CLASS: char = '\u{16}';
/// The next hole hears the event named.
pub(crate) const EVENT: char = '\u{17}';
