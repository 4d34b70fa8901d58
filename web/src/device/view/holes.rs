//! What fills the holes of a template.

use std::any::Any;
use std::borrow::Cow;

use leptos::prelude::{AnyView, ArcMemo, Get as _, IntoAny as _, IntoView, Memo, RwSignal, Signal};
use web_sys::Event;

use super::Made;

/// What fills one hole.
pub(super) enum Hole {
    /// Nothing; an attribute that is not there.
    Empty,
    /// Whether an attribute, a class or a property is there.
    Flag(bool),
    Text(String),
    Many(Vec<Hole>),
    Made(Made),
    Any(Box<AnyView>),
    Live(Box<dyn Live>),
    Event(Box<dyn Hear>),
}

/// What is asked again whenever a signal it read has changed; it fills one hole each time.
pub(crate) trait Live {
    /// Fills the hole.
    fn fill(&mut self, holes: &mut Holes);
}

impl<F: FnMut(&mut Holes)> Live for F {
    fn fill(&mut self, holes: &mut Holes) {
        self(holes);
    }
}

/// A handler of events.
pub(super) trait Hear {
    fn hear(&mut self, event: Event);
}

impl<F: FnMut(Event)> Hear for F {
    fn hear(&mut self, event: Event) {
        self(event);
    }
}

/// Fillings, in the order of the holes.
#[derive(Default)]
pub(crate) struct Holes(Vec<Hole>);

impl Holes {
    pub(super) fn into_inner(self) -> Vec<Hole> {
        self.0
    }

    /// What something living fills its hole with now.
    pub(super) fn now(live: &mut dyn Live) -> Hole {
        let mut holes = Self::default();
        live.fill(&mut holes);
        holes.0.pop().unwrap_or(Hole::Empty)
    }

    fn push(&mut self, hole: Hole) {
        self.0.push(hole);
    }

    fn empty(&mut self) {
        self.push(Hole::Empty);
    }

    fn flag(&mut self, is: bool) {
        self.push(Hole::Flag(is));
    }

    fn text(&mut self, text: &str) {
        self.string(text.to_owned());
    }

    fn string(&mut self, text: String) {
        self.push(Hole::Text(text));
    }

    /// A view from another template.
    pub(crate) fn made(&mut self, made: Made) {
        self.push(Hole::Made(made));
    }

    /// What a component gave.
    pub(crate) fn component(&mut self, view: impl IntoView + 'static) {
        // Every component gives an `AnyView`, though its signature does not say so.
        let mut view = Some(view);
        match (&mut view as &mut dyn Any).downcast_mut::<Option<AnyView>>() {
            Some(any) => any.take().into_iter().for_each(|any| self.any(any)),
            None => view
                .take()
                .into_iter()
                .for_each(|view| self.any(view.into_any())),
        }
    }

    /// A view of any other kind.
    fn any(&mut self, view: AnyView) {
        self.push(Hole::Any(Box::new(view)));
    }

    /// What changes with signals.
    pub(crate) fn live(&mut self, live: Box<dyn Live>) {
        self.push(Hole::Live(live));
    }

    /// A handler of events.
    pub(crate) fn event(&mut self, hear: impl FnMut(Event) + 'static) {
        self.hear(Box::new(hear));
    }

    fn hear(&mut self, hear: Box<dyn Hear>) {
        self.push(Hole::Event(hear));
    }

    /// One of two, by a condition that is asked again when its signals change, and heeded only when its answer does.
    pub(crate) fn show(
        &mut self,
        when: Box<dyn Fn() -> bool + Send + Sync>,
        mut then: Box<dyn Live>,
        mut fallback: Option<Box<dyn Live>>,
    ) {
        let when = ArcMemo::new(move |_| when());
        self.live(Box::new(move |holes: &mut Self| {
            if when.get() {
                then.fill(holes);
            } else if let Some(fallback) = &mut fallback {
                fallback.fill(holes);
            } else {
                holes.empty();
            }
        }));
    }

    /// Makes those from `start` on into one.
    fn fold(&mut self, start: usize) {
        let many = self.0.split_off(start);
        self.push(Hole::Many(many));
    }
}

/// What can fill a hole: as a child, or as the value of an attribute, a property or a class.
pub(crate) trait Fill {
    /// Fills exactly one.
    fn fill(self, holes: &mut Holes);
}

impl Fill for () {
    fn fill(self, holes: &mut Holes) {
        holes.empty();
    }
}

impl Fill for bool {
    fn fill(self, holes: &mut Holes) {
        holes.flag(self);
    }
}

impl Fill for &str {
    fn fill(self, holes: &mut Holes) {
        holes.text(self);
    }
}

impl Fill for String {
    fn fill(self, holes: &mut Holes) {
        holes.string(self);
    }
}

impl Fill for &String {
    fn fill(self, holes: &mut Holes) {
        holes.text(self);
    }
}

impl Fill for Cow<'_, str> {
    fn fill(self, holes: &mut Holes) {
        holes.string(self.into_owned());
    }
}

macro_rules! numbers {
    ($($number:ty)*) => {$(
        impl Fill for $number {
            fn fill(self, holes: &mut Holes) {
                holes.string(self.to_string());
            }
        }
    )*};
}

numbers!(u8 u16 u32 u64 usize i32 i64 f64);

impl Fill for Made {
    fn fill(self, holes: &mut Holes) {
        holes.made(self);
    }
}

impl Fill for AnyView {
    fn fill(self, holes: &mut Holes) {
        holes.any(self);
    }
}

impl<T: Fill> Fill for Option<T> {
    fn fill(self, holes: &mut Holes) {
        match self {
            Some(value) => value.fill(holes),
            None => holes.empty(),
        }
    }
}

impl<T: Fill> Fill for Vec<T> {
    fn fill(self, holes: &mut Holes) {
        let start = holes.0.len();
        for value in self {
            value.fill(holes);
        }
        holes.fold(start);
    }
}

impl<T: Fill, const N: usize> Fill for [T; N] {
    fn fill(self, holes: &mut Holes) {
        Vec::from(self).fill(holes);
    }
}

impl<F: FnMut() -> T + 'static, T: Fill> Fill for F {
    fn fill(mut self, holes: &mut Holes) {
        holes.live(Box::new(move |holes: &mut Holes| self().fill(holes)));
    }
}

macro_rules! signals {
    ($($signal:ident)*) => {$(
        impl<T: Fill + Clone + Send + Sync + 'static> Fill for $signal<T> {
            fn fill(self, holes: &mut Holes) {
                holes.live(Box::new(move |holes: &mut Holes| self.get().fill(holes)));
            }
        }
    )*};
}

signals!(RwSignal Signal Memo);
