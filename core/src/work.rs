//! Longer work, cut into steps: what can be asked for, how far it is, and what came of it.
//!
//! Where the steps are taken is not decided here. The app takes them off the main thread when the device lets it, else on
//! the page between two pictures; both run the same [`Desk`]. Messages are plain serde types, so that they can cross from
//! one thread to the other as JSON. Nothing here knows the time: whoever runs the desk decides how many steps make a slice.
//!
//! To add a task: a variant of [`Task`], [`Kind`] and [`Done`], and its steps in [`Job`].

use serde::{Deserialize, Serialize};

use crate::evidence::{
    CannotSay, Said,
    hierarchical::{Fit, Priors},
    strata::Stratum,
};
use crate::trial::result::tries::NextTry;

/// Work to do.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Task {
    /// The prediction for the next try, for every pair of groups of one trial: the counts of its tries
    /// ([`crate::trial::result::tries::strata`]).
    NextTries(Vec<Vec<Stratum>>),
}

/// What a task is about: of each kind only the newest is worked on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// [`Task::NextTries`].
    NextTries,
}

impl Task {
    /// What it is about.
    pub fn kind(&self) -> Kind {
        match self {
            Self::NextTries(_) => Kind::NextTries,
        }
    }
}

/// What came of a task.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Done {
    /// For every pair asked about, in that order.
    NextTries(Vec<Said<NextTry>>),
}

/// From the page to where the work is done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
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
#[serde(rename_all = "kebab-case")]
pub enum Told {
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

/// Tasks waiting and in work, in the order in which they came.
#[derive(Default)]
pub struct Desk {
    jobs: Vec<(u64, Job)>,
}

impl Desk {
    /// Takes a message in.
    pub fn hear(&mut self, message: Message) {
        match message {
            Message::Ask { n, task } => {
                let kind = task.kind();
                self.jobs.retain(|(_, job)| job.kind() != kind);
                self.jobs.push((n, Job::new(task)));
            }
            Message::Stop { n } => self.jobs.retain(|(known, _)| *known != n),
        }
    }

    /// True when there is nothing to do.
    pub fn is_idle(&self) -> bool {
        self.jobs.is_empty()
    }

    /// One step of the oldest task; nothing when idle. A step takes some milliseconds.
    pub fn step(&mut self) -> Option<Told> {
        let (n, job) = self.jobs.first_mut()?;
        let n = *n;
        match job.step() {
            Some(done) => {
                self.jobs.remove(0);
                Some(Told::Done { n, done })
            }
            None => Some(Told::Going {
                n,
                permille: job.done_permille(),
            }),
        }
    }
}

/// A task in work.
enum Job {
    NextTries(NextTries),
}

impl Job {
    fn new(task: Task) -> Self {
        match task {
            Task::NextTries(pairs) => Self::NextTries(NextTries::new(pairs)),
        }
    }

    fn kind(&self) -> Kind {
        match self {
            Self::NextTries(_) => Kind::NextTries,
        }
    }

    fn step(&mut self) -> Option<Done> {
        match self {
            Self::NextTries(job) => job.step().map(Done::NextTries),
        }
    }

    fn done_permille(&self) -> u32 {
        match self {
            Self::NextTries(job) => job.done_permille(),
        }
    }
}

/// One pair after the other.
struct NextTries {
    pairs: Vec<Vec<Stratum>>,
    fit: Option<Fit>,
    found: Vec<Said<NextTry>>,
}

impl NextTries {
    fn new(pairs: Vec<Vec<Stratum>>) -> Self {
        Self {
            found: Vec::with_capacity(pairs.len()),
            pairs,
            fit: None,
        }
    }

    fn step(&mut self) -> Option<Vec<Said<NextTry>>> {
        match self.pairs.get(self.found.len()) {
            Some(tries) => match Self::step_of(&mut self.fit, tries) {
                Ok(None) => {}
                Ok(Some(found)) => self.over(Ok(found)),
                Err(why) => self.over(Err(why)),
            },
            None => return Some(std::mem::take(&mut self.found)),
        }
        None
    }

    fn step_of(fit: &mut Option<Fit>, tries: &[Stratum]) -> Said<Option<NextTry>> {
        let fit = match fit {
            Some(fit) => fit,
            None => fit.insert(Fit::new(tries, Priors::DEFAULT)?),
        };
        Ok(fit.step()?.map(|posterior| NextTry::of(&posterior)))
    }

    fn over(&mut self, said: Result<NextTry, CannotSay>) {
        self.found.push(said);
        self.fit = None;
    }

    fn done_permille(&self) -> u32 {
        let n_pairs = u32::try_from(self.pairs.len()).unwrap_or(u32::MAX).max(1);
        let over = u32::try_from(self.found.len())
            .unwrap_or(n_pairs)
            .min(n_pairs);
        let of_this = self.fit.as_ref().map_or(0, Fit::done_permille);
        let thousands = u64::from(over) * 1000 + u64::from(of_this);
        u32::try_from(thousands / u64::from(n_pairs)).map_or(1000, |done| done.min(1000))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evidence::{Reason, Share, hierarchical};

    fn one(x_a: u32, n_a: u32, x_b: u32, n_b: u32) -> Stratum {
        Stratum {
            a: Share::new(x_a, n_a).expect("a"),
            b: Share::new(x_b, n_b).expect("b"),
        }
    }

    fn ask(n: u64, pairs: Vec<Vec<Stratum>>) -> Message {
        let task = Task::NextTries(pairs);
        Message::Ask { n, task }
    }

    /// Runs until nothing is left, and counts the steps. Every message must survive the way through JSON.
    fn run(desk: &mut Desk) -> (Vec<(u64, Done)>, usize) {
        let (mut all, mut before, mut n_steps) = (Vec::new(), 0, 0);
        while let Some(told) = desk.step() {
            n_steps += 1;
            let text = serde_json::to_string(&told).expect("JSON");
            match serde_json::from_str(&text).expect("the same again") {
                Told::Going { permille, .. } => {
                    assert!(before <= permille && permille <= 1000);
                    before = permille;
                }
                Told::Done { n, done } => {
                    all.push((n, done));
                    before = 0;
                }
                other => panic!("{other:?}"),
            }
        }
        assert!(desk.is_idle());
        (all, n_steps)
    }

    #[test]
    fn every_pair_is_answered_in_order_and_as_in_one_go() {
        let pairs = vec![vec![one(3, 9, 0, 0)], vec![one(7, 9, 5, 9)]];
        let mut desk = Desk::default();
        let text = serde_json::to_string(&ask(4, pairs.clone())).expect("JSON");
        desk.hear(serde_json::from_str(&text).expect("a message"));
        let (all, n_steps) = run(&mut desk);
        let [(4, Done::NextTries(found))] = all.as_slice() else {
            panic!("{all:?}");
        };
        // No single step is more than a small part of the work.
        assert!(n_steps > 300, "{n_steps}");
        let [nothing, found] = found.as_slice() else {
            panic!("{found:?}");
        };
        assert_eq!(*nothing, Err(CannotSay(Reason::Confounded)));
        let whole = hierarchical::posterior(&pairs[1], Priors::DEFAULT).expect("a posterior");
        let (found, whole) = (found.expect("an answer"), NextTry::of(&whole));
        // Numbers that have been text may differ in their last digit.
        assert!((found.median - whole.median).abs() < 1e-12);
        assert!((found.a_ahead - whole.a_ahead).abs() < 1e-12);
        desk.hear(ask(5, Vec::new()));
        assert_eq!(run(&mut desk).0, [(5, Done::NextTries(Vec::new()))]);
    }

    #[test]
    fn the_newest_of_a_kind_replaces_the_others_and_what_is_stopped_has_no_answer() {
        let (long, short) = (vec![vec![one(7, 9, 5, 9)]], vec![vec![one(3, 9, 0, 0)]]);
        let mut desk = Desk::default();
        desk.hear(ask(1, long.clone()));
        assert!(matches!(desk.step(), Some(Told::Going { n: 1, .. })));
        desk.hear(ask(2, short));
        let (all, _) = run(&mut desk);
        let numbers: Vec<u64> = all.into_iter().map(|(n, _)| n).collect();
        assert_eq!(numbers, [2]);
        desk.hear(ask(3, long));
        assert!(desk.step().is_some());
        desk.hear(Message::Stop { n: 3 });
        assert!(desk.is_idle() && desk.step().is_none());
    }

    #[test]
    fn counts_that_are_none_are_refused() {
        let text = r#"{"ask":{"n":1,"task":{"next-tries":[[{"a":{"reached":9,"of":3},"b":{"reached":0,"of":3}}]]}}}"#;
        assert!(serde_json::from_str::<Message>(text).is_err());
    }
}
