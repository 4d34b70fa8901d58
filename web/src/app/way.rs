//! The way back: to the same screen, scrolled and unfolded as it was left.

use bloomdue_words::{route::Route, trail::Trail};
use leptos::prelude::*;

use super::App;
use crate::device::{address, screen};

/// How many frames a screen is given to be as it was left: some of it is worked out beside the page.
const N_FRAMES: u32 = 300;

/// The trail of a tab that has just loaded the app.
pub(super) fn begin() -> Trail<screen::Left> {
    let number = address::number().unwrap_or_default();
    let route = Route::parse(&address::get());
    // The first screen of a visit has its address too, so that going back to it is going to Due.
    address::name(&route.to_string(), number);
    Trail::new(number, route)
}

impl App {
    /// The address is changing: how the screen is left is looked at before the browser scrolls it.
    pub(super) fn address_changes(self) {
        self.shared().left.replace(Some(screen::left()));
    }

    /// The address has changed: keeps how the last screen was left and shows the next one, as it was left where it was seen
    /// before.
    pub(super) fn address_changed(self) {
        let route = Route::parse(&address::get());
        let shared = self.shared();
        let mut trail = shared.trail.borrow_mut();
        trail.leave(shared.left.take().unwrap_or_else(screen::left));
        let known = address::number();
        let (number, left) = trail.come(known, route.clone());
        let left = left.cloned();
        drop(trail);
        if known.is_none() {
            address::set_number(number);
        }
        // What was saved is told where it was saved, and where that leads; on a page opened after it, it is past.
        let leads_on = shared.leads_on.take();
        let is_past = !leads_on && self.route.with_untracked(|before| *before != route);
        if is_past && self.said.with_untracked(|said| said.as_ref().is_some_and(|said| !said.entries.is_empty())) {
            self.said.set(None);
        }
        self.route.set(route);
        match left {
            None => screen::to_top(),
            Some(left) => {
                let n_hands = shared.n_hands.get();
                request_animation_frame(move || self.set_as_left(left, n_hands, N_FRAMES, false));
            }
        }
    }

    /// Where *back* leads: to the screen one came from, else to the one that this belongs under.
    pub(crate) fn way_back(self, parent: Route) -> Route {
        self.shared().trail.borrow().before().cloned().unwrap_or(parent)
    }

    /// Goes back in the history where it holds the screen, so that its scroll is the same; else the link is followed.
    pub(crate) fn step_back(self, event: &web_sys::MouseEvent, to: &Route) {
        let steps = self.shared().trail.borrow().steps_back_to(to);
        if let Some(steps) = steps.and_then(|steps| i32::try_from(steps).ok()) {
            event.prevent_default();
            address::step(-steps);
        }
    }

    /// Leaves a finished form: back to the screen where one has come from it, else it takes the form's place.
    pub(crate) fn done_to(self, to: &Route) {
        self.shared().leads_on.set(true);
        let steps = self.shared().trail.borrow().steps_back_to(to);
        match steps.and_then(|steps| i32::try_from(steps).ok()) {
            Some(steps) => address::step(-steps),
            None => address::replace(&to.to_string()),
        }
    }

    /// A hand is laid on the page: from now on its scroll is the reader's.
    pub(super) fn hand_laid_on(self) {
        let shared = self.shared();
        shared.n_hands.set(shared.n_hands.get().wrapping_add(1));
    }

    /// Opens and scrolls a screen as it was left, as soon as it is drawn so far, unless a hand is laid on it before. Once
    /// scrolled it is the reader's, though folds may come later.
    fn set_as_left(self, left: screen::Left, n_hands: u32, n_frames: u32, was_scrolled: bool) {
        if self.shared().n_hands.get() != n_hands {
            return;
        }
        let folded = screen::fold_as_left(&left);
        let scrolled = was_scrolled || screen::scroll_as_left(&left);
        if !(folded && scrolled) && n_frames > 0 {
            request_animation_frame(move || self.set_as_left(left, n_hands, n_frames - 1, scrolled));
        }
    }
}
