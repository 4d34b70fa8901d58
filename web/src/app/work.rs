//! Work of a moment, done once the screen has been drawn, so that a tap shows at once. What takes longer is asked of
//! [`super::worker`].

use std::time::Duration;

use leptos::prelude::*;

/// Goes on after the next picture of the screen.
pub(crate) fn after_paint(then: impl FnOnce() + 'static) {
    request_animation_frame(move || set_timeout(then, Duration::ZERO));
}
