//! What is typed and what comes of it: well, wrongly, at the edges.

use bloomdue_core::calendar::Date;
use bloomdue_core::error::Field;
use bloomdue_core::forecast::{Wanted, Window};
use bloomdue_core::ledger::body::{
    Act, ActKind, Body, CareJob, Climate, Count, Counted, Cover, Doing, Finding, Goal, Inspection, JobFrom, LeftHow,
    Light, Measure, Measured, Named, Note, PlaceKind, Stage,
};
use bloomdue_core::ledger::id::{Id, Ids, Noun};
use bloomdue_core::limits;
use bloomdue_core::nursery::State;
use bloomdue_core::plan::{Now, WAYS, Wish};
use bloomdue_core::record::{Allot, Circumference, LotChoice, PotInto, TrialChoice, act_fields};
use bloomdue_core::testing::{day as on, id};
use bloomdue_core::trial::ready::READY;
use proptest::prelude::*;

use super::acts::{Typed, What};
use super::new_bulbs::{self, Sizes};
use super::trial::{Chosen, GroupTyped, How, Plan};
use super::*;
use crate::formats::testing::{american, under};

const DAY: &str = "2027-01-01";

/// The field and the sentence of a refusal.
fn wrong<T>(read: Result<T, Problem>) -> (Field, String) {
    let Err(why) = read else { panic!("read as if it were right") };
    (why.field.expect("a field is to blame"), why.text)
}

fn at(field: Field, text: &str) -> (Field, String) {
    (field, text.to_owned())
}

#[test]
fn numbers_are_digits_with_blanks_around_them_at_most() {
    assert_eq!(whole(Field::Number, " -3 "), Ok(-3));
    assert_eq!(number(Field::Number, "0"), Ok(0));
    assert_eq!(digits::<u32>(Field::Number, " 12 "), Ok(12));
    assert_eq!(tenths(Field::Number, "3,5"), Ok(35));
    assert_eq!(wrong(whole(Field::Number, "3.5")), at(Field::Number, "'3.5' is not a whole number; type digits only."));
    assert_eq!(wrong(whole(Field::Number, "")), at(Field::Number, "'' is not a whole number; type digits only."));
    assert_eq!(wrong(number(Field::Number, "-1")), at(Field::Number, "Type digits only."));
    assert_eq!(wrong(number(Field::Number, "4294967296")), at(Field::Number, "Type digits only."));
    assert_eq!(wrong(digits::<u32>(Field::Number, "1 2")), at(Field::Number, "Type digits only."));
    let decimals = "'1.25' is not a number with at most one decimal; type digits, such as 28 or 27.5.";
    assert_eq!(wrong(tenths(Field::Number, "1.25")), at(Field::Number, decimals));
}

#[test]
fn days_heights_shades_and_latitudes_may_be_left_empty_where_they_may() {
    assert_eq!(day(Field::Date, DAY, "Which?"), Ok(on(0)));
    for none in ["", "2027-02-29", "1 January", "2027-1-1"] {
        assert_eq!(wrong(day(Field::Date, none, "Which?")), at(Field::Date, "Which?"), "{none}");
    }
    assert_eq!(height_mm(" "), Ok(None));
    assert_eq!(height_mm("27,5"), Ok(Some(275)));
    assert_eq!(wrong(height_mm("-1")), at(Field::Height, "Type digits only."));
    assert_eq!(
        wrong(height_mm("tall")),
        at(Field::Height, "'tall' is not a number with at most one decimal; type digits, such as 28 or 27.5.")
    );
    for none in ["", " ", "0"] {
        assert_eq!(shade_percent(none), Ok(None), "{none}");
    }
    assert_eq!(shade_percent("30 %"), Ok(Some(30)));
    assert_eq!(shade_percent("30"), Ok(Some(30)));
    assert_eq!(wrong(shade_percent("-30")), at(Field::Shade, "Type digits only."));
    let wash = Cover { what: "whitewash".to_owned(), blocks_percent: 20 };
    let both = covers(PlaceKind::Bench, ["30", "", ""], std::slice::from_ref(&wash)).expect("covers");
    assert_eq!(both.iter().map(|cover| cover.blocks_percent).collect::<Vec<_>>(), [30, 20]);
    // Layers have fields of their own; what has no name of these is cloth where it stands first.
    let all = covers(PlaceKind::Bench, ["30", "10", "5"], std::slice::from_ref(&wash)).expect("covers");
    let (typed, more) = layers(&all);
    assert_eq!((typed.each_ref().map(String::as_str), more), (["30", "10", "5"], vec![wash.clone()]));
    let named = [Cover { what: "old net".to_owned(), blocks_percent: 40 }, wash.clone()];
    assert_eq!(layers(&named), (["40".to_owned(), String::new(), String::new()], vec![wash.clone()]));
    // Where no light comes in none is kept out, and what stands in a field that is not shown is not read.
    for dark in [PlaceKind::Cellar, PlaceKind::DarkRoom, PlaceKind::ColdStore] {
        assert_eq!(covers(dark, ["-30", "", ""], std::slice::from_ref(&wash)), Ok(Vec::new()));
    }
    assert_eq!(latitude_decideg("", true), Ok(None));
    assert_eq!(latitude_decideg("34.5", true), Ok(Some(-345)));
    assert_eq!(latitude_decideg("34,5", false), Ok(Some(345)));
    assert_eq!(wrong(latitude_decideg("x", false)).0, Field::Latitude);
}

#[test]
fn a_refusal_stands_beside_the_field_that_it_names() {
    let why = "2027-02-29".parse::<Date>().unwrap_err().at(Field::Date);
    assert_eq!(Problem::from(&why).field, Some(Field::Date));
    assert_eq!(Problem::whole("No field at all.").field, None);
}

fn typed() -> Typed {
    Typed::fresh(DAY.to_owned())
}

fn every_what() -> Vec<What> {
    What::SEEN.into_iter().chain(ActKind::ALL.iter().map(|kind| What::Act(*kind))).collect()
}

#[test]
fn every_kind_of_form_is_known_by_its_word() {
    for what in every_what() {
        assert_eq!(What::of_word(what.word()), Some(what));
    }
    assert_eq!(What::of_word("nothing"), None);
}

/// An act that says all that its form asks for.
fn full(kind: ActKind) -> Act {
    let asked = |ask| act_fields::asks(kind).contains(&ask);
    let said = |text: &str| Some(text.to_owned());
    let left = asked(act_fields::Ask::How);
    Act {
        place: asked(act_fields::Ask::Place).then(|| id("pl_1")),
        container: asked(act_fields::Ask::Container).then(|| id("co_1")),
        with: said("water"),
        condition: said("good"),
        how: left.then_some(LeftHow::Given),
        stage: left.then_some(Stage::FirstFlower),
        fit: left,
        whom: said("Ann"),
        cause: said("rot"),
        until: asked(act_fields::Ask::Until).then(|| on(9)),
        note: said("as usual"),
        ..Act::default()
    }
}

#[test]
fn a_record_that_is_opened_and_saved_says_what_it_said() {
    for kind in ActKind::ALL {
        let act = full(*kind);
        let opened = Typed::of(&Body::Act(*kind, act.clone()), DAY.to_owned());
        assert_eq!(opened.act(*kind, act.clone()), Ok(act), "{kind:?}");
    }
    for (what, body) in [
        (
            What::Inspection,
            Body::Inspection(Inspection {
                findings: vec![Finding::ALL[0]],
                watch: true,
                note: Some("red".to_owned()),
                ..Inspection::default()
            }),
        ),
        (What::Light, Body::Light(Light { ppfd_umol: Some(300), ..Light::default() })),
        (
            What::Climate,
            Body::Climate(Climate { temperature_dc: Some(-35), humidity_percent: Some(80), ..Climate::default() }),
        ),
    ] {
        assert_eq!(What::of(&body), Some(what));
        assert_eq!(Typed::of(&body, DAY.to_owned()).body(what), Ok(body));
    }
    let measure = |what, mm, g| Body::Measure(Measure { what, mm, mm_to: None, g, at: None });
    for body in [
        measure(Measured::Weight, None, Some(120)),
        measure(Measured::Height, Some(275), None),
        Body::Count(Count { what: Counted::Leaves, n: 3 }),
        Body::Note(Note { text: "two\nlines".to_owned() }),
        Body::BulbName(Named { name: "Old one".to_owned() }),
    ] {
        assert!(value::label(&body).is_some());
        assert_eq!(value::with(body.clone(), &value::typed(&body)), Ok(body));
    }
    let weight = measure(Measured::Weight, None, None);
    assert_eq!(wrong(value::with(weight, "heavy")).0, Field::Value);
}

#[test]
fn what_an_act_does_not_ask_for_is_kept_and_not_taken_from_the_form() {
    let form = Typed { place: Some(id("pl_9")), until: "tomorrow".to_owned(), fit: true, ..typed() };
    let before = Act { place: Some(id("pl_1")), job: Some("feed".to_owned()), ..Act::default() };
    let act = form.act(ActKind::Watered, before.clone()).unwrap();
    assert_eq!((act.place, act.job, act.until, act.how, act.fit), (before.place, before.job, None, None, false));
    assert_eq!(
        wrong(form.act(ActKind::Postponed, Act::default())),
        at(Field::Until, "Choose the day on which it happened.")
    );
}

#[test]
fn what_is_seen_is_read_with_its_number() {
    let form = |number: &str, second: &str| Typed { number: number.to_owned(), second: second.to_owned(), ..typed() };
    let height = Measure { what: Measured::Height, mm: Some(275), mm_to: None, g: None, at: None };
    assert_eq!(form("27.5", "").body(What::Measure), Ok(Body::Measure(height)));
    let weight = Typed { measured: Measured::Weight, ..form("120", "") };
    assert!(matches!(weight.body(What::Measure), Ok(Body::Measure(Measure { g: Some(120), mm: None, .. }))));
    assert_eq!(form("4", "").body(What::Count), Ok(Body::Count(Count { what: Counted::Leaves, n: 4 })));
    assert_eq!(wrong(form(" ", "").body(What::Count)), at(Field::Number, "Type digits only."));
    assert_eq!(wrong(form("four", "").body(What::Count)).0, Field::Number);
    assert_eq!(form("", "900").body(What::Light), Ok(Body::Light(Light { lux: Some(900), ..Light::default() })));
    assert_eq!(wrong(form("12.5", "").body(What::Light)).0, Field::Number);
    assert_eq!(wrong(form("", "1.5").body(What::Climate)).0, Field::Number);
    assert_eq!(typed().on(), Ok(on(0)));
    assert_eq!(wrong(Typed::fresh(String::new()).on()), at(Field::Date, "Choose the day on which it happened."));
}

#[test]
fn offsets_and_pots_are_read() {
    let split = typed().split(vec![id("b_1")], Act::default(), None).unwrap();
    assert_eq!((split.n_each, split.mothers), (1, vec![id("b_1")]));
    let none = Typed { n_offsets: "some".to_owned(), ..typed() };
    assert_eq!(wrong(none.split(Vec::new(), Act::default(), None)), at(Field::Offsets, "Type digits only."));
    let known = Typed { container: Some(id("co_1")), ..typed() };
    assert!(matches!(known.pot_into(), Ok(Some(PotInto::Known(pot))) if pot == id("co_1")));
    assert!(matches!(typed().pot_into(), Ok(None)));
    // A name wins over what was chosen before.
    let named = Typed { container_name: "Tray".to_owned(), container_width: "12,5".to_owned(), ..known };
    assert!(matches!(named.pot_into(), Ok(Some(PotInto::New(pot))) if pot.inner_width_mm == Some(125)));
    let wide = Typed { container_width: "wide".to_owned(), ..named };
    assert_eq!(wrong(wide.pot_into()).0, Field::Width);
}

#[test]
fn a_job_opened_and_saved_stays_and_a_changed_one_loses_its_grade() {
    let job = CareJob { grade: Some(bloomdue_core::source::Source::Trial), ..care_job::fresh(on(0)) };
    let open = care_job::Typed::of(&job);
    assert_eq!(open.job(&job), Ok(job.clone()));
    let words = care_job::Typed { words: "with care".to_owned(), ..open.clone() };
    assert!(words.job(&job).unwrap().grade.is_some(), "words change no number");
    let again = care_job::Typed { again: true, ..open.clone() };
    let again = again.job(&job).unwrap();
    assert_eq!((again.every_days, again.grade), (Some(7), None));
    let after = care_job::Typed { from: JobFrom::Act, after: Some(ActKind::Potted), ..open.clone() };
    let after = after.job(&job).unwrap();
    assert_eq!((after.date, after.after, after.stage), (None, Some(ActKind::Potted), None));
    let own = care_job::Typed { doing: Doing::Own, ..open.clone() };
    assert_eq!(own.job(&job).unwrap().act, None);
    let every = care_job::Typed { again: true, every_days: "weekly".to_owned(), ..open.clone() };
    assert_eq!(wrong(every.job(&job)).0, Field::Every);
    // Days after something are read only where they count.
    let late = care_job::Typed { after_days: "x".to_owned(), ..open.clone() };
    assert!(late.job(&job).is_ok());
    assert_eq!(wrong(care_job::Typed { from: JobFrom::Act, ..late }.job(&job)).0, Field::After);
    let loose = care_job::Typed { tolerance_days: "-1".to_owned(), ..open };
    assert_eq!(wrong(loose.job(&job)), at(Field::Tolerance, "Type digits only."));
}

#[test]
fn new_bulbs_are_read_with_their_sizes_and_names() {
    let fresh = new_bulbs::Typed::fresh();
    let read = |form: &new_bulbs::Typed| form.bulbs(LotChoice::Known(id("lo_1")), id("pl_1"));
    let new = read(&fresh).unwrap();
    assert!(matches!((new.n_bulbs, new.circumference), (12, Circumference::Unknown)));
    let with = |sizes, low: &str, high: &str, each: &str| new_bulbs::Typed {
        sizes,
        low: low.to_owned(),
        high: high.to_owned(),
        each: each.to_owned(),
        own: " Ann \n\n Bob".to_owned(),
        ..new_bulbs::Typed::fresh()
    };
    use new_bulbs::Sizes;
    let one = read(&with(Sizes::Grade, "26", "", "")).unwrap();
    assert!(matches!(one.circumference, Circumference::Range(260, 260)));
    assert_eq!(one.own_names, ["Ann", "Bob"]);
    assert!(matches!(read(&with(Sizes::Grade, "26", "28", "")).unwrap().circumference, Circumference::Range(260, 280)));
    let each = read(&with(Sizes::Each, "", "", "26 27,5;28\n")).unwrap().circumference;
    assert_eq!(each.typed_mm(), [260, 275, 280]);
    assert_eq!(wrong(read(&with(Sizes::Grade, "", "", ""))).0, Field::Circumference);
    assert_eq!(wrong(read(&with(Sizes::Grade, "26", "x", ""))).0, Field::Circumference);
    assert_eq!(wrong(read(&with(Sizes::Each, "", "", "26 big"))).0, Field::Circumference);
    for n in ["", "-1", "0", "100000000", "twelve"] {
        assert_eq!(wrong(read(&new_bulbs::Typed { n_bulbs: n.to_owned(), ..fresh.clone() })).0, Field::Bulbs, "{n}");
    }
    let text = str::to_owned;
    let name = |choice| match choice {
        LotChoice::New(lot) => (lot.name, lot.cultivar),
        LotChoice::Known(_) => panic!("a known lot"),
    };
    assert_eq!(name(new_bulbs::lot(None, text("Red"), text(" "))), (text("Red"), text("Red")));
    assert_eq!(name(new_bulbs::lot(None, text("Red"), text("Box 2"))), (text("Box 2"), text("Red")));
    assert!(matches!(new_bulbs::lot(Some(id("lo_1")), text("Red"), text("")), LotChoice::Known(_)));
}

fn wish() -> Wish {
    Wish {
        window: Window { from: on(100), to: on(107) },
        stage: Wanted::InFlower,
        wanted: 8,
        assurance: 0.9,
        at_hand: 12,
        now: Now::RestingSince(on(-20)),
        rest_weeks: 9,
        treatment: Some(1),
        lot: None,
        staggered: 2,
    }
}

#[test]
fn a_wish_opened_is_the_wish_again_and_what_is_wrong_stands_beside_its_field() {
    let form = wish::Typed::of(&wish(), &[], "Easter".to_owned(), Some(WAYS[0].way));
    assert_eq!(form.wish(on(0)), Ok(wish()));
    assert_eq!(form.way(), Some(WAYS[0].way));
    let ticked: Vec<Id> = (1..=9).map(|n| id(&format!("b_{n}"))).collect();
    let of_records = wish::Typed::of(&Wish { now: Now::InLeaf, ..wish() }, &ticked, String::new(), None);
    assert_eq!(of_records.wish(on(0)), Ok(Wish { at_hand: 9, now: Now::InLeaf, ..wish() }));
    assert_eq!(of_records.way(), None);
    let text = str::to_owned;
    type Typed = wish::Typed;
    for (changed, field, words) in [
        (Typed { from: text(""), ..form.clone() }, Field::Window, "Choose the day."),
        (Typed { wanted: text("many"), ..form.clone() }, Field::Wanted, "Type a number."),
        (Typed { number: text("-3"), ..form.clone() }, Field::AtHand, "Type a number."),
        (Typed { since: text(""), ..form.clone() }, Field::Since, "Choose the day."),
        (Typed { weeks: text("9.5"), ..form.clone() }, Field::Rest, "Type a number."),
    ] {
        assert_eq!(wrong(changed.wish(on(0))), at(field, words));
    }
    // What core finds no sense in is a sentence beside one of the fields, too.
    let (field, text) = wrong(form.wish(on(365)));
    assert_eq!(field, Field::Window);
    assert!(text.ends_with('.') && text.starts_with(char::is_uppercase), "{text}");
}

/// A try of two groups with four bulbs.
fn try_of_two() -> Plan {
    let mut ids = Ids::new([1; 32]);
    let mut plan = Plan::fresh(None, &State::default(), on(0));
    plan.text = "Which?".to_owned();
    plan.name = "Easter".to_owned();
    for (group, name) in plan.groups.iter_mut().zip(["long", "short"]) {
        group.name = name.to_owned();
    }
    plan.chosen =
        (0..4).map(|n| Chosen { unit: ids.draw(Noun::Bulb), size_mm: 260 + n, arm: Some(n as u32 % 2) }).collect();
    plan
}

#[test]
fn which_groups_are_compared_is_declared_with_the_rule() {
    use bloomdue_core::ledger::body::Family;
    let family = |plan: &Plan| plan.to_command(on(0), [5; 32]).unwrap().rule.family;
    let mut plan = try_of_two();
    assert_eq!(family(&plan), None, "two groups are one pair");
    let group = |name: &str| GroupTyped { name: name.to_owned(), ..GroupTyped::default() };
    plan.groups.push(group("middling"));
    assert!(plan.may_choose_pairs());
    assert_eq!(family(&plan), Some(Family::AllPairs));
    let with_control = Plan { all_pairs: Some(false), ..plan.clone() };
    assert_eq!(family(&with_control), Some(Family::WithControl));
    let by_hand = Plan { how: How::ByHand, chosen: plan.chosen.clone(), ..plan.clone() };
    assert_eq!(family(&by_hand), None, "groups chosen by hand get no test");
    let mut four = plan.clone();
    four.groups.push(group("longest"));
    assert_eq!(family(&four), Some(Family::WithControl));
    four.groups.iter_mut().for_each(|group| group.control = false);
    assert_eq!(family(&four), Some(Family::AllPairs), "with no control there is nothing else");
    assert!(!four.may_choose_pairs());
}

#[test]
fn a_try_is_read_from_its_five_steps() {
    let plan = try_of_two();
    assert_eq!(Plan::from_bytes(&plan.to_bytes()), Some(plan.clone()), "a draft is the plan again");
    assert_eq!(Plan::from_bytes(b"{}"), None);
    let read = plan.to_command(on(0), [5; 32]).unwrap();
    assert_eq!((read.start, read.begin, read.look_interval_days), (on(0), true, 4));
    assert!(matches!(&read.allot, Allot::Draw { seed, sizes, .. } if *seed == [5; 32] && *sizes == [2, 2]));
    assert!(matches!(&read.trial, TrialChoice::New { groups, factors, .. }
        if groups.len() == 2 && factors[0].name == crate::trials::what_differs_word()));
    let by_hand = Plan { how: How::ByHand, ..plan.clone() }.to_command(on(0), [5; 32]).unwrap();
    assert!(matches!(by_hand.allot, Allot::ByHand(arms) if arms == [0, 1, 0, 1]));
    let later = Plan { start: on(3).to_string(), ..plan.clone() }.to_command(on(0), [5; 32]).unwrap();
    assert!(!later.begin, "it is only planned");
    let counted = Plan { from_start: true, to_days: "60".to_owned(), ..plan };
    let read = counted.to_command(on(0), [5; 32]).unwrap();
    assert_eq!(read.counted.map(|days| (days.from, days.to)), Some((0, 60)));
    assert_eq!(counted.computed(), Some((read.window.from, read.window.to)));
}

#[test]
fn what_differs_is_a_job_of_its_group() {
    let jobs = |plan: &Plan| {
        let read = plan.to_command(on(0), [5; 32]).expect("a try");
        let told = |(slot, job): &(String, CareJob)| (slot.clone(), job.act, job.words.clone(), job.from, job.date);
        read.jobs.iter().map(|own| own.iter().map(told).collect::<Vec<_>>()).collect::<Vec<_>>()
    };
    // The first group gets what would be done anyway; without a day of its own it is done when the try starts.
    let bath = Plan { factor: "bath".to_owned(), ..try_of_two() };
    let words = "bath: short".to_owned();
    assert_eq!(jobs(&bath), [vec![], vec![("treatment".to_owned(), None, words.clone(), JobFrom::RunStart, None)]]);
    let brought_on = Plan { pot_up: Some(on(40)), ..bath.clone() };
    assert_eq!(jobs(&brought_on)[1], [("treatment".to_owned(), None, words, JobFrom::Date, Some(on(40)))]);
    // What a notebook tells of was done.
    assert_eq!(jobs(&Plan { how: How::Recorded, ..bath }), [vec![], vec![]]);
    let mut mix = try_of_two();
    mix.take_ready(READY.iter().find(|ready| ready.key == "mix"), on(0));
    let acts: Vec<_> = jobs(&mix).iter().map(|own| own.iter().map(|job| job.1).collect::<Vec<_>>()).collect();
    assert_eq!(acts, [[Some(ActKind::Potted)], [Some(ActKind::Potted)]]);
}

#[test]
fn what_is_wrong_with_a_try_names_the_step_that_it_belongs_to() {
    let plan = try_of_two();
    let text = str::to_owned;
    let mut value = plan.clone();
    value.groups[0].value = text("long");
    let mut unplaced = Plan { how: How::ByHand, ..plan.clone() };
    unplaced.chosen[2].arm = None;
    let mut counts = Plan { how: How::Counts, ..plan.clone() };
    counts.groups[1].counts[3] = text("few");
    for (changed, field) in [
        (Plan { start: text(""), ..plan.clone() }, Field::Start),
        (Plan { to: text(""), ..plan.clone() }, Field::Window),
        (Plan { goal: Goal::InWindow, from: text(""), ..plan.clone() }, Field::Window),
        (Plan { from_start: true, to_days: text("x"), ..plan.clone() }, Field::Window),
        (Plan { every_days: text(""), ..plan.clone() }, Field::Looks),
        (Plan { every_days: text("-4"), ..plan.clone() }, Field::Looks),
        (Plan { how: How::Recorded, finished: text("then"), ..plan }, Field::Finished),
        (value, Field::Treatments),
        (unplaced, Field::Groups),
        (counts, Field::Counts),
    ] {
        assert_eq!(wrong(changed.to_command(on(0), [5; 32])).0, field);
    }
}

#[test]
fn counts_of_a_notebook_left_empty_are_none() {
    let mut plan = Plan { how: How::Counts, finished: on(-1).to_string(), ..try_of_two() };
    plan.groups[0].counts[0] = " 3 ".to_owned();
    let read = plan.to_command(on(0), [5; 32]).unwrap();
    assert!(read.units.is_empty());
    assert_eq!(read.finished, Some(on(-1)));
    let Allot::Counts(tallies) = read.allot else { panic!("{:?}", read.allot) };
    let counts: Vec<u32> = tallies.iter().map(|tally| tally.n_in_time).collect();
    assert_eq!(counts, [3, 0]);
}

#[test]
fn every_ready_question_fills_in_a_try_that_can_be_read() {
    for ready in READY {
        let mut plan = try_of_two();
        plan.take_ready(Some(ready), on(0));
        let read = plan.to_command(on(0), [5; 32]);
        assert!(read.is_ok(), "{}: {:?}", ready.key, read.err());
        assert_eq!(plan.groups.len(), ready.groups.len());
        assert!(!plan.factor.is_empty() && plan.groups.iter().all(|group| !group.name.is_empty()), "{}", ready.key);
    }
}

proptest! {
    #[test]
    fn whatever_is_typed_is_read_or_refused_in_a_sentence(text in "\\PC{0,20}", date in "[0-9-]{0,12}") {
        let form = Typed {
            number: text.clone(),
            second: text.clone(),
            n_offsets: text.clone(),
            container_name: text.clone(),
            container_width: text.clone(),
            until: date.clone(),
            ..Typed::fresh(date.clone())
        };
        let mut whys = vec![form.on().err(), form.pot_into().err(), height_mm(&text).err(), shade_percent(&text).err()];
        whys.push(form.split(Vec::new(), Act::default(), None).err());
        whys.extend(every_what().into_iter().map(|what| form.body(what).err()));
        for why in whys.into_iter().flatten() {
            prop_assert!(why.field.is_some() && why.text.ends_with(['.', '!', '?']), "{:?}", why);
        }
    }

    #[test]
    fn a_day_that_is_read_is_written_the_same(n in 0_i64..20_000) {
        let date: Date = on(n - 10_000);
        prop_assert_eq!(day(Field::Date, &date.to_string(), ""), Ok(date));
    }
}

#[test]
fn where_inches_and_fahrenheit_are_chosen_they_are_read_shown_and_named_in_refusals() {
    under(american(), || {
        let form = |number: &str| Typed { number: number.to_owned(), ..typed() };
        let Ok(Body::Measure(measure)) = form("10 1/2").body(What::Measure) else { panic!("a measure") };
        assert_eq!(measure.mm, Some(267));
        assert_eq!(value::typed(&Body::Measure(measure)), "10 1/2");
        let Ok(body) = form("69").body(What::Climate) else { panic!("a reading") };
        assert_eq!(Typed::of(&body, DAY.to_owned()).number, "69");
        assert_eq!(height_mm("4½"), Ok(Some(114)));
        let named = Typed { container_name: "Tray".to_owned(), container_width: "6".to_owned(), ..typed() };
        assert!(matches!(named.pot_into(), Ok(Some(PotInto::New(pot))) if pot.inner_width_mm == Some(152)));
        let sizes = |sizes, low: &str, each: &str| {
            let (low, each) = (low.to_owned(), each.to_owned());
            let typed = new_bulbs::Typed { sizes, low, each, ..new_bulbs::Typed::fresh() };
            typed.bulbs(LotChoice::Known(id("lo_1")), id("pl_1")).map(|new| new.circumference.typed_mm())
        };
        assert_eq!(sizes(Sizes::Grade, "11", ""), Ok(vec![279, 279]));
        assert_eq!(sizes(Sizes::Each, "", "10 1/2 11\n10.5"), Ok(vec![267, 279, 267]));
        assert_eq!(
            wrong(sizes(Sizes::Grade, "10 1/3", "")),
            at(Field::Circumference, "'10 1/3' is no length in inches; type it such as 10 1/2 or 10.5.")
        );
        let too_tall = limits::HEIGHT_MM.check(mm("100")).map_err(|why| Problem::from(&why).text);
        assert_eq!(
            too_tall,
            Err("Height must be from 0 to 59 1/16 in, not 100: no stalk of a potted bulb stands taller than 59 in."
                .to_owned())
        );
        let too_hot = limits::TEMPERATURE_DC.check(656).map_err(|why| Problem::from(&why).text);
        assert!(too_hot.is_err_and(|text| text.starts_with("Temperature must be from -22 to 140 °F, not 150: colder")));
    });
}

fn mm(text: &str) -> i64 {
    length_mm(Field::Height, text).expect("a length")
}
