//! A calendar file (iCalendar, RFC 5545): whole days, reminders relative to them, and names and numbers by which a later
//! export replaces an earlier one in whatever calendar took it in.

use std::fmt::Write as _;

use crate::{
    calendar::{Date, Happened},
    error::Result,
};

/// The longest line in octets, its end left out (RFC 5545, 3.1).
const LINE_OCTETS: usize = 75;

/// One event of whole days.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Event {
    /// Names it within this nursery, the same in every export.
    pub key: String,
    /// The day, or the first of several.
    pub day: Date,
    /// Days after which it comes again.
    pub every_days: Option<u32>,
    /// The last day on which it may come again.
    pub until: Option<Date>,
    /// What is to be done.
    pub summary: String,
    /// Why, with what to mind.
    pub description: String,
    /// Where.
    pub location: String,
    /// When to remind, in minutes from the day's beginning; negative for the day before. None without a reminder.
    pub remind_min: Option<i32>,
    /// Whether a calendar that holds it lets go of it.
    pub called_off: bool,
}

/// What stands over all events of a file.
#[derive(Clone, Debug)]
pub struct Calendar<'a> {
    /// The nursery's ledger, which makes the names of events unique.
    pub ledger: &'a str,
    /// The calendar's name.
    pub name: &'a str,
    /// How many records the file was made from: a later export counts at least as many, and of two revisions of an
    /// event a calendar keeps the one with the greater number.
    pub n_records: usize,
    /// When it is written.
    pub now: &'a Happened,
}

/// Writes the file.
///
/// # Errors
/// When the present moment is at the end of the years that can be written.
pub fn write(calendar: &Calendar<'_>, events: &[Event]) -> Result<String> {
    let stamp = utc_stamp(calendar.now)?;
    let mut file = File::default();
    file.line("BEGIN:VCALENDAR");
    file.line("VERSION:2.0");
    file.line("PRODID:-//Bloomdue//Bloomdue//EN");
    file.line("CALSCALE:GREGORIAN");
    file.line("METHOD:PUBLISH");
    file.text("NAME", calendar.name);
    for event in events {
        file.event(calendar, event, &stamp);
    }
    file.line("END:VCALENDAR");
    Ok(file.0)
}

#[derive(Default)]
struct File(String);

impl File {
    fn event(&mut self, calendar: &Calendar<'_>, event: &Event, stamp: &str) {
        self.line("BEGIN:VEVENT");
        self.text("UID", &format!("{}@{}", event.key, calendar.ledger));
        self.line(&format!("DTSTAMP:{stamp}"));
        self.line(&format!("LAST-MODIFIED:{stamp}"));
        self.line(&format!("SEQUENCE:{}", calendar.n_records));
        self.line(&format!("DTSTART;VALUE=DATE:{}", plain(event.day)));
        if let Some(days) = event.every_days {
            let until = event.until.map(|until| format!(";UNTIL={}", plain(until)));
            let until = until.unwrap_or_default();
            self.line(&format!("RRULE:FREQ=DAILY;INTERVAL={days}{until}"));
        }
        self.text("SUMMARY", &event.summary);
        self.text("DESCRIPTION", &event.description);
        self.text("LOCATION", &event.location);
        // A job takes no time out of the day, so that nobody is told to be busy.
        self.line("TRANSP:TRANSPARENT");
        let status = if event.called_off { "CANCELLED" } else { "CONFIRMED" };
        self.line(&format!("STATUS:{status}"));
        if let Some(minutes) = event.remind_min.filter(|_| !event.called_off) {
            self.line("BEGIN:VALARM");
            self.line("ACTION:DISPLAY");
            self.text("DESCRIPTION", &event.summary);
            self.line(&format!("TRIGGER;RELATED=START:{}", duration(minutes)));
            self.line("END:VALARM");
        }
        self.line("END:VEVENT");
    }

    /// A property of free text, left out when there is none.
    fn text(&mut self, name: &str, text: &str) {
        if !text.is_empty() {
            self.line(&format!("{name}:{}", escaped(text)));
        }
    }

    /// A line, folded so that none is longer than 75 octets and no character is torn.
    fn line(&mut self, line: &str) {
        let mut octets = 0;
        for c in line.chars() {
            if octets + c.len_utf8() > LINE_OCTETS {
                self.0.push_str("\r\n ");
                octets = 1;
            }
            self.0.push(c);
            octets += c.len_utf8();
        }
        self.0.push_str("\r\n");
    }
}

/// Text as a property may hold it (RFC 5545, 3.3.11).
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\\' | ';' | ',' => safe.extend(['\\', c]),
            '\n' => safe.push_str("\\n"),
            // Control characters have no place in a line; a tab is a space.
            '\t' => safe.push(' '),
            c if c.is_control() => {}
            c => safe.push(c),
        }
    }
    safe
}

fn plain(day: Date) -> String {
    format!("{:04}{:02}{:02}", day.year(), day.month(), day.day())
}

/// Minutes as a duration (RFC 5545, 3.3.6).
fn duration(minutes: i32) -> String {
    let sign = if minutes < 0 { "-" } else { "" };
    let (hours, rest) = (minutes.unsigned_abs() / 60, minutes.unsigned_abs() % 60);
    let mut text = format!("{sign}PT");
    // Writing to a string cannot fail.
    if hours > 0 {
        let _ = write!(text, "{hours}H");
    }
    if rest > 0 || hours == 0 {
        let _ = write!(text, "{rest}M");
    }
    text
}

/// A moment in UTC as `YYYYMMDDTHHMMSSZ`; a day alone is its noon.
fn utc_stamp(now: &Happened) -> Result<String> {
    let minute = i64::from(now.minute_of_day().unwrap_or(720)) - i64::from(now.offset_min());
    let day = now.date().add_days(minute.div_euclid(1440))?;
    let minute = minute.rem_euclid(1440);
    Ok(format!("{}T{:02}{:02}00Z", plain(day), minute / 60, minute % 60))
}

#[cfg(test)]
mod tests;
