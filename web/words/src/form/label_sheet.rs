//! A sheet of labels as its size is typed.

use bloomdue_core::error::Field;
use bloomdue_core::handover::labels::{Paper, Refusal, Sheet};
use bloomdue_core::units;

use super::{Problem, filled, number};
use crate::labels as say;

/// What stands in the fields.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Typed {
    /// Labels side by side.
    pub columns: String,
    /// Labels below one another.
    pub rows: String,
    /// Width of one, mm.
    pub width: String,
    /// Height of one, mm.
    pub height: String,
    /// Between two side by side, mm.
    pub gap: String,
}

impl Default for Typed {
    fn default() -> Self {
        let of = |text: &str| text.to_owned();
        Self { columns: of("2"), rows: of("5"), width: of("90"), height: of("50"), gap: of("0") }
    }
}

impl Typed {
    /// Reads it; a page for each label has neither rows nor columns.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn read(&self, paper: Paper) -> Result<Sheet, Problem> {
        let (columns, rows, gap) = match paper {
            Paper::One => (1, 1, 0),
            Paper::A4 | Paper::Letter => {
                (number(Field::Number, &self.columns)?, number(Field::Number, &self.rows)?, mm_or_none(&self.gap)?)
            }
        };
        let sheet =
            Sheet { paper, columns, rows, width_dmm: mm(&self.width)?, height_dmm: mm(&self.height)?, gap_dmm: gap };
        sheet.check().map_err(refused)?;
        Ok(sheet)
    }
}

/// How many labels of the first sheet are used already.
///
/// # Errors
/// When it is no number.
pub fn used(text: &str) -> Result<u32, Problem> {
    filled(text).map_or(Ok(0), |text| number(Field::Number, &text))
}

/// Why labels cannot be printed so.
pub fn refused(why: Refusal) -> Problem {
    Problem::whole(say::refusal(why))
}

fn mm_or_none(text: &str) -> Result<u32, Problem> {
    filled(text).map_or(Ok(0), |text| mm(&text))
}

/// Tenths of a millimetre.
fn mm(text: &str) -> Result<u32, Problem> {
    let tenths = units::tenths(text).ok().and_then(|tenths| u32::try_from(tenths).ok());
    tenths.ok_or_else(|| Problem::whole(say::no_size()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_is_read_or_says_what_is_wrong() {
        let typed = Typed::default();
        let sheet = typed.read(Paper::A4).expect("a sheet");
        assert_eq!((sheet.n_on_page(), sheet.width_dmm), (10, 900));
        let said = |typed: Typed, paper| typed.read(paper).expect_err("nothing of the kind").text;
        assert_eq!(said(Typed { width: "wide".into(), ..typed.clone() }, Paper::A4), say::no_size());
        assert_eq!(said(Typed { columns: "3".into(), ..typed.clone() }, Paper::A4), say::refusal(Refusal::TooWide));
        assert_eq!(
            said(Typed { height: "0.5".into(), ..typed.clone() }, Paper::One),
            say::refusal(Refusal::NoSuchLabel)
        );
        assert_eq!(Typed { rows: "many".into(), ..typed }.read(Paper::One).map(|sheet| sheet.n_on_page()), Ok(1));
        assert_eq!((used(""), used("3")), (Ok(0), Ok(3)));
        assert!(used("some").is_err());
    }
}
