//! Fields: a label, an input, a unit, what is wrong with it.

use bloomdue_core::error::Field;
use bloomdue_words::form::Problem;
use leptos::prelude::*;

/// One line of text.
#[component]
pub(crate) fn TextField(
    /// What to type.
    #[prop(into)]
    label: String,
    /// The text.
    value: RwSignal<String>,
    /// A word of help under it.
    #[prop(optional, into)]
    hint: String,
    /// Which keyboard a phone shows.
    #[prop(optional, into)]
    mode: String,
    /// Name of the field in core's errors; its error is shown here.
    #[prop(optional)]
    name: Option<Field>,
    /// What is wrong.
    #[prop(optional, into)]
    problem: Signal<Option<Problem>>,
) -> impl IntoView {
    let mine =
        move || problem.with(|p| p.as_ref().filter(|p| p.field.is_some() && p.field == name).map(|p| p.text.clone()));
    let mine = Memo::new(move |_| mine());
    let id = fresh_id();
    let under = format!("{id}-under");
    view! {
        <div class="field">
            <label class="label" for=id.clone()>{label}</label>
            <input
                type="text"
                id=id
                autocomplete="off"
                inputmode=(!mode.is_empty()).then_some(mode)
                aria-invalid=move || mine.get().map(|_| "true")
                aria-describedby=under.clone()
                prop:value=value
                on:input=move |event| value.set(event_target_value(&event))
            />
            <div id=under>
                {(!hint.is_empty()).then(|| view! { <span class="hint">{hint}</span> })}
                {move || mine.get().map(|text| view! { <span class="problem" role="alert">{text}</span> })}
            </div>
        </div>
    }
}

/// Several lines of text.
#[component]
pub(crate) fn LinesField(
    /// What to type.
    #[prop(into)]
    label: String,
    /// The text.
    value: RwSignal<String>,
    /// A word of help under it.
    #[prop(optional, into)]
    hint: String,
    /// Which keyboard a phone shows.
    #[prop(optional, into)]
    mode: String,
) -> impl IntoView {
    let id = fresh_id();
    let under = format!("{id}-under");
    view! {
        <div class="field">
            <label class="label" for=id.clone()>{label}</label>
            <textarea
                id=id
                inputmode=(!mode.is_empty()).then_some(mode)
                aria-describedby=under.clone()
                prop:value=value
                on:input=move |event| value.set(event_target_value(&event))
            ></textarea>
            <span id=under class="hint">{hint}</span>
        </div>
    }
}

/// A name for an element that another one refers to; no two of a page are alike.
pub(crate) fn fresh_id() -> String {
    thread_local! {
        static N_GIVEN: std::cell::Cell<u32> = const { std::cell::Cell::new(0) };
    }
    N_GIVEN.set(N_GIVEN.get() + 1);
    format!("field-{}", N_GIVEN.get())
}

/// A day.
#[component]
pub(crate) fn DayField(
    /// What the day is.
    #[prop(into)]
    label: String,
    /// `YYYY-MM-DD`, or empty.
    value: RwSignal<String>,
    /// Latest day that can be chosen, or empty.
    #[prop(optional, into)]
    max: String,
) -> impl IntoView {
    view! {
        <label class="field">
            <span class="label">{label}</span>
            <input
                type="date"
                max=(!max.is_empty()).then_some(max)
                prop:value=value
                on:input=move |event| value.set(event_target_value(&event))
            />
        </label>
    }
}

/// One of a few, as buttons that stay pressed.
#[component]
pub(crate) fn Chips<T: Clone + PartialEq + Send + Sync + 'static>(
    /// What is chosen.
    #[prop(into)]
    label: String,
    /// The choices and their words.
    choices: Vec<(T, String)>,
    /// The choice made.
    value: RwSignal<T>,
) -> impl IntoView {
    let buttons = choices
        .into_iter()
        .map(|(choice, words)| {
            let this = choice.clone();
            let pressed = move || if value.with(|v| *v == this) { "true" } else { "false" };
            let set = move |_| value.set(choice.clone());
            view! { <button type="button" class="chip" aria-pressed=pressed on:click=set>{words}</button> }
        })
        .collect_view();
    view! {
        <div class="field" role="group" aria-label=label.clone()>
            <span class="label">{label.clone()}</span>
            <div class="chips">{buttons}</div>
        </div>
    }
}

/// The sentence of a problem that belongs to no field shown.
#[component]
pub(crate) fn ProblemLine(
    /// What is wrong.
    #[prop(into)]
    problem: Signal<Option<Problem>>,
) -> impl IntoView {
    move || problem.get().map(|p| view! { <p class="problem" role="alert">{p.text}</p> })
}
