//! What is refused, why, and that a refusal writes nothing.

use super::*;
use crate::ledger::body::Named;
use crate::nursery::walk::{Answer, Mishap};
use crate::refusal::TryRefusal;
use crate::{
    ledger::body::{
        Climate, Count, DiedAs, DueDays, DueWindow, Goal, GoalStage, Inspection, Leaves, Light, Linked, LotBody, Note,
        PlaceBody, PlaceKind, Proof, Rule, ShootKind, Tally, Test, Unit, Way,
    },
    ledger::id::AttachmentHash,
    testing::{World, day, id},
};

const START: &str = "-9 mia place pl_1 One\n-9 mia lot lo_1 Red\n-9 mia bulb b_1,b_2,b_3,b_4 lo_1 in=pl_1\n\
                     -9 mia own b_1 one\n-9 mia own b_2 two\n-9 mia own b_3 three\n-9 mia own b_4 four\n";

fn start() -> World {
    World::of(START)
}

fn moment(today: i64) -> Moment {
    Moment { now: Happened::at(day(today), 600, 120).unwrap(), ids: Ids::new([9; 32]) }
}

fn drafts(world: &World, today: i64, command: Command) -> Result<Vec<Draft>> {
    let mut moment = moment(today);
    // A device never draws the same ids twice.
    moment.ids = Ids::new([world.ledger.len() as u8; 32]);
    record(command, &world.ledger, &world.state(), &mut moment)
}

fn refused(world: &World, today: i64, command: Command) -> Error {
    drafts(world, today, command).unwrap_err()
}

fn out_of(limit: &'static Limit, value: i64) -> Error {
    Error::new(Refusal::OutOfBounds { limit, value })
}

/// The world after a command was recorded by Mia.
fn done(mut world: World, today: i64, command: Command) -> World {
    let drafts = drafts(&world, today, command).unwrap();
    world.save("mia", drafts);
    world
}

fn clear() -> Look {
    Look { neck: Neck::Clear, leaves: Leaves::None, n_leaves: None, shoots: Vec::new(), way: Way::Each, walk: None }
}

fn look(bulb: &str, on: Option<i64>) -> Command {
    Command::Look { looks: vec![(id(bulb), clear())], on: on.map(day) }
}

fn act(kind: ActKind, about: &[&str], on: Option<i64>) -> Command {
    Command::Do { kind, act: Act::default(), about: about.iter().map(|bulb| id(bulb)).collect(), on: on.map(day) }
}

fn measure(what: Measured, mm: Option<i64>, mm_to: Option<i64>, g: Option<i64>) -> Command {
    observe_one(Body::Measure(Measure { what, mm, mm_to, g, at: None }))
}

fn observe_one(body: Body) -> Command {
    Command::Observe { about: vec![id("b_1")], body, on: None }
}

// Days.

#[test]
fn a_day_that_does_not_exist_is_no_day() {
    assert!(Date::new(2027, 2, 29).is_err());
    assert!("2027-02-30".parse::<Date>().is_err());
    assert!("2027-13-01".parse::<Date>().is_err());
}

#[test]
fn what_has_not_happened_yet_is_refused() {
    let world = start();
    let said = Error::new(DateRefusal::NotYet(day(11))).at(Field::Date);
    assert_eq!(refused(&world, 10, look("b_1", Some(11))), said);
    assert_eq!(refused(&world, 10, act(ActKind::Watered, &["b_1"], Some(11))), said);
    let sweep = Command::Sweep { place: id("pl_1"), bulbs: vec![id("b_1")], on: Some(day(11)) };
    assert_eq!(refused(&world, 10, sweep), said);
}

#[test]
fn an_earlier_day_is_written_as_a_day_and_today_with_its_time() {
    let world = start();
    let on = |day| drafts(&world, 10, look("b_1", day)).unwrap()[0].happened.clone();
    assert_eq!(on(None).as_str(), "2027-01-11T10:00+02:00");
    assert_eq!(on(Some(10)).as_str(), "2027-01-11T10:00+02:00");
    assert_eq!(on(Some(9)).as_str(), "2027-01-10");
}

// Bulbs that are gone or unknown.

#[test]
fn a_look_on_a_bulb_that_is_gone_is_refused_from_that_day_on() {
    for (record, how) in
        [("5 mia died b_1", Gone::Died), ("5 mia left b_1 how=sold", Gone::Left), ("5 mia missing b_1", Gone::Missing)]
    {
        let world = start().and(record);
        let said = Error::new(BulbRefusal::Gone { label: "one".into(), how, on: day(5) });
        assert_eq!(refused(&world, 10, look("b_1", None)), said);
        assert_eq!(refused(&world, 10, look("b_1", Some(5))), said);
        assert!(drafts(&world, 10, look("b_1", Some(4))).is_ok());
        let care = act(ActKind::Watered, &["b_2", "b_1"], None);
        assert_eq!(refused(&world, 10, care), said);
        let sweep = Command::Sweep { place: id("pl_1"), bulbs: vec![id("b_2"), id("b_1")], on: None };
        assert_eq!(refused(&world, 10, sweep), said);
        assert_eq!(refused(&world, 10, measure(Measured::Height, Some(90), None, None)), said);
        // What is only told about it may still be.
        let note = Note { text: "a pity".into() };
        assert!(drafts(&world, 10, observe_one(Body::Note(note))).is_ok());
    }
}

#[test]
fn a_bulb_that_is_not_known_is_refused() {
    let said = Error::new(BulbRefusal::NotHere);
    assert_eq!(refused(&start(), 10, look("b_9", None)), said);
    assert_eq!(refused(&start(), 10, act(ActKind::Fed, &["b_9"], None)), said);
}

#[test]
fn nothing_chosen_is_refused() {
    let said = Error::new(Missing::Bulb);
    assert_eq!(refused(&start(), 10, act(ActKind::Fed, &[], None)), said);
    let looks = Command::Look { looks: Vec::new(), on: None };
    assert_eq!(refused(&start(), 10, looks), said);
}

// Bounds.

#[test]
fn measures_out_of_bounds_are_refused_with_the_bounds() {
    let world = start();
    for (what, limit, least, most) in [
        (Measured::Circumference, &limits::CIRCUMFERENCE_MM, 20, 600),
        (Measured::Height, &limits::HEIGHT_MM, 0, 1500),
        (Measured::NeckWidth, &limits::NECK_MM, 0, 500),
        (Measured::LeafLength, &limits::LEAF_MM, 0, 1500),
    ] {
        for mm in [least - 1, most + 1] {
            assert_eq!(refused(&world, 10, measure(what, Some(mm), None, None)), out_of(limit, mm));
        }
        for mm in [least, most] {
            assert!(drafts(&world, 10, measure(what, Some(mm), None, None)).is_ok());
        }
        let upside_down = measure(what, Some(most), Some(least), None);
        assert_eq!(refused(&world, 10, upside_down), Error::new(NumberRefusal::RangeBackwards).at(Field::Number));
        let none = measure(what, None, None, Some(5));
        assert_eq!(refused(&world, 10, none), Error::new(Missing::Measured).at(Field::Number));
    }
    let weight = |g| measure(Measured::Weight, None, None, Some(g));
    assert_eq!(refused(&world, 10, weight(0)), out_of(&limits::WEIGHT_G, 0));
    assert!(drafts(&world, 10, weight(90)).is_ok());
}

#[test]
fn counts_and_readings_out_of_bounds_are_refused() {
    let world = start();
    let count = |what, n| observe_one(Body::Count(Count { what, n }));
    for (what, most) in [(Counted::Leaves, 40), (Counted::Scapes, 10), (Counted::Florets, 60)] {
        assert!(drafts(&world, 10, count(what, most)).is_ok());
        assert!(drafts(&world, 10, count(what, most + 1)).is_err());
        assert!(drafts(&world, 10, count(what, -1)).is_err());
    }
    let light = |ppfd_umol, lux| observe_one(Body::Light(Light { ppfd_umol, lux, ..Light::default() }));
    assert!(drafts(&world, 10, light(Some(3001), None)).is_err());
    assert!(drafts(&world, 10, light(None, Some(-1))).is_err());
    assert_eq!(refused(&world, 10, light(None, None)), Error::new(Missing::Light).at(Field::Light));
    let climate = |temperature_dc, humidity_percent| {
        observe_one(Body::Climate(Climate { temperature_dc, humidity_percent, ..Climate::default() }))
    };
    assert!(drafts(&world, 10, climate(Some(601), None)).is_err());
    assert!(drafts(&world, 10, climate(None, Some(101))).is_err());
    assert!(drafts(&world, 10, climate(Some(-45), Some(80))).is_ok());
    assert!(drafts(&world, 10, climate(None, None)).is_err());
    let note = |text: &str| observe_one(Body::Note(Note { text: text.to_owned() }));
    assert_eq!(refused(&world, 10, note(" \n ")), Error::new(Missing::Note).at(Field::Note));
    assert!(drafts(&world, 10, note(&"ä".repeat(2049))).is_err());
    let nothing = Inspection { watch: true, ..Inspection::default() };
    assert_eq!(
        refused(&world, 10, observe_one(Body::Inspection(nothing))),
        Error::new(Missing::Findings).at(Field::Findings)
    );
}

#[test]
fn a_look_that_contradicts_itself_is_refused() {
    let world = start();
    let said = |look: Look| {
        let command = Command::Look { looks: vec![(id("b_1"), look)], on: None };
        refused(&world, 10, command)
    };
    let shoots = Look { neck: Neck::Shoots, ..clear() };
    assert_eq!(said(shoots), Error::new(Missing::Shoots));
    let counted = Look { leaves: Leaves::Count, ..clear() };
    assert_eq!(said(counted.clone()), Error::new(Missing::Leaves).at(Field::Leaves));
    let many = Look { n_leaves: Some(41), ..counted };
    assert_eq!(said(many), out_of(&limits::LEAVES, 41));
}

// What is written.

#[test]
fn more_than_400_bulbs_take_as_many_entries_as_they_need() {
    let mut world = World::of("0 mia place pl_1 One\n0 mia lot lo_1 Red");
    let all: Vec<String> = (0..900).map(|n| format!("b_{n}")).collect();
    for part in all.chunks(300) {
        world.add(&format!("0 mia bulb {} lo_1 in=pl_1", part.join(",")));
    }
    let about: Vec<Id> = all.iter().map(|bulb| id(bulb)).collect();
    // Named twice, still counted once.
    let twice: Vec<Id> = about.iter().chain(&about).copied().collect();
    let care = Command::Do { kind: ActKind::Watered, act: Act::default(), about: twice, on: None };
    let drafts = drafts(&world, 1, care).unwrap();
    let sizes: Vec<usize> = drafts.iter().map(|draft| draft.about.len()).collect();
    assert_eq!(sizes, [400, 400, 100]);
    let named: BTreeSet<Id> = drafts.iter().flat_map(|d| d.about.clone()).collect();
    assert_eq!(named, about.into_iter().collect());
    // Every part fits into a line, and taking them all back does too.
    let written = world.save("mia", drafts);
    let back = Command::TakeBack { entries: written.clone(), why: None };
    let world = done(world, 1, back);
    for entry in written {
        let entry = world.ledger.get(entry).unwrap();
        let subjects = &entry.envelope.about;
        assert!(subjects.iter().all(|id| !world.ledger.is_in_force(entry, *id)));
    }
}

#[test]
fn new_bulbs_are_checked_before_anything_is_written() {
    let world = start();
    let new = NewBulbs {
        lot: LotChoice::Known(id("lo_1")),
        n_bulbs: 3,
        circumference: Circumference::Range(260, 280),
        place: id("pl_1"),
        own_names: Vec::new(),
        containers: Vec::new(),
    };
    let said = |change: fn(&mut NewBulbs)| {
        let mut new = new.clone();
        change(&mut new);
        refused(&world, 10, Command::AddBulbs(new))
    };
    assert_eq!(said(|new| new.n_bulbs = 0), out_of(&limits::BULBS_AT_ONCE, 0));
    assert_eq!(said(|new| new.n_bulbs = 401), out_of(&limits::BULBS_AT_ONCE, 401));
    assert_eq!(said(|new| new.place = id("pl_9")), Error::new(Missing::Place).at(Field::Place));
    assert_eq!(
        said(|new| new.circumference = Circumference::Range(280, 260)),
        Error::new(NumberRefusal::RangeBackwards).at(Field::Circumference)
    );
    assert_eq!(said(|new| new.circumference = Circumference::Range(19, 260)), out_of(&limits::CIRCUMFERENCE_MM, 19));
    assert_eq!(
        said(|new| new.circumference = Circumference::Each(vec![260])),
        Error::new(BulbRefusal::Sizes(1, 3)).at(Field::Circumference)
    );
    assert_eq!(said(|new| new.own_names = vec!["a".into()]), Error::new(BulbRefusal::Names(1, 3)).at(Field::Names));
    let twins = said(|new| new.own_names = vec!["Anna".into(), "Bea".into(), " anna ".into()]);
    assert_eq!(twins, Error::new(BulbRefusal::TwoCalled("anna".into())).at(Field::Names));
    let pots = said(|new| new.containers = vec![(id("co_1"), 2)]);
    assert_eq!(pots, Error::new(BulbRefusal::Room(2, 3)).at(Field::Containers));
    let state = done(world, 10, Command::AddBulbs(new)).state();
    let added: Vec<&Bulb> = state.bulbs.values().filter(|bulb| bulb.tag.shown().is_some()).collect();
    assert_eq!(added.len(), 3);
    for bulb in added {
        assert!(bulb.tag.shown().unwrap().parse::<Tag>().is_ok());
        assert_eq!(bulb.circumference_mm, Some((260, 280)));
        assert_eq!(bulb.place, Some(id("pl_1")));
    }
}

#[test]
fn a_wrong_tag_and_a_taken_one_are_refused() {
    let tag = Tag::of_body("7F3KQ").unwrap();
    let world = start().and(&format!("0 mia tag b_2 {}", tag.as_str()));
    let set = |name: &str| Command::Set {
        subject: id("b_1"),
        slot: "tag".into(),
        body: Body::BulbName(Named { name: name.into() }),
    };
    let mut wrong = tag.as_str().to_owned();
    let last = wrong.pop().unwrap();
    wrong.push(if last == '0' { '1' } else { '0' });
    assert_eq!(refused(&world, 10, set(&wrong)), Error::new(TagRefusal::Check(wrong.clone())).at(Field::Tag));
    assert_eq!(refused(&world, 10, set(tag.as_str())), Error::new(TagRefusal::Taken(tag.grouped())).at(Field::Tag));
    let free = Tag::of_body("7F3KR").unwrap();
    let typed = format!(" {} ", free.grouped().to_lowercase());
    let state = done(world, 10, set(&typed)).state();
    assert_eq!(state.bulbs[&id("b_1")].tag.shown().map(String::as_str), Some(free.as_str()));
}

#[test]
fn a_command_takes_only_kinds_of_its_nature() {
    let note = || Body::Note(Note { text: "x".into() });
    let place =
        || Body::Place(PlaceBody { name: "Two".into(), kind: PlaceKind::Shelf, covers: Vec::new(), given_up: false });
    let set = Command::Set { subject: id("pl_1"), slot: String::new(), body: note() };
    assert!(drafts(&start(), 10, set).is_err());
    assert!(drafts(&start(), 10, observe_one(place())).is_err());
    let link = Command::Link { about: id("b_1"), body: note() };
    assert!(drafts(&start(), 10, link).is_err());
    let own_mother = Command::Link { about: id("b_1"), body: Body::OffsetOf(Linked { to: id("b_1"), note: None }) };
    assert_eq!(refused(&start(), 10, own_mother), Error::new(BulbRefusal::Itself));
    let nameless = Command::Set {
        subject: id("lo_1"),
        slot: String::new(),
        body: Body::Lot(LotBody {
            name: " ".into(),
            cultivar: "Red".into(),
            supplier: String::new(),
            grade: String::new(),
            received: None,
            apart_until: None,
        }),
    };
    assert_eq!(refused(&start(), 10, nameless), Error::new(Missing::LotName).at(Field::Name));
    assert_eq!(
        refused(&start(), 10, act(ActKind::Moved, &["b_1"], None)),
        Error::new(Missing::MovedTo).at(Field::Place)
    );
}

#[test]
fn setting_a_register_replaces_every_value_that_stands() {
    let world = start().and("1 ben own b_1 Berta");
    assert_eq!(world.state().disagreements.len(), 1);
    let set =
        Command::Set { subject: id("b_1"), slot: "own".into(), body: Body::BulbName(Named { name: "  Anna ".into() }) };
    let state = done(world, 10, set).state();
    assert_eq!(state.disagreements.len(), 0);
    assert_eq!(state.bulbs[&id("b_1")].label(), "Anna");
}

#[test]
fn a_disagreement_is_settled_by_a_value_that_stands() {
    let world = start().and("hers: 1 ben own b_1 Berta");
    let register = world.state().disagreements.first().unwrap().clone();
    let settle = |choose| Command::Settle { register: register.clone(), choose };
    let settled = done(world.clone(), 10, settle(world.named("hers")));
    assert_eq!(settled.state().bulbs[&id("b_1")].label(), "Berta");
    assert_eq!(settled.state().disagreements.len(), 0);
    // Settled meanwhile by someone else.
    assert_eq!(refused(&settled, 11, settle(world.named("hers"))), Error::new(RecordRefusal::ValueNoLongerStands));
}

// Put right, take back.

#[test]
fn put_right_and_take_back() {
    let world = start().and("look: 5 mia look b_1,b_2 clear\ndead: 8 mia died b_2");
    let entry = world.named("look");
    let right = |body, on: Option<i64>, about: &[&str]| Command::PutRight {
        entry,
        body,
        on: on.map(day),
        about: about.iter().map(|bulb| id(bulb)).collect(),
    };
    let unseen = Body::Look(Look { neck: Neck::NotLookedAt, ..clear() });
    let note = Body::Note(Note { text: "x".into() });
    assert_eq!(refused(&world, 10, right(note, None, &[])), Error::new(RecordRefusal::OtherKind));
    let later = right(unseen.clone(), Some(12), &[]);
    assert_eq!(refused(&world, 10, later), Error::new(DateRefusal::NotYet(day(12))).at(Field::Date));
    let dead = right(unseen.clone(), Some(9), &["b_2"]);
    assert_eq!(
        refused(&world, 10, dead),
        Error::new(BulbRefusal::Gone { label: "two".into(), how: Gone::Died, on: day(8) })
    );
    let stranger = right(unseen.clone(), None, &["b_3"]);
    assert_eq!(refused(&world, 10, stranger), Error::new(RecordRefusal::Replaced));
    let put = done(world.clone(), 10, right(unseen.clone(), None, &["b_1"]));
    let state = put.state();
    let neck = |bulb: &str| state.bulbs[&id(bulb)].cycle().looks[0].look.neck;
    assert_eq!((neck("b_1"), neck("b_2")), (Neck::NotLookedAt, Neck::Clear));
    let again = right(unseen, None, &[]);
    assert_eq!(refused(&put, 10, again), Error::new(RecordRefusal::Replaced));
    // Taken back for all of its subjects; one that was put right keeps the newer entry.
    let back = Command::TakeBack { entries: vec![entry], why: Some(" slip ".into()) };
    let state = done(put, 10, back).state();
    assert_eq!(state.bulbs[&id("b_1")].cycle().looks.len(), 1);
    assert_eq!(state.bulbs[&id("b_2")].cycle().looks.len(), 0);
    let nothing = Command::TakeBack { entries: Vec::new(), why: None };
    assert!(drafts(&world, 10, nothing).is_err());
}

// Cycles.

#[test]
fn the_first_rest_act_opens_a_cycle_and_the_next_does_not() {
    let world = start().and("0 mia cycle-began b_2");
    let world = done(world, 10, act(ActKind::WaterStopped, &["b_1", "b_2"], None));
    let began = |world: &World, bulb: &str| world.state().bulbs[&id(bulb)].cycle().began;
    assert_eq!(began(&world, "b_1"), Some(day(10)));
    assert_eq!(began(&world, "b_2"), Some(day(0)));
    let world = done(world, 20, act(ActKind::LaidToRest, &["b_1"], None));
    assert_eq!(began(&world, "b_1"), Some(day(10)));
    assert!(world.state().bulbs[&id("b_1")].cycle().resting());
    // Watering is no rest act, and opens nothing.
    let world = done(world, 20, act(ActKind::Watered, &["b_3"], None));
    assert_eq!(began(&world, "b_3"), None);
    // After flowering is over, resting opens the next one.
    let world = world.and("30 mia look b_1 sh_1/scape/first-flower-open\n40 mia look b_1 clear");
    let world = done(world, 50, act(ActKind::CutBack, &["b_1"], None));
    assert_eq!(began(&world, "b_1"), Some(day(50)));
}

// Tries.

fn planned(units: &[&str], allot: Allot) -> PlanTry {
    let group = |name: &str| GroupPlan { name: name.into(), levels: Vec::new(), control: false };
    PlanTry {
        trial: TrialChoice::New {
            text: "which is better".into(),
            ready: String::new(),
            factors: Vec::new(),
            groups: vec![group("A"), group("B")],
        },
        start: day(10),
        look_interval_days: 7,
        rule: Rule {
            goal: Goal::By,
            stage: GoalStage::ScapeInSight,
            unit: Unit::Bulb,
            died: DiedAs::NotInTime,
            test: Test::None,
            family: None,
        },
        window: DueWindow { name: String::new(), from: day(40), to: day(40) },
        units: units.iter().map(|unit| id(unit)).collect(),
        allot,
        begin: true,
        finished: None,
        counted: None,
        jobs: Vec::new(),
        said: None,
    }
}

fn drawn_of(sizes: &[usize]) -> Allot {
    Allot::Draw { seed: [3; 32], sizes: sizes.to_vec(), classes: false }
}

fn plan(plan: PlanTry) -> Command {
    Command::PlanTry(Box::new(plan))
}

fn the_run(world: &World) -> Id {
    *world.state().runs.keys().next().expect("a run")
}

#[test]
fn a_try_made_from_a_plan_brings_its_jobs_along() {
    use crate::plan::{Now, jobs_of_group};
    let jobs = |weeks| jobs_of_group(day(90), Now::InLeaf, weeks, day(5));
    let mut meant = planned(&["b_1", "b_2", "b_3", "b_4"], Allot::ByHand(vec![0, 0, 1, 1]));
    meant.jobs = vec![jobs(4), jobs(6)];
    meant.begin = false;
    meant.window.to = day(200);
    let world = done(start(), 5, plan(meant));
    let due = |on: i64| {
        let places = crate::care::plan::planned(&world.state(), day(on)).into_iter();
        let jobs = places.flat_map(|at| at.jobs);
        jobs.filter_map(|at| match at.job {
            crate::care::Job::Planned { slot, .. } => Some((slot, at.bulbs.len())),
            _ => None,
        })
        .collect::<Vec<_>>()
    };
    assert_eq!(due(26), []);
    assert_eq!(due(27), [("stop-water".to_owned(), 2)]);
    assert_eq!(due(41), [("stop-water".to_owned(), 2), ("stop-water".to_owned(), 2)]);
}

#[test]
fn the_jobs_of_a_plan_that_became_a_try_are_those_of_the_try_only() {
    use crate::{
        ledger::body::Forcing,
        plan::{Now, jobs_of_group},
        testing::{batch, forcing},
    };
    let mut world = start();
    let saved = Forcing { batches: vec![batch("b_1,b_2,b_3,b_4", 20, 97)], ..forcing("Fair", 150, 160) };
    world.force(4, None, saved);
    let jobs = |weeks| jobs_of_group(day(90), Now::InLeaf, weeks, day(5));
    let mut meant = planned(&["b_1", "b_2"], Allot::ByHand(vec![0, 1]));
    meant.jobs = vec![jobs(0), jobs(6)];
    (meant.begin, meant.start, meant.window.to) = (false, day(6), day(160));
    let due = |world: &World, on: i64| {
        let places = crate::care::plan::planned(&world.state(), day(on)).into_iter();
        let jobs = places.flat_map(|at| at.jobs);
        let told = jobs.filter_map(|at| match at.job {
            crate::care::Job::Planned { slot, .. } => Some((slot, at.bulbs)),
            _ => None,
        });
        let mut told: Vec<_> = told.collect();
        told.sort();
        told
    };
    let world = done(world, 5, plan(meant));
    // Bulbs that are in no try keep the days of the plan; of the two in the try one rests six weeks and one not at all.
    let of_plan = ("1-stop-water".to_owned(), vec![id("b_3"), id("b_4")]);
    assert_eq!(due(&world, 30), [of_plan.clone(), ("stop-water".to_owned(), vec![id("b_2")])]);
    let run = the_run(&world);
    let world = done(world, 6, Command::StartRun { run, on: None });
    assert_eq!(due(&world, 30), [of_plan, ("stop-water".to_owned(), vec![id("b_2")])]);
    // Closed early, the try asks for nothing any more, and the plan does again; closed after its days both are over.
    let close = |on: i64| done(world.clone(), on, Command::CloseRun { run, on: None });
    let of_all = ["b_1", "b_2", "b_3", "b_4"].map(id).to_vec();
    assert_eq!(due(&close(8), 30), [("1-stop-water".to_owned(), of_all)]);
    let ended = due(&close(160), 160);
    assert!(ended.iter().all(|(_, bulbs)| !bulbs.contains(&id("b_1"))), "{ended:?}");
}

#[test]
fn what_is_too_long_for_a_label_is_refused_beside_its_field() {
    use crate::{
        ledger::body::{
            AppliedTo, CareJob, ContainerBody, ContainerKind, Factor, Forcing, Level, LotBody, NurseryBody, Person,
        },
        testing::{batch, forcing},
    };
    let long = "ö".repeat(201);
    let set = |subject: &str, slot: &str, body: Body| Command::Set { subject: id(subject), slot: slot.into(), body };
    let lot = |name: &str, cultivar: &str| LotBody {
        name: name.into(),
        cultivar: cultivar.into(),
        supplier: String::new(),
        grade: String::new(),
        received: None,
        apart_until: None,
    };
    let place = PlaceBody { name: long.clone(), kind: PlaceKind::Bench, covers: Vec::new(), given_up: false };
    let trough = ContainerBody { name: long.clone(), ..ContainerBody::of(ContainerKind::Trough) };
    let pot = |into| Command::Pot { into, act: Act::default(), about: vec![id("b_1")], on: None };
    let bulbs = |lot: LotChoice, own: &str| {
        Command::AddBulbs(NewBulbs {
            n_bulbs: 1,
            lot,
            circumference: Circumference::Unknown,
            place: id("pl_1"),
            own_names: vec![own.to_owned()],
            containers: Vec::new(),
        })
    };
    let offset = Split {
        mothers: vec![id("b_1")],
        n_each: 1,
        own_name: long.clone(),
        place: None,
        act: Act::default(),
        on: None,
    };
    let job = CareJob {
        words: long.clone(),
        ..crate::care::usual_jobs::USUAL.iter().find(|usual| usual.key == "turn").unwrap().job()
    };
    let fair = Forcing { batches: vec![batch("b_1", 20, 97)], ..forcing(&long, 150, 160) };
    let a_try = |change: &dyn Fn(&mut PlanTry)| {
        let mut meant = planned(&["b_1", "b_2"], drawn_of(&[1, 1]));
        change(&mut meant);
        plan(meant)
    };
    let of_trial = |change: &dyn Fn(&mut String, &mut Vec<Factor>, &mut GroupPlan)| {
        a_try(&|meant| {
            if let TrialChoice::New { text, factors, groups, .. } = &mut meant.trial {
                change(text, factors, &mut groups[0]);
            }
        })
    };
    let factor = Factor { name: long.clone(), unit: String::new(), applied_to: AppliedTo::Bulb };
    let level = Level { factor: "mix".into(), text: long.clone(), value_milli: None };
    let person = |initials: &str, name: &str| Person { initials: initials.into(), name: name.into() };
    let commands = [
        (Command::Start { name: long.clone(), person: id("p_9"), initials: "EK".into() }, Field::Name),
        (Command::Start { name: "Hill".into(), person: id("p_9"), initials: long.clone() }, Field::Initials),
        (set("l_1", "", Body::Nursery(NurseryBody { name: long.clone(), latitude_decideg: None })), Field::Name),
        (set("p_9", "", Body::Person(person(&long, ""))), Field::Initials),
        (set("p_9", "", Body::Person(person("EK", &long))), Field::Name),
        (set("pl_1", "", Body::Place(place)), Field::Name),
        (set("lo_1", "", Body::Lot(lot(&long, ""))), Field::Name),
        (set("lo_1", "", Body::Lot(lot("Red", &long))), Field::Lot),
        (set("b_1", "own", Body::BulbName(Named { name: long.clone() })), Field::Name),
        (pot(PotInto::New(trough)), Field::Container),
        (bulbs(LotChoice::New(lot(&long, &long)), "one more"), Field::Lot),
        (bulbs(LotChoice::Known(id("lo_1")), &long), Field::Names),
        (Command::Split(offset), Field::Own),
        (set("l_1", "turn", Body::CarePlan(job)), Field::Words),
        (Command::Force { forcing: None, body: Box::new(fair) }, Field::Name),
        (a_try(&|meant| meant.window.name.clone_from(&long)), Field::Window),
        (of_trial(&|text, _, _| text.clone_from(&long)), Field::Question),
        (of_trial(&|_, factors, _| factors.push(factor.clone())), Field::Treatments),
        (of_trial(&|_, _, group| group.name.clone_from(&long)), Field::Treatments),
        (of_trial(&|_, _, group| group.levels.push(level.clone())), Field::Treatments),
    ];
    let world = start();
    for (command, field) in commands {
        let said = format!("{command:?}").chars().take(60).collect::<String>();
        assert_eq!(refused(&world, 10, command), out_of(&limits::NAME_CHARS, 201).at(field), "{said}");
    }
}

#[test]
fn a_bulb_is_in_one_running_try_at_most() {
    let world = done(start(), 10, plan(planned(&["b_1", "b_2"], drawn_of(&[1, 1]))));
    let run = the_run(&world);
    assert_eq!(world.state().runs[&run].rule.shown().unwrap().test, Test::Boschloo);
    assert_eq!(world.state().bulbs[&id("b_1")].cycle().began, Some(day(10)));
    let again = plan(planned(&["b_2", "b_3"], drawn_of(&[1, 1])));
    assert_eq!(
        refused(&world, 10, again.clone()),
        Error::new(TryRefusal::InRunningTry("two".into(), "which is better".into())).at(Field::Bulbs)
    );
    let close = |on: Option<i64>| Command::CloseRun { run, on: on.map(day) };
    assert_eq!(refused(&world, 12, close(Some(9))), Error::new(TryRefusal::StartedOn(day(10))).at(Field::Date));
    let world = done(world, 12, close(None));
    assert_eq!(refused(&world, 12, close(None)), Error::new(TryRefusal::NotRunning));
    let state = done(world, 12, again).state();
    assert_eq!(state.runs.len(), 2);
}

#[test]
fn a_try_planned_earlier_is_not_started_with_a_bulb_that_is_taken_since() {
    let mut later = planned(&["b_1", "b_2"], drawn_of(&[1, 1]));
    later.begin = false;
    let world = done(start(), 10, plan(later));
    let first = the_run(&world);
    let world = done(world, 10, plan(planned(&["b_2", "b_3"], drawn_of(&[1, 1]))));
    let start_run = |run, on: Option<i64>| Command::StartRun { run, on: on.map(day) };
    assert_eq!(
        refused(&world, 11, start_run(first, None)),
        Error::new(TryRefusal::InRunningTry("two".into(), "which is better".into())).at(Field::Bulbs)
    );
    assert_eq!(refused(&world, 11, start_run(id("ru_9"), None)), Error::new(TryRefusal::NoSuchTry));
    let second = *world.state().runs.keys().find(|run| **run != first).unwrap();
    assert_eq!(refused(&world, 11, start_run(second, None)), Error::new(TryRefusal::Started));
    let world = done(world, 11, Command::CloseRun { run: second, on: None });
    assert_eq!(
        refused(&world, 11, start_run(first, Some(12))),
        Error::new(DateRefusal::NotYet(day(12))).at(Field::Date)
    );
    let state = done(world, 11, start_run(first, None)).state();
    assert_eq!(state.runs[&first].started, Some(day(11)));
}

#[test]
fn a_try_with_two_draws_is_not_started_until_one_stands() {
    let mut later = planned(&["b_1", "b_2"], drawn_of(&[1, 1]));
    later.begin = false;
    let world = done(start(), 10, plan(later));
    let run = the_run(&world);
    let again = Command::DrawAgain { run, reason: "a tag was wrong".into(), seed: [8; 32] };
    let silent = Command::DrawAgain { run, reason: " ".into(), seed: [8; 32] };
    assert_eq!(refused(&world, 10, silent), Error::new(Missing::ReasonToDraw).at(Field::Reason));
    // Both phones draw again before they meet.
    let mut both = world.clone();
    for (who, seed) in [("mia", 8), ("ben", 9)] {
        let command = Command::DrawAgain { run, reason: format!("{who} said so"), seed: [seed; 32] };
        let drafts = drafts(&world, 10, command).unwrap();
        both.save(who, drafts);
    }
    assert!(both.state().runs[&run].allotment.is_disagreed());
    let start_run = Command::StartRun { run, on: None };
    assert_eq!(refused(&both, 11, start_run.clone()), Error::new(TryRefusal::GroupsOpen));
    assert!(drafts(&both, 11, again.clone()).is_err());
    let world = done(done(world, 10, again.clone()), 11, start_run);
    assert_eq!(refused(&world, 12, again), Error::new(TryRefusal::GroupsStay));
}

/// The try with these registers after lots were drawn again with the seed of the worked examples.
fn drawn_again(allotment: &str, n_bulbs: usize) -> crate::ledger::body::Allotment {
    let bulbs: Vec<String> = (1..=n_bulbs).map(|n| format!("b_{n:x}")).collect();
    let world = World::of(&format!(
        "-9 mia lot lo_1 Red
         -9 mia bulb {} lo_1
         -2 mia question tr_1 gr_a,gr_b
         -2 mia group gr_a tr_1 A control
         -2 mia group gr_b tr_1 B
         -2 mia run ru_1 tr_1 20 every=7
         -2 mia json ru_1 allotment {allotment}",
        bulbs.join(",")
    ));
    let seed = std::array::from_fn(|at| at as u8);
    let again = Command::DrawAgain { run: id("ru_1"), reason: "a tag was wrong".into(), seed };
    let again = done(world, 10, again).state().runs[&id("ru_1")].allotment.settled().cloned().unwrap();
    assert_eq!(
        (again.seed.as_str(), again.reason.as_str()),
        ("000102030405060708090a0b0c0d0e0f101112131415161718191a1b1c1d1e1f", "a tag was wrong")
    );
    again
}

/// What was drawn by an older method is drawn again by it, for ever: the worked example of `trial::lots`.
#[test]
fn a_try_drawn_by_the_first_method_is_drawn_again_by_it() {
    let again = drawn_again(
        r#"{"unit":"bulb","method":"blocks/1","seed":"00ff","groups":["gr_a","gr_b"],"units":["b_3","b_6","b_1","b_2","b_4","b_7","b_5"],"arms":[0,1,0,1,0,1,0],"blocks":[0,0,0,0,1,1,1],"sizes_mm":[220,220,240,260,260,280,300]}"#,
        7,
    );
    assert_eq!(again.method, "blocks/1");
    assert_eq!(again.units, ["b_3", "b_6", "b_1", "b_2", "b_4", "b_7", "b_5"].map(id));
    assert_eq!(again.arms, [1, 0, 1, 0, 0, 1, 0]);
    assert_eq!(again.blocks, [0, 0, 0, 0, 1, 1, 1]);
    assert_eq!((again.cultivars, again.class_length), (Vec::new(), None));
}

/// The worked example of `trial::lots::classes`. Its classes come from the record, whatever its lots are called since.
#[test]
fn a_try_drawn_in_classes_is_drawn_again_in_them() {
    let again = drawn_again(
        r#"{"unit":"bulb","method":"blocks/2","seed":"00ff","groups":["gr_a","gr_b"],"units":["b_3","b_1","b_4","b_7","b_5","b_6","b_2","b_a","b_9","b_8"],"arms":[0,1,0,1,0,1,0,1,0,1],"blocks":[0,0,0,0,0,1,1,1,2,2],"sizes_mm":[220,260,260,280,300,220,240,240,0,250],"cultivars":["Red","White",""],"class_length":4}"#,
        10,
    );
    assert_eq!(again.method, "blocks/2");
    assert_eq!(again.units, ["b_3", "b_1", "b_4", "b_7", "b_5", "b_6", "b_2", "b_a", "b_9", "b_8"].map(id));
    assert_eq!(again.arms, [1, 0, 1, 0, 0, 0, 1, 1, 0, 1]);
    assert_eq!(again.blocks, [0, 0, 0, 0, 0, 1, 1, 1, 2, 2]);
    assert_eq!((again.cultivars.join("|").as_str(), again.class_length), ("Red|White|", Some(4)));
}

#[test]
fn lots_are_drawn_within_cultivar_and_size_and_the_test_follows() {
    let world = World::of(
        "-9 mia lot lo_1 Red
         -9 mia lot lo_2 Candy
         -9 mia bulb b_1,b_2,b_3,b_4 lo_1
         -9 mia bulb b_5,b_6,b_7,b_8 lo_2",
    );
    let bulbs = ["b_1", "b_2", "b_3", "b_4", "b_5", "b_6", "b_7", "b_8"];
    let of = |classes: bool| {
        let allot = Allot::Draw { seed: [3; 32], sizes: vec![4, 4], classes };
        let world = done(world.clone(), 10, plan(planned(&bulbs, allot)));
        let run = world.state().runs[&the_run(&world)].clone();
        (run.allotment.settled().cloned().unwrap(), run.rule.settled().cloned().unwrap().test)
    };
    let (allotment, test) = of(true);
    assert_eq!((allotment.method.as_str(), test), ("blocks/2", Test::ExactConditional));
    assert_eq!(
        (allotment.cultivars, allotment.blocks),
        (vec!["Candy".into(), "Red".into()], vec![0, 0, 0, 0, 1, 1, 1, 1])
    );
    assert_eq!(allotment.class_length, Some(8));
    // Two of each cultivar in each group.
    for class in allotment.arms.chunks(4) {
        assert_eq!(class.iter().sum::<u32>(), 2);
    }
    let (allotment, test) = of(false);
    assert_eq!((allotment.method.as_str(), test), ("blocks/2", Test::Boschloo));
    assert_eq!((allotment.cultivars, allotment.blocks), (vec![String::new()], vec![0; 8]));
}

#[test]
fn what_groups_can_tell_is_said_before_the_draw_as_after_it() {
    use crate::trial::result::{
        design_power::{Drawn, Planned},
        parts,
    };
    let bulbs: Vec<String> = (1..=17).map(|n| format!("b_{n}")).collect();
    let mut world = World::of("-9 mia lot lo_1 Red\n-9 mia lot lo_2 Candy");
    for (at, bulb) in bulbs.iter().enumerate() {
        world.add(&format!("-9 mia bulb {bulb} lo_{} size={}", 1 + at % 3 / 2, 240 + 5 * (at * 7 % 11)));
    }
    let names: Vec<&str> = bulbs.iter().map(String::as_str).collect();
    for classes in [true, false] {
        let before = Planned {
            unit: Unit::Bulb,
            units: names.iter().map(|bulb| id(bulb)).collect(),
            classes,
            sizes: vec![9, 8],
            control: Some(0),
            family: None,
            again: None,
            stage: GoalStage::ScapeInSight,
        };
        let foretold = Drawn::planned(&before, &world.ledger, &world.state(), day(10)).expect("two groups");
        let allot = Allot::Draw { seed: [3; 32], sizes: vec![9, 8], classes };
        let after = done(world.clone(), 10, plan(planned(&names, allot)));
        let drawn = parts::foresight(&after.ledger, &after.state(), the_run(&after), day(10)).expect("drawn groups");
        assert_eq!(drawn.pairs.len(), 1);
        assert_eq!(foretold.pairs[0].classes, drawn.pairs[0].classes);
        assert_eq!((foretold.undivided, foretold.alpha, foretold.base), (drawn.undivided, drawn.alpha, drawn.base));
        assert_eq!(foretold.undivided, !classes);
        let few = Planned { units: before.units[..3].to_vec(), ..before };
        assert_eq!(Drawn::planned(&few, &world.ledger, &world.state(), day(10)), None);
    }
}

#[test]
fn a_plan_that_cannot_be_is_refused_where_it_is_wrong() {
    let world = start().and("5 mia died b_4");
    let said = |change: fn(&mut PlanTry)| {
        let mut new = planned(&["b_1", "b_2"], drawn_of(&[1, 1]));
        change(&mut new);
        refused(&world, 10, plan(new))
    };
    assert_eq!(said(|p| p.units.truncate(1)), Error::new(Missing::TwoBulbs).at(Field::Bulbs));
    assert_eq!(said(|p| p.units[1] = id("b_1")), Error::new(TryRefusal::ChosenTwice("one".into())).at(Field::Bulbs));
    assert_eq!(said(|p| p.units[1] = id("b_9")), Error::new(TryRefusal::BulbNotHere).at(Field::Bulbs));
    assert_eq!(
        said(|p| p.units[1] = id("b_4")),
        Error::new(BulbRefusal::Gone { label: "four".into(), how: Gone::Died, on: day(5) })
    );
    assert_eq!(said(|p| p.rule.unit = Unit::Container), Error::new(TryRefusal::BulbsAndContainers).at(Field::Bulbs));
    assert_eq!(said(|p| p.start = day(11)), Error::new(DateRefusal::StartsNotYet(day(11))).at(Field::Start));
    assert_eq!(said(|p| p.window.to = day(10)), Error::new(TryRefusal::EndsBeforeStart).at(Field::Window));
    let turned = said(|p| {
        p.rule.goal = Goal::InWindow;
        p.window.from = day(41);
    });
    assert_eq!(turned, Error::new(DateRefusal::WindowBackwards).at(Field::Window));
    assert_eq!(said(|p| p.look_interval_days = 0), out_of(&limits::LOOK_INTERVAL_DAYS, 0).at(Field::Looks));
    assert_eq!(said(|p| p.look_interval_days = 61), out_of(&limits::LOOK_INTERVAL_DAYS, 61).at(Field::Looks));
    assert_eq!(said(|p| p.allot = drawn_of(&[2])), Error::new(Missing::GroupSizes).at(Field::Groups));
    assert_eq!(said(|p| p.allot = Allot::ByHand(vec![0])), Error::new(Missing::Groups).at(Field::Groups));
    assert_eq!(said(|p| p.allot = Allot::ByHand(vec![0, 2])), Error::new(Missing::Groups).at(Field::Groups));
    assert_eq!(said(|p| p.allot = Allot::ByHand(vec![0, 0])), Error::new(TryRefusal::EmptyGroup).at(Field::Groups));
    let one_group = said(|p| {
        if let TrialChoice::New { groups, .. } = &mut p.trial {
            groups.truncate(1);
        }
    });
    assert_eq!(one_group, Error::new(TryRefusal::OneGroup).at(Field::Treatments));
    let twins = said(|p| {
        if let TrialChoice::New { groups, .. } = &mut p.trial {
            groups[1].name = " a".into();
        }
    });
    assert_eq!(twins, Error::new(TryRefusal::TwoGroupsCalled("a".into())).at(Field::Treatments));
    let unasked = said(|p| {
        if let TrialChoice::New { text, .. } = &mut p.trial {
            text.clear();
        }
    });
    assert_eq!(unasked, Error::new(Missing::Question).at(Field::Question));
}

#[test]
fn groups_by_hand_and_from_a_notebook_are_kept_as_such_and_get_no_test() {
    let by_hand = planned(&["b_1", "b_2"], Allot::ByHand(vec![1, 0]));
    let recorded = planned(&["b_1", "b_2"], Allot::AsRecorded(vec![1, 0]));
    for (try_, method, typed_in) in [(by_hand, "by hand", false), (recorded, "as recorded", true)] {
        let world = done(start(), 10, plan(try_));
        let run = &world.state().runs[&the_run(&world)];
        let allotment = run.allotment.shown().unwrap();
        assert_eq!((allotment.method.as_str(), &allotment.arms[..]), (method, &[1, 0][..]));
        assert_eq!(run.rule.shown().unwrap().test, Test::None);
        assert_eq!(run.body.shown().unwrap().typed_in, typed_in);
    }
    let tally = |n_in_time| Tally { group: id("gr_x"), n_in_time, n_not: 2, n_died: 0, n_left: 0 };
    let counts = planned(&[], Allot::Counts(vec![tally(5), tally(7)]));
    let world = done(start(), 10, plan(counts));
    let run = &world.state().runs[&the_run(&world)];
    let tallies = run.tallies.shown().unwrap();
    let trial = run.body.shown().unwrap().trial;
    let groups = &world.state().trials[&trial].question.shown().unwrap().groups.clone();
    let of: Vec<Id> = tallies.groups.iter().map(|tally| tally.group).collect();
    assert_eq!(&of, groups, "counts stand under the trial's groups");
    let short = planned(&[], Allot::Counts(vec![tally(5)]));
    assert_eq!(refused(&start(), 10, plan(short)), Error::new(Missing::Counts).at(Field::Counts));
}

#[test]
fn a_pot_with_a_dead_bulb_can_still_be_tried() {
    let world = start().and(
        "-8 mia container co_1 Pot-1\n-8 mia container co_2 Pot-2\n-8 mia potted b_1,b_2 container=co_1\n\
         -8 mia potted b_3,b_4 container=co_2\n5 mia died b_2",
    );
    let mut pots = planned(&["co_1", "co_2"], drawn_of(&[1, 1]));
    pots.rule.unit = Unit::Container;
    let world = done(world, 10, plan(pots));
    let state = world.state();
    let run = the_run(&world);
    assert_eq!(state.runs[&run].rule.shown().unwrap().test, Test::UnitPermutation);
    assert_eq!(state.running(&state.bulbs[&id("b_1")]), Some(run));
    // A bulb of a pot that is in a running try is in it too.
    let single = plan(planned(&["b_1", "b_3"], drawn_of(&[1, 1])));
    assert_eq!(
        refused(&world, 10, single),
        Error::new(TryRefusal::InRunningTry("one".into(), "which is better".into())).at(Field::Bulbs)
    );
    // Unpotted, it stays in the run that it started in.
    let state = world.and("20 mia unpotted b_1").state();
    assert_eq!(state.running(&state.bulbs[&id("b_1")]), Some(run));
}

#[test]
fn a_nursery_starts_with_a_name_and_initials() {
    let start_of =
        |name: &str, initials: &str| Command::Start { name: name.into(), person: id("p_1"), initials: initials.into() };
    let world = World::of("");
    assert_eq!(refused(&world, 0, start_of(" ", "MK")), Error::new(Missing::NurseryName).at(Field::Name));
    assert_eq!(refused(&world, 0, start_of("North", "")), Error::new(Missing::OwnInitials).at(Field::Initials));
    let state = done(world, 0, start_of(" North house ", "MK")).state();
    assert_eq!(state.name, crate::ledger::Register::Agreed("North house".into()));
    assert_eq!(state.name_of(id("p_1")), "MK");
}

#[test]
fn undoing_a_new_name_brings_the_old_one_back() {
    // Goal: every tap can be undone, also one that replaced a value.
    // Method: a place is renamed, the renaming taken back, and the taking back taken back.
    let mut world = World::of("-9 mia place pl_1 Cellar");
    let set = Command::Set {
        subject: id("pl_1"),
        slot: String::new(),
        body: Body::Place(PlaceBody {
            name: "Vault".to_owned(),
            kind: PlaceKind::Cellar,
            covers: Vec::new(),
            given_up: false,
        }),
    };
    let mut seen = vec![world.state().name_of(id("pl_1")).to_owned()];
    let mut last = None;
    for _ in 0..3 {
        let command = last.map_or(set.clone(), |last| Command::TakeBack { entries: vec![last], why: None });
        let drafts = drafts(&world, 9, command).unwrap();
        last = world.save("mia", drafts).last().copied();
        seen.push(world.state().name_of(id("pl_1")).to_owned());
    }
    assert_eq!(seen, ["Cellar", "Vault", "Cellar", "Vault"]);
}

#[test]
fn a_form_that_says_several_things_saves_all_of_them_or_none() {
    let world = start();
    let name = |name: &str| Command::Set {
        subject: id("b_1"),
        slot: "own".to_owned(),
        body: Body::BulbName(Named { name: name.to_owned() }),
    };
    let to = |bulb: &str| Command::Link { about: id("b_1"), body: Body::OffsetOf(Linked { to: id(bulb), note: None }) };
    let both = Command::Together(vec![name("uno"), to("b_2")]);
    let renamed = done(world.clone(), 9, both).state();
    let bulb = &renamed.bulbs[&id("b_1")];
    assert_eq!((bulb.label(), bulb.mother), ("uno", Some(id("b_2"))));
    // A bulb is not its own mother; then the name is not saved either.
    refused(&world, 9, Command::Together(vec![name("uno"), to("b_1")]));
    assert_eq!(refused(&world, 9, Command::Together(Vec::new())), Error::new(RecordRefusal::Unchanged));
}

#[test]
fn a_new_tag_is_free_and_replaces_the_old_one() {
    let world = done(start(), 9, Command::Retag { bulb: id("b_1") });
    let first = world.state().bulbs[&id("b_1")].tag.clone();
    let again = done(world, 9, Command::Retag { bulb: id("b_1") });
    let second = again.state().bulbs[&id("b_1")].tag.clone();
    assert!(first.settled().is_some() && second.settled().is_some());
    assert_ne!(first, second);
}

#[test]
fn a_proof_replaces_the_one_before_it() {
    let world = start().and("1 mia look b_1 sh_1/unknown/shoot\n5 mia proof b_1 sh_1 scape\n6 ben proof b_1 sh_1 leaf");
    let kind = |world: &World| {
        let state = world.state();
        let shoot = &state.bulbs[&id("b_1")].cycle().shoots[0];
        (shoot.kind, shoot.contradicted)
    };
    assert_eq!(kind(&world), (ShootKind::Unknown, true), "two proofs of two phones");
    let prove = |kind| Command::Link { about: id("b_1"), body: Body::Proof(Proof { shoot: id("sh_1"), kind }) };
    let world = done(world, 8, prove(ShootKind::Leaf));
    assert_eq!(kind(&world), (ShootKind::Leaf, false));
    assert_eq!(refused(&world, 9, prove(ShootKind::Leaf)), Error::new(RecordRefusal::StandsAlready));
    let world = done(world, 9, prove(ShootKind::Scape));
    assert_eq!(kind(&world), (ShootKind::Scape, false));
    // Another shoot's proof is its own matter.
    let other = Body::Proof(Proof { shoot: id("sh_2"), kind: ShootKind::Leaf });
    let drafts = drafts(&world, 9, Command::Link { about: id("b_1"), body: other }).unwrap();
    assert!(drafts[0].supersedes.is_empty());
}

#[test]
fn a_look_is_put_right_by_a_look_and_an_act_in_all_it_says() {
    let world = start().and(
        "saw: 3 mia look b_1 sh_1/scape/scape-in-sight\nmoved: 4 mia moved b_1,b_2 place=pl_1\n\
         4 mia place pl_2 Cellar",
    );
    let right = |entry: &str, body, on| Command::PutRight { entry: world.named(entry), body, on, about: Vec::new() };
    let mended = done(world.clone(), 9, right("saw", Body::Look(clear()), Some(day(2))));
    let looks = |world: &World| world.state().bulbs[&id("b_1")].cycle().looks.clone();
    assert_eq!(looks(&mended).len(), 1);
    assert_eq!((looks(&mended)[0].look.neck, looks(&mended)[0].at.date()), (Neck::Clear, day(2)));
    let mut odd = clear();
    odd.neck = Neck::Shoots;
    assert_eq!(refused(&world, 9, right("saw", Body::Look(odd), None)), Error::new(Missing::Shoots));
    let moved = |place: Option<&str>| {
        let act = Act { place: place.map(id), note: Some(" by  hand ".to_owned()), ..Act::default() };
        right("moved", Body::Act(ActKind::Moved, act), None)
    };
    assert_eq!(refused(&world, 9, moved(None)), Error::new(Missing::MovedTo).at(Field::Place));
    let state = done(world.clone(), 9, moved(Some("pl_2"))).state();
    assert_eq!(state.bulbs[&id("b_2")].place, Some(id("pl_2")));
}

#[test]
fn splitting_makes_the_new_bulbs_with_tag_lot_place_and_mother() {
    let world = start().and("-9 mia place pl_2 Two");
    let split = |mothers: &[&str], n_each, own: &str, place: Option<&str>| {
        Command::Split(Split {
            mothers: mothers.iter().map(|bulb| id(bulb)).collect(),
            n_each,
            own_name: own.to_owned(),
            place: place.map(id),
            act: Act::default(),
            on: Some(day(3)),
        })
    };
    let one = done(world.clone(), 5, split(&["b_1"], 1, " Tiny ", Some("pl_2"))).state();
    let [offset] = one.offsets_of(id("b_1"))[..] else {
        panic!("one offset");
    };
    assert_eq!((offset.label(), offset.place), ("Tiny", Some(id("pl_2"))));
    assert_eq!(offset.lot.shown(), Some(&id("lo_1")));
    assert!(offset.tag.shown().is_some_and(|tag| tag.parse::<Tag>().is_ok()));
    let mother = &one.bulbs[&id("b_1")];
    assert_eq!(mother.cycle().last(ActKind::OffsetSplit), Some(day(3)));
    assert_eq!(mother.place, Some(id("pl_1")), "the mother stays");

    let two = done(world.clone(), 5, split(&["b_1", "b_2"], 2, "", None)).state();
    let offsets = [two.offsets_of(id("b_1")), two.offsets_of(id("b_2"))].concat();
    let tags: BTreeSet<_> = offsets.iter().filter_map(|bulb| bulb.tag.shown()).collect();
    assert_eq!((offsets.len(), tags.len()), (4, 4));
    assert!(offsets.iter().all(|bulb| bulb.place == Some(id("pl_1"))));

    let none = done(world.clone(), 5, split(&["b_1", "b_2"], 0, "", None)).state();
    assert_eq!(none.bulbs.len(), 4, "offsets that are not kept make no bulbs");
    assert_eq!(
        refused(&world, 5, split(&["b_1"], 2, "Tiny", None)),
        Error::new(BulbRefusal::OneNameForSeveral).at(Field::Own)
    );
    assert_eq!(refused(&world, 5, split(&[], 1, "", None)), Error::new(Missing::Bulb));
}

#[test]
fn a_wrong_number_among_many_is_named_by_its_bulb() {
    let world = start();
    let height = |mm| Body::Measure(Measure { what: Measured::Height, mm: Some(mm), mm_to: None, g: None, at: None });
    let each =
        |second| Command::ObserveEach { each: vec![(id("b_1"), height(120)), (id("b_2"), height(second))], on: None };
    assert_eq!(drafts(&world, 5, each(140)).unwrap().len(), 2);
    let why = Box::new(out_of(&limits::HEIGHT_MM, 14_000).refusal);
    assert_eq!(refused(&world, 5, each(14_000)), Error::new(Refusal::OfOne { name: "two".into(), why }));
}

#[test]
fn photos_stand_with_places_and_containers_too() {
    let photo = "photo {\"hash\":\"HASH\",\"media\":\"image/jpeg\",\"n_bytes\":1,\"width_px\":1,\"height_px\":1}";
    let hash = AttachmentHash::of(b"picture");
    let photo = photo.replace("HASH", &hash.to_string());
    let world = start().and(&format!("4 mia json pl_1 {photo}"));
    let found = crate::nursery::bulb::photos_of(&world.ledger, id("pl_1"));
    assert_eq!(found.iter().map(|photo| photo.photo.hash).collect::<Vec<_>>(), [hash]);
    assert!(crate::nursery::bulb::photos_of(&world.ledger, id("b_1")).is_empty());
}

#[test]
fn a_try_from_a_notebook_is_closed_at_once_and_takes_bulbs_that_are_gone_or_busy_since() {
    let world = done(start(), 10, plan(planned(&["b_1", "b_2"], drawn_of(&[1, 1]))));
    let world = world.and("12 mia died b_3");
    let mut notebook = planned(&["b_2", "b_3", "b_4"], Allot::AsRecorded(vec![0, 1, 1]));
    notebook.start = day(-5);
    notebook.window.to = day(5);
    notebook.finished = Some(day(6));
    let closed = done(world.clone(), 20, plan(notebook.clone())).state();
    let run = closed.runs.values().find(|run| run.closed.is_some()).expect("closed");
    assert_eq!((run.started, run.closed), (Some(day(-5)), Some(day(6))));
    assert!(run.body.shown().expect("settled").typed_in);
    // The try under way keeps its bulb.
    let busy = closed.running(&closed.bulbs[&id("b_2")]).expect("still running");
    assert!(closed.runs[&busy].closed.is_none());

    let with = |change: fn(&mut PlanTry)| {
        let mut other = notebook.clone();
        change(&mut other);
        refused(&world, 20, plan(other))
    };
    let too_soon = Error::new(TryRefusal::FinishedTooSoon).at(Field::Finished);
    assert_eq!(with(|plan| plan.finished = Some(day(-6))), too_soon);
    let not_yet = Error::new(DateRefusal::NotYet(day(21))).at(Field::Finished);
    assert_eq!(with(|plan| plan.finished = Some(day(21))), not_yet);
    assert_eq!(with(|plan| plan.allot = drawn_of(&[2, 1])), too_soon);
    let busy = with(|plan| plan.finished = None).refusal;
    assert!(matches!(busy, Refusal::Try(TryRefusal::InRunningTry(..))), "{busy:?}");
    let after_its_death = with(|plan| {
        plan.start = day(12);
        plan.window.to = day(15);
        plan.finished = Some(day(16));
    });
    let gone = Refusal::Bulb(BulbRefusal::Gone { label: "three".into(), how: Gone::Died, on: day(12) });
    assert_eq!(after_its_death.refusal, gone);
}

#[test]
fn a_window_counted_from_the_start_moves_with_the_day_it_really_starts() {
    let mut later = planned(&["b_1", "b_2"], drawn_of(&[1, 1]));
    later.begin = false;
    later.counted = Some(DueDays { from: 20, to: 30 });
    let world = done(start(), 5, plan(later));
    let run = the_run(&world);
    let window = |world: &World| {
        let state = world.state();
        let window = state.runs[&run].window.settled().cloned().expect("settled");
        (window.from, window.to)
    };
    assert_eq!(window(&world), (day(40), day(40)), "as it was computed when planned");
    let started = Command::StartRun { run, on: Some(day(12)) };
    let world = done(world, 14, started);
    assert_eq!(window(&world), (day(32), day(42)));
    let state = world.state();
    assert_eq!(state.runs[&run].due_days.settled(), Some(&DueDays { from: 20, to: 30 }));
}

// What one tap in a walk says.

/// The only bulb after one tap in a walk on day 5, and after that tap was undone.
fn tapped(records: &str, tap: impl Fn(&Bulb, &mut Ids) -> Command) -> (World, World) {
    let world = start().and(records);
    let state = world.state();
    let command = tap(&state.bulbs[&id("b_1")], &mut Ids::new([7; 32]));
    let written = drafts(&world, 5, command).unwrap();
    let mut after = world;
    let written = after.save("mia", written);
    assert_eq!(written.len(), 2);
    let undone = done(after.clone(), 5, Command::TakeBack { entries: written, why: None });
    (after, undone)
}

#[test]
fn a_blind_bulb_is_a_clear_neck_and_the_end_of_its_cycle_and_both_are_undone_as_one() {
    let blind = |bulb: &Bulb, _: &mut Ids| walked::befell(Mishap::Blind, bulb, Some(id("pl_1")));
    let (after, undone) = tapped("1 mia cycle-began b_1\n3 mia look b_1 sh_1/unknown/shoot", blind);
    let cycle = after.state().bulbs[&id("b_1")].cycle().clone();
    assert_eq!((cycle.ended, cycle.blind()), (Some(day(5)), true));
    let cycle = undone.state().bulbs[&id("b_1")].cycle().clone();
    assert_eq!((cycle.ended, cycle.looks.len(), cycle.blind()), (None, 1, false));
}

#[test]
fn fit_to_sell_in_a_walk_is_a_look_too_unless_it_had_one() {
    let fit = |bulb: &Bulb, _: &mut Ids| walked::marked_fit(bulb, Some(id("pl_1")), true);
    let (after, undone) = tapped("3 mia look b_1 sh_1/scape/scape-stretching", fit);
    let cycle = after.state().bulbs[&id("b_1")].cycle().clone();
    assert_eq!((cycle.fit, cycle.furthest()), (Some(day(5)), Some(crate::ledger::body::Stage::ScapeStretching)));
    assert_eq!(cycle.last_look().map(|seen| seen.at.date()), Some(day(5)));
    let cycle = undone.state().bulbs[&id("b_1")].cycle().clone();
    assert_eq!((cycle.fit, cycle.looks.len()), (None, 1));
    let world = start().and("5 mia look b_1 sh_1/scape/scape-stretching");
    let again = walked::marked_fit(&world.state().bulbs[&id("b_1")], None, false);
    assert_eq!(drafts(&world, 5, again).unwrap().len(), 1);
}

#[test]
fn a_sheet_typed_in_late_says_blind_died_and_missing_of_its_day() {
    use crate::nursery::walk::{Marked, SheetEnd, boxes, same_box, sheet};
    let world = start().and(
        "0 mia bulb b_7,b_8,b_9 lo_1 in=pl_1
         1 mia cycle-began b_1,b_7,b_8,b_9
         2 mia look b_7 sh_7/scape/scape-in-sight",
    );
    let state = world.state();
    let of_day = sheet(&state, &world.ledger, id("pl_1"), day(4));
    let marks = [
        (id("b_1"), Marked::End(SheetEnd::Blind)),
        // It had a stalk: blind does not fit it.
        (id("b_7"), Marked::End(SheetEnd::Blind)),
        (id("b_8"), Marked::End(SheetEnd::Died)),
        (id("b_9"), Marked::End(SheetEnd::Missing)),
    ];
    let marked = |bulb: Id| marks.iter().find(|(known, _)| *known == bulb).map(|(_, marked)| *marked);
    let (command, n) = walked::typed_in(&of_day, marked, id("pl_1"), day(4), &mut Ids::new([7; 32]));
    assert_eq!(walked::n_typed(&of_day, marked), n);
    assert_eq!(n, 3);
    let after = done(world.clone(), 9, command).state();
    assert_eq!(after.bulbs[&id("b_1")].blind_since(), Some(day(4)));
    assert_eq!(after.bulbs[&id("b_8")].fate, Fate::Died { on: day(4), cause: String::new() });
    assert_eq!(after.bulbs[&id("b_9")].fate, Fate::Missing { on: day(4) });
    assert_eq!(after.bulbs[&id("b_7")].cycle().looks.len(), 1);
    // What a draft kept of answers before there were such boxes is still read.
    assert_eq!(crate::json::read::<Marked>("\"same\"").unwrap(), Marked::Answer(Answer::Same));
    assert_eq!(crate::json::read::<Marked>("\"blind\"").unwrap(), Marked::End(SheetEnd::Blind));
    assert!(boxes(&after.bulbs[&id("b_1")]).iter().all(|marked| *marked != Marked::End(SheetEnd::Blind)));
    assert_eq!(same_box(&after.bulbs[&id("b_1")]), None, "a blind bulb is not asked for");
    let (nothing, n) = walked::typed_in(&of_day, |_| None, id("pl_1"), day(4), &mut Ids::new([7; 32]));
    assert_eq!((n, drafts(&world, 9, nothing).is_err()), (0, true));
}

#[test]
fn a_broken_stalk_is_no_contradiction_and_what_is_found_in_the_dark_is_watched() {
    let broken = |bulb: &Bulb, _: &mut Ids| walked::befell(Mishap::StalkBroken, bulb, None);
    let (after, undone) = tapped("3 mia look b_1 sh_1/scape/scape-stretching", broken);
    let bulb = after.state().bulbs[&id("b_1")].clone();
    assert_eq!((bulb.cycle().contrary_looks(), bulb.cycle().last(ActKind::ScapeBroken)), (None, Some(day(5))));
    assert_eq!(bulb.last_look().map(|seen| seen.look.neck), Some(Neck::Clear));
    assert_eq!(undone.state().bulbs[&id("b_1")].cycle().last(ActKind::ScapeBroken), None);
    let mouldy = |bulb: &Bulb, ids: &mut Ids| walked::answered(Answer::Mould, bulb, Some(id("pl_1")), ids);
    let (after, undone) = tapped("1 mia laid-to-rest b_1", mouldy);
    let bulb = after.state().bulbs[&id("b_1")].clone();
    assert_eq!((bulb.inspected, bulb.last_look().is_some()), (Some(day(5)), true));
    assert_eq!(bulb.watch, Some((day(5), vec![crate::ledger::body::Finding::Mould])));
    let bulb = undone.state().bulbs[&id("b_1")].clone();
    assert_eq!((bulb.inspected, bulb.last_look()), (None, None));
}

#[test]
fn where_an_act_is_refused_its_look_is_not_recorded_either() {
    let world = start().and("3 mia look b_1 clear\n4 mia died b_1");
    let state = world.state();
    let blind = walked::befell(Mishap::Blind, &state.bulbs[&id("b_1")], None);
    let why = refused(&world, 5, blind).refusal;
    assert!(matches!(why, Refusal::Bulb(BulbRefusal::Gone { .. })), "{why:?}");
}
