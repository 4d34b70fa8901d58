//! Longer work for screens: asked for in one call, followed by a signal, dropped with the screen that asked.
//!
//! ```text
//! let work = app.work(Task::NextTry { a, b, tries });
//! move || match work.now() {
//!     Working::Going(permille) => say::working(permille).into_any(),
//!     Working::Done(Done::NextTry(found)) => …,
//!     Working::Refused(why) => words::not_worked_out(&why).into_any(),
//!     Working::Stopped => ().into_any(),
//! }
//! ```
//! [`crate::parts::working::WorkShown`] draws all but the answer. The work is done by a second thread where the device
//! has one, else on the page in slices. A newer task of the same kind stops the older one.

use std::cell::RefCell;
use std::time::Duration;

use bloomdue_core::work::{Done, Message, Task, Update};
use bloomdue_words::told::NotWorkedOut;
use leptos::prelude::*;
use web_sys::DedicatedWorkerGlobalScope;

use super::{App, lazy};
use crate::device::work::{Slices, Thread, say};

/// A thread that has not come up by then is not waited for.
const START_WITHIN: Duration = Duration::from_secs(10);
/// How often work that is waited for is asked after, in ms.
const PAUSE_MS: i32 = 30;
/// A thread with nothing to do gives its memory back after this long.
const KEPT_IDLE: Duration = Duration::from_secs(60);

/// How far a task is.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Working {
    /// On its way, 0 to 1000.
    Going(u32),
    /// Here is what came of it.
    Done(Done),
    /// It could not be done.
    Refused(NotWorkedOut),
    /// Stopped by the grower, by leaving the screen, or by a newer task of the same kind.
    Stopped,
}

/// A task that was asked for.
#[derive(Clone)]
pub(crate) struct Work {
    n: u64,
    state: ArcRwSignal<Working>,
}

impl Work {
    /// How far it is; what is drawn from the answer follows it.
    pub(crate) fn now(&self) -> Working {
        self.state.get()
    }

    /// Stops it. What is finished stays.
    pub(crate) fn stop(&self) {
        POOL.with_borrow_mut(|pool| pool.stop(self.n));
    }
}

impl App {
    /// Asks for longer work. It stops by itself when the view that asked goes.
    pub(crate) fn work(self, task: Task) -> Work {
        ask(task)
    }
}

/// The same where there is no app.
pub(crate) fn ask(task: Task) -> Work {
    if let Some(done) = task.at_once() {
        let state = ArcRwSignal::new(Working::Done(done));
        return Work { n: 0, state };
    }
    let work = POOL.with_borrow_mut(|pool| pool.ask(task));
    let gone = work.clone();
    on_cleanup(move || gone.stop());
    work
}

/// Asks for work that may be stopped from outside however stuck it is: after `limit` its thread is ended. Waits for
/// what comes of it.
///
/// # Errors
/// Why it was not done.
pub(crate) async fn within(task: Task, limit: Duration) -> Result<Done, NotWorkedOut> {
    let work = POOL.with_borrow_mut(|pool| pool.ask(task));
    let n = work.n;
    set_timeout(move || POOL.with_borrow_mut(|pool| pool.late(n)), limit);
    loop {
        match work.state.get_untracked() {
            Working::Going(_) => crate::store::pause(PAUSE_MS).await,
            Working::Done(done) => return Ok(done),
            Working::Refused(why) => return Err(why),
            Working::Stopped => return Err(NotWorkedOut::Stopped),
        }
    }
}

/// In the thread: fetches what the work needs and begins to listen.
pub(crate) async fn serve(thread: DedicatedWorkerGlobalScope) {
    if lazy::serve(thread.clone()).await.is_err() {
        say(&thread, &Update::Failed("a part is missing".to_owned()));
    }
}

thread_local! {
    static POOL: RefCell<Pool> = RefCell::default();
}

#[derive(Default)]
struct Pool {
    n: u64,
    waiting: Vec<Waiting>,
    place: Place,
}

struct Waiting {
    n: u64,
    task: Task,
    state: ArcRwSignal<Working>,
}

/// Where work is done.
#[derive(Default)]
enum Place {
    /// Nowhere yet.
    #[default]
    None,
    /// In a thread that does not listen yet.
    Starting(Thread),
    /// In a thread.
    Thread(Thread),
    /// Here, in slices.
    Page(Slices),
}

impl Pool {
    fn ask(&mut self, task: Task) -> Work {
        self.n += 1;
        let (n, kind) = (self.n, task.kind());
        let state = ArcRwSignal::new(Working::Going(0));
        for older in self.waiting.extract_if(.., |one| one.task.kind() == kind) {
            older.state.set(Working::Stopped);
        }
        self.waiting.push(Waiting { n, task: task.clone(), state: state.clone() });
        if matches!(self.place, Place::None) {
            self.begin();
        }
        self.tell(Message::Ask { n, task });
        Work { n, state }
    }

    /// Finds a place for what waits.
    fn begin(&mut self) {
        self.place = match Thread::start(heard) {
            Some(thread) => Place::Starting(thread),
            None => Place::Page(Slices::on_page(heard)),
        };
        set_timeout(move || POOL.with_borrow_mut(Pool::not_up), START_WITHIN);
    }

    fn stop(&mut self, n: u64) {
        let Some(at) = self.waiting.iter().position(|one| one.n == n) else {
            return;
        };
        let stopped = self.waiting.remove(at);
        self.tell(Message::Stop { n });
        // The screen may be going, and its signal with it.
        let _ = stopped.state.try_set(Working::Stopped);
        self.rest();
    }

    fn tell(&self, message: Message) {
        match &self.place {
            // It is told all that waits as soon as it listens.
            Place::None | Place::Starting(_) => {}
            Place::Thread(thread) => thread.tell(&message),
            Place::Page(slices) => slices.hear(message),
        }
    }

    fn tell_all(&self) {
        for one in &self.waiting {
            let (n, task) = (one.n, one.task.clone());
            self.tell(Message::Ask { n, task });
        }
    }

    fn hear(&mut self, told: Update) {
        match told {
            Update::Ready => match std::mem::take(&mut self.place) {
                Place::Starting(thread) => {
                    self.place = Place::Thread(thread);
                    self.tell_all();
                }
                other => self.place = other,
            },
            Update::Going { n, permille } => {
                if let Some(one) = self.waiting.iter().find(|one| one.n == n) {
                    one.state.set(Working::Going(permille));
                }
            }
            Update::Done { n, done } => {
                if let Some(at) = self.waiting.iter().position(|one| one.n == n) {
                    let one = self.waiting.remove(at);
                    one.state.set(Working::Done(done));
                    self.rest();
                }
            }
            Update::Failed(why) => match std::mem::take(&mut self.place) {
                Place::Starting(thread) => {
                    end_later(thread);
                    self.go_on_here();
                }
                Place::Thread(thread) => {
                    end_later(thread);
                    for one in self.waiting.drain(..) {
                        one.state.set(Working::Refused(NotWorkedOut::Failed(why.clone())));
                    }
                }
                here => self.place = here,
            },
        }
    }

    /// A task has taken too long: it is given up. A thread that is stuck in it hears nothing and is ended; what else it
    /// was to do is begun anew in another.
    fn late(&mut self, n: u64) {
        let Some(at) = self.waiting.iter().position(|one| one.n == n) else {
            return;
        };
        let late = self.waiting.remove(at);
        match std::mem::take(&mut self.place) {
            Place::Thread(thread) | Place::Starting(thread) => drop(thread),
            here => self.place = here,
        }
        self.tell(Message::Stop { n });
        late.state.set(Working::Refused(NotWorkedOut::TooLong));
        if matches!(self.place, Place::None) && !self.waiting.is_empty() {
            self.begin();
            self.tell_all();
        }
    }

    fn go_on_here(&mut self) {
        self.place = Place::Page(Slices::on_page(heard));
        self.tell_all();
    }

    fn not_up(&mut self) {
        if matches!(self.place, Place::Starting(_)) {
            self.go_on_here();
        }
    }

    /// Once nothing waits, the thread is kept for a while and then ended.
    fn rest(&self) {
        if !self.waiting.is_empty() {
            return;
        }
        let n = self.n;
        let end = move || {
            POOL.with_borrow_mut(|pool| {
                if pool.n == n && matches!(pool.place, Place::Thread(_)) {
                    pool.place = Place::None;
                }
            });
        };
        set_timeout(end, KEPT_IDLE);
    }
}

fn heard(told: Update) {
    POOL.with_borrow_mut(|pool| pool.hear(told));
}

/// Ends a thread after the call in which it was heard is over.
fn end_later(thread: Thread) {
    set_timeout(move || drop(thread), Duration::ZERO);
}
