//! Names in the order in which people count.

use std::cmp::Ordering;

/// A name that sorts as people count: R2 before R10.
#[derive(Clone, Copy, Debug)]
pub struct Counted<T>(pub T);

impl<T: AsRef<str>> Ord for Counted<T> {
    fn cmp(&self, other: &Self) -> Ordering {
        alphanumeric_sort::compare_str(&self.0, &other.0)
    }
}

impl<T: AsRef<str>> PartialOrd for Counted<T> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<T: AsRef<str>> PartialEq for Counted<T> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl<T: AsRef<str>> Eq for Counted<T> {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_sort_as_people_count() {
        let mut names = ["R10", "R2", "R1", "Anna", "2", "R", "10", "R2a", "R1-10", "R1-9"];
        names.sort_by_key(|name| Counted(*name));
        assert_eq!(names, ["2", "10", "Anna", "R", "R1", "R1-9", "R1-10", "R2", "R2a", "R10"]);
    }
}
