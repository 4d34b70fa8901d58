//! The evidence as it grew, with its sentence and its table.

use bloomdue_core::calendar::Date;
use bloomdue_core::trial::result::sequential::{AfterBlock, AfterLook};
use bloomdue_words::results as say;
use leptos::prelude::*;

use crate::parts::plots::growth::{GrowthPlot, Point};
use crate::parts::plots::table::TableBehind;

/// Look by look: which group is faster.
pub(crate) fn by_looks(looks: &[AfterLook], a: &str, b: &str, today: Date) -> AnyView {
    let Some(last) = looks.last() else {
        return view! { <p class="small">{say::no_look_at_both()}</p> }.into_any();
    };
    let points =
        looks.iter().map(|look| Point { label: say::day_and_month(look.day), evidence: look.evidence }).collect();
    view! {
        <p>{say::evidence_now(last.evidence, last.anytime_p)}</p>
        <GrowthPlot points=points />
        <TableBehind table=say::looks_table(looks, a, b, today) />
    }
    .into_any()
}

/// Size class by size class: how many in time. `label` names a class.
pub(crate) fn by_blocks(blocks: &[AfterBlock], a: &str, b: &str, label: impl Fn(&AfterBlock) -> String) -> AnyView {
    let Some(last) = blocks.last() else {
        return view! { <p class="small">{say::no_class_decided()}</p> }.into_any();
    };
    let points = blocks.iter().map(|block| Point { label: label(block), evidence: block.evidence }).collect();
    view! {
        <p>{say::evidence_now(last.evidence, last.anytime_p)}</p>
        <GrowthPlot points=points />
        <TableBehind table=say::blocks_table(blocks, a, b, label) />
    }
    .into_any()
}
