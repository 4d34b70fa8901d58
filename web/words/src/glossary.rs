//! What the words mean: those of the trade and those of the program, each in a sentence or two.

use strum::{IntoStaticStr, VariantArray};

use crate::formats;

labels! {
    title = "What the words mean";
    under = "Of the trade, of trying, and of this program.";
    of_the_trade = "Bulbs and stalks";
    of_trying = "Trying and counting";
    of_records = "Records and files";
    sources = "How strong a source is";
    sources_under =
        "Trial, then extension service, trade page, single report, common practice: from the strongest to the weakest.";
}

/// A word that is explained.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, IntoStaticStr, VariantArray)]
#[strum(serialize_all = "kebab-case")]
#[allow(missing_docs, reason = "each is the word that it explains")]
pub enum Term {
    Neck,
    BasalPlate,
    Tunic,
    Offset,
    Stalk,
    BudSheath,
    Floret,
    Blind,
    Rest,
    CutBack,
    PotUp,
    Forcing,
    FitToForce,
    FitToSell,
    FirstFlowerOpen,
    Over,
    Circumference,
    Cultivar,
    Lot,
    ShadeCloth,
    Trial,
    Try,
    Group,
    DoneAnyway,
    DrawingLots,
    SizeClass,
    DueDays,
    InTime,
    StillWaiting,
    CantSay,
    GoneOut,
    TimesInTen,
    Interval,
    ToldApart,
    SameAgain,
    Record,
    Walk,
    Look,
    Call,
    CarePlan,
    Batch,
    HandOverFile,
    TakeIn,
    Disagreement,
    TakeBack,
}

/// The words by what they are about.
pub const PARTS: [(&str, &[Term]); 3] = [
    (
        of_the_trade(),
        &[
            Term::Neck,
            Term::BasalPlate,
            Term::Tunic,
            Term::Offset,
            Term::Stalk,
            Term::BudSheath,
            Term::Floret,
            Term::Blind,
            Term::Rest,
            Term::CutBack,
            Term::PotUp,
            Term::Forcing,
            Term::FitToForce,
            Term::FitToSell,
            Term::FirstFlowerOpen,
            Term::Over,
            Term::Circumference,
            Term::Cultivar,
            Term::Lot,
            Term::ShadeCloth,
        ],
    ),
    (
        of_trying(),
        &[
            Term::Trial,
            Term::Try,
            Term::Group,
            Term::DoneAnyway,
            Term::DrawingLots,
            Term::SizeClass,
            Term::DueDays,
            Term::InTime,
            Term::StillWaiting,
            Term::CantSay,
            Term::GoneOut,
            Term::TimesInTen,
            Term::Interval,
            Term::ToldApart,
            Term::SameAgain,
        ],
    ),
    (
        of_records(),
        &[
            Term::Record,
            Term::Walk,
            Term::Look,
            Term::Call,
            Term::CarePlan,
            Term::Batch,
            Term::HandOverFile,
            Term::TakeIn,
            Term::Disagreement,
            Term::TakeBack,
        ],
    ),
];

impl Term {
    /// Every word.
    pub const ALL: &'static [Self] = <Self as VariantArray>::VARIANTS;

    /// Its key in addresses.
    pub fn key(self) -> &'static str {
        self.into()
    }

    /// The word with this key.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|term| term.key() == key)
    }
}

/// The word itself.
pub fn word(term: Term) -> &'static str {
    match term {
        Term::Neck => "neck",
        Term::BasalPlate => "basal plate",
        Term::Tunic => "tunic",
        Term::Offset => "offset",
        Term::Stalk => "stalk",
        Term::BudSheath => "bud sheath",
        Term::Floret => "floret",
        Term::Blind => "blind",
        Term::Rest => "rest",
        Term::CutBack => "cut back",
        Term::PotUp => "pot up",
        Term::Forcing => "forcing",
        Term::FitToForce => "fit to force",
        Term::FitToSell => "fit to sell",
        Term::FirstFlowerOpen => "first flower open",
        Term::Over => "over",
        Term::Circumference => "around",
        Term::Cultivar => "cultivar",
        Term::Lot => "lot",
        Term::ShadeCloth => "shade cloth 70 %",
        Term::Trial => "trial",
        Term::Try => "try",
        Term::Group => "group",
        Term::DoneAnyway => "done anyway",
        Term::DrawingLots => "drawing lots",
        Term::SizeClass => "class",
        Term::DueDays => "due days",
        Term::InTime => "in time",
        Term::StillWaiting => "still waiting",
        Term::CantSay => "can't say",
        Term::GoneOut => "gone out",
        Term::TimesInTen => "8 times in 10",
        Term::Interval => "likely between",
        Term::ToldApart => "told apart",
        Term::SameAgain => "same again",
        Term::Record => "record",
        Term::Walk => "walk",
        Term::Look => "look",
        Term::Call => "call",
        Term::CarePlan => "care plan",
        Term::Batch => "batch",
        Term::HandOverFile => "hand-over file",
        Term::TakeIn => "take in",
        Term::Disagreement => "disagreement",
        Term::TakeBack => "take back",
    }
}

/// What it means.
pub fn meaning(term: Term) -> String {
    let words = match term {
        Term::Neck => "The narrow top of the bulb, where leaves and stalks come out.",
        Term::BasalPlate => "The hard disc under the bulb that the roots grow from. Soft is bad.",
        Term::Tunic => "The dry brown skin around the bulb.",
        Term::Offset => "A daughter bulb at the side of its mother.",
        Term::Stalk => "What carries the flowers; botanists call it the scape.",
        Term::BudSheath => "The two papery leaves that close the bud until it opens.",
        Term::Floret => "One single flower of a stalk.",
        Term::Blind => "A bulb that ends its season without a stalk. Its next rest begins a new count.",
        Term::Rest => "The dry weeks between two seasons, mostly cool and dark, without leaves.",
        Term::CutBack => "Taking off the leaves once they have died back.",
        Term::PotUp => "Into a pot with fresh mix, at the end of the rest.",
        Term::Forcing => "Bringing a bulb into flower for a day of your choice.",
        Term::FitToForce => "Likely strong enough to flower again after a rest. A rule of thumb; you decide.",
        Term::FitToSell => {
            return format!(
                "The stage at which a pot leaves you. You say when, on the bulb's page; forecasts take a stalk of {} to {} with its sheath closed (common practice).",
                formats::about_number(100),
                formats::about(200)
            );
        }
        Term::FirstFlowerOpen => "The first flower of a stalk has opened. Due days are mostly meant for it.",
        Term::Over => "The last flower has faded.",
        Term::Circumference => "The length of a tape once around the thickest part of the bulb; the trade's size.",
        Term::Cultivar => "The kind by its name.",
        Term::Lot => "Bulbs that came or grew together, so that they are alike.",
        Term::ShadeCloth => "Cloth that keeps 70 % of the light out.",
        Term::Trial => "A question with ways to compare. It holds one or more tries.",
        Term::Try => "One round of a trial, with its own bulbs and due days.",
        Term::Group => "The bulbs of a try that are all treated in one way.",
        Term::DoneAnyway => {
            "The group that gets what you would have done without a trial. The others are compared with it."
        }
        Term::DrawingLots => "Chance decides which bulb comes into which group, so that no one's eye does.",
        Term::SizeClass => {
            "Bulbs of one cultivar and about one size. Lots are drawn within it, so that every group gets some of each."
        }
        Term::DueDays => "From the first to the last day on which a flower counts as in time.",
        Term::InTime => "It did what you wanted within the due days.",
        Term::StillWaiting => "It has not done so yet, and its days are not over.",
        Term::CantSay => "Nobody looked at the time, so that both may be true. It is counted both ways.",
        Term::GoneOut => "Sold, given away or taken out before it could show.",
        Term::TimesInTen => "Of ten seasons like this one, eight would go so and two would not.",
        Term::Interval => {
            "The share that all such bulbs would have: with this few, anything between the two is likely."
        }
        Term::ToldApart => {
            "The gap between two groups is larger than luck alone makes it in 19 of 20 tries. Said over all tries, it holds however many follow."
        }
        Term::SameAgain => "A further try with the same groups and new bulbs. Tries of one trial are counted together.",
        Term::Record => {
            "One thing that someone saw or did, with its day. Records are never changed, only corrected by a newer one."
        }
        Term::Walk => "Through a place bulb by bulb, saying what each shows today.",
        Term::Look => "What one bulb showed on one day; “nothing yet” is a look too.",
        Term::Call => "Your guess whether a green tip is a stalk or a leaf, before it is plain.",
        Term::CarePlan => "Jobs that come again by themselves, for the nursery, a place or a group.",
        Term::Batch => "Bulbs of a plan that are laid down and potted on the same days.",
        Term::HandOverFile => "One file with all records, to carry them to another phone or keep as a copy.",
        Term::TakeIn => "Adding the records of a file to those here. It can be undone.",
        Term::Disagreement => "Two records that can't both be true. You say which one stands; both are kept.",
        Term::TakeBack => "Saying that a record should not count. It stays in the list, struck through.",
    };
    words.to_owned()
}

/// `What does “blind” mean?`
pub fn ask(term: Term) -> String {
    format!("What does “{}” mean?", word(term))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_stands_in_one_part() {
        let listed: Vec<Term> = PARTS.iter().flat_map(|(_, terms)| terms.iter().copied()).collect();
        assert_eq!(listed.len(), Term::ALL.len());
        for term in Term::ALL {
            assert!(listed.contains(term), "{}", term.key());
            assert_eq!(Term::from_key(term.key()), Some(*term));
        }
    }
}
