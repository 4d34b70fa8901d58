//! Work in steps says what one go says, and can be stopped.

use super::*;
use crate::calendar::Date;
use crate::evidence::permutation::Scored;
use crate::evidence::verdict::Groups;
use crate::evidence::{How, NoAnswer, Reason, Share, hierarchical};
use crate::forecast::Window;
use crate::nursery::State;
use crate::testing::id;
use crate::trial::result::design_power::{Base, DrawnPair, Settles, settles};
use crate::trial::result::secondary::All;

fn one(x_a: u32, n_a: u32, x_b: u32, n_b: u32) -> Stratum {
    Stratum { a: Share::new(x_a, n_a).expect("a"), b: Share::new(x_b, n_b).expect("b") }
}

/// Asks about group a and another one, as a message that has crossed.
fn ask(n: u64, other: &str, tries: &[Stratum]) -> Message {
    let task = Task::NextTry { a: id("gr_a"), b: id(other), tries: tries.to_vec() };
    Message::of_bytes(&Message::Ask { n, task }.to_bytes()).expect("a message")
}

/// Runs until nothing is left, and counts the steps. Every answer must survive the crossing.
fn run(desk: &mut Scheduler) -> (Vec<(u64, crate::evidence::Result<NextTry>)>, usize) {
    let (mut all, mut before, mut n_steps) = (Vec::new(), 0, 0);
    while let Some(told) = desk.step() {
        n_steps += 1;
        let crossed = Update::of_bytes(&told.to_bytes()).expect("the same again");
        assert_eq!(crossed, told);
        match crossed {
            Update::Going { permille, .. } => {
                assert!(before <= permille && permille <= 1000);
                before = permille;
            }
            Update::Done { n, done } => {
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
    let mut desk = Scheduler::default();
    desk.hear(ask(4, "gr_b", &[one(3, 9, 0, 0)]));
    desk.hear(ask(5, "gr_c", &tries));
    let (all, n_steps) = run(&mut desk);
    let [(4, nothing), (5, found)] = all.as_slice() else {
        panic!("{all:?}");
    };
    // No single step is more than a small part of the work.
    assert!(n_steps > 300, "{n_steps}");
    assert_eq!(*nothing, Err(NoAnswer(Reason::Confounded)));
    let whole = hierarchical::posterior(&tries, Priors::DEFAULT).expect("a posterior");
    let (found, whole) = (found.expect("an answer"), NextTry::of(&whole));
    // Numbers that have been text may differ in their last digit.
    assert!((found.median - whole.median).abs() < 1e-12);
    assert!((found.a_ahead - whole.a_ahead).abs() < 1e-12);
}

/// What comes over from the other thread is what is said in one go, and nothing of it is lost on the way.
#[test]
fn what_would_settle_and_pairs_are_worked_out_in_steps() {
    let unit = |at: u32| Scored { score: f64::from(at * at % 17) / 3.0, in_a: at.is_multiple_of(2), block: 0 };
    let pairs =
        vec![PairUnits { a: id("gr_a"), b: id("gr_b"), units: Ok((0..130).map(unit).collect()), how_much: true }];
    let task = Task::Pairs { run: id("ru_1"), what: None, pairs: pairs.clone() };
    assert_eq!(task.at_once(), None);
    let drawn = drawn_of(30);
    let settle = Task::Settles { base: 0.45, one_more: Some(Box::new(drawn.clone())) };
    let tasks = [settle, task];
    let mut desk = Scheduler::default();
    for (n, task) in (1..).zip(tasks) {
        let crossed = Message::of_bytes(&Message::Ask { n, task }.to_bytes());
        desk.hear(crossed.expect("a message"));
    }
    let (mut all, mut n_steps) = (Vec::new(), 0);
    while let Some(told) = desk.step() {
        n_steps += 1;
        let crossed = Update::of_bytes(&told.to_bytes()).expect("the same");
        if let Update::Done { done, .. } = crossed {
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
    assert!(numbers.is_sorted_by(|a, b| a >= b) && numbers[0] > 300, "{numbers:?}");
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
        pairs: vec![(id("gr_a"), id("gr_b"), Groups::Whole(many)), (id("gr_a"), id("gr_c"), Groups::Strata(classes))],
        all: Some(All {
            shares: vec![many.a, many.b, one(5, 9, 0, 0).a],
            scores: Some(("weeks".to_owned(), vec![4.0, 8.0, 12.0])),
        }),
    };
    let (run, drawn) = (id("ru_1"), drawn_of(100));
    let ahead = Task::Foresight { run: Some(run), drawn: Box::new(drawn.clone()) };
    let beside = Task::Others { run, sides: Box::new(sides.clone()) };
    assert_eq!((ahead.at_once(), beside.at_once()), (None, None));
    let mut desk = Scheduler::default();
    let (n_steps, found) = answer_of(&mut desk, 1, ahead);
    assert!(n_steps > 14, "{n_steps}");
    assert_eq!(found, Done::Foresight(foreseen(drawn)));
    let (n_steps, done) = answer_of(&mut desk, 2, beside);
    assert_eq!(n_steps, 6);
    let crossed = Update::of_bytes(&Update::Done { n: 2, done }.to_bytes());
    let Some(Update::Done { done: Done::Others { pairs, overall }, .. }) = crossed else {
        panic!("{crossed:?}");
    };
    assert_eq!((pairs.clone(), overall.clone()), others(sides));
    let hows: Vec<_> = pairs[0].tests.iter().map(|test| test.how).collect();
    let (exact, instead) = (Some(How::Exact), Some(How::FisherMidP));
    assert_eq!(hows, [exact, exact, instead, instead]);
    let overall = overall.expect("three groups");
    assert!(overall.trend_p.is_ok() && overall.freeman_halton_how.is_some());
    // Size classes take long however few bulbs they hold.
    let mut divided = drawn_of(12);
    divided.undivided = false;
    assert!(drawn_of(12).is_short() && !divided.is_short());
    // Small ones are not worth the way.
    let few = Task::Foresight { run: Some(run), drawn: Box::new(drawn_of(12)) };
    assert_eq!(few.at_once(), Some(Done::Foresight(foreseen(drawn_of(12)))));
}

#[test]
fn the_newest_of_a_kind_replaces_the_others_and_what_is_stopped_has_no_answer() {
    let (long, short) = ([one(7, 9, 5, 9)], [one(3, 9, 0, 0)]);
    let mut desk = Scheduler::default();
    desk.hear(ask(1, "gr_b", &long));
    assert!(matches!(desk.step(), Some(Update::Going { n: 1, .. })));
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
    let ask = Ask { window, days: window, ..Ask::default() };
    let mut desk = Scheduler::default();
    desk.hear(ask_forecast(1, &data, ask.clone()));
    assert!(matches!(desk.step(), Some(Update::Going { n: 1, .. })));
    desk.hear(Message::Stop { n: 1 });
    assert!(desk.is_idle() && desk.step().is_none());
    desk.hear(ask_forecast(2, &data, ask.clone()));
    let (mut n_steps, mut before) = (0, 0);
    let found = loop {
        n_steps += 1;
        match desk.step().expect("work") {
            Update::Going { n: 2, permille } => {
                assert!(before <= permille && permille <= 1000);
                before = permille;
            }
            Update::Done { n: 2, done: Done::Forecast(found) } => break found,
            other => panic!("{other:?}"),
        }
    };
    assert!(n_steps > 100, "{n_steps}");
    let fit = forecast::fit(&data, data.seed(), |_| true).expect("a fit");
    assert_eq!(*found, forecast::outlook(&data, &fit, &ask));
    let other_day = Data { today: to, ..data.clone() };
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
fn answer_of(desk: &mut Scheduler, n: u64, task: Task) -> (usize, Done) {
    let crossed = Message::of_bytes(&Message::Ask { n, task }.to_bytes());
    desk.hear(crossed.expect("a message"));
    let (mut n_steps, mut before) = (0, 0);
    loop {
        n_steps += 1;
        match desk.step().expect("work") {
            Update::Going { permille, .. } => {
                assert!(before <= permille && permille <= 1000);
                before = permille;
            }
            Update::Done { done, .. } => return (n_steps, done),
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
    let task = |wish: Wish| Task::Plan { data: Box::new(data.clone()), seed, wish: Box::new(wish) };
    let mut desk = Scheduler::default();
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
    let of = (Box::new(data.clone()), Box::new(wish(200)));
    let choices = Task::Choices { data: of.0, seed, wish: of.1, control: Some(0), seasons: 3 };
    let (n_steps, done) = answer_of(&mut desk, 4, choices);
    assert!(n_steps < 20, "{n_steps}");
    let next = plan::next_try(&data, &fit, &wish(200), Some(0), 3);
    assert_eq!(done, Done::Choices(Box::new(next)));
    let fewer = Data { courses: data.courses[..5].to_vec(), ..data.clone() };
    let other = Task::Plan { data: Box::new(fewer), seed, wish: Box::new(wish(200)) };
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

/// Counts of a file that no nursery has: what would take minutes is refused in its step.
#[test]
fn counts_beyond_all_nurseries_settle_nothing() {
    let mut desk = Scheduler::default();
    let task = Task::Settles { base: 0.45, one_more: Some(Box::new(drawn_of(400_000))) };
    let (_, done) = answer_of(&mut desk, 1, task);
    let Done::Settles { found, one_more } = done else {
        panic!("{done:?}");
    };
    assert_eq!(Settles::of(&found), settles(0.45));
    let too_many = Err(NoAnswer(Reason::TooManyStates));
    assert_eq!(one_more.len(), 9);
    assert!(one_more.iter().all(|gap| gap.power == too_many && gap.power_with_one_more == too_many), "{one_more:?}");
}
