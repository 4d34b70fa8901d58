//! Files in and out, always by the user's own act.

use super::{document, error_text, has, window};
use bloomdue_words::told::BrowserRefused;
use js_sys::{Array, Uint8Array};
use std::time::Duration;
use wasm_bindgen::prelude::wasm_bindgen;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, File, FilePropertyBag, HtmlAnchorElement, HtmlInputElement, ShareData, Url};

/// How long a file stays available to the browser after its download was started.
const KEPT_FOR_DOWNLOAD: Duration = Duration::from_secs(60);

/// The files just chosen in a file field. The field is emptied, so that the same file can be chosen again.
pub(crate) fn take_chosen(field: &HtmlInputElement) -> Vec<File> {
    let mut chosen = Vec::new();
    if let Some(files) = field.files() {
        for at in 0..files.length() {
            chosen.extend(files.get(at));
        }
    }
    field.set_value("");
    chosen
}

/// All bytes of a file.
///
/// # Errors
///
/// In the browser's words, for instance when the file has gone in the meantime.
pub(crate) async fn read(file: &Blob) -> Result<Vec<u8>, BrowserRefused> {
    match JsFuture::from(file.array_buffer()).await {
        Ok(buffer) => Ok(Uint8Array::new(&buffer).to_vec()),
        Err(problem) => Err(refused(&problem)),
    }
}

fn refused(problem: &JsValue) -> BrowserRefused {
    BrowserRefused(error_text(problem))
}

/// How a share sheet was left.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Shared {
    /// Handed to something the user chose; whether it arrived there nobody tells.
    Handed,
    /// Closed without choosing.
    Closed,
    /// The device refused.
    Refused(BrowserRefused),
}

/// How saving at a chosen place ended.
#[derive(Clone, PartialEq, Debug)]
pub(crate) enum SavedAs {
    /// Written, closed, and found there with all its bytes.
    Whole {
        /// The name it was given.
        name: String,
        /// Its length there.
        n_bytes: f64,
    },
    /// Found there with other than all its bytes.
    NotWhole {
        /// The name it was given.
        name: String,
    },
    /// Closed without choosing.
    Closed,
    /// The device refused.
    Refused(BrowserRefused),
}

/// True when the grower may be asked where a file is to stand, and the browser tells whether it got there.
pub(crate) fn can_choose_place() -> bool {
    has(&window(), "showSaveFilePicker")
}

#[wasm_bindgen]
extern "C" {
    /// The window, as browsers with a picker for files have it (File System Access).
    type Picking;
    #[wasm_bindgen(method, catch, js_name = showSaveFilePicker)]
    async fn show_save_file_picker(this: &Picking, options: &JsValue) -> Result<JsValue, JsValue>;

    /// A place for a file.
    type Place;
    #[wasm_bindgen(method, catch, js_name = createWritable)]
    async fn create_writable(this: &Place) -> Result<JsValue, JsValue>;
    #[wasm_bindgen(method, catch, js_name = getFile)]
    async fn get_file(this: &Place) -> Result<JsValue, JsValue>;

    /// What is written there; nothing stands there before it is closed.
    type Writing;
    #[wasm_bindgen(method, catch)]
    async fn write(this: &Writing, data: &Blob) -> Result<JsValue, JsValue>;
    #[wasm_bindgen(method, catch)]
    async fn close(this: &Writing) -> Result<JsValue, JsValue>;
}

/// True when the share sheet takes pages that people can read.
pub(crate) fn can_share_pages() -> bool {
    let parts = Array::of1(&JsValue::from_str("<!doctype html>"));
    Outgoing::of_parts("page.html", "text/html", &parts).is_ok_and(|page| page.can_be_shared())
}

/// A file ready to go out.
#[derive(Clone)]
pub(crate) struct Outgoing(File);

impl Outgoing {
    /// Makes a file from parts the browser holds already: blobs, buffers, texts.
    ///
    /// # Errors
    ///
    /// In the browser's words, when a part cannot be read.
    pub(crate) fn of_parts(name: &str, mime: &str, parts: &Array) -> Result<Self, BrowserRefused> {
        let options = FilePropertyBag::new();
        options.set_type(mime);
        File::new_with_blob_sequence_and_options(parts, name, &options).map(Self).map_err(|problem| refused(&problem))
    }

    /// Makes a file of what the browser holds already.
    ///
    /// # Errors
    ///
    /// As [`Self::of_parts`].
    pub(crate) fn of_blob(name: &str, mime: &str, blob: &Blob) -> Result<Self, BrowserRefused> {
        Self::of_parts(name, mime, &Array::of1(blob))
    }

    /// Makes a file of bytes.
    ///
    /// # Errors
    ///
    /// As [`Self::of_parts`].
    pub(crate) fn of_bytes(name: &str, mime: &str, bytes: &[u8]) -> Result<Self, BrowserRefused> {
        Self::of_parts(name, mime, &Array::of1(&Uint8Array::from(bytes)))
    }

    /// Its length in bytes.
    pub(crate) fn len_bytes(&self) -> f64 {
        self.0.size()
    }

    /// True when the share sheet takes this very file; many refuse by the end of the name.
    pub(crate) fn can_be_shared(&self) -> bool {
        let navigator = window().navigator();
        has(&navigator, "canShare") && navigator.can_share_with_data(&self.share_data())
    }

    /// Opens the share sheet; must be called inside a tap.
    pub(crate) async fn share(&self) -> Shared {
        let answer = window().navigator().share_with_data(&self.share_data());
        match JsFuture::from(answer).await {
            Ok(_) => Shared::Handed,
            Err(problem) => {
                let words = error_text(&problem);
                if words.starts_with("AbortError") { Shared::Closed } else { Shared::Refused(BrowserRefused(words)) }
            }
        }
    }

    /// Its name.
    pub(crate) fn name(&self) -> String {
        self.0.name()
    }

    /// Asks where it is to stand, writes it there and looks whether it is there whole; must be called inside a tap.
    pub(crate) async fn save_as(&self) -> SavedAs {
        match self.written_as().await {
            Ok(file) if file.size() == self.0.size() => SavedAs::Whole { name: file.name(), n_bytes: file.size() },
            Ok(file) => SavedAs::NotWhole { name: file.name() },
            Err(problem) => match error_text(&problem) {
                words if words.starts_with("AbortError") => SavedAs::Closed,
                words => SavedAs::Refused(BrowserRefused(words)),
            },
        }
    }

    async fn written_as(&self) -> Result<File, JsValue> {
        let options = js_sys::Object::new();
        js_sys::Reflect::set(&options, &"suggestedName".into(), &self.0.name().into())?;
        let window = window().unchecked_into::<Picking>();
        let place = window.show_save_file_picker(&options).await?;
        let place = place.unchecked_into::<Place>();
        let writing = place.create_writable().await?.unchecked_into::<Writing>();
        writing.write(&self.0).await?;
        writing.close().await?;
        Ok(place.get_file().await?.unchecked_into())
    }

    /// Puts the file among the downloads, under its name.
    ///
    /// # Errors
    ///
    /// In the browser's words, when it refuses.
    pub(crate) fn download(&self) -> Result<(), BrowserRefused> {
        let address = Url::create_object_url_with_blob(&self.0).map_err(|problem| refused(&problem))?;
        let link: HtmlAnchorElement =
            document().create_element("a").map_err(|problem| refused(&problem))?.unchecked_into();
        link.set_href(&address);
        link.set_download(&self.0.name());
        link.click();
        // The browser reads the file only after this returns.
        leptos::prelude::set_timeout(move || drop(Url::revoke_object_url(&address)), KEPT_FOR_DOWNLOAD);
        Ok(())
    }

    fn share_data(&self) -> ShareData {
        let data = ShareData::new();
        data.set_files(&Array::of1(&self.0));
        data
    }
}

/// Lets go of the picture behind an address that was made for it.
pub(crate) fn forget(address: &str) {
    // Gone already is just as well.
    let _ = Url::revoke_object_url(address);
}
