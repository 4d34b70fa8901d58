use super::*;
use icalendar::{
    CalendarComponent, CalendarDateTime, Component as _, DatePerhapsTime, EventLike as _, EventStatus, parser,
};
use proptest::prelude::*;

fn date(text: &str) -> Date {
    text.parse().unwrap()
}

fn watering() -> Event {
    Event {
        key: "pl_1/water/pl_1".to_owned(),
        day: date("2027-03-26"),
        every_days: Some(2),
        until: Some(date("2027-04-01")),
        summary: "Water; 12 bulbs, all of them".to_owned(),
        description:
            "Bed 2\nevery 2 days \\ common practice, größer als 75 Oktette, damit die Zeile wirklich gefaltet wird"
                .to_owned(),
        location: "Bed 2".to_owned(),
        remind_min: Some(420),
        called_off: false,
    }
}

fn potting() -> Event {
    Event {
        key: "l_1/pot/pl_1".to_owned(),
        day: date("2028-02-29"),
        every_days: None,
        until: None,
        summary: "Pot up".to_owned(),
        description: String::new(),
        location: String::new(),
        remind_min: Some(-900),
        called_off: false,
    }
}

fn written(events: &[Event], n_records: usize, now: &str) -> String {
    let now: Happened = now.parse().unwrap();
    let calendar = Calendar { ledger: "l_1", name: "Vale, of Leaves", n_records, now: &now };
    write(&calendar, events).unwrap()
}

/// What another program reads.
fn read(text: &str) -> Vec<icalendar::Event> {
    let calendar: icalendar::Calendar = text.parse().expect("a calendar file");
    let events = calendar.components.into_iter().map(|component| match component {
        CalendarComponent::Event(event) => event,
        other => panic!("not an event: {other:?}"),
    });
    events.collect()
}

#[test]
fn another_program_reads_what_was_written() {
    let text = written(&[watering(), potting()], 41, "2027-03-14T00:10+02:00");
    let events = read(&text);
    for (read, meant) in events.iter().zip([watering(), potting()]) {
        assert_eq!(read.get_uid(), Some(format!("{}@l_1", meant.key).as_str()));
        assert_eq!(read.get_summary(), Some(meant.summary.as_str()));
        assert_eq!(read.get_description().unwrap_or(""), meant.description);
        assert_eq!(read.get_location().unwrap_or(""), meant.location);
        assert_eq!(read.get_sequence(), Some(41));
        assert_eq!(read.get_status(), Some(EventStatus::Confirmed));
        let day = chrono::NaiveDate::from_ymd_opt(meant.day.year(), meant.day.month(), meant.day.day());
        assert_eq!(read.get_start(), day.map(DatePerhapsTime::Date));
        // Ten past midnight on the 14th in summer time is still the 13th in UTC.
        let stamp = read.get_timestamp().unwrap().to_rfc3339();
        assert_eq!(stamp, "2027-03-13T22:10:00+00:00");
    }
    assert_eq!(events.len(), 2);
    assert_eq!(events[0].property_value("TRANSP"), Some("TRANSPARENT"));
}

#[test]
fn repetitions_unroll_to_the_days_meant_over_the_change_of_the_clocks() {
    // Summer time begins in Europe on 2027-03-28.
    let events = read(&written(&[watering(), potting()], 1, "2027-03-14"));
    let unrolled = events[0].get_recurrence().expect("a rule").all(50);
    let days: Vec<String> = unrolled.dates.iter().map(|at| at.date_naive().to_string()).collect();
    assert_eq!(days, ["2027-03-26", "2027-03-28", "2027-03-30", "2027-04-01"]);
    assert!(events[1].property_value("RRULE").is_none());
}

#[test]
fn reminders_are_relative_to_the_day() {
    let text = written(&[watering(), potting()], 1, "2027-03-14");
    let unfolded = parser::unfold(&text);
    let calendar = parser::read_calendar(&unfolded).expect("a calendar file");
    let triggers: Vec<(String, String)> = calendar
        .components
        .iter()
        .flat_map(|event| &event.components)
        .map(|alarm| {
            assert_eq!(alarm.name, "VALARM");
            let trigger = alarm.find_prop("TRIGGER").expect("a trigger");
            let related = trigger.params[0].val.as_ref().expect("a value").to_string();
            (related, trigger.val.to_string())
        })
        .collect();
    let start = || "START".to_owned();
    assert_eq!(triggers, [(start(), "PT7H".to_owned()), (start(), "-PT15H".to_owned())]);
    assert_eq!((duration(0), duration(-75)), ("PT0M".to_owned(), "-PT1H15M".to_owned()));
}

/// Takes files in as a calendar does: of two revisions with one UID the greater SEQUENCE stands, and what is cancelled
/// goes.
fn taken_in(files: &[&str]) -> Vec<(String, DatePerhapsTime)> {
    let mut kept: std::collections::BTreeMap<String, icalendar::Event> = std::collections::BTreeMap::new();
    for event in files.iter().flat_map(|file| read(file)) {
        let uid = event.get_uid().unwrap().to_owned();
        let newer = kept.get(&uid).is_none_or(|known| known.get_sequence() <= event.get_sequence());
        if newer {
            kept.insert(uid, event);
        }
    }
    kept.retain(|_, event| event.get_status() != Some(EventStatus::Cancelled));
    kept.into_iter().map(|(uid, event)| (uid, event.get_start().unwrap())).collect()
}

#[test]
fn a_later_export_replaces_an_earlier_one_in_whatever_order_they_are_taken_in() {
    let first = written(&[watering(), potting()], 41, "2027-03-14");
    let mut moved = potting();
    moved.day = date("2028-03-05");
    let mut off = watering();
    off.called_off = true;
    let second = written(&[moved, off], 57, "2027-03-15");
    let alone = taken_in(&[&second]);
    assert_eq!(alone.len(), 1);
    assert_eq!(taken_in(&[&first, &second]), alone);
    assert_eq!(taken_in(&[&second, &first]), alone);
    assert_eq!(taken_in(&[&first, &first]), taken_in(&[&first]));
}

#[test]
fn a_day_alone_is_stamped_at_its_noon_and_offsets_west_add() {
    let stamp = |text: &str| utc_stamp(&text.parse().unwrap()).unwrap();
    assert_eq!(stamp("2027-03-14"), "20270314T120000Z");
    assert_eq!(stamp("2027-12-31T23:30-03:30"), "20280101T030000Z");
}

#[test]
fn days_read_back_are_never_times() {
    let events = read(&written(&[watering()], 1, "2027-03-14"));
    let start = events[0].get_start();
    assert!(!matches!(
        start,
        Some(DatePerhapsTime::DateTime(CalendarDateTime::Utc(_) | CalendarDateTime::Floating(_)))
    ));
}

proptest! {
    #[test]
    fn any_text_comes_back_and_no_line_is_too_long(summary in "\\PC{1,120}", description in "(\\PC|\n){1,200}") {
        let event = Event { summary: summary.clone(), description: description.clone(), ..watering() };
        let text = written(&[event], 1, "2027-03-14");
        for line in text.split_inclusive("\r\n") {
            let bare = line.strip_suffix("\r\n");
            prop_assert!(bare.is_some_and(|bare| bare.len() <= 75 && !bare.contains(['\r', '\n'])), "{line:?}");
        }
        // Unfolded and unescaped by RFC 5545, written out here once more.
        let unfolded = text.replace("\r\n ", "");
        let value = |name: &str| {
            let line = unfolded.split("\r\n").find_map(|line| line.strip_prefix(name));
            let mut plain = String::new();
            let mut chars = line.unwrap_or("").chars();
            while let Some(c) = chars.next() {
                match c {
                    '\\' => match chars.next() {
                        Some('n') => plain.push('\n'),
                        Some(c) => plain.push(c),
                        None => {}
                    },
                    c => plain.push(c),
                }
            }
            plain
        };
        prop_assert_eq!(value("SUMMARY:"), summary);
        prop_assert_eq!(value("DESCRIPTION:"), description);
    }
}
