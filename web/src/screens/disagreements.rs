//! Values that differ after a merge: both are kept, and one tap says which stands.

use bloomdue_core::ledger::id::Id;
use bloomdue_core::nursery::aliases;
use bloomdue_core::nursery::duplicates::{self, TwinActs, TwinShoots};
use bloomdue_core::nursery::state::Disagreement;
use bloomdue_core::record::Command;
use bloomdue_words::route::Route;
use bloomdue_words::{bulb, dates, files as say, records, same as one};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::parts::contrary::to_settle;
use crate::parts::heading::Heading;
use crate::parts::records::taken_back_here;

/// Every register whose values differ.
#[component]
pub(crate) fn Disagreements() -> impl IntoView {
    let app = app();
    let list = move || {
        let registers: Vec<Disagreement> = app.read(|r| r.state.disagreements.iter().cloned().collect());
        registers.into_iter().map(|register| view! { <One app=app register=register /> }).collect_view()
    };
    // Read once for the list and for whether there is one: it goes through every entry.
    let twins = Memo::new(move |_| app.read(|r| (duplicates::acts(r.ledger), duplicates::shoots(r.ledger, r.state))));
    let none = move || {
        app.read(|r| r.state.n_to_settle() == 0 && aliases::shared_tags(r.state).is_empty())
            && twins.with(|(acts, shoots)| acts.is_empty() && shoots.is_empty())
    };
    view! {
        <Heading place=say::files_word() title=say::disagreements() under=say::disagreements_under() back=Route::Files />
        <Show when=none>
            <p class="say">{say::all_settled()}</p>
        </Show>
        {move || to_settle(app, app.read(|r| r.state.contraries().cloned().collect()))}
        {list}
        {move || {
            let tags = app.read(|r| aliases::shared_tags(r.state)).into_iter();
            tags.map(|(tag, bulbs)| view! { <SharedTag app=app tag=tag bulbs=bulbs /> }).collect_view()
        }}
        {move || {
            let (acts, shoots) = twins.get();
            let acts = acts.into_iter().map(|twins| view! { <SameAct app=app twins=twins /> });
            let shoots = shoots.into_iter().map(|twins| view! { <SameShoot app=app twins=twins /> });
            view! { {acts.collect_view()} {shoots.collect_view()} }
        }}
        <Answers app=app />
    }
}

/// A tag that several bulbs carry: one of them entered twice, or one to be tagged anew.
#[component]
fn SharedTag(app: App, tag: String, bulbs: Vec<Id>) -> impl IntoView {
    let title = one::shared_tag(&tag, bulbs.len());
    let rows = bulbs.into_iter().map(|bulb| {
        let (label, under) = app.peek(|r| {
            let known = r.state.bulb(&bulb);
            let under = known.map(|known| bulb::under(known, r.state, r.today));
            (r.state.name_of(bulb).to_owned(), under.unwrap_or_default())
        });
        view! {
            <a class="row" href=Route::Bulb(bulb).href()>
                <span class="grow"><b class="tag">{label}</b> <br /> <span class="small">{under}</span></span>
            </a>
            <div class="grid2">
                <a class="btn soft" href=Route::SameBulb(bulb).href()>{one::link()}</a>
                <button
                    type="button"
                    class="btn soft"
                    on:click=move |_| { app.save(Command::Retag { bulb }, bloomdue_words::bulb::tag_changed()); }
                >
                    {bloomdue_words::bulb::new_tag()}
                </button>
            </div>
        }
    });
    view! {
        <h2>{title}</h2>
        <p class="small">{one::shared_under()}</p>
        {rows.collect_view()}
    }
}

/// An act that two phones may have recorded.
#[component]
fn SameAct(app: App, twins: TwinActs) -> impl IntoView {
    let (what, by, about) = app.peek(|r| {
        let by = |id| {
            let entry = r.ledger.get(id)?;
            Some(records::under(entry, r.state, r.today, true))
        };
        let what = r.ledger.get(twins.second).map(|entry| records::said(&entry.body, r.state));
        let by: Vec<String> = [twins.first, twins.second].into_iter().filter_map(by).collect();
        let names = twins.about.iter().map(|id| r.state.name_of(*id).to_owned());
        (what.unwrap_or_default(), by, records::about(&names.collect::<Vec<_>>()))
    });
    let answer = move |same: bool| {
        let command = Command::SameAct { act: twins.second, about: twins.about.clone(), same };
        app.save(command, if same { say::one_act() } else { say::two_acts() });
    };
    let (one, two) = (answer.clone(), answer);
    view! {
        <h2>{say::recorded_twice(&what)}</h2>
        <p class="small">{about} <br /> {by.join("; ")}</p>
        <div class="grid2">
            <button type="button" class="btn soft" on:click=move |_| one(true)>{say::one_act()}</button>
            <button type="button" class="btn soft" on:click=move |_| two(false)>{say::two_acts()}</button>
        </div>
    }
}

/// A shoot that two phones may have seen as two.
#[component]
fn SameShoot(app: App, twins: TwinShoots) -> impl IntoView {
    let (label, shoots) = app.peek(|r| {
        let shoots = [&twins.first, &twins.second].map(|shoot| bulb::shoot(shoot, r.today));
        (r.state.name_of(twins.bulb).to_owned(), shoots)
    });
    let (of, shoot, to) = (twins.bulb, twins.second.id, twins.first.id);
    let answer = move |same: bool| {
        let command = Command::SameShoot { bulb: of, shoot, to, same };
        app.save(command, if same { say::one_shoot() } else { say::two_shoots() });
    };
    view! {
        <h2>{say::one_shoot_or_two(&label)}</h2>
        <p class="small">{shoots[0].clone()} <br /> {shoots[1].clone()}</p>
        <div class="grid2">
            <button type="button" class="btn soft" on:click=move |_| answer(true)>{say::one_shoot()}</button>
            <button type="button" class="btn soft" on:click=move |_| answer(false)>{say::two_shoots()}</button>
        </div>
        <a class="btn soft gap-above" href=Route::Bulb(of).href()>{say::see_the_bulb()}</a>
    }
}

/// What was answered, each with the way back.
#[component]
fn Answers(app: App) -> impl IntoView {
    move || {
        let rows = app.read(|r| {
            let answers = duplicates::answers(r.ledger).into_iter().rev();
            answers
                .map(|entry| {
                    let about = entry.envelope.about.first().copied();
                    let name = about.map(|id| r.state.name_of(id).to_owned()).unwrap_or_default();
                    let said = say::answer(&name, &records::said(&entry.body, r.state));
                    (entry.id, said, records::under(entry, r.state, r.today, true))
                })
                .collect::<Vec<_>>()
        });
        (!rows.is_empty()).then(|| {
            view! {
                <h2>{say::answered()}</h2>
                {taken_back_here(app, rows)}
            }
        })
    }
}

#[component]
fn One(app: App, register: Disagreement) -> impl IntoView {
    let (title, values) = app.peek(|r| {
        let heads = r.state.heads(r.ledger, &register);
        let values = heads
            .iter()
            .map(|entry| {
                let who = r.state.name_of(entry.envelope.who).to_owned();
                let when = dates::date_short(entry.envelope.happened.date(), r.today);
                (entry.id, say::value(&entry.body, r.state), format!("{who} · {when}"))
            })
            .collect::<Vec<_>>();
        (say::register(&register, r.state), values)
    });
    let rows = values
        .into_iter()
        .map(|(entry, value, by)| {
            let register = register.clone();
            let choose = move |_| {
                app.save(Command::Settle { register: register.clone(), choose: entry }, say::settled());
            };
            view! {
                <div class="row">
                    <span class="grow"><b>{value}</b> <br /> <span class="small">{by}</span></span>
                    <button type="button" class="btn soft" on:click=choose>{say::this_stands()}</button>
                </div>
            }
        })
        .collect_view();
    view! { <h2>{title}</h2> {rows} }
}
