//! Folds: what stands behind a tap, and open on paper.

use std::collections::BTreeSet;

use leptos::ev;
use leptos::prelude::*;
use wasm_bindgen::JsCast;

use crate::parts::paper::Paper;

/// The folds of a screen that stand open, by their words. What is drawn anew, as an answer that comes to a page being
/// read, leaves them as the reader set them.
#[derive(Clone, Copy)]
struct OpenFolds(StoredValue<BTreeSet<String>>);

/// Keeps the folds of everything below open over a new drawing.
pub(crate) fn keep_open() {
    provide_context(OpenFolds(StoredValue::new(BTreeSet::new())));
}

/// Whether a fold stands open.
struct State {
    words: StoredValue<String>,
    opened: RwSignal<bool>,
    kept: Option<OpenFolds>,
}

impl State {
    fn of(summary: &str) -> Self {
        let kept = use_context::<OpenFolds>();
        let before = kept.is_some_and(|kept| kept.0.with_value(|open| open.contains(summary)));
        let opened = RwSignal::new(before);
        // On paper it is open; what the reader closes after that stays closed.
        Effect::new(move |_| {
            if Paper::is_printed() {
                opened.set(true);
            }
        });
        Self { words: StoredValue::new(summary.to_owned()), opened, kept }
    }

    fn toggled(&self, event: &ev::Event) {
        let fold = event.target().and_then(|target| target.dyn_into::<web_sys::Element>().ok());
        let Some(is_open) = fold.map(|fold| fold.has_attribute("open")) else {
            return;
        };
        self.opened.set(is_open);
        let Some(OpenFolds(kept)) = self.kept else {
            return;
        };
        kept.update_value(|open| {
            self.words.with_value(|words| if is_open { open.insert(words.clone()) } else { open.remove(words) });
        });
    }
}

/// Stands behind its words.
#[component]
pub(crate) fn Fold(
    /// What opens it.
    #[prop(into)]
    summary: String,
    /// Shown as a row of a list, with so many in it where that is told.
    #[prop(optional)]
    row: Option<usize>,
    /// What it is for the style sheet.
    #[prop(optional)]
    class: &'static str,
    /// What stands behind.
    children: Children,
) -> impl IntoView {
    let state = State::of(&summary);
    let opened = state.opened;
    view! {
        <details class=class open=opened on:toggle=move |event| state.toggled(&event)>
            {head(summary, row)}
            {children()}
        </details>
    }
}

/// As a fold that is a row, but what stands behind is made only when someone opens it, and stays then.
#[component]
pub(crate) fn Behind(
    /// What opens it.
    #[prop(into)]
    summary: String,
    /// Makes it.
    children: ChildrenFn,
) -> impl IntoView {
    let state = State::of(&summary);
    let opened = state.opened;
    let made = Memo::new(move |before| before.copied().unwrap_or(false) || opened.get());
    view! {
        <details open=opened on:toggle=move |event| state.toggled(&event)>
            {head(summary, Some(0))}
            {move || made.get().then(|| children())}
        </details>
    }
}

fn head(summary: String, row: Option<usize>) -> AnyView {
    let Some(n) = row else {
        return view! { <summary>{summary}</summary> }.into_any();
    };
    view! {
        <summary class="row">
            <span class="name thin">{summary}</span>
            <span class="lead"></span>
            {(n > 0).then(|| view! { <span class="num">{n}</span> })}
        </summary>
    }
    .into_any()
}
