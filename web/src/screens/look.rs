//! A closer look: neck, leaves, and every shoot with its side, kind, stage and height; today or on an earlier day.

use bloomdue_core::ledger::body::{Leaves, Look as Said, Neck, ShootKind, ShootSeen, Side, Stage};
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::nursery::walk;
use bloomdue_core::record::Command;
use bloomdue_core::units;
use leptos::prelude::*;

use crate::app::{app, route::Route};
use crate::device::address;
use crate::parts::field::{Chips, DayField, Problem, ProblemLine, TextField};
use crate::parts::heading::Heading;
use crate::words::{bulb as say, care, en};

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

    fn read(self) -> Result<ShootSeen, Problem> {
        let height = self.height.get_untracked();
        let height_mm = if height.trim().is_empty() {
            None
        } else {
            let mm = units::mm_of_cm(&height)
                .ok()
                .and_then(|mm| u32::try_from(mm).ok())
                .ok_or_else(|| Problem {
                    field: "height".to_owned(),
                    text: en::digits_only().to_owned(),
                })?;
            Some(mm)
        };
        let kind = self.kind.get_untracked();
        let stage = if kind == ShootKind::Scape {
            self.stage.get_untracked()
        } else {
            Stage::Shoot
        };
        Ok(ShootSeen {
            id: self.id,
            ordinal: self.ordinal,
            side: self.side.get_untracked(),
            kind,
            stage,
            height_mm,
        })
    }
}

/// A full look at one bulb.
#[component]
pub(crate) fn Look(bulb: Id) -> impl IntoView {
    let app = app();
    let today = app.today.get_untracked().to_string();
    let start: Said = app.peek(|r| {
        r.state.bulbs.get(&bulb).map_or_else(
            || walk::before(&bloomdue_core::nursery::Cycle::default(), None),
            |known| walk::before(known.cycle(), None),
        )
    });
    let next_ordinal = app.peek(|r| {
        let shoots = r
            .state
            .bulbs
            .get(&bulb)
            .map(|known| known.cycle().shoots.iter().map(|s| s.ordinal).max());
        1 + shoots.flatten().unwrap_or(0)
    });
    let neck = RwSignal::new(start.neck);
    let leaves = RwSignal::new(start.leaves);
    let n_leaves = RwSignal::new(String::new());
    let shoots = RwSignal::new(start.shoots.iter().map(Typed::of).collect::<Vec<_>>());
    let day = RwSignal::new(today.clone());
    let problem = RwSignal::new(None::<Problem>);
    let label = app.peek(|r| r.state.name_of(bulb).to_owned());
    let place = app.peek(|r| r.state.bulbs.get(&bulb).and_then(|known| known.place));
    let add = move |_| {
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
    let save = move |_| {
        let text = say::looked(&said);
        let command = match read(bulb, neck, leaves, n_leaves, shoots, day) {
            Ok(command) => command,
            Err(why) => return problem.set(Some(why)),
        };
        wasm_bindgen_futures::spawn_local(async move {
            match app.record(command).await {
                Ok(entries) => {
                    app.say_saved(text, entries.iter().map(|entry| entry.id).collect());
                    address::back();
                }
                Err(why) => {
                    let _ = problem.try_set(Some(Problem::of(&why)));
                }
            }
        });
    };
    let necks = Neck::ALL
        .iter()
        .map(|neck| (*neck, say::neck(*neck).to_owned()))
        .collect::<Vec<_>>();
    let leaf_choices = Leaves::ALL
        .iter()
        .map(|leaves| (*leaves, say::leaves(*leaves).to_owned()))
        .collect::<Vec<_>>();
    let back = place.map_or(Route::Bulb(bulb), |_| Route::Bulb(bulb));
    view! {
        <Heading place=label title=say::look_title() back=back />
        <Chips label=say::neck_label() choices=necks value=neck />
        <Show when=move || neck.get() == Neck::Shoots>
            {move || {
                shoots.get().into_iter().map(|typed| view! { <One typed=typed shoots=shoots /> }).collect_view()
            }}
            <button type="button" class="btn soft" on:click=add>{say::add_shoot()}</button>
        </Show>
        <Chips label=say::leaves_label() choices=leaf_choices value=leaves />
        <Show when=move || leaves.get() == Leaves::Count>
            <TextField label=say::n_leaves() value=n_leaves mode="numeric" />
        </Show>
        <DayField label=care::when() value=day max=today />
        <ProblemLine problem=problem />
        <button type="button" class="btn main" on:click=save>{en::save()}</button>
    }
}

fn start_after(shoots: RwSignal<Vec<Typed>>, n: u32) -> u32 {
    shoots
        .with_untracked(|shoots| shoots.iter().map(|typed| typed.ordinal).max().unwrap_or(0))
        .max(n)
        + 1
}

fn read(
    bulb: Id,
    neck: RwSignal<Neck>,
    leaves: RwSignal<Leaves>,
    n_leaves: RwSignal<String>,
    shoots: RwSignal<Vec<Typed>>,
    day: RwSignal<String>,
) -> Result<Command, Problem> {
    let wrong = |field: &str, text: &str| Problem {
        field: field.to_owned(),
        text: text.to_owned(),
    };
    let on = day
        .get_untracked()
        .parse()
        .map_err(|_| wrong("date", care::choose_day()))?;
    let neck = neck.get_untracked();
    let seen = match neck {
        Neck::Shoots => shoots
            .get_untracked()
            .into_iter()
            .map(Typed::read)
            .collect::<Result<Vec<_>, _>>()?,
        Neck::Clear | Neck::NotLookedAt => Vec::new(),
    };
    let leaves = leaves.get_untracked();
    let n = match leaves {
        Leaves::Count => {
            let n = n_leaves
                .get_untracked()
                .trim()
                .parse()
                .map_err(|_| wrong("leaves", en::digits_only()))?;
            Some(n)
        }
        _ => None,
    };
    let look = Said {
        neck,
        leaves,
        n_leaves: n,
        shoots: seen,
        way: bloomdue_core::ledger::body::Way::Each,
        walk: None,
    };
    Ok(Command::Look {
        looks: vec![(bulb, look)],
        on: Some(on),
    })
}

#[component]
fn One(typed: Typed, shoots: RwSignal<Vec<Typed>>) -> impl IntoView {
    let kinds = ShootKind::ALL
        .iter()
        .map(|kind| (*kind, say::kind(*kind).to_owned()))
        .collect::<Vec<_>>();
    let stages = Stage::ALL
        .iter()
        .skip(1)
        .map(|stage| (*stage, en::stage(*stage).to_owned()))
        .collect::<Vec<_>>();
    let sides = Side::ALL
        .iter()
        .map(|side| {
            let words = en::side(*side);
            (
                *side,
                if words.is_empty() {
                    say::side_not_said()
                } else {
                    words
                }
                .to_owned(),
            )
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
            <TextField label=say::height_label() value=typed.height mode="decimal" />
            <details>
                <summary>{say::side_label()}</summary>
                <Chips label=say::side_label() choices=sides value=typed.side />
            </details>
            <button type="button" class="btn soft" on:click=remove>{say::remove_shoot()}</button>
        </fieldset>
    }
}
