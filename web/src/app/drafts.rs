//! Forms not saved yet: kept in the storage by the screen's key, so that leaving, reloading and updating lose nothing.

use std::rc::Rc;

use bloomdue_words::route::Route;
use bloomdue_words::start as say;
use leptos::prelude::*;

use super::App;
use crate::device::prefs;

/// Key of the form that starts a nursery. No storage is open then, or another nursery's, so this device itself keeps it.
pub(crate) const START_KEY: &str = "start /start";

/// A form on the screen: gives its key and what of it is not kept yet.
type Form = Rc<dyn Fn() -> Option<(String, Vec<u8>)>>;

/// The drafts of the open nursery, and the forms on the screen.
#[derive(Default)]
pub(super) struct Drafts {
    /// By key, in the order in which they were begun.
    pub(super) kept: Vec<(String, Vec<u8>)>,
    forms: Vec<(u64, Form)>,
    n_forms: u64,
}

impl App {
    /// A form not saved yet, by the screen's key.
    pub(crate) fn draft(self, key: &str) -> Option<Vec<u8>> {
        if key == START_KEY {
            let kept = prefs::get(key).filter(|draft| !draft.is_empty());
            return kept.map(String::into_bytes);
        }
        let shared = self.shared();
        let drafts = shared.drafts.borrow();
        let found = drafts.kept.iter().find(|(known, _)| known == key);
        found.map(|(_, draft)| draft.clone())
    }

    /// Keys of forms not saved yet.
    pub(crate) fn draft_keys(self) -> Vec<String> {
        self.version.track();
        self.n_drafts.track();
        self.draft_keys_now()
    }

    /// The same, without following them.
    pub(crate) fn draft_keys_now(self) -> Vec<String> {
        let shared = self.shared();
        let drafts = shared.drafts.borrow();
        drafts.kept.iter().map(|(key, _)| key.clone()).collect()
    }

    /// Keeps a form that is not saved yet; an empty one is let go.
    pub(crate) fn keep_draft(self, key: &str, draft: Vec<u8>) {
        wasm_bindgen_futures::spawn_local(self.keep_drafts(vec![(key.to_owned(), draft)]));
    }

    /// Lets a form go, if there is one: it was saved elsewhere, or what it was of is no longer there.
    pub(crate) fn let_go(self, key: &str) {
        if self.draft(key).is_some() {
            self.keep_draft(key, Vec::new());
        }
    }

    /// Lets every form of a screen go that is no longer there to be gone on with.
    pub(crate) fn let_go_at(self, route: &Route) {
        let address = route.to_string();
        for key in self.draft_keys_now() {
            if key.split_once(' ').is_some_and(|(_, at)| at == address) {
                self.let_go(&key);
            }
        }
    }

    /// Keeps several at once. What is in memory changes at the call, what is stored by the time it is done.
    fn keep_drafts(self, mut drafts: Vec<(String, Vec<u8>)>) -> impl Future<Output = ()> {
        drafts.retain(|(key, draft)| {
            if key != START_KEY {
                return true;
            }
            prefs::set(key, &String::from_utf8_lossy(draft));
            false
        });
        {
            let shared = self.shared();
            let kept = &mut shared.drafts.borrow_mut().kept;
            for (key, draft) in &drafts {
                let there = kept.iter().position(|(known, _)| known == key);
                match there {
                    Some(at) if draft.is_empty() => drop(kept.remove(at)),
                    Some(at) => kept[at].1.clone_from(draft),
                    None if draft.is_empty() => {}
                    None => kept.push((key.clone(), draft.clone())),
                }
            }
        }
        self.count_drafts();
        let store = self.store();
        async move {
            let Some(store) = store.filter(|_| !drafts.is_empty()) else {
                return;
            };
            if let Err(why) = store.keep_drafts(&drafts).await {
                self.notify(say::draft_not_kept(&why));
            }
        }
    }

    /// Lets go in memory of a form that was saved: its row went with what was saved.
    pub(super) fn draft_saved(self, key: &str) {
        let shared = self.shared();
        shared.drafts.borrow_mut().kept.retain(|(known, _)| known != key);
        self.count_drafts();
    }

    fn count_drafts(self) {
        let n = self.shared().drafts.borrow().kept.len();
        if self.n_drafts.get_untracked() != n {
            self.n_drafts.set(n);
        }
    }

    /// Follows a form that is on the screen from now on; gives the number by which it is let go.
    pub(crate) fn follow_form(self, unkept: impl Fn() -> Option<(String, Vec<u8>)> + 'static) -> u64 {
        let shared = self.shared();
        let mut drafts = shared.drafts.borrow_mut();
        drafts.n_forms += 1;
        let n = drafts.n_forms;
        drafts.forms.push((n, Rc::new(unkept)));
        n
    }

    /// The form has left the screen.
    pub(crate) fn unfollow_form(self, n: u64) {
        let shared = self.shared();
        shared.drafts.borrow_mut().forms.retain(|(known, _)| *known != n);
    }

    /// Keeps what is typed in the forms on the screen, before the page goes. Begun at the call; done when it is stored.
    pub(crate) fn keep_forms(self) -> impl Future<Output = ()> {
        let forms: Vec<Form> = {
            let shared = self.shared();
            let drafts = shared.drafts.borrow();
            drafts.forms.iter().map(|(_, form)| Rc::clone(form)).collect()
        };
        let unkept = forms.iter().filter_map(|form| form()).collect();
        self.keep_drafts(unkept)
    }
}
