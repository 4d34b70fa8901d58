//! Views from templates: what `bloomdue_views::view!` expands to, built by one function for all of them.
//!
//! A view is a constant string (elements, texts and attributes that never change) and a list of holes (everything
//! else). Building reads the string once; building again over what stands compares hole by hole, as Leptos does.

mod built;
mod holes;
mod template;

use leptos::attr::Attribute;
use leptos::prelude::{AddAnyAttr, AnyView, IntoAny as _, Render, RenderHtml};
use leptos::reactive::owner::Owner;
use leptos::tachys::html::attribute::any_attribute::AnyAttribute;
use leptos::tachys::hydration::Cursor;
use leptos::tachys::view::any_view::AnyViewWithAttrs;
use leptos::tachys::view::{Mountable as _, Position, PositionState};
use send_wrapper::SendWrapper;

use built::Nodes;
pub(crate) use holes::{Fill, Holes};

/// A view that was not built yet. Small, because most functions of screens give one back.
pub(crate) struct Made(Box<SendWrapper<Parts>>);

struct Parts {
    template: &'static str,
    holes: Holes,
    /// Under which its handlers run.
    owner: Owner,
}

impl Made {
    /// What a template says, with its holes still to be filled.
    pub(crate) fn new(template: &'static str) -> Self {
        Self(Box::new(SendWrapper::new(Parts {
            template,
            holes: Holes::default(),
            owner: Owner::current().unwrap_or_default(),
        })))
    }

    /// Where to put what fills them, in the order of the template.
    pub(crate) fn holes(&mut self) -> &mut Holes {
        &mut self.0.holes
    }

    fn take(self) -> Parts {
        self.0.take()
    }
}

/// A view of nothing but a text, a list, a closure that is asked again, or whatever else can fill a hole.
pub(crate) fn just(value: impl Fill) -> Made {
    let mut made = Made::new(template::A_CHILD);
    value.fill(made.holes());
    made
}

impl Render for Made {
    type State = Nodes;

    fn build(self) -> Nodes {
        Nodes::build(self.take())
    }

    fn rebuild(self, state: &mut Nodes) {
        let parts = self.take();
        if state.is_of(parts.template) {
            state.rebuild(parts);
        } else {
            let mut new = Nodes::build(parts);
            state.insert_before_this(&mut new);
            state.unmount();
            *state = new;
        }
    }
}

impl AddAnyAttr for Made {
    type Output<A: Attribute> = AnyViewWithAttrs;

    fn add_any_attr<A: Attribute>(self, attribute: A) -> AnyViewWithAttrs {
        let any: AnyView = self.into_any();
        any.add_any_attr(attribute)
    }
}

// Nothing is ever made into HTML: the app runs in the browser alone.
impl RenderHtml for Made {
    type AsyncOutput = Self;
    type Owned = Self;

    const MIN_LENGTH: usize = 0;

    fn dry_resolve(&mut self) {}

    async fn resolve(self) -> Self {
        self
    }

    fn to_html_with_buf(
        self,
        _: &mut String,
        _: &mut Position,
        _: bool,
        _: bool,
        _: Vec<AnyAttribute>,
    ) {
    }

    fn hydrate<const FROM_SERVER: bool>(self, _: &Cursor, _: &PositionState) -> Nodes {
        self.build()
    }

    fn into_owned(self) -> Self {
        self
    }
}
