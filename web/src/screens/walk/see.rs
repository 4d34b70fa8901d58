//! The bulb one stands at: its drawing, its tag, what is known of it, its season; on a first walk what a good look is.

use bloomdue_core::nursery::{course, season};
use bloomdue_words::{bulb as bulb_words, dates, walk as words};
use leptos::prelude::*;

use super::Walking;
use crate::device::prefs;
use crate::parts::drawings;
use crate::parts::season::{SeasonWords, season_strip};

/// Whether a look was given on this device, so that it need not be told what a good one is.
pub(super) const GOOD_LOOK: &str = "good look";
/// What is kept under it.
pub(super) const KNOWN: &str = "known";

/// What one sees.
#[component]
pub(super) fn See(walking: Walking) -> impl IntoView {
    let Walking { app, now, seen, .. } = walking;
    let hurried = move || walking.answers.with(|answers| course::is_hurried(answers));
    let drawn = move || {
        let bulb = now.get()?;
        app.read(|r| r.state.bulb(&bulb).map(|known| drawings::bulb_as_recorded(known, 120, None)))
    };
    let strip = move || {
        let bulb = now.get()?;
        app.read(|r| {
            let known = r.state.bulb(&bulb)?;
            let run = r.state.running(known).and_then(|run| r.state.runs.get(&run));
            let window = run.and_then(|run| run.window.settled());
            let strip = season::season(known, r.today, window);
            let due = window.map(|w| bulb_words::due(&dates::date_short(w.to, r.today)));
            let words = SeasonWords {
                summary: bulb_words::season_summary(known, r.today),
                rest: bulb_words::rest().to_owned(),
                growth: bulb_words::growth().to_owned(),
                due: due.unwrap_or_default(),
            };
            Some(season_strip(&strip, words))
        })
    };
    let is_first = prefs::get(GOOD_LOOK).is_none();
    let teaches = Memo::new(move |_| is_first && walking.given.with(Vec::is_empty));
    view! {
        <div class="see">
            <div class="portrait" class:larger=hurried>
                {drawn}
                <div>
                    <h1 class="tag great" tabindex="-1" data-heading="" aria-live="polite">
                        {move || seen.with(|seen| seen.label.clone())}
                    </h1>
                    <p class="small">
                        {move || seen.with(|seen| seen.of_what.clone())} <br />
                        <b>{move || seen.with(|seen| seen.last.0.clone())}</b> " "
                        {move || seen.with(|seen| seen.last.1.clone())}
                        {move || seen.with(|seen| seen.quiet.clone()).map(|since| view! { <br /> {since} })}
                    </p>
                </div>
            </div>
            <Show when=move || !teaches.get() fallback=|| view! { <GoodLook /> }>
                {strip}
            </Show>
        </div>
    }
}

/// What a good look is, in three lines beside the neck from above.
#[component]
pub(super) fn GoodLook() -> impl IntoView {
    let lines = words::good_look_lines().map(|line| view! { <li>{line}</li> }).collect_view();
    view! {
        <div class="good-look">
            {drawings::neck(76)}
            <div>
                <h2>{words::good_look()}</h2>
                <ul class="plain small">{lines}</ul>
            </div>
        </div>
    }
}
