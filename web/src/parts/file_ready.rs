//! A finished file and the ways out of the device.

use bloomdue_words::files as say;
use leptos::prelude::*;

use crate::app::App;
use crate::device::files::{self, Outgoing, SavedAs, Shared};
use crate::device::install;

/// The ways out of the device for a file: `done` is called once it was handed to the browser, or written for certain.
#[component]
pub(crate) fn FileReady(
    app: App,
    file: Outgoing,
    /// The same within a page that people can read, which share sheets take that take no file of records.
    #[prop(optional_no_strip)]
    page: Option<Outgoing>,
    /// Said after a download, in place of where to look for it.
    #[prop(optional, into)]
    saved: String,
    #[prop(optional)] done: Option<Callback<()>>,
) -> impl IntoView {
    let file = StoredValue::new_local(file);
    let saved = StoredValue::new(saved);
    let shared = file.with_value(|file| Some(file.clone()).filter(Outgoing::can_be_shared)).or(page);
    let shareable = shared.is_some();
    let shared = StoredValue::new_local(shared);
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
            app.notify(match saved.get_value() {
                said if said.is_empty() => say::handed_to_browser(&file.with_value(Outgoing::name)),
                said => said,
            });
        }
        Err(why) => app.notify(say::not_out(&why)),
    };
    let may_choose = files::can_choose_place();
    let choose = move |_| {
        let outgoing = file.get_value();
        wasm_bindgen_futures::spawn_local(async move {
            match outgoing.save_as().await {
                SavedAs::Whole { name, n_bytes } => {
                    left();
                    app.notify(say::written(&name, n_bytes));
                }
                SavedAs::NotWhole { name } => app.notify(say::not_whole(&name)),
                SavedAs::Closed => {}
                SavedAs::Refused(why) => app.notify(say::not_out(&why)),
            }
        });
    };
    let share = move |_| {
        let Some(outgoing) = shared.get_value() else { return };
        wasm_bindgen_futures::spawn_local(async move {
            match outgoing.share().await {
                Shared::Handed => {
                    left();
                    app.notify(say::handed());
                }
                Shared::Closed => {}
                Shared::Refused(why) => app.notify(say::not_out(&why)),
            }
        });
    };
    view! {
        <div class="notice stack gap-above" role="status">
            <p>{say::file_ready(size)}</p>
            <Show when=move || !take_over>
                <button type="button" class="btn" on:click=save>{say::save_file()}</button>
            </Show>
            <Show when=move || may_choose>
                <button type="button" class="btn" on:click=choose>{say::choose_where()}</button>
            </Show>
            <Show when=move || shareable>
                <button type="button" class="btn" on:click=share>{say::share_file()}</button>
            </Show>
            {(take_over && !shareable).then(|| view! { <p class="problem">{say::neither_way()}</p> })}
        </div>
    }
}
