//! The offline worker and the next version: registered at start, looked for at most hourly,
//! taken only after the grower's tap.

use super::{clock, document, has, listen, window};
use bloomdue_words::told::NoOffline;
use leptos::prelude::*;
use std::cell::Cell;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{
    Event, RegistrationOptions, ServiceWorkerContainer, ServiceWorkerRegistration, ServiceWorkerState,
    ServiceWorkerUpdateViaCache, VisibilityState,
};

/// The least time between two looks for a newer version.
const CHECK_EVERY_MS: f64 = 3_600_000.0;

thread_local! {
    /// When a newer version was last looked for, by [`clock::ticks_ms`].
    static CHECKED_AT_MS: Cell<f64> = const { Cell::new(0.0) };
    /// True once the grower has asked for the waiting version in this very tab.
    static ACCEPTED: Cell<bool> = const { Cell::new(false) };
    /// A page reloads for an update once, whatever events follow.
    static RELOADED: Cell<bool> = const { Cell::new(false) };
    /// True while the worker is being registered.
    static REGISTERING: Cell<bool> = const { Cell::new(false) };
}

/// What the screens may show about versions and offline use.
#[derive(Clone, Copy)]
pub(crate) struct Updates {
    /// A next version is complete on this device and waits for [`Updates::accept`].
    pub(crate) waiting: RwSignal<bool>,
    /// The version in use is complete on this device: it starts without any network.
    pub(crate) ready_offline: RwSignal<bool>,
    /// Another tab has taken the next version; this one goes on with the old until it is reloaded.
    pub(crate) out_of_date: RwSignal<bool>,
    /// Why there is no offline use here, if so: for instance an address without https.
    pub(crate) refused: RwSignal<Option<NoOffline>>,
    registration: StoredValue<Option<ServiceWorkerRegistration>, LocalStorage>,
}

impl Updates {
    /// Registers the worker and begins to watch. Call once, at the root of the app.
    pub(crate) fn start() -> Self {
        let updates = Self {
            waiting: RwSignal::new(false),
            ready_offline: RwSignal::new(false),
            out_of_date: RwSignal::new(false),
            refused: RwSignal::new(None),
            registration: StoredValue::new_local(None),
        };
        let navigator = window().navigator();
        if !window().is_secure_context() {
            updates.refused.set(Some(NoOffline::NotSecure));
        } else if !has(&navigator, "serviceWorker") {
            updates.refused.set(Some(NoOffline::NotOffered));
        } else {
            let workers = navigator.service_worker();
            updates.watch_controller(&workers);
            updates.watch_occasions();
            updates.set_up(workers);
        }
        updates
    }

    /// Takes the waiting version once what is typed is `kept`: the page reloads when it is in force.
    pub(crate) fn accept(self, kept: impl Future<Output = ()> + 'static) {
        spawn_local(async move {
            kept.await;
            self.take();
        });
    }

    fn take(self) {
        let waiting = self
            .registration
            .with_value(|registration| registration.as_ref().and_then(ServiceWorkerRegistration::waiting));
        if let Some(worker) = waiting {
            ACCEPTED.set(true);
            // Posting fails only for a worker that is gone, and then none waits any more.
            let _ = worker.post_message(&JsValue::from_str("skip-waiting"));
        }
    }

    /// Loads the page again once what is typed is `kept`: the version in force takes over.
    pub(crate) fn reload(self, kept: impl Future<Output = ()> + 'static) {
        spawn_local(async move {
            kept.await;
            self.load_again();
        });
    }

    /// Once, whatever happens.
    fn load_again(self) {
        if !RELOADED.replace(true) {
            // A page that may not reload itself goes on as it is.
            let _ = window().location().reload();
        }
    }

    /// Registers the worker, unless that is going on already.
    fn set_up(self, workers: ServiceWorkerContainer) {
        if !REGISTERING.replace(true) {
            spawn_local(async move {
                self.register(workers).await;
                REGISTERING.set(false);
            });
        }
    }

    async fn register(self, workers: ServiceWorkerContainer) {
        let options = RegistrationOptions::new();
        options.set_update_via_cache(ServiceWorkerUpdateViaCache::None);
        CHECKED_AT_MS.set(clock::ticks_ms());
        let answer = JsFuture::from(workers.register_with_options("sw.js", &options)).await;
        let registration: ServiceWorkerRegistration = match answer {
            Ok(registration) => registration.unchecked_into(),
            Err(problem) => {
                let words = super::error_text(&problem);
                let _ = self.refused.try_set(Some(NoOffline::Refused(words)));
                return;
            }
        };
        let found = registration.clone();
        listen(&registration, "updatefound", move |_: Event| {
            self.watch_installing(&found);
        });
        self.watch_installing(&registration);
        self.look(&registration);
        let _ = self.registration.try_update_value(|slot| *slot = Some(registration));
    }

    /// Looks at a worker that is being installed until it waits or is in force.
    fn watch_installing(self, registration: &ServiceWorkerRegistration) {
        if let Some(worker) = registration.installing() {
            let (registration, installing) = (registration.clone(), worker.clone());
            listen(&worker, "statechange", move |_: Event| {
                // A worker that failed behind one in force leaves that one as it is.
                if installing.state() == ServiceWorkerState::Redundant && registration.active().is_none() {
                    let _ = self.refused.try_set(Some(NoOffline::NotFetched));
                }
                self.look(&registration);
            });
        }
    }

    /// Puts into the signals what the registration shows.
    fn look(self, registration: &ServiceWorkerRegistration) {
        // A worker waits only behind another one; the very first comes into force by itself.
        let waiting = registration.waiting().is_some() && registration.active().is_some();
        let _ = self.waiting.try_set(waiting);
        if registration.active().is_some() {
            let _ = self.ready_offline.try_set(true);
            let _ = self.refused.try_set(None);
        }
    }

    /// Reloads once when the accepted version takes over.
    fn watch_controller(self, workers: &ServiceWorkerContainer) {
        let first_visit = Cell::new(workers.controller().is_none());
        listen(workers, "controllerchange", move |_: Event| {
            // On the first visit the worker takes over the version that is running already.
            if first_visit.replace(false) {
                return;
            }
            if ACCEPTED.get() {
                self.load_again();
            } else {
                // Taken in another tab: somebody may be in the middle of a word in this one.
                let _ = self.out_of_date.try_set(true);
            }
        });
    }

    /// Looks for a newer version when the network comes back and when the app is looked at again; while the first one
    /// is not here, tries to get it then.
    fn watch_occasions(self) {
        listen(&window(), "online", move |_: Event| self.check());
        listen(&document(), "visibilitychange", move |_: Event| {
            if document().visibility_state() == VisibilityState::Visible {
                self.check();
            }
        });
    }

    fn check(self) {
        if self.ready_offline.try_get_untracked() != Some(true) {
            self.set_up(window().navigator().service_worker());
            return;
        }
        let now = clock::ticks_ms();
        if now - CHECKED_AT_MS.get() < CHECK_EVERY_MS {
            return;
        }
        let registration = self.registration.try_get_value().flatten();
        if let Some(registration) = registration {
            CHECKED_AT_MS.set(now);
            spawn_local(async move {
                // Without a network there is no newer version to be had, and nothing to tell.
                if let Ok(update) = registration.update() {
                    let _ = JsFuture::from(update).await;
                }
            });
        }
    }
}
