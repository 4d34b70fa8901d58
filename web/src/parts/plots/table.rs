//! The table behind a picture as it is shown, and behind its name.

use bloomdue_words::table::Table;
use leptos::prelude::*;

use crate::parts::fold::Behind;

/// The table itself.
pub(crate) fn numbers(table: &Table) -> AnyView {
    let heads: Vec<_> = table.heads.iter().map(|head| view! { <th scope="col">{head.clone()}</th> }).collect();
    let row = |cells: &Vec<String>| {
        let mut cells = cells.iter().cloned();
        // A bulb that has no tag yet still heads its row.
        let head = cells.next().filter(|head| !head.is_empty());
        let head = head.unwrap_or_else(|| "–".to_owned());
        let rest: Vec<_> = cells.map(|cell| view! { <td>{cell}</td> }).collect();
        view! { <tr><th scope="row">{head}</th>{rest}</tr> }
    };
    let rows: Vec<_> = table.rows.iter().map(row).collect();
    let (label, caption) = (table.caption.clone(), table.caption.clone());
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

/// A table behind its name.
#[component]
pub(crate) fn TableBehind(
    /// The table.
    table: Table,
) -> impl IntoView {
    let summary = table.caption.clone();
    view! { <Behind summary=summary>{numbers(&table)}</Behind> }
}
