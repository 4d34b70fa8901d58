//! Growth between two pictures.

use super::{Estimate, NoNumber};
use crate::calendar::Date;

/// What a length grew a day between two pictures, in its unit a day.
///
/// The errors of both pictures are independent: their squares add.
///
/// # Errors
/// When the second picture is not of a later day.
pub fn growth(from: (Date, Estimate), to: (Date, Estimate)) -> Result<Estimate, NoNumber> {
    let days = from.0.days_until(to.0);
    if days < 1 {
        return Err(NoNumber::NotLater);
    }
    let grown =
        Estimate { value: to.1.value - from.1.value, error: (from.1.error.powi(2) + to.1.error.powi(2)).sqrt() };
    Ok(grown.times(1.0 / days as f64))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Date {
        text.parse().unwrap()
    }

    #[test]
    fn errors_of_both_pictures_add_as_squares() {
        let from = Estimate { value: 12.0, error: 3.0 };
        let to = Estimate { value: 24.0, error: 4.0 };
        let grown = growth((day("2027-11-20"), from), (day("2027-11-23"), to)).unwrap();
        assert_eq!(grown.value, 4.0);
        assert!((grown.error - 5.0 / 3.0).abs() < 1e-12);
    }

    #[test]
    fn two_pictures_of_one_day_say_nothing() {
        let length = Estimate { value: 12.0, error: 3.0 };
        let one = (day("2027-11-20"), length);
        assert_eq!(growth(one, one), Err(NoNumber::NotLater));
    }
}
