//! Stock: all bulbs in one list, by what they show, place, lot, cultivar and size; it prints.

use std::cell::RefCell;

use bloomdue_core::ledger::id::Id;
use bloomdue_core::stock::{self, Filter, Shows};
use bloomdue_words::route::Route;
use bloomdue_words::{bulb as bulbs, common, places, scapes, stock as say};
use leptos::prelude::*;

use crate::app::{Records, app};
use crate::parts::drawings;
use crate::parts::field::TextField;
use crate::parts::fold::Fold;
use crate::parts::heading::Heading;
use crate::parts::paper::Paper;

/// Rows drawn before "show all".
const FIRST_ROWS: usize = 60;

thread_local! {
    /// As the list was left, so that the way back from a bulb leads to the same one.
    static LEFT: RefCell<Filter> = RefCell::default();
}

/// All bulbs.
#[component]
pub(crate) fn Stock() -> impl IntoView {
    let app = app();
    let paper = Paper::provide();
    let left = LEFT.with_borrow(Clone::clone);
    let typed = RwSignal::new(left.text.clone());
    let chosen = RwSignal::new(left);
    let filter = Memo::new(move |_| Filter { text: typed.get(), ..chosen.get() });
    Effect::new(move |_| LEFT.set(filter.get()));
    let found = Memo::new(move |_| {
        filter.with(|filter| {
            app.read(|r| {
                let found = stock::stock(r.state, filter);
                let rows: Vec<Row> = found.bulbs.iter().map(|bulb| Row::of(r, bulb)).collect();
                let n_here = found.n_here();
                (rows, found.by_shows.into_iter().collect::<Vec<_>>(), n_here)
            })
        })
    });
    let n = move || found.with(|(rows, _, _)| rows.len());
    let tapped = RwSignal::new(false);
    let rows = move || {
        let all = tapped.get() || Paper::is_printed();
        let shown = if all { usize::MAX } else { FIRST_ROWS };
        found.with(|(rows, _, _)| rows.iter().take(shown).cloned().collect::<Vec<_>>())
    };
    let tally = move || found.with(|(rows, _, n_here)| say::tally(rows.len(), (*n_here).max(rows.len())));
    let is_narrowed = move || filter.with(|filter| *filter != Filter::default());
    let show_everything = move |_| {
        typed.set(String::new());
        chosen.set(Filter::default());
    };
    view! {
        <Heading
            place=common::places_word()
            title=say::title()
            tally=Signal::derive(tally)
            back=Route::Places
        />
        <div class="no-print">
            <TextField label=bulbs::find_label() value=typed hint=bulbs::find_hint() />
            <a class="line" href=Route::Scapes.href()>{scapes::way()}</a>
        </div>
        <div class="field" role="group" aria-label=say::what_it_shows()>
            <div class="chips">
                <For
                    each=move || found.with(|(_, by_shows, _)| by_shows.clone())
                    key=|counted| *counted
                    children=move |(shows, n)| chip(chosen, shows, n)
                />
            </div>
        </div>
        <Fold summary=say::narrow() row=0usize class="no-print">
            {move || app.read(|r| choices(r, chosen))}
        </Fold>
        <Show when=move || n() == 0>
            <p class="say">{say::none()}</p>
        </Show>
        <Show when=is_narrowed>
            <button type="button" class="btn soft no-print" on:click=show_everything>{say::show_everything()}</button>
        </Show>
        <For each=rows key=Row::clone children=|row| row.view() />
        <Show when=move || { n() > FIRST_ROWS && !tapped.get() }>
            <button type="button" class="btn soft no-print" on:click=move |_| tapped.set(true)>
                {move || bulbs::show_all(n())}
            </button>
        </Show>
        <div class="stack gap-above no-print">{paper.button()}</div>
    }
}

/// A bulb of the list.
#[derive(Clone, PartialEq, Eq, Hash)]
struct Row {
    bulb: Id,
    label: String,
    says: String,
    pose: bloomdue_core::sketch::Pose,
}

impl Row {
    fn of(r: Records<'_>, bulb: &bloomdue_core::nursery::Bulb) -> Self {
        let pose = bloomdue_core::sketch::Pose::of(bulb);
        Self { bulb: bulb.id, label: bulb.label().to_owned(), says: say::row(bulb, r.state), pose }
    }

    fn view(self) -> impl IntoView {
        view! {
            <a class="row" href=Route::Bulb(self.bulb).href()>
                <span class="pic">{drawings::bulb_side(self.pose, 28, None)}</span>
                <span class="name tag">{self.label}</span>
                <span class="lead"></span>
                <span class="soon">{self.says}</span>
            </a>
        }
    }
}

/// How many show this; a tap lists them, a second one all again.
fn chip(chosen: RwSignal<Filter>, shows: Shows, n: usize) -> impl IntoView {
    let is_chosen = move || chosen.with(|chosen| chosen.shows == Some(shows));
    let pressed = move || if is_chosen() { "true" } else { "false" };
    let tap = move |_| {
        let now = (!is_chosen()).then_some(shows);
        chosen.update(|chosen| chosen.shows = now);
    };
    view! {
        <button type="button" class="chip" aria-pressed=pressed aria-label=say::n_that_show(shows, n) on:click=tap>
            {say::shows(shows)}
            " "
            <b class="num">{n}</b>
        </button>
    }
}

/// The choices by which there is more than one kind.
fn choices(r: Records<'_>, chosen: RwSignal<Filter>) -> impl IntoView + use<> {
    let offered = stock::choices(r.state);
    let rows = r.state.place_rows().into_iter().map(|row| (row.id, row.name));
    let lots = r.state.lots.iter().filter_map(|(id, lot)| Some((*id, places::lot(lot.shown()?))));
    let cultivars = offered.cultivars.into_iter().map(|name| (name.clone(), name));
    let sizes = offered.sizes.into_iter().map(|size| (size, say::size_class(size)));
    view! {
        <Choice label=say::place() choices=rows.collect() of=|f: &mut Filter| &mut f.place chosen=chosen />
        <Choice label=say::lot() choices=lots.collect() of=|f: &mut Filter| &mut f.lot chosen=chosen />
        <Choice label=say::cultivar() choices=cultivars.collect() of=|f: &mut Filter| &mut f.cultivar chosen=chosen />
        <Choice label=say::size() choices=sizes.collect() of=|f: &mut Filter| &mut f.size chosen=chosen />
    }
}

/// One of several, or any.
#[component]
fn Choice<T: Clone + PartialEq + Send + Sync + 'static>(
    label: &'static str,
    choices: Vec<(T, String)>,
    of: fn(&mut Filter) -> &mut Option<T>,
    chosen: RwSignal<Filter>,
) -> impl IntoView {
    if choices.len() < 2 {
        return ().into_any();
    }
    let field = format!("stock-{label}");
    let options = choices.iter().enumerate();
    let options = options.map(|(at, (_, words))| view! { <option value=at.to_string()>{words.clone()}</option> });
    let options = options.collect_view();
    let choices = StoredValue::new(choices);
    let now = move || {
        let mut filter = chosen.get();
        let wanted = of(&mut filter).clone();
        let at = choices.with_value(|all| all.iter().position(|(value, _)| Some(value) == wanted.as_ref()));
        at.map(|at| at.to_string()).unwrap_or_default()
    };
    let set = move |event: leptos::ev::Event| {
        let at = event_target_value(&event).parse::<usize>().ok();
        let value = choices.with_value(|all| at.and_then(|at| all.get(at)).map(|(value, _)| value.clone()));
        chosen.update(|filter| *of(filter) = value);
    };
    view! {
        <div class="field with-label">
            <label for=field.clone()>{label}</label>
            <select id=field on:change=set prop:value=now>
                <option value="">{say::any()}</option>
                {options}
            </select>
        </div>
    }
    .into_any()
}
