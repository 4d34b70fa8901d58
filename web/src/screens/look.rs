//! A closer look: neck, leaves, and every shoot with its side, kind, stage and height; today or on an earlier day.

use std::sync::Arc;

use bloomdue_core::calendar::Date;
use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::{Body, Leaves, Look as Said, Neck, ShootKind, ShootSeen, Side, Stage, Way};
use bloomdue_core::ledger::entry::Entry;
use bloomdue_core::ledger::id::{EntryId, Id, Noun};
use bloomdue_core::nursery::{Cycle, walk};
use bloomdue_core::record::Command;
use bloomdue_words::form::{self, Problem};
use bloomdue_words::route::Route;
use bloomdue_words::{acts, bulb as say, care, common, formats, records};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::device::address;
use crate::parts::draft::{FormDraft, GoesOn};
use crate::parts::field::{Chips, DayField, ProblemLine, TextField};
use crate::parts::heading::Heading;

/// A shoot as the form holds it.
#[derive(Clone, Copy)]
struct Typed {
    id: Id,
    ordinal: u32,
    side: RwSignal<Side>,
    kind: RwSignal<ShootKind>,
    stage: RwSignal<Stage>,
    height: RwSignal<String>,
}

/// A shoot in a draft: its height as typed.
type Kept = (Id, u32, Side, (ShootKind, Stage), String);

impl Typed {
    fn of(seen: &ShootSeen) -> Self {
        Self {
            id: seen.id,
            ordinal: seen.ordinal,
            side: RwSignal::new(seen.side),
            kind: RwSignal::new(seen.kind),
            stage: RwSignal::new(seen.stage),
            height: RwSignal::new(String::new()),
        }
    }

    /// As a look said it, its height too: that look is put right.
    fn said(seen: &ShootSeen) -> Self {
        let typed = Self::of(seen);
        let mm = seen.height_mm.map(i64::from);
        typed.height.set(mm.map(formats::length_number).unwrap_or_default());
        typed
    }

    fn kept(self) -> Option<Kept> {
        let what = (self.kind.try_get()?, self.stage.try_get()?);
        let height = self.height.try_get()?;
        Some((self.id, self.ordinal, self.side.try_get()?, what, height))
    }

    fn of_kept((id, ordinal, side, (kind, stage), height): Kept) -> Self {
        Self {
            id,
            ordinal,
            side: RwSignal::new(side),
            kind: RwSignal::new(kind),
            stage: RwSignal::new(stage),
            height: RwSignal::new(height),
        }
    }

    fn read(self) -> Result<ShootSeen, Problem> {
        let height_mm = form::height_mm(&self.height.get_untracked())?;
        let kind = self.kind.get_untracked();
        let stage = if kind == ShootKind::Scape { self.stage.get_untracked() } else { Stage::Shoot };
        Ok(ShootSeen { id: self.id, ordinal: self.ordinal, side: self.side.get_untracked(), kind, stage, height_mm })
    }
}

/// A full look at one bulb.
#[component]
pub(crate) fn Look(bulb: Id) -> impl IntoView {
    view! { <Form bulb=bulb mend=None /> }
}

/// A look put right: the same bulb, what it should have said.
#[component]
pub(crate) fn MendLook(entry: EntryId) -> impl IntoView {
    let app = app();
    let found = app.peek(|r| {
        let entry = r.ledger.get(entry)?;
        let bulb = entry.envelope.about.first()?;
        let stands = r.ledger.is_in_force(entry, *bulb) && matches!(entry.body, Body::Look(_));
        stands.then(|| (*bulb, entry.clone()))
    });
    match found {
        Some((bulb, entry)) => view! { <Form bulb=bulb mend=Some(entry) /> }.into_any(),
        None => {
            app.let_go_at(&Route::MendLook(entry));
            view! {
                <Heading place=records::record() title=say::look_title() back=Route::Record(entry) />
                <p>{records::no_longer()}</p>
            }
            .into_any()
        }
    }
}

/// What a look of a day says before anything is typed: as before.
fn as_before(app: App, bulb: Id, day: Option<Date>) -> Said {
    app.peek(|r| {
        let known = r.state.bulb(&bulb);
        let then = known.and_then(|known| known.at_end_of(r.ledger, day.unwrap_or(r.today)));
        then.map_or_else(|| walk::before(&Cycle::default(), None), |then| walk::before(then.cycle(), None))
    })
}

/// The shoots that a look of a day may speak of: those of the cycle that it is in, or that it put right.
fn known_shoots(app: App, bulb: Id, mended: Option<EntryId>, day: Date) -> Vec<ShootSeen> {
    app.peek(|r| {
        let Some(known) = r.state.bulb(&bulb) else {
            return Vec::new();
        };
        let holds = |cycle: &&Cycle| cycle.looks.iter().any(|seen| Some(seen.entry) == mended);
        match known.cycles.iter().find(holds) {
            Some(cycle) => walk::shoots_by(cycle, day),
            None => {
                let then = known.at_end_of(r.ledger, day);
                then.map_or_else(Vec::new, |then| walk::shoots_by(then.cycle(), day))
            }
        }
    })
}

#[component]
fn Form(bulb: Id, mend: Option<Arc<Entry>>) -> impl IntoView {
    let app = app();
    let today = app.today.get_untracked().to_string();
    let start = match mend.as_ref().map(|entry| &entry.body) {
        Some(Body::Look(said)) => said.clone(),
        _ => as_before(app, bulb, None),
    };
    let next_ordinal = app.peek(|r| {
        let shoots = r.state.bulb(&bulb).map(|known| known.cycle().shoots.iter().map(|s| s.ordinal).max());
        1 + shoots.flatten().unwrap_or(0)
    });
    let neck = RwSignal::new(start.neck);
    let leaves = RwSignal::new(start.leaves);
    let n_leaves = start.n_leaves.filter(|_| mend.is_some());
    let n_leaves = RwSignal::new(n_leaves.map(|n| n.to_string()).unwrap_or_default());
    let typed = if mend.is_some() { Typed::said } else { Typed::of };
    let shoots = RwSignal::new(start.shoots.iter().map(typed).collect::<Vec<_>>());
    let said_on = mend.as_ref().map(|entry| entry.envelope.happened.date().to_string());
    let day = RwSignal::new(said_on.unwrap_or_else(|| today.clone()));
    let problem = RwSignal::new(None::<Problem>);
    let back = mend.as_ref().map_or(Route::Bulb(bulb), |entry| Route::Record(entry.id));
    let at = mend.as_ref().map_or(Route::Look(bulb), |entry| Route::MendLook(entry.id));
    let draft = FormDraft::of(app, format!("look {at}"))
        .field("neck", neck)
        .field("leaves", leaves)
        .field("n_leaves", n_leaves)
        .part(
            "shoots",
            move || {
                let shoots = shoots.try_get()?;
                shoots.into_iter().map(Typed::kept).collect::<Option<Vec<Kept>>>()
            },
            move |kept: Vec<Kept>| shoots.set(kept.into_iter().map(Typed::of_kept).collect()),
        )
        .field("day", day)
        .in_units(|typed_in| {
            shoots.with_untracked(|shoots| {
                for typed in shoots {
                    typed.height.update(|text| *text = formats::retyped_length(text, typed_in));
                }
            });
        })
        .keep();
    let label = app.peek(|r| r.state.name_of(bulb).to_owned());
    // What an effect makes goes when it runs again; fields of a shoot stay as long as the form.
    let owner = StoredValue::new(Owner::current());
    let for_the_form = move |make: &dyn Fn()| {
        owner.with_value(|owner| match owner {
            Some(owner) => owner.with(make),
            None => make(),
        });
    };
    let add = move |()| {
        let n = shoots.with_untracked(Vec::len) as u32;
        let ordinal = next_ordinal.max(start_after(shoots, n));
        let fresh = ShootSeen {
            id: app.moment().ids.draw(Noun::Shoot),
            ordinal,
            side: Side::NotSaid,
            kind: ShootKind::Unknown,
            stage: Stage::Shoot,
            height_mm: None,
        };
        shoots.update(|shoots| shoots.push(Typed::of(&fresh)));
        neck.set(Neck::Shoots);
    };
    let said = label.clone();
    let mended = mend.as_ref().map(|entry| entry.id);
    let on_day = Memo::new(move |_| day.get().parse::<Date>().ok());
    let known = Memo::new(move |_| {
        let on = on_day.get();
        on.map(|on| known_shoots(app, bulb, mended, on)).unwrap_or_default()
    });
    let unlisted = move || {
        let listed = shoots.with(|shoots| shoots.iter().map(|typed| typed.id).collect::<Vec<_>>());
        let mut known = known.get();
        known.retain(|shoot| !listed.contains(&shoot.id));
        known
    };
    // Whoever says that there are shoots finds those that are known, or else a first one, to say more of.
    Effect::new(move |before: Option<()>| {
        let has_shoots = neck.get() == Neck::Shoots;
        if before.is_some() && has_shoots && shoots.with_untracked(Vec::is_empty) {
            let known = untrack(unlisted);
            for_the_form(&|| {
                if known.is_empty() {
                    add(());
                } else {
                    shoots.set(known.iter().map(Typed::of).collect());
                }
            });
        }
    });
    // Another day begins with what was known then, as long as nothing was typed.
    let offered = StoredValue::new(start.clone());
    Effect::new(move |before: Option<Option<Date>>| {
        let on = on_day.get();
        let moved = before.is_some_and(|before| before != on);
        if let (true, None, Some(on)) = (moved, mended, on) {
            let typed = untrack(|| read(neck, leaves, n_leaves, shoots, day));
            let untouched = typed.is_ok_and(|(look, _)| offered.with_value(|offered| *offered == look));
            if untouched {
                let then = as_before(app, bulb, Some(on));
                for_the_form(&|| shoots.set(then.shoots.iter().map(Typed::of).collect()));
                neck.set(then.neck);
                leaves.set(then.leaves);
                offered.set_value(then);
            }
        }
        on
    });
    let save = move |_| {
        let text = if mended.is_some() { records::was_put_right().to_owned() } else { say::looked(&said) };
        let (mut look, on) = match read(neck, leaves, n_leaves, shoots, day) {
            Ok(read) => read,
            Err(why) => return problem.set(Some(why)),
        };
        (look.way, look.walk) = if mended.is_some() { (start.way, start.walk) } else { (Way::Each, None) };
        let command = match mended {
            Some(entry) => Command::PutRight { entry, body: Body::Look(look), on: Some(on), about: vec![bulb] },
            None => Command::Look { looks: vec![(bulb, look)], on: Some(on) },
        };
        wasm_bindgen_futures::spawn_local(async move {
            match draft.record(command).await {
                Ok(entries) => {
                    app.notify_saved(text, entries.iter().map(|entry| entry.id).collect());
                    address::back();
                }
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::from(&why)));
                }
            }
        });
    };
    let necks = Neck::ALL.iter().map(|neck| (*neck, say::neck(*neck).to_owned())).collect::<Vec<_>>();
    let leaf_choices = Leaves::ALL.iter().map(|leaves| (*leaves, say::leaves(*leaves).to_owned())).collect::<Vec<_>>();
    let title = if mended.is_some() { records::put_look_right() } else { say::look_title() };
    let act = if mended.is_some() { records::put_right() } else { common::save() };
    view! {
        <Heading place=label title=title back=back />
        <GoesOn draft=draft />
        <Chips label=say::neck_label() choices=necks value=neck />
        <Show when=move || neck.get() == Neck::Shoots>
            {move || {
                shoots.get().into_iter().map(|typed| view! { <One typed=typed shoots=shoots /> }).collect_view()
            }}
            {move || {
                let again = |seen: ShootSeen| {
                    let words = say::shoot_known(seen.ordinal);
                    let list = move |_| shoots.update(|shoots| shoots.push(Typed::of(&seen)));
                    view! { <button type="button" class="btn soft wide" on:click=list>{words}</button> }
                };
                unlisted().into_iter().map(again).collect::<Vec<_>>()
            }}
            <button type="button" class="btn soft" on:click=move |_| add(())>{say::add_shoot()}</button>
        </Show>
        <Chips label=say::leaves_label() choices=leaf_choices value=leaves />
        <Show when=move || leaves.get() == Leaves::Count>
            <TextField label=say::n_leaves() value=n_leaves mode="numeric" name=Field::Leaves problem=problem />
        </Show>
        <DayField label=care::when() value=day max=today name=Field::Date problem=problem />
        <div class="act">
            <ProblemLine problem=problem />
            <button type="button" class="btn main" on:click=save>{act}</button>
        </div>
    }
}

fn start_after(shoots: RwSignal<Vec<Typed>>, n: u32) -> u32 {
    shoots.with_untracked(|shoots| shoots.iter().map(|typed| typed.ordinal).max().unwrap_or(0)).max(n) + 1
}

fn read(
    neck: RwSignal<Neck>,
    leaves: RwSignal<Leaves>,
    n_leaves: RwSignal<String>,
    shoots: RwSignal<Vec<Typed>>,
    day: RwSignal<String>,
) -> Result<(Said, Date), Problem> {
    let on = form::day(Field::Date, &day.get_untracked(), care::choose_day())?;
    let neck = neck.get_untracked();
    let seen = match neck {
        Neck::Shoots => shoots.get_untracked().into_iter().map(Typed::read).collect::<Result<Vec<_>, _>>()?,
        Neck::Clear | Neck::NotLookedAt => Vec::new(),
    };
    let leaves = leaves.get_untracked();
    let n = match leaves {
        Leaves::Count => Some(form::digits(Field::Leaves, &n_leaves.get_untracked())?),
        _ => None,
    };
    let look = Said { neck, leaves, n_leaves: n, shoots: seen, way: Way::Each, walk: None };
    Ok((look, on))
}

#[component]
fn One(typed: Typed, shoots: RwSignal<Vec<Typed>>) -> impl IntoView {
    let kinds = ShootKind::ALL.iter().map(|kind| (*kind, say::kind(*kind).to_owned())).collect::<Vec<_>>();
    let stages = Stage::ALL.iter().skip(1).map(|stage| (*stage, acts::stage(*stage).to_owned())).collect::<Vec<_>>();
    let sides = Side::ALL
        .iter()
        .map(|side| {
            let words = acts::side(*side);
            (*side, if words.is_empty() { say::side_not_said() } else { words }.to_owned())
        })
        .collect::<Vec<_>>();
    // A stalk is at least in sight.
    Effect::new(move |_| {
        if typed.kind.get() == ShootKind::Scape && typed.stage.get_untracked() == Stage::Shoot {
            typed.stage.set(Stage::ScapeInSight);
        }
    });
    let remove = move |_| shoots.update(|shoots| shoots.retain(|other| other.id != typed.id));
    view! {
        <fieldset class="group">
            <legend class="caps">{say::shoot_n(typed.ordinal)}</legend>
            <Chips label=say::kind_label() choices=kinds value=typed.kind />
            <Show when=move || typed.kind.get() == ShootKind::Scape>
                <Chips label=say::stage_label() choices=stages.clone() value=typed.stage />
            </Show>
            <TextField label=say::height_label() value=typed.height mode=formats::length_keyboard() />
            <details>
                <summary>{say::side_label()}</summary>
                <Chips label=say::side_label() choices=sides value=typed.side />
            </details>
            <button type="button" class="btn soft" on:click=remove>{say::remove_shoot()}</button>
        </fieldset>
    }
}
