//! One container: the bulbs in it by position.

use bloomdue_core::ledger::id::Id;
use bloomdue_words::route::Route;
use bloomdue_words::{bulb as say, common, places, potting};
use leptos::prelude::*;

use crate::app::app;
use crate::parts::heading::Heading;
use crate::parts::photos::{AddPhoto, Photos};

/// One container.
#[component]
pub(crate) fn Container(container: Id) -> impl IntoView {
    let app = app();
    let rows = move || {
        app.read(|r| {
            r.state
                .bulbs_in_container(container)
                .into_iter()
                .map(|bulb| {
                    let position = bulb.container.and_then(|(_, position)| position);
                    let under = places::bulb_under(bulb, r.state, r.today);
                    view! {
                        <a class="row" href=Route::Bulb(bulb.id).href()>
                            <span class="num">{position}</span>
                            <span class="grow">
                                <b class="tag">{bulb.label().to_owned()}</b>
                                <br />
                                <span class="small">{under}</span>
                            </span>
                        </a>
                    }
                })
                .collect_view()
        })
    };
    let name = Signal::derive(move || app.read(|r| r.state.name_of(container).to_owned()));
    view! {
        <Heading
            place=common::places_word()
            title=name
            under=Signal::derive(move || app.read(|r| say::container_under(r.state.bulbs_in_container(container).len())))
            back=Route::Places
        />
        <a class="btn" href=Route::Care(container, None).href()>{places::record_care()}</a>
        {rows}
        <a class="row" href=Route::Potting(Some(container)).href()><span class="name thin">{potting::way()}</span><span class="lead"></span></a>
        <h2>{say::photos()}</h2>
        <Photos app=app of=container />
        <AddPhoto app=app about=vec![container] label=name at=Route::Container(container) />
    }
}
