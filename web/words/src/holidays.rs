//! Holidays by name, and where Mother's Day falls by which rule.

use bloomdue_core::calendar::Date;
use bloomdue_core::holidays::{Holiday, MothersDay};

use crate::dates::date_short;

labels! {
    title = "For a holiday";
    under = "The last due day becomes the holiday; so many days as before stay due.";
    mothers_day_on = "Mother's Day is on";
}

pub fn holiday(holiday: Holiday) -> &'static str {
    match holiday {
        Holiday::LunarNewYear => "Lunar New Year (China)",
        Holiday::Valentine => "Valentine's Day",
        Holiday::WomensDay => "Women's Day",
        Holiday::Easter => "Easter",
        Holiday::MothersDay => "Mother's Day",
        Holiday::Thanksgiving => "Thanksgiving (US)",
        Holiday::Advent => "First of Advent",
        Holiday::Christmas => "Christmas",
    }
}

/// The rule, and where it is kept so; countries from memory.
pub fn rule(rule: MothersDay) -> &'static str {
    match rule {
        MothersDay::SecondSundayOfMay => "the second Sunday of May (many countries)",
        MothersDay::FourthSundayInLent => "the fourth Sunday in Lent (Britain, Ireland)",
        MothersDay::FirstSundayOfMay => "the first Sunday of May (Spain, Portugal, Hungary)",
        MothersDay::LastSundayOfMay => "the last Sunday of May (Sweden)",
        MothersDay::LastSundayOfMayButWhitsun => "the last Sunday of May, not Whit Sunday (France)",
        MothersDay::SecondSundayOfFebruary => "the second Sunday of February (Norway)",
        MothersDay::ThirdSundayOfOctober => "the third Sunday of October (Argentina)",
        MothersDay::TenthOfMay => "10 May (Mexico)",
        MothersDay::TwentySixthOfMay => "26 May (Poland)",
        MothersDay::TwelfthOfAugust => "12 August (Thailand)",
    }
}

/// `Easter, 28 Mar 2027`
pub fn on(of: Holiday, day: Date, today: Date) -> String {
    format!("{}, {}", holiday(of), date_short(day, today))
}
