//! Holidays, to be taken as the last of the due days.

use bloomdue_core::calendar::Date;
use bloomdue_core::holidays::{MothersDay, ahead};
use bloomdue_words::holidays as say;
use leptos::prelude::*;

use crate::app::app;
use crate::device::prefs;
use crate::parts::field::Chips;
use crate::parts::fold::Fold;

const RULE: &str = "mothers-day";

/// The holidays of the year ahead behind a fold; a tap gives the day of one.
#[component]
pub(crate) fn Holidays(
    /// What to do with the day.
    take: Callback<Date>,
) -> impl IntoView {
    let app = app();
    let kept = prefs::get(RULE).and_then(|word| MothersDay::from_word(&word));
    let rule = RwSignal::new(kept.unwrap_or(MothersDay::SecondSundayOfMay));
    Effect::new(move |before: Option<()>| {
        let word = rule.get().word();
        if before.is_some() {
            prefs::set(RULE, word);
        }
    });
    let today = app.today;
    let next = move || ahead(today.get(), rule.get());
    let rules: Vec<_> = MothersDay::ALL.iter().map(|one| (*one, say::rule(*one).to_owned())).collect();
    view! {
        <Fold summary=say::title()>
            <div class="chips">
                <For each=next key=Clone::clone let((holiday, day))>
                    <button type="button" class="chip" on:click=move |_| take.run(day)>
                        {move || say::on(holiday, day, today.get())}
                    </button>
                </For>
            </div>
            <p class="small">{say::under()}</p>
            <Chips label=say::mothers_day_on() choices=rules value=rule />
        </Fold>
    }
}
