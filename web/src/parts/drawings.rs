//! Core's line drawings as SVG elements: classes for the pens, never a style.

use bloomdue_core::{
    call::Choice,
    inspect::Told,
    nursery::{
        Bulb,
        walk::{Answer, Mishap},
    },
    sketch::{self, LeafShow, Pen, Pose, Rise, ShootShow, Sign, Sketch},
};
use leptos::prelude::*;

/// The classes of a pen; `drawings.css` gives them their colours.
pub(crate) const fn pen_class(pen: Pen) -> &'static str {
    match pen {
        Pen::Line => "ln",
        Pen::Body => "ln fl",
        Pen::Faint => "ln fa",
        Pen::Leaf => "ln lf fl",
        Pen::LeafFold => "ln lf",
        Pen::Scape => "ln sc fl",
        Pen::ScapeFold => "ln sc",
        Pen::Unsure => "ln un",
        Pen::Dot => "dt",
    }
}

/// A drawing `width_px` wide. With a label it is a picture of that name; without one it is decoration beside words
/// that say the same, and hidden from screen readers.
pub(crate) fn drawing(sketch: Sketch, width_px: i32, label: Option<String>) -> impl IntoView {
    let [_, _, width, height] = sketch.view_box;
    let height_px = width_px * height / width.max(1);
    let paths: Vec<_> = sketch
        .strokes
        .iter()
        .map(|stroke| view! { <path class=pen_class(stroke.pen) d=stroke.d.to_string() /> })
        .collect();
    let hidden = label.is_none().then_some("true");
    let role = label.is_some().then_some("img");
    view! {
        <svg
            class="drawing"
            width=width_px
            height=height_px
            viewBox=sketch.view_box_text()
            role=role
            aria-label=label
            aria-hidden=hidden
            focusable="false"
        >
            {paths}
        </svg>
    }
}

/// The bulb from the side.
pub(crate) fn bulb_side(pose: Pose, width_px: i32, label: Option<String>) -> impl IntoView {
    drawing(sketch::bulb_side(pose), width_px, label)
}

/// A bulb as its records tell it.
pub(crate) fn bulb_as_recorded(bulb: &Bulb, width_px: i32, label: Option<String>) -> impl IntoView + use<> {
    bulb_side(Pose::of(bulb), width_px, label)
}

/// The drawing of an answer of the key, beside its words.
pub(crate) fn answer(choice: Choice, width_px: i32) -> impl IntoView {
    drawing(sketch::answer(choice), width_px, None)
}

/// The same answer from the other side, where it shows there too.
pub(crate) fn answer_from_other_side(choice: Choice, width_px: i32) -> Option<impl IntoView> {
    sketch::answer_from_other_side(choice).map(|(_, sketch)| drawing(sketch, width_px, None))
}

/// The drawing of an answer of the walk, beside its words; none for one that repeats what was there.
pub(crate) fn walk_answer(answer: Answer, width_px: i32) -> Option<impl IntoView> {
    sketch::walk_answer(answer).map(|sketch| drawing(sketch, width_px, None))
}

/// The drawing of an answer of an inspection, beside its words.
pub(crate) fn inspected(told: Told, width_px: i32) -> impl IntoView {
    drawing(sketch::inspect::told(told), width_px, None)
}

/// The drawing of a mishap, beside its words.
pub(crate) fn mishap(mishap: Mishap, width_px: i32) -> impl IntoView {
    drawing(sketch::mishap(mishap), width_px, None)
}

/// The neck seen straight from above, with a stalk beside the leaves.
pub(crate) fn neck(width_px: i32) -> impl IntoView {
    drawing(sketch::neck(Rise::Beside), width_px, None)
}

/// A small sign over the words of a button.
pub(crate) fn sign(sign: Sign) -> impl IntoView {
    drawing(sketch::sign(sign), 26, None)
}

/// A bulb at rest, in leaf, with its stalk, and in flower.
pub(crate) fn stages() -> AnyView {
    let pose = |leaves, shoot| Pose { leaves, shoot, resting: false };
    let stages = [
        Pose { resting: true, ..Pose::default() },
        pose(LeafShow::Few, ShootShow::None),
        pose(LeafShow::Few, ShootShow::Stretching),
        pose(LeafShow::Many, ShootShow::InFlower),
    ];
    stages.map(|pose| bulb_side(pose, 80, None)).into_any()
}
