//! Fields: a label, an input, a unit, what is wrong with it.

use bloomdue_core::error::Field;
use bloomdue_words::form::Problem;
use bloomdue_words::route::Route;
use bloomdue_words::start;
use leptos::prelude::*;

use crate::device::screen;

/// The fields of a screen that say themselves what is wrong with them, so that it is said once.
#[derive(Clone, Copy)]
struct Answering(RwSignal<Vec<Field>>);

/// Lets the fields of everything below answer for themselves.
pub(crate) fn let_answer() {
    provide_context(Answering(RwSignal::new(Vec::new())));
}

/// What is wrong with the field of this name. The field is known to say it as long as it stands, and takes the focus
/// whenever a form is refused for it.
fn answer(name: Option<Field>, problem: Signal<Option<Problem>>, id: String) -> Memo<Option<String>> {
    let mine = move |p: &Problem| p.field.is_some() && p.field == name;
    if let (Some(Answering(fields)), Some(name)) = (use_context(), name) {
        fields.update(|fields| fields.push(name));
        on_cleanup(move || {
            let _ = fields.try_update(|fields| {
                let at = fields.iter().position(|known| *known == name);
                at.map(|at| fields.swap_remove(at))
            });
        });
        Effect::new(move |before: Option<()>| {
            if problem.with(|p| p.as_ref().is_some_and(mine)) && before.is_some() {
                screen::focus_field(&id);
            }
        });
    }
    Memo::new(move |_| problem.with(|p| p.as_ref().filter(|p| mine(p)).map(|p| p.text.clone())))
}

/// What stands under a field: help, and what is wrong.
fn under(name: String, hint: String, wrong: Memo<Option<String>>) -> impl IntoView {
    view! {
        <div id=name>
            {(!hint.is_empty()).then(|| view! { <span class="hint">{hint}</span> })}
            {move || wrong.get().map(|text| view! { <span class="problem" role="alert">{text}</span> })}
        </div>
    }
}

/// The way to the screen on which what was refused is mended; it leads back.
pub(crate) fn way_to_mend(to: Option<Route>) -> impl IntoView {
    to.map(|to| view! { <a class="line" href=to.href()>{start::say_who()}</a> })
}

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
    /// Whether the form begins with it: then it has the focus when it comes.
    #[prop(optional)]
    first: bool,
) -> impl IntoView {
    let id = fresh_id();
    let below = format!("{id}-under");
    let mine = answer(name, problem, id.clone());
    begin(first);
    view! {
        <div class="field">
            <label class="label" for=id.clone()>{label}</label>
            <input
                type="text"
                id=id
                data-first=first.then_some("")
                autocomplete="off"
                inputmode=(!mode.is_empty()).then_some(mode)
                aria-invalid=move || mine.get().map(|_| "true")
                aria-describedby=below.clone()
                prop:value=value
                on:input=move |event| value.set(event_target_value(&event))
            />
            {under(below, hint, mine)}
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
    /// Name of the field in core's errors; its error is shown here.
    #[prop(optional)]
    name: Option<Field>,
    /// What is wrong.
    #[prop(optional, into)]
    problem: Signal<Option<Problem>>,
    /// Whether the form begins with it: then it has the focus when it comes.
    #[prop(optional)]
    first: bool,
) -> impl IntoView {
    let id = fresh_id();
    let below = format!("{id}-under");
    let mine = answer(name, problem, id.clone());
    begin(first);
    view! {
        <div class="field">
            <label class="label" for=id.clone()>{label}</label>
            <textarea
                id=id
                data-first=first.then_some("")
                inputmode=(!mode.is_empty()).then_some(mode)
                aria-invalid=move || mine.get().map(|_| "true")
                aria-describedby=below.clone()
                prop:value=value
                on:input=move |event| value.set(event_target_value(&event))
            ></textarea>
            {under(below, hint, mine)}
        </div>
    }
}

/// A first field has the focus once it stands, whenever that is: a form may come with its screen or by a tap.
fn begin(first: bool) {
    if first {
        request_animation_frame(screen::focus_beginning);
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
    /// Name of the field in core's errors; its error is shown here.
    #[prop(optional)]
    name: Option<Field>,
    /// What is wrong.
    #[prop(optional, into)]
    problem: Signal<Option<Problem>>,
) -> impl IntoView {
    let id = fresh_id();
    let below = format!("{id}-under");
    let mine = answer(name, problem, id.clone());
    view! {
        <div class="field">
            <label class="label" for=id.clone()>{label}</label>
            <input
                type="date"
                id=id
                max=(!max.is_empty()).then_some(max)
                aria-invalid=move || mine.get().map(|_| "true")
                aria-describedby=below.clone()
                prop:value=value
                on:input=move |event| value.set(event_target_value(&event))
            />
            {under(below, String::new(), mine)}
        </div>
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

/// What is wrong with the form, unless a field on the screen says it, and the way to mend it elsewhere.
#[component]
pub(crate) fn ProblemLine(
    /// What is wrong.
    #[prop(into)]
    problem: Signal<Option<Problem>>,
) -> impl IntoView {
    let answering: Option<Answering> = use_context();
    let says = move |field: Field| answering.is_some_and(|Answering(fields)| fields.with(|all| all.contains(&field)));
    let said = move || problem.get().filter(|p| !p.field.is_some_and(says));
    move || {
        said().map(|p| view! { <p class="problem" role="alert">{p.text} " " {way_to_mend(p.mend.map(|to| *to))}</p> })
    }
}
