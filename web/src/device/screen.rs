//! The screen: its width, whether it is seen, light or dark, and the moment the app takes the skeleton's place.

use wasm_bindgen::JsCast as _;
use wasm_bindgen::closure::Closure;
use web_sys::{
    Element, Event, FocusOptions, HtmlElement, MediaQueryListEvent, ScrollIntoViewOptions, ScrollLogicalPosition,
    VisibilityState,
};

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

/// Calls whenever a hand is laid on the page: a touch, a key, a turn of the wheel.
pub(crate) fn on_hand(laid: impl Fn() + Clone + 'static) {
    for event in ["pointerdown", "wheel", "keydown"] {
        let laid = laid.clone();
        listen(&window(), event, move |_: Event| laid());
    }
}

/// The top of the next screen.
pub(crate) fn to_top() {
    window().scroll_to_with_x_and_y(0.0, 0.0);
}

/// How a screen was left: how far it was scrolled, and which folds were open, by their words.
#[derive(Clone, Debug)]
pub(crate) struct Left {
    window_px: f64,
    pane_px: i32,
    folds: Vec<(String, bool)>,
}

/// How the present screen is being left.
pub(crate) fn left() -> Left {
    let folds = folds().into_iter().map(|(words, fold)| (words, fold.has_attribute(OPEN))).collect();
    let pane_px = document().query_selector(PANE).ok().flatten().map_or(0, |pane| pane.scroll_top());
    Left { window_px: window().scroll_y().unwrap_or_default(), pane_px, folds }
}

/// Opens and closes the folds of a screen as they were left; gives whether all that stood open are there by now.
pub(crate) fn fold_as_left(left: &Left) -> bool {
    let mut missing: Vec<&String> = left.folds.iter().filter(|(_, open)| *open).map(|(words, _)| words).collect();
    for (words, fold) in folds() {
        let Some((_, open)) = left.folds.iter().find(|(known, _)| *known == words) else {
            continue;
        };
        // Taken by every `details` element.
        let _ = if *open { fold.set_attribute(OPEN, "") } else { fold.remove_attribute(OPEN) };
        missing.retain(|known| **known != words);
    }
    missing.is_empty()
}

/// Scrolls a screen as it was left. What is not drawn yet cannot be scrolled to; gives whether it could.
pub(crate) fn scroll_as_left(left: &Left) -> bool {
    window().scroll_to_with_x_and_y(0.0, left.window_px);
    if let Ok(Some(pane)) = document().query_selector(PANE) {
        pane.set_scroll_top(left.pane_px);
        return (window().scroll_y().unwrap_or_default() - left.window_px).abs() < 2.0
            && (pane.scroll_top() - left.pane_px).abs() < 2;
    }
    true
}

const PANE: &str = "main";
const OPEN: &str = "open";

/// The folds of the present screen, each with the words that open it.
fn folds() -> Vec<(String, Element)> {
    let Ok(found) = document().query_selector_all("main details") else {
        return Vec::new();
    };
    let elements = (0..found.length()).filter_map(|n| found.item(n)?.dyn_into::<Element>().ok());
    elements.filter_map(|fold| Some((fold.query_selector("summary").ok()??.text_content()?, fold))).collect()
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

/// Moves the focus to where a screen that has just come begins: to the field that a form asks for first, else to the
/// heading, so that a screen reader begins there.
pub(crate) fn focus_beginning() {
    let find = |what: &str| document().query_selector(what).ok().flatten()?.dyn_into::<HtmlElement>().ok();
    if let Some(beginning) = find("main [data-first]").or_else(|| find("main [data-heading]")) {
        // A screen that was scrolled before is scrolled by itself.
        let options = FocusOptions::new();
        options.set_prevent_scroll(true);
        let _ = beginning.focus_with_options(&options);
    }
}

/// Whether the focus is inside the part of the page with this name.
pub(crate) fn has_focus_within(name: &str) -> bool {
    let part = document().get_element_by_id(name);
    let focused = document().active_element();
    part.zip(focused).is_some_and(|(part, focused)| part.contains(Some(&focused)))
}

/// Moves the focus to the field with this name, and it into sight, out of its fold.
pub(crate) fn focus_field(name: &str) {
    let field = document().get_element_by_id(name).and_then(|field| field.dyn_into::<HtmlElement>().ok());
    if let Some(field) = field {
        if let Ok(Some(fold)) = field.closest("details") {
            // Taken by every `details` element.
            let _ = fold.set_attribute(OPEN, "");
        }
        let _ = field.focus();
    }
}

/// Follows scrolling, of the page or of a pane, for as long as it is kept.
pub(crate) struct Scrolling(Closure<dyn FnMut(Event)>);

impl Scrolling {
    /// Calls at every step of it.
    pub(crate) fn follow(mut scrolled: impl FnMut() + 'static) -> Self {
        let heard = Closure::<dyn FnMut(Event)>::new(move |_| scrolled());
        // What scrolls in a pane is heard only on its way down. Adding a listener only fails for targets that are none.
        let _ = document().add_event_listener_with_callback_and_bool("scroll", heard.as_ref().unchecked_ref(), true);
        Self(heard)
    }
}

impl Drop for Scrolling {
    fn drop(&mut self) {
        let heard = self.0.as_ref().unchecked_ref();
        // A listener that is not there any more needs no taking away.
        let _ = document().remove_event_listener_with_callback_and_bool("scroll", heard, true);
    }
}

/// How far below the top of the screen a part begins to be the one that is read.
const READ_PX: f64 = 140.0;

/// Which of these parts of the page, by their names, stands at the top of the screen; the last one where nothing more comes.
pub(crate) fn part_read(names: &[&str]) -> usize {
    if is_at_end() {
        return names.len().saturating_sub(1);
    }
    let tops = names.iter().map(|name| {
        let part = document().get_element_by_id(name);
        part.map_or(f64::INFINITY, |part| part.get_bounding_client_rect().top())
    });
    tops.take_while(|top| *top < READ_PX).count().saturating_sub(1)
}

/// Whether the page, or its pane where that scrolls by itself, was scrolled to its end.
fn is_at_end() -> bool {
    let at_end = |scrolls: Element| {
        let hidden_px = scrolls.scroll_height() - scrolls.client_height();
        hidden_px > 1 && scrolls.scroll_top() >= hidden_px - 2
    };
    let pane = document().query_selector(PANE).ok().flatten();
    document().document_element().is_some_and(at_end) || pane.is_some_and(at_end)
}

/// Brings a part of the page to the top of the screen; its heading takes the focus.
pub(crate) fn show_part(name: &str) {
    let Some(part) = document().get_element_by_id(name) else {
        return;
    };
    part.scroll_into_view();
    if let Ok(Some(heading)) = part.query_selector("[tabindex='-1']")
        && let Ok(heading) = heading.dyn_into::<HtmlElement>()
    {
        let options = FocusOptions::new();
        options.set_prevent_scroll(true);
        let _ = heading.focus_with_options(&options);
    }
}

/// Brings a part of the page into sight, no further than needed.
pub(crate) fn bring_into_sight(name: &str) {
    if let Some(part) = document().get_element_by_id(name) {
        let options = ScrollIntoViewOptions::new();
        options.set_block(ScrollLogicalPosition::Nearest);
        part.scroll_into_view_with_scroll_into_view_options(&options);
    }
}

/// Prints the present screen.
pub(crate) fn print() {
    let _ = window().print();
}
