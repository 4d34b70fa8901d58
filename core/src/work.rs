//! Longer work, cut into steps: what can be asked for, how far it is, and what came of it.
//!
//! Where the steps are taken is not decided here. The app takes them off the main thread when the device lets it, else on
//! the page between two pictures; both run the same [`Desk`]. Messages cross from one thread to the other as bytes
//! (`crossing`). Nothing here knows the time: whoever runs the desk decides how many steps make a slice.
//!
//! To add a task: a variant of [`Task`], [`Kind`] and [`Done`], its part of `Steps`, and its types in `crossing`.

mod crossing;

use std::rc::Rc;

use crate::evidence::{
    Said,
    hierarchical::{Fit, Priors},
    strata::Stratum,
};
use crate::forecast::{self, Ask, Data, Effort, Fitting, Outlook};
use crate::ledger::id::Id;
use crate::plan::{self, Answer, Choosing, Refusal, Wish};
use crate::trial::result::{
    beside::{Beside, Others, Overall, Sides, others},
    foresight::{Drawn, Foreseeing, Foresight, OfGap, Settling, foreseen},
    measures::Measurand,
    pairing::{Pair, PairUnits, Pairing, compared, is_short},
    tries::NextTry,
};

/// Work to do.
#[derive(Clone, Debug, PartialEq)]
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
    /// What the drawn groups of a run can tell.
    Foresight {
        /// The run.
        run: Id,
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
    /// Which treatments to keep, drop or add for a date.
    Choices {
        /// What it is computed from.
        data: Box<Data>,
        /// Of the fit.
        seed: u64,
        /// What is wanted.
        wish: Box<Wish>,
        /// What would be done anyway: index into [`Data::treatments`].
        control: Option<u32>,
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
    Foresight(Id),
    /// [`Task::Others`] of this run.
    Others(Id),
    /// [`Task::Pairs`] of this run and measure.
    Pairs(Id, Option<Measurand>),
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
        }
    }

    /// What came of it, for work of a moment; nothing when it takes longer.
    pub fn at_once(&self) -> Option<Done> {
        match self {
            Self::Pairs { pairs, .. } if is_short(pairs) => {
                Some(Done::Pairs(compared(pairs.clone())))
            }
            Self::Foresight { drawn, .. } if drawn.is_short() => {
                Some(Done::Foresight(foreseen((**drawn).clone())))
            }
            Self::Others { sides, .. } if sides.is_short() => {
                let (pairs, overall) = others((**sides).clone());
                Some(Done::Others { pairs, overall })
            }
            _ => None,
        }
    }
}

/// What came of a task.
#[derive(Clone, Debug, PartialEq)]
pub enum Done {
    /// Of [`Task::NextTry`].
    NextTry(Said<NextTry>),
    /// Of [`Task::Forecast`].
    Forecast(Box<Outlook>),
    /// Of [`Task::Plan`].
    Plan(Box<Answer>),
    /// Of [`Task::Choices`].
    Choices(Box<Result<plan::NextTry, Refusal>>),
    /// Of [`Task::Settles`].
    Settles {
        /// Gap by gap; [`Settles::of`](crate::trial::result::foresight::Settles::of) names the numbers.
        found: Vec<[Said<u32>; 2]>,
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
#[derive(Clone, Debug, PartialEq)]
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
#[derive(Clone, Debug, PartialEq)]
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
    NextTry(Said<Box<Fit>>),
    OfFit(Box<OfFit>),
    Pairs(Pairing),
    Settles(Box<SettlesThen>),
    Foresight(Foreseeing),
    Others(Others),
}

/// What would settle a question, then what one more try would add.
struct SettlesThen {
    settling: Settling,
    found: Option<Vec<[Said<u32>; 2]>>,
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
        Self {
            data,
            seed,
            fitting: None,
            fitted: None,
            then,
        }
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
            let fitted = Rc::new(Fitted {
                data: self.data.clone(),
                seed: self.seed,
                fit,
            });
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
            Self::Plan(wish) => Some(Done::Plan(Box::new(Answer {
                plan: plan::plan(data, fit, wish),
                sampling: fit.sampling,
            }))),
            Self::Choices(Err(why)) => Some(Done::Choices(Box::new(Err(*why)))),
            Self::Choices(Ok(choosing)) => choosing
                .step(data, fit)
                .map(|next| Done::Choices(Box::new(Ok(next)))),
        }
    }

    fn done(&self) -> f64 {
        match self {
            Self::Choices(Ok(choosing)) => choosing.done(),
            _ => 0.0,
        }
    }
}

impl Desk {
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
    pub fn step(&mut self) -> Option<Told> {
        let job = self.jobs.first_mut()?;
        let n = job.n;
        match job.steps.step(&mut self.fitted) {
            Some(done) => {
                self.jobs.remove(0);
                Some(Told::Done { n, done })
            }
            None => Some(Told::Going {
                n,
                permille: job.steps.done_permille(),
            }),
        }
    }
}

impl Steps {
    fn of(task: Task) -> Self {
        match task {
            Task::NextTry { tries, .. } => {
                Self::NextTry(Fit::new(&tries, Priors::DEFAULT).map(Box::new))
            }
            Task::Forecast { data, seed, ask } => Self::of_fit(*data, seed, Then::Outlook(ask)),
            Task::Plan { data, seed, wish } => Self::of_fit(*data, seed, Then::Plan(*wish)),
            Task::Choices {
                data,
                seed,
                wish,
                control,
            } => {
                let choosing = Choosing::new(&data, &wish, control).map(Box::new);
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
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calendar::Date;
    use crate::evidence::permutation::Scored;
    use crate::evidence::verdict::Groups;
    use crate::evidence::{CannotSay, How, Reason, Share, hierarchical};
    use crate::forecast::Window;
    use crate::nursery::State;
    use crate::testing::id;
    use crate::trial::result::beside::All;
    use crate::trial::result::foresight::{Base, DrawnPair, Settles, settles};

    fn one(x_a: u32, n_a: u32, x_b: u32, n_b: u32) -> Stratum {
        Stratum {
            a: Share::new(x_a, n_a).expect("a"),
            b: Share::new(x_b, n_b).expect("b"),
        }
    }

    /// Asks about group a and another one, as a message that has crossed.
    fn ask(n: u64, other: &str, tries: &[Stratum]) -> Message {
        let task = Task::NextTry {
            a: id("gr_a"),
            b: id(other),
            tries: tries.to_vec(),
        };
        Message::of_bytes(&Message::Ask { n, task }.to_bytes()).expect("a message")
    }

    /// Runs until nothing is left, and counts the steps. Every answer must survive the crossing.
    fn run(desk: &mut Desk) -> (Vec<(u64, Said<NextTry>)>, usize) {
        let (mut all, mut before, mut n_steps) = (Vec::new(), 0, 0);
        while let Some(told) = desk.step() {
            n_steps += 1;
            let crossed = Told::of_bytes(&told.to_bytes()).expect("the same again");
            assert_eq!(crossed, told);
            match crossed {
                Told::Going { permille, .. } => {
                    assert!(before <= permille && permille <= 1000);
                    before = permille;
                }
                Told::Done { n, done } => {
                    let Done::NextTry(found) = done else {
                        panic!("another answer");
                    };
                    all.push((n, found));
                    before = 0;
                }
                other => panic!("{other:?}"),
            }
        }
        assert!(desk.is_idle());
        (all, n_steps)
    }

    #[test]
    fn every_task_is_answered_in_order_and_as_in_one_go() {
        let tries = [one(7, 9, 5, 9)];
        let mut desk = Desk::default();
        desk.hear(ask(4, "gr_b", &[one(3, 9, 0, 0)]));
        desk.hear(ask(5, "gr_c", &tries));
        let (all, n_steps) = run(&mut desk);
        let [(4, nothing), (5, found)] = all.as_slice() else {
            panic!("{all:?}");
        };
        // No single step is more than a small part of the work.
        assert!(n_steps > 300, "{n_steps}");
        assert_eq!(*nothing, Err(CannotSay(Reason::Confounded)));
        let whole = hierarchical::posterior(&tries, Priors::DEFAULT).expect("a posterior");
        let (found, whole) = (found.expect("an answer"), NextTry::of(&whole));
        // Numbers that have been text may differ in their last digit.
        assert!((found.median - whole.median).abs() < 1e-12);
        assert!((found.a_ahead - whole.a_ahead).abs() < 1e-12);
    }

    /// What comes over from the other thread is what is said in one go, and nothing of it is lost on the way.
    #[test]
    fn what_would_settle_and_pairs_are_worked_out_in_steps() {
        let unit = |at: u32| Scored {
            score: f64::from(at * at % 17) / 3.0,
            in_a: at.is_multiple_of(2),
            block: 0,
        };
        let pairs = vec![PairUnits {
            a: id("gr_a"),
            b: id("gr_b"),
            units: Ok((0..130).map(unit).collect()),
            how_much: true,
        }];
        let task = Task::Pairs {
            run: id("ru_1"),
            what: None,
            pairs: pairs.clone(),
        };
        assert_eq!(task.at_once(), None);
        let drawn = drawn_of(30);
        let settle = Task::Settles {
            base: 0.45,
            one_more: Some(Box::new(drawn.clone())),
        };
        let tasks = [settle, task];
        let mut desk = Desk::default();
        for (n, task) in (1..).zip(tasks) {
            let crossed = Message::of_bytes(&Message::Ask { n, task }.to_bytes());
            desk.hear(crossed.expect("a message"));
        }
        let (mut all, mut n_steps) = (Vec::new(), 0);
        while let Some(told) = desk.step() {
            n_steps += 1;
            let crossed = Told::of_bytes(&told.to_bytes()).expect("the same");
            if let Told::Done { done, .. } = crossed {
                all.push(done);
            }
        }
        assert!(n_steps > 100, "{n_steps}");
        let [Done::Settles { found, one_more }, Done::Pairs(of_pairs)] = all.as_slice() else {
            panic!("{all:?}");
        };
        assert_eq!(*one_more, foreseen(drawn)[0].gaps);
        assert_eq!(Settles::of(found), settles(0.45));
        // Every gap of a tenth or more can be settled by so many bulbs, and a wider one by no more than a narrower one.
        let numbers: Vec<u32> = found.iter().flat_map(|two| two[0]).collect();
        assert_eq!(numbers.len(), 9);
        assert!(
            numbers.is_sorted_by(|a, b| a >= b) && numbers[0] > 300,
            "{numbers:?}"
        );
        assert!(found.iter().all(|two| two[1].ok() > two[0].ok()));
        let whole = compared(pairs);
        assert_eq!(*of_pairs, whole);
    }

    /// Two undivided groups of so many bulbs each.
    fn drawn_of(n: u32) -> Drawn {
        Drawn {
            base: Base::Half,
            alpha: 0.05,
            undivided: true,
            by_container: false,
            pairs: vec![DrawnPair {
                a: id("gr_a"),
                b: id("gr_b"),
                classes: vec![(n, n)],
                sides: Some(Groups::Whole(one(0, n, 0, n))),
            }],
        }
    }

    /// Large groups are worked out in steps, whose answer is that of one go, and says where cases were not counted.
    #[test]
    fn large_groups_are_foreseen_and_tested_in_steps() {
        let classes = vec![one(40, 90, 60, 90), one(10, 30, 12, 31)];
        let many = one(2000, 3000, 1900, 3000);
        let sides = Sides {
            pairs: vec![
                (id("gr_a"), id("gr_b"), Groups::Whole(many)),
                (id("gr_a"), id("gr_c"), Groups::Strata(classes)),
            ],
            all: Some(All {
                shares: vec![many.a, many.b, one(5, 9, 0, 0).a],
                scores: Some(("weeks".to_owned(), vec![4.0, 8.0, 12.0])),
            }),
        };
        let (run, drawn) = (id("ru_1"), drawn_of(100));
        let ahead = Task::Foresight {
            run,
            drawn: Box::new(drawn.clone()),
        };
        let beside = Task::Others {
            run,
            sides: Box::new(sides.clone()),
        };
        assert_eq!((ahead.at_once(), beside.at_once()), (None, None));
        let mut desk = Desk::default();
        let (n_steps, found) = answer_of(&mut desk, 1, ahead);
        assert!(n_steps > 14, "{n_steps}");
        assert_eq!(found, Done::Foresight(foreseen(drawn)));
        let (n_steps, done) = answer_of(&mut desk, 2, beside);
        assert_eq!(n_steps, 6);
        let crossed = Told::of_bytes(&Told::Done { n: 2, done }.to_bytes());
        let Some(Told::Done {
            done: Done::Others { pairs, overall },
            ..
        }) = crossed
        else {
            panic!("{crossed:?}");
        };
        assert_eq!((pairs.clone(), overall.clone()), others(sides));
        let hows: Vec<_> = pairs[0].tests.iter().map(|test| test.how).collect();
        let (exact, instead) = (Some(How::Exact), Some(How::FisherMidP));
        assert_eq!(hows, [exact, exact, instead, instead]);
        let overall = overall.expect("three groups");
        assert!(overall.trend_p.is_ok() && overall.freeman_halton_how.is_some());
        // Small ones are not worth the way.
        let few = Task::Foresight {
            run,
            drawn: Box::new(drawn_of(12)),
        };
        assert_eq!(few.at_once(), Some(Done::Foresight(foreseen(drawn_of(12)))));
    }

    #[test]
    fn the_newest_of_a_kind_replaces_the_others_and_what_is_stopped_has_no_answer() {
        let (long, short) = ([one(7, 9, 5, 9)], [one(3, 9, 0, 0)]);
        let mut desk = Desk::default();
        desk.hear(ask(1, "gr_b", &long));
        assert!(matches!(desk.step(), Some(Told::Going { n: 1, .. })));
        desk.hear(ask(2, "gr_b", &short));
        desk.hear(ask(3, "gr_c", &short));
        let (all, _) = run(&mut desk);
        let numbers: Vec<u64> = all.into_iter().map(|(n, _)| n).collect();
        assert_eq!(numbers, [2, 3]);
        desk.hear(ask(4, "gr_b", &long));
        assert!(desk.step().is_some());
        desk.hear(Message::Stop { n: 4 });
        assert!(desk.is_idle() && desk.step().is_none());
    }

    /// A forecast of the demo nursery, as a message that has crossed.
    fn ask_forecast(n: u64, data: &Data, ask: Ask) -> Message {
        let (data, seed) = (Box::new(data.clone()), data.seed());
        let task = Task::Forecast { data, seed, ask };
        Message::of_bytes(&Message::Ask { n, task }.to_bytes()).expect("a message")
    }

    #[test]
    fn a_forecast_in_steps_says_what_it_says_in_one_go_and_can_be_stopped() {
        let data = some_of_the_demo();
        let today = data.today;
        assert_eq!(data.waiting().count(), 6);
        let to = today.add_days(40).expect("a date");
        let window = Some(Window { from: today, to });
        let ask = Ask {
            window,
            days: window,
        };
        let mut desk = Desk::default();
        desk.hear(ask_forecast(1, &data, ask));
        assert!(matches!(desk.step(), Some(Told::Going { n: 1, .. })));
        desk.hear(Message::Stop { n: 1 });
        assert!(desk.is_idle() && desk.step().is_none());
        desk.hear(ask_forecast(2, &data, ask));
        let (mut n_steps, mut before) = (0, 0);
        let found = loop {
            n_steps += 1;
            match desk.step().expect("work") {
                Told::Going { n: 2, permille } => {
                    assert!(before <= permille && permille <= 1000);
                    before = permille;
                }
                Told::Done {
                    n: 2,
                    done: Done::Forecast(found),
                } => break found,
                other => panic!("{other:?}"),
            }
        };
        assert!(n_steps > 100, "{n_steps}");
        let fit = forecast::fit(&data, data.seed(), |_| true).expect("a fit");
        assert_eq!(*found, forecast::outlook(&data, &fit, &ask));
        let other_day = Data {
            today: to,
            ..data.clone()
        };
        assert_ne!(other_day.seed(), data.seed());
    }

    /// The demo's cycles under way, few enough to be fitted soon.
    fn some_of_the_demo() -> Data {
        let today = Date::new(2026, 11, 25).expect("a date");
        let demo = crate::demo::generate(crate::demo::SCRIPT, today).expect("the demo");
        let mut data = forecast::gather(&State::fold(&demo.to_ledger()), today);
        data.courses.retain(|course| course.waiting);
        data.courses.truncate(6);
        data
    }

    /// The next answer, after how many steps; the task has crossed.
    fn answer_of(desk: &mut Desk, n: u64, task: Task) -> (usize, Done) {
        let crossed = Message::of_bytes(&Message::Ask { n, task }.to_bytes());
        desk.hear(crossed.expect("a message"));
        let (mut n_steps, mut before) = (0, 0);
        loop {
            n_steps += 1;
            match desk.step().expect("work") {
                Told::Going { permille, .. } => {
                    assert!(before <= permille && permille <= 1000);
                    before = permille;
                }
                Told::Done { done, .. } => return (n_steps, done),
                other => panic!("{other:?}"),
            }
        }
    }

    #[test]
    fn a_plan_is_that_of_one_go_and_a_moved_date_needs_no_new_fit() {
        let data = some_of_the_demo();
        let (seed, today) = (data.seed(), data.today);
        let window = |days: i64| Window {
            from: today.add_days(days).expect("a date"),
            to: today.add_days(days + 13).expect("a date"),
        };
        let wish = |days: i64| Wish {
            window: window(days),
            stage: forecast::Wanted::FitToSell,
            wanted: 4,
            assurance: 0.9,
            at_hand: 20,
            now: plan::Now::InLeaf,
            rest_weeks: 10,
            treatment: Some(0),
            lot: None,
            staggered: 1,
        };
        let task = |wish: Wish| Task::Plan {
            data: Box::new(data.clone()),
            seed,
            wish: Box::new(wish),
        };
        let mut desk = Desk::default();
        let (first, done) = answer_of(&mut desk, 1, task(wish(180)));
        assert!(first > 100, "{first}");
        let fit = forecast::fit(&data, seed, |_| true).expect("a fit");
        let same = |done: Done, wish: &Wish| {
            let Done::Plan(found) = done else {
                panic!("another answer");
            };
            assert_eq!(found.plan, plan::plan(&data, &fit, wish));
            assert_eq!(found.sampling, fit.sampling);
        };
        same(done, &wish(180));
        // The date is moved: the fit is at hand.
        let (moved, done) = answer_of(&mut desk, 2, task(wish(200)));
        assert_eq!(moved, 2);
        same(done, &wish(200));
        // A wish without sense is answered with its refusal.
        let (_, done) = answer_of(&mut desk, 3, task(wish(-90)));
        same(done, &wish(-90));
        // So is what to try next; and other records are fitted anew.
        let choices = Task::Choices {
            data: Box::new(data.clone()),
            seed,
            wish: Box::new(wish(200)),
            control: Some(0),
        };
        let (n_steps, done) = answer_of(&mut desk, 4, choices);
        assert!(n_steps < 20, "{n_steps}");
        let next = plan::next_try(&data, &fit, &wish(200), Some(0));
        assert_eq!(done, Done::Choices(Box::new(next)));
        let fewer = Data {
            courses: data.courses[..5].to_vec(),
            ..data.clone()
        };
        let other = Task::Plan {
            data: Box::new(fewer),
            seed,
            wish: Box::new(wish(200)),
        };
        assert!(answer_of(&mut desk, 5, other).0 > 100);
    }

    #[test]
    fn counts_that_are_none_are_refused() {
        let bytes = ask(1, "gr_b", &[one(3, 9, 4, 7)]).to_bytes();
        assert!(Message::of_bytes(&bytes).is_some());
        // The last four bytes are the counts; now 8 of 7 in group b.
        let [before @ .., 3, 9, 4, 7] = bytes.as_slice() else {
            panic!("{bytes:?}");
        };
        assert_eq!(Message::of_bytes(&[before, &[3, 9, 8, 7]].concat()), None);
        // Nor is anything that is cut short, or goes on after its end.
        assert_eq!(Message::of_bytes(before), None);
        assert_eq!(Message::of_bytes(&[&bytes[..], &[0]].concat()), None);
    }
}
