//! A file of records made for going out: everything, or what others lack.

use bloomdue_core::handover::file_name;
use bloomdue_core::handover::json::Sender;
use bloomdue_core::handover::others::{Other, Whom, others, outgoing};
use bloomdue_words::evening;
use bloomdue_words::told::{NotMade, StoreError};
use leptos::prelude::*;

use crate::app::App;
use crate::device::files::{Outgoing, can_share_pages};
use crate::store::{Dress, PhotosIn, RecordsIn};

/// A file that is ready to go out.
#[derive(Clone)]
pub(crate) struct Made {
    /// The records.
    pub(crate) file: Outgoing,
    /// The same within a page, where the share sheet takes pages and no files of records.
    pub(crate) page: Option<Outgoing>,
    /// This device's last line in it.
    up_to: u64,
}

impl Made {
    /// Notes that it went out.
    pub(crate) fn handed_over(&self, app: App) {
        let up_to = self.up_to;
        wasm_bindgen_futures::spawn_local(async move {
            let Some(store) = app.store() else { return };
            match store.mark_exported(up_to).await {
                Ok(line) => app.line.set(Some(line)),
                // The file itself went out; that nothing can be noted any more stands above.
                Err(StoreError::Cleared | StoreError::Wiped) => {}
                Err(why) => app.notify(bloomdue_words::start::saved_but(&why)),
            }
        });
    }
}

/// The other devices of this nursery.
pub(crate) async fn others_of(app: App) -> Result<Vec<Other>, StoreError> {
    let Some(store) = app.store() else { return Ok(Vec::new()) };
    let heard = store.heard().await?;
    let own = app.line.with_untracked(|line| line.as_ref().map(|line| line.device));
    Ok(own.map_or_else(Vec::new, |own| app.peek(|r| others(r.ledger, &heard, own))))
}

/// Makes a file for somebody by what is known of them; of everything, where it is for nobody in particular.
pub(crate) async fn made(app: App, whom: Option<(Whom, &[Other])>, photos: PhotosIn) -> Result<Made, NotMade> {
    let store = app.store().ok_or(NotMade::NoNurseryOpen)?;
    // What other tabs have saved goes into it too. Where that cannot be read, the file holds what this one knows of.
    let known = app.line.with_untracked(|line| line.as_ref().map_or(0, |line| line.line));
    let up_to = store.catch_up().await.map_or(known, |line| line.line);
    let device = app.line.with_untracked(|line| line.as_ref().map(|line| line.device));
    let device = device.ok_or(NotMade::NoNurseryOpen)?;
    // What was heard may be lost; the file does without it.
    let heard = store.heard().await.map(|row| row.others).unwrap_or_default();
    let sender = Sender { device, who: app.who.get_untracked(), heard };
    let (ledger, name) = app.peek(|r| (r.ledger.clone(), r.state.name.shown().cloned().unwrap_or_default()));
    let now = app.moment().now;
    let by = app.peek(|r| sender.who.map_or_else(String::new, |who| r.state.name_of(who).to_owned()));
    let some = whom.map(|(whom, others)| outgoing(&ledger, others, whom));
    let records = || some.clone().map_or(RecordsIn::All, RecordsIn::Some);
    let named = |ending: &str| file_name(&name, &by, &now, ending);
    let of = (name.as_str(), now.as_str());
    let blob = store.export(&ledger, records(), &sender, of, photos, Dress::Plain).await?;
    let file = Outgoing::of_blob(&named("bloomdue.json"), "application/json", &blob)?;
    let page = if file.can_be_shared() || !can_share_pages() {
        None
    } else {
        let told = some.as_deref().unwrap_or_else(|| ledger.arrived());
        let (before, after) = app.peek(|r| evening::page(told, r.state, &by, now.as_str(), r.today));
        let blob = store.export(&ledger, records(), &sender, of, photos, Dress::Page(before, after)).await?;
        Some(Outgoing::of_blob(&named("bloomdue.html"), "text/html", &blob)?)
    };
    Ok(Made { file, page, up_to })
}
