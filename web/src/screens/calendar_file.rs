//! Days to come as a calendar file, for the calendar of a phone or a computer.

use std::collections::BTreeSet;

use bloomdue_core::care::calendar_events::to_write;
use bloomdue_core::handover::calendar::{Calendar, Event, write};
use bloomdue_core::handover::file_name;
use bloomdue_words::route::Route;
use bloomdue_words::told::NotMade;
use bloomdue_words::{due as say_due, files as say_files, jobs as say};
use js_sys::Array;
use leptos::prelude::*;
use wasm_bindgen::JsValue;

use crate::app::{App, app};
use crate::device::files::Outgoing;
use crate::device::prefs;
use crate::parts::field::Chips;
use crate::parts::file_ready::FileReady;
use crate::parts::heading::Heading;

/// Makes the file.
#[component]
pub(crate) fn CalendarFile() -> impl IntoView {
    let app = app();
    let remind = RwSignal::new(Some(420_i32));
    let made = RwSignal::new_local(None::<Outgoing>);
    let choices = vec![
        (Some(420), say::remind_morning().to_owned()),
        (Some(-360), say::remind_evening().to_owned()),
        (None, say::remind_never().to_owned()),
    ];
    let make = move |_| match compose(app, remind.get_untracked()) {
        Ok(file) => made.set(Some(file)),
        Err(why) => app.notify(say_files::not_made(&why)),
    };
    view! {
        <Heading place=say_due::due_word() title=say_due::calendar_file() back=Route::Due />
        <p>{say::calendar_under()}</p>
        <Chips label=say::remind() choices=choices value=remind />
        <button type="button" class="btn main" on:click=make>{say_files::write_file()}</button>
        {move || made.get().map(|file| view! { <FileReady app=app file=file saved=say::calendar_saved() /> })}
        <p class="small">{say::calendar_again()}</p>
    }
}

fn compose(app: App, remind_min: Option<i32>) -> Result<Outgoing, NotMade> {
    let now = app.moment().now;
    let ledger = app.peek(|r| r.ledger.id());
    // What earlier files of this device told: only that can be called off.
    let kept = format!("calendar {ledger}");
    let written = prefs::get(&kept).unwrap_or_default();
    let mut written: BTreeSet<String> = written.lines().map(str::to_owned).collect();
    let (text, name) = app.peek(|r| {
        let name = r.state.name.shown().cloned().unwrap_or_default();
        let events: Vec<Event> = to_write(r.state, r.today, &written)
            .into_iter()
            .map(|occasion| Event {
                summary: say::occasion(&occasion, r.state),
                description: say::occasion_more(&occasion, r.state),
                location: occasion.place.map(|place| r.state.name_of(place).to_owned()).unwrap_or_default(),
                key: occasion.key,
                day: occasion.day,
                every_days: occasion.every_days,
                until: occasion.until,
                remind_min,
                called_off: occasion.called_off,
            })
            .collect();
        let ledger = r.ledger.id();
        let calendar = Calendar { ledger: ledger.as_str(), name: &name, n_records: r.ledger.len(), now: &now };
        let keys: Vec<String> = events.iter().map(|event| event.key.clone()).collect();
        (write(&calendar, &events).map(|text| (text, keys)), name.clone())
    });
    let (text, keys) = text.map_err(NotMade::Refused)?;
    written.extend(keys);
    let written: Vec<String> = written.into_iter().collect();
    prefs::set(&kept, &written.join("\n"));
    let parts = Array::of1(&JsValue::from_str(&text));
    Ok(Outgoing::of_parts(&file_name(&name, "", &now, "ics"), "text/calendar", &parts)?)
}
