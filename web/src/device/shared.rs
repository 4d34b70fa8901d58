//! Files that other programs hand to this one: by the device's share sheet, through the offline worker, or by *open
//! with*, where browsers have that.

use super::{get, window};
use js_sys::{Array, Function, Promise};
use std::cell::RefCell;
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, Cache, CacheStorage, File, Response};

/// Where the offline worker lays a shared file, relative to the page; also in `sw.js`.
const SHARED: &str = "shared";
/// Header that its name stands in, written as a part of an address.
const NAME: &str = "X-File-Name";

thread_local! {
    /// A file the app was opened with, until a screen takes it.
    static OPENED: RefCell<Option<File>> = const { RefCell::new(None) };
}

/// Calls `came` when the app is opened with a file; [`take`] gives it.
pub(crate) fn on_opened(came: impl Fn() + 'static) {
    let queue = get(&window(), "launchQueue");
    let Ok(set_consumer) = get(&queue, "setConsumer").dyn_into::<Function>() else { return };
    let consume = Closure::<dyn FnMut(JsValue)>::new(move |params: JsValue| {
        let first = Array::from(&get(&params, "files")).get(0);
        let Ok(ask) = get(&first, "getFile").dyn_into::<Function>() else { return };
        let Ok(answer) = ask.call0(&first) else { return };
        OPENED.with_borrow_mut(Option::take);
        let told = Closure::once(move |file: JsValue| OPENED.set(file.dyn_into().ok()));
        let _ = Promise::resolve(&answer).then(&told);
        told.forget();
        came();
    });
    let _ = set_consumer.call1(&queue, consume.as_ref());
    consume.forget();
}

/// The file that another program handed over, once.
pub(crate) async fn take() -> Option<File> {
    match OPENED.take() {
        Some(file) => Some(file),
        None => from_worker().await.ok().flatten(),
    }
}

/// The name under which the offline worker keeps what was shared; as `sw.js` has it.
fn store_name() -> String {
    format!("shared with bloomdue {}", super::folder())
}

async fn from_worker() -> Result<Option<File>, JsValue> {
    let caches: CacheStorage = window().caches()?;
    if JsFuture::from(caches.has(&store_name())).await? != JsValue::TRUE {
        return Ok(None);
    }
    let cache: Cache = JsFuture::from(caches.open(&store_name())).await?.dyn_into()?;
    let found = JsFuture::from(cache.match_with_str(SHARED)).await?;
    JsFuture::from(caches.delete(&store_name())).await?;
    let Ok(answer) = found.dyn_into::<Response>() else { return Ok(None) };
    let name = get(&answer.headers(), "get").dyn_into::<Function>()?.call1(&answer.headers(), &NAME.into())?;
    let name = name.as_string().and_then(|name| js_sys::decode_uri_component(&name).ok()).map(String::from);
    let bytes: Blob = JsFuture::from(answer.blob()?).await?.dyn_into()?;
    let parts = Array::of1(&bytes);
    File::new_with_blob_sequence(&parts, &name.unwrap_or_default()).map(Some)
}
