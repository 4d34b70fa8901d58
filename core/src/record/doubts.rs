//! What may well be a slip of the finger: asked about before it is taken, never refused.

use crate::{
    ledger::canonical::tidy_text,
    nursery::{Bulb, State},
};

/// Circumferences of bulbs that are brought into flower, mm. Common practice, no source: smaller ones are offsets that
/// do not flower yet, larger ones are hardly sold.
const USUAL_CIRCUMFERENCE_MM: std::ops::RangeInclusive<i64> = 140..=460;

/// Circumferences that few bulbs have.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnusualSize {
    /// The first of them, mm.
    pub mm: i64,
    /// How many of those typed are unusual.
    pub n: usize,
    /// All that was typed, in order, taken as inches, mm; nothing where that would be no more usual.
    pub as_inches_mm: Option<Vec<i64>>,
}

/// Circumferences to be asked about before they are taken, as they were typed in order, mm.
pub fn unusual_size(typed_mm: &[i64]) -> Option<UnusualSize> {
    let usual = |mm: &&i64| USUAL_CIRCUMFERENCE_MM.contains(*mm);
    let mut unusual = typed_mm.iter().filter(|mm| !usual(mm));
    let mm = *unusual.next()?;
    // One inch is 25.4 mm, and what was typed was read as so many centimetres.
    let inches: Vec<i64> = typed_mm.iter().map(|mm| (mm * 254 + 50) / 100).collect();
    Some(UnusualSize { mm, n: 1 + unusual.count(), as_inches_mm: inches.iter().all(|mm| usual(&mm)).then_some(inches) })
}

/// The bulbs that are here and go by one of these own names already, in the order of the names; case does not matter.
pub fn called_so<'a>(state: &'a State, own_names: &[String]) -> Vec<&'a Bulb> {
    let same =
        |bulb: &&Bulb, name: &String| bulb.is_here() && bulb.own_names().any(|known| known.to_lowercase() == *name);
    let names = own_names.iter().map(|name| tidy_text(name).to_lowercase());
    let names = names.filter(|name| !name.is_empty());
    names.flat_map(|name| state.bulbs.values().filter(move |bulb| same(bulb, &name))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{World, id};

    #[test]
    fn centimetres_that_would_be_usual_as_inches_are_asked_about() {
        let asked = unusual_size(&[105, 110]).unwrap();
        assert_eq!((asked.mm, asked.n), (105, 2));
        assert_eq!(asked.as_inches_mm, Some(vec![267, 279]));
        // One of many may be a slip; then it is not the unit.
        let asked = unusual_size(&[280, 28, 270]).unwrap();
        assert_eq!((asked.mm, asked.n, asked.as_inches_mm), (28, 1, None));
        assert_eq!(unusual_size(&[140, 280, 460]), None);
        assert_eq!(unusual_size(&[]), None);
        assert_eq!(unusual_size(&[139]).map(|asked| asked.mm), Some(139));
        assert_eq!(unusual_size(&[461]).map(|asked| asked.mm), Some(461));
    }

    #[test]
    fn a_name_that_a_bulb_here_goes_by_is_found_whatever_its_case() {
        let state = World::of(
            "0 mia bulb b_1,b_2,b_3 lo_1
             0 mia own b_1 R1
             0 mia own b_2 R2
             0 mia own b_3 R3
             1 mia died b_3",
        )
        .state();
        let names = [" r1 ", "R3", "R4", ""].map(str::to_owned);
        let found: Vec<_> = called_so(&state, &names).iter().map(|b| b.id).collect();
        assert_eq!(found, [id("b_1")]);
    }
}
