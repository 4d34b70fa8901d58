//! Records of a bulb that exclude each other: side by side, one tap from being settled.

use bloomdue_core::nursery::contrary::Contrary;
use bloomdue_core::record::Command;
use bloomdue_words::{files as say, records};
use leptos::prelude::*;

use crate::app::App;

/// Each with its sides and the button by which one of them stands.
pub(crate) fn to_settle(app: App, contraries: Vec<Contrary>) -> impl IntoView {
    let one = |contrary| one(app, contrary);
    contraries.into_iter().map(one).collect::<Vec<_>>()
}

fn one(app: App, contrary: Contrary) -> impl IntoView {
    let title = app.peek(|r| say::contrary(&contrary, r.state));
    let rows: Vec<_> = contrary
        .sides
        .iter()
        .enumerate()
        .map(|(side, entries)| {
            let (said, by) = app.peek(|r| {
                let entries: Vec<_> = entries.iter().filter_map(|id| r.ledger.get(*id)).collect();
                let said = entries.first().map(|entry| say::side(contrary.matter, side == 0, &entry.body, r.state));
                let by = entries.iter().map(|entry| records::under(entry, r.state, r.today, true));
                (said.unwrap_or_default(), by.collect::<Vec<_>>().join("; "))
            });
            let label = say::this_stands_for(&said);
            let contrary = contrary.clone();
            let settle = move |_| {
                let contrary = contrary.clone();
                app.save(Command::SettleContrary { contrary, side }, say::settled());
            };
            view! {
                <div class="row">
                    <span class="grow"><b>{said}</b> <br /> <span class="small">{by}</span></span>
                    <button type="button" class="btn soft" aria-label=label on:click=settle>{say::this_stands()}</button>
                </div>
            }
        })
        .collect();
    view! {
        <h2>{title}</h2>
        <p class="small">{say::contrary_under(contrary.matter)}</p>
        {rows}
    }
}
