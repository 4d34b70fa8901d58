//! The same bulb as another one: found by tag or name, both seen side by side, then said.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::aliases;
use bloomdue_core::record::Command;
use bloomdue_words::refusals;
use bloomdue_words::route::Route;
use bloomdue_words::{bulb as say, places, same as words};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::parts::field::TextField;
use crate::parts::heading::Heading;

/// Rows shown at most.
const MOST: usize = 12;

/// Says that this bulb was entered twice.
#[component]
pub(crate) fn SameBulb(bulb: Id) -> impl IntoView {
    let app = app();
    let label = app.peek(|r| r.state.name_of(bulb).to_owned());
    let typed = RwSignal::new(String::new());
    let other = RwSignal::new(None::<Id>);
    let found = move || {
        let text = typed.get();
        let rows: Vec<(Id, String, String)> = app.read(|r| {
            let mut found = r.state.find(&text);
            // Whoever opens this for a tag that two bulbs carry need not type it.
            if text.trim().is_empty() {
                let tags = r.state.bulb(&bulb).into_iter().flat_map(|known| known.tags());
                found = tags.flat_map(|tag| r.state.with_tag(tag)).collect();
            }
            let others = found.into_iter().filter(|known| !known.is(bulb)).take(MOST);
            let row = |b: &bloomdue_core::nursery::Bulb| {
                (b.id, b.label().to_owned(), places::bulb_under(b, r.state, r.today))
            };
            others.map(row).collect()
        });
        let none = rows.is_empty() && !text.trim().is_empty();
        let rows = rows.into_iter().map(|(id, label, under)| {
            view! {
                <button type="button" class="row" on:click=move |_| other.set(Some(id))>
                    <span class="grow"><b class="tag">{label}</b> <br /> <span class="small">{under}</span></span>
                </button>
            }
        });
        view! {
            {none.then(|| view! { <p>{say::nothing_found()}</p> })}
            {rows.collect_view()}
        }
    };
    view! {
        <Heading place=label title=words::title() back=Route::Bulb(bulb) />
        {move || match other.get() {
            None => view! {
                <p class="small">{words::about()}</p>
                <TextField label=words::which() value=typed hint=say::find_hint() />
                <div role="status">{found}</div>
            }
            .into_any(),
            Some(to) => view! { <Both app=app bulb=bulb to=to other=other /> }.into_any(),
        }}
    }
}

/// Both sides, and the one tap that joins them.
#[component]
fn Both(app: App, bulb: Id, to: Id, other: RwSignal<Option<Id>>) -> impl IntoView {
    let (sides, refused) = app.peek(|r| {
        let sides = [bulb, to].map(|id| r.state.bulb(&id).map(|known| words::side(known, r.ledger, r.state, r.today)));
        let refused = aliases::may_be_one(r.state, bulb, to).err();
        (sides, refused.map(|why| refusals::refused(&why)))
    });
    let sides = sides.into_iter().flatten().map(|(label, lines)| {
        let lines = lines.into_iter().map(|line| view! { <li>{line}</li> }).collect_view();
        view! { <div class="card"><h2 class="tag">{label}</h2><ul class="small">{lines}</ul></div> }
    });
    let join = move |_| {
        wasm_bindgen_futures::spawn_local(async move {
            match app.record(Command::SameBulb { bulb, to }).await {
                Ok(entries) => {
                    app.notify_saved(words::joined().to_owned(), entries.iter().map(|entry| entry.id).collect());
                    app.done_to(&Route::Bulb(bulb));
                }
                Err(why) => app.refused(&why),
            }
        });
    };
    view! {
        <div class="grid2">{sides.collect_view()}</div>
        {match refused {
            Some(why) => view! { <p class="problem" role="alert">{why}</p> }.into_any(),
            None => view! {
                <p class="small">{words::what_happens()}</p>
                <button type="button" class="btn main" on:click=join>{words::they_are_one()}</button>
            }
            .into_any(),
        }}
        <button type="button" class="btn soft gap-above" on:click=move |_| other.set(None)>{words::another()}</button>
    }
}
