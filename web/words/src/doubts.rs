//! What is asked before it is taken.

use bloomdue_core::record::doubts::UnusualSize;
use bloomdue_core::units::LengthUnit;

use crate::formats::{self, length};

labels! {
    all_the_same = "Use it all the same";
}

/// What was typed, taken as inches, mm, where centimetres were asked for.
pub fn as_inches(unusual: &UnusualSize) -> Option<&[i64]> {
    unusual.as_inches_mm.as_deref().filter(|_| formats::units().length == LengthUnit::Centimetres)
}

pub fn unusual_size(unusual: &UnusualSize) -> String {
    let inches = if as_inches(unusual).is_some() { " Were inches typed?" } else { " Is it right?" };
    let others = match unusual.n - 1 {
        0 => String::new(),
        1 => " and 1 other".to_owned(),
        n => format!(" and {n} others"),
    };
    format!("{}{others} around is unusual for a bulb that is to flower.{inches}", length(unusual.mm))
}

pub fn they_are_inches(mm: &[i64]) -> String {
    let (Some(low), Some(high)) = (mm.iter().min(), mm.iter().max()) else {
        return "Inches".to_owned();
    };
    if low == high {
        format!("Inches: {}", length(*low))
    } else {
        format!("Inches: {} to {}", length(*low), length(*high))
    }
}

pub fn it_is_right(mm: i64, n: usize) -> String {
    if n == 1 { format!("It is {}", length(mm)) } else { "They are as typed".to_owned() }
}

pub fn called_so(names: &[String]) -> String {
    let some: Vec<&str> = names.iter().take(5).map(String::as_str).collect();
    let more = if names.len() > some.len() { " …" } else { "" };
    format!("There is a bulb of this name already: {}{more}. Two of one name are hard to tell apart.", some.join(", "))
}
