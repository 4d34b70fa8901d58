//! Every sentence a grower reads and every address of a screen, from typed parts; without a browser, so that all of it is
//! tested on the host.

/// Labels without arguments, a line each: `name = "Words";` makes the function `name`. Sentences that say something of what
/// they are told are functions of their own beside the table.
macro_rules! labels {
    ($($(#[$doc:meta])* $name:ident = $words:literal;)*) => {
        $(
            $(#[$doc])*
            pub const fn $name() -> &'static str {
                $words
            }
        )*

        /// The labels of this part by name.
        pub const LABELS: &[(&str, &str)] = &[$((stringify!($name), $words)),*];
    };
}

pub mod acts;
pub mod bulb;
pub mod call;
pub mod care;
pub mod coming;
pub mod common;
pub mod dates;
pub mod doubts;
pub mod due;
pub mod evening;
pub mod files;
pub mod form;
pub mod formats;
pub mod glossary;
pub mod holidays;
pub mod inspect;
pub mod jobs;
pub mod knowledge;
pub mod labels;
pub mod light;
pub mod measure;
pub mod methods;
pub mod mistakes;
pub mod nursery;
pub mod over_tries;
pub mod places;
pub mod plan;
pub mod plot;
pub mod potting;
pub mod published;
pub mod records;
pub mod refusals;
pub mod report;
pub mod results;
pub mod route;
pub mod same;
pub mod scapes;
pub mod scored;
pub mod sheet;
pub mod show;
pub mod soundness;
pub mod spend;
pub mod start;
pub mod stock;
pub mod table;
pub mod tables;
pub mod told;
pub mod trail;
pub mod trials;
pub mod walk;
pub mod way;
pub mod work;
