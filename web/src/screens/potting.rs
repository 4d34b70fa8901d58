//! From a tape measure to litres of each part: the pot, the bulb, the mix; what comes of it stands beside while it is typed.

use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::{Body, ContainerKind};
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::potting::mix::TRADE;
use bloomdue_core::potting::{Answer, NoPotting, advice, potted};
use bloomdue_core::record::Command;
use bloomdue_core::record::act_fields::Caution;
use bloomdue_words::form::Problem;
use bloomdue_words::form::potting::{Asked, Typed, lines_of, lines_of_trade};
use bloomdue_words::knowledge::Page;
use bloomdue_words::route::Route;
use bloomdue_words::{care, common, formats, potting as say};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::parts::draft::{FormDraft, GoesOn, fields};
use crate::parts::field::{Chips, LinesField, ProblemLine, TextField};
use crate::parts::fold::{Behind, Fold};
use crate::parts::heading::Heading;
use crate::screens::knowledge::link;

fields! {
    /// What the fields hold.
    struct Fields of Typed {
        kind: ContainerKind,
        width: String,
        length: String,
        height: String,
        base_width: String,
        base_length: String,
        rim_gap: String,
        circumference: String,
        n_bulbs: String,
        above_permille: u32,
        n_pots: String,
        lines: String,
        settles: String,
    }
}

/// From the rim down to the mix at first, mm: room for water.
const RIM_GAP_MM: i64 = 25;

/// What is typed at first: the sizes and bulbs of a known container, else an empty pot.
fn typed_of(app: App, container: Option<Id>) -> Typed {
    let known =
        container.and_then(|id| app.peek(|r| r.state.containers.get(&id).and_then(|body| body.shown().cloned())));
    let number = |mm: Option<i64>| mm.map(formats::length_number).unwrap_or_default();
    let sizes: Vec<i64> = container.map_or_else(Vec::new, |id| {
        app.peek(|r| r.state.bulbs_in_container(id).iter().map(|bulb| bulb.size_mm()).filter(|mm| *mm > 0).collect())
    });
    let recipe = app
        .peek(|r| r.state.recipes.values().filter_map(|recipe| recipe.shown()).find(|one| !one.given_up).map(lines_of));
    let of =
        |read: fn(&bloomdue_core::ledger::body::ContainerBody) -> Option<i64>| number(known.as_ref().and_then(read));
    Typed {
        kind: known.as_ref().map_or(ContainerKind::Pot, |body| body.kind),
        width: of(|body| body.inner_width_mm),
        length: of(|body| body.inner_length_mm),
        height: of(|body| body.inner_height_mm),
        base_width: of(|body| body.base_width_mm),
        base_length: of(|body| body.base_length_mm),
        rim_gap: formats::about_number(RIM_GAP_MM),
        // The largest of them decides whether it fits.
        circumference: number(sizes.iter().copied().max()),
        n_bulbs: sizes.len().max(1).to_string(),
        above_permille: 333,
        n_pots: "1".to_owned(),
        lines: recipe.unwrap_or_else(|| lines_of_trade(&TRADE[0])),
        settles: String::new(),
    }
}

/// Pots and mix, for a known container or for any.
#[component]
pub(crate) fn Potting(container: Option<Id>) -> impl IntoView {
    let app = app();
    let fields = Fields::of(typed_of(app, container));
    let draft = fields
        .drafted(FormDraft::of(app, format!("potting {}", Route::Potting(container))))
        .in_units(|typed_in| {
            let lengths = [
                fields.width,
                fields.length,
                fields.height,
                fields.base_width,
                fields.base_length,
                fields.rim_gap,
                fields.circumference,
            ];
            for text in lengths {
                text.update(|text| *text = formats::retyped_length(text, typed_in));
            }
        })
        .keep();
    let problem = RwSignal::new(None::<Problem>);
    let found = Memo::new(move |_| now(fields).wish().map(|asked| asked.map(|asked| (potted(&asked.wish), asked))));
    // What is wrong stands beside its field while one types, as soon as there is something to work with.
    let wrong = Signal::derive(move || problem.get().or_else(|| found.get().err()));
    let place = container
        .map(|id| app.peek(|r| r.state.name_of(id).to_owned()))
        .unwrap_or_else(|| common::places_word().to_owned());
    let back = container.map_or(Route::Places, Route::Container);
    let keyboard = formats::length_keyboard();
    let kinds =
        ContainerKind::ALL.iter().map(|kind| (*kind, care::container_kind(*kind).to_owned())).collect::<Vec<_>>();
    let long = move || Typed::has_length(fields.kind.get());
    let above = say::ABOVE.iter().map(|(permille, words)| (*permille, (*words).to_owned())).collect::<Vec<_>>();
    view! {
        <Heading place=place title=say::title() back=back />
        <GoesOn draft=draft />
        <Said found=found />
        <h2>{say::the_pot()}</h2>
        <Chips label=say::what_it_is() choices=kinds value=fields.kind />
        <Show when=move || fields.kind.get() == ContainerKind::Bag>
            <p class="small">{say::bag_hint()}</p>
        </Show>
        <div class="grid2">
            <TextField label=say::width() value=fields.width mode=keyboard name=Field::Width problem=wrong />
            <TextField label=say::height() value=fields.height mode=keyboard name=Field::Height problem=wrong />
        </div>
        <Show when=long>
            <TextField label=say::length() value=fields.length mode=keyboard />
        </Show>
        <Fold summary=say::base_fold() row=0>
            <TextField label=say::base_width() value=fields.base_width mode=keyboard hint=say::base_hint() />
            <Show when=long>
                <TextField label=say::base_length() value=fields.base_length mode=keyboard hint=say::base_hint() />
            </Show>
        </Fold>
        <h2>{say::the_bulb()}</h2>
        <div class="grid2">
            <TextField label=say::circumference() value=fields.circumference mode=keyboard name=Field::Circumference problem=wrong />
            <TextField label=say::n_bulbs() value=fields.n_bulbs mode="numeric" name=Field::Bulbs problem=wrong />
        </div>
        <Chips label=say::above() choices=above value=fields.above_permille />
        <div class="grid2">
            <TextField label=say::rim_gap() value=fields.rim_gap mode=keyboard name=Field::Rim problem=wrong />
            <TextField label=say::n_pots() value=fields.n_pots mode="numeric" name=Field::Number problem=wrong />
        </div>
        <Mixes app=app fields=fields wrong=wrong />
        <Found found=found />
        <p class="note small">{care::caution(Caution::Dust)}</p>
        {link(Page::Potting)}
        {container.map(|id| view! { <KeepSizes app=app fields=fields container=id problem=problem /> })}
    }
}

/// What is typed now, followed as it changes.
fn now(fields: Fields) -> Typed {
    Typed {
        kind: fields.kind.get(),
        width: fields.width.get(),
        length: fields.length.get(),
        height: fields.height.get(),
        base_width: fields.base_width.get(),
        base_length: fields.base_length.get(),
        rim_gap: fields.rim_gap.get(),
        circumference: fields.circumference.get(),
        n_bulbs: fields.n_bulbs.get(),
        above_permille: fields.above_permille.get(),
        n_pots: fields.n_pots.get(),
        lines: fields.lines.get(),
        settles: fields.settles.get(),
    }
}

type Worked = Result<Option<(Result<Answer, NoPotting>, Asked)>, Problem>;

/// The answer in one sentence, above everything that is asked.
#[component]
fn Said(found: Memo<Worked>) -> impl IntoView {
    let words = move || match found.get() {
        Ok(Some((Ok(answer), asked))) => say::say(&answer, asked.wish.n_pots),
        Ok(Some((Err(why), _))) => say::refused(why),
        Ok(None) => say::begin().to_owned(),
        // What is wrong stands beside its field.
        Err(_) => String::new(),
    };
    view! { <p class="say" role="status">{words}</p> }
}

/// The mix: one's own or a published one as lines that can be typed on, what it settles by, and its name to keep it.
#[component]
fn Mixes(app: App, fields: Fields, wrong: Signal<Option<Problem>>) -> impl IntoView {
    let own = move || {
        app.read(|r| {
            let all = r.state.recipes.values().filter_map(|recipe| recipe.shown());
            all.filter(|recipe| !recipe.given_up)
                .map(|recipe| (recipe.name.clone(), lines_of(recipe), recipe.settles_permille))
                .collect::<Vec<_>>()
        })
    };
    let chip = move |words: String, lines: String, settles: Option<u32>| {
        let this = lines.clone();
        let pressed = move || if fields.lines.with(|now| *now == this) { "true" } else { "false" };
        let take = move |_| {
            fields.lines.set(lines.clone());
            if let Some(permille) = settles {
                fields.settles.set(formats::tenths_short(i64::from(permille)));
            }
        };
        view! { <button type="button" class="chip" aria-pressed=pressed on:click=take>{words}</button> }
    };
    let own = move || own().into_iter().map(|(name, lines, settles)| chip(name, lines, settles)).collect_view();
    let of_trade =
        TRADE.iter().map(|mix| chip(lines_of_trade(mix).replace('\n', ", "), lines_of_trade(mix), None)).collect_view();
    let name = RwSignal::new(String::new());
    let problem = RwSignal::new(None::<Problem>);
    let keep = move |_| match fields.typed().recipe(&name.get_untracked()) {
        Ok(recipe) => {
            problem.set(None);
            let known = app.peek(|r| {
                let mut all = r.state.recipes.iter();
                let same = all.find(|(_, known)| known.shown().is_some_and(|known| known.name == recipe.name));
                same.map(|(id, _)| *id)
            });
            let subject = known.unwrap_or_else(|| app.moment().ids.draw(Noun::Recipe));
            app.save(
                Command::Set { subject, slot: String::new(), body: Body::Recipe(recipe) },
                say::mix_kept().to_owned(),
            );
        }
        Err(why) => problem.set(Some(why)),
    };
    view! {
        <h2>{say::which_mix()}</h2>
        <div class="field" role="group" aria-label=say::which_mix()>
            <div class="chips">{own} {of_trade}</div>
        </div>
        <LinesField label=say::lines() value=fields.lines hint=say::lines_hint() name=Field::Parts problem=wrong />
        <Fold summary=say::settles_fold() row=0>
            <TextField label=say::settles() value=fields.settles mode="decimal" hint=say::settles_hint() name=Field::Settles problem=wrong />
        </Fold>
        <Fold summary=say::keep_mix() row=0>
            <TextField label=say::mix_name() value=name name=Field::Name problem=problem />
            <ProblemLine problem=problem />
            <button type="button" class="btn soft" on:click=keep>{say::keep_mix()}</button>
        </Fold>
    }
}

/// Litres and bags of each part, the room around the bulbs, the weight, and what is published.
#[component]
fn Found(found: Memo<Worked>) -> impl IntoView {
    move || {
        let Ok(Some((Ok(answer), asked))) = found.get() else {
            return ().into_any();
        };
        shown(&answer, &asked)
    }
}

fn shown(answer: &Answer, Asked { wish, names }: &Asked) -> AnyView {
    let rows: Vec<_> = answer
        .parts
        .iter()
        .zip(&wish.parts)
        .zip(names)
        .map(|((needed, part), name)| {
            let bags = say::bags_of(needed, part.bag_l);
            view! { <tr><th scope="row">{name.clone()}</th><td>{say::litres(needed.ml)}</td><td>{bags}</td></tr> }
        })
        .collect();
    let room = answer.room.zip(answer.below_mm).map(|(room, below_mm)| say::room_around(&room, below_mm));
    let mind = say::mind(wish);
    let beside = advice::beside(wish, answer);
    let sources = move || beside.iter().map(|one| view! { <li>{say::beside(one)}</li> }).collect_view();
    let lines = [room, mind.map(str::to_owned), Some(say::weight(&answer.weight))];
    let lines: Vec<_> = lines.into_iter().flatten().map(|line| view! { <p>{line}</p> }).collect();
    let settles = wish.settles_permille.is_none().then(|| view! { <p class="small">{say::no_allowance()}</p> });
    view! {
        <h2>{say::what_you_need()}</h2>
        <table class="numbers">
            <thead><tr><th scope="col">{say::part()}</th><th scope="col">{say::how_much()}</th><th scope="col">{say::bags()}</th></tr></thead>
            <tbody>{rows}</tbody>
        </table>
        {settles}
        <h2>{say::room()}</h2>
        {lines}
        <p class="note small">{care::caution(Caution::Heavy)}</p>
        <p class="small">{say::as_sphere()}</p>
        <Behind summary=say::published()>
            <p class="small">{say::published_hint()}</p>
            <ul>{sources()}</ul>
        </Behind>
    }
    .into_any()
}

/// Keeps the sizes with the container.
#[component]
fn KeepSizes(app: App, fields: Fields, container: Id, problem: RwSignal<Option<Problem>>) -> impl IntoView {
    let keep = move |_| {
        let name = app.peek(|r| r.state.name_of(container).to_owned());
        match fields.typed().container(name) {
            Ok(body) => {
                problem.set(None);
                let command = Command::Set { subject: container, slot: String::new(), body: Body::Container(body) };
                app.save(command, say::sizes_kept().to_owned());
            }
            Err(why) => problem.set(Some(why)),
        }
    };
    view! {
        <div class="act">
            <ProblemLine problem=problem />
            <button type="button" class="btn main" on:click=keep>{say::keep_sizes()}</button>
        </div>
    }
}
