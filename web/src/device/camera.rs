//! The camera's live picture, for labels held before it; nothing of it is kept.

use super::{error_text, get, has, photo, window};
use bloomdue_core::sight::finder::Grey;
use js_sys::{Array, Function, Object, Promise, Reflect};
use wasm_bindgen::prelude::wasm_bindgen;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{HtmlVideoElement, MediaStream, MediaStreamConstraints, MediaStreamTrack};

/// The longer edge of the pictures that are looked through.
const EDGE_PX: u32 = 640;

/// Why there is no live picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum NoCamera {
    /// The device has none, or the browser lets no page use it.
    None,
    /// It was not allowed.
    Denied,
}

#[wasm_bindgen]
extern "C" {
    /// The browser's own reader of codes, where it has one (Shape Detection API).
    type BarcodeDetector;
    #[wasm_bindgen(constructor, catch)]
    fn new(options: &JsValue) -> Result<BarcodeDetector, JsValue>;
    #[wasm_bindgen(method, catch)]
    async fn detect(this: &BarcodeDetector, picture: &HtmlVideoElement) -> Result<JsValue, JsValue>;
}

/// A camera that is on; it goes off with the last of this.
pub(crate) struct Camera {
    video: HtmlVideoElement,
    stream: MediaStream,
    detector: Option<BarcodeDetector>,
}

/// What is seen at one moment.
pub(crate) enum Seen {
    /// The browser read a code itself.
    Code(String),
    /// A picture that is still to be looked through.
    Picture(Grey),
    /// Nothing yet.
    Nothing,
}

impl Camera {
    /// Turns the camera at the device's back on and shows it in `video`.
    ///
    /// # Errors
    /// Why it stays off.
    pub(crate) async fn on(video: HtmlVideoElement) -> Result<Self, NoCamera> {
        let devices = window().navigator().media_devices().map_err(|_| NoCamera::None)?;
        let wanted = Object::new();
        let set = |object: &Object, name: &str, value: &JsValue| Reflect::set(object, &name.into(), value);
        let width = Object::new();
        let made = set(&width, "ideal", &1280.into())
            .and(set(&wanted, "facingMode", &"environment".into()))
            .and(set(&wanted, "width", &width));
        made.map_err(|_| NoCamera::None)?;
        let constraints = MediaStreamConstraints::new();
        constraints.set_video(&wanted);
        let asked = devices.get_user_media_with_constraints(&constraints).map_err(|_| NoCamera::None)?;
        let stream = JsFuture::from(asked).await.map_err(|why| match error_text(&why) {
            why if why.starts_with("NotAllowedError") || why.starts_with("SecurityError") => NoCamera::Denied,
            _ => NoCamera::None,
        })?;
        let stream: MediaStream = stream.unchecked_into();
        video.set_src_object(Some(&stream));
        let camera = Self { video, stream, detector: own_reader() };
        if let Ok(playing) = camera.video.play() {
            JsFuture::from(playing).await.map_err(|_| NoCamera::None)?;
        }
        Ok(camera)
    }

    /// What it sees now.
    pub(crate) async fn look(&self) -> Seen {
        if let Some(detector) = &self.detector
            && let Ok(found) = detector.detect(&self.video).await
        {
            let first = Array::from(&found).get(0);
            return get(&first, "rawValue").as_string().map_or(Seen::Nothing, Seen::Code);
        }
        self.picture().map_or(Seen::Nothing, Seen::Picture)
    }

    fn picture(&self) -> Option<Grey> {
        let (wide, high) = (self.video.video_width(), self.video.video_height());
        if wide == 0 || high == 0 {
            return None;
        }
        let (width, height) = photo::fit(wide, high, EDGE_PX);
        let canvas = photo::canvas(width, height).ok()?;
        let context = photo::context(&canvas).ok()?;
        let (width_px, height_px) = (f64::from(width), f64::from(height));
        context.draw_image_with_html_video_element_and_dw_and_dh(&self.video, 0.0, 0.0, width_px, height_px).ok()?;
        let pixels = context.get_image_data(0.0, 0.0, width_px, height_px).ok()?.data();
        Some(Grey::of_rgba(width, height, &pixels))
    }

    fn track(&self) -> Option<MediaStreamTrack> {
        self.stream.get_video_tracks().get(0).dyn_into().ok()
    }

    /// Whether the camera has a light.
    pub(crate) fn has_light(&self) -> bool {
        let Some(track) = self.track() else { return false };
        let asked = get(&track, "getCapabilities").dyn_into::<Function>().and_then(|asked| asked.call0(&track));
        asked.is_ok_and(|can| can.is_object() && has(&can, "torch"))
    }

    /// Turns its light on or off. Where it does not obey, it stays as it is.
    pub(crate) fn light(&self, on: bool) {
        let Some(track) = self.track() else { return };
        let (wish, wishes) = (Object::new(), Object::new());
        let made = Reflect::set(&wish, &"torch".into(), &on.into()).and(Reflect::set(
            &wishes,
            &"advanced".into(),
            &Array::of1(&wish),
        ));
        let ask = get(&track, "applyConstraints").dyn_into::<Function>();
        if let (Ok(_), Ok(ask)) = (made, ask)
            && let Ok(answer) = ask.call1(&track, &wishes)
        {
            wasm_bindgen_futures::spawn_local(async move {
                let _ = JsFuture::from(Promise::resolve(&answer)).await;
            });
        }
    }
}

impl Drop for Camera {
    fn drop(&mut self) {
        for track in self.stream.get_tracks() {
            track.unchecked_into::<MediaStreamTrack>().stop();
        }
        self.video.set_src_object(None);
    }
}

fn own_reader() -> Option<BarcodeDetector> {
    if !has(&window(), "BarcodeDetector") {
        return None;
    }
    let options = Object::new();
    Reflect::set(&options, &"formats".into(), &Array::of1(&"qr_code".into())).ok()?;
    BarcodeDetector::new(&options).ok()
}
