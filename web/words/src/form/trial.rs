//! What the steps of a new try have gathered so far, as typed; kept as a draft and turned into core's command at the end.

use bloomdue_core::calendar::Date;
use bloomdue_core::forecast::{Wanted, Window};
use bloomdue_core::ledger::body::{
    AppliedTo, CareJob, DiedAs, DueDays, DueWindow, Factor, Family, Goal, GoalStage, Level, Rule, Tally, Test, Unit,
};
use bloomdue_core::ledger::id::{Id, Ids, Noun};
use bloomdue_core::nursery::State;
use bloomdue_core::plan::spend::log::Said;
use bloomdue_core::plan::{Now, Proposed, jobs_of_group};
use bloomdue_core::record::{Allot, GroupPlan, PlanTry, TrialChoice};
use bloomdue_core::trial::result::design_power::Planned;
use bloomdue_core::trial::treated::{self, Treated};
use bloomdue_core::trial::{choose, ready::Ready};
use bloomdue_core::{json, units};
use serde::{Deserialize, Serialize};

use super::{Problem, day, digits, number, refused, whole};
use crate::trials as say;
use bloomdue_core::error::Field;

/// How bulbs come into groups.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum How {
    /// By lot.
    Draw,
    /// By hand.
    ByHand,
    /// From a notebook, bulb by bulb.
    Recorded,
    /// From a notebook, counts only.
    Counts,
}

/// A group as typed.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct GroupTyped {
    pub name: String,
    /// How much, where the factor has a unit.
    pub value: String,
    pub control: bool,
    /// In time, not, died, left: from a notebook.
    pub counts: [String; 4],
}

/// A chosen unit with what the draw and the hand need of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Chosen {
    pub unit: Id,
    pub size_mm: i64,
    /// Group when placed by hand or from a notebook.
    pub arm: Option<u32>,
}

/// Everything typed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Plan {
    pub step: usize,
    pub again: Option<Id>,
    pub ready: String,
    pub text: String,
    pub factor: String,
    pub unit: String,
    pub applied_to: AppliedTo,
    pub groups: Vec<GroupTyped>,
    pub goal: Goal,
    pub stage: GoalStage,
    pub died: DiedAs,
    pub counted: Unit,
    pub from: String,
    pub to: String,
    pub name: String,
    pub every_days: String,
    pub start: String,
    pub chosen: Vec<Chosen>,
    pub how: How,
    pub classes: Option<bool>,
    /// Whether the window is counted in days from the start.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub from_start: bool,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub from_days: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub to_days: String,
    /// Whether bulbs that are gone since can be chosen: a try from a notebook.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub gone_too: bool,
    /// Whether every group is compared with every other, once somebody chose.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub all_pairs: Option<bool>,
    /// The day on which a try from a notebook was finished; empty while it is under way.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub finished: String,
    /// The day on which the bulbs are to be potted up, when a plan proposed the try: its jobs come along.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pot_up: Option<Date>,
    /// Since when they rest, when they did as it was proposed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rest_since: Option<Date>,
    /// Key of the draft that proposed it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub begun_in: String,
    /// Bulbs of each group, when a plan proposed them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sizes: Vec<u32>,
    /// What was advised of how to spend the bulbs, when a plan proposed the try.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub said: Option<Said>,
}

/// A trial that a plan proposes.
pub struct Proposal {
    /// The question as a sentence.
    pub question: String,
    /// What the due window is for.
    pub name: String,
    /// What differs, and the groups.
    pub groups: Proposed,
    /// The bulbs.
    pub bulbs: Vec<Id>,
    /// The due window.
    pub window: Window,
    /// The stage that counts in it.
    pub wanted: Wanted,
    /// The day on which they are to be potted up.
    pub pot_up: Option<Date>,
    /// How they stand.
    pub now: Now,
    /// Key of the draft that proposes it.
    pub begun_in: String,
    /// What was advised.
    pub said: Said,
}

impl Plan {
    /// An empty plan, or that of a further try with everything of the last one but bulbs and dates.
    pub fn fresh(again: Option<Id>, state: &State, today: Date) -> Self {
        let mut plan = Self {
            step: 0,
            again,
            ready: String::new(),
            text: String::new(),
            factor: String::new(),
            unit: String::new(),
            applied_to: AppliedTo::Bulb,
            groups: Vec::new(),
            goal: Goal::By,
            stage: GoalStage::FirstFlower,
            died: DiedAs::NotInTime,
            counted: Unit::Bulb,
            from: String::new(),
            to: String::new(),
            name: String::new(),
            every_days: "4".to_owned(),
            start: today.to_string(),
            chosen: Vec::new(),
            how: How::Draw,
            classes: None,
            from_start: false,
            from_days: String::new(),
            to_days: String::new(),
            gone_too: false,
            all_pairs: None,
            finished: String::new(),
            pot_up: None,
            rest_since: None,
            begun_in: String::new(),
            sizes: Vec::new(),
            said: None,
        };
        plan.take_ready(None, today);
        if let Some(trial) = again {
            plan.take_over(trial, state, today);
        }
        plan
    }

    /// Fills in a ready question; none for one's own.
    pub fn take_ready(&mut self, ready: Option<&Ready>, today: Date) {
        let group = |plan: &GroupPlan| GroupTyped {
            name: plan.name.clone(),
            value: plan
                .levels
                .first()
                .and_then(|level| level.value_milli)
                .map(|milli| (milli / 1000).to_string())
                .unwrap_or_default(),
            control: plan.control,
            counts: Default::default(),
        };
        self.pot_up = None;
        match ready {
            Some(ready) => {
                self.ready = ready.key.to_owned();
                self.text = say::ready(ready.key).to_owned();
                self.factor = say::ready_factor(ready.key).to_owned();
                self.unit = ready.unit.to_owned();
                self.applied_to = ready.applied_to;
                let names = ready.groups.iter().map(|group| say::ready_group(ready.key, group.key).to_owned());
                self.groups = ready.group_plans(&self.factor, names).iter().map(group).collect();
                (self.goal, self.stage, self.died) = (ready.goal, ready.stage, ready.died);
                self.every_days = ready.look_interval_days.to_string();
            }
            None => {
                self.ready = String::new();
                self.text = String::new();
                self.factor = String::new();
                self.groups = vec![GroupTyped { control: true, ..GroupTyped::default() }, GroupTyped::default()];
            }
        }
        if let Ok((from, to)) = choose::proposed_window(ready, today) {
            self.from = from.to_string();
            self.to = to.to_string();
        }
    }

    /// A trial proposed by a plan, from its groups on.
    pub fn proposed(proposal: Proposal, state: &State, today: Date) -> Self {
        let mut plan = Self::fresh(None, state, today);
        plan.text = proposal.question;
        plan.factor = proposal.groups.factor;
        proposal.groups.unit.clone_into(&mut plan.unit);
        let group = |(name, value, control): (String, Option<u32>, bool)| GroupTyped {
            name,
            value: value.map(|value| value.to_string()).unwrap_or_default(),
            control,
            counts: Default::default(),
        };
        plan.groups = proposal.groups.groups.into_iter().map(group).collect();
        plan.goal = Goal::InWindow;
        plan.stage = match proposal.wanted {
            Wanted::FitToSell => GoalStage::FitToSell,
            Wanted::InFlower => GoalStage::FirstFlower,
        };
        (plan.from, plan.to) = (proposal.window.from.to_string(), proposal.window.to.to_string());
        plan.begun_in = proposal.begun_in;
        plan.sizes = proposal.groups.sizes;
        plan.said = Some(proposal.said);
        plan.name = proposal.name;
        plan.pot_up = proposal.pot_up;
        plan.rest_since = match proposal.now {
            Now::RestingSince(since) => Some(since),
            Now::InLeaf => None,
        };
        let bulbs = choose::candidates(state, Unit::Bulb, false).into_iter();
        plan.chosen = bulbs
            .filter(|one| one.busy.is_none() && proposal.bulbs.contains(&one.unit))
            .map(|one| Chosen { unit: one.unit, size_mm: one.size_mm, arm: None })
            .collect();
        plan.step = 1;
        plan
    }

    fn take_over(&mut self, trial: Id, state: &State, today: Date) {
        let question = state.trials.get(&trial).and_then(|trial| trial.question.shown());
        if let Some(question) = question {
            self.text = question.text.clone();
            self.ready = question.ready.clone();
            if let Some(factor) = question.factors.first() {
                (self.factor, self.unit) = (factor.name.clone(), factor.unit.clone());
            }
            let group = |group: &Id| GroupTyped {
                name: state.name_of(*group).to_owned(),
                control: state.groups.get(group).and_then(|group| group.shown()).is_some_and(|group| group.control),
                ..GroupTyped::default()
            };
            self.groups = question.groups.iter().map(group).collect();
        }
        if let Some((_, run)) = state.runs_of_trial(trial).last() {
            if let Some(rule) = run.rule.shown() {
                (self.goal, self.stage, self.died, self.counted) = (rule.goal, rule.stage, rule.died, rule.unit);
                // Tries of one trial are taken together in the pairs that each of them declared.
                self.all_pairs = Some(rule.family == Some(Family::AllPairs));
            }
            if let Some(body) = run.body.shown() {
                self.every_days = body.look_interval_days.to_string();
            }
            if let Some((from, to)) = choose::moved_window(run, today) {
                (self.from, self.to) = (from.to_string(), to.to_string());
            }
        }
        self.step = 2;
    }

    pub fn to_bytes(&self) -> Vec<u8> {
        json::to_bytes(self)
    }

    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        json::read_bytes(bytes).ok()
    }

    /// Whether lots are drawn within cultivar and size class.
    pub fn uses_classes(&self) -> bool {
        self.classes.unwrap_or(true)
    }

    /// Whether there is a choice of pairs: more than two groups, one of them as it would be done anyway.
    pub fn may_choose_pairs(&self) -> bool {
        self.groups.len() > 2 && self.control().is_some()
    }

    /// Whether every group is compared with every other. Of three that is one pair more than with the control; of more
    /// groups the pairs grow quickly, and each has to be clearer.
    pub fn compares_all_pairs(&self) -> bool {
        self.all_pairs.unwrap_or(self.groups.len() == 3)
    }

    /// The pairs that are compared; two groups are one pair, of which nothing need be said.
    fn family(&self) -> Option<Family> {
        let is_all = !self.may_choose_pairs() || self.compares_all_pairs();
        (self.groups.len() > 2).then_some(if is_all { Family::AllPairs } else { Family::WithControl })
    }

    fn control(&self) -> Option<usize> {
        self.groups.iter().position(|group| group.control)
    }

    /// What is known of the groups before lots are drawn.
    pub fn planned(&self) -> Planned {
        Planned {
            unit: self.counted,
            units: self.units(),
            classes: self.uses_classes(),
            sizes: self.group_sizes(),
            control: self.control(),
            family: self.family(),
            again: self.again,
            stage: self.stage,
        }
    }

    /// The chosen units.
    pub fn units(&self) -> Vec<Id> {
        self.chosen.iter().map(|chosen| chosen.unit).collect()
    }

    /// Sizes of the groups when lots are drawn: those proposed, the largest with as many more or fewer as there are
    /// bulbs; else as even as can be.
    pub fn group_sizes(&self) -> Vec<usize> {
        let even = || choose::even_sizes(self.chosen.len(), self.groups.len());
        if self.sizes.len() != self.groups.len() {
            return even();
        }
        let mut sizes: Vec<usize> = self.sizes.iter().map(|n| *n as usize).collect();
        let Some(largest) = (0..sizes.len()).max_by_key(|at| sizes[*at]) else {
            return even();
        };
        sizes[largest] = 0;
        let others: usize = sizes.iter().sum();
        sizes[largest] = self.chosen.len().saturating_sub(others);
        let least = sizes.iter().copied().min().unwrap_or(0);
        // Fewer bulbs than it was proposed for: what was to be the crop would be the smallest group.
        if least == 0 || sizes[largest] < sizes.iter().copied().max().unwrap_or(0) { even() } else { sizes }
    }

    /// The command, with a seed of this device for when lots are drawn.
    ///
    /// # Errors
    /// What is not filled in as it must be, beside its field.
    pub fn to_command(&self, today: Date, seed: [u8; 32]) -> Result<PlanTry, Problem> {
        let chosen_day = |field: Field, text: &str| day(field, text, say::choose_day());
        let start = chosen_day(Field::Start, &self.start)?;
        let counted = self.counted()?;
        let (from, to) = match counted {
            Some(counted) => counted.window(start).map_err(|why| refused(Field::Window, &why))?,
            None => {
                let to = chosen_day(Field::Window, &self.to)?;
                let from =
                    if self.goal == Goal::InWindow { chosen_day(Field::Window, &self.from)? } else { start.min(to) };
                (from, to)
            }
        };
        let from_notebook = matches!(self.how, How::Recorded | How::Counts);
        let finished = match self.finished.as_str() {
            "" => None,
            text => Some(chosen_day(Field::Finished, text)?).filter(|_| from_notebook),
        };
        let look_interval_days = number(Field::Looks, &self.every_days)?;
        Ok(PlanTry {
            trial: self.trial()?,
            start,
            look_interval_days,
            rule: Rule {
                goal: self.goal,
                stage: self.stage,
                unit: self.counted,
                died: self.died,
                test: Test::None,
                family: if self.how == How::Draw { self.family() } else { None },
            },
            window: DueWindow { name: self.name.clone(), from, to },
            units: if self.how == How::Counts { Vec::new() } else { self.units() },
            allot: self.allot(seed)?,
            // A start that has not come yet only plans the try; counts from a notebook have no bulbs to start.
            begin: start <= today,
            finished,
            counted,
            jobs: self.jobs(today),
            // Advice is of the groups that were proposed, drawn by lot.
            said: self.said.clone().filter(|said| self.how == How::Draw && said.groups.len() == self.groups.len()),
        })
    }

    /// The jobs of each group: those of its weeks of rest, when a plan proposed the try, and what is to be done
    /// differently. A try from a notebook is over, or under way with it done.
    fn jobs(&self, today: Date) -> Vec<Vec<(String, CareJob)>> {
        let pot_up = self.pot_up.filter(|_| self.unit == "weeks");
        let now = self.rest_since.map_or(Now::InLeaf, Now::RestingSince);
        let of = |group: &GroupTyped| {
            let weeks = units::whole(group.value.trim()).ok();
            let weeks = weeks.and_then(|weeks| u32::try_from(weeks).ok()).zip(pot_up);
            weeks.map_or_else(Vec::new, |(weeks, pot_up)| jobs_of_group(pot_up, now, weeks, today))
        };
        let mut plans: Vec<_> = self.groups.iter().map(of).collect();
        if matches!(self.how, How::Draw | How::ByHand) {
            let group = |group: &GroupTyped| Treated { name: group.name.clone(), control: group.control };
            let groups: Vec<Treated> = self.groups.iter().map(group).collect();
            let jobs = treated::jobs(&self.ready, self.factor_word(), &self.unit, &groups, self.pot_up);
            for (plan, job) in plans.iter_mut().zip(jobs) {
                if let Some(job) = job {
                    treated::put(plan, job);
                }
            }
        }
        plans
    }

    /// The window as days after the start, when it is counted from there.
    fn counted(&self) -> Result<Option<DueDays>, Problem> {
        if !self.from_start {
            return Ok(None);
        }
        let from = if self.goal == Goal::InWindow { whole(Field::Window, &self.from_days)? } else { 0 };
        Ok(Some(DueDays { from, to: whole(Field::Window, &self.to_days)? }))
    }

    /// The days that a window counted from the start comes to.
    pub fn computed(&self) -> Option<(Date, Date)> {
        let counted = self.counted().ok()??;
        counted.window(self.start.parse().ok()?).ok()
    }

    /// What differs, in a word.
    fn factor_word(&self) -> &str {
        if self.factor.trim().is_empty() { say::what_differs_word() } else { &self.factor }
    }

    fn trial(&self) -> Result<TrialChoice, Problem> {
        if let Some(trial) = self.again {
            return Ok(TrialChoice::Again(trial));
        }
        let factor = self.factor_word().to_owned();
        let groups = self.groups.iter().map(|group| {
            let value_milli = match group.value.trim() {
                "" => None,
                text => Some(super::tenths(Field::Treatments, text)? * 100),
            };
            Ok(GroupPlan {
                name: group.name.clone(),
                levels: vec![Level { factor: factor.clone(), text: group.name.clone(), value_milli }],
                control: group.control,
            })
        });
        Ok(TrialChoice::New {
            text: self.text.clone(),
            ready: self.ready.clone(),
            factors: vec![Factor { name: factor.clone(), unit: self.unit.clone(), applied_to: self.applied_to }],
            groups: groups.collect::<Result<_, Problem>>()?,
        })
    }

    fn allot(&self, seed: [u8; 32]) -> Result<Allot, Problem> {
        let arms = || {
            let arms =
                self.chosen.iter().map(|chosen| chosen.arm.ok_or_else(|| Problem::at(Field::Groups, say::place_all())));
            arms.collect::<Result<Vec<u32>, Problem>>()
        };
        Ok(match self.how {
            How::Draw => Allot::Draw { seed, sizes: self.group_sizes(), classes: self.uses_classes() },
            How::ByHand => Allot::ByHand(arms()?),
            How::Recorded => Allot::AsRecorded(arms()?),
            How::Counts => Allot::Counts(self.tallies()?),
        })
    }

    fn tallies(&self) -> Result<Vec<Tally>, Problem> {
        // The groups' ids are given by core when it makes or finds them; this one is never stored.
        let any = Ids::new([0; 32]).draw(Noun::Group);
        let number = |text: &String| if text.trim().is_empty() { Ok(0) } else { digits(Field::Counts, text) };
        let tally = |group: &GroupTyped| {
            Ok(Tally {
                group: any,
                n_in_time: number(&group.counts[0])?,
                n_not: number(&group.counts[1])?,
                n_died: number(&group.counts[2])?,
                n_left: number(&group.counts[3])?,
            })
        };
        self.groups.iter().map(tally).collect()
    }
}
