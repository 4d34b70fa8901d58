//! A second thread for longer work: starting it from the page, being it, and what stands in for it where there is none.
//!
//! The thread is a dedicated module worker that runs the very program of the page, so nothing more has to be fetched or
//! kept. `boot.js` starts it and hands the compiled program over; `main` sees that there is no page and calls [`serve`].

use std::cell::RefCell;
use std::rc::Rc;

use bloomdue_core::work::{Message, Scheduler, Update};
use js_sys::{Function, Uint8Array};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::prelude::wasm_bindgen;
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::{DedicatedWorkerGlobalScope, Event, MessageEvent, Worker};

use super::{clock, get, window};

/// How long the thread works before it listens again.
const THREAD_SLICE_MS: f64 = 40.0;
/// Memory that the thread may take: a phone lets a page have little more. It is given back when the thread ends.
const THREAD_BYTES_MAX: usize = 1 << 30;
/// How long the page works before it draws and listens again. One step may come on top.
const PAGE_SLICE_MS: f64 = 8.0;

#[wasm_bindgen]
extern "C" {
    // Threads have no window, and the page and the thread both have this.
    #[wasm_bindgen(js_name = setTimeout)]
    fn set_timeout(call: &Function, after_ms: i32);
}

/// The page's end of the thread. Dropping it ends the thread, whatever it is doing.
pub(crate) struct Thread {
    worker: Worker,
    _heard: Closure<dyn FnMut(MessageEvent)>,
    _failed: Closure<dyn FnMut(Event)>,
}

impl Thread {
    /// Starts the thread; nothing where the device has none. `heard` gets all it says, [`Update::Ready`] first.
    pub(crate) fn start(heard: impl Fn(Update) + Clone + 'static) -> Option<Self> {
        let start = get(&window(), "bloomdueWork").dyn_into::<Function>().ok()?;
        let worker: Worker = start.call0(&JsValue::NULL).ok()?.dyn_into().ok()?;
        let tell = heard.clone();
        let heard = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
            let said = event.data();
            let told = bytes(&said).and_then(|said| Update::of_bytes(&said));
            // Where the program did not come up, the script says so in words.
            let failed = || Update::Failed(said.as_string().unwrap_or_else(|| format!("{said:?}")));
            heard(told.unwrap_or_else(failed));
        });
        let failed = Closure::<dyn FnMut(Event)>::new(move |event: Event| {
            // Else the page's own error screen would come up, and the page has not failed.
            event.prevent_default();
            // Where the script itself did not come, the browser says nothing more.
            let why = get(&event, "message").as_string();
            tell(Update::Failed(why.unwrap_or_else(|| event.type_())));
        });
        worker.set_onmessage(Some(heard.as_ref().unchecked_ref()));
        worker.set_onerror(Some(failed.as_ref().unchecked_ref()));
        Some(Self { worker, _heard: heard, _failed: failed })
    }

    /// Sends a message.
    pub(crate) fn tell(&self, message: &Message) {
        // Only what cannot be copied is refused, and bytes always can.
        let _ = self.worker.post_message(&to_js(&message.to_bytes()));
    }
}

impl Drop for Thread {
    fn drop(&mut self) {
        self.worker.set_onmessage(None);
        self.worker.set_onerror(None);
        self.worker.terminate();
    }
}

/// Takes a desk's steps in slices, with a pause after each for whatever else is waiting.
#[derive(Clone)]
pub(crate) struct Slices(Rc<Inner>);

struct Inner {
    desk: RefCell<Scheduler>,
    next: RefCell<Option<Closure<dyn FnMut()>>>,
    slice_ms: f64,
    /// What is said when the work takes too much memory; nothing where it cannot be given back.
    too_large: Option<&'static str>,
    tell: Box<dyn Fn(Update)>,
}

impl Slices {
    /// Slices short enough for the page to stay at hand.
    pub(crate) fn on_page(tell: impl Fn(Update) + 'static) -> Self {
        Self::new(PAGE_SLICE_MS, None, tell)
    }

    fn new(slice_ms: f64, too_large: Option<&'static str>, tell: impl Fn(Update) + 'static) -> Self {
        Self(Rc::new(Inner {
            desk: RefCell::default(),
            next: RefCell::new(None),
            slice_ms,
            too_large,
            tell: Box::new(tell),
        }))
    }

    /// Takes a message in, and begins when nothing was going on.
    pub(crate) fn hear(&self, message: Message) {
        let was_idle = {
            let mut desk = self.0.desk.borrow_mut();
            let was_idle = desk.is_idle();
            desk.hear(message);
            was_idle && !desk.is_idle()
        };
        // While one slice waits for its turn there must be no second one.
        if was_idle && self.0.next.borrow().is_none() {
            self.later();
        }
    }

    fn later(&self) {
        let this = self.clone();
        let call = Closure::once(move || {
            let own = this.0.next.borrow_mut().take();
            this.slice();
            drop(own);
        });
        set_timeout(call.as_ref().unchecked_ref(), 0);
        *self.0.next.borrow_mut() = Some(call);
    }

    fn slice(&self) {
        let until_ms = clock::now_ms() + self.0.slice_ms;
        loop {
            let told = self.0.desk.borrow_mut().step();
            let late = clock::now_ms() >= until_ms;
            if let Some(why) = self.0.too_large.filter(|_| memory_bytes() > THREAD_BYTES_MAX) {
                // The page ends the thread.
                return (self.0.tell)(Update::Failed(why.to_owned()));
            }
            match told {
                None => return,
                Some(Update::Going { .. }) if !late => {}
                Some(told) => (self.0.tell)(told),
            }
            if late {
                return self.later();
            }
        }
    }
}

/// Memory that the program has.
fn memory_bytes() -> usize {
    const PAGE_BYTES: usize = 65_536;
    core::arch::wasm32::memory_size(0) * PAGE_BYTES
}

/// The thread that this program runs in, when it runs in one and not on a page.
pub(crate) fn thread() -> Option<DedicatedWorkerGlobalScope> {
    js_sys::global().dyn_into().ok()
}

/// From here on a panic in the thread is told to the page; the thread is of no use after it.
pub(crate) fn tell_of_panics() {
    std::panic::set_hook(Box::new(|panic| {
        if let Some(scope) = thread() {
            say(&scope, &Update::Failed(panic.to_string()));
        }
    }));
}

/// Says something to the page.
pub(crate) fn say(scope: &DedicatedWorkerGlobalScope, told: &Update) {
    // As above: bytes always go.
    let _ = scope.post_message(&to_js(&told.to_bytes()));
}

/// Hears the page's messages and works, for as long as the page keeps the thread. `too_large` is what it says when the
/// work takes more memory than it may have.
pub(crate) fn serve(scope: DedicatedWorkerGlobalScope, too_large: &'static str) {
    let to_page = scope.clone();
    let slices = Slices::new(THREAD_SLICE_MS, Some(too_large), move |told| {
        say(&to_page, &told);
    });
    let heard = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
        // Page and thread are the same build, so every message is one.
        let message = bytes(&event.data()).and_then(|said| Message::of_bytes(&said));
        if let Some(message) = message {
            slices.hear(message);
        }
    });
    scope.set_onmessage(Some(heard.as_ref().unchecked_ref()));
    heard.forget();
    say(&scope, &Update::Ready);
}

fn to_js(bytes: &[u8]) -> JsValue {
    Uint8Array::from(bytes).into()
}

fn bytes(said: &JsValue) -> Option<Vec<u8>> {
    said.dyn_ref::<Uint8Array>().map(Uint8Array::to_vec)
}
