//! The app growers use: Leptos in the browser, everything computed by core.

mod app;
mod device;
mod parts;
mod screens;
mod store;

fn main() {
    if let Some(thread) = device::work::thread() {
        device::work::tell_of_panics();
        wasm_bindgen_futures::spawn_local(app::worker::serve(thread));
        return;
    }
    device::failure::install();
    #[cfg(feature = "probe")]
    if store::probe::install() {
        return;
    }
    wasm_bindgen_futures::spawn_local(app::run());
}
