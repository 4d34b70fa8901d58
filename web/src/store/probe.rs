//! A test aid: at the address `#/probe` there is no app, only `window.bloomdueProbe`, through which the browser checks
//! drive the storage as the screens do. It works on a nursery of its own and can reach no other.

use std::{cell::RefCell, future::Future, rc::Rc};

use bloomdue_core::{
    calendar::{Date, Happened},
    evidence::{Share, strata::Stratum},
    handover::json::{Reading, Sender},
    ledger::{
        Ledger,
        body::{Act, ActKind, Body, Note, Photo},
        clock,
        entry::Draft,
        have::to_hex,
        id::{Id, Ids, Noun},
        shelf::{Attachment, Form},
    },
    speed::{Work, tasks},
    work::Task,
};
use js_sys::{Array, Object, Promise, Reflect};
use serde::Serialize;
use wasm_bindgen::{JsCast as _, JsValue, closure::Closure};
use wasm_bindgen_futures::future_to_promise;
use web_sys::Blob;

use crate::app::worker::{Working, ask};

use super::{
    Dress, FileError, Known, Opened, PhotosIn, RecordsIn, Store, StoreError, error, preview_file, read_file, remember,
};

/// The probe's nursery has the same id in every browser, so that files of two of them fit together.
const LEDGER_SEED: [u8; 32] = *b"the ledger that checks work on..";

/// Where the checks stand.
#[derive(Clone)]
struct Probe(Rc<RefCell<Option<Open>>>);

struct Open {
    store: Store,
    ledger: Rc<RefCell<Ledger>>,
    device: Id,
    n_problems: usize,
    n_changes: Rc<RefCell<u64>>,
    ids: Rc<RefCell<Ids>>,
    bulbs: Rc<Vec<Id>>,
    open_ms: f64,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct State {
    n_entries: usize,
    digest: String,
    device: String,
    own_lines: Vec<u64>,
    n_problems: usize,
    n_ledger_problems: usize,
    n_changes: u64,
    n_photos: usize,
    open_ms: f64,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Imported {
    n_new: usize,
    n_known: usize,
    n_photos: usize,
    whole: bool,
}

/// Puts the probe on the window if the address asks for it; then the app does not start.
pub(crate) fn install() -> bool {
    let window = crate::device::window();
    let asked = window.location().hash().unwrap_or_default();
    if !asked.starts_with("#/probe") {
        return false;
    }
    let probe = Probe(Rc::default());
    let object = Object::new();
    let on = |name: &str, call: fn(Probe, JsValue) -> Promise| {
        let probe = probe.clone();
        let call = Closure::<dyn FnMut(JsValue) -> Promise>::new(move |argument| call(probe.clone(), argument));
        // A plain object takes any property.
        let _ = Reflect::set(&object, &name.into(), &call.into_js_value());
    };
    on("open", |probe, _| answer(async move { probe.open().await }));
    on("append", |probe, n| answer(async move { probe.append(n.as_f64().unwrap_or(1.0) as u32).await }));
    on("save", |probe, n| answer(async move { probe.save(n.as_f64().unwrap_or(1.0) as u32, false).await }));
    on("care", |probe, n| answer(async move { probe.care(n.as_f64().unwrap_or(1.0) as u32).await }));
    on("ledgerId", |_, _| answer(async { Ok(ledger_id().to_string()) }));
    on("photo", |probe, _| answer(async move { probe.save(1, true).await }));
    on("state", |probe, _| answer(async move { probe.state().await }));
    on("compact", |probe, _| answer(async move { probe.store()?.compact().await }));
    on("exportText", |probe, _| answer(async move { probe.export().await }));
    on("importText", |probe, text| answer(async move { probe.import(text).await }));
    on("work", |_, times| answer(async move { work(times).await }));
    on("speed", |_, name| answer(async move { speed(name.as_string().unwrap_or_default()) }));
    on("workerSpeed", |_, seed| answer(async move { worker_speed(seed.as_f64().unwrap_or(1.0) as u64).await }));
    on("wipe", |probe, _| answer(async move { probe.wipe().await }));
    let _ = Reflect::set(&window, &"bloomdueProbe".into(), &object);
    true
}

/// A promise of what a call gives, in plain JavaScript values.
fn answer<T: Serialize>(call: impl Future<Output = Result<T, StoreError>> + 'static) -> Promise {
    future_to_promise(async move {
        let plain = serde_wasm_bindgen::Serializer::json_compatible();
        match call.await {
            Ok(value) => value.serialize(&plain).map_err(|why| JsValue::from_str(&why.to_string())),
            Err(why) => Err(js_sys::Error::new(&why.to_string()).into()),
        }
    })
}

impl Probe {
    fn with<T>(&self, read: impl FnOnce(&Open) -> T) -> Result<T, StoreError> {
        let open = self.0.borrow();
        open.as_ref().map(read).ok_or_else(|| StoreError::Other("open the probe first".to_owned()))
    }

    fn store(&self) -> Result<Store, StoreError> {
        self.with(|open| open.store.clone())
    }

    async fn open(self) -> Result<State, StoreError> {
        let ledger = ledger_id();
        let mut seed = [0; 32];
        crate::device::window()
            .crypto()
            .and_then(|crypto| crypto.get_random_values_with_u8_array(&mut seed))
            .map_err(|why| error::of(&why))?;
        let mut ids = Ids::new(seed);
        let start_ms = js_sys::Date::now();
        let Opened { store, ledger: entries, line, problems, .. } = Store::open(ledger, ids.draw(Noun::Device)).await?;
        let open_ms = js_sys::Date::now() - start_ms;
        remember(&Known { ledger, name: "Probe".to_owned(), demo: true, opened_ms: super::now_ms() }).await?;
        let entries = Rc::new(RefCell::new(entries));
        let n_changes = Rc::new(RefCell::new(0));
        let (to_fill, counted) = (Rc::clone(&entries), Rc::clone(&n_changes));
        store.on_change(move |new, _| {
            *counted.borrow_mut() += new.len() as u64;
            for entry in new {
                to_fill.borrow_mut().insert(entry);
            }
        });
        *self.0.borrow_mut() = Some(Open {
            store,
            ledger: entries,
            device: line.device,
            n_problems: problems.len(),
            n_changes,
            bulbs: Rc::new((0..400).map(|_| ids.draw(Noun::Bulb)).collect()),
            ids: Rc::new(RefCell::new(ids)),
            open_ms,
        });
        self.state().await
    }

    /// This many saves of one entry each, one after the other.
    async fn append(self, n: u32) -> Result<State, StoreError> {
        for _ in 0..n {
            self.clone().save(1, false).await?;
        }
        self.state().await
    }

    /// One save of this many entries.
    async fn save(self, n: u32, with_photo: bool) -> Result<Vec<u64>, StoreError> {
        let (store, ledger, ids) =
            self.with(|open| (open.store.clone(), Rc::clone(&open.ledger), Rc::clone(&open.ids)))?;
        let form = form(&mut ids.borrow_mut(), n, with_photo)?;
        keep(&store, &ledger, form).await
    }

    /// One save of one entry about this many bulbs.
    async fn care(self, n: u32) -> Result<Vec<u64>, StoreError> {
        let (store, ledger) = self.with(|open| (open.store.clone(), Rc::clone(&open.ledger)))?;
        let (ids, bulbs) = self.with(|open| (Rc::clone(&open.ids), Rc::clone(&open.bulbs)))?;
        let mut form = form(&mut ids.borrow_mut(), 1, false)?;
        for draft in &mut form.drafts {
            draft.about = bulbs.iter().take(n as usize).copied().collect();
            draft.body = Body::Act(ActKind::Watered, Act::default());
        }
        keep(&store, &ledger, form).await
    }

    async fn state(&self) -> Result<State, StoreError> {
        let store = self.store()?;
        store.catch_up().await?;
        let n_photos = store.attachment_hashes().await?.len();
        self.with(|open| {
            let ledger = open.ledger.borrow();
            let own = ledger.lines().get(&open.device);
            State {
                n_entries: ledger.len(),
                digest: to_hex(&ledger.digest()),
                device: open.device.to_string(),
                own_lines: own.map(|lines| lines.keys().copied().collect()).unwrap_or_default(),
                n_problems: open.n_problems,
                n_ledger_problems: ledger.problems().len() + clock::suspects(&ledger, super::now_ms()).len(),
                n_changes: *open.n_changes.borrow(),
                n_photos,
                open_ms: open.open_ms,
            }
        })
    }

    async fn export(self) -> Result<String, StoreError> {
        let (store, ledger) = self.with(|open| (open.store.clone(), Rc::clone(&open.ledger)))?;
        let ledger = ledger.borrow().clone();
        let device = store.catch_up().await?.device;
        let (sender, of) = (Sender { device, who: None, heard: Vec::new() }, ("Probe", "2027-03-14T18:20+02:00"));
        let file = store.export(&ledger, RecordsIn::All, &sender, of, PhotosIn::All, Dress::Plain).await?;
        let line = store.catch_up().await?;
        store.mark_exported(line.line).await?;
        let text = wasm_bindgen_futures::JsFuture::from(file.text()).await;
        let text = text.map_err(|why| error::of(&why))?;
        Ok(text.as_string().unwrap_or_default())
    }

    async fn import(self, text: JsValue) -> Result<Imported, StoreError> {
        let file: Blob = match text.dyn_into() {
            Ok(blob) => blob,
            Err(text) => super::photos::blob_of(&Array::of1(&text), "application/json")?,
        };
        let (store, ledger) = self.with(|open| (open.store.clone(), Rc::clone(&open.ledger)))?;
        let reading: Reading = read_file(&file).await.map_err(|why| match why {
            FileError::Refused(why) => StoreError::Other(why.to_string()),
            FileError::Unread(why) => why,
        })?;
        let photos = store.photos_here().await?;
        let preview = preview_file(reading, photos, |work| work(&ledger.borrow()))
            .await
            .map_err(|why| StoreError::Other(why.to_string()))?;
        let fresh = Ids::new(crate::device::entropy::bytes32()).draw(Noun::Device);
        let (taken, n_photos) = store.import(&preview, &file, "probe", fresh).await?;
        let n_new = taken.entries.len();
        for slice in taken.missed.chunks(1000).chain(taken.entries.chunks(1000)) {
            for entry in slice {
                ledger.borrow_mut().insert(entry.clone());
            }
            super::files::breathe().await;
        }
        Ok(Imported { n_new, n_known: preview.n_known, n_photos, whole: preview.whole })
    }

    async fn wipe(self) -> Result<bool, StoreError> {
        let open = self.0.borrow_mut().take();
        match open {
            Some(open) => open.store.wipe().await.map(|()| true),
            None => Ok(false),
        }
    }
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Worked {
    ended: String,
    n_told: usize,
}

/// The prediction for the next try after some tries of twenty bulbs, in the way screens ask for it. `[n_tries]`, or
/// `[n_tries, permille]` to stop it as soon as it is that far.
async fn work(wish: JsValue) -> Result<Worked, StoreError> {
    let wish = Array::from(&wish);
    let [n_tries, stop_at] = [0, 1].map(|at| wish.get(at).as_f64().map(|number| number as u32));
    let share = |reached| Share::new(reached, 10).map_err(|why| StoreError::Other(why.to_string()));
    let one = Stratum { a: share(7)?, b: share(5)? };
    let tries = vec![one; n_tries.unwrap_or(1) as usize];
    let mut ids = Ids::new(LEDGER_SEED);
    let [a, b] = [(); 2].map(|()| ids.draw(Noun::Group));
    let work = ask(Task::NextTry { a, b, tries });
    let (mut n_told, mut before) = (0, 0);
    loop {
        match leptos::prelude::untrack(|| work.now()) {
            Working::Going(permille) => {
                n_told += usize::from(permille > before);
                before = permille;
                if stop_at.is_some_and(|at| permille >= at) {
                    work.stop();
                    continue;
                }
            }
            ended => {
                let ended = format!("{ended:?}");
                return Ok(Worked { ended, n_told });
            }
        }
        super::files::breathe().await;
    }
}

/// How many milliseconds pass from asking for a forecast of 300 bulbs to its answer, and then for a plan, where screens
/// have such work done.
async fn worker_speed(seed: u64) -> Result<[f64; 2], StoreError> {
    let Some(clock) = crate::device::window().performance() else {
        return Err(StoreError::Other("no clock".to_owned()));
    };
    let mut times_ms = [0.0; 2];
    for (task, time_ms) in tasks(seed).into_iter().zip(&mut times_ms) {
        let start_ms = clock.now();
        let work = ask(task);
        while matches!(leptos::prelude::untrack(|| work.now()), Working::Going(_)) {
            super::files::breathe().await;
        }
        *time_ms = clock.now() - start_ms;
        if !matches!(leptos::prelude::untrack(|| work.now()), Working::Done(_)) {
            return Err(StoreError::Other("the work was not done".to_owned()));
        }
    }
    Ok(times_ms)
}

/// How many milliseconds one pass of a named work takes: the least of five readings of at least 60 ms each.
fn speed(name: String) -> Result<f64, StoreError> {
    let Some(work) = Work::new(&name) else {
        return Err(StoreError::Other(format!("no work called {name:?}")));
    };
    let Some(clock) = crate::device::window().performance() else {
        return Err(StoreError::Other("no clock".to_owned()));
    };
    // The first passes are run before the browser has compiled the code to its best.
    let mut sum = work.once();
    let mut reading = || {
        let start_ms = clock.now();
        let mut n_passes = 0.0;
        while clock.now() - start_ms < 60.0 {
            sum += work.once();
            n_passes += 1.0;
        }
        (clock.now() - start_ms) / n_passes
    };
    let least = (0..5).map(|_| reading()).fold(f64::INFINITY, f64::min);
    // What was computed has to be used, or it might not be.
    if sum.is_nan() {
        return Err(StoreError::Other("not a number".to_owned()));
    }
    Ok(least)
}

/// Saves a form and takes its entries over; gives their line numbers.
async fn keep(store: &Store, ledger: &Rc<RefCell<Ledger>>, form: Form) -> Result<Vec<u64>, StoreError> {
    let saved = store.append(form).await?;
    let lines = saved.entries.iter().map(|entry| entry.envelope.line);
    let lines = lines.collect();
    for entry in saved.missed.into_iter().chain(saved.entries) {
        ledger.borrow_mut().insert(entry);
    }
    Ok(lines)
}

fn ledger_id() -> Id {
    Ids::new(LEDGER_SEED).draw(Noun::Ledger)
}

/// A form with notes, and on wish a photo of made-up bytes.
fn form(ids: &mut Ids, n: u32, with_photo: bool) -> Result<Form, StoreError> {
    let happened = Happened::on(Date::new(2027, 3, 14)?);
    let who = ids.draw(Noun::Person);
    let bulb = ids.draw(Noun::Bulb);
    let note = |at: u32| {
        let text = format!("note {at}");
        Draft::new(vec![bulb], happened.clone(), Body::Note(Note { text }))
    };
    let mut form = Form::new(ids.draw(Noun::Form), who, (0..n).map(note).collect());
    if with_photo {
        let bytes: Vec<u8> = (0..8000).flat_map(|_| ids.bytes()).collect();
        let photo = Attachment::of(bytes);
        form.drafts = vec![Draft::new(
            vec![bulb],
            happened,
            Body::Photo(Photo {
                hash: photo.hash(),
                thumb: Some(photo.hash()),
                media: "image/jpeg".to_owned(),
                n_bytes: photo.bytes().len() as u64,
                width_px: 1600,
                height_px: 1200,
                drawn: true,
            }),
        )];
        form.thumbs = vec![photo.clone()];
        form.attachments = vec![photo];
    }
    Ok(form)
}
