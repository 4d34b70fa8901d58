//! Bulbs that are added to a place.

use bloomdue_core::ledger::body::LotBody;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::limits;
use bloomdue_core::record::{Circumference, LotChoice, NewBulbs};
use bloomdue_core::units;
use serde::{Deserialize, Serialize};

use super::{Problem, digits, length_mm, refused};
use crate::formats;
use bloomdue_core::error::Field;

/// What is known of the bulbs' sizes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Sizes {
    Unknown,
    Grade,
    Each,
}

/// What the fields hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Typed {
    pub n_bulbs: String,
    pub sizes: Sizes,
    pub low: String,
    pub high: String,
    pub each: String,
    pub own: String,
}

impl Typed {
    /// Nothing typed yet but a number to begin with.
    pub fn fresh() -> Self {
        let text = String::new;
        Self { n_bulbs: "12".to_owned(), sizes: Sizes::Unknown, low: text(), high: text(), each: text(), own: text() }
    }

    /// The bulbs of a lot, standing at a place.
    ///
    /// # Errors
    /// What is not typed as it must be, beside its field.
    pub fn bulbs(&self, lot: LotChoice, place: Id) -> Result<NewBulbs, Problem> {
        let n_bulbs: usize = digits(Field::Bulbs, &self.n_bulbs)?;
        let mm = |text: &str| length_mm(Field::Circumference, text);
        let circumference = match self.sizes {
            Sizes::Unknown => Circumference::Unknown,
            Sizes::Grade => {
                let low = mm(&self.low)?;
                Circumference::Range(low, if self.high.trim().is_empty() { low } else { mm(&self.high)? })
            }
            Sizes::Each => {
                let each = units::listed_lengths(&self.each, formats::units().length);
                Circumference::Each(each.iter().map(|text| mm(text)).collect::<Result<_, _>>()?)
            }
        };
        let own_names = self.own.lines().map(str::trim).filter(|line| !line.is_empty()).map(str::to_owned).collect();
        limits::BULBS_AT_ONCE.check(n_bulbs as i64).map_err(|why| refused(Field::Bulbs, &why))?;
        Ok(NewBulbs { lot, n_bulbs, circumference, place, own_names, containers: Vec::new() })
    }
}

/// A lot, known or new. One without a name of its own goes by its cultivar.
pub fn lot(known: Option<Id>, cultivar: String, name: String) -> LotChoice {
    known.map_or_else(
        || {
            LotChoice::New(LotBody {
                name: if name.trim().is_empty() { cultivar.clone() } else { name },
                cultivar,
                supplier: String::new(),
                grade: String::new(),
                received: None,
                apart_until: None,
            })
        },
        LotChoice::Known,
    )
}
