//! A handful of sentences as they read in other regions and units: what is not of one sentence alone is tested where it is
//! written (`formats`, `form`).

use bloomdue_core::calendar::Date;
use bloomdue_core::forecast::Window;
use bloomdue_core::ledger::body::{Body, Climate, Measure, Measured};
use bloomdue_core::nursery::State;
use bloomdue_core::published::Claim;
use bloomdue_core::record::act_fields::Caution;
use bloomdue_core::record::doubts::unusual_size;
use bloomdue_core::stock::SizeClass;
use bloomdue_core::trial::result::measures::Measurand;
use bloomdue_words::formats::Formats;
use bloomdue_words::formats::testing::{american, german, under};
use bloomdue_words::glossary::Term;
use bloomdue_words::{
    care, coming, common, dates, doubts, due, files, glossary, places, plan, published, records, results, stock,
};

fn day(text: &str) -> Date {
    text.parse().expect("a day")
}

fn both<T>(say: impl Fn() -> T) -> [T; 2] {
    [say(), under(american(), say)]
}

#[test]
fn days_and_times() {
    let (today, later) = (day("2026-11-25"), day("2027-02-08"));
    assert_eq!(both(|| dates::date_long(today)), ["Wednesday 25 November", "Wednesday, November 25"]);
    assert_eq!(both(|| dates::date_short(later, today)), ["8 Feb 2027", "Feb 8, 2027"]);
    let window = Window { from: later, to: day("2027-02-11") };
    assert_eq!(both(|| coming::days(window, today)), ["8 to 11 Feb 2027", "Feb 8 to 11, 2027"]);
    assert_eq!(both(|| dates::moment("2026-10-01T15:30", today)), ["1 Oct, 15:30", "Oct 1, 3:30 PM"]);
    assert_eq!(both(|| due::when_done(Some(460), "MB")), ["07:40 MB", "7:40 AM MB"]);
    let row = || plan::day_row("Pot up", later, today).remove(1);
    assert_eq!(both(row), ["8 Feb", "Feb 8"]);
}

#[test]
fn numbers() {
    let say = || (common::bulbs(1200), files::file_ready(2_340_000.0), plan::readiness_hint());
    let said = under(german(), say);
    assert_eq!((said.0.as_str(), said.1.as_str()), ("1.200 bulbs", "The file is ready: 2,3 MB."));
    assert!(said.2.contains("22 cm around"));
    assert_eq!(both(|| common::bulbs(1200)), ["1200 bulbs", "1,200 bulbs"]);
    assert_eq!(under(german(), || common::circumference((265, 280))), "26,5 to 28 cm");
}

#[test]
fn lengths_and_temperatures() {
    assert_eq!(both(|| common::circumference((267, 279))), ["26.7 to 27.9 cm", "10 1/2 to 11 in"]);
    assert_eq!(both(|| stock::size_class(SizeClass::of_mm(250))), ["24 to 26 cm", "9 7/16 to 10 1/4 in"]);
    let measured = Body::Measure(Measure { what: Measured::Height, mm: Some(114), mm_to: None, g: None, at: None });
    let height = || records::said(&measured, &State::default());
    assert_eq!(both(height), ["height of the stalk 11.4 cm", "height of the stalk 4 1/2 in"]);
    let climate = Body::Climate(Climate { temperature_dc: Some(206), ..Climate::default() });
    assert_eq!(both(|| records::said(&climate, &State::default())), ["20.6 °C", "69 °F"]);
    assert_eq!(both(places::from_length), ["From, cm", "From, inches"]);
    let hints = both(places::each_hint);
    assert!(hints[0].ends_with("26 27.5 28") && hints[1].ends_with("10 10 1/2 11"), "{hints:?}");
    assert_eq!(both(|| results::measurand(Measurand::GirthGainMm)), ["Gain around, mm", "Gain around, in"]);
    assert_eq!(both(|| results::bare(Measurand::GirthGainMm, 12.0)), ["12", "0.47"]);
    assert_eq!(both(|| results::bare(Measurand::HeightMm, 508.0)), ["50.8", "20"]);
}

#[test]
fn common_practice_is_in_the_units_chosen_and_what_was_published_in_those_of_its_source() {
    assert!(under(american(), || care::caution(Caution::Store)).starts_with("Never below 41 °F."));
    assert!(under(american(), || glossary::meaning(Term::FitToSell)).contains("a stalk of 4 to 8 in with"));
    let claims = || Claim::ALL.iter().map(|claim| published::says(*claim)).collect::<Vec<_>>();
    let [metric, inches] = both(claims);
    assert_eq!(metric, inches);
}

#[test]
fn only_where_centimetres_are_asked_inches_are_suspected() {
    let unusual = unusual_size(&[110]).expect("11 cm is unusual");
    let [metric, inches] = both(|| (doubts::unusual_size(&unusual), doubts::as_inches(&unusual).is_some()));
    assert!(metric.0.ends_with("Were inches typed?") && metric.1, "{metric:?}");
    assert!(inches.0.ends_with("Is it right?") && !inches.1, "{inches:?}");
}

#[test]
fn a_thread_that_sets_nothing_writes_as_the_default() {
    let said = std::thread::spawn(|| dates::date_short(day("2026-11-25"), day("2026-11-25"))).join();
    assert_eq!(said.expect("no panic"), "25 Nov");
    assert_eq!(Formats::default(), *bloomdue_words::formats::now());
}
