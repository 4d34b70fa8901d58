//! The walk sheet for a clipboard: every bulb in bench order with boxes to mark.

use bloomdue_core::ledger::id::Id;
use bloomdue_words::route::Route;
use bloomdue_words::{acts, bulb as bulbs, sheet as say, walk};
use leptos::prelude::*;

use crate::app::app;
use crate::device::screen;

/// A sheet to print.
#[component]
pub(crate) fn Sheet(place: Id) -> impl IntoView {
    let app = app();
    let name = app.peek(|r| r.state.name_of(place).to_owned());
    let rows = move || {
        app.read(|r| {
            r.state
                .bulbs_in(place)
                .into_iter()
                .enumerate()
                .map(|(at, bulb)| {
                    let boxes = say::COLUMNS.iter().map(|_| view! { <td class="tick-box"></td> }).collect_view();
                    let seen = || bulb.last_look().map(|seen| acts::look(&seen.look));
                    let last = bulbs::blind_since(bulb, r.today).or_else(seen).unwrap_or_default();
                    view! {
                        <tr>
                            <td class="num">{at + 1}</td>
                            <th scope="row" class="tag">{bulb.label().to_owned()}</th>
                            <td class="small">{last}</td>
                            {boxes}
                        </tr>
                    }
                })
                .collect_view()
        })
    };
    let heads = say::COLUMNS.iter().map(|words| view! { <th scope="col" class="up">{*words}</th> }).collect_view();
    view! {
        <div class="spread no-print">
            <button type="button" class="btn main" on:click=move |_| screen::print()>{say::print()}</button>
            <a class="line" href=Route::Place(place).href()>{walk::back_to_place()}</a>
        </div>
        <h1 tabindex="-1" data-heading="">{say::title(&name)}</h1>
        <p>{say::fill_in()}</p>
        <div class="scroll" tabindex="0" role="region" aria-label=say::title(&name)>
            <table class="walk-sheet">
                <thead>
                    <tr>
                        <th scope="col">"#"</th>
                        <th scope="col">{say::bulb()}</th>
                        <th scope="col">{say::last_seen()}</th>
                        {heads}
                    </tr>
                </thead>
                <tbody>{rows}</tbody>
            </table>
        </div>
        <p class="small">{say::how_to_type_in()}</p>
    }
}
