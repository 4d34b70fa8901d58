//! Shares of groups side by side: a mark and its interval, or the stretch that is still possible.

use bloomdue_core::trial::standing::InTime;

use super::{Scale, mark_path, percent, u};
use crate::results as say;

/// Height of one line's picture.
pub const HEIGHT: f64 = 30.0;
const AXIS: [f64; 3] = [0.0, 0.5, 1.0];

/// One group's line.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Name of the group.
    pub name: String,
    /// Lower end, 0 to 1.
    pub lower: f64,
    /// Upper end, 0 to 1.
    pub upper: f64,
    /// In time and of how many, once decided.
    pub share: Option<(u32, u32)>,
    /// How many are in time or can still come to be.
    pub in_time: Option<InTime>,
    /// Its place among the groups, from 0.
    pub nth: usize,
}

impl Line {
    /// Its name and share.
    pub fn name_and_share(&self) -> String {
        say::name_and_share(&self.name, self.share)
    }

    /// What its picture shows.
    pub fn in_words(&self) -> String {
        say::share_in_words(self.lower, self.upper, self.share.is_some())
    }

    /// The number beside its picture.
    pub fn number(&self) -> String {
        say::beside_share(self.in_time)
    }

    /// Where its line begins and ends and where its mark stands, as parts of a picture's whole width.
    pub fn parts(&self) -> (String, String, Option<String>) {
        let share = self.share.filter(|(_, of)| *of > 0);
        let mark = share.map(|(reached, of)| percent(f64::from(reached) / f64::from(of)));
        (percent(self.lower), percent(self.upper), mark)
    }

    /// Its picture of [`super::WIDTH`] by [`HEIGHT`]: outlines with their classes.
    pub fn paths(&self) -> Vec<(&'static str, String)> {
        let scale = Scale::new(0.0, 1.0);
        let (from, to) = (u(scale.x(self.lower)), u(scale.x(self.upper)));
        let grid = AXIS.map(|share| format!("M{} 0V30", u(scale.x(share))));
        // While something is undecided a broken line shows what is still possible.
        let class = if self.share.is_some() { "ln thick" } else { "ln thick broken" };
        let mut paths = vec![
            ("ln tick", grid.concat()),
            (class, format!("M{from} 15H{to}")),
            ("ln", format!("M{from} 10v10M{to} 10v10")),
        ];
        if let Some((reached, of)) = self.share.filter(|(_, of)| *of > 0) {
            let x = scale.x(f64::from(reached) / f64::from(of));
            paths.push(mark_path(self.nth, x, HEIGHT / 2.0, 6.0));
        }
        paths
    }
}

/// What stands under the pictures: where, how it is set, and the words.
pub fn axis_words() -> Vec<(f64, &'static str, String)> {
    let words = [say::none(), say::half(), say::all()].map(str::to_owned);
    let set = ["start", "middle", "end"];
    let scale = Scale::new(0.0, 1.0);
    let places = AXIS.into_iter().zip(set).zip(words);
    places.map(|((share, set), words)| (scale.x(share), set, words)).collect()
}
