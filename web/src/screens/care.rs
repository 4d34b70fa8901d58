//! Something done or seen, for one bulb, a container, a place or a group at once, with exceptions, today or earlier.

pub(super) mod fields;

use std::collections::BTreeSet;

use bloomdue_core::care::scope::bulbs_of;
use bloomdue_core::ledger::body::{Act, ActKind, Body, Measured};
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_core::nursery::{Bulb, walk};
use bloomdue_core::record::doubts::{UnusualSize, unusual_size};
use bloomdue_core::record::{Command, act_fields};
use bloomdue_words::form::Problem;
use bloomdue_words::form::acts::{Typed, What};
use bloomdue_words::route::Route;
use bloomdue_words::{acts, care as say, common, formats, walk as walk_words};
use leptos::prelude::*;

use crate::app::{App, app};
use crate::parts::doubt::AskSize;
use crate::parts::draft::{FormDraft, GoesOn};
use crate::parts::field::{Chips, ProblemLine, TextField};
use crate::parts::fold::Fold;
use crate::parts::heading::Heading;
use crate::parts::photos::AddPhoto;
use crate::parts::whom::{Ticks, Whom, only_offered};
use fields::{Asked, Fields};

use super::inspect::Inspect;

/// Records something for a subject: the list of what can be recorded.
#[component]
pub(crate) fn Care(subject: Id, group: Option<Id>) -> impl IntoView {
    let app = app();
    let (title, back) = (for_whom(app, subject, group), back_to(app, subject));
    view! {
        <Heading place=title title=say::what_was_done() back=back />
        <Choose app=app subject=subject group=group />
    }
}

/// The form of one of them.
#[component]
pub(crate) fn CareForm(subject: Id, group: Option<Id>, word: String) -> impl IntoView {
    let app = app();
    let title = for_whom(app, subject, group);
    let list = Route::Care(subject, group);
    let Some(what) = What::of_word(&word) else {
        return view! {
            <Heading place=title title=say::what_was_done() back=list />
            <Choose app=app subject=subject group=group />
        }
        .into_any();
    };
    // A single bulb is asked piece by piece.
    if what == What::Inspection && subject.is(Noun::Bulb) {
        let at = Route::CareForm(subject, group, word);
        return view! { <Inspect bulb=subject at=at back=list done=app.way_back(Route::Bulb(subject)) /> }.into_any();
    }
    // A reading of light stands beside what is known of the place's light.
    if what == What::Light && subject.is(Noun::Place) {
        return view! { <super::light::Light place=subject /> }.into_any();
    }
    let bulbs = app.peek(|r| labelled(bulbs_of(r.state, subject, group)));
    let case = Case {
        what,
        left_out: left_out_at_first(what, &bulbs),
        bulbs,
        subject: Some(subject),
        job: None,
        at: Route::CareForm(subject, group, word),
        done: back_to(app, subject),
    };
    view! {
        <Heading place=title title=what_word(what) back=list />
        <Form app=app case=case />
    }
    .into_any()
}

/// What may be wrong with a bulb in a walk, and the form of it; both lead back into the walk.
#[component]
pub(crate) fn Trouble(bulb: Id, word: Option<String>) -> impl IntoView {
    let app = app();
    let place = app.peek(|r| r.state.bulb(&bulb).and_then(|known| known.place));
    let walk = place.map_or(Route::Bulb(bulb), Route::Walk);
    let label = app.peek(|r| r.state.name_of(bulb).to_owned());
    if word.as_deref() == Some(What::Inspection.word()) {
        let (at, back) = (Route::Trouble(bulb, word), Route::Trouble(bulb, None));
        return view! { <Inspect bulb=bulb at=at back=back done=walk /> }.into_any();
    }
    if let Some(what) = word.as_deref().and_then(What::of_word) {
        let bulbs = app.peek(|r| labelled(bulbs_of(r.state, bulb, None)));
        let case = Case {
            what,
            bulbs,
            left_out: BTreeSet::new(),
            subject: Some(bulb),
            job: None,
            at: Route::Trouble(bulb, word),
            done: walk,
        };
        return view! {
            <Heading place=label title=what_word(what) back=Route::Trouble(bulb, None) />
            <Form app=app case=case />
        }
        .into_any();
    }
    view! {
        <Heading place=label title=walk_words::what_is_wrong() back=walk />
        <div class="grid2">{troubles(bulb)}</div>
    }
    .into_any()
}

/// What may be wrong with a bulb, each leading to its form, and all else.
pub(super) fn troubles(bulb: Id) -> impl IntoView {
    let troubles = [
        (What::Act(ActKind::Died), acts::act(ActKind::Died)),
        (What::Act(ActKind::Missing), acts::act(ActKind::Missing)),
        (What::Inspection, walk_words::soft_or_marked()),
        (What::Act(ActKind::PutAside), acts::act(ActKind::PutAside)),
        (What::Act(ActKind::SprayedOrDipped), acts::act(ActKind::SprayedOrDipped)),
        (What::Note, say::note()),
    ];
    let forms = troubles.map(|(what, words)| (Route::Trouble(bulb, Some(what.word().to_owned())), words));
    let all = (Route::Care(bulb, None), say::everything());
    let ways = forms.into_iter().chain([all]);
    ways.map(|(to, words)| view! { <a class="btn soft" href=to.href()>{words}</a> }).collect_view()
}

/// What it is recorded for, in small capitals above the heading.
fn for_whom(app: App, subject: Id, group: Option<Id>) -> String {
    app.peek(|r| {
        let name = r.state.name_of(group.unwrap_or(subject)).to_owned();
        if subject.is(Noun::Bulb) { name } else { say::for_many(&name, bulbs_of(r.state, subject, group).len()) }
    })
}

/// Bulbs as a list offers them.
pub(super) fn labelled(bulbs: Vec<&Bulb>) -> Vec<(Id, String)> {
    let row = |bulb: &Bulb| (bulb.id, bulb.label().to_owned());
    bulbs.into_iter().map(row).collect()
}

pub(super) fn what_word(what: What) -> String {
    match what {
        What::Act(kind) => acts::act(kind).to_owned(),
        What::Inspection => say::inspection().to_owned(),
        What::Measure => say::measure().to_owned(),
        What::Count => say::count().to_owned(),
        What::Note => say::note().to_owned(),
        What::Light => say::light().to_owned(),
        What::Climate => say::climate().to_owned(),
    }
}

/// The bulbs that are ticked one by one.
fn left_out_at_first(what: What, bulbs: &[(Id, String)]) -> BTreeSet<Id> {
    let ids: Vec<Id> = bulbs.iter().map(|(id, _)| *id).collect();
    match what {
        What::Act(kind) => act_fields::left_out_at_first(kind, &ids),
        _ => BTreeSet::new(),
    }
}

fn back_to(app: App, subject: Id) -> Route {
    if subject.is(Noun::Bulb) {
        Route::Bulb(subject)
    } else if subject.is(Noun::Place) {
        Route::Place(subject)
    } else if subject.is(Noun::Container) {
        Route::Container(subject)
    } else if app.peek(|r| r.state.runs.contains_key(&subject)) {
        Route::Run(subject)
    } else {
        Route::Places
    }
}

#[component]
fn Choose(app: App, subject: Id, group: Option<Id>) -> impl IntoView {
    // A photo of a place or a container is of that; one of a group shows each of its bulbs.
    let about: Vec<Id> = if subject.is(Noun::Run) {
        app.peek(|r| bulbs_of(r.state, subject, group).iter().map(|bulb| bulb.id).collect())
    } else {
        vec![subject]
    };
    let label = app.peek(|r| r.state.name_of(group.unwrap_or(subject)).to_owned());
    let at = Route::Care(subject, group);
    let button = move |choice: What| {
        // An address of its own, so that the phone's back key returns to this list.
        let form = Route::CareForm(subject, group, choice.word().to_owned());
        view! { <a class="btn soft" href=form.href()>{what_word(choice)}</a> }
    };
    let common = [
        ActKind::Watered,
        ActKind::Fed,
        ActKind::Moved,
        ActKind::Staked,
        ActKind::Potted,
        ActKind::FitToSell,
        ActKind::Left,
        ActKind::CutBack,
        ActKind::Died,
    ];
    let mut seen = vec![What::Inspection, What::Measure, What::Count, What::Note];
    if subject.is(Noun::Place) {
        seen.extend([What::Light, What::Climate]);
    }
    let families = say::FAMILIES
        .iter()
        .map(|(family, words)| {
            let rest = act_fields::acts_of(*family).map(|kind| button(What::Act(kind))).collect_view();
            view! {
                <Fold summary=*words row=0>
                    <div class="grid3">{rest}</div>
                </Fold>
            }
        })
        .collect_view();
    view! {
        <div class="grid3">{common.map(|kind| button(What::Act(kind))).collect_view()}</div>
        <h2>{say::seen()}</h2>
        <div class="grid3">{seen.into_iter().map(button).collect_view()}</div>
        <AddPhoto app=app about=about label=label at=at />
        <h2>{say::everything()}</h2>
        {families}
    }
}

/// What is to be recorded, for which bulbs.
#[derive(Clone)]
pub(crate) struct Case {
    pub(crate) what: What,
    /// The bulbs offered, in the order in which they stand.
    pub(crate) bulbs: Vec<(Id, String)>,
    /// Those of them that are not ticked at first.
    pub(crate) left_out: BTreeSet<Id>,
    /// A bulb, a container, a place or a run.
    pub(crate) subject: Option<Id>,
    /// Key of the job that it is done for.
    pub(crate) job: Option<String>,
    /// The form's own address.
    pub(crate) at: Route,
    /// Where it leads once it is saved.
    pub(crate) done: Route,
}

#[component]
pub(crate) fn Form(app: App, case: Case) -> impl IntoView {
    let Case { what, bulbs, left_out, subject, job, at, done } = case;
    let today = app.today.get_untracked().to_string();
    let fields = Fields::of(Typed::fresh(today));
    let problem = RwSignal::new(None::<Problem>);
    let busy = RwSignal::new(false);
    let of_place = matches!(what, What::Light | What::Climate);
    let left_out = RwSignal::new(left_out);
    let asked = RwSignal::new(None::<UnusualSize>);
    // The circumferences asked about, and those that were said to be right.
    let (asked_of, sure) = (RwSignal::new(Vec::<i64>::new()), RwSignal::new(Vec::new()));
    let all: Vec<Id> = bulbs.iter().map(|(id, _)| *id).collect();
    if what == What::Act(ActKind::Left) {
        fields.stage.set(app.peek(|r| walk::stage_of_all(r.state, &all)));
        fields.fit.set(app.peek(|r| walk::all_fit(r.state, &all)));
    }
    let all = StoredValue::new(all);
    // Measures and counts of several may be the same for all, or typed bulb by bulb.
    let each = RwSignal::new(false);
    let typed: Vec<(Id, RwSignal<String>)> = bulbs.iter().map(|(id, _)| (*id, RwSignal::new(String::new()))).collect();
    let typed = StoredValue::new(typed);
    let (job, done) = (StoredValue::new(job), StoredValue::new(done));
    let draft = fields
        .drafted(FormDraft::of(app, format!("care:{} {at}", what.word())))
        .field("left_out", left_out)
        .field("each", each)
        .part(
            "typed",
            move || {
                typed.try_with_value(|typed| {
                    let of = |(id, text): &(Id, RwSignal<String>)| Some((*id, text.try_get()?));
                    typed.iter().map(of).collect::<Option<Vec<_>>>()
                })?
            },
            move |kept: Vec<(Id, String)>| {
                typed.with_value(|typed| {
                    for (id, text) in kept {
                        if let Some((_, field)) = typed.iter().find(|(known, _)| *known == id) {
                            field.set(text);
                        }
                    }
                });
            },
        )
        .in_units(|typed_in| {
            let form = fields.typed();
            let retype = |text: RwSignal<String>| text.update(|text| *text = form.retyped_number(what, text, typed_in));
            retype(fields.number);
            if what == What::Climate {
                retype(fields.lowest);
                retype(fields.highest);
            }
            typed.with_value(|typed| typed.iter().for_each(|(_, text)| retype(*text)));
            fields.container_width.update(|text| *text = formats::retyped_length(text, typed_in));
        })
        .keep();
    only_offered(left_out, &bulbs);
    let save = move || {
        let about: Vec<Id> = if of_place {
            subject.into_iter().collect()
        } else {
            let out = left_out.get_untracked();
            all.with_value(|all| all.iter().copied().filter(|id| !out.contains(id)).collect())
        };
        let command = if each.get_untracked() {
            each_command(fields, what, typed.get_value())
        } else {
            command(app, fields, what, about.clone(), subject, job.get_value()).map(|command| (command, about.len()))
        };
        let (command, n) = match command {
            Ok(command) => command,
            Err(why) => return problem.set(Some(why)),
        };
        let sizes = circumferences(&command);
        let unusual = unusual_size(&sizes).filter(|_| sure.get_untracked() != sizes);
        asked_of.set(sizes);
        let asks = unusual.is_some();
        asked.set(unusual);
        if asks {
            return;
        }
        if busy.get_untracked() {
            return;
        }
        busy.set(true);
        let text = say::done(&what_word(what), n, of_place);
        wasm_bindgen_futures::spawn_local(async move {
            match draft.record(command).await {
                Ok(entries) => {
                    app.notify_saved(text, entries.iter().map(|entry| entry.id).collect());
                    done.with_value(|to| app.done_to(to));
                }
                Err(why) => {
                    let _ = busy.try_set(false);
                    let _ = problem.try_set(Some(Problem::from(&why)));
                }
            }
        });
    };
    let cautions = match what {
        What::Act(kind) => act_fields::cautions(kind).iter().map(|caution| say::caution(*caution)).collect::<Vec<_>>(),
        What::Inspection => act_fields::INSPECTION_CAUTIONS.iter().map(|caution| say::caution(*caution)).collect(),
        _ => Vec::new(),
    };
    let several = bulbs.len() > 1 && !of_place;
    let n_bulbs = bulbs.len();
    // Bulbs to be ticked one by one are the first thing to choose, and a keyboard would hide them.
    let first = left_out.with_untracked(|out| out.is_empty() || out.len() < n_bulbs);
    let save_words = move || {
        let filled = |typed: &Vec<(Id, RwSignal<String>)>| {
            typed.iter().filter(|(_, text)| text.with(|text| !text.trim().is_empty())).count()
        };
        let n = if each.get() { typed.with_value(filled) } else { n_bulbs - left_out.with(BTreeSet::len) };
        if several && n > 0 { say::save_for(n) } else { common::save().to_owned() }
    };
    let may_each = several && matches!(what, What::Measure | What::Count);
    let labels: Vec<String> = bulbs.iter().map(|(_, label)| label.clone()).collect();
    view! {
        <GoesOn draft=draft />
        <Whom
            app=app
            bulbs=bulbs
            left_out=left_out
            several=Signal::derive(move || several && !each.get())
            day=fields.day
            problem=problem
        />
        {cautions.into_iter().map(|text| view! { <p class="note small">{text}</p> }).collect_view()}
        <Asked app=app fields=fields what=what mending=false problem=problem each=each first=first />
        {may_each.then(|| view! { <Each each=each fields=fields what=what labels=labels typed=typed /> })}
        <div class="act">
            <ProblemLine problem=problem />
            {move || asked.get().map(|unusual| {
                let keep = move |()| {
                    sure.set(asked_of.get_untracked());
                    save();
                };
                let convert = move |inches: Vec<i64>| {
                    let inches = inches.into_iter().map(formats::length_number);
                    if each.get_untracked() {
                        let filled = typed.get_value().into_iter().map(|(_, text)| text);
                        let filled = filled.filter(|text| !text.with_untracked(|text| text.trim().is_empty()));
                        filled.zip(inches).for_each(|(text, number)| text.set(number));
                    } else {
                        inches.for_each(|number| fields.number.set(number));
                    }
                    save();
                };
                view! { <AskSize unusual=unusual keep=Callback::new(keep) convert=Callback::new(convert) /> }
            })}
            <button type="button" class="btn main" on:click=move |_| save()>{save_words}</button>
        </div>
    }
}

/// Circumferences that a command would record, mm, in order.
fn circumferences(command: &Command) -> Vec<i64> {
    let of = |body: &Body| match body {
        Body::Measure(measure) if measure.what == Measured::Circumference => measure.mm,
        _ => None,
    };
    match command {
        Command::Observe { body, .. } => of(body).into_iter().collect(),
        Command::ObserveEach { each, .. } => each.iter().filter_map(|(_, body)| of(body)).collect(),
        _ => Vec::new(),
    }
}

/// The same number for all, or a field for each bulb in the order in which they stand.
#[component]
fn Each(
    each: RwSignal<bool>,
    fields: Fields,
    what: What,
    labels: Vec<String>,
    typed: StoredValue<Vec<(Id, RwSignal<String>)>>,
) -> impl IntoView {
    let choices = vec![(false, say::same_for_all().to_owned()), (true, say::bulb_by_bulb().to_owned())];
    let keyboard = move || {
        if what == What::Count { "numeric" } else { say::measured_keyboard(fields.measured.get()) }
    };
    let rows = move || {
        let fields = labels.iter().zip(typed.get_value());
        fields
            .map(|(label, (_, value))| {
                view! { <TextField label=label.clone() value=value mode=keyboard() /> }
            })
            .collect_view()
    };
    let unit = move || {
        if what == What::Count { say::how_many().to_owned() } else { say::measured_unit(fields.measured.get()) }
    };
    view! {
        <Chips label=say::each_label() choices=choices value=each />
        <Show when=move || each.get()>
            <p class="small">{move || say::each_hint(&unit())}</p>
            <div class="grid2">{rows.clone()}</div>
        </Show>
    }
}

/// What was typed bulb by bulb, and for how many; a field left empty says nothing of its bulb.
fn each_command(fields: Fields, what: What, typed: Vec<(Id, RwSignal<String>)>) -> Result<(Command, usize), Problem> {
    let mut shared = fields.typed();
    let mut each = Vec::new();
    for (bulb, text) in typed {
        shared.number = text.get_untracked();
        if !shared.number.trim().is_empty() {
            each.push((bulb, shared.body(what)?));
        }
    }
    let n = each.len();
    let on = Some(shared.on()?);
    Ok((Command::ObserveEach { each, on }, n))
}

/// How many are meant, and the list of all to tick.
#[component]
pub(crate) fn Exceptions(bulbs: Vec<(Id, String)>, left_out: RwSignal<BTreeSet<Id>>) -> impl IntoView {
    let n = bulbs.len();
    view! {
        <p class="say" role="status">{move || say::n_of(n - left_out.with(BTreeSet::len), n)}</p>
        <Ticks bulbs=bulbs left_out=left_out />
    }
}

fn command(
    app: App,
    fields: Fields,
    what: What,
    about: Vec<Id>,
    subject: Option<Id>,
    job: Option<String>,
) -> Result<Command, Problem> {
    let typed = fields.typed();
    let on = Some(typed.on()?);
    let What::Act(kind) = what else {
        let body = typed.body(what)?;
        return Ok(Command::Observe { about, body, on });
    };
    let from = subject
        .filter(|subject| !subject.is(Noun::Bulb))
        .map(|subject| app.peek(|r| r.state.name_of(subject).to_owned()))
        .filter(|name| !name.is_empty());
    let act = typed.act(kind, Act { from, job, ..Act::default() })?;
    if kind == ActKind::OffsetSplit {
        return typed.split(about, act, on).map(Command::Split);
    }
    let into = typed.pot_into()?;
    // In one container each bulb has its position, in the order in which they were listed.
    Ok(match into.filter(|_| act_fields::asks(kind).contains(&act_fields::Ask::Container)) {
        Some(into) => Command::Pot { into, act, about, on },
        None => Command::Do { kind, act, about, on },
    })
}
