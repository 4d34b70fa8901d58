//! How the app was opened: from the home screen, in a tab, and whether the browser offers to install it.

use super::{get, has, listen, window};
use bloomdue_words::told::Opened;
use js_sys::Function;
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use web_sys::Event;

/// How the app was opened.
pub(crate) fn opened() -> Opened {
    // This property exists on those devices only; it is the one thing that tells their tabs apart.
    let navigator = window().navigator();
    let forgetful = has(&navigator, "standalone");
    let on_its_own = get(&navigator, "standalone").as_bool() == Some(true)
        || media("(display-mode: standalone)")
        || media("(display-mode: fullscreen)");
    match (on_its_own, forgetful) {
        (true, _) => Opened::OnItsOwn,
        (false, true) => Opened::ForgetfulTab,
        (false, false) if media("(pointer: coarse)") => Opened::PhoneTab,
        (false, false) => Opened::DeskTab,
    }
}

/// True where files only get out through the share sheet: a download there would take over the app.
pub(crate) fn downloads_take_over() -> bool {
    opened() == Opened::OnItsOwn && has(&window().navigator(), "standalone")
}

/// A signal that is true while the browser offers to install. Call once, at the root of the app.
pub(crate) fn follow_offer() -> ReadSignal<bool> {
    let offered = || get(&window(), "bloomdueInstall").is_object();
    let (offer, set_offer) = signal(offered());
    listen(&window(), "bloomdue-install", move |_: Event| {
        let _ = set_offer.try_set(offered());
    });
    offer
}

/// Shows the browser's own question whether to install; call it inside a tap.
pub(crate) fn take_offer() {
    let event = get(&window(), "bloomdueInstall");
    if let Ok(prompt) = get(&event, "prompt").dyn_into::<Function>() {
        // Refused when it was shown before; the browser's own menu still has it.
        let _ = prompt.call0(&event);
    }
}

/// True when a media query holds now.
fn media(query: &str) -> bool {
    let answer = window().match_media(query);
    answer.is_ok_and(|list| list.is_some_and(|list| list.matches()))
}
