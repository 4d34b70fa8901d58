//! Where the groups of a try stood, what the covers kept out, and how long the days were.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::trial::conditions::{day_lengths, grounds};
use bloomdue_words::{nursery as say, report};
use leptos::prelude::*;

use crate::app::App;

/// Places and light of a try, in words.
#[derive(Clone, Debug)]
pub(crate) struct Conditions {
    places: Vec<String>,
    light: Option<String>,
}

impl Conditions {
    /// Of a try; nothing while neither is known.
    pub(crate) fn of(app: App, run: Id) -> Option<Self> {
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
        (!places.is_empty() || light.is_some()).then_some(Self { places, light })
    }

    /// Under its heading.
    pub(crate) fn view(&self) -> AnyView {
        let places: Vec<_> = self.places.iter().map(|line| view! { <li>{line.clone()}</li> }).collect();
        let light = self.light.clone().map(|line| {
            view! {
                <p>{line}</p>
                <p class="small">{say::how()}</p>
            }
        });
        view! {
            <ul>{places}</ul>
            {light}
        }
        .into_any()
    }
}
