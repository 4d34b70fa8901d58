//! Work of a moment, done once the screen has been drawn, so that a tap shows at once. What takes longer is asked of
//! [`super::worker`].

use std::time::Duration;

use bloomdue_core::trial::result::foresight::{self, Settles};
use leptos::prelude::*;

/// Goes on after the next picture of the screen.
pub(crate) fn after_paint(then: impl FnOnce() + 'static) {
    request_animation_frame(move || set_timeout(then, Duration::ZERO));
}

/// The bulbs a group that would tell every gap apart, counted from a share.
pub(crate) fn settles(base: f64, then: impl FnOnce(Vec<Settles>) + 'static) {
    after_paint(move || then(foresight::settles(base)));
}
