use bloomdue_draws::{normal, random::Random};

use super::*;

/// Draws of independent ways, as chances of one bulb, with a season shared by all.
fn truths(means: &[f64], lasting: f64) -> Truths {
    let mut random = Random::new(3);
    let mut truths = Truths::new(means.len(), None);
    for _ in 0..1_500 {
        let own: Vec<f64> = means.iter().map(|mean| mean + lasting * normal::draw(&mut random)).collect();
        for _ in 0..beliefs::SEASONS {
            let all = 0.05 * normal::draw(&mut random);
            truths.push(own.iter().map(|own| (own + all).clamp(0.0, 1.0)));
        }
    }
    truths
}

const PURSE: Purse = Purse { at_hand: 40, wanted: 0, assurance: 0.9, seasons: 4 };

fn spend(means: &[f64], lasting: f64, purse: Purse) -> Spending {
    Spending::of(&truths(means, lasting), 0, purse).expect("a spending")
}

/// What is open and has seasons to come back is tried; each step of the slider costs more and teaches more.
#[test]
fn what_is_open_is_tried_and_the_slider_goes_from_now_to_learning() {
    let spending = spend(&[0.5, 0.5, 0.48], 0.15, PURSE);
    assert_eq!(spending.go_on, GoOn::Try);
    assert!(spending.advised > 0 && spending.splits.len() > 3, "{spending:?}");
    assert_eq!((spending.splits[0].n_groups(), spending.splits[0].costs), (1, 0.0));
    for pair in spending.splits.windows(2) {
        assert!(pair[0].costs <= pair[1].costs + 1e-9 && pair[0].gain <= pair[1].gain + 0.05, "{pair:?}");
    }
    let advised = &spending.splits[spending.advised];
    let later = f64::from(PURSE.seasons - 1) * (advised.gain - spending.splits[0].gain);
    assert!(later > advised.costs, "{advised:?}");
    assert!(advised.gain_then.0 <= advised.gain_then.1 && advised.changes > 0.1);
}

/// The control is in every try, also where it is far behind.
#[test]
fn the_control_is_in_every_try() {
    let spending = spend(&[0.3, 0.55, 0.55], 0.12, PURSE);
    assert_ne!(spending.crop, 0);
    assert!(spending.splits.iter().skip(1).all(|split| split.n[0] >= LEAST_A_GROUP), "{:?}", spending.splits);
}

#[test]
fn one_season_is_all_for_now() {
    let spending = spend(&[0.5, 0.5], 0.15, Purse { seasons: 1, ..PURSE });
    assert_eq!((spending.go_on, spending.advised), (GoOn::LastSeason, 0));
    assert_eq!(spending.splits[0].n.iter().sum::<u32>(), 40);
}

/// As good as sure: it says what would have to be seen.
#[test]
fn what_is_settled_says_what_would_change_it() {
    let spending = spend(&[0.8, 0.5], 0.03, PURSE);
    let GoOn::Settled { rival, n_each, ahead } = spending.go_on else { panic!("{:?}", spending.go_on) };
    assert_eq!((rival, n_each, spending.advised), (1, 20, 0));
    assert!(ahead > 0.2, "{ahead}");
    let closer = spend(&[0.6, 0.5], 0.03, PURSE);
    if let GoOn::Settled { ahead: less, .. } = closer.go_on {
        assert!(less < ahead);
    }
}

/// A handful of bulbs of ways that differ little: nothing can be told that pays for itself, and that is no settled
/// question.
#[test]
fn with_too_few_bulbs_nothing_can_be_told() {
    let spending = spend(&[0.5, 0.49, 0.49], 0.08, Purse { at_hand: 5, seasons: 6, ..PURSE });
    assert_eq!((spending.go_on, spending.advised), (GoOn::NothingToTell, 0));
}

/// Where every bulb is needed none is spared, and where a few are left over these are.
#[test]
fn what_must_be_in_time_comes_first() {
    let of = |wanted: u32| spend(&[0.8, 0.6, 0.6], 0.2, Purse { wanted, seasons: 6, ..PURSE });
    let free = of(0);
    assert_eq!(free.go_on, GoOn::Try);
    assert_eq!(of(40).go_on, GoOn::AllNeeded);
    for wanted in 1..=40 {
        let bound = of(wanted);
        let (first, own) = (&bound.splits[0], &bound.splits[bound.advised]);
        assert!(own.chance >= first.chance.min(0.9) - 1e-9, "{wanted}: {own:?}");
        assert!(own.costs <= free.splits[free.advised].costs + 3.0, "{wanted}: {own:?}");
    }
}

#[test]
fn without_anything_to_share_out_it_is_refused() {
    let of = |purse: Purse, ways: usize| purse.check(ways).err();
    assert_eq!(of(PURSE, 2), None);
    assert_eq!(of(PURSE, 1), Some(Refusal::OneTreatment));
    assert_eq!(of(Purse { at_hand: 0, ..PURSE }, 2), Some(Refusal::NoBulbs));
    assert_eq!(of(Purse { at_hand: 1, ..PURSE }, 2), Some(Refusal::OneBulb));
    assert_eq!(of(Purse { wanted: 41, ..PURSE }, 2), Some(Refusal::MoreThanAtHand { wanted: 41, at_hand: 40 }));
    assert_eq!(of(Purse { seasons: 0, ..PURSE }, 2), Some(Refusal::NoSeasons));
    assert_eq!(of(Purse { seasons: 11, ..PURSE }, 2), Some(Refusal::TooManySeasons));
    assert_eq!(Spending::of(&truths(&[0.5], 0.1), 0, PURSE).err(), Some(Refusal::OneTreatment));
}

/// Every bulb is given out, whatever their number; draws with nothing in them, and chances of 0 and 1, do no harm.
#[test]
fn any_number_of_bulbs_is_given_out() {
    for at_hand in 2..90 {
        let spending = spend(&[0.5, 0.5, 0.5, 0.5], 0.2, Purse { at_hand, ..PURSE });
        assert!(spending.splits.iter().all(|split| split.n.iter().sum::<u32>() == at_hand), "{at_hand}");
        assert!(spending.advised < spending.splits.len());
    }
    let mut flat = Truths::new(2, Some(60));
    assert_eq!(Spending::of(&flat, 0, PURSE).expect("a spending").advised, 0);
    for _ in 0..10 {
        flat.push([1.0, 0.0]);
    }
    let spending = Spending::of(&flat, 0, PURSE).expect("a spending");
    assert!((spending.splits[0].now - 40.0).abs() < 1e-9 && spending.advised == 0, "{spending:?}");
}

/// A few nurseries of each world, all policies: who knows the truth brings most, and the same seed is the same nursery.
/// How policies compare is asked by `cargo xtask soak decide`.
#[test]
fn policies_are_played_over_the_same_seasons() {
    use simulate::{Policy, World, play};
    let points = Points::new();
    for world in World::ALL {
        let total = |policy| -> f64 { (0..40).map(|seed| play(world, 3, 24, policy, &points, seed).in_time).sum() };
        let [advice, equal, truth] = [Policy::Advice, Policy::Equal, Policy::Truth].map(total);
        assert!(truth > advice - 40.0 && advice > 0.95 * equal, "{world:?}: {advice} {equal} {truth}");
        let again = play(world, 3, 24, Policy::Advice, &points, 7).in_time;
        assert!((again - play(world, 3, 24, Policy::Advice, &points, 7).in_time).abs() < 1e-12);
    }
}
