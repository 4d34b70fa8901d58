//! Finding a bulb by any part of its tag, own name, lot or cultivar; a mistyped tag is caught.

use bloomdue_words::route::Route;
use bloomdue_words::{bulb as say, common, labels, places};
use leptos::prelude::*;

use crate::app::app;
use crate::parts::field::TextField;
use crate::parts::heading::Heading;

/// Rows shown at most.
const MOST: usize = 40;

/// Finds a bulb.
#[component]
pub(crate) fn Find() -> impl IntoView {
    let app = app();
    let typed = RwSignal::new(String::new());
    let rows = move || {
        let text = typed.get();
        app.read(|r| {
            let found = r.state.find(&text);
            if found.is_empty() && !text.trim().is_empty() {
                let near: Vec<_> = r
                    .state
                    .meant_by(&text)
                    .into_iter()
                    .map(|b| (b.id, b.label().to_owned(), places::bulb_under(b, r.state, r.today)))
                    .collect();
                return (near, true);
            }
            let rows = found.into_iter().take(MOST);
            (rows.map(|b| (b.id, b.label().to_owned(), places::bulb_under(b, r.state, r.today))).collect(), false)
        })
    };
    view! {
        <Heading place=common::places_word() title=say::find_title() back=Route::Places />
        <TextField label=say::find_label() value=typed hint=say::find_hint() />
        <a class="btn soft" href=Route::Scan.href()>{labels::scan()}</a>
        <div role="status">
            {move || {
                let (rows, guessed) = rows();
                let none = rows.is_empty() && !typed.with(|text| text.trim().is_empty());
                let list = rows
                    .into_iter()
                    .map(|(id, label, under)| {
                        view! {
                            <a class="row" href=Route::Bulb(id).href()>
                                <span class="grow"><b class="tag">{label}</b> <br /> <span class="small">{under}</span></span>
                            </a>
                        }
                    })
                    .collect_view();
                view! {
                    {(guessed && !none).then(|| view! { <p class="problem">{say::did_you_mean()}</p> })}
                    {none.then(|| view! { <p>{say::nothing_found()}</p> })}
                    {list}
                }
            }}
        </div>
    }
}
