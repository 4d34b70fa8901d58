//! Tries in a list: each with its name, one fact, and its groups as rows of marks.

use std::collections::BTreeSet;

use bloomdue_core::ledger::id::Id;
use bloomdue_core::trial::outcome::Kind;
use bloomdue_core::trial::standing;
use bloomdue_words::route::Route;
use bloomdue_words::trials as say;
use leptos::prelude::*;

use crate::app::{App, Records};
use crate::parts::mark;

/// A try as a list tells it; also the key of its row.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) struct TryRow {
    run: Id,
    name: String,
    fact: String,
    is_closed: bool,
    groups: Vec<(String, Vec<(Kind, u32)>)>,
}

impl TryRow {
    /// All tries of a trial, the latest first.
    pub(crate) fn of_trial(r: Records<'_>, trial: Id) -> Vec<Self> {
        let runs = r.state.runs_of_trial(trial).into_iter().rev();
        runs.filter_map(|(id, run)| {
            let stands = standing::standing(r.ledger, r.state, id, r.today)?;
            let groups = stands.groups.iter().map(|group| (group.name.clone(), group.counts.by_kind()));
            Some(Self {
                run: id,
                name: say::try_name(run.body.shown()?.ordinal),
                fact: say::fact(run, &stands, r.today),
                is_closed: stands.closed.is_some(),
                groups: groups.collect(),
            })
        })
        .collect()
    }

    /// The kinds that have a mark in these rows.
    pub(crate) fn kinds<'a>(rows: impl Iterator<Item = &'a Self>) -> Vec<Kind> {
        let groups = rows.flat_map(|row| &row.groups);
        let kinds: BTreeSet<Kind> = groups.flat_map(|(_, counts)| counts.iter().map(|(kind, _)| *kind)).collect();
        kinds.into_iter().collect()
    }

    /// The row, which leads to the try; beside its page it is marked.
    pub(crate) fn view(self, app: App) -> AnyView {
        let run = self.run;
        let its_page = move |route: &Route| matches!(route, Route::Run(id) | Route::Result(id) | Route::Groups(id) | Route::Show(id) if *id == run);
        let here = move || app.route.with(its_page).then_some("true");
        let groups: Vec<_> = self
            .groups
            .into_iter()
            .map(|(name, counts)| view! { <span class="mini-line"><i>{name}</i> {mark::counted(&counts, self.is_closed)}</span> })
            .collect();
        view! {
            <a class="row trialrow" href=Route::Run(run).href() aria-current=here>
                <span class="grow">
                    <b>{self.name}</b>
                    " "
                    <span class="small">{self.fact}</span>
                    {groups}
                </span>
            </a>
        }
        .into_any()
    }
}
