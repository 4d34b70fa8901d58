//! Cycles in numbers.

use bloomdue_draws::{Row, Seen};

use super::data::{Course, Data, Known};

/// The rows of all cycles, given the cell of each.
pub(super) fn of(data: &Data, cells: &[usize]) -> Vec<Row> {
    let courses = data.courses.iter().zip(cells);
    courses.map(|(course, cell)| row(course, *cell)).collect()
}

/// The row of one.
pub(super) fn row(course: &Course, cell: usize) -> Row {
    let stages = course.stages.map(|known| match known {
        Known::Between { after, by } => Seen::Between(f64::from(after), f64::from(by)),
        Known::NotBy(day) => Seen::NotBy(f64::from(day)),
        Known::NotSaid => Seen::NotSaid,
    });
    Row::of(&stages, cell)
}
