//! Longer work, cut into steps: what can be asked for, how far it is, and what came of it.
//!
//! Where the steps are taken is not decided here. The app takes them off the main thread when the device lets it, else on
//! the page between two pictures; both run the same [`Scheduler`]. Messages cross from one thread to the other as bytes
//! (`postcard`). Nothing here knows the time: whoever runs the desk decides how many steps make a slice.
//!
//! To add a task: a variant of [`Task`], [`Kind`] and [`Done`], and its part of `Steps`.

use std::{rc::Rc, sync::Arc};

use serde::{Deserialize, Serialize};

use crate::calendar::Date;
use crate::evidence::{
    hierarchical::{Fit, Priors},
    strata::Stratum,
};
use crate::forecast::{self, Ask, Data, Effort, Fitting, Outlook};
use crate::handover::{Rehearsal, Rehearsed, tables};
use crate::ledger::{entry::Entry, id::Id};
use crate::plan::{self, Answer, Choosing, Refusal, Wish};
use crate::sight::{
    Point,
    finder::{self, Grey},
};
use crate::trial::result::{
    design_power::{Drawn, Foreseeing, Foresight, OfGap, Settling, foreseen},
    measures::Measurand,
    pairing::{Pair, PairUnits, Pairing, compared, is_short},
    secondary::{Beside, Others, Overall, Sides, others},
    tries::NextTry,
};

/// Work to do.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Task {
    /// The prediction for the next try of two groups of a trial.
    NextTry {
        /// First group.
        a: Id,
        /// Second group.
        b: Id,
        /// The counts of its tries ([`crate::trial::result::tries::strata`]).
        tries: Vec<Stratum>,
    },
    /// What will be fit to sell and in flower, and when.
    Forecast {
        /// What it is computed from ([`forecast::gather`]).
        data: Box<Data>,
        /// Of the fit ([`Data::seed`]).
        seed: u64,
        /// Which days.
        ask: Ask,
    },
    /// The plan back from a date.
    Plan {
        /// What it is computed from.
        data: Box<Data>,
        /// Of the fit.
        seed: u64,
        /// What is wanted.
        wish: Box<Wish>,
    },
    /// How many bulbs would settle a question.
    Settles {
        /// The share that gaps are counted from, 0 to 1.
        base: f64,
        /// The two groups of which it is asked too what one more try like theirs would add.
        one_more: Option<Box<Drawn>>,
    },
    /// What drawn groups can tell.
    Foresight {
        /// The run; nothing for a try that is being planned.
        run: Option<Id>,
        /// Its groups.
        drawn: Box<Drawn>,
    },
    /// The tests of a run that do not decide.
    Others {
        /// The run.
        run: Id,
        /// Its groups.
        sides: Box<Sides>,
    },
    /// Groups of a run compared unit by unit.
    Pairs {
        /// The run.
        run: Id,
        /// In which measure; nothing for which is faster.
        what: Option<Measurand>,
        /// The pairs.
        pairs: Vec<PairUnits>,
    },
    /// Which treatments to keep, drop or add for a date, and how to share the bulbs out.
    Choices {
        /// What it is computed from.
        data: Box<Data>,
        /// Of the fit.
        seed: u64,
        /// What is wanted.
        wish: Box<Wish>,
        /// What would be done anyway: index into [`Data::treatments`].
        control: Option<u32>,
        /// Seasons to think of, this one included.
        seasons: u32,
    },
    /// Where a card's corners are in a picture.
    FindCard(Grey),
    /// What taking a file in would change.
    Rehearse {
        /// The nursery.
        ledger: Id,
        /// The entries that are here.
        here: Vec<Arc<Entry>>,
        /// The entries that would be taken in.
        new: Vec<Arc<Entry>>,
        /// The civil day.
        today: Date,
    },
    /// All that is recorded as tables.
    Tables {
        /// The nursery.
        ledger: Id,
        /// Its entries.
        entries: Vec<Arc<Entry>>,
        /// The civil day.
        today: Date,
        /// The civil time, as it is written into the dictionary.
        made: String,
    },
}

/// What a task is about: of each kind only the newest is worked on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// [`Task::NextTry`] of these two groups.
    NextTry(Id, Id),
    /// [`Task::Forecast`].
    Forecast,
    /// [`Task::Plan`].
    Plan,
    /// [`Task::Choices`].
    Choices,
    /// [`Task::Settles`] from this share, by its bits.
    Settles(u64),
    /// [`Task::Foresight`] of this run.
    Foresight(Option<Id>),
    /// [`Task::Others`] of this run.
    Others(Id),
    /// [`Task::Pairs`] of this run and measure.
    Pairs(Id, Option<Measurand>),
    /// [`Task::FindCard`].
    FindCard,
    /// [`Task::Rehearse`].
    Rehearse,
    /// [`Task::Tables`].
    Tables,
}

impl Task {
    /// What it is about.
    pub fn kind(&self) -> Kind {
        match self {
            Self::NextTry { a, b, .. } => Kind::NextTry(*a, *b),
            Self::Forecast { .. } => Kind::Forecast,
            Self::Plan { .. } => Kind::Plan,
            Self::Choices { .. } => Kind::Choices,
            Self::Settles { base, .. } => Kind::Settles(base.to_bits()),
            Self::Foresight { run, .. } => Kind::Foresight(*run),
            Self::Others { run, .. } => Kind::Others(*run),
            Self::Pairs { run, what, .. } => Kind::Pairs(*run, *what),
            Self::FindCard(_) => Kind::FindCard,
            Self::Rehearse { .. } => Kind::Rehearse,
            Self::Tables { .. } => Kind::Tables,
        }
    }

    /// What came of it, for work of a moment; nothing when it takes longer.
    pub fn at_once(&self) -> Option<Done> {
        match self {
            Self::Pairs { pairs, .. } if is_short(pairs) => Some(Done::Pairs(compared(pairs.clone()))),
            Self::Foresight { drawn, .. } if drawn.is_short() => Some(Done::Foresight(foreseen((**drawn).clone()))),
            Self::Others { sides, .. } if sides.is_short() => {
                let (pairs, overall) = others((**sides).clone());
                Some(Done::Others { pairs, overall })
            }
            _ => None,
        }
    }
}

/// What came of a task.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Done {
    /// Of [`Task::NextTry`].
    NextTry(crate::evidence::Result<NextTry>),
    /// Of [`Task::Forecast`].
    Forecast(Box<Outlook>),
    /// Of [`Task::Plan`].
    Plan(Box<Answer>),
    /// Of [`Task::Choices`].
    Choices(Box<Result<plan::NextTry, Refusal>>),
    /// Of [`Task::FindCard`]: in the pixels of its picture; nothing where none was found.
    Card(Option<[Point; 4]>),
    /// Of [`Task::Rehearse`].
    Rehearsed(Box<Rehearsed>),
    /// Of [`Task::Tables`]: the archive.
    Tables(Vec<u8>),
    /// Of [`Task::Settles`].
    Settles {
        /// Gap by gap; [`Settles::of`](crate::trial::result::design_power::Settles::of) names the numbers.
        found: Vec<[crate::evidence::Result<u32>; 2]>,
        /// What one more try would add; empty where it was not asked.
        one_more: Vec<OfGap>,
    },
    /// Of [`Task::Foresight`].
    Foresight(Vec<Foresight>),
    /// Of [`Task::Others`].
    Others {
        /// Pair by pair.
        pairs: Vec<Beside>,
        /// All groups at once, where there are more than two.
        overall: Option<Overall>,
    },
    /// Of [`Task::Pairs`].
    Pairs(Vec<Pair>),
}

/// From the page to where the work is done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Message {
    /// Do this. An unfinished task of the same kind is dropped without an answer.
    Ask {
        /// The number that answers carry.
        n: u64,
        /// What to do.
        task: Task,
    },
    /// The answer is not wanted any more; there will be none.
    Stop {
        /// The number it was asked under.
        n: u64,
    },
}

/// From where the work is done to the page.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Update {
    /// Messages are heard from now on.
    Ready,
    /// Still at it.
    Going {
        /// The number it was asked under.
        n: u64,
        /// How far it is, 0 to 1000. It never goes back.
        permille: u32,
    },
    /// Finished.
    Done {
        /// The number it was asked under.
        n: u64,
        /// What came of it.
        done: Done,
    },
    /// The program itself failed there, in its own words.
    Failed(String),
}

impl Message {
    /// As bytes.
    pub fn to_bytes(&self) -> Vec<u8> {
        to_bytes(self)
    }

    /// From bytes; nothing when they are no message.
    pub fn of_bytes(bytes: &[u8]) -> Option<Self> {
        of_bytes(bytes)
    }
}

impl Update {
    /// As bytes.
    pub fn to_bytes(&self) -> Vec<u8> {
        to_bytes(self)
    }

    /// From bytes; nothing when they are no message.
    pub fn of_bytes(bytes: &[u8]) -> Option<Self> {
        of_bytes(bytes)
    }
}

fn to_bytes(message: &impl Serialize) -> Vec<u8> {
    // Only a list that does not know its length cannot be written, and no message holds one.
    postcard::to_allocvec(message).unwrap_or_default()
}

fn of_bytes<'a, T: Deserialize<'a>>(bytes: &'a [u8]) -> Option<T> {
    match postcard::take_from_bytes(bytes) {
        Ok((message, [])) => Some(message),
        _ => None,
    }
}

/// Tasks waiting and in work, in the order in which they came.
#[derive(Default)]
pub struct Scheduler {
    jobs: Vec<Job>,
    /// The last fit: a date that is moved asks about the same records again, and only the fit takes long.
    fitted: Option<Rc<Fitted>>,
}

/// A fit with all that it follows from.
struct Fitted {
    data: Data,
    seed: u64,
    fit: forecast::Fit,
}

/// A task in work.
struct Job {
    n: u64,
    kind: Kind,
    steps: Steps,
}

/// What is left of a task to do.
enum Steps {
    NextTry(crate::evidence::Result<Box<Fit>>),
    OfFit(Box<OfFit>),
    Pairs(Pairing),
    Settles(Box<SettlesThen>),
    Foresight(Foreseeing),
    Others(Others),
    FindCard(Grey),
    Rehearse(Box<Rehearsal>),
    Tables(Id, Vec<Arc<Entry>>, Date, String),
}

/// What would settle a question, then what one more try would add.
struct SettlesThen {
    settling: Settling,
    found: Option<Vec<[crate::evidence::Result<u32>; 2]>>,
    one_more: Option<Foreseeing>,
}

impl SettlesThen {
    fn step(&mut self) -> Option<Done> {
        if self.found.is_none() {
            self.found = self.settling.step();
            return None;
        }
        let one_more = match &mut self.one_more {
            None => Vec::new(),
            Some(foreseeing) => {
                let of_pair = foreseeing.step()?.into_iter().next();
                of_pair.map_or_else(Vec::new, |pair| pair.gaps)
            }
        };
        let found = self.found.take().unwrap_or_default();
        Some(Done::Settles { found, one_more })
    }

    /// The last tenth is the pair.
    fn done_permille(&self) -> u32 {
        let pair = self.one_more.as_ref().map_or(0, Foreseeing::done_permille);
        match self.found {
            None => self.settling.done_permille() * 9 / 10,
            Some(_) => 900 + pair / 10,
        }
    }
}

/// Work that a fit comes before: the fit in many steps, or the one that is kept, then what is shown of it.
struct OfFit {
    data: Data,
    seed: u64,
    fitting: Option<Fitting>,
    fitted: Option<Rc<Fitted>>,
    then: Then,
}

/// What a fit is for.
enum Then {
    Outlook(Ask),
    Plan(Wish),
    Choices(Result<Box<Choosing>, Refusal>),
}

impl OfFit {
    fn new(data: Data, seed: u64, then: Then) -> Self {
        Self { data, seed, fitting: None, fitted: None, then }
    }

    fn step(&mut self, kept: &mut Option<Rc<Fitted>>) -> Option<Done> {
        if let Some(fitted) = &self.fitted {
            return self.then.step(fitted);
        }
        if self.fitting.is_none() {
            let same = |kept: &&Rc<Fitted>| kept.seed == self.seed && kept.data == self.data;
            self.fitted = kept.as_ref().filter(same).cloned();
            if self.fitted.is_some() {
                return None;
            }
        }
        let begin = || Fitting::new(&self.data, self.seed, Effort::full(&self.data));
        let fitting = self.fitting.get_or_insert_with(begin);
        if let Some(fit) = fitting.step(&self.data) {
            let fitted = Rc::new(Fitted { data: self.data.clone(), seed: self.seed, fit });
            *kept = Some(Rc::clone(&fitted));
            self.fitted = Some(fitted);
        }
        None
    }

    /// The last tenth is what comes after the fit.
    fn done_permille(&self) -> u32 {
        let (fit, then) = match (&self.fitted, &self.fitting) {
            (Some(_), _) => (1.0, self.then.done()),
            (None, Some(fitting)) => (fitting.done(), 0.0),
            (None, None) => (0.0, 0.0),
        };
        (fit * 900.0 + then * 100.0) as u32
    }
}

impl Then {
    fn step(&mut self, fitted: &Fitted) -> Option<Done> {
        let Fitted { data, fit, .. } = fitted;
        match self {
            Self::Outlook(ask) => Some(Done::Forecast(Box::new(forecast::outlook(data, fit, ask)))),
            Self::Plan(wish) => {
                Some(Done::Plan(Box::new(Answer { plan: plan::plan(data, fit, wish), sampling: fit.sampling })))
            }
            Self::Choices(Err(why)) => Some(Done::Choices(Box::new(Err(*why)))),
            Self::Choices(Ok(choosing)) => choosing.step(data, fit).map(|next| Done::Choices(Box::new(next))),
        }
    }

    fn done(&self) -> f64 {
        match self {
            Self::Choices(Ok(choosing)) => choosing.done(),
            _ => 0.0,
        }
    }
}

impl Scheduler {
    /// Takes a message in.
    pub fn hear(&mut self, message: Message) {
        match message {
            Message::Ask { n, task } => {
                let kind = task.kind();
                self.jobs.retain(|job| job.kind != kind);
                let steps = Steps::of(task);
                self.jobs.push(Job { n, kind, steps });
            }
            Message::Stop { n } => self.jobs.retain(|job| job.n != n),
        }
    }

    /// True when there is nothing to do.
    pub fn is_idle(&self) -> bool {
        self.jobs.is_empty()
    }

    /// One step of the oldest task; nothing when idle. A step takes some milliseconds.
    pub fn step(&mut self) -> Option<Update> {
        let job = self.jobs.first_mut()?;
        let n = job.n;
        match job.steps.step(&mut self.fitted) {
            Some(done) => {
                self.jobs.remove(0);
                Some(Update::Done { n, done })
            }
            None => Some(Update::Going { n, permille: job.steps.done_permille() }),
        }
    }
}

impl Steps {
    fn of(task: Task) -> Self {
        match task {
            Task::NextTry { tries, .. } => Self::NextTry(Fit::new(&tries, Priors::DEFAULT).map(Box::new)),
            Task::Forecast { data, seed, ask } => Self::of_fit(*data, seed, Then::Outlook(ask)),
            Task::Plan { data, seed, wish } => Self::of_fit(*data, seed, Then::Plan(*wish)),
            Task::Choices { data, seed, wish, control, seasons } => {
                let choosing = Choosing::new(&data, &wish, control, seasons).map(Box::new);
                Self::of_fit(*data, seed, Then::Choices(choosing))
            }
            Task::Pairs { pairs, .. } => Self::Pairs(Pairing::new(pairs)),
            Task::Settles { base, one_more } => Self::Settles(Box::new(SettlesThen {
                settling: Settling::new(base),
                found: None,
                one_more: one_more.map(|drawn| Foreseeing::new(*drawn)),
            })),
            Task::Foresight { drawn, .. } => Self::Foresight(Foreseeing::new(*drawn)),
            Task::Others { sides, .. } => Self::Others(Others::new(*sides)),
            Task::FindCard(grey) => Self::FindCard(grey),
            Task::Rehearse { ledger, here, new, today } => {
                Self::Rehearse(Box::new(Rehearsal::new(ledger, here, new, today)))
            }
            Task::Tables { ledger, entries, today, made } => Self::Tables(ledger, entries, today, made),
        }
    }

    fn of_fit(data: Data, seed: u64, then: Then) -> Self {
        Self::OfFit(Box::new(OfFit::new(data, seed, then)))
    }

    fn step(&mut self, kept: &mut Option<Rc<Fitted>>) -> Option<Done> {
        match self {
            Self::NextTry(Err(why)) => Some(Done::NextTry(Err(*why))),
            Self::NextTry(Ok(fit)) => match fit.step() {
                Ok(found) => found.map(|posterior| Done::NextTry(Ok(NextTry::of(&posterior)))),
                Err(why) => Some(Done::NextTry(Err(why))),
            },
            Self::OfFit(work) => work.step(kept),
            Self::Pairs(pairing) => pairing.step().map(Done::Pairs),
            Self::Settles(settling) => settling.step(),
            Self::Foresight(foreseeing) => foreseeing.step().map(Done::Foresight),
            Self::Others(others) => {
                let (pairs, overall) = others.step()?;
                Some(Done::Others { pairs, overall })
            }
            Self::FindCard(grey) => Some(Done::Card(finder::find(grey))),
            Self::Rehearse(rehearsal) => {
                let found = rehearsal.step()?;
                Some(Done::Rehearsed(Box::new(found)))
            }
            Self::Tables(ledger, entries, today, made) => {
                Some(Done::Tables(tables::of_entries(*ledger, entries, *today, made)))
            }
        }
    }

    fn done_permille(&self) -> u32 {
        match self {
            Self::NextTry(fit) => fit.as_ref().map_or(1000, |fit| fit.done_permille()),
            Self::OfFit(work) => work.done_permille(),
            Self::Pairs(pairing) => pairing.done_permille(),
            Self::Settles(settling) => settling.done_permille(),
            Self::Foresight(foreseeing) => foreseeing.done_permille(),
            Self::Others(others) => others.done_permille(),
            Self::FindCard(_) | Self::Tables(..) => 0,
            Self::Rehearse(rehearsal) => rehearsal.done_permille(),
        }
    }
}

#[cfg(test)]
mod tests;
