//! One bulb: what it is, its season, its shoots, photos and records, and what stands beside it.

use bloomdue_core::ledger::body::{Body, ShootKind};
use bloomdue_core::ledger::id::{EntryId, Id};
use bloomdue_core::nursery::{aliases, season};
use bloomdue_core::sight::marks;
use bloomdue_words::route::Route;
use bloomdue_words::{bulb as say, common, dates, labels, measure, places, records, same as one};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::parts::contrary::to_settle;
use crate::parts::fold::Fold;
use crate::parts::heading::Heading;
use crate::parts::photos::{AddPhoto, Photos};
use crate::parts::season::{SeasonWords, season_strip, season_table};
use crate::parts::{
    drawings,
    records::{Records, taken_back_here},
};

/// Records shown before all are asked for.
const N_RECORDS: usize = 12;

/// One bulb's page.
#[component]
pub(crate) fn Bulb(bulb: Id) -> impl IntoView {
    let app = app();
    let known = Memo::new(move |_| app.read(|r| r.state.bulb(&bulb).is_some()));
    move || {
        if known.get() {
            view! { <Known app=app bulb=bulb /> }.into_any()
        } else {
            view! { <p>{say::unknown()}</p> }.into_any()
        }
    }
}

#[component]
fn Known(app: App, bulb: Id) -> impl IntoView {
    let back = app.peek(|r| r.state.bulb(&bulb).and_then(|b| b.place)).map_or(Route::Places, Route::Place);
    let place = move || {
        app.read(|r| {
            r.state.bulb(&bulb).and_then(|b| b.place).map(|p| r.state.name_of(p).to_owned()).unwrap_or_default()
        })
    };
    let name = Signal::derive(move || app.read(|r| r.state.name_of(bulb).to_owned()));
    let under = move || app.read(|r| r.state.bulb(&bulb).map(|b| say::under(b, r.state, r.today)).unwrap_or_default());
    view! {
        <Heading
            place=Signal::derive(place)
            title=name
            under=Signal::derive(under)
            back=back
        />
        <Picture app=app bulb=bulb />
        {move || to_settle(app, app.read(|r| r.state.contraries_of(bulb).to_vec()))}
        <Shoots app=app bulb=bulb />
        <h2>{say::photos()}</h2>
        <Photos app=app of=bulb measured=true />
        <OnPhotos app=app bulb=bulb />
        <AddPhoto app=app about=vec![bulb] label=name at=Route::Bulb(bulb) />
        <h2>{say::records()}</h2>
        <History app=app bulb=bulb />
        <Family app=app bulb=bulb />
        <Beside app=app bulb=bulb />
        <Twice app=app bulb=bulb />
        <h2>{say::more()}</h2>
        <InContainer app=app bulb=bulb />
        <a class="row" href=Route::Labels(bulb).href()><span class="name thin">{labels::link_one()}</span><span class="lead"></span></a>
        <a class="row" href=Route::EditBulb(bulb).href()><span class="name thin">{say::names_and_lot()}</span><span class="lead"></span></a>
        <a class="row" href=Route::SameBulb(bulb).href()><span class="name thin">{one::link()}</span><span class="lead"></span></a>
        <div class="act pair no-print">
            <a class="btn" href=Route::Care(bulb, None).href() aria-label=say::record_something()>{common::done_here()}</a>
            <a class="btn main" href=Route::Look(bulb).href()>{say::look_now()}</a>
        </div>
    }
}

/// The links that say it was entered more than once, each with the way back.
#[component]
fn Twice(app: App, bulb: Id) -> impl IntoView {
    move || {
        let rows = app.read(|r| {
            let known = r.state.bulb(&bulb).filter(|known| !known.also.is_empty())?;
            let links = aliases::links_of(r.ledger, known).into_iter();
            let row = |entry: &std::sync::Arc<bloomdue_core::ledger::entry::Entry>| {
                let Body::SameAs(link) = &entry.body else {
                    return None;
                };
                let about = entry.envelope.about.iter().find(|id| **id != link.to);
                let said = one::one_bulb(about.copied().unwrap_or(bulb), link.to, r.state);
                Some((entry.id, said, records::under(entry, r.state, r.today, true)))
            };
            Some(links.filter_map(row).collect::<Vec<_>>())
        });
        rows.map(|rows| view! { <h2>{one::head()}</h2> {taken_back_here(app, rows)} })
    }
}

/// The drawing, the tag, the try it is in, and the season strip with its days as a table.
#[component]
fn Picture(app: App, bulb: Id) -> impl IntoView {
    let drawn = move || app.read(|r| r.state.bulb(&bulb).map(|b| drawings::bulb_as_recorded(b, 96, None)));
    let lines = move || {
        app.read(|r| {
            let Some(known) = r.state.bulb(&bulb) else {
                return Vec::new();
            };
            let mut lines = Vec::new();
            if let Some(tag) = known.tag.shown() {
                let grouped = tag.parse().map_or_else(|_| tag.clone(), |tag: bloomdue_core::tag::Tag| tag.grouped());
                lines.push(say::tag(&grouped));
            }
            if !known.also.is_empty() {
                lines.push(one::also(known));
            }
            let run = r.state.running(known).and_then(|run| r.state.runs.get(&run));
            if let Some((run, body)) = run.and_then(|run| run.body.shown().map(|body| (run, body))) {
                let group = r.state.group_of(run, known).map(|(_, group)| r.state.name_of(group)).unwrap_or_default();
                lines.push(say::group_line(group, r.state.name_of(body.trial), body.ordinal));
            }
            lines
        })
        .into_iter()
        .map(|line| view! { <p class="small">{line}</p> })
        .collect_view()
    };
    let sentence = move || app.read(|r| r.state.bulb(&bulb).map(|known| say::sentence(known, r.today)));
    let strip = move || {
        app.read(|r| {
            let known = r.state.bulb(&bulb)?;
            let run = r.state.running(known).and_then(|run| r.state.runs.get(&run));
            let window = run.and_then(|run| run.window.settled());
            let season = season::season(known, r.today, window);
            let words = SeasonWords {
                summary: say::season_summary(known, r.today),
                rest: say::rest().to_owned(),
                growth: say::growth().to_owned(),
                due: window.map(|w| say::due(&dates::date_short(w.to, r.today))).unwrap_or_default(),
            };
            let table = season_table(
                &season,
                say::season_days().to_owned(),
                (say::day_word().to_owned(), say::what_word().to_owned()),
                |row| (dates::date_short(row.on, r.today), say::season_row(row.what)),
            );
            let strip = season_strip(&season, words);
            Some(view! {
                {strip}
                <Fold summary=say::season_days()>{table}</Fold>
            })
        })
    };
    view! {
        <div class="portrait">
            {drawn}
            <div>
                <p class="say">{sentence}</p>
                {lines}
            </div>
        </div>
        {strip}
    }
}

#[component]
fn Shoots(app: App, bulb: Id) -> impl IntoView {
    move || {
        let rows = app.read(|r| {
            let shoots = r.state.bulb(&bulb).map(|b| b.cycle().shoots.clone()).unwrap_or_default();
            shoots
                .into_iter()
                .map(|shoot| (say::shoot(&shoot, r.today), shoot.id, shoot.kind == ShootKind::Unknown))
                .collect::<Vec<_>>()
        });
        (!rows.is_empty()).then(|| {
            let rows = rows
                .into_iter()
                .map(|(text, shoot, unsure)| {
                    view! {
                        <div class="row">
                            <span class="grow">{text}</span>
                            <a class="btn soft" href=Route::Call(bulb, shoot).href()>
                                {if unsure { say::is_it_a_stalk() } else { say::put_kind_right() }}
                            </a>
                        </div>
                    }
                })
                .collect_view();
            view! { <h2>{say::shoots()}</h2> {rows} }
        })
    }
}

/// What grew between photos, and the way to see them side by side.
#[component]
fn OnPhotos(app: App, bulb: Id) -> impl IntoView {
    move || {
        if !app.whole.get() {
            return None;
        }
        let (grown, several) = app.read(|r| {
            let known = r.state.bulb(&bulb)?;
            let all = marks::on_photos(r.ledger, known);
            let grown = marks::all_grown(&all).into_iter();
            let grown = grown.map(|(what, from, to, a_day)| measure::grown(what, from, to, a_day, r.today));
            Some((grown.collect::<Vec<_>>(), known.photos.len() > 1))
        })?;
        Some(view! {
            {grown.into_iter().map(|line| view! { <p class="small">{line}</p> }).collect_view()}
            {several.then(|| view! {
                <a class="line no-print" href=Route::SideBySide(bulb).href()>{measure::side_by_side()}</a>
            })}
        })
    }
}

#[component]
fn History(app: App, bulb: Id) -> impl IntoView {
    let all = RwSignal::new(false);
    let rows = Memo::new(move |_| {
        app.read(|r| {
            let known = r.state.bulb(&bulb).map(|known| known.history(r.ledger));
            let mut history: Vec<(EntryId, String, String)> = known
                .unwrap_or_default()
                .into_iter()
                // What the program said is nothing that happened to the bulb, and a new one comes every day.
                .filter(|(entry, _)| !matches!(entry.body, Body::Shown(_)))
                .map(|(entry, stands)| {
                    (entry.id, records::said(&entry.body, r.state), records::under(entry, r.state, r.today, stands))
                })
                .collect();
            history.reverse();
            history
        })
    });
    let n = move || rows.with(Vec::len);
    let shown = move || {
        let n = if all.get() { n() } else { N_RECORDS };
        rows.with(|rows| rows.iter().take(n).cloned().collect::<Vec<_>>())
    };
    view! {
        <Records rows=Signal::derive(shown) />
        <Show when=move || { !all.get() && n() > N_RECORDS }>
            <button type="button" class="btn soft" on:click=move |_| all.set(true)>{move || say::show_all(n())}</button>
        </Show>
    }
}

/// Mother and offsets.
#[component]
fn Family(app: App, bulb: Id) -> impl IntoView {
    let mother = move || {
        app.read(|r| {
            let mother = r.state.bulb(&bulb)?.mother?;
            let name = say::to_mother(r.state.name_of(mother));
            Some(view! { <a class="btn soft gap-above" href=Route::Bulb(mother).href()>{name}</a> })
        })
    };
    let offsets = move || {
        app.read(|r| {
            let offsets = r.state.offsets_of(bulb);
            let rows = offsets.into_iter().map(|offset| {
                let under = places::bulb_under(offset, r.state, r.today);
                view! {
                    <a class="row" href=Route::Bulb(offset.id).href()>
                        <span class="grow">
                            <b class="tag">{offset.label().to_owned()}</b>
                            <br />
                            <span class="small">{under}</span>
                        </span>
                    </a>
                }
            });
            let rows = rows.collect::<Vec<_>>();
            (!rows.is_empty()).then(|| view! { <h2>{say::offsets()}</h2> {rows} })
        })
    };
    view! { {offsets} {mother} }
}

/// The way to the container it stands in.
#[component]
fn InContainer(app: App, bulb: Id) -> impl IntoView {
    move || {
        app.read(|r| {
            let (container, _) = r.state.bulb(&bulb)?.container?;
            let name = r.state.name_of(container).to_owned();
            Some(view! {
                <a class="row" href=Route::Container(container).href()>
                    <span class="name thin">{say::all_in(&name)}</span>
                    <span class="lead"></span>
                </a>
            })
        })
    }
}

/// Neighbours in bench order.
#[component]
fn Beside(app: App, bulb: Id) -> impl IntoView {
    move || {
        app.read(|r| {
            let place = r.state.bulb(&bulb).and_then(|known| known.place)?;
            let bulbs = r.state.bulbs_in(place);
            let at = bulbs.iter().position(|known| known.is(bulb))?;
            let near = [at.checked_sub(1), at.checked_add(1)].into_iter().flatten().filter_map(|at| bulbs.get(at));
            let rows = near
                .map(|other| {
                    let under = places::bulb_under(other, r.state, r.today);
                    view! {
                        <a class="row" href=Route::Bulb(other.id).href()>
                            <span class="grow">
                                <b class="tag">{other.label().to_owned()}</b>
                                <br />
                                <span class="small">{under}</span>
                            </span>
                        </a>
                    }
                })
                .collect::<Vec<_>>();
            (!rows.is_empty()).then(|| view! { <h2>{say::beside()}</h2> {rows} })
        })
    }
}
