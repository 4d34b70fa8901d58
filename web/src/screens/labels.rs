//! Labels to print: on sheets as shops sell them, on a size of one's own, or a page for each.

use bloomdue_core::handover::labels::{Label, Paper, QUIET_MODULES, RULER_DMM, SHEETS, Sheet, code, labels, pages};
use bloomdue_core::ledger::id::{Id, Noun};
use bloomdue_words::form::{Problem, label_sheet};
use bloomdue_words::route::Route;
use bloomdue_words::{dates, labels as say};
use leptos::prelude::*;

use crate::app::app;
use crate::device::screen;
use crate::parts::field::{Chips, ProblemLine, TextField};
use crate::parts::fold::Fold;
use crate::parts::heading::Heading;

/// Which sheet was chosen.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Chosen {
    Ready(usize),
    Own(Paper),
}

/// The labels of a bulb, a place, a lot or a try.
#[component]
pub(crate) fn Labels(subject: Id) -> impl IntoView {
    let app = app();
    let of_run = subject.is(Noun::Run);
    let chosen = RwSignal::new(Chosen::Ready(0));
    let typed = label_sheet::Typed::default();
    let typed = [typed.columns, typed.rows, typed.width, typed.height, typed.gap].map(RwSignal::new);
    let used = RwSignal::new(String::new());
    let with_group = RwSignal::new(false);
    let only_today = RwSignal::new(false);
    let lines = RwSignal::new(false);
    let here = Memo::new(move |_| app.read(|r| (labels(r.state, subject, with_group.get()), r.today)));
    let n_today =
        move || here.with(|(all, today)| (all.iter().filter(|label| label.entered == Some(*today)).count(), all.len()));
    let some_today = move || (1..n_today().1).contains(&n_today().0);
    let sheet = Memo::new(move |_| match chosen.get() {
        Chosen::Ready(at) => Ok(SHEETS[at]),
        Chosen::Own(paper) => {
            let [columns, rows, width, height, gap] = typed.map(|text| text.get());
            label_sheet::Typed { columns, rows, width, height, gap }.read(paper)
        }
    });
    let laid = Memo::new(move |_| -> LaidOut {
        let sheet = sheet.get()?;
        let used = label_sheet::used(&used.get())?;
        let wanted = here.with(|(all, today)| {
            let wanted = all.iter().filter(|label| !only_today.get() || label.entered == Some(*today));
            wanted.cloned().collect::<Vec<_>>()
        });
        let pages = pages(&sheet, wanted, used).map_err(label_sheet::refused)?;
        Ok((sheet, pages))
    });
    let place = app.peek(|r| r.state.name_of(subject).to_owned());
    let head = move || {
        app.read(|r| {
            let nursery = r.state.name.shown().map_or("", String::as_str);
            say::head(nursery, r.state.name_of(subject), &dates::date_short(r.today, r.today))
        })
    };
    let how_many = move || {
        laid.with(|laid| match laid {
            Ok((sheet, pages)) => say::how_many(pages.iter().map(Vec::len).sum(), pages.len(), sheet.paper),
            Err(_) => String::new(),
        })
    };
    let back = match subject.noun() {
        Some(Noun::Place) => Route::Place(subject),
        Some(Noun::Lot) => Route::Lot(subject),
        Some(Noun::Run) => Route::Run(subject),
        _ => Route::Bulb(subject),
    };
    let mut sheets: Vec<(Chosen, String)> =
        SHEETS.iter().enumerate().map(|(at, sheet)| (Chosen::Ready(at), say::sheet(sheet))).collect();
    sheets.push((Chosen::Own(Paper::A4), say::other_sheet().to_owned()));
    sheets.push((Chosen::Own(Paper::One), say::one_each().to_owned()));
    let problem = Signal::derive(move || laid.with(|laid| laid.as_ref().err().cloned()));
    let is_own = move |one: bool| match chosen.get() {
        Chosen::Own(paper) => !one || paper == Paper::A4,
        Chosen::Ready(_) => false,
    };
    view! {
        <div class="no-print">
            <Heading place=place title=say::title() under=Signal::derive(how_many) back=back />
            {move || first_label(laid).map(|label| view! { <p class="small">{say::true_size()}</p> {label} })}
            <p class="note small">
                {move || match laid.with(|laid| laid.as_ref().is_ok_and(|(sheet, _)| sheet.ruler().is_some())) {
                    true => say::at_true_size(),
                    false => say::measure_one(),
                }}
            </p>
            {move || too_small(laid).then(|| view! { <p class="problem">{say::no_code()}</p> })}
            {move || untagged(laid).then(|| view! { <p class="small">{say::untagged()}</p> })}
            <Show when=some_today>
                <Chips
                    label=say::which_label()
                    choices=vec![(false, say::all().to_owned()), (true, say::entered_today().to_owned())]
                    value=only_today
                />
            </Show>
            {of_run.then(|| view! {
                <Chips
                    label=say::group_label()
                    choices=vec![(false, say::group_hidden().to_owned()), (true, say::group_shown().to_owned())]
                    value=with_group
                />
            })}
            <Fold summary=say::sheet_label() row=0>
                <Chips label=say::sheet_label() choices=sheets.clone() value=chosen />
                <Show when=move || is_own(true)>
                    <TextField label=say::columns_label() value=typed[0] mode="numeric" />
                    <TextField label=say::rows_label() value=typed[1] mode="numeric" />
                    <TextField label=say::gap_label() value=typed[4] mode="decimal" />
                </Show>
                <Show when=move || is_own(false)>
                    <TextField label=say::width_label() value=typed[2] mode="decimal" />
                    <TextField label=say::height_label() value=typed[3] mode="decimal" />
                </Show>
                <TextField label=say::used_label() value=used mode="numeric" />
                <Chips
                    label=say::lines_label()
                    choices=vec![(false, say::without().to_owned()), (true, say::with().to_owned())]
                    value=lines
                />
            </Fold>
            <ProblemLine problem=problem />
        </div>
        {move || laid.get().ok().map(|(sheet, pages)| {
            let n_pages = pages.len();
            let pages = pages.into_iter().zip(1..);
            pages
                .map(|(labels, nth)| {
                    let said = say::page_said(labels.len(), nth, n_pages);
                    view! { <Page sheet=sheet labels=labels said=said head=head() lines=lines.get() /> }
                })
                .collect_view()
        })}
        <div class="act">
            <button type="button" class="btn main" on:click=move |_| screen::print()>{say::print()}</button>
        </div>
    }
}

/// The labels of a page, each with its place there.
type OnPage = Vec<(u32, Label)>;

/// A sheet and what lies on each of its pages, or what is wrong with what was typed.
type LaidOut = Result<(Sheet, Vec<OnPage>), Problem>;

type Laid = Memo<LaidOut>;

fn first_label(laid: Laid) -> Option<impl IntoView> {
    laid.with(|laid| {
        let (sheet, pages) = laid.as_ref().ok()?;
        let (_, label) = pages.first()?.first()?;
        let (width, height) = (mm(sheet.width_dmm), mm(sheet.height_dmm));
        let view_box = format!("0 0 {width} {height}");
        let (wide, high) = (format!("{width}mm"), format!("{height}mm"));
        Some(view! {
            <div class="scroll" tabindex="0" role="region" aria-label=say::true_size()>
                <svg class="one-label" width=wide height=high viewBox=view_box role="img" aria-label=say::true_size()>
                    {drawn(label, sheet, true)}
                </svg>
            </div>
        })
    })
}

fn too_small(laid: Laid) -> bool {
    laid.with(|laid| laid.as_ref().is_ok_and(|(sheet, _)| sheet.code_dmm().is_none()))
}

fn untagged(laid: Laid) -> bool {
    let any = |pages: &Vec<OnPage>| pages.iter().flatten().any(|(_, label)| label.tag.is_none());
    laid.with(|laid| laid.as_ref().is_ok_and(|(_, pages)| any(pages)))
}

/// Tenths of a millimetre as millimetres.
fn mm(dmm: u32) -> String {
    format!("{}.{}", dmm / 10, dmm % 10)
}

/// One sheet of paper.
#[component]
fn Page(sheet: Sheet, labels: OnPage, said: String, head: String, lines: bool) -> impl IntoView {
    let (class, (width, height)) = match sheet.paper {
        Paper::A4 => ("label-page on-a4", (2100, 2970)),
        Paper::Letter => ("label-page on-letter", (2159, 2794)),
        Paper::One => ("label-page on-roll", (sheet.width_dmm, sheet.height_dmm)),
    };
    let of_sheet = sheet.ruler().map(|at| {
        let (left, right, y) = (at.left_dmm, at.left_dmm + RULER_DMM, at.top_dmm);
        let ticks: String = (0..=RULER_DMM / 10)
            .map(|nth| {
                let long = if nth % 10 == 0 { 30 } else { 15 };
                format!("M{} {}v{}", mm(left + nth * 10), mm(y), mm(long))
            })
            .collect();
        let line = format!("M{} {}H{}{ticks}", mm(left), mm(y), mm(right));
        view! {
            <path class="cut" d=line />
            <g font-size="3">
                <text x=mm(right + 20) y=mm(y + 30)>{say::ruler()}</text>
                <text x=mm(left) y=mm(sheet.at(0).top_dmm.saturating_sub(20))>{head}</text>
            </g>
        }
    });
    let drawn_labels = labels
        .into_iter()
        .map(|(nth, label)| {
            let at = sheet.at(nth);
            let to = format!("translate({} {})", mm(at.left_dmm), mm(at.top_dmm));
            view! { <g transform=to>{drawn(&label, &sheet, lines)}</g> }
        })
        .collect_view();
    view! {
        <svg class=class viewBox=format!("0 0 {} {}", mm(width), mm(height)) role="img" aria-label=said>
            {of_sheet}
            {drawn_labels}
        </svg>
    }
}

/// One label, from its own corner.
fn drawn(label: &Label, sheet: &Sheet, edge: bool) -> impl IntoView + use<> {
    let layout = label.layout(sheet);
    let dark = layout.code.zip(label.tag.as_deref().and_then(code)).map(|((at, side), rows)| {
        let n = rows.len() as u32 + 2 * QUIET_MODULES;
        let path: String = rows
            .iter()
            .zip(QUIET_MODULES..)
            .flat_map(|(row, y)| {
                row.iter()
                    .zip(QUIET_MODULES..)
                    .filter(|(dark, _)| **dark)
                    .map(move |(_, x)| format!("M{x} {y}h1v1h-1z"))
            })
            .collect();
        let scale = f64::from(side) / 10.0 / f64::from(n);
        let to = format!("translate({} {}) scale({scale:.4})", mm(at.left_dmm), mm(at.top_dmm));
        view! { <path class="code" transform=to d=path shape-rendering="crispEdges" /> }
    });
    let lines = layout
        .lines
        .into_iter()
        .enumerate()
        .map(|(nth, line)| {
            let class = if nth == 0 { "label-name" } else { "label-line" };
            view! {
                <g font-size=mm(line.size_dmm)>
                    <text class=class x=mm(line.left_dmm) y=mm(line.baseline_dmm)>{line.text}</text>
                </g>
            }
        })
        .collect_view();
    let edge = edge.then(|| {
        view! { <rect class="cut" x="0" y="0" width=mm(sheet.width_dmm) height=mm(sheet.height_dmm) /> }
    });
    view! { {edge} {dark} {lines} }
}
