//! One place: its bulbs drawn as they stand, in bench order, and what can be done there.

use bloomdue_core::care;
use bloomdue_core::handover::labels::n_entered;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::Bulb;
use bloomdue_core::sketch::Pose;
use bloomdue_core::stock::Shows;
use bloomdue_words::route::Route;
use bloomdue_words::same::grouped;
use bloomdue_words::{bulb as words, common, dates, labels, light, mistakes, places as say, potting, stock};
use leptos::prelude::*;

use crate::app::{Records, app};
use crate::parts::drawings;
use crate::parts::heading::Heading;
use crate::parts::photos::{AddPhoto, Photos};

/// One place.
#[component]
pub(crate) fn Place(place: Id) -> impl IntoView {
    let app = app();
    let title = Signal::derive(move || app.read(|r| r.state.name_of(place).to_owned()));
    let under = move || {
        app.read(|r| {
            let row = r.state.place_row(place);
            row.map_or(String::new(), |row| {
                let seen = row.last_walk.map(|day| dates::days_away(day, r.today));
                format!("{} · {}", common::bulbs(row.n_bulbs), say::place_under(row.kind, row.blocks_percent, seen))
            })
        })
    };
    let cells = move || {
        app.read(|r| {
            let unsure = care::due(r.state, r.today).bulbs_to_see_again();
            let cell = |bulb: &Bulb| Cell::of(r, bulb, unsure.contains(&bulb.id));
            r.state.bulbs_in(place).into_iter().map(cell).collect::<Vec<_>>()
        })
    };
    let all = Memo::new(move |_| cells());
    let tapped = RwSignal::new(false);
    let shown = move || {
        let n = if tapped.get() { usize::MAX } else { FIRST_CELLS };
        all.with(|all| all.iter().take(n).cloned().collect::<Vec<_>>())
    };
    let n = move || all.with(Vec::len);
    let any = Memo::new(move |_| n() > 0);
    let n_today = move || app.read(|r| n_entered(r.state, place, r.today));
    let again = move || all.with(|all| all.iter().any(|cell| cell.again));
    view! {
        <Heading place=common::places_word() title=title under=Signal::derive(under) back=Route::Places />
        <div class="bench">
            <For each=shown key=Cell::clone children=|cell| cell.view() />
        </div>
        <Show when=move || { n() > FIRST_CELLS && !tapped.get() }>
            <button type="button" class="btn soft" on:click=move |_| tapped.set(true)>
                {move || words::show_all(n())}
            </button>
        </Show>
        <Show when=again>
            <p class="small again">{say::look_again()}</p>
        </Show>
        <Show when=move || any.get()>
            <p class="small">{say::bench_order()}</p>
        </Show>
        <h2>{say::here()}</h2>
        <nav aria-label=say::here()>
            <a class="row" href=Route::AddBulbs(place).href()><span class="name thin">{say::add_bulbs()}</span><span class="lead"></span></a>
            <Show when=move || any.get()>
                <a class="row" href=Route::Sheet(place).href()><span class="name thin">{say::walk_sheet()}</span><span class="lead"></span></a>
                <a class="row" href=Route::TypeIn(place).href()><span class="name thin">{say::type_sheet_in()}</span><span class="lead"></span></a>
                <a class="row" href=Route::Labels(place).href()>
                    <span class="name thin">
                        {move || match n_today() {
                            0 => labels::link().to_owned(),
                            n => labels::to_label(n),
                        }}
                    </span>
                    <span class="lead"></span>
                </a>
                <a class="row" href=Route::Several(place).href()><span class="name thin">{mistakes::several()}</span><span class="lead"></span></a>
            </Show>
            <a class="row" href=Route::Light(place).href()><span class="name thin">{light::way()}</span><span class="lead"></span></a>
            <a class="row" href=Route::Potting(None).href()><span class="name thin">{potting::way()}</span><span class="lead"></span></a>
            <a class="row" href=Route::EditPlace(place).href()><span class="name thin">{say::change_place()}</span><span class="lead"></span></a>
        </nav>
        <h2>{words::photos()}</h2>
        <Photos app=app of=place />
        <AddPhoto app=app about=vec![place] label=title at=Route::Place(place) />
        <Show when=move || any.get()>
            <div class="act pair">
                <a class="btn" href=Route::Care(place, None).href() aria-label=say::record_care()>{common::done_here()}</a>
                <a class="btn main" href=Route::Walk(place).href()>{say::walk_it()}</a>
            </div>
        </Show>
    }
}

/// Bulbs drawn before "show all".
const FIRST_CELLS: usize = 80;

/// One bulb on the bench.
#[derive(Clone, PartialEq, Eq, Hash)]
struct Cell {
    bulb: Id,
    label: String,
    /// What it shows and since when that is known, for those who do not see the drawing.
    says: String,
    pose: Pose,
    /// A shoot of it is to be seen again by today.
    again: bool,
    /// What its drawing can't say: that no stalk comes.
    blind: Option<&'static str>,
}

/// A tag that may break in its middle, where the cell is too narrow for it.
fn in_two(label: &str) -> AnyView {
    let grouped = grouped(label);
    match grouped.split_once(' ') {
        Some((first, rest)) => view! { {first.to_owned()} <wbr /> {rest.to_owned()} }.into_any(),
        None => grouped.into_any(),
    }
}

impl Cell {
    fn of(r: Records<'_>, bulb: &Bulb, again: bool) -> Self {
        let says = say::bench_under(bulb, r.state, r.today);
        let seen = bulb.last_look().map(|seen| dates::days_away(seen.at.date(), r.today));
        let says = say::on_the_bench(bulb.label(), &says, seen.as_deref(), again);
        let blind = bulb.is_blind().then(|| stock::shows(Shows::Blind));
        Self { bulb: bulb.id, label: bulb.label().to_owned(), says, pose: Pose::of(bulb), again, blind }
    }

    fn view(self) -> impl IntoView {
        view! {
            <a class="cell" class:again=self.again href=Route::Bulb(self.bulb).href() aria-label=self.says>
                {drawings::bulb_side(self.pose, 44, None)}
                <span class="tag">{in_two(&self.label)}</span>
                {self.blind.map(|words| view! { " " <span class="small">{words}</span> })}
            </a>
        }
    }
}
