//! What was built, and building again over it.

use std::cell::RefCell;
use std::rc::Rc;

use leptos::prelude::{AnyView, Render as _, RenderEffect};
use leptos::reactive::owner::Owner;
use leptos::tachys::renderer::types::{Element, Node, Placeholder, Text};
use leptos::tachys::renderer::{RemoveEventHandler, Rndr};
use leptos::tachys::view::Mountable;
use wasm_bindgen::{JsCast as _, JsValue};

use super::Parts;
use super::holes::{Hear, Hole, Holes, Live};
use super::template::{marks, next};

const SVG: &str = "http://www.w3.org/2000/svg";

/// The state of any view.
type AnyState = <AnyView as leptos::prelude::Render>::State;

/// What a view of a template became.
pub(crate) struct Nodes {
    template: &'static str,
    /// The outermost nodes and holes, in order.
    roots: Vec<Root>,
    slots: Vec<Slot>,
}

enum Root {
    Node(Node),
    /// The number of a hole.
    Slot(usize),
}

/// What a hole became.
enum Slot {
    Child(Child),
    Value(Place, Value),
    Event(
        Rc<Ear>,
        #[expect(dead_code, reason = "takes the listener away when dropped")] Listener,
    ),
}

type Listener = RemoveEventHandler<Element>;

/// A child that fills a hole.
enum Child {
    Empty(Placeholder),
    Text(Text, String),
    /// With a node after the last of them.
    Many(Vec<Child>, Placeholder),
    Nodes(Box<Nodes>),
    Any(Box<AnyState>),
    Live(RenderEffect<Child>),
}

/// Where the value of a hole goes.
#[derive(Clone)]
struct Place {
    element: Element,
    kind: char,
    name: &'static str,
}

/// The value of an attribute, a property or a class.
enum Value {
    Still(Words),
    Live(RenderEffect<Words>),
}

#[derive(Clone, PartialEq)]
enum Words {
    Absent,
    Flag(bool),
    Text(String),
}

/// Whom an event is told, which building again may change.
struct Ear(RefCell<Option<(Owner, Box<dyn Hear>)>>);

impl Nodes {
    /// Makes the nodes, not yet in the page.
    pub(super) fn build(parts: Parts) -> Self {
        let mut nodes = Self {
            template: parts.template,
            roots: Vec::new(),
            slots: Vec::new(),
        };
        let mut holes = parts.holes.into_inner().into_iter();
        let mut open: Vec<Element> = Vec::new();
        let mut rest = parts.template;
        while let Some((mark, words)) = next(&mut rest) {
            match mark {
                marks::OPEN | marks::OPEN_SVG => {
                    let element =
                        Rndr::create_element(words, (mark == marks::OPEN_SVG).then_some(SVG));
                    nodes.add(open.last(), element.as_ref());
                    open.push(element);
                }
                marks::CLOSE => {
                    open.pop();
                }
                marks::TEXT => nodes.add(open.last(), Rndr::create_text_node(words).as_ref()),
                marks::ATTRIBUTE => {
                    if let Some(element) = open.last() {
                        let (name, value) = words.split_once('=').unwrap_or((words, ""));
                        Rndr::set_attribute(element, name, value);
                    }
                }
                marks::CHILD => {
                    let mut child = Child::build(holes.next().unwrap_or(Hole::Empty));
                    match open.last() {
                        Some(parent) => child.mount(parent, None),
                        None => nodes.roots.push(Root::Slot(nodes.slots.len())),
                    }
                    nodes.slots.push(Slot::Child(child));
                }
                kind @ (marks::VALUE | marks::PROPERTY | marks::CLASS | marks::EVENT) => {
                    if let (Some(element), Some(hole)) = (open.last(), holes.next()) {
                        nodes.slots.push(Slot::build(
                            Place {
                                element: element.clone(),
                                kind,
                                name: words,
                            },
                            hole,
                            &parts.owner,
                        ));
                    }
                }
                _ => {}
            }
        }
        nodes
    }

    fn add(&mut self, parent: Option<&Element>, node: &Node) {
        match parent {
            Some(parent) => Rndr::insert_node(parent, node, None),
            None => self.roots.push(Root::Node(node.clone())),
        }
    }

    /// Whether these nodes are those of a template.
    pub(super) fn is_of(&self, template: &'static str) -> bool {
        self.template == template
    }

    /// Fills the holes anew; the parts must be of the same template.
    pub(super) fn rebuild(&mut self, parts: Parts) {
        for (slot, hole) in self.slots.iter_mut().zip(parts.holes.into_inner()) {
            match (slot, hole) {
                (Slot::Child(child), hole) => child.rebuild(hole),
                (Slot::Value(place, value), hole) => value.rebuild(place, hole),
                (Slot::Event(ear, _), Hole::Event(hear)) => {
                    ear.0.replace(Some((parts.owner.clone(), hear)));
                }
                (Slot::Event(..), _) => {}
            }
        }
    }

    fn child(&self, slot: usize) -> Option<&Child> {
        match self.slots.get(slot) {
            Some(Slot::Child(child)) => Some(child),
            _ => None,
        }
    }

    fn child_mut(&mut self, slot: usize) -> Option<&mut Child> {
        match self.slots.get_mut(slot) {
            Some(Slot::Child(child)) => Some(child),
            _ => None,
        }
    }
}

impl Slot {
    fn build(place: Place, hole: Hole, owner: &Owner) -> Self {
        match hole {
            Hole::Event(hear) => {
                let ear = Rc::new(Ear(RefCell::new(Some((owner.clone(), hear)))));
                let listener = Rndr::add_event_listener(&place.element, place.name, {
                    let ear = Rc::clone(&ear);
                    Box::new(move |event| ear.hear(event))
                });
                Self::Event(ear, listener)
            }
            hole => {
                let value = Value::build(&place, hole, None);
                Self::Value(place, value)
            }
        }
    }
}

impl Ear {
    fn hear(&self, event: JsValue) {
        // Out of its place meanwhile, so that a handler which makes the view be built again may be replaced.
        let Some((owner, mut hear)) = self.0.take() else {
            return;
        };
        owner.with(|| hear.hear(event.unchecked_into()));
        self.0.borrow_mut().get_or_insert((owner, hear));
    }
}

impl Value {
    fn build(place: &Place, hole: Hole, mut before: Option<Words>) -> Self {
        match hole {
            Hole::Live(mut live) => {
                let place = place.clone();
                Self::Live(RenderEffect::new(move |last| {
                    let words = Words::of(Holes::now(&mut *live));
                    place.set(&words, Option::or(last, before.take()));
                    words
                }))
            }
            hole => {
                let words = Words::of(hole);
                place.set(&words, before);
                Self::Still(words)
            }
        }
    }

    fn rebuild(&mut self, place: &Place, hole: Hole) {
        let before = match self {
            Self::Still(words) => Some(words.clone()),
            Self::Live(live) => live.take_value(),
        };
        // What is there or not may have been changed by the browser, which opens and closes `details`: written anew.
        let before = match before {
            Some(Words::Flag(_)) if place.kind == marks::VALUE => Some(Words::Absent),
            before => before,
        };
        *self = Self::build(place, hole, before);
    }
}

impl Words {
    fn of(hole: Hole) -> Self {
        match hole {
            Hole::Flag(is) => Self::Flag(is),
            Hole::Text(text) => Self::Text(text),
            Hole::Live(mut live) => Self::of(Holes::now(&mut *live)),
            _ => Self::Absent,
        }
    }
}

impl Place {
    fn set(&self, words: &Words, before: Option<Words>) {
        if before.as_ref() == Some(words) {
            return;
        }
        let Self {
            element,
            kind,
            name,
        } = self;
        match (*kind, words) {
            (marks::PROPERTY, words) => {
                let value = match words {
                    Words::Absent => JsValue::UNDEFINED,
                    Words::Flag(is) => JsValue::from_bool(*is),
                    Words::Text(text) => JsValue::from_str(text),
                };
                Rndr::set_property_or_value(element, name, &value);
            }
            (marks::CLASS, words) => {
                let classes = element.class_list();
                if *words == Words::Flag(true) {
                    Rndr::add_class(&classes, name);
                } else {
                    Rndr::remove_class(&classes, name);
                }
            }
            (_, Words::Text(text)) => Rndr::set_attribute(element, name, text),
            (_, Words::Flag(true)) => Rndr::set_attribute(element, name, ""),
            (_, Words::Flag(false) | Words::Absent) => {
                if before.is_some() {
                    Rndr::remove_attribute(element, name);
                }
            }
        }
    }
}

impl Child {
    fn build(hole: Hole) -> Self {
        match hole {
            Hole::Text(text) => Self::Text(Rndr::create_text_node(&text), text),
            Hole::Flag(is) => Self::build(Hole::Text(is.to_string())),
            Hole::Many(holes) => Self::Many(
                holes.into_iter().map(Self::build).collect(),
                Rndr::create_placeholder(),
            ),
            Hole::Made(made) => Self::Nodes(Box::new(made.build())),
            Hole::Any(view) => Self::Any(Box::new(view.build())),
            Hole::Live(live) => Self::live(live),
            Hole::Empty | Hole::Event(_) => Self::Empty(Rndr::create_placeholder()),
        }
    }

    fn live(mut live: Box<dyn Live>) -> Self {
        Self::Live(RenderEffect::new(move |built: Option<Self>| {
            let hole = Holes::now(&mut *live);
            match built {
                Some(mut built) => {
                    built.rebuild(hole);
                    built
                }
                None => Self::build(hole),
            }
        }))
    }

    fn rebuild(&mut self, hole: Hole) {
        match (&mut *self, hole) {
            (Self::Empty(_), Hole::Empty) => {}
            (Self::Text(node, before), Hole::Text(text)) => {
                if *before != text {
                    Rndr::set_text(node, &text);
                    *before = text;
                }
            }
            (Self::Many(children, end), Hole::Many(holes)) => {
                for mut surplus in children.drain(holes.len().min(children.len())..) {
                    surplus.unmount();
                }
                let n_standing = children.len();
                for (i, hole) in holes.into_iter().enumerate() {
                    if i < n_standing {
                        children[i].rebuild(hole);
                    } else {
                        let mut child = Self::build(hole);
                        insert_before(end, &mut child);
                        children.push(child);
                    }
                }
            }
            (Self::Nodes(nodes), Hole::Made(made)) => made.rebuild(nodes),
            (Self::Any(state), Hole::Any(view)) => view.rebuild(state),
            (_, hole) => {
                let mut new = Self::build(hole);
                self.insert_before_this(&mut new);
                self.unmount();
                *self = new;
            }
        }
    }
}

/// Puts something before a node that is in the page; says whether it is.
fn insert_before(node: &Node, new: &mut dyn Mountable) -> bool {
    let parent = Rndr::get_parent(node).and_then(|parent| parent.dyn_into::<Element>().ok());
    match parent {
        Some(parent) => {
            new.mount(&parent, Some(node));
            true
        }
        None => false,
    }
}

impl Drop for Child {
    fn drop(&mut self) {
        // An effect that is dropped keeps what it made until its task is polled again. Until then an effect further in
        // would still run when a signal calls it, although what it reads was disposed of with the outer one.
        if let Self::Live(live) = self {
            drop(live.take_value());
        }
    }
}

impl Mountable for Child {
    fn unmount(&mut self) {
        match self {
            Self::Empty(node) => Rndr::remove(node),
            Self::Text(node, _) => Rndr::remove(node),
            Self::Many(children, end) => {
                for child in children {
                    child.unmount();
                }
                Rndr::remove(end);
            }
            Self::Nodes(nodes) => nodes.unmount(),
            Self::Any(state) => state.unmount(),
            Self::Live(live) => live.unmount(),
        }
    }

    fn mount(&mut self, parent: &Element, marker: Option<&Node>) {
        match self {
            Self::Empty(node) => Rndr::insert_node(parent, node, marker),
            Self::Text(node, _) => Rndr::insert_node(parent, node, marker),
            Self::Many(children, end) => {
                for child in children {
                    child.mount(parent, marker);
                }
                Rndr::insert_node(parent, end, marker);
            }
            Self::Nodes(nodes) => nodes.mount(parent, marker),
            Self::Any(state) => state.mount(parent, marker),
            Self::Live(live) => live.mount(parent, marker),
        }
    }

    fn insert_before_this(&self, new: &mut dyn Mountable) -> bool {
        match self {
            Self::Empty(node) => insert_before(node, new),
            Self::Text(node, _) => insert_before(node, new),
            Self::Many(children, end) => {
                children
                    .first()
                    .is_some_and(|first| first.insert_before_this(new))
                    || insert_before(end, new)
            }
            Self::Nodes(nodes) => nodes.insert_before_this(new),
            Self::Any(state) => state.insert_before_this(new),
            Self::Live(live) => live.insert_before_this(new),
        }
    }

    fn elements(&self) -> Vec<Element> {
        match self {
            Self::Empty(_) | Self::Text(..) => Vec::new(),
            Self::Many(children, _) => children.iter().flat_map(Mountable::elements).collect(),
            Self::Nodes(nodes) => nodes.elements(),
            Self::Any(state) => state.elements(),
            Self::Live(live) => live.elements(),
        }
    }
}

impl Mountable for Nodes {
    fn unmount(&mut self) {
        for i in 0..self.roots.len() {
            match &self.roots[i] {
                Root::Node(node) => Rndr::remove(node),
                &Root::Slot(slot) => {
                    if let Some(child) = self.child_mut(slot) {
                        child.unmount();
                    }
                }
            }
        }
    }

    fn mount(&mut self, parent: &Element, marker: Option<&Node>) {
        for i in 0..self.roots.len() {
            match &self.roots[i] {
                Root::Node(node) => Rndr::insert_node(parent, node, marker),
                &Root::Slot(slot) => {
                    if let Some(child) = self.child_mut(slot) {
                        child.mount(parent, marker);
                    }
                }
            }
        }
    }

    fn insert_before_this(&self, new: &mut dyn Mountable) -> bool {
        self.roots.iter().any(|root| match root {
            Root::Node(node) => insert_before(node, new),
            Root::Slot(slot) => self
                .child(*slot)
                .is_some_and(|child| child.insert_before_this(new)),
        })
    }

    fn elements(&self) -> Vec<Element> {
        let of_root = |root: &Root| match root {
            Root::Node(node) => node.dyn_ref::<Element>().cloned().into_iter().collect(),
            Root::Slot(slot) => self
                .child(*slot)
                .map(Mountable::elements)
                .unwrap_or_default(),
        };
        self.roots.iter().flat_map(of_root).collect()
    }
}
