//! The screen: its width, whether it is seen, light or dark, and the moment the app takes the skeleton's place.

use web_sys::{Event, MediaQueryListEvent, VisibilityState};

use super::{document, listen, window};

const WIDE: &str = "(min-width: 1000px)";

/// Whether there is room for two panes.
pub(crate) fn is_wide() -> bool {
    window().match_media(WIDE).ok().flatten().is_some_and(|query| query.matches())
}

/// Calls when there is room for two panes, or no longer.
pub(crate) fn on_wide(mut changed: impl FnMut(bool) + 'static) {
    if let Ok(Some(query)) = window().match_media(WIDE) {
        listen(&query, "change", move |event: MediaQueryListEvent| changed(event.matches()));
    }
}

/// Calls whenever the app comes to the front again.
pub(crate) fn on_visible(mut seen: impl FnMut() + 'static) {
    listen(&document(), "visibilitychange", move |_: Event| {
        if document().visibility_state() == VisibilityState::Visible {
            seen();
        }
    });
}

/// Calls whenever the app may not come to the front again: hidden, closed, or loaded anew.
pub(crate) fn on_leave(left: impl Fn() + Clone + 'static) {
    let gone = left.clone();
    listen(&window(), "pagehide", move |_: Event| gone());
    listen(&document(), "visibilitychange", move |_: Event| {
        if document().visibility_state() == VisibilityState::Hidden {
            left();
        }
    });
}

/// The top of the next screen.
pub(crate) fn to_top() {
    window().scroll_to_with_x_and_y(0.0, 0.0);
}

/// Chooses the light: `Some(true)` dark, `Some(false)` light, `None` as the device says.
pub(crate) fn set_dark(dark: Option<bool>) {
    let Some(root) = document().document_element() else {
        return;
    };
    // An attribute on the root element is always taken.
    let _ = match dark {
        Some(true) => root.set_attribute("data-light", "dark"),
        Some(false) => root.set_attribute("data-light", "light"),
        None => root.remove_attribute("data-light"),
    };
}

/// Takes the skeleton away.
pub(crate) fn clear_skeleton() -> Option<web_sys::Element> {
    let place = document().get_element_by_id("app")?;
    place.set_text_content(None);
    Some(place)
}

/// Marks the first usable screen on the browser's time line, where measurements find it.
pub(crate) fn mark_usable() {
    mark("bloomdue-usable");
}

/// Notes on the browser's time line that every entry is in memory.
pub(crate) fn mark_whole() {
    mark("bloomdue-whole");
}

fn mark(what: &str) {
    if let Some(performance) = window().performance() {
        let _ = performance.mark(what);
    }
}

/// Moves the focus to the heading of the screen that has just come, so that a screen reader begins there.
pub(crate) fn focus_heading() {
    use wasm_bindgen::JsCast as _;
    if let Ok(Some(heading)) = document().query_selector("[data-heading]")
        && let Ok(heading) = heading.dyn_into::<web_sys::HtmlElement>()
    {
        let _ = heading.focus();
    }
}

/// Prints the present screen.
pub(crate) fn print() {
    let _ = window().print();
}
