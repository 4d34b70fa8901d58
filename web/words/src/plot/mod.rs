//! Shapes of pictures of results: from numbers to places and outlines, which the screens draw.

pub mod days;
pub mod ladder;
pub mod share;

/// Width of every picture in its own units: a phone of 360 px less its sides.
pub const WIDTH: f64 = 328.0;
const LEFT: f64 = 8.0;
const RIGHT: f64 = 320.0;

/// From values to units of a picture, linear.
#[derive(Clone, Copy, Debug)]
pub struct Scale {
    low: f64,
    high: f64,
    left: f64,
    right: f64,
}

impl Scale {
    /// A scale over the whole width; ends that are the same are moved apart.
    pub fn new(low: f64, high: f64) -> Self {
        let high = if high > low { high } else { low + 1.0 };
        Self { low, high, left: LEFT, right: RIGHT }
    }

    /// The same with room for words at its left.
    pub fn from(self, left: f64) -> Self {
        Self { left, ..self }
    }

    /// The same with room for words at its right.
    pub fn until(self, right: f64) -> Self {
        Self { right, ..self }
    }

    /// Where a value stands; what lies outside stands at the end.
    pub fn x(self, value: f64) -> f64 {
        let along = (value - self.low) / (self.high - self.low);
        self.left + along.clamp(0.0, 1.0) * (self.right - self.left)
    }
}

/// A number of a path, to a tenth.
pub fn u(value: f64) -> String {
    let value = if value.is_finite() { value } else { 0.0 };
    format!("{value:.1}")
}

/// A part of a picture's whole width, 0 to 1, for pictures whose text keeps its size; what lies outside stands at the end.
pub fn percent(part: f64) -> String {
    let part = if part.is_finite() { part.clamp(0.0, 1.0) } else { 0.0 };
    format!("{:.2}%", 100.0 * part)
}

/// The class of a mark and its outline.
pub fn mark_path(nth: usize, x: f64, y: f64, radius: f64) -> (&'static str, String) {
    let class = if nth.is_multiple_of(2) { "ln dot-full" } else { "ln fl" };
    let r = radius * 0.9;
    let d = match nth / 2 % 3 {
        0 => {
            let half = format!("{0} {0} 0 0 1", u(radius));
            let (x, y, wide) = (u(x - radius), u(y), u(2.0 * radius));
            format!("M{x} {y}a{half} {wide} 0a{half} -{wide} 0z")
        }
        1 => format!("M{} {}h{2}v{2}h-{2}z", u(x - r), u(y - r), u(2.0 * r)),
        _ => format!("M{} {}l{} {}h-{}z", u(x), u(y - radius), u(1.1 * radius), u(1.9 * radius), u(2.2 * radius)),
    };
    (class, d)
}

/// A group's stretch along a line: full, hollow, striped, split and slim, by its place among the groups: outlines with their classes.
pub fn stretch_paths(nth: usize, from: f64, to: f64, y: f64) -> [(&'static str, String); 2] {
    let width = (to - from).max(2.0);
    let height = if nth % 6 < 4 { 5.0 } else { 2.0 };
    let class = if matches!(nth % 6, 0 | 4) { "ln dot-full" } else { "ln fl" };
    let d = format!("M{} {}h{}v{height}h-{2}z", u(from), u(y - height / 2.0), u(width));
    let inside = match nth % 6 {
        2 => {
            (1..(width / 3.0) as i32).map(|at| format!("M{} {}v5", u(from + 3.0 * f64::from(at)), u(y - 2.5))).collect()
        }
        3 => format!("M{} {}h{}", u(from), u(y), u(width)),
        _ => String::new(),
    };
    [(class, d), ("ln", inside)]
}

/// Round numbers between two ends, about five, the ends included where they are round.
pub fn round_numbers(low: f64, high: f64) -> Vec<f64> {
    let rough = (high - low).max(1e-6) / 4.0;
    let power = 10_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|times| times * power)
        .find(|step| *step >= rough * 0.999)
        .unwrap_or(power);
    let first = (low / step).ceil() as i64;
    let last = (high / step).floor() as i64;
    (first..=last).map(|n| n as f64 * step).collect()
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use bloomdue_core::ledger::body::DueWindow;
    use bloomdue_core::testing::day;
    use proptest::prelude::*;

    use super::days::DayAxis;
    use super::share::{HEIGHT, Line, axis_words};
    use super::*;

    proptest! {
        #[test]
        fn every_value_stands_between_the_ends_and_in_order(low in -1e6..1e6, wide in 0.0..1e6, a: f64, b: f64) {
            let scale = Scale::new(low, low + wide).from(30.0).until(300.0);
            let (a, b) = if a < b { (a, b) } else { (b, a) };
            prop_assume!(!a.is_nan() && !b.is_nan());
            prop_assert!(30.0 <= scale.x(a) && scale.x(a) <= scale.x(b) && scale.x(b) <= 300.0);
        }

        #[test]
        fn round_numbers_are_few_and_within_their_ends(low in -1e4..1e4, wide in 0.01..1e4) {
            let high = low + wide;
            let numbers = round_numbers(low, high);
            prop_assert!((1..=6).contains(&numbers.len()), "{:?}", numbers);
            let slack = wide * 1e-9;
            prop_assert!(numbers.iter().all(|n| (low - slack..=high + slack).contains(n)), "{:?}", numbers);
        }

        #[test]
        fn words_under_days_never_overlap(n_days in 1_i64..1200, from in -20_i64..600, long in 0_i64..200) {
            let window = DueWindow { name: String::new(), from: day(from), to: day(from + long) };
            let axis = DayAxis::between(day(0), day(n_days), &window, day(0), WIDTH - 34.0);
            let (left, right) = axis.ends();
            let foot = axis.foot();
            for pair in foot.words.windows(2) {
                let end = pair[0].0 + 5.5 * pair[0].1.chars().count() as f64;
                prop_assert!(end <= pair[1].0, "{:?}", pair);
            }
            prop_assert!(foot.due.is_some_and(|(x, ..)| left <= x && x <= right));
            prop_assert!(axis.at(day(0)) < axis.at(day(n_days)));
        }
    }

    #[test]
    fn six_groups_have_six_marks_and_stretches() {
        let marks: HashSet<_> = (0..6).map(|nth| mark_path(nth, 50.0, 10.0, 4.0)).collect();
        assert_eq!(marks.len(), 6);
        let stretches: HashSet<_> = (0..6).map(|nth| stretch_paths(nth, 10.0, 90.0, 5.0)).collect();
        assert_eq!(stretches.len(), 6);
        assert_eq!(
            (u(f64::NAN), percent(f64::NAN)),
            ("0.0".to_owned(), "0.00%".to_owned()),
            "a picture never says NaN"
        );
    }

    #[test]
    fn a_share_has_its_mark_once_it_is_decided() {
        let open = Line { name: "long".to_owned(), lower: 0.25, upper: 1.0, share: None, in_time: None, nth: 0 };
        let paths = open.paths();
        assert_eq!((paths.len(), paths[1].0, paths[1].1.as_str()), (3, "ln thick broken", "M86.0 15H320.0"));
        assert_eq!(open.parts(), ("25.00%".to_owned(), "100.00%".to_owned(), None));
        let decided = Line { share: Some((2, 4)), ..open };
        assert_eq!(decided.parts().2.as_deref(), Some("50.00%"));
        assert_eq!(decided.paths()[3], mark_path(0, 164.0, HEIGHT / 2.0, 6.0));
        assert_eq!(Line { share: Some((0, 0)), ..decided }.paths().len(), 3, "of none there is no share");
        let places: Vec<f64> = axis_words().into_iter().map(|(x, ..)| x).collect();
        assert_eq!(places, [8.0, 164.0, 320.0]);
    }
}
