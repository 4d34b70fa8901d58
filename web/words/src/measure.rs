//! Measuring on photos: marks and what they say.

use bloomdue_core::{
    calendar::Date,
    ledger::{
        body::{Marked, PhotoMarks},
        id::Id,
    },
    sight::{
        Estimate, NoNumber, Rise,
        lay::{Handle, Laid, RIM_MARKS, Says},
        marks,
        shade::{NoShade, Shade},
    },
    units,
};

use crate::{
    dates::{date_short, days_away},
    formats,
};

labels! {
    measure = "Measure on it";
    lay_marks = "Lay the marks";
    drag = "Drag slowly. The round glass shows what is under your thumb.";
    what_label = "What is measured";
    scale_label = "What gives the scale";
    card = "A bank card";
    ruler = "A ruler";
    shoot_label = "Which shoot";
    in_one_plane = "Card or ruler must be as far from the camera as what is measured.";
    looking = "Looking for the card …";
    found = "These may be the card's corners. Check each of them.";
    not_found = "No card was found. Drag the corners to it.";
    corners_right = "Corners right";
    right_here = "Right here";
    again = "Again";
    left = "A little to the left";
    right = "A little to the right";
    up = "A little up";
    down = "A little down";
    undo_mark = "Undo the last move";
    unknown = "This photo is not in these records.";
    side_by_side = "Side by side";
    same_scale = "Measured photos are shown at one scale.";
    own_scale = "not measured, at its own scale";
    no_two = "Two photos or more stand here side by side.";
    shade_by_photos = "Shade by two photos of one card";
    shade_how = "A matt card fills the middle of both. Same camera, same hour, no cloud between.";
    shade_open = "Card in the open";
    shade_here = "Card in this place";
    shade_at_best = "At best within a third of a stop; cameras say no more. The photos are not kept.";
}

/// How far the ruler's marks are apart, as it is asked for: `Between its marks, cm`.
pub fn ruler_label() -> String {
    format!("Between its marks, {}", formats::length_asked())
}

/// The same as it was typed, in whole mm; nothing while it is no length.
pub fn ruler_mm(text: &str) -> Option<u32> {
    units::mm_of(text, formats::units().length).ok().and_then(|mm| u32::try_from(mm).ok())
}

/// What is measured, as it is chosen.
pub fn what(what: Marked) -> &'static str {
    match what {
        Marked::Height => "Stalk",
        Marked::Thickness => "Thickness",
        Marked::Width => "Bulb",
        Marked::Neck => "Neck",
    }
}

/// What a mark is on.
pub fn handle(handle: Handle, shoot: Option<u32>) -> String {
    match handle {
        Handle::Corner(at) => format!("Card, corner {} of 4", at + 1),
        Handle::Ruler(0) => "Ruler, one end".to_owned(),
        Handle::Ruler(_) => "Ruler, other end".to_owned(),
        Handle::Height(0) => "Foot".to_owned(),
        Handle::Height(_) => "Tip".to_owned(),
        Handle::Thickness(0) | Handle::Width(0) => "One side".to_owned(),
        Handle::Thickness(_) | Handle::Width(_) => "Other side".to_owned(),
        Handle::Rim(at) => format!("Rim of the neck, {} of {RIM_MARKS}", at + 1),
        Handle::Foot(_) => match shoot {
            Some(ordinal) => format!("Foot of shoot {ordinal}"),
            None => "Foot of a shoot".to_owned(),
        },
    }
}

/// A mark's few letters on the picture.
pub fn letter(handle: Handle, shoot: Option<u32>) -> String {
    match handle {
        Handle::Corner(at) | Handle::Rim(at) => format!("{}", at + 1),
        Handle::Height(0) => "foot".to_owned(),
        Handle::Height(_) => "tip".to_owned(),
        Handle::Foot(_) => shoot.map_or_else(|| "foot".to_owned(), |ordinal| format!("foot {ordinal}")),
        Handle::Ruler(_) | Handle::Thickness(_) | Handle::Width(_) => String::new(),
    }
}

/// How many marks are laid, and which comes now.
pub fn laid(n_laid: usize, n: usize, now: &str) -> String {
    format!("{n_laid} of {n} laid. Now: {}", lower(now))
}

fn lower(text: &str) -> String {
    let mut chars = text.chars();
    let first: String = chars.next().map(|c| c.to_lowercase().collect()).unwrap_or_default();
    format!("{first}{}", chars.as_str())
}

/// What is selected, once all marks are laid.
pub fn chosen(name: &str) -> String {
    format!("Chosen: {}", lower(name))
}

/// A length with its error, which is never rounded away.
pub fn length(mm: Estimate) -> String {
    format!("{}, ±\u{a0}{}", formats::length(mm.value.round() as i64), formats::length((mm.error.ceil() as i64).max(1)))
}

/// A place of rise with its error.
pub fn index(index: Estimate) -> String {
    format!("{}, ±\u{a0}{}", formats::decimal(index.value, 2), formats::decimal(index.error.max(0.01), 2))
}

/// What a place of rise says.
pub const fn rise(rise: Rise) -> &'static str {
    match rise {
        Rise::Beside => "beside the leaves",
        Rise::Middle => "among the leaves",
        Rise::CantTell => "can't tell",
    }
}

/// What all marks together say, in a line.
pub fn says(what: Marked, says: &Says, ordinal: impl Fn(Option<Id>) -> Option<u32>) -> String {
    match says {
        Says::Length(_, Some(around)) => format!("{} {} around", self::what(what), length(*around)),
        Says::Length(mm, None) => format!("{} {}", self::what(what), length(*mm)),
        Says::Rises(rises) => {
            let one = |(shoot, place, says): &(Option<Id>, Estimate, Rise)| {
                let name = ordinal(*shoot).map_or_else(|| "Rises".to_owned(), |n| format!("Shoot {n} rises"));
                format!("{name} {} ({})", rise(*says), index(*place))
            };
            rises.iter().map(one).collect::<Vec<_>>().join(". ")
        }
    }
}

/// The button that keeps it.
pub fn keep(what: Marked, says: &Says) -> String {
    match says {
        Says::Length(_, Some(mm)) | Says::Length(mm, None) => {
            format!("Keep {}", formats::length(mm.value.round() as i64))
        }
        Says::Rises(_) => format!("Keep the {}", lower(self::what(what))),
    }
}

/// What a record of marks says.
pub fn said(marks: &PhotoMarks) -> String {
    let value = match marks.what {
        Marked::Neck => marks::rises(marks).map(|rises| {
            let rises: Vec<String> =
                rises.iter().map(|(_, at)| format!("{} ({})", rise(Rise::of(*at)), index(*at))).collect();
            format!("rises {}", rises.join(", "))
        }),
        Marked::Width => marks::length_mm(marks).map(|mm| format!("bulb {} around", length(mm.around()))),
        Marked::Height => marks::length_mm(marks).map(|mm| format!("stalk {}", length(mm))),
        Marked::Thickness => marks::length_mm(marks).map(|mm| format!("thickness {}", length(mm))),
    };
    value.map_or_else(|why| format!("marks on a photo: {}", no_number(why)), |value| format!("on a photo: {value}"))
}

/// Growth between two photos, to hundredths of a centimetre or an inch a day.
pub fn grown(what: Marked, from: Date, to: Date, a_day: Estimate, today: Date) -> String {
    let hundredths = |mm: f64| mm * 100.0 / formats::mm_of_unit();
    let value = hundredths(a_day.value.abs()).round();
    let sign = if a_day.value < 0.0 && value > 0.0 { "-" } else { "" };
    let error = hundredths(a_day.error).ceil().max(1.0);
    let days = from.days_until(to);
    let days = if days == 1 { "1 day".to_owned() } else { format!("{days} days") };
    format!(
        "{} grew {sign}{} {} a day, ±\u{a0}{}, in {days} to {}",
        self::what(what),
        formats::decimal(value / 100.0, 2),
        formats::length_unit(),
        formats::decimal(error / 100.0, 2),
        date_short(to, today)
    )
}

/// Under a photo side by side with others: its day and what was measured on it.
pub fn caption(on: Date, today: Date, said: &[String], scaled: bool) -> String {
    let mut parts = vec![format!("{} ({})", date_short(on, today), days_away(on, today))];
    parts.extend(said.iter().cloned());
    if !scaled {
        parts.push(own_scale().to_owned());
    }
    parts.join(" · ")
}

/// What was kept of a bulb.
pub fn kept(label: &str, says: &str) -> String {
    format!("{label}: {}", lower(says))
}

/// The picture with its marks, for those who do not see it.
pub fn plate(label: &str, laid: &Laid) -> String {
    let n = laid.handles().len();
    format!("Photo of {label} with {n} marks")
}

/// The shade read from two photos, and between what it lies.
pub fn shade(found: &Shade) -> String {
    let (read, least, most) = found.percent();
    let whole = |percent: f64| percent.round().clamp(-999.0, 100.0);
    if read < 0.0 {
        return "This place was lighter than the open. Are the two photos swapped?".to_owned();
    }
    format!("About {} % shade, between {} and {} %.", whole(read), whole(least).max(0.0), whole(most))
}

/// The button that takes it over.
pub fn take_shade(percent: u32) -> String {
    format!("Write {percent} % above")
}

/// What a photo was for, once it is read.
pub fn shade_read(what: &str) -> String {
    format!("{what}: read")
}

/// The same where it tells nothing.
pub fn shade_not_read(what: &str) -> String {
    format!("{what}: not usable")
}

/// Why two photos give no shade.
pub const fn no_shade(why: NoShade) -> &'static str {
    match why {
        NoShade::Clipped => "The card is too bright or too dark in a photo. Take it again, with less or more light.",
        NoShade::Apart => "The card is over a stop brighter in one photo. Let the camera expose for the card.",
        NoShade::Unread => "A file cannot be read as a picture here. Choose a JPEG.",
        NoShade::NoExposure => "A photo does not say how it was exposed. Choose it as the camera made it (JPEG).",
    }
}

/// Why marks give no number: a clause.
pub const fn no_number(why: NoNumber) -> &'static str {
    match why {
        NoNumber::NoScale => "a length needs a card or a ruler in the picture",
        NoNumber::CornersCrossed => "the corners cross or lie on one line; lay them around the card",
        NoNumber::CardTooSmall => "the card is too small in the picture; take one from nearer",
        NoNumber::TooOblique => "the card is seen too much from the side; hold the camera over it",
        NoNumber::NotTheCard => "these are not the corners of a flat bank card; check each",
        NoNumber::RulerTooShort => "lay the ruler's marks further apart and say how far that is",
        NoNumber::BeyondPlane => "a mark lies too far from the card to be measured by it",
        NoNumber::MarksTogether => "both marks are in one place; drag them apart",
        NoNumber::TooRough => "this is too rough for a length; bring the camera nearer to the card",
        NoNumber::OutlineTooShort => "the rim of the neck needs five marks or more",
        NoNumber::NoEllipse => "the rim's marks make no ellipse; lay them all around the neck",
        NoNumber::NoFoot => "mark the foot of a shoot",
        NoNumber::NotLater => "growth needs photos of two days",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ruler_is_asked_for_in_the_unit_chosen() {
        assert_eq!((ruler_label(), ruler_mm("10")), ("Between its marks, cm".to_owned(), Some(100)));
        assert_eq!([ruler_mm(""), ruler_mm("ten"), ruler_mm("-1")], [None; 3]);
        formats::testing::under(formats::testing::american(), || {
            assert_eq!((ruler_label(), ruler_mm("4")), ("Between its marks, inches".to_owned(), Some(102)));
        });
    }

    #[test]
    fn an_error_is_never_rounded_to_nothing() {
        let of = |value, error| length(Estimate { value, error });
        assert_eq!(of(142.4, 5.6), "14.2 cm, ±\u{a0}0.6 cm");
        assert_eq!(of(80.0, 0.2), "8 cm, ±\u{a0}0.1 cm");
        assert_eq!(index(Estimate { value: 0.816, error: 0.002 }), "0.82, ±\u{a0}0.01");
    }

    #[test]
    fn growth_is_told_by_the_day() {
        let day = |text: &str| text.parse::<Date>().unwrap();
        let grew = Estimate { value: 4.04, error: 0.61 };
        let (from, to) = (day("2027-11-20"), day("2027-11-23"));
        let told = grown(Marked::Height, from, to, grew, to);
        assert_eq!(told, "Stalk grew 0.40 cm a day, ±\u{a0}0.07, in 3 days to 23 Nov");
        let told = formats::testing::under(formats::testing::american(), || grown(Marked::Height, from, to, grew, to));
        assert_eq!(told, "Stalk grew 0.16 in a day, ±\u{a0}0.03, in 3 days to Nov 23");
    }
}
