//! Drafts that take entries back.

use std::collections::BTreeSet;

use crate::{
    calendar::Happened,
    ledger::{
        Ledger,
        body::{Body, TakeBack},
        entry::Draft,
        id::{EntryId, Id},
    },
    limits,
};

/// A draft that takes these entries back.
///
/// Its subjects are those of the entries, so that it counts for each of them.
pub(super) fn take_back(ledger: &Ledger, ids: &[EntryId], happened: Happened, why: Option<String>) -> Vec<Draft> {
    let mut about = BTreeSet::new();
    let mut drafts = Vec::new();
    let mut supersedes = Vec::new();
    for id in ids {
        let Some(entry) = ledger.get(*id) else {
            continue;
        };
        // One take-back speaks of at most 400 things, like any entry.
        let more: BTreeSet<Id> = entry.envelope.about.iter().copied().collect();
        if !supersedes.is_empty() && about.union(&more).count() > limits::ABOUT.max as usize {
            drafts.push(take_back_draft(&mut about, &mut supersedes, &happened, why.clone()));
        }
        about.extend(more);
        supersedes.push(*id);
        // Three hundred ids of 53 characters stay well under the length of a line.
        if supersedes.len() == 300 {
            drafts.push(take_back_draft(&mut about, &mut supersedes, &happened, why.clone()));
        }
    }
    if !supersedes.is_empty() {
        drafts.push(take_back_draft(&mut about, &mut supersedes, &happened, why));
    }
    drafts
}

fn take_back_draft(
    about: &mut BTreeSet<Id>,
    supersedes: &mut Vec<EntryId>,
    happened: &Happened,
    why: Option<String>,
) -> Draft {
    let about = std::mem::take(about).into_iter().collect();
    let mut draft = Draft::new(about, happened.clone(), Body::TakeBack(TakeBack { why }));
    draft.supersedes = std::mem::take(supersedes);
    draft
}
