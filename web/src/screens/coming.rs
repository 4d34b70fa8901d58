//! What is coming: how many will be fit to sell or in flower, when, and how sure that is.

use bloomdue_core::calendar::Date;
use bloomdue_core::error::Error;
use bloomdue_core::forecast::log::to_keep;
use bloomdue_core::forecast::{self, Ask, BulbOutlook, Data, Drawn, Of, Offered, OnDay, Outlook, Wanted, Window};
use bloomdue_core::ledger::body::DueWindow;
use bloomdue_core::ledger::id::Id;
use bloomdue_core::record::Command;
use bloomdue_core::work::{Done, Task};
use bloomdue_words::bulb::show_all;
use bloomdue_words::form::Problem;
use bloomdue_words::glossary::Term;
use bloomdue_words::plot::WIDTH;
use bloomdue_words::plot::days::DayAxis;
use bloomdue_words::route::Route;
use bloomdue_words::table::Table;
use bloomdue_words::told::NotRecorded;
use bloomdue_words::{coming as say, plan, scored, spend};
use leptos::prelude::*;
use wasm_bindgen_futures::spawn_local;

use crate::app::{App, Records, app};
use crate::parts::field::{Chips, ProblemLine};
use crate::parts::fold::Fold;
use crate::parts::forecasts::{decisions, earlier};
use crate::parts::heading::Heading;
use crate::parts::paper::Paper;
use crate::parts::plots::counts::CountPlot;
use crate::parts::plots::days::foot;
use crate::parts::plots::strips::{key, strip};
use crate::parts::plots::table::TableBehind;
use crate::parts::working::WorkShown;
use crate::screens::{published, words};

/// The forecast; of the days of a try or a saved plan, where one is named.
#[component]
pub(crate) fn ComingDays(of: Option<Id>) -> impl IntoView {
    let app = app();
    let paper = Paper::provide();
    let offered = Memo::new(move |_| {
        app.read(|r| {
            let mut all = forecast::offered(r.state, r.today);
            all.push(Offered {
                runs: Vec::new(),
                plans: Vec::new(),
                name: say::next_weeks().to_owned(),
                window: forecast::next_weeks(r.today),
                wanted: all.first().map_or(Wanted::InFlower, |one| one.wanted),
            });
            all
        })
    });
    let of_one = |one: &Offered| one.subjects().any(|id| Some(*id) == of);
    // Days that are too far off are shown when they are asked for.
    let near = |one: &Offered| app.peek(|r| forecast::ask(one.window, r.today)).is_ok();
    let first = offered.with_untracked(|all| {
        let mut all = all.iter();
        all.clone().position(of_one).or_else(|| all.position(near))
    });
    let at = RwSignal::new(first.unwrap_or(0) as u32);
    let chosen = Memo::new(move |_| offered.with(|all| all.get(at.get() as usize).or(all.last()).cloned()));
    let wanted = RwSignal::new(Wanted::InFlower);
    let not_kept = RwSignal::new(None);
    let not_counted = RwSignal::new(None);
    let days = Memo::new(move |_| chosen.with(|one| one.as_ref().map(|one| one.window)));
    // Other days are shown by what is wanted for them; the grower may say otherwise after that.
    Effect::new(move |_| {
        if days.get().is_some()
            && let Some(one) = chosen.get_untracked()
        {
            wanted.set(one.wanted);
            not_counted.set(None);
        }
    });
    let choices = move || {
        let today = app.today.get();
        let words = |one: &Offered| match one.subjects().next() {
            Some(_) => say::offered(one, today),
            None => one.name.clone(),
        };
        let choices = offered.with(|all| (0..).zip(all.iter().map(words)).collect());
        view! { <Chips label=say::for_which() choices=choices value=at /> }
    };
    let kinds = [Wanted::FitToSell, Wanted::InFlower].map(|kind| (kind, say::wanted(kind).to_owned()));
    // Records that change nothing of it, the one that keeps the forecast among them, do not ask anew.
    let made = Memo::new(move |_| {
        let window = days.get().unwrap_or_else(|| forecast::next_weeks(app.today.get()));
        app.read(|r| {
            let data = forecast::gather(r.state, r.today);
            let ask = match chosen.get() {
                Some(one) => one.ask(r.state, r.today),
                None => forecast::ask(window, r.today),
            };
            ask.map(|ask| (data, ask))
        })
    });
    let name = move || chosen.with_untracked(|one| one.as_ref().map_or_else(String::new, |one| one.name.clone()));
    let keep = move |outlook: &Outlook| {
        if let Some(offered) = chosen.get_untracked() {
            let n = app.peek(|r| offered.n_not_counted(r.state, outlook));
            let plan = offered.plans.first().filter(|_| n > 0);
            not_counted.set(plan.map(|plan| (n, *plan)));
            spawn_local(keep_said(app, offered, outlook.clone(), not_kept));
        }
    };
    let seen = RwSignal::new(None::<Seen>);
    view! {
        <Heading
            place=Signal::derive(move || app.read(|r| r.state.name.shown().cloned().unwrap_or_default()))
            title=say::title()
            back=Route::Due
        />
        <p class="print-only">{move || chosen.get().map(|one| say::on_paper(&one, wanted.get(), app.today.get()))}</p>
        {move || asked(app, made.get(), name(), wanted, seen, keep)}
        <ProblemLine problem=not_kept />
        {choices}
        <Chips label=say::wanted_label() choices=kinds.to_vec() value=wanted />
        <Show when=move || wanted.get() == Wanted::FitToSell>{words::link(Term::FitToSell)}</Show>
        {move || not_counted.get().map(|(n, plan)| view! {
            <p>{say::not_counted(n)}</p>
            <a class="btn soft" href=Route::PlanBack(Some(plan)).href()>{say::see_plan()}</a>
        })}
        {move || seen.get().map(|Seen { outlook, window }| {
            outlook.with_value(|outlook| behind(app, outlook, window, wanted.get()))
        })}
        {move || app.whole.get().then(|| {
            let numbers = earlier(app, None);
            view! { <Fold summary=scored::title() row=0usize>{numbers}</Fold> }
        })}
        {move || app.whole.get().then(|| {
            decisions(app).map(|list| view! { <Fold summary=spend::turned_out() row=0usize>{list}</Fold> })
        })}
        <p class="small">{say::hint()}</p>
        <div class="grid2 no-print">
            <a class="btn soft" href=Route::PlanBack(None).href()>{plan::title()}</a>
            {paper.button()}
        </div>
    }
}

/// The forecast on the screen, and the days it was asked for.
#[derive(Clone, Copy)]
struct Seen {
    outlook: StoredValue<Outlook>,
    window: Window,
}

/// Keeps what is said of a due window, and says why where it cannot be kept. What was kept today already needs no word.
async fn keep_said(app: App, offered: Offered, outlook: Outlook, not_kept: RwSignal<Option<Problem>>) {
    // Only the whole ledger knows what was kept today.
    app.when_whole().await;
    let now = app.moment().now;
    let drafts = app.peek(|r| to_keep(r.ledger, &offered, &outlook, &now));
    if drafts.is_ok_and(|drafts| drafts.is_empty()) {
        return;
    }
    let outlook = Box::new(outlook);
    let kept = app.record(Command::KeepForecast { offered, outlook }).await;
    let told = |why: &NotRecorded| {
        let why = Problem::from(why);
        Problem { text: say::not_kept(&why.text), ..why }
    };
    not_kept.try_set(kept.err().as_ref().map(told));
}

/// Asks anew for other days; what counts is only shown otherwise. What came of it is said first, and kept for the rest of
/// the page.
fn asked(
    app: App,
    made: Result<(Data, Ask), Error>,
    name: String,
    wanted: RwSignal<Wanted>,
    seen: RwSignal<Option<Seen>>,
    keep: impl Fn(&Outlook) + Send + 'static,
) -> AnyView {
    seen.set(None);
    let (data, ask) = match made {
        Ok(made) => made,
        Err(why) => {
            return view! { <ProblemLine problem=Some(Problem::from(&why)) /> }.into_any();
        }
    };
    if data.waiting().next().is_none() {
        return view! { <p>{say::none()}</p> }.into_any();
    }
    let seed = data.seed();
    let window = ask.window.unwrap_or(Window { from: data.today, to: data.today });
    let work = app.work(Task::Forecast { data: Box::new(data), seed, ask });
    let shown = move |done| {
        let Done::Forecast(outlook) = done else {
            return ().into_any();
        };
        let name = name.clone();
        keep(&outlook);
        let outlook = StoredValue::new(*outlook);
        seen.set(Some(Seen { outlook, window }));
        (move || outlook.with_value(|outlook| answer(outlook, window, wanted.get(), &name))).into_any()
    };
    view! { <WorkShown work=work shown=shown /> }.into_any()
}

/// What the page knows, first.
fn answer(outlook: &Outlook, window: Window, wanted: Wanted, name: &str) -> AnyView {
    let all = outlook.all();
    let sentence = all.and_then(|group| {
        let said = group.in_window(wanted)?;
        Some(say::sentence(wanted, said, group.n_bulbs, window, outlook.today))
    });
    let sure = all.and_then(|group| group.in_window(wanted)).map(|said| {
        let most = said.at_least.len().saturating_sub(1);
        let start = said.assured(0.9).clamp(1, most.max(1));
        view! { <AtLeast chances=said.at_least.clone() start=start /> }
    });
    // Those that the days are for, where others are under way beside them.
    let own = outlook.asked().filter(|own| all.is_some_and(|all| own.n_bulbs < all.n_bulbs));
    let own = own.and_then(|own| Some(say::in_window(name, own.in_window(wanted)?, own.n_bulbs)));
    let own = own.filter(|_| !name.is_empty()).map(|own| view! { <p>{own}</p> });
    let published = outlook.from_published.then(|| view! { <p class="why">{say::from_published()}</p> });
    let rough = (!outlook.sampling.is_enough()).then(|| view! { <p class="small">{say::rough()}</p> });
    view! {
        <p class="say big">{sentence}</p>
        {own}
        <p class="small">{say::band_hint()}</p>
        {published}
        {rough}
        {sure}
    }
    .into_any()
}

/// What the answer consists of: the days, the bulbs by their chance, and what stands behind it.
fn behind(app: App, outlook: &Outlook, window: Window, wanted: Wanted) -> AnyView {
    let counts = outlook.all().map(|group| count_days(app, &group.days, window, wanted));
    let planned: Vec<_> = outlook
        .planned_beginnings()
        .into_iter()
        .map(|of| view! { <p>{say::planned_beginning(of, outlook.today)}</p> })
        .collect();
    let late = (!planned.is_empty()).then(|| view! { <p class="small">{say::planned_beginning_hint()}</p> });
    let n_unknown = app.peek(|r| outlook.started_unknown(r.state).len());
    let unknown = (n_unknown > 0).then(|| view! { <p class="note">{say::started_unknown(n_unknown)}</p> });
    let rest = (!outlook.unforeseen.is_empty())
        .then(|| view! { <p class="small">{say::unforeseen(outlook.unforeseen.len())}</p> });
    let how: Vec<_> = say::how_lines(&outlook.method, outlook.sampling)
        .into_iter()
        .map(|line| view! { <p class="small">{line}</p> })
        .collect();
    let strips = strips(app, outlook, window, wanted);
    let by_group = by_group(app, outlook, wanted);
    view! {
        {unknown}
        {counts}
        {by_chance(app, outlook, window, wanted)}
        {planned}
        {late}
        {rest}
        <h2>{say::behind_it()}</h2>
        <Fold summary=say::bulb_by_bulb() row=0usize>{strips}</Fold>
        <Fold summary=say::by_group() row=0usize>{by_group}</Fold>
        <Fold summary=say::how() row=0usize>{how} {published::link()}</Fold>
    }
    .into_any()
}

/// The bulbs that are nearly sure, those that may be, and how many hardly will.
fn by_chance(app: App, outlook: &Outlook, window: Window, wanted: Wanted) -> AnyView {
    let by_chance = outlook.by_chance(wanted);
    let label = |bulb: &BulbOutlook| app.peek(|r| r.state.name_of(bulb.bulb).to_owned());
    let tags = |bulbs: &[&BulbOutlook]| {
        let tag = |bulb: &&BulbOutlook| {
            let (to, label) = (Route::Bulb(bulb.bulb).href(), label(bulb));
            view! { <li><a class="tag line" href=to>{label}</a></li> }
        };
        let tags = bulbs.iter().map(tag).collect_view();
        view! { <ul class="plain tags">{tags}</ul> }.into_any()
    };
    let row = |bulb: &&BulbOutlook| {
        let (to, label) = (Route::Bulb(bulb.bulb).href(), label(bulb));
        let chance = bulb.in_window(wanted).map(say::chance_words).unwrap_or_default();
        view! {
            <a class="row" href=to>
                <span class="name tag">{label}</span>
                <span class="lead"></span>
                <span class="soon">{chance}</span>
            </a>
        }
    };
    let heads = |title: &'static str, n: usize| {
        view! {
            <div class="heads">
                <h2>{title}</h2>
                <span class="num">{n}</span>
            </div>
        }
    };
    let (sure, n_sure) = (tags(&by_chance.nearly_sure), by_chance.nearly_sure.len());
    let (may_be, n_may_be) = (by_chance.may_be.iter().map(row).collect_view(), by_chance.may_be.len());
    let (hardly, n_hardly) = (tags(&by_chance.hardly), by_chance.hardly.len());
    let of_hardly = say::hardly(window, outlook.today);
    view! {
        {(n_sure > 0).then(|| (heads(say::nearly_sure(), n_sure), sure))}
        {(n_may_be > 0).then(|| (heads(say::may_be(), n_may_be), may_be))}
        {(n_hardly > 0).then(|| view! { <Fold summary=of_hardly row=n_hardly>{hardly}</Fold> })}
    }
    .into_any()
}

/// The same by place, by lot and by try, each list under its name.
fn by_group(app: App, outlook: &Outlook, wanted: Wanted) -> AnyView {
    let title_of = |of: &Of| match of {
        Of::Place(_) => Some(say::by_place()),
        Of::Lot(_) => Some(say::by_lot()),
        Of::Try(_) => Some(say::by_try()),
        Of::All | Of::Asked | Of::Treatment(_) => None,
    };
    let lists: Vec<_> = [say::by_place(), say::by_lot(), say::by_try()]
        .into_iter()
        .map(|title| {
            let of_title = |group: &&forecast::GroupOutlook| title_of(&group.of) == Some(title);
            let groups = outlook.groups.iter().filter(of_title);
            let lines: Vec<_> = app.peek(|r| {
                let line = |group: &forecast::GroupOutlook| {
                    let name = say::group_name(group.of, r.state)?;
                    Some(say::in_window(&name, group.in_window(wanted)?, group.n_bulbs))
                };
                groups.filter_map(line).map(|line| view! { <li>{line}</li> }).collect()
            });
            (!lines.is_empty()).then(|| view! { <h3>{title}</h3> <ul>{lines}</ul> })
        })
        .collect();
    lists.into_any()
}

fn due_of(window: Window) -> DueWindow {
    DueWindow { name: String::new(), from: window.from, to: window.to }
}

/// The count curve with its table, a row every seven days.
fn count_days(app: App, days: &[OnDay], window: Window, wanted: Wanted) -> impl IntoView + use<> {
    let counted: Vec<_> = days.iter().map(|on| (on.day, on.of(wanted))).collect();
    let today = app.peek(|r| r.today);
    let table = Table {
        caption: say::by_day(wanted),
        heads: say::day_heads(),
        rows: counted.iter().step_by(7).map(|(day, counted)| say::day_row(*day, *counted, today)).collect(),
    };
    let due = due_of(window);
    view! {
        <h2>{say::by_day(wanted)}</h2>
        <p class="small">{say::by_day_hint()}</p>
        <CountPlot counted=counted due=due today=today />
        <TableBehind table=table />
    }
}

/// The chance of at least so many, with a number to step.
#[component]
fn AtLeast(chances: Vec<f64>, start: usize) -> impl IntoView {
    let most = chances.len().saturating_sub(1);
    let k = RwSignal::new(start.min(most));
    let line = move || {
        let k = k.get();
        say::at_least(k, chances.get(k).copied().unwrap_or(0.0))
    };
    view! {
        <div class="spread" role="group" aria-label=say::at_least_label()>
            <button type="button" class="btn soft" aria-label=say::fewer() on:click=move |_| k.update(|k| *k = k.saturating_sub(1).max(1))>"−"</button>
            <p class="grow" aria-live="polite">{line}</p>
            <button type="button" class="btn soft" aria-label=say::more() on:click=move |_| k.update(|k| *k = (*k + 1).min(most))>"+"</button>
        </div>
    }
}

/// Bulbs of one place drawn before "show all".
const FIRST_ROWS: usize = 8;

/// The strip of every bulb, place by place, and the same as a table.
fn strips(app: App, outlook: &Outlook, window: Window, wanted: Wanted) -> AnyView {
    let last = outlook.all().and_then(|all| all.days.last());
    let until = last.map_or(window.to, |on| on.day);
    let due = due_of(window);
    let axis = app.peek(|r| DayAxis::between(outlook.today, until, &due, r.today, WIDTH - 8.0));
    let mut table = Table { caption: say::dates_of_every_bulb(), heads: say::dates_heads(), rows: Vec::new() };
    let mut places = Vec::new();
    for (place, bulbs) in outlook.by_place(wanted) {
        let name =
            app.peek(|r| place.map_or_else(|| say::nowhere().to_owned(), |place| r.state.name_of(place).to_owned()));
        let rows: Vec<Strip> = app.peek(|r| {
            let row = |bulb: &&BulbOutlook| Strip {
                bulb: bulb.bulb,
                label: r.state.name_of(bulb.bulb).to_owned(),
                under: say::bulb_under(bulb, r.today),
                instead: nothing_drawn(r, bulb, until),
                chance: bulb.in_window(wanted).map(say::chance_words).unwrap_or_default(),
                outlook: (*bulb).clone(),
            };
            bulbs.iter().map(row).collect()
        });
        let cells = |row: &Strip| {
            let next = row.instead.as_ref().unwrap_or(&row.under).clone();
            vec![row.label.clone(), name.clone(), next, row.chance.clone()]
        };
        table.rows.extend(rows.iter().map(cells));
        let axis = axis.clone();
        places.push(view! { <PlaceStrips name=name rows=rows axis=axis /> });
    }
    view! {
        <p class="small">{say::strips_hint()}</p>
        {key()}
        {places}
        <TableBehind table=table />
    }
    .into_any()
}

/// What is said of a bulb of which no line can be drawn.
fn nothing_drawn(r: Records<'_>, bulb: &BulbOutlook, until: Date) -> Option<String> {
    match bulb.drawn(r.today, until) {
        Drawn::Lines => None,
        Drawn::Nothing => Some(say::bulb_under(bulb, r.today)),
        Drawn::Overdue => {
            let looked = r.state.bulb(&bulb.bulb)?.last_look();
            Some(say::look_first(looked.map(|seen| seen.at.date()), r.today))
        }
        Drawn::InFlower => Some(say::flowers_already().to_owned()),
    }
}

/// What is shown of one bulb.
#[derive(Clone)]
struct Strip {
    bulb: Id,
    label: String,
    under: String,
    /// Said where no line can be drawn.
    instead: Option<String>,
    chance: String,
    outlook: BulbOutlook,
}

/// The strips of one place: the likeliest, and all on a tap.
#[component]
fn PlaceStrips(name: String, rows: Vec<Strip>, axis: DayAxis) -> impl IntoView {
    let n_rows = rows.len();
    let tapped = RwSignal::new(n_rows <= FIRST_ROWS + 2);
    let all = Memo::new(move |_| tapped.get() || Paper::is_printed());
    let foot = foot(&axis);
    let row = move |row: &Strip| {
        view! {
            <a class="row" href=Route::Bulb(row.bulb).href()>
                <span class="strip-of">
                    <span class="spread">
                        <b class="tag">{row.label.clone()}</b>
                        <span class="small">{row.chance.clone()}</span>
                    </span>
                    {match &row.instead {
                        Some(words) => view! { <span class="small">{words.clone()}</span> }.into_any(),
                        None => view! {
                            <span class="unseen">{row.under.clone()}</span>
                            {strip(&axis, &row.outlook)}
                        }
                        .into_any(),
                    }}
                </span>
            </a>
        }
    };
    let shown = move || {
        let n = if all.get() { n_rows } else { FIRST_ROWS };
        rows.iter().take(n).map(&row).collect::<Vec<_>>()
    };
    view! {
        <h3>{name}</h3>
        {foot}
        {shown}
        <Show when=move || !all.get()>
            <button type="button" class="btn soft" on:click=move |_| tapped.set(true)>{show_all(n_rows)}</button>
        </Show>
    }
}
