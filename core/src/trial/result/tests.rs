//! What tries say, from records to numbers from outside.

use super::tries::{NotCounted, Scope, TrialResult, next_try, trial_result};
use super::*;
use super::{design_power::foreseen, measures::MeasureGap, pairing::compared, secondary::others, times::Speed};
use crate::{
    evidence::verdict::{Method, Strength},
    testing::{World, day, id},
    trial::standing::{Sentence, WhyNoTest},
};

/// A trial with tries of two groups of `n` bulbs; in each, so many of a and of b show a scape on day 30 of 30.
struct Trial {
    world: World,
    n_bulbs: usize,
    n_tries: i64,
    stage: &'static str,
}

impl Trial {
    fn new(question: &str) -> Self {
        let world = World::of(&format!(
            "-9 mia lot lo_1 Red
             -2 mia question tr_1 gr_a,gr_b {question}
             -2 mia group gr_a tr_1 Long control
             -2 mia group gr_b tr_1 Short"
        ));
        Self { world, n_bulbs: 0, n_tries: 0, stage: "scape-in-sight" }
    }

    /// One more try, a year after the last one; `extra` are further lines with their days counted from its start.
    fn try_of(&mut self, n: [usize; 2], in_time: [usize; 2], closed: bool) -> i64 {
        self.n_tries += 1;
        let start = self.n_tries * 400;
        let run = format!("ru_{}", self.n_tries);
        let mut groups = Vec::new();
        let mut looks = String::new();
        for (n, in_time) in n.into_iter().zip(in_time) {
            let bulbs: Vec<String> = (1..=n).map(|at| format!("b_{}", self.n_bulbs + at)).collect();
            self.n_bulbs += n;
            for (at, bulb) in bulbs.iter().enumerate() {
                let shows = if at < in_time {
                    format!("sh_{bulb}/scape/scape-in-sight").replace("sh_b_", "sh_")
                } else {
                    "clear".to_owned()
                };
                looks += &format!("{} mia look {bulb} clear\n", start + 10);
                looks += &format!("{} mia look {bulb} {shows}\n", start + 30);
            }
            groups.push(bulbs.join(","));
        }
        let all = groups.join(",");
        self.world.add(&format!(
            "-9 mia bulb {all} lo_1
             {before} mia json {run} run {{\"trial\":\"tr_1\",\"ordinal\":{ordinal},\"start\":\"{on}\",\"look_interval_days\":40}}
             {before} mia rule {run} by {stage}
             {before} mia due {run} {due}
             {before} mia allot {run} drawn gr_a={a} gr_b={b}
             {start} mia cycle-began {all}
             {start} mia run-started {run}
             {looks}",
            stage = self.stage,
            before = start - 2,
            ordinal = self.n_tries,
            on = day(start),
            due = start + 30,
            a = groups[0],
            b = groups[1],
        ));
        if closed {
            self.world.add(&format!("{} mia run-closed {run}", start + 31));
        }
        start
    }

    fn result(&self, today: i64) -> TrialResult {
        trial_result(&self.world.ledger, &self.world.state(), id("tr_1"), day(today)).unwrap()
    }
}

/// Reference 04, library, case three_runs_8: 6 and 2, 5 and 3, 7 and 4 of 8: exact conditional p by R's mantelhaen.test,
/// Mantel-Haenszel difference with Sato's variance by metafor. Over tries three quarters of the error may be spent by the
/// third, so that its p is above that of one look.
#[test]
fn three_tries_are_compared_try_beside_try() {
    let mut trial = Trial::new("");
    for in_time in [[6, 2], [5, 3], [7, 4]] {
        trial.try_of([8, 8], in_time, true);
    }
    let result = trial.result(5000);
    assert_eq!(result.scope, Scope::TheseTries { n_tries: 3 });
    let [pair] = result.pairs.as_slice() else { panic!("{:?}", result.pairs) };
    let decided = pair.decided.unwrap();
    assert_eq!(decided.verdict.method, Method::ExactOverTries);
    assert!((0.019_594_495_163_2 / 0.75..0.05).contains(&decided.verdict.p), "{}", decided.verdict.p);
    assert_eq!(decided.verdict.strength, Strength::ToldApart);
    assert!((decided.compared.gap.difference - 0.375).abs() < 1e-12);
    let interval = decided.compared.gap.interval.unwrap();
    assert!((interval.lower - 0.118_371_195_114_143).abs() < 1e-9);
    assert!((interval.upper - 0.631_628_804_885_857).abs() < 1e-9);
    assert_eq!((pair.forest.len(), pair.growing.len()), (3, 3));
    // Evidence after the first try is 1: nothing was learned before it.
    assert!((pair.growing[0].evidence - 1.0).abs() < 1e-12 && pair.growing[2].evidence > 1.0);
    let next = next_try(&pair.forest).unwrap();
    assert!(next.a_ahead > 0.9 && next.lower < next.median && next.median < next.upper);
    assert!(pair.random.is_ok() && pair.alike_p.is_ok());
    assert!(pair.kind_of_place.is_err());
}

/// The gap is the same; what it carries is not: the try speaks for itself, its trial leaves error for tries to come.
#[test]
fn a_single_try_is_told_apart_in_itself_before_its_trial_says_so() {
    let mut trial = Trial::new("");
    trial.try_of([12, 12], [9, 3], true);
    let result = trial.result(5000);
    let state = trial.world.state();
    let alone = run_result(&trial.world.ledger, &state, id("ru_1"), day(5000)).unwrap();
    let Sentence::Decided(all) = alone.standing.sentence else { panic!("{:?}", alone.standing.sentence) };
    let over = result.pairs[0].decided.unwrap();
    assert_eq!(over.compared, all[0].compared);
    assert_eq!((all[0].verdict.method, all[0].verdict.strength), (Method::Boschloo, Strength::ToldApart));
    assert_eq!((over.verdict.method, over.verdict.strength), (Method::ExactOverTries, Strength::OnTheEdge));
}

/// Goal: looking every week is no further look. Method: what two finished tries say is read on every day of a third one
/// that would turn it round, up to the day on which that one counts.
#[test]
fn while_a_try_runs_what_all_tries_say_stands_still() {
    let mut trial = Trial::new("");
    trial.try_of([8, 8], [8, 1], true);
    trial.try_of([8, 8], [7, 2], true);
    let before = trial.result(5000).pairs[0].decided;
    let start = trial.try_of([8, 8], [0, 8], true);
    for today in start..=start + 30 {
        assert_eq!(trial.result(today).pairs[0].decided, before, "day {today}");
    }
    assert_ne!(trial.result(start + 31).pairs[0].decided, before);
}

#[test]
fn tries_that_are_not_finished_stand_beside_and_do_not_count() {
    let mut trial = Trial::new("");
    trial.try_of([8, 8], [6, 2], true);
    trial.try_of([8, 8], [6, 2], false);
    let start = trial.try_of([8, 8], [8, 8], true);
    // On the last day that counts of the third try. Whether the second was closed changes nothing.
    let result = trial.result(start + 30);
    let why: Vec<Option<NotCounted>> = result.tries.iter().map(|one| one.not_counted).collect();
    assert_eq!((why[0], why[1]), (None, None));
    assert!(matches!(why[2], Some(NotCounted::NoTest(WhyNoTest::BeforeDeadline(_)))));
    assert_eq!(result.pairs[0].forest.len(), 2);
    // The evidence that may be looked at any day takes what is decided of all drawn tries.
    assert_eq!(result.pairs[0].growing.len(), 3);
}

#[test]
fn a_try_with_another_stage_is_not_pooled() {
    let mut trial = Trial::new("");
    trial.try_of([8, 8], [6, 2], true);
    trial.stage = "spathe-split";
    trial.try_of([8, 8], [6, 2], true);
    let result = trial.result(5000);
    assert_eq!(result.tries[1].not_counted, Some(NotCounted::OtherRule));
    assert_eq!(result.pairs[0].forest.len(), 1);
}

/// A claim about the kind of place takes three tries, and then 2/2³ is the smallest p.
#[test]
fn places_stay_these_places_until_three_tries_swapped_them() {
    let mut trial = Trial::new("place");
    trial.try_of([8, 8], [7, 2], true);
    trial.try_of([8, 8], [7, 2], true);
    let two = trial.result(5000);
    assert_eq!(two.scope, Scope::ThesePlaces { n_tries: 2 });
    assert!(two.pairs[0].kind_of_place.is_err());
    trial.try_of([8, 8], [7, 2], true);
    let three = trial.result(5000);
    let kind = three.pairs[0].kind_of_place.unwrap();
    assert!((kind.p - 0.25).abs() < 1e-12 && (kind.smallest_p - 0.25).abs() < 1e-12);
}

/// Groups that changed places from try to try must not be added up: within tries there is no difference at all.
#[test]
fn counts_of_tries_are_never_added() {
    let mut trial = Trial::new("");
    trial.try_of([20, 5], [18, 4], true);
    trial.try_of([5, 20], [1, 4], true);
    let decided = trial.result(5000).pairs[0].decided.unwrap();
    // 19 of 25 against 8 of 25 would be told apart.
    assert_eq!(decided.verdict.strength, Strength::TooFewToTell);
    assert!(decided.compared.gap.difference < 0.1);
}

#[test]
fn there_is_no_p_value_before_a_verdict() {
    let mut trial = Trial::new("");
    let start = trial.try_of([8, 8], [6, 2], false);
    let state = trial.world.state();
    for today in [start, start + 11, start + 30] {
        let result = run_result(&trial.world.ledger, &state, id("ru_1"), day(today)).unwrap();
        assert!(!matches!(result.standing.sentence, Sentence::Decided(_)));
        assert!(result.beside.is_empty() && result.overall.is_none());
        assert!(result.times.unwrap().speeds.is_empty());
        assert!(result.measures.iter().all(|one| one.gaps.is_empty()));
    }
}

#[test]
fn looks_grow_the_evidence_and_curves_keep_what_is_not_known() {
    let mut trial = Trial::new("");
    let start = trial.try_of([8, 8], [6, 2], true);
    let state = trial.world.state();
    let result = run_result(&trial.world.ledger, &state, id("ru_1"), day(start + 40)).unwrap();
    let times = result.times.unwrap();
    assert_eq!((times.groups[0].bars.len(), times.tau_days), (8, 30.0));
    let stretches = times.groups[0].stretches.clone().unwrap();
    // Six of eight between the looks of days 10 and 30, two never seen.
    assert_eq!((stretches[0].left, stretches[0].right), (10.0, 30.0));
    assert!((stretches[0].mass - 0.75).abs() < 1e-9);
    assert!(stretches[1].right.is_infinite());
    assert_eq!(times.groups[0].median_days, Ok((10.0, 30.0)));
    assert!(times.speeds[0].p.is_ok_and(|p| p > 0.05));
    let looks = &result.growing[0].looks;
    assert_eq!(looks.len(), 2);
    assert!((looks[0].evidence - 1.0).abs() < 1e-12 && looks[1].evidence > 1.0);
    let ahead = &result.foresight[0];
    assert!(ahead.size.is_ok_and(|size| size <= 0.05 + 1e-9));
    let power: Vec<f64> = ahead.gaps.iter().map(|gap| gap.power.unwrap()).collect();
    assert!(power.windows(2).all(|pair| pair[0] <= pair[1] + 1e-9), "{power:?}");
    assert_eq!(result.beside[0].tests.len(), 4);
}

/// n = 0, 1, all or none, one group, nothing recorded: an answer or a reason, never a panic or a number that is none.
#[test]
fn small_and_empty_tries_have_an_answer() {
    for n in [[0, 0], [1, 0], [1, 1], [2, 0], [2, 2], [1, 5]] {
        for full in [false, true] {
            let mut trial = Trial::new("");
            let in_time = if full { n } else { [0, 0] };
            let n = n.map(|n: usize| n.max(1));
            trial.try_of(n, in_time.map(|x| x.min(1)), true);
            let answers = crate::answers::answers(&trial.world.ledger, &trial.world.state(), day(5000));
            let text = serde_json::to_string(&answers).unwrap();
            assert!(text.contains("standing"));
        }
    }
}

/// Sixty tries.
#[test]
fn sixty_tries_have_an_answer() {
    let mut trial = Trial::new("");
    for at in 0..60 {
        trial.try_of([6, 6], [at % 7, (at / 2) % 7], true);
    }
    let result = trial.result(60_000);
    assert_eq!(result.pairs[0].forest.len(), 60);
    let decided = result.pairs[0].decided.unwrap();
    assert!(decided.verdict.p > 0.0 && decided.verdict.p <= 1.0);
}

/// What a screen asks part by part is what everything at once says.
#[test]
fn the_parts_of_a_result_are_the_whole() {
    let mut trial = Trial::new("");
    let start = trial.try_of([6, 6], [5, 2], true);
    let (ledger, state) = (&trial.world.ledger, trial.world.state());
    let (run, today) = (id("ru_1"), day(start + 60));
    let whole = run_result(ledger, &state, run, today).expect("a result");
    assert!(matches!(whole.standing.sentence, Sentence::Decided(_)));
    let mut parts = parts::at_once(ledger, &state, run, today).expect("a result");
    assert_ne!(parts, whole);
    let pairs = parts.measures.iter().map(|measure| parts::gap_pairs(&parts.standing, measure));
    let pairs: Vec<_> = pairs.collect();
    for (measure, pairs) in parts.measures.iter_mut().zip(pairs) {
        measure.gaps = compared(pairs).iter().map(MeasureGap::of).collect();
    }
    if let Some(times) = &mut parts.times {
        let pairs = compared(parts::speed_pairs(&state, &parts.standing, today));
        let speeds = pairs.iter().filter_map(|pair| Speed::of(pair, &times.groups));
        times.speeds = speeds.collect();
    }
    let drawn = parts::foresight(ledger, &state, run, today).expect("drawn groups");
    assert!(drawn.is_short());
    assert_eq!(parts::of_only_pair(ledger, &state, run, today).as_ref(), Some(&drawn));
    parts.foresight = foreseen(drawn);
    let sides = parts::beside(&state, &parts.standing).expect("a verdict");
    assert!(sides.is_short());
    (parts.beside, parts.overall) = others(sides);
    assert_eq!(parts, whole);
    assert!(whole.times.is_some_and(|times| times.speeds.len() == 1));
}
