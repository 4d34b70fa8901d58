//! Where the groups of a try stood, what the covers kept out, and how long the days were.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::trial::conditions::{day_lengths, grounds};
use bloomdue_core::trial::warmth::{self, Stretch};
use bloomdue_words::{nursery as say, report};
use leptos::prelude::*;

use crate::app::App;

/// Places and light of a try, in words.
#[derive(Clone, Debug)]
pub(crate) struct Conditions {
    places: Vec<String>,
    light: Option<String>,
    warmth: Vec<String>,
}

impl Conditions {
    /// Of a try; nothing while neither is known.
    pub(crate) fn of(app: App, run: Id) -> Option<Self> {
        let (places, light, warmth) = app.peek(|r| {
            let groups = grounds(r.state, run, r.today).into_iter();
            let groups = groups.filter(|group| !group.grounds.is_empty());
            let places = groups.map(|group| {
                let stood = group.grounds.iter();
                let stood: Vec<String> = stood.map(|one| report::ground(one, r.state)).collect();
                format!("{}: {}", r.state.name_of(group.group), stood.join(" · "))
            });
            let light = day_lengths(r.state, run, r.today);
            let groups = warmth::of_run(r.state, run, r.today);
            let mut warmth: Vec<String> = groups.iter().filter_map(|group| say::warmth(group, r.state)).collect();
            if !warmth.is_empty() {
                let seen = Stretch::ALL.map(|stretch| (stretch, warmth::enough(r.state, stretch, r.today)));
                warmth.push(say::enough(&seen));
            }
            (places.collect::<Vec<_>>(), light.map(|light| say::day_lengths(&light, r.today)), warmth)
        });
        (!places.is_empty() || light.is_some()).then_some(Self { places, light, warmth })
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
        let warmth: Vec<_> = self.warmth.iter().map(|line| view! { <p>{line.clone()}</p> }).collect();
        let warmth = (!warmth.is_empty()).then(|| {
            view! {
                {warmth}
                <p class="small">{say::how_warm()}</p>
            }
        });
        view! {
            <ul>{places}</ul>
            {light}
            {warmth}
        }
        .into_any()
    }
}
