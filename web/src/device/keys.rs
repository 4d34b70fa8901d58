//! Keys of a keyboard that a screen answers to, wherever the focus is.

use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use web_sys::{Element, HtmlElement, KeyboardEvent};

/// Calls with every key that is pressed by itself and typed into no field, for as long as the screen stands. `heard` gives
/// whether the key meant something to it.
pub(crate) fn on_key(heard: impl Fn(&str) -> bool + 'static) {
    let listener = window_event_listener(leptos::ev::keydown, move |event| {
        let alone = !(event.ctrl_key() || event.alt_key() || event.meta_key() || event.repeat());
        if alone && !is_typed(&event) && heard(&event.key()) {
            event.prevent_default();
        }
    });
    on_cleanup(move || listener.remove());
}

/// In a field of one line, Enter presses the button of the part that the field stands in, or else the main button of the
/// page, as in any form; not where the field changes a part of a sentence, which is nothing to be sent off.
pub(crate) fn enter_is_the_main_button() {
    let listener = window_event_listener(leptos::ev::keydown, |event| {
        let alone = !(event.ctrl_key() || event.alt_key() || event.meta_key() || event.shift_key());
        let typing = event.is_composing() || event.repeat() || event.default_prevented();
        if event.key() != "Enter" || !alone || typing {
            return;
        }
        let field = event.target().and_then(|target| target.dyn_into::<Element>().ok());
        let field = field
            .filter(|field| field.matches(ONE_LINE).unwrap_or(false) && !field.matches(IN_SENTENCE).unwrap_or(false));
        let around = |what: &str| field.as_ref()?.closest(what).ok().flatten();
        let within = |part: Element, button: &str| part.query_selector(button).ok().flatten();
        // Why something is put off is not sent off as done.
        let own = around(PART).and_then(|part| within(part, OWN));
        let button = own.or_else(|| around("main, .pane").and_then(|page| within(page, MAIN)));
        if let Some(button) = button.and_then(|button| button.dyn_into::<HtmlElement>().ok()) {
            event.prevent_default();
            button.click();
        }
    });
    // It is listened to for as long as the app stands.
    std::mem::forget(listener);
}

const ONE_LINE: &str = "input:not([type=checkbox], [type=radio], [type=file], [type=search], [type=range])";
const IN_SENTENCE: &str = ".asked *";
const MAIN: &str = "button.btn.main:not([disabled])";
const PART: &str = "details, .part";
const OWN: &str = "button.btn:not([disabled])";

fn is_typed(event: &KeyboardEvent) -> bool {
    let target = event.target().and_then(|target| target.dyn_into::<Element>().ok());
    target.is_some_and(|target| target.matches("input, select, textarea").unwrap_or(false))
}
