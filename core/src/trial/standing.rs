//! How a try stands: what became of every unit, what may be said of the groups, and what may not yet.
//!
//! A screen shows this and computes nothing. While anything is undecided there are counts and the lowest and highest
//! share, no percentage; a test is made only where the rule has one, when the last day that counts is over and nothing
//! is undecided. Whether someone has closed the try by then changes nothing. Everything else gets the reason why there
//! is none.

mod check;
mod compare;
mod cultivars;
mod notes;
mod shares;
mod units;

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use crate::{
    calendar::Date,
    ledger::{
        Ledger, Register,
        body::{Allotment, AppliedTo, DueWindow, Factor, GoalStage, Rule, RunBody, Tallies, Test, Unit},
        id::Id,
    },
    limits,
    nursery::{Bulb, State, reach::Reach, state::Run},
    trial::{
        lots,
        outcome::{Judged, Outcome, judge},
    },
};

use compare::{clearest, compare, decide};
use shares::{in_time, shares, sum};

pub use compare::{Clearest, Compared, Decided};
pub(in crate::trial) use compare::{Counting, comparable, family_of, oriented, pairs, side_by_side};
pub use cultivars::OfCultivar;
pub use notes::Note;
pub use shares::{Counts, InTime, Reading, Shares};
pub use units::UnitStanding;

/// One group of a run.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GroupStanding {
    /// The treatment.
    pub group: Id,
    /// Its name.
    pub name: String,
    /// Whether it is what the nursery would have done anyway.
    pub control: bool,
    /// Its units in the order in which they were allotted; none when only counts are known.
    pub units: Vec<UnitStanding>,
    /// Counts of every outcome, of units or of the bulbs in them, as the rule counts.
    pub counts: Counts,
    /// The share, or the bounds of it.
    pub shares: Shares,
}

/// Why no test is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum WhyNoTest {
    /// It has not started.
    NotStarted,
    /// The last day that counts has not passed.
    BeforeDeadline(Date),
    /// The rule names no test.
    RuleHasNone,
    /// The rule names a test that does not heed how lots were drawn: in size classes, or for whole containers.
    OtherDesign,
    /// No size class has decided units of both groups.
    NoClassWithBoth,
    /// A treatment was given to whole containers with several bulbs each, and bulbs were drawn singly: the container is
    /// the unit, and nothing says how containers differ.
    ContainersNotDrawn,
    /// Groups were chosen by hand, not drawn.
    ChosenByHand,
    /// Typed in from a notebook.
    TypedIn,
    /// Only one group holds units.
    OneGroup,
    /// A group of a single unit cannot be compared.
    OneUnitAGroup,
    /// Every unit of this group left or is missing.
    NothingLeft(Id),
    /// Two bulbs that were drawn into different groups were said to be one bulb since.
    OneBulbInTwoGroups(Id),
    /// More groups than a try compares.
    TooManyGroups,
    /// Rule or due window or groups were never said.
    NothingSaid,
    /// Two values stand for this register of the run: not evaluated until one is chosen.
    Disagreed(RunRegister),
}

/// A register of a run on which its evaluation rests.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RunRegister {
    /// Trial, start, interval between looks.
    Run,
    /// Success rule.
    Rule,
    /// Due window.
    Window,
    /// Who is in which group.
    Allotment,
    /// Counts from a notebook.
    Tallies,
}

/// The one sentence of a standing, by its parts.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sentence {
    /// Units are waiting.
    StillRunning {
        /// How many.
        n_waiting: u32,
        /// The last day that counts.
        deadline: Date,
    },
    /// The deadline has passed for all, and some can't be said.
    Undecided {
        /// How many.
        n_cant_say: u32,
    },
    /// Counts and intervals, and there will never be a test.
    CountsOnly(WhyNoTest),
    /// All is decided, and the rule's test was made of every pair that is compared: each group against the control, or
    /// all pairs where there is none.
    Decided(Vec<Decided>),
    /// No test, or not yet.
    NoTest(WhyNoTest),
}

/// What would be said under the stage before or after the rule's.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct OtherStage {
    /// The stage.
    pub stage: GoalStage,
    /// Counts by group, in the order of the groups.
    pub counts: Vec<Counts>,
    /// The groups with the greatest share in time of all; none where all have the same.
    pub ahead: Vec<Id>,
}

/// How a run stands on a day.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Standing {
    /// The run.
    pub run: Id,
    /// The rule in force, which stands beside every share.
    pub rule: Option<Rule>,
    /// The due window.
    pub window: Option<DueWindow>,
    /// Whether the last day that counts is over.
    pub deadline_passed: bool,
    /// When it was closed. That changes no outcome, only what is said of bulbs still undecided.
    pub closed: Option<Date>,
    /// Groups in order; none while the run cannot be evaluated.
    pub groups: Vec<GroupStanding>,
    /// All groups together.
    pub total: Counts,
    /// The differences between groups with their intervals, once all is decided and the last day is over.
    pub compared: Vec<Compared>,
    /// The one sentence.
    pub sentence: Sentence,
    /// Of more than two groups the pair that differs most clearly, once there is a verdict.
    pub clearest: Option<Clearest>,
    /// Counts of each cultivar, where the try has more than one.
    pub by_cultivar: Vec<OfCultivar>,
    /// The stage before and after the rule's, where another group comes out ahead.
    pub other_stages: Vec<OtherStage>,
    /// What has to be known beside the result.
    pub notes: Vec<Note>,
}

/// The registers of a run that can be evaluated.
pub(in crate::trial) struct Design<'a> {
    pub(in crate::trial) run: Id,
    pub(in crate::trial) known: &'a Run,
    pub(in crate::trial) body: &'a RunBody,
    pub(in crate::trial) rule: &'a Rule,
    pub(in crate::trial) window: &'a DueWindow,
    pub(in crate::trial) start: Date,
    pub(in crate::trial) members: Members<'a>,
}

/// What is known of who was in which group.
pub(in crate::trial) enum Members<'a> {
    Units(&'a Allotment),
    Counts(&'a Tallies),
}

impl Members<'_> {
    fn n_groups(&self) -> usize {
        match self {
            Self::Units(allotment) => allotment.groups.len(),
            Self::Counts(tallies) => tallies.groups.len(),
        }
    }

    fn groups(&self) -> Vec<Id> {
        match self {
            Self::Units(allotment) => allotment.groups.clone(),
            Self::Counts(tallies) => tallies.groups.iter().map(|tally| tally.group).collect(),
        }
    }
}

/// How a run stands on `today`; nothing when there is no such run.
///
/// # While anything is undecided no test is made
/// ```
/// # use bloomdue_core::{calendar::Date, demo, nursery::State};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let today = Date::new(2027, 11, 20)?;
/// let ledger = demo::generate(demo::SCRIPT, today)?.to_ledger();
/// let state = State::fold(&ledger);
/// use bloomdue_core::trial::standing::{Sentence, standing};
/// for run in state.runs.keys() {
///     let stands = standing(&ledger, &state, *run, today).ok_or("a run")?;
///     assert!(stands.total.n_waiting + stands.total.n_cant_say == 0 || !matches!(stands.sentence, Sentence::Decided(_)));
/// }
/// # Ok(())
/// # }
/// ```
pub fn standing(ledger: &Ledger, state: &State, run: Id, today: Date) -> Option<Standing> {
    let known = state.runs.get(&run)?;
    let design = match Design::of(run, known) {
        Ok(design) => design,
        Err(why) => return Some(Standing::without(run, known, why, today)),
    };
    if let Some(bulb) = design.in_two_groups(state) {
        let why = WhyNoTest::OneBulbInTwoGroups(bulb);
        return Some(Standing::without(run, known, why, today));
    }
    let mut groups = design.groups(state, design.rule, today);
    let total = sum(groups.iter().map(|group| group.counts));
    let undecided = total.n_undecided() > 0;
    let counting = design.counting();
    for group in &mut groups {
        let of_containers: Option<Vec<Counts>> =
            counting.bulbs_in_containers().then(|| group.units.iter().map(|unit| unit.counts).collect());
        let containers = of_containers.as_deref();
        group.shares = shares(&group.counts, containers, design.rule.died, undecided);
    }
    let compared =
        if undecided || !design.may_compare(&groups, today) { Vec::new() } else { compare(&groups, counting) };
    let sentence = design.sentence(state, &groups, &total, today);
    let clearest = match &sentence {
        Sentence::Decided(decided) => clearest(&groups, counting, decided),
        _ => None,
    };
    Some(Standing {
        clearest,
        by_cultivar: cultivars::by_cultivar(state, &groups, counting),
        run,
        rule: Some(design.rule.clone()),
        window: Some(design.window.clone()),
        deadline_passed: today > design.window.to,
        closed: known.closed,
        other_stages: design.other_stages(state, &groups, today),
        notes: notes::notes(&design, ledger, state, &groups, today),
        total,
        compared,
        sentence,
        groups,
    })
}

impl Standing {
    /// How many of one of its groups are in time; nothing where no unit of it is left to speak of.
    pub fn in_time(&self, group: &GroupStanding) -> Option<InTime> {
        in_time(&group.shares, &group.counts, self.rule.as_ref()?.died)
    }

    /// The same of counts that are part of a group's.
    pub fn in_time_of(&self, counts: &Counts) -> Option<InTime> {
        let died = self.rule.as_ref()?.died;
        in_time(&shares(counts, None, died, self.total.n_undecided() > 0), counts, died)
    }

    /// The standing of a run that cannot be evaluated.
    fn without(run: Id, known: &Run, why: WhyNoTest, today: Date) -> Self {
        let window = known.window.settled().cloned();
        Self {
            run,
            rule: known.rule.settled().cloned(),
            deadline_passed: window.as_ref().is_some_and(|window| today > window.to),
            closed: known.closed,
            window,
            groups: Vec::new(),
            total: Counts::default(),
            compared: Vec::new(),
            sentence: Sentence::NoTest(why),
            clearest: None,
            by_cultivar: Vec::new(),
            other_stages: Vec::new(),
            notes: Vec::new(),
        }
    }
}

/// The settled value of a register, or why the run cannot be evaluated.
fn settled<T>(field: &Register<T>, register: RunRegister) -> Result<Option<&T>, WhyNoTest> {
    match field {
        Register::Unset => Ok(None),
        Register::Agreed(value) => Ok(Some(value)),
        Register::Conflict(_) => Err(WhyNoTest::Disagreed(register)),
    }
}

impl<'a> Design<'a> {
    pub(in crate::trial) fn of(run: Id, known: &'a Run) -> Result<Self, WhyNoTest> {
        let allotment = settled(&known.allotment, RunRegister::Allotment)?;
        let tallies = settled(&known.tallies, RunRegister::Tallies)?;
        let body = settled(&known.body, RunRegister::Run)?;
        let rule = settled(&known.rule, RunRegister::Rule)?;
        let window = settled(&known.window, RunRegister::Window)?;
        let members = match (allotment, tallies) {
            (Some(allotment), _) => Members::Units(allotment),
            (None, Some(tallies)) => Members::Counts(tallies),
            (None, None) => return Err(WhyNoTest::NothingSaid),
        };
        if members.n_groups() > limits::GROUPS.max as usize {
            return Err(WhyNoTest::TooManyGroups);
        }
        let (Some(body), Some(rule), Some(window)) = (body, rule, window) else {
            return Err(WhyNoTest::NothingSaid);
        };
        Ok(Self { run, known, body, rule, window, start: known.started.unwrap_or(body.start), members })
    }

    /// What a bulb did in this run. One that has not started saw nothing yet: what the bulb showed belongs to a cycle
    /// before it.
    pub(in crate::trial) fn judge(&self, bulb: &Bulb, rule: &Rule, today: Date) -> Judged {
        if self.known.started.is_none() {
            return Judged { outcome: Outcome::Waiting, reach: Reach::default(), last_look: None };
        }
        judge(bulb, self.start, rule, self.window, today)
    }

    /// A bulb that stands in two groups, because two of the bulbs drawn were said to be one since.
    fn in_two_groups(&self, state: &State) -> Option<Id> {
        let Members::Units(allotment) = &self.members else {
            return None;
        };
        let mut arms: BTreeMap<Id, u32> = BTreeMap::new();
        let mut rows = allotment.units.iter().zip(&allotment.arms);
        let twice = |(unit, arm): &(&Id, &u32)| *arms.entry(state.canonical(**unit)).or_insert(**arm) != **arm;
        rows.find(twice).map(|(unit, _)| state.canonical(*unit))
    }

    fn groups(&self, state: &State, rule: &Rule, today: Date) -> Vec<GroupStanding> {
        let ids = self.members.groups();
        let mut groups: Vec<GroupStanding> = ids
            .iter()
            .map(|group| GroupStanding {
                group: *group,
                name: state.name_of(*group).to_owned(),
                control: state.groups.get(group).and_then(Register::shown).is_some_and(|treatment| treatment.control),
                units: Vec::new(),
                counts: Counts::default(),
                shares: Shares::Nothing,
            })
            .collect();
        match &self.members {
            Members::Units(allotment) => {
                let blocks = allotment.blocks.iter().chain(std::iter::repeat(&0));
                let rows = allotment.units.iter().zip(&allotment.arms).zip(blocks);
                let mut known = BTreeSet::new();
                for ((unit, arm), block) in rows {
                    // Entered twice and drawn into one group twice, it counts once.
                    if !known.insert(state.canonical(*unit)) {
                        continue;
                    }
                    let Some(group) = groups.get_mut(*arm as usize) else {
                        continue;
                    };
                    let unit = units::judge_unit(self, state, *unit, *block, rule, today);
                    group.counts = group.counts.plus(self.counting().of_unit(&unit));
                    group.units.push(unit);
                }
            }
            Members::Counts(tallies) => {
                for (group, tally) in groups.iter_mut().zip(&tallies.groups) {
                    group.counts = Counts {
                        n_in_time: tally.n_in_time,
                        n_not_reached: tally.n_not,
                        n_died: tally.n_died,
                        n_left: tally.n_left,
                        ..Counts::default()
                    };
                }
            }
        }
        groups
    }

    /// What was drawn, what is counted, and how the dead count.
    pub(in crate::trial) fn counting(&self) -> Counting {
        let drawn = match &self.members {
            Members::Units(allotment) => allotment.unit,
            Members::Counts(_) => Unit::Bulb,
        };
        Counting { drawn, counted: self.rule.unit, died: self.rule.died, family: self.rule.family }
    }

    /// Whether a difference may be said at all: not before the last day that counts is over, and not with groups of a
    /// single unit.
    fn may_compare(&self, groups: &[GroupStanding], today: Date) -> bool {
        today > self.window.to && groups.iter().all(|group| group.counts.all() > 1)
    }

    /// Whether a treatment was given to whole containers that hold several of the bulbs which were drawn singly.
    fn containers_not_drawn(&self, state: &State, groups: &[GroupStanding]) -> bool {
        let given_to_containers =
            state.trials.get(&self.body.trial).and_then(|trial| trial.question.shown()).is_some_and(|question| {
                let applied = |factor: &Factor| factor.applied_to == AppliedTo::Container;
                question.factors.iter().any(applied)
            });
        if !given_to_containers || self.counting().by_container() {
            return false;
        }
        let mut held = BTreeSet::new();
        let bulbs = groups.iter().flat_map(|group| &group.units);
        let mut containers =
            bulbs.flat_map(|unit| &unit.bulbs).filter_map(|bulb| state.bulb(bulb)?.container_on(self.start));
        // A container of one bulb is that bulb.
        containers.any(|container| !held.insert(container))
    }

    /// Why this design never gets a test.
    pub(in crate::trial) fn never(&self, state: &State, groups: &[GroupStanding]) -> Option<WhyNoTest> {
        let Members::Units(allotment) = &self.members else {
            return Some(WhyNoTest::TypedIn);
        };
        let filled = groups.iter().filter(|group| !group.units.is_empty());
        let sizes: Vec<usize> = filled.map(|group| group.units.len()).collect();
        if self.body.typed_in || allotment.method == "as recorded" {
            Some(WhyNoTest::TypedIn)
        } else if !lots::is_drawn(&allotment.method) {
            Some(WhyNoTest::ChosenByHand)
        } else if sizes.len() < 2 {
            Some(WhyNoTest::OneGroup)
        } else if sizes.iter().filter(|size| **size > 1).count() < 2 {
            Some(WhyNoTest::OneUnitAGroup)
        } else if self.containers_not_drawn(state, groups) {
            Some(WhyNoTest::ContainersNotDrawn)
        } else {
            None
        }
    }

    /// The test that the way of drawing asks for.
    pub(in crate::trial) fn test(&self) -> Test {
        let blocked = match &self.members {
            Members::Units(allotment) => allotment.blocks.windows(2).any(|pair| pair[0] != pair[1]),
            Members::Counts(_) => false,
        };
        match (self.counting().by_container(), blocked) {
            (true, _) => Test::UnitPermutation,
            (false, true) => Test::ExactConditional,
            (false, false) => Test::Boschloo,
        }
    }

    /// Why there is no test yet.
    fn not_yet(&self, groups: &[GroupStanding], today: Date) -> Option<WhyNoTest> {
        let emptied = |group: &&GroupStanding| matches!(group.shares, Shares::Nothing);
        let n_left = groups.iter().filter(|group| !emptied(group)).count();
        if today <= self.window.to {
            Some(WhyNoTest::BeforeDeadline(self.window.to))
        } else if self.rule.test == Test::None {
            Some(WhyNoTest::RuleHasNone)
        } else if self.rule.test != self.test() {
            Some(WhyNoTest::OtherDesign)
        } else if n_left < 2 {
            let emptied = groups.iter().find(emptied);
            emptied.map(|group| WhyNoTest::NothingLeft(group.group))
        } else {
            None
        }
    }

    fn sentence(&self, state: &State, groups: &[GroupStanding], total: &Counts, today: Date) -> Sentence {
        let counted = matches!(self.members, Members::Counts(_));
        if self.known.started.is_none() && !counted {
            return Sentence::NoTest(WhyNoTest::NotStarted);
        }
        if total.n_waiting > 0 {
            return Sentence::StillRunning { n_waiting: total.n_waiting, deadline: self.window.to };
        }
        if total.n_cant_say > 0 {
            return Sentence::Undecided { n_cant_say: total.n_cant_say };
        }
        if let Some(why) = self.never(state, groups) {
            return Sentence::CountsOnly(why);
        }
        if let Some(why) = self.not_yet(groups, today) {
            return Sentence::NoTest(why);
        }
        let decided = decide(groups, self.counting());
        if decided.is_empty() {
            return Sentence::NoTest(WhyNoTest::NoClassWithBoth);
        }
        Sentence::Decided(decided)
    }

    /// The stages beside the rule's under which another group comes out ahead.
    fn other_stages(&self, state: &State, groups: &[GroupStanding], today: Date) -> Vec<OtherStage> {
        if matches!(self.members, Members::Counts(_)) {
            return Vec::new();
        }
        let marked = groups.iter().flat_map(|group| &group.units).any(|unit| unit.marked_fit);
        let stages: Vec<GoalStage> = GoalStage::ALL
            .iter()
            .copied()
            .filter(|stage| {
                // The mark is a stage of its own only where someone made it.
                *stage != GoalStage::FitToSell || marked || self.rule.stage == *stage
            })
            .collect();
        let Some(at) = stages.iter().position(|stage| *stage == self.rule.stage) else {
            return Vec::new();
        };
        let beside = [at.checked_sub(1), Some(at + 1)];
        let beside = beside.into_iter().flatten().filter_map(|at| stages.get(at));
        let main = ahead(groups);
        beside
            .filter_map(|stage| {
                let rule = Rule { stage: *stage, ..self.rule.clone() };
                let other = self.groups(state, &rule, today);
                let ahead = ahead(&other);
                (ahead != main).then(|| OtherStage {
                    stage: *stage,
                    counts: other.iter().map(|group| group.counts).collect(),
                    ahead,
                })
            })
            .collect()
    }
}

/// The groups with the greatest share in time of all their units, in order; none where all groups have the same, for
/// then none is ahead of another.
fn ahead(groups: &[GroupStanding]) -> Vec<Id> {
    let share = |group: &GroupStanding| (u64::from(group.counts.n_in_time), u64::from(group.counts.all().max(1)));
    let more = |a: (u64, u64), b: (u64, u64)| (a.0 * b.1).cmp(&(b.0 * a.1));
    let Some(best) = groups.iter().map(share).max_by(|a, b| more(*a, *b)) else {
        return Vec::new();
    };
    let is_best = |group: &&GroupStanding| more(share(group), best).is_eq();
    let best: Vec<&GroupStanding> = groups.iter().filter(is_best).collect();
    if best.len() == groups.len() {
        return Vec::new();
    }
    best.into_iter().map(|group| group.group).collect()
}

#[cfg(test)]
mod tests;
