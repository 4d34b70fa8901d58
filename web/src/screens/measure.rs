//! Measuring on a photo: marks under a finger, with a glass that shows what is beneath it, and what they say.

use std::time::Duration;

use bloomdue_core::error::Field;
use bloomdue_core::ledger::body::{Body, Marked};
use bloomdue_core::ledger::id::{EntryId, Id};
use bloomdue_core::nursery::bulb::PhotoOf;
use bloomdue_core::record::Command;
use bloomdue_core::sight::lay::{Handle, Laid, Says, Scale};
use bloomdue_core::sight::{Point, marks};
use bloomdue_core::work::{Done, Task};
use bloomdue_words::form::Problem;
use bloomdue_words::route::Route;
use bloomdue_words::{bulb as bulbs, formats, measure as say, refusals};
use leptos::prelude::*;
use web_sys::{KeyboardEvent, PointerEvent};

use crate::app::{App, app, worker};
use crate::device::photo;
use crate::parts::draft::{Draft, FormDraft, GoesOn};
use crate::parts::field::{ProblemLine, TextField};
use crate::parts::heading::Heading;
use crate::parts::photos::address_of;

/// Moves that can be undone.
const UNDO_MAX: usize = 50;
/// A card that was not found by then is laid by hand.
const FIND_WITHIN: Duration = Duration::from_secs(10);
/// What the glass shows, in pixels of the picture, and how large it is, in parts of the picture's width.
const GLASS_PX: f64 = 90.0;
const GLASS_SHARE: f64 = 0.3;
/// How far around a mark a tap reaches, in parts of the picture's width: 24 px and more on any phone.
const REACH_SHARE: f64 = 0.085;
/// A finger that moves less than this between two messages is moving slowly, in pixels of the screen; marks then follow
/// it at a quarter of its way.
const SLOW_PX: f64 = 3.0;
const SLOW_SHARE: f64 = 0.25;

/// Whether the card was looked for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Finding {
    Not,
    Looking,
    Found,
    NotFound,
}

/// The marks on the screen.
#[derive(Clone, Copy)]
struct Table {
    laid: RwSignal<Laid>,
    past: RwSignal<Vec<Laid>>,
    chosen: RwSignal<Option<Handle>>,
    ordinals: StoredValue<Vec<(Id, u32)>>,
}

impl Table {
    fn ordinal(self, shoot: Option<Id>) -> Option<u32> {
        let shoot = shoot?;
        self.ordinals.with_value(|all| all.iter().find(|(id, _)| *id == shoot).map(|(_, ordinal)| *ordinal))
    }

    fn name(self, handle: Handle) -> String {
        say::handle(handle, self.ordinal(self.laid.with(|laid| laid.shoot_of(handle))))
    }

    /// Remembers how it stands now, so that what comes can be undone.
    fn remember(self) {
        let now = self.laid.get_untracked();
        self.past.update(|past| {
            if past.len() == UNDO_MAX {
                past.remove(0);
            }
            past.push(now);
        });
    }

    fn undo(self) {
        if let Some(before) = self.past.try_update(Vec::pop).flatten() {
            self.laid.set(before);
        }
    }

    fn move_by(self, handle: Handle, dx: f64, dy: f64) {
        self.laid.update(|laid| {
            let at = laid.at(handle);
            laid.put(handle, Point::new(at.x + dx, at.y + dy));
        });
    }

    /// The mark that is to be laid now: the chosen one, else the first that is not laid.
    fn now(self) -> Option<Handle> {
        let chosen = self.chosen.get();
        self.laid.with(|laid| chosen.filter(|handle| laid.handles().contains(handle)).or_else(|| laid.next()))
    }

    fn is_right(self, handle: Handle) {
        self.remember();
        self.laid.update(|laid| laid.is_right(handle));
        self.chosen.set(self.laid.with_untracked(Laid::next));
    }
}

/// Marks on one photo of a bulb.
#[component]
pub(crate) fn Measure(bulb: Id, photo: EntryId) -> impl IntoView {
    let app = app();
    let found = app.peek(|r| {
        let known = r.state.bulb(&bulb)?;
        let of = known.photos.iter().find(|of| of.entry == photo)?.clone();
        let shoots: Vec<(Id, u32)> = known.cycle_on(of.at.date()).shoots.iter().map(|s| (s.id, s.ordinal)).collect();
        let ids: Vec<Id> = shoots.iter().map(|(id, _)| *id).collect();
        let mut laid = Laid::new(of.photo.width_px, of.photo.height_px, &ids);
        if let Some(before) = marks::last_scale(&marks::on_photos(r.ledger, known), of.photo.hash) {
            laid.with_scale_of(before);
        }
        Some((of, shoots, laid))
    });
    let label = app.peek(|r| r.state.name_of(bulb).to_owned());
    match found {
        Some((of, shoots, laid)) => {
            let table = Table {
                laid: RwSignal::new(laid),
                past: RwSignal::new(Vec::new()),
                chosen: RwSignal::new(None),
                ordinals: StoredValue::new(shoots),
            };
            view! { <On app=app bulb=bulb label=label of=of table=table /> }.into_any()
        }
        None => view! {
            <Heading place=label title=say::lay_marks() back=Route::Bulb(bulb) />
            <p>{say::unknown()}</p>
        }
        .into_any(),
    }
}

#[component]
fn On(app: App, bulb: Id, label: String, of: PhotoOf, table: Table) -> impl IntoView {
    let Table { laid, past, chosen, .. } = table;
    let hash = of.photo.hash;
    let begun = laid.get_untracked();
    let size = (f64::from(of.photo.width_px.max(1)), f64::from(of.photo.height_px.max(1)));
    let ruler = RwSignal::new(
        laid.with_untracked(|laid| laid.ruler_mm).map(|mm| formats::length_number(i64::from(mm))).unwrap_or_default(),
    );
    let draft = FormDraft::of(app, format!("measure {}", Route::Measure(bulb, of.entry)))
        .part(
            "laid",
            // Proposed corners alone are nothing that anyone did.
            move || laid.try_get().map(|laid| laid.has_any().then_some(laid)),
            move |kept: Option<Laid>| kept.into_iter().for_each(|kept| laid.set(kept)),
        )
        .field("ruler", ruler)
        .in_units(move |typed_in| ruler.update(|text| *text = formats::retyped_length(text, typed_in)))
        .keep();
    Effect::new(move |_| {
        let mm = ruler.with(|text| say::ruler_mm(text));
        if laid.with_untracked(|laid| laid.ruler_mm) != mm {
            laid.update(|laid| laid.ruler_mm = mm);
        }
    });
    // What they say is worked out when they are all there.
    let says = Memo::new(move |_| laid.with(|laid| laid.next().is_none().then(|| laid.says(hash))));
    let ordinal = move |shoot| table.ordinal(shoot);
    let title = move || match says.get() {
        Some(Ok(found)) => say::says(laid.with(|laid| laid.what), &found, ordinal),
        _ => say::lay_marks().to_owned(),
    };
    let problem = RwSignal::new(None::<Problem>);
    Effect::new(move |_| {
        let why = says.get().and_then(Result::err);
        problem.set(why.map(|why| Problem::whole(refusals::refused(&why))));
    });
    let finding = RwSignal::new(Finding::Not);
    let address = address_of(app, hash, false, of.photo.media.clone());
    Effect::new(move |_| {
        if let Some(Some(found)) = address.get() {
            look_for_card(found, laid, finding);
        }
    });
    let now = Memo::new(move |_| table.now());
    let tally = move || {
        let Some(handle) = now.get() else { return String::new() };
        let (n_laid, n) = laid.with(|laid| (laid.n_laid(), laid.handles().len()));
        if n_laid == n { say::chosen(&table.name(handle)) } else { say::laid(n_laid, n, &table.name(handle)) }
    };
    let kept = label.clone();
    let keep = move |found: Says| {
        let what = laid.with_untracked(|laid| laid.what);
        let Ok(body) = laid.with_untracked(|laid| laid.marks(hash)) else { return };
        let command = Command::Observe { about: vec![bulb], body: Body::PhotoMarks(body), on: Some(of.at.date()) };
        let text = say::kept(&kept, &say::says(what, &found, ordinal));
        save(app, bulb, draft, command, text, problem);
    };
    let again = move |_| {
        table.remember();
        let fresh = begun.clone();
        laid.update(|laid| {
            let (what, scale) = (laid.what, laid.scale);
            *laid = fresh;
            (laid.what, laid.scale) = (what, scale);
        });
        chosen.set(None);
    };
    let corners_wait = move || laid.with(|laid| laid.uses_card() && !laid.has_card());
    let corners_right = move |_| {
        table.remember();
        laid.update(Laid::corners_are_right);
        chosen.set(laid.with_untracked(Laid::next));
    };
    view! {
        <Heading place=label.clone() title=Signal::derive(title) back=Route::Bulb(bulb) />
        <GoesOn draft=draft />
        <Show when=move || address.with(|address| matches!(address, Some(None)))>
            <p class="problem">{bulbs::photo_missing()}</p>
        </Show>
        {move || address.get().flatten().map(|address| {
            view! { <Plate address=address size=size table=table now=now label=label.clone() /> }
        })}
        <p class="small" role="status">{tally}</p>
        <p class="small">{move || match finding.get() {
            Finding::Looking => say::looking(),
            Finding::Found if corners_wait() => say::found(),
            Finding::NotFound if corners_wait() => say::not_found(),
            _ => say::drag(),
        }}</p>
        <Nudges table=table now=now past=past />
        <Choose table=table ruler=ruler />
        <Show when=move || laid.with(|laid| laid.what != Marked::Neck)>
            <p class="small">{say::in_one_plane()}</p>
        </Show>
        <div class="act pair">
            <ProblemLine problem=problem />
            {move || if corners_wait() {
                view! { <button type="button" class="btn" on:click=corners_right>{say::corners_right()}</button> }.into_any()
            } else {
                view! { <button type="button" class="btn" on:click=again.clone()>{say::again()}</button> }.into_any()
            }}
            {move || {
                let keep = keep.clone();
                match (says.get(), now.get()) {
                    (Some(Ok(found)), _) => {
                        let words = say::keep(laid.with(|laid| laid.what), &found);
                        view! {
                            <button type="button" class="btn main" on:click=move |_| keep(found.clone())>{words}</button>
                        }
                        .into_any()
                    }
                    (None, Some(handle)) => view! {
                        <button type="button" class="btn main" on:click=move |_| table.is_right(handle)>
                            {say::right_here()}
                        </button>
                    }
                    .into_any(),
                    _ => ().into_any(),
                }
            }}
        </div>
    }
}

/// Has the card looked for in the picture at an address, where its corners are still to be laid.
fn look_for_card(address: String, laid: RwSignal<Laid>, finding: RwSignal<Finding>) {
    if laid.with_untracked(Laid::has_any) {
        return;
    }
    finding.set(Finding::Looking);
    wasm_bindgen_futures::spawn_local(async move {
        let found = match photo::grey(&address).await {
            Some(grey) => {
                let width = grey.width;
                match worker::within(Task::FindCard(grey), FIND_WITHIN).await {
                    Ok(Done::Card(Some(corners))) => Some((corners, width)),
                    _ => None,
                }
            }
            None => None,
        };
        let _ = finding.try_set(if found.is_some() { Finding::Found } else { Finding::NotFound });
        if let Some((corners, width)) = found {
            let _ = laid.try_update(|laid| laid.propose(corners, width));
        }
    });
}

fn save(app: App, bulb: Id, draft: Draft, command: Command, text: String, problem: RwSignal<Option<Problem>>) {
    wasm_bindgen_futures::spawn_local(async move {
        match draft.record(command).await {
            Ok(entries) => {
                app.notify_saved(text, entries.iter().map(|entry| entry.id).collect());
                app.done_to(&Route::Bulb(bulb));
            }
            Err(why) => {
                let _ = problem.try_set(Some(Problem::from(&why)));
            }
        }
    });
}

/// The picture with its marks. The mark nearest to the finger follows it.
#[component]
fn Plate(address: String, size: (f64, f64), table: Table, now: Memo<Option<Handle>>, label: String) -> impl IntoView {
    let Table { laid, chosen, .. } = table;
    let (width, height) = size;
    // Where the finger was, in pixels of the screen, and whether it has moved a mark yet.
    let finger = StoredValue::new(None::<(f64, f64, bool)>);
    let held = RwSignal::new(false);
    let svg = NodeRef::<leptos::svg::Svg>::new();
    let px_a_screen_px = move || {
        let shown = svg.get_untracked().map_or(width, |svg| svg.get_bounding_client_rect().width());
        width / shown.max(1.0)
    };
    let down = move |event: PointerEvent| {
        let Some(element) = svg.get_untracked() else { return };
        let shown = element.get_bounding_client_rect();
        let (x, y) = (f64::from(event.client_x()), f64::from(event.client_y()));
        let scale = px_a_screen_px();
        let at = Point::new((x - shown.left()) * scale, (y - shown.top()) * scale);
        chosen.set(laid.with_untracked(|laid| laid.nearest(at)));
        finger.set_value(Some((x, y, false)));
        held.set(true);
        let _ = element.set_pointer_capture(event.pointer_id());
        event.prevent_default();
    };
    let moved = move |event: PointerEvent| {
        let (Some((x, y, begun)), Some(handle)) = (finger.get_value(), chosen.get_untracked()) else { return };
        let (to_x, to_y) = (f64::from(event.client_x()), f64::from(event.client_y()));
        let (dx, dy) = (to_x - x, to_y - y);
        if dx == 0.0 && dy == 0.0 {
            return;
        }
        if !begun {
            table.remember();
        }
        finger.set_value(Some((to_x, to_y, true)));
        let share = if dx.abs().max(dy.abs()) < SLOW_PX { SLOW_SHARE } else { 1.0 };
        let scale = px_a_screen_px() * share;
        table.move_by(handle, dx * scale, dy * scale);
        event.prevent_default();
    };
    let up = move |_: PointerEvent| {
        if let Some((.., true)) = finger.get_value() {
            // The next mark is asked for once this one is let go.
            let next = laid.with_untracked(Laid::next);
            if next.is_some() {
                chosen.set(next);
            }
        }
        finger.set_value(None);
        held.set(false);
    };
    let lines = move || laid.with(Laid::lines).into_iter().map(path).collect::<String>();
    let rim = move || {
        laid.with(|laid| (laid.what == Marked::Neck).then(|| laid.ellipse()).flatten()).map(|ellipse| {
            let points = (0..=48).map(|at| ellipse.rim(f64::from(at) / 48.0));
            path(points.collect())
        })
    };
    let (for_glass, words) = (address.clone(), move || laid.with(|laid| say::plate(&label, laid)));
    view! {
        <div class="marking">
            <img class="plate" src=address alt="" draggable="false" />
            <svg
                node_ref=svg
                viewBox=format!("0 0 {width} {height}")
                role="group"
                aria-label=words
                on:pointerdown=down
                on:pointermove=moved
                on:pointerup=up
                on:pointercancel=up
            >
                <path class="laid-line under" d=lines />
                <path class="laid-line" d=lines />
                <path class="laid-line" d=move || rim().unwrap_or_default() />
                <For each=move || laid.with(Laid::handles) key=|handle| *handle let(handle)>
                    <Mark table=table handle=handle now=now size=size />
                </For>
                {move || now.get().map(|handle| view! {
                    <Glass address=for_glass.clone() size=size table=table handle=handle held=held />
                })}
            </svg>
        </div>
    }
}

fn path(points: Vec<Point>) -> String {
    let mut d = String::new();
    for (at, point) in points.iter().enumerate() {
        d.push_str(&format!("{}{:.1} {:.1}", if at == 0 { "M" } else { "L" }, point.x, point.y));
    }
    d
}

/// One mark: a ring with a cross, and its letters beside it.
#[component]
fn Mark(table: Table, handle: Handle, now: Memo<Option<Handle>>, size: (f64, f64)) -> impl IntoView {
    let Table { laid, chosen, .. } = table;
    let long = size.0.max(size.1);
    let ring = long / 60.0;
    let place = move || {
        let at = laid.with(|laid| laid.at(handle));
        format!("translate({:.1} {:.1})", at.x, at.y)
    };
    let class = move || {
        let laid = laid.with(|laid| laid.is_laid(handle));
        match (laid, now.get() == Some(handle)) {
            (true, true) => "laid-mark done now",
            (true, false) => "laid-mark done",
            (false, true) => "laid-mark now",
            (false, false) => "laid-mark",
        }
    };
    let key = move |event: KeyboardEvent| {
        let step = if event.shift_key() { 10.0 } else { 1.0 };
        let (dx, dy) = match event.key().as_str() {
            "ArrowLeft" => (-step, 0.0),
            "ArrowRight" => (step, 0.0),
            "ArrowUp" => (0.0, -step),
            "ArrowDown" => (0.0, step),
            "Enter" | " " => {
                table.is_right(handle);
                return event.prevent_default();
            }
            _ => return,
        };
        table.remember();
        table.move_by(handle, dx, dy);
        event.prevent_default();
    };
    let letters = say::letter(handle, table.ordinal(laid.with_untracked(|laid| laid.shoot_of(handle))));
    // Letters keep the size of small text on a phone, whatever the picture's own size.
    let beside = format!("translate({:.1} {:.1}) scale({:.2})", 1.4 * ring, -1.2 * ring, ring / 5.0);
    let cross = format!("M{:.1} 0H{:.1}M0 {:.1}V{:.1}", -1.6 * ring, 1.6 * ring, -1.6 * ring, 1.6 * ring);
    view! {
        <g
            class=class
            transform=place
            tabindex="0"
            role="button"
            aria-label=move || table.name(handle)
            on:focus=move |_| chosen.set(Some(handle))
            on:keydown=key
        >
            <circle class="reach" r=REACH_SHARE * size.0 />
            <circle class="under" r=ring />
            <circle r=ring />
            <path d=cross />
            <text transform=beside>{letters}</text>
        </g>
    }
}

/// What lies under the mark, larger, on the side of the picture where the hand is not.
#[component]
fn Glass(address: String, size: (f64, f64), table: Table, handle: Handle, held: RwSignal<bool>) -> impl IntoView {
    let laid = table.laid;
    let (width, height) = size;
    let side = GLASS_SHARE * width.min(height);
    let margin = side * 0.06;
    let at = move || laid.with(|laid| laid.at(handle));
    let place = move || {
        let at = at();
        let x = if at.x > width / 2.0 { margin } else { width - side - margin };
        format!("translate({x:.1} {margin:.1})")
    };
    let zoom = side / GLASS_PX;
    let moved = move || {
        let at = at();
        format!("translate({:.1} {:.1}) scale({zoom:.3})", side / 2.0 - at.x * zoom, side / 2.0 - at.y * zoom)
    };
    let half = side / 2.0;
    let cross = format!("M{:.1} {half:.1}h{:.1}M{half:.1} {:.1}v{:.1}", half * 0.7, half * 0.6, half * 0.7, half * 0.6);
    view! {
        <g class="glass" class:held=move || held.get() transform=place aria-hidden="true">
            <clipPath id="glass"><circle cx=half cy=half r=half /></clipPath>
            <circle class="under" cx=half cy=half r=half />
            <g clip-path="url(#glass)">
                <g transform=moved>
                    <image href=address width=width height=height />
                </g>
            </g>
            <circle cx=half cy=half r=half />
            <path class="under" d=cross.clone() />
            <path d=cross />
        </g>
    }
}

/// Moves of one pixel, and the way back.
#[component]
fn Nudges(table: Table, now: Memo<Option<Handle>>, past: RwSignal<Vec<Laid>>) -> impl IntoView {
    let button = move |words: &'static str, sign: &'static str, dx: f64, dy: f64| {
        let nudge = move |_| {
            if let Some(handle) = now.get_untracked() {
                table.remember();
                table.chosen.set(Some(handle));
                table.move_by(handle, dx, dy);
            }
        };
        view! { <button type="button" class="btn soft" aria-label=words on:click=nudge>{sign}</button> }
    };
    let none = move || past.with(Vec::is_empty);
    view! {
        <div class="nudges">
            {button(say::left(), "←", -1.0, 0.0)}
            {button(say::up(), "↑", 0.0, -1.0)}
            {button(say::down(), "↓", 0.0, 1.0)}
            {button(say::right(), "→", 1.0, 0.0)}
            <button type="button" class="btn soft" aria-label=say::undo_mark() disabled=none on:click=move |_| table.undo()>
                "↶"
            </button>
        </div>
    }
}

/// What is measured, by which scale, of which shoot.
#[component]
fn Choose(table: Table, ruler: RwSignal<String>) -> impl IntoView {
    let Table { laid, chosen, .. } = table;
    let set = move |change: &dyn Fn(&mut Laid)| {
        laid.update(|laid| change(laid));
        chosen.set(None);
    };
    let kinds = [Marked::Height, Marked::Thickness, Marked::Width, Marked::Neck].map(|what| {
        view! {
            <label>
                <input
                    type="radio"
                    name="what-is-measured"
                    prop:checked=move || laid.with(|laid| laid.what == what)
                    on:change=move |_| set(&move |laid| laid.what = what)
                />
                {say::what(what)}
            </label>
        }
    });
    let scales = move || {
        [(Scale::Card, say::card()), (Scale::Ruler, say::ruler())].map(|(scale, words)| {
            let pressed = move || if laid.with(|laid| laid.scale == scale) { "true" } else { "false" };
            let take = move |_| set(&move |laid| laid.scale = scale);
            view! { <button type="button" class="chip" aria-pressed=pressed on:click=take>{words}</button> }
        })
    };
    let shoots = table.ordinals.get_value();
    let several = shoots.len() > 1;
    let shoots = StoredValue::new(shoots);
    let of_shoot = move || several && laid.with(|laid| matches!(laid.what, Marked::Height | Marked::Thickness));
    let shoot_chips = move || {
        let shoots = shoots.get_value().into_iter();
        shoots
            .map(|(id, ordinal)| {
                let pressed = move || if laid.with(|laid| laid.shoot == Some(id)) { "true" } else { "false" };
                let take = move |_| set(&move |laid| laid.shoot = Some(id));
                view! {
                    <button type="button" class="chip" aria-pressed=pressed on:click=take>{bulbs::shoot_n(ordinal)}</button>
                }
            })
            .collect_view()
    };
    view! {
        <div class="seg" role="radiogroup" aria-label=say::what_label()>{kinds}</div>
        <Show when=of_shoot>
            <div class="field" role="group" aria-label=say::shoot_label()>
                <span class="label">{say::shoot_label()}</span>
                <div class="chips">{shoot_chips}</div>
            </div>
        </Show>
        <Show when=move || laid.with(|laid| laid.what != Marked::Neck)>
            <div class="field" role="group" aria-label=say::scale_label()>
                <span class="label">{say::scale_label()}</span>
                <div class="chips">{scales}</div>
            </div>
        </Show>
        <Show when=move || laid.with(|laid| laid.what != Marked::Neck && laid.scale == Scale::Ruler)>
            <TextField label=say::ruler_label() value=ruler mode=formats::length_keyboard() name=Field::Number />
        </Show>
    }
}
