//! The forecast of the next due days in one sentence, on top of Due.

use std::cell::RefCell;

use bloomdue_core::forecast::{self, Ask, Data, Offered};
use bloomdue_core::work::{Done, Task};
use bloomdue_words::coming as say;
use bloomdue_words::route::Route;
use leptos::prelude::*;

use crate::app::work::after_paint;
use crate::app::worker::Working;
use crate::app::{App, app};

thread_local! {
    /// What was said last, and of which days: it stands until the same days are worked out anew.
    static LAST: RefCell<Option<(Offered, String)>> = RefCell::default();
}

/// One sentence that leads to *What is coming*. It has its place from the start, so that no row moves under a thumb.
#[component]
pub(crate) fn Foreseen() -> impl IntoView {
    let app = app();
    let asked = RwSignal::new(None);
    // What is gathered for a forecast takes a moment, and rows are there to be ticked at once.
    Effect::new(move |_| {
        app.read(|_| ());
        after_paint(move || {
            let found = app.peek(|r| {
                let (offered, ask) = forecast::next_asked(r.state, r.today)?;
                Some((offered, forecast::gather(r.state, r.today), ask))
            });
            if asked.try_with_untracked(|asked| *asked != found) == Some(true) {
                asked.set(found);
            }
        });
    });
    move || asked.get().map(|asked| sentence(app, asked))
}

fn sentence(app: App, (offered, data, ask): (Offered, Data, Ask)) -> AnyView {
    let today = data.today;
    let to = Route::Coming(offered.subjects().next().copied()).href();
    let n_unknown = app.peek(|r| ask.n_started_unknown(&data.unforeseen, r.state));
    let none = move |offered: &Offered| match n_unknown {
        0 => say::on_due(offered, None, today),
        n => say::on_due_unknown(offered, n, today),
    };
    let said: Box<dyn Fn() -> String + Send> = if data.waiting().next().is_none() {
        let nothing = none(&offered);
        Box::new(move || nothing.clone())
    } else {
        let seed = data.seed();
        let work = app.work(Task::Forecast { data: Box::new(data), seed, ask });
        Box::new(move || match work.now() {
            Working::Done(Done::Forecast(outlook)) => {
                let own = outlook.asked().and_then(|own| Some((own.in_window(offered.wanted)?, own.n_bulbs)));
                let said = if own.is_none() { none(&offered) } else { say::on_due(&offered, own, today) };
                LAST.replace(Some((offered.clone(), said.clone())));
                said
            }
            Working::Refused(why) => bloomdue_words::work::not_worked_out(&why),
            _ => LAST.with_borrow(|last| match last {
                Some((of, said)) if *of == offered => said.clone(),
                _ => say::on_due_working(&offered, today),
            }),
        })
    };
    view! { <a class="say foreseen" href=to>{said}</a> }.into_any()
}
