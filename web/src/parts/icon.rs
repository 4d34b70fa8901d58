//! The four marks at the foot, drawn with the one pen.

use bloomdue_words::route::Room;
use leptos::prelude::*;

/// The mark of a place at the foot.
#[component]
pub(crate) fn RoomIcon(
    /// Which place.
    room: Room,
) -> impl IntoView {
    let path = match room {
        Room::Due => "M13 14V8M13 14l5 3M9 2h8M22 14a9 9 0 1 1-18 0a9 9 0 1 1 18 0",
        Room::Places => "M3 11h20M5 11v11M21 11v11M8 11V7h4v4M15 11V5h4v6",
        Room::Trials => "M5 22V9M13 22V4M21 22v-8M3 9h4M11 4h4M19 14h4",
        Room::Files => "M6 3h9l5 5v15H6zM15 3v5h5M10 14h6M10 18h6",
    };
    view! {
        <svg width="26" height="26" viewBox="0 0 26 26" class="ln" aria-hidden="true">
            <path d=path />
        </svg>
    }
}
