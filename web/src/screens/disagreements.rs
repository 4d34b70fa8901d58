//! Values that differ after a merge: both are kept, and one tap says which stands.

use bloomdue_core::nursery::state::Disagreement;
use bloomdue_core::record::Command;
use leptos::prelude::*;

use crate::app::{App, app, route::Route};
use crate::parts::heading::Heading;
use crate::words::{en, files as say};

/// Every register whose values differ.
#[component]
pub(crate) fn Disagreements() -> impl IntoView {
    let app = app();
    let list = move || {
        let registers: Vec<Disagreement> =
            app.read(|r| r.state.disagreements.iter().cloned().collect());
        registers
            .into_iter()
            .map(|register| view! { <One app=app register=register /> })
            .collect_view()
    };
    let none = move || app.read(|r| r.state.disagreements.is_empty());
    view! {
        <Heading place=say::files_word() title=say::disagreements() under=say::disagreements_under() back=Route::Files />
        <Show when=none>
            <p class="say">{say::all_settled()}</p>
        </Show>
        {list}
    }
}

#[component]
fn One(app: App, register: Disagreement) -> impl IntoView {
    let (title, values) = app.peek(|r| {
        let heads = r.state.heads(r.ledger, &register);
        let values = heads
            .iter()
            .map(|entry| {
                let who = r.state.name_of(entry.envelope.who).to_owned();
                let when = en::date_short(entry.envelope.happened.date(), r.today);
                (
                    entry.id,
                    say::value(&entry.body, r.state),
                    format!("{who} · {when}"),
                )
            })
            .collect::<Vec<_>>();
        (say::register(&register, r.state), values)
    });
    let rows = values
        .into_iter()
        .map(|(entry, value, by)| {
            let register = register.clone();
            let choose = move |_| {
                app.save(Command::Settle { register: register.clone(), choose: entry }, say::settled());
            };
            view! {
                <div class="row">
                    <span class="grow"><b>{value}</b> <br /> <span class="small">{by}</span></span>
                    <button type="button" class="btn soft" on:click=choose>{say::this_stands()}</button>
                </div>
            }
        })
        .collect_view();
    view! { <h2>{title}</h2> {rows} }
}
