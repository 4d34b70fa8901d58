//! The table behind a picture.

/// The numbers of a picture in words; the first cell of a row is its head.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// Heads of the columns.
    pub heads: Vec<String>,
    /// Rows of as many cells.
    pub rows: Vec<Vec<String>>,
}
