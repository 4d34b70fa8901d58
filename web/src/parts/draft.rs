//! What is typed into a form is kept until it is saved: over leaving, reloading, a kill and an update.

use std::cell::{Cell, RefCell};
use std::rc::Rc;
use std::sync::Arc;
use std::time::Duration;

use bloomdue_core::json;
use bloomdue_core::ledger::entry::Entry;
use bloomdue_core::record::Command;
use bloomdue_words::formats::{self, Units};
use bloomdue_words::told::NotRecorded;
use bloomdue_words::trials as say;
use leptos::prelude::*;
use serde::Serialize;
use serde::de::DeserializeOwned;

use crate::app::{App, Files};

/// How long what was typed may wait until it is kept.
const KEPT_WITHIN: Duration = Duration::from_secs(1);

/// Fields by name, each with its value as JSON.
type Typed = Vec<(String, String)>;

/// Reads a field; nothing once its form is gone.
type Now = Box<dyn Fn() -> Option<String>>;

/// The fields of a form, as they are named one by one. A draft fills those that it can: a form of a later version may
/// have others.
pub(crate) struct FormDraft {
    app: App,
    key: String,
    kept: Typed,
    begun: bool,
    fields: Vec<(&'static str, Now)>,
    fresh: Typed,
}

impl FormDraft {
    /// The form with this key: a word for the form, a space, the screen's address.
    pub(crate) fn of(app: App, key: String) -> Self {
        let kept = app.draft(&key).and_then(|draft| json::read_bytes(&draft).ok());
        Self { app, key, begun: kept.is_some(), kept: kept.unwrap_or_default(), fields: Vec::new(), fresh: Vec::new() }
    }

    /// A field that holds its value.
    pub(crate) fn field<T>(self, name: &'static str, value: RwSignal<T>) -> Self
    where
        T: Serialize + DeserializeOwned + Clone + Send + Sync + 'static,
    {
        self.part(name, move || value.try_get(), move |kept| value.set(kept))
    }

    /// Anything else that is typed: how it is read, and put back where a draft holds it.
    pub(crate) fn part<T: Serialize + DeserializeOwned>(
        mut self,
        name: &'static str,
        now: impl Fn() -> Option<T> + 'static,
        put: impl FnOnce(T),
    ) -> Self {
        let now = move || now().map(|value| json::to_text(&value));
        let fresh = untrack(&now).unwrap_or_default();
        self.fresh.push((name.to_owned(), fresh));
        self.fields.push((name, Box::new(now)));
        let kept = self.kept.iter().find(|(known, _)| known == name);
        // A value that can no longer be read stays as the form opened with it.
        if let Some(value) = kept.and_then(|(_, text)| json::read(text).ok()) {
            put(value);
        }
        self
    }

    /// Says that lengths or temperatures are typed here, once all fields are named: what a draft holds that was typed in
    /// other units than those chosen now is typed anew by `retype`, which is told them.
    pub(crate) fn in_units(self, retype: impl FnOnce(Units)) -> Self {
        let now = formats::units();
        let name = "units";
        let kept = self.kept.iter().find(|(known, _)| known == name).and_then(|(_, units)| json::read(units).ok());
        // Drafts that do not say it are older than the choice.
        let typed_in = kept.unwrap_or_default();
        if self.begun && typed_in != now {
            retype(typed_in);
        }
        self.part(name, move || Some(now), |_| {})
    }

    /// Keeps the form from now on.
    pub(crate) fn keep(self) -> Draft {
        let fields = self.fields;
        let now = move || {
            let field = |(name, now): &(&str, Now)| Some((String::from(*name), now()?));
            let typed: Option<Typed> = fields.iter().map(field).collect();
            typed.map(|typed| json::to_bytes(&typed))
        };
        Draft::of(self.app, self.key, self.begun, json::to_bytes(&self.fresh), now)
    }
}

struct Inner {
    app: App,
    key: String,
    begun: bool,
    now: Box<dyn Fn() -> Option<Vec<u8>>>,
    /// The form with nothing typed: as it opened, or as it was saved last.
    fresh: RefCell<Vec<u8>>,
    /// Being saved, or let go: nothing is kept.
    closed: Cell<bool>,
    /// While a save of the form goes on.
    saving: Cell<bool>,
    waits: Cell<bool>,
}

impl Inner {
    /// What the draft has to be, where it is not that already. The form as it opened has none.
    fn unkept(&self) -> Option<(String, Vec<u8>)> {
        if self.closed.get() {
            return None;
        }
        let mut typed = untrack(&self.now)?;
        if typed == *self.fresh.borrow() {
            typed.clear();
        }
        let kept = self.app.draft(&self.key).unwrap_or_default();
        (kept != typed).then(|| (self.key.clone(), typed))
    }

    fn forget(&self) {
        self.app.let_go(&self.key);
    }

    fn keep(&self) {
        if let Some((key, draft)) = self.unkept() {
            self.app.keep_draft(&key, draft);
        }
    }
}

/// The draft of a form on the screen.
#[derive(Clone, Copy)]
pub(crate) struct Draft(StoredValue<Rc<Inner>, LocalStorage>);

impl Draft {
    /// Keeps a form whose draft is `now`, within a second after a change and when it is left. `fresh` is what `now`
    /// gives with nothing typed; `begun` whether a draft was filled in.
    pub(crate) fn of(
        app: App,
        key: String,
        begun: bool,
        fresh: Vec<u8>,
        now: impl Fn() -> Option<Vec<u8>> + 'static,
    ) -> Self {
        let inner = Rc::new(Inner {
            app,
            key,
            begun,
            now: Box::new(now),
            fresh: RefCell::new(fresh),
            closed: Cell::new(false),
            saving: Cell::new(false),
            waits: Cell::new(false),
        });
        let form = Rc::clone(&inner);
        let n = app.follow_form(move || form.unkept());
        let draft = Self(StoredValue::new_local(inner));
        on_cleanup(move || {
            app.unfollow_form(n);
            draft.with(|inner| inner.keep());
        });
        Effect::new(move |before: Option<()>| {
            let Some(inner) = draft.0.try_get_value() else {
                return;
            };
            // Read for being told of changes only.
            let _ = (inner.now)();
            if before.is_some() && !inner.waits.replace(true) {
                let keep = move || {
                    draft.with(|inner| {
                        inner.waits.set(false);
                        inner.keep();
                    });
                };
                set_timeout(keep, KEPT_WITHIN);
            }
        });
        draft
    }

    fn with(self, act: impl FnOnce(&Inner)) {
        if let Some(inner) = self.0.try_get_value() {
            act(&inner);
        }
    }

    /// Saves what the form says; its draft goes with it, in one transaction.
    ///
    /// # Errors
    /// Why; then nothing was recorded and the draft is still there.
    pub(crate) async fn record(self, command: Command) -> Result<Vec<Arc<Entry>>, NotRecorded> {
        let app = self.0.with_value(|inner| inner.app);
        let files = Files { draft_key: Some(self.key()), ..Files::default() };
        self.saved_by(app.record_with(command, files)).await
    }

    /// Lets the draft go once this has saved what the form says.
    ///
    /// # Errors
    /// As `saving` has them; then the draft is still there.
    pub(crate) async fn saved_by<T>(
        self,
        saving: impl Future<Output = Result<T, NotRecorded>>,
    ) -> Result<T, NotRecorded> {
        let inner = self.0.get_value();
        // Enter and the button, or a thumb that trembles: one form is one record.
        if inner.saving.replace(true) {
            return Err(NotRecorded::BeingSaved);
        }
        let typed = untrack(&inner.now);
        inner.closed.set(true);
        let done = saving.await;
        inner.closed.set(false);
        inner.saving.set(false);
        let gone = self.0.try_get_value().is_none();
        match &done {
            Ok(_) => {
                if let Some(typed) = typed {
                    inner.fresh.replace(typed);
                }
                inner.forget();
            }
            // The form was left meanwhile: there is no other place to say it, and it goes on from its draft.
            Err(why) if gone => {
                inner.app.keep_draft(&inner.key, typed.unwrap_or_default());
                inner.app.refused(why);
            }
            Err(_) => {}
        }
        done
    }

    /// Lets what was typed go, and keeps nothing more of this form.
    pub(crate) fn forget(self) {
        self.with(|inner| {
            inner.closed.set(true);
            inner.forget();
        });
    }

    /// Where it is kept.
    pub(crate) fn key(self) -> String {
        self.0.try_get_value().map_or_else(String::new, |inner| inner.key.clone())
    }
}

/// That a form goes on with what was typed before, and the way to an empty one.
#[component]
pub(crate) fn GoesOn(draft: Draft) -> impl IntoView {
    let inner = draft.0.get_value();
    let start_over = move |_| {
        draft.forget();
        draft.with(|inner| inner.app.route.update(|_| ()));
    };
    inner.begun.then(|| {
        view! {
            <p class="notice small">
                {say::goes_on()} " "
                <button type="button" class="chip" on:click=start_over>{say::start_over()}</button>
            </p>
        }
    })
}

/// Fields of a form, each in a signal: made of what is typed, read as that again, and kept as a draft by their names.
macro_rules! fields {
    ($(#[$doc:meta])* $vis:vis struct $Fields:ident of $Typed:ident { $($field:ident: $Type:ty,)* }) => {
        $(#[$doc])*
        #[derive(Clone, Copy)]
        $vis struct $Fields {
            $($vis $field: RwSignal<$Type>,)*
        }

        impl $Fields {
            $vis fn of(typed: $Typed) -> Self {
                Self { $($field: RwSignal::new(typed.$field),)* }
            }

            /// What they hold now.
            $vis fn typed(self) -> $Typed {
                $Typed { $($field: self.$field.get_untracked(),)* }
            }

            /// The fields, to be kept until they are saved.
            $vis fn drafted(self, draft: FormDraft) -> FormDraft {
                draft$(.field(stringify!($field), self.$field))*
            }
        }
    };
}

pub(crate) use fields;
