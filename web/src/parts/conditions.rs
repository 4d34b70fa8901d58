//! Where the groups of a try stood, what the covers kept out, and how long the days were.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::trial::grounds::{day_lengths, grounds};
use leptos::prelude::*;

use crate::app::App;
use crate::words::{nursery as say, report};

/// Places and light of a try; nothing while neither is known.
pub(crate) fn conditions(app: App, run: Id) -> AnyView {
    let (places, light) = app.peek(|r| {
        let groups = grounds(r.state, run, r.today).into_iter();
        let groups = groups.filter(|group| !group.grounds.is_empty());
        let places = groups.map(|group| {
            let stood = group.grounds.iter();
            let stood: Vec<String> = stood.map(|one| report::ground(one, r.state)).collect();
            format!("{}: {}", r.state.name_of(group.group), stood.join(" · "))
        });
        let light = day_lengths(r.state, run, r.today);
        (places.collect::<Vec<_>>(), light.map(|light| say::day_lengths(&light, r.today)))
    });
    if places.is_empty() && light.is_none() {
        return ().into_any();
    }
    let places: Vec<_> = places.into_iter().map(|line| view! { <li>{line}</li> }).collect();
    let light = light.map(|line| {
        view! {
            <p>{line}</p>
            <p class="small">{say::how()}</p>
        }
    });
    view! {
        <h2>{say::light()}</h2>
        <ul>{places}</ul>
        {light}
    }
    .into_any()
}
