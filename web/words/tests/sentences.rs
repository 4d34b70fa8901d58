//! What growers read: every sentence that counts something once with none, one, two and twenty-one, against
//! `sentences.txt`; and no label or word of an enumeration that says nothing.
//!
//! `BLOOMDUE_WRITE=1 cargo test -p bloomdue-words` writes `sentences.txt` anew: read the difference before it is kept.

use std::fmt::Write as _;
use std::path::Path;

use bloomdue_core::calendar::Date;
use bloomdue_core::call::{Accuracy, past::OfKind};
use bloomdue_core::care::after_walk::Ended;
use bloomdue_core::forecast::{Begins, Counted, InWindow, Offered, Wanted, Window};
use bloomdue_core::handover::json::Refusal as Unreadable;
use bloomdue_core::handover::labels::Paper;
use bloomdue_core::handover::{Brings, Brought};
use bloomdue_core::holidays::MothersDay;
use bloomdue_core::inspect::{Ailment, Loss};
use bloomdue_core::ledger::body::Counted as CountedThing;
use bloomdue_core::ledger::body::{
    ActKind, Check, ContainerKind, Finding, LeftHow, Measured, PlaceKind, ShootKind, Side, Stage,
};
use bloomdue_core::light::place::{Class, NoLight};
use bloomdue_core::nursery::walk::{Answer, Mishap};
use bloomdue_core::plan::spend::log::{Came, Said, SaidOfGroup, TurnedOut};
use bloomdue_core::plan::spend::{GoOn, Purse, Spending, Split};
use bloomdue_core::plan::{CameOf, Moved, Now, Plan, Wish};
use bloomdue_core::potting::mix::{Needed, Thing, Weight};
use bloomdue_core::published::Claim;
use bloomdue_core::record::inspected::Becomes;
use bloomdue_core::sight::lay::Handle;
use bloomdue_core::stock::Shows;
use bloomdue_core::testing::{World, day, id};
use bloomdue_core::trial::outcome::Kind;
use bloomdue_core::trial::ready::READY;
use bloomdue_core::trial::result::soundness::SoundGroup;
use bloomdue_core::trial::standing::{InTime, Standing, standing};
use bloomdue_core::trial::warmth::Stretch;
use bloomdue_words::form::Problem;
use bloomdue_words::form::wish::Typed;
use bloomdue_words::glossary::Term;
use bloomdue_words::knowledge::Page;
use bloomdue_words::plan::{Asked, Piece};
use bloomdue_words::told::{BrowserRefused, Copied, Gone, NotMade, NotTakenIn, NotWorkedOut, Opened, StoreError};
use bloomdue_words::{
    acts, bulb, call, care, coming, common, dates, doubts, due, evening, files, formats, glossary, holidays, inspect,
    jobs, knowledge, labels, light, measure, methods, mistakes, nursery, over_tries, places, plan, potting, published,
    records, report, results, same, scapes, scored, sheet, show, soundness, spend, start, stock, tables, trials, walk,
    work,
};

/// Gives what a sentence says as its lines.
trait Told {
    fn told(self) -> Vec<String>;
}

impl Told for String {
    fn told(self) -> Vec<String> {
        vec![self]
    }
}

impl Told for &str {
    fn told(self) -> Vec<String> {
        vec![self.to_owned()]
    }
}

impl Told for Option<String> {
    fn told(self) -> Vec<String> {
        self.into_iter().collect()
    }
}

impl Told for Vec<String> {
    fn told(self) -> Vec<String> {
        self
    }
}

/// One of the sentences by its name, and what it says of a number.
type Counting = (&'static str, Box<dyn Fn(i64) -> Vec<String>>);

macro_rules! counting {
    ($($module:ident::$name:ident |$n:ident: $number:ty| ($($argument:expr),* $(,)?);)*) => {
        vec![$((
            concat!(stringify!($module), "::", stringify!($name)),
            Box::new(|n: i64| {
                let $n = n as $number;
                $module::$name($($argument),*).told()
            }) as Box<dyn Fn(i64) -> Vec<String>>,
        )),*]
    };
}

fn in_window(n: usize) -> InWindow {
    let few = n as u32;
    InWindow {
        counted: Counted { p10: few / 2, p50: few, p90: few.min(20) + 1, mean: few.into() },
        at_least: vec![1.0; n + 1],
    }
}

fn came_of(n: usize) -> CameOf {
    CameOf { wanted: Wanted::InFlower, n_bulbs: 21, n_came: n, n_unsaid: 21 - n }
}

fn brings(n: u32) -> Brings {
    let names = (1..=n.min(3)).map(|at| format!("R{at}"));
    Brings { what: Brought::Bulb, n, names: names.collect() }
}

/// Days that begin with a month, so many of them.
fn window(n: i64) -> Window {
    let from = Date::new(2027, 2, 1).unwrap();
    Window { from, to: from.add_days(n).unwrap() }
}

fn offered() -> Offered {
    let (runs, plans) = (vec![id("ru_1")], Vec::new());
    Offered { runs, plans, name: "Easter".to_owned(), window: window(40), wanted: Wanted::InFlower }
}

/// Of `n` bulbs and six more of the crop, all `n` in the try.
fn split_of(n: u32) -> Split {
    Split {
        n: vec![6, n],
        now: f64::from(n),
        costs: f64::from(n),
        gain: 0.5,
        changes: 0.4,
        gain_then: (1.0, f64::from(n)),
        chance: 0.9,
    }
}

fn spending_of(n: u32, go_on: GoOn) -> Spending {
    Spending {
        purse: Purse { at_hand: n, wanted: n, assurance: 0.9, seasons: n },
        one_bulb: vec![0.5, 0.5],
        best: vec![0.6, 0.4],
        crop: 0,
        control: 1,
        splits: vec![split_of(n)],
        advised: 0,
        go_on,
    }
}

fn turned_out(n: u32) -> TurnedOut {
    let said = SaidOfGroup { advised: n, chosen: n, permille: 500 };
    TurnedOut {
        run: id("ru_1"),
        trial: id("tr_1"),
        said_on: day(0),
        said: Said { seasons: n, at_hand: n, wanted: n, groups: vec![said] },
        groups: vec![Came { group: id("gr_a"), said: Some(said), n, in_time: n, open: n }],
        is_over: true,
    }
}

/// What two ways are called.
fn ways() -> Vec<String> {
    vec!["8 weeks of rest".to_owned(), "12 weeks of rest".to_owned()]
}

fn copied(n: u64) -> Copied {
    Copied { at: (n != 1).then(|| "2027-03-14 08:40".to_owned()), n_since: n }
}

fn moved(to_start: Option<u32>) -> Moved {
    Moved { days: 7, possible: true, chance: 0.9, to_start }
}

/// What a bulb lost, beside so many others.
fn lost(n: i64) -> Loss {
    let others = (n > 0).then_some((n * 10, n as usize));
    Loss { from: (day(0), 400), now_g: 400 - 4 * n, permille: 10 * n, others }
}

fn sound_group(n: u32) -> SoundGroup {
    let causes = if n > 0 { vec![("rot".to_owned(), n)] } else { Vec::new() };
    SoundGroup {
        group: id("gr_a"),
        n_sound: n,
        n_watched: n,
        n_unfit: n,
        n_died: n,
        n_not_inspected: n,
        n_gone: n,
        causes,
    }
}

fn needed(n: u64) -> Needed {
    Needed { ml: n * 49_000, bags: Some(n), left_ml: Some(n * 1000) }
}

fn potted(n: u32) -> bloomdue_core::potting::Answer {
    bloomdue_core::potting::Answer {
        to_surface_ml: 1600,
        displaced_ml: 300,
        mix_ml: 1300,
        loose_ml: 1300 * u64::from(n),
        parts: Vec::new(),
        room: None,
        below_mm: None,
        weight: Weight { g: 1700, assumed: true },
    }
}

fn plan_of(n: u32) -> Plan {
    Plan {
        from_published: false,
        met: true,
        to_start: n,
        chance: 0.9,
        assured: n / 2,
        ladder: vec![(n, 0.5)],
        lots: Vec::new(),
        moved: Vec::new(),
        nearest: Vec::new(),
    }
}

fn wish(n: u32) -> Wish {
    Wish {
        window: window(n.into()),
        stage: Wanted::FitToSell,
        wanted: n,
        assurance: 0.9,
        at_hand: n,
        now: Now::RestingSince(day(-40)),
        rest_weeks: n,
        treatment: None,
        lot: None,
        staggered: n,
    }
}

/// A sentence with its parts in brackets.
fn asked(n: u32) -> String {
    let pieces = plan::asked(&Typed::of(&wish(n), &[], String::new(), None), today()).into_iter();
    let words = pieces.map(|piece| match piece {
        Piece::Text(text) => text.to_owned(),
        Piece::Ask(_, words) => format!("[{words}]"),
    });
    words.collect()
}

fn today() -> Date {
    day(0)
}

fn every_counting() -> Vec<Counting> {
    counting! {
        bulb::group_line |n: u32| ("long", "Which?", n);
        bulb::show_all |n: usize| (n);
        bulb::same_tag |n: usize| (n);
        bulb::shoot_n |n: u32| (n);
        bulb::shoot_known |n: u32| (n);
        call::past |n: usize| (n, 21);
        call::call_place |n: u32| ("M4K", n);
        call::rests_on |n: usize| (n);
        call::practised |n: usize| (n, 21);
        call::called |n: u32| (n * 45);
        call::expected |n: u32| (Some(n * 45));
        call::days_gained |n: usize| (&vec![3_i64; n]);
        call::person_row |n: usize| ("Ana", &told_accuracy(n), &[3, 4]);
        call::size_bears |n: usize| ((284, 284), n);
        measure::handle |n: u32| (Handle::Foot(0), Some(n));
        measure::letter |n: u32| (Handle::Foot(0), Some(n));
        measure::take_shade |n: u32| (n);
        measure::laid |n: usize| (n, 21, "Foot");
        bulb::container_under |n: usize| (n);
        care::for_many |n: usize| ("Bench 2", n);
        care::all_but |n: usize| (n, 21);
        care::save_for |n: usize| (n);
        care::n_of |n: usize| (n, 21);
        care::done |n: usize| ("watered", n, false);
        coming::sentence |n: usize| (Wanted::FitToSell, &in_window(n), 21, window(n as i64), today());
        coming::on_due |n: usize| (&offered(), Some((&in_window(n), 21)), today());
        coming::hardly |n: i64| (window(n), today());
        coming::in_window |n: usize| ("Easter", &in_window(n), 21);
        coming::at_least |n: usize| (n, 0.8);
        coming::planned_beginning |n: usize| ((Begins::RestEnds, n, day(9), day(12)), today());
        coming::unforeseen |n: usize| (n);
        plan::came_of |n: usize| (&came_of(n), 9, window(9), today());
        spend::seasons |n: u32| (n);
        spend::decided |n: u32| (&turned_out(n));
        spend::came |n: u32| (&turned_out(n).groups[0], &bloomdue_core::nursery::State::default());
        spend::costs |n: u32| (&split_of(n));
        spend::slider_value |n: u32| (&split_of(n), &spending_of(n, GoOn::Try));
        spend::enough |n: u32| (&split_of(n), &spending_of(n, GoOn::Try));
        spend::go_on |n: u32| (&spending_of(n, GoOn::Try), &ways());
        spend::go_on |n: u32| (&spending_of(n, GoOn::AllNeeded), &ways());
        spend::go_on |n: u32| (&spending_of(n, GoOn::NothingToTell), &ways());
        spend::go_on |n: u32| (&spending_of(n, GoOn::Settled { rival: 1, n_each: n, ahead: 0.35 }), &ways());
        spend::go_on |n: u32| (&spending_of(n, GoOn::Settled { rival: 1, n_each: n, ahead: 2.0 }), &ways());
        files::brings |n: u32| (&brings(n));
        coming::on_due_unknown |n: usize| (&offered(), n, today());
        coming::started_unknown |n: usize| (n);
        coming::not_counted |n: usize| (n);
        common::plural |n: usize| (n, "try", "tries");
        common::bulbs |n: usize| (n);
        formats::length |n: i64| (n);
        formats::length_number |n: i64| (n);
        common::circumference |n: i64| ((n, 280));
        common::ordinal_try |n: u32| (n);
        doubts::they_are_inches |n: i64| (&[n * 10, 280]);
        doubts::it_is_right |n: usize| (280, n);
        evening::to_give |n: usize| (Some("Ana"), n, n);
        evening::not_here |n: u64| (n);
        evening::on_no_other |n: usize| (n);
        evening::give_back |n: usize| ("Ana", n);
        evening::page_of |n: usize| ("Vale", "MR", "3 May", n);
        labels::how_many |n: usize| (n, n.div_ceil(21), Paper::A4);
        labels::page_said |n: usize| (n, 1, 2);
        labels::to_label |n: usize| (n);
        due::torn |n: usize| (n);
        due::not_copied |n: u64| (n);
        due::yours_today |n: usize| (n);
        due::late |n: i64| (n);
        due::n_jobs |n: usize| (n);
        due::tally |n: usize| (n, 21);
        due::tick |n: usize| ("Water", n);
        due::untick |n: usize| ("Water", n);
        due::window_left |n: i64| (-n);
        due::disagreements |n: usize| (n);
        files::would_bring |n: usize| (n, 0);
        files::would_bring |n: usize| (n, 2);
        files::take_it_in_all |n: usize| (n);
        files::settle_after |n: usize| (n);
        files::n_here |n: usize| (n);
        files::later |n: usize| (n, day(1), day(9), today());
        files::take_all_back_under |n: usize| (n);
        files::is_taken_back |n: usize| (n);
        files::problems |n: usize| (&[], n);
        files::taken |n: usize| (n, n);
        files::acts_twice |n: usize| (n);
        files::new_disagreements |n: usize| (n);
        files::n_records |n: usize| (n, n);
        files::last_copy |n: usize| (n, &copied(n as u64));
        files::room |n: u64| (Some(n * 1_000_000), Some(9_000_000_000));
        files::wipe_risk |n: usize| (n, &copied(n as u64));
        files::n_values |n: usize| (n);
        files::waiting_for_others |n: usize| (n);
        inspect::again_title |n: usize| (n);
        inspect::asked_of |n: usize| (n, 11);
        inspect::loss |n: i64| (&lost(n), day(9));
        soundness::group |n: u32| (&sound_group(n), &World::of("").state());
        potting::litres |n: u64| (n);
        potting::say |n: u32| (&potted(n), n);
        potting::bags_of |n: u64| (&needed(n), Some(50));
        nursery::enough |n: usize| (&[(Stretch::Rest, n)]);
        jobs::take_all |n: usize| (n);
        jobs::taken_all |n: usize| (n);
        jobs::found_firm |n: usize| (n);
        mistakes::moved |n: usize| (n);
        nursery::latitude |n: i64| (n * 10 - 100);
        nursery::number |n: i64| (n * 10 - 100);
        over_tries::class_of_try |n: u32| (n, 0);
        over_tries::n_that_count |n: usize| (n, 21);
        places::place_under |n: u32| (PlaceKind::Bench, n, None);
        places::added |n: usize| (n);
        plan::move_window |n: i64| (n);
        plan::sure |n: u32| (n);
        plan::all_ready |n: usize| (n);
        plan::all_resting |n: usize| (n);
        plan::n_ticked |n: usize| (n);
        plan::fit_to_force |n: usize| (n);
        plan::resting |n: usize| (n);
        plan::not_ready |n: usize| (n);
        plan::busy |n: usize| (n);
        plan::by_the_records |n: usize| (n, 21 - n);
        plan::n_batches |n: u32| (n);
        plan::batch |n: u32| (1, n);
        plan::inspected |n: u32| (n, 21);
        plan::ladder_under |n: u32| (&plan_of(n), &wish(n));
        plan::moved |n: u32| (&moved(Some(n)), 8);
        plan::save |n: u32| (n);
        formats::tenths |n: i64| (n);
        records::all_of |n: usize| (n);
        report::group |n: u32| (None, n);
        report::leaves_open |n: usize| (&a_try(n, 30), &of_a_try(n).state(), n);
        results::beside_share |n: u32| (Some(InTime { least: n, most: 21, of: 24 }));
        results::name_and_share |n: u32| ("long", Some((n, 21)));
        results::tenths |n: u32| (n);
        results::name_and_bulbs |n: usize| ("long", n);
        results::times |n: u32| (n);
        results::size_class |n: u32| (n);
        results::gap_value |n: u32| (n);
        same::shared_tag |n: usize| ("M4K", n);
        scored::counts |n: usize| ((n, n), 21);
        sheet::typed_in |n: usize| (n);
        show::foot |n: usize| (n);
        trials::group_n |n: usize| (n);
        trials::classes |n: usize| (n);
        trials::class |n: usize| (n, "Candy", Some((260, 280)));
        trials::all_free |n: usize| (n);
        trials::n_chosen |n: usize| (n);
        trials::tally |n: usize| (n);
        trials::in_time |n: u32| (Some(InTime { least: n, most: 21, of: 24 }));
        trials::kind_and_number |n: u32| (Kind::Waiting, n, n == 21);
        trials::kinds_line |n: u32| (&[(Kind::InTime, 21), (Kind::Waiting, n)], n == 21);
        trials::n_to_know |n: usize| (n);
        trials::questions_and_tries |n: usize| (n, n);
        trials::try_name |n: u32| (n);
        trials::walk_waiting |n: usize| ("Bench 2", n);
        trials::group_gets |n: usize| ("long", n);
        trials::weeks_group |n: u32| (n);
        trials::sentence |n: usize| (&a_try(n, 30), &of_a_try(n).state(), day(30));
        trials::sentence_under |n: usize| (&a_try(n, 31), &of_a_try(n).state());
        walk::walk_head |n: usize| ("Bench 2", n, 21);
        walk::done_of |n: usize| (n, 21);
        walk::all_others |n: usize| (n);
        walk::closed |n: usize| (n);
        walk::all_looked_at |n: usize| (n, n + 1);
        stock::tally |n: usize| (n, 21);
        stock::n_that_show |n: usize| (Shows::InFlower, n);
        walk::found |n: usize| (n, 21 - n, &[]);
        walk::ended_heading |n: usize| (Ended::Blind, n);
        walk::took |n: u32| (n);
        work::working |n: u32| (n * 10);
    }
}

/// A try on 24 bulbs in two groups, a stalk by day 30: all but so many have one.
fn of_a_try(n_waiting: usize) -> World {
    let mut world = World::of(
        "-9 mia place pl_1 One
         -9 mia lot lo_1 Red
         -2 mia question tr_1 gr_a,gr_b
         -2 mia group gr_a tr_1 Long control
         -2 mia group gr_b tr_1 Short
         -2 mia run ru_1 tr_1 0 every=7
         -2 mia rule ru_1 by scape-in-sight
         -2 mia due ru_1 30",
    );
    let bulbs: Vec<String> = (1..=24).map(|n| format!("b_{n}")).collect();
    let (long, short) = bulbs.split_at(12);
    for bulb in &bulbs {
        world.add(&format!("-9 mia bulb {bulb} lo_1 in=pl_1\n-9 mia own {bulb} {bulb}"));
    }
    world.add(&format!(
        "-2 mia allot ru_1 drawn gr_a={} gr_b={}\n0 mia cycle-began {all}\n0 mia run-started ru_1",
        long.join(","),
        short.join(","),
        all = bulbs.join(",")
    ));
    for n in n_waiting + 1..=24 {
        world.add(&format!("20 mia look b_{n} sh_{n}/scape/scape-in-sight"));
    }
    world
}

fn a_try(n_waiting: usize, today: i64) -> Standing {
    let world = of_a_try(n_waiting);
    standing(&world.ledger, &world.state(), id("ru_1"), day(today)).unwrap()
}

#[test]
fn every_counting_sentence_is_as_it_was_read_last() {
    let mut page = String::new();
    for (name, say) in every_counting() {
        writeln!(page, "{name}").unwrap();
        for n in [0, 1, 2, 21] {
            let lines = say(n);
            for line in &lines {
                writeln!(page, "{n:>4}  {line}").unwrap();
            }
            assert!(lines.iter().all(|line| reads_well(line) || line.is_empty()), "{name} of {n}: {lines:?}");
        }
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sentences.txt");
    if std::env::var_os("BLOOMDUE_WRITE").is_some() {
        std::fs::write(&path, &page).unwrap();
    }
    let known = std::fs::read_to_string(&path).unwrap();
    for (at, (now, before)) in page.lines().zip(known.lines()).enumerate() {
        assert_eq!(
            now,
            before,
            "line {}: read it, and write tests/sentences.txt anew (see the top of this file)",
            at + 1
        );
    }
    assert_eq!(page.lines().count(), known.lines().count());
}

#[test]
fn a_closed_try_is_not_told_as_a_running_one() {
    let world = of_a_try(2).and("25 mia run-closed ru_1");
    let state = world.state();
    let stands = standing(&world.ledger, &state, id("ru_1"), day(26)).unwrap();
    assert_eq!(
        trials::sentence(&stands, &state, day(26)),
        "Closed 26 Jan with 2 bulbs still undecided; looks until 31 Jan count all the same."
    );
    assert_eq!(report::leaves_open(&stands, &state, 1)[0], "What 2 bulbs did after the try was closed.");
    assert_eq!(trials::fact(&state.runs[&id("ru_1")], &stands, day(26)), "closed, 2 not decided");
    assert_eq!(trials::kinds_line(&stands.total.by_kind(), true), "22 in time · 2 not decided");
    let before = standing(&of_a_try(2).ledger, &of_a_try(2).state(), id("ru_1"), day(26)).unwrap();
    assert_ne!(before, stands, "a page that follows how a try stands hears of its being closed");
    // The days are over: nothing can still come.
    let stands = standing(&world.ledger, &state, id("ru_1"), day(40)).unwrap();
    assert_eq!(
        trials::sentence_under(&stands, &state),
        "“Long”: 10 to 12 of 12 in time; no look says it closer. “Short”: 12 of 12 in time."
    );
}

#[test]
fn groups_that_are_alike_are_told_as_alike() {
    let world = of_a_try(24);
    let state = world.state();
    let none = bloomdue_core::trial::standing::OtherStage {
        stage: bloomdue_core::ledger::body::GoalStage::FirstFlower,
        counts: Vec::new(),
        ahead: Vec::new(),
    };
    assert!(trials::other_stage(&none, &state).ends_with("all groups would come out alike."));
    let all_in_time = of_a_try(0);
    let state = all_in_time.state();
    let stands = standing(&all_in_time.ledger, &state, id("ru_1"), day(31)).unwrap();
    assert_eq!(
        report::leaves_open(&stands, &state, 1)[0],
        "Whether “Long” and “Short” differ at all: they came out alike, and so few bulbs can't say more."
    );
}

fn told_accuracy(n: usize) -> Accuracy {
    let stalks = OfKind { called_stalk: n, called_leaf: 1, left_even: 0 };
    Accuracy { n_called: n + 1, stalks, leaves: OfKind::default() }
}

#[test]
fn no_counting_sentence_is_left_out() {
    let names: Vec<&str> = every_counting().iter().map(|(name, _)| *name).collect();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut n_found = 0;
    for file in std::fs::read_dir(folder).unwrap().map(|file| file.unwrap().path()) {
        let module = file.file_stem().unwrap().to_string_lossy().into_owned();
        // How numbers are written says nothing of anything, and is tested where it stands.
        if file.is_dir() || ["route", "lib", "formats"].contains(&module.as_str()) {
            continue;
        }
        let text = std::fs::read_to_string(&file).unwrap();
        for function in text.split("\npub fn ").skip(1) {
            let (name, rest) = function.split_once('(').unwrap();
            let arguments = rest.split_once("->").map_or(rest, |(arguments, _)| arguments);
            let numbers = ["usize", "u32", "u64", "i64"];
            if arguments.split(|c: char| !c.is_alphanumeric()).any(|word| numbers.contains(&word)) {
                let name = format!("{module}::{name}");
                assert!(names.contains(&name.as_str()), "{name} counts something: list it in every_counting");
                n_found += 1;
            }
        }
    }
    assert!(n_found > 80, "only {n_found} found: are functions still written `pub fn name(…) -> …`?");
}

/// Says something, without doubled blanks, blanks at an end, or a mark after a blank.
fn reads_well(text: &str) -> bool {
    !text.is_empty() && text.trim() == text && !["  ", " .", " ,", "..", ",,"].iter().any(|slip| text.contains(slip))
}

/// The same of a sentence that names the ending of a file.
fn names_a_file_well(text: &str) -> bool {
    reads_well(&text.replace(" .bloomdue", " bloomdue"))
}

#[test]
fn every_label_says_something() {
    let tables = [
        bulb::LABELS,
        measure::LABELS,
        care::LABELS,
        coming::LABELS,
        stock::LABELS,
        common::LABELS,
        doubts::LABELS,
        due::LABELS,
        evening::LABELS,
        files::LABELS,
        glossary::LABELS,
        holidays::LABELS,
        jobs::LABELS,
        labels::LABELS,
        inspect::LABELS,
        knowledge::LABELS,
        light::LABELS,
        potting::LABELS,
        soundness::LABELS,
        methods::LABELS,
        mistakes::LABELS,
        nursery::LABELS,
        over_tries::LABELS,
        places::LABELS,
        plan::LABELS,
        published::LABELS,
        records::LABELS,
        report::LABELS,
        results::LABELS,
        scapes::LABELS,
        same::LABELS,
        scored::LABELS,
        sheet::LABELS,
        spend::LABELS,
        show::LABELS,
        start::LABELS,
        tables::LABELS,
        tables::TABLES,
        trials::LABELS,
        walk::LABELS,
        work::LABELS,
    ];
    for (name, words) in tables.concat() {
        // A line of paper to be filled in has room between its blanks.
        if name == "fill_in" {
            continue;
        }
        assert!(reads_well(words), "{name}: {words:?}");
    }
}

#[test]
fn every_word_of_an_enumeration_says_something_of_its_own() {
    fn tell<T: Copy + std::fmt::Debug, W: Into<String>>(all: &[T], word: impl Fn(T) -> W) {
        let words: Vec<String> = all.iter().map(|one| word(*one).into()).collect();
        for (one, said) in all.iter().zip(&words) {
            assert!(reads_well(said), "{one:?}: {said:?}");
            assert_eq!(words.iter().filter(|other| *other == said).count(), 1, "{one:?}: {said} is said twice");
        }
    }
    tell(Claim::ALL, published::says);
    tell(MothersDay::ALL, holidays::rule);
    tell(Term::ALL, glossary::word);
    tell(Term::ALL, glossary::meaning);
    tell(ActKind::ALL, acts::act);
    tell(ActKind::ALL, acts::acted);
    tell(Stage::ALL, acts::stage);
    tell(Answer::ALL, acts::answer);
    tell(Mishap::ALL, walk::mishap);
    tell(&Ended::ALL, walk::ended);
    tell(PlaceKind::ALL, places::place_kind);
    tell(ContainerKind::ALL, care::container_kind);
    tell(Finding::ALL, care::finding);
    tell(Check::ALL, |check| inspect::question(check).0);
    tell(Check::ALL, |check| inspect::question(check).1);
    tell(Check::ALL, inspect::piece);
    for check in Check::ALL {
        tell(check.choices(), |finding| inspect::told((*check, finding)));
    }
    tell(Ailment::ALL, inspect::ailment);
    tell(Page::ALL, knowledge::heading);
    tell(&[NoLight::NoPlace, NoLight::NoLatitude, NoLight::Dark], light::refused);
    tell(&[Class::VeryLow, Class::Low, Class::Medium, Class::High, Class::VeryHigh], light::class);
    tell(Ailment::ALL, inspect::signs);
    tell(&Becomes::ALL, inspect::becomes);
    tell(&Becomes::ALL, inspect::save);
    tell(<Thing as strum::VariantArray>::VARIANTS, potting::thing);
    tell(LeftHow::ALL, care::how);
    tell(Measured::ALL, care::measured);
    tell(CountedThing::ALL, care::counted);
    tell(ShootKind::ALL, bulb::kind);
    tell(&Kind::ALL, trials::kind);
    let sides: Vec<Side> = Side::ALL.iter().copied().filter(|side| *side != Side::NotSaid).collect();
    tell(&sides, acts::side);
    let questions: Vec<&str> = READY.iter().map(|ready| ready.key).collect();
    tell(&questions, trials::ready);
    tell(&questions, trials::ready_factor);
    for ready in READY {
        let groups: Vec<&str> = ready.groups.iter().map(|group| group.key).collect();
        tell(&groups, |group| trials::ready_group(ready.key, group));
    }
    tell(&[Gone::Newer, Gone::Wiped, Gone::Cleared], start::gone);
    tell(&[Opened::OnItsOwn, Opened::PhoneTab, Opened::ForgetfulTab, Opened::DeskTab], files::opened);
}

#[test]
fn what_the_storage_refuses_is_said_in_whole_sentences() {
    let named = "NotFoundError".to_owned();
    for why in [
        StoreError::Full,
        StoreError::ConnectionLost,
        StoreError::NewerVersion,
        StoreError::Blocked,
        StoreError::Wiped,
        StoreError::Cleared,
        StoreError::NotReadBack,
        StoreError::Other(named.clone()),
        StoreError::NotOffered(named),
    ] {
        let (told, after, read) = (start::store_error(&why), start::saved_but(&why), start::not_read(&why));
        assert!(reads_well(&told) && reads_well(&after) && after.ends_with('.'), "{told} {after}");
        assert!(!after.to_lowercase().contains("not saved"), "{after}");
        // Where nothing was to be saved that is not said, but of a nursery that is gone.
        assert!(!read.starts_with("Not saved") || matches!(why, StoreError::Wiped | StoreError::Cleared), "{read}");
    }
}

#[test]
fn a_try_has_one_fact_in_a_list() {
    let fact = |n_waiting: usize, today: i64| {
        let world = of_a_try(n_waiting);
        let state = world.state();
        let stands = standing(&world.ledger, &state, id("ru_1"), day(today)).unwrap();
        let run = &state.runs[&id("ru_1")];
        (trials::fact(run, &stands, day(today)), trials::try_line(run, &stands, day(today)))
    };
    let line = |state: &str| format!("first try · {state} · 24 bulbs");
    assert_eq!(fact(3, 20), ("waiting till 31 Jan".to_owned(), line("counts till 31 Jan (in 10 days)")));
    assert_eq!(fact(3, 25).0, "5 days left");
    assert_eq!(fact(3, 31), ("3 can't be said".to_owned(), line("counted till 31 Jan")));
    assert_eq!(fact(0, 25).0, "5 days left", "all is decided, and the days are not over");
    assert_eq!(fact(0, 31).0, "too few to tell");
    let stands = a_try(3, 20);
    assert_eq!(trials::in_time(stands.in_time(&stands.groups[0])), "9 to 12 of 12");
    assert_eq!(trials::kinds_line(&stands.groups[0].counts.by_kind(), false), "9 in time · 3 still waiting");
}

#[test]
fn what_is_asked_is_one_sentence_whose_parts_can_be_changed() {
    assert_eq!(
        asked(1),
        "From [1 bulb], [at rest since 22 Nov 2026], [1 week of rest], started [all at once]: at least [1] \
         [fit to sell] [from 1 Feb to 2 Feb], [9 times in 10]."
    );
    assert_eq!(
        asked(0),
        "From [0 bulbs], [at rest since 22 Nov 2026], [no rest], started [in 0 batches, a week apart]: at least [0] \
         [fit to sell] [on 1 Feb], [9 times in 10]."
    );
    // What is not typed yet leaves a gap that can be tapped.
    let nothing =
        Typed { wanted: "x".to_owned(), from: String::new(), ..Typed::of(&wish(2), &[], String::new(), None) };
    let gaps = plan::asked(&nothing, today())
        .into_iter()
        .filter(|piece| matches!(piece, Piece::Ask(_, words) if words == "–"));
    let gaps: Vec<_> = gaps.map(|piece| if let Piece::Ask(part, _) = piece { Some(part) } else { None }).collect();
    assert_eq!(gaps, [Some(Asked::Wanted), Some(Asked::Days)]);
}

#[test]
fn a_walk_tells_what_ended_beside_what_is_new() {
    let ended = [(Ended::Blind, 2), (Ended::Died, 1)];
    assert_eq!(walk::found(1, 3, &ended), "1 bulb with something new, 3 as before, 2 blind, 1 died.");
    assert_eq!(walk::found(0, 3, &ended[1..]), "3 bulbs as before, 1 died.");
    assert_eq!(walk::found(0, 3, &[]), "Nothing new at any bulb.");
    assert_eq!(walk::all_looked_at(0, 0), "No bulb stands here.");
}

#[test]
fn a_blind_bulb_is_told_as_blind_until_its_next_cycle() {
    let mut world = World::of(
        "0 mia place pl_1 Bench\n0 mia lot lo_1 Red\n0 mia bulb b_1 lo_1 in=pl_1
         4 mia look b_1 clear\n4 mia cycle-ended b_1",
    );
    let told = |world: &World| {
        let state = world.state();
        let known = &state.bulbs[&id("b_1")];
        [
            bulb::sentence(known, day(9)),
            stock::row(known, &state),
            places::bulb_under(known, &state, day(9)),
            places::bench_under(known, &state, day(9)),
            walk::quiet_since(known, day(9)).unwrap_or_default(),
        ]
    };
    let blind = "blind since 5 Jan";
    assert_eq!(
        told(&world),
        ["Blind since 5 Jan.", "blind · Bench", &format!("Red · {blind}"), &format!("{blind} · Red"), blind]
    );
    world.add("8 mia cycle-began b_1");
    assert_eq!(told(&world), ["No look yet.", "no stalk yet · Bench", "Red · no look yet", "Red · no look yet", ""]);
}

#[test]
fn a_bulb_that_went_out_is_named_beside_those_that_can_still_come() {
    let mut world = of_a_try(3);
    world.add("22 mia left b_1 how=sold");
    let told = |world: &World, today: i64| {
        let state = world.state();
        trials::sentence_under(&standing(&world.ledger, &state, id("ru_1"), day(today)).unwrap(), &state)
    };
    let named = "“Long”: 1 gone out before it was decided, not counted.";
    assert_eq!(
        told(&world, 25),
        format!("“Long”: 9 to 11 of 11 can still come in time. {named} “Short”: 12 of 12 in time.")
    );
    world.add("30 mia look b_2,b_3 clear");
    let ended = told(&world, 31);
    assert!(ended.contains(named), "{ended}");
}

/// Three groups of four with 2, 4 and 0 in time, of two cultivars.
fn of_three_groups(rule: &str) -> World {
    let mut world = World::of(&format!(
        "-9 mia lot lo_1 Candy
         -9 mia lot lo_2 Red
         -9 mia bulb b_1,b_2,b_5,b_6,b_9,b_10 lo_1
         -9 mia bulb b_3,b_4,b_7,b_8,b_11,b_12 lo_2
         -2 mia question tr_1 gr_a,gr_b,gr_c
         -2 mia group gr_a tr_1 Eight control
         -2 mia group gr_b tr_1 Ten
         -2 mia group gr_c tr_1 Twelve
         -2 mia run ru_1 tr_1 0 every=40
         -2 mia rule ru_1 by scape-in-sight {rule}
         -2 mia due ru_1 30
         -2 mia allot ru_1 drawn gr_a=b_1,b_2,b_3,b_4 gr_b=b_5,b_6,b_7,b_8 gr_c=b_9,b_10,b_11,b_12
         0 mia cycle-began b_1,b_2,b_3,b_4,b_5,b_6,b_7,b_8,b_9,b_10,b_11,b_12
         0 mia run-started ru_1
         30 mia look b_2,b_4,b_9,b_10,b_11,b_12 clear"
    ));
    for n in [1, 3, 5, 6, 7, 8] {
        world.add(&format!("30 mia look b_{n} sh_{n}/scape/scape-in-sight"));
    }
    world
}

#[test]
fn the_clearest_difference_is_named_and_cultivars_are_told_by_themselves() {
    let told = |rule: &str| {
        let world = of_three_groups(rule);
        let state = world.state();
        let stands = standing(&world.ledger, &state, id("ru_1"), day(31)).unwrap();
        (trials::sentence(&stands, &state, day(31)), trials::rule_line(&stands, day(31)), stands)
    };
    let (old, rule, stands) = told("");
    assert_eq!(
        old,
        "“Eight”: 2 of 4 in time. “Ten”: 4 of 4. “Twelve”: 0 of 4. “Ten” and “Eight”: too few to tell. “Eight” and \
         “Twelve”: too few to tell. Furthest apart are “Ten” and “Twelve”; they were not to be compared with each other, \
         so there is no verdict on them. A new try can compare every group with every other."
    );
    assert!(!rule.contains("every other"), "{rule}");
    assert_eq!(
        results::cultivar_lines(&stands),
        [
            "Candy: “Eight” 1 of 2 in time, “Ten” 2 of 2, “Twelve” 0 of 2.",
            "Red: “Eight” 1 of 2 in time, “Ten” 2 of 2, “Twelve” 0 of 2."
        ]
    );
    let table = results::cultivar_table(&stands).unwrap();
    assert_eq!(table.heads, ["Cultivar", "Eight", "Ten", "Twelve"]);
    assert_eq!(table.rows[1], ["Red", "1 of 2", "2 of 2", "0 of 2"]);
    let (new, rule, _) = told("family=all-pairs");
    assert!(new.ends_with("The clearest difference is that of “Ten” and “Twelve”."), "{new}");
    assert!(rule.ends_with("Every group is compared with every other."), "{rule}");
}

#[test]
fn whoever_is_refused_for_want_of_a_person_is_led_to_where_one_says_it() {
    use bloomdue_words::told::NotRecorded;
    assert_eq!(start::mended_at(&NotRecorded::NobodyChosen), Some(bloomdue_words::route::Route::Who));
    assert_eq!(start::mended_at(&NotRecorded::NoNurseryOpen), None);
    // A form carries the way with what is wrong with it.
    assert_eq!(Problem::from(&NotRecorded::NobodyChosen).mend.as_deref(), Some(&bloomdue_words::route::Route::Who));
    assert_eq!(Problem::from(&NotRecorded::NoNurseryOpen).mend, None);
}

#[test]
fn every_box_of_a_sheet_can_be_typed_in() {
    use bloomdue_core::nursery::walk::{Marked, SheetEnd};
    for end in SheetEnd::ALL {
        let typed = sheet::marked(Marked::End(*end)).to_lowercase();
        assert!(sheet::COLUMNS.iter().any(|column| typed.starts_with(column)), "{typed}");
    }
}

#[test]
fn days_are_told_from_today() {
    let on = |n| dates::days_away(day(n), day(0));
    assert_eq!([-2, -1, 0, 1, 2].map(on), ["2 days ago", "yesterday", "today", "tomorrow", "in 2 days"]);
    assert_eq!(dates::date_long(day(0)), "Friday 1 January");
    assert_eq!(
        (dates::date_short(day(0), day(9)), dates::date_short(day(0), day(400))),
        ("1 Jan".into(), "1 Jan 2027".into())
    );
    assert_eq!(dates::week(day(0)), "week 53");
    let chosen = |n| care::on_day(&day(n).to_string(), day(0));
    assert_eq!([-2, -1, 0].map(chosen), ["30 Dec 2026", "yesterday", "today"]);
    assert_eq!(care::on_day("", day(0)), "a day to be chosen");
}

#[test]
fn what_was_not_made_worked_out_or_taken_in_says_why_and_what_to_do() {
    let browser = || BrowserRefused("NotAllowedError".to_owned());
    let made = [NotMade::NoNurseryOpen, NotMade::NotRead(StoreError::Full), NotMade::PictureTooLong, browser().into()];
    let not_worked_out = || NotWorkedOut::Failed("out of memory".to_owned());
    let taken_in = [
        NotTakenIn::Unfit(Unreadable::NotOurs),
        NotTakenIn::NotRead(StoreError::ConnectionLost),
        NotTakenIn::NoNurseryOpen,
        NotTakenIn::NotRehearsed(not_worked_out()),
    ];
    let worked_out = [NotWorkedOut::Stopped, NotWorkedOut::TooLong, not_worked_out(), NotWorkedOut::NoAnswer];
    let said = made.iter().map(files::not_made).chain(taken_in.iter().map(files::not_taken_in));
    let said: Vec<String> = said.chain(worked_out.iter().map(work::not_worked_out)).collect();
    for sentence in &said {
        assert!(names_a_file_well(sentence) && !sentence.contains("Not saved"), "{sentence}");
    }
    assert!(said[3].ends_with("It says: NotAllowedError"), "{}", said[3]);
    assert!(
        said[7].contains("The program says: out of memory") && said[7].contains("Nothing was written."),
        "{}",
        said[7]
    );
}

/// The whole answer of a spending as it is read, from its first sentence to its groups.
#[test]
fn a_spending_reads_as_one_answer() {
    let mut one = spending_of(40, GoOn::Try);
    let mut split = split_of(3);
    (split.n, split.costs, split.now) = (vec![34, 6], 1.2, 21.4);
    split.gain_then = (2.2, 5.1);
    one.splits = vec![split.clone()];
    assert_eq!(spend::go_on(&one, &ways()), "Give 6 of 40 bulbs to a try.");
    assert_eq!(
        spend::costs(&split),
        "It costs about 1 bulb in time this season, which leaves about 21. 4 times in 10 it shows a better way, which \
         brings 2 to 5 more in each later season."
    );
    assert_eq!(
        spend::groups(&split, &one, &ways()),
        [
            ("8 weeks of rest".to_owned(), "34 bulbs · the crop · about 17 in time".to_owned()),
            ("12 weeks of rest".to_owned(), "6 bulbs · to compare with · about 3 in time".to_owned()),
        ]
    );
    let settled = spending_of(40, GoOn::Settled { rival: 1, n_each: 20, ahead: 0.31 });
    assert_eq!(
        spend::go_on(&settled, &ways()),
        "Another try would not change what to do: 8 weeks of rest. To change it, 12 weeks of rest would have to be \
         ahead by 4 in ten, of 20 each."
    );
    let all = Split { n: vec![40, 0], ..split };
    assert_eq!(spend::slider_value(&all, &one), "all for now");
    assert!(spend::groups(&all, &one, &ways())[0].1.contains("the crop ·"));
}
