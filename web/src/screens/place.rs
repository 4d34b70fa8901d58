//! One place: its bulbs in bench order, and what can be done there.

use bloomdue_core::ledger::id::Id;
use leptos::prelude::*;

use crate::app::{app, route::Route};
use crate::parts::heading::Heading;
use crate::parts::photos::{AddPhoto, Photos};
use crate::words::{bulb as words, en as say, mistakes};

/// One place.
#[component]
pub(crate) fn Place(place: Id) -> impl IntoView {
    let app = app();
    let title = Signal::derive(move || app.read(|r| r.state.name_of(place).to_owned()));
    let under = move || {
        app.read(|r| {
            let row = r.state.place_row(place);
            row.map_or(String::new(), |row| {
                let seen = row.last_walk.map(|day| say::days_away(day, r.today));
                format!("{} · {}", say::bulbs(row.n_bulbs), say::place_under(row.kind, row.blocks_percent, seen))
            })
        })
    };
    let rows = move || {
        app.read(|r| {
            r.state
                .bulbs_in(place)
                .into_iter()
                .map(|bulb| {
                    let under = say::bulb_under(bulb, r.state, r.today);
                    let seen = bulb.last_look().map(|seen| seen.at.date());
                    let found = bulb
                        .cycle()
                        .shoots
                        .iter()
                        .any(|shoot| shoot.kind != bloomdue_core::ledger::body::ShootKind::Leaf);
                    view! {
                        <a class="row" href=Route::Bulb(bulb.id).href()>
                            <span class="mark" class:full=found aria-hidden="true"></span>
                            <span class="grow">
                                <b class="tag">{bulb.label().to_owned()}</b>
                                <br />
                                <span class="small">{under}</span>
                            </span>
                            <span class="small">{seen.map(|day| say::days_away(day, r.today))}</span>
                        </a>
                    }
                })
                .collect_view()
        })
    };
    let any = move || app.read(|r| !r.state.bulbs_in(place).is_empty());
    view! {
        <Heading place=say::places_word() title=title under=Signal::derive(under) back=Route::Places />
        <Show when=any>
            <div class="stack">
                <a class="btn main" href=Route::Walk(place).href()>{say::walk_it()}</a>
                <a class="btn" href=Route::Care(place, None).href()>{say::record_care()}</a>
            </div>
        </Show>
        <h2>{say::bulbs_heading()}</h2>
        {rows}
        <h2>{words::photos()}</h2>
        <Photos app=app of=place />
        <AddPhoto app=app about=vec![place] label=title at=Route::Place(place) />
        <div class="stack gap-above">
            <a class="btn soft" href=Route::AddBulbs(place).href()>{say::add_bulbs()}</a>
            <Show when=any>
                <a class="btn soft" href=Route::Sheet(place).href()>{say::walk_sheet()}</a>
                <a class="btn soft" href=Route::TypeIn(place).href()>{say::type_sheet_in()}</a>
                <a class="btn soft" href=Route::Several(place).href()>{mistakes::several()}</a>
            </Show>
            <a class="btn soft" href=Route::EditPlace(place).href()>{say::change_place()}</a>
        </div>
    }
}
