//! The table behind a picture, and what opens on a tap.

use leptos::prelude::*;

use crate::parts::paper::Paper;

/// The numbers of a picture in words; the first cell of a row is its head.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Table {
    /// What it shows.
    pub(crate) caption: String,
    /// Heads of the columns.
    pub(crate) heads: Vec<String>,
    /// Rows of as many cells.
    pub(crate) rows: Vec<Vec<String>>,
}

impl Table {
    /// The table itself.
    pub(crate) fn show(&self) -> AnyView {
        let heads: Vec<_> = self.heads.iter().map(|head| view! { <th scope="col">{head.clone()}</th> }).collect();
        let row = |cells: &Vec<String>| {
            let mut cells = cells.iter().cloned();
            // A bulb that has no tag yet still heads its row.
            let head = cells.next().filter(|head| !head.is_empty());
            let head = head.unwrap_or_else(|| "–".to_owned());
            let rest: Vec<_> = cells.map(|cell| view! { <td>{cell}</td> }).collect();
            view! { <tr><th scope="row">{head}</th>{rest}</tr> }
        };
        let rows: Vec<_> = self.rows.iter().map(row).collect();
        let (label, caption) = (self.caption.clone(), self.caption.clone());
        view! {
            <div class="scroll" tabindex="0" role="region" aria-label=label>
                <table class="numbers">
                    <caption class="unseen">{caption}</caption>
                    <thead><tr>{heads}</tr></thead>
                    <tbody>{rows}</tbody>
                </table>
            </div>
        }
        .into_any()
    }
}

/// What is made only when someone opens it, and stays then.
#[component]
pub(crate) fn Behind(
    /// What is behind it.
    #[prop(into)]
    summary: String,
    /// Makes it.
    children: ChildrenFn,
) -> impl IntoView {
    let opened = RwSignal::new(false);
    let printed = Memo::new(|_| Paper::is_printed());
    let made = Memo::new(move |_| opened.get() || printed.get());
    view! {
        <details open=printed on:toggle=move |_| opened.set(true)>
            <summary>{summary}</summary>
            {move || made.get().then(|| children())}
        </details>
    }
}

/// A table behind its name.
#[component]
pub(crate) fn TableBehind(
    /// The table.
    table: Table,
) -> impl IntoView {
    let summary = table.caption.clone();
    view! { <Behind summary=summary>{table.show()}</Behind> }
}
