//! Joining another ledger of the same nursery, and taking that back.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::{Moment, take_back::take_back};
use crate::{
    error::{Error, Result},
    handover::join::joins,
    ledger::{
        Ledger, TAKE_BACK,
        body::{Body, Joined},
        entry::{Draft, Entry},
        id::{EntryId, Id},
    },
    refusal::RecordRefusal,
};

/// The link, which replaces an earlier one to the same ledger. What a join that was taken back had brought stands again.
pub(super) fn join(ledger: &Ledger, moment: &Moment, to: Id, devices: Vec<Id>) -> Result<Vec<Draft>> {
    if to == ledger.id() {
        return Err(Error::new(RecordRefusal::OwnLedger));
    }
    let mut devices: BTreeSet<Id> = devices.into_iter().collect();
    let mut replaced = Vec::new();
    for entry in joins(ledger) {
        if let Body::Join(join) = &entry.body
            && join.to == to
        {
            devices.extend(&join.devices);
            replaced.push(entry.id);
        }
    }
    let again = taken_back_with(ledger, to);
    let mut drafts = take_back(ledger, &again, moment.now.clone(), None);
    // A link that stands again with what it had brought is replaced by this one.
    replaced.extend(links_to(ledger, to).map(|entry| entry.id).filter(|_| !again.is_empty()));
    replaced.sort();
    replaced.dedup();
    let body = Body::Join(Joined { to, devices: devices.into_iter().collect() });
    let mut draft = Draft::new(vec![ledger.id()], moment.now.clone(), body);
    draft.supersedes = replaced;
    drafts.push(draft);
    Ok(drafts)
}

fn links_to(ledger: &Ledger, to: Id) -> impl Iterator<Item = &Arc<Entry>> {
    let of = move |entry: &&Arc<Entry>| matches!(&entry.body, Body::Join(join) if join.to == to);
    ledger.arrived().iter().filter(of)
}

/// Take-backs in force that were written with the taking back of a join to this ledger.
fn taken_back_with(ledger: &Ledger, to: Id) -> Vec<EntryId> {
    let links: BTreeSet<EntryId> = links_to(ledger, to).map(|entry| entry.id).collect();
    let mut decisions = ledger.decisions();
    let in_force = |entry: &&Arc<Entry>| entry.envelope.kind == TAKE_BACK && decisions.is_in_force_for_any(entry);
    let take_backs: Vec<&Arc<Entry>> = ledger.arrived().iter().filter(in_force).collect();
    let names_a_link = |entry: &&Arc<Entry>| entry.envelope.supersedes.iter().any(|id| links.contains(id));
    let forms: BTreeSet<Id> =
        take_backs.iter().copied().filter(names_a_link).map(|entry| entry.envelope.form).collect();
    let of_form = take_backs.iter().filter(|entry| forms.contains(&entry.envelope.form));
    of_form.map(|entry| entry.id).collect()
}

/// The entries, and with a join everything that its devices wrote.
pub(super) fn with_what_was_joined(ledger: &Ledger, mut entries: Vec<EntryId>) -> Vec<EntryId> {
    let joined = entries.iter().filter_map(|id| match &ledger.get(*id)?.body {
        Body::Join(join) => Some(join.devices.clone()),
        _ => None,
    });
    let devices: BTreeSet<Id> = joined.flatten().collect();
    if devices.is_empty() {
        return entries;
    }
    let known: BTreeSet<EntryId> = entries.iter().copied().collect();
    // Replaced ones too: else taking back what replaced them would bring them up again.
    let brought = ledger.arrived().iter().filter(|entry| {
        devices.contains(&entry.envelope.device) && !known.contains(&entry.id) && entry.envelope.kind != TAKE_BACK
    });
    entries.extend(brought.map(|entry| entry.id));
    entries
}
