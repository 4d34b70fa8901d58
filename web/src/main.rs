//! The app growers use: Leptos in the browser, everything computed by core.

mod device;
mod parts;

use device::update::Updates;
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;

fn main() {
    device::failure::install();
    let Some(place) = device::document().get_element_by_id("app") else {
        return;
    };
    // The skeleton has painted first; the app takes its place.
    place.set_inner_html("");
    mount_to(place.unchecked_into(), App).forget();
}

/// The first screen.
#[component]
fn App() -> impl IntoView {
    let updates = Updates::start();
    view! {
        <main class="sheet">
            <p class="caps">"Bulbs into flower, for a date"</p>
            <h1>"Bloomdue"</h1>
            <hr class="rule2" />
            <Show when=move || updates.waiting.get()>
                <p>"New version ready."</p>
                <button class="btn" type="button" on:click=move |_| updates.accept()>
                    "Use it now"
                </button>
            </Show>
        </main>
    }
}
