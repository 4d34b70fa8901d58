//! Files made to be costly are taken in like any other, in time that grows with their length: at these sizes whatever
//! compares all with all, or walks what was taken back again and again, would not end.

#[path = "../attack/shapes.rs"]
mod shapes;

use shapes::{LEDGER, Taken, all_taken_back, chain, groups, id, layers, same, shapes, take_in};

use bloomdue_core::{
    ledger::Problem,
    trial::standing::{Sentence, WhyNoTest, standing},
};

fn taken(maker: shapes::Maker) -> Taken {
    take_in(maker.file("Vale of Leaves").as_bytes()).unwrap()
}

#[test]
fn every_costly_shape_is_taken_in_and_answered() {
    for shape in shapes(6000) {
        let taken = take_in(shape.file.as_bytes());
        let taken = taken.unwrap_or_else(|why| panic!("{}: {why}", shape.cause));
        let preview = &taken.preview;
        assert!(preview.unreadable.is_empty(), "{}", shape.cause);
        assert_eq!(taken.ledger.unknown().count(), 0, "{}", shape.cause);
        assert_eq!(taken.ledger.len(), preview.new.len() + 1, "{}", shape.cause);
        assert!(taken.n_due <= taken.ledger.len(), "{}", shape.cause);
        assert!(preview.name.chars().count() <= 200, "{}", shape.cause);
        let names = taken.state.bulbs.values().map(|bulb| bulb.label());
        assert!(names.into_iter().all(|name| name.chars().count() <= 200), "{}", shape.cause);
        assert!(preview.gaps.len() <= 20 && preview.cloned.len() <= 20);
        // What this phone writes next is its first: nobody else's number is its own.
        assert_eq!(taken.next_line, 1, "{}", shape.cause);
    }
}

#[test]
fn what_takes_back_what_takes_back_counts_by_turns() {
    for (n, stands) in [(0, true), (1, false), (2, true), (20_000, true), (20_001, false)] {
        assert_eq!(taken(chain(n)).state.bulbs.len() == 1, stands, "{n}");
    }
    assert_eq!(taken(layers(20, 8)).state.bulbs.len(), 1);
    assert_eq!(taken(layers(20, 401)).state.bulbs.len(), 0);
    assert!(taken(all_taken_back(5000)).state.bulbs.is_empty());
}

#[test]
fn bulbs_in_a_row_of_links_are_one() {
    for up in [true, false] {
        let taken = taken(same(5000, up));
        let bulbs: Vec<_> = taken.state.bulbs.values().collect();
        assert_eq!((bulbs.len(), bulbs[0].ids().len()), (1, 5001));
    }
}

#[test]
fn gaps_are_listed_up_to_a_number_and_counted_in_full() {
    let shape = shapes(4000).into_iter().find(|shape| shape.cause == "gaps");
    let preview = take_in(shape.unwrap().file.as_bytes()).unwrap().preview;
    assert_eq!((preview.gaps.len(), preview.n_gaps), (20, 4000));
    assert!(matches!(preview.gaps[0], Problem::Gap { from: 1, to: 1, .. }));
}

#[test]
fn a_line_number_at_the_end_of_all_leaves_this_phone_recording() {
    let shapes = shapes(100);
    let shape = shapes.iter().find(|shape| shape.cause == "own-lines-at-the-end");
    let taken = take_in(shape.unwrap().file.as_bytes()).unwrap();
    assert_eq!(taken.ledger.len(), 3);
    assert_eq!(taken.next_line, 1);
}

#[test]
fn a_try_of_more_groups_than_can_be_compared_is_not_evaluated() {
    let of = |n: usize| {
        let taken = taken(groups(n));
        let today = shapes::today();
        standing(&taken.ledger, &taken.state, id("ru_1"), today).unwrap()
    };
    let too_many = Sentence::NoTest(WhyNoTest::TooManyGroups);
    assert_eq!(of(400).sentence, too_many);
    assert_eq!(of(25).sentence, too_many);
    assert_eq!(of(24).groups.len(), 24);
}

#[test]
fn a_long_name_is_kept_whole_in_its_record_and_shown_cut() {
    let all = shapes(100);
    let shape = all.iter().find(|shape| shape.cause == "long-names").unwrap();
    let taken = take_in(shape.file.as_bytes()).unwrap();
    let whole = "W".repeat(10_000);
    let n_whole = taken.ledger.arrived().iter();
    let n_whole = n_whole.filter(|entry| entry.bytes().contains(&whole));
    assert_eq!(n_whole.count(), 5);
    let cut = "W".repeat(199) + "…";
    for thing in ["p_1", "pl_1", "lo_1", "b_0"] {
        assert_eq!(taken.state.name_of(id(thing)), cut, "{thing}");
    }
    assert_eq!(taken.state.name.shown(), Some(&cut));
    assert_eq!(taken.ledger.id(), id(LEDGER));
}
