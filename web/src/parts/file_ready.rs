//! A finished file and the ways out of the device.

use leptos::prelude::*;

use crate::app::App;
use crate::device::{files::Outgoing, files::Shared, install};
use crate::words::files as say;

/// The ways out of the device for a file: `saved` is said when it was saved here, `done` is called once it has left.
#[component]
pub(crate) fn FileReady(
    app: App,
    file: Outgoing,
    saved: &'static str,
    #[prop(optional)] done: Option<Callback<()>>,
) -> impl IntoView {
    let file = StoredValue::new_local(file);
    let shareable = file.with_value(Outgoing::can_be_shared);
    let take_over = install::downloads_take_over();
    let left = move || {
        if let Some(done) = done {
            done.run(());
        }
    };
    let size = file.with_value(Outgoing::len_bytes);
    let save = move |_| match file.with_value(Outgoing::download) {
        Ok(()) => {
            left();
            app.say(saved);
        }
        Err(why) => app.say(why),
    };
    let share = move |_| {
        let outgoing = file.get_value();
        wasm_bindgen_futures::spawn_local(async move {
            match outgoing.share().await {
                Shared::Handed => {
                    left();
                    app.say(say::handed());
                }
                Shared::Closed => {}
                Shared::Refused(why) => app.say(why),
            }
        });
    };
    view! {
        <div class="notice stack gap-above" role="status">
            <p>{say::file_ready(size)}</p>
            <Show when=move || !take_over>
                <button type="button" class="btn" on:click=save>{say::save_file()}</button>
            </Show>
            <Show when=move || shareable>
                <button type="button" class="btn" on:click=share>{say::share_file()}</button>
            </Show>
            {(take_over && !shareable).then(|| view! { <p class="problem">{say::neither_way()}</p> })}
        </div>
    }
}
